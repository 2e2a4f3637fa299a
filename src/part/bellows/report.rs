//! What a careful rebuilder wants to know of a bellows: whether it closes, how it moves, what force it gives.

use super::blank::{Ending, half_length};
use super::boxed::Box;
use super::extras::least_corner;
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
/// What is wanted counts as met within this share.
const NEAR: f64 = 0.05;

/// How far a side's fold and an end's fold reach in, or out, when the wedge is shut.
///
/// # Source
/// The crease from the corner to the middle line, seen from the board's edge: law of sines.
fn reaches(wedge: &Wedge, corner: &Corner) -> (f64, f64) {
    let half = wedge.inside / 2.0;
    (half * corner.side.sin() / (corner.side + wedge.alpha).sin(), half)
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

/// Closed stack of cloth and cards at the open end: six layers of cloth at the corner, four cards.
fn stack(m: &Measures, cloth: f64) -> f64 {
    let card = m.companion("card").and_then(|card| card.mm("thickness")).unwrap_or(0.0);
    6.0 * cloth + 4.0 * card
}

fn check_cloth(m: &Measures, wedge: &Wedge, cloth: f64, faults: &mut Vec<Fault>) {
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
        let stack = stack(m, cloth) / (1.0 - wedge.alpha.sin());
        if closed < stack {
            faults.push(doubt(
                "W27",
                m,
                "closed",
                format!("closed to {}, but six layers of cloth stand {}", mm(closed), mm(stack)),
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
    wanted(m, wedge, faults);
}

/// Whether a re-covered bellows moves, holds and pulls as the old one did.
fn wanted(m: &Measures, wedge: &Wedge, faults: &mut Vec<Fault>) {
    let mut compare = |key: &str, what: &str, got: f64, want: f64, unit: &str, scale: f64| {
        if (got - want).abs() > NEAR * want {
            faults.push(doubt(
                "W41",
                m,
                key,
                format!(
                    "{what} comes to {:.2} {unit}, wanted {:.2} {unit}",
                    got / scale,
                    want / scale
                ),
                "look at spans, lengths and clearances again, or at what is wanted",
            ));
        }
    };
    if let Some(want) = m.mm("stroke") {
        match stroke(m, wedge) {
            Some(got) => compare("stroke", "the stroke at the finger", got, want, "mm", 1.0),
            None => faults.push(wrong(
                m,
                "stroke",
                "a wanted stroke needs `finger` (from the hinge to the end of the finger)".into(),
                "finger = \"6 1/2 in\", and the spans `rest` and `closed`",
            )),
        }
        return wanted_rest(m, wedge, faults);
    }
    wanted_rest(m, wedge, faults);
}

fn wanted_rest(m: &Measures, wedge: &Wedge, faults: &mut Vec<Fault>) {
    let off = |got: f64, want: f64| (got - want).abs() > NEAR * want;
    if let Some(want) = m.quantity("volume").map(crate::units::Quantity::value) {
        let got = full_volume(wedge);
        if off(got, want) {
            faults.push(doubt(
                "W41",
                m,
                "volume",
                format!("fully open it holds {:.1} cm³, wanted {:.1} cm³", got / 1e3, want / 1e3),
                "look at length, width and span again, or at what is wanted",
            ));
        }
    }
    let Some(want) = m.quantity("force").map(crate::units::Quantity::value) else { return };
    let Some(vacuum) = m.quantity("vacuum").map(crate::units::Quantity::value) else {
        faults.push(wrong(
            m,
            "force",
            "a wanted force needs `vacuum` (the pressure difference)".into(),
            "vacuum = \"20 inH2O\"",
        ));
        return;
    };
    let at = m.mm("finger").unwrap_or(wedge.length);
    let got = shut_force(wedge, vacuum) * wedge.length / at;
    if off(got, want) {
        faults.push(doubt(
            "W41",
            m,
            "force",
            format!("nearly shut it pulls with {got:.2} N, wanted {want:.2} N"),
            "a model of straight folds; look at length, width and vacuum again, or at what is wanted",
        ));
    }
}

/// Half the opening angle at another span of the job, measured as the full span is.
fn at_span(m: &Measures, wedge: &Wedge, key: &str) -> Option<f64> {
    let outside = m.word("span-is") == Some("outside");
    let span = m.mm(key)?;
    Some(Wedge::angle(wedge.length, wedge.board, wedge.gap, span, outside))
}

/// Travel of the finger's end between rest and closed, the other board held: the chord of its turn (mm).
fn stroke(m: &Measures, wedge: &Wedge) -> Option<f64> {
    let finger = m.mm("finger")?;
    let rest = at_span(m, wedge, "rest").unwrap_or(wedge.alpha);
    let closed = at_span(m, wedge, "closed").unwrap_or(0.0);
    Some(2.0 * finger * (rest - closed).sin())
}

/// Volume between the boards, the cloth straight (mm³).
fn full_volume(wedge: &Wedge) -> f64 {
    wedge.width * wedge.height() * (wedge.inside / 2.0 + wedge.half_hinge())
}

/// Volume when opened to half angle `theta`, the folds straight (mm³).
///
/// # Source
/// Signed volume of the polyhedron whose panels fold straight in; a model, exact for stiff panels.
fn volume_at(wedge: &Wedge, theta: f64) -> f64 {
    let (l, a) = (wedge.length, wedge.alpha);
    let depth = l * (a.sin().powi(2) - theta.sin().powi(2)).max(0.0).sqrt();
    let inward =
        (l * a.cos() / (1.0 + a.sin())) * (1.0 - (a.cos() / theta.cos()).powi(2)).max(0.0).sqrt();
    l * theta.sin() * (l * theta.cos() - depth) * (wedge.width - 2.0 / 3.0 * inward)
}

/// Force at the open end when nearly shut (N), for a pressure difference in pascals.
///
/// # Source
/// Half of pressure times board by moments; the folds' share from the same model as the volume.
fn shut_force(wedge: &Wedge, vacuum: f64) -> f64 {
    let x = wedge.inside / 2.0 * (FRAC_PI_4 - wedge.alpha / 2.0).tan();
    let share = (1.0 - wedge.alpha.sin()) * (1.0 - 2.0 * x / (3.0 * wedge.width));
    board_force(wedge, vacuum) * share
}

/// Force at the open end on the board alone (N).
fn board_force(wedge: &Wedge, vacuum: f64) -> f64 {
    0.5 * vacuum * wedge.width * wedge.length * 1e-6
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
        sum = sum
            .given(m, "cloth", "thickness of the cloth")
            .note(
                "closed stack, least span",
                "(6 x cloth + 4 x card) / (1 - sin)",
                stack(m, cloth) / (1.0 - wedge.alpha.sin()),
                "mm",
            )
            .note("longer round four corners of thick cloth", "pi x cloth", PI * cloth, "mm");
    }
    if m.word("boards") == Some("double") { sum } else { motion(m, wedge, sum) }
}

/// What it does: stroke, volume, force.
fn motion(m: &Measures, wedge: &Wedge, mut sum: Sum) -> Sum {
    if let Some(stroke) = stroke(m, wedge) {
        sum = sum
            .given(m, "finger", "hinge to finger")
            .given(m, "rest", "span at rest")
            .given(m, "closed", "span closed")
            .note(
                "stroke at the finger",
                "2 x finger x sin(half angle at rest - closed)",
                stroke,
                "mm",
            )
            .given(m, "stroke", "stroke wanted");
    }
    sum =
        sum.note("free volume fully open", "width x height x mean span", full_volume(wedge), "mm³");
    if let (Some(rest), Some(closed)) = (at_span(m, wedge, "rest"), at_span(m, wedge, "closed")) {
        let swept = volume_at(wedge, rest) - volume_at(wedge, closed);
        sum = sum.note(
            "volume from rest to closed",
            "straight folds, no hinge gap; a model",
            swept,
            "mm³",
        );
    }
    if let Some(vacuum) = m.quantity("vacuum") {
        let shut = shut_force(wedge, vacuum.value());
        sum = sum
            .given(m, "vacuum", "pressure difference")
            .note(
                "force at the open end, board alone",
                "half of pressure x board",
                board_force(wedge, vacuum.value()),
                "N",
            )
            .note(
                "force at the open end, shut",
                "least in the stroke; straight folds, a model",
                shut,
                "N",
            );
        if let Some(finger) = m.mm("finger") {
            let at_finger = shut * wedge.length / finger;
            sum = sum.note("force at the finger, shut", "x length / finger", at_finger, "N");
        }
    }
    sum
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
        sum = sum.given(m, "cloth", "thickness of the cloth").note(
            "closed stack at the corners",
            "pleats x (6 x cloth + 4 x card)",
            f64::from(it.pleats) * stack(m, cloth),
            "mm",
        );
    }
    let volume = it.length * it.width * it.inside;
    sum = sum.note("free volume fully open", "length x width x span", volume, "mm³");
    if let Some(vacuum) = m.quantity("vacuum") {
        sum = sum.given(m, "vacuum", "pressure difference").note(
            "force on the board alone",
            "pressure x board",
            vacuum.value() * it.length * it.width * 1e-6,
            "N",
        );
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn wedge(length: f64, width: f64, inside: f64) -> Wedge {
        let alpha = Wedge::angle(length, 0.1, 0.0, inside, false);
        Wedge { length, width, board: 0.1, below: 0.1, gap: 0.0, alpha, inside }
    }

    // Worked by the signed volume of the folded polyhedron and its derivative, f64.
    #[test]
    fn volume_and_force() {
        for (l, w, si, full, share) in [
            (5.0, 1.5, 1.25, 4.650735, 0.660645),
            (16.0, 13.0, 6.0, 612.9331, 0.709104),
            (150.0, 45.0, 40.0, 133_794.6, 0.642110),
        ] {
            let it = wedge(l, w, si);
            assert_relative_eq!(full_volume(&it), full, max_relative = 1e-5);
            assert_relative_eq!(
                shut_force(&it, 1.0) / board_force(&it, 1.0),
                share,
                max_relative = 1e-5
            );
            assert_relative_eq!(volume_at(&it, it.alpha), full, max_relative = 1e-5);
        }
        let it = wedge(5.0, 1.5, 1.25);
        let at = |share: f64| volume_at(&it, (share * it.alpha.sin()).asin());
        assert_relative_eq!(at(0.5), 1.642142, max_relative = 1e-5);
        assert_relative_eq!(at(0.75), 2.687117, max_relative = 1e-5);
    }

    // Worked in newtons with 249.0889 Pa to the inch of water (NIST SP 811).
    #[test]
    fn force_on_the_board() {
        for (l, w, inches, force) in [
            (5.0, 1.125, 5.0, 2.259875),
            (4.875, 0.9375, 20.0, 7.344592),
            (16.0, 13.0, 20.0, 334.2606),
        ] {
            let it = wedge(l * 25.4, w * 25.4, 1.0);
            assert_relative_eq!(board_force(&it, inches * 249.0889), force, max_relative = 1e-5);
        }
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
