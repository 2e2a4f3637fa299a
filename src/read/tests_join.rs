//! Ends that meet, nearly meet, branch and do not meet; doubles; sizes.

use super::tests::{page, svg};
use super::*;
use approx::assert_relative_eq;

fn lines(ends: &[(f64, f64, f64, f64)]) -> String {
    let drawn = ends
        .iter()
        .map(|(a, b, c, d)| format!("<line x1=\"{a}\" y1=\"{b}\" x2=\"{c}\" y2=\"{d}\"/>"))
        .collect::<Vec<_>>()
        .concat();
    page(&drawn)
}

#[test]
fn lines_in_any_order_and_direction_make_a_square() {
    let read = svg(&lines(&[
        (10.0, 10.0, 20.0, 10.0),
        (20.0, 20.0, 10.0, 20.0),
        (10.0, 10.0, 10.0, 20.0),
        (20.0, 20.0, 20.0, 10.0),
    ]))
    .unwrap();
    assert_eq!(read.loops.len(), 1);
    assert_relative_eq!(read.loops[0].area(), 100.0, epsilon = 1e-9);
    assert!(read.notes.is_empty(), "{:?}", read.notes);
}

#[test]
fn small_gaps_close_at_their_middle_and_are_told() {
    let square = |gap: f64| {
        lines(&[
            (10.0, 10.0, 20.0, 10.0),
            (20.0, 10.0 + gap, 20.0, 20.0),
            (20.0, 20.0, 10.0, 20.0),
            (10.0, 20.0, 10.0, 10.0),
        ])
    };
    let read = svg(&square(0.04)).unwrap();
    assert_eq!(read.loops.len(), 1);
    assert!(read.notes[0].contains("closed 1 gap between ends, of 0.0400 mm"), "{:?}", read.notes);
    assert!(read.loops[0].segs().iter().any(|s| (s.a.y - 89.98).abs() < 1e-9));
    let fault = svg(&square(0.4)).unwrap_err();
    crate::fault::tells([fault.code], "E94");
    assert!(fault.text.contains("x 20.000 y 90.000"), "{}", fault.text);
    assert!(fault.text.contains("x 20.000 y 89.600"), "{}", fault.text);
    assert!(fault.text.contains("0.400 mm away"), "{}", fault.text);
    let wide = ReadOptions { join: 0.5, ..ReadOptions::default() };
    assert!(outlines("a.svg", square(0.4).as_bytes(), &wide).is_ok());
    let none = ReadOptions { join: 0.0, ..wide };
    assert!(outlines("a.svg", square(0.0).as_bytes(), &none).is_ok());
    assert_eq!(outlines("a.svg", square(0.01).as_bytes(), &none).unwrap_err().code, "E94");
}

#[test]
fn a_branch_is_refused_with_its_place() {
    let fault = svg(&lines(&[
        (10.0, 10.0, 20.0, 10.0),
        (20.0, 10.0, 20.0, 20.0),
        (20.0, 20.0, 10.0, 10.0),
        (20.0, 20.0, 30.0, 30.0),
    ]))
    .unwrap_err();
    crate::fault::tells([fault.code], "E95");
    assert!(fault.text.contains("3 ends meet near x 20.000 y 80.000"), "{}", fault.text);
}

#[test]
fn short_pieces_of_a_curve_are_no_specks() {
    // A circle of radius 1 in 400 separate lines of 0.016 mm: far shorter than the gap that may be closed.
    let at = |i: i32| {
        let a = f64::from(i.rem_euclid(400)) * std::f64::consts::TAU / 400.0;
        (50.0 + a.cos(), 50.0 + a.sin())
    };
    let ends: Vec<_> = (0..400).map(|i| (at(i).0, at(i).1, at(i + 1).0, at(i + 1).1)).collect();
    let read = svg(&lines(&ends)).unwrap();
    assert_eq!(read.loops.len(), 1);
    let (_, radius) = read.loops[0].as_circle().unwrap();
    assert!((radius - 1.0).abs() < 0.001);
}

#[test]
fn a_loose_speck_is_dropped_and_told() {
    let read = svg(&page(
        "<rect width=\"30\" height=\"30\"/><line x1=\"50\" y1=\"50\" x2=\"50.01\" y2=\"50\"/><path d=\"M5 5Z M7 7L7 7\"/>",
    ))
    .unwrap();
    assert_eq!(read.loops.len(), 1);
    assert!(read.notes[0].contains("1 speck too short"), "{:?}", read.notes);
}

#[test]
fn doubles_are_kept_once() {
    let read = svg(&page(
        "<rect x=\"10\" y=\"10\" width=\"30\" height=\"20\"/><path d=\"M40 30H10V10H40Z\"/>\
         <circle cx=\"60\" cy=\"60\" r=\"9\"/><path d=\"M51 60a9 9 0 0 1 18 0a9 9 0 0 1-18 0z\"/>\
         <rect x=\"10\" y=\"40\" width=\"30\" height=\"20\"/>",
    ))
    .unwrap();
    assert_eq!(read.loops.len(), 3);
    assert!(read.notes[0].contains("2 outlines were drawn twice"), "{:?}", read.notes);
    // A line drawn twice is no branch.
    let twice = svg(&lines(&[
        (10.0, 10.0, 20.0, 10.0),
        (20.0, 10.0, 10.0, 10.0),
        (20.0, 10.0, 20.0, 20.0),
        (20.0, 20.0, 10.0, 10.0),
    ]))
    .unwrap();
    assert!(twice.notes[0].contains("1 line drawn twice"), "{:?}", twice.notes);
}

#[test]
fn what_crosses_itself_or_holds_nothing_is_refused_with_its_place() {
    let fault = svg(&page("\n<path d=\"M10 10L40 40V10L10 50Z\"/>")).unwrap_err();
    assert_eq!((fault.code, fault.line), ("E96", Some(2)));
    assert!(fault.text.contains("crosses"), "{}", fault.text);
    let fault = svg(&page("<path d=\"M10 10H40H10Z\"/>")).unwrap_err();
    crate::fault::tells([fault.code], "E96");
    let fault = svg(&page("<path d=\"M10 10H40Z\"/>")).unwrap_err();
    assert_eq!(fault.code, "E96");
}

#[test]
fn odd_sizes_are_asked_about() {
    let tiny = svg(&page("<rect width=\".5\" height=\".5\"/>")).unwrap();
    assert!(tiny.notes.iter().any(|n| n.contains("unit of the file right")));
    let vast = svg(&page("<rect width=\"5000\" height=\"5\"/>")).unwrap();
    assert!(vast.notes.iter().any(|n| n.contains("unit of the file right")));
}

#[test]
fn loops_come_largest_first() {
    let read = svg(&page(
        "<circle cx=\"50\" cy=\"50\" r=\"5\"/><circle cx=\"50\" cy=\"50\" r=\"40\"/><circle cx=\"50\" cy=\"50\" r=\"20\"/>",
    ))
    .unwrap();
    let radii: Vec<f64> = read.loops.iter().filter_map(|l| l.as_circle().map(|c| c.1)).collect();
    assert_eq!(radii, [40.0, 20.0, 5.0]);
    assert_eq!(read.size_mm, (80.0, 80.0));
}
