//! A set of valves from measured gaps to cut papers, and the coupons for stretch, gap and smallest hole.

use super::{bench, edit, files, run, tells};
use std::fs;
use std::path::{Path, PathBuf};

const SET: &str = r#"
[[leaf]]
id = "P-1"
material = "packing-paper"
width = "8 in"
length = "10 in"

[[travel]]
name = "buttons"
positions = "1-4"
table = "buttons.csv"
target = "37 thou"
least = "35 thou"
papers = ["packing-paper"]
papers-make = "wider"
diameter = "7/8 in"
hole = "1/4 in"
cut-with = "knife"
"#;

/// A new job with a set of four valves.
pub(crate) fn job(room: &Path) -> PathBuf {
    assert_eq!(run(room, &["new", "chapel"]).code, 0);
    let job = room.join("chapel");
    let path = job.join("job.toml");
    let text = fs::read_to_string(&path).unwrap() + SET;
    fs::write(path, text).unwrap();
    fs::write(job.join("buttons.csv"), "position,gap (thou)\n1,31\n2,25\n3,37.5\n4,49\n").unwrap();
    job
}

#[test]
fn gaps_become_papers_that_are_cut_and_proven() {
    let room = bench();
    let job = job(room.path());
    let told = run(&job, &["travel", "buttons"]);
    assert_eq!(told.code, 0, "{}{}", told.out, told.err);
    // 31 + 6 = 37, 25 + 12 = 37; 37.5 stays; 49 is 12 too wide, and a paper would make it wider.
    let cells: Vec<Vec<&str>> =
        told.out.lines().map(|line| line.split_whitespace().collect()).collect();
    for row in [
        &["1", "31", "-", "-", "1", "packing-paper", "37", "-"][..],
        &["2", "25", "-", "-", "2", "packing-paper", "37", "-"],
        &["3", "37.5", "-", "-", "-", "37.5", "-"],
        &["4", "49", "-", "-", "-", "49", "take", "off", "12"],
    ] {
        assert!(cells.iter().any(|cells| cells == row), "{row:?}\n{}", told.out);
    }
    tells(&told, "W77");
    assert!(told.err.contains("warning[W77]"), "{}", told.err);
    let names: Vec<String> = files(&job.join("out/travel")).into_iter().map(|(n, _)| n).collect();
    assert_eq!(names, ["buttons.csv", "buttons.png", "buttons.svg"]);
    let json = run(&job, &["travel", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&json.out).unwrap();
    assert_eq!(value["schema"], "pouchwork/travel/1");
    assert_eq!(value["travels"][0]["places"][1]["put_in"][0]["count"], 2);
    let why = run(&job, &["why", "buttons-packing-paper:2/paper-2"]);
    assert!(
        why.out.contains("gap as measured") && why.out.contains("buttons.csv line 3"),
        "{}",
        why.out
    );
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let cut = run(&job, &["cut"]);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    let proven = run(&job, &["prove", "out/lay-1/P-1-knife.svg"]);
    assert_eq!(proven.code, 0, "{}{}", proven.out, proven.err);
    let none = run(&job, &["travel", "button"]);
    assert!(none.code == 1 && none.err.contains("did you mean buttons?"), "{}", none.err);
}

/// Fills in a coupon's table by a rule: the cells of a row, what stands at its end.
fn fill(job: &Path, table: &str, by: impl Fn(&[&str]) -> String) {
    let path = job.join(table);
    let text = fs::read_to_string(&path).unwrap();
    let line = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        if line.starts_with('#') || cells[0] == "number" { line.to_owned() } else { by(&cells) }
    };
    fs::write(&path, text.lines().map(line).collect::<Vec<_>>().join("\n")).unwrap();
}

#[test]
fn stretch_gap_and_hole_go_from_coupon_to_profile() {
    let room = bench();
    let job = job(room.path());
    for (n, sort) in [(1, "stretch"), (2, "gap"), (3, "hole")] {
        let list = ["coupon", sort, "--material", "hinge-cloth", "--machine", "knife"];
        let made = run(&job, &list);
        assert_eq!(made.code, 0, "{}{}", made.out, made.err);
        let name = format!("coupon-{n}");
        let cut = run(&job, &["cut", &name]);
        assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
        for end in ["svg", "dxf"] {
            let proven = run(&job, &["prove", &format!("out/{name}/C1-knife.{end}")]);
            assert_eq!(proven.code, 0, "{}{}", proven.out, proven.err);
        }
        let table = format!("out/{name}/readings.csv");
        let empty = run(&job, &["coupon", "read", &table, "--yes"]);
        assert!(
            empty.code == 1 && empty.err.contains("nothing has been filled in"),
            "{}",
            empty.err
        );
        fill(&job, &table, |c| match sort {
            "stretch" => {
                let grown = if c[1] == "along" { 1.01 } else { 1.04 };
                let drawn: f64 = c[2].parse().unwrap();
                format!("{},{},{},{drawn},{:.2},5 N,", c[0], c[1], c[2], drawn * grown)
            }
            "gap" => {
                let look = if c[2].parse::<f64>().unwrap() < 0.7 { "torn" } else { "clean" };
                format!("{},{},{},{look},", c[0], c[1], c[2])
            }
            _ => {
                let look = if c[1].parse::<f64>().unwrap() < 2.0 { "torn" } else { "clean" };
                format!("{0},{1},{1},{1},{look},", c[0], c[1])
            }
        });
        let told = run(&job, &["coupon", "read", &table]);
        assert!(
            told.code == 0 && told.out.contains("nothing is written"),
            "{}{}",
            told.out,
            told.err
        );
        let told = run(&job, &["coupon", "read", &table, "--yes"]);
        assert_eq!(told.code, 0, "{}{}", told.out, told.err);
    }
    let cloth = fs::read_to_string(job.join("materials/hinge-cloth.toml")).unwrap();
    assert!(cloth.contains("along = \"1 %\"\nacross = \"4 %\"\n"), "{cloth}");
    assert!(cloth.contains("gap    = \"0.75 mm\""), "{cloth}");
    let knife = files(&job.join("machines"))
        .into_iter()
        .find(|(name, _)| name.contains("knife"))
        .map(|(_, bytes)| String::from_utf8(bytes).unwrap())
        .unwrap();
    assert!(
        knife.contains("smallest-hole = \"2 mm\"") && knife.contains("smallest hole: coupon"),
        "{knife}"
    );
    assert_eq!(run(&job, &["check"]).code, 0);
    // Strips that were changed over are found.
    edit(
        &job.join("out/coupon-1/readings.csv"),
        "before (mm),loaded (mm)",
        "loaded (mm),before (mm)",
    );
    let told = run(&job, &["coupon", "read", "out/coupon-1/readings.csv", "--yes"]);
    assert!(told.code == 1 && told.err.contains("error[E66]"), "{}", told.err);
}
