//! What can be said about a whole job before anything is laid: hard stops, beds, holes for the punch, sharp corners,
//! figures that are only assumed.

use super::Job;
use super::batch::{Batch, Worked};
use super::beds::beds;
use super::words::places;
use crate::fault::Fault;
use crate::geom::tolerance::SLACK;
use crate::geom::{Marks, Point, is_mirror_alike};
use crate::machine::Process;
use crate::material::Material;
use crate::part::{Member, Part, Size};
use crate::plan::corner_loss;
use crate::safety;
use std::collections::{BTreeMap, BTreeSet};

/// An inside corner that keeps more than this is named (mm).
const CORNER: f64 = 0.05;
/// A part and its mirror image are alike if nothing stands off by more than this (mm): no knife tells it.
const ALIKE: f64 = 0.05;

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
    let parts = job.parts.iter().map(|p| (p.material.as_str(), p.cut_with.as_str()));
    let coupon = job.coupon.iter().map(|c| (c.material.as_str(), c.machine.as_str()));
    parts.chain(coupon).collect()
}

/// Pieces of a material that measure more than all its sheets: no lay can take them.
pub fn short(job: &Job, batches: &[Batch]) -> Vec<Fault> {
    batches
        .iter()
        .filter_map(|batch| {
            let pieces = &batch.group.pieces;
            let net: f64 = pieces
                .iter()
                .filter(|piece| piece.address.spare == 0)
                .filter_map(|piece| piece.turns.design(0))
                .map(|design| design.shape.area())
                .sum();
            let sheets: f64 = batch.group.grounds.iter().map(|g| g.sheet.outline.area()).sum();
            let part = job.parts.iter().find(|p| p.material == batch.material)?;
            (net > sheets && sheets > 0.0).then(|| {
                Fault::warning(
                    "W45",
                    format!(
                        "the pieces of {} measure {:.1} dm², its sheets {:.1} dm²",
                        batch.material,
                        net / 1e4,
                        sheets / 1e4
                    ),
                )
                .at(&part.place)
                .cure("they can't all be cut: add sheets, or look at sizes and counts")
            })
        })
        .collect()
}

/// Everything to look at in a job that has been worked out.
pub fn judge(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let mut faults = beds(job, worked);
    faults.extend(corners(job, worked));
    faults.extend(punches(job, worked));
    faults.extend(webs(job, worked));
    faults.extend(rims(job, worked));
    faults.extend(sides(job, worked));
    faults
}

/// W24: webs thinner than the material stands, the width of the cut taken off; told once a part, the thinnest.
///
/// A part's own `least-web` is the last word, and what the part itself has told is not told again.
fn webs(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for it in worked {
        let Some(setting) = job.setting(&it.part.material, &it.part.cut_with) else { continue };
        let silent = |size: &&Size| {
            !size.measures.has("least-web") && size.developed.faults.iter().all(|f| f.code != "W24")
        };
        let thinnest = it
            .sizes
            .iter()
            .filter(silent)
            .flat_map(|size| size.developed.members.iter().map(move |member| (size, member)))
            .flat_map(|(size, member)| member.sum.iter().map(move |term| (size, term)))
            .filter(|(_, term)| term.label == "thinnest web")
            .min_by(|(_, a), (_, b)| a.value.total_cmp(&b.value));
        let Some((size, term)) = thinnest else { continue };
        let left = term.value - setting.kerf();
        if left >= setting.least_web - SLACK {
            continue;
        }
        let off = if setting.kerf() > 0.0 {
            format!(", the cut of {:.2} mm taken off", setting.kerf())
        } else {
            String::new()
        };
        faults.push(
            Fault::warning(
                "W24",
                format!(
                    "{} {}: only {left:.2} mm of material {}{off}; {} wants {:.2} mm",
                    it.part.title(),
                    places(&size.positions),
                    term.written,
                    it.part.material,
                    setting.least_web
                ),
            )
            .at(&it.part.place)
            .mark(&setting.place, "the material's `least-web`")
            .cure(if it.part.kind.card().keys.iter().any(|key| key.name == "least-web") {
                format!(
                    "move the holes apart, or say that it will do: least-web = \"{:.2} mm\" in the part",
                    (term.value * 100.0).floor() / 100.0
                )
            } else {
                "move the holes apart or make them smaller".to_owned()
            }),
        );
    }
    faults
}

/// W29: a laser hardens the rim of what must stay soft.
///
/// # Source
/// Leather shrinks from about 70 °C and its edge goes hard; a hard rim does not seal. Common practice.
fn rims(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let laser = |part: &Part| {
        let machine = job.machine(&part.cut_with)?;
        let material = job.materials.get(&part.material)?;
        // What is held back is told as that.
        (machine.process == Process::Laser && safety::gate(material, machine).is_ok())
            .then_some(machine)
    };
    let knife = job
        .short_names
        .keys()
        .find(|name| job.machine(name).is_some_and(|m| m.process == Process::Knife))
        .map_or("knife", String::as_str);
    let mut faults = Vec::new();
    for it in worked {
        let Some(machine) = laser(it.part) else { continue };
        if it.sizes.iter().flat_map(|s| &s.developed.members).any(|member| member.soft) {
            let trim = job.char_trim(&it.part.material, &it.part.cut_with);
            let cure = if trim > 0.0 {
                format!(
                    "it is cut {trim} mm larger all round: pare the char off, or cut-with = \"{knife}\""
                )
            } else {
                format!(
                    "cut-with = \"{knife}\", or punch it; or allow for paring the char off: `char-trim` in the [[cut]] of {}",
                    it.part.material
                )
            };
            faults.push(
                Fault::warning(
                    "W29",
                    format!(
                        "{}: {} hardens its rim, which must stay soft",
                        it.part.title(),
                        machine.key
                    ),
                )
                .at(&it.part.place)
                .cure(cure),
            );
        }
    }
    faults
}

/// W38: parts with a left and a right on stuff with two sides that do not say from which side they are drawn.
fn sides(job: &Job, worked: &[Worked<'_>]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for it in worked.iter().filter(|it| it.part.face.is_none()) {
        let Some([one, other]) = job.materials.get(&it.part.material).map(Material::sides) else {
            continue;
        };
        let handed = |size: &&Size| !size.developed.members.iter().all(is_alike);
        let Some(size) = it.sizes.iter().find(handed) else { continue };
        faults.push(
            Fault::warning(
                "W38",
                format!(
                    "{} {}: turned over it is another shape, and nothing says from which side it is drawn",
                    it.part.title(),
                    places(&size.positions)
                ),
            )
            .at(&it.part.place)
            .cure(format!(
                "face = \"{one}\" or \"{other}\", the side that is seen as it is drawn; without it the part is cut as \
                 drawn, whichever side of the sheet lies up"
            )),
        );
    }
    faults
}

/// Whether a member can be turned over and laid on itself, its folds and punched holes too.
fn is_alike(member: &Member) -> bool {
    let dots: Vec<(Point, f64)> = member.punches.iter().map(|p| (p.at, p.diameter)).collect();
    is_mirror_alike(&member.shape, Marks { lines: &member.creases, dots: &dots }, ALIKE)
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
                     punched unless their part asks the machine for them",
                    machine.key, machine.smallest_hole
                )),
            );
        }
    }
    faults
}

/// Every table of figures that is only assumed.
pub fn assumed(job: &Job) -> Vec<String> {
    let all: Vec<&str> = job.machines.keys().map(String::as_str).collect();
    assumed_of(job, &all)
}

/// Every table of figures that is only assumed and that some machines, by the names of their profiles, go by.
pub fn assumed_of(job: &Job, machines: &[&str]) -> Vec<String> {
    let is_cut = |p: &&Part| {
        job.machine(&p.cut_with).is_none_or(|machine| machines.contains(&machine.key.as_str()))
    };
    let parts: Vec<&Part> = job.parts.iter().filter(is_cut).collect();
    let mut list = Vec::new();
    for material in job.materials.values() {
        for setting in material.cuts.iter().filter(|c| c.source.is_assumed()) {
            let used = parts.iter().any(|p| {
                p.material == material.key
                    && job
                        .setting(&p.material, &p.cut_with)
                        .is_some_and(|s| s.place == setting.place)
            });
            if used {
                let more = match (setting.feed, setting.power) {
                    (Some(_), Some(_)) => ", power, feed and passes",
                    (Some(_), None) => ", feed and passes",
                    _ => "",
                };
                list.push(format!(
                    "kerf, gap and edge{more} of {} on {}",
                    material.key, setting.on
                ));
            }
        }
        if material.stretch.as_ref().is_some_and(|s| s.source.is_assumed())
            && parts.iter().any(|p| p.material == material.key && p.stretch.is_some())
        {
            list.push(format!("stretch of {}", material.key));
        }
        if material.wet.as_ref().is_some_and(|s| s.source.is_assumed())
            && parts.iter().any(|p| p.material == material.key && p.wet.is_some())
        {
            list.push(format!("wet-glue of {}", material.key));
        }
    }
    let own = |machine: &&crate::machine::Machine| {
        machine.source.is_assumed() && machines.contains(&machine.key.as_str())
    };
    for machine in job.machines.values().filter(own) {
        let what = if machine.knife.is_some() { "speeds, blade and heights" } else { "speeds" };
        if machine.motion.is_some() || machine.knife.is_some() {
            list.push(format!("{what} of {}", machine.key));
        }
    }
    list
}
