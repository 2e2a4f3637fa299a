//! Figures that are not lengths: angles, pressures, forces and volumes, with the text they were written in.

use super::fault::{UnitFault, UnitFaultKind, quoted};
use super::read::{Cursor, Tidy};
use std::fmt;

/// What a figure measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quality {
    /// An angle, in degrees.
    Angle,
    /// A pressure below or above the room's, in pascals.
    Pressure,
    /// A force, in newtons.
    Force,
    /// A volume, in cubic millimetres.
    Volume,
}

impl Quality {
    /// The units it may be written in, each with what one is of the unit it is kept in.
    ///
    /// # Source
    /// Inch of water (conventional) 249.0889 Pa, pound-force 4.448 222 N, kilogram-force 9.806 65 N: NIST SP 811,
    /// appendix B. Inch 25.4 mm exactly.
    pub fn units(self) -> &'static [(&'static str, f64)] {
        match self {
            Quality::Angle => &[("deg", 1.0), ("°", 1.0)],
            Quality::Pressure => &[
                ("inH2O", 249.088_9),
                ("in wg", 249.088_9),
                ("mmH2O", 9.806_65),
                ("mm wg", 9.806_65),
                ("Pa", 1.0),
                ("kPa", 1000.0),
                ("mbar", 100.0),
            ],
            Quality::Force => &[
                ("N", 1.0),
                ("lbf", 4.448_222),
                ("ozf", 4.448_222 / 16.0),
                ("kgf", 9.806_65),
                ("gf", 0.009_806_65),
            ],
            Quality::Volume => &[
                ("in3", 16_387.064),
                ("cu in", 16_387.064),
                ("cm3", 1000.0),
                ("ml", 1000.0),
                ("l", 1e6),
                ("mm3", 1.0),
            ],
        }
    }

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Quality::Angle => "an angle",
            Quality::Pressure => "a pressure",
            Quality::Force => "a force",
            Quality::Volume => "a volume",
        }
    }

    /// The unit it is kept in.
    pub fn unit(self) -> &'static str {
        match self {
            Quality::Angle => "°",
            Quality::Pressure => "Pa",
            Quality::Force => "N",
            Quality::Volume => "mm³",
        }
    }
}

/// A figure with its unit, as written and as kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    text: String,
    value: f64,
    quality: Quality,
}

impl Quantity {
    /// Reads a number with its unit: `20 inH2O`, `45 deg`, `7 1/2 N`, `3 cu in`.
    ///
    /// # Errors
    /// Whatever is no number; a number without a unit; a unit that does not measure this.
    pub fn parse(text: &str, quality: Quality) -> Result<Quantity, UnitFault> {
        let tidy = Tidy::new(text)?;
        let mut cursor = Cursor::new(&tidy);
        let number = cursor.plain_number()?;
        let name = plain(cursor.rest());
        let named = quality.units().iter().find(|(unit, _)| plain(unit) == name);
        let Some((_, factor)) = named else {
            let known: Vec<&str> = quality.units().iter().map(|(unit, _)| *unit).collect();
            let (kind, said) = if name.is_empty() {
                (UnitFaultKind::NoUnit, format!("{} has no unit", quoted(text)))
            } else {
                (
                    UnitFaultKind::UnknownUnit,
                    format!("{} is not {} that is read here", quoted(text), quality.name()),
                )
            };
            return Err(UnitFault::new(kind, said).cured(format!("units: {}", known.join(", "))));
        };
        let value = number * factor;
        if !value.is_finite() || value > 1e12 {
            return Err(UnitFault::new(
                UnitFaultKind::TooLarge,
                format!("{} is too large", quoted(text)),
            ));
        }
        Ok(Quantity { text: tidy.shown, value, quality })
    }

    /// As it was written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The figure: degrees, pascals, newtons or cubic millimetres.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// What it measures.
    pub fn quality(&self) -> Quality {
        self.quality
    }
}

/// A unit's name without what people write in different ways: case, spaces, stops, and words for water.
fn plain(name: &str) -> String {
    let mut name = name.to_lowercase().replace('²', "2").replace('³', "3").replace('₂', "2");
    for (long, short) in [
        ("inches", "in"),
        ("inch", "in"),
        ("degrees", "deg"),
        ("degree", "deg"),
        ("of water", "h2o"),
        ("water gauge", "h2o"),
        ("water", "h2o"),
        ("w.g.", "h2o"),
        ("wg", "h2o"),
        ("cubic", "cu"),
        ("litres", "l"),
        ("litre", "l"),
        ("newtons", "n"),
        ("newton", "n"),
    ] {
        name = name.replace(long, short);
    }
    name.retain(|c| !c.is_whitespace() && c != '.');
    name
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    // NIST SP 811, appendix B.8 and B.9; the inch exactly.
    #[test]
    fn figures_with_their_units() {
        for (text, quality, value) in [
            ("5 inH2O", Quality::Pressure, 1245.4445),
            ("20 in water", Quality::Pressure, 4981.778),
            ("20 in w.g.", Quality::Pressure, 4981.778),
            ("20 inches of water", Quality::Pressure, 4981.778),
            ("45 degrees", Quality::Angle, 45.0),
            ("3 cubic inches", Quality::Volume, 49_161.192),
            ("1.5 kPa", Quality::Pressure, 1500.0),
            ("45 deg", Quality::Angle, 45.0),
            ("67 1/2°", Quality::Angle, 67.5),
            ("2 lbf", Quality::Force, 8.896_444),
            ("7.3 N", Quality::Force, 7.3),
            ("1/2 in³", Quality::Volume, 8193.532),
            ("250 ml", Quality::Volume, 250_000.0),
        ] {
            let read = Quantity::parse(text, quality).unwrap();
            assert_relative_eq!(read.value(), value, max_relative = 1e-12);
            assert_eq!(read.text(), text);
        }
    }

    #[test]
    fn what_is_refused() {
        for (text, quality) in [
            ("5", Quality::Pressure),
            ("", Quality::Angle),
            ("5 psi of steam", Quality::Pressure),
            ("12 mm", Quality::Force),
            ("-3 N", Quality::Force),
            ("nan deg", Quality::Angle),
            ("1,5 kPa", Quality::Pressure),
            ("1/0 N", Quality::Force),
        ] {
            assert!(Quantity::parse(text, quality).is_err(), "{text}");
        }
    }
}
