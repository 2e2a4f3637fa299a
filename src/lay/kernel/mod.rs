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

pub(crate) use self::core::{Body, Core};
pub(crate) use convex::{cores, thinned};
pub(crate) use field::Field;
pub(crate) use region::Region;
pub(crate) use room::Room;

#[cfg(test)]
mod tests;
