//! `travel`: for each valve its gap, the papers that come and go, and the gap to be expected.

use super::args::Common;
use super::open::open;
use super::{Answer, Outcome, desk, outcome_of};
use crate::fault::{Fault, nearest};
use crate::job::Job;
use crate::part::{Balance, Travel};
use crate::units::{show, show_inches};
use crate::write::{papers_in, papers_out, thou, to_png, travel_csv, travel_picture};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Dots to the inch of the picture.
const DPI: f64 = 150.0;
/// A gasket that changes by more than this changes how deep its screws hold (mm).
const SCREW: f64 = 0.1;

pub(super) fn run(common: &Common, name: Option<&str>) -> Answer {
    let opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let job = &opened.job;
    let wanted: Vec<&Travel> =
        job.travels.iter().filter(|it| name.is_none_or(|name| it.name == name)).collect();
    if wanted.is_empty() {
        return Answer::refused(vec![no_travel(job, name)], opened.sources);
    }
    let folder = opened.folder.join("out").join("travel");
    let mut answer = Answer::new();
    let mut all = opened.warnings.clone();
    let mut sets = Vec::new();
    for travel in wanted {
        let made = files(travel, &job.title, &folder).and_then(|files| {
            desk::write_all(&files)?;
            Ok(files.into_iter().map(|(path, _)| path.display().to_string()).collect::<Vec<_>>())
        });
        match made {
            Ok(files) => {
                tell(&mut answer, travel);
                answer.hint(format!("look at {}", files[1]));
                answer.picture.get_or_insert_with(|| files[1].clone().into());
                sets.push(as_json(travel, &files));
            }
            Err(fault) => all.push(fault),
        }
    }
    answer.outcome = outcome_of(&all);
    answer.faults = all;
    answer.sources = opened.sources;
    if answer.outcome == Outcome::Done {
        answer.hint("next: pouchwork lay, which lays the papers too: they are parts of the job");
    }
    answer.result = json!({ "travels": sets });
    answer
}

fn no_travel(job: &Job, name: Option<&str>) -> Fault {
    let known: Vec<&str> = job.travels.iter().map(|it| it.name.as_str()).collect();
    let Some(name) = name.filter(|_| !known.is_empty()) else {
        return Fault::error("E81", "the job has no [[travel]]").at(&job.place).cure(
            "write [[travel]] with name, positions, table, target, least, papers, papers-make, diameter and cut-with",
        );
    };
    let cure = match nearest(name, known.iter().copied()) {
        Some(near) => format!("did you mean {near}?"),
        None => format!("sets of valves in this job: {}", known.join(", ")),
    };
    Fault::error("E81", format!("no set of valves is called \"{name}\"")).cure(cure)
}

/// Picture, twice, and table.
fn files(travel: &Travel, title: &str, folder: &Path) -> Result<Vec<(PathBuf, Vec<u8>)>, Fault> {
    let name = desk::file_name(&travel.name);
    let svg = travel_picture(travel, &format!("{title} - travel of {}", travel.name)).to_svg();
    let png = to_png(&svg, DPI)
        .map_err(|e| Fault::error("E70", format!("the picture of {} failed: {e}", travel.name)))?;
    let csv = travel_csv(travel, title);
    Ok(vec![
        (folder.join(format!("{name}.svg")), svg.into_bytes()),
        (folder.join(format!("{name}.png")), png),
        (folder.join(format!("{name}.csv")), csv.into_bytes()),
    ])
}

fn tell(answer: &mut Answer, travel: &Travel) {
    if !answer.lines.is_empty() {
        answer.line("");
    }
    let aim = &travel.aim;
    answer.line(format!(
        "{}: target {} ({}), never below {} ({}); a paper makes the gap {}",
        travel.name,
        show_inches(aim.target),
        show(aim.target),
        show_inches(aim.least),
        show(aim.least),
        if aim.wider { "wider" } else { "narrower" }
    ));
    answer.line("thousandths of an inch; clearance in mm");
    let cleared = travel.places.iter().any(|it| it.clearance.is_some());
    let mut rows = vec![
        ["place", "gap", "leather", "take out", "put in", "expected", "by hand", "clearance"]
            .map(str::to_owned),
    ];
    rows.extend(travel.places.iter().map(|place| row(travel, place)));
    let shown = if cleared { 8 } else { 7 };
    let widths: Vec<usize> = (0..shown)
        .map(|n| rows.iter().map(|row| row[n].chars().count()).max().unwrap_or(0))
        .collect();
    for row in &rows {
        let cells = row.iter().zip(&widths).map(|(cell, wide)| format!("{cell:>wide$}"));
        answer.line(cells.collect::<Vec<_>>().join("  ").trim_end().to_owned());
    }
    for (n, paper) in travel.papers.iter().enumerate() {
        let many = travel.count(n);
        if many > 0 {
            answer.line(format!("{}: {many} papers of {}", paper.part, paper.thickness.text()));
        }
    }
    tell_rest(answer, travel);
}

/// What to mind at the bench.
fn tell_rest(answer: &mut Answer, travel: &Travel) {
    if travel.gives() {
        answer.line(
            "leather and felt give: measure gaps and thicknesses under one load, before and after",
        );
    }
    let thicker = |way: f64| travel.places.iter().map(|it| it.gasket * way).fold(0.0, f64::max);
    for (by, what) in [(thicker(1.0), "less deep"), (thicker(-1.0), "deeper")] {
        if by > SCREW {
            answer.line(format!(
                "the new gasket moves the boards by {}: their screws hold so much {what}, look at their length",
                show(by)
            ));
        }
    }
}

fn row(travel: &Travel, place: &Balance) -> [String; 8] {
    let choice = &place.choice;
    let dash = |text: String| if text.is_empty() { "-".to_owned() } else { text };
    let hand = match (choice.off, choice.short) {
        (Some(off), _) => format!("take off {}", thou(off)),
        (None, Some(short)) => format!("lacks {}", thou(short)),
        (None, None) => String::new(),
    };
    [
        place.position.to_string(),
        thou(place.gap),
        if place.leather == 0.0 {
            "-".to_owned()
        } else {
            format!("{:+.2}", place.leather / 0.0254)
        },
        dash(papers_out(place)),
        dash(papers_in(travel, place)),
        thou(choice.expected),
        dash(hand),
        place.clearance.map_or_else(String::new, |mm| format!("{mm:.2}")),
    ]
}

fn as_json(travel: &Travel, files: &[String]) -> Value {
    let places: Vec<Value> = travel
        .places
        .iter()
        .map(|place| {
            let added = travel.papers.iter().zip(&place.choice.added);
            let added: Vec<Value> = added
                .filter(|(_, many)| **many > 0)
                .map(|(paper, many)| json!({ "paper": paper.name, "part": paper.part, "count": many }))
                .collect();
            let removed: Vec<f64> =
                place.choice.removed.iter().filter_map(|n| place.fitted.get(*n)).copied().collect();
            json!({
                "position": place.position,
                "gap": place.gap,
                "by_leather": place.leather,
                "take_out": removed,
                "put_in": added,
                "expected": place.choice.expected,
                "take_off": place.choice.off,
                "lacking": place.choice.short,
                "clearance": place.clearance,
                "from": place.from.to_string(),
            })
        })
        .collect();
    json!({
        "name": travel.name,
        "target": travel.aim.target,
        "least": travel.aim.least,
        "papers_make": if travel.aim.wider { "wider" } else { "narrower" },
        "places": places,
        "files": files,
    })
}
