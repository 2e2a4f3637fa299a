//! Where on a line a cut begins: nearest to a point, or best between two.

use super::Stop;
use crate::geom::{Loop, Point, Rect, Seg, Vec2};

/// The point of a line that is nearest to `p` with its distance, if it is at most `least`.
pub(super) fn nearest(stop: &Stop, p: Point, least: f64) -> Option<(f64, Point)> {
    let take = |found: Option<Point>| {
        let q = found?;
        let far = (q - p).hypot();
        (far <= least).then_some((far, q))
    };
    match &stop.line {
        Loop::Circle(c, r) => {
            let ray = p - *c;
            let way = if ray.hypot() > 0.0 { ray / ray.hypot() } else { Vec2::new(1.0, 0.0) };
            take(Some(*c + way * *r))
        }
        Loop::Chain(segs) => {
            let mut best: Option<(f64, Point)> = None;
            for seg in segs {
                let so_far = best.map_or(least, |b| b.0);
                if to_box(p, seg.bounds()) > so_far {
                    continue;
                }
                let q = if stop.anywhere { seg.nearest(p) } else { seg.a };
                let far = (q - p).hypot();
                if far <= so_far && best.is_none_or(|b| far < b.0) {
                    best = Some((far, q));
                }
            }
            best
        }
    }
}

fn to_box(p: Point, b: Rect) -> f64 {
    let dx = (b.x0 - p.x).max(p.x - b.x1).max(0.0);
    let dy = (b.y0 - p.y).max(p.y - b.y1).max(0.0);
    dx.hypot(dy)
}

/// The start with the least way from `before` by it to `after`; it stays where nothing is better.
pub(super) fn between(stop: &Stop, now: Point, before: Point, after: Option<Point>) -> Point {
    let Some(after) = after else {
        return nearest(stop, before, f64::INFINITY).map_or(now, |(_, p)| p);
    };
    let cost = |p: Point| (p - before).hypot() + (after - p).hypot();
    let mut best = (cost(now) - 1e-9, now);
    let take = |p: Point, best: &mut (f64, Point)| {
        let way = cost(p);
        if way < best.0 {
            *best = (way, p);
        }
    };
    match &stop.line {
        Loop::Circle(c, r) => take(on_circle(*c, *r, before, after), &mut best),
        Loop::Chain(segs) => {
            for seg in segs {
                if !stop.anywhere {
                    take(seg.a, &mut best);
                    continue;
                }
                let bounds = seg.bounds();
                if to_box(before, bounds) + to_box(after, bounds) < best.0 {
                    let p = if seg.is_line() {
                        on_line(seg, before, after)
                    } else {
                        on_arc(seg, &cost)
                    };
                    take(p, &mut best);
                }
            }
        }
    }
    best.1
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

/// The best point of an arc of at most half a turn.
fn on_arc(seg: &Seg, cost: &dyn Fn(Point) -> f64) -> Point {
    let share = least(0.0, 1.0, 5, &|t| cost(seg.at(t)));
    seg.at(share)
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
        return thrown_back(c, r, a, b);
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

/// The point of a circle at which a ray from one point outside is thrown back to another: between the two, and where
/// both lie equally aslant.
fn thrown_back(c: Point, r: f64, a: Point, b: Point) -> Point {
    let (u, v) = (a - c, b - c);
    let (from, turn) = (u.y.atan2(u.x), u.cross(v).atan2(u.dot(v)));
    let unit = |w: Vec2| w / w.hypot().max(1e-12);
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..14 {
        let share = (low + high) / 2.0;
        let normal = Vec2::from_angle(from + turn * share);
        let p = c + normal * r;
        let along = normal.cross(unit(a - p) + unit(b - p)) * turn;
        if along > 0.0 {
            low = share;
        } else {
            high = share;
        }
    }
    c + Vec2::from_angle(from + turn * (low + high) / 2.0) * r
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
