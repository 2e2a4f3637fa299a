//! Every length below which two things count as one, in one place.

/// Two points nearer than this are the same point (mm).
pub const SAME_POINT: f64 = 1e-6;
/// What rounding alone may leave of a figure (mm).
pub const ROUNDING: f64 = 1e-9;
/// Slack when a measured distance is compared with a wanted one (mm).
pub const SLACK: f64 = 1e-6;
/// A gap in an outline that is closed on reading (mm); the user may widen it.
pub const JOIN: f64 = 0.05;
/// Curves of an outline that is read in become arcs within this (mm).
pub const FIT_READ: f64 = 0.01;
/// A stretched circle becomes arcs within this (mm).
pub const FIT_STRETCH: f64 = 0.001;
/// Arcs become chords within this for the search: outside for parts, inside for sheets (mm).
pub const FLAT: f64 = 0.005;
/// The last figure of a coordinate in a file (mm).
pub const WRITTEN: f64 = 1e-4;
/// A loop with less area than this has vanished (mm²).
pub const NO_AREA: f64 = 1e-6;
/// No coordinate may be as large as this (mm).
pub const FAR: f64 = 1e5;
/// An offset curve may stand off its wanted distance by this (mm).
pub const OFFSET: f64 = 1e-3;
