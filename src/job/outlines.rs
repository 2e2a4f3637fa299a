//! Lines of sheets, flaws and traced parts: from a file, from corners, or round.

use super::desk::Desk;
use super::document::Heap;
use super::lengths::How;
use super::reader::Reader;
use super::stuff::grade;
use super::words::check_path;
use crate::fault::{Fault, Place};
use crate::geom::{GeomFault, Loop, Point, Where, loop_within, tolerance};
use crate::sheet::{Flaw, Reading, Zone};

/// An outline may have so many corners.
const MOST_CORNERS: usize = 100_000;
/// A sheet may have so many zones, and so many readings.
const MOST_ZONES: usize = 200;

/// The outline of a hide, with the holes that its file shows.
pub(super) fn outline(desk: &Desk<'_>, reader: &mut Reader<'_>) -> Option<(Loop, Vec<Flaw>)> {
    let unit = outline_unit(reader);
    if reader.has("line") {
        return Some((super::held::line_of_points(reader)?, Vec::new()));
    }
    match (reader.has("outline"), reader.has("corners")) {
        (true, true) => {
            let item = reader.take("corners")?;
            reader.take("outline");
            reader.fault(
                "E13",
                format!("{} gives both `outline` and `corners`", reader.what),
                &item.place,
                "give one: a file, or the corners",
            );
            None
        }
        (false, false) => {
            reader.needs(
                "outline",
                "a file with its line; or give `corners`",
                "\"outlines/h1.svg\"",
            );
            None
        }
        (false, true) => Some((corners(reader)?, Vec::new())),
        (true, false) => {
            let (outline, holes) = file(desk, reader, "outline", unit, &HIDE)?;
            let flaw = |outline| Flaw { why: "hole".to_owned(), outline };
            Some((outline, holes.into_iter().map(flaw).collect()))
        }
    }
}

/// The line of a part out of a file, with its holes; `outline-unit` says the unit of a file that has none.
pub(super) fn traced(
    desk: &Desk<'_>,
    reader: &mut Reader<'_>,
    key: &'static str,
) -> Option<(Loop, Vec<Loop>)> {
    let unit = outline_unit(reader);
    file(desk, reader, key, unit, &PART)
}

/// The unit of a file is given, and no file: it is told, and counts as known.
pub(super) fn idle_unit(reader: &mut Reader<'_>, key: &str) {
    if let Some(item) = reader.take("outline-unit") {
        reader.fault(
            "E12",
            format!("`outline-unit` is given, and there is no `{key}`"),
            &item.place,
            format!("name the file with {key} = \"outlines/part.svg\", or leave it out"),
        );
    }
}

/// What a file of lines is read for, as cures call it.
struct Purpose {
    /// What is drawn round.
    thing: &'static str,
    /// What a second line in the file would have to be.
    another: &'static str,
}

const HIDE: Purpose = Purpose { thing: "hide", another: "sheet" };
const PART: Purpose = Purpose { thing: "part", another: "part" };

/// The largest loop of a file and those inside it.
fn file(
    desk: &Desk<'_>,
    reader: &mut Reader<'_>,
    key: &'static str,
    unit: Option<f64>,
    purpose: &Purpose,
) -> Option<(Loop, Vec<Loop>)> {
    let (path, place) = reader.take_text(key)?;
    if !check_path(reader, &path, &place) {
        return None;
    }
    let bytes = desk.file(&path, &place)?;
    let read = desk.shelf.outlines(&path, &bytes, unit);
    desk.note_input(&path, bytes);
    match read {
        Ok((loops, notes)) => {
            for note in notes {
                desk.heap.add(
                    Fault::warning("W15", format!("{path}: {note}"))
                        .at(&place)
                        .cure("look at the picture before it is cut"),
                );
            }
            sort_loops(&desk.heap, &path, loops, &place, purpose)
        }
        Err(fault) => {
            let made = Fault::error(fault.code, format!("{path}: {}", fault.text)).at(&place);
            desk.heap.add(match fault.cure {
                Some(cure) => made.cure(cure),
                None => made,
            });
            None
        }
    }
}

fn outline_unit(reader: &mut Reader<'_>) -> Option<f64> {
    let (name, place) = reader.take_text("outline-unit")?;
    let unit = crate::units::Unit::parse_name(&name);
    if unit.is_none() {
        reader.fault(
            "E16",
            format!("\"{}\" is not a unit used here", super::codes::quoted(&name)),
            &place,
            "use in, ft, yd, thou, mm, cm or m",
        );
    }
    unit.map(crate::units::Unit::millimetres)
}

/// The largest loop is the outline, loops inside it are holes.
fn sort_loops(
    heap: &Heap,
    path: &str,
    loops: Vec<Loop>,
    place: &Place,
    purpose: &Purpose,
) -> Option<(Loop, Vec<Loop>)> {
    let largest = loops
        .iter()
        .enumerate()
        .max_by(|(_, a), (_, b)| a.area().total_cmp(&b.area()))
        .map(|(n, _)| n);
    let Some(largest) = largest else {
        heap.add(
            Fault::error("E30", format!("{path}: no outline in it"))
                .at(place)
                .cure(format!("draw round the {} on a layer of its own", purpose.thing)),
        );
        return None;
    };
    let mut rest = loops;
    let outline = rest.remove(largest);
    let outside = rest.iter().filter(|hole| !loop_within(hole, &outline)).count();
    if outside > 0 {
        heap.add(
            Fault::error(
                "E29",
                format!(
                    "{path}: {outside} of its {} lines lie outside the largest",
                    rest.len() + 1
                ),
            )
            .at(place)
            .cure(format!(
                "leave one outline, with its holes inside it; a second piece is a {} of its own",
                purpose.another
            )),
        );
        return None;
    }
    Some((outline, rest))
}

/// A polygon from the key `corners`.
fn corners(reader: &mut Reader<'_>) -> Option<Loop> {
    let item = reader.take("corners")?;
    let example = "[[\"0 mm\", \"0 mm\"], [\"600 mm\", \"0 mm\"], [\"300 mm\", \"400 mm\"]]";
    let Some(items) = reader.list_of(&item) else {
        reader.wants("corners", "a list of points", &item, example);
        return None;
    };
    if items.len() > MOST_CORNERS {
        reader.fault(
            "E07",
            format!("{} corners are more than {MOST_CORNERS}", items.len()),
            &item.place,
            "leave out what lies in a straight line",
        );
        return None;
    }
    let read: Vec<Option<Point>> = items
        .iter()
        .map(|item| {
            let (x, y) = reader.point_of("corners", item)?;
            Some(Point::new(x.mm(), y.mm()))
        })
        .collect();
    let points: Vec<Point> = read.into_iter().collect::<Option<_>>()?;
    made(reader, Loop::polygon(&points), &item.place)
}

fn made(reader: &Reader<'_>, made: Result<Loop, GeomFault>, place: &Place) -> Option<Loop> {
    match made {
        Ok(outline) => Some(outline),
        Err(fault) => {
            reader.fault(
                "E29",
                fault.to_string(),
                place,
                "go round it once, corner by corner, and do not repeat the first",
            );
            None
        }
    }
}

/// The flaws of a sheet; those that lie off it are pointed out.
pub(super) fn flaws(reader: &mut Reader<'_>, what: &str, sheet: Option<&Loop>) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    for mut inner in reader.take_tables("flaw", &format!("this [[{what}]]")) {
        let why = inner.take_text("why").map_or_else(|| "flaw".to_owned(), |(text, _)| text);
        let outline = line_of(&mut inner);
        let told = format!("the flaw \"{}\"", super::codes::quoted(&why));
        off_its_sheet(&inner, &told, outline.as_ref(), sheet);
        inner.finish("key");
        flaws.extend(outline.map(|outline| Flaw { why, outline }));
    }
    flaws
}

/// The zones of a sheet that have a grade of their own; those that lie off it are pointed out.
pub(super) fn zones(reader: &mut Reader<'_>, what: &str, sheet: Option<&Loop>) -> Vec<Zone> {
    let mut zones = Vec::new();
    for mut inner in reader.take_tables("zone", &format!("this [[{what}]]")) {
        let why = inner.take_text("why").map(|(text, _)| text).unwrap_or_default();
        if !inner.has("grade") {
            inner.needs("grade", "how good it is there: 1, the best, to 4", "3");
        }
        let grade = grade(&mut inner);
        let outline = line_of(&mut inner);
        off_its_sheet(&inner, "the zone", outline.as_ref(), sheet);
        inner.finish("key");
        zones.extend(outline.zip(grade).map(|(outline, grade)| Zone { why, grade, outline }));
    }
    if zones.len() > MOST_ZONES {
        too_many(reader, zones.len(), "zones");
        zones.clear();
    }
    zones
}

/// The readings of a sheet's thickness at places; those that lie off it are pointed out.
pub(super) fn readings(reader: &mut Reader<'_>, what: &str, sheet: Option<&Loop>) -> Vec<Reading> {
    let mut readings: Vec<Reading> = Vec::new();
    for mut inner in reader.take_tables("reading", &format!("this [[{what}]]")) {
        if !inner.has("at") {
            inner.needs("at", "where it was taken", "[\"120 mm\", \"210 mm\"]");
        }
        let at = inner.take_point("at").map(|(x, y)| Point::new(x, y));
        if !inner.has("thickness") {
            inner.needs("thickness", "what was read", "\"35 thou\"");
        }
        let thickness = inner.take_length("thickness", How::Thickness).map(|(l, _)| l);
        if let Some(at) = at {
            if readings.iter().any(|r| (r.at - at).hypot() < tolerance::JOIN) {
                inner.fault(
                    "E28",
                    "two readings at one place".to_owned(),
                    &inner.place,
                    "leave one out, or give the place where it was taken",
                );
            }
            let outside = |it: &Loop| crate::geom::point_in_loop(at, it) == Where::Outside;
            if sheet.is_some_and(outside) {
                told_off(&inner, "the reading");
            }
        }
        inner.finish("key");
        readings.extend(at.zip(thickness).map(|(at, thickness)| Reading { at, thickness }));
    }
    if readings.len() > MOST_ZONES {
        too_many(reader, readings.len(), "readings");
        readings.clear();
    }
    readings
}

fn too_many(reader: &Reader<'_>, n: usize, what: &str) {
    reader.fault(
        "E07",
        format!("{n} {what} of one sheet are more than {MOST_ZONES}"),
        &reader.place,
        "leave out those that tell nothing new",
    );
}

fn off_its_sheet(inner: &Reader<'_>, told: &str, it: Option<&Loop>, sheet: Option<&Loop>) {
    let off = |it: &Loop, sheet: &Loop| !it.bounds().overlaps(sheet.bounds());
    if it.zip(sheet).is_some_and(|(it, sheet)| off(it, sheet)) {
        told_off(inner, told);
    }
}

fn told_off(inner: &Reader<'_>, told: &str) {
    inner.heap.add(
        Fault::warning("W08", format!("{told} lies off its sheet"))
            .at(&inner.place)
            .cure("look at its place, and whether the sheet was turned over"),
    );
}

/// The line of a flaw or a zone: round, or from corners.
fn line_of(inner: &mut Reader<'_>) -> Option<Loop> {
    if inner.has("line") {
        return super::held::line_of_points(inner);
    }
    let round = inner.has("at") || inner.has("diameter");
    match (round, inner.has("corners")) {
        (true, false) => round_flaw(inner),
        (false, true) => corners(inner),
        (both, _) => {
            let (at, size) = (inner.take("at"), inner.take("diameter"));
            let corner = inner.take("corners");
            let place =
                corner.or(at).or(size).map_or_else(|| inner.place.clone(), |item| item.place);
            let text = if both { "gives both a circle and corners" } else { "has no line" };
            inner.fault(
                if both { "E13" } else { "E12" },
                format!("{} {text}", inner.what),
                &place,
                "give `at` and `diameter`, or `corners`",
            );
            None
        }
    }
}

fn round_flaw(inner: &mut Reader<'_>) -> Option<Loop> {
    if !inner.has("at") {
        inner.needs("at", "its centre", "[\"120 mm\", \"210 mm\"]");
    }
    let at = inner.take_point("at");
    let size = inner.need_length("diameter", "how large it is", "\"18 mm\"");
    let ((x, y), (size, place)) = (at?, size?);
    made(inner, Loop::circle(Point::new(x, y), size.mm() / 2.0), &place)
}
