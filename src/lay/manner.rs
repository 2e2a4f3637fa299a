//! In what manner one attempt lays: order, directions, slants, blocks.

use super::chance::Chance;
use super::choice;
use super::cut;
use super::kernel::Body;
use super::pattern::Aim;
use super::task::Task;
use super::windows::{takes, turns_that_fit};
use crate::geom::Vec2;
use crate::part::Turns;
use crate::sheet::SheetKind;
use std::sync::Arc;

/// Pieces of one lot that are laid in one go.
#[derive(Debug, Clone)]
pub(crate) struct Batch {
    /// The lot.
    pub(crate) lot: usize,
    /// Its pieces, in the order in which they are placed.
    pub(crate) pieces: Vec<usize>,
    /// What share of them goes into a block on a lattice.
    pub(crate) block: f64,
}

/// The manner of one attempt.
#[derive(Debug, Clone)]
pub(crate) struct Manner {
    /// Where its chance begins.
    pub(crate) seed: u64,
    /// Cut-off direction of each ground.
    pub(crate) aims: Vec<Aim>,
    /// Turns from the grain that free pieces may take, in degrees.
    pub(crate) slants: Vec<f64>,
    /// The grounds in the order in which they are used up; one that is left out is not used.
    pub(crate) order: Vec<usize>,
    /// Whether spares wait until every wanted piece lies.
    pub(crate) spares_last: bool,
    /// Whether pieces that work together are laid one couple after another.
    pub(crate) by_couples: bool,
    /// Whether pieces of many corners are laid by their true outlines, whatever time that takes.
    pub(crate) exact: bool,
    /// Poses of a lattice to try.
    pub(crate) tries: usize,
    /// Weight factor and share of a block, for each lot.
    lots: Vec<(f64, f64)>,
}

const QUARTERS: [f64; 4] = [0.0, 90.0, 180.0, 270.0];

/// Quarter turns, and those at which pieces that turn freely fit a bed window only aslant.
fn slants(task: &Task<'_>) -> Vec<f64> {
    let mut made = QUARTERS.to_vec();
    let Some((reach, ground)) = task.group.window.zip(task.group.grounds.first()) else {
        return made;
    };
    let firsts = task.lots.iter().filter_map(|lot| lot.wanted.first().or(lot.spares.first()));
    for piece in firsts.map(|first| &task.group.pieces[*first]) {
        let Turns::Free(design) = &piece.turns else { continue };
        let lies = |turn: &f64| takes(reach, &design.shape, ground.sheet.grain + turn);
        if QUARTERS.iter().any(lies) {
            continue;
        }
        if let Some((first, last)) = turns_that_fit(reach, &design.shape) {
            let slant = f64::midpoint(first, last) - ground.sheet.grain;
            if made.iter().all(|other| (other - slant).abs() > 1e-9) {
                made.push(slant);
            }
        }
    }
    made
}

impl Manner {
    /// The plain manner: large before small, along x, blocks where they can be had.
    pub(crate) fn plain(task: &Task<'_>, seed: u64, tries: usize) -> Manner {
        let aim = Aim { way: Vec2::new(1.0, 0.0), lean: 0.01 };
        Manner {
            seed,
            aims: vec![aim; task.fields.len()],
            slants: slants(task),
            order: (0..task.fields.len()).collect(),
            spares_last: false,
            by_couples: false,
            exact: false,
            tries,
            lots: vec![(1.0, 1.0); task.lots.len()],
        }
    }

    /// The same with so large a share of each lot in a block; the rest fills the room round it, in any turn.
    pub(crate) fn with_blocks(mut self, share: f64) -> Manner {
        for lot in &mut self.lots {
            lot.1 = share;
        }
        self
    }

    /// The ways in which a lot's pieces may lie on a ground, each with its stance.
    pub(crate) fn bodies(
        &self,
        task: &Task<'_>,
        lot: usize,
        ground: usize,
    ) -> Vec<(usize, Arc<Body>)> {
        if self.exact {
            task.bodies(lot, ground, &self.slants)
        } else {
            task.coarse(lot, ground, &self.slants)
        }
    }

    /// The same, couple by couple.
    pub(crate) fn by_couples(&self) -> Manner {
        Manner { by_couples: true, ..self.clone() }
    }

    /// The same with the cut-off of every sheet along another way, where it may be cut off in so many.
    pub(crate) fn turned(mut self, task: &Task<'_>, number: usize) -> Option<Manner> {
        let mut any = false;
        for (ground, aim) in task.group.grounds.iter().zip(&mut self.aims) {
            if let Some(way) = cut::ways(ground.sheet.kind).get(number) {
                aim.way = Vec2::from(*way);
                any = true;
            }
        }
        any.then_some(self)
    }

    /// The same on other grounds, or on these in another order.
    pub(crate) fn on(mut self, order: Vec<usize>) -> Manner {
        self.order = order;
        self
    }

    /// The last of some grounds to be used.
    pub(crate) fn last_of(&self, used: impl Iterator<Item = usize>) -> Option<usize> {
        used.max_by_key(|ground| self.order.iter().position(|other| other == ground))
    }

    /// A manner like this one, changed by chance.
    pub(crate) fn varied(&self, task: &Task<'_>, seed: u64, fresh: bool) -> Manner {
        let mut chance = Chance::new(seed, 1);
        let mut made = self.clone();
        made.seed = seed;
        for lot in &mut made.lots {
            if fresh || chance.share() < 0.3 {
                lot.0 *= chance.between(-0.7, 0.7).exp();
            }
            if chance.share() < if fresh { 0.4 } else { 0.1 } {
                // What is not in the block fills the room round it, in any turn.
                lot.1 = [0.0, 1.0, chance.between(0.5, 1.0)][chance.below(3)];
            }
        }
        if fresh && chance.share() < 0.5 {
            choice::shuffle(task, &mut made.order, &mut chance);
        }
        if fresh || chance.share() < 0.3 {
            made.slants = slants(task);
            if chance.share() < 0.6 {
                let slant = chance.between(0.0, 90.0);
                made.slants.extend(QUARTERS.map(|q| q + slant));
            }
        }
        for (ground, aim) in made.aims.iter_mut().enumerate() {
            if fresh {
                aim.way = direction(task.group.grounds[ground].sheet.kind, &mut chance);
            }
            if fresh || chance.share() < 0.3 {
                let lean = [0.01, 0.01, 0.05, 0.2, 0.5][chance.below(5)];
                aim.lean = if chance.share() < 0.5 { lean } else { -lean };
            }
        }
        made
    }

    /// The batches, in the order in which they are laid.
    pub(crate) fn batches(&self, task: &Task<'_>) -> Vec<Batch> {
        let mut order: Vec<usize> = (0..task.lots.len()).collect();
        let weight = |i: usize| task.lots[i].weight * self.lots[i].0;
        order.sort_by(|i, j| {
            let hosts = task.lots[*j].is_host.cmp(&task.lots[*i].is_host);
            hosts.then(weight(*j).total_cmp(&weight(*i))).then(i.cmp(j))
        });
        let batch = |lot: usize, pieces: Vec<usize>| Batch { lot, pieces, block: self.lots[lot].1 };
        let lots = &task.lots;
        let mut batches: Vec<Batch> = if self.spares_last {
            let wanted = order.iter().map(|i| batch(*i, lots[*i].wanted.clone()));
            let spares = order.iter().map(|i| batch(*i, lots[*i].spares.clone()));
            wanted.chain(spares).collect()
        } else {
            let both = |i: usize| [&lots[i].wanted[..], &lots[i].spares[..]].concat();
            order.iter().map(|i| batch(*i, both(*i))).collect()
        };
        batches.retain(|b| !b.pieces.is_empty());
        batches
    }
}

/// A direction for the cut-off that leaves a remnant worth keeping.
fn direction(kind: SheetKind, chance: &mut Chance) -> Vec2 {
    let ways = cut::ways(kind);
    if chance.share() < 0.5 {
        Vec2::from(ways[0])
    } else {
        Vec2::from(ways[chance.below(ways.len())])
    }
}
