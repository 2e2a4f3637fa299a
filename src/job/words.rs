//! Short texts with a grammar of their own: names, positions, spares, shares, and figures with their unit.

use super::codes::quoted;
use super::reader::Reader;
use crate::fault::{Fault, Place};
use crate::part::Spares;
use std::collections::BTreeSet;

/// A job may hold so many pieces.
pub(super) const MOST_PIECES: usize = 10_000;
/// A name may be so long.
const LONGEST_NAME: usize = 40;
/// No count of spares is higher.
const MOST_SPARES: u32 = 1000;

/// Whether a text can be a name: letters, digits, `-` and `_`, the first a letter or digit, at most 40.
pub(super) fn is_name(text: &str) -> bool {
    text.len() <= LONGEST_NAME
        && text.starts_with(|c: char| c.is_ascii_alphanumeric())
        && text.ends_with(|c: char| c.is_ascii_alphanumeric())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
}

/// Reports a text that cannot be a name.
pub(super) fn check_name(reader: &Reader<'_>, text: &str, place: &Place) -> bool {
    let good = is_name(text);
    if !good {
        let mut instead: String = text
            .trim()
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' })
            .take(LONGEST_NAME)
            .collect();
        instead = instead.trim_matches('-').to_owned();
        let cure = if is_name(&instead) {
            format!("for example \"{instead}\"")
        } else {
            "for example \"pouch\" or \"H1\"".to_owned()
        };
        reader.fault(
            "E37",
            format!(
                "\"{}\" can't be a name: letters a to z, digits, - and _ make one, at most {LONGEST_NAME}",
                quoted(text)
            ),
            place,
            cure,
        );
    }
    good
}

/// A path inside the job folder, or why it is not one.
pub(super) fn check_path(reader: &Reader<'_>, text: &str, place: &Place) -> bool {
    let parts = text.split('/');
    let good = !text.is_empty()
        && text.len() <= 200
        && !text.contains(['\\', ':'])
        && !text.chars().any(char::is_control)
        && parts.clone().all(|part| !part.is_empty() && part != "." && part != "..");
    if !good {
        reader.fault(
            "E36",
            format!("\"{}\" is not a file inside the job folder", quoted(text)),
            place,
            "give it from the job folder on, with /, as in \"outlines/h1.svg\"",
        );
    }
    good
}

/// Numbered places: `1-54`, `1-12, 15, 20-30`, or `all` where the job says how many notes there are.
///
/// # Errors
/// A fault without its place.
pub(super) fn positions(text: &str, notes: Option<u32>) -> Result<Vec<u32>, Fault> {
    if text.trim().eq_ignore_ascii_case("all") {
        return notes.map(|n| (1..=n).collect()).ok_or_else(|| {
            Fault::error("E12", "\"all\" positions need `notes` under [job]")
                .cure("for example notes = 54, or positions = \"1-54\"")
        });
    }
    let unread = |piece: &str| {
        Fault::error("E23", format!("\"{}\" is not a position", quoted(piece)))
            .cure("write them as in \"1-54\" or \"1-12, 15, 20-30\"")
    };
    let number = |piece: &str| {
        let piece = piece.trim();
        piece
            .parse::<u32>()
            .ok()
            .filter(|_| piece.bytes().all(|b| b.is_ascii_digit()))
            .ok_or_else(|| unread(piece))
    };
    let mut found = BTreeSet::new();
    for piece in text.split(',') {
        let (from, to) = match piece.split_once(['-', '–']) {
            Some((from, to)) => (number(from)?, number(to)?),
            None => (number(piece)?, number(piece)?),
        };
        if from > to {
            return Err(Fault::error("E23", format!("positions {from}-{to} run backwards"))
                .cure(format!("write {to}-{from}")));
        }
        if from == 0 || to as usize > MOST_PIECES {
            return Err(Fault::error(
                "E23",
                format!(
                    "positions run from 1 to {MOST_PIECES}, and \"{}\" goes beyond",
                    quoted(piece)
                ),
            )
            .cure("write them as in \"1-54\""));
        }
        for position in from..=to {
            if !found.insert(position) {
                return Err(Fault::error("E24", format!("position {position} is given twice"))
                    .cure("name each position once"));
            }
        }
    }
    let beyond: Vec<u32> =
        found.iter().copied().filter(|n| notes.is_some_and(|m| *n > m)).collect();
    if let (Some(notes), false) = (notes, beyond.is_empty()) {
        return Err(Fault::error(
            "E23",
            format!("positions {} are beyond `notes` = {notes} under [job]", runs(&beyond)),
        )
        .cure("look at both; a part that is not numbered by notes takes `count`"));
    }
    Ok(found.into_iter().collect())
}

/// Numbers as a person writes them: `1-12, 15, 20-30`.
pub fn places(numbers: &[u32]) -> String {
    told(numbers, usize::MAX)
}

/// The same for a message, cut short after eight runs.
pub(super) fn runs(numbers: &[u32]) -> String {
    told(numbers, 8)
}

fn told(numbers: &[u32], most: usize) -> String {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable();
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for n in sorted {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == n => *last = n,
            _ => runs.push((n, n)),
        }
    }
    let run = |(a, b): &(u32, u32)| match b - a {
        0 => a.to_string(),
        1 => format!("{a}, {b}"),
        _ => format!("{a}-{b}"),
    };
    let mut list: Vec<String> = runs.iter().take(most).map(run).collect();
    if runs.len() > most {
        list.push("…".to_owned());
    }
    list.join(", ")
}

/// Spares: `none`, `6`, `1 in 10`, `5 %`, each with `, at least 2` if wanted.
///
/// # Errors
/// A fault without its place.
pub(super) fn spares(text: &str) -> Result<Spares, Fault> {
    let unread = || {
        Fault::error("E09", format!("`spares` can't be \"{}\"", quoted(text)))
            .cure("it takes \"none\", \"6\", \"1 in 10\" or \"5 %\", each with \", at least 2\" if wanted")
    };
    let low = text.trim().to_lowercase();
    let (head, least) = match low.split_once(',') {
        None => (low.as_str(), 0),
        Some((head, rest)) => {
            let number = rest.trim().strip_prefix("at least ").ok_or_else(unread)?;
            (head.trim(), count(number).ok_or_else(unread)?)
        }
    };
    if head == "none" {
        return Ok(Spares { share: 0.0, least });
    }
    if let Some(number) = count(head) {
        return Ok(Spares { share: 0.0, least: number.max(least) });
    }
    if let Some(number) = head.strip_prefix("at least ").and_then(count) {
        return Ok(Spares { share: 0.0, least: number });
    }
    if let Some((few, many)) = head.split_once(" in ") {
        let both = count(few).zip(count(many)).filter(|(few, many)| few <= many && *many > 0);
        let (few, many) = both.ok_or_else(unread)?;
        return Ok(Spares { share: f64::from(few) / f64::from(many), least });
    }
    let share = share(head).filter(|s| (0.0..=1.0).contains(s)).ok_or_else(unread)?;
    Ok(Spares { share, least })
}

fn count(text: &str) -> Option<u32> {
    let text = text.trim();
    let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| text.parse().ok()).flatten().filter(|n| *n <= MOST_SPARES)
}

/// A share written in per cent, `2 %` or `-0.5 %`, as a number (0.02).
pub(super) fn share(text: &str) -> Option<f64> {
    decimal(text.trim().strip_suffix('%')?).map(|n| n / 100.0)
}

/// A plain decimal, no exponent, no words.
pub(super) fn decimal(text: &str) -> Option<f64> {
    let text = text.trim();
    let digits = text.strip_prefix('-').unwrap_or(text);
    let plain = digits.starts_with(|c: char| c.is_ascii_digit() || c == '.')
        && digits.len() <= 12
        && digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    plain.then(|| text.parse().ok()).flatten()
}

/// A figure with one of a few units, in the first of them: `10 W`, `450 nm`.
pub(super) fn figure(text: &str, units: &[(&str, f64)]) -> Option<f64> {
    let text = text.trim();
    let end = text.find(|c: char| c.is_alphabetic())?;
    let (number, unit) = text.split_at(end);
    let (_, factor) = units.iter().find(|(name, _)| name.eq_ignore_ascii_case(unit.trim()))?;
    decimal(number).map(|n| n * factor)
}
