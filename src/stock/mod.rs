//! The stock record as a text: sheets put in and taken out, ground claimed, booked as cut and set free again.
//!
//! Takes the text of a record and what is to be done; gives an [`Edit`], which changes those bytes alone: comments,
//! order and spaces stay. Every changed text is read again and compared with what was meant before it is handed over.
//! The record's log is made here too, a line a change, with the bytes that take it back.
//!
//! Knows no disk and no clock.

mod blocks;
mod edit;
mod log;
mod spots;
#[cfg(test)]
mod tests;

pub use edit::{Edit, Splice};
pub use log::{Line, LogEnd, Standing, last_line, standing, to_take_back, whole_lines};
pub use spots::{Block, Entry, checked, entries};

use crate::fault::{Fault, nearest};
use crate::geom::Loop;
use crate::sheet::{Holder, Sheet, State};
use crate::units::Day;
use blocks::{held_block, sheet_block};
use spots::{Spot, spots};
use std::collections::BTreeMap;

/// The number of this form of the record.
pub const SCHEMA: u32 = 1;

/// The first lines of a record that the program begins.
const HEAD: &str = "# The stock record: sheets in hand, what is claimed of them and what was cut. It may be edited by hand.\nschema = 1\n";

/// Tables for the end of a record, with its first lines where it begins with them.
fn begun(text: &str, tables: String) -> String {
    if text.trim().is_empty() { format!("{HEAD}{tables}") } else { tables }
}

/// What a lay takes of a sheet.
#[derive(Debug, Clone)]
pub struct Taken<'a> {
    /// The sheet, its box at the origin.
    pub sheet: &'a Sheet,
    /// What the job said of it, where it comes from there, as [`Entry::entered`] keeps it.
    pub entered: &'a str,
    /// The addresses of the pieces with their outlines.
    pub pieces: Vec<(String, Loop)>,
}

/// Claims ground for a lay: at its first claim a sheet of the job comes into the record.
///
/// # Errors
/// `E84` where another lay of that name holds ground of one of the sheets; `E85` where the record can't be changed.
pub fn claim(text: &str, by: &Holder, list: &[Taken<'_>], today: Day) -> Result<Edit, Fault> {
    let found = spots(text)?;
    let mut edit = Edit::new(text);
    let mut wanted = entries(text)?;
    let mut fresh = String::new();
    for taken in list {
        let id = &taken.sheet.id;
        let pieces: Vec<_> =
            taken.pieces.iter().map(|(a, l)| (a.clone(), State::Claimed, l.clone())).collect();
        let block = Block {
            by: by.clone(),
            pieces: pieces.iter().map(|p| (p.0.clone(), p.1)).collect(),
            given: Vec::new(),
        };
        let Some(spot) = found.iter().find(|spot| spot.entry.is(id)) else {
            let table = taken.sheet.kind.name();
            fresh.push_str(&sheet_block(taken.sheet, table, (Some(taken.entered), Some(today))));
            fresh.push_str(&held_block(table, by, &pieces, taken.sheet.corner));
            wanted.push(Entry {
                claims: vec![block],
                entered: Some(taken.entered.to_owned()),
                ..Entry::new(table, id, taken.sheet.generation)
            });
            continue;
        };
        if spot.entry.claims.iter().any(|claim| claim.by == *by) {
            continue;
        }
        if let Some(old) = spot.entry.claims.iter().find(|claim| claim.by.is_named_like(by)) {
            return Err(Fault::error(
                "E84",
                format!("{id} is claimed by an earlier lay of the name {}", old.by),
            )
            .cure(format!("book it with: pouchwork tally {0} --all-good, or, if it was never cut, --withdrawn", by.lay)));
        }
        let held = held_block(spot.entry.table, by, &pieces, taken.sheet.corner);
        edit.insert(spot.end, &held);
        wanted.iter_mut().filter(|e| e.is(id)).for_each(|e| e.claims.push(block.clone()));
    }
    if !fresh.is_empty() {
        edit.append(&begun(text, fresh));
    }
    edit.proven(&wanted)
}

/// How a lay came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tally {
    /// Cut; every piece is good but those named.
    Cut(BTreeMap<String, State>),
    /// Never cut: its ground is free again.
    Withdrawn,
}

/// Books a lay: its claims become cuts and its sheets' generations rise, or its ground is free again.
///
/// # Errors
/// `E86` for an address that it does not claim, `E87` where it claims nothing, `E85`.
pub fn tally(text: &str, lay: &Holder, how: &Tally) -> Result<Edit, Fault> {
    let found = spots(text)?;
    let is_its = |claim: &Block| claim.by.is_named_like(lay);
    let claimed: Vec<String> = found
        .iter()
        .flat_map(|spot| spot.entry.claims.iter().filter(|claim| is_its(claim)))
        .flat_map(|claim| claim.pieces.iter().map(|(address, _)| address.clone()))
        .collect();
    if claimed.is_empty() {
        return Err(nothing_claimed(lay, &found));
    }
    if let Tally::Cut(states) = how
        && let Some(wrong) = states.keys().find(|address| !claimed.contains(address))
    {
        return Err(unknown_address(wrong, lay, &claimed));
    }
    let mut edit = Edit::new(text);
    let mut wanted = entries(text)?;
    for (spot, entry) in found.iter().zip(&mut wanted) {
        let mut any = false;
        for (n, claim) in spot.entry.claims.iter().enumerate().filter(|(_, claim)| is_its(claim)) {
            any = true;
            match how {
                Tally::Withdrawn => edit.cut_out(spot.claims[n].clone()),
                Tally::Cut(states) => {
                    let state = |a: &String| states.get(a).copied().unwrap_or(State::Good);
                    let body = &text[spot.claims[n].clone()];
                    let made = blocks::booked(body, spot.entry.table, claim, &state)
                        .ok_or_else(spots::by_hand)?;
                    edit.replace(spot.claims[n].clone(), made);
                    entry.cuts.push(Block {
                        by: claim.by.clone(),
                        pieces: claim.pieces.iter().map(|(a, _)| (a.clone(), state(a))).collect(),
                        given: Vec::new(),
                    });
                }
            }
        }
        entry.claims.retain(|claim| !is_its(claim));
        if any && *how != Tally::Withdrawn {
            entry.generation += 1;
            edit.generation(spot, entry.generation);
        }
    }
    edit.proven(&wanted)
}

fn nothing_claimed(lay: &Holder, found: &[Spot]) -> Fault {
    let booked: Vec<String> = found
        .iter()
        .filter(|spot| spot.entry.cuts.iter().any(|cut| cut.by.is_named_like(lay)))
        .map(|spot| spot.entry.id.clone())
        .collect();
    if !booked.is_empty() {
        return Fault::error("E87", format!("{lay} is already booked, on {}", booked.join(", ")))
            .cure("for a piece that was spoilt since: pouchwork recut PIECE --anyway; to book all of it otherwise: pouchwork stock undo, as often as there are later bookings, then tally again");
    }
    let mut held: Vec<String> = found
        .iter()
        .flat_map(|spot| spot.entry.claims.iter().map(|claim| claim.by.to_string()))
        .collect();
    held.sort();
    held.dedup();
    Fault::error("E87", format!("{lay} claims nothing in the stock record")).cure(
        if held.is_empty() {
            format!("cut it first: pouchwork cut {}", lay.lay)
        } else {
            format!("there are claims of: {}", held.join(", "))
        },
    )
}

fn unknown_address(wrong: &str, lay: &Holder, claimed: &[String]) -> Fault {
    let first = nearest(wrong, claimed.iter().map(String::as_str));
    let part = wrong.split([':', '/', '+']).next().unwrap_or(wrong);
    let alike = claimed
        .iter()
        .map(String::as_str)
        .filter(|a| a.split([':', '/', '+']).next() == Some(part));
    let mut near: Vec<&str> = first.into_iter().chain(alike).collect();
    let mut seen = std::collections::BTreeSet::new();
    near.retain(|a| seen.insert(*a));
    near.truncate(5);
    if near.is_empty() {
        near = claimed.iter().map(String::as_str).take(5).collect();
    }
    Fault::error("E86", format!("{lay} has no piece {wrong}"))
        .cure(format!("the nearest it has: {}; nothing was booked", near.join(", ")))
}

/// Puts a sheet in.
///
/// # Errors
/// `E14` where one of its id is there; `E85`.
pub fn add(text: &str, sheet: &Sheet, entered: Option<&str>, today: Day) -> Result<Edit, Fault> {
    let mut wanted = entries(text)?;
    if let Some(there) = wanted.iter().find(|e| e.is(&sheet.id)) {
        return Err(Fault::error("E14", format!("{} is in the stock record already", there.id))
            .cure("give the new one another id"));
    }
    let table = if sheet.from.is_some() { "remnant" } else { sheet.kind.name() };
    let block = sheet_block(sheet, table, (entered, Some(today)));
    let mut edit = Edit::new(text);
    edit.append(&begun(text, block));
    wanted.push(Entry {
        entered: entered.map(str::to_owned),
        ..Entry::new(table, &sheet.id, sheet.generation)
    });
    edit.proven(&wanted)
}

/// The entry of an id.
///
/// # Errors
/// `E88`, with the ids that are there.
pub fn entry<'a>(found: &'a [Entry], id: &str) -> Result<&'a Entry, Fault> {
    found.iter().find(|e| e.is(id)).ok_or_else(|| {
        let ids: Vec<&str> = found.iter().map(|e| e.id.as_str()).collect();
        let cure = match nearest(id, ids.iter().copied()) {
            Some(near) => format!("did you mean {near}?"),
            None if ids.is_empty() => "the record is empty: pouchwork stock add".to_owned(),
            None => format!("it has: {}", ids.join(", ")),
        };
        Fault::error("E88", format!("there is no sheet {id} in the stock record")).cure(cure)
    })
}

/// Takes a sheet out.
///
/// # Errors
/// `E88` where it is not there, `E89` where claims stand on it, `E85`.
pub fn forget(text: &str, id: &str) -> Result<Edit, Fault> {
    let mut wanted = entries(text)?;
    let it = entry(&wanted, id)?;
    if let Some(claim) = it.claims.first() {
        return Err(Fault::error("E89", format!("{} is claimed by {}", it.id, claim.by)).cure(format!(
            "book it first: pouchwork tally {0} --all-good, or, if it was never cut, --withdrawn",
            claim.by.lay
        )));
    }
    let mut edit = Edit::new(text);
    for spot in spots(text)?.iter().filter(|spot| spot.entry.is(id)) {
        edit.cut_out(spot.start..spot.end);
    }
    wanted.retain(|e| !e.is(id));
    edit.proven(&wanted)
}

/// Books that a good spare is taken from the bag for a place.
///
/// # Errors
/// `E118` where the lay cut no such spare, or it was taken before; `E85`.
pub fn give(text: &str, lay: &Holder, spare: &str, place: &str) -> Result<Edit, Fault> {
    let mut wanted = entries(text)?;
    let mut edit = Edit::new(text);
    for (spot, entry) in spots(text)?.iter().zip(&mut wanted) {
        for (n, cut) in entry.cuts.iter_mut().enumerate().filter(|(_, c)| c.by.is_named_like(lay)) {
            let is_good = cut.pieces.iter().any(|(a, s)| a == spare && *s == State::Good);
            if !is_good || cut.given.iter().any(|(a, _)| a == spare) {
                continue;
            }
            let range = spot.cuts.get(n).ok_or_else(spots::by_hand)?;
            let (at, words) =
                blocks::given(&text[range.clone()], spare, place).ok_or_else(spots::by_hand)?;
            edit.replace(range.start + at..range.start + at, words);
            cut.given.push((spare.to_owned(), place.to_owned()));
            return edit.proven(&wanted);
        }
    }
    Err(Fault::error("E118", format!("{lay} has no spare {spare} that is good and not taken yet"))
        .cure("pouchwork status tells which spares there are"))
}

/// Parts the rest of a sheet off: it becomes a sheet of its own, and the sheet keeps the line of the used side.
///
/// `near` is that line in the sheet's own system; flaws, zones and readings in `gone`, by the names of their
/// tables and their numbers counted from the last, lie beyond it.
///
/// # Errors
/// `E14`, `E85`, `E88`.
pub fn part_off(
    text: &str,
    id: &str,
    (near, gone): (&Loop, &[(&str, usize)]),
    rest: &Sheet,
    today: Day,
) -> Result<Edit, Fault> {
    let mut wanted = entries(text)?;
    entry(&wanted, id)?;
    if wanted.iter().any(|e| e.is(&rest.id)) {
        return Err(Fault::error("E14", format!("{} is in the stock record already", rest.id)));
    }
    let mut edit = Edit::new(text);
    for spot in spots(text)?.iter().filter(|spot| spot.entry.is(id)) {
        let (key, is_rectangle) = spot.shape.clone().ok_or_else(spots::by_hand)?;
        if is_rectangle {
            let b = near.bounds();
            edit.replace(
                spot.width.clone().ok_or_else(spots::by_hand)?,
                format!("\"{} mm\"", b.height()),
            );
            edit.replace(key, format!("\"{} mm\"", b.width()));
        } else {
            edit.replace(key, format!("line = {}", blocks::exact_line(near)));
        }
        for (table, n) in gone {
            // What the table does not say itself, a selvedge, goes with its sides.
            let list = spot.others.get(*table).ok_or_else(spots::by_hand)?;
            if let Some(range) = list.len().checked_sub(n + 1).and_then(|n| list.get(n)) {
                edit.cut_out(range.clone());
            }
        }
    }
    edit.append(&sheet_block(rest, "remnant", (None, Some(today))));
    wanted.push(Entry::new("remnant", &rest.id, rest.generation));
    edit.proven(&wanted)
}
