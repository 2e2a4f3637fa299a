//! A group made ready for the search: pieces that are alike gathered in lots, sheets made into fields.

use super::Group;
use super::kernel::{Body, Field};
use super::plots::{Plot, plots};
use crate::geom::Shape;
use crate::part::{Needs, Piece, Turns};
use std::f64::consts::PI;
use std::sync::Arc;

/// Pieces of so many cores over all turns, those of few cores not counted, are laid roughly at first: their true outlines
/// would take minutes.
const MANY_CORES: usize = 1500;

/// Pieces of one size.
#[derive(Debug, Clone)]
pub(crate) struct Lot {
    /// Wanted ones, by address.
    pub(crate) wanted: Vec<usize>,
    /// Spares, by address.
    pub(crate) spares: Vec<usize>,
    /// Area within the outline times its diameter: the larger, the earlier.
    pub(crate) weight: f64,
    /// Whether some other piece may find room in its holes.
    pub(crate) is_host: bool,
    /// Whether its edge must stay soft.
    pub(crate) soft: bool,
    /// What its pieces may be cut from.
    pub(crate) needs: Needs,
    /// The plots of each ground that they may lie on.
    plots: Vec<Arc<Vec<Plot>>>,
}

/// A group made ready.
#[derive(Debug)]
pub(crate) struct Task<'a> {
    /// The group.
    pub(crate) group: &'a Group,
    /// Its lots, in the order of their first piece.
    pub(crate) lots: Vec<Lot>,
    /// One for each ground.
    pub(crate) fields: Vec<Arc<Field>>,
    /// The narrow side of the narrowest piece's box (mm): a hole that is narrower holds none.
    pub(crate) narrowest: f64,
}

/// The shape of a piece in its first stance.
pub(crate) fn shape_of(piece: &Piece) -> Option<&Shape> {
    piece.turns.design(0).map(|design| &design.shape)
}

/// What pieces have in common that may change places: their size, and what they may be cut from.
pub(crate) type Sort = (usize, Option<u8>, Option<(u64, u64)>, bool);

/// The sort of a piece.
pub(crate) fn sort_of(piece: &Piece) -> Sort {
    let Needs { grade, thickness, together } = piece.needs;
    let bits = thickness.map(|(least, most)| (least.to_bits(), most.to_bits()));
    (piece.size, grade, bits, together)
}

/// Sorts pieces by address, spares last.
pub(crate) fn by_address(pieces: &[Piece], list: &mut [usize]) {
    list.sort_by(|i, j| {
        let (a, b) = (&pieces[*i].address, &pieces[*j].address);
        (a.spare > 0, a.position, a.spare, a, i).cmp(&(b.spare > 0, b.position, b.spare, b, j))
    });
}

impl<'a> Task<'a> {
    /// Makes a group ready.
    pub(crate) fn new(group: &'a Group) -> Task<'a> {
        let mut sorts: Vec<Sort> = Vec::new();
        let mut members: std::collections::BTreeMap<Sort, Vec<usize>> =
            std::collections::BTreeMap::new();
        for (i, piece) in group.pieces.iter().enumerate() {
            let list = members.entry(sort_of(piece)).or_default();
            if list.is_empty() {
                sorts.push(sort_of(piece));
            }
            list.push(i);
        }
        let narrowest = group
            .pieces
            .iter()
            .filter_map(shape_of)
            .map(|shape| shape.bounds().width().min(shape.bounds().height()))
            .fold(f64::INFINITY, f64::min);
        let lots = sorts
            .iter()
            .filter_map(|sort| {
                let mut list = members.remove(sort)?;
                by_address(&group.pieces, &mut list);
                lot(group, &list, narrowest)
            })
            .collect();
        let fields = group.grounds.iter().map(|g| Arc::new(Field::of(g, group.apart)));
        Task { group, lots, fields: fields.collect(), narrowest }
    }

    /// The plots of a ground on which a lot's pieces may lie.
    pub(crate) fn plots(&self, lot: usize, ground: usize) -> &Arc<Vec<Plot>> {
        &self.lots[lot].plots[ground]
    }

    /// Whether pieces have so many corners, all in all, that they are laid roughly at first.
    pub(crate) fn has_many_corners(&self) -> bool {
        let cores = |lot: &Lot| {
            let piece = lot.first().map(|first| &self.group.pieces[first]);
            let body = piece.and_then(shape_of).map(|shape| Body::new(shape, 0.0, false));
            let many = body.filter(Body::has_many_cores).map_or(0, |body| body.cores.len());
            let turns = match piece.map(|piece| &piece.turns) {
                Some(Turns::Fixed(stances)) => stances.len(),
                _ => 4,
            };
            many * turns * (lot.wanted.len() + lot.spares.len())
        };
        self.lots.iter().map(cores).sum::<usize>() > MANY_CORES
    }

    /// The same in few cores each, for a search that shall be done soon.
    pub(crate) fn coarse(
        &self,
        lot: usize,
        ground: usize,
        slants: &[f64],
    ) -> Vec<(usize, Arc<Body>)> {
        let few = |body: Arc<Body>| Arc::new(Arc::unwrap_or_clone(body).coarse());
        let bodies = self.bodies(lot, ground, slants).into_iter();
        bodies.map(|(stance, body)| (stance, few(body))).collect()
    }

    /// The ways in which a lot's pieces may lie on a ground, each with its stance; what looks alike comes once.
    pub(crate) fn bodies(
        &self,
        lot: usize,
        ground: usize,
        slants: &[f64],
    ) -> Vec<(usize, Arc<Body>)> {
        let Some(piece) = self.lots[lot].first().map(|i| &self.group.pieces[i]) else {
            return Vec::new();
        };
        let sheet = &self.group.grounds[ground].sheet;
        let mirrored = is_mirrored(piece, sheet.up);
        let mut bodies: Vec<(usize, Arc<Body>)> = Vec::new();
        let mut take = |stance: usize, body: Body| {
            if !bodies.iter().any(|(_, b)| b.looks_like(&body)) {
                bodies.push((stance, Arc::new(body)));
            }
        };
        match &piece.turns {
            Turns::Free(design) if design.shape.outline().as_circle().is_some() => {
                take(0, Body::new(&design.shape, 0.0, mirrored));
            }
            Turns::Free(design) => {
                for slant in slants {
                    let turn = (sheet.grain + slant).rem_euclid(360.0);
                    take(0, Body::new(&design.shape, turn, mirrored));
                }
            }
            Turns::Fixed(stances) => {
                for (i, stance) in stances.iter().enumerate() {
                    for off in leans(stance.within, slants) {
                        let turn = (sheet.grain + stance.turn + off).rem_euclid(360.0);
                        take(i, Body::new(&stance.design.shape, turn, mirrored));
                    }
                }
            }
        }
        bodies
    }
}

/// The turns from a stance that are tried for a piece that may be turned from it by so much: straight, both ends, half
/// way, and one for each slant of free pieces that is none of the quarters (degrees).
fn leans(within: f64, slants: &[f64]) -> Vec<f64> {
    let mut made = vec![0.0];
    if within > 0.0 {
        made.extend([-1.0, -0.5, 0.5, 1.0].map(|share| share * within));
        let shares = slants.iter().filter(|s| (0.0..90.0).contains(*s) && **s > 0.0);
        made.extend(shares.map(|s| (s / 45.0 - 1.0) * within));
    }
    made
}

/// Whether a piece is mirrored on a sheet that lies this way up.
pub(crate) fn is_mirrored(piece: &Piece, up: Option<crate::material::Face>) -> bool {
    matches!((piece.face, up), (Some(face), Some(up)) if face != up)
}

impl Lot {
    fn first(&self) -> Option<usize> {
        self.wanted.first().or(self.spares.first()).copied()
    }
}

fn lot(group: &Group, list: &[usize], narrowest: f64) -> Option<Lot> {
    let piece = &group.pieces[*list.first()?];
    let shape = shape_of(piece)?;
    let area = shape.outline().area();
    let bounds = shape.bounds();
    let diameter = if shape.outline().as_circle().is_some() {
        (4.0 * area / PI).sqrt()
    } else {
        bounds.width().hypot(bounds.height())
    };
    let is_host = shape.holes().iter().any(|hole| {
        let room = hole.bounds();
        room.width().hypot(room.height()) >= narrowest + 2.0 * group.apart
    });
    let (wanted, spares) = list.iter().partition(|i| group.pieces[**i].address.spare == 0);
    let grounds = group.grounds.iter();
    let plots = grounds.map(|g| Arc::new(plots(&g.sheet, &piece.needs))).collect();
    let (soft, needs) = (piece.soft, piece.needs);
    Some(Lot { wanted, spares, weight: area * diameter, is_host, soft, needs, plots })
}
