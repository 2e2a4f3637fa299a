//! The cloth round a bellows: two boards and what closes them all round.
//!
//! A wedge opens at one end and turns about a hinge at the other. One strip runs from the hinge end along one side,
//! across the open end, back along the other side and over the hinge, where its ends overlap. In the flat the side
//! panels are triangles whose height is `L cos α`, a little less than the board; the open end stays as wide as the span
//! between the boards. Parallel boards have the same with no angle; a double bellows is two wedges on one leaf.
//!
//! Cards, gussets, patches and the hinge strip are companions: pieces of their own, of other materials.

mod blank;
mod boxed;
mod extras;
mod folded;
mod keys;
mod motion;
mod report;
mod wedge;

use super::measures::Measures;
use super::member::{Developed, Dimension, Member, MemberName};
use super::sum::{Sum, mm, positive, shown, wrong};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::{GeomFault, Loop, Point, Seg, Shape};
use blank::{Ending, Piece};
use boxed::Box;
use keys::{COMPANIONS, KEYS};
use wedge::{Corner, Wedge};

pub(super) use extras::{degrees_within, least_corner, widest_rib};
pub(super) use folded::folded;

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Bellows,
    name: "bellows",
    about: "the cloth round two boards: a wedge, parallel boards, or two wedges on one leaf",
    keys: KEYS,
    companions: COMPANIONS,
    lengthwise: true,
    taut: false,
    thickness_key: Some("cloth"),
    develop,
};

fn develop(m: &Measures) -> Developed {
    let lengths = [
        "length",
        "width",
        "board",
        "span",
        "second-span",
        "leaf",
        "overlap",
        "cloth",
        "finger",
        "rest",
        "stroke",
    ];
    let mut made = Developed { faults: positive(m, &lengths), ..Developed::default() };
    made.faults.extend(idle_keys(m));
    if any_error(&made.faults) {
        return made;
    }
    report::check_sizes(m, &mut made.faults);
    match m.word("boards") {
        Some("parallel") => parallel(m, &mut made),
        Some("double") => double(m, &mut made),
        _ => single(m, &mut made),
    }
    if any_error(&made.faults) {
        made.members.clear();
    }
    made
}

/// Measures that belong to other boards, another form or other folds.
fn idle_keys(m: &Measures) -> Vec<Fault> {
    let boards = m.word("boards").unwrap_or("wedge");
    let form = m.word("form").unwrap_or("strip");
    let mut idle: Vec<(&str, String)> = Vec::new();
    let mut note = |keys: &[&'static str], what: String| {
        idle.extend(keys.iter().filter(|key| m.has(key)).map(|key| (*key, what.clone())));
    };
    let of_boards = format!("boards = \"{boards}\"");
    match boards {
        "parallel" => note(
            &[
                "hinge-gap",
                "finger",
                "rest",
                "closed",
                "leaf",
                "second-span",
                "pivot-gap",
                "stroke",
                "hinge",
                "patch",
            ],
            of_boards.clone(),
        ),
        "double" => note(
            &[
                "pleats", "gusset", "rest", "closed", "finger", "stroke", "lap", "vacuum", "force",
                "volume",
            ],
            of_boards.clone(),
        ),
        _ => note(&["pleats", "leaf", "second-span"], of_boards.clone()),
    }
    if form == "pieces" {
        note(&["overlap", "pivot-gap"], "form = \"pieces\"".to_owned());
    } else {
        note(&["lap", "gusset"], format!("form = \"{form}\""));
    }
    if m.companion("gusset").is_some() {
        // Ribs have no tuck, and the gusset's own lap closes the corner between parallel boards.
        note(&["tuck"], "ribs and gussets".to_owned());
        if boards == "parallel" {
            note(&["lap"], "ribs and gussets".to_owned());
        }
    }
    if m.has("pivot-gap") {
        note(&["overlap"], "`pivot-gap`".to_owned());
    }
    if m.word("folds") == Some("out") {
        // Outward ribs have no gusset that lets them both shut and open: its corner would have to be at once wider
        // than their ends come to stand apart and narrower than flush.
        note(&["tuck", "gusset"], "folds = \"out\"".to_owned());
    }
    let wrong_form = match boards {
        "parallel" => form == "taper",
        "double" => form == "pieces",
        _ => false,
    };
    let mut faults: Vec<Fault> = idle
        .into_iter()
        .map(|(key, what)| {
            wrong(
                m,
                key,
                format!("a bellows with {what} has no `{key}`"),
                "leave it out, or change the other",
            )
        })
        .collect();
    if wrong_form {
        faults.push(wrong(
            m,
            "form",
            format!("form = \"{form}\" does not go with {of_boards}"),
            "form = \"strip\" does",
        ));
    }
    faults
}

/// How the corners fold; what cannot fold is a fault.
fn corner(m: &Measures, alpha: f64, fold: f64, rooms: (Option<f64>, f64)) -> Result<Corner, Fault> {
    if m.companion("gusset").is_some() {
        return Ok(Corner::ribs(extras::rib_angle(m)));
    }
    if m.word("folds") != Some("out") {
        return Ok(Corner::inward(alpha, m.word("tuck") != Some("end")));
    }
    Corner::outward(alpha, fold, rooms.0, rooms.1).ok_or_else(|| {
        wrong(
            m,
            "folds",
            format!(
                "an outward fold {} high has no room between corners {} apart",
                mm(fold),
                mm(rooms.1)
            ),
            "lower folds (more pleats, less span), or longer boards; or folds = \"in\"",
        )
    })
}

/// Width between the creases that bound the hinge when no glue may come on it: gap and twice the cloth.
fn no_glue(m: &Measures) -> Option<f64> {
    m.mm("cloth").map(|cloth| m.mm_or("hinge-gap", 0.0) + 2.0 * cloth)
}

fn single(m: &Measures, made: &mut Developed) {
    let Some(wedge) = opened(m, "span", m.mm_or("board", 0.0), made) else { return };
    let corner = match corner(m, wedge.alpha, wedge.inside, (None, wedge.width)) {
        Ok(corner) => corner,
        Err(fault) => return made.faults.push(fault),
    };
    report::check_wedge(m, &wedge, &corner, "span", &mut made.faults);
    report::check_spans(m, &wedge, &mut made.faults);
    if any_error(&made.faults) {
        return;
    }
    let (trim, lap) = (m.mm_or("trim", 0.0), m.mm_or("lap", 0.0));
    if m.word("form") == Some("pieces") {
        let side = blank::side_piece(&wedge, &corner, lap);
        let end = blank::end_piece(&wedge, &corner);
        let high = 2.0 * wedge.half_hinge() + wedge.board + wedge.below;
        let wrap = blank::panel(wedge.width, high, 1, (0.0, 0.0), 0.0, |_| {
            (0.0, wedge::Manner::TuckInSide, wedge::Manner::TuckInEnd)
        })
        .map(|piece| Piece { creases: Vec::new(), ..piece });
        let first = report::wedge_sum(m, &wedge, &corner);
        piece(m, made, side.clone(), MemberName::numbered("side", 1), trim, first);
        piece(m, made, side, MemberName::numbered("side", 2), trim, Sum::default());
        piece(m, made, end, MemberName::only("end"), trim, Sum::default());
        piece(m, made, wrap, MemberName::only("wrap"), trim, Sum::default());
    } else {
        strip(m, made, &wedge, &corner, None);
    }
    made.members.extend(extras::wedge_cards(m, &wedge, &corner, 1, &mut made.faults));
    made.members.extend(extras::gussets(m, wedge.inside / 2.0, wedge.alpha, 2, &mut made.faults));
    let high = 2.0 * wedge.board + wedge.gap;
    made.members.extend(extras::patches(m, wedge.width, high, &mut made.faults));
    made.members.extend(extras::hinges(m, wedge.width, 1, &mut made.faults));
}

/// Two wedges on one leaf: a strip for each, of its own span, the leaf's edge shared between them.
///
/// # Source
/// Angles add and spans nearly; one sheet for both misfits by twice the span times the sine of half the half angle:
/// plane geometry.
fn double(m: &Measures, made: &mut Developed) {
    if m.word("span-is") != Some("inside") {
        made.faults.push(wrong(
            m,
            "span-is",
            "a double bellows is measured between its boards and leaf".into(),
            "span-is = \"inside\", each span from an outer board to the leaf when that side is fully open",
        ));
        return;
    }
    let Some(leaf) = m.mm("leaf") else {
        made.faults.push(
            Fault::error(
                "E12",
                "a double bellows needs `leaf` (thickness of the leaf between the wedges)",
            )
            .at(&m.place)
            .cure("leaf = \"1/2 in\""),
        );
        return;
    };
    let second = if m.has("second-span") { "second-span" } else { "span" };
    let both = [("first", "span"), ("second", second)];
    let wedges: Vec<Wedge> =
        both.iter().filter_map(|(_, key)| opened(m, key, leaf / 2.0, made)).collect();
    let [first, other] = wedges.as_slice() else { return };
    report::check_leaf(m, first, other, &mut made.faults);
    for (n, (wedge, (name, key))) in wedges.iter().zip(both).enumerate() {
        let corner = match corner(m, wedge.alpha, wedge.inside, (None, wedge.width)) {
            Ok(corner) => corner,
            Err(fault) => return made.faults.push(fault),
        };
        if n == 0 || second != "span" {
            report::check_wedge(m, wedge, &corner, key, &mut made.faults);
        }
        let at_centre = (n == 0).then(|| report::leaf_at_centre(first, other));
        strip(m, made, wedge, &corner, Some((name, at_centre)));
        let from = if n == 0 { 1 } else { 7 };
        made.members.extend(extras::wedge_cards(m, wedge, &corner, from, &mut made.faults));
    }
    let high = 2.0 * first.board + 2.0 * first.gap + leaf;
    made.members.extend(extras::patches(m, first.width, high, &mut made.faults));
    made.members.extend(extras::hinges(m, first.width, 2, &mut made.faults));
}

fn parallel(m: &Measures, made: &mut Developed) {
    let (Some(length), Some(width), Some(board), Some(span)) =
        (m.mm("length"), m.mm("width"), m.mm("board"), m.mm("span"))
    else {
        return;
    };
    let outside = m.word("span-is") == Some("outside");
    let inside = if outside { span - 2.0 * board } else { span };
    if inside <= 0.0 {
        made.faults.push(wrong(
            m,
            "span",
            format!("a span of {} over two boards leaves nothing between them", mm(span)),
            &format!("over the boards it is more than {}", mm(2.0 * board)),
        ));
        return;
    }
    let pleats = m.count("pleats").unwrap_or(1);
    if !(1..=40).contains(&pleats) {
        made.faults.push(wrong(
            m,
            "pleats",
            format!("{pleats} pleats between two boards"),
            "1 to 40",
        ));
        return;
    }
    let it = Box { length, width, board, inside, pleats };
    let corner = match corner(m, 0.0, it.fold(), (Some(length), width)) {
        Ok(corner) => corner,
        Err(fault) => return made.faults.push(fault),
    };
    report::check_box(m, &it, &corner, &mut made.faults);
    if any_error(&made.faults) {
        return;
    }
    let trim = m.mm_or("trim", 0.0);
    let sum = report::box_sum(m, &it, &corner);
    if m.word("form") == Some("pieces") {
        let lands = (board, board);
        let side = blank::panel(length, inside, pleats, lands, m.mm_or("lap", 0.0), |half| {
            (corner.along_side(half, 0.0), corner.manner, wedge::Manner::TuckInSide)
        });
        let end = blank::panel(width, inside, pleats, lands, 0.0, |half| {
            (corner.along_end(half), corner.manner, wedge::Manner::TuckInEnd)
        });
        piece(m, made, side.clone(), MemberName::numbered("side", 1), trim, sum);
        piece(m, made, side, MemberName::numbered("side", 2), trim, Sum::default());
        piece(m, made, end.clone(), MemberName::numbered("end", 1), trim, Sum::default());
        piece(m, made, end, MemberName::numbered("end", 2), trim, Sum::default());
    } else {
        let overlap = m.mm_or("overlap", width / 3.0);
        let strip = boxed::strip(&it, overlap)
            .map(|outline| whole(outline, boxed::creases(&it, &corner, overlap)));
        cloth(m, made, strip, None, trim, sum);
    }
    made.members.extend(extras::box_cards(m, &it, &corner, &mut made.faults));
    let half = it.fold() / 2.0;
    made.members.extend(extras::gussets(m, half, 0.0, 4 * pleats, &mut made.faults));
}

/// A strip of a wedge as a member; of a double one with its name and what both come to at the centre.
fn strip(
    m: &Measures,
    made: &mut Developed,
    wedge: &Wedge,
    corner: &Corner,
    of: Option<(&'static str, Option<f64>)>,
) {
    let ending = match m.mm("pivot-gap") {
        Some(gap) if gap >= wedge.height() => {
            made.faults.push(wrong(
                m,
                "pivot-gap",
                format!("cloth that stops {} short of the hinge has no side left", mm(gap)),
                &format!("less than {}", mm(wedge.height())),
            ));
            return;
        }
        Some(gap) => {
            let meet = corner.along_side(wedge.inside / 2.0, wedge.alpha);
            if meet > wedge.height() - gap {
                let most = wedge.height() - meet;
                made.faults.push(wrong(
                    m,
                    "pivot-gap",
                    format!("the corners' creases run past cloth that stops {} short", mm(gap)),
                    &format!("{} at most leaves them room", mm(most)),
                ));
                return;
            }
            Ending::Short(gap)
        }
        None => Ending::Wrapped(m.mm_or("overlap", wedge.width / 3.0)),
    };
    let taper = m.word("form") == Some("taper");
    let mut sum = report::strip_sum(m, wedge, corner, ending, taper);
    if let Some(together) = of.and_then(|(_, together)| together) {
        sum = sum.note(
            "span of both wedges, leaf at the centre",
            "2 x length x sin of half each angle, added",
            together,
            "mm",
        );
    }
    let name = of.map(|(name, _)| MemberName::only(name));
    let free = if of.is_some() { None } else { no_glue(m) };
    let made_strip = blank::strip(wedge, ending, taper)
        .map(|outline| whole(outline, blank::creases(wedge, corner, ending, free)));
    cloth(m, made, made_strip, name, m.mm_or("trim", 0.0), sum);
}

/// A strip, which has no notch.
fn whole(outline: Loop, creases: Vec<Seg>) -> Piece {
    Piece { outline, creases, notch: Vec::new() }
}

/// A piece of the cloth with its own two sizes at the head of its sum.
fn piece(
    m: &Measures,
    made: &mut Developed,
    cut: Result<Piece, GeomFault>,
    name: MemberName,
    trim: f64,
    mut sum: Sum,
) {
    if let Ok(Piece { outline, .. }) = &cut {
        let b = outline.bounds();
        sum = sum.total("cut length", "panel and laps", b.width()).total(
            "cut width",
            "panel, glue lands and trim",
            b.height() + 2.0 * trim,
        );
    }
    cloth(m, made, cut, Some(name), trim, sum);
}

fn cloth(
    m: &Measures,
    made: &mut Developed,
    cut: Result<Piece, GeomFault>,
    name: Option<MemberName>,
    trim: f64,
    sum: Sum,
) {
    let Ok(Piece { outline, creases, notch }) = cut else {
        made.faults.push(wrong(
            m,
            "span",
            "no blank comes of these measures".into(),
            "look at length, board and span again",
        ));
        return;
    };
    let b = outline.bounds();
    let p = Point::new;
    let with = if trim > 0.0 { " with trim" } else { "" };
    let (low, high) = (b.y0 - trim, b.y1 + trim);
    let dimensions = vec![
        Dimension::Span(p(b.x1, low), p(b.x0, low), 1.0, shown(b.width())),
        Dimension::Span(p(b.x0, low), p(b.x0, high), 1.0, shown(high - low).and(with)),
    ];
    made.members.push(Member {
        name,
        trim,
        untrimmed: notch,
        creases,
        ..Member::of(Shape::plain(outline), sum.terms, dimensions)
    });
}

/// The wedge at a full span, unless no wedge has such a span; `below` is the lower glue land.
fn opened(m: &Measures, key: &str, below: f64, made: &mut Developed) -> Option<Wedge> {
    let (length, width, board, span) =
        (m.mm("length")?, m.mm("width")?, m.mm("board")?, m.mm(key)?);
    let gap = m.mm_or("hinge-gap", 0.0);
    let outside = m.word("span-is") == Some("outside");
    let least = if outside { 2.0 * board + gap } else { gap };
    if span <= least || span >= 2.0 * length {
        let how = if outside { "over the boards" } else { "between the boards" };
        let cure =
            format!("{how} it is more than {} and less than {}", mm(least), mm(2.0 * length));
        made.faults.push(wrong(
            m,
            key,
            format!("a span of {} is not possible here", mm(span)),
            &cure,
        ));
        return None;
    }
    let alpha = Wedge::angle(length, board, gap, span, outside);
    let inside = Wedge::span_inside(length, gap, alpha);
    Some(Wedge { length, width, board, below, gap, alpha, inside })
}

#[cfg(test)]
mod tests;
