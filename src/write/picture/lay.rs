//! The picture of a sheet with its pieces, as they lie.
//!
//! One millimetre of the sheet is one of the page up to 1.2 m, else smaller by a plain scale. Used ground is tinted and
//! waste is white; flaws are hatched and say why; a spare has a dashed line; a piece that lies on its face carries a
//! mirrored F; zones are dotted and say their grade.

mod names;
mod zones;

use super::room::{clear, roomiest};
use super::{
    Dash, Letters, Mark, PAPER, Picture, PictureLayer, palette, scaled_loop, scaled_point,
    scaled_seg, straight,
};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2};
use crate::letters;
use crate::sheet::{Sheet, SheetKind};
use crate::write::number::fixed;
use std::fmt::Write;

/// Light tint of used ground: sky blue, thinned with white.
const USED: &str = "#E4F2FB";
/// Light tint of a spare: orange, thinned with white.
const SPARE: &str = "#FCF1DC";
/// Sheets up to this are drawn at true size (mm).
const TRUE_SIZE: f64 = 1200.0;

/// Labels no higher than this share of the page's letters stand beside their piece.
const LEAST: f64 = 0.6;

/// A piece as it lies on its sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidPiece {
    /// What stands in it: its position, with a letter for its member.
    pub label: String,
    /// Its shape, in place (mm of the sheet).
    pub shape: Shape,
    /// Whether it is seen from its back.
    pub mirrored: bool,
    /// Whether it is a spare, or only claimed: its line is dashed.
    pub spare: bool,
    /// Whether it was cut and is spoilt.
    pub spoilt: bool,
    /// Its fold lines, in place (mm of the sheet).
    pub creases: Vec<Seg>,
}

/// What is drawn over sheet and pieces for whoever cuts them (mm of the sheet).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LayMarks {
    /// Bed windows, each with its number.
    pub windows: Vec<(String, Rect)>,
    /// Register dots.
    pub dots: Vec<Point>,
    /// What pieces with dashed lines are, where they are no spares.
    pub dashed: Option<&'static str>,
}

/// The picture of a sheet: its line, grain, face, flaws, pieces, the share used, a 100 mm rule, and lines of words
/// below.
///
/// # Units
/// Millimetres of the sheet up to 1.2 m; the scale is said where it is another.
pub fn lay_picture(
    sheet: &Sheet,
    pieces: &[LaidPiece],
    marks: &LayMarks,
    title: &str,
    footer: &[String],
) -> Picture {
    let page = Page::of(sheet, pieces, footer.len());
    let mut layers = layers(sheet, pieces, marks, &page);
    layers.push(rule_layer(&page));
    layers.push(word_layer(sheet, pieces, title, footer, (marks.dashed, &page)));
    Picture { width: page.width, height: page.height, title: title.to_owned(), layers }
}

/// The layers of a sheet's picture without its rule and the words round it, and where the sheet lies on their page.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::write) struct LayDrawing {
    /// From the bottom up.
    pub(in crate::write) layers: Vec<PictureLayer>,
    /// From the sheet to the page: times this,
    pub(in crate::write) scale: f64,
    /// and moved by this (mm).
    pub(in crate::write) by: Vec2,
    /// Width and height of the page (mm).
    pub(in crate::write) width: f64,
    /// See `width`.
    pub(in crate::write) height: f64,
    /// How far down from its upper edge anything is drawn (mm).
    pub(in crate::write) bottom: f64,
}

/// A sheet with its pieces, for a page that says the rest in its own words.
pub(in crate::write) fn lay_drawing(
    sheet: &Sheet,
    pieces: &[LaidPiece],
    marks: &LayMarks,
) -> LayDrawing {
    let page = Page::of(sheet, pieces, 0);
    LayDrawing {
        layers: layers(sheet, pieces, marks, &page),
        scale: page.scale,
        by: page.by,
        width: page.width,
        height: page.height,
        bottom: page.height - page.area.y0 + 2.5 * page.letter,
    }
}

fn layers(sheet: &Sheet, pieces: &[LaidPiece], marks: &LayMarks, page: &Page) -> Vec<PictureLayer> {
    let windows = window_words(sheet, pieces, marks, page);
    // Words that stand on the page already.
    let mut kept: Vec<Rect> = windows.iter().map(|area| on_page(*area, page)).collect();
    let flaws = flaw_layer(sheet, pieces, &mut kept, page);
    let zones = zones::zone_layer(sheet, pieces, &mut kept, page);
    vec![
        ground_layer(sheet, pieces, page),
        sheet_layer(sheet, page),
        bed_layer(sheet, marks, &windows, page),
        zones,
        flaws,
        hole_layer(pieces, page),
        edge_layer(pieces, page),
        crease_layer(pieces, page),
        spoilt_layer(pieces, page),
        dot_layer(marks, page),
        grain_layer(sheet, page),
        names::number_layer((sheet, pieces, marks), &kept, page),
    ]
}

/// Sizes of the page, all taken from the height of its letters.
struct Page {
    scale: f64,
    scale_name: &'static str,
    by: Vec2,
    letter: f64,
    width: f64,
    height: f64,
    /// The sheet's box on the page.
    area: Rect,
}

impl Page {
    fn of(sheet: &Sheet, pieces: &[LaidPiece], footers: usize) -> Page {
        let bounds =
            pieces.iter().map(|p| p.shape.bounds()).fold(sheet.outline.bounds(), |a, b| a.union(b));
        let longest = bounds.width().max(bounds.height());
        let scales = [(1.0, "1:1"), (0.5, "1:2"), (0.2, "1:5"), (0.1, "1:10"), (0.05, "1:20")];
        let (scale, scale_name) =
            scales.into_iter().find(|(s, _)| longest * s <= TRUE_SIZE).unwrap_or((0.01, "1:100"));
        let (wide, high) = (bounds.width() * scale, bounds.height() * scale);
        let letter = (wide.max(high * 0.8).max(130.0) / 95.0).max(1.8);
        let margin = 3.0 * letter;
        #[allow(clippy::cast_precision_loss, reason = "a count of lines")]
        let below = (7.5 + 2.0 * footers as f64) * letter;
        let width = wide.max(62.0 * letter) + 2.0 * margin;
        let above = 10.5 * letter;
        let corner = Point::new((width - wide) / 2.0, below);
        Page {
            scale,
            scale_name,
            by: corner - (Point::new(bounds.x0, bounds.y0).to_vec2() * scale).to_point(),
            letter,
            width,
            height: below + high + above,
            area: Rect::from_origin_size(corner, (wide, high)),
        }
    }

    fn on_loop(&self, it: &Loop) -> Loop {
        scaled_loop(it, self.scale, self.by)
    }

    /// Widths of lines, against the same height of letters.
    fn weight(&self, share: f64) -> f64 {
        self.letter * share
    }

    /// A box of the page on the sheet.
    fn off_page(&self, area: Rect) -> Rect {
        let back = |p: Point| ((p - self.by).to_vec2() / self.scale).to_point();
        Rect::from_points(back(Point::new(area.x0, area.y0)), back(Point::new(area.x1, area.y1)))
    }
}

fn layer(name: &'static str, colour: &'static str, marks: Vec<Mark>) -> PictureLayer {
    PictureLayer { name, colour, marks }
}

/// Used ground, the largest pieces first so that guests lie on top.
fn ground_layer(sheet: &Sheet, pieces: &[LaidPiece], page: &Page) -> PictureLayer {
    let mut order: Vec<&LaidPiece> = pieces.iter().collect();
    order.sort_by(|p, q| q.shape.area().total_cmp(&p.shape.area()));
    let mut marks = vec![Mark::Ground(vec![page.on_loop(&sheet.outline)], PAPER)];
    marks.extend(order.iter().map(|piece| {
        let loops = piece.shape.loops().map(|l| page.on_loop(l)).collect();
        Mark::Ground(loops, if piece.spare { SPARE } else { USED })
    }));
    layer("USED", palette::SKY, marks)
}

fn hole_layer(pieces: &[LaidPiece], page: &Page) -> PictureLayer {
    let holes = pieces.iter().flat_map(|p| p.shape.holes());
    let weight = page.weight(0.07);
    layer(
        "HOLES",
        palette::BLUE,
        holes.map(|h| Mark::Outline(page.on_loop(h), weight, Dash::Solid)).collect(),
    )
}

fn edge_layer(pieces: &[LaidPiece], page: &Page) -> PictureLayer {
    let marks = pieces.iter().map(|piece| {
        let dash = if piece.spare { Dash::Dashed(page.letter * 0.7) } else { Dash::Solid };
        let outline = Mark::Outline(page.on_loop(piece.shape.outline()), page.weight(0.12), dash);
        Mark::Named(piece.label.clone(), vec![outline])
    });
    layer("EDGES", palette::BLACK, marks.collect())
}

fn crease_layer(pieces: &[LaidPiece], page: &Page) -> PictureLayer {
    let creases = pieces.iter().flat_map(|p| &p.creases);
    let marks = creases.map(|c| {
        let seg = scaled_seg(c, page.scale, page.by);
        Mark::Line(vec![seg], page.weight(0.07), Dash::Dashed(page.letter * 0.5))
    });
    layer("CREASE", palette::VERMILION, marks.collect())
}

/// Spoilt pieces, hatched both ways.
fn spoilt_layer(pieces: &[LaidPiece], page: &Page) -> PictureLayer {
    let spoilt = pieces.iter().filter(|piece| piece.spoilt);
    let marks = spoilt.flat_map(|piece| {
        let outline = page.on_loop(piece.shape.outline());
        [45.0, -45.0]
            .map(|slant| Mark::Hatch(outline.clone(), page.letter * 0.9, slant, page.weight(0.06)))
    });
    layer("SPOILT", palette::VERMILION, marks.collect())
}

fn sheet_layer(sheet: &Sheet, page: &Page) -> PictureLayer {
    let outline = Mark::Outline(
        page.on_loop(&sheet.outline),
        page.weight(0.2),
        Dash::Chain(2.0 * page.letter),
    );
    layer("SHEET", palette::GREY, vec![outline])
}

/// Where the word of each bed window stands (mm of the sheet).
fn window_words(sheet: &Sheet, pieces: &[LaidPiece], marks: &LayMarks, page: &Page) -> Vec<Rect> {
    let height = page.letter * 1.1 / page.scale;
    let mut full: Vec<Rect> = sheet.flaws.iter().map(|flaw| flaw.outline.bounds()).collect();
    full.extend(marks.dots.iter().map(|dot| Rect::from_center_size(*dot, (height, height))));
    let word = |(number, bounds): &(String, Rect)| {
        let size = Vec2::new(letters::width(&window_name(number), height), height);
        let foot = window_word(bounds.intersect(sheet.outline.bounds()), pieces, &full, size);
        Rect::from_origin_size(foot, (size.x, size.y))
    };
    marks.windows.iter().map(word).collect()
}

fn window_name(number: &str) -> String {
    format!("window {number}")
}

/// The first free place for a window's word along its sides, the corners first, else outside them, else its lower
/// left corner.
fn window_word(window: Rect, pieces: &[LaidPiece], full: &[Rect], size: Vec2) -> Point {
    let gap = size.y * 0.5;
    let (x0, y0) = (window.x0 + gap, window.y0 + gap);
    let (x1, y1) = (window.x1 - gap - size.x, window.y1 - gap - size.y);
    let places = |k: u32| {
        let share = f64::from(k) / 12.0;
        let (x, y) = (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share);
        [Point::new(x, y0), Point::new(x, y1), Point::new(x0, y), Point::new(x1, y)]
    };
    // Where the window is full: just outside its sides.
    let outside = |k: u32| {
        let x = x0 + (x1 - x0) * f64::from(k) / 12.0;
        [Point::new(x, window.y0 - gap - size.y), Point::new(x, window.y1 + gap)]
    };
    let order = || [0, 12].into_iter().chain(1..12);
    order()
        .flat_map(places)
        .chain(order().flat_map(outside))
        .find(|foot| {
            let area =
                Rect::from_origin_size(*foot, (size.x, size.y)).inflate(gap * 0.5, gap * 0.5);
            full.iter().all(|f| !f.overlaps(area))
                && pieces
                    .iter()
                    .all(|p| !p.shape.bounds().overlaps(area) || is_free(area, &p.shape))
        })
        .unwrap_or(Point::new(x0, y0))
}

/// Bed windows as broken lines, each with its number on white.
fn bed_layer(sheet: &Sheet, marks: &LayMarks, words: &[Rect], page: &Page) -> PictureLayer {
    let mut drawn = Vec::new();
    for ((number, bounds), area) in marks.windows.iter().zip(words) {
        let b = bounds.intersect(sheet.outline.bounds());
        let Ok(frame) = crate::geom::rectangle(b.origin(), b.width(), b.height(), 0.0) else {
            continue;
        };
        let dash = Dash::Dashed(page.letter);
        drawn.push(Mark::Outline(page.on_loop(&frame), page.weight(0.12), dash));
        let area = on_page(*area, page);
        let (at, height) = (area.origin(), area.height());
        let paper = area.inflate(height * 0.3, height * 0.3);
        if let Ok(paper) =
            crate::geom::rectangle(paper.origin(), paper.width(), paper.height(), 0.0)
        {
            drawn.push(Mark::Ground(vec![paper], PAPER));
        }
        drawn.push(Mark::Letters(Letters::new(window_name(number), at, height)));
    }
    layer("BED", palette::PURPLE, drawn)
}

/// Register dots, each a cross in a ring that makes it easy to see.
fn dot_layer(marks: &LayMarks, page: &Page) -> PictureLayer {
    let mut drawn = Vec::new();
    for dot in &marks.dots {
        let at = scaled_point(*dot, page.scale, page.by);
        let (ring, arm) = (page.letter * 0.45, page.letter * 0.7);
        drawn.push(Mark::Outline(Loop::Circle(at, ring), page.weight(0.1), Dash::Solid));
        for way in [Vec2::new(arm, 0.0), Vec2::new(0.0, arm)] {
            drawn.push(straight(at - way, at + way, page.weight(0.1)));
        }
    }
    layer("DOTS", palette::VERMILION, drawn)
}

/// Flaws, hatched, each with its why on white where there is room for it.
fn flaw_layer(
    sheet: &Sheet,
    pieces: &[LaidPiece],
    kept: &mut Vec<Rect>,
    page: &Page,
) -> PictureLayer {
    let mut marks = Vec::new();
    let mut words = Vec::new();
    let mut taken: Vec<Rect> = pieces.iter().map(|p| on_page(p.shape.bounds(), page)).collect();
    taken.extend(kept.iter().copied());
    for flaw in &sheet.flaws {
        let outline = page.on_loop(&flaw.outline);
        marks.push(Mark::Named(
            flaw.why.clone(),
            vec![
                Mark::Hatch(outline.clone(), page.letter * 0.8, 45.0, page.weight(0.06)),
                Mark::Outline(outline.clone(), page.weight(0.08), Dash::Solid),
            ],
        ));
        let (foot, height) = why_place(&flaw.why, &outline, page, &taken);
        let wide = letters::width(&flaw.why, height);
        let area = Rect::from_origin_size(foot, (wide, height)).inflate(height * 0.4, height * 0.4);
        taken.push(area);
        kept.push(area);
        if let Ok(paper) =
            crate::geom::rectangle(Point::new(area.x0, area.y0), area.width(), area.height(), 0.0)
        {
            words.push(Mark::Ground(vec![paper], PAPER));
        }
        words.push(Mark::Letters(Letters::new(flaw.why.clone(), foot, height)));
    }
    for used in &sheet.used {
        let outline = page.on_loop(&used.outline);
        marks.push(Mark::Named(
            format!("{} {}", used.by, used.address),
            vec![
                Mark::Hatch(outline.clone(), page.letter * 1.6, -45.0, page.weight(0.04)),
                Mark::Outline(outline, page.weight(0.06), Dash::Solid),
            ],
        ));
    }
    marks.extend(words);
    layer("FLAWS", palette::VERMILION, marks)
}

/// Where a flaw says why: inside, else on the first free side, else on top of it, smaller.
fn why_place(why: &str, outline: &Loop, page: &Page, taken: &[Rect]) -> (Point, f64) {
    let most = page.letter * 0.75;
    let wide = letters::width(why, most);
    let shape = Shape::plain(outline.clone());
    let (spot, room) = roomiest(&shape, &[]);
    let bounds = outline.bounds();
    let within = room >= most * 0.9 && bounds.width() >= wide * 1.2;
    let half = Vec2::new(wide / 2.0, most / 2.0);
    if within {
        return (spot - half, most);
    }
    let gap = most;
    let middle = bounds.center();
    let sides = [
        Point::new(bounds.x1 + gap, middle.y - half.y),
        Point::new(bounds.x0 - gap - wide, middle.y - half.y),
        Point::new(middle.x - half.x, bounds.y1 + gap),
        Point::new(middle.x - half.x, bounds.y0 - gap - most),
    ];
    for foot in sides {
        let area = Rect::from_origin_size(foot, (wide, most)).inflate(gap * 0.3, gap * 0.3);
        let on_sheet = area.x0 > page.area.x0
            && area.x1 < page.area.x1
            && area.y0 > page.area.y0
            && area.y1 < page.area.y1;
        if on_sheet && !taken.iter().any(|t| t.overlaps(area)) {
            return (foot, most);
        }
    }
    let height = letters::height_within(why, bounds.width().max(wide * 0.6), most);
    let wide = letters::width(why, height);
    (middle - Vec2::new(wide / 2.0, height / 2.0), height)
}

fn on_page(bounds: Rect, page: &Page) -> Rect {
    let corner = |x, y| scaled_point(Point::new(x, y), page.scale, page.by);
    Rect::from_points(corner(bounds.x0, bounds.y0), corner(bounds.x1, bounds.y1))
}

/// Whether a box is clear of a piece's material, judged by nine of its points.
fn is_free(area: Rect, shape: &Shape) -> bool {
    let middle = area.center();
    [area.x0, middle.x, area.x1].into_iter().all(|x| {
        [area.y0, middle.y, area.y1].into_iter().all(|y| clear(shape, &[], Point::new(x, y)) < 0.0)
    })
}

/// The arrow of the grain in the upper right corner, with its word.
fn grain_layer(sheet: &Sheet, page: &Page) -> PictureLayer {
    let l = page.letter;
    let middle = Point::new(page.width - 7.5 * l, page.height - 5.2 * l);
    let way = crate::geom::turn_vector(Vec2::new(1.0, 0.0), sheet.grain);
    let half = way * (3.6 * l);
    let word = if sheet.kind == SheetKind::Cloth { "warp" } else { "grain" };
    let wide = letters::width(word, l * 0.9);
    // The word stands left of the arrow's box, whichever way the arrow points.
    let foot = Point::new(middle.x - 4.4 * l - wide, middle.y - 0.45 * l);
    layer(
        "GRAIN",
        palette::GREEN,
        vec![
            straight(middle - half, middle + half - way * l, page.weight(0.16)),
            Mark::Arrow(middle + half, way, 1.8 * l),
            Mark::Letters(Letters::new(word, foot, l * 0.9)),
        ],
    )
}

/// A rule of 100 mm with a tick every 10.
fn rule_layer(page: &Page) -> PictureLayer {
    let l = page.letter;
    let length = 100.0 * page.scale;
    let from = Point::new(3.0 * l, page.area.y0 - 3.5 * l);
    let weight = page.weight(0.08);
    let mut marks = vec![straight(from, from + Vec2::new(length, 0.0), weight)];
    for i in 0..=10_u32 {
        let foot = from + Vec2::new(length * f64::from(i) / 10.0, 0.0);
        let up = if i % 5 == 0 { 1.0 } else { 0.6 };
        marks.push(straight(foot, foot + Vec2::new(0.0, up * l), weight));
    }
    let words = if page.scale_name == "1:1" {
        "100 mm".to_owned()
    } else {
        format!("100 mm, scale {}", page.scale_name)
    };
    let foot = from + Vec2::new(length + l, 0.0);
    marks.push(Mark::Letters(Letters::new(words, foot, l)));
    layer("RULE", palette::BLACK, marks)
}

/// Title, what the sheet is, how much is used, what the marks mean, the lines below.
fn word_layer(
    sheet: &Sheet,
    pieces: &[LaidPiece],
    title: &str,
    footer: &[String],
    (dashed, page): (Option<&str>, &Page),
) -> PictureLayer {
    let l = page.letter;
    let left = 3.0 * l;
    let room = page.width - 2.0 * left - 20.0 * l;
    let mut marks = Vec::new();
    let mut line = |text: String, y: f64, most: f64, room: f64| {
        let height = letters::height_within(&text, room, most);
        marks.push(Mark::Letters(Letters::new(text, Point::new(left, y), height)));
    };
    let top = page.height;
    line(title.to_owned(), top - 4.4 * l, 1.7 * l, room);
    line(about_sheet(sheet), top - 6.8 * l, l, room);
    line(about_use(sheet, pieces, dashed), top - 8.6 * l, l, room);
    let mut y = page.area.y0 - 5.8 * l;
    for text in footer {
        line(text.clone(), y, l * 0.9, page.width - 2.0 * left);
        y -= 2.0 * l;
    }
    if let Some(up) = sheet.up {
        // The face that lies up, with an F that reads rightly.
        let words = format!("{up} side up");
        let wide = letters::width(&words, l);
        let foot = Point::new(page.width - left - wide, page.area.y0 - 3.5 * l);
        marks.push(Mark::Letters(Letters::new(words, foot, l)));
        let before = letters::width("F", 2.2 * l) + 1.2 * l;
        let foot = foot - Vec2::new(before, 0.6 * l);
        marks.push(Mark::Letters(Letters::new("F", foot, 2.2 * l)));
    }
    layer("WORDS", palette::BLACK, marks)
}

fn about_sheet(sheet: &Sheet) -> String {
    let mut words = format!("{}: {} of {}", sheet.id, sheet.kind.name(), sheet.material);
    if let Some(thickness) = &sheet.thickness {
        let _ = write!(words, ", {}", thickness.text());
    }
    if sheet.grade > 1 || !sheet.zones.is_empty() {
        let _ = write!(words, ", grade {}", sheet.grade);
        words.push_str(if sheet.zones.is_empty() { "" } else { " beside its zones" });
    }
    if sheet.generation > 1 {
        let _ = write!(words, ", generation {}", sheet.generation);
    }
    words
}

/// Pieces, spares and the share of the sheet that they take.
fn about_use(sheet: &Sheet, pieces: &[LaidPiece], dashed: Option<&str>) -> String {
    let used: f64 = pieces.iter().map(|p| p.shape.area()).sum();
    let area = sheet.area();
    let share = if area > 0.0 { 100.0 * used / area } else { 0.0 };
    let spares = pieces.iter().filter(|p| p.spare).count();
    let many = |count: usize, word: &str| {
        if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
    };
    let mut words = match (dashed, spares) {
        (_, 0) => many(pieces.len(), "piece"),
        (None, _) => {
            format!(
                "{} and {} (dashed)",
                many(pieces.len() - spares, "piece"),
                many(spares, "spare")
            )
        }
        (Some(what), _) => {
            format!("{}, {spares} of them {what} (dashed)", many(pieces.len(), "piece"))
        }
    };
    let _ = write!(words, ", {} % of {} dm\u{b2} used", fixed(share, 1), fixed(area / 10_000.0, 1));
    let spoilt = pieces.iter().filter(|p| p.spoilt).count();
    if spoilt > 0 {
        let _ = write!(words, "; {spoilt} spoilt (hatched both ways)");
    }
    if pieces.iter().any(|p| p.mirrored) {
        words.push_str("; F reversed: face down");
    }
    words
}
