//! `status`: how far each part has come, what is only assumed, and what to do next.

use super::args::Common;
use super::open::{Open, open_to_buy};
use super::{Answer, claims, cut, desk, outcome_of};
use crate::fault::any_error;
use crate::job::{Job, Worked, assumed, work_out};
use crate::lay::record::{Record, from_json};
use crate::material::Material;
use crate::part::{Address, pieces};
use crate::sheet::State;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;

/// Addresses of pieces that the stock record books as cut, and as failed.
#[derive(Debug, Default)]
struct Booked {
    cut: BTreeSet<String>,
    failed: BTreeSet<String>,
}

/// What the stock record books for a job: pieces that came out good, places for which a spare was taken among them, and
/// pieces that failed and were not made good since.
fn booked(folder: &Path, job: &Job) -> Booked {
    let own = claims::named(folder, job, "").job;
    let mut made = Booked::default();
    for used in job.sheets.iter().flat_map(|sheet| &sheet.used).filter(|u| u.by.job == own) {
        match (used.state, &used.given) {
            (State::Claimed, _) => {}
            // A spare that was taken is a spare no more.
            (State::Good, Some(place)) => made.cut.extend([place.clone()]),
            (State::Good, None) => made.cut.extend([used.address.clone()]),
            (State::Failed, _) => made.failed.extend([used.address.clone()]),
        }
    }
    made.failed.retain(|address| !made.cut.contains(address));
    made
}

/// The latest lay as its record has it.
struct Latest {
    name: String,
    record: Record,
    /// Why it no longer goes with the job.
    stale: Option<String>,
    /// Whether a cut file of it is there.
    has_files: bool,
}

/// What became of the pieces of one part.
struct Row {
    title: String,
    rows: usize,
    places: usize,
    wanted: usize,
    spares: usize,
    laid: usize,
    laid_spares: usize,
    cut: usize,
    failed: usize,
    cut_spares: usize,
}

pub(super) fn run(common: &Common) -> Answer {
    let Open { folder, job, sources, warnings } = match open_to_buy(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let (worked, more) = work_out(&job);
    if any_error(&more) {
        return Answer::refused(more, sources);
    }
    let latest = latest(&folder, &job);
    let booked = booked(&folder, &job);
    let rows: Vec<Row> =
        worked.iter().filter_map(|it| row(&job, it, latest.as_ref(), &booked)).collect();
    let mut answer = Answer::new();
    answer.line(job.title.clone());
    answer.line(format!(
        "{:<20}{:>12}{:>9}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}",
        "part", "rows/places", "wanted", "spares", "laid", "cut", "failed", "spare", "in bag"
    ));
    for it in &rows {
        let measured = format!("{}/{}", it.rows, it.places);
        answer.line(format!(
            "{:<20}{measured:>12}{:>9}{:>8}{:>8}{:>8}{:>8}{:>8}{:>8}",
            it.title,
            it.wanted,
            it.spares,
            it.laid,
            it.cut,
            it.failed,
            it.laid_spares,
            it.cut_spares
        ));
    }
    answer.line(
        "rows: places with figures of their own in the table; spare: spares among what is laid; in bag: spares cut and not taken",
    );
    let lay = match &latest {
        None => "no lay yet".to_owned(),
        Some(it) => match &it.stale {
            Some(why) => format!("{}: {why}", it.name),
            None => format!("{} is the latest lay", it.name),
        },
    };
    answer.line("");
    answer.line(lay.clone());
    let lacking = lacking(&job);
    if !lacking.is_empty() {
        answer.line(format!("nothing in hand of: {}", lacking.join(", ")));
    }
    let mut guesses = assumed(&job);
    guesses.extend(heads(&job));
    if !guesses.is_empty() {
        answer.line("only assumed, to be measured:");
        for guess in &guesses {
            answer.line(format!("  {guess}"));
        }
    }
    let next = next(&job, latest.as_ref(), (&rows, &booked), &lacking);
    answer.line(format!("next: {next}"));
    answer.result = json!({
        "title": job.title,
        "parts": rows.iter().map(row_json).collect::<Vec<_>>(),
        "lay": latest.as_ref().map(|it| json!({ "name": it.name, "stale": it.stale, "files": it.has_files })),
        "nothing-in-hand": lacking,
        "assumed": guesses,
        "next": next,
    });
    answer.outcome = outcome_of(&warnings);
    answer.sources = sources;
    answer
}

/// The lay with the highest number; one that cannot be read is passed over as none.
fn latest(folder: &Path, job: &Job) -> Option<Latest> {
    let (number, path) = desk::lays(folder, desk::LAY).pop()?;
    let name = format!("lay-{number}");
    let bytes = desk::read(&path.join("lay.json")).ok()??;
    let record = from_json(&String::from_utf8(bytes).ok()?).ok()?;
    let stale = cut::record(job, &path, &name).err().and_then(|faults| {
        faults.first().map(|fault| {
            fault.text.strip_prefix(&format!("{name} was ")).unwrap_or(&fault.text).to_owned()
        })
    });
    let whole = desk::whole(&path);
    let files = desk::files_ending(folder, &[".dxf", ".gcode"]);
    let has_files = files.iter().any(|file| desk::whole(file).starts_with(&whole));
    Some(Latest { name, record, stale, has_files })
}

fn row(job: &Job, it: &Worked<'_>, latest: Option<&Latest>, booked: &Booked) -> Option<Row> {
    let woven = job.materials.get(&it.part.material).is_some_and(Material::is_woven);
    let all: Vec<Address> =
        pieces(it.part, &it.sizes, woven, 0).ok()?.into_iter().map(|piece| piece.address).collect();
    let laid: BTreeSet<&str> = latest
        .map(|it| it.record.pieces.iter().map(|row| row.address.as_str()).collect())
        .unwrap_or_default();
    let count = |spare: bool, has: &dyn Fn(&str) -> bool| {
        all.iter().filter(|a| (a.spare > 0) == spare && has(&a.to_string())).count()
    };
    let is_laid = |address: &str| laid.contains(address);
    let own = |measures: &crate::part::Measures| {
        measures.iter().any(|(_, _, place)| place.file != it.part.place.file)
    };
    Some(Row {
        title: it.part.title(),
        rows: it.part.measures.iter().filter(|measures| own(measures)).count(),
        places: it.part.positions.numbers().len(),
        wanted: count(false, &|_| true),
        spares: count(true, &|_| true),
        laid: count(false, &is_laid),
        laid_spares: count(true, &is_laid),
        cut: count(false, &|address| booked.cut.contains(address)),
        failed: count(false, &|address| booked.failed.contains(address)),
        cut_spares: count(true, &|address| booked.cut.contains(address)),
    })
}

/// Materials of parts of which there is no sheet.
fn lacking(job: &Job) -> Vec<String> {
    let wanted: BTreeSet<&str> = job.parts.iter().map(|part| part.material.as_str()).collect();
    let none = |name: &&str| !job.sheets.iter().any(|sheet| sheet.material == **name);
    wanted.into_iter().filter(none).map(str::to_owned).collect()
}

/// Heads of profiles whose source is only assumed.
fn heads(job: &Job) -> Vec<String> {
    let used = |key: &str| job.parts.iter().any(|part| part.material == key);
    let assumed = |material: &&Material| material.source.is_assumed() && used(&material.key);
    job.materials
        .values()
        .filter(assumed)
        .map(|material| format!("thickness, tannage and coating of {}", material.key))
        .collect()
}

fn next(
    job: &Job,
    latest: Option<&Latest>,
    (rows, booked): (&[Row], &Booked),
    lacking: &[String],
) -> String {
    let sum = |of: fn(&Row) -> usize| rows.iter().map(of).sum::<usize>();
    if sum(|row| row.wanted) > 0 && sum(|row| row.cut) == sum(|row| row.wanted) {
        return "all is cut; pouchwork record lists it for the papers of the instrument".to_owned();
    }
    if let Some(first) = booked.failed.first()
        && sum(|row| row.failed) > 0
    {
        let held = job.sheets.iter().flat_map(|sheet| &sheet.used);
        let mut open = held.filter(|u| u.state == State::Claimed && u.address == *first);
        return open.find(|u| u.by.lay.starts_with("recut-")).map_or_else(
            || format!("pouchwork recut {first}, since it failed"),
            |u| format!("cut {first} and then pouchwork tally {} --all-good", u.by.lay),
        );
    }
    if !lacking.is_empty() {
        return "pouchwork order, for what is not in hand".to_owned();
    }
    let Some(latest) = latest else { return "pouchwork check, then pouchwork lay".to_owned() };
    if latest.stale.is_some() {
        return "pouchwork lay, since the job has changed".to_owned();
    }
    if sum(|row| row.laid) < sum(|row| row.wanted) {
        return "pouchwork order, for what found no place".to_owned();
    }
    let name = &latest.name;
    if latest.has_files {
        return format!("cut the files in out/{name}; pouchwork prove looks one over");
    }
    let laser = job
        .short_names
        .keys()
        .find(|short| job.machine(short).is_some_and(|machine| machine.laser.is_some()));
    match laser {
        Some(laser) => format!("pouchwork safety {name} --machine {laser}, then pouchwork cut"),
        None => format!("pouchwork cut {name}"),
    }
}

fn row_json(row: &Row) -> Value {
    json!({
        "part": row.title,
        "rows": row.rows,
        "places": row.places,
        "wanted": row.wanted,
        "spares": row.spares,
        "laid": row.laid,
        "laid-spares": row.laid_spares,
        "spares-in-bag": row.cut_spares,
        "cut": row.cut,
        "failed": row.failed,
    })
}
