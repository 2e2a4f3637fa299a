//! `tally`: how a lay came out.

use super::args::{Common, TallyArgs};
use super::claims::{named, place};
use super::open::{Open, open, open_with};
use super::stock::{next_id, seen};
use super::store::{Store, now};
use super::which::find;
use super::{Answer, desk};
use crate::fault::{Fault, Sources};
use crate::geom::{Loop, Pose, Where, point_in_loop};
use crate::job::Job;
use crate::lay::{Ground, cut_off_of_held};
use crate::sheet::{Holder, Sheet, State, parted};
use crate::stock::{Edit, Tally, part_off, tally};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// A rest that is narrower than this is no remnant (mm).
const LEAST: f64 = 5.0;

type Refused = (Vec<Fault>, Sources);

pub(super) fn run(common: &Common, how: &TallyArgs) -> Answer {
    let opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    book(&opened, how).unwrap_or_else(|(faults, sources)| Answer::refused(faults, sources))
}

fn one(fault: Fault) -> Refused {
    (vec![fault], Sources::default())
}

/// The name of a lay for what was typed: `lay-2`, `2` and `out/lay-2` are one.
fn name(typed: &str) -> String {
    let typed = typed.strip_prefix("out/").unwrap_or(typed).trim_end_matches('/');
    if typed.bytes().all(|b| b.is_ascii_digit()) {
        format!("lay-{typed}")
    } else {
        typed.to_owned()
    }
}

fn book(opened: &Open, how: &TallyArgs) -> Result<Answer, Refused> {
    let lay = name(&how.lay);
    let path = place(&opened.folder, &opened.job);
    let mut store = Store::open(&path, &format!("tally {lay}"), how.wait).map_err(one)?;
    let again;
    let read = opened.job.record.as_ref().map_or(&[][..], |r| &r.bytes);
    let opened = if read == store.text.as_bytes() {
        opened
    } else {
        again = open_with(&opened.folder, None)?;
        &again
    };
    let (folder, job) = (&opened.folder, &opened.job);
    let by = named(folder, job, &lay);
    let came = came(how).map_err(one)?;
    let mut edit = tally(&store.text, &by, &came).map_err(|fault| {
        // Before "cut it first" comes whether there is anything to cut.
        one(match find(folder, Some(&lay)) {
            Err(none) if fault.code == "E87" && !fault.text.contains("already booked") => none,
            _ => fault,
        })
    })?;
    let ids = held_by(job, &by);
    let mut answer = Answer::new();
    let mut rests = Vec::new();
    if how.parted {
        let (joined, made, faults) = part(opened, (&store.text, &edit), &ids)?;
        edit = joined;
        rests = made;
        answer.faults.extend(faults);
    }
    let after = seen(opened, &job.stock, edit.after())?;
    store.book(&edit, &said(&came, &lay)).map_err(one)?;
    tell(&mut answer, &after, (&came, &lay), (&ids, &rests));
    answer.faults.append(&mut store.notes);
    Ok(answer)
}

fn said(came: &Tally, lay: &str) -> String {
    match came {
        Tally::Withdrawn => format!("{lay} withdrawn"),
        Tally::Cut(states) => {
            let failed = states.values().filter(|s| **s == State::Failed).count();
            format!("{lay} cut, failed: {failed}")
        }
    }
}

/// What was typed, or stands in a file, about the pieces.
fn came(how: &TallyArgs) -> Result<Tally, Fault> {
    if how.withdrawn {
        return Ok(Tally::Withdrawn);
    }
    let failed = |a: &String| (a.trim().to_owned(), State::Failed);
    match &how.from {
        Some(path) => states(path).map(Tally::Cut),
        None => {
            Ok(Tally::Cut(how.failed.iter().filter(|a| !a.trim().is_empty()).map(failed).collect()))
        }
    }
}

/// Addresses and states from a file: CSV, or JSON as a list of both or as one by the other.
fn states(path: &Path) -> Result<BTreeMap<String, State>, Fault> {
    let wrong = |what: String| {
        Fault::error("E86", format!("{}: {what}", path.display()))
            .cure("a line a piece, as in pouch:31,failed; or JSON, as in [{\"address\": \"pouch:31\", \"state\": \"failed\"}]; nothing was booked")
    };
    let bytes = desk::read(path)?.ok_or_else(|| {
        Fault::error("E36", format!("there is no file {}", path.display()))
            .cure("give the path of a CSV or JSON file")
    })?;
    let text = String::from_utf8(bytes).map_err(|_| wrong("it is not UTF-8 text".to_owned()))?;
    let text = text.trim_start_matches('\u{feff}').trim();
    let mut rows: Vec<(String, String)> = Vec::new();
    if text.starts_with(['[', '{']) {
        let value: Value = serde_json::from_str(text).map_err(|e| wrong(e.to_string()))?;
        let word = |v: &Value| v.as_str().map(str::to_owned);
        let read: Option<Vec<_>> = match &value {
            Value::Object(map) => map.iter().map(|(a, s)| Some((a.clone(), word(s)?))).collect(),
            Value::Array(list) => list
                .iter()
                .map(|row| Some((word(&row["address"])?, word(&row["state"])?)))
                .collect(),
            _ => None,
        };
        rows = read
            .ok_or_else(|| wrong("it has something else than addresses and states".to_owned()))?;
    } else {
        let lines = text.lines().map(str::trim).filter(|l| !l.is_empty() && !l.starts_with('#'));
        for line in lines {
            let (address, state) = line
                .split_once([',', ';'])
                .ok_or_else(|| wrong(format!("\"{line}\" is no address and state")))?;
            let clean = |t: &str| t.trim().trim_matches('"').trim().to_owned();
            rows.push((clean(address), clean(state)));
        }
        if rows.first().is_some_and(|(a, s)| a == "address" && s == "state") {
            rows.remove(0);
        }
    }
    let mut found = BTreeMap::new();
    for (address, state) in rows {
        let state = match state.to_lowercase().as_str() {
            "good" => State::Good,
            "failed" => State::Failed,
            _ => return Err(wrong(format!("{address}: \"{state}\" is neither good nor failed"))),
        };
        if found.insert(address.clone(), state).is_some_and(|old| old != state) {
            return Err(wrong(format!("{address} is there as good and as failed")));
        }
    }
    Ok(found)
}

/// The sheets of which a lay claims something.
fn held_by(job: &Job, by: &Holder) -> Vec<String> {
    let holds =
        |s: &&Sheet| s.used.iter().any(|u| u.state == State::Claimed && u.by.is_named_like(by));
    job.sheets.iter().filter(holds).map(|s| s.id.clone()).collect()
}

/// Parts the sheets of a lay behind all that is cut and claimed of them.
fn part(
    opened: &Open,
    (text, tallied): (&str, &Edit),
    ids: &[String],
) -> Result<(Edit, Vec<String>, Vec<Fault>), Refused> {
    let job = &opened.job;
    let (mut now_text, mut rests, mut faults) = (tallied.after(), Vec::new(), Vec::new());
    for sheet in job.sheets.iter().filter(|s| ids.contains(&s.id)) {
        let Some((near, far)) = sides(job, sheet) else {
            faults.push(
                Fault::warning(
                    "W61",
                    format!("{} is not parted: behind the cut-off there is no single rest", sheet.id),
                )
                .cure("if you part it otherwise, trace the rest: pouchwork stock add --remnant-of ID --outline FILE"),
            );
            continue;
        };
        let rest = sheet.rest(&next_id(job, &sheet.id), far);
        let gone = beyond(sheet, &near);
        let own = Pose::moved(sheet.corner.to_vec2()).on_loop(&near);
        let day = now().map_err(one)?.0;
        let edit = part_off(&now_text, &sheet.id, (&own, &gone), &rest, day).map_err(one)?;
        now_text = edit.after();
        rests.push(rest.id);
    }
    Ok((Edit::between(text, &now_text), rests, faults))
}

/// The two sides of a sheet's cut-off.
fn sides(job: &Job, sheet: &Sheet) -> Option<(Loop, Loop)> {
    let cuts = job.materials.get(&sheet.material).map_or(&[][..], |m| &m.cuts);
    let own = sheet.edge.unwrap_or(0.0);
    let edge = cuts.iter().map(|c| c.edge.max(own) + c.kerf() / 2.0).fold(own, f64::max);
    let ground = Ground { sheet: Arc::new(sheet.clone()), edge, window: None };
    let cut = cut_off_of_held(&ground)?;
    let b = sheet.outline.bounds();
    let whole = if cut.way.x.abs() > 0.5 { b.width() } else { b.height() };
    let at = if cut.way.x + cut.way.y > 0.0 { cut.length } else { cut.length - whole };
    (whole - cut.length > LEAST).then(|| parted(&sheet.outline, cut.way, at)).flatten()
}

/// Flaws, zones and readings that lie beyond the line of the used side: their tables, and their numbers from the last.
fn beyond(sheet: &Sheet, near: &Loop) -> Vec<(&'static str, usize)> {
    let off = |it: &Loop| !it.bounds().overlaps(near.bounds());
    let from_last = |name, flags: Vec<bool>| -> Vec<(&'static str, usize)> {
        let n = flags.len();
        flags
            .into_iter()
            .enumerate()
            .filter(|(_, is)| *is)
            .map(|(i, _)| (name, n - 1 - i))
            .collect()
    };
    let outside = |p| point_in_loop(p, near) == Where::Outside;
    [
        from_last("flaw", sheet.flaws.iter().map(|f| off(&f.outline)).collect()),
        from_last("zone", sheet.zones.iter().map(|z| off(&z.outline)).collect()),
        from_last("reading", sheet.readings.iter().map(|r| outside(r.at)).collect()),
    ]
    .concat()
}

fn tell(
    answer: &mut Answer,
    job: &Job,
    (came, lay): (&Tally, &str),
    (ids, rests): (&[String], &[String]),
) {
    match came {
        Tally::Withdrawn => answer.line(format!("{lay} is withdrawn: its ground is free again")),
        Tally::Cut(states) => {
            let failed: Vec<&str> = states
                .iter()
                .filter(|(_, s)| **s == State::Failed)
                .map(|(a, _)| a.as_str())
                .collect();
            let spoilt = if failed.is_empty() {
                "every piece good".to_owned()
            } else {
                format!("failed: {}", failed.join(", "))
            };
            answer.line(format!("{lay} is booked as cut, {spoilt}"));
        }
    }
    let mut rows = Vec::new();
    for id in ids.iter().chain(rests) {
        let Some(sheet) = job.sheets.iter().find(|s| s.id == *id) else { continue };
        let from = sheet
            .from
            .as_ref()
            .filter(|_| rests.contains(id))
            .map_or(String::new(), |f| format!(", parted from {f}"));
        answer.line(format!(
            "{id}: {:.2} of {:.2} dm² left, generation {}{from}",
            sheet.free_area() / 1e4,
            sheet.area() / 1e4,
            sheet.generation
        ));
        rows.push(json!({ "id": id, "free-mm2": sheet.free_area(), "area-mm2": sheet.area(), "generation": sheet.generation }));
    }
    answer.result = json!({ "lay": lay, "withdrawn": *came == Tally::Withdrawn, "sheets": rows, "remnants": rests });
    answer.hint("to take that back: pouchwork stock undo");
    let spoilt = match came {
        Tally::Cut(states) => {
            let wanted = |(address, state): &(&String, &State)| {
                **state == State::Failed && !address.contains('+')
            };
            states.iter().find(wanted).map(|(address, _)| address.as_str())
        }
        Tally::Withdrawn => None,
    };
    answer.hint(match spoilt.filter(|_| !lay.starts_with(desk::COUPON)) {
        Some(address) => format!("next: pouchwork recut {address}"),
        None => "next: pouchwork stock list".to_owned(),
    });
}
