//! Looks at a job as a whole: whether parts, sheets, materials and machines go together.

use super::desk::Desk;
use super::document::Heap;
use super::words::{MOST_PIECES, runs};
use super::{Gathered, Job, slips};
use crate::fault::{Fault, Mark, any_error};
use crate::geom::tolerance::SLACK;
use crate::material::{Face, Material, Sort};
use crate::part::{Part, Size, pieces};
use crate::sheet::Sheet;

/// A stretch that would change a size by more than this is pointed out (mm).
const STRETCH_TOLD: f64 = 0.25;

/// Every check that needs more than one table.
pub(super) fn job(desk: &Desk<'_>, gathered: &Gathered) {
    let (heap, job) = (&desk.heap, &gathered.job);
    let unknown = |sheet: &Sheet| !job.materials.contains_key(&sheet.material);
    let lost_sheet = gathered.lost_sheet || job.sheets.iter().any(unknown);
    for sheet in &job.sheets {
        sheet_side(heap, job, sheet);
    }
    let mut made = 0;
    for part in &job.parts {
        if part.name.is_empty() || part.measures.is_empty() {
            continue;
        }
        slips::columns(heap, part);
        sheets_for(heap, job, part, lost_sheet);
        let sizes = sized(heap, part);
        let members = |size: &Size| {
            let spares = part.spares.of(size.positions.len()) as usize;
            (size.positions.len() + spares) * size.developed.members.len()
        };
        made += sizes.iter().map(members).sum::<usize>();
        if made > MOST_PIECES {
            heap.add(
                Fault::error(
                    "E07",
                    format!("with spares, the job has more than {MOST_PIECES} pieces from here on"),
                )
                .at(&part.place)
                .cure("make two jobs of it, or ask for fewer spares"),
            );
            return;
        }
        let material = job.materials.get(&part.material);
        if let Some(material) = material {
            silent_stretch(heap, part, material, &sizes);
            if !any_error(&faults_of(&sizes)) {
                let woven = material.sort.is_woven();
                for fault in pieces(part, &sizes, woven, 0).err().into_iter().flatten() {
                    heap.add(fault);
                }
            }
        }
        machine_for(heap, job, part, &sizes);
    }
}

/// The sizes of a part; what keeps them from being worked out is reported, once where several stumble over one figure.
///
/// Warnings of the sizes are left to whoever works them out again.
fn sized(heap: &Heap, part: &Part) -> Vec<Size> {
    // Measures that are not all there have been asked for; nothing is worked out of them.
    let mut needed = part.kind.card().keys.iter().filter(|key| key.needed);
    if needed.any(|key| part.measures.iter().any(|m| !m.has(key.name))) {
        return Vec::new();
    }
    let sizes = part.sizes();
    let mut told: Vec<(&str, Vec<Mark>)> = Vec::new();
    for size in &sizes {
        let before = told.len();
        for fault in size.developed.faults.iter().filter(|f| f.is_error()) {
            let same =
                |(code, marks): &(&str, Vec<Mark>)| *code == fault.code && *marks == fault.marks;
            if told.iter().take(before).any(same) {
                continue;
            }
            told.push((fault.code, fault.marks.clone()));
            let placed = !fault.marks.is_empty();
            let fault = Fault {
                text: format!("{} {}: {}", part.title(), runs(&size.positions), fault.text),
                ..fault.clone()
            };
            heap.add(if placed { fault } else { fault.at(&part.place) });
        }
    }
    sizes
}

fn faults_of(sizes: &[Size]) -> Vec<Fault> {
    sizes.iter().flat_map(|s| s.developed.faults.clone()).collect()
}

/// The sides that a sort of material has.
fn sides(sort: Sort) -> &'static [Face] {
    match sort {
        Sort::Leather => &[Face::Grain, Face::Flesh],
        Sort::CoatedCloth => &[Face::Cloth, Face::Rubber],
        Sort::Cloth | Sort::Felt | Sort::Paper | Sort::Card | Sort::Cork | Sort::Fibre => &[],
    }
}

fn word(sort: Sort) -> &'static str {
    Sort::NAMES.iter().find(|(_, s)| *s == sort).map_or("", |(name, _)| name)
}

fn or(sides: &[Face]) -> String {
    sides.iter().map(|side| format!("\"{side}\"")).collect::<Vec<_>>().join(" or ")
}

/// Every sheet with two sides says which is up.
fn sheet_side(heap: &Heap, job: &Job, sheet: &Sheet) {
    let Some(material) = job.materials.get(&sheet.material) else {
        return;
    };
    let sides = sides(material.sort);
    match sheet.up {
        None if !sides.is_empty() => heap.add(
            Fault::error(
                "E12",
                format!("this {} needs `up` (the side that lies up)", sheet.kind.name()),
            )
            .at(&sheet.place)
            .cure(format!("up = {}", or(sides))),
        ),
        Some(up) if !sides.contains(&up) => heap.add(
            Fault::error("E39", format!("{} has no {up} side", word(material.sort)))
                .at(&sheet.place)
                .mark(&material.place, "the material")
                .cure(match sides {
                    [] => "leave `up` out".to_owned(),
                    _ => format!("up = {}", or(sides)),
                }),
        ),
        _ => {}
    }
}

/// Whether there is something to cut a part from.
fn sheets_for(heap: &Heap, job: &Job, part: &Part, lost_sheet: bool) {
    let Some(material) = job.materials.get(&part.material) else {
        return;
    };
    let sides = sides(material.sort);
    if let Some(face) = part.face.filter(|face| !sides.contains(face)) {
        heap.add(
            Fault::error(
                "E39",
                format!("{}: {} has no {face} side", part.title(), word(material.sort)),
            )
            .at(&part.place)
            .mark(&material.place, "the material")
            .cure(match sides {
                [] => "leave `face` out".to_owned(),
                _ => format!("face = {}", or(sides)),
            }),
        );
    }
    if lost_sheet {
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
    let free = |sheet: &&Sheet| sheet.cut_with.as_ref().is_none_or(|with| *with == part.cut_with);
    if !part.cut_with.is_empty() && !of_it.iter().any(free) {
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
    }
}

/// W06: the material is known to stretch, the part says nothing about it, and it would matter.
fn silent_stretch(heap: &Heap, part: &Part, material: &Material, sizes: &[Size]) {
    let (None, Some(stretch)) = (&part.stretch, &material.stretch) else {
        return;
    };
    let share = |e: f64| (1.0 - 1.0 / (1.0 + e)).abs();
    let most = share(stretch.along).max(share(stretch.across));
    let largest = sizes.iter().flat_map(Size::totals).max_by(|(_, _, a), (_, _, b)| a.total_cmp(b));
    let Some((_, label, mm)) = largest else {
        return;
    };
    let change = mm * most;
    if change <= STRETCH_TOLD + SLACK {
        return;
    }
    heap.add(
        Fault::warning(
            "W06",
            format!(
                "{}: {} grows by {:.1} % along and {:.1} % across in use, {change:.2} mm on {label} ({mm:.2} mm); \
                 this part does not speak of it",
                part.title(),
                material.key,
                stretch.along * 100.0,
                stretch.across * 100.0,
            ),
        )
        .at(&part.place)
        .mark(&stretch.source.place, "the material's stretch")
        .cure("stretch = \"material\" takes it off beforehand; stretch = [\"0 %\", \"0 %\"] says that none is"),
    );
}

/// Whether the machine can cut the material, and the parts.
fn machine_for(heap: &Heap, job: &Job, part: &Part, sizes: &[Size]) {
    let machine = job.machines.get(&part.cut_with);
    let material = job.materials.get(&part.material);
    let (Some(machine), Some(material)) = (machine, material) else {
        return;
    };
    let process = machine.process.name();
    let shapes = || sizes.iter().flat_map(|s| &s.developed.members).map(|m| m.shape.bounds());
    let bed = (machine.width - 2.0 * machine.margin, machine.depth - 2.0 * machine.margin);
    // No turn makes a thing shorter than the longest side of its box.
    let longest = shapes().map(|b| b.width().max(b.height())).fold(0.0, f64::max);
    if longest > bed.0.hypot(bed.1) + SLACK {
        heap.add(
            Fault::error(
                "E33",
                format!(
                    "{}: {longest:.1} mm long, and the bed of {} is {:.0} by {:.0} mm clear",
                    part.title(),
                    machine.key,
                    bed.0,
                    bed.1
                ),
            )
            .at(&part.place)
            .cure("cut it on a larger machine or by hand"),
        );
    }
    let Some(setting) = material.setting(&machine.key, process) else {
        let has: Vec<&str> = material.cuts.iter().map(|c| c.on.as_str()).collect();
        let has = if has.is_empty() { "none".to_owned() } else { has.join(", ") };
        heap.add(
            Fault::error("E35", format!("no figures for cutting {} on {}", material.key, machine.key))
                .at(&part.place)
                .mark(&material.place, "the material")
                .cure(format!(
                    "it has figures for: {has}; cut it with one of those, or write [[cut]] with on = \"{process}\""
                )),
        );
        return;
    };
    let least = shapes().map(|b| b.width().min(b.height())).fold(f64::INFINITY, f64::min);
    if setting.kerf() * 2.0 > least {
        heap.add(
            Fault::error(
                "E42",
                format!(
                    "a kerf of {} mm is wider than half of {}, which is {least:.2} mm across",
                    setting.kerf(),
                    part.title()
                ),
            )
            .at(&setting.place)
            .mark(&part.place, "the part")
            .cure(format!("is it {:.2} mm?", setting.kerf() / 10.0)),
        );
    }
}
