//! The picture of a set of valves: each place's gap as it was measured and as it is to be expected, with the target and
//! the least as lines. What is hollow was measured, what is full is to be expected.

use super::{Dash, Letters, Mark, Picture, PictureLayer, palette, straight};
use crate::geom::{Loop, Point, Vec2, rectangle};
use crate::letters;
use crate::part::{Balance, Travel};
use crate::write::travel::thou;

/// From the page's edge to the chart: left, right, below, above (mm).
const MARGIN: [f64; 4] = [20.0, 34.0, 27.0, 18.0];
/// Height of the chart (mm).
const HIGH: f64 = 95.0;
/// From place to place: least and most (mm), and the width that is filled where both allow it.
const PITCH: (f64, f64, f64) = (3.4, 14.0, 200.0);
/// Half the width of a mark (mm).
const HALF: f64 = 1.05;
/// Height of letters (mm).
const LETTER: f64 = 2.3;
/// Steps of the scale, in thousandths of an inch.
const STEPS: [f64; 7] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
/// A thousandth of an inch (mm).
const THOU: f64 = 0.0254;

/// Where figures come to lie on the page.
struct Scale {
    left: f64,
    pitch: f64,
    low: f64,
    per_mm: f64,
    right: f64,
}

impl Scale {
    fn y(&self, mm: f64) -> f64 {
        MARGIN[2] + (mm - self.low) * self.per_mm
    }

    #[allow(clippy::cast_precision_loss, reason = "a count of places")]
    fn x(&self, n: usize) -> f64 {
        self.left + (n as f64 + 0.5) * self.pitch
    }
}

/// The picture.
pub fn travel_picture(travel: &Travel, title: &str) -> Picture {
    #[allow(clippy::cast_precision_loss, reason = "a count of places")]
    let many = travel.places.len().max(1) as f64;
    let pitch = (PITCH.2 / many).clamp(PITCH.0, PITCH.1);
    let wide = (pitch * many).max(110.0);
    let all = || {
        let both = travel.places.iter().flat_map(|it| [it.gap, it.choice.expected]);
        both.chain([travel.aim.target, travel.aim.least])
    };
    let (least, most) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    let room = ((most - least) * 0.1).max(2.0 * THOU);
    let (low, high) = ((least - room).max(0.0), most + room);
    let scale =
        Scale { left: MARGIN[0], pitch, low, per_mm: HIGH / (high - low), right: MARGIN[0] + wide };
    let mut drawn = Drawn::default();
    let height = MARGIN[2] + HIGH + MARGIN[3];
    let width = MARGIN[0] + wide + MARGIN[1];
    drawn.grid(&scale, high);
    drawn.lines(travel, &scale);
    for (n, place) in travel.places.iter().enumerate() {
        drawn.place(place, n, &scale);
    }
    drawn.numbers(travel, &scale);
    let line = |text: &str| letters::height_within(text, width - 2.0 * 8.0, 4.2);
    drawn.word(Letters::new(title, Point::new(8.0, height - 9.0), line(title)));
    drawn.legend(8.0);
    let layer = |name, colour, marks| PictureLayer { name, colour, marks };
    let layers = vec![
        layer("FRAME", palette::GREY, drawn.frame),
        layer("TARGET", palette::BLUE, drawn.target),
        layer("LEAST", palette::VERMILION, drawn.least),
        layer("MEASURED", palette::BLACK, drawn.before),
        layer("EXPECTED", palette::BLUE, drawn.after),
        layer("HAND", palette::VERMILION, drawn.hand),
        layer("WORDS", palette::BLACK, drawn.words),
    ];
    Picture { width, height, title: title.to_owned(), layers }
}

#[derive(Default)]
struct Drawn {
    frame: Vec<Mark>,
    target: Vec<Mark>,
    least: Vec<Mark>,
    before: Vec<Mark>,
    after: Vec<Mark>,
    hand: Vec<Mark>,
    words: Vec<Mark>,
}

impl Drawn {
    fn word(&mut self, letters: Letters) {
        self.words.push(Mark::Letters(letters));
    }

    /// The frame, and a thin line for every step of the scale with its figure in thousandths.
    fn grid(&mut self, scale: &Scale, high: f64) {
        let span = (high - scale.low) / THOU;
        let step = STEPS.into_iter().find(|step| span / step <= 9.0).unwrap_or(span / 5.0);
        let mut at = (scale.low / THOU / step).ceil() * step;
        while at * THOU <= high {
            let y = scale.y(at * THOU);
            self.frame.push(straight(Point::new(scale.left, y), Point::new(scale.right, y), 0.1));
            let text = format!("{at:.0}");
            let x = scale.left - 2.0 - letters::width(&text, LETTER);
            self.word(Letters::new(text, Point::new(x, y - LETTER / 2.0), LETTER));
            at += step;
        }
        let (foot, head) = (scale.y(scale.low), scale.y(high));
        for x in [scale.left, scale.right] {
            self.frame.push(straight(Point::new(x, foot), Point::new(x, head), 0.25));
        }
        for y in [foot, head] {
            self.frame.push(straight(Point::new(scale.left, y), Point::new(scale.right, y), 0.25));
        }
        let mut turned = Letters::new("thou", Point::new(7.0, foot + HIGH / 2.0 - 4.0), LETTER);
        turned.turn = 90.0;
        self.word(turned);
    }

    /// The target, solid, and the least, dashed, named at their ends; names that would meet go apart.
    fn lines(&mut self, travel: &Travel, scale: &Scale) {
        let aim = &travel.aim;
        let (target, least) = (scale.y(aim.target), scale.y(aim.least));
        let ends = |y: f64| (Point::new(scale.left, y), Point::new(scale.right, y));
        let (a, b) = ends(target);
        self.target.push(straight(a, b, 0.4));
        let (a, b) = ends(least);
        let dashed = vec![crate::geom::Seg::line(a, b)];
        self.least.push(Mark::Line(dashed, 0.4, Dash::Dashed(2.0)));
        let apart = (LETTER * 1.5 - (target - least)).max(0.0) / 2.0;
        for (text, y) in [
            (format!("target {}", thou(aim.target)), target + apart),
            (format!("least {}", thou(aim.least)), least - apart),
        ] {
            let at = Point::new(scale.right + 2.0, y - LETTER / 2.0);
            let high = letters::height_within(&text, MARGIN[1] - 4.0, LETTER);
            self.word(Letters::new(text, at, high));
        }
    }

    /// A hollow ring where it was measured, a full square where it is to be expected, a stroke from one to the other; a
    /// cross over the square where the hand must do the rest.
    fn place(&mut self, place: &Balance, n: usize, scale: &Scale) {
        let at = |mm: f64| Point::new(scale.x(n), scale.y(mm));
        let (from, to) = (at(place.gap), at(place.choice.expected));
        let way = if to.y > from.y { 1.0 } else { -1.0 };
        let start = from + Vec2::new(0.0, way * HALF);
        if (to.y - from.y).abs() > 2.0 * HALF {
            self.before.push(straight(start, to - Vec2::new(0.0, way * HALF), 0.15));
        }
        let corner = to - Vec2::new(HALF * 0.8, HALF * 0.8);
        if let Ok(square) = rectangle(corner, HALF * 1.6, HALF * 1.6, 0.0) {
            self.after.push(Mark::Ground(vec![square.clone()], palette::SKY));
            self.after.push(Mark::Outline(square, 0.2, Dash::Solid));
        }
        self.before.push(Mark::Outline(Loop::Circle(from, HALF), 0.25, Dash::Solid));
        if place.choice.off.or(place.choice.short).is_some() {
            self.cross(to + Vec2::new(0.0, 3.4 * HALF));
        }
    }

    fn cross(&mut self, middle: Point) {
        for up in [1.0, -1.0] {
            let arm = Vec2::new(HALF, up * HALF);
            self.hand.push(straight(middle - arm, middle + arm, 0.4));
        }
    }

    /// Numbers of places, as many as have room.
    fn numbers(&mut self, travel: &Travel, scale: &Scale) {
        let last = travel.places.last().map_or(1, |it| it.position);
        let wide = letters::width(&last.to_string(), LETTER) + 1.2;
        let mut free = f64::NEG_INFINITY;
        for (n, place) in travel.places.iter().enumerate() {
            let x = scale.x(n);
            if x - wide / 2.0 < free {
                continue;
            }
            free = x + wide / 2.0;
            let foot = Point::new(x, MARGIN[2]);
            self.frame.push(straight(foot, foot - Vec2::new(0.0, 1.2), 0.2));
            let about = Point::new(x, MARGIN[2] - 3.4);
            self.word(Letters::centred(&place.position.to_string(), about, LETTER));
        }
    }

    /// What the marks mean.
    fn legend(&mut self, left: f64) {
        let y = 12.0;
        let mut x = left + 2.0;
        let words = ["measured", "to be expected", "something must come off, or still lacks"];
        for (n, text) in words.into_iter().enumerate() {
            let at = Point::new(x, y);
            match n {
                0 => self.before.push(Mark::Outline(Loop::Circle(at, HALF), 0.25, Dash::Solid)),
                1 => {
                    let corner = at - Vec2::new(HALF * 0.8, HALF * 0.8);
                    if let Ok(square) = rectangle(corner, HALF * 1.6, HALF * 1.6, 0.0) {
                        self.after.push(Mark::Ground(vec![square.clone()], palette::SKY));
                        self.after.push(Mark::Outline(square, 0.2, Dash::Solid));
                    }
                }
                _ => self.cross(at),
            }
            self.word(Letters::new(text, Point::new(x + 2.5, y - LETTER / 2.0), LETTER));
            x += 2.5 + letters::width(text, LETTER) + 7.0;
        }
        let said = "gaps in thousandths of an inch; leather and felt give: measure before and after under one load";
        self.word(Letters::new(said, Point::new(left, 4.5), 2.0));
    }
}
