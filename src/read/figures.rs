//! Numbers as SVG writes them, one after the other, with their places.

use super::ReadFault;
use super::caps;

/// Walks over the text of one attribute.
#[derive(Debug)]
pub(super) struct Figures<'a> {
    text: &'a [u8],
    at: usize,
    base: usize,
}

impl<'a> Figures<'a> {
    /// `base` is where the text stands in the file.
    pub(super) fn new(text: &'a str, base: usize) -> Figures<'a> {
        Figures { text: text.as_bytes(), at: 0, base }
    }

    /// Where in the file the next character stands.
    pub(super) fn place(&self) -> usize {
        self.base + self.at
    }

    pub(super) fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    pub(super) fn take(&mut self) -> Option<u8> {
        let byte = self.peek()?;
        self.at += 1;
        Some(byte)
    }

    pub(super) fn skip_space(&mut self) {
        while self.peek().is_some_and(|b| b.is_ascii_whitespace()) {
            self.at += 1;
        }
    }

    /// Skips space and at most one comma.
    pub(super) fn skip_comma(&mut self) {
        self.skip_space();
        if self.peek() == Some(b',') {
            self.at += 1;
            self.skip_space();
        }
    }

    /// Whether a number begins here.
    pub(super) fn at_number(&self) -> bool {
        matches!(self.peek(), Some(b'0'..=b'9' | b'.' | b'+' | b'-'))
    }

    /// The letters that stand here.
    pub(super) fn word(&mut self) -> &'a str {
        let start = self.at;
        while self.peek().is_some_and(|b| b.is_ascii_alphabetic()) {
            self.at += 1;
        }
        std::str::from_utf8(&self.text[start..self.at]).unwrap_or("")
    }

    /// What is left, for a message: at most a dozen characters.
    pub(super) fn rest(&self) -> String {
        String::from_utf8_lossy(&self.text[self.at.min(self.text.len())..])
            .chars()
            .take(12)
            .collect()
    }

    /// One arc flag: a single 0 or 1, which may stand hard against its neighbours.
    pub(super) fn flag(&mut self) -> Result<bool, ReadFault> {
        match self.peek() {
            Some(b'0' | b'1') => Ok(self.take() == Some(b'1')),
            _ => Err(self.wrong("an arc flag, 0 or 1,")),
        }
    }

    /// One number, finite and of a size that can be meant.
    pub(super) fn number(&mut self) -> Result<f64, ReadFault> {
        let start = self.at;
        if matches!(self.peek(), Some(b'+' | b'-')) {
            self.at += 1;
        }
        let mut digits = self.digits();
        if self.peek() == Some(b'.') {
            self.at += 1;
            digits += self.digits();
        }
        if digits == 0 {
            self.at = start;
            return Err(self.wrong("a number"));
        }
        self.exponent();
        let text = std::str::from_utf8(&self.text[start..self.at]).unwrap_or("");
        let place = self.base + start;
        match text.parse::<f64>() {
            Ok(value) if value.is_finite() && value.abs() <= caps::FIGURE => Ok(value),
            _ => Err(too_large(text).at(place)),
        }
    }

    fn digits(&mut self) -> usize {
        let start = self.at;
        while self.peek().is_some_and(|b| b.is_ascii_digit()) {
            self.at += 1;
        }
        self.at - start
    }

    /// An exponent, where a digit follows it: `1em` is no exponent.
    fn exponent(&mut self) {
        if !matches!(self.peek(), Some(b'e' | b'E')) {
            return;
        }
        let back = self.at;
        self.at += 1;
        if matches!(self.peek(), Some(b'+' | b'-')) {
            self.at += 1;
        }
        if self.digits() == 0 {
            self.at = back;
        }
    }

    /// A fault about what stands here.
    pub(super) fn wrong(&self, wanted: &str) -> ReadFault {
        let text = match self.peek() {
            None => format!("{wanted} should stand here, but the text ends"),
            Some(_) => format!("{wanted} should stand here, not `{}`", self.rest()),
        };
        ReadFault::new("E99", text).at(self.place())
    }
}

/// A fault about a figure that no drawing can mean.
pub(super) fn too_large(text: &str) -> ReadFault {
    let shown: String = text.chars().take(24).collect();
    ReadFault::new("E92", format!("{shown} is not a number that can be drawn"))
}
