//! Holes of plates and strips: rows by pitch, with breaks or by a list, single holes, screw holes and slots.
//!
//! Places are measured from the lower left corner of the part, x along its length.

use super::measures::{Key, Measures, Takes};
use super::member::{Dimension, Term};
use super::sum::{Sum, doubt, mm, positive, shown, wrong};
use crate::fault::{Fault, Place};
use crate::geom::{Loop, Point, Vec2, loop_distance, loop_within, obround, rectangle};

const BREAK: &[Key] = &[
    Key {
        name: "after",
        takes: Takes::Count,
        needed: true,
        about: "hole after which the break comes",
        example: "29",
    },
    Key {
        name: "add",
        takes: Takes::Length,
        needed: true,
        about: "added to the pitch there",
        example: "3/8 in",
    },
];

const ROW: &[Key] = &[
    Key {
        name: "holes",
        takes: Takes::Count,
        needed: false,
        about: "how many holes",
        example: "54",
    },
    Key {
        name: "first",
        takes: Takes::Point,
        needed: true,
        about: "centre of the first hole, from the lower left corner",
        example: "[\"1/2 in\", \"1 in\"]",
    },
    Key {
        name: "pitch",
        takes: Takes::Length,
        needed: false,
        about: "from centre to centre",
        example: "1/2 in",
    },
    Key {
        name: "at",
        takes: Takes::Lengths,
        needed: false,
        about: "distances from the first hole, instead of a pitch",
        example: "[\"0 in\", \"1/2 in\"]",
    },
    Key {
        name: "span",
        takes: Takes::Length,
        needed: false,
        about: "measured from the first centre to the last",
        example: "27 1/2 in",
    },
    Key {
        name: "diameter",
        takes: Takes::Length,
        needed: true,
        about: "diameter of each hole",
        example: "5/16 in",
    },
    Key {
        name: "way",
        takes: Takes::Word(&["length", "width"]),
        needed: false,
        about: "along the length (usual) or the width",
        example: "length",
    },
    Key {
        name: "break",
        takes: Takes::Tables(BREAK),
        needed: false,
        about: "wider places in the row",
        example: "after = 29, add = \"3/8 in\"",
    },
];

const HOLE: &[Key] = &[
    Key {
        name: "at",
        takes: Takes::Point,
        needed: true,
        about: "centre, from the lower left corner",
        example: "[\"1 in\", \"1/2 in\"]",
    },
    Key {
        name: "diameter",
        takes: Takes::Length,
        needed: true,
        about: "diameter",
        example: "#30 drill",
    },
];

const SLOT: &[Key] = &[
    Key {
        name: "at",
        takes: Takes::Point,
        needed: true,
        about: "middle of the slot, from the lower left corner",
        example: "[\"3 in\", \"1/2 in\"]",
    },
    Key {
        name: "length",
        takes: Takes::Length,
        needed: true,
        about: "over its ends",
        example: "1 in",
    },
    Key { name: "width", takes: Takes::Length, needed: true, about: "across", example: "1/8 in" },
    Key {
        name: "way",
        takes: Takes::Word(&["length", "width"]),
        needed: false,
        about: "along the part's length (usual) or its width",
        example: "length",
    },
    Key {
        name: "ends",
        takes: Takes::Word(&["round", "square"]),
        needed: false,
        about: "round (usual) or square ends",
        example: "round",
    },
];

/// The tables of holes that plates and strips take.
pub(super) const ROW_KEY: Key = Key {
    name: "row",
    takes: Takes::Tables(ROW),
    needed: false,
    about: "equal holes in a straight row",
    example: "[[part.row]]",
};
/// See [`ROW_KEY`].
pub(super) const HOLE_KEY: Key = Key {
    name: "hole",
    takes: Takes::Tables(HOLE),
    needed: false,
    about: "a single hole",
    example: "[[part.hole]]",
};
/// See [`ROW_KEY`].
pub(super) const SCREW_KEY: Key = Key {
    name: "screw",
    takes: Takes::Tables(HOLE),
    needed: false,
    about: "a hole for a screw",
    example: "[[part.screw]]",
};
/// See [`ROW_KEY`].
pub(super) const SLOT_KEY: Key = Key {
    name: "slot",
    takes: Takes::Tables(SLOT),
    needed: false,
    about: "a slot",
    example: "[[part.slot]]",
};
/// Least web that is not pointed out.
pub(super) const LIGAMENT_KEY: Key = Key {
    name: "least-web",
    takes: Takes::Length,
    needed: false,
    about: "thinner webs than this are pointed out",
    example: "1/16 in",
};

/// A web thinner than this is pointed out (mm).
///
/// # Source
/// Common practice for leather.
const USUAL_WEB: f64 = 1.5;
/// A pitch that has run off by more than this at the last hole is pointed out (mm).
///
/// # Source
/// Our choice: a third of the usual 1/32 in by which a hole is wider than its channel.
const RUN_OFF: f64 = 0.25;

/// One hole with what it is called in messages.
#[derive(Debug, Clone)]
struct Bored {
    outline: Loop,
    name: String,
    place: Place,
}

/// Holes, their part of the sum, and what is wrong with them.
#[derive(Debug, Default)]
pub(super) struct Holes {
    pub(super) loops: Vec<Loop>,
    pub(super) terms: Vec<Term>,
    pub(super) dimensions: Vec<Dimension>,
    pub(super) faults: Vec<Fault>,
}

/// Works out every hole of a part, the bore of a ring first, and checks that each lies inside `outline` and apart from the rest.
///
/// # Source
/// Webs under 1.5 mm in leather are weak: common practice.
pub(super) fn holes(m: &Measures, outline: &Loop, bore: Option<&Loop>) -> Holes {
    let mut found = Holes::default();
    let mut bored: Vec<Bored> = bore
        .map(|bore| Bored {
            outline: bore.clone(),
            name: "the bore".to_owned(),
            place: m.place_of("bore").clone(),
        })
        .into_iter()
        .collect();
    let many = m.tables("row").len() > 1;
    for (i, row) in m.tables("row").iter().enumerate() {
        let name = if many { format!("row {}", i + 1) } else { "the row".to_owned() };
        bore_row(row, &name, &mut bored, &mut found);
    }
    for (key, word) in [("hole", "hole"), ("screw", "screw hole")] {
        for (i, hole) in m.tables(key).iter().enumerate() {
            found.faults.extend(positive(hole, &["diameter"]));
            if let (Some((x, y)), Some(d)) = (hole.point("at"), hole.mm("diameter"))
                && let Ok(outline) = Loop::circle(Point::new(x, y), d / 2.0)
            {
                let label = format!("{word} {}", i + 1);
                found.terms.extend(
                    Sum::default().given(hole, "diameter", &format!("diameter of {label}")).terms,
                );
                found.dimensions.push(Dimension::Diameter(Point::new(x, y), d / 2.0, shown(d)));
                bored.push(Bored {
                    outline,
                    name: format!("{word} {}", i + 1),
                    place: hole.place.clone(),
                });
            }
        }
    }
    for (i, slot) in m.tables("slot").iter().enumerate() {
        if let Some(outline) = slot_loop(slot, &mut found.faults) {
            bored.push(Bored {
                outline,
                name: format!("slot {}", i + 1),
                place: slot.place.clone(),
            });
        }
    }
    check(m, outline, &bored, &mut found);
    found.loops = bored.into_iter().map(|b| b.outline).collect();
    found
}

/// Distances of a row's holes from its first.
fn stations(row: &Measures, faults: &mut Vec<Fault>) -> Vec<f64> {
    let listed = row.lengths("at");
    if !listed.is_empty() {
        if let Some(other) = ["holes", "pitch", "break"].into_iter().find(|key| row.has(key)) {
            faults.push(wrong(
                row,
                other,
                format!("a row with a list `at` takes no `{other}`"),
                "give the list, or holes, pitch and breaks",
            ));
        }
        if !listed.is_sorted_by(|a, b| a.mm() < b.mm()) {
            faults.push(wrong(
                row,
                "at",
                "the distances of `at` do not rise from hole to hole".into(),
                "each is measured from the first hole: [\"0 in\", \"1/2 in\", \"1 1/8 in\"]",
            ));
        }
        return listed.iter().map(crate::units::Length::mm).collect();
    }
    let (Some(count), Some(pitch)) = (row.count("holes"), row.mm("pitch")) else {
        faults.push(
            Fault::error("E12", "a row needs `holes` and `pitch`, or a list `at`")
                .at(&row.place)
                .cure("holes = 54 and pitch = \"1/2 in\""),
        );
        return Vec::new();
    };
    if count == 0 || count > 2000 {
        faults.push(wrong(
            row,
            "holes",
            format!("a row of {count} holes"),
            "a row has 1 to 2000 holes",
        ));
        return Vec::new();
    }
    if pitch <= 0.0 && count > 1 {
        faults.push(wrong(
            row,
            "pitch",
            "`pitch` is 0".into(),
            "give the distance from centre to centre",
        ));
        return Vec::new();
    }
    let breaks: Vec<(u32, f64)> = row
        .tables("break")
        .iter()
        .filter_map(|b| Some((b.count("after")?, b.mm("add")?)))
        .collect();
    for (after, _) in breaks.iter().filter(|(after, _)| *after == 0 || *after >= count) {
        faults.push(wrong(
            row,
            "break",
            format!("a break after hole {after} in a row of {count}"),
            &format!("breaks come after holes 1 to {}", count - 1),
        ));
    }
    (0..count)
        .map(|i| {
            let added: f64 =
                breaks.iter().filter(|(after, _)| *after <= i).map(|(_, add)| add).sum();
            f64::from(i) * pitch + added
        })
        .collect()
}

fn bore_row(row: &Measures, name: &str, bored: &mut Vec<Bored>, found: &mut Holes) {
    found.faults.extend(positive(row, &["diameter"]));
    let stations = stations(row, &mut found.faults);
    let (Some((x, y)), Some(d)) = (row.point("first"), row.mm("diameter")) else {
        return;
    };
    let way =
        if row.word("way") == Some("width") { Vec2::new(0.0, 1.0) } else { Vec2::new(1.0, 0.0) };
    for (i, station) in stations.iter().enumerate() {
        if let Ok(outline) = Loop::circle(Point::new(x, y) + way * *station, d / 2.0) {
            bored.push(Bored {
                outline,
                name: format!("hole {} of {name}", i + 1),
                place: row.place.clone(),
            });
        }
    }
    let reach = stations.last().copied().unwrap_or(0.0);
    let (first, last) = (
        Point::new(x, y) + way * stations.first().copied().unwrap_or(0.0),
        Point::new(x, y) + way * reach,
    );
    let many =
        if stations.len() > 1 { format!(", {} alike", stations.len()) } else { String::new() };
    found.dimensions.push(Dimension::Diameter(first, d / 2.0, shown(d) + &many));
    if stations.len() > 1 {
        // Drawn from the far end, so that the line stands on the outer side.
        found.dimensions.push(Dimension::Span(first, last, 1.0, shown(reach)));
    }
    let place = if row.word("way") == Some("width") {
        Dimension::Span(Point::new(x, y), Point::new(x, 0.0), 1.0, shown(y))
    } else {
        Dimension::Span(Point::new(x, y), Point::new(0.0, y), 1.0, shown(x))
    };
    found.dimensions.push(place);
    let mut sum = Sum::default()
        .given(row, "pitch", &format!("pitch of {name}"))
        .given(row, "diameter", &format!("diameter of its {} holes", stations.len()))
        .note("first centre to last", "", reach, "mm");
    if let Some(span) = row.mm("span") {
        let off = reach - span;
        sum = sum.given(row, "span", "measured first to last").note(
            "pitch error at the last hole",
            "worked out - measured",
            off,
            "mm",
        );
        if off.abs() > RUN_OFF {
            let count = stations.len().max(2) - 1;
            #[allow(clippy::cast_precision_loss, reason = "a count of holes")]
            let each = off / count as f64;
            found.faults.push(doubt(
                "W25",
                row,
                "span",
                format!(
                    "at the last hole the pitch has run off by {} ({:.4} mm a hole)",
                    mm(off),
                    each
                ),
                "measure the pitch over many holes, or give the holes as a list `at`",
            ));
        }
    }
    found.terms.extend(sum.terms);
}

fn slot_loop(slot: &Measures, faults: &mut Vec<Fault>) -> Option<Loop> {
    let (x, y) = slot.point("at")?;
    let (length, width) = (slot.mm("length")?, slot.mm("width")?);
    let bad = positive(slot, &["length", "width"]);
    if !bad.is_empty() {
        faults.extend(bad);
        return None;
    }
    if length < width {
        faults.push(wrong(
            slot,
            "length",
            format!("slot {} long and {} wide", mm(length), mm(width)),
            "the length runs over the ends and is the longer figure",
        ));
        return None;
    }
    let upright = slot.word("way") == Some("width");
    if slot.word("ends") == Some("square") {
        let (w, h) = if upright { (width, length) } else { (length, width) };
        return rectangle(Point::new(x - w / 2.0, y - h / 2.0), w, h, 0.0).ok();
    }
    let half = (length - width) / 2.0;
    let reach = if upright { Vec2::new(0.0, half) } else { Vec2::new(half, 0.0) };
    let middle = Point::new(x, y);
    obround(middle - reach, middle + reach, width).ok()
}

/// Every hole inside, none meeting another; the thinnest web reported.
fn check(m: &Measures, outline: &Loop, bored: &[Bored], found: &mut Holes) {
    let mut thinnest: Option<(f64, String)> = None;
    let mut take = |web: f64, what: String| {
        if thinnest.as_ref().is_none_or(|(least, _)| web < *least) {
            thinnest = Some((web, what));
        }
    };
    for (i, hole) in bored.iter().enumerate() {
        if !loop_within(&hole.outline, outline) {
            let (b, room) = (hole.outline.bounds(), outline.bounds());
            let out = (room.x0 - b.x0).max(b.x1 - room.x1).max(room.y0 - b.y0).max(b.y1 - room.y1);
            let how = if out > 0.0 {
                format!("ends {} outside the part", mm(out))
            } else {
                "runs into the part's edge".to_owned()
            };
            found.faults.push(
                Fault::error("E27", format!("{} {how}", hole.name)).at(&hole.place).cure(format!(
                    "the part is {} long and {} wide; places are measured from its lower left corner",
                    mm(room.width()),
                    mm(room.height())
                )),
            );
            continue;
        }
        take(
            loop_distance(&hole.outline, outline).0,
            format!("between {} and the edge", hole.name),
        );
        for other in &bored[..i] {
            let apart = loop_distance(&hole.outline, &other.outline).0;
            if apart <= 1e-6
                || loop_within(&hole.outline, &other.outline)
                || loop_within(&other.outline, &hole.outline)
            {
                found.faults.push(
                    Fault::error(
                        "E27",
                        format!("{} and {} run into each other", other.name, hole.name),
                    )
                    .at(&hole.place)
                    .cure("look at their places and diameters"),
                );
            } else {
                take(apart, format!("between {} and {}", other.name, hole.name));
            }
        }
    }
    if found.faults.iter().filter(|f| f.code == "E27").count() > 3 {
        let more = found.faults.iter().filter(|f| f.code == "E27").count() - 3;
        let mut seen = 0;
        found.faults.retain(|f| {
            seen += usize::from(f.code == "E27");
            f.code != "E27" || seen <= 3
        });
        if let Some(last) = found.faults.iter_mut().rev().find(|f| f.code == "E27") {
            last.text = format!("{}, and {more} more holes likewise", last.text);
        }
    }
    if let Some((web, what)) = thinnest {
        found.terms.extend(Sum::default().note("thinnest web", &what, web, "mm").terms);
        if web < m.mm_or("least-web", USUAL_WEB) {
            found.faults.push(doubt(
                "W24",
                m,
                "least-web",
                format!("only {} of material {what}", mm(web)),
                "thin webs tear and leak; `least-web` says from what width on to be silent",
            ));
        }
    }
}
