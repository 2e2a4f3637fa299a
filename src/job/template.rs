//! An empty table to fill at the bench, and cells that are safe in a spreadsheet.

use super::desk::Desk;
use super::table::column_keys;
use super::{Gathered, Shelf, gather};
use crate::fault::{Fault, Place, Sources};
use crate::part::{Part, TRAVEL_KEYS, Takes};
use crate::units::Unit;
use std::sync::Arc;

/// The table of a part: a row a position, blank cells for the lengths of its kind. A blank cell takes what the part
/// says, so only what differs need be filled in.
///
/// `unit` is put into the heads of the columns; without one every cell carries its own.
pub fn template_table(part: &Part, unit: Option<Unit>) -> String {
    let lengths: Vec<&str> = column_keys(part.kind)
        .filter(|key| matches!(key.takes, Takes::Length))
        .map(|key| key.name)
        .collect();
    blank(&format!("{}, a {}", part.name, part.kind), &lengths, &part.positions.numbers(), unit)
}

/// A row a position, nothing filled in.
fn blank(what: &str, lengths: &[&str], numbers: &[u32], unit: Option<Unit>) -> String {
    let mut head = vec!["position".to_owned()];
    head.extend(lengths.iter().map(|name| match unit {
        Some(unit) => format!("{name} ({unit})"),
        None => (*name).to_owned(),
    }));
    head.push("note".to_owned());
    let mut text = format!("# {what}: a blank cell takes what the job file says\n");
    text.push_str(&head.join(","));
    text.push('\n');
    let blank = ",".repeat(head.len() - 1);
    for number in numbers {
        text.push_str(&number.to_string());
        text.push_str(&blank);
        text.push('\n');
    }
    text
}

/// The empty table of a part of the job, by its name. Its own table need not be there yet, and other faults of the
/// job do not matter here.
///
/// # Errors
/// All faults of the job, where the part cannot be found in it.
pub fn template_for(
    shelf: &dyn Shelf,
    sources: &mut Sources,
    name: &str,
) -> Result<String, Vec<Fault>> {
    let desk = Desk::new(shelf, sources);
    let gathered = gather(&desk, false);
    if let Some(Gathered { job, units, sets, .. }) = &gathered {
        if let Some((name, numbers, unit)) = sets.iter().find(|(set, ..)| set == name) {
            let keys: Vec<&str> = TRAVEL_KEYS.iter().map(|key| key.name).collect();
            return Ok(blank(&format!("{name}, the travel of valves"), &keys, numbers, *unit));
        }
        let found = job.parts.iter().zip(units).find(|(part, _)| part.name == name);
        if let Some((part, unit)) = found {
            return Ok(template_table(part, *unit));
        }
        let mut known: Vec<&str> =
            job.parts.iter().map(|part| part.name.as_str()).filter(|n| !n.is_empty()).collect();
        known.dedup();
        known.extend(sets.iter().map(|(set, ..)| set.as_str()));
        desk.heap.add(
            Fault::error(
                "E15",
                format!("there is no part called \"{}\"", super::codes::quoted(name)),
            )
            .at(&Place::head(&Arc::from(super::JOB_FILE)))
            .cure(super::codes::did_you_mean(name, &known, "there are")),
        );
    }
    Err(desk.finish())
}

/// A text as a cell of a comma-separated table: in quotes where it must be, and behind a `'` where a spreadsheet
/// would take it for a sum. The reader takes both off again.
///
/// # Source
/// Quotes: RFC 4180, section 2. The guard: CWE-1236.
pub fn cell(text: &str) -> String {
    let guard = match text.trim_start().chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r' | '\0') => "'",
        _ => "",
    };
    if text.contains([',', ';', '\t', '"', '\n', '\r']) || text.starts_with(['#', ' ']) {
        format!("\"{guard}{}\"", text.replace('"', "\"\""))
    } else {
        format!("{guard}{text}")
    }
}
