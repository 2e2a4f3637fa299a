//! Materials: their profiles.

use super::codes::quoted;
use super::desk::Desk;
use super::lengths::How;
use super::machines::source;
use super::parts::Draft;
use super::reader::{Reader, walk};
use super::words::{check_name, share};
use crate::fault::{Fault, Place};
use crate::machine::Process;
use crate::material::{CutSetting, Material, Polymer, Sort, Stretch, Tannage};
use std::collections::BTreeMap;

/// No stretch in use is greater (share).
const MOST_STRETCH: f64 = 0.5;

/// Loads every material that parts and sheets name.
pub(super) fn load(
    desk: &Desk<'_>,
    drafts: &[Draft],
    sheets: &[(String, Place)],
) -> BTreeMap<String, Material> {
    let mut wanted: BTreeMap<&str, Vec<Place>> = BTreeMap::new();
    for (material, place) in sheets {
        wanted.entry(material).or_default().push(place.clone());
    }
    for draft in drafts {
        let own = std::iter::once((&draft.part.material, &draft.material_at));
        let others = draft.companions.iter().map(|c| (&c.part.material, &c.material_at));
        for (material, at) in own.chain(others) {
            wanted.entry(material).or_default().extend(at.clone());
        }
    }
    let mut materials = BTreeMap::new();
    for (name, places) in wanted {
        if name.is_empty() {
            continue;
        }
        let Some(document) = desk.profile("materials", name, &places) else {
            continue;
        };
        walk(&document, &desk.heap, "a material profile", |top| {
            if let Some(material) = material(name, top) {
                materials.insert(name.to_owned(), material);
            }
        });
    }
    materials
}

fn material(name: &str, mut top: Reader<'_>) -> Option<Material> {
    let Some(mut head) = top.take_table("material", "[material]") else {
        top.needs_table("[material]", "its head", "write [material] with its keys below it");
        return None;
    };
    let title = head.take_text("name").map_or_else(|| name.to_owned(), |(text, _)| text);
    let sort = head
        .need_text("sort", "what it is", "\"leather\"")
        .and_then(|_| head.take_word("sort", Sort::NAMES));
    let thickness = head.take_length("thickness", How::Thickness).map(|(l, _)| l);
    let tannage = head.take_word("tannage", Tannage::NAMES).map(|(t, _)| t);
    let coating = head.take_word("coating", Polymer::NAMES).map(|(c, _)| c);
    let salvaged = head.take_flag("salvaged").unwrap_or(false);
    let data_sheet = data_sheet(&mut head);
    if let (Some((Sort::CoatedCloth, _)), Some(Polymer::None)) = (&sort, coating) {
        head.fault(
            "E28",
            "a coated cloth whose coating is \"none\"".to_owned(),
            &head.place.clone(),
            "name the coating, or say sort = \"cloth\"",
        );
    }
    let head_source = source(&mut head);
    let place = head.place.clone();
    head.finish("key");
    let wet = top.take_table("wet-glue", "[wet-glue]").and_then(stretch);
    let stretch = top.take_table("stretch", "[stretch]").and_then(stretch);
    let thick = thickness.as_ref().map_or(0.0, crate::units::Length::mm);
    let tables = top.take_tables("cut", "this [[cut]]");
    let wanted = tables.len();
    let cuts: Vec<CutSetting> = tables.into_iter().filter_map(|table| cut(table, thick)).collect();
    for (n, cut) in cuts.iter().enumerate() {
        if let Some(first) = cuts.iter().take(n).find(|first| first.on == cut.on) {
            top.heap.add(
                Fault::error("E14", format!("two [[cut]] tables are for \"{}\"", cut.on))
                    .at(&cut.place)
                    .mark(&first.place, "first here")
                    .cure("delete one of them"),
            );
        }
    }
    top.finish("table");
    if cuts.len() != wanted {
        return None;
    }
    Some(Material {
        key: name.to_owned(),
        title,
        sort: sort?.0,
        thickness,
        tannage,
        coating,
        salvaged,
        data_sheet,
        stretch,
        wet,
        cuts,
        source: head_source?,
        place,
    })
}

/// The maker's data sheet: who gave it and on which day. A text that says neither is no data sheet.
fn data_sheet(head: &mut Reader<'_>) -> Option<String> {
    let (text, place) = head.take_text("data-sheet")?;
    let says = text.trim().chars().filter(|c| c.is_alphabetic()).count() >= 4
        && text.chars().any(|c| c.is_ascii_digit());
    if says {
        return Some(text);
    }
    head.fault(
        "E38",
        format!("`data-sheet` is \"{}\", which names no issuer and day", quoted(&text)),
        &place,
        "for example data-sheet = \"supplier's letter of 11 February 2025\"; leave it out where there is none",
    );
    None
}

fn stretch(mut table: Reader<'_>) -> Option<Stretch> {
    let along = take_share(&mut table, "along", "growth along the grain or the warp");
    let across = take_share(&mut table, "across", "growth across the grain or the warp");
    let source = source(&mut table);
    table.finish("key");
    Some(Stretch { along: along?, across: across?, source: source? })
}

fn take_share(table: &mut Reader<'_>, key: &'static str, about: &str) -> Option<f64> {
    let (text, place) = table.need_text(key, about, "\"2 %\"")?;
    check_share(table, &text, &place)
}

/// A stretch in per cent.
pub(super) fn check_share(reader: &Reader<'_>, text: &str, place: &Place) -> Option<f64> {
    if text.contains(',') {
        reader.fault(
            "E17",
            format!("\"{}\" has a comma in a number", quoted(text)),
            place,
            "write a point, as in \"2.5 %\"",
        );
        return None;
    }
    let value = share(text).filter(|s| s.abs() <= MOST_STRETCH);
    if value.is_none() {
        reader.fault(
            "E20",
            format!("\"{}\" is not a stretch", quoted(text)),
            place,
            "give it in per cent, as in \"2 %\"; more than 50 % is no stretch in use",
        );
    }
    value
}

fn cut(mut table: Reader<'_>, thickness: f64) -> Option<CutSetting> {
    let on =
        table.need_text("on", "the machine, or \"laser\" or \"knife\" for any such", "\"knife\"");
    if let Some((name, place)) = &on {
        let process = Process::NAMES.iter().any(|(process, _)| process == name);
        if !process && !check_name(&table, name, place) {
            return None;
        }
    }
    let both = take_kerf(&mut table, "kerf");
    let kerfs = if table.has("kerf") {
        for key in ["kerf-x", "kerf-y"] {
            if let Some(item) = table.take(key) {
                table.fault(
                    "E13",
                    format!("`kerf` is the width both ways, so `{key}` is one too many"),
                    &item.place,
                    "give `kerf` alone, or `kerf-x` and `kerf-y`",
                );
            }
        }
        both.map(|kerf| (kerf, kerf))
    } else {
        match (table.has("kerf-x"), table.has("kerf-y")) {
            (false, false) => {
                table.needs("kerf", "width of the cut", "\"0.2 mm\"");
                None
            }
            (true, false) => {
                table.needs("kerf-y", "width of the cut along the machine's y", "\"0.2 mm\"");
                None
            }
            (false, true) => {
                table.needs("kerf-x", "width of the cut along the machine's x", "\"0.2 mm\"");
                None
            }
            (true, true) => {
                let x = take_kerf(&mut table, "kerf-x");
                let y = take_kerf(&mut table, "kerf-y");
                if let (Some(x), Some(y)) = (x, y)
                    && (x > 0.0) != (y > 0.0)
                {
                    table.fault(
                        "E43",
                        "a cut can't have width one way and none the other".to_owned(),
                        &table.place.clone(),
                        "give the least that was measured, or 0 mm for both",
                    );
                    return None;
                }
                x.zip(y)
            }
        }
    };
    let gap = table.need_length("gap", "material left between two cuts", "\"1 mm\"");
    let edge = table.need_length("edge", "material left to the sheet's edge or a flaw", "\"5 mm\"");
    let web = table.take_length("least-web", How::Size);
    let web_given = table.has("least-web");
    let source = source(&mut table);
    let place = table.place.clone();
    table.finish("key");
    let (kerf_x, kerf_y) = kerfs?;
    let least_web = match web {
        Some((web, _)) => web.mm(),
        None if web_given => return None,
        None => (3.0 * kerf_x.max(kerf_y)).max(thickness),
    };
    Some(CutSetting {
        on: on?.0,
        kerf_x,
        kerf_y,
        gap: gap?.0.mm(),
        edge: edge?.0.mm(),
        least_web,
        source: source?,
        place,
    })
}

fn take_kerf(table: &mut Reader<'_>, key: &'static str) -> Option<f64> {
    let (length, place) = table.take_length(key, How::Signed)?;
    if length.mm() < 0.0 {
        table.fault(
            "E41",
            format!("`{key}` is {}, and a cut can't be narrower than nothing", length.text()),
            &place,
            "if it comes from a coupon: were squares and holes changed over?",
        );
        return None;
    }
    Some(length.mm())
}
