//! What can be said about a whole job before anything is laid: hard stops, beds, holes for the punch, sharp corners,
//! figures that are only assumed.

use super::Job;
use super::batch::{Worked, places};
use crate::fault::Fault;
use crate::plan::corner_loss;
use crate::safety;
use std::collections::{BTreeMap, BTreeSet};

/// An inside corner that keeps more than this is named (mm).
const CORNER: f64 = 0.05;

/// Hard stops, once for each material and machine that meet in the job.
pub fn stops(job: &Job) -> Vec<Fault> {
    met(job)
        .into_iter()
        .filter_map(|(material, machine)| {
            safety::gate(job.materials.get(material)?, job.machine(machine)?).err()
        })
        .collect()
}

/// Materials and machines that meet in the job.
fn met(job: &Job) -> BTreeSet<(&str, &str)> {
    job.parts.iter().map(|p| (p.material.as_str(), p.cut_with.as_str())).collect()
}

/// Everything to look at in a job that has been worked out.
pub fn judge(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let mut faults = beds(job);
    faults.extend(corners(job, worked));
    faults.extend(punches(job, worked));
    faults
}

/// Sheets larger than the bed of the machine that may cut them.
fn beds(job: &Job) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (material, machine) in met(job) {
        let Some(machine) = job.machine(machine) else { continue };
        let (wide, deep) =
            (machine.width - 2.0 * machine.margin, machine.depth - 2.0 * machine.margin);
        for sheet in job.sheets.iter().filter(|s| s.material == material) {
            let b = sheet.outline.bounds();
            let other = sheet.cut_with.as_ref().is_some_and(|name| *name != machine.key);
            if other || (b.width() <= wide && b.height() <= deep) {
                continue;
            }
            let turned = b.width() <= deep && b.height() <= wide;
            let cure = if turned {
                "turned by a quarter it fits: give its length and width, or its corners, the other way about"
            } else {
                "pieces beyond the bed will be refused: cut the sheet down, or use another machine"
            };
            faults.push(
                Fault::warning(
                    "W33",
                    format!(
                        "{} is {:.0} x {:.0} mm, the bed of {} takes {wide:.0} x {deep:.0} mm",
                        sheet.id,
                        b.width(),
                        b.height(),
                        machine.key
                    ),
                )
                .at(&sheet.place)
                .cure(cure),
            );
        }
    }
    faults
}

/// Sharp inside corners that a round cut leaves uncut by more than a twentieth of a millimetre.
fn corners(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for it in worked {
        let Some(setting) = job.setting(&it.part.material, &it.part.cut_with) else { continue };
        for size in &it.sizes {
            for member in &size.developed.members {
                let (loss, at) = corner_loss(&member.shape, setting.kerf());
                if loss > CORNER {
                    faults.push(
                        Fault::warning(
                            "W28",
                            format!(
                                "{} {}: the cut leaves {loss:.3} mm in the sharp inside corner at x {:.1} y {:.1} mm",
                                it.part.title(), places(&size.positions), at.x, at.y
                            ),
                        )
                        .at(&it.part.place)
                        .cure("no cut of this width comes nearer: round the ends, or clear the corner with a knife"),
                    );
                }
            }
        }
    }
    faults
}

/// Round holes too small for the machine, by part and diameter, spares left out.
fn punches(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for it in worked {
        let Some(machine) = job.machine(&it.part.cut_with) else { continue };
        let mut sizes: BTreeMap<u64, usize> = BTreeMap::new();
        for size in &it.sizes {
            for member in &size.developed.members {
                let small = member
                    .shape
                    .holes()
                    .iter()
                    .filter_map(|hole| Some(2.0 * hole.as_circle()?.1))
                    .filter(|d| *d < machine.smallest_hole - 1e-6);
                for diameter in small.chain(member.punches.iter().map(|p| p.diameter)) {
                    *sizes.entry(diameter.to_bits()).or_default() += size.positions.len();
                }
            }
        }
        for (bits, count) in sizes {
            let what = if count == 1 { "1 hole".to_owned() } else { format!("{count} holes") };
            faults.push(
                Fault::warning(
                    "W12",
                    format!("{}: {what} of {:.2} mm to be punched by hand", it.part.title(), f64::from_bits(bits)),
                )
                .at(&it.part.place)
                .cure(format!(
                    "their centres are marked on layer PUNCH; the least hole of {} is {:.2} mm, and bleed holes are \
                     always punched",
                    machine.key, machine.smallest_hole
                )),
            );
        }
    }
    faults
}

/// Every table of figures that is only assumed.
pub fn assumed(job: &Job) -> Vec<String> {
    let mut list = Vec::new();
    for material in job.materials.values() {
        for setting in material.cuts.iter().filter(|c| c.source.is_assumed()) {
            let used = job.parts.iter().any(|p| {
                p.material == material.key
                    && job
                        .setting(&p.material, &p.cut_with)
                        .is_some_and(|s| s.place == setting.place)
            });
            if used {
                list.push(format!("kerf, gap and edge of {} on {}", material.key, setting.on));
            }
        }
        if material.stretch.as_ref().is_some_and(|s| s.source.is_assumed())
            && job.parts.iter().any(|p| p.material == material.key && p.stretch.is_some())
        {
            list.push(format!("stretch of {}", material.key));
        }
    }
    list
}
