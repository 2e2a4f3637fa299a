//! The search kernel: where a body may lie, exact but for the chords that stand for arcs.
//!
//! A body is one or more convex cores, each a point, a line or a convex polygon grown by a radius: a disk is a point,
//! a rectangle with round corners is a rectangle grown by their radius. What one body forbids to another is a
//! [`Region`]: the sum of a core with the other's mirror image, grown by both radii and the distance to keep. It too is
//! a convex core with a radius, so the distance between two bodies is the distance of one point from it, and the
//! places where a body touches two others at once are the crossings of two such borders, in closed form.
//!
//! A [`Room`] holds everything that is forbidden to one body in one turn on one [`Field`] (a sheet or a hole), and the
//! spots where it would touch two things at once. The best place along any straight direction is always such a spot.

mod convex;
mod core;
mod field;
mod region;
mod room;

use crate::geom::Point;

pub(crate) use self::core::{Body, Core};
pub(crate) use convex::{cores, thinned};
pub(crate) use field::Field;
pub(crate) use region::Region;
pub(crate) use room::Room;

/// Where one body at one turn may lie among all that lies there.
///
/// The search asks a [`Room`], the proof its twin, which measures between true arcs by brute force: whoever puts another
/// kernel in their place has this to answer.
pub(crate) trait Clear {
    /// How far it is clear of everything with its point at `p`, beyond the distances it keeps (mm); less than 0 where it
    /// may not lie.
    fn clearance(&self, p: Point) -> f64;

    /// Whether it may lie there.
    fn is_clear(&self, p: Point) -> bool {
        self.clearance(p) >= 0.0
    }
}

#[cfg(test)]
mod tests;
