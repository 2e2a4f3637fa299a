//! The manifest, read by its own form: lines of `key: value`, the body's hash last.

use super::track::{Dot, figure};
use sha2::{Digest, Sha256};

/// A row: what the file says of one piece.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub(super) address: String,
    pub(super) at: Dot,
    pub(super) turn: f64,
    pub(super) mirrored: bool,
    pub(super) strokes: Vec<u32>,
    pub(super) size: [f64; 2],
    pub(super) area: f64,
    /// Centre and diameter of holes left to the punch.
    pub(super) punched: Vec<(Dot, f64)>,
}

/// What a file says of itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Papers {
    pub(super) lines: Vec<(String, String)>,
    pub(super) rows: Vec<Row>,
    /// Hash of the body as it is, recomputed.
    pub(super) body: String,
    /// Why it could not be read in full.
    pub(super) wrong: Option<String>,
}

impl Papers {
    /// Reads the lines; `body` are the bytes that the last line's hash is over.
    pub(super) fn read(lines: &[String], body: &[&[u8]]) -> Papers {
        let mut papers = Papers { body: hash(body), ..Papers::default() };
        let Some((first, rest)) = lines.split_first() else {
            papers.wrong = Some("there is no manifest".to_owned());
            return papers;
        };
        if first != "pouchwork manifest 1" {
            papers.wrong = Some("the first line is not `pouchwork manifest 1`".to_owned());
            return papers;
        }
        for line in rest {
            let Some((key, value)) = line.split_once(": ") else {
                papers.wrong = Some(format!("the line `{}` is not `key: value`", told(line)));
                return papers;
            };
            if key == "piece" {
                match row(value) {
                    Some(row) => papers.rows.push(row),
                    None => {
                        papers.wrong = Some(format!("the row `{}` cannot be read", told(value)));
                    }
                }
            } else {
                papers.lines.push((key.to_owned(), value.to_owned()));
            }
        }
        if papers.lines.last().is_none_or(|(key, _)| key != "body") {
            papers.wrong = Some("its last line is not the hash of the body".to_owned());
        }
        papers
    }

    /// The value of a key that stands once; none where it is missing or stands twice.
    pub(super) fn one(&self, key: &str) -> Option<&str> {
        let mut found = self.lines.iter().filter(|(k, _)| k == key).map(|(_, v)| v.as_str());
        let first = found.next()?;
        found.next().is_none().then_some(first)
    }

    /// Where the file's origin lies on the sheet (mm); the origin itself where the sheet is cut whole.
    pub(super) fn origin(&self) -> Option<Dot> {
        let value = self.one("window")?;
        if value == "none" {
            return Some([0.0; 2]);
        }
        let (_, rest) = value.split_once("; origin ")?;
        pair(rest, "x", "y")
    }

    /// Register dots on the sheet.
    pub(super) fn dots(&self) -> Option<Vec<Dot>> {
        let value = self.one("dots")?;
        if value == "none" {
            return Some(Vec::new());
        }
        value.split(", ").map(point).collect()
    }
}

/// `x A; y B` with words of one's own.
pub(super) fn pair(text: &str, one: &str, two: &str) -> Option<Dot> {
    let (first, second) = text.split_once("; ")?;
    Some([named(first, one)?, named(second, two)?])
}

pub(super) fn named(text: &str, name: &str) -> Option<f64> {
    figure(text.strip_prefix(name)?.strip_prefix(' ')?)
}

fn point(text: &str) -> Option<Dot> {
    let (x, y) = text.split_once(' ')?;
    Some([figure(x)?, figure(y)?])
}

fn row(text: &str) -> Option<Row> {
    // The address runs to the end of the line and may hold anything.
    let (figures, address) = text.split_once("; address ")?;
    let parts: Vec<&str> = figures.split("; ").collect();
    let [x, y, turn, mirrored, strokes, size, area, punched] = parts[..] else { return None };
    let strokes = match strokes.strip_prefix("strokes ")? {
        "none" => Vec::new(),
        list => list.split(' ').map(|n| n.parse().ok()).collect::<Option<_>>()?,
    };
    let size = match size.strip_prefix("box ") {
        Some(sides) => {
            let (wide, high) = sides.split_once(" x ")?;
            [figure(wide)?, figure(high)?]
        }
        None => [named(size, "diameter")?; 2],
    };
    let punched = match punched.strip_prefix("punched ")? {
        "none" => Vec::new(),
        list => list
            .split(", ")
            .map(|one| {
                let (diameter, at) = one.split_once(" at ")?;
                Some((point(at)?, figure(diameter)?))
            })
            .collect::<Option<_>>()?,
    };
    Some(Row {
        address: address.to_owned(),
        at: [named(x, "x")?, named(y, "y")?],
        turn: named(turn, "turn")?,
        mirrored: match mirrored {
            "mirrored yes" => true,
            "mirrored no" => false,
            _ => return None,
        },
        strokes,
        size,
        area: named(area, "area")?,
        punched,
    })
}

/// SHA-256 in small hexadecimal.
fn hash(parts: &[&[u8]]) -> String {
    let mut sum = Sha256::new();
    for part in parts {
        sum.update(part);
    }
    let mut text = String::with_capacity(64);
    for byte in sum.finalize() {
        for half in [byte >> 4, byte & 15] {
            text.push(char::from_digit(u32::from(half), 16).unwrap_or('0'));
        }
    }
    text
}

/// A text told back: short, plain ASCII.
pub(super) fn told(text: &str) -> String {
    let plain = |c: char| if c.is_ascii_graphic() || c == ' ' { c } else { '?' };
    text.chars().take(40).map(plain).collect()
}

/// Lines that begin with `+ ` go on from the one before.
pub(super) fn unfolded(lines: &[&str]) -> Vec<String> {
    let mut whole: Vec<String> = Vec::new();
    for line in lines {
        match (line.strip_prefix("+ "), whole.last_mut()) {
            (Some(rest), Some(last)) => last.push_str(rest),
            _ => whole.push((*line).to_owned()),
        }
    }
    whole
}
