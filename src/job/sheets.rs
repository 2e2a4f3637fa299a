//! The tables [[hide]], [[cloth]] and [[leaf]]; in the stock record also [[remnant]].

use super::desk::Desk;
use super::document::Heap;
use super::held::held;
use super::lengths::How;
use super::machines::Names;
use super::outlines::{flaws, outline, readings, zones};
use super::reader::Reader;
use super::stuff::grade;
use super::words::check_name;
use crate::fault::{Fault, Place};
use crate::geom::{GeomFault, Loop, Point};
use crate::material::Face;
use crate::sheet::{Flaw, Reading, Sheet, SheetKind, Used, Zone, selvedges, width_of_cloth};
use crate::units::{Day, Length};
use std::collections::BTreeMap;

/// What became of the sheets.
#[derive(Debug, Default)]
pub(super) struct Sheets {
    /// Those that could be read: hides, cloth, leaves.
    pub(super) made: Vec<Sheet>,
    /// Every name of a material, with its place, of those that could not be read too.
    pub(super) materials: Vec<(String, Place)>,
    /// What the job said of a sheet, by its id, when it came into the record from there.
    pub(super) entered: BTreeMap<String, String>,
    /// The stock record as it was read.
    pub(super) record: Option<super::Input>,
    /// Sheets of the job that the record rules.
    pub(super) ruled: Vec<String>,
    /// Whether any could not be read: then nothing is said about sheets that are wanting.
    pub(super) lost: bool,
}

/// Takes every sheet.
pub(super) fn take(
    desk: &Desk<'_>,
    top: &mut Reader<'_>,
    names: &Names<'_>,
    in_stock: bool,
) -> Sheets {
    let mut sheets = Sheets::default();
    let tables = [
        ("hide", "this hide", SheetKind::Hide),
        ("cloth", "this cloth", SheetKind::Cloth),
        ("leaf", "this leaf", SheetKind::Leaf),
        ("remnant", "this remnant", SheetKind::Hide),
    ];
    for (key, what, kind) in &tables[..if in_stock { 4 } else { 3 }] {
        for mut reader in top.take_tables(key, what) {
            let mut common = common(&mut reader, names);
            if in_stock {
                common.book(&mut reader, *key == "remnant");
            }
            sheets.materials.extend(common.material.clone());
            let entered = common.entered.take();
            let made = match kind {
                SheetKind::Hide => hide(desk, reader, common),
                _ => rectangle(reader, common, *kind),
            };
            sheets.lost |= made.is_none();
            if let (Some(made), Some(entered)) = (&made, entered) {
                sheets.entered.insert(made.id.clone(), entered);
            }
            sheets.made.extend(made);
        }
    }
    doubled(&desk.heap, sheets.made.iter().map(|s| (s.id.as_str(), &s.place)), "sheets");
    sheets
}

/// Reports names that two things carry; capital and small letters count alike, as files on some disks do.
pub(super) fn doubled<'a>(
    heap: &Heap,
    named: impl Iterator<Item = (&'a str, &'a Place)>,
    what: &str,
) {
    let mut seen: BTreeMap<String, &Place> = BTreeMap::new();
    for (name, place) in named.filter(|(name, _)| !name.is_empty()) {
        match seen.entry(name.to_lowercase()) {
            std::collections::btree_map::Entry::Vacant(free) => {
                free.insert(place);
            }
            std::collections::btree_map::Entry::Occupied(first) => heap.add(
                Fault::error(
                    "E14",
                    format!(
                        "\"{name}\" names two {what} (lines {} and {})",
                        first.get().line,
                        place.line
                    ),
                )
                .at(place)
                .mark(first.get(), "first here")
                .cure("every name must differ, and not by capital letters alone"),
            ),
        }
    }
}

/// What every sheet has.
struct Common {
    id: Option<String>,
    material: Option<(String, Place)>,
    up: Option<Face>,
    /// Whether `up` says something that could not be read.
    side_lost: bool,
    thickness: Option<Length>,
    grade: Option<u8>,
    edge: Option<f64>,
    cut_with: Option<String>,
    added: Option<Day>,
    from: Option<String>,
    shelf: Option<String>,
    used: Vec<Used>,
    /// What the job said of it when it came into the record from there.
    entered: Option<String>,
    generation: u32,
    /// Whether the record says something of it that could not be read.
    book_lost: bool,
}

fn common(reader: &mut Reader<'_>, names: &Names<'_>) -> Common {
    let id = reader
        .need_text("id", "your name for it", "\"H1\"")
        .filter(|(id, place)| check_name(reader, whole_of(reader, id), place))
        .map(|(id, _)| id);
    let up = reader.take_word("up", Face::NAMES).map(|(face, _)| face);
    Common {
        id,
        material: material(reader),
        up,
        side_lost: up.is_none() && reader.has("up"),
        thickness: reader.take_length("thickness", How::Thickness).map(|(l, _)| l),
        grade: grade(reader),
        edge: reader.take_length("edge", How::Size).map(|(l, _)| l.mm()),
        cut_with: names.take(reader),
        added: None,
        from: None,
        shelf: None,
        used: Vec::new(),
        entered: None,
        generation: 1,
        book_lost: false,
    }
}

/// A remnant that was parted off has its sheet's id and a number: `H-1/2`. What is left of it without that.
fn whole_of<'a>(reader: &Reader<'_>, id: &'a str) -> &'a str {
    let is_number = |n: &str| !n.is_empty() && n.len() < 6 && n.bytes().all(|b| b.is_ascii_digit());
    let mut id = id;
    while reader.what == "this remnant"
        && let Some((whole, n)) = id.rsplit_once('/')
        && is_number(n)
    {
        id = whole;
    }
    id
}

/// The name of a material's profile.
pub(super) fn material(reader: &mut Reader<'_>) -> Option<(String, Place)> {
    let (name, place) = reader.need_text("material", "name of its profile", "\"pouch-leather\"")?;
    let name = name.trim_start_matches("materials/").trim_end_matches(".toml").to_owned();
    check_name(reader, &name, &place).then_some((name, place))
}

/// What differs from place to place on a sheet.
struct Uneven {
    flaws: Vec<Flaw>,
    zones: Vec<Zone>,
    readings: Vec<Reading>,
}

/// Takes it; `holes` are flaws known already.
fn uneven(
    reader: &mut Reader<'_>,
    name: &str,
    sheet: Option<&Loop>,
    mut holes: Vec<Flaw>,
) -> Uneven {
    holes.extend(flaws(reader, &format!("{name}.flaw"), sheet));
    Uneven {
        flaws: holes,
        zones: zones(reader, &format!("{name}.zone"), sheet),
        readings: readings(reader, &format!("{name}.reading"), sheet),
    }
}

impl Common {
    /// What only the stock record says: since when it is there, how often it was cut, what it is left of.
    fn book(&mut self, reader: &mut Reader<'_>, is_remnant: bool) {
        if let Some((day, place)) = reader.take_day("added") {
            self.added = Day::parse(&day);
            if self.added.is_none() {
                self.book_lost = true;
                let cure = "write year, month and day, as in added = \"2026-03-14\"";
                let text =
                    format!("\"{}\" is not a day of the calendar", super::codes::quoted(&day));
                reader.fault("E65", text, &place, cure);
            }
        } else {
            self.book_lost |= reader.has("added");
        }
        let counted = reader.has("generation");
        let generation = reader.take_count("generation", 1, 1_000_000);
        self.book_lost |= counted && generation.is_none();
        self.generation = generation.map_or(1, |(n, _)| n);
        self.shelf = reader.take_text("shelf").map(|(text, _)| text);
        self.entered = reader.take_text("as-in-job").map(|(text, _)| text);
        for (key, is_claim) in [("claim", true), ("cut", false)] {
            match held(reader, key, is_claim) {
                Some(used) => self.used.extend(used),
                None => self.book_lost = true,
            }
        }
        if is_remnant {
            self.from = reader
                .need_text("from", "the id of the sheet it is left of", "\"H1\"")
                .filter(|(id, place)| check_name(reader, whole_of(reader, id), place))
                .map(|(id, _)| id);
            self.book_lost |= self.from.is_none();
        }
    }

    fn sheet(
        self,
        kind: SheetKind,
        outline: Loop,
        uneven: Uneven,
        grain: f64,
        place: Place,
    ) -> Option<Sheet> {
        if self.side_lost || self.book_lost {
            return None;
        }
        Some(Sheet {
            id: self.id?,
            kind,
            material: self.material?.0,
            up: self.up,
            outline,
            flaws: uneven.flaws,
            grade: self.grade.unwrap_or(1),
            zones: uneven.zones,
            readings: uneven.readings,
            grain,
            edge: self.edge,
            thickness: self.thickness,
            cut_with: self.cut_with,
            generation: self.generation,
            added: self.added,
            from: self.from,
            shelf: self.shelf,
            used: self.used,
            corner: Point::ORIGIN,
            place,
        })
    }
}

fn hide(desk: &Desk<'_>, mut reader: Reader<'_>, common: Common) -> Option<Sheet> {
    let shape = outline(desk, &mut reader);
    let grain = grain(&mut reader);
    if grain.is_none() && !reader.has("grain") && !reader.has("grain-line") {
        reader.needs(
            "grain-line",
            "two points along the backbone",
            "[[\"0 mm\", \"0 mm\"], [\"600 mm\", \"0 mm\"]]",
        );
    }
    let (outline, holes) = shape.map_or((None, Vec::new()), |(line, holes)| (Some(line), holes));
    let table = if common.from.is_some() { "remnant" } else { SheetKind::Hide.name() };
    let uneven = uneven(&mut reader, table, outline.as_ref(), holes);
    let place = reader.place.clone();
    reader.finish("key");
    common.sheet(SheetKind::Hide, outline?, uneven, grain?, place)
}

/// Direction of the grain in degrees, from a line or a number.
fn grain(reader: &mut Reader<'_>) -> Option<f64> {
    let line = reader.take("grain-line");
    if let (Some(item), true) = (&line, reader.has("grain")) {
        reader.take("grain");
        reader.fault(
            "E13",
            format!("{} gives both `grain` and `grain-line`", reader.what),
            &item.place,
            "give one of them",
        );
        return None;
    }
    let Some(item) = line else {
        return reader.take_number("grain", -360.0, 360.0);
    };
    let points = reader.list_of(&item).filter(|list| list.len() == 2);
    let Some([first, last]) = points.as_deref() else {
        reader.wants(
            "grain-line",
            "two points",
            &item,
            "[[\"0 mm\", \"0 mm\"], [\"600 mm\", \"0 mm\"]]",
        );
        return None;
    };
    let a = reader.point_of("grain-line", first);
    let b = reader.point_of("grain-line", last);
    let ((ax, ay), (bx, by)) = (a?, b?);
    let (dx, dy) = (bx.mm() - ax.mm(), by.mm() - ay.mm());
    if dx.hypot(dy) < crate::geom::tolerance::JOIN {
        reader.fault(
            "E20",
            "the two points of `grain-line` are the same".to_owned(),
            &item.place,
            "give two points far apart, along the backbone",
        );
        return None;
    }
    Some(dy.atan2(dx).to_degrees())
}

fn rectangle(mut reader: Reader<'_>, common: Common, kind: SheetKind) -> Option<Sheet> {
    let width = reader.need_length("width", "across the roll, or the shorter side", "\"54 in\"");
    let length = reader.need_length("length", "along the roll, or the longer side", "\"1 yd\"");
    let grain = match kind {
        SheetKind::Cloth => reader
            .take_word("warp", &[("along", 0.0), ("across", 90.0)])
            .map_or(0.0, |(turn, _)| turn),
        _ => reader.take_number("grain", -360.0, 360.0).unwrap_or(0.0),
    };
    let selvedge = match kind {
        SheetKind::Cloth => reader.take_length("selvedge", How::Size),
        _ => None,
    };
    let outline = width.as_ref().zip(length.as_ref()).and_then(|((width, place), (length, _))| {
        made_sides(&reader, width_of_cloth(length.mm(), width.mm()), place)
    });
    let mut lost = Vec::new();
    if let (Some((width, _)), Some((length, _)), Some((selvedge, place))) =
        (&width, &length, &selvedge)
    {
        if 2.0 * selvedge.mm() >= width.mm() {
            reader.fault(
                "E28",
                format!(
                    "two selvedges of {} leave nothing of a width of {}",
                    selvedge.text(),
                    width.text()
                ),
                place,
                "look at `selvedge` and `width`",
            );
        } else if selvedge.mm() > 0.0 {
            lost = selvedges(length.mm(), width.mm(), selvedge.mm()).unwrap_or_default();
        }
    }
    let uneven = uneven(&mut reader, kind.name(), outline.as_ref(), lost);
    let place = reader.place.clone();
    reader.finish("key");
    common.sheet(kind, outline?, uneven, grain, place)
}

fn made_sides(reader: &Reader<'_>, made: Result<Loop, GeomFault>, place: &Place) -> Option<Loop> {
    match made {
        Ok(outline) => Some(outline),
        Err(fault) => {
            reader.fault(
                "E20",
                format!("{} has no size: {fault}", reader.what),
                place,
                "look at its width and length",
            );
            None
        }
    }
}
