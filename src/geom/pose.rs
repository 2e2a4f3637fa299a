//! Where a shape lies: mirrored or not, turned, moved.

use super::loops::Loop;
use super::seg::Seg;
use kurbo::{Point, Vec2};

/// A rigid move. The shape is first mirrored (x changes sign), then turned about the origin, then moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Where the shape's own origin comes to lie (mm).
    pub x: f64,
    /// See `x`.
    pub y: f64,
    /// Turn in degrees, counter-clockwise; quarter turns are exact.
    pub turn: f64,
    /// Whether the shape is seen from its back.
    pub mirrored: bool,
}

impl Pose {
    /// Nothing moved.
    pub const STILL: Pose = Pose { x: 0.0, y: 0.0, turn: 0.0, mirrored: false };

    /// A move without a turn.
    pub fn moved(by: Vec2) -> Pose {
        Pose { x: by.x, y: by.y, ..Pose::STILL }
    }

    /// A turn about the origin, in degrees.
    pub fn turned(degrees: f64) -> Pose {
        Pose { turn: degrees, ..Pose::STILL }
    }

    /// A point of the shape in its place.
    pub fn on_point(&self, p: Point) -> Point {
        let x = if self.mirrored { -p.x } else { p.x };
        turn_vector(Vec2::new(x, p.y), self.turn).to_point() + Vec2::new(self.x, self.y)
    }

    /// A piece in its place.
    pub fn on_seg(&self, seg: &Seg) -> Seg {
        let bulge = if self.mirrored { -seg.bulge } else { seg.bulge };
        Seg { a: self.on_point(seg.a), b: self.on_point(seg.b), bulge }
    }

    /// A loop in its place; it still runs counter-clockwise and a circle stays one.
    pub fn on_loop(&self, it: &Loop) -> Loop {
        match it {
            Loop::Circle(center, radius) => Loop::Circle(self.on_point(*center), *radius),
            Loop::Chain(segs) => {
                let moved: Vec<Seg> = segs.iter().map(|s| self.on_seg(s)).collect();
                if self.mirrored {
                    Loop::Chain(moved.iter().rev().map(Seg::reversed).collect())
                } else {
                    Loop::Chain(moved)
                }
            }
        }
    }
}

/// A vector turned by an angle in degrees; quarter turns are exact.
#[allow(clippy::float_cmp, reason = "quarter turns are exact figures")]
pub fn turn_vector(v: Vec2, degrees: f64) -> Vec2 {
    let whole = degrees.rem_euclid(360.0);
    if whole == 0.0 {
        v
    } else if whole == 90.0 {
        Vec2::new(-v.y, v.x)
    } else if whole == 180.0 {
        Vec2::new(-v.x, -v.y)
    } else if whole == 270.0 {
        Vec2::new(v.y, -v.x)
    } else {
        let (sin, cos) = whole.to_radians().sin_cos();
        Vec2::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos)
    }
}
