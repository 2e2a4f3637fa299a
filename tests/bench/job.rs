//! The examples as whole processes, from measured tables to cut files, beside a plain copy of the same files.
//!
//! Prints medians and their ratio. Timings are for people: no test depends on them.

#![allow(clippy::print_stdout, reason = "a bench prints")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

fn main() {
    for (example, laser) in [("thistlewick", "bench-laser"), ("full-set", "wide-laser")] {
        time(example, laser);
    }
}

fn time(name: &str, laser: &str) {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    let room = std::env::temp_dir().join(format!("pouchwork-bench-{}", std::process::id()));
    let mut ours = Vec::new();
    let mut beside = Vec::new();
    let mut each: [Vec<Duration>; 5] = std::array::from_fn(|_| Vec::new());
    let mut written = 0;
    for _ in 0..5 {
        let job = room.join("job");
        let _ = fs::remove_dir_all(&room);
        copy(&example, &job);
        let answers = job.join("answers.toml").display().to_string();
        let start = Instant::now();
        let turns = [
            &["check"][..],
            &["lay", "--effort", "quick"],
            &["safety", "lay-1", "--machine", laser, "--answers", &answers],
            &["cut", "lay-1"],
            &["cut", "lay-1", "--format", "gcode"],
        ];
        for (turn, words) in turns.iter().enumerate() {
            let begun = Instant::now();
            let output = Command::new(env!("CARGO_BIN_EXE_pouchwork"))
                .args(*words)
                .args(["--quiet", "-C"])
                .arg(&job)
                .output();
            match output {
                Ok(output) if output.status.success() => each[turn].push(begun.elapsed()),
                Ok(output) => {
                    println!("{words:?} failed: {}", String::from_utf8_lossy(&output.stderr));
                    return;
                }
                Err(error) => {
                    println!("{words:?} could not be run: {error}");
                    return;
                }
            }
        }
        ours.push(start.elapsed());
        let start = Instant::now();
        written = copy(&job, &room.join("copy"));
        beside.push(start.elapsed());
    }
    let _ = fs::remove_dir_all(&room);
    let (ours, beside) = (median(&mut ours), median(&mut beside));
    println!("job: {name}, quick effort, {written} files in and out");
    let ways = [
        "check",
        "lay",
        "safety (plans and programs)",
        "cut (drawings, proven)",
        "cut (plans, programs, G-code, proven)",
    ];
    for (way, times) in ways.iter().zip(&mut each) {
        println!("    {way:<38} {:8.1} ms", median(times).as_secs_f64() * 1e3);
    }
    println!("  all of these                  {:8.1} ms", ours.as_secs_f64() * 1e3);
    println!("  a copy of the same files      {:8.1} ms", beside.as_secs_f64() * 1e3);
    println!("  ratio                         {:8.1}", ours.as_secs_f64() / beside.as_secs_f64());
}

fn median(times: &mut [Duration]) -> Duration {
    times.sort();
    times[times.len() / 2]
}

/// Copies a folder with all that is in it but an old `out`; gives the number of files.
fn copy(from: &Path, to: &Path) -> usize {
    let mut count = 0;
    let _ = fs::create_dir_all(to);
    for entry in fs::read_dir(from).into_iter().flatten().flatten() {
        let (path, target): (PathBuf, PathBuf) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            if !(entry.file_name() == "out" && from.starts_with(env!("CARGO_MANIFEST_DIR"))) {
                count += copy(&path, &target);
            }
        } else if fs::copy(&path, &target).is_ok() {
            count += 1;
        }
    }
    count
}
