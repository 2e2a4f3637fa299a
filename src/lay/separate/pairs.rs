//! How two solids meet, worked out once for every two ways in which pieces may lie.
//!
//! Both keep their turns while they move: every side's direction, and how far the other reaches towards it, can then
//! be known beforehand, and what is left for each place is one product a side.

use super::problem::Lot;
use super::solid::{Meeting, Solid, near};
use crate::geom::{Rect, Vec2};
use std::sync::OnceLock;

/// No more sides are kept than this, of no more ways than that; with more every meeting is worked out anew.
const MOST_SIDES: usize = 2_400_000;
const MOST_WAYS: usize = 600;
/// Where the facets of two solids can meet in more ways than this, the places are kept in cells, so many along a side.
const FEW: usize = 4;
const ACROSS: usize = 24;

/// Two solids, one turned so, the other so.
#[derive(Debug)]
struct Pair {
    /// Where the other's point may lie from the first one's if they overlap.
    reach: Rect,
    meetings: Vec<Meeting>,
    cells: Cells,
}

impl Pair {
    fn of(one: &Solid, two: &Solid, apart: f64) -> Pair {
        let (a, b) = (one.bounds, two.bounds);
        let reach = Rect::new(a.x0 - b.x1, a.y0 - b.y1, a.x1 - b.x0, a.y1 - b.y0);
        let reach = reach.inflate(apart, apart);
        let meetings = one.meetings(two);
        let cells = Cells::new(reach, &meetings, apart);
        Pair { reach, meetings, cells }
    }
}

/// The places of one solid about another in cells, each with the facets that may overlap there.
#[derive(Debug)]
struct Cells {
    /// Cells along a side.
    across: usize,
    /// Cells in a mm, along x and y.
    scale: Vec2,
    /// Where the numbers of each cell begin.
    starts: Vec<usize>,
    numbers: Vec<usize>,
}

impl Cells {
    fn new(reach: Rect, meetings: &[Meeting], apart: f64) -> Cells {
        let across = if meetings.len() > FEW { ACROSS } else { 1 };
        #[allow(clippy::cast_precision_loss, reason = "a few cells")]
        let at = |k: usize| k as f64 / across as f64;
        let (w, h) = (reach.width(), reach.height());
        let mut starts = vec![0];
        let mut numbers = Vec::new();
        for cell in 0..across * across {
            let (column, row) = (cell % across, cell / across);
            let it = Rect::new(
                reach.x0 + w * at(column),
                reach.y0 + h * at(row),
                reach.x0 + w * at(column + 1),
                reach.y0 + h * at(row + 1),
            );
            let it = it.inflate(1e-9 * w, 1e-9 * h);
            let may = |m: &Meeting| near(it, m.reach, apart) && m.may_within(it, apart);
            numbers.extend((0..meetings.len()).filter(|n| may(&meetings[*n])));
            starts.push(numbers.len());
        }
        #[allow(clippy::cast_precision_loss, reason = "a few cells")]
        let n = across as f64;
        Cells { across, scale: Vec2::new(n / w.max(1e-12), n / h.max(1e-12)), starts, numbers }
    }

    /// The numbers of the meetings to be looked at for a place so far from the corner of the reach.
    fn at(&self, off: Vec2) -> &[usize] {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a place within the reach"
        )]
        let cell = |v: f64| (v as usize).min(self.across - 1);
        let cell = cell(off.y * self.scale.y) * self.across + cell(off.x * self.scale.x);
        &self.numbers[self.starts[cell]..self.starts[cell + 1]]
    }
}

/// Every two ways in which pieces may lie, each filled in when it is first asked for.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    ways: usize,
    /// How far pieces stay from each other (mm).
    apart: f64,
    table: Vec<OnceLock<Pair>>,
}

impl Pairs {
    /// An empty table for the ways of all lots; none where it would grow too large.
    pub(super) fn new(lots: &[Lot], apart: f64) -> Pairs {
        let solids = || lots.iter().flat_map(|lot| lot.ways.iter().map(|way| &way.solid));
        let facets: usize = solids().map(Solid::facets).sum();
        let sides: usize = solids().map(Solid::sides).sum();
        let ways = solids().count();
        if facets.saturating_mul(sides).saturating_mul(2) > MOST_SIDES || ways > MOST_WAYS {
            return Pairs { apart, ..Pairs::default() };
        }
        Pairs { ways, apart, table: (0..ways * ways).map(|_| OnceLock::new()).collect() }
    }

    /// How much two solids, by the numbers of their ways, lie in each other, the other `off` from the first; sums no
    /// further than `most`.
    pub(super) fn overlap(
        &self,
        (one, two): (usize, usize),
        solids: (&Solid, &Solid),
        off: Vec2,
        most: f64,
    ) -> f64 {
        let apart = self.apart;
        if self.table.is_empty() {
            return solids.0.overlap(solids.1, off, apart, most);
        }
        let pair =
            self.table[one * self.ways + two].get_or_init(|| Pair::of(solids.0, solids.1, apart));
        let r = pair.reach;
        if off.x <= r.x0 || off.x >= r.x1 || off.y <= r.y0 || off.y >= r.y1 {
            return 0.0;
        }
        let mut sum = 0.0;
        for number in pair.cells.at(off - Vec2::new(r.x0, r.y0)) {
            sum += pair.meetings[*number].overlap(solids, off, apart);
            if sum > most {
                return sum;
            }
        }
        sum
    }
}
