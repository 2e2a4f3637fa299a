//! What belongs to a bellows besides its cloth: cards, gussets, patches, the hinge strip.

use super::wedge::{Corner, Wedge};
use crate::fault::Fault;
use crate::geom::{Loop, Point, Seg, Shape, Vec2, rectangle};
use crate::part::measures::Measures;
use crate::part::member::{Dimension, Member, MemberName};
use crate::part::panel::{around, at_origin, inset, kept, level_side};
use crate::part::sum::{Sum, doubt, mm, positive, shown, sides, wrong};
use std::f64::consts::{FRAC_PI_2, PI};

/// Card tips sharper than this at the hinge end are cut off (radians).
const SHARP: f64 = PI / 6.0;
/// Sharp tips are cut off at so many insets.
///
/// # Source
/// Common practice.
const TIP: f64 = 3.0;

/// Half an end panel, from its middle line (y = 0) up to the board.
pub(super) fn half_panel(length: f64, half: f64, meet: f64) -> Vec<Point> {
    let p = Point::new;
    vec![p(meet, 0.0), p(length - meet, 0.0), p(length, half), p(0.0, half)]
}

/// Half a wedge's side panel, x from the open corner toward the hinge, y from the middle line up to the board.
fn half_side(wedge: &Wedge, corner: &Corner) -> Vec<Point> {
    let half = wedge.inside / 2.0;
    let p = Point::new;
    vec![
        p(corner.along_side(half, wedge.alpha), 0.0),
        p(wedge.height(), 0.0),
        p(wedge.height(), wedge.half_hinge()),
        p(0.0, half),
    ]
}

/// The tip at the hinge end cut square to its bisector.
fn blunted(wedge: &Wedge, card: &[Point], by: f64) -> Option<Vec<Point>> {
    let tip = card.iter().copied().max_by(|a, b| a.x.total_cmp(&b.x))?;
    let blunt = card.iter().any(|q| (q.x - tip.x).abs() < 1e-9 && (q.y - tip.y).abs() > 1e-9);
    if blunt || wedge.alpha >= SHARP || by <= 0.0 {
        return Some(card.to_vec());
    }
    let way = PI - wedge.alpha / 2.0;
    let inward = Vec2::new(way.cos(), way.sin());
    kept(card, tip + inward * (TIP * by), inward)
}

/// A card out of its half panel, its box's lower left corner at the origin.
fn card(
    m: &Measures,
    panel: &[Point],
    wedge: Option<&Wedge>,
    what: &str,
    faults: &mut Vec<Fault>,
) -> Option<Member> {
    let own = m.companion("card")?;
    let by = own.mm("inset")?;
    let small = |faults: &mut Vec<Fault>| {
        faults.push(wrong(
            own,
            "inset",
            format!("an inset of {} leaves nothing of the {what}", mm(by)),
            "make the inset smaller, or leave the cards out",
        ));
        None
    };
    let Some(whole) = inset(panel, by) else { return small(faults) };
    let points = match wedge {
        Some(wedge) => match blunted(wedge, &whole, by) {
            Some(points) => points,
            None => return small(faults),
        },
        None => whole.clone(),
    };
    let moved = at_origin(&points);
    let Ok(outline) = Loop::polygon(&moved) else { return small(faults) };
    let b = outline.bounds();
    let (longest, shortest) = match wedge {
        // A triangle, or nearly.
        Some(_) => extreme_sides(&whole),
        None => (level_side(&moved, b.height()), level_side(&moved, 0.0)),
    };
    let before = if points == whole { "" } else { "before the sharp tip is cut off" };
    let mut sum = Sum::default()
        .given(own, "inset", "inset at every crease and board")
        .total("cut length", "", b.width())
        .total("cut height", "half panel - 2 x inset", b.height())
        .note("long side", before, longest, "mm");
    if shortest > 0.0 {
        sum = sum.note("short side", "", shortest, "mm");
    }
    if points != whole {
        sum = sum.note("sharp tip cut off", "3 x inset", TIP * by, "mm");
    }
    Some(Member {
        companion: Some("card"),
        ..Member::of(Shape::plain(outline), sum.terms, sides(b.width(), b.height()))
    })
}

/// The longest side, and the shortest.
fn extreme_sides(points: &[Point]) -> (f64, f64) {
    let next = points.iter().cycle().skip(1);
    let lengths: Vec<f64> = points.iter().zip(next).map(|(a, b)| (*b - *a).hypot()).collect();
    (
        lengths.iter().copied().fold(0.0, f64::max),
        lengths.iter().copied().fold(f64::INFINITY, f64::min),
    )
}

/// Cards of a wedge: two halves for the open end, four for the sides, numbered from `first`.
pub(super) fn wedge_cards(
    m: &Measures,
    wedge: &Wedge,
    corner: &Corner,
    first: u32,
    faults: &mut Vec<Fault>,
) -> Vec<Member> {
    if m.companion("card").is_none() {
        return Vec::new();
    }
    let half = wedge.inside / 2.0;
    let end = half_panel(wedge.width, half, corner.along_end(half));
    let end = card(m, &end, None, "end panel", faults);
    let side = card(m, &half_side(wedge, corner), Some(wedge), "side panel", faults);
    numbered("card", first, [(end, 2), (side, 4)])
}

/// Cards of parallel boards: for every pleat two halves on each of the four sides, the ends first.
pub(super) fn box_cards(
    m: &Measures,
    it: &super::boxed::Box,
    corner: &Corner,
    faults: &mut Vec<Fault>,
) -> Vec<Member> {
    if m.companion("card").is_none() {
        return Vec::new();
    }
    let half = it.fold() / 2.0;
    let end = half_panel(it.width, half, corner.along_end(half));
    let side = half_panel(it.length, half, corner.along_side(half, 0.0));
    let end = card(m, &end, None, "end panel", faults);
    let side = card(m, &side, None, "side panel", faults);
    numbered("card", 1, [(end, 4 * it.pleats), (side, 4 * it.pleats)])
}

fn numbered(
    word: &'static str,
    first: u32,
    sorts: impl IntoIterator<Item = (Option<Member>, u32)>,
) -> Vec<Member> {
    let mut made: Vec<Member> = Vec::new();
    let mut number = first;
    for (member, count) in sorts {
        for _ in 0..count {
            if let Some(member) = &member {
                let name = Some(MemberName::numbered(word, number));
                made.push(Member { name, ..member.clone() });
            }
            number += 1;
        }
    }
    made
}

/// The least corner angle at which a gusset between inward ribs cut at `rib` (radians) does not bind anywhere from
/// shut to `opens`, the widest angle of the rib to its board.
///
/// # Source
/// The angle between the two rib ends by their dot product; its cosine has one turning point inside the motion, which
/// is a greatest one, so the angle is greatest at one end.
pub(in crate::part) fn least_corner(rib: f64, opens: f64) -> f64 {
    let between = |opened: f64| {
        let level = (2.0 * rib).sin() * opened.cos();
        (level + (rib.sin() * opened.sin()).powi(2)).clamp(-1.0, 1.0).acos()
    };
    between(0.0).max(between(opens))
}

/// The widest angle of ribs (radians) that some gusset serves, where `most` is the widest corner that reaches from board
/// to board.
///
/// # Source
/// The least corner falls by less than the widest does as the ribs' angle grows, so between the two there is one angle
/// at which they meet; it is found by halving.
pub(in crate::part) fn widest_rib(opens: f64, most: impl Fn(f64) -> f64) -> f64 {
    let (mut good, mut bad) = (0.0, FRAC_PI_2);
    for _ in 0..50 {
        let middle = f64::midpoint(good, bad);
        if least_corner(middle, opens) <= most(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    good
}

/// Degrees with one figure after the point, cut off and not rounded, for a cure that holds.
pub(in crate::part) fn degrees_within(angle: f64) -> String {
    format!("{:.1} degrees", (angle.to_degrees() * 10.0 + 1e-6).floor() / 10.0)
}

/// Angle at which the ribs' ends are cut, from the gusset's table; 45 degrees when silent.
pub(super) fn rib_angle(m: &Measures) -> f64 {
    let own = m.companion("gusset").and_then(|g| g.quantity("rib-angle"));
    own.map_or(45.0, crate::units::Quantity::value).to_radians()
}

/// Gussets, so many alike: for ribs of half height `half` at the corner, boards opened to half angle `alpha`.
pub(super) fn gussets(
    m: &Measures,
    half: f64,
    alpha: f64,
    count: u32,
    faults: &mut Vec<Fault>,
) -> Vec<Member> {
    let Some(own) = m.companion("gusset") else {
        return Vec::new();
    };
    let rib = rib_angle(m);
    if !(rib > 0.05 && rib <= FRAC_PI_2) {
        faults.push(wrong(
            own,
            "rib-angle",
            format!("ribs cut at {:.1} degrees to their boards", rib.to_degrees()),
            "45 degrees is usual; up to 90",
        ));
        return Vec::new();
    }
    let least = least_corner(rib, FRAC_PI_2);
    // Wider than flush it is too short from board to board, and the bellows cannot open.
    let flush = PI - alpha - 2.0 * rib;
    if least > flush + 1e-9 {
        faults.push(wrong(
            own,
            "rib-angle",
            format!(
                "no gusset serves ribs cut at {:.1} degrees: to shut it needs {:.2} degrees at the board, to open {:.2} at most",
                rib.to_degrees(),
                least.to_degrees(),
                flush.to_degrees()
            ),
            &format!(
                "up to {} goes; a smaller opening lets more",
                degrees_within(widest_rib(FRAC_PI_2, |rib| PI - alpha - 2.0 * rib))
            ),
        ));
        return Vec::new();
    }
    let angle = own.quantity("corner-angle").map_or(flush, |q| q.value().to_radians());
    if angle < least - 1e-9 || angle > flush + 1e-9 {
        let why = if angle < least {
            "binds when the bellows shuts"
        } else {
            "is too short from board to board to let it open"
        };
        faults.push(wrong(
            own,
            "corner-angle",
            format!("a gusset of {:.2} degrees at the board {why}", angle.to_degrees()),
            &format!("from {:.2} to {:.2} degrees", least.to_degrees(), flush.to_degrees()),
        ));
        return Vec::new();
    }
    let ribs = Corner::ribs(rib);
    let (end, side) = (half / rib.sin(), ribs.along_side(half, alpha).hypot(half));
    let lap = own.mm_or("lap", 0.0);
    let skive = own.mm_or("skive", 0.0);
    if skive > lap + 1e-9 {
        faults.push(wrong(
            own,
            "skive",
            format!("`skive` {} is more than the lap {}", mm(skive), mm(lap)),
            "the pared edge lies within the lap",
        ));
        return Vec::new();
    }
    let member = kite(own, [end, side, angle], [lap, flush, least]);
    numbered("gusset", 1, [(member, count)])
}

/// A gusset: two sides `end` long, two `side` long, `angle` between them at the boards, board to board along x.
fn kite(
    own: &Measures,
    [end, side, angle]: [f64; 3],
    [lap, flush, least]: [f64; 3],
) -> Option<Member> {
    let across = (end * end + side * side - 2.0 * end * side * angle.cos()).sqrt();
    let half_board = end * side * angle.sin() / across;
    let up = (end * end + across * across - side * side) / (2.0 * across);
    let down = across - up;
    let p = Point::new;
    let bare = [p(-half_board, 0.0), p(0.0, -down), p(half_board, 0.0), p(0.0, up)];
    let points = inset(&bare, -lap)?;
    let outline = Loop::polygon(&points).ok()?;
    let b = outline.bounds();
    let sum = Sum::default()
        .step("side at the end's rib", "half fold / sin of the rib's angle", end)
        .step("side at the side's rib", "", side)
        .note("corner angle of the gusset", "", angle.to_degrees(), "°")
        .note("least corner angle", "the ribs' ends over the whole motion", least.to_degrees(), "°")
        .note("flush corner angle", "180 - half opening - 2 x rib angle", flush.to_degrees(), "°")
        .given(own, "lap", "lap on the ribs")
        .given(own, "skive", "pared within the lap")
        .total("board to board", "with the lap", b.width())
        .total("from rib to rib", "with the lap", b.height())
        .note("board to board without the lap", "", 2.0 * half_board, "mm")
        .note("from rib to rib without the lap", "", across, "mm");
    let dimensions = vec![
        Dimension::Span(p(b.x1, 0.0), p(b.x0, 0.0), 1.0, shown(b.width())),
        Dimension::Span(p(0.0, b.y0), p(0.0, b.y1), 1.0, shown(b.height())),
    ];
    let guides = if lap > 0.0 { around(&bare) } else { Vec::new() };
    Some(Member {
        companion: Some("gusset"),
        guides,
        ..Member::of(Shape::plain(outline), sum.terms, dimensions)
    })
}

/// Patches over the hinge end, for boards `width` wide whose hinge end stands `height` high.
pub(super) fn patches(
    m: &Measures,
    width: f64,
    height: f64,
    faults: &mut Vec<Fault>,
) -> Vec<Member> {
    let Some(own) = m.companion("patch") else {
        return Vec::new();
    };
    faults.extend(positive(own, &["diameter", "length", "width"]));
    let both = own.mm("length").zip(own.mm("width"));
    let (member, silent) = match (own.mm("diameter"), both, own.mm("lap")) {
        (Some(diameter), None, None) if !own.has("length") && !own.has("width") => {
            let sum = Sum::default().given(own, "diameter", "diameter").total(
                "cut diameter",
                "",
                diameter,
            );
            let round = Loop::circle(Point::ORIGIN, diameter / 2.0).ok();
            let dimension = Dimension::Diameter(Point::ORIGIN, diameter / 2.0, shown(diameter));
            (round.map(|round| Member::of(Shape::plain(round), sum.terms, vec![dimension])), 2)
        }
        (None, Some((length, wide)), None) => {
            let sum = Sum::default()
                .given(own, "length", "along the hinge")
                .given(own, "width", "across it")
                .total("cut length", "", length)
                .total("cut width", "", wide);
            (plate(length, wide, sum), 1)
        }
        (None, None, Some(lap)) if !own.has("length") && !own.has("width") => {
            let short = m.mm_or("pivot-gap", 0.0);
            let length = width + 2.0 * (short + lap);
            let sum = Sum::default()
                .given(own, "lap", "lap on the cloth")
                .given(m, "pivot-gap", "cloth stops short of the hinge")
                .total("cut length", "width + 2 x (pivot gap + lap)", length)
                .total("cut width", "2 x board + hinge gap", height);
            (plate(length, height, sum), 1)
        }
        _ if ["diameter", "length", "width", "lap"].iter().filter(|key| own.has(key)).count()
            > 1 =>
        {
            faults.push(
                Fault::error("E28", "a patch is given in two ways")
                    .at(&own.place)
                    .cure("give `diameter`, or `length` and `width`, or `lap`"),
            );
            return Vec::new();
        }
        _ => {
            faults.push(
                Fault::error("E12", "a patch needs `diameter`, or `length` and `width`, or `lap`")
                    .at(&own.place)
                    .cure("diameter = \"1 in\""),
            );
            return Vec::new();
        }
    };
    faults.extend(member.as_ref().and_then(|it| large_patch(m, own, width, it)));
    let count = own.count("count").unwrap_or(silent);
    let member = member.map(|it| Member { companion: Some("patch"), ..it });
    match count {
        1 => member
            .into_iter()
            .map(|it| Member { name: Some(MemberName::only("patch")), ..it })
            .collect(),
        2..=12 => numbered("patch", 1, [(member, count)]),
        _ => {
            faults.push(wrong(
                own,
                "count",
                format!("{count} patches on one bellows"),
                "1 to 12; leave the table out where there are none",
            ));
            Vec::new()
        }
    }
}

/// A patch that is larger than the boards.
fn large_patch(m: &Measures, own: &Measures, width: f64, patch: &Member) -> Option<Fault> {
    let b = patch.shape.bounds();
    let (largest, board) = (b.width().max(b.height()), width.max(m.mm_or("length", 0.0)));
    (largest > board).then(|| {
        doubt(
            "W42",
            own,
            if own.has("diameter") { "diameter" } else { "length" },
            format!("a patch of {} on boards of {}", mm(largest), mm(board)),
            "look at the unit and the point: it covers the hinge's end",
        )
    })
}

fn plate(length: f64, width: f64, sum: Sum) -> Option<Member> {
    let outline = rectangle(Point::ORIGIN, length, width, 0.0).ok()?;
    Some(Member::of(Shape::plain(outline), sum.terms, sides(length, width)))
}

/// The strip that joins the boards, one to a hinge.
pub(super) fn hinges(m: &Measures, width: f64, count: u32, faults: &mut Vec<Fault>) -> Vec<Member> {
    let Some(own) = m.companion("hinge") else {
        return Vec::new();
    };
    faults.extend(positive(own, &["leaf"]));
    let Some(leaf) = own.mm("leaf").filter(|leaf| *leaf > 0.0) else {
        return Vec::new();
    };
    if let Some(length) = m.mm("length").filter(|length| leaf > length / 2.0) {
        faults.push(doubt(
            "W42",
            own,
            "leaf",
            format!("a hinge's leaf of {} on boards {} long", mm(leaf), mm(length)),
            "look at the unit and the point: it covers less than half a board",
        ));
    }
    let gap = own.mm("gap").unwrap_or_else(|| m.mm_or("hinge-gap", 0.0));
    let across = 2.0 * leaf + gap;
    let line = |y: f64| Seg::line(Point::new(0.0, y), Point::new(width, y));
    let creases = if gap > 0.0 { vec![line(leaf), line(leaf + gap)] } else { vec![line(leaf)] };
    let mut sum = Sum::default()
        .given(m, "width", "along the hinge")
        .given(own, "leaf", "glued on each board")
        .given(own, "gap", "free between the boards");
    if !own.has("gap") {
        sum = sum.silent("free between the boards", "the hinge gap", gap);
    }
    let sum = sum.total("cut length", "", width).total("cut width", "2 x leaf + gap", across);
    let member =
        plate(width, across, sum).map(|it| Member { companion: Some("hinge"), creases, ..it });
    if count == 1 {
        let name = Some(MemberName::only("hinge"));
        return member.into_iter().map(|it| Member { name, ..it }).collect();
    }
    numbered("hinge", 1, [(member, count)])
}
