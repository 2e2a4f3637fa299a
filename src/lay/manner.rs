//! In what manner one attempt lays: order, directions, slants, blocks.

use super::chance::Chance;
use super::pattern::Aim;
use super::task::Task;
use crate::geom::Vec2;
use crate::sheet::SheetKind;

/// Pieces of one lot that are laid in one go.
#[derive(Debug, Clone)]
pub(crate) struct Batch {
    /// The lot.
    pub(crate) lot: usize,
    /// Its pieces, in the order in which they are placed.
    pub(crate) pieces: Vec<usize>,
    /// Whether a block on a lattice is tried.
    pub(crate) block: bool,
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
    /// Whether spares wait until every wanted piece lies.
    pub(crate) spares_last: bool,
    /// Whether pieces that work together are laid one couple after another.
    pub(crate) by_couples: bool,
    /// Poses of a lattice to try.
    pub(crate) tries: usize,
    /// Weight factor and leave for a block, for each lot.
    lots: Vec<(f64, bool)>,
}

const QUARTERS: [f64; 4] = [0.0, 90.0, 180.0, 270.0];

impl Manner {
    /// The plain manner: large before small, along x, blocks where they can be had.
    pub(crate) fn plain(task: &Task<'_>, seed: u64, tries: usize) -> Manner {
        let aim = Aim { way: Vec2::new(1.0, 0.0), lean: 0.01 };
        Manner {
            seed,
            aims: vec![aim; task.fields.len()],
            slants: QUARTERS.to_vec(),
            spares_last: false,
            by_couples: false,
            tries,
            lots: vec![(1.0, true); task.lots.len()],
        }
    }

    /// The same without blocks.
    pub(crate) fn without_blocks(mut self) -> Manner {
        for lot in &mut self.lots {
            lot.1 = false;
        }
        self
    }

    /// The same, couple by couple.
    pub(crate) fn by_couples(&self) -> Manner {
        Manner { by_couples: true, ..self.clone() }
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
                lot.1 = !lot.1;
            }
        }
        if fresh || chance.share() < 0.3 {
            made.slants = QUARTERS.to_vec();
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
    let ways = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
    let n = match kind {
        SheetKind::Cloth => 1,
        SheetKind::Leaf => 2,
        SheetKind::Hide => 4,
    };
    if chance.share() < 0.5 { Vec2::from(ways[0]) } else { Vec2::from(ways[chance.below(n)]) }
}
