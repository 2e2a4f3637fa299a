//! Typed and traced lines against plain figures.

use crate::geom::{Loop, Point, Seg};
use crate::part::holes::tests::{measures, term, told};
use crate::part::{Developed, Kind, Member, Value};
use approx::assert_relative_eq;
use std::f64::consts::PI;
use std::sync::Arc;

fn developed(corners: &[(f64, f64, f64)], more: &str) -> Developed {
    let mut m = measures(more);
    let list = corners.iter().map(|(x, y, bow)| (Point::new(*x, *y), *bow)).collect();
    m.set("corners", Value::Corners(list), m.place.clone());
    (Kind::Outline.card().develop)(&m)
}

fn member(corners: &[(f64, f64, f64)], more: &str) -> Member {
    let made = developed(corners, more);
    assert_eq!(told(&made.faults), Vec::<String>::new());
    made.members[0].clone()
}

const SQUARE: [(f64, f64, f64); 4] =
    [(10.0, 20.0, 0.0), (50.0, 20.0, 0.0), (50.0, 60.0, 0.0), (10.0, 60.0, 0.0)];

/// A square with a bow on its right side.
fn square(bow: f64, backward: bool) -> Vec<(f64, f64, f64)> {
    let mut list = SQUARE.to_vec();
    list[1].2 = bow;
    if backward {
        // The side from corner 2 to 3 now follows corner 3.
        list[1].2 = 0.0;
        list[2].2 = bow;
        list.reverse();
    }
    list
}

// A segment of sagitta h on a chord c: r = (c²/4 + h²)/2h, area r² (θ - sin θ)/2: elementary geometry.
#[test]
fn bows_run_outward_whichever_way_the_corners_run() {
    for bow in [3.0_f64, 12.0, 20.0] {
        let r = (400.0 + bow * bow) / (2.0 * bow);
        let angle = 4.0 * (bow / 20.0).atan();
        let cap = r * r * (angle - angle.sin()) / 2.0;
        for backward in [false, true] {
            let out = member(&square(bow, backward), "");
            assert_relative_eq!(out.shape.area(), 1600.0 + cap, max_relative = 1e-9);
            assert_relative_eq!(out.shape.bounds().x1, 50.0 + bow, epsilon = 1e-9);
            assert_relative_eq!(term(&out, "cut length"), 40.0 + bow, epsilon = 1e-9);
            assert_relative_eq!(term(&out, "circumference"), 120.0 + r * angle, epsilon = 1e-9);
            let in_ = member(&square(-bow, backward), "");
            assert_relative_eq!(in_.shape.area(), 1600.0 - cap, max_relative = 1e-9);
            assert_relative_eq!(term(&in_, "area"), 1600.0 - cap, max_relative = 1e-9);
            assert_relative_eq!(term(&in_, "cut length"), 40.0, epsilon = 1e-9);
        }
    }
    // Coordinates stay as typed.
    let b = member(&SQUARE, "").shape.bounds();
    assert_eq!((b.x0, b.y0, b.x1, b.y1), (10.0, 20.0, 50.0, 60.0));
}

#[test]
fn two_corners_make_a_lens_and_two_half_turns_a_circle() {
    let disk = member(&[(0.0, 0.0, 5.0), (10.0, 0.0, 5.0)], "");
    assert_relative_eq!(disk.shape.area(), 25.0 * PI, max_relative = 1e-9);
    assert!(disk.shape.outline().as_circle().is_some());
    // Counter-clockwise, the first arc bows downward.
    let moon = member(&[(0.0, 0.0, 4.0), (10.0, 0.0, -2.0)], "");
    assert_relative_eq!(moon.shape.bounds().y0, -4.0, epsilon = 1e-9);
    assert!(moon.shape.bounds().y1 < 1e-9);
}

#[test]
fn lines_that_cannot_be_are_refused() {
    let told_of = |corners: &[(f64, f64, f64)], more: &str| told(&developed(corners, more).faults);
    assert_eq!(
        told_of(&square(20.1, false), ""),
        ["E28 a bow of 20.10 mm after corner 2, whose side is 40.00 mm long"]
    );
    assert_eq!(told_of(&[(0.0, 0.0, 0.0)], ""), ["E29 an outline of 1 corners encloses nothing"]);
    let mut closed = SQUARE.to_vec();
    closed.push(SQUARE[0]);
    assert_eq!(told_of(&closed, ""), ["E29 corners 5 and 1 are one point"]);
    let crossed = [(0.0, 0.0, 0.0), (40.0, 0.0, 0.0), (10.0, 30.0, 0.0), (30.0, 40.0, 0.0)];
    assert!(told_of(&crossed, "")[0].starts_with("E29 the outline crosses"));
    // The long side bowed inward past the flat corner opposite to it.
    let inside_out = [(0.0, 0.0, -10.0), (40.0, 0.0, 0.0), (20.0, 3.0, 0.0)];
    assert!(told_of(&inside_out, "")[0].starts_with("E28 the bows turn the outline inside out"));
    assert_eq!(told(&(Kind::Outline.card().develop)(&measures("")).faults).len(), 1);
}

#[test]
fn corners_are_rounded_by_one_radius() {
    let it = member(&SQUARE, "corner=6 mm");
    assert_relative_eq!(it.shape.area(), 1600.0 - (4.0 - PI) * 36.0, max_relative = 1e-9);
    let back: Vec<_> = SQUARE.iter().rev().copied().collect();
    assert_relative_eq!(member(&back, "corner=6 mm").shape.area(), it.shape.area(), epsilon = 1e-9);
    // All of it: a circle.
    let round = member(&SQUARE, "corner=20 mm");
    assert_eq!(round.shape.outline().as_circle().map(|(_, r)| (r * 1e9).round() / 1e9), Some(20.0));
    // The circle in an equilateral triangle of side 60 has the radius 60/(2√3) = 17.32.
    let triangle = [(0.0, 0.0, 0.0), (60.0, 0.0, 0.0), (30.0, 30.0 * 3.0_f64.sqrt(), 0.0)];
    let made = developed(&triangle, "corner=17.4 mm");
    assert_eq!(made.faults[0].code, "E28");
    assert_eq!(made.faults[0].cure.as_deref(), Some("17.32 mm is the largest that fits"));
    // Each corner loses r² (√3 - π/3): elementary geometry.
    let (r, root) = (17.3, 3.0_f64.sqrt());
    let area = 900.0 * root - r * r * (3.0 * root - PI);
    assert_relative_eq!(
        member(&triangle, "corner=17.3 mm").shape.area(),
        area,
        max_relative = 1e-9
    );
    assert!(
        told(&developed(&square(3.0, false), "corner=2 mm").faults)[0]
            .starts_with("E28 `corner` rounds")
    );
}

#[test]
fn marks_are_creases_and_stay_on_the_part() {
    let it = member(
        &SQUARE,
        "mark=[from=10 mm|30 mm; to=50 mm|30 mm]; mark=[from=20 mm|25 mm; to=25 mm|55 mm]",
    );
    let line = |a: (f64, f64), b: (f64, f64)| Seg::line(Point::from(a), Point::from(b));
    assert_eq!(it.creases, [line((10.0, 30.0), (50.0, 30.0)), line((20.0, 25.0), (25.0, 55.0))]);
    for (mark, wanted) in [
        ("from=5 mm|30 mm; to=50 mm|30 mm", "E28 mark 1 leaves the part"),
        ("from=30 mm|30 mm; to=30 mm|30 mm", "E28 mark 1 ends where it begins"),
    ] {
        assert_eq!(told(&developed(&SQUARE, &format!("mark=[{mark}]")).faults), [wanted]);
    }
    // Both ends on it, and a notch between them.
    let notched = square(-15.0, false);
    let over = "mark=[from=49 mm|21 mm; to=49 mm|59 mm]";
    assert_eq!(told(&developed(&notched, over).faults), ["E28 mark 1 leaves the part"]);
    member(&notched, "mark=[from=12 mm|21 mm; to=12 mm|59 mm]");
}

#[test]
fn holes_stand_in_the_lines_own_coordinates() {
    let it = member(
        &SQUARE,
        "hole=[at=20 mm|30 mm; diameter=6 mm]; window=[at=35 mm|45 mm; length=10 mm; width=8 mm]",
    );
    assert_eq!(it.shape.holes()[0].as_circle(), Some((Point::new(20.0, 30.0), 3.0)));
    assert_relative_eq!(
        term(&it, "area of the material"),
        1600.0 - 9.0 * PI - 80.0,
        epsilon = 1e-9
    );
    assert_relative_eq!(term(&it, "thinnest web"), 7.0, epsilon = 1e-9);
    let made = developed(&SQUARE, "hole=[at=5 mm|30 mm; diameter=6 mm]");
    assert_eq!(
        made.faults[0].cure.as_deref(),
        Some(
            "the part runs from x 10.00 to 50.00 mm and from y 20.00 to 60.00 mm; places are in the same coordinates"
        )
    );
}

#[test]
fn a_file_brings_its_holes() {
    let traced = |more: &str, holes: Vec<Loop>| {
        let mut m = measures(more);
        let line = Loop::circle(Point::new(100.0, -50.0), 30.0).unwrap();
        m.set("outline", Value::Outline(Arc::new((line, holes))), m.place.clone());
        (Kind::Outline.card().develop)(&m)
    };
    let own = || vec![Loop::circle(Point::new(90.0, -50.0), 4.0).unwrap()];
    let made = traced("hole=[at=110 mm|-50 mm; diameter=8 mm]", own());
    assert_eq!(told(&made.faults), Vec::<String>::new());
    let it = &made.members[0];
    assert_eq!(it.shape.holes().len(), 2);
    assert_relative_eq!(term(it, "thinnest web"), 12.0, epsilon = 1e-9);
    assert_relative_eq!(term(it, "circumference"), 60.0 * PI, epsilon = 1e-9);
    assert_relative_eq!(it.shape.bounds().x0, 70.0);
    let clash = traced("hole=[at=95 mm|-50 mm; diameter=8 mm]", own());
    assert_eq!(told(&clash.faults), ["E27 hole 1 of the file and hole 1 run into each other"]);
    assert!(told(&traced("corner=2 mm", own()).faults)[0].starts_with("E28 `corner` rounds typed"));
    let mut both = measures("");
    let list = SQUARE.iter().map(|(x, y, b)| (Point::new(*x, *y), *b)).collect();
    both.set("corners", Value::Corners(list), both.place.clone());
    let line = Loop::circle(Point::ORIGIN, 3.0).unwrap();
    both.set("outline", Value::Outline(Arc::new((line, Vec::new()))), both.place.clone());
    assert_eq!(
        told(&(Kind::Outline.card().develop)(&both).faults),
        ["E13 this outline gives both `outline` and `corners`"]
    );
}
