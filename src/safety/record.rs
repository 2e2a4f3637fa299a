//! The safety record: what was shown, what was typed, and what it holds for.
//!
//! It holds for one machine's motions of one lay, with the machine's and the materials' records as they were, the list as
//! it was shown, one person and one day. When any of these changes it is void. Its seal is a hash over all of it, so that
//! a slip of an editor shows; it is no lock against somebody who wants to deceive himself.

use super::checklist::{Task, WORTH};
use crate::fault::{Fault, Place};
use crate::units::Day;
use crate::write::manifest::hash;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Number of the record's form.
pub const FORM: u32 = 1;

/// What a record holds for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bound {
    /// Name of the lay.
    pub lay: String,
    /// Name of the machine's record.
    pub machine: String,
    /// Hash of the machine's record.
    pub machine_record: String,
    /// Hash of each material's record, by name.
    pub materials: BTreeMap<String, String>,
    /// Hash of the motions.
    pub motions: String,
    /// Hash of the list as it was shown.
    pub list: String,
    /// The day.
    pub day: Day,
}

impl Bound {
    /// What a record made of a task would hold for.
    pub fn new(
        task: &Task<'_>,
        machine_record: String,
        materials: BTreeMap<String, String>,
        motions: String,
        day: Day,
    ) -> Bound {
        Bound {
            lay: task.lay.to_owned(),
            machine: task.machine.key.clone(),
            machine_record,
            materials,
            motions,
            list: hash(task.text().as_bytes()),
            day,
        }
    }
}

/// A text of the user's, and where it stands if it stands in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Given {
    /// The text.
    pub text: String,
    /// Its place.
    pub place: Option<Place>,
}

/// Answers as they were given, not looked at yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answers {
    /// The machine they are for, by the name of its record.
    pub machine: Given,
    /// Who gives them.
    pub person: Given,
    /// The answers, by item.
    pub given: BTreeMap<String, Given>,
    /// The head of their file.
    pub place: Option<Place>,
}

/// A record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// What it holds for.
    pub bound: Bound,
    /// Who answered.
    pub person: String,
    /// The answers, by item.
    pub answers: BTreeMap<String, String>,
    /// Hash over all of the above.
    pub seal: String,
}

/// Whether a text can be somebody's name: two letters or more, and no mere yes.
///
/// # Errors
/// What is wrong with it.
pub fn judge_person(name: &str) -> Result<(), String> {
    let name = name.trim();
    let letters = name.chars().filter(|c| c.is_alphabetic()).count();
    let mere = ["yes", "ok", "okay", "yep", "true", "all"];
    if letters < 2 || mere.contains(&&*name.to_lowercase()) {
        return Err("that is nobody's name".to_owned());
    }
    if name.chars().count() > 80 || name.chars().any(char::is_control) {
        return Err("a name is one line of at most 80 signs".to_owned());
    }
    Ok(())
}

/// Looks at every answer and makes the record.
///
/// # Errors
/// `E48` where the answers are for another machine; `E47` for each item that has no answer or a wrong one, and for each
/// answer that no item asks for.
pub fn accept(task: &Task<'_>, answers: &Answers, bound: Bound) -> Result<Record, Vec<Fault>> {
    if !task.is_called(&answers.machine.text) {
        return Err(vec![
            Fault::error(
                "E48",
                format!("the answers are for the machine {}, not for {}", answers.machine.text, task.name()),
            )
            .at_some(answers.machine.place.as_ref())
            .cure("answers serve the machine that they name; go through the list at yours and type them anew"),
        ]);
    }
    let mut wrong = Vec::new();
    let person = answers.person.text.trim();
    if let Err(why) = judge_person(person) {
        wrong.push(
            Fault::error("E47", format!("`person`: {why}"))
                .at_some(answers.person.place.as_ref())
                .cure("write the name of whoever runs the machine"),
        );
    }
    let asked = task.asked();
    let mut kept = BTreeMap::new();
    for (item, ask) in &asked {
        let Some(given) = answers.given.get(item.id) else {
            wrong.push(
                Fault::error("E47", format!("`{}` has no answer", item.id))
                    .at_some(answers.place.as_ref())
                    .cure(format!("it wants {}, such as: {}", ask.question(), ask.example())),
            );
            continue;
        };
        match ask.judge(task, person, &given.text) {
            Ok(()) => {
                kept.insert(item.id.to_owned(), given.text.trim().to_owned());
            }
            Err(why) => wrong.push(
                Fault::error("E47", format!("`{}`: {why}", item.id))
                    .at_some(given.place.as_ref())
                    .cure(format!("write it like: {}", ask.example())),
            ),
        }
    }
    for (id, given) in &answers.given {
        if !asked.iter().any(|(item, _)| item.id == id) {
            wrong.push(
                Fault::error("E47", "an answer to what the list of this machine does not ask")
                    .at_some(given.place.as_ref())
                    .cure("delete it; pouchwork safety with --print shows what is asked"),
            );
        }
    }
    if wrong.is_empty() { Ok(Record::new(bound, person.to_owned(), kept)) } else { Err(wrong) }
}

impl Record {
    fn new(bound: Bound, person: String, answers: BTreeMap<String, String>) -> Record {
        let mut record = Record { bound, person, answers, seal: String::new() };
        record.seal = hash(record.body().as_bytes());
        record
    }

    /// The record as a TOML text.
    pub fn to_toml(&self) -> String {
        format!("# {WORTH}\n# Changed by hand it is void.\n{}", self.sealed())
    }

    fn sealed(&self) -> String {
        format!("seal = {}\n{}", quoted(&self.seal), self.body())
    }

    /// All of it but its seal.
    fn body(&self) -> String {
        let bound = &self.bound;
        let mut text = format!("form = {FORM}\n");
        for (key, value) in [
            ("lay", bound.lay.as_str()),
            ("machine", bound.machine.as_str()),
            ("person", self.person.as_str()),
            ("day", &bound.day.to_string()),
            ("motions", bound.motions.as_str()),
            ("machine-record", bound.machine_record.as_str()),
            ("list", bound.list.as_str()),
        ] {
            let _ = writeln!(text, "{key} = {}", quoted(value));
        }
        for (name, map) in [("materials", &bound.materials), ("answers", &self.answers)] {
            let _ = write!(text, "\n[{name}]\n");
            for (key, value) in map {
                let _ = writeln!(text, "{} = {}", quoted(key), quoted(value));
            }
        }
        text
    }

    /// Why the record does not hold for what is at hand now; empty where it holds.
    pub fn void(&self, task: &Task<'_>, now: &Bound) -> Vec<String> {
        let mut why = Vec::new();
        let then = &self.bound;
        if self.seal != hash(self.body().as_bytes()) {
            why.push("it was changed by hand".to_owned());
        }
        if then.lay != now.lay {
            why.push(format!("it is for {}", then.lay));
        }
        if then.machine != now.machine {
            why.push(format!("it is for the machine {}", then.machine));
        }
        if then.day != now.day {
            why.push(format!("it is of {}, and today is {}", then.day, now.day));
        }
        if then.motions != now.motions {
            why.push("the motions have changed".to_owned());
        }
        if then.machine_record != now.machine_record {
            why.push("the machine's record has changed".to_owned());
        }
        if then.materials != now.materials {
            why.push("a material's record has changed".to_owned());
        }
        if then.list != now.list {
            why.push("the list has changed".to_owned());
        }
        if why.is_empty() && !self.answers_hold(task) {
            why.push("its answers are not those that the list asks for".to_owned());
        }
        why
    }

    /// Whether every item has its answer, and nothing else has one.
    fn answers_hold(&self, task: &Task<'_>) -> bool {
        let asked = task.asked();
        judge_person(&self.person).is_ok()
            && self.answers.len() == asked.len()
            && asked.iter().all(|(item, ask)| {
                let typed = self.answers.get(item.id);
                typed.is_some_and(|typed| ask.judge(task, &self.person, typed).is_ok())
            })
    }
}

/// A text as a basic string of TOML.
///
/// # Source
/// TOML 1.0.0, Strings.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for sign in text.chars() {
        match sign {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
