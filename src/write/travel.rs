//! The travel of a set of valves, as a CSV table.
//!
//! Lines that begin with `#` are notes. A name with a comma or a quote stands in quotes.
//!
//! # Source
//! Quotes: RFC 4180 (Shafranovich, 2005); lines end in a bare line feed, as in all files of this room.

use super::number::fixed;
use crate::letters::one_line;
use crate::part::{Balance, Travel};
use std::fmt::Write;

/// Thousandths of an inch of a length.
///
/// # Units
/// Takes millimetres.
pub fn thou(mm: f64) -> String {
    fixed(mm / 0.0254, 2)
}

/// The papers that go into a place: `2 tissue + 1 card`; empty where none does.
pub fn papers_in(travel: &Travel, place: &Balance) -> String {
    let put = travel.papers.iter().zip(&place.choice.added).filter(|(_, many)| **many > 0);
    put.map(|(paper, many)| format!("{many} {}", paper.name)).collect::<Vec<_>>().join(" + ")
}

/// The papers that come out of a place, by their thickness: `4 thou + 4 thou`.
pub fn papers_out(place: &Balance) -> String {
    let out = place.choice.removed.iter().filter_map(|n| place.fitted.get(*n));
    out.map(|mm| format!("{} thou", thou(*mm))).collect::<Vec<_>>().join(" + ")
}

/// The table, a row a place.
///
/// # Units
/// Thousandths of an inch and millimetres, as the columns say.
pub fn travel_csv(travel: &Travel, title: &str) -> String {
    let mut text = format!("# {}: travel of {}\n", one_line(title), one_line(&travel.name));
    let _ = writeln!(
        text,
        "# target {} thou, never below {} thou; a paper makes the gap {}",
        thou(travel.aim.target),
        thou(travel.aim.least),
        if travel.aim.wider { "wider" } else { "narrower" }
    );
    text.push_str(
        "position,gap (thou),gap (mm),by new leather (thou),take out,put in,expected (thou),expected (mm),\
         take off (thou),still lacking (thou),clearance (mm)\n",
    );
    for place in &travel.places {
        let choice = &place.choice;
        let or = |mm: Option<f64>| mm.map_or_else(String::new, thou);
        let row = [
            place.position.to_string(),
            thou(place.gap),
            fixed(place.gap, 4),
            thou(place.leather),
            papers_out(place),
            papers_in(travel, place),
            thou(choice.expected),
            fixed(choice.expected, 4),
            or(choice.off),
            or(choice.short),
            place.clearance.map_or_else(String::new, |mm| fixed(mm, 3)),
        ];
        let _ = writeln!(text, "{}", row.join(","));
    }
    text
}
