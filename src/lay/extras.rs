//! What could be cut besides from the length that a lay takes anyway.
//!
//! For each size that lies on the sheet used last: how many more of it find room before the cut-off. Each count is for
//! that size alone, and has been proven like any layout.

use super::cut::{CutOff, last_cut_off};
use super::kernel::{Body, Core, Field, Room};
use super::pattern::Aim;
use super::task::Task;
use super::{Ground, Group, Layout, Placed, proof};
use crate::geom::{Point, Rect, rectangle};
use crate::part::Address;
use crate::sheet::{Flaw, Sheet};
use std::sync::Arc;

/// No more than this of one size are counted.
const MOST: usize = 100;
/// No more sizes are looked at.
const MOST_SIZES: usize = 24;

/// More pieces of one size that cost nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Extra {
    /// Index of the ground.
    pub ground: usize,
    /// A piece of the size.
    pub piece: usize,
    /// How many more of it find room.
    pub count: usize,
    /// The area of one (mm²).
    pub area: f64,
}

/// What could be cut besides, the largest pieces first; nothing is told of a sheet that is cut in bed windows.
pub fn extras(group: &Group, layout: &Layout) -> Vec<Extra> {
    let Some(cut) = last_cut_off(group, layout) else { return Vec::new() };
    if !layout.windows_of(cut.ground).is_empty() {
        return Vec::new();
    }
    let Some(short) = before(&group.grounds[cut.ground], cut) else { return Vec::new() };
    let task = Task::new(group);
    let cores = lying(group, layout, cut.ground);
    let mut found = Vec::new();
    for (number, lot) in task.lots.iter().enumerate().take(MOST_SIZES) {
        let lies =
            |i: &&usize| layout.placed.iter().any(|p| p.piece == **i && p.ground == cut.ground);
        let Some(piece) = lot.wanted.iter().chain(&lot.spares).find(lies).copied() else {
            continue;
        };
        let more = fill(&task, number, piece, (cut, &short), &cores);
        let count = proven(group, layout, piece, more);
        let area = group.pieces[piece].turns.design(0).map_or(0.0, |d| d.shape.outline().area());
        if count > 0 {
            found.push(Extra { ground: cut.ground, piece, count, area });
        }
    }
    found.sort_by(|a, b| b.area.total_cmp(&a.area).then(a.piece.cmp(&b.piece)));
    found
}

/// The ground with all that lies beyond the cut taken away.
fn before(ground: &Ground, cut: CutOff) -> Option<Ground> {
    let b = ground.sheet.outline.bounds();
    let rest = match (cut.way.x, cut.way.y) {
        (x, _) if x > 0.5 => Rect::new(b.x0 + cut.length, b.y0, b.x1, b.y1),
        (x, _) if x < -0.5 => Rect::new(b.x0, b.y0, b.x1 - cut.length, b.y1),
        (_, y) if y > 0.0 => Rect::new(b.x0, b.y0 + cut.length, b.x1, b.y1),
        _ => Rect::new(b.x0, b.y0, b.x1, b.y1 - cut.length),
    };
    let mut sheet = Sheet::clone(&ground.sheet);
    if rest.width() > 1e-3 && rest.height() > 1e-3 {
        let at = Point::new(rest.x0, rest.y0);
        let outline = rectangle(at, rest.width(), rest.height(), 0.0).ok()?;
        sheet.flaws.push(Flaw { why: "beyond the cut".to_owned(), outline });
    }
    Some(Ground { sheet: Arc::new(sheet), edge: ground.edge, window: None })
}

/// The cores of everything that lies on a ground, guests left to their hosts.
fn lying(group: &Group, layout: &Layout, ground: usize) -> Vec<Core> {
    let on_it = layout.placed.iter().filter(|p| p.ground == ground && p.host.is_none());
    on_it
        .filter_map(|p| {
            let design = group.pieces[p.piece].turns.design(p.stance)?;
            let body = Body::new(&design.shape, p.pose.turn, p.pose.mirrored);
            Some(body.cores_at(Point::new(p.pose.x, p.pose.y) + body.home))
        })
        .flatten()
        .collect()
}

/// More pieces of a lot, one after another into the nearest spot before the cut.
fn fill(
    task: &Task<'_>,
    lot: usize,
    piece: usize,
    (cut, short): (CutOff, &Ground),
    cores: &[Core],
) -> Vec<Placed> {
    let field = Arc::new(Field::of(short, task.group.apart));
    let quarters = [0.0, 90.0, 180.0, 270.0];
    let ways = task.bodies(lot, cut.ground, &quarters);
    // Of plots for pieces that work together the first will do: there both of a couple find room or neither.
    let plots = task.plots(lot, cut.ground);
    let Some(plot) = plots.first() else { return Vec::new() };
    let mut rooms: Vec<(usize, Room)> = ways
        .into_iter()
        .filter_map(|(stance, body)| {
            let apart = task.group.apart;
            Some((stance, Room::beside(&body, &field, cores.iter(), &plot.bars, apart)?))
        })
        .collect();
    let aim = Aim { way: cut.way, lean: 0.01 };
    let mut made = Vec::new();
    while made.len() < MOST {
        let Some((k, p)) = aim.best_spot(rooms.iter().map(|(_, room)| room)) else { break };
        let (stance, body) = (rooms[k].0, Arc::clone(&rooms[k].1.body));
        let lies = body.cores_at(p);
        for (_, room) in &mut rooms {
            room.add(&lies);
        }
        let pose = body.pose_at(p);
        made.push(Placed { piece, ground: cut.ground, host: None, stance, pose, window: None });
    }
    made
}

/// How many of some more pieces the proof lets stand beside a layout.
fn proven(group: &Group, layout: &Layout, piece: usize, more: Vec<Placed>) -> usize {
    let (mut group, mut layout) = (group.clone(), layout.clone());
    let first = group.pieces.len();
    // Register dots would be set anew.
    layout.dots.clear();
    for (n, mut placed) in (1..).zip(more) {
        let mut one = group.pieces[piece].clone();
        one.address = Address { spare: 1_000_000 + n, ..one.address };
        placed.piece = group.pieces.len();
        group.pieces.push(one);
        layout.placed.push(placed);
    }
    while group.pieces.len() > first {
        if proof::prove(&group, &layout).is_ok() {
            return group.pieces.len() - first;
        }
        group.pieces.pop();
        layout.placed.pop();
    }
    0
}
