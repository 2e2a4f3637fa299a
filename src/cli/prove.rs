//! `prove`: a cut file read back and held against its lay, its sheet, its machine and its material.

use super::args::Common;
use super::cut::{job_for, laid, record, stem, windows};
use super::lay::Kit;
use super::open::{Open, open};
use super::records::{Held, Spread, held};
use super::{Answer, Outcome, desk};
use crate::fault::Fault;
use crate::job::Job;
use crate::lay::Placed;
use crate::lay::record::to_json;
use crate::prove::{Outcome as Proven, UNCOVERED, Verdict};
use crate::write::manifest::hash;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

pub(super) fn run(common: &Common, file: &Path) -> Answer {
    let common = Common { job: common.job.clone().or_else(|| job_of(file)), ..common.clone() };
    let opened = match open(&common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let Open { job, sources, .. } = opened;
    let bytes = match desk::read(file) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => {
            let fault = Fault::error("E36", format!("there is no file {}", file.display()))
                .cure("give the path of a cut file, such as out/lay-1/H1-knife.svg");
            return Answer::refused(vec![fault], sources);
        }
        Err(fault) => return Answer::refused(vec![fault], sources),
    };
    let name = file.file_name().and_then(|n| n.to_str()).unwrap_or_default();
    match records(&job, file, name) {
        Ok(held) => {
            let mut answer = tell(file, &held.prove(&bytes, name));
            answer.sources = sources;
            answer
        }
        Err(faults) => Answer::refused(faults, sources),
    }
}

/// The job folder of a file that lies in `out/lay-N`, `out/coupon-N` or `out/recut-N`.
pub(super) fn job_of(file: &Path) -> Option<PathBuf> {
    let whole = desk::whole(file);
    let job = whole.parent()?.parent()?.parent()?;
    job.join("job.toml").is_file().then(|| job.to_owned())
}

/// The records that go with a file's name: its lay by its folder, its sheet and window by its own.
fn records(job: &Job, file: &Path, name: &str) -> Result<Held, Vec<Fault>> {
    let folder = file.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let whole = desk::whole(folder);
    let lay = whole.file_name().and_then(|n| n.to_str()).unwrap_or("lay").to_owned();
    if !folder.join("lay.json").is_file() {
        return Err(vec![
            Fault::error("E36", format!("{} is no cut file of a lay", file.display()))
                .cure("give the path of a cut file, such as out/lay-1/H1-knife.svg"),
        ]);
    }
    let job = &job_for(job.clone(), folder)?;
    let record = record(job, folder, &lay)?;
    let lay_hash = hash(to_json(&record).as_bytes());
    let laid = laid(job, &record, &lay)?.on_the_bed(job);
    let mut names = Vec::new();
    for sheet in laid.sheets() {
        let Some(kit) = laid.kit(job, &sheet) else { continue };
        let Kit { pieces, material, machine, setting } = kit;
        for (window, _) in windows(&laid, &sheet) {
            let stem = stem(&sheet.id, window.map(|w| w.1.number), machine.process.name());
            let is_it = name
                .strip_prefix(&stem)
                .is_some_and(|rest| matches!(rest, ".svg" | ".dxf" | "-r12-mm.dxf" | ".gcode"));
            names.push(stem);
            if !is_it {
                continue;
            }
            let is_in = |placed: &Placed| window.is_none_or(|w| placed.window == Some(w.0));
            let (pieces, others): (Vec<_>, Vec<_>) =
                pieces.iter().copied().partition(|(_, placed)| is_in(placed));
            return Ok(held(&Spread {
                sheet: &sheet,
                pieces: &pieces,
                others: &others,
                window: window.map(|w| w.1),
                machine,
                material,
                setting,
                lay: &lay,
                lay_hash: &lay_hash,
            }));
        }
    }
    Err(vec![
        Fault::error("E52", format!("{lay} has no cut file of the name {name}"))
            .cure(format!("its files begin with {}", names.join(", "))),
    ])
}

fn tell(file: &Path, verdict: &Verdict) -> Answer {
    let mut answer = Answer::new();
    let format = verdict.format.map_or("not read", |f| f.name());
    answer.line(format!("{} ({format})", file.display()));
    for it in &verdict.invariants {
        // A drawing has no beam and no speed: that is no gap in the proof.
        let outcome = if it.margin == UNCOVERED && it.outcome == Proven::NotCovered {
            "not asked of a drawing"
        } else {
            it.outcome.name()
        };
        answer.line(format!("{:<4}{outcome:<12} {}: {}", it.name, it.says, it.margin));
    }
    let rows: Vec<Value> = verdict
        .invariants
        .iter()
        .map(|it| {
            json!({
                "name": it.name,
                "says": it.says,
                "outcome": it.outcome.name(),
                "margin": it.margin,
            })
        })
        .collect();
    answer.result = json!({
        "file": file.display().to_string(),
        "format": format,
        "proven": verdict.is_proven(),
        "invariants": rows,
    });
    if verdict.is_proven() {
        answer.line("proven");
    } else {
        answer.outcome = Outcome::Unproven;
        let broken: Vec<&str> = verdict.broken().map(|it| it.name).collect();
        let text = format!("{} is not proven: {}", file.display(), broken.join(", "));
        answer.faults.push(
            Fault::error("E73", text).cure("do not cut from it: write it again with pouchwork cut"),
        );
    }
    answer
}
