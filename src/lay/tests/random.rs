//! What holds for every job.

use super::jobs::{job, zoned_job};
use super::*;

/// How many random jobs: 60, times `POUCHWORK_TRIALS`.
fn trials() -> u64 {
    let factor = std::env::var("POUCHWORK_TRIALS")
        .ok()
        .and_then(|text| text.parse::<f64>().ok())
        .unwrap_or(1.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
    let jobs = (60.0 * factor).ceil().clamp(1.0, 1e9) as u64;
    jobs
}

#[test]
fn random_jobs_are_laid_and_proven() {
    let mut placed = 0;
    let mut all = 0;
    for seed in 0..trials() {
        let group = job(seed);
        let layout = lay(&group, effort(3000), &Patient);
        if let Err(breaches) = proof::prove(&group, &layout) {
            panic!("job {seed}: {breaches:?}");
        }
        assert_eq!(layout.placed.len() + layout.left.len(), group.pieces.len());
        assert!(!layout.stopped);
        placed += layout.placed.len();
        all += group.pieces.len();
    }
    // Most jobs have room enough: a search that leaves much out is broken.
    assert!(placed * 10 > all * 7, "{placed} of {all} placed");
}

#[test]
fn the_search_needs_no_mending() {
    // What the kernel calls clear, the proof must call clear: nothing may be lost between the two.
    for seed in 0..trials() {
        let group = job(seed);
        let task = task::Task::new(&group);
        let account = purse::Account {
            watch: &Patient,
            spent: std::sync::atomic::AtomicU64::new(0),
            effort: 0,
            stage: "trial",
            placed: 0,
            wanted: 0,
        };
        let mut purse = purse::Purse::new(&account, u64::MAX);
        let plain = manner::Manner::plain(&task, seed, 100);
        let manner = plain.varied(&task, seed, true);
        let trial = search::Search::run(&fill::Fill, &task, &manner, &mut purse);
        let layout = Layout {
            placed: trial.placed,
            left: trial
                .left
                .into_iter()
                .map(|piece| LeftOut { piece, largest_free: None, tried: true })
                .collect(),
            ..Layout::default()
        };
        if let Err(breaches) = proof::prove(&group, &layout) {
            panic!("job {seed}: {breaches:?}");
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_layout_on_one_thread_and_on_two() {
    let pool = |n: usize| rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
    let (one, two) = (pool(1), pool(2));
    for seed in 0..trials().div_ceil(6) {
        let group = job(seed);
        let run = || lay(&group, effort(8000), &Patient);
        let first = one.install(run);
        assert_eq!(first, two.install(run), "job {seed}");
        assert_eq!(first, one.install(run), "job {seed}");
    }
}

#[test]
fn equal_pieces_are_numbered_in_reading_order() {
    for seed in 0..trials().div_ceil(3) {
        let group = job(seed);
        let layout = lay(&group, effort(1000), &Patient);
        let mut kept: std::collections::BTreeMap<usize, Vec<&Address>> =
            std::collections::BTreeMap::new();
        for left in &layout.left {
            let piece = &group.pieces[left.piece];
            kept.entry(piece.size).or_default().push(&piece.address);
        }
        for placed in &layout.placed {
            let piece = &group.pieces[placed.piece];
            if piece.address.spare > 0 {
                let wanted = kept.get(&piece.size).into_iter().flatten();
                for address in wanted {
                    assert!(address.spare > 0, "a spare lies and {address} does not");
                }
            }
        }
        for pair in layout.placed.windows(2) {
            let (a, b) = (&group.pieces[pair[0].piece], &group.pieces[pair[1].piece]);
            if a.size == b.size && a.address.spare == b.address.spare {
                assert!(pair[0].ground <= pair[1].ground);
            }
        }
    }
}

#[test]
fn random_jobs_on_zoned_hides_are_laid_and_proven() {
    let (mut placed, mut all, mut couples, mut aslant) = (0, 0, 0, 0);
    for seed in 0..trials() {
        let group = zoned_job(seed);
        let layout = lay(&group, effort(3000), &Patient);
        if let Err(breaches) = proof::prove(&group, &layout) {
            panic!("job {seed}: {breaches:?}");
        }
        assert_eq!(layout.placed.len() + layout.left.len(), group.pieces.len());
        placed += layout.placed.len();
        all += group.pieces.len();
        for it in &layout.placed {
            let piece = &group.pieces[it.piece];
            couples += usize::from(piece.needs.together);
            if let Turns::Fixed(stances) = &piece.turns {
                let straight = group.grounds[it.ground].sheet.grain + stances[it.stance].turn;
                let off = (it.pose.turn - straight + 180.0).rem_euclid(360.0) - 180.0;
                aslant += usize::from(off.abs() > 1.0);
            }
            lies_on_what_it_takes(&group, it, seed);
        }
    }
    assert!(placed * 10 > all * 4, "{placed} of {all} placed");
    assert!(couples > 60 && aslant > 0, "{couples} in couples, {aslant} aslant");
}

/// Points of a piece, by their own grade and nearest reading.
fn lies_on_what_it_takes(group: &Group, it: &Placed, seed: u64) {
    let piece = &group.pieces[it.piece];
    let sheet = &group.grounds[it.ground].sheet;
    let shape = piece.turns.design(it.stance).unwrap().shape.posed(&it.pose);
    let b = shape.bounds();
    for i in 1..12 {
        for j in 1..12 {
            let p =
                p(b.x0 + b.width() * f64::from(i) / 12.0, b.y0 + b.height() * f64::from(j) / 12.0);
            let inside = |l: &Loop| crate::geom::point_in_loop(p, l) == crate::geom::Where::Inside;
            let off = shape.loops().flat_map(Loop::segs).map(|s| s.distance_to(p));
            if !inside(shape.outline())
                || shape.holes().iter().any(inside)
                || off.fold(f64::INFINITY, f64::min) < 1e-3
            {
                continue;
            }
            assert!(piece.needs.takes_grade(sheet.grade_at(p)), "job {seed}: {}", piece.address);
            let mut near: Vec<(f64, f64)> =
                sheet.readings.iter().map(|r| ((r.at - p).hypot(), r.thickness.mm())).collect();
            near.sort_by(|a, b| a.0.total_cmp(&b.0));
            if let [first, rest @ ..] = &near[..]
                && rest.first().is_none_or(|second| second.0 - first.0 > 1e-3)
            {
                assert!(piece.needs.takes_thickness(first.1), "job {seed}: {}", piece.address);
            }
        }
    }
}

#[test]
fn zoned_hides_give_the_same_layout_on_one_thread_and_on_two() {
    let pool = |n: usize| rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
    let (one, two) = (pool(1), pool(2));
    for seed in 0..trials().div_ceil(10) {
        let group = zoned_job(seed);
        let run = || lay(&group, effort(8000), &Patient);
        assert_eq!(one.install(run), two.install(run), "job {seed}");
    }
}
