//! A gasket: a plate with holes, rectangular, round-ended, a ring, a frame, a flange with ears, an elbow's with one,
//! or a square skin that seals by the wind behind it. Between two boards it may be cut so that it leaves open what
//! their holes share.

mod plate;

use super::holes::{
    CIRCLE_KEY, HOLE_KEY, LIGAMENT_KEY, MEET_KEY, OPPOSITE_HOLE_KEY, OPPOSITE_ROW_KEY,
    OPPOSITE_SEEN_KEY, OPPOSITE_TABLE_KEY, ROW_KEY, SCREW_KEY, SLOT_KEY, TABLE_KEY, WINDOW_KEY,
    holes,
};
use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Member};
use super::sum::{positive, wrong};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::Shape;

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Gasket,
    name: "gasket",
    about: "a plate with holes",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key {
        name: "shape",
        takes: Takes::Word(&[
            "rectangle",
            "obround",
            "ring",
            "frame",
            "flange",
            "elbow",
            "self-energising",
        ]),
        needed: false,
        about: "rectangle (usual), obround (round ends), ring, frame, flange, elbow or self-energising",
        example: "rectangle",
    },
    Key {
        name: "length",
        takes: Takes::Length,
        needed: false,
        about: "length of a rectangle, obround or frame",
        example: "27 1/2 in",
    },
    Key {
        name: "width",
        takes: Takes::Length,
        needed: false,
        about: "width of a rectangle, obround or frame",
        example: "2 in",
    },
    Key {
        name: "corner",
        takes: Takes::Length,
        needed: false,
        about: "radius of the corners",
        example: "1/4 in",
    },
    Key {
        name: "border",
        takes: Takes::Length,
        needed: false,
        about: "width of a frame, all round",
        example: "3/8 in",
    },
    Key {
        name: "inner-corner",
        takes: Takes::Length,
        needed: false,
        about: "radius of the corners of its window",
        example: "1/8 in",
    },
    Key {
        name: "outside",
        takes: Takes::Length,
        needed: false,
        about: "outside diameter of a ring, or of the body of a flange",
        example: "3/4 in",
    },
    Key {
        name: "bore",
        takes: Takes::Length,
        needed: false,
        about: "bore of a ring, a flange or a self-energising gasket",
        example: "9/64 in",
    },
    Key {
        name: "ears",
        takes: Takes::Count,
        needed: false,
        about: "ears of a flange (2)",
        example: "2",
    },
    Key {
        name: "ear",
        takes: Takes::Length,
        needed: false,
        about: "diameter of an ear",
        example: "1/2 in",
    },
    Key {
        name: "ear-at",
        takes: Takes::Length,
        needed: false,
        about: "from the body's centre to an ear's",
        example: "1 in",
    },
    Key {
        name: "ear-hole",
        takes: Takes::Length,
        needed: false,
        about: "hole for the screw in each ear",
        example: "5/32 in",
    },
    Key {
        name: "opening",
        takes: Takes::Length,
        needed: false,
        about: "side of the square opening that a self-energising gasket covers",
        example: "2 in",
    },
    Key {
        name: "gap",
        takes: Takes::Length,
        needed: false,
        about: "how far it rises",
        example: "1/4 in",
    },
    Key {
        name: "land",
        takes: Takes::Length,
        needed: false,
        about: "glued all round the opening",
        example: "3/8 in",
    },
    LIGAMENT_KEY,
    ROW_KEY,
    HOLE_KEY,
    CIRCLE_KEY,
    TABLE_KEY,
    SCREW_KEY,
    SLOT_KEY,
    WINDOW_KEY,
    OPPOSITE_ROW_KEY,
    OPPOSITE_HOLE_KEY,
    OPPOSITE_TABLE_KEY,
    OPPOSITE_SEEN_KEY,
    MEET_KEY,
];

/// Every shape with the measures that are its own; the first is the usual one.
const SHAPES: &[(&str, &[&str])] = &[
    ("rectangle", &["length", "width", "corner"]),
    ("obround", &["length", "width"]),
    ("ring", &["outside", "bore"]),
    ("frame", &["length", "width", "border", "corner", "inner-corner"]),
    ("flange", &["outside", "bore", "ears", "ear", "ear-at", "ear-hole"]),
    ("elbow", &["outside", "bore", "ear", "ear-at", "ear-hole"]),
    ("self-energising", &["opening", "gap", "land", "bore"]),
];

/// Lengths that are more than nothing.
const SIZES: &[&str] = &[
    "length", "width", "border", "outside", "bore", "ear", "ear-at", "ear-hole", "opening", "gap",
    "land",
];

fn shape_of(m: &Measures) -> &'static str {
    m.word("shape").unwrap_or("rectangle")
}

fn develop(m: &Measures) -> Developed {
    let mut made = Developed { faults: positive(m, SIZES), ..Developed::default() };
    if !made.faults.is_empty() {
        return made;
    }
    made.faults.extend(idle_keys(m));
    let Some(mut plate) = plate::plate(m, &mut made.faults) else {
        return made;
    };
    let bored = holes(m, &plate.outline, plate.bored);
    made.faults.extend(bored.faults);
    if any_error(&made.faults) {
        return made;
    }
    match Shape::new(plate.outline, bored.loops) {
        Ok(shape) => {
            plate.sum.terms.extend(bored.terms);
            plate.dimensions.extend(bored.dimensions);
            made.members.push(Member::of(shape, plate.sum.terms, plate.dimensions));
        }
        Err(fault) => {
            made.faults.push(
                Fault::error("E27", format!("the holes do not fit the plate: {fault}"))
                    .at(&m.place)
                    .cure("look at their places and diameters"),
            );
        }
    }
    made
}

/// Measures that belong to another shape.
fn idle_keys(m: &Measures) -> Vec<Fault> {
    let shape = shape_of(m);
    let own = SHAPES.iter().find(|(name, _)| *name == shape).map_or(&[][..], |(_, keys)| keys);
    KEYS.iter()
        .map(|key| key.name)
        .filter(|key| SHAPES.iter().any(|(_, keys)| keys.contains(key)))
        .filter(|key| m.has(key) && !own.contains(key))
        .map(|key| {
            wrong(
                m,
                key,
                format!("a gasket of shape \"{shape}\" has no `{key}`"),
                "leave it out, or give another `shape`",
            )
        })
        .collect()
}

#[cfg(test)]
mod tests;
