//! Areas of leather and cloth.

use super::fault::{UnitFault, UnitFaultKind, quoted};
use super::number::Factor;
use super::read::{Cursor, Tidy, check_length};
use super::{Unit, traps};
use std::fmt;

/// Areas from here up are refused: 10 000 m².
const TOO_LARGE_MM2: f64 = 1e10;

/// A unit of area.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AreaUnit {
    /// Square inch, 645.16 mm².
    SquareInch,
    /// Square foot, 92 903.04 mm²: skins are sold by it.
    SquareFoot,
    /// Square yard, 836 127.36 mm².
    SquareYard,
    /// Square millimetre.
    SquareMillimetre,
    /// Square centimetre.
    SquareCentimetre,
    /// Square decimetre: skins are sold by it where metres are used.
    SquareDecimetre,
    /// Square metre.
    SquareMetre,
}

impl AreaUnit {
    /// Reads the name of a unit: "sq ft", "ft²", "ft2", "square feet", "dm²"
    /// and so on, in small or capital letters. Nothing when the name is not
    /// known.
    pub fn parse_name(name: &str) -> Option<Self> {
        let low = Tidy::new(name).ok()?.low.replace('²', "2");
        let bare: String = low.chars().filter(|c| !matches!(c, ' ' | '.' | '^' | '-')).collect();
        let root = ["square", "sq"]
            .iter()
            .find_map(|word| bare.strip_prefix(word))
            .or_else(|| bare.strip_suffix('2'))?;
        if matches!(root, "dm" | "decimetre" | "decimetres") {
            return Some(Self::SquareDecimetre);
        }
        Some(match Unit::parse_name(root)? {
            Unit::Inch => Self::SquareInch,
            Unit::Foot => Self::SquareFoot,
            Unit::Yard => Self::SquareYard,
            Unit::Millimetre => Self::SquareMillimetre,
            Unit::Centimetre => Self::SquareCentimetre,
            Unit::Metre => Self::SquareMetre,
            Unit::Thou => return None,
        })
    }

    fn factor(self) -> Factor {
        match self {
            Self::SquareInch => Factor::new(64_516, 2),
            Self::SquareFoot => Factor::new(9_290_304, 2),
            Self::SquareYard => Factor::new(83_612_736, 2),
            Self::SquareMillimetre => Factor::new(1, 0),
            Self::SquareCentimetre => Factor::new(100, 0),
            Self::SquareDecimetre => Factor::new(10_000, 0),
            Self::SquareMetre => Factor::new(1_000_000, 0),
        }
    }
}

impl fmt::Display for AreaUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::SquareInch => "sq in",
            Self::SquareFoot => "sq ft",
            Self::SquareYard => "sq yd",
            Self::SquareMillimetre => "mm²",
            Self::SquareCentimetre => "cm²",
            Self::SquareDecimetre => "dm²",
            Self::SquareMetre => "m²",
        })
    }
}

/// An area as it was written, with its value in square millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    mm2: f64,
    text: String,
    unit: AreaUnit,
}

impl Area {
    /// Reads an area. `unit` is used for a number written without one, and is
    /// then added to the text.
    ///
    /// # Errors
    /// Refuses anything that is not clearly one area: see [`UnitFaultKind`].
    ///
    /// # Source
    /// NIST SP 811, Appendix B.
    pub fn parse(text: &str, unit: Option<AreaUnit>) -> Result<Self, UnitFault> {
        let tidy = Tidy::new(text)?;
        traps::spreadsheet(&tidy, &unit.unwrap_or(AreaUnit::SquareFoot).to_string())?;
        traps::words(&tidy)?;
        let mut cursor = Cursor::new(&tidy);
        let minus = cursor.minus();
        let Some(number) = cursor.number()? else {
            let fault = UnitFault::new(
                UnitFaultKind::Grammar,
                format!("{} does not start with a number", quoted(&tidy.shown)),
            );
            return Err(fault.cured("write a number and its unit, as in \"4.5 sq ft\""));
        };
        let word = cursor.rest();
        let bare = word.is_empty();
        let unit = match (bare, unit) {
            (false, _) => AreaUnit::parse_name(word).ok_or_else(|| unknown(&tidy, word))?,
            (true, Some(unit)) => unit,
            (true, None) => {
                let shown = &tidy.shown;
                let fault =
                    UnitFault::new(UnitFaultKind::NoUnit, format!("{} has no unit", quoted(shown)));
                return Err(fault.cured(format!("write \"{shown} sq ft\" or \"{shown} dm²\"")));
            }
        };
        let mm2 = number.times(unit.factor());
        if !mm2.is_finite() || mm2 >= TOO_LARGE_MM2 {
            return Err(UnitFault::new(
                UnitFaultKind::TooLarge,
                format!("{} is 10 000 m² or more", quoted(&tidy.shown)),
            )
            .cured("check the unit"));
        }
        if minus {
            return Err(UnitFault::new(
                UnitFaultKind::Negative,
                format!("{}: an area can't be negative", quoted(&tidy.shown)),
            )
            .cured("write it without the minus sign"));
        }
        let mut text = tidy.shown;
        if bare {
            text = format!("{text} {unit}");
            check_length(&text)?;
        }
        Ok(Self { mm2, text, unit })
    }

    /// An area worked out by the program. Its text is the figure in square
    /// millimetres and reads back to the very same value (below 10 000 m²;
    /// less than 1e-30 mm² counts as 0).
    ///
    /// # Units
    /// Square millimetres.
    pub fn from_mm2(mm2: f64) -> Self {
        let mm2 = if mm2.abs() < 1e-30 { 0.0 } else { mm2 };
        let unit = AreaUnit::SquareMillimetre;
        Self { mm2, text: format!("{mm2} {unit}"), unit }
    }

    /// The value.
    ///
    /// # Units
    /// Square millimetres.
    pub fn mm2(&self) -> f64 {
        self.mm2
    }

    /// The area as written, its unit added if it had none.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The area as skins are sold by the foot.
    ///
    /// # Units
    /// Square feet.
    ///
    /// # Source
    /// NIST SP 811, Appendix B.
    pub fn sq_ft(&self) -> f64 {
        self.mm2 / 92_903.04
    }

    /// The area as skins are sold by the decimetre.
    ///
    /// # Units
    /// Square decimetres.
    pub fn dm2(&self) -> f64 {
        self.mm2 / 10_000.0
    }

    /// The area as written, with square feet and square decimetres behind
    /// it, neither said twice: "4.5 sq ft (41.81 dm²)".
    pub fn show_both(&self) -> String {
        let feet = format!("{:.2} sq ft", self.sq_ft());
        let metric = format!("{:.2} dm²", self.dm2());
        let behind = match self.unit {
            AreaUnit::SquareFoot => metric,
            AreaUnit::SquareDecimetre => feet,
            _ => format!("{feet}, {metric}"),
        };
        format!("{} ({behind})", self.text)
    }
}

fn unknown(tidy: &Tidy, word: &str) -> UnitFault {
    let found = quoted(&tidy.shown);
    if Unit::parse_name(word).is_some() {
        let number = traps::lead(&tidy.low);
        return UnitFault::new(
            UnitFaultKind::NotArea,
            format!("{found} is a length, and an area is wanted here"),
        )
        .cured(format!("write an area, as in \"{number} sq ft\""));
    }
    UnitFault::new(
        UnitFaultKind::UnknownUnit,
        format!("{found}: {} is not a unit of area used here", quoted(word)),
    )
    .cured("use sq in, sq ft, sq yd, cm², dm² or m²")
}
