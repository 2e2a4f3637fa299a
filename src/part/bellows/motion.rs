//! What a bellows does: stroke, volume and force, and whether they come to what is wanted.

use super::wedge::Wedge;
use crate::fault::Fault;
use crate::part::measures::Measures;
use crate::part::sum::{Sum, doubt, wrong};
use crate::units::Quantity;
use std::f64::consts::FRAC_PI_4;

/// What is wanted counts as met within this share.
///
/// # Source
/// Our choice: the model of straight folds is hardly better.
const NEAR: f64 = 0.05;

/// Whether a re-covered bellows moves, holds and pulls as the old one did.
pub(super) fn wanted(m: &Measures, wedge: &Wedge, faults: &mut Vec<Fault>) {
    if let Some(want) = m.mm("stroke") {
        match stroke(m, wedge) {
            Some(got) => {
                told(m, "stroke", "the stroke at the finger", (got, want), ("mm", 1.0), faults);
            }
            None => faults.push(wrong(
                m,
                "stroke",
                "a wanted stroke needs `finger` (from the hinge to the end of the finger)".into(),
                "finger = \"6 1/2 in\", and the spans `rest` and `closed`",
            )),
        }
    }
    let at = m.mm("finger").unwrap_or(wedge.length);
    let inward = m.word("folds") != Some("out");
    let pull = |vacuum: f64| {
        let force = if inward { shut_force(wedge, vacuum) } else { board_force(wedge, vacuum) };
        force * wedge.length / at
    };
    wanted_of_wind(m, full_volume(wedge), pull, faults);
}

/// Whether volume and force, the latter by the pressure difference, come to what is wanted.
pub(super) fn wanted_of_wind(
    m: &Measures,
    volume: f64,
    pull: impl Fn(f64) -> f64,
    faults: &mut Vec<Fault>,
) {
    if let Some(want) = m.quantity("volume").map(Quantity::value) {
        told(m, "volume", "the volume fully open", (volume, want), ("cm³", 1000.0), faults);
    }
    let Some(want) = m.quantity("force").map(Quantity::value) else { return };
    let Some(vacuum) = m.quantity("vacuum").map(Quantity::value) else {
        faults.push(wrong(
            m,
            "force",
            "a wanted force needs `vacuum` (the pressure difference)".into(),
            "vacuum = \"20 inH2O\"",
        ));
        return;
    };
    told(m, "force", "the force", (pull(vacuum), want), ("N", 1.0), faults);
}

fn told(
    m: &Measures,
    key: &str,
    what: &str,
    (got, want): (f64, f64),
    (unit, scale): (&str, f64),
    faults: &mut Vec<Fault>,
) {
    if (got - want).abs() > NEAR * want {
        faults.push(doubt(
            "W41",
            m,
            key,
            format!("{what} comes to {:.2} {unit}, wanted {:.2} {unit}", got / scale, want / scale),
            "look at lengths, spans and pressure again, or at what is wanted",
        ));
    }
}

/// Half the opening angle at another span of the job, measured as the full span is.
pub(super) fn at_span(m: &Measures, wedge: &Wedge, key: &str) -> Option<f64> {
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

/// What it does: stroke, volume, force.
pub(super) fn motion(m: &Measures, wedge: &Wedge, mut sum: Sum) -> Sum {
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
    // Of folds that go outward there is no model: their corners go in while their panels go out.
    let inward = m.word("folds") != Some("out");
    if let (true, Some(rest), Some(closed)) =
        (inward, at_span(m, wedge, "rest"), at_span(m, wedge, "closed"))
    {
        let swept = volume_at(wedge, rest) - volume_at(wedge, closed);
        sum = sum.note(
            "volume from rest to closed",
            "straight folds, no hinge gap; a model",
            swept,
            "mm³",
        );
    }
    sum = sum.given(m, "volume", "volume wanted");
    if let Some(vacuum) = m.quantity("vacuum").map(Quantity::value) {
        sum = sum.given(m, "vacuum", "pressure difference").note(
            "force at the open end, board alone",
            "half of pressure x board",
            board_force(wedge, vacuum),
            "N",
        );
        if inward {
            let shut = shut_force(wedge, vacuum);
            let rule = "least in the stroke; straight folds, a model";
            sum = sum.note("force at the open end, shut", rule, shut, "N");
            if let Some(finger) = m.mm("finger") {
                let at_finger = shut * wedge.length / finger;
                sum = sum.note("force at the finger, shut", "x length / finger", at_finger, "N");
            }
        }
    }
    sum.given(m, "force", "force wanted")
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
}
