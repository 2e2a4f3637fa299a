//! Looks at a job as a whole: whether parts, sheets, materials and machines go together.

use super::desk::Desk;
use super::document::Heap;
use super::words::{MOST_PIECES, runs};
use super::{Gathered, Job, room, slips};
use crate::fault::{Fault, Mark, any_error};
use crate::geom::tolerance::SLACK;
use crate::material::{Face, Material, Stretch};
use crate::part::{Grain, Measures, Part, Size, pieces};
use crate::sheet::Sheet;

/// A thickness that differs from the material's by more than this share is pointed out.
///
/// # Source
/// Our choice: one skin was found to run from .007 to .011 in (MMD 2007.05.09.03).
const THICKNESS_TOLD: f64 = 0.25;
/// A growth that would change a size by more than this is pointed out (mm).
const GROWTH_TOLD: f64 = 0.25;

/// Every check that needs more than one table.
pub(super) fn job(desk: &Desk<'_>, gathered: &Gathered) {
    let (heap, job) = (&desk.heap, &gathered.job);
    let unknown = |sheet: &Sheet| !job.materials.contains_key(&sheet.material);
    let lost_sheet = gathered.lost_sheet || job.sheets.iter().any(unknown);
    for sheet in &job.sheets {
        sheet_side(heap, job, sheet);
    }
    room::shared(heap, job);
    let mut made = 0;
    for part in &job.parts {
        if part.name.is_empty() || part.measures.is_empty() {
            continue;
        }
        slips::columns(heap, part);
        face(heap, job, part);
        let sizes = sized(heap, part);
        if !lost_sheet {
            room::sheets_for(heap, job, part, &sizes);
        }
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
        let on_bed = machine_for(heap, job, part, &sizes);
        if let Some(material) = job.materials.get(&part.material) {
            silent_growth(heap, part, material, &sizes);
            own_thickness(heap, part, material);
            if !any_error(&faults_of(&sizes)) {
                match pieces(part, &sizes, material.is_woven(), 0) {
                    // What no bed takes is told as that.
                    Ok(made) if on_bed && !lost_sheet => room::too_large(heap, job, part, &made),
                    Ok(_) => {}
                    Err(faults) => faults.into_iter().for_each(|fault| heap.add(fault)),
                }
            }
        }
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
    // Nor out of figures that could not be read, which have faults of their own.
    if part.measures.iter().any(Measures::any_unread) {
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

fn or(sides: &[Face]) -> String {
    sides.iter().map(|side| format!("\"{side}\"")).collect::<Vec<_>>().join(" or ")
}

/// Every sheet with two sides says which is up.
fn sheet_side(heap: &Heap, job: &Job, sheet: &Sheet) {
    let Some(material) = job.materials.get(&sheet.material) else {
        return;
    };
    let sides = material.sides();
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
            Fault::error("E39", format!("{} has no {up} side", material.sort.name()))
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

/// Whether its material has the face that a part is drawn from.
fn face(heap: &Heap, job: &Job, part: &Part) {
    let Some(material) = job.materials.get(&part.material) else {
        return;
    };
    let sides = material.sides();
    if let Some(face) = part.face.filter(|face| !sides.contains(face)) {
        heap.add(
            Fault::error(
                "E39",
                format!("{}: {} has no {face} side", part.title(), material.sort.name()),
            )
            .at(&part.place)
            .mark(&material.place, "the material")
            .cure(match sides {
                [] => "leave `face` out".to_owned(),
                _ => format!("face = {}", or(sides)),
            }),
        );
    }
}

/// W43: a thickness that a part says of its material, and that is not the material's.
fn own_thickness(heap: &Heap, part: &Part, material: &Material) {
    let card = part.kind.card();
    let key = match part.companion {
        None => card.thickness_key,
        Some(name) => card.companions.iter().find(|c| c.name == name).and_then(|c| c.thickness_key),
    };
    let (Some(key), Some(thick)) = (key, &material.thickness) else { return };
    for measures in &part.measures {
        let own = match part.companion {
            None => Some(measures),
            Some(name) => measures.companion(name),
        };
        let Some((said, place)) = own.and_then(|m| Some((m.length(key)?, m.place_of(key)))) else {
            continue;
        };
        // A part that asks for stuff of just this thickness means it.
        let asked = part
            .thickness
            .as_ref()
            .is_some_and(|(least, most, _)| (*least..=*most).contains(&said.mm()));
        if !asked && (said.mm() / thick.mm() - 1.0).abs() > THICKNESS_TOLD {
            heap.add(
                Fault::warning(
                    "W43",
                    format!(
                        "{}: `{key}` is {}, and {} is {} thick",
                        part.title(),
                        said.text(),
                        material.key,
                        thick.text()
                    ),
                )
                .at(place)
                .mark(&material.place, "the material")
                .cure("measure it again, or put the right figure into the material"),
            );
            return;
        }
    }
}

/// W06: the material is known to grow, the part says nothing about it, and it would matter.
fn silent_growth(heap: &Heap, part: &Part, material: &Material, sizes: &[Size]) {
    let members = || sizes.iter().flat_map(|s| &s.developed.members).map(|m| m.shape.bounds());
    let lies = match part.grain {
        Grain::Silent if material.is_woven() && part.lengthwise() => Grain::Along,
        said => said,
    };
    // What a growth does to a length and a width, as the part lies or as it may lie.
    let change = |growth: &Stretch| {
        let share = |e: f64| (1.0 - 1.0 / (1.0 + e)).abs();
        let (along, across) = (share(growth.along), share(growth.across));
        let (x, y) = match lies {
            Grain::Along => (along, across),
            Grain::Across => (across, along),
            Grain::Any | Grain::Silent => (along.max(across), along.max(across)),
        };
        members()
            .flat_map(|b| {
                [(b.height() * y, "width", b.height()), (b.width() * x, "length", b.width())]
            })
            .max_by(|a, b| a.0.total_cmp(&b.0))
    };
    let silent = |said: bool, growth: &Option<Stretch>, key: &str, when: &str| {
        let Some(growth) = growth.as_ref().filter(|_| !said) else {
            return;
        };
        let Some((change, label, mm)) = change(growth).filter(|c| c.0 > GROWTH_TOLD + SLACK) else {
            return;
        };
        heap.add(
            Fault::warning(
                "W06",
                format!(
                    "{}: {} grows by {:.1} % along and {:.1} % across {when}, {change:.2} mm over its {label} of {mm:.2} mm; \
                     this part does not speak of it",
                    part.title(),
                    material.key,
                    growth.along * 100.0,
                    growth.across * 100.0,
                ),
            )
            .at(&part.place)
            .mark(&growth.source.place, format!("the material's {key}"))
            .cure(format!(
                "{key} = \"material\" takes it off beforehand; {key} = [\"0 %\", \"0 %\"] says that none is"
            )),
        );
    };
    silent(part.stretch.is_some(), &material.stretch, "stretch", "in use");
    silent(part.wet.is_some(), &material.wet, "wet-glue", "when glued wet");
}

/// Whether the machine can cut the material, and the parts; tells whether its bed can hold them.
fn machine_for(heap: &Heap, job: &Job, part: &Part, sizes: &[Size]) -> bool {
    let machine = job.machines.get(&part.cut_with);
    let material = job.materials.get(&part.material);
    let (Some(machine), Some(material)) = (machine, material) else {
        return true;
    };
    let process = machine.process.name();
    let shapes = || sizes.iter().flat_map(|s| &s.developed.members).map(|m| m.shape.bounds());
    let bed = (machine.width - 2.0 * machine.margin, machine.depth - 2.0 * machine.margin);
    // No turn makes a thing shorter than the longest side of its box.
    let longest = shapes().map(|b| b.width().max(b.height())).fold(0.0, f64::max);
    let on_bed = longest <= bed.0.hypot(bed.1) + SLACK;
    if !on_bed {
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
        if crate::safety::gate(material, machine).is_err() {
            return on_bed; // figures would not help: it is held back
        }
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
        return on_bed;
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
    on_bed
}
