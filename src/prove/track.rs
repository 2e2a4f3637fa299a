//! Lines and arcs of this room's own: ends on a grid of 0.1 micrometre, arcs by centre, radius and sweep.
//!
//! Nothing here becomes chords: lengths, boxes, areas, crossings and distances of arcs are worked out from the arc.

use std::f64::consts::{PI, TAU};

/// One step of the grid.
///
/// # Units
/// Millimetres.
pub(super) const STEP: f64 = 1e-4;

/// Beyond this nothing is taken (mm).
const FAR: f64 = 1e5;

/// A point of the plane, in millimetres.
pub(super) type Dot = [f64; 2];

pub(super) fn minus(a: Dot, b: Dot) -> Dot {
    [a[0] - b[0], a[1] - b[1]]
}

pub(super) fn plus(a: Dot, b: Dot) -> Dot {
    [a[0] + b[0], a[1] + b[1]]
}

pub(super) fn times(a: Dot, by: f64) -> Dot {
    [a[0] * by, a[1] * by]
}

pub(super) fn cross(a: Dot, b: Dot) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(super) fn dot(a: Dot, b: Dot) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub(super) fn long(a: Dot) -> f64 {
    a[0].hypot(a[1])
}

pub(super) fn apart(a: Dot, b: Dot) -> f64 {
    long(minus(a, b))
}

/// A point of the grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Spot {
    pub(super) x: i64,
    pub(super) y: i64,
}

impl Spot {
    /// The point of the grid that is nearest; none where it is not finite or beyond any sheet.
    pub(super) fn near(at: Dot) -> Option<Spot> {
        Some(Spot { x: whole(at[0])?, y: whole(at[1])? })
    }

    pub(super) fn mm(self) -> Dot {
        #[allow(clippy::cast_precision_loss, reason = "at most 1e9 steps")]
        let mm = [self.x as f64 * STEP, self.y as f64 * STEP];
        mm
    }
}

/// A length as steps of the grid.
fn whole(mm: f64) -> Option<i64> {
    if !mm.is_finite() || mm.abs() > FAR {
        return None;
    }
    #[allow(clippy::cast_possible_truncation, reason = "at most 1e9 steps")]
    let steps = (mm / STEP).round() as i64;
    Some(steps)
}

/// A figure as it is written, in steps of the grid: a sign, digits, at most four decimals.
pub(super) fn steps(text: &str) -> Option<i64> {
    let (less, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (front, back) = digits.split_once('.').unwrap_or((digits, ""));
    let plain = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if front.is_empty() || front.len() > 6 || back.len() > 4 || !plain(front) || !plain(back) {
        return None;
    }
    let mut value: i64 = front.parse().ok()?;
    for i in 0..4 {
        value = value * 10 + back.as_bytes().get(i).map_or(0, |b| i64::from(b - b'0'));
    }
    (value <= 1_000_000_000).then_some(if less { -value } else { value })
}

/// A figure as it is written, with any number of decimals up to twelve; no exponent, no word.
pub(super) fn figure(text: &str) -> Option<f64> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (front, back) = digits.split_once('.').unwrap_or((digits, ""));
    let plain = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if front.is_empty() || front.len() > 9 || back.len() > 12 || !plain(front) || !plain(back) {
        return None;
    }
    text.parse().ok()
}

/// What makes a piece an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Arc {
    pub(super) center: Dot,
    pub(super) radius: f64,
    /// Angle at which it begins (radians).
    pub(super) from: f64,
    /// How far it turns, counter-clockwise positive (radians).
    pub(super) sweep: f64,
}

/// A line or an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Seg {
    pub(super) a: Spot,
    pub(super) b: Spot,
    pub(super) arc: Option<Arc>,
}

impl Seg {
    pub(super) fn line(a: Spot, b: Spot) -> Seg {
        Seg { a, b, arc: None }
    }

    /// An arc by the tangent of a quarter of its angle; a line where that is nothing.
    pub(super) fn by_bulge(a: Spot, b: Spot, bulge: f64) -> Seg {
        let (from, chord) = (a.mm(), minus(b.mm(), a.mm()));
        let wide = long(chord);
        if bulge == 0.0 || a == b || bulge.abs() * wide / 2.0 < STEP / 2.0 {
            return Seg::line(a, b);
        }
        let rise = (1.0 - bulge * bulge) / (4.0 * bulge);
        let middle = plus(from, times(chord, 0.5));
        let center = plus(middle, times([-chord[1], chord[0]], rise));
        let radius = wide * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        let start = minus(from, center);
        let from = start[1].atan2(start[0]);
        Seg { a, b, arc: Some(Arc { center, radius, from, sweep: 4.0 * bulge.atan() }) }
    }

    /// An arc of at most half a turn by its radius; none where the radius is too short for its ends.
    pub(super) fn by_radius(a: Spot, b: Spot, radius: f64, left: bool) -> Option<Seg> {
        let half = apart(a.mm(), b.mm()) / 2.0;
        if a == b || radius <= 0.0 || half > radius + 2.0 * STEP {
            return None;
        }
        let angle = 2.0 * (half / radius).min(1.0).asin();
        let bulge = (angle / 4.0).tan();
        Some(Seg::by_bulge(a, b, if left { bulge } else { -bulge }))
    }

    /// An arc by its centre, with the difference of its radii at both ends (mm).
    pub(super) fn by_center(a: Spot, b: Spot, center: Dot, left: bool) -> Option<(Seg, f64)> {
        let (start, end) = (minus(a.mm(), center), minus(b.mm(), center));
        let (r, other) = (long(start), long(end));
        if a == b || r <= 0.0 || other <= 0.0 {
            return None;
        }
        let from = start[1].atan2(start[0]);
        let turn = cross(start, end).atan2(dot(start, end));
        let sweep = match (left, turn > 0.0) {
            (true, true) | (false, false) => turn,
            (true, false) => turn + TAU,
            (false, true) => turn - TAU,
        };
        let radius = f64::midpoint(r, other);
        Some((Seg { a, b, arc: Some(Arc { center, radius, from, sweep }) }, (r - other).abs()))
    }

    /// A circle as two half turns, counter-clockwise.
    pub(super) fn circle(center: Dot, radius: f64) -> Option<[Seg; 2]> {
        let east = Spot::near([center[0] + radius, center[1]])?;
        let west = Spot::near([center[0] - radius, center[1]])?;
        let half = |a, b, from| Seg { a, b, arc: Some(Arc { center, radius, from, sweep: PI }) };
        Some([half(east, west, 0.0), half(west, east, PI)])
    }

    pub(super) fn length(&self) -> f64 {
        self.arc.map_or_else(|| apart(self.a.mm(), self.b.mm()), |arc| arc.radius * arc.sweep.abs())
    }

    /// The point at a share of the way.
    pub(super) fn at(&self, share: f64) -> Dot {
        match self.arc {
            None => plus(self.a.mm(), times(minus(self.b.mm(), self.a.mm()), share)),
            Some(arc) => arc.at(arc.from + arc.sweep * share),
        }
    }

    /// Direction of travel at the start or the end, as an angle.
    pub(super) fn heading(&self, end: bool) -> f64 {
        match self.arc {
            None => {
                let way = minus(self.b.mm(), self.a.mm());
                way[1].atan2(way[0])
            }
            Some(arc) => {
                let at = arc.from + if end { arc.sweep } else { 0.0 };
                at + (PI / 2.0).copysign(arc.sweep)
            }
        }
    }

    /// Its box: low corner, high corner.
    pub(super) fn bounds(&self) -> [Dot; 2] {
        let (a, b) = (self.a.mm(), self.b.mm());
        let mut low = [a[0].min(b[0]), a[1].min(b[1])];
        let mut high = [a[0].max(b[0]), a[1].max(b[1])];
        if let Some(arc) = self.arc {
            for quarter in 0..4 {
                let angle = f64::from(quarter) * PI / 2.0;
                if arc.covers(angle, 0.0) {
                    let p = arc.at(angle);
                    low = [low[0].min(p[0]), low[1].min(p[1])];
                    high = [high[0].max(p[0]), high[1].max(p[1])];
                }
            }
        }
        [low, high]
    }

    /// The same piece moved.
    pub(super) fn moved(&self, by: Spot) -> Seg {
        let to = |p: Spot| Spot { x: p.x + by.x, y: p.y + by.y };
        let arc = self.arc.map(|arc| Arc { center: plus(arc.center, by.mm()), ..arc });
        Seg { a: to(self.a), b: to(self.b), arc }
    }

    /// Least distance to another piece; nothing where they touch or cross.
    pub(super) fn distance(&self, other: &Seg) -> f64 {
        let mut least = f64::INFINITY;
        for (one, two) in [(self, other), (other, self)] {
            for end in [one.a.mm(), one.b.mm()] {
                least = least.min(two.point_distance(end));
            }
        }
        least.min(match (&self.arc, &other.arc) {
            (None, None) => {
                if lines_cross(self, other) {
                    0.0
                } else {
                    f64::INFINITY
                }
            }
            (Some(arc), None) => line_arc(other, arc),
            (None, Some(arc)) => line_arc(self, arc),
            (Some(one), Some(two)) => arcs(one, two),
        })
    }

    /// Distance of a point.
    pub(super) fn point_distance(&self, p: Dot) -> f64 {
        if let Some(arc) = self.arc {
            let ray = minus(p, arc.center);
            if arc.covers(ray[1].atan2(ray[0]), 0.0) {
                return (long(ray) - arc.radius).abs();
            }
            return apart(p, self.a.mm()).min(apart(p, self.b.mm()));
        }
        let (a, way) = (self.a.mm(), minus(self.b.mm(), self.a.mm()));
        let square = dot(way, way);
        if square <= 0.0 {
            return apart(p, a);
        }
        let share = (dot(minus(p, a), way) / square).clamp(0.0, 1.0);
        apart(p, plus(a, times(way, share)))
    }
}

impl Arc {
    pub(super) fn at(&self, angle: f64) -> Dot {
        plus(self.center, [self.radius * angle.cos(), self.radius * angle.sin()])
    }

    /// Whether a direction from the centre meets the arc, with some leave at its ends (radians).
    pub(super) fn covers(&self, angle: f64, leave: f64) -> bool {
        let ahead = if self.sweep > 0.0 { angle - self.from } else { self.from - angle };
        let ahead = ahead.rem_euclid(TAU);
        ahead <= self.sweep.abs() + leave || ahead >= TAU - leave
    }
}

/// Whether two lines touch or cross, in whole figures.
fn lines_cross(one: &Seg, two: &Seg) -> bool {
    let side = |a: Spot, b: Spot, c: Spot| {
        let (ux, uy) = (i128::from(b.x - a.x), i128::from(b.y - a.y));
        let (vx, vy) = (i128::from(c.x - a.x), i128::from(c.y - a.y));
        (ux * vy - uy * vx).signum()
    };
    let (p, q) = (side(one.a, one.b, two.a), side(one.a, one.b, two.b));
    let (r, s) = (side(two.a, two.b, one.a), side(two.a, two.b, one.b));
    p * q < 0 && r * s < 0
}

/// A line against an arc, ends left aside.
fn line_arc(line: &Seg, arc: &Arc) -> f64 {
    let (a, way) = (line.a.mm(), minus(line.b.mm(), line.a.mm()));
    let wide = long(way);
    if wide <= 0.0 {
        return f64::INFINITY;
    }
    let unit = times(way, 1.0 / wide);
    let along = dot(minus(arc.center, a), unit);
    let foot = plus(a, times(unit, along));
    let ray = minus(foot, arc.center);
    let off = long(ray);
    if off > arc.radius {
        let meets = (0.0..=wide).contains(&along) && arc.covers(ray[1].atan2(ray[0]), 0.0);
        return if meets { off - arc.radius } else { f64::INFINITY };
    }
    let half = (arc.radius * arc.radius - off * off).max(0.0).sqrt();
    for t in [along - half, along + half] {
        let p = minus(plus(a, times(unit, t)), arc.center);
        if (0.0..=wide).contains(&t) && arc.covers(p[1].atan2(p[0]), 0.0) {
            return 0.0;
        }
    }
    // Inside the circle: the nearest place of an arc to a line is then one of the ends, or opposite the foot.
    let side = ray[1].atan2(ray[0]);
    if off > 0.0 && (0.0..=wide).contains(&along) && arc.covers(side, 0.0) {
        return arc.radius - off;
    }
    f64::INFINITY
}

/// Two arcs, ends left aside.
fn arcs(one: &Arc, two: &Arc) -> f64 {
    let way = minus(two.center, one.center);
    let wide = long(way);
    if wide < STEP / 100.0 {
        // About one centre the ends tell all, since one of them lies beside the other arc wherever they overlap.
        return f64::INFINITY;
    }
    let unit = times(way, 1.0 / wide);
    let angle = |v: Dot| v[1].atan2(v[0]);
    if wide <= one.radius + two.radius && wide >= (one.radius - two.radius).abs() {
        let along =
            (wide * wide + one.radius * one.radius - two.radius * two.radius) / (2.0 * wide);
        let high = (one.radius * one.radius - along * along).max(0.0).sqrt();
        for side in [high, -high] {
            let p = plus(times(unit, along), times([-unit[1], unit[0]], side));
            if one.covers(angle(p), 0.0) && two.covers(angle(minus(p, way)), 0.0) {
                return 0.0;
            }
        }
    }
    let mut least = f64::INFINITY;
    for first in [1.0, -1.0] {
        for second in [1.0, -1.0] {
            let (u, v) = (times(unit, first), times(unit, second));
            if one.covers(angle(u), 0.0) && two.covers(angle(v), 0.0) {
                let p = plus(one.center, times(u, one.radius));
                let q = plus(two.center, times(v, two.radius));
                least = least.min(apart(p, q));
            }
        }
    }
    least
}

/// How much of two pieces lies one over the other (mm), both within a micrometre.
pub(super) fn shared(one: &Seg, two: &Seg) -> f64 {
    const NEAR: f64 = 1e-3;
    match (&one.arc, &two.arc) {
        (None, None) => {
            let (a, way) = (one.a.mm(), minus(one.b.mm(), one.a.mm()));
            let wide = long(way);
            if wide <= 0.0 {
                return 0.0;
            }
            let unit = times(way, 1.0 / wide);
            let (p, q) = (minus(two.a.mm(), a), minus(two.b.mm(), a));
            if cross(unit, p).abs() > NEAR || cross(unit, q).abs() > NEAR {
                return 0.0;
            }
            let (s, t) = (dot(unit, p), dot(unit, q));
            (s.max(t).min(wide) - s.min(t).max(0.0)).max(0.0)
        }
        (Some(a), Some(b)) => {
            if apart(a.center, b.center) > NEAR || (a.radius - b.radius).abs() > NEAR {
                return 0.0;
            }
            let start = |arc: &Arc| if arc.sweep > 0.0 { arc.from } else { arc.from + arc.sweep };
            let (wide, other) = (a.sweep.abs(), b.sweep.abs());
            let ahead = (start(b) - start(a)).rem_euclid(TAU);
            let direct = (wide.min(ahead + other) - ahead).max(0.0);
            let wrapped = (wide.min(ahead + other - TAU)).max(0.0);
            a.radius * (direct + wrapped)
        }
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(x: f64, y: f64) -> Spot {
        Spot::near([x, y]).unwrap()
    }

    #[test]
    fn figures_are_read_to_the_step() {
        assert_eq!(steps("12.3456"), Some(123_456));
        assert_eq!(steps("-0.5"), Some(-5000));
        assert_eq!(steps("7"), Some(70_000));
        for bad in ["", "-", ".5", "1.23456", "1e3", "+1", "NaN", "inf", "1234567", "1,5", " 1"] {
            assert_eq!(steps(bad), None, "{bad:?}");
        }
        assert_eq!(figure("-0.4142135624"), Some(-0.4142135624));
        assert_eq!(figure("1e4"), None);
    }

    #[test]
    fn arcs_are_taken_whole() {
        // A quarter of a circle of radius 10, by bulge, by radius and by centre alike; its length by definition.
        let (a, b) = (spot(10.0, 0.0), spot(0.0, 10.0));
        let bulge = (PI / 8.0).tan();
        let one = Seg::by_bulge(a, b, bulge);
        let two = Seg::by_radius(a, b, 10.0, true).unwrap();
        let (three, off) = Seg::by_center(a, b, [0.0, 0.0], true).unwrap();
        assert!(off < 1e-12);
        for seg in [one, two, three] {
            assert!((seg.length() - 5.0 * PI).abs() < 1e-9);
            assert!((seg.heading(false) - PI / 2.0).abs() < 1e-9);
            assert!((seg.bounds()[1][0] - 10.0).abs() < 1e-9);
        }
        let (long_way, _) = Seg::by_center(a, b, [0.0, 0.0], false).unwrap();
        assert!((long_way.length() - 15.0 * PI).abs() < 1e-9);
        assert!((long_way.bounds()[0][1] + 10.0).abs() < 1e-9);
    }

    #[test]
    fn distances_agree_with_many_points() {
        // Against the plain definition: the least over points set close along both.
        let mut state = 7_u64;
        let mut chance = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            f64::from(u32::try_from(state >> 40).unwrap()) / 16_777_216.0
        };
        for _ in 0..300 {
            let mut seg = || {
                let a = spot(chance() * 20.0, chance() * 20.0);
                let b = spot(chance() * 20.0, chance() * 20.0);
                let bulge = if chance() < 0.4 { 0.0 } else { chance() * 2.0 - 1.0 };
                Seg::by_bulge(a, b, bulge)
            };
            let (one, two) = (seg(), seg());
            let n = 400;
            let mut least = f64::INFINITY;
            for i in 0..=n {
                let p = one.at(f64::from(i) / f64::from(n));
                least = least.min(two.point_distance(p));
            }
            let told = one.distance(&two);
            assert!(
                told <= least + 1e-9 && told > least - 0.06,
                "{told} {least}\n{one:?}\n{two:?}"
            );
        }
    }

    #[test]
    fn shared_lengths_are_found() {
        let line = |a: f64, b: f64| Seg::line(spot(a, 1.0), spot(b, 1.0));
        assert!((shared(&line(0.0, 10.0), &line(12.0, 4.0)) - 6.0).abs() < 1e-9);
        assert!(shared(&line(0.0, 10.0), &line(10.0, 14.0)) < 1e-9);
        let [upper, lower] = Seg::circle([3.0, 3.0], 2.0).unwrap();
        assert!((shared(&upper, &upper) - 2.0 * PI).abs() < 1e-9);
        assert!(shared(&upper, &lower) < 1e-9);
    }
}
