//! Every kind of fault once or more: one change to a sound job, and all that is said about it.
//!
//! `cases.txt` holds blocks: `== name`, then changes `path: this => that`, then every fault as
//! `code file:line:column text | cure`. In changes `\n`, `\t` and `\xHH` stand for those bytes; `ALL` for a whole file,
//! `GONE` for a file that is not there. A block called `check …` is judged as well, as the command `check` does. With `POUCHWORK_TOLD=FILE` the blocks that differ are written to that file.

use super::*;
use std::fmt::Write as _;

const CASES: &str = include_str!("cases.txt");

const JOB: &str = r#"[job]
title = "trial"
notes = 12

[machines]
knife = "drag-knife"

[[hide]]
id = "H1"
material = "pouch-leather"
up = "flesh"
grain = 0
corners = [["0 mm", "0 mm"], ["600 mm", "0 mm"], ["600 mm", "500 mm"], ["0 mm", "500 mm"]]

[[part]]
name = "pouch"
kind = "pouch"
positions = "1-12"
table = "p.csv"
well = "1 1/8 in"
dip = "3/32 in"
land = "3/16 in"
material = "pouch-leather"
cut-with = "knife"
"#;

const TABLE: &str = "position,well,dip,note\n3,1 5/32 in,,\n7,29.5 mm,,big\n";

pub(in crate::job) fn base() -> Memory {
    Memory::default().with("job.toml", JOB).with("p.csv", TABLE)
}

fn bytes(text: &str) -> Vec<u8> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find('\\') {
        out.extend(rest[..at].bytes());
        let (sign, after) = rest[at + 1..].split_at(1);
        rest = after;
        match sign {
            "n" => out.push(b'\n'),
            "t" => out.push(b'\t'),
            "x" => {
                out.push(u8::from_str_radix(&rest[..2], 16).unwrap());
                rest = &rest[2..];
            }
            other => {
                out.push(b'\\');
                out.extend(other.bytes());
            }
        }
    }
    out.extend(rest.bytes());
    out
}

fn change(memory: &mut Memory, line: &str) {
    let (path, change) = line.split_once(": ").expect(line);
    let (this, that) = change.split_once(" =>").expect(line);
    let (this, that) = (this.trim_end(), bytes(that.strip_prefix(' ').unwrap_or(that)));
    if this == "ALL" {
        memory.job.insert(path.to_owned(), that);
        return;
    }
    if this == "GONE" {
        memory.job.remove(path);
        return;
    }
    if let Some(path) = path.strip_prefix("own/") {
        memory.own.insert(path.to_owned(), that);
        return;
    }
    let old = memory
        .job
        .entry(path.to_owned())
        .or_insert_with(|| crate::job::builtin::profile(path).expect(path).as_bytes().to_vec());
    let this = bytes(this);
    let at = old.windows(this.len()).position(|w| w == this).expect(line);
    old.splice(at..at + this.len(), that);
}

#[test]
fn every_case_is_told_exactly() {
    let mut wrong = String::new();
    let mut count = 0;
    let mut names = std::collections::BTreeSet::new();
    for block in CASES.split("\n== ").skip(1) {
        let mut lines = block.lines();
        let name = lines.next().unwrap();
        assert!(names.insert(name), "two cases are called {name}");
        let mut memory = base();
        let mut wanted = Vec::new();
        let mut changes = String::new();
        for line in lines.filter(|l| !l.trim().is_empty()) {
            if line.contains(" =>") && !line.starts_with(['E', 'W']) {
                change(&mut memory, line);
                changes.push_str(line);
                changes.push('\n');
            } else {
                wanted.push(line.to_owned());
            }
        }
        let (job, mut faults) = memory.read();
        assert_eq!(job.is_none(), crate::fault::any_error(&faults), "{name}");
        if let Some(job) = job.as_ref().filter(|_| name.starts_with("check ")) {
            let (worked, more) = crate::job::work_out(job);
            faults.extend(more);
            faults.extend(crate::job::stops(job));
            faults.extend(crate::job::judge(job, &worked));
            let lists = crate::job::batches(job, &worked).unwrap_or_default();
            faults.extend(crate::job::short(job, &lists));
        }
        if let Some((job, wish)) = job.as_ref().zip(name.strip_prefix("template ")) {
            faults.extend(asked_for(job, wish));
        }
        let got: Vec<String> = faults.iter().map(told).collect();
        if got != wanted {
            let _ = write!(wrong, "\n== {name}\n{changes}{}\n", got.join("\n"));
        }
        count += 1;
    }
    if let Ok(path) = std::env::var("POUCHWORK_TOLD") {
        std::fs::write(path, &wrong).unwrap();
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(count >= 40, "{count} cases");
}

/// What is said of a wish for a template: a part or a piece, or what a rule measured.
fn asked_for(job: &crate::job::Job, wish: &str) -> Vec<Fault> {
    if let Some(text) = wish.strip_prefix("--rule-x ") {
        return crate::job::rule_measured("--rule-x", text).err().into_iter().collect();
    }
    if let Some((x, y)) = wish.strip_prefix("rules ").and_then(|both| both.split_once(' ')) {
        return crate::job::uneven(x.parse().unwrap(), y.parse().unwrap()).into_iter().collect();
    }
    let (worked, _) = crate::job::work_out(job);
    match crate::job::drawings(job, &worked, &[wish.to_owned()], false) {
        Ok(drawn) => {
            let drawings: Vec<_> = drawn.into_iter().map(|(drawing, _)| drawing).collect();
            crate::job::without_tool(&drawings).into_iter().collect()
        }
        Err(faults) => faults,
    }
}

#[test]
fn codes_are_listed_once_and_in_order() {
    let codes: Vec<&str> = crate::job::CODES.iter().map(|(code, _)| *code).collect();
    let mut sorted = codes.clone();
    sorted.sort_unstable();
    sorted.dedup();
    assert_eq!(codes, sorted);
    assert!(crate::job::CODES.iter().all(|(_, what)| !what.is_empty()));
}

/// Walks the sources of this room and of the rooms below for codes.
#[test]
fn every_code_used_is_listed() {
    let known: Vec<&str> = crate::job::CODES.iter().map(|(code, _)| *code).collect();
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut folders = vec![root];
    let mut found = 0;
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            if path.extension().is_none_or(|e| e != "rs") || path.ends_with("job/codes.rs") {
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            for (at, _) in text.match_indices('"') {
                let word = text[at + 1..].split('"').next().unwrap_or_default();
                let Some(code) = Some(word).filter(|w| matches!(w.len(), 3 | 4)) else {
                    continue;
                };
                if code.starts_with(['E', 'W']) && code[1..].bytes().all(|b| b.is_ascii_digit()) {
                    found += 1;
                    assert!(known.contains(&code), "{code} in {} is not in CODES", path.display());
                }
            }
        }
    }
    assert!(found > 100, "{found} codes found");
}
