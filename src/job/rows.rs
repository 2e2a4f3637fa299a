//! A comma-separated text taken apart into rows and cells, each with the bytes it stands in.

use super::document::{Document, Heap};
use crate::fault::Fault;
use std::ops::Range;

/// No cell may be longer (bytes).
const MOST_CELL: usize = 4096;
/// No row may be longer (bytes).
const MOST_ROW: usize = 64 * 1024;

/// One row: its cells with the bytes they stand in.
#[derive(Debug)]
pub(super) struct Row {
    /// Each cell with its bytes, quotes and all.
    pub(super) cells: Vec<(String, Range<usize>)>,
    /// The bytes of the whole row.
    pub(super) span: Range<usize>,
}

/// The separator that stands most often in the first line that is not a note.
pub(super) fn separator(text: &str) -> u8 {
    let head = text
        .lines()
        .find(|line| !line.trim().is_empty() && !line.starts_with('#'))
        .unwrap_or_default();
    let mut quotes = false;
    let mut found = [(b',', 0_usize), (b';', 0), (b'\t', 0)];
    for byte in head.bytes() {
        quotes ^= byte == b'"';
        for (sign, count) in &mut found {
            *count += usize::from(!quotes && *sign == byte);
        }
    }
    let most = found.iter().map(|(_, n)| *n).max().unwrap_or(0);
    found.iter().find(|(_, n)| *n == most).map_or(b',', |(sign, _)| *sign)
}

/// Rows and cells. A row that is too long ends it: a quote left open swallows all that follows.
pub(super) fn split(heap: &Heap, text: &Document, separator: u8) -> Option<Vec<Row>> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .comment(Some(b'#'))
        .from_reader(text.text.as_bytes());
    let mut rows = Vec::new();
    let mut record = csv::StringRecord::new();
    loop {
        match reader.read_record(&mut record) {
            Ok(true) => {}
            Ok(false) => return Some(rows),
            Err(fault) => {
                heap.add(
                    Fault::error("E26", format!("{} can't be read as a table: {fault}", text.file))
                        .at(&text.head())
                        .cure("save it again as \"CSV UTF-8\""),
                );
                return None;
            }
        }
        let from = record.position().map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0));
        let (start, spans) = spans(&text.text, from, separator);
        let end = spans.last().map_or(start, |s| s.end);
        let bytes: usize = record.iter().map(|cell| cell.len() + 1).sum();
        let large = record.iter().position(|cell| cell.len() > MOST_CELL);
        if bytes > MOST_ROW || large.is_some() {
            let at = large.and_then(|n| spans.get(n).cloned()).unwrap_or(start..start + 1);
            let open = text.text.get(at.start..).is_some_and(|rest| rest.starts_with('"'));
            heap.add(
                Fault::error(
                    "E07",
                    if large.is_some() {
                        "this cell is longer than 4 KiB"
                    } else {
                        "this row is longer than 64 KiB"
                    },
                )
                .at(&text.place(at.start..at.start + 1))
                .cure(if open {
                    "the quote that begins here may not be closed"
                } else {
                    "look whether this is a table of measures"
                }),
            );
            return None;
        }
        rows.push(Row {
            cells: record
                .iter()
                .enumerate()
                .map(|(n, cell)| {
                    let span = spans.get(n).cloned().unwrap_or(start..end);
                    (unguarded(cell).to_owned(), span)
                })
                .collect(),
            span: start..end,
        });
    }
}

/// A cell whose first sign a spreadsheet would obey is kept behind a `'`, which is not part of it.
pub(super) fn unguarded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest,
        _ => cell,
    }
}

/// Where the row begins that is read from byte `from` on, and the bytes of its cells, quotes and all.
///
/// Walks as the reader does: blank lines and notes are passed over, a cell that begins with a quote runs to its
/// closing quote, doubled quotes stand for one.
pub(super) fn spans(text: &str, from: usize, separator: u8) -> (usize, Vec<Range<usize>>) {
    let bytes = text.as_bytes();
    let mut at = from;
    loop {
        match bytes.get(at) {
            Some(b'\r' | b'\n') => at += 1,
            Some(b'#') => {
                while bytes.get(at).is_some_and(|b| *b != b'\n') {
                    at += 1;
                }
            }
            _ => break,
        }
    }
    let start = at;
    let mut cells = Vec::new();
    let mut cell = at;
    let mut quotes = bytes.get(at) == Some(&b'"');
    if quotes {
        at += 1;
    }
    loop {
        let byte = bytes.get(at).copied();
        match byte {
            Some(b'"') if quotes => {
                if bytes.get(at + 1) == Some(&b'"') {
                    at += 1;
                } else {
                    quotes = false;
                }
                at += 1;
            }
            Some(_) if quotes => at += 1,
            Some(b) if b == separator => {
                cells.push(cell..at);
                at += 1;
                cell = at;
                quotes = bytes.get(at) == Some(&b'"');
                at += usize::from(quotes);
            }
            Some(b'\r' | b'\n') | None => {
                cells.push(cell..at);
                return (start, cells);
            }
            Some(_) => at += 1,
        }
    }
}
