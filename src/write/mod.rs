//! Files and pictures: the plan as SVG and DXF, its program as G-code, parts and lays as drawings.
//!
//! Takes a [`CutPlan`](crate::plan::CutPlan) for cut files, members and sheets for pictures. Gives text, and PNG bytes
//! for pictures; never touches the disk, the clock or the order of the cuts.
//!
//! Promises:
//! - the same input gives the same bytes: no date, no path, no chance;
//! - a circle of the plan leaves as a circle, an arc as an arc, nothing becomes chords;
//! - every cut file carries its [`Manifest`] (see [`manifest`] for how its hashes are taken and checked);
//! - words of the user's enter as one harmless line, or as a slug where they name an element.
//!
//! Never: a tool, power or feed in SVG or DXF. Both name layers and leave it to the user what becomes of each. Beam,
//! blade, power and feed stand in G-code only, with words out of the machine's record.
//!
//! The job sheet ([`page`]) is one HTML file with the same pictures in it; its elements are a small tree of our own.
//!
//! The DXF writer is our own. The `dxf` crate reads well, and so reads our files in the tests, but what it writes needs
//! mending afterwards: R12 with subclass markers that strict readers refuse, table heads without handles, time stamps
//! that change from run to run, and entities newer than the chosen version lost without a word.
//!
//! This room is the door to `svg` (elements), `resvg` (PNG), `pdf-writer` (templates) and, for dashes and hatching in pictures only, to `lyon`,
//! which is single precision and never comes near a cut.

mod chains;
mod colour;
mod dxf;
mod dxf_frame;
mod gcode;
pub mod manifest;
pub mod number;
pub mod page;
pub mod picture;
mod punch;
mod svg;
mod travel;

pub use self::svg::cut_svg;
pub use dxf::{DxfVersion, cut_dxf};
pub use gcode::{Unwritable, can_have_gcode, cut_gcode};
pub use manifest::{Manifest, motions_hash};
pub use picture::{
    BagLabel, Drawing, Found, HoleMark, Paper, Pattern, Printing, SheetLines, Template, template,
    to_pdf,
};
pub use picture::{
    CutEdge, DimensionStyle, LaidPiece, LayMarks, Overview, PartDrawing, Picture, Tile, Total,
    lay_picture, order_picture, overview_picture, part_picture, place_charts, punch_picture,
    to_png, travel_picture,
};
pub use punch::punch_csv;
pub use travel::{papers_in, papers_out, thou, travel_csv};

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_files;
#[cfg(test)]
mod tests_gcode;
#[cfg(test)]
mod tests_letters;
#[cfg(test)]
pub(crate) mod tests_pictures;
#[cfg(test)]
mod tests_places;
#[cfg(test)]
mod tests_reader;
