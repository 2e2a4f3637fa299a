//! A look at an XML text before any tree is built of it: depth, attributes, document types.

use super::ReadFault;
use super::caps;

/// Checks the text and gives it back with a plain document type blanked out; all places stay as they are.
///
/// # Errors
/// Refuses a document type that declares anything, nesting beyond the cap, and tags that never end.
pub(super) fn guarded(text: &str) -> Result<String, ReadFault> {
    let bytes = text.as_bytes();
    let mut plain = None;
    let mut depth = 0_usize;
    let mut names = 0_usize;
    let mut at = 0;
    while let Some(found) = find(bytes, at, b"<") {
        let rest = &bytes[found..];
        at = if rest.starts_with(b"<!--") {
            past(bytes, found + 4, b"-->", found)?
        } else if rest.starts_with(b"<![CDATA[") {
            past(bytes, found, b"]]>", found)?
        } else if rest.starts_with(b"<?") {
            past(bytes, found, b"?>", found)?
        } else if rest.starts_with(b"<!") {
            let end = doctype(bytes, found)?;
            plain.get_or_insert_with(|| bytes.to_vec())[found..end]
                .iter_mut()
                .filter(|b| **b != b'\n' && **b != b'\r')
                .for_each(|b| *b = b' ');
            end
        } else if rest.starts_with(b"</") {
            depth = depth.saturating_sub(1);
            past(bytes, found, b">", found)?
        } else {
            let tag = tag(bytes, found)?;
            names += tag.names;
            if names > caps::NAMESPACES {
                let text = format!("more than {} namespaces", caps::NAMESPACES);
                return Err(ReadFault::new("E91", text).at(found));
            }
            if depth + 1 > caps::DEPTH {
                let text = format!("more than {} elements inside one another", caps::DEPTH);
                return Err(ReadFault::new("E91", text).cure("ungroup the drawing").at(found));
            }
            depth += usize::from(!tag.empty);
            tag.end
        };
    }
    match plain {
        None => Ok(text.to_owned()),
        Some(plain) => String::from_utf8(plain).map_err(|_| broken(0)),
    }
}

/// What the check needs to know of a start tag.
struct Tag {
    end: usize,
    empty: bool,
    names: usize,
}

fn tag(bytes: &[u8], start: usize) -> Result<Tag, ReadFault> {
    let mut quote = None;
    let (mut attributes, mut names) = (0, 0);
    for (i, byte) in bytes.iter().enumerate().skip(start + 1) {
        match (quote, byte) {
            (Some(q), b) if b == q => quote = None,
            (None, b'"' | b'\'') => quote = Some(byte),
            (None, b'=') => {
                attributes += 1;
                if attributes > caps::ATTRIBUTES {
                    let text = format!("more than {} attributes on one element", caps::ATTRIBUTES);
                    return Err(ReadFault::new("E91", text).at(start));
                }
            }
            (None, b'x') => names += usize::from(bytes[i..].starts_with(b"xmlns")),
            (None, b'<') => return Err(broken(i)),
            (None, b'>') => {
                return Ok(Tag { end: i + 1, empty: bytes[i - 1] == b'/', names });
            }
            _ => {}
        }
    }
    Err(broken(start))
}

/// The end of a document type that declares nothing.
fn doctype(bytes: &[u8], start: usize) -> Result<usize, ReadFault> {
    let mut quote = None;
    for (i, byte) in bytes.iter().enumerate().skip(start + 2) {
        match (quote, byte) {
            (Some(q), b) if b == q => quote = None,
            (None, b'"' | b'\'') => quote = Some(byte),
            (None, b'[') => {
                let text = "the document type declares entities or attributes of its own";
                return Err(ReadFault::new("E90", text)
                    .cure("save the drawing as plain SVG")
                    .at(start));
            }
            (None, b'>') => return Ok(i + 1),
            _ => {}
        }
    }
    Err(broken(start))
}

fn find(bytes: &[u8], from: usize, what: &[u8]) -> Option<usize> {
    let first = what.first()?;
    let mut at = from;
    while let Some(step) = bytes.get(at..)?.iter().position(|b| b == first) {
        at += step;
        if bytes[at..].starts_with(what) {
            return Some(at);
        }
        at += 1;
    }
    None
}

fn past(bytes: &[u8], from: usize, what: &[u8], start: usize) -> Result<usize, ReadFault> {
    find(bytes, from, what).map(|at| at + what.len()).ok_or_else(|| broken(start))
}

pub(super) fn broken(at: usize) -> ReadFault {
    ReadFault::new("E90", "the file is cut off or not well-formed XML here")
        .cure("save the drawing again as plain SVG")
        .at(at)
}
