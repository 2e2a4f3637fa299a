//! The pieces where they lie for now, what each overlap weighs, and the search for a better place for one of them.

use super::grid::Grid;
use super::problem::{Item, Problem, State};
use super::solid::near;
use crate::geom::{Point, Rect};
use crate::lay::chance::Chance;
use crate::lay::purse::Purse;

/// Places tried all over the ground.
const FAR: usize = 24;
/// Places tried near where it lies.
const NEAR: usize = 12;
/// The best of them that are tried further.
const KEPT: usize = 3;
/// Weights of what no longer overlaps shrink by this factor in each turn.
const FADE: f64 = 0.95;

/// A place for a piece: its weighted loss, its way and its point.
#[derive(Debug, Clone, Copy)]
struct Spot {
    loss: f64,
    way: usize,
    at: Point,
}

/// All that overlaps.
#[derive(Debug, Clone, Default)]
pub(super) struct Survey {
    /// The whole loss without weights.
    pub(super) loss: f64,
    /// Two pieces and how deep they lie in each other.
    pairs: Vec<(usize, usize, f64)>,
    /// A piece and how deep it lies in edge, flaws or beyond the cut-off.
    walls: Vec<(usize, f64)>,
}

impl Survey {
    /// The pieces that overlap anything, by number.
    pub(super) fn movers(&self) -> Vec<usize> {
        let pairs = self.pairs.iter().flat_map(|p| [p.0, p.1]);
        let mut movers: Vec<usize> = pairs.chain(self.walls.iter().map(|w| w.0)).collect();
        movers.sort_unstable();
        movers.dedup();
        movers
    }
}

/// The pieces at work.
pub(super) struct Bench<'a, 'w> {
    pub(super) problem: &'a Problem<'a>,
    pub(super) items: Vec<Item>,
    boxes: Vec<Rect>,
    grid: Grid,
    /// Where the cut-off lies now.
    pub(super) limit: f64,
    /// For each two pieces.
    weights: Vec<f64>,
    /// For each piece against edge, flaws and cut-off.
    walls: Vec<f64>,
    pub(super) chance: Chance,
    pub(super) purse: Purse<'w>,
    tried: u64,
}

impl<'a, 'w> Bench<'a, 'w> {
    /// The pieces of a state.
    pub(super) fn new(
        problem: &'a Problem<'a>,
        state: &State,
        chance: Chance,
        purse: Purse<'w>,
    ) -> Bench<'a, 'w> {
        let n = state.items.len();
        let mut made = Bench {
            problem,
            items: Vec::new(),
            boxes: Vec::new(),
            grid: Grid::new(problem.yard.bounds, problem.cell(&state.items)),
            limit: state.limit,
            weights: vec![1.0; n * n],
            walls: vec![1.0; n],
            chance,
            purse,
            tried: 0,
        };
        made.load(&state.items);
        made
    }

    /// Lays all pieces anew, the weights kept.
    pub(super) fn load(&mut self, items: &[Item]) {
        self.items = items.to_vec();
        self.boxes.clear();
        self.grid.clear();
        for (i, it) in items.iter().enumerate() {
            let b = self.problem.solid(it).box_at(it.at);
            self.boxes.push(b);
            self.grid.put(i, b);
        }
    }

    /// What lies as it does now.
    pub(super) fn state(&self) -> State {
        State { items: self.items.clone(), limit: self.limit }
    }

    /// Moves a piece.
    pub(super) fn put(&mut self, i: usize, way: usize, at: Point) {
        self.grid.take(i, self.boxes[i]);
        self.items[i].way = way;
        self.items[i].at = at;
        self.boxes[i] = self.problem.solid(&self.items[i]).box_at(at);
        self.grid.put(i, self.boxes[i]);
    }

    /// Forgets all weights.
    pub(super) fn level(&mut self) {
        self.weights.fill(1.0);
        self.walls.fill(1.0);
    }

    /// Weighted loss of a piece if it lay so; sums no further than `most`.
    fn loss(&mut self, i: usize, way: usize, at: Point, most: f64) -> f64 {
        self.tried += 1;
        let lots = &self.problem.lots;
        let own_lot = self.items[i].lot;
        let mine = &lots[own_lot];
        let solid = &mine.ways[way].solid;
        let heavy = self.walls[i] * mine.root;
        let with = (self.limit, most / heavy);
        let mut sum = heavy * self.problem.wall(own_lot, way, at, with);
        if sum > most {
            return sum;
        }
        let apart = self.problem.apart;
        let own = solid.box_at(at);
        let weights = &self.weights[i * self.items.len()..];
        self.grid.around(own.inflate(apart, apart), |j| {
            if j != i && near(self.boxes[j], own, apart) {
                let other = &self.items[j];
                let heavy = weights[j] * mine.root.min(lots[other.lot].root);
                let rest = (most - sum) / heavy;
                sum += heavy * self.problem.between(own_lot, (way, at), other, rest);
            }
            sum <= most
        });
        sum
    }

    /// Moves a piece to the best place found for it, if that is better than where it lies.
    pub(super) fn seek(&mut self, i: usize) {
        let it = self.items[i];
        let now = Spot { loss: self.loss(i, it.way, it.at, f64::INFINITY), way: it.way, at: it.at };
        if now.loss > 0.0 {
            let size = self.problem.lots[it.lot].size;
            let mut win = now;
            for spot in self.spots(i, now) {
                let found = self.refine(i, spot, size * 0.1, size * 0.002);
                if found.loss < win.loss {
                    win = found;
                }
            }
            win = self.refine(i, win, size * 0.002, size * 2e-5);
            if win.loss < now.loss {
                self.put(i, win.way, win.at);
            }
        }
        self.purse.spend(std::mem::take(&mut self.tried));
    }

    /// The best of some places all over the ground, of some nearby, and of where it lies.
    fn spots(&mut self, i: usize, now: Spot) -> Vec<Spot> {
        let lot = &self.problem.lots[self.items[i].lot];
        let mut best = vec![now];
        for k in 0..FAR + NEAR {
            let (way, at) = if k < FAR {
                let way = self.chance.below(lot.ways.len());
                let room = self.problem.yard.range(&lot.ways[way].solid, self.limit);
                let x = self.chance.between(room.x0, room.x1);
                (way, Point::new(x, self.chance.between(room.y0, room.y1)))
            } else {
                let stays = self.chance.share() < 0.8;
                let way = if stays { now.way } else { self.chance.below(lot.ways.len()) };
                let s = lot.size * 0.25;
                let dx = self.chance.between(-s, s);
                (way, Point::new(now.at.x + dx, now.at.y + self.chance.between(-s, s)))
            };
            let most = if best.len() < KEPT { f64::INFINITY } else { best[KEPT - 1].loss };
            let loss = self.loss(i, way, at, most);
            if loss < most {
                let rank = best.partition_point(|b| b.loss <= loss);
                best.insert(rank, Spot { loss, way, at });
                best.truncate(KEPT);
            }
        }
        best
    }

    /// Downhill from a spot by steps along x, y and aslant, each direction with its own step, from `step` to `least`.
    fn refine(&mut self, i: usize, from: Spot, step: f64, least: f64) -> Spot {
        let mut best = from;
        let (mut sx, mut sy) = (step, step);
        while (sx > least || sy > least) && best.loss > 0.0 {
            let (dx, dy) = match self.chance.below(4) {
                0 => (sx, 0.0),
                1 => (0.0, sy),
                2 => (sx, sy),
                _ => (sx, -sy),
            };
            let mut better = false;
            for sign in [1.0, -1.0] {
                let at = Point::new(best.at.x + sign * dx, best.at.y + sign * dy);
                let loss = self.loss(i, best.way, at, best.loss);
                if loss < best.loss {
                    best = Spot { loss, way: best.way, at };
                    better = true;
                    break;
                }
            }
            let aslant = dx != 0.0 && dy != 0.0;
            let factor = match (better, aslant) {
                (true, _) => 1.1,
                (false, true) => std::f64::consts::FRAC_1_SQRT_2,
                (false, false) => 0.5,
            };
            if dx != 0.0 {
                sx *= factor;
            }
            if dy != 0.0 {
                sy *= factor;
            }
        }
        best
    }

    /// All that overlaps now.
    pub(super) fn survey(&self) -> Survey {
        let lots = &self.problem.lots;
        let apart = self.problem.apart;
        let mut found = Survey::default();
        for (i, it) in self.items.iter().enumerate() {
            let root = lots[it.lot].root;
            let wall = self.problem.wall(it.lot, it.way, it.at, (self.limit, f64::INFINITY));
            if wall > 0.0 {
                found.walls.push((i, wall));
                found.loss += wall * root;
            }
            self.grid.around(self.boxes[i].inflate(apart, apart), |j| {
                if j > i && near(self.boxes[j], self.boxes[i], apart) {
                    let other = &self.items[j];
                    let depth = self.problem.between(it.lot, (it.way, it.at), other, f64::INFINITY);
                    if depth > 0.0 {
                        found.pairs.push((i, j, depth));
                        found.loss += depth * root.min(lots[other.lot].root);
                    }
                }
                true
            });
        }
        found
    }

    /// Makes what overlaps weigh more, the deeper the more, and what does not less.
    pub(super) fn weigh(&mut self, found: &Survey) {
        for weight in self.weights.iter_mut().chain(&mut self.walls) {
            *weight = (*weight * FADE).max(1.0);
        }
        let depths = found.pairs.iter().map(|p| p.2).chain(found.walls.iter().map(|w| w.1));
        let most = depths.fold(1e-12, f64::max);
        let factor = |depth: f64| (1.2 + 0.8 * depth / most) / FADE;
        let n = self.items.len();
        for (i, j, depth) in &found.pairs {
            self.weights[i * n + j] *= factor(*depth);
            self.weights[j * n + i] *= factor(*depth);
        }
        for (i, depth) in &found.walls {
            self.walls[*i] *= factor(*depth);
        }
    }
}
