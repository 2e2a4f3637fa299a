//! A chain of pieces by its length: points, stretches and how sharply it turns.

use crate::geom::{Point, Seg, Vec2, tolerance};

/// A turn between two pieces beyond this is a corner (radians).
const CORNER: f64 = 0.02;

/// A chain with the length up to the end of each piece.
#[derive(Debug, Clone)]
pub(super) struct Path {
    segs: Vec<Seg>,
    ends: Vec<f64>,
}

impl Path {
    /// Of pieces end to end.
    pub(super) fn new(segs: Vec<Seg>) -> Path {
        let mut sum = 0.0;
        let ends = segs
            .iter()
            .map(|seg| {
                sum += seg.length();
                sum
            })
            .collect();
        Path { segs, ends }
    }

    /// The pieces.
    pub(super) fn segs(&self) -> &[Seg] {
        &self.segs
    }

    /// Its length (mm).
    pub(super) fn length(&self) -> f64 {
        self.ends.last().copied().unwrap_or(0.0)
    }

    /// The piece at a length, and the share of it up to there.
    fn find(&self, s: f64) -> Option<(usize, f64)> {
        let i = self.ends.iter().position(|end| *end > s).or(self.segs.len().checked_sub(1))?;
        let before = if i == 0 { 0.0 } else { self.ends[i - 1] };
        let own = self.ends[i] - before;
        Some((i, if own > 0.0 { ((s - before) / own).clamp(0.0, 1.0) } else { 0.0 }))
    }

    /// The stretch from one length to a greater one.
    pub(super) fn between(&self, from: f64, to: f64) -> Vec<Seg> {
        let (Some((i, t)), Some((j, u))) = (self.find(from), self.find(to)) else {
            return Vec::new();
        };
        let mut made: Vec<Seg> = if i == j {
            vec![part(&self.segs[i], t, u)]
        } else {
            let mut made = vec![part(&self.segs[i], t, 1.0)];
            made.extend(&self.segs[i + 1..j]);
            made.push(part(&self.segs[j], 0.0, u));
            made
        };
        made.retain(|seg| seg.length() > tolerance::SAME_POINT);
        made
    }

    /// The same closed chain from another start.
    pub(super) fn from(&self, start: f64) -> Path {
        if start <= 0.0 {
            return self.clone();
        }
        let mut segs = self.between(start, self.length());
        segs.extend(self.between(0.0, start));
        Path::new(segs)
    }

    /// The sharpest turn on a stretch (1/mm): endless at a corner.
    pub(super) fn sharpness(&self, from: f64, to: f64) -> f64 {
        let stretch = self.between(from, to);
        let bent = stretch.iter().map(|seg| 1.0 / seg.radius()).fold(0.0, f64::max);
        let cornered = stretch
            .windows(2)
            .any(|two| turn(two[0].direction(1.0), two[1].direction(0.0)).abs() > CORNER);
        if cornered { f64::INFINITY } else { bent }
    }

    /// Where it begins, and its direction there and where it ends.
    pub(super) fn start(&self) -> Option<(Point, Vec2, Vec2)> {
        let (first, last) = (self.segs.first()?, self.segs.last()?);
        Some((first.a, first.direction(0.0), last.direction(1.0)))
    }
}

/// Turn from one direction to another (radians), positive to the left.
pub(super) fn turn(from: Vec2, to: Vec2) -> f64 {
    from.cross(to).atan2(from.dot(to))
}

/// A piece of a piece, by shares of its length.
fn part(seg: &Seg, from: f64, to: f64) -> Seg {
    let bulge = if seg.is_line() { 0.0 } else { (seg.bulge.atan() * (to - from)).tan() };
    Seg { a: seg.at(from), b: seg.at(to), bulge }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Loop, obround};

    #[test]
    fn stretches_add_up_and_lie_on_the_line() {
        let slot = obround(Point::new(0.0, 0.0), Point::new(30.0, 0.0), 10.0).unwrap();
        for line in [slot, Loop::Circle(Point::new(3.0, 4.0), 7.0)] {
            let path = Path::new(line.segs());
            let whole = path.length();
            assert!((whole - line.length()).abs() < 1e-9);
            for cut in [0.1, 0.25, 0.5, 0.77] {
                let turned = path.from(cut * whole);
                assert!((turned.length() - whole).abs() < 1e-9);
                let (at, ..) = turned.start().unwrap();
                assert!(line.segs().iter().any(|s| s.distance_to(at) < 1e-9));
                let area: f64 = Loop::chain(turned.segs().to_vec()).unwrap().area();
                assert!((area - line.area()).abs() < 1e-6, "{area}");
                let some: f64 = path.between(0.0, cut * whole).iter().map(Seg::length).sum();
                assert!((some - cut * whole).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn corners_are_sharper_than_any_arc() {
        let square =
            Loop::polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from));
        let path = Path::new(square.unwrap().segs());
        assert!(path.sharpness(1.0, 9.0) < 1e-12);
        assert!(path.sharpness(9.0, 11.0).is_infinite());
        let round = Path::new(Loop::Circle(Point::ORIGIN, 4.0).segs());
        assert!((round.sharpness(10.0, 14.0) - 0.25).abs() < 1e-9);
    }
}
