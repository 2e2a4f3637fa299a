//! What there is to be measured on a coupon, and what was read.

use super::design::{
    FIRST_STRIP_X, FIRST_STRIP_Y, Kind, PLATE, ROUND, STRIP_X, STRIP_Y, STRIPS, WINDOW, kind_of,
};
use crate::fault::Place;
use std::fmt;

/// A direction of the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Axis {
    /// Left to right.
    X,
    /// Front to back.
    Y,
}

impl Axis {
    /// Both.
    pub const BOTH: [Axis; 2] = [Axis::X, Axis::Y];

    /// The other one.
    #[must_use]
    pub fn other(self) -> Axis {
        match self {
            Axis::X => Axis::Y,
            Axis::Y => Axis::X,
        }
    }
}

impl fmt::Display for Axis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Axis::X => "x",
            Axis::Y => "y",
        })
    }
}

/// What is measured of a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Feature {
    /// A plate from outside to outside.
    Outside,
    /// The round hole in a plate.
    RoundHole,
    /// The oblong hole in a plate.
    Window,
    /// Ten strips side by side.
    Strips,
}

impl Feature {
    /// All of them.
    pub const ALL: [Feature; 4] =
        [Feature::Outside, Feature::RoundHole, Feature::Window, Feature::Strips];
    /// Their names, in the same order.
    pub const NAMES: &'static [&'static str] = &["outside", "round hole", "window", "strips"];

    /// The name as it stands in the table.
    pub fn name(self) -> &'static str {
        match self {
            Feature::Outside => Feature::NAMES[0],
            Feature::RoundHole => Feature::NAMES[1],
            Feature::Window => Feature::NAMES[2],
            Feature::Strips => Feature::NAMES[3],
        }
    }

    /// The feature of a name.
    pub fn named(name: &str) -> Option<Feature> {
        Feature::ALL.into_iter().find(|feature| feature.name() == name)
    }

    /// Whether it is measured between the jaws that go inside.
    pub fn is_hole(self) -> bool {
        matches!(self, Feature::RoundHole | Feature::Window)
    }

    /// How many kerfs are missing, or too much, in one reading.
    pub fn cuts(self) -> f64 {
        match self {
            Feature::Strips => f64::from(STRIPS),
            Feature::Outside | Feature::RoundHole | Feature::Window => 1.0,
        }
    }
}

/// One thing to be measured: a feature of a piece, along one axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// Number of the piece; of strips, the first one.
    pub number: u32,
    /// What of it.
    pub feature: Feature,
    /// Along which axis of the machine.
    pub axis: Axis,
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Spot { number, feature, axis } = self;
        match feature {
            Feature::Strips => {
                write!(f, "{number} to {}, strips, along {axis}", number + STRIPS - 1)
            }
            _ => write!(f, "{number}, {}, along {axis}", feature.name()),
        }
    }
}

/// One row of the table to be filled in: what is drawn along x and y, where it is to be measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Number of the piece; of strips, the first one.
    pub number: u32,
    /// What of it.
    pub feature: Feature,
    /// Drawn along x (mm); none: not to be measured.
    pub x: Option<f64>,
    /// Drawn along y (mm); none: not to be measured.
    pub y: Option<f64>,
}

/// What is drawn at a spot (mm); none where there is no such spot.
///
/// # Units
/// Millimetres.
pub fn drawn(spot: Spot) -> Option<f64> {
    let along = |(x, y): (f64, f64)| match spot.axis {
        Axis::X => x,
        Axis::Y => y,
    };
    let kind = kind_of(spot.number)?;
    match (spot.feature, kind) {
        (Feature::Outside, Kind::Round | Kind::Windowed) => Some(along(PLATE)),
        (Feature::RoundHole, Kind::Round) => Some(ROUND),
        (Feature::Window, Kind::Windowed) => Some(along(WINDOW)),
        (Feature::Strips, Kind::StripX) if spot.number == FIRST_STRIP_X => {
            (spot.axis == Axis::X).then_some(STRIP_X.0 * f64::from(STRIPS))
        }
        (Feature::Strips, Kind::StripY) if spot.number == FIRST_STRIP_Y => {
            (spot.axis == Axis::Y).then_some(STRIP_Y.1 * f64::from(STRIPS))
        }
        _ => None,
    }
}

/// The kerf that a reading comes to (mm).
///
/// # Units
/// Millimetres.
///
/// # Source
/// The definition: from outside to outside each piece lacks one kerf, so n pieces side by side lack n; a hole has one
/// too much.
pub fn kerf_of(feature: Feature, drawn: f64, measured: f64) -> f64 {
    let missing = if feature.is_hole() { measured - drawn } else { drawn - measured };
    missing / feature.cuts()
}

/// One figure of the filled table.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was measured.
    pub spot: Spot,
    /// How much (mm).
    pub mm: f64,
    /// As it was written.
    pub written: String,
    /// Where it stands.
    pub place: Place,
}

/// A cell that is empty.
#[derive(Debug, Clone, PartialEq)]
pub struct Blank {
    /// What was to be measured.
    pub spot: Spot,
    /// Where it stands; the head of the table where the whole row is gone.
    pub place: Place,
}

/// A table as it was filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// What was measured.
    pub readings: Vec<Reading>,
    /// What the table says was drawn.
    pub drawn: Vec<Reading>,
    /// What is missing.
    pub blanks: Vec<Blank>,
    /// The head of the table.
    pub head: Place,
}
