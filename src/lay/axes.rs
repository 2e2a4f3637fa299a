//! Lengthwise, crosswise or mixed: what the threads' two directions come to.
//!
//! A part that may lie along and across the grain is laid as the search finds best. Beside that each axis is tried alone,
//! with little effort, so that the choice can be told; where one axis alone comes out ahead it is taken.

use super::cut::{CutOff, last_cut_off};
use super::{Effort, Group, Layout, Progress, Watch, lay, proof};
use crate::part::{Stance, Turns};

/// No more is spent on one axis.
const MOST: u64 = 200_000;

/// Which way a piece's length lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// Along the grain or the warp.
    Lengthwise,
    /// Across it.
    Crosswise,
}

impl Axis {
    fn has(self, stance: &Stance) -> bool {
        let across = (stance.turn.rem_euclid(180.0) - 90.0).abs() < 1e-6;
        across == (self == Axis::Crosswise)
    }
}

/// What one axis alone comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisTold {
    /// The axis.
    pub axis: Axis,
    /// Pieces without a place.
    pub left: usize,
    /// Sheets that pieces lie on.
    pub sheets: usize,
    /// The cut-off of the sheet used last.
    pub cut: Option<CutOff>,
}

/// The better layout, and what each axis alone comes to; nothing is told where no piece has a choice.
#[derive(Debug, Clone)]
pub struct Axes {
    /// The layout that was given, or that of one axis where it is better.
    pub layout: Layout,
    /// Each axis.
    pub told: Vec<AxisTold>,
}

/// Looks on while something is tried beside a lay.
struct Aside<'w>(&'w dyn Watch);

impl Watch for Aside<'_> {
    fn look(&self, progress: Progress) {
        self.0.look(Progress { stage: "each way alone", ..progress });
    }

    fn stop(&self) -> bool {
        self.0.stop()
    }
}

/// The effort with which one axis is tried beside a lay of this effort.
pub fn aside(effort: Effort) -> Effort {
    let floor = Effort::QUICK.evaluations;
    Effort { evaluations: (effort.evaluations / 8).clamp(floor / 2, MOST), ..effort }
}

/// Tries each axis alone beside a layout of the group.
pub fn axes(group: &Group, layout: Layout, effort: Effort, watch: &dyn Watch) -> Axes {
    let mut made = Axes { layout, told: Vec::new() };
    for axis in [Axis::Lengthwise, Axis::Crosswise] {
        let Some((narrow, stances)) = along(group, axis) else { continue };
        if watch.stop() {
            break;
        }
        let mut found = lay(&narrow, aside(effort), &Aside(watch));
        made.layout.spent += found.spent;
        if found.stopped {
            break;
        }
        made.told.push(told(axis, &narrow, &found));
        for placed in &mut found.placed {
            if let Some(list) = &stances[placed.piece] {
                placed.stance = list[placed.stance];
            }
        }
        if comes_before(group, &found, &made.layout) && proof::prove(group, &found).is_ok() {
            made.layout =
                Layout { spent: made.layout.spent, stopped: made.layout.stopped, ..found };
        }
    }
    made
}

fn told(axis: Axis, group: &Group, layout: &Layout) -> AxisTold {
    let left = layout.left.len();
    AxisTold { axis, left, sheets: sheets(layout), cut: last_cut_off(group, layout) }
}

fn sheets(layout: &Layout) -> usize {
    let used: std::collections::BTreeSet<usize> = layout.placed.iter().map(|p| p.ground).collect();
    used.len()
}

/// Whether a layout leaves less out, takes fewer sheets, or takes as many and is cut off clearly earlier.
fn comes_before(group: &Group, one: &Layout, other: &Layout) -> bool {
    let rank = |layout: &Layout| (layout.left.len(), sheets(layout));
    let length = |layout: &Layout| last_cut_off(group, layout).map_or(0.0, |cut| cut.share);
    let (a, b) = (rank(one), rank(other));
    a < b || (a == b && length(one) < length(other) - 1e-9)
}

/// For each piece, the stances it is left with, by their number in the whole group; none where it has no choice.
type Stances = Vec<Option<Vec<usize>>>;

/// The group with pieces that have a choice kept to one axis; none where no piece has one.
fn along(group: &Group, axis: Axis) -> Option<(Group, Stances)> {
    let mut made = group.clone();
    let mut stances: Stances = vec![None; group.pieces.len()];
    for (piece, kept) in made.pieces.iter_mut().zip(&mut stances) {
        let Turns::Fixed(list) = &piece.turns else { continue };
        let numbers: Vec<usize> = (0..list.len()).filter(|i| axis.has(&list[*i])).collect();
        if !numbers.is_empty() && numbers.len() < list.len() {
            piece.turns = Turns::Fixed(numbers.iter().map(|i| list[*i].clone()).collect());
            *kept = Some(numbers);
        }
    }
    stances.iter().any(Option::is_some).then_some((made, stances))
}
