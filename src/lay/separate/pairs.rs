//! How two solids meet, worked out once for every two ways in which pieces may lie.
//!
//! Both keep their turns while they move: every side's direction, and how far the other reaches towards it, can then
//! be known beforehand, and what is left for each place is one product a side.

use super::problem::Lot;
use super::solid::{Meeting, Solid};
use crate::geom::{Rect, Vec2};
use std::sync::OnceLock;

/// No more sides are kept than this, of no more ways than that; with more every meeting is worked out anew.
const MOST_SIDES: usize = 2_400_000;
const MOST_WAYS: usize = 600;

/// Two solids, one turned so, the other so.
#[derive(Debug)]
struct Pair {
    /// Where the other's point may lie from the first one's if their boxes overlap.
    reach: Rect,
    meetings: Vec<Meeting>,
}

/// Every two ways in which pieces may lie, each filled in when it is first asked for.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    ways: usize,
    table: Vec<OnceLock<Pair>>,
}

impl Pairs {
    /// An empty table for the ways of all lots; none where it would grow too large.
    pub(super) fn new(lots: &[Lot]) -> Pairs {
        let solids = || lots.iter().flat_map(|lot| lot.ways.iter().map(|way| &way.solid));
        let facets: usize = solids().map(Solid::facets).sum();
        let sides: usize = solids().map(Solid::sides).sum();
        let ways = solids().count();
        if facets.saturating_mul(sides).saturating_mul(2) > MOST_SIDES || ways > MOST_WAYS {
            return Pairs::default();
        }
        Pairs { ways, table: (0..ways * ways).map(|_| OnceLock::new()).collect() }
    }

    /// How much two solids, by the numbers of their ways, lie in each other, the other `off` from the first; sums no
    /// further than `most`.
    pub(super) fn overlap(
        &self,
        (one, two): (usize, usize),
        solids: (&Solid, &Solid),
        off: Vec2,
        apart: f64,
        most: f64,
    ) -> f64 {
        if self.table.is_empty() {
            return solids.0.overlap(solids.1, off, apart, most);
        }
        let pair = self.table[one * self.ways + two].get_or_init(|| {
            let (a, b) = (solids.0.bounds, solids.1.bounds);
            let reach = Rect::new(a.x0 - b.x1, a.y0 - b.y1, a.x1 - b.x0, a.y1 - b.y0);
            Pair { reach, meetings: solids.0.meetings(solids.1) }
        });
        let within = |r: Rect| {
            off.x > r.x0 - apart
                && off.x < r.x1 + apart
                && off.y > r.y0 - apart
                && off.y < r.y1 + apart
        };
        let mut sum = 0.0;
        if !within(pair.reach) {
            return sum;
        }
        for meeting in &pair.meetings {
            if within(meeting.reach) {
                sum += meeting.overlap(solids, off, apart);
                if sum > most {
                    return sum;
                }
            }
        }
        sum
    }
}
