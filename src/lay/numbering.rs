//! Equal pieces change places with each other so that their addresses run in reading order.

use super::Group;
use super::search::Trial;
use super::task::by_address;
use crate::geom::{Point, Rect};
use std::collections::BTreeMap;

/// Gives the pieces of each size their places from top to bottom in rows and from left to right, sheet after sheet,
/// and sorts the trial by piece.
pub(crate) fn in_reading_order(group: &Group, trial: &mut Trial) {
    let mut renamed: BTreeMap<usize, usize> = BTreeMap::new();
    let mut sizes: BTreeMap<usize, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
    for (at, placed) in trial.placed.iter().enumerate() {
        let lists = sizes.entry(group.pieces[placed.piece].size).or_default();
        lists.0.push(at);
        lists.1.push(placed.piece);
    }
    for piece in &trial.left {
        let lists = sizes.entry(group.pieces[*piece].size).or_default();
        lists.1.push(*piece);
    }
    let mut waiting: BTreeMap<usize, usize> = BTreeMap::new();
    for piece in &trial.untried {
        *waiting.entry(group.pieces[*piece].size).or_default() += 1;
    }
    let (mut left, mut untried) = (Vec::new(), Vec::new());
    for (size, (places, pieces)) in &mut sizes {
        by_address(&group.pieces, pieces);
        let order = reading_order(group, trial, places);
        let mut names = pieces.iter();
        let taken: Vec<(usize, usize)> = order.into_iter().zip(names.by_ref().copied()).collect();
        let rest: Vec<usize> = names.copied().collect();
        // Equal pieces that were never tried are the last of their size.
        let waiting = waiting.get(size).copied().unwrap_or(0).min(rest.len());
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
    trial.placed.sort_by_key(|p| p.piece);
    left.sort_unstable();
    untried.sort_unstable();
    trial.left = left;
    trial.untried = untried;
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
