//! What a careful rebuilder wants to know of a bellows: whether it closes, how it moves, what force it gives.

use super::blank::{Ending, half_length};
use super::boxed::Box;
use super::extras::least_corner;
use super::motion::{at_span, motion, wanted, wanted_of_wind};
use super::wedge::{Corner, Manner, Wedge};
use crate::fault::Fault;
use crate::part::measures::Measures;
use crate::part::sum::{Sum, doubt, mm, wrong};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

/// Kept free between the folds when the job is silent (mm).
///
/// # Source
/// Rebuilders' rule of 1/16 in: MMD 2012.01.30.05.
const CLEARANCE: f64 = 25.4 / 16.0;
/// Margins that miss each other by more than so many thicknesses of cloth are pointed out.
///
/// # Source
/// Common practice.
const EASED: f64 = 3.0;
/// A glue land on a leaf narrower than this is pointed out (mm).
///
/// # Source
/// Common practice: an eighth of an inch.
const LEAST_LAND: f64 = 25.4 / 8.0;

/// How far a side's fold and an end's fold reach in, or out, when the wedge is shut.
///
/// # Source
/// The crease from the corner to the middle line, seen from the board's edge: law of sines.
fn reaches(wedge: &Wedge, corner: &Corner) -> (f64, f64) {
    let half = wedge.inside / 2.0;
    (half * corner.side.sin() / (corner.side + wedge.alpha).sin(), half)
}

/// Sizes that hardly go with the boards: trim, lap and board beside the panels.
pub(super) fn check_sizes(m: &Measures, faults: &mut Vec<Fault>) {
    let (length, width) = (m.mm_or("length", 0.0), m.mm_or("width", 0.0));
    let short = length.min(width);
    let mut look = |key: &str, most: f64, cure: &str| {
        if let Some(size) = m.mm(key).filter(|size| *size > most) {
            let text = format!("`{key}` {} on boards {} by {}", mm(size), mm(length), mm(width));
            faults.push(doubt("W42", m, key, text, cure));
        }
    };
    let slip = "look at the unit and the point";
    look("trim", short / 2.0, slip);
    look("board", short / 2.0, slip);
    look("lap", short / 2.0, slip);
    look("overlap", 2.0 * width, slip);
    if m.word("form") == Some("pieces") && !m.has("lap") && m.companion("gusset").is_none() {
        faults.push(doubt(
            "W42",
            m,
            "form",
            "pieces without a `lap` have nothing to be glued by round the corners".to_owned(),
            "lap = \"1/2 in\"",
        ));
    }
    if let Some(span) = m.mm("span").filter(|span| *span < length / 50.0) {
        let text = format!("a span of {} on boards {} long", mm(span), mm(length));
        faults.push(doubt("W42", m, "span", text, slip));
    }
}

/// Whether the folds have room when it closes.
///
/// # Source
/// Span at most the width less 1/16 in: rebuilders' rule, MMD 2012.01.30.05; the exact reach of the folds by plane
/// geometry.
pub(super) fn check_wedge(
    m: &Measures,
    wedge: &Wedge,
    corner: &Corner,
    key: &str,
    faults: &mut Vec<Fault>,
) {
    let inward = corner.manner != Manner::Outward;
    let clearance = m.mm_or("clearance", CLEARANCE);
    if inward {
        let need = 2.0 * reaches(wedge, corner).0 + clearance;
        let in_side = Corner::inward(wedge.alpha, true);
        let other = 2.0 * reaches(wedge, &in_side).0 + clearance;
        if need > wedge.width + 1e-6 {
            let cure = if corner.manner == Manner::TuckInEnd && other <= wedge.width + 1e-6 {
                "with tuck = \"side\" it closes".to_owned()
            } else {
                format!("the boards must be {} wide, or the span smaller", mm(need))
            };
            faults.push(wrong(
                m,
                key,
                format!(
                    "it cannot close: the folds and {} of clearance take {}, the boards are {} wide",
                    mm(clearance),
                    mm(need),
                    mm(wedge.width)
                ),
                &cure,
            ));
        } else if wedge.inside + clearance > wedge.width + 1e-6 {
            faults.push(doubt(
                "W26",
                m,
                key,
                format!(
                    "span {} is near the width {} of the boards",
                    mm(wedge.inside),
                    mm(wedge.width)
                ),
                "the usual rule, span at most the width less the clearance, is broken; the exact fold still has room",
            ));
        }
        let along = wedge.height() - corner.along_side(wedge.inside / 2.0, wedge.alpha);
        if along <= 0.0 || 2.0 * corner.along_end(wedge.inside / 2.0) > wedge.width {
            faults.push(wrong(
                m,
                key,
                format!(
                    "the corners' creases meet on panels of {} and {}",
                    mm(wedge.height()),
                    mm(wedge.width)
                ),
                "look at length, width and span again",
            ));
        }
    }
    if corner.manner == Manner::Outward
        && wedge.height() <= corner.along_side(wedge.inside / 2.0, wedge.alpha)
    {
        faults.push(wrong(
            m,
            "hinge-gap",
            format!("the corners' creases run past the hinge of sides {} high", mm(wedge.height())),
            "look at the gap and the length of the boards again",
        ));
    }
    if let Some(cloth) = m.mm("cloth") {
        check_cloth(m, wedge, cloth, faults);
    }
    if wedge.alpha > FRAC_PI_4 {
        faults.push(doubt(
            "W26",
            m,
            key,
            format!("it opens to {:.0} degrees", 2.0 * wedge.alpha.to_degrees()),
            "a wedge hardly opens beyond a right angle: look at span and length again",
        ));
    }
}

/// Closed stack of cloth and cards at the open end, and how it is counted: at the corner six layers of cloth, four where
/// the folds go outward, and four cards.
pub(super) fn stack(m: &Measures, cloth: f64) -> (f64, &'static str) {
    let card = m.companion("card").and_then(|card| card.mm("thickness")).unwrap_or(0.0);
    if m.word("folds") == Some("out") {
        (4.0 * cloth + 4.0 * card, "4 x cloth + 4 x card")
    } else {
        (6.0 * cloth + 4.0 * card, "6 x cloth + 4 x card")
    }
}

fn check_cloth(m: &Measures, wedge: &Wedge, cloth: f64, faults: &mut Vec<Fault>) {
    if cloth >= wedge.board {
        faults.push(wrong(
            m,
            "cloth",
            format!("cloth of {} on boards of {}", mm(cloth), mm(wedge.board)),
            "it is the thickness of the cloth, far less than that of a board: look at unit and point",
        ));
        return;
    }
    let sideways = wedge.misfit();
    if sideways > EASED * cloth && m.word("form") != Some("pieces") {
        faults.push(doubt(
            "W27",
            m,
            "board",
            format!("the glue margins miss each other by {} at the corners", mm(sideways)),
            "more than three thicknesses of cloth: slit it at the hinge corners, or cover sides and end apart with form = \"pieces\"",
        ));
    }
    if let Some(closed) = at_span(m, wedge, "closed").map(|a| wedge.inside_at(a)) {
        let (layers, count) = stack(m, cloth);
        let stack = layers / (1.0 - wedge.alpha.sin());
        if closed < stack {
            faults.push(doubt(
                "W27",
                m,
                "closed",
                format!("closed to {}, but the folds stand {} ({count})", mm(closed), mm(stack)),
                "the stack of folds decides how far it closes",
            ));
        }
    }
}

/// Whether the spans at rest and closed go with the full one.
pub(super) fn check_spans(m: &Measures, wedge: &Wedge, faults: &mut Vec<Fault>) {
    let outside = m.word("span-is") == Some("outside");
    let least = if outside { 2.0 * wedge.board + wedge.gap } else { wedge.gap };
    for key in ["rest", "closed"] {
        if let (Some(span), Some(open)) = (m.mm(key), m.mm("span"))
            && (span > open || span < least)
        {
            faults.push(wrong(
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
    if let (Some(rest), Some(closed)) = (m.mm("rest"), m.mm("closed"))
        && rest < closed
    {
        faults.push(wrong(
            m,
            "rest",
            format!("`rest` {} is less than `closed` {}", mm(rest), mm(closed)),
            "at rest it stands open: give the larger span as `rest`",
        ));
    }
    wanted(m, wedge, faults);
}

/// Both spans of a double bellows together when its leaf stands in the middle (mm).
pub(super) fn leaf_at_centre(first: &Wedge, second: &Wedge) -> f64 {
    [first, second].iter().map(|w| w.inside_at(w.alpha / 2.0)).sum()
}

/// Whether the leaf of a double bellows has room for two glue lands, and its wedges the same travel.
pub(super) fn check_leaf(m: &Measures, first: &Wedge, second: &Wedge, faults: &mut Vec<Fault>) {
    if first.below < LEAST_LAND {
        faults.push(doubt(
            "W27",
            m,
            "leaf",
            format!("each strip has {} of the leaf's edge to hold on", mm(first.below)),
            "under 1/8 in lap one strip over the other: cut the second with a `trim` of the leaf's thickness",
        ));
    }
    if (first.alpha - second.alpha).abs() > 0.02 * first.alpha.max(second.alpha) {
        faults.push(doubt(
            "W26",
            m,
            "second-span",
            format!(
                "the wedges open to {:.2} and {:.2} degrees",
                2.0 * first.alpha.to_degrees(),
                2.0 * second.alpha.to_degrees()
            ),
            "between fixed outer boards each is fully open when the other is shut, and both open alike",
        ));
    }
}

/// Whether the pleats of parallel boards have room.
pub(super) fn check_box(m: &Measures, it: &Box, corner: &Corner, faults: &mut Vec<Fault>) {
    let clearance = m.mm_or("clearance", CLEARANCE);
    let fold = it.fold();
    let short = it.length.min(it.width);
    if corner.manner != Manner::Outward
        && m.word("folds") != Some("out")
        && fold + clearance > short + 1e-6
    {
        faults.push(wrong(
            m,
            "span",
            format!(
                "it cannot close: folds {} deep from both sides and {} of clearance take {}, the boards measure {}",
                mm(fold / 2.0),
                mm(clearance),
                mm(fold + clearance),
                mm(short)
            ),
            &format!("pleats = {}, or a smaller span", (it.inside / (short - clearance).max(0.1)).ceil()),
        ));
    }
    let cut_back = 2.0 * corner.along_end(fold / 2.0);
    if corner.manner == Manner::Ribs && cut_back >= short {
        faults.push(wrong(
            m,
            "span",
            format!(
                "ribs cut at {:.1} degrees lose {} at their ends, the boards measure {}",
                corner.side.to_degrees(),
                mm(cut_back),
                mm(short)
            ),
            "a larger `rib-angle`, more pleats, or a smaller span",
        ));
    }
    let volume = it.length * it.width * it.inside;
    wanted_of_wind(m, volume, |vacuum| board_pull(it, vacuum), faults);
}

/// What every wedge's sum begins with.
fn given(m: &Measures, wedge: &Wedge) -> Sum {
    let span = format!("span, {}", m.word("span-is").unwrap_or("inside"));
    Sum::default()
        .given(m, "length", "length of the boards")
        .given(m, "width", "width of the boards")
        .given(m, "board", "thickness of a board")
        .given(m, "leaf", "thickness of the leaf")
        .given(m, "span", &span)
        .given(m, "second-span", "span of the second wedge")
        .given(m, "hinge-gap", "gap at the hinge")
        .given(m, "trim", "trim on each side")
        .note("half opening angle", "", wedge.alpha.to_degrees(), "°")
        .step("span between the boards", "", wedge.inside)
        .step("span over the boards", "", wedge.span_outside())
        .step("height of the side panels", "length x cos", wedge.height())
}

/// The sum of a strip.
pub(super) fn strip_sum(
    m: &Measures,
    wedge: &Wedge,
    corner: &Corner,
    ending: Ending,
    taper: bool,
) -> Sum {
    let trim = m.mm_or("trim", 0.0);
    let lands = wedge.board + wedge.below;
    let (flat, hinge) = (wedge.inside + lands + 2.0 * trim, lands + wedge.gap + 2.0 * trim);
    let mut sum = given(m, wedge);
    let rule = match ending {
        Ending::Wrapped(overlap) => {
            sum = if m.has("overlap") {
                sum.given(m, "overlap", "overlap")
            } else {
                sum.silent("overlap", "a third of the width", overlap)
            };
            "2 x height + 2 x width + overlap"
        }
        Ending::Short(_) => {
            sum = sum.given(m, "pivot-gap", "cloth stops short of the hinge");
            "2 x (height - pivot gap) + width"
        }
    };
    let wide = if wedge.below.to_bits() == wedge.board.to_bits() {
        "span inside + 2 x board + 2 x trim"
    } else {
        "span inside + board + half the leaf + 2 x trim"
    };
    sum = sum.total("cut length", rule, 2.0 * half_length(wedge, ending)).total(
        "width at the open end",
        wide,
        flat,
    );
    if taper {
        let (at_end, saved) = match ending {
            Ending::Wrapped(overlap) => {
                (hinge, (flat - hinge) * (wedge.height() + wedge.width + overlap))
            }
            Ending::Short(gap) => {
                let share = gap / wedge.height();
                let end = hinge + (flat - hinge) * share;
                (end, (flat - end) * (wedge.height() - gap))
            }
        };
        sum = sum.total("width at the hinge end", "glue lands + gap + 2 x trim", at_end).note(
            "saved by the taper",
            "against a parallel strip",
            saved,
            "mm²",
        );
    }
    closing(m, wedge, corner, sum)
}

/// The sum of a wedge covered in pieces.
pub(super) fn wedge_sum(m: &Measures, wedge: &Wedge, corner: &Corner) -> Sum {
    let sum = given(m, wedge).given(m, "lap", "lap round the corners");
    closing(m, wedge, corner, sum)
}

/// Folds, margins, stack, motion, force.
fn closing(m: &Measures, wedge: &Wedge, corner: &Corner, mut sum: Sum) -> Sum {
    let half = wedge.inside / 2.0;
    let (side, end) = reaches(wedge, corner);
    sum = match corner.manner {
        Manner::TuckInSide | Manner::TuckInEnd => {
            let tuck = corner.along_side(half, wedge.alpha).max(corner.along_end(half));
            let what = if corner.manner == Manner::TuckInSide {
                "tuck in the side"
            } else {
                "tuck in the end"
            };
            sum.note("corner fold meets the centre line at", "from the corner", tuck, "mm").note(
                "fold room left when closed",
                what,
                wedge.width - 2.0 * side,
                "mm",
            )
        }
        Manner::Ribs => sum
            .note("ribs cut at", "from the board", corner.side.to_degrees(), "°")
            .note("fold room left when closed", "between the ribs", wedge.width - 2.0 * side, "mm"),
        Manner::Outward => sum
            .note("side crease from the board's edge", "", corner.side.to_degrees(), "°")
            .note("end crease from the board's edge", "", corner.end.to_degrees(), "°")
            .note(
                "side crease meets the centre line at",
                "from the hinge",
                wedge.height() - corner.along_side(half, wedge.alpha),
                "mm",
            )
            .note(
                "end crease meets the centre line at",
                "from the corner",
                corner.along_end(half),
                "mm",
            )
            .note("side fold stands out by", "beyond the board, shut", side, "mm")
            .note("end fold stands out by", "beyond the board, shut", end, "mm"),
    };
    if m.word("form") != Some("pieces") {
        let misfit = wedge.misfit();
        sum = sum
            .note(
                "glue margin, surplus at the open corners",
                "2 x board x sin(half the angle / 2)",
                misfit,
                "mm",
            )
            .note("glue margin, lack at the hinge corners", "the same", misfit, "mm");
    }
    if let Some(cloth) = m.mm("cloth") {
        let (layers, count) = stack(m, cloth);
        sum = sum
            .given(m, "cloth", "thickness of the cloth")
            .note(
                "closed stack, least span",
                &format!("({count}) / (1 - sin)"),
                layers / (1.0 - wedge.alpha.sin()),
                "mm",
            )
            .note("longer round four corners of thick cloth", "pi x cloth", PI * cloth, "mm");
    }
    if m.word("boards") == Some("double") { sum } else { motion(m, wedge, sum) }
}

/// The sum of a box.
pub(super) fn box_sum(m: &Measures, it: &Box, corner: &Corner) -> Sum {
    let span = format!("span, {}", m.word("span-is").unwrap_or("inside"));
    let overlap = m.mm_or("overlap", it.width / 3.0);
    let (trim, fold) = (m.mm_or("trim", 0.0), it.fold());
    let mut sum = Sum::default()
        .given(m, "length", "length of the boards")
        .given(m, "width", "width of the boards")
        .given(m, "board", "thickness of a board")
        .given(m, "span", &span)
        .given(m, "trim", "trim on each side")
        .step("span between the boards", "", it.inside)
        .step("height of one pleat", "span / pleats", fold);
    if m.word("form") != Some("pieces") {
        sum = if m.has("overlap") {
            sum.given(m, "overlap", "overlap")
        } else {
            sum.silent("overlap", "a third of the width", overlap)
        };
        sum = sum
            .total("cut length", "2 x (length + width) + overlap", 2.0 * it.half_length(overlap))
            .total(
                "cut width",
                "span inside + 2 x board + 2 x trim",
                it.inside + 2.0 * (it.board + trim),
            );
    }
    sum = sum.note("fold depth", "half a pleat", fold / 2.0, "mm");
    if corner.manner == Manner::Outward {
        sum = sum
            .note(
                "side crease meets the centre line at",
                "from the corner",
                corner.along_side(fold / 2.0, 0.0),
                "mm",
            )
            .note(
                "end crease meets the centre line at",
                "from the corner",
                corner.along_end(fold / 2.0),
                "mm",
            );
    } else {
        let room = it.length.min(it.width) - fold;
        sum = sum.note("fold room left when closed", "shorter side - pleat", room, "mm");
    }
    if corner.manner == Manner::Ribs {
        let least = least_corner(corner.side, FRAC_PI_2).to_degrees();
        sum = sum.note("ribs cut at", "from the board", corner.side.to_degrees(), "°").note(
            "least corner angle of a gusset",
            "the ribs' ends over the whole motion",
            least,
            "°",
        );
    }
    if let Some(cloth) = m.mm("cloth") {
        let (layers, count) = stack(m, cloth);
        sum = sum.given(m, "cloth", "thickness of the cloth").note(
            "closed stack at the corners",
            &format!("pleats x ({count})"),
            f64::from(it.pleats) * layers,
            "mm",
        );
    }
    let volume = it.length * it.width * it.inside;
    sum = sum.note("free volume fully open", "length x width x span", volume, "mm³").given(
        m,
        "volume",
        "volume wanted",
    );
    if let Some(vacuum) = m.quantity("vacuum") {
        let pull = board_pull(it, vacuum.value());
        sum = sum.given(m, "vacuum", "pressure difference").note(
            "force on the board alone",
            "pressure x board",
            pull,
            "N",
        );
    }
    sum.given(m, "force", "force wanted")
}

/// Pressure times board (N).
fn board_pull(it: &Box, vacuum: f64) -> f64 {
    vacuum * it.length * it.width * 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn wedge(length: f64, width: f64, inside: f64) -> Wedge {
        let alpha = Wedge::angle(length, 0.1, 0.0, inside, false);
        Wedge { length, width, board: 0.1, below: 0.1, gap: 0.0, alpha, inside }
    }

    // Worked by plane geometry.
    #[test]
    fn room_when_closed() {
        for (l, w, si, side, end) in [
            (5.0, 1.125, 1.25, 0.0226036, -0.115196),
            (4.875, 0.9375, 0.875, 0.137799, 0.0660307),
            (6.0, 6.0, 6.0, 2.535898, 0.803848),
            (150.0, 45.0, 40.0, 10.02101, 5.357150),
        ] {
            let it = wedge(l, w, si);
            let room = |tuck| it.width - 2.0 * reaches(&it, &Corner::inward(it.alpha, tuck)).0;
            assert_relative_eq!(room(true), side, max_relative = 1e-5, epsilon = 1e-6);
            assert_relative_eq!(room(false), end, max_relative = 1e-5, epsilon = 1e-6);
        }
        let it = wedge(12.0, 16.0, 4.0);
        let corner = Corner::outward(it.alpha, 4.0, None, 16.0).unwrap();
        assert_relative_eq!(reaches(&it, &corner).0, 1.387526, max_relative = 1e-5);
    }

    #[test]
    fn two_wedges_on_one_leaf() {
        let it = wedge(5.0, 1.5, 2.5);
        assert_relative_eq!(leaf_at_centre(&it, &it), 2.520086, max_relative = 1e-5);
        let it = wedge(4.875, 1.5, 5.25);
        assert_relative_eq!(leaf_at_centre(&it, &it), 5.469566, max_relative = 1e-5);
    }
}
