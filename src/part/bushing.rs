//! A bushing: a strip of felt or cloth that lines a round hole.
//!
//! Bent round, the felt is pressed on its inner and stretched on its outer face; the middle of its thickness keeps its
//! length.

use super::measures::{Key, Measures};
use super::member::{Developed, Member};
use super::sum::{Sum, mm, positive, sides, wrong};
use super::{Kind, KindCard};
use crate::geom::{Point, Shape, rectangle};
use std::f64::consts::PI;

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Bushing,
    name: "bushing",
    about: "a strip that lines a round hole",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: Some("felt"),
    develop,
};

const KEYS: &[Key] = &[
    Key::needed("hole", "diameter of the hole in the wood", "3/8 in"),
    Key::needed("felt", "thickness of the felt or cloth", "1/16 in"),
    Key::needed("depth", "depth of the hole", "1/2 in"),
    Key::length("over", "stands out at either end, and is trimmed off", "1/16 in"),
];

fn develop(m: &Measures) -> Developed {
    let mut made =
        Developed { faults: positive(m, &["hole", "felt", "depth"]), ..Developed::default() };
    let (Some(hole), Some(felt), Some(depth)) = (m.mm("hole"), m.mm("felt"), m.mm("depth")) else {
        return made;
    };
    if 2.0 * felt >= hole {
        made.faults.push(wrong(
            m,
            "felt",
            format!("felt of {} on either side fills the hole of {}", mm(felt), mm(hole)),
            &format!("a felt of less than {} leaves an opening", mm(hole / 2.0)),
        ));
    }
    if !made.faults.is_empty() {
        return made;
    }
    let over = m.mm_or("over", 0.0);
    let (length, width) = (PI * (hole - felt), depth + 2.0 * over);
    let Ok(outline) = rectangle(Point::ORIGIN, length, width, 0.0) else {
        return made;
    };
    let sum = Sum::default()
        .given(m, "hole", "hole in the wood")
        .given(m, "felt", "thickness of the felt")
        .given(m, "depth", "depth of the hole")
        .given(m, "over", "over at either end")
        .step("across the middle of the felt", "hole - felt", hole - felt)
        .total("cut length", "pi x (hole - felt)", length)
        .total("cut width", "depth + 2 x over", width)
        .note("opening left", "hole - 2 x felt", hole - 2.0 * felt, "mm");
    made.members.push(Member::of(Shape::plain(outline), sum.terms, sides(length, width)));
    made
}

#[cfg(test)]
mod tests {
    use super::super::trial::{codes, given, note, one, total};
    use super::*;
    use approx::assert_relative_eq;

    // The ring of felt in the hole has the area of the strip's edge: length x thickness, for any thickness.
    #[test]
    fn the_strip_has_the_area_of_the_ring_it_makes() {
        for felt in [0.5, 1.5, 3.0, 4.9] {
            let thick = format!("{felt} mm");
            let typed =
                [("hole", "10 mm"), ("felt", thick.as_str()), ("depth", "12 mm"), ("over", "2 mm")];
            let made = one(develop(&given(&typed, KEYS)));
            let inner: f64 = 10.0 - 2.0 * felt;
            let ring = PI / 4.0 * (100.0 - inner * inner);
            assert_relative_eq!(total(&made, "cut length") * felt, ring, max_relative = 1e-9);
            assert_relative_eq!(total(&made, "cut width"), 16.0, max_relative = 1e-12);
            assert_relative_eq!(note(&made, "opening left"), inner, max_relative = 1e-9);
        }
        let full = [("hole", "10 mm"), ("felt", "5 mm"), ("depth", "12 mm")];
        let made = develop(&given(&full, KEYS));
        assert_eq!((codes(&made), made.members.len()), (vec!["E28"], 0));
    }
}
