//! Which sheets are taken, which way pieces lie, and what could be cut besides.

use super::*;
use std::sync::atomic::{AtomicU64, Ordering};

fn named(id: &str, length: f64, width: f64, from: Option<&str>) -> Sheet {
    let outline = width_of_cloth(length, width).unwrap();
    let from = from.map(str::to_owned);
    Sheet { from, ..sheet(id, SheetKind::Leaf, outline, Vec::new()) }
}

fn used(group: &Group, layout: &Layout) -> Vec<String> {
    let used: std::collections::BTreeSet<usize> = layout.placed.iter().map(|p| p.ground).collect();
    used.into_iter().map(|n| group.grounds[n].sheet.id.clone()).collect()
}

#[test]
fn one_sheet_that_takes_all_is_better_than_two() {
    // 40 squares of 20 need 160 cm² and more: the first two sheets hold 18 each, the third all, the fourth twice that.
    let sheets = vec![
        named("a", 63.0, 126.0, None),
        named("b", 63.0, 126.0, None),
        named("c", 200.0, 106.0, None),
        named("d", 400.0, 106.0, None),
    ];
    let turns = fixed(plate(20.0, 20.0, 0.0), &[0.0, 90.0]);
    let job = group(many("square", 0, &turns, 40, 0), sheets, 0.0, 1.0);
    let layout = laid(&job, 20_000);
    assert!(layout.left.is_empty());
    assert_eq!(used(&job, &layout), ["c"]);
}

#[test]
fn remnants_are_used_before_what_is_whole_unless_next_to_nothing_fits() {
    let turns = fixed(plate(50.0, 50.0, 0.0), &[0.0, 90.0]);
    let pieces = many("square", 0, &turns, 6, 0);
    // The first remnant takes two, the second none, the third one: of so large a strip that is next to nothing.
    let sheets = vec![
        named("r1", 110.0, 60.0, Some("x")),
        named("r2", 500.0, 40.0, Some("x")),
        sheet(
            "r3",
            SheetKind::Hide,
            Loop::polygon(&[
                p(0.0, 0.0),
                p(1400.0, 0.0),
                p(1400.0, 45.0),
                p(60.0, 45.0),
                p(60.0, 60.0),
                p(0.0, 60.0),
            ])
            .unwrap(),
            Vec::new(),
        ),
        named("w", 400.0, 110.0, None),
    ];
    let mut sheets = sheets;
    sheets[2].from = Some("x".to_owned());
    let job = group(pieces, sheets, 0.0, 1.0);
    let layout = laid(&job, 20_000);
    assert!(layout.left.is_empty());
    assert_eq!(used(&job, &layout), ["r1", "w"]);
    assert_eq!(layout.placed.iter().filter(|p| p.ground == 0).count(), 2);
}

#[test]
fn a_remnant_that_takes_the_only_piece_is_used_however_large() {
    let turns = fixed(plate(10.0, 10.0, 0.0), &[0.0]);
    let sheets = vec![named("r", 500.0, 500.0, Some("x")), named("w", 40.0, 40.0, None)];
    let job = group(many("square", 0, &turns, 1, 0), sheets, 0.0, 1.0);
    assert_eq!(used(&job, &laid(&job, 3000)), ["r"]);
}

#[test]
fn wedges_lie_head_to_tail() {
    // Two right wedges of 40 and 20 make a strip of 60 x 100: 10 pairs of them, a gap of 1 between slopes and ends.
    let wedge = Loop::polygon(&[p(0.0, 0.0), p(100.0, 0.0), p(100.0, 20.0), p(0.0, 40.0)]).unwrap();
    let turns = fixed(Shape::plain(wedge), &[0.0, 180.0]);
    let job = group(many("wedge", 0, &turns, 20, 0), vec![cloth(2000.0, 62.1)], 0.0, 1.0);
    let layout = laid(&job, 5000);
    assert!(layout.left.is_empty());
    let end = far_end(&job, &layout);
    assert!(end < 10.0 * 101.0 + 1.0, "{end}");
}

fn blanks(turns: &[f64], count: u32) -> Group {
    let corners = [
        (0.0, 11.5),
        (85.0, 0.0),
        (205.0, 0.0),
        (290.0, 11.5),
        (290.0, 23.5),
        (205.0, 35.0),
        (85.0, 35.0),
        (0.0, 23.5),
    ];
    let points: Vec<Point> = corners.iter().map(|(x, y)| p(*x, *y)).collect();
    let turns = fixed(Shape::plain(Loop::polygon(&points).unwrap()), turns);
    group(many("blank", 0, &turns, count, 0), vec![cloth(3000.0, 1370.0)], 0.0, 0.5)
}

#[test]
fn tapered_blanks_that_may_lie_both_ways_take_less_of_the_roll() {
    // A single lattice of them, their length across the roll, takes 638.5 mm; lengthwise alone they take 700 and more.
    let both = blanks(&[0.0, 90.0, 180.0, 270.0], 88);
    let layout = laid(&both, 40_000);
    let end = far_end(&both, &layout);
    assert!(layout.left.is_empty() && end < 631.0, "{end}");
    let found = axes(&both, layout, effort(40_000), &Patient);
    let length = |n: usize| found.told[n].cut.unwrap().length;
    assert_eq!(
        found.told.iter().map(|t| t.axis).collect::<Vec<_>>(),
        [Axis::Lengthwise, Axis::Crosswise]
    );
    assert!(length(0) > 700.0 && length(1) < 690.0 && length(1) >= end - 1e-9);
    assert!((far_end(&both, &found.layout) - end).abs() < 1e-9);
    // The choice is not there where the grain fixes it.
    let one = blanks(&[0.0, 180.0], 8);
    let layout = laid(&one, 2000);
    assert!(axes(&one, layout.clone(), effort(2000), &Patient).told.is_empty());
}

#[test]
fn the_layout_of_one_axis_is_taken_where_it_is_better() {
    let both = blanks(&[0.0, 90.0, 180.0, 270.0], 12);
    // A poor layout: all in one row along the roll.
    let mut poor = laid(&both, 3000);
    for (n, placed) in (0..).zip(&mut poor.placed) {
        placed.stance = 0;
        placed.pose = Pose {
            x: 200.0 * f64::from(n) + 91.0 * f64::from(n),
            y: 10.0,
            turn: 0.0,
            mirrored: false,
        };
    }
    for placed in poor.placed.iter_mut().skip(10) {
        placed.pose.x -= 2500.0;
        placed.pose.y += 100.0;
    }
    proof::prove(&both, &poor).unwrap();
    let found = axes(&both, poor.clone(), effort(20_000), &Patient);
    proof::prove(&both, &found.layout).unwrap();
    assert!(far_end(&both, &found.layout) < far_end(&both, &poor) / 2.0);
    assert!(found.layout.spent > poor.spent);
}

#[test]
fn what_fills_the_last_column_is_free() {
    // 3 rows of 4 and one more: the fifth column is 20 long and has room for 2 more; of dots of 9 for 2 by 4 of them.
    let mut pieces = many("square", 0, &fixed(plate(20.0, 20.0, 0.0), &[0.0, 90.0]), 13, 0);
    let job = group(pieces.clone(), vec![cloth(400.0, 62.0)], 0.0, 1.0);
    let layout = laid(&job, 3000);
    assert!((far_end(&job, &layout) - 104.0).abs() < 1e-6);
    let free = extras(&job, &layout);
    assert_eq!(free.iter().map(|e| (e.piece, e.count)).collect::<Vec<_>>(), [(0, 2)]);
    let cut = last_cut_off(&job, &layout).unwrap();
    assert!((cut.length - 104.0).abs() < 1e-6 && cut.way == Vec2::new(1.0, 0.0));

    pieces.extend(many("dot", 1, &fixed(plate(9.5, 9.5, 0.0), &[0.0]), 1, 0));
    let job = group(pieces, vec![cloth(400.0, 62.0)], 0.0, 1.0);
    let layout = laid(&job, 3000);
    let free = extras(&job, &layout);
    // The largest first; the dot that lies there takes the place of one square.
    assert_eq!(free.iter().map(|e| job.pieces[e.piece].size).collect::<Vec<_>>(), [0, 1]);
    assert!(free[0].count == 1 && free[1].count == 7, "{free:?}");
}

#[test]
fn nothing_is_free_on_a_sheet_that_is_full() {
    let turns = fixed(plate(20.0, 20.0, 0.0), &[0.0]);
    let job = group(many("square", 0, &turns, 12, 0), vec![cloth(400.0, 62.0)], 0.0, 1.0);
    let layout = laid(&job, 3000);
    assert_eq!(extras(&job, &layout), []);
    assert_eq!(extras(&job, &Layout::default()), []);
}

#[test]
fn a_hide_is_cut_off_where_most_is_left() {
    let outline =
        Loop::polygon(&[p(0.0, 0.0), p(300.0, 0.0), p(300.0, 200.0), p(0.0, 200.0)]).unwrap();
    let job = group(
        many("square", 0, &fixed(plate(20.0, 20.0, 0.0), &[0.0]), 2, 0),
        vec![sheet("hide", SheetKind::Hide, outline, Vec::new())],
        5.0,
        1.0,
    );
    let mut layout = laid(&job, 2000);
    // By the upper side: 25 mm of 200 are less than 46 of 300.
    for (n, placed) in (0..).zip(&mut layout.placed) {
        placed.pose.x = 100.0 + 21.0 * f64::from(n);
        placed.pose.y = 200.0 - 5.0 - 27.0;
        placed.pose.turn = 0.0;
    }
    proof::prove(&job, &layout).unwrap();
    let cut = last_cut_off(&job, &layout).unwrap();
    assert_eq!(cut.way, Vec2::new(0.0, -1.0));
    assert!((cut.length - 30.0).abs() < 1e-9 && (cut.share - 0.15).abs() < 1e-9);
}

/// Stops after so many looks and keeps what it was told.
struct Counted {
    looks: AtomicU64,
    most: u64,
    stages: std::sync::Mutex<Vec<&'static str>>,
}

impl Counted {
    fn new(most: u64) -> Counted {
        Counted { looks: AtomicU64::new(0), most, stages: std::sync::Mutex::default() }
    }
}

impl Watch for Counted {
    fn look(&self, progress: Progress) {
        assert!(progress.spent <= progress.effort && progress.placed <= progress.wanted);
        self.looks.fetch_add(1, Ordering::Relaxed);
        let mut stages = self.stages.lock().unwrap();
        if stages.last() != Some(&progress.stage) {
            stages.push(progress.stage);
        }
    }

    fn stop(&self) -> bool {
        self.looks.load(Ordering::Relaxed) >= self.most
    }
}

#[test]
fn stopped_after_any_look_the_layout_is_whole_and_proven() {
    let both = blanks(&[0.0, 90.0, 180.0, 270.0], 40);
    for most in [1, 2, 5, 20, 60] {
        let watch = Counted::new(most);
        let layout = lay(&both, effort(10_000_000), &watch);
        proof::prove(&both, &layout).unwrap();
        assert!(layout.stopped && layout.spent < 1_000_000, "{most}");
        assert_eq!(layout.placed.len() + layout.left.len(), 40);
        // The first lay is there after a few looks, and then every piece has its place.
        assert!(most < 20 || layout.left.is_empty(), "{most}: {} left", layout.left.len());
    }
}

#[test]
fn every_stage_is_told_in_its_turn() {
    let both = blanks(&[0.0, 90.0, 180.0, 270.0], 88);
    let watch = Counted::new(u64::MAX);
    let layout = lay(&both, effort(120_000), &watch);
    axes(&both, layout, effort(120_000), &watch);
    let stages = watch.stages.lock().unwrap();
    assert_eq!(stages[..], ["first lay", "rounds", "closing up", "each way alone"]);
}
