//! The tables [[travel]]: valves with their measured gaps; the papers they need become parts of the job.

use super::Head;
use super::codes::quoted;
use super::desk::Desk;
use super::document::Heap;
use super::figures::{self, Taken};
use super::lengths::How;
use super::machines::Names;
use super::parts::{lay_over, positions};
use super::reader::Reader;
use super::sheets::doubled;
use super::slips;
use super::stuff;
use super::table::{self, Rows};
use super::words::{check_name, check_path, runs};
use crate::fault::{Fault, Place};
use crate::geom::tolerance::SLACK;
use crate::material::Material;
use crate::part::{
    Aim, Balance, Grain, Kind, Measures, Paper, Part, Positions, Spares, TRAVEL_KEYS, Travel,
    USUAL_TRAVEL, Value, WITHIN, balance,
};
use crate::sheet::{Sheet, SheetKind};
use crate::units::{Length, Unit, show_inches};
use std::collections::BTreeMap;
use toml::de::DeValue;

/// So many papers lie in one place at most, and so many sorts may be named.
const MOST: u32 = 6;
/// So many where the job does not say.
///
/// # Source
/// Our choice: a high stack of papers gives under the screws.
const USUAL_MOST: u32 = 4;
/// A clearance that differs from the wanted one by more than this is pointed out (mm): a 64th.
///
/// # Source
/// Common practice, as for the bottom of a well.
const CLEARANCE_OFF: f64 = 0.396_875;
/// A paper from a leaf may differ from the leaf's thickness by this (mm).
const LEAF_OFF: f64 = 0.005;

/// A set of valves as it stands in the job, before papers are looked up.
pub(super) struct Draft {
    pub(super) name: String,
    /// The unit of its numbers.
    pub(super) unit: Option<Unit>,
    /// Its places.
    pub(super) positions: Positions,
    place: Place,
    aim: Option<Aim>,
    facings: Option<u32>,
    diameter: Option<(Length, Place)>,
    hole: Option<(Length, Place)>,
    papers: Vec<(String, Place)>,
    wanted: Option<f64>,
    base: Taken,
    rows: Option<Rows>,
    cut_with: Option<String>,
    spares: Spares,
}

/// Takes every set of valves.
pub(super) fn take(
    desk: &Desk<'_>,
    top: &mut Reader<'_>,
    head: &Head,
    names: &Names<'_>,
    with_tables: bool,
) -> Vec<Draft> {
    top.take_tables("travel", "this travel")
        .into_iter()
        .filter_map(|reader| draft(desk, reader, head, names, with_tables))
        .collect()
}

/// The materials of papers, as far as they are no leaves.
pub(super) fn materials(drafts: &[Draft], sheets: &[Sheet]) -> Vec<(String, Place)> {
    let named = drafts.iter().flat_map(|draft| &draft.papers);
    named.filter(|(name, _)| leaf(sheets, name).is_none()).cloned().collect()
}

/// Leaves of a paper's material that say nothing are as thick as the material, where another leaf of it is not: else a
/// thin paper could be cut from a thick leaf.
pub(super) fn fill(drafts: &[Draft], materials: &BTreeMap<String, Material>, sheets: &mut [Sheet]) {
    for name in mixed(drafts, sheets) {
        let thickness = materials.get(&name).and_then(|material| material.thickness.clone());
        let silent = |sheet: &&mut Sheet| sheet.material == name && sheet.thicknesses().is_empty();
        for sheet in sheets.iter_mut().filter(silent) {
            sheet.thickness.clone_from(&thickness);
        }
    }
}

/// Materials of papers of which some sheet has a thickness of its own.
fn mixed(drafts: &[Draft], sheets: &[Sheet]) -> Vec<String> {
    let named = drafts.iter().flat_map(|draft| &draft.papers);
    let of = |name: &str| {
        leaf(sheets, name).map_or_else(|| name.to_owned(), |leaf| leaf.material.clone())
    };
    let mut made: Vec<String> = named.map(|(name, _)| of(name)).collect();
    made.sort();
    made.dedup();
    made.retain(|name| sheets.iter().any(|it| it.material == *name && it.thickness.is_some()));
    made
}

fn leaf<'a>(sheets: &'a [Sheet], name: &str) -> Option<&'a Sheet> {
    sheets.iter().find(|sheet| sheet.kind == SheetKind::Leaf && sheet.id == name)
}

fn draft(
    desk: &Desk<'_>,
    mut reader: Reader<'_>,
    head: &Head,
    names: &Names<'_>,
    with_tables: bool,
) -> Option<Draft> {
    let name = reader.need_text("name", "your name for it", "\"buttons\"");
    let good = name.as_ref().is_some_and(|(name, place)| check_name(&reader, name, place));
    let positions = positions(&mut reader, head);
    let base = figures::take(desk, &mut reader, TRAVEL_KEYS);
    let path = reader.take_text("table").filter(|(path, place)| check_path(&reader, path, place));
    let what = ("this travel", TRAVEL_KEYS);
    let rows = match path {
        Some((path, place)) if with_tables => {
            desk.file(&path, &place).and_then(|bytes| desk.document(&path, bytes)).and_then(
                |text| table::read_keys(&desk.heap, &text, what, positions.as_ref(), reader.unit),
            )
        }
        _ if reader.has("table") || !with_tables => None,
        _ => Some(Rows::new()),
    };
    let aim = aim(&mut reader);
    let facings = reader.take_count("facings", 1, 4).map(|(n, _)| n);
    let diameter = reader.need_length("diameter", "outside diameter of a paper", "\"7/8 in\"");
    let hole = reader.take_length("hole", How::Size);
    let papers = papers(&mut reader);
    let wanted = reader.take_length("clearance-wanted", How::Size).map(|(l, _)| l.mm());
    let cut_with = names.take(&mut reader);
    if cut_with.is_none() && !reader.has("cut-with") {
        reader.needs("cut-with", "what cuts the papers", "\"knife\"");
    }
    let spares = stuff::spares(&mut reader).unwrap_or(head.spares);
    let (unit, place) = (reader.unit, reader.place.clone());
    reader.finish("key");
    Some(Draft {
        name: name.filter(|_| good)?.0,
        unit,
        positions: positions?,
        place,
        aim,
        facings,
        diameter,
        hole,
        papers,
        wanted,
        base,
        rows,
        cut_with,
        spares,
    })
}

/// What the gaps are to come to.
fn aim(reader: &mut Reader<'_>) -> Option<Aim> {
    let target = reader.need_length("target", "the gap that is wanted", "\"0.037 in\"");
    let least = reader.need_length("least", "the gap may never be less", "\"0.035 in\"");
    let within = reader.take_length("within", How::Size).map_or(WITHIN, |(l, _)| l.mm());
    let most = reader.take_count("most", 0, MOST).map_or(USUAL_MOST, |(n, _)| n);
    let words = [("wider", true), ("narrower", false)];
    if !reader.has("papers-make") {
        reader.needs(
            "papers-make",
            "whether a paper makes the gap \"wider\" or \"narrower\"",
            "\"wider\"",
        );
    }
    let wider = reader.take_word("papers-make", &words);
    let ((target, at), (least, least_at)) = (target?, least?);
    if least.mm() > target.mm() + SLACK {
        reader.heap.add(
            Fault::error(
                "E28",
                format!("the least gap {} is more than the target {}", least.text(), target.text()),
            )
            .at(&least_at)
            .mark(&at, "the target")
            .cure("the least is at most the target: were they changed over?"),
        );
        return None;
    }
    if !(USUAL_TRAVEL.0 - SLACK..=USUAL_TRAVEL.1 + SLACK).contains(&target.mm()) {
        reader.heap.add(
            Fault::warning("W76", format!("a travel of {} is wanted", target.text()))
                .at(&at)
                .cure("valves are found at .020 to .055 in: look at the unit and the point"),
        );
    }
    Some(Aim { target: target.mm(), least: least.mm(), within, most, wider: wider?.0 })
}

/// The names of the papers in stock.
fn papers(reader: &mut Reader<'_>) -> Vec<(String, Place)> {
    let sample = "[\"packing-paper\", \"thin-card\"]";
    let Some(item) = reader.take("papers") else {
        reader.needs("papers", "what is in stock: materials, or leaves by their id", sample);
        return Vec::new();
    };
    let Some(items) = reader.list_of(&item).filter(|list| !list.is_empty()) else {
        reader.wants("papers", "a list of materials or leaves", &item, sample);
        return Vec::new();
    };
    if items.len() > MOST as usize {
        reader.fault(
            "E07",
            format!("{} papers are more than {MOST}", items.len()),
            &item.place,
            "name those that lie nearest to hand",
        );
        return Vec::new();
    }
    let mut made: Vec<(String, Place)> = Vec::new();
    for item in items {
        let DeValue::String(text) = item.value else {
            reader.wants("papers", "names in quotes", &item, sample);
            continue;
        };
        let name = text.trim().trim_start_matches("materials/").trim_end_matches(".toml");
        if made.iter().any(|(other, _)| other == name) {
            reader.fault(
                "E14",
                format!("the paper \"{}\" is named twice", quoted(name)),
                &item.place,
                "name each once: a place may get several of one",
            );
        } else if check_name(reader, name, &item.place) {
            made.push((name.to_owned(), item.place));
        }
    }
    made
}

/// Works out every place; the papers become parts.
pub(super) fn complete(
    desk: &Desk<'_>,
    drafts: Vec<Draft>,
    materials: &BTreeMap<String, Material>,
    sheets: &[Sheet],
    others: &[Part],
) -> (Vec<Travel>, Vec<Part>) {
    let (mut travels, mut parts) = (Vec::new(), Vec::new());
    for draft in drafts {
        let Some(travel) = travel(&desk.heap, &draft, materials, sheets) else { continue };
        judge(&desk.heap, &travel);
        parts.extend(spacers(&draft, &travel, sheets));
        travels.push(travel);
    }
    let named = others.iter().filter(|part| part.companion.is_none());
    let all = named.chain(&parts).map(|part| (part.name.as_str(), &part.place));
    let sets = travels.iter().map(|travel| (travel.name.as_str(), &travel.place));
    doubled(&desk.heap, all.chain(sets), "parts");
    (travels, parts)
}

fn travel(
    heap: &Heap,
    draft: &Draft,
    materials: &BTreeMap<String, Material>,
    sheets: &[Sheet],
) -> Option<Travel> {
    let mut papers = Vec::new();
    for (name, at) in &draft.papers {
        papers.push(paper(heap, draft, (name, at), materials, sheets));
    }
    let measures = measures(heap, draft)?;
    let papers: Vec<Paper> = papers.into_iter().collect::<Option<_>>()?;
    let aim = draft.aim.clone()?;
    let facings = draft.facings.unwrap_or(1);
    let places: Vec<Balance> = draft
        .positions
        .numbers()
        .into_iter()
        .zip(&measures)
        .filter_map(|(n, m)| balance(n, m, facings, &papers, &aim))
        .collect();
    (!papers.is_empty()).then(|| Travel {
        name: draft.name.clone(),
        place: draft.place.clone(),
        aim,
        papers,
        wanted_clearance: draft.wanted,
        places,
    })
}

/// A paper with its thickness: a leaf's own, else its material's.
fn paper(
    heap: &Heap,
    draft: &Draft,
    (name, at): (&str, &Place),
    materials: &BTreeMap<String, Material>,
    sheets: &[Sheet],
) -> Option<Paper> {
    let leaf = leaf(sheets, name);
    let own = leaf.and_then(|leaf| Some((leaf.thickness.clone()?, leaf.place.clone())));
    // A material that is not there has been told of as that.
    let material = materials.get(leaf.map_or(name, |leaf| leaf.material.as_str()))?;
    let of_material = || Some((material.thickness.clone()?, material.place.clone()));
    let Some((thickness, from)) = own.or_else(of_material).filter(|(t, _)| t.mm() > 0.0) else {
        heap.add(
            Fault::error("E12", format!("the paper \"{name}\" has no thickness"))
                .at(at)
                .mark(&material.place, "the material")
                .cure("measure ten sheets at once and write, for example, thickness = \"4 thou\""),
        );
        return None;
    };
    Some(Paper { name: name.to_owned(), part: format!("{}-{name}", draft.name), thickness, from })
}

/// The figures of each place; what is missing, below nothing or half given is told.
fn measures(heap: &Heap, draft: &Draft) -> Option<Vec<Measures>> {
    let rows = draft.rows.as_ref()?;
    let mut all = Vec::new();
    let mut short = Vec::new();
    let mut sound = true;
    for number in draft.positions.numbers() {
        let mut made = Measures::new(draft.place.clone());
        lay_over(&mut made, &draft.base.measures);
        if let Some(row) = rows.get(&number) {
            lay_over(&mut made, &row.measures);
        }
        let given = draft.base.given.contains("gap")
            || rows.get(&number).is_some_and(|row| row.given.contains("gap"));
        if !given {
            short.push(number);
        }
        sound &= halves(heap, draft, &made);
        sound &= above_nothing(heap, &made) && !made.any_unread();
        all.push(made);
    }
    if !short.is_empty() {
        heap.add(
            Fault::error(
                "E12",
                format!(
                    "{} needs `gap`, how far each valve travels; these positions have none: {}",
                    draft.name,
                    runs(&short)
                ),
            )
            .at(&draft.place)
            .cure("measure them, or leave them out of `positions`"),
        );
    }
    columns(heap, draft, &all);
    (sound && short.is_empty()).then_some(all)
}

/// An old thickness wants its new one, and facings their number.
fn halves(heap: &Heap, draft: &Draft, m: &Measures) -> bool {
    let mut sound = true;
    for (one, other) in [("facing-old", "facing-new"), ("gasket-old", "gasket-new")] {
        for (has, lacks) in [(one, other), (other, one)] {
            if m.has(has) && !m.has(lacks) {
                sound = false;
                heap.add(
                    Fault::error("E12", format!("{} gives `{has}` and no `{lacks}`", draft.name))
                        .at(m.place_of(has))
                        .cure(
                            "only the difference of both counts: measure both under the same load",
                        ),
                );
            }
        }
    }
    if m.has("facing-old") && draft.facings.is_none() {
        sound = false;
        heap.add(
            Fault::error(
                "E12",
                format!("{} needs `facings` (how many lie in one gap)", draft.name),
            )
            .at(&draft.place)
            .cure(
                "facings = 2 where the button has leather on both sides, facings = 1 where on one",
            ),
        );
    }
    sound
}

/// No gap and no thickness is below nothing.
fn above_nothing(heap: &Heap, m: &Measures) -> bool {
    let mut sound = true;
    for (key, value, place) in m.iter() {
        let Value::Length(length) = value else { continue };
        if length.mm() < 0.0 || (length.mm() == 0.0 && key != "gap" && key != "clearance") {
            sound = false;
            heap.add(Fault::error("E20", format!("`{key}` is {}", length.text())).at(place).cure(
                "a gap that is closed is 0; a thickness is more than nothing, or its cell blank",
            ));
        }
    }
    sound
}

/// W03 and W76: gaps that stand out.
fn columns(heap: &Heap, draft: &Draft, all: &[Measures]) {
    let numbers = draft.positions.numbers();
    for key in TRAVEL_KEYS.iter().filter(|key| !key.name.starts_with("fitted")) {
        let column: Vec<(u32, &Length, &Place)> = numbers
            .iter()
            .zip(all)
            .filter_map(|(n, m)| Some((*n, m.length(key.name)?, m.place_of(key.name))))
            .collect();
        slips::column_slips(heap, &draft.name, key.name, &column);
        let far =
            |mm: f64| mm > 0.0 && !(USUAL_TRAVEL.0 / 2.0..=USUAL_TRAVEL.1 * 2.0).contains(&mm);
        for (_, gap, place) in column.iter().filter(|it| key.name == "gap" && far(it.1.mm())) {
            heap.add(
                Fault::warning("W76", format!("a valve of {} travels {}", draft.name, gap.text()))
                    .at(place)
                    .cure("valves are found at .020 to .055 in: look at the unit and the point"),
            );
        }
    }
}

/// W77 and W78: what papers do not mend.
fn judge(heap: &Heap, travel: &Travel) {
    let of = |wanted: &dyn Fn(&Balance) -> bool| -> Vec<u32> {
        travel.places.iter().filter(|it| wanted(it)).map(|it| it.position).collect()
    };
    let (off, short) = (of(&|it| it.choice.off.is_some()), of(&|it| it.choice.short.is_some()));
    for (places, text, cure) in [
        (off, "no paper brings these to their target, something must come off", "how much"),
        (
            short,
            "papers do not fill these gaps to their target",
            "what lacks; a thicker paper in `papers`, or more of them by `most`, would do",
        ),
    ] {
        if !places.is_empty() {
            heap.add(
                Fault::warning("W77", format!("{}: {text}: {}", travel.name, runs(&places)))
                    .at(&travel.place)
                    .cure(format!("`pouchwork travel {}` shows {cure}", travel.name)),
            );
        }
    }
    let Some(wanted) = travel.wanted_clearance else { return };
    let far =
        |it: &Balance| it.clearance.is_some_and(|c| (c - wanted).abs() > CLEARANCE_OFF + SLACK);
    let far = of(&far);
    if !far.is_empty() {
        heap.add(
            Fault::warning(
                "W78",
                format!(
                    "{}: with the new gasket the pouches stand off their {} by more than 1/64 in: {}",
                    travel.name,
                    show_inches(wanted),
                    runs(&far)
                ),
            )
            .at(&travel.place)
            .cure("a gasket as thick as the old one leaves them as they were"),
        );
    }
}

/// The parts that the papers are: one for each paper that any place gets.
fn spacers(draft: &Draft, travel: &Travel, sheets: &[Sheet]) -> Vec<Part> {
    let (Some((diameter, at)), Some(cut_with)) = (&draft.diameter, &draft.cut_with) else {
        return Vec::new();
    };
    let mut parts = Vec::new();
    for (n, paper) in travel.papers.iter().enumerate() {
        let (mut numbers, mut measures) = (Vec::new(), Vec::new());
        for place in &travel.places {
            let Some(many) = place.choice.added.get(n).filter(|many| **many > 0) else { continue };
            let mut m = Measures::new(draft.place.clone());
            m.set("outside", Value::Length(diameter.clone()), at.clone());
            match &draft.hole {
                Some((hole, at)) => m.set("inside", Value::Length(hole.clone()), at.clone()),
                None => m.set("shape", Value::Word("disk"), draft.place.clone()),
            }
            m.set("thickness", Value::Length(paper.thickness.clone()), paper.from.clone());
            m.set("papers", Value::Count(*many), place.from.clone());
            numbers.push(place.position);
            measures.push(m);
        }
        if numbers.is_empty() {
            continue;
        }
        let leaf = leaf(sheets, &paper.name);
        let material = leaf.map_or(&paper.name, |leaf| &leaf.material);
        parts.push(Part {
            name: paper.part.clone(),
            place: draft.place.clone(),
            kind: Kind::Spacer,
            companion: None,
            positions: Positions::Numbered(numbers),
            measures,
            material: material.clone(),
            cut_with: cut_with.clone(),
            face: None,
            grain: Grain::Silent,
            grain_within: 0.0,
            grade: None,
            stretch: None,
            wet: None,
            thickness: thickness_of(sheets, material, leaf, paper),
            spares: draft.spares,
            mate_of: None,
        });
    }
    parts
}

/// The thickness of the sheets that a paper may come from, where sheets of its material say theirs.
fn thickness_of(
    sheets: &[Sheet],
    material: &str,
    leaf: Option<&Sheet>,
    paper: &Paper,
) -> Option<(f64, f64, Place)> {
    sheets.iter().find(|it| it.material == material && it.thickness.is_some())?;
    let spread = leaf.and_then(|leaf| leaf.thickness.as_ref()).map_or(0.0, Length::spread);
    let off = spread + LEAF_OFF;
    let mm = paper.thickness.mm();
    Some((mm - off, mm + off, paper.from.clone()))
}
