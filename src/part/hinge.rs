//! A hinge: a strip glued to two boards, folding along a crease between them.

use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Member};
use super::sum::{Sum, mm, positive, sides, wrong};
use super::{Kind, KindCard};
use crate::fault::Fault;
use crate::geom::{Point, Seg, Shape, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Hinge,
    name: "hinge",
    about: "a strip that folds along a crease",
    keys: KEYS,
    companions: &[],
    lengthwise: true,
    taut: false,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key {
        name: "length",
        takes: Takes::Length,
        needed: true,
        about: "along the hinge line: the width of the boards",
        example: "1 5/16 in",
    },
    Key {
        name: "leaf",
        takes: Takes::Length,
        needed: false,
        about: "glued on each board",
        example: "1/2 in",
    },
    Key {
        name: "gap",
        takes: Takes::Length,
        needed: false,
        about: "left free between the boards",
        example: "1/32 in",
    },
    Key {
        name: "width",
        takes: Takes::Length,
        needed: false,
        about: "whole width, instead of leaf and gap",
        example: "1 in",
    },
];

fn develop(m: &Measures) -> Developed {
    let mut made =
        Developed { faults: positive(m, &["length", "leaf", "width"]), ..Developed::default() };
    let Some(length) = m.mm("length") else {
        return made;
    };
    let gap = m.mm_or("gap", 0.0);
    let width = match (m.mm("width"), m.mm("leaf")) {
        (Some(_), Some(_)) => {
            made.faults.push(wrong(
                m,
                "width",
                "give `width`, or `leaf` and `gap`, not both".into(),
                "leave one of them out",
            ));
            return made;
        }
        (Some(width), None) => width,
        (None, Some(leaf)) => 2.0 * leaf + gap,
        (None, None) => {
            made.faults.push(
                Fault::error("E12", "a hinge needs `leaf` (glued on each board), or `width`")
                    .at(&m.place)
                    .cure("leaf = \"1/2 in\""),
            );
            return made;
        }
    };
    if gap >= width {
        made.faults.push(wrong(
            m,
            "gap",
            format!("gap {} leaves nothing to glue of {}", mm(gap), mm(width)),
            "the gap is the free strip between the boards",
        ));
    }
    if !made.faults.is_empty() {
        return made;
    }
    let Ok(outline) = rectangle(Point::ORIGIN, length, width, 0.0) else {
        return made;
    };
    let across = |y: f64| Seg::line(Point::new(0.0, y), Point::new(length, y));
    let middle = width / 2.0;
    let creases = if gap > 0.0 {
        vec![across(middle - gap / 2.0), across(middle + gap / 2.0)]
    } else {
        vec![across(middle)]
    };
    let mut sum = Sum::default()
        .given(m, "length", "along the hinge")
        .given(m, "leaf", "glued on each board")
        .given(m, "gap", "free between the boards")
        .given(m, "width", "width")
        .total("cut length", "", length)
        .total("cut width", if m.has("leaf") { "2 x leaf + gap" } else { "" }, width)
        .note("crease from the edge", "", creases[0].a.y, "mm");
    if gap > 0.0 {
        sum = sum.note("no glue between the creases", "", gap, "mm");
    }
    made.members.push(Member {
        creases,
        ..Member::of(Shape::plain(outline), sum.terms, sides(length, width))
    });
    made
}
