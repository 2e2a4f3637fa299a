//! A gasket between two boards: which hole meets which, and what of it is left open.

use super::rows::{OPPOSITE, round_holes};
use super::{Bored, Few, Holes, MOST_IN_ALL};
use crate::fault::Fault;
use crate::geom::tolerance::{NO_AREA, SLACK};
use crate::geom::{Loop, Point, Rect};
use crate::part::arcs::{lens, shared_area};
use crate::part::measures::Measures;
use crate::part::member::{Dimension, Term};
use crate::part::sum::{Sum, mm, wrong};
use std::f64::consts::PI;

/// Two holes that leave less than this share of the smaller open are pointed out.
///
/// # Source
/// Our choice: wind that passes half a hole is heard on the note.
const HALF: f64 = 0.5;
/// A hole that meets many is told with so many of their names.
const NAMED: usize = 3;

/// What a hole meets on the other board.
#[derive(Debug, Clone, Default)]
struct Met {
    /// Number of the hole that it shares most with, and the area they share (mm²).
    best: Option<(usize, f64)>,
    /// Numbers of the first few.
    first: Vec<usize>,
    count: usize,
}

impl Met {
    fn take(&mut self, other: usize, area: f64) {
        self.count += 1;
        if self.first.len() < NAMED {
            self.first.push(other);
        }
        // The first of equals, so that the same job gives the same holes.
        if self.best.is_none_or(|(_, most)| area > most) {
            self.best = Some((other, area));
        }
    }

    /// What is met, by name.
    fn names(&self, others: &[Bored]) -> String {
        let mut names: Vec<String> =
            self.first.iter().filter_map(|n| others.get(*n)).map(|o| o.name.clone()).collect();
        if self.count > names.len() {
            names.push(format!("{} more", self.count - names.len()));
        }
        names.join(" and ")
    }
}

/// The first board's holes as they are cut: all of them where there is no other board; else each with the hole of the
/// opposite board that it shares most with, and none without one.
pub(super) fn against(
    m: &Measures,
    first: Vec<Bored>,
    room: Rect,
    found: &mut Holes,
) -> Vec<Bored> {
    if !OPPOSITE.given(m) {
        for key in ["opposite-seen", "meet"].into_iter().filter(|key| m.has(key)) {
            found.faults.push(wrong(
                m,
                key,
                format!("`{key}` is given, and there are no holes of an opposite board"),
                "write [[part.opposite-row]], [[part.opposite-hole]] or opposite-table, or leave it out",
            ));
        }
        return first;
    }
    let mut beyond = Holes::default();
    let mut other = round_holes(m, &OPPOSITE, room, &mut beyond);
    found.terms.append(&mut beyond.terms);
    found.faults.append(&mut beyond.faults);
    if m.word("opposite-seen") == Some("own") {
        for hole in &mut other {
            turn_over(hole, room);
        }
    }
    if other.len() > MOST_IN_ALL {
        found.faults.push(
            Fault::error("E28", format!("an opposite board of more than {MOST_IN_ALL} holes"))
                .at(&m.place)
                .cure("look at `holes` of its rows; no board has so many"),
        );
        return first;
    }
    // What is cut has other diameters than either board.
    found.dimensions.retain(|d| !matches!(d, Dimension::Diameter(..)));
    let (met, takers) = meetings(&first, &other);
    doubts((&first, &met), (&other, &takers), found);
    let meeting = met.iter().filter(|met| met.best.is_some()).count();
    if first.len() > 1 && 2 * meeting < first.len() {
        found.faults.push(
            Fault::error(
                "E28",
                format!("only {meeting} of {} holes meet one of the opposite board", first.len()),
            )
            .at(first.first().map_or(&m.place, |hole| &hole.place))
            .cure(
                "look at both pitches and both first holes; opposite-seen = \"own\" if the opposite board was measured \
                 from its own face",
            ),
        );
    }
    let larger = m.word("meet") == Some("larger");
    let mut pairs = Vec::new();
    let mut faults = Few::default();
    let mut made = Vec::new();
    for (hole, met) in first.into_iter().zip(met) {
        let Some((partner, area)) = met.best else { continue };
        let Some(partner) = other.get(partner) else { continue };
        let Some(shared) = lens(circle(&hole), circle(partner)) else { continue };
        let pair = Pair::of(&hole, partner, area);
        if pair.share < HALF - SLACK {
            faults.push(|| pair.doubt(&hole, partner));
        }
        pairs.push(pair);
        made.push(join(hole, partner, shared, larger));
    }
    found.faults.append(&mut faults.finish());
    found.terms.extend(told(&pairs));
    made
}

/// A hole as it is seen through the gasket, when it was measured from the opposite board's own face.
fn turn_over(hole: &mut Bored, room: Rect) {
    if let Loop::Circle(center, _) = &mut hole.outline {
        center.x = room.x0 + room.x1 - center.x;
    }
}

fn circle(hole: &Bored) -> (Point, f64) {
    hole.outline.as_circle().unwrap_or((Point::ORIGIN, 0.0))
}

/// For every hole of either board what it meets on the other.
fn meetings(first: &[Bored], other: &[Bored]) -> (Vec<Met>, Vec<Met>) {
    let circles: Vec<_> = other.iter().map(circle).collect();
    let mut met = vec![Met::default(); first.len()];
    let mut takers = vec![Met::default(); other.len()];
    for ((i, hole), met) in first.iter().enumerate().zip(&mut met) {
        let it = circle(hole);
        for ((j, there), taker) in circles.iter().enumerate().zip(&mut takers) {
            let area = shared_area(it, *there);
            if area >= NO_AREA {
                met.take(j, area);
                taker.take(i, area);
            }
        }
    }
    (met, takers)
}

/// The hole that is cut for a pair.
fn join(hole: Bored, other: &Bored, shared: Loop, larger: bool) -> Bored {
    let outline = match (larger, circle(other).1 > circle(&hole).1) {
        (false, _) => shared,
        (true, false) => hole.outline,
        (true, true) => other.outline.clone(),
    };
    Bored { outline, ..hole }
}

/// The figures of two holes that meet.
struct Pair {
    name: String,
    other: String,
    /// From centre to centre (mm).
    offset: f64,
    /// What is left open, as a share of the smaller.
    share: f64,
}

impl Pair {
    fn of(hole: &Bored, other: &Bored, shared: f64) -> Pair {
        let ((center, radius), (there, reach)) = (circle(hole), circle(other));
        Pair {
            name: hole.name.clone(),
            other: other.name.clone(),
            offset: (there - center).hypot(),
            share: shared / (PI * radius.min(reach).powi(2)),
        }
    }

    /// Less than half open.
    fn doubt(&self, hole: &Bored, other: &Bored) -> Fault {
        let text = format!(
            "{} and {} leave only {:.0} % of the smaller open; their centres are {} apart",
            self.name,
            self.other,
            self.share * 100.0,
            mm(self.offset)
        );
        Fault::warning("W34", text).at(&hole.place).mark(&other.place, "the opposite board").cure(
            "measure both boards from one edge; opposite-seen = \"own\" if the opposite board was measured from \
             its own face",
        )
    }

    /// Whether the figures of two pairs are the same for all that anyone can measure.
    fn alike(&self, other: &Pair) -> bool {
        (self.offset - other.offset).abs() < SLACK && (self.share - other.share).abs() < SLACK
    }
}

/// The pairs' part of the sum; neighbours whose figures are alike stand in one line.
fn told(pairs: &[Pair]) -> Vec<Term> {
    let mut sum = Sum::default();
    for run in pairs.chunk_by(Pair::alike) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else { continue };
        let (name, rule) = match run {
            [_] => (first.name.clone(), format!("to {}", first.other)),
            _ => (span(&first.name, &last.name), format!("{} alike", run.len())),
        };
        sum = sum.note(&format!("{name}: off centre"), &rule, first.offset, "mm").note(
            &format!("{name}: left open"),
            "of the smaller",
            first.share * 100.0,
            "%",
        );
    }
    sum.terms
}

/// `hole 1 of the row` and `hole 9 of the row` as `hole 1 to hole 9 of the row`.
fn span(first: &str, last: &str) -> String {
    match (first.split_once(" of "), last.split_once(" of ")) {
        (Some((a, set)), Some((b, other))) if set == other => format!("{a} to {b} of {set}"),
        _ => format!("{first} to {last}"),
    }
}

/// Holes without a partner, on either board, and holes with more than one.
fn doubts(first: (&[Bored], &[Met]), other: (&[Bored], &[Met]), found: &mut Holes) {
    let mut faults = Few::default();
    let mut doubt = |hole: &Bored, text: &dyn Fn() -> String, cure: &str| {
        faults.push(|| {
            Fault::warning("W35", format!("{} {}", hole.name, text())).at(&hole.place).cure(cure)
        });
    };
    let crossed = "wind would pass from one to the other: look at both boards again";
    for (hole, met) in first.0.iter().zip(first.1) {
        match met.count {
            0 => doubt(
                hole,
                &|| "meets no hole of the opposite board and is left out".to_owned(),
                "measure both boards from one edge; a hole for a screw is a [[part.screw]]",
            ),
            1 => {}
            _ => doubt(
                hole,
                &|| {
                    let names = met.names(other.0);
                    format!("meets {names}; it is paired with the one it shares most with")
                },
                crossed,
            ),
        }
    }
    for (hole, met) in other.0.iter().zip(other.1) {
        match met.count {
            0 => doubt(
                hole,
                &|| "meets no hole of the first board and stays covered".to_owned(),
                "measure both boards from one edge",
            ),
            1 => {}
            _ => doubt(hole, &|| format!("meets {}", met.names(first.0)), crossed),
        }
    }
    found.faults.append(&mut faults.finish());
}
