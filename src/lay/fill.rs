//! The constructive search: piece after piece into the spot that needs the shortest cut-off.
//!
//! Hosts come first, then large before small; a hole is filled like a small sheet as soon as its host lies. Equal
//! pieces may come as a block on a lattice, pieces that work together one couple after another.

mod couples;

use super::Placed;
use super::chance::Chance;
use super::kernel::{Body, Clear, Core, Field, Room};
use super::manner::{Batch, Manner};
use super::pattern::{Aim, best_block};
use super::purse::Purse;
use super::search::{Search, Trial};
use super::task::{Task, shape_of};
use crate::geom::{Point, Vec2};
use std::collections::{BTreeSet, VecDeque};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// Blocks are tried from so many equal pieces on.
const LEAST_BLOCK: usize = 6;

/// The constructive search.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fill;

/// The ways in which a lot's pieces may lie on a ground, each with its stance.
type Ways = Vec<(usize, Arc<Body>)>;

/// A sheet or a hole, with what lies in it.
struct Site {
    field: Arc<Field>,
    ground: usize,
    host: Option<usize>,
    cores: Vec<Core>,
    aim: Aim,
}

/// Places for some pieces of a lot: which room's body, and where.
struct Run {
    places: Vec<(usize, Point)>,
    reach: f64,
}

impl Default for Run {
    fn default() -> Run {
        Run { places: Vec::new(), reach: f64::NEG_INFINITY }
    }
}

impl Run {
    /// Whether it places more than another, or as many in less.
    fn beats(&self, other: &Run) -> bool {
        let (n, m) = (self.places.len(), other.places.len());
        n > m || (n == m && self.reach < other.reach)
    }

    /// One piece after another into the best spot, until there are `n` or no spot is left.
    fn go_on(&mut self, rooms: &mut [Room], n: usize, aim: Aim, purse: &mut Purse<'_>) {
        while self.places.len() < n && !purse.is_empty() {
            let Some((k, p)) = aim.best_spot(rooms.iter()) else { return };
            self.put(rooms, k, p, aim, purse);
        }
    }

    /// Equal disks evenly along the wall of a round hole, a seventh in the middle.
    fn round_the_wall(&mut self, rooms: &mut [Room], n: usize, aim: Aim, purse: &mut Purse<'_>) {
        let ([room], 2..) = (&mut *rooms, n) else { return };
        let (Some((center, rho)), [core]) = (room.ring(), &room.body.cores[..]) else { return };
        let wide = 2.0 * core.radius + room.apart();
        let fits = |k: &u32| {
            let along = 2.0 * rho * (PI / f64::from((*k).min(6))).sin();
            along >= wide - 1e-9 && (*k < 7 || rho >= wide - 1e-9)
        };
        let most = u32::try_from(n).unwrap_or(u32::MAX).min(7);
        let Some(count) = (2..=most).rev().find(fits) else { return };
        let step = TAU / f64::from(count.min(6));
        let mut places: Vec<Point> = (0..count.min(6))
            .map(|k| center + Vec2::from_angle(step * f64::from(k)) * rho)
            .collect();
        places.extend((count == 7).then_some(center));
        for p in places {
            if rooms[0].is_clear(p) {
                self.put(rooms, 0, p, aim, purse);
            }
        }
    }

    fn put(&mut self, rooms: &mut [Room], k: usize, p: Point, aim: Aim, purse: &mut Purse<'_>) {
        let body = Arc::clone(&rooms[k].body);
        let cores = body.cores_at(p);
        let mut tried = 1;
        for room in rooms.iter_mut() {
            let before = room.tried;
            room.add(&cores);
            tried += room.tried - before;
        }
        purse.spend(tried);
        self.reach = self.reach.max(aim.score(p) + aim.reach(&body));
        self.places.push((k, p));
    }
}

struct Work<'t, 'p, 'w> {
    task: &'t Task<'t>,
    manner: &'t Manner,
    chance: Chance,
    purse: &'p mut Purse<'w>,
    sites: Vec<Site>,
    placed: Vec<Placed>,
    /// Pieces of couples for which a place has been looked for.
    tried: BTreeSet<usize>,
}

impl Search for Fill {
    fn run(&self, task: &Task<'_>, manner: &Manner, purse: &mut Purse<'_>) -> Trial {
        let sites = task
            .fields
            .iter()
            .enumerate()
            .map(|(ground, field)| Site {
                field: Arc::clone(field),
                ground,
                host: None,
                cores: Vec::new(),
                aim: manner.aims[ground],
            })
            .collect();
        let mut work = Work {
            task,
            manner,
            chance: Chance::new(manner.seed, 7),
            purse,
            sites,
            placed: Vec::new(),
            tried: BTreeSet::new(),
        };
        let (mut left, mut untried) = (Vec::new(), Vec::new());
        for batch in manner.batches(task) {
            let together = task.lots[batch.lot].needs.together;
            let rest = if manner.by_couples && together {
                work.couples(&batch)
            } else {
                work.batch(&batch)
            };
            if work.purse.is_empty() {
                untried.extend(rest.iter().copied());
            }
            left.extend(rest);
        }
        untried.sort_unstable();
        Trial { placed: work.placed, left, untried }
    }
}

impl Work<'_, '_, '_> {
    /// Places what it can of a batch; gives what is left.
    fn batch(&mut self, batch: &Batch) -> VecDeque<usize> {
        let mut rest: VecDeque<usize> = batch.pieces.iter().copied().collect();
        let grounds = self.task.fields.len();
        let order = self.manner.order.clone();
        let soft = self.task.lots[batch.lot].soft && self.task.group.hard_edges;
        let mut bodies: Vec<Option<Ways>> = vec![None; grounds];
        let holes = if soft { 0..0 } else { grounds..self.sites.len() };
        for site in holes.chain(order) {
            if rest.is_empty() || self.purse.is_empty() {
                break;
            }
            let ground = self.sites[site].ground;
            let ways = bodies[ground]
                .get_or_insert_with(|| self.manner.bodies(self.task, batch.lot, ground));
            let ways = ways.clone();
            for plot in self.task.plots(batch.lot, ground).iter() {
                if !rest.is_empty() {
                    self.lay_in((site, &plot.bars), batch, &ways, &mut rest);
                }
            }
        }
        rest
    }

    fn lay_in(
        &mut self,
        (site, bars): (usize, &[Core]),
        batch: &Batch,
        ways: &[(usize, Arc<Body>)],
        rest: &mut VecDeque<usize>,
    ) {
        let apart = self.task.group.apart;
        let mut rooms: Vec<Room> = Vec::new();
        let mut stances: Vec<usize> = Vec::new();
        for (stance, body) in ways {
            if self.purse.is_empty() {
                break;
            }
            let at = &self.sites[site];
            if let Some(room) = Room::beside(body, &at.field, at.cores.iter(), bars, apart) {
                self.purse.spend(room.tried);
                stances.push(*stance);
                rooms.push(room);
            }
        }
        let (aim, n) = (self.sites[site].aim, rest.len());
        let in_hole = self.sites[site].host.is_some();
        let mut run = Run::default();
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "a share of a count"
        )]
        let blocked = (n as f64 * batch.block).ceil() as usize;
        if blocked >= LEAST_BLOCK && !in_hole && rooms.iter().any(|r| !r.spots.is_empty()) {
            let mut copies = rooms.clone();
            run = self.block(&mut copies, blocked, aim);
            run.go_on(&mut copies, n, aim, self.purse);
        }
        let mut plain = Run::default();
        let mut copies = rooms.clone();
        plain.go_on(&mut rooms, n, aim, self.purse);
        if plain.beats(&run) {
            run = plain;
        }
        if self.sites[site].cores.is_empty() && in_hole {
            let mut ring = Run::default();
            ring.round_the_wall(&mut copies, n, aim, self.purse);
            // As many in a ring leave even gaps for others.
            if ring.places.len() >= run.places.len() {
                run = ring;
            }
        }
        for (k, p) in run.places {
            let Some(piece) = rest.pop_front() else {
                return;
            };
            self.put(piece, site, stances[k], &rooms[k].body, p);
        }
    }

    /// The best block of the lot in a site, put down in its rooms.
    fn block(&mut self, rooms: &mut [Room], n: usize, aim: Aim) -> Run {
        let apart = self.task.group.apart;
        let with = (&mut self.chance, &mut *self.purse);
        let block = best_block(rooms, n, apart, aim, self.manner.tries, with);
        let mut run = Run::default();
        for (k, p) in block.places {
            if self.purse.is_empty() {
                break;
            }
            run.put(rooms, k, p, aim, self.purse);
        }
        run
    }

    fn put(&mut self, piece: usize, site: usize, stance: usize, body: &Body, p: Point) {
        let at = &mut self.sites[site];
        at.cores.extend(body.cores_at(p));
        let placed = Placed {
            piece,
            ground: at.ground,
            host: at.host,
            stance,
            pose: body.pose_at(p),
            window: None,
        };
        if !self.purse.is_empty() {
            self.open_holes(&placed);
        }
        self.placed.push(placed);
    }

    /// The holes of a piece that lies, as sites for the pieces to come.
    fn open_holes(&mut self, placed: &Placed) {
        let piece = &self.task.group.pieces[placed.piece];
        let shape = piece.turns.design(placed.stance).map(|d| &d.shape);
        for hole in shape.or(shape_of(piece)).map_or(&[][..], |s| s.holes()) {
            let room = hole.bounds();
            let needs = self.task.narrowest + 2.0 * self.task.group.apart - 1e-9;
            if room.width().hypot(room.height()) < needs {
                continue;
            }
            let field = Field::within(&placed.pose.on_loop(hole), self.task.group.apart);
            self.sites.push(Site {
                field: Arc::new(field),
                ground: placed.ground,
                host: Some(placed.piece),
                cores: Vec::new(),
                aim: Aim { way: Vec2::new(1.0, 0.0), lean: 0.01 },
            });
        }
    }
}
