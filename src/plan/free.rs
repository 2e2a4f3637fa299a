//! The plan of a drawing in another order: the freest for a program, or one that gives heat time.

use super::order::{Stop, holders, order};
use super::{CutPlan, Layer, Motion, Stroke};
use crate::geom::{Loop, Point, Seg, tolerance};
use crate::machine::HeldSide;
use std::collections::{BTreeMap, BTreeSet};

/// Depth of a band from the held side (mm).
///
/// # Source
/// A starting guess of our own.
const BAND: f64 = 80.0;

/// The closed cuts of a plan: for each the place of its stroke, and its line with a start anywhere on it.
pub fn cuts(plan: &CutPlan) -> Vec<(usize, Stop)> {
    let closed = |s: &Stroke| matches!(s.layer, Layer::Holes | Layer::Edges) && s.is_closed();
    let strokes = plan.strokes.iter().enumerate().filter(|(_, s)| closed(s));
    strokes
        .map(|(i, stroke)| {
            let line = stroke.circle().map_or_else(
                || Loop::Chain(stroke.segs()),
                |(center, radius)| Loop::Circle(center, radius),
            );
            (i, Stop { line, anywhere: true })
        })
        .collect()
}

/// The same plan in the freest order: what lies inside before what it lies in, the way between as short as can be,
/// starts anywhere on the contours. Layers take turns; a drawing keeps them together, a program need not.
#[must_use]
pub fn free_order(plan: &CutPlan) -> CutPlan {
    let cuts = cuts(plan);
    let stops: Vec<Stop> = cuts.iter().map(|(_, stop)| stop.clone()).collect();
    let turns = order(&stops, Point::ORIGIN);
    let turns: Vec<(usize, Point)> =
        turns.into_iter().map(|(i, start)| (cuts[i].0, start)).collect();
    reordered(plan, &turns)
}

/// The same plan for a sheet that is held on one side only: what lies far from that side is cut first, band by band, so
/// that what is between the knife and the held side is still whole and takes its pull.
///
/// # Source
/// Common practice: farthest from the clamp first.
#[must_use]
pub fn held_order(plan: &CutPlan, held: HeldSide) -> CutPlan {
    let cuts = cuts(plan);
    let stops: Vec<Stop> = cuts.iter().map(|(_, stop)| stop.clone()).collect();
    let holders = holders(&stops);
    // What lies in one outline goes with it.
    let outermost = |mut i: usize| {
        while let Some(holder) = holders[i] {
            i = holder;
        }
        i
    };
    let off = |i: usize| {
        let middle = stops[outermost(i)].line.bounds().center();
        held.off(middle.x, middle.y)
    };
    let nearest = (0..stops.len()).map(off).fold(f64::INFINITY, f64::min);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few bands")]
    let band = |i: usize| ((off(i) - nearest) / BAND).floor() as u32;
    let mut bands: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for i in 0..stops.len() {
        bands.entry(band(i)).or_default().push(i);
    }
    let mut at = Point::ORIGIN;
    let mut turns = Vec::with_capacity(stops.len());
    for of_band in bands.into_values().rev() {
        let own: Vec<Stop> = of_band.iter().map(|i| stops[*i].clone()).collect();
        for (k, start) in order(&own, at) {
            turns.push((cuts[of_band[k]].0, start));
            at = start;
        }
    }
    reordered(plan, &turns)
}

/// The same plan with its closed cuts in another order: places among the strokes, each with its start.
///
/// Marks, dots and the rule stay before all cuts; strokes are numbered anew.
#[must_use]
pub fn reordered(plan: &CutPlan, turns: &[(usize, Point)]) -> CutPlan {
    let moved: BTreeSet<usize> = turns.iter().map(|(i, _)| *i).collect();
    let mut strokes: Vec<Stroke> = plan
        .strokes
        .iter()
        .enumerate()
        .filter(|(i, _)| !moved.contains(i))
        .map(|(_, stroke)| stroke.clone())
        .collect();
    strokes.extend(turns.iter().filter_map(|(i, start)| {
        let stroke = plan.strokes.get(*i)?;
        Some(Stroke { motions: begun_at(stroke, *start), ..stroke.clone() })
    }));
    let mut numbers: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
    for (stroke, number) in strokes.iter_mut().zip(1..) {
        stroke.number = number;
        numbers.entry(&stroke.address).or_default().push(number);
    }
    let mut rows = plan.rows.clone();
    for row in &mut rows {
        row.strokes = numbers.remove(row.address.as_str()).unwrap_or_default();
    }
    CutPlan { strokes, rows, ..plan.clone() }
}

/// The motions of a closed stroke from a start on it, run the same way round.
fn begun_at(stroke: &Stroke, start: Point) -> Vec<Motion> {
    if let [Motion::Rapid(_), Motion::Circle(center, radius, clockwise)] = stroke.motions[..] {
        return vec![Motion::Rapid(start), Motion::Circle(center, radius, clockwise)];
    }
    let mut segs = stroke.segs();
    let near =
        |a: &usize, b: &usize| segs[*a].distance_to(start).total_cmp(&segs[*b].distance_to(start));
    let Some(first) = (0..segs.len()).min_by(near) else { return stroke.motions.clone() };
    segs.rotate_left(first);
    let (before, behind) = parted(&segs[0], start);
    segs.splice(0..1, behind);
    segs.extend(before);
    let mut motions = vec![Motion::Rapid(segs.first().map_or(start, |s| s.a))];
    motions.extend(
        segs.iter()
            .map(|s| if s.is_line() { Motion::Line(s.b) } else { Motion::Arc(s.b, s.bulge) }),
    );
    motions
}

/// A piece parted at a point of it; nothing where a part would be too short to be written.
fn parted(seg: &Seg, at: Point) -> (Option<Seg>, Option<Seg>) {
    let least = 10.0 * tolerance::WRITTEN;
    if (at - seg.a).hypot() < least {
        return (None, Some(*seg));
    }
    if (at - seg.b).hypot() < least {
        return (Some(*seg), None);
    }
    if seg.is_line() {
        return (Some(Seg::line(seg.a, at)), Some(Seg::line(at, seg.b)));
    }
    let (first, whole) = (seg.at(0.0) - seg.center(), seg.sweep());
    let here = at - seg.center();
    let turned = first.cross(here).atan2(first.dot(here)).abs() * whole.signum();
    let arc = |a, b, sweep: f64| Some(Seg::arc(a, b, (sweep / 4.0).tan()));
    (arc(seg.a, at, turned), arc(at, seg.b, whole - turned))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Row;

    fn stroke(layer: Layer, address: &str, motions: Vec<Motion>) -> Stroke {
        Stroke { layer, address: address.to_owned(), number: 0, motions }
    }

    fn plate(x: f64, address: &str) -> [Stroke; 2] {
        let p = |dx: f64, y: f64| Point::new(x + dx, y);
        let hole = vec![Motion::Rapid(p(8.0, 5.0)), Motion::Circle(p(5.0, 5.0), 3.0, true)];
        let edge = vec![
            Motion::Rapid(p(0.0, 0.0)),
            Motion::Line(p(10.0, 0.0)),
            Motion::Arc(p(10.0, 10.0), 0.5),
            Motion::Line(p(0.0, 10.0)),
            Motion::Line(p(0.0, 0.0)),
        ];
        [stroke(Layer::Holes, address, hole), stroke(Layer::Edges, address, edge)]
    }

    fn plan() -> CutPlan {
        let [one, two, three] = [plate(0.0, "a:1"), plate(40.0, "a:2"), plate(80.0, "a:3")];
        let rule = vec![Motion::Rapid(Point::ORIGIN), Motion::Line(Point::new(100.0, 0.0))];
        let mut strokes = vec![stroke(Layer::Rule, "", rule)];
        for k in [0, 1] {
            strokes.extend([&two, &one, &three].map(|plate: &[Stroke; 2]| plate[k].clone()));
        }
        let row = |address: &str| Row {
            address: address.to_owned(),
            x: 0.0,
            y: 0.0,
            turn: 0.0,
            mirrored: false,
            strokes: Vec::new(),
            size: (13.0, 10.0),
            area: 100.0,
            punches: Vec::new(),
        };
        CutPlan {
            sheet: "H-1".to_owned(),
            generation: 0,
            material: "skin".to_owned(),
            machine: "laser".to_owned(),
            process: "laser",
            kerf: (0.1, 0.1),
            strokes,
            rows: ["a:1", "a:2", "a:3"].map(row).to_vec(),
            page: (120.0, 20.0),
            window: None,
            dots: Vec::new(),
            warnings: Vec::new(),
            cautions: Vec::new(),
        }
    }

    #[test]
    fn a_free_order_cuts_the_same_lines() {
        let (drawn, free) = (plan(), free_order(&plan()));
        let told: Vec<(Layer, &str)> =
            free.strokes.iter().map(|s| (s.layer, s.address.as_str())).collect();
        let (hole, edge) = (Layer::Holes, Layer::Edges);
        assert_eq!(
            told,
            [
                (Layer::Rule, ""),
                (hole, "a:1"),
                (edge, "a:1"),
                (hole, "a:2"),
                (edge, "a:2"),
                (hole, "a:3"),
                (edge, "a:3"),
            ]
        );
        assert_eq!(free.rows[1].strokes, [4, 5]);
        assert!((free.cut_length() - drawn.cut_length()).abs() < 1e-9);
        for stroke in &free.strokes[1..] {
            assert!(stroke.is_closed());
            let same = |s: &&Stroke| s.layer == stroke.layer && s.address == stroke.address;
            let old = drawn.strokes.iter().find(same).unwrap();
            for seg in stroke.segs() {
                for share in [0.0, 0.3, 0.8] {
                    let p = seg.at(share);
                    let off = old.segs().iter().map(|s| s.distance_to(p)).fold(1.0, f64::min);
                    assert!(off < 1e-6, "{off}");
                }
            }
        }
    }

    #[test]
    fn a_start_within_an_arc_parts_it() {
        let [_, edge] = plate(0.0, "a:1");
        let arc = edge.segs()[1];
        let at = arc.at(0.3);
        let moved = Stroke { motions: begun_at(&edge, at), ..edge.clone() };
        let segs = moved.segs();
        assert_eq!(segs.len(), 5);
        assert!((segs[0].a - at).hypot() < 1e-12 && moved.is_closed());
        assert!((segs[0].radius() - arc.radius()).abs() < 1e-9);
        assert!((segs[0].length() + segs[4].length() - arc.length()).abs() < 1e-9);
    }
}
