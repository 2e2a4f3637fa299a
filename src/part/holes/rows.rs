//! From measures to single holes: rows, circles, tables, single holes, slots and windows.

use super::{Bored, Few, Holes, MOST_IN_ALL};
use crate::fault::Fault;
use crate::geom::{Loop, Point, Rect, Vec2, obround, rectangle};
use crate::part::measures::Measures;
use crate::part::member::Dimension;
use crate::part::pitch::spaced;
use crate::part::sum::{Sum, doubt, mm, positive, shown, wrong};
use crate::units::Quantity;
use std::collections::BTreeMap;

/// A pitch that has run off by more than this at the last hole is pointed out (mm).
///
/// # Source
/// Our choice: a third of the usual 1/32 in by which a hole is wider than its channel.
const RUN_OFF: f64 = 0.25;
/// A row or a circle has no more holes than this.
const MOST_HOLES: u32 = 2000;

/// The keys that hold the holes of one board, and the word before their names.
pub(super) struct Board {
    row: &'static str,
    hole: &'static str,
    table: &'static str,
    word: &'static str,
}

/// The part's own holes, or the first of two boards.
pub(super) const FIRST: Board = Board { row: "row", hole: "hole", table: "hole-table", word: "" };
/// The board on the other side.
pub(super) const OPPOSITE: Board = Board {
    row: "opposite-row",
    hole: "opposite-hole",
    table: "opposite-table",
    word: "opposite ",
};

impl Board {
    /// Whether any hole of this board was given.
    pub(super) fn given(&self, m: &Measures) -> bool {
        [self.row, self.hole, self.table].iter().any(|key| m.has(key))
    }
}

/// The round holes of a board, screws left out; `room` is the box of the part.
pub(super) fn round_holes(
    m: &Measures,
    board: &Board,
    room: Rect,
    found: &mut Holes,
) -> Vec<Bored> {
    let mut bored = Vec::new();
    let word = board.word;
    for (row, name) in named(m.tables(board.row), &format!("{word}row")) {
        bore_row(row, &name, room, &mut bored, found);
        if bored.len() > MOST_IN_ALL {
            return bored;
        }
    }
    singles(m, board.hole, &format!("{word}hole"), room, &mut bored, found);
    if word.is_empty() {
        for (circle, name) in named(m.tables("circle"), "circle") {
            bore_circle(circle, &name, room, &mut bored, found);
            if bored.len() > MOST_IN_ALL {
                return bored;
            }
        }
    }
    bore_table(m.tables(board.table), &format!("the {word}table"), room, &mut bored, found);
    bored
}

/// Tables with what each is called: with its number where there are several.
fn named<'a>(tables: &'a [Measures], word: &str) -> impl Iterator<Item = (&'a Measures, String)> {
    tables.iter().enumerate().map(move |(i, table)| {
        let name =
            if tables.len() > 1 { format!("{word} {}", i + 1) } else { format!("the {word}") };
        (table, name)
    })
}

/// Single holes.
pub(super) fn singles(
    m: &Measures,
    key: &str,
    word: &str,
    room: Rect,
    bored: &mut Vec<Bored>,
    found: &mut Holes,
) {
    for (i, hole) in m.tables(key).iter().enumerate() {
        found.faults.extend(positive(hole, &["diameter"]));
        if let (Some((x, y)), Some(d)) = (hole.point("at"), hole.mm("diameter"))
            && let Ok(outline) = Loop::circle(Point::new(x, y), d / 2.0)
        {
            let label = format!("{word} {}", i + 1);
            found.terms.extend(
                Sum::default()
                    .given(hole, "diameter", &format!("diameter of {label}"))
                    .note("its middle, from the left end", "", x - room.x0, "mm")
                    .note("and from the lower edge", "", y - room.y0, "mm")
                    .terms,
            );
            found.dimensions.push(Dimension::Diameter(Point::new(x, y), d / 2.0, shown(d)));
            if i == 0 {
                found.dimensions.extend(place(Point::new(x, y), room));
            }
            bored.push(Bored::new(outline, label, &hole.place));
        }
    }
}

/// Holes of a table, a row each; equal diameters are drawn once.
fn bore_table(
    rows: &[Measures],
    name: &str,
    room: Rect,
    bored: &mut Vec<Bored>,
    found: &mut Holes,
) {
    let mut alike: BTreeMap<u64, (Point, usize)> = BTreeMap::new();
    let mut faults = Few::default();
    for (i, row) in rows.iter().enumerate() {
        for fault in positive(row, &["diameter"]) {
            faults.push(|| fault);
        }
        if let (Some(x), Some(y), Some(d)) = (row.mm("x"), row.mm("y"), row.mm("diameter"))
            && let Ok(outline) = Loop::circle(Point::new(x, y), d / 2.0)
        {
            if bored.is_empty() {
                found.dimensions.extend(place(Point::new(x, y), room));
            }
            alike.entry(d.to_bits()).or_insert((Point::new(x, y), 0)).1 += 1;
            bored.push(Bored::new(outline, format!("hole {} of {name}", i + 1), &row.place));
        }
    }
    for (bits, (at, count)) in alike {
        let d = f64::from_bits(bits);
        found.dimensions.push(Dimension::Diameter(at, d / 2.0, shown(d).and(&many(count))));
        let label = match count {
            1 => format!("diameter of a hole of {name}"),
            _ => format!("diameter of {count} holes of {name}"),
        };
        found.terms.extend(Sum::default().note(&label, "", d, "mm").terms);
    }
    found.faults.append(&mut faults.finish());
}

/// Where a place lies from the left end, below the part, and from the lower edge, left of it.
fn place(at: Point, room: Rect) -> [Dimension; 2] {
    [
        Dimension::Span(at, Point::new(room.x0, at.y), 1.0, shown(at.x - room.x0)),
        Dimension::Span(Point::new(at.x, room.y0), at, 1.0, shown(at.y - room.y0)),
    ]
}

/// How many are alike, for a drawing.
fn many(count: usize) -> String {
    if count > 1 { format!(", {count} alike") } else { String::new() }
}

/// Whether a number of holes is one that a row or a circle may have.
fn countable(table: &Measures, what: &str, count: u32, faults: &mut Vec<Fault>) -> bool {
    let good = (1..=MOST_HOLES).contains(&count);
    if !good {
        faults.push(wrong(
            table,
            "holes",
            format!("a {what} of {count} holes"),
            &format!("a {what} has 1 to {MOST_HOLES} holes"),
        ));
    }
    good
}

/// Equal holes on a circle, counter-clockwise from their start.
fn bore_circle(
    circle: &Measures,
    name: &str,
    room: Rect,
    bored: &mut Vec<Bored>,
    found: &mut Holes,
) {
    let bad = positive(circle, &["across", "diameter"]);
    let (Some((x, y)), Some(count), Some(across), Some(d)) =
        (circle.point("at"), circle.count("holes"), circle.mm("across"), circle.mm("diameter"))
    else {
        return;
    };
    let sound = bad.is_empty();
    found.faults.extend(bad);
    if !(countable(circle, "circle", count, &mut found.faults) && sound) {
        return;
    }
    let start = circle.quantity("start").map_or(0.0, Quantity::value);
    let middle = Point::new(x, y);
    let step = 360.0 / f64::from(count);
    let at = |k: u32| {
        let way = crate::geom::turn_vector(Vec2::new(1.0, 0.0), start + step * f64::from(k));
        middle + way * (across / 2.0)
    };
    for k in 0..count {
        if let Ok(outline) = Loop::circle(at(k), d / 2.0) {
            let label = format!("hole {} of {name}", k + 1);
            bored.push(Bored::new(outline, label, &circle.place));
        }
    }
    let alike = many(count as usize);
    found.dimensions.push(Dimension::Diameter(at(0), d / 2.0, shown(d).and(&alike)));
    found.dimensions.push(Dimension::Diameter(
        middle,
        across / 2.0,
        shown(across).and(" to centres"),
    ));
    if (middle - room.center()).hypot() > 1e-6 {
        found.dimensions.extend(place(middle, room));
    }
    let mut sum = Sum::default()
        .given(circle, "across", &format!("{name} through the centres"))
        .given(circle, "diameter", &format!("diameter of its {count} holes"));
    if let Some(turn) = circle.quantity("start") {
        sum = sum.note("turn of the first hole", turn.text(), start, "°");
    }
    if count > 1 {
        let chord = across * (step / 2.0).to_radians().sin();
        sum = sum.note("centre to next centre", "across x sin(180° / holes)", chord, "mm");
    }
    found.terms.extend(sum.terms);
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
    if !countable(row, "row", count, faults) {
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
    spaced(row, count, pitch, ("hole", "row"), faults)
}

fn bore_row(row: &Measures, name: &str, room: Rect, bored: &mut Vec<Bored>, found: &mut Holes) {
    found.faults.extend(positive(row, &["diameter"]));
    let stations = stations(row, &mut found.faults);
    let (Some((x, y)), Some(d)) = (row.point("first"), row.mm("diameter")) else {
        return;
    };
    let upright = row.word("way") == Some("width");
    let way = if upright { Vec2::new(0.0, 1.0) } else { Vec2::new(1.0, 0.0) };
    for (i, station) in stations.iter().enumerate() {
        if let Ok(outline) = Loop::circle(Point::new(x, y) + way * *station, d / 2.0) {
            bored.push(Bored::new(outline, format!("hole {} of {name}", i + 1), &row.place));
        }
    }
    let reach = stations.last().copied().unwrap_or(0.0);
    let (first, last) = (
        Point::new(x, y) + way * stations.first().copied().unwrap_or(0.0),
        Point::new(x, y) + way * reach,
    );
    found.dimensions.push(Dimension::Diameter(first, d / 2.0, shown(d).and(&many(stations.len()))));
    if stations.len() > 1 {
        // Drawn from the far end, so that the line stands on the outer side.
        found.dimensions.push(Dimension::Span(first, last, 1.0, shown(reach)));
    }
    found.dimensions.extend(place(Point::new(x, y), room));
    let mut sum = Sum::default()
        .given(row, "pitch", &format!("pitch of {name}"))
        .given(row, "diameter", &format!("diameter of its {} holes", stations.len()))
        .note("first centre to last", "", reach, "mm")
        .note(&format!("first of {name}, from the left end"), "", first.x - room.x0, "mm")
        .note("and from the lower edge", "", first.y - room.y0, "mm");
    if let Some(span) = row.mm("span") {
        let off = reach - span;
        sum = sum.given(row, "span", "measured first to last").note(
            "pitch error at the last hole",
            "worked out - measured",
            off,
            "mm",
        );
        found.faults.extend(run_off(row, off, stations.len()));
    }
    found.terms.extend(sum.terms);
}

/// A pitch that does not lead to the last hole that was measured.
fn run_off(row: &Measures, off: f64, count: usize) -> Option<Fault> {
    if off.abs() <= RUN_OFF {
        return None;
    }
    #[allow(clippy::cast_precision_loss, reason = "a count of holes")]
    let each = off / (count.max(2) - 1) as f64;
    Some(doubt(
        "W25",
        row,
        "span",
        format!("at the last hole the pitch has run off by {} ({each:.4} mm a hole)", mm(off)),
        "measure the pitch over many holes, or give the holes as a list `at`",
    ))
}

/// Slots.
pub(super) fn slots(m: &Measures, room: Rect, bored: &mut Vec<Bored>, found: &mut Holes) {
    for (i, slot) in m.tables("slot").iter().enumerate() {
        if let Some(outline) = slot_loop(slot, &mut found.faults) {
            let b = outline.bounds();
            if i == 0 {
                let left = Point::new(b.x0, b.y0);
                found.dimensions.extend([
                    Dimension::Span(Point::new(b.x1, b.y0), left, 1.0, shown(b.width())),
                    Dimension::Span(left, Point::new(b.x0, b.y1), 1.0, shown(b.height())),
                ]);
                found.dimensions.extend(place(b.center(), room));
            }
            bored.push(Bored::new(outline, format!("slot {}", i + 1), &slot.place));
        }
    }
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

/// Windows.
pub(super) fn windows(m: &Measures, room: Rect, bored: &mut Vec<Bored>, found: &mut Holes) {
    for (i, window) in m.tables("window").iter().enumerate() {
        let label = format!("window {}", i + 1);
        let Some((outline, length, width)) = window_loop(window, &label, &mut found.faults) else {
            continue;
        };
        let sum = Sum::default()
            .given(window, "length", &format!("length of {label}"))
            .given(window, "width", &format!("width of {label}"))
            .given(window, "corner", "radius of its corners");
        found.terms.extend(sum.terms);
        let b = outline.bounds();
        let (left, right) = (Point::new(b.x0, b.y0), Point::new(b.x1, b.y0));
        found.dimensions.push(Dimension::Span(right, left, 1.0, shown(length)));
        found.dimensions.push(Dimension::Span(left, Point::new(b.x0, b.y1), 1.0, shown(width)));
        found.dimensions.extend(place(left, room));
        bored.push(Bored::new(outline, label, &window.place));
    }
}

fn window_loop(
    window: &Measures,
    label: &str,
    faults: &mut Vec<Fault>,
) -> Option<(Loop, f64, f64)> {
    let (x, y) = window.point("at")?;
    let (length, width) = (window.mm("length")?, window.mm("width")?);
    let bad = positive(window, &["length", "width"]);
    if !bad.is_empty() {
        faults.extend(bad);
        return None;
    }
    let (corner, most) = (window.mm_or("corner", 0.0), length.min(width) / 2.0);
    if corner > most + 1e-9 {
        faults.push(wrong(
            window,
            "corner",
            format!("corner radius {} on {label}, {} by {}", mm(corner), mm(length), mm(width)),
            &format!("{} is the largest that fits", mm(most)),
        ));
        return None;
    }
    let lower_left = Point::new(x - length / 2.0, y - width / 2.0);
    Some((rectangle(lower_left, length, width, corner).ok()?, length, width))
}
