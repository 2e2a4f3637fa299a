//! What a machine does, step by step: the program that G-code is written from.

use super::Layer;
use crate::geom::Point;

/// How high a knife stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Over everything.
    Safe,
    /// Shallow in the stuff, where the blade is turned about its tip.
    Swivel,
    /// Cutting, in the pass of that number, from 1.
    Cut(u32),
}

/// One step of a program.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// To a point, tool off or raised.
    Rapid(Point),
    /// Cutting along a line to a point.
    Line(Point),
    /// Cutting along an arc to a point, by its bulge, which is at most 1 either way.
    Arc(Point, f64),
    /// Knife: the blade turns about a corner; an arc to a point by its bulge, at swivel height or full depth.
    Swivel(Point, f64),
    /// Knife: to a height.
    Level(Level),
    /// Laser: share of full power from here on, 0 to 1; 0 is beam off.
    Power(f64),
    /// Feed from here on (mm/min).
    Feed(f64),
    /// Standing still with the beam off (s).
    Wait(f64),
}

/// What the steps that follow are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// A mark.
    Mark,
    /// Way in or out, in the waste.
    Lead,
    /// The contour itself.
    Contour,
    /// A bridge that is left standing.
    Tab,
    /// On past the start of a closed contour, or past the end of an open one.
    Overcut,
}

/// The steps of one stroke in one pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Number of the stroke in the plan.
    pub stroke: u32,
    /// Its layer.
    pub layer: Layer,
    /// Address of the piece it belongs to; empty where there is none.
    pub address: String,
    /// The pass, from 1.
    pub pass: u32,
    /// The steps, each with what it is for.
    pub steps: Vec<(Role, Step)>,
}

/// How long it takes (s).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Time {
    /// Cutting and marking.
    pub cut: f64,
    /// Between cuts.
    pub travel: f64,
    /// Standing still.
    pub wait: f64,
    /// All of it.
    pub total: f64,
}

/// A program for one sheet, or one bed window of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    /// Runs, in the order in which they are made.
    pub runs: Vec<Run>,
    /// How long they take.
    pub time: Time,
}
