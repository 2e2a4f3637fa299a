//! `coupon kerf`: test pieces for the width of the cut, laid, proven and recorded like any lay.

use super::args::{Common, KerfArgs, LayArgs};
use super::eyes::Eyes;
use super::lay::{Laid, keep};
use super::open::{Open, open};
use super::show::Show;
use super::{Answer, desk, outcome_of};
use crate::coupon::{Sort, lay_coupon, told};
use crate::fault::{Fault, Sources, any_error};
use crate::geom::{Pose, Rect, Vec2, rectangle};
use crate::job::{
    Batch, Job, batches, coupon_job, coupon_sheets, finding_table, readings_table, stops,
};
use crate::lay::record::from_json;
use crate::lay::{Effort, Layout};
use crate::machine::Process;
use crate::sheet::Sheet;
use crate::write::{LaidPiece, LayMarks, lay_picture, to_png};
use serde_json::json;
use std::cell::Cell;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The table that is filled in at the bench.
const READINGS: &str = "readings.csv";
/// White round the pieces in their own picture (mm).
const ROUND: f64 = 4.0;

/// A coupon in its place.
struct Made {
    sort: Sort,
    job: Job,
    laid: Laid,
    sheet: Sheet,
    /// The box that its pieces lie in (mm of the sheet).
    room: Rect,
}

pub(super) fn run(common: &Common, sort: Sort, how: &KerfArgs, show: &Show) -> Answer {
    let Open { folder, job, sources, warnings } = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let made = match made(&folder, &job, (sort, how), show) {
        Ok(made) => made,
        Err(faults) => return Answer::refused(faults, sources),
    };
    let lay_how = LayArgs::default();
    let kept = Cell::new(false);
    let more = |there: &Path| beside(&made, how, there, &kept);
    match keep(&folder, &made.job, &made.laid, &lay_how, (desk::COUPON, &more)) {
        Ok((number, there, _)) => tell(&made, how, (number, &there, kept.get()), warnings, sources),
        Err(fault) => Answer::refused(vec![fault], sources),
    }
}

/// The coupon on the first sheet that has room for it.
fn made(
    folder: &Path,
    job: &Job,
    (sort, how): (Sort, &KerfArgs),
    show: &Show,
) -> Result<Made, Vec<Fault>> {
    let one = |fault: Fault| vec![fault];
    let (material, machine) = (how.material.as_str(), how.machine.as_str());
    let mut sheets = coupon_sheets(job, material, machine, how.sheet.as_deref()).map_err(one)?;
    let used = used(folder);
    sheets.sort_by_key(|sheet| used.contains(&sheet.id));
    let mut free: Option<(String, f64)> = None;
    for sheet in &sheets {
        let cut_down = coupon_job(job, (sort, material, machine), &sheet.id).map_err(one)?;
        let held = stops(&cut_down);
        if any_error(&held) {
            return Err(held);
        }
        let list = batches(&cut_down, &[])?;
        let Some(batch) = list.first() else { continue };
        let watch = Eyes::new(&LayArgs::default(), show, batch.group.pieces.len());
        let layout = lay_coupon(&batch.group, Effort::QUICK, &watch);
        watch.done();
        if layout.left.is_empty()
            && let Some(room) = room(batch, &layout)
        {
            let laid =
                Laid { batches: list, layouts: vec![layout], beside: Vec::new(), lies: None };
            return Ok(Made { sort, job: cut_down, laid, sheet: (*sheet).clone(), room });
        }
        let across = layout.left.iter().filter_map(|l| l.largest_free).map(|(.., d)| d);
        let across = across.fold(0.0, f64::max);
        if free.as_ref().is_none_or(|(_, most)| across > *most) {
            free = Some((sheet.id.clone(), across));
        }
    }
    let room = free.map_or(String::new(), |(id, across)| {
        format!("; the largest circle still free is {across:.0} mm across, on {id}")
    });
    let names: Vec<&str> = sheets.iter().map(|s| s.id.as_str()).collect();
    Err(vec![
        Fault::error("E31", format!("no place for a coupon on {}{room}", names.join(", ")))
            .at_some(sheets.first().map(|s| &s.place))
            .cure("it wants some 120 x 80 mm, the edge besides: name a larger sheet with --sheet"),
    ])
}

/// The sheets that pieces of some lay lie on.
fn used(folder: &Path) -> BTreeSet<String> {
    let record = |path: PathBuf| {
        let bytes = desk::read(&path.join("lay.json")).ok()??;
        from_json(std::str::from_utf8(&bytes).ok()?).ok()
    };
    desk::lays(folder, desk::LAY)
        .into_iter()
        .filter_map(|(_, path)| record(path))
        .flat_map(|record| record.pieces.into_iter().map(|piece| piece.sheet))
        .collect()
}

/// The box that the pieces lie in.
fn room(batch: &Batch, layout: &Layout) -> Option<Rect> {
    let boxes = layout.placed.iter().filter_map(|at| {
        let design = batch.group.pieces.get(at.piece)?.turns.design(at.stance)?;
        Some(design.shape.posed(&at.pose).bounds())
    });
    boxes.reduce(|a, b| a.union(b))
}

/// The table and the picture of the numbers. A table that is there already is left alone: it may be filled in.
fn beside(
    made: &Made,
    how: &KerfArgs,
    there: &Path,
    kept: &Cell<bool>,
) -> Result<Vec<(PathBuf, Vec<u8>)>, Fault> {
    let mut files = Vec::new();
    let table = there.join(READINGS);
    kept.set(desk::read(&table)?.is_some());
    if !kept.get() {
        let about = format!("{} on {}", how.material, how.machine);
        let text = match made.sort {
            Sort::Kerf => readings_table(&format!("Kerf coupon: {about}")),
            sort => finding_table(sort, &format!("Coupon for {}: {about}", sort.name())),
        };
        files.push((table, text.into_bytes()));
    }
    let name = there.file_name().and_then(|n| n.to_str()).unwrap_or("coupon");
    let picture = numbers(made, how, &name.replace('-', " "));
    let svg = picture.to_svg();
    let png = to_png(&svg, picture.dpi_for_numbers())
        .map_err(|e| Fault::error("E70", format!("the picture of {name} failed: {e}")))?;
    files.push((there.join("numbers.svg"), svg.into_bytes()));
    files.push((there.join("numbers.png"), png));
    Ok(files)
}

/// The pieces alone, large, each with its number.
fn numbers(made: &Made, how: &KerfArgs, name: &str) -> crate::write::Picture {
    let by = Vec2::new(ROUND - made.room.x0, ROUND - made.room.y0);
    let (_, pieces) = made.laid.on(&made.sheet);
    let lying: Vec<LaidPiece> = pieces
        .iter()
        .filter_map(|(piece, at)| {
            let design = piece.turns.design(at.stance)?;
            let pose = Pose { x: at.pose.x + by.x, y: at.pose.y + by.y, ..at.pose };
            Some(LaidPiece {
                label: piece.address.position.to_string(),
                shape: design.shape.posed(&pose),
                mirrored: false,
                spare: false,
                spoilt: false,
                // The marks of a strip that is stretched.
                creases: design.creases.iter().map(|crease| pose.on_seg(crease)).collect(),
            })
        })
        .collect();
    let size = (made.room.width() + 2.0 * ROUND, made.room.height() + 2.0 * ROUND);
    let around = rectangle(crate::geom::Point::ORIGIN, size.0, size.1, 0.0);
    let outline = around.unwrap_or_else(|_| made.sheet.outline.clone());
    let Sheet { id, kind, grain, .. } = &made.sheet;
    let ground = Sheet { grain: *grain, ..Sheet::bare(id, *kind, &how.material, outline) };
    let title = format!("{} - {name} - {} on {}", made.job.title, how.material, how.machine);
    let axes = "the machine's x runs to the right, its y up";
    let mut footer = vec![match made.sort {
        Sort::Kerf => format!("{axes}; along x is the long side of a plate"),
        _ => axes.to_owned(),
    }];
    footer.extend(told(made.sort));
    footer.push(if made.sort.on_the_line() {
        format!("cut on the drawn line, no width of the cut allowed for; write into {READINGS}")
    } else {
        format!("cut with the width of the cut that the material has; write into {READINGS}")
    });
    footer.extend(made.sheet.up.map(|up| format!("{up} side up")));
    lay_picture(&ground, &lying, &LayMarks::default(), &title, &footer)
}

fn tell(
    made: &Made,
    how: &KerfArgs,
    (number, there, kept): (u32, &Path, bool),
    warnings: Vec<Fault>,
    sources: Sources,
) -> Answer {
    let mut answer = Answer::new();
    let Made { sort, job, laid, sheet, room } = made;
    let pieces: usize = laid.layouts.iter().map(|l| l.placed.len()).sum();
    let name = format!("coupon-{number}");
    answer.line(format!("{name} in {}", there.display()));
    answer.line(format!(
        "{pieces} test pieces for {} on {}, {}",
        how.material,
        how.machine,
        if sort.on_the_line() {
            "drawn without any width of the cut"
        } else {
            "drawn with the width of the cut that the material has"
        }
    ));
    answer.line(format!(
        "on {}, x {:.0} to {:.0}, y {:.0} to {:.0} mm from the lower left corner of its box",
        sheet.id, room.x0, room.x1, room.y0, room.y1
    ));
    if kept {
        answer.line(format!("{READINGS} was there already and stays as it is"));
    }
    answer.line("cut claims that place in the stock record: no lay takes it");
    let readings = there.join(READINGS);
    let picture = there.join("numbers.png");
    answer.result = json!({
        "coupon": name,
        "tells": sort.name(),
        "folder": there.display().to_string(),
        "material": how.material,
        "machine": how.machine,
        "sheet": sheet.id,
        "pieces": pieces,
        "within-mm": [room.x0, room.y0, room.x1, room.y1],
        "readings": readings.display().to_string(),
        "picture": picture.display().to_string(),
    });
    answer.outcome = outcome_of(&warnings);
    answer.faults = warnings;
    answer.sources = sources;
    answer.hint(format!("look at {}: it says which number is which", picture.display()));
    let first = match job.machine(&how.machine) {
        Some(machine) if machine.process == Process::Laser => {
            format!("pouchwork safety {name} --machine {}, then: ", how.machine)
        }
        _ => String::new(),
    };
    answer.hint(format!("next: {first}pouchwork cut {name}"));
    answer.hint(format!(
        "then measure, fill in {0} and type: pouchwork coupon read {0}",
        readings.display()
    ));
    answer
}
