//! The drawing of one part: finished size, what is cut, figures, and the sum below.
//!
//! A page of 180 by 240 mm, or higher where there is much to show: title and scale in the foot, the sum above it, then the inset of the edge, the part as it works
//! where it does not lie flat in use, and the part itself in the rest, at the largest scale that leaves room for its figures.
//! The finished line is thin, the line with all allowances thick, the line that the middle of the cut follows dashed. The
//! dashed one is seen only where it stands clear of the thick one: in the inset ([`inset`]), as a rule.

mod inset;
mod rows;
mod view;
mod works;

use super::dimension::Drafter;
use super::style::DimensionStyle;
use super::table::Table;
use super::{
    Dash, Letters, Mark, Picture, PictureLayer, palette, scaled_loop, scaled_seg, straight,
};
use crate::geom::{Loop, Point, Rect, Seg, Vec2};
use crate::letters;
use crate::part::{Assembled, Design, Dimension, Member};
use inset::Inset;
use rows::Rows;
use view::View;
use works::Works;

/// Page (mm).
pub(super) const PAGE: (f64, f64) = (180.0, 240.0);
/// The page is higher by this where the part as it works and a long sum stand on it (mm): 264 mm go onto A4.
const MORE: f64 = 24.0;
/// Shares of the room that the part as it works may take, the first that serves.
const SHARES: [f64; 4] = [0.5, 0.42, 0.34, 0.26];
/// A sum is long that takes more of the page than this (mm).
const LONG_SUM: f64 = 90.0;
/// From the page's edge to the frame (mm).
pub(super) const FRAME: f64 = 6.0;
/// Height of the foot with title and scale (mm).
const FOOT: f64 = 13.0;
/// Weights of thick and thin lines (mm).
///
/// # Source
/// ISO 128-2 has them two to one, from memory.
const THICK: f64 = 0.5;
/// See [`THICK`].
pub(super) const THIN: f64 = 0.25;
/// Dash of the line that the cut follows (mm).
const CUT_DASH: f64 = 1.6;
/// Scales to choose from, and their names.
const SCALES: [(f64, &str); 11] = [
    (5.0, "5:1"),
    (2.0, "2:1"),
    (1.0, "1:1"),
    (0.5, "1:2"),
    (0.4, "1:2.5"),
    (0.2, "1:5"),
    (0.1, "1:10"),
    (0.05, "1:20"),
    (0.04, "1:25"),
    (0.02, "1:50"),
    (0.01, "1:100"),
];
/// Only parts smaller than this are drawn five times their size (mm).
const SMALL: f64 = 10.0;

/// The line along which a part is cut.
#[derive(Debug, Clone, PartialEq)]
pub struct CutEdge {
    /// The line that the middle of the cut follows round the part (mm); the part's own line where there is no kerf.
    pub line: Loop,
    /// Width of the cut along x and y (mm).
    pub kerf: (f64, f64),
    /// How much farther out a soft edge is cut, to be pared off (mm).
    pub char_trim: f64,
    /// What cuts what: `knife on thin-kid`.
    pub by: String,
}

/// What the drawing of one member shows.
#[derive(Debug, Clone, Copy)]
pub struct PartDrawing<'a> {
    /// Part, member, places.
    pub title: &'a str,
    /// The member at its finished size.
    pub member: &'a Member,
    /// The same with all allowances, kerf not among them; none where nothing is allowed for.
    pub design: Option<&'a Design>,
    /// Where it is cut; none where that is not known.
    pub cut: Option<&'a CutEdge>,
    /// The part as it works.
    pub works: &'a [Assembled],
    /// Inches or millimetres first.
    pub style: DimensionStyle,
    /// Material and the like, for the title strip.
    pub note: &'a str,
}

/// The drawing of one member.
///
/// # Units
/// Millimetres on a page of 180 by 240; the scale stands in the foot, the unit of the figures below it.
pub fn part_picture(of: &PartDrawing<'_>) -> Picture {
    let table = Table::of(&of.member.sum, of.style);
    let base = FRAME + FOOT + table.height() + 7.0;
    let crowded = !of.works.is_empty() && table.height() > LONG_SUM;
    let height = PAGE.1 + if crowded { MORE } else { 0.0 };
    let mut area = Rect::new(FRAME + 4.0, base + 2.0, PAGE.0 - FRAME - 4.0, height - FRAME - 4.0);
    let mut sheet = Sheet::default();
    let inset = of.cut.map(|cut| Inset::of(of, cut));
    if let Some(inset) = &inset {
        inset.draw(area, &mut sheet);
        area.y0 += inset.height();
    }
    let drafter = Drafter { style: of.style, sum: &of.member.sum };
    if let Some(works) = works_beside(of, &drafter, area) {
        works.draw(area, &mut sheet);
        area.y0 += works.height();
    }
    let mut view = View::fitting(of, &drafter, area);
    // With its holes' places told in rows, the whole has only its own sizes.
    let plain = Member { dimensions: overall(of.member), ..of.member.clone() };
    let other = PartDrawing { member: &plain, ..*of };
    let smaller = View::fitting(&other, &drafter, area);
    if let Some(rows) = Rows::fitting(of, smaller.scale.0, smaller.extent().height(), area) {
        rows.draw(area, &mut sheet);
        area.y0 += rows.height();
        view = smaller;
    } else if view.scale.0 * 2.4 < smaller.scale.0 {
        // So many figures leave nothing to be seen: places stand in the sum, or in the file they came from.
        view = smaller;
    }
    let view = view.within(area);
    let spot = inset.as_ref().and_then(Inset::spot);
    view.draw(of, spot, &mut sheet);
    view.f_mark(of.member, &mut sheet);
    legend(of, base, &mut sheet);
    table.draw(FRAME + FOOT, &mut sheet);
    foot(of, view.scale.1, height, &mut sheet);
    Picture { width: PAGE.0, height, title: of.title.to_owned(), layers: sheet.layers() }
}

/// The part as it works, smaller where the part itself would else be drawn much smaller than alone.
fn works_beside<'a>(of: &PartDrawing<'a>, drafter: &Drafter<'_>, area: Rect) -> Option<Works<'a>> {
    // True size is always large enough.
    let enough = (0.6 * View::fitting(of, drafter, area).scale.0).min(1.0);
    let mut first = None;
    for share in SHARES {
        let Some(works) = Works::fitting(of.works, drafter, area, share) else { break };
        let rest = Rect { y0: area.y0 + works.height(), ..area };
        if View::fitting(of, drafter, rest).scale.0 >= enough {
            return Some(works);
        }
        first = first.or(Some(works));
    }
    first
}

/// The figures of a part but for those of single places on it: its length and width, and diameters.
fn overall(member: &Member) -> Vec<Dimension> {
    let b = member.shape.bounds();
    let keep = |d: &&Dimension| match d {
        Dimension::Span(from, to, ..) => {
            let own = Rect::from_points(*from, *to);
            let level = own.x0 <= b.x0 + 1e-6 && own.x1 >= b.x1 - 1e-6;
            level || (own.y0 <= b.y0 + 1e-6 && own.y1 >= b.y1 - 1e-6)
        }
        Dimension::Diameter(..) => true,
    };
    member.dimensions.iter().filter(keep).cloned().collect()
}

/// Marks by layer while the page is being drawn.
#[derive(Default)]
pub(super) struct Sheet {
    pub(super) frame: Vec<Mark>,
    boards: Vec<Mark>,
    finished: Vec<Mark>,
    holes: Vec<Mark>,
    edges: Vec<Mark>,
    cut: Vec<Mark>,
    creases: Vec<Mark>,
    punches: Vec<Mark>,
    dimensions: Vec<Mark>,
    pub(super) words: Vec<Mark>,
    notes: Vec<Mark>,
}

impl Sheet {
    fn layers(self) -> Vec<PictureLayer> {
        let layer = |name, colour, marks| PictureLayer { name, colour, marks };
        vec![
            layer("FRAME", palette::GREY, self.frame),
            layer("BOARDS", palette::GREY, self.boards),
            layer("FINISHED", palette::GREY, self.finished),
            layer("HOLES", palette::BLACK, self.holes),
            layer("EDGES", palette::BLACK, self.edges),
            layer("CUT", palette::BLACK, self.cut),
            layer("CREASE", palette::VERMILION, self.creases),
            layer("PUNCH", palette::GREEN, self.punches),
            layer("DIMENSIONS", palette::BLUE, self.dimensions),
            layer("NOTES", palette::GREY, self.notes),
            layer("WORDS", palette::BLACK, self.words),
        ]
    }

    pub(super) fn word(&mut self, text: impl Into<String>, at: Point, height: f64) {
        self.words.push(Mark::Letters(Letters::new(text, at, height)));
    }

    pub(super) fn note(&mut self, text: impl Into<String>, at: Point, height: f64) {
        self.notes.push(Mark::Letters(Letters::new(text, at, height)));
    }
}

/// A small upright cross.
fn cross(at: Point, marks: &mut Vec<Mark>) {
    let (x, y) = (Vec2::new(2.0, 0.0), Vec2::new(0.0, 2.0));
    marks.push(straight(at - x, at + x, THIN));
    marks.push(straight(at - y, at + y, THIN));
}

/// A mark moved on the page.
pub(super) fn moved(mark: &Mark, by: Vec2) -> Mark {
    match mark {
        Mark::Line(segs, weight, dash) => {
            Mark::Line(segs.iter().map(|s| scaled_seg(s, 1.0, by)).collect(), *weight, *dash)
        }
        Mark::Outline(it, weight, dash) => Mark::Outline(scaled_loop(it, 1.0, by), *weight, *dash),
        Mark::Ground(loops, colour) => {
            Mark::Ground(loops.iter().map(|l| scaled_loop(l, 1.0, by)).collect(), colour)
        }
        Mark::Hatch(it, apart, slant, weight) => {
            Mark::Hatch(scaled_loop(it, 1.0, by), *apart, *slant, *weight)
        }
        Mark::Arrow(tip, way, length) => Mark::Arrow(*tip + by, *way, *length),
        Mark::Letters(words) => Mark::Letters(Letters { at: words.at + by, ..words.clone() }),
        Mark::Named(name, marks) => {
            Mark::Named(name.clone(), marks.iter().map(|m| moved(m, by)).collect())
        }
    }
}

/// What the lines mean, only those that were drawn.
fn legend(of: &PartDrawing<'_>, base: f64, sheet: &mut Sheet) {
    const LETTER: f64 = 2.0;
    let mut x = FRAME + 4.0;
    let y = base - 4.5;
    let mut entry = |sheet: &mut Sheet, text: &str, draw: fn(Point, Point, &mut Sheet)| {
        draw(Point::new(x, y + 1.0), Point::new(x + 8.0, y + 1.0), sheet);
        sheet.note(text, Point::new(x + 9.5, y), LETTER);
        x += 9.5 + letters::width(text, LETTER) + 5.0;
    };
    let allowed = of.design.is_some_and(|d| d.shape != of.member.shape);
    entry(sheet, if allowed { "with allowances" } else { "finished size" }, |a, b, s| {
        s.edges.push(straight(a, b, THICK));
    });
    if allowed {
        entry(sheet, "finished size", |a, b, s| s.finished.push(straight(a, b, THIN)));
    }
    if of.cut.is_some_and(CutEdge::has_kerf) {
        entry(sheet, "cut line", |a, b, s| {
            s.cut.push(Mark::Line(vec![Seg::line(a, b)], THIN, Dash::Dashed(CUT_DASH)));
        });
    }
    if !of.member.creases.is_empty() {
        entry(sheet, "fold", |a, b, s| {
            s.creases.push(Mark::Line(vec![Seg::line(a, b)], THIN, Dash::Dashed(3.0)));
        });
    }
    if !of.member.guides.is_empty() {
        entry(sheet, "end of the lap", |a, b, s| {
            s.finished.push(Mark::Line(vec![Seg::line(a, b)], THIN, Dash::Chain(2.0)));
        });
    }
    if !of.member.punches.is_empty() {
        entry(sheet, "punched by hand", |a, b, s| {
            cross(a.midpoint(b), &mut s.punches);
        });
    }
    sheet.note("F: seen from its own face", Point::new(x, y), LETTER);
}

/// Title, scale and unit.
fn foot(of: &PartDrawing<'_>, scale: &str, height: f64, sheet: &mut Sheet) {
    let unit_note = &format!("{}, {}", of.style.unit(), of.note);
    let title = of.title;
    let (left, right) = (FRAME, PAGE.0 - FRAME);
    let top = height - FRAME;
    let corners = [(left, FRAME), (right, FRAME), (right, top), (left, top)];
    let sides = (0..4).map(|i| Seg::line(corners[i].into(), corners[(i + 1) % 4].into()));
    sheet.frame.push(Mark::Line(sides.collect(), 0.35, Dash::Solid));
    let top = FRAME + FOOT;
    sheet.frame.push(straight(Point::new(left, top), Point::new(right, top), 0.35));
    let wide = |text: &str, height: f64| letters::width(text, height);
    let scale = format!("scale {scale}");
    let note = letters::height_within(unit_note, 60.0, 2.2);
    let column = wide(&scale, 3.2).max(wide(unit_note, note)) + 8.0;
    sheet.frame.push(straight(
        Point::new(right - column, FRAME),
        Point::new(right - column, top),
        0.35,
    ));
    let x = right - column + 4.0;
    sheet.word(scale, Point::new(x, FRAME + 7.4), 3.2);
    sheet.note(unit_note, Point::new(x, FRAME + 2.8), note);
    let height = letters::height_within(title, right - column - left - 8.0, 4.5);
    sheet.word(title, Point::new(left + 4.0, FRAME + (FOOT - height) / 2.0), height);
}

/// The boxes of the letters at a scale.
#[cfg(test)]
pub(super) fn boxes(of: &PartDrawing<'_>, scale: f64) -> Vec<Rect> {
    let drafter = Drafter { style: of.style, sum: &of.member.sum };
    View::at_scale(of, &drafter, of.member.shape.bounds(), (scale, "")).drafted.boxes
}
