//! Dimension lines: stacked outside the part, the shortest nearest, letters that never overlap.
//!
//! Takes figures of a part in page millimetres; gives marks and the box they fill. Lines stand 10 mm off the part and
//! 8 mm from one another, letters above the line, read from the bottom or from the right; where the span is too short
//! for its letters they stand beside it.
//!
//! # Source
//! Manners of ISO 129-1, from memory; the decimal point is kept, since the figure is typed back in.

use super::{Letters, Mark, PAPER, straight};
use crate::geom::{Loop, Point, Rect, Vec2, turn_vector};
use crate::letters;
use crate::part::Dimension;

/// Height of letters (mm).
const LETTER: f64 = 2.5;
/// From the part to its first dimension line (mm).
const FIRST: f64 = 10.0;
/// From one line to the next (mm).
const NEXT: f64 = 8.0;
/// Length of an arrow's head (mm).
const ARROW: f64 = 2.5;
/// Weight of the lines (mm).
const THIN: f64 = 0.18;
/// From a line up to its letters (mm).
const LIFT: f64 = 1.0;
/// Between the feet of two leaders' letters (mm).
const PITCH: f64 = 6.5;

/// What was drawn.
pub(super) struct Drafted {
    pub(super) lines: Vec<Mark>,
    pub(super) words: Vec<Mark>,
    /// Boxes of the letters, in the order of drawing.
    pub(super) boxes: Vec<Rect>,
    pub(super) bounds: Rect,
}

struct Span {
    a: Point,
    b: Point,
    off: f64,
    text: String,
}

/// Draws all figures round the part whose outline has the points `line`; points and radii in page millimetres.
pub(super) fn draft(dimensions: &[Dimension], line: &[Point]) -> Drafted {
    let body = line
        .iter()
        .map(|p| Rect::from_points(*p, *p))
        .reduce(|a, b| a.union(b))
        .unwrap_or(Rect::ZERO);
    let mut drafted =
        Drafted { lines: Vec::new(), words: Vec::new(), boxes: Vec::new(), bounds: body };
    for (normal, mut spans) in by_side(dimensions) {
        spans.sort_by(|s, t| {
            let key = |s: &Span| (s.off.abs(), (s.b - s.a).hypot());
            let (one, two) = (key(s), key(t));
            one.0.total_cmp(&two.0).then(one.1.total_cmp(&two.1))
        });
        let mut taken: Vec<Vec<(f64, f64)>> = Vec::new();
        for span in &spans {
            place_span(span, normal, line, &mut taken, &mut drafted);
        }
    }
    leaders(dimensions, body, &mut drafted);
    drafted
}

/// Spans gathered by the side they stand on, in the order in which sides first occur.
fn by_side(dimensions: &[Dimension]) -> Vec<(Vec2, Vec<Span>)> {
    let mut sides: Vec<(Vec2, Vec<Span>)> = Vec::new();
    for dimension in dimensions {
        let Dimension::Span(a, b, off, text) = dimension else {
            continue;
        };
        let way = *b - *a;
        if way.hypot() < 1e-9 {
            continue;
        }
        let left = turn_vector(way / way.hypot(), 90.0);
        let normal = if *off < 0.0 { -left } else { left };
        let span = Span { a: *a, b: *b, off: *off, text: text.clone() };
        match sides.iter_mut().find(|(n, _)| (*n - normal).hypot() < 0.01) {
            Some((_, list)) => list.push(span),
            None => sides.push((normal, vec![span])),
        }
    }
    sides
}

/// How a span runs along its dimension line; figures are distances along `reading`.
struct Course {
    /// The way its letters read.
    reading: Vec2,
    /// Out of the part.
    normal: Vec2,
    /// The measured points and where they lie.
    ends: [(Point, f64); 2],
    /// Where the line begins and ends, arrows that stand outside included.
    low: f64,
    high: f64,
    /// Where the letters begin, and how far they reach.
    foot: f64,
    wide: f64,
    arrows_in: bool,
}

impl Course {
    fn of(span: &Span, normal: Vec2) -> Course {
        let mut reading = turn_vector(normal, -90.0);
        if reading.x < -1e-9 || (reading.x.abs() <= 1e-9 && reading.y < 0.0) {
            reading = -reading;
        }
        let mut ends = [span.a, span.b].map(|p| (p, p.to_vec2().dot(reading)));
        if ends[0].1 > ends[1].1 {
            ends.swap(0, 1);
        }
        let (from, to) = (ends[0].1, ends[1].1);
        let wide = letters::width(&span.text, LETTER);
        let arrows_in = to - from >= 3.0 * ARROW;
        let outside = if arrows_in { 0.0 } else { 2.0 * ARROW };
        let (low, mut high) = (from - outside, to + outside);
        let foot = if wide + 1.0 <= to - from {
            f64::midpoint(from, to) - wide / 2.0
        } else {
            high += 1.0 + wide;
            high - wide
        };
        Course { reading, normal, ends, low, high, foot, wide, arrows_in }
    }

    fn on(&self, along: f64, depth: f64) -> Point {
        (self.reading * along + self.normal * depth).to_point()
    }

    /// Line, extension lines and arrows at a depth.
    fn draw(&self, depth: f64, line: &[Point], drafted: &mut Drafted) {
        let (low, high) = (self.on(self.low, depth), self.on(self.high, depth));
        drafted.lines.push(straight(low, high, THIN));
        let depth_of = |p: Point| p.to_vec2().dot(self.normal);
        for (p, t) in self.ends {
            // It begins at the last point of the outline on its way, so as not to run along an edge.
            let start = line
                .iter()
                .filter(|q| (q.to_vec2().dot(self.reading) - t).abs() < 0.05)
                .map(|q| depth_of(*q))
                .fold(depth_of(p), f64::max);
            let far = self.on(t, depth + 2.0);
            drafted.lines.push(straight(self.on(t, start + 1.5), far, THIN));
            drafted.bounds = drafted.bounds.union_pt(far);
        }
        let outward = if self.arrows_in { self.reading } else { -self.reading };
        let tips = self.ends.map(|(_, t)| self.on(t, depth));
        drafted.lines.push(Mark::Arrow(tips[0], -outward, ARROW));
        drafted.lines.push(Mark::Arrow(tips[1], outward, ARROW));
        drafted.bounds = drafted.bounds.union_pt(low).union_pt(high);
    }
}

/// How far the part reaches in a direction.
fn reach(line: &[Point], way: Vec2) -> f64 {
    line.iter().map(|p| p.to_vec2().dot(way)).fold(f64::NEG_INFINITY, f64::max)
}

/// One dimension line on the first level where neither it nor its letters meet others.
fn place_span(
    span: &Span,
    normal: Vec2,
    line: &[Point],
    taken: &mut Vec<Vec<(f64, f64)>>,
    drafted: &mut Drafted,
) {
    let course = Course::of(span, normal);
    let (low, high) = (course.low, course.high);
    let mut depth = reach(line, normal) + FIRST;
    let mut level = 0;
    loop {
        if taken.len() <= level {
            taken.push(Vec::new());
        }
        let at = course.on(course.foot, depth) + turn_vector(course.reading, 90.0) * LIFT;
        let area = word_box(at, course.reading, course.wide);
        let free = taken[level].iter().all(|(l, h)| low >= h + 2.0 || *l >= high + 2.0);
        if free && !drafted.boxes.iter().any(|b| b.overlaps(area)) {
            taken[level].push((low, high));
            course.draw(depth, line, drafted);
            write(&span.text, at, course.reading, area, drafted);
            return;
        }
        level += 1;
        depth += NEXT;
    }
}

/// Letters with paper behind them.
fn write(text: &str, at: Point, reading: Vec2, area: Rect, drafted: &mut Drafted) {
    if let Ok(paper) = Loop::polygon(&word_corners(at, reading, letters::width(text, LETTER))) {
        drafted.words.push(Mark::Ground(vec![paper], PAPER));
    }
    drafted.words.push(Mark::Letters(Letters {
        turn: reading.atan2().to_degrees(),
        ..Letters::new(text, at, LETTER)
    }));
    drafted.boxes.push(area);
    drafted.bounds = drafted.bounds.union(area);
}

/// The corners of the paper behind letters that begin at `at`, clear of the line below them.
fn word_corners(at: Point, reading: Vec2, wide: f64) -> [Point; 4] {
    let up = turn_vector(reading, 90.0);
    let (low, high) = (at - up * 0.6, at + up * (LETTER + 0.4));
    let (before, after) = (reading * -0.5, reading * (wide + 0.5));
    [low + before, low + after, high + after, high + before]
}

/// The upright box of letters that begin at `at`.
fn word_box(at: Point, reading: Vec2, wide: f64) -> Rect {
    let [a, b, c, d] = word_corners(at, reading, wide);
    Rect::from_points(a, c).union(Rect::from_points(b, d))
}

/// A diameter with its leader.
struct Leader {
    center: Point,
    radius: f64,
    text: String,
    times: usize,
}

/// Diameters, the highest first; equal ones are told once, with their number, at the rightmost of them.
fn gathered(dimensions: &[Dimension]) -> Vec<Leader> {
    let mut list: Vec<Leader> = Vec::new();
    for dimension in dimensions {
        let Dimension::Diameter(center, radius, text) = dimension else {
            continue;
        };
        let same = |l: &&mut Leader| l.text == *text && (l.radius - radius).abs() < 1e-6;
        if let Some(leader) = list.iter_mut().find(same) {
            leader.times += 1;
            if (center.x, center.y) > (leader.center.x, leader.center.y) {
                leader.center = *center;
            }
        } else {
            list.push(Leader { center: *center, radius: *radius, text: text.clone(), times: 1 });
        }
    }
    list.sort_by(|l, m| {
        let top = |l: &Leader| l.center.y + l.radius;
        top(m).total_cmp(&top(l)).then(m.radius.total_cmp(&l.radius))
    });
    list
}

/// Diameters by leader, their letters in a column beside the part.
fn leaders(dimensions: &[Dimension], body: Rect, drafted: &mut Drafted) {
    let right_is_free = drafted.bounds.x1 <= body.x1 + 1e-9;
    let left_is_free = drafted.bounds.x0 >= body.x0 - 1e-9;
    let to_left = !right_is_free && left_is_free;
    let edge = if to_left { body.x0 - FIRST } else { drafted.bounds.x1 + FIRST };
    let mut room = f64::INFINITY;
    for leader in &gathered(dimensions) {
        let text = shown(leader);
        let wide = letters::width(&text, LETTER);
        let wanted = leader.center.y + leader.radius * 0.6 + 3.0;
        let mut y = wanted.min(body.y1 + 2.0).min(room);
        let foot = if to_left { edge - wide - 1.5 } else { edge + 1.5 };
        let reading = Vec2::new(1.0, 0.0);
        let area_at = |y: f64| word_box(Point::new(foot, y + LIFT), reading, wide);
        while drafted.boxes.iter().any(|b| b.overlaps(area_at(y))) {
            y -= 1.0;
        }
        room = y - PITCH;
        let elbow = Point::new(edge, y);
        let way = elbow - leader.center;
        let out = if way.hypot() > 1e-9 { way / way.hypot() } else { Vec2::new(1.0, 0.0) };
        let tip = leader.center + out * leader.radius;
        let far = if to_left { foot } else { foot + wide };
        drafted.lines.push(straight(tip, elbow, THIN));
        drafted.lines.push(straight(elbow, Point::new(far, y), THIN));
        drafted.lines.push(Mark::Arrow(tip, -out, ARROW));
        let at = Point::new(foot, y + LIFT);
        write(&text, at, reading, area_at(y), drafted);
        drafted.bounds = drafted.bounds.union_pt(Point::new(far, y));
    }
}

/// The letters of a diameter: its sign before it, the number of equal ones before that.
fn shown(leader: &Leader) -> String {
    let text = leader.text.trim();
    let signed = text.contains(['\u{2300}', 'Ø', 'ø']) || text.contains("dia");
    let sign = if signed { "" } else { "\u{2300} " };
    if leader.times > 1 {
        format!("{} × {sign}{text}", leader.times)
    } else {
        format!("{sign}{text}")
    }
}
