//! A long part once more in rows, larger, each broken off where the next goes on, with the place of every hole.
//!
//! Places are told from the left end and from the lower edge by figures at the end of short lines, with no dimension lines
//! between: running dimensions from one base.
//!
//! # Source
//! ISO 129-1:2018 has running dimensions from a common origin; that letters then stand along the extension line is from
//! memory. Break lines: thin and zigzag, ISO 128-2, from memory.

use super::super::template::clip::clipped;
use super::super::{Dash, Letters, Mark, scaled_loop, scaled_seg, straight};
use super::{PartDrawing, SCALES, Sheet, THICK, THIN};
use crate::geom::{Loop, Point, Rect, Seg, Vec2};
use crate::letters;

/// A part is long at so many times its width.
const LONG: f64 = 5.0;
/// It is drawn in rows where it else is drawn no larger than this.
const SMALL: f64 = 0.1;
/// Height of the figures (mm).
const LETTER: f64 = 2.0;
/// Two figures are no nearer than this (mm).
const NEAR: f64 = 2.9;
/// A figure may stand so far from its own place (mm).
const STRAIN: f64 = 3.5;
/// What is said of the rows, with the space below it (mm).
const HEAD: f64 = 7.0;
/// From the edge to a figure (mm).
const TICK: f64 = 2.5;
/// Between two rows (mm).
const GAP: f64 = 5.0;
/// No more rows than this.
const MOST: f64 = 6.0;
/// Two places nearer than this are one (mm).
const SAME: f64 = 0.02;

/// The rows at their scale.
pub(super) struct Rows<'a> {
    of: PartDrawing<'a>,
    scale: f64,
    named: &'static str,
    /// How many.
    count: f64,
    body: Rect,
    /// Places along the part and across it (mm), from its lower left corner.
    along: Vec<f64>,
    across: Vec<f64>,
    /// Room for the longest figure of each (mm on the page).
    figure: (f64, f64),
    /// Whether every other figure stands lower.
    staggered: bool,
}

impl<'a> Rows<'a> {
    /// The rows of a part that is shown at `scale` and takes `taken` of an area's height; none where it has no holes, is not
    /// long, or would be no larger.
    pub(super) fn fitting(
        of: &PartDrawing<'a>,
        scale: f64,
        taken: f64,
        area: Rect,
    ) -> Option<Rows<'a>> {
        let member = of.member;
        let own = member.shape.bounds();
        let body = of.design.map_or(own, |d| d.shape.bounds().union(own));
        let centres: Vec<Point> = member
            .shape
            .holes()
            .iter()
            .map(|hole| hole.bounds().center())
            .chain(member.punches.iter().map(|punch| punch.at))
            .collect();
        if body.width() < LONG * body.height() || scale > SMALL || centres.is_empty() {
            return None;
        }
        let along = places(centres.iter().map(|p| p.x - own.x0));
        let across = places(centres.iter().map(|p| p.y - own.y0));
        let wide = |list: &[f64]| {
            let text = |mm: &f64| letters::width(&of.style.plain(*mm, &member.sum), LETTER);
            list.iter().map(text).fold(0.0, f64::max)
        };
        let figure = (wide(&along), wide(&across));
        let room = area.height() - taken - 3.0;
        SCALES
            .iter()
            .filter(|(larger, _)| *larger > scale && *larger <= 1.0)
            .map(|(larger, named)| {
                let free = area.width() - figure.1 - TICK - 2.0;
                let count = (body.width() * larger / free).ceil();
                let row = body.width() / count;
                let staggered = strain(&along, row, *larger, 1) > STRAIN;
                Rows {
                    staggered,
                    of: *of,
                    scale: *larger,
                    named,
                    count,
                    body,
                    along: along.clone(),
                    across: across.clone(),
                    figure,
                }
            })
            .find(|rows| {
                let row = rows.body.width() / rows.count;
                let levels = if rows.staggered { 2 } else { 1 };
                rows.count <= MOST
                    && rows.height() <= room
                    && strain(&rows.along, row, rows.scale, levels) <= STRAIN
            })
    }

    /// From one row to the next (mm).
    fn pitch(&self) -> f64 {
        let figures = if self.staggered { 2.0 * self.figure.0 + 1.2 } else { self.figure.0 };
        self.body.height() * self.scale + TICK + figures + GAP
    }

    /// What they take of the page (mm).
    pub(super) fn height(&self) -> f64 {
        self.count * self.pitch() + HEAD
    }

    /// Draws them at the foot of an area.
    pub(super) fn draw(&self, area: Rect, sheet: &mut Sheet) {
        let step = self.body.width() / self.count;
        let left = area.x0 + self.figure.1 + TICK + 1.0;
        let mut n = 0.0;
        while n < self.count {
            let from = self.body.x0 + n * step;
            let top = area.y0 + self.height() - HEAD - n * self.pitch();
            let low = top - self.body.height() * self.scale;
            let by = Vec2::new(left - from * self.scale, low - self.body.y0 * self.scale);
            self.row((from, from + step), by, sheet);
            n += 1.0;
        }
        let rows = match self.count {
            one if one < 1.5 => "once more".to_owned(),
            count => format!("in {count} rows"),
        };
        let text = format!("{rows}, {}; places from the left end and the lower edge", self.named);
        sheet.note(text, Point::new(area.x0, area.y0 + self.height() - 3.5), LETTER);
    }

    /// One row: what lies between two places of the part.
    fn row(&self, (from, to): (f64, f64), by: Vec2, sheet: &mut Sheet) {
        let s = self.scale;
        let b = self.body;
        let first = from <= b.x0 + SAME;
        let last = to >= b.x1 - SAME;
        // Lines on the very edge of the box are within it.
        let part = Rect::new(from, b.y0 - 1.0, to, b.y1 + 1.0);
        let window = Rect::new(part.x0 * s, part.y0 * s, part.x1 * s, part.y1 * s) + by;
        let seen = |it: &Loop, weight: f64, dash: Dash| -> Vec<Mark> {
            let segs = it.segs();
            if it.bounds().x0 >= from - SAME && it.bounds().x1 <= to + SAME {
                return vec![Mark::Outline(scaled_loop(it, s, by), weight, dash)];
            }
            let on = segs.iter().map(|seg| scaled_seg(seg, s, by));
            on.flat_map(|seg| clipped(&seg, &window))
                .map(|seg| Mark::Line(vec![seg], weight, dash))
                .collect()
        };
        let member = self.of.member;
        let shape = self.of.design.map_or(&member.shape, |d| &d.shape);
        if *shape != member.shape {
            let finished = member.shape.loops().flat_map(|l| seen(l, THIN, Dash::Solid));
            sheet.finished.extend(finished);
        }
        sheet.edges.extend(seen(shape.outline(), THICK, Dash::Solid));
        sheet.holes.extend(shape.holes().iter().flat_map(|h| seen(h, THICK * 0.8, Dash::Solid)));
        for crease in &member.creases {
            let seg = scaled_seg(crease, s, by);
            let parts = clipped(&seg, &window);
            sheet
                .creases
                .extend(parts.into_iter().map(|c| Mark::Line(vec![c], THIN, Dash::Dashed(3.0))));
        }
        for punch in member.punches.iter().filter(|p| p.at.x >= from && p.at.x < to) {
            super::cross((punch.at.to_vec2() * s + by).to_point(), &mut sheet.punches);
        }
        let (low, high) = (b.y0 * s + by.y, b.y1 * s + by.y);
        for (x, broken) in [(from, !first), (to, !last)] {
            if broken {
                zigzag(x * s + by.x, low - 1.5, high + 1.5, sheet);
            }
        }
        self.figures((from, to), by, sheet);
        if first {
            self.heights(by, sheet);
        }
    }

    /// The places along the part, below a row.
    fn figures(&self, (from, to): (f64, f64), by: Vec2, sheet: &mut Sheet) {
        let own = self.of.member.shape.bounds();
        let low = self.body.y0 * self.scale + by.y;
        let here = self.along.iter().filter(|mm| (from..to).contains(&(own.x0 + **mm)));
        let mut comb = Comb::new(if self.staggered { 2 } else { 1 });
        for mm in here {
            let at = (own.x0 + mm) * self.scale + by.x;
            let (level, shown) = comb.next(at);
            let down = if level == 1 { self.figure.0 + 1.2 } else { 0.0 };
            let (top, knee) = (Point::new(at, low - 0.5), Point::new(shown, low - TICK));
            sheet.dimensions.push(straight(top, knee, 0.18));
            if level == 1 {
                sheet.dimensions.push(straight(knee, knee - Vec2::new(0.0, down), 0.18));
            }
            let text = self.of.style.plain(*mm, &self.of.member.sum);
            let wide = letters::width(&text, LETTER);
            let foot = Point::new(shown + LETTER / 2.0, low - TICK - 0.6 - wide - down);
            let words = Letters { turn: 90.0, ..Letters::new(text, foot, LETTER) };
            sheet.dimensions.push(Mark::Letters(words));
        }
    }

    /// The places across the part, left of the first row.
    fn heights(&self, by: Vec2, sheet: &mut Sheet) {
        let own = self.of.member.shape.bounds();
        let left = self.body.x0 * self.scale + by.x;
        let mut before = f64::NEG_INFINITY;
        for mm in &self.across {
            let at = (own.y0 + mm) * self.scale + by.y;
            let shown = at.max(before + NEAR);
            before = shown;
            let (edge, foot) = (Point::new(left - 0.5, at), Point::new(left - TICK, shown));
            sheet.dimensions.push(straight(edge, foot, 0.18));
            let text = self.of.style.plain(*mm, &self.of.member.sum);
            let wide = letters::width(&text, LETTER);
            let at = Point::new(left - TICK - 0.6 - wide, shown - LETTER / 2.0);
            sheet.dimensions.push(Mark::Letters(Letters::new(text, at, LETTER)));
        }
    }
}

/// How far the figures of rows so long (mm of the part) have to stand from their places, at most (mm on the page).
fn strain(along: &[f64], row: f64, scale: f64, levels: usize) -> f64 {
    let mut worst = 0.0_f64;
    let (mut comb, mut last) = (Comb::new(levels), -1.0);
    for mm in along {
        let here = (mm / row).floor();
        if here > last {
            (comb, last) = (Comb::new(levels), here);
        }
        worst = worst.max(comb.next(mm * scale).1 - mm * scale);
    }
    worst
}

/// Figures side by side on one or two levels, each as near to its place as those before it let it.
struct Comb {
    levels: usize,
    count: usize,
    /// Where the last two stand, the last one first.
    before: [f64; 2],
}

impl Comb {
    fn new(levels: usize) -> Comb {
        Comb { levels, count: 0, before: [f64::NEG_INFINITY; 2] }
    }

    /// The level of the next figure and where it stands (mm).
    fn next(&mut self, at: f64) -> (usize, f64) {
        // On two levels the line to the lower one passes between two figures of the upper.
        let shown = if self.levels == 1 {
            at.max(self.before[0] + NEAR)
        } else {
            at.max(self.before[0] + NEAR * 0.55).max(self.before[1] + NEAR)
        };
        let level = self.count % self.levels;
        self.before = [shown, self.before[0]];
        self.count += 1;
        (level, shown)
    }
}

/// Places in their order, each once.
fn places(all: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut list: Vec<f64> = all.collect();
    list.sort_by(f64::total_cmp);
    list.dedup_by(|a, b| (*a - *b).abs() < SAME);
    list
}

/// A thin line with a kink in its middle: the part goes on.
fn zigzag(x: f64, low: f64, high: f64, sheet: &mut Sheet) {
    let middle = f64::midpoint(low, high);
    let p = Point::new;
    let points = [
        p(x, low),
        p(x, middle - 1.2),
        p(x - 1.0, middle - 0.4),
        p(x + 1.0, middle + 0.4),
        p(x, middle + 1.2),
        p(x, high),
    ];
    let chain = points.windows(2).map(|w| Seg::line(w[0], w[1])).collect();
    sheet.finished.push(Mark::Line(chain, 0.18, Dash::Solid));
}
