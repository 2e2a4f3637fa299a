//! A gusset: the leather corner between ribs of equal width, a rhombus on its corner, with a lap on the ribs.
//!
//! The ribs' ends are cut back from the boards' corner. As the ribs rise the angle between their ends changes; the
//! gusset must be as wide as it ever gets, or it binds.

use super::bellows;
use super::measures::{Key, Measures};
use super::member::{Developed, Dimension, Member};
use super::panel::{around, inset};
use super::sum::{Sum, mm, positive, shown, wrong};
use super::{Kind, KindCard};
use crate::geom::{Point, Shape, polygon};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Gusset,
    name: "gusset",
    about: "the leather corner between two ribs",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key::needed("rib", "width of a rib", "3 in"),
    Key::angle("rib-angle", "from the board to the rib's end; silent: 45 degrees", "45 deg"),
    Key::angle(
        "corner-angle",
        "of the gusset at the board; silent: flush with upright ribs",
        "75 deg",
    ),
    Key::angle("opens", "how far the ribs rise from the board; silent: upright", "60 deg"),
    Key::length("lap", "glued on the ribs, on every edge", "1/2 in"),
    Key::length("skive", "pared to a feather, within the lap", "3/8 in"),
];

/// The angles (radians).
struct Angles {
    rib: f64,
    corner: f64,
    opens: f64,
    least: f64,
    flush: f64,
}

fn degrees(value: f64) -> String {
    format!("{:.2} degrees", value.to_degrees())
}

/// The widest corner that still reaches from board to board when the ribs rise to `opens` (radians).
fn reaching(rib: f64, opens: f64) -> f64 {
    2.0 * (rib.sin() * opens.sin()).clamp(-1.0, 1.0).acos()
}

fn angles(m: &Measures, made: &mut Developed) -> Option<Angles> {
    let asked = |key| m.quantity(key).map(|q| q.value().to_radians());
    let (rib, opens) = (asked("rib-angle").unwrap_or(45_f64.to_radians()), asked("opens"));
    let right = 90_f64.to_radians();
    let opens = opens.unwrap_or(right);
    let before = made.faults.len();
    for (key, angle, least) in [("rib-angle", rib, 5.0_f64), ("opens", opens, 1.0)] {
        if angle < least.to_radians() || angle > right + 1e-9 {
            made.faults.push(wrong(
                m,
                key,
                format!("`{key}` is {}", degrees(angle)),
                &format!("it is measured from the board: {least} to 90 degrees"),
            ));
        }
    }
    if made.faults.len() > before {
        return None;
    }
    let (least, flush) = (bellows::least_corner(rib, opens), 2.0 * (right - rib));
    let corner = asked("corner-angle").unwrap_or(flush);
    // From board to board the leather must reach as far as the ribs open.
    let most = reaching(rib, opens);
    if least > most + 1e-9 {
        let widest = bellows::widest_rib(opens, |rib| reaching(rib, opens));
        made.faults.push(wrong(
            m,
            "rib-angle",
            format!(
                "no gusset serves ribs cut at {}: they come to stand {} apart, and from board to board it may have {} \
                 at most",
                degrees(rib),
                degrees(least),
                degrees(most)
            ),
            &format!("up to {} goes; 45 is usual", bellows::degrees_within(widest)),
        ));
        return None;
    }
    let wanted = format!("corner-angle = \"{:.1} deg\"", (least.to_degrees() * 10.0).ceil() / 10.0);
    if corner < least - 1e-9 || corner <= 0.0 {
        let text = if m.has("corner-angle") {
            format!(
                "a gusset of {} at the board binds: the ribs come to stand {} apart",
                degrees(corner),
                degrees(least)
            )
        } else {
            format!(
                "a gusset flush with upright ribs would have {} at the board and bind: the ribs come to stand {} apart",
                degrees(corner),
                degrees(least)
            )
        };
        made.faults.push(wrong(m, "corner-angle", text, &format!("at least {wanted}")));
        return None;
    }
    if corner > most + 1e-9 {
        made.faults.push(wrong(
            m,
            "corner-angle",
            format!(
                "a gusset of {} at the board is too short from board to board: the ribs rise to {}",
                degrees(corner),
                degrees(opens)
            ),
            &format!("from {wanted} up to {:.1} deg", most.to_degrees()),
        ));
        return None;
    }
    Some(Angles { rib, corner, opens, least, flush })
}

fn develop(m: &Measures) -> Developed {
    let mut made = Developed { faults: positive(m, &["rib"]), ..Developed::default() };
    let Some(rib) = m.mm("rib") else {
        return made;
    };
    let (lap, skive) = (m.mm_or("lap", 0.0), m.mm_or("skive", 0.0));
    if skive > lap + 1e-9 {
        made.faults.push(wrong(
            m,
            "skive",
            format!("`skive` {} is more than the lap {}", mm(skive), mm(lap)),
            "the edge is pared within the lap: a lap as large, or less to pare",
        ));
    }
    let angles = angles(m, &mut made);
    let (Some(angles), true) = (angles, made.faults.is_empty()) else {
        return made;
    };
    let side = rib / angles.rib.sin();
    let (x, y) = (side * (angles.corner / 2.0).cos(), side * (angles.corner / 2.0).sin());
    let bare = [(x, 0.0), (0.0, y), (-x, 0.0), (0.0, -y)].map(|(x, y)| Point::new(x, y));
    let Some(Ok(outline)) = inset(&bare, -lap).map(|points| polygon(&points)) else {
        return made;
    };
    let b = outline.bounds();
    let cut_side = side + 2.0 * lap / angles.corner.sin();
    let sum = sum(m, &angles, [rib, side, x, y]).total(
        "side",
        "side + 2 x lap / sin of the corner",
        cut_side,
    );
    let sum = sum.total("board to board", "with the lap", b.width()).total(
        "rib to rib",
        "with the lap",
        b.height(),
    );
    let sum = notes(sum, &angles, rib);
    let dimensions = vec![
        Dimension::Span(
            Point::new(b.x1, 0.0),
            Point::new(b.x0, 0.0),
            b.height() / 2.0,
            shown(b.width()),
        ),
        Dimension::Span(
            Point::new(0.0, b.y0),
            Point::new(0.0, b.y1),
            b.width() / 2.0,
            shown(b.height()),
        ),
    ];
    let guides = if lap > 0.0 { around(&bare) } else { Vec::new() };
    made.members
        .push(Member { guides, ..Member::of(Shape::plain(outline), sum.terms, dimensions) });
    made
}

fn sum(m: &Measures, angles: &Angles, [_, side, x, y]: [f64; 4]) -> Sum {
    let mut sum = Sum::default().given(m, "rib", "width of a rib");
    for (key, label, silent, angle) in [
        ("rib-angle", "angle of the rib's end", "usual", angles.rib),
        ("opens", "the ribs rise", "upright", angles.opens),
        ("corner-angle", "corner angle", "flush: 180 - 2 x rib's angle", angles.corner),
    ] {
        sum = if m.has(key) {
            sum.given(m, key, label)
        } else {
            sum.silent_angle(label, silent, angle.to_degrees())
        };
    }
    sum.given(m, "lap", "lap on the ribs")
        .given(m, "skive", "pared within the lap")
        .step("side without the lap", "rib / sin of the rib's angle", side)
        .step("board to board without the lap", "2 x side x cos(half corner)", 2.0 * x)
        .step("rib to rib without the lap", "2 x side x sin(half corner)", 2.0 * y)
}

fn notes(sum: Sum, angles: &Angles, rib: f64) -> Sum {
    sum.note("least corner angle", "ribs' ends over the motion", angles.least.to_degrees(), "°")
        .note(
            "corner angle flush with upright ribs",
            "180 - 2 x rib's angle",
            angles.flush.to_degrees(),
            "°",
        )
        .note("the boards open", "2 x rib x sin of the rise", 2.0 * rib * angles.opens.sin(), "mm")
}

#[cfg(test)]
mod tests {
    use super::super::trial::{given, one, total};
    use super::*;
    use approx::assert_relative_eq;

    // The ribs' ends as directions in space, their angle taken along the motion; worked by plane geometry.
    #[test]
    fn the_ribs_stand_apart_as_worked() {
        for (rib, opens, least) in [
            (45.0, 30.0, 7.6819),
            (45.0, 45.0, 16.8421),
            (45.0, 60.0, 28.9550),
            (45.0, 90.0, 60.0),
            (60.0, 90.0, 41.4096),
            (67.5, 90.0, 45.0),
        ] {
            let found =
                bellows::least_corner(f64::to_radians(rib), f64::to_radians(opens)).to_degrees();
            assert_relative_eq!(found, least, max_relative = 1e-5);
        }
        for (rib, opens) in (10..=90).flat_map(|rib| (1..=9).map(move |n| (rib, n * 10))) {
            let (rib, opens) = (f64::from(rib).to_radians(), f64::from(opens).to_radians());
            // In space: a rib's end runs at its angle from the board's edge and rises with the rib about that edge.
            let apart = (0..=900).map(|n| {
                let rise = opens * f64::from(n) / 900.0;
                let (along, up) = (rib.cos(), rib.sin());
                let one = [along, up * rise.cos(), up * rise.sin()];
                let two = [up * rise.cos(), along, up * rise.sin()];
                let dot: f64 = one.iter().zip(two).map(|(a, b)| a * b).sum();
                dot.clamp(-1.0, 1.0).acos()
            });
            let most = apart.fold(0.0, f64::max);
            assert!((bellows::least_corner(rib, opens) - most).abs() < 1e-6, "{rib} {opens}");
        }
    }

    // Worked by plane geometry; 6 by 6 on its corner for ribs of 3 is the shop's rule: a square as wide as the opening.
    #[test]
    fn gussets_come_out_as_worked() {
        for (unit, keys, side, board, rib) in [
            ("in", ["3", "45", "90", "0"], 4.242641, 6.0, 6.0),
            ("in", ["3", "45", "60", "0"], 4.242641, 7.348469, 4.242641),
            ("in", ["3", "45", "90", "0.5"], 5.242641, 7.414214, 7.414214),
            ("in", ["3", "60", "60", "0"], 3.464102, 6.0, 3.464102),
            ("in", ["3", "67.5", "45", "0"], 3.247177, 6.0, 2.485281),
            ("mm", ["50", "45", "90", "0"], 70.71068, 100.0, 100.0),
        ] {
            let scale = if unit == "in" { 25.4 } else { 1.0 };
            let m = given(
                &[
                    ("rib", &format!("{} {unit}", keys[0])),
                    ("rib-angle", &format!("{} deg", keys[1])),
                    ("corner-angle", &format!("{} deg", keys[2])),
                    ("lap", &format!("{} {unit}", keys[3])),
                ],
                KEYS,
            );
            let made = one(develop(&m));
            assert_relative_eq!(total(&made, "side"), side * scale, max_relative = 1e-5);
            assert_relative_eq!(total(&made, "board to board"), board * scale, max_relative = 1e-5);
            assert_relative_eq!(total(&made, "rib to rib"), rib * scale, max_relative = 1e-5);
            // The outline's own sides, not the figure of the sum.
            assert_relative_eq!(
                made.shape.outline().length(),
                4.0 * side * scale,
                max_relative = 1e-5
            );
        }
    }

    #[test]
    fn a_gusset_that_would_bind_is_refused() {
        let all = [
            [("rib", "3 in"), ("rib-angle", "70 deg"), ("lap", "0 in")],
            [("rib", "3 in"), ("corner-angle", "59 deg"), ("lap", "0 in")],
            [("rib", "3 in"), ("corner-angle", "175 deg"), ("lap", "0 in")],
            [("rib", "3 in"), ("opens", "100 deg"), ("lap", "0 in")],
            [("rib", "3 in"), ("skive", "1/2 in"), ("lap", "1/4 in")],
        ];
        for keys in all {
            let made = develop(&given(&keys, KEYS));
            assert!(made.members.is_empty());
            assert_eq!(made.faults.iter().map(|f| f.code).collect::<Vec<_>>(), ["E28"], "{keys:?}");
        }
        let m = given(&[("rib", "3 in"), ("corner-angle", "30 deg"), ("opens", "60 deg")], KEYS);
        assert!(develop(&m).faults.is_empty());
    }

    // At 67.5 degrees the least corner, 2 x rib - 90, is as large as the flush one, 180 - 2 x rib: plane geometry.
    #[test]
    fn where_no_gusset_serves_the_cure_is_an_angle_that_does() {
        for corner in [vec![], vec![("corner-angle", "50 deg")]] {
            let typed = |rib| [&[("rib", "3 in"), ("rib-angle", rib)], &corner[..]].concat();
            let made = develop(&given(&typed("70 deg"), KEYS));
            assert_eq!(made.faults.len(), 1);
            assert!(made.faults[0].text.starts_with("no gusset serves"), "{:?}", made.faults);
            let cure = made.faults[0].cure.as_deref().unwrap();
            assert!(cure.contains("67.5 degrees"), "{cure}");
        }
        let good = [("rib", "3 in"), ("rib-angle", "67.5 deg")];
        assert!(develop(&given(&good, KEYS)).faults.is_empty());
    }
}
