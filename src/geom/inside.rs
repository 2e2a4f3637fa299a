//! Inside or outside, and how far apart.

use super::loops::Loop;
use super::seg::Seg;
use super::shape::Shape;
use super::tolerance::SAME_POINT;
use kurbo::Point;

/// Where a point lies with regard to a loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    /// Within.
    Inside,
    /// On the line, within the same-point tolerance.
    On,
    /// Without.
    Outside,
}

/// Whether a point lies inside a loop, arcs taken exactly.
pub fn point_in_loop(p: Point, it: &Loop) -> Where {
    if let Loop::Circle(center, radius) = it {
        let off = (p - *center).hypot() - radius;
        return if off.abs() <= SAME_POINT {
            Where::On
        } else if off < 0.0 {
            Where::Inside
        } else {
            Where::Outside
        };
    }
    let Loop::Chain(segs) = it else {
        return Where::Outside;
    };
    if segs.iter().any(|s| near(s, p)) {
        return Where::On;
    }
    // Winding of the chords, mended by each cap between chord and arc that holds the point.
    let mut winding = 0_i32;
    for seg in segs {
        winding += chord_winding(seg, p);
        if !seg.is_line() && in_cap(seg, p) {
            winding += if seg.bulge > 0.0 { 1 } else { -1 };
        }
    }
    if winding == 0 { Where::Outside } else { Where::Inside }
}

fn near(seg: &Seg, p: Point) -> bool {
    seg.bounds().inflate(SAME_POINT, SAME_POINT).contains(p) && seg.distance_to(p) <= SAME_POINT
}

fn chord_winding(seg: &Seg, p: Point) -> i32 {
    let side = seg.chord().cross(p - seg.a);
    if seg.a.y <= p.y && seg.b.y > p.y && side > 0.0 {
        1
    } else if seg.a.y > p.y && seg.b.y <= p.y && side < 0.0 {
        -1
    } else {
        0
    }
}

/// Whether the point lies between a chord and its arc.
///
/// On the chord itself the winding of the chord decides by its own half-open rule: the cap takes the far side only,
/// and a point exactly on the chord counts as on the left of it, where `chord_winding` does not count it.
fn in_cap(seg: &Seg, p: Point) -> bool {
    let side = seg.chord().cross(p - seg.a);
    let beyond = if seg.bulge > 0.0 { side <= 0.0 } else { side > 0.0 };
    beyond && (p - seg.center()).hypot() < seg.radius()
}

/// Least distance between two loops' lines (mm), and where on the first; nothing is said of inside and outside.
pub fn loop_distance(one: &Loop, two: &Loop) -> (f64, Point) {
    if let (Loop::Circle(c, r), Loop::Circle(d, s)) = (one, two) {
        let ray = *d - *c;
        let between = ray.hypot();
        let apart = (between - r - s).max((r - s).abs() - between).max(0.0);
        let way = if between > 0.0 { ray / between } else { kurbo::Vec2::new(1.0, 0.0) };
        let at = if between + r < *s { *c - way * *r } else { *c + way * *r };
        return (apart, at);
    }
    let others: Vec<_> = two.segs().into_iter().map(|s| (s.bounds(), s)).collect();
    let mut best = (f64::INFINITY, one.start());
    for seg in one.segs() {
        let bounds = seg.bounds();
        for (other_bounds, other) in &others {
            if box_gap(bounds, *other_bounds) < best.0 {
                let found = seg.distance(other);
                if found.0 < best.0 {
                    best = found;
                }
            }
        }
    }
    best
}

fn box_gap(a: kurbo::Rect, b: kurbo::Rect) -> f64 {
    let dx = (b.x0 - a.x1).max(a.x0 - b.x1).max(0.0);
    let dy = (b.y0 - a.y1).max(a.y0 - b.y1).max(0.0);
    dx.hypot(dy)
}

/// Whether `inner` lies wholly inside `outer`, their lines apart.
pub fn loop_within(inner: &Loop, outer: &Loop) -> bool {
    point_in_loop(inner.start(), outer) == Where::Inside
        && loop_distance(inner, outer).0 > SAME_POINT
}

/// Distance between two pieces of material (mm): 0 where they overlap, one inside a hole of the other allowed.
pub fn shape_distance(one: &Shape, two: &Shape) -> (f64, Point) {
    let mut best = (f64::INFINITY, one.outline().start());
    for a in one.loops() {
        for b in two.loops() {
            let found = loop_distance(a, b);
            if found.0 < best.0 {
                best = found;
            }
        }
    }
    let within = |p: Point, shape: &Shape| {
        point_in_loop(p, shape.outline()) != Where::Outside
            && shape.holes().iter().all(|h| point_in_loop(p, h) != Where::Inside)
    };
    if within(one.outline().start(), two) || within(two.outline().start(), one) {
        return (0.0, best.1);
    }
    best
}
