//! How much to buy: what a job's pieces measure, what the sheets in hand take, and what is left over laid on trial on
//! nominal skins, rolls and leaves.
//!
//! Takes wishes, one for each material: its record and the pieces of each machine with the sheets in hand. Gives an
//! [`OrderLine`] for each material and grade.
//!
//! Promises: pieces that fit on what is in hand are not bought again; low, likely and high come of trial lays by the
//! engine that lays in earnest, with a rule that is named; whole skins and leaves, and cloth in the step in which it is
//! cut off. A nominal skin is nobody's hide, and every line that used one says so. No price is made up. The same
//! wishes, effort and seed give the same lines.

mod line;
mod rules;
mod skins;
#[cfg(test)]
mod tests;
mod text;
mod trial;

pub use line::{Amount, Cover, Extent, OrderLine, Purchase};
pub use rules::{
    SHORT, SPREAD, WASTE, YARD, Yield, footage_mark, gross, quarters, square_feet_per_yard, up_to,
    whole,
};
pub use skins::{Form, Nominal, SQ_FT, fill, nominal, rims, size, usual_area};
pub use text::{counted, csv, letter, safe_cell, words};

use crate::geom::{Shape, Vec2, rectangle};
use crate::lay::{Effort, Group, Watch, lay};
use crate::material::Material;
use crate::part::{Address, Design, Needs, Piece, Turns};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The block of a coupon for the kerf (mm): 108 by 70, on a piece that is nowhere less than 100 across.
///
/// # Source
/// A test piece of 100 by 100 mm at least, of every material for every machine: common practice.
pub const COUPON: (f64, f64) = (108.0, 100.0);

/// What one machine is to cut of a material.
#[derive(Debug, Clone)]
pub struct Share {
    /// The machine's name.
    pub machine: String,
    /// The pieces, and the sheets in hand that may be used.
    pub group: Group,
    /// From the edge of a sheet to a piece's true line (mm).
    pub edge: f64,
    /// What the machine reaches at once (mm).
    pub reach: Vec2,
}

/// What is wanted of a material.
#[derive(Debug, Clone)]
pub struct Wish {
    /// Its record.
    pub material: Material,
    /// Machine by machine.
    pub shares: Vec<Share>,
}

/// The lines of an order, in the order of the wishes; of a material wanted in several grades the best grade first.
pub fn order_lines(wishes: &[Wish], effort: Effort, watch: &dyn Watch) -> Vec<OrderLine> {
    let mut taken = BTreeSet::new();
    wishes.iter().flat_map(|wish| lines_of(wish, effort, watch, &mut taken)).collect()
}

/// Pieces that belong on one line: those of a wish that ask for one grade.
#[derive(Debug, Default)]
struct Lot {
    all: Vec<Piece>,
    left: Vec<Piece>,
    coupons: u32,
}

fn lines_of(
    wish: &Wish,
    effort: Effort,
    watch: &dyn Watch,
    taken: &mut BTreeSet<String>,
) -> Vec<OrderLine> {
    let mut lots: BTreeMap<u8, Lot> = BTreeMap::new();
    let mut cover = Cover::default();
    let coupon_grade = wish
        .shares
        .iter()
        .flat_map(|share| &share.group.pieces)
        .map(grade_key)
        .max()
        .unwrap_or(u8::MAX);
    for (n, share) in wish.shares.iter().enumerate() {
        let mut group = share.group.clone();
        group.pieces.extend(coupon(n, &group));
        group.grounds.retain(|ground| !taken.contains(&ground.sheet.id));
        cover.sheets.extend(group.grounds.iter().map(|ground| ground.sheet.id.clone()));
        let mut open: BTreeSet<usize> = (0..group.pieces.len()).collect();
        if !group.grounds.is_empty() {
            for placed in lay(&group, effort, watch).placed {
                open.remove(&placed.piece);
                taken.insert(group.grounds[placed.ground].sheet.id.clone());
            }
        }
        for (i, piece) in group.pieces.iter().enumerate() {
            let is_coupon = i >= share.group.pieces.len();
            let lot = lots.entry(if is_coupon { coupon_grade } else { grade_key(piece) });
            let lot = lot.or_default();
            lot.coupons += u32::from(is_coupon);
            lot.all.push(piece.clone());
            if open.contains(&i) {
                lot.left.push(piece.clone());
            }
        }
    }
    lots.into_iter()
        .map(|(grade, lot)| {
            let grade = (grade < u8::MAX).then_some(grade);
            line::line(wish, (grade, &lot), &cover, effort, watch)
        })
        .collect()
}

/// The worst grade that a piece takes, none after all others.
fn grade_key(piece: &Piece) -> u8 {
    piece.needs.grade.unwrap_or(u8::MAX)
}

/// A coupon of the n-th machine, as a piece to be laid with the others.
fn coupon(n: usize, group: &Group) -> Option<Piece> {
    let outline = rectangle(crate::geom::Point::ORIGIN, COUPON.0, COUPON.1, 0.0).ok()?;
    let design = Design {
        shape: Shape::plain(outline),
        creases: Vec::new(),
        punches: Vec::new(),
        rounds: Vec::new(),
    };
    Some(Piece {
        address: Address {
            part: "coupon".to_owned(),
            position: u32::try_from(n + 1).ok()?,
            member: None,
            spare: 0,
        },
        size: group.pieces.iter().map(|piece| piece.size + 1).max().unwrap_or(0),
        turns: Turns::Free(Arc::new(design)),
        face: None,
        soft: false,
        needs: Needs::default(),
    })
}
