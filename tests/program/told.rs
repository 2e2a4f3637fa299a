//! Codes that only a whole command tells: a tiny job for each.

use super::{bench, edit, run, tells};
use std::fs;
use std::path::{Path, PathBuf};

/// A leaf of card with one square on it.
fn job(room: &Path) -> PathBuf {
    let there = room.join("job");
    fs::create_dir_all(&there).unwrap();
    let text = r#"[job]
title = "trial"
unit = "mm"

[machines]
knife = "drag-knife"

[[leaf]]
id = "K1"
material = "thin-card"
width = 210
length = 297

[[part]]
name = "plate"
kind = "strip"
count = 1
length = 33
width = 33
material = "thin-card"
cut-with = "knife"
"#;
    fs::write(there.join("job.toml"), text).unwrap();
    there
}

#[test]
fn a_full_leaf_has_no_room_for_dots() {
    let room = bench();
    let job = job(room.path());
    edit(&job.join("job.toml"), "width = 210\nlength = 297", "width = 40\nlength = 40");
    let ran = run(&job, &["lay", "--effort", "quick"]);
    tells(&ran, "W46");
    assert!(ran.code == 0 && ran.err.contains("W46"), "{}{}", ran.out, ran.err);
}

#[test]
fn a_template_of_many_pages_is_pointed_out() {
    let room = bench();
    let job = job(room.path());
    edit(
        &job.join("job.toml"),
        "count = 1\nlength = 33\nwidth = 33",
        "count = 70\nlength = 250\nwidth = 150",
    );
    let ran = run(&job, &["template", "--each"]);
    tells(&ran, "W90");
    assert!(ran.code == 0 && ran.err.contains("W90"), "{}{}", ran.out, ran.err);
}

#[test]
fn a_full_leaf_leaves_no_rest_to_be_parted() {
    let room = bench();
    let job = job(room.path());
    edit(&job.join("job.toml"), "width = 210\nlength = 297", "width = 40\nlength = 40");
    for words in [&["lay", "--effort", "quick"][..], &["cut"]] {
        let ran = run(&job, words);
        assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    }
    let ran = run(&job, &["tally", "lay-1", "--all-good", "--parted"]);
    tells(&ran, "W61");
    assert!(ran.code == 0 && ran.err.contains("W61"), "{}{}", ran.out, ran.err);
}

#[test]
fn a_bed_as_small_as_its_leaf_has_no_room_for_the_rule() {
    let room = bench();
    let job = job(room.path());
    edit(&job.join("job.toml"), "width = 210\nlength = 297", "width = 40\nlength = 40");
    let profile = run(room.path(), &["profile", "drag-knife"]).out;
    fs::create_dir_all(job.join("machines")).unwrap();
    let small = profile.replace("\"1300 mm\"", "\"62 mm\"").replace("\"1000 mm\"", "\"62 mm\"");
    assert!(small != profile);
    fs::write(job.join("machines/drag-knife.toml"), small).unwrap();
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}{}", laid.out, laid.err);
    let ran = run(&job, &["cut"]);
    tells(&ran, "E46");
    assert!(ran.code == 1 && ran.err.contains("E46"), "{}{}", ran.out, ran.err);
}

#[test]
fn small_pieces_that_lie_close_have_no_room_for_their_names() {
    let room = bench();
    let job = job(room.path());
    edit(
        &job.join("job.toml"),
        "count = 1\nlength = 33\nwidth = 33",
        "count = 200\nlength = 4\nwidth = 4",
    );
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}{}", laid.out, laid.err);
    let ran = run(&job, &["template", "--lay", "lay-1"]);
    tells(&ran, "W93");
    assert!(ran.code == 0 && ran.err.contains("W93"), "{}{}", ran.out, ran.err);
}
