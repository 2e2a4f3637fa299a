//! The program run as a person runs it: files in, words and files out, exit code.

mod beside;
mod cloth;
mod coupon;
mod first_hour;
mod full_set;
mod manners;
mod order;
mod overlaps;
mod page;
mod pages;
mod pictures;
mod proofs;
mod readme;
mod recut;
mod refusals;
mod safety;
mod simulated;
mod stock;
mod template;
mod told;
mod traced;
mod travel;
mod walkthrough;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What a run came to.
pub(crate) struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

/// Runs the program in a folder.
pub(crate) fn run(folder: &Path, words: &[&str]) -> Ran {
    let output = Command::new(env!("CARGO_BIN_EXE_pouchwork"))
        .args(words)
        .current_dir(folder)
        .env("XDG_CONFIG_HOME", folder.join("no-config"))
        .env("HOME", folder)
        .output()
        .unwrap();
    Ran {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Asserts that a run tells a code. `every_code_has_an_input_that_tells_it` looks for these calls.
pub(crate) fn tells(ran: &Ran, code: &str) {
    let in_words =
        ["error", "warning"].iter().any(|what| ran.err.contains(&format!("{what}[{code}]")));
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap_or_default();
    let messages = document["messages"].as_array();
    let in_json = messages.is_some_and(|all| all.iter().any(|message| message["code"] == code));
    assert!(in_words || in_json, "{code} is not told: {}{}", ran.out, ran.err);
}

/// Asserts that a run was refused with a code, and told these words.
pub(crate) fn refused(ran: &Ran, code: i32, words: &[&str]) {
    assert_eq!(ran.code, code, "{}{}", ran.out, ran.err);
    tells(ran, words[0]);
    for word in words {
        assert!(ran.err.contains(word), "{word} in {}", ran.err);
    }
}

/// Whether this is the full run, which takes its time: `POUCHWORK_TRIALS=20`.
pub(crate) fn is_full() -> bool {
    std::env::var("POUCHWORK_TRIALS").ok().and_then(|t| t.parse::<f64>().ok()) >= Some(20.0)
}

/// A folder of its own for one test.
pub(crate) fn bench() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

/// An example, copied so that a run leaves it alone.
pub(crate) fn example(name: &str, to: &Path) -> PathBuf {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    let there = to.join(name);
    copy(&from, &there);
    there
}

/// The chapel organ.
pub(crate) fn thistlewick(to: &Path) -> PathBuf {
    example("thistlewick", to)
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        if entry.file_name() == "out" {
            continue;
        }
        if entry.path().is_dir() {
            copy(&entry.path(), &to.join(entry.file_name()));
        } else {
            fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
        }
    }
}

/// The laser of the examples.
pub(crate) fn laser_of(job: &Path) -> &'static str {
    if job.ends_with("full-set") { "wide-laser" } else { "bench-laser" }
}

/// Goes through the safety list of an example's laser with the example's own answers.
pub(crate) fn answered(job: &Path) -> Ran {
    run(job, &["safety", "--machine", laser_of(job), "--answers", "answers.toml"])
}

/// Lays an example, goes through its list and cuts it.
pub(crate) fn cut_example(job: &Path) -> Ran {
    for ran in [run(job, &["lay", "--effort", "quick"]), answered(job)] {
        assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    }
    run(job, &["cut"])
}

/// Every file below a folder with its bytes, sorted by path.
pub(crate) fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    gather(folder, folder, &mut found);
    found.sort();
    found
}

fn gather(root: &Path, folder: &Path, found: &mut Vec<(String, Vec<u8>)>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(root, &path, found);
        } else {
            let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
            found.push((name, fs::read(&path).unwrap()));
        }
    }
}

/// Replaces text in a file of a job; the text must be there.
pub(crate) fn edit(path: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "{} has no {from:?}", path.display());
    fs::write(path, text.replacen(from, to, 1)).unwrap();
}
