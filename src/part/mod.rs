//! The kinds of part: from what was measured to the shape that is cut, with the sum shown.
//!
//! Takes [`Measures`], the figures of one position of one part, each with its place in the user's files.
//! Gives [`Member`]s: shapes at true size in millimetres, x along the part, with creases, punch centres, the sum
//! of every size, and figures for the drawing. Knows no machine, no sheet and no file format.
//!
//! A new kind is one file here (its keys and `develop`) and one row in [`KINDS`] with its name in [`Kind`].

mod arcs;
mod assembled;
mod bellows;
mod bushing;
mod card;
mod column;
mod dips;
mod dish;
mod disk;
mod facing;
mod flap;
mod gasket;
mod gusset;
mod hinge;
mod holes;
mod measures;
mod member;
mod mute;
mod outline;
mod pallet;
mod panel;
mod piece;
mod pitch;
mod pouch;
mod spacer;
mod strip;
mod sum;
mod travel;
#[cfg(test)]
mod trial;

pub use assembled::{Assembled, LineSort, assembled};
pub use column::{Cell, Column, Stand, standing};
pub use measures::{Key, Measures, Takes, Value};
pub use member::{Developed, Dimension, Figure, Member, MemberName, Punch, Term, TermRole};
pub use piece::{
    Address, Design, Grain, Needs, Part, Piece, Positions, Size, Spares, Stance, StretchUse,
    TOGETHER_APART, Turns, pieces,
};
pub use travel::{
    Aim, Balance, Choice, Paper, TRAVEL_KEYS, Travel, USUAL_TRAVEL, WITHIN, balance, choose,
};

use std::fmt;

/// A kind of part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Thin leather over a well, sagging by its dip.
    Pouch,
    /// The leather on a valve's seat side, one or two to a valve.
    Facing,
    /// A plate with holes.
    Gasket,
    /// A long strip, with slots if wanted.
    Strip,
    /// A strip that folds along a crease.
    Hinge,
    /// The cloth round a wedge of two boards.
    Bellows,
    /// A plain disk.
    Disk,
    /// A disk with a hole.
    Ring,
    /// Papers that make up a gap.
    Spacer,
    /// A flap valve over a row of ports.
    Flap,
    /// The leather of a pallet, and its felt.
    Pallet,
    /// A strip before a row of openings.
    Mute,
    /// A strip that lines a round hole.
    Bushing,
    /// A stiffener for a panel of a bellows.
    Card,
    /// The leather corner between two ribs.
    Gusset,
    /// A part whose line was traced, or typed corner by corner.
    Outline,
}

/// Pieces of another material that belong to a part: the cards of a bellows, the lifter of a pouch.
///
/// In the job they are a table of the part, `[part.card]`, with a material and a machine of their own; their members
/// carry its name. Without the table they are not cut.
#[derive(Debug)]
pub struct Companion {
    /// The name of the table and of its members.
    pub name: &'static str,
    /// What it is, in a few words.
    pub about: &'static str,
    /// The measures it takes besides material, machine, face, grain, stretch and spares.
    pub keys: &'static [Key],
    /// Whether it lies along the threads of woven stuff unless the job says otherwise.
    pub lengthwise: bool,
    /// The measure, if any, that is the thickness of its material.
    pub thickness_key: Option<&'static str>,
}

/// A kind's name, what it is for, its keys and how it is worked out.
#[derive(Debug)]
pub struct KindCard {
    /// The kind.
    pub kind: Kind,
    /// The name as it is typed.
    pub name: &'static str,
    /// What it is, in one line.
    pub about: &'static str,
    /// The measures it takes.
    pub keys: &'static [Key],
    /// Pieces of other materials that may belong to it.
    pub companions: &'static [Companion],
    /// Whether it lies along the threads of woven stuff unless the job says otherwise.
    pub lengthwise: bool,
    /// Whether its length always lies the way the material gives least, whatever the job says.
    pub taut: bool,
    /// The measure, if any, that is the thickness of its material.
    pub thickness_key: Option<&'static str>,
    /// From measures to shapes.
    pub develop: fn(&Measures) -> Developed,
}

/// Every kind, in the order in which help lists them.
pub const KINDS: &[KindCard] = &[
    pouch::CARD,
    facing::CARD,
    gasket::CARD,
    strip::CARD,
    hinge::CARD,
    bellows::CARD,
    disk::DISK,
    disk::RING,
    spacer::CARD,
    flap::CARD,
    pallet::CARD,
    mute::CARD,
    bushing::CARD,
    card::CARD,
    gusset::CARD,
    outline::CARD,
];

impl Kind {
    /// The kind of a name.
    pub fn named(name: &str) -> Option<Kind> {
        KINDS.iter().find(|card| card.name == name).map(|card| card.kind)
    }

    /// Its card.
    ///
    /// Every kind has one: a test walks them all.
    pub fn card(self) -> &'static KindCard {
        KINDS.iter().find(|card| card.kind == self).unwrap_or(&KINDS[0])
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.card().name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_its_own_card() {
        for card in KINDS {
            assert_eq!(Kind::named(card.name), Some(card.kind));
            assert_eq!(card.kind.card().name, card.name);
        }
    }

    /// A companion's table and a key of the same name could not both be typed.
    #[test]
    fn companions_do_not_hide_keys() {
        for card in KINDS {
            for companion in card.companions {
                assert!(card.keys.iter().all(|key| key.name != companion.name), "{}", card.name);
            }
        }
    }
}
