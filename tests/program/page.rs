//! `page`: the job sheet of a lay, and why there is none.

use super::{answered, bench, edit, files, run, tells, thistlewick};
use std::fs;

#[test]
fn the_job_sheet_is_one_file_with_all_of_a_lay() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let none = run(&job, &["page"]);
    assert_eq!(none.code, 1, "{}", none.out);
    tells(&none, "E81");
    assert_eq!(
        none.err.trim_end(),
        "error[E81]: there is no lay yet, so there is nothing to show\n |\n = help: make one with: pouchwork lay"
    );
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}{}", laid.out, laid.err);
    let before = files(&job.join("out"));
    let made = run(&job, &["page"]);
    assert_eq!(made.code, 0, "{}{}", made.out, made.err);
    let command = "not answered yet: pouchwork safety lay-1 --machine laser";
    assert!(made.out.contains(command), "{}", made.out);
    let after = files(&job.join("out"));
    let fresh: Vec<&String> =
        after.iter().filter(|file| !before.contains(file)).map(|(name, _)| name).collect();
    assert_eq!(fresh, ["lay-1/job-sheet.html"]);
    let path = job.join("out/lay-1/job-sheet.html");
    let open = fs::read_to_string(&path).unwrap();
    for word in [
        "<!DOCTYPE html>",
        "default-src &#39;none&#39;",
        "Not answered.",
        "Only assumed",
        "id=\"pouch:31\"",
        // A disk has a diameter, in both units since the job is written in inches: 25.4 mm are 1 in (NIST SP 811).
        "diameter 39.10 mm (1.539 in)",
        "730.25 x 50.80 mm (28.750 x 2.000 in)",
        "middle at x ",
    ] {
        assert!(open.contains(word), "{word}");
    }
    for word in ["http:", "https:", "<img", "src=", " onclick", " style="] {
        assert!(!open.contains(word), "{word}");
    }
    // Every figure that `why` tells stands in the sum of the page too.
    let why = run(&job, &["why", "pouch:31"]);
    let figures: Vec<&str> =
        why.out.lines().skip(1).flat_map(|line| line.split("  ")).map(str::trim).collect();
    assert!(figures.len() > 20, "{}", why.out);
    for figure in figures.into_iter().filter(|figure| figure.len() > 1) {
        let told = figure.trim_start_matches("· ").replace('"', "&quot;").replace('\'', "&#39;");
        assert!(open.contains(&told), "{told}");
    }
    let told = run(&job, &["page", "--json", "lay-1"]);
    assert!(
        told.out.contains("\"pieces\": 411") && told.out.contains("pouchwork/page/1"),
        "{}",
        told.out
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), open, "the same bytes");

    assert_eq!(answered(&job).code, 0);
    let shut = run(&job, &["page"]);
    assert!(!shut.out.contains(command), "{}", shut.out);
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains("Answered.") && text.contains("By Ada Example on "));
    let cut = run(&job, &["cut"]);
    assert!(
        cut.out.contains("next: pouchwork page lay-1")
            || cut.err.contains("next: pouchwork page lay-1"),
        "{}",
        cut.out
    );
}

#[test]
fn there_is_no_job_sheet_of_what_does_not_hold() {
    let bench = bench();
    let job = thistlewick(bench.path());
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let path = job.join("out/lay-1/job-sheet.html");
    let other = run(&job, &["page", "lay-7"]);
    assert_eq!(other.code, 1);
    assert_eq!(
        other.err.trim_end(),
        "error[E81]: there is no lay called lay-7\n |\n = help: there is lay-1"
    );
    edit(&job.join("materials/rubber-twill.toml"), "\"natural rubber\"", "\"pvc\"");
    let stopped = run(&job, &["page"]);
    assert_eq!(stopped.code, 4, "{}", stopped.err);
    assert!(stopped.err.contains("error[E44]"), "{}", stopped.err);
    edit(&job.join("materials/rubber-twill.toml"), "\"pvc\"", "\"natural rubber\"");
    edit(&job.join("pouches.csv"), "\n", " \n");
    let stale = run(&job, &["page"]);
    assert_eq!(stale.code, 1, "{}", stale.err);
    let wanted = "error[E51]: lay-1 was laid from other files: pouches.csv has changed";
    assert!(stale.err.contains(wanted), "{}", stale.err);
    assert!(!path.exists());
}
