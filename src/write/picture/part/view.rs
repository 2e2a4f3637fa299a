//! The part itself with its figures, as large as there is room for.

use super::super::dimension::{Drafted, Drafter, crosses};
use super::super::room::clear;
use super::super::{Dash, Letters, Mark, scaled_loop, scaled_point, scaled_seg, straight};
use super::{CUT_DASH, PartDrawing, SCALES, SMALL, Sheet, THICK, THIN, cross, moved};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Side, Vec2, flatten};
use crate::letters;
use crate::part::{Dimension, Member};

/// Height of an F mark (mm).
const F_MARK: f64 = 4.0;
/// The cut line is drawn where it stands so far off the thick line (mm on the page).
const SEEN: f64 = 0.8;
/// Height of the letter beside the spot of the inset (mm).
const SPOT: f64 = 3.0;

/// The part as it comes to lie on the page.
pub(super) struct View {
    pub(super) scale: (f64, &'static str),
    by: Vec2,
    pub(super) drafted: Drafted,
    body: Rect,
    /// Whether the F mark stands beside the part.
    beside: Option<Point>,
    f_at: Option<Point>,
    /// Kept clear all round, for the ring of the inset and its letter (mm).
    clear: f64,
}

impl View {
    /// The largest scale at which the part with its figures has room, and its place.
    pub(super) fn fitting(of: &PartDrawing<'_>, drafter: &Drafter<'_>, area: Rect) -> View {
        let own = of.member.shape.bounds();
        let body = of.design.map_or(own, |d| d.shape.bounds().union(own));
        let longest = body.width().max(body.height());
        let mut chosen = None;
        for scale in SCALES {
            if scale.0 > 2.0 && longest >= SMALL {
                continue;
            }
            let view = View::at_scale(of, drafter, body, scale);
            let all = view.extent();
            let fits = all.width() <= area.width() && all.height() <= area.height();
            chosen = Some(view);
            if fits {
                break;
            }
        }
        chosen.unwrap_or_else(|| View::at_scale(of, drafter, body, (1.0, "1:1")))
    }

    /// The same in the middle of an area.
    pub(super) fn within(self, area: Rect) -> View {
        let by = area.center() - self.extent().center();
        View { by, ..self }
    }

    pub(super) fn at_scale(
        of: &PartDrawing<'_>,
        drafter: &Drafter<'_>,
        body: Rect,
        scale: (f64, &'static str),
    ) -> View {
        let (member, design) = (of.member, of.design);
        let s = scale.0;
        let on_page = Rect::new(body.x0 * s, body.y0 * s, body.x1 * s, body.y1 * s);
        let point = |p: Point| scaled_point(p, s, Vec2::ZERO);
        let dimensions = scaled(&member.dimensions, s);
        let shape = scaled_shape(&member.shape, s);
        let mut lines: Vec<Seg> = member
            .creases
            .iter()
            .chain(&member.guides)
            .map(|c| scaled_seg(c, s, Vec2::ZERO))
            .collect();
        for punch in &member.punches {
            let at = point(punch.at);
            let reach = Vec2::new((punch.diameter * s / 2.0).max(2.0), 0.0);
            lines.push(Seg::line(at - reach, at + reach));
        }
        if let Some(design) = design {
            lines.extend(scaled_loop(design.shape.outline(), s, Vec2::ZERO).segs());
        }
        let outlines = std::iter::once(&member.shape).chain(design.map(|d| &d.shape));
        let chords: Vec<Vec<Point>> = outlines
            .map(|shape| scaled_loop(shape.outline(), s, Vec2::ZERO))
            .map(|it| flatten(&it, 0.05, Side::Inside))
            .collect();
        let drafted = drafter.draft(&dimensions, &chords);
        lines.extend(&drafted.strokes);
        let f_at = shape.as_ref().and_then(|shape| corner_with_room(shape, &lines));
        let beside = f_at.is_none().then(|| foot_beside(&drafted, on_page));
        let clear = if of.cut.is_some_and(super::CutEdge::has_kerf) { 5.0 } else { 1.0 };
        View { scale, by: Vec2::ZERO, drafted, body: on_page, beside, f_at, clear }
    }

    pub(super) fn extent(&self) -> Rect {
        let all = self.drafted.bounds.union(self.body).inflate(self.clear, self.clear);
        match self.beside {
            Some(p) => all.union(Rect::from_origin_size(p, (F_MARK, F_MARK))),
            None => all,
        }
    }

    fn on_page(&self, it: &Loop) -> Loop {
        scaled_loop(it, self.scale.0, self.by)
    }

    /// Draws it; `spot` is where the inset looks.
    pub(super) fn draw(&self, of: &PartDrawing<'_>, spot: Option<Point>, sheet: &mut Sheet) {
        let (member, design) = (of.member, of.design);
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
        sheet.finished.extend(
            member
                .guides
                .iter()
                .map(|c| Mark::Line(vec![scaled_seg(c, s, by)], THIN, Dash::Chain(2.0))),
        );
        if let Some(edge) = of.cut.filter(|edge| edge.kerf.0.min(edge.kerf.1) / 2.0 * s >= SEEN) {
            let line = Mark::Outline(self.on_page(&edge.line), THIN, Dash::Dashed(CUT_DASH));
            sheet.cut.push(line);
        }
        let punches = design.map_or(&member.punches, |d| &d.punches);
        for punch in punches {
            let at = scaled_point(punch.at, s, by);
            cross(at, &mut sheet.punches);
            let round = Loop::Circle(at, punch.diameter * s / 2.0);
            sheet.punches.push(Mark::Outline(round, THIN * 0.7, Dash::Dotted(0.7)));
        }
        let lines = self.drafted.lines.iter().chain(&self.drafted.words);
        sheet.dimensions.extend(lines.map(|m| moved(m, by)));
        if let Some(spot) = spot {
            self.mark_spot(scaled_point(spot, s, Vec2::ZERO), sheet);
        }
    }

    /// A ring about a spot, its letter where there is room.
    fn mark_spot(&self, at: Point, sheet: &mut Sheet) {
        let radius = (super::inset::REACH * self.scale.0).max(1.3);
        let ring = Loop::Circle(at + self.by, radius);
        sheet.finished.push(Mark::Outline(ring, THIN, Dash::Solid));
        let wide = letters::width("A", SPOT);
        // Outward first, then more and more to the sides.
        let out = (at - self.body.center()).atan2().to_degrees();
        let places = (0..13)
            .flat_map(|i| [1.0, -1.0].map(|side| side * 15.0 * f64::from(i)))
            .flat_map(|turn| {
                let way = crate::geom::turn_vector(Vec2::new(1.0, 0.0), out + turn);
                [2.0, 3.5, 5.0].map(|more| at + way * (radius + SPOT / 2.0 + more))
            });
        let area = |p: Point| Rect::from_center_size(p, (wide + 1.0, SPOT + 1.0));
        let mark =
            self.f_at.or(self.beside).map(|foot| Rect::from_origin_size(foot, (F_MARK, F_MARK)));
        let place = places.into_iter().find(|p| {
            !self.drafted.is_taken(area(*p)) && mark.is_none_or(|f| !f.overlaps(area(*p)))
        });
        let middle = place.unwrap_or(at + Vec2::new(radius + 2.0, radius + 2.0));
        // Nothing but letters is kept clear of the ring.
        let way = middle - at;
        let from = at + way / way.hypot() * radius;
        let to = middle - way / way.hypot() * (SPOT / 2.0 + 0.6);
        if (to - at).hypot() > radius + 0.3 && !crosses(&Seg::line(from, to), area(at)) {
            sheet.finished.push(straight(from + self.by, to + self.by, THIN));
        }
        let foot = middle + self.by - Vec2::new(wide / 2.0, SPOT / 2.0);
        sheet.word("A", foot, SPOT);
    }

    /// The mark that tells the face: in a corner of the part, or beside it.
    pub(super) fn f_mark(&self, member: &Member, sheet: &mut Sheet) {
        if let Some(foot) = self.f_at.or(self.beside) {
            let mark = Letters::new("F", foot + self.by, F_MARK);
            sheet.words.push(Mark::Named(
                member.name.map_or("face".to_owned(), |name| format!("face {name}")),
                vec![Mark::Letters(mark)],
            ));
        }
    }
}

/// Figures at a scale.
pub(super) fn scaled(dimensions: &[Dimension], s: f64) -> Vec<Dimension> {
    let point = |p: Point| scaled_point(p, s, Vec2::ZERO);
    dimensions
        .iter()
        .map(|d| match d {
            Dimension::Span(a, b, off, figure) => {
                Dimension::Span(point(*a), point(*b), *off, figure.clone())
            }
            Dimension::Diameter(c, r, figure) => {
                Dimension::Diameter(point(*c), r * s, figure.clone())
            }
        })
        .collect()
}

fn scaled_shape(shape: &Shape, s: f64) -> Option<Shape> {
    shape.mapped(crate::geom::Affine::scale(s), 0.01).ok()
}

/// The foot of an F beside the part: among its figures, as near to its lower left corner as there is room; else left of all.
fn foot_beside(drafted: &Drafted, body: Rect) -> Point {
    const STEP: f64 = 2.0;
    let (all, wide) = (drafted.bounds, letters::width("F", F_MARK));
    let corner = Point::new(body.x0, body.y0);
    let mut best: Option<(f64, Point)> = None;
    let mut y = all.y0;
    while y + F_MARK <= all.y1 {
        let mut x = all.x0;
        while x + wide <= all.x1 {
            let foot = Point::new(x, y);
            let area = Rect::from_origin_size(foot, (wide, F_MARK)).inflate(1.5, 1.5);
            let off = (area.center() - corner).hypot();
            if best.is_none_or(|(least, _)| off < least)
                && !body.overlaps(area)
                && !drafted.is_taken(area)
            {
                best = Some((off, foot));
            }
            x += STEP;
        }
        y += STEP;
    }
    best.map_or_else(|| Point::new(all.x0 - F_MARK - 4.0, body.y0), |(_, foot)| foot)
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
