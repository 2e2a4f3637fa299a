//! Where letters have most room inside a shape.

use crate::geom::{Loop, Point, Seg, Shape, Where, point_in_loop};

/// Points of the grid along each side of the box.
const GRID: u32 = 14;
/// How often the grid is drawn in about its best point.
const ROUNDS: u32 = 4;

/// The point of the material that is farthest from every line, and how far that is (mm).
pub(super) fn roomiest(shape: &Shape, lines: &[Seg]) -> (Point, f64) {
    if let (Some((center, radius)), true, true) =
        (shape.outline().as_circle(), shape.holes().is_empty(), lines.is_empty())
    {
        return (center, radius);
    }
    let mut area = shape.bounds();
    let mut best = (area.center(), clear(shape, lines, area.center()));
    for _ in 0..ROUNDS {
        let step = (area.width() / f64::from(GRID), area.height() / f64::from(GRID));
        for (i, j) in (0..=GRID).flat_map(|i| (0..=GRID).map(move |j| (i, j))) {
            let p = Point::new(area.x0 + step.0 * f64::from(i), area.y0 + step.1 * f64::from(j));
            let room = clear(shape, lines, p);
            if room > best.1 + 1e-9 {
                best = (p, room);
            }
        }
        area = crate::geom::Rect::from_center_size(best.0, (3.0 * step.0, 3.0 * step.1));
    }
    best
}

/// How far a point of the material is from the nearest line; less than 0 outside.
pub(super) fn clear(shape: &Shape, lines: &[Seg], p: Point) -> f64 {
    let outside = point_in_loop(p, shape.outline()) != Where::Inside
        || shape.holes().iter().any(|h| point_in_loop(p, h) != Where::Outside);
    if outside {
        return -1.0;
    }
    let loops = shape.loops().map(|l| from_loop(l, p)).fold(f64::INFINITY, f64::min);
    lines.iter().map(|s| s.distance_to(p)).fold(loops, f64::min)
}

fn from_loop(it: &Loop, p: Point) -> f64 {
    match it {
        Loop::Circle(center, radius) => ((p - *center).hypot() - radius).abs(),
        Loop::Chain(segs) => segs.iter().map(|s| s.distance_to(p)).fold(f64::INFINITY, f64::min),
    }
}
