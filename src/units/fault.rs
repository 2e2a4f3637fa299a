//! What is said when a measurement cannot be read.

use std::fmt;

/// Why a measurement was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum UnitFaultKind {
    /// Nothing was written, or a list of readings holds none.
    Empty,
    /// More text than any measurement needs.
    TooLong,
    /// A number without a unit, and no unit set for the job.
    NoUnit,
    /// A unit this program does not know.
    UnknownUnit,
    /// A comma inside a number.
    Comma,
    /// The word "mil", which means two different sizes.
    Mil,
    /// A wire gauge, which is not a drill size.
    WireGauge,
    /// Leather ounces where a plain length is wanted.
    Ounce,
    /// An area where a length is wanted.
    Area,
    /// A length where an area is wanted.
    NotArea,
    /// A drill number outside #1 to #80.
    DrillRange,
    /// A single letter that may or may not be a drill.
    BareLetter,
    /// A fraction over 0.
    ZeroDenominator,
    /// A size below zero.
    Negative,
    /// Not a number at all ("nan", "infinity").
    NotFinite,
    /// A number written with a power of ten ("1e3").
    Exponent,
    /// 100 m or more (for an area, 10 000 square metres or more).
    TooLarge,
    /// A spreadsheet's own error mark, such as "#REF!".
    SpreadsheetError,
    /// A date, which a spreadsheet makes out of a fraction.
    SpreadsheetDate,
    /// Anything else that does not read as a measurement.
    Grammar,
}

/// A measurement that was refused: what was found, why, and what to type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitFault {
    kind: UnitFaultKind,
    text: String,
    cure: Option<String>,
}

impl UnitFault {
    pub(super) fn new(kind: UnitFaultKind, text: impl Into<String>) -> Self {
        Self { kind, text: text.into(), cure: None }
    }

    pub(super) fn cured(mut self, cure: impl Into<String>) -> Self {
        self.cure = Some(cure.into());
        self
    }

    /// The kind of fault.
    pub fn kind(&self) -> UnitFaultKind {
        self.kind
    }

    /// What was found and why it was refused.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What to type in its place, where that can be told.
    pub fn cure(&self) -> Option<&str> {
        self.cure.as_deref()
    }
}

impl fmt::Display for UnitFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.cure {
            Some(cure) => write!(f, "{}; {cure}", self.text),
            None => f.write_str(&self.text),
        }
    }
}

impl std::error::Error for UnitFault {}

/// The text as found, in quotes, cut short and without unprintable signs.
pub(super) fn quoted(text: &str) -> String {
    const MOST: usize = 40;
    let mut out = String::from("\"");
    for (at, sign) in text.trim().chars().enumerate() {
        if at == MOST {
            out.push('…');
            break;
        }
        out.push(if sign.is_control() { '\u{fffd}' } else { sign });
    }
    out.push('"');
    out
}
