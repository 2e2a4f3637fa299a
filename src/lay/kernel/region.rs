//! What one thing forbids to a body's point.

use super::core::Core;
use crate::geom::{Point, Rect, Vec2};

/// Sides whose directions differ by less run together (radians).
const PARALLEL: f64 = 1e-12;

/// Places where the point of a body may not lie.
#[derive(Debug, Clone)]
pub(crate) struct Region {
    core: Vec<Point>,
    normals: Vec<Vec2>,
    radius: f64,
    /// Everything outside the circle is forbidden, not what is inside.
    hollow: bool,
    bounds: Rect,
}

impl Region {
    /// What a core forbids to another, given turned over, where both must stay `apart`.
    pub(crate) fn between(fixed: &Core, over: &Core, apart: f64) -> Region {
        let core = sum(fixed, over);
        Region::new(core, fixed.radius + over.radius + apart, false)
    }

    /// What the round wall of a hole forbids to one corner of a body; none where the corner has no room at all.
    pub(crate) fn wall(center: Point, radius: f64) -> Option<Region> {
        (radius >= 0.0).then(|| Region::new(vec![center], radius, true))
    }

    fn new(core: Vec<Point>, radius: f64, hollow: bool) -> Region {
        let n = core.len();
        let normals = if n < 2 {
            Vec::new()
        } else {
            (0..n)
                .map(|i| {
                    let edge = core[(i + 1) % n] - core[i];
                    Vec2::new(edge.y, -edge.x) / edge.hypot()
                })
                .collect()
        };
        let first = core.first().copied().unwrap_or(Point::ORIGIN);
        let bounds = core
            .iter()
            .fold(Rect::from_points(first, first), |b, p| b.union_pt(*p))
            .inflate(radius, radius);
        Region { core, normals, radius, hollow, bounds }
    }

    /// The box around its border.
    pub(crate) fn bounds(&self) -> Rect {
        self.bounds
    }

    /// The corners of what it is grown from.
    pub(crate) fn corners(&self) -> &[Point] {
        &self.core
    }

    /// Whether it is the wall of a hole.
    pub(crate) fn is_wall(&self) -> bool {
        self.hollow
    }

    /// How far a point is clear of it (mm); below 0 how deep it lies within.
    pub(crate) fn gap(&self, p: Point) -> f64 {
        if self.normals.is_empty() {
            let off = (p - self.core[0]).hypot() - self.radius;
            return if self.hollow { -off } else { off };
        }
        let n = self.core.len();
        let mut within = f64::NEG_INFINITY;
        let mut nearest = f64::INFINITY;
        for (i, normal) in self.normals.iter().enumerate() {
            let (a, b) = (self.core[i], self.core[(i + 1) % n]);
            let off = (p - a).dot(*normal);
            within = within.max(off);
            if off > 0.0 {
                let edge = b - a;
                let t = ((p - a).dot(edge) / edge.hypot2()).clamp(0.0, 1.0);
                nearest = nearest.min((p - (a + edge * t)).hypot2());
            }
        }
        if within <= 0.0 { within - self.radius } else { nearest.sqrt() - self.radius }
    }

    /// Whether it forbids a point.
    pub(crate) fn forbids(&self, p: Point) -> bool {
        if !self.hollow {
            let b = self.bounds;
            if p.x <= b.x0 || p.x >= b.x1 || p.y <= b.y0 || p.y >= b.y1 {
                return false;
            }
        }
        self.gap(p) < -1e-9
    }

    /// The point of a round border farthest against a direction.
    pub(crate) fn foot(&self, way: Vec2) -> Point {
        self.core[0] - way * (self.radius / way.hypot())
    }

    /// Points of its border that may be the nearest to a point.
    pub(crate) fn feet(&self, to: Point, found: &mut Vec<Point>) {
        let n = self.core.len();
        for (i, a) in self.core.iter().enumerate() {
            let off = to - *a;
            if off.hypot() > 1e-9 {
                found.push(*a + off * (self.radius / off.hypot()));
            }
            let Some(normal) = self.normals.get(i) else { continue };
            let edge = self.core[(i + 1) % n] - *a;
            let t = off.dot(edge) / edge.hypot2();
            if (0.0..=1.0).contains(&t) {
                found.push(*a + edge * t + *normal * self.radius);
            }
        }
    }

    /// Where a ray from inside meets the border: its length along a direction of length 1.
    pub(crate) fn ray(&self, from: Point, way: Vec2) -> f64 {
        let (mut low, mut high) = (0.0, self.bounds.width() + self.bounds.height());
        for _ in 0..60 {
            let mid = f64::midpoint(low, high);
            if self.gap(from + way * mid) < 0.0 {
                low = mid;
            } else {
                high = mid;
            }
        }
        high
    }

    /// The same region moved.
    pub(crate) fn moved(&self, by: Vec2) -> Region {
        Region {
            core: self.core.iter().map(|p| *p + by).collect(),
            normals: self.normals.clone(),
            radius: self.radius,
            hollow: self.hollow,
            bounds: self.bounds + by,
        }
    }

    fn pieces(&self, near: Rect) -> impl Iterator<Item = Border> + '_ {
        let n = self.core.len();
        let lines = (0..self.normals.len()).map(move |i| {
            let out = self.normals[i] * self.radius;
            Border::Line(self.core[i] + out, self.core[(i + 1) % n] + out)
        });
        let arcs = (0..n).filter(|_| self.radius > 0.0).map(move |i| {
            let span = (n > 1).then(|| (self.normals[(i + n - 1) % n], self.normals[i]));
            Border::Arc(self.core[i], self.radius, span)
        });
        lines.chain(arcs).filter(move |b| meets(b.bounds(), near))
    }

    /// The points where two borders cross.
    pub(crate) fn crossings(&self, other: &Region, found: &mut Vec<Point>) {
        if !meets(self.bounds, other.bounds) {
            return;
        }
        let theirs: Vec<(Rect, Border)> =
            other.pieces(self.bounds).map(|b| (b.bounds(), b)).collect();
        for mine in self.pieces(other.bounds) {
            let bounds = mine.bounds();
            for (their_bounds, their) in &theirs {
                if meets(bounds, *their_bounds) {
                    mine.crossings(their, found);
                }
            }
        }
    }
}

fn meets(a: Rect, b: Rect) -> bool {
    const SLACK: f64 = 1e-9;
    a.x0 <= b.x1 + SLACK && b.x0 <= a.x1 + SLACK && a.y0 <= b.y1 + SLACK && b.y0 <= a.y1 + SLACK
}

/// A straight or round stretch of a border.
#[derive(Debug, Clone, Copy)]
enum Border {
    Line(Point, Point),
    /// Centre, radius, and the directions between which it runs, counter-clockwise; none for a full circle.
    Arc(Point, f64, Option<(Vec2, Vec2)>),
}

impl Border {
    fn bounds(&self) -> Rect {
        match *self {
            Border::Line(a, b) => Rect::from_points(a, b),
            Border::Arc(c, r, _) => Rect::new(c.x - r, c.y - r, c.x + r, c.y + r),
        }
    }

    /// Whether a point of the full line or circle lies on this stretch of it.
    fn holds(&self, p: Point) -> bool {
        const SLACK: f64 = 1e-9;
        match *self {
            Border::Line(a, b) => {
                let edge = b - a;
                let t = (p - a).dot(edge);
                let slack = SLACK * edge.hypot();
                t >= -slack && t <= edge.hypot2() + slack
            }
            Border::Arc(_, _, None) => true,
            Border::Arc(c, r, Some((from, to))) => {
                let ray = p - c;
                let slack = -SLACK * r.max(1.0);
                from.cross(ray) >= slack && ray.cross(to) >= slack
            }
        }
    }

    fn crossings(&self, other: &Border, found: &mut Vec<Point>) {
        let mut take = |p: Point| {
            if self.holds(p) && other.holds(p) {
                found.push(p);
            }
        };
        match (*self, *other) {
            (Border::Line(a, b), Border::Line(c, d)) => {
                let (u, v) = (b - a, d - c);
                let cross = u.cross(v);
                if cross.abs() > 1e-11 * u.hypot() * v.hypot() {
                    take(a + u * ((c - a).cross(v) / cross));
                }
            }
            (Border::Line(a, b), Border::Arc(c, r, _))
            | (Border::Arc(c, r, _), Border::Line(a, b)) => {
                line_circle(a, b, c, r, &mut take);
            }
            (Border::Arc(c, r, _), Border::Arc(d, s, _)) => circle_circle(c, r, d, s, &mut take),
        }
    }
}

fn line_circle(a: Point, b: Point, c: Point, r: f64, take: &mut impl FnMut(Point)) {
    let length = (b - a).hypot();
    if length < 1e-12 {
        return;
    }
    let along = (b - a) / length;
    let foot = a + along * (c - a).dot(along);
    let off = (c - foot).hypot();
    if off <= r {
        let half = (r * r - off * off).sqrt();
        take(foot + along * half);
        take(foot - along * half);
    }
}

fn circle_circle(c: Point, r: f64, d: Point, s: f64, take: &mut impl FnMut(Point)) {
    let ray = d - c;
    let between = ray.hypot();
    if between < 1e-9 || between > r + s || between < (r - s).abs() {
        return;
    }
    let along = (between * between + r * r - s * s) / (2.0 * between);
    let half = (r * r - along * along).max(0.0).sqrt();
    let unit = ray / between;
    let normal = Vec2::new(-unit.y, unit.x);
    take(c + unit * along + normal * half);
    take(c + unit * along - normal * half);
}

/// The sum of two convex point sets, both counter-clockwise from their lowest corner: their sides in order of angle.
fn sum(one: &Core, two: &Core) -> Vec<Point> {
    let (a, b) = (&one.points, &two.points);
    if a.len() == 1 {
        return b.iter().map(|p| *p + a[0].to_vec2()).collect();
    }
    if b.len() == 1 {
        return a.iter().map(|p| *p + b[0].to_vec2()).collect();
    }
    let (n, m) = (a.len(), b.len());
    let (mut i, mut j) = (0, 0);
    let mut corners = Vec::with_capacity(n + m);
    while i < n || j < m {
        corners.push(a[i % n] + b[j % m].to_vec2());
        let ahead = |angles: &[f64], k: usize| angles.get(k).copied().unwrap_or(f64::INFINITY);
        let (s, t) = (ahead(&one.angles, i), ahead(&two.angles, j));
        i += usize::from(s <= t + PARALLEL);
        j += usize::from(t <= s + PARALLEL);
    }
    corners.dedup_by(|p, q| (*p - *q).hypot() < 1e-10);
    if corners.len() > 1 && (corners[0] - corners[corners.len() - 1]).hypot() < 1e-10 {
        corners.pop();
    }
    corners
}
