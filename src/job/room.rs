//! Whether a part has something to be cut from: sheets that are there, thick as wanted, large enough, and for whom.

use super::Job;
use super::document::Heap;
use crate::fault::Fault;
use crate::geom::tolerance::{FLAT, SLACK};
use crate::geom::{Loop, Pose};
use crate::part::{Part, Piece, Size, TOGETHER_APART, Turns};
use crate::sheet::Sheet;
use std::collections::BTreeSet;

/// The sheets of its material that a part may come from.
fn open_to<'a>(job: &'a Job, part: &Part) -> Vec<&'a Sheet> {
    let free = |sheet: &Sheet| {
        part.cut_with.is_empty()
            || sheet.cut_with.as_ref().is_none_or(|with| *with == part.cut_with)
    };
    job.sheets.iter().filter(|s| s.material == part.material && free(s)).collect()
}

/// Whether there is something to cut a part from.
pub(super) fn sheets_for(heap: &Heap, job: &Job, part: &Part, sizes: &[Size]) {
    if !job.materials.contains_key(&part.material) {
        return;
    }
    let of_it: Vec<&Sheet> = job.sheets.iter().filter(|s| s.material == part.material).collect();
    if of_it.is_empty() {
        heap.add(
            Fault::error(
                "E32",
                format!("{}: there is no sheet of {}", part.title(), part.material),
            )
            .at(&part.place)
            .cure("write a [[hide]], [[cloth]] or [[leaf]] of it"),
        );
        return;
    }
    let open = open_to(job, part);
    if open.is_empty() {
        let mut fault = Fault::error(
            "E32",
            format!("{}: no sheet of {} is for {}", part.title(), part.material, part.cut_with),
        )
        .at(&part.place);
        for sheet in of_it {
            let with = sheet.cut_with.clone().unwrap_or_default();
            fault = fault.mark(&sheet.place, format!("{} is for {with}", sheet.id));
        }
        heap.add(fault.cure("change `cut-with` of the part or of a sheet, or add a sheet"));
        return;
    }
    good_enough(heap, part, &open);
    within(heap, part, &open);
    facings(heap, part, sizes, &open);
}

/// E32: no sheet is good enough anywhere for what a part asks.
fn good_enough(heap: &Heap, part: &Part, open: &[&Sheet]) {
    let Some(worst) = part.grade else { return };
    if open.iter().any(|sheet| sheet.grades().iter().any(|grade| *grade <= worst)) {
        return;
    }
    let told: Vec<String> = open
        .iter()
        .take(4)
        .map(|s| format!("{} is {} at best", s.id, s.grades().first().unwrap_or(&s.grade)))
        .collect();
    heap.add(
        Fault::error(
            "E32",
            format!(
                "{}: wants grade {worst} or better, and no sheet of {} has it: {}",
                part.title(),
                part.material,
                told.join(", ")
            ),
        )
        .at(&part.place)
        .cure("take what is there with a higher `grade`, or add a better sheet"),
    );
}

/// The least and the largest reading of a sheet's thickness (mm).
fn range(sheet: &Sheet) -> Option<(f64, f64)> {
    let all = sheet.thicknesses();
    all.iter().copied().reduce(f64::min).zip(all.iter().copied().reduce(f64::max))
}

/// A sheet's thickness in words.
fn thickness_of(sheet: &Sheet) -> String {
    match range(sheet) {
        Some((least, most)) if most - least > SLACK => {
            format!("{} is {least:.3} to {most:.3} mm", sheet.id)
        }
        Some((least, _)) => format!("{} is {least:.3} mm", sheet.id),
        None => format!("{} does not say", sheet.id),
    }
}

/// E32 and W36: sheets beside the thickness that a part asks for.
fn within(heap: &Heap, part: &Part, open: &[&Sheet]) {
    let Some((least, most, place)) = &part.thickness else {
        return;
    };
    let wanted = format!("{}: wants stuff of {least:.3} to {most:.3} mm", part.title());
    let good = |mm: &f64| (least - SLACK..=most + SLACK).contains(mm);
    let list = |sheets: &[&Sheet]| {
        let told: Vec<String> = sheets.iter().take(4).map(|s| thickness_of(s)).collect();
        let more = if sheets.len() > 4 { ", …" } else { "" };
        format!("{}{more}", told.join(", "))
    };
    if !open.iter().any(|sheet| sheet.thicknesses().iter().any(good)) {
        let silent = open.iter().any(|s| s.thicknesses().is_empty());
        heap.add(
            Fault::error("E32", format!("{wanted}, and no sheet of {} is: {}", part.material, list(open)))
                .at(place)
                .cure(if silent {
                    "measure the sheet and write, for example, thickness = [\"35 thou\", \"36 thou\"] in its table"
                } else {
                    "widen `from-thickness`, or add a sheet of that thickness"
                }),
        );
        return;
    }
    // Where readings have their places the lay keeps to them, and a sheet that is wholly beside it leaves alone.
    let doubtful = |sheet: &&&Sheet| {
        let known = sheet.thicknesses();
        sheet.readings.is_empty()
            && (known.is_empty() || known.iter().any(good) && !known.iter().all(good))
    };
    let beside: Vec<&Sheet> = open.iter().filter(doubtful).copied().collect();
    if let Some(first) = beside.first() {
        heap.add(
            Fault::warning("W36", format!("{wanted}, and not all that it may come from is: {}", list(&beside)))
                .at(place)
                .mark(&first.place, "the sheet")
                .cure(
                    "the lay may take pieces from there: say where it was read with a table [[hide.reading]] for each \
                     place, take the sheet out of the job, or widen `from-thickness`",
                ),
        );
    }
}

/// W37: the two facings of a valve must be of one thickness, or the valve stands off. They come from one sheet; where its
/// readings differ and have no places, nobody knows from where.
fn facings(heap: &Heap, part: &Part, sizes: &[Size], open: &[&Sheet]) {
    if part.thickness.is_some() || !sizes.iter().any(Size::works_together) {
        return;
    }
    let uneven = |sheet: &&&Sheet| {
        sheet.readings.is_empty()
            && range(sheet).is_some_and(|(least, most)| most - least > TOGETHER_APART + SLACK)
    };
    let Some(sheet) = open.iter().find(uneven) else { return };
    heap.add(
        Fault::warning(
            "W37",
            format!(
                "{}: both facings of a valve want one thickness, and {}, nobody knows where",
                part.title(),
                thickness_of(sheet),
            ),
        )
        .at(&part.place)
        .mark(&sheet.place, "the sheet")
        .cure(
            "say where it was read, with a table [[hide.reading]] for each place: both then come from where it is alike",
        ),
    );
}

/// W30: sheets that several machines may want.
pub(super) fn shared(heap: &Heap, job: &Job) {
    let names: BTreeSet<&str> = job.parts.iter().map(|p| p.material.as_str()).collect();
    for material in names {
        // In the order in which they are laid.
        let mut machines: Vec<&str> = Vec::new();
        for part in job.parts.iter().filter(|p| p.material == material) {
            if job.machines.contains_key(&part.cut_with) && !machines.contains(&&*part.cut_with) {
                machines.push(&part.cut_with);
            }
        }
        let free = || job.sheets.iter().filter(|s| s.material == material && s.cut_with.is_none());
        let (Some(first), [served, rest @ ..]) = (free().next(), machines.as_slice()) else {
            continue;
        };
        if rest.is_empty() {
            continue;
        }
        let ids: Vec<&str> = free().map(|s| s.id.as_str()).collect();
        let fault = Fault::warning(
            "W30",
            format!(
                "{} of {material}: {served} and {} both cut it; {served} is served first, and a sheet that it uses is \
                 gone for the other",
                ids.join(", "),
                rest.join(", "),
            ),
        )
        .at(&first.place);
        heap.add(fault.cure(format!(
            "say whose it is: cut-with = \"{served}\" or cut-with = \"{}\" in the table of each sheet",
            rest.join("\" or \"")
        )));
    }
}

/// E31: pieces that fit on no sheet of their material, whichever way they may lie. Boxes are compared with boxes, so
/// what passes here may still find no place; the largest is told.
pub(super) fn too_large(heap: &Heap, job: &Job, part: &Part, pieces: &[Piece]) {
    let kept = job.setting(&part.material, &part.cut_with).map_or(0.0, |s| s.edge);
    let half = job.setting(&part.material, &part.cut_with).map_or(0.0, |s| s.kerf() / 2.0);
    let will_do = |sheet: &&Sheet| {
        let known = sheet.thicknesses();
        let within = part.thickness.as_ref().is_none_or(|(least, most, _)| {
            known.is_empty() || known.iter().any(|mm| (least - SLACK..=most + SLACK).contains(mm))
        });
        within && part.grade.is_none_or(|worst| sheet.grades().iter().any(|g| *g <= worst))
    };
    let rooms: Vec<Room<'_>> = open_to(job, part)
        .into_iter()
        .filter(will_do)
        .map(|sheet| {
            let edge = kept.max(sheet.edge.unwrap_or(0.0)) + half;
            let b = sheet.outline.bounds();
            Room { sheet, wide: b.width() - 2.0 * edge, high: b.height() - 2.0 * edge }
        })
        .collect();
    let mut seen = BTreeSet::new();
    let worst = pieces
        .iter()
        .filter(|piece| seen.insert(piece.size))
        .filter(|piece| !rooms.iter().any(|room| room.takes(piece)))
        .max_by(|a, b| long_side(a).total_cmp(&long_side(b)));
    let run = |room: &Room<'_>| worst.map_or(0.0, |piece| room.longest(piece));
    let best = rooms.iter().max_by(|a, b| run(a).total_cmp(&run(b)));
    let (Some(piece), Some(best)) = (worst, best) else {
        return;
    };
    let Some(b) = piece.turns.design(0).map(|d| d.shape.bounds()) else {
        return;
    };
    let woven = job.materials.get(&part.material).is_some_and(crate::material::Material::is_woven);
    let long = b.width() > run(best) && woven && matches!(piece.turns, Turns::Fixed(_));
    let cure = if long {
        format!(
            "the longest run there is {:.1} mm: add a longer cloth, or make two parts of it and keep the splice clear of \
             folds and corners",
            (run(best) * 10.0).floor() / 10.0
        )
    } else {
        format!(
            "add a larger sheet of {}; `grain`, and `edge` of sheet and material, count too",
            part.material
        )
    };
    heap.add(
        Fault::error(
            "E31",
            format!(
                "{} is {:.1} x {:.1} mm and too large for every sheet of {}: {} leaves {:.1} x {:.1} mm within its edges",
                piece.address,
                b.width(),
                b.height(),
                part.material,
                best.sheet.id,
                best.wide.max(0.0),
                best.high.max(0.0),
            ),
        )
        .at(&part.place)
        .mark(&best.sheet.place, "the sheet")
        .cure(cure),
    );
}

fn long_side(piece: &Piece) -> f64 {
    piece.turns.design(0).map_or(0.0, |d| d.shape.bounds().width().max(d.shape.bounds().height()))
}

/// What a sheet's edges leave of its box (mm).
struct Room<'a> {
    sheet: &'a Sheet,
    wide: f64,
    high: f64,
}

impl Room<'_> {
    /// Whether the box of a piece goes in, at some turn that it may lie at.
    fn takes(&self, piece: &Piece) -> bool {
        let mirrored = matches!((piece.face, self.sheet.up), (Some(face), Some(up)) if face != up);
        let lies = |outline: &Loop, turn: f64, slack: f64| {
            let pose = Pose { turn, mirrored, ..Pose::STILL };
            let b = pose.on_loop(outline).bounds();
            b.width() <= self.wide + slack && b.height() <= self.high + slack
        };
        match &piece.turns {
            Turns::Fixed(stances) => stances.iter().any(|stance| {
                let outline = stance.design.shape.outline();
                let straight = self.sheet.grain + stance.turn;
                let b = outline.bounds();
                let steps = if stance.within > 0.0 { 8 } else { 0 };
                // Between two turns that are tried no point of a box moves by more than half a step's arc.
                let step = stance.within.to_radians() / 8.0;
                let slack = FLAT + b.width().hypot(b.height()) * step / 2.0;
                (-steps..=steps).any(|n| {
                    let turn = straight + stance.within * f64::from(n) / 8.0;
                    lies(outline, turn, if n == 0 { FLAT } else { slack })
                })
            }),
            Turns::Free(design) => {
                let outline = design.shape.outline();
                let b = outline.bounds();
                // Between two whole degrees no point of a box moves by more than half a degree's arc.
                let slack = FLAT + b.width().hypot(b.height()) * 0.5_f64.to_radians();
                lies(outline, 0.0, FLAT)
                    || (0..180).any(|turn| lies(outline, f64::from(turn), slack))
            }
        }
    }

    /// The longest line that the piece's own length could make here (mm).
    fn longest(&self, piece: &Piece) -> f64 {
        let (wide, high) = (self.wide.max(0.0), self.high.max(0.0));
        match &piece.turns {
            Turns::Free(_) => wide.hypot(high),
            Turns::Fixed(stances) => stances
                .iter()
                .flat_map(|stance| {
                    [-1.0, 0.0, 1.0].map(|share| stance.turn + share * stance.within)
                })
                .map(|turn| {
                    let way = crate::geom::turn_vector(
                        crate::geom::Vec2::new(1.0, 0.0),
                        self.sheet.grain + turn,
                    );
                    let over = |side: f64, share: f64| {
                        if share.abs() < 1e-9 { f64::INFINITY } else { side / share.abs() }
                    };
                    over(wide, way.x).min(over(high, way.y))
                })
                .fold(0.0, f64::max),
        }
    }
}
