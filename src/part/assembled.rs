//! A part as it works, for the drawing: the side of a bellows open and shut, a cut through a pouch.
//!
//! All of it is worked out of the measures, true to size; nothing here is cut.

use super::measures::Measures;
use super::member::Dimension;
use super::{Kind, bellows, pouch};
use crate::geom::{Loop, Seg};

/// What a line of an [`Assembled`] stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineSort {
    /// Cloth or leather, seen from its edge.
    Skin,
    /// The same behind something else.
    Hidden,
    /// A fold.
    Fold,
    /// A card or a lifter, seen from its edge.
    Stiff,
    /// A line to measure from.
    Guide,
}

/// One view of a part as it works (mm).
#[derive(Debug, Clone, PartialEq)]
pub struct Assembled {
    /// What is shown: `side, fully open`.
    pub name: String,
    /// Boards.
    pub boards: Vec<Loop>,
    /// Lines, each a chain.
    pub lines: Vec<(LineSort, Vec<Seg>)>,
    /// Figures of the view.
    pub dimensions: Vec<Dimension>,
}

/// The views of a part as it works; none for kinds that are as flat in use as they are cut, and where the measures come to
/// nothing.
pub fn assembled(kind: Kind, measures: &Measures) -> Vec<Assembled> {
    match kind {
        Kind::Bellows => bellows::folded(measures),
        Kind::Pouch => pouch::section(measures).into_iter().collect(),
        _ => Vec::new(),
    }
}
