//! What is alike on every page: the room on it, the head, the rule in the foot.

use super::super::{Letters, Mark, Picture, straight};
use super::Printing;
use super::board::{Ink, Inked, layers};
use crate::geom::{Point, Rect, Vec2};
use crate::letters;

/// Nothing is drawn nearer to the paper's edge (mm).
pub(super) const CLEAR: f64 = 12.0;
/// Height of the head (mm).
const HEAD: f64 = 13.0;
/// Height of the foot (mm).
const FOOT: f64 = 12.0;
/// An inch (mm).
const INCH: f64 = 25.4;

/// The room on a page.
#[derive(Debug, Clone)]
pub(super) struct Frame {
    how: Printing,
    /// All that is drawn on.
    area: Rect,
}

/// The two lines above a page, and what must be said on it.
#[derive(Debug, Clone, Default)]
pub(super) struct Head {
    pub title: String,
    pub note: String,
    pub warning: Option<String>,
}

impl Frame {
    pub(super) fn of(how: &Printing) -> Frame {
        let (scale, paper) = (how.scale(), how.paper);
        // In the file and on the print alike.
        let side = |length: f64, scale: f64| (length / 2.0 - CLEAR) / scale.max(1.0) - 0.2;
        let half = Vec2::new(side(paper.width, scale.x), side(paper.height, scale.y));
        let middle = Point::new(paper.width / 2.0, paper.height / 2.0);
        Frame { how: how.clone(), area: Rect::from_points(middle - half, middle + half) }
    }

    /// What may be drawn on at all.
    pub(super) fn area(&self) -> Rect {
        self.area
    }

    /// Between head and foot.
    pub(super) fn body(&self) -> Rect {
        let a = self.area;
        Rect::new(a.x0, a.y0 + FOOT, a.x1, a.y1 - HEAD)
    }

    /// A page with a head.
    pub(super) fn headed(&self, marks: Inked, head: &Head, number: (usize, usize)) -> Picture {
        let mut marks = marks;
        let a = self.area;
        let mut line = |text: &str, y: f64, most: f64, ink: Ink| {
            let height = letters::height_within(text, a.width(), most);
            marks.push((ink, Mark::Letters(Letters::new(text, Point::new(a.x0, y), height))));
        };
        line(&head.title, a.y1 - 3.6, 3.4, Ink::Words);
        match &head.warning {
            Some(warning) => {
                line(&head.note, a.y1 - 7.4, 2.0, Ink::Notes);
                line(warning, a.y1 - 11.4, 2.6, Ink::Words);
            }
            None => line(&head.note, a.y1 - 8.4, 2.2, Ink::Notes),
        }
        self.page(marks, number)
    }

    /// A page with its rule and its number.
    pub(super) fn page(&self, marks: Inked, (page, of): (usize, usize)) -> Picture {
        let mut marks = marks;
        let a = self.area;
        let from = Point::new(a.x0 + 0.5, a.y0 + 3.4);
        rule(&mut marks, from, false);
        let right = a.x1;
        let mut line = |text: &str, up: f64, most: f64, ink: Ink| {
            let height = letters::height_within(text, right - from.x - 106.0, most);
            let x = right - letters::width(text, height);
            marks.push((ink, Mark::Letters(Letters::new(text, Point::new(x, a.y0 + up), height))));
        };
        line(&format!("page {page} of {of}"), 6.4, 2.8, Ink::Words);
        let m = self.how.measured;
        let said = if m == Vec2::new(100.0, 100.0) {
            format!("{}, true size: print at 100 %", self.how.paper.name)
        } else {
            format!(
                "{}, corrected for rules of {} and {} mm",
                self.how.paper.name,
                super::super::fixed(m.x, 2),
                super::super::fixed(m.y, 2)
            )
        };
        line(&said, 2.4, 2.2, Ink::Notes);
        Picture {
            width: self.how.paper.width,
            height: self.how.paper.height,
            title: self.how.title.clone(),
            layers: layers(marks),
        }
    }
}

/// A rule of 100 mm on one side and of 4 in on the other, to the right of a point or above it.
pub(super) fn rule(marks: &mut Inked, from: Point, upright: bool) {
    let way = if upright { Vec2::new(0.0, 1.0) } else { Vec2::new(1.0, 0.0) };
    let side = if upright { Vec2::new(-1.0, 0.0) } else { Vec2::new(0.0, 1.0) };
    let mut mark = |a: Point, b: Point| marks.push((Ink::Rule, straight(a, b, 0.18)));
    mark(from, from + way * (4.0 * INCH));
    for i in 0..=20 {
        let foot = from + way * (f64::from(i) * 5.0);
        let high = if i % 10 == 0 { 4.0 } else { 2.0 - f64::from(i % 2) };
        mark(foot, foot + side * high);
    }
    for i in 0..=16 {
        let foot = from + way * (f64::from(i) * INCH / 4.0);
        let high = if i % 16 == 0 {
            3.2
        } else if i % 4 == 0 {
            2.2
        } else {
            1.2
        };
        mark(foot, foot - side * high);
    }
    let mut words = |text: &str, along: f64, off: f64| {
        let turn = if upright { 90.0 } else { 0.0 };
        let at = from + way * along + side * off;
        marks.push((Ink::Words, Mark::Letters(Letters { turn, ..Letters::new(text, at, 2.2) })));
    };
    words("100 mm", 101.5 - 1.0 - letters::width("100 mm", 2.2) - 1.0, 2.9);
    words("0", 1.0, 2.5);
    words("4 in", 4.0 * INCH - 1.2 - letters::width("4 in", 2.2), -5.2 + 1.8);
}
