//! The figures of a part, taken by the list of keys that its kind gives: nothing here knows any kind.

use super::codes::{did_you_mean, quoted};
use super::document::Heap;
use super::lengths::{How, read_length};
use super::reader::{Item, Reader};
use crate::fault::{Fault, Place};
use crate::part::{Key, Measures, Takes, Value};
use crate::units::Unit;
use std::collections::BTreeSet;
use toml::de::DeValue;

/// A count in a job goes no higher.
const MOST_COUNT: u32 = 100_000;

/// What was taken: the figures, and every key that was written down, readable or not.
#[derive(Debug)]
pub(super) struct Taken {
    /// The figures.
    pub(super) measures: Measures,
    /// The keys; one that could not be read has its own fault and is not asked for again.
    pub(super) given: BTreeSet<&'static str>,
}

/// Takes every key that is there. What is needed and missing is looked at later, as a table may still give it.
pub(super) fn take(reader: &mut Reader<'_>, keys: &'static [Key]) -> Taken {
    let mut measures = Measures::new(reader.place.clone());
    let mut given = BTreeSet::new();
    for key in keys {
        let Some(item) = reader.take(key.name) else {
            continue;
        };
        given.insert(key.name);
        if let Some(value) = value(reader, key, &item) {
            measures.set(key.name, value, item.place);
        }
    }
    Taken { measures, given }
}

fn value(reader: &mut Reader<'_>, key: &'static Key, item: &Item<'_>) -> Option<Value> {
    match key.takes {
        Takes::Length => reader.readings_of(key.name, item, How::Size).map(|length| {
            super::slips::bounds(reader.heap, key.name, &length, &item.place);
            Value::Length(length)
        }),
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
        Takes::Tables(keys) => {
            let what = format!("this {}", key.name);
            let inner = reader.take_tables(key.name, &what);
            Some(Value::Tables(
                inner
                    .into_iter()
                    .map(|mut inner| {
                        let taken = take(&mut inner, keys);
                        for key in keys.iter().filter(|k| k.needed && !taken.given.contains(k.name))
                        {
                            inner.needs(key.name, key.about, &example(key));
                        }
                        inner.finish("key");
                        taken.measures
                    })
                    .collect(),
            ))
        }
    }
}

/// A key's example as a whole, quotes and all.
pub(super) fn example(key: &Key) -> String {
    match key.takes {
        Takes::Length | Takes::Word(_) => format!("\"{}\"", key.example),
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
        Takes::Length => read_length(heap, text, unit, How::Size, place).map(|length| {
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
        Takes::Point | Takes::Lengths | Takes::Tables(_) => None,
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
