//! What a file draws, in millimetres and y up, and the count of it.

use super::ReadFault;
use super::caps;
use crate::geom::tolerance::{FAR, SAME_POINT};
use crate::geom::{Point, Seg};
use std::collections::BTreeMap;

/// A run of lines and arcs, end to end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stroke {
    /// Never empty.
    pub(super) segs: Vec<Seg>,
    pub(super) closed: bool,
    /// Byte offset of what drew it.
    pub(super) at: usize,
}

impl Stroke {
    pub(super) fn start(&self) -> Point {
        self.segs.first().map_or(Point::ORIGIN, |s| s.a)
    }

    pub(super) fn end(&self) -> Point {
        self.segs.last().map_or(Point::ORIGIN, |s| s.b)
    }

    /// Longer side of the box around it (mm).
    pub(super) fn extent(&self) -> f64 {
        self.segs
            .iter()
            .map(Seg::bounds)
            .reduce(|a, b| a.union(b))
            .map_or(0.0, |b| b.width().max(b.height()))
    }
}

/// A circle drawn as one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ring {
    pub(super) center: Point,
    pub(super) radius: f64,
    pub(super) at: usize,
}

/// All that a file draws.
#[derive(Debug, Default)]
pub(super) struct Ink {
    pub(super) rings: Vec<Ring>,
    pub(super) strokes: Vec<Stroke>,
    pub(super) notes: Vec<String>,
    /// What was left out, by kind: the plural where there are several.
    pub(super) ignored: BTreeMap<(&'static str, &'static str), usize>,
    shapes: usize,
    points: usize,
}

impl Ink {
    /// Counts something that is left out.
    pub(super) fn ignore(&mut self, one: &'static str, many: &'static str) {
        self.ignore_many(one, many, 1);
    }

    /// Counts several of a kind that are left out.
    pub(super) fn ignore_many(&mut self, one: &'static str, many: &'static str, count: usize) {
        *self.ignored.entry((one, many)).or_insert(0) += count;
    }

    /// What was left out, in words; nothing where nothing was.
    pub(super) fn ignored_words(&self) -> Option<String> {
        let words: Vec<String> = self
            .ignored
            .iter()
            .map(
                |((one, many), n)| {
                    if *n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
                },
            )
            .collect();
        (!words.is_empty()).then(|| words.join(", "))
    }

    /// Counts a shape that is drawn.
    pub(super) fn count_shape(&mut self, at: usize) -> Result<(), ReadFault> {
        self.shapes += 1;
        if self.shapes > caps::SHAPES {
            return Err(too_many("shapes in the file", caps::SHAPES).at(at));
        }
        Ok(())
    }

    /// Counts points of the file, or pieces made from them.
    pub(super) fn count_points(&mut self, n: usize, at: usize) -> Result<(), ReadFault> {
        self.points += n;
        if self.points > caps::POINTS {
            return Err(too_many("points in the file", caps::POINTS).at(at));
        }
        Ok(())
    }

    /// Keeps a run, if it has any pieces.
    pub(super) fn add_stroke(&mut self, segs: Vec<Seg>, closed: bool, at: usize) {
        if !segs.is_empty() {
            self.strokes.push(Stroke { segs, closed, at });
        }
    }

    /// Keeps a circle.
    pub(super) fn add_ring(
        &mut self,
        center: Point,
        radius: f64,
        at: usize,
    ) -> Result<(), ReadFault> {
        within_reach(center, at)?;
        within_radius(radius, at)?;
        self.rings.push(Ring { center, radius, at });
        Ok(())
    }
}

pub(super) fn too_many(what: &str, most: usize) -> ReadFault {
    ReadFault::new("E91", format!("more than {most} {what}"))
        .cure("keep only the outlines that are to be cut, or draw them with fewer points")
}

/// Refuses a point that is not finite or lies beyond 100 m.
pub(super) fn within_reach(p: Point, at: usize) -> Result<(), ReadFault> {
    if p.x.abs() < FAR && p.y.abs() < FAR {
        return Ok(());
    }
    let text = format!("a point at x {:e} y {:e} mm lies beyond 100 m", p.x, p.y);
    Err(ReadFault::new("E92", text).cure("mend the point, or the unit of the file").at(at))
}

/// Refuses a radius that is not finite or greater than 100 m.
pub(super) fn within_radius(radius: f64, at: usize) -> Result<(), ReadFault> {
    if radius.abs() <= caps::RADIUS {
        return Ok(());
    }
    let text = format!("a curve of {radius:e} mm radius; 100 m is the most that is read");
    Err(ReadFault::new("E92", text)
        .cure("draw it as a straight line, or mend the unit of the file")
        .at(at))
}

/// Adds an arc by its bulge: flat ones as lines, those beyond half a turn in two equal pieces.
pub(super) fn push_arc(segs: &mut Vec<Seg>, a: Point, b: Point, bulge: f64) {
    let whole = Seg::arc(a, b, bulge);
    if bulge.abs() * whole.chord().hypot() / 2.0 <= SAME_POINT {
        segs.push(Seg::line(a, b));
    } else if bulge.abs() <= 1.0 {
        segs.push(whole);
    } else if bulge.abs() - 1.0 <= 1e-9 {
        segs.push(Seg::arc(a, b, bulge.signum()));
    } else {
        let half = (bulge.atan() / 2.0).tan();
        let middle = whole.at(0.5);
        segs.push(Seg::arc(a, middle, half));
        segs.push(Seg::arc(middle, b, half));
    }
}
