//! `table`: an empty table for a part.

use super::args::Common;
use super::open::Folder;
use super::{Answer, desk};
use crate::fault::{Fault, Sources, nearest};
use crate::job::template_for;
use serde_json::json;

pub(super) fn run(common: &Common, name: &str) -> Answer {
    let mut sources = Sources::default();
    let folder = match desk::job_folder(common.job.as_deref()) {
        Ok(folder) => folder,
        Err(fault) => return Answer::refused(vec![fault], sources),
    };
    let text = match template_for(&Folder::new(folder), &mut sources, name) {
        Ok(text) => text,
        Err(faults) => return Answer::refused(faults, sources),
    };
    let mut answer = Answer::new();
    answer.result = json!({ "part": name, "csv": text });
    answer.raw = Some(text);
    answer
}

/// The fault of a part that is not there.
pub(super) fn no_part(name: &str, job: &crate::job::Job) -> Fault {
    let mut names: Vec<&str> = job.parts.iter().map(|p| p.name.as_str()).collect();
    names.dedup(); // companions stand behind their part and have its name
    let cure = match nearest(name, names.iter().copied()) {
        Some(near) => format!("did you mean {near}?"),
        None => format!("parts of this job: {}", names.join(", ")),
    };
    Fault::error("E81", format!("no part is called \"{name}\"")).cure(cure)
}
