//! Couple after couple: pieces that work together are laid one after the other on one plot, or not at all.

use super::{Batch, Room, Work};
use crate::geom::Point;
use crate::lay::couples::couples;
use crate::lay::kernel::Core;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::Arc;

/// The rooms of one lot, each with its stance.
type Rooms = Vec<(usize, Room)>;

impl Work<'_, '_, '_> {
    /// Places what it can of the couples that a batch has part in, with their pieces of other lots; gives what is left
    /// of them.
    pub(super) fn couples(&mut self, batch: &Batch) -> VecDeque<usize> {
        let task = self.task;
        let mut lot_of: BTreeMap<usize, usize> = BTreeMap::new();
        for (number, lot) in task.lots.iter().enumerate() {
            lot_of.extend(lot.wanted.iter().chain(&lot.spares).map(|piece| (*piece, number)));
        }
        let here: BTreeSet<usize> = batch.pieces.iter().copied().collect();
        // By the lots that their pieces are of.
        let mut sorts: BTreeMap<Vec<usize>, VecDeque<Vec<usize>>> = BTreeMap::new();
        for couple in couples(task.group) {
            let is_new = couple.iter().all(|piece| !self.tried.contains(piece));
            if is_new && couple.iter().any(|piece| here.contains(piece)) {
                let lots: Option<Vec<usize>> =
                    couple.iter().map(|p| lot_of.get(p).copied()).collect();
                if let Some(lots) = lots {
                    self.tried.extend(couple.iter().copied());
                    sorts.entry(lots).or_default().push_back(couple);
                }
            }
        }
        let mut left = VecDeque::new();
        for (lots, mut rest) in sorts {
            let soft = lots.iter().any(|l| task.lots[*l].soft) && task.group.hard_edges;
            let grounds = task.fields.len();
            let holes = if soft { 0..0 } else { grounds..self.sites.len() };
            for site in holes.chain(0..grounds) {
                let ground = self.sites[site].ground;
                for plot in task.plots(lots[0], ground).iter() {
                    if !rest.is_empty() && !self.purse.is_empty() {
                        self.couples_in(site, &plot.bars, &lots, &mut rest);
                    }
                }
            }
            left.extend(rest.into_iter().flatten());
        }
        left
    }

    /// Lays couples on one plot of a site until one finds no room.
    fn couples_in(
        &mut self,
        site: usize,
        bars: &[Core],
        lots: &[usize],
        rest: &mut VecDeque<Vec<usize>>,
    ) {
        let aim = self.sites[site].aim;
        let mut rooms: BTreeMap<usize, Rooms> = BTreeMap::new();
        for lot in lots {
            if !rooms.contains_key(lot) {
                let made = self.rooms(site, bars, *lot);
                rooms.insert(*lot, made);
            }
        }
        while let Some(couple) = rest.front() {
            let mut found: Vec<(usize, usize, usize, Point)> = Vec::new();
            for (piece, lot) in couple.iter().zip(lots) {
                let spot = aim.best_spot(rooms[lot].iter().map(|(_, room)| room));
                let Some((k, p)) = spot else { return };
                let cores = rooms[lot][k].1.body.cores_at(p);
                let mut tried = 1;
                for (_, room) in rooms.values_mut().flatten() {
                    let before = room.tried;
                    room.add(&cores);
                    tried += room.tried - before;
                }
                found.push((*piece, *lot, k, p));
                if !self.purse.spend(tried) {
                    return;
                }
            }
            for (piece, lot, k, p) in found {
                let (stance, room) = &rooms[&lot][k];
                let body = Arc::clone(&room.body);
                self.put(piece, site, *stance, &body, p);
            }
            rest.pop_front();
        }
    }

    fn rooms(&mut self, site: usize, bars: &[Core], lot: usize) -> Rooms {
        let ways = self.manner.bodies(self.task, lot, self.sites[site].ground);
        let mut rooms = Vec::new();
        for (stance, body) in ways {
            let at = &self.sites[site];
            let apart = self.task.group.apart;
            if let Some(room) = Room::beside(&body, &at.field, at.cores.iter(), bars, apart) {
                self.purse.spend(room.tried);
                rooms.push((stance, room));
            }
        }
        rooms
    }
}
