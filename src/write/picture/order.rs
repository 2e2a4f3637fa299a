//! The picture of the order of cutting: every cut with its number where it comes, travel, starts, leads and tabs.
//!
//! Drawn from a program where there is one, else from the plan's own order. Numbers stand inside their cut where they
//! have room, else beside it with a fine line to the start; none lies on another.

mod places;

use super::{
    Dash, Letters, Mark, PAPER, Picture, PictureLayer, palette, scaled_point, scaled_seg, straight,
};
use crate::geom::{Loop, Point, Rect, Seg, Vec2, rectangle, turn_vector};
use crate::letters;
use crate::plan::{CutPlan, Layer, Motion, Program, Role, Stroke};
use crate::write::number::fixed;
use places::{Place, places};

/// Sheets up to this are drawn at true size (mm).
const TRUE_SIZE: f64 = 1200.0;
/// Scales to choose from, and their names.
const SCALES: [(f64, &str); 5] =
    [(1.0, "1:1"), (0.5, "1:2"), (0.2, "1:5"), (0.1, "1:10"), (0.05, "1:20")];

/// The bulge of a quarter turn.
const QUARTER: f64 = 0.414_213_562_373_095;

/// One cut in its turn.
#[derive(Debug, Clone)]
pub(super) struct Cut {
    /// Its lines, closed (mm of the file).
    pub(super) segs: Vec<Seg>,
    /// Whether it is the outline of a piece.
    pub(super) outside: bool,
    /// Where it begins, and the way it goes there.
    pub(super) start: Point,
    way: Vec2,
    leads: Vec<Seg>,
    tabs: Vec<Seg>,
    /// Number of the stroke in the plan.
    stroke: u32,
}

/// The cuts in their order, and the ways between them.
#[derive(Debug, Default)]
struct Order {
    cuts: Vec<Cut>,
    travel: Vec<Seg>,
}

/// The picture of a plan, in the order of its program where there is one; `sheet` is the line of what is cut, in the
/// file's own system, or none where only a part of it is cut.
///
/// # Units
/// Millimetres of the sheet up to 1.2 m; the scale is said.
pub fn order_picture(
    plan: &CutPlan,
    program: Option<&Program>,
    sheet: Option<&Loop>,
    title: &str,
    footer: &[String],
) -> Picture {
    let order = program.map_or_else(|| Order::drawn(plan), |program| Order::made(plan, program));
    let page = Page::of(plan, sheet, footer.len());
    let cuts: Vec<Cut> = order.cuts.iter().map(|cut| page.on_cut(cut)).collect();
    let places = places(&cuts, page.letter, page.area);
    let layer = |name, colour, marks| PictureLayer { name, colour, marks };
    let outline = sheet.map(|it| {
        let it = super::scaled_loop(it, page.scale, page.by);
        Mark::Outline(it, page.weight(0.12), Dash::Chain(2.0 * page.letter))
    });
    let (holes, edges) = lines(&cuts, &page);
    let mut layers = vec![
        layer("SHEET", palette::GREY, outline.into_iter().collect()),
        layer("MARKS", palette::GREEN, marks(plan, &page)),
        layer("TRAVEL", palette::GREY, travel(&order, &page)),
        layer("HOLES", palette::BLUE, holes),
        layer("EDGES", palette::BLACK, edges),
        layer("LEADS", palette::VERMILION, leads(&cuts, &page)),
        layer("TABS", palette::PURPLE, tabs(&cuts, &page)),
        layer("STARTS", palette::VERMILION, starts(&cuts, &page)),
        layer("NUMBERS", palette::BLACK, numbers(&cuts, &places, &page)),
        layer("WORDS", palette::BLACK, words(&order, program.is_some(), title, footer, &page)),
    ];
    let there: Vec<&str> =
        layers.iter().filter(|layer| !layer.marks.is_empty()).map(|layer| layer.name).collect();
    for (name, mark) in legend(&page, &there) {
        // Each in the colour that it has above.
        if let Some(layer) = layers.iter_mut().find(|layer| layer.name == name) {
            layer.marks.push(mark);
        }
    }
    Picture { width: page.width, height: page.height, title: title.to_owned(), layers }
}

impl Order {
    /// In the order of the plan's strokes.
    fn drawn(plan: &CutPlan) -> Order {
        let mut order = Order::default();
        let mut at = Point::ORIGIN;
        for stroke in plan.strokes.iter().filter(|s| s.layer != Layer::Rule) {
            let segs = stroke.segs();
            if let (Some(Motion::Rapid(to)), true) = (stroke.motions.first(), is_cut(stroke.layer))
            {
                order.travel.push(Seg::line(at, *to));
                order.cuts.extend(cut(stroke));
            }
            at = segs.last().map_or(at, |seg| seg.b);
        }
        order
    }

    /// In the order of a program's runs.
    fn made(plan: &CutPlan, program: &Program) -> Order {
        let mut order = Order::default();
        let mut at = Point::ORIGIN;
        for run in &program.runs {
            let known = order.cuts.iter().any(|cut| cut.stroke == run.stroke);
            let stroke = plan.strokes.iter().find(|s| s.number == run.stroke);
            if let (true, false, Some(stroke)) = (is_cut(run.layer), known, stroke) {
                order.cuts.extend(cut(stroke).map(|cut| Cut { leads: Vec::new(), ..cut }));
            }
            let mut begun = known;
            for (role, step) in &run.steps {
                let Some((seg, cuts)) = step.path(at) else { continue };
                at = seg.b;
                if !is_cut(run.layer) {
                    continue;
                }
                let own = order.cuts.last_mut().filter(|cut| cut.stroke == run.stroke && !known);
                match (role, cuts, own) {
                    (Role::Tab, false, Some(own)) => own.tabs.push(seg),
                    (Role::Tab, false, None) => {}
                    (_, false, _) => order.travel.push(seg),
                    (Role::Lead, true, Some(own)) => own.leads.push(seg),
                    (Role::Contour, true, Some(own)) if !begun => {
                        (own.start, own.way) = (seg.a, seg.direction(0.0));
                        begun = true;
                    }
                    _ => {}
                }
            }
        }
        order
    }
}

fn is_cut(layer: Layer) -> bool {
    matches!(layer, Layer::Holes | Layer::Edges)
}

/// A stroke as a cut; none where it has no lines.
fn cut(stroke: &Stroke) -> Option<Cut> {
    let segs = stroke.segs();
    let first = segs.first()?;
    Some(Cut {
        start: first.a,
        way: first.direction(0.0),
        outside: stroke.layer == Layer::Edges,
        leads: Vec::new(),
        tabs: Vec::new(),
        stroke: stroke.number,
        segs,
    })
}

/// Sizes of the page, all taken from the height of its letters.
struct Page {
    scale: f64,
    scale_name: &'static str,
    by: Vec2,
    letter: f64,
    width: f64,
    height: f64,
    /// Where cuts and numbers are drawn.
    area: Rect,
}

impl Page {
    fn of(plan: &CutPlan, sheet: Option<&Loop>, footers: usize) -> Page {
        let cut = plan.strokes.iter().filter(|s| s.layer != Layer::Rule).flat_map(Stroke::segs);
        let bounds = cut.map(|s| s.bounds()).chain(sheet.map(Loop::bounds));
        let bounds = bounds.reduce(|a, b| a.union(b)).unwrap_or(Rect::new(0.0, 0.0, 100.0, 100.0));
        let bounds = bounds.union_pt(Point::ORIGIN);
        let longest = bounds.width().max(bounds.height());
        let (scale, scale_name) =
            SCALES.into_iter().find(|(s, _)| longest * s <= TRUE_SIZE).unwrap_or((0.01, "1:100"));
        let (wide, high) = (bounds.width() * scale, bounds.height() * scale);
        let letter = (wide.max(high * 0.8).max(130.0) / 95.0).max(1.8);
        // Numbers beside the outermost cuts have room too.
        let margin = 5.0 * letter;
        #[allow(clippy::cast_precision_loss, reason = "a count of lines")]
        let below = (9.0 + 2.0 * footers as f64) * letter;
        let width = wide.max(84.0 * letter) + 2.0 * margin;
        let corner = Point::new((width - wide) / 2.0, below);
        let area = Rect::from_origin_size(corner, (wide, high));
        Page {
            scale,
            scale_name,
            by: corner - (Point::new(bounds.x0, bounds.y0).to_vec2() * scale).to_point(),
            letter,
            width,
            height: below + high + 12.0 * letter,
            area: area.inflate(3.0 * letter, 2.0 * letter),
        }
    }

    /// Widths of lines, against the height of letters.
    fn weight(&self, share: f64) -> f64 {
        self.letter * share
    }

    fn on_seg(&self, seg: &Seg) -> Seg {
        scaled_seg(seg, self.scale, self.by)
    }

    fn on_cut(&self, cut: &Cut) -> Cut {
        let all = |segs: &[Seg]| segs.iter().map(|s| self.on_seg(s)).collect();
        Cut {
            segs: all(&cut.segs),
            leads: all(&cut.leads),
            tabs: all(&cut.tabs),
            start: scaled_point(cut.start, self.scale, self.by),
            ..cut.clone()
        }
    }
}

/// Holes and outlines, the outlines twice as heavy.
fn lines(cuts: &[Cut], page: &Page) -> (Vec<Mark>, Vec<Mark>) {
    let (mut holes, mut edges) = (Vec::new(), Vec::new());
    for cut in cuts {
        if cut.outside {
            edges.push(Mark::Line(cut.segs.clone(), page.weight(0.1), Dash::Solid));
        } else {
            holes.push(Mark::Line(cut.segs.clone(), page.weight(0.05), Dash::Solid));
        }
    }
    (holes, edges)
}

/// What is only marked, dotted.
fn marks(plan: &CutPlan, page: &Page) -> Vec<Mark> {
    // Numbers of pieces are too small here, and would only be in the way of those of the cuts.
    let left_out = |layer| is_cut(layer) || matches!(layer, Layer::Rule | Layer::Numbers);
    let marks = plan.strokes.iter().filter(|s| !left_out(s.layer));
    let segs = marks.flat_map(Stroke::segs).map(|seg| page.on_seg(&seg));
    segs.map(|seg| Mark::Line(vec![seg], page.weight(0.06), Dash::Dotted(page.letter * 0.2)))
        .collect()
}

/// Ways between cuts, thin and dashed.
fn travel(order: &Order, page: &Page) -> Vec<Mark> {
    let ways = order.travel.iter().filter(|seg| seg.length() > 1e-9);
    let dash = Dash::Dashed(page.letter * 0.35);
    ways.map(|seg| Mark::Line(vec![page.on_seg(seg)], page.weight(0.055), dash)).collect()
}

/// Ways in and out: short bows off the line, heavier than a hole.
fn leads(cuts: &[Cut], page: &Page) -> Vec<Mark> {
    let leads = cuts.iter().flat_map(|cut| &cut.leads);
    leads.map(|seg| Mark::Line(vec![*seg], page.weight(0.08), Dash::Solid)).collect()
}

/// Two ticks across the line, one at either end of what is left standing.
fn tabs(cuts: &[Cut], page: &Page) -> Vec<Mark> {
    let mut drawn = Vec::new();
    for tab in cuts.iter().flat_map(|cut| &cut.tabs) {
        let half = turn_vector(tab.direction(0.5), 90.0) * (0.35 * page.letter);
        let along = tab.direction(0.5) * (0.12 * page.letter - tab.length() / 2.0).max(0.0);
        for (at, side) in [(tab.a, -along), (tab.b, along)] {
            let at = at + side;
            drawn.push(straight(at - half, at + half, page.weight(0.07)));
        }
    }
    drawn
}

/// An arrow at every start, along the way of the cut.
fn starts(cuts: &[Cut], page: &Page) -> Vec<Mark> {
    let arrow = |cut: &Cut| {
        let bounds = cut.segs.iter().map(Seg::bounds).reduce(|a, b| a.union(b));
        let across = bounds.map_or(0.0, |b| b.width().max(b.height()));
        let long = (0.5 * page.letter).min(0.35 * across);
        Mark::Arrow(cut.start + cut.way * long, cut.way, long)
    };
    cuts.iter().map(arrow).collect()
}

/// The numbers on white, those that stand beside with a fine line to the start.
fn numbers(cuts: &[Cut], places: &[Place], page: &Page) -> Vec<Mark> {
    let (mut fine, mut drawn) = (Vec::new(), Vec::new());
    for (cut, place) in cuts.iter().zip(places) {
        let area = place.area;
        if place.beside {
            let from = Point::new(
                cut.start.x.clamp(area.x0, area.x1),
                cut.start.y.clamp(area.y0, area.y1),
            );
            fine.push(straight(from, cut.start, page.weight(0.03)));
        }
        let pad = 0.15 * area.height();
        let paper = area.inflate(pad, pad);
        if let Ok(paper) = rectangle(paper.origin(), paper.width(), paper.height(), 0.0) {
            drawn.push(Mark::Ground(vec![paper], PAPER));
        }
        drawn.push(Mark::Letters(Letters::new(place.text.clone(), area.origin(), area.height())));
    }
    fine.extend(drawn);
    fine
}

/// Title, what the order comes to, what the lines mean, the lines below.
fn words(order: &Order, made: bool, title: &str, footer: &[String], page: &Page) -> Vec<Mark> {
    let l = page.letter;
    let left = 3.0 * l;
    let room = page.width - 2.0 * left;
    let mut drawn = Vec::new();
    let mut line = |text: &str, x: f64, y: f64, most: f64, room: f64| {
        let height = letters::height_within(text, room, most);
        drawn.push(Mark::Letters(Letters::new(text, Point::new(x, y), height)));
    };
    line(title, left, page.height - 4.4 * l, 1.7 * l, room);
    let sum = |segs: &mut dyn Iterator<Item = &Seg>| segs.map(Seg::length).sum::<f64>() / 1000.0;
    let cut = sum(&mut order.cuts.iter().flat_map(|cut| &cut.segs));
    let of = if made { "the G-code" } else { "the drawing" };
    let said = format!(
        "order of {of}: {}, {} m, {} m of travel between them; marks come before any cut; scale {}",
        crate::units::counted(order.cuts.len(), "cut"),
        fixed(cut, 1),
        fixed(sum(&mut order.travel.iter()), 1),
        page.scale_name
    );
    line(&said, left, page.height - 7.0 * l, l, room);
    let mut y = page.area.y0 - 4.8 * l;
    for text in footer {
        line(text, left, y, 0.9 * l, room);
        y -= 2.0 * l;
    }
    drawn
}

/// What the lines mean, those that are there, one after the other, each with the layer that it belongs to.
fn legend(page: &Page, there: &[&str]) -> Vec<(&'static str, Mark)> {
    let l = page.letter;
    let y = page.area.y0 - 2.6 * l;
    let mut x = 3.0 * l;
    let mut drawn = Vec::new();
    let mut entry = |text: &str, draw: &dyn Fn(Point, Point) -> Vec<(&'static str, Mark)>| {
        let (from, to) = (Point::new(x, y + 0.35 * l), Point::new(x + 3.0 * l, y + 0.35 * l));
        let sample = draw(from, to);
        if !sample.iter().all(|(name, _)| there.contains(name)) {
            return;
        }
        drawn.extend(sample);
        let foot = Point::new(x + 3.6 * l, y);
        drawn.push(("WORDS", Mark::Letters(Letters::new(text, foot, 0.8 * l))));
        x += 3.6 * l + letters::width(text, 0.8 * l) + 1.6 * l;
    };
    let edge = |a, b| ("EDGES", straight(a, b, 0.1 * l));
    let broken = |a, b, weight: f64, dash| Mark::Line(vec![Seg::line(a, b)], weight, dash);
    entry("outline", &|a, b| vec![edge(a, b)]);
    entry("hole", &|a, b| vec![("HOLES", straight(a, b, 0.05 * l))]);
    entry("travel", &|a, b| vec![("TRAVEL", broken(a, b, 0.055 * l, Dash::Dashed(0.35 * l)))]);
    entry("start", &|a, b| {
        vec![("STARTS", Mark::Arrow(a.midpoint(b), Vec2::new(1.0, 0.0), 0.5 * l))]
    });
    entry("lead", &|a, b| {
        let bow = Seg::arc(a.midpoint(b) + Vec2::new(-0.5 * l, 0.5 * l), a.midpoint(b), QUARTER);
        vec![edge(a, b), ("LEADS", Mark::Line(vec![bow], 0.08 * l, Dash::Solid))]
    });
    let tick = move |at: Point| {
        let up = Vec2::new(0.0, 0.35 * l);
        ("TABS", straight(at - up, at + up, 0.07 * l))
    };
    entry("tab", &|a, b| {
        let (middle, off) = (a.midpoint(b), Vec2::new(0.12 * l, 0.0));
        vec![edge(a, b), tick(middle - off), tick(middle + off)]
    });
    entry("mark", &|a, b| vec![("MARKS", broken(a, b, 0.06 * l, Dash::Dotted(0.2 * l)))]);
    drawn
}
