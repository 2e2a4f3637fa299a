//! The kerf coupon: plain test pieces whose drawn line is the line of the cut, and the arithmetic of what they measure.
//! Beside it those for stretch, for the narrowest web and for the smallest hole (`sort.rs`, `finding.rs`).
//!
//! No width of the cut is allowed for, so all that is missing from a piece, or that a hole has too much, is the kerf.
//! Every measure differs along x and y, so that a piece that has been turned, or a reading that was written in the
//! wrong place, shows by its size. Knows no machine, no file and no clock.
//!
//! # Units
//! Millimetres.
//!
//! # Source
//! Kerf is the width of material that a cut takes away: common practice. A line cut round a piece takes half of it on
//! either side, so a piece comes out smaller by one kerf across, and a hole wider by one. What we draw is our own.

mod design;
mod finding;
#[cfg(test)]
mod finding_tests;
mod judge;
mod lain;
mod slip;
mod sort;
mod spot;
#[cfg(test)]
mod tests;

pub use design::{PART, asked, legend, pieces};
pub use finding::{Figure, Filling, Finding, Growth, found};
pub use judge::{AxisKerf, Kerfs, Side, Stat, Width, judge};
pub use lain::lay_coupon;
pub use sort::{Row, Sort, rows, test_pieces, told};
pub use spot::{Asked, Axis, Blank, Feature, Filled, Reading, Spot, drawn, kerf_of};
