//! The first cut: a coupon laid, cut, measured, and its kerf in the material's profile.

use super::{Ran, bench, edit, files, run, tells, thistlewick};
use std::fs;
use std::path::{Path, PathBuf};

const TABLE: &str = "out/coupon-1/readings.csv";

/// A new job with a coupon of its cloth.
fn with_coupon(room: &Path) -> PathBuf {
    assert_eq!(run(room, &["new", "chapel"]).code, 0);
    let job = room.join("chapel");
    let made = coupon(&job);
    assert_eq!(made.code, 0, "{}{}", made.out, made.err);
    assert!(made.out.contains("next: pouchwork cut coupon-1"), "{}", made.out);
    job
}

fn coupon(job: &Path) -> Ran {
    run(job, &["coupon", "kerf", "--material", "hinge-cloth", "--machine", "knife"])
}

/// Writes what a cut of this width would measure into the table, from its own columns of what was drawn.
fn measure(job: &Path, kx: f64, ky: f64) {
    let path = job.join(TABLE);
    let text = fs::read_to_string(&path).unwrap();
    let mut rows = Vec::new();
    for line in text.lines() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if line.starts_with('#') || cells[0] == "number" {
            rows.push(line.to_owned());
            continue;
        }
        // The definition of kerf: a piece lacks one each way, ten pieces lack ten, a hole has one too much.
        let grows = match &*cells[1] {
            "outside" => -1.0,
            "strips" => -10.0,
            _ => 1.0,
        };
        for (at, kerf) in [(2, kx), (3, ky)] {
            if !cells[at].is_empty() {
                let drawn: f64 = cells[at].parse().unwrap();
                cells[at + 2] = format!("{:.2}", drawn + grows * kerf);
            }
        }
        rows.push(cells.join(","));
    }
    fs::write(path, rows.join("\n") + "\n").unwrap();
}

#[test]
fn from_a_new_job_to_a_measured_kerf() {
    let room = bench();
    let job = with_coupon(room.path());
    let names: Vec<String> =
        files(&job.join("out/coupon-1")).into_iter().map(|(name, _)| name).collect();
    for name in ["lay.json", "C1-picture.png", "numbers.png", "numbers.svg", "readings.csv"] {
        assert!(names.contains(&name.to_owned()), "{name} in {names:?}");
    }
    let cut = run(&job, &["cut", "coupon-1"]);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    assert!(cut.out.contains("30 pieces on C1"), "{}", cut.out);
    let proven = run(&job, &["prove", "out/coupon-1/C1-knife.dxf"]);
    assert_eq!(proven.code, 0, "{}{}", proven.out, proven.err);
    // The line of the cut is the drawn line: no figure of the file stands off it.
    assert!(proven.out.contains("30 pieces, worst size 0.0000 mm off"), "{}", proven.out);
    measure(&job, 0.15, 0.15);
    let table = fs::read(job.join(TABLE)).unwrap();
    assert_eq!(coupon(&job).code, 0);
    assert_eq!(fs::read(job.join(TABLE)).unwrap(), table, "a filled table is left alone");
    let profile = job.join("materials/hinge-cloth.toml");
    let before = fs::read_to_string(&profile).unwrap();
    let told = run(&job, &["coupon", "read", TABLE]);
    assert_eq!(told.code, 0, "{}{}", told.out, told.err);
    assert!(told.out.contains("kerf-x 0.150 mm") && told.out.contains("--yes"), "{}", told.out);
    assert!(told.out.contains("was kerf = \"0 mm\", source = \"assumed\""), "{}", told.out);
    assert_eq!(fs::read_to_string(&profile).unwrap(), before, "nothing is written unasked");
    let told = run(&job, &["coupon", "read", TABLE, "--yes"]);
    assert_eq!(told.code, 0, "{}{}", told.out, told.err);
    let after = fs::read_to_string(&profile).unwrap();
    assert_eq!(before.lines().zip(after.lines()).filter(|(a, b)| a != b).count(), 2);
    assert!(after.contains("\"0.15 mm\"") && after.contains("source = \"coupon 20"), "{after}");
    let checked = run(&job, &["check"]);
    assert_eq!(checked.code, 0, "{}{}", checked.out, checked.err);
    assert!(!checked.out.contains("edge of hinge-cloth"), "{}", checked.out);
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let cut = run(&job, &["cut"]);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    let strip = fs::read_to_string(job.join("out/lay-1/C1-knife.svg")).unwrap();
    assert!(!strip.contains("KERF ASSUMED"));
    // The coupon is of the profile as it was; the next one is another.
    let stale = run(&job, &["cut", "coupon-1"]);
    assert!(stale.code == 1 && stale.err.contains("run pouchwork coupon again"), "{}", stale.err);
    // The second was laid clear of the first, whose ground is claimed.
    assert!(coupon(&job).out.starts_with("coupon-3"));
}

#[test]
fn slips_write_nothing() {
    let room = bench();
    let job = with_coupon(room.path());
    let untouched = files(&job.join("materials"));
    let refused = |code: &str, words: &str| {
        let told = run(&job, &["coupon", "read", TABLE, "--yes"]);
        assert_eq!(told.code, 1, "{}{}", told.out, told.err);
        assert!(told.err.contains(code) && told.err.contains(words), "{}", told.err);
        assert_eq!(files(&job.join("materials")), untouched);
    };
    refused("error[E12]", "nothing has been filled in");
    measure(&job, 0.2, 0.2);
    edit(&job.join(TABLE), "measured-x (mm),measured-y (mm)", "measured-y (mm),measured-x (mm)");
    refused("error[E66]", "the columns measured-x and measured-y are changed over");
    edit(&job.join(TABLE), "measured-y (mm),measured-x (mm)", "measured-x (in),measured-y (mm)");
    refused("error[E66]", "looks like millimetres");
    measure(&job, -0.2, -0.2);
    edit(&job.join(TABLE), "measured-x (in)", "measured-x (mm)");
    refused("error[E41]", "a cut can't be narrower than nothing");
    fs::copy(job.join(TABLE), job.join("readings.csv")).unwrap();
    let lost = run(&job, &["coupon", "read", "readings.csv", "--yes"]);
    assert!(lost.code == 1 && lost.err.contains("in the folder of no coupon"), "{}", lost.err);
    let none = run(&job, &["coupon", "kerf", "--material", "hinge-cloth", "--machine", "saw"]);
    assert!(none.code == 1 && none.err.contains("E15"), "{}", none.err);
}

#[test]
fn scripts_get_one_document() {
    let room = bench();
    let job = with_coupon(room.path());
    measure(&job, 0.3, 0.1);
    let told = run(&job, &["coupon", "read", TABLE, "--yes", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&told.out).unwrap();
    assert_eq!(value["schema"], "pouchwork/coupon-read/1");
    assert!((value["x"]["kerf-mm"].as_f64().unwrap() - 0.3).abs() < 0.001, "{value}");
    assert!((value["y"]["kerf-mm"].as_f64().unwrap() - 0.1).abs() < 0.001, "{value}");
    assert_eq!((&value["written"], &value["x"]["count"]), (&true.into(), &21.into()));
    let profile = fs::read_to_string(job.join("materials/hinge-cloth.toml")).unwrap();
    assert!(profile.contains("kerf-x = \"0.3 mm\"\nkerf-y = \"0.1 mm\"\n"), "{profile}");
}

#[test]
fn a_lasers_coupon_waits_for_its_safety_list() {
    let room = bench();
    let job = thistlewick(room.path());
    let made = run(&job, &["coupon", "kerf", "--material", "gasket-calf", "--machine", "laser"]);
    assert_eq!(made.code, 0, "{}{}", made.out, made.err);
    assert!(made.out.contains("pouchwork safety coupon-1 --machine laser"), "{}", made.out);
    let held = run(&job, &["cut", "coupon-1"]);
    tells(&held, "E45");
    assert!(held.code == 7 && held.err.contains("error[E45]"), "{}", held.err);
    let answers = job.join("answers.toml");
    edit(&answers, "gasket-calf, rubber-twill", "gasket-calf");
    edit(&answers, "H-2, C-1", "H-2");
    edit(&answers, "= \"2\"", "= \"1\"");
    edit(&answers, "\"161\"", "\"30\"");
    let list = ["safety", "coupon-1", "--machine", "laser", "--answers", "answers.toml"];
    let told = run(&job, &list);
    assert_eq!(told.code, 0, "{}{}", told.out, told.err);
    let cut = run(&job, &["cut", "coupon-1"]);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    let proven = run(&job, &["prove", "out/coupon-1/H-2-laser.svg"]);
    assert_eq!(proven.code, 0, "{}{}", proven.out, proven.err);
    // A coupon is no lay of the job: without a name cut does not mean it.
    let other = run(&job, &["safety", "--machine", "laser", "--print"]);
    assert!(other.code == 1 && other.err.contains("there is no lay yet"), "{}", other.err);
    let chrome = run(&job, &["coupon", "kerf", "--material", "pouch-kid", "--machine", "laser"]);
    assert!(chrome.code == 4 && chrome.err.contains("error[E44]"), "{}", chrome.err);
}
