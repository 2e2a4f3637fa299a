//! Blocks of equal pieces on a lattice: the hexagonal or the square one for disks, the closest one in a given
//! direction for the rest, alone or head to tail with their half-turned mates.
//!
//! Many poses of the lattice are tried; the best is the one whose last piece needs the shortest cut-off.
//!
//! # Source
//! For equal disks the hexagonal lattice is the densest (Thue, proved by Fejes Tóth, 1940).

use super::chance::Chance;
use super::kernel::{Body, Clear, Room};
use super::lattice::{Cell, Steps};
use super::purse::Purse;
use crate::geom::{Point, Rect, Vec2};
use std::f64::consts::PI;

/// A lattice of pairs costs so many evaluations.
const PAIR_COST: u64 = 3;

/// How far along the cut-off direction a place counts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Aim {
    /// Direction of the cut-off, of length 1.
    pub(crate) way: Vec2,
    /// How much the place across it counts.
    pub(crate) lean: f64,
}

impl Aim {
    /// The score of a place: the lower, the shorter the cut-off.
    pub(crate) fn score(&self, p: Point) -> f64 {
        let across = Vec2::new(-self.way.y, self.way.x);
        p.to_vec2().dot(self.way) + self.lean * p.to_vec2().dot(across)
    }
}

impl Aim {
    /// The spot with the lowest score in some rooms: the room's number and the spot; the first of equal ones.
    pub(crate) fn best_spot<'a>(
        &self,
        rooms: impl Iterator<Item = &'a Room>,
    ) -> Option<(usize, Point)> {
        let mut best: Option<(f64, usize, Point)> = None;
        for (k, room) in rooms.enumerate() {
            let reach = self.reach(&room.body);
            for p in &room.spots {
                let score = self.score(*p) + reach;
                if best.is_none_or(|b| score < b.0) {
                    best = Some((score, k, *p));
                }
            }
        }
        best.map(|(_, k, p)| (k, p))
    }

    /// What a body's own reach adds to the score of its point.
    pub(crate) fn reach(&self, body: &Body) -> f64 {
        let across = Vec2::new(-self.way.y, self.way.x) * self.lean;
        body.support(self.way) + across.dot(body.bounds.center().to_vec2())
    }
}

/// A block that was found.
#[derive(Debug, Clone, Default)]
pub(crate) struct Block {
    /// Places, by score: which room's body, and where.
    pub(crate) places: Vec<(usize, Point)>,
    /// Score of the last of them.
    pub(crate) reach: f64,
}

impl Block {
    /// Whether it holds more than another, or as many in less.
    pub(crate) fn beats(&self, other: &Block) -> bool {
        let (n, m) = (self.places.len(), other.places.len());
        n > m || (n == m && self.reach < other.reach)
    }
}

/// A lattice in a pose.
#[derive(Debug, Clone, Copy)]
struct Lattice {
    angle: f64,
    square: bool,
    steps: Steps,
    through: Point,
}

/// The rooms of a body and of its mate, by number, and the cell they make.
struct Pair<'r> {
    rooms: Vec<(usize, &'r Room)>,
    cell: Cell,
    corners: Vec<f64>,
}

/// The best block of up to `n` pieces in some rooms, after so many tries for each body; none for bodies of several parts.
pub(crate) fn best_block(
    rooms: &[Room],
    n: usize,
    apart: f64,
    aim: Aim,
    tries: usize,
    (chance, purse): (&mut Chance, &mut Purse<'_>),
) -> Block {
    let mut best = Block { places: Vec::new(), reach: f64::INFINITY };
    for pair in pairs(rooms, apart) {
        let tries = if pair.cell.is_pair() { tries / 2 } else { tries };
        best_of(&pair, n, aim, tries, &mut best, (chance, purse));
    }
    best
}

/// Every body alone, and with its half-turned mate where there is one.
fn pairs(rooms: &[Room], apart: f64) -> Vec<Pair<'_>> {
    let mut made = Vec::new();
    for (k, room) in rooms.iter().enumerate() {
        let mates = rooms.iter().enumerate().skip(k + 1).filter(|(_, other)| {
            let turned = (other.body.turn - room.body.turn).rem_euclid(360.0);
            (turned - 180.0).abs() < 1e-9 && other.body.mirrored == room.body.mirrored
        });
        for mate in std::iter::once(None).chain(mates.map(Some)) {
            let Some(cell) = Cell::new(&room.body, mate.map(|m| &*m.1.body), apart) else {
                continue;
            };
            let corners = cell.corner_angles();
            made.push(Pair {
                rooms: std::iter::once((k, room)).chain(mate).collect(),
                cell,
                corners,
            });
        }
    }
    made
}

fn best_of(
    pair: &Pair<'_>,
    n: usize,
    aim: Aim,
    tries: usize,
    best: &mut Block,
    (chance, purse): (&mut Chance, &mut Purse<'_>),
) {
    let cost = if pair.cell.is_pair() { PAIR_COST } else { 1 };
    let mut found: Option<Lattice> = None;
    for k in 0..tries {
        if !purse.spend(cost) {
            break;
        }
        let lattice = match found {
            Some(near) if 5 * k > 3 * tries => {
                #[allow(clippy::cast_precision_loss, reason = "a few thousand tries")]
                let size = 0.15 * (1.0 - k as f64 / tries as f64).max(0.01);
                let (u, v) = (near.steps.u, near.steps.v);
                let angle =
                    near.angle + chance.between(-size, size) * f64::from(u8::from(k % 3 != 0));
                let nudge = (chance.between(-2.0, 2.0), chance.between(-2.0, 2.0));
                let through = near.through + u * (nudge.0 * size) + v * (nudge.1 * size);
                (angle, near.square, through)
            }
            _ => {
                // In a narrow place square rows may do better.
                (fresh_angle(pair, k, chance), k % 7 == 3, fresh_start(pair, k, aim, chance))
            }
        };
        let (angle, square, through) = lattice;
        let Some(steps) = pair.cell.steps(angle, square) else { continue };
        let lattice = Lattice { angle, square, steps, through };
        if let Some(block) = block_of(pair, &lattice, n, aim, best) {
            *best = block;
            found = Some(lattice);
        }
    }
}

fn fresh_angle(pair: &Pair<'_>, k: usize, chance: &mut Chance) -> f64 {
    match k % 3 {
        // Along the piece or square to it.
        0 => {
            pair.rooms[0].1.body.turn.to_radians()
                + if k.is_multiple_of(2) { 0.0 } else { PI / 2.0 }
        }
        1 if !pair.corners.is_empty() => pair.corners[chance.below(pair.corners.len())],
        _ => chance.between(0.0, PI),
    }
}

/// A place for the lattice to go through: a corner of the room, a place on its near side, or any.
fn fresh_start(pair: &Pair<'_>, k: usize, aim: Aim, chance: &mut Chance) -> Point {
    let room = pair.rooms[0].1;
    let base = room.bounds();
    let any = Point::new(chance.between(base.x0, base.x1), chance.between(base.y0, base.y1));
    if k.is_multiple_of(4) || room.spots.is_empty() {
        return any;
    }
    let spot = room.spots[chance.below(room.spots.len())];
    let across = Vec2::new(-aim.way.y, aim.way.x);
    if k % 4 == 1 { spot + across * (any - spot).dot(across) } else { spot }
}

/// The places of a lattice in its rooms, if they beat the best so far.
fn block_of(pair: &Pair<'_>, it: &Lattice, n: usize, aim: Aim, best: &Block) -> Option<Block> {
    let limit = if best.places.len() >= n { best.reach } else { f64::INFINITY };
    let mut scored: Vec<(f64, usize, Point)> = Vec::new();
    let starts = std::iter::once(Vec2::ZERO).chain(it.steps.mate);
    for ((k, room), from) in pair.rooms.iter().zip(starts) {
        let reach = aim.reach(&room.body);
        each_place(room.bounds(), &it.steps, it.through + from, |p| {
            let score = aim.score(p) + reach;
            if score < limit && room.is_clear(p) {
                scored.push((score, *k, p));
            }
        });
    }
    if scored.len() < n && scored.len() < best.places.len() {
        return None;
    }
    scored.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.2.y.total_cmp(&b.2.y)));
    scored.truncate(n);
    let block =
        Block { reach: scored.last()?.0, places: scored.into_iter().map(|s| (s.1, s.2)).collect() };
    block.beats(best).then_some(block)
}

fn each_place(b: Rect, it: &Steps, through: Point, mut take: impl FnMut(Point)) {
    let det = it.u.cross(it.v);
    let corners = [(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)];
    let rows = corners.map(|c| it.u.cross(Point::from(c) - through) / det);
    let mut row = rows.iter().copied().fold(f64::INFINITY, f64::min).ceil();
    let last = rows.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    while row <= last {
        let start = through + it.v * row;
        let clip = |from: f64, step: f64, low: f64, high: f64| {
            if step.abs() < 1e-12 {
                if from < low || from > high {
                    (1.0, 0.0)
                } else {
                    (f64::NEG_INFINITY, f64::INFINITY)
                }
            } else {
                let (s, t) = ((low - from) / step, (high - from) / step);
                (s.min(t), s.max(t))
            }
        };
        let (x0, x1) = clip(start.x, it.u.x, b.x0, b.x1);
        let (y0, y1) = clip(start.y, it.u.y, b.y0, b.y1);
        let mut i = x0.max(y0).ceil();
        let end = x1.min(y1);
        while i <= end {
            take(start + it.u * i);
            i += 1.0;
        }
        row += 1.0;
    }
}
