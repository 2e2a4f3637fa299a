//! A stiffener card: a trapezoid, kept free of the creases and boards round its panel.

use super::measures::{Key, Measures};
use super::member::{Developed, Dimension, Member};
use super::panel::{at_origin, inset, level_side};
use super::sum::{Sum, mm, positive, shown, wrong};
use super::{Kind, KindCard};
use crate::geom::{Point, Shape, Vec2, polygon};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Card,
    name: "card",
    about: "a stiffener for a panel of a bellows",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key::needed("long", "long side of the panel", "13 in"),
    Key::length("short", "its short side; silent: as long as the long one", "8 in"),
    Key::needed("height", "from the long side to the short one", "3 in"),
    Key::length("inset", "kept free at every edge of the panel", "1/16 in"),
];

fn develop(m: &Measures) -> Developed {
    let mut made = Developed { faults: positive(m, &["long", "height"]), ..Developed::default() };
    let (Some(long), Some(height)) = (m.mm("long"), m.mm("height")) else {
        return made;
    };
    let short = m.mm_or("short", long);
    if short > long {
        made.faults.push(wrong(
            m,
            "short",
            format!("the short side {} is more than the long side {}", mm(short), mm(long)),
            "give the longer of the two as `long`",
        ));
    }
    if !made.faults.is_empty() {
        return made;
    }
    let (slope, by) = ((long - short) / 2.0, m.mm_or("inset", 0.0));
    let panel = [(0.0, 0.0), (long, 0.0), (long - slope, height), (slope, height)]
        .map(|(x, y)| Point::new(x, y));
    let Some(points) = inset(&panel, by) else {
        made.faults.push(wrong(
            m,
            "inset",
            format!("an inset of {} leaves nothing of the panel", mm(by)),
            &format!("less than {} leaves a card", mm(most(&panel, height))),
        ));
        return made;
    };
    let points = at_origin(&points);
    let Ok(outline) = polygon(&points) else {
        return made;
    };
    let b = outline.bounds();
    let (foot, top) = (level_side(&points, 0.0), level_side(&points, b.height()));
    let mut sum = Sum::default()
        .given(m, "long", "long side of the panel")
        .given(m, "short", "short side of the panel")
        .given(m, "height", "height of the panel")
        .given(m, "inset", "kept free at every edge");
    if !m.has("short") {
        sum = sum.silent("short side of the panel", "as the long one", short);
    }
    if by > 0.0 {
        sum = sum
            .step("off the height", "2 x inset", height - b.height())
            .step("off the long side", "inset, the ends slanting", long - foot)
            .step("off the short side", "likewise", short - top);
    }
    let sum = sum
        .total("long side", "", foot)
        .total("short side", "", top)
        .total("height", "", b.height())
        .note("corner at the long side", "", height.atan2(slope).to_degrees(), "°");
    let across = |y: f64, width: f64, off: f64| {
        let left = Point::new((b.width() - width) / 2.0, y);
        let right = left + Vec2::new(width, 0.0);
        let (from, to) = if off > 0.0 { (left, right) } else { (right, left) };
        Dimension::Span(from, to, 1.0, shown(width))
    };
    let mut dimensions = vec![
        across(0.0, foot, -1.0),
        Dimension::Span(Point::ORIGIN, Point::new(0.0, b.height()), 1.0, shown(b.height())),
    ];
    if top > 0.0 {
        dimensions.push(across(b.height(), top, 1.0));
    }
    made.members.push(Member::of(Shape::plain(outline), sum.terms, dimensions));
    made
}

/// The inset at which nothing is left of a panel, found by halving.
fn most(panel: &[Point], height: f64) -> f64 {
    let (mut good, mut bad) = (0.0, height);
    for _ in 0..50 {
        let middle = (good + bad) / 2.0;
        if inset(panel, middle).is_some() {
            good = middle;
        } else {
            bad = middle;
        }
    }
    good
}

#[cfg(test)]
mod tests {
    use super::super::trial::{given, one, total};
    use super::*;
    use approx::assert_relative_eq;

    // Half panels of boxes with folds, inset on every edge, worked by plane geometry: inches, then millimetres.
    #[test]
    fn cards_come_out_as_worked() {
        for (unit, panel, by, card) in [
            ("in", (12.0, 12.0, 2.0), 0.0625, (11.875, 11.875, 1.875)),
            ("in", (8.0, 4.0, 2.0), 0.0625, (7.698223, 3.948223, 1.875)),
            ("mm", (300.0, 300.0, 45.0), 2.0, (296.0, 296.0, 41.0)),
            ("mm", (200.0, 110.0, 45.0), 2.0, (190.3431, 108.3431, 41.0)),
        ] {
            let scale = if unit == "in" { 25.4 } else { 1.0 };
            let text = |x: f64| format!("{x} {unit}");
            let m = given(
                &[
                    ("long", &text(panel.0)),
                    ("short", &text(panel.1)),
                    ("height", &text(panel.2)),
                    ("inset", &text(by)),
                ],
                KEYS,
            );
            let made = one(develop(&m));
            assert_relative_eq!(total(&made, "long side"), card.0 * scale, max_relative = 1e-5);
            assert_relative_eq!(total(&made, "short side"), card.1 * scale, max_relative = 1e-5);
            assert_relative_eq!(total(&made, "height"), card.2 * scale, max_relative = 1e-5);
            let area = (card.0 + card.1) / 2.0 * card.2 * scale * scale;
            assert_relative_eq!(made.shape.area(), area, max_relative = 1e-5);
            let b = made.shape.bounds();
            assert!(b.x0.abs() < 1e-9 && b.y0.abs() < 1e-9);
        }
    }

    #[test]
    fn a_card_that_is_all_inset_is_refused_with_the_most_that_works() {
        let m = given(&[("long", "10 mm"), ("height", "6 mm"), ("inset", "3 mm")], KEYS);
        let fault = &develop(&m).faults[0];
        assert_eq!(fault.code, "E28");
        assert!(fault.text.contains("3.00 mm"), "{}", fault.text);
        let m = given(&[("long", "4 mm"), ("short", "5 mm"), ("height", "6 mm")], KEYS);
        assert_eq!(develop(&m).faults[0].code, "E28");
    }

    // 3-4-5 twice: two right triangles back to back, 8 long and 3 high, have an inradius of 4/3.
    #[test]
    fn a_short_side_may_vanish() {
        let m = given(
            &[("long", "8 mm"), ("short", "0 mm"), ("height", "3 mm"), ("inset", "0.5 mm")],
            KEYS,
        );
        let made = one(develop(&m));
        let left = 1.0 - 0.5 / (4.0 / 3.0);
        assert_relative_eq!(total(&made, "long side"), 8.0 * left, max_relative = 1e-9);
        assert_relative_eq!(total(&made, "height"), 3.0 * left, max_relative = 1e-9);
        assert!(total(&made, "short side").abs() < 1e-9);
    }
}
