//! A tour that is mended: stretches turned round, short stretches moved, starts chosen anew, nothing before what lies
//! in it; and shaken a little, to see whether it settles shorter.

use super::GAIN;
use super::near::Net;
use super::starts::Track;
use crate::geom::{Point, Rect};
use std::collections::VecDeque;

/// Stretches of at most so many contours are moved.
const STRETCH: usize = 8;
/// Of each contour so many others are looked at.
const NEIGHBOURS: usize = 14;
/// Nothing is moved or turned over more places of the order than this, so that large files do not take long.
const WINDOW: usize = 3000;
/// Starts are chosen anew so many times in a row at most.
const SWEEPS: usize = 8;
/// Starts that gain less in a sweep are settled (mm).
const SETTLED: f64 = 1e-3;
/// So many moves for each contour are enough.
const MOVES: usize = 60;

/// A shake swaps two stretches of at most so many contours.
const SHAKEN: u64 = 6;

/// An order of contours with their starts, from a point that stays first.
pub(super) struct Tour<'a> {
    tracks: &'a [Track],
    points: Vec<Point>,
    /// What each start was last chosen between, with the start: chosen again it would be the same.
    chosen: Vec<Option<(Point, Option<Point>, Point)>>,
    holders: &'a [Option<usize>],
    inside: Vec<Vec<usize>>,
    near: Vec<Vec<usize>>,
    /// The contours by place; the first is the way's own beginning.
    order: Vec<usize>,
    place: Vec<usize>,
}

impl<'a> Tour<'a> {
    pub(super) fn new(
        tracks: &'a [Track],
        holders: &'a [Option<usize>],
        from: Point,
        points: &[Point],
        sequence: &[usize],
    ) -> Tour<'a> {
        let n = tracks.len();
        let mut points = points.to_vec();
        points.push(from);
        let mut inside = vec![Vec::new(); n + 1];
        for (i, holder) in holders.iter().enumerate() {
            if let Some(holder) = holder {
                inside[*holder].push(i);
            }
        }
        let order: Vec<usize> = std::iter::once(n).chain(sequence.iter().copied()).collect();
        let place = vec![0; n + 1];
        let (chosen, near) = (vec![None; n + 1], Vec::new());
        let mut tour = Tour { tracks, points, chosen, holders, inside, near, order, place };
        tour.renumber(0, n);
        tour
    }

    /// The order without its beginning, each contour with its start.
    pub(super) fn sequence(&self) -> Vec<(usize, Point)> {
        self.order[1..].iter().map(|i| (*i, self.points[*i])).collect()
    }

    /// Way of the whole (mm).
    pub(super) fn length(&self) -> f64 {
        (0..self.order.len()).map(|k| self.step(k, k + 1)).sum()
    }

    /// Mends until nothing is gained.
    pub(super) fn mend(&mut self) {
        let boxes: Vec<Rect> = self.points.iter().map(|p| Rect::from_points(*p, *p)).collect();
        let net = Net::of_points(&boxes);
        self.near = (0..boxes.len()).map(|i| net.nearest_to(i, NEIGHBOURS)).collect();
        let all = 0..self.order.len();
        self.settle(all.clone());
        self.mend_from(all);
    }

    /// Mends from some places on, and wherever that leads.
    fn mend_from(&mut self, places: std::ops::Range<usize>) {
        let n = self.order.len();
        let mut queue: VecDeque<usize> = self.order[places].iter().copied().collect();
        let mut waiting = vec![false; n];
        for i in &queue {
            waiting[*i] = true;
        }
        let mut left = MOVES * n;
        while let Some(i) = queue.pop_front() {
            waiting[i] = false;
            while left > 0 {
                let Some(ends) = self.turn_at(i).or_else(|| self.move_at(i)) else { break };
                left -= 1;
                for end in ends {
                    let around = end.saturating_sub(2)..(end + 3).min(n);
                    self.settle(around.clone());
                    for k in around {
                        let j = self.order[k];
                        if !std::mem::replace(&mut waiting[j], true) {
                            queue.push_back(j);
                        }
                    }
                }
            }
        }
    }

    /// Gives the contours at some places the starts that are best between their neighbours, again and again.
    fn settle(&mut self, places: std::ops::Range<usize>) {
        for sweep in 0..SWEEPS {
            let mut gained = 0.0;
            for k in places.clone() {
                // Up and down by turns, so that what is gained at one end reaches the other.
                let k = if sweep % 2 == 0 { k } else { places.end - 1 - (k - places.start) };
                if k == 0 {
                    continue;
                }
                let (i, before) = (self.order[k], self.points[self.order[k - 1]]);
                let after = self.order.get(k + 1).map(|j| self.points[*j]);
                if self.chosen[i] == Some((before, after, self.points[i])) {
                    continue;
                }
                let old = self.step(k - 1, k) + self.step(k, k + 1);
                self.points[i] = self.tracks[i].between(self.points[i], before, after);
                self.chosen[i] = Some((before, after, self.points[i]));
                gained += old - self.step(k - 1, k) - self.step(k, k + 1);
            }
            if gained < SETTLED {
                break;
            }
        }
    }

    /// Swaps two stretches somewhere and mends round them, many times, and keeps what became shorter.
    pub(super) fn shake(&mut self, times: usize) {
        let n = self.order.len();
        if n < 8 {
            return;
        }
        let mut word: u64 = 0x9e37_79b9_7f4a_7c15;
        let mut chance = |below: u64| {
            // Xorshift: G. Marsaglia, Xorshift RNGs, 2003.
            word ^= word << 13;
            word ^= word >> 7;
            word ^= word << 17;
            #[allow(clippy::cast_possible_truncation, reason = "below a count of contours")]
            let drawn = (word % below.max(1)) as usize;
            drawn
        };
        let mut length = self.length();
        for _ in 0..times {
            let from = 1 + chance(n as u64 - 3);
            let middle = from + 1 + chance(SHAKEN);
            let end = middle + 1 + chance(SHAKEN);
            if end > n || !self.may_move(from, middle - 1, end - 1, false) {
                continue;
            }
            let kept = (self.order.clone(), self.place.clone(), self.points.clone());
            self.order[from..end].rotate_left(middle - from);
            self.renumber(from, end - 1);
            let around = from.saturating_sub(2)..(end + 2).min(n);
            self.settle(around.clone());
            self.mend_from(around);
            let now = self.length();
            if now < length - GAIN {
                length = now;
            } else {
                (self.order, self.place, self.points) = kept;
            }
        }
    }

    fn way(&self, i: usize, j: usize) -> f64 {
        (self.points[i] - self.points[j]).hypot()
    }

    /// Way from one place to another; none where there is no such place.
    fn step(&self, from: usize, to: usize) -> f64 {
        match (self.order.get(from), self.order.get(to)) {
            (Some(&i), Some(&j)) => self.way(i, j),
            _ => 0.0,
        }
    }

    /// Whether nothing in a stretch lies in anything else of it.
    fn may_turn(&self, from: usize, to: usize) -> bool {
        self.order[from..=to].iter().all(|i| self.holder_place(*i) > to)
    }

    /// Place of what a contour lies in; beyond all places where it lies in nothing.
    fn holder_place(&self, i: usize) -> usize {
        self.holders.get(i).copied().flatten().map_or(usize::MAX, |h| self.place[h])
    }

    fn renumber(&mut self, from: usize, to: usize) {
        for k in from..=to {
            self.place[self.order[k]] = k;
        }
    }

    /// Turns the first stretch round that brings a contour next to one near it and makes the way shorter.
    fn turn_at(&mut self, i: usize) -> Option<Vec<usize>> {
        let k = self.place[i];
        let last = self.order.len() - 1;
        for n in 0..self.near[i].len() {
            let j = self.near[i][n];
            let (q, near) = (self.place[j], self.way(i, j));
            // The stretch behind `i` up to `j`, or from `j` up to the one before `i`.
            let (from, to) = if q > k { (k + 1, q) } else { (q, k.wrapping_sub(1)) };
            let broken = if q > k { self.step(k, k + 1) } else { self.step(k.wrapping_sub(1), k) };
            if near >= broken {
                continue;
            }
            if from == 0 || to <= from || to - from > WINDOW || to > last {
                continue;
            }
            let old = self.step(from - 1, from) + self.step(to, to + 1);
            let new = self.step(from - 1, to) + self.step(from, to + 1);
            if new < old - GAIN && self.may_turn(from, to) {
                self.order[from..=to].reverse();
                self.renumber(from, to);
                return Some(vec![from, to]);
            }
        }
        None
    }

    /// Moves the best short stretch that begins or ends with a contour next to one near it.
    fn move_at(&mut self, i: usize) -> Option<Vec<usize>> {
        let k = self.place[i];
        let last = self.order.len() - 1;
        if k == 0 {
            return None;
        }
        let mut best: Option<(f64, usize, usize, usize, bool)> = None;
        for long in 1..=STRETCH {
            for first in [true, false] {
                let (from, to) = if first { (k, k + long - 1) } else { (k + 1 - long.min(k), k) };
                if from == 0 || to > last || to + 1 - from != long || (long == 1 && !first) {
                    continue;
                }
                let gone =
                    self.step(from - 1, from) + self.step(to, to + 1) - self.step(from - 1, to + 1);
                if gone <= GAIN {
                    continue;
                }
                for n in 0..self.near[i].len() {
                    let j = self.near[i][n];
                    if self.way(i, j) >= gone {
                        break;
                    }
                    self.try_beside(j, (from, to), gone, &mut best);
                }
            }
        }
        let (_, from, to, behind, turned) = best?;
        Some(self.put(from, to, behind, turned))
    }

    /// Tries a stretch before and behind a contour, either way round.
    fn try_beside(
        &self,
        j: usize,
        (from, to): (usize, usize),
        gone: f64,
        best: &mut Option<(f64, usize, usize, usize, bool)>,
    ) {
        let q = self.place[j];
        if (from..=to).contains(&q) {
            return;
        }
        let (head, tail) = (self.order[from], self.order[to]);
        for behind in [q.wrapping_sub(1), q] {
            // Behind the place before the stretch is where it is.
            if behind >= self.order.len() || (from - 1..=to).contains(&behind) {
                continue;
            }
            let (a, b) = (self.order[behind], self.order.get(behind + 1));
            for turned in [false, true] {
                let (first, last) = if turned { (tail, head) } else { (head, tail) };
                let added =
                    self.way(a, first) + b.map_or(0.0, |b| self.way(last, *b) - self.way(a, *b));
                let gain = gone - added;
                if gain > GAIN
                    && best.is_none_or(|b| gain > b.0 + 1e-12)
                    && self.may_move(from, to, behind, turned)
                {
                    *best = Some((gain, from, to, behind, turned));
                }
            }
        }
    }

    fn may_move(&self, from: usize, to: usize, behind: usize, turned: bool) -> bool {
        let far = if behind > to { behind - to } else { from - behind };
        if far > WINDOW || (turned && !self.may_turn(from, to)) {
            return false;
        }
        let stretch = &self.order[from..=to];
        if behind > to {
            // What it lies in must stay behind it.
            stretch.iter().all(|i| {
                let holder = self.holder_place(*i);
                holder <= to || holder > behind
            })
        } else {
            // What lies in it must stay before it.
            stretch.iter().all(|i| {
                self.inside[*i].iter().all(|j| {
                    let place = self.place[*j];
                    place <= behind || place >= from
                })
            })
        }
    }

    /// Puts a stretch behind a place.
    fn put(&mut self, from: usize, to: usize, behind: usize, turned: bool) -> Vec<usize> {
        if turned {
            self.order[from..=to].reverse();
        }
        let long = to + 1 - from;
        if behind > to {
            self.order[from..=behind].rotate_left(long);
            self.renumber(from, behind);
            vec![from, behind + 1 - long, behind]
        } else {
            self.order[behind + 1..=to].rotate_right(long);
            self.renumber(behind + 1, to);
            vec![behind + 1, behind + long, to]
        }
    }
}
