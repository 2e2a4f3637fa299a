//! The largest circle that still finds room.

use super::Placed;
use super::kernel::{Body, Core, Room};
use super::task::Task;
use crate::geom::Point;
use std::sync::Arc;

/// How near the answer comes to the best (mm).
const NEAR: f64 = 0.25;
/// No more squares than this are looked at on one sheet.
const MOST: usize = 6000;

/// The largest free circle on any ground: its ground, centre and diameter.
pub(crate) fn largest_free(task: &Task<'_>, placed: &[Placed]) -> Option<(usize, Point, f64)> {
    let body = Arc::new(Body::point());
    let mut best: Option<(usize, Point, f64)> = None;
    for (ground, field) in task.fields.iter().enumerate() {
        let cores: Vec<Core> = placed
            .iter()
            .filter(|p| p.ground == ground && p.host.is_none())
            .filter_map(|p| {
                let design = task.group.pieces[p.piece].turns.design(p.stance)?;
                let body = Body::new(&design.shape, p.pose.turn, p.pose.mirrored);
                let at = Point::new(p.pose.x, p.pose.y) + body.home;
                Some(body.cores_at(at))
            })
            .flatten()
            .collect();
        let Some(room) = Room::new(&body, field, cores.iter(), task.group.apart) else {
            continue;
        };
        let floor = best.map_or(0.0, |b| b.2 / 2.0);
        if let Some((at, radius)) = largest_in(&room, floor) {
            best = Some((ground, at, 2.0 * radius));
        }
    }
    best
}

/// Squares are quartered, the most promising first, until none can hold a better centre.
fn largest_in(room: &Room, floor: f64) -> Option<(Point, f64)> {
    let bounds = room.bounds();
    let size = bounds.width().min(bounds.height()).max(1e-3);
    let mut open: Vec<(f64, Point, f64)> = Vec::new();
    let mut best: Option<(Point, f64)> = None;
    let mut looked = 0;
    let look = |p: Point, half: f64, best: &mut Option<(Point, f64)>| {
        let clear = room.clearance(p);
        if clear > best.map_or(floor, |b| b.1) {
            *best = Some((p, clear));
        }
        (clear + half * std::f64::consts::SQRT_2, p, half)
    };
    let half = size / 8.0;
    let mut y = bounds.y0 + half;
    while y < bounds.y1 + half {
        let mut x = bounds.x0 + half;
        while x < bounds.x1 + half && open.len() < MOST {
            open.push(look(Point::new(x, y), half, &mut best));
            x += 2.0 * half;
        }
        y += 2.0 * half;
    }
    while looked < MOST {
        let top = (0..open.len()).max_by(|i, j| open[*i].0.total_cmp(&open[*j].0));
        let Some(top) = top else { break };
        let (hope, at, half) = open.swap_remove(top);
        if hope <= best.map_or(floor, |b| b.1) + NEAR {
            break;
        }
        for (sx, sy) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let p = Point::new(at.x + sx * half / 2.0, at.y + sy * half / 2.0);
            open.push(look(p, half / 2.0, &mut best));
            looked += 1;
        }
    }
    best
}
