//! Check values of a trailing blade, and a blade of its own that is pulled along what was written.
//!
//! The simulation knows nothing of the rule P = C + d t: it only knows that the tip moves towards the pivot.

use super::*;
use crate::geom::{obround, polygon, rectangle};
use std::collections::BTreeMap;

mod examples;
mod whole;

/// A blade that is pulled: pivot and heading.
pub(super) struct Pulled {
    offset: f64,
    pivot: Point,
    /// Heading (radians).
    heading: f64,
}

impl Pulled {
    /// Where the tip is.
    fn tip(&self) -> Point {
        self.pivot - Vec2::from_angle(self.heading) * self.offset
    }

    /// Pulls the pivot along a piece by steps of at most `step`, each by the closed form of the tractrix.
    ///
    /// With u the tangent of half the angle from the blade to the way, and k the curvature of the way,
    /// du/ds = k (1 + u²) / 2 - u / d: its solutions are exponential for d k < 1, rational for d k = 1.
    fn pull(&mut self, along: &Seg, step: f64, mut look: impl FnMut(Point, f64)) {
        let length = along.length();
        if length <= 0.0 {
            return;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
        let count = (length / step).ceil().max(1.0) as u32;
        let h = length / f64::from(count);
        let curvature = along.sweep() / length;
        for i in 0..count {
            let before = along.direction(f64::from(i) / f64::from(count)).atan2();
            let after = along.direction(f64::from(i + 1) / f64::from(count)).atan2();
            let lag = (before - self.heading + PI).rem_euclid(2.0 * PI) - PI;
            let u = stepped((lag / 2.0).tan(), curvature, self.offset, h);
            self.heading = after - 2.0 * u.atan();
            self.pivot = along.at(f64::from(i + 1) / f64::from(count));
            look(self.tip(), self.heading);
        }
    }
}

/// u after a way of length `h`.
fn stepped(u: f64, curvature: f64, d: f64, h: f64) -> f64 {
    if curvature < 0.0 {
        return -stepped(-u, -curvature, d, h);
    }
    if curvature * d < 1e-9 {
        return u * (-h / d).exp();
    }
    let root = 1.0 / (d * d) - curvature * curvature;
    if root <= 1e-7 / (d * d) {
        let v = u - 1.0;
        return 1.0 + v / (1.0 - curvature / 2.0 * h * v);
    }
    let root = root.sqrt();
    let (low, high) = ((1.0 / d - root) / curvature, (1.0 / d + root) / curvature);
    let share = (u - low) / (u - high) * (-root * h).exp();
    (low - high * share) / (1.0 - share)
}

/// What a simulation found (mm).
#[derive(Debug, Default)]
pub(super) struct Error {
    /// Greatest distance of the tip from the line, from the start of the contour on.
    tip: f64,
    /// Greatest distance of the line from the way of the tip: what was not cut.
    uncut: f64,
}

impl Error {
    fn worst(&self) -> f64 {
        self.tip.max(self.uncut)
    }
}

/// Pulls a blade along what was written and looks where its tip goes. `heading` is that of the blade at first.
pub(super) fn simulate(pivot: &Pivot, line: &[Seg], offset: f64, heading: f64) -> Error {
    let mut steps = pivot.steps.iter().filter(|(_, step)| !matches!(step, Step::Feed(_)));
    let Some((_, Step::Rapid(first))) = steps.next() else { panic!("no rapid at first") };
    let mut blade = Pulled { offset, pivot: *first, heading: heading.to_radians() };
    let mut error = Error::default();
    let mut trail: Vec<Point> = Vec::new();
    let boxes: Vec<_> = line.iter().map(Seg::bounds).collect();
    let mut last = 0;
    for (role, step) in steps {
        let along = match *step {
            Step::Line(to) => Seg::line(blade.pivot, to),
            Step::Arc(to, bulge) | Step::Swivel(to, bulge) => Seg::arc(blade.pivot, to, bulge),
            Step::Level(_) => continue,
            _ => panic!("{step:?} is none of a knife's"),
        };
        if *role != Role::Lead && trail.is_empty() {
            trail.push(blade.tip());
        }
        blade.pull(&along, 0.02, |tip, _| {
            if *role == Role::Lead {
                return;
            }
            trail.push(tip);
            if *role == Role::Contour {
                error.tip = error.tip.max(distance(line, &boxes, &mut last, tip));
            }
        });
    }
    error.uncut = uncut(line, &trail);
    error
}

/// Distance of a point from a line, the piece that was nearest before looked at first.
fn distance(line: &[Seg], boxes: &[crate::geom::Rect], last: &mut usize, p: Point) -> f64 {
    let mut best = line[*last].distance_to(p);
    for (i, seg) in line.iter().enumerate() {
        if best > 1e-9 && boxes[i].inflate(best, best).contains(p) {
            let found = seg.distance_to(p);
            if found < best {
                (best, *last) = (found, i);
            }
        }
    }
    best
}

/// Greatest distance of the line from the trail, by a net of cells over the trail.
fn uncut(line: &[Seg], trail: &[Point]) -> f64 {
    let cell = 0.1;
    #[allow(clippy::cast_possible_truncation, reason = "cells of a sheet")]
    let key = |p: Point| ((p.x / cell).floor() as i64, (p.y / cell).floor() as i64);
    let mut net: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for (i, p) in trail.iter().enumerate() {
        net.entry(key(*p)).or_default().push(i);
    }
    let mut worst: f64 = 0.0;
    for seg in line {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
        let count = (seg.length() / 0.1).ceil().clamp(1.0, 1e5) as u32;
        for i in 0..=count {
            let p = seg.at(f64::from(i) / f64::from(count));
            let (x, y) = key(p);
            let mut best = f64::INFINITY;
            for (dx, dy) in (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (dx, dy))) {
                for &k in net.get(&(x + dx, y + dy)).into_iter().flatten() {
                    for (a, b) in [(k.saturating_sub(1), k), (k, (k + 1).min(trail.len() - 1))] {
                        best = best.min(Seg::line(trail[a], trail[b]).distance_to(p));
                    }
                }
            }
            worst = worst.max(best);
        }
    }
    worst
}

/// Cuts a loop both ways round, from no heading known (astray by 150 degrees) and from several known ones.
pub(super) fn worst_of(contour: &Loop, outside: bool, blade: &Blade) -> f64 {
    let line = contour.segs();
    let mut worst: f64 = 0.0;
    let first = pivot_round(contour, outside, blade, None, &|_| true).unwrap();
    if !first.warnings.iter().any(|w| matches!(w, Warning::Astray(..))) {
        let (Step::Rapid(from), Step::Line(to)) = (first.steps[0].1, first.steps[2].1) else {
            panic!("{:?}", &first.steps[..3])
        };
        let way = (to - from).atan2().to_degrees();
        for astray in [-179.0, -90.0, 0.0, 150.0, 179.0] {
            worst = worst.max(simulate(&first, &line, blade.offset, way + astray).worst());
        }
    }
    for heading in [0.0, 73.0, 180.0, -110.0] {
        let pivot = pivot_round(contour, outside, blade, Some(heading), &|_| true).unwrap();
        assert!(!pivot.warnings.iter().any(|w| matches!(w, Warning::Astray(..))));
        worst = worst.max(simulate(&pivot, &line, blade.offset, heading).worst());
    }
    worst
}

/// A blade pulled straight for a way.
fn pulled_straight(astray: f64, run: f64, offset: f64) -> f64 {
    let mut blade = Pulled { offset, pivot: Point::ORIGIN, heading: astray.to_radians() };
    blade.pull(&Seg::line(Point::ORIGIN, Point::new(run, 0.0)), run / 97.0, |_, _| {});
    blade.heading.to_degrees()
}

/// The same by the differential equation alone, in small steps of Runge and Kutta.
fn pulled_numerically(astray: f64, run: f64, offset: f64) -> f64 {
    let rate = |at: f64| -at.sin() / offset;
    let (mut at, n) = (astray.to_radians(), 20_000);
    let h = run / f64::from(n);
    for _ in 0..n {
        let a = rate(at);
        let b = rate(at + a * h / 2.0);
        let c = rate(at + b * h / 2.0);
        at += h / 6.0 * (a + 2.0 * b + 2.0 * c + rate(at + c * h));
    }
    at.to_degrees()
}

#[test]
fn run_ins_to_one_degree() {
    // Source: tractrix, Lockwood, A Book of Curves, 1961; lengths in offsets by our own measurement.
    let blade = Blade::new(0.25);
    for (from, offsets) in [(30.0, 3.42), (90.0, 4.74), (150.0, 6.06), (179.0, 9.48)] {
        let run = blade.alignment(from, 1.0);
        assert!((run / 0.25 - offsets).abs() < 0.005, "{from}: {}", run / 0.25);
        assert!((blade.astray(from, run) - 1.0).abs() < 1e-9);
        assert!((pulled_straight(from, run, 0.25) - 1.0).abs() < 1e-9);
        assert!((pulled_numerically(from, run, 0.25) - 1.0).abs() < 1e-6);
    }
}

#[test]
fn arcs_keep_their_centre() {
    // Source: R = sqrt(r² + d²), advanced by atan(d / r): Pythagoras; figures by our own measurement.
    let wanted = [
        (10.0, 10.003125, 1.4321),
        (5.0, 5.006246, 2.8624),
        (1.0, 1.030776, 14.0362),
        (0.5, 0.559017, 26.5651),
        (0.25, 0.353553, 45.0),
        (0.1, 0.269258, 68.1986),
    ];
    for (radius, led, ahead) in wanted {
        for bulge in [1.0, 0.3, -0.3, -1.0] {
            let chord = 2.0 * radius * (2.0 * f64::atan(bulge)).sin().abs();
            let arc = Seg::arc(Point::new(3.0, 4.0), Point::new(3.0 + chord, 4.0), bulge);
            assert!((arc.radius() - radius).abs() < 1e-9);
            let pivot = pivot_seg(&arc, 0.25);
            assert!((pivot.radius() - led).abs() < 5e-7, "{radius}: {}", pivot.radius());
            assert!((pivot.center() - arc.center()).hypot() < 1e-9);
            let (from, to) = (arc.a - arc.center(), pivot.a - arc.center());
            let angle = from.cross(to).atan2(from.dot(to)).to_degrees() * bulge.signum();
            assert!((angle - ahead).abs() < 5e-5, "{radius}: {angle}");
        }
        // Inside and outside, the tip of the simulated blade stays on the circle.
        let circle = Loop::Circle(Point::new(20.0, 10.0), radius);
        let blade = Blade::new(0.25);
        for outside in [true, false] {
            let worst = worst_of(&circle, outside, &blade);
            assert!(worst < 0.006, "{radius} {outside}: {worst}");
        }
    }
}

/// Greatest distance of the tip from a line along which the bare pivot goes.
fn uncompensated(line: &[Seg], offset: f64) -> f64 {
    let heading = line[0].direction(0.0).atan2();
    let mut blade = Pulled { offset, pivot: line[0].a, heading };
    let mut worst: f64 = 0.0;
    for seg in line {
        blade.pull(seg, 2e-5, |tip, _| {
            let near = line.iter().map(|s| s.distance_to(tip)).fold(f64::INFINITY, f64::min);
            // The blade's first offset of way lies before the line.
            if (tip - line[0].a).dot(line[0].direction(0.0)) >= 0.0 {
                worst = worst.max(near);
            }
        });
    }
    worst
}

#[test]
fn corners_without_a_swivel() {
    // Source: offset x turn / e for small turns, by the closed form y = turn (s - d + d e^(-s/d)), largest at s = d;
    // the figures of larger ones by our own measurement.
    let wanted = [
        (5.0, 0.0320),
        (10.0, 0.0640),
        (15.0, 0.0959),
        (20.0, 0.1272),
        (30.0, 0.1889),
        (90.0, 0.4816),
    ];
    for (turn, share) in wanted {
        let corner = Point::new(2.0, 0.0);
        let way = Vec2::from_angle(f64::to_radians(turn));
        let line = [Seg::line(Point::ORIGIN, corner), Seg::line(corner, corner + way * 2.0)];
        let strays = uncompensated(&line, 0.25) / 0.25;
        assert!((strays - share).abs() < 8e-4, "{turn}: {strays}");
        // At a right angle exactly: sech u where sech u = u - tanh u.
        assert!(turn < 90.0 || (strays - 0.48231).abs() < 5e-5, "{strays}");
        let small = f64::to_radians(turn) / E;
        assert!(turn > 15.0 || (strays / small - 1.0).abs() < 0.01, "{turn}: {strays} {small}");
    }
    // So a swivel is needed from 12.5 degrees on for 0.02 mm at 0.25 mm.
    assert!((Blade::new(0.25).swivel_from() - 12.46).abs() < 0.01);
    let square = rectangle(Point::ORIGIN, 4.0, 4.0, 0.0).unwrap();
    let strays = uncompensated(&square.segs(), 0.25);
    assert!((strays - 0.1204).abs() < 3e-4, "{strays}");
}

#[test]
fn arcs_without_compensation() {
    // Source: the tip runs at sqrt(r² - d²): Pythagoras.
    for (radius, error) in [(10.0, 0.00313), (5.0, 0.00625), (1.0, 0.0318), (0.5, 0.0670)] {
        let half = Seg::arc(Point::new(radius, 0.0), Point::new(-radius, 0.0), 1.0);
        let mut blade = Pulled { offset: 0.25, pivot: half.a, heading: PI / 2.0 };
        let mut off = 0.0;
        for _ in 0..8 {
            let other = Seg::arc(Point::new(-radius, 0.0), Point::new(radius, 0.0), 1.0);
            for seg in [half, other] {
                blade.pull(&seg, 0.01, |tip, _| off = radius - tip.to_vec2().hypot());
            }
        }
        assert!((off - error).abs() < 5e-5, "{radius}: {off}");
    }
}

#[test]
fn a_chord_in_place_of_a_swivel() {
    // Source: about offset x turn³ / 12 (0.0116 offsets at 30 degrees), by our own measurement.
    let turn = f64::to_radians(30.0);
    let (tip, way) = (Point::new(5.0, 0.0), Vec2::from_angle(turn));
    let mut blade = Pulled { offset: 1.0, pivot: Point::new(6.0, 0.0), heading: 0.0 };
    let line = [Seg::line(Point::ORIGIN, tip), Seg::line(tip, tip + way * 5.0)];
    let mut worst: f64 = 0.0;
    for to in [tip + way, tip + way * 5.0] {
        blade.pull(&Seg::line(blade.pivot, to), 1e-3, |at, _| {
            worst = worst.max(line[0].distance_to(at).min(line[1].distance_to(at)));
        });
    }
    assert!((worst - 0.0116).abs() < 6e-4, "{worst}");
}

fn points(corners: &[(f64, f64)]) -> Vec<Point> {
    corners.iter().map(|(x, y)| Point::new(*x, *y)).collect()
}

#[test]
fn the_tip_follows_every_shape() {
    let d = |x: f64, y: f64| Point::new(x, y);
    let shapes = [
        ("square", rectangle(d(0.0, 0.0), 20.0, 20.0, 0.0).unwrap()),
        ("rounded", rectangle(d(0.0, 0.0), 30.0, 12.0, 2.0).unwrap()),
        ("obround", obround(d(0.0, 0.0), d(30.0, 0.0), 10.0).unwrap()),
        ("triangle", polygon(&points(&[(0.0, 0.0), (40.0, 0.0), (0.0, 3.0)])).unwrap()),
        (
            "notched",
            polygon(&points(&[
                (0.0, 0.0),
                (30.0, 0.0),
                (30.0, 20.0),
                (16.0, 20.0),
                (15.0, 8.0),
                (14.0, 20.0),
                (0.0, 20.0),
            ]))
            .unwrap(),
        ),
        (
            "star",
            polygon(
                &(0..14)
                    .map(|i| {
                        let reach = if i % 2 == 0 { 15.0 } else { 6.0 };
                        (Vec2::from_angle(PI * f64::from(i) / 7.0) * reach).to_point()
                    })
                    .collect::<Vec<_>>(),
            )
            .unwrap(),
        ),
        (
            "facets",
            polygon(
                &(0..72)
                    .map(|i| (Vec2::from_angle(PI * f64::from(i) / 36.0) * 8.0).to_point())
                    .collect::<Vec<_>>(),
            )
            .unwrap(),
        ),
    ];
    for offset in [0.25, 0.5] {
        let blade = Blade::new(offset);
        for (name, shape) in &shapes {
            for outside in [true, false] {
                let worst = worst_of(shape, outside, &blade);
                assert!(worst <= blade.tip_tolerance, "{name} {offset} {outside}: {worst}");
            }
        }
    }
}

/// Cuts along open lines one after the other, each from the heading that the one before left.
fn worst_in_turn(lines: &[Vec<Seg>], blade: &Blade) -> f64 {
    let mut heading = 30.0;
    let mut worst: f64 = 0.0;
    for line in lines {
        let pivot = pivot_along(line, blade, Some(heading), &|_| true).unwrap();
        worst = worst.max(simulate(&pivot, line, blade.offset, heading).worst());
        heading = pivot.heading;
    }
    worst
}

#[test]
fn strips_get_their_long_sides_first() {
    let blade = Blade::new(0.25);
    // An end that is rounded a little, and a long side with a wave: sides run from corner to corner.
    let p = |x: f64, y: f64| Point::new(x, y);
    let strip = Loop::chain(vec![
        Seg::line(p(0.0, 0.0), p(60.0, 0.0)),
        Seg::arc(p(60.0, 0.0), p(100.0, 0.0), 0.02),
        Seg::arc(p(100.0, 0.0), p(100.0, 12.0), 0.1),
        Seg::line(p(100.0, 12.0), p(0.0, 12.0)),
        Seg::line(p(0.0, 12.0), p(0.0, 0.0)),
    ])
    .unwrap();
    let sides = sides_of_strip(&strip).unwrap();
    let told: Vec<(usize, bool)> = sides.iter().map(|s| (s.line.len(), s.long)).collect();
    assert_eq!(told, [(2, true), (1, true), (1, false), (1, false)]);
    let lines: Vec<Vec<Seg>> = sides.into_iter().map(|side| side.line).collect();
    let whole: f64 = lines.iter().flatten().map(Seg::length).sum();
    assert!((whole - strip.length()).abs() < 1e-9);
    let worst = worst_in_turn(&lines, &blade);
    assert!(worst <= 0.02, "{worst}");
    // Each run comes out of the waste and goes on into it.
    for line in &lines {
        let pivot = pivot_along(line, &blade, Some(0.0), &|_| true).unwrap();
        let of = |role: Role| pivot.steps.iter().filter(|s| s.0 == role).count();
        assert!(of(Role::Lead) > 2 && of(Role::Overcut) == 2, "{:?}", pivot.steps);
    }
    // Neither a squarer plate nor one without corners is a strip.
    assert_eq!(sides_of_strip(&rectangle(Point::ORIGIN, 40.0, 12.0, 0.0).unwrap()), None);
    assert_eq!(sides_of_strip(&obround(p(0.0, 0.0), p(99.0, 0.0), 5.0).unwrap()), None);
    assert_eq!(sides_of_strip(&Loop::Circle(Point::ORIGIN, 5.0)), None);
}

#[test]
fn over_the_limit_the_blade_is_lifted_to_turn() {
    let blade = Blade::new(0.25);
    let spike = polygon(&points(&[(0.0, 0.0), (40.0, 0.0), (0.0, 3.0)])).unwrap();
    let lifted = |pivot: &Pivot| {
        let steps = pivot.steps.windows(3);
        steps
            .filter(|s| {
                s[0].1 == Step::Level(Level::Swivel)
                    && matches!(s[1].1, Step::Swivel(..))
                    && s[2].1 == Step::Level(Level::Cut(1))
            })
            .count()
    };
    assert_eq!(lifted(&pivot(&spike, &blade, None).unwrap()), 1);
    let deep = Blade { lift_over: 180.0, ..blade };
    assert_eq!(lifted(&pivot(&spike, &deep, None).unwrap()), 0);
    // Straight back it turns over the waste, which lies on the right.
    let (out, back) = (Point::new(9.0, 0.0), Point::ORIGIN);
    let line = [Seg::line(back, out), Seg::line(out, back)];
    let turned = pivot_along(&line, &deep, Some(0.0), &|_| true).unwrap();
    let swivel = |s: &(Role, Step)| match s.1 {
        Step::Swivel(to, bulge) => (to - Point::new(8.75, 0.0)).hypot() < 1e-9 && bulge < -0.999,
        _ => false,
    };
    assert!(turned.steps.iter().any(swivel), "{:?}", turned.steps);
}

#[test]
fn where_it_starts_and_ends() {
    let blade = Blade::new(0.25);
    let plate = rectangle(Point::ORIGIN, 30.0, 12.0, 0.0).unwrap();
    let round = pivot(&plate, &blade, Some(90.0)).unwrap();
    // The middle of a long side, then on past it by the overcut.
    let contour = round.steps.iter().position(|s| s.0 == Role::Contour).unwrap();
    let Step::Line(first) = round.steps[contour].1 else { panic!() };
    assert!((first - Point::new(30.25, 0.0)).hypot() < 1e-9, "{first:?}");
    let Some((Role::Overcut, Step::Line(last))) = round.steps.iter().rev().nth(1) else { panic!() };
    assert!((*last - Point::new(15.0 + 0.5 + 0.25, 0.0)).hypot() < 1e-9, "{last:?}");
    assert!(round.heading.abs() < 1e-9);
    // A blade of which nothing is known needs 9.3 offsets, else five do, or none where there is no room.
    let run = |heading, clear: Clear<'_>| {
        let found = pivot_round(&plate, true, &blade, heading, clear).unwrap();
        let leads = found.steps.iter().filter(|s| s.0 == Role::Lead);
        let ends: Vec<Point> = leads
            .filter_map(|s| match s.1 {
                Step::Rapid(p) | Step::Line(p) => Some(p),
                _ => None,
            })
            .collect();
        let length: f64 = ends.windows(2).map(|w| (w[1] - w[0]).hypot()).sum();
        (length / blade.offset, found.warnings)
    };
    let (long, none) = run(None, &|_| true);
    assert!((long - 9.34).abs() < 0.01 && none.is_empty(), "{long} {none:?}");
    // Of a known heading five offsets, the way that the blade points already.
    assert!((run(Some(80.0), &|_| true).0 - 5.0).abs() < 1e-9);
    assert!(run(Some(80.0), &|_| false).1.is_empty());
    let (short, told) = run(None, &|way| way.length() < 1.5);
    assert!(short < 6.0 && matches!(told[..], [Warning::Astray(..)]), "{short} {told:?}");
}

#[test]
fn narrow_arcs_and_holes_are_told() {
    let blade = Blade { thickness: 0.15, ..Blade::new(0.25) };
    let hole = |radius| {
        let circle = Loop::Circle(Point::ORIGIN, radius);
        pivot_round(&circle, false, &blade, Some(0.0), &|_| true)
    };
    assert!(hole(1.0).unwrap().warnings.is_empty());
    assert!(matches!(hole(0.2).unwrap().warnings[..], [Warning::Tight(..), Warning::Punch(..)]));
    assert!(matches!(hole(0.1), Err(KnifeFault::Narrow(..))));
    let wrong = Blade { offset: f64::NAN, ..blade };
    assert_eq!(pivot(&Loop::Circle(Point::ORIGIN, 5.0), &wrong, None), Err(KnifeFault::Blade));
    assert_eq!(pivot_along(&[], &blade, None, &|_| true), Err(KnifeFault::Empty));
}

#[test]
fn a_machine_that_leads_its_blade_gets_the_bare_line() {
    let plate = rectangle(Point::ORIGIN, 30.0, 12.0, 2.0).unwrap();
    let bare = bare(&plate, false, &Blade::new(0.25)).unwrap();
    let mut at = None;
    for (_, step) in &bare.steps {
        let (Step::Rapid(to) | Step::Line(to) | Step::Arc(to, _)) = *step else { continue };
        let off = plate.segs().iter().map(|s| s.distance_to(to)).fold(1.0, f64::min);
        assert!(off < 1e-9, "{to:?}");
        at = Some(to);
    }
    assert!(at.is_some() && !bare.steps.iter().any(|s| matches!(s.1, Step::Swivel(..))));
}

#[test]
fn a_whole_plan_is_cut_from_heading_to_heading() {
    use crate::geom::Rect;
    use crate::plan::ground::Ground;
    use crate::plan::{CutPlan, Layer, Motion, Stroke};
    let p = Point::new;
    let stroke =
        |number, layer, motions| Stroke { layer, address: "a:1".to_owned(), number, motions };
    let lines = |at: &[(f64, f64)]| {
        let rest = at[1..].iter().map(|(x, y)| Motion::Line(p(*x, *y)));
        std::iter::once(Motion::Rapid(p(at[0].0, at[0].1))).chain(rest).collect::<Vec<_>>()
    };
    let strip = [(0.0, 0.0), (90.0, 0.0), (90.0, 10.0), (0.0, 10.0), (0.0, 0.0)];
    let slot = [(5.0, 3.0), (5.0, 7.0), (30.0, 7.0), (30.0, 3.0), (5.0, 3.0)];
    // A plate two millimetres beside the strip: no run-in may cross it.
    let plate = [(0.0, -12.0), (20.0, -12.0), (20.0, -2.0), (0.0, -2.0), (0.0, -12.0)];
    let round = vec![Motion::Rapid(p(63.0, 5.0)), Motion::Circle(p(60.0, 5.0), 3.0, true)];
    let strokes = vec![
        stroke(1, Layer::Punch, lines(&[(70.0, 5.0), (71.0, 5.0)])),
        stroke(2, Layer::Holes, lines(&slot)),
        stroke(3, Layer::Holes, round),
        stroke(4, Layer::Edges, lines(&strip)),
        stroke(5, Layer::Edges, lines(&plate)),
    ];
    let plan = CutPlan {
        sheet: "H-1".to_owned(),
        generation: 0,
        material: "skin".to_owned(),
        machine: "knife".to_owned(),
        process: "knife",
        kerf: (0.0, 0.0),
        strokes,
        rows: Vec::new(),
        page: (100.0, 20.0),
        window: None,
        dots: Vec::new(),
        warnings: Vec::new(),
        cautions: Vec::new(),
    };
    let blade = Blade::new(0.25);
    let ground = Ground::new(Vec::new(), &[], Rect::new(-50.0, -50.0, 200.0, 50.0), (0.0, 0.0));
    let how = Cutting { passes: 1, feed: 600.0, mark_feed: None };
    let found = runs(&plan, &ground, &blade, &how, Some(15.0)).unwrap();
    let KnifeRuns { runs: made, warnings: told, left_out } = found;
    assert_eq!(left_out, 1);
    assert_eq!(told, []);
    assert_eq!(made.iter().map(|r| r.stroke).collect::<Vec<_>>(), [2, 3, 4, 4, 4, 4, 5]);
    let cuts: Vec<Vec<Seg>> = plan.strokes[1..].iter().map(Stroke::segs).collect();
    let mut heading = 15.0;
    let mut trails: Vec<Vec<Point>> = vec![Vec::new(); 6];
    for run in &made {
        let own = &cuts[run.stroke as usize - 2];
        let pivot = Pivot { steps: run.steps.clone(), heading: 0.0, warnings: Vec::new() };
        let error = simulate(&pivot, own, blade.offset, heading);
        // A side leaves the outline by its overcut only: the tip never comes off while it cuts the contour.
        assert!(error.tip <= 0.02, "{}: {}", run.stroke, error.tip);
        let Some((_, Step::Rapid(first))) = run.steps.get(1) else { panic!() };
        let mut drawn =
            Pulled { offset: blade.offset, pivot: *first, heading: f64::to_radians(heading) };
        for (role, step) in &run.steps {
            let (Step::Line(to) | Step::Arc(to, _) | Step::Swivel(to, _)) = *step else { continue };
            let bulge = match step {
                Step::Arc(_, bulge) | Step::Swivel(_, bulge) => *bulge,
                _ => 0.0,
            };
            drawn.pull(&Seg::arc(drawn.pivot, to, bulge), 0.02, |tip, _| {
                if *role == Role::Lead {
                    let others =
                        cuts.iter().enumerate().filter(|(k, _)| k + 2 != run.stroke as usize);
                    let far = others.flat_map(|(_, line)| line).map(|s| s.distance_to(tip));
                    assert!(far.fold(9.0, f64::min) > 0.2, "{}: a run-in at {tip:?}", run.stroke);
                } else {
                    trails[run.stroke as usize].push(tip);
                }
            });
        }
        heading = drawn.heading.to_degrees();
    }
    for (k, line) in cuts.iter().enumerate() {
        let left = uncut(line, &trails[k + 2]);
        assert!(left <= 0.02, "{}: {left} uncut", k + 2);
    }
}
