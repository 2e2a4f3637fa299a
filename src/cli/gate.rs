//! The gate before a laser: its files come only with a safety record that holds for the very motions, today.
//!
//! `safety` and `cut` make the motions by the same functions, so that what was answered for is what is written.

use super::cut::Plans;
use super::desk;
use crate::fault::{Fault, Sources};
use crate::job::{Job, assumed_of, read_safety_record};
use crate::machine::{Machine, Process};
use crate::safety::checklist::{Share, Task};
use crate::safety::record::{Bound, Record};
use crate::units::Day;
use crate::write::manifest::hash;
use crate::write::motions_hash;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

/// Everything that a machine will do for a lay, as one hash: a line a file, in cutting order.
///
/// Whatever else a file can make a machine do belongs in its line.
pub(super) fn motions(plans: &Plans, machine: &str) -> String {
    let mut text = String::new();
    for (plan, program) in plans.programs(machine) {
        let window = plan.window.map_or(0, |w| w.number);
        let steps = program.map_or("none".to_owned(), |p| hash(format!("{:?}", p.runs).as_bytes()));
        let (sheet, stuff, drawn) = (&plan.sheet, &plan.material, motions_hash(plan));
        let _ = writeln!(text, "{sheet} {window} {stuff} {drawn} {steps}");
    }
    hash(text.as_bytes())
}

/// A machine's share of a lay, for its safety list.
pub(super) fn task<'a>(job: &'a Job, plans: &'a Plans, machine: &'a Machine) -> Task<'a> {
    let mut cuts: BTreeMap<&str, Share<'a>> = BTreeMap::new();
    let mut sheets: Vec<String> = Vec::new();
    let (mut files, mut pieces) = (0, 0);
    for plan in plans.of(&machine.key) {
        let Some(material) = job.materials.get(&plan.material) else { continue };
        let setting = material.setting(&machine.key, machine.process.name());
        let kerf = plan.kerf.0.max(plan.kerf.1);
        let share =
            cuts.entry(&plan.material).or_insert(Share { material, kerf, length: 0.0, setting });
        share.length += plan.cut_length();
        if !sheets.contains(&plan.sheet) {
            sheets.push(plan.sheet.clone());
        }
        files += 1;
        pieces += plan.rows.len();
    }
    let lay = &plans.lay;
    let cuts = cuts.into_values().collect();
    let short_names = job.short_names_of(&machine.key).map(str::to_owned).collect();
    let assumed = assumed_of(job, &[machine.key.as_str()]);
    Task { lay, machine, cuts, sheets, files, pieces, assumed, short_names }
}

/// What a safety record of a task would hold for today.
pub(super) fn bound(job: &Job, plans: &Plans, task: &Task<'_>, today: Day) -> Bound {
    let key = &task.machine.key;
    let materials = task
        .cuts
        .iter()
        .map(|cut| (cut.material.key.clone(), profile_hash(job, "materials", &cut.material.key)))
        .collect();
    let machine = profile_hash(job, "machines", key);
    Bound::new(task, machine, materials, motions(plans, key), today)
}

/// Hash of a profile's text, wherever it was found.
fn profile_hash(job: &Job, folder: &str, key: &str) -> String {
    let path = format!("{folder}/{key}.toml");
    let names = [path.clone(), format!("own profile {path}"), format!("built-in {path}")];
    let found = job.inputs.iter().find(|input| names.contains(&input.path));
    hash(found.map_or(&[], |input| &input.bytes))
}

/// Where the safety record of a machine for a lay is.
pub(super) fn record_path(lay_folder: &Path, machine: &str) -> PathBuf {
    lay_folder.join(format!("safety-{}.toml", desk::file_name(machine)))
}

/// Today by the clock, in universal time.
///
/// # Errors
/// `E45` where the clock stands before 1970 or after 9999: then no record can hold.
pub(super) fn today() -> Result<Day, Fault> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map(|t| t.as_secs());
    seconds.ok().and_then(|s| Day::after_1970(s / 86_400)).ok_or_else(|| {
        Fault::error("E45", "the clock of this computer is wrong, so no day can be recorded")
            .cure("set the clock")
    })
}

/// Why files are held back: a fault for each laser without a safety record that holds.
pub(super) fn held(job: &Job, lay_folder: &Path, plans: &Plans) -> Vec<Fault> {
    let (lasers, others): (Vec<&Machine>, Vec<&Machine>) = plans
        .machines()
        .into_iter()
        .filter_map(|key| job.machines.get(key))
        .partition(|machine| machine.process == Process::Laser);
    if lasers.is_empty() {
        return Vec::new();
    }
    let today = match today() {
        Ok(today) => today,
        Err(fault) => return vec![fault],
    };
    let rest = others.first().map_or(String::new(), |other| {
        format!(
            "; what is not for a laser can be had alone: pouchwork cut {} --machine {}",
            plans.lay,
            job.called(&other.key)
        )
    });
    lasers
        .into_iter()
        .filter_map(|machine| {
            let why = why_held(job, lay_folder, plans, machine, today)?;
            let cure = format!(
                "type: pouchwork safety {} --machine {}{rest}",
                plans.lay,
                job.called(&machine.key)
            );
            Some(Fault::error("E45", format!("held back: {why}")).at(&machine.place).cure(cure))
        })
        .collect()
}

/// The safety record of a machine for a lay, where it holds on the day it was made for.
///
/// # Errors
/// Why the list counts as not answered.
pub(super) fn answered(
    job: &Job,
    lay_folder: &Path,
    plans: &Plans,
    machine: &Machine,
) -> Result<Record, String> {
    let found = record(&record_path(lay_folder, &machine.key))
        .map_err(|why| format!("the record is no use: {why}"))?;
    let record = found.ok_or_else(|| "there is no record of answers".to_owned())?;
    let task = task(job, plans, machine);
    let why = record.void(&task, &bound(job, plans, &task, record.bound.day));
    if why.is_empty() { Ok(record) } else { Err(format!("the record is void: {}", why.join(", "))) }
}

/// Why one laser's files are held back; none where its record holds.
fn why_held(
    job: &Job,
    lay_folder: &Path,
    plans: &Plans,
    machine: &Machine,
    today: Day,
) -> Option<String> {
    let (key, lay) = (&machine.key, &plans.lay);
    let record = match record(&record_path(lay_folder, key)) {
        Ok(Some(record)) => record,
        Ok(None) => {
            return Some(format!("{key} is a laser, and {lay} has no safety record for it"));
        }
        Err(why) => return Some(format!("the safety record of {key} for {lay} is no use: {why}")),
    };
    let task = task(job, plans, machine);
    let why = record.void(&task, &bound(job, plans, &task, today));
    (!why.is_empty())
        .then(|| format!("the safety record of {key} for {lay} is void: {}", why.join(", ")))
}

/// The record in a file, if there is one.
fn record(path: &Path) -> Result<Option<Record>, String> {
    let Some(bytes) = desk::read(path).map_err(|fault| fault.text)? else { return Ok(None) };
    let shown = path.display().to_string();
    read_safety_record(&shown, &bytes, &mut Sources::default()).map(Some).map_err(|faults| {
        faults.first().map_or_else(|| "it can't be read".to_owned(), |fault| fault.text.clone())
    })
}
