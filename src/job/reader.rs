//! Walks one table of a TOML text: takes what it knows, and in the end reports what is left over.

use super::codes::{did_you_mean, one_of_many, quoted};
use super::document::{Document, Heap, syntax, too_deep};
use crate::fault::{Fault, Place};
use crate::units::Unit;
use std::collections::BTreeSet;
use toml::de::{DeTable, DeValue};

/// So many keys are told one by one.
const MOST_TOLD: usize = 12;
/// Brackets within brackets may go so deep.
const DEEPEST: usize = 64;

/// A value with its place.
#[derive(Debug, Clone)]
pub(super) struct Item<'a> {
    /// The value.
    pub(super) value: &'a DeValue<'a>,
    /// Where it stands.
    pub(super) place: Place,
}

/// One table being read.
#[derive(Debug)]
pub(super) struct Reader<'a> {
    /// The text it stands in.
    pub(super) document: &'a Document,
    /// Where faults go.
    pub(super) heap: &'a Heap,
    /// What it is called in messages: `this part`, `a pouch`.
    pub(super) what: String,
    /// Where it begins.
    pub(super) place: Place,
    /// For numbers written without a unit.
    pub(super) unit: Option<Unit>,
    table: &'a DeTable<'a>,
    taken: BTreeSet<&'static str>,
}

/// Parses a whole text and hands its top table to `walk`.
///
/// Nothing is walked where a header cannot be read: what stands below it would be told of wrongly.
pub(super) fn walk(
    document: &Document,
    heap: &Heap,
    what: &str,
    walk: impl FnOnce(Reader<'_>),
) -> bool {
    let (table, faults) = DeTable::parse_recoverable(&document.text);
    let mut sound = syntax(document, &faults, heap);
    for value in table.get_ref().values() {
        if deep(value.get_ref()) > DEEPEST {
            heap.add(too_deep(&document.place(value.span())));
            sound = false;
        }
    }
    if sound {
        walk(Reader {
            document,
            heap,
            what: what.to_owned(),
            place: document.head(),
            unit: None,
            table: table.get_ref(),
            taken: BTreeSet::new(),
        });
    }
    sound
}

/// How deep brackets stand in one another. The parser itself goes no deeper than 80, so this ends.
fn deep(value: &DeValue<'_>) -> usize {
    match value {
        DeValue::Array(list) => 1 + list.iter().map(|v| deep(v.get_ref())).max().unwrap_or(0),
        DeValue::Table(table) => 1 + table.values().map(|v| deep(v.get_ref())).max().unwrap_or(0),
        _ => 0,
    }
}

impl<'a> Reader<'a> {
    /// Reports a fault at a place.
    pub(super) fn fault(
        &self,
        code: &'static str,
        text: String,
        place: &Place,
        cure: impl Into<String>,
    ) {
        self.heap.add(Fault::error(code, text).at(place).cure(cure));
    }

    /// The value of a key, which counts as known from now on.
    pub(super) fn take(&mut self, key: &'static str) -> Option<Item<'a>> {
        self.taken.insert(key);
        self.table
            .get(key)
            .map(|value| Item { place: self.document.place(value.span()), value: value.get_ref() })
    }

    /// Whether a key is written down, readable or not.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Reads the table's own `unit`, which holds for it and the tables in it.
    pub(super) fn take_unit(&mut self) {
        let Some((name, place)) = self.take_text("unit") else {
            return;
        };
        match Unit::parse_name(&name) {
            Some(unit) => self.unit = Some(unit),
            None => self.fault(
                "E16",
                format!("\"{}\" is not a unit used here", quoted(&name)),
                &place,
                "use in, ft, yd, thou, mm, cm or m",
            ),
        }
    }

    /// Reports that a value is of the wrong sort.
    pub(super) fn wants(&self, key: &str, wanted: &str, item: &Item<'_>, example: &str) {
        self.fault(
            "E08",
            format!("`{key}` wants {wanted}, and this is {}", sort_of(item.value)),
            &item.place,
            format!("for example {key} = {example}"),
        );
    }

    /// Reports that a key is missing.
    ///
    /// Nothing is said where some line with that key could not be read: it has its own fault.
    pub(super) fn needs(&self, key: &str, about: &str, example: &str) {
        if self.heap.has_lost(&self.document.file, key) {
            return;
        }
        self.fault(
            "E12",
            format!("{} needs `{key}` ({about})", self.what),
            &self.place,
            format!("for example {key} = {example}"),
        );
    }

    /// Reports that a table is missing.
    pub(super) fn needs_table(&self, key: &str, about: &str, cure: &str) {
        if !self.has(key.trim_matches(['[', ']'])) {
            self.fault("E12", format!("{} needs {key}, {about}", self.what), &self.place, cure);
        }
    }

    /// A text.
    pub(super) fn take_text(&mut self, key: &'static str) -> Option<(String, Place)> {
        let item = self.take(key)?;
        if let DeValue::String(text) = item.value {
            return Some((text.trim().to_owned(), item.place));
        }
        self.wants(key, "a text in quotes", &item, "\"…\"");
        None
    }

    /// A text that must be there and not be empty.
    pub(super) fn need_text(
        &mut self,
        key: &'static str,
        about: &str,
        example: &str,
    ) -> Option<(String, Place)> {
        if !self.has(key) {
            self.take(key);
            self.needs(key, about, example);
            return None;
        }
        let (text, place) = self.take_text(key)?;
        if text.is_empty() {
            self.fault(
                "E12",
                format!("`{key}` ({about}) is empty"),
                &place,
                format!("for example {key} = {example}"),
            );
            return None;
        }
        Some((text, place))
    }

    /// One word out of a list.
    pub(super) fn take_word<T: Copy>(
        &mut self,
        key: &'static str,
        names: &[(&str, T)],
    ) -> Option<(T, Place)> {
        let (word, place) = self.take_text(key)?;
        let low = word.to_lowercase();
        if let Some((_, it)) = names.iter().find(|(name, _)| *name == low) {
            return Some((*it, place));
        }
        let known: Vec<&str> = names.iter().map(|(name, _)| *name).collect();
        self.fault(
            "E09",
            format!("`{key}` can't be \"{}\"", quoted(&word)),
            &place,
            did_you_mean(&word, &known, "it takes"),
        );
        None
    }

    /// A day as it is written, with or without quotes.
    pub(super) fn take_day(&mut self, key: &'static str) -> Option<(String, Place)> {
        let item = self.take(key)?;
        match item.value {
            DeValue::Datetime(day) => Some((day.to_string(), item.place)),
            DeValue::String(text) => Some((text.trim().to_owned(), item.place)),
            _ => {
                self.wants(key, "a day", &item, "\"2026-03-14\"");
                None
            }
        }
    }

    /// Yes or no.
    pub(super) fn take_flag(&mut self, key: &'static str) -> Option<bool> {
        let item = self.take(key)?;
        if let DeValue::Boolean(flag) = item.value {
            return Some(*flag);
        }
        self.wants(key, "true or false", &item, "true");
        None
    }

    /// A whole number from `least` to `most`.
    pub(super) fn take_count(
        &mut self,
        key: &'static str,
        least: u32,
        most: u32,
    ) -> Option<(u32, Place)> {
        let item = self.take(key)?;
        let DeValue::Integer(figures) = item.value else {
            self.wants(key, "a whole number without quotes", &item, &least.max(1).to_string());
            return None;
        };
        let count = u32::from_str_radix(figures.as_str(), figures.radix()).ok();
        let good = count.filter(|n| (least..=most).contains(n));
        if good.is_none() {
            self.fault(
                "E07",
                format!(
                    "`{key}` runs from {least} to {most}, and this is {}",
                    quoted(figures.as_str())
                ),
                &item.place,
                format!("for example {key} = {}", least.max(1)),
            );
        }
        good.map(|count| (count, item.place))
    }

    /// A plain number, within bounds.
    pub(super) fn take_number(&mut self, key: &'static str, least: f64, most: f64) -> Option<f64> {
        let item = self.take(key)?;
        let number = match item.value {
            DeValue::Integer(figures) if figures.radix() == 10 => {
                figures.as_str().parse::<f64>().ok()
            }
            DeValue::Float(figures) => figures.as_str().parse::<f64>().ok(),
            _ => {
                self.wants(key, "a number without quotes", &item, "0");
                return None;
            }
        };
        let good = number.filter(|n| (least..=most).contains(n));
        if good.is_none() {
            self.fault(
                "E20",
                format!("`{key}` runs from {least} to {most}"),
                &item.place,
                format!("for example {key} = {}", least.max(0.0)),
            );
        }
        good
    }

    /// The items of a list.
    pub(super) fn list_of(&self, item: &Item<'a>) -> Option<Vec<Item<'a>>> {
        let DeValue::Array(list) = item.value else {
            return None;
        };
        Some(
            list.iter()
                .map(|value| Item {
                    value: value.get_ref(),
                    place: self.document.place(value.span()),
                })
                .collect(),
        )
    }

    /// Tables under `[[key]]`, each read with the unit of this one unless it sets its own.
    pub(super) fn take_tables(&mut self, key: &'static str, what: &str) -> Vec<Reader<'a>> {
        let Some(item) = self.take(key) else {
            return Vec::new();
        };
        let Some(items) = self.list_of(&item) else {
            self.fault(
                "E08",
                format!("there may be several tables `{key}`, so its name stands in two brackets"),
                &item.place,
                format!("write [[{}{key}]]", self.path()),
            );
            return Vec::new();
        };
        items
            .iter()
            .filter_map(|item| {
                let reader = self.inner(item, what);
                if reader.is_none() {
                    self.wants(key, "tables", item, "{ … }");
                }
                reader
            })
            .collect()
    }

    /// A table under `[key]`.
    pub(super) fn take_table(&mut self, key: &'static str, what: &str) -> Option<Reader<'a>> {
        let item = self.take(key)?;
        let reader = self.inner(&item, what);
        if reader.is_none() {
            self.fault(
                "E08",
                format!("there is one table `{key}`, so its name stands in one bracket"),
                &item.place,
                format!("write [{}{key}]", self.path()),
            );
        }
        reader
    }

    fn inner(&self, item: &Item<'a>, what: &str) -> Option<Reader<'a>> {
        let DeValue::Table(table) = item.value else {
            return None;
        };
        let mut reader = Reader {
            document: self.document,
            heap: self.heap,
            what: what.to_owned(),
            place: item.place.clone(),
            unit: self.unit,
            table,
            taken: BTreeSet::new(),
        };
        reader.take_unit();
        Some(reader)
    }

    fn path(&self) -> &'static str {
        if crate::part::Kind::named(self.what.trim_start_matches("this ")).is_some() {
            return "part.";
        }
        match self.what.as_str() {
            "this part" => "part.",
            "this hide" => "hide.",
            "this cloth" => "cloth.",
            "this leaf" => "leaf.",
            "this remnant" => "remnant.",
            _ => "",
        }
    }

    /// Every key of a table whose keys are the user's own, with its value.
    pub(super) fn take_all(&mut self) -> Vec<(String, Place, Item<'a>)> {
        let mut all: Vec<_> = self
            .table
            .iter()
            .filter(|(key, _)| key.get_ref().as_ref() != "unit")
            .map(|(key, value)| {
                let item =
                    Item { value: value.get_ref(), place: self.document.place(value.span()) };
                (key.get_ref().clone().into_owned(), self.document.place(key.span()), item)
            })
            .collect();
        all.sort_by_key(|(_, place, _)| place.span.start);
        all
    }

    /// Reports every key that was not taken; `noun` is what a key is called here.
    pub(super) fn finish(self, noun: &str) {
        let known: Vec<&str> =
            self.taken.iter().copied().filter(|key| *key != "unit" || noun == "key").collect();
        let mut unknown: Vec<_> = self
            .table
            .iter()
            .filter(|(key, _)| !self.taken.contains(key.get_ref().as_ref()))
            .collect();
        unknown.sort_by_key(|(key, _)| key.span().start);
        for (key, _) in unknown {
            let mut cure = did_you_mean(key.get_ref(), &known, "it takes");
            if known.len() > MOST_TOLD && cure.starts_with("it takes") {
                // A long list helps nobody.
                let name = self.what.trim_start_matches("this ");
                cure = match crate::part::Kind::named(name) {
                    Some(kind) => {
                        let told = one_of_many(key.get_ref(), &known);
                        let stop = if told.ends_with('?') { "" } else { ";" };
                        format!("{told}{stop} `pouchwork kind {kind}` shows every key")
                    }
                    None => cure,
                };
            }
            self.fault(
                "E11",
                format!("{} has no {noun} called `{}`", self.what, quoted(key.get_ref())),
                &self.document.place(key.span()),
                cure,
            );
        }
    }
}

/// What a value is, in plain words.
fn sort_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a day",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
