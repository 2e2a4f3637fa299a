//! One strip: scale, line, marks and numbers of places.

use super::words::{Board, Said};
use super::{Drawn, Given, LETTER, Scale};
use crate::geom::{Loop, Point, Rect, Seg, Vec2, rectangle};
use crate::letters;
use crate::part::Cell;
use crate::write::picture::{Dash, Letters, Mark, palette, straight};

/// Half the width of a mark (mm): at most, and against the way from place to place.
const HALF: (f64, f64) = (1.05, 0.42);
/// Half the width of a triangle (mm).
const BIG: f64 = 1.5;
/// Height of what lies beyond the scale (mm).
const BEYOND: f64 = 6.4;
/// Where more than one in so many places differ, not each of them is named.
const MOST_NAMED: usize = 3;
/// There a place is named whose figure is so many times as far off as the middle one of them.
///
/// # Source
/// Our choice.
const FAR: f64 = 3.0;
/// Light tint of what stands out: orange, thinned with white.
const TINT: &str = "#FBE3C0";

/// Places of a column in a row.
pub(super) struct Strip<'a> {
    given: &'a Given<'a>,
    cells: &'a [Cell],
    scale: &'a Scale,
    area: Rect,
    /// Foot and head of the scale on the page.
    foot: f64,
    head: f64,
    pitch: f64,
    /// Half the width of a mark.
    half: f64,
}

impl<'a> Strip<'a> {
    pub(super) fn new(given: &'a Given<'a>, area: Rect) -> Strip<'a> {
        let scale = &given.scale;
        let foot = area.y0 + if scale.below { BEYOND } else { 0.0 };
        let head = area.y1 - if scale.above { BEYOND } else { 0.0 };
        #[allow(clippy::cast_precision_loss, reason = "a count of places")]
        let pitch = area.width() / given.cells.len().max(1) as f64;
        let half = (pitch * HALF.1).min(HALF.0);
        Strip { given, cells: given.cells, scale, area, foot, head, pitch, half }
    }

    #[allow(clippy::cast_precision_loss, reason = "a count of places")]
    fn x(&self, n: usize) -> f64 {
        self.area.x0 + (n as f64 + 0.5) * self.pitch
    }

    /// Where a figure comes to lie; beyond the scale in the middle of what is left there for it.
    fn y(&self, value: f64) -> f64 {
        let Scale { low, high, .. } = self.scale;
        if value > *high {
            self.head + BEYOND * 0.5
        } else if value < *low {
            self.foot - BEYOND * 0.5
        } else {
            self.foot + (value - low) / (high - low) * (self.head - self.foot)
        }
    }

    pub(super) fn draw(&self, drawn: &mut Drawn) {
        let mut board = Board::new(self.area);
        self.grid(drawn);
        self.line(&mut board, drawn);
        let half = self.half;
        for (n, cell) in self.cells.iter().enumerate() {
            let at = Point::new(self.x(n), self.y(cell.value));
            let foot = Point::new(at.x, self.y(self.given.usual[n]));
            let far = (foot.y - at.y).abs() > half;
            if far && (cell.typed || cell.stand.is_some()) {
                drawn.typed.push(straight(foot, at, 0.15));
                board.take(Rect::from_points(foot, at).inflate(0.2, 0.0));
            }
            let size = if cell.stand.is_some() {
                self.stripe(at.x, drawn);
                triangle(at, self.is_above(n), &mut drawn.odd);
                BIG
            } else if cell.typed {
                full(at, half, &mut drawn.typed);
                half
            } else {
                hollow(at, half * 0.8, &mut drawn.taken);
                half
            };
            board.take(Rect::from_center_size(at, (2.0 * size, 2.0 * size)));
        }
        self.numbers(drawn);
        let unsaid = self.say(&mut board, drawn);
        self.heading(unsaid, drawn);
    }

    /// What is usual: level, or step by step.
    fn line(&self, board: &mut Board, drawn: &mut Drawn) {
        let dash = if self.given.column.own().is_some() { Dash::Solid } else { Dash::Dashed(1.6) };
        let mut steps: Vec<(f64, f64, f64)> = Vec::new();
        for (n, usual) in self.given.usual.iter().enumerate() {
            let (x, y) = (self.x(n), self.y(*usual));
            let (from, to) = (x - self.pitch / 2.0, x + self.pitch / 2.0);
            match steps.last_mut() {
                Some((_, end, level)) if level.to_bits() == y.to_bits() => *end = to,
                _ => steps.push((from, to, y)),
            }
        }
        for (from, to, y) in steps {
            let (a, b) = (Point::new(from, y), Point::new(to, y));
            drawn.line.push(Mark::Line(vec![Seg::line(a, b)], 0.3, dash));
            board.take(Rect::from_points(a, b).inflate(0.0, 0.3));
        }
    }

    fn is_above(&self, n: usize) -> bool {
        self.cells[n].value >= self.given.usual[n]
    }

    /// Frame, steps of the scale with their figures, and a broken line where the scale ends.
    fn grid(&self, drawn: &mut Drawn) {
        let Rect { x0, x1, y0, y1 } = self.area;
        let across = |y: f64| (Point::new(x0, y), Point::new(x1, y));
        for (value, text) in self.scale.ticks() {
            let y = self.y(value);
            let (a, b) = across(y);
            drawn.frame.push(straight(a - Vec2::new(1.0, 0.0), b, 0.1));
            let wide = letters::width(&text, LETTER);
            drawn.word(text, Point::new(x0 - 2.0 - wide, y - LETTER / 2.0), LETTER);
        }
        for (is, y) in [(self.scale.below, self.foot), (self.scale.above, self.head)] {
            if is {
                let (a, b) = across(y);
                drawn.frame.push(Mark::Line(vec![Seg::line(a, b)], 0.25, Dash::Dashed(1.2)));
            }
        }
        let corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
        let sides = (0..4).map(|i| Seg::line(corners[i].into(), corners[(i + 1) % 4].into()));
        drawn.frame.push(Mark::Line(sides.collect(), 0.25, Dash::Solid));
    }

    /// The key, its unit, its places, what the part says, and how many odd places found no room for their name.
    fn heading(&self, unsaid: usize, drawn: &mut Drawn) {
        let y = self.area.y1 + 1.6;
        let column = self.given.column;
        let unit = match self.scale.unit.as_str() {
            "" => String::new(),
            unit => format!(", {unit}"),
        };
        let places = match (self.cells.first(), self.cells.last()) {
            (Some(a), Some(b)) if self.cells.len() < column.cells.len() => {
                format!(", places {} to {}", a.position, b.position)
            }
            _ => String::new(),
        };
        let head = format!("{}{unit}{places}", column.key);
        drawn.word(head.clone(), Point::new(self.area.x0, y), 3.0);
        let own = column.own().map(|(_, text)| format!("the part says {}", short(text)));
        let rest = (unsaid > 0).then(|| format!("{unsaid} more that differ are not named"));
        let said: Vec<String> = own.into_iter().chain(rest).collect();
        if said.is_empty() {
            return;
        }
        let said = said.join("; ");
        let room = self.area.width() - letters::width(&head, 3.0) - 6.0;
        let height = letters::height_within(&said, room, LETTER);
        let wide = letters::width(&said, height);
        drawn.word(said, Point::new(self.area.x1 - wide, y), height);
    }

    /// A tinted stripe from foot to head: it shows in grey too.
    fn stripe(&self, x: f64, drawn: &mut Drawn) {
        let (from, to) = ((x - BIG).max(self.area.x0), (x + BIG).min(self.area.x1));
        let corner = Point::new(from, self.area.y0);
        if let Ok(stripe) = rectangle(corner, to - from, self.area.height(), 0.0) {
            drawn.tint.push(Mark::Ground(vec![stripe], TINT));
        }
    }

    /// Numbers of places at even steps, as many as have room, and a tick for every place.
    fn numbers(&self, drawn: &mut Drawn) {
        let last = self.cells.iter().map(|cell| cell.position).max().unwrap_or(1);
        let wide = letters::width(&last.to_string(), LETTER) + 1.6;
        let step = [1, 2, 5, 10, 20, 50, 100, 200, 500]
            .into_iter()
            .find(|step| self.pitch * f64::from(*step) >= wide)
            .unwrap_or(1000);
        let shown = |n: usize, cell: &Cell| n == 0 || cell.position.is_multiple_of(step);
        let mut free = f64::NEG_INFINITY;
        let mut before: Option<u32> = None;
        for (n, cell) in self.cells.iter().enumerate() {
            let foot = Point::new(self.x(n), self.area.y0);
            let named = shown(n, cell) && foot.x - wide / 2.0 >= free;
            let long = if named { 1.4 } else { 0.7 };
            drawn.frame.push(straight(foot, foot - Vec2::new(0.0, long), 0.15));
            if before.is_some_and(|before| before + 1 != cell.position) {
                // Places that the part does not have.
                let x = foot.x - self.pitch / 2.0;
                let ends = (Point::new(x, self.area.y0), Point::new(x, self.area.y1));
                let gap = vec![Seg::line(ends.0, ends.1)];
                drawn.frame.push(Mark::Line(gap, 0.15, Dash::Dotted(0.8)));
            }
            before = Some(cell.position);
            if named {
                free = foot.x + wide / 2.0;
                let about = Point::new(foot.x, self.area.y0 - 3.2);
                let number = cell.position.to_string();
                drawn.words.push(Mark::Letters(Letters::centred(&number, about, LETTER)));
            }
        }
    }

    /// How far off what is usual a figure must be to be named: at all, or, where most differ because each was measured,
    /// well beyond what they differ by.
    fn odd_from(&self) -> f64 {
        let off = self.cells.iter().zip(&self.given.usual).map(|(cell, usual)| cell.value - usual);
        let mut off: Vec<f64> = off.map(f64::abs).filter(|off| *off > 0.0).collect();
        if MOST_NAMED * off.len() <= self.cells.len() {
            return 0.0;
        }
        off.sort_by(f64::total_cmp);
        off.get(off.len() / 2).map_or(0.0, |middle| FAR * middle)
    }

    /// Names odd places with their figures as written: first what stands out, then the shortest runs, the farthest off
    /// first. Gives how many found no room.
    fn say(&self, board: &mut Board, drawn: &mut Drawn) -> usize {
        let usual = &self.given.usual;
        let from = self.odd_from();
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for (n, cell) in self.cells.iter().enumerate() {
            let off = (cell.value - usual[n]).abs();
            let is_odd = cell.stand.is_some() || (cell.typed && off > 0.0 && off >= from);
            if !is_odd {
                continue;
            }
            match runs.last_mut() {
                Some((_, end)) if *end + 1 == n && self.alike(n, n - 1) => *end = n,
                _ => runs.push((n, n)),
            }
        }
        let order = |(from, to): (usize, usize)| {
            let cell = &self.cells[from];
            ((cell.stand.is_none(), to - from), (cell.value - usual[from]).abs())
        };
        runs.sort_by(|a, b| {
            let (a, b) = (order(*a), order(*b));
            a.0.cmp(&b.0).then(b.1.total_cmp(&a.1))
        });
        let mut unsaid = 0;
        for (from, to) in runs {
            let cell = &self.cells[from];
            let (a, b) = (cell.position, self.cells[to].position);
            let places = if a == b { a.to_string() } else { format!("{a}-{b}") };
            let stands = cell.stand.is_some();
            let said = Said {
                text: format!("{places}: {}", short(&cell.text)),
                at: Point::new(f64::midpoint(self.x(from), self.x(to)), self.y(cell.value)),
                half: if stands { BIG } else { self.half },
                height: if stands { 2.6 } else { LETTER },
            };
            let marks = if stands { &mut drawn.odd } else { &mut drawn.words };
            if !board.say(&said, marks) {
                unsaid += to - from + 1;
            }
        }
        unsaid
    }

    fn alike(&self, n: usize, m: usize) -> bool {
        let (a, b) = (&self.cells[n], &self.cells[m]);
        a.text == b.text && a.typed == b.typed && a.stand == b.stand
    }
}

/// A figure as written, cut short where it is a list of readings.
fn short(text: &str) -> String {
    const MOST: usize = 16;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST - 1).chain(['…']).collect()
}

/// A full square.
pub(super) fn full(at: Point, half: f64, marks: &mut Vec<Mark>) {
    if let Ok(square) = rectangle(at - Vec2::new(half, half), 2.0 * half, 2.0 * half, 0.0) {
        marks.push(Mark::Ground(vec![square], palette::BLACK));
    }
}

/// A hollow ring.
pub(super) fn hollow(at: Point, radius: f64, marks: &mut Vec<Mark>) {
    marks.push(Mark::Outline(Loop::Circle(at, radius), 0.18, Dash::Solid));
}

/// A large triangle, its tip to where it stands out.
pub(super) fn triangle(at: Point, up: bool, marks: &mut Vec<Mark>) {
    let way = if up { 1.0 } else { -1.0 };
    let ends = [(0.0, BIG * way), (-BIG, -BIG * way), (BIG, -BIG * way)];
    let points = ends.map(|(x, y)| at + Vec2::new(x, y));
    if let Ok(it) = crate::geom::polygon(&points) {
        marks.push(Mark::Ground(vec![it.clone()], palette::VERMILION));
        marks.push(Mark::Outline(it, 0.3, Dash::Solid));
    }
}
