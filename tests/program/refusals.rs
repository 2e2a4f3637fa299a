//! What is refused, with its words and exit code, and that nothing is left half-written.

use super::{answered, bench, cut_example, edit, files, run, tells, thistlewick};
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
fn a_line_that_lacks_a_word_is_told_whole() {
    let bench = bench();
    let job = thistlewick(bench.path());
    for (typed, whole) in [
        (&["why", "pouch", "7"][..], "pouchwork why pouch:7"),
        (&["tally", "--failed", "pouch:12"], "pouchwork tally lay-1 --failed pouch:12"),
        (&["coupon", "kerf"], "pouchwork coupon kerf --material pouch-kid --machine knife"),
        (
            &["coupon", "gap", "--material", "valve-felt"],
            "pouchwork coupon gap --material valve-felt --machine knife",
        ),
        (&["safety", "lay-1"], "pouchwork safety lay-1 --machine laser"),
    ] {
        let ran = run(&job, typed);
        assert_eq!(ran.code, 2, "{typed:?}");
        assert!(ran.err.ends_with(&format!("type: {whole}\n")), "{typed:?}: {}", ran.err);
    }
    // Where no job can be read there is an example.
    let ran = run(bench.path(), &["coupon", "kerf"]);
    assert!(ran.err.contains("--material pouch-leather --machine knife"), "{}", ran.err);
    let ran = run(&job, &["why", "pouch", "seven"]);
    assert!(!ran.err.contains("type:"), "{}", ran.err);
}

#[test]
fn a_plain_word_of_the_trade_finds_its_key() {
    let bench = bench();
    let job = thistlewick(bench.path());
    edit(
        &job.join("job.toml"),
        "kind      = \"facing\"",
        "kind      = \"facing\"\ncentre-hole = \"1/8 in\"",
    );
    let ran = run(&job, &["check"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("did you mean `stem`?"), "{}", ran.err);
    assert!(ran.err.contains("`pouchwork kind facing` shows every key"), "{}", ran.err);
}

#[test]
fn a_sum_says_where_the_first_hole_of_a_row_is() {
    let bench = bench();
    let job = thistlewick(bench.path());
    // As typed: first = ["7/8 in", "1 in"], the screw hole at ["14 3/8 in", "1 5/8 in"]; 25.4 mm an inch (NIST SP 811).
    let why = run(&job, &["why", "chest-gasket"]);
    for (label, mm) in [
        ("first of row 1, from the left end", "22.225 mm"),
        ("first of row 2, from the left end", "22.225 mm"),
        ("and from the lower edge", "9.525 mm"),
        ("its middle, from the left end", "365.125 mm"),
        ("and from the lower edge", "41.275 mm"),
    ] {
        let line = why.out.lines().find(|line| line.contains(label) && line.ends_with(mm));
        assert!(line.is_some(), "{label} {mm}: {}", why.out);
    }
    let told = run(&job, &["check"]);
    assert!(told.out.contains("54 + 5 spare, 2 facings each;"), "{}", told.out);
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
    let all = ["pvc", "polychloroprene", "neoprene", "fluorinated", "brominated", "unknown"];
    for coating in all {
        let bench = bench();
        let job = thistlewick(bench.path());
        let profile = job.join("materials/rubber-twill.toml");
        edit(&profile, "\"natural rubber\"", &format!("\"{coating}\""));
        // Laying tells it, and writes no cut file.
        let laid = run(&job, &["lay", "--effort", "quick"]);
        assert_eq!(laid.code, 4, "{coating}: {}{}", laid.out, laid.err);
        for words in [vec!["cut"], vec!["cut", "--format", "svg"], vec!["cut", "--dxf", "r12"]] {
            let ran = run(&job, &words);
            assert_eq!(ran.code, 4, "{coating}: {}{}", ran.out, ran.err);
            assert!(ran.err.contains("error[E44]"), "{}", ran.err);
        }
        let left = names(&job);
        assert!(left.contains(&"lay-1/lay.json".to_owned()), "{left:?}");
        assert!(!left.iter().any(|n| n.ends_with(".dxf") || n.ends_with("-laser.svg")), "{left:?}");
    }
}

#[test]
fn what_an_earlier_cut_left_is_named_when_its_material_is_held_back() {
    let bench = bench();
    let job = thistlewick(bench.path());
    assert_eq!(cut_example(&job).code, 0);
    edit(&job.join("materials/rubber-twill.toml"), "\"natural rubber\"", "\"pvc\"");
    let ran = run(&job, &["cut", "lay-1"]);
    assert_eq!(ran.code, 4, "{}", ran.err);
    tells(&ran, "W32");
    assert!(ran.err.contains("C-1-laser.dxf") && ran.err.contains("W32"), "{}", ran.err);
}

#[test]
fn a_silent_coating_or_no_extraction_holds_the_laser_back() {
    for (file, from, to) in [
        ("materials/gasket-calf.toml", "coating   = \"none\"\n", ""),
        ("materials/gasket-calf.toml", "\"vegetable\"", "\"chrome\""),
        ("materials/gasket-calf.toml", "coating   = ", "salvaged = true\ncoating   = "),
        ("materials/rubber-twill.toml", "data-sheet = ", "# data-sheet = "),
        ("machines/bench-laser.toml", "\"outdoors\"", "\"none\""),
    ] {
        let bench = bench();
        let job = thistlewick(bench.path());
        edit(&job.join(file), from, to);
        let ran = run(&job, &["cut"]);
        assert_eq!(ran.code, 4, "{file}: {to}: {}{}", ran.out, ran.err);
        assert!(!names(&job).iter().any(|n| n.ends_with(".dxf")), "{file}: {to}");
    }
}

/// Paths of all files below `out`.
fn names(job: &std::path::Path) -> Vec<String> {
    if job.join("out").exists() {
        files(&job.join("out")).into_iter().map(|(name, _)| name).collect()
    } else {
        Vec::new()
    }
}

#[test]
fn chrome_for_the_knife_says_so_in_the_file() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let ran = cut_example(&job);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let all = files(&job.join("out/lay-1"));
    for (name, bytes) in all
        .iter()
        .filter(|(n, _)| n.contains("H-1-") && !n.contains("picture") && !n.ends_with(".png"))
    {
        let text = String::from_utf8_lossy(bytes);
        assert!(text.contains("NOT FOR LASER: chrome tanned"), "{name}");
    }
    let laser =
        all.iter().find(|(n, _)| n.starts_with("H-2-") && n.ends_with("-laser.svg")).unwrap();
    assert!(!String::from_utf8_lossy(&laser.1).contains("NOT FOR LASER"));
    assert!(ran.out.contains("at least 30 minutes"), "cautions are printed: {}", ran.out);
    assert!(ran.out.contains("cut one piece on scrap and measure it"), "{}", ran.out);
}

#[test]
fn a_bed_too_small_is_refused_whole() {
    let bench = bench();
    let job = thistlewick(bench.path());
    edit(&job.join("machines/bench-laser.toml"), "\"1500 mm\"", "\"600 mm\"");
    edit(&job.join("machines/bench-laser.toml"), "\"1000 mm\"", "\"300 mm\"");
    let ran = run(&job, &["cut"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("error[E33]"), "{}", ran.err);
    assert!(ran.err.contains("chest-gasket"), "{}", ran.err);
    assert!(ran.err.contains("the bed of bench-laser"), "{}", ran.err);
    assert!(!job.join("out").exists(), "nothing is half-written");
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
    tells(&ran, "E52");
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
    assert_eq!(answered(&job).code, 0);
    let cut = run(&job, &["cut", "lay-1"]);
    assert_eq!(cut.code, 3, "an incomplete set is told: {}", cut.out);
    tells(&cut, "W31");
    assert!(cut.err.contains("W31"), "{}", cut.err);
    // A lay made by `cut` itself names the pieces too.
    fs::remove_dir_all(job.join("out")).unwrap();
    let cut = run(&job, &["cut", "--machine", "knife"]);
    assert_eq!(cut.code, 3, "{}", cut.out);
    assert!(cut.err.contains("E31") && cut.err.contains("washer"), "{}", cut.err);
}

#[test]
fn a_folder_that_cannot_be_written_is_told_once() {
    let bench = bench();
    let job = thistlewick(bench.path());
    fs::write(job.join("out"), "a file where the folder should be").unwrap();
    for command in ["draw", "lay", "cut"] {
        let ran = run(&job, &[command]);
        assert_eq!(ran.code, 6, "{command}: {}{}", ran.out, ran.err);
        assert_eq!(ran.err.matches("E71").count(), 1, "{command}: {}", ran.err);
    }
}

#[test]
fn a_spare_that_is_not_there_is_not_explained() {
    let bench = bench();
    let job = thistlewick(bench.path());
    assert_eq!(run(&job, &["why", "pouch:3+1"]).code, 0);
    for piece in ["pouch:3+99", "pouch:4+1", "pouch:3+x", "facing:7/middle"] {
        assert_eq!(run(&job, &["why", piece]).code, 1, "{piece}");
    }
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
