//! Pictures as pages of a PDF file, at true size.
//!
//! PDF has lines and cubic curves and no arcs: an arc is written as curves that leave it by no more than 0.002 mm
//! ([`CURVE_ERROR`]). Coordinates have four decimals of a millimetre. There is no font, no date and no chance in the file.
//!
//! # Source
//! ISO 32000-1:2008: user space of 1/72 in (8.3.2.3), `PrintScaling` among the viewer preferences (table 150).

use super::{Dash, Mark, Picture, lines};
#[cfg(test)]
use crate::geom::Loop;
use crate::geom::{Point, Seg, Vec2, turn_vector};
use crate::letters::one_line;
use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, TextStr};

/// How far a curve may leave the arc that it stands for (mm).
pub const CURVE_ERROR: f64 = 0.002;
/// Points of the page in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// A PDF file, a page a picture; `scale` is by how much x and y are drawn larger about the middle of each page, for a
/// printer that draws them smaller.
///
/// # Units
/// Millimetres of the picture are millimetres of the page at scale 1.
pub fn to_pdf(pages: &[Picture], title: &str, scale: Vec2) -> Vec<u8> {
    let mut next = 1;
    let mut number = || {
        next += 1;
        Ref::new(next - 1)
    };
    let (catalog, tree, info) = (number(), number(), number());
    let ids: Vec<(Ref, Ref)> = pages.iter().map(|_| (number(), number())).collect();
    let mut pdf = Pdf::new();
    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    root.viewer_preferences().display_doc_title(true).pair(Name(b"PrintScaling"), Name(b"None"));
    root.finish();
    let kids: Vec<Ref> = ids.iter().map(|(page, _)| *page).collect();
    pdf.pages(tree).count(i32::try_from(kids.len()).unwrap_or(i32::MAX)).kids(kids);
    let title = one_line(title);
    pdf.document_info(info).title(TextStr(&title)).producer(TextStr("pouchwork"));
    for (picture, (page, drawn)) in pages.iter().zip(ids) {
        let (width, height) = (single(picture.width * POINTS), single(picture.height * POINTS));
        let mut dict = pdf.page(page);
        dict.parent(tree).media_box(Rect::new(0.0, 0.0, width, height)).contents(drawn);
        dict.resources();
        dict.finish();
        pdf.stream(drawn, &content(picture, scale));
    }
    pdf.finish()
}

/// What draws a picture.
fn content(picture: &Picture, scale: Vec2) -> Vec<u8> {
    let mut to = Content::new();
    let middle = Vec2::new(picture.width, picture.height) / 2.0;
    to.transform([
        single(scale.x * POINTS),
        0.0,
        0.0,
        single(scale.y * POINTS),
        single(middle.x * (1.0 - scale.x) * POINTS),
        single(middle.y * (1.0 - scale.y) * POINTS),
    ]);
    to.set_line_cap(LineCapStyle::RoundCap).set_line_join(LineJoinStyle::RoundJoin);
    for layer in &picture.layers {
        let [r, g, b] = rgb(layer.colour);
        to.set_stroke_rgb(r, g, b).set_fill_rgb(r, g, b);
        for mark in &layer.marks {
            draw(&mut to, mark);
        }
    }
    to.finish().into_vec()
}

fn draw(to: &mut Content, mark: &Mark) {
    match mark {
        Mark::Line(segs, weight, dash) => {
            weigh(to, *weight, *dash);
            run(to, segs);
            to.stroke();
        }
        Mark::Outline(it, weight, dash) => {
            weigh(to, *weight, *dash);
            run(to, &it.segs());
            to.close_and_stroke();
        }
        Mark::Ground(loops, fill) => {
            let [r, g, b] = rgb(fill);
            to.save_state().set_fill_rgb(r, g, b);
            for it in loops {
                run(to, &it.segs());
                to.close_path();
            }
            to.fill_even_odd().restore_state();
        }
        Mark::Hatch(it, apart, slant, weight) => {
            weigh(to, *weight, Dash::Solid);
            for line in lines::hatched(it, *apart, *slant) {
                run(to, &line);
                to.stroke();
            }
        }
        Mark::Arrow(tip, direction, length) => {
            let foot = *tip - *direction * *length;
            let side = turn_vector(*direction, 90.0) * (length / 6.0);
            let ends = [*tip, foot + side, foot - side];
            run(to, &[Seg::line(ends[0], ends[1]), Seg::line(ends[1], ends[2])]);
            to.close_path().fill_even_odd();
        }
        Mark::Letters(words) => {
            weigh(to, words.height / 10.0, Dash::Solid);
            for line in words.pen_lines() {
                for (i, p) in line.iter().enumerate() {
                    // Of letters two decimals are enough.
                    let (x, y) =
                        (single((p.x * 1e2).round() / 1e2), single((p.y * 1e2).round() / 1e2));
                    if i == 0 {
                        to.move_to(x, y);
                    } else {
                        to.line_to(x, y);
                    }
                }
            }
            to.stroke();
        }
        Mark::Named(_, marks) => marks.iter().for_each(|m| draw(to, m)),
    }
}

/// Weight and dash of what comes next.
fn weigh(to: &mut Content, weight: f64, dash: Dash) {
    let pattern = match dash {
        Dash::Solid => vec![],
        Dash::Dashed(l) => vec![l, 0.7 * l],
        Dash::Chain(l) => vec![2.0 * l, 0.6 * l, 0.3 * l, 0.6 * l],
        Dash::Dotted(l) => vec![0.02, l],
    };
    to.set_line_width(mm(weight)).set_dash_pattern(pattern.into_iter().map(mm), 0.0);
}

/// A chain as a path.
fn run(to: &mut Content, segs: &[Seg]) {
    let mut last: Option<Point> = None;
    for seg in segs {
        if last != Some(seg.a) {
            to.move_to(mm(seg.a.x), mm(seg.a.y));
        }
        last = Some(seg.b);
        if seg.is_line() {
            to.line_to(mm(seg.b.x), mm(seg.b.y));
            continue;
        }
        for [_, p, q, end] in curves(seg) {
            to.cubic_to(mm(p.x), mm(p.y), mm(q.x), mm(q.y), mm(end.x), mm(end.y));
        }
    }
}

/// An arc as cubic curves, as few as keep within [`CURVE_ERROR`].
///
/// # Source
/// M. Goldapp, "Approximation of circular arcs by cubic polynomials" (1991): with tangents of 4/3 tan(w/4) a curve over
/// the angle w leaves its circle outward by 2/27 sin⁶(w/4) / cos²(w/4) of the radius at most.
fn curves(seg: &Seg) -> Vec<[Point; 4]> {
    let (center, radius, sweep) = (seg.center(), seg.radius(), seg.sweep());
    let error = |w: f64| radius * 2.0 / 27.0 * (w / 4.0).sin().powi(6) / (w / 4.0).cos().powi(2);
    // A tenth is left for the rounding of coordinates.
    let fits = |n: &u32| error(sweep.abs() / f64::from(*n)) <= 0.9 * CURVE_ERROR;
    let first = if sweep.abs() > std::f64::consts::FRAC_PI_2 { 2 } else { 1 };
    let n = (first..64).find(fits).unwrap_or(64);
    let step = sweep / f64::from(n);
    let reach = 4.0 / 3.0 * (step / 4.0).tan();
    let point = |i: u32| if i == n { seg.b } else { seg.at(f64::from(i) / f64::from(n)) };
    (0..n)
        .map(|i| {
            let (a, b) = (point(i), point(i + 1));
            let (out, back) = (turn_vector(a - center, 90.0), turn_vector(b - center, 90.0));
            [a, a + out * reach, b - back * reach, b]
        })
        .collect()
}

/// Shares of red, green and blue; black for what is no colour.
fn rgb(text: &str) -> [f32; 3] {
    let share = |at: usize| {
        let byte = text.get(at..at + 2).and_then(|hex| u8::from_str_radix(hex, 16).ok());
        f32::from(byte.unwrap_or(0)) / 255.0
    };
    [share(1), share(3), share(5)]
}

/// A coordinate with four decimals.
fn mm(value: f64) -> f32 {
    single((value * 1e4).round() / 1e4)
}

#[allow(clippy::cast_possible_truncation, reason = "PDF numbers are single precision")]
fn single(value: f64) -> f32 {
    value as f32
}

/// The curves that stand for a loop.
#[cfg(test)]
pub(super) fn curves_of(it: &Loop) -> Vec<[Point; 4]> {
    it.segs().iter().filter(|s| !s.is_line()).flat_map(curves).collect()
}
