//! A job cut down to a coupon: one material, one machine, one sheet, and no width of the cut allowed for.

use super::Job;
use super::batch::{Batch, group};
use super::codes::did_you_mean;
use crate::coupon::{Sort, test_pieces};
use crate::fault::Fault;
use crate::machine::Machine;
use crate::material::{CutSetting, Material, Source};
use crate::sheet::Sheet;

/// Test pieces lie no nearer to each other than this (mm): as wide as the widest kerf.
const APART: f64 = 2.0;
/// Material left between two cuts, and to the sheet's edge, where the material says nothing of the machine (mm).
///
/// # Source
/// Starting guesses of our own.
const UNSAID: (f64, f64) = (3.0, 3.0);

/// What a coupon is to tell of which material on which machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CouponTask {
    /// What it is to tell.
    pub sort: Sort,
    /// Name of the material.
    pub material: String,
    /// Name of the machine's profile.
    pub machine: String,
}

/// The sheets that a coupon of a material may be cut from on a machine: remnants first, then small before large; or
/// the one that is named.
///
/// # Errors
/// A material, machine or sheet that the job does not have or that do not go together: `E15`, `E32`.
pub fn coupon_sheets<'a>(
    job: &'a Job,
    material: &str,
    machine: &str,
    sheet: Option<&str>,
) -> Result<Vec<&'a Sheet>, Fault> {
    let (stuff, cutter) = named(job, material, machine)?;
    let of_it: Vec<&Sheet> = job.sheets.iter().filter(|s| s.material == stuff.key).collect();
    let may = |s: &&Sheet| s.cut_with.as_ref().is_none_or(|name| *name == cutter.key);
    if let Some(id) = sheet {
        let Some(found) = job.sheets.iter().find(|s| s.id == id) else {
            let known: Vec<&str> = of_it.iter().map(|s| s.id.as_str()).collect();
            return Err(Fault::error("E32", format!("there is no sheet called \"{id}\""))
                .cure(did_you_mean(id, &known, &format!("sheets of {material}"))));
        };
        if found.material != stuff.key {
            let text = format!("{id} is of {}, not of {material}", found.material);
            return Err(Fault::error("E32", text)
                .at(&found.place)
                .cure(format!("name a sheet of {material}, or --material {}", found.material)));
        }
        if !may(&found) {
            let text = format!("{id} is for another machine than {machine}");
            return Err(Fault::error("E32", text)
                .at(&found.place)
                .cure("name another sheet, or take `cut-with` out of this one"));
        }
        return Ok(vec![found]);
    }
    let mut list: Vec<&Sheet> = of_it.into_iter().filter(may).collect();
    if list.is_empty() {
        return Err(Fault::error("E32", format!("no sheet of {material} may be cut on {machine}"))
            .at(&stuff.place)
            .cure("an offcut will do: [[leaf]] with id, material, width and length in job.toml"));
    }
    list.sort_by(|a, b| {
        let whole = |s: &Sheet| s.from.is_none();
        whole(a).cmp(&whole(b)).then(a.area().total_cmp(&b.area()))
    });
    Ok(list)
}

/// Material and machine by their names.
fn named<'a>(
    job: &'a Job,
    material: &str,
    machine: &str,
) -> Result<(&'a Material, &'a Machine), Fault> {
    let Some(stuff) = job.materials.get(material) else {
        let known: Vec<&str> = job.materials.keys().map(String::as_str).collect();
        return Err(Fault::error("E15", format!("the job has no material \"{material}\""))
            .cure(did_you_mean(material, &known, "it has")));
    };
    let Some(cutter) = job.machine(machine) else {
        let short = job.short_names.keys();
        let mut known: Vec<&str> = short.chain(job.machines.keys()).map(String::as_str).collect();
        known.dedup();
        return Err(Fault::error("E15", format!("the job has no machine \"{machine}\""))
            .cure(did_you_mean(machine, &known, "it has")));
    };
    Ok((stuff, cutter))
}

/// The job with nothing in it but a coupon on one sheet.
///
/// The line of the cut is the drawn line: whatever width the material's record gives is put aside, except where webs or
/// holes are to come out at their true size. Feed, power and passes stay as they are, tabs and char trim do not.
///
/// # Errors
/// A material, machine or sheet that the job does not have: `E15`, `E32`.
pub fn coupon_job(
    job: &Job,
    (sort, material, machine): (Sort, &str, &str),
    sheet: &str,
) -> Result<Job, Fault> {
    let (stuff, cutter) = named(job, material, machine)?;
    let sheets = coupon_sheets(job, material, machine, Some(sheet))?;
    let mut made = job.clone();
    made.sheets = sheets.into_iter().cloned().collect();
    made.parts.clear();
    let cuts = vec![setting(sort, stuff, cutter)];
    made.materials.insert(stuff.key.clone(), Material { cuts, ..stuff.clone() });
    made.coupon =
        Some(CouponTask { sort, material: stuff.key.clone(), machine: cutter.key.clone() });
    Ok(made)
}

/// How a coupon is cut.
fn setting(sort: Sort, material: &Material, machine: &Machine) -> CutSetting {
    let source =
        |place| Source { text: "coupon: the width of the cut is put aside".to_owned(), place };
    match material.setting(&machine.key, machine.process.name()) {
        Some(own) if !sort.on_the_line() => CutSetting {
            on: machine.key.clone(),
            gap: own.gap.max(APART),
            tabs: 0.0,
            char_trim: 0.0,
            ..own.clone()
        },
        Some(own) => CutSetting {
            on: machine.key.clone(),
            kerf_x: 0.0,
            kerf_y: 0.0,
            gap: (own.gap + own.kerf()).max(APART),
            edge: own.edge + own.kerf() / 2.0,
            tabs: 0.0,
            char_trim: 0.0,
            source: source(own.source.place.clone()),
            ..own.clone()
        },
        None => CutSetting {
            on: machine.key.clone(),
            kerf_x: 0.0,
            kerf_y: 0.0,
            gap: UNSAID.0,
            edge: UNSAID.1,
            least_web: 0.0,
            power: None,
            feed: None,
            mark_power: None,
            mark_feed: None,
            passes: 1,
            tabs: 0.0,
            tabs_on_soft: false,
            heat: None,
            char_trim: 0.0,
            source: source(material.place.clone()),
            place: material.place.clone(),
        },
    }
}

/// The test pieces with their sheet.
pub(super) fn batch(job: &Job, task: &CouponTask) -> Result<Batch, Fault> {
    let (material, machine) = named(job, &task.material, &task.machine)?;
    let unsaid = || setting(task.sort, material, machine);
    let setting = job.setting(&material.key, &machine.key).cloned().unwrap_or_else(unsaid);
    let mut group = group(job, material, &machine.key, &setting);
    let grain = group.grounds.first().map_or(0.0, |ground| ground.sheet.grain);
    group.pieces = test_pieces(task.sort, grain).map_err(|fault| {
        Fault::error("E28", format!("the coupon can't be drawn: {fault}")).at(&material.place)
    })?;
    Ok(Batch { material: material.key.clone(), machine: machine.key.clone(), group })
}
