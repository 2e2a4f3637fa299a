//! Closed outlines out of plain SVG and DXF files.
//!
//! Takes the bytes of a file that somebody else wrote; gives closed [`Loop`]s in millimetres, y up, and says in
//! notes whatever it left out, joined or guessed.
//!
//! Promises:
//! - a file is read whole or refused with a place and words: a number that is not finite, a point beyond 100 m or a
//!   curve of more than 100 m radius fails the file and never quietly drops a shape;
//! - bytes, depth, points and pieces are counted before any other code sees the file ([`caps`]);
//! - circles stay circles and arcs stay arcs wherever the drawing keeps them round; ellipses and Bézier curves become
//!   arcs within [`tolerance::FIT_READ`];
//! - a size without a unit is asked for, not assumed.
//!
//! It never opens a file or a link named in the drawing, never expands copies (`use`, `INSERT`), never runs a script,
//! and never mends an outline that crosses itself. This room is a door to `roxmltree` and to the reading half of `dxf`.

pub mod caps;
mod curve;
mod dxf;
mod fault;
mod figures;
mod ink;
mod join;
mod page;
mod pairs;
mod path;
mod reduce;
mod settle;
mod style;
mod svg;
mod transform;
mod xml;

pub use fault::ReadFault;

use crate::geom::{Loop, tolerance};

/// What was read: outlines and holes alike, not yet told apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Traced {
    /// Closed loops in mm, y up, the largest first.
    pub loops: Vec<Loop>,
    /// What was left out, joined, dropped or should be looked at.
    pub notes: Vec<String>,
    /// Width and height of all the loops together (mm).
    pub size_mm: (f64, f64),
}

/// How a file is to be read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadOptions {
    /// Millimetres in one unit of the file, for files that do not state a unit; a stated one wins.
    pub unit: Option<f64>,
    /// The widest gap between two ends that still count as joined (mm).
    pub join: f64,
}

impl Default for ReadOptions {
    fn default() -> ReadOptions {
        ReadOptions { unit: None, join: tolerance::JOIN }
    }
}

/// Reads the closed outlines of a plain SVG or DXF file.
///
/// `name` is the file's name: its ending decides between the two, and where it has neither, the content does.
///
/// # Units
/// Whatever the file is drawn in, the loops are in millimetres.
///
/// # Errors
/// Refuses what is not plain SVG or ASCII DXF, what passes a cap, what states no unit, and outlines that are open,
/// branch, cross themselves or enclose nothing.
pub fn outlines(name: &str, bytes: &[u8], options: &ReadOptions) -> Result<Traced, ReadFault> {
    read(name, bytes, options).map_err(|fault| fault.with_line(bytes))
}

fn read(name: &str, bytes: &[u8], options: &ReadOptions) -> Result<Traced, ReadFault> {
    check_options(options)?;
    refuse_foreign(bytes)?;
    let kind = kind_of(name, bytes).ok_or_else(|| {
        ReadFault::new("E90", "this is neither a plain SVG nor a DXF file")
            .cure("save the drawing as plain SVG, or as ASCII DXF")
    })?;
    let ink = match kind {
        Kind::Svg => svg::read(bytes, options)?,
        Kind::Dxf => dxf::read(bytes, options)?,
    };
    settle::settle(ink, options)
}

fn check_options(options: &ReadOptions) -> Result<(), ReadFault> {
    if let Some(unit) = options.unit
        && !(unit.is_finite() && unit > 0.0 && unit < tolerance::FAR)
    {
        return Err(ReadFault::new("E93", "the unit given for the outline is not a length"));
    }
    if !(0.0..=caps::WIDEST_JOIN).contains(&options.join) {
        let text = format!(
            "gaps can be joined from 0 to {} mm, not {} mm",
            caps::WIDEST_JOIN,
            options.join
        );
        return Err(ReadFault::new("E93", text));
    }
    Ok(())
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Svg,
    Dxf,
}

/// Refuses what neither reader may see, by size and first bytes.
fn refuse_foreign(bytes: &[u8]) -> Result<(), ReadFault> {
    if bytes.len() > caps::BYTES {
        let text = format!(
            "the file has {} bytes; {} are the most that are read",
            bytes.len(),
            caps::BYTES
        );
        return Err(ReadFault::new("E91", text));
    }
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(ReadFault::new("E90", "the file is empty"));
    }
    if bytes.starts_with(&[0x1f, 0x8b]) {
        return Err(ReadFault::new("E90", "the file is packed (gzip)")
            .cure("unpack it, or save it as plain SVG"));
    }
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(ReadFault::new("E90", "the file is packed (zip)").cure("unpack it first"));
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(ReadFault::new("E90", "the file is UTF-16 text").cure("save it as UTF-8"));
    }
    Ok(())
}

fn kind_of(name: &str, bytes: &[u8]) -> Option<Kind> {
    let ending = name.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase());
    match ending.as_deref() {
        Some("svg") => return Some(Kind::Svg),
        Some("dxf") => return Some(Kind::Dxf),
        _ => {}
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let head = bytes.trim_ascii_start();
    if head.starts_with(b"<") {
        Some(Kind::Svg)
    } else if head.starts_with(b"0") || head.starts_with(b"999") || pairs::is_binary(head) {
        Some(Kind::Dxf)
    } else {
        None
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_bad;
#[cfg(test)]
mod tests_dxf;
#[cfg(test)]
mod tests_join;
