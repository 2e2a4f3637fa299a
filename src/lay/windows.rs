//! Bed windows: a sheet larger than what the machine reaches is laid in boxes that no piece crosses.
//!
//! Several arrangements of boxes over the sheets are tried, columns of boxes or rows of them, each with its own offset;
//! a box is laid on like a sheet of its own. The best arrangement leaves out the fewest pieces, then uses the fewest
//! sheets, then the fewest windows; of those it is one whose windows share register dots, then one that cuts off the
//! least of the last sheet.

use super::chance::Chance;
use super::kernel::Field;
use super::task::shape_of;
use super::{Dot, Effort, Ground, Group, Layout, Placed, Progress, Watch, Window, dots, search};
use crate::geom::{Pose, Rect, Shape, Vec2, tolerance};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Evaluations for each arrangement that is tried, at least.
const EACH: u64 = 2_500;
/// No fewer arrangements are tried than this, and no more.
const ARRANGEMENTS: (u64, u64) = (8, 48);
/// Of the best arrangements so many are looked at for their register dots.
const MARKED: usize = 8;
/// Where windows are to share register dots, they are smaller than the bed by this (mm).
const FOR_DOTS: f64 = 2.0 * (Dot::RADIUS + 2.0 * Dot::CLEAR);
/// The best arrangements that are laid with care.
const KEPT: usize = 2;

/// The lower, the better: pieces short, spares short, sheets used, windows used, share of the last sheet cut off.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
struct Score(usize, usize, usize, usize, f64);

impl Score {
    /// Whether nothing but the share cut off tells two apart.
    fn is_beside(&self, other: &Score) -> bool {
        (self.0, self.1, self.2, self.3) == (other.0, other.1, other.2, other.3)
    }
}

/// A group whose grounds are windows, each with the ground it is a part of.
struct Arranged {
    group: Group,
    owners: Vec<usize>,
}

/// Lays a group, in windows where a sheet asks for them.
pub(super) fn lay(group: &Group, effort: Effort, watch: &dyn Watch) -> Layout {
    if (0..group.grounds.len()).all(|ground| group.reach(ground).is_none()) {
        return marked(group, search::lay(group, effort, watch));
    }
    let count = (effort.evaluations / EACH).clamp(ARRANGEMENTS.0, ARRANGEMENTS.1);
    let each = effort.evaluations / 2 / count;
    let few = Effort { evaluations: each, ..effort };
    let ran: Vec<(Arranged, Layout)> = (0..count)
        .into_par_iter()
        .map(|number| {
            let arranged = arranged(group, effort.seed, number);
            let part = Part { watch, before: number * each, effort: effort.evaluations };
            let layout = search::lay(&arranged.group, few, &part);
            (arranged, layout)
        })
        .collect();
    let mut spent: u64 = ran.iter().map(|(_, layout)| layout.spent).sum();
    let mut stopped = ran.iter().any(|(_, layout)| layout.stopped);
    let mut ranked: Vec<(Score, usize)> =
        ran.iter().enumerate().map(|(n, it)| (score(group, &it.0, &it.1), n)).collect();
    ranked.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
    let Some(top) = ranked.first().map(|(score, _)| *score) else {
        return marked(group, search::lay(group, effort, watch));
    };
    // Of those that are as good as the best, first those whose windows can be found again.
    let equal = ranked.iter().take(MARKED).take_while(|(score, _)| score.is_beside(&top)).count();
    let mut found: Vec<(usize, Score, usize)> = ranked[..equal]
        .par_iter()
        .map(|(score, n)| {
            let layout = marked(group, settled(&ran[*n].0, ran[*n].1.clone()));
            (layout.strangers().len(), *score, *n)
        })
        .collect();
    found.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
    let (mut strangers, mut best_score, first) = found[0];
    let mut best = marked(group, settled(&ran[first].0, ran[first].1.clone()));
    let others = ranked[equal..].iter().map(|(_, n)| *n);
    let order = found.iter().map(|f| f.2).chain(others);
    for number in order.take(KEPT) {
        let rest = effort.evaluations.saturating_sub(spent) / 2;
        if stopped || rest < 4 * each {
            break;
        }
        let part = Part { watch, before: spent, effort: effort.evaluations };
        let with_care = Effort { evaluations: rest, ..effort };
        let layout = search::lay(&ran[number].0.group, with_care, &part);
        spent += layout.spent;
        stopped |= layout.stopped;
        let score = score(group, &ran[number].0, &layout);
        if score > best_score && !score.is_beside(&best_score) {
            continue;
        }
        let layout = marked(group, settled(&ran[number].0, layout));
        let lost = layout.strangers().len();
        if !score.is_beside(&best_score) || (lost, score) < (strangers, best_score) {
            (strangers, best_score, best) = (lost, score, layout);
        }
    }
    Layout { spent, stopped, ..best }
}

/// The layout with its register dots.
fn marked(group: &Group, mut layout: Layout) -> Layout {
    dots::mark(group, &mut layout);
    layout
}

/// Passes on how far one of several searches is.
struct Part<'a> {
    watch: &'a dyn Watch,
    before: u64,
    effort: u64,
}

impl Watch for Part<'_> {
    fn look(&self, progress: Progress) {
        let spent = (self.before + progress.spent).min(self.effort);
        self.watch.look(Progress { spent, effort: self.effort, ..progress });
    }

    fn stop(&self) -> bool {
        self.watch.stop()
    }
}

/// The layout on the sheets themselves, with the windows that pieces lie in.
fn settled(arranged: &Arranged, mut layout: Layout) -> Layout {
    let used: BTreeSet<usize> = layout.placed.iter().map(|p| p.ground).collect();
    let mut numbers = vec![None; arranged.owners.len()];
    for ground in used {
        if let Some(bounds) = arranged.group.grounds[ground].window {
            numbers[ground] = Some(layout.windows.len());
            let corner = bounds.origin();
            layout.windows.push(Window { ground: arranged.owners[ground], bounds, corner });
        }
    }
    for placed in &mut layout.placed {
        placed.window = numbers[placed.ground];
        placed.ground = arranged.owners[placed.ground];
    }
    for left in &mut layout.left {
        left.largest_free =
            left.largest_free.map(|(ground, at, across)| (arranged.owners[ground], at, across));
    }
    layout
}

fn score(group: &Group, arranged: &Arranged, layout: &Layout) -> Score {
    let spares = layout.left.iter().filter(|l| group.pieces[l.piece].address.spare > 0).count();
    let windows: BTreeSet<usize> = layout.placed.iter().map(|p| p.ground).collect();
    let sheets: BTreeSet<usize> = windows.iter().map(|w| arranged.owners[*w]).collect();
    let share = sheets.last().map_or(0.0, |last| cut_off(group, arranged, layout, *last));
    Score(layout.left.len() - spares, spares, sheets.len(), windows.len(), share)
}

/// The least share of a sheet that one straight cut along or across takes off with all its pieces.
fn cut_off(group: &Group, arranged: &Arranged, layout: &Layout, sheet: usize) -> f64 {
    let lying = layout.placed.iter().filter(|p| arranged.owners[p.ground] == sheet);
    let Some(b) = lying.filter_map(|p| bounds(group, p)).reduce(|a, b| a.union(b)) else {
        return 0.0;
    };
    let field = Field::of(&group.grounds[sheet], group.apart);
    let edge = group.grounds[sheet].edge;
    let ways = [((1.0, 0.0), b.x1), ((-1.0, 0.0), -b.x0), ((0.0, 1.0), b.y1), ((0.0, -1.0), -b.y0)];
    ways.into_iter()
        .map(|(way, reach)| field.area_before(Vec2::from(way), reach + edge))
        .fold(f64::INFINITY, f64::min)
}

/// The box of a placed piece.
pub(super) fn bounds(group: &Group, placed: &Placed) -> Option<Rect> {
    let design = group.pieces.get(placed.piece)?.turns.design(placed.stance)?;
    Some(placed.pose.on_loop(design.shape.outline()).bounds())
}

/// One arrangement of windows over all sheets; the first ones are plain, the others are left to chance.
fn arranged(group: &Group, seed: u64, number: u64) -> Arranged {
    let mut chance = Chance::new(seed, number ^ (1 << 41));
    let mut made =
        Arranged { group: Group { grounds: Vec::new(), ..group.clone() }, owners: Vec::new() };
    for (owner, ground) in group.grounds.iter().enumerate() {
        let windows = match group.reach(owner) {
            None => vec![None],
            Some(reach) => {
                let cells = cells(group, ground, reach, number, &mut chance);
                cells.into_iter().map(Some).collect()
            }
        };
        for window in windows {
            made.owners.push(owner);
            let sheet = Arc::clone(&ground.sheet);
            made.group.grounds.push(Ground { sheet, edge: ground.edge, window });
        }
    }
    made
}

/// The boxes of one sheet, in the order in which they are filled.
pub(super) fn cells(
    group: &Group,
    ground: &Ground,
    reach: Vec2,
    number: u64,
    chance: &mut Chance,
) -> Vec<Rect> {
    let field = Field::of(&Ground { window: None, ..ground.clone() }, group.apart);
    let inner = field.inner();
    let by_rows = !number.is_multiple_of(2);
    let plain = number < 8;
    let choose = |chance: &mut Chance| {
        if plain {
            [Split::Even, Split::Low, Split::High, Split::Middle][(number / 2) as usize % 4]
        } else if chance.share() < 0.2 {
            Split::Even
        } else {
            Split::At(chance.share())
        }
    };
    // Seen so that the strips stand side by side along the first axis.
    let seen = |v: Vec2| if by_rows { (v.y, v.x) } else { (v.x, v.y) };
    let (long, across) = (seen(inner.origin().to_vec2()), seen(Vec2::new(inner.x1, inner.y1)));
    // Every third takes the bed to its sides.
    let less = if number % 3 == 2 { 0.0 } else { FOR_DOTS };
    let (wide, high) =
        seen(Vec2::new((reach.x - less).max(reach.x / 2.0), (reach.y - less).max(reach.y / 2.0)));
    let mut made = Vec::new();
    for (low, end) in spans(long.0, across.0, wide, group.apart, choose(chance)) {
        let strip = if by_rows {
            Rect::new(inner.x0, low, inner.x1, end)
        } else {
            Rect::new(low, inner.y0, end, inner.y1)
        };
        // The sheet may be shorter here than it is as a whole.
        let Some(part) = part_of(ground, strip) else { continue };
        let (from, to) = (part.0.y0.max(inner.y0), part.0.y1.min(inner.y1));
        let (left, right) = (part.0.x0.max(inner.x0), part.0.x1.min(inner.x1));
        let (from, to) = if by_rows { (left, right) } else { (from, to) };
        if to <= from {
            continue;
        }
        for (a, b) in spans(from, to, high, group.apart, choose(chance)) {
            made.push(if by_rows { Rect::new(a, low, b, end) } else { Rect::new(low, a, end, b) });
        }
    }
    let mut roomy: Vec<(f64, Rect)> = made
        .into_iter()
        .filter_map(|cell| {
            let (bounds, area) = part_of(ground, cell)?;
            has_room(group, bounds, area).then_some((area, cell))
        })
        .collect();
    if chance.share() < 0.4 {
        // The roomiest first uses the fewest; one beside the other leaves a remnant in one piece.
        roomy.sort_by(|a, b| b.0.total_cmp(&a.0));
    }
    roomy.into_iter().map(|(_, cell)| cell).collect()
}

/// How a length is split in spans that must not be longer than they may.
#[derive(Debug, Clone, Copy)]
enum Split {
    /// Equal ones.
    Even,
    /// Whole ones from the low end, the rest at the high end.
    Low,
    /// Whole ones from the high end.
    High,
    /// Whole ones in the middle, the rest in equal shares at both ends.
    Middle,
    /// Whole ones; the first has lost this share of what is to spare.
    At(f64),
}

/// The fewest spans over a length, no longer than `most` and `apart` from each other.
fn spans(from: f64, to: f64, most: f64, apart: f64, split: Split) -> Vec<(f64, f64)> {
    let length = to - from;
    let needed = ((length + apart) / (most + apart) - 1e-9).ceil().max(1.0);
    let spare = needed * (most + apart) - apart - length;
    let share = match split {
        Split::Even => {
            let each = (length + apart) / needed - apart;
            return run(from, to, each, apart);
        }
        Split::Low => 0.0,
        Split::High => 1.0,
        Split::Middle => 0.5,
        Split::At(share) => share,
    };
    let first = most - (spare * share).min(most - 1e-9);
    let mut made = vec![(from, (from + first).min(to))];
    made.extend(run(from + first + apart, to, most, apart));
    made
}

/// Spans of one length until the end is reached.
fn run(from: f64, to: f64, each: f64, apart: f64) -> Vec<(f64, f64)> {
    let mut made = Vec::new();
    let mut at = from;
    while at < to - 1e-9 {
        made.push((at, (at + each).min(to)));
        at += each + apart;
    }
    made
}

/// The box and the area of what of a sheet lies in a box; none where nothing does.
fn part_of(ground: &Ground, cell: Rect) -> Option<(Rect, f64)> {
    let field = Field::of(&Ground { window: Some(cell), ..ground.clone() }, 0.0);
    let outline = field.cut_outline();
    let first = *outline.first()?;
    let bounds = outline.iter().fold(Rect::from_points(first, first), |b, p| b.union_pt(*p));
    let area = field.area_before(Vec2::new(1.0, 0.0), f64::INFINITY);
    (area > 0.0).then_some((bounds, area))
}

/// Whether the smallest piece might find room in a part of a sheet.
fn has_room(group: &Group, part: Rect, area: f64) -> bool {
    group.pieces.iter().filter_map(shape_of).any(|shape| {
        let b = shape.bounds();
        let needs = b.width().min(b.height());
        needs <= part.width() + 1e-9
            && needs <= part.height() + 1e-9
            && shape.outline().area() <= area + 1e-9
    })
}

/// Whether an upright box takes a shape at a turn (degrees).
///
/// # Units
/// Millimetres.
pub fn takes(reach: Vec2, shape: &Shape, turn: f64) -> bool {
    let b = Pose::turned(turn).on_loop(shape.outline()).bounds();
    b.width() <= reach.x + tolerance::SLACK && b.height() <= reach.y + tolerance::SLACK
}

/// The first range of turns (degrees from 0 up to 180, in quarters of a degree) at which an upright box takes a shape.
///
/// # Units
/// Millimetres.
pub fn turns_that_fit(reach: Vec2, shape: &Shape) -> Option<(f64, f64)> {
    let turn = |quarter: u32| f64::from(quarter) / 4.0;
    let fits = |quarter: &u32| takes(reach, shape, turn(*quarter));
    let first = (0..720).find(fits)?;
    let last = (first..720).take_while(fits).last().unwrap_or(first);
    Some((turn(first), turn(last)))
}

#[cfg(test)]
mod tests;
