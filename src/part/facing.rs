//! A valve facing: the leather between a valve and its seat, a disk or a ring.
//!
//! It covers the seat's bore and a land all round; the stem goes through a hole that lets it wobble. A valve that
//! works between two seats has two facings, the outer and the inner, which may differ.

use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member, MemberName};
use super::sum::{Sum, doubt, mm, positive, shown, wrong};
use super::{Kind, KindCard};
use crate::geom::{Loop, Point, Shape};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Facing,
    name: "facing",
    about: "the leather of a valve, for one seat or two",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key {
        name: "seat",
        takes: Takes::Length,
        needed: true,
        about: "bore of the seat",
        example: "1/2 in",
    },
    Key {
        name: "land",
        takes: Takes::Length,
        needed: true,
        about: "width on which it rests, all round",
        example: "1/8 in",
    },
    Key {
        name: "stem",
        takes: Takes::Length,
        needed: false,
        about: "hole for the stem",
        example: "9/64 in",
    },
    Key {
        name: "members",
        takes: Takes::Word(&["both", "outer", "inner", "one"]),
        needed: false,
        about: "which facings of the valve: both (usual), outer, inner, or the only one",
        example: "both",
    },
    Key {
        name: "inner-seat",
        takes: Takes::Length,
        needed: false,
        about: "bore of the inner seat, where it differs",
        example: "7/16 in",
    },
    Key {
        name: "inner-land",
        takes: Takes::Length,
        needed: false,
        about: "land of the inner facing, where it differs",
        example: "3/32 in",
    },
    Key {
        name: "inner-stem",
        takes: Takes::Length,
        needed: false,
        about: "stem hole of the inner facing, where it differs",
        example: "9/64 in",
    },
    Key {
        name: "button",
        takes: Takes::Length,
        needed: false,
        about: "diameter of the button it is glued to",
        example: "7/8 in",
    },
];

fn develop(m: &Measures) -> Developed {
    let mut made = Developed {
        faults: positive(m, &["seat", "land", "stem", "inner-seat", "inner-land", "inner-stem"]),
        ..Developed::default()
    };
    if !made.faults.is_empty() {
        return made;
    }
    let members = m.word("members").unwrap_or("both");
    let idle: &[&str] = match members {
        "one" | "outer" => &["inner-seat", "inner-land", "inner-stem"],
        _ => &[],
    };
    if let Some(key) = idle.iter().find(|key| m.has(key)) {
        made.faults.push(wrong(
            m,
            key,
            format!("`{key}` is given, and members = \"{members}\" has no inner facing"),
            "leave it out, or say members = \"both\"",
        ));
        return made;
    }
    match members {
        "one" => one(m, &mut made, None, ["seat", "land", "stem"]),
        "outer" => one(m, &mut made, Some(MemberName::only("outer")), ["seat", "land", "stem"]),
        "inner" => one(m, &mut made, Some(MemberName::only("inner")), inner_keys(m)),
        _ => {
            one(m, &mut made, Some(MemberName::only("outer")), ["seat", "land", "stem"]);
            one(m, &mut made, Some(MemberName::only("inner")), inner_keys(m));
        }
    }
    made
}

fn inner_keys(m: &Measures) -> [&'static str; 3] {
    let own = |inner: &'static str, common: &'static str| if m.has(inner) { inner } else { common };
    [own("inner-seat", "seat"), own("inner-land", "land"), own("inner-stem", "stem")]
}

/// # Source
/// A land of at least 1/16 in: common practice. The facing as wide as its button: common practice.
fn one(m: &Measures, made: &mut Developed, name: Option<MemberName>, keys: [&'static str; 3]) {
    let [seat_key, land_key, stem_key] = keys;
    let (Some(seat), Some(land)) = (m.mm(seat_key), m.mm(land_key)) else {
        return;
    };
    let across = seat + 2.0 * land;
    let stem = m.mm(stem_key);
    if let Some(stem) = stem.filter(|stem| *stem >= seat) {
        made.faults.push(wrong(
            m,
            stem_key,
            format!("the stem hole {} is not smaller than the seat's bore {}", mm(stem), mm(seat)),
            "a hole reaching the bore lets the wind through: look at both figures again",
        ));
        return;
    }
    if land < 25.4 / 16.0 {
        made.faults.push(doubt(
            "W23",
            m,
            land_key,
            format!("the facing rests on {} only", mm(land)),
            "a land of 1/16 in (1.59 mm) or more all round is usual",
        ));
    }
    if let Some(button) = m.mm("button").filter(|button| (button - across).abs() > 0.8) {
        made.faults.push(doubt(
            "W23",
            m,
            "button",
            format!("the facing comes out {} wide on a button of {}", mm(across), mm(button)),
            "the facing is usually as wide as its button: look at seat and land again",
        ));
    }
    let (Ok(outline), hole) = (
        Loop::circle(Point::ORIGIN, across / 2.0),
        stem.and_then(|stem| Loop::circle(Point::ORIGIN, stem / 2.0).ok()),
    ) else {
        return;
    };
    let Ok(shape) = Shape::new(outline, hole.into_iter().collect()) else {
        return;
    };
    let mut sum = Sum::default()
        .given(m, seat_key, "bore of the seat")
        .given(m, land_key, "land")
        .step("+ 2 x land", "", 2.0 * land)
        .total("cut diameter", "seat + 2 x land", across);
    let mut dimensions = vec![Dimension::Diameter(Point::ORIGIN, across / 2.0, shown(across))];
    if let Some(stem) = stem {
        sum = sum.given(m, stem_key, "hole for the stem").total("hole", "", stem);
        dimensions.push(Dimension::Diameter(Point::ORIGIN, stem / 2.0, shown(stem)));
    }
    made.members.push(Member { name, soft: true, ..Member::of(shape, sum.terms, dimensions) });
}
