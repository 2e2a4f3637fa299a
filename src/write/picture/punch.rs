//! The picture of the punch list: every size as a circle at true size, to lay a punch on, with what comes near it.

use super::{Dash, Letters, Mark, Picture, PictureLayer, palette, straight};
use crate::geom::{Loop, Point, Vec2};
use crate::letters;
use crate::plan::punches::{Near, PunchList, PunchRow};
use crate::write::punch::{OWN, STARTER, both, written};

/// From the page's edge to what is drawn (mm).
const MARGIN: f64 = 8.0;
/// Width of the words (mm).
const WORDS: f64 = 130.0;
/// Height of the letters of a size (mm).
const LARGE: f64 = 3.2;
/// Height of the other letters (mm).
const SMALL: f64 = 2.4;
/// A row is at least so high (mm).
const ROW: f64 = 19.0;
/// The cross at a centre reaches so far beyond the circle (mm).
const BEYOND: f64 = 2.0;
/// Length of the rule (mm).
const RULE: f64 = 100.0;

/// The picture of a list, at true size.
///
/// # Units
/// Millimetres of the page are millimetres of the holes.
pub fn punch_picture(list: &PunchList, title: &str) -> Picture {
    let widest = list.rows.iter().map(|row| row.diameter).fold(10.0, f64::max);
    let column = widest + 2.0 * BEYOND;
    let width = MARGIN + column + 6.0 + WORDS + MARGIN;
    let highs: Vec<f64> =
        list.rows.iter().map(|row| (row.diameter + 2.0 * BEYOND + 3.0).max(ROW)).collect();
    let (head, foot) = (24.0, 18.0);
    let height = head + highs.iter().sum::<f64>() + foot;
    let mut drawn = Drawn::default();
    let room = width - 2.0 * MARGIN;
    drawn.words(title, Point::new(MARGIN, height - 12.0), 4.2, room);
    let said = if list.starter { STARTER } else { OWN };
    drawn.words(said, Point::new(MARGIN, height - 19.0), SMALL, room);
    let mut top = height - head;
    for (row, high) in list.rows.iter().zip(&highs) {
        drawn.frame.push(straight(Point::new(MARGIN, top), Point::new(width - MARGIN, top), 0.18));
        let middle = top - high / 2.0;
        drawn.hole(row, Point::new(MARGIN + column / 2.0, middle));
        drawn.about(row, Point::new(MARGIN + column + 6.0, middle));
        top -= high;
    }
    drawn.frame.push(straight(Point::new(MARGIN, top), Point::new(width - MARGIN, top), 0.18));
    drawn.rule(Point::new(MARGIN, top - 11.0));
    let layer = |name, colour, marks| PictureLayer { name, colour, marks };
    let layers = vec![
        layer("FRAME", palette::GREY, drawn.frame),
        layer("PUNCH", palette::BLUE, drawn.holes),
        layer("RULE", palette::BLACK, drawn.rule),
        layer("WORDS", palette::BLACK, drawn.words),
    ];
    Picture { width, height, title: title.to_owned(), layers }
}

#[derive(Default)]
struct Drawn {
    frame: Vec<Mark>,
    holes: Vec<Mark>,
    rule: Vec<Mark>,
    words: Vec<Mark>,
}

impl Drawn {
    /// Letters no wider than their room.
    fn words(&mut self, text: &str, at: Point, most: f64, room: f64) {
        let height = letters::height_within(text, room, most);
        self.words.push(Mark::Letters(Letters::new(text, at, height)));
    }

    /// A circle at true size, its centre crossed from outside so that the middle of a small one stays open.
    fn hole(&mut self, row: &PunchRow, at: Point) {
        let radius = row.diameter / 2.0;
        let mut marks = vec![Mark::Outline(Loop::Circle(at, radius), 0.15, Dash::Solid)];
        for way in [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)] {
            for way in [way, -way] {
                marks.push(straight(at + way * (radius + 0.4), at + way * (radius + BEYOND), 0.15));
            }
        }
        self.holes.push(Mark::Named(written(row), marks));
    }

    /// Size, count, tools and pieces.
    fn about(&mut self, row: &PunchRow, middle: Point) {
        let size = if row.written.is_empty() {
            both(row)
        } else {
            format!("{}   {}", written(row), both(row))
        };
        let holes =
            if row.count == 1 { "1 hole".to_owned() } else { format!("{} holes", row.count) };
        let mut line =
            |text: &str, up: f64, high| self.words(text, middle + Vec2::new(0.0, up), high, WORDS);
        line(&format!("{size}   {holes}"), 3.4, LARGE);
        let mut tools = vec![format!("punch {}", told(&row.punch)), told(&row.metric)];
        tools.extend(row.drill.as_ref().map(told));
        line(&tools.join("   "), -1.4, SMALL);
        line(&named(row), -6.0, SMALL);
    }

    /// A rule of 100 mm, to see that the page came out at true size.
    fn rule(&mut self, from: Point) {
        self.rule.push(straight(from, from + Vec2::new(RULE, 0.0), 0.25));
        for i in 0..=10 {
            let up = if i % 5 == 0 { 3.0 } else { 1.8 };
            let foot = from + Vec2::new(RULE * f64::from(i) / 10.0, 0.0);
            self.rule.push(straight(foot, foot + Vec2::new(0.0, up), 0.25));
        }
        self.words(
            "100 mm: measure it before a punch is laid on",
            from + Vec2::new(0.0, -5.0),
            SMALL,
            2.0 * RULE,
        );
    }
}

/// The pieces of a size, as many as a line holds.
fn named(row: &PunchRow) -> String {
    let names: Vec<String> = row.pieces.iter().map(ToString::to_string).collect();
    let line = |many: usize| {
        let more = names.len() - many;
        let tail =
            if more > 0 { format!(", and {more} more: see punch.csv") } else { String::new() };
        format!("in {}{tail}", names[..many].join(", "))
    };
    let fits = (1..=names.len()).rev().map(line).find(|it| letters::width(it, SMALL) <= WORDS);
    fits.unwrap_or_else(|| format!("in {} pieces: see punch.csv", names.len()))
}

/// A tool and how far off it is.
fn told(near: &Near) -> String {
    if near.error.abs() < 0.0005 {
        return format!("{}: fits", near.name);
    }
    let way = if near.error > 0.0 { "larger" } else { "smaller" };
    format!("{}: {:.2} mm {way}", near.name, near.error.abs())
}
