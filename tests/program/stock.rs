//! The stock record: claimed by cut, booked by tally, whole whatever happens.

use super::{Ran, bench, edit, refused, run};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// A tiny job: four pads from a leaf, and a few strips of cloth.
const JOB: &str = r#"[job]
title = "trial"

[machines]
knife = "drag-knife-small"

[[hide]]
id = "H1"
material = "pouch-leather"
up = "flesh"
unit = "mm"
corners = [[10, 10], [250, 10], [250, 190], [10, 190]]
grain = 0

[[part]]
name = "pad"
kind = "disk"
count = 4
diameter = "30 mm"
material = "pouch-leather"
cut-with = "knife"
stretch = ["0 %", "0 %"]
"#;

/// What puts a small leaf into the stock.
#[rustfmt::skip]
fn new_leaf(id: &str) -> [&str; 10] {
    ["stock", "add", "--leaf", id, "--material", "wool-felt", "--width", "20 mm", "--length", "30 mm"]
}

/// So many of the full run: a twentieth, times `POUCHWORK_TRIALS`.
fn trials(full: usize) -> usize {
    let times: f64 =
        std::env::var("POUCHWORK_TRIALS").ok().and_then(|t| t.parse().ok()).unwrap_or(1.0);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "small counts"
    )]
    let count = (full as f64 * times / 20.0).ceil() as usize;
    count
}

fn job(room: &Path, name: &str) -> PathBuf {
    let there = room.join(name);
    fs::create_dir_all(&there).unwrap();
    fs::write(there.join("job.toml"), JOB).unwrap();
    there
}

fn good(ran: Ran) -> Ran {
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    ran
}

fn lay(job: &Path, seed: &str) -> Ran {
    good(run(job, &["lay", "--effort", "quick", "--seed", seed]))
}

fn record(job: &Path) -> String {
    fs::read_to_string(job.join("out/stock.toml")).unwrap()
}

/// Middles of the disks in a record, in the order of its text.
fn middles(text: &str) -> Vec<(f64, f64)> {
    let rows = text.split("at = [").skip(1).filter_map(|rest| {
        let (pair, _) = rest.split_once(']')?;
        let (x, y) = pair.split_once(", ")?;
        Some((x.parse().ok()?, y.parse().ok()?))
    });
    rows.collect()
}

#[test]
fn cut_claims_and_tally_books() {
    let room = bench();
    let job = job(room.path(), "trial");
    lay(&job, "1");
    let told = good(run(&job, &["cut"]));
    assert!(told.out.contains("lay-1 claims the ground of 4 pieces on H1"), "{}", told.out);
    let first = record(&job);
    assert!(
        first.contains("schema = 1\n") && first.contains("[[hide.claim]]\nlay = \"lay-1\""),
        "{first}"
    );
    let cut = fs::read(job.join("out/lay-1/H1-knife.svg")).unwrap();
    // Cut again, it renews its own claim: the same bytes everywhere.
    let told = good(run(&job, &["cut", "lay-1"]));
    assert!(told.out.contains("lay-1 goes on claiming"), "{}", told.out);
    assert_eq!(
        (record(&job), fs::read(job.join("out/lay-1/H1-knife.svg")).unwrap()),
        (first.clone(), cut)
    );
    assert!(lay(&job, "1").out.starts_with("lay-1 "), "its own claims are no new input");
    let checked = good(run(&job, &["check"]));
    assert!(checked.out.contains("out/stock.toml rules for: H1"), "{}", checked.out);
    assert!(!checked.err.contains("W50"), "{}", checked.err);
    // The record's hide stands as the job's was typed in another system.
    let proven = good(run(&job, &["prove", "out/lay-1/H1-knife.svg"]));
    assert!(proven.out.contains("no claims of other lays"), "{}", proven.out);

    let two = lay(&job, "2");
    assert!(two.out.starts_with("lay-2 "), "{}", two.out);
    good(run(&job, &["cut", "lay-2"]));
    let proven = good(run(&job, &["prove", "out/lay-2/H1-knife.svg"]));
    assert!(proven.out.contains("clear of 4 claims"), "{}", proven.out);
    let all = middles(&record(&job));
    assert_eq!(all.len(), 8);
    let text = fs::read_to_string(job.join("out/lay-2/lay.json")).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let apart = value["groups"][0]["apart"].as_f64().unwrap();
    let edge = value["sheets"][0]["edge"].as_f64().unwrap();
    assert!(apart < edge, "the test would tell nothing");
    let mut least = f64::INFINITY;
    for (i, a) in all.iter().enumerate() {
        for b in &all[i + 1..] {
            least = least.min((a.0 - b.0).hypot(a.1 - b.1) - 30.0);
        }
    }
    // A gap and a kerf, and not the edge: the distance of two pieces.
    assert!(least > apart - 1e-4 && least < edge, "{least} {apart} {edge}");
    // Both are given again, whoever came later.
    assert!(lay(&job, "1").out.starts_with("lay-1 ") && lay(&job, "2").out.starts_with("lay-2 "));

    refused(&run(&job, &["tally", "lay-1", "--failed", "pad:9"]), 1, &["E86", "pad:1, pad:2"]);
    let before = record(&job);
    let told = good(run(&job, &["tally", "lay-1", "--failed", "pad:2"]));
    assert!(
        told.out.contains("failed: pad:2") && told.out.contains("generation 2"),
        "{}",
        told.out
    );
    let text = record(&job);
    assert!(
        text.contains("address = \"pad:2\", state = \"failed\"") && text.contains("generation = 2"),
        "{text}"
    );
    // The picture of the sheet tells the spoilt piece from the others.
    good(run(&job, &["stock", "show", "H1"]));
    let shown = fs::read_to_string(job.join("out/stock/H1.svg")).unwrap();
    let spoilt = shown.split("<g ").find(|group| group.contains("id=\"SPOILT\""));
    assert_eq!(spoilt.map(|group| group.matches("<path ").count()), Some(2), "one, both ways");
    assert!(shown.contains("8 pieces, 4 of them claimed (dashed)"), "{shown}");
    assert!(shown.contains("1 spoilt (hatched both ways)"), "{shown}");
    refused(
        &run(&job, &["tally", "lay-1", "--all-good"]),
        1,
        &["E87", "already booked", "stock undo"],
    );
    refused(&run(&job, &["cut", "lay-1"]), 1, &["E83", "generation 2", "last by lay-1"]);
    assert_eq!(record(&job), text, "what is refused changes nothing");
    good(run(&job, &["stock", "undo"]));
    assert_eq!(record(&job), before);
    good(run(&job, &["stock", "undo"]));
    assert_eq!(record(&job), first);
    good(run(&job, &["tally", "1", "--withdrawn"]));
    assert!(!record(&job).contains("hide.claim") && record(&job).contains("generation = 1"));
    for _ in 0..2 {
        good(run(&job, &["stock", "undo"]));
    }
    assert!(!job.join("out/stock.toml").exists());
    refused(&run(&job, &["stock", "undo"]), 1, &["E87"]);
}

#[test]
fn states_come_from_a_file_and_the_rest_is_parted_off() {
    let room = bench();
    let job = job(room.path(), "trial");
    lay(&job, "1");
    good(run(&job, &["cut"]));
    fs::write(job.join("came.csv"), "address,state\npad:1,good\npad:3,failed\n").unwrap();
    fs::write(job.join("came.json"), "[{\"address\": \"pad:3\", \"state\": \"failed\"}]").unwrap();
    fs::write(job.join("wrong.csv"), "pad:3,lost\n").unwrap();
    let before = record(&job);
    refused(
        &run(&job, &["tally", "lay-1", "--from", "wrong.csv"]),
        1,
        &["E86", "neither good nor failed"],
    );
    good(run(&job, &["tally", "lay-1", "--from", "came.csv"]));
    let by_csv = record(&job);
    good(run(&job, &["stock", "undo"]));
    assert_eq!(record(&job), before);
    good(run(&job, &["tally", "lay-1", "--from", "came.json"]));
    assert_eq!(record(&job), by_csv);
    good(run(&job, &["stock", "undo"]));
    let told = good(run(&job, &["tally", "lay-1", "--all-good", "--parted", "--json"]));
    let value: serde_json::Value = serde_json::from_str(&told.out).unwrap();
    assert_eq!(value["remnants"][0], "H1/1");
    let area = |n: usize| value["sheets"][n]["area-mm2"].as_f64().unwrap();
    // Both sides come to the hide of 240 x 180 mm.
    assert!((area(0) + area(1) - 43_200.0).abs() < 1e-3, "{value}");
    let listed = good(run(&job, &["stock", "list", "--free", "--material", "pouch-leather"]));
    assert!(listed.out.contains("H1/1") && listed.out.contains("generation 2"), "{}", listed.out);
    let shown = good(run(&job, &["stock", "show", "h1"]));
    assert!(shown.out.contains("lay-1: 4 pieces"), "{}", shown.out);
    assert!(job.join("out/stock/H1.png").is_file() && job.join("out/stock/H1.svg").is_file());
    // What is laid next comes from the rest, and from what is left beside the cuts.
    let next = lay(&job, "3");
    assert!(next.out.contains("4 of 4 placed"), "{}", next.out);
}

#[test]
fn sheets_are_put_in_and_taken_out() {
    let room = bench();
    let job = job(room.path(), "trial");
    good(run(&job, &["stock", "add", "h1"]));
    assert!(!good(run(&job, &["check"])).err.contains("W50"));
    let cloth = [
        "stock",
        "add",
        "--cloth",
        "C-2",
        "--material",
        "hinge-cloth",
        "--width",
        "54 in",
        "--length",
        "1 yd",
        "--shelf",
        "drawer \"2\"",
    ];
    let told = good(run(&job, &cloth));
    assert!(told.out.contains("125.42 dm²"), "{}", told.out);
    refused(&run(&job, &cloth), 1, &["E14"]);
    fs::write(job.join("off.svg"), "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"90mm\" height=\"60mm\" viewBox=\"0 0 90 60\"><path d=\"M0 0H90V60H0Z\" fill=\"none\" stroke=\"black\"/></svg>").unwrap();
    let off = ["stock", "add", "--remnant-of", "H1", "--outline", "off.svg"];
    let told = good(run(&job, &off));
    assert!(told.out.contains("H1/1 is in") && told.out.contains("0.54 dm²"), "{}", told.out);
    assert!(good(run(&job, &off)).out.contains("H1/2 is in"));
    refused(
        &run(
            &job,
            &[
                "stock",
                "add",
                "--leaf",
                "F",
                "--material",
                "no-such",
                "--width",
                "1 in",
                "--length",
                "1 in",
            ],
        ),
        1,
        &["E15", "no-such"],
    );
    refused(&run(&job, &["stock", "add", "H7"]), 1, &["E88"]);
    let listed = good(run(&job, &["stock", "list"]));
    assert!(listed.out.contains("drawer \"2\"") && listed.out.contains("C-2"), "{}", listed.out);
    let asked = good(run(&job, &["stock", "forget", "C-2"]));
    assert!(asked.out.contains("nothing is changed") && record(&job).contains("C-2"));
    good(run(&job, &["stock", "forget", "C-2", "--yes"]));
    assert!(!record(&job).contains("C-2"));
    lay(&job, "1");
    good(run(&job, &["cut"]));
    // The job is edited: now it says something else of the hide than the record.
    edit(&job.join("job.toml"), "grain = 0", "grain = 5");
    assert!(run(&job, &["check"]).err.contains("W50"));
}

#[test]
fn what_cannot_be_read_is_left_alone() {
    let room = bench();
    let job = job(room.path(), "trial");
    lay(&job, "1");
    good(run(&job, &["cut"]));
    let kept = record(&job);
    let path = job.join("out/stock.toml");
    let commands: [&[&str]; 4] =
        [&["cut"], &["tally", "lay-1", "--all-good"], &["stock", "list"], &["check"]];
    for (from, to, code) in [
        ("schema = 1", "schema = 9", "E82"),
        ("[[hide]]", "[[hide", "E63"),
        ("schema = 1", "schema = 1\nschema = 1", "E63"),
    ] {
        let spoilt = kept.replacen(from, to, 1);
        fs::write(&path, &spoilt).unwrap();
        for words in commands {
            refused(&run(&job, words), 1, &[code]);
            assert_eq!(record(&job), spoilt);
        }
        assert_eq!(fs::read_to_string(job.join("out/stock.toml.bak")).unwrap(), kept);
    }
    assert!(run(&job, &["check"]).err.contains("out/stock.toml.bak"));
    fs::write(&path, &kept).unwrap();
    #[cfg(unix)]
    for name in ["stock.toml", "stock.toml.lock", "stock.log"] {
        let own = job.join("out").join(name);
        let aside = job.join("aside");
        fs::rename(&own, &aside).unwrap();
        std::os::unix::fs::symlink(&aside, &own).unwrap();
        let before = fs::read(&aside).unwrap();
        refused(&run(&job, &["tally", "lay-1", "--all-good"]), 6, &["E71", "no plain file"]);
        assert_eq!(fs::read(&aside).unwrap(), before);
        fs::remove_file(&own).unwrap();
        fs::rename(&aside, &own).unwrap();
    }
    good(run(&job, &["tally", "lay-1", "--all-good"]));
}

#[test]
fn what_is_cut_is_neither_bought_nor_laid_again_without_a_word() {
    let room = bench();
    let job = job(room.path(), "one");
    let order = |job: &Path| good(run(job, &["order", "--effort", "quick"])).out;
    assert!(order(&job).contains("net       4 pieces"), "{}", order(&job));
    for words in [&["lay", "--effort", "quick"][..], &["cut"]] {
        assert!(!good(run(&job, words)).err.contains("W99"));
    }
    // A claim counts as much as a cut, and nobody buys for the coupon alone.
    let told = order(&job);
    assert!(told.contains("not reckoned: 4 pieces, cut or claimed already"), "{told}");
    assert!(!told.contains("to buy"), "{told}");
    // A colon left out means the same place, not its neighbour.
    refused(&run(&job, &["tally", "lay-1", "--failed", "pad2"]), 1, &["E86", "it has: pad:2"]);
    good(run(&job, &["tally", "lay-1", "--failed", "pad:2"]));
    assert!(order(&job).contains("net       1 piece"), "{}", order(&job));
    let partly = good(run(&job, &["lay", "--effort", "quick"]));
    assert!(partly.err.contains("W99") && partly.err.contains("3 of 4 pieces"), "{}", partly.err);
    good(run(&job, &["stock", "undo"]));
    good(run(&job, &["tally", "lay-1", "--all-good"]));
    let again = good(run(&job, &["lay", "--effort", "quick", "--seed", "2"]));
    super::tells(&again, "W99");
    assert!(again.err.contains("4 of 4 pieces are booked"), "{}", again.err);
}

#[test]
fn two_jobs_share_a_record() {
    let room = bench();
    let (one, two) = (job(room.path(), "one"), job(room.path(), "two"));
    for job in [&one, &two] {
        edit(
            &job.join("job.toml"),
            "title = \"trial\"",
            "title = \"trial\"\nstock = \"../stock.toml\"",
        );
    }
    // The very same lay in both.
    for job in [&one, &two] {
        lay(job, "1");
    }
    good(run(&one, &["cut"]));
    refused(&run(&two, &["cut"]), 1, &["E84", "lay-1 of one"]);
    let again = lay(&two, "1");
    assert!(again.out.starts_with("lay-2 "), "{}", again.out);
    good(run(&two, &["cut"]));
    let text = fs::read_to_string(room.path().join("stock.toml")).unwrap();
    assert!(text.contains("job = \"one\"") && text.contains("job = \"two\""), "{text}");
    good(run(&two, &["tally", "lay-2", "--all-good"]));
    refused(&run(&two, &["tally", "lay-1", "--all-good"]), 1, &["E87", "lay-1 of one"]);
    good(run(&one, &["tally", "lay-1", "--withdrawn"]));
}

/// Runs the program through a shell that has been told something first.
#[cfg(unix)]
fn within(job: &Path, first: &str, words: &str) -> Ran {
    let line = format!("{first} exec \"$0\" {words}");
    let output = Command::new("sh")
        .args(["-c", &line, env!("CARGO_BIN_EXE_pouchwork")])
        .env("HOME", job)
        .env("XDG_CONFIG_HOME", job.join("no-config"))
        .current_dir(job)
        .output()
        .unwrap();
    Ran {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        err: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}

#[cfg(unix)]
#[test]
fn a_limit_of_file_size_leaves_the_record_whole() {
    let room = bench();
    let job = job(room.path(), "trial");
    lay(&job, "1");
    good(run(&job, &["cut"]));
    let (kept, log) = (record(&job), fs::read(job.join("out/stock.log")).unwrap());
    // The record fits into a block of 512 bytes no more; the signal is put aside, so that the write itself fails.
    let told = within(&job, "trap '' XFSZ; ulimit -f 1;", "tally lay-1 --all-good");
    refused(&told, 6, &["E71"]);
    assert_eq!((record(&job), fs::read(job.join("out/stock.log")).unwrap()), (kept, log));
    good(run(&job, &["tally", "lay-1", "--all-good"]));
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_is_told() {
    use std::os::unix::fs::PermissionsExt;
    let room = bench();
    let job = job(room.path(), "trial");
    lay(&job, "1");
    good(run(&job, &["cut"]));
    let kept = record(&job);
    let may =
        |mode| fs::set_permissions(job.join("out"), fs::Permissions::from_mode(mode)).unwrap();
    fs::set_permissions(room.path(), fs::Permissions::from_mode(0o755)).unwrap();
    may(0o555);
    let told = if fs::write(job.join("out/probe"), "").is_ok() {
        // The superuser may write everywhere: somebody else tries, where there is a way to be him.
        let _ = fs::remove_file(job.join("out/probe"));
        let ran = Command::new("setpriv")
            .args([
                "--reuid=65534",
                "--regid=65534",
                "--clear-groups",
                env!("CARGO_BIN_EXE_pouchwork"),
                "tally",
                "lay-1",
                "--all-good",
            ])
            .env("HOME", &job)
            .env("XDG_CONFIG_HOME", job.join("no-config"))
            .current_dir(&job)
            .output();
        match ran {
            Ok(ran) if ran.status.code().is_some_and(|c| c < 100) => {
                Some((ran.status.code(), String::from_utf8_lossy(&ran.stderr).into_owned()))
            }
            _ => None,
        }
    } else {
        let ran = run(&job, &["tally", "lay-1", "--all-good"]);
        Some((Some(ran.code), ran.err))
    };
    may(0o755);
    if let Some((code, err)) = told {
        assert!(code == Some(6) && err.contains("E71"), "{err}");
    }
    assert_eq!(record(&job), kept);
}

fn start(job: &Path, words: &[&str]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_pouchwork"))
        .args(words)
        .env("HOME", job)
        .env("XDG_CONFIG_HOME", job.join("no-config"))
        .current_dir(job)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Commands are killed at random moments: the record can always be read, nothing booked is lost, every claim has its
/// files or counts as used, and the log goes on.
#[test]
fn killed_at_any_moment_the_record_is_whole() {
    let room = bench();
    let job = job(room.path(), "trial");
    lay(&job, "1");
    let mut chance = 0x9e37_79b9_7f4a_7c15_u64;
    let mut next = |most: u64| {
        chance ^= chance << 13;
        chance ^= chance >> 7;
        chance ^= chance << 17;
        chance % most
    };
    let (mut added, mut booked) = (0, 0);
    for n in 0..trials(1000) {
        let id = format!("F{n}");
        let words: Vec<&str> = match n % 4 {
            0 => vec!["cut", "lay-1"],
            1 => vec!["tally", "lay-1", "--withdrawn"],
            2 => vec!["stock", "undo"],
            _ => new_leaf(&id).to_vec(),
        };
        let before = fs::read_to_string(job.join("out/stock.toml")).unwrap_or_default();
        let mut child = start(&job, &words);
        std::thread::sleep(Duration::from_micros(next(150_000)));
        let _ = child.kill();
        let ended = child.wait().unwrap();
        let after = fs::read_to_string(job.join("out/stock.toml")).unwrap_or_default();
        if ended.success() && n % 4 == 3 {
            assert!(after.contains(&format!("id = \"{id}\"")), "{id} was told booked");
            added += 1;
        }
        booked += usize::from(before != after);
        let listed = run(&job, &["stock", "list"]);
        assert_eq!(listed.code, 0, "{}\n{after}", listed.err);
    }
    // Whoever writes next puts the log in order.
    good(run(
        &job,
        &[
            "stock",
            "add",
            "--leaf",
            "last",
            "--material",
            "wool-felt",
            "--width",
            "20 mm",
            "--length",
            "30 mm",
        ],
    ));
    let log = fs::read_to_string(job.join("out/stock.log")).unwrap();
    let lines: Vec<serde_json::Value> =
        log.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    for two in lines.windows(2) {
        assert_eq!(two[0]["after"], two[1]["before"], "a booking that the log does not know");
    }
    let litter = fs::read_dir(job.join("out")).unwrap().flatten();
    assert_eq!(
        litter.filter(|e| e.file_name().to_string_lossy().starts_with(".pouchwork")).count(),
        0
    );
    assert!(added + booked > 0 || trials(1000) < 20, "nothing was ever booked");
}

/// Many at once: every booking that was told done is there, and the others say that the record is in use.
#[test]
fn many_processes_book_and_none_is_lost() {
    let room = bench();
    let job = job(room.path(), "trial");
    let each = trials(50);
    let book = |who: usize| -> Vec<(String, Ran)> {
        (0..each)
            .map(|n| {
                let id = format!("F{who}-{n}");
                let ran = run(&job, &[&new_leaf(&id)[..], &["--wait", "60s"]].concat());
                (id, ran)
            })
            .collect()
    };
    let told: Vec<(String, Ran)> = std::thread::scope(|scope| {
        let all: Vec<_> = (0..16)
            .map(|who| {
                let book = &book;
                scope.spawn(move || book(who))
            })
            .collect();
        all.into_iter().flat_map(|one| one.join().unwrap()).collect()
    });
    let text = record(&job);
    let mut done = 0;
    for (id, ran) in &told {
        let there = text.contains(&format!("id = \"{id}\""));
        if ran.code == 0 {
            assert!(there, "{id} is lost");
        } else {
            refused(ran, 8, &["E62", "in use by"]);
            assert!(!there, "{id} was refused and is there");
        }
        done += usize::from(there);
    }
    assert!(done > 0);
    let log = fs::read_to_string(job.join("out/stock.log")).unwrap();
    assert_eq!(log.lines().count(), done);
}
