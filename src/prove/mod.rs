//! The proof of a written file: its bytes read back by readers of this room's own, and held against plain records.
//!
//! Takes the bytes, and what is known of the stock, the machine and the material. Gives a [`Verdict`]: thirteen
//! invariants, each with the margin that was measured, broken, or not covered. Shares no code with what plans and writes:
//! of the project it uses nothing at all, so that a slip there cannot hide itself here.
//!
//! Promises:
//! - what a reader does not know breaks the proof, whatever it may be;
//! - ends lie on a grid of 0.1 micrometre, arcs are never turned into chords; distances come by a grid of cells;
//! - a limit is told apart at a micrometre to either side;
//! - the same bytes give the same verdict; nothing panics, whatever the bytes.
//!
//! Never: focus, zero point, where the sheet lies, or what the machine makes of the file. A drawing has no beam: of it
//! V1, V2, V3 and V10 say `geometry proven, beam not covered`.
//!
//! # Units
//! Millimetres; feeds of records millimetres a second, of files millimetres a minute.

mod drawn;
mod dxf;
mod gcode;
mod manifest;
mod near;
mod papers;
mod pieces;
mod program;
mod rings;
mod sizes;
mod space;
mod svg;
mod tip;
mod track;

pub use drawn::Format;
pub use program::UNCOVERED;
pub use rings::Ring;

/// Largest file that is looked at (bytes).
const MOST: usize = 64 * 1024 * 1024;
/// How many words are told of one invariant.
const TOLD: usize = 5;

/// What is known of the sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StockRecord {
    /// Its name.
    pub sheet: String,
    /// Its generation.
    pub generation: u32,
    /// Its line.
    pub outline: Ring,
    /// Places to keep clear of.
    pub flaws: Vec<Ring>,
    /// Places that other lays have claimed.
    pub claims: Vec<Ring>,
    /// From a cut to the edge or a flaw (mm).
    pub edge: f64,
    /// From one cut to another (mm).
    pub gap: f64,
    /// Name of the lay, where it is known.
    pub lay: Option<String>,
    /// SHA-256 of the lay's record, where it is at hand.
    pub lay_hash: Option<String>,
    /// The bed window that the file is for; none where the sheet is cut whole.
    pub window: Option<WindowRecord>,
    /// The pieces that the lay has here; empty where it is not at hand.
    pub booked: Vec<Booked>,
}

/// A bed window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindowRecord {
    /// Its number.
    pub number: u32,
    /// How many the sheet has.
    pub of: u32,
    /// Where the file's origin lies on the sheet.
    pub origin: [f64; 2],
}

/// A piece of the lay.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Booked {
    /// Address.
    pub address: String,
    /// Where it lies.
    pub at: [f64; 2],
    /// How it is turned (degrees).
    pub turn: f64,
    /// Whether it is seen from its back.
    pub mirrored: bool,
    /// Its true outline on the sheet.
    pub outline: Ring,
    /// Its holes, but for those left to the punch.
    pub holes: Vec<Ring>,
}

/// What is known of the machine.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MachineRecord {
    /// Its name.
    pub key: String,
    /// Whether it cuts by a beam; else by a blade.
    pub laser: bool,
    /// Travel left to right.
    pub width: f64,
    /// Travel front to back.
    pub depth: f64,
    /// Kept clear all round; files begin at its inner corner.
    pub margin: f64,
    /// The word that puts the beam on.
    pub beam_word: Option<String>,
    /// S for full power.
    pub full_power_word: Option<f64>,
    /// Fastest cut (mm/s).
    pub feed_limit: Option<f64>,
    /// Speed between cuts (mm/s).
    pub travel_speed: Option<f64>,
    /// A knife's blade.
    pub blade: Option<BladeRecord>,
}

/// What is known of a blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BladeRecord {
    /// From pivot to tip.
    pub offset: f64,
    /// What the tip may stand off its line.
    pub tip_tolerance: f64,
    /// Whether the machine follows the tip by itself.
    pub compensates: bool,
    /// Height at which nothing is touched.
    pub safe_height: f64,
    /// How deep it may go.
    pub cut_depth: f64,
}

/// What is known of the material on the machine.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MaterialRecord {
    /// Its name.
    pub key: String,
    /// Name of the machine that its figures are for.
    pub machine: String,
    /// Why a laser must not have it, if so.
    pub laser_stop: Option<String>,
    /// Width of the cut along x and y.
    pub kerf: [f64; 2],
    /// Power (% of full).
    pub power: Option<f64>,
    /// Feed (mm/s).
    pub feed: Option<f64>,
    /// Feed of marks (mm/s); none: that of cuts.
    pub mark_feed: Option<f64>,
    /// How many passes there may be.
    pub passes: u32,
}

/// What became of one invariant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It holds.
    Holds,
    /// It is broken.
    Broken,
    /// The file cannot tell, or could not be read so far.
    NotCovered,
}

impl Outcome {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Outcome::Holds => "holds",
            Outcome::Broken => "broken",
            Outcome::NotCovered => "not covered",
        }
    }
}

/// One invariant of a verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invariant {
    /// `V1` to `V13`.
    pub name: &'static str,
    /// What it says.
    pub says: &'static str,
    /// What became of it.
    pub outcome: Outcome,
    /// The margin measured, or what is broken.
    pub margin: String,
}

/// What the proof of a file comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// The format, where the file could be read.
    pub format: Option<Format>,
    /// All thirteen.
    pub invariants: Vec<Invariant>,
}

impl Verdict {
    /// Whether nothing is broken.
    pub fn is_proven(&self) -> bool {
        self.format.is_some() && self.broken().next().is_none()
    }

    /// What is broken.
    pub fn broken(&self) -> impl Iterator<Item = &Invariant> {
        self.invariants.iter().filter(|i| i.outcome == Outcome::Broken)
    }
}

/// The invariants, by number.
const SAYS: [(&str, &str); 13] = [
    ("V1", "no way between cuts with the beam on or the blade down"),
    ("V2", "beam off or blade up at the beginning and at the end"),
    ("V3", "only known words"),
    ("V4", "one unit is one millimetre"),
    ("V5", "inside the sheet and inside the bed"),
    ("V6", "pieces far enough apart"),
    ("V7", "no cut over a flaw"),
    ("V8", "every piece once, whole and of its size"),
    ("V9", "never twice in one place"),
    ("V10", "power and feed allowed"),
    ("V11", "no laser for a forbidden material"),
    ("V12", "the file belongs to this sheet and was not touched"),
    ("V13", "lengths and times as claimed"),
];

/// What is found, by the number of the invariant.
struct Findings {
    broken: [Vec<String>; 13],
    margin: [String; 13],
    uncovered: [bool; 13],
}

impl Findings {
    fn new() -> Findings {
        Findings {
            broken: std::array::from_fn(|_| Vec::new()),
            margin: std::array::from_fn(|_| String::new()),
            uncovered: [false; 13],
        }
    }

    fn broken(&mut self, invariant: usize, words: impl Into<String>) {
        self.broken[invariant - 1].push(words.into());
    }

    fn margin(&mut self, invariant: usize, words: impl Into<String>) {
        self.margin[invariant - 1] = words.into();
    }

    fn uncovered(&mut self, invariant: usize, words: &str) {
        self.uncovered[invariant - 1] = true;
        self.margin(invariant, words);
    }

    fn verdict(self, format: Option<Format>) -> Verdict {
        let invariants = SAYS.iter().enumerate().map(|(i, (name, says))| {
            let broken = &self.broken[i];
            let (outcome, margin) = if !broken.is_empty() {
                let more = broken.len().saturating_sub(TOLD);
                let mut words = broken[..broken.len().min(TOLD)].join("; ");
                if more > 0 {
                    words = format!("{words}; and {more} more");
                }
                (Outcome::Broken, words)
            } else if self.uncovered[i] {
                (Outcome::NotCovered, self.margin[i].clone())
            } else {
                (Outcome::Holds, self.margin[i].clone())
            };
            Invariant { name, says, outcome, margin }
        });
        Verdict { format, invariants: invariants.collect() }
    }
}

/// Proves a file from its bytes. The ending of its name says of which format it is.
///
/// # Units
/// Millimetres throughout; see the records.
pub fn prove(
    bytes: &[u8],
    name: &str,
    stock: &StockRecord,
    machine: &MachineRecord,
    material: &MaterialRecord,
) -> Verdict {
    let mut findings = Findings::new();
    let drawn = match read(bytes, name, machine) {
        Ok(drawn) => drawn,
        Err((invariant, words)) => {
            for other in 1..=13 {
                findings.uncovered(other, "the file could not be read to its end");
            }
            findings.broken(invariant, words);
            // What must not exist is told whatever it holds.
            if material.laser_stop.is_some() && machine.laser {
                papers::forbidden(machine, material, &mut findings);
            }
            return findings.verdict(None);
        }
    };
    for (invariant, words) in &drawn.wrong {
        findings.broken(*invariant, words.clone());
    }
    let pieces = pieces::Pieces::of(&drawn);
    program::check(&drawn, machine, material, &mut findings);
    papers::unit(&drawn, &mut findings);
    space::check(&drawn, &pieces, stock, machine, material, &mut findings);
    sizes::check(&drawn, &pieces, stock, machine, material, &mut findings);
    papers::forbidden(machine, material, &mut findings);
    papers::belongs(&drawn, stock, machine, material, &mut findings);
    papers::claims(&drawn, machine, &mut findings);
    findings.verdict(Some(drawn.format))
}

fn read(bytes: &[u8], name: &str, machine: &MachineRecord) -> Result<drawn::Drawn, drawn::Stop> {
    if bytes.len() > MOST {
        return Err((3, "the file is larger than 64 MiB".to_owned()));
    }
    let text = std::str::from_utf8(bytes).map_err(|_| (3, "the file is not text".to_owned()))?;
    match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("svg") => svg::read(text),
        Some("dxf") => dxf::read(text),
        Some("gcode") => gcode::read(text, machine),
        _ => Err((3, "the name ends in none of .svg, .dxf and .gcode".to_owned())),
    }
}

#[cfg(test)]
mod tests;
