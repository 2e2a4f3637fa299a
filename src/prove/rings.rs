//! Closed runs of pieces: area, middle, box, what lies inside, and the finished size behind a cut.

use super::track::{Dot, STEP, Seg, Spot, cross, minus, plus, times};
use std::f64::consts::{PI, TAU};

/// A closed run, as it is handed over: `x`, `y`, and the bulge of the piece that leaves the corner.
///
/// # Units
/// Millimetres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ring(pub Vec<[f64; 3]>);

impl Ring {
    /// Its pieces; none where a figure is beyond any sheet.
    pub(super) fn segs(&self) -> Option<Vec<Seg>> {
        let corners: Vec<(Spot, f64)> = self
            .0
            .iter()
            .map(|c| Spot::near([c[0], c[1]]).map(|s| (s, c[2])))
            .collect::<Option<_>>()?;
        let next = corners.iter().cycle().skip(1);
        let segs = corners.iter().zip(next).filter(|(a, b)| a.0 != b.0);
        Some(segs.map(|(a, b)| Seg::by_bulge(a.0, b.0, a.1)).collect())
    }
}

/// The box of a run.
pub(super) fn bounds(segs: &[Seg]) -> Option<[Dot; 2]> {
    segs.iter().map(Seg::bounds).reduce(|a, b| {
        [[a[0][0].min(b[0][0]), a[0][1].min(b[0][1])], [a[1][0].max(b[1][0]), a[1][1].max(b[1][1])]]
    })
}

pub(super) fn length(segs: &[Seg]) -> f64 {
    segs.iter().map(Seg::length).sum()
}

/// The area it holds, counter-clockwise positive, and its middle.
pub(super) fn area_and_middle(segs: &[Seg]) -> (f64, Dot) {
    let Some(first) = segs.first() else { return (0.0, [0.0; 2]) };
    let origin = first.a.mm();
    let (mut area, mut moment) = (0.0, [0.0; 2]);
    for seg in segs {
        let (a, b) = (minus(seg.a.mm(), origin), minus(seg.b.mm(), origin));
        let triangle = cross(a, b) / 2.0;
        area += triangle;
        moment = plus(moment, times(plus(a, b), triangle / 3.0));
        if let Some(arc) = seg.arc {
            let sweep = arc.sweep.abs();
            let cap = (arc.radius * arc.radius * (sweep - sweep.sin()) / 2.0).copysign(arc.sweep);
            area += cap;
            if sweep > 1e-6 {
                let out =
                    4.0 * arc.radius * (sweep / 2.0).sin().powi(3) / (3.0 * (sweep - sweep.sin()));
                let way = arc.from + arc.sweep / 2.0;
                let middle = plus(arc.center, [out * way.cos(), out * way.sin()]);
                moment = plus(moment, times(minus(middle, origin), cap));
            }
        }
    }
    let middle = if area.abs() > 0.0 { times(moment, 1.0 / area) } else { [0.0; 2] };
    (area, plus(middle, origin))
}

/// Whether a point lies inside. The ray runs half a step above the grid, so that it meets no corner.
pub(super) fn holds(segs: &[Seg], p: Dot) -> bool {
    #[allow(clippy::cast_precision_loss, reason = "at most 1e9 steps")]
    let y = Spot::near(p).map_or(p[1], |s| (s.y as f64 + 0.5) * STEP);
    let mut odd = false;
    for seg in segs {
        let (a, b) = (seg.a.mm(), seg.b.mm());
        match seg.arc {
            None => {
                if (a[1] > y) != (b[1] > y) {
                    let x = a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]);
                    odd ^= x > p[0];
                }
            }
            Some(arc) => {
                let up = y - arc.center[1];
                if up.abs() >= arc.radius {
                    continue;
                }
                let half = (arc.radius * arc.radius - up * up).sqrt();
                // Ends on the grid decide how often the arc goes through the ray: rounding of angles cannot.
                let mut hits: Vec<f64> = [half, -half]
                    .into_iter()
                    .filter(|x| arc.covers(up.atan2(*x), 1e-9))
                    .map(|x| arc.center[0] + x)
                    .collect();
                let through = (a[1] > y) != (b[1] > y);
                if through && hits.len() == 2 {
                    let middle = f64::midpoint(a[0], b[0]);
                    hits.sort_by(|m, n| (m - middle).abs().total_cmp(&(n - middle).abs()));
                    hits.truncate(1);
                } else if !through && hits.len() == 1 {
                    hits.clear();
                }
                odd ^= hits.iter().filter(|x| **x > p[0]).count() % 2 == 1;
            }
        }
    }
    odd
}

/// The finished area behind a line of cut: what an outline leaves inside, what a hole takes away.
///
/// The spot is an ellipse of the two kerfs. Its support along the line gives the first term; its own area and the
/// mitre of every sharp corner, in the plane in which the spot is round, give the second.
///
/// # Source
/// J. Steiner, "Über parallele Flächen" (1840): area of parallel figures.
pub(super) fn finished_area(segs: &[Seg], kerf: [f64; 2], outline: bool) -> f64 {
    let (rx, ry) = (kerf[0] / 2.0, kerf[1] / 2.0);
    let (area, _) = area_and_middle(segs);
    if rx <= 0.0 && ry <= 0.0 {
        return area.abs();
    }
    let band: f64 = segs.iter().map(|seg| supported(seg, rx, ry)).sum();
    let mut corners = 0.0;
    let next = segs.iter().cycle().skip(1);
    for (seg, then) in segs.iter().zip(next) {
        let round = |angle: f64| (angle.sin() * rx).atan2(angle.cos() * ry);
        let turn = round(then.heading(false)) - round(seg.heading(true));
        let turn = (turn + PI).rem_euclid(TAU) - PI;
        let turn = (turn * area.signum()).clamp(-2.9, 2.9);
        corners += (turn / 2.0).tan() - turn / 2.0;
    }
    let second = rx * ry * (PI + corners);
    if outline { area.abs() - band + second } else { area.abs() + band + second }
}

/// The support of the spot along a piece.
fn supported(seg: &Seg, rx: f64, ry: f64) -> f64 {
    let support = |normal: f64| (rx * normal.cos()).hypot(ry * normal.sin());
    let Some(arc) = seg.arc else {
        return support(seg.heading(false) - PI / 2.0) * seg.length();
    };
    // Simpson's rule over short steps: exact where the spot is round.
    let n = 32;
    let each = arc.sweep / f64::from(n);
    let sum: f64 = (0..=n)
        .map(|i| {
            let weight = if i == 0 || i == n {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            weight * support(arc.from + each * f64::from(i))
        })
        .sum();
    sum * (each / 3.0).abs() * arc.radius
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(corners: &[[f64; 3]]) -> Vec<Seg> {
        Ring(corners.to_vec()).segs().unwrap()
    }

    #[test]
    fn areas_and_middles_by_the_book() {
        let square = ring(&[[2.0, 2.0, 0.0], [12.0, 2.0, 0.0], [12.0, 7.0, 0.0], [2.0, 7.0, 0.0]]);
        let (area, middle) = area_and_middle(&square);
        assert!((area - 50.0).abs() < 1e-9);
        assert!((middle[0] - 7.0).abs() < 1e-9 && (middle[1] - 4.5).abs() < 1e-9);
        // Half a disk: pi r²/2, its middle 4 r / (3 pi) above the diameter (any book of mechanics).
        let half = ring(&[[-3.0, 0.0, 0.0], [3.0, 0.0, 1.0]]);
        let (area, middle) = area_and_middle(&half);
        assert!((area - PI * 4.5).abs() < 1e-9);
        assert!((middle[1] - 4.0 / PI).abs() < 1e-6 && middle[0].abs() < 1e-6);
    }

    #[test]
    fn finished_areas_come_back() {
        // A plate of 40 x 20 cut with 0.3 and 0.1: sides moved by half of each, corners quarter ellipses (here, the
        // round spot) or sharp in a hole.
        let r = 0.1;
        let quarter = (PI / 8.0).tan();
        let out = ring(&[
            [0.0, -r, 0.0],
            [40.0, -r, quarter],
            [40.0 + r, 0.0, 0.0],
            [40.0 + r, 20.0, quarter],
            [40.0, 20.0 + r, 0.0],
            [0.0, 20.0 + r, quarter],
            [-r, 20.0, 0.0],
            [-r, 0.0, quarter],
        ]);
        assert!((finished_area(&out, [0.2, 0.2], true) - 800.0).abs() < 1e-6);
        let hole =
            ring(&[[0.15, 0.05, 0.0], [39.85, 0.05, 0.0], [39.85, 19.95, 0.0], [0.15, 19.95, 0.0]]);
        assert!((finished_area(&hole, [0.3, 0.1], false) - 800.0).abs() < 1e-6);
        let disk = Seg::circle([5.0, 5.0], 10.1).unwrap();
        assert!((finished_area(&disk, [0.2, 0.2], true) - PI * 100.0).abs() < 1e-6);
    }

    #[test]
    fn inside_and_outside() {
        let disk = Seg::circle([5.0, 5.0], 4.0).unwrap();
        for (p, wanted) in [
            ([5.0, 5.0], true),
            ([8.9, 5.0], true),
            ([9.1, 5.0], false),
            ([2.0, 2.0], false),
            ([5.0, 8.99], true),
            ([0.0, 5.0], false),
            ([0.0, 9.0], false),
        ] {
            assert_eq!(holds(&disk, p), wanted, "{p:?}");
        }
    }
}
