//! Writings that look like a measurement and are not, or that mean two
//! things.

use super::Unit;
use super::fault::{UnitFault, UnitFaultKind, quoted};
use super::number::Number;
use super::read::Tidy;

/// Spreadsheet error marks that do not end in "!" or "?".
const MARKS: [&str; 12] = [
    "n/a",
    "na",
    "nv",
    "ref",
    "value",
    "div/0",
    "name",
    "null",
    "num",
    "spill",
    "calc",
    "getting_data",
];

/// Refuses spreadsheet errors and dates. `unit` is the one to name when
/// telling what was likely typed.
pub(super) fn spreadsheet(tidy: &Tidy, unit: &str) -> Result<(), UnitFault> {
    if is_error_mark(&tidy.low) {
        return Err(UnitFault::new(
            UnitFaultKind::SpreadsheetError,
            format!("{} is a spreadsheet's own error mark, not a measurement", quoted(&tidy.shown)),
        )
        .cured(
            "put that cell right (a row of # means the column is too narrow) and save it again",
        ));
    }
    let Some(date) = super::date::find(&tidy.low) else {
        return Ok(());
    };
    let likely = date.likely(unit);
    let keep = "format the column as text, then type it again";
    let cure = if likely.is_empty() {
        keep.to_owned()
    } else {
        format!("was this {}? {keep}", likely.join(" or "))
    };
    Err(UnitFault::new(
        UnitFaultKind::SpreadsheetDate,
        format!(
            "{} is a date: a spreadsheet turns fractions into dates by itself",
            quoted(&tidy.shown)
        ),
    )
    .cured(cure))
}

fn is_error_mark(low: &str) -> bool {
    let bare: String = low.chars().filter(|c| *c != ' ').collect();
    if let Some(code) = bare.strip_prefix("err:") {
        return code.bytes().all(|b| b.is_ascii_digit());
    }
    let Some(rest) = bare.strip_prefix('#') else {
        return false;
    };
    let hashes = !rest.is_empty() && rest.chars().all(|c| c == '#');
    let shouted =
        rest.starts_with(char::is_alphabetic) && (rest.ends_with('!') || rest.ends_with('?'));
    hashes || shouted || MARKS.contains(&rest)
}

/// Refuses words and signs that mean two things or nothing.
pub(super) fn words(tidy: &Tidy) -> Result<(), UnitFault> {
    let low = tidy.low.as_str();
    let found = quoted(&tidy.shown);
    let has =
        |list: &[&str]| low.split(|c: char| !c.is_alphabetic()).any(|word| list.contains(&word));
    let fault = UnitFault::new;
    if low.starts_with("mean of") {
        return Err(fault(
            UnitFaultKind::Grammar,
            format!("{found} is the mean of several readings, not one length"),
        )
        .cured("write the readings as a list: [\"1.001 in\", \"1.003 in\"]"));
    }
    if low.contains([',', '٫', '，', '‚']) {
        return Err(comma(tidy));
    }
    if has(&["about", "approx", "approximately", "circa", "ca", "roughly", "around", "some"])
        || low.starts_with('~')
    {
        return Err(fault(UnitFaultKind::Grammar, format!("{found} is not one size")).cured(
            "write one size without the word; for a flaw give a place and a diameter large enough to cover what you do not know",
        ));
    }
    if has(&["nan", "inf", "infinity"]) || low.contains('∞') {
        return Err(fault(UnitFaultKind::NotFinite, format!("{found} is not a number"))
            .cured("write the size in figures, as in \"1 1/4 in\" or \"31.75 mm\""));
    }
    if has(&["mil", "mils"]) {
        let number = lead(low);
        return Err(fault(
            UnitFaultKind::Mil,
            format!(
                "{found}: \"mil\" means two things, a thousandth of an inch in America and a \
                 millimetre in other workshops"
            ),
        )
        .cured(format!("write \"{number} thou\" or \"{number} mm\"")));
    }
    if has(&["ga", "gauge", "gage", "awg", "swg", "bwg"]) {
        return Err(fault(
            UnitFaultKind::WireGauge,
            format!("{found} is a wire gauge, which is not a drill size and differs by country"),
        )
        .cured("give the size in inches or millimetres"));
    }
    if is_exponent(low) {
        return Err(fault(
            UnitFaultKind::Exponent,
            format!("{found} is written with a power of ten"),
        )
        .cured("write the number out in full, as in \"1250 mm\""));
    }
    Ok(())
}

/// Refuses an area where a length is wanted.
pub(super) fn no_area(tidy: &Tidy) -> Result<(), UnitFault> {
    let low = tidy.low.as_str();
    let square = low
        .split(|c: char| !c.is_alphabetic())
        .any(|word| matches!(word, "sq" | "square" | "sqin" | "sqft" | "sqyd"));
    if square || low.contains(['²', '^']) {
        return Err(UnitFault::new(
            UnitFaultKind::Area,
            format!("{} is an area, and a length is wanted here", quoted(&tidy.shown)),
        )
        .cured("give a length, as in \"1 1/4 in\" or \"31.75 mm\""));
    }
    Ok(())
}

/// The part before the first letter, "3" when there is none to quote.
pub(super) fn lead(low: &str) -> &str {
    let end = low.find(char::is_alphabetic).unwrap_or(low.len());
    let number = low[..end].trim().trim_end_matches('-').trim_end();
    let plain = |c: char| c.is_ascii_digit() || matches!(c, ' ' | '.' | '/' | '-');
    if number.contains(|c: char| c.is_ascii_digit()) && number.chars().all(plain) {
        number
    } else {
        "3"
    }
}

fn comma(tidy: &Tidy) -> UnitFault {
    let fault = UnitFault::new(
        UnitFaultKind::Comma,
        format!("{} has a comma in a number", quoted(&tidy.shown)),
    );
    let two = "for two numbers use two quoted lengths in a list";
    let Some((whole, rest)) = tidy.low.split_once([',', '٫', '，', '‚']) else {
        return fault;
    };
    let (whole, rest) = (whole.trim(), rest.trim());
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    let (part, tail) = rest.split_at(end);
    let whole_ok = !whole.is_empty() && whole.bytes().all(|b| b.is_ascii_digit());
    let tail_ok = tail.chars().all(|c| c.is_alphabetic() || matches!(c, ' ' | '"' | '\''));
    if !whole_ok || part.is_empty() || !tail_ok {
        return fault.cured(format!("write a point, as in 1.25; {two}"));
    }
    let unit = match tail.trim() {
        "\"" => "in",
        "'" => "ft",
        word => word,
    };
    let space = if unit.is_empty() { "" } else { " " };
    let pair = format!("[\"{whole}{space}{unit}\", \"{part}{space}{unit}\"]");
    if part.len() == 3 && whole.len() <= 3 {
        return fault.cured(format!(
            "write {whole}.{part} or {whole}{part}, whichever is meant; {two}: {pair}"
        ));
    }
    fault.cured(format!("write {whole}.{part}; {two}: {pair}"))
}

/// A digit, an "e", then a digit with or without a sign.
fn is_exponent(low: &str) -> bool {
    let signs: Vec<char> = low.chars().filter(|c| *c != ' ').collect();
    let digit = |at: usize| signs.get(at).is_some_and(char::is_ascii_digit);
    let point = |at: usize| signs.get(at).is_some_and(|c| *c == '.');
    (1..signs.len()).any(|at| {
        let sign = matches!(signs.get(at + 1), Some('+' | '-'));
        signs[at] == 'e'
            && (digit(at - 1) || point(at - 1))
            && (digit(at + 1) || (sign && digit(at + 2)))
    })
}

/// No number where one is wanted.
pub(super) fn no_number(tidy: &Tidy) -> UnitFault {
    let found = quoted(&tidy.shown);
    let text = match Unit::parse_name(&tidy.low) {
        Some(_) => format!("{found} is a unit without a number"),
        None => format!("{found} does not start with a number"),
    };
    UnitFault::new(UnitFaultKind::Grammar, text)
        .cured("write a number and its unit, as in \"1 1/4 in\" or \"31.75 mm\"")
}

/// A number without a unit where none is set.
pub(super) fn no_unit(tidy: &Tidy) -> UnitFault {
    let shown = &tidy.shown;
    UnitFault::new(UnitFaultKind::NoUnit, format!("{} has no unit", quoted(shown)))
        .cured(format!("write \"{shown} in\" or \"{shown} mm\""))
}

/// A unit that is not known.
pub(super) fn unknown(tidy: &Tidy, word: &str) -> UnitFault {
    let found = quoted(&tidy.shown);
    let fault = UnitFault::new(
        UnitFaultKind::UnknownUnit,
        format!("{found}: {} is not a unit used here", quoted(word)),
    );
    match word {
        "iron" | "irons" => fault.cured(
            "an iron of leather is put at different sizes in print; give inches, thou or mm",
        ),
        "pt" | "pts" | "point" | "points" => {
            fault.cured("if thousandths of an inch are meant, write thou; otherwise give mm")
        }
        "x" | "by" => fault.cured("for two lengths use two quoted lengths in a list"),
        _ => fault.cured("use in, ft, yd, thou, mm, cm or m"),
    }
}

/// Leather ounces where they have no place.
pub(super) fn ounce(tidy: &Tidy, number: Number) -> UnitFault {
    let fault = UnitFault::new(
        UnitFaultKind::Ounce,
        format!(
            "{}: a leather ounce tells thickness, and this size is not a thickness",
            quoted(&tidy.shown)
        ),
    );
    match number {
        Number::Decimal { digits, places: 0 } if digits > 0 => {
            fault.cured(format!("give inches or mm; {digits} oz of thickness is {digits}/64 in"))
        }
        _ => fault.cured("give inches or mm; 1 oz of thickness is 1/64 in"),
    }
}

/// Feet followed by something other than inches.
pub(super) fn feet(tidy: &Tidy) -> UnitFault {
    UnitFault::new(
        UnitFaultKind::Grammar,
        format!("{}: after feet only inches can follow, with their unit", quoted(&tidy.shown)),
    )
    .cured("write it as \"3 ft 6 in\"")
}
