//! Growth, webs and holes worked by hand, and the slips that a table may have.

use super::finding::Filling;
use super::*;
use crate::fault::{Fault, Place};
use approx::assert_relative_eq;
use std::sync::Arc;

fn place(line: usize) -> Place {
    Place { line, ..Place::head(&Arc::from("readings.csv")) }
}

fn figure(value: f64) -> Figure {
    Figure { value, written: format!("{value} mm"), place: place(9) }
}

/// A table filled in by a rule: first, second, look.
fn filled(
    sort: Sort,
    by: impl Fn(&Row) -> (Option<f64>, Option<f64>, Option<&'static str>),
) -> Vec<Filling> {
    let all = rows(sort);
    all.iter()
        .enumerate()
        .map(|(n, row)| {
            let (first, second, look) = by(row);
            let load = Figure { value: 5.0, written: "5 N".to_owned(), place: place(n + 2) };
            Filling {
                number: row.number,
                drawn: Some(figure(row.drawn)),
                first: first.map(figure),
                second: second.map(figure),
                load: (sort == Sort::Stretch).then_some(load),
                look: look.map(|look| (look, place(n + 2))),
                place: place(n + 2),
            }
        })
        .collect()
}

fn codes(faults: &[Fault]) -> Vec<&'static str> {
    faults.iter().map(|fault| fault.code).collect()
}

fn refused(sort: Sort, table: &[Filling]) -> (Vec<&'static str>, String) {
    let faults = found(sort, table, &place(1)).unwrap_err();
    let text = faults.iter().map(|f| f.text.clone()).collect::<Vec<_>>().join("\n");
    (codes(&faults), text)
}

/// Strain is the change of length over the length before: ISO 6892-1:2019, 3.6.
#[test]
fn growth_is_what_is_longer_over_what_it_was() {
    let grown = |row: &Row| {
        let share = if row.way == "along" { 0.02 } else { 0.06 };
        let before = row.drawn + f64::from(row.number) / 10.0;
        (Some(before), Some(before * (1.0 + share)), None)
    };
    let (finding, faults) = found(Sort::Stretch, &filled(Sort::Stretch, grown), &place(1)).unwrap();
    let Finding::Stretch(along, across, load) = finding else { panic!("{finding:?}") };
    assert_relative_eq!(along.mean, 0.02, max_relative = 1e-9);
    assert_relative_eq!(across.mean, 0.06, max_relative = 1e-9);
    assert!(along.spread < 1e-9 && along.count == 3 && load == "5 N" && faults.is_empty());
}

#[test]
fn slips_of_a_stretched_strip_are_refused() {
    let good = |row: &Row| (Some(row.drawn), Some(row.drawn * 1.03), None);
    let mut table = filled(Sort::Stretch, |row| (Some(row.drawn * 1.03), Some(row.drawn), None));
    let (found_codes, text) = refused(Sort::Stretch, &table);
    assert!(found_codes == ["E66"] && text.contains("changed over"), "{text}");
    table = filled(Sort::Stretch, good);
    table[1].second = Some(figure(99.0));
    assert!(refused(Sort::Stretch, &table).1.contains("number 2 shrank"));
    table = filled(Sort::Stretch, good);
    table[0].first = Some(figure(80.0));
    let (found_codes, text) = refused(Sort::Stretch, &table);
    assert!(found_codes == ["E66"] && text.contains("is the size of 80 mm"), "{text}");
    table = filled(Sort::Stretch, good);
    table[0].first = Some(figure(3.937));
    assert!(refused(Sort::Stretch, &table).1.contains("looks like inches"));
    table = filled(Sort::Stretch, good);
    table[4].second = Some(figure(200.0));
    assert_eq!(refused(Sort::Stretch, &table).0, ["E67"]);
    table = filled(Sort::Stretch, good);
    for row in &mut table {
        row.load = None;
    }
    assert!(refused(Sort::Stretch, &table).1.contains("the load is not said"));
    table = filled(Sort::Stretch, good);
    for row in &mut table[3..5] {
        row.second = None;
    }
    assert!(refused(Sort::Stretch, &table).1.contains("1 strips across the grain"));
    table = filled(Sort::Stretch, good);
    table[2].drawn = Some(figure(90.0));
    assert_eq!(refused(Sort::Stretch, &table).0[0], "E66");
    assert_eq!(refused(Sort::Stretch, &filled(Sort::Stretch, |_| (None, None, None))).0, ["E12"]);
}

#[test]
fn the_narrowest_web_counts_from_the_widest_down() {
    let look = |least: f64| {
        move |row: &Row| (None, None, Some(if row.drawn >= least { "clean" } else { "charred" }))
    };
    let of = |table: &[Filling]| found(Sort::Gap, table, &place(1)).unwrap();
    assert_eq!(of(&filled(Sort::Gap, look(1.0))), (Finding::Gap(1.0, false), vec![]));
    assert_eq!(of(&filled(Sort::Gap, look(0.1))), (Finding::Gap(0.5, true), vec![]));
    // Torn one way is torn.
    let mut table = filled(Sort::Gap, look(1.0));
    table[9].look = Some(("torn", place(9)));
    let (finding, faults) = of(&table);
    assert_eq!((finding, codes(&faults)), (Finding::Gap(1.5, false), vec![]));
    // A narrow one that held below a wide one that did not is luck.
    table = filled(Sort::Gap, look(1.0));
    table[3].look = Some(("torn", place(9)));
    let (finding, faults) = of(&table);
    assert_eq!((finding, codes(&faults)), (Finding::Gap(2.0, false), vec!["W52"]));
    assert_eq!(refused(Sort::Gap, &filled(Sort::Gap, look(9.0))).0, ["E67"]);
    table = filled(Sort::Gap, look(1.0));
    table[6].look = None;
    assert_eq!(refused(Sort::Gap, &table).0, ["W53", "E67"]);
}

#[test]
fn the_smallest_hole_is_clean_round_and_right() {
    let good = |row: &Row| (Some(row.drawn + 0.05), Some(row.drawn - 0.05), Some("clean"));
    let of = |table: &[Filling]| found(Sort::Hole, table, &place(1)).unwrap().0;
    assert_eq!(of(&filled(Sort::Hole, good)), Finding::Hole(0.8, true));
    let mut table = filled(Sort::Hole, good);
    // 2 mm across x and 1.7 across y is no round hole of 2 mm.
    table[4].second = Some(figure(1.7));
    assert_eq!(of(&table), Finding::Hole(2.5, false));
    table = filled(Sort::Hole, good);
    table[6].look = Some(("torn", place(9)));
    assert_eq!(of(&table), Finding::Hole(4.0, false));
    table = filled(Sort::Hole, good);
    table[8].first = Some(figure(3.0));
    assert!(refused(Sort::Hole, &table).1.contains("is the size of 3 mm"));
    table[8].first = Some(figure(5.0 / 25.4));
    assert!(refused(Sort::Hole, &table).1.contains("looks like inches"));
    let wide =
        filled(Sort::Hole, |row| (Some(row.drawn + 0.4), Some(row.drawn + 0.4), Some("clean")));
    let (found_codes, text) = refused(Sort::Hole, &wide);
    assert!(found_codes == ["E67"] && text.contains("off by +0.40 mm"), "{text}");
}

/// Each web and hole lies where its row says, measured from the outlines themselves.
#[test]
fn pieces_have_what_their_rows_say() {
    let webs = test_pieces(Sort::Gap, 0.0).unwrap();
    for (piece, way) in webs.iter().zip(["x", "y"]) {
        let shape = piece.turns.design(0).unwrap().shape.clone();
        let boxes: Vec<_> = shape.holes().iter().map(crate::geom::Loop::bounds).collect();
        let mut found: Vec<f64> = boxes
            .windows(2)
            .map(|two| if way == "x" { two[1].x0 - two[0].x1 } else { two[1].y0 - two[0].y1 })
            .collect();
        found.sort_by(f64::total_cmp);
        let wanted: Vec<f64> =
            rows(Sort::Gap).iter().filter(|r| r.way == way).map(|r| r.drawn).collect();
        for (a, b) in found.iter().zip(&wanted) {
            assert_relative_eq!(a, b, epsilon = 1e-9);
        }
        assert_eq!(found.len(), wanted.len());
    }
    let plate = test_pieces(Sort::Hole, 0.0).unwrap();
    let shape = plate[0].turns.design(0).unwrap().shape.clone();
    let mut found: Vec<f64> =
        shape.holes().iter().map(|h| 2.0 * h.as_circle().unwrap().1).collect();
    found.sort_by(f64::total_cmp);
    let wanted: Vec<f64> = rows(Sort::Hole).iter().map(|row| row.drawn).collect();
    assert_eq!(found, wanted);
    let strips = test_pieces(Sort::Stretch, 30.0).unwrap();
    for (piece, row) in strips.iter().zip(rows(Sort::Stretch)) {
        let marks = piece.turns.design(0).unwrap().creases.clone();
        assert_relative_eq!((marks[1].a - marks[0].a).hypot(), row.drawn, epsilon = 1e-9);
        assert_eq!(piece.address.to_string(), format!("coupon-stretch:{}", row.number));
        assert_eq!(Sort::of(&piece.address.to_string()), Some(Sort::Stretch));
    }
    assert_eq!(Sort::of("coupon:3"), Some(Sort::Kerf));
    assert_eq!(Sort::of("pouch:3"), None);
}
