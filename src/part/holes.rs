//! Holes of plates, strips and traced parts: rows by pitch, with breaks or by a list, circles, tables of holes, single
//! holes, screw holes, slots and windows; and what is left of them where two boards meet.
//!
//! Places are measured from the lower left corner of the part, x along its length; those of a traced part in its own
//! coordinates.

mod check;
mod keys;
mod opposite;
mod rows;

pub(super) use keys::{
    CIRCLE_KEY, HOLE_KEY, LIGAMENT_KEY, MEET_KEY, OPPOSITE_HOLE_KEY, OPPOSITE_ROW_KEY,
    OPPOSITE_SEEN_KEY, OPPOSITE_TABLE_KEY, ROW_KEY, SCREW_KEY, SLOT_KEY, TABLE_KEY, WINDOW_KEY,
};

use super::measures::Measures;
use super::member::{Dimension, Term};
use crate::fault::{Fault, Place};
use crate::geom::Loop;

/// Faults of one code that are told one by one; the rest are counted.
const TOLD: usize = 3;
/// A part has no more holes than this in all.
const MOST_IN_ALL: usize = 10_000;
/// When so many are found, no more are looked for.
const ENOUGH: usize = 1000;

/// One hole with what it is called in messages.
#[derive(Debug, Clone)]
pub(super) struct Bored {
    outline: Loop,
    name: String,
    place: Place,
}

impl Bored {
    /// A hole that the part has by its shape.
    pub(super) fn new(outline: Loop, name: impl Into<String>, place: &Place) -> Bored {
        Bored { outline, name: name.into(), place: place.clone() }
    }
}

/// Holes, their part of the sum, and what is wrong with them.
#[derive(Debug, Default)]
pub(super) struct Holes {
    pub(super) loops: Vec<Loop>,
    pub(super) terms: Vec<Term>,
    pub(super) dimensions: Vec<Dimension>,
    pub(super) faults: Vec<Fault>,
}

/// Works out every hole of a part, those of its shape first, and checks that each lies inside `outline` and apart
/// from the rest.
///
/// # Source
/// Webs under 1.5 mm in leather are weak: common practice.
pub(super) fn holes(m: &Measures, outline: &Loop, shape: Vec<Bored>) -> Holes {
    let mut found = Holes::default();
    let room = outline.bounds();
    let mut bored = shape;
    let first = rows::round_holes(m, &rows::FIRST, room, &mut found);
    // So many are refused below, and need not be paired.
    let many = first.len() > MOST_IN_ALL;
    bored.extend(if many { first } else { opposite::against(m, first, room, &mut found) });
    rows::singles(m, "screw", "screw hole", room, &mut bored, &mut found);
    rows::slots(m, room, &mut bored, &mut found);
    rows::windows(m, room, &mut bored, &mut found);
    if bored.len() > MOST_IN_ALL {
        found.faults.push(
            Fault::error("E28", format!("a part of more than {MOST_IN_ALL} holes"))
                .at(&m.place)
                .cure("look at `holes` of its rows and circles; no plate has so many"),
        );
        return found;
    }
    check::check(m, outline, &bored, &mut found);
    found.loops = bored.into_iter().map(|b| b.outline).collect();
    found
}

/// Faults of one sort: the first few in full, the rest only counted, since a slip in one figure makes thousands.
#[derive(Debug, Default)]
struct Few {
    told: Vec<Fault>,
    count: usize,
}

impl Few {
    fn push(&mut self, fault: impl FnOnce() -> Fault) {
        self.count += 1;
        if self.told.len() < TOLD {
            self.told.push(fault());
        }
    }

    /// Whether there are so many that looking for more tells nobody anything.
    fn is_full(&self) -> bool {
        self.count >= ENOUGH
    }

    /// The faults, the last one saying how many more there are.
    fn finish(mut self) -> Vec<Fault> {
        let over = if self.is_full() { "more than " } else { "" };
        let more = self.count - self.told.len();
        if let Some(last) = self.told.last_mut().filter(|_| more > 0) {
            last.text = format!("{}, and {over}{more} more holes likewise", last.text);
        }
        self.told
    }
}

#[cfg(test)]
pub(super) mod tests;
