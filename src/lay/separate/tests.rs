//! Separation: its depths against distances measured by `geom`, its results against the proof.

use super::solid::Solid;
use super::yard::Yard;
use super::*;
use crate::geom::{Loop, Point, Shape, Vec2, shape_distance};
use crate::lay::kernel::{Body, Core};
use crate::lay::tests::jobs::{elbow, job, zoned_job};
use crate::lay::tests::{cloth, disk, fixed, free, group, many, p, plate, ring, sheet};
use crate::lay::{Effort, Group, Layout, LeftOut, Patient, Placed, lay};
use crate::sheet::SheetKind;
use std::f64::consts::TAU;
use std::sync::atomic::AtomicU64;

fn account() -> Account<'static> {
    Account {
        watch: &Patient,
        spent: AtomicU64::new(0),
        effort: 0,
        stage: "trial",
        placed: 0,
        wanted: 0,
    }
}

/// A convex polygon: corners on an ellipse.
fn convex(chance: &mut Chance) -> Vec<Point> {
    let n = 3 + chance.below(6);
    let (a, b) = (chance.between(5.0, 30.0), chance.between(5.0, 30.0));
    let mut angles: Vec<f64> = (0..n).map(|_| chance.between(0.0, TAU)).collect();
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|x, y| (*x - *y).abs() < 0.05);
    if angles.len() < 3 {
        angles = vec![0.0, 2.0, 4.0];
    }
    angles.iter().map(|t| p(a * t.cos(), b * t.sin())).collect()
}

fn shape_at(points: &[Point], off: Vec2) -> Shape {
    let moved: Vec<Point> = points.iter().map(|q| *q + off).collect();
    Shape::plain(Loop::polygon(&moved).unwrap())
}

#[test]
fn two_convex_solids_lie_in_each_other_exactly_where_their_distance_is_too_small() {
    let mut chance = Chance::new(11, 1);
    let (mut apart_ones, mut close_ones, mut deep_ones) = (0, 0, 0);
    for trial in 0..3000 {
        let (one, two) = (convex(&mut chance), convex(&mut chance));
        let radii = if trial % 2 == 0 { (0.0, 0.0) } else { (chance.between(0.0, 6.0), 3.0) };
        let apart = if trial % 3 == 0 { 0.0 } else { chance.between(0.0, 4.0) };
        let off = Vec2::new(chance.between(-60.0, 60.0), chance.between(-60.0, 60.0));
        let solid = |points: &[Point], radius| {
            Solid::from_cores(&[Core::new(points.to_vec(), radius)], 0.0)
        };
        let (a, b) = (solid(&one, radii.0), solid(&two, radii.1));
        let wanted = radii.0 + radii.1 + apart;
        let bare = |by: Vec2| shape_distance(&shape_at(&one, Vec2::ZERO), &shape_at(&two, by)).0;
        let depth = a.depth(&b, off, apart);
        let measured = bare(off);
        let back = b.depth(&a, -off, apart);
        assert!((depth - back).abs() < 1e-9);
        if measured > 1e-9 {
            let expected = (wanted - measured).max(0.0);
            assert!((depth - expected).abs() < 1e-9, "{trial}: {depth}, measured {expected}");
            if depth > 0.0 {
                close_ones += 1;
            } else {
                apart_ones += 1;
            }
            continue;
        }
        deep_ones += 1;
        // No shorter move parts them, and one of this length does.
        let moved = |angle: f64, far: f64| bare(off + Vec2::from_angle(angle) * far);
        let angles: Vec<f64> = (0..720).map(|k| TAU * f64::from(k) / 720.0).collect();
        let best = |far: f64| angles.iter().map(|a| moved(*a, far)).fold(0.0, f64::max);
        assert!(depth >= wanted && best(depth - 1e-6) < wanted.max(1e-9), "{trial}");
        assert!(best(depth * 1.001 + 1e-3) >= wanted, "{trial}");
    }
    assert!(apart_ones > 300 && close_ones > 100 && deep_ones > 300);
}

#[test]
fn disks_and_hollow_outlines_too() {
    let mut chance = Chance::new(12, 1);
    let shapes = [disk(30.0), elbow(40.0, 35.0), plate(40.0, 18.0, 0.0), elbow(70.0, 30.0)];
    let mut met = 0;
    for trial in 0..1000 {
        let (one, two) = (&shapes[chance.below(4)], &shapes[chance.below(4)]);
        let turns = (chance.between(0.0, 360.0), 90.0);
        let (a, b) = (Body::new(one, turns.0, false), Body::new(two, turns.1, false));
        let at = p(chance.between(-70.0, 70.0), chance.between(-70.0, 70.0));
        let apart = chance.between(0.0, 3.0);
        let solids = (Solid::of(&a, 0.0), Solid::of(&b, 0.0));
        let depth = solids.0.overlap(&solids.1, at.to_vec2(), apart, f64::INFINITY);
        let laid = (one.posed(&a.pose_at(Point::ORIGIN)), two.posed(&b.pose_at(at)));
        let measured = shape_distance(&laid.0, &laid.1).0;
        if (measured - apart).abs() > 1e-6 {
            assert_eq!(depth > 0.0, measured < apart, "{trial}: {depth}, {measured} of {apart}");
        }
        met += i32::from(depth > 0.0);
    }
    assert!(met > 200 && met < 900, "{met}");
}

#[test]
fn what_is_kept_for_two_ways_says_what_is_worked_out_anew() {
    let mut chance = Chance::new(14, 1);
    let shapes = [disk(30.0), elbow(40.0, 35.0), plate(40.0, 18.0, 3.0), elbow(70.0, 30.0)];
    let mut met = 0;
    for (k, l) in (0..4).flat_map(|k| (0..4).map(move |l| (k, l))) {
        let body = |shape: &Shape, turn| Solid::of(&Body::new(shape, turn, false), 0.0);
        let (one, two) = (body(&shapes[k], 20.0), body(&shapes[l], chance.between(0.0, 360.0)));
        let meetings = one.meetings(&two);
        for _ in 0..300 {
            let off = Vec2::new(chance.between(-70.0, 70.0), chance.between(-70.0, 70.0));
            let apart = chance.between(0.0, 3.0);
            let anew = one.overlap(&two, off, apart, f64::INFINITY);
            let kept: f64 = meetings.iter().map(|m| m.overlap((&one, &two), off, apart)).sum();
            assert!((anew - kept).abs() <= 1e-9 * (1.0 + anew), "{k} {l} {off}: {anew}, {kept}");
            met += i32::from(anew > 0.0);
        }
    }
    assert!(met > 1000, "{met}");
}

/// A hide with a deep pocket and a flaw.
fn pocketed() -> crate::sheet::Sheet {
    let corners = [
        p(0.0, 0.0),
        p(300.0, 10.0),
        p(310.0, 200.0),
        p(190.0, 190.0),
        p(165.0, 60.0),
        p(150.0, 60.0),
        p(120.0, 205.0),
        p(5.0, 190.0),
    ];
    let flaw = Loop::circle(p(60.0, 80.0), 17.0).unwrap();
    sheet("hide", SheetKind::Hide, Loop::polygon(&corners).unwrap(), vec![flaw])
}

#[test]
fn the_yard_forbids_what_the_proof_forbids_whichever_way_it_is_turned() {
    let mut chance = Chance::new(13, 1);
    for (k, way) in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)].into_iter().enumerate() {
        let shape = if k % 2 == 0 { elbow(45.0, 35.0) } else { plate(40.0, 22.0, 4.0) };
        let group = group(many("a", 0, &free(shape.clone()), 1, 0), vec![pocketed()], 3.0, 1.0);
        let task = Task::new(&group);
        let yard = Yard::new(&task.fields[0], Vec2::from(way));
        let mut inside = 0;
        for trial in 0..600 {
            let body = Body::new(&shape, chance.between(0.0, 360.0), false);
            let at = p(chance.between(-10.0, 320.0), chance.between(-10.0, 215.0));
            let solid = Solid::of(&body, yard.turn());
            let depth = yard.overlap(&solid, yard.here(at), f64::INFINITY, f64::INFINITY);
            assert!((yard.there(yard.here(at)) - at).hypot() < 1e-12);
            let pose = body.pose_at(at);
            let placed = Placed { piece: 0, ground: 0, host: None, stance: 0, pose, window: None };
            let layout = Layout { placed: vec![placed], ..Layout::default() };
            let proven = proof::prove(&group, &layout);
            if !(1e-9..0.02).contains(&depth) {
                assert_eq!(depth <= 1e-9, proven.is_ok(), "{trial}: {depth}, {proven:?}");
            }
            inside += i32::from(proven.is_ok());
        }
        assert!(inside > 60, "{inside}");
    }
}

/// A trial of the constructive search, and its manner.
fn built(task: &Task<'_>, seed: u64) -> (Trial, Manner) {
    let account = account();
    let manner = Manner::plain(task, seed, 200);
    let mut purse = Purse::new(&account, u64::MAX);
    let trial = crate::lay::search::Search::run(&crate::lay::fill::Fill, task, &manner, &mut purse);
    (trial, manner)
}

fn proven(group: &Group, trial: &Trial) {
    if let Err(breaches) = proof::prove(group, &trial.layout()) {
        panic!("{breaches:?}");
    }
}

/// Plates, elbows and disks on a cloth: a job that blocks do not serve best.
fn mixed() -> Group {
    let mut pieces = many("elbow", 0, &fixed(elbow(60.0, 50.0), &[0.0, 180.0]), 8, 0);
    pieces.extend(many("hook", 1, &free(elbow(90.0, 35.0)), 5, 0));
    pieces.extend(many("disk", 2, &free(disk(37.0)), 6, 0));
    pieces.extend(many("plate", 3, &free(plate(70.0, 21.0, 5.0)), 5, 0));
    group(pieces, vec![cloth(900.0, 150.0)], 2.0, 0.5)
}

#[test]
fn pieces_thrown_down_anyhow_are_pushed_apart() {
    for seed in 0..4 {
        let group = mixed();
        let task = Task::new(&group);
        let (trial, manner) = built(&task, seed);
        assert!(trial.left.is_empty());
        let (problem, mut state) = Problem::new(&task, &trial, &manner, 0).unwrap();
        let mut chance = Chance::new(seed, 5);
        state.limit = 600.0;
        for it in &mut state.items {
            it.way = chance.below(problem.lots[it.lot].ways.len());
            let room = problem.yard.range(problem.solid(it), state.limit);
            it.at = p(chance.between(room.x0, room.x1), chance.between(room.y0, room.y1));
        }
        assert!(proof::prove(&group, &problem.settled(&trial, &state).layout()).is_err());
        let account = account();
        let purse = Purse::new(&account, 2_000_000);
        let mut bench = Bench::new(&problem, &state, chance, purse);
        assert!(bench.separate(Patience { turns: 100, strikes: 3 }), "seed {seed}");
        let state = bench.state();
        assert!(problem.reach(&state.items) <= 600.0 + 1e-6);
        proven(&group, &problem.settled(&trial, &state));
    }
}

#[test]
fn a_mixed_job_needs_less_cloth() {
    let group = mixed();
    let task = Task::new(&group);
    let (trial, manner) = built(&task, 1);
    let reach = |trial: &Trial| {
        let (problem, state) = Problem::new(&task, trial, &manner, 0).unwrap();
        problem.reach(&state.items)
    };
    let account = account();
    let outcome = improve(&task, (&trial, &manner), &account, 300_000, 1);
    proven(&group, &outcome.trial);
    assert!(!outcome.stopped);
    // A worker ends the turn in which its share runs out.
    assert!(outcome.spent > 200_000 && outcome.spent < 400_000, "{}", outcome.spent);
    let (before, after) = (reach(&trial), reach(&outcome.trial));
    assert!(after < 0.985 * before, "{before} before, {after} after");
}

#[test]
fn a_pocketed_hide_with_a_flaw_needs_less_in_every_direction() {
    let mut pieces = many("elbow", 0, &free(elbow(50.0, 40.0)), 6, 0);
    pieces.extend(many("plate", 1, &free(plate(48.0, 17.0, 3.0)), 5, 0));
    let group = group(pieces, vec![pocketed()], 3.0, 1.0);
    let task = Task::new(&group);
    for way in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
        let account = account();
        let mut manner = Manner::plain(&task, 3, 200);
        manner.aims[0].way = Vec2::from(way);
        let mut purse = Purse::new(&account, u64::MAX);
        let fill = crate::lay::fill::Fill;
        let trial = crate::lay::search::Search::run(&fill, &task, &manner, &mut purse);
        assert!(trial.left.is_empty());
        let outcome = improve(&task, (&trial, &manner), &account, 200_000, 3);
        proven(&group, &outcome.trial);
        let reach = |trial: &Trial| {
            let far = |placed: &Placed| {
                let design = group.pieces[placed.piece].turns.design(0).unwrap();
                let b = placed.pose.on_loop(design.shape.outline()).bounds();
                (b.x0 * way.0).max(b.x1 * way.0) + (b.y0 * way.1).max(b.y1 * way.1)
            };
            trial.placed.iter().map(far).fold(f64::NEG_INFINITY, f64::max)
        };
        assert!(reach(&outcome.trial) < reach(&trial) - 0.5, "{way:?}");
    }
}

#[test]
fn guests_go_with_their_hosts() {
    let mut pieces = many("ring", 0, &free(ring(80.0, 60.0)), 4, 0);
    pieces.extend(many("small", 1, &free(disk(24.0)), 8, 0));
    pieces.extend(many("elbow", 2, &free(elbow(70.0, 50.0)), 5, 0));
    let group = group(pieces, vec![cloth(700.0, 130.0)], 2.0, 0.5);
    let task = Task::new(&group);
    let (trial, manner) = built(&task, 2);
    let improved = |seed| improve(&task, (&trial, &manner), &account(), 300_000, seed);
    let better = |outcome: &Outcome| outcome.trial.placed != trial.placed;
    let outcome = (1..=8).map(improved).find(better).expect("one of eight seeds closes up");
    proven(&group, &outcome.trial);
    let pose = |trial: &Trial, piece: usize| {
        trial.placed.iter().find(|p| p.piece == piece).map(|p| p.pose).unwrap()
    };
    let (mut guests, mut moved) = (0, 0);
    for placed in &trial.placed {
        let Some(host) = placed.host else { continue };
        let by = |piece: usize| {
            let (a, b) = (pose(&trial, piece), pose(&outcome.trial, piece));
            Vec2::new(b.x - a.x, b.y - a.y)
        };
        assert!((by(placed.piece) - by(host)).hypot() < 1e-9);
        guests += 1;
        moved += i32::from(by(host).hypot() > 0.1);
    }
    assert!(guests >= 4 && moved >= 4, "{guests} guests, {moved} moved");
}

#[test]
fn a_piece_left_out_finds_room_when_the_others_move() {
    let pieces = many("square", 0, &fixed(plate(48.0, 48.0, 0.0), &[0.0]), 4, 0);
    let group = group(pieces, vec![cloth(100.0, 100.0)], 0.5, 0.5);
    let task = Task::new(&group);
    let (mut trial, manner) = built(&task, 1);
    // Three of them in the way of the fourth; the plate's own corner lies at -3, 7.
    trial.placed.sort_by_key(|placed| placed.piece);
    trial.placed.truncate(3);
    for (placed, at) in trial.placed.iter_mut().zip([(0.5, 0.5), (50.5, 0.5), (25.0, 51.0)]) {
        (placed.pose.x, placed.pose.y) = (at.0 + 3.0, at.1 - 7.0);
    }
    trial.left = vec![3];
    trial.untried = vec![3];
    proven(&group, &trial);
    let outcome = improve(&task, (&trial, &manner), &account(), 200_000, 1);
    proven(&group, &outcome.trial);
    assert_eq!(outcome.trial.placed.len(), 4);
    assert!(outcome.trial.left.is_empty() && outcome.trial.untried.is_empty());
}

#[test]
fn one_thread_or_two_the_bytes_are_the_same() {
    let pool = |n: usize| rayon::ThreadPoolBuilder::new().num_threads(n).build().unwrap();
    let (one, two) = (pool(1), pool(2));
    for group in [mixed(), job(1), job(4), job(9)] {
        let run = || lay(&group, Effort { evaluations: 150_000, seed: 5 }, &Patient);
        let first = one.install(run);
        assert!(proof::prove(&group, &first).is_ok());
        assert_eq!(format!("{first:?}"), format!("{:?}", two.install(run)));
        let other = lay(&group, Effort { evaluations: 150_000, seed: 6 }, &Patient);
        assert!(proof::prove(&group, &other).is_ok());
    }
}

#[test]
fn a_breach_of_the_proof_leaves_all_as_it_was() {
    let group = mixed();
    let task = Task::new(&group);
    let (trial, manner) = built(&task, 1);
    let (problem, state) = Problem::new(&task, &trial, &manner, 0).unwrap();
    let outcome = Outcome { trial: trial.clone(), spent: 0, stopped: false };
    let account = account();
    let mut stage = Stage {
        task: &task,
        problem: &problem,
        account: &account,
        seed: 1,
        rounds: 0,
        state: state.clone(),
        outcome,
    };
    let mut spoilt = state.clone();
    spoilt.items[0].at = spoilt.items[1].at;
    assert!(!stage.keep(spoilt) && stage.state == state);
    assert_eq!(stage.outcome.trial.placed, trial.placed);
    assert!(stage.keep(state));
}

/// Stops after so many looks.
struct Impatient(AtomicU64);

impl crate::lay::Watch for Impatient {
    fn look(&self, _: crate::lay::Progress) {
        self.0.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
    }

    fn stop(&self) -> bool {
        self.0.load(std::sync::atomic::Ordering::Relaxed) > 20
    }
}

#[test]
fn stopped_early_the_best_so_far_is_kept() {
    let group = mixed();
    let task = Task::new(&group);
    let (trial, manner) = built(&task, 1);
    let watch = Impatient(AtomicU64::new(0));
    let account = Account { watch: &watch, ..account() };
    let outcome = improve(&task, (&trial, &manner), &account, 50_000_000, 1);
    assert!(outcome.stopped && outcome.spent < 1_000_000);
    proven(&group, &outcome.trial);
    let left: &[LeftOut] = &outcome.trial.layout().left;
    assert!(left.is_empty());
}

#[test]
fn small_efforts_are_left_to_the_constructive_rounds() {
    assert_eq!(share(Effort::QUICK.evaluations), 0);
    assert_eq!(share(Effort::USUAL.evaluations), 3_000_000);
    assert!(share(Effort::THOROUGH.evaluations) > 35_000_000);
    assert_eq!(share(u64::MAX), u64::MAX - 1_000_000 - (u64::MAX - 4_000_000) / 250);
}

/// Plates and couples on a cloth whose middle is too poor for the elbows; couples keep to the grade they lie on.
fn zoned_mixed() -> Group {
    let mut made = mixed();
    for (n, word) in ["inner", "outer"].into_iter().enumerate() {
        #[allow(clippy::cast_precision_loss, reason = "0 or 1")]
        let turns = free(disk(22.0 + n as f64));
        for mut piece in many("valve", 4 + n, &turns, 6, 0) {
            piece.address.member = Some(crate::part::MemberName::only(word));
            piece.needs.together = true;
            made.pieces.push(piece);
        }
    }
    for piece in made.pieces.iter_mut().filter(|p| p.size == 0) {
        piece.needs.grade = Some(2);
    }
    let mut skin = (*made.grounds[0].sheet).clone();
    let outline = crate::geom::rectangle(p(150.0, -10.0), 180.0, 200.0, 0.0).unwrap();
    skin.zones = vec![crate::sheet::Zone { why: String::new(), grade: 3, outline }];
    made.grounds[0].sheet = std::sync::Arc::new(skin);
    made
}

#[test]
fn pieces_pushed_apart_stay_out_of_zones_that_will_not_do() {
    let group = zoned_mixed();
    let task = Task::new(&group);
    for seed in 0..3 {
        let (mut trial, manner) = built(&task, seed);
        crate::lay::numbering::couple_up(&group, &mut trial);
        assert!(trial.left.is_empty());
        proven(&group, &trial);
        let (problem, mut state) = Problem::new(&task, &trial, &manner, 0).unwrap();
        let mut chance = Chance::new(seed, 5);
        state.limit = 800.0;
        for it in &mut state.items {
            let room = problem.yard.range(problem.solid(it), state.limit);
            it.at = p(chance.between(room.x0, room.x1), chance.between(room.y0, room.y1));
        }
        let account = account();
        let purse = Purse::new(&account, 4_000_000);
        let mut bench = Bench::new(&problem, &state, chance, purse);
        assert!(bench.separate(Patience { turns: 100, strikes: 3 }), "seed {seed}");
        proven(&group, &problem.settled(&trial, &bench.state()));
    }
}

#[test]
fn a_zoned_cloth_is_used_shorter_too() {
    let group = zoned_mixed();
    let task = Task::new(&group);
    let (mut trial, manner) = built(&task, 1);
    crate::lay::numbering::couple_up(&group, &mut trial);
    let reach = |trial: &Trial| {
        let (problem, state) = Problem::new(&task, trial, &manner, 0).unwrap();
        problem.reach(&state.items)
    };
    let account = account();
    let outcome = improve(&task, (&trial, &manner), &account, 400_000, 1);
    proven(&group, &outcome.trial);
    let (before, after) = (reach(&trial), reach(&outcome.trial));
    assert!(after < 0.99 * before, "{before} before, {after} after");
}

/// What is proven has no overlap here either, zones, guests and couples told.
#[test]
fn a_proven_layout_on_a_zoned_hide_has_no_loss() {
    let mut some = 0;
    for seed in 0..30 {
        let group = zoned_job(seed);
        let task = Task::new(&group);
        let layout = lay(&group, Effort { evaluations: 1000, seed }, &Patient);
        let trial = Trial {
            placed: layout.placed,
            left: layout.left.iter().map(|l| l.piece).collect(),
            untried: Vec::new(),
        };
        let manner = Manner::plain(&task, seed, 200);
        let Some(ground) = trial.placed.iter().map(|p| p.ground).max() else { continue };
        let (problem, state) = Problem::new(&task, &trial, &manner, ground).unwrap();
        let account = account();
        let purse = Purse::new(&account, 1);
        let bench = Bench::new(&problem, &state, Chance::new(seed, 5), purse);
        let loss = bench.survey().loss;
        assert!(loss < 1e-5, "seed {seed}: {loss}");
        some += 1;
    }
    assert!(some > 20, "{some}");
}
