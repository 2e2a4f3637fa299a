//! `lay`: all pieces on the sheets in hand, proven, recorded and drawn.

use super::args::{Common, LayArgs};
use super::beside::{Beside, Loose, taken};
use super::eyes::Eyes;
use super::lay_picture::picture;
use super::open::{Open, open};
use super::show::Show;
use super::{Answer, Outcome, claims, desk, outcome_of};
use crate::fault::{Fault, Sources, any_error};
use crate::geom::Loop;
use crate::job::{Batch, Job, Worked, batches, judge, stops, work_out};
use crate::lay::record::{Heading, Input, LiesRow, Record, to_json};
use crate::lay::{Dot, Effort, Layout, Placed, Watch, axes, cut_offs, lay, proof};
use crate::machine::{Machine, Process};
use crate::material::{CutSetting, Material};
use crate::part::Piece;
use crate::sheet::{Sheet, SheetKind};
use crate::write::manifest::hash;
use crate::write::to_png;
use rayon::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A lay as it was found or made: every batch with its layout.
#[derive(Debug)]
pub(super) struct Laid {
    pub batches: Vec<Batch>,
    pub layouts: Vec<Layout>,
    /// What is told of each; empty for a lay that was read.
    pub beside: Vec<Beside>,
    /// How its sheet lies on the bed, where that was found by two points.
    pub lies: Option<LiesRow>,
}

pub(super) fn run(common: &Common, how: &LayArgs, show: &Show) -> Answer {
    match open(common) {
        Ok(opened) => lay_job(opened, how, show).0,
        Err((faults, sources)) => Answer::refused(faults, sources),
    }
}

/// Lays an open job; the folder of the lay comes with the answer where one was made.
pub(super) fn lay_job(opened: Open, how: &LayArgs, show: &Show) -> (Answer, Option<PathBuf>) {
    let Open { folder, job, sources, warnings } = opened;
    let (worked, more) = work_out(&job);
    let mut faults = warnings;
    faults.extend(more);
    if any_error(&faults) {
        return (Answer::refused(faults, sources), None);
    }
    faults.extend(judge(&job, &worked));
    if any_error(&faults) {
        return (Answer::refused(faults, sources), None);
    }
    let laid = match laid_again(&folder, &job, &worked, (how, show)) {
        Ok(laid) => laid,
        Err(more) => {
            faults.extend(more);
            return (Answer::refused(faults, sources), None);
        }
    };
    let held = stops(&job);
    faults.extend(held);
    faults.extend(second_set(&laid, &claims::held_for(&folder, &job, false)));
    match keep(&folder, &job, &laid, how, (desk::LAY, &|_| Ok(Vec::new()))) {
        Ok((number, lay_folder, pictures)) => {
            let answer = tell(&job, &laid, (number, &lay_folder, &pictures), faults, sources);
            (answer, Some(lay_folder))
        }
        Err(fault) => (Answer::refused(vec![fault], sources), None),
    }
}

/// W99: pieces that are cut and good already.
fn second_set(laid: &Laid, made: &BTreeSet<String>) -> Option<Fault> {
    let all = laid.batches.iter().flat_map(|batch| &batch.group.pieces);
    let wanted: Vec<String> =
        all.filter(|p| p.address.spare == 0).map(|p| p.address.to_string()).collect();
    let done = wanted.iter().filter(|address| made.contains(*address)).count();
    (done > 0).then(|| {
        let text = format!(
            "{done} of {} pieces are booked as cut already: this is a second set of them",
            wanted.len()
        );
        Fault::warning("W99", text).cure("for one that failed or was spoilt: pouchwork recut PIECE")
    })
}

/// Lays a job clear of what others hold; a lay made from the same that can still be cut is given again.
fn laid_again(
    folder: &Path,
    job: &Job,
    worked: &[Worked<'_>],
    (how, show): (&LayArgs, &Show),
) -> Result<Laid, Vec<Fault>> {
    if let Some(then) = claims::again(folder, job, (how.seed, how.effort)) {
        let laid = lay_all(&then, batches(&then, worked)?, how, show)?;
        let text = record_text(job, &laid, how);
        if same_lay(&desk::lays(folder, desk::LAY), &text).is_some() {
            return Ok(laid);
        }
    }
    lay_all(job, batches(job, worked)?, how, show)
}

/// The number of the lay whose record is this text.
fn same_lay(there: &[(u32, PathBuf)], text: &str) -> Option<u32> {
    let same = there.iter().find(|(_, path)| {
        matches!(desk::read(&path.join("lay.json")), Ok(Some(bytes)) if bytes == text.as_bytes())
    });
    same.map(|(n, _)| *n)
}

/// Lays batch after batch; a sheet that one has used is gone for the next.
fn lay_all(
    job: &Job,
    mut list: Vec<Batch>,
    how: &LayArgs,
    show: &Show,
) -> Result<Laid, Vec<Fault>> {
    let watch = Eyes::new(how, show, list.iter().map(|b| b.group.pieces.len()).sum());
    let (mut layouts, mut beside) = (Vec::new(), Vec::new());
    let loose = Loose::of(job);
    for i in 0..list.len() {
        watch.share_time(list[i..].iter().map(|b| b.group.pieces.len()));
        let group = &list[i].group;
        let effort = Effort { evaluations: how.effort, seed: how.seed };
        let mut layout = lay(group, effort, &watch);
        if layout.stopped && !layout.left.is_empty() && how.effort > Effort::QUICK.evaluations {
            // Out of time before every piece was tried: a first look is always taken.
            let quick = Effort { evaluations: Effort::QUICK.evaluations, seed: how.seed };
            let first = lay(group, quick, &watch.without_cap());
            if first.left.len() < layout.left.len() {
                layout = Layout { stopped: true, ..first };
            }
        }
        let both = axes(group, layout, effort, &watch);
        layout = both.layout;
        // Nothing unproven goes on.
        if let Err(breaches) = proof::prove(&list[i].group, &layout) {
            return Err(breaches
                .iter()
                .take(5)
                .map(|b| {
                    Fault::error("E70", format!("the lay failed its proof: {b}"))
                        .cure("this is a fault of the program: nothing was written")
                })
                .collect());
        }
        let used = |n: usize| layout.placed.iter().any(|p| p.ground == n);
        let taken: Vec<String> = ids(&list[i])
            .into_iter()
            .enumerate()
            .filter(|(n, _)| used(*n))
            .map(|(_, id)| id)
            .collect();
        let wanted: Vec<String> = list[i + 1..].iter().flat_map(ids).collect();
        for later in &mut list[i + 1..] {
            later.group.grounds.retain(|g| !taken.contains(&g.sheet.id));
        }
        let with = (effort, &watch as &dyn Watch);
        let mut found = Beside::of(&list[i], &layout, both.told, loose.as_ref(), with);
        let layout = without_spare_grounds(&mut list[i], layout, &taken, &wanted);
        found.look_for_extras(&list[i], &layout);
        layouts.push(layout);
        beside.push(found);
        watch.next(list[i].group.pieces.len());
    }
    watch.done();
    Ok(Laid { batches: list, layouts, beside, lies: None })
}

fn ids(batch: &Batch) -> Vec<String> {
    batch.group.grounds.iter().map(|g| g.sheet.id.clone()).collect()
}

/// Leaves sheets that were not used to a later batch that may want them.
fn without_spare_grounds(
    batch: &mut Batch,
    mut layout: Layout,
    taken: &[String],
    wanted: &[String],
) -> Layout {
    let keeps: Vec<bool> = batch
        .group
        .grounds
        .iter()
        .map(|g| taken.contains(&g.sheet.id) || !wanted.contains(&g.sheet.id))
        .collect();
    let shift = |ground: usize| keeps[..ground].iter().filter(|k| **k).count();
    for placed in &mut layout.placed {
        placed.ground = shift(placed.ground);
    }
    for window in &mut layout.windows {
        window.ground = shift(window.ground);
    }
    for dot in &mut layout.dots {
        dot.ground = shift(dot.ground);
    }
    for left in &mut layout.left {
        left.largest_free = left
            .largest_free
            .filter(|(ground, ..)| keeps[*ground])
            .map(|(ground, at, across)| (shift(ground), at, across));
    }
    let mut keep = keeps.iter();
    batch.group.grounds.retain(|_| keep.next().copied().unwrap_or(true));
    layout
}

/// The record of a lay.
fn record_text(job: &Job, laid: &Laid, how: &LayArgs) -> String {
    let heading = Heading {
        program: env!("CARGO_PKG_VERSION").to_owned(),
        seed: how.seed,
        effort: how.effort,
        inputs: job
            .inputs
            .iter()
            .map(|i| Input { path: i.path.clone(), sha256: hash(&i.bytes) })
            .collect(),
        groups: laid.batches.iter().map(|b| (b.material.clone(), b.machine.clone())).collect(),
    };
    let groups: Vec<_> = laid.batches.iter().map(|b| b.group.clone()).collect();
    let record = Record::of(&groups, &laid.layouts, &heading);
    to_json(&Record { lies: laid.lies.clone(), ..record })
}

/// What else is written beside a record, for the folder that it comes to stand in.
type More<'a> = dyn Fn(&Path) -> Result<Vec<(PathBuf, Vec<u8>)>, Fault> + 'a;

/// Writes the record and the pictures; a lay or coupon that is there already keeps its number.
pub(super) fn keep(
    folder: &Path,
    job: &Job,
    laid: &Laid,
    how: &LayArgs,
    (word, more): (&str, &More<'_>),
) -> Result<(u32, PathBuf, Vec<PathBuf>), Fault> {
    let there = desk::lays(folder, word);
    let same = same_lay(&there, &record_text(job, laid, how));
    let number = same.unwrap_or_else(|| there.last().map_or(1, |(n, _)| n + 1));
    keep_as((folder, number), job, laid, how, (word, more))
}

/// The same under a number.
pub(super) fn keep_as(
    (folder, number): (&Path, u32),
    job: &Job,
    laid: &Laid,
    how: &LayArgs,
    (word, more): (&str, &More<'_>),
) -> Result<(u32, PathBuf, Vec<PathBuf>), Fault> {
    let text = record_text(job, laid, how);
    let lay_folder = folder.join("out").join(format!("{word}-{number}"));
    let drawn: Vec<Result<Drawn, Fault>> = sheets(laid)
        .par_iter()
        .map(|sheet| {
            let picture = picture(job, laid, sheet, &format!("{word} {number}"));
            let svg = picture.to_svg();
            let png = to_png(&svg, picture.dpi_for_numbers()).map_err(|e| {
                Fault::error("E70", format!("the picture of {} failed: {e}", sheet.id))
            })?;
            let name = format!("{}-picture", desk::file_name(&sheet.id));
            Ok((lay_folder.join(name), svg.into_bytes(), png))
        })
        .collect();
    let mut files = vec![(lay_folder.join("lay.json"), text.into_bytes())];
    let mut pictures = Vec::new();
    for made in drawn {
        let (path, svg, png) = made?;
        pictures.push(path.with_extension("png"));
        files.push((path.with_extension("svg"), svg));
        files.push((path.with_extension("png"), png));
    }
    files.extend(more(&lay_folder)?);
    desk::write_all(&files)?;
    Ok((number, lay_folder, pictures))
}

/// A picture's path without its ending, and its two forms.
type Drawn = (PathBuf, Vec<u8>, Vec<u8>);

/// The sheets that pieces lie on.
fn sheets(laid: &Laid) -> Vec<Arc<Sheet>> {
    let mut list = Vec::new();
    for (batch, layout) in laid.batches.iter().zip(&laid.layouts) {
        for (n, ground) in batch.group.grounds.iter().enumerate() {
            if layout.placed.iter().any(|p| p.ground == n) {
                list.push(Arc::clone(&ground.sheet));
            }
        }
    }
    list
}

/// What lies on a sheet, and the records that it is cut by.
pub(super) struct Kit<'a> {
    pub(super) pieces: Vec<(&'a Piece, &'a Placed)>,
    pub(super) material: &'a Material,
    pub(super) machine: &'a Machine,
    pub(super) setting: &'a CutSetting,
}

impl Laid {
    /// What lies on a sheet, with the records that it is cut by; none where one of them is gone.
    pub(super) fn kit<'a>(&'a self, job: &'a Job, sheet: &Sheet) -> Option<Kit<'a>> {
        let (batch, pieces) = self.on(sheet);
        let batch = batch?;
        Some(Kit {
            pieces,
            material: job.materials.get(&batch.material)?,
            machine: job.machine(&batch.machine)?,
            setting: job.setting(&batch.material, &batch.machine)?,
        })
    }

    /// The pieces on a sheet, with their batch.
    pub(super) fn on<'a>(
        &'a self,
        sheet: &Sheet,
    ) -> (Option<&'a Batch>, Vec<(&'a Piece, &'a Placed)>) {
        for (batch, layout) in self.batches.iter().zip(&self.layouts) {
            let Some(n) = batch.group.grounds.iter().position(|g| g.sheet.id == sheet.id) else {
                continue;
            };
            let pieces = layout
                .placed
                .iter()
                .filter(|p| p.ground == n)
                .filter_map(|p| Some((batch.group.pieces.get(p.piece)?, p)))
                .collect();
            return (Some(batch), pieces);
        }
        (None, Vec::new())
    }

    /// The numbers of a sheet's batch and ground.
    pub(super) fn number_of(&self, sheet: &Sheet) -> Option<(usize, usize)> {
        self.batches.iter().enumerate().find_map(|(group, batch)| {
            let n = batch.group.grounds.iter().position(|g| g.sheet.id == sheet.id)?;
            Some((group, n))
        })
    }

    /// The layout of a sheet, with the number of its ground.
    pub(super) fn layout_of(&self, sheet: &Sheet) -> Option<(&Layout, usize)> {
        self.number_of(sheet).map(|(group, n)| (&self.layouts[group], n))
    }

    /// The sheets that pieces lie on.
    pub(super) fn sheets(&self) -> Vec<Arc<Sheet>> {
        sheets(self)
    }
}

fn tell(
    job: &Job,
    laid: &Laid,
    made: (u32, &Path, &[PathBuf]),
    mut faults: Vec<Fault>,
    sources: Sources,
) -> Answer {
    let (number, lay_folder, pictures) = made;
    let mut answer = Answer::new();
    answer.line(format!("lay-{number} in {}", lay_folder.display()));
    let rows = sheet_rows(laid, &mut answer);
    let wanted: usize = laid.batches.iter().map(|b| b.group.pieces.len()).sum();
    let placed: usize = laid.layouts.iter().map(|l| l.placed.len()).sum();
    let spent: u64 = laid.layouts.iter().map(|l| l.spent).sum();
    let stopped = laid.layouts.iter().any(|l| l.stopped);
    answer.line(format!("{placed} of {wanted} placed and checked"));
    if stopped {
        answer.line("stopped before the effort was spent: another run may give another lay");
    }
    faults.extend(left_out(job, laid));
    faults.extend(lost_dots(laid));
    let short = faults.iter().any(|f| f.code == "E31");
    answer.outcome = match outcome_of(&faults) {
        Outcome::Held => Outcome::Held,
        _ if short => Outcome::Short,
        other => other,
    };
    answer.result = json!({
        "lay": format!("lay-{number}"),
        "folder": lay_folder.display().to_string(),
        "sheets": rows,
        "placed": placed,
        "wanted": wanted,
        "evaluations": spent,
        "stopped": stopped,
        "pictures": pictures.iter().map(|p| p.display().to_string()).collect::<Vec<_>>(),
    });
    answer.faults = faults;
    answer.sources = sources;
    answer.picture = pictures.first().cloned();
    if let Some(first) = pictures.first() {
        answer.hint(format!("look at {}", first.display()));
    }
    match answer.outcome {
        Outcome::Done => answer.hint(match first_laser(job, laid) {
            Some(laser) => format!(
                "next: pouchwork safety lay-{number} --machine {laser}, then: pouchwork cut lay-{number}"
            ),
            None => format!("next: pouchwork cut lay-{number}"),
        }),
        Outcome::Held => answer
            .hint("cut writes nothing until what is held back has another machine or material"),
        Outcome::Short => answer.hint(format!(
            "next: pouchwork order, for what lacks; or pouchwork cut lay-{number}, for what has its place"
        )),
        _ => {}
    }
    answer
}

/// The first laser that has something to cut: its safety list comes before its files.
fn first_laser<'a>(job: &Job, laid: &'a Laid) -> Option<&'a str> {
    let is_laser =
        |key: &str| job.machine(key).is_some_and(|machine| machine.process == Process::Laser);
    laid.batches
        .iter()
        .zip(&laid.layouts)
        .find(|(batch, layout)| is_laser(&batch.machine) && !layout.placed.is_empty())
        .map(|(batch, _)| batch.machine.as_str())
}

/// A line for each sheet, and what is told beside it; gives the same for scripts.
fn sheet_rows(laid: &Laid, answer: &mut Answer) -> Vec<Value> {
    let mut rows: Vec<Value> = Vec::new();
    for sheet in sheets(laid) {
        let (batch, pieces) = laid.on(&sheet);
        let area: f64 = pieces
            .iter()
            .filter_map(|(p, at)| p.turns.design(at.stance))
            .map(|d| d.shape.area())
            .sum();
        let room = pieces
            .iter()
            .filter_map(|(p, at)| Some(at.pose.on_loop(p.turns.design(at.stance)?.shape.outline())))
            .map(|outline: Loop| outline.bounds())
            .reduce(|a, b| a.union(b))
            .unwrap_or_default();
        let share = area / sheet.area().max(1.0);
        let guests = pieces.iter().filter(|(_, p)| p.host.is_some()).count();
        let in_holes =
            if guests > 0 { format!(", {guests} in holes of others") } else { String::new() };
        let mirrored = pieces.iter().filter(|(_, p)| p.pose.mirrored).count();
        let back = if mirrored > 0 {
            format!(", {mirrored} mirrored because the other face lies up")
        } else {
            String::new()
        };
        let number = laid.number_of(&sheet);
        let cut = number.and_then(|(group, n)| {
            let list = cut_offs(&laid.batches[group].group, &laid.layouts[group]);
            list.into_iter().find(|cut| cut.ground == n)
        });
        let windows = laid.layout_of(&sheet).map_or(0, |(layout, n)| layout.windows_of(n).len());
        let bed = match windows {
            0 => String::new(),
            1 => ", 1 bed window".to_owned(),
            n => format!(", {n} bed windows"),
        };
        let roll = cut
            .filter(|_| sheet.kind == SheetKind::Cloth)
            .map_or(String::new(), |cut| format!(", {}", taken(cut, sheet.kind)));
        answer.line(format!(
            "{:<8} {:<14} {:>4} pieces, {:>3.0} % of the sheet, within {:.0} x {:.0} mm{roll}{bed}{in_holes}{back}",
            sheet.id,
            batch.map_or("", |b| b.machine.as_str()),
            pieces.len(),
            100.0 * share,
            room.width(),
            room.height(),
        ));
        let mut row = json!({ "sheet": sheet.id, "pieces": pieces.len(), "share": share, "within-mm": [room.width(), room.height()], "guests": guests, "windows": windows, "cut-off-mm": cut.map(|cut| cut.length) });
        if let Some((group, n)) = number
            && let Some(beside) = laid.beside.get(group)
            && beside.cut.is_some_and(|cut| cut.ground == n)
        {
            let batch = &laid.batches[group];
            beside.lines(batch).iter().for_each(|line| answer.line(format!("         {line}")));
            row["beside"] = beside.json(batch);
        }
        rows.push(row);
    }
    rows
}

/// W46: sheets and bed windows that have no two register dots, or none that were cut before.
fn lost_dots(laid: &Laid) -> Vec<Fault> {
    let mut faults = Vec::new();
    for sheet in sheets(laid) {
        let Some((layout, ground)) = laid.layout_of(&sheet) else { continue };
        let dots: Vec<&Dot> = layout.dots.iter().filter(|d| d.ground == ground).collect();
        let windows = layout.windows_of(ground);
        if dots.len() < 2 {
            faults.push(
                Fault::warning("W46", format!("{} has no room for two register dots", sheet.id))
                    .at(&sheet.place)
                    .cure("once it is moved it can only be found again by its edge: leave more waste, or mark it by hand"),
            );
            continue;
        }
        let strangers = layout.strangers();
        let alone: Vec<String> = windows
            .iter()
            .filter(|w| strangers.contains(w))
            .map(|w| layout.window_number(*w).to_string())
            .collect();
        if !alone.is_empty() {
            faults.push(
                Fault::warning(
                    "W46",
                    format!(
                        "bed windows {} of {} share no two register dots with one cut before",
                        alone.join(", "),
                        sheet.id
                    ),
                )
                .at(&sheet.place)
                .cure("lay the sheet by its edge for these, or try another --seed or a larger gap"),
            );
        }
    }
    faults
}

/// Pieces without a place, one fault for each part and size.
fn left_out(job: &Job, laid: &Laid) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (batch, layout) in laid.batches.iter().zip(&laid.layouts) {
        let mut sizes: Vec<(usize, Vec<&Piece>)> = Vec::new();
        let mut free = None;
        for left in &layout.left {
            let Some(piece) = batch.group.pieces.get(left.piece) else { continue };
            free = free.or(left.largest_free);
            match sizes.iter_mut().find(|(size, _)| *size == piece.size) {
                Some((_, list)) => list.push(piece),
                None => sizes.push((piece.size, vec![piece])),
            }
        }
        for (_, list) in sizes {
            let names: Vec<String> = list.iter().take(6).map(|p| p.address.to_string()).collect();
            let more = if list.len() > 6 {
                format!(" and {} more", list.len() - 6)
            } else {
                String::new()
            };
            let b = list[0].turns.design(0).map(|d| d.shape.bounds());
            let size =
                b.map_or(String::new(), |b| format!(" ({:.1} x {:.1} mm)", b.width(), b.height()));
            let room = match free {
                Some((ground, at, across)) => format!(
                    "the largest free circle is {across:.1} mm across, on {} at x {:.0} y {:.0}",
                    batch.group.grounds.get(ground).map_or("?", |g| g.sheet.id.as_str()),
                    at.x,
                    at.y
                ),
                None => "the largest free circle is none at all".to_owned(),
            };
            let (room, cure) = reason(job, batch, &list, room);
            let place = job.parts.iter().find(|p| p.name == list[0].address.part).map(|p| &p.place);
            faults.push(
                Fault::error(
                    "E31",
                    format!(
                        "no place for {}{more}{size} on {}; {room}",
                        names.join(", "),
                        batch.material
                    ),
                )
                .at_some(place)
                .cure(cure),
            );
        }
    }
    faults
}

/// Why pieces of one size found no place, and what would help.
fn reason(job: &Job, batch: &Batch, list: &[&Piece], room: String) -> (String, &'static str) {
    if batch.group.grounds.is_empty() {
        let there = job.sheets.iter().any(|s| s.material == batch.material);
        return if there {
            (
                format!("its sheets are taken by another machine, not {}", batch.machine),
                "a sheet is cut by one machine in one lay: give another sheet, or cut both with one machine",
            )
        } else {
            ("there is no sheet of it".to_owned(), "give a sheet of this material")
        };
    }
    let needs = list[0].turns.design(0).map(|d| d.shape.bounds()).unwrap_or_default();
    let (long, short) = (needs.width().max(needs.height()), needs.width().min(needs.height()));
    let fits = batch.group.grounds.iter().any(|g| {
        let b = g.sheet.outline.bounds();
        let (wide, high) = (b.width() - 2.0 * g.edge, b.height() - 2.0 * g.edge);
        short <= wide.min(high) && long <= wide.hypot(high)
    });
    if fits {
        (room, "another sheet of this material, a smaller gap, fewer spares, or more --effort")
    } else {
        (format!("no sheet is large enough for it; {room}"), "give a larger sheet of this material")
    }
}
