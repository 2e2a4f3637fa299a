//! The cut plan: from pieces in their places to motions in order.
//!
//! Takes one sheet's placed pieces and the kerf of the material on the machine. Gives [`CutPlan`]: strokes in cutting
//! order, each on its layer, kerf already allowed for (outside outward, holes inward), holes before what holds them,
//! every start in the waste. That is the drawing; a [`Program`] made of it has leads, tabs, passes and waits as well.
//! Writers get nothing else.

mod beam;
mod blade;
mod build;
mod free;
mod ground;
pub mod heat;
mod kerf;
pub mod knife;
mod numbers;
pub mod order;
mod path;
pub mod program;
pub mod punches;
mod rule;
pub mod time;

pub use beam::beam_program;
pub use blade::knife_program;
pub use build::{RULE_OFF, Work, plan};
pub use free::{cuts, free_order, held_order, reordered};
pub use ground::{Ground, Lain};
pub use kerf::{corner_loss, cut_line};
pub use program::{Level, Program, Role, Run, Step, Time, Way};
pub use punches::{PunchList, PunchRow, Punched};

use crate::geom::{Point, Seg, Vec2};
use std::fmt;

/// What a stroke is for; also the name of its layer in every file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// Numbers, lightly marked.
    Numbers,
    /// Fold lines, lightly marked.
    Crease,
    /// Inside cuts.
    Holes,
    /// Outside cuts.
    Edges,
    /// Centres of holes that are punched by hand.
    Punch,
    /// Register dots in the waste.
    Dots,
    /// The 100 mm rule and warnings, as strokes; never a cut.
    Rule,
}

impl Layer {
    /// Every layer, in cutting order.
    pub const ALL: &'static [Layer] = &[
        Layer::Rule,
        Layer::Numbers,
        Layer::Crease,
        Layer::Punch,
        Layer::Dots,
        Layer::Holes,
        Layer::Edges,
    ];

    /// The name in files.
    pub fn name(self) -> &'static str {
        match self {
            Layer::Numbers => "NUMBERS",
            Layer::Crease => "CREASE",
            Layer::Holes => "HOLES",
            Layer::Edges => "EDGES",
            Layer::Punch => "PUNCH",
            Layer::Dots => "DOTS",
            Layer::Rule => "RULE",
        }
    }
}

impl fmt::Display for Layer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One motion of the tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Motion {
    /// To a point, not cutting.
    Rapid(Point),
    /// Cutting along a line to a point.
    Line(Point),
    /// Cutting along an arc to a point, by its bulge.
    Arc(Point, f64),
    /// Cutting once round a circle (centre, radius) from where the tool stands; clockwise if true.
    Circle(Point, f64, bool),
}

impl Motion {
    /// The same motion elsewhere.
    #[must_use]
    pub fn moved(self, by: Vec2) -> Motion {
        match self {
            Motion::Rapid(to) => Motion::Rapid(to + by),
            Motion::Line(to) => Motion::Line(to + by),
            Motion::Arc(to, bulge) => Motion::Arc(to + by, bulge),
            Motion::Circle(center, radius, clockwise) => {
                Motion::Circle(center + by, radius, clockwise)
            }
        }
    }
}

/// A run of motions without a break: one line of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Layer.
    pub layer: Layer,
    /// Address of the piece it belongs to; empty for the rule.
    pub address: String,
    /// Number of the stroke in cutting order, counted from 1 over the whole file.
    pub number: u32,
    /// The motions; the first is a rapid to the start.
    pub motions: Vec<Motion>,
}

impl Stroke {
    /// The cut as pieces; a circle gives two half turns.
    pub fn segs(&self) -> Vec<Seg> {
        let mut at = Point::ORIGIN;
        let mut segs = Vec::new();
        for motion in &self.motions {
            match *motion {
                Motion::Rapid(to) => at = to,
                Motion::Line(to) => {
                    segs.push(Seg::line(at, to));
                    at = to;
                }
                Motion::Arc(to, bulge) => {
                    segs.push(Seg::arc(at, to, bulge));
                    at = to;
                }
                Motion::Circle(center, _, clockwise) => {
                    let across = center + (center - at);
                    let bulge = if clockwise { -1.0 } else { 1.0 };
                    segs.push(Seg::arc(at, across, bulge));
                    segs.push(Seg::arc(across, at, bulge));
                }
            }
        }
        segs
    }

    /// The circle, where the stroke is one.
    pub fn circle(&self) -> Option<(Point, f64)> {
        match self.motions[..] {
            [Motion::Rapid(_), Motion::Circle(center, radius, _)] => Some((center, radius)),
            _ => None,
        }
    }

    /// Whether it ends where it began.
    pub fn is_closed(&self) -> bool {
        let segs = self.segs();
        match (segs.first(), segs.last()) {
            (Some(first), Some(last)) => (first.a - last.b).hypot() < 1e-6,
            _ => false,
        }
    }
}

/// A row of the manifest: one piece as it will come out.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Address.
    pub address: String,
    /// Place on the sheet (mm) and turn (degrees).
    pub x: f64,
    /// See `x`.
    pub y: f64,
    /// Turn in degrees.
    pub turn: f64,
    /// Whether it is seen from its back.
    pub mirrored: bool,
    /// Numbers of its strokes.
    pub strokes: Vec<u32>,
    /// Finished width and height of its box (mm).
    pub size: (f64, f64),
    /// Finished area (mm²), hand-punched holes not taken off.
    pub area: f64,
    /// Holes left to the punch: centre and diameter (mm).
    pub punches: Vec<(Point, f64)>,
}

/// A bed window of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedWindow {
    /// Its number, from 1, in cutting order.
    pub number: u32,
    /// How many the sheet has.
    pub of: u32,
    /// Where the corner of the bed's margin, which is the file's origin, lies on the sheet (mm).
    pub origin: Point,
}

impl BedWindow {
    /// Where to lay the sheet, in words.
    pub fn told(&self) -> String {
        let at = |v: f64| format!("{:.1}", if v.abs() < 0.05 { 0.0 } else { v });
        format!(
            "lay the sheet so that its point x {} y {} mm, from its lower left corner, is on the corner of the bed's margin",
            at(self.origin.x),
            at(self.origin.y)
        )
    }
}

/// What a machine does to one sheet, or to one bed window of it.
#[derive(Debug, Clone, PartialEq)]
pub struct CutPlan {
    /// Sheet.
    pub sheet: String,
    /// Its generation.
    pub generation: u32,
    /// Material.
    pub material: String,
    /// Machine.
    pub machine: String,
    /// Process of the machine: `laser` or `knife`.
    pub process: &'static str,
    /// Kerf along x and y (mm).
    pub kerf: (f64, f64),
    /// Strokes in cutting order.
    pub strokes: Vec<Stroke>,
    /// A row a piece.
    pub rows: Vec<Row>,
    /// Size of the drawing (mm): the box from the origin that holds sheet and rule.
    pub page: (f64, f64),
    /// The bed window, where the sheet is cut in several.
    pub window: Option<BedWindow>,
    /// Register dots (mm of the sheet).
    pub dots: Vec<Point>,
    /// Short warnings, drawn beside the rule and told in the manifest, such as why a material is not for a laser.
    pub warnings: Vec<String>,
    /// Cautions for whoever runs the machine, told in the manifest.
    pub cautions: Vec<String>,
}

impl CutPlan {
    /// Length of all cuts (mm), marks and rule left out.
    pub fn cut_length(&self) -> f64 {
        self.strokes
            .iter()
            .filter(|s| matches!(s.layer, Layer::Holes | Layer::Edges))
            .flat_map(Stroke::segs)
            .map(|s| s.length())
            .sum()
    }
}
