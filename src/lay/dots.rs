//! Register dots: where a sheet can be marked so that it is found again after it was moved.
//!
//! The waste is looked at as a raster. Dots lie in the largest piece of it that hangs together, as far apart as they
//! can, clear of pieces, edge and flaws, which is measured on the true arcs before a dot is set. Where a sheet is cut
//! in windows, a window shares two dots with one cut before it, if both reach them: that gives the order in which the
//! windows are cut.

use super::windows::bounds;
use super::{Dot, Group, Layout, Window, proof};
use crate::geom::{Loop, Point, Rect, Seg, Side, Vec2, Where, flatten, point_in_loop};

/// Side of the raster's squares (mm), on a sheet of no more squares than [`MOST`].
const PITCH: f64 = 2.0;
/// Squares of the raster, about.
const MOST: f64 = 400_000.0;
/// Dots nearer to each other than this (mm) tell too little of a sheet's turn.
const LEAST_SPAN: f64 = 40.0;
/// In so many directions the farthest places are looked for.
const DIRECTIONS: u32 = 16;
/// So many squares are measured exactly for each direction.
const TRIES: usize = 60;

/// Sets dots on every sheet that pieces lie on, and puts its windows in cutting order.
pub(super) fn mark(group: &Group, layout: &mut Layout) {
    let mut windows: Vec<Window> = Vec::new();
    let mut dots: Vec<Dot> = Vec::new();
    let mut renamed = vec![None; layout.windows.len()];
    for ground in 0..group.grounds.len() {
        if !layout.placed.iter().any(|p| p.ground == ground) {
            continue;
        }
        let waste = Waste::of(group, layout, ground);
        let Some(reach) = group.reach(ground) else {
            let all = waste.bounds;
            dots.extend(
                waste
                    .farthest(all, |_, _| true)
                    .into_iter()
                    .flat_map(<[Point; 2]>::from)
                    .map(|at| Dot { ground, at, windows: Vec::new() }),
            );
            continue;
        };
        let chain = Chain::of(group, layout, ground, &waste, reach);
        let first = windows.len();
        for it in &chain.done {
            renamed[it.window] = Some(windows.len());
            windows.push(Window { corner: it.needs.origin(), ..layout.windows[it.window] });
        }
        dots.extend(chain.dots.into_iter().map(|(at, list)| Dot {
            ground,
            at,
            windows: list.into_iter().map(|k| first + k).collect(),
        }));
    }
    layout.windows = windows;
    for placed in &mut layout.placed {
        placed.window = placed.window.and_then(|w| renamed[w]);
    }
    layout.dots = dots;
    // A raster may err where the waste is thin: what is not proven is not set.
    let wrong = proof::wrong_dots(group, layout);
    let mut number = 0;
    layout.dots.retain(|_| {
        number += 1;
        !wrong.contains(&(number - 1))
    });
}

/// A window with what it must reach so far.
#[derive(Debug, Clone, Copy)]
struct Reached {
    window: usize,
    needs: Rect,
}

impl Reached {
    /// What more may be reached.
    fn limits(&self, reach: Vec2) -> Rect {
        let n = self.needs;
        Rect { x0: n.x1 - reach.x, y0: n.y1 - reach.y, x1: n.x0 + reach.x, y1: n.y0 + reach.y }
    }

    fn with(&self, dots: &[Point]) -> Rect {
        dots.iter().fold(self.needs, |b, p| b.union(mark_box(*p)))
    }

    fn reaches(&self, dots: &[Point], reach: Vec2) -> bool {
        let b = self.with(dots);
        b.width() <= reach.x + 1e-9 && b.height() <= reach.y + 1e-9
    }
}

/// The box of a mark.
fn mark_box(at: Point) -> Rect {
    Rect::from_center_size(at, (2.0 * Dot::RADIUS, 2.0 * Dot::RADIUS))
}

/// The windows of a sheet in cutting order, and the dots with the windows they serve, by place in that order.
#[derive(Debug, Default)]
struct Chain {
    done: Vec<Reached>,
    dots: Vec<(Point, Vec<usize>)>,
}

impl Chain {
    fn of(group: &Group, layout: &Layout, ground: usize, waste: &Waste, reach: Vec2) -> Chain {
        let mut open: Vec<Reached> = layout
            .windows_of(ground)
            .into_iter()
            .filter_map(|window| {
                let lying = layout.placed.iter().filter(|p| p.window == Some(window));
                let needs = lying.filter_map(|p| bounds(group, p)).reduce(|a, b| a.union(b))?;
                Some(Reached { window, needs })
            })
            .collect();
        let mut chain = Chain::default();
        if open.is_empty() {
            return chain;
        }
        chain.done.push(open.remove(0));
        while !open.is_empty() {
            let mut best: Option<(f64, usize, usize, [Point; 2])> = None;
            for (k, next) in open.iter().enumerate() {
                for (n, there) in chain.done.iter().enumerate() {
                    let both = there.limits(reach).intersect(next.limits(reach));
                    let fits = |p: Point, q: Point| {
                        there.reaches(&[p, q], reach) && next.reaches(&[p, q], reach)
                    };
                    if let Some((p, q)) = waste.farthest(both, fits) {
                        let span = (p - q).hypot();
                        if best.is_none_or(|b| span > b.0 + 1e-9) {
                            best = Some((span, k, n, [p, q]));
                        }
                    }
                }
            }
            let at = chain.done.len();
            if let Some((_, k, n, pair)) = best {
                let mut next = open.remove(k);
                next.needs = next.with(&pair);
                chain.done[n].needs = chain.done[n].with(&pair);
                chain.done.push(next);
                chain.dots.extend(pair.map(|p| (p, vec![n, at])));
            } else {
                chain.done.push(open.remove(0));
            }
        }
        chain.fill_up(waste, reach);
        chain
    }

    /// Gives two dots of its own to every window that has none, and marks those already there that it reaches.
    fn fill_up(&mut self, waste: &Waste, reach: Vec2) {
        for at in 0..self.done.len() {
            if self.dots.iter().filter(|d| d.1.contains(&at)).count() >= 2 {
                continue;
            }
            let it = self.done[at];
            let fits = |p: Point, q: Point| it.reaches(&[p, q], reach);
            if let Some((p, q)) = waste.farthest(it.limits(reach), fits) {
                self.done[at].needs = it.with(&[p, q]);
                self.dots.extend([p, q].map(|p| (p, vec![at])));
            }
        }
        // A window may show every dot within what it must reach anyway.
        for (p, list) in &mut self.dots {
            for (at, it) in self.done.iter().enumerate() {
                let b = mark_box(*p);
                let within = it.needs.union(b) == it.needs;
                if within && !list.contains(&at) {
                    list.push(at);
                }
            }
            list.sort_unstable();
        }
    }
}

/// The waste of one sheet as a raster.
struct Waste {
    bounds: Rect,
    pitch: f64,
    wide: usize,
    high: usize,
    /// Squares in the middle of which a dot may lie.
    free: Vec<bool>,
    /// What a dot must keep clear of: boxes and sides, with the distance to keep.
    sides: Vec<(Rect, Seg, f64)>,
    /// Loops that a dot must not lie in.
    gone: Vec<(Rect, Loop)>,
    sheet: Loop,
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "squares are few"
)]
impl Waste {
    fn of(group: &Group, layout: &Layout, ground: usize) -> Waste {
        let it = &group.grounds[ground];
        let sheet = it.sheet.outline.clone();
        let bounds = sheet.bounds();
        let pitch = PITCH.max((bounds.area() / MOST).sqrt());
        let (wide, high) =
            ((bounds.width() / pitch).ceil() as usize, (bounds.height() / pitch).ceil() as usize);
        let mut made = Waste {
            bounds,
            pitch,
            wide,
            high,
            free: vec![false; wide * high],
            sides: Vec::new(),
            gone: Vec::new(),
            sheet,
        };
        let least = Dot::RADIUS + Dot::CLEAR;
        let (to_edge, to_piece) = (least.max(it.edge), least + group.apart / 2.0);
        let outline = made.sheet.clone();
        made.paint(&outline, 0.0, true);
        made.keep_from(&outline, to_edge);
        for flaw in &it.sheet.flaws {
            made.paint(&flaw.outline, 0.0, false);
            made.keep_from(&flaw.outline, to_edge);
            made.gone.push((flaw.outline.bounds(), flaw.outline.clone()));
        }
        for used in &it.sheet.used {
            made.paint(&used.outline, group.apart, false);
            made.keep_from(&used.outline, to_piece);
            made.gone.push((used.outline.bounds(), used.outline.clone()));
        }
        for placed in layout.placed.iter().filter(|p| p.ground == ground && p.host.is_none()) {
            let Some(design) = group.pieces[placed.piece].turns.design(placed.stance) else {
                continue;
            };
            let outline = placed.pose.on_loop(design.shape.outline());
            made.paint(&outline, group.apart, false);
            made.keep_from(&outline, to_piece);
            made.gone.push((outline.bounds(), outline));
        }
        made.keep_largest();
        made
    }

    fn middle(&self, i: usize, j: usize) -> Point {
        Point::new(
            self.bounds.x0 + (i as f64 + 0.5) * self.pitch,
            self.bounds.y0 + (j as f64 + 0.5) * self.pitch,
        )
    }

    /// The squares from `low` to `high` (mm from the raster's corner), by number.
    fn range(&self, low: f64, high: f64, count: usize) -> std::ops::Range<usize> {
        let first = (low / self.pitch - 0.5).ceil().max(0.0) as usize;
        let end = (high / self.pitch + 0.5).floor().clamp(0.0, count as f64) as usize;
        first..end.max(first)
    }

    /// Sets all squares whose middle lies in a loop, grown by so much.
    fn paint(&mut self, it: &Loop, wider: f64, free: bool) {
        let points = flatten(it, 0.1, Side::Outside);
        for share in if wider > 0.0 { &[-1.0, -0.5, 0.0, 0.5, 1.0][..] } else { &[0.0] } {
            let up: f64 = share * wider;
            self.paint_rows(&points, up, (wider * wider - up * up).max(0.0).sqrt(), free);
        }
    }

    /// The same for a polygon that is moved up and made wider along x.
    fn paint_rows(&mut self, points: &[Point], up: f64, wider: f64, free: bool) {
        let low = points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min) + up;
        let high = points.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max) + up;
        for j in self.range(low - self.bounds.y0, high - self.bounds.y0, self.high) {
            let y = self.middle(0, j).y - up;
            let mut cuts: Vec<f64> = Vec::new();
            for k in 0..points.len() {
                let (a, b) = (points[k], points[(k + 1) % points.len()]);
                if (a.y <= y) != (b.y <= y) {
                    cuts.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                }
            }
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2) {
                let (low, high) =
                    (pair[0] - wider - self.bounds.x0, pair[1] + wider - self.bounds.x0);
                for i in self.range(low, high, self.wide) {
                    self.free[j * self.wide + i] = free;
                }
            }
        }
    }

    fn keep_from(&mut self, it: &Loop, by: f64) {
        self.sides.extend(it.segs().into_iter().map(|s| (s.bounds().inflate(by, by), s, by)));
    }

    /// Leaves only the largest piece of waste that hangs together.
    fn keep_largest(&mut self) {
        let mut number = vec![0_u32; self.free.len()];
        let mut largest = (0, 0);
        let mut count = 0;
        for start in 0..self.free.len() {
            if !self.free[start] || number[start] != 0 {
                continue;
            }
            count += 1;
            number[start] = count;
            let mut size = 0;
            let mut open = vec![start];
            while let Some(at) = open.pop() {
                size += 1;
                let i = at % self.wide;
                let around = [
                    (i > 0).then(|| at - 1),
                    (i + 1 < self.wide).then_some(at + 1),
                    at.checked_sub(self.wide),
                    Some(at + self.wide).filter(|to| *to < self.free.len()),
                ];
                for to in around.into_iter().flatten() {
                    if self.free[to] && number[to] == 0 {
                        number[to] = count;
                        open.push(to);
                    }
                }
            }
            if size > largest.0 {
                largest = (size, count);
            }
        }
        for (free, number) in self.free.iter_mut().zip(number) {
            *free = *free && number == largest.1;
        }
        self.keep_clear();
    }

    /// Takes out the squares round every side where no dot has room, as far as the raster tells.
    fn keep_clear(&mut self) {
        let sides = std::mem::take(&mut self.sides);
        for (b, seg, by) in &sides {
            let columns = self.range(b.x0 - self.bounds.x0, b.x1 - self.bounds.x0, self.wide);
            for j in self.range(b.y0 - self.bounds.y0, b.y1 - self.bounds.y0, self.high) {
                for i in columns.clone() {
                    let at = j * self.wide + i;
                    if self.free[at] && seg.distance_to(self.middle(i, j)) < *by {
                        self.free[at] = false;
                    }
                }
            }
        }
        self.sides = sides;
    }

    /// Whether a dot has room at a point, on the true arcs.
    fn is_clear(&self, p: Point) -> bool {
        let near = |b: &Rect| p.x >= b.x0 && p.x <= b.x1 && p.y >= b.y0 && p.y <= b.y1;
        self.sides.iter().all(|(b, seg, by)| !near(b) || seg.distance_to(p) >= *by)
            && point_in_loop(p, &self.sheet) == Where::Inside
            && self.gone.iter().all(|(b, it)| !near(b) || point_in_loop(p, it) == Where::Outside)
    }

    /// Two places in a box, as far apart as can be, that go together; none where they would be too near.
    fn farthest(
        &self,
        within: Rect,
        fits: impl Fn(Point, Point) -> bool,
    ) -> Option<(Point, Point)> {
        let room = within.inflate(-Dot::RADIUS, -Dot::RADIUS);
        if !(within.width() > 2.0 * Dot::RADIUS && within.height() > 2.0 * Dot::RADIUS) {
            return None;
        }
        let columns = self.range(room.x0 - self.bounds.x0, room.x1 - self.bounds.x0, self.wide);
        let rows = self.range(room.y0 - self.bounds.y0, room.y1 - self.bounds.y0, self.high);
        let open: Vec<Point> = rows
            .flat_map(|j| columns.clone().map(move |i| (i, j)))
            .filter(|(i, j)| self.free[j * self.wide + i])
            .map(|(i, j)| self.middle(i, j))
            .filter(|p| room.contains(*p))
            .collect();
        let mut ends: Vec<Point> = Vec::new();
        for k in 0..DIRECTIONS {
            let way =
                Vec2::from_angle(std::f64::consts::TAU * f64::from(k) / f64::from(DIRECTIONS));
            let mut far: Vec<(f64, Point)> = Vec::new();
            for p in &open {
                let score = p.to_vec2().dot(way);
                if far.len() < TRIES || score > far[far.len() - 1].0 {
                    let rank = far.partition_point(|f| f.0 >= score);
                    far.insert(rank, (score, *p));
                    far.truncate(TRIES);
                }
            }
            ends.extend(far.into_iter().map(|f| f.1).find(|p| self.is_clear(*p)));
        }
        let mut best: Option<(f64, Point, Point)> = None;
        for (n, p) in ends.iter().enumerate() {
            for q in &ends[n + 1..] {
                let span = (*p - *q).hypot();
                if span >= LEAST_SPAN && best.is_none_or(|b| span > b.0) && fits(*p, *q) {
                    best = Some((span, *p, *q));
                }
            }
        }
        best.map(|(_, p, q)| (p, q))
    }
}

#[cfg(test)]
mod tests;
