//! A part of any shape: its line traced in a file, or typed corner by corner with bowed sides. Its coordinates stay as
//! they were typed or drawn, and so do the places of its holes and marks.

use super::holes::{
    Bored, CIRCLE_KEY, HOLE_KEY, LIGAMENT_KEY, ROW_KEY, SCREW_KEY, SLOT_KEY, TABLE_KEY, WINDOW_KEY,
    holes,
};
use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member};
use super::sum::{Sum, mm, shown, wrong};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::tolerance::{NO_AREA, SAME_POINT, SLACK, WRITTEN};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Where, point_in_loop, rounded_polygon};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Outline,
    name: "outline",
    about: "any shape, traced in a file or typed corner by corner",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: None,
    develop,
};

const MARK: &[Key] = &[
    Key {
        name: "from",
        takes: Takes::Point,
        needed: true,
        about: "one end of the line",
        example: "[\"0 in\", \"1/2 in\"]",
    },
    Key {
        name: "to",
        takes: Takes::Point,
        needed: true,
        about: "its other end",
        example: "[\"3 in\", \"1/2 in\"]",
    },
];

const KEYS: &[Key] = &[
    Key {
        name: "outline",
        takes: Takes::Outline,
        needed: false,
        about: "an SVG or DXF file with its line and its holes; `outline-unit` if it says no unit",
        example: "outlines/gasket.svg",
    },
    Key {
        name: "corners",
        takes: Takes::Corners,
        needed: false,
        about: "its corners, x and y; a third figure is the bow of the side that follows, positive outward",
        example: "[[\"0 in\", \"0 in\"], [\"3 in\", \"0 in\", \"1/4 in\"], [\"3 in\", \"2 in\"]]",
    },
    Key {
        name: "corner",
        takes: Takes::Length,
        needed: false,
        about: "radius of all the corners, where the sides are straight",
        example: "1/8 in",
    },
    LIGAMENT_KEY,
    ROW_KEY,
    HOLE_KEY,
    CIRCLE_KEY,
    TABLE_KEY,
    SCREW_KEY,
    SLOT_KEY,
    WINDOW_KEY,
    Key {
        name: "mark",
        takes: Takes::Tables(MARK),
        needed: false,
        about: "a line that is marked, not cut",
        example: "[[part.mark]]",
    },
];

fn develop(m: &Measures) -> Developed {
    let mut made = Developed::default();
    let Some((outline, own)) = line(m, &mut made.faults) else {
        return made;
    };
    let creases = marks(m, &outline, &mut made.faults);
    let bored = holes(m, &outline, own);
    made.faults.extend(bored.faults);
    if any_error(&made.faults) {
        return made;
    }
    let mut sum = sum(m, &outline);
    match Shape::new(outline, bored.loops) {
        Ok(shape) => {
            if !shape.holes().is_empty() {
                sum = sum.note("area of the material", "area - holes", shape.area(), "mm²");
            }
            sum.terms.extend(bored.terms);
            let mut dimensions = sides(shape.bounds());
            dimensions.extend(bored.dimensions);
            made.members.push(Member { creases, ..Member::of(shape, sum.terms, dimensions) });
        }
        Err(fault) => made.faults.push(
            Fault::error("E27", format!("the holes do not fit the outline: {fault}"))
                .at(&m.place)
                .cure("look at their places and sizes"),
        ),
    }
    made
}

/// The closed line, and the holes that its file shows.
fn line(m: &Measures, faults: &mut Vec<Fault>) -> Option<(Loop, Vec<Bored>)> {
    let place = m.place_of("outline");
    if m.unread("outline") || m.unread("corners") {
        return None;
    }
    match (m.outline("outline"), m.has("corners")) {
        (Some(_), true) => {
            faults.push(
                Fault::error("E13", "this outline gives both `outline` and `corners`")
                    .at(m.place_of("corners"))
                    .mark(place, "and here")
                    .cure("give one: a file, or the corners"),
            );
            None
        }
        (None, false) => {
            faults.push(
                Fault::error(
                    "E12",
                    "an outline needs `outline` (a file with its line), or `corners`",
                )
                .at(&m.place)
                .cure("outline = \"outlines/gasket.svg\", or corners = [[…], …]"),
            );
            None
        }
        (Some((outline, own)), false) => {
            if m.has("corner") {
                faults.push(wrong(
                    m,
                    "corner",
                    "`corner` rounds typed corners, and this outline comes from a file".to_owned(),
                    "leave it out, or round the corners in the drawing",
                ));
                return None;
            }
            let name = |n: usize| format!("hole {} of the file", n + 1);
            let own =
                own.iter().enumerate().map(|(n, hole)| Bored::new(hole.clone(), name(n), place));
            Some((outline.clone(), own.collect()))
        }
        (None, true) => {
            let corners = m.corners("corners");
            let made =
                if m.mm_or("corner", 0.0) > 0.0 { rounded(m, corners) } else { bowed(m, corners) };
            made.map_err(|fault| faults.push(fault)).ok().map(|outline| (outline, Vec::new()))
        }
    }
}

/// A fault in the corners themselves.
fn broken(m: &Measures, text: String, cure: &str) -> Fault {
    Fault::error("E29", text).at(m.place_of("corners")).cure(cure)
}

/// Each side with the number of its corner, from 1; refuses a side of no length.
fn sides_of(
    m: &Measures,
    corners: &[(Point, f64)],
) -> Result<Vec<(usize, Point, Point, f64)>, Fault> {
    if corners.len() < 2 {
        let text = format!("an outline of {} corners encloses nothing", corners.len());
        return Err(broken(m, text, "give three corners or more, or two with a bow between them"));
    }
    let next = corners.iter().cycle().skip(1);
    let sides: Vec<_> = corners
        .iter()
        .zip(next)
        .zip(1..)
        .map(|(((a, bow), (b, _)), n)| (n, *a, *b, *bow))
        .collect();
    match sides.iter().find(|(_, a, b, _)| (*b - *a).hypot() <= SAME_POINT) {
        Some((n, ..)) => Err(broken(
            m,
            format!("corners {n} and {} are one point", n % corners.len() + 1),
            "go round it once and do not repeat the first: the line closes by itself",
        )),
        None => Ok(sides),
    }
}

/// A line of straight and bowed sides.
///
/// A bow of b over a chord of c is an arc whose bulge is 2b/c. Outward is to the right of a line that runs
/// counter-clockwise; two corners enclose nothing by themselves and are taken to run so.
///
/// # Source
/// Sagitta of an arc, tan(angle / 4) = sagitta / half chord: elementary geometry.
fn bowed(m: &Measures, corners: &[(Point, f64)]) -> Result<Loop, Fault> {
    let sides = sides_of(m, corners)?;
    for (n, a, b, bow) in &sides {
        let most = (*b - *a).hypot() / 2.0;
        if bow.abs() > most + SLACK {
            return Err(wrong(
                m,
                "corners",
                format!(
                    "a bow of {} after corner {n}, whose side is {} long",
                    mm(*bow),
                    mm(2.0 * most)
                ),
                &format!(
                    "half a turn bows by {}; for more of a turn put a corner on the middle of the arc",
                    mm(most)
                ),
            ));
        }
    }
    let twice: f64 = sides.iter().map(|(_, a, b, _)| a.to_vec2().cross(b.to_vec2())).sum();
    let way = if twice < -NO_AREA { -1.0 } else { 1.0 };
    let segs: Vec<Seg> = sides
        .iter()
        .map(|(_, a, b, bow)| {
            // A bow that no file would show is none: its radius would be out of reach.
            let bow = if bow.abs() < WRITTEN { 0.0 } else { *bow };
            let bulge = (2.0 * bow / (*b - *a).hypot()).clamp(-1.0, 1.0);
            if bulge == 0.0 { Seg::line(*a, *b) } else { Seg::arc(*a, *b, way * bulge) }
        })
        .collect();
    let caps: f64 = segs
        .iter()
        .filter(|seg| !seg.is_line())
        .map(|seg| seg.radius().powi(2) * (seg.sweep() - seg.sweep().sin()))
        .sum();
    let made = Loop::chain(segs).map_err(|fault| {
        broken(
            m,
            fault.to_string(),
            "go round it once, corner by corner, and do not repeat the first",
        )
    })?;
    if (twice + caps) * way <= 0.0 {
        return Err(wrong(
            m,
            "corners",
            "the bows turn the outline inside out: what they call inside lies outside".to_owned(),
            "give the inward bows, which are negative, less depth",
        ));
    }
    Ok(made)
}

/// A line of straight sides whose corners are rounded by one radius.
fn rounded(m: &Measures, corners: &[(Point, f64)]) -> Result<Loop, Fault> {
    let sides = sides_of(m, corners)?;
    if let Some((n, ..)) = sides.iter().find(|(.., bow)| bow.abs() > 0.0) {
        return Err(wrong(
            m,
            "corner",
            format!(
                "`corner` rounds corners between straight sides, and the side after corner {n} is bowed"
            ),
            "leave it out, or give the roundings as bowed sides of their own",
        ));
    }
    let radius = m.mm_or("corner", 0.0);
    // What a radius of 1 takes of either side at each corner.
    let before = sides.iter().cycle().skip(sides.len().saturating_sub(1));
    let takes: Vec<f64> = sides
        .iter()
        .zip(before)
        .map(|((_, a, b, _), (_, c, d, _))| {
            let (inward, onward) = (*d - *c, *b - *a);
            (inward.cross(onward).atan2(inward.dot(onward)).abs() / 2.0).tan()
        })
        .collect();
    let most = sides
        .iter()
        .zip(takes.iter().zip(takes.iter().cycle().skip(1)))
        .map(|((_, a, b, _), (here, there))| (*b - *a).hypot() / (here + there))
        .fold(f64::INFINITY, f64::min);
    if radius > most + 1e-9 {
        return Err(wrong(
            m,
            "corner",
            format!("a radius of {} is too large for the shortest sides", mm(radius)),
            &format!("{} is the largest that fits", mm(most)),
        ));
    }
    let points: Vec<Point> = corners.iter().map(|(at, _)| *at).collect();
    rounded_polygon(&points, radius).map_err(|fault| {
        broken(m, fault.to_string(), "go round it once, corner by corner; a smaller radius may do")
    })
}

/// Lines that are marked; each lies on the part from end to end.
fn marks(m: &Measures, outline: &Loop, faults: &mut Vec<Fault>) -> Vec<Seg> {
    let mut made = Vec::new();
    for (n, mark) in m.tables("mark").iter().enumerate() {
        let (Some((x, y)), Some((u, v))) = (mark.point("from"), mark.point("to")) else {
            continue;
        };
        let seg = Seg::line(Point::new(x, y), Point::new(u, v));
        let text = if seg.length() <= SAME_POINT {
            format!("mark {} ends where it begins", n + 1)
        } else if lies_on(&seg, outline) {
            made.push(seg);
            continue;
        } else {
            format!("mark {} leaves the part", n + 1)
        };
        let b = outline.bounds();
        faults.push(Fault::error("E28", text).at(&mark.place).cure(format!(
            "the part runs from x {:.2} to {} and from y {:.2} to {}; a mark stays on it",
            b.x0,
            mm(b.x1),
            b.y0,
            mm(b.y1)
        )));
    }
    made
}

/// Whether a straight line stays within a loop, its edge included.
fn lies_on(seg: &Seg, outline: &Loop) -> bool {
    let length = seg.length();
    let mut stops: Vec<f64> = outline
        .segs()
        .iter()
        .flat_map(|side| side.meet(seg))
        .map(|p| (p - seg.a).dot(seg.chord()) / (length * length))
        .chain([0.0, 1.0])
        .collect();
    stops.sort_by(f64::total_cmp);
    let middles = stops.windows(2).map(|pair| f64::midpoint(pair[0], pair[1]));
    stops
        .iter()
        .copied()
        .chain(middles)
        .all(|t| point_in_loop(seg.at(t), outline) != Where::Outside)
}

fn sum(m: &Measures, outline: &Loop) -> Sum {
    let b = outline.bounds();
    let mut sum = Sum::default().given(m, "corner", "radius of the corners");
    if m.has("corners") && m.mm_or("corner", 0.0) <= 0.0 {
        let corners = m.corners("corners");
        let next = corners.iter().cycle().skip(1);
        for (((a, bow), (b, _)), n) in corners.iter().zip(next).zip(1..) {
            if bow.abs() >= WRITTEN {
                let half = (*b - *a).hypot() / 2.0;
                let radius = (half * half + bow * bow) / (2.0 * bow.abs());
                let rule = format!("half chord {} and bow {}", mm(half), mm(*bow));
                sum = sum.note(&format!("radius after corner {n}"), &rule, radius, "mm");
            }
        }
    }
    sum.total("cut length", "of its box", b.width())
        .total("cut width", "of its box", b.height())
        .note("area", "within the outline", outline.area(), "mm²")
        .note("circumference", "", outline.length(), "mm")
}

/// The two dimensions of a box.
fn sides(b: Rect) -> Vec<Dimension> {
    let (left, right) = (Point::new(b.x0, b.y0), Point::new(b.x1, b.y0));
    vec![
        Dimension::Span(right, left, 1.0, shown(b.width())),
        Dimension::Span(left, Point::new(b.x0, b.y1), 1.0, shown(b.height())),
    ]
}

#[cfg(test)]
mod tests;
