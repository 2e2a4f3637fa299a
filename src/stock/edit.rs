//! A change of some bytes of a record, and what takes it back.

use super::spots::{Entry, Spot, by_hand, entries};
use crate::fault::Fault;
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// Bytes that were put in, and what stood there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Splice {
    /// Where they begin in the changed text.
    pub at: usize,
    /// How many they are.
    pub put: usize,
    /// What stood there before.
    pub gone: String,
}

/// A text before and after a change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    before: String,
    /// Bytes of the text before, each with what takes their place.
    changes: Vec<(Range<usize>, String)>,
}

impl Edit {
    pub(super) fn new(text: &str) -> Edit {
        Edit { before: text.to_owned(), changes: Vec::new() }
    }

    pub(super) fn replace(&mut self, range: Range<usize>, by: String) {
        self.changes.push((range, by));
    }

    pub(super) fn insert(&mut self, at: usize, what: &str) {
        // A last line without its break gets one.
        let lead = if at == 0 || self.before[..at].ends_with('\n') { "" } else { "\n" };
        self.replace(at..at, format!("{lead}{what}"));
    }

    pub(super) fn append(&mut self, what: &str) {
        self.insert(self.before.len(), what);
    }

    /// Takes lines out, and an empty line before them.
    pub(super) fn cut_out(&mut self, range: Range<usize>) {
        let start = if self.before[..range.start].ends_with("\n\n") {
            range.start - 1
        } else {
            range.start
        };
        self.replace(start..range.end, String::new());
    }

    pub(super) fn generation(&mut self, spot: &Spot, generation: u32) {
        match &spot.generation {
            Some(range) => self.replace(range.clone(), generation.to_string()),
            None => self.insert(spot.after_id, &format!("generation = {generation}\n")),
        }
    }

    /// The edit, if the changed text is read as what was meant.
    pub(super) fn proven(mut self, wanted: &[Entry]) -> Result<Edit, Fault> {
        self.changes.sort_by_key(|(range, _)| (range.start, range.end));
        let apart = self.changes.windows(2).all(|w| w[0].0.end <= w[1].0.start);
        let is_meant = apart && {
            let mut found = entries(&self.after())?;
            let mut wanted = wanted.to_vec();
            found.sort_by(|a, b| a.id.cmp(&b.id));
            wanted.sort_by(|a, b| a.id.cmp(&b.id));
            found == wanted
        };
        if is_meant { Ok(self) } else { Err(by_hand()) }
    }

    /// The edit from one text to another, in one piece.
    pub fn between(before: &str, after: &str) -> Edit {
        let mut edit = Edit::new(before);
        let same = before.bytes().zip(after.bytes()).take_while(|(a, b)| a == b).count();
        let mut start = same;
        while !before.is_char_boundary(start) {
            start -= 1;
        }
        let (old, new) = (&before[start..], &after[start..]);
        let tail = old.bytes().rev().zip(new.bytes().rev()).take_while(|(a, b)| a == b).count();
        let mut tail = tail.min(old.len()).min(new.len());
        while !old.is_char_boundary(old.len() - tail) {
            tail -= 1;
        }
        if before != after {
            edit.replace(start..before.len() - tail, new[..new.len() - tail].to_owned());
        }
        edit
    }

    /// Whether nothing is changed at all.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty()
    }

    /// The text before.
    pub fn before(&self) -> &str {
        &self.before
    }

    /// The changed text.
    pub fn after(&self) -> String {
        let mut text = String::with_capacity(self.before.len());
        let mut from = 0;
        for (range, by) in &self.changes {
            text.push_str(&self.before[from..range.start]);
            text.push_str(by);
            from = range.end;
        }
        text.push_str(&self.before[from..]);
        text
    }

    /// What takes it back.
    pub fn splices(&self) -> Vec<Splice> {
        let (mut at, mut from) = (0, 0);
        let mut list = Vec::new();
        for (range, by) in &self.changes {
            at += range.start - from;
            list.push(Splice { at, put: by.len(), gone: self.before[range.clone()].to_owned() });
            at += by.len();
            from = range.end;
        }
        list
    }

    /// The edit that takes splices back; none where they do not fit the text.
    pub fn back(text: &str, splices: &[Splice]) -> Option<Edit> {
        let mut edit = Edit::new(text);
        for splice in splices {
            let range = splice.at..splice.at.checked_add(splice.put)?;
            text.get(range.clone())?;
            edit.replace(range, splice.gone.clone());
        }
        let apart = edit.changes.windows(2).all(|w| w[0].0.end <= w[1].0.start);
        apart.then_some(edit)
    }
}
