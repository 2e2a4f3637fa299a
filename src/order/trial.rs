//! Trial lays: how much of nominal sheets the pieces take, up to the cut-off.

use super::skins::{Nominal, area_of, clip};
use crate::geom::{Point, Vec2};
use crate::lay::{Effort, Ground, Group, Layout, Watch, last_cut_off, lay};
use crate::part::Piece;
use crate::sheet::{Sheet, SheetKind};
use std::collections::BTreeSet;
use std::sync::Arc;

/// No trial has more sheets; what finds no place on them is reckoned in proportion.
const MOST: usize = 256;
/// Of the room on a sheet so much is counted on at first; where it is too little, there are more sheets.
const HOPED: f64 = 0.5;

/// The distances that a trial keeps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    /// Between two pieces (mm).
    pub apart: f64,
    /// From the edge (mm).
    pub edge: f64,
    /// Whether a cut hardens edges.
    pub hard: bool,
    /// What the machine reaches at once (mm).
    pub reach: Vec2,
}

/// What a trial came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Tried {
    /// Area of what is used up to the cut-off (mm²), rims and all.
    pub area: f64,
    /// Pieces that no sheet takes, however many there are.
    pub unfit: Vec<usize>,
}

/// The area of all sheets that a layout uses: whole ones, and the last up to its cut-off (mm²).
///
/// `sold` is the outline of each ground as it is sold, in the place of the ground.
pub(super) fn used_area(group: &Group, layout: &Layout, sold: &[Vec<Point>]) -> f64 {
    let used: BTreeSet<usize> = layout.placed.iter().map(|p| p.ground).collect();
    let last = last_cut_off(group, layout);
    used.iter()
        .filter_map(|n| {
            let outline = sold.get(*n)?;
            let Some(cut) = last.filter(|cut| cut.ground == *n && cut.share < 1.0) else {
                return Some(area_of(outline));
            };
            let bounds = group.grounds[*n].sheet.outline.bounds();
            // From the side at which the pieces begin, up to the line.
            let start = Vec2::new(
                if cut.way.x < 0.0 { bounds.x1 } else { bounds.x0 },
                if cut.way.y < 0.0 { bounds.y1 } else { bounds.y0 },
            );
            let line = cut.way.dot(start) + cut.length;
            Some(area_of(&clip(outline, |p| line - cut.way.dot(p.to_vec2()))))
        })
        .sum()
}

/// Area of a piece's outline, stretch and trim in it (mm²).
pub(super) fn area(piece: &Piece) -> f64 {
    piece.turns.design(0).map_or(0.0, |design| design.shape.outline().area())
}

/// Lays pieces on as many sheets of one outline as they take.
pub(super) fn trial(
    pieces: &[Piece],
    (kind, nominal): (SheetKind, &Nominal),
    room: Room,
    effort: Effort,
    watch: &dyn Watch,
) -> Tried {
    if pieces.is_empty() {
        return Tried::default();
    }
    let net: f64 = pieces.iter().map(area).sum();
    let mut count = super::rules::whole(net / (HOPED * nominal.usable.area())) as usize + 1;
    loop {
        count = count.min(MOST);
        let group = group(pieces, (kind, nominal), room, count);
        let layout = lay(&group, effort, watch);
        let used: BTreeSet<usize> = layout.placed.iter().map(|p| p.ground).collect();
        if !layout.left.is_empty() && used.len() == count && count < MOST && !watch.stop() {
            count *= 2;
            continue;
        }
        let spare = used.len() < count;
        let (unfit, late): (Vec<_>, Vec<_>) = layout.left.iter().partition(|l| l.tried && spare);
        let sold = vec![nominal.sold.clone(); count];
        let laid: f64 = layout.placed.iter().map(|p| area(&pieces[p.piece])).sum();
        let more: f64 = late.iter().map(|l| area(&pieces[l.piece])).sum();
        let share = if laid > 0.0 { 1.0 + more / laid } else { 1.0 };
        return Tried {
            area: used_area(&group, &layout, &sold) * share,
            unfit: unfit.iter().map(|l| l.piece).collect(),
        };
    }
}

/// Pieces that ask nothing of their stuff, on so many sheets alike.
fn group(pieces: &[Piece], of: (SheetKind, &Nominal), room: Room, count: usize) -> Group {
    let (kind, nominal) = of;
    let plain = |piece: &Piece| {
        let mut piece = piece.clone();
        // What is bought is of the grade and thickness wanted, and is turned to the face wanted.
        (piece.needs.grade, piece.needs.thickness, piece.face) = (None, None, None);
        piece
    };
    let grounds = (1..=count).map(|n| Ground {
        sheet: Arc::new(Sheet::bare(&format!("nominal-{n}"), kind, "", nominal.usable.clone())),
        edge: room.edge,
        window: None,
    });
    let box_of = nominal.usable.bounds();
    let over = box_of.width() > room.reach.x || box_of.height() > room.reach.y;
    Group {
        pieces: pieces.iter().map(plain).collect(),
        grounds: grounds.collect(),
        apart: room.apart,
        hard_edges: room.hard,
        window: over.then_some(room.reach),
    }
}
