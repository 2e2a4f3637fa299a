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
