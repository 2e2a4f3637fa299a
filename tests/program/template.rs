//! Paper templates: the same bytes each time, what is refused, what the answer holds.

use super::{bench, edit, run, tells, thistlewick};
use std::fs;

#[test]
fn the_same_bytes_twice_and_a_next_step() {
    let room = bench();
    let job = thistlewick(room.path());
    let ran = run(&job, &["template", "--labels"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.err.contains("next: print ") || ran.out.contains("next: print "), "{}", ran.err);
    let path = job.join("out/template/all.pdf");
    let first = fs::read(&path).unwrap();
    assert!(first.starts_with(b"%PDF-"));
    assert_eq!(run(&job, &["template", "--labels"]).code, 0);
    assert!(first == fs::read(&path).unwrap(), "the bytes differ");
    // Paper and correction change them.
    for more in [["--paper", "letter"], ["--rule-x", "99.4 mm"]] {
        let other = room.path().join("other.pdf");
        let words = ["template", "--labels", "--out", other.to_str().unwrap()];
        assert_eq!(run(&job, &[&words[..], &more[..]].concat()).code, 0);
        assert!(first != fs::read(&other).unwrap());
    }
}

#[test]
fn equal_pieces_are_drawn_once_or_each() {
    let room = bench();
    let job = thistlewick(room.path());
    let count = |words: &[&str]| {
        let ran = run(&job, &[&["template", "pouch", "--json"], words].concat());
        assert_eq!(ran.code, 0, "{}", ran.out);
        let told: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let drawings = told["drawings"].as_array().unwrap().clone();
        let notes: String = drawings.iter().map(|d| d["notes"][0].to_string()).collect();
        (drawings.len(), notes)
    };
    let (sizes, notes) = count(&[]);
    let (each, _) = count(&["--each"]);
    assert!(notes.contains(" of these"), "{notes}");
    assert!(sizes < 10 && each >= 54, "{sizes} sizes, {each} pieces");
    let ran = run(&job, &["template", "pouch:31", "--json"]);
    assert!(
        ran.out.contains("\"name\": \"pouch:31\"") || ran.out.contains("\"name\":\"pouch:31\""),
        "{}",
        ran.out
    );
    assert!(job.join("out/template/pouch-31.pdf").is_file());
}

#[test]
fn a_sheet_of_a_lay_is_drawn_in_tiles() {
    let room = bench();
    let job = thistlewick(room.path());
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let ran = run(&job, &["template", "--lay", "lay-1", "--sheet", "H-1"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(job.join("out/template/lay-1-H-1.pdf").is_file());
    let ran = run(&job, &["template", "--lay", "lay-1", "--sheet", "H-9"]);
    assert_eq!(ran.code, 1);
    tells(&ran, "E114");
    assert!(ran.err.contains("error[E114]: nothing lies on a sheet H-9 in lay-1"), "{}", ran.err);
    assert!(ran.err.contains("did you mean H-1?"), "{}", ran.err);
    assert_eq!(run(&job, &["template", "--lay", "lay-7"]).code, 1);
    // A lay of other files than those here is not drawn.
    edit(&job.join("pouches.csv"), "\n", "\n\n");
    let ran = run(&job, &["template", "--lay", "lay-1"]);
    tells(&ran, "E51");
    assert!(ran.code == 1 && ran.err.contains("E51"), "{}", ran.err);
}

#[test]
fn wrong_wishes_are_refused_with_what_to_do() {
    let room = bench();
    let job = thistlewick(room.path());
    for (words, code, told) in [
        (vec!["poutch"], 1, "error[E110]: no part is called \"poutch\""),
        (vec!["pouch:77"], 1, "error[E110]: there is no piece pouch:77"),
        (
            vec!["--rule-x", "94.9 mm"],
            1,
            "error[E112]: --rule-x: a rule of 100 mm can't measure 94.9 mm",
        ),
        (vec!["--rule-y", "4.2 in"], 1, "print it again at 100 %"),
        (vec!["--rule-y", "99.4"], 1, "error[E113]: --rule-y: "),
        (vec!["--paper", "a5"], 2, "a4"),
        (vec!["--sheet", "H-1"], 2, "--lay"),
        (vec!["--lay", "lay-1", "pouch"], 2, "cannot be used with"),
        (vec!["--rule-x", "95.2 mm"], 0, "warning[W92]: the rules differ by 4.80 mm"),
    ] {
        let ran = run(&job, &[&["template"], &words[..]].concat());
        assert_eq!(ran.code, code, "{words:?}: {}", ran.err);
        assert!(ran.err.contains(told), "{words:?}: {}", ran.err);
    }
    // What is no PDF is not written over.
    let ran = run(&job, &["template", "--out", "job.toml"]);
    assert_eq!(ran.code, 6, "{}", ran.err);
    tells(&ran, "E72");
    assert!(ran.err.contains("error[E72]") && fs::read_to_string(job.join("job.toml")).is_ok());
}

#[test]
fn a_material_that_a_laser_must_not_have_says_so() {
    let room = bench();
    let job = thistlewick(room.path());
    let ran = run(&job, &["template", "pouch", "--json"]);
    assert!(ran.out.contains("NOT FOR LASER: chrome tanned"), "{}", ran.out);
}

#[test]
fn a_coupon_is_not_for_the_scissors() {
    let room = bench();
    let job = thistlewick(room.path());
    let laid = run(&job, &["coupon", "kerf", "--material", "pouch-kid", "--machine", "knife"]);
    assert_eq!(laid.code, 0, "{}", laid.err);
    let ran = run(&job, &["template", "--lay", "coupon-1"]);
    assert_eq!(ran.code, 1);
    tells(&ran, "E111");
    assert!(ran.err.contains("error[E111]: coupon-1 is for a machine to cut"), "{}", ran.err);
}
