//! A closed loop of true arcs.

use super::check;
use super::fit::{Curve, arcs_along};
use super::seg::Seg;
use super::tolerance::{FAR, NO_AREA, SAME_POINT};
use kurbo::{Affine, Point, Rect};
use std::f64::consts::PI;
use std::fmt;

/// A circle, or a closed chain of lines and arcs that runs counter-clockwise.
///
/// Made only through checked constructors: finite, closed, of some area, not crossing itself.
#[derive(Debug, Clone, PartialEq)]
pub enum Loop {
    /// A full circle: centre and radius (mm).
    Circle(Point, f64),
    /// Pieces end to end, the last one ending where the first begins.
    Chain(Vec<Seg>),
}

/// Why a loop or a shape was refused.
#[derive(Debug, Clone, PartialEq)]
pub struct GeomFault {
    /// What is wrong.
    pub kind: GeomFaultKind,
    /// Where (mm); the origin where no point can be named.
    pub at: Point,
}

/// The ways in which an outline can be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GeomFaultKind {
    /// A coordinate is not a number, endless, or beyond 100 m.
    NotFinite,
    /// A bulge beyond half a turn.
    Bulge,
    /// Fewer than two pieces, or none of any length.
    TooFew,
    /// The end does not meet the start, or a piece does not begin where the last ended.
    Open,
    /// It crosses or touches itself.
    Crosses,
    /// It encloses nothing.
    NoArea,
    /// A hole reaches out of its outline.
    HoleOutside,
    /// Two holes run into each other.
    HolesMeet,
    /// An offset took a loop apart, or made it meet another.
    Parts,
    /// An offset could not be confirmed by its checks.
    Unproven,
}

impl fmt::Display for GeomFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let what = match self.kind {
            GeomFaultKind::NotFinite => "a coordinate is not a number within 100 m",
            GeomFaultKind::Bulge => "an arc of more than half a turn in one piece",
            GeomFaultKind::TooFew => "too few points for an outline",
            GeomFaultKind::Open => "the outline is not closed",
            GeomFaultKind::Crosses => "the outline crosses or touches itself",
            GeomFaultKind::NoArea => "the outline encloses nothing",
            GeomFaultKind::HoleOutside => "a hole reaches out of its outline",
            GeomFaultKind::HolesMeet => "two holes run into each other",
            GeomFaultKind::Parts => "the cut would fall into several loops",
            GeomFaultKind::Unproven => "the parallel curve failed its check",
        };
        write!(f, "{what}, near x {:.3} y {:.3} mm", self.at.x, self.at.y)
    }
}

impl std::error::Error for GeomFault {}

impl GeomFault {
    pub(super) fn new(kind: GeomFaultKind, at: Point) -> GeomFault {
        GeomFault { kind, at }
    }
}

impl Loop {
    /// A circle.
    ///
    /// # Errors
    /// Refuses what is not finite and what has no area.
    pub fn circle(center: Point, radius: f64) -> Result<Loop, GeomFault> {
        check::finite(center)?;
        if !(radius.is_finite() && radius < FAR) {
            return Err(GeomFault::new(GeomFaultKind::NotFinite, center));
        }
        if radius <= 0.0 || PI * radius * radius < NO_AREA {
            return Err(GeomFault::new(GeomFaultKind::NoArea, center));
        }
        Ok(Loop::Circle(center, radius))
    }

    /// A chain of pieces, turned counter-clockwise where it runs the other way.
    ///
    /// Pieces shorter than the same-point tolerance are dropped; two arcs that make a full circle become one.
    ///
    /// # Errors
    /// Refuses what is not finite, open, without area or crossing itself.
    pub fn chain(segs: Vec<Seg>) -> Result<Loop, GeomFault> {
        let segs = check::tidy(segs)?;
        if let Some((center, radius)) = check::as_circle(&segs) {
            return Loop::circle(center, radius);
        }
        let made = Loop::Chain(segs);
        let area = made.signed_area();
        if area.abs() < NO_AREA {
            // Two halves that cancel each other are a line that crosses itself.
            check::simple(&made.segs())?;
            return Err(GeomFault::new(GeomFaultKind::NoArea, made.start()));
        }
        let made = if area < 0.0 { Loop::Chain(made.backward()) } else { made };
        check::simple(&made.segs())?;
        Ok(made)
    }

    /// A closed polygon through the points.
    ///
    /// # Errors
    /// As [`Loop::chain`].
    pub fn polygon(points: &[Point]) -> Result<Loop, GeomFault> {
        let next = points.iter().cycle().skip(1);
        Loop::chain(points.iter().zip(next).map(|(a, b)| Seg::line(*a, *b)).collect())
    }

    /// The pieces, counter-clockwise; a circle gives two half turns from its rightmost point.
    pub fn segs(&self) -> Vec<Seg> {
        match self {
            Loop::Circle(c, r) => {
                let (right, left) = (Point::new(c.x + r, c.y), Point::new(c.x - r, c.y));
                vec![Seg::arc(right, left, 1.0), Seg::arc(left, right, 1.0)]
            }
            Loop::Chain(segs) => segs.clone(),
        }
    }

    /// The pieces, clockwise from the same start.
    pub fn backward(&self) -> Vec<Seg> {
        self.segs().iter().rev().map(Seg::reversed).collect()
    }

    /// Where the chain begins; for a circle its rightmost point.
    pub fn start(&self) -> Point {
        match self {
            Loop::Circle(c, r) => Point::new(c.x + r, c.y),
            Loop::Chain(segs) => segs.first().map_or(Point::ORIGIN, |seg| seg.a),
        }
    }

    /// Centre and radius, if it is a circle.
    pub fn as_circle(&self) -> Option<(Point, f64)> {
        match self {
            Loop::Circle(c, r) => Some((*c, *r)),
            Loop::Chain(_) => None,
        }
    }

    fn signed_area(&self) -> f64 {
        match self {
            Loop::Circle(_, r) => PI * r * r,
            Loop::Chain(segs) => {
                // Taken about the first point, so that a far-away loop keeps its figures.
                let origin = self.start().to_vec2();
                segs.iter()
                    .map(|s| Seg { a: s.a - origin, b: s.b - origin, bulge: s.bulge }.twice_area())
                    .sum::<f64>()
                    / 2.0
            }
        }
    }

    /// Area enclosed (mm²), arcs taken exactly.
    pub fn area(&self) -> f64 {
        self.signed_area().abs()
    }

    /// Length round (mm).
    pub fn length(&self) -> f64 {
        match self {
            Loop::Circle(_, r) => 2.0 * PI * r,
            Loop::Chain(segs) => segs.iter().map(Seg::length).sum(),
        }
    }

    /// The smallest upright box around it.
    pub fn bounds(&self) -> Rect {
        match self {
            Loop::Circle(c, r) => Rect::new(c.x - r, c.y - r, c.x + r, c.y + r),
            Loop::Chain(segs) => {
                segs.iter().map(Seg::bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
            }
        }
    }

    /// The loop under an affine map, arcs refitted within `tolerance` (mm) where the map does not keep circles.
    ///
    /// # Errors
    /// Refuses a map that leaves no proper loop.
    pub fn mapped(&self, map: Affine, tolerance: f64) -> Result<Loop, GeomFault> {
        let [a, b, c, d, _, _] = map.as_coeffs();
        let size = a.hypot(b).max(c.hypot(d));
        let alike = (a * c + b * d).abs() <= 1e-12 * size * size
            && (a.hypot(b) - c.hypot(d)).abs() <= 1e-12 * size;
        if let (Loop::Circle(center, radius), true) = (self, alike) {
            return Loop::circle(map * *center, radius * a.hypot(b));
        }
        let flip = if a * d - b * c < 0.0 { -1.0 } else { 1.0 };
        let mut segs = Vec::new();
        for seg in self.segs() {
            if seg.is_line() {
                segs.push(Seg::line(map * seg.a, map * seg.b));
            } else if alike {
                segs.push(Seg::arc(map * seg.a, map * seg.b, seg.bulge * flip));
            } else {
                segs.extend(arcs_along(&Curve::Mapped(seg, map), tolerance));
            }
        }
        Loop::chain(segs)
    }

    /// Whether two points count as one.
    pub(super) fn same(a: Point, b: Point) -> bool {
        approx::abs_diff_eq!(a.x, b.x, epsilon = SAME_POINT)
            && approx::abs_diff_eq!(a.y, b.y, epsilon = SAME_POINT)
    }
}
