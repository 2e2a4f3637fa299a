//! A stroke as the chains it leaves on the sheet, coordinates as a file holds them.

use super::number::as_written;
use crate::geom::{Point, Seg, tolerance};
use crate::plan::{Motion, Stroke};

/// The pieces of a stroke between two rapids, ends rounded to the file's last figure; pieces that vanish there go.
pub(super) fn chains(stroke: &Stroke) -> Vec<Vec<Seg>> {
    let mut chains: Vec<Vec<Seg>> = Vec::new();
    let mut run: Vec<Seg> = Vec::new();
    let mut at = Point::ORIGIN;
    let single = |motion: &Motion, at: Point| {
        Stroke {
            layer: stroke.layer,
            address: String::new(),
            number: 0,
            motions: vec![Motion::Rapid(at), *motion],
        }
        .segs()
    };
    for motion in &stroke.motions {
        if let Motion::Rapid(to) = motion {
            if !run.is_empty() {
                chains.push(std::mem::take(&mut run));
            }
            at = *to;
            continue;
        }
        for seg in single(motion, at) {
            at = seg.b;
            let (a, b) = (rounded(seg.a), rounded(seg.b));
            if a != b {
                run.push(Seg { a, b, bulge: seg.bulge });
            }
        }
    }
    if !run.is_empty() {
        chains.push(run);
    }
    chains
}

/// Whether a chain ends where it began, as written.
pub(super) fn is_closed(chain: &[Seg]) -> bool {
    match (chain.first(), chain.last()) {
        (Some(first), Some(last)) => chain.len() > 1 && first.a == last.b,
        _ => false,
    }
}

fn rounded(p: Point) -> Point {
    Point::new(as_written(p.x), as_written(p.y))
}

/// Whether an arc is so flat that a file cannot tell it from a line.
pub(super) fn is_flat(seg: &Seg) -> bool {
    seg.bulge.abs() * seg.chord().hypot() / 2.0 < tolerance::WRITTEN / 2.0
}

/// An arc in pieces of at most a quarter turn, their common ends rounded as a file holds them.
///
/// The place of an arc given by its ends and radius hangs on the last figure of the radius, the more the nearer it
/// comes to half a turn: at a quarter turn an end that is out by 1e-4 mm moves the arc by about as much, at half a
/// turn of radius 10 mm by 0.03 mm.
pub(super) fn quarters(seg: &Seg) -> Vec<Seg> {
    // The bulge of a quarter turn, with room for rounding.
    const QUARTER: f64 = 0.414_213_562_373_095 + 1e-9;
    if seg.bulge.abs() <= QUARTER {
        return vec![*seg];
    }
    let middle = rounded(seg.at(0.5));
    if middle == seg.a || middle == seg.b {
        return vec![*seg];
    }
    let half = (seg.bulge.atan() / 2.0).tan();
    let mut pieces = quarters(&Seg::arc(seg.a, middle, half));
    pieces.extend(quarters(&Seg::arc(middle, seg.b, half)));
    pieces
}
