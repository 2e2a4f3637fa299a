//! What a part or a companion is cut of, and how it lies: material, machine, face, grain, growth, spares.

use super::codes::quoted;
use super::desk::Desk;
use super::lengths::How;
use super::machines::Names;
use super::materials::check_share;
use super::reader::Reader;
use super::sheets::material;
use super::words;
use crate::fault::{Fault, Place};
use crate::material::{Face, Material, Stretch};
use crate::part::{Grain, Part, Spares, StretchUse};
use crate::sheet::GRADES;
use std::collections::BTreeMap;
use toml::de::DeValue;

/// No part is turned farther than this from the way it lies to the grain (degrees).
const MOST_WITHIN: f64 = 45.0;

/// What a part or a companion is cut of, and how it lies.
pub(super) struct Stuff {
    pub(super) material: String,
    pub(super) material_at: Option<Place>,
    pub(super) cut_with: String,
    pub(super) face: Option<Face>,
    pub(super) grain: Grain,
    pub(super) grain_within: f64,
    pub(super) grade: Option<u8>,
    pub(super) growth: Growth,
    pub(super) thickness: Option<(f64, f64, Place)>,
    pub(super) spares: Option<Spares>,
}

/// Takes what a part or a companion says of it.
pub(super) fn stuff(reader: &mut Reader<'_>, names: &Names<'_>) -> Stuff {
    let (material, material_at) =
        material(reader).map_or((String::new(), None), |(name, at)| (name, Some(at)));
    let cut_with = names.take(reader);
    if cut_with.is_none() && !reader.has("cut-with") {
        reader.needs("cut-with", "the machine", "\"knife\"");
    }
    let face = reader.take_word("face", Face::NAMES).map(|(face, _)| face);
    let grain = reader.take_word(
        "grain",
        &[("any", Grain::Any), ("along length", Grain::Along), ("across length", Grain::Across)],
    );
    let grain = grain.map_or(Grain::Silent, |(grain, _)| grain);
    let grain_within = grain_within(reader, grain);
    let grade = grade(reader);
    let growth = Growth { stretch: growth(reader, "stretch"), wet: growth(reader, "wet-glue") };
    let thickness = thickness(reader);
    let spares = spares(reader);
    reader.take_text("note");
    Stuff {
        material,
        material_at,
        cut_with: cut_with.unwrap_or_default(),
        face,
        grain,
        grain_within,
        grade,
        growth,
        thickness,
        spares,
    }
}

/// How far a part may be turned from the way it lies to the grain (degrees); 0 where nothing is said.
fn grain_within(reader: &mut Reader<'_>, grain: Grain) -> f64 {
    let place = reader.take("grain-within").map(|item| item.place);
    let unread = grain == Grain::Silent && reader.has("grain");
    let within = reader.take_number("grain-within", 0.0, MOST_WITHIN).unwrap_or(0.0);
    if let Some(place) = place
        && !unread
        && !matches!(grain, Grain::Along | Grain::Across)
    {
        reader.fault(
            "E12",
            "`grain-within` is given, and `grain` does not say which way".to_owned(),
            &place,
            "say grain = \"along length\" or \"across length\", or leave it out",
        );
    }
    within
}

/// A grade of stuff: 1, the best, to 4.
pub(super) fn grade(reader: &mut Reader<'_>) -> Option<u8> {
    let (least, most) = (u32::from(*GRADES.start()), u32::from(*GRADES.end()));
    reader.take_count("grade", least, most).and_then(|(n, _)| u8::try_from(n).ok())
}

/// The thickness of the sheets that a part may come from: least and most.
fn thickness(reader: &mut Reader<'_>) -> Option<(f64, f64, Place)> {
    let item = reader.take("from-thickness")?;
    let list = reader.lengths_of("from-thickness", &item, How::Thickness)?;
    match list.as_slice() {
        [least, most] if least.mm() <= most.mm() && least.mm() > 0.0 => {
            Some((least.mm(), most.mm(), item.place))
        }
        _ => {
            reader.fault(
                "E28",
                "`from-thickness` wants the least and the most, in this order".to_owned(),
                &item.place,
                "for example from-thickness = [\"34 thou\", \"36 thou\"]",
            );
            None
        }
    }
}

/// What `stretch` and `wet-glue` say.
#[derive(Debug, Clone, Default)]
pub(super) struct Growth {
    stretch: Option<(Wish, Place)>,
    wet: Option<(Wish, Place)>,
}

/// What `stretch` says.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Wish {
    Material,
    Shares(f64, f64),
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

fn growth(reader: &mut Reader<'_>, key: &'static str) -> Option<(Wish, Place)> {
    let item = reader.take(key)?;
    let wanted = "\"material\" or two figures, along and across the grain";
    let sample = "[\"2 %\", \"5 %\"]";
    if let DeValue::String(text) = item.value {
        if text.trim().eq_ignore_ascii_case("material") {
            return Some((Wish::Material, item.place));
        }
        reader.fault(
            "E09",
            format!("`{key}` can't be \"{}\"", quoted(text)),
            &item.place,
            format!("it takes \"material\", or two figures as in {sample}"),
        );
        return None;
    }
    let list = reader.list_of(&item).filter(|list| list.len() == 2);
    let Some([along, across]) = list.as_deref() else {
        reader.wants(key, wanted, &item, sample);
        return None;
    };
    let share = |item: &super::reader::Item<'_>| {
        if let DeValue::String(text) = item.value {
            return check_share(reader, text, &item.place);
        }
        reader.wants(key, "figures in per cent", item, sample);
        None
    };
    let (along, across) = (share(along), share(across));
    Some((Wish::Shares(along?, across?), item.place))
}

/// Looks up what is taken off beforehand, and how a part that must not grow in length comes to lie.
pub(super) fn grown(
    desk: &Desk<'_>,
    part: &mut Part,
    growth: &Growth,
    materials: &BTreeMap<String, Material>,
) {
    let material = materials.get(&part.material);
    let figures =
        |wish: &Option<(Wish, Place)>, key: &str, of: fn(&Material) -> Option<&Stretch>| {
            use_of(desk, wish.as_ref()?, material, key, of)
        };
    if part.companion.is_none() && part.kind.card().taut {
        taut(desk, part, material);
    }
    part.stretch = figures(&growth.stretch, "stretch", |m| m.stretch.as_ref());
    part.wet = figures(&growth.wet, "wet-glue", |m| m.wet.as_ref());
    aslant(desk, part);
}

/// Refuses a part that may lie aslant and must not, or whose cut shape would be another at every turn.
fn aslant(desk: &Desk<'_>, part: &Part) {
    if part.grain_within <= 0.0 {
        return;
    }
    let (along, across) = part.growth();
    let why = if part.companion.is_none() && part.kind.card().taut {
        format!("a {} must not grow in length, and aslant it would", part.kind)
    } else if (along - across).abs() > 1e-12 {
        "what it grows by along and across the grain differs, so it can only be cut for one turn"
            .to_owned()
    } else {
        return;
    };
    desk.heap.add(
        Fault::error("E28", format!("{}: {why}", part.title()))
            .at(&part.place)
            .cure("leave `grain-within` out: it then lies straight"),
    );
}

/// Lays a part that must not grow in length the way its material gives least; a job that says otherwise is refused.
///
/// # Source
/// Flaps that grew in length and leaked: technicians' list, 2009-06-04. Skins give least along the backbone:
/// *Manufacture of Boots and Shoes*, "Stretchiness and Tightness".
fn taut(desk: &Desk<'_>, part: &mut Part, material: Option<&Material>) {
    let least = match material.and_then(|m| m.stretch.as_ref()) {
        Some(stretch) if stretch.across < stretch.along => Grain::Across,
        _ => Grain::Along,
    };
    if part.grain != Grain::Silent && part.grain != least {
        let word = if least == Grain::Along { "along length" } else { "across length" };
        desk.heap.add(
            Fault::error(
                "E28",
                format!(
                    "{}: a {} must not grow in length, and here it would",
                    part.title(),
                    part.kind
                ),
            )
            .at(&part.place)
            .cure(format!(
                "leave `grain` out, or say grain = \"{word}\": that way the material gives least"
            )),
        );
    }
    part.grain = least;
}

fn use_of(
    desk: &Desk<'_>,
    (wish, place): &(Wish, Place),
    material: Option<&Material>,
    key: &str,
    of: fn(&Material) -> Option<&Stretch>,
) -> Option<StretchUse> {
    let (along, across) = match wish {
        Wish::Shares(along, across) => (*along, *across),
        Wish::Material => {
            let material = material?;
            let Some(stretch) = of(material) else {
                desk.heap.add(
                    Fault::error("E12", format!("{} has no [{key}]", material.key))
                        .at(place)
                        .mark(&material.place, "the material")
                        .cure(format!(
                            "measure a strip each way and write [{key}] with along, across and source"
                        )),
                );
                return None;
            };
            (stretch.along, stretch.across)
        }
    };
    Some(StretchUse { along, across, from: place.clone() })
}
