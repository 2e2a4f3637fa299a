//! Laying: strips, hides, disks, bed windows and growth, each with what it takes beside a sort of a million numbers, ten times over.
//!
//! `cargo bench --bench lay -- [FOLDER] [NAMES] [SEEDS] [SECONDS]`
//!
//! - FOLDER holds instances as JSON: strips (`strip_height`, `items`), hides with their items (`bins`, `items`), our own
//!   job (`hide`, `pieces`). It may also stand in the environment variable `POUCHWORK_INSTANCES`; a first word that is
//!   no folder is taken for the names. Without a folder only what needs none is run.
//! - NAMES, by commas: names of instances, or of sections: `strips`, `hide`, `disks`, `squares`, `growth`, `blanks`,
//!   `leather`, `windows`. None, or `all`: everything.
//! - SEEDS and SECONDS, by commas: `1` and `10` where nothing is said. A million or more is a count of evaluations, not
//!   of seconds: what they give does not depend on how busy the machine is.
//!
//! Runs are given so many evaluations as come to the seconds wanted; one that takes much longer is stopped, and the table
//! says so. Every layout is proven. Timings are for people: no test depends on them.

#![allow(clippy::print_stdout, reason = "a bench prints")]

mod blanks;
mod disks;
mod growth;
mod hide;
mod leather;
mod sorting;
mod squares;
mod strips;
mod stuff;
mod timing;
mod windows;

use std::fs;
use std::path::{Path, PathBuf};

/// Parts of the bench, as they are asked for.
const SECTIONS: [&str; 8] =
    ["strips", "hide", "disks", "squares", "growth", "blanks", "leather", "windows"];

/// What was asked for.
struct Asked {
    folder: Option<PathBuf>,
    names: Vec<String>,
    seeds: Vec<u64>,
    times: Vec<f64>,
}

impl Asked {
    fn read() -> Asked {
        let mut words = std::env::args().skip(1).filter(|word| word != "--bench").peekable();
        let typed = words.next_if(|word| Path::new(word).is_dir());
        let folder = typed.or_else(|| std::env::var("POUCHWORK_INSTANCES").ok());
        let names = words.next().unwrap_or_default();
        let seeds = words.next().unwrap_or_else(|| "1".to_owned());
        let times = words.next().unwrap_or_else(|| "10".to_owned());
        let mut times: Vec<f64> = times.split(',').filter_map(|word| word.parse().ok()).collect();
        times.sort_by(f64::total_cmp);
        let is_one = |name: &&str| !name.is_empty() && *name != "all";
        Asked {
            folder: folder.map(PathBuf::from),
            names: names.split(',').filter(is_one).map(str::to_owned).collect(),
            seeds: seeds.split(',').filter_map(|seed| seed.parse().ok()).collect(),
            times,
        }
    }

    /// Whether a section is wanted: by its name, or with everything.
    fn wants(&self, section: &str) -> bool {
        self.names.is_empty() || self.names.iter().any(|name| name == section)
    }

    /// Whether a section is wanted of an instance: by either name, where only one kind of name is given.
    fn wants_of(&self, section: &str, instance: &str) -> bool {
        let is_section = |name: &String| SECTIONS.contains(&name.as_str());
        let any = |wanted: bool| self.names.iter().any(|name| is_section(name) == wanted);
        (!any(true) || self.wants(section))
            && (!any(false) || self.names.iter().any(|name| name == instance))
    }

    /// The instances of the folder, with their texts.
    fn instances(&self) -> Vec<(String, String)> {
        let entries = self.folder.iter().filter_map(|folder| fs::read_dir(folder).ok());
        let mut files: Vec<PathBuf> = entries.flatten().flatten().map(|e| e.path()).collect();
        files.sort();
        let read = |file: PathBuf| {
            let name = file.file_stem()?.to_string_lossy().into_owned();
            Some((name, fs::read_to_string(&file).ok()?))
        };
        files.into_iter().filter_map(read).collect()
    }
}

fn main() {
    let asked = Asked::read();
    let (seeds, times) = (&asked.seeds[..], &asked.times[..]);
    if seeds.is_empty() || times.is_empty() {
        println!("lay: seeds are whole numbers and seconds are numbers, by commas: 1,2 and 1,10");
        return;
    }
    let sorting = sorting::sorting();
    println!(
        "lay: a million numbers are sorted ten times in {sorting:.2} s; `in sorts` is in this measure"
    );
    let instances = asked.instances();
    let of = |section: &str| {
        let wanted = instances.iter().filter(|(name, _)| asked.wants_of(section, name));
        wanted.collect::<Vec<_>>()
    };
    if !of("strips").is_empty() {
        strips::head();
    }
    for (name, text) in of("strips") {
        strips::time(name, text, seeds, times, sorting);
    }
    for (name, text) in of("leather") {
        leather::time(name, text, seeds, sorting);
    }
    for (name, text) in of("hide") {
        hide::time(name, text, seeds, times, sorting);
    }
    for (name, text) in of("disks") {
        disks::time(name, text, seeds, times, sorting);
    }
    for (name, text) in of("windows") {
        windows::time(name, text, &[20_000, 1_000_000], sorting);
    }
    if asked.wants("blanks") {
        blanks::time(seeds, sorting);
    }
    if asked.wants("squares") {
        squares::time(seeds, times, sorting);
    }
    if asked.wants("disks") {
        disks::time_own(times, sorting);
    }
    if asked.wants("growth") {
        growth::time(sorting);
    }
}
