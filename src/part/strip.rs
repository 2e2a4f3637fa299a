//! A seal strip: long and narrow, with slots and holes if wanted.

use super::holes::{
    CIRCLE_KEY, HOLE_KEY, LIGAMENT_KEY, ROW_KEY, SLOT_KEY, TABLE_KEY, WINDOW_KEY, holes,
};
use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Member};
use super::sum::{Sum, corner_fits, positive, sides};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::{Point, Shape, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Strip,
    name: "strip",
    about: "a long strip, with slots if wanted",
    keys: KEYS,
    companions: &[],
    lengthwise: true,
    taut: false,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key { name: "length", takes: Takes::Length, needed: true, about: "length", example: "12 in" },
    Key { name: "width", takes: Takes::Length, needed: true, about: "width", example: "3/4 in" },
    Key {
        name: "corner",
        takes: Takes::Length,
        needed: false,
        about: "radius of the corners",
        example: "1/8 in",
    },
    LIGAMENT_KEY,
    ROW_KEY,
    HOLE_KEY,
    CIRCLE_KEY,
    TABLE_KEY,
    SLOT_KEY,
    WINDOW_KEY,
];

fn develop(m: &Measures) -> Developed {
    let mut made = Developed { faults: positive(m, &["length", "width"]), ..Developed::default() };
    let (Some(length), Some(width)) = (m.mm("length"), m.mm("width")) else {
        return made;
    };
    if !made.faults.is_empty() {
        return made;
    }
    let corner = m.mm_or("corner", 0.0);
    if let Some(fault) = corner_fits(m, "corner", ("strip", length, width)) {
        made.faults.push(fault);
        return made;
    }
    let Ok(outline) = rectangle(Point::ORIGIN, length, width, corner) else {
        return made;
    };
    let bored = holes(m, &outline, Vec::new());
    made.faults.extend(bored.faults);
    if any_error(&made.faults) {
        return made;
    }
    let mut sum = Sum::default()
        .given(m, "length", "length")
        .given(m, "width", "width")
        .given(m, "corner", "radius of the corners")
        .total("cut length", "", length)
        .total("cut width", "", width);
    match Shape::new(outline, bored.loops) {
        Ok(shape) => {
            sum.terms.extend(bored.terms);
            let mut dimensions = sides(length, width);
            dimensions.extend(bored.dimensions);
            made.members.push(Member::of(shape, sum.terms, dimensions));
        }
        Err(fault) => made.faults.push(
            Fault::error("E27", format!("the holes do not fit the strip: {fault}"))
                .at(&m.place)
                .cure("look at their places and sizes"),
        ),
    }
    made
}
