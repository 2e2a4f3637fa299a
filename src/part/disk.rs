//! Plain disks and rings.

use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member};
use super::sum::{Sum, mm, positive, shown, wrong};
use super::{Kind, KindCard};
use crate::geom::{Loop, Point, Shape};

pub(super) const DISK: KindCard = KindCard {
    kind: Kind::Disk,
    name: "disk",
    about: "a plain disk",
    keys: &[Key {
        name: "diameter",
        takes: Takes::Length,
        needed: true,
        about: "diameter",
        example: "3/4 in",
    }],
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop: disk,
};

pub(super) const RING: KindCard = KindCard {
    kind: Kind::Ring,
    name: "ring",
    about: "a disk with a hole",
    keys: &[
        Key {
            name: "outside",
            takes: Takes::Length,
            needed: true,
            about: "outside diameter",
            example: "7/8 in",
        },
        Key {
            name: "inside",
            takes: Takes::Length,
            needed: true,
            about: "inside diameter",
            example: "#30 drill",
        },
    ],
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop: ring,
};

fn disk(m: &Measures) -> Developed {
    let mut made = Developed { faults: positive(m, &["diameter"]), ..Developed::default() };
    if let (true, Some(diameter)) = (made.faults.is_empty(), m.mm("diameter"))
        && let Ok(outline) = Loop::circle(Point::ORIGIN, diameter / 2.0)
    {
        let sum =
            Sum::default().given(m, "diameter", "diameter").total("cut diameter", "", diameter);
        made.members.push(round(Shape::plain(outline), sum, &[diameter]));
    }
    made
}

fn ring(m: &Measures) -> Developed {
    let mut made =
        Developed { faults: positive(m, &["outside", "inside"]), ..Developed::default() };
    let (Some(outside), Some(inside)) = (m.mm("outside"), m.mm("inside")) else {
        return made;
    };
    if inside >= outside {
        made.faults.push(wrong(
            m,
            "inside",
            format!("inside {} is not less than outside {}", mm(inside), mm(outside)),
            &format!("a hole of less than {} leaves a ring", mm(outside)),
        ));
    }
    if !made.faults.is_empty() {
        return made;
    }
    if let (Ok(outline), Ok(hole)) =
        (Loop::circle(Point::ORIGIN, outside / 2.0), Loop::circle(Point::ORIGIN, inside / 2.0))
        && let Ok(shape) = Shape::new(outline, vec![hole])
    {
        let sum = Sum::default()
            .given(m, "outside", "outside")
            .given(m, "inside", "inside")
            .total("cut diameter", "", outside)
            .total("hole", "", inside)
            .note("width of the ring", "(outside - inside) / 2", (outside - inside) / 2.0, "mm");
        made.members.push(round(shape, sum, &[outside, inside]));
    }
    made
}

fn round(shape: Shape, sum: Sum, diameters: &[f64]) -> Member {
    let dimensions =
        diameters.iter().map(|d| Dimension::Diameter(Point::ORIGIN, d / 2.0, shown(*d))).collect();
    Member::of(shape, sum.terms, dimensions)
}
