//! The tables [[part]]: first each is taken as it stands, then mates, tables and materials are brought together.

use super::Head;
use super::codes::{did_you_mean, quoted};
use super::desk::Desk;
use super::figures::{self, Taken, example};
use super::machines::Names;
use super::reader::Reader;
use super::sheets::doubled;
use super::slips;
use super::stuff::{self, Growth, Stuff};
use super::table::{self, Rows};
use super::words::{self, MOST_PIECES, check_name, check_path};
use crate::fault::{Fault, Place};
use crate::material::Material;
use crate::part::{KINDS, Kind, Measures, Part, Positions, Value};
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
    /// Pieces of other materials that belong to it.
    pub(super) companions: Vec<Companied>,
    base: Taken,
    rows: Option<Rows>,
    mate_at: Option<Place>,
    growth: Growth,
    /// Whether its places are known.
    sound: bool,
}

/// A companion as it stands in the job: how its pieces are cut; its measures are the part's.
#[derive(Debug)]
pub(super) struct Companied {
    /// The part it becomes.
    pub(super) part: Part,
    /// Where its material is named.
    pub(super) material_at: Option<Place>,
    growth: Growth,
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
    let stuff = stuff::stuff(&mut reader, names);
    let own_spares = stuff.spares;
    let mate = reader.take_text("mate-of");
    let mut base = figures::take(desk, &mut reader, kind.card().keys);
    let made = companions(desk, &mut reader, kind, names, &mut base.measures);
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
    let (mate_of, mate_at) = mate.map_or((None, None), |(name, at)| (Some(name), Some(at)));
    let part = Part {
        name: name.filter(|_| good).map_or_else(String::new, |(name, _)| name),
        place,
        kind,
        companion: None,
        positions: positions.unwrap_or(Positions::Numbered(Vec::new())),
        measures: Vec::new(),
        material: stuff.material,
        cut_with: stuff.cut_with,
        face: stuff.face,
        grain: stuff.grain,
        grain_within: stuff.grain_within,
        grade: stuff.grade,
        stretch: None,
        wet: None,
        thickness: stuff.thickness,
        spares: own_spares.unwrap_or(head.spares),
        mate_of,
    };
    Some(Draft {
        unit,
        material_at: stuff.material_at,
        companions: made.into_iter().map(|made| made.beside(&part)).collect(),
        part,
        base,
        rows,
        mate_at,
        growth: stuff.growth,
        sound,
    })
}

/// A companion's table as read.
struct Beside {
    name: &'static str,
    place: Place,
    stuff: Stuff,
}

impl Beside {
    /// The part it becomes beside the part it belongs to.
    fn beside(self, part: &Part) -> Companied {
        let Beside { name, place, stuff } = self;
        Companied {
            part: Part {
                place,
                companion: Some(name),
                material: stuff.material,
                cut_with: stuff.cut_with,
                face: stuff.face,
                grain: stuff.grain,
                grain_within: stuff.grain_within,
                grade: stuff.grade,
                thickness: stuff.thickness,
                spares: stuff.spares.unwrap_or(part.spares),
                mate_of: None,
                ..part.clone()
            },
            material_at: stuff.material_at,
            growth: stuff.growth,
        }
    }
}

/// Takes the companions' tables; their figures go into the part's measures.
fn companions(
    desk: &Desk<'_>,
    reader: &mut Reader<'_>,
    kind: Kind,
    names: &Names<'_>,
    measures: &mut Measures,
) -> Vec<Beside> {
    let mut made = Vec::new();
    for companion in kind.card().companions {
        let what = format!("this {}", companion.name);
        let Some(mut inner) = reader.take_table(companion.name, &what) else { continue };
        let place = inner.place.clone();
        let stuff = stuff::stuff(&mut inner, names);
        let figures = figures::whole(desk, inner, companion.keys);
        measures.set(companion.name, Value::Tables([figures].into()), place.clone());
        made.push(Beside { name: companion.name, place, stuff });
    }
    made
}

/// The places of a part, or how many it is.
pub(super) fn positions(reader: &mut Reader<'_>, head: &Head) -> Option<Positions> {
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
                format!(
                    "give one: positions = \"1-{}\" for a numbered set, count = 4 for parts all alike, count = 1 for a single part",
                    head.notes.unwrap_or(54)
                ),
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

/// Brings mates, tables and materials together: every part with the measures of each of its places.
pub(super) fn complete(
    desk: &Desk<'_>,
    mut drafts: Vec<Draft>,
    materials: &BTreeMap<String, Material>,
) -> Vec<Part> {
    let mates: Vec<Option<usize>> = (0..drafts.len()).map(|n| mate(desk, &drafts, n)).collect();
    for (n, mate) in mates.iter().enumerate() {
        let own = measures(&desk.heap, &drafts, n, *mate);
        if mate.is_some() {
            own_measures(&desk.heap, &drafts[n]);
        }
        if let Some(draft) = drafts.get_mut(n) {
            if mate.is_none() {
                draft.part.mate_of = None;
            }
            draft.part.measures = own;
            stuff::grown(desk, &mut draft.part, &draft.growth, materials);
            for companied in &mut draft.companions {
                companied.part.positions = draft.part.positions.clone();
                companied.part.measures.clone_from(&draft.part.measures);
                stuff::grown(desk, &mut companied.part, &companied.growth, materials);
            }
        }
    }
    drafts
        .into_iter()
        .flat_map(|draft| {
            [draft.part].into_iter().chain(draft.companions.into_iter().map(|c| c.part))
        })
        .collect()
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
    if !other.kind.card().companions.is_empty() {
        return refuse(
            format!("a {} has pieces of other materials and no mirror image", other.kind),
            "write it as a part of its own; gaskets, outlines and strips have mates".to_owned(),
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
    if let (true, Some(rows)) = (known && short.is_empty(), &draft.rows) {
        slips::missing(heap, &draft.part, rows);
    }
    all
}

/// W44: a mate takes its measures from the part it is the mate of; one that gives its own differs from it.
fn own_measures(heap: &super::document::Heap, draft: &Draft) {
    let first = draft.base.measures.iter().next();
    let Some((key, _, place)) = first else { return };
    heap.add(
        Fault::warning(
            "W44",
            format!(
                "{} has a `{key}` of its own and is not the mirror image of its mate",
                draft.part.name
            ),
        )
        .at(place)
        .cure("leave it out; a mate has every measure of the part it is the mate of"),
    );
}

/// Lays figures over others: a later one takes the place of an earlier one.
pub(super) fn lay_over(under: &mut Measures, over: &Measures) {
    for (key, value, place) in over.iter() {
        under.set(key, value.clone(), place.clone());
    }
}
