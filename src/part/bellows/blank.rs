//! The cloth in the flat: blanks of a wedge and their creases.

use super::wedge::{Corner, Manner, Wedge};
use crate::geom::{GeomFault, Loop, Point, Seg};

/// A piece of the cloth in the flat.
#[derive(Debug, Clone)]
pub(super) struct Piece {
    pub(super) outline: Loop,
    pub(super) creases: Vec<Seg>,
    /// Corners of notches, which the bench allowance leaves where they are.
    pub(super) notch: Vec<Point>,
}

/// Where a strip ends at the hinge.
#[derive(Debug, Clone, Copy)]
pub(super) enum Ending {
    /// It is wrapped round the hinge end and overlaps itself by this.
    Wrapped(f64),
    /// It stops so far short of the pivot.
    Short(f64),
}

/// Half the length of a strip in the flat.
pub(super) fn half_length(wedge: &Wedge, ending: Ending) -> f64 {
    match ending {
        Ending::Wrapped(overlap) => wedge.pivot() + (wedge.width + overlap) / 2.0,
        Ending::Short(gap) => wedge.pivot() - gap,
    }
}

/// The blank without its trim, its middle in the open end's middle.
pub(super) fn strip(wedge: &Wedge, ending: Ending, taper: bool) -> Result<Loop, GeomFault> {
    let (up, down) = (wedge.inside / 2.0 + wedge.board, wedge.inside / 2.0 + wedge.below);
    let (hinge_up, hinge_down) = (wedge.gap / 2.0 + wedge.board, wedge.gap / 2.0 + wedge.below);
    let (arris, pivot) = (wedge.width / 2.0, wedge.pivot());
    let end = half_length(wedge, ending);
    let p = Point::new;
    if !taper {
        return Loop::polygon(&[p(-end, -down), p(end, -down), p(end, up), p(-end, up)]);
    }
    // Heights at the end of the cloth: the hinge's own where it is wrapped, else on the straight line between.
    let share = match ending {
        Ending::Wrapped(_) => 0.0,
        Ending::Short(gap) => gap / wedge.height(),
    };
    let knee = pivot.min(end);
    let (end_up, end_down) =
        (hinge_up + (up - hinge_up) * share, hinge_down + (down - hinge_down) * share);
    Loop::polygon(&[
        p(-end, -end_down),
        p(-knee, -end_down),
        p(-arris, -down),
        p(arris, -down),
        p(knee, -end_down),
        p(end, -end_down),
        p(end, end_up),
        p(knee, end_up),
        p(arris, up),
        p(-arris, up),
        p(-knee, end_up),
        p(-end, end_up),
    ])
}

/// The folds of a strip: middle line, corner lines, creases of the corners; and where no glue may come.
///
/// # Source
/// No glue on the hinge itself: MMD 2012.01.29.06.
pub(super) fn creases(
    wedge: &Wedge,
    corner: &Corner,
    ending: Ending,
    no_glue: Option<f64>,
) -> Vec<Seg> {
    let p = Point::new;
    let (arris, half) = (wedge.width / 2.0, wedge.inside / 2.0);
    let end = half_length(wedge, ending);
    let middle = wedge.pivot().min(end);
    let mut lines = vec![Seg::line(p(-middle, 0.0), p(middle, 0.0))];
    for side in [-1.0, 1.0] {
        if corner.manner != Manner::Outward {
            lines.push(Seg::line(p(side * arris, -half), p(side * arris, half)));
        }
        for up in [-1.0, 1.0] {
            let mut fold = |x: f64| {
                lines.push(Seg::line(p(side * arris, up * half), p(side * x, 0.0)));
            };
            if corner.manner != Manner::TuckInEnd {
                fold(arris + corner.along_side(half, wedge.alpha));
            }
            if corner.manner != Manner::TuckInSide {
                fold(arris - corner.along_end(half));
            }
        }
        if let (Ending::Wrapped(_), Some(free)) = (ending, no_glue) {
            let free = free / 2.0;
            for up in [-free, free] {
                lines.push(Seg::line(p(side * wedge.pivot(), up), p(side * end, up)));
            }
        }
    }
    lines
}

/// A side piece, its open end's middle at the origin, x toward the hinge; with ribs it is notched for the gusset.
pub(super) fn side_piece(wedge: &Wedge, corner: &Corner, lap: f64) -> Result<Piece, GeomFault> {
    let p = Point::new;
    let (half, height) = (wedge.inside / 2.0, wedge.height());
    let (up, down) = (half + wedge.board, half + wedge.below);
    let (hinge_up, hinge_down) =
        (wedge.half_hinge() + wedge.board, wedge.half_hinge() + wedge.below);
    let far = height + lap;
    let hinge =
        [p(height, -hinge_down), p(far, -hinge_down), p(far, hinge_up), p(height, hinge_up)];
    let meet = corner.along_side(half, wedge.alpha);
    let (open, from) = if corner.manner == Manner::Ribs {
        ([p(0.0, up), p(0.0, -down)], meet)
    } else {
        ([p(-lap, up), p(-lap, -down)], 0.0)
    };
    let notch = if corner.manner == Manner::Ribs {
        vec![p(0.0, half), p(meet, 0.0), p(0.0, -half)]
    } else {
        Vec::new()
    };
    // Where there is a lap, the corner itself is a point of the outline too.
    let (above, below) = (p(0.0, up), p(0.0, -down));
    let points: Vec<Point> = hinge
        .into_iter()
        .chain([above, open[0]])
        .chain(notch.iter().copied())
        .chain([open[1], below])
        .collect();
    let mut lines = vec![Seg::line(p(from, 0.0), p(height, 0.0))];
    if matches!(corner.manner, Manner::TuckInSide | Manner::TuckInEnd) {
        lines.push(Seg::line(p(0.0, -half), p(0.0, half)));
    }
    if matches!(corner.manner, Manner::TuckInSide | Manner::Outward) {
        for y in [-half, half] {
            lines.push(Seg::line(p(0.0, y), p(meet, 0.0)));
        }
    }
    Ok(Piece { outline: Loop::polygon(&points)?, creases: lines, notch })
}

/// The open end's piece, its centre at the origin.
pub(super) fn end_piece(wedge: &Wedge, corner: &Corner) -> Result<Piece, GeomFault> {
    panel(wedge.width, wedge.inside, 1, (wedge.board, wedge.below), 0.0, |half| {
        (corner.along_end(half), corner.manner, Manner::TuckInEnd)
    })
}

/// A panel between two corners: `length` long, `height` between the boards in `folds` equal folds, with its glue
/// lands above and below and a lap at either end; its centre at the origin. `meets` gives, for half a fold, how far
/// from the corner its crease meets the fold's middle line, how corners fold, and which tuck is this panel's.
pub(super) fn panel(
    length: f64,
    height: f64,
    folds: u32,
    (above, below): (f64, f64),
    lap: f64,
    meets: impl Fn(f64) -> (f64, Manner, Manner),
) -> Result<Piece, GeomFault> {
    let p = Point::new;
    let fold = height / f64::from(folds);
    let (meet, manner, own_tuck) = meets(fold / 2.0);
    let ribs = manner == Manner::Ribs;
    let (top, bottom) = (height / 2.0 + above, height / 2.0 + below);
    let edge = length / 2.0;
    let far = if ribs { edge } else { edge + lap };
    let middles: Vec<f64> =
        (0..folds).map(|n| (f64::from(n) + 0.5) * fold - height / 2.0).collect();
    let notch_of = |middle: &f64| {
        [p(edge, middle - fold / 2.0), p(edge - meet, *middle), p(edge, middle + fold / 2.0)]
    };
    let mut notch: Vec<Point> =
        if ribs { middles.iter().flat_map(notch_of).collect() } else { Vec::new() };
    let mut right = vec![p(far, -bottom)];
    right.extend(&notch);
    right.push(p(far, top));
    let left: Vec<Point> = right.iter().rev().map(|q| p(-q.x, q.y)).collect();
    notch.extend(notch.clone().iter().map(|q| p(-q.x, q.y)));
    let points: Vec<Point> = right.into_iter().chain(left).collect();
    let mut lines = Vec::new();
    for (n, middle) in middles.iter().enumerate() {
        let reach = if ribs { edge - meet } else { edge };
        lines.push(Seg::line(p(-reach, *middle), p(reach, *middle)));
        if n > 0 {
            let ridge = middle - fold / 2.0;
            lines.push(Seg::line(p(-edge, ridge), p(edge, ridge)));
        }
        if manner == own_tuck || manner == Manner::Outward {
            for side in [-1.0, 1.0] {
                for up in [-fold / 2.0, fold / 2.0] {
                    lines.push(Seg::line(
                        p(side * edge, middle + up),
                        p(side * (edge - meet), *middle),
                    ));
                }
            }
        }
    }
    if matches!(manner, Manner::TuckInSide | Manner::TuckInEnd) && lap > 0.0 {
        for side in [-edge, edge] {
            lines.push(Seg::line(p(side, -height / 2.0), p(side, height / 2.0)));
        }
    }
    Ok(Piece { outline: Loop::polygon(&points)?, creases: lines, notch })
}
