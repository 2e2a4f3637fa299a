//! One piece alone, on what is left of a sheet: nearest to where it was cut first, or in a corner.

use super::kernel::{Body, Core, Field, Room};
use super::plots::plots;
use super::task::is_mirrored;
use super::{Ground, Group, Layout, Placed, Window, proof};
use crate::geom::{Point, Rect, Vec2, turn_vector};
use crate::part::Needs;
use std::sync::Arc;

/// How far a wall beyond the bed reaches (mm): farther than any sheet.
const WALL: f64 = 2e5;

/// How a lone piece is to lie on a ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// The ways in which it may lie, by choice: a stance, and the turn on the sheet in degrees.
    pub ways: Vec<(usize, f64)>,
    /// Where the middle of its box is to come near to (mm); none: into a corner.
    pub near: Option<Point>,
    /// The corners, counter-clockwise, of what it must stay whole in, such as the bed seen from the sheet (mm).
    pub within: Option<[Point; 4]>,
    /// Narrower wishes for what it is cut from, tried first; its own needs are tried last.
    pub first: Vec<Needs>,
}

/// Lays the first piece of a group, alone, on one of its grounds, clear of all that is gone there.
///
/// A place nearest to what is wished for is found exactly, but for the chords that stand for arcs. What comes back has
/// been proven.
pub fn lone(group: &Group, ground: usize, wish: &Wish) -> Option<Layout> {
    let piece = group.pieces.first()?;
    let at = group.grounds.get(ground)?;
    let field = Arc::new(Field::of(at, group.apart));
    let walls = wish.within.map_or_else(Vec::new, walls);
    let mirrored = is_mirrored(piece, at.sheet.up);
    for needs in wish.first.iter().chain([&piece.needs]) {
        for (stance, turn) in &wish.ways {
            let Some(design) = piece.turns.design(*stance) else { continue };
            let body = Arc::new(Body::new(&design.shape, turn.rem_euclid(360.0), mirrored));
            for plot in plots(&at.sheet, needs) {
                let bars: Vec<Core> = plot.bars.iter().chain(&walls).cloned().collect();
                let none = std::iter::empty();
                let Some(room) = Room::beside(&body, &field, none, &bars, group.apart) else {
                    continue;
                };
                let spot = match wish.near {
                    Some(middle) => room.nearest(middle - body.bounds.center().to_vec2()),
                    None => corner(&room),
                };
                let Some(spot) = spot else { continue };
                let pose = body.pose_at(spot);
                let placed =
                    Placed { piece: 0, ground, host: None, stance: *stance, pose, window: None };
                if let Some(layout) = proven(group, at, placed) {
                    return Some(layout);
                }
            }
        }
    }
    None
}

/// The spot nearest to the lower left.
fn corner(room: &Room) -> Option<Point> {
    let score = |p: &Point| p.x + p.y;
    room.spots.iter().copied().min_by(|a, b| score(a).total_cmp(&score(b)))
}

/// The layout of the piece in its place, with a bed window round it where the bed does not take the sheet.
fn proven(group: &Group, at: &Ground, mut placed: Placed) -> Option<Layout> {
    let mut layout = Layout::default();
    if let Some(reach) = group.reach(placed.ground) {
        let design = group.pieces[0].turns.design(placed.stance)?;
        let b = placed.pose.on_loop(design.shape.outline()).bounds();
        let corner = window(b, at.sheet.outline.bounds(), reach);
        let bounds = Rect::new(corner.x, corner.y, corner.x + reach.x, corner.y + reach.y);
        layout.windows.push(Window { ground: placed.ground, bounds, corner });
        placed.window = Some(0);
    }
    layout.placed.push(placed);
    proof::prove(&Group { pieces: group.pieces[..1].to_vec(), ..group.clone() }, &layout).ok()?;
    Some(layout)
}

/// Where the corner of what the machine reaches comes to lie: the piece in its middle, no farther beyond the sheet than
/// must be.
fn window(piece: Rect, sheet: Rect, reach: Vec2) -> Point {
    let along = |low: f64, high: f64, from: f64, to: f64, reach: f64| {
        let middle = f64::midpoint(low, high) - reach / 2.0;
        middle.min(to - reach).max(from)
    };
    Point::new(
        along(piece.x0, piece.x1, sheet.x0, sheet.x1, reach.x),
        along(piece.y0, piece.y1, sheet.y0, sheet.y1, reach.y),
    )
}

/// What lies beyond the sides of a box that may be turned.
fn walls(corners: [Point; 4]) -> Vec<Core> {
    (0..4)
        .filter_map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % 4]);
            let along = b - a;
            let along = along / along.hypot();
            let out = turn_vector(along, -90.0);
            let (from, to) = (a - along * WALL, b + along * WALL);
            let points = vec![from, from + out * WALL, to + out * WALL, to];
            points.iter().all(|p| p.is_finite()).then(|| Core::new(points, 0.0))
        })
        .collect()
}

/// The largest circle that is still free for a group's first piece on one of its grounds: its middle and diameter (mm).
pub fn free_for(group: &Group, ground: usize) -> Option<(Point, f64)> {
    let alone = Group {
        pieces: group.pieces.first().cloned().into_iter().collect(),
        grounds: group.grounds.get(ground).cloned().into_iter().collect(),
        ..group.clone()
    };
    let task = super::task::Task::new(&alone);
    super::free::largest_free(&task, &[], 0).map(|(_, at, across)| (at, across))
}
