//! In which order the cuts come: holes and guests before what holds them, the way between them short.
//!
//! The nearest comes next at first. Then two things take turns: the order is mended by turning stretches of it round
//! and by moving short stretches elsewhere, as long as the way gets shorter; and every contour gets the start that is
//! best between its neighbours. Free starts are worth more than any mending of the order.
//!
//! Two orders are made of it. A program takes the freest. Drawings gather cuts by layer: theirs go in phases, the
//! guests that lie deepest first, and of each depth all holes before all outlines, so that files that gather cuts by
//! layer keep the very same order.

mod moves;
mod near;
mod starts;

use crate::geom::{Loop, Point, Where, point_in_loop};
use moves::Tour;
use near::Net;
use starts::Track;

/// What is near is looked up anew so many times at most.
const TURNS: usize = 3;
/// The order is shaken so many times for each contour, to see whether it settles shorter; and so many times divided by
/// the contours at most, since each time costs the more the more there are.
const SHAKES: usize = 10;
const SHAKES_OF_ALL: usize = 2_500_000;
/// What is gained must be more than this (mm), else it is noise.
const GAIN: f64 = 1e-7;

/// One loop to be cut.
#[derive(Debug, Clone)]
pub(super) struct Contour {
    /// Index of the piece.
    pub(super) piece: usize,
    /// The line of the cut.
    pub(super) line: Loop,
    /// Whether it is an outline (else a hole).
    pub(super) outside: bool,
    /// In how many holes, one inside the other, its piece lies.
    pub(super) depth: usize,
}

/// A closed line to be cut.
#[derive(Debug, Clone)]
pub struct Stop {
    /// The line.
    pub line: Loop,
    /// Whether the cut may begin anywhere on it; else where two of its pieces meet. Circles begin anywhere.
    pub anywhere: bool,
}

/// Indices in cutting order, each with its start: what lies inside comes before what it lies in.
///
/// Ties go to the lower index, so that the order repeats.
///
/// # Units
/// Millimetres.
///
/// # Source
/// 2-opt: G. A. Croes, A Method for Solving Traveling-Salesman Problems, 1958; moved stretches: I. Or, thesis, 1976.
pub fn order(stops: &[Stop], from: Point) -> Vec<(usize, Point)> {
    let count = stops.len().max(1);
    shaken(stops, from, (SHAKES * count).min(SHAKES_OF_ALL / count))
}

/// An order, mended and then shaken so many times.
fn shaken(stops: &[Stop], from: Point, shakes: usize) -> Vec<(usize, Point)> {
    let holders = holders(stops);
    let mut points = vec![from; stops.len()];
    let tracks: Vec<Track> = stops.iter().map(Track::of).collect();
    let sequence = nearest_next(stops, &tracks, &holders, from, &mut points);
    let mut tour = Tour::new(&tracks, &holders, from, &points, &sequence);
    let mut way = f64::INFINITY;
    for _ in 0..TURNS {
        tour.mend();
        let now = tour.length();
        if now > way * (1.0 - 1e-3) {
            break;
        }
        way = now;
    }
    tour.shake(shakes);
    tour.sequence()
}

/// The order of a drawing, in phases. See the head of this file.
pub(super) fn order_by_layer(contours: &[Contour], from: Point) -> Vec<(usize, Point)> {
    let deepest = contours.iter().map(|c| c.depth).max().unwrap_or(0);
    let mut at = from;
    let mut done = Vec::with_capacity(contours.len());
    for depth in (0..=deepest).rev() {
        for outside in [false, true] {
            let of_phase: Vec<usize> = (0..contours.len())
                .filter(|i| contours[*i].depth == depth && contours[*i].outside == outside)
                .collect();
            let stops: Vec<Stop> = of_phase
                .iter()
                .map(|i| Stop { line: contours[*i].line.clone(), anywhere: false })
                .collect();
            for (i, start) in shaken(&stops, at, 0) {
                done.push((of_phase[i], start));
                at = start;
            }
        }
    }
    done
}

/// The smallest other line that each line lies in, if any.
pub fn holders(stops: &[Stop]) -> Vec<Option<usize>> {
    let boxes: Vec<_> = stops.iter().map(|s| s.line.bounds()).collect();
    let net = Net::of_boxes(&boxes);
    let areas: Vec<f64> = stops.iter().map(|s| s.line.area()).collect();
    (0..stops.len())
        .map(|i| {
            let start = stops[i].line.start();
            let holds = |j: &usize| {
                let (b, own) = (boxes[*j], boxes[i]);
                *j != i
                    && areas[*j] > areas[i]
                    && b.x0 <= own.x0
                    && b.y0 <= own.y0
                    && b.x1 >= own.x1
                    && b.y1 >= own.y1
                    && point_in_loop(start, &stops[*j].line) == Where::Inside
            };
            let smaller = |a: &usize, b: &usize| areas[*a].total_cmp(&areas[*b]).then(a.cmp(b));
            net.at(start).iter().copied().filter(holds).min_by(smaller)
        })
        .collect()
}

/// The nearest comes next, of those that nothing uncut lies in.
fn nearest_next(
    stops: &[Stop],
    tracks: &[Track],
    holders: &[Option<usize>],
    from: Point,
    points: &mut [Point],
) -> Vec<usize> {
    let mut inside = vec![0_usize; stops.len()];
    for holder in holders.iter().flatten() {
        inside[*holder] += 1;
    }
    let boxes: Vec<_> = stops.iter().map(|s| s.line.bounds()).collect();
    let mut open = Net::of_middles(&boxes);
    for i in (0..stops.len()).filter(|i| inside[*i] == 0) {
        open.add(i);
    }
    let mut at = from;
    let mut sequence = Vec::with_capacity(stops.len());
    while let Some((i, start)) = open.take_nearest(at, |i, least| tracks[i].nearest(at, least)) {
        points[i] = start;
        at = start;
        sequence.push(i);
        if let Some(holder) = holders[i] {
            inside[holder] -= 1;
            if inside[holder] == 0 {
                open.add(holder);
            }
        }
    }
    sequence
}

#[cfg(test)]
mod tests;
