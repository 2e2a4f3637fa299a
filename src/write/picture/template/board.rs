//! A part of a page on which words find places of their own: clear of every line and of one another.

use super::super::{Letters, Mark, PictureLayer, palette};
use super::clip::{holds, touches};
use crate::geom::{Point, Rect, Seg, Vec2};
use crate::letters;

/// Round letters this much stays free (mm).
const CLEAR: f64 = 0.8;

/// What a mark is of: from the bottom up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Ink {
    Frame,
    Sheet,
    Flaws,
    Holes,
    Edges,
    Crease,
    Punch,
    Grain,
    Trim,
    Dots,
    Rule,
    Notes,
    Words,
}

impl Ink {
    /// Name of its layer, and its colour.
    fn layer(self) -> (&'static str, &'static str) {
        match self {
            Ink::Frame => ("FRAME", palette::GREY),
            Ink::Sheet => ("SHEET", palette::GREY),
            Ink::Flaws => ("FLAWS", palette::VERMILION),
            Ink::Holes => ("HOLES", palette::BLACK),
            Ink::Edges => ("EDGES", palette::BLACK),
            Ink::Crease => ("CREASE", palette::VERMILION),
            Ink::Punch => ("PUNCH", palette::BLUE),
            Ink::Grain => ("GRAIN", palette::GREEN),
            Ink::Trim => ("TRIM", palette::PURPLE),
            Ink::Dots => ("DOTS", palette::BLACK),
            Ink::Rule => ("RULE", palette::BLACK),
            Ink::Notes => ("NOTES", palette::GREY),
            Ink::Words => ("WORDS", palette::BLACK),
        }
    }
}

/// Marks with what they are of.
pub(super) type Inked = Vec<(Ink, Mark)>;

/// Marks gathered into the layers of a picture.
pub(super) fn layers(marks: Inked) -> Vec<PictureLayer> {
    let mut made: Vec<(Ink, PictureLayer)> = Vec::new();
    for (ink, mark) in marks {
        if let Some((_, layer)) = made.iter_mut().find(|(i, _)| *i == ink) {
            layer.marks.push(mark);
            continue;
        }
        let (name, colour) = ink.layer();
        made.push((ink, PictureLayer { name, colour, marks: vec![mark] }));
    }
    made.sort_by_key(|(ink, _)| *ink);
    made.into_iter().map(|(_, layer)| layer).collect()
}

/// A part of a page.
#[derive(Debug)]
pub(super) struct Board {
    /// Nothing is drawn outside.
    pub window: Rect,
    /// Lines that no letter may touch.
    pub lines: Vec<Seg>,
    /// Boxes of what is written.
    pub taken: Vec<Rect>,
    /// Where no name should stand, since it would be cut off or covered.
    pub joints: Vec<Rect>,
    pub marks: Inked,
}

/// Words that look for a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Words<'a> {
    pub text: &'a str,
    pub height: f64,
    /// Whether they run upward.
    pub upright: bool,
    pub mirrored: bool,
}

impl Words<'_> {
    /// Width and height of their box.
    pub(super) fn size(&self) -> Vec2 {
        let wide = letters::width(self.text, self.height).max(self.height * 0.15);
        // Tails hang a third below the foot.
        let high = if self.text.contains(['g', 'j', 'p', 'q', 'y', ',', '(', ')', ';', '/', '_']) {
            self.height * 4.0 / 3.0
        } else {
            self.height
        };
        if self.upright { Vec2::new(high, wide) } else { Vec2::new(wide, high) }
    }

    /// Their box about a point.
    fn area(&self, about: Point) -> Rect {
        let size = self.size();
        Rect::from_center_size(about, (size.x, size.y))
    }

    fn letters(&self, about: Point) -> Letters {
        let area = self.area(about);
        let tail = if self.upright { area.width() } else { area.height() } - self.height;
        let (at, turn) = match (self.upright, self.mirrored) {
            (true, _) => (Point::new(area.x1 - tail, area.y0), 90.0),
            (false, true) => (Point::new(area.x1, area.y0 + tail), 0.0),
            (false, false) => (Point::new(area.x0, area.y0 + tail), 0.0),
        };
        Letters {
            text: self.text.to_owned(),
            at,
            height: self.height,
            turn,
            mirrored: self.mirrored,
        }
    }
}

impl Board {
    pub(super) fn new(window: Rect) -> Board {
        Board {
            window,
            lines: Vec::new(),
            taken: Vec::new(),
            joints: Vec::new(),
            marks: Vec::new(),
        }
    }

    pub(super) fn draw(&mut self, ink: Ink, mark: Mark) {
        self.marks.push((ink, mark));
    }

    /// Whether a box is clear of the window's edge, of all words, and of the lines given.
    pub(super) fn is_clear<'a>(
        &self,
        area: &Rect,
        lines: impl IntoIterator<Item = &'a Seg>,
    ) -> bool {
        let wide = area.inflate(CLEAR, CLEAR);
        holds(&self.window, &wide)
            && !self.taken.iter().any(|t| t.overlaps(wide))
            && !lines.into_iter().any(|s| touches(s, &wide))
    }

    /// Writes words about the first of some points where their box is clear of everything; gives whether there was one.
    pub(super) fn write(
        &mut self,
        ink: Ink,
        words: &Words<'_>,
        about: impl IntoIterator<Item = Point>,
    ) -> bool {
        let place = about.into_iter().find(|p| self.is_clear(&words.area(*p), &self.lines));
        place.is_some_and(|p| {
            self.put(ink, words, p);
            true
        })
    }

    /// The same, where only some lines can be near.
    pub(super) fn write_among(
        &mut self,
        ink: Ink,
        words: &Words<'_>,
        lines: &[Seg],
        about: &[Point],
    ) -> bool {
        let free = |p: &&Point| {
            let area = words.area(**p);
            self.is_clear(&area, lines) && !self.joints.iter().any(|j| j.overlaps(area))
        };
        let place = about.iter().find(free).copied();
        place.is_some_and(|p| {
            self.put(ink, words, p);
            true
        })
    }

    /// Writes words about a point.
    pub(super) fn put(&mut self, ink: Ink, words: &Words<'_>, about: Point) {
        self.taken.push(words.area(about));
        self.draw(ink, Mark::Letters(words.letters(about)));
    }
}
