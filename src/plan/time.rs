//! How long a program takes: speeds that rise and fall with the acceleration, arcs and corners taken slower.
//!
//! Textbook kinematics: every move has a speed that it may not pass, every joint between two moves another; from the
//! end back and from the start on, no joint is passed faster than the acceleration lets the moves before and behind it
//! reach. The tool stands still where travel begins and ends, where a knife rises or falls, and where it waits.

use super::program::{Run, Step, Time};
use crate::geom::{Point, Seg, Vec2};
use crate::machine::Machine;

/// How fast a machine moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Between cuts (mm/s).
    pub travel: f64,
    /// In a cut, until a step says otherwise (mm/s).
    pub feed: f64,
    /// Acceleration (mm/s²).
    pub acceleration: f64,
    /// How far a corner may be cut short in thought: it sets the speed there (mm).
    pub corner_deviation: f64,
    /// A knife's way up or down (s).
    pub level: f64,
}

/// A knife's way up or down (s).
///
/// # Source
/// A starting guess of our own.
const LEVEL: f64 = 0.2;

impl Pace {
    /// The pace of a machine; no feed until a step says one.
    pub fn of(machine: &Machine) -> Pace {
        let limits = machine.limits();
        Pace {
            travel: limits.travel_speed,
            feed: limits.feed_limit,
            acceleration: limits.acceleration,
            corner_deviation: limits.corner_deviation,
            level: LEVEL,
        }
    }

    /// Speed with which a corner is passed (mm/s), from the ways before and behind it.
    ///
    /// # Source
    /// Junction deviation: the greatest speed on the arc that touches both ways and stands off the corner by the
    /// deviation, v = sqrt(a δ s / (1 - s)) with s the sine of half the inner angle.
    pub fn corner(&self, before: Vec2, behind: Vec2) -> f64 {
        let half = f64::midpoint(1.0, before.dot(behind)).clamp(0.0, 1.0).sqrt();
        if half >= 1.0 {
            return f64::INFINITY;
        }
        (self.acceleration * self.corner_deviation * half / (1.0 - half)).sqrt()
    }

    /// Greatest speed on an arc (mm/s).
    pub fn arc(&self, radius: f64) -> f64 {
        (self.acceleration * radius).sqrt()
    }

    /// Time for a straight way between two cuts, from standing to standing (s).
    pub fn straight(&self, length: f64) -> f64 {
        stretch(length, 0.0, 0.0, self.travel, self.acceleration)
    }
}

/// Time for a way with a speed at either end, never faster than a limit (s).
fn stretch(length: f64, from: f64, to: f64, limit: f64, acceleration: f64) -> f64 {
    let top = f64::midpoint(2.0 * acceleration * length, from * from + to * to).sqrt();
    if top <= limit {
        return (2.0 * top - from - to).max(0.0) / acceleration;
    }
    let rising = (2.0 * limit * limit - from * from - to * to) / (2.0 * acceleration);
    (2.0 * limit - from - to) / acceleration + (length - rising).max(0.0) / limit
}

/// One move.
struct Move {
    length: f64,
    /// Speed it may not pass.
    limit: f64,
    /// Speed at its beginning.
    joint: f64,
    travel: bool,
    end: Vec2,
}

/// Gathers moves and what lies between.
struct Tally<'a> {
    pace: &'a Pace,
    at: Point,
    feed: f64,
    moves: Vec<Move>,
    /// Whether the tool stands still before the next move.
    still: bool,
    time: Time,
}

impl Tally<'_> {
    fn go(&mut self, along: &Seg, limit: f64, travel: bool) {
        let length = along.length();
        self.at = along.b;
        if length <= 0.0 {
            return;
        }
        let limit = if along.is_line() { limit } else { limit.min(self.pace.arc(along.radius())) };
        let joint = match self.moves.last() {
            Some(last) if !self.still && last.travel == travel => {
                self.pace.corner(last.end, along.direction(0.0)).min(last.limit).min(limit)
            }
            _ => 0.0,
        };
        self.still = false;
        let end = along.direction(1.0);
        self.moves.push(Move { length, limit, joint, travel, end });
    }

    fn step(&mut self, step: &Step) {
        match *step {
            Step::Rapid(to) => self.go(&Seg::line(self.at, to), self.pace.travel, true),
            Step::Line(to) => self.go(&Seg::line(self.at, to), self.feed, false),
            Step::Arc(to, bulge) | Step::Swivel(to, bulge) => {
                self.go(&Seg::arc(self.at, to, bulge), self.feed, false);
            }
            Step::Level(_) => {
                self.still = true;
                self.time.travel += self.pace.level;
            }
            Step::Feed(feed) => self.feed = feed / 60.0,
            Step::Wait(seconds) => {
                self.still = true;
                self.time.wait += seconds;
            }
            Step::Power(_) => {}
        }
    }

    fn sum(mut self) -> Time {
        let a = self.pace.acceleration;
        let n = self.moves.len();
        let mut speed: Vec<f64> = self.moves.iter().map(|m| m.joint).collect();
        speed.push(0.0);
        for k in (0..n).rev() {
            let reach = (speed[k + 1].powi(2) + 2.0 * a * self.moves[k].length).sqrt();
            speed[k] = speed[k].min(reach);
        }
        for k in 0..n {
            let reach = (speed[k].powi(2) + 2.0 * a * self.moves[k].length).sqrt();
            speed[k + 1] = speed[k + 1].min(reach);
        }
        for (k, it) in self.moves.iter().enumerate() {
            let seconds = stretch(it.length, speed[k], speed[k + 1], it.limit, a);
            let part = if it.travel { &mut self.time.travel } else { &mut self.time.cut };
            *part += seconds;
        }
        self.time.total = self.time.cut + self.time.travel + self.time.wait;
        self.time
    }
}

/// How long steps take that begin at a point.
///
/// # Units
/// Millimetres and seconds; feeds of the steps in mm/min, as they are written.
pub fn seconds<'a>(steps: impl IntoIterator<Item = &'a Step>, from: Point, pace: &Pace) -> Time {
    let mut tally = Tally {
        pace,
        at: from,
        feed: pace.feed,
        moves: Vec::new(),
        still: true,
        time: Time::default(),
    };
    for step in steps {
        tally.step(step);
    }
    tally.sum()
}

/// How long all runs of a program take, passes and all.
///
/// # Units
/// As [`seconds`].
pub fn of_runs(runs: &[Run], from: Point, pace: &Pace) -> Time {
    seconds(runs.iter().flat_map(|run| run.steps.iter().map(|(_, step)| step)), from, pace)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Layer;
    use crate::plan::program::{Level, Role};
    use approx::assert_relative_eq;
    use std::f64::consts::{PI, SQRT_2};

    fn pace() -> Pace {
        Pace { travel: 100.0, feed: 10.0, acceleration: 1000.0, corner_deviation: 0.02, level: 0.2 }
    }

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    #[test]
    fn straight_ways() {
        // Source: L/v + v/a, or 2 sqrt(L/a) where the speed is not reached (uniform acceleration).
        for (length, wanted) in [(100.0, 1.1), (10.0, 0.2), (5.0, 0.141421)] {
            assert_relative_eq!(pace().straight(length), wanted, epsilon = 1e-6);
            let time = seconds(&[Step::Rapid(p(length, 0.0))], Point::ORIGIN, &pace());
            assert_relative_eq!(time.travel, wanted, epsilon = 1e-6);
            assert_relative_eq!(time.total, wanted, epsilon = 1e-6);
        }
    }

    #[test]
    fn a_way_in_pieces_takes_as_long_as_in_one() {
        let steps: Vec<Step> = (1..=40).map(|i| Step::Line(p(f64::from(i), 0.0))).collect();
        let one = seconds(&[Step::Line(p(40.0, 0.0))], Point::ORIGIN, &pace());
        let many = seconds(&steps, Point::ORIGIN, &pace());
        assert_relative_eq!(one.cut, 40.0 / 10.0 + 10.0 / 1000.0, epsilon = 1e-9);
        assert_relative_eq!(many.cut, one.cut, epsilon = 1e-9);
    }

    #[test]
    fn corners_are_passed_slower() {
        // Source: at a right angle s = sin 45 degrees, s / (1 - s) = 1 + sqrt 2.
        let quick = Pace { feed: 100.0, ..pace() };
        let corner = quick.corner(Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0));
        assert_relative_eq!(corner, (1000.0 * 0.02 * (1.0 + SQRT_2)).sqrt(), epsilon = 1e-9);
        let wanted = 2.0 * stretch(50.0, 0.0, corner, 100.0, 1000.0);
        let steps = [Step::Line(p(50.0, 0.0)), Step::Line(p(50.0, 50.0))];
        assert_relative_eq!(seconds(&steps, Point::ORIGIN, &quick).cut, wanted, epsilon = 1e-9);
        // Straight back it must stop.
        assert_relative_eq!(quick.corner(Vec2::new(1.0, 0.0), Vec2::new(-1.0, 0.0)), 0.0);
        let back = [Step::Line(p(50.0, 0.0)), Step::Line(p(0.0, 0.0))];
        let twice = 2.0 * stretch(50.0, 0.0, 0.0, 100.0, 1000.0);
        assert_relative_eq!(seconds(&back, Point::ORIGIN, &quick).cut, twice, epsilon = 1e-9);
    }

    #[test]
    fn narrow_arcs_are_passed_slower() {
        // Source: v² = a r on a circle; the rest is uniform acceleration to that speed and down from it.
        let quick = Pace { feed: 100.0, ..pace() };
        let ring = [Step::Arc(p(-1.0, 0.0), 1.0), Step::Arc(p(1.0, 0.0), 1.0)];
        let v = (1000.0_f64 * 1.0).sqrt();
        let wanted = 2.0 * PI / v + v / 1000.0;
        assert_relative_eq!(seconds(&ring, p(1.0, 0.0), &quick).cut, wanted, epsilon = 1e-9);
    }

    #[test]
    fn speed_looks_ahead() {
        // A long way, then steps too short to stop within: the long way must be slow enough at its end.
        let quick = Pace { feed: 100.0, ..pace() };
        let steps =
            [Step::Line(p(100.0, 0.0)), Step::Line(p(100.1, 0.0)), Step::Line(p(100.2, 0.0))];
        let one = seconds(&[Step::Line(p(100.2, 0.0))], Point::ORIGIN, &quick);
        assert_relative_eq!(seconds(&steps, Point::ORIGIN, &quick).cut, one.cut, epsilon = 1e-9);
    }

    #[test]
    fn waits_levels_feeds_and_swivels_count() {
        let steps = [
            Step::Rapid(p(100.0, 0.0)),
            Step::Wait(2.0),
            Step::Level(Level::Cut(1)),
            Step::Feed(600.0),
            Step::Line(p(120.0, 0.0)),
            Step::Level(Level::Swivel),
            Step::Swivel(p(120.0, 1.0), 1.0),
            Step::Level(Level::Safe),
        ];
        let time = seconds(&steps, Point::ORIGIN, &pace());
        assert_relative_eq!(time.wait, 2.0);
        assert_relative_eq!(time.travel, 1.1 + 3.0 * 0.2, epsilon = 1e-9);
        // The swivel is half a turn of radius 0.5.
        let swivel = PI * 0.5 / 10.0 + 10.0 / 1000.0;
        assert_relative_eq!(time.cut, 20.0 / 10.0 + 0.01 + swivel, epsilon = 1e-9);
        assert_relative_eq!(time.total, time.wait + time.travel + time.cut, epsilon = 1e-12);
        let run = |pass| Run {
            stroke: 1,
            layer: Layer::Edges,
            address: String::new(),
            pass,
            steps: vec![
                (Role::Lead, Step::Rapid(Point::ORIGIN)),
                (Role::Contour, Step::Line(p(20.0, 0.0))),
            ],
        };
        let twice = of_runs(&[run(1), run(2)], Point::ORIGIN, &pace());
        assert_relative_eq!(twice.cut, 2.0 * 2.01, epsilon = 1e-9);
        assert_relative_eq!(twice.travel, pace().straight(20.0), epsilon = 1e-9);
    }
}
