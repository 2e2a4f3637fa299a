//! `new`: a job folder that works at once.

use super::args::{NewArgs, NewMachine, NewUnit};
use super::{Answer, Outcome, desk};
use crate::fault::{Fault, Sources};
use crate::job::{Bench, BenchUnit, Cutter, starter_for};
use serde_json::json;
use std::path::Path;

pub(super) fn run(how: &NewArgs) -> Answer {
    let name = how.name.as_str();
    let refused = |fault: Fault| {
        let mut answer = Answer::refused(vec![fault], Sources::default());
        answer.outcome = Outcome::Files;
        answer
    };
    let folder = Path::new(name);
    if name.trim().is_empty() || name.starts_with('-') || folder.file_name().is_none() {
        return refused(
            Fault::error("E37", format!("\"{name}\" cannot be the name of a folder"))
                .cure("letters, digits, - and _, for example: pouchwork new chapel-organ"),
        );
    }
    if folder.exists() {
        return refused(
            Fault::error("E72", format!("{name} is there already"))
                .cure("choose another name; nothing was changed"),
        );
    }
    let title = folder.file_name().and_then(|n| n.to_str()).unwrap_or(name);
    let mut answer = Answer::new();
    let mut files = Vec::new();
    for (path, text) in starter_for(title, &bench(how)) {
        if let Err(fault) = desk::write(&folder.join(&path), text.as_bytes()) {
            return refused(fault);
        }
        answer.line(format!("made {name}/{path}"));
        files.push(path);
    }
    answer.result = json!({ "folder": name, "files": files });
    let name =
        if name.contains(char::is_whitespace) { format!("'{name}'") } else { name.to_owned() };
    answer.hint(format!("next: cd {name}, put in your own measures, then: pouchwork check"));
    answer
}

fn bench(how: &NewArgs) -> Bench {
    let usual = Bench::default();
    Bench {
        notes: how.notes.unwrap_or(usual.notes),
        unit: how.unit.map(|unit| match unit {
            NewUnit::In => BenchUnit::Inch,
            NewUnit::Mm => BenchUnit::Millimetre,
        }),
        cutter: match how.machine {
            NewMachine::Knife => Cutter::Knife,
            NewMachine::Laser => Cutter::Laser,
            NewMachine::Paper => Cutter::Paper,
        },
    }
}
