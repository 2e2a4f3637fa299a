//! What holds for every job.

use super::jobs::{any_job, job, zoned_job};
use super::*;

/// How many random jobs: 60, times `POUCHWORK_TRIALS`.
fn trials() -> u64 {
    times(60.0)
}

/// A number, times `POUCHWORK_TRIALS`.
pub(super) fn times(one: f64) -> u64 {
    let factor = std::env::var("POUCHWORK_TRIALS")
        .ok()
        .and_then(|text| text.parse::<f64>().ok())
        .unwrap_or(1.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
    let jobs = (one * factor).ceil().clamp(1.0, 1e9) as u64;
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

/// What a layout shows of what a job may hold, each by its name.
fn shown(group: &Group, layout: &Layout) -> Vec<&'static str> {
    let sheets: Vec<&Sheet> = group.grounds.iter().map(|g| &*g.sheet).collect();
    let used = |kind: SheetKind, flawed: bool| {
        let is_it = |s: &Sheet| s.kind == kind && (!flawed || !s.flaws.is_empty());
        layout.placed.iter().any(|it| is_it(sheets[it.ground]))
    };
    let any = |what: &dyn Fn(&Placed, &Piece, &Sheet) -> bool| {
        layout.placed.iter().any(|it| what(it, &group.pieces[it.piece], sheets[it.ground]))
    };
    let aslant = |it: &Placed, piece: &Piece, sheet: &Sheet| {
        let Turns::Fixed(stances) = &piece.turns else { return false };
        let off = it.pose.turn - sheet.grain - stances[it.stance].turn;
        stances[it.stance].within > 0.0 && ((off + 180.0).rem_euclid(360.0) - 180.0).abs() > 0.5
    };
    let grounds: std::collections::BTreeSet<usize> =
        layout.placed.iter().map(|it| it.ground).collect();
    let all = [
        ("a hide with flaws", used(SheetKind::Hide, true)),
        ("cloth", used(SheetKind::Cloth, false)),
        ("a leaf", used(SheetKind::Leaf, false)),
        ("a leaf with flaws", used(SheetKind::Leaf, true)),
        ("a guest", any(&|it, _, _| it.host.is_some())),
        ("a face up", any(&|_, piece, sheet| piece.face.is_some() && piece.face == sheet.up)),
        ("a mirrored piece", any(&|it, _, _| it.pose.mirrored)),
        ("a free turn", any(&|_, piece, _| matches!(piece.turns, Turns::Free(_)))),
        (
            "a fixed turn",
            any(&|_, piece, _| match &piece.turns {
                Turns::Fixed(stances) => stances.iter().all(|s| s.within == 0.0),
                Turns::Free(_) => false,
            }),
        ),
        ("a piece aslant", any(&aslant)),
        ("a grade", any(&|_, p, sheet| p.needs.grade.is_some() && !sheet.zones.is_empty())),
        (
            "a thickness",
            any(&|_, p, sheet| p.needs.thickness.is_some() && sheet.readings.len() > 1),
        ),
        ("a couple", any(&|_, piece, _| piece.needs.together)),
        ("a soft edge", any(&|_, piece, _| piece.soft && group.hard_edges)),
        ("two sheets", grounds.len() > 1),
        ("a remnant", any(&|_, _, sheet| sheet.from.is_some())),
        ("a remnant and a whole sheet", {
            any(&|_, _, sheet| sheet.from.is_some()) && any(&|_, _, sheet| sheet.from.is_none())
        }),
        ("bed windows", layout.windows.len() > 1),
        ("couples in bed windows", {
            layout.windows.len() > 1 && any(&|_, piece, _| piece.needs.together)
        }),
        ("what found no place", !layout.left.is_empty()),
        ("everything in its place", layout.left.is_empty()),
    ];
    all.into_iter().map(|(name, is)| if is { name } else { "" }).collect()
}

#[test]
fn jobs_in_which_anything_comes_together_are_laid_and_proven() {
    let jobs = times(500.0);
    let mut seen: std::collections::BTreeMap<usize, (&str, u64)> =
        std::collections::BTreeMap::new();
    for seed in 0..jobs {
        let group = any_job(seed);
        assert!((3..=25).contains(&group.pieces.len()), "job {seed}: {}", group.pieces.len());
        let layout = lay(&group, effort(100), &Patient);
        if let Err(breaches) = proof::prove(&group, &layout) {
            panic!("job {seed}: {breaches:?}");
        }
        assert_eq!(layout.placed.len() + layout.left.len(), group.pieces.len(), "job {seed}");
        for (n, name) in shown(&group, &layout).into_iter().enumerate() {
            let so_far = seen.entry(n).or_default();
            if !name.is_empty() {
                *so_far = (name, so_far.1 + 1);
            }
        }
    }
    // One job in two hundred at least shows each of them.
    for (n, (name, count)) in &seen {
        assert!(count * 200 >= jobs.saturating_sub(199), "{n} {name}: in {count} of {jobs} jobs");
    }
}
