//! The odd cases.

use super::jobs::hide;
use super::*;
use crate::lay::chance::Chance;

#[test]
fn no_pieces_and_no_sheets() {
    let none = group(Vec::new(), vec![cloth(100.0, 100.0)], 1.0, 1.0);
    assert_eq!(laid(&none, 100).placed.len(), 0);
    let nowhere = group(many("dot", 0, &free(disk(5.0)), 3, 0), Vec::new(), 1.0, 1.0);
    let layout = laid(&nowhere, 100);
    assert_eq!(layout.left.len(), 3);
    assert_eq!(layout.left[0].largest_free, None);
}

#[test]
fn one_piece_lies_in_the_corner() {
    let one = group(
        many("card", 0, &fixed(plate(40.0, 20.0, 0.0), &[0.0]), 1, 0),
        vec![cloth(100.0, 100.0)],
        3.0,
        1.0,
    );
    let layout = laid(&one, 100);
    let bounds = shapes(&one, &layout)[0].bounds();
    assert!((bounds.x0 - 3.0).abs() < 1e-9 && (bounds.y0 - 3.0).abs() < 1e-9, "{bounds:?}");
}

#[test]
fn a_piece_larger_than_its_sheet_is_left_out_with_the_largest_free_circle() {
    let big = group(many("disk", 0, &free(disk(99.0)), 1, 0), vec![cloth(200.0, 100.0)], 2.0, 1.0);
    let layout = laid(&big, 100);
    let (ground, at, diameter) = layout.left[0].largest_free.unwrap();
    assert_eq!(ground, 0);
    // 100 wide less 2 on either side.
    assert!((95.0..=96.0).contains(&diameter), "{diameter}");
    assert!((at.y - 50.0).abs() < 1.0);
}

#[test]
fn a_sheet_smaller_than_its_margin_holds_nothing() {
    let tiny = group(many("dot", 0, &free(disk(5.0)), 2, 0), vec![cloth(18.0, 500.0)], 10.0, 1.0);
    let layout = laid(&tiny, 100);
    assert_eq!(layout.left.len(), 2);
    assert_eq!(layout.left[0].largest_free, None);
}

#[test]
fn both_lobes_of_a_necked_sheet_are_used() {
    let outline = Loop::polygon(&[
        p(0.0, 0.0),
        p(50.0, 0.0),
        p(50.0, 24.0),
        p(60.0, 24.0),
        p(60.0, 0.0),
        p(110.0, 0.0),
        p(110.0, 50.0),
        p(60.0, 50.0),
        p(60.0, 26.0),
        p(50.0, 26.0),
        p(50.0, 50.0),
        p(0.0, 50.0),
    ])
    .unwrap();
    let necked = sheet("neck", SheetKind::Hide, outline, Vec::new());
    let job = group(many("disk", 0, &free(disk(44.0)), 3, 0), vec![necked], 2.0, 1.0);
    let layout = laid(&job, 500);
    assert_eq!(layout.placed.len(), 2);
    assert_eq!(layout.left.len(), 1);
}

#[test]
fn a_disk_fits_its_hole_exactly() {
    let mut pieces = many("ring", 0, &free(ring(60.0, 32.0)), 1, 0);
    pieces.extend(many("dot", 1, &free(disk(30.0)), 1, 0));
    let job = group(pieces, vec![cloth(64.0, 64.0)], 1.0, 1.0);
    let layout = laid(&job, 100);
    assert_eq!(layout.placed.len(), 2, "30 mm and 1 mm on either side is 32 mm");
    assert_eq!(layout.placed[1].host, Some(0));
}

#[test]
fn guests_lie_in_guests_and_soft_ones_stay_out() {
    let mut pieces = many("large", 0, &free(ring(90.0, 60.0)), 1, 0);
    pieces.extend(many("small", 1, &free(ring(55.0, 30.0)), 1, 0));
    pieces.extend(many("dot", 2, &free(disk(12.0)), 2, 0));
    let mut job = group(pieces, vec![cloth(400.0, 100.0)], 1.0, 1.0);
    let layout = laid(&job, 500);
    let hosts: Vec<_> = layout.placed.iter().map(|l| l.host).collect();
    assert_eq!(hosts, [None, Some(0), Some(1), Some(1)]);
    job.hard_edges = true;
    job.pieces[1].soft = true;
    let layout = laid(&job, 500);
    assert_eq!(layout.placed[1].host, None);
}

#[test]
fn an_outline_of_five_thousand_corners_is_laid_on() {
    let mut chance = Chance::new(5, 5);
    let skin = hide("skin", 300.0, 5000, &mut chance);
    let mut pieces = many("pouch", 0, &free(disk(41.0)), 40, 0);
    pieces.extend(many("flap", 1, &free(plate(60.0, 25.0, 3.0)), 20, 0));
    let job = group(pieces, vec![skin], 4.0, 0.5);
    let layout = laid(&job, 500);
    assert!(layout.left.is_empty());
}

#[test]
fn wanted_pieces_come_before_spares() {
    let mut pieces = many("large", 0, &free(disk(40.0)), 4, 2);
    pieces.extend(many("small", 1, &free(disk(38.0)), 2, 0));
    // Room for four disks in a row.
    let job = group(pieces, vec![cloth(170.0, 42.0)], 1.0, 1.0);
    let layout = laid(&job, 2000);
    let left: Vec<_> = layout.left.iter().map(|l| job.pieces[l.piece].address.spare).collect();
    assert_eq!(left, [1, 2]);
}

#[test]
fn sheets_are_used_in_their_order() {
    let pieces = many("disk", 0, &free(disk(40.0)), 5, 0);
    let job = group(pieces, vec![cloth(90.0, 42.0), cloth(500.0, 42.0)], 1.0, 1.0);
    let layout = laid(&job, 500);
    let grounds: Vec<_> = layout.placed.iter().map(|l| l.ground).collect();
    assert_eq!(grounds, [0, 0, 1, 1, 1]);
}

struct Hasty;

impl Watch for Hasty {
    fn look(&self, _: Progress) {}
    fn stop(&self) -> bool {
        true
    }
}

#[test]
fn a_watch_that_stops_at_once_gets_a_layout_all_the_same() {
    let job = group(many("disk", 0, &free(disk(40.0)), 5, 0), vec![cloth(500.0, 42.0)], 1.0, 1.0);
    let layout = lay(&job, effort(1000), &Hasty);
    assert!(layout.stopped);
    assert_eq!(layout.placed.len() + layout.left.len(), 5);
    assert!(proof::prove(&job, &layout).is_ok());
}
