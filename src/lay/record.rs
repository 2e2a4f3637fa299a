//! The record of a lay: what stands in `lay.json`.
//!
//! Takes groups and their layouts; gives plain rows that can be written and read again with every figure the same to
//! the last bit. A record that is read back is compared with the job at hand, by address; whoever reads one proves it
//! again before anything is cut from it.

pub use super::reading::layouts;

use super::{Group, Layout, Lies};
use crate::geom::{Loop, Point, tolerance};
use crate::part::Piece;
use crate::sheet::{Holder, Sheet, State};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// The number of this form of the record.
pub const SCHEMA: u32 = 1;
/// The reason of a piece for which no place was looked for.
pub(super) const UNTRIED: &str = "time ran out before it was tried";
/// No text longer than this is read (bytes).
pub const MOST_TEXT: usize = 64 << 20;

/// A whole lay, all groups of the job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// Number of the form.
    pub schema: u32,
    /// Version of the program.
    pub program: String,
    /// Where chance began.
    pub seed: u64,
    /// Evaluations that might be spent on each group.
    pub effort: u64,
    /// Evaluations spent on all groups.
    pub spent: u64,
    /// Whether it was stopped before the effort was spent.
    pub stopped: bool,
    /// The files it was made from.
    pub inputs: Vec<Input>,
    /// The groups.
    pub groups: Vec<GroupRow>,
    /// The sheets.
    pub sheets: Vec<SheetRow>,
    /// The pieces in their places.
    pub pieces: Vec<PieceRow>,
    /// The bed windows, sheet by sheet, in the order in which they are cut.
    pub windows: Vec<WindowRow>,
    /// Register dots.
    pub dots: Vec<DotRow>,
    /// The pieces without a place.
    pub left: Vec<LeftRow>,
    /// How the sheet lies on the bed, where it was found by two points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lies: Option<LiesRow>,
}

/// Two points of a sheet, and where they were found on the bed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LiesRow {
    /// On the sheet (mm): x and y of each.
    pub points: [[f64; 2]; 2],
    /// On the bed, from its own corner (mm): x and y of each.
    pub found: [[f64; 2]; 2],
}

impl LiesRow {
    /// The row of two points.
    pub fn of(lies: &Lies) -> LiesRow {
        let pairs = |list: [Point; 2]| list.map(|p| [p.x, p.y]);
        LiesRow { points: pairs(lies.points), found: pairs(lies.found) }
    }

    /// The two points.
    pub fn lies(&self) -> Lies {
        let points = |list: [[f64; 2]; 2]| list.map(|[x, y]| Point::new(x, y));
        Lies { points: points(self.points), found: points(self.found) }
    }
}

/// A file the lay was made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Input {
    /// Path from the job folder.
    pub path: String,
    /// SHA-256 of its bytes, in hexadecimal.
    pub sha256: String,
}

/// Pieces that were laid together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GroupRow {
    /// Material.
    pub material: String,
    /// Machine.
    pub machine: String,
    /// Least distance between two pieces (mm).
    pub apart: f64,
    /// What the machine reaches at once (mm, along x and y), where a sheet is larger.
    pub reach: Option<[f64; 2]>,
    /// Evaluations spent.
    pub spent: u64,
    /// Whether it was stopped.
    pub stopped: bool,
}

/// A sheet, and what it was like when the lay was made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SheetRow {
    /// Its name.
    pub id: String,
    /// Number of its group, from 0.
    pub group: usize,
    /// Its generation.
    pub generation: u32,
    /// Hash of outline, flaws, grades and readings.
    pub outline: String,
    /// Direction of the grain in degrees.
    pub grain: f64,
    /// The face that lies up.
    pub face: Option<String>,
    /// Least distance to its edge and flaws (mm).
    pub edge: f64,
    /// The lays whose claims on it were kept clear of.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub clear_of: Vec<String>,
}

/// A piece in its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PieceRow {
    /// Its address.
    pub address: String,
    /// The sheet.
    pub sheet: String,
    /// Number of the bed window on its sheet, from 1.
    pub window: Option<u32>,
    /// Address of the piece in whose hole it lies.
    pub host: Option<String>,
    /// Where its own origin comes to lie (mm).
    pub x: f64,
    /// See `x`.
    pub y: f64,
    /// Turn in degrees.
    pub turn: f64,
    /// Whether it is mirrored.
    pub mirrored: bool,
    /// Turn from the grain, for a piece that has only a few.
    pub stance: Option<f64>,
}

/// A bed window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WindowRow {
    /// The sheet.
    pub sheet: String,
    /// Its number on the sheet, from 1.
    pub number: u32,
    /// The box in which its pieces lie (mm).
    pub x0: f64,
    /// See `x0`.
    pub y0: f64,
    /// See `x0`.
    pub x1: f64,
    /// See `x0`.
    pub y1: f64,
    /// Where the lower left corner of what the machine reaches comes to lie on the sheet (mm).
    pub corner_x: f64,
    /// See `corner_x`.
    pub corner_y: f64,
}

/// A register dot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DotRow {
    /// The sheet.
    pub sheet: String,
    /// Centre (mm).
    pub x: f64,
    /// See `x`.
    pub y: f64,
    /// Numbers of the bed windows in whose files it stands; none where the sheet is cut at once.
    pub windows: Vec<u32>,
}

/// A piece without a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftRow {
    /// Its address.
    pub address: String,
    /// Why.
    pub reason: String,
    /// The largest circle that still finds room.
    pub largest_free: Option<FreeRow>,
}

/// A free circle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FreeRow {
    /// The sheet.
    pub sheet: String,
    /// Centre (mm).
    pub x: f64,
    /// See `x`.
    pub y: f64,
    /// Diameter (mm).
    pub diameter: f64,
}

/// What a record says beside groups and layouts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// Version of the program.
    pub program: String,
    /// Where chance began.
    pub seed: u64,
    /// Evaluations that might be spent on each group.
    pub effort: u64,
    /// The files it was made from.
    pub inputs: Vec<Input>,
    /// Material and machine of each group.
    pub groups: Vec<(String, String)>,
}

/// A record as text: pretty, in a fixed order, with a newline at its end.
pub fn to_json(record: &Record) -> String {
    let mut text = serde_json::to_string_pretty(record).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads a record.
///
/// # Errors
/// Says what is wrong with the text: too long, not of this form, a figure that is no number or far beyond any sheet.
pub fn from_json(text: &str) -> Result<Record, String> {
    if text.len() > MOST_TEXT {
        return Err(format!(
            "the record is {} bytes long; no more than {MOST_TEXT} are read",
            text.len()
        ));
    }
    let record: Record =
        serde_json::from_str(text).map_err(|e| format!("the record cannot be read: {e}"))?;
    if record.schema != SCHEMA {
        return Err(format!(
            "the record is of form {}; this program reads form {SCHEMA}",
            record.schema
        ));
    }
    record.figures()?;
    Ok(record)
}

impl Record {
    fn figures(&self) -> Result<(), String> {
        let check = |what: &str, figures: &[f64]| {
            let bad = figures.iter().find(|v| !(v.is_finite() && v.abs() < tolerance::FAR));
            bad.map_or(Ok(()), |v| Err(format!("{what}: the figure {v} is out of range")))
        };
        for group in &self.groups {
            let [x, y] = group.reach.unwrap_or_default();
            check(&group.material, &[group.apart, x, y])?;
        }
        for sheet in &self.sheets {
            check(&sheet.id, &[sheet.grain, sheet.edge])?;
        }
        for p in &self.pieces {
            check(&p.address, &[p.x, p.y, p.turn, p.stance.unwrap_or(0.0)])?;
        }
        for w in &self.windows {
            check(&w.sheet, &[w.x0, w.y0, w.x1, w.y1, w.corner_x, w.corner_y])?;
        }
        for dot in &self.dots {
            check(&dot.sheet, &[dot.x, dot.y])?;
        }
        if let Some(lies) = &self.lies {
            check("how the sheet lies", &lies.points.concat())?;
            check("how the sheet lies", &lies.found.concat())?;
        }
        for row in &self.left {
            if let Some(free) = &row.largest_free {
                check(&row.address, &[free.x, free.y, free.diameter])?;
            }
        }
        Ok(())
    }

    /// The record of layouts, each of the group with the same number.
    pub fn of(groups: &[Group], layouts: &[Layout], heading: &Heading) -> Record {
        let mut record = Record {
            schema: SCHEMA,
            program: heading.program.clone(),
            seed: heading.seed,
            effort: heading.effort,
            spent: layouts.iter().map(|l| l.spent).sum(),
            stopped: layouts.iter().any(|l| l.stopped),
            inputs: heading.inputs.clone(),
            groups: Vec::new(),
            sheets: Vec::new(),
            pieces: Vec::new(),
            windows: Vec::new(),
            dots: Vec::new(),
            left: Vec::new(),
            lies: None,
        };
        for (number, (group, layout)) in groups.iter().zip(layouts).enumerate() {
            let names = heading.groups.get(number).cloned().unwrap_or_default();
            record.groups.push(GroupRow {
                material: names.0,
                machine: names.1,
                apart: group.apart,
                reach: group.window.map(|w| [w.x, w.y]),
                spent: layout.spent,
                stopped: layout.stopped,
            });
            for ground in &group.grounds {
                record.sheets.push(sheet_row(&ground.sheet, number, ground.edge));
            }
            record.windows.extend(window_rows(group, layout));
            record.dots.extend(dot_rows(group, layout));
            record.pieces.extend(piece_rows(group, layout));
            record.left.extend(left_rows(group, layout));
        }
        record
    }
}

/// A sheet as it stands now.
pub(super) fn sheet_row(sheet: &Sheet, group: usize, edge: f64) -> SheetRow {
    SheetRow {
        id: sheet.id.clone(),
        group,
        generation: sheet.generation,
        outline: outline_hash(sheet),
        grain: sheet.grain,
        face: sheet.up.map(|face| face.name().to_owned()),
        edge,
        clear_of: claimants(sheet),
    }
}

/// The lays that claim something of a sheet, each once, in order.
fn claimants(sheet: &Sheet) -> Vec<String> {
    let claims = sheet.used.iter().filter(|used| used.state == State::Claimed);
    let mut names: Vec<String> = claims.map(|used| claimant(&used.by)).collect();
    names.sort();
    names.dedup();
    names
}

/// A lay as a record names it.
pub fn claimant(by: &Holder) -> String {
    format!("{by} {}", by.hash)
}

fn piece_rows(group: &Group, layout: &Layout) -> Vec<PieceRow> {
    let address = |i: usize| group.pieces.get(i).map(|p| p.address.to_string());
    let row = |placed: &super::Placed| {
        let piece = group.pieces.get(placed.piece)?;
        let stance = match &piece.turns {
            crate::part::Turns::Free(_) => None,
            crate::part::Turns::Fixed(list) => list.get(placed.stance).map(|s| s.turn),
        };
        Some(PieceRow {
            address: piece.address.to_string(),
            sheet: group.grounds.get(placed.ground)?.sheet.id.clone(),
            window: placed.window.map(|w| layout.window_number(w)),
            host: placed.host.and_then(address),
            x: placed.pose.x,
            y: placed.pose.y,
            turn: placed.pose.turn,
            mirrored: placed.pose.mirrored,
            stance,
        })
    };
    layout.placed.iter().filter_map(row).collect()
}

fn window_rows(group: &Group, layout: &Layout) -> Vec<WindowRow> {
    let row = |(n, w): (usize, &super::Window)| {
        Some(WindowRow {
            sheet: group.grounds.get(w.ground)?.sheet.id.clone(),
            number: layout.window_number(n),
            x0: w.bounds.x0,
            y0: w.bounds.y0,
            x1: w.bounds.x1,
            y1: w.bounds.y1,
            corner_x: w.corner.x,
            corner_y: w.corner.y,
        })
    };
    layout.windows.iter().enumerate().filter_map(row).collect()
}

fn dot_rows(group: &Group, layout: &Layout) -> Vec<DotRow> {
    let row = |dot: &super::Dot| {
        Some(DotRow {
            sheet: group.grounds.get(dot.ground)?.sheet.id.clone(),
            x: dot.at.x,
            y: dot.at.y,
            windows: dot.windows.iter().map(|w| layout.window_number(*w)).collect(),
        })
    };
    layout.dots.iter().filter_map(row).collect()
}

fn left_rows(group: &Group, layout: &Layout) -> Vec<LeftRow> {
    let row = |left: &super::LeftOut| {
        let piece = group.pieces.get(left.piece)?;
        let free = left.largest_free.and_then(|(ground, at, diameter)| {
            let sheet = group.grounds.get(ground)?.sheet.id.clone();
            Some(FreeRow { sheet, x: at.x, y: at.y, diameter })
        });
        Some(LeftRow {
            address: piece.address.to_string(),
            reason: reason(group, piece, left.tried, free.as_ref()),
            largest_free: free,
        })
    };
    layout.left.iter().filter_map(row).collect()
}

fn reason(group: &Group, piece: &Piece, tried: bool, free: Option<&FreeRow>) -> String {
    let where_to = if piece.needs.together {
        " in one zone for it and what it works with"
    } else if piece.needs.grade.is_some() || piece.needs.thickness.is_some() {
        " where the stuff will do for it"
    } else {
        ""
    };
    match free {
        _ if !tried => UNTRIED.to_owned(),
        _ if group.grounds.is_empty() => {
            "no sheet of its material is left for this machine".to_owned()
        }
        None => format!("no room is left on any sheet{where_to}"),
        Some(free) => format!(
            "no room was found{where_to}; the largest free circle is {:.1} mm across, on {} at x {:.1} y {:.1}",
            free.diameter, free.sheet, free.x, free.y
        ),
    }
}

/// SHA-256, in hexadecimal, of a sheet's outline, flaws, cuts, grades and readings as text: every figure in full, all in
/// their order. Claims are left out: they come and go, and are measured when the lay is cut.
pub fn outline_hash(sheet: &Sheet) -> String {
    let mut text = String::new();
    write_loop(&mut text, "outline", &sheet.outline);
    for flaw in &sheet.flaws {
        write_loop(&mut text, "flaw", &flaw.outline);
    }
    if sheet.grade != 1 {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "grade {}", sheet.grade);
    }
    for used in sheet.used.iter().filter(|used| used.state != State::Claimed) {
        write_loop(&mut text, "used", &used.outline);
    }
    for zone in &sheet.zones {
        write_loop(&mut text, &format!("zone {}", zone.grade), &zone.outline);
    }
    for reading in &sheet.readings {
        let (at, mm) = (reading.at, reading.thickness.mm());
        let _ = writeln!(text, "reading {} {} {mm}", at.x, at.y);
    }
    hash(text.as_bytes())
}

/// SHA-256 of some bytes, in hexadecimal.
///
/// # Source
/// NIST, FIPS 180-4, Secure Hash Standard, 2015.
pub fn hash(bytes: impl AsRef<[u8]>) -> String {
    let mut hex = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        // Writing to a string cannot fail.
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}

fn write_loop(text: &mut String, what: &str, it: &Loop) {
    let _ = match it {
        Loop::Circle(c, r) => writeln!(text, "{what} circle {} {} {r}", c.x, c.y),
        Loop::Chain(segs) => {
            let steps = segs.iter().map(|s| format!("{} {} {}", s.a.x, s.a.y, s.bulge));
            writeln!(text, "{what} chain {}", steps.collect::<Vec<_>>().join(" "))
        }
    };
}
