//! The stock record: sheets that are in hand for every job, among them what was left of others.
//!
//! Its tables are those of the job, and `[[remnant]]`. Where job and record name the same sheet the record wins, since
//! the sheet may have been cut since the job was written.

use super::desk::Desk;
use super::document::Document;
use super::machines::Names;
use super::reader;
use super::sheets::{self, Sheets};
use super::{Found, Input, Which};
use crate::fault::{Fault, Place};
use crate::lay::record::{hash, outline_hash};
use crate::material::{Material, Sort};
use crate::sheet::{Holder, Sheet, SheetKind};
use crate::stock::{SCHEMA, checked};
use std::collections::BTreeMap;

/// Where the record is looked for when the job names none.
pub const USUAL: &str = "out/stock.toml";
/// A record that grows with every lay may be larger than what is typed (bytes).
const MOST_RECORD: usize = 32 * 1024 * 1024;

/// Adds the sheets of the stock record to those of the job.
pub(super) fn add(
    desk: &Desk<'_>,
    named: Option<&(String, Place)>,
    names: &Names<'_>,
    sheets: &mut Sheets,
) {
    let (path, bytes) = match named {
        Some((path, _)) if comes_with_the_first_cut(desk, path) => return,
        Some((path, place)) => (path.as_str(), desk.file(path, place)),
        None => match desk.shelf.read(Which::Job, USUAL) {
            Found::Missing => return,
            Found::Bytes(bytes) => (USUAL, Some(bytes)),
            Found::Unreadable(why) => {
                desk.unreadable(USUAL, &why);
                (USUAL, None)
            }
        },
    };
    sheets.record = bytes.clone().map(|bytes| Input { path: path.to_owned(), bytes });
    let document = bytes
        .and_then(|bytes| desk.text(path, &bytes, MOST_RECORD))
        .filter(|document| is_ours(desk, path, document));
    let mut stock = None;
    if let Some(document) = document {
        reader::walk(&document, &desk.heap, "a stock record", |mut top| {
            top.take_count("schema", 1, SCHEMA);
            stock = Some(sheets::take(desk, &mut top, names, true));
            top.finish("table");
        });
    }
    let Some(stock) = stock else {
        sheets.lost = true;
        return;
    };
    sheets.lost |= stock.lost;
    sheets.materials.extend(stock.materials);
    let mut fresh = Vec::new();
    for sheet in stock.made {
        let same = |other: &&mut Sheet| other.id.to_lowercase() == sheet.id.to_lowercase();
        match sheets.made.iter_mut().find(same) {
            Some(old) => {
                let said = stock.entered.get(&sheet.id);
                if said.is_none_or(|said| *said != fingerprint(old)) {
                    desk.heap.add(
                        Fault::warning(
                            "W50",
                            format!(
                                "{} stands in the stock record too, which is what counts",
                                sheet.id
                            ),
                        )
                        .at(&old.place)
                        .mark(&sheet.place, "in the record")
                        .cure(
                            "take it out of the job, or give it another id if it is another sheet",
                        ),
                    );
                }
                sheets.ruled.push(sheet.id.clone());
                *old = sheet;
            }
            None => fresh.push(sheet),
        }
    }
    sheets.made.extend(fresh);
}

/// Whether a record that the job names is not there yet: missing, and no slip of a name that is there.
fn comes_with_the_first_cut(desk: &Desk<'_>, path: &str) -> bool {
    let there = desk.shelf.list(Which::Job);
    let known: Vec<&str> = there.iter().map(String::as_str).collect();
    matches!(desk.shelf.read(Which::Job, path), Found::Missing)
        && super::codes::meant(path, &known).is_none()
}

/// Whether a record is of a form that is known, and a whole text of TOML; else that alone is told.
fn is_ours(desk: &Desk<'_>, path: &str, document: &Document) -> bool {
    let head = Place::head(&document.file);
    match checked(&document.text, path) {
        Ok(()) => true,
        Err(fault) => {
            desk.heap.add(fault.at(&head));
            false
        }
    }
}

/// What a job says of a sheet, as a short hash: so that a sheet that came into the record from a job is known again
/// there.
pub fn fingerprint(sheet: &Sheet) -> String {
    let sheet = sheet.clone().at_origin();
    let thickness = sheet.thickness.as_ref().map(|t| t.text().to_owned());
    let said = format!(
        "{} {} {:?} {thickness:?} {} {:?} {:?} {}",
        sheet.kind.name(),
        sheet.material,
        sheet.up,
        sheet.grain,
        sheet.edge,
        sheet.cut_with,
        outline_hash(&Sheet { used: Vec::new(), ..sheet.clone() })
    );
    hash(said).chars().take(Holder::FIGURES).collect()
}

/// A remnant is what its material was to begin with.
pub(super) fn kind_of_remnant(mut sheet: Sheet, materials: &BTreeMap<String, Material>) -> Sheet {
    if let (Some(_), Some(material)) = (&sheet.from, materials.get(&sheet.material)) {
        sheet.kind = match material.sort {
            Sort::Leather => SheetKind::Hide,
            _ if material.is_woven() => SheetKind::Cloth,
            Sort::Laminate => SheetKind::Hide,
            _ => SheetKind::Leaf,
        };
    }
    sheet
}
