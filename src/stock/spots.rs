//! Where in a record's text its sheets stand, with all that is booked of them.

use super::SCHEMA;
use crate::fault::Fault;
use crate::sheet::{Holder, State};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a lay holds of a sheet: addresses, each with what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Block {
    /// The lay.
    pub by: Holder,
    /// Its pieces.
    pub pieces: Vec<(String, State)>,
    /// Spares that were taken, each with the place it was taken for.
    pub given: Vec<(String, String)>,
}

/// A sheet of the record, without its shape.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The table it stands in: `hide`, `cloth`, `leaf` or `remnant`.
    pub table: &'static str,
    /// Its id.
    pub id: String,
    /// How often it was cut and booked; the first is 1.
    pub generation: u32,
    /// What the job said of it, as a short hash, when it came from there.
    pub entered: Option<String>,
    /// What is claimed of it.
    pub claims: Vec<Block>,
    /// What was cut from it.
    pub cuts: Vec<Block>,
}

impl Entry {
    pub(super) fn new(table: &'static str, id: &str, generation: u32) -> Entry {
        let id = id.to_owned();
        Entry { table, id, generation, entered: None, claims: Vec::new(), cuts: Vec::new() }
    }

    /// Whether it has this id; capital and small letters count alike.
    pub fn is(&self, id: &str) -> bool {
        self.id.to_lowercase() == id.to_lowercase()
    }
}

/// A sheet with its bytes.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    pub(super) entry: Entry,
    /// From its header on.
    pub(super) start: usize,
    /// To the end of its last line.
    pub(super) end: usize,
    /// The end of the line of its id.
    pub(super) after_id: usize,
    /// The figure of its generation.
    pub(super) generation: Option<Range<usize>>,
    /// Its claims, from their headers on.
    pub(super) claims: Vec<Range<usize>>,
    /// Its cuts likewise.
    pub(super) cuts: Vec<Range<usize>>,
    /// Flaws, zones and readings likewise, by the names of their tables.
    pub(super) others: BTreeMap<String, Vec<Range<usize>>>,
    /// Key and value of its line; or, of a rectangle, the value of its length, and true.
    pub(super) shape: Option<(Range<usize>, bool)>,
    /// The value of its width.
    pub(super) width: Option<Range<usize>>,
}

const TABLES: [&str; 4] = ["hide", "cloth", "leaf", "remnant"];

/// Whether a record is a whole text of a form that is known.
///
/// # Errors
/// `E63` for a text that is damaged, `E82` for a newer form.
pub fn checked(text: &str, path: &str) -> Result<(), Fault> {
    let top = DeTable::parse(without_mark(text)).map_err(|e| {
        let before = &text[..e.span().map_or(0, |s| s.start.min(text.len()))];
        let line = before.matches('\n').count() + 1;
        let why = e.message().lines().next().unwrap_or("it is no TOML").to_owned();
        Fault::error("E63", format!("the stock record {path} is damaged at line {line}: {why}")).cure(format!(
            "nothing was written; the last good copy is {path}.bak: compare the two, mend the line or copy it over the record"
        ))
    })?;
    let schema = match top.get_ref().get("schema").map(Spanned::get_ref) {
        None => Some(SCHEMA),
        Some(DeValue::Integer(n)) => n.as_str().parse::<u32>().ok().filter(|n| *n > 0),
        Some(_) => None,
    };
    match schema {
        Some(n) if n <= SCHEMA => Ok(()),
        Some(n) => Err(Fault::error(
            "E82",
            format!("the stock record {path} is of form {n}; this program knows form {SCHEMA}"),
        )
        .cure("nothing was written: use the version of pouchwork that wrote it, or a newer one")),
        None => Err(Fault::error(
            "E63",
            format!("the stock record {path} is damaged: `schema` is no number"),
        )
        .cure(format!("nothing was written; the last good copy is {path}.bak"))),
    }
}

pub(super) fn by_hand() -> Fault {
    Fault::error("E85", "the stock record can't be changed in place: its tables are not written one below another")
        .cure("write each sheet as a table [[hide]], [[cloth]], [[leaf]] or [[remnant]] with its keys below it; nothing was written")
}

/// The sheets of a record.
///
/// # Errors
/// `E85` where they are not written as the program can change them.
pub fn entries(text: &str) -> Result<Vec<Entry>, Fault> {
    Ok(spots(text)?.into_iter().map(|spot| spot.entry).collect())
}

pub(super) fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

/// The sheets of a record with their bytes, in the order of the text.
pub(super) fn spots(text: &str) -> Result<Vec<Spot>, Fault> {
    if text.starts_with('\u{feff}') {
        return Err(by_hand());
    }
    let top = DeTable::parse(text).map_err(|_| by_hand())?;
    let mut found = Vec::new();
    for table in TABLES {
        let Some(value) = top.get_ref().get(table) else { continue };
        let DeValue::Array(list) = value.get_ref() else { return Err(by_hand()) };
        for item in list {
            found.push(spot(text, table, item).ok_or_else(by_hand)?);
        }
    }
    found.sort_by_key(|spot| spot.start);
    Ok(found)
}

fn spot(text: &str, table: &'static str, item: &Spanned<DeValue<'_>>) -> Option<Spot> {
    let DeValue::Table(keys) = item.get_ref() else { return None };
    let range = block(text, item, table)?;
    let id = keys.get("id")?;
    let shape = ["line", "corners", "outline"].iter().find_map(|name| {
        let (key, value) = keys.iter().find(|(key, _)| key.get_ref() == name)?;
        Some((key.span().start..value.span().end, false))
    });
    let mut others = BTreeMap::new();
    for name in ["flaw", "zone", "reading"] {
        others.insert(name.to_owned(), list_of(text, keys, table, name)?);
    }
    let generation = keys.get("generation");
    let entry = Entry {
        table,
        id: words(id)?,
        generation: match generation.map(Spanned::get_ref) {
            None => 1,
            Some(DeValue::Integer(n)) => n.as_str().parse().ok()?,
            Some(_) => return None,
        },
        entered: keys.get("as-in-job").and_then(words),
        claims: held(keys, "claim")?,
        cuts: held(keys, "cut")?,
    };
    Some(Spot {
        entry,
        start: range.start,
        end: range.end,
        after_id: line_end(text, id.span().end),
        generation: generation.map(Spanned::span),
        claims: list_of(text, keys, table, "claim")?,
        cuts: list_of(text, keys, table, "cut")?,
        others,
        shape: shape.or_else(|| Some((keys.get("length")?.span(), true))),
        width: keys.get("width").map(Spanned::span),
    })
}

fn words(value: &Spanned<DeValue<'_>>) -> Option<String> {
    match value.get_ref() {
        DeValue::String(text) => Some(text.trim().to_owned()),
        _ => None,
    }
}

/// The tables of a name below a sheet's.
fn list_of(text: &str, keys: &DeTable<'_>, table: &str, name: &str) -> Option<Vec<Range<usize>>> {
    match keys.get(name).map(Spanned::get_ref) {
        None => Some(Vec::new()),
        Some(DeValue::Array(list)) => {
            list.iter().map(|item| block(text, item, &format!("{table}.{name}"))).collect()
        }
        Some(_) => None,
    }
}

fn held(keys: &DeTable<'_>, name: &str) -> Option<Vec<Block>> {
    let Some(value) = keys.get(name) else { return Some(Vec::new()) };
    let DeValue::Array(list) = value.get_ref() else { return None };
    list.iter()
        .map(|item| {
            let DeValue::Table(keys) = item.get_ref() else { return None };
            let text = |key: &str| keys.get(key).and_then(words);
            let by = Holder {
                job: text("job"),
                lay: text("lay")?,
                hash: text("hash").unwrap_or_default(),
            };
            let DeValue::Array(rows) = keys.get("pieces")?.get_ref() else { return None };
            let pieces: Option<Vec<_>> = rows.iter().map(piece).collect();
            Some(Block { by, pieces: pieces?, given: rows.iter().filter_map(given).collect() })
        })
        .collect()
}

fn piece(row: &Spanned<DeValue<'_>>) -> Option<(String, State)> {
    let DeValue::Table(keys) = row.get_ref() else { return None };
    let state = match keys.get("state").and_then(words).as_deref() {
        None => State::Claimed,
        Some("failed") => State::Failed,
        Some(_) => State::Good,
    };
    Some((words(keys.get("address")?)?, state))
}

/// A spare's address and the place that it was taken for.
fn given(row: &Spanned<DeValue<'_>>) -> Option<(String, String)> {
    let DeValue::Table(keys) = row.get_ref() else { return None };
    Some((words(keys.get("address")?)?, words(keys.get("for")?)?))
}

/// The bytes of a table from the line of its header to the end of its last line; none where it is written in braces.
fn block(text: &str, item: &Spanned<DeValue<'_>>, name: &str) -> Option<Range<usize>> {
    let DeValue::Table(keys) = item.get_ref() else { return None };
    let first = keys.iter().map(|(key, _)| key.span().start).min()?;
    let header = text.get(..first)?.rfind(&format!("[[{name}]]"))?;
    let start = text[..header].rfind('\n').map_or(0, |n| n + 1);
    // Nothing but spaces before it, and no header of another table between it and its first key.
    let between = text.get(header + 2..first)?;
    let clean = text[start..header].trim().is_empty()
        && !between.lines().skip(1).any(|l| l.trim_start().starts_with('['));
    clean.then(|| start..line_end(text, end(text, item).max(first)))
}

/// The end of the last value of a table or a list.
fn end(text: &str, value: &Spanned<DeValue<'_>>) -> usize {
    let is_braced =
        |it: &Spanned<DeValue<'_>>| text.get(it.span()).is_some_and(|t| t.starts_with('{'));
    match value.get_ref() {
        DeValue::Table(keys) if !is_braced(value) => {
            keys.iter().map(|(key, value)| key.span().end.max(end(text, value))).max().unwrap_or(0)
        }
        DeValue::Array(list)
            if list
                .first()
                .is_some_and(|it| matches!(it.get_ref(), DeValue::Table(_)) && !is_braced(it)) =>
        {
            list.iter().map(|it| end(text, it)).max().unwrap_or(0)
        }
        _ => value.span().end,
    }
}

/// The end of the line in which a byte stands, its break counted.
fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |n| at + n + 1)
}
