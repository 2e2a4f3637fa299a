//! Slips of the pen: values that can be read and are probably not meant.
//!
//! Nothing here is ever put right by itself; it is pointed out, with what was likely meant.

use super::document::Heap;
use super::table::Rows;
use super::words::runs;
use crate::fault::{Fault, Place};
use crate::part::{Part, Stand, Value, standing};
use crate::units::Length;
use std::collections::BTreeMap;

/// Sizes below and above these are pointed out (mm).
const USUAL: (f64, f64) = (0.05, 3000.0);
/// Readings of one size that differ by more are pointed out (mm): ten thousandths of an inch.
const SPREAD: f64 = 0.254;
/// An inch (mm).
const INCH: f64 = 25.4;

/// W04: a fraction that is on no rule.
pub(super) fn fraction(heap: &Heap, length: &Length, place: &Place) {
    if let Some(hint) = length.odd_fraction() {
        heap.add(
            Fault::warning("W04", hint.text())
                .at(place)
                .cure(format!("was {} meant?", hint.instead())),
        );
    }
}

/// W04 as well: a fraction of more than one, which is often a lost space.
pub(super) fn top_heavy(heap: &Heap, length: &Length, place: &Place) {
    let Some((top, rest)) = length.text().split_once('/') else { return };
    let bottom: String = rest.chars().take_while(char::is_ascii_digit).collect();
    let (Ok(first), Ok(second)) = (top.parse::<u32>(), bottom.parse::<u32>()) else { return };
    if second == 0 || first <= second {
        return;
    }
    let (whole, over) = (first / second, first % second);
    let tail = &rest[bottom.len()..];
    let mut meant =
        if over == 0 { format!("{whole}{tail}") } else { format!("{whole} {over}/{bottom}{tail}") };
    if top.len() > 1 {
        let (head, last) = top.split_at(1);
        meant = format!("{meant} or {head} {last}/{bottom}{tail}");
    }
    heap.add(
        Fault::warning("W04", format!("{} is a fraction of more than one", length.text()))
            .at(place)
            .cure(format!("was {meant} meant?")),
    );
}

/// W05: a size that no part has. Nothing at all is a size too: no trim, no gap.
pub(super) fn bounds(heap: &Heap, key: &str, length: &Length, place: &Place) {
    let mm = length.mm();
    if mm == 0.0 || (USUAL.0..=USUAL.1).contains(&mm) {
        return;
    }
    heap.add(
        Fault::warning("W05", format!("`{key}` is {}, outside 0.05 mm to 3 m", length.text()))
            .at(place)
            .cure("look at the unit and the point"),
    );
}

/// W14: readings that differ much.
pub(super) fn readings(heap: &Heap, length: &Length, place: &Place) {
    let spread = length.spread();
    if spread > SPREAD + crate::geom::tolerance::SLACK {
        heap.add(
            Fault::warning(
                "W14",
                format!("these readings differ by {spread:.2} mm ({:.3} in)", spread / INCH),
            )
            .at(place)
            .cure("measure again; the mean is used"),
        );
    }
}

/// W39: a table that has a row for nearly every place of a part is meant to have one for each.
///
/// A table of a few odd places is none of that; three in four is where a list begins.
pub(super) fn missing(heap: &Heap, part: &Part, rows: &Rows) {
    let numbers = part.positions.numbers();
    let missing: Vec<u32> = numbers.iter().copied().filter(|n| !rows.contains_key(n)).collect();
    let Some(first) = rows.values().next().filter(|_| !missing.is_empty()) else {
        return;
    };
    if 4 * missing.len() > numbers.len() {
        return;
    }
    let file = &first.measures.place.file;
    heap.add(
        Fault::warning(
            "W39",
            format!(
                "{file} has {} of the {} places of {} and skips {}",
                numbers.len() - missing.len(),
                numbers.len(),
                part.name,
                runs(&missing)
            ),
        )
        .at(&Place::head(file))
        .cure("measure them too; a row with nothing but its position takes what the part says"),
    );
}

/// W03: values that stand out from their column, for every length of a part that has several positions.
pub(super) fn columns(heap: &Heap, part: &Part) {
    let mut columns: BTreeMap<&'static str, Vec<(u32, &Length, &Place)>> = BTreeMap::new();
    for (position, measures) in part.positions.numbers().into_iter().zip(&part.measures) {
        for (key, value, place) in measures.iter() {
            if let Value::Length(length) = value {
                columns.entry(key).or_default().push((position, length, place));
            }
        }
    }
    for (key, column) in columns {
        column_slips(heap, &part.name, key, &column);
    }
}

/// The usual size as it was typed; of several readings, their middle.
fn usual(column: &[(u32, &Length, &Place)], median: f64) -> String {
    let same = column.iter().find(|(_, length, _)| length.mm().total_cmp(&median).is_eq());
    match same.map(|(_, length, _)| length.text()) {
        Some(text) if text.len() <= 16 => text.to_owned(),
        _ => format!("{median:.2} mm"),
    }
}

/// W03 for one column of a part, or of a set of valves, of that name.
pub(super) fn column_slips(heap: &Heap, name: &str, key: &str, column: &[(u32, &Length, &Place)]) {
    let sizes: Vec<f64> = column.iter().map(|(_, length, _)| length.mm()).collect();
    let Some((median, stands)) = standing(&sizes) else { return };
    let mut told: Vec<&Place> = Vec::new();
    for ((position, length, place), stand) in column.iter().zip(stands) {
        let Some(stand) = stand.filter(|_| !told.contains(place)) else { continue };
        let text = length.text();
        let number = text.trim_end_matches(|c: char| !c.is_ascii_digit());
        let head = format!("{name}:{position}: `{key}` is {text}");
        let fault = match stand {
            Stand::Inches(ratio) => {
                Fault::warning("W03", format!("{head}, {ratio:.0} times the others"))
                    .cure(format!("did you mean {number} mm?"))
            }
            Stand::Millimetres(ratio) => Fault::warning(
                "W03",
                format!("{head}, the others are {:.0} times as much", 1.0 / ratio),
            )
            .cure(format!("did you mean {number} in?")),
            Stand::Off(ratio) => Fault::warning(
                "W03",
                format!(
                    "{head}, {:.0} % off the usual {}",
                    (ratio - 1.0).abs() * 100.0,
                    usual(column, median)
                ),
            )
            .cure("measure it again if this surprises you"),
        };
        told.push(place);
        heap.add(fault.at(place));
    }
}
