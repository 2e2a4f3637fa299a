//! How a material is bought: whole skins, cloth off the roll, leaves.

use super::{Face, Source, Tannage, name_of};
use crate::fault::Place;
use crate::units::{Area, Length};

/// What animal a skin is of, as far as its outline goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Skin {
    /// A whole hide of a cow.
    Cow,
    /// Half a hide of a cow, cut along the backbone.
    CowSide,
    /// A calf's.
    Calf,
    /// A goat's, a kid's.
    Goat,
    /// A sheep's, a hair sheep's, a lamb's.
    Sheep,
    /// A kangaroo's.
    Kangaroo,
}

impl Skin {
    /// Names as they are typed.
    pub const NAMES: &'static [(&'static str, Skin)] = &[
        ("cow", Skin::Cow),
        ("cow side", Skin::CowSide),
        ("calf", Skin::Calf),
        ("goat", Skin::Goat),
        ("sheep", Skin::Sheep),
        ("kangaroo", Skin::Kangaroo),
    ];

    /// The name as it is typed.
    pub fn name(self) -> &'static str {
        name_of(Skin::NAMES, self)
    }
}

/// How a seller marks the area on a skin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Footage {
    /// `4/1` is 4 1/4 square feet.
    Quarters,
    /// `4.3` is 4 and 3 tenths of a square foot.
    Tenths,
}

impl Footage {
    /// Names as they are typed.
    pub const NAMES: &'static [(&'static str, Footage)] =
        &[("quarters", Footage::Quarters), ("tenths", Footage::Tenths)];
}

/// What a price is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Per {
    /// One skin or one leaf.
    Each,
    /// So much area (mm²).
    Area(f64),
    /// So much length off the roll (mm).
    Length(f64),
}

/// The last price that was paid or quoted.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// How much, in the currency below.
    pub amount: f64,
    /// The currency, as it was written.
    pub currency: String,
    /// For how much stuff.
    pub per: Per,
    /// As it was written.
    pub text: String,
    /// Where it stands.
    pub place: Place,
    /// Where it came from.
    pub source: Source,
}

/// In what it is sold.
#[derive(Debug, Clone, PartialEq)]
pub enum Goods {
    /// Whole skins.
    Skins {
        /// Of what animal.
        skin: Skin,
        /// The usual area of one; none: as published for that animal.
        area: Option<Area>,
        /// How the seller marks it; none: not known, and never guessed.
        footage: Option<Footage>,
    },
    /// Cloth off the roll.
    Roll {
        /// From selvedge to selvedge.
        width: Length,
        /// What is lost along either side; none: taken to be [`SELVEDGE_MM`].
        selvedge: Option<Length>,
        /// The least step in which it is cut off; none: a quarter of a yard.
        by: Option<Length>,
    },
    /// Leaves of one size.
    Leaves {
        /// Across.
        width: Length,
        /// Along.
        length: Length,
    },
}

/// What a selvedge takes on either side where nobody has measured it (mm): half an inch.
///
/// # Source
/// Assumed. What can be cut is always less than the bolt's width: common practice.
pub const SELVEDGE_MM: f64 = 12.7;

/// How a material is bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Buy {
    /// In what.
    pub goods: Goods,
    /// The last price.
    pub price: Option<Price>,
    /// How it should be tanned, where that is not what the record says.
    pub tannage: Option<Tannage>,
    /// Which side matters.
    pub side: Option<Face>,
    /// Where the table stands.
    pub place: Place,
}
