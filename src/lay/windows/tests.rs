//! Arrangements of windows, and jobs laid in them.

use super::super::tests::jobs::{hide, job};
use super::super::tests::{disk, effort, free, group, laid, many, p, plate, ring};
use super::*;
use crate::geom::{Where, point_in_loop};
use crate::lay::{Patient, fill, manner, proof, purse, record, task};
use std::sync::atomic::AtomicU64;

/// How many random jobs: 24, times `POUCHWORK_TRIALS`.
fn trials() -> u64 {
    let text = std::env::var("POUCHWORK_TRIALS").unwrap_or_default();
    let factor = text.parse::<f64>().unwrap_or(1.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
    let jobs = (24.0 * factor).ceil().clamp(1.0, 1e9) as u64;
    jobs
}

/// A random job whose sheets are larger than the bed.
fn windowed(seed: u64) -> Group {
    let mut made = job(seed);
    let mut chance = Chance::new(seed, 77);
    let longest = made.grounds.iter().map(|g| g.sheet.outline.bounds());
    let longest = longest.map(|b| b.width().max(b.height())).fold(0.0, f64::max);
    let side = |chance: &mut Chance| longest * chance.between(0.4, 0.8);
    made.window = Some(Vec2::new(side(&mut chance), side(&mut chance)));
    made
}

#[test]
fn cells_are_within_reach_apart_and_cover_the_sheet() {
    let mut chance = Chance::new(4, 4);
    for number in 0..200 {
        let sheet = hide("skin", 300.0, 80, &mut chance);
        let apart = chance.between(0.0, 2.0);
        let group = group(many("dot", 0, &free(disk(1.0)), 1, 0), vec![sheet], 3.0, apart);
        let reach = Vec2::new(chance.between(120.0, 400.0), chance.between(120.0, 400.0));
        let ground = &group.grounds[0];
        let cells = cells(&group, ground, reach, number, &mut chance);
        for (i, cell) in cells.iter().enumerate() {
            assert!(cell.width() <= reach.x + 1e-9 && cell.height() <= reach.y + 1e-9, "{cell:?}");
            for other in &cells[..i] {
                let dx = (other.x0 - cell.x1).max(cell.x0 - other.x1);
                let dy = (other.y0 - cell.y1).max(cell.y0 - other.y1);
                assert!(dx.max(dy) >= apart - 1e-9, "{number}: {cell:?} and {other:?}");
            }
        }
        // A point well within the sheet lies in a cell or in the gap between two.
        let b = ground.sheet.outline.bounds();
        for _ in 0..60 {
            let at = p(chance.between(b.x0, b.x1), chance.between(b.y0, b.y1));
            let sides = ground.sheet.outline.segs();
            let rim = sides.iter().map(|s| s.distance_to(at)).fold(f64::INFINITY, f64::min);
            if point_in_loop(at, &ground.sheet.outline) == Where::Inside && rim > 6.0 {
                let gap = apart + 1e-6;
                let near = cells.iter().any(|c| c.inflate(gap, gap).contains(at));
                assert!(near, "{number}: {at:?} is in none of {cells:?}");
            }
        }
    }
}

#[test]
fn spans_are_the_fewest_there_can_be() {
    // 1000 mm in spans of 400, 2 apart: three.
    for split in [Split::Even, Split::Low, Split::High, Split::Middle, Split::At(0.3)] {
        let made = spans(10.0, 1010.0, 400.0, 2.0, split);
        assert_eq!(made.len(), 3, "{split:?}: {made:?}");
        assert!((made[0].0 - 10.0).abs() < 1e-9 && (made[2].1 - 1010.0).abs() < 1e-9, "{made:?}");
        for pair in made.windows(2) {
            assert!((pair[1].0 - pair[0].1 - 2.0).abs() < 1e-9, "{made:?}");
        }
    }
    assert_eq!(spans(0.0, 400.0, 400.0, 2.0, Split::High), [(0.0, 400.0)]);
}

#[test]
fn random_jobs_in_windows_are_laid_and_proven() {
    let (mut placed, mut all, mut windows) = (0, 0, 0);
    for seed in 0..trials() {
        let group = windowed(seed);
        let layout = laid(&group, 3000);
        assert_eq!(layout.placed.len() + layout.left.len(), group.pieces.len());
        for it in &layout.placed {
            assert_eq!(it.window.is_some(), group.reach(it.ground).is_some(), "job {seed}");
        }
        for n in 0..layout.windows.len() {
            assert!(layout.placed.iter().any(|p| p.window == Some(n)), "job {seed}: {n} is empty");
        }
        placed += layout.placed.len();
        all += group.pieces.len();
        windows += layout.windows.len();
    }
    assert!(placed * 10 > all * 6, "{placed} of {all} placed");
    assert!(windows as u64 > trials(), "{windows} windows");
}

#[test]
fn the_search_in_windows_needs_no_mending() {
    for seed in 0..trials() {
        let group = windowed(seed);
        let arranged = arranged(&group, seed, seed);
        let task = task::Task::new(&arranged.group);
        let account = purse::Account {
            watch: &Patient,
            spent: AtomicU64::new(0),
            stage: "rounds",
            effort: 0,
            placed: 0,
            wanted: 0,
        };
        let mut purse = purse::Purse::new(&account, u64::MAX);
        let manner = manner::Manner::plain(&task, seed, 100).varied(&task, seed, true);
        let trial = search::Search::run(&fill::Fill, &task, &manner, &mut purse);
        let layout = trial.layout();
        if let Err(breaches) = proof::prove(&arranged.group, &layout) {
            panic!("job {seed}: {breaches:?}");
        }
        // The same seen from the sheets themselves.
        let layout = settled(&arranged, layout);
        if let Err(breaches) = proof::prove(&group, &layout) {
            panic!("job {seed}: {breaches:?}");
        }
    }
}

#[test]
fn windows_are_the_same_on_one_thread_and_on_two() {
    let pool = |n: usize| rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
    let (one, two) = (pool(1), pool(2));
    for seed in 0..trials().div_ceil(8) {
        let group = windowed(seed);
        let run = || lay(&group, effort(120_000), &Patient);
        assert_eq!(one.install(run), two.install(run), "job {seed}");
    }
}

#[test]
fn a_record_with_windows_reads_back_to_the_last_bit() {
    for seed in 0..trials().div_ceil(2) {
        let groups = [windowed(seed)];
        let layouts = [laid(&groups[0], 2000)];
        let heading = record::Heading {
            program: "0.1.0".to_owned(),
            seed: 7,
            effort: 2000,
            inputs: Vec::new(),
            groups: vec![("goat".to_owned(), "knife".to_owned())],
        };
        let text = record::to_json(&record::Record::of(&groups, &layouts, &heading));
        let back = record::from_json(&text).unwrap();
        let again = record::layouts(&back, &groups, &heading.groups).unwrap();
        assert_eq!(again, layouts, "job {seed}");
    }
}

#[test]
fn few_windows_are_used() {
    // Twelve plates of 90 x 60 mm fit one window of 300 x 300 mm; the cloth has room for nine.
    let turns = free(plate(90.0, 60.0, 0.0));
    let cloth = super::super::tests::cloth(900.0, 900.0);
    let mut job = group(many("plate", 0, &turns, 12, 0), vec![cloth], 3.0, 1.0);
    job.window = Some(Vec2::new(300.0, 300.0));
    let layout = laid(&job, 5000);
    assert!(layout.left.is_empty());
    assert_eq!(layout.windows.len(), 1, "{:?}", layout.windows);
}

#[test]
fn a_long_piece_lies_aslant_in_its_window() {
    // 430 x 60 mm goes aslant into 400 x 400 mm: at 45 degrees its box is (430 + 60) / root 2 = 346.5 mm.
    let shape = plate(430.0, 60.0, 0.0);
    let reach = Vec2::new(400.0, 400.0);
    assert!(!takes(reach, &shape, 0.0) && !takes(reach, &shape, 90.0));
    assert!(takes(Vec2::new(346.5, 346.5), &shape, 45.0));
    assert!(!takes(Vec2::new(346.4, 346.4), &shape, 45.0));
    let (first, last) = turns_that_fit(reach, &shape).unwrap();
    assert!(first < 45.0 && last > 45.0 && first > 20.0 && last < 70.0, "{first} to {last}");
    assert_eq!(turns_that_fit(reach, &plate(600.0, 60.0, 0.0)), None);
    let cloth = super::super::tests::cloth(1000.0, 900.0);
    let mut job = group(many("gasket", 0, &free(shape), 2, 0), vec![cloth], 3.0, 1.0);
    job.window = Some(reach);
    assert!(laid(&job, 5000).left.is_empty());
}

#[test]
fn guests_lie_in_the_window_of_their_host() {
    let mut pieces = many("ring", 0, &free(ring(80.0, 50.0)), 6, 0);
    pieces.extend(many("dot", 1, &free(disk(40.0)), 6, 0));
    let cloth = super::super::tests::cloth(400.0, 300.0);
    let mut job = group(pieces, vec![cloth], 2.0, 1.0);
    job.window = Some(Vec2::new(180.0, 180.0));
    let layout = laid(&job, 3000);
    assert!(layout.left.is_empty());
    for guest in layout.placed.iter().filter(|p| p.host.is_some()) {
        let host = layout.placed.iter().find(|p| Some(p.piece) == guest.host).unwrap();
        assert_eq!(host.window, guest.window);
    }
}
