//! What of a line lies within an upright box.

use crate::geom::{Point, Rect, Seg};
use std::f64::consts::TAU;

/// A point counts as inside up to this far outside (mm).
const EDGE: f64 = 1e-9;

/// The pieces of a line or an arc inside a box; arcs stay arcs.
pub(in crate::write::picture) fn clipped(seg: &Seg, area: &Rect) -> Vec<Seg> {
    let b = seg.bounds();
    if b.x1 < area.x0 || b.x0 > area.x1 || b.y1 < area.y0 || b.y0 > area.y1 {
        return Vec::new();
    }
    if holds(area, &b) {
        return vec![*seg];
    }
    let mut stops = vec![0.0, 1.0];
    stops.extend(crossings(seg, area).into_iter().filter(|t| *t > 0.0 && *t < 1.0));
    stops.sort_by(f64::total_cmp);
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for pair in stops.windows(2) {
        if pair[1] - pair[0] <= 0.0 || !inside(area, seg.at((pair[0] + pair[1]) / 2.0)) {
            continue;
        }
        match runs.last_mut() {
            Some(run) if run.1 >= pair[0] => run.1 = pair[1],
            _ => runs.push((pair[0], pair[1])),
        }
    }
    let part = |(from, to): (f64, f64)| Seg {
        a: seg.at(from),
        b: seg.at(to),
        bulge: if seg.is_line() { 0.0 } else { (seg.sweep() * (to - from) / 4.0).tan() },
    };
    runs.into_iter().map(part).collect()
}

/// Whether any of a line lies inside a box.
pub(super) fn touches(seg: &Seg, area: &Rect) -> bool {
    !clipped(seg, area).is_empty()
}

/// Whether a box lies within another.
pub(super) fn holds(outer: &Rect, inner: &Rect) -> bool {
    inner.x0 >= outer.x0 - EDGE
        && inner.x1 <= outer.x1 + EDGE
        && inner.y0 >= outer.y0 - EDGE
        && inner.y1 <= outer.y1 + EDGE
}

fn inside(area: &Rect, p: Point) -> bool {
    p.x >= area.x0 - EDGE && p.x <= area.x1 + EDGE && p.y >= area.y0 - EDGE && p.y <= area.y1 + EDGE
}

/// Shares of a line's length at which it meets the four lines of a box.
fn crossings(seg: &Seg, area: &Rect) -> Vec<f64> {
    if seg.is_line() {
        let way = seg.b - seg.a;
        let at = |line: f64, from: f64, step: f64| (line - from) / step;
        return [
            at(area.x0, seg.a.x, way.x),
            at(area.x1, seg.a.x, way.x),
            at(area.y0, seg.a.y, way.y),
            at(area.y1, seg.a.y, way.y),
        ]
        .into_iter()
        .filter(|t| t.is_finite())
        .collect();
    }
    let (center, radius, sweep) = (seg.center(), seg.radius(), seg.sweep());
    let first = (seg.a - center).atan2();
    let mut angles = Vec::new();
    for x in [area.x0, area.x1] {
        let half = ((x - center.x) / radius).acos();
        angles.extend([half, -half]);
    }
    for y in [area.y0, area.y1] {
        let up = ((y - center.y) / radius).asin();
        angles.extend([up, std::f64::consts::PI - up]);
    }
    let share = |angle: f64| ((angle - first) * sweep.signum()).rem_euclid(TAU) / sweep.abs();
    angles.into_iter().filter(|a| a.is_finite()).map(share).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Loop;

    #[test]
    fn a_line_is_cut_at_the_sides_of_the_box() {
        let area = Rect::new(0.0, 0.0, 10.0, 10.0);
        let across = Seg::line(Point::new(-5.0, 4.0), Point::new(15.0, 4.0));
        let kept = clipped(&across, &area);
        assert_eq!(kept.len(), 1);
        assert!((kept[0].a - Point::new(0.0, 4.0)).hypot() < 1e-12);
        assert!((kept[0].b - Point::new(10.0, 4.0)).hypot() < 1e-12);
        assert!(!touches(&Seg::line(Point::new(-1.0, 9.0), Point::new(1.0, 12.0)), &area));
        assert!(touches(&Seg::line(Point::new(-1.0, 5.0), Point::new(5.0, 9.0)), &area));
    }

    /// A circle about a corner keeps a quarter of itself; the length is worked out by hand.
    #[test]
    fn an_arc_stays_an_arc() {
        let area = Rect::new(0.0, 0.0, 100.0, 100.0);
        for radius in [3.0, 40.0, 99.0] {
            let circle = Loop::Circle(Point::ORIGIN, radius);
            let kept: Vec<Seg> = circle.segs().iter().flat_map(|s| clipped(s, &area)).collect();
            let length: f64 = kept.iter().map(Seg::length).sum();
            assert!((length - radius * std::f64::consts::FRAC_PI_2).abs() < 1e-9, "{radius}");
            assert!(kept.iter().all(|s| (s.radius() - radius).abs() < 1e-9));
        }
    }
}
