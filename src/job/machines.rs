//! Machines: the job's short names for them, and their profiles.

use super::codes::{did_you_mean, quoted};
use super::desk::Desk;
use super::lengths::How;
use super::plates;
use super::reader::{Reader, walk};
use super::words::{check_name, is_name};
use crate::fault::{Fault, Place};
use crate::machine::{KnifePlate, LaserPlate, Machine, Process};
use crate::material::Source;
use crate::plan::Layer;
use std::cell::RefCell;
use std::collections::BTreeMap;
use toml::de::DeValue;

/// The job's own names for machines, each with its profile and the place where that is said.
pub(super) type ShortNames = BTreeMap<String, (String, Place)>;

/// Turns the names that a job uses for machines into the names of profiles, and remembers where each was used.
pub(super) struct Names<'a> {
    short: &'a ShortNames,
    used: RefCell<BTreeMap<String, Vec<Place>>>,
}

impl<'a> Names<'a> {
    /// With the job's short names.
    pub(super) fn new(short: &'a ShortNames) -> Names<'a> {
        Names { short, used: RefCell::default() }
    }

    /// The machine named by `cut-with`, if any is named.
    pub(super) fn take(&self, reader: &mut Reader<'_>) -> Option<String> {
        let (name, place) = reader.take_text("cut-with")?;
        let profile = self.short.get(&name).map_or(&name, |(profile, _)| profile).clone();
        if profile.is_empty() && !name.is_empty() {
            return None;
        }
        if !is_name(&profile) {
            check_name(reader, &name, &place);
            return None;
        }
        self.used.borrow_mut().entry(profile.clone()).or_default().push(place);
        Some(profile)
    }
}

/// The table [machines]: short name = profile.
pub(super) fn short_names(mut table: Reader<'_>) -> ShortNames {
    let mut names = BTreeMap::new();
    for (short, place, item) in table.take_all() {
        let DeValue::String(profile) = item.value else {
            table.wants(&short, "the name of a machine's profile", &item, "\"drag-knife\"");
            continue;
        };
        let profile = profile.trim().trim_start_matches("machines/").trim_end_matches(".toml");
        if check_name(&table, &short, &place) {
            // A name that can't be one is kept as nothing, so that its uses are not reported too.
            let good = check_name(&table, profile, &item.place);
            let profile = if good { profile.to_owned() } else { String::new() };
            names.insert(short, (profile, item.place));
        }
    }
    names
}

/// Loads every machine that the job names.
pub(super) fn load(desk: &Desk<'_>, names: &Names<'_>) -> BTreeMap<String, Machine> {
    let mut wanted = names.used.borrow().clone();
    for (profile, place) in names.short.values().filter(|(profile, _)| !profile.is_empty()) {
        wanted.entry(profile.clone()).or_default().insert(0, place.clone());
    }
    let mut machines = BTreeMap::new();
    for (name, places) in wanted {
        let Some(document) = desk.profile("machines", &name, &places) else {
            continue;
        };
        walk(&document, &desk.heap, "a machine profile", |top| {
            if let Some(machine) = machine(&name, top) {
                machines.insert(name.clone(), machine);
            }
        });
    }
    machines
}

fn machine(name: &str, mut top: Reader<'_>) -> Option<Machine> {
    let Some(mut head) = top.take_table("machine", "[machine]") else {
        top.needs_table("[machine]", "its head", "write [machine] with its keys below it");
        return None;
    };
    let title = head.take_text("name").map_or_else(|| name.to_owned(), |(text, _)| text);
    let process = head
        .need_text("process", "how it cuts", "\"knife\"")
        .and_then(|_| head.take_word("process", Process::NAMES));
    let width = head.need_length("width", "travel left to right", "\"400 mm\"");
    let depth = head.need_length("depth", "travel front to back", "\"400 mm\"");
    let margin = head.take_length("margin", How::Size).map_or(0.0, |(l, _)| l.mm());
    let hole = head.need_length("smallest-hole", "smaller holes are punched by hand", "\"3 mm\"");
    let motion = plates::motion(&mut head);
    let source = source(&mut head);
    let place = head.place.clone();
    head.finish("key");
    let plate = top.take_table("laser", "[laser]");
    let blade = top.take_table("knife", "[knife]");
    let colours = top.take_table("colour", "[colour]").map(colours).unwrap_or_default();
    let bladed = blade.is_some() && matches!(process, Some((Process::Knife, _)));
    let (laser, knife) = tools(&top, process.as_ref(), plate, blade);
    let heap = top.heap;
    // A table that could not be read has its faults already.
    let bladeless = bladed && knife.is_none();
    let plateless = laser.is_none() && matches!(process, Some((Process::Laser, _)));
    top.finish("table");
    let ((width, width_at), (depth, _)) = (width?, depth?);
    let machine = Machine {
        key: name.to_owned(),
        title,
        process: process?.0,
        width: width.mm(),
        depth: depth.mm(),
        margin,
        smallest_hole: hole?.0.mm(),
        motion,
        laser,
        knife,
        colours,
        source: source?,
        place,
    };
    let bed = machine.width.min(machine.depth);
    if bed <= 2.0 * margin {
        heap.add(
            Fault::error(
                "E43",
                format!("a bed of {bed} mm with a margin of {margin} mm leaves nothing"),
            )
            .at(&width_at)
            .cure("look at width, depth and margin"),
        );
        return None;
    }
    (!plateless && !bladeless).then_some(machine)
}

/// What a machine cuts with: its beam, or its blade.
fn tools(
    top: &Reader<'_>,
    process: Option<&(Process, Place)>,
    plate: Option<Reader<'_>>,
    blade: Option<Reader<'_>>,
) -> (Option<LaserPlate>, Option<KnifePlate>) {
    let laser = match (process, plate) {
        (Some((Process::Laser, at)), None) => {
            top.heap.add(
                Fault::error(
                    "E12",
                    "a laser needs a table [laser]: what is on its plate and where its fumes go",
                )
                .at(at)
                .cure("write [laser] with wavelength, power, class, enclosed and extraction"),
            );
            None
        }
        (Some((Process::Knife, _)), Some(plate)) => {
            plate.fault(
                "E11",
                "a knife has no table called `laser`".to_owned(),
                &plate.place,
                "delete it, or write process = \"laser\"",
            );
            None
        }
        (_, plate) => plate.and_then(plates::laser),
    };
    let knife = match (process, blade) {
        (Some((Process::Laser, _)), Some(blade)) => {
            blade.fault(
                "E11",
                "a laser has no table called `knife`".to_owned(),
                &blade.place,
                "delete it, or write process = \"knife\"",
            );
            None
        }
        (_, blade) => blade.and_then(plates::knife),
    };
    (laser, knife)
}

fn colours(mut table: Reader<'_>) -> BTreeMap<String, String> {
    let known: Vec<&str> = Layer::ALL.iter().map(|layer| layer.name()).collect();
    let mut colours = BTreeMap::new();
    for (layer, place, item) in table.take_all() {
        if !known.contains(&layer.as_str()) {
            table.fault(
                "E11",
                format!("there is no layer called `{}`", quoted(&layer)),
                &place,
                did_you_mean(&layer, &known, "there are"),
            );
            continue;
        }
        // What both kinds of cut file can hold: red, green and blue, or the number of a colour in DXF.
        let good = |text: &str| match text.strip_prefix('#') {
            Some(digits) => digits.len() == 6 && digits.chars().all(|c| c.is_ascii_hexdigit()),
            None => text.parse::<u8>().is_ok_and(|n| n > 0),
        };
        match item.value {
            DeValue::String(colour) if good(colour) => {
                colours.insert(layer, colour.clone().into_owned());
            }
            DeValue::String(colour) => table.fault(
                "E09",
                format!("\"{}\" can't be a colour", quoted(colour)),
                &item.place,
                "a colour is # and six digits, such as \"#0072B2\", or the number of a colour in DXF, \"1\" to \"255\"",
            ),
            _ => table.wants(&layer, "a colour", &item, "\"#0072B2\""),
        }
    }
    colours
}

/// The source of a table of figures.
pub(super) fn source(reader: &mut Reader<'_>) -> Option<Source> {
    if reader.has("source") {
        let (text, place) = reader.take_text("source")?;
        if !text.is_empty() {
            return Some(Source { text, place });
        }
    }
    reader.take("source");
    reader.fault(
        "E38",
        format!("the figures of {} have no `source`", reader.what),
        &reader.place,
        "say where they come from; source = \"assumed\" is an answer too",
    );
    None
}
