//! The two styles of dimensions: how far lines stand off, where letters go, how a figure is written.
//!
//! Both keep the decimal point, since the figure is typed back in; ISO 129-1 asks for a comma. Both put the other unit in
//! brackets behind the figure. The title strip says once which is which.
//!
//! # Source
//! Metric: ISO 129-1:2018 (letters above the line, read from the bottom or the right; sign before a diameter). Inch: notes
//! of drawing courses on ASME Y14.5 (gap of 1/16 in, 1/8 in past the line, lines 3/8 in off and 1/4 in apart, arrows three
//! times as long as wide, no zero before the point); that it has the diameter's sign before the figure too is from memory.
//! ISO 128-2 for thick and thin lines, two to one, from memory.

use crate::part::{Figure, Term, TermRole};
use crate::units::Length;

/// How dimensions are drawn and written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DimensionStyle {
    /// Inches first; all letters read from the bottom, in a gap of their line.
    Inch,
    /// Millimetres first; letters above their line, read from the bottom or the right.
    Metric,
}

/// Distances of a style (mm on the page).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Manners {
    /// From the part to its first dimension line.
    pub(super) first: f64,
    /// From one line to the next.
    pub(super) next: f64,
    /// Left open between the part and an extension line.
    pub(super) gap: f64,
    /// How far an extension line goes past the dimension line.
    pub(super) past: f64,
}

impl DimensionStyle {
    /// The style for lengths as they were typed: inches where more of the sum's lengths were typed in inches, feet, yards or
    /// thousandths than in millimetres, centimetres or metres, or as the size of a drill.
    pub fn as_typed<'a>(sum: impl IntoIterator<Item = &'a Term>) -> DimensionStyle {
        let typed = sum.into_iter().filter(|t| t.role == TermRole::Given && t.unit == "mm");
        let (mut inch, mut metric) = (0, 0);
        for term in typed.filter(|t| t.from.is_some()) {
            if ["mm", "cm", " m"].iter().any(|unit| term.written.ends_with(unit)) {
                metric += 1;
            } else {
                inch += 1;
            }
        }
        if inch > metric { DimensionStyle::Inch } else { DimensionStyle::Metric }
    }

    pub(super) fn manners(self) -> Manners {
        match self {
            DimensionStyle::Inch => Manners { first: 10.0, next: 6.0, gap: 1.5, past: 3.0 },
            DimensionStyle::Metric => Manners { first: 10.0, next: 8.0, gap: 0.0, past: 2.0 },
        }
    }

    /// What the title strip says of the unit.
    pub(super) fn unit(self) -> &'static str {
        match self {
            DimensionStyle::Inch => "inches [mm]",
            DimensionStyle::Metric => "mm [inches]",
        }
    }

    /// A length in the style's own unit (mm); as it was typed where the sum has it in inches.
    pub(super) fn plain(self, mm: f64, sum: &[Term]) -> String {
        match self {
            DimensionStyle::Inch => {
                let text = typed_inches(mm, sum).unwrap_or_else(|| decimals(mm / 25.4, 3));
                text.strip_prefix('0')
                    .filter(|rest| rest.starts_with('.'))
                    .map_or_else(|| text.clone(), str::to_owned)
            }
            DimensionStyle::Metric => decimals(mm, 2),
        }
    }

    /// A figure, and the other unit in brackets.
    pub(super) fn both(self, mm: f64, sum: &[Term]) -> (String, String) {
        let other = match self {
            DimensionStyle::Inch => format!("[{}]", decimals(mm, 2)),
            DimensionStyle::Metric => {
                let inches = typed_inches(mm, sum).unwrap_or_else(|| decimals(mm / 25.4, 3));
                format!("[{inches}]")
            }
        };
        (self.plain(mm, sum), other)
    }

    /// A figure on one line, with its words.
    pub(super) fn line(self, figure: &Figure, sum: &[Term]) -> String {
        let (own, other) = self.both(figure.mm, sum);
        format!("{own} {other}{}", figure.words)
    }
}

/// A figure with so many decimals, a half rounded up: 28.575 is 28.58, however it is kept.
fn decimals(value: f64, places: usize) -> String {
    let one = if places == 2 { 100.0 } else { 1000.0 };
    format!("{:.places$}", (value * one + 1e-6).round() / one + 0.0)
}

/// The figure in inches as it was typed, without its unit, where a line of the sum has this very length.
fn typed_inches(mm: f64, sum: &[Term]) -> Option<String> {
    let same = |t: &&Term| {
        t.role == TermRole::Given
            && t.unit == "mm"
            && (t.value - mm).abs() < 1e-6
            && t.from.is_some()
    };
    sum.iter().filter(same).find_map(|term| {
        let typed = term.written.trim();
        let bare = typed.strip_suffix("in").or_else(|| typed.strip_suffix('"'))?.trim_end();
        let again = Length::parse(typed, None).ok()?;
        ((again.mm() - mm).abs() < 1e-6).then(|| bare.to_owned())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault::Place;
    use std::sync::Arc;

    fn given(written: &str) -> Term {
        Term {
            label: "length".to_owned(),
            written: written.to_owned(),
            value: Length::parse(written, None).expect("a length").mm(),
            unit: "mm",
            from: Some(Place::head(&Arc::from("job.toml"))),
            role: TermRole::Given,
        }
    }

    // No zero before the point in inches: notes of drawing courses on ASME Y14.5. A zero before it in millimetres: ISO
    // 129-1:2018. 1 in = 25.4 mm: NIST SP 811.
    #[test]
    fn figures_are_written_by_the_rules_of_their_style() {
        let (inch, metric) = (DimensionStyle::Inch, DimensionStyle::Metric);
        let figure =
            |style: DimensionStyle, mm: f64, sum: &[Term]| style.line(&Figure::of(mm), sum);
        assert_eq!(figure(inch, 0.9652, &[]), ".038 [0.97]");
        assert_eq!(figure(metric, 0.9652, &[]), "0.97 [0.038]");
        assert_eq!(figure(inch, 38.64, &[]), "1.521 [38.64]");
        assert_eq!(figure(inch, 28.575, &[]), "1.125 [28.58]");
        let typed = [given("1 1/4 in"), given("0.5 in"), given("40 mm"), given("38 thou")];
        assert_eq!(figure(inch, 31.75, &typed), "1 1/4 [31.75]");
        assert_eq!(figure(metric, 31.75, &typed), "31.75 [1 1/4]");
        assert_eq!(figure(inch, 12.7, &typed), ".5 [12.70]");
        assert_eq!(figure(metric, 12.7, &typed), "12.70 [0.5]");
        assert_eq!(figure(inch, 40.0, &typed), "1.575 [40.00]");
        assert_eq!(figure(inch, 0.9652, &typed), ".038 [0.97]");
        // Another length than the typed one is not called by its name.
        assert_eq!(figure(inch, 31.76, &typed), "1.250 [31.76]");
        let words = Figure::of(31.75).and(", 4 alike");
        assert_eq!(inch.line(&words, &typed), "1 1/4 [31.75], 4 alike");
    }

    #[test]
    fn what_was_typed_chooses_the_style() {
        let style = |typed: &[&str]| {
            let sum: Vec<Term> = typed.iter().map(|t| given(t)).collect();
            DimensionStyle::as_typed(&sum)
        };
        assert_eq!(style(&["1 1/4 in", "12 thou", "3 mm"]), DimensionStyle::Inch);
        assert_eq!(style(&["31 mm", "2 cm", "1/4 in"]), DimensionStyle::Metric);
        assert_eq!(style(&[]), DimensionStyle::Metric);
    }

    // 3/8, 1/4, 1/16 and 1/8 in, rounded to half a millimetre: notes of drawing courses on ASME Y14.5.
    #[test]
    fn inch_lines_stand_off_by_the_published_sixteenths() {
        let it = DimensionStyle::Inch.manners();
        for (have, sixteenths) in [(it.first, 6.0), (it.next, 4.0), (it.gap, 1.0), (it.past, 2.0)] {
            assert!((have - sixteenths * 25.4 / 16.0).abs() <= 0.5, "{have}");
        }
        let it = DimensionStyle::Metric.manners();
        assert!(it.gap.abs() < 1e-9 && it.past > 0.0 && it.first >= it.next);
    }
}
