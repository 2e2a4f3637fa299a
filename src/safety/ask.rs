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
            Ask::Materials => {
                "the names of the materials, by key or by title, with commas between them"
            }
            Ask::Sheets => "the ids of the sheets, with commas between them",
            Ask::Files => "the number of files to cut, in one format",
            Ask::Pieces => "the number of pieces to cut",
            Ask::Plate => "wavelength and power from the machine's plate, with their units",
            Ask::Class => "the class on the machine's label, with its letter",
            Ask::Eyewear => "wavelength and optical density on the eyewear",
            Ask::Extraction => "where the fumes go, the word that the machine's record has",
            Ask::Bed => "the bed's width and depth in mm",
            Ask::Machine => "the machine's name: in the job, of its record, or in full",
            Ask::Lay => "the name of the lay",
            Ask::Person => "the name of whoever runs the machine, as given for this record",
            Ask::Watch => "the minutes for which you will stay, at least 30",
            Ask::Extinguisher => {
                "what is in the extinguisher: water, water mist, foam, carbon dioxide or powder"
            }
        }
    }

    /// The form of an answer, with figures and names that are nobody's.
    pub fn example(self) -> &'static str {
        match self {
            Ask::Materials => "side-leather, pump cloth",
            Ask::Sheets => "A-0, B-0",
            Ask::Files | Ask::Pieces => "00, in figures alone",
            Ask::Plate => "000 nm, 00 W",
            Ask::Class => "class 2M",
            Ask::Eyewear => "000 nm, OD 0",
            Ask::Extraction => "what stands behind `extraction =` in machines/NAME.toml",
            Ask::Bed => "000 x 000",
            Ask::Machine => "the NAME of: pouchwork safety --machine NAME",
            Ask::Lay => "lay-0",
            Ask::Person => "the very name given as `person`",
            Ask::Watch => "00 minutes",
            Ask::Extinguisher => "CO2, which is carbon dioxide",
        }
    }

    /// What is said of a text that is no answer.
    fn refusal(self) -> String {
        format!("that is not {}", self.question())
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
            Ask::Materials => same_materials(typed, task),
            Ask::Sheets => same_names(typed, task.sheets.iter().map(String::as_str)),
            Ask::Files => typed.parse() == Ok(task.files),
            Ask::Pieces => typed.parse() == Ok(task.pieces),
            Ask::Plate => plate.is_some_and(|plate| is_plate(plate, typed)),
            Ask::Class => plate.is_some_and(|plate| class(&plate.class) == class(typed)),
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
            Ask::Machine => task.is_called(typed),
            Ask::Lay => typed == task.lay,
            Ask::Person => typed == person.trim(),
            Ask::Watch => return watch(typed),
            Ask::Extinguisher => EXTINGUISHERS.contains(&&*medium(typed)),
        };
        if good { Ok(()) } else { Err(self.refusal()) }
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

/// Letters small, and one space for hyphens and spaces.
fn plain(text: &str) -> String {
    let words = text.to_lowercase().replace(['-', '_'], " ");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether names with commas between them are just the materials, each once, by key or by title; a title may hold commas.
fn same_materials(typed: &str, task: &Task<'_>) -> bool {
    let typed: Vec<String> = typed.split(',').map(plain).collect();
    let one = |text: &str| text.split(',').map(plain).collect::<Vec<_>>();
    let titles: Vec<_> = task.cuts.iter().map(|cut| one(&cut.material.title)).collect();
    let names = |cut: usize| {
        // A title that two have is the name of neither.
        let own = titles.iter().filter(|title| **title == titles[cut]).count() == 1;
        let key = one(&task.cuts[cut].material.key);
        std::iter::once(key).chain(own.then(|| titles[cut].clone()))
    };
    let (mut rest, mut left) = (&typed[..], (0..task.cuts.len()).collect::<Vec<_>>());
    while !left.is_empty() {
        // The longest name first: one may begin another.
        let found = left
            .iter()
            .flat_map(|cut| names(*cut).map(|name| (*cut, name.len(), rest.starts_with(&name))))
            .filter(|found| found.2)
            .max_by_key(|found| found.1);
        let Some((cut, long, _)) = found else { return false };
        rest = &rest[long..];
        left.retain(|other| *other != cut);
    }
    rest.is_empty() && !task.cuts.is_empty()
}

/// A laser's class with an Arabic figure and small letters.
///
/// # Source
/// 21 CFR 1040.10 writes `I`, `II`, `IIIa`, `IIIb` and `IV`, IEC 60825-1 `1`, `2`, `3R`, `3B` and `4`. `IIIa` and `3R` are not one and stay two.
fn class(text: &str) -> String {
    let text = plain(text).replace(' ', "");
    let text = text.strip_prefix("class").unwrap_or(&text);
    let letters = text.trim_start_matches(['i', 'v']);
    let figure = match &text[..text.len() - letters.len()] {
        "i" => "1",
        "ii" => "2",
        "iii" => "3",
        "iv" => "4",
        other => other,
    };
    format!("{figure}{letters}")
}

/// What is in an extinguisher, by its name in the list: CO2 is carbon dioxide, and dry powder is powder.
fn medium(text: &str) -> String {
    let text = plain(text);
    match &*text {
        "co2" | "co\u{2082}" | "co 2" => "carbon dioxide".to_owned(),
        "dry powder" => "powder".to_owned(),
        _ => text,
    }
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
        return Err(Ask::Eyewear.refusal());
    };
    let marked = typed.to_lowercase().contains("od");
    if nm != "nm" || !marked || !(*density > 0.0 && *density <= 20.0) {
        return Err(Ask::Eyewear.refusal());
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
        return Err(Ask::Watch.refusal());
    };
    let bare = typed.starts_with(|c: char| c.is_ascii_digit());
    if !bare || !matches!(&**unit, "" | "min" | "minutes") || *minutes > 1440.0 {
        return Err(Ask::Watch.refusal());
    }
    if *minutes >= FIRE_WATCH {
        Ok(())
    } else {
        Err(format!("the watch is at least {FIRE_WATCH:.0} minutes"))
    }
}
