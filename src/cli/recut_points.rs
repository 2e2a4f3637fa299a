//! The two points by which a sheet is found on the bed.

use super::recut_place::record_of;
use crate::fault::{Fault, nearest};
use crate::geom::{Loop, Point, Pose, Vec2, Where, loop_distance, point_in_loop};
use crate::job::code_of;
use crate::lay::record::Record;
use crate::lay::{Lies, MOST_RESIDUAL, PLACED_WITHIN};
use crate::machine::Machine;
use crate::part::Piece;
use crate::sheet::{Sheet, State};
use crate::units::Length;
use std::collections::BTreeMap;
use std::path::Path;

/// Two points nearer to each other than this tell no turn (mm).
const LEAST_APART: f64 = 20.0;
/// From so many of their distances on, a place is far from both points.
const FAR: f64 = 2.0;
/// An outline that passes its box's corner within this has a corner there (mm).
const AT_CORNER: f64 = 0.01;
/// The corners of a sheet by their names.
const CORNERS: [&str; 4] = ["lower-left", "lower-right", "upper-right", "upper-left"];

/// A point of a sheet with the name it goes by.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Named {
    pub name: String,
    pub at: Point,
}

/// The register dots of a sheet as the lays recorded them that were cut from it, where the sheet has them now.
fn recorded(folder: &Path, sheet: &Sheet, pieces: &[Piece], job: Option<&str>) -> Vec<Named> {
    let mut lays: BTreeMap<&str, Option<Record>> = BTreeMap::new();
    let mut shifts: BTreeMap<&str, Vec<Vec2>> = BTreeMap::new();
    let cut =
        |used: &&crate::sheet::Used| used.state != State::Claimed && used.by.job.as_deref() == job;
    for used in sheet.used.iter().filter(cut) {
        let lay = used.by.lay.as_str();
        let record = lays.entry(lay).or_insert_with(|| record_of(folder, lay));
        // Where the piece lies now, less where its lay had it: a sheet that was parted has another corner.
        let shift = record.as_ref().and_then(|record| {
            let row = record.pieces.iter().find(|row| row.address == used.address)?;
            let piece = pieces.iter().find(|p| p.address.to_string() == used.address)?;
            let stance = match (&piece.turns, row.stance) {
                (crate::part::Turns::Fixed(list), Some(turn)) => {
                    list.iter().position(|s| s.turn.to_bits() == turn.to_bits())?
                }
                _ => 0,
            };
            let (x, y, turn, mirrored) = (row.x, row.y, row.turn, row.mirrored);
            let pose = Pose { x, y, turn, mirrored };
            let then = pose.on_loop(piece.turns.design(stance)?.shape.outline()).bounds().center();
            Some(used.outline.bounds().center() - then)
        });
        shifts.entry(lay).or_default().extend(shift);
    }
    let mut found: Vec<Named> = Vec::new();
    for (lay, record) in &lays {
        let Some(shift) = shifts.get(lay).and_then(|list| {
            let first = *list.first()?;
            list.iter().all(|s| (*s - first).hypot() < 1e-2).then_some(first)
        }) else {
            continue;
        };
        for row in record.iter().flat_map(|r| &r.dots).filter(|row| row.sheet == sheet.id) {
            let at = Point::new(row.x, row.y) + shift;
            let within = |it: &Loop| point_in_loop(at, it) != Where::Outside;
            // It went with a piece, or with the rest that was parted off.
            let gone = !within(&sheet.outline) || sheet.used.iter().any(|u| within(&u.outline));
            if !gone && found.iter().all(|dot| (dot.at - at).hypot() > 1.0) {
                found.push(Named { name: format!("dot-{}", found.len() + 1), at });
            }
        }
    }
    found
}

/// The two points to point at: those that are named, else the two recorded dots that serve best.
pub(super) fn points(
    folder: &Path,
    (sheet, pieces, job): (&Sheet, &[Piece], Option<&str>),
    by: &[String],
    (machine, middle): (&Machine, Point),
) -> Result<[Named; 2], Fault> {
    let dots = recorded(folder, sheet, pieces, job);
    let chosen = match by {
        [] => best_pair(&dots, machine, middle).ok_or_else(|| {
            Fault::error("E117", format!("{} has no two register dots on record", sheet.id)).cure(
                "name two points of it with --by: pieces that were cut from it (the middle of their holes counts), or corners, as in --by lower-left --by lower-right",
            )
        })?,
        [a, b] => [named(sheet, &dots, a)?, named(sheet, &dots, b)?],
        _ => {
            return Err(Fault::error("E117", format!("--by names {} points", by.len()))
                .cure("name two: --by pouch:3 --by pouch:50"));
        }
    };
    let apart = (chosen[1].at - chosen[0].at).hypot();
    if apart < LEAST_APART {
        return Err(Fault::error(
            "E117",
            format!(
                "{} and {} are {apart:.1} mm from each other on {}: that tells no turn",
                chosen[0].name, chosen[1].name, sheet.id
            ),
        )
        .cure("name two points that are far from each other with --by"));
    }
    Ok(chosen)
}

/// The two dots farthest from each other that the bed can hold at once with the piece, else farthest at all.
fn best_pair(dots: &[Named], machine: &Machine, middle: Point) -> Option<[Named; 2]> {
    let most = (machine.width.min(machine.depth) - 2.0 * machine.margin).max(0.0);
    let mut best: Option<(bool, f64, [Named; 2])> = None;
    for (i, a) in dots.iter().enumerate() {
        for b in &dots[i + 1..] {
            let apart = (b.at - a.at).hypot();
            let wide = apart.max((a.at - middle).hypot()).max((b.at - middle).hypot());
            let fits = wide <= most;
            if best.as_ref().is_none_or(|(f, d, _)| (fits, apart) > (*f, *d)) {
                best = Some((fits, apart, [a.clone(), b.clone()]));
            }
        }
    }
    best.map(|(.., pair)| pair)
}

/// A point by its name: a dot, a piece that was cut, a corner.
fn named(sheet: &Sheet, dots: &[Named], name: &str) -> Result<Named, Fault> {
    let made = |at: Point| Ok(Named { name: name.to_owned(), at });
    if let Some(dot) = dots.iter().find(|dot| dot.name == name) {
        return made(dot.at);
    }
    let cut = || sheet.used.iter().filter(|used| used.state != State::Claimed);
    if let Some(used) = cut().rfind(|used| used.address == name) {
        return made(used.outline.bounds().center());
    }
    if let Some(n) = CORNERS.iter().position(|corner| *corner == name) {
        let b = sheet.outline.bounds();
        let at = [(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)][n];
        let at = Point::from(at);
        let dot = Loop::circle(at, AT_CORNER / 2.0);
        if dot.is_ok_and(|dot| loop_distance(&dot, &sheet.outline).0 <= AT_CORNER) {
            return made(at);
        }
        return Err(Fault::error(
            "E117",
            format!("the outline of {} has no corner at its {name}", sheet.id),
        )
        .cure("name pieces that were cut from it, as in --by pouch:3 --by pouch:50"));
    }
    let mut known: Vec<&str> = dots.iter().map(|dot| dot.name.as_str()).collect();
    known.extend(cut().map(|used| used.address.as_str()));
    known.extend(CORNERS);
    let cure = match nearest(name, known.iter().copied()) {
        Some(near) => format!("did you mean {near}?"),
        None => "a point is a piece that was cut from the sheet, dot-1 and so on, or lower-left, lower-right, upper-right, upper-left".to_owned(),
    };
    Err(Fault::error("E117", format!("there is no point {name} on {}", sheet.id)).cure(cure))
}

/// Where the two points were found on the bed, as typed: four lengths.
pub(super) fn measured(typed: &[String], machine: &Machine) -> Result<[Point; 2], Vec<Fault>> {
    let mut faults = Vec::new();
    let mut figures = Vec::new();
    for (n, text) in typed.iter().enumerate() {
        match Length::parse(text, None) {
            Ok(length) => {
                let most = if n % 2 == 0 { machine.width } else { machine.depth };
                if length.mm() > most {
                    let way = if n % 2 == 0 { "wide" } else { "deep" };
                    faults.push(
                        Fault::error(
                            "E117",
                            format!(
                                "{text} is off the bed of {}, which is {most} mm {way}",
                                machine.key
                            ),
                        )
                        .cure(
                            "measure from the bed's own corner, where the machine stands at 0, 0",
                        ),
                    );
                }
                figures.push(length.mm());
            }
            Err(fault) => {
                let told = Fault::error(code_of(&fault), format!("\"{text}\": {}", fault.text()));
                faults.push(match fault.cure() {
                    Some(cure) => told.cure(cure),
                    None => told,
                });
            }
        }
    }
    match figures[..] {
        [x1, y1, x2, y2] if faults.is_empty() => Ok([Point::new(x1, y1), Point::new(x2, y2)]),
        _ => Err(faults),
    }
}

/// How the sheet lies, if the points go with it and with where the piece lies.
pub(super) fn checked(
    lies: &Lies,
    names: &[Named; 2],
    sheet: &str,
    middle: Point,
) -> Result<(), Fault> {
    if lies.holds_at(middle) {
        return Ok(());
    }
    let (residual, [a, b]) = (lies.residual(), names);
    let what = if residual.abs() > MOST_RESIDUAL {
        format!("no more than {MOST_RESIDUAL} mm are taken")
    } else {
        format!(
            "the piece, which lies far from both, would be off by {:.2} mm; no more than {PLACED_WITHIN} mm are taken",
            lies.off_at(middle)
        )
    };
    Err(Fault::error(
        "E116",
        format!(
            "{} and {} are {:.2} mm apart on the bed and {:.2} mm on {sheet}: {residual:+.2} mm; {what}",
            a.name, b.name, lies.apart() + residual, lies.apart()
        ),
    )
    .cure("point at both once more; if it stays so the sheet has stretched, or it is another one: name two other points with --by, nearer to the piece, or another sheet with --from"))
}

/// What is told of points that are near each other for where the piece lies.
pub(super) fn far(lies: &Lies, middle: Point) -> Option<Fault> {
    let share = lies.share(middle);
    (share > FAR).then(|| {
        Fault::warning(
            "W95",
            format!("the piece lies {share:.1} times as far from the middle of the two points as they are apart: a slip in pointing grows as much"),
        )
        .cure("name two points with --by that have the piece between them")
    })
}
