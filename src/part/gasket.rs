//! A gasket: a plate with holes, rectangular, round-ended or a ring.

use super::holes::{HOLE_KEY, LIGAMENT_KEY, ROW_KEY, SCREW_KEY, SLOT_KEY, holes};
use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member};
use super::sum::{Sum, mm, positive, shown, sides, wrong};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::{Loop, Point, Shape, obround, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Gasket,
    name: "gasket",
    about: "a plate with holes",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    develop,
};

const KEYS: &[Key] = &[
    Key {
        name: "shape",
        takes: Takes::Word(&["rectangle", "obround", "ring"]),
        needed: false,
        about: "rectangle (usual), obround (round ends) or ring",
        example: "rectangle",
    },
    Key {
        name: "length",
        takes: Takes::Length,
        needed: false,
        about: "length of a rectangle or obround",
        example: "27 1/2 in",
    },
    Key {
        name: "width",
        takes: Takes::Length,
        needed: false,
        about: "width of a rectangle or obround",
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
        name: "outside",
        takes: Takes::Length,
        needed: false,
        about: "outside diameter of a ring",
        example: "3/4 in",
    },
    Key {
        name: "bore",
        takes: Takes::Length,
        needed: false,
        about: "bore of a ring",
        example: "9/64 in",
    },
    LIGAMENT_KEY,
    ROW_KEY,
    HOLE_KEY,
    SCREW_KEY,
    SLOT_KEY,
];

fn develop(m: &Measures) -> Developed {
    let mut made = Developed {
        faults: positive(m, &["length", "width", "outside", "bore"]),
        ..Developed::default()
    };
    if !made.faults.is_empty() {
        return made;
    }
    let Some((outline, mut sum, mut dimensions)) = plate(m, &mut made.faults) else {
        return made;
    };
    let bore = match m.word("shape") {
        Some("ring") => match ring_bore(m, &mut made.faults) {
            Some(bore) => Some(bore),
            None => return made,
        },
        _ => None,
    };
    made.faults.extend(idle_keys(m));
    let bored = holes(m, &outline, bore.as_ref());
    made.faults.extend(bored.faults);
    if any_error(&made.faults) {
        return made;
    }
    match Shape::new(outline, bored.loops) {
        Ok(shape) => {
            sum.terms.extend(bored.terms);
            dimensions.extend(bored.dimensions);
            made.members.push(Member::of(shape, sum.terms, dimensions));
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

type Plate = (Loop, Sum, Vec<Dimension>);

fn plate(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    let shape = m.word("shape").unwrap_or("rectangle");
    let need = |key: &str, faults: &mut Vec<Fault>| {
        let found = m.mm(key);
        if found.is_none() {
            let card = KEYS.iter().find(|k| k.name == key);
            faults.push(
                Fault::error("E12", format!("a gasket of shape \"{shape}\" needs `{key}`"))
                    .at(&m.place)
                    .cure(format!("{key} = \"{}\"", card.map_or("1 in", |k| k.example))),
            );
        }
        found
    };
    if shape == "ring" {
        let outside = need("outside", faults);
        let bore = need("bore", faults);
        let (outside, bore) = (outside?, bore?);
        let outline = Loop::circle(Point::new(outside / 2.0, outside / 2.0), outside / 2.0).ok()?;
        let sum = Sum::default().given(m, "outside", "outside").given(m, "bore", "bore").total(
            "cut diameter",
            "",
            outside,
        );
        let center = Point::new(outside / 2.0, outside / 2.0);
        let dimensions =
            [outside, bore].map(|d| Dimension::Diameter(center, d / 2.0, shown(d))).into();
        return Some((outline, sum, dimensions));
    }
    let length = need("length", faults);
    let width = need("width", faults);
    let (length, width) = (length?, width?);
    let outline = if shape == "obround" {
        if length < width {
            faults.push(wrong(
                m,
                "length",
                format!("length {} is less than width {}", mm(length), mm(width)),
                "an obround is longer than wide",
            ));
            return None;
        }
        let r = width / 2.0;
        obround(Point::new(r, r), Point::new(length - r, r), width).ok()?
    } else {
        let corner = m.mm_or("corner", 0.0);
        if corner > length.min(width) / 2.0 + 1e-9 {
            faults.push(wrong(
                m,
                "corner",
                format!("corner radius {} on a plate {} by {}", mm(corner), mm(length), mm(width)),
                &format!("{} is the largest that fits", mm(length.min(width) / 2.0)),
            ));
            return None;
        }
        rectangle(Point::ORIGIN, length, width, corner).ok()?
    };
    let sum = Sum::default()
        .given(m, "length", "length")
        .given(m, "width", "width")
        .given(m, "corner", "radius of the corners")
        .total("cut length", "", length)
        .total("cut width", "", width);
    Some((outline, sum, sides(length, width)))
}

/// Measures that belong to another shape.
fn idle_keys(m: &Measures) -> Vec<Fault> {
    let shape = m.word("shape").unwrap_or("rectangle");
    let idle: &[&str] = match shape {
        "ring" => &["length", "width", "corner"],
        "obround" => &["outside", "bore", "corner"],
        _ => &["outside", "bore"],
    };
    idle.iter()
        .filter(|key| m.has(key))
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

fn ring_bore(m: &Measures, faults: &mut Vec<Fault>) -> Option<Loop> {
    let (outside, bore) = (m.mm("outside")?, m.mm("bore")?);
    if bore >= outside {
        faults.push(wrong(
            m,
            "bore",
            format!("bore {} is not less than outside {}", mm(bore), mm(outside)),
            &format!("a bore of less than {} leaves a ring", mm(outside)),
        ));
        return None;
    }
    Loop::circle(Point::new(outside / 2.0, outside / 2.0), bore / 2.0).ok()
}
