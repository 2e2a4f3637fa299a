//! Ground that others hold: kept clear of like another piece, in both stages, and seen by the proof.

use super::*;
use crate::sheet::{Holder, State, Used};
use proof::{BreachKind, prove};

fn used(outline: Loop, state: State) -> Used {
    let by = Holder { job: None, lay: "lay-1".to_owned(), hash: "0011".to_owned() };
    Used { by, address: "pad:1".to_owned(), state, outline, given: None }
}

/// A cloth on which three places are gone: a disk, a plate and one that is only claimed.
fn begun() -> Group {
    let mut roll = cloth(300.0, 120.0);
    roll.used = vec![
        used(Loop::circle(p(60.0, 60.0), 30.0).unwrap(), State::Good),
        used(rectangle(p(120.0, 30.0), 40.0, 50.0, 0.0).unwrap(), State::Failed),
        used(Loop::circle(p(210.0, 60.0), 15.0).unwrap(), State::Claimed),
    ];
    let mut pieces = many("dot", 0, &free(disk(24.0)), 12, 0);
    pieces.extend(many("strip", 1, &fixed(plate(60.0, 9.0, 0.0), &[0.0, 90.0]), 6, 0));
    // The edge asks for more than another piece does.
    group(pieces, vec![roll], 6.0, 1.0)
}

/// Least distance between a piece and what is gone, by the true lines.
fn least(group: &Group, layout: &Layout) -> f64 {
    let gone = group.grounds[0].sheet.used.iter().map(|u| Shape::plain(u.outline.clone()));
    let gone: Vec<Shape> = gone.collect();
    let shape =
        |at: &Placed| group.pieces[at.piece].turns.design(at.stance).unwrap().shape.posed(&at.pose);
    let each = layout.placed.iter().map(shape);
    each.flat_map(|it| {
        gone.iter().map(move |g| crate::geom::shape_distance(&it, g).0).collect::<Vec<_>>()
    })
    .fold(f64::INFINITY, f64::min)
}

#[test]
fn old_cuts_are_kept_clear_of_like_pieces() {
    let group = begun();
    for effort in [2_000, 150_000] {
        let layout = laid(&group, effort);
        assert!(layout.left.is_empty(), "{effort}: {:?}", layout.left);
        assert!(prove(&group, &layout).is_ok());
        let off = least(&group, &layout);
        // Nearer than the edge, never nearer than two pieces.
        assert!((1.0 - 1e-6..6.0).contains(&off), "{effort}: {off}");
    }
}

#[test]
fn the_proof_sees_ground_that_is_gone() {
    let mut group = begun();
    let layout = laid(&group, 2_000);
    let at = layout.placed[0].pose;
    let mut sheet = Sheet::clone(&group.grounds[0].sheet);
    sheet.used.push(used(Loop::circle(p(at.x, at.y), 1.0).unwrap(), State::Claimed));
    group.grounds[0].sheet = Arc::new(sheet);
    let breaches = prove(&group, &layout).unwrap_err();
    assert!(breaches.iter().any(|b| b.kind == BreachKind::Used && b.text.contains("(lay-1)")));
    // A hair too near is seen too: the distance is that of two pieces, to the micrometre.
    for (short, fine) in [(-2e-6, false), (2e-6, true)] {
        let mut one = begun();
        one.pieces.truncate(1);
        let mut roll = Sheet::clone(&one.grounds[0].sheet);
        roll.used.truncate(1);
        one.grounds[0].sheet = Arc::new(roll);
        let pose =
            Pose { x: 60.0 + 30.0 + 12.0 + 1.0 + short, y: 60.0, turn: 0.0, mirrored: false };
        let placed = Placed { piece: 0, ground: 0, host: None, stance: 0, pose, window: None };
        let layout = Layout { placed: vec![placed], ..Layout::default() };
        assert_eq!(prove(&one, &layout).is_ok(), fine, "{short}");
    }
}

#[test]
fn claims_are_told_apart_from_cuts_in_a_record() {
    let group = begun();
    let mut sheet = Sheet::clone(&group.grounds[0].sheet);
    let hash = crate::lay::record::outline_hash(&sheet);
    sheet.used.pop();
    assert_eq!(crate::lay::record::outline_hash(&sheet), hash, "claims come and go");
    sheet.used.pop();
    assert_ne!(crate::lay::record::outline_hash(&sheet), hash, "cuts stay");
}
