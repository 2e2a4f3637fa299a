//! Curves to arcs: each stretch becomes a line, an arc or two arcs with shared tangents, whichever does, and is halved
//! only where none of them stands near enough.

use super::seg::Seg;
use super::tolerance::{SAME_POINT, WRITTEN};
use kurbo::{Affine, CubicBez, ParamCurve, ParamCurveDeriv, Point, QuadBez, Vec2};

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

/// Arcs begin with spans that turn by no more than this (radians).
const TURN: f64 = std::f64::consts::FRAC_PI_2;
/// One arc for a whole short curve may leave and reach its ends this far from the curve's own way (radians).
const KINK: f64 = 3e-3;
/// A curve that turns by no more than this is a short one (radians).
const SHORT_TURN: f64 = 0.25;
/// Inside a curve two arcs meet in one way, to this (radians).
const SMOOTH: f64 = 1e-6;
/// Points of a span at which it is compared with its arcs.
const LOOKS: u32 = 32;
/// No arc is cut shorter than this (mm).
const SHORTEST: f64 = 4.0 * WRITTEN;
/// No curve is cut into more spans.
const MOST_SPANS: usize = 4096;

/// Arcs along a curve, nowhere farther from it than `within` (mm), and as few as that needs.
///
/// Arcs of one curve meet with one tangent; its two ends keep the curve's own, or come within 0.2 degrees of it where
/// one arc does for a whole short curve. No arc is shorter than the last figures of a file can tell, unless the curve is.
///
/// # Source
/// Biarcs with equal arms: Bolton, "Biarc curves", Computer-Aided Design 7, 1975 (from memory).
pub fn arcs_along(curve: &Curve, within: f64) -> Vec<Seg> {
    let mut breaks = first_breaks(curve);
    loop {
        let stops = stops(curve, &breaks);
        let spans = stops.len() - 1;
        let mut segs = Vec::with_capacity(2 * spans);
        let mut next = vec![0.0];
        for pair in stops.windows(2) {
            let span = Span::new(curve, &pair[0], &pair[1], within);
            let found =
                span.arcs(if spans == 1 && span.turn() <= SHORT_TURN { KINK } else { SMOOTH });
            if found.is_none() && spans < MOST_SPANS && span.may_be_halved() {
                next.push(f64::midpoint(pair[0].t, pair[1].t));
            } else {
                segs.extend(found.unwrap_or_else(|| span.plainest()));
            }
            next.push(pair[1].t);
        }
        if next.len() == breaks.len() {
            return segs;
        }
        breaks = next;
    }
}

/// A place on a curve, and the way in which the arcs go through it.
struct Stop {
    t: f64,
    at: Point,
    way: Vec2,
}

/// The ends of as few spans as the turning of a curve needs, all of them turning alike.
fn first_breaks(curve: &Curve) -> Vec<f64> {
    const STEPS: u32 = 64;
    let share = |i: u32| f64::from(i) / f64::from(STEPS);
    let mut turned = vec![0.0];
    let (mut sum, mut before) = (0.0, curve.tangent(0.0));
    for i in 1..=STEPS {
        let way = curve.tangent(share(i));
        sum += angle(before, way).abs();
        turned.push(sum);
        before = way;
    }
    let mut breaks = vec![0.0];
    if sum.is_finite() {
        let spans = (sum / TURN - SMOOTH).ceil().max(1.0);
        let (mut i, mut k) = (1, 1.0);
        while k < spans && i < turned.len() {
            let wanted = sum * k / spans;
            if turned[i] < wanted {
                i += 1;
                continue;
            }
            let (low, high) = (turned[i - 1], turned[i]);
            #[allow(clippy::cast_precision_loss, reason = "64 steps")]
            let t = (i as f64 - 1.0 + (wanted - low) / (high - low)) / f64::from(STEPS);
            if t > breaks[breaks.len() - 1] && t < 1.0 {
                breaks.push(t);
            }
            k += 1.0;
        }
    }
    breaks.push(1.0);
    breaks
}

/// The stops at some breaks: the ends with the curve's own tangents, the others turned a hair.
///
/// Where curvature grows evenly, arcs of equal length through points of the curve run nearest to it if each of them
/// meets the curve at the same small angle, a third of what the curvature grows by over half an arc, times that half;
/// three times nearer than pairs that keep the tangents.
fn stops(curve: &Curve, breaks: &[f64]) -> Vec<Stop> {
    let mut stops: Vec<Stop> =
        breaks.iter().map(|t| Stop { t: *t, at: curve.at(*t), way: curve.tangent(*t) }).collect();
    for i in 1..breaks.len() - 1 {
        let t = breaks[i];
        let step = (t - breaks[i - 1]).min(breaks[i + 1] - t) / 4.0;
        let (before, after) = (t - step, t + step);
        let way = stops[i].way;
        let (back, on) = (stops[i].at - curve.at(before), curve.at(after) - stops[i].at);
        let (p, q) = (back.hypot(), on.hypot());
        if p < SAME_POINT || q < SAME_POINT {
            continue;
        }
        let (turned, turns) =
            (angle(curve.tangent(before), way) / p, angle(way, curve.tangent(after)) / q);
        let grows = 2.0 * (turns - turned) / (p + q);
        let half_arc = p.min(q);
        let (sin, cos) = (-grows * half_arc * half_arc / 3.0).clamp(-0.05, 0.05).sin_cos();
        stops[i].way = Vec2::new(way.x * cos - way.y * sin, way.x * sin + way.y * cos);
    }
    stops
}

/// The angle from one direction to another, in radians.
fn angle(from: Vec2, to: Vec2) -> f64 {
    from.cross(to).atan2(from.dot(to))
}

/// A stretch of a curve, with points along it.
struct Span<'a> {
    curve: &'a Curve,
    from: &'a Stop,
    to: &'a Stop,
    points: Vec<Point>,
    length: f64,
    within: f64,
}

impl<'a> Span<'a> {
    fn new(curve: &'a Curve, from: &'a Stop, to: &'a Stop, within: f64) -> Span<'a> {
        let share = |i: u32| f64::from(i) / f64::from(LOOKS);
        let points: Vec<Point> =
            (0..=LOOKS).map(|i| curve.at(from.t + (to.t - from.t) * share(i))).collect();
        let length = points.windows(2).map(|w| (w[1] - w[0]).hypot()).sum();
        Span { curve, from, to, points, length, within }
    }

    /// How far the curve turns from end to end (radians).
    fn turn(&self) -> f64 {
        angle(self.from.way, self.to.way).abs()
    }

    fn may_be_halved(&self) -> bool {
        self.length >= 4.0 * SHORTEST && self.to.t - self.from.t > 1e-7
    }

    /// A line, one arc or two that hold to the span; none where it must be halved.
    fn arcs(&self, kink: f64) -> Option<Vec<Seg>> {
        let chord = self.to.at - self.from.at;
        if chord.hypot() < SAME_POINT {
            return (self.length < SHORTEST).then(|| self.plainest());
        }
        let (leaves, reaches) = (angle(self.from.way, chord), angle(chord, self.to.way));
        let line = Seg::line(self.from.at, self.to.at);
        let flat =
            (chord.hypot() * (leaves + reaches) / 8.0).abs() <= self.within.min(WRITTEN) / 4.0;
        if flat && leaves.abs().max(reaches.abs()) <= kink && self.holds(&[line]) {
            return Some(vec![line]);
        }
        let bulge = ((leaves + reaches) / 4.0).tan();
        let one = Seg::arc(self.from.at, self.to.at, bulge);
        if (leaves - reaches).abs() / 2.0 <= kink && self.holds(&[one]) {
            return Some(vec![one]);
        }
        let two = pair_of_arcs(self.from, self.to);
        let long = two.iter().all(|s| s.chord().hypot() >= SHORTEST);
        (long && self.holds(&two)).then_some(two)
    }

    /// What stands for a span too short to be told from a line.
    fn plainest(&self) -> Vec<Seg> {
        vec![Seg::line(self.from.at, self.to.at)]
    }

    /// Whether arcs stay within reach of the span, and it of them.
    fn holds(&self, segs: &[Seg]) -> bool {
        let near = |p: Point| segs.iter().any(|s| s.distance_to(p) <= self.within);
        segs.iter().all(|s| s.bulge.abs() <= 0.5)
            && self.points.iter().all(|p| near(*p))
            && segs.iter().all(|s| {
                [0.25, 0.5, 0.75, 1.0].iter().all(|t| self.distance_to(s.at(*t)) <= self.within)
            })
    }

    /// Least distance of a point from the span (mm).
    fn distance_to(&self, p: Point) -> f64 {
        let off = |q: Point| (q - p).hypot();
        let nearest = (0..self.points.len())
            .min_by(|i, j| off(self.points[*i]).total_cmp(&off(self.points[*j])));
        let Some(nearest) = nearest else { return f64::INFINITY };
        let (low, high) = (nearest.saturating_sub(1), (nearest + 1).min(self.points.len() - 1));
        #[allow(clippy::cast_precision_loss, reason = "32 looks")]
        let at = |i: usize| self.from.t + (self.to.t - self.from.t) * (i as f64 / f64::from(LOOKS));
        let (mut t, mut best) = (at(nearest), off(self.points[nearest]));
        let run: f64 = self.points[low..=high].windows(2).map(|w| (w[1] - w[0]).hypot()).sum();
        for _ in 0..3 {
            let along = (p - self.curve.at(t)).dot(self.curve.tangent(t));
            t = (t + along * (at(high) - at(low)) / run.max(SAME_POINT)).clamp(at(low), at(high));
            best = best.min(off(self.curve.at(t)));
        }
        best
    }
}

fn pair_of_arcs(from: &Stop, to: &Stop) -> Vec<Seg> {
    let (p, q, s, t) = (from.at, to.at, from.way, to.way);
    let chord = q - p;
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
