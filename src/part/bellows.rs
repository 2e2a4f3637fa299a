//! The cloth round a wedge bellows: two boards, a hinge at one end, an open end at the other.
//!
//! One strip runs from the hinge end along one side, across the open end, back along the other side and over the
//! hinge, where its ends overlap. In the flat the side panels are triangles whose height is `L cos α`, a little
//! less than the board; the open end stays as wide as the span between the boards.

use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member};
use super::sum::{Sum, doubt, mm, positive, shown, wrong};
use super::{Kind, KindCard};
use crate::fault::any_error;
use crate::geom::{Loop, Point, Seg, Shape};
use std::f64::consts::{FRAC_PI_4, PI};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Bellows,
    name: "bellows",
    about: "the cloth round a wedge of two boards",
    keys: KEYS,
    companions: &[],
    lengthwise: true,
    taut: false,
    develop,
};

const KEYS: &[Key] = &[
    Key {
        name: "length",
        takes: Takes::Length,
        needed: true,
        about: "length of the boards, hinge to open end",
        example: "4 7/8 in",
    },
    Key {
        name: "width",
        takes: Takes::Length,
        needed: true,
        about: "width of the boards",
        example: "15/16 in",
    },
    Key {
        name: "board",
        takes: Takes::Length,
        needed: true,
        about: "thickness of one board",
        example: "3/16 in",
    },
    Key {
        name: "span",
        takes: Takes::Length,
        needed: true,
        about: "opening at the open end, fully open",
        example: "7/8 in",
    },
    Key {
        name: "span-is",
        takes: Takes::Word(&["inside", "outside"]),
        needed: true,
        about: "whether the span is measured between the boards or over them",
        example: "inside",
    },
    Key {
        name: "hinge-gap",
        takes: Takes::Length,
        needed: false,
        about: "gap between the boards at the hinge, closed",
        example: "1/32 in",
    },
    Key {
        name: "overlap",
        takes: Takes::Length,
        needed: false,
        about: "overlap at the hinge end; silent: a third of the width",
        example: "1/2 in",
    },
    Key {
        name: "trim",
        takes: Takes::Length,
        needed: false,
        about: "trimmed off on each side after glueing",
        example: "1/4 in",
    },
    Key {
        name: "form",
        takes: Takes::Word(&["strip", "taper"]),
        needed: false,
        about: "a parallel strip (usual) or the tapered blank",
        example: "strip",
    },
    Key {
        name: "tuck",
        takes: Takes::Word(&["side", "end"]),
        needed: false,
        about: "where the corner folds go: side (usual) or end",
        example: "side",
    },
    Key {
        name: "clearance",
        takes: Takes::Length,
        needed: false,
        about: "kept free between the folds when closed; silent: 1/16 in",
        example: "1/16 in",
    },
    Key {
        name: "cloth",
        takes: Takes::Length,
        needed: false,
        about: "thickness of the cloth, for the closed stack",
        example: "10 thou",
    },
    Key {
        name: "rest",
        takes: Takes::Length,
        needed: false,
        about: "span at rest, measured like the span",
        example: "13/16 in",
    },
    Key {
        name: "closed",
        takes: Takes::Length,
        needed: false,
        about: "span when closed",
        example: "1/16 in",
    },
    Key {
        name: "finger",
        takes: Takes::Length,
        needed: false,
        about: "from the hinge to the end of the finger",
        example: "6 1/2 in",
    },
];

/// A wedge opened to its full span.
#[derive(Debug, Clone, Copy)]
struct Wedge {
    length: f64,
    width: f64,
    board: f64,
    gap: f64,
    /// Half the opening angle, in radians.
    alpha: f64,
    /// Opening between the boards at the open end.
    inside: f64,
}

impl Wedge {
    /// Half opening angle for a span between the boards (mm) or over them.
    ///
    /// # Source
    /// Plane geometry of two boards that turn about the middle of the hinge gap.
    fn angle(length: f64, board: f64, gap: f64, span: f64, outside: bool) -> f64 {
        if outside {
            let k = board + gap / 2.0;
            (span / (2.0 * length.hypot(k))).asin() - (k / length).atan()
        } else {
            (span / (4.0 * length * length + gap * gap).sqrt()).asin()
                - (gap / (2.0 * length)).atan()
        }
    }

    fn span_inside(length: f64, gap: f64, alpha: f64) -> f64 {
        2.0 * length * alpha.sin() + gap * alpha.cos()
    }

    /// Opening between the boards at another half angle.
    fn inside_at(&self, alpha: f64) -> f64 {
        Wedge::span_inside(self.length, self.gap, alpha)
    }

    /// How far a surplus or lack of the glue margins reaches at a corner.
    fn misfit(&self) -> f64 {
        2.0 * self.board * (self.alpha / 2.0).sin()
    }

    fn span_outside(&self) -> f64 {
        2.0 * self.length * self.alpha.sin() + (self.gap + 2.0 * self.board) * self.alpha.cos()
    }

    /// Height of the side panel in the flat.
    fn height(&self) -> f64 {
        self.length * self.alpha.cos()
    }

    /// How far the corner fold meets the centre line from the corner.
    fn tuck(&self) -> f64 {
        self.inside / 2.0 * (FRAC_PI_4 - self.alpha / 2.0).tan()
    }

    /// How far each side's fold reaches in when closed.
    fn reach(&self, tuck_in_side: bool) -> f64 {
        if tuck_in_side { self.tuck() } else { self.inside / 2.0 * self.alpha.cos() }
    }
}

fn develop(m: &Measures) -> Developed {
    let keys = ["length", "width", "board", "span", "overlap", "cloth", "finger", "rest", "closed"];
    let mut made = Developed { faults: positive(m, &keys), ..Developed::default() };
    let (Some(length), Some(width), Some(board), Some(span)) =
        (m.mm("length"), m.mm("width"), m.mm("board"), m.mm("span"))
    else {
        return made;
    };
    if !made.faults.is_empty() {
        return made;
    }
    let Some(wedge) = opened(m, [length, width, board, span], &mut made) else { return made };
    check_closing(m, &wedge, &mut made);
    if any_error(&made.faults) {
        return made;
    }
    let overlap = m.mm_or("overlap", width / 3.0);
    let trim = m.mm_or("trim", 0.0);
    let taper = m.word("form") == Some("taper");
    let Ok(outline) = blank(&wedge, overlap, taper) else {
        made.faults.push(wrong(
            m,
            "span",
            "no blank comes of these measures".into(),
            "look at length, board and span again",
        ));
        return made;
    };
    let sum = sum(m, &wedge, overlap, trim, taper);
    let half = wedge.width / 2.0 + wedge.height() + (wedge.width + overlap) / 2.0;
    let edge = outline.bounds();
    made.members.push(Member {
        trim,
        creases: creases(&wedge, m.word("tuck") != Some("end")),
        ..Member::of(
            Shape::plain(outline),
            sum.terms,
            vec![
                Dimension::Span(
                    Point::new(half, edge.y0),
                    Point::new(-half, edge.y0),
                    1.0,
                    shown(2.0 * half),
                ),
                Dimension::Span(
                    Point::new(-half, edge.y0),
                    Point::new(-half, edge.y1),
                    1.0,
                    shown(edge.height() + 2.0 * trim) + if trim > 0.0 { " with trim" } else { "" },
                ),
            ],
        )
    });
    made
}

/// The wedge at its full span, unless no wedge has such a span.
fn opened(m: &Measures, sizes: [f64; 4], made: &mut Developed) -> Option<Wedge> {
    let [length, width, board, span] = sizes;
    let gap = m.mm_or("hinge-gap", 0.0);
    let outside = m.word("span-is") == Some("outside");
    let least = if outside { 2.0 * board + gap } else { gap };
    if span <= least || span >= 2.0 * length {
        let how = if outside { "over the boards" } else { "between the boards" };
        let cure =
            format!("{how} it is more than {} and less than {}", mm(least), mm(2.0 * length));
        made.faults.push(wrong(
            m,
            "span",
            format!("a span of {} is not possible here", mm(span)),
            &cure,
        ));
        return None;
    }
    let alpha = Wedge::angle(length, board, gap, span, outside);
    let inside = Wedge::span_inside(length, gap, alpha);
    Some(Wedge { length, width, board, gap, alpha, inside })
}

/// The blank without its trim, its middle in the open end's middle.
fn blank(wedge: &Wedge, overlap: f64, taper: bool) -> Result<Loop, crate::geom::GeomFault> {
    let open = wedge.inside / 2.0 + wedge.board;
    let hinge = wedge.gap / 2.0 + wedge.board;
    let arris = wedge.width / 2.0;
    let pivot = arris + wedge.height();
    let end = pivot + (wedge.width + overlap) / 2.0;
    let p = Point::new;
    if taper {
        Loop::polygon(&[
            p(-end, -hinge),
            p(-pivot, -hinge),
            p(-arris, -open),
            p(arris, -open),
            p(pivot, -hinge),
            p(end, -hinge),
            p(end, hinge),
            p(pivot, hinge),
            p(arris, open),
            p(-arris, open),
            p(-pivot, hinge),
            p(-end, hinge),
        ])
    } else {
        Loop::polygon(&[p(-end, -open), p(end, -open), p(end, open), p(-end, open)])
    }
}

/// Corner lines, centre line and the two pairs of diagonals.
///
/// # Source
/// The middle sector at a closing corner is 45° − α/2: Kawasaki's condition on a cone (general origami literature).
fn creases(wedge: &Wedge, tuck_in_side: bool) -> Vec<Seg> {
    let arris = wedge.width / 2.0;
    let open = wedge.inside / 2.0;
    let pivot = arris + wedge.height();
    let meet = if tuck_in_side { arris + wedge.tuck() } else { arris - wedge.tuck() };
    let p = Point::new;
    let mut lines = vec![Seg::line(p(-pivot, 0.0), p(pivot, 0.0))];
    for side in [-1.0, 1.0] {
        lines.push(Seg::line(p(side * arris, -open), p(side * arris, open)));
        for up in [-1.0, 1.0] {
            lines.push(Seg::line(p(side * arris, up * open), p(side * meet, 0.0)));
        }
    }
    lines
}

/// Whether the folds have room when it closes.
///
/// # Source
/// Span at most the width less 1/16 in: rebuilders' rule, MMD 2012.01.30.05; the exact reach of the folds by plane
/// geometry.
fn check_closing(m: &Measures, wedge: &Wedge, made: &mut Developed) {
    let clearance = m.mm_or("clearance", 25.4 / 16.0);
    let side = m.word("tuck") != Some("end");
    let need = 2.0 * wedge.reach(side) + clearance;
    let other = 2.0 * wedge.reach(true) + clearance;
    if need > wedge.width + 1e-6 {
        let cure = if !side && other <= wedge.width + 1e-6 {
            "with tuck = \"side\" it closes".to_owned()
        } else {
            format!("the boards must be {} wide, or the span smaller", mm(need))
        };
        made.faults.push(wrong(
            m,
            "span",
            format!(
                "it cannot close: the folds and {} of clearance take {}, the boards are {} wide",
                mm(clearance),
                mm(need),
                mm(wedge.width)
            ),
            &cure,
        ));
    } else if wedge.inside + clearance > wedge.width + 1e-6 {
        made.faults.push(doubt(
            "W26",
            m,
            "span",
            format!("span {} is near the width {} of the boards", mm(wedge.inside), mm(wedge.width)),
            "the usual rule, span at most the width less the clearance, is broken; the exact fold still has room",
        ));
    }
    if let Some(cloth) = m.mm("cloth") {
        let sideways = wedge.misfit();
        if sideways > 3.0 * cloth {
            made.faults.push(doubt(
                "W27",
                m,
                "board",
                format!("the glue margins miss each other by {} at the corners", mm(sideways)),
                "more than three thicknesses of cloth: slit it at the hinge corners, or cover sides and end apart",
            ));
        }
        if let Some(closed) = at_span(m, wedge, "closed").map(|a| wedge.inside_at(a)) {
            let stack = 6.0 * cloth / (1.0 - wedge.alpha.sin());
            if closed < stack {
                made.faults.push(doubt(
                    "W27",
                    m,
                    "closed",
                    format!(
                        "closed to {}, but six layers of cloth stand {}",
                        mm(closed),
                        mm(stack)
                    ),
                    "the stack of folds decides how far it closes",
                ));
            }
        }
    }
    check_spans(m, wedge, made);
}

/// Whether the spans at rest and closed go with the full one.
fn check_spans(m: &Measures, wedge: &Wedge, made: &mut Developed) {
    let outside = m.word("span-is") == Some("outside");
    let least = if outside { 2.0 * wedge.board + wedge.gap } else { wedge.gap };
    for key in ["rest", "closed"] {
        if let (Some(span), Some(open)) = (m.mm(key), m.mm("span"))
            && (span > open || span < least)
        {
            made.faults.push(wrong(
                m,
                key,
                format!("`{key}` {} is not possible with a full span of {}", mm(span), mm(open)),
                &format!(
                    "it is measured like the span, {}: from {} to {}",
                    if outside { "over the boards" } else { "between the boards" },
                    mm(least),
                    mm(open)
                ),
            ));
        }
    }
    if wedge.alpha > FRAC_PI_4 {
        made.faults.push(doubt(
            "W26",
            m,
            "span",
            format!("it opens to {:.0} degrees", 2.0 * wedge.alpha.to_degrees()),
            "a wedge hardly opens beyond a right angle: look at span and length again",
        ));
    }
}

/// Half the opening angle at another span of the job, measured as the full span is.
fn at_span(m: &Measures, wedge: &Wedge, key: &str) -> Option<f64> {
    let outside = m.word("span-is") == Some("outside");
    let span = m.mm(key)?;
    Some(Wedge::angle(wedge.length, wedge.board, wedge.gap, span, outside))
}

fn sum(m: &Measures, wedge: &Wedge, overlap: f64, trim: f64, taper: bool) -> Sum {
    let alpha = wedge.alpha.to_degrees();
    let flat = wedge.inside + 2.0 * wedge.board;
    let hinge = 2.0 * wedge.board + wedge.gap + 2.0 * trim;
    let length = 2.0 * wedge.height() + 2.0 * wedge.width + overlap;
    let mut sum = Sum::default()
        .given(m, "length", "length of the boards")
        .given(m, "width", "width of the boards")
        .given(m, "board", "thickness of a board")
        .given(m, "span", &format!("span, {}", m.word("span-is").unwrap_or("inside")))
        .given(m, "hinge-gap", "gap at the hinge")
        .given(m, "overlap", "overlap")
        .given(m, "trim", "trim on each side");
    if !m.has("overlap") {
        sum = sum.silent("overlap", "a third of the width", overlap);
    }
    let side = m.word("tuck") != Some("end");
    let reach = wedge.reach(side);
    sum = sum
        .note("half opening angle", "", alpha, "°")
        .step("span between the boards", "", wedge.inside)
        .step("span over the boards", "", wedge.span_outside())
        .step("height of the side panels", "length x cos", wedge.height())
        .total("cut length", "2 x height + 2 x width + overlap", length)
        .total("width at the open end", "span inside + 2 x board + 2 x trim", flat + 2.0 * trim);
    if taper {
        sum = sum.total("width at the hinge end", "2 x board + gap + 2 x trim", hinge).note(
            "saved by the taper",
            "span x (height + width + overlap)",
            (flat + 2.0 * trim - hinge) * (wedge.height() + wedge.width + overlap),
            "mm²",
        );
    }
    sum = sum
        .note("corner fold meets the centre line at", "from the corner", wedge.tuck(), "mm")
        .note(
            "fold room left when closed",
            if side { "tuck in the side" } else { "tuck in the end" },
            wedge.width - 2.0 * reach,
            "mm",
        )
        .note(
            "glue margin, surplus at the open corners",
            "2 x board x sin(half the angle / 2)",
            wedge.misfit(),
            "mm",
        )
        .note("glue margin, lack at the hinge corners", "the same", wedge.misfit(), "mm");
    if let Some(cloth) = m.mm("cloth") {
        sum = sum
            .given(m, "cloth", "thickness of the cloth")
            .note(
                "closed stack, least span",
                "6 x cloth / (1 - sin)",
                6.0 * cloth / (1.0 - wedge.alpha.sin()),
                "mm",
            )
            .note("longer round four corners of thick cloth", "pi x cloth", PI * cloth, "mm");
    }
    if let Some(finger) = m.mm("finger") {
        let rest = at_span(m, wedge, "rest").unwrap_or(wedge.alpha);
        let closed = at_span(m, wedge, "closed").unwrap_or(0.0);
        sum = sum
            .given(m, "finger", "hinge to finger")
            .given(m, "rest", "span at rest")
            .given(m, "closed", "span closed")
            .note(
                "stroke at the finger",
                "2 x finger x (sin rest - sin closed)",
                2.0 * finger * (rest.sin() - closed.sin()),
                "mm",
            );
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn wedge(length: f64, width: f64, board: f64, gap: f64, inside: f64) -> Wedge {
        let alpha = Wedge::angle(length, board, gap, inside, false);
        Wedge { length, width, board, gap, alpha, inside }
    }

    // Worked by building the solid and unfolding it; the second row against the published pair 7/8 inside and
    // 1 1/4 outside (MMD 2008.07.28.08 and 2012.01.30.05), which it meets within 0.002 in.
    #[test]
    fn angles_and_spans() {
        for (l, si, t, alpha, height) in [
            (5.0, 1.25, 0.1, 7.180756, 4.960784),
            (4.875, 0.875, 0.1875, 5.148856, 4.855329),
            (16.0, 6.0, 0.75, 10.80692, 15.71623),
            (150.0, 40.0, 6.0, 7.662256, 148.6607),
        ] {
            let w = wedge(l, 1.0, t, 0.0, si);
            assert_relative_eq!(w.alpha.to_degrees(), alpha, max_relative = 1e-5);
            assert_relative_eq!(w.height(), height, max_relative = 1e-5);
            let back = Wedge::angle(l, t, 0.0, w.span_outside(), true);
            assert_relative_eq!(back, w.alpha, max_relative = 1e-9);
        }
        assert_relative_eq!(
            wedge(4.875, 1.0, 0.1875, 0.0, 0.875).span_outside(),
            1.25,
            epsilon = 0.002
        );
        for (l, so, t, alpha, si) in
            [(4.875, 1.25, 0.1875, 5.157815, 0.876518), (16.0, 7.0, 0.75, 9.937762, 5.522506)]
        {
            let alpha_here = Wedge::angle(l, t, 0.0, so, true);
            assert_relative_eq!(alpha_here.to_degrees(), alpha, max_relative = 1e-5);
            assert_relative_eq!(Wedge::span_inside(l, 0.0, alpha_here), si, max_relative = 1e-5);
        }
        let gapped = wedge(16.0, 13.0, 0.75, 0.125, 6.0);
        assert_relative_eq!(gapped.alpha.to_degrees(), 10.58303, max_relative = 1e-5);
        assert_relative_eq!(gapped.span_outside(), 7.474485, max_relative = 1e-5);
    }

    #[test]
    fn the_corner_closes() {
        for (l, w, si, x) in [
            (5.0, 1.125, 1.25, 0.551198),
            (16.0, 13.0, 6.0, 2.481511),
            (150.0, 45.0, 40.0, 17.48949),
        ] {
            let it = wedge(l, w, 0.1, 0.0, si);
            assert_relative_eq!(it.tuck(), x, max_relative = 1e-5);
            // (H - x) sin α = x and (H - x) cos α = L - Si/2: the fold lies straight inward of the corner.
            assert_relative_eq!((it.height() - x) * it.alpha.sin(), x, max_relative = 1e-5);
            assert_relative_eq!(
                (it.height() - x) * it.alpha.cos(),
                l - si / 2.0,
                max_relative = 1e-5
            );
        }
    }
}
