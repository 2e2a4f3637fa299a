//! Pieces that work together, the two facings of a valve: they come from one zone.
//!
//! Equal pieces may change names, so places that go together are found first and names are given to them after.

use super::Group;
use super::proof::{Stock, stock};
use super::search::Trial;
use super::task::{Sort, by_address, sort_of};
use crate::geom::tolerance::SLACK;
use crate::part::{Piece, TOGETHER_APART};
use std::collections::{BTreeMap, BTreeSet};

/// The pieces that work together, each couple by address, spares last. A piece whose others are not in the group is
/// alone in its own.
pub(crate) fn couples(group: &Group) -> Vec<Vec<usize>> {
    let key = |piece: &Piece| {
        let (_, grade, thickness, _) = sort_of(piece);
        let at = &piece.address;
        (at.part.clone(), at.position, at.spare, grade, thickness)
    };
    let mut found: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (n, piece) in group.pieces.iter().enumerate().filter(|(_, p)| p.needs.together) {
        found.entry(key(piece)).or_default().push(n);
    }
    let mut made: Vec<Vec<usize>> = found.into_values().collect();
    for couple in &mut made {
        by_address(&group.pieces, couple);
    }
    let mut order: Vec<usize> = made.iter().map(|couple| couple[0]).collect();
    by_address(&group.pieces, &mut order);
    let mut by_first: BTreeMap<usize, Vec<usize>> =
        made.into_iter().map(|couple| (couple[0], couple)).collect();
    order.into_iter().filter_map(|first| by_first.remove(&first)).collect()
}

/// A place where a piece lies that works with others.
#[derive(Debug, Clone)]
struct Spot {
    /// Its number among the placed.
    at: usize,
    ground: usize,
    /// Its only grade; none where it lies on several.
    grade: Option<u8>,
    /// Least and most reading under it (mm); the same where none is known.
    band: (f64, f64),
    /// Its number in reading order among those of its sort.
    rank: usize,
}

impl Spot {
    fn of(at: usize, ground: usize, found: &Stock, rank: usize) -> Spot {
        let mut grades = found.grades.keys();
        let grade = grades.next().copied().filter(|_| grades.next().is_none());
        let all = || found.readings.iter().map(|r| r.0);
        let band = all().reduce(f64::min).zip(all().reduce(f64::max)).unwrap_or((0.0, 0.0));
        Spot { at, ground, grade, band, rank }
    }

    fn is_one_zone(&self) -> bool {
        self.grade.is_some() && self.band.1 - self.band.0 <= TOGETHER_APART + SLACK
    }

    fn goes_with(&self, other: &Spot) -> bool {
        let (least, most) = (self.band.0.min(other.band.0), self.band.1.max(other.band.1));
        self.ground == other.ground
            && self.grade == other.grade
            && most - least <= TOGETHER_APART + SLACK
    }
}

/// Gives pieces that work together places that go together, in reading order as far as that may be, and takes out
/// those for which there are none, with their guests. Says how many went.
///
/// `order` gives the places of a trial in reading order.
pub(crate) fn settle(
    group: &Group,
    trial: &mut Trial,
    order: impl Fn(&Trial, &[usize]) -> Vec<usize>,
) -> usize {
    if !group.pieces.iter().any(|p| p.needs.together) {
        return 0;
    }
    let before = trial.placed.len();
    loop {
        let placed = trial.placed.len();
        once(group, trial, &order);
        if trial.placed.len() == placed {
            return before - placed;
        }
    }
}

fn once(group: &Group, trial: &mut Trial, order: impl Fn(&Trial, &[usize]) -> Vec<usize>) {
    // The places of each sort.
    let mut spots: BTreeMap<Sort, Vec<Spot>> = BTreeMap::new();
    let mut numbers: BTreeMap<Sort, Vec<usize>> = BTreeMap::new();
    for (at, placed) in trial.placed.iter().enumerate() {
        let piece = &group.pieces[placed.piece];
        if piece.needs.together {
            numbers.entry(sort_of(piece)).or_default().push(at);
        }
    }
    for (sort, list) in numbers {
        let found = order(trial, &list).into_iter().enumerate().filter_map(|(rank, at)| {
            let placed = &trial.placed[at];
            let design = group.pieces[placed.piece].turns.design(placed.stance)?;
            let sheet = &group.grounds[placed.ground].sheet;
            let found = stock(sheet, &design.shape.posed(&placed.pose));
            Some(Spot::of(at, placed.ground, &found, rank))
        });
        let mut list: Vec<Spot> = found.filter(Spot::is_one_zone).collect();
        list.sort_by(|a, b| {
            let ahead = a.ground.cmp(&b.ground).then(a.grade.cmp(&b.grade));
            ahead.then(a.band.0.total_cmp(&b.band.0)).then(a.rank.cmp(&b.rank))
        });
        spots.insert(sort, list);
    }
    // Couples by the sorts that their pieces are of.
    let mut alike: BTreeMap<Vec<Sort>, Vec<Vec<usize>>> = BTreeMap::new();
    for couple in couples(group) {
        let sorts = couple.iter().map(|n| sort_of(&group.pieces[*n])).collect();
        alike.entry(sorts).or_default().push(couple);
    }
    let mut named: BTreeMap<usize, usize> = BTreeMap::new();
    for (sorts, list) in alike {
        let mut sets = Vec::new();
        while sets.len() < list.len()
            && let Some(set) = next_set(&sorts, &mut spots)
        {
            sets.push(set);
        }
        sets.sort_by_key(|set| (set[0].ground, set[0].rank));
        for (couple, set) in list.iter().zip(sets) {
            named.extend(set.iter().zip(couple).map(|(spot, piece)| (spot.at, *piece)));
        }
    }
    rename(group, trial, &named);
}

/// The next places that go together, one of each of these sorts, taken out of the lists. A place that nothing goes with
/// is dropped.
fn next_set(sorts: &[Sort], spots: &mut BTreeMap<Sort, Vec<Spot>>) -> Option<Vec<Spot>> {
    loop {
        let first = spots.get_mut(&sorts[0]).filter(|list| !list.is_empty())?.remove(0);
        let mut set = vec![first];
        for sort in &sorts[1..] {
            let list = spots.get(sort)?;
            let fits = |spot: &Spot| set.iter().all(|own| own.goes_with(spot));
            let Some(n) = list.iter().position(fits) else { break };
            set.extend(spots.get_mut(sort).map(|list| list.remove(n)));
        }
        if set.len() == sorts.len() {
            return Some(set);
        }
        // What was taken for it goes back where it was; the first one stays out.
        for (spot, sort) in set.into_iter().zip(sorts).skip(1) {
            if let Some(list) = spots.get_mut(sort) {
                list.insert(0, spot);
            }
        }
    }
}

/// Gives the places their new names; places of pieces that work together and got none are given up.
fn rename(group: &Group, trial: &mut Trial, named: &BTreeMap<usize, usize>) {
    let together = |piece: usize| group.pieces[piece].needs.together;
    let mut gone: BTreeSet<usize> = BTreeSet::new();
    let mut names: BTreeMap<usize, usize> = BTreeMap::new();
    for (at, placed) in trial.placed.iter().enumerate() {
        match named.get(&at) {
            Some(name) => {
                names.insert(placed.piece, *name);
            }
            None if together(placed.piece) => {
                gone.insert(placed.piece);
            }
            None => {}
        }
    }
    // Guests go with their hosts.
    loop {
        let is_lost = |host: Option<usize>| host.is_some_and(|h| gone.contains(&h));
        let lost: Vec<usize> = trial
            .placed
            .iter()
            .filter(|p| is_lost(p.host) && !gone.contains(&p.piece))
            .map(|p| p.piece)
            .collect();
        if lost.is_empty() {
            break;
        }
        gone.extend(lost);
    }
    let untried = trial.untried.len();
    trial.placed.retain(|p| !gone.contains(&p.piece));
    let name = |piece: usize| names.get(&piece).copied().unwrap_or(piece);
    for placed in &mut trial.placed {
        placed.piece = name(placed.piece);
        placed.host = placed.host.map(name);
    }
    let placed: BTreeSet<usize> = trial.placed.iter().map(|p| p.piece).collect();
    trial.left = (0..group.pieces.len()).filter(|piece| !placed.contains(piece)).collect();
    if untried > 0 {
        // Of those that work together all that are left now count as not tried, should one have been.
        let some = trial.untried.iter().any(|piece| together(*piece));
        let before: BTreeSet<usize> = trial.untried.iter().copied().collect();
        let is_untried =
            |piece: &usize| if together(*piece) { some } else { before.contains(piece) };
        trial.untried = trial.left.iter().copied().filter(is_untried).collect();
    }
}
