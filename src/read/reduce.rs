//! A DXF file written anew with nothing in it but a unit and the entities that are read.
//!
//! The foreign text is walked pair by pair. What goes on to the `dxf` crate is text of our own making: three header
//! variables and plain LINE, ARC, CIRCLE, LWPOLYLINE and POLYLINE entities, without handles, groups, owners or
//! dates, every figure checked.

use super::ink::{Ink, too_many};
use super::pairs::{Pair, Pairs, cut_off, is_binary};
use super::{ReadFault, caps};
use crate::geom::tolerance::WRITTEN;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// What is handed on, and where each entity of it came from.
#[derive(Debug, Default)]
pub(super) struct Reduced {
    pub(super) text: String,
    /// Byte offset of each entity, in order.
    pub(super) places: Vec<usize>,
    /// `$INSUNITS`, where the file has it, and where.
    pub(super) unit: Option<(i32, usize)>,
    /// `$MEASUREMENT`, where the file has it.
    pub(super) metric: Option<i32>,
}

/// Reduces a file.
///
/// # Errors
/// Refuses binary files, broken pairs, figures that are not finite, sections out of order, a file that does not end
/// in 0/EOF, and entities seen from another side.
pub(super) fn reduced(bytes: &[u8], ink: &mut Ink) -> Result<Reduced, ReadFault> {
    if is_binary(bytes) {
        return Err(ReadFault::new("E90", "this is a binary DXF file").cure("save it as ASCII DXF"));
    }
    let start = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
    let mut pairs = Pairs::new(bytes, start);
    let mut made = Reduced::default();
    let mut off = BTreeSet::new();
    let mut body = String::new();
    loop {
        let pair = pairs.next()?;
        if pair.is("EOF") {
            break;
        }
        if !pair.is("SECTION") {
            return Err(out_of_place(&pair));
        }
        let name = pairs.next()?;
        if name.code != 2 {
            return Err(out_of_place(&name));
        }
        match name.value {
            b"HEADER" => header(&mut pairs, &mut made)?,
            b"TABLES" => off.extend(layers_off(&mut pairs)?),
            b"ENTITIES" => entities(&mut pairs, &off, ink, &mut made, &mut body)?,
            _ => while !inside(&pairs.next()?)?.is("ENDSEC") {},
        }
    }
    let rest = bytes.get(pairs.place()..).unwrap_or(&[]);
    if let Some(more) = rest.iter().position(|b| !b.is_ascii_whitespace() && *b != 0x1a) {
        return Err(ReadFault::new("E90", "something follows the end of the drawing (0, EOF)")
            .at(pairs.place() + more));
    }
    made.text = wrapped(&made, &body);
    Ok(made)
}

/// The text that is handed on. A version of the year 2000 holds all five kinds.
fn wrapped(made: &Reduced, body: &str) -> String {
    let mut text = String::with_capacity(body.len() + 200);
    text.push_str("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n");
    if let Some((unit, _)) = made.unit {
        let _ = write!(text, "9\n$INSUNITS\n70\n{unit}\n");
    }
    if let Some(metric) = made.metric {
        let _ = write!(text, "9\n$MEASUREMENT\n70\n{metric}\n");
    }
    text.push_str("0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    text.push_str(body);
    text.push_str("0\nENDSEC\n0\nEOF\n");
    text
}

fn out_of_place(pair: &Pair<'_>) -> ReadFault {
    let text = format!("`{}` (group code {}) stands where it cannot", pair.words(), pair.code);
    ReadFault::new("E90", text).at(pair.at)
}

/// Refuses what can only stand outside a section.
fn inside<'a, 'b>(pair: &'b Pair<'a>) -> Result<&'b Pair<'a>, ReadFault> {
    if pair.is("EOF") {
        return Err(cut_off(pair.at));
    }
    if pair.is("SECTION") {
        return Err(out_of_place(pair));
    }
    Ok(pair)
}

fn header(pairs: &mut Pairs<'_>, made: &mut Reduced) -> Result<(), ReadFault> {
    let mut variable: &[u8] = b"";
    loop {
        let pair = pairs.next()?;
        if inside(&pair)?.is("ENDSEC") {
            return Ok(());
        }
        match (pair.code, variable) {
            (9, _) => variable = pair.value,
            (70, b"$INSUNITS") => made.unit = Some((small(&pair, 0, 24)?, pair.at)),
            (70, b"$MEASUREMENT") => made.metric = Some(small(&pair, 0, 1)?),
            _ => {}
        }
    }
}

fn small(pair: &Pair<'_>, least: i32, most: i32) -> Result<i32, ReadFault> {
    let value = pair.whole()?;
    if (least..=most).contains(&value) {
        return Ok(value);
    }
    let text = format!(
        "a unit of the number {value} is none of the {least} to {most} that the format knows"
    );
    Err(ReadFault::new("E93", text).at(pair.at))
}

/// The names, in capitals, of layers that are frozen or switched off.
fn layers_off(pairs: &mut Pairs<'_>) -> Result<BTreeSet<Vec<u8>>, ReadFault> {
    let mut off = BTreeSet::new();
    let mut name: Option<Vec<u8>> = None;
    let mut hidden = false;
    let mut layer = false;
    loop {
        let pair = pairs.next()?;
        inside(&pair)?;
        if pair.code == 0 {
            if let (true, true, Some(name)) = (layer, hidden, name.take()) {
                off.insert(name);
            }
            (name, hidden, layer) = (None, false, pair.value == b"LAYER");
            if pair.value == b"ENDSEC" {
                return Ok(off);
            }
        } else if layer && pairs.groups() == 0 {
            match pair.code {
                2 => name = Some(pair.value.to_ascii_uppercase()),
                70 => hidden |= pair.whole()? & 1 == 1,
                62 => hidden |= pair.whole()? < 0,
                _ => {}
            }
        }
    }
}

/// One entity as it is read off, pair by pair.
#[derive(Debug, Default)]
struct Entity<'a> {
    kind: &'a [u8],
    at: usize,
    pairs: Vec<Pair<'a>>,
    /// Paper space, or marked invisible.
    unseen: bool,
    layer_off: bool,
    flags: i32,
    normal: [f64; 3],
    heights: [f64; 2],
}

/// An old-style polyline stays open until SEQEND.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Run {
    None,
    /// Its vertices are handed on.
    Kept,
    /// It is left out with its vertices.
    Left,
}

fn entities(
    pairs: &mut Pairs<'_>,
    off: &BTreeSet<Vec<u8>>,
    ink: &mut Ink,
    made: &mut Reduced,
    body: &mut String,
) -> Result<(), ReadFault> {
    let mut run = Run::None;
    let mut head = pairs.next()?;
    loop {
        if inside(&head)?.is("ENDSEC") {
            if run == Run::Kept {
                let text = "a polyline that does not end in SEQEND";
                return Err(ReadFault::new("E90", text).at(head.at));
            }
            return Ok(());
        }
        if head.code != 0 {
            return Err(out_of_place(&head));
        }
        let (entity, next) = entity(pairs, head, off)?;
        run = keep(&entity, run, ink, made, body)?;
        head = next;
    }
}

/// Reads one entity; gives it and the pair that begins the next.
fn entity<'a>(
    pairs: &mut Pairs<'a>,
    head: Pair<'a>,
    off: &BTreeSet<Vec<u8>>,
) -> Result<(Entity<'a>, Pair<'a>), ReadFault> {
    let mut it =
        Entity { kind: head.value, at: head.at, normal: [0.0, 0.0, 1.0], ..Entity::default() };
    let wanted = codes(it.kind);
    let mut points = 0;
    loop {
        let pair = pairs.next()?;
        if pair.code == 0 {
            return Ok((it, pair));
        }
        if pairs.groups() > 0 || pair.code == 102 {
            continue;
        }
        match pair.code {
            8 => it.layer_off = off.contains(&pair.value.to_ascii_uppercase()),
            60 | 67 => it.unseen |= pair.whole()? == 1,
            70 => it.flags = pair.whole()?,
            210 => it.normal[0] = pair.number()?,
            220 => it.normal[1] = pair.number()?,
            230 => it.normal[2] = pair.number()?,
            30 => it.heights[0] = pair.number()?,
            31 => it.heights[1] = pair.number()?,
            code if wanted.contains(&code) => {
                points += usize::from(code == 10);
                if points > caps::CONTOUR {
                    return Err(too_many("points in one contour", caps::CONTOUR).at(pair.at));
                }
                it.pairs.push(pair);
            }
            _ => {}
        }
    }
}

/// The figures of a kind that are handed on; nothing for the kinds that are not.
fn codes(kind: &[u8]) -> &'static [i32] {
    match kind {
        b"LINE" => &[10, 20, 11, 21],
        b"CIRCLE" => &[10, 20, 40],
        b"ARC" => &[10, 20, 40, 50, 51],
        b"LWPOLYLINE" | b"VERTEX" => &[10, 20, 42],
        _ => &[],
    }
}

/// Writes an entity into the body, or counts it among what is left out.
fn keep(
    it: &Entity<'_>,
    run: Run,
    ink: &mut Ink,
    made: &mut Reduced,
    body: &mut String,
) -> Result<Run, ReadFault> {
    let vertex = it.kind == b"VERTEX" || it.kind == b"SEQEND";
    if run != Run::Kept && vertex {
        return Ok(if it.kind == b"SEQEND" { Run::None } else { run });
    }
    if run == Run::Kept && !vertex {
        return Err(ReadFault::new("E90", "a polyline that does not end in SEQEND").at(it.at));
    }
    if vertex {
        return follow(it, run, ink, body);
    }
    let polyline = it.kind == b"POLYLINE";
    let left = if polyline { Run::Left } else { Run::None };
    if codes(it.kind).is_empty() && !polyline {
        count_other(it.kind, ink);
        return Ok(left);
    }
    if it.unseen {
        ink.ignore("entity in paper space or invisible", "entities in paper space or invisible");
        return Ok(left);
    }
    if it.layer_off {
        ink.ignore(
            "entity on a layer that is off or frozen",
            "entities on layers that are off or frozen",
        );
        return Ok(left);
    }
    if polyline && it.flags & (16 | 64) != 0 {
        ink.ignore("mesh", "meshes");
        return Ok(left);
    }
    flat(it)?;
    ink.count_shape(it.at)?;
    made.places.push(it.at);
    if polyline {
        let _ = write!(body, "0\nPOLYLINE\n66\n1\n70\n{}\n", it.flags & 1);
        return Ok(Run::Kept);
    }
    let kind = std::str::from_utf8(it.kind).unwrap_or_default();
    let _ = write!(body, "0\n{kind}\n");
    if it.kind == b"LWPOLYLINE" {
        vertices(it, ink, body)?;
    } else {
        whole(it, body)?;
    }
    Ok(Run::None)
}

/// A vertex or the end of a polyline that is handed on.
fn follow(it: &Entity<'_>, run: Run, ink: &mut Ink, body: &mut String) -> Result<Run, ReadFault> {
    if it.kind == b"SEQEND" {
        body.push_str("0\nSEQEND\n");
        return Ok(Run::None);
    }
    // 16: a point of a spline's frame, which the outline does not pass through.
    if it.flags & 16 == 0 {
        ink.count_points(1, it.at)?;
        body.push_str("0\nVERTEX\n");
        figure(it, 10, body)?;
        figure(it, 20, body)?;
        if it.pairs.iter().any(|p| p.code == 42) {
            figure(it, 42, body)?;
        }
    }
    Ok(run)
}

/// Every figure of a line, arc or circle, each once.
fn whole(it: &Entity<'_>, body: &mut String) -> Result<(), ReadFault> {
    for code in codes(it.kind) {
        figure(it, *code, body)?;
    }
    Ok(())
}

fn figure(it: &Entity<'_>, code: i32, body: &mut String) -> Result<(), ReadFault> {
    let mut found = it.pairs.iter().filter(|p| p.code == code);
    let (Some(pair), None) = (found.next(), found.next()) else {
        let kind = String::from_utf8_lossy(it.kind);
        let text = format!("{kind} without a figure of group code {code}, or with two");
        return Err(ReadFault::new("E99", text).at(it.at));
    };
    written(pair, body)
}

fn written(pair: &Pair<'_>, body: &mut String) -> Result<(), ReadFault> {
    let value = pair.number()?;
    if value.abs() > caps::FIGURE {
        let text = format!("{value:e} is not a number that can be drawn");
        return Err(ReadFault::new("E92", text).at(pair.at));
    }
    let _ = write!(body, "{}\n{value}\n", pair.code);
    Ok(())
}

/// The vertices of a polyline in their order; a bulge belongs to the vertex before it, and is nought unless given.
fn vertices(it: &Entity<'_>, ink: &mut Ink, body: &mut String) -> Result<(), ReadFault> {
    let _ = write!(body, "70\n{}\n", it.flags & 1);
    let mut wanted = 10;
    for pair in &it.pairs {
        let fits = match pair.code {
            10 => wanted != 20,
            20 => wanted == 20,
            _ => wanted == 42,
        };
        if !fits {
            let text = format!("LWPOLYLINE with a figure of group code {} out of turn", pair.code);
            return Err(ReadFault::new("E99", text).at(pair.at));
        }
        wanted = match pair.code {
            10 => 20,
            20 => 42,
            _ => 10,
        };
        if pair.code == 10 {
            ink.count_points(1, pair.at)?;
        }
        written(pair, body)?;
    }
    if wanted == 20 {
        return Err(ReadFault::new("E99", "LWPOLYLINE whose last point has no y").at(it.at));
    }
    Ok(())
}

/// Refuses what is seen from another side or does not lie in the plane.
fn flat(it: &Entity<'_>) -> Result<(), ReadFault> {
    let kind = String::from_utf8_lossy(it.kind).into_owned();
    let [x, y, z] = it.normal;
    if x.abs() > 1e-9 || y.abs() > 1e-9 || z <= 0.0 {
        let text = format!("{kind} drawn from another side (extrusion {x}, {y}, {z})");
        return Err(ReadFault::new("E98", text)
            .cure("turn the drawing to the plan seen from above, flatten it, and save it again")
            .at(it.at));
    }
    if it.kind == b"LINE" && (it.heights[0] - it.heights[1]).abs() > WRITTEN {
        return Err(ReadFault::new("E98", "LINE that rises out of the plane")
            .cure("flatten the drawing and save it again")
            .at(it.at));
    }
    Ok(())
}

fn count_other(kind: &[u8], ink: &mut Ink) {
    let (one, many) = match kind {
        b"INSERT" => ("copy of a block (INSERT)", "copies of blocks (INSERT)"),
        b"SPLINE" => ("spline", "splines"),
        b"ELLIPSE" => ("ellipse", "ellipses"),
        b"TEXT" | b"MTEXT" | b"ATTRIB" | b"ATTDEF" => ("text", "texts"),
        b"DIMENSION" | b"LEADER" | b"MLEADER" | b"TOLERANCE" => ("dimension", "dimensions"),
        b"HATCH" | b"SOLID" | b"TRACE" => ("filled area", "filled areas"),
        b"IMAGE" | b"WIPEOUT" => ("picture", "pictures"),
        b"POINT" => ("point", "points"),
        b"VIEWPORT" => ("viewport", "viewports"),
        _ => ("entity of another kind", "entities of other kinds"),
    };
    ink.ignore(one, many);
}
