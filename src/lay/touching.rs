//! Touching or overlapping: the question where no distance at all is wanted, and a distance of 0 tells nothing.

use crate::geom::{Loop, Point, Seg, Shape, Where, point_in_loop, tolerance};

/// Whether a loop leaves another by more than the slack.
pub(super) fn leaves(one: &Loop, outer: &Loop) -> bool {
    between(one, &outer.segs())
        .into_iter()
        .any(|p| point_in_loop(p, outer) == Where::Outside && off(p, outer) > tolerance::SLACK)
}

/// Whether two shapes share more than their border.
pub(super) fn overlap(one: &Shape, two: &Shape) -> bool {
    if one.outline() == two.outline() {
        return true;
    }
    let enters = |one: &Shape, two: &Shape| {
        let theirs: Vec<Seg> = two.loops().flat_map(Loop::segs).collect();
        one.loops().any(|it| {
            between(it, &theirs).into_iter().any(|p| {
                point_in_loop(p, two.outline()) == Where::Inside
                    && two.holes().iter().all(|hole| point_in_loop(p, hole) == Where::Outside)
                    && two.loops().all(|border| off(p, border) > tolerance::SLACK)
            })
        })
    };
    enters(one, two) || enters(two, one)
}

fn off(p: Point, it: &Loop) -> f64 {
    it.segs().iter().map(|s| s.distance_to(p)).fold(f64::INFINITY, f64::min)
}

/// A point of every stretch of a loop that runs between two meetings with other lines.
fn between(it: &Loop, others: &[Seg]) -> Vec<Point> {
    let mut found = Vec::new();
    for seg in it.segs() {
        let mut cuts = vec![0.0, 1.0];
        for other in others {
            cuts.extend(seg.meet(other).into_iter().map(|p| share_of(&seg, p)));
        }
        cuts.sort_by(f64::total_cmp);
        found.extend(
            cuts.windows(2)
                .filter(|w| w[1] - w[0] > 1e-12)
                .map(|w| seg.at(f64::midpoint(w[0], w[1]))),
        );
    }
    found
}

/// The share of a piece's length at which a point of it lies.
fn share_of(seg: &Seg, p: Point) -> f64 {
    if seg.is_line() {
        let chord = seg.chord();
        return ((p - seg.a).dot(chord) / chord.hypot2()).clamp(0.0, 1.0);
    }
    let center = seg.center();
    let (from, to) = (seg.a - center, p - center);
    let turned = from.cross(to).atan2(from.dot(to));
    (turned / seg.sweep()).clamp(0.0, 1.0)
}
