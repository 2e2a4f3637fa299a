//! From a plan to the runs of a knife: contour by contour, each with the heading that the one before left.

use super::{Blade, KnifeFault, Pivot, Warning, pivot_along, pivot_round, sides_of_strip};
use crate::geom::{Loop, Rect, Seg};
use crate::plan::program::Run;
use crate::plan::{CutPlan, Layer, Stroke};

/// What a knife does to a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct KnifeRuns {
    /// The runs, in cutting order.
    pub runs: Vec<Run>,
    /// What may be done better, each with the address of its piece.
    pub warnings: Vec<(String, Warning)>,
}

/// The runs of a knife for the closed cuts of a plan, in its order, with what is to be told of each piece.
///
/// Long thin outlines are cut side by side, the long sides first; all else in one run. A run-in crosses no cut of the
/// plan. Nothing of a piece is cut after its outline, since the plan has its holes before. Marks are not for a knife.
///
/// # Units
/// Millimetres; `last_heading` in degrees, none where nothing is known of the blade.
///
/// # Errors
/// The address of a piece that cannot be cut with this blade, and why.
pub fn runs(
    plan: &CutPlan,
    blade: &Blade,
    last_heading: Option<f64>,
) -> Result<KnifeRuns, (String, KnifeFault)> {
    let cut = |s: &&Stroke| matches!(s.layer, Layer::Holes | Layer::Edges) && s.is_closed();
    let strokes: Vec<&Stroke> = plan.strokes.iter().filter(cut).collect();
    let lines: Vec<Vec<(Rect, Seg)>> = strokes
        .iter()
        .map(|s| s.segs().into_iter().map(|seg| (seg.bounds(), seg)).collect())
        .collect();
    let boxes: Vec<Rect> = lines
        .iter()
        .map(|l| l.iter().map(|(b, _)| *b).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO))
        .collect();
    let mut heading = last_heading;
    let (mut made, mut told) = (Vec::new(), Vec::new());
    for (own, stroke) in strokes.iter().enumerate() {
        let clear = |way: &Seg| {
            let room = way.bounds().inflate(blade.offset, blade.offset);
            (0..lines.len()).filter(|i| *i != own && boxes[*i].overlaps(room)).all(|i| {
                lines[i]
                    .iter()
                    .all(|(b, seg)| !b.overlaps(room) || seg.distance(way).0 > blade.offset)
            })
        };
        let of_piece = |fault| (stroke.address.clone(), fault);
        let mut take = |pivot: Pivot, heading: &mut Option<f64>| {
            *heading = Some(pivot.heading);
            told.extend(pivot.warnings.into_iter().map(|w| (stroke.address.clone(), w)));
            made.push(Run {
                stroke: stroke.number,
                layer: stroke.layer,
                address: stroke.address.clone(),
                pass: 1,
                steps: pivot.steps,
            });
        };
        let outside = stroke.layer == Layer::Edges;
        let line = contour(stroke, outside);
        if let (true, Some(sides)) = (outside, sides_of_strip(&line)) {
            for side in sides {
                let pivot = pivot_along(&side.line, blade, heading, &clear).map_err(of_piece)?;
                take(pivot, &mut heading);
            }
        } else {
            let pivot = pivot_round(&line, outside, blade, heading, &clear).map_err(of_piece)?;
            take(pivot, &mut heading);
        }
    }
    Ok(KnifeRuns { runs: made, warnings: told })
}

/// The line of a stroke, counter-clockwise as all loops are: holes are drawn the other way round.
fn contour(stroke: &Stroke, outside: bool) -> Loop {
    if let Some((center, radius)) = stroke.circle() {
        return Loop::Circle(center, radius);
    }
    let segs = stroke.segs();
    if outside {
        return Loop::Chain(segs);
    }
    Loop::Chain(segs.iter().rev().map(Seg::reversed).collect())
}
