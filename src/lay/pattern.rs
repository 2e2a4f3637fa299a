//! Blocks of equal pieces on a lattice: the hexagonal or the square one for disks, the closest one in a given
//! direction for the rest.
//!
//! Many poses of the lattice are tried; the best is the one whose last piece needs the shortest cut-off.
//!
//! # Source
//! For equal disks the hexagonal lattice is the densest (Thue, proved by Fejes Tóth, 1940). For a convex shape, three
//! neighbours that touch one another make a lattice without overlap (Minkowski).

use super::chance::Chance;
use super::kernel::{Body, Region, Room};
use super::purse::Purse;
use crate::geom::{Point, Vec2};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_3, PI};

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
    /// What a body's own reach adds to the score of its point.
    pub(crate) fn reach(&self, body: &Body) -> f64 {
        let across = Vec2::new(-self.way.y, self.way.x) * self.lean;
        body.support(self.way) + across.dot(body.bounds.center().to_vec2())
    }
}

/// A block that was found.
#[derive(Debug, Clone, Default)]
pub(crate) struct Block {
    /// Places, by score.
    pub(crate) places: Vec<Point>,
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

/// A lattice: two steps and a place it goes through.
#[derive(Debug, Clone, Copy)]
struct Lattice {
    angle: f64,
    square: bool,
    u: Vec2,
    v: Vec2,
    through: Point,
}

/// The best block of up to `n` pieces in a room, after so many tries; none for bodies of several parts.
pub(crate) fn best_block(
    room: &Room,
    n: usize,
    apart: f64,
    aim: Aim,
    tries: usize,
    (chance, purse): (&mut Chance, &mut Purse<'_>),
) -> Block {
    let [core] = &room.body.cores[..] else {
        return Block::default();
    };
    let own = Region::between(core, &room.body.over[0], apart);
    let base = room.bounds();
    let mut best = Block { places: Vec::new(), reach: f64::INFINITY };
    let mut found: Option<Lattice> = None;
    for k in 0..tries {
        if !purse.spend(1) {
            break;
        }
        let lattice = match found {
            Some(near) if 5 * k > 3 * tries => {
                #[allow(clippy::cast_precision_loss, reason = "a few thousand tries")]
                let size = 0.15 * (1.0 - k as f64 / tries as f64).max(0.01);
                let square = near.square;
                let angle =
                    near.angle + chance.between(-size, size) * f64::from(u8::from(k % 3 != 0));
                let nudge = (chance.between(-2.0, 2.0), chance.between(-2.0, 2.0));
                let through = near.through + near.u * (nudge.0 * size) + near.v * (nudge.1 * size);
                steps(room, &own, (angle, square), through)
            }
            _ => {
                // In a narrow place square rows may do better.
                let square = k % 7 == 3;
                let angle = fresh_angle(room, k, chance);
                let through = if k % 4 != 0 && !room.spots.is_empty() {
                    room.spots[chance.below(room.spots.len())]
                } else {
                    Point::new(chance.between(base.x0, base.x1), chance.between(base.y0, base.y1))
                };
                steps(room, &own, (angle, square), through)
            }
        };
        let Some(lattice) = lattice else { continue };
        if let Some(block) = block_of(room, &lattice, n, aim, &best) {
            best = block;
            found = Some(lattice);
        }
    }
    best
}

fn fresh_angle(room: &Room, k: usize, chance: &mut Chance) -> f64 {
    if k.is_multiple_of(3) {
        // Along the piece or square to it.
        room.body.turn.to_radians() + if k.is_multiple_of(2) { 0.0 } else { PI / 2.0 }
    } else {
        chance.between(0.0, PI)
    }
}

/// The closest steps of a lattice whose first step goes in a direction.
fn steps(
    room: &Room,
    own: &Region,
    (angle, square): (f64, bool),
    through: Point,
) -> Option<Lattice> {
    let way = Vec2::from_angle(angle);
    // A hair more than touching, so that rounding far from the start breaks nothing.
    let u = way * (own.ray(Point::ORIGIN, way) + 1e-9);
    let v = if room.body.is_disk() {
        Vec2::from_angle(angle + if square { FRAC_PI_2 } else { FRAC_PI_3 }) * u.hypot()
    } else {
        let mut found = Vec::new();
        own.crossings(&own.moved(u), &mut found);
        let left = |p: &Point| u.cross(p.to_vec2());
        found
            .into_iter()
            .filter(|p| left(p) > 1e-6 && own.gap(*p) > -1e-9 && own.gap(*p - u) > -1e-9)
            .min_by(|p, q| left(p).total_cmp(&left(q)))?
            .to_vec2()
            * (1.0 + 1e-11)
    };
    Some(Lattice { angle, square, u, v, through })
}

/// The places of a lattice in a room, if they beat the best so far.
fn block_of(room: &Room, it: &Lattice, n: usize, aim: Aim, best: &Block) -> Option<Block> {
    let limit = if best.places.len() >= n { best.reach } else { f64::INFINITY };
    let mut scored: Vec<(f64, Point)> = Vec::new();
    each_place(room, it, |p| {
        let score = aim.score(p);
        if score < limit && room.is_clear(p) {
            scored.push((score, p));
        }
    });
    if scored.len() < n && scored.len() < best.places.len() {
        return None;
    }
    scored.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.y.total_cmp(&b.1.y)));
    scored.truncate(n);
    let block =
        Block { reach: scored.last()?.0, places: scored.into_iter().map(|(_, p)| p).collect() };
    block.beats(best).then_some(block)
}

fn each_place(room: &Room, it: &Lattice, mut take: impl FnMut(Point)) {
    let b = room.bounds();
    let det = it.u.cross(it.v);
    let corners = [(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)];
    let rows = corners.map(|c| it.u.cross(Point::from(c) - it.through) / det);
    let mut row = rows.iter().copied().fold(f64::INFINITY, f64::min).ceil();
    let last = rows.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    while row <= last {
        let start = it.through + it.v * row;
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
