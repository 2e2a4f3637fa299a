//! Loops that the trade's parts are made of.

use super::loops::{GeomFault, Loop};
use super::seg::Seg;
use super::tolerance::SAME_POINT;
use kurbo::Point;

/// A closed polygon.
///
/// # Errors
/// As [`Loop::chain`].
pub fn polygon(points: &[Point]) -> Result<Loop, GeomFault> {
    Loop::polygon(points)
}

/// An upright rectangle from its lower left corner, with rounded corners (mm); radius 0 keeps them sharp.
///
/// A radius of half the shorter side or more is drawn in to it, which gives an obround or a circle.
///
/// # Errors
/// Refuses sides that are not positive.
pub fn rectangle(corner: Point, width: f64, height: f64, radius: f64) -> Result<Loop, GeomFault> {
    // What no two points could show is left of no side, and no radius.
    let most = width.min(height) / 2.0;
    let radius = match radius {
        r if r > most - SAME_POINT => most,
        r if r < SAME_POINT => 0.0,
        r => r,
    };
    let far = Point::new(corner.x + width, corner.y + height);
    let points = [corner, Point::new(far.x, corner.y), far, Point::new(corner.x, far.y)];
    rounded_polygon(&points, radius)
}

/// A slot with round ends from one end's centre to the other's.
///
/// # Errors
/// Refuses a width that is not positive.
pub fn obround(from: Point, to: Point, width: f64) -> Result<Loop, GeomFault> {
    let way = to - from;
    if way.hypot() <= SAME_POINT {
        return Loop::circle(from, width / 2.0);
    }
    let side = kurbo::Vec2::new(way.y, -way.x) * (width / 2.0 / way.hypot());
    Loop::chain(vec![
        Seg::line(from + side, to + side),
        Seg::arc(to + side, to - side, 1.0),
        Seg::line(to - side, from - side),
        Seg::arc(from - side, from + side, 1.0),
    ])
}

/// A polygon, counter-clockwise, whose corners are rounded by one radius (mm).
///
/// # Errors
/// As [`Loop::chain`]; a radius too large for a side shows as a loop that crosses itself.
pub fn rounded_polygon(points: &[Point], radius: f64) -> Result<Loop, GeomFault> {
    if radius <= 0.0 {
        return Loop::polygon(points);
    }
    let n = points.len();
    let corners: Vec<(Point, Point, f64)> = (0..n)
        .map(|i| {
            let (before, at, after) = (points[(i + n - 1) % n], points[i], points[(i + 1) % n]);
            let (inward, onward) = (at - before, after - at);
            let turn = inward.cross(onward).atan2(inward.dot(onward));
            let reach = radius * (turn.abs() / 2.0).tan();
            let start = at - inward * (reach / inward.hypot());
            let end = at + onward * (reach / onward.hypot());
            (start, end, (turn / 4.0).tan())
        })
        .collect();
    let mut segs = Vec::with_capacity(2 * n);
    for i in 0..n {
        let (start, end, bulge) = corners[i];
        segs.push(Seg::arc(start, end, bulge));
        segs.push(Seg::line(end, corners[(i + 1) % n].0));
    }
    Loop::chain(segs)
}
