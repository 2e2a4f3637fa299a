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
    /// A laser's plate.
    pub laser: Option<LaserPlate>,
    /// Colours of the user's own by layer name; empty unless he gave some.
    pub colours: BTreeMap<String, String>,
    /// Where the figures came from.
    pub source: Source,
    /// The head of the profile.
    pub place: Place,
}

impl Machine {
    /// Whether its extraction is known and there is some.
    pub fn has_extraction(&self) -> bool {
        self.laser.as_ref().is_some_and(|l| !l.extraction.is_empty() && l.extraction != "none")
    }
}
