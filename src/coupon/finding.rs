//! What the coupons that are not for the kerf come to: growth under a load, the narrowest web, the smallest hole.

use super::sort::{Row, Sort, rows};
use crate::fault::{Fault, Place, any_error};

/// Strips each way that must have been measured.
const FEWEST: usize = 2;
/// No material grows by more than this share in use.
const MOST: f64 = 0.5;
/// Marks as measured before may be off what was drawn by this share: they are made by hand, or by a wide cut.
const MARKS: f64 = 0.06;
/// What the table says was drawn is off by no more than this (mm).
const SAME: f64 = 0.005;
/// Strips of one way scatter by no more than this (share), or this share of their mean.
///
/// # Source
/// Starting guesses of our own.
const SCATTER: (f64, f64) = (0.005, 0.35);
/// A hole is round where both ways differ by no more than this, and right where it is off by no more (mm).
///
/// # Source
/// Common practice: what a caliper and soft stuff allow; a tenth of the smallest hole that is of use.
const ROUND: (f64, f64) = (0.2, 0.25);

/// A figure of the filled table.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Its value: millimetres, or newtons of a load.
    pub value: f64,
    /// As it was written.
    pub written: String,
    /// Where it stands.
    pub place: Place,
}

/// A row as it was filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct Filling {
    /// Number of the piece.
    pub number: u32,
    /// What stands as drawn.
    pub drawn: Option<Figure>,
    /// Before the load, or along x.
    pub first: Option<Figure>,
    /// Under the load, or along y.
    pub second: Option<Figure>,
    /// The load.
    pub load: Option<Figure>,
    /// How it looks: clean, torn, charred.
    pub look: Option<(&'static str, Place)>,
    /// The row.
    pub place: Place,
}

/// Mean and spread of some strips.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// Mean (share).
    pub mean: f64,
    /// Experimental standard deviation (share).
    ///
    /// # Source
    /// JCGM 100:2008, 4.2.2.
    pub spread: f64,
    /// How many strips.
    pub count: usize,
}

/// What a coupon comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// Growth along and across the grain, and the load as it was written.
    Stretch(Growth, Growth, String),
    /// The narrowest web that held (mm), and whether it is the narrowest there was.
    Gap(f64, bool),
    /// The smallest hole that came out round (mm), and whether it is the smallest there was.
    Hole(f64, bool),
}

/// What the readings come to, with what is to be pointed out.
///
/// # Units
/// Millimetres, newtons, shares.
///
/// # Errors
/// Every slip with its place: `E66` for figures in the wrong place or unit, `E67` for what can't be, `E12` for what is
/// missing.
pub fn found(
    sort: Sort,
    filled: &[Filling],
    head: &Place,
) -> Result<(Finding, Vec<Fault>), Vec<Fault>> {
    let empty =
        filled.iter().all(|it| it.first.is_none() && it.second.is_none() && it.look.is_none());
    if empty {
        return Err(vec![Fault::error("E12", "nothing has been filled in").at(head).cure(
            "cut the coupon, look at it, measure it and write what you find into the table",
        )]);
    }
    let mut faults = Vec::new();
    let pairs = paired(sort, filled, head, &mut faults);
    if any_error(&faults) {
        return Err(faults);
    }
    let finding = match sort {
        Sort::Kerf => None,
        Sort::Stretch => stretched(&pairs, head, &mut faults),
        Sort::Gap => narrowest(&pairs, head, &mut faults).map(|(mm, last)| Finding::Gap(mm, last)),
        Sort::Hole => smallest(&pairs, head, &mut faults),
    };
    match finding {
        Some(finding) if !any_error(&faults) => Ok((finding, faults)),
        _ => Err(faults),
    }
}

/// Whether two sizes are one that was drawn.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME
}

/// Each row of the coupon with what was written beside it.
fn paired<'a>(
    sort: Sort,
    filled: &'a [Filling],
    head: &Place,
    faults: &mut Vec<Fault>,
) -> Vec<(Row, &'a Filling)> {
    let mut pairs: Vec<(Row, &Filling)> = Vec::new();
    let all = rows(sort);
    for it in filled {
        let own: Vec<&Row> = all.iter().filter(|row| row.number == it.number).collect();
        let there =
            |row: &&&Row| it.drawn.as_ref().is_some_and(|drawn| same(drawn.value, row.drawn));
        let Some(row) = own.iter().find(there) else {
            let text = match &it.drawn {
                Some(drawn) => format!(
                    "{} stands as drawn at number {}, and the coupon has none of it there",
                    drawn.written, it.number
                ),
                None => format!("this row of number {} does not say what was drawn", it.number),
            };
            let place = it.drawn.as_ref().map_or(&it.place, |drawn| &drawn.place);
            faults.push(Fault::error("E66", text).at(place).cure(
                "the columns number and drawn are what the coupon has: put them back as they were",
            ));
            continue;
        };
        if let Some((_, first)) = pairs.iter().find(|(other, _)| other == *row) {
            faults.push(
                Fault::error(
                    "E24",
                    format!("{} of number {} is given twice", row.drawn, row.number),
                )
                .at(&it.place)
                .mark(&first.place, "first here")
                .cure("delete one row"),
            );
            continue;
        }
        pairs.push((**row, it));
    }
    let gone = all.iter().filter(|row| !pairs.iter().any(|(other, _)| other == *row)).count();
    if gone > 0 && !any_error(faults) {
        faults.push(
            Fault::warning("W53", format!("{gone} rows of the table are gone"))
                .at(head)
                .cure("a piece that was spoilt may be left out"),
        );
    }
    pairs
}

/// Units that get mixed up: by how much a figure is off, and what it seems to be.
const UNITS: [(f64, &str); 4] = [
    (25.4, "inches"),
    (1.0 / 25.4, "millimetres in a column of inches"),
    (10.0, "centimetres"),
    (0.1, "tenths of a millimetre"),
];

fn wrong(it: &Figure, text: String, cure: &str) -> Fault {
    Fault::error("E66", text).at(&it.place).cure(cure)
}

/// A figure that is near what another row has drawn, or what was drawn in another unit.
fn elsewhere(
    row: &Row,
    it: &Figure,
    near: &dyn Fn(f64, f64) -> bool,
    all: &[f64],
) -> Option<Fault> {
    let what = format!("number {}: {} where {} mm was drawn", row.number, it.written, row.drawn);
    if let Some(other) = all.iter().find(|mm| !same(**mm, row.drawn) && near(it.value, **mm)) {
        let text = format!("{what} is the size of {other} mm");
        return Some(wrong(it, text, "two rows are changed over: write each into its own"));
    }
    let unit = UNITS.iter().find(|(factor, _)| near(it.value * factor, row.drawn))?;
    Some(wrong(
        it,
        format!("{what} looks like {}", unit.1),
        "give the unit at the head of the column, or in the cell",
    ))
}

fn stretched(pairs: &[(Row, &Filling)], head: &Place, faults: &mut Vec<Fault>) -> Option<Finding> {
    let both = |it: &Filling| Some((it.first.clone()?, it.second.clone()?));
    let full: Vec<(Row, Figure, Figure, &Filling)> =
        pairs.iter().filter_map(|(row, it)| both(it).map(|(a, b)| (*row, a, b, *it))).collect();
    unlikely_strips(&full, faults);
    if any_error(faults) {
        return None;
    }
    let load = one_load(&full, faults)?;
    let mut made = Vec::new();
    for way in ["along", "across"] {
        let list: Vec<f64> = full
            .iter()
            .filter(|(row, ..)| row.way == way)
            .map(|(_, before, loaded, _)| loaded.value / before.value - 1.0)
            .collect();
        if list.len() < FEWEST {
            faults.push(
                Fault::error(
                    "E12",
                    format!("{} strips {way} the grain, and {FEWEST} are the least", list.len()),
                )
                .at(head)
                .cure("measure more of them, before and under the load"),
            );
            continue;
        }
        let growth = growth(&list);
        if growth.spread > SCATTER.0.max(SCATTER.1 * growth.mean) {
            faults.push(
                Fault::warning("W52", format!("strips {way} the grain scatter by {:.2} % about {:.2} %", 100.0 * growth.spread, 100.0 * growth.mean))
                    .at(head)
                    .cure("the mean is taken; skins differ from place to place: cut another coupon elsewhere"),
            );
        }
        made.push(growth);
    }
    let blank = pairs.len() - full.len();
    if blank > 0 && !any_error(faults) {
        faults.push(
            Fault::warning("W53", format!("{blank} strips are without one of their lengths"))
                .at(head)
                .cure("a strip that was spoilt may be left out"),
        );
    }
    match made[..] {
        [along, across] => Some(Finding::Stretch(along, across, load)),
        _ => None,
    }
}

/// Strips that shrank, that grew beyond belief, or whose lengths stand in the wrong place or unit.
fn unlikely_strips(full: &[(Row, Figure, Figure, &Filling)], faults: &mut Vec<Fault>) {
    let shrunk = full.iter().filter(|(_, before, loaded, _)| loaded.value < before.value - 1e-9);
    let shrunk: Vec<_> = shrunk.collect();
    if shrunk.len() > 1 && shrunk.len() == full.len() {
        faults.push(wrong(
            &shrunk[0].2,
            "the columns before and loaded are changed over: every strip would have shrunk"
                .to_owned(),
            "change their heads in the first row",
        ));
        return;
    }
    let drawn = [100.0, 80.0];
    let near = |mm: f64, of: f64| (mm / of - 1.0).abs() <= MARKS;
    for (row, before, loaded, _) in full {
        if !near(before.value, row.drawn) {
            faults.push(elsewhere(row, before, &near, &drawn).unwrap_or_else(|| {
                let text = format!(
                    "number {}: {} where {} mm was drawn",
                    row.number, before.written, row.drawn
                );
                Fault::error("E67", text)
                    .at(&before.place)
                    .cure("measure from mark to mark, without a load")
            }));
        } else if loaded.value < before.value - 1e-9 {
            let text = format!(
                "number {} shrank under its load: {} before, {} then",
                row.number, before.written, loaded.written
            );
            faults.push(Fault::error("E67", text).at(&loaded.place).cure("measure it again"));
        } else if loaded.value > before.value * (1.0 + MOST) {
            let as_drawn = |mm: f64, of: f64| (0.9..1.0 + MOST).contains(&(mm / of));
            faults.push(elsewhere(row, loaded, &as_drawn, &[]).unwrap_or_else(|| {
                let text = format!(
                    "number {} grew from {} to {}",
                    row.number, before.written, loaded.written
                );
                Fault::error("E67", text)
                    .at(&loaded.place)
                    .cure("no leather or cloth of use grows by more than half: measure again")
            }));
        }
    }
}

/// The load, which is the same for all.
fn one_load(full: &[(Row, Figure, Figure, &Filling)], faults: &mut Vec<Fault>) -> Option<String> {
    let loads: Vec<&Figure> = full.iter().filter_map(|(.., it)| it.load.as_ref()).collect();
    let Some(first) = loads.first() else {
        let place = full.first().map(|(.., it)| &it.place);
        faults.push(
            Fault::error("E12", "the load is not said")
                .at_some(place)
                .cure("write it into the column load once, for example 500 gf or 5 N: growth without its load means nothing"),
        );
        return None;
    };
    if let Some(other) = loads.iter().find(|it| (it.value - first.value).abs() > 1e-6 * first.value)
    {
        faults.push(
            Fault::error(
                "E67",
                format!("one strip bore {}, another {}", first.written, other.written),
            )
            .at(&other.place)
            .mark(&first.place, "the first")
            .cure("hang the same load on all of them"),
        );
        return None;
    }
    Some(first.written.clone())
}

#[allow(clippy::cast_precision_loss, reason = "a count of strips")]
fn growth(list: &[f64]) -> Growth {
    let n = list.len() as f64;
    let mean = list.iter().sum::<f64>() / n;
    let squares: f64 = list.iter().map(|it| (it - mean).powi(2)).sum();
    Growth { mean, spread: (squares / (n - 1.0)).sqrt(), count: list.len() }
}

/// The smallest size from which on all are good, and whether it is the smallest of all; whatever is good below one
/// that is not is told.
fn from_on(
    sizes: &[f64],
    good: &dyn Fn(f64) -> Option<bool>,
    what: (&str, &str),
    head: &Place,
    faults: &mut Vec<Fault>,
) -> Option<(f64, bool)> {
    let mut best = None;
    for (n, mm) in sizes.iter().enumerate().rev() {
        if good(*mm) != Some(true) {
            break;
        }
        best = Some((*mm, n == 0));
    }
    let Some((mm, last)) = best else {
        faults.push(
            Fault::error(
                "E67",
                format!("not even the {} of {} mm {}", what.0, sizes[sizes.len() - 1], what.1),
            )
            .at(head)
            .cure("look at power, feed, focus or blade, and cut the coupon again"),
        );
        return None;
    };
    let odd: Vec<String> = sizes
        .iter()
        .filter(|size| **size < mm && good(**size) == Some(true))
        .map(|size| format!("{size} mm"))
        .collect();
    if !odd.is_empty() {
        let text = format!("{} {} although a wider one did not", odd.join(", "), what.1);
        faults.push(
            Fault::warning("W52", text)
                .at(head)
                .cure("it does not count: cut the coupon again if you doubt it"),
        );
    }
    Some((mm, last))
}

fn narrowest(
    pairs: &[(Row, &Filling)],
    head: &Place,
    faults: &mut Vec<Fault>,
) -> Option<(f64, bool)> {
    let blanks = pairs.iter().filter(|(_, it)| it.look.is_none()).count();
    if blanks > 0 {
        faults.push(
            Fault::warning("W53", format!("{blanks} webs are without a word on how they look"))
                .at(head)
                .cure("clean, torn or charred; what is left blank counts as not clean"),
        );
    }
    let good = |mm: f64| {
        let mut both = pairs.iter().filter(|(row, _)| same(row.drawn, mm)).peekable();
        both.peek()?;
        Some(both.all(|(_, it)| it.look.as_ref().is_some_and(|(look, _)| *look == "clean")))
    };
    from_on(&super::sort::WEBS, &good, ("web", "held"), head, faults)
}

fn smallest(pairs: &[(Row, &Filling)], head: &Place, faults: &mut Vec<Fault>) -> Option<Finding> {
    let all = super::sort::HOLES;
    let near = |mm: f64, of: f64| (mm - of).abs() <= ROUND.1;
    for (row, it) in pairs {
        for figure in [&it.first, &it.second].into_iter().flatten() {
            if (figure.value - row.drawn).abs() > 3.0 * ROUND.1 + 0.1 * row.drawn {
                faults.push(elsewhere(row, figure, &near, &all).unwrap_or_else(|| {
                    let text = format!(
                        "number {}: {} where {} mm was drawn",
                        row.number, figure.written, row.drawn
                    );
                    Fault::error("E67", text)
                        .at(&figure.place)
                        .cure("measure it again, or leave it blank where it tore out")
                }));
            }
        }
    }
    if any_error(faults) {
        return None;
    }
    let off: Vec<f64> = pairs
        .iter()
        .filter_map(|(row, it)| {
            Some((it.first.as_ref()?.value + it.second.as_ref()?.value) / 2.0 - row.drawn)
        })
        .collect();
    #[allow(clippy::cast_precision_loss, reason = "a count of holes")]
    let mean = off.iter().sum::<f64>() / off.len().max(1) as f64;
    if off.len() > 3 && mean.abs() > ROUND.1 {
        faults.push(
            Fault::error(
                "E67",
                format!(
                    "every hole is off by {mean:+.2} mm, as if the width of the cut were another"
                ),
            )
            .at(head)
            .cure("measure the kerf first: pouchwork coupon kerf"),
        );
        return None;
    }
    let good = |mm: f64| {
        let (_, it) = pairs.iter().find(|(row, _)| same(row.drawn, mm))?;
        let clean = it.look.as_ref().is_some_and(|(look, _)| *look == "clean");
        let (Some(x), Some(y)) = (&it.first, &it.second) else { return Some(false) };
        let round = (x.value - y.value).abs() <= ROUND.0 + 1e-9;
        let right = ((x.value + y.value) / 2.0 - mm).abs() <= ROUND.1 + 1e-9;
        Some(clean && round && right)
    };
    let blanks = pairs
        .iter()
        .filter(|(_, it)| it.first.is_none() || it.second.is_none() || it.look.is_none())
        .count();
    if blanks > 0 {
        faults.push(
            Fault::warning(
                "W53",
                format!("{blanks} holes are without a diameter or a word on how they look"),
            )
            .at(head)
            .cure("what is left blank counts as not clean"),
        );
    }
    from_on(&all, &good, ("hole", "came out round"), head, faults)
        .map(|(mm, last)| Finding::Hole(mm, last))
}
