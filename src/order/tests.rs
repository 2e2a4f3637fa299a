//! Published figures, and orders held against lays on hides that are none of the nominal ones.

mod reality;

use super::*;
use crate::geom::Point;
use crate::lay::Patient;
use crate::material::{Footage, Skin};

fn near(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} is not {b} within {within}");
}

/// Square feet of a running yard; NIST SP 811 for the foot and the yard.
#[test]
fn cloth_by_the_yard() {
    for (width, feet) in [(36.0, 9.0), (45.0, 11.25), (50.0, 12.5), (54.0, 13.5), (60.0, 15.0)] {
        near(square_feet_per_yard(width * 25.4), feet, 1e-9);
    }
    // Hides of 18 sq ft for a yard of 54 in (five sellers' guides, among them Keleen and Cortina): a yield of 0.750.
    near(square_feet_per_yard(54.0 * 25.4) / 18.0, 0.750, 1e-9);
    // The same rule for 36 in: 12 sq ft a yard.
    near(gross(square_feet_per_yard(36.0 * 25.4), 0.75), 12.0, 1e-9);
}

/// Leather Treasure, "How much leather": 9, 11 and 13 sq ft for a yard of 36, 45 and 54 in and a fifth more; its own
/// examples for three yards are 33, 40 and 47 sq ft.
#[test]
fn the_rule_of_factors() {
    for (factor, printed) in [(9.0, 33), (11.0, 40), (13.0, 47)] {
        assert_eq!(whole(gross(3.0 * factor, 1.0 / 1.2)), printed);
    }
    // 100 sq ft net at the best yield of a factory, 70 % (Keleen).
    near(gross(100.0, 0.70), 142.857, 5e-4);
}

/// "Footage" in *Bookbinding and the Conservation of Books*: 4/1 is 4 1/4 sq ft.
#[test]
fn marks_on_skins() {
    assert_eq!(footage_mark(4.25, Footage::Quarters), "4/1");
    assert_eq!(footage_mark(4.26, Footage::Quarters), "4/2");
    assert_eq!(footage_mark(4.0, Footage::Quarters), "4/0");
    assert_eq!(footage_mark(3.99, Footage::Quarters), "4/0");
    assert_eq!(footage_mark(4.25, Footage::Tenths), "4.3");
    assert_eq!(footage_mark(4.3, Footage::Tenths), "4.3");
    assert_eq!(quarters(1.75), "1 3/4");
    assert_eq!(quarters(0.5), "1/2");
    assert_eq!(quarters(2.0), "2");
}

#[test]
fn steps_go_up() {
    near(up_to(1.01 * YARD, YARD / 4.0), 1.25 * YARD, 1e-9);
    near(up_to(1.25 * YARD, YARD / 4.0), 1.25 * YARD, 1e-9);
    assert_eq!((whole(0.0), whole(1.0), whole(1.000_1)), (0, 1, 2));
}

/// Widths that follow from published areas and lengths: cow, box of 8.5 by 8 ft (a seller's guide to cuts of
/// leather); goat, Salehi and others 2014; kangaroo, David Morgan.
#[test]
fn nominal_skins_have_the_published_sizes() {
    near(fill(Skin::Cow), 0.7134, 5e-5);
    near(fill(Skin::Goat), 0.7315, 5e-5);
    near(100.0 * fill(Skin::Kangaroo), 70.71, 5e-3);
    let (length, width) = size(Skin::Cow, 47.5 * SQ_FT);
    near(length / 304.8, 8.5, 1e-9);
    near(width / 304.8, 7.83, 0.005);
    assert!((width / 304.8 / 8.0 - 1.0).abs() < 0.03);
    let (length, width) = size(Skin::Goat, 71.4e4);
    near(length, 963.0, 1e-9);
    near(width / 10.0, 101.4, 0.05);
    // The smaller one was measured too: 53.8 dm², 83.1 cm. Length by area alone comes within half a per cent.
    near(size(Skin::Goat, 53.8e4).0 / 831.0, 1.0, 0.01);
    for (dm2, inches, wide) in [(50.0, 30.0, 92.8), (60.0, 36.0, 92.8), (70.0, 40.0, 97.4)] {
        let (length, width) = size(Skin::Kangaroo, dm2 * 1e4);
        near(length / 25.4, inches, 1e-9);
        near(width / 10.0, wide, 0.05);
    }
}

#[test]
fn a_nominal_skin_has_its_area_and_keeps_its_rim_clear() {
    for (name, skin) in Skin::NAMES {
        let area = usual_area(*skin);
        for (rim, form) in
            rims(*skin, area).into_iter().flat_map(|rim| Form::ALL.map(|form| (rim, form)))
        {
            let made =
                nominal(*skin, form, area, rim).unwrap_or_else(|fault| panic!("{name}: {fault}"));
            near(skins::area_of(&made.sold) / area, 1.0, 1e-9);
            let left = made.usable.area() / area;
            assert!((0.45..0.92).contains(&left), "{name}: {left} of it is left");
            let bounds = made.usable.bounds();
            near(bounds.x0, 0.0, 1e-9);
            near(bounds.y0, 0.0, 1e-9);
            // Corners of what is left stand off every side of the skin; along a side's backbone there is no rim.
            let next = made.sold.iter().cycle().skip(1);
            let sides: Vec<(Point, Point)> = made.sold.iter().copied().zip(next.copied()).collect();
            for corner in made.usable.segs().iter().map(|seg| seg.a) {
                for (a, b) in &sides {
                    let backbone = *skin == Skin::CowSide && a.y.abs() < 1e-6 && b.y.abs() < 1e-6;
                    let way = *b - *a;
                    let t = ((corner - *a).dot(way) / way.hypot2()).clamp(0.0, 1.0);
                    let off = (*a + way * t - corner).hypot();
                    assert!(backbone || off > rim - 1e-3, "{name}: {off} of a rim of {rim}");
                }
            }
        }
    }
    // Half a square foot within a rim of 3 in: nothing is left.
    assert!(nominal(Skin::Goat, Form::Drawn, 0.1 * SQ_FT, 76.2).is_err());
}

#[test]
fn cells_are_no_formulas() {
    assert_eq!(safe_cell("=1+1"), "\"'=1+1\"");
    assert_eq!(safe_cell("@SUM(A1)"), "\"'@SUM(A1)\"");
    assert_eq!(safe_cell("+x"), "\"'+x\"");
    assert_eq!(safe_cell("-cmd"), "\"'-cmd\"");
    assert_eq!(safe_cell("-0.25"), "-0.25");
    assert_eq!(safe_cell("a,\"b\""), "\"a,\"\"b\"\"\"");
    assert_eq!(safe_cell("one\ntwo"), "one two");
    assert_eq!(safe_cell("\t=1"), "\"'=1\"");
}

/// A rectangle of 200 by 100 cut off at 60 by hand, and a triangle.
#[test]
fn the_area_up_to_a_line() {
    let p = Point::new;
    let plate = [p(0.0, 0.0), p(200.0, 0.0), p(200.0, 100.0), p(0.0, 100.0)];
    near(skins::area_of(&skins::clip(&plate, |q| 60.0 - q.x)), 6000.0, 1e-9);
    let wedge = [p(0.0, 0.0), p(100.0, 0.0), p(0.0, 100.0)];
    near(skins::area_of(&skins::clip(&wedge, |q| 50.0 - q.x)), 3750.0, 1e-9);
}

#[test]
fn the_same_wishes_give_the_same_lines() {
    let wishes = reality::wishes();
    let quick = Effort { evaluations: 5_000, seed: 3 };
    let once = order_lines(&wishes, quick, &Patient);
    assert_eq!(once, order_lines(&wishes, quick, &Patient));
    for purchase in once.iter().filter_map(|line| line.purchase.as_ref()) {
        let [low, likely, high] = purchase.amounts.map(|amount| amount.extent);
        let of = |extent: Extent| match extent {
            Extent::Skins(size, _)
            | Extent::Roll(size, _)
            | Extent::Leaves(size, _)
            | Extent::Area(size) => size,
        };
        assert!(of(low) <= of(likely) && of(likely) <= of(high), "{purchase:?}");
        // Nothing can be cut from less than its own area.
        if let Extent::Skins(area, _) = low {
            assert!(area > purchase.net);
        }
    }
}
