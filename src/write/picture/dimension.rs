//! Dimension lines: stacked outside the part, the shortest nearest, letters that never overlap.
//!
//! Takes figures of a part in page millimetres; gives marks and the box they fill. Where lines and letters stand is for the
//! style to say ([`super::style`]); where the span is too short for its letters they stand beside it.

use super::style::{DimensionStyle, Manners};
use super::{Letters, Mark, PAPER, straight};
use crate::geom::{Loop, Point, Rect, Seg, Vec2, turn_vector};
use crate::letters;
use crate::part::{Dimension, Figure, Term};

/// Height of letters (mm).
const LETTER: f64 = 2.5;
/// Length of an arrow's head (mm).
const ARROW: f64 = 2.5;
/// Weight of the lines (mm).
const THIN: f64 = 0.18;
/// From a line up to its letters (mm).
const LIFT: f64 = 1.0;
/// Between letters and the ends of the line in whose gap they stand (mm): a 1 must not look like a piece of the line.
const GAP: f64 = 1.5;
/// From the foot of a line of letters to that of the next (mm).
const PITCH: f64 = 3.7;
/// Between the feet of two leaders' letters (mm).
const LEADERS: f64 = 6.5;
/// No more levels are tried than this.
const LEVELS: usize = 40;

/// What was drawn.
pub(super) struct Drafted {
    pub(super) lines: Vec<Mark>,
    pub(super) words: Vec<Mark>,
    /// Boxes of the letters, in the order of drawing.
    pub(super) boxes: Vec<Rect>,
    /// Every line, the part's own first.
    pub(super) strokes: Vec<Seg>,
    pub(super) bounds: Rect,
}

impl Drafted {
    fn stroke(&mut self, a: Point, b: Point) {
        self.lines.push(straight(a, b, THIN));
        self.strokes.push(Seg::line(a, b));
        self.bounds = self.bounds.union_pt(a).union_pt(b);
    }

    /// Whether letters in a box would meet others, or a line.
    pub(super) fn is_taken(&self, area: Rect) -> bool {
        self.boxes.iter().any(|b| b.overlaps(area)) || self.strokes.iter().any(|s| crosses(s, area))
    }
}

/// Whether a straight line meets a box.
pub(super) fn crosses(seg: &Seg, area: Rect) -> bool {
    let way = seg.b - seg.a;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (at, step, low, high) in
        [(seg.a.x, way.x, area.x0, area.x1), (seg.a.y, way.y, area.y0, area.y1)]
    {
        if step.abs() < 1e-12 {
            if at <= low || at >= high {
                return false;
            }
            continue;
        }
        let (one, two) = ((low - at) / step, (high - at) / step);
        from = from.max(one.min(two));
        to = to.min(one.max(two));
    }
    from < to
}

struct Span {
    a: Point,
    b: Point,
    off: f64,
    figure: Figure,
}

/// What every figure is drawn with.
pub(super) struct Drafter<'a> {
    pub(super) style: DimensionStyle,
    /// The part's sum, where figures stand as they were typed.
    pub(super) sum: &'a [Term],
}

impl Drafter<'_> {
    /// Draws all figures round a part with these outlines, closed lines of chords; all in page millimetres.
    pub(super) fn draft(&self, dimensions: &[Dimension], outlines: &[Vec<Point>]) -> Drafted {
        let points: Vec<Point> = outlines.iter().flatten().copied().collect();
        let body = points
            .iter()
            .map(|p| Rect::from_points(*p, *p))
            .reduce(|a, b| a.union(b))
            .unwrap_or(Rect::ZERO);
        let closed = |it: &Vec<Point>| -> Vec<Seg> {
            let next = it.iter().cycle().skip(1);
            it.iter().zip(next).map(|(a, b)| Seg::line(*a, *b)).collect()
        };
        let mut drafted = Drafted {
            lines: Vec::new(),
            words: Vec::new(),
            boxes: Vec::new(),
            strokes: outlines.iter().flat_map(closed).collect(),
            bounds: body,
        };
        for (normal, mut spans) in by_side(dimensions) {
            without_twins(&mut spans, normal);
            spans.sort_by(|s, t| {
                let key = |s: &Span| (s.off.abs(), (s.b - s.a).hypot());
                let (one, two) = (key(s), key(t));
                one.0.total_cmp(&two.0).then(one.1.total_cmp(&two.1))
            });
            let mut taken: Vec<Vec<(f64, f64)>> = Vec::new();
            for (i, span) in spans.iter().enumerate() {
                let words = self.words(&span.figure, normal, (span.b - span.a).hypot());
                let course = Course::of(span, &spans[i + 1..], normal, words, self.style);
                self.place_span(&course, &points, &mut taken, &mut drafted);
            }
        }
        self.leaders(dimensions, body, &mut drafted);
        drafted
    }

    fn manners(&self) -> Manners {
        self.style.manners()
    }

    /// The letters of a span of a length; one below the other where its line is steep, but for those along it that have
    /// room.
    fn words(&self, figure: &Figure, normal: Vec2, long: f64) -> Words {
        let one = Words::of(vec![self.style.line(figure, self.sum)]);
        let fits = self.style == DimensionStyle::Metric && one.wide + 1.0 <= long;
        if normal.x.abs() <= 0.3 || fits {
            return one;
        }
        let (own, other) = self.style.both(figure.mm, self.sum);
        let words = figure.words.trim().to_owned();
        Words::of([own, other, words].into_iter().filter(|line| !line.is_empty()).collect())
    }

    /// One dimension line on the first level where neither it nor its letters meet others.
    fn place_span(
        &self,
        course: &Course,
        points: &[Point],
        taken: &mut Vec<Vec<(f64, f64)>>,
        drafted: &mut Drafted,
    ) {
        let manners = self.manners();
        let depth_at = |level: usize| {
            #[allow(clippy::cast_precision_loss, reason = "a few levels")]
            let more = level as f64 * manners.next;
            reach(points, course.normal) + manners.first + more
        };
        let free = |level: usize, course: &Course, drafted: &Drafted| {
            let depth = depth_at(level);
            let (low, high) = (course.low, course.high);
            let apart = |(l, h): &(f64, f64)| low >= *h + 2.0 || *l >= high + 2.0;
            let line = Seg::line(course.on(low, depth), course.on(high, depth));
            taken.get(level).is_none_or(|list| list.iter().all(apart))
                && !drafted.is_taken(course.area(depth))
                && !drafted.boxes.iter().any(|b| crosses(&line, *b))
        };
        let found = (0..LEVELS).find_map(|level| {
            let placed = course.placed();
            placed.into_iter().find(|it| free(level, it, drafted)).map(|it| (level, it))
        });
        // Where none is free the next beyond all is, but for what stands there by itself.
        let (level, course) = found.unwrap_or_else(|| (taken.len(), course.clone()));
        let (low, high) = (course.low, course.high);
        while taken.len() <= level {
            taken.push(Vec::new());
        }
        taken[level].push((low, high));
        course.draw(depth_at(level), points, manners, drafted);
    }

    /// Diameters by leader, their letters in a column beside the part.
    fn leaders(&self, dimensions: &[Dimension], body: Rect, drafted: &mut Drafted) {
        let first = self.manners().first;
        let sides = by_side(dimensions);
        let is_free = |side: f64| sides.iter().all(|(normal, _)| normal.x * side < 0.5);
        let to_left = !is_free(1.0) && is_free(-1.0);
        let edge = match (to_left, is_free(1.0)) {
            (true, _) => body.x0 - first,
            (_, true) => body.x1 + first,
            _ => drafted.bounds.x1 + first,
        };
        // Above the line, or at its end.
        let lift = if self.style == DimensionStyle::Inch { -LETTER / 2.0 } else { LIFT };
        let shoulder = if self.style == DimensionStyle::Inch { 3.0 } else { 0.0 };
        let mut room = f64::INFINITY;
        for leader in &gathered(dimensions) {
            let text = self.shown(leader);
            let wide = letters::width(&text, LETTER);
            let wanted = leader.center.y + leader.radius * 0.6 + 3.0;
            let begin = 1.5 + shoulder;
            let foot = if to_left { edge - wide - begin } else { edge + begin };
            let area_at = |y: f64| words_box(Point::new(foot, y + lift), wide);
            let mut y = wanted.min(body.y1 + 2.0).min(room);
            let line_at = |y: f64| {
                let elbow = Point::new(edge, y);
                let way = elbow - leader.center;
                let out = if way.hypot() > 1e-9 { way / way.hypot() } else { Vec2::new(1.0, 0.0) };
                (leader.center + out * leader.radius, elbow, out)
            };
            let mut tries = 0;
            loop {
                let (tip, elbow, _) = line_at(y);
                let line = Seg::line(tip, elbow);
                let met =
                    drafted.boxes.iter().any(|b| b.overlaps(area_at(y)) || crosses(&line, *b));
                if !met || tries > 400 {
                    break;
                }
                y -= 1.0;
                tries += 1;
            }
            room = y - LEADERS;
            let (tip, elbow, out) = line_at(y);
            let far = match (self.style, to_left) {
                (DimensionStyle::Inch, true) => edge - shoulder,
                (DimensionStyle::Inch, false) => edge + shoulder,
                (DimensionStyle::Metric, true) => foot,
                (DimensionStyle::Metric, false) => foot + wide,
            };
            drafted.stroke(tip, elbow);
            drafted.stroke(elbow, Point::new(far, y));
            drafted.lines.push(Mark::Arrow(tip, -out, ARROW));
            write(&text, Point::new(foot, y + lift), 0.0, drafted);
            drafted.boxes.push(area_at(y));
            drafted.bounds = drafted.bounds.union(area_at(y));
        }
    }

    /// The letters of a diameter: its sign before it, the number of equal ones before that.
    fn shown(&self, leader: &Leader) -> String {
        let text = self.style.line(&leader.figure, self.sum);
        if leader.times > 1 {
            format!("{} × \u{2300} {text}", leader.times)
        } else {
            format!("\u{2300} {text}")
        }
    }
}

/// Spans gathered by the side they stand on, in the order in which sides first occur.
fn by_side(dimensions: &[Dimension]) -> Vec<(Vec2, Vec<Span>)> {
    let mut sides: Vec<(Vec2, Vec<Span>)> = Vec::new();
    for dimension in dimensions {
        let Dimension::Span(a, b, off, figure) = dimension else {
            continue;
        };
        let way = *b - *a;
        if way.hypot() < 1e-9 {
            continue;
        }
        let left = turn_vector(way / way.hypot(), 90.0);
        let normal = if *off < 0.0 { -left } else { left };
        let span = Span { a: *a, b: *b, off: *off, figure: figure.clone() };
        match sides.iter_mut().find(|(n, _)| (*n - normal).hypot() < 0.01) {
            Some((_, list)) => list.push(span),
            None => sides.push((normal, vec![span])),
        }
    }
    sides
}

/// Spans of one side that would be drawn between the same extension lines are told once.
fn without_twins(spans: &mut Vec<Span>, normal: Vec2) {
    let along = turn_vector(normal, -90.0);
    let ends = |s: &Span| {
        let (a, b) = (s.a.to_vec2().dot(along), s.b.to_vec2().dot(along));
        (a.min(b), a.max(b))
    };
    let mut kept: Vec<Span> = Vec::new();
    for span in spans.drain(..) {
        let (low, high) = ends(&span);
        let twin = |k: &Span| {
            let (l, h) = ends(k);
            (l - low).abs() < 0.01 && (h - high).abs() < 0.01 && k.figure == span.figure
        };
        if !kept.iter().any(twin) {
            kept.push(span);
        }
    }
    *spans = kept;
}

/// Letters in one or more lines.
#[derive(Clone)]
struct Words {
    lines: Vec<String>,
    wide: f64,
    high: f64,
}

impl Words {
    fn of(lines: Vec<String>) -> Words {
        let wide = lines.iter().map(|line| letters::width(line, LETTER)).fold(0.0, f64::max);
        #[allow(clippy::cast_precision_loss, reason = "a few lines")]
        let high = LETTER + PITCH * lines.len().saturating_sub(1) as f64;
        Words { lines, wide, high }
    }
}

/// How a span runs along its dimension line; figures are distances along `reading`.
#[derive(Clone)]
struct Course {
    /// The way its line runs, and its letters where they follow the line.
    reading: Vec2,
    /// Out of the part.
    normal: Vec2,
    /// The measured points and where they lie.
    ends: [(Point, f64); 2],
    /// Where the line begins and ends, arrows and letters that stand outside included.
    low: f64,
    high: f64,
    words: Words,
    /// Middle of the letters.
    middle: f64,
    /// Where that may be, the best first.
    places: Vec<f64>,
    /// How much of the line they take up.
    run: f64,
    /// Letters stand in a gap of the line, and are level.
    in_gap: bool,
    arrows_in: bool,
}

impl Course {
    /// `later` are the spans that will stand farther off: their extension lines should not meet these letters.
    fn of(
        span: &Span,
        later: &[Span],
        normal: Vec2,
        words: Words,
        style: DimensionStyle,
    ) -> Course {
        let mut reading = turn_vector(normal, -90.0);
        if reading.x < -1e-9 || (reading.x.abs() <= 1e-9 && reading.y < 0.0) {
            reading = -reading;
        }
        let mut ends = [span.a, span.b].map(|p| (p, p.to_vec2().dot(reading)));
        if ends[0].1 > ends[1].1 {
            ends.swap(0, 1);
        }
        let (from, to) = (ends[0].1, ends[1].1);
        let in_gap = style == DimensionStyle::Inch;
        let run = if in_gap {
            words.wide * reading.x.abs() + words.high * reading.y.abs()
        } else {
            words.wide
        };
        let arrows_in = to - from >= 3.0 * ARROW;
        let outside = if arrows_in { 0.0 } else { 2.0 * ARROW };
        let (low, high) = (from - outside, to + outside);
        // In a gap there must be line left on both sides for the arrows.
        let margin = if in_gap && arrows_in { ARROW + GAP + 0.5 } else { 0.5 };
        let passing: Vec<f64> =
            later.iter().flat_map(|s| [s.a, s.b]).map(|p| p.to_vec2().dot(reading)).collect();
        let met =
            |middle: f64| passing.iter().filter(|t| (**t - middle).abs() < run / 2.0 + 0.8).count();
        let free = to - from - 2.0 * margin - run;
        // Beside the line, farther away where other lines pass.
        let away = [0.0, 2.5, 5.0, 7.5, 10.0, 12.5, 15.0];
        let beside: Vec<f64> = away
            .iter()
            .flat_map(|more| [high + 1.0 + run / 2.0 + more, low - 1.0 - run / 2.0 - more])
            .collect();
        let mut places: Vec<f64> = if free >= 0.0 {
            let half = f64::midpoint(from, to);
            [0.0, 0.25, -0.25, 0.5, -0.5].iter().map(|share| half + share * free).collect()
        } else {
            beside
        };
        let least = places.iter().map(|at| met(*at)).min().unwrap_or_default();
        places.retain(|at| met(*at) == least);
        let middle = places.first().copied().unwrap_or(high);
        let course = Course {
            reading,
            normal,
            ends,
            low,
            high,
            words,
            middle,
            places,
            run,
            in_gap,
            arrows_in,
        };
        course.with_letters_at(middle)
    }

    /// The same with its letters elsewhere; the line reaches as far as they do.
    fn with_letters_at(&self, middle: f64) -> Course {
        let outside = if self.arrows_in { 0.0 } else { 2.0 * ARROW };
        let low = (self.ends[0].1 - outside).min(middle - self.run / 2.0);
        let high = (self.ends[1].1 + outside).max(middle + self.run / 2.0);
        Course { low, high, middle, ..self.clone() }
    }

    /// It with its letters at every place where they may stand; beside the part only level lines are tried at one alone,
    /// since theirs lie one above the other.
    fn placed(&self) -> Vec<Course> {
        let most = if self.in_gap && self.reading.y.abs() > 0.3 { self.places.len() } else { 1 };
        self.places.iter().take(most).map(|at| self.with_letters_at(*at)).collect()
    }

    fn on(&self, along: f64, depth: f64) -> Point {
        (self.reading * along + self.normal * depth).to_point()
    }

    /// The way letters read, and the middle of them all.
    fn letters_at(&self, depth: f64) -> (Vec2, Point) {
        let on_line = self.on(self.middle, depth);
        if self.in_gap {
            (Vec2::new(1.0, 0.0), on_line)
        } else {
            (
                self.reading,
                on_line + turn_vector(self.reading, 90.0) * (LIFT + self.words.high / 2.0),
            )
        }
    }

    /// The upright box of the letters, a little paper about them.
    fn area(&self, depth: f64) -> Rect {
        let (way, middle) = self.letters_at(depth);
        let up = turn_vector(way, 90.0);
        let (x, y) = (way * (self.words.wide / 2.0 + 0.5), up * (self.words.high / 2.0 + 0.5));
        Rect::from_points(middle - x - y, middle + x + y)
            .union(Rect::from_points(middle - x + y, middle + x - y))
    }

    /// Line, extension lines, arrows and letters at a depth.
    fn draw(&self, depth: f64, points: &[Point], manners: Manners, drafted: &mut Drafted) {
        let area = self.area(depth);
        self.draw_line(depth, drafted);
        let depth_of = |p: Point| p.to_vec2().dot(self.normal);
        for (p, t) in self.ends {
            // It begins at the last point of the outline on its way, so as not to run along an edge.
            let start = points
                .iter()
                .filter(|q| (q.to_vec2().dot(self.reading) - t).abs() < 0.05)
                .map(|q| depth_of(*q))
                .fold(depth_of(p), f64::max);
            drafted.stroke(self.on(t, start + manners.gap), self.on(t, depth + manners.past));
        }
        let outward = if self.arrows_in { self.reading } else { -self.reading };
        let tips = self.ends.map(|(_, t)| self.on(t, depth));
        drafted.lines.push(Mark::Arrow(tips[0], -outward, ARROW));
        drafted.lines.push(Mark::Arrow(tips[1], outward, ARROW));
        self.write(depth, drafted);
        drafted.boxes.push(area);
        drafted.bounds = drafted.bounds.union(area);
    }

    /// The line itself, open where letters stand in it.
    fn draw_line(&self, depth: f64, drafted: &mut Drafted) {
        let (from, to) = (self.ends[0].1, self.ends[1].1);
        let outside = if self.arrows_in { 0.0 } else { 2.0 * ARROW };
        let (from, to) = (from - outside, to + outside);
        let (before, after) =
            (self.middle - self.run / 2.0 - GAP, self.middle + self.run / 2.0 + GAP);
        let stroke = |a: f64, b: f64, drafted: &mut Drafted| {
            if b > a {
                drafted.stroke(self.on(a, depth), self.on(b, depth));
            }
        };
        if self.in_gap && before < to && after > from {
            stroke(from, before.min(to), drafted);
            stroke(after.max(from), to, drafted);
        } else if self.in_gap {
            // On to letters that stand farther away.
            stroke(from.min(after), to.max(before), drafted);
        } else {
            stroke(self.low, self.high, drafted);
        }
    }

    fn write(&self, depth: f64, drafted: &mut Drafted) {
        let (way, middle) = self.letters_at(depth);
        let up = turn_vector(way, 90.0);
        let mut foot = middle + up * (self.words.high / 2.0 - LETTER);
        for line in &self.words.lines {
            let wide = letters::width(line, LETTER);
            write(line, foot - way * (wide / 2.0), way.atan2().to_degrees(), drafted);
            foot -= up * PITCH;
        }
    }
}

/// How far the part reaches in a direction.
fn reach(points: &[Point], way: Vec2) -> f64 {
    points.iter().map(|p| p.to_vec2().dot(way)).fold(f64::NEG_INFINITY, f64::max)
}

/// A line of letters with paper behind it.
fn write(text: &str, at: Point, turn: f64, drafted: &mut Drafted) {
    let way = turn_vector(Vec2::new(1.0, 0.0), turn);
    let up = turn_vector(way, 90.0);
    let wide = letters::width(text, LETTER);
    let (low, high) = (at - up * 0.4, at + up * (LETTER + 0.4));
    let (before, after) = (way * -0.5, way * (wide + 0.5));
    let corners = [low + before, low + after, high + after, high + before];
    if let Ok(paper) = Loop::polygon(&corners) {
        drafted.words.push(Mark::Ground(vec![paper], PAPER));
    }
    drafted.words.push(Mark::Letters(Letters { turn, ..Letters::new(text, at, LETTER) }));
}

/// The box of a level line of letters, a little paper about it.
fn words_box(foot: Point, wide: f64) -> Rect {
    Rect::new(foot.x - 0.5, foot.y - 0.5, foot.x + wide + 0.5, foot.y + LETTER + 0.5)
}

/// A diameter with its leader.
struct Leader {
    center: Point,
    radius: f64,
    figure: Figure,
    times: usize,
}

/// Diameters, the highest first; equal ones are told once, with their number, at the rightmost of them.
fn gathered(dimensions: &[Dimension]) -> Vec<Leader> {
    let mut list: Vec<Leader> = Vec::new();
    for dimension in dimensions {
        let Dimension::Diameter(center, radius, figure) = dimension else {
            continue;
        };
        let same = |l: &&mut Leader| l.figure == *figure && (l.radius - radius).abs() < 1e-6;
        if let Some(leader) = list.iter_mut().find(same) {
            leader.times += 1;
            if (center.x, center.y) > (leader.center.x, leader.center.y) {
                leader.center = *center;
            }
        } else {
            let (center, figure) = (*center, figure.clone());
            list.push(Leader { center, radius: *radius, figure, times: 1 });
        }
    }
    list.sort_by(|l, m| {
        let top = |l: &Leader| l.center.y + l.radius;
        top(m).total_cmp(&top(l)).then(m.radius.total_cmp(&l.radius))
    });
    list
}
