//! Lengths put into words and figures.

use super::{Length, OUNCE_MM, Unit, nearest_drill};

/// 1/64 in as a fraction of millimetres: 127/320.
const TOP: f64 = 127.0;
const BOTTOM: f64 = 320.0;

/// Differences smaller than this are left unsaid, mm.
const NOTHING_MM: f64 = 1e-9;

/// A drill within this of the length is named as fitting: 0.001 in.
const DRILL_FITS_MM: f64 = 0.0254;

/// Leather thicker than this is not sold by the ounce, mm.
const LEATHER_MM: f64 = 10.0;

/// The nearest mark on an inch rule divided into 64ths.
#[derive(Debug, Clone, PartialEq)]
pub struct Sixtyfourth {
    /// The fraction in lowest terms, such as "1 1/4 in".
    pub text: String,
    /// The fraction less the length, in millimetres; above zero, the
    /// fraction is larger.
    pub error_mm: f64,
}

impl Sixtyfourth {
    /// The fraction and how far off it is: "19/64 in (0.079 mm smaller)".
    pub fn with_error(&self) -> String {
        format!("{} ({})", self.text, difference(self.error_mm))
    }
}

/// The nearest 64th of an inch.
///
/// # Units
/// Takes millimetres.
///
/// # Source
/// NIST SP 811, Appendix B: 1 in = 25.4 mm.
pub fn nearest_64th(mm: f64) -> Sixtyfourth {
    if !mm.is_finite() {
        return Sixtyfourth { text: "not a number".to_owned(), error_mm: f64::NAN };
    }
    let marks = (mm * BOTTOM / TOP).round();
    let sign = if marks < 0.0 { "-" } else { "" };
    Sixtyfourth {
        text: format!("{sign}{} in", mixed(marks.abs())),
        error_mm: marks * TOP / BOTTOM - mm,
    }
}

/// So many 64ths as a whole number and a fraction in lowest terms.
fn mixed(marks: f64) -> String {
    let whole = (marks / 64.0).floor();
    let (mut top, mut bottom) = (marks - whole * 64.0, 64.0);
    while top > 0.0 && top % 2.0 == 0.0 {
        (top, bottom) = (top / 2.0, bottom / 2.0);
    }
    match (whole > 0.0, top > 0.0) {
        (true, true) => format!("{whole} {top}/{bottom}"),
        (false, true) => format!("{top}/{bottom}"),
        _ => format!("{whole}"),
    }
}

/// A figure with three places, a half rounded away from nothing: what every sum and picture tells.
///
/// A length that was typed may be a hair below its half, so that 11/16 in and the same from a radius would differ.
pub fn thousandths(value: f64) -> String {
    figure((value * 1000.0 + value.signum() * 1e-6).round() / 1000.0, 3)
}

/// How many of a thing, in words: "1 piece", "3 pieces".
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}

/// A figure with so many places, never "-0.000".
fn figure(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

/// A length in millimetres with three places, always: "31.750 mm".
///
/// # Units
/// Takes millimetres.
pub fn show(mm: f64) -> String {
    if mm.is_finite() { format!("{} mm", thousandths(mm)) } else { "not a number".to_owned() }
}

/// A length in inches with four places, always: "1.2500 in".
///
/// # Units
/// Takes millimetres.
///
/// # Source
/// NIST SP 811, Appendix B: 1 in = 25.4 mm.
pub fn show_inches(mm: f64) -> String {
    if mm.is_finite() { format!("{} in", figure(mm / 25.4, 4)) } else { "not a number".to_owned() }
}

/// A length as written, with millimetres behind it: "1 1/4 in (31.750 mm)".
/// One that was written in millimetres is not said twice: "12.5 mm".
pub fn show_both(length: &Length) -> String {
    if length.plain_mm {
        return length.text().to_owned();
    }
    format!("{} ({})", length.text(), show(length.mm()))
}

/// How far off something is, in words.
fn difference(error_mm: f64) -> String {
    let size = error_mm.abs();
    let way = if error_mm < 0.0 { "smaller" } else { "larger" };
    if size < NOTHING_MM {
        "exact".to_owned()
    } else if size < 0.0005 {
        format!("less than 0.001 mm {way}")
    } else {
        format!("{size:.3} mm {way}")
    }
}

/// The rows that set out one length in every unit of the trade: what the
/// row tells, and the figure.
///
/// A row is left out where it says nothing useful: feet and yards for short
/// lengths, leather ounces from 10 mm up, drills beyond the drill list.
///
/// # Source
/// NIST SP 811, Appendix B, for the units; ASME B94.11M, as given in nine
/// copies, for drills; common practice for the leather ounce.
pub fn table(length: &Length) -> Vec<(String, String)> {
    let mm = length.mm();
    let mut rows = Vec::new();
    let mut row = |name: &str, text: String| rows.push((name.to_owned(), text));
    row("as written", length.text().to_owned());
    if !length.readings().is_empty() {
        let spread = length.spread();
        let text = format!(
            "{}, spread {} ({})",
            length.readings().len(),
            show(spread),
            show_inches(spread)
        );
        row("readings", text);
    }
    row("millimetres", show(mm));
    row("decimal inches", show_inches(mm));
    row("thou", format!("{} thou", figure(mm / Unit::Thou.millimetres(), 1)));
    row("nearest 64th", nearest_64th(mm).with_error());
    if let Some((name, _, error)) = nearest_drill(mm) {
        let fit =
            if error.abs() <= DRILL_FITS_MM + NOTHING_MM { "within 0.001 in" } else { "not a fit" };
        let text = if error.abs() < NOTHING_MM {
            format!("{name} (exact)")
        } else {
            format!("{name} ({fit}: {})", difference(error))
        };
        row("nearest drill", text);
    }
    if mm >= Unit::Foot.millimetres() {
        let marks = (mm * BOTTOM / TOP).round();
        let feet = (marks / 768.0).floor();
        let text = format!("{feet} ft {} in", mixed(marks - feet * 768.0));
        row("feet and inches", text);
    }
    if mm >= Unit::Yard.millimetres() {
        let yards = figure(mm / Unit::Yard.millimetres(), 3);
        row("yards", format!("{yards} yd"));
        row("metres", format!("{} m", figure(mm / 1000.0, 3)));
    }
    if mm > 0.0 && mm < LEATHER_MM {
        let text = format!("{} oz", figure(mm / OUNCE_MM, 2));
        row("leather ounces", text);
    }
    rows
}
