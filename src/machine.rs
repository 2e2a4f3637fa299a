//! What cuts: a laser or a drag knife, its bed, and what is on its plate.

use crate::fault::Place;
use crate::material::Source;
use std::collections::BTreeMap;
use std::fmt;

/// How a machine cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Process {
    /// By a beam.
    Laser,
    /// By a trailing blade.
    Knife,
}

impl Process {
    /// Names as they are typed.
    pub const NAMES: &'static [(&'static str, Process)] =
        &[("laser", Process::Laser), ("knife", Process::Knife)];

    /// The name as it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Process::Laser => "laser",
            Process::Knife => "knife",
        }
    }
}

impl fmt::Display for Process {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What is on a laser's plate and round it.
#[derive(Debug, Clone, PartialEq)]
pub struct LaserPlate {
    /// Wavelength (nm).
    pub wavelength: f64,
    /// Optical power (W).
    pub power: f64,
    /// Class of the machine as it stands.
    ///
    /// # Source
    /// IEC 60825-1 names the classes.
    pub class: String,
    /// Whether the beam path is closed in.
    pub enclosed: bool,
    /// Where the fumes go; `none` is an answer.
    pub extraction: String,
    /// The word that lights the beam in G-code, `M3` or `M4`; none: no G-code.
    ///
    /// # Source
    /// NIST IR 6556 has M3 and M4 for a turning spindle, M5 to stop it; which of the two lights a beam, and whether the
    /// power then follows the speed, is for the machine's own papers to say.
    pub beam_word: Option<String>,
    /// The figure after S that stands for full power in G-code; none: no G-code.
    pub full_power_word: Option<f64>,
    /// Full angle at which the beam opens (mrad).
    pub divergence: Option<f64>,
    /// Diameter of the beam where it leaves the machine (mm).
    pub beam_diameter: Option<f64>,
    /// What stops the beam when the lid is opened, in the user's words.
    pub interlock: Option<String>,
}

/// How fast a machine moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotionLimits {
    /// Speed while nothing is cut (mm/s).
    pub travel_speed: f64,
    /// The fastest feed (mm/s).
    pub feed_limit: f64,
    /// Along the path (mm/s²).
    pub acceleration: f64,
    /// How far from a corner the path may be thought to pass when the speed there is worked out (mm).
    pub corner_deviation: f64,
}

impl MotionLimits {
    /// For machines whose record says nothing.
    ///
    /// # Source
    /// Starting guesses of our own.
    pub const ASSUMED: MotionLimits = MotionLimits {
        travel_speed: 100.0,
        feed_limit: 100.0,
        acceleration: 1000.0,
        corner_deviation: 0.02,
    };
}

/// The side of the bed on which the sheet is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeldSide {
    /// Where x is least.
    Left,
    /// Where x is greatest.
    Right,
    /// Where y is least.
    Front,
    /// Where y is greatest.
    Back,
}

impl HeldSide {
    /// By name.
    pub const NAMES: &'static [(&'static str, HeldSide)] = &[
        ("left", HeldSide::Left),
        ("right", HeldSide::Right),
        ("front", HeldSide::Front),
        ("back", HeldSide::Back),
    ];

    /// How far a place lies from the side, but for a sum that is the same for all places (mm).
    pub fn off(self, x: f64, y: f64) -> f64 {
        match self {
            HeldSide::Left => x,
            HeldSide::Right => -x,
            HeldSide::Front => y,
            HeldSide::Back => -y,
        }
    }
}

/// A trailing blade and the heights it works at. Heights are from the upper face of the sheet, upward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnifePlate {
    /// From the pivot back to the tip (mm).
    pub offset: f64,
    /// How far the tip may stray from its line (mm).
    pub tip_tolerance: f64,
    /// Whether the machine's own program works out the path of the pivot.
    pub compensates: bool,
    /// Clear of everything (mm); none: no G-code.
    pub safe_height: Option<f64>,
    /// How deep the tip goes below the upper face (mm); none: no G-code.
    pub cut_depth: Option<f64>,
    /// How deep the tip goes where it only marks (mm); none: marks stay out of the G-code.
    pub mark_depth: Option<f64>,
    /// Height at which the blade turns with its tip still in the material; below the face it is negative (mm).
    pub swivel_height: Option<f64>,
    /// Corners that turn by more than this are turned at the swivel height (degrees).
    pub lift_over: f64,
    /// How far a closed cut runs on past its start (mm).
    pub overcut: f64,
    /// Thickness of the blade (mm).
    pub blade_thickness: f64,
    /// The one side on which the sheet is held; none: all round.
    pub held: Option<HeldSide>,
}

impl KnifePlate {
    /// How far the tip may stray where the record is silent (mm).
    pub const TIP_TOLERANCE: f64 = 0.02;
    /// Corners beyond this are turned at the swivel height where the record is silent (degrees).
    ///
    /// # Source
    /// A starting guess of our own.
    pub const LIFT_OVER: f64 = 120.0;
    /// The least overcut where the record is silent, and its share of the offset (mm; factor).
    ///
    /// # Source
    /// Starting guesses of our own.
    pub const OVERCUT: (f64, f64) = (0.5, 2.0);
}

/// A machine's record.
#[derive(Debug, Clone, PartialEq)]
pub struct Machine {
    /// The name jobs call it by.
    pub key: String,
    /// What it is called in full.
    pub title: String,
    /// How it cuts.
    pub process: Process,
    /// Travel left to right (mm).
    pub width: f64,
    /// Travel front to back (mm).
    pub depth: f64,
    /// Kept clear all round (mm).
    pub margin: f64,
    /// Holes with less diameter are marked for the punch (mm).
    pub smallest_hole: f64,
    /// How fast it moves, if its record says so.
    pub motion: Option<MotionLimits>,
    /// A laser's plate.
    pub laser: Option<LaserPlate>,
    /// A knife's blade and heights, if its record has them.
    pub knife: Option<KnifePlate>,
    /// Colours of the user's own by layer name; empty unless he gave some.
    pub colours: BTreeMap<String, String>,
    /// Where the figures came from.
    pub source: Source,
    /// The head of the profile.
    pub place: Place,
}

impl Machine {
    /// How fast it moves; the starting guesses where its record is silent.
    pub fn limits(&self) -> MotionLimits {
        self.motion.unwrap_or(MotionLimits::ASSUMED)
    }

    /// Whether its extraction is known and there is some.
    pub fn has_extraction(&self) -> bool {
        self.laser.as_ref().is_some_and(|l| !l.extraction.is_empty() && l.extraction != "none")
    }
}
