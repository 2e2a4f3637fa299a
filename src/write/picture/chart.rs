//! Strip charts of what was measured: a chart a key, places along x, figures along y, so that a wrong row is seen at a
//! glance.
//!
//! A full square was written for its place, a hollow ring is what the part says of all; what stands out by the rule of
//! `check` (W03) is a large triangle on a tinted stripe, beyond the scale where it would press the others flat. Odd
//! places say their figure as it was written. Pages are those of the part drawings; one holds up to five strips of up
//! to a hundred places.

mod strip;
mod words;

use super::part::{FRAME, PAGE};
use super::{Letters, Mark, Picture, PictureLayer, palette, straight};
use crate::geom::{Point, Rect, Seg};
use crate::letters;
use crate::part::{Cell, Column};
use crate::units::Unit;
use strip::Strip;

/// Height of the foot with the title (mm).
const FOOT: f64 = 13.0;
/// Height of what the marks mean (mm).
const LEGEND: f64 = 12.0;
/// From the frame to the strips (mm): left, with the figures of the scale, and right.
const SIDES: (f64, f64) = (17.0, 5.0);
/// A page holds so many strips, and a strip is no higher (mm).
const MOST_STRIPS: usize = 5;
/// See [`MOST_STRIPS`].
const HIGHEST: f64 = 76.0;
/// A strip holds so many places: more would be too near to each other to be told apart.
const MOST_PLACES: usize = 100;
/// Height of letters (mm).
const LETTER: f64 = 2.1;

/// The strip charts of a part's columns, page by page; `unit` is that of the scale.
///
/// # Units
/// Millimetres on pages of 180 by 240.
pub fn place_charts(title: &str, columns: &[Column], unit: Unit) -> Vec<Picture> {
    let mut strips: Vec<Given<'_>> = Vec::new();
    for column in columns {
        let scale = Scale::of(column, unit);
        let usual = column.usual();
        let many = column.cells.len().div_ceil(MOST_PLACES).max(1);
        let each = column.cells.len().div_ceil(many).max(1);
        for (cells, usual) in column.cells.chunks(each).zip(usual.chunks(each)) {
            strips.push(Given { column, cells, usual: usual.to_vec(), scale: scale.clone() });
        }
    }
    let pages = strips.len().div_ceil(MOST_STRIPS).max(1);
    let each = strips.len().div_ceil(pages).max(1);
    let many = strips.chunks(each).len();
    let page = |(n, strips): (usize, &[Given<'_>])| {
        let title =
            if many == 1 { title.to_owned() } else { format!("{title}, page {} of {many}", n + 1) };
        let mut drawn = Drawn::default();
        #[allow(clippy::cast_precision_loss, reason = "a few strips")]
        let high = ((PAGE.1 - 2.0 * FRAME - FOOT - LEGEND - 4.0) / each as f64).min(HIGHEST);
        let mut top = PAGE.1 - FRAME - 3.0;
        for given in strips {
            let area =
                Rect::new(FRAME + SIDES.0, top - high + 7.0, PAGE.0 - FRAME - SIDES.1, top - 7.0);
            Strip::new(given, area).draw(&mut drawn);
            top -= high;
        }
        legend(strips, &mut drawn);
        foot(&title, &mut drawn);
        drawn.picture(&title)
    };
    strips.chunks(each).enumerate().map(page).collect()
}

/// A strip that is to be drawn.
struct Given<'a> {
    column: &'a Column,
    cells: &'a [Cell],
    /// What is usual at each of its places.
    usual: Vec<f64>,
    scale: Scale,
}

/// Where figures come to lie in a strip: what is usual fills it, what stands out lies beyond.
#[derive(Debug, Clone)]
struct Scale {
    /// Ends of the scale (mm, or counts).
    low: f64,
    high: f64,
    /// Whether something lies below, or above.
    below: bool,
    above: bool,
    /// Millimetres of a step's unit; 1 for counts.
    each: f64,
    unit: String,
}

impl Scale {
    /// A scale is no narrower than this share of its middle figure: the last hundredth is no slip.
    const LEAST: f64 = 0.06;

    fn of(column: &Column, unit: Unit) -> Scale {
        let usual = column.cells.iter().filter(|cell| cell.stand.is_none()).map(|cell| cell.value);
        let values: Vec<f64> = usual.collect();
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        let least = ((low + high) / 2.0).abs() * Scale::LEAST;
        let room = (high - low).max(least).max(if column.counted { 2.0 } else { 0.1 });
        let spare = (room - (high - low)) / 2.0 + 0.12 * room;
        let (low, high) = (low - spare, high + spare);
        let beyond = |out: &dyn Fn(f64) -> bool| column.cells.iter().any(|cell| out(cell.value));
        let (each, unit) = match unit {
            _ if column.counted => (1.0, String::new()),
            unit => (unit.millimetres(), unit.to_string()),
        };
        let (below, above) = (beyond(&|v| v < low), beyond(&|v| v > high));
        Scale { low, high, below, above, each, unit }
    }

    /// Round figures of the scale with their texts, no more than seven.
    fn ticks(&self) -> Vec<(f64, String)> {
        let (low, high) = (self.low / self.each, self.high / self.each);
        // Counts have no halves.
        let least = if self.unit.is_empty() { 1.0 } else { 0.0 };
        let raw = ((high - low) / 6.0).max(least);
        let power = 10_f64.powf(raw.log10().floor());
        let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
        let step = steps.into_iter().find(|step| *step >= raw * 0.999).unwrap_or(raw);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 9")]
        let decimals = (-step.log10().floor()).clamp(0.0, 9.0) as usize;
        let first = (low / step).ceil();
        let figures = (0..12).map(|n| (first + f64::from(n)) * step);
        figures
            .take_while(|at| *at <= high)
            .map(|at| (at * self.each, format!("{at:.decimals$}")))
            .collect()
    }
}

/// Marks by layer while a page is being drawn.
#[derive(Default)]
struct Drawn {
    tint: Vec<Mark>,
    frame: Vec<Mark>,
    line: Vec<Mark>,
    taken: Vec<Mark>,
    typed: Vec<Mark>,
    odd: Vec<Mark>,
    words: Vec<Mark>,
}

impl Drawn {
    fn word(&mut self, text: impl Into<String>, at: Point, height: f64) {
        self.words.push(Mark::Letters(Letters::new(text, at, height)));
    }

    fn picture(self, title: &str) -> Picture {
        let layer = |name, colour, marks| PictureLayer { name, colour, marks };
        let layers = vec![
            layer("TINT", palette::ORANGE, self.tint),
            layer("FRAME", palette::GREY, self.frame),
            layer("LINE", palette::BLUE, self.line),
            layer("TAKEN", palette::GREY, self.taken),
            layer("TYPED", palette::BLACK, self.typed),
            layer("ODD", palette::BLACK, self.odd),
            layer("WORDS", palette::BLACK, self.words),
        ];
        Picture { width: PAGE.0, height: PAGE.1, title: title.to_owned(), layers }
    }
}

/// What the marks mean, those that were drawn.
fn legend(strips: &[Given<'_>], drawn: &mut Drawn) {
    let (left, y) = (FRAME + 4.0, FRAME + FOOT + 7.4);
    let mut x = left + 1.5;
    let mut entry = |drawn: &mut Drawn, text: &str, wide: f64, draw: fn(Point, &mut Drawn)| {
        draw(Point::new(x, y), drawn);
        drawn.word(text, Point::new(x + wide, y - LETTER / 2.0), LETTER);
        x += wide + letters::width(text, LETTER) + 7.0;
    };
    let any = |which: fn(&Cell) -> bool| strips.iter().flat_map(|it| it.cells).any(which);
    entry(drawn, "written for this place", 2.6, |at, d| strip::full(at, 1.0, &mut d.typed));
    if any(|cell| !cell.typed) {
        entry(drawn, "as the part says", 2.6, |at, d| strip::hollow(at, 0.8, &mut d.taken));
    }
    if any(|cell| cell.stand.is_some()) {
        entry(drawn, "stands out from the others (W03): look again", 3.4, |at, d| {
            strip::triangle(at, true, &mut d.odd);
        });
    }
    let own = |it: &&Given<'_>| it.column.own().is_some();
    let owns = strips.iter().filter(own).count();
    let line = "whole line: what the part says of all";
    let broken = "broken line: the middle of nine neighbours";
    let said = match owns {
        0 => broken.to_owned(),
        n if n == strips.len() => line.to_owned(),
        _ => format!("{line}; {broken}"),
    };
    drawn.word(said, Point::new(left, y - 5.4), LETTER);
}

/// The frame, and the title in its foot.
fn foot(title: &str, drawn: &mut Drawn) {
    let (left, right, top) = (FRAME, PAGE.0 - FRAME, PAGE.1 - FRAME);
    let corners = [(left, FRAME), (right, FRAME), (right, top), (left, top)];
    let sides = (0..4).map(|i| Seg::line(corners[i].into(), corners[(i + 1) % 4].into()));
    drawn.frame.push(Mark::Line(sides.collect(), 0.35, super::Dash::Solid));
    let y = FRAME + FOOT;
    drawn.frame.push(straight(Point::new(left, y), Point::new(right, y), 0.35));
    let height = letters::height_within(title, right - left - 8.0, 4.5);
    drawn.word(title, Point::new(left + 4.0, FRAME + (FOOT - height) / 2.0), height);
}
