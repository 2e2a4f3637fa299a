//! How a sheet lies on a bed, found by two points of it.

use crate::geom::{Point, Pose, Vec2};

/// A sheet may be placed wrong by so much through its points (mm).
pub const PLACED_WITHIN: f64 = 0.1;
/// The distance of two points may differ by so much from what it was (mm), wherever the piece lies: each is pointed at
/// within half of it.
pub const MOST_RESIDUAL: f64 = 0.2;

/// Two points of a sheet, and where they were found on the bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lies {
    /// The points on the sheet (mm).
    pub points: [Point; 2],
    /// Where they are on the bed (mm, from its own corner).
    pub found: [Point; 2],
}

impl Lies {
    /// The turn and shift that bring the sheet to where it lies: both middles on one another, both directions alike.
    pub fn pose(&self) -> Pose {
        let ([a, b], [c, d]) = (self.points, self.found);
        let (was, is) = (b - a, d - c);
        let turn = was.cross(is).atan2(was.dot(is)).to_degrees().rem_euclid(360.0);
        let turned = Pose::turned(turn);
        let shift = c.midpoint(d) - turned.on_point(a.midpoint(b));
        Pose { x: shift.x, y: shift.y, ..turned }
    }

    /// How far apart the points are on the sheet (mm).
    pub fn apart(&self) -> f64 {
        (self.points[1] - self.points[0]).hypot()
    }

    /// By how much they are farther apart on the bed than on the sheet (mm).
    pub fn residual(&self) -> f64 {
        (self.found[1] - self.found[0]).hypot() - self.apart()
    }

    /// By how much a place of the sheet is put wrong, if the sheet has stretched evenly by that (mm): nothing half way
    /// between the points, the more the farther from there.
    pub fn off_at(&self, place: Point) -> f64 {
        self.residual().abs() * self.share(place)
    }

    /// How far a place is from half way between the points, as a share of their distance.
    pub fn share(&self, place: Point) -> f64 {
        let away: Vec2 = place - self.points[0].midpoint(self.points[1]);
        away.hypot() / self.apart().max(1e-9)
    }

    /// Whether the sheet can be taken to be the one that was measured, and lies within [`PLACED_WITHIN`] at a place.
    pub fn holds_at(&self, place: Point) -> bool {
        self.residual().abs() <= MOST_RESIDUAL && self.off_at(place) <= PLACED_WITHIN
    }
}
