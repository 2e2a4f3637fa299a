//! A layout that is damaged on purpose is refused, with the right words.

use super::*;
use crate::material::Face;
use proof::{BreachKind, prove};

/// Two hosts with a guest each, a strip and three plates.
fn sound() -> (Group, Layout) {
    let mut pieces = many("ring", 0, &free(ring(60.0, 40.0)), 2, 0);
    pieces.extend(many("dot", 1, &free(disk(30.0)), 2, 0));
    pieces.extend(many("strip", 2, &fixed(plate(90.0, 10.0, 0.0), &[0.0, 180.0]), 1, 0));
    pieces.extend(many("plate", 3, &free(plate(40.0, 30.0, 2.0)), 3, 0));
    for piece in &mut pieces {
        piece.face = Some(Face::Flesh);
    }
    let mut skin = cloth(400.0, 300.0);
    skin.up = Some(Face::Grain);
    skin.flaws = sheet(
        "x",
        SheetKind::Hide,
        skin.outline.clone(),
        vec![Loop::circle(p(200.0, 150.0), 20.0).unwrap()],
    )
    .flaws;
    let group = group(pieces, vec![skin], 5.0, 1.0);
    let layout = laid(&group, 1000);
    assert!(layout.left.is_empty());
    assert_eq!(layout.placed[2].host, Some(0), "{:?}", layout.placed[2]);
    (group, layout)
}

fn refused(kind: BreachKind, damage: impl Fn(&mut Group, &mut Layout)) {
    let (mut group, mut layout) = sound();
    damage(&mut group, &mut layout);
    let breaches = prove(&group, &layout).unwrap_err();
    assert!(breaches.iter().any(|b| b.kind == kind), "{kind:?}: {breaches:?}");
    assert!(breaches.iter().all(|b| !b.text.is_empty()));
}

#[test]
fn the_sound_layout_shows_its_margins() {
    let (group, layout) = sound();
    let proof = prove(&group, &layout).unwrap();
    let (apart, _, _) = proof.least_apart.unwrap();
    assert!((1.0 - 1e-6..3.0).contains(&apart), "{apart}");
    let (edge, _) = proof.least_edge.unwrap();
    assert!((5.0 - 1e-6..5.1).contains(&edge), "{edge}");
}

#[test]
fn counts_are_kept() {
    refused(BreachKind::Missing, |_, l| {
        l.placed.pop();
    });
    refused(BreachKind::Twice, |_, l| l.placed.push(l.placed[0].clone()));
    refused(BreachKind::Twice, |_, l| {
        l.left.push(LeftOut { piece: 3, largest_free: None, tried: true });
    });
    refused(BreachKind::Unknown, |_, l| l.placed[1].piece = 99);
    refused(BreachKind::Unknown, |_, l| l.placed[1].ground = 1);
    refused(BreachKind::Unknown, |_, l| l.placed[1].stance = 5);
}

#[test]
fn places_are_kept() {
    refused(BreachKind::Figure, |_, l| l.placed[0].pose.x = f64::NAN);
    refused(BreachKind::Edge, |_, l| l.placed[4].pose.x -= 0.01);
    refused(BreachKind::Edge, |_, l| l.placed[4].pose.x += 5000.0);
    refused(BreachKind::Apart, |_, l| {
        let to = l.placed[5].pose;
        l.placed[6].pose = to;
    });
    refused(BreachKind::Apart, |g, _| g.apart = 5.5);
    refused(BreachKind::Flaw, |_, l| {
        l.placed[7].pose.x = 200.0;
        l.placed[7].pose.y = 150.0;
    });
    refused(BreachKind::Flaw, |_, l| {
        // Wholly inside the flaw.
        l.placed[3].host = None;
        l.placed[3].pose.x = 200.0;
        l.placed[3].pose.y = 150.0;
    });
}

#[test]
fn turns_and_faces_are_kept() {
    refused(BreachKind::Turn, |_, l| l.placed[4].pose.turn += 1e-6);
    refused(BreachKind::Turn, |_, l| {
        l.placed[4].stance = 1 - l.placed[4].stance;
    });
    refused(BreachKind::Face, |_, l| l.placed[0].pose.mirrored = false);
    refused(BreachKind::Face, |g, _| g.pieces[0].face = None);
}

#[test]
fn hosts_are_kept() {
    refused(BreachKind::Host, |_, l| l.placed[2].host = None);
    refused(BreachKind::Host, |_, l| l.placed[2].host = Some(1));
    refused(BreachKind::Host, |_, l| l.placed[5].host = Some(1));
    refused(BreachKind::Soft, |g, _| {
        g.hard_edges = true;
        g.pieces[2].soft = true;
    });
}

#[test]
fn touching_is_allowed_where_no_distance_is_wanted_and_overlap_is_not() {
    let turns = fixed(plate(40.0, 30.0, 0.0), &[0.0]);
    let group = group(many("plate", 0, &turns, 4, 0), vec![cloth(80.0, 60.0)], 0.0, 0.0);
    let layout = laid(&group, 500);
    assert!(layout.left.is_empty(), "four plates fill the cloth");
    let mut damaged = layout.clone();
    damaged.placed[0].pose.x += 1e-4;
    assert!(prove(&group, &damaged).is_err());
    let mut damaged = layout.clone();
    damaged.placed[0].pose = damaged.placed[1].pose;
    assert!(prove(&group, &damaged).is_err());
    let mut damaged = layout;
    damaged.placed[1].pose.y += 1e-4;
    assert!(prove(&group, &damaged).is_err());
}

#[test]
fn the_host_is_the_innermost_one() {
    let mut pieces = many("large", 0, &free(ring(90.0, 60.0)), 1, 0);
    pieces.extend(many("small", 1, &free(ring(55.0, 30.0)), 1, 0));
    pieces.extend(many("dot", 2, &free(disk(12.0)), 1, 0));
    let group = group(pieces, vec![cloth(400.0, 100.0)], 1.0, 1.0);
    let layout = laid(&group, 500);
    assert_eq!(layout.placed[2].host, Some(1));
    let mut edited = layout.clone();
    edited.placed[2].host = Some(0);
    let breaches = prove(&group, &edited).unwrap_err();
    assert_eq!(breaches.len(), 1, "{breaches:?}");
    assert_eq!((breaches[0].kind, breaches[0].piece), (BreachKind::Host, 2));
    assert!(breaches[0].text.contains("small:1 lies between"), "{}", breaches[0].text);
    let mut edited = layout;
    edited.placed[2].host = None;
    let breaches = prove(&group, &edited).unwrap_err();
    assert_eq!(breaches[0].other, Some(1), "the innermost is named: {breaches:?}");
}

fn valves(grade: Option<u8>) -> (Group, Layout) {
    let mut pieces = Vec::new();
    for (size, word) in ["inner", "outer"].into_iter().enumerate() {
        for mut piece in many("valve", size, &free(disk(24.0)), 4, 0) {
            piece.address.member = Some(crate::part::MemberName::only(word));
            piece.needs = Needs { grade, thickness: None, together: true };
            pieces.push(piece);
        }
    }
    let mut skin = cloth(300.0, 120.0);
    let half = rectangle(p(150.0, -10.0), 200.0, 200.0, 0.0).unwrap();
    skin.zones = vec![crate::sheet::Zone { why: String::new(), grade: 3, outline: half }];
    let group = group(pieces, vec![skin], 3.0, 1.0);
    let layout = laid(&group, 1000);
    assert!(layout.left.is_empty(), "{:?}", layout.left);
    (group, layout)
}

fn reading(x: f64, mm: f64) -> crate::sheet::Reading {
    crate::sheet::Reading { at: p(x, 60.0), thickness: crate::units::Length::from_mm(mm) }
}

fn kinds(group: &Group, layout: &Layout) -> Vec<BreachKind> {
    prove(group, layout).unwrap_err().iter().map(|b| b.kind).collect()
}

#[test]
fn grades_are_kept() {
    let (group, mut layout) = valves(Some(2));
    // To the border, and a hair over it: the disk is 24 mm across.
    layout.placed[0].pose.x = 138.0;
    layout.placed[0].pose.y = 100.0;
    assert!(prove(&group, &layout).is_ok(), "{:?}", prove(&group, &layout));
    layout.placed[0].pose.x += 1e-3;
    let found = kinds(&group, &layout);
    assert!(found.contains(&BreachKind::Grade), "{found:?}");
    layout.placed[0].pose.x = 250.0;
    assert!(kinds(&group, &layout).contains(&BreachKind::Grade), "wholly within the zone");
}

#[test]
fn a_zone_inside_a_piece_is_seen() {
    let (mut group, layout) = valves(Some(2));
    let at = layout.placed[2].pose;
    let mut skin = (*group.grounds[0].sheet).clone();
    let spot = Loop::circle(p(at.x, at.y), 2.0).unwrap();
    skin.zones.push(crate::sheet::Zone { why: String::new(), grade: 4, outline: spot });
    group.grounds[0].sheet = Arc::new(skin);
    assert_eq!(kinds(&group, &layout), [BreachKind::Grade, BreachKind::Couple]);
}

#[test]
fn thicknesses_are_kept() {
    let (mut group, layout) = valves(None);
    for piece in &mut group.pieces {
        piece.needs = Needs { grade: None, thickness: Some((0.88, 0.92)), together: false };
    }
    let mut skin = (*group.grounds[0].sheet).clone();
    skin.readings = vec![reading(10.0, 0.9), reading(290.0, 1.1)];
    group.grounds[0].sheet = Arc::new(skin.clone());
    assert!(prove(&group, &layout).is_ok(), "half way is at 150");
    let mut moved = layout.clone();
    moved.placed[0].pose.x = 138.0;
    moved.placed[0].pose.y = 100.0;
    assert!(prove(&group, &moved).is_ok(), "{:?}", prove(&group, &moved));
    moved.placed[0].pose.x += 1e-3;
    assert_eq!(kinds(&group, &moved), [BreachKind::Thickness]);
    // A reading whose ground lies wholly within a piece.
    let at = layout.placed[3].pose;
    let ring = [(6.0, 0.0), (-6.0, 0.0), (0.0, 6.0), (0.0, -6.0)];
    skin.readings = ring
        .map(|(dx, dy)| crate::sheet::Reading { at: p(at.x + dx, at.y + dy), ..reading(0.0, 0.9) })
        .into();
    skin.readings.push(crate::sheet::Reading { at: p(at.x, at.y), ..reading(0.0, 0.7) });
    group.grounds[0].sheet = Arc::new(skin.clone());
    assert_eq!(kinds(&group, &layout), [BreachKind::Thickness]);
    skin.readings.clear();
    skin.thickness = Some(crate::units::Length::from_mm(1.0));
    group.grounds[0].sheet = Arc::new(skin);
    assert!(kinds(&group, &layout).iter().all(|k| *k == BreachKind::Thickness));
}

#[test]
fn couples_are_kept() {
    let (mut group, layout) = valves(None);
    let couple = |layout: &Layout, group: &Group| {
        let found = prove(group, layout).unwrap_err();
        assert!(found.iter().any(|b| b.kind == BreachKind::Couple), "{found:?}");
        found
    };
    let mut apart = layout.clone();
    apart.placed[0].pose.x = 250.0;
    apart.placed[0].pose.y = 100.0;
    assert!(couple(&apart, &group)[0].text.contains("two grades"));
    apart.placed[0].pose.x = 150.0;
    assert!(couple(&apart, &group)[0].text.contains("across two zones"));
    let mut alone = layout.clone();
    alone.placed.remove(0);
    alone.left.push(LeftOut { piece: 0, largest_free: None, tried: true });
    assert!(couple(&alone, &group)[0].text.contains("only one has a place"));
    let second = Arc::clone(&group.grounds[0].sheet);
    group.grounds.push(Ground { sheet: second, edge: 3.0, window: None });
    let mut two = layout.clone();
    two.placed[0].ground = 1;
    assert!(couple(&two, &group)[0].text.contains("two sheets"));
    let mut skin = (*group.grounds[0].sheet).clone();
    skin.zones.clear();
    skin.readings = vec![reading(10.0, 0.9), reading(290.0, 0.96)];
    group.grounds[0].sheet = Arc::new(skin.clone());
    let mut thick = layout.clone();
    thick.placed[0].pose.x = 250.0;
    assert!(couple(&thick, &group)[0].text.contains("differs by 0.060 mm"));
    skin.readings[1] = reading(290.0, 0.95);
    group.grounds[0].sheet = Arc::new(skin);
    assert!(prove(&group, &thick).is_ok(), "two thou are well");
}

#[test]
fn cones_are_kept() {
    let mut turns = fixed(plate(90.0, 10.0, 0.0), &[0.0, 180.0]);
    if let Turns::Fixed(stances) = &mut turns {
        for stance in stances {
            stance.within = 10.0;
        }
    }
    let group = group(many("strip", 0, &turns, 1, 0), vec![cloth(400.0, 300.0)], 5.0, 1.0);
    let mut layout = laid(&group, 1000);
    layout.placed[0].pose.x = 150.0;
    layout.placed[0].pose.y = 150.0;
    for (turn, good) in [(10.0, true), (350.0, true), (10.001, false), (170.0, false)] {
        layout.placed[0].stance = 0;
        layout.placed[0].pose.turn = turn;
        assert_eq!(prove(&group, &layout).is_ok(), good, "{turn}");
    }
    layout.placed[0].stance = 1;
    assert!(prove(&group, &layout).is_ok(), "170 is within 10 of 180");
}

/// Disks in two windows of a cloth, with their dots.
fn in_windows() -> (Group, Layout) {
    let mut job =
        group(many("disk", 0, &free(disk(40.0)), 60, 0), vec![cloth(500.0, 260.0)], 4.0, 1.0);
    job.window = Some(Vec2::new(260.0, 280.0));
    let layout = laid(&job, 4000);
    assert_eq!(layout.windows.len(), 2);
    assert!(layout.dots.len() >= 2);
    (job, layout)
}

fn refused_in_windows(kind: BreachKind, words: &str, damage: impl Fn(&mut Group, &mut Layout)) {
    let (mut group, mut layout) = in_windows();
    damage(&mut group, &mut layout);
    let breaches = prove(&group, &layout).unwrap_err();
    let found = breaches.iter().any(|b| b.kind == kind && b.text.contains(words));
    assert!(found, "{kind:?}, {words}: {breaches:?}");
}

#[test]
fn windows_are_kept() {
    let refused = |words: &str, damage: fn(&mut Group, &mut Layout)| {
        refused_in_windows(BreachKind::Window, words, damage);
    };
    refused("lies in no window", |_, l| l.placed[3].window = None);
    refused("which is not there", |_, l| l.placed[3].window = Some(9));
    refused("reaches over its window", |_, l| {
        l.placed[3].window = Some(1 - l.placed[3].window.unwrap());
    });
    refused("beyond what the machine reaches", |_, l| l.windows[0].corner.x += 100.0);
    refused("overlaps window 1", |_, l| {
        let b = l.windows[0].bounds;
        l.windows[1].bounds.x0 = l.windows[1].bounds.x0.min(b.center().x);
        l.windows[1].bounds.x1 = l.windows[1].bounds.x1.max(b.center().x);
    });
    refused("the machine reaches", |_, l| {
        let b = l.windows[0].bounds;
        l.windows[0].bounds = b.inflate(50.0, 50.0);
    });
    refused("is no place", |_, l| l.windows[0].corner.x = f64::NAN);
    refused("sheet 4, which is not there", |_, l| l.windows[0].ground = 4);
    refused("though the bed takes the sheet", |g, _| g.window = Some(Vec2::new(900.0, 900.0)));
    refused("has no room", |_, l| l.windows[0].bounds.x1 = l.windows[0].bounds.x0);
    refused_in_windows(BreachKind::Window, "lies in no window", |g, l| {
        // A layout made for a bed that takes the whole sheet.
        g.window = Some(Vec2::new(200.0, 200.0));
        l.windows.clear();
        l.dots.clear();
        l.placed.iter_mut().for_each(|placed| placed.window = None);
    });
}

#[test]
fn the_gap_is_kept_from_window_to_window() {
    let (mut group, layout) = in_windows();
    // The nearest two pieces of different windows, told by the proof once the gap is wider than the windows stand apart.
    group.apart = 5.0;
    let breaches = prove(&group, &layout).unwrap_err();
    let window = |piece: usize| layout.placed.iter().find(|p| p.piece == piece).unwrap().window;
    let across = |b: &proof::Breach| {
        b.kind == BreachKind::Apart && b.other.is_some_and(|o| window(o) != window(b.piece))
    };
    assert!(breaches.iter().any(across), "{breaches:?}");
}

#[test]
fn dots_are_kept() {
    let refused = |words: &str, damage: fn(&mut Group, &mut Layout)| {
        refused_in_windows(BreachKind::Dot, words, damage);
    };
    refused("lies on disk", |g, l| {
        let it = &l.placed[0];
        let design = g.pieces[it.piece].turns.design(0).unwrap();
        l.dots[0].at = it.pose.on_loop(design.shape.outline()).bounds().center();
    });
    refused("from disk", |g, l| {
        let it = &l.placed[0];
        let design = g.pieces[it.piece].turns.design(0).unwrap();
        let b = it.pose.on_loop(design.shape.outline()).bounds();
        l.dots[0].at = p(b.x1 + 1.2, b.center().y);
    });
    refused("outside its sheet", |_, l| l.dots[0].at.x = -3.0);
    refused("from the sheet's edge", |_, l| l.dots[0].at.x = 0.5);
    refused("is no place", |_, l| l.dots[0].at.x = f64::INFINITY);
    refused("on sheet 7", |_, l| l.dots[0].ground = 7);
    refused("serves no window", |_, l| l.dots[0].windows.clear());
    refused("does not have", |_, l| l.dots[0].windows.push(9));
    refused("in window 1", |_, l| l.windows[0].corner.x -= 300.0);
    refused("lies on a flaw", |g, l| {
        let flawed = sheet(
            "cloth",
            SheetKind::Cloth,
            g.grounds[0].sheet.outline.clone(),
            vec![Loop::circle(l.dots[0].at, 2.0).unwrap()],
        );
        g.grounds[0].sheet = Arc::new(flawed);
    });
}
