//! A text of the user's with its lines counted, and the heap that faults are gathered on.

use super::codes::quoted;
use crate::fault::{Fault, Place, Sources, Span};
use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

/// No job, table or profile may be larger (bytes).
pub(super) const MOST_BYTES: usize = 2 * 1024 * 1024;

/// So many faults are kept; beyond it a run says only that there are more.
const MOST_FAULTS: usize = 5000;

/// A text file of the user's, as read.
#[derive(Debug)]
pub(super) struct Document {
    /// The name it is shown by.
    pub(super) file: Arc<str>,
    /// The whole text, without a byte order mark.
    pub(super) text: Arc<str>,
    lines: Vec<usize>,
}

impl Document {
    /// Counts the lines of a text.
    pub(super) fn new(file: &Arc<str>, text: &str) -> Document {
        let mut lines = vec![0];
        lines.extend(text.match_indices('\n').map(|(at, _)| at + 1));
        Document { file: Arc::clone(file), text: Arc::from(text), lines }
    }

    /// The place of a byte range; drawn in to what is there.
    pub(super) fn place(&self, range: Range<usize>) -> Place {
        let start = self.floor(range.start);
        let end = self.floor(range.end.max(start));
        let row = self.row(start);
        Place {
            file: Arc::clone(&self.file),
            span: Span { start, end },
            line: row + 1,
            column: self.text[self.lines[row]..start].chars().count() + 1,
        }
    }

    /// The head of the file.
    pub(super) fn head(&self) -> Place {
        Place::head(&self.file)
    }

    /// Index of the line a byte stands in.
    pub(super) fn row(&self, at: usize) -> usize {
        self.lines.partition_point(|start| *start <= at).max(1) - 1
    }

    /// Where a line begins, and its text without its end.
    pub(super) fn line(&self, row: usize) -> (usize, &str) {
        let start = self.lines.get(row).copied().unwrap_or(self.text.len());
        let end = self.lines.get(row + 1).copied().unwrap_or(self.text.len());
        (start, self.text[start..end].trim_end_matches(['\r', '\n']))
    }

    fn floor(&self, at: usize) -> usize {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }
}

/// Where faults are gathered.
#[derive(Debug, Default)]
pub(super) struct Heap {
    faults: RefCell<Vec<Fault>>,
    more: RefCell<usize>,
    /// File and line of what has been reported as unreadable: nothing more is said about those.
    broken: RefCell<BTreeSet<(Arc<str>, usize)>>,
    /// File and key of lines that could not be read: they are not asked for again.
    lost: RefCell<BTreeSet<(Arc<str>, String)>>,
}

impl Heap {
    /// Puts a fault on the heap, unless its line has been reported as unreadable already.
    pub(super) fn add(&self, fault: Fault) {
        let broken = fault.marks.first().is_some_and(|mark| {
            self.broken.borrow().contains(&(Arc::clone(&mark.place.file), mark.place.line))
        });
        if broken {
            return;
        }
        let mut faults = self.faults.borrow_mut();
        if faults.len() < MOST_FAULTS {
            faults.push(fault);
        } else {
            *self.more.borrow_mut() += 1;
        }
    }

    /// Reports a line that cannot be read, once.
    pub(super) fn add_broken(&self, fault: Fault) {
        let Some(mark) = fault.marks.first() else {
            return self.add(fault);
        };
        let line = (Arc::clone(&mark.place.file), mark.place.line);
        self.add(fault);
        self.broken.borrow_mut().insert(line);
    }

    /// Notes that a key stands on a line that could not be read.
    pub(super) fn lose(&self, file: &Arc<str>, key: &str) {
        self.lost.borrow_mut().insert((Arc::clone(file), key.to_owned()));
    }

    /// Whether a key stands somewhere on a line of the file that could not be read.
    pub(super) fn has_lost(&self, file: &Arc<str>, key: &str) -> bool {
        self.lost.borrow().contains(&(Arc::clone(file), key.to_owned()))
    }

    /// Every fault: by file and line, one and the same text told once with all its places.
    pub(super) fn finish(self) -> Vec<Fault> {
        let mut made: Vec<Fault> = Vec::new();
        let mut seen = std::collections::BTreeMap::new();
        for fault in self.faults.into_inner() {
            let key = (fault.code, fault.text.clone(), fault.cure.clone());
            let first = *seen.entry(key).or_insert(made.len());
            match made.get_mut(first) {
                Some(old) => {
                    for mark in fault.marks {
                        if !old.marks.contains(&mark) && old.marks.len() < 20 {
                            old.marks.push(mark);
                        }
                    }
                }
                None => made.push(fault),
            }
        }
        let place = |f: &Fault| f.marks.first().map(|m| m.place.clone());
        made.sort_by(|a, b| (place(a), a.code).cmp(&(place(b), b.code)));
        let more = self.more.into_inner();
        if let (true, Some(last)) = (more > 0, made.last()) {
            let mut rest = Fault::error("E07", format!("and {more} more faults"))
                .cure("mend the ones shown and check again");
            rest.marks = last.marks.iter().take(1).cloned().collect();
            made.push(rest);
        }
        made
    }
}

/// The text of a file, its byte order mark dropped; or why it cannot be read, with the text as far as it goes.
pub(super) fn decode(bytes: &[u8], file: &Arc<str>) -> Result<String, (String, Box<Fault>)> {
    decode_up_to(bytes, file, MOST_BYTES)
}

/// A file called so in messages, with its text, which is kept for them even where it cannot be read.
pub(super) fn kept(
    shown: &str,
    bytes: &[u8],
    sources: &mut Sources,
) -> Result<(Arc<str>, String), Vec<Fault>> {
    let file: Arc<str> = Arc::from(shown);
    let (text, fault) = match decode(bytes, &file) {
        Ok(text) => (text, None),
        Err((text, fault)) => (text, Some(fault)),
    };
    sources.keep(&file, &text);
    fault.map_or(Ok((file, text)), |fault| Err(vec![*fault]))
}

/// The same of a file of so many bytes at most.
pub(super) fn decode_up_to(
    bytes: &[u8],
    file: &Arc<str>,
    most: usize,
) -> Result<String, (String, Box<Fault>)> {
    let refuse = |text: String, fault: Fault| Err((text, Box::new(fault)));
    if bytes.len() > most {
        let fault = Fault::error(
            "E07",
            format!("{file} is larger than {} MiB, more than any job needs", most >> 20),
        )
        .at(&Place::head(file))
        .cure("split the job, or look whether the right file was named");
        return refuse(String::new(), fault);
    }
    let zeros = bytes.iter().take(64).filter(|b| **b == 0).count();
    if matches!(bytes, [0xff, 0xfe, ..] | [0xfe, 0xff, ..]) || zeros > 4 {
        let fault = Fault::error("E26", format!("{file} is not UTF-8 but UTF-16"))
            .at(&Place::head(file))
            .cure("save it again as \"UTF-8\"; a spreadsheet calls it \"CSV UTF-8\"");
        return refuse(String::new(), fault);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let end = match std::str::from_utf8(bytes) {
        Ok(text) => match text.find('\0') {
            None => return Ok(text.to_owned()),
            Some(at) => at,
        },
        Err(fault) => fault.valid_up_to(),
    };
    let byte = bytes.get(end).copied().unwrap_or_default();
    let shown = String::from_utf8_lossy(bytes).into_owned();
    let document = Document::new(file, &shown);
    let place = document.place(end..end + 3);
    let guess = match byte {
        0x96 | 0x97 => ": is it –?".to_owned(),
        0x91..=0x94 => ": is it a quotation mark?".to_owned(),
        0xa1.. => format!(": is it {}?", char::from(byte)),
        _ => String::new(),
    };
    let fault = Fault::error(
        "E26",
        format!("line {} of {file} is not UTF-8 (byte 0x{byte:02X}{guess})", place.line),
    )
    .at(&place)
    .cure("save it again as \"UTF-8\"; a spreadsheet calls it \"CSV UTF-8\"");
    refuse(shown, fault)
}

/// Reads a text as TOML, reports every line that cannot be read, and tells whether what was made of it holds.
pub(super) fn syntax(document: &Document, faults: &[toml::de::Error], heap: &Heap) -> bool {
    let mut sound = true;
    for fault in faults {
        let span = fault.span().unwrap_or(0..0);
        // A fault at the very end of a line's break belongs to the line before it.
        let row = document.row(span.start);
        let (_, line) = document.line(row);
        let trimmed = line.trim_start();
        let message = fault.message();
        let end = trimmed.find(|c: char| c == '=' || c.is_whitespace());
        heap.lose(&document.file, trimmed[..end.unwrap_or(trimmed.len())].trim_matches('"'));
        let twice = message.starts_with("duplicate key");
        if !twice && (trimmed.starts_with('[') || message.contains("unclosed")) {
            sound = false;
        }
        heap.add_broken(if twice {
            given_twice(document, span, row)
        } else {
            unreadable(document, span, row, message)
        });
    }
    sound
}

fn given_twice(document: &Document, span: Range<usize>, row: usize) -> Fault {
    let key = document.text.get(span.clone()).unwrap_or_default();
    let (_, line) = document.line(row);
    let head = line.trim();
    let table = head.starts_with('[');
    let first = (0..row).rev().find(|at| {
        let (_, other) = document.line(*at);
        if table {
            other.trim() == head
        } else {
            other
                .trim_start()
                .strip_prefix(key)
                .is_some_and(|rest| rest.trim_start().starts_with('='))
        }
    });
    let mut fault = match first {
        Some(at) => Fault::error(
            "E04",
            format!(
                "{} is given twice; first at line {}",
                tick(if table { head } else { key }),
                at + 1
            ),
        ),
        None => Fault::error("E04", format!("{} is given twice", tick(key))),
    };
    fault = fault.at(&document.place(span));
    if let Some(at) = first {
        let (start, other) = document.line(at);
        fault = fault.mark(&document.place(start..start + other.trim_end().len()), "first here");
    }
    fault.cure("delete one of the two")
}

fn unreadable(document: &Document, span: Range<usize>, row: usize, message: &str) -> Fault {
    let (start, line) = document.line(row);
    let place = document.place(span.clone());
    let found = line.split_once('=').map(|(_, value)| {
        let value = value.split(" #").next().unwrap_or(value).trim();
        let from = start + line.find(value).unwrap_or(0);
        (value, document.place(from..from + value.len()))
    });
    let is = |what: &str| message.contains(what);
    if is("recurse") || is("recursion limit") {
        return too_deep(&place);
    }
    if is("escaped value") || is("escape") || is("unicode value") {
        return Fault::error("E05", "a backslash starts a special sign in TOML")
            .at(&place)
            .cure("write the text in single quotes, as in 'C:\\new', or use / instead");
    }
    if is("invalid basic string") || is("invalid literal string") || is("multi-line") {
        let quote = if is("literal") { '\'' } else { '"' };
        let open = line.rfind(quote).map_or(span.start, |at| start + at);
        return Fault::error(
            "E03",
            format!("the text that begins here is not closed with {quote}"),
        )
        .at(&document.place(open..open + 1))
        .cure(format!("put {quote} at its end"));
    }
    if is("missing comma between array elements") {
        return Fault::error(
            "E06",
            "a list is not closed, or two of its items have no comma between them",
        )
        .at(&place)
        .cure("look here and at the lines above: every [ needs its ]");
    }
    if let Some((value, place)) = drill(document, row).filter(|_| is("must be quoted")) {
        return Fault::error(
            "E02",
            format!("a length must stand in quotes, and {} does not", tick(&value)),
        )
        .at(&place)
        .cure(format!("write \"{value}\""));
    }
    if let Some(fault) = found.as_ref().and_then(|(value, place)| odd_quotes(value, place)) {
        return fault;
    }
    if let Some((value, place)) = found {
        let starts = value.chars().next();
        let figure = starts.is_some_and(|c| c.is_ascii_digit() || "#.½¼¾⅛⅜⅝⅞-".contains(c));
        let bare = !value.contains(['"', '\'', '[', '{']) || is("opening quote");
        if figure && bare {
            let inch = if value.ends_with('"') { " in" } else { "" };
            let inner = quoted(value.trim_matches(['"', '\'', '“', '”', '„', '″', '‘', '’']));
            return Fault::error(
                "E02",
                format!("a length must stand in quotes, and {} does not", tick(value)),
            )
            .at(&place)
            .cure(format!("write \"{inner}{inch}\""));
        }
        if is("must be quoted") && value.is_empty() {
            let end = start + line.trim_end().len();
            return Fault::error("E06", "nothing is written after the =")
                .at(&document.place(end..end))
                .cure("write a value, or delete the line");
        }
        if is("must be quoted") && bare {
            return Fault::error(
                "E06",
                format!("words must stand in quotes, and {} does not", tick(value)),
            )
            .at(&place)
            .cure(format!("write \"{value}\""));
        }
    }
    Fault::error("E06", format!("this line can't be read: {}", plain(message)))
        .at(&place)
        .cure("a line is `key = value`, a table begins with [name] or [[name]]")
}

/// A value in the wrong kind of quotes, or with the sign for inches inside them.
fn odd_quotes(value: &str, place: &Place) -> Option<Fault> {
    let curly = ['“', '”', '„', '″', '‘', '’'];
    if value.starts_with(curly) {
        let inner = quoted(value.trim_matches(curly));
        return Some(
            Fault::error("E02", format!("{} stands in printer's quotes", tick(value)))
                .at(place)
                .cure(format!("write \"{inner}\" with the plain \" of the keyboard")),
        );
    }
    let figure = value.strip_prefix('"')?.starts_with(|c: char| c.is_ascii_digit());
    if !figure || !value.ends_with("\"\"") {
        return None;
    }
    let inner = quoted(value.trim_matches('"'));
    Some(
        Fault::error("E02", format!("{} has one \" too many", tick(value)))
            .at(place)
            .cure(format!("for inches write \"{inner} in\"")),
    )
}

/// A drill without quotes: all from the # on is taken for a note.
fn drill(document: &Document, row: usize) -> Option<(String, Place)> {
    let (start, line) = document.line(row);
    let equals = line.find('=')?;
    let value = line.get(equals + 1..)?.trim();
    let number = value.strip_prefix('#')?.starts_with(|c: char| c.is_ascii_digit());
    let at = start + line.find('#')?;
    number.then(|| (quoted(value), document.place(at..at + value.len())))
}

/// What is said of brackets within brackets within brackets.
pub(super) fn too_deep(place: &Place) -> Fault {
    Fault::error("E07", "brackets stand more than 64 deep in one another")
        .at(place)
        .cure("no table of a job needs more than 4")
}

fn tick(text: &str) -> String {
    format!("`{}`", quoted(text))
}

/// The reader's remark without words that only programmers use.
fn plain(message: &str) -> String {
    message
        .replace("key-value pairs", "two entries")
        .replace("key with no value", "a key without a value")
        .replace('`', "")
}
