//! What of a sheet a piece may lie on: the ground that is too poor, too thick or too thin for it, as convex cores that
//! it may touch and not enter.
//!
//! Pieces that work together get one plot for each grade and each band of thickness; all others have one plot, the
//! whole of what will do for them.

use super::kernel::{Core, cores, thinned};
use crate::geom::tolerance::{FLAT, SLACK};
use crate::geom::{Loop, Point, Side, flatten, rectangle};
use crate::part::{Needs, TOGETHER_APART};
use crate::sheet::Sheet;
use std::collections::BTreeMap;
use std::sync::Arc;

/// No zone is searched with more corners than this.
const MOST_CORNERS: usize = 128;
/// Strips of ground lower than this are none (mm).
const LEAST_STRIP: f64 = 1e-9;

/// Ground that counts as one for a piece.
#[derive(Debug, Clone)]
pub(crate) struct Plot {
    /// The only grade there is on it, where that matters.
    grade: Option<u8>,
    /// Least and most thickness on it (mm), where that matters.
    band: Option<(f64, f64)>,
    /// What it leaves out.
    pub(crate) bars: Arc<Vec<Core>>,
}

impl Plot {
    /// Whether all that pieces lie on, these grades and readings (mm), is of this plot.
    pub(crate) fn holds(&self, grades: &[u8], thicknesses: &[f64]) -> bool {
        self.grade.is_none_or(|own| grades.iter().all(|g| *g == own))
            && self.band.is_none_or(|(least, most)| {
                thicknesses.iter().all(|mm| (least - SLACK..=most + SLACK).contains(mm))
            })
    }
}

/// The plots of a sheet for a piece, the best grade first; none where the sheet will not do at all.
pub(crate) fn plots(sheet: &Sheet, needs: &Needs) -> Vec<Plot> {
    let will_do: Vec<f64> =
        sheet.thicknesses().into_iter().filter(|mm| needs.takes_thickness(*mm)).collect();
    if needs.thickness.is_some() && will_do.is_empty() && !sheet.thicknesses().is_empty() {
        return Vec::new();
    }
    let grades: Vec<u8> = sheet.grades().into_iter().filter(|g| needs.takes_grade(*g)).collect();
    if grades.is_empty() {
        return Vec::new();
    }
    let at_places = !sheet.readings.is_empty();
    if !needs.together {
        let mut bars = poor(sheet, |grade| needs.takes_grade(grade));
        bars.extend(off_gauge(sheet, |mm| needs.takes_thickness(mm)));
        return vec![Plot { grade: None, band: None, bars: Arc::new(bars) }];
    }
    let bands = if at_places { bands(will_do).into_iter().map(Some).collect() } else { vec![None] };
    let mut made = Vec::new();
    for own in grades {
        let poor = poor(sheet, |grade| grade == own);
        for band in &bands {
            let mut bars = poor.clone();
            if let Some((least, most)) = *band {
                let fits = |mm: f64| (least - SLACK..=most + SLACK).contains(&mm);
                bars.extend(off_gauge(sheet, fits));
            }
            made.push(Plot { grade: Some(own), band: *band, bars: Arc::new(bars) });
        }
    }
    made
}

/// Bands of thickness no wider than pieces that work together may differ by (mm), each as wide as it can be.
fn bands(mut readings: Vec<f64>) -> Vec<(f64, f64)> {
    readings.sort_by(f64::total_cmp);
    readings.dedup();
    let mut made: Vec<(f64, f64)> = Vec::new();
    for least in &readings {
        let most = readings.iter().copied().filter(|mm| mm - least <= TOGETHER_APART + SLACK);
        let most = most.fold(*least, f64::max);
        if made.last().is_none_or(|last| most > last.1) {
            made.push((*least, most));
        }
    }
    made
}

/// The cells of readings that do not fit.
fn off_gauge(sheet: &Sheet, fits: impl Fn(f64) -> bool) -> Vec<Core> {
    let beside = |n: &usize| !fits(sheet.readings[*n].thickness.mm());
    let cells = (0..sheet.readings.len()).filter(beside).map(|n| sheet.cell(n));
    cells.filter_map(|cell| core(cell, 0.0)).collect()
}

/// The ground whose grade does not fit.
fn poor(sheet: &Sheet, fits: impl Fn(u8) -> bool) -> Vec<Core> {
    let zones = &sheet.zones;
    let is_covered = |n: usize| {
        let box_of = zones[n].outline.bounds();
        zones[n + 1..].iter().any(|o| fits(o.grade) && o.outline.bounds().overlaps(box_of))
    };
    let beside: Vec<usize> = (0..zones.len()).filter(|n| !fits(zones[*n].grade)).collect();
    if fits(sheet.grade) && !beside.iter().any(|n| is_covered(*n)) {
        return beside.iter().flat_map(|n| cores(&zones[*n].outline)).collect();
    }
    let b = sheet.outline.bounds().inflate(1.0, 1.0);
    let whole = rectangle(Point::new(b.x0, b.y0), b.width(), b.height(), 0.0);
    let Ok(whole) = whole else { return Vec::new() };
    let mut grown = 0.0_f64;
    let mut layer = |it: &Loop, fits: bool| {
        let side = if fits { Side::Inside } else { Side::Outside };
        let (points, within) = thinned(&flatten(it, FLAT, side), |kept| kept.len() <= MOST_CORNERS);
        grown = grown.max(within);
        Layer { points, fits }
    };
    let mut layers = vec![layer(&whole, fits(sheet.grade))];
    layers.extend(zones.iter().map(|zone| layer(&zone.outline, fits(zone.grade))));
    strips(&layers, grown)
}

/// A convex core of corners that may repeat themselves; none where they enclose nothing.
fn core(mut corners: Vec<Point>, radius: f64) -> Option<Core> {
    let same = |p: Point, q: Point| (p - q).hypot() < 1e-9;
    corners.dedup_by(|p, q| same(*p, *q));
    while corners.len() > 1 && same(corners[0], corners[corners.len() - 1]) {
        corners.pop();
    }
    (corners.len() >= 3).then(|| Core::new(corners, radius))
}

/// A zone as a polygon.
struct Layer {
    points: Vec<Point>,
    fits: bool,
}

/// A side of a layer, its lower end first.
#[derive(Clone, Copy)]
struct Rise {
    low: Point,
    high: Point,
    layer: usize,
}

impl Rise {
    fn x_at(&self, y: f64) -> f64 {
        self.low.x + (self.high.x - self.low.x) * (y - self.low.y) / (self.high.y - self.low.y)
    }
}

/// The ground whose topmost layer does not fit, cut into strips between the heights of all corners and crossings: each
/// strip between two sides is a trapezium. Those that go on between the same sides are one.
fn strips(layers: &[Layer], radius: f64) -> Vec<Core> {
    let mut rises: Vec<Rise> = Vec::new();
    for (layer, it) in layers.iter().enumerate() {
        for (n, p) in it.points.iter().enumerate() {
            let q = it.points[(n + 1) % it.points.len()];
            let (low, high) = if p.y <= q.y { (*p, q) } else { (q, *p) };
            if high.y - low.y > LEAST_STRIP {
                rises.push(Rise { low, high, layer });
            }
        }
    }
    let mut heights: Vec<f64> = layers.iter().flat_map(|l| l.points.iter().map(|p| p.y)).collect();
    for (n, one) in rises.iter().enumerate() {
        heights.extend(rises[n + 1..].iter().filter_map(|two| crossing(one, two)));
    }
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|a, b| *a - *b < LEAST_STRIP);
    let mut made = Vec::new();
    // Strips that are open at their upper end: between which sides, and where each began.
    let mut open: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    let mut close = |sides: (usize, usize), from: f64, to: f64| {
        let at = |n: usize, y: f64| Point::new(rises[n].x_at(y), y);
        let corners = vec![at(sides.0, from), at(sides.1, from), at(sides.1, to), at(sides.0, to)];
        made.extend(core(corners, radius));
    };
    for pair in heights.windows(2) {
        let now = between(&rises, layers, (pair[0], pair[1]));
        let ended: Vec<(usize, usize)> =
            open.keys().filter(|sides| !now.contains(sides)).copied().collect();
        for sides in ended {
            if let Some(from) = open.remove(&sides) {
                close(sides, from, pair[0]);
            }
        }
        for sides in now {
            open.entry(sides).or_insert(pair[0]);
        }
    }
    let top = heights.last().copied().unwrap_or(0.0);
    for (sides, from) in open {
        close(sides, from, top);
    }
    made
}

/// The height at which two sides of different layers cross.
fn crossing(one: &Rise, two: &Rise) -> Option<f64> {
    if one.layer == two.layer || one.high.y <= two.low.y || two.high.y <= one.low.y {
        return None;
    }
    let (u, v) = (one.high - one.low, two.high - two.low);
    let cross = u.cross(v);
    if cross.abs() <= 1e-12 * u.hypot() * v.hypot() {
        return None;
    }
    let off = two.low - one.low;
    let (s, t) = (off.cross(v) / cross, off.cross(u) / cross);
    let within = |share: f64| (-1e-9..=1.0 + 1e-9).contains(&share);
    (within(s) && within(t)).then_some(one.low.y + u.y * s)
}

/// The pairs of sides between which, in a strip, the ground does not fit; neighbours are taken together.
fn between(rises: &[Rise], layers: &[Layer], (low, high): (f64, f64)) -> Vec<(usize, usize)> {
    let mid = f64::midpoint(low, high);
    let mut over: Vec<(f64, usize)> = rises
        .iter()
        .enumerate()
        .filter(|(_, r)| r.low.y < mid && r.high.y > mid)
        .map(|(n, r)| (r.x_at(mid), n))
        .collect();
    over.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut inside = vec![false; layers.len()];
    let mut begun: Option<usize> = None;
    let mut made = Vec::new();
    for (_, n) in over {
        let layer = rises[n].layer;
        inside[layer] = !inside[layer];
        let top = (0..layers.len()).rev().find(|l| inside[*l]);
        let barred = top.is_some_and(|l| !layers[l].fits);
        match (begun, barred) {
            (None, true) => begun = Some(n),
            (Some(from), false) => {
                made.push((from, n));
                begun = None;
            }
            _ => {}
        }
    }
    made
}

#[cfg(test)]
mod tests;
