//! Where on a line a cut begins: nearest to a point, or best between two.

use super::Stop;
use crate::geom::{Loop, Point, Rect, Seg, Vec2};

/// Halvings of an angle until the best start on a round line is found.
const HALVINGS: usize = 11;

/// A stop with what is asked of it a million times worked out once.
pub(super) struct Track {
    line: Line,
    anywhere: bool,
}

enum Line {
    Circle(Point, f64),
    Chain(Vec<Bit>),
}

/// A piece of a chain.
struct Bit {
    seg: Seg,
    bounds: Rect,
    /// Centre and radius of an arc; none of a straight line.
    round: Option<(Point, f64)>,
}

impl Track {
    pub(super) fn of(stop: &Stop) -> Track {
        let line = match &stop.line {
            Loop::Circle(c, r) => Line::Circle(*c, *r),
            Loop::Chain(segs) => Line::Chain(
                segs.iter()
                    .map(|seg| Bit {
                        seg: *seg,
                        bounds: seg.bounds(),
                        round: (!seg.is_line()).then(|| (seg.center(), seg.radius())),
                    })
                    .collect(),
            ),
        };
        Track { line, anywhere: stop.anywhere }
    }

    /// The point that is nearest to `p` with its distance, if it is at most `least`.
    pub(super) fn nearest(&self, p: Point, least: f64) -> Option<(f64, Point)> {
        match &self.line {
            Line::Circle(c, r) => {
                let ray = p - *c;
                let far = ray.hypot();
                let way = if far > 0.0 { ray / far } else { Vec2::new(1.0, 0.0) };
                let q = *c + way * *r;
                let far = (q - p).hypot();
                (far <= least).then_some((far, q))
            }
            Line::Chain(bits) => {
                let mut best: Option<(f64, Point)> = None;
                for bit in bits {
                    let so_far = best.map_or(least, |b| b.0);
                    if to_box(p, bit.bounds) > so_far {
                        continue;
                    }
                    let q = if self.anywhere { bit.seg.nearest(p) } else { bit.seg.a };
                    let far = (q - p).hypot();
                    if far <= so_far && best.is_none_or(|b| far < b.0) {
                        best = Some((far, q));
                    }
                }
                best
            }
        }
    }

    /// The start with the least way from `before` by it to `after`; it stays where nothing is better.
    pub(super) fn between(&self, now: Point, before: Point, after: Option<Point>) -> Point {
        let Some(after) = after else {
            return self.nearest(before, f64::INFINITY).map_or(now, |(_, p)| p);
        };
        let cost = |p: Point| (p - before).hypot() + (after - p).hypot();
        let mut best = (cost(now) - 1e-9, now);
        let take = |p: Point, best: &mut (f64, Point)| {
            let way = cost(p);
            if way < best.0 {
                *best = (way, p);
            }
        };
        match &self.line {
            Line::Circle(c, r) => take(on_circle(*c, *r, before, after), &mut best),
            Line::Chain(bits) => {
                for bit in bits {
                    if !self.anywhere {
                        take(bit.seg.a, &mut best);
                    } else if to_box(before, bit.bounds) + to_box(after, bit.bounds) < best.0 {
                        let p = match bit.round {
                            None => on_line(&bit.seg, before, after),
                            Some((center, r)) => on_arc(&bit.seg, center, r, before, after),
                        };
                        take(p, &mut best);
                    }
                }
            }
        }
        best.1
    }
}

fn to_box(p: Point, b: Rect) -> f64 {
    let dx = (b.x0 - p.x).max(p.x - b.x1).max(0.0);
    let dy = (b.y0 - p.y).max(p.y - b.y1).max(0.0);
    (dx * dx + dy * dy).sqrt()
}

/// The least sum of two distances is where a ray is thrown back, or where the straight way crosses.
fn on_line(seg: &Seg, a: Point, b: Point) -> Point {
    let chord = seg.chord();
    let square = chord.hypot2();
    if square == 0.0 {
        return seg.a;
    }
    let off = |p: Point| chord.cross(p - seg.a).abs();
    let along = |p: Point| chord.dot(p - seg.a) / square;
    let (u, v) = (off(a), off(b));
    let share = if u + v > 0.0 { (along(a) * v + along(b) * u) / (u + v) } else { along(a) };
    seg.at(share)
}

/// The best point of an arc of at most half a turn, by its ends and quarters first.
fn on_arc(seg: &Seg, c: Point, r: f64, a: Point, b: Point) -> Point {
    let chord = seg.chord();
    let out = Vec2::new(chord.y, -chord.x) * seg.bulge.signum();
    let (first, last) = ((seg.a - c) / r, (seg.b - c) / r);
    let middle = unit(out);
    let rays = [first, unit(first + middle), middle, unit(middle + last), last];
    let cost = |ray: &Vec2| {
        let p = c + *ray * r;
        (p - a).hypot() + (b - p).hypot()
    };
    let best = (0..rays.len())
        .min_by(|i, j| cost(&rays[*i]).total_cmp(&cost(&rays[*j])))
        .unwrap_or_default();
    let (low, high) = (rays[best.saturating_sub(1)], rays[(best + 1).min(rays.len() - 1)]);
    let p = c + settled(c, r, (low, high), a, b) * r;
    let at = c + rays[best] * r;
    let way = |p: Point| (p - a).hypot() + (b - p).hypot();
    if way(p) <= way(at) { p } else { at }
}

/// The best point of a circle.
fn on_circle(c: Point, r: f64, a: Point, b: Point) -> Point {
    let (u, v) = (a - c, b - c);
    let (far_a, far_b) = (u.hypot(), v.hypot());
    // From inside to outside the straight way crosses; the crossing costs nothing.
    if (far_a < r) != (far_b < r) {
        return crossing(c, r, a, b);
    }
    if far_a >= r && far_b >= r {
        let way = b - a;
        let square = way.hypot2();
        let share = if square > 0.0 { (-u.dot(way) / square).clamp(0.0, 1.0) } else { 0.0 };
        if (a + way * share - c).hypot() < r {
            return crossing(c, r, a, b);
        }
        // A ray from one point is thrown back to the other between the two.
        return c + settled(c, r, (unit(u), unit(v)), a, b) * r;
    }
    let angle = |w: Vec2| w.y.atan2(w.x);
    let (from, turn) = (angle(u), u.cross(v).atan2(u.dot(v)));
    let cost = |t: f64| {
        let p = c + Vec2::from_angle(from + turn * t) * r;
        (p - a).hypot() + (b - p).hypot()
    };
    let share = least(0.0, 1.0, 5, &cost);
    c + Vec2::from_angle(from + turn * share) * r
}

/// The ray of a circle between two others, less than half a turn apart, at whose point the ways to two points lie
/// equally aslant: there their sum no longer falls.
fn settled(c: Point, r: f64, (low, high): (Vec2, Vec2), a: Point, b: Point) -> Vec2 {
    let onward = low.cross(high);
    let (mut low, mut high) = (low, high);
    for _ in 0..HALVINGS {
        let ray = unit(low + high);
        let p = c + ray * r;
        if ray.cross(unit(a - p) + unit(b - p)) * onward > 0.0 {
            low = ray;
        } else {
            high = ray;
        }
    }
    unit(low + high)
}

fn unit(w: Vec2) -> Vec2 {
    w / w.hypot().max(1e-12)
}

/// The first point of the way from `a` to `b` on a circle.
fn crossing(c: Point, r: f64, a: Point, b: Point) -> Point {
    let (u, way) = (a - c, b - a);
    let (square, half) = (way.hypot2(), u.dot(way));
    let root = (half * half - square * (u.hypot2() - r * r)).max(0.0).sqrt();
    let first = (-half - root) / square;
    let share = if (0.0..=1.0).contains(&first) { first } else { (-half + root) / square };
    let p = a + way * share;
    // Onto the circle to the last bit that there is.
    let ray = p - c;
    c + ray * (r / ray.hypot())
}

/// Where a function is least, by samples and then ever narrower thirds.
fn least(from: f64, to: f64, samples: u32, f: &dyn Fn(f64) -> f64) -> f64 {
    let step = (to - from) / f64::from(samples - 1);
    let at = |i: u32| from + step * f64::from(i);
    let first = (0..samples).min_by(|i, j| f(at(*i)).total_cmp(&f(at(*j)))).unwrap_or(0);
    let (mut low, mut high) = ((at(first) - step).max(from), (at(first) + step).min(to));
    for _ in 0..16 {
        let third = (high - low) / 3.0;
        if f(low + third) <= f(high - third) {
            high -= third;
        } else {
            low += third;
        }
    }
    let middle = (low + high) / 2.0;
    if f(middle) <= f(at(first)) { middle } else { at(first) }
}
