//! Plane geometry: loops of true arcs, in millimetres, y up.
//!
//! Takes points and radii; gives loops and shapes whose arcs stay arcs to the last file.
//!
//! Promises:
//! - every [`Loop`] is finite, closed, of some area, does not cross itself, and runs counter-clockwise;
//! - every [`Shape`] is an outline with holes that lie inside it and apart from one another;
//! - an arc is its two end points and a bulge (the tangent of a quarter of its angle, positive to the left),
//!   never more than half a turn; the centre is worked out, so neighbours share their ends exactly;
//! - a circle moved, turned or offset is a circle.
//!
//! This module is the only door to `kurbo` (points, curves), `cavalier_contours` (parallel curves) and
//! `i_overlay` (areas of polygons, as a check).

mod alike;
mod build;
mod check;
mod fit;
mod flatten;
mod inside;
mod loops;
mod offset;
mod pose;
mod seg;
mod shape;
pub mod tolerance;

pub use alike::{Marks, is_mirror_alike};
pub use build::{obround, polygon, rectangle, rounded_polygon};
pub use fit::{Curve, arcs_along, circle_through, cubic, ellipse_arc, quadratic};
pub use flatten::{Side, flatten};
pub use inside::{Where, loop_distance, loop_within, point_in_loop, shape_distance};
pub use kurbo::{Affine, Point, Rect, Vec2};
pub use loops::{GeomFault, GeomFaultKind, Loop};
pub use offset::{Offset, offset};
pub use pose::{Pose, turn_vector};
pub use seg::Seg;
pub use shape::Shape;

#[cfg(test)]
mod tests;
