//! How much of a foreign file is read, at most.
//!
//! The figures are far above any outline that is cut by hand or beam, and far below what would stall the bench.

/// Bytes in a file.
pub const BYTES: usize = 64 * 1024 * 1024;
/// Elements inside one another in an SVG file, the outermost counted.
pub const DEPTH: usize = 64;
/// Bracketed groups inside one another in a DXF file.
pub const GROUPS: usize = 8;
/// Attributes of one SVG element.
pub const ATTRIBUTES: usize = 256;
/// Names of namespaces declared in one SVG file.
pub const NAMESPACES: usize = 4096;
/// Points in a file, and the lines and arcs made from them.
pub const POINTS: usize = 2_000_000;
/// Points in one contour.
pub const CONTOUR: usize = 200_000;
/// Shapes (SVG) or entities (DXF) in a file.
pub const SHAPES: usize = 100_000;
/// Closed loops in a file.
pub const LOOPS: usize = 10_000;
/// Nodes of an XML tree.
pub const NODES: u32 = 4_000_000;
/// Largest figure that may stand in a file, in whatever unit it is drawn.
pub const FIGURE: f64 = 1e12;
/// Largest radius (mm).
pub const RADIUS: f64 = 1e5;
/// Widest gap that may be asked to be joined (mm).
pub const WIDEST_JOIN: f64 = 5.0;
