//! A sheet parted by a straight cut.

use super::Sheet;
use crate::geom::{Loop, Point, Seg, Vec2, Where, point_in_loop, tolerance};

/// How far a cut line reaches beyond any sheet (mm).
const BEYOND: f64 = 4.0 * tolerance::FAR;

/// An outline parted by a straight line across `way`, at so much along it: the near side and the far side. None where
/// the line misses it, or leaves more than one loop on a side.
///
/// # Units
/// Millimetres; `way` is of length 1.
pub fn parted(outline: &Loop, way: Vec2, at: f64) -> Option<(Loop, Loop)> {
    let off = |p: Point| p.to_vec2().dot(way) - at;
    let (foot, along) = ((way * at).to_point(), Vec2::new(-way.y, way.x) * BEYOND);
    let line = Seg::line(foot - along, foot + along);
    let mut steps: Vec<(Seg, bool)> = Vec::new();
    for seg in outline.segs() {
        let mut shares: Vec<f64> = seg.meet(&line).into_iter().map(|p| share(&seg, p)).collect();
        shares.extend([0.0, 1.0]);
        shares.sort_by(f64::total_cmp);
        for two in shares.windows(2) {
            let (from, to) = (two[0], two[1]);
            let (a, b) = (end_of(&seg, from), end_of(&seg, to));
            if (b - a).hypot() < tolerance::SAME_POINT {
                continue;
            }
            let bulge = if seg.is_line() { 0.0 } else { (seg.bulge.atan() * (to - from)).tan() };
            steps.push((Seg { a, b, bulge }, off(seg.at(f64::midpoint(from, to))) <= 0.0));
        }
    }
    let n = steps.len();
    let turns: Vec<usize> = (0..n).filter(|i| steps[*i].1 != steps[(i + n - 1) % n].1).collect();
    let [first, second] = turns[..] else { return None };
    let run = |from: usize, to: usize| -> Option<Loop> {
        let count = (to + n - from) % n;
        let mut segs: Vec<Seg> = (0..count).map(|k| steps[(from + k) % n].0).collect();
        segs.push(Seg::line(segs.last()?.b, segs.first()?.a));
        Loop::chain(segs).ok()
    };
    let (one, two) = (run(first, second)?, run(second, first)?);
    Some(if steps[first].1 { (one, two) } else { (two, one) })
}

/// A point of a piece of a line; its ends are its ends to the last bit.
fn end_of(seg: &Seg, share: f64) -> Point {
    if share <= 0.0 {
        seg.a
    } else if share >= 1.0 {
        seg.b
    } else {
        seg.at(share)
    }
}

/// The share of a line's length at which a point of it lies.
fn share(seg: &Seg, p: Point) -> f64 {
    if seg.is_line() {
        return ((p - seg.a).dot(seg.chord()) / seg.chord().hypot2()).clamp(0.0, 1.0);
    }
    let center = seg.center();
    let (from, to) = (seg.a - center, p - center);
    (from.cross(to).atan2(from.dot(to)) / seg.sweep()).clamp(0.0, 1.0)
}

impl Sheet {
    /// What of it lies within a line, as a sheet of its own: of the same stuff, uncut, its box at the origin.
    #[must_use]
    pub fn rest(&self, id: &str, outline: Loop) -> Sheet {
        let b = outline.bounds();
        let near = |it: &Loop| it.bounds().overlaps(b);
        Sheet {
            id: id.to_owned(),
            flaws: self.flaws.iter().filter(|f| near(&f.outline)).cloned().collect(),
            zones: self.zones.iter().filter(|z| near(&z.outline)).cloned().collect(),
            readings: self
                .readings
                .iter()
                .filter(|r| point_in_loop(r.at, &outline) != Where::Outside)
                .cloned()
                .collect(),
            generation: 1,
            from: Some(self.id.clone()),
            shelf: None,
            used: Vec::new(),
            corner: Point::ORIGIN,
            outline,
            ..self.clone()
        }
        .at_origin()
    }
}

#[cfg(test)]
mod tests {
    use super::super::{SheetKind, width_of_cloth};
    use super::*;

    /// Areas by hand: a rectangle of 300 x 200 at 120 of its length, and a segment of a circle.
    #[test]
    fn both_sides_come_to_the_whole() {
        let outline = width_of_cloth(300.0, 200.0).unwrap();
        for (way, at, near) in [
            (Vec2::new(1.0, 0.0), 120.0, 24_000.0),
            (Vec2::new(-1.0, 0.0), -120.0, 36_000.0),
            (Vec2::new(0.0, 1.0), 50.0, 15_000.0),
        ] {
            let (one, two) = parted(&outline, way, at).unwrap();
            assert!(
                (one.area() - near).abs() < 1e-6 && (two.area() - (60_000.0 - near)).abs() < 1e-6
            );
        }
        assert!(parted(&outline, Vec2::new(1.0, 0.0), 301.0).is_none());
        let round = Loop::circle(Point::new(10.0, 10.0), 10.0).unwrap();
        let (low, high) = parted(&round, Vec2::new(0.0, 1.0), 15.0).unwrap();
        // Area of a segment: r²/2 (θ - sin θ), with θ = 2 acos(1/2) here.
        let angle = 2.0 * 0.5_f64.acos();
        assert!((high.area() - 50.0 * (angle - angle.sin())).abs() < 1e-9);
        assert!((low.area() + high.area() - round.area()).abs() < 1e-9);
    }

    #[test]
    fn a_line_that_leaves_two_rests_parts_nothing() {
        let corners = [
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 90.0),
            (60.0, 90.0),
            (60.0, 40.0),
            (40.0, 40.0),
            (40.0, 80.0),
            (0.0, 80.0),
        ];
        let outline = Loop::polygon(&corners.map(Point::from)).unwrap();
        assert!(parted(&outline, Vec2::new(0.0, 1.0), 60.0).is_none());
        assert!(parted(&outline, Vec2::new(0.0, 1.0), 20.0).is_some());
    }

    #[test]
    fn a_rest_stands_at_the_origin() {
        let sheet =
            Sheet::bare("H1", SheetKind::Hide, "goat", width_of_cloth(300.0, 200.0).unwrap());
        let (_, far) = parted(&sheet.outline, Vec2::new(1.0, 0.0), 120.0).unwrap();
        let rest = sheet.rest("H1/1", far);
        assert_eq!((rest.outline.bounds().x0, rest.from.as_deref()), (0.0, Some("H1")));
        assert!((rest.area() - 36_000.0).abs() < 1e-6);
    }
}
