//! The figures of a part, taken by the list of keys that its kind gives: nothing here knows any kind.

use super::codes::{code_of, did_you_mean, quoted};
use super::desk::Desk;
use super::document::Heap;
use super::lengths::{How, read_cell};
use super::reader::{Item, Reader};
use super::words::check_path;
use super::{outlines, table};
use crate::fault::{Fault, Place};
use crate::geom::Point;
use crate::part::{Key, Kind, Measures, Takes, Value};
use crate::units::{Quality, Quantity, Unit};
use std::collections::BTreeSet;
use std::sync::Arc;
use toml::de::DeValue;

/// A count in a job goes no higher.
const MOST_COUNT: u32 = 100_000;
/// A line typed in the job has no more corners than this.
const MOST_CORNERS: usize = 2000;

/// What was taken: the figures, and every key that was written down, readable or not.
#[derive(Debug)]
pub(super) struct Taken {
    /// The figures.
    pub(super) measures: Measures,
    /// The keys; one that could not be read has its own fault and is not asked for again.
    pub(super) given: BTreeSet<&'static str>,
}

/// Takes every key that is there. What is needed and missing is looked at later, as a table may still give it.
pub(super) fn take(desk: &Desk<'_>, reader: &mut Reader<'_>, keys: &'static [Key]) -> Taken {
    let mut measures = Measures::new(reader.place.clone());
    let mut given = BTreeSet::new();
    for key in keys {
        let Some(item) = reader.take(key.name) else {
            if matches!(key.takes, Takes::Outline) {
                outlines::idle_unit(reader, key.name);
            }
            continue;
        };
        given.insert(key.name);
        let read = value(desk, reader, key, &item);
        // What is there and not readable must not seem to be missing.
        measures.set(key.name, read.unwrap_or(Value::Unread), item.place);
    }
    Taken { measures, given }
}

fn value(
    desk: &Desk<'_>,
    reader: &mut Reader<'_>,
    key: &'static Key,
    item: &Item<'_>,
) -> Option<Value> {
    match key.takes {
        Takes::Length if table_instead(reader, key, item) => None,
        Takes::Length => reader.readings_of(key.name, item, How::Size).map(|length| {
            super::slips::bounds(reader.heap, key.name, &length, &item.place);
            Value::Length(length)
        }),
        Takes::Signed => Some(Value::Length(reader.readings_of(key.name, item, How::Signed)?)),
        Takes::Count => {
            let (count, _) = reader.take_count(key.name, 0, MOST_COUNT)?;
            Some(Value::Count(count))
        }
        Takes::Word(words) => {
            if let DeValue::String(text) = item.value {
                return word(reader.heap, key.name, text, words, &item.place);
            }
            reader.wants(key.name, "a word in quotes", item, &example(key));
            None
        }
        Takes::Point => {
            let (x, y) = reader.point_of(key.name, item)?;
            Some(Value::Point(x, y))
        }
        Takes::Lengths => Some(Value::Lengths(reader.lengths_of(key.name, item, How::Signed)?)),
        Takes::Quantity(quality) => {
            if let DeValue::String(text) = item.value {
                return quantity(reader.heap, key, text, quality, &item.place);
            }
            reader.wants(key.name, quality.name(), item, &example(key));
            None
        }
        Takes::Corners => corners(reader, key, item).map(Value::Corners),
        Takes::Outline => {
            outlines::traced(desk, reader, key.name).map(|both| Value::Outline(Arc::new(both)))
        }
        Takes::Rows(keys) => {
            let (path, place) = reader.take_text(key.name)?;
            if !check_path(reader, &path, &place) {
                return None;
            }
            let text = desk.file(&path, &place).and_then(|bytes| desk.document(&path, bytes))?;
            Some(Value::Tables(table::read_list(&desk.heap, &text, keys, reader.unit)?.into()))
        }
        Takes::Tables(keys) => {
            let what = format!("this {}", key.name);
            let inner = reader.take_tables(key.name, &what);
            Some(Value::Tables(inner.into_iter().map(|inner| whole(desk, inner, keys)).collect()))
        }
    }
}

/// Tells of a table in the place of a length where the kind has a companion that is called after the length.
fn table_instead(reader: &Reader<'_>, key: &Key, item: &Item<'_>) -> bool {
    let kind = Kind::named(reader.what.trim_start_matches("this "));
    let (DeValue::Table(_), Some(kind)) = (item.value, kind) else { return false };
    let mut companions = kind.card().companions.iter();
    let after = |name: &str| name.split_once('-').is_some_and(|(head, _)| head == key.name);
    let Some(companion) = companions.find(|companion| after(companion.name)) else { return false };
    reader.fault(
        "E08",
        format!("`{}` is a length of a {kind}, and this is a table", key.name),
        &item.place,
        format!("the table is called [part.{}]", companion.name),
    );
    true
}

/// All of a table: its figures, what is missing, what is not known.
pub(super) fn whole(desk: &Desk<'_>, mut inner: Reader<'_>, keys: &'static [Key]) -> Measures {
    let taken = take(desk, &mut inner, keys);
    for key in keys.iter().filter(|k| k.needed && !taken.given.contains(k.name)) {
        inner.needs(key.name, key.about, &example(key));
    }
    inner.finish("key");
    taken.measures
}

fn quantity(heap: &Heap, key: &Key, text: &str, quality: Quality, place: &Place) -> Option<Value> {
    match Quantity::parse(text, quality) {
        Ok(quantity) => Some(Value::Quantity(quantity)),
        Err(fault) => {
            let cure = fault.cure().map_or_else(
                || format!("for example {} = {}", key.name, example(key)),
                str::to_owned,
            );
            heap.add(Fault::error(code_of(&fault), fault.text()).at(place).cure(cure));
            None
        }
    }
}

/// Corners of a closed line: x, y, and the bow of the side that follows where it is an arc.
fn corners(reader: &Reader<'_>, key: &Key, item: &Item<'_>) -> Option<Vec<(Point, f64)>> {
    let Some(items) = reader.list_of(item) else {
        reader.wants(key.name, "a list of corners", item, key.example);
        return None;
    };
    if items.len() > MOST_CORNERS {
        reader.fault(
            "E07",
            format!("{} corners are more than {MOST_CORNERS}", items.len()),
            &item.place,
            "draw it in a file and name that with `outline`",
        );
        return None;
    }
    let mut made = Vec::new();
    for item in &items {
        let list = reader.list_of(item).filter(|list| matches!(list.len(), 2 | 3));
        let Some(list) = list else {
            reader.wants(key.name, "corners as lists of x, y and a bow", item, key.example);
            return None;
        };
        let figures: Option<Vec<f64>> = list
            .iter()
            .map(|item| reader.readings_of(key.name, item, How::Signed).map(|length| length.mm()))
            .collect();
        let figures = figures?;
        made.push((Point::new(figures[0], figures[1]), figures.get(2).copied().unwrap_or(0.0)));
    }
    Some(made)
}

/// A key's example as a whole, quotes and all.
pub(super) fn example(key: &Key) -> String {
    match key.takes {
        Takes::Length
        | Takes::Signed
        | Takes::Word(_)
        | Takes::Quantity(_)
        | Takes::Outline
        | Takes::Rows(_) => format!("\"{}\"", key.example),
        _ => key.example.to_owned(),
    }
}

/// A cell of a table, read by its key.
pub(super) fn cell(
    heap: &Heap,
    key: &'static Key,
    text: &str,
    unit: Option<Unit>,
    place: &Place,
) -> Option<Value> {
    match key.takes {
        Takes::Signed => read_cell(heap, key, text, (unit, How::Signed), place).map(Value::Length),
        Takes::Length => read_cell(heap, key, text, (unit, How::Size), place).map(|length| {
            super::slips::bounds(heap, key.name, &length, place);
            Value::Length(length)
        }),
        Takes::Count => {
            let count = text.parse().ok().filter(|n| *n <= MOST_COUNT);
            if count.is_none() {
                heap.add(
                    Fault::error(
                        "E08",
                        format!(
                            "`{}` wants a whole number, and this is \"{}\"",
                            key.name,
                            quoted(text)
                        ),
                    )
                    .at(place)
                    .cure(format!("for example {}", key.example)),
                );
            }
            count.map(Value::Count)
        }
        Takes::Word(words) => word(heap, key.name, text, words, place),
        // Columns of these sorts are refused at the head of the table.
        Takes::Quantity(quality) => quantity(heap, key, text, quality, place),
        Takes::Point
        | Takes::Lengths
        | Takes::Corners
        | Takes::Outline
        | Takes::Rows(_)
        | Takes::Tables(_) => None,
    }
}

fn word(
    heap: &Heap,
    key: &str,
    text: &str,
    words: &'static [&'static str],
    place: &Place,
) -> Option<Value> {
    let low = text.trim().to_lowercase();
    let found = words.iter().find(|word| **word == low);
    if found.is_none() {
        heap.add(
            Fault::error("E09", format!("`{key}` can't be \"{}\"", quoted(text)))
                .at(place)
                .cure(did_you_mean(text, words, "it takes")),
        );
    }
    found.map(|word| Value::Word(word))
}
