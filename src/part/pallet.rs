//! A pallet's covering: leather over felt on a small board that closes a port.

use super::measures::{Key, Measures};
use super::member::{Developed, Member, MemberName};
use super::sum::{Sum, positive, sides};
use super::{Companion, Kind, KindCard};
use crate::geom::{Point, Shape, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Pallet,
    name: "pallet",
    about: "the leather of a pallet, and its felt",
    keys: KEYS,
    companions: &[Companion {
        name: FELT,
        about: "the felt under the leather, of the same size",
        keys: &[],
        lengthwise: false,
        thickness_key: None,
    }],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop,
};

const FELT: &str = "felt";

const KEYS: &[Key] = &[
    Key::needed("length", "length of the pallet", "1 7/8 in"),
    Key::needed("width", "width of the pallet", "5/8 in"),
    Key::length("over", "cut larger on every side, and trimmed on the pallet", "1/8 in"),
];

fn develop(m: &Measures) -> Developed {
    let mut made = Developed { faults: positive(m, &["length", "width"]), ..Developed::default() };
    let (Some(length), Some(width)) = (m.mm("length"), m.mm("width")) else {
        return made;
    };
    if !made.faults.is_empty() {
        return made;
    }
    let over = m.mm_or("over", 0.0);
    let (long, wide) = (length + 2.0 * over, width + 2.0 * over);
    let Ok(outline) = rectangle(Point::ORIGIN, long, wide, 0.0) else {
        return made;
    };
    let mut sum = Sum::default()
        .given(m, "length", "length of the pallet")
        .given(m, "width", "width of the pallet")
        .given(m, "over", "over on every side");
    if over > 0.0 {
        sum = sum.step("+ 2 x over", "", 2.0 * over);
    }
    let sum = sum.total("cut length", "", long).total("cut width", "", wide);
    let leather = Member::of(Shape::plain(outline), sum.terms, sides(long, wide));
    if m.companion(FELT).is_some() {
        made.members.push(Member {
            name: Some(MemberName::only(FELT)),
            companion: Some(FELT),
            ..leather.clone()
        });
    }
    made.members.insert(0, leather);
    made
}

#[cfg(test)]
mod tests {
    use super::super::trial::{codes, given, one, total, with};
    use super::*;
    use approx::assert_relative_eq;

    // 1 7/8 by 5/8 in, cut 1/8 in larger on every side so that the strips are 1/4 in oversize: R. Vance, chapter 194.
    #[test]
    fn leather_and_felt_are_cut_alike() {
        let typed = [("length", "1 7/8 in"), ("width", "5/8 in"), ("over", "1/8 in")];
        let leather = one(develop(&given(&typed, KEYS)));
        assert_relative_eq!(total(&leather, "cut length"), 2.125 * 25.4, max_relative = 1e-12);
        assert_relative_eq!(total(&leather, "cut width"), 0.875 * 25.4, max_relative = 1e-12);
        let made = develop(&with(given(&typed, KEYS), FELT, vec![given(&[], &[])]));
        let [leather, felt] = &made.members[..] else { panic!("{:?}", made.members) };
        assert!(leather.cut_alike(felt));
        assert_eq!((leather.name, leather.companion), (None, None));
        assert_eq!((felt.name, felt.companion), (Some(MemberName::only("felt")), Some("felt")));
    }

    #[test]
    fn nothing_comes_of_nothing() {
        let made = develop(&given(&[("length", "0 in"), ("width", "5/8 in")], KEYS));
        assert_eq!((codes(&made), made.members.len()), (vec!["E28"], 0));
    }
}
