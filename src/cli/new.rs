//! `new`: a job folder that works at once.

use super::args::{NewArgs, NewExtraction, NewMachine, NewUnit};
use super::show::Show;
use super::{Answer, Outcome, desk};
use crate::fault::{Fault, Sources};
use crate::job::{Bench, BenchExtraction, BenchUnit, Cutter, starter_for};
use serde_json::json;
use std::io::{self, BufRead, IsTerminal};
use std::path::Path;

pub(super) fn run(how: &NewArgs, show: &Show) -> Answer {
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
    let extraction = match extraction(how, show) {
        Ok(extraction) => extraction,
        Err(fault) => return Answer::refused(vec![fault], Sources::default()),
    };
    let title = folder.file_name().and_then(|n| n.to_str()).unwrap_or(name);
    let mut answer = Answer::new();
    let mut files = Vec::new();
    for (path, text) in starter_for(title, &bench(how, extraction)) {
        if let Err(fault) = desk::write(&folder.join(&path), text.as_bytes()) {
            return refused(fault);
        }
        answer.line(format!("made {name}/{path}"));
        files.push(path);
    }
    answer.result = json!({ "folder": name, "files": files });
    let name =
        if name.contains(char::is_whitespace) { format!("'{name}'") } else { name.to_owned() };
    if extraction.is_some() {
        answer.hint(
            "its machine is an invented one: put the figures of your own into machines/diode-laser.toml",
        );
    }
    answer.hint(format!("next: cd {name}, put in your own measures, then: pouchwork check"));
    answer
}

/// Why nothing is cut by a laser whose fumes stay in the room.
const WHY: &str = "burnt leather, cloth and card give off gases that must be led away, and nobody but you knows where they go";

/// What may be typed.
const WAYS: &str = "outdoors: a fan and a duct lead them out of the building; filter: through a filter that is made for gases";

/// Where a laser's fumes go: as typed, else as asked for on a terminal; none for other cutters.
fn extraction(how: &NewArgs, show: &Show) -> Result<Option<BenchExtraction>, Fault> {
    if how.machine != NewMachine::Laser {
        return match how.extraction {
            None => Ok(None),
            Some(_) => {
                Err(Fault::error("E81", "--extraction is of a laser, and this job has none")
                    .cure("leave it out, or add --machine laser"))
            }
        };
    }
    if let Some(typed) = how.extraction {
        return Ok(Some(as_benched(typed)));
    }
    let asks = !show.is_json() && io::stdin().is_terminal() && io::stdout().is_terminal();
    let asked = asks.then(|| asked(&mut io::stdin().lock(), &mut Show::raw)).flatten();
    asked.map(Some).ok_or_else(|| {
        Fault::error("E12", format!("where do the laser's fumes go? {WHY}")).cure(format!(
            "add --extraction outdoors or --extraction filter ({WAYS}); where there is neither, begin with --machine \
             knife or --machine paper; nothing was made"
        ))
    })
}

/// Asks until the answer is one; none where it is empty or the input ends.
fn asked(from: &mut dyn BufRead, say: &mut dyn FnMut(&str)) -> Option<BenchExtraction> {
    say(&format!(
        "Where do the laser's fumes go? {WHY}.\n  {WAYS}.\nAn empty line ends it, and nothing is made.\n"
    ));
    loop {
        say("outdoors or filter > ");
        let mut line = String::new();
        if from.read_line(&mut line).ok()? == 0 || line.trim().is_empty() {
            return None;
        }
        match line.trim().to_lowercase().as_str() {
            "outdoors" => return Some(BenchExtraction::Outdoors),
            "filter" => return Some(BenchExtraction::Filter),
            _ => say("  one of the two words, please\n"),
        }
    }
}

fn as_benched(typed: NewExtraction) -> BenchExtraction {
    match typed {
        NewExtraction::Outdoors => BenchExtraction::Outdoors,
        NewExtraction::Filter => BenchExtraction::Filter,
    }
}

fn bench(how: &NewArgs, extraction: Option<BenchExtraction>) -> Bench {
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
        extraction,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_asks_until_the_answer_is_one() {
        let answer = |typed: &str| {
            let mut said = String::new();
            let got = asked(&mut typed.as_bytes(), &mut |text: &str| said.push_str(text));
            (got, said.matches("one of the two words").count())
        };
        assert_eq!(answer("outdoors\n"), (Some(BenchExtraction::Outdoors), 0));
        assert_eq!(answer("y\nnone\n Filter \n"), (Some(BenchExtraction::Filter), 2));
        assert_eq!(answer("window\n\n"), (None, 1));
        assert_eq!(answer(""), (None, 0));
    }
}
