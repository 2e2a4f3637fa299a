//! The stock record: sheets that are in hand for every job, among them what was left of others.
//!
//! Its tables are those of the job, and `[[remnant]]`. Where job and record name the same sheet the record wins, since
//! the sheet may have been cut since the job was written.

use super::Found;
use super::Which;
use super::desk::Desk;
use super::machines::Names;
use super::reader;
use super::sheets::{self, Sheets};
use crate::fault::{Fault, Place};
use crate::material::{Material, Sort};
use crate::sheet::{Sheet, SheetKind};
use std::collections::BTreeMap;

/// Where the record is looked for when the job names none.
const USUAL: &str = "out/stock.toml";

/// Adds the sheets of the stock record to those of the job.
pub(super) fn add(
    desk: &Desk<'_>,
    named: Option<&(String, Place)>,
    names: &Names<'_>,
    sheets: &mut Sheets,
) {
    let (path, bytes) = match named {
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
    let document = bytes.and_then(|bytes| desk.document(path, bytes));
    let mut stock = None;
    if let Some(document) = document {
        reader::walk(&document, &desk.heap, "a stock record", |mut top| {
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
                    .cure("take it out of the job, or give it another id if it is another sheet"),
                );
                *old = sheet;
            }
            None => fresh.push(sheet),
        }
    }
    sheets.made.extend(fresh);
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
