//! What a kind gives back: a shape with its sum and the figures for its drawing.

use crate::fault::{Fault, Place};
use crate::geom::{Point, Seg, Shape};
use std::fmt;

/// What a term is in its sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TermRole {
    /// Measured or set by the user.
    Given,
    /// Worked out on the way.
    Step,
    /// A size of the part.
    Total,
    /// A figure to know, which is not cut.
    Note,
}

/// One line of a worked sum.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// What it is.
    pub label: String,
    /// As it was written, or the rule it was worked out by.
    pub written: String,
    /// The figure, in the unit below.
    pub value: f64,
    /// `mm`, `mm²`, `°`, `%`, or nothing for a bare number.
    pub unit: &'static str,
    /// Where it stands, for a figure that was given.
    pub from: Option<Place>,
    /// What it is in the sum.
    pub role: TermRole,
}

/// A hole that is punched by hand: its centre is marked, nothing is cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Punch {
    /// Centre (mm).
    pub at: Point,
    /// Diameter (mm).
    pub diameter: f64,
}

/// A length on a drawing, and a word or two that stand behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The length (mm).
    pub mm: f64,
    /// What follows the figure; empty as a rule.
    pub words: String,
}

impl Figure {
    /// A bare length (mm).
    pub fn of(mm: f64) -> Figure {
        Figure { mm, words: String::new() }
    }

    /// The same with words behind it.
    #[must_use]
    pub fn and(mut self, words: &str) -> Figure {
        self.words.push_str(words);
        self
    }
}

/// A figure for the drawing. How it is written is for the drawing to say.
#[derive(Debug, Clone, PartialEq)]
pub enum Dimension {
    /// Between two points, drawn `off` millimetres to the left of the way from the first to the second.
    Span(Point, Point, f64, Figure),
    /// A diameter: centre, radius, figure.
    Diameter(Point, f64, Figure),
}

/// A member's name: a word, and a number where there are several of one sort.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MemberName {
    /// `outer`, `card`.
    pub word: &'static str,
    /// Its number from 1; 0 where there is only one.
    pub number: u32,
}

impl MemberName {
    /// A name without a number.
    pub const fn only(word: &'static str) -> MemberName {
        MemberName { word, number: 0 }
    }

    /// A numbered name.
    pub const fn numbered(word: &'static str, number: u32) -> MemberName {
        MemberName { word, number }
    }
}

impl fmt::Display for MemberName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.number {
            0 => f.write_str(self.word),
            n => write!(f, "{}-{n}", self.word),
        }
    }
}

/// One piece's worth of a part, at true size.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// `outer`, `card-2`; none where a position has one piece.
    pub name: Option<MemberName>,
    /// The companion it is cut as, such as `card`; none where it is of the part's own material.
    pub companion: Option<&'static str>,
    /// Outline and holes (mm), x along the part, before stretch, trim and kerf.
    pub shape: Shape,
    /// Bench allowance added on either side across the part, after stretch (mm).
    pub trim: f64,
    /// Corners of the outline that the bench allowance leaves where they are: the inside of a notch.
    pub untrimmed: Vec<Point>,
    /// Lines along which it folds.
    pub creases: Vec<Seg>,
    /// Lines for the drawing alone, such as where a lap ends; never marked or cut.
    pub guides: Vec<Seg>,
    /// Holes that are always punched by hand.
    pub punches: Vec<Punch>,
    /// A part whose edge must stay soft: no laser-hardened rim.
    pub soft: bool,
    /// The worked sum.
    pub sum: Vec<Term>,
    /// Figures for the drawing.
    pub dimensions: Vec<Dimension>,
}

impl Member {
    /// Whether two members are cut from one pattern.
    pub fn cut_alike(&self, other: &Member) -> bool {
        self.shape == other.shape
            && self.trim.to_bits() == other.trim.to_bits()
            && self.creases == other.creases
            && self.punches == other.punches
            && self.soft == other.soft
    }

    /// A member that is nothing but its shape: no name, trim, crease or punch, and no soft edge.
    pub(super) fn of(shape: Shape, sum: Vec<Term>, dimensions: Vec<Dimension>) -> Member {
        Member {
            name: None,
            companion: None,
            shape,
            trim: 0.0,
            untrimmed: Vec::new(),
            creases: Vec::new(),
            guides: Vec::new(),
            punches: Vec::new(),
            soft: false,
            sum,
            dimensions,
        }
    }
}

/// What became of the measures: members where they could be worked out, and whatever is wrong.
#[derive(Debug, Clone, Default)]
pub struct Developed {
    /// The members; empty when a fault stops the work.
    pub members: Vec<Member>,
    /// Faults and warnings.
    pub faults: Vec<Fault>,
}
