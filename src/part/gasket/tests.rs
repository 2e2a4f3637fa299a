//! Shapes of gaskets against plain figures.

use crate::geom::{Loop, Point};
use crate::part::Kind;
use crate::part::holes::tests::{developed, member, term, told};
use approx::assert_relative_eq;
use std::f64::consts::PI;

fn gasket(text: &str) -> crate::part::Member {
    member(Kind::Gasket, text)
}

// A rectangle with round corners has l w - (4 - π) r²: elementary geometry.
#[test]
fn a_frame_has_its_border_all_round() {
    let it = gasket(
        "shape=frame; length=120 mm; width=80 mm; border=10 mm; corner=12 mm; inner-corner=5 mm",
    );
    let area = |l: f64, w: f64, r: f64| l * w - (4.0 - PI) * r * r;
    let wanted = area(120.0, 80.0, 12.0) - area(100.0, 60.0, 5.0);
    assert_relative_eq!(it.shape.area(), wanted, max_relative = 1e-12);
    let b = it.shape.holes()[0].bounds();
    assert_eq!((b.x0, b.y0, b.x1, b.y1), (10.0, 10.0, 110.0, 70.0));
    assert_relative_eq!(term(&it, "window length"), 100.0);
    assert_relative_eq!(term(&it, "window width"), 60.0);
    // Thinnest on the diagonal, between the centre of the outer radius 12 - √2 (12 - 10) off a sharp inside corner.
    let sharp = gasket("shape=frame; length=120 mm; width=80 mm; border=10 mm; corner=12 mm");
    let wanted = 12.0 - 2.0 * 2.0_f64.sqrt();
    assert_relative_eq!(term(&sharp, "thinnest web"), wanted, epsilon = 1e-9);
    // Screws go into the border.
    let text = "shape=frame; length=120 mm; width=80 mm; border=10 mm; screw=[at=5 mm|40 mm; diameter=3 mm]";
    assert_relative_eq!(term(&gasket(text), "thinnest web"), 3.5, epsilon = 1e-9);
    for (bad, wanted) in [
        ("border=40 mm", "E28 a border of 40.00 mm leaves no window in 120.00 mm by 80.00 mm"),
        (
            "border=10 mm; corner=41 mm",
            "E28 corner radius 41.00 mm on a plate 120.00 mm by 80.00 mm",
        ),
        (
            "border=10 mm; inner-corner=31 mm",
            "E28 corner radius 31.00 mm on a window 100.00 mm by 60.00 mm",
        ),
        ("corner=1 mm", "E12 a gasket of shape \"frame\" needs `border`"),
        ("border=10 mm; bore=9 mm", "E28 a gasket of shape \"frame\" has no `bore`"),
    ] {
        let made =
            developed(Kind::Gasket, &format!("shape=frame; length=120 mm; width=80 mm; {bad}"));
        assert_eq!(told(&made.faults), [wanted]);
    }
}

const FLANGE: &str = "outside=40 mm; bore=20 mm; ear=14 mm; ear-at=26 mm; ear-hole=5 mm;";

// An open string round a body of radius R and two ears of radius r at distance a: two circles' belt each side.
// Straight parts √(a² - (R - r)²), ear arcs and body arcs by the angle acos((R - r)/a): elementary geometry.
#[test]
fn a_flange_is_belted() {
    let it = gasket(&format!("shape=flange; {FLANGE}"));
    let (body, ear, at) = (20.0_f64, 7.0_f64, 26.0_f64);
    let reach = ((body - ear) / at).acos();
    let straight = (at * at - (body - ear).powi(2)).sqrt();
    let round = 4.0 * straight + 4.0 * reach * ear + (2.0 * PI - 4.0 * reach) * body;
    assert_relative_eq!(it.shape.outline().length(), round, max_relative = 1e-12);
    assert_relative_eq!(term(&it, "cut length"), 2.0 * (at + ear), epsilon = 1e-9);
    assert_relative_eq!(term(&it, "cut width"), 40.0, epsilon = 1e-9);
    let b = it.shape.bounds();
    assert!(b.x0.abs() < 1e-9 && b.y0.abs() < 1e-9);
    let circles: Vec<_> = it.shape.holes().iter().filter_map(Loop::as_circle).collect();
    let wanted = [(33.0, 20.0, 10.0), (59.0, 20.0, 2.5), (7.0, 20.0, 2.5)];
    for ((at, r), (x, y, s)) in circles.iter().zip(wanted) {
        assert_relative_eq!(at.x, x, epsilon = 1e-9);
        assert_relative_eq!(at.y, y, epsilon = 1e-9);
        assert_relative_eq!(*r, s);
    }
    assert_relative_eq!(term(&it, "thinnest web"), 4.5, epsilon = 1e-9);
    // Further holes are measured from the lower left of the box.
    let more = gasket(&format!("shape=flange; {FLANGE} hole=[at=33 mm|35 mm; diameter=3 mm]"));
    assert_eq!(more.shape.holes()[3].as_circle(), Some((Point::new(33.0, 35.0), 1.5)));
}

#[test]
fn an_elbow_has_one_ear_and_three_ears_stand_at_a_third() {
    let it = gasket(&format!("shape=elbow; {FLANGE}"));
    let b = it.shape.bounds();
    assert_relative_eq!(b.width(), 20.0 + 26.0 + 7.0, epsilon = 1e-9);
    assert_relative_eq!(b.height(), 40.0, epsilon = 1e-9);
    let screw = it.shape.holes()[1].as_circle().unwrap().0;
    assert_relative_eq!(screw.x, 46.0, epsilon = 1e-9);
    assert_relative_eq!(screw.y, 20.0, epsilon = 1e-9);
    let three = gasket(&format!("shape=flange; ears=3; {FLANGE}"));
    let b = three.shape.bounds();
    // Left: the body, 20, or the ears at 120°, 26/2 + 7 = 20. Up: 26 sin 120° + 7.
    assert_relative_eq!(b.width(), 26.0 + 7.0 + 20.0, epsilon = 1e-9);
    assert_relative_eq!(b.height(), 2.0 * (26.0 * 0.75_f64.sqrt() + 7.0), epsilon = 1e-9);
    assert_eq!(three.shape.holes().len(), 4);
    for (bad, wanted) in [
        ("shape=elbow; ears=1;", "E28 a gasket of shape \"elbow\" has no `ears`"),
        ("shape=flange; ears=0;", "E28 a flange of 0 ears"),
        ("shape=flange; ears=25;", "E28 a flange of 25 ears"),
    ] {
        assert_eq!(told(&developed(Kind::Gasket, &format!("{bad}{FLANGE}")).faults), [wanted]);
    }
    let inside = FLANGE.replace("ear-at=26 mm", "ear-at=13 mm");
    assert_eq!(
        told(&developed(Kind::Gasket, &format!("shape=flange; {inside}")).faults),
        ["E28 with `ear-at` 13.00 mm the ears do not stand out of the body"]
    );
    let wide = FLANGE.replace("ear-hole=5 mm", "ear-hole=15 mm");
    let made = developed(Kind::Gasket, &format!("shape=flange; {wide}"));
    assert!(told(&made.faults)[0].starts_with("E27 the hole of ear 1"), "{:?}", told(&made.faults));
}

// The arc over an opening of 1 in that rises 1/8 in is 1.041159 in, over 32 mm rising 3 mm 32.74480 mm: circle through
// three points, worked apart by quadrature.
#[test]
fn a_self_energising_gasket_has_room_to_rise() {
    let it = gasket("shape=self-energising; opening=1 in; gap=1/8 in; land=3/16 in; bore=1/4 in");
    assert_relative_eq!(term(&it, "free side"), 1.041159 * 25.4, max_relative = 1e-5);
    let side = (1.041159 + 0.375) * 25.4;
    assert_relative_eq!(it.shape.bounds().width(), side, max_relative = 1e-5);
    assert_relative_eq!(it.shape.bounds().height(), side, max_relative = 1e-5);
    let (at, r) = it.shape.holes()[0].as_circle().unwrap();
    assert_relative_eq!(at.x, side / 2.0, max_relative = 1e-5);
    assert_relative_eq!(r, 3.175, max_relative = 1e-12);
    let plain = gasket("shape=self-energising; opening=32 mm; gap=3 mm; land=5 mm");
    assert!(plain.shape.holes().is_empty());
    assert_relative_eq!(plain.shape.bounds().width(), 42.74480, max_relative = 1e-6);
    for (bad, wanted) in [
        ("gap=17 mm", "E28 a rise of 17.00 mm over an opening of 32.00 mm"),
        ("gap=0 mm", "E28 `gap` is 0"),
        ("gap=3 mm; bore=33 mm", "E28 bore 33.00 mm is not less than opening 32.00 mm"),
        ("gap=3 mm; length=9 mm", "E28 a gasket of shape \"self-energising\" has no `length`"),
    ] {
        let text = format!("shape=self-energising; opening=32 mm; land=5 mm; {bad}");
        assert_eq!(told(&developed(Kind::Gasket, &text).faults), [wanted]);
    }
}

/// Every key of the shapes is one that the kind takes, and no shape is without a row.
#[test]
fn the_table_of_shapes_is_whole() {
    let names: Vec<&str> = super::SHAPES.iter().map(|(name, _)| *name).collect();
    let crate::part::Takes::Word(words) = super::KEYS[0].takes else { panic!() };
    assert_eq!(names, words);
    for key in super::SHAPES.iter().flat_map(|(_, keys)| *keys) {
        assert!(super::KEYS.iter().any(|k| k.name == *key), "{key}");
    }
}
