//! The travel of valves: the gap measured at each place, what new leather does to it, and the papers that bring it to
//! what is wanted.
//!
//! The balance of a place: gap + facings x (old leather - new leather) + papers, each paper with the sign that the job
//! gives it. Of all sets of papers that leave at least the least gap the nearest counts; those that come as near as
//! [`Aim::within`] are alike, and of these the one with the fewest papers to handle is taken.
//!
//! # Source
//! MMD 2009.03.10.07 (new facings thinner than old), MMD 2015.06.15.05 (gaskets move the clearance of the pouch one
//! for one), MMD 2012.07.20.05 (a least and an aim).

use super::measures::{Key, Measures, Takes};
use super::member::{Term, TermRole};
use super::sum::Sum;
use crate::fault::Place;
use crate::geom::tolerance::SLACK;
use crate::units::Length;
use std::cmp::Reverse;

/// What is measured at a place.
pub const TRAVEL_KEYS: &[Key] = &[
    signed("gap", "how far the valve travels, by gauge", "0.031 in"),
    signed("facing-old", "thickness of the old leather of one facing", "0.036 in"),
    signed("facing-new", "thickness of the new leather of one facing", "0.032 in"),
    signed("gasket-old", "thickness of the old gasket under the valves", "1/32 in"),
    signed("gasket-new", "thickness of the new gasket", "0.035 in"),
    signed("clearance", "from pouch to button, by straightedge", "1/16 in"),
    signed("fitted-1", "thickness of a paper that is in the place now", "4 thou"),
    signed("fitted-2", "thickness of a second one", "4 thou"),
    signed("fitted-3", "thickness of a third one", "4 thou"),
    signed("fitted-4", "thickness of a fourth one", "4 thou"),
];

/// Papers that may be in a place before.
const FITTED: [&str; 4] = ["fitted-1", "fitted-2", "fitted-3", "fitted-4"];

/// Gaps that are found at benches (mm): .020 to .055 in.
///
/// # Source
/// .020 in wanted of some primaries (MMD 2015.06.15.05); one untouched stack of 88 ran from .0332 to .0542 in, its mean
/// .041 (MMD 2009.03.10.07); .035 to .040 set in others (MMD 2004.03.08.07).
pub const USUAL_TRAVEL: (f64, f64) = (0.508, 1.397);

/// Gaps that differ by no more than this count as equally near, where the job does not say (mm): half a thousandth of an
/// inch.
///
/// # Source
/// Common practice: a dial gauge is read to half a division of a thousandth.
pub const WITHIN: f64 = 0.0127;

/// Takes signs, so that a thin paper is no size out of bounds and a gap below nothing is told as that.
const fn signed(name: &'static str, about: &'static str, example: &'static str) -> Key {
    Key { name, takes: Takes::Signed, needed: false, about, example }
}

/// A paper in stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// Its name in the job: a material, or a leaf.
    pub name: String,
    /// The part of the job that its pieces are, `buttons-tissue`.
    pub part: String,
    /// Its thickness.
    pub thickness: Length,
    /// Where the thickness stands.
    pub from: Place,
}

/// What the gaps are to come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Aim {
    /// The gap that is wanted (mm).
    pub target: f64,
    /// The gap may never be less (mm).
    pub least: f64,
    /// Gaps that differ by no more than this count as equally near (mm).
    pub within: f64,
    /// No place gets more papers than this, those that stay in it counted.
    pub most: u32,
    /// Whether a paper makes the gap wider; else it makes it narrower.
    pub wider: bool,
}

/// The papers of one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Papers in the place that come out, by their order.
    pub removed: Vec<usize>,
    /// How many of each paper in stock go in.
    pub added: Vec<u32>,
    /// The gap that comes of it (mm).
    pub expected: f64,
    /// What is to be taken off where the papers lie, so that the target is met (mm).
    pub off: Option<f64>,
    /// What still lacks, with as many papers as may lie there (mm).
    pub short: Option<f64>,
}

/// One place with its sum.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// Its number.
    pub position: u32,
    /// The gap as measured (mm).
    pub gap: f64,
    /// What the new leather does to it (mm).
    pub leather: f64,
    /// Thicknesses of the papers in the place now (mm).
    pub fitted: Vec<f64>,
    /// The papers that come and go.
    pub choice: Choice,
    /// Clearance from pouch to button with the new gasket, where it was measured (mm).
    pub clearance: Option<f64>,
    /// How much thicker the gasket becomes (mm).
    pub gasket: f64,
    /// The sum, each figure with its place.
    pub terms: Vec<Term>,
    /// Where the gap stands.
    pub from: Place,
}

/// A set of valves: `[[travel]]` of the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    /// Its name in the job.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// What the gaps are to come to.
    pub aim: Aim,
    /// Papers in stock.
    pub papers: Vec<Paper>,
    /// The clearance from pouch to button that is wanted (mm).
    pub wanted_clearance: Option<f64>,
    /// Its places, in the order of their numbers.
    pub places: Vec<Balance>,
}

impl Travel {
    /// Whether leather or felt lies in what was measured, which gives under the gauge.
    pub fn gives(&self) -> bool {
        self.places.iter().any(|place| place.leather != 0.0)
    }

    /// Papers of each sort for all places.
    pub fn count(&self, paper: usize) -> u32 {
        self.places.iter().filter_map(|place| place.choice.added.get(paper)).sum()
    }
}

/// Every sum of papers from `papers`, `room` of them at most: how many of each, their thickness, their number.
fn each(
    papers: &[f64],
    room: u32,
    counts: &mut Vec<u32>,
    so_far: (f64, u32),
    told: &mut impl FnMut(&[u32], f64, u32),
) {
    let Some(thickness) = papers.get(counts.len()) else {
        return told(counts, so_far.0, so_far.1);
    };
    for n in 0..=room {
        counts.push(n);
        let now = (so_far.0 + f64::from(n) * thickness, so_far.1 + n);
        each(papers, room - n, counts, now, told);
        counts.pop();
    }
}

/// Is told of each set: which papers come out, how many of each go in, how many in all, the gap.
type Told<'a> = dyn FnMut(u32, &[u32], u32, f64) + 'a;

/// Nanometres, so that sums of the same papers in another order are the same.
#[allow(clippy::cast_possible_truncation, reason = "gaps are far below a metre")]
fn nm(mm: f64) -> i64 {
    (mm * 1e6).round() as i64
}

/// The papers of one place: `gap` with the new leather and all the papers that are `fitted` now, `papers` in stock.
///
/// The rule, in this order: never below the least; nearest to the target, where gaps that are no more than
/// [`Aim::within`] farther than the nearest count as equally near; fewest papers to take out and put in; the nearer one;
/// fewest taken out; those that stand first in the stock.
///
/// What papers cannot do is told where it is more than half the thinnest paper and `within` together: nearer than that
/// they need not come by themselves.
///
/// # Units
/// Millimetres.
pub fn choose(gap: f64, fitted: &[f64], papers: &[f64], aim: &Aim) -> Choice {
    let sign = if aim.wider { 1.0 } else { -1.0 };
    let walk = |told: &mut Told<'_>| {
        for mask in 0..1_u32 << fitted.len() {
            let out: f64 =
                (0..fitted.len()).filter(|n| mask >> n & 1 == 1).map(|n| fitted[n]).sum();
            let kept = u32::try_from(fitted.len()).unwrap_or(0) - mask.count_ones();
            let room = aim.most.saturating_sub(kept);
            each(papers, room, &mut Vec::new(), (0.0, 0), &mut |counts, sum, many| {
                let comes_to = gap + sign * (sum - out);
                if comes_to >= aim.least - SLACK {
                    told(mask, counts, many, comes_to);
                }
            });
        }
    };
    let mut nearest = f64::INFINITY;
    walk(&mut |_, _, _, comes_to| nearest = nearest.min((comes_to - aim.target).abs()));
    let mut best = None;
    walk(&mut |mask, counts, many, comes_to| {
        let off = (comes_to - aim.target).abs();
        if off > nearest + aim.within + SLACK {
            return;
        }
        let out = mask.count_ones();
        let key = (many + out, nm(off), out, mask, Reverse(counts.to_vec()));
        if best.as_ref().is_none_or(|(least, _)| key < *least) {
            best = Some((key, comes_to));
        }
    });
    let (mask, added, expected) = match best {
        Some(((_, _, _, mask, Reverse(counts)), comes_to)) => (mask, counts, comes_to),
        // Below the least whatever is done: papers that make it narrower at least come out.
        None if aim.wider => (0, vec![0; papers.len()], gap),
        None => {
            let all: f64 = fitted.iter().sum();
            ((1 << fitted.len()) - 1, vec![0; papers.len()], gap + all)
        }
    };
    let thinnest = papers.iter().copied().fold(f64::INFINITY, f64::min);
    let told = aim.within + if thinnest.is_finite() { thinnest / 2.0 } else { 0.0 } + SLACK;
    let over = sign * (expected - aim.target);
    let must = expected < aim.least - SLACK;
    let beyond = |by: f64| (by > told || (must && by > 0.0)).then_some(by);
    Choice {
        removed: (0..fitted.len()).filter(|n| mask >> n & 1 == 1).collect(),
        added,
        expected,
        off: beyond(over),
        short: beyond(-over),
    }
}

/// The balance of one place; nothing where its gap is not known.
///
/// `facings` is how many facings lie in the gap.
pub fn balance(
    position: u32,
    m: &Measures,
    facings: u32,
    papers: &[Paper],
    aim: &Aim,
) -> Option<Balance> {
    let gap = m.mm("gap")?;
    let change = |old: &str, new: &str| Some(m.mm(old)? - m.mm(new)?);
    let leather = f64::from(facings) * change("facing-old", "facing-new").unwrap_or(0.0);
    let gasket = -change("gasket-old", "gasket-new").unwrap_or(0.0);
    let there: Vec<&'static str> = FITTED.into_iter().filter(|key| m.has(key)).collect();
    let fitted: Vec<f64> = there.iter().map(|key| m.mm_or(key, 0.0)).collect();
    let stock: Vec<f64> = papers.iter().map(|paper| paper.thickness.mm()).collect();
    let choice = choose(gap + leather, &fitted, &stock, aim);
    let mut sum = Sum::default()
        .given(m, "gap", "gap as measured")
        .given(m, "facing-old", "old leather of a facing")
        .given(m, "facing-new", "new leather of a facing");
    if m.has("facing-old") {
        sum = sum.step("by the new leather", &format!("{facings} x (old - new)"), leather);
    }
    let sign = if aim.wider { 1.0 } else { -1.0 };
    for n in &choice.removed {
        sum = sum.given(m, there[*n], "paper taken out");
        sum = sum.step("by taking it out", "", -sign * fitted[*n]);
    }
    for (paper, many) in papers.iter().zip(&choice.added).filter(|(_, many)| **many > 0) {
        sum.terms.push(Term {
            label: format!("{many} of {} put in", paper.name),
            written: paper.thickness.text().to_owned(),
            value: sign * f64::from(*many) * paper.thickness.mm(),
            unit: "mm",
            from: Some(paper.from.clone()),
            role: TermRole::Given,
        });
    }
    sum = sum.total("gap to be expected", "", choice.expected);
    if let Some(off) = choice.off {
        sum = sum.note("to be taken off where the papers lie", "gap - target", off, "mm");
    }
    if let Some(short) = choice.short {
        sum = sum.note("still lacking", "target - gap", short, "mm");
    }
    let clearance = m.mm("clearance").map(|clearance| clearance + gasket);
    sum = sum
        .given(m, "clearance", "clearance of the pouch as measured")
        .given(m, "gasket-old", "old gasket")
        .given(m, "gasket-new", "new gasket");
    if let Some(clearance) = clearance {
        let rule = "measured + new gasket - old";
        sum = sum.note("clearance to be expected", rule, clearance, "mm");
    }
    Some(Balance {
        position,
        gap,
        leather,
        fitted,
        choice,
        clearance,
        gasket,
        terms: sum.terms,
        from: m.place_of("gap").clone(),
    })
}

#[cfg(test)]
mod tests;
