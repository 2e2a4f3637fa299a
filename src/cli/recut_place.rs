//! Where a piece that is cut again comes to lie: on what is left of its own sheet, else on the tightest remnant.

use super::desk;
use crate::geom::Point;
use crate::job::{Batch, Job, batches, recut_job, work_out};
use crate::lay::record::{Record, from_json};
use crate::lay::{Layout, Wish, free_for, lone};
use crate::part::{Needs, Piece, TOGETHER_APART, Turns};
use crate::sheet::{Sheet, Used};
use std::path::Path;

use crate::fault::Fault;

/// Two turns that differ by less are one (degrees).
const SAME_TURN: f64 = 1e-6;

/// How and where a piece lay when it was cut first.
pub(super) struct First {
    /// The sheet.
    pub sheet: String,
    /// The middle of its box (mm).
    pub middle: Point,
    /// Its stance.
    stance: usize,
    /// Its turn from the grain, in degrees.
    turn: f64,
    /// Whether the record of its lay tells how it was turned.
    pub is_known: bool,
}

/// A sheet on which the piece found no place.
pub(super) struct Missed {
    pub id: String,
    /// The largest circle that is free (mm).
    pub across: Option<f64>,
}

/// A place that was found.
pub(super) struct Found {
    pub batch: Batch,
    pub layout: Layout,
    pub sheet: Sheet,
    /// The middle of its box (mm).
    pub middle: Point,
}

/// The record of a lay by its name.
pub(super) fn record_of(folder: &Path, lay: &str) -> Option<Record> {
    let bytes = desk::read(&folder.join("out").join(lay).join("lay.json")).ok()??;
    from_json(std::str::from_utf8(&bytes).ok()?).ok()
}

/// Every piece of a job.
pub(super) fn all_pieces(job: &Job) -> Result<Vec<Piece>, Vec<Fault>> {
    let (worked, _) = work_out(job);
    Ok(batches(job, &worked)?.into_iter().flat_map(|batch| batch.group.pieces).collect())
}

impl First {
    /// What is known of a cut.
    pub(super) fn of(folder: &Path, piece: &Piece, sheet: &Sheet, used: &Used) -> First {
        let middle = used.outline.bounds().center();
        let record = record_of(folder, &used.by.lay);
        let row = record.as_ref().and_then(|r| {
            let row = r.pieces.iter().find(|row| row.address == used.address)?;
            let grain = r.sheets.iter().find(|s| s.id == row.sheet)?.grain;
            Some((row, row.turn - grain))
        });
        let stance = row.and_then(|(row, _)| match (&piece.turns, row.stance) {
            (Turns::Free(_), None) => Some(0),
            (Turns::Fixed(list), Some(turn)) => {
                list.iter().position(|s| (s.turn - turn).abs() < SAME_TURN)
            }
            _ => None,
        });
        let usual = match &piece.turns {
            Turns::Fixed(list) => list.first().map_or(0.0, |s| s.turn),
            Turns::Free(_) => 0.0,
        };
        First {
            sheet: sheet.id.clone(),
            middle,
            stance: stance.unwrap_or(0),
            turn: row.filter(|_| stance.is_some()).map_or(usual, |(_, turn)| turn),
            is_known: stance.is_some() || is_round(piece),
        }
    }

    /// The ways in which the piece may lie on a sheet: as it lay, or the other way about along the same grain.
    fn ways(&self, piece: &Piece, grain: f64) -> Vec<(usize, f64)> {
        let mut ways = vec![(self.stance, grain + self.turn)];
        let about = grain + self.turn + 180.0;
        match &piece.turns {
            Turns::Free(_) if is_round(piece) => {}
            Turns::Free(_) => ways.push((self.stance, about)),
            Turns::Fixed(list) => {
                let own = list.get(self.stance).map_or(0.0, |s| s.turn);
                let opposite = |turn: f64| {
                    let off = (turn - own - 180.0).rem_euclid(360.0);
                    off.min(360.0 - off) < SAME_TURN
                };
                let other = list.iter().position(|s| opposite(s.turn));
                ways.extend(other.map(|stance| (stance, about)));
            }
        }
        ways
    }
}

fn is_round(piece: &Piece) -> bool {
    piece.turns.design(0).is_some_and(|d| d.shape.outline().as_circle().is_some())
}

/// The thickness at a place of a sheet (mm), where it is known.
fn thickness_at(sheet: &Sheet, at: Point) -> Option<f64> {
    let near =
        sheet.readings.iter().min_by(|a, b| (a.at - at).hypot2().total_cmp(&(b.at - at).hypot2()));
    near.map(|r| r.thickness.mm())
        .or_else(|| sheet.thickness.as_ref().map(crate::units::Length::mm))
}

/// Looks for a place: on the sheet of the first cut, nearest to it; else on remnants, the one with least left first; else
/// on whole sheets. `only` names one sheet, `within` what the piece must stay within there.
pub(super) fn place(
    job: &Job,
    address: &str,
    first: &First,
    (only, within): (Option<&str>, Option<[Point; 4]>),
) -> Result<Result<Found, Vec<Missed>>, Vec<Fault>> {
    let cut_down = recut_job(job, address, None);
    let (worked, _) = work_out(&cut_down);
    let Some(batch) = batches(&cut_down, &worked)?.pop() else { return Ok(Err(Vec::new())) };
    let old = job.sheets.iter().find(|s| s.id == first.sheet);
    let was = old.and_then(|sheet| thickness_at(sheet, first.middle));
    let mut order: Vec<usize> = (0..batch.group.grounds.len()).collect();
    let rank = |n: &usize| {
        let sheet = &batch.group.grounds[*n].sheet;
        let is_alike = |mm: f64| was.is_none_or(|was| (was - mm).abs() <= TOGETHER_APART);
        let alike = sheet.thicknesses().iter().any(|mm| is_alike(*mm))
            && old.is_none_or(|old| old.up == sheet.up && old.grade == sheet.grade);
        (sheet.id != first.sheet, sheet.from.is_none(), !alike)
    };
    order.sort_by(|a, b| {
        let free = |n: &usize| batch.group.grounds[*n].sheet.free_area();
        rank(a).cmp(&rank(b)).then(free(a).total_cmp(&free(b)))
    });
    let mut missed = Vec::new();
    for n in order {
        let sheet = Sheet::clone(&batch.group.grounds[n].sheet);
        if only.is_some_and(|id| id != sheet.id) {
            continue;
        }
        let mut own = batch.clone();
        own.group.grounds.retain(|ground| ground.sheet.id == sheet.id);
        let Some(piece) = own.group.pieces.first() else { break };
        let wish = Wish {
            ways: first.ways(piece, sheet.grain),
            near: (sheet.id == first.sheet).then_some(first.middle),
            within,
            first: alike(&piece.needs, was, &sheet),
        };
        if let Some(layout) = lone(&own.group, 0, &wish)
            && let Some(middle) = middle(&own, &layout)
        {
            return Ok(Ok(Found { batch: own, layout, sheet, middle }));
        }
        let across = free_for(&own.group, 0).map(|(_, across)| across);
        missed.push(Missed { id: sheet.id, across });
    }
    Ok(Err(missed))
}

/// The same needs for stuff as thick as it was, where a sheet is not of one thickness.
fn alike(own: &Needs, was: Option<f64>, sheet: &Sheet) -> Vec<Needs> {
    let Some(was) = was.filter(|_| !sheet.readings.is_empty()) else { return Vec::new() };
    let (least, most) = own.thickness.unwrap_or((0.0, f64::INFINITY));
    let half = TOGETHER_APART / 2.0;
    let band = ((was - half).max(least), (was + half).min(most));
    if band.0 <= band.1 { vec![Needs { thickness: Some(band), ..*own }] } else { Vec::new() }
}

fn middle(batch: &Batch, layout: &Layout) -> Option<Point> {
    let placed = layout.placed.first()?;
    let design = batch.group.pieces.first()?.turns.design(placed.stance)?;
    Some(placed.pose.on_loop(design.shape.outline()).bounds().center())
}
