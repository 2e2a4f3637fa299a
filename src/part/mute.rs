//! A mute: a strip of felt or cloth before a row of openings, hung by its low edge where it has a hinge.

use super::measures::{Key, Measures};
use super::member::{Developed, Member};
use super::sum::{Sum, positive, sides};
use super::{Kind, KindCard};
use crate::geom::{Point, Seg, Shape, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Mute,
    name: "mute",
    about: "a strip before a row of openings, hung along one edge",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key::needed("length", "length to be covered", "14 in"),
    Key::needed("width", "width to be covered", "2 in"),
    Key::length("over", "laps over on every side", "1/4 in"),
    Key::length("hinge", "added along one long side, to hang it by", "1/2 in"),
];

fn develop(m: &Measures) -> Developed {
    let mut made = Developed { faults: positive(m, &["length", "width"]), ..Developed::default() };
    let (Some(length), Some(width)) = (m.mm("length"), m.mm("width")) else {
        return made;
    };
    if !made.faults.is_empty() {
        return made;
    }
    let (over, hinge) = (m.mm_or("over", 0.0), m.mm_or("hinge", 0.0));
    let (long, wide) = (length + 2.0 * over, width + 2.0 * over + hinge);
    let Ok(outline) = rectangle(Point::ORIGIN, long, wide, 0.0) else {
        return made;
    };
    let mut sum = Sum::default()
        .given(m, "length", "length covered")
        .given(m, "width", "width covered")
        .given(m, "over", "over on every side")
        .given(m, "hinge", "to hang it by");
    if over > 0.0 {
        sum = sum.step("+ 2 x over", "", 2.0 * over);
    }
    sum = sum.total("cut length", "length + 2 x over", long).total(
        "cut width",
        "width + 2 x over + hinge",
        wide,
    );
    let mut creases = Vec::new();
    if hinge > 0.0 {
        sum = sum.note("folds up from the edge", "hinge", hinge, "mm");
        creases.push(Seg::line(Point::new(0.0, hinge), Point::new(long, hinge)));
    }
    made.members.push(Member {
        creases,
        ..Member::of(Shape::plain(outline), sum.terms, sides(long, wide))
    });
    made
}

#[cfg(test)]
mod tests {
    use super::super::trial::{codes, given, one, total};
    use super::*;
    use approx::assert_abs_diff_eq;

    // Plane geometry: the lap on every side, the hinge below it.
    #[test]
    fn a_mute_laps_over_and_hangs_by_its_hinge() {
        let typed =
            [("length", "300 mm"), ("width", "50 mm"), ("over", "6 mm"), ("hinge", "12 mm")];
        let made = one(develop(&given(&typed, KEYS)));
        assert_abs_diff_eq!(total(&made, "cut length"), 312.0, epsilon = 1e-9);
        assert_abs_diff_eq!(total(&made, "cut width"), 74.0, epsilon = 1e-9);
        assert_eq!(made.creases, [Seg::line(Point::new(0.0, 12.0), Point::new(312.0, 12.0))]);
        let bare = one(develop(&given(&typed[..2], KEYS)));
        assert_abs_diff_eq!(bare.shape.area(), 15000.0, epsilon = 1e-6);
        assert!(bare.creases.is_empty());
        let made = develop(&given(&[("length", "300 mm"), ("width", "0 mm")], KEYS));
        assert_eq!((codes(&made), made.members.len()), (vec!["E28"], 0));
    }
}
