//! `record`: what was cut from which sheet for which place, as a table for the papers of the instrument.

use super::args::Common;
use super::open::{Open, open_to_buy};
use super::report::Table;
use super::{Answer, claims, desk, outcome_of, store};
use crate::fault::Sources;
use crate::geom::Point;
use crate::job::Job;
use crate::sheet::{Holder, Sheet, State, Used};
use crate::stock::{Line, whole_lines};
use serde_json::{Value, json};
use std::path::Path;

/// The columns.
const HEAD: [&str; 10] = [
    "place",
    "piece",
    "came out",
    "sheet",
    "material",
    "thickness",
    "cut by",
    "booked on",
    "lay",
    "source of the material's figures",
];

pub(super) fn run(common: &Common) -> Answer {
    let Open { folder, job, sources, warnings } = match open_to_buy(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let table = table(&folder, &job);
    let there = folder.join("out").join("record");
    let page = table.page(&job.title);
    let files = [
        (there.join("record.md"), page.clone().into_bytes()),
        (there.join("record.csv"), table.csv().into_bytes()),
    ];
    if let Err(fault) = desk::write_all(&files) {
        return Answer::refused(vec![fault], Sources::default());
    }
    let mut answer = Answer::new();
    answer.lines.extend(page.lines().map(str::to_owned));
    let row = |cells: &Vec<String>| -> Value {
        HEAD.iter().zip(cells).map(|(key, cell)| ((*key).to_owned(), json!(cell))).collect()
    };
    answer.result = json!({
        "title": job.title,
        "rows": table.rows.iter().map(row).collect::<Vec<_>>(),
        "files": files.iter().map(|(path, _)| path.display().to_string()).collect::<Vec<_>>(),
    });
    answer.hint(format!("written to {}", there.display()));
    answer.outcome = outcome_of(&warnings);
    answer.sources = sources;
    answer
}

/// A row for each piece of this job that is booked as cut, place by place; spares in the bag last.
fn table(folder: &Path, job: &Job) -> Table {
    let log = log(&claims::place(folder, job));
    let own = claims::named(folder, job, "").job;
    let mut rows: Vec<(bool, Order, Vec<String>)> = Vec::new();
    for sheet in &job.sheets {
        for used in sheet.used.iter().filter(|u| u.by.job == own && u.state != State::Claimed) {
            let Some(place) = place_of(used) else { continue };
            let in_the_bag = used.state == State::Good && used.given.is_none() && is_spare(used);
            let day = day(&log, &used.by).unwrap_or_else(|| "not known".to_owned());
            rows.push((in_the_bag, sorted(&place), cells(job, sheet, used, (place, day))));
        }
    }
    rows.sort();
    Table {
        name: "record",
        title: "What was cut for which place",
        head: &HEAD,
        rows: rows.into_iter().map(|(.., cells)| cells).collect(),
        notes: vec![
            "Days are universal time. A piece that was spoilt stays in the list: its ground is gone.",
            "Keep this page with the instrument.",
        ],
    }
}

fn is_spare(used: &Used) -> bool {
    used.address.contains('+')
}

/// The place that a piece is for; none for test pieces.
fn place_of(used: &Used) -> Option<String> {
    if crate::coupon::Sort::of(&used.address).is_some() && used.by.lay.starts_with(desk::COUPON) {
        return None;
    }
    Some(used.given.clone().unwrap_or_else(|| used.address.clone()))
}

/// What names are sorted by.
type Order = Vec<(bool, u64)>;

/// Words and figures of a name, so that 9 comes before 31.
fn sorted(name: &str) -> Order {
    let mut found = Vec::new();
    let mut number: Option<u64> = None;
    for c in name.chars() {
        if let Some(figure) = c.to_digit(10) {
            number = Some(number.unwrap_or(0).saturating_mul(10).saturating_add(figure.into()));
        } else {
            found.extend(number.take().map(|n| (false, n)));
            found.push((true, u64::from(u32::from(c))));
        }
    }
    found.extend(number.map(|n| (false, n)));
    found
}

fn cells(job: &Job, sheet: &Sheet, used: &Used, (place, day): (String, String)) -> Vec<String> {
    let material = job.materials.get(&sheet.material);
    let part = used.address.split(':').next().unwrap_or_default();
    let machine = job
        .parts
        .iter()
        .find(|it| it.name == part)
        .and_then(|it| job.machine(&it.cut_with))
        .map_or(String::new(), |machine| machine.key.clone());
    let came = match (used.state, &used.given) {
        (State::Failed, _) => "spoilt".to_owned(),
        (_, Some(_)) => "good, a spare that was taken for it".to_owned(),
        _ if is_spare(used) => "good, a spare in the bag".to_owned(),
        _ => "good".to_owned(),
    };
    let from = sheet.from.as_ref().map_or(String::new(), |from| format!(", a remnant of {from}"));
    vec![
        place,
        used.address.clone(),
        came,
        format!("{}{from}", sheet.id),
        material.map_or_else(|| sheet.material.clone(), |m| m.title.clone()),
        thickness(job, sheet, used.outline.bounds().center()),
        machine,
        day,
        used.by.lay.clone(),
        material.map_or(String::new(), |m| m.source.text.clone()),
    ]
}

/// The thickness where a piece lay, as it was read; else that of the sheet, else of its material.
fn thickness(job: &Job, sheet: &Sheet, at: Point) -> String {
    let near =
        sheet.readings.iter().min_by(|a, b| (a.at - at).hypot2().total_cmp(&(b.at - at).hypot2()));
    let read = near.map(|r| r.thickness.text().to_owned());
    let of_sheet = || sheet.thickness.as_ref().map(|t| t.text().to_owned());
    let of_material = || {
        let stuff = job.materials.get(&sheet.material)?;
        Some(format!("{} (its material's)", stuff.thickness.as_ref()?.text()))
    };
    read.or_else(of_sheet).or_else(of_material).unwrap_or_default()
}

/// The log of a stock record.
fn log(record: &Path) -> Vec<Line> {
    let bytes = desk::read(&store::log_of(record)).ok().flatten().unwrap_or_default();
    whole_lines(&String::from_utf8_lossy(&bytes))
}

/// The day on which a lay was booked as cut: the last that was not taken back. A line that takes the claim back by itself
/// holds the hash of the lay, which tells it from a lay of that name in another job.
fn day(log: &[Line], by: &Holder) -> Option<String> {
    let back: Vec<u64> = log.iter().filter_map(|line| line.undoes).collect();
    let begins = format!("{} cut", by.lay);
    let booked = || {
        log.iter()
            .rev()
            .filter(|line| line.changed.starts_with(&begins) && !back.contains(&line.number))
    };
    let own = booked().find(|line| line.undo.iter().any(|it| it.gone.contains(&by.hash)));
    own.or_else(|| booked().next()).map(|line| line.day.clone())
}
