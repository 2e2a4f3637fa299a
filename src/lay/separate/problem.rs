//! From a trial to what separation works on, and back.

use super::pairs::Pairs;
use super::solid::{Solid, near};
use super::yard::Yard;
use crate::geom::{Point, Vec2};
use crate::lay::Placed;
use crate::lay::couples::couples;
use crate::lay::kernel::{Body, Core};
use crate::lay::manner::Manner;
use crate::lay::proof::{Stock, stock};
use crate::lay::search::Trial;
use crate::lay::task::Task;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Where pieces are made of more convex parts than this on average, the root of what two of them overlap is taken, about
/// a depth again: summed over many parts the area falls off too fast as they come apart, and small overlaps stay.
/// With few parts the area itself packs closer (measured: the bench's strips, equal evaluations).
const MANY_PARTS: usize = 4;

/// Pieces that turn freely may lie at this many turns, beside those of the manner.
const TURNS: u32 = 16;

/// A way in which a piece may lie.
#[derive(Debug, Clone)]
pub(super) struct Way {
    stance: usize,
    body: Arc<Body>,
    pub(super) solid: Solid,
}

/// A solid that moves with a piece, itself or a guest of it, and what it may touch and not enter.
#[derive(Debug, Clone)]
struct Kept {
    /// None: the piece itself, whichever way it lies.
    guest: Option<Solid>,
    bars: Vec<Solid>,
}

/// Pieces that may lie in the same ways.
#[derive(Debug, Clone)]
pub(super) struct Lot {
    pub(super) ways: Vec<Way>,
    /// The diagonal of its box in its first way (mm).
    pub(super) size: f64,
    /// The root of that: how much its overlaps count.
    pub(super) root: f64,
    /// What it covers, holes filled (mm²).
    pub(super) area: f64,
    kept: Vec<Kept>,
    /// The number of its first way among those of all lots.
    first: usize,
}

/// A piece where it lies for now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Item {
    /// Index of the piece in its group.
    pub(super) piece: usize,
    pub(super) lot: usize,
    pub(super) way: usize,
    pub(super) at: Point,
}

/// Where the pieces lie, and the cut-off they keep.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct State {
    pub(super) items: Vec<Item>,
    pub(super) limit: f64,
}

/// One ground, and the pieces that lie directly on it or may come to.
#[derive(Debug)]
pub(super) struct Problem<'a> {
    ground: usize,
    pub(super) yard: Yard<'a>,
    pub(super) lots: Vec<Lot>,
    /// The lots of the task and their plots, by their number here.
    of_task: BTreeMap<(usize, usize), usize>,
    /// The lot of the task of each piece.
    task_lots: BTreeMap<usize, usize>,
    pub(super) apart: f64,
    /// Of each piece that works with others all of them, itself too.
    mates: BTreeMap<usize, Vec<usize>>,
    pairs: Pairs,
    /// Whether what two pieces overlap counts by its root: see [`MANY_PARTS`].
    rooted: bool,
}

fn mates(task: &Task<'_>) -> BTreeMap<usize, Vec<usize>> {
    let all = couples(task.group).into_iter();
    all.flat_map(|couple| couple.clone().into_iter().map(move |n| (n, couple.clone()))).collect()
}

impl<'a> Problem<'a> {
    /// The pieces on one ground of a trial, and as they lie; none where a way cannot be found.
    pub(super) fn new(
        task: &'a Task<'_>,
        trial: &Trial,
        manner: &Manner,
        ground: usize,
    ) -> Option<(Problem<'a>, State)> {
        let yard = Yard::new(&task.fields[ground], manner.aims[ground].way);
        let task_lots = task
            .lots
            .iter()
            .enumerate()
            .flat_map(|(number, lot)| {
                lot.wanted.iter().chain(&lot.spares).map(move |piece| (*piece, number))
            })
            .collect();
        let mut made = Problem {
            ground,
            yard,
            lots: Vec::new(),
            of_task: BTreeMap::new(),
            task_lots,
            apart: task.group.apart,
            mates: mates(task),
            pairs: Pairs::default(),
            rooted: false,
        };
        let mut slants = manner.slants.clone();
        slants.extend((0..TURNS).map(|k| f64::from(k) * 360.0 / f64::from(TURNS)));
        let mut items = Vec::new();
        for placed in trial.placed.iter().filter(|p| p.ground == ground && p.host.is_none()) {
            let is_host = trial.placed.iter().any(|p| p.host == Some(placed.piece));
            let plot = made.plot_of(task, trial, placed)?;
            let lot = if is_host { None } else { made.lot(task, placed.piece, plot, &slants) };
            let item = made.item(task, placed, lot, plot)?;
            if is_host {
                made.keep_guests(task, trial, &item)?;
            }
            items.push(item);
        }
        for piece in &trial.left {
            made.lot(task, *piece, 0, &slants);
        }
        made.pairs = Pairs::new(&made.lots, made.apart);
        let parts: usize = items.iter().map(|it| made.solid(it).facets()).sum();
        made.rooted = parts > MANY_PARTS * items.len();
        let limit = made.reach(&items);
        Some((made, State { items, limit }))
    }

    /// The lot of a piece, made if it is not there yet; none where it cannot lie on this ground.
    fn lot(&mut self, task: &Task<'_>, piece: usize, plot: usize, slants: &[f64]) -> Option<usize> {
        let of_task = *self.task_lots.get(&piece)?;
        if let Some(number) = self.of_task.get(&(of_task, plot)) {
            return Some(*number);
        }
        let ways = task.bodies(of_task, self.ground, slants);
        let number = self.add(task, piece, ways, plot)?;
        self.of_task.insert((of_task, plot), number);
        Some(number)
    }

    /// The plot on which a piece lies, and with it those that it works with; none where there is no such.
    fn plot_of(&self, task: &Task<'_>, trial: &Trial, placed: &Placed) -> Option<usize> {
        let pieces = &task.group.pieces;
        let plots = task.plots(*self.task_lots.get(&placed.piece)?, self.ground);
        if !pieces[placed.piece].needs.together {
            return (!plots.is_empty()).then_some(0);
        }
        let mut found = Stock::default();
        let couple = self.mates.get(&placed.piece)?;
        for mate in trial.placed.iter().filter(|p| couple.contains(&p.piece)) {
            let design = pieces[mate.piece].turns.design(mate.stance)?;
            let sheet = &task.group.grounds[mate.ground].sheet;
            let own = stock(sheet, &design.shape.posed(&mate.pose));
            found.grades.extend(own.grades);
            found.readings.extend(own.readings);
        }
        let grades: Vec<u8> = found.grades.into_keys().collect();
        let readings: Vec<f64> = found.readings.into_iter().map(|r| r.0).collect();
        plots.iter().position(|plot| plot.holds(&grades, &readings))
    }

    /// What the guests of a piece may not enter goes with it.
    fn keep_guests(&mut self, task: &Task<'_>, trial: &Trial, item: &Item) -> Option<()> {
        let here = self.yard.there(item.at).to_vec2();
        let mut inside = BTreeSet::from([item.piece]);
        let mut more = true;
        while more {
            more = false;
            for guest in &trial.placed {
                if guest.host.is_some_and(|h| inside.contains(&h)) && inside.insert(guest.piece) {
                    more = true;
                    let plot = self.plot_of(task, trial, guest)?;
                    let lot = *self.task_lots.get(&guest.piece)?;
                    let bars = self.solids(&task.plots(lot, self.ground)[plot].bars);
                    if bars.is_empty() {
                        continue;
                    }
                    let design = task.group.pieces[guest.piece].turns.design(guest.stance)?;
                    let body = Body::new(&design.shape, guest.pose.turn, guest.pose.mirrored);
                    let at = Point::new(guest.pose.x, guest.pose.y) + body.home - here;
                    let guest = Solid::from_cores(&body.cores_at(at), self.yard.turn());
                    self.lots[item.lot].kept.push(Kept { guest: Some(guest), bars });
                }
            }
        }
        Some(())
    }

    fn solids(&self, bars: &[Core]) -> Vec<Solid> {
        let solid = |bar: &Core| Solid::from_cores(std::slice::from_ref(bar), self.yard.turn());
        bars.iter().map(solid).collect()
    }

    /// How much a piece reaches over the edge, the cut-off, into flaws and into stuff that will not do for it or its
    /// guests; sums no further than `most`.
    pub(super) fn wall(&self, lot: usize, way: usize, at: Point, (limit, most): (f64, f64)) -> f64 {
        self.counted(most, |most| self.wall_area(lot, (way, at), (limit, most)))
    }

    /// A sum as it counts, told as much of it as is worth summing.
    fn counted(&self, most: f64, sum: impl Fn(f64) -> f64) -> f64 {
        if self.rooted { sum(most * most).sqrt() } else { sum(most) }
    }

    fn wall_area(&self, lot: usize, (way, at): (usize, Point), (limit, most): (f64, f64)) -> f64 {
        let own = &self.lots[lot].ways[way].solid;
        let mut sum = self.yard.overlap(own, at, limit, most);
        for kept in &self.lots[lot].kept {
            let solid = kept.guest.as_ref().unwrap_or(own);
            let b = solid.box_at(at);
            for bar in kept.bars.iter().filter(|bar| near(bar.bounds, b, 0.0)) {
                if sum > most {
                    return sum;
                }
                sum += solid.overlap(bar, Point::ORIGIN - at, 0.0, most - sum);
            }
        }
        sum
    }

    /// How much a piece of a lot that lies so, and another piece, lie in each other; sums no further than `most`.
    pub(super) fn between(
        &self,
        lot: usize,
        (way, at): (usize, Point),
        other: &Item,
        most: f64,
    ) -> f64 {
        let theirs = &self.lots[other.lot];
        let ways = (self.lots[lot].first + way, theirs.first + other.way);
        let solids = (&self.lots[lot].ways[way].solid, &theirs.ways[other.way].solid);
        self.counted(most, |most| self.pairs.overlap(ways, solids, other.at - at, most))
    }

    fn add(
        &mut self,
        task: &Task<'_>,
        piece: usize,
        ways: Vec<(usize, Arc<Body>)>,
        plot: usize,
    ) -> Option<usize> {
        let task_lot = *self.task_lots.get(&piece)?;
        let bars = self.solids(&task.plots(task_lot, self.ground).get(plot)?.bars);
        let kept = if bars.is_empty() { Vec::new() } else { vec![Kept { guest: None, bars }] };
        let turn = self.yard.turn();
        let ways: Vec<Way> = ways
            .into_iter()
            .map(|(stance, body)| Way { stance, solid: Solid::of(&body, turn), body })
            .collect();
        let design = task.group.pieces[piece].turns.design(ways.first()?.stance)?;
        let size = ways.first()?.solid.size();
        let area = design.shape.outline().area();
        let first = self.lots.last().map_or(0, |lot| lot.first + lot.ways.len());
        self.lots.push(Lot { ways, size, root: size.sqrt(), area, kept, first });
        Some(self.lots.len() - 1)
    }

    /// A placed piece. One that holds guests, or lies in a way its lot does not know, keeps its turn.
    fn item(
        &mut self,
        task: &Task<'_>,
        placed: &Placed,
        lot: Option<usize>,
        plot: usize,
    ) -> Option<Item> {
        let lies_so = |way: &Way| {
            let off = (way.body.turn - placed.pose.turn + 180.0).rem_euclid(360.0) - 180.0;
            way.stance == placed.stance
                && way.body.mirrored == placed.pose.mirrored
                && off.abs() < 1e-9
        };
        let known = lot.and_then(|l| Some((l, self.lots[l].ways.iter().position(lies_so)?)));
        let (lot, way) = if let Some(known) = known {
            known
        } else {
            let design = task.group.pieces[placed.piece].turns.design(placed.stance)?;
            let body = Body::new(&design.shape, placed.pose.turn, placed.pose.mirrored);
            let ways = vec![(placed.stance, Arc::new(body))];
            (self.add(task, placed.piece, ways, plot)?, 0)
        };
        let home = self.lots[lot].ways[way].body.home;
        let at = self.yard.here(Point::new(placed.pose.x, placed.pose.y) + home);
        Some(Item { piece: placed.piece, lot, way, at })
    }

    /// A piece that is not there yet, at the ground's corner; none where it fits in no way, or would have to come with
    /// others.
    pub(super) fn newcomer(&self, piece: usize) -> Option<Item> {
        if self.mates.contains_key(&piece) {
            return None;
        }
        let lot = *self.of_task.get(&(*self.task_lots.get(&piece)?, 0))?;
        let room = self.yard.inner;
        let fits = |way: &Way| {
            let b = way.solid.bounds;
            b.width() <= room.width() && b.height() <= room.height()
        };
        let way = self.lots[lot].ways.iter().position(fits)?;
        let b = self.lots[lot].ways[way].solid.bounds;
        let at = Point::new(room.x0 - b.x0, room.y0 - b.y0);
        Some(Item { piece, lot, way, at })
    }

    /// The solid of a piece as it lies.
    pub(super) fn solid(&self, it: &Item) -> &Solid {
        &self.lots[it.lot].ways[it.way].solid
    }

    /// How far the pieces reach along the cut-off direction.
    pub(super) fn reach(&self, items: &[Item]) -> f64 {
        let reach = items.iter().map(|it| self.solid(it).box_at(it.at).x1);
        reach.fold(self.yard.bounds.x0, f64::max)
    }

    /// A size for the cells of a grid: about that of a piece.
    pub(super) fn cell(&self, items: &[Item]) -> f64 {
        let sum: f64 = items.iter().map(|it| self.lots[it.lot].size).sum();
        #[allow(clippy::cast_precision_loss, reason = "a count of pieces")]
        let n = items.len().max(1) as f64;
        0.7 * sum / n
    }

    /// No cut-off can come before this.
    pub(super) fn floor(&self, items: &[Item]) -> f64 {
        let room = self.yard.inner;
        let narrowest = |it: &Item| {
            let widths = self.lots[it.lot].ways.iter().map(|w| w.solid.bounds.width());
            widths.fold(f64::INFINITY, f64::min)
        };
        let widest = items.iter().map(narrowest).fold(0.0, f64::max);
        let area: f64 = items.iter().map(|it| self.lots[it.lot].area).sum();
        room.x0 + widest.max(area / room.height().max(1e-9))
    }

    /// Area of the ground (mm²): no more can be covered.
    pub(super) fn ground_area(&self) -> f64 {
        self.yard.area()
    }

    /// What the pieces of a state cover (mm²).
    pub(super) fn covered(&self, items: &[Item]) -> f64 {
        items.iter().map(|it| self.lots[it.lot].area).sum()
    }

    /// The trial with its pieces as a state has them; guests go with their hosts.
    pub(super) fn settled(&self, trial: &Trial, state: &State) -> Trial {
        let mut made = trial.clone();
        let mut moved: BTreeMap<usize, Vec2> = BTreeMap::new();
        for it in &state.items {
            let way = &self.lots[it.lot].ways[it.way];
            let pose = way.body.pose_at(self.yard.there(it.at));
            let (piece, ground, stance) = (it.piece, self.ground, way.stance);
            if let Some(placed) = made.placed.iter_mut().find(|p| p.piece == piece) {
                let by = Vec2::new(pose.x - placed.pose.x, pose.y - placed.pose.y);
                moved.insert(piece, by);
                placed.stance = stance;
                placed.pose = pose;
            } else {
                made.placed.push(Placed { piece, ground, host: None, stance, pose, window: None });
                made.left.retain(|left| *left != piece);
                made.untried.retain(|left| *left != piece);
            }
        }
        let hosts: BTreeMap<usize, usize> =
            trial.placed.iter().filter_map(|p| Some((p.piece, p.host?))).collect();
        for placed in &mut made.placed {
            let mut root = placed.piece;
            while let Some(host) = hosts.get(&root) {
                root = *host;
            }
            if placed.host.is_some()
                && let Some(by) = moved.get(&root)
            {
                placed.pose.x += by.x;
                placed.pose.y += by.y;
            }
        }
        made
    }
}
