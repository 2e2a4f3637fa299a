//! What is waited for most often: the program's start, `check` and the job sheet of the full set, as whole processes.
//!
//! `cargo bench --bench start -- [ROUNDS]`
//!
//! Each time is a median, beside the time of something plain on the same machine: a process that does nothing, reading the
//! same files, writing the same bytes. Aims: 30 ms for the start, 100 ms for `check`, 1 s and 3 MB for the job sheet.
//! Timings are for people: no test depends on them.

#![allow(clippy::print_stdout, reason = "a bench prints")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What a time should stay below.
const START: Duration = Duration::from_millis(30);
const CHECK: Duration = Duration::from_millis(100);
const PAGE: Duration = Duration::from_secs(1);
/// A job sheet should stay below (bytes).
const PAGE_BYTES: u64 = 3_000_000;

fn main() {
    let given = std::env::args().skip(1).find_map(|word| word.parse::<usize>().ok());
    let rounds = given.unwrap_or(20).max(1);
    let room = std::env::temp_dir().join(format!("pouchwork-start-{}", std::process::id()));
    let job = room.join("full-set");
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/full-set");
    let _ = fs::remove_dir_all(&room);
    copy(&from, &job);
    println!("medians of {rounds} rounds");
    if let Err(told) = all(rounds, &job, &room) {
        println!("{told}");
    }
    let _ = fs::remove_dir_all(&room);
}

fn all(rounds: usize, job: &Path, room: &Path) -> Result<(), String> {
    let nothing = times(rounds, || run(&mut Command::new("true")))?;
    for word in ["--version", "--help"] {
        let ours = times(rounds, || run(ours(&[word], None).stdout(Stdio::null())))?;
        told(&format!("pouchwork {word}"), ours, START, ("a process that does nothing", nothing));
    }

    let paths = files(job);
    let reading = times(rounds, || {
        for path in &paths {
            std::hint::black_box(fs::read(path).map_err(|e| e.to_string())?);
        }
        Ok(())
    })?;
    let check = times(rounds, || run(&mut ours(&["check", "--quiet"], Some(job))))?;
    let what = format!("reading its {} files", paths.len());
    told("check of the full set", check, CHECK, (&what, reading));

    run(&mut ours(&["lay", "--effort", "quick", "--quiet"], Some(job)))?;
    let few = rounds.div_ceil(4);
    let page = times(few, || run(&mut ours(&["page", "--quiet", "lay-1"], Some(job))))?;
    let sheet = job.join("out/lay-1/job-sheet.html");
    let bytes = fs::read(&sheet).map_err(|e| e.to_string())?;
    let writing = times(few, || fs::write(room.join("copy"), &bytes).map_err(|e| e.to_string()))?;
    told("job sheet of the full set", page, PAGE, ("writing the same bytes", writing));
    let size = fs::metadata(&sheet).map_err(|e| e.to_string())?.len();
    let most = PAGE_BYTES / 1000;
    println!("  its size {} kB, aim {most} kB{}", size / 1000, beyond(size > PAGE_BYTES));
    Ok(())
}

fn beyond(is_beyond: bool) -> &'static str {
    if is_beyond { " - BEYOND THE AIM" } else { "" }
}

fn told(what: &str, ours: Duration, aim: Duration, (beside, plain): (&str, Duration)) {
    let ms = |time: Duration| time.as_secs_f64() * 1e3;
    println!("{what:<28} {:9.2} ms, aim {:.0} ms{}", ms(ours), ms(aim), beyond(ours > aim));
    let ratio = ours.as_secs_f64() / plain.as_secs_f64().max(1e-9);
    println!("  {beside:<26} {:9.3} ms, ratio {ratio:.1}", ms(plain));
}

fn ours(words: &[&str], job: Option<&Path>) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pouchwork"));
    command.args(words);
    if let Some(job) = job {
        command.arg("-C").arg(job);
    }
    command
}

fn run(command: &mut Command) -> Result<(), String> {
    let ran = command.stdout(Stdio::null()).stderr(Stdio::piped()).output();
    let ran = ran.map_err(|e| format!("{command:?} could not be run: {e}"))?;
    if ran.status.success() {
        return Ok(());
    }
    Err(format!("{command:?} failed: {}", String::from_utf8_lossy(&ran.stderr)))
}

/// The median of some rounds.
fn times(rounds: usize, mut round: impl FnMut() -> Result<(), String>) -> Result<Duration, String> {
    let mut all = Vec::new();
    for _ in 0..rounds {
        let start = Instant::now();
        round()?;
        all.push(start.elapsed());
    }
    all.sort();
    Ok(all[all.len() / 2])
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found
}

/// Copies a folder with all that is in it but an old `out`.
fn copy(from: &Path, to: &Path) {
    let _ = fs::create_dir_all(to);
    for path in fs::read_dir(from).into_iter().flatten().flatten().map(|entry| entry.path()) {
        let Some(name) = path.file_name().filter(|name| *name != "out") else { continue };
        if path.is_dir() {
            copy(&path, &to.join(name));
        } else {
            let _ = fs::copy(&path, to.join(name));
        }
    }
}
