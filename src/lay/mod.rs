//! Laying: every piece in a place of its own on the sheets of its material.
//!
//! Takes a [`Group`]: pieces that share a material and a machine, and the sheets they may come from, with the two
//! distances to keep. Gives a [`Layout`]: inside the sheets, clear of flaws, gap kept, grain and face kept, every
//! piece placed once or named with the reason. Nothing leaves this room unproven: `proof::prove` checks every
//! layout by brute force on the true arcs.
//!
//! Knows no machine, no file and no clock: what may stop it comes in as a [`Watch`].

mod axes;
mod chance;
mod choice;
mod couples;
mod cut;
mod dots;
mod extras;
mod fill;
mod free;
mod kernel;
mod lattice;
mod lies;
mod lone;
mod manner;
mod numbering;
mod pattern;
mod plots;
pub mod proof;
mod purse;
mod reading;
pub mod record;
mod search;
mod separate;
mod task;
mod touching;
mod windows;

pub use axes::{Axes, Axis, AxisTold, aside, axes};
pub use cut::{CutOff, cut_off_of_held, cut_offs, last_cut_off};
pub use extras::{Extra, extras};
pub use lies::{Lies, MOST_RESIDUAL, PLACED_WITHIN};
pub use lone::{Wish, free_for, lone};
pub use windows::{takes, turns_that_fit};

use crate::geom::{Point, Pose, Rect, Vec2, tolerance};
use crate::part::Piece;
use crate::sheet::Sheet;
use std::sync::Arc;

/// A sheet with the distance that shapes must keep from its edge and flaws.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// The sheet.
    pub sheet: Arc<Sheet>,
    /// Least distance from a piece's true line to the sheet's edge or a flaw (mm): edge plus half the kerf.
    pub edge: f64,
    /// The part of the sheet in which pieces must stay whole; none where the machine reaches all of it.
    pub window: Option<Rect>,
}

/// Pieces that are laid together, and what they may be laid on.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// The sheets, in the order in which they are used up.
    pub grounds: Vec<Ground>,
    /// Least distance between two pieces' true lines (mm): gap plus kerf.
    pub apart: f64,
    /// Whether the cut hardens edges, so that soft pieces stay out of other pieces' holes.
    pub hard_edges: bool,
    /// What the machine reaches at once (mm, along x and y) where some sheet is larger: the bed less its margin and
    /// the kerf.
    pub window: Option<Vec2>,
}

impl Group {
    /// What the machine reaches at once, where a sheet is larger than that.
    pub fn reach(&self, ground: usize) -> Option<Vec2> {
        let reach = self.window?;
        let b = self.grounds.get(ground)?.sheet.outline.bounds();
        let over =
            b.width() > reach.x + tolerance::SLACK || b.height() > reach.y + tolerance::SLACK;
        over.then_some(reach)
    }
}

/// How hard to try, and from where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Evaluations that may be spent.
    pub evaluations: u64,
    /// Where chance begins: the same seed gives the same layout.
    pub seed: u64,
}

impl Effort {
    /// For a first look: well under a second.
    pub const QUICK: Effort = Effort { evaluations: 20_000, seed: 1 };
    /// For most jobs.
    pub const USUAL: Effort = Effort { evaluations: 4_000_000, seed: 1 };
    /// For a dear skin.
    pub const THOROUGH: Effort = Effort { evaluations: 40_000_000, seed: 1 };
}

/// One piece in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Index of the piece in its group.
    pub piece: usize,
    /// Index of the ground.
    pub ground: usize,
    /// Index of the piece in whose hole it lies.
    pub host: Option<usize>,
    /// Which of its stances (0 for a piece that turns freely).
    pub stance: usize,
    /// Where it lies on the sheet.
    pub pose: Pose,
    /// Index of the bed window in which it lies.
    pub window: Option<usize>,
}

/// A part of a sheet that is cut at once because the sheet is larger than the machine's bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Index of the ground.
    pub ground: usize,
    /// The box in which its pieces lie whole; no two boxes of a sheet overlap.
    pub bounds: Rect,
    /// Where the lower left corner of what the machine reaches comes to lie on the sheet. Pieces and register dots of
    /// the window lie within reach.
    pub corner: Point,
}

/// A register dot: a small mark in the waste that stays with the sheet, by which the sheet is found again.
#[derive(Debug, Clone, PartialEq)]
pub struct Dot {
    /// Index of the ground.
    pub ground: usize,
    /// Where it lies.
    pub at: Point,
    /// The bed windows in whose files it stands, by index; none where the whole sheet is cut at once.
    pub windows: Vec<usize>,
}

impl Dot {
    /// Half the width of the mark (mm).
    pub const RADIUS: f64 = 1.0;
    /// What more is kept clear round it (mm).
    pub const CLEAR: f64 = 0.5;
}

/// A piece that found no place.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Index of the piece.
    pub piece: usize,
    /// Centre and diameter (mm) of the largest circle that still fits on any ground, and the ground's index.
    ///
    /// Worked out only for pieces that were tried.
    pub largest_free: Option<(usize, Point, f64)>,
    /// Whether a place was looked for and none found; false where it was stopped before that.
    pub tried: bool,
}

/// Where every piece went.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout {
    /// Pieces in their places, by piece index.
    pub placed: Vec<Placed>,
    /// Pieces without a place.
    pub left: Vec<LeftOut>,
    /// The bed windows, sheet by sheet, in the order in which they are cut.
    pub windows: Vec<Window>,
    /// Register dots, sheet by sheet.
    pub dots: Vec<Dot>,
    /// Evaluations spent.
    pub spent: u64,
    /// Whether it was stopped before the effort was spent.
    pub stopped: bool,
}

impl Layout {
    /// The number of a bed window on its sheet, from 1.
    pub fn window_number(&self, window: usize) -> u32 {
        let Some(it) = self.windows.get(window) else { return 0 };
        let before = self.windows[..=window].iter().filter(|w| w.ground == it.ground);
        u32::try_from(before.count()).unwrap_or(u32::MAX)
    }

    /// The bed windows, by index, that share no two register dots with one cut before; the first of a sheet is none of
    /// them.
    pub fn strangers(&self) -> Vec<usize> {
        let is_known = |w: usize| {
            let shared =
                |dot: &&Dot| dot.windows.contains(&w) && dot.windows.iter().any(|v| *v < w);
            self.dots.iter().filter(shared).count() >= 2
        };
        (0..self.windows.len()).filter(|w| self.window_number(*w) > 1 && !is_known(*w)).collect()
    }

    /// The bed windows of a ground, by index, in cutting order.
    pub fn windows_of(&self, ground: usize) -> Vec<usize> {
        (0..self.windows.len()).filter(|w| self.windows[*w].ground == ground).collect()
    }
}

/// How far the search is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// What is being done, in plain words.
    pub stage: &'static str,
    /// Evaluations spent.
    pub spent: u64,
    /// Evaluations that may be spent.
    pub effort: u64,
    /// Pieces placed in the best layout so far.
    pub placed: usize,
    /// Pieces wanted.
    pub wanted: usize,
}

/// Looks on while laying goes on, and may stop it.
pub trait Watch: Sync {
    /// Called now and then, from any thread.
    fn look(&self, progress: Progress);
    /// Whether to stop and keep the best so far.
    fn stop(&self) -> bool;
}

/// Looks on and never stops.
#[derive(Debug, Clone, Copy, Default)]
pub struct Patient;

impl Watch for Patient {
    fn look(&self, _: Progress) {}
    fn stop(&self) -> bool {
        false
    }
}

/// Lays a group: every piece placed once, or left out with the largest place that is still free.
///
/// The same group, effort and seed give the same layout, whatever the number of threads; a watch that stops it gets
/// the best so far. What comes back has been proven. Sheets that are larger than what the machine reaches are laid in
/// bed windows; every sheet gets register dots where it has room for them.
pub fn lay(group: &Group, effort: Effort, watch: &dyn Watch) -> Layout {
    windows::lay(group, effort, watch)
}

#[cfg(test)]
mod tests;
