//! Bodies made ready for overlaps: convex facets with their sides' normals, and how deep two of them lie in each other.

use crate::geom::{Point, Rect, Vec2, turn_vector};
use crate::lay::kernel::{Body, Core};

/// Bare polygons that overlap by no more than this (mm) may as well lie end to end: their true distance is measured.
const TOUCH: f64 = 1e-9;

/// Two facets that overlap by a corner count as if they overlapped by this share of the narrower one's width.
const HEM: f64 = 0.02;

/// From where to where something reaches along a direction.
#[derive(Debug, Clone, Copy)]
struct Span {
    from: f64,
    to: f64,
}

impl Span {
    /// How wide this and another, moved by so much, overlap; of the narrower one at least a share.
    fn common(self, other: Span, by: f64) -> f64 {
        let common = self.to.min(other.to + by) - self.from.max(other.from + by);
        common.max(0.0) + HEM * (self.to - self.from).min(other.to - other.from)
    }
}

/// How one facet lies in another: how far it is to be moved, and about how wide they overlap across that way.
#[derive(Debug, Clone, Copy)]
struct Dent {
    depth: f64,
    width: f64,
}

impl Dent {
    /// About the area of the overlap: along a whole side it counts more than by a corner.
    fn measure(self) -> f64 {
        self.depth * self.width
    }
}

/// About how wide an overlap is that cuts a depth off a circle: its chord, and a share of the radius, so that what
/// just touches is worth parting.
fn chord(radius: f64, depth: f64) -> f64 {
    2.0 * (2.0 * radius * depth).sqrt().min(radius) + 0.25 * radius + depth
}

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

    /// The widest gap along this one's normals to another at `off`, if wider than `best`; none where it reaches `grown`.
    fn parted(&self, other: &Facet, off: Vec2, grown: f64, best: &mut (f64, Vec2)) -> bool {
        for Side { normal, reach, .. } in &self.sides {
            let gap = other.least(*normal) + normal.dot(off) - reach;
            if gap >= grown {
                return true;
            }
            if gap > best.0 {
                *best = (gap, *normal);
            }
        }
        false
    }

    /// How far its bare polygon begins along a direction.
    fn least(&self, way: Vec2) -> f64 {
        self.points.iter().map(|p| way.dot(*p)).fold(f64::INFINITY, f64::min)
    }

    /// From where to where it reaches along a direction of length 1.
    fn span(&self, way: Vec2) -> Span {
        Span { from: self.least(way) - self.radius, to: self.radius - self.least(-way) }
    }

    /// How another facet at `off` lies in this one; none where they are `apart`.
    fn dent(&self, other: &Facet, off: Vec2, apart: f64) -> Option<Dent> {
        let grown = self.radius + other.radius + apart;
        let round = |bare: f64, radius: f64| {
            let depth = grown - bare;
            (depth > 0.0).then(|| Dent { depth, width: chord(radius, depth) })
        };
        match (&self.points[..], &other.points[..]) {
            ([one], [two]) => {
                let (r, s) = (self.radius + apart / 2.0, other.radius + apart / 2.0);
                round((*two + off - *one).hypot(), r * s / (r + s).max(1e-12))
            }
            (_, [two]) => round(self.distance(*two + off, grown), other.radius),
            ([one], _) => round(other.distance(*one - off, grown), self.radius),
            _ => {
                let mut best = (f64::NEG_INFINITY, Vec2::ZERO);
                if self.parted(other, off, grown, &mut best)
                    || other.parted(self, -off, grown, &mut best)
                {
                    return None;
                }
                let spans = self.spans(other, best.1);
                self.dented(other, off, (grown, best.0), (best.1, spans))
            }
        }
    }

    /// From where to where this one and another reach across a way.
    fn spans(&self, other: &Facet, way: Vec2) -> (Span, Span) {
        (self.span(across(way)), other.span(across(way)))
    }

    /// How another facet lies in this one, from the widest gap of the bare polygons, the way along which it is, and how
    /// far both reach across it.
    fn dented(
        &self,
        other: &Facet,
        off: Vec2,
        (grown, gap): (f64, f64),
        (way, (mine, theirs)): (Vec2, (Span, Span)),
    ) -> Option<Dent> {
        let bare = if gap > -TOUCH { self.nearest(other, off) } else { gap };
        let depth = grown - bare;
        (depth > 0.0)
            .then(|| Dent { depth, width: mine.common(theirs, off.dot(across(way))) + depth })
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

/// A quarter turn to the left.
fn across(way: Vec2) -> Vec2 {
    Vec2::new(-way.y, way.x)
}

/// A side of one of two facets, seen against the other.
#[derive(Debug, Clone, Copy)]
struct Against {
    /// From the first facet to the other, of length 1.
    normal: Vec2,
    /// The gap along it where both points lie together.
    gap: f64,
}

/// Two facets that keep their turns.
#[derive(Debug, Clone)]
pub(super) struct Meeting {
    facets: (usize, usize),
    /// Where the other's point may lie from the first one's if their boxes overlap.
    pub(super) reach: Rect,
    /// None where one of them is a disk.
    sides: Vec<Against>,
    /// How far both reach across each of these.
    spans: Vec<(Span, Span)>,
    /// Both radii (mm).
    radii: f64,
}

impl Meeting {
    fn of((i, one): (usize, &Facet), (j, two): (usize, &Facet)) -> Meeting {
        let (a, b) = (one.bounds, two.bounds);
        let reach = Rect::new(a.x0 - b.x1, a.y0 - b.y1, a.x1 - b.x0, a.y1 - b.y0);
        let against = |normal: Vec2, gap: f64| Against { normal, gap };
        let mut sides = Vec::new();
        if one.points.len() > 1 && two.points.len() > 1 {
            sides
                .extend(one.sides.iter().map(|s| against(s.normal, two.least(s.normal) - s.reach)));
            sides.extend(
                two.sides.iter().map(|s| against(-s.normal, one.least(s.normal) - s.reach)),
            );
        }
        let spans = sides.iter().map(|side: &Against| one.spans(two, side.normal)).collect();
        Meeting { facets: (i, j), reach, sides, spans, radii: one.radius + two.radius }
    }

    /// Whether the facets may overlap while the other's point lies within a box.
    pub(super) fn may_within(&self, it: Rect, apart: f64) -> bool {
        let grown = self.radii + apart + TOUCH;
        let (centre, half) = (it.center().to_vec2(), it.size() / 2.0);
        self.sides.iter().all(|side| {
            let slack = side.normal.x.abs() * half.width + side.normal.y.abs() * half.height;
            side.normal.dot(centre) + side.gap - slack < grown
        })
    }

    /// How much the facets of two solids lie in each other.
    pub(super) fn overlap(&self, (one, two): (&Solid, &Solid), off: Vec2, apart: f64) -> f64 {
        let (a, b) = (&one.facets[self.facets.0], &two.facets[self.facets.1]);
        let grown = self.radii + apart;
        let mut best = (f64::NEG_INFINITY, 0);
        for (number, side) in self.sides.iter().enumerate() {
            let gap = side.normal.dot(off) + side.gap;
            if gap >= grown {
                return 0.0;
            }
            if gap > best.0 {
                best = (gap, number);
            }
        }
        let dent = match self.sides.get(best.1) {
            Some(side) => a.dented(b, off, (grown, best.0), (side.normal, self.spans[best.1])),
            None => a.dent(b, off, apart),
        };
        dent.map_or(0.0, Dent::measure)
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

    /// How much this one and another `off` from it lie in each other, summed over their facets; 0 exactly where they
    /// are `apart`. Sums no further than `most`.
    pub(super) fn overlap(&self, other: &Solid, off: Vec2, apart: f64, most: f64) -> f64 {
        let mut sum = 0.0;
        for a in self.facets.iter().filter(|a| near(a.bounds, other.bounds + off, apart)) {
            let shifted = a.bounds - off;
            for b in &other.facets {
                if near(shifted, b.bounds, apart) {
                    sum += a.dent(b, off, apart).map_or(0.0, Dent::measure);
                    if sum > most {
                        return sum;
                    }
                }
            }
        }
        sum
    }

    /// Of how many facets it is made.
    pub(super) fn facets(&self) -> usize {
        self.facets.len()
    }

    /// How many sides they have together.
    pub(super) fn sides(&self) -> usize {
        self.facets.iter().map(|f| f.sides.len()).sum()
    }

    /// How its facets and another's meet.
    pub(super) fn meetings(&self, other: &Solid) -> Vec<Meeting> {
        let pairs =
            (0..self.facets.len()).flat_map(|i| (0..other.facets.len()).map(move |j| (i, j)));
        pairs.map(|(i, j)| Meeting::of((i, &self.facets[i]), (j, &other.facets[j]))).collect()
    }

    /// How far this one and another at `off` from it are to be moved, summed over their facets.
    #[cfg(test)]
    pub(super) fn depth(&self, other: &Solid, off: Vec2, apart: f64) -> f64 {
        let pairs = self.facets.iter().flat_map(|a| other.facets.iter().map(move |b| (a, b)));
        pairs.filter_map(|(a, b)| a.dent(b, off, apart)).map(|dent| dent.depth).sum()
    }
}

/// Whether two boxes are less than `apart` from each other, along x and along y.
pub(super) fn near(a: Rect, b: Rect, apart: f64) -> bool {
    a.x0 < b.x1 + apart && b.x0 < a.x1 + apart && a.y0 < b.y1 + apart && b.y0 < a.y1 + apart
}
