//! Separation: pieces may overlap for a while, what overlaps weighs more and more and is pushed apart, and the cut-off is
//! brought in step by step.
//!
//! Takes a proven trial and works on the ground that it uses last, on the pieces that lie directly on it; guests go
//! with their hosts. Pieces that were left out are tried first, then the cut-off is shortened. What comes back has been
//! proven; where a proof fails, what was there before is kept.
//!
//! # Source
//! Weights on overlaps that grow where they last: guided local search, as in Umetani and others, "Solving the irregular
//! strip packing problem via guided local search for overlap minimization", 2009. How deep two convex shapes lie in
//! each other: separating axes.

mod bench;
mod grid;
mod pairs;
mod problem;
mod push;
mod solid;
mod yard;

use super::Effort;
use super::chance::Chance;
use super::manner::Manner;
use super::proof;
use super::purse::{Account, Purse};
use super::search::Trial;
use super::task::Task;
use bench::Bench;
use problem::{Problem, State};
use push::Patience;
use rayon::prelude::*;
use std::collections::BTreeSet;

/// Workers of one round, whatever the number of threads.
const WORKERS: u64 = 2;
/// With less effort than this it is left alone.
const LEAST_EFFORT: u64 = 100_000;
/// With less than this to spend for each piece nothing would come of it.
const LEAST_EACH: u64 = 250;
/// It takes on no more pieces than this at once.
const MOST_PIECES: usize = 1000;
/// A round of bold steps has at least so many evaluations, where there are so many: it takes long to close a step.
const BOLD_ROUND: u64 = 200_000_000;
/// A round of fine steps has at least so many.
const FINE_ROUND: u64 = 500_000;
/// No more rounds than this of each sort.
const MOST_ROUNDS: u64 = 4;
/// So many percent are spent on bold steps, the rest on fine ones.
const BOLD: u64 = 80;
/// How long a piece that was left out is given to find room before it is thrown down elsewhere.
const FOR_ROOM: Patience = Patience { turns: 40, strikes: 3 };
/// So many evaluations for each piece that lies there already, at first.
const ROOM_EACH: u64 = 1000;
/// The fine steps, from and to, as shares of the length.
const FINE: (f64, f64) = (1e-3, 1e-5);

/// What became of a trial.
#[derive(Debug, Clone)]
pub(crate) struct Outcome {
    /// The trial, as it was or better.
    pub(crate) trial: Trial,
    /// Evaluations spent.
    pub(crate) spent: u64,
    /// Whether someone wanted to stop.
    pub(crate) stopped: bool,
}

/// What of an effort is kept for separation: three quarters, of what is over the usual effort nearly all, since an
/// evaluation of the constructive rounds takes many times longer.
pub(crate) fn share(effort: u64) -> u64 {
    if effort < LEAST_EFFORT {
        return 0;
    }
    let usual = Effort::USUAL.evaluations;
    effort - effort.min(usual) / 4 - effort.saturating_sub(usual) / 250
}

/// Improves a proven trial with up to `rest` evaluations.
pub(crate) fn improve(
    task: &Task<'_>,
    (trial, manner): (&Trial, &Manner),
    account: &Account<'_>,
    rest: u64,
    seed: u64,
) -> Outcome {
    let outcome = Outcome { trial: trial.clone(), spent: 0, stopped: false };
    let Some(ground) = manner.last_of(trial.placed.iter().map(|p| p.ground)) else {
        return outcome;
    };
    let Some((problem, state)) = Problem::new(task, trial, manner, ground) else {
        return outcome;
    };
    let n = state.items.len();
    if n > MOST_PIECES || rest < LEAST_EACH * n as u64 {
        return outcome;
    }
    let mut stage = Stage { task, problem: &problem, account, seed, rounds: 0, state, outcome };
    stage.find_room(rest / 2);
    stage.shorten(rest.saturating_sub(stage.outcome.spent));
    stage.outcome
}

/// The rounds of a separation.
struct Stage<'a> {
    task: &'a Task<'a>,
    problem: &'a Problem<'a>,
    account: &'a Account<'a>,
    seed: u64,
    rounds: u64,
    /// The best that is proven.
    state: State,
    outcome: Outcome,
}

impl Stage<'_> {
    /// One round: each worker does the same from the same state with its own chance; the shortest cut-off is kept if it
    /// is proven. Says whether there is one.
    fn round<F>(&mut self, from: &State, allowed: u64, work: F) -> bool
    where
        F: Fn(&mut Bench<'_, '_>) -> Option<State> + Sync,
    {
        self.rounds += 1;
        let first = self.rounds * WORKERS;
        let ran: Vec<(Option<State>, u64, bool)> = (0..WORKERS)
            .into_par_iter()
            .map(|k| {
                let chance = Chance::new(self.seed, (first + k) ^ (1 << 40));
                let purse = Purse::new(self.account, allowed);
                let mut bench = Bench::new(self.problem, from, chance, purse);
                let found = work(&mut bench);
                (found, bench.purse.spent, bench.purse.stopped)
            })
            .collect();
        let mut best: Option<State> = None;
        for (found, spent, stopped) in ran {
            self.outcome.spent += spent;
            self.outcome.stopped |= stopped;
            if let Some(found) = found
                && best.as_ref().is_none_or(|b| found.limit < b.limit)
            {
                best = Some(found);
            }
        }
        best.is_some_and(|best| self.keep(best))
    }

    /// Takes a state over if its layout is proven.
    fn keep(&mut self, state: State) -> bool {
        let trial = self.problem.settled(&self.outcome.trial, &state);
        let is_proven = proof::prove(self.task.group, &trial.layout()).is_ok();
        if is_proven {
            self.outcome.trial = trial;
            self.state = state;
        }
        is_proven
    }

    /// Tries to find room for the pieces that were left out, one after another, at the ground's full length; those for
    /// which there is none are tried again, longer each time.
    fn find_room(&mut self, allowed: u64) {
        for each in [1, 8, 64, 512].map(|times| times * ROOM_EACH) {
            let before = self.outcome.trial.left.len();
            if before == 0 || !self.find_room_once(allowed, each) {
                return;
            }
        }
    }

    /// One pass over the pieces that were left out, with so many evaluations for each piece that lies there already.
    /// Says whether another pass may do more.
    fn find_room_once(&mut self, allowed: u64, each: u64) -> bool {
        let mut left = self.outcome.trial.left.clone();
        let pieces = &self.task.group.pieces;
        left.sort_by_key(|i| (pieces[*i].address.spare > 0, *i));
        let most = self.problem.ground_area();
        let mut hopeless: BTreeSet<usize> = BTreeSet::new();
        let mut tried = false;
        for piece in left {
            if self.outcome.spent >= allowed || self.outcome.stopped {
                return false;
            }
            let mut from = self.state.clone();
            let Some(newcomer) = self.problem.newcomer(piece) else {
                continue;
            };
            from.items.push(newcomer);
            from.limit = self.problem.yard.far_end();
            if hopeless.contains(&newcomer.lot) || self.problem.covered(&from.items) > most {
                continue;
            }
            let rest = allowed - self.outcome.spent;
            let each = (rest / WORKERS).min(each * from.items.len() as u64).max(1);
            let found = self.round(&from, each, |bench| bench.find_room(FOR_ROOM));
            tried = true;
            if !found {
                hopeless.insert(newcomer.lot);
            }
        }
        tried
    }

    /// Shortens the cut-off.
    fn shorten(&mut self, allowed: u64) {
        let reach = self.problem.reach(&self.state.items);
        self.state.limit = reach;
        let bold = allowed / 100 * BOLD;
        let rounds = (bold / BOLD_ROUND).clamp(1, MOST_ROUNDS);
        let each = bold / rounds / WORKERS;
        for _ in 0..rounds {
            if self.outcome.stopped {
                return;
            }
            let from = self.state.clone();
            self.round(&from, each, |bench| bench.explore(each));
        }
        let fine = allowed - bold;
        let rounds = (fine / FINE_ROUND).clamp(1, MOST_ROUNDS);
        let each = fine / rounds / WORKERS;
        for k in 0..rounds {
            if self.outcome.stopped {
                return;
            }
            #[allow(clippy::cast_precision_loss, reason = "a few rounds")]
            let at = |k: u64| FINE.0 * (FINE.1 / FINE.0).powf(k as f64 / rounds as f64);
            let from = self.state.clone();
            self.round(&from, each, |bench| bench.compress(each, at(k), at(k + 1)));
        }
    }
}

#[cfg(test)]
mod tests;
