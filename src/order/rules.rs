//! What the trade has published about how much to buy: yields, cloth by the yard, marks on skins.

use super::skins::SQ_FT;
use crate::material::Footage;

/// A yard (mm).
///
/// # Source
/// NIST SP 811, appendix B.
pub const YARD: f64 = 914.4;

/// A published share of what is bought that ends up in parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Yield {
    /// The share.
    pub share: f64,
    /// Of what it was said, in a few words.
    pub said: &'static str,
}

/// The published spread, least need first. Nearly all of it is about panels as large as those of a chair; nobody has
/// published a yield of small disks.
///
/// # Source
/// 0.82: a metre of cloth 1.37 m wide against 1.67 m² of hide (Glover Bros, guide for upholsterers). 0.67: about a
/// third lost (Keleen, hide diagram). 0.48: six panels of 24 in square from a hide of 50 sq ft (Cortina, cutting plan).
pub const SPREAD: [Yield; 3] = [
    Yield { share: 0.82, said: "a hide against the cloth it stands for" },
    Yield { share: 0.67, said: "a third of a hide is lost" },
    Yield { share: 0.48, said: "six panels of 24 in from 50 sq ft" },
];

/// Waste that is told of a skin whose rim is off: scars, soft and loose places (share).
///
/// # Source
/// 50 % prime, 40 % good, 10 % waste of kangaroo (David Morgan, *Kangaroo leather*); of other skins nobody has
/// published as much.
pub const WASTE: f64 = 0.10;
/// What is delivered may be so much less than what was ordered (share).
///
/// # Source
/// "Plus or minus 10 %" (Inter-Leather, terms of sale).
pub const SHORT: f64 = 0.10;

/// What must be bought for a net area at a yield.
pub fn gross(net: f64, share: f64) -> f64 {
    net / share
}

/// Area of a running yard of a cloth (sq ft) of a width (mm).
pub fn square_feet_per_yard(width: f64) -> f64 {
    width * YARD / SQ_FT
}

/// The least multiple of a step that is not less.
pub fn up_to(value: f64, step: f64) -> f64 {
    (value / step - 1e-9).ceil().max(0.0) * step
}

/// How many whole ones cover so much.
pub fn whole(value: f64) -> u32 {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "at least 0, capped"
    )]
    let count = (value - 1e-9).ceil().clamp(0.0, 1e9) as u32;
    count
}

/// An area (sq ft) as it is marked on skins, rounded up: `4/1` or `4.3`.
///
/// # Source
/// *Bookbinding and the Conservation of Books*, "footage": quarters in England, 4/1 for 4 1/4; tenths in the
/// United States. Some sellers write .1, .2, .3 for quarters, so that it must be asked.
pub fn footage_mark(sq_ft: f64, footage: Footage) -> String {
    let split = |parts: u32| {
        let all = whole(sq_ft * f64::from(parts));
        (all / parts, all % parts)
    };
    match footage {
        Footage::Quarters => {
            let (feet, quarters) = split(4);
            format!("{feet}/{quarters}")
        }
        Footage::Tenths => {
            let (feet, tenths) = split(10);
            format!("{feet}.{tenths}")
        }
    }
}

/// A number of quarter units in words: `1 3/4`.
pub fn quarters(value: f64) -> String {
    let all = whole(value * 4.0 - 1e-6);
    let (ones, rest) = (all / 4, all % 4);
    let part = ["", "1/4", "1/2", "3/4"][rest as usize];
    match (ones, part) {
        (_, "") => ones.to_string(),
        (0, part) => part.to_owned(),
        (ones, part) => format!("{ones} {part}"),
    }
}
