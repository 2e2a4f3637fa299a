//! The pairs of lines that an ASCII DXF file is made of, with their places.

use super::ReadFault;
use super::caps;

/// A group code and its value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pair<'a> {
    pub(super) code: i32,
    /// Without the blanks around it.
    pub(super) value: &'a [u8],
    /// Byte offset of the code.
    pub(super) at: usize,
}

impl Pair<'_> {
    /// Whether it is a 0 pair of this name.
    pub(super) fn is(&self, name: &str) -> bool {
        self.code == 0 && self.value == name.as_bytes()
    }

    /// The value as words for a message or a name.
    pub(super) fn words(&self) -> String {
        String::from_utf8_lossy(self.value).chars().take(64).collect()
    }

    /// The value as a number.
    pub(super) fn number(&self) -> Result<f64, ReadFault> {
        number(self.value).ok_or_else(|| {
            let text = format!("`{}` is not a number that can be drawn", self.words());
            ReadFault::new("E92", text).at(self.at)
        })
    }

    /// The value as a whole number.
    pub(super) fn whole(&self) -> Result<i32, ReadFault> {
        let value = self.number()?;
        if value.fract() != 0.0 || value.abs() > 2_147_483_647.0 {
            let text = format!("`{}` is not a whole number", self.words());
            return Err(ReadFault::new("E99", text).at(self.at));
        }
        #[allow(clippy::cast_possible_truncation, reason = "whole and within range, checked above")]
        Ok(value as i32)
    }
}

/// A decimal number, finite and of a size that can be meant.
fn number(value: &[u8]) -> Option<f64> {
    let plain = |b: &u8| b.is_ascii_digit() || b"+-.eE".contains(b);
    if value.is_empty() || !value.iter().all(plain) {
        return None;
    }
    let value: f64 = std::str::from_utf8(value).ok()?.parse().ok()?;
    value.is_finite().then_some(value)
}

/// Whether the file is the binary kind of DXF: its first line ends in a NUL, which no text holds.
pub(super) fn is_binary(bytes: &[u8]) -> bool {
    bytes.iter().take(64).any(|b| *b == 0)
}

/// Whether a code's value is a number with a fraction.
///
/// # Source
/// DXF reference of the format's owner, "Group code value types".
fn is_figure(code: i32) -> bool {
    matches!(code, 10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059)
}

/// Walks over the pairs of a file; comments (999) are passed over.
#[derive(Debug)]
pub(super) struct Pairs<'a> {
    bytes: &'a [u8],
    at: usize,
    groups: usize,
}

impl<'a> Pairs<'a> {
    /// `start` is where the pairs begin, past a byte order mark.
    pub(super) fn new(bytes: &'a [u8], start: usize) -> Pairs<'a> {
        Pairs { bytes, at: start, groups: 0 }
    }

    /// How many bracketed groups (102) are open.
    pub(super) fn groups(&self) -> usize {
        self.groups
    }

    /// Where the walk stands.
    pub(super) fn place(&self) -> usize {
        self.at
    }

    /// The next pair.
    ///
    /// # Errors
    /// Refuses the end of the text, a code that is none, a figure that is not finite and groups beyond the cap.
    pub(super) fn next(&mut self) -> Result<Pair<'a>, ReadFault> {
        loop {
            let at = self.at;
            let code = self.line().ok_or_else(|| cut_off(at))?;
            let value = self.line().ok_or_else(|| cut_off(at))?;
            let code = group_code(code).ok_or_else(|| {
                let shown: String = String::from_utf8_lossy(code).chars().take(24).collect();
                ReadFault::new("E90", format!("`{shown}` stands where a DXF group code should"))
                    .at(at)
            })?;
            let pair = Pair { code, value, at };
            if is_figure(code) {
                pair.number()?;
            }
            self.bracket(&pair)?;
            if code != 999 {
                return Ok(pair);
            }
        }
    }

    /// Counts bracketed groups; a 0 pair ends them all.
    fn bracket(&mut self, pair: &Pair<'_>) -> Result<(), ReadFault> {
        if pair.code == 0 {
            self.groups = 0;
        } else if pair.code == 102 && pair.value.starts_with(b"{") {
            self.groups += 1;
            if self.groups > caps::GROUPS {
                let text =
                    format!("more than {} bracketed groups inside one another", caps::GROUPS);
                return Err(ReadFault::new("E91", text).at(pair.at));
            }
        } else if pair.code == 102 && pair.value.starts_with(b"}") {
            self.groups = self.groups.saturating_sub(1);
        }
        Ok(())
    }

    /// One line without its end and the blanks around it.
    fn line(&mut self) -> Option<&'a [u8]> {
        let rest = self.bytes.get(self.at..).filter(|rest| !rest.is_empty())?;
        let end = rest.iter().position(|b| *b == b'\n');
        self.at += end.map_or(rest.len(), |end| end + 1);
        Some(rest[..end.unwrap_or(rest.len())].trim_ascii())
    }
}

fn group_code(text: &[u8]) -> Option<i32> {
    let digits = text.strip_prefix(b"-").unwrap_or(text);
    if digits.is_empty() || digits.len() > 4 || !digits.iter().all(u8::is_ascii_digit) {
        return None;
    }
    let code: i32 = std::str::from_utf8(text).ok()?.parse().ok()?;
    (-5..=1071).contains(&code).then_some(code)
}

/// A fault about a file that ends too soon.
pub(super) fn cut_off(at: usize) -> ReadFault {
    ReadFault::new("E90", "the file is cut off: it does not end in 0, EOF")
        .cure("copy it again, or save it again as ASCII DXF")
        .at(at)
}
