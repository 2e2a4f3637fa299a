//! Attempt after attempt while the effort lasts; the best layout that is proven is kept.
//!
//! Attempts run in rounds of a fixed size, each with its own chance, and are merged by score and number, so that the
//! layout does not depend on how many threads there are.

use super::chance::Chance;
use super::choice;
use super::cut;
use super::fill::Fill;
use super::free::largest_free;
use super::manner::Manner;
use super::numbering::{couple_up, in_reading_order};
use super::proof::{self, Breach};
use super::purse::{Account, Purse};
use super::separate;
use super::task::{Sort, Task, sort_of};
use super::{Effort, Group, Layout, LeftOut, Placed, Watch};
use crate::geom::Point;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::AtomicU64;

/// Attempts of one round, whatever the number of threads.
const ROUND: u64 = 4;
/// What is left of a lot when so large a share is in a block may come to lie otherwise, and fill the room round it.
const MOST_IN_BLOCK: f64 = 0.8;

/// A way of laying: the room between search and kernel.
pub(crate) trait Search: Sync {
    /// One attempt in a manner, within its purse.
    fn run(&self, task: &Task<'_>, manner: &Manner, purse: &mut Purse<'_>) -> Trial;
}

/// What one attempt came to.
#[derive(Debug, Clone, Default)]
pub(crate) struct Trial {
    /// Pieces in their places.
    pub(crate) placed: Vec<Placed>,
    /// Pieces without.
    pub(crate) left: Vec<usize>,
    /// Those of them for which no place was looked for, for want of time.
    pub(crate) untried: Vec<usize>,
}

impl Trial {
    /// As a layout to be proven.
    pub(crate) fn layout(&self) -> Layout {
        let out = |piece: &usize| LeftOut { piece: *piece, largest_free: None, tried: true };
        Layout {
            placed: self.placed.clone(),
            left: self.left.iter().map(out).collect(),
            ..Layout::default()
        }
    }
}

/// The lower, the better: pieces short, spares short, whole sheets begun, area used up (mm²): of whole sheets all of it, of
/// the last sheet what lies before the cut-off.
///
/// Remnants come first whatever they save: only the cut-off of one that is used last counts.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct Score(usize, usize, usize, f64);

#[derive(Clone)]
struct Best {
    trial: Trial,
    score: Score,
    manner: Manner,
}

/// The best for each way in which the last sheet is cut off: of a hide there are four, and which of them comes out
/// shortest is only seen when the pieces have been closed up.
type Heats = BTreeMap<(i8, i8), Best>;

/// A heat has this part of what is left for closing up.
const HEAT: u64 = 10;

/// Lays a group: every piece placed once or left out with the largest place that is still free.
///
/// An evaluation is a body tried at one place or a lattice tried in one pose.
pub(super) fn lay(group: &Group, effort: Effort, watch: &dyn Watch) -> Layout {
    let task = Task::new(group);
    let mut account = Account {
        watch,
        spent: AtomicU64::new(0),
        effort: effort.evaluations,
        stage: "first lay",
        placed: 0,
        wanted: group.pieces.len(),
    };
    let mut plain = first_manner(&task, effort);
    let search = Fill;
    let ceiling = effort.evaluations - separate::share(effort.evaluations);

    let mut spent = 0;
    let mut stopped = false;
    let mut best: Option<Best> = None;
    let mut heats = Heats::new();
    let mut round = 0;
    let mut first_cost = 0;
    // Manners tried after the first.
    let mut tried = 0;
    while spent < ceiling || best.is_none() {
        let rest = ceiling.saturating_sub(spent);
        if best.is_some() && rest < first_cost / 2 {
            // Too little for a whole attempt.
            break;
        }
        let attempts = rest.checked_div(first_cost).unwrap_or(1).clamp(1, ROUND);
        let most = usize::try_from(attempts).unwrap_or(1);
        let manners = manners(&task, &plain, best.as_ref(), (effort.seed, round), (tried, most));
        tried += if round > 0 { manners.len() } else { 0 };
        let share = (rest / manners.len() as u64).max(1);
        let allowed = if best.is_none() { u64::MAX } else { share };
        let ran: Vec<(Trial, u64, bool, bool)> = manners
            .par_iter()
            .map(|manner| {
                let mut purse = Purse::new(&account, allowed);
                let trial = attempt(&search, &task, manner, &mut purse);
                (trial, purse.spent.max(1), purse.stopped, purse.is_empty())
            })
            .collect();
        for ((trial, cost, halted, short), manner) in ran.into_iter().zip(manners) {
            spent += cost;
            stopped |= halted;
            if best.is_none() || !short {
                if ceiling < effort.evaluations {
                    note_heat(&task, &mut heats, &trial, &manner);
                }
                best = better(&task, best, trial, manner);
            }
        }
        let is_short = |best: &Best| !best.trial.left.is_empty();
        if round == 0 && best.as_ref().is_some_and(is_short) && !stopped && !plain.exact {
            // What is laid roughly may find no place that it has.
            (plain.exact, best) = (true, None);
            continue;
        }
        if round == 0 {
            first_cost = spent;
            if let Some(best) = &mut best {
                spent += spare_remnants(&task, best, &account);
                plain.order.clone_from(&best.manner.order);
            }
        }
        account.stage = "rounds";
        account.placed = best.as_ref().map_or(0, |b| b.trial.placed.len());
        round += 1;
        if stopped || group.pieces.is_empty() || group.grounds.is_empty() {
            break;
        }
    }
    let Some(mut best) = best else {
        return finish(group, &task, Trial::default(), spent, stopped);
    };
    if ceiling < effort.evaluations && !stopped {
        account.stage = "closing up";
        let rivals = rivals(&task, heats, &best);
        let rest = effort.evaluations.saturating_sub(spent);
        let (cost, halted) = race(&task, rivals, &mut best, &account, (rest, effort.seed));
        spent += cost;
        stopped |= halted;
    }
    finish(group, &task, best.trial, spent, stopped)
}

/// A heat for the best of each way where there are several, then the rest for the winner; gives the evaluations spent, and
/// whether someone wanted to stop.
fn race(
    task: &Task<'_>,
    rivals: Vec<Best>,
    best: &mut Best,
    account: &Account<'_>,
    (rest, seed): (u64, u64),
) -> (u64, bool) {
    let mut spent = 0;
    if !rivals.is_empty() {
        for mut runner in [vec![best.clone()], rivals].concat() {
            let (cost, stopped) = close_up(task, &mut runner, account, (rest / HEAT, seed));
            spent += cost;
            if runner.score < best.score {
                *best = runner;
            }
            if stopped {
                return (spent, true);
            }
        }
    }
    let (cost, stopped) = close_up(task, best, account, (rest.saturating_sub(spent), seed));
    (spent + cost, stopped)
}

/// Closes up a proven trial; gives the evaluations spent, and whether someone wanted to stop.
fn close_up(
    task: &Task<'_>,
    best: &mut Best,
    account: &Account<'_>,
    (rest, seed): (u64, u64),
) -> (u64, bool) {
    let outcome = separate::improve(task, (&best.trial, &best.manner), account, rest, seed);
    let score = score(task, &outcome.trial, &best.manner);
    if score < best.score {
        (best.trial, best.score) = (outcome.trial, score);
    }
    (outcome.spent, outcome.stopped)
}

/// The way in which a manner cuts off the last sheet that a trial uses; none where there is but one.
fn way_of(task: &Task<'_>, trial: &Trial, manner: &Manner) -> Option<(i8, i8)> {
    let last = manner.last_of(trial.placed.iter().map(|p| p.ground))?;
    if cut::ways(task.group.grounds[last].sheet.kind).len() < 2 {
        return None;
    }
    let sign = |v: f64| i8::from(v > 0.5) - i8::from(v < -0.5);
    let way = manner.aims[last].way;
    Some((sign(way.x), sign(way.y)))
}

/// Keeps a trial that is the best of its way.
fn note_heat(task: &Task<'_>, heats: &mut Heats, trial: &Trial, manner: &Manner) {
    let Some(way) = way_of(task, trial, manner) else {
        return;
    };
    let score = score(task, trial, manner);
    if heats.get(&way).is_none_or(|known| score < known.score) {
        let (trial, manner) = (trial.clone(), manner.clone());
        heats.insert(way, Best { trial, score, manner });
    }
}

/// The best of the other ways that leave out no more and begin no more sheets, each proven.
fn rivals(task: &Task<'_>, heats: Heats, best: &Best) -> Vec<Best> {
    let own = way_of(task, &best.trial, &best.manner);
    let others = heats.into_iter().filter(|(way, _)| Some(*way) != own);
    let least = |score: &Score| (score.0, score.1, score.2);
    others
        .map(|(_, Best { trial, manner, .. })| {
            let trial = proven(task.group, trial);
            let score = score(task, &trial, &manner);
            Best { trial, score, manner }
        })
        .filter(|other| least(&other.score) <= least(&best.score))
        .collect()
}

/// The manner of the first attempt.
fn first_manner(task: &Task<'_>, effort: Effort) -> Manner {
    let tries = usize::try_from(effort.evaluations / 25).unwrap_or(usize::MAX);
    let mut plain = Manner::plain(task, effort.seed, tries.clamp(200, 3000));
    plain.exact = !task.has_many_corners();
    plain
}

/// One attempt. Where it breaks couples it is made once more, couple by couple, and the one that leaves less out is kept.
fn attempt(search: &dyn Search, task: &Task<'_>, manner: &Manner, purse: &mut Purse<'_>) -> Trial {
    let mut trial = search.run(task, manner, purse);
    if couple_up(task.group, &mut trial) > 0 && !manner.by_couples && !purse.is_empty() {
        let mut again = search.run(task, &manner.by_couples(), purse);
        couple_up(task.group, &mut again);
        if again.left.len() < trial.left.len() {
            trial = again;
        }
    }
    trial
}

fn finish(group: &Group, task: &Task<'_>, mut trial: Trial, spent: u64, stopped: bool) -> Layout {
    in_reading_order(group, &mut trial);
    let tried = |piece: &usize| trial.untried.binary_search(piece).is_err();
    // Once for all that may be cut from the same.
    let mut known: BTreeMap<Sort, Option<(usize, Point, f64)>> = BTreeMap::new();
    let mut free = |piece: usize| {
        let sort = sort_of(&group.pieces[piece]);
        let lot = task
            .lots
            .iter()
            .position(|l| l.wanted.contains(&piece) || l.spares.contains(&piece))?;
        *known
            .entry((0, sort.1, sort.2, sort.3))
            .or_insert_with(|| largest_free(task, &trial.placed, lot))
    };
    let left = trial
        .left
        .iter()
        .map(|piece| {
            let tried = tried(piece);
            let largest_free = if tried { free(*piece) } else { None };
            LeftOut { piece: *piece, largest_free, tried }
        })
        .collect();
    Layout { placed: trial.placed, left, spent, stopped, ..Layout::default() }
}

/// Remnants on which next to nothing lies are left alone, if as much finds a place without them; gives the evaluations.
fn spare_remnants(task: &Task<'_>, best: &mut Best, account: &Account<'_>) -> u64 {
    let Some(order) = choice::without_poor(task, &best.trial, &best.manner.order) else {
        return 0;
    };
    let manner = best.manner.clone().on(order);
    let mut purse = Purse::new(account, u64::MAX);
    let trial = Fill.run(task, &manner, &mut purse);
    if !purse.stopped {
        let trial = proven(task.group, trial);
        let score = score(task, &trial, &manner);
        if (score.0, score.1, score.2) <= (best.score.0, best.score.1, best.score.2) {
            *best = Best { trial, score, manner };
        }
    }
    purse.spent
}

/// The manners of a round, no more than `most`: the plain one alone first, then the other directions of the cut-off and
/// without blocks, what was not reached in the next round, then by chance.
fn manners(
    task: &Task<'_>,
    plain: &Manner,
    best: Option<&Best>,
    (seed, round): (u64, u64),
    (tried, most): (usize, usize),
) -> Vec<Manner> {
    let Some(best) = best else {
        return vec![plain.clone()];
    };
    let mut plain = plain.clone();
    plain.spares_last = best.score.0 > 0 || best.score.1 > 0;
    let mut chance = Chance::new(seed, 1000 + round);
    let mut made: Vec<Manner> = Vec::new();
    if plain.spares_last {
        made.push(plain.clone());
    }
    made.extend(choice::smallest_first(task, &plain.order).map(|o| plain.clone().on(o)));
    made.extend((1..4).filter_map(|number| plain.clone().turned(task, number)));
    made.push(plain.clone().with_blocks(MOST_IN_BLOCK));
    made.push(plain.clone().with_blocks(0.0));
    made.drain(..tried.min(made.len()));
    made.truncate(most);
    while made.len() < most {
        let number = chance.below(1 << 30) as u64 ^ (round << 32);
        let fresh = made.len().is_multiple_of(2);
        let mut from = if fresh { plain.clone() } else { best.manner.clone() };
        from.spares_last |= plain.spares_last;
        made.push(from.varied(task, seed ^ number.rotate_left(17), fresh));
    }
    made
}

/// The better of the best so far and a trial, once that is proven.
fn better(task: &Task<'_>, best: Option<Best>, trial: Trial, manner: Manner) -> Option<Best> {
    let score = score(task, &trial, &manner);
    if best.as_ref().is_some_and(|b| b.score <= score) {
        return best;
    }
    let trial = proven(task.group, trial);
    let score = self::score(task, &trial, &manner);
    if best.as_ref().is_some_and(|b| b.score <= score) {
        return best;
    }
    Some(Best { trial, score, manner })
}

/// The trial with every piece taken out that the proof finds fault with.
fn proven(group: &Group, mut trial: Trial) -> Trial {
    loop {
        let Err(breaches) = proof::prove(group, &trial.layout()) else {
            return trial;
        };
        let mut out: BTreeSet<usize> = breaches.iter().map(Breach::last_piece).collect();
        // Guests go with their hosts.
        loop {
            let more: Vec<usize> = trial
                .placed
                .iter()
                .filter(|p| p.host.is_some_and(|h| out.contains(&h)) && !out.contains(&p.piece))
                .map(|p| p.piece)
                .collect();
            if more.is_empty() {
                break;
            }
            out.extend(more);
        }
        let before = trial.placed.len();
        trial.placed.retain(|p| !out.contains(&p.piece));
        trial.left.extend(out.iter().copied());
        trial.left.sort_unstable();
        trial.left.dedup();
        if trial.placed.len() == before {
            // Nothing to take out helps: an empty layout is always right.
            trial.left = (0..group.pieces.len()).collect();
            trial.placed.clear();
            return trial;
        }
    }
}

fn score(task: &Task<'_>, trial: &Trial, manner: &Manner) -> Score {
    let pieces = &task.group.pieces;
    let spares = trial.left.iter().filter(|i| pieces[**i].address.spare > 0).count();
    let used: BTreeSet<usize> = trial.placed.iter().map(|p| p.ground).collect();
    let mut cut = 0.0;
    let whole = |ground: &usize| task.group.grounds[*ground].sheet.from.is_none();
    let begun = used.iter().filter(|g| whole(g)).count();
    if let Some(last) = manner.last_of(used.iter().copied()) {
        let aim = manner.aims[last];
        let reach = trial
            .placed
            .iter()
            .filter(|p| p.ground == last && p.host.is_none())
            .filter_map(|p| reach(task, p, aim.way))
            .fold(f64::NEG_INFINITY, f64::max);
        let edge = task.group.grounds[last].edge;
        cut = task.fields[last].area_before(aim.way, reach + edge);
        let up = used.iter().filter(|g| **g != last && whole(g));
        cut += up.map(|g| task.group.grounds[*g].sheet.area()).sum::<f64>();
    }
    Score(trial.left.len() - spares, spares, begun, cut)
}

/// How far a piece reaches along an axis direction.
fn reach(task: &Task<'_>, placed: &Placed, way: crate::geom::Vec2) -> Option<f64> {
    let design = task.group.pieces[placed.piece].turns.design(placed.stance)?;
    let bounds = placed.pose.on_loop(design.shape.outline()).bounds();
    Some(if way.x.abs() > way.y.abs() {
        (bounds.x0 * way.x).max(bounds.x1 * way.x)
    } else {
        (bounds.y0 * way.y).max(bounds.y1 * way.y)
    })
}
