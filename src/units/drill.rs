//! Number and letter drills.

use super::fault::{UnitFault, UnitFaultKind, quoted};
use super::read::Tidy;

/// Number drills #1 to #80 in ten-thousandths of an inch.
///
/// # Source
/// ASME B94.11M, as given in nine printed copies; #69 agrees to .0001.
pub(super) const NUMBERS: [u16; 80] = [
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, // #1 to #10
    1910, 1890, 1850, 1820, 1800, 1770, 1730, 1695, 1660, 1610, // #11 to #20
    1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285, // #21 to #30
    1200, 1160, 1130, 1110, 1100, 1065, 1040, 1015, 995, 980, // #31 to #40
    960, 935, 890, 860, 820, 810, 785, 760, 730, 700, // #41 to #50
    670, 635, 595, 550, 520, 465, 430, 420, 410, 400, // #51 to #60
    390, 380, 370, 360, 350, 330, 320, 310, 292, 280, // #61 to #70
    260, 250, 240, 225, 210, 200, 180, 160, 145, 135, // #71 to #80
];

/// Letter drills A to Z in ten-thousandths of an inch.
///
/// # Source
/// ASME B94.11M, as given in three printed copies.
pub(super) const LETTERS: [u16; 26] = [
    2340, 2380, 2420, 2460, 2500, 2570, 2610, 2660, 2720, 2770, // A to J
    2810, 2900, 2950, 3020, 3160, 3230, 3320, 3390, 3480, 3580, // K to T
    3680, 3770, 3860, 3970, 4040, 4130, // U to Z
];

/// How far past either end of the drill list a hole may lie and still be
/// given a nearest drill: 0.005 in.
const REACH_MM: f64 = 0.127;

/// Ten-thousandths of an inch in millimetres, rounded once.
fn to_mm(ten_thousandths: u16) -> f64 {
    f64::from(u32::from(ten_thousandths) * 254) / 100_000.0
}

/// The diameter of a number drill, #1 to #80.
///
/// Any other number gives nothing. The numbers run backwards: #80 is the
/// smallest.
///
/// # Units
/// Millimetres, the inch size times 25.4.
///
/// # Source
/// ASME B94.11M, as given in nine printed copies; #69 agrees to .0001.
pub fn number_drill(number: u32) -> Option<f64> {
    let row = usize::try_from(number.checked_sub(1)?).ok()?;
    NUMBERS.get(row).copied().map(to_mm)
}

/// The diameter of a letter drill, A to Z, small or capital.
///
/// # Units
/// Millimetres, the inch size times 25.4.
///
/// # Source
/// ASME B94.11M, as given in three printed copies.
pub fn letter_drill(letter: char) -> Option<f64> {
    let letter = letter.to_ascii_uppercase();
    let row = ('A'..='Z').position(|each| each == letter)?;
    LETTERS.get(row).copied().map(to_mm)
}

/// Every number and letter drill, smallest first: its name ("#60 drill",
/// "F drill") and its diameter.
///
/// # Units
/// Millimetres.
///
/// # Source
/// ASME B94.11M, as given in nine printed copies; #69 agrees to .0001.
pub fn drills() -> impl Iterator<Item = (String, f64)> {
    let numbers = (1..=80).rev().filter_map(|number| {
        let size = number_drill(number)?;
        Some((format!("#{number} drill"), size))
    });
    let letters = ('A'..='Z').filter_map(|letter| {
        let size = letter_drill(letter)?;
        Some((format!("{letter} drill"), size))
    });
    numbers.chain(letters)
}

/// The number or letter drill nearest a diameter: its name, its diameter,
/// and the drill less the diameter asked for (above zero: the drill is
/// larger).
///
/// Nothing is given for a diameter more than 0.005 in outside #80 to Z.
///
/// # Units
/// Millimetres.
///
/// # Source
/// ASME B94.11M, as given in nine printed copies; #69 agrees to .0001.
pub fn nearest_drill(mm: f64) -> Option<(String, f64, f64)> {
    if !mm.is_finite() {
        return None;
    }
    let (name, size) = drills().min_by(|a, b| (a.1 - mm).abs().total_cmp(&(b.1 - mm).abs()))?;
    let inside = (number_drill(80)? - REACH_MM..=letter_drill('Z')? + REACH_MM).contains(&mm);
    inside.then(|| {
        let error = size - mm;
        (name, size, error)
    })
}

/// Reads a drill; nothing when the text is not about drills at all.
pub(super) fn read(tidy: &Tidy) -> Result<Option<f64>, UnitFault> {
    let (core, said) = without_drill(&tidy.low);
    if let Some(rest) = core.strip_prefix(['#', '№']) {
        return number(rest, tidy).map(Some);
    }
    for word in ["number", "no"] {
        if let Some(rest) = core.strip_prefix(word) {
            let rest = rest.trim_start().trim_start_matches('.');
            if rest.trim_start().starts_with(|c: char| c.is_ascii_digit()) {
                return number(rest, tidy).map(Some);
            }
        }
    }
    let (letter, said_letter) = match core.strip_prefix("letter") {
        Some(rest) => (rest.trim(), true),
        None => (core, false),
    };
    match only_letter(letter) {
        Some(name) if said || said_letter => Ok(letter_drill(name)),
        Some(name) => Err(UnitFault::new(
            UnitFaultKind::BareLetter,
            format!("{} is a letter with no number", quoted(&tidy.shown)),
        )
        .cured(format!("if a drill is meant, write \"{name} drill\""))),
        None if said || said_letter => Err(not_a_drill(letter, tidy)),
        None => Ok(None),
    }
}

/// Takes "drill", "drill bit" and the like off either end.
fn without_drill(low: &str) -> (&str, bool) {
    let mut core = low.trim();
    let mut said = false;
    for word in ["bit", "drill"] {
        if let Some(rest) = core.strip_suffix(word) {
            core = rest.trim_end();
            said = true;
        }
    }
    if let Some(rest) = core.strip_prefix("drill") {
        core = rest.trim_start();
        said = true;
    }
    if said {
        core = core.trim_end_matches(['-', ' ']);
    }
    (core, said)
}

/// The one letter, if the text is just that.
fn only_letter(text: &str) -> Option<char> {
    let mut signs = text.chars();
    match (signs.next(), signs.next()) {
        (Some(sign), None) if sign.is_ascii_alphabetic() => Some(sign.to_ascii_uppercase()),
        _ => None,
    }
}

fn number(rest: &str, tidy: &Tidy) -> Result<f64, UnitFault> {
    let rest = rest.trim();
    let digits = rest.strip_prefix('-').unwrap_or(rest);
    if !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit()) {
        let size = rest.parse().ok().and_then(number_drill);
        return size.ok_or_else(|| {
            UnitFault::new(
                UnitFaultKind::DrillRange,
                format!("{} is not a drill: number drills run #1 to #80", quoted(&tidy.shown)),
            )
            .cured("give the size in inches or millimetres")
        });
    }
    let fault = UnitFault::new(
        UnitFaultKind::Grammar,
        format!(
            "{} does not read as a drill: after # comes a whole number from 1 to 80",
            quoted(&tidy.shown)
        ),
    );
    Err(match only_letter(rest) {
        Some(letter) => fault.cured(format!("write \"{letter} drill\"")),
        None => fault.cured("write it as \"#60 drill\", or give inches or millimetres"),
    })
}

fn not_a_drill(core: &str, tidy: &Tidy) -> UnitFault {
    let fault = UnitFault::new(
        UnitFaultKind::Grammar,
        format!("{} does not name a drill", quoted(&tidy.shown)),
    );
    if core.parse().ok().and_then(number_drill).is_some() {
        return fault.cured(format!("write \"#{core} drill\""));
    }
    fault.cured(
        "write \"#60 drill\" or \"F drill\"; for a drill sold by its size, give the size alone, \
         as in \"1/4 in\"",
    )
}
