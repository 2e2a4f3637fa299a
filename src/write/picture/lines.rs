//! Dashes and hatching as real strokes, worked out by `lyon`: single precision, for pictures only.

use super::Dash;
use crate::geom::{Loop, Point, Seg};
use lyon::algorithms::hatching::{HatchSegment, Hatcher, HatchingOptions, RegularHatchingPattern};
use lyon::algorithms::measure::{PathMeasurements, SampleType};
use lyon::math::{Angle, point};
use lyon::path::{Event, Path};

/// How far a chord may stand off an arc in a picture (mm).
const CHORD: f64 = 0.01;
/// Strokes beyond this number are not worth drawing: the line is left solid.
const MOST_DASHES: f64 = 20_000.0;

/// A chain broken into dashes, from end to end in whole periods.
pub(super) fn dashed(segs: &[Seg], dash: Dash) -> Vec<Vec<Seg>> {
    let pattern = match dash {
        Dash::Solid => return vec![segs.to_vec()],
        Dash::Dashed(l) => vec![l, 0.7 * l],
        Dash::Chain(l) => vec![2.0 * l, 0.6 * l, 0.3 * l, 0.6 * l],
        Dash::Dotted(l) => vec![0.02, l],
    };
    let closed =
        matches!((segs.first(), segs.last()), (Some(a), Some(b)) if (a.a - b.b).hypot() < CHORD);
    let Some(path) = chords(segs) else {
        return vec![segs.to_vec()];
    };
    let measured = PathMeasurements::from_path(&path, 0.01);
    let length = f64::from(measured.length());
    let period: f64 = pattern.iter().sum();
    // An open line ends with a full stroke, a closed one with a full gap.
    let last_gap = pattern.last().copied().unwrap_or_default();
    let (run, tail) = if closed { (length, 0.0) } else { (length + last_gap, last_gap) };
    let periods = (run / period).round().max(1.0);
    if !(length > 0.0 && period > 0.0 && periods < MOST_DASHES) || (length < period && !closed) {
        return vec![segs.to_vec()];
    }
    let stretch = length / (periods * period - tail);
    let mut sampler = measured.create_sampler(&path, SampleType::Distance);
    let mut at = 0.0;
    let mut strokes = Vec::new();
    'line: loop {
        for pair in pattern.chunks(2) {
            let end = (at + pair[0] * stretch).min(length);
            if at >= length - 1e-3 {
                break 'line;
            }
            let mut built = Path::builder();
            sampler.split_range(single(at)..single(end), &mut built);
            strokes.extend(segs_of(&built.build()));
            at = end + pair[1] * stretch;
        }
    }
    strokes
}

/// Slanting lines all over a loop.
pub(in crate::write) fn hatched(it: &Loop, apart: f64, slant: f64) -> Vec<Vec<Seg>> {
    let bounds = it.bounds();
    if !(apart > 0.0 && bounds.width().hypot(bounds.height()) / apart < MOST_DASHES) {
        return Vec::new();
    }
    let Some(path) = chords(&it.segs()) else {
        return Vec::new();
    };
    let mut strokes = Vec::new();
    let mut options = HatchingOptions::tolerance(0.01).with_angle(Angle::degrees(single(slant)));
    options.compute_tangents = false;
    Hatcher::new().hatch_path(
        path.iter(),
        &options,
        &mut RegularHatchingPattern {
            interval: single(apart),
            callback: &mut |line: &HatchSegment| {
                let ends = [line.a.position, line.b.position];
                let [a, b] = ends.map(|p| Point::new(f64::from(p.x), f64::from(p.y)));
                if (a - b).hypot() > CHORD {
                    strokes.push(vec![Seg::line(a, b)]);
                }
            },
        },
    );
    strokes
}

/// The chain in chords, as lyon's path; nothing where there is nothing to draw.
fn chords(segs: &[Seg]) -> Option<Path> {
    let mut points: Vec<Point> = segs.first().map(|s| s.a).into_iter().collect();
    for seg in segs {
        if seg.is_line() {
            points.push(seg.b);
            continue;
        }
        let half = (1.0 - CHORD / seg.radius().max(CHORD)).acos().max(0.01);
        let n = (seg.sweep().abs() / (2.0 * half)).ceil().clamp(1.0, 720.0);
        let mut i = 1.0;
        while i <= n {
            points.push(seg.at(i / n));
            i += 1.0;
        }
    }
    points.dedup_by(|a, b| (*a - *b).hypot() < 1e-4);
    if points.len() < 2 || !points.iter().all(|p| p.x.is_finite() && p.y.is_finite()) {
        return None;
    }
    let mut built = Path::builder();
    built.begin(point(single(points[0].x), single(points[0].y)));
    for p in &points[1..] {
        built.line_to(point(single(p.x), single(p.y)));
    }
    built.end(false);
    Some(built.build())
}

fn segs_of(path: &Path) -> Vec<Vec<Seg>> {
    let mut chains = Vec::new();
    let mut chain = Vec::new();
    let wide = |p: lyon::math::Point| Point::new(f64::from(p.x), f64::from(p.y));
    for event in path {
        match event {
            Event::Line { from, to } => chain.push(Seg::line(wide(from), wide(to))),
            Event::End { .. } => chains.push(std::mem::take(&mut chain)),
            _ => {}
        }
    }
    chains
}

#[allow(clippy::cast_possible_truncation, reason = "pictures are single precision")]
fn single(value: f64) -> f32 {
    value as f32
}
