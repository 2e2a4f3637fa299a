//! What stuff a piece lies on, measured on the true arcs: grades and readings.
//!
//! Every line in sight, the piece's own and the zones', is cut where it meets another; beside the middle of every
//! stretch, on both sides, one looks what is there. A field between lines is seen from each of its sides.

use super::super::couples::couples;
use super::super::{Layout, Placed};
use super::{BreachKind, Laid, Proving};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2, Where, point_in_loop, tolerance};
use crate::part::TOGETHER_APART;
use crate::sheet::Sheet;
use std::collections::{BTreeMap, BTreeSet};

/// How far beside a line one looks (mm).
const BESIDE: f64 = 3.0 * tolerance::SLACK;
/// The shares of a stretch at which one looks.
const LOOKS: [f64; 3] = [0.5, 0.2, 0.8];

/// What stuff a piece lies on.
#[derive(Debug, Clone, Default)]
pub(in crate::lay) struct Stock {
    /// Every grade, with a point where it is.
    pub(in crate::lay) grades: BTreeMap<u8, Point>,
    /// Every reading whose ground it has a share of (mm), with a point; none where none was taken at a place.
    pub(in crate::lay) readings: Vec<(f64, Point)>,
}

/// What stuff a shape lies on.
pub(in crate::lay) fn stock(sheet: &Sheet, shape: &Shape) -> Stock {
    Stock { grades: grades(sheet, shape), readings: readings(sheet, shape) }
}

fn lines(shape: &Shape) -> Vec<Seg> {
    shape.loops().flat_map(Loop::segs).collect()
}

/// Whether a point lies on a shape's own stuff, and not on its border.
fn within(p: Point, shape: &Shape) -> bool {
    point_in_loop(p, shape.outline()) == Where::Inside
        && shape.holes().iter().all(|hole| point_in_loop(p, hole) == Where::Outside)
}

fn clear_of(p: Point, lines: &[Seg]) -> bool {
    lines.iter().all(|line| line.distance_to(p) > tolerance::SLACK)
}

fn grades(sheet: &Sheet, shape: &Shape) -> BTreeMap<u8, Point> {
    let near = |b: Rect| b.overlaps(shape.bounds().inflate(1.0, 1.0));
    let zones = sheet.zones.iter().filter(|z| near(z.outline.bounds()));
    let borders: Vec<Seg> =
        zones.flat_map(|z| z.outline.segs()).filter(|s| near(s.bounds())).collect();
    let mut found = BTreeMap::new();
    if borders.is_empty() {
        // No border in sight: what is at one point of it is everywhere.
        let start = shape.outline().start();
        found.insert(sheet.grade_at(start), start);
        return found;
    }
    let mut all = lines(shape);
    all.extend(borders);
    for (n, line) in all.iter().enumerate() {
        let others = all.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, s)| s);
        for (p, way) in looks(line, others) {
            let out = Vec2::new(way.y, -way.x) * BESIDE;
            for q in [p + out, p - out] {
                if within(q, shape) && clear_of(q, &all) {
                    found.entry(sheet.grade_at(q)).or_insert(q);
                }
            }
        }
    }
    found
}

/// Points of every stretch of a line between its meetings with others, each with the direction there.
fn looks<'a>(line: &Seg, others: impl Iterator<Item = &'a Seg>) -> Vec<(Point, Vec2)> {
    let mut cuts = vec![0.0, 1.0];
    let own = line.bounds().inflate(1e-3, 1e-3);
    for other in others.filter(|o| o.bounds().inflate(1e-3, 1e-3).overlaps(own)) {
        cuts.extend(line.meet(other).into_iter().map(|p| share_of(line, p)));
    }
    cuts.sort_by(f64::total_cmp);
    let stretches = cuts.windows(2).filter(|w| w[1] - w[0] > 1e-12);
    stretches
        .flat_map(|w| LOOKS.map(|share| w[0] + (w[1] - w[0]) * share))
        .map(|t| (line.at(t), line.direction(t)))
        .collect()
}

/// The share of a line's length at which a point of it lies.
fn share_of(line: &Seg, p: Point) -> f64 {
    if line.is_line() {
        let chord = line.chord();
        return ((p - line.a).dot(chord) / chord.hypot2()).clamp(0.0, 1.0);
    }
    let center = line.center();
    let (from, to) = (line.a - center, p - center);
    (from.cross(to).atan2(from.dot(to)) / line.sweep()).clamp(0.0, 1.0)
}

fn readings(sheet: &Sheet, shape: &Shape) -> Vec<(f64, Point)> {
    if let [only] = &sheet.readings[..] {
        return vec![(only.thickness.mm(), shape.outline().start())];
    }
    if sheet.readings.is_empty() {
        return Vec::new();
    }
    let b = shape.bounds();
    let half = b.width().hypot(b.height()) / 2.0;
    let off = |n: usize| (sheet.readings[n].at - b.center()).hypot();
    let all = 0..sheet.readings.len();
    let least = all.clone().map(off).fold(f64::INFINITY, f64::min);
    // No other can be the nearest anywhere in its box.
    let near: Vec<usize> = all.filter(|n| off(*n) <= least + 2.0 * half + 1.0).collect();
    let at = |n: usize| sheet.readings[n].at;
    let mut middles: Vec<Seg> = Vec::new();
    for (k, one) in near.iter().enumerate() {
        for two in &near[k + 1..] {
            let (middle, way) = (at(*one).midpoint(at(*two)), at(*two) - at(*one));
            let along = Vec2::new(-way.y, way.x) / way.hypot();
            let foot = middle + along * (b.center() - middle).dot(along);
            middles.push(Seg::line(
                foot - along * (2.0 * half + 1.0),
                foot + along * (2.0 * half + 1.0),
            ));
        }
    }
    let mut seen: Vec<Point> = lines(shape)
        .iter()
        .flat_map(|line| looks(line, middles.iter()))
        .flat_map(|(p, way)| {
            let out = Vec2::new(way.y, -way.x) * BESIDE;
            [p + out, p - out]
        })
        .collect();
    // Ground that lies wholly within it holds its own reading.
    seen.extend(near.iter().map(|n| at(*n)));
    let mut found: BTreeMap<usize, Point> = BTreeMap::new();
    let border = lines(shape);
    for p in seen {
        let nearest = near
            .iter()
            .copied()
            .min_by(|m, n| (at(*m) - p).hypot2().total_cmp(&(at(*n) - p).hypot2()).then(m.cmp(n)));
        let Some(own) = nearest else { continue };
        let is_clear = near.iter().filter(|n| **n != own).all(|n| {
            let way = at(*n) - at(own);
            (at(own).midpoint(at(*n)) - p).dot(way) > tolerance::SLACK * way.hypot()
        });
        if is_clear && !found.contains_key(&own) && within(p, shape) && clear_of(p, &border) {
            found.insert(own, p);
        }
    }
    found.into_iter().map(|(n, p)| (sheet.readings[n].thickness.mm(), p)).collect()
}

impl Proving<'_> {
    /// Every piece on stuff that will do for it, and those that work together on stuff that is alike.
    pub(super) fn stock(&mut self, layout: &Layout, laid: &[Laid<'_>]) {
        let mut lies: BTreeMap<usize, (usize, Stock)> = BTreeMap::new();
        for it in laid {
            let Placed { piece: index, ground, .. } = *it.placed;
            let (needs, sheet) =
                (self.group.pieces[index].needs, &self.group.grounds[ground].sheet);
            let known = sheet.thicknesses();
            let found = stock(sheet, &it.shape);
            for (grade, p) in &found.grades {
                if !needs.takes_grade(*grade) {
                    let what = format!(
                        "lies on grade {grade} near x {:.2} y {:.2}; it takes grade {} at worst",
                        p.x,
                        p.y,
                        needs.grade.unwrap_or(*grade)
                    );
                    self.breach(BreachKind::Grade, index, None, &what);
                }
            }
            let wanted = needs.thickness.unwrap_or_default();
            for (mm, p) in &found.readings {
                if !needs.takes_thickness(*mm) {
                    let what = format!(
                        "lies on stuff of {mm:.3} mm near x {:.2} y {:.2}; {:.3} to {:.3} mm is wanted",
                        p.x, p.y, wanted.0, wanted.1
                    );
                    self.breach(BreachKind::Thickness, index, None, &what);
                }
            }
            if sheet.readings.is_empty()
                && !known.is_empty()
                && !known.iter().any(|mm| needs.takes_thickness(*mm))
            {
                let what = format!(
                    "lies on a sheet of {:.3} mm; {:.3} to {:.3} mm is wanted",
                    known[0], wanted.0, wanted.1
                );
                self.breach(BreachKind::Thickness, index, None, &what);
            }
            if needs.together {
                lies.insert(index, (ground, found));
            }
        }
        self.together(layout, &lies);
    }

    fn together(&mut self, layout: &Layout, lies: &BTreeMap<usize, (usize, Stock)>) {
        let left: BTreeSet<usize> = layout.left.iter().map(|l| l.piece).collect();
        for couple in couples(self.group) {
            let mut first: Option<usize> = None;
            for piece in &couple {
                let Some((ground, own)) = lies.get(piece) else {
                    continue;
                };
                if own.grades.len() > 1 || spread(&[own]) > TOGETHER_APART + tolerance::SLACK {
                    let what = "works with another piece and lies across two zones";
                    self.breach(BreachKind::Couple, *piece, None, what);
                    continue;
                }
                if let Some(mate) = couple.iter().find(|mate| left.contains(mate)) {
                    let what = "work together, and only one has a place";
                    self.breach(BreachKind::Couple, *piece, Some(*mate), what);
                }
                let Some(one) = first else {
                    first = Some(*piece);
                    continue;
                };
                let (there, theirs) = &lies[&one];
                let what = if ground != there {
                    Some("work together and lie on two sheets".to_owned())
                } else if own.grades.keys().ne(theirs.grades.keys()) {
                    Some("work together and lie on two grades".to_owned())
                } else {
                    let apart = spread(&[own, theirs]);
                    (apart > TOGETHER_APART + tolerance::SLACK).then(|| {
                        format!("work together and lie on stuff that differs by {apart:.3} mm")
                    })
                };
                if let Some(what) = what {
                    self.breach(BreachKind::Couple, one, Some(*piece), &what);
                }
            }
        }
    }
}

/// How far the readings under some pieces differ (mm).
fn spread(pieces: &[&Stock]) -> f64 {
    let all = || pieces.iter().flat_map(|s| s.readings.iter().map(|r| r.0));
    let least = all().fold(f64::INFINITY, f64::min);
    (all().fold(f64::NEG_INFINITY, f64::max) - least).max(0.0)
}
