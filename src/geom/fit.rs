//! Curves to arcs: each stretch becomes two arcs with shared tangents until they stand near enough.

use super::seg::Seg;
use super::tolerance::{KINK, SAME_POINT};
use kurbo::{Affine, CubicBez, ParamCurve, ParamCurveDeriv, Point, QuadBez, Vec2};
use std::f64::consts::FRAC_PI_2;

/// A smooth curve over the parameter 0 to 1, with its tangents.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// A cubic Bézier curve.
    Cubic(CubicBez),
    /// An arc under an affine map: a piece of an ellipse.
    Mapped(Seg, Affine),
    /// A piece of an ellipse: centre, half axes as vectors, start and swept angle in radians.
    Ellipse(Point, Vec2, Vec2, f64, f64),
}

/// A cubic Bézier curve by its four points.
pub fn cubic(a: Point, b: Point, c: Point, d: Point) -> Curve {
    Curve::Cubic(CubicBez::new(a, b, c, d))
}

/// A quadratic Bézier curve by its three points.
pub fn quadratic(a: Point, b: Point, c: Point) -> Curve {
    Curve::Cubic(QuadBez::new(a, b, c).raise())
}

/// A piece of an ellipse.
///
/// # Units
/// Centre and half axes in mm, angles in radians of the ellipse's own parameter.
pub fn ellipse_arc(center: Point, u: Vec2, v: Vec2, start: f64, sweep: f64) -> Curve {
    Curve::Ellipse(center, u, v, start, sweep)
}

impl Curve {
    fn at(&self, t: f64) -> Point {
        match self {
            Curve::Cubic(c) => c.eval(t),
            Curve::Mapped(seg, map) => *map * seg.at(t),
            Curve::Ellipse(center, u, v, start, sweep) => {
                let (sin, cos) = (start + sweep * t).sin_cos();
                *center + *u * cos + *v * sin
            }
        }
    }

    fn tangent(&self, t: f64) -> Vec2 {
        let way = match self {
            Curve::Cubic(c) => {
                let way = c.deriv().eval(t).to_vec2();
                if way.hypot() > SAME_POINT {
                    way
                } else {
                    // A handle of no length: look a little way along.
                    let (from, to) = if t < 0.5 { (t, t + 1e-3) } else { (t - 1e-3, t) };
                    c.eval(to) - c.eval(from)
                }
            }
            Curve::Mapped(seg, map) => {
                let [a, b, c, d, _, _] = map.as_coeffs();
                let way = seg.direction(t);
                Vec2::new(a * way.x + c * way.y, b * way.x + d * way.y)
            }
            Curve::Ellipse(_, u, v, start, sweep) => {
                let (sin, cos) = (start + sweep * t).sin_cos();
                (*v * cos - *u * sin) * sweep.signum()
            }
        };
        if way.hypot() > 0.0 { way / way.hypot() } else { Vec2::new(1.0, 0.0) }
    }
}

/// Arcs along a curve, nowhere farther from it than `within` (mm), and no more of them than it takes.
///
/// The curve is taken in spans of at most a quarter turn; a span that is nearly straight or nearly round becomes one
/// piece, any other a pair of arcs with shared tangents, and what stands off too far is halved.
///
/// # Source
/// Biarcs with equal arms: Bolton, "Biarc curves", Computer-Aided Design 7, 1975 (from memory).
pub fn arcs_along(curve: &Curve, within: f64) -> Vec<Seg> {
    let mut segs = Vec::new();
    let spans = spans(curve);
    for i in 0..spans {
        let (from, to) = (f64::from(i) / f64::from(spans), f64::from(i + 1) / f64::from(spans));
        split(curve, from, to, within, 12, &mut segs);
    }
    segs
}

/// Into how many spans a curve is cut at first: one for each quarter of its turning.
fn spans(curve: &Curve) -> u32 {
    let turning: f64 = (0..16)
        .map(|i| {
            let (s, t) =
                (curve.tangent(f64::from(i) / 16.0), curve.tangent(f64::from(i + 1) / 16.0));
            s.cross(t).atan2(s.dot(t)).abs()
        })
        .sum();
    (1..8).find(|n| turning <= f64::from(*n) * (FRAC_PI_2 + 1e-6)).unwrap_or(8)
}

fn split(curve: &Curve, from: f64, to: f64, within: f64, depth: u32, segs: &mut Vec<Seg>) {
    let one = one_piece(curve, from, to);
    if one.bulge.abs() <= 0.5
        && follows(curve, from, to, &[one], within)
        && is_smooth(curve, from, to, &one)
    {
        segs.push(one);
        return;
    }
    let pair = pair_of_arcs(curve, from, to);
    let gentle = pair.iter().all(|s| s.bulge.abs() <= 0.5);
    if (gentle && follows(curve, from, to, &pair, within)) || depth == 0 {
        segs.extend(pair);
    } else {
        let mid = f64::midpoint(from, to);
        split(curve, from, mid, within, depth - 1, segs);
        split(curve, mid, to, within, depth - 1, segs);
    }
}

/// Whether points of the curve lie near the pieces, and the pieces' own middles near the curve.
fn follows(curve: &Curve, from: f64, to: f64, pieces: &[Seg], within: f64) -> bool {
    let at = |i: i32| curve.at(from + (to - from) * f64::from(i) / 16.0);
    let near = (1..16).all(|i| {
        let p = at(i);
        pieces.iter().map(|s| s.distance_to(p)).fold(f64::INFINITY, f64::min) <= within
    });
    near && pieces.iter().all(|s| {
        // A piece that wanders off between its ends would leave its middle alone.
        let middle = s.at(0.5);
        let reach = (0..=16).map(|i| (at(i) - middle).hypot()).fold(f64::INFINITY, f64::min);
        reach <= s.length() / 2.0 + within
    })
}

/// Whether one piece leaves and meets the curve in its own direction, so that neighbours stay smooth.
fn is_smooth(curve: &Curve, from: f64, to: f64, piece: &Seg) -> bool {
    let off = |way: Vec2, tangent: Vec2| way.cross(tangent).abs();
    off(piece.direction(0.0), curve.tangent(from)) < KINK
        && off(piece.direction(1.0), curve.tangent(to)) < KINK
}

/// The line or arc from end to end that leaves by the mean of the two tangents' turns.
fn one_piece(curve: &Curve, from: f64, to: f64) -> Seg {
    let (p, q) = (curve.at(from), curve.at(to));
    let (s, t) = (curve.tangent(from), curve.tangent(to));
    let turn = s.cross(t).atan2(s.dot(t));
    let bulge = (turn / 4.0).tan();
    if bulge.abs() < 1e-9 { Seg::line(p, q) } else { Seg::arc(p, q, bulge) }
}

fn pair_of_arcs(curve: &Curve, from: f64, to: f64) -> Vec<Seg> {
    let (p, q) = (curve.at(from), curve.at(to));
    let (s, t) = (curve.tangent(from), curve.tangent(to));
    let chord = q - p;
    if chord.hypot() < SAME_POINT {
        return vec![Seg::line(p, q)];
    }
    let straight = |v: Vec2| v.cross(chord).abs() <= 1e-9 * chord.hypot() && v.dot(chord) > 0.0;
    if straight(s) && straight(t) {
        return vec![Seg::line(p, q)];
    }
    let sum = s + t;
    let square = 2.0 * (1.0 - s.dot(t));
    let along = chord.dot(sum);
    let arm = if square > 1e-12 {
        ((along * along + square * chord.hypot2()).sqrt() - along) / square
    } else if chord.dot(t).abs() > 1e-12 {
        chord.hypot2() / (4.0 * chord.dot(t))
    } else {
        0.0
    };
    if !(arm > SAME_POINT && arm.is_finite()) {
        return vec![Seg::line(p, q)];
    }
    let joint = (p + s * arm).midpoint(q - t * arm);
    vec![Seg::from_tangent(p, s, joint), Seg::from_tangent(q, -t, joint).reversed()]
}

/// The circle on which all the points lie within `tolerance` (mm), if there is one.
///
/// Least squares on the squared distances gives the start; the points' own spread decides.
///
/// # Source
/// Kåsa, "A circle fitting procedure and its error analysis", IEEE Trans. Instrum. Meas. 25, 1976 (from memory).
pub fn circle_through(points: &[Point], tolerance: f64) -> Option<(Point, f64)> {
    if points.len() < 6 {
        return None;
    }
    #[allow(clippy::cast_precision_loss, reason = "a count of points")]
    let n = points.len() as f64;
    let mean = points.iter().fold(Vec2::ZERO, |sum, p| sum + p.to_vec2()) / n;
    let (mut uu, mut uv, mut vv, mut ur, mut vr, mut rr) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for p in points {
        let d = p.to_vec2() - mean;
        let square = d.hypot2();
        uu += d.x * d.x;
        uv += d.x * d.y;
        vv += d.y * d.y;
        ur += d.x * square;
        vr += d.y * square;
        rr += square;
    }
    let det = uu * vv - uv * uv;
    if det.abs() < 1e-12 * uu.max(vv).powi(2) {
        return None;
    }
    let x = (ur * vv - vr * uv) / (2.0 * det);
    let y = (vr * uu - ur * uv) / (2.0 * det);
    let radius = (x * x + y * y + rr / n).sqrt();
    let center = (mean + Vec2::new(x, y)).to_point();
    points
        .iter()
        .all(|p| ((*p - center).hypot() - radius).abs() <= tolerance)
        .then_some((center, radius))
}
