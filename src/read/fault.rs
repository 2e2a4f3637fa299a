//! Why a file was refused, and where.

use std::fmt;

/// Why a file was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadFault {
    /// Stable code.
    ///
    /// | code | means |
    /// | --- | --- |
    /// | E90 | not a file this room reads, or broken |
    /// | E91 | more than a cap allows |
    /// | E92 | a figure that is not finite, or a point or radius beyond 100 m |
    /// | E93 | no unit, or one that cannot be used |
    /// | E94 | an outline left open |
    /// | E95 | more than two ends at one point |
    /// | E96 | an outline that crosses itself or encloses nothing |
    /// | E97 | nothing to cut in the file |
    /// | E98 | drawn in a way that is not read, where leaving it out would change the cut |
    /// | E99 | a path, shape or attribute that is wrongly written |
    pub code: &'static str,
    /// What was found, in one line.
    pub text: String,
    /// What to do about it.
    pub cure: Option<String>,
    /// Byte offset in the file.
    pub at: Option<usize>,
    /// Line of the file, counted from 1.
    pub line: Option<usize>,
}

impl ReadFault {
    pub(super) fn new(code: &'static str, text: impl Into<String>) -> ReadFault {
        ReadFault { code, text: text.into(), cure: None, at: None, line: None }
    }

    pub(super) fn cure(mut self, cure: impl Into<String>) -> ReadFault {
        self.cure = Some(cure.into());
        self
    }

    pub(super) fn at(mut self, at: usize) -> ReadFault {
        self.at = Some(at);
        self
    }

    /// Works the line out from the offset; the place is drawn in to what is there.
    pub(super) fn with_line(mut self, bytes: &[u8]) -> ReadFault {
        if let Some(at) = self.at {
            let at = at.min(bytes.len());
            self.at = Some(at);
            let before = &bytes[..at];
            self.line = Some(1 + before.iter().fold(0, |n, b| n + usize::from(*b == b'\n')));
        }
        self
    }
}

impl fmt::Display for ReadFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "[{}] {}", self.code, self.text)?;
        if let Some(line) = self.line {
            write!(f, " (line {line})")?;
        }
        if let Some(cure) = &self.cure {
            write!(f, "; {cure}")?;
        }
        Ok(())
    }
}

impl std::error::Error for ReadFault {}
