//! Lattices of one body, or of a body and its half-turned mate, as close as they come in a given direction.
//!
//! # Source
//! For a convex shape, three neighbours that touch one another make a lattice without overlap (Minkowski). A convex shape
//! and its half-turned mate in one cell, each touching the rows on both sides: Kuperberg and Kuperberg, "Double-lattice
//! packings of convex bodies in the plane", 1990.

use super::kernel::{Body, Region};
use crate::geom::{Point, Vec2};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_3};

/// A hair more than touching, so that rounding far from the start breaks nothing.
const HAIR: f64 = 1e-9;

/// A lattice: its two steps, and where the mate lies from the body, if the cell has one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Steps {
    pub(crate) u: Vec2,
    pub(crate) v: Vec2,
    pub(crate) mate: Option<Vec2>,
}

/// What one cell of a lattice holds, with what its members forbid to each other.
#[derive(Debug)]
pub(crate) struct Cell {
    /// What the body forbids to its like.
    own: Region,
    /// What the body forbids to its mate, and the mate to the body.
    pair: Option<(Region, Region)>,
    is_disk: bool,
}

impl Cell {
    /// A cell of one body, or of a body and its mate; none for bodies of several parts.
    pub(crate) fn new(body: &Body, mate: Option<&Body>, apart: f64) -> Option<Cell> {
        let ([core], [over]) = (&body.cores[..], &body.over[..]) else { return None };
        let pair = match mate {
            None => None,
            Some(mate) => {
                let ([other], [turned]) = (&mate.cores[..], &mate.over[..]) else { return None };
                Some((Region::between(core, turned, apart), Region::between(other, over, apart)))
            }
        };
        let own = Region::between(core, over, apart);
        Some(Cell { own, pair, is_disk: body.is_disk() })
    }

    /// Whether it holds a mate.
    pub(crate) fn is_pair(&self) -> bool {
        self.pair.is_some()
    }

    /// Directions in which the body touches its like with a corner: the closest lattice has a step in one of them.
    pub(crate) fn corner_angles(&self) -> Vec<f64> {
        let ways = self.own.corners().iter().map(|p| p.to_vec2());
        ways.filter(|way| way.hypot() > 1e-9).map(Vec2::atan2).collect()
    }

    /// The closest steps of a lattice whose first step goes in a direction.
    pub(crate) fn steps(&self, angle: f64, square: bool) -> Option<Steps> {
        let way = Vec2::from_angle(angle);
        let u = way * (self.own.ray(Point::ORIGIN, way) + HAIR);
        if self.is_disk {
            let turn = if square { FRAC_PI_2 } else { FRAC_PI_3 };
            return Some(Steps { u, v: Vec2::from_angle(angle + turn) * u.hypot(), mate: None });
        }
        let Some((to_mate, to_body)) = &self.pair else {
            let v = lowest(&along(&self.own, Vec2::ZERO, u, 1), u)?;
            return Some(Steps { u, v, mate: None });
        };
        // The mate lies in the hollow between two bodies of a row; the next row of bodies lies on the row of mates.
        let mate = lowest(&along(to_mate, Vec2::ZERO, u, 2), u)?;
        let mut forbidden = along(to_body, mate, u, 2);
        forbidden.extend(along(to_mate, -mate, u, 2));
        forbidden.extend(along(&self.own, Vec2::ZERO, u, 2));
        let v = lowest(&forbidden, u)?;
        Some(Steps { u, v, mate: Some(mate) })
    }
}

/// A region in a row, so many steps back and ahead of where its middle is nearest to the start.
fn along(region: &Region, by: Vec2, u: Vec2, reach: i32) -> Vec<Region> {
    let middle = region.bounds().center().to_vec2() + by;
    let back = (middle.dot(u) / u.hypot2()).round();
    (-reach..=reach).map(|k| region.moved(by + u * (f64::from(k) - back))).collect()
}

/// The place left of a row of regions, within half a step of the start, that lies nearest to the row's line.
fn lowest(row: &[Region], u: Vec2) -> Option<Vec2> {
    let left = |p: &Point| u.cross(p.to_vec2());
    let mut found = Vec::new();
    for (i, one) in row.iter().enumerate() {
        for other in &row[..i] {
            one.crossings(other, &mut found);
        }
    }
    let share = |p: &Point| p.to_vec2().dot(u) / u.hypot2();
    found.retain(|p| left(p) > 1e-6 && share(p).abs() < 0.5 + 1e-6);
    found.sort_by(|p, q| left(p).total_cmp(&left(q)));
    let clear = |p: &Point| row.iter().all(|region| region.gap(*p) > -HAIR);
    let p = found.into_iter().find(clear)?;
    // Away from the row by a hair.
    let out = Vec2::new(-u.y, u.x) / u.hypot();
    Some(p.to_vec2() + out * 1e-9)
}

#[cfg(test)]
mod tests {
    use super::super::tests::p;
    use super::*;
    use crate::geom::{Loop, Shape};

    fn body(corners: &[(f64, f64)], turn: f64) -> Body {
        let points: Vec<Point> = corners.iter().map(|(x, y)| p(*x, *y)).collect();
        Body::new(&Shape::plain(Loop::polygon(&points).unwrap()), turn, false)
    }

    /// The share of the plane that the closest lattice covers, over a ring of directions and the corners'.
    fn density(corners: &[(f64, f64)], with_mate: bool) -> f64 {
        let (one, two) = (body(corners, 0.0), body(corners, 180.0));
        let cell = Cell::new(&one, with_mate.then_some(&two), 0.0).unwrap();
        let points: Vec<Point> = corners.iter().map(|(x, y)| p(*x, *y)).collect();
        let area = Loop::polygon(&points).unwrap().area() * if with_mate { 2.0 } else { 1.0 };
        let ring = (0..720).map(|k| f64::from(k).to_radians() / 2.0);
        ring.chain(cell.corner_angles())
            .filter_map(|angle| cell.steps(angle, false))
            .map(|steps| area / steps.u.cross(steps.v).abs())
            .fold(0.0, f64::max)
    }

    #[test]
    fn pairs_fill_the_plane_where_one_alone_cannot() {
        // A lattice of triangles covers two thirds (Fáry, "Sur la densité des réseaux de domaines convexes", 1950); with
        // their half-turned mates they tile the plane.
        let triangle = [(0.0, 0.0), (30.0, 0.0), (10.0, 20.0)];
        assert!((density(&triangle, false) - 2.0 / 3.0).abs() < 1e-4);
        assert!((density(&triangle, true) - 1.0).abs() < 1e-4);
        // A blank that is wide at one end: two make a parallelogram.
        let wedge = [(0.0, 0.0), (200.0, 10.0), (200.0, 22.0), (0.0, 32.0)];
        assert!((density(&wedge, true) - 1.0).abs() < 1e-4);
        assert!(density(&wedge, false) < 0.9);
    }

    #[test]
    fn a_regular_pentagon_comes_to_its_known_density() {
        // (5 - sqrt 5) / 3 = 0.92131 for the double lattice (Kuperberg and Kuperberg, 1990).
        let corner = |k: u32| (f64::from(72 * k) + 90.0).to_radians().sin_cos();
        let corners: Vec<(f64, f64)> =
            (0..5).map(|k| (50.0 * corner(k).1, 50.0 * corner(k).0)).collect();
        let found = density(&corners, true);
        assert!((found - (5.0 - 5.0_f64.sqrt()) / 3.0).abs() < 2e-4, "{found}");
    }
}
