//! What is refused, with its words and exit code, and that nothing is left half-written.

use super::{bench, edit, files, run, thistlewick};
use std::fs;

#[test]
fn no_job_no_work() {
    let bench = bench();
    let ran = run(bench.path(), &["check"]);
    assert_eq!(ran.code, 1);
    assert_eq!(
        ran.err,
        "error[E01]: no job.toml here or in the folders above\n |\n = help: start one with: pouchwork new NAME, or give its path with -C\n"
    );
}

#[test]
fn wrong_words_are_told_as_words() {
    let bench = bench();
    assert_eq!(run(bench.path(), &["chekc"]).code, 2);
    assert_eq!(run(bench.path(), &[]).code, 2);
    let job = thistlewick(bench.path());
    let ran = run(&job, &["why", "poutch:3"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("did you mean pouch?"), "{}", ran.err);
    let ran = run(&job, &["why", "pouch:77"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("pouch has the places 1-54"), "{}", ran.err);
    let ran = run(&job, &["lay", "--effort", "much"]);
    assert_eq!(ran.code, 2);
    let ran = run(&job, &["cut", "lay-9"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("lay-9"), "{}", ran.err);
}

#[test]
fn a_new_folder_never_overwrites() {
    let bench = bench();
    fs::create_dir(bench.path().join("here")).unwrap();
    let ran = run(bench.path(), &["new", "here"]);
    assert_eq!(ran.code, 6);
    assert!(ran.err.contains("here is there already"), "{}", ran.err);
}

#[test]
fn forbidden_material_gets_no_file_for_a_laser() {
    for coating in ["pvc", "polychloroprene", "fluorinated", "brominated", "unknown"] {
        let bench = bench();
        let job = thistlewick(bench.path());
        edit(
            &job.join("materials/rubber-twill.toml"),
            "\"natural rubber\"",
            &format!("\"{coating}\""),
        );
        let ran = run(&job, &["cut"]);
        assert_eq!(ran.code, 4, "{coating}: {}{}", ran.out, ran.err);
        let left: Vec<String> = if job.join("out").exists() {
            files(&job.join("out")).into_iter().map(|(n, _)| n).collect()
        } else {
            Vec::new()
        };
        assert!(
            !left.iter().any(|n| n.contains("C-1-") && !n.contains("picture")),
            "{coating}: {left:?}"
        );
        assert!(!left.iter().any(|n| n.ends_with(".dxf")), "{coating}: {left:?}");
    }
}

#[test]
fn chrome_for_the_knife_says_so_in_the_file() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let ran = run(&job, &["cut"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let all = files(&job.join("out/lay-1"));
    for (name, bytes) in all.iter().filter(|(n, _)| n.contains("H-1-") && !n.contains("picture")) {
        let text = String::from_utf8_lossy(bytes);
        assert!(text.contains("NOT FOR LASER: chrome tanned"), "{name}");
    }
    let laser = all
        .iter()
        .find(|(n, _)| n.starts_with("H-2-") && n.ends_with(".svg") && !n.contains("picture"))
        .unwrap();
    assert!(!String::from_utf8_lossy(&laser.1).contains("NOT FOR LASER"));
    assert!(ran.out.contains("at least 30 minutes"), "cautions are printed: {}", ran.out);
    assert!(ran.out.contains("cut one piece on scrap and measure it"), "{}", ran.out);
}

#[test]
fn a_bed_too_small_is_refused_whole() {
    let bench = bench();
    let job = thistlewick(bench.path());
    edit(&job.join("machines/bench-laser.toml"), "\"1500 mm\"", "\"600 mm\"");
    let ran = run(&job, &["cut"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("error[E33]"), "{}", ran.err);
    assert!(ran.err.contains("leaves the bed of bench-laser"), "{}", ran.err);
    assert!(
        !files(&job.join("out")).iter().any(|(n, _)| n.ends_with(".dxf")),
        "nothing is half-written"
    );
}

#[test]
fn an_edited_lay_is_refused() {
    let bench = bench();
    let job = thistlewick(bench.path());
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let path = job.join("out/lay-1/lay.json");
    let text = fs::read_to_string(&path).unwrap();
    let mut value: serde_json::Value = serde_json::from_str(&text).unwrap();
    // The first piece on top of the second.
    value["pieces"][0]["x"] = value["pieces"][1]["x"].clone();
    value["pieces"][0]["y"] = value["pieces"][1]["y"].clone();
    fs::write(&path, value.to_string()).unwrap();
    let ran = run(&job, &["cut", "lay-1"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(ran.err.contains("E52"), "{}", ran.err);
    fs::write(&path, &text[..text.len() / 2]).unwrap();
    let ran = run(&job, &["cut", "lay-1"]);
    assert_eq!(ran.code, 1);
    assert!(!files(&job.join("out")).iter().any(|(n, _)| n.ends_with(".dxf")));
}

#[test]
fn a_job_changed_since_the_lay_is_refused() {
    let bench = bench();
    let job = thistlewick(bench.path());
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    edit(&job.join("pouches.csv"), "5/64 in", "3/32 in");
    let ran = run(&job, &["cut"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(ran.err.contains("E51") && ran.err.contains("pouches.csv"), "{}", ran.err);
}

#[test]
fn pieces_without_a_place_are_named() {
    let bench = bench();
    let job = thistlewick(bench.path());
    edit(
        &job.join("job.toml"),
        "width    = \"8 in\"\nlength   = \"12 in\"",
        "width    = \"3 in\"\nlength   = \"4 in\"",
    );
    let ran = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(ran.code, 3, "{}{}", ran.out, ran.err);
    assert!(ran.err.contains("E31") && ran.err.contains("washer"), "{}", ran.err);
    assert!(ran.err.contains("largest free"), "{}", ran.err);
}

#[test]
fn every_fault_is_told_in_one_run_with_its_line() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let path = job.join("job.toml");
    edit(&path, "kind      = \"facing\"", "kind      = \"facings\"");
    edit(&path, "well      = \"1 1/8 in\"", "wel       = \"1 1/8 in\"");
    edit(&path, "outside   = \"1/2 in\"", "outside   = \"1,2 in\"");
    edit(&job.join("strikers.csv"), "24 mm", "8-Mar");
    let ran = run(&job, &["check"]);
    assert_eq!(ran.code, 1);
    for word in ["facings", "`wel`", "did you mean", "comma", "8-Mar", "strikers.csv:7:"] {
        assert!(ran.err.contains(word), "{word}: {}", ran.err);
    }
}
