//! What lies near a point, by a net of square cells.

use crate::geom::{Point, Rect};
use std::collections::BTreeMap;

/// A net over the plane.
pub(super) struct Net<'a> {
    boxes: &'a [Rect],
    size: f64,
    cells: BTreeMap<(i32, i32), Vec<usize>>,
    /// What is larger than a cell.
    large: Vec<usize>,
    /// Cells that are or were used: least and most.
    reach: (i32, i32, i32, i32),
    count: usize,
}

impl<'a> Net<'a> {
    fn new(boxes: &'a [Rect]) -> Net<'a> {
        let all = boxes.iter().copied().reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
        #[allow(clippy::cast_precision_loss, reason = "a count of contours")]
        let count = boxes.len().max(1) as f64;
        let size = (all.area() / count).sqrt().max(all.width().max(all.height()) / 1000.0).max(1.0);
        Net {
            boxes,
            size,
            cells: BTreeMap::new(),
            large: Vec::new(),
            reach: (i32::MAX, i32::MAX, i32::MIN, i32::MIN),
            count: 0,
        }
    }

    /// A net in which every box lies in all cells it covers.
    pub(super) fn of_boxes(boxes: &'a [Rect]) -> Net<'a> {
        let mut net = Net::new(boxes);
        for (i, b) in boxes.iter().enumerate() {
            let (low, high) = (net.cell(b.origin()), net.cell(Point::new(b.x1, b.y1)));
            if i64::from(high.0 - low.0 + 1) * i64::from(high.1 - low.1 + 1) > 400 {
                net.large.push(i);
                continue;
            }
            for cell in (low.0..=high.0).flat_map(|x| (low.1..=high.1).map(move |y| (x, y))) {
                net.cells.entry(cell).or_default().push(i);
            }
        }
        net
    }

    /// A net for boxes by their middles, empty yet.
    pub(super) fn of_middles(boxes: &'a [Rect]) -> Net<'a> {
        Net::new(boxes)
    }

    /// A net of points.
    pub(super) fn of_points(boxes: &'a [Rect]) -> Net<'a> {
        let mut net = Net::new(boxes);
        for i in 0..boxes.len() {
            net.add(i);
        }
        net
    }

    #[allow(clippy::cast_possible_truncation, reason = "at most a thousand cells a side")]
    fn cell(&self, p: Point) -> (i32, i32) {
        ((p.x / self.size).floor() as i32, (p.y / self.size).floor() as i32)
    }

    /// What may hold a point.
    pub(super) fn at(&self, p: Point) -> Vec<usize> {
        let mut found = self.cells.get(&self.cell(p)).cloned().unwrap_or_default();
        found.extend(&self.large);
        found
    }

    /// Puts a box in by its middle.
    pub(super) fn add(&mut self, i: usize) {
        self.count += 1;
        let b = self.boxes[i];
        if b.width().hypot(b.height()) > 2.0 * self.size {
            self.large.push(i);
            return;
        }
        let cell = self.cell(b.center());
        let r = &mut self.reach;
        *r = (r.0.min(cell.0), r.1.min(cell.1), r.2.max(cell.0), r.3.max(cell.1));
        self.cells.entry(cell).or_default().push(i);
    }

    /// Cells at so many steps from a cell, as far as any are used; none where all lie nearer.
    fn ring(&self, middle: (i32, i32), steps: i32) -> Option<Vec<(i32, i32)>> {
        let (x0, y0, x1, y1) = self.reach;
        let (left, low) = (middle.0 - steps, middle.1 - steps);
        let (right, high) = (middle.0 + steps, middle.1 + steps);
        if x0 > x1 || (left < x0 && low < y0 && right > x1 && high > y1) {
            return None;
        }
        let across = left.max(x0)..=right.min(x1);
        let up = (low + 1).max(y0)..=(high - 1).min(y1);
        let mut ring: Vec<(i32, i32)> = Vec::new();
        for y in if steps == 0 { vec![low] } else { vec![low, high] } {
            if (y0..=y1).contains(&y) {
                ring.extend(across.clone().map(|x| (x, y)));
            }
        }
        for x in [left, right] {
            if steps > 0 && (x0..=x1).contains(&x) {
                ring.extend(up.clone().map(|y| (x, y)));
            }
        }
        Some(ring)
    }

    /// Takes the one out that `way` says is nearest, with the point there; `way` is given the least distance so far
    /// and may give none for what is no nearer.
    pub(super) fn take_nearest(
        &mut self,
        at: Point,
        way: impl Fn(usize, f64) -> Option<(f64, Point)>,
    ) -> Option<(usize, Point)> {
        if self.count == 0 {
            return None;
        }
        let mut best: Option<(f64, usize, Point)> = None;
        let look = |i: usize, best: &mut Option<(f64, usize, Point)>| {
            let least = best.map_or(f64::INFINITY, |b| b.0);
            let Some((far, p)) = way(i, least) else { return };
            if best.is_none_or(|b| far < b.0 || (far <= b.0 && i < b.1)) {
                *best = Some((far, i, p));
            }
        };
        for &i in &self.large {
            look(i, &mut best);
        }
        let middle = self.cell(at);
        let first = self.first_ring(middle);
        for steps in first.. {
            let Some(ring) = self.ring(middle, steps) else { break };
            // A box reaches at most one cell from its middle.
            if best.is_some_and(|b| b.0 < self.size * (f64::from(steps) - 2.0)) {
                break;
            }
            for &i in ring.iter().filter_map(|cell| self.cells.get(cell)).flatten() {
                look(i, &mut best);
            }
        }
        let (_, i, p) = best?;
        self.take(i);
        Some((i, p))
    }

    /// Steps to the nearest cell that may be used.
    fn first_ring(&self, middle: (i32, i32)) -> i32 {
        let (x0, y0, x1, y1) = self.reach;
        if x0 > x1 {
            return 0;
        }
        let out = |at: i32, low: i32, high: i32| (low - at).max(at - high).max(0);
        out(middle.0, x0, x1).max(out(middle.1, y0, y1))
    }

    fn take(&mut self, i: usize) {
        self.count -= 1;
        if let Some(k) = self.large.iter().position(|j| *j == i) {
            self.large.remove(k);
            return;
        }
        let cell = self.cell(self.boxes[i].center());
        if let Some(list) = self.cells.get_mut(&cell) {
            list.retain(|j| *j != i);
            if list.is_empty() {
                self.cells.remove(&cell);
            }
        }
    }

    /// The nearest points to a point of the net, itself left out: at most `count`, the nearest first.
    pub(super) fn nearest_to(&self, own: usize, count: usize) -> Vec<usize> {
        let at = self.boxes[own].origin();
        let far = |j: usize| (self.boxes[j].origin() - at).hypot2();
        let mut found: Vec<usize> = Vec::new();
        let middle = self.cell(at);
        for steps in 0.. {
            let Some(ring) = self.ring(middle, steps) else { break };
            found.extend(
                ring.iter()
                    .filter_map(|cell| self.cells.get(cell))
                    .flatten()
                    .copied()
                    .filter(|j| *j != own),
            );
            // One ring more than it takes: corners of a cell are farther than its sides.
            if found.len() >= 2 * count && steps > 0 {
                break;
            }
        }
        found.sort_by(|a, b| far(*a).total_cmp(&far(*b)).then(a.cmp(b)));
        found.truncate(count);
        found
    }
}
