//! The twin of the search's kernel: the same question answered by brute force between true lines and arcs.
//!
//! The proof measures with these functions. [`Twin`] puts them behind the trait of the kernel, so that either can be asked
//! where the other has answered.

#[cfg(test)]
use super::super::kernel::{Body, Clear};
use super::super::touching;
use crate::geom::{Loop, Point, Rect, Seg, Shape, loop_distance, shape_distance, tolerance};
#[cfg(test)]
use crate::geom::{Where, point_in_loop};
#[cfg(test)]
use crate::sheet::Sheet;
#[cfg(test)]
use std::sync::Arc;

/// One piece at one turn among others on a sheet, as the proof sees it; asked in tests, beside the search's kernel.
#[cfg(test)]
pub(crate) struct Twin<'a> {
    /// The piece, and the body that says where its point lies in it.
    pub(crate) piece: (&'a Shape, &'a Body),
    pub(crate) sheet: &'a Arc<Sheet>,
    /// How far it stays from edge and flaws (mm).
    pub(crate) edge: f64,
    /// How far it stays from the others (mm).
    pub(crate) apart: f64,
    /// The others in their places.
    pub(crate) others: &'a [Shape],
}

#[cfg(test)]
impl Clear for Twin<'_> {
    fn clearance(&self, p: Point) -> f64 {
        let shape = self.piece.0.posed(&self.piece.1.pose_at(p));
        let outline = shape.outline();
        let rim = rim_of(&self.sheet.outline);
        let (off, _) =
            rim_distance(outline, shape.bounds(), &self.sheet.outline, &rim, f64::INFINITY);
        let inside = point_in_loop(outline.start(), &self.sheet.outline) == Where::Inside;
        let from_edge = if inside { off - self.edge } else { -off - self.edge };
        let flaws = self.sheet.flaws.iter().map(|flaw| {
            distance(&shape, &Shape::plain(flaw.outline.clone()), self.edge).0 - self.edge
        });
        let others =
            self.others.iter().map(|other| distance(&shape, other, self.apart).0 - self.apart);
        flaws.chain(others).fold(from_edge, f64::min)
    }
}

/// The sides of a sheet's outline with the boxes around them.
pub(super) fn rim_of(outline: &Loop) -> Vec<(Rect, Seg)> {
    outline.segs().into_iter().map(|s| (s.bounds(), s)).collect()
}

/// Distance between two shapes; endlessly negative where they overlap though they might touch.
pub(super) fn distance(one: &Shape, two: &Shape, wanted: f64) -> (f64, Point) {
    let (off, at) = shape_distance(one, two);
    if wanted <= tolerance::SLACK && off <= tolerance::SLACK && touching::overlap(one, two) {
        return (f64::NEG_INFINITY, at);
    }
    (off, at)
}

/// How far two boxes are apart (mm).
pub(super) fn box_gap(a: Rect, b: Rect) -> f64 {
    let dx = (b.x0 - a.x1).max(a.x0 - b.x1).max(0.0);
    let dy = (b.y0 - a.y1).max(a.y0 - b.y1).max(0.0);
    dx.hypot(dy)
}

/// Distance from a piece's outline to the rim of its sheet, where it is less than `limit`.
pub(super) fn rim_distance(
    outline: &Loop,
    bounds: Rect,
    sheet: &Loop,
    rim: &[(Rect, Seg)],
    limit: f64,
) -> (f64, Point) {
    if sheet.as_circle().is_some() {
        return loop_distance(outline, sheet);
    }
    let near: Vec<&(Rect, Seg)> =
        rim.iter().filter(|(b, _)| box_gap(*b, bounds) <= limit).collect();
    let mut best = (f64::INFINITY, outline.start());
    for seg in outline.segs() {
        let own = seg.bounds();
        for (b, side) in &near {
            if box_gap(*b, own) < best.0 {
                let found = seg.distance(side);
                if found.0 < best.0 {
                    best = found;
                }
            }
        }
    }
    best
}
