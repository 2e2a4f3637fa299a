//! One piece of a loop: a straight line or an arc of at most half a turn.

use super::tolerance::SAME_POINT;
use kurbo::{Point, Rect, Vec2};

/// A line or an arc from `a` to `b`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seg {
    /// Start (mm).
    pub a: Point,
    /// End (mm).
    pub b: Point,
    /// Tangent of a quarter of the arc's angle; 0 is a line, positive bends to the left, never beyond ±1.
    pub bulge: f64,
}

impl Seg {
    /// A straight line.
    pub fn line(a: Point, b: Point) -> Seg {
        Seg { a, b, bulge: 0.0 }
    }

    /// An arc by its bulge.
    pub fn arc(a: Point, b: Point, bulge: f64) -> Seg {
        Seg { a, b, bulge }
    }

    /// The arc from `a` to `b` that leaves `a` in the direction `tangent`.
    pub fn from_tangent(a: Point, tangent: Vec2, b: Point) -> Seg {
        let chord = b - a;
        let angle = tangent.cross(chord).atan2(tangent.dot(chord));
        Seg { a, b, bulge: (angle / 2.0).tan() }
    }

    /// Whether it is straight.
    pub fn is_line(&self) -> bool {
        self.bulge == 0.0
    }

    /// The chord.
    pub fn chord(&self) -> Vec2 {
        self.b - self.a
    }

    /// Centre of the arc; for a line, the middle of it.
    pub fn center(&self) -> Point {
        let mid = self.a.midpoint(self.b);
        if self.is_line() {
            return mid;
        }
        let chord = self.chord();
        let reach = (1.0 - self.bulge * self.bulge) / (4.0 * self.bulge);
        mid + Vec2::new(-chord.y, chord.x) * reach
    }

    /// Radius of the arc (mm); infinite for a line.
    pub fn radius(&self) -> f64 {
        if self.is_line() {
            return f64::INFINITY;
        }
        self.chord().hypot() * (1.0 + self.bulge * self.bulge) / (4.0 * self.bulge.abs())
    }

    /// Angle swept, in radians, positive to the left; 0 for a line.
    pub fn sweep(&self) -> f64 {
        4.0 * self.bulge.atan()
    }

    /// Length (mm).
    pub fn length(&self) -> f64 {
        if self.is_line() { self.chord().hypot() } else { self.radius() * self.sweep().abs() }
    }

    /// The same piece run the other way.
    #[must_use]
    pub fn reversed(&self) -> Seg {
        Seg { a: self.b, b: self.a, bulge: -self.bulge }
    }

    /// The point at share `t` (0 to 1) of its length.
    pub fn at(&self, t: f64) -> Point {
        if t <= 0.0 {
            return self.a;
        }
        if t >= 1.0 {
            return self.b;
        }
        if self.is_line() {
            return self.a.lerp(self.b, t);
        }
        let center = self.center();
        center + turn(self.a - center, self.sweep() * t)
    }

    /// Unit direction of travel at share `t` of its length.
    pub fn direction(&self, t: f64) -> Vec2 {
        let chord = self.chord();
        if chord.hypot() == 0.0 {
            return Vec2::new(1.0, 0.0);
        }
        turn(chord / chord.hypot(), self.sweep() * (t - 0.5))
    }

    /// Twice the signed area between the piece and the origin, arcs taken exactly.
    pub(super) fn twice_area(&self) -> f64 {
        let straight = self.a.to_vec2().cross(self.b.to_vec2());
        if self.is_line() {
            return straight;
        }
        let sweep = self.sweep();
        straight + self.radius().powi(2) * (sweep - sweep.sin())
    }

    /// Whether a point of the arc's own circle lies on the arc itself.
    ///
    /// An arc of at most half a turn is the part of its circle that lies on the far side of its chord and between
    /// the chord's ends. The second test matters for shallow arcs, where the first hardly tells the ends.
    pub(super) fn sweeps(&self, p: Point) -> bool {
        let (chord, ray) = (self.chord(), p - self.a);
        let length = chord.hypot();
        let along = chord.dot(ray) / length;
        chord.cross(ray) * self.bulge.signum() <= SAME_POINT * length
            && along >= -SAME_POINT
            && along <= length + SAME_POINT
    }

    /// The smallest upright box around it.
    pub fn bounds(&self) -> Rect {
        let mut bounds = Rect::from_points(self.a, self.b);
        if !self.is_line() {
            let (center, radius) = (self.center(), self.radius());
            for axis in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                let p = center + Vec2::from(axis) * radius;
                if self.sweeps(p) {
                    bounds = bounds.union_pt(p);
                }
            }
        }
        bounds
    }

    /// The point of it that is nearest to `p`.
    pub fn nearest(&self, p: Point) -> Point {
        let ends = if (p - self.a).hypot2() <= (p - self.b).hypot2() { self.a } else { self.b };
        if self.is_line() {
            let chord = self.chord();
            let square = chord.hypot2();
            if square == 0.0 {
                return self.a;
            }
            return self.at((p - self.a).dot(chord) / square);
        }
        let center = self.center();
        let ray = p - center;
        if ray.hypot() < SAME_POINT {
            return self.at(0.5);
        }
        let on = center + ray * (self.radius() / ray.hypot());
        if self.sweeps(on) { on } else { ends }
    }

    /// Least distance from a point (mm).
    pub fn distance_to(&self, p: Point) -> f64 {
        (p - self.nearest(p)).hypot()
    }

    /// Points where two pieces meet or cross; a stretch run together gives its ends.
    pub fn meet(&self, other: &Seg) -> Vec<Point> {
        let found = match (self.is_line(), other.is_line()) {
            (true, true) => line_line(self, other),
            (true, false) => line_circle(self, other),
            (false, true) => line_circle(other, self),
            (false, false) => circle_circle(self, other),
        };
        found
            .into_iter()
            .filter(|p| self.distance_to(*p) <= SAME_POINT && other.distance_to(*p) <= SAME_POINT)
            .collect()
    }

    /// Least distance between two pieces (mm), and where on the first.
    pub fn distance(&self, other: &Seg) -> (f64, Point) {
        if self.bounds().inflate(SAME_POINT, SAME_POINT).overlaps(other.bounds())
            && let Some(p) = self.meet(other).first()
        {
            return (0.0, *p);
        }
        let mut best = (f64::INFINITY, self.a);
        let mut take = |p: Point, q: Point| {
            let d = (p - q).hypot();
            if d < best.0 {
                best = (d, p);
            }
        };
        for p in [self.a, self.b] {
            take(p, other.nearest(p));
        }
        for q in [other.a, other.b] {
            take(self.nearest(q), q);
        }
        if !self.is_line() {
            // The nearest point of the other to this arc's centre, and the farthest side of it.
            for q in other.extremes_from(self.center()) {
                take(self.nearest(q), q);
            }
        }
        if !other.is_line() {
            for p in self.extremes_from(other.center()) {
                take(p, other.nearest(p));
            }
        }
        best
    }

    /// Points of the piece where its distance from `c` can be least or greatest, its ends left out.
    fn extremes_from(&self, c: Point) -> Vec<Point> {
        if self.is_line() {
            return vec![self.nearest(c)];
        }
        let center = self.center();
        let ray = c - center;
        if ray.hypot() < SAME_POINT {
            return vec![self.at(0.5)];
        }
        let step = ray * (self.radius() / ray.hypot());
        [center + step, center - step].into_iter().filter(|p| self.sweeps(*p)).collect()
    }
}

/// A vector turned by an angle in radians.
fn turn(v: Vec2, angle: f64) -> Vec2 {
    let (sin, cos) = angle.sin_cos();
    Vec2::new(v.x * cos - v.y * sin, v.x * sin + v.y * cos)
}

fn line_line(one: &Seg, two: &Seg) -> Vec<Point> {
    let (u, v) = (one.chord(), two.chord());
    let cross = u.cross(v);
    if cross.abs() <= 1e-12 * (u.hypot() * v.hypot()).max(1e-12) {
        return vec![one.a, one.b, two.a, two.b];
    }
    let t = (two.a - one.a).cross(v) / cross;
    vec![one.a + u * t]
}

fn line_circle(line: &Seg, arc: &Seg) -> Vec<Point> {
    let (center, radius) = (arc.center(), arc.radius());
    let chord = line.chord();
    let length = chord.hypot();
    if length == 0.0 {
        return vec![line.a];
    }
    let along = chord / length;
    let foot = line.a + along * (center - line.a).dot(along);
    let off = (center - foot).hypot();
    if off > radius + SAME_POINT {
        return Vec::new();
    }
    let half = (radius * radius - off * off).max(0.0).sqrt();
    vec![foot + along * half, foot - along * half]
}

fn circle_circle(one: &Seg, two: &Seg) -> Vec<Point> {
    let (c, d) = (one.center(), two.center());
    let (r, s) = (one.radius(), two.radius());
    let ray = d - c;
    let between = ray.hypot();
    if between < SAME_POINT {
        return if (r - s).abs() <= SAME_POINT {
            vec![one.a, one.b, two.a, two.b]
        } else {
            Vec::new()
        };
    }
    if between > r + s + SAME_POINT || between < (r - s).abs() - SAME_POINT {
        return Vec::new();
    }
    let along = (between * between + r * r - s * s) / (2.0 * between);
    let half = (r * r - along * along).max(0.0).sqrt();
    let unit = ray / between;
    let foot = c + unit * along;
    let normal = Vec2::new(-unit.y, unit.x);
    vec![foot + normal * half, foot - normal * half]
}
