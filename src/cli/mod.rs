//! The command line: one file a command, and the only rooms that print (`show`) and touch the disk (`desk`).
//!
//! Each command reads the job, asks the library, shows the answer and names the likely next step.

pub mod args;
mod bed;
mod beside;
mod check;
mod claims;
mod completions;
mod coupon;
mod coupon_finding;
mod coupon_read;
mod cut;
mod cut_told;
mod desk;
mod draw;
mod explain;
mod eyes;
mod gate;
mod kind;
mod lay;
mod lay_picture;
mod measure;
mod new;
mod open;
mod opener;
mod order;
mod overview;
mod page;
mod pages;
mod profile;
mod prove;
mod punch;
mod record;
mod records;
mod recut;
mod recut_buy;
mod recut_place;
mod recut_points;
mod report;
mod safety;
mod schema;
mod sequence;
mod show;
mod status;
mod stock;
mod store;
mod table;
mod tally;
mod template;
mod travel;
mod which;
mod whole;
mod why;

use crate::coupon::Sort;
use crate::fault::{Fault, Sources};
use args::{Command, Coupon, Stock, Typed};
use clap::Parser;
use clap::error::ErrorKind;
use serde_json::{Value, json};
use show::{Show, fault_json};
use std::path::PathBuf;

/// What a run comes to.
///
/// Documented and stable: scripts may rely on the numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Done.
    Done = 0,
    /// Faults in the job, a table or a profile.
    Faults = 1,
    /// Done, but some pieces found no place.
    Short = 3,
    /// Held back for safety.
    Held = 4,
    /// A cut file is not proven.
    Unproven = 5,
    /// A file could not be read or written.
    Files = 6,
    /// A laser has no valid safety record for its motions, or its answers were refused.
    Unanswered = 7,
    /// The stock record is in use by another command.
    InUse = 8,
}

/// Runs what was typed and gives the exit code.
pub fn run(words: impl IntoIterator<Item = std::ffi::OsString>) -> u8 {
    let words: Vec<std::ffi::OsString> = words.into_iter().collect();
    let typed = match Typed::try_parse_from(&words) {
        Ok(typed) => typed,
        Err(stop) if stop.use_stderr() && words.iter().any(|word| word == "--json") => {
            return not_understood(&words, &stop);
        }
        Err(stop) => {
            // clap's own words; help and version go to standard output and end well.
            let _ = stop.print();
            if let Some(line) = whole::line(&words, &stop) {
                Show::told(&format!("type: {line}"));
            }
            return if stop.use_stderr() { 2 } else { 0 };
        }
    };
    let show = Show::new(&typed.common);
    let common = &typed.common;
    show.begin(under_way(&typed.command));
    let mut answer = match &typed.command {
        Command::New(how) => new::run(how, &show),
        Command::Check => check::run(common),
        Command::Measure { lengths } => measure::run(lengths),
        Command::Table { part } => table::run(common, part),
        Command::Profile { name } => profile::run(name.as_deref()),
        Command::Kind { name } => kind::run(name.as_deref()),
        Command::Why { piece } => why::run(common, piece),
        Command::Draw { parts, style, .. } => draw::run(common, parts, *style),
        Command::Lay(it) => lay::run(common, &it.how, &show),
        Command::Safety(how) => safety::run(common, how, &show),
        Command::Cut(it) => cut::run(common, &it.how, &show),
        Command::Coupon(Coupon::Kerf(how)) => coupon::run(common, Sort::Kerf, how, &show),
        Command::Coupon(Coupon::Stretch(how)) => coupon::run(common, Sort::Stretch, how, &show),
        Command::Coupon(Coupon::Gap(how)) => coupon::run(common, Sort::Gap, how, &show),
        Command::Coupon(Coupon::Hole(how)) => coupon::run(common, Sort::Hole, how, &show),
        Command::Coupon(Coupon::Read(how)) => coupon_read::run(common, how, &show),
        Command::Prove { file } => prove::run(common, file),
        Command::Travel { name, .. } => travel::run(common, name.as_deref()),
        Command::Stock(what) => stock::run(common, what, &show),
        Command::Tally(how) => tally::run(common, how),
        Command::Order(how) => order::run(common, how, &show),
        Command::Status => status::run(common),
        Command::Report => report::run(common),
        Command::Recut(how) => recut::run(common, how),
        Command::Record => record::run(common),
        Command::Page { lay, .. } => page::run(common, lay.as_deref()),
        Command::Template(it) => template::run(common, &it.how),
        Command::Explain { topic } => explain::run(topic.as_deref()),
        Command::Completions { shell } => completions::run(*shell),
        Command::Schema => schema::run(),
    };
    show.end();
    if wants_open(&typed.command) {
        answer.open_picture();
    }
    answer.tell(&show, name_of(&typed.command))
}

fn name_of(command: &Command) -> &'static str {
    match command {
        Command::New(_) => "new",
        Command::Check => "check",
        Command::Measure { .. } => "measure",
        Command::Table { .. } => "table",
        Command::Profile { .. } => "profile",
        Command::Kind { .. } => "kind",
        Command::Why { .. } => "why",
        Command::Draw { .. } => "draw",
        Command::Lay(_) => "lay",
        Command::Safety(_) => "safety",
        Command::Cut(_) => "cut",
        Command::Coupon(Coupon::Kerf(_)) => "coupon-kerf",
        Command::Coupon(Coupon::Stretch(_)) => "coupon-stretch",
        Command::Coupon(Coupon::Gap(_)) => "coupon-gap",
        Command::Coupon(Coupon::Hole(_)) => "coupon-hole",
        Command::Coupon(Coupon::Read(_)) => "coupon-read",
        Command::Prove { .. } => "prove",
        Command::Travel { .. } => "travel",
        Command::Stock(_) => "stock",
        Command::Tally(_) => "tally",
        Command::Order(_) => "order",
        Command::Status => "status",
        Command::Report => "report",
        Command::Page { .. } => "page",
        Command::Template(_) => "template",
        Command::Recut(_) => "recut",
        Command::Record => "record",
        Command::Explain { .. } => "explain",
        Command::Completions { .. } => "completions",
        Command::Schema => "schema",
    }
}

/// Whether what was made is to be opened.
fn wants_open(command: &Command) -> bool {
    match command {
        Command::Draw { open, .. } | Command::Travel { open, .. } | Command::Page { open, .. } => {
            *open
        }
        Command::Lay(it) => it.open,
        Command::Cut(it) => it.open,
        Command::Template(it) => it.open,
        Command::Stock(Stock::Show { open, .. }) => *open,
        _ => false,
    }
}

/// What is said while a command that may take its time is at work; nothing of those that are quick, that ask, or that
/// have a bar of their own from the start.
fn under_way(command: &Command) -> Option<&'static str> {
    match command {
        Command::Draw { .. } => Some("drawing"),
        Command::Cut(_) => Some("planning, writing and proving"),
        Command::Prove { .. } => Some("proving"),
        Command::Order(_) => Some("reckoning"),
        Command::Page { .. } => Some("making the page"),
        Command::Template(_) => Some("drawing patterns"),
        Command::Lay(_) | Command::Report | Command::Travel { .. } => Some("at work"),
        _ => None,
    }
}

/// A command line that was not understood, as the one JSON document.
fn not_understood(words: &[std::ffi::OsString], stop: &clap::Error) -> u8 {
    let bare = stop.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand;
    let text = if bare { "no command was given".to_owned() } else { stop.to_string() };
    let text = text.trim_start_matches("error: ");
    let (first, rest) = text.split_once("\n\n").unwrap_or((text, ""));
    let tip = rest.split("\n\n").find_map(|line| line.trim().strip_prefix("tip: "));
    let fault = Fault::error("E81", first.split_whitespace().collect::<Vec<_>>().join(" ")).cure(
        whole::line(words, stop).map_or_else(
            || tip.unwrap_or("pouchwork --help shows what can be typed").to_owned(),
            |line| format!("type: {line}"),
        ),
    );
    Show::json(&json!({
        "schema": "pouchwork/command/1",
        "ok": false,
        "exit": 2,
        "messages": [fault_json(&fault)],
    }));
    2
}

/// What a command has to say.
#[derive(Debug)]
struct Answer {
    outcome: Outcome,
    /// Lines of the answer.
    lines: Vec<String>,
    /// Text that is printed as it is, instead of lines.
    raw: Option<String>,
    /// Helpful last lines, such as the next step.
    hints: Vec<String>,
    faults: Vec<Fault>,
    sources: Sources,
    result: Value,
    /// What is to be looked at first: a picture or a page.
    picture: Option<PathBuf>,
}

impl Answer {
    fn new() -> Answer {
        Answer {
            outcome: Outcome::Done,
            lines: Vec::new(),
            raw: None,
            hints: Vec::new(),
            faults: Vec::new(),
            sources: Sources::default(),
            result: json!({}),
            picture: None,
        }
    }

    /// Only faults.
    fn refused(faults: Vec<Fault>, sources: Sources) -> Answer {
        let outcome = outcome_of(&faults);
        Answer { outcome, faults, sources, ..Answer::new() }
    }

    fn line(&mut self, line: impl Into<String>) {
        self.lines.push(line.into());
    }

    fn hint(&mut self, line: impl Into<String>) {
        self.hints.push(line.into());
    }

    fn tell(self, show: &Show, command: &str) -> u8 {
        if show.is_json() {
            let mut document = json!({
                "schema": format!("pouchwork/{command}/1"),
                "ok": self.outcome == Outcome::Done,
                "exit": self.outcome as u8,
                "messages": self.faults.iter().map(fault_json).collect::<Vec<_>>(),
            });
            if let (Value::Object(document), Value::Object(result)) = (&mut document, self.result) {
                document.extend(result);
            }
            Show::json(&document);
            return self.outcome as u8;
        }
        if let Some(raw) = &self.raw {
            Show::raw(raw);
        }
        for line in &self.lines {
            show.say(line);
        }
        show.faults(&self.faults, &self.sources);
        if let Some(fault) = self.faults.iter().find(|fault| fault.is_error()) {
            show.aside(&format!("more on it: pouchwork explain {}", fault.code));
        }
        for hint in &self.hints {
            show.hint(hint);
        }
        self.outcome as u8
    }
}

/// What faults come to: safety above all, then files, then the job itself.
fn outcome_of(faults: &[Fault]) -> Outcome {
    let has = |codes: &[&str]| faults.iter().any(|f| f.is_error() && codes.contains(&f.code));
    if has(&["E62"]) {
        Outcome::InUse
    } else if has(&["E44"]) {
        Outcome::Held
    } else if has(&["E45", "E47", "E48"]) {
        Outcome::Unanswered
    } else if has(&["E73"]) {
        Outcome::Unproven
    } else if has(&["E71", "E72"]) {
        Outcome::Files
    } else if faults.iter().any(Fault::is_error) {
        Outcome::Faults
    } else {
        Outcome::Done
    }
}
