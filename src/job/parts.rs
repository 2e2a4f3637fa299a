//! The tables [[part]]: first each is taken as it stands, then mates, tables and materials are brought together.

use super::Head;
use super::codes::{did_you_mean, quoted};
use super::desk::Desk;
use super::figures::{self, Taken, example};
use super::machines::Names;
use super::materials::check_share;
use super::reader::Reader;
use super::sheets::{doubled, material};
use super::table::{self, Rows};
use super::words::{self, MOST_PIECES, check_name, check_path};
use crate::fault::{Fault, Place};
use crate::material::{Face, Material};
use crate::part::{Grain, KINDS, Kind, Measures, Part, Positions, Spares, StretchUse};
use crate::units::Unit;
use std::collections::{BTreeMap, BTreeSet};
use toml::de::DeValue;

/// A part as it stands in the job, before mates and materials are looked up.
#[derive(Debug)]
pub(super) struct Draft {
    /// The part; its measures are filled in last.
    pub(super) part: Part,
    /// The unit of its numbers.
    pub(super) unit: Option<Unit>,
    /// Where its material is named.
    pub(super) material_at: Option<Place>,
    base: Taken,
    rows: Option<Rows>,
    mate_at: Option<Place>,
    stretch: Option<(Wish, Place)>,
    /// Whether its places are known.
    sound: bool,
}

/// What `stretch` says.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Wish {
    Material,
    Shares(f64, f64),
}

/// Takes every part.
pub(super) fn take(
    desk: &Desk<'_>,
    top: &mut Reader<'_>,
    head: &Head,
    names: &Names<'_>,
    with_tables: bool,
) -> Vec<Draft> {
    let mut drafts: Vec<Draft> = Vec::new();
    let mut pieces = 0;
    for reader in top.take_tables("part", "this part") {
        let place = reader.place.clone();
        let Some(mut draft) = draft(desk, reader, head, names, with_tables) else {
            continue;
        };
        let before = pieces;
        pieces += match &draft.part.positions {
            Positions::Numbered(list) => list.len(),
            Positions::Counted(n) => *n as usize,
        };
        if pieces > MOST_PIECES {
            draft.sound = false;
            draft.part.positions = Positions::Numbered(Vec::new());
            if before <= MOST_PIECES {
                desk.heap.add(
                    Fault::error(
                        "E07",
                        format!("from this part on the job has more than {MOST_PIECES} pieces"),
                    )
                    .at(&place)
                    .cure("make two jobs of it"),
                );
            }
        }
        drafts.push(draft);
    }
    doubled(&desk.heap, drafts.iter().map(|d| (d.part.name.as_str(), &d.part.place)), "parts");
    drafts
}

/// The spares that a table asks for, if it speaks of them.
pub(super) fn spares(reader: &mut Reader<'_>) -> Option<Spares> {
    let item = reader.take("spares")?;
    let read = match item.value {
        DeValue::String(text) => words::spares(text),
        DeValue::Integer(figures) => words::spares(figures.as_str()),
        _ => {
            reader.wants("spares", "a text in quotes", &item, "\"1 in 10, at least 2\"");
            return None;
        }
    };
    match read {
        Ok(spares) => Some(spares),
        Err(fault) => {
            reader.heap.add(fault.at(&item.place));
            None
        }
    }
}

fn kind(reader: &mut Reader<'_>) -> Option<Kind> {
    let (name, place) = reader.need_text("kind", "what it is", "\"pouch\"")?;
    let kind = Kind::named(&name.to_lowercase());
    if kind.is_none() {
        let known: Vec<&str> = KINDS.iter().map(|card| card.name).collect();
        reader.fault(
            "E10",
            format!("there is no kind called \"{}\"", quoted(&name)),
            &place,
            did_you_mean(&name, &known, "there are"),
        );
    }
    kind
}

fn draft(
    desk: &Desk<'_>,
    mut reader: Reader<'_>,
    head: &Head,
    names: &Names<'_>,
    with_tables: bool,
) -> Option<Draft> {
    let name = reader.need_text("name", "your name for it", "\"pouch\"");
    let good = name.as_ref().is_some_and(|(name, place)| check_name(&reader, name, place));
    // Without its kind nobody knows which keys it takes.
    let kind = kind(&mut reader)?;
    reader.what = format!("this {kind}");
    let positions = positions(&mut reader, head);
    let material = material(&mut reader);
    let cut_with = names.take(&mut reader);
    if cut_with.is_none() && !reader.has("cut-with") {
        reader.needs("cut-with", "the machine", "\"knife\"");
    }
    let face = reader.take_word("face", Face::NAMES).map(|(face, _)| face);
    let grain = reader.take_word(
        "grain",
        &[("any", Grain::Any), ("along length", Grain::Along), ("across length", Grain::Across)],
    );
    let stretch = stretch(&mut reader);
    let own_spares = spares(&mut reader);
    let mate = reader.take_text("mate-of");
    reader.take_text("note");
    let base = figures::take(&mut reader, kind.card().keys);
    let path = reader.take_text("table").filter(|(path, place)| check_path(&reader, path, place));
    let rows = match path {
        Some((path, place)) if with_tables => desk
            .file(&path, &place)
            .and_then(|bytes| desk.document(&path, bytes))
            .and_then(|text| table::read(&desk.heap, &text, kind, positions.as_ref(), reader.unit)),
        _ if reader.has("table") || !with_tables => None,
        _ => Some(Rows::new()),
    };
    let (unit, place) = (reader.unit, reader.place.clone());
    reader.finish("key");
    let sound = positions.is_some();
    let (material, material_at) =
        material.map_or((String::new(), None), |(name, at)| (name, Some(at)));
    let (mate_of, mate_at) = mate.map_or((None, None), |(name, at)| (Some(name), Some(at)));
    Some(Draft {
        part: Part {
            name: name.filter(|_| good).map_or_else(String::new, |(name, _)| name),
            place,
            kind,
            positions: positions.unwrap_or(Positions::Numbered(Vec::new())),
            measures: Vec::new(),
            material,
            cut_with: cut_with.unwrap_or_default(),
            face,
            grain: grain.map_or(Grain::Silent, |(grain, _)| grain),
            stretch: None,
            spares: own_spares.unwrap_or(head.spares),
            mate_of,
        },
        unit,
        material_at,
        base,
        rows,
        mate_at,
        stretch,
        sound,
    })
}

fn positions(reader: &mut Reader<'_>, head: &Head) -> Option<Positions> {
    let given = (reader.has("positions"), reader.has("count"));
    match given {
        (true, true) => {
            let item = reader.take("count")?;
            let other = reader.take("positions")?;
            reader.heap.add(
                Fault::error("E13", format!("{} gives both `positions` and `count`", reader.what))
                    .at(&item.place)
                    .mark(&other.place, "and here")
                    .cure("give one: `positions` for a numbered set, `count` for parts all alike"),
            );
            None
        }
        (false, false) => {
            reader.fault(
                "E13",
                format!("{} gives neither `positions` nor `count`", reader.what),
                &reader.place.clone(),
                "give one: positions = \"1-54\" for a numbered set, count = 4 for parts all alike",
            );
            None
        }
        (false, true) => {
            let most = u32::try_from(MOST_PIECES).unwrap_or(u32::MAX);
            let (count, _) = reader.take_count("count", 1, most)?;
            Some(Positions::Counted(count))
        }
        (true, false) => {
            let item = reader.take("positions")?;
            let read = match item.value {
                DeValue::String(text) => words::positions(text, head.notes),
                DeValue::Integer(figures) => words::positions(figures.as_str(), head.notes),
                _ => {
                    reader.wants("positions", "a text in quotes", &item, "\"1-54\"");
                    return None;
                }
            };
            match read {
                Ok(list) => Some(Positions::Numbered(list)),
                Err(fault) => {
                    reader.heap.add(fault.at(&item.place));
                    None
                }
            }
        }
    }
}

fn stretch(reader: &mut Reader<'_>) -> Option<(Wish, Place)> {
    let item = reader.take("stretch")?;
    let wanted = "\"material\" or two figures, along and across the grain";
    let sample = "[\"2 %\", \"5 %\"]";
    if let DeValue::String(text) = item.value {
        if text.trim().eq_ignore_ascii_case("material") {
            return Some((Wish::Material, item.place));
        }
        reader.fault(
            "E09",
            format!("`stretch` can't be \"{}\"", quoted(text)),
            &item.place,
            format!("it takes \"material\", or two figures as in {sample}"),
        );
        return None;
    }
    let list = reader.list_of(&item).filter(|list| list.len() == 2);
    let Some([along, across]) = list.as_deref() else {
        reader.wants("stretch", wanted, &item, sample);
        return None;
    };
    let share = |item: &super::reader::Item<'_>| {
        if let DeValue::String(text) = item.value {
            return check_share(reader, text, &item.place);
        }
        reader.wants("stretch", "figures in per cent", item, sample);
        None
    };
    let (along, across) = (share(along), share(across));
    Some((Wish::Shares(along?, across?), item.place))
}

/// Brings mates, tables and materials together: every part with the measures of each of its places.
pub(super) fn complete(
    desk: &Desk<'_>,
    mut drafts: Vec<Draft>,
    materials: &BTreeMap<String, Material>,
) -> Vec<Part> {
    let mates: Vec<Option<usize>> = (0..drafts.len()).map(|n| mate(desk, &drafts, n)).collect();
    for n in 0..drafts.len() {
        let own = measures(&desk.heap, &drafts, n, mates[n]);
        let stretch = use_of(desk, &drafts[n], materials);
        if let Some(draft) = drafts.get_mut(n) {
            if mates[n].is_none() {
                draft.part.mate_of = None;
            }
            draft.part.measures = own;
            draft.part.stretch = stretch;
        }
    }
    drafts.into_iter().map(|draft| draft.part).collect()
}

/// Index of the part that a part is the mate of.
fn mate(desk: &Desk<'_>, drafts: &[Draft], n: usize) -> Option<usize> {
    let draft = drafts.get(n)?;
    let name = draft.part.mate_of.as_ref()?;
    let place = draft.mate_at.as_ref()?;
    let refuse = |text: String, cure: String| {
        desk.heap.add(Fault::error("E40", text).at(place).cure(cure));
        None
    };
    let Some(found) = drafts.iter().position(|d| d.part.name == *name) else {
        let known: Vec<&str> =
            drafts.iter().map(|d| d.part.name.as_str()).filter(|n| !n.is_empty()).collect();
        return refuse(
            format!("there is no part called \"{}\"", quoted(name)),
            did_you_mean(name, &known, "there are"),
        );
    };
    let other = &drafts[found].part;
    if found == n {
        return refuse(
            "a part can't be its own mate".to_owned(),
            "name the part of the opposite board".to_owned(),
        );
    }
    if other.mate_of.is_some() {
        return refuse(
            format!("\"{name}\" is itself a mate"),
            "name the part that has the measures".to_owned(),
        );
    }
    if other.kind != draft.part.kind {
        return refuse(
            format!("\"{name}\" is a {}, and its mate would be a {}", other.kind, draft.part.kind),
            "mates are of one kind".to_owned(),
        );
    }
    Some(found)
}

/// The measures of each place of a part; what is needed and missing is reported.
fn measures(
    heap: &super::document::Heap,
    drafts: &[Draft],
    n: usize,
    mate: Option<usize>,
) -> Vec<Measures> {
    let draft = &drafts[n];
    let mate = mate.and_then(|m| drafts.get(m));
    let keys = draft.part.kind.card().keys;
    let mut short: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
    let numbers = draft.part.positions.numbers();
    let mut all = Vec::with_capacity(numbers.len());
    for number in &numbers {
        let mut made = Measures::new(draft.part.place.clone());
        let mut given: BTreeSet<&str> = BTreeSet::new();
        for source in mate.into_iter().chain([draft]) {
            lay_over(&mut made, &source.base.measures);
            given.extend(&source.base.given);
            if let Some(row) = source.rows.as_ref().and_then(|rows| rows.get(number)) {
                lay_over(&mut made, &row.measures);
                given.extend(&row.given);
            }
        }
        for key in keys.iter().filter(|key| key.needed && !given.contains(key.name)) {
            short.entry(key.name).or_default().push(*number);
        }
        all.push(made);
    }
    // A table that could not be read may have held them.
    let known = draft.sound && draft.rows.is_some() && mate.is_none_or(|m| m.rows.is_some());
    for key in keys.iter().filter(|_| known) {
        let Some(missing) = short.get(key.name) else {
            continue;
        };
        let few = if missing.len() == numbers.len() {
            String::new()
        } else {
            format!("; these positions have none: {}", words::runs(missing))
        };
        heap.add(
            Fault::error(
                "E12",
                format!("this {} needs `{}` ({}){few}", draft.part.kind, key.name, key.about),
            )
            .at(&draft.part.place)
            .cure(format!("for example {} = {}", key.name, example(key))),
        );
    }
    all
}

fn lay_over(under: &mut Measures, over: &Measures) {
    for (key, value, place) in over.iter() {
        under.set(key, value.clone(), place.clone());
    }
}

fn use_of(
    desk: &Desk<'_>,
    draft: &Draft,
    materials: &BTreeMap<String, Material>,
) -> Option<StretchUse> {
    let (wish, place) = draft.stretch.as_ref()?;
    let (along, across) = match wish {
        Wish::Shares(along, across) => (*along, *across),
        Wish::Material => {
            let material = materials.get(&draft.part.material)?;
            let Some(stretch) = &material.stretch else {
                desk.heap.add(
                    Fault::error("E12", format!("{} has no [stretch]", material.key))
                        .at(place)
                        .mark(&material.place, "the material")
                        .cure("measure a strip each way and write [stretch] with along, across and source"),
                );
                return None;
            };
            (stretch.along, stretch.across)
        }
    };
    Some(StretchUse { along, across, from: place.clone() })
}
