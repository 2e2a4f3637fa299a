//! Tables of measures: a row a position, as a spreadsheet saves them.
//!
//! The separator is found by itself (comma, semicolon or tab). A decimal comma is refused cell by cell; nothing is
//! ever turned into another number on its way in.

use super::codes::{meant, quoted};
use super::document::{Document, Heap};
use super::figures::{self, Taken};
use super::rows::{Row, separator, split};
use super::words::runs;
use crate::fault::{Fault, Place};
use crate::part::{Key, Kind, Measures, Positions, Takes};
use crate::units::Unit;
use std::collections::{BTreeMap, BTreeSet};

/// A table of holes has no more rows than this.
const MOST_ROWS: usize = 5000;

/// What a table gives for each position.
pub(super) type Rows = BTreeMap<u32, Taken>;

/// What a table may hold.
struct Scheme {
    /// What it is a table of, as messages call it.
    what: String,
    keys: &'static [Key],
    /// Whether each row belongs to a position.
    positioned: bool,
}

impl Scheme {
    fn names(&self) -> Vec<&'static str> {
        columns_of(self.keys).map(|key| key.name).chain(["note"]).collect()
    }
}

/// What a column holds.
enum Column {
    Position,
    Note,
    Measure(&'static Key, Option<Unit>),
    Unknown(String),
}

/// Reads a table of a kind for the positions of a part; nothing where its head cannot be read.
pub(super) fn read(
    heap: &Heap,
    text: &Document,
    kind: Kind,
    positions: Option<&Positions>,
    unit: Option<Unit>,
) -> Option<Rows> {
    read_keys(heap, text, (&format!("a {kind}"), kind.card().keys), positions, unit)
}

/// The same for anything that has places and measures: what it is called, and its keys.
pub(super) fn read_keys(
    heap: &Heap,
    text: &Document,
    (what, keys): (&str, &'static [Key]),
    positions: Option<&Positions>,
    unit: Option<Unit>,
) -> Option<Rows> {
    let separator = separator(&text.text);
    let mut rows = split(heap, text, separator)?.into_iter();
    let Some(head) = rows.next() else {
        heap.add(
            Fault::warning("W07", format!("{} is empty", text.file))
                .at(&text.head())
                .cure("its first row names the columns, the others hold a position each"),
        );
        return Some(Rows::new());
    };
    let scheme = Scheme { what: what.to_owned(), keys, positioned: true };
    let columns = columns(heap, text, &scheme, &head, unit);
    if !columns.iter().any(|c| matches!(c, Column::Position)) {
        heap.add(
            Fault::error("E12", "this table needs a column `position`")
                .at(&text.place(head.span))
                .cure(format!(
                    "its first row reads position, then any of: {}",
                    scheme.names().join(", ")
                )),
        );
        return None;
    }
    first_column(heap, text, &columns);
    let numbers = positions.map(Positions::numbers);
    let mut made = Rows::new();
    let mut seen: BTreeMap<u32, Place> = BTreeMap::new();
    for row in rows {
        if row.cells.iter().all(|(cell, _)| cell.trim().is_empty()) {
            continue;
        }
        let broken = too_many(heap, text, &columns, &row);
        let number = position(heap, text, &columns, &row, numbers.as_deref(), &mut seen);
        let taken = if broken {
            // Its cells stand under the wrong heads.
            let given = columns_of(keys).map(|key| key.name).collect();
            Taken { measures: Measures::new(text.place(row.span.clone())), given }
        } else {
            measures(heap, text, &columns, &row)
        };
        if let Some(number) = number {
            made.insert(number, taken);
        }
    }
    if seen.is_empty() {
        heap.add(
            Fault::warning("W07", format!("{} has no rows", text.file)).at(&text.head()).cure(
                "every position takes what the part says; leave `table` out if that is meant",
            ),
        );
    }
    Some(made)
}

/// Keys of a kind that a table may have as columns.
pub(super) fn column_keys(kind: Kind) -> impl Iterator<Item = &'static Key> {
    columns_of(kind.card().keys)
}

fn columns_of(keys: &'static [Key]) -> impl Iterator<Item = &'static Key> {
    keys.iter().filter(|key| {
        matches!(
            key.takes,
            Takes::Length | Takes::Signed | Takes::Count | Takes::Word(_) | Takes::Quantity(_)
        )
    })
}

/// Reads a table whose rows belong to no position, such as a list of holes; blank rows are passed over.
pub(super) fn read_list(
    heap: &Heap,
    text: &Document,
    keys: &'static [Key],
    unit: Option<Unit>,
) -> Option<Vec<Measures>> {
    let separator = separator(&text.text);
    let mut rows = split(heap, text, separator)?.into_iter();
    let scheme = Scheme { what: "this table".to_owned(), keys, positioned: false };
    let Some(head) = rows.next() else {
        heap.add(
            Fault::error("E12", format!("{} is empty", text.file))
                .at(&text.head())
                .cure(format!("its first row names the columns: {}", scheme.names().join(", "))),
        );
        return None;
    };
    let columns = columns(heap, text, &scheme, &head, unit);
    let has = |key: &Key| {
        columns.iter().any(|c| matches!(c, Column::Measure(k, _) if k.name == key.name))
    };
    if let Some(key) = keys.iter().find(|key| key.needed && !has(key)) {
        heap.add(
            Fault::error(
                "E12",
                format!("this table needs a column `{}` ({})", key.name, key.about),
            )
            .at(&text.place(head.span.clone()))
            .cure(format!("its first row reads {}", scheme.names().join(", "))),
        );
        return None;
    }
    let mut made = Vec::new();
    for row in rows {
        if row.cells.iter().all(|(cell, _)| cell.trim().is_empty())
            || too_many(heap, text, &columns, &row)
        {
            continue;
        }
        if made.len() == MOST_ROWS {
            heap.add(
                Fault::error("E07", format!("more than {MOST_ROWS} rows"))
                    .at(&text.place(row.span))
                    .cure("no plate has so many holes"),
            );
            return None;
        }
        let taken = measures(heap, text, &columns, &row);
        for key in keys.iter().filter(|key| key.needed && !taken.given.contains(key.name)) {
            heap.add(
                Fault::error("E12", format!("this row has no `{}` ({})", key.name, key.about))
                    .at(&text.place(row.span.clone()))
                    .cure(format!("for example {}", key.example)),
            );
        }
        made.push(taken.measures);
    }
    Some(made)
}

fn columns(
    heap: &Heap,
    text: &Document,
    scheme: &Scheme,
    head: &Row,
    unit: Option<Unit>,
) -> Vec<Column> {
    let mut seen = BTreeSet::new();
    head.cells
        .iter()
        .map(|(cell, span)| {
            let place = text.place(span.clone());
            let column = column(heap, scheme, cell, unit, &place);
            let name = match &column {
                Column::Position => "position",
                Column::Note => "note",
                Column::Measure(key, _) => key.name,
                Column::Unknown(_) => return column,
            };
            if !seen.insert(name) {
                heap.add(
                    Fault::error("E25", format!("two columns are called `{name}`"))
                        .at(&place)
                        .cure("delete one of them"),
                );
                return Column::Unknown(String::new());
            }
            column
        })
        .collect()
}

fn column(heap: &Heap, scheme: &Scheme, cell: &str, unit: Option<Unit>, place: &Place) -> Column {
    let cell = cell.trim();
    let (name, bracket) = match cell.split_once(['(', '[']) {
        Some((name, rest)) => (name.trim(), Some(rest.trim_end_matches([')', ']']).trim())),
        None => (cell, None),
    };
    let low = name.to_lowercase().replace([' ', '_'], "-");
    match (low.as_str(), bracket) {
        ("position", None) if scheme.positioned => return Column::Position,
        ("note", None) => return Column::Note,
        ("", None) => return Column::Unknown(String::new()),
        _ => {}
    }
    let Some(key) = columns_of(scheme.keys).find(|key| key.name == low) else {
        let first = scheme.positioned.then_some("position");
        let known: Vec<&str> = first.into_iter().chain(scheme.names()).collect();
        let other = scheme.keys.iter().any(|key| key.name == low);
        let text = if other {
            format!("`{low}` can't stand in a table")
        } else {
            format!("{} has no column \"{}\"", scheme.what, quoted(cell))
        };
        let cure = match meant(name, &known) {
            _ if other => "write it in the job file".to_owned(),
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("columns: {}", known.join(", ")),
        };
        heap.add(Fault::error("E25", text).at(place).cure(cure));
        return Column::Unknown(name.to_owned());
    };
    let own = bracket.and_then(Unit::parse_name);
    let takes_unit = matches!(key.takes, Takes::Length | Takes::Signed);
    if let (Some(word), true) = (bracket, own.is_none() || !takes_unit) {
        heap.add(
            Fault::error("E16", format!("`{}` can't be in \"{}\"", key.name, quoted(word)))
                .at(place)
                .cure(if takes_unit {
                    "use in, ft, yd, thou, mm, cm or m"
                } else {
                    "leave the bracket out: this is not a length"
                }),
        );
    }
    Column::Measure(key, own.or(unit))
}

/// A line that begins with # is a note, so a first column must not hold drills: `#60 drill` would be passed over.
fn first_column(heap: &Heap, text: &Document, columns: &[Column]) {
    if matches!(columns.first(), Some(Column::Position)) {
        return;
    }
    let mut at = 0;
    for line in text.text.split_inclusive('\n') {
        let drill = line
            .strip_prefix('#')
            .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
        if drill {
            heap.add(
                Fault::error(
                    "E25",
                    "a line that begins with # is a note, and this one looks like a drill",
                )
                .at(&text.place(at..at + line.trim_end().len()))
                .cure("put the column `position` first"),
            );
        }
        at += line.len();
    }
}

/// Reports a row with more cells than the table has columns.
fn too_many(heap: &Heap, text: &Document, columns: &[Column], row: &Row) -> bool {
    // A blank cell too many counts as well: 29,5 mm and a comma at the end make one.
    let Some((cell, span)) = row.cells.get(columns.len()) else {
        return false;
    };
    let digit = cell.trim().is_empty() || cell.trim().starts_with(|c: char| c.is_ascii_digit());
    heap.add(
        Fault::error(
            if digit { "E17" } else { "E25" },
            format!(
                "this row has {} cells, and the table {} columns",
                row.cells.len(),
                columns.len()
            ),
        )
        .at(&text.place(span.clone()))
        .cure("a comma inside a number or a note? write 1.25, and put notes in quotes"),
    );
    true
}

fn position(
    heap: &Heap,
    text: &Document,
    columns: &[Column],
    row: &Row,
    numbers: Option<&[u32]>,
    seen: &mut BTreeMap<u32, Place>,
) -> Option<u32> {
    let at = columns.iter().position(|c| matches!(c, Column::Position))?;
    let Some((cell, span)) = row.cells.get(at).filter(|(cell, _)| !cell.trim().is_empty()) else {
        heap.add(
            Fault::error("E23", "this row has no position")
                .at(&text.place(row.span.clone()))
                .cure("write the number of its place"),
        );
        return None;
    };
    let place = text.place(span.clone());
    let cell = cell.trim();
    let of = |numbers: &[u32]| format!("positions of this part are {}", runs(numbers));
    let plain = !cell.is_empty() && cell.bytes().all(|b| b.is_ascii_digit());
    let number = plain.then(|| cell.parse::<u32>().ok()).flatten();
    let Some(number) = number else {
        let cure = numbers.map_or_else(|| "write a whole number".to_owned(), of);
        heap.add(
            Fault::error("E23", format!("\"{}\" is not a position", quoted(cell)))
                .at(&place)
                .cure(cure),
        );
        return None;
    };
    if let Some(first) = seen.get(&number) {
        heap.add(
            Fault::error("E24", format!("position {number} is given twice"))
                .at(&place)
                .mark(first, "first here")
                .cure("delete one row; if two parts share the position, make two parts in the job file"),
        );
        return None;
    }
    seen.insert(number, place.clone());
    let numbers = numbers?;
    if numbers.binary_search(&number).is_err() {
        heap.add(
            Fault::error("E23", format!("position {number} is not one of this part's"))
                .at(&place)
                .cure(of(numbers)),
        );
        return None;
    }
    Some(number)
}

fn measures(heap: &Heap, text: &Document, columns: &[Column], row: &Row) -> Taken {
    let mut taken =
        Taken { measures: Measures::new(text.place(row.span.clone())), given: BTreeSet::new() };
    for (column, (cell, span)) in columns.iter().zip(&row.cells) {
        let cell = cell.trim();
        if cell.is_empty() {
            continue;
        }
        let place = text.place(span.clone());
        match column {
            Column::Position | Column::Note => {}
            Column::Measure(key, unit) => {
                taken.given.insert(key.name);
                if let Some(value) = figures::cell(heap, key, cell, *unit, &place) {
                    taken.measures.set(key.name, value, place);
                }
            }
            // A column with a name has been reported at its head.
            Column::Unknown(name) if !name.is_empty() => {}
            Column::Unknown(_) => heap.add(
                Fault::error(
                    "E25",
                    format!("\"{}\" stands in a column without a name", quoted(cell)),
                )
                .at(&place)
                .cure("name the column in the first row, or call it `note`"),
            ),
        }
    }
    taken
}
