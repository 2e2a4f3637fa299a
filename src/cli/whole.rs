//! The whole line to type, where a command line lacks a word or has one too many.

use super::args::{Colour, Common};
use super::{desk, open};
use crate::job::Job;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::ffi::OsString;

/// The line to type instead, with names of the job where it can be read; none where nothing can be said.
pub(super) fn line(words: &[OsString], stop: &clap::Error) -> Option<String> {
    let words: Vec<&str> = words.iter().filter_map(|word| word.to_str()).collect();
    let at = words.iter().position(|word| TOLD.contains(word))?;
    let (command, rest) = (words[at], &words[at + 1..]);
    // Words without a dash, those behind an option that takes one left out.
    let bare = || {
        let follows = |n: usize| n > 0 && TAKES.contains(&rest[n - 1]);
        let all = rest.iter().enumerate();
        all.filter(move |(n, word)| !word.starts_with('-') && !follows(*n)).map(|(_, word)| *word)
    };
    match (stop.kind(), command) {
        (ErrorKind::UnknownArgument, "why" | "recut") => {
            let (part, place) = (bare().next()?, unknown(stop)?);
            let place = place.trim_start_matches(':');
            place.parse::<u32>().ok()?;
            let part = part.trim_end_matches(':');
            (!part.contains(':')).then(|| format!("pouchwork {command} {part}:{place}"))
        }
        (ErrorKind::MissingRequiredArgument, "tally") => {
            let lay = last_lay(&words).unwrap_or_else(|| "lay-1".to_owned());
            let rest = if rest.is_empty() { "--all-good".to_owned() } else { rest.join(" ") };
            Some(format!("pouchwork tally {lay} {rest}"))
        }
        (ErrorKind::MissingRequiredArgument, "coupon") => {
            let sort = bare().next()?;
            let job = job(&words);
            let (material, machine) = job.as_ref().and_then(cut).unwrap_or(EXAMPLE);
            let material = given(rest, "--material").unwrap_or(material);
            let machine = given(rest, "--machine").unwrap_or(machine);
            (sort != "read").then(|| {
                format!("pouchwork coupon {sort} --material {material} --machine {machine}")
            })
        }
        (ErrorKind::MissingRequiredArgument, "safety") => {
            let lay = bare().next().map_or(String::new(), |lay| format!(" {lay}"));
            let job = job(&words);
            let machine = job.as_ref().and_then(laser).unwrap_or("laser");
            Some(format!("pouchwork safety{lay} --machine {machine}"))
        }
        _ => None,
    }
}

/// Commands of which a line can be told.
const TOLD: &[&str] = &["why", "recut", "tally", "coupon", "safety"];
/// Their options that take a word.
const TAKES: &[&str] = &[
    "-C",
    "--job",
    "--material",
    "--machine",
    "--sheet",
    "--failed",
    "--from",
    "--answers",
    "--take",
    "--by",
    "--part-off",
    "--dots",
    "--wait",
];
/// Material and machine where there is no job to take them from.
const EXAMPLE: (&str, &str) = ("pouch-leather", "knife");

/// The word that was not expected.
fn unknown(stop: &clap::Error) -> Option<&str> {
    match stop.get(ContextKind::InvalidArg)? {
        ContextValue::String(word) => Some(word),
        _ => None,
    }
}

/// What stands behind an option, as two words or with a sign between them.
fn given<'a>(words: &[&'a str], option: &str) -> Option<&'a str> {
    let joined = |word: &&'a str| word.strip_prefix(option)?.strip_prefix('=');
    let apart = || {
        let at = words.iter().position(|word| *word == option)?;
        words.get(at + 1).copied().filter(|word| !word.starts_with('-'))
    };
    words.iter().find_map(joined).or_else(apart)
}

fn common(words: &[&str]) -> Common {
    let folder = given(words, "-C").or_else(|| given(words, "--job"));
    let job = folder.map(Into::into);
    Common { job, json: false, color: Colour::Never, quiet: true }
}

fn job(words: &[&str]) -> Option<Job> {
    open::open(&common(words)).ok().map(|opened| opened.job)
}

fn last_lay(words: &[&str]) -> Option<String> {
    let folder = desk::job_folder(common(words).job.as_deref()).ok()?;
    desk::lays(&folder, desk::LAY).last().map(|(number, _)| format!("{}-{number}", desk::LAY))
}

/// Material and machine of the first part.
fn cut(job: &Job) -> Option<(&str, &str)> {
    job.parts.first().map(|part| (part.material.as_str(), job.called(&part.cut_with)))
}

fn laser(job: &Job) -> Option<&str> {
    let laser = job.machines.values().find(|machine| machine.laser.is_some())?;
    Some(job.called(&laser.key))
}
