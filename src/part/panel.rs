//! Convex panels made smaller or larger by the same amount on every edge: cards inside their panel, laps outside it.

use crate::geom::tolerance::{NO_AREA, SAME_POINT};
use crate::geom::{Point, Seg, Vec2};
use std::f64::consts::PI;

/// A convex polygon, counter-clockwise, with every edge moved inward by `by` (mm); below zero outward, corners mitred.
///
/// Edges that vanish on the way inward are left out; where none does, the corners keep their order from the first.
/// Points that stand on a straight edge are left out too. None where nothing is left, and where the points are no
/// convex polygon that runs counter-clockwise.
///
/// # Source
/// The part of a convex polygon that lies at least `by` from every edge is the meeting of the half-planes of the
/// moved edges, elementary geometry.
pub(super) fn inset(points: &[Point], by: f64) -> Option<Vec<Point>> {
    let points = corners(points);
    if !by.is_finite() || !is_convex(&points) {
        return None;
    }
    let edges = edges(&points, by);
    let made = if by > 0.0 {
        // Every cut puts the first corner last, so that after all of them the first one is first again.
        edges.iter().fold(points, |rest, edge| clip(&rest, edge))
    } else {
        let before = edges.iter().cycle().skip(edges.len() - 1);
        before.zip(&edges).map(|(a, b)| a.meets(b)).collect()
    };
    let made = corners(&made);
    (is_convex(&made) && twice_area(&made) > 2.0 * NO_AREA).then_some(made)
}

/// What is left of a convex polygon on the side of a line through `at` to which `inward` points.
pub(super) fn kept(points: &[Point], at: Point, inward: Vec2) -> Option<Vec<Point>> {
    let way = inward / inward.hypot();
    let edge = Edge { nx: way.x, ny: way.y, reach: way.dot(at.to_vec2()) };
    let made = corners(&clip(points, &edge));
    (is_convex(&made) && twice_area(&made) > 2.0 * NO_AREA).then_some(made)
}

/// The sides of a polygon.
pub(super) fn around(points: &[Point]) -> Vec<Seg> {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| Seg::line(*a, *b)).collect()
}

/// The polygon moved so that the lower left corner of its box is the origin.
pub(super) fn at_origin(points: &[Point]) -> Vec<Point> {
    let first = Point::new(f64::MAX, f64::MAX);
    let low = points.iter().fold(first, |low, p| Point::new(low.x.min(p.x), low.y.min(p.y)));
    points.iter().map(|p| *p - low.to_vec2()).collect()
}

/// Length of the level side of a convex polygon at a height; nothing where a corner stands there.
pub(super) fn level_side(points: &[Point], y: f64) -> f64 {
    let level = points.iter().filter(|p| (p.y - y).abs() < 1e-9).map(|p| p.x);
    let (least, most) = level.fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
    (most - least).max(0.0)
}

/// A line with the side that is kept: points with `nx x + ny y >= reach`.
#[derive(Debug, Clone, Copy)]
struct Edge {
    nx: f64,
    ny: f64,
    reach: f64,
}

impl Edge {
    /// How far a point stands on the side that is kept.
    fn inside(&self, p: Point) -> f64 {
        self.nx * p.x + self.ny * p.y - self.reach
    }

    /// Where two edges that are not parallel cross.
    fn meets(&self, other: &Edge) -> Point {
        let turn = self.nx * other.ny - self.ny * other.nx;
        Point::new(
            (self.reach * other.ny - self.ny * other.reach) / turn,
            (self.nx * other.reach - self.reach * other.nx) / turn,
        )
    }
}

/// The edges of a polygon, each moved inward.
fn edges(points: &[Point], by: f64) -> Vec<Edge> {
    let next = points.iter().cycle().skip(1);
    points
        .iter()
        .zip(next)
        .map(|(a, b)| {
            let way = *b - *a;
            let (nx, ny) = (-way.y / way.hypot(), way.x / way.hypot());
            Edge { nx, ny, reach: nx * a.x + ny * a.y + by }
        })
        .collect()
}

/// What is left of a convex polygon on the kept side of a line.
fn clip(points: &[Point], edge: &Edge) -> Vec<Point> {
    let mut made = Vec::with_capacity(points.len() + 1);
    for (from, to) in points.iter().zip(points.iter().cycle().skip(1)) {
        let (d, e) = (edge.inside(*from), edge.inside(*to));
        if d >= 0.0 {
            made.push(*from);
        }
        if (d < 0.0) != (e < 0.0) {
            made.push(from.lerp(*to, d / (d - e)));
        }
    }
    made
}

/// The points without doubles and without those on a straight edge.
fn corners(points: &[Point]) -> Vec<Point> {
    let mut made: Vec<Point> = Vec::with_capacity(points.len());
    for p in points {
        if made.last().is_none_or(|last| (*p - *last).hypot() > SAME_POINT) {
            made.push(*p);
        }
    }
    while made.len() > 1
        && made.first().zip(made.last()).is_some_and(|(a, b)| (*a - *b).hypot() <= SAME_POINT)
    {
        made.pop();
    }
    let straight = |(before, at, after): &(&Point, &Point, &Point)| {
        let way = **after - **before;
        let off = way.cross(**at - **before).abs();
        off <= SAME_POINT * way.hypot() && (**at - **before).dot(**after - **at) > 0.0
    };
    threes(&made).filter(|three| !straight(three)).map(|(_, at, _)| *at).collect()
}

/// Every point with its neighbours.
fn threes(points: &[Point]) -> impl Iterator<Item = (&Point, &Point, &Point)> {
    let before = points.iter().cycle().skip(points.len().saturating_sub(1));
    before.zip(points).zip(points.iter().cycle().skip(1)).map(|((a, b), c)| (a, b, c))
}

/// Whether the points turn left at every corner, once round in all.
fn is_convex(points: &[Point]) -> bool {
    let turns: Vec<f64> = threes(points)
        .map(|(a, b, c)| {
            let (inward, onward) = (*b - *a, *c - *b);
            inward.cross(onward).atan2(inward.dot(onward))
        })
        .collect();
    turns.len() > 2
        && turns.iter().all(|turn| *turn > 0.0)
        && (turns.iter().sum::<f64>() - 2.0 * PI).abs() < 1.0
}

fn twice_area(points: &[Point]) -> f64 {
    let origin = points.first().map_or(Point::ORIGIN, |p| *p);
    points
        .iter()
        .zip(points.iter().cycle().skip(1))
        .map(|(a, b)| (*a - origin).cross(*b - origin))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn at(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|(x, y)| Point::new(*x, *y)).collect()
    }

    fn alike(found: Option<Vec<Point>>, wanted: &[(f64, f64)]) {
        let found = found.unwrap();
        assert_eq!(found.len(), wanted.len(), "{found:?}");
        for (p, (x, y)) in found.iter().zip(wanted) {
            assert_abs_diff_eq!(p.x, *x, epsilon = 1e-9);
            assert_abs_diff_eq!(p.y, *y, epsilon = 1e-9);
        }
    }

    #[test]
    fn a_rectangle_grows_and_shrinks_in_place() {
        let it = at(&[(0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)]);
        alike(inset(&it, 1.0), &[(1.0, 1.0), (9.0, 1.0), (9.0, 5.0), (1.0, 5.0)]);
        alike(inset(&it, -1.0), &[(-1.0, -1.0), (11.0, -1.0), (11.0, 7.0), (-1.0, 7.0)]);
        alike(inset(&it, 0.0), &[(0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)]);
        assert_eq!(inset(&it, 3.0), None);
        assert_eq!(inset(&it, 50.0), None);
        assert_eq!(inset(&it, f64::NAN), None);
    }

    // A triangle shrinks about its incentre: 3-4-5 has an inradius of 1, elementary geometry.
    #[test]
    fn a_triangle_shrinks_about_its_incentre() {
        let it = at(&[(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)]);
        let about = |k: f64| {
            [(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)]
                .map(|(x, y)| (1.0 + k * (x - 1.0), 1.0 + k * (y - 1.0)))
        };
        for by in [0.1, 0.5, 0.9, -0.5, -2.0] {
            alike(inset(&it, by), &about(1.0 - by));
        }
        assert_eq!(inset(&it, 1.0), None);
    }

    // The short edge of this trapezoid, 1 long between corners of 135 degrees, loses 2 tan 22.5 degrees of the inset
    // and is gone at 1.207.
    #[test]
    fn an_edge_that_vanishes_is_left_out() {
        let it = at(&[(0.0, 0.0), (9.0, 0.0), (5.0, 4.0), (4.0, 4.0)]);
        let found = inset(&it, 1.3).unwrap();
        assert_eq!(found.len(), 3, "{found:?}");
        for p in &found {
            let far = edges(&it, 0.0).iter().map(|e| e.inside(*p)).fold(f64::MAX, f64::min);
            assert_abs_diff_eq!(far, 1.3, epsilon = 1e-9);
        }
        let four = inset(&it, 1.0).unwrap();
        assert_eq!(four.len(), 4);
        let short = 1.0 - 2.0 * 22.5_f64.to_radians().tan();
        assert_abs_diff_eq!(four[2].x - four[3].x, short, epsilon = 1e-9);
    }

    #[test]
    fn what_is_no_convex_polygon_is_refused() {
        let backward = at(&[(0.0, 0.0), (0.0, 6.0), (10.0, 6.0), (10.0, 0.0)]);
        let hollow = at(&[(0.0, 0.0), (10.0, 0.0), (5.0, 1.0), (5.0, 8.0)]);
        let star: Vec<Point> = (0..5)
            .map(|i| {
                let turn = f64::from(i) * 0.8 * PI;
                Point::new(turn.cos() * 9.0, turn.sin() * 9.0)
            })
            .collect();
        for it in [backward, hollow, star, at(&[(0.0, 0.0), (1.0, 0.0)]), Vec::new()] {
            assert_eq!(inset(&it, 0.1), None, "{it:?}");
            assert_eq!(inset(&it, -0.1), None, "{it:?}");
        }
    }

    #[test]
    fn points_on_an_edge_and_doubles_do_no_harm() {
        let it = at(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 0.0),
            (10.0, 0.0),
            (10.0, 6.0),
            (0.0, 6.0),
            (0.0, 0.0),
        ]);
        alike(inset(&it, 1.0), &[(1.0, 1.0), (9.0, 1.0), (9.0, 5.0), (1.0, 5.0)]);
        alike(inset(&it, -1.0), &[(-1.0, -1.0), (11.0, -1.0), (11.0, 7.0), (-1.0, 7.0)]);
    }
}
