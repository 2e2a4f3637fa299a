//! What the tool does, step by step: leads, tabs, passes and waits, ready for a machine's own words.
//!
//! Made from a [`CutPlan`], whose strokes stay the drawing. A run is one pass along one stroke.

use super::time::{Pace, of_runs};
use super::{CutPlan, Layer};
use crate::fault::Fault;
use crate::geom::{Point, Seg, Vec2};
use crate::machine::Machine;
use std::fmt;

/// One step of the tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// To a point with the beam off, or the blade raised.
    Rapid(Point),
    /// Cutting along a line to a point.
    Line(Point),
    /// Cutting along an arc to a point, by its bulge: at most half a turn.
    Arc(Point, f64),
    /// The pivot of a blade turns about a corner: an arc by its bulge.
    Swivel(Point, f64),
    /// The height of a blade.
    Level(Level),
    /// Share of full power of a beam from here on, 0 to 1; 0 is off.
    Power(f64),
    /// Speed along the path from here on (mm/min).
    Feed(f64),
    /// Standing still with the beam off (s).
    Wait(f64),
}

/// The height of a blade; the machine's record says how many millimetres that is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Clear of everything.
    Safe,
    /// The tip still in the material, the blade free to turn.
    Swivel,
    /// The tip scores the face.
    Mark,
    /// As deep as the pass of this number goes, from 1.
    Cut(u32),
}

/// What steps are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Numbers, creases, punch marks and register dots.
    Mark,
    /// On the way to the contour, or away from it, in the waste.
    Lead,
    /// The contour.
    Contour,
    /// Over a bridge that holds the piece.
    Tab,
    /// On past the start of a closed cut.
    Overcut,
}

impl Role {
    /// The word for it in files.
    pub fn name(self) -> &'static str {
        match self {
            Role::Mark => "mark",
            Role::Lead => "lead",
            Role::Contour => "contour",
            Role::Tab => "tab",
            Role::Overcut => "overcut",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One pass along one stroke of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Number of the stroke in the plan.
    pub stroke: u32,
    /// Its layer.
    pub layer: Layer,
    /// Address of its piece; empty where it belongs to none.
    pub address: String,
    /// Which pass, from 1.
    pub pass: u32,
    /// The steps, each with what it is for.
    pub steps: Vec<(Role, Step)>,
}

/// How long a program takes (s).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Time {
    /// Cutting and marking.
    pub cut: f64,
    /// On the way between cuts.
    pub travel: f64,
    /// Standing still, that the material can cool.
    pub wait: f64,
    /// All of it.
    pub total: f64,
}

/// The program of one cut file.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    /// The plan that it follows: that of the drawing, its cuts in the order of the program.
    pub plan: CutPlan,
    /// Runs in cutting order.
    pub runs: Vec<Run>,
    /// How long it takes.
    pub time: Time,
    /// What is told of it in the manifest, lines of `key: value`.
    pub told: Vec<String>,
    /// What the user must know of it.
    pub warnings: Vec<Fault>,
}

/// Millimetres of a program.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Way {
    /// Cut, leads and every pass counted.
    pub cut: f64,
    /// Marked.
    pub marked: f64,
    /// On the way between cuts.
    pub travel: f64,
}

impl Program {
    /// The way of the tool, from the file's origin on.
    ///
    /// # Units
    /// Millimetres.
    pub fn way(&self) -> Way {
        let mut way = Way::default();
        let mut at = Point::ORIGIN;
        for (role, step) in self.runs.iter().flat_map(|run| &run.steps) {
            let Some((seg, cuts)) = step.path(at) else { continue };
            let length = seg.length();
            match (cuts, role) {
                (false, _) => way.travel += length,
                (true, Role::Mark) => way.marked += length,
                (true, _) => way.cut += length,
            }
            at = seg.b;
        }
        way
    }

    /// How long runs take on a machine, from the file's origin on.
    pub(super) fn time_of(runs: &[Run], machine: &Machine) -> Time {
        of_runs(runs, Point::ORIGIN, &Pace::of(machine))
    }
}

impl Step {
    /// The way it makes the tool go from a point, and whether that cuts; none for what does not move it in the plane.
    pub fn path(&self, at: Point) -> Option<(Seg, bool)> {
        match *self {
            Step::Rapid(to) => Some((Seg::line(at, to), false)),
            Step::Line(to) => Some((Seg::line(at, to), true)),
            Step::Arc(to, bulge) | Step::Swivel(to, bulge) => Some((Seg::arc(at, to, bulge), true)),
            Step::Level(_) | Step::Power(_) | Step::Feed(_) | Step::Wait(_) => None,
        }
    }

    /// The same step elsewhere.
    #[must_use]
    pub fn moved(self, by: Vec2) -> Step {
        match self {
            Step::Rapid(to) => Step::Rapid(to + by),
            Step::Line(to) => Step::Line(to + by),
            Step::Arc(to, bulge) => Step::Arc(to + by, bulge),
            Step::Swivel(to, bulge) => Step::Swivel(to + by, bulge),
            still => still,
        }
    }

    /// Along a piece of a line.
    pub(super) fn along(seg: &Seg) -> Step {
        if seg.is_line() { Step::Line(seg.b) } else { Step::Arc(seg.b, seg.bulge) }
    }
}

/// Where the tool is and what a step costs, at even speeds.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clock {
    at: Point,
    feed: f64,
    travel: f64,
}

impl Clock {
    /// At the file's origin; `travel` in mm/s.
    pub(super) fn new(travel: f64) -> Clock {
        Clock { at: Point::ORIGIN, feed: f64::INFINITY, travel }
    }

    /// Seconds that a step takes.
    pub(super) fn step(&mut self, step: &Step) -> f64 {
        match step {
            Step::Feed(feed) => self.feed = feed / 60.0,
            Step::Wait(seconds) => return *seconds,
            _ => {}
        }
        let Some((seg, cuts)) = step.path(self.at) else { return 0.0 };
        self.at = seg.b;
        seg.length() / if cuts { self.feed } else { self.travel }
    }
}
