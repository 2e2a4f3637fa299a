//! Slips of whoever fills in the table: readings in the wrong place or the wrong unit, and what no cut can be.

use super::design::numbered;
use super::spot::{Axis, Feature, Filled, Reading, Spot, drawn, kerf_of};
use crate::fault::Fault;
use std::collections::BTreeMap;

/// No cut is wider (mm).
///
/// # Source
/// A knife takes next to nothing, a laser some tenths: common practice. The bound is ours, and wide.
pub(super) const MOST: f64 = 2.0;
/// A single reading may come out so far below nothing (mm): soft stuff gives under the jaws.
const BELOW: f64 = 0.5;
/// What the table says was drawn is off by no more than this (mm).
const SAME: f64 = 0.005;

/// What a reading that can't be right seems to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Slip {
    /// The size of another spot: along the other axis.
    OtherAxis,
    /// The size of another feature of the piece.
    OtherFeature(Spot),
    /// In another unit: its number among [`UNITS`].
    Unit(usize),
    /// Nothing that is known.
    Unknown,
}

/// Units that get mixed up: by how much a figure is off, what it seems to be, what the figure was read as, its unit.
const UNITS: [(f64, &str, &str); 4] = [
    (25.4, "inches", "in"),
    (1.0 / 25.4, "millimetres", "mm"),
    (10.0, "centimetres", "cm"),
    (0.1, "tenths of a millimetre", ""),
];

/// Every slip of a table; none where all readings can be right.
pub(super) fn slips(filled: &Filled) -> Vec<Fault> {
    let mut faults = changed_drawing(filled);
    if !faults.is_empty() {
        return faults;
    }
    let mut found: BTreeMap<Kind, Vec<(&Reading, Slip)>> = BTreeMap::new();
    for reading in &filled.readings {
        if !is_likely(reading.spot, reading.mm) {
            let slip = slip_of(reading);
            found.entry(kind(reading, slip)).or_default().push((reading, slip));
        }
    }
    for (kind, list) in found {
        match kind {
            Kind::Axes => faults.push(axes(filled, &list)),
            Kind::Features => {
                faults.extend(list.iter().map(|(reading, slip)| feature(reading, *slip)));
            }
            Kind::Unit(axis, unit) => faults.push(other_unit(axis, unit, &list)),
            Kind::Unknown => faults.extend(list.iter().map(|(reading, _)| unlikely(reading))),
        }
    }
    faults
}

/// Slips that are told together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Axes,
    Features,
    Unit(Axis, usize),
    Unknown,
}

fn kind(reading: &Reading, slip: Slip) -> Kind {
    match slip {
        Slip::OtherAxis => Kind::Axes,
        Slip::OtherFeature(_) => Kind::Features,
        Slip::Unit(unit) => Kind::Unit(reading.spot.axis, unit),
        Slip::Unknown => Kind::Unknown,
    }
}

/// Whether a size can be that of a spot.
fn is_likely(spot: Spot, mm: f64) -> bool {
    drawn(spot).is_some_and(|drawn| (-BELOW..=MOST).contains(&kerf_of(spot.feature, drawn, mm)))
}

fn slip_of(reading: &Reading) -> Slip {
    let Spot { number, feature, axis } = reading.spot;
    let turned = Spot { axis: axis.other(), ..reading.spot };
    if is_likely(turned, reading.mm) {
        return Slip::OtherAxis;
    }
    let others = Feature::ALL.into_iter().filter(|other| *other != feature);
    let spots = others
        .flat_map(|feature| [axis, axis.other()].map(|axis| Spot { number, feature, axis }))
        // The other ten strips stand in another row.
        .chain(
            numbered()
                .flat_map(|(number, _)| Axis::BOTH.map(|axis| Spot { number, feature, axis })),
        )
        .filter(|spot| spot.number == number || spot.feature == Feature::Strips);
    for spot in spots {
        if is_likely(spot, reading.mm) {
            return Slip::OtherFeature(spot);
        }
    }
    let unit = UNITS.iter().position(|(factor, ..)| is_likely(reading.spot, reading.mm * factor));
    unit.map_or(Slip::Unknown, Slip::Unit)
}

/// What stands in the columns of what was drawn must be what was drawn.
fn changed_drawing(filled: &Filled) -> Vec<Fault> {
    let off = |reading: &&Reading| {
        drawn(reading.spot).is_none_or(|drawn| (reading.mm - drawn).abs() > SAME)
    };
    let wrong: Vec<&Reading> = filled.drawn.iter().filter(off).collect();
    let Some(first) = wrong.first() else { return Vec::new() };
    let Spot { axis, .. } = first.spot;
    let should = drawn(first.spot).map_or("nothing".to_owned(), |mm| format!("{mm} mm"));
    let exact = |w: &&&Reading| {
        let read = filled.readings.iter().find(|r| r.spot == w.spot);
        read.zip(drawn(w.spot)).is_some_and(|(read, drawn)| (read.mm - drawn).abs() <= SAME)
    };
    let swapped = wrong.iter().filter(exact).count() == wrong.len();
    let fault = if swapped {
        Fault::error(
            "E66",
            format!("the columns drawn-{axis} and measured-{axis} are changed over"),
        )
        .cure("change their heads in the first row, or put the figures into the other column")
    } else {
        Fault::error(
            "E66",
            format!("{}: {} stands as drawn, and {should} was drawn", first.spot, first.written),
        )
        .cure(format!("drawn-{axis} is what the coupon has: put it back, and write what was measured into measured-{axis}"))
    };
    vec![at_each(fault, wrong.into_iter())]
}

fn at_each<'a>(fault: Fault, readings: impl Iterator<Item = &'a Reading>) -> Fault {
    readings.take(5).fold(fault, |fault, reading| fault.at(&reading.place))
}

/// x and y are changed over: the columns where no reading contradicts it, else single rows.
fn axes(filled: &Filled, list: &[(&Reading, Slip)]) -> Fault {
    let telling = |reading: &&Reading| {
        let turned = Spot { axis: reading.spot.axis.other(), ..reading.spot };
        drawn(reading.spot) != drawn(turned)
    };
    let whole = filled.readings.iter().filter(telling).count() == list.len();
    let (first, _) = list[0];
    let fault = if whole && list.len() > 2 {
        Fault::error("E66", "the columns measured-x and measured-y are changed over")
            .cure("change their heads in the first row; along x is the long side of a plate")
    } else {
        let spots: Vec<String> = list.iter().take(4).map(|(r, _)| r.spot.to_string()).collect();
        let more =
            if list.len() > 4 { format!(" and {} more", list.len() - 4) } else { String::new() };
        let axis = first.spot.axis.other();
        Fault::error(
            "E66",
            format!("{}{more}: {} is the size along {axis}", spots.join("; "), first.written),
        )
        .cure("x and y are changed over in this row, or the piece was turned; along x is the long side of a plate")
    };
    at_each(fault, list.iter().map(|(reading, _)| *reading))
}

fn feature(reading: &Reading, slip: Slip) -> Fault {
    let of = match slip {
        Slip::OtherFeature(spot) => spot.to_string(),
        _ => String::new(),
    };
    Fault::error("E66", format!("{}: {} is the size of {of}", reading.spot, reading.written))
        .at(&reading.place)
        .cure("outside and hole, or two rows, are changed over: write each into its own row")
}

fn other_unit(axis: Axis, unit: usize, list: &[(&Reading, Slip)]) -> Fault {
    let (first, _) = list[0];
    let (_, name, word) = UNITS[unit];
    let of = drawn(first.spot).unwrap_or(0.0);
    let number: String =
        first.written.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    let many = match list.len() {
        1 => String::new(),
        n => format!(", and {} more of measured-{axis} likewise", n - 1),
    };
    let cure = if word.is_empty() {
        "is the point in its place?".to_owned()
    } else if list.len() > 1 {
        format!("write measured-{axis} ({word}) at the head of the column")
    } else {
        format!("write {number} {word}")
    };
    let text = format!(
        "{}: {} where {of} mm was drawn looks like {name}{many}",
        first.spot, first.written
    );
    at_each(Fault::error("E66", text).cure(cure), list.iter().map(|(reading, _)| *reading))
}

fn unlikely(reading: &Reading) -> Fault {
    let Some(of) = drawn(reading.spot) else {
        return Fault::error("E67", format!("{}: nothing is measured there", reading.spot))
            .at(&reading.place)
            .cure("leave the cell blank");
    };
    let kerf = kerf_of(reading.spot.feature, of, reading.mm);
    Fault::error(
        "E67",
        format!(
            "{}: {} where {of} mm was drawn makes a kerf of {kerf:.2} mm",
            reading.spot, reading.written
        ),
    )
    .at(&reading.place)
    .cure(format!("a kerf lies between 0 and {MOST} mm: measure again"))
}
