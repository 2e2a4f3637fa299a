//! The drawing of one part: finished size, what is cut, figures, and the sum below.
//!
//! A page of 180 by 240 mm: title and scale in the foot, the sum above it, the part in the rest at the largest scale
//! that leaves room for its figures. The finished line is thin and the line with stretch and trim allowed for is thick;
//! where they are the same only the thick one is drawn.

use super::dimension::{Drafted, draft};
use super::room::clear;
use super::table::Table;
use super::{
    Dash, Letters, Mark, Picture, PictureLayer, palette, scaled_loop, scaled_point, scaled_seg,
    straight,
};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Side, Vec2, flatten};
use crate::letters;
use crate::part::{Design, Dimension, Member};

/// Page (mm).
pub(super) const PAGE: (f64, f64) = (180.0, 240.0);
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
/// Height of an F mark (mm).
const F_MARK: f64 = 4.0;
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

/// The drawing of one member, with the shape that is cut where it differs; `unit_note` says the unit of the figures.
///
/// # Units
/// Millimetres on a page of 180 by 240; the scale stands in the foot.
pub fn part_picture(
    title: &str,
    member: &Member,
    design: Option<&Design>,
    unit_note: &str,
) -> Picture {
    let table = Table::of(&member.sum);
    let base = FRAME + FOOT + table.height() + 7.0;
    let area = Rect::new(FRAME + 4.0, base + 3.0, PAGE.0 - FRAME - 4.0, PAGE.1 - FRAME - 4.0);
    let view = View::fitting(member, design, area);
    let mut sheet = Sheet::default();
    view.draw(member, design, &mut sheet);
    view.f_mark(member, &mut sheet);
    legend(member, design.is_some_and(|d| d.shape != member.shape), base, &mut sheet);
    table.draw(FRAME + FOOT, &mut sheet);
    foot(title, unit_note, view.scale.1, &mut sheet);
    Picture { width: PAGE.0, height: PAGE.1, title: title.to_owned(), layers: sheet.layers() }
}

/// Marks by layer while the page is being drawn.
#[derive(Default)]
pub(super) struct Sheet {
    pub(super) frame: Vec<Mark>,
    finished: Vec<Mark>,
    holes: Vec<Mark>,
    edges: Vec<Mark>,
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
            layer("FINISHED", palette::GREY, self.finished),
            layer("HOLES", palette::BLACK, self.holes),
            layer("EDGES", palette::BLACK, self.edges),
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

/// The part as it comes to lie on the page.
struct View {
    scale: (f64, &'static str),
    by: Vec2,
    drafted: Drafted,
    body: Rect,
    /// Whether the F mark stands beside the part.
    beside: Option<Point>,
    f_at: Option<Point>,
}

impl View {
    /// The largest scale at which the part with its figures has room, and its place.
    fn fitting(member: &Member, design: Option<&Design>, area: Rect) -> View {
        let body =
            design.map_or(member.shape.bounds(), |d| d.shape.bounds().union(member.shape.bounds()));
        let longest = body.width().max(body.height());
        let mut chosen = None;
        for scale in SCALES {
            if scale.0 > 2.0 && longest >= SMALL {
                continue;
            }
            let view = View::at_scale(member, design, body, scale);
            let all = view.extent();
            let fits = all.width() <= area.width() && all.height() <= area.height();
            chosen = Some((view, all));
            if fits {
                break;
            }
        }
        let (mut view, all) = chosen.unwrap_or_else(|| {
            let view = View::at_scale(member, design, body, (1.0, "1:1"));
            let all = view.extent();
            (view, all)
        });
        view.by = area.center() - all.center();
        view
    }

    fn at_scale(
        member: &Member,
        design: Option<&Design>,
        body: Rect,
        scale: (f64, &'static str),
    ) -> View {
        let s = scale.0;
        let on_page = Rect::new(body.x0 * s, body.y0 * s, body.x1 * s, body.y1 * s);
        let point = |p: Point| scaled_point(p, s, Vec2::ZERO);
        let dimensions: Vec<Dimension> = member
            .dimensions
            .iter()
            .map(|d| match d {
                Dimension::Span(a, b, off, text) => {
                    Dimension::Span(point(*a), point(*b), *off, text.clone())
                }
                Dimension::Diameter(c, r, text) => {
                    Dimension::Diameter(point(*c), r * s, text.clone())
                }
            })
            .collect();
        let shape = scaled_shape(&member.shape, s);
        let mut lines: Vec<Seg> =
            member.creases.iter().map(|c| scaled_seg(c, s, Vec2::ZERO)).collect();
        for punch in &member.punches {
            let at = point(punch.at);
            let reach = Vec2::new((punch.diameter * s / 2.0).max(2.0), 0.0);
            lines.push(Seg::line(at - reach, at + reach));
        }
        if let Some(design) = design {
            lines.extend(scaled_loop(design.shape.outline(), s, Vec2::ZERO).segs());
        }
        let f_at = shape.as_ref().and_then(|shape| corner_with_room(shape, &lines));
        let outlines = std::iter::once(&member.shape).chain(design.map(|d| &d.shape));
        let points: Vec<Point> = outlines
            .map(|shape| scaled_loop(shape.outline(), s, Vec2::ZERO))
            .flat_map(|it| flatten(&it, 0.05, Side::Inside))
            .collect();
        let drafted = draft(&dimensions, &points);
        let beside =
            f_at.is_none().then(|| Point::new(drafted.bounds.x0 - F_MARK - 4.0, on_page.y0));
        View { scale, by: Vec2::ZERO, drafted, body: on_page, beside, f_at }
    }

    fn extent(&self) -> Rect {
        let all = self.drafted.bounds.union(self.body).inflate(1.0, 1.0);
        match self.beside {
            Some(p) => all.union(Rect::from_origin_size(p, (F_MARK, F_MARK))),
            None => all,
        }
    }

    fn on_page(&self, it: &Loop) -> Loop {
        scaled_loop(it, self.scale.0, self.by)
    }

    fn draw(&self, member: &Member, design: Option<&Design>, sheet: &mut Sheet) {
        let (s, by) = (self.scale.0, self.by);
        let cut = design.map_or(&member.shape, |d| &d.shape);
        if *cut != member.shape {
            sheet.finished.extend(
                member.shape.loops().map(|l| Mark::Outline(self.on_page(l), THIN, Dash::Solid)),
            );
        }
        let outline = Mark::Outline(self.on_page(cut.outline()), THICK, Dash::Solid);
        sheet.edges.push(outline);
        sheet
            .holes
            .extend(cut.holes().iter().map(|h| Mark::Outline(self.on_page(h), THICK, Dash::Solid)));
        let creases = design.map_or(&member.creases, |d| &d.creases);
        sheet.creases.extend(
            creases.iter().map(|c| Mark::Line(vec![scaled_seg(c, s, by)], THIN, Dash::Dashed(3.0))),
        );
        let punches = design.map_or(&member.punches, |d| &d.punches);
        for punch in punches {
            let at = scaled_point(punch.at, s, by);
            cross(at, &mut sheet.punches);
            let round = Loop::Circle(at, punch.diameter * s / 2.0);
            sheet.punches.push(Mark::Outline(round, THIN * 0.7, Dash::Dotted(0.7)));
        }
        let lines = self.drafted.lines.iter().chain(&self.drafted.words);
        sheet.dimensions.extend(lines.map(|m| moved(m, by)));
    }

    /// The mark that tells the face: in a corner of the part, or beside it.
    fn f_mark(&self, member: &Member, sheet: &mut Sheet) {
        if let Some(foot) = self.f_at.or(self.beside) {
            let mark = Letters::new("F", foot + self.by, F_MARK);
            sheet.words.push(Mark::Named(
                member.name.map_or("face".to_owned(), |name| format!("face {name}")),
                vec![Mark::Letters(mark)],
            ));
        }
    }
}

fn scaled_shape(shape: &Shape, s: f64) -> Option<Shape> {
    shape.mapped(crate::geom::Affine::scale(s), 0.01).ok()
}

/// The foot of an F where it has room in the material, the lowest and leftmost.
fn corner_with_room(shape: &Shape, lines: &[Seg]) -> Option<Point> {
    const STEPS: u32 = 24;
    let wide = letters::width("F", F_MARK);
    let half = Vec2::new(wide / 2.0, F_MARK / 2.0);
    let bounds = shape.bounds();
    let mut best: Option<(f64, Point)> = None;
    for (i, j) in (0..=STEPS).flat_map(|i| (0..=STEPS).map(move |j| (i, j))) {
        let (u, v) = (f64::from(i) / f64::from(STEPS), f64::from(j) / f64::from(STEPS));
        let middle = Point::new(bounds.x0 + bounds.width() * u, bounds.y0 + bounds.height() * v);
        if clear(shape, lines, middle) >= half.hypot() + 1.4
            && best.is_none_or(|(least, _)| u + v < least)
        {
            best = Some((u + v, middle - half));
        }
    }
    best.map(|(_, foot)| foot)
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
fn legend(member: &Member, allowed: bool, base: f64, sheet: &mut Sheet) {
    const LETTER: f64 = 2.0;
    let mut x = FRAME + 4.0;
    let y = base - 4.5;
    let mut entry = |sheet: &mut Sheet, text: &str, draw: fn(Point, Point, &mut Sheet)| {
        draw(Point::new(x, y + 1.0), Point::new(x + 9.0, y + 1.0), sheet);
        sheet.note(text, Point::new(x + 11.0, y), LETTER);
        x += 11.0 + letters::width(text, LETTER) + 7.0;
    };
    entry(sheet, if allowed { "as cut, without kerf" } else { "finished size" }, |a, b, s| {
        s.edges.push(straight(a, b, THICK));
    });
    if allowed {
        entry(sheet, "in use", |a, b, s| {
            s.finished.push(straight(a, b, THIN));
        });
    }
    if !member.creases.is_empty() {
        entry(sheet, "fold", |a, b, s| {
            s.creases.push(Mark::Line(vec![Seg::line(a, b)], THIN, Dash::Dashed(3.0)));
        });
    }
    if !member.punches.is_empty() {
        entry(sheet, "punched by hand", |a, b, s| {
            cross(a.midpoint(b), &mut s.punches);
        });
    }
    sheet.note("F: seen from its own face", Point::new(x, y), LETTER);
}

/// Title, scale and unit.
fn foot(title: &str, unit_note: &str, scale: &str, sheet: &mut Sheet) {
    let (left, right) = (FRAME, PAGE.0 - FRAME);
    let corners = [(left, FRAME), (right, FRAME), (right, PAGE.1 - FRAME), (left, PAGE.1 - FRAME)];
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
pub(super) fn boxes(member: &Member, scale: f64) -> Vec<Rect> {
    View::at_scale(member, None, member.shape.bounds(), (scale, "")).drafted.boxes
}
