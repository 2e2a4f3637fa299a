//! Drawings to look at: one model, SVG, PNG and PDF out of it. No machine cuts from them; hands do, from [`template()`].
//!
//! A [`Picture`] is a page in millimetres, y up, of layers; each layer has a colour of Okabe and Ito's set and marks of
//! its own weight or dash, so that no meaning hangs on colour alone. Letters are pen strokes; dashes and hatching are
//! real strokes too, so a picture looks the same wherever it is opened.

mod chart;
mod dimension;
mod lay;
mod lines;
mod order;
mod overview;
mod part;
mod pdf;
mod punch;
mod room;
mod style;
mod table;
mod taken;
mod template;
mod travel;

pub use super::colour::palette;
pub use chart::place_charts;
pub use lay::{LaidPiece, LayMarks, lay_picture};
pub(super) use lay::{LayDrawing, lay_drawing};
pub(super) use lines::hatched;
pub use order::order_picture;
pub use overview::{Overview, Tile, Total, overview_picture};
pub use part::{CutEdge, PartDrawing, part_picture};
pub use pdf::{CURVE_ERROR, to_pdf};
pub use punch::punch_picture;
pub use style::DimensionStyle;
pub use template::{
    BagLabel, Drawing, Found, HoleMark, Paper, Pattern, Printing, SheetLines, Template, template,
};
pub use travel::travel_picture;

use super::number::fixed;
use super::svg::path;
use crate::geom::{Loop, Point, Seg, Vec2, turn_vector};
use crate::letters;
use crate::letters::{one_line, slug};
use resvg::{tiny_skia, usvg};
use std::collections::BTreeMap;
use svg::Document;
use svg::node::element::{Circle, Element, Group, Path, Rectangle, Title};

/// How a line is broken; the figure is the length of a dash in millimetres on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dash {
    /// Not at all.
    Solid,
    /// Dashes.
    Dashed(f64),
    /// Long and short by turns.
    Chain(f64),
    /// Dots, so far apart.
    Dotted(f64),
}

/// A line of letters.
#[derive(Debug, Clone, PartialEq)]
pub struct Letters {
    /// What it says.
    pub text: String,
    /// Foot of the first letter (mm).
    pub at: Point,
    /// Height of capitals (mm).
    pub height: f64,
    /// Turn in degrees, counter-clockwise.
    pub turn: f64,
    /// Whether it reads from the back, to the left of `at`.
    pub mirrored: bool,
}

/// One thing on the page.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A chain of lines and arcs.
    Line(Vec<Seg>, f64, Dash),
    /// A closed loop; a circle stays one.
    Outline(Loop, f64, Dash),
    /// The ground between loops, an inner one leaving it out again, in a colour of its own.
    Ground(Vec<Loop>, &'static str),
    /// Slanting lines all over a loop: millimetres apart, degrees, weight.
    Hatch(Loop, f64, f64, f64),
    /// The head of an arrow: tip, direction, length.
    Arrow(Point, Vec2, f64),
    /// Letters, in strokes a tenth of their height wide.
    Letters(Letters),
    /// Marks that belong to one thing, with its name.
    Named(String, Vec<Mark>),
}

/// Marks of one sort.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureLayer {
    /// Name, as in cut files where it is the same thing.
    pub name: &'static str,
    /// Colour, of [`palette`].
    pub colour: &'static str,
    /// Its marks, later ones on top.
    pub marks: Vec<Mark>,
}

/// A page with what is drawn on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Width (mm).
    pub width: f64,
    /// Height (mm).
    pub height: f64,
    /// What it shows, in words.
    pub title: String,
    /// From the bottom up.
    pub layers: Vec<PictureLayer>,
}

/// White paper.
pub(super) const PAPER: &str = "#FFFFFF";
/// Least and most width of a picture with numbers (dots).
pub const ACROSS: (f64, f64) = (1600.0, 2600.0);
/// So high should the lowest number be (dots).
const NUMBER: f64 = 9.0;
/// No picture is rendered with more pixels than this.
const MOST_PIXELS: f64 = 1e8;

impl Picture {
    /// The picture as SVG, a unit a millimetre.
    pub fn to_svg(&self) -> String {
        let (width, height) = (fixed(self.width, 3), fixed(self.height, 3));
        let mut document = Document::new()
            .set("width", format!("{width}mm"))
            .set("height", format!("{height}mm"))
            .set("viewBox", format!("0 0 {width} {height}"))
            .add(Title::new(one_line(&self.title)))
            .add(Rectangle::new().set("width", width).set("height", height).set("fill", PAPER));
        let mut writer = Writer { page: self.height, names: BTreeMap::new() };
        for layer in self.layers.iter().filter(|l| !l.marks.is_empty()) {
            let mut group = Group::new()
                .set("id", layer.name)
                .set("fill", "none")
                .set("stroke", layer.colour)
                .set("stroke-linecap", "round")
                .set("stroke-linejoin", "round");
            for element in writer.elements(&layer.marks, layer.colour) {
                group = group.add(element);
            }
            document = document.add(group);
        }
        format!("{document}\n")
    }

    /// Dots an inch at which the picture is so many pixels wide.
    pub fn dpi_across(&self, pixels: f64) -> f64 {
        pixels * 25.4 / self.width
    }
}

impl Picture {
    /// Dots an inch at which the lowest number of its layer `NUMBERS` is read on a screen: the picture is then as wide as
    /// that asks, between [`ACROSS`] dots.
    pub fn dpi_for_numbers(&self) -> f64 {
        let numbers = self.layers.iter().filter(|layer| layer.name == "NUMBERS");
        let heights = numbers.flat_map(|layer| &layer.marks).filter_map(|mark| match mark {
            Mark::Letters(letters) => Some(letters.height),
            _ => None,
        });
        let lowest = heights.fold(f64::INFINITY, f64::min);
        self.dpi_across((NUMBER * self.width / lowest).clamp(ACROSS.0, ACROSS.1))
    }
}

/// A PNG of an SVG picture.
///
/// # Errors
/// Words, when the text is no SVG or the picture would be empty or larger than 100 million pixels.
pub fn to_png(svg: &str, dpi: f64) -> Result<Vec<u8>, String> {
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default())
        .map_err(|e| format!("the picture cannot be read: {e}"))?;
    let scale = dpi / 96.0;
    let size = tree.size();
    let (width, height) =
        ((f64::from(size.width()) * scale).ceil(), (f64::from(size.height()) * scale).ceil());
    if !(width >= 1.0 && height >= 1.0 && width * height <= MOST_PIXELS) {
        return Err(format!("a picture of {width} by {height} pixels cannot be made"));
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "1 to 1e8, checked above"
    )]
    let (across, down) = (width as u32, height as u32);
    let mut pixels = tiny_skia::Pixmap::new(across, down).ok_or("no room for the picture")?;
    pixels.fill(tiny_skia::Color::WHITE);
    #[allow(clippy::cast_possible_truncation, reason = "pictures are single precision")]
    let scale = scale as f32;
    let scaled = tiny_skia::Transform::from_scale(scale, scale);
    resvg::render(&tree, scaled, &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| format!("the picture cannot be written: {e}"))
}

/// Marks to elements, y turned over here and nowhere else.
struct Writer {
    page: f64,
    /// How often each id has been given.
    names: BTreeMap<String, u32>,
}

impl Writer {
    fn elements(&mut self, marks: &[Mark], colour: &'static str) -> Vec<Element> {
        marks.iter().filter_map(|m| self.element(m, colour)).collect()
    }

    fn element(&mut self, mark: &Mark, colour: &'static str) -> Option<Element> {
        match mark {
            Mark::Line(segs, weight, dash) => {
                stroke(path(&lines::dashed(segs, *dash), self.page), *weight)
            }
            Mark::Outline(Loop::Circle(c, r), weight, Dash::Solid) => Some(
                Circle::new()
                    .set("cx", fixed(c.x, 3))
                    .set("cy", fixed(self.page - c.y, 3))
                    .set("r", fixed(*r, 3))
                    .set("stroke-width", fixed(*weight, 3))
                    .into(),
            ),
            Mark::Outline(it, weight, dash) => {
                stroke(path(&lines::dashed(&it.segs(), *dash), self.page), *weight)
            }
            Mark::Ground(loops, fill) => {
                let chains: Vec<Vec<Seg>> = loops.iter().map(Loop::segs).collect();
                let path = Path::new()
                    .set("d", path(&chains, self.page))
                    .set("fill", *fill)
                    .set("fill-rule", "evenodd")
                    .set("stroke", "none");
                Some(path.into())
            }
            Mark::Hatch(it, apart, slant, weight) => {
                stroke(path(&hatched(it, *apart, *slant), self.page), *weight)
            }
            Mark::Arrow(tip, direction, length) => {
                let (back, side) = (*direction * *length, turn_vector(*direction, 90.0));
                // Three times as long as wide.
                let foot = *tip - back;
                let (left, right) = (foot + side * (length / 6.0), foot - side * (length / 6.0));
                let ends = [*tip, left, right];
                let chain = (0..3).map(|i| Seg::line(ends[i], ends[(i + 1) % 3])).collect();
                let path = Path::new()
                    .set("d", path(&[chain], self.page))
                    .set("fill", colour)
                    .set("stroke", "none");
                Some(path.into())
            }
            Mark::Letters(words) => self.letters(words),
            Mark::Named(name, marks) => Some(self.named(name, marks, colour)),
        }
    }

    fn letters(&self, words: &Letters) -> Option<Element> {
        let mut d = String::new();
        for line in words.pen_lines() {
            for (i, p) in line.iter().enumerate() {
                let word = if i == 0 { 'M' } else { 'L' };
                d.push(word);
                d.push_str(&fixed(p.x, 3));
                d.push(' ');
                d.push_str(&fixed(self.page - p.y, 3));
            }
        }
        let mut element = stroke(d, words.height / 10.0)?;
        svg::Node::assign(&mut element, "aria-label", one_line(&words.text));
        Some(element)
    }

    fn named(&mut self, name: &str, marks: &[Mark], colour: &'static str) -> Element {
        let id = slug(name);
        let times = self.names.entry(id.clone()).or_insert(0);
        *times += 1;
        let id = if *times == 1 { id } else { format!("{id}.{times}") };
        let mut group = Group::new().set("id", id).add(Title::new(one_line(name)));
        for element in self.elements(marks, colour) {
            group = group.add(element);
        }
        group.into()
    }
}

/// A stroked path, or nothing for an empty one.
fn stroke(d: String, weight: f64) -> Option<Element> {
    if d.is_empty() {
        return None;
    }
    Some(Path::new().set("d", d).set("stroke-width", fixed(weight, 3)).into())
}

impl Letters {
    /// Upright letters.
    pub fn new(text: impl Into<String>, at: Point, height: f64) -> Letters {
        Letters { text: text.into(), at, height, turn: 0.0, mirrored: false }
    }

    /// Letters about a point, both ways.
    pub fn centred(text: &str, about: Point, height: f64) -> Letters {
        let wide = letters::width(text, height);
        Letters::new(text, about - Vec2::new(wide / 2.0, height / 2.0), height)
    }

    /// The pen lines, in their place on the page.
    fn pen_lines(&self) -> Vec<Vec<Point>> {
        let mut lines = letters::strokes(&self.text, self.height);
        for p in lines.iter_mut().flatten() {
            let x = if self.mirrored { -p.x } else { p.x };
            *p = self.at + turn_vector(Vec2::new(x, p.y), self.turn);
        }
        lines
    }
}

/// A straight line.
pub(super) fn straight(a: Point, b: Point, weight: f64) -> Mark {
    Mark::Line(vec![Seg::line(a, b)], weight, Dash::Solid)
}

/// A loop made larger or smaller and moved; what was a proper loop stays one.
pub(in crate::write) fn scaled_loop(it: &Loop, scale: f64, by: Vec2) -> Loop {
    match it {
        Loop::Circle(center, radius) => {
            Loop::Circle(scaled_point(*center, scale, by), radius * scale)
        }
        Loop::Chain(segs) => Loop::Chain(segs.iter().map(|s| scaled_seg(s, scale, by)).collect()),
    }
}

/// A piece of a loop, as [`scaled_loop`].
pub(in crate::write) fn scaled_seg(seg: &Seg, scale: f64, by: Vec2) -> Seg {
    Seg { a: scaled_point(seg.a, scale, by), b: scaled_point(seg.b, scale, by), bulge: seg.bulge }
}

/// A point, as [`scaled_loop`].
pub(super) fn scaled_point(p: Point, scale: f64, by: Vec2) -> Point {
    (p.to_vec2() * scale + by).to_point()
}

/// The boxes of a drawing's letters at a scale.
#[cfg(test)]
pub(super) fn drafted_boxes(of: &PartDrawing<'_>, scale: f64) -> Vec<crate::geom::Rect> {
    part::boxes(of, scale)
}
