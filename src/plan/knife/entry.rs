//! Where a knife goes in: a start on a long and little bent stretch, and a straight way to it through the waste.

use super::{Blade, Clear, UNKNOWN, angle};
use crate::geom::{Loop, Point, Seg, Vec2, Where, point_in_loop};

/// Ways in are tried at these angles to the cut, from the waste (degrees).
const SLANTS: [f64; 7] = [0.0, 20.0, 30.0, 45.0, 60.0, 75.0, 90.0];
/// Stretches count as little bent by radii of at least so many offsets, the best first.
const LITTLE_BENT: [f64; 4] = [1e9, 40.0, 10.0, 0.0];
/// So many stretches are tried for their room.
const STRETCHES: usize = 12;
/// A stretch has room for the start where it is longer than so many offsets.
const ROOMY: f64 = 4.0;

/// A blade is not dragged straight back (degrees): nobody knows to which side it would turn.
const MOST_DRAGGED: f64 = 170.0;

/// A start on a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Start {
    /// The piece.
    pub(super) seg: usize,
    /// Share of its length.
    pub(super) share: f64,
}

/// The way in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Entry {
    /// The start.
    pub(super) start: Start,
    /// Where it is.
    pub(super) at: Point,
    /// Direction of the cut there.
    pub(super) tangent: Vec2,
    /// Direction of the run-in.
    pub(super) way: Vec2,
    /// Length of the run-in (mm).
    pub(super) run: f64,
    /// Whether the blade is dragged into line along it, and not turned first, though its heading is known.
    pub(super) dragged: bool,
}

/// Starts on a closed line, the best first: the middles of the longest stretches without a corner, the least bent
/// before the others.
pub(super) fn starts(segs: &[Seg], blade: &Blade) -> Vec<Start> {
    let mut found: Vec<Start> = Vec::new();
    if segs.len() == 2 && segs.iter().all(|s| (s.bulge.abs() - 1.0).abs() < 1e-12) {
        for share in [0.0, 0.5, 0.25, 0.75] {
            found.extend((0..2).map(|seg| Start { seg, share }));
        }
        return found;
    }
    for bent in LITTLE_BENT {
        let least = bent * blade.offset;
        let mut stretches = stretches(segs, least, blade.swivel_from().to_radians());
        stretches.sort_by(|a, b| b.length.total_cmp(&a.length).then(a.first.cmp(&b.first)));
        for stretch in stretches.iter().take(STRETCHES) {
            let roomy = stretch.length > ROOMY * blade.offset + 2.0 * blade.overcut;
            if roomy || least <= 0.0 {
                let start = stretch.middle(segs);
                if !found.contains(&start) {
                    found.push(start);
                }
            }
        }
    }
    found
}

/// Pieces end to end without a corner between them.
struct Stretch {
    first: usize,
    count: usize,
    length: f64,
}

impl Stretch {
    fn middle(&self, segs: &[Seg]) -> Start {
        let mut left = self.length / 2.0;
        for k in 0..self.count {
            let seg = (self.first + k) % segs.len();
            let long = segs[seg].length();
            if left <= long && long > 0.0 {
                return Start { seg, share: left / long };
            }
            left -= long;
        }
        Start { seg: self.first, share: 0.0 }
    }
}

fn stretches(segs: &[Seg], least_radius: f64, corner: f64) -> Vec<Stretch> {
    let n = segs.len();
    let fits = |i: usize| segs[i].radius() >= least_radius;
    let joined = |i: usize| {
        let before = (i + n - 1) % n;
        fits(before) && angle(segs[before].direction(1.0), segs[i].direction(0.0)).abs() < corner
    };
    let heads: Vec<usize> = (0..n).filter(|i| fits(*i) && !joined(*i)).collect();
    let heads = if heads.is_empty() && n > 0 && fits(0) { vec![0] } else { heads };
    let mut found = Vec::new();
    for first in heads {
        let mut count = 1;
        while count < n && fits((first + count) % n) && joined((first + count) % n) {
            count += 1;
        }
        let length = (0..count).map(|k| segs[(first + k) % n].length()).sum();
        found.push(Stretch { first, count, length });
    }
    found
}

/// The first start with room for a full run-in; else the longest run-in there is.
///
/// `around` is the closed line and whether it is an outline; none for an open one.
pub(super) fn find(
    segs: &[Seg],
    starts: &[Start],
    around: Option<(&Loop, bool)>,
    blade: &Blade,
    last_heading: Option<f64>,
    clear: Clear<'_>,
) -> Entry {
    let long = blade.run_in * blade.offset;
    let wanted = match last_heading {
        Some(_) => long,
        None => blade.alignment(UNKNOWN, blade.aligned()).max(long),
    };
    let known = last_heading.map(|at| Vec2::from_angle(at.to_radians()));
    for share in [1.0, 0.5, 0.25] {
        for start in starts {
            let seg = &segs[start.seg];
            let (at, tangent) = (seg.at(start.share), seg.direction(start.share));
            for way in ways(tangent, known) {
                let turn = known.map_or(0.0, |known| angle(known, way).abs().to_degrees());
                let dragged = !blade.shallow && turn > blade.lift_over;
                if dragged && turn > MOST_DRAGGED {
                    continue;
                }
                let run = if dragged {
                    blade.alignment(turn.min(UNKNOWN), blade.aligned()).max(long)
                } else {
                    wanted * share
                };
                if !blade.shallow && angle(way, tangent).abs().to_degrees() > blade.lift_over {
                    continue;
                }
                let entry = Entry { start: *start, at, tangent, way, run, dragged };
                if free(segs, around, blade, &entry, known.is_none() || dragged, clear) {
                    return entry;
                }
            }
        }
    }
    let start = starts.first().copied().unwrap_or(Start { seg: 0, share: 0.0 });
    let seg = &segs[start.seg];
    let (at, tangent) = (seg.at(start.share), seg.direction(start.share));
    Entry { start, at, tangent, way: tangent, run: 0.0, dragged: false }
}

/// Directions of a run-in: the heading that the blade has, if it comes from the waste; then ever more aslant.
fn ways(tangent: Vec2, known: Option<Vec2>) -> Vec<Vec2> {
    let aslant = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        Vec2::new(tangent.x * cos - tangent.y * sin, tangent.x * sin + tangent.y * cos)
    };
    let held = known.filter(|way| (0.0..=91f64.to_radians()).contains(&angle(tangent, *way)));
    held.into_iter().chain(SLANTS.into_iter().map(aslant)).collect()
}

/// Whether the run-in lies in the waste, and the tip with it, wherever the blade points at first.
fn free(
    segs: &[Seg],
    around: Option<(&Loop, bool)>,
    blade: &Blade,
    entry: &Entry,
    unknown: bool,
    clear: Clear<'_>,
) -> bool {
    let from = entry.at - entry.way * entry.run;
    // The last bit of the way touches the line where it ends.
    let run = Seg::line(from, entry.at - entry.way * (entry.run * 0.02));
    if let Some((it, outside)) = around {
        let side = if outside { Where::Outside } else { Where::Inside };
        if point_in_loop(from, it) != side {
            return false;
        }
    }
    let least = entry.run * 1e-3;
    let pivot = from + entry.way * blade.offset;
    let reach = 1.05 * blade.offset;
    let crowded = segs.iter().any(|seg| {
        let near = seg.bounds().inflate(reach, reach);
        (near.overlaps(run.bounds().inflate(least, least)) && seg.distance(&run).0 < least)
            || (unknown && near.contains(pivot) && seg.distance_to(pivot) < reach)
    });
    // An open line goes straight on from its run-in: only the line's own first bit is near.
    !crowded && clear(&Seg::line(from, entry.at))
}
