//! Lengths, thicknesses, areas and drills, as people at the bench write
//! them.
//!
//! Every length is kept twice: as it was written, and in millimetres. The
//! written text goes back on to drawings and lists; the millimetres are what
//! the program reckons with.
//!
//! What can be written: `1 1/4 in`, `1-1/4"`, `¾ in`, `1.25 in`, `.038 in`,
//! `12 thou`, `31.75 mm`, `3 cm`, `2 1/2 yd`, `3 ft 6 in`, `#60 drill`,
//! `no. 60`, `F drill`. Small and capital letters are alike, and spaces are
//! free. For thicknesses also leather ounces, `3 oz`.
//!
//! # Source
//! Inch, foot and yard: NIST SP 811, Appendix B. Drills: ASME B94.11M, as
//! given in nine printed copies; #69 agrees to .0001. Leather ounce: common
//! practice, 1 oz = 1/64 in.

mod area;
mod date;
mod day;
mod drill;
mod fault;
mod number;
mod quantity;
mod read;
mod show;
#[cfg(test)]
mod tests;
mod traps;

use std::fmt;

pub use area::{Area, AreaUnit};
pub use day::Day;
pub use drill::{drills, letter_drill, nearest_drill, number_drill};
pub use fault::{UnitFault, UnitFaultKind};
pub use quantity::{Quality, Quantity};
pub use show::{
    Sixtyfourth, counted, nearest_64th, show, show_both, show_inches, table, thousandths,
};

use fault::quoted;
use number::{Factor, Number};
use read::{Cursor, Tidy, check_length};

/// A leather ounce of thickness, 1/64 in.
///
/// # Units
/// Millimetres.
///
/// # Source
/// Common practice: 1 oz = 1/64 in; NIST SP 811, Appendix B, for the inch.
pub const OUNCE_MM: f64 = 0.396_875;

const OUNCE: Factor = Factor::new(396_875, 6);

/// Lengths from here up are refused: 100 m is no part of an instrument.
const TOO_LARGE_MM: f64 = 1e5;

/// How many readings are named one by one in a text.
const READINGS_NAMED: usize = 6;

/// A unit of length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Inch, 25.4 mm.
    Inch,
    /// Foot, 12 in.
    Foot,
    /// Yard, 36 in.
    Yard,
    /// Thousandth of an inch.
    Thou,
    /// Millimetre.
    Millimetre,
    /// Centimetre.
    Centimetre,
    /// Metre.
    Metre,
}

impl Unit {
    /// Reads the name of a unit: "in", "inches", `"`, "ft", "mm" and so on,
    /// in small or capital letters. Nothing when the name is not known.
    pub fn parse_name(name: &str) -> Option<Self> {
        let low = Tidy::new(name).ok()?.low;
        Some(match low.strip_suffix('.').unwrap_or(&low) {
            "in" | "ins" | "inch" | "inches" | "\"" => Self::Inch,
            "ft" | "foot" | "feet" | "'" => Self::Foot,
            "yd" | "yds" | "yard" | "yards" => Self::Yard,
            "thou" | "thous" | "thousandth" | "thousandths" => Self::Thou,
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Millimetre,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::Centimetre,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::Metre,
            _ => return None,
        })
    }

    /// How long one of this unit is.
    ///
    /// # Units
    /// Millimetres.
    ///
    /// # Source
    /// NIST SP 811, Appendix B.
    pub fn millimetres(self) -> f64 {
        Number::Decimal { digits: 1, places: 0 }.times(self.factor())
    }

    fn factor(self) -> Factor {
        match self {
            Self::Inch => Factor::new(254, 1),
            Self::Foot => Factor::new(3048, 1),
            Self::Yard => Factor::new(9144, 1),
            Self::Thou => Factor::new(254, 4),
            Self::Millimetre => Factor::new(1, 0),
            Self::Centimetre => Factor::new(10, 0),
            Self::Metre => Factor::new(1000, 0),
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Inch => "in",
            Self::Foot => "ft",
            Self::Yard => "yd",
            Self::Thou => "thou",
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Metre => "m",
        })
    }
}

/// A remark on a length that can be used but may be a slip.
#[derive(Debug, Clone, PartialEq)]
pub struct Hint {
    text: String,
    instead: String,
}

impl Hint {
    /// The remark in full.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The nearest fraction found on an inch rule, such as "19/64 in".
    pub fn instead(&self) -> &str {
        &self.instead
    }
}

impl fmt::Display for Hint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// A length as it was written, with its value in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    mm: f64,
    text: String,
    readings: Vec<f64>,
    reading_texts: Vec<String>,
    plain_mm: bool,
    odd: bool,
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// What a reader lets through besides sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Allow {
    Sizes,
    Signed,
    Ounces,
}

impl Length {
    /// Reads a size. `unit` is used for a number written without one, and is
    /// then added to the text, so that the text can be read again anywhere.
    ///
    /// ```
    /// use pouchwork::units::{Length, Unit};
    ///
    /// let well = Length::parse("1 1/4", Some(Unit::Inch))?;
    /// assert_eq!(well.text(), "1 1/4 in");
    /// assert_eq!(well.mm().to_bits(), 31.75_f64.to_bits());
    /// # Ok::<(), pouchwork::units::UnitFault>(())
    /// ```
    ///
    /// # Errors
    /// Refuses anything that is not clearly one size: see [`UnitFaultKind`].
    ///
    /// # Source
    /// Units: NIST SP 811, Appendix B. Drills: ASME B94.11M, as given in nine
    /// printed copies; #69 agrees to .0001.
    pub fn parse(text: &str, unit: Option<Unit>) -> Result<Self, UnitFault> {
        Self::read(text, unit, Allow::Sizes)
    }

    /// Reads a place on a sheet, which may be below zero: "-5 mm".
    ///
    /// # Errors
    /// As [`Length::parse`], but a minus sign is taken.
    pub fn parse_signed(text: &str, unit: Option<Unit>) -> Result<Self, UnitFault> {
        Self::read(text, unit, Allow::Signed)
    }

    /// Reads a thickness: every size, and leather ounces as well ("3 oz").
    ///
    /// # Errors
    /// As [`Length::parse`], but leather ounces are taken.
    ///
    /// # Source
    /// Common practice: 1 oz = 1/64 in.
    pub fn parse_thickness(text: &str, unit: Option<Unit>) -> Result<Self, UnitFault> {
        Self::read(text, unit, Allow::Ounces)
    }

    /// A length worked out by the program. Its text is the figure in
    /// millimetres, such as "12.5 mm", and reads back to the very same value
    /// (below 100 m; less than 1e-30 mm counts as 0).
    ///
    /// # Units
    /// Millimetres.
    pub fn from_mm(mm: f64) -> Self {
        let mm = if mm.abs() < 1e-30 { 0.0 } else { mm };
        Self::single(mm, format!("{mm} mm"), true, false)
    }

    /// The mean of several readings of one size, with the readings kept.
    /// A list of one gives that length itself; readings that are means
    /// already bring in their own readings.
    ///
    /// The text ("mean of 3: 1.001 in, ...") is for people; to be read again
    /// the readings are written as a list.
    ///
    /// # Errors
    /// Refuses an empty list.
    pub fn from_readings(list: Vec<Self>) -> Result<Self, UnitFault> {
        let mut readings = Vec::with_capacity(list.len());
        let mut texts = Vec::with_capacity(list.len());
        let odd = list.iter().any(|each| each.odd);
        let mut last = None;
        for each in list {
            if each.readings.is_empty() {
                readings.push(each.mm);
                texts.push(each.text.clone());
            } else {
                readings.extend(&each.readings);
                texts.extend(each.reading_texts.iter().cloned());
            }
            last = Some(each);
        }
        if readings.len() < 2 {
            return last.ok_or_else(|| {
                UnitFault::new(UnitFaultKind::Empty, "the list of readings is empty")
                    .cured("give one reading or more, as in [\"1.001 in\", \"1.003 in\"]")
            });
        }
        // measured from the first, so that equal readings give just that
        let first = readings[0];
        let (mut sum, mut count) = (0.0, 0.0);
        for each in &readings {
            sum += each - first;
            count += 1.0;
        }
        let named = texts.len().min(READINGS_NAMED);
        let more = match texts.len() - named {
            0 => String::new(),
            unnamed => format!(" and {unnamed} more"),
        };
        let text = format!("mean of {count}: {}{more}", texts[..named].join(", "));
        Ok(Self {
            mm: first + sum / count,
            text,
            readings,
            reading_texts: texts,
            plain_mm: false,
            odd,
        })
    }

    /// The value.
    ///
    /// # Units
    /// Millimetres.
    pub fn mm(&self) -> f64 {
        self.mm
    }

    /// The length as written, its unit added if it had none.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The readings behind a mean, in the order given; empty when the length
    /// was written as one figure.
    ///
    /// # Units
    /// Millimetres.
    pub fn readings(&self) -> &[f64] {
        &self.readings
    }

    /// The readings behind a mean as they were written; empty when the length
    /// was written as one figure.
    pub fn reading_texts(&self) -> &[String] {
        &self.reading_texts
    }

    /// The largest reading less the smallest; 0 for a single figure.
    ///
    /// # Units
    /// Millimetres.
    pub fn spread(&self) -> f64 {
        let fold = |pick: fn(f64, f64) -> f64| self.readings.iter().copied().reduce(pick);
        match (fold(f64::max), fold(f64::min)) {
            (Some(most), Some(least)) => most - least,
            _ => 0.0,
        }
    }

    /// A remark when the length was written as a fraction of an inch that no
    /// rule carries (3/10 in), with the nearest 64th in its place.
    pub fn odd_fraction(&self) -> Option<Hint> {
        self.odd.then(|| {
            let near = nearest_64th(self.mm);
            Hint {
                text: format!(
                    "{} is not on an inch rule; the nearest mark is {}",
                    quoted(&self.text),
                    near.with_error()
                ),
                instead: near.text,
            }
        })
    }

    fn single(mm: f64, text: String, plain_mm: bool, odd: bool) -> Self {
        Self { mm, text, readings: Vec::new(), reading_texts: Vec::new(), plain_mm, odd }
    }

    fn read(text: &str, unit: Option<Unit>, allow: Allow) -> Result<Self, UnitFault> {
        let tidy = Tidy::new(text)?;
        traps::spreadsheet(&tidy, &unit.unwrap_or(Unit::Inch).to_string())?;
        traps::words(&tidy)?;
        traps::no_area(&tidy)?;
        if let Some(mm) = drill::read(&tidy)? {
            return Ok(Self::single(mm, tidy.shown, false, false));
        }
        let mut cursor = Cursor::new(&tidy);
        let minus = cursor.minus();
        let Some(number) = cursor.number()? else {
            return Err(traps::no_number(&tidy));
        };
        let word = cursor.word();
        let bare = word.is_empty();
        if bare {
            cursor.end()?;
        }
        if matches!(word, "oz" | "ounce" | "ounces") {
            cursor.end()?;
            let mm = number.times(OUNCE);
            if allow != Allow::Ounces {
                return Err(traps::ounce(&tidy, number));
            }
            let mm = checked(mm, minus, allow, &tidy)?;
            return Ok(Self::single(mm, tidy.shown, false, false));
        }
        let unit = match (bare, unit) {
            (false, _) => Unit::parse_name(word).ok_or_else(|| traps::unknown(&tidy, word))?,
            (true, Some(unit)) => unit,
            (true, None) => return Err(traps::no_unit(&tidy)),
        };
        let mut odd = unit == Unit::Inch && number.is_odd_fraction();
        let mm = if unit == Unit::Foot && !cursor.rest().is_empty() {
            cursor.pass_dash();
            let inches = cursor.number()?;
            let unit = Unit::parse_name(cursor.word());
            let (Some(inches), Some(Unit::Inch)) = (inches, unit) else {
                return Err(traps::feet(&tidy));
            };
            odd = inches.is_odd_fraction();
            Number::sum((number, Unit::Foot.factor()), (inches, Unit::Inch.factor()))
        } else {
            number.times(unit.factor())
        };
        cursor.end()?;
        let mm = checked(mm, minus, allow, &tidy)?;
        let mut shown = tidy.shown;
        if bare {
            shown = format!("{shown} {unit}");
            check_length(&shown)?;
        }
        Ok(Self::single(mm, shown, unit == Unit::Millimetre, odd))
    }
}

/// Puts the sign on and keeps out what no part can measure.
fn checked(mm: f64, minus: bool, allow: Allow, tidy: &Tidy) -> Result<f64, UnitFault> {
    if !mm.is_finite() || mm >= TOO_LARGE_MM {
        return Err(UnitFault::new(
            UnitFaultKind::TooLarge,
            format!("{} is 100 m or more", quoted(&tidy.shown)),
        )
        .cured("check the unit; a five-figure number out of a spreadsheet may be a date"));
    }
    if !minus {
        return Ok(mm);
    }
    if allow != Allow::Signed {
        return Err(UnitFault::new(
            UnitFaultKind::Negative,
            format!("{}: a size can't be negative", quoted(&tidy.shown)),
        )
        .cured("write it without the minus sign"));
    }
    Ok(0.0 - mm)
}
