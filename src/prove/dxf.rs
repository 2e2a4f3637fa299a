//! Reads the DXF files that this project writes, R2000 and R12, by pairs of group code and value.
//!
//! The entities are read strictly: an entity or a group code that the writer never uses is refused. Of the header the
//! unit, the version and the extent are read; tables, blocks and objects are only walked through.

use super::drawn::{Drawn, Format, Layer, Role, Run, Stop, Stroke};
use super::manifest::{Papers, told, unfolded};
use super::track::{Arc, Seg, Spot, figure};

type Pair<'a> = (i32, &'a str);

fn unknown(what: &str) -> Stop {
    (3, format!("unknown construct: {what}"))
}

/// The file as strokes, numbered as they stand.
pub(super) fn read(text: &str) -> Result<Drawn, Stop> {
    let mut rest = text;
    let mut comments: Vec<&str> = Vec::new();
    while let Some(after) = rest.strip_prefix("999\n") {
        let (line, more) = after.split_once('\n').ok_or_else(|| unknown("a comment cut short"))?;
        comments.push(line);
        rest = more;
    }
    let papers = Papers::read(&unfolded(&comments), &[rest.as_bytes()]);
    let pairs = pairs(rest)?;
    let sections = sections(&pairs)?;
    let names: Vec<&str> = sections.iter().map(|(name, _)| *name).collect();
    let new = ["HEADER", "CLASSES", "TABLES", "BLOCKS", "ENTITIES", "OBJECTS"];
    let old = ["HEADER", "TABLES", "BLOCKS", "ENTITIES"];
    if names != new && names != old {
        return Err(unknown(&format!("the sections {}", told(&names.join(", ")))));
    }
    let mut drawn = Drawn {
        format: Format::Dxf,
        papers,
        strokes: Vec::new(),
        program: None,
        wrong: Vec::new(),
        extent: None,
    };
    header(sections[0].1, &mut drawn)?;
    for (name, pairs) in &sections {
        if *name == "BLOCKS" && pairs.iter().any(|p| p.0 == 0 && !matches!(p.1, "BLOCK" | "ENDBLK"))
        {
            return Err(unknown("a block with something in it"));
        }
        if *name == "ENTITIES" {
            drawn.strokes = entities(pairs)?;
        }
    }
    Ok(drawn)
}

fn pairs(text: &str) -> Result<Vec<Pair<'_>>, Stop> {
    let mut list = Vec::new();
    let mut lines = text.split('\n');
    while let Some(code) = lines.next() {
        let Some(value) = lines.next() else {
            if code.is_empty() && matches!(list.last(), Some((0, "EOF"))) {
                return Ok(list);
            }
            return Err((3, "the file is cut short".to_owned()));
        };
        if matches!(list.last(), Some((0, "EOF"))) {
            return Err(unknown("something after the end of the file"));
        }
        let digits = !code.is_empty() && code.len() < 5 && code.bytes().all(|b| b.is_ascii_digit());
        let code = code.parse().ok().filter(|_| digits);
        list.push((code.ok_or_else(|| unknown("a group code that is no number"))?, value));
    }
    Err((3, "the file is cut short".to_owned()))
}

/// A section: its name, and what stands in it.
type Section<'a> = (&'a str, &'a [Pair<'a>]);

fn sections<'a>(pairs: &'a [Pair<'a>]) -> Result<Vec<Section<'a>>, Stop> {
    let mut found = Vec::new();
    let mut rest = pairs;
    loop {
        match rest {
            [(0, "EOF")] => return Ok(found),
            [(0, "SECTION"), (2, name), inner @ ..] => {
                let end = inner
                    .iter()
                    .position(|p| *p == (0, "ENDSEC"))
                    .ok_or_else(|| (3, "the file is cut short".to_owned()))?;
                found.push((*name, &inner[..end]));
                rest = &inner[end + 1..];
            }
            _ => return Err(unknown("something outside of every section")),
        }
    }
}

fn header(pairs: &[Pair<'_>], drawn: &mut Drawn) -> Result<(), Stop> {
    let variable = |name: &str| -> &[Pair<'_>] {
        let Some(at) = pairs.iter().position(|p| *p == (9, name)) else { return &[] };
        let rest = &pairs[at + 1..];
        &rest[..rest.iter().position(|p| p.0 == 9).unwrap_or(rest.len())]
    };
    match variable("$ACADVER") {
        [(1, "AC1015")] => {}
        [(1, "AC1009")] => drawn.format = Format::DxfR12,
        other => {
            let version = other.first().map_or("none", |p| p.1);
            drawn.wrong.push((4, format!("the version {} is not known", told(version))));
        }
    }
    for (name, wanted, words) in [
        ("$INSUNITS", "4", "the unit is not the millimetre"),
        ("$MEASUREMENT", "1", "the measures are not metric"),
    ] {
        if variable(name) != [(70, wanted)] {
            drawn.wrong.push((4, format!("{name}: {words}")));
        }
        if pairs.iter().filter(|p| **p == (9, name)).count() > 1 {
            drawn.wrong.push((4, format!("{name} stands twice")));
        }
    }
    let corner = |name: &str| match variable(name) {
        [(10, x), (20, y), (30, _)] => Some([figure(x)?, figure(y)?]),
        _ => None,
    };
    match (corner("$EXTMIN"), corner("$EXTMAX")) {
        (Some(low), Some(high)) => drawn.extent = Some([low, high]),
        _ => return Err((4, "the header tells no extent".to_owned())),
    }
    Ok(())
}

/// One entity: its name and what follows up to the next.
struct Entity<'a> {
    name: &'a str,
    pairs: &'a [Pair<'a>],
}

impl<'a> Entity<'a> {
    /// The one value of a group code.
    fn one(&self, code: i32) -> Result<&'a str, Stop> {
        let mut found = self.pairs.iter().filter(|p| p.0 == code).map(|p| p.1);
        match (found.next(), found.next()) {
            (Some(value), None) => Ok(value),
            _ => Err(unknown(&format!("{} without one group {code}", told(self.name)))),
        }
    }

    fn real(&self, code: i32) -> Result<f64, Stop> {
        figure(self.one(code)?).ok_or_else(|| unknown("a figure that cannot be read"))
    }

    fn spot(&self, code: i32) -> Result<Spot, Stop> {
        Spot::near([self.real(code)?, self.real(code + 10)?])
            .ok_or_else(|| unknown("a point beyond any sheet"))
    }

    fn layer(&self) -> Result<Layer, Stop> {
        let name = self.one(8)?;
        Layer::of(name).ok_or_else(|| unknown(&format!("the layer `{}`", told(name))))
    }

    /// Only these group codes beside handle, owner, class and layer.
    fn only(&self, codes: &[i32]) -> Result<(), Stop> {
        match self.pairs.iter().find(|p| !matches!(p.0, 5 | 330 | 100 | 8) && !codes.contains(&p.0))
        {
            Some((code, _)) => Err(unknown(&format!("group {code} of {}", told(self.name)))),
            None => Ok(()),
        }
    }
}

fn entities(pairs: &[Pair<'_>]) -> Result<Vec<Stroke>, Stop> {
    let starts: Vec<usize> = (0..pairs.len()).filter(|i| pairs[*i].0 == 0).collect();
    if pairs.first().is_some_and(|p| p.0 != 0) {
        return Err(unknown("something before the first entity"));
    }
    let ends = starts.iter().copied().skip(1).chain([pairs.len()]);
    let mut list =
        starts.iter().zip(ends).map(|(a, b)| Entity { name: pairs[*a].1, pairs: &pairs[a + 1..b] });
    let mut strokes: Vec<Stroke> = Vec::new();
    while let Some(entity) = list.next() {
        let layer = entity.layer()?;
        let number = u32::try_from(strokes.len() + 1).unwrap_or(u32::MAX);
        let mut stroke = Stroke::new(number, layer);
        let segs = match entity.name {
            "LINE" => {
                entity.only(&[10, 20, 30, 11, 21, 31])?;
                vec![Seg::line(entity.spot(10)?, entity.spot(11)?)]
            }
            "CIRCLE" => {
                entity.only(&[10, 20, 30, 40])?;
                stroke.is_circle = true;
                let radius = entity.real(40)?;
                let circle = Seg::circle(entity.spot(10)?.mm(), radius).filter(|_| radius > 0.0);
                circle.ok_or_else(|| unknown("a circle without a radius"))?.to_vec()
            }
            "ARC" => vec![arc(&entity)?],
            "LWPOLYLINE" => light(&entity)?,
            "POLYLINE" => {
                entity.only(&[66, 10, 20, 30, 70])?;
                let mut corners = Vec::new();
                loop {
                    let Some(vertex) = list.next() else {
                        return Err((3, "a polyline is cut short".to_owned()));
                    };
                    if vertex.name == "SEQEND" {
                        vertex.only(&[])?;
                        if vertex.layer()? != layer {
                            return Err(unknown("a polyline of two layers"));
                        }
                        break;
                    }
                    vertex.only(&[10, 20, 30, 42])?;
                    if vertex.name != "VERTEX" || vertex.layer()? != layer {
                        return Err(unknown(&format!("{} in a polyline", told(vertex.name))));
                    }
                    let bent = vertex.pairs.iter().any(|p| p.0 == 42);
                    let bulge = if bent { vertex.real(42)? } else { 0.0 };
                    corners.push((vertex.spot(10)?, bulge));
                }
                chain(&corners, entity.one(70)?)?
            }
            other => return Err(unknown(&format!("the entity {}", told(other)))),
        };
        let role = if layer.is_cut() { Role::Contour } else { Role::Mark };
        stroke.runs.push(Run { role, segs });
        strokes.push(stroke);
    }
    Ok(strokes)
}

fn arc(entity: &Entity<'_>) -> Result<Seg, Stop> {
    entity.only(&[10, 20, 30, 40, 50, 51])?;
    let center = [entity.real(10)?, entity.real(20)?];
    let (radius, from, to) = (entity.real(40)?, entity.real(50)?, entity.real(51)?);
    let sweep = (to - from).rem_euclid(360.0).to_radians();
    let arc = Arc { center, radius, from: from.to_radians(), sweep };
    match (Spot::near(arc.at(arc.from)), Spot::near(arc.at(arc.from + sweep))) {
        (Some(a), Some(b)) if radius > 0.0 && sweep > 0.0 => Ok(Seg { a, b, arc: Some(arc) }),
        _ => Err(unknown("an arc without a radius or a sweep")),
    }
}

/// A polyline in one entity: the points in file order, each with the bulge that follows it.
fn light(entity: &Entity<'_>) -> Result<Vec<Seg>, Stop> {
    entity.only(&[90, 70, 10, 20, 42])?;
    let mut corners: Vec<(Spot, f64)> = Vec::new();
    let mut x = None;
    for (code, value) in entity.pairs.iter().filter(|p| matches!(p.0, 10 | 20 | 42)) {
        let value = figure(value).ok_or_else(|| unknown("a figure that cannot be read"))?;
        match (code, x) {
            (10, None) => x = Some(value),
            (20, Some(across)) => {
                let spot = Spot::near([across, value]);
                corners.push((spot.ok_or_else(|| unknown("a point beyond any sheet"))?, 0.0));
                x = None;
            }
            (42, None) => match corners.last_mut() {
                Some(last) if last.1 == 0.0 => last.1 = value,
                _ => return Err(unknown("a bulge without its corner")),
            },
            _ => return Err(unknown("the points of a polyline")),
        }
    }
    if entity.one(90)?.parse() != Ok(corners.len()) {
        return Err(unknown("the count of a polyline's points"));
    }
    chain(&corners, entity.one(70)?)
}

fn chain(corners: &[(Spot, f64)], flag: &str) -> Result<Vec<Seg>, Stop> {
    let closed = match flag {
        "1" => true,
        "0" => false,
        _ => return Err(unknown("the flag of a polyline")),
    };
    if corners.len() < 2 || corners.iter().any(|c| c.1.abs() > 1.0) {
        return Err(unknown("the corners of a polyline"));
    }
    let count = if closed { corners.len() } else { corners.len() - 1 };
    let next = corners.iter().cycle().skip(1);
    let pieces = corners.iter().zip(next).take(count);
    Ok(pieces.map(|(a, b)| Seg::by_bulge(a.0, b.0, a.1)).collect())
}
