//! Open runs joined end to end.
//!
//! Ends are matched three times: where they are the same point, where they differ by the last figures of a file, and
//! where the user's own gap lets them. Only two ends at one place are a joint; three or more are a branch.

use super::ReadFault;
use super::ink::{Ink, Stroke};
use crate::geom::tolerance::{OFFSET, SAME_POINT, WRITTEN};
use crate::geom::{Point, Seg};
use std::collections::{BTreeMap, BTreeSet};

/// Makes closed runs of all that is drawn.
///
/// # Errors
/// Refuses a branch, and an end that meets no other.
pub(super) fn join(
    strokes: Vec<Stroke>,
    gap: f64,
    ink: &mut Ink,
) -> Result<Vec<Stroke>, ReadFault> {
    let (mut closed, open): (Vec<_>, Vec<_>) = strokes.into_iter().partition(|s| s.closed);
    let before = closed.len() + open.len();
    closed.retain(|s| s.extent() > SAME_POINT);
    let mut open = without_twins(open, ink);
    open.retain(|s| s.extent() > SAME_POINT);
    let mut specks = before - closed.len() - open.len() - twins_of(ink);
    let mut tally = Tally::default();
    // Ends worked out from angles differ by more than their file's last figure.
    let fine = OFFSET.min(gap);
    for (within, last) in [(SAME_POINT, false), (fine, false), (gap, true)] {
        if last {
            let count = open.len();
            open.retain(|s| s.extent() > gap.max(SAME_POINT));
            specks += count - open.len();
        }
        let places = Places::of(&open, within.max(SAME_POINT));
        if last {
            places.refuse_branch(&open)?;
        }
        let joints = places.joints(&open, within);
        let (round, rest) = linked(&open, &joints, &mut tally);
        closed.extend(round);
        open = rest;
    }
    if let Some(left) = open.first() {
        return Err(left_open(left, &open, gap));
    }
    if tally.gaps > 0 {
        let (what, widest) = if tally.gaps == 1 { ("gap", "of") } else { ("gaps", "the widest") };
        ink.notes.push(format!(
            "closed {} {what} between ends, {widest} {:.4} mm",
            tally.gaps, tally.widest
        ));
    }
    if specks > 0 {
        ink.ignore_many("speck too short to cut", "specks too short to cut", specks);
    }
    Ok(closed)
}

/// Gaps that were closed.
#[derive(Debug, Default)]
struct Tally {
    gaps: usize,
    widest: f64,
}

const TWIN: (&str, &str) = ("line drawn twice", "lines drawn twice");

fn twins_of(ink: &Ink) -> usize {
    ink.ignored.get(&TWIN).copied().unwrap_or(0)
}

/// Leaves out runs that are drawn again, to the last bit, in either direction.
fn without_twins(open: Vec<Stroke>, ink: &mut Ink) -> Vec<Stroke> {
    let key = |segs: &[Seg]| -> Vec<[u64; 5]> {
        segs.iter()
            .map(|s| [s.a.x, s.a.y, s.b.x, s.b.y, s.bulge].map(|v| (v + 0.0).to_bits()))
            .collect()
    };
    let mut seen = BTreeSet::new();
    open.into_iter()
        .filter(|stroke| {
            let back: Vec<Seg> = stroke.segs.iter().rev().map(Seg::reversed).collect();
            let new = seen.insert(key(&stroke.segs).min(key(&back)));
            if !new {
                ink.ignore(TWIN.0, TWIN.1);
            }
            new
        })
        .collect()
}

/// An end of a run: its number, and whether it is the last point.
type End = (usize, bool);

fn point_of(open: &[Stroke], (stroke, last): End) -> Point {
    if last { open[stroke].end() } else { open[stroke].start() }
}

/// Ends that lie together.
#[derive(Debug)]
struct Places {
    heaps: Vec<Vec<End>>,
}

impl Places {
    fn of(open: &[Stroke], within: f64) -> Places {
        // Two points in one cell are nearer than `within`; others are looked for two cells around.
        let cell = within * 0.7;
        #[allow(clippy::cast_possible_truncation, reason = "within 1e5 mm and cells above 5e-7 mm")]
        let index = |p: Point| ((p.x / cell).floor() as i64, (p.y / cell).floor() as i64);
        let mut cells: BTreeMap<(i64, i64), (usize, Vec<End>)> = BTreeMap::new();
        for end in (0..open.len()).flat_map(|i| [(i, false), (i, true)]) {
            cells.entry(index(point_of(open, end))).or_default().1.push(end);
        }
        for (i, (number, _)) in cells.values_mut().enumerate() {
            *number = i;
        }
        let mut above: Vec<usize> = (0..cells.len()).collect();
        for ((x, y), (i, ends)) in &cells {
            let around = (-2..=0).flat_map(|dx| cells.range((x + dx, y - 2)..=(x + dx, y + 2)));
            for (_, (j, others)) in around.filter(|(_, (j, _))| j < i) {
                // Three ends in a cell are a branch already: no more of them need be looked at.
                let near = ends.iter().take(3).any(|a| {
                    let p = point_of(open, *a);
                    let mut others = others.iter().take(3);
                    others.any(|b| (point_of(open, *b) - p).hypot() <= within)
                });
                if near {
                    let (a, b) = (top(&mut above, *i), top(&mut above, *j));
                    above[a.max(b)] = a.min(b);
                }
            }
        }
        let mut heaps: BTreeMap<usize, Vec<End>> = BTreeMap::new();
        for (i, ends) in cells.values() {
            heaps.entry(top(&mut above, *i)).or_default().extend(ends);
        }
        Places { heaps: heaps.into_values().collect() }
    }

    /// The partner of each end that has exactly one; a speck does not come round by being short.
    fn joints(&self, open: &[Stroke], within: f64) -> BTreeMap<End, End> {
        let mut joints = BTreeMap::new();
        for heap in &self.heaps {
            if let [a, b] = heap[..] {
                if a.0 == b.0 && open[a.0].extent() <= within {
                    continue;
                }
                joints.insert(a, b);
                joints.insert(b, a);
            }
        }
        joints
    }

    fn refuse_branch(&self, open: &[Stroke]) -> Result<(), ReadFault> {
        let Some(heap) = self.heaps.iter().filter(|h| h.len() > 2).min() else {
            return Ok(());
        };
        let first = heap.iter().min().copied().unwrap_or_default();
        let at = point_of(open, first);
        let text = format!("{} ends meet near {}: the outline branches", heap.len(), shown(at));
        Err(ReadFault::new("E95", text)
            .cure("leave two lines at that point and take the others away")
            .at(open[first.0].at))
    }
}

fn top(above: &mut [usize], mut i: usize) -> usize {
    while above[i] != i {
        above[i] = above[above[i]];
        i = above[i];
    }
    i
}

fn shown(p: Point) -> String {
    format!("x {:.3} y {:.3} mm", p.x, p.y)
}

/// Runs linked by their joints: those that come round, and the rest.
fn linked(
    open: &[Stroke],
    joints: &BTreeMap<End, End>,
    tally: &mut Tally,
) -> (Vec<Stroke>, Vec<Stroke>) {
    let mut used = vec![false; open.len()];
    let (mut round, mut rest) = (Vec::new(), Vec::new());
    for first in 0..open.len() {
        if used[first] {
            continue;
        }
        // Back to where the chain begins, or once round.
        let mut head: End = (first, false);
        while let Some((stroke, last)) = joints.get(&head) {
            head = (*stroke, !last);
            if head.0 == first {
                break;
            }
        }
        let closed = joints.contains_key(&head);
        let mut chain = Chain::default();
        let mut from = head;
        loop {
            used[from.0] = true;
            chain.append(&open[from.0], from.1, tally);
            let far = (from.0, !from.1);
            match joints.get(&far) {
                Some(next) if *next != head => from = *next,
                _ => break,
            }
        }
        if closed {
            chain.close(tally);
            round.push(chain.stroke(true));
        } else {
            rest.push(chain.stroke(false));
        }
    }
    (round, rest)
}

#[derive(Debug, Default)]
struct Chain {
    segs: Vec<Seg>,
    at: Option<usize>,
}

impl Chain {
    /// Adds a run, backward where it is entered at its last point; the ends that meet move to the middle of the gap.
    fn append(&mut self, stroke: &Stroke, backward: bool, tally: &mut Tally) {
        self.at = Some(self.at.map_or(stroke.at, |at| at.min(stroke.at)));
        let mut more: Vec<Seg> = if backward {
            stroke.segs.iter().rev().map(Seg::reversed).collect()
        } else {
            stroke.segs.clone()
        };
        if let (Some(last), Some(first)) = (self.segs.last_mut(), more.first_mut()) {
            let middle = tally.meet(last.b, first.a);
            (last.b, first.a) = (middle, middle);
        }
        self.segs.append(&mut more);
    }

    fn close(&mut self, tally: &mut Tally) {
        let (Some(first), Some(last)) = (self.segs.first().copied(), self.segs.last().copied())
        else {
            return;
        };
        let middle = tally.meet(last.b, first.a);
        if let Some(first) = self.segs.first_mut() {
            first.a = middle;
        }
        if let Some(last) = self.segs.last_mut() {
            last.b = middle;
        }
    }

    fn stroke(self, closed: bool) -> Stroke {
        Stroke { segs: self.segs, closed, at: self.at.unwrap_or(0) }
    }
}

impl Tally {
    /// Where two ends meet; a gap that can be seen is counted.
    fn meet(&mut self, a: Point, b: Point) -> Point {
        let gap = (a - b).hypot();
        if gap == 0.0 {
            return a;
        }
        if gap > WRITTEN {
            self.gaps += 1;
            self.widest = self.widest.max(gap);
        }
        a.midpoint(b)
    }
}

/// A fault about a run that does not come round, with the nearest end that it might have met.
fn left_open(left: &Stroke, open: &[Stroke], gap: f64) -> ReadFault {
    let (start, end) = (left.start(), left.end());
    let apart = open
        .iter()
        .flat_map(|s| [s.start(), s.end()])
        .skip(2)
        .chain([start])
        .map(|p| (p - end).hypot())
        .fold(f64::INFINITY, f64::min);
    let text = format!(
        "an outline is left open: it runs from {} to {}, and the nearest other end stands {apart:.3} mm away",
        shown(start),
        shown(end)
    );
    let cure = if apart <= super::caps::WIDEST_JOIN {
        format!("close it in the drawing, or allow gaps wider than {gap} mm")
    } else {
        "close it in the drawing".to_owned()
    };
    ReadFault::new("E94", text).cure(cure).at(left.at)
}
