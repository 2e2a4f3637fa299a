//! The log of a record: a line a change, with what takes it back.
//!
//! A line is written before the record is, and names the record it leads from and the one it leads to by their hashes. So
//! the record itself says whether the last line came to pass.

use super::edit::Splice;
use crate::fault::Fault;
use crate::lay::record::hash;
use serde::{Deserialize, Serialize};

/// A line of the log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Its number, from 1.
    pub number: u64,
    /// Day, by the clock of the computer, in universal time.
    pub day: String,
    /// Time of that day.
    pub time: String,
    /// What was typed.
    pub command: String,
    /// What was changed.
    pub changed: String,
    /// SHA-256 of the record before; empty where there was none.
    pub before: String,
    /// SHA-256 of the record after; empty where there is none any more.
    pub after: String,
    /// The number of the line that it takes back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub undoes: Option<u64>,
    /// What takes it back.
    pub undo: Vec<Splice>,
}

impl Line {
    /// The hash by which a line names a record.
    pub fn mark(text: &str) -> String {
        if text.is_empty() { String::new() } else { hash(text) }
    }

    /// As it is written, with its break.
    pub fn written(&self) -> String {
        format!("{}\n", serde_json::to_string(self).unwrap_or_default())
    }
}

/// How the record stands to the last line of its log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The line came to pass.
    Done,
    /// It did not: the record is as it was before.
    Unfinished,
    /// The record is neither: it was changed by other means since.
    Changed,
}

/// The end of a log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogEnd {
    /// Its last line, and how many bytes that is with its break; none where there is none that can be read.
    pub line: Option<(Line, usize)>,
    /// How many bytes of a torn line stand after it.
    pub torn: usize,
}

/// The end of a log, from its last bytes.
///
/// A last line that is whole and is none of ours counts as torn too.
pub fn last_line(log: &[u8]) -> LogEnd {
    let after_break = |bytes: &[u8]| bytes.iter().rposition(|b| *b == b'\n').map_or(0, |n| n + 1);
    let whole = after_break(log);
    let start = after_break(&log[..whole.saturating_sub(1)]);
    match serde_json::from_slice(&log[start..whole]) {
        Ok(line) => LogEnd { line: Some((line, whole - start)), torn: log.len() - whole },
        Err(_) => LogEnd { line: None, torn: log.len() - start },
    }
}

/// How a record stands to the last line of its log.
pub fn standing(line: &Line, record: &str) -> Standing {
    let mark = Line::mark(record);
    if line.after == mark {
        Standing::Done
    } else if line.before == mark {
        Standing::Unfinished
    } else {
        Standing::Changed
    }
}

/// Every line of a log that can be read.
pub fn whole_lines(log: &str) -> Vec<Line> {
    log.lines().filter_map(|line| serde_json::from_str(line).ok()).collect()
}

/// The last change that stands, in a log whose last line came to pass: the one that `undo` takes back.
///
/// # Errors
/// `E87` where every change is taken back already; `E85` where the record was changed by other means since.
pub fn to_take_back<'a>(lines: &'a [Line], record: &str) -> Result<&'a Line, Fault> {
    let back: Vec<u64> = lines.iter().filter_map(|line| line.undoes).collect();
    let stands = |line: &&Line| line.undoes.is_none() && !back.contains(&line.number);
    let line = lines.iter().rev().find(stands).ok_or_else(|| {
        Fault::error("E87", "there is no booking to take back")
            .cure("pouchwork stock list shows what is there")
    })?;
    if line.after == Line::mark(record) {
        Ok(line)
    } else {
        Err(Fault::error(
            "E85",
            format!(
                "{} of {} can't be taken back: the record was edited since",
                line.command, line.day
            ),
        )
        .cure("edit it by hand; the log says what was changed"))
    }
}
