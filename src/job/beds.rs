//! What the beds of the machines can take: pieces that no bed window takes, sheets that would fit the other way about.

use super::Job;
use super::batch::{Batch, Worked, batches};
use crate::fault::Fault;
use crate::geom::Vec2;
use crate::lay::{Group, takes, turns_that_fit};
use crate::part::{Piece, Turns};
use std::collections::BTreeSet;

/// E33 and W33, for every batch of the job.
pub(super) fn beds(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let Ok(list) = batches(job, worked) else {
        // Told where the pieces are made.
        return Vec::new();
    };
    let mut faults = Vec::new();
    for batch in &list {
        let Some(reach) = batch.group.window else { continue };
        faults.extend(pieces(job, batch, reach));
        faults.extend(sheets(job, batch, reach));
    }
    faults
}

/// Pieces that lie in no bed window, once each size.
fn pieces(job: &Job, batch: &Batch, reach: Vec2) -> Vec<Fault> {
    let group = &batch.group;
    // On a sheet that the bed takes whole a piece may lie as it likes.
    if (0..group.grounds.len()).any(|ground| group.reach(ground).is_none()) {
        return Vec::new();
    }
    let mut seen = BTreeSet::new();
    let sizes = group.pieces.iter().filter(|piece| seen.insert(piece.size));
    sizes.filter_map(|piece| piece_fault(job, batch, piece, reach)).collect()
}

fn piece_fault(job: &Job, batch: &Batch, piece: &Piece, reach: Vec2) -> Option<Fault> {
    let design = piece.turns.design(0)?;
    let b = design.shape.bounds();
    let place = job.parts.iter().find(|p| p.name == piece.address.part).map(|p| &p.place);
    let is = format!(
        "{} is {:.0} x {:.0} mm, the bed of {} takes {:.0} x {:.0} mm",
        piece.address,
        b.width(),
        b.height(),
        batch.machine,
        reach.x,
        reach.y
    );
    let Some((first, last)) = turns_that_fit(reach, &design.shape) else {
        let fault = Fault::error("E33", format!("{is}: it fits at no turn")).at_some(place);
        return Some(fault.cure("cut it on a larger machine or by hand"));
    };
    let Turns::Fixed(stances) = &piece.turns else { return None };
    let stance_turns: Vec<f64> = stances.iter().map(|stance| stance.turn).collect();
    let held = turns(&batch.group, &stance_turns);
    let lies = |turn: &f64| stances.iter().any(|s| takes(reach, &s.design.shape, *turn));
    if held.iter().any(lies) {
        return None;
    }
    let list: Vec<String> = held.iter().map(|turn| format!("{turn:.0}")).collect();
    Some(
        Fault::warning(
            "W33",
            format!(
                "{is}; turned {first:.0} to {last:.0} degrees to the bed it would fit, but its grain holds it at {}",
                list.join(" or ")
            ),
        )
        .at_some(place)
        .cure("it will be left out: cut it on a larger machine, or give it a `grain` and `stretch` that let it turn"),
    )
}

/// The turns to the bed that a piece may have on the sheets of a group, each once, from 0 up to 180 degrees.
fn turns(group: &Group, stances: &[f64]) -> Vec<f64> {
    let mut list: Vec<f64> = Vec::new();
    for ground in &group.grounds {
        for turn in stances {
            let turn = (ground.sheet.grain + turn).rem_euclid(180.0);
            if list.iter().all(|other| (other - turn).abs() > 0.01) {
                list.push(turn);
            }
        }
    }
    list
}

/// Sheets that the bed would take whole if they lay the other way about.
fn sheets(job: &Job, batch: &Batch, reach: Vec2) -> Vec<Fault> {
    let machine = job.machine(&batch.machine);
    let margin = machine.map_or(0.0, |m| m.margin);
    let group = &batch.group;
    let larger = (0..group.grounds.len()).filter(|ground| group.reach(*ground).is_some());
    larger
        .filter_map(|ground| {
            let sheet = &group.grounds[ground].sheet;
            let b = sheet.outline.bounds();
            (b.width() <= reach.y && b.height() <= reach.x).then(|| {
                let (wide, deep) = machine.map_or((0.0, 0.0), |m| (m.width, m.depth));
                let (wide, deep) = (wide - 2.0 * margin, deep - 2.0 * margin);
                let text = format!(
                    "{} is {:.0} x {:.0} mm, the bed of {} takes {wide:.0} x {deep:.0} mm: it is cut window by window",
                    sheet.id, b.width(), b.height(), batch.machine
                );
                Fault::warning("W33", text).at(&sheet.place).cure(
                    "turned by a quarter it fits whole: give its length and width, or its corners, the other way about",
                )
            })
        })
        .collect()
}
