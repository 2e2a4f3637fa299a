//! The files of a new job: small, invented, and working at once.

use super::builtin;

/// What is at the bench for which a job is begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bench {
    /// How many places a numbered set has.
    pub notes: u32,
    /// The unit of what is measured; none: each figure says its own.
    pub unit: Option<BenchUnit>,
    /// What cuts.
    pub cutter: Cutter,
    /// Where the fumes of a laser go; none: nothing is known of it, and the laser is held back.
    pub extraction: Option<BenchExtraction>,
}

/// Where the fumes of a laser go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BenchExtraction {
    /// Out of the building.
    Outdoors,
    /// Through a filter.
    Filter,
}

impl BenchExtraction {
    /// The name as it stands in a profile.
    pub fn name(self) -> &'static str {
        match self {
            BenchExtraction::Outdoors => "outdoors",
            BenchExtraction::Filter => "filter",
        }
    }
}

/// A unit to measure in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BenchUnit {
    /// Inches and their fractions.
    Inch,
    /// Millimetres.
    Millimetre,
}

/// What cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cutter {
    /// A drag knife.
    Knife,
    /// A laser.
    Laser,
    /// Scissors and punch, along a pattern on paper.
    Paper,
}

impl Default for Bench {
    fn default() -> Bench {
        Bench { notes: 12, unit: None, cutter: Cutter::Knife, extraction: None }
    }
}

/// The line of the built-in laser that says where the fumes go, as far as its note.
const NO_EXTRACTION: &str = "extraction = \"none\"    ";

/// Pieces that one of the small hides, or one of the leaves, takes with room to spare.
const A_SHEET: u32 = 20;

const HEAD: &str = r##"# A job: what is to be cut, and what there is to cut it from.
# Lines that begin with # are notes to yourself.
# A length is a text with its unit: "1 1/4 in", "0.038 in", "12 thou", "31.75 mm", "#60 drill".

[job]
title  = "@TITLE@"
notes  = @NOTES@# positions = "all" means 1 to this
spares = "1 in 10, at least 1"     # for every part that does not say otherwise
@UNIT@

[machines]                         # short name = profile, a file in machines/
@MACHINE@

# ---- what there is to cut from ------------------------------------------------------

"##;

const HIDE: &str = r#"[[hide]]
id         = "H@N@"
material   = "pouch-leather"       # a file in materials/
up         = "flesh"               # the side that lies up; corners and flaws are seen from it
thickness  = @THICK@   # as many readings as were taken
corners    = [["0 mm", "40 mm"], ["180 mm", "0 mm"], ["420 mm", "30 mm"],
              ["440 mm", "210 mm"], ["230 mm", "260 mm"], ["20 mm", "230 mm"]]
grain-line = [["20 mm", "135 mm"], ["430 mm", "125 mm"]]   # two points along the backbone

"#;

const FLAW: &str = r#"[[hide.flaw]]
why      = "scar"
at       = ["120 mm", "180 mm"]
diameter = "18 mm"

"#;

const LEAF: &str = r#"[[leaf]]
id       = "K@N@"
material = "thin-card"             # a file in materials/
width    = "210 mm"
length   = "297 mm"

"#;

const CLOTH: &str = r#"[[cloth]]
id       = "C1"
material = "hinge-cloth"
@CLOTH@

# ---- what is to be cut --------------------------------------------------------------

"#;

const POUCH: &str = r#"[[part]]
name      = "pouch"
kind      = "pouch"                # a disk glued over a well
positions = "all"
table     = "pouches.csv"          # a row a position; a blank cell takes the value below
@POUCH@
material  = "pouch-leather"
cut-with  = "@CUTTER@"
face      = "flesh"

"#;

const DISK: &str = r#"# Pouch leather is likely chrome tanned and goes under no laser: cut it by hand, along `pouchwork template`.

[[part]]
name      = "lifter"
kind      = "disk"                 # the card under a pouch
positions = "all"
table     = "lifters.csv"          # a row a position; a blank cell takes the value below
@DISK@
material  = "thin-card"
cut-with  = "laser"

"#;

const STRIP: &str = r#"[[part]]
name      = "edge-strip"
kind      = "strip"
count     = 4                      # all alike, so counted and not numbered
@STRIP@
material  = "hinge-cloth"
cut-with  = "@CUTTER@"
grain     = "along length"

# More kinds: pouchwork kind names them all, pouchwork kind bellows shows one with every key it may have.
"#;

const BY_HAND: &str = r#"# Scissors and punch: no machine, only how far the arms reach. Patterns come from `pouchwork template`.

[machine]
name          = "scissors and punch"
process       = "knife"
width         = "2 m"
depth         = "2 m"
margin        = "0 mm"
smallest-hole = "60 mm"      # every smaller hole is punched
source        = "by hand"
"#;

/// Lengths of the samples in the unit that was asked for.
struct Lengths {
    unit: &'static str,
    thick: &'static str,
    cloth: &'static str,
    pouch: &'static str,
    disk: &'static str,
    strip: &'static str,
    /// The odd places: of a pouch, and of a disk.
    odd: [(&'static str, &'static str); 2],
}

const INCHES: Lengths = Lengths {
    unit: r#"unit   = "in"                      # for numbers written without a unit"#,
    thick: r#"["0.009 in", "0.010 in", "0.009 in"]"#,
    cloth: r#"width    = "12 in"                 # across the roll
length   = "14 in"                 # along it, which is along the warp
selvedge = "1/4 in""#,
    pouch: r#"well      = "1 1/8 in"             # as measured, not as cut: the allowances are worked out
dip       = "3/32 in"
land      = "3/16 in"              # glued rim"#,
    disk: r#"diameter  = "7/8 in""#,
    strip: r#"length    = "5 1/2 in"
width     = "3/4 in""#,
    odd: [
        ("1 5/32,,,rim chipped", "29/32,rim chipped"),
        (
            "29.2 mm,,,\"bored oversize, once repaired\"",
            "22.6 mm,\"bored oversize, once repaired\"",
        ),
    ],
};

/// As [`INCHES`], where nothing is said: each figure with its unit.
const MIXED: Lengths = Lengths {
    unit: r#"# unit = "in"                      # for numbers written without a unit; leave it out to be asked each time"#,
    odd: [
        ("1 5/32 in,,,rim chipped", "29/32 in,rim chipped"),
        (
            "29.2 mm,,,\"bored oversize, once repaired\"",
            "22.6 mm,\"bored oversize, once repaired\"",
        ),
    ],
    ..INCHES
};

const MILLIMETRES: Lengths = Lengths {
    unit: r#"unit   = "mm"                      # for numbers written without a unit"#,
    thick: r#"["0.23 mm", "0.25 mm", "0.23 mm"]"#,
    cloth: r#"width    = "300 mm"                # across the roll
length   = "350 mm"                # along it, which is along the warp
selvedge = "6 mm""#,
    pouch: r#"well      = "28.5 mm"              # as measured, not as cut: the allowances are worked out
dip       = "2.4 mm"
land      = "4.8 mm"               # glued rim"#,
    disk: r#"diameter  = "22 mm""#,
    strip: r#"length    = "140 mm"
width     = "19 mm""#,
    odd: [
        ("29.4,,,rim chipped", "23,rim chipped"),
        (
            "1 5/32 in,,,\"bored oversize, once repaired\"",
            "29/32 in,\"bored oversize, once repaired\"",
        ),
    ],
};

/// The files of a new job folder, path and text: a job with two parts, a hide and a cloth, one table with an odd
/// row in millimetres, and copies of the profiles it uses. It reads without a fault.
pub fn starter(name: &str) -> Vec<(String, String)> {
    starter_for(name, &Bench::default())
}

/// The same for what is at the bench: so many places, in this unit, for this cutter. It reads without a fault and
/// everything in it finds its place.
pub fn starter_for(name: &str, bench: &Bench) -> Vec<(String, String)> {
    let title: String =
        name.chars().filter(|c| !c.is_control() && !matches!(c, '"' | '\\')).take(80).collect();
    let lengths = match bench.unit {
        None => MIXED,
        Some(BenchUnit::Inch) => INCHES,
        Some(BenchUnit::Millimetre) => MILLIMETRES,
    };
    let (short, profile) = match bench.cutter {
        Cutter::Knife => ("knife", "drag-knife-small"),
        Cutter::Laser => ("laser", "diode-laser"),
        Cutter::Paper => ("hand", "by-hand"),
    };
    let is_laser = bench.cutter == Cutter::Laser;
    // Nobody but the user knows where his fumes go: until he says, the profile has "none" and the laser is held back.
    let machine = if is_laser && bench.extraction.is_none() {
        format!(
            "{short} = \"{profile}\"              # held back until its profile says where the fumes go: extraction"
        )
    } else {
        format!("{short} = \"{profile}\"")
    };
    let job = text(*bench, is_laser)
        .replace("@TITLE@", title.trim())
        .replace("@NOTES@", &format!("{:<26}", bench.notes))
        .replace("@UNIT@", lengths.unit)
        .replace("@MACHINE@", &machine)
        .replace("@CUTTER@", short)
        .replace("@THICK@", lengths.thick)
        .replace("@CLOTH@", lengths.cloth)
        .replace("@POUCH@", lengths.pouch)
        .replace("@DISK@", lengths.disk)
        .replace("@STRIP@", lengths.strip);
    let set =
        if is_laser { ("lifters.csv", "thin-card") } else { ("pouches.csv", "pouch-leather") };
    let mut files =
        vec![(super::JOB_FILE.to_owned(), job), (set.0.to_owned(), table(*bench, &lengths))];
    if bench.cutter == Cutter::Paper {
        files.push((format!("machines/{profile}.toml"), BY_HAND.to_owned()));
    }
    // Copied, so that the job is whole in ten years too.
    let copies = [
        format!("machines/{profile}.toml"),
        format!("materials/{}.toml", set.1),
        "materials/hinge-cloth.toml".to_owned(),
    ];
    files.extend(copies.into_iter().filter_map(|path| {
        let text = match (builtin::profile(&path)?, bench.extraction) {
            (text, Some(it)) if is_laser && path.starts_with("machines/") => text.replace(
                NO_EXTRACTION,
                &format!("extraction = {:<10}", format!("\"{}\"", it.name())),
            ),
            (text, _) => text.to_owned(),
        };
        Some((path, text))
    }));
    files
}

/// The job with its blanks: as many sheets as its numbered set wants.
fn text(bench: Bench, is_laser: bool) -> String {
    let mut text = HEAD.to_owned();
    // One in ten is spare, and each odd size has a spare of its own.
    let pieces = bench.notes + bench.notes.div_ceil(10) + 3;
    for n in 1..=pieces.div_ceil(A_SHEET) {
        let sheet = if is_laser { LEAF } else { HIDE };
        text.push_str(&sheet.replace("@N@", &n.to_string()));
        if n == 1 && !is_laser {
            text.push_str(FLAW);
        }
    }
    text.push_str(CLOTH);
    text.push_str(if is_laser { DISK } else { POUCH });
    text.push_str(STRIP);
    text
}

/// The table of the odd places.
fn table(bench: Bench, lengths: &Lengths) -> String {
    let is_laser = bench.cutter == Cutter::Laser;
    let (what, head) = if is_laser {
        ("disks", "position,diameter,note")
    } else {
        ("wells", "position,well,dip,land,note")
    };
    let mut text =
        format!("# Only the {what} that differ. A cell may have its own unit.\n{head}\n");
    // A set of one or two has its odd place at once.
    let places = if bench.notes < 3 { [1, 7] } else { [3, 7] };
    for (place, (pouch, disk)) in places.into_iter().zip(lengths.odd) {
        if place <= bench.notes {
            let row = if is_laser { disk } else { pouch };
            text.extend([place.to_string().as_str(), ",", row, "\n"]);
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::tests::Memory;
    use crate::job::{judge, stops, work_out};

    #[test]
    fn every_bench_reads_without_a_fault_in_its_own_unit() {
        for notes in [1, 2, 3, 6, 7, 12, 54, 88, 500] {
            for unit in [None, Some(BenchUnit::Inch), Some(BenchUnit::Millimetre)] {
                for cutter in [Cutter::Knife, Cutter::Laser, Cutter::Paper] {
                    let bench = Bench { notes, unit, cutter, extraction: None };
                    let (job, mut faults) = Memory::of(starter_for("bench", &bench)).read();
                    let job = job.unwrap_or_else(|| panic!("{bench:?}: {faults:?}"));
                    let (worked, more) = work_out(&job);
                    faults.extend(more);
                    faults.extend(judge(&job, &worked));
                    assert_eq!(faults, [], "{bench:?}");
                    assert_eq!(job.notes, Some(notes));
                    assert_eq!(job.unit.is_some(), unit.is_some());
                    assert_eq!(job.parts[0].positions.numbers().len(), notes as usize);
                }
            }
        }
    }

    #[test]
    fn a_laser_is_held_back_until_its_fumes_go_somewhere() {
        let stops_of = |extraction| {
            let bench = Bench { cutter: Cutter::Laser, extraction, ..Bench::default() };
            let (job, _) = Memory::of(starter_for("bench", &bench)).read();
            let job = job.unwrap();
            let plate = job.machine("laser").unwrap().laser.clone().unwrap();
            (plate.extraction, stops(&job).iter().map(|f| f.code).collect::<Vec<_>>())
        };
        let (told, held) = stops_of(None);
        assert!(told == "none" && !held.is_empty() && held.iter().all(|code| *code == "E44"));
        for it in [BenchExtraction::Outdoors, BenchExtraction::Filter] {
            assert_eq!(stops_of(Some(it)), (it.name().to_owned(), Vec::new()));
        }
        // The note behind the figure stands where it stood.
        let bench = Bench {
            cutter: Cutter::Laser,
            extraction: Some(BenchExtraction::Outdoors),
            ..Bench::default()
        };
        let files = starter_for("bench", &bench);
        let (_, text) = files.iter().find(|(path, _)| path.starts_with("machines/")).unwrap();
        let old = builtin::profile("machines/diode-laser.toml").unwrap();
        let at = |text: &str| text.lines().find_map(|l| l.find("# where the fumes go"));
        assert!(at(text).is_some() && at(text) == at(old));
    }
}
