//! The checklist: what to go through before, during and after a cut, each item with its kind and its source.
//!
//! Takes a [`Task`], which is one machine's share of a lay; gives the items that concern it and their text in full. An
//! item is a hard stop, which the program has looked up in the records; asked, which wants a value of this very job
//! typed; or information.

use super::ask::Ask;
use super::items::ITEMS;
use super::worksheet::worksheet;
use crate::machine::{Machine, Process};
use crate::material::{CutSetting, Material};
use crate::units::counted;
use std::fmt::Write;

/// What stands above every list.
pub const HEAD: &str = "This list is a memory aid. It makes no machine, no material and no room safe. Local codes, the \
                        machine's own papers, the material's data sheet and qualified people come first; where they \
                        differ from what stands here, follow them.";

/// What the record of the answers is worth.
pub const WORTH: &str =
    "The record keeps what was shown and what was typed. It proves nothing about the room.";

/// When an item counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    /// Before the tool moves.
    Before,
    /// While it cuts.
    During,
    /// When it has cut.
    After,
}

impl Phase {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Phase::Before => "before",
            Phase::During => "while it cuts",
            Phase::After => "after",
        }
    }
}

/// What an item wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Looked up in the records: where it is not met there is no file, and no answer helps.
    Stop,
    /// A value of this job is to be typed.
    Asked(Ask),
    /// To be read.
    Information,
}

impl Kind {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Stop => "hard stop, met by the records",
            Kind::Asked(_) => "asked",
            Kind::Information => "information",
        }
    }
}

/// Which machines an item is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// Every machine.
    Every,
    /// Every laser.
    Laser,
    /// A laser whose light can reach an eye.
    OpenLaser,
    /// A laser that is closed in and of class 1.
    ClosedLaser,
    /// A knife.
    Knife,
}

impl On {
    fn holds(self, machine: &Machine) -> bool {
        let laser = machine.process == Process::Laser;
        let closed =
            machine.laser.as_ref().is_some_and(|l| l.enclosed && matches!(&*l.class, "1" | "1C"));
        match self {
            On::Every => true,
            On::Laser => laser,
            On::OpenLaser => laser && !closed,
            On::ClosedLaser => laser && closed,
            On::Knife => !laser,
        }
    }
}

/// One item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item {
    /// The name that answers go by.
    pub id: &'static str,
    /// For which machines.
    pub on: On,
    /// When.
    pub phase: Phase,
    /// What it wants.
    pub kind: Kind,
    /// All of it.
    pub text: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// What one material's cuts on the machine come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share<'a> {
    /// The material.
    pub material: &'a Material,
    /// Width of the cut (mm).
    pub kerf: f64,
    /// Length of the cuts (mm).
    pub length: f64,
    /// How the machine is set for it, as far as its record says.
    pub setting: Option<&'a CutSetting>,
}

impl Share<'_> {
    /// Power, feed and passes, with where they come from.
    fn set(&self) -> String {
        let Some(it) = self.setting else {
            return format!("{}: nothing on record", self.material.key);
        };
        let power = it.power.map(|share| format!("power {} %, ", 100.0 * share));
        let feed = it.feed.map_or("no feed on record: no G-code".to_owned(), |feed| {
            format!("feed {feed} mm/s, passes {}", it.passes)
        });
        let guess = if it.source.is_assumed() { ": starting guesses" } else { "" };
        format!(
            "{}: {}{feed} (source: {}{guess})",
            self.material.key,
            power.unwrap_or_default(),
            it.source.text
        )
    }
}

/// One machine's share of a lay.
#[derive(Debug, Clone, PartialEq)]
pub struct Task<'a> {
    /// The lay's name.
    pub lay: &'a str,
    /// The machine.
    pub machine: &'a Machine,
    /// What it cuts, by material.
    pub cuts: Vec<Share<'a>>,
    /// Ids of the sheets that it cuts.
    pub sheets: Vec<String>,
    /// How many files of a kind there will be.
    pub files: usize,
    /// How many pieces.
    pub pieces: usize,
    /// Figures that are only assumed.
    pub assumed: Vec<String>,
    /// What the job calls the machine, besides the name of its record; may be empty.
    pub short_names: Vec<String>,
}

impl Task<'_> {
    /// Whether a text is the machine's name: in the job, of its record, or in full.
    pub fn is_called(&self, text: &str) -> bool {
        let (text, machine) = (text.trim(), self.machine);
        let title = machine.title.trim();
        text == machine.key
            || self.short_names.iter().any(|name| name == text)
            || (!title.is_empty() && title.to_lowercase() == text.to_lowercase())
    }

    /// What the machine is called: by the job, else by its record.
    pub fn name(&self) -> &str {
        self.short_names.first().unwrap_or(&self.machine.key)
    }

    /// The items that concern the machine: before, while it cuts, after.
    pub fn items(&self) -> Vec<&'static Item> {
        let mut list: Vec<&Item> = ITEMS.iter().filter(|i| i.on.holds(self.machine)).collect();
        list.sort_by_key(|item| item.phase);
        list
    }

    /// The items that want an answer.
    pub fn asked(&self) -> Vec<(&'static Item, Ask)> {
        let ask = |item: &'static Item| match item.kind {
            Kind::Asked(ask) => Some((item, ask)),
            Kind::Stop | Kind::Information => None,
        };
        self.items().into_iter().filter_map(ask).collect()
    }

    /// What stands above the items: the warning, the task, the sums, what is only assumed.
    pub fn head(&self) -> String {
        wrapped(&self.head_lines())
    }

    /// The same, each line as long as it is: what goes further stands further in.
    pub fn head_lines(&self) -> String {
        let machine = self.machine;
        let materials: Vec<String> = self
            .cuts
            .iter()
            .map(|cut| {
                let sheet = cut.material.data_sheet.as_deref().unwrap_or("none named");
                format!("{} ({}; data sheet: {sheet})", cut.material.key, cut.material.title)
            })
            .collect();
        let mut text = format!(
            "{HEAD}\n\n{}, {}: {} ({})\nmaterials: {}\nsheets: {}; {} to cut in each format, {}\n\n",
            self.lay,
            machine.process,
            machine.key,
            machine.title,
            materials.join(", "),
            self.sheets.join(", "),
            counted(self.files, "file"),
            counted(self.pieces, "piece")
        );
        for cut in &self.cuts {
            let _ = writeln!(text, "set for {}", cut.set());
        }
        if let Some(plate) = &machine.laser {
            let interlock = plate.interlock.as_deref().unwrap_or("none on record");
            let _ = writeln!(text, "interlock: {interlock}; class {} as it stands", plate.class);
        }
        text.push('\n');
        text.push_str(&worksheet(self));
        if !self.assumed.is_empty() {
            let _ = writeln!(text, "\nOnly assumed, starting guesses: {}", self.assumed.join("; "));
        }
        text
    }

    /// One item in full.
    pub fn shown(item: &Item) -> String {
        let mut text = format!(
            "[{}] {} ({})\n  {}\n  source: {}\n",
            item.id,
            item.phase.name(),
            item.kind.name(),
            item.text,
            item.source
        );
        if let Kind::Asked(ask) = item.kind {
            let _ = writeln!(text, "  type: {}, such as: {}", ask.question(), ask.example());
        }
        wrapped(&text)
    }

    /// The whole list as it is shown; its hash is what a record binds.
    pub fn text(&self) -> String {
        let mut text = self.head();
        for item in self.items() {
            text.push('\n');
            text.push_str(&Task::shown(item));
        }
        let _ = write!(text, "\n{WORTH}\n");
        text
    }

    /// The list on paper, with room to write and lines to sign.
    pub fn printed(&self) -> String {
        let mut text = self.head();
        for item in self.items() {
            text.push('\n');
            text.push_str(&Task::shown(item));
            if matches!(item.kind, Kind::Asked(_)) {
                text.push_str("  answer: ______________________________   initials: ________\n");
            }
        }
        let _ = write!(
            text,
            "\n{WORTH}\nThis sheet does not open the program's gate: the answers are typed.\n\n\
             name:      ______________________________   day: ________________\n\n\
             signature: ______________________________\n\n\
             fire watch or last look ended at: ________   signature: ______________________________\n"
        );
        text
    }
}

/// Lines of at most 100 signs, broken between words; what goes on stands two signs further in.
fn wrapped(text: &str) -> String {
    const WIDE: usize = 100;
    let mut out = String::new();
    for line in text.lines() {
        let indent = line.len() - line.trim_start().len();
        let mut used = 0;
        for word in line.split_whitespace() {
            let long = word.chars().count();
            if used == 0 {
                out.extend(std::iter::repeat_n(' ', indent));
                used = indent;
            } else if used + 1 + long > WIDE {
                out.push('\n');
                out.extend(std::iter::repeat_n(' ', indent + 2));
                used = indent + 2;
            } else {
                out.push(' ');
                used += 1;
            }
            out.push_str(word);
            used += long;
        }
        out.push('\n');
    }
    out
}
