//! `safety`: the list of one machine for one lay, shown in full, and the record of the answers.

use super::args::{Common, SafetyArgs};
use super::cut::{Plans, job_for, plans};
use super::gate::{bound, record_path, task, today};
use super::open::{Open, open};
use super::show::Show;
use super::which::find;
use super::{Answer, desk};
use crate::fault::{Fault, Sources};
use crate::job::{Job, read_answers, stops};
use crate::safety::checklist::{Kind, Task, WORTH};
use crate::safety::record::{Answers, Given, Record, accept, judge_person};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{self, BufRead, IsTerminal};
use std::path::Path;

pub(super) fn run(common: &Common, how: &SafetyArgs, show: &Show) -> Answer {
    let Open { folder, job, mut sources, .. } = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let found = find(&folder, how.lay.as_deref());
    let job = match &found {
        Ok(Some(lay_folder)) => match job_for(job, lay_folder) {
            Ok(job) => job,
            Err(faults) => return Answer::refused(faults, sources),
        },
        _ => job,
    };
    // No answer helps against a hard stop, so none is asked for.
    let stops = stops(&job);
    if !stops.is_empty() {
        return Answer::refused(stops, sources);
    }
    let lay_folder = match found {
        Ok(Some(lay_folder)) => lay_folder,
        Ok(None) => {
            let fault = Fault::error("E81", "there is no lay yet, so there are no motions")
                .cure("make one with: pouchwork lay");
            return Answer::refused(vec![fault], sources);
        }
        Err(fault) => return Answer::refused(vec![fault], sources),
    };
    let made = plans(&job, &lay_folder)
        .and_then(|plans| gone_through(&job, &plans, &lay_folder, how, (show, &mut sources)));
    match made {
        Ok(mut answer) => {
            answer.sources = sources;
            answer
        }
        Err(faults) => Answer::refused(faults, sources),
    }
}

/// Shows the list and, unless it is only for paper, takes the answers and keeps the record.
fn gone_through(
    job: &Job,
    plans: &Plans,
    lay_folder: &Path,
    how: &SafetyArgs,
    (show, sources): (&Show, &mut Sources),
) -> Result<Answer, Vec<Fault>> {
    let machine = plans.machine(job, &how.machine)?;
    let task = task(job, plans, machine);
    let mut answer = Answer::new();
    if how.print {
        answer.result = told(&task);
        answer.raw = Some(task.printed());
        return Ok(answer);
    }
    let today = today().map_err(|fault| vec![fault])?;
    let bound = bound(job, plans, &task, today);
    let answers = match &how.answers {
        Some(path) => {
            let answers = from_file(path, sources)?;
            if !show.is_json() {
                Show::raw(&task.text());
            }
            answers
        }
        None if !io::stdin().is_terminal() || show.is_json() => {
            return Err(vec![
                Fault::error("E47", "the answers are typed on a terminal, one at a time").cure(
                    "type it on a terminal, without --json; or give a file with --answers FILE, or print the list with --print",
                ),
            ]);
        }
        None => asked(&task, &mut io::stdin().lock(), &mut Show::raw).ok_or_else(|| {
            vec![
                Fault::error("E47", "not every item was answered: nothing is recorded")
                    .cure("begin again when everything is ready"),
            ]
        })?,
    };
    let record = accept(&task, &answers, bound)?;
    let path = record_path(lay_folder, &machine.key);
    desk::write(&path, record.to_toml().as_bytes()).map_err(|fault| vec![fault])?;
    tell(&mut answer, &task, &record, &path);
    Ok(answer)
}

fn from_file(path: &Path, sources: &mut Sources) -> Result<Answers, Vec<Fault>> {
    let shown = path.display().to_string();
    match desk::read(path) {
        Ok(Some(bytes)) => read_answers(&shown, &bytes, sources),
        Ok(None) => Err(vec![
            Fault::error("E36", format!("there is no file {shown}"))
                .cure("look at the path; it starts from the folder you are in"),
        ]),
        Err(fault) => Err(vec![fault]),
    }
}

/// Shows one item after the other and takes a line for each; none where the input ends or a line is empty.
///
/// A wrong answer is told and the item asked again.
fn asked(task: &Task<'_>, from: &mut dyn BufRead, say: &mut dyn FnMut(&str)) -> Option<Answers> {
    say(&task.head());
    say("\nAn empty line ends it, and nothing is recorded.\n\nwho runs the machine (name): ");
    let person = loop {
        let typed = line(from)?;
        match judge_person(&typed) {
            Ok(()) => break typed,
            Err(why) => say(&format!("{why}\nname: ")),
        }
    };
    let mut given = BTreeMap::new();
    for item in task.items() {
        say(&format!("\n{}", Task::shown(item)));
        let Kind::Asked(ask) = item.kind else { continue };
        say("  > ");
        let typed = loop {
            let typed = line(from)?;
            match ask.judge(task, &person, &typed) {
                Ok(()) => break typed,
                Err(why) => say(&format!("  {why}; type it like: {}\n  > ", ask.example())),
            }
        };
        given.insert(item.id.to_owned(), Given { text: typed, place: None });
    }
    say(&format!("\n{WORTH}\n"));
    let plain = |text: &str| Given { text: text.to_owned(), place: None };
    Some(Answers { machine: plain(&task.machine.key), person: plain(&person), given, place: None })
}

/// A line that somebody typed; none where it is empty or there is no more.
fn line(from: &mut dyn BufRead) -> Option<String> {
    const MOST: u64 = 4096;
    let mut text = String::new();
    io::Read::take(from, MOST).read_line(&mut text).ok()?;
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_owned())
}

fn tell(answer: &mut Answer, task: &Task<'_>, record: &Record, path: &Path) {
    answer.line("");
    for (item, _) in task.asked() {
        let typed = record.answers.get(item.id).map_or("", String::as_str);
        answer.line(format!("{:<14} {typed}", item.id));
    }
    answer.line(format!(
        "wrote {}: {}, {}, for {} of {} on {} alone",
        path.display(),
        record.person,
        record.bound.day,
        task.lay,
        task.machine.key,
        record.bound.day
    ));
    let mut result = told(task);
    if let Value::Object(map) = &mut result {
        map.insert("record".to_owned(), json!(path.display().to_string()));
        map.insert("day".to_owned(), json!(record.bound.day.to_string()));
        map.insert("motions".to_owned(), json!(record.bound.motions));
    }
    answer.result = result;
    answer.hint(format!("next: pouchwork cut {}", task.lay));
}

/// The list for scripts.
fn told(task: &Task<'_>) -> Value {
    let items: Vec<Value> = task
        .items()
        .into_iter()
        .map(|item| {
            let wants = match item.kind {
                Kind::Asked(ask) => Some(ask.question()),
                Kind::Stop | Kind::Information => None,
            };
            json!({
                "item": item.id,
                "phase": item.phase.name(),
                "kind": item.kind.name(),
                "text": item.text,
                "source": item.source,
                "type": wants,
            })
        })
        .collect();
    json!({
        "lay": task.lay,
        "machine": task.machine.key,
        "head": task.head(),
        "items": items,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fault::{Fault, Place};
    use crate::machine::{LaserPlate, Machine, Process};
    use crate::material::Source;
    use std::sync::Arc;

    fn machine() -> Machine {
        let place = Place::head(&Arc::from("m.toml"));
        let source = Source { text: "assumed".into(), place: place.clone() };
        let laser = LaserPlate {
            wavelength: 450.0,
            power: 10.0,
            class: "1".into(),
            enclosed: true,
            extraction: "filter".into(),
            beam_word: None,
            full_power_word: None,
            divergence: None,
            beam_diameter: None,
            interlock: None,
        };
        Machine {
            key: "m".into(),
            title: "machine".into(),
            process: Process::Laser,
            width: 400.0,
            depth: 300.0,
            margin: 5.0,
            smallest_hole: 1.0,
            laser: Some(laser),
            motion: None,
            knife: None,
            colours: BTreeMap::new(),
            source,
            place,
        }
    }

    fn task(machine: &Machine) -> Task<'_> {
        let (cuts, sheets) = (Vec::new(), vec!["H-1".to_owned()]);
        let (assumed, short_names) = (Vec::new(), Vec::new());
        Task { lay: "lay-1", machine, cuts, sheets, files: 1, pieces: 5, assumed, short_names }
    }

    /// What is typed, each line the answer to what is asked for in turn.
    const TYPED: &[&str] = &[
        "Ada Example",
        "none",
        "H-1",
        "class 1",
        "Ada Example",
        "filter",
        "foam",
        "400 x 300",
        "1",
        "5",
        "450 nm, 10 W",
        "m",
        "30",
    ];

    fn typed(task: &Task<'_>, lines: &[&str]) -> (Option<Answers>, String) {
        let mut shown = String::new();
        let text = lines.join("\n");
        let got = asked(task, &mut text.as_bytes(), &mut |text: &str| shown.push_str(text));
        (got, shown)
    }

    #[test]
    fn items_are_asked_one_at_a_time() {
        let machine = machine();
        let mut task = task(&machine);
        // Without a material there is no answer to `papers`: the dialogue can't be got through.
        let (got, shown) = typed(&task, TYPED);
        assert!(got.is_none());
        assert_eq!(shown.matches("  > ").count(), TYPED.len(), "each wrong line is asked again");
        let (job, _) = crate::job::read_job(
            &super::super::open::Folder::new("examples/thistlewick".into()),
            &mut Sources::default(),
        );
        let job = job.unwrap();
        let material = &job.materials["gasket-calf"];
        let share =
            crate::safety::checklist::Share { material, kerf: 0.2, length: 1000.0, setting: None };
        task.cuts.push(share);
        let mut lines = TYPED.to_vec();
        lines[1] = "gasket-calf";
        lines.insert(3, "y");
        let (got, shown) = typed(&task, &lines);
        let answers = got.unwrap();
        assert!(shown.contains("that is not the class"), "{shown}");
        for item in task.items() {
            assert!(shown.contains(&Task::shown(item)), "{} is shown in full", item.id);
        }
        let day = crate::units::Day::parse("2026-03-14").unwrap();
        let now =
            crate::safety::record::Bound::new(&task, "a".into(), BTreeMap::new(), "b".into(), day);
        let record: Result<Record, Vec<Fault>> = accept(&task, &answers, now.clone());
        assert_eq!(record.unwrap().void(&task, &now), Vec::<String>::new());
        // Cut short anywhere, or with an empty line, nothing comes of it.
        for end in 0..lines.len() {
            assert!(typed(&task, &lines[..end]).0.is_none(), "{end} lines");
            let mut gap = lines.clone();
            gap[end] = "";
            assert!(typed(&task, &gap).0.is_none(), "line {end} empty");
        }
    }
}
