//! Which sheets are used, and in what order.
//!
//! Remnants come first, in the order in which they are given: whoever gathers them puts the oldest first. What is whole
//! is taken as listed, the smallest that takes all before the others, or as chance has it; the score decides.

use super::chance::Chance;
use super::search::Trial;
use super::task::{Task, shape_of};

/// A remnant of which less than this share would be covered is left alone.
const LITTLE: f64 = 0.05;
/// Pieces need at least so many times their own area.
const ROOM: f64 = 1.25;

fn is_remnant(task: &Task<'_>, ground: usize) -> bool {
    task.group.grounds[ground].sheet.from.is_some()
}

fn area(task: &Task<'_>, ground: usize) -> f64 {
    task.group.grounds[ground].sheet.area()
}

/// The order in which the smallest whole sheet that is likely to take all comes first, then the others, the largest
/// before all; none where that is the order there is.
pub(crate) fn smallest_first(task: &Task<'_>, order: &[usize]) -> Option<Vec<usize>> {
    let (mut made, mut whole): (Vec<usize>, Vec<usize>) =
        order.iter().partition(|ground| is_remnant(task, **ground));
    let net: f64 = task.group.pieces.iter().filter_map(shape_of).map(|s| s.outline().area()).sum();
    let takes_all = |ground: usize| area(task, ground) >= ROOM * net;
    whole.sort_by(|i, j| {
        let fits = takes_all(*j).cmp(&takes_all(*i));
        let (a, b) = (area(task, *i), area(task, *j));
        let by_area = if takes_all(*i) { a.total_cmp(&b) } else { b.total_cmp(&a) };
        fits.then(by_area).then(i.cmp(j))
    });
    made.extend(whole);
    (made != order).then_some(made)
}

/// The whole sheets in an order by chance, behind the remnants.
pub(crate) fn shuffle(task: &Task<'_>, order: &mut [usize], chance: &mut Chance) {
    let first = order.iter().take_while(|ground| is_remnant(task, **ground)).count();
    let whole = &mut order[first..];
    for k in (1..whole.len()).rev() {
        whole.swap(k, chance.below(k + 1));
    }
}

/// The order without remnants on which next to nothing lies; none where there are none such.
pub(crate) fn without_poor(task: &Task<'_>, trial: &Trial, order: &[usize]) -> Option<Vec<usize>> {
    let covered = |ground: usize| -> f64 {
        let on_it = trial.placed.iter().filter(|p| p.ground == ground && p.host.is_none());
        on_it
            .filter_map(|p| shape_of(&task.group.pieces[p.piece]))
            .map(|s| s.outline().area())
            .sum()
    };
    let is_poor = |ground: usize| {
        let share = covered(ground) / area(task, ground).max(1.0);
        is_remnant(task, ground) && share > 0.0 && share < LITTLE
    };
    let kept: Vec<usize> = order.iter().copied().filter(|ground| !is_poor(*ground)).collect();
    (kept.len() < order.len() && !kept.is_empty()).then_some(kept)
}
