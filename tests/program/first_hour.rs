//! From an empty folder to cut files.

use super::{bench, cut_example, files, run, thistlewick};

#[test]
fn a_newcomer_gets_to_a_cut_file() {
    let bench = bench();
    let made = run(bench.path(), &["new", "chapel"]);
    assert_eq!(made.code, 0, "{}", made.err);
    let job = bench.path().join("chapel");
    let checked = run(&job, &["check"]);
    assert_eq!(checked.code, 0, "{}{}", checked.out, checked.err);
    let drawn = run(&job, &["draw"]);
    assert_eq!(drawn.code, 0, "{}", drawn.err);
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}{}", laid.out, laid.err);
    let cut = run(&job, &["cut"]);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    let names: Vec<String> =
        files(&job.join("out/lay-1")).into_iter().map(|(name, _)| name).collect();
    assert!(names.contains(&"lay.json".to_owned()));
    assert!(names.iter().any(|n| n.ends_with(".dxf")), "{names:?}");
    for command in ["new", "check", "draw", "lay", "safety", "cut"] {
        assert!(run(bench.path(), &["--help"]).out.contains(command), "help names {command}");
    }
}

/// The unit of the job chooses which unit comes first; what is typed goes before it.
#[test]
fn dimensions_come_in_the_style_of_the_job_or_as_asked() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let strip = |args: &[&str]| {
        let drawn = run(&job, args);
        assert_eq!(drawn.code, 0, "{}", drawn.err);
        std::fs::read_to_string(job.join("out/draw/hinge-1.svg")).unwrap()
    };
    let usual = strip(&["draw", "hinge"]);
    assert!(usual.contains("aria-label=\"inches [mm], rubber-twill\""), "{usual}");
    assert!(usual.contains("aria-label=\"15/16 [23.81]\""));
    // Its kerf is 0.16 mm along x and 0.12 mm along y in the example's profile.
    assert!(usual.contains("half of it outside: 0.08 and 0.06"));
    assert_eq!(usual, strip(&["draw", "hinge", "--style", "inch"]));
    let metric = strip(&["draw", "hinge", "--style", "metric"]);
    assert!(metric.contains("aria-label=\"mm [inches], rubber-twill\""));
    assert!(metric.contains("aria-label=\"23.81 [15/16]\""));
}

#[test]
fn the_example_is_cut_with_the_same_bytes_each_time() {
    let (one, two) = (bench(), bench());
    let (first, second) = (thistlewick(one.path()), thistlewick(two.path()));
    for job in [&first, &second] {
        let ran = cut_example(job);
        assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    }
    let out = |job: &std::path::Path| {
        // The safety record and the log of the stock are of their day and hour; all else repeats.
        let mut all = files(&job.join("out"));
        let timed = ["safety-bench-laser.toml", "stock.log", "stock.toml.lock"];
        all.retain(|(name, _)| !timed.iter().any(|end| name.ends_with(end)));
        all
    };
    let (a, b) = (out(&first), out(&second));
    assert!(a.len() > 10, "{}", a.len());
    assert!(a == b, "the same job, seed and effort give the same bytes");
    // Cutting the same lay again changes nothing either.
    let again = run(&first, &["cut", "lay-1"]);
    assert_eq!(again.code, 0, "{}", again.err);
    assert!(out(&first) == a, "cut of the same lay renews the same bytes");
}

#[test]
fn a_table_for_a_part_is_read_again() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let table = run(&job, &["table", "pouch"]);
    assert_eq!(table.code, 0, "{}", table.err);
    assert!(table.out.contains("\nposition,well (in),dip (in),land (in)"), "{}", table.out);
    assert_eq!(table.out.lines().filter(|l| !l.starts_with('#')).count(), 55, "{}", table.out);
    std::fs::write(job.join("pouches.csv"), &table.out).unwrap();
    let checked = run(&job, &["check"]);
    assert_eq!(checked.code, 0, "{}", checked.err);
}

#[test]
fn why_names_the_line_of_every_figure() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let why = run(&job, &["why", "pouch:31"]);
    assert_eq!(why.code, 0, "{}", why.err);
    assert!(why.out.contains("1.140 in"), "{}", why.out);
    assert!(why.out.contains("pouches.csv line 5"), "{}", why.out);
    // Well 28.956, dip 2.6: the arc through rim and bottom is 29.575, two lands 9.525 (worked by hand).
    assert!(why.out.contains("39.100 mm"), "{}", why.out);
}

#[test]
fn measure_shows_every_unit() {
    let bench = bench();
    let ran = run(bench.path(), &["measure", "1 1/4 in"]);
    assert_eq!(ran.code, 0);
    assert!(ran.out.contains("31.750 mm"), "{}", ran.out);
    let json = run(bench.path(), &["measure", "#60 drill", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    // ASME B94.11M: number 60 is .0400 in.
    assert_eq!(value["mm"].as_f64().unwrap(), 0.04 * 25.4);
}
