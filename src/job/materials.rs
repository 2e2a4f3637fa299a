//! Materials: their profiles.

use super::buy;
use super::codes::quoted;
use super::cutting;
use super::desk::Desk;
use super::lengths::How;
use super::machines::source;
use super::parts::Draft;
use super::reader::{Reader, walk};
use super::words::{check_name, share};
use crate::fault::{Fault, Place};
use crate::machine::Process;
use crate::material::{CutSetting, Material, Polymer, Sort, Stretch, Tannage};
use crate::units::Length;
use std::collections::BTreeMap;
use toml::de::DeValue;

/// No stretch in use is greater (share).
const MOST_STRETCH: f64 = 0.5;
/// A laminate's own thickness may differ from that of its layers by this share.
const OFF_SUM: f64 = 0.1;
/// The least web of cork where its record gives none (mm).
///
/// # Source
/// Common practice: bound cork breaks at less.
const CORK_WEB: f64 = 3.0;

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
    let mut library = Library { desk, read: BTreeMap::new() };
    wanted
        .into_iter()
        .filter(|(name, _)| !name.is_empty())
        .filter_map(|(name, places)| {
            Some((name.to_owned(), library.material(name, &places, true)?))
        })
        .collect()
}

/// The profiles read so far; each is read once, however many name it.
struct Library<'a, 'd> {
    desk: &'a Desk<'d>,
    read: BTreeMap<String, Option<Material>>,
}

impl Library<'_, '_> {
    /// A material by the name of its profile. Layers are looked up where it is cut by itself (`whole`), and not where
    /// it is a layer: laminates of laminates are refused.
    fn material(&mut self, name: &str, places: &[Place], whole: bool) -> Option<Material> {
        if let Some(known) = self.read.get(name) {
            return known.clone();
        }
        let desk = self.desk;
        let mut made = None;
        if let Some(document) = desk.profile("materials", name, places) {
            walk(&document, &desk.heap, "a material profile", |top| {
                made = material(name, top, whole.then_some(&mut *self));
            });
        }
        self.read.insert(name.to_owned(), made.clone());
        made
    }
}

/// `[material]` and what stands below it; a layer comes without a library.
fn material(
    name: &str,
    mut top: Reader<'_>,
    library: Option<&mut Library<'_, '_>>,
) -> Option<Material> {
    let Some(head) = top.take_table("material", "[material]") else {
        top.needs_table("[material]", "its head", "write [material] with its keys below it");
        return None;
    };
    let made = record(name, head, library);
    let wet = top.take_table("wet-glue", "[wet-glue]").and_then(stretch);
    let stretch = top.take_table("stretch", "[stretch]").and_then(stretch);
    let thick = made.as_ref().and_then(|m| m.thickness.as_ref()).map_or(0.0, Length::mm);
    let cork = made.as_ref().is_some_and(|m| m.sort == Sort::Cork);
    let web = if cork { thick.max(CORK_WEB) } else { thick };
    let tables = top.take_tables("cut", "this [[cut]]");
    let wanted = tables.len();
    let cuts: Vec<CutSetting> = tables.into_iter().filter_map(|table| cut(table, web)).collect();
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
    let buy = top.take_table("buy", "[buy]");
    let buys = buy.is_some();
    let buy = buy.and_then(|table| buy::take(table, made.as_ref()));
    top.finish("table");
    (cuts.len() == wanted && buy.is_some() == buys).then_some(())?;
    Some(Material { stretch, wet, cuts, buy, ..made? })
}

/// What the head of a profile says; tables are still to come.
fn record(
    name: &str,
    mut head: Reader<'_>,
    library: Option<&mut Library<'_, '_>>,
) -> Option<Material> {
    let title = head.take_text("name").map_or_else(|| name.to_owned(), |(text, _)| text);
    let sort = head
        .need_text("sort", "what it is", "\"leather\"")
        .and_then(|_| head.take_word("sort", Sort::NAMES));
    let given = head.take_length("thickness", How::Thickness);
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
    let laminate = sort.as_ref().is_some_and(|(sort, _)| *sort == Sort::Laminate);
    let whole = library.is_some();
    let made = if sort.is_some() {
        layers(&mut head, laminate, library)
    } else {
        // Nobody knows whether it may have them.
        let _ = (head.take("layers"), head.take("glue"));
        None
    };
    let source = source(&mut head);
    let place = head.place.clone();
    let (layers, glue) = made.unzip();
    let layers = layers.unwrap_or_default();
    let thickness = thickness(&head, given, &layers, glue.flatten());
    head.finish("key");
    if laminate && whole && layers.is_empty() {
        return None;
    }
    Some(Material {
        key: name.to_owned(),
        title,
        sort: sort?.0,
        thickness,
        layers,
        tannage,
        coating,
        salvaged,
        data_sheet,
        stretch: None,
        wet: None,
        cuts: Vec::new(),
        buy: None,
        source: source?,
        place,
    })
}

/// The layers of a laminate, each with its record, and the thickness of one line of glue (mm).
fn layers(
    head: &mut Reader<'_>,
    laminate: bool,
    library: Option<&mut Library<'_, '_>>,
) -> Option<(Vec<Material>, Option<f64>)> {
    const SAMPLE: &str = "[\"valve-leather\", \"wool-felt\"]";
    let (item, line) = (head.take("layers"), head.take("glue"));
    if !laminate {
        for (key, item) in [("layers", item), ("glue", line)] {
            if let Some(item) = item {
                head.fault(
                    "E28",
                    format!("only a laminate has `{key}`"),
                    &item.place,
                    "say sort = \"laminate\", or leave it out",
                );
            }
        }
        return None;
    }
    if line.is_none() {
        head.needs("glue", "thickness of one line of glue", "\"2 thou\"");
    }
    let glue = line.and_then(|item| head.readings_of("glue", &item, How::Thickness));
    let Some(item) = item else {
        head.needs("layers", "its materials, the outer one first", SAMPLE);
        return None;
    };
    let Some(list) = head.list_of(&item) else {
        head.wants("layers", "a list of materials", &item, SAMPLE);
        return None;
    };
    if list.len() < 2 {
        head.fault(
            "E28",
            "a laminate has two layers or more".to_owned(),
            &item.place,
            format!("for example layers = {SAMPLE}"),
        );
        return None;
    }
    let library = library?;
    let mut made = Vec::new();
    for item in list {
        let DeValue::String(name) = item.value else {
            head.wants("layers", "names of materials in quotes", &item, SAMPLE);
            return None;
        };
        if !check_name(head, name, &item.place) {
            return None;
        }
        let layer = library.material(name, std::slice::from_ref(&item.place), false)?;
        if layer.sort == Sort::Laminate {
            head.fault(
                "E28",
                format!("the layer {name} is itself a laminate"),
                &item.place,
                "name its layers one by one",
            );
            return None;
        }
        made.push(layer);
    }
    Some((made, glue.map(|length| length.mm())))
}

/// The thickness as given; for a laminate that gives none, the sum of its layers and the glue between them.
fn thickness(
    head: &Reader<'_>,
    given: Option<(Length, Place)>,
    layers: &[Material],
    glue: Option<f64>,
) -> Option<Length> {
    let each: Option<Vec<f64>> =
        layers.iter().map(|layer| layer.thickness.as_ref().map(Length::mm)).collect();
    let sum = each.filter(|each| !each.is_empty()).zip(glue).map(|(each, glue)| {
        each.iter().sum::<f64>() + each.iter().skip(1).map(|_| glue).sum::<f64>()
    });
    match (given, sum) {
        (Some((given, place)), Some(sum)) => {
            if (given.mm() / sum - 1.0).abs() > OFF_SUM + 1e-9 {
                head.heap.add(
                    Fault::warning(
                        "W40",
                        format!(
                            "`thickness` is {}, and its layers with the glue between make {sum:.2} mm",
                            given.text()
                        ),
                    )
                    .at(&place)
                    .cure("measure the glued sheet again, or leave `thickness` out: the sum is taken then"),
                );
            }
            Some(given)
        }
        (given, sum) => given
            .map(|(given, _)| given)
            .or_else(|| sum.map(|sum| Length::from_mm((sum * 1000.0).round() / 1000.0))),
    }
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

/// `web` is the least web where the table gives none and the kerf asks for no more (mm).
fn cut(mut table: Reader<'_>, web: f64) -> Option<CutSetting> {
    let on =
        table.need_text("on", "the machine, or \"laser\" or \"knife\" for any such", "\"knife\"");
    if let Some((name, place)) = &on {
        let process = Process::NAMES.iter().any(|(process, _)| process == name);
        if !process && !check_name(&table, name, place) {
            return None;
        }
    }
    let kerfs = kerfs(&mut table);
    let gap = table.need_length("gap", "material left between two cuts", "\"1 mm\"");
    let edge = table.need_length("edge", "material left to the sheet's edge or a flaw", "\"5 mm\"");
    let own_web = table.take_length("least-web", How::Size);
    let web_given = table.has("least-web");
    let knife = on.as_ref().is_some_and(|(name, _)| name == Process::Knife.name());
    let cutting = cutting::take(&mut table, knife);
    let source = source(&mut table);
    let place = table.place.clone();
    table.finish("key");
    let (kerf_x, kerf_y) = kerfs?;
    let least_web = match own_web {
        Some((web, _)) => web.mm(),
        None if web_given => return None,
        None => (3.0 * kerf_x.max(kerf_y)).max(web),
    };
    Some(CutSetting {
        on: on?.0,
        kerf_x,
        kerf_y,
        gap: gap?.0.mm(),
        edge: edge?.0.mm(),
        least_web,
        power: cutting.power,
        feed: cutting.feed,
        mark_power: cutting.mark_power,
        mark_feed: cutting.mark_feed,
        passes: cutting.passes,
        tabs: cutting.tabs,
        tabs_on_soft: cutting.tabs_on_soft,
        heat: cutting.heat,
        char_trim: cutting.char_trim,
        source: source?,
        place,
    })
}

/// The width of the cut along x and y.
fn kerfs(table: &mut Reader<'_>) -> Option<(f64, f64)> {
    let both = take_kerf(table, "kerf");
    if table.has("kerf") {
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
                let x = take_kerf(table, "kerf-x");
                let y = take_kerf(table, "kerf-y");
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
    }
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
