//! Answers to a safety list, and the safety record, read from their TOML texts.

use super::document::{Document, Heap, kept};
use super::reader::{Reader, walk};
use crate::fault::{Fault, Place, Sources, any_error};
use crate::safety::record::{Answers, Bound, FORM, Given, Record};
use crate::units::Day;
use std::collections::BTreeMap;
use toml::de::DeValue;

/// Reads a file of answers; `shown` is what it is called in messages.
///
/// # Errors
/// Whatever is wrong with the text; what is wrong with the answers shows when they are looked at.
pub fn read_answers(
    shown: &str,
    bytes: &[u8],
    sources: &mut Sources,
) -> Result<Answers, Vec<Fault>> {
    read(shown, bytes, sources, "a file of answers", |mut top| {
        let machine = top.need_text("machine", "the one that they are for", "\"my-laser\"");
        let person = top.need_text("person", "who runs it", "\"your name\"");
        let place = top.place.clone();
        top.needs_table(
            "[answers]",
            "an answer an item",
            "write [answers] with the items below it",
        );
        let table = top.take_table("answers", "these answers");
        top.finish("key");
        let given = |(text, place): (String, Place)| Given { text, place: Some(place) };
        Some(Answers {
            machine: given(machine?),
            person: given(person?),
            given: texts(table?)
                .into_iter()
                .map(|(key, (text, place))| (key, Given { text, place: Some(place) }))
                .collect(),
            place: Some(place),
        })
    })
}

/// Reads a safety record.
///
/// # Errors
/// Whatever is wrong with the text.
pub fn read_safety_record(
    shown: &str,
    bytes: &[u8],
    sources: &mut Sources,
) -> Result<Record, Vec<Fault>> {
    read(shown, bytes, sources, "a safety record", |mut top| {
        let form = top.take_count("form", FORM, FORM);
        let mut text = |key| top.need_text(key, "it is in every record", "\"…\"").map(|(t, _)| t);
        let (seal, lay, machine) = (text("seal"), text("lay"), text("machine"));
        let (person, day, motions) = (text("person"), text("day"), text("motions"));
        let (machine_record, list) = (text("machine-record"), text("list"));
        let plain = |table: Option<Reader<'_>>| -> Option<BTreeMap<String, String>> {
            Some(texts(table?).into_iter().map(|(key, (text, _))| (key, text)).collect())
        };
        let materials = plain(top.take_table("materials", "these materials"));
        let answers = plain(top.take_table("answers", "these answers"));
        top.finish("key");
        form?;
        let bound = Bound {
            lay: lay?,
            machine: machine?,
            machine_record: machine_record?,
            materials: materials?,
            motions: motions?,
            list: list?,
            day: Day::parse(&day?)?,
        };
        Some(Record { bound, person: person?, answers: answers?, seal: seal? })
    })
}

/// Every key of a table with its text.
fn texts(mut table: Reader<'_>) -> BTreeMap<String, (String, Place)> {
    let mut all = BTreeMap::new();
    for (key, _, item) in table.take_all() {
        match item.value {
            DeValue::String(text) => {
                all.insert(key, (text.trim().to_owned(), item.place));
            }
            _ => table.wants(&key, "a text in quotes", &item, "\"…\""),
        }
    }
    all
}

fn read<T>(
    shown: &str,
    bytes: &[u8],
    sources: &mut Sources,
    what: &str,
    take: impl FnOnce(Reader<'_>) -> Option<T>,
) -> Result<T, Vec<Fault>> {
    let (file, text) = kept(shown, bytes, sources)?;
    let document = Document::new(&file, &text);
    let heap = Heap::default();
    let mut taken = None;
    walk(&document, &heap, what, |top| taken = take(top));
    let faults = heap.finish();
    match taken {
        Some(taken) if !any_error(&faults) => Ok(taken),
        _ if faults.is_empty() => Err(vec![
            Fault::error("E12", format!("{shown} lacks something that {what} has"))
                .at(&Place::head(&file)),
        ]),
        _ => Err(faults),
    }
}
