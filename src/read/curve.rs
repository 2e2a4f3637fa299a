//! A pen that draws in the file's own units and leaves lines and arcs in millimetres.

use super::ReadFault;
use super::caps;
use super::ink::{Ink, push_arc, too_many, within_radius, within_reach};
use crate::geom::tolerance::{FIT_READ, SAME_POINT, WRITTEN};
use crate::geom::{Affine, Curve, Point, Seg, Vec2, arcs_along, cubic, ellipse_arc};
use std::f64::consts::PI;

/// Draws one subpath after the other.
#[derive(Debug)]
pub(super) struct Pen<'a> {
    ink: &'a mut Ink,
    map: Affine,
    /// Where the subpath began and where the pen stands, in the file's units.
    start: Point,
    here: Point,
    segs: Vec<Seg>,
    points: usize,
    at: usize,
}

/// An elliptic arc as SVG writes it.
#[derive(Debug, Clone, Copy)]
pub(super) struct ArcTo {
    pub(super) rx: f64,
    pub(super) ry: f64,
    /// Turn of the ellipse's first axis, in degrees.
    pub(super) turn: f64,
    pub(super) large: bool,
    pub(super) sweep: bool,
    pub(super) end: Point,
}

/// A piece of an ellipse in the plane of the drawing: half axes as vectors, angles of its own parameter.
#[derive(Debug, Clone, Copy)]
struct Sector {
    center: Point,
    u: Vec2,
    v: Vec2,
    start: f64,
    sweep: f64,
}

impl<'a> Pen<'a> {
    pub(super) fn new(ink: &'a mut Ink, map: Affine, at: usize) -> Pen<'a> {
        Pen { ink, map, start: Point::ORIGIN, here: Point::ORIGIN, segs: Vec::new(), points: 0, at }
    }

    /// Where the pen stands, in the file's units.
    pub(super) fn here(&self) -> Point {
        self.here
    }

    /// Where the subpath began.
    pub(super) fn start(&self) -> Point {
        self.start
    }

    /// Begins a subpath; an unfinished one stays open.
    pub(super) fn move_to(&mut self, p: Point, at: usize) -> Result<(), ReadFault> {
        self.finish();
        self.at = at;
        self.placed(p, at)?;
        self.points = 0;
        (self.start, self.here) = (p, p);
        Ok(())
    }

    /// A straight line.
    pub(super) fn line_to(&mut self, p: Point, at: usize) -> Result<(), ReadFault> {
        self.count(at)?;
        let (a, b) = (self.placed(self.here, at)?, self.placed(p, at)?);
        if a != b {
            self.add(vec![Seg::line(a, b)], at)?;
        }
        self.here = p;
        Ok(())
    }

    /// A cubic Bézier curve.
    pub(super) fn cubic_to(
        &mut self,
        b: Point,
        c: Point,
        d: Point,
        at: usize,
    ) -> Result<(), ReadFault> {
        self.count(at)?;
        let from = self.placed(self.here, at)?;
        let to = self.placed(d, at)?;
        let (b, c) = (self.placed(b, at)?, self.placed(c, at)?);
        self.here = d;
        if straight(from, b, c, to) {
            if from != to {
                self.add(vec![Seg::line(from, to)], at)?;
            }
            return Ok(());
        }
        self.fit(&cubic(from, b, c, to), from, to, at)
    }

    /// An elliptic arc; equal ends draw nothing, a radius of nought draws a line, radii too short are stretched.
    ///
    /// # Source
    /// SVG 1.1 (W3C 2011), appendix F.6 "Elliptical arc implementation notes".
    pub(super) fn arc_to(&mut self, arc: &ArcTo, at: usize) -> Result<(), ReadFault> {
        let end = arc.end;
        self.placed(end, at)?;
        if end == self.here {
            return Ok(());
        }
        let (rx, ry) = (arc.rx.abs(), arc.ry.abs());
        within_radius(rx.max(ry) * stretch(self.map), at)?;
        if rx == 0.0 || ry == 0.0 {
            return self.line_to(end, at);
        }
        let sector = by_ends(self.here, arc, rx, ry);
        self.count(at)?;
        let from = self.placed(self.here, at)?;
        let to = self.placed(end, at)?;
        self.here = end;
        self.sector(&sector, from, to, at)
    }

    /// A whole ellipse, as a subpath of its own.
    pub(super) fn ellipse(
        &mut self,
        center: Point,
        rx: f64,
        ry: f64,
        at: usize,
    ) -> Result<(), ReadFault> {
        self.finish();
        within_radius(rx.max(ry) * stretch(self.map), at)?;
        let whole = Sector {
            center,
            u: Vec2::new(rx, 0.0),
            v: Vec2::new(0.0, ry),
            start: 0.0,
            sweep: 2.0 * PI,
        };
        self.count(at)?;
        let seen = whole.mapped(self.map);
        within_reach(seen.center, at)?;
        if seen.is_round() {
            let radius = f64::midpoint(seen.u.hypot(), seen.v.hypot());
            return self.ink.add_ring(seen.center, radius, at);
        }
        let from = seen.center + seen.u;
        within_reach(from, at)?;
        self.at = at;
        self.sector(&whole, from, from, at)?;
        let segs = std::mem::take(&mut self.segs);
        self.ink.add_stroke(segs, true, at);
        Ok(())
    }

    /// Closes the subpath with a line where its end stands off its start.
    pub(super) fn close(&mut self, at: usize) -> Result<(), ReadFault> {
        let start = self.placed(self.start, at)?;
        if let Some(last) = self.segs.last_mut() {
            if (last.b - start).hypot() <= WRITTEN {
                last.b = start;
            } else {
                let end = last.b;
                self.add(vec![Seg::line(end, start)], at)?;
            }
        }
        let segs = std::mem::take(&mut self.segs);
        self.ink.add_stroke(segs, true, self.at);
        self.here = self.start;
        self.points = 0;
        Ok(())
    }

    /// Ends the subpath as it is.
    pub(super) fn finish(&mut self) {
        let segs = std::mem::take(&mut self.segs);
        self.ink.add_stroke(segs, false, self.at);
    }

    fn placed(&self, p: Point, at: usize) -> Result<Point, ReadFault> {
        let placed = self.map * p;
        within_reach(placed, at)?;
        Ok(placed)
    }

    fn count(&mut self, at: usize) -> Result<(), ReadFault> {
        if self.points == 0 {
            self.ink.count_shape(at)?;
        }
        self.points += 1;
        if self.points > caps::CONTOUR {
            return Err(too_many("points in one contour", caps::CONTOUR).at(at));
        }
        Ok(())
    }

    fn add(&mut self, segs: Vec<Seg>, at: usize) -> Result<(), ReadFault> {
        self.ink.count_points(segs.len(), at)?;
        self.segs.extend(segs);
        Ok(())
    }

    /// Lays a sector down between two known ends: true arcs where it is round, fitted ones elsewhere.
    fn sector(&mut self, own: &Sector, from: Point, to: Point, at: usize) -> Result<(), ReadFault> {
        let seen = own.mapped(self.map);
        if !(seen.center.x.is_finite() && seen.center.y.is_finite()) {
            within_reach(seen.center, at)?;
        }
        within_radius(seen.u.hypot().max(seen.v.hypot()), at)?;
        if !seen.is_round() {
            let curve = ellipse_arc(seen.center, seen.u, seen.v, seen.start, seen.sweep);
            return self.fit(&curve, from, to, at);
        }
        let turn = seen.sweep * seen.u.cross(seen.v).signum();
        let mut segs = Vec::with_capacity(2);
        if turn.abs() > PI + 1e-9 {
            let (sin, cos) = (seen.start + seen.sweep / 2.0).sin_cos();
            let middle = seen.center + seen.u * cos + seen.v * sin;
            within_reach(middle, at)?;
            let half = (turn / 8.0).tan();
            push_arc(&mut segs, from, middle, half);
            push_arc(&mut segs, middle, to, half);
        } else {
            let bulge = (turn / 4.0).tan().clamp(-1.0, 1.0);
            push_arc(&mut segs, from, to, bulge);
        }
        self.add(segs, at)
    }

    /// Arcs along a curve, its ends put where the file has them.
    fn fit(&mut self, curve: &Curve, from: Point, to: Point, at: usize) -> Result<(), ReadFault> {
        let mut made = arcs_along(curve, FIT_READ);
        if let Some(first) = made.first_mut() {
            first.a = from;
        }
        if let Some(last) = made.last_mut() {
            last.b = to;
        }
        let mut segs = Vec::with_capacity(made.len());
        for seg in made {
            push_arc(&mut segs, seg.a, seg.b, seg.bulge);
        }
        self.add(segs, at)
    }
}

impl Sector {
    fn mapped(&self, map: Affine) -> Sector {
        let origin = map * Point::ORIGIN;
        Sector {
            center: map * self.center,
            u: map * self.u.to_point() - origin,
            v: map * self.v.to_point() - origin,
            ..*self
        }
    }

    /// Whether it is part of a circle, to the last figure that a file is written with.
    fn is_round(&self) -> bool {
        let (long, wide) = (self.u.hypot(), self.v.hypot());
        (long - wide).abs() <= WRITTEN && self.u.dot(self.v).abs() <= WRITTEN * long.max(wide)
    }
}

/// The most by which a map can lengthen anything.
fn stretch(map: Affine) -> f64 {
    let [a, b, c, d, _, _] = map.as_coeffs();
    let square = a * a + b * b + c * c + d * d;
    let det = a * d - b * c;
    let rest = (square * square - 4.0 * det * det).max(0.0).sqrt();
    f64::midpoint(square, rest).sqrt()
}

/// Whether a cubic runs straight and steadily from its start to its end.
fn straight(a: Point, b: Point, c: Point, d: Point) -> bool {
    let chord = d - a;
    let length = chord.hypot();
    if length <= SAME_POINT {
        return [b, c].iter().all(|p| (*p - a).hypot() <= SAME_POINT);
    }
    let along = |p: Point| (p - a).dot(chord) / length;
    let off = |p: Point| (p - a).cross(chord).abs() / length;
    off(b) <= SAME_POINT
        && off(c) <= SAME_POINT
        && [b, c].iter().all(|p| along(*p) >= -SAME_POINT && along(*p) <= length + SAME_POINT)
}

/// Centre and angles of an arc that is given by its ends; radii too short are stretched to reach.
fn by_ends(from: Point, arc: &ArcTo, mut rx: f64, mut ry: f64) -> Sector {
    let (sin, cos) = arc.turn.to_radians().sin_cos();
    let half = (from - arc.end) / 2.0;
    let (x, y) = (cos * half.x + sin * half.y, cos * half.y - sin * half.x);
    let reach = (x / rx).powi(2) + (y / ry).powi(2);
    let mut away = 0.0;
    if reach > 1.0 {
        rx *= reach.sqrt();
        ry *= reach.sqrt();
    } else if reach > 0.0 {
        away = ((1.0 - reach) / reach).sqrt();
    }
    if arc.large == arc.sweep {
        away = -away;
    }
    let (cx, cy) = (away * rx * y / ry, -away * ry * x / rx);
    let middle = from.midpoint(arc.end);
    let center = middle + Vec2::new(cos * cx - sin * cy, sin * cx + cos * cy);
    let start = ((y - cy) / ry).atan2((x - cx) / rx);
    let end = ((-y - cy) / ry).atan2((-x - cx) / rx);
    let mut sweep = end - start;
    if arc.sweep && sweep < 0.0 {
        sweep += 2.0 * PI;
    } else if !arc.sweep && sweep > 0.0 {
        sweep -= 2.0 * PI;
    }
    Sector { center, u: Vec2::new(cos, sin) * rx, v: Vec2::new(-sin, cos) * ry, start, sweep }
}
