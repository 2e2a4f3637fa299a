//! One worker: pieces pushed apart at a cut-off that is shortened step by step.

use super::bench::Bench;
use super::problem::{Item, State};
use crate::geom::Point;

/// A loss below this is none.
const NONE: f64 = 1e-9;
/// A loss is better where it is less than this share of the best.
const BETTER: f64 = 0.98;
/// Evaluations it takes to move one piece, about.
const MOVE: u64 = 120;

/// How long to keep on where it gets no better.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patience {
    /// Turns without gain until the best is taken up again.
    pub(super) turns: u32,
    /// How often the best is taken up again without gain.
    pub(super) strikes: u32,
}

/// States that still overlap somewhere, the least bad first.
type Pool = Vec<(f64, Vec<Item>)>;

impl Bench<'_, '_> {
    /// Pushes pieces until none overlap; false where it gives up.
    pub(super) fn separate(&mut self, patience: Patience) -> bool {
        self.level();
        let mut found = self.survey();
        let mut best = (found.loss, self.items.clone());
        let mut strikes = 0;
        while strikes < patience.strikes {
            let before = best.0;
            let mut idle = 0;
            while idle < patience.turns {
                if found.loss <= NONE {
                    return true;
                }
                if self.purse.is_empty() {
                    return false;
                }
                let mut movers = found.movers();
                for k in (1..movers.len()).rev() {
                    movers.swap(k, self.chance.below(k + 1));
                }
                for i in movers {
                    self.seek(i);
                }
                found = self.survey();
                idle = if found.loss < best.0 * BETTER { 0 } else { idle + 1 };
                if found.loss < best.0 {
                    best = (found.loss, self.items.clone());
                }
                self.weigh(&found);
            }
            strikes = if best.0 < before * BETTER { 0 } else { strikes + 1 };
            self.load(&best.1);
            found = self.survey();
        }
        false
    }

    /// Brings the cut-off in; what lies beyond some place goes with it.
    fn shrink(&mut self, to: f64) {
        let by = self.limit - to;
        self.limit = to;
        let from = self.chance.between(self.problem.yard.bounds.x0, to);
        for i in 0..self.items.len() {
            let it = self.items[i];
            if it.at.x > from {
                self.put(i, it.way, Point::new(it.at.x - by, it.at.y));
            }
        }
    }

    /// How many times all pieces can be moved with so many evaluations.
    fn turns(&self, allowed: u64) -> f64 {
        let all = MOVE * self.items.len().max(1) as u64;
        #[allow(clippy::cast_precision_loss, reason = "a count of turns")]
        let turns = (allowed / all) as f64;
        turns
    }

    /// Shortens the cut-off by bold steps; where that fails, large pieces change places. Gives the best that has no
    /// overlap, if it is better than what it began with.
    pub(super) fn explore(&mut self, allowed: u64) -> Option<State> {
        let low = self.problem.yard.bounds.x0;
        let floor = self.problem.floor(&self.items);
        let turns = self.turns(allowed);
        // With little to spend many small gains come sooner than one large one.
        let mut step = (turns / 20_000.0).clamp(0.002, 0.01);
        let patience = Patience { turns: if turns < 1000.0 { 30 } else { 200 }, strikes: 3 };
        let mut best: Option<State> = None;
        let mut kept = self.limit;
        let mut pool: Pool = Vec::new();
        while !self.purse.is_empty() {
            let to = (low + (kept - low) * (1.0 - step)).max(floor);
            if to >= kept {
                break;
            }
            if self.limit > to {
                self.shrink(to);
            } else {
                // After a failure the step is shorter: the cut-off goes back out to it.
                self.limit = to;
            }
            if self.separate(patience) {
                kept = self.limit;
                best = Some(self.state());
                pool.clear();
            } else if !self.purse.is_empty() {
                step = (step / 2.0).max(0.001_f64.min(step));
                self.shake(&mut pool);
            }
        }
        best
    }

    /// From one of the better failures on, two large pieces in each other's place.
    fn shake(&mut self, pool: &mut Pool) {
        let loss = self.survey().loss;
        let rank = pool.partition_point(|p| p.0 <= loss);
        pool.insert(rank, (loss, self.items.clone()));
        let share = self.chance.share();
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "below the pool's length"
        )]
        let pick = (share * share * pool.len() as f64) as usize;
        if let Some((_, items)) = pool.get(pick) {
            self.load(items);
        }
        let lots = &self.problem.lots;
        let mut large: Vec<usize> = (0..self.items.len()).collect();
        let area = |i: usize| lots[self.items[i].lot].area;
        large.sort_by(|i, j| area(*j).total_cmp(&area(*i)).then(i.cmp(j)));
        large.truncate((large.len() / 2).max(2));
        let one = large[self.chance.below(large.len())];
        large.retain(|i| self.items[*i].lot != self.items[one].lot);
        if large.is_empty() {
            return;
        }
        let two = large[self.chance.below(large.len())];
        let (p, q) = (self.items[one], self.items[two]);
        self.put(one, p.way, q.at);
        self.put(two, q.way, p.at);
    }

    /// Shortens the cut-off by steps that get finer from `from` to `to` (shares of its length), always from the best.
    pub(super) fn compress(&mut self, allowed: u64, from: f64, to: f64) -> Option<State> {
        let low = self.problem.yard.bounds.x0;
        let floor = self.problem.floor(&self.items);
        let patience = Patience { turns: 40, strikes: 1 };
        let mut best: Option<State> = None;
        let mut kept = self.state();
        while !self.purse.is_empty() {
            #[allow(clippy::cast_precision_loss, reason = "a share of what may be spent")]
            let share = self.purse.spent as f64 / allowed.max(1) as f64;
            let step = from * (to / from).powf(share.min(1.0));
            let to = (low + (kept.limit - low) * (1.0 - step)).max(floor);
            if to >= kept.limit {
                break;
            }
            self.load(&kept.items);
            self.limit = kept.limit;
            self.shrink(to);
            if self.separate(patience) {
                kept = self.state();
                best = Some(kept.clone());
            }
        }
        best
    }

    /// Throws the last piece down and makes room for it, again and again while there is something to spend.
    pub(super) fn find_room(&mut self, patience: Patience) -> Option<State> {
        while !self.purse.is_empty() {
            self.throw_last();
            if self.separate(patience) {
                return Some(self.state());
            }
        }
        None
    }

    /// Throws the last piece down anywhere.
    fn throw_last(&mut self) {
        let Some(last) = self.items.len().checked_sub(1) else {
            return;
        };
        let lot = &self.problem.lots[self.items[last].lot];
        let way = self.chance.below(lot.ways.len());
        let room = self.problem.yard.range(&lot.ways[way].solid, self.limit);
        let x = self.chance.between(room.x0, room.x1);
        let at = Point::new(x, self.chance.between(room.y0, room.y1));
        self.put(last, way, at);
    }
}
