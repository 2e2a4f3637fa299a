//! What a chain of pieces must pass before it may call itself a loop.

use super::loops::{GeomFault, GeomFaultKind, Loop};
use super::seg::Seg;
use super::tolerance::{FAR, SAME_POINT};
use kurbo::Point;

/// Refuses a point that is not a number or too far away.
pub(super) fn finite(p: Point) -> Result<(), GeomFault> {
    if p.x.is_finite() && p.y.is_finite() && p.x.abs() < FAR && p.y.abs() < FAR {
        Ok(())
    } else {
        Err(GeomFault::new(GeomFaultKind::NotFinite, Point::ORIGIN))
    }
}

/// Checks figures and closure, drops pieces of no length, joins ends exactly.
pub(super) fn tidy(segs: Vec<Seg>) -> Result<Vec<Seg>, GeomFault> {
    for seg in &segs {
        finite(seg.a)?;
        finite(seg.b)?;
        if !seg.bulge.is_finite() || seg.bulge.abs() > 1.0 + 1e-9 {
            return Err(GeomFault::new(GeomFaultKind::Bulge, seg.a));
        }
        if !seg.is_line() && (seg.radius().is_nan() || seg.radius() >= FAR * FAR) {
            return Err(GeomFault::new(GeomFaultKind::Bulge, seg.a));
        }
    }
    let mut kept: Vec<Seg> = Vec::with_capacity(segs.len());
    for mut seg in segs {
        seg.bulge = seg.bulge.clamp(-1.0, 1.0);
        if let Some(last) = kept.last() {
            if !Loop::same(last.b, seg.a) {
                return Err(GeomFault::new(GeomFaultKind::Open, seg.a));
            }
            seg.a = last.b;
        }
        if Loop::same(seg.a, seg.b) {
            if let Some(last) = kept.last_mut() {
                last.b = seg.b;
            }
        } else {
            kept.push(seg);
        }
    }
    let (Some(first), Some(last)) = (kept.first().copied(), kept.last().copied()) else {
        return Err(GeomFault::new(GeomFaultKind::TooFew, Point::ORIGIN));
    };
    if kept.len() < 2 {
        return Err(GeomFault::new(GeomFaultKind::TooFew, first.a));
    }
    if !Loop::same(first.a, last.b) {
        return Err(GeomFault::new(GeomFaultKind::Open, last.b));
    }
    if let Some(last) = kept.last_mut() {
        last.b = first.a;
    }
    Ok(kept)
}

/// Centre and radius, where all pieces are arcs of one circle run once round.
pub(super) fn as_circle(segs: &[Seg]) -> Option<(Point, f64)> {
    let first = segs.first()?;
    if first.is_line() {
        return None;
    }
    let (center, radius) = (first.center(), first.radius());
    let one = segs.iter().all(|s| {
        !s.is_line()
            && s.bulge.signum() == first.bulge.signum()
            && (s.center() - center).hypot() <= SAME_POINT
            && (s.radius() - radius).abs() <= SAME_POINT
    });
    let turned: f64 = segs.iter().map(Seg::sweep).sum();
    (one && (turned.abs() - std::f64::consts::TAU).abs() < 1e-6).then_some((center, radius))
}

/// Refuses a chain that crosses or touches itself.
///
/// Neighbours may meet at the point they share and nowhere else; all others keep apart. Boxes are swept by their
/// left edges, so an outline of many short pieces costs little more than sorting them.
pub(super) fn simple(segs: &[Seg]) -> Result<(), GeomFault> {
    let boxes: Vec<_> = segs.iter().map(|s| s.bounds().inflate(SAME_POINT, SAME_POINT)).collect();
    let mut order: Vec<usize> = (0..segs.len()).collect();
    order.sort_by(|i, j| boxes[*i].x0.total_cmp(&boxes[*j].x0));
    let mut open: Vec<usize> = Vec::new();
    for i in order {
        open.retain(|j| boxes[*j].x1 >= boxes[i].x0);
        for &j in &open {
            if boxes[i].y0 > boxes[j].y1 || boxes[j].y0 > boxes[i].y1 {
                continue;
            }
            if let Some(at) = clash(segs, i, j) {
                return Err(GeomFault::new(GeomFaultKind::Crosses, at));
            }
        }
        open.push(i);
    }
    Ok(())
}

/// Where pieces `i` and `j` meet although they should not.
fn clash(segs: &[Seg], i: usize, j: usize) -> Option<Point> {
    let (first, second) = (&segs[i.min(j)], &segs[i.max(j)]);
    let gap = i.abs_diff(j);
    let mut shared: Vec<Point> = Vec::new();
    if gap == 1 {
        shared.push(first.b);
    }
    if gap == segs.len() - 1 {
        shared.push(first.a);
    }
    if shared.is_empty() {
        let (apart, at) = first.distance(second);
        return (apart <= SAME_POINT).then_some(at);
    }
    let free = |p: &Point| shared.iter().all(|s| (*p - *s).hypot() > 16.0 * SAME_POINT);
    // Two lines from one corner that run back over each other meet at the far end of the shorter.
    first.meet(second).into_iter().find(free)
}
