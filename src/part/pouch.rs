//! A pouch: a disk of thin leather glued over a well, sagging by its dip.
//!
//! The disk must reach down into the well and back, so its free diameter is the length of a line across the dished
//! skin. Which line depends on how the dip is made; the rules bracket one another, and the spread is shown.

use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member, Punch};
use super::sum::{Sum, doubt, mm, positive, shown, wrong};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::{Loop, Point, Shape};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Pouch,
    name: "pouch",
    about: "a disk glued over a well, sagging by its dip",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    develop,
};

const KEYS: &[Key] = &[
    Key {
        name: "well",
        takes: Takes::Length,
        needed: true,
        about: "diameter of the well",
        example: "1 1/8 in",
    },
    Key {
        name: "dip",
        takes: Takes::Length,
        needed: true,
        about: "how far it sags at the centre",
        example: "3/32 in",
    },
    Key {
        name: "land",
        takes: Takes::Length,
        needed: true,
        about: "glued rim",
        example: "3/16 in",
    },
    Key {
        name: "rule",
        takes: Takes::Word(&["arc", "ball", "lifter", "area"]),
        needed: false,
        about: "how the dip is made: over a form (arc), with a round-nosed tool (ball), by a flat lifter, or equal area",
        example: "arc",
    },
    Key {
        name: "nose",
        takes: Takes::Length,
        needed: false,
        about: "nose radius of the ball tool",
        example: "1/2 in",
    },
    Key {
        name: "lifter",
        takes: Takes::Length,
        needed: false,
        about: "diameter of the flat lifter",
        example: "1/2 in",
    },
    Key {
        name: "bleed",
        takes: Takes::Length,
        needed: false,
        about: "bleed hole at the centre, always punched",
        example: "#70 drill",
    },
    Key {
        name: "depth",
        takes: Takes::Length,
        needed: false,
        about: "depth of the well",
        example: "1/8 in",
    },
    Key {
        name: "leather",
        takes: Takes::Length,
        needed: false,
        about: "thickness of the leather, for the clearance at the bottom",
        example: "9 thou",
    },
    Key {
        name: "pitch",
        takes: Takes::Length,
        needed: false,
        about: "from this well's centre to the next",
        example: "1 1/2 in",
    },
];

/// Free diameter of a skin that is dished over a form: the arc through rim and bottom.
///
/// # Source
/// Circle through rim and bottom: R = (a² + h²) / 2h, half angle 2·atan(h/a), elementary geometry.
fn by_arc(d: f64, h: f64) -> f64 {
    let a = d / 2.0;
    let radius = (a * a + h * h) / (2.0 * h);
    2.0 * radius * 2.0 * (h / a).atan()
}

/// Free diameter with the area of the dish; also the cone that a pointed tool presses.
fn by_area(d: f64, h: f64) -> f64 {
    2.0 * (d / 2.0).hypot(h)
}

/// Free diameter under a round-nosed tool: straight from the rim to the nose, then round it.
fn by_ball(d: f64, h: f64, nose: f64) -> f64 {
    let a = d / 2.0;
    let straight = (a * a - 2.0 * nose * h + h * h).max(0.0).sqrt();
    let wrap = a.atan2(nose - h) - straight.atan2(nose);
    2.0 * (straight + nose * wrap)
}

/// Free diameter with a flat lifter held at the depth of the dip, the skirt straight.
fn by_lifter(d: f64, h: f64, lifter: f64) -> f64 {
    lifter + 2.0 * ((d - lifter) / 2.0).hypot(h)
}

fn develop(m: &Measures) -> Developed {
    let mut made = Developed {
        faults: positive(m, &["well", "dip", "land", "nose", "lifter", "bleed"]),
        ..Developed::default()
    };
    let (Some(well), Some(dip), Some(land)) = (m.mm("well"), m.mm("dip"), m.mm("land")) else {
        return made;
    };
    if dip > well / 2.0 {
        made.faults.push(wrong(
            m,
            "dip",
            format!("dip {} is more than half the well {}", mm(dip), mm(well)),
            &format!(
                "a dip up to {} can be worked out; usual is about a tenth of the well",
                mm(well / 2.0)
            ),
        ));
    }
    let rule = m.word("rule").unwrap_or("arc");
    let free = free_diameter(m, rule, well, dip, &mut made.faults);
    let cut = free + 2.0 * land;
    doubts(m, &mut made, well, dip, land, free);
    if any_error(&made.faults) {
        return made;
    }
    let sum = sum(m, rule, well, dip, land, free);
    let Ok(outline) = Loop::circle(Point::ORIGIN, cut / 2.0) else {
        return made;
    };
    let punches =
        m.mm("bleed").map(|diameter| Punch { at: Point::ORIGIN, diameter }).into_iter().collect();
    made.members.push(Member {
        punches,
        soft: true,
        ..Member::of(
            Shape::plain(outline),
            sum.terms,
            vec![Dimension::Diameter(Point::ORIGIN, cut / 2.0, shown(cut))],
        )
    });
    made
}

/// Free diameter by the rule that was asked for; what the rule lacks is a fault.
fn free_diameter(m: &Measures, rule: &str, well: f64, dip: f64, faults: &mut Vec<Fault>) -> f64 {
    let radius = (well * well / 4.0 + dip * dip) / (2.0 * dip);
    match (rule, m.mm("nose"), m.mm("lifter")) {
        ("area", ..) => return by_area(well, dip),
        ("ball", Some(nose), _) if nose <= radius => return by_ball(well, dip, nose),
        ("lifter", _, Some(lifter)) if lifter < well => return by_lifter(well, dip, lifter),
        ("ball", Some(nose), _) => faults.push(wrong(
            m,
            "nose",
            format!("nose radius {} is more than the dip's own radius {}", mm(nose), mm(radius)),
            "a rounder tool does not touch the middle: take rule = \"arc\"",
        )),
        ("ball", None, _) => faults.push(wrong(
            m,
            "rule",
            "rule = \"ball\" needs `nose`, the nose radius of the tool".into(),
            "nose = \"1/2 in\"",
        )),
        ("lifter", _, Some(lifter)) => faults.push(wrong(
            m,
            "lifter",
            format!("lifter {} does not go into the well {}", mm(lifter), mm(well)),
            "give the diameter of the disk that lifts, less than the well",
        )),
        ("lifter", _, None) => faults.push(wrong(
            m,
            "rule",
            "rule = \"lifter\" needs `lifter`, the diameter of the lifter".into(),
            "lifter = \"1/2 in\"",
        )),
        _ => {}
    }
    by_arc(well, dip)
}

fn sum(m: &Measures, rule: &str, well: f64, dip: f64, land: f64, free: f64) -> Sum {
    let cut = free + 2.0 * land;
    let mut sum = Sum::default()
        .given(m, "well", "well")
        .given(m, "dip", "dip")
        .given(m, "land", "land")
        .given(m, "nose", "nose of the tool")
        .given(m, "lifter", "lifter")
        .given(m, "bleed", "bleed hole, punched by hand");
    sum = match rule {
        "ball" => {
            sum.step("over the well, under a round nose", "2 x (straight + nose x wrap)", free)
        }
        "lifter" => sum.step("over the well, flat lifter", "lifter + 2 x skirt", free),
        "area" => sum.step("over the well, equal area", "2 x root(half well² + dip²)", free),
        _ => sum.step("over the well, by the arc", "arc through rim and bottom", free),
    };
    sum = sum
        .step("+ 2 x land", "", 2.0 * land)
        .total("cut diameter", "", cut)
        .note("rim to be gathered", "free / well - 1", (free / well - 1.0) * 100.0, "%")
        .note(
            "by equal area it would be",
            "least-strain rule",
            by_area(well, dip) + 2.0 * land,
            "mm",
        )
        .note("by the arc it would be", "", by_arc(well, dip) + 2.0 * land, "mm");
    let mut all = vec![by_area(well, dip), by_arc(well, dip), free];
    if let Some(lifter) = m.mm("lifter").filter(|f| *f < well) {
        sum = sum.note(
            "by a flat lifter it would be",
            "",
            by_lifter(well, dip, lifter) + 2.0 * land,
            "mm",
        );
        all.push(by_lifter(well, dip, lifter));
    }
    let most = all.iter().copied().fold(f64::MIN, f64::max);
    let least = all.iter().copied().fold(f64::MAX, f64::min);
    sum = sum.note("spread between the rules", "", most - least, "mm");
    if let Some(depth) = m.mm("depth") {
        let left = depth - dip - m.mm_or("leather", 0.0);
        sum = sum.given(m, "depth", "depth of the well").note(
            "clearance at the bottom",
            "depth - dip - leather",
            left,
            "mm",
        );
    }
    if let Some(pitch) = m.mm("pitch") {
        sum = sum.given(m, "pitch", "pitch").note(
            "room to the next, dished",
            "pitch - well - 2 x land",
            pitch - well - 2.0 * land,
            "mm",
        );
    }
    sum
}

/// What a careful rebuilder would look at again.
///
/// # Source
/// Clearance 1/64 in: as reported by rebuilders in MMD 1999.05.31.07; dip at least half the depth: the same letter.
/// Ten per cent of gather: common practice.
fn doubts(m: &Measures, made: &mut Developed, well: f64, dip: f64, land: f64, free: f64) {
    if free / well - 1.0 > 0.10 {
        made.faults.push(doubt(
            "W20",
            m,
            "dip",
            format!(
                "the rim must be gathered by {:.1} %, which puckers",
                (free / well - 1.0) * 100.0
            ),
            "above 10 % look at the dip again, or dish the leather wet over a form",
        ));
    } else if dip > well / 4.0 {
        made.faults.push(doubt(
            "W20",
            m,
            "dip",
            format!("dip {} is more than a quarter of the well {}", mm(dip), mm(well)),
            "the rules were not tried so deep: cut one on scrap first",
        ));
    }
    if let Some(depth) = m.mm("depth") {
        let left = depth - dip - m.mm_or("leather", 0.0);
        if left < 25.4 / 64.0 {
            made.faults.push(doubt(
                "W21",
                m,
                "dip",
                format!("only {} between pouch and bottom of the well", mm(left)),
                "at least 1/64 in (0.40 mm) is usual: less dip, or a deeper well",
            ));
        }
        if dip < depth / 2.0 {
            made.faults.push(doubt(
                "W22",
                m,
                "dip",
                format!("dip {} is less than half the depth {}", mm(dip), mm(depth)),
                "a pouch with too little dip leaks at the valve when the leather shrinks",
            ));
        }
    }
    if let Some(pitch) = m.mm("pitch")
        && well + 2.0 * land > pitch
    {
        made.faults.push(wrong(
            m,
            "pitch",
            format!(
                "neighbours overlap on the board: well and two lands take {}, the pitch is {}",
                mm(well + 2.0 * land),
                mm(pitch)
            ),
            &format!("the land can be {} at most", mm((pitch - well).max(0.0) / 2.0)),
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    // Worked values by independent quadrature, and the series s = d (1 + 8/3 (h/d)^2) of the arc rule.
    #[test]
    fn the_rules_give_the_worked_values() {
        let cases = [
            (1.0, 0.125, 1.030776, 1.041159),
            (1.25, 0.125, 1.274755, 1.283071),
            (1.5, 0.125, 1.520691, 1.527625),
            (0.875, 0.0625, 0.883883, 0.886857),
            (32.0, 3.0, 32.55764, 32.74480),
            (20.0, 2.5, 20.61553, 20.82319),
            (1.0, 0.25, 1.118034, 1.159119),
        ];
        for (d, h, area, arc) in cases {
            assert_relative_eq!(by_area(d, h), area, max_relative = 1e-5);
            assert_relative_eq!(by_arc(d, h), arc, max_relative = 1e-5);
        }
        for (q, s) in [(0.125, 1.031416), (0.25, 1.032121), (0.5, 1.033794), (1.0, 1.039582)] {
            assert_relative_eq!(by_ball(1.0, 0.125, q), s, max_relative = 1e-5);
        }
        assert_relative_eq!(by_ball(1.25, 0.125, 0.5), 1.276210, max_relative = 1e-5);
        assert_relative_eq!(by_ball(32.0, 3.0, 10.0), 32.58087, max_relative = 1e-5);
        for (d, f, h, s) in [
            (1.0, 0.5, 0.125, 1.059017),
            (1.0, 0.625, 0.125, 1.075694),
            (1.25, 0.75, 0.125, 1.309017),
            (32.0, 16.0, 3.0, 33.08801),
        ] {
            assert_relative_eq!(by_lifter(d, h, f), s, max_relative = 1e-5);
        }
    }

    #[test]
    fn the_rules_keep_their_order() {
        for i in 1..=50 {
            let (d, h) = (1.0, f64::from(i) * 0.005);
            let radius = (0.25 + h * h) / (2.0 * h);
            assert!(by_area(d, h) < by_ball(d, h, radius / 2.0), "{h}");
            assert!(by_ball(d, h, radius / 2.0) < by_arc(d, h), "{h}");
            assert_relative_eq!(by_ball(d, h, radius), by_arc(d, h), max_relative = 1e-9);
            assert_relative_eq!(by_ball(d, h, 1e-12), by_area(d, h), max_relative = 1e-9);
        }
    }
}
