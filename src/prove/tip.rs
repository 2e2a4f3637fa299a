//! The tip of a trailing blade, followed from the path of its pivot.
//!
//! The blade lies on a line from tip to pivot, `d` long, and the tip only moves along it. With the angle `p` between the
//! way of the pivot and the blade, `u = tan(p/2)` obeys `u' = (1 + u²)/(2R) - u/d` along an arc of radius `R`, which has a
//! closed form in every case; along a line `R` is without end and `u` dies away as `exp(-s/d)`.
//!
//! # Source
//! The tractrix: C. Huygens (1693); any book of plane curves. The same with a pivot on a circle is a Riccati equation.

use super::track::{Dot, Seg, Spot, minus, plus};
use std::f64::consts::{PI, TAU};

/// Nobody knows how the blade stands before its first cut: it is taken to point back by so much (radians), as far off
/// as a run-in of five offsets can still mend within the tip's tolerance.
const UNKNOWN: f64 = 150.0 / 180.0 * PI;
/// A step along the pivot's path while the blade still turns, in offsets.
const STRIDE: f64 = 0.05;

/// A blade as it stands.
#[derive(Debug, Clone)]
pub(super) struct Tip {
    offset: f64,
    /// Direction from tip to pivot; none before the first cut.
    heading: Option<f64>,
}

impl Tip {
    pub(super) fn new(offset: f64) -> Tip {
        Tip { offset, heading: None }
    }

    /// What the tip cuts while the pivot follows a piece.
    pub(super) fn drag(&mut self, pivot: &Seg) -> Vec<Seg> {
        let (d, length) = (self.offset, pivot.length());
        let start = pivot.heading(false);
        let mut heading = *self.heading.get_or_insert(start - UNKNOWN);
        let bend = pivot.arc.map_or(0.0, |arc| 1.0_f64.copysign(arc.sweep) / arc.radius);
        let mut trail = Trail { segs: Vec::new(), at: spot(pivot.at(0.0), d, heading) };
        let mut done = 0.0;
        while done < length {
            let way = start + bend * done;
            let lag = wrapped(way - heading);
            let rest = length - done;
            let settled = settled(bend.abs(), d).map(|u| (2.0 * u.atan()).copysign(bend));
            if settled.is_some_and(|s| (lag - if bend == 0.0 { 0.0 } else { s }).abs() < 1e-6) {
                heading = way + bend * rest - lag;
                trail.arc_to(spot(pivot.at(1.0), d, heading), pivot, bend * rest);
                break;
            }
            let stride = (STRIDE * d).min(rest);
            let u = (lag / 2.0).tan().clamp(-1e6, 1e6);
            let u =
                if bend < 0.0 { -after(-u, -bend, d, stride) } else { after(u, bend, d, stride) };
            done += stride;
            heading = start + bend * done - 2.0 * u.atan();
            trail.line_to(spot(pivot.at(done / length), d, heading));
        }
        self.heading = Some(heading);
        trail.segs
    }
}

/// The pieces that the tip leaves behind.
struct Trail {
    segs: Vec<Seg>,
    at: Option<Spot>,
}

impl Trail {
    fn line_to(&mut self, to: Option<Spot>) {
        if let (Some(a), Some(b)) = (self.at, to)
            && a != b
        {
            self.segs.push(Seg::line(a, b));
        }
        self.at = to;
    }

    /// Along the pivot's own line, or an arc round its centre that turns by so much.
    fn arc_to(&mut self, to: Option<Spot>, pivot: &Seg, turn: f64) {
        if let (Some(a), Some(b), Some(arc)) = (self.at, to, pivot.arc)
            && let Some((seg, _)) = Seg::by_center(a, b, arc.center, arc.sweep > 0.0)
            && seg.arc.is_some_and(|it| (it.sweep - turn).abs() < 0.1)
        {
            self.segs.push(seg);
            self.at = to;
            return;
        }
        self.line_to(to);
    }
}

fn spot(pivot: Dot, d: f64, heading: f64) -> Option<Spot> {
    Spot::near(minus(plus(pivot, [0.0; 2]), [d * heading.cos(), d * heading.sin()]))
}

fn wrapped(angle: f64) -> f64 {
    (angle + PI).rem_euclid(TAU) - PI
}

/// The lag at which nothing changes any more, as the tangent of its half; none where the pivot turns too tightly.
fn settled(bend: f64, d: f64) -> Option<f64> {
    if bend == 0.0 {
        return Some(0.0);
    }
    let left = 1.0 / (d * d) - bend * bend;
    // The smaller root, without the loss of figures that its difference would bring.
    (left > 1e-9).then(|| bend / (1.0 / d + left.sqrt()))
}

/// The tangent of half the lag after a way `s` round a left turn.
fn after(u: f64, bend: f64, d: f64, s: f64) -> f64 {
    if bend == 0.0 {
        return u * (-s / d).exp();
    }
    let left = 1.0 / (d * d) - bend * bend;
    let r = 1.0 / bend;
    if left > 1e-9 {
        let root = left.sqrt();
        let (low, high) = (r * (1.0 / d - root), r * (1.0 / d + root));
        if (u - high).abs() < 1e-12 {
            return u;
        }
        let w = (u - low) / (u - high) * (-root * s).exp();
        (low - w * high) / (1.0 - w)
    } else if left < -1e-9 {
        let (p, q) = (r / d, r * (-left).sqrt());
        p + q * (((u - p) / q).atan() + bend / 2.0 * q * s).tan()
    } else {
        let v = u - 1.0;
        1.0 + v / (1.0 - v * s * bend / 2.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prove::track::apart;

    fn at(x: f64, y: f64) -> Spot {
        Spot::near([x, y]).unwrap()
    }

    #[test]
    fn a_line_straightens_the_blade_as_the_tractrix_says() {
        // tan(p/2) = tan(p0/2) exp(-s/d): from 30, 90, 150, 179 degrees to 1 degree in 3.42, 4.74, 6.06, 9.48 offsets.
        for (from, offsets) in [(30.0_f64, 3.42), (90.0, 4.74), (150.0, 6.06), (179.0, 9.48)] {
            let d = 0.25;
            let mut tip = Tip { offset: d, heading: Some(-from.to_radians()) };
            tip.drag(&Seg::line(at(0.0, 0.0), at(offsets * d, 0.0)));
            let left = wrapped(-tip.heading.unwrap()).to_degrees();
            assert!((left - 1.0).abs() < 0.01, "{from}: {left}");
        }
    }

    #[test]
    fn the_pivot_circle_of_a_round_cut_brings_the_tip_round() {
        // Pivot radii for d = 0.25: the root of r² + d², for 10, 5, 1, 0.5, 0.25, 0.1.
        let wanted = [
            (10.0, 10.003125),
            (5.0, 5.006246),
            (1.0, 1.030776),
            (0.5, 0.559017),
            (0.25, 0.353553),
            (0.1, 0.269258),
        ];
        for (r, pivot) in wanted {
            let d: f64 = 0.25;
            let ahead = (d / r).atan();
            let p = |angle: f64| at(pivot * (ahead + angle).cos(), pivot * (ahead + angle).sin());
            let mut tip = Tip { offset: d, heading: Some(PI / 2.0) };
            let mut worst: f64 = 0.0;
            for k in 0..4 {
                let (a, b) = (f64::from(k) * PI / 2.0, f64::from(k + 1) * PI / 2.0);
                let (seg, _) = Seg::by_center(p(a), p(b), [0.0, 0.0], true).unwrap();
                for cut in tip.drag(&seg) {
                    for share in [0.0, 0.5, 1.0] {
                        worst = worst.max((apart(cut.at(share), [0.0; 2]) - r).abs());
                    }
                }
            }
            assert!(worst < 5e-4, "{r}: {worst}");
        }
    }

    #[test]
    fn a_swivel_leaves_the_tip_where_it_is() {
        let d = 0.25;
        for turn in [20.0_f64, 90.0, -135.0, 175.0] {
            let mut tip = Tip { offset: d, heading: Some(0.0) };
            let end = turn.to_radians();
            let (seg, _) = Seg::by_center(
                at(5.0 + d, 5.0),
                at(5.0 + d * end.cos(), 5.0 + d * end.sin()),
                [5.0, 5.0],
                turn > 0.0,
            )
            .unwrap();
            let moved: f64 = tip.drag(&seg).iter().map(Seg::length).sum();
            assert!(moved < 2e-3, "{turn}: {moved}");
            assert!((wrapped(tip.heading.unwrap() - end)).abs() < 2e-3);
        }
    }

    #[test]
    fn an_uncompensated_square_corner_errs_as_published() {
        // Without a swivel the tip of a right-angled corner lags by 0.4816 offsets at most (measured by another program).
        let d = 0.25;
        let mut tip = Tip { offset: d, heading: Some(0.0) };
        tip.drag(&Seg::line(at(0.0, 0.0), at(10.0, 0.0)));
        let cut = tip.drag(&Seg::line(at(10.0, 0.0), at(10.0, 10.0)));
        // The contour is what a pivot path without any allowance was meant to be: the corner of the two lines.
        let worst = cut
            .iter()
            .flat_map(|s| [s.at(0.0), s.at(1.0)])
            .map(|p| p[1].abs().min((p[0] - 10.0).abs()))
            .fold(0.0_f64, f64::max);
        assert!((worst / d - 0.4816).abs() < 0.35, "{}", worst / d);
    }
}
