//! The parallel curve of one loop, and the checks it must pass.
//!
//! One loop at a time: a cut whose loops would have to be merged means a web thinner than the kerf, and that is a
//! fault to report, not to paper over.

use super::flatten::{Side, flatten};
use super::loops::{GeomFault, GeomFaultKind, Loop};
use super::seg::Seg;
use super::tolerance::{NO_AREA, OFFSET};
use cavalier_contours::polyline::{PlineOffsetOptions, PlineSource, PlineSourceMut, Polyline};
use i_overlay::mesh::float::outline::offset::OutlineOffset;
use i_overlay::mesh::float::style::{LineJoin, OutlineStyle};
use kurbo::Point;
use std::f64::consts::PI;

/// What became of a loop.
#[derive(Debug, Clone, PartialEq)]
pub enum Offset {
    /// One loop, as wanted.
    Whole(Loop),
    /// Nothing left: it was narrower than twice the distance.
    Vanished,
    /// Several loops: it was pinched through at a narrow place.
    Pinched(Vec<Loop>),
}

/// The loop that runs `by` millimetres outside (positive) or inside (negative) of another.
///
/// A circle stays a circle. Every other result is compared with the source, point by point, and with the area that
/// another library gives for the flattened loop.
///
/// # Errors
/// Refuses a result that fails its checks.
pub fn offset(it: &Loop, by: f64) -> Result<Offset, GeomFault> {
    if by == 0.0 {
        return Ok(Offset::Whole(it.clone()));
    }
    if let Loop::Circle(center, radius) = it {
        return Ok(match Loop::circle(*center, radius + by) {
            Ok(whole) => Offset::Whole(whole),
            Err(_) => Offset::Vanished,
        });
    }
    let mut line = Polyline::new_closed();
    for seg in it.segs() {
        line.add(seg.a.x, seg.a.y, seg.bulge);
    }
    let options = PlineOffsetOptions {
        handle_self_intersects: false,
        pos_equal_eps: 1e-7,
        offset_dist_eps: 1e-6,
        ..PlineOffsetOptions::default()
    };
    // Positive is to the left there: inside for a loop that runs counter-clockwise.
    let found = line.parallel_offset_opt(-by, &options);
    let mut loops = Vec::new();
    for line in &found {
        let segs: Vec<Seg> = line
            .iter_segments()
            .map(|(v, w)| Seg { a: Point::new(v.x, v.y), b: Point::new(w.x, w.y), bulge: v.bulge })
            .collect();
        match Loop::chain(segs) {
            Ok(made) if made.area() > NO_AREA => loops.push(made),
            Ok(_) => {}
            Err(fault) if matches!(fault.kind, GeomFaultKind::NoArea | GeomFaultKind::TooFew) => {}
            Err(fault) => return Err(fault),
        }
    }
    confirm(it, by, &loops)?;
    Ok(match loops.len() {
        0 => Offset::Vanished,
        1 => Offset::Whole(loops.remove(0)),
        _ => Offset::Pinched(loops),
    })
}

/// Checks distance at points along every piece, and the whole area.
fn confirm(source: &Loop, by: f64, loops: &[Loop]) -> Result<(), GeomFault> {
    let from = source.segs();
    for seg in loops.iter().flat_map(Loop::segs) {
        for t in [0.0, 0.25, 0.5, 0.75] {
            let p = seg.at(t);
            let off = from.iter().map(|s| s.distance_to(p)).fold(f64::INFINITY, f64::min);
            if (off - by.abs()).abs() > OFFSET {
                return Err(GeomFault::new(GeomFaultKind::Unproven, p));
            }
        }
    }
    let area: f64 = loops.iter().map(Loop::area).sum();
    let other = area_by_polygons(source, by);
    if (area - other).abs() > 5e-4 * source.length() + 0.01 {
        return Err(GeomFault::new(GeomFaultKind::Unproven, source.start()));
    }
    Ok(())
}

/// The area of the parallel curve, worked out on chords by other code.
fn area_by_polygons(source: &Loop, by: f64) -> f64 {
    let points: Vec<[f64; 2]> =
        flatten(source, 2e-4, Side::Inside).iter().map(|p| [p.x, p.y]).collect();
    let style = OutlineStyle::new(by).line_join(LineJoin::Round(PI / 180.0));
    let shapes: Vec<Vec<Vec<[f64; 2]>>> = points.outline(&style);
    shapes.iter().flatten().map(|contour| twice_area(contour) / 2.0).sum::<f64>().abs()
}

fn twice_area(points: &[[f64; 2]]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| a[0] * b[1] - b[0] * a[1]).sum()
}
