//! From the entities of a DXF file to lines and arcs in millimetres.

use super::ink::{Ink, push_arc, too_many, within_radius, within_reach};
use super::reduce::{Reduced, reduced};
use super::{ReadFault, ReadOptions, caps};
use crate::geom::tolerance::SAME_POINT;
use crate::geom::{Point, Seg, Vec2};
use ::dxf::Drawing;
use ::dxf::entities::{Arc, EntityType};
use std::f64::consts::TAU;

/// Draws a DXF file.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<Ink, ReadFault> {
    let mut ink = Ink::default();
    let plain = reduced(bytes, &mut ink)?;
    let unit = unit(&plain, options, &mut ink)?;
    let mut text = plain.text.as_bytes();
    let drawing = Drawing::load(&mut text).map_err(|e| {
        ReadFault::new("E90", format!("the drawing could not be read: {e}"))
            .cure("save it again as ASCII DXF")
    })?;
    if drawing.entities().count() != plain.places.len() {
        // The crate passes over what it cannot read; a lost line would be a lost cut.
        return Err(ReadFault::new("E90", "not every entity of the drawing could be read"));
    }
    for (entity, at) in drawing.entities().zip(&plain.places) {
        draw(&entity.specific, unit, *at, &mut ink)?;
    }
    Ok(ink)
}

/// Millimetres in one unit of the drawing.
///
/// # Source
/// DXF reference of the format's owner, header variable `$INSUNITS`: 0 none, 1 in, 2 ft, 4 mm, 5 cm, 6 m, 10 yd.
fn unit(plain: &Reduced, options: &ReadOptions, ink: &mut Ink) -> Result<f64, ReadFault> {
    let (number, at) = plain.unit.unwrap_or((0, 0));
    let stated = match number {
        0 => None,
        1 => Some(25.4),
        2 => Some(304.8),
        4 => Some(1.0),
        5 => Some(10.0),
        6 => Some(1000.0),
        10 => Some(914.4),
        _ => {
            let text = format!("$INSUNITS {number}: a unit in which no outline is drawn");
            return Err(ReadFault::new("E93", text)
                .cure("set the drawing's unit to mm or inches and save it again")
                .at(at));
        }
    };
    if let (Some(mm), Some(metric)) = (stated, plain.metric)
        && matches!(number, 1 | 2 | 10) == (metric == 1)
    {
        ink.notes.push(format!(
            "$INSUNITS and $MEASUREMENT contradict each other; one unit was read as {mm} mm, as $INSUNITS says"
        ));
    }
    if stated.is_some() && options.unit.is_some() {
        ink.notes
            .push("the file states its own unit; the one given beside it was not used".to_owned());
    }
    stated.or(options.unit).ok_or_else(|| {
        ReadFault::new("E93", "the file does not say in which unit it is drawn ($INSUNITS)").cure(
            "write `outline-unit = \"mm\"` (or in, cm) beside the outline, or set the drawing's unit and save it again",
        )
    })
}

fn draw(entity: &EntityType, unit: f64, at: usize, ink: &mut Ink) -> Result<(), ReadFault> {
    match entity {
        EntityType::Line(line) => {
            let from = placed(line.p1.x, line.p1.y, unit, at)?;
            let to = placed(line.p2.x, line.p2.y, unit, at)?;
            ink.count_points(2, at)?;
            ink.add_stroke(vec![Seg::line(from, to)], false, at);
            Ok(())
        }
        EntityType::Circle(circle) => {
            let radius = positive(circle.radius, at)? * unit;
            ink.count_points(1, at)?;
            ink.add_ring(placed(circle.center.x, circle.center.y, unit, at)?, radius, at)
        }
        EntityType::Arc(arc) => arc_of(arc, unit, at, ink),
        EntityType::LwPolyline(line) => {
            let corners: Vec<_> = line.vertices.iter().map(|v| (v.x, v.y, v.bulge)).collect();
            run(&corners, line.flags & 1 == 1, unit, at, ink)
        }
        EntityType::Polyline(line) => {
            let corners: Vec<_> =
                line.vertices().map(|v| (v.location.x, v.location.y, v.bulge)).collect();
            run(&corners, line.flags & 1 == 1, unit, at, ink)
        }
        _ => Err(ReadFault::new("E90", "an entity was read as another kind").at(at)),
    }
}

fn placed(x: f64, y: f64, unit: f64, at: usize) -> Result<Point, ReadFault> {
    let p = Point::new(x * unit, y * unit);
    within_reach(p, at)?;
    Ok(p)
}

fn positive(radius: f64, at: usize) -> Result<f64, ReadFault> {
    if radius > 0.0 {
        Ok(radius)
    } else {
        Err(ReadFault::new("E99", format!("a radius of {radius}")).at(at))
    }
}

/// An arc runs counter-clockwise from its first angle to its second, both in degrees.
fn arc_of(arc: &Arc, unit: f64, at: usize, ink: &mut Ink) -> Result<(), ReadFault> {
    let center = placed(arc.center.x, arc.center.y, unit, at)?;
    let radius = positive(arc.radius, at)? * unit;
    within_radius(radius, at)?;
    ink.count_points(2, at)?;
    let turn = (arc.end_angle - arc.start_angle).rem_euclid(360.0);
    let around = arc.end_angle - arc.start_angle;
    if around == 0.0 {
        return Err(ReadFault::new("E99", "an arc from one angle to the same").at(at));
    }
    if !(1e-9..=360.0 - 1e-9).contains(&turn) {
        return ink.add_ring(center, radius, at);
    }
    let start = arc.start_angle.rem_euclid(360.0).to_radians();
    let sweep = turn / 360.0 * TAU;
    let on = |angle: f64| center + Vec2::from_angle(angle) * radius;
    let mut segs = Vec::new();
    if turn > 180.0 {
        let (from, middle, to) = (on(start), on(start + sweep / 2.0), on(start + sweep));
        push_arc(&mut segs, from, middle, (sweep / 8.0).tan());
        push_arc(&mut segs, middle, to, (sweep / 8.0).tan());
    } else {
        push_arc(&mut segs, on(start), on(start + sweep), (sweep / 4.0).tan().min(1.0));
    }
    for seg in &segs {
        within_reach(seg.a, at)?;
        within_reach(seg.b, at)?;
    }
    ink.add_stroke(segs, false, at);
    Ok(())
}

/// A polyline: the bulge of each vertex bends the piece that leaves it, the last one's the closing piece.
fn run(
    corners: &[(f64, f64, f64)],
    closed: bool,
    unit: f64,
    at: usize,
    ink: &mut Ink,
) -> Result<(), ReadFault> {
    if corners.len() > caps::CONTOUR {
        return Err(too_many("points in one contour", caps::CONTOUR).at(at));
    }
    let mut points = Vec::with_capacity(corners.len());
    for (x, y, bulge) in corners {
        points.push((placed(*x, *y, unit, at)?, *bulge));
    }
    let mut segs = Vec::with_capacity(points.len());
    let next = points.iter().cycle().skip(1);
    let pieces = if closed { points.len() } else { points.len().saturating_sub(1) };
    for ((from, bulge), (to, _)) in points.iter().zip(next).take(pieces) {
        let whole = Seg::arc(*from, *to, *bulge);
        if whole.chord().hypot() == 0.0 {
            continue;
        }
        if bulge.abs() * whole.chord().hypot() / 2.0 > SAME_POINT {
            within_radius(whole.radius(), at)?;
        }
        push_arc(&mut segs, *from, *to, *bulge);
    }
    ink.count_points(segs.len(), at)?;
    ink.add_stroke(segs, closed, at);
    Ok(())
}
