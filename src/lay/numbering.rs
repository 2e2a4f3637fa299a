//! Equal pieces change places with each other so that their addresses run in reading order.

use super::Group;
use super::couples;
use super::search::Trial;
use super::task::{Sort, by_address, sort_of};
use crate::geom::{Point, Rect};
use std::collections::BTreeMap;

/// Gives the pieces of each size their places from top to bottom in rows and from left to right, sheet after sheet,
/// and sorts the trial by piece.
pub(crate) fn in_reading_order(group: &Group, trial: &mut Trial) {
    let mut renamed: BTreeMap<usize, usize> = BTreeMap::new();
    let mut sorts: BTreeMap<Sort, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
    let sort = |piece: usize| sort_of(&group.pieces[piece]);
    let alone = |piece: usize| !group.pieces[piece].needs.together;
    for (at, placed) in trial.placed.iter().enumerate().filter(|(_, p)| alone(p.piece)) {
        let lists = sorts.entry(sort(placed.piece)).or_default();
        lists.0.push(at);
        lists.1.push(placed.piece);
    }
    for piece in trial.left.iter().filter(|piece| alone(**piece)) {
        let lists = sorts.entry(sort(*piece)).or_default();
        lists.1.push(*piece);
    }
    let mut waiting: BTreeMap<Sort, usize> = BTreeMap::new();
    let (mut left, mut untried) = (Vec::new(), Vec::new());
    for piece in &trial.untried {
        *waiting.entry(sort(*piece)).or_default() += 1;
        untried.extend(Some(*piece).filter(|piece| !alone(*piece)));
    }
    left.extend(trial.left.iter().copied().filter(|piece| !alone(*piece)));
    for (sort, (places, pieces)) in &mut sorts {
        by_address(&group.pieces, pieces);
        let order = reading_order(group, trial, places);
        let mut names = pieces.iter();
        let taken: Vec<(usize, usize)> = order.into_iter().zip(names.by_ref().copied()).collect();
        let rest: Vec<usize> = names.copied().collect();
        // Equal pieces that were never tried are the last of their size.
        let waiting = waiting.get(sort).copied().unwrap_or(0).min(rest.len());
        untried.extend(&rest[rest.len() - waiting..]);
        left.extend(rest);
        for (at, piece) in taken {
            renamed.insert(trial.placed[at].piece, piece);
        }
    }
    let name = |piece: usize| renamed.get(&piece).copied().unwrap_or(piece);
    for placed in &mut trial.placed {
        placed.piece = name(placed.piece);
        placed.host = placed.host.map(name);
    }
    left.sort_unstable();
    untried.sort_unstable();
    trial.left = left;
    trial.untried = untried;
    let mut settled = trial.clone();
    if couple_up(group, &mut settled) == 0 {
        *trial = settled;
    }
    trial.placed.sort_by_key(|p| p.piece);
}

/// Gives pieces that work together places that go together; says how many had to be taken out.
pub(crate) fn couple_up(group: &Group, trial: &mut Trial) -> usize {
    couples::settle(group, trial, |trial, places| reading_order(group, trial, places))
}

fn reading_order(group: &Group, trial: &Trial, places: &[usize]) -> Vec<usize> {
    let mut seen: Vec<(usize, Point, f64, usize)> = places
        .iter()
        .map(|at| {
            let placed = &trial.placed[*at];
            let design = group.pieces[placed.piece].turns.design(placed.stance);
            let bounds =
                design.map_or(Rect::ZERO, |d| placed.pose.on_loop(d.shape.outline()).bounds());
            (placed.ground, bounds.center(), bounds.height() / 2.0, *at)
        })
        .collect();
    seen.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.y.total_cmp(&a.1.y)).then(a.3.cmp(&b.3)));
    let mut order = Vec::new();
    let mut rest = &seen[..];
    while let Some(head) = rest.first() {
        let same = |p: &&(usize, Point, f64, usize)| p.0 == head.0 && head.1.y - p.1.y <= head.2;
        let n = rest.iter().take_while(same).count();
        let mut row = rest[..n].to_vec();
        row.sort_by(|a, b| a.1.x.total_cmp(&b.1.x).then(a.3.cmp(&b.3)));
        order.extend(row.iter().map(|p| p.3));
        rest = &rest[n..];
    }
    order
}
