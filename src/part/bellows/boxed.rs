//! The cloth round two parallel boards, in one or more pleats.

use super::wedge::{Corner, Manner};
use crate::geom::{GeomFault, Loop, Point, Seg};

/// Parallel boards at their full opening.
#[derive(Debug, Clone, Copy)]
pub(super) struct Box {
    pub(super) length: f64,
    pub(super) width: f64,
    pub(super) board: f64,
    /// Opening between the boards.
    pub(super) inside: f64,
    pub(super) pleats: u32,
}

impl Box {
    /// Height of one pleat.
    pub(super) fn fold(&self) -> f64 {
        self.inside / f64::from(self.pleats)
    }

    /// Middle of the strip to one of its ends.
    pub(super) fn half_length(&self, overlap: f64) -> f64 {
        self.width / 2.0 + self.length + (self.width + overlap) / 2.0
    }
}

/// The strip without its trim, its middle in the middle of one end's panel.
pub(super) fn strip(it: &Box, overlap: f64) -> Result<Loop, GeomFault> {
    let (end, half) = (it.half_length(overlap), it.inside / 2.0 + it.board);
    let p = Point::new;
    Loop::polygon(&[p(-end, -half), p(end, -half), p(end, half), p(-end, half)])
}

/// The folds of the strip.
pub(super) fn creases(it: &Box, corner: &Corner, overlap: f64) -> Vec<Seg> {
    let p = Point::new;
    let (end, half, fold) = (it.half_length(overlap), it.inside / 2.0, it.fold());
    let near = it.width / 2.0;
    let corners = [-near - it.length, -near, near, near + it.length];
    let mut lines = Vec::new();
    if corner.manner != Manner::Outward {
        for x in corners {
            lines.push(Seg::line(p(x, -half), p(x, half)));
        }
    }
    let (along_side, along_end) =
        (corner.along_side(fold / 2.0, 0.0), corner.along_end(fold / 2.0));
    for n in 0..it.pleats {
        let middle = (f64::from(n) + 0.5) * fold - half;
        lines.push(Seg::line(p(-end, middle), p(end, middle)));
        if n > 0 {
            lines.push(Seg::line(p(-end, middle - fold / 2.0), p(end, middle - fold / 2.0)));
        }
        for (k, x) in corners.into_iter().enumerate() {
            // The side panels lie between the first two corner lines and between the last two.
            let to_side = if k % 2 == 0 { 1.0 } else { -1.0 };
            for up in [-fold / 2.0, fold / 2.0] {
                let mut crease = |to: f64| {
                    lines.push(Seg::line(p(x, middle + up), p(to, middle)));
                };
                if corner.manner != Manner::TuckInEnd {
                    crease(x + to_side * along_side);
                }
                if corner.manner != Manner::TuckInSide {
                    crease(x - to_side * along_end);
                }
            }
        }
    }
    lines
}
