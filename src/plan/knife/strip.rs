//! Long thin pieces: both long sides first, then the short ones, so that the piece is held until it is nearly free.

use super::{Blade, angle};
use crate::geom::{Loop, Seg};

/// A corner turns by at least so much (degrees).
const CORNER: f64 = 45.0;
/// A piece is long and thin where each long side is so many times as long as each short one: a starting guess.
const LONG: f64 = 4.0;

/// One side of a strip, to be cut as a run of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// Its line, the piece on the left.
    pub line: Vec<Seg>,
    /// Whether it is one of the two long ones.
    pub long: bool,
}

impl Side {
    fn length(&self) -> f64 {
        self.line.iter().map(Seg::length).sum()
    }
}

/// The sides of a long thin outline in cutting order, the two long ones first; none where it is no such outline.
///
/// Every side runs from corner to corner, and each is cut from the waste into the waste: the piece hangs on both its
/// ends until the last side, and what is cut last is as short as can be.
pub fn sides_of_strip(outline: &Loop) -> Option<Vec<Side>> {
    let Loop::Chain(segs) = outline else { return None };
    let n = segs.len();
    let corners: Vec<usize> = (0..n)
        .filter(|&i| {
            let before = segs[(i + n - 1) % n].direction(1.0);
            angle(before, segs[i].direction(0.0)) >= CORNER.to_radians()
        })
        .collect();
    if corners.len() != 4 {
        return None;
    }
    let mut sides: Vec<Side> = (0..4)
        .map(|k| {
            let (from, to) = (corners[k], corners[(k + 1) % 4]);
            let count = (to + n - from) % n;
            let line = (0..count).map(|i| segs[(from + i) % n]).collect();
            Side { line, long: false }
        })
        .collect();
    if sides[1].length() > sides[0].length() {
        sides.rotate_left(1);
    }
    let least = sides[0].length().min(sides[2].length());
    let most = sides[1].length().max(sides[3].length());
    if least < LONG * most {
        return None;
    }
    for side in [0, 2] {
        sides[side].long = true;
    }
    sides.swap(1, 2);
    Some(sides)
}

/// An outline parted at its sharp outside corners, for a blade that cannot be raised a little to turn there: each line runs
/// out into the waste, and the next comes from there. None where there is no such corner, or the blade can be raised.
pub(super) fn sharp_sides(outline: &Loop, blade: &Blade) -> Option<Vec<Vec<Seg>>> {
    let Loop::Chain(segs) = outline else { return None };
    if blade.shallow {
        return None;
    }
    let n = segs.len();
    let sharp = |i: &usize| {
        let before = segs[(i + n - 1) % n].direction(1.0);
        angle(before, segs[*i].direction(0.0)) > blade.lift_over.to_radians()
    };
    let corners: Vec<usize> = (0..n).filter(sharp).collect();
    if corners.is_empty() {
        return None;
    }
    let lines = corners.iter().enumerate().map(|(k, &from)| {
        let to = corners[(k + 1) % corners.len()];
        let count = if corners.len() == 1 { n } else { (to + n - from) % n };
        (0..count).map(|i| segs[(from + i) % n]).collect()
    });
    Some(lines.collect())
}
