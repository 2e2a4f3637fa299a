//! Bodies made ready for overlaps: convex facets with their sides' normals, and how deep two of them lie in each other.

use crate::geom::{Point, Rect, Vec2, turn_vector};
use crate::lay::kernel::{Body, Core};

/// Bare polygons that overlap by no more than this (mm) may as well lie end to end: their true distance is measured.
const TOUCH: f64 = 1e-9;

/// A side of a facet.
#[derive(Debug, Clone, Copy)]
struct Side {
    /// Outward, of length 1.
    normal: Vec2,
    /// How far the facet reaches along it.
    reach: f64,
    from: Vec2,
    length: f64,
}

impl Side {
    /// How far a point lies out over it, and how far beyond its ends.
    fn off(&self, p: Vec2) -> (f64, f64) {
        let along = Vec2::new(-self.normal.y, self.normal.x).dot(p - self.from);
        let beyond = (-along).max(along - self.length).max(0.0);
        (self.normal.dot(p) - self.reach, beyond)
    }
}

/// A convex core with the normals of its sides.
#[derive(Debug, Clone)]
struct Facet {
    points: Vec<Vec2>,
    sides: Vec<Side>,
    radius: f64,
    bounds: Rect,
}

impl Facet {
    fn of(core: &Core, turn: f64) -> Facet {
        let points: Vec<Vec2> =
            core.points.iter().map(|p| turn_vector(p.to_vec2(), turn)).collect();
        let n = points.len();
        let mut sides = Vec::with_capacity(n);
        for i in 0..if n > 1 { n } else { 0 } {
            let from = points[i];
            let way = points[(i + 1) % n] - from;
            let length = way.hypot();
            if length > 1e-12 {
                let normal = Vec2::new(way.y, -way.x) / length;
                sides.push(Side { normal, reach: normal.dot(from), from, length });
            }
        }
        let first = points.first().copied().unwrap_or(Vec2::ZERO).to_point();
        let bounds = points
            .iter()
            .fold(Rect::from_points(first, first), |b, p| b.union_pt(p.to_point()))
            .inflate(core.radius, core.radius);
        Facet { points, sides, radius: core.radius, bounds }
    }

    /// Raises `best` to the widest gap along this one's normals to another at `off`; true where one reaches `grown`.
    fn parted(&self, other: &Facet, off: Vec2, grown: f64, best: &mut f64) -> bool {
        for Side { normal, reach, .. } in &self.sides {
            let mut least = f64::INFINITY;
            for p in &other.points {
                least = least.min(normal.dot(*p));
            }
            let gap = least + normal.dot(off) - reach;
            if gap >= grown {
                return true;
            }
            *best = best.max(gap);
        }
        false
    }

    /// How far another facet at `off` from this one is to be moved until they are `apart`; 0 where they are.
    fn depth(&self, other: &Facet, off: Vec2, apart: f64) -> f64 {
        let grown = self.radius + other.radius + apart;
        let bare = match (&self.points[..], &other.points[..]) {
            ([one], [two]) => (*two + off - *one).hypot(),
            (_, [two]) => self.distance(*two + off, grown),
            ([one], _) => other.distance(*one - off, grown),
            _ => {
                let mut gap = f64::NEG_INFINITY;
                if self.parted(other, off, grown, &mut gap)
                    || other.parted(self, -off, grown, &mut gap)
                {
                    return 0.0;
                }
                if gap > -TOUCH { self.nearest(other, off) } else { gap }
            }
        };
        (grown - bare).max(0.0)
    }

    /// Distance of a point from the bare polygon, below zero inside; beyond `most` any figure over it.
    fn distance(&self, p: Vec2, most: f64) -> f64 {
        let mut best = (f64::NEG_INFINITY, 0.0);
        for side in &self.sides {
            let off = side.off(p);
            if off.0 >= most {
                return off.0;
            }
            if off.0 > best.0 {
                best = off;
            }
        }
        let (gap, beyond) = best;
        // Inside, or straight out over a side: its own line is the nearest.
        let is_plain = beyond <= 0.0 || (gap <= 0.0 && self.points.len() > 2);
        if is_plain { gap } else { self.rim(p) }
    }

    /// Distance of a point from the bare polygon's rim.
    fn rim(&self, p: Vec2) -> f64 {
        let squares = self.sides.iter().map(|side| {
            let (gap, beyond) = side.off(p);
            gap * gap + beyond * beyond
        });
        squares.fold(f64::INFINITY, f64::min).sqrt()
    }

    /// Distance between the rims of two bare polygons that do not overlap.
    fn nearest(&self, other: &Facet, off: Vec2) -> f64 {
        let there = other.points.iter().map(|p| self.rim(*p + off));
        let here = self.points.iter().map(|p| other.rim(*p - off));
        there.chain(here).fold(f64::INFINITY, f64::min)
    }
}

/// A body at one turn, or a thing in its way.
#[derive(Debug, Clone)]
pub(super) struct Solid {
    facets: Vec<Facet>,
    /// The box around it about its point.
    pub(super) bounds: Rect,
}

impl Solid {
    /// A body, turned once more by some degrees about its point.
    pub(super) fn of(body: &Body, turn: f64) -> Solid {
        Solid::from_cores(&body.cores, turn)
    }

    /// Cores about the origin, turned by some degrees.
    pub(super) fn from_cores(cores: &[Core], turn: f64) -> Solid {
        let facets: Vec<Facet> = cores.iter().map(|c| Facet::of(c, turn)).collect();
        let bounds =
            facets.iter().map(|f| f.bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
        Solid { facets, bounds }
    }

    /// The diagonal of its box.
    pub(super) fn size(&self) -> f64 {
        self.bounds.width().hypot(self.bounds.height())
    }

    /// The box around it with its point at `at`.
    pub(super) fn box_at(&self, at: Point) -> Rect {
        self.bounds + at.to_vec2()
    }

    /// How deep this one at `at` and another lie in each other, summed over their facets; 0 exactly where they are
    /// `apart`. Sums no further than `most`.
    pub(super) fn depth(
        &self,
        at: Point,
        other: &Solid,
        there: Point,
        apart: f64,
        most: f64,
    ) -> f64 {
        let off = there - at;
        let mut sum = 0.0;
        for a in self.facets.iter().filter(|a| near(a.bounds, other.bounds + off, apart)) {
            let shifted = a.bounds - off;
            for b in &other.facets {
                if near(shifted, b.bounds, apart) {
                    sum += a.depth(b, off, apart);
                    if sum > most {
                        return sum;
                    }
                }
            }
        }
        sum
    }
}

/// Whether two boxes are less than `apart` from each other, along x and along y.
pub(super) fn near(a: Rect, b: Rect, apart: f64) -> bool {
    a.x0 < b.x1 + apart && b.x0 < a.x1 + apart && a.y0 < b.y1 + apart && b.y0 < a.y1 + apart
}
