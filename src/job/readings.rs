//! The table of a coupon: written empty, read when it has been filled in.

use super::document::{Document, Heap, kept};
use super::rows::{separator, spans};
use super::table::read_list;
use crate::coupon::{Asked, Axis, Blank, Feature, Filled, Reading, Spot, asked};
use crate::fault::{Fault, Place, Sources, any_error};
use crate::part::{Key, Measures, Takes};
use std::fmt::Write;

const fn length(name: &'static str, about: &'static str, example: &'static str) -> Key {
    Key { name, takes: Takes::Length, needed: false, about, example }
}

/// The columns.
const KEYS: &[Key] = &[
    Key {
        name: "number",
        takes: Takes::Count,
        needed: true,
        about: "of the piece, as in the picture",
        example: "3",
    },
    Key {
        name: "feature",
        takes: Takes::Word(Feature::NAMES),
        needed: true,
        about: "what of it",
        example: "outside",
    },
    length("drawn-x", "as it was drawn", "20 mm"),
    length("drawn-y", "as it was drawn", "16 mm"),
    Key { needed: true, ..length("measured-x", "along the machine's x", "19.85 mm") },
    Key { needed: true, ..length("measured-y", "along the machine's y", "15.85 mm") },
];

const fn column(axis: Axis) -> (&'static str, &'static str) {
    match axis {
        Axis::X => ("drawn-x", "measured-x"),
        Axis::Y => ("drawn-y", "measured-y"),
    }
}

/// The empty table of a coupon, a row a thing to be measured; `about` says what coupon it is.
///
/// # Units
/// Millimetres, as the heads of its columns say; a cell may have its own unit.
pub fn readings_table(about: &str) -> String {
    let mut text = format!("# {about}\n");
    text.push_str(
        "# Along x is the long side of a plate. A piece that was spoilt is left blank.\n\
         # strips: all ten side by side, across their narrow sides, not pressed.\n\
         number,feature,drawn-x (mm),drawn-y (mm),measured-x (mm),measured-y (mm),note\n",
    );
    let cell = |drawn: Option<f64>| drawn.map_or(String::new(), |mm| mm.to_string());
    for Asked { number, feature, x, y } in asked() {
        let _ = writeln!(text, "{number},{},{},{},,,", feature.name(), cell(x), cell(y));
    }
    text
}

/// Reads a table that was filled in; `shown` is what it is called in messages.
///
/// # Errors
/// Whatever is wrong with the table; what is wrong with the readings shows when they are judged.
pub fn read_readings(
    shown: &str,
    bytes: &[u8],
    sources: &mut Sources,
) -> Result<(Filled, Vec<Fault>), Vec<Fault>> {
    let (file, text) = kept(shown, bytes, sources)?;
    let document = Document::new(&file, &text);
    let heap = Heap::default();
    // Blank cells are what the table is made with; they are looked at below.
    let rows = read_rows(&heap, &document);
    let filled = rows.map(|rows| gather(&heap, &document, &rows));
    let faults = heap.finish();
    match filled {
        Some(filled) if !any_error(&faults) => Ok((filled, faults)),
        _ => Err(faults),
    }
}

/// The rows, after a look whether all columns are there.
fn read_rows(heap: &Heap, document: &Document) -> Option<Vec<Measures>> {
    let own = Heap::default();
    let rows = read_list(&own, document, KEYS, None);
    for fault in own.finish() {
        let is_blank = fault.code == "E12" && fault.text.starts_with("this row has no `measured-");
        if !is_blank {
            heap.add(fault);
        }
    }
    rows
}

fn gather(heap: &Heap, document: &Document, rows: &[Measures]) -> Filled {
    let mut filled = Filled {
        readings: Vec::new(),
        drawn: Vec::new(),
        blanks: Vec::new(),
        head: head(document),
    };
    let mut seen: Vec<(u32, Feature, &Place)> = Vec::new();
    for row in rows {
        let feature = row.word("feature").and_then(Feature::named);
        let (Some(number), Some(feature)) = (row.count("number"), feature) else { continue };
        if !asked().iter().any(|a| a.number == number && a.feature == feature) {
            let text = format!("the coupon has no {} at number {number}", feature.name());
            heap.add(
                Fault::error("E23", text)
                    .at(row.place_of("number"))
                    .cure("the picture shows the numbers; rows are as the table was made"),
            );
            continue;
        }
        if let Some((.., first)) = seen.iter().find(|(n, f, _)| (*n, *f) == (number, feature)) {
            let text = format!("{} of number {number} is given twice", feature.name());
            heap.add(
                Fault::error("E24", text)
                    .at(row.place_of("number"))
                    .mark(first, "first here")
                    .cure("delete one row; of several readings give the mean"),
            );
            continue;
        }
        seen.push((number, feature, row.place_of("number")));
        take(document, row, (number, feature), &mut filled);
    }
    for Asked { number, feature, x, y } in asked() {
        if !seen.iter().any(|(n, f, _)| (*n, *f) == (number, feature)) {
            let wanted = [(Axis::X, x), (Axis::Y, y)].into_iter().filter(|(_, d)| d.is_some());
            filled.blanks.extend(wanted.map(|(axis, _)| Blank {
                spot: Spot { number, feature, axis },
                place: filled.head.clone(),
            }));
        }
    }
    filled
}

/// The figures of one row.
fn take(document: &Document, row: &Measures, (number, feature): (u32, Feature), to: &mut Filled) {
    for axis in Axis::BOTH {
        let spot = Spot { number, feature, axis };
        let (drawn, measured) = column(axis);
        let reading = |key: &str| {
            let length = row.length(key)?;
            let (mm, written) = (length.mm(), length.text().to_owned());
            Some(Reading { spot, mm, written, place: row.place_of(key).clone() })
        };
        to.drawn.extend(reading(drawn));
        match reading(measured) {
            Some(reading) => to.readings.push(reading),
            None if crate::coupon::drawn(spot).is_some() && !row.has(measured) => {
                to.blanks.push(Blank { spot, place: cell(document, row, measured) });
            }
            None => {}
        }
    }
}

/// The row that names the columns.
pub(super) fn head(document: &Document) -> Place {
    let (start, cells) = spans(&document.text, 0, separator(&document.text));
    document.place(start..cells.last().map_or(start, |cell| cell.end))
}

/// The place of a cell that is empty; that of its row where the row ends before it.
fn cell(document: &Document, row: &Measures, column: &str) -> Place {
    let separator = separator(&document.text);
    let (_, heads) = spans(&document.text, 0, separator);
    let is_it = |span: &std::ops::Range<usize>| {
        let name = document.text.get(span.clone()).unwrap_or_default().trim_matches(['"', ' ']);
        name.to_lowercase().replace([' ', '_'], "-").starts_with(column)
    };
    let (_, cells) = spans(&document.text, row.place.span.start, separator);
    let at = heads.iter().position(is_it).and_then(|n| cells.get(n).cloned());
    at.map_or_else(|| row.place.clone(), |span| document.place(span))
}
