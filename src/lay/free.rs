//! The largest circle that still finds room.

use super::Placed;
use super::kernel::{Body, Core, Field, Region};
use super::task::Task;
use crate::geom::Point;
use std::sync::Arc;

/// How near the answer comes to the best (mm).
const NEAR: f64 = 0.25;
/// No more squares than this are looked at on one sheet.
const MOST: usize = 6000;

/// The largest circle that is free for a lot on any ground: its ground, centre and diameter.
pub(crate) fn largest_free(
    task: &Task<'_>,
    placed: &[Placed],
    lot: usize,
) -> Option<(usize, Point, f64)> {
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
        let Some(mut regions) = field.regions(&body) else {
            continue;
        };
        for core in &cores {
            regions.extend(body.over.iter().map(|o| Region::between(core, o, task.group.apart)));
        }
        for plot in task.plots(lot, ground).iter() {
            let bars = plot
                .bars
                .iter()
                .flat_map(|bar| body.over.iter().map(move |over| Region::between(bar, over, 0.0)));
            let regions: Vec<Region> = regions.iter().cloned().chain(bars).collect();
            let floor = best.map_or(0.0, |b| b.2 / 2.0);
            if let Some((at, radius)) = largest_in(field, &regions, floor) {
                best = Some((ground, at, 2.0 * radius));
            }
        }
    }
    best
}

/// A square that may hold the centre, with everything that may be nearest to a point of it.
struct Square {
    hope: f64,
    at: Point,
    half: f64,
    near: Vec<u32>,
}

/// Squares are quartered, the most promising first, until none can hold a better centre.
fn largest_in(field: &Field, regions: &[Region], floor: f64) -> Option<(Point, f64)> {
    let bounds = field.bounds();
    let size = bounds.width().min(bounds.height()).max(1e-3);
    let mut open: Vec<Square> = Vec::new();
    let mut best: Option<(Point, f64)> = None;
    let mut looked = 0;
    let look = |at: Point, half: f64, near: &[u32], best: &mut Option<(Point, f64)>| {
        let gaps: Vec<f64> = near.iter().map(|i| regions[*i as usize].gap(at)).collect();
        let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
        let clear = if field.holds(at) { least } else { -least.abs() };
        if clear > best.map_or(floor, |b| b.1) {
            *best = Some((at, clear));
        }
        // Nothing comes nearer or goes farther by more than the point moves.
        let reach = half * std::f64::consts::SQRT_2;
        let limit = least + 2.0 * reach + 1e-9;
        let kept = near.iter().zip(&gaps).filter(|(_, gap)| **gap <= limit);
        Square { hope: clear + reach, at, half, near: kept.map(|(i, _)| *i).collect() }
    };
    let all: Vec<u32> = (0..u32::try_from(regions.len()).unwrap_or(u32::MAX)).collect();
    let half = size / 2.0;
    let mut y = bounds.y0 + half;
    while y < bounds.y1 + half {
        let mut x = bounds.x0 + half;
        while x < bounds.x1 + half && open.len() < MOST {
            open.push(look(Point::new(x, y), half, &all, &mut best));
            x += 2.0 * half;
        }
        y += 2.0 * half;
    }
    while looked < MOST {
        let top = (0..open.len()).max_by(|i, j| open[*i].hope.total_cmp(&open[*j].hope));
        let Some(top) = top else { break };
        let Square { hope, at, half, near } = open.swap_remove(top);
        if hope <= best.map_or(floor, |b| b.1) + NEAR {
            break;
        }
        for (sx, sy) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let p = Point::new(at.x + sx * half / 2.0, at.y + sy * half / 2.0);
            open.push(look(p, half / 2.0, &near, &mut best));
            looked += 1;
        }
    }
    best
}
