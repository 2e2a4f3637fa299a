//! What an item of the checklist wants typed, and whether a text is that.
//!
//! Every answer is a value of this very job, read off a label, a plate or the list. `y` is no answer to anything.

use super::checklist::Task;
use super::worksheet::least_density;
use crate::machine::LaserPlate;
use std::collections::BTreeSet;

/// The least fire watch (minutes).
///
/// # Source
/// 29 CFR 1910.252(a)(2)(iii)(B): half an hour after hot work, by analogy.
pub const FIRE_WATCH: f64 = 30.0;

/// Kinds of extinguisher.
///
/// # Source
/// Extinguishing media of EN 3-7.
const EXTINGUISHERS: &[&str] = &["water", "water mist", "foam", "carbon dioxide", "powder"];

/// What is to be typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    /// Names of the materials, as the job calls them.
    Materials,
    /// Ids of the sheets.
    Sheets,
    /// How many files of a kind.
    Files,
    /// How many pieces.
    Pieces,
    /// Wavelength and power.
    Plate,
    /// The laser's class.
    Class,
    /// Wavelength and density on the eyewear.
    Eyewear,
    /// Where the fumes go.
    Extraction,
    /// The bed's width and depth.
    Bed,
    /// The machine's name.
    Machine,
    /// The lay's name.
    Lay,
    /// The name of whoever runs the machine.
    Person,
    /// Minutes of the fire watch.
    Watch,
    /// Kind of the extinguisher.
    Extinguisher,
}

impl Ask {
    /// What to type, in words.
    pub fn question(self) -> &'static str {
        match self {
            Ask::Materials => "the names of the materials, with commas between them",
            Ask::Sheets => "the ids of the sheets, with commas between them",
            Ask::Files => "how many files of a kind there are to cut",
            Ask::Pieces => "how many pieces there are to cut",
            Ask::Plate => "wavelength and power from the machine's plate, with their units",
            Ask::Class => "the class on the machine's label",
            Ask::Eyewear => "wavelength and optical density on the eyewear, such as: 000 nm, OD 0",
            Ask::Extraction => "where the fumes go, the word that the machine's record has",
            Ask::Bed => "the bed's width and depth in mm",
            Ask::Machine => "the machine's name, as its record is called",
            Ask::Lay => "the name of the lay",
            Ask::Person => "the name of whoever runs the machine, as given for this record",
            Ask::Watch => "for how many minutes you will stay, at least 30",
            Ask::Extinguisher => {
                "what is in the extinguisher: water, water mist, foam, carbon dioxide or powder"
            }
        }
    }

    /// Whether a text is the answer, for a task that a person does.
    ///
    /// # Errors
    /// What is wrong with it, in a few words that do not give the answer away.
    pub fn judge(self, task: &Task<'_>, person: &str, typed: &str) -> Result<(), String> {
        let typed = typed.trim();
        if typed.is_empty() {
            return Err("nothing was typed".to_owned());
        }
        let plate = task.machine.laser.as_ref();
        let good = match self {
            Ask::Materials => {
                same_names(typed, task.cuts.iter().map(|cut| cut.material.key.as_str()))
            }
            Ask::Sheets => same_names(typed, task.sheets.iter().map(String::as_str)),
            Ask::Files => typed.parse() == Ok(task.files),
            Ask::Pieces => typed.parse() == Ok(task.pieces),
            Ask::Plate => plate.is_some_and(|plate| is_plate(plate, typed)),
            Ask::Class => {
                let class = typed.strip_prefix("class").unwrap_or(typed).trim();
                plate.is_some_and(|plate| plate.class.eq_ignore_ascii_case(class))
            }
            Ask::Eyewear => match plate {
                Some(plate) => return eyewear(plate, typed),
                None => false,
            },
            Ask::Extraction => plate.is_some_and(|p| p.extraction == typed.to_lowercase()),
            Ask::Bed => {
                let read = figures(typed);
                let units = read.iter().all(|(_, unit)| matches!(&**unit, "" | "mm"));
                matches!(&read[..], [(w, _), (d, _)]
                    if units && alike(*w, task.machine.width) && alike(*d, task.machine.depth))
            }
            Ask::Machine => typed == task.machine.key,
            Ask::Lay => typed == task.lay,
            Ask::Person => typed == person.trim(),
            Ask::Watch => return watch(typed),
            Ask::Extinguisher => EXTINGUISHERS.contains(&&*typed.to_lowercase()),
        };
        if good { Ok(()) } else { Err(format!("that is not {}", self.question())) }
    }
}

/// Whether two figures are one, to what anybody types.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * b.abs()
}

/// Whether names with commas between them are just the wanted ones.
fn same_names<'a>(typed: &'a str, wanted: impl Iterator<Item = &'a str>) -> bool {
    let typed: Vec<&str> = typed.split(',').map(str::trim).collect();
    let set: BTreeSet<&str> = typed.iter().copied().collect();
    set.len() == typed.len() && set == wanted.collect()
}

/// Figures with the letters that follow each, small. What is no figure and follows none is passed over.
fn figures(text: &str) -> Vec<(f64, String)> {
    let mut list: Vec<(f64, String)> = Vec::new();
    let mut rest = text;
    while let Some(start) = rest.find(|c: char| c.is_ascii_digit()) {
        let number = &rest[start..];
        let end = number.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(number.len());
        let after = number[end..].trim_start();
        let unit = after.find(|c: char| !c.is_alphabetic()).unwrap_or(after.len());
        // A second point, or a sign before a figure, makes it none that can be trusted.
        let minus = rest[..start].ends_with('-');
        let value = number[..end].parse().ok().filter(|_| !minus).unwrap_or(f64::NAN);
        let unit = after[..unit].to_lowercase();
        // `1500 x 1000`: a sign between two figures is no unit.
        list.push((value, if unit == "x" { String::new() } else { unit }));
        rest = &number[end..];
    }
    list
}

fn is_plate(plate: &LaserPlate, typed: &str) -> bool {
    let read = figures(typed);
    let [(wavelength, nm), (power, watts)] = &read[..] else { return false };
    let factor = match &**watts {
        "w" => 1.0,
        "mw" => 0.001,
        _ => return false,
    };
    nm == "nm" && alike(*wavelength, plate.wavelength) && alike(*power * factor, plate.power)
}

/// Eyewear: for the laser's wavelength, and as dense as our own sum asks at the very least.
fn eyewear(plate: &LaserPlate, typed: &str) -> Result<(), String> {
    let read = figures(typed);
    let [(wavelength, nm), (density, _)] = &read[..] else {
        return Err(format!("that is not {}", Ask::Eyewear.question()));
    };
    let marked = typed.to_lowercase().contains("od");
    if nm != "nm" || !marked || !(*density > 0.0 && *density <= 20.0) {
        return Err(format!("that is not {}", Ask::Eyewear.question()));
    }
    if !alike(*wavelength, plate.wavelength) {
        return Err("eyewear for another wavelength is none for this laser".to_owned());
    }
    match least_density(plate) {
        Some(least) if *density < least => {
            Err(format!("for this laser the sum of the worksheet comes to a density of {least:.0}"))
        }
        _ => Ok(()),
    }
}

fn watch(typed: &str) -> Result<(), String> {
    let read = figures(typed);
    let [(minutes, unit)] = &read[..] else {
        return Err(format!("that is not {}", Ask::Watch.question()));
    };
    let bare = typed.starts_with(|c: char| c.is_ascii_digit());
    if !bare || !matches!(&**unit, "" | "min" | "minutes") || *minutes > 1440.0 {
        return Err(format!("that is not {}", Ask::Watch.question()));
    }
    if *minutes >= FIRE_WATCH {
        Ok(())
    } else {
        Err(format!("the watch is at least {FIRE_WATCH:.0} minutes"))
    }
}
