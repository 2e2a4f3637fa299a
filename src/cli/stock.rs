//! `stock`: the sheets in hand.

use super::args::{AddArgs, Common, Stock};
use super::claims::place;
use super::open::{Folder, Open, open, open_with};
use super::show::Show;
use super::store::{Store, TrueDisk, now};
use super::{Answer, desk};
use crate::fault::{Fault, Sources};
use crate::geom::{Loop, Shape, loop_within};
use crate::job::{Job, Shelf, fingerprint};
use crate::sheet::{Flaw, Sheet, SheetKind, State, width_of_cloth};
use crate::stock::{Entry, add, entries, entry, forget};
use crate::units::{Area, Length};
use crate::write::{LaidPiece, LayMarks, lay_picture, to_png};
use serde_json::{Value, json};
use std::io::{self, BufRead, IsTerminal, Read};

/// Ground below this counts as none (mm²).
const ROOM: f64 = 100.0;

type Refused = (Vec<Fault>, Sources);

pub(super) fn run(common: &Common, what: &Stock, show: &Show) -> Answer {
    let opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let made = match what {
        Stock::List { free, material } => list(&opened, *free, material.as_deref()),
        Stock::Show { id, .. } => show_one(&opened, id),
        Stock::Add(how) => put_in(&opened, how),
        Stock::Forget { id, yes, wait } => take_out(&opened, id, (*yes, *wait), show),
        Stock::Undo { wait } => undo(&opened, *wait),
    };
    made.unwrap_or_else(|(faults, sources)| Answer::refused(faults, sources))
}

fn one(fault: Fault) -> Refused {
    (vec![fault], Sources::default())
}

/// The text of the record; empty where there is none.
fn text(job: &Job) -> String {
    job.record.as_ref().map_or(String::new(), |r| String::from_utf8_lossy(&r.bytes).into_owned())
}

/// The sheets of the record, with what is booked of each.
fn both(job: &Job) -> Result<Vec<(Entry, &Sheet)>, Fault> {
    let found = entries(&text(job))?;
    let sheet = |entry: &Entry| job.sheets.iter().find(|s| entry.is(&s.id));
    Ok(found
        .into_iter()
        .filter_map(|entry| {
            let sheet = sheet(&entry)?;
            Some((entry, sheet))
        })
        .collect())
}

/// Who claims something of a sheet, with how many pieces.
fn claims(entry: &Entry) -> String {
    let told: Vec<String> =
        entry.claims.iter().map(|c| format!("{} ({})", c.by, c.pieces.len())).collect();
    if told.is_empty() { "none".to_owned() } else { told.join(", ") }
}

fn row(entry: &Entry, sheet: &Sheet) -> Value {
    let b = sheet.outline.bounds();
    json!({
        "id": entry.id,
        "kind": entry.table,
        "material": sheet.material,
        "size-mm": [b.width(), b.height()],
        "area-mm2": sheet.area(),
        "free-mm2": sheet.free_area(),
        "claims": entry.claims.iter().map(|c| json!({ "lay": c.by.to_string(), "pieces": c.pieces.len() })).collect::<Vec<_>>(),
        "generation": entry.generation,
        "shelf": sheet.shelf,
        "added": sheet.added.map(|day| day.to_string()),
        "from": sheet.from,
    })
}

/// What is free of a sheet, as skins are sold by the foot.
fn sq_ft(sheet: &Sheet) -> f64 {
    Area::from_mm2(sheet.free_area()).sq_ft()
}

fn list(opened: &Open, free: bool, material: Option<&str>) -> Result<Answer, Refused> {
    let job = &opened.job;
    let mut answer = Answer::new();
    let mut rows = Vec::new();
    let found = both(job).map_err(one)?;
    for (entry, sheet) in &found {
        if material.is_some_and(|m| m != sheet.material) || (free && sheet.free_area() < ROOM) {
            continue;
        }
        let b = sheet.outline.bounds();
        let shelf = sheet.shelf.as_ref().map_or(String::new(), |s| format!(", {s}"));
        let day = sheet.added.map_or(String::new(), |d| format!(", since {d}"));
        answer.line(format!(
            "{:<10} {:<8} {:<16} {:>5.0} x {:.0} mm  {:>7.2} of {:.2} dm² ({:.2} sq ft) free, generation {}, claims: {}{shelf}{day}",
            entry.id, entry.table, sheet.material, b.width(), b.height(),
            sheet.free_area() / 1e4, sheet.area() / 1e4, sq_ft(sheet), entry.generation, claims(entry),
        ));
        rows.push(row(entry, sheet));
    }
    if found.is_empty() {
        answer.line(format!(
            "nothing is in {} yet: sheets come in with their first cut, or by pouchwork stock add",
            job.stock
        ));
    } else if rows.is_empty() {
        answer.line("none of them");
    } else {
        answer.hint("more of one: pouchwork stock show ID");
    }
    answer.result = json!({ "record": job.stock, "sheets": rows });
    Ok(answer)
}

fn show_one(opened: &Open, id: &str) -> Result<Answer, Refused> {
    let job = &opened.job;
    let found = both(job).map_err(one)?;
    let all: Vec<Entry> = found.iter().map(|(e, _)| e.clone()).collect();
    let own = entry(&all, id).map_err(one)?.id.clone();
    let Some((entry, sheet)) = found.iter().find(|(e, _)| e.id == own) else {
        return Ok(Answer::new());
    };
    let mut answer = Answer::new();
    let b = sheet.outline.bounds();
    answer.line(format!(
        "{} ({}, {}), {:.1} x {:.1} mm",
        entry.id,
        entry.table,
        sheet.material,
        b.width(),
        b.height()
    ));
    let mut tell = |what: &str, value: Option<String>| {
        if let Some(value) = value {
            answer.line(format!("  {what:<11} {value}"));
        }
    };
    tell(
        "free",
        Some(format!(
            "{:.2} of {:.2} dm² ({:.2} sq ft)",
            sheet.free_area() / 1e4,
            sheet.area() / 1e4,
            sq_ft(sheet)
        )),
    );
    tell("claims", Some(claims(entry)));
    for cut in &entry.cuts {
        let failed: Vec<&str> = cut
            .pieces
            .iter()
            .filter(|(_, s)| *s == State::Failed)
            .map(|(a, _)| a.as_str())
            .collect();
        let spoilt = if failed.is_empty() {
            String::new()
        } else {
            format!(", failed: {}", failed.join(", "))
        };
        tell("cut", Some(format!("{}: {} pieces{spoilt}", cut.by, cut.pieces.len())));
    }
    tell("generation", Some(entry.generation.to_string()));
    tell("from", sheet.from.clone());
    tell("grade", Some(sheet.grade.to_string()));
    tell("thickness", sheet.thickness.as_ref().map(|t| t.text().to_owned()));
    tell("up", sheet.up.map(|face| face.name().to_owned()));
    tell("shelf", sheet.shelf.clone());
    tell("since", sheet.added.map(|d| d.to_string()));
    let files = pictures(opened, sheet).map_err(one)?;
    desk::write_all(&files).map_err(one)?;
    answer.hint(format!("look at {}", files[1].0.display()));
    answer.picture = Some(files[1].0.clone());
    answer.result = row(entry, sheet);
    answer.result["picture"] = json!(files[1].0.display().to_string());
    Ok(answer)
}

/// A sheet with what is cut and claimed of it.
fn pictures(opened: &Open, sheet: &Sheet) -> Result<Vec<(std::path::PathBuf, Vec<u8>)>, Fault> {
    let lying: Vec<LaidPiece> = sheet
        .used
        .iter()
        .map(|used| LaidPiece {
            label: used.address.clone(),
            shape: Shape::plain(used.outline.clone()),
            mirrored: false,
            spare: used.state == State::Claimed,
            spoilt: used.state == State::Failed,
            creases: Vec::new(),
        })
        .collect();
    let title = format!("stock - {} {} - {}", sheet.kind.name(), sheet.id, sheet.material);
    let said = "whole lines are cut, dashed ones are claimed; hatched both ways: cut and spoilt";
    let footer = vec![said.to_owned()];
    let bare = Sheet { used: Vec::new(), ..sheet.clone() };
    let marks = LayMarks { dashed: Some("claimed"), ..LayMarks::default() };
    let picture = lay_picture(&bare, &lying, &marks, &title, &footer);
    let svg = picture.to_svg();
    let png = to_png(&svg, picture.dpi_for_numbers())
        .map_err(|e| Fault::error("E70", format!("the picture of {} failed: {e}", sheet.id)))?;
    let path = opened.folder.join("out/stock").join(desk::file_name(&sheet.id));
    Ok(vec![(path.with_extension("svg"), svg.into_bytes()), (path.with_extension("png"), png)])
}

/// The record, locked, and the job as it is with it.
fn locked(opened: &Open, command: &str, wait: u64) -> Result<(Store<TrueDisk>, Job), Refused> {
    let store = Store::open(&place(&opened.folder, &opened.job), command, wait).map_err(one)?;
    if text(&opened.job) == store.text {
        return Ok((store, opened.job.clone()));
    }
    let again = open_with(&opened.folder, None)?;
    Ok((store, again.job))
}

fn put_in(opened: &Open, how: &AddArgs) -> Result<Answer, Refused> {
    let (mut store, job) = locked(opened, "stock add", how.wait)?;
    let (sheet, entered) = match &how.id {
        Some(id) => {
            let sheet = job.sheets.iter().find(|s| s.id.to_lowercase() == id.to_lowercase());
            let sheet = sheet.ok_or_else(|| one(no_sheet(&job, id)))?.clone();
            let mark = fingerprint(&sheet);
            (sheet, Some(mark))
        }
        None => (new_sheet(opened, &job, how).map_err(one)?, None),
    };
    let edit = add(&store.text, &sheet, entered.as_deref(), now().map_err(one)?.0).map_err(one)?;
    // It must be readable before it is written.
    let seen = open_with(&opened.folder, Some((&job.stock, edit.after().into_bytes())))?;
    store.book(&edit, &format!("{} put in", sheet.id)).map_err(one)?;
    let mut answer = Answer::new();
    answer.line(format!(
        "{} is in {}: {} of {}, {:.2} dm²",
        sheet.id,
        job.stock,
        sheet.kind.name(),
        sheet.material,
        sheet.area() / 1e4
    ));
    answer.result = json!({ "id": sheet.id, "record": job.stock, "area-mm2": sheet.area() });
    answer.faults.append(&mut store.notes);
    answer.sources = seen.sources;
    answer.hint(format!("next: pouchwork stock show {}", sheet.id));
    Ok(answer)
}

fn no_sheet(job: &Job, id: &str) -> Fault {
    let ids: Vec<&str> = job.sheets.iter().map(|s| s.id.as_str()).collect();
    let cure = match crate::fault::nearest(id, ids.iter().copied()) {
        Some(near) => format!("did you mean {near}?"),
        None => format!("there is: {}", ids.join(", ")),
    };
    Fault::error("E88", format!("neither the job nor the stock record has a sheet {id}")).cure(cure)
}

fn wants(what: &str, example: &str) -> Fault {
    Fault::error("E12", format!("a new sheet wants {what}")).cure(format!("for example {example}"))
}

/// A sheet from what was typed.
fn new_sheet(opened: &Open, job: &Job, how: &AddArgs) -> Result<Sheet, Fault> {
    let length = |name: &str, text: &Option<String>| -> Result<Option<Length>, Fault> {
        let Some(text) = text else { return Ok(None) };
        Length::parse(text, job.unit).map(Some).map_err(|f| {
            let fault = Fault::error(crate::job::code_of(&f), format!("--{name}: {}", f.text()));
            match f.cure() {
                Some(cure) => fault.cure(cure.to_owned()),
                None => fault,
            }
        })
    };
    let (width, long) = (length("width", &how.width)?, length("length", &how.length)?);
    let sides = width.zip(long).map(|(w, l)| width_of_cloth(l.mm(), w.mm()));
    let sides =
        sides.transpose().map_err(|e| Fault::error("E20", format!("it has no size: {e}")))?;
    let (outline, holes) = match &how.outline {
        Some(path) => traced(opened, path)?,
        None => (
            sides.ok_or_else(|| {
                wants("--width and --length, or --outline", "--width \"54 in\" --length \"1 yd\"")
            })?,
            Vec::new(),
        ),
    };
    let mut made = match (&how.remnant_of, &how.cloth, &how.leaf) {
        (Some(id), ..) => {
            let whole = job.sheets.iter().find(|s| s.id.to_lowercase() == id.to_lowercase());
            let whole = whole.ok_or_else(|| no_sheet(job, id))?;
            let rest = whole.rest(&next_id(job, &whole.id), outline.clone());
            Sheet { flaws: Vec::new(), zones: Vec::new(), readings: Vec::new(), ..rest }
        }
        (None, Some(id), _) => Sheet::bare(id, SheetKind::Cloth, "", outline.clone()),
        (None, None, Some(id)) => Sheet::bare(id, SheetKind::Leaf, "", outline.clone()),
        _ => {
            return Err(wants(
                "--cloth ID, --leaf ID or --remnant-of ID",
                "pouchwork stock add --cloth C-2 --material hinge-cloth --width \"54 in\" --length \"1 yd\"; a sheet of the job: pouchwork stock add H-1",
            ));
        }
    };
    if made.from.is_none() && how.outline.is_some() {
        return Err(wants(
            "--width and --length where it is a cloth or a leaf",
            "--width \"54 in\" --length \"1 yd\"",
        ));
    }
    made.outline = outline;
    made.flaws = holes;
    if let Some(material) = &how.material {
        made.material.clone_from(material);
    }
    if made.material.is_empty() {
        return Err(wants("--material", "--material hinge-cloth"));
    }
    if let Some(thick) = &how.thickness {
        let read = Length::parse_thickness(thick, job.unit);
        made.thickness = Some(read.map_err(|f| {
            Fault::error(crate::job::code_of(&f), format!("--thickness: {}", f.text()))
        })?);
    }
    made.grade = how.grade.unwrap_or(made.grade);
    made.grain = how.grain.unwrap_or(made.grain);
    made.shelf.clone_from(&how.shelf);
    Ok(made.at_origin())
}

/// The largest line of a file, and those within it.
fn traced(opened: &Open, path: &std::path::Path) -> Result<(Loop, Vec<Flaw>), Fault> {
    let bytes = desk::read(path)?.ok_or_else(|| {
        Fault::error("E36", format!("there is no file {}", path.display()))
            .cure("give the path of an SVG or DXF file")
    })?;
    let name = path.to_string_lossy();
    let (mut loops, _) =
        Folder::new(opened.folder.clone()).outlines(&name, &bytes, None).map_err(|f| {
            let fault = Fault::error(f.code, format!("{name}: {}", f.text));
            match f.cure {
                Some(cure) => fault.cure(cure),
                None => fault,
            }
        })?;
    let largest = (0..loops.len()).max_by(|a, b| loops[*a].area().total_cmp(&loops[*b].area()));
    let largest = largest.ok_or_else(|| {
        Fault::error("E30", format!("{name}: no outline in it")).cure("draw round the sheet")
    })?;
    let outline = loops.remove(largest);
    if !loops.iter().all(|hole| loop_within(hole, &outline)) {
        return Err(Fault::error(
            "E29",
            format!("{name}: some of its lines lie outside the largest"),
        )
        .cure("leave one outline, with its holes inside it"));
    }
    let flaw = |outline| Flaw { why: "hole".to_owned(), outline };
    Ok((outline, loops.into_iter().map(flaw).collect()))
}

/// The id of the next remnant of a sheet.
pub(super) fn next_id(job: &Job, id: &str) -> String {
    let taken = |name: &str| job.sheets.iter().any(|s| s.id.to_lowercase() == name.to_lowercase());
    (1..=u32::MAX).map(|n| format!("{id}/{n}")).find(|name| !taken(name)).unwrap_or_default()
}

fn take_out(
    opened: &Open,
    id: &str,
    (yes, wait): (bool, u64),
    show: &Show,
) -> Result<Answer, Refused> {
    let (mut store, job) = locked(opened, &format!("stock forget {id}"), wait)?;
    let edit = forget(&store.text, id).map_err(one)?;
    let mut answer = Answer::new();
    let asks = !yes && !show.is_json() && io::stdin().is_terminal() && io::stdout().is_terminal();
    let sure = yes
        || (asks && {
            Show::raw(&format!("take {id} out of {}? [y/N] ", job.stock));
            let mut text = String::new();
            let read = io::stdin().lock().take(256).read_line(&mut text);
            read.is_ok() && matches!(text.trim().to_lowercase().as_str(), "y" | "yes")
        });
    if sure {
        store.book(&edit, &format!("{id} taken out")).map_err(one)?;
        answer.line(format!("{id} is out of {}", job.stock));
        answer.hint("to take that back: pouchwork stock undo");
        answer.hint("next: pouchwork stock list");
    } else {
        answer.line("nothing is changed");
        answer.hint(format!("to take it out: pouchwork stock forget {id} --yes"));
    }
    answer.result = json!({ "id": id, "forgotten": sure });
    answer.faults.append(&mut store.notes);
    Ok(answer)
}

fn undo(opened: &Open, wait: u64) -> Result<Answer, Refused> {
    let (mut store, _) = locked(opened, "stock undo", wait)?;
    let line = store.take_back().map_err(one)?;
    let mut answer = Answer::new();
    answer.line(format!(
        "took back \"{}\" of {} {}: {}",
        line.command, line.day, line.time, line.changed
    ));
    answer.result =
        json!({ "command": line.command, "changed": line.changed, "number": line.number });
    answer.faults.append(&mut store.notes);
    answer.hint("next: pouchwork stock list, for what is in hand now");
    Ok(answer)
}

/// What a changed record would be read as; its sheets tell what is left.
pub(super) fn seen(opened: &Open, stock: &str, text: String) -> Result<Job, Refused> {
    open_with(&opened.folder, Some((stock, text.into_bytes()))).map(|o| o.job)
}
