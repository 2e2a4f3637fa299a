//! Parts whose line was traced, typed corner by corner or fitted to two boards, from the job to the cut files.

use super::{bench, files, run};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

const JOB: &str = r#"
[job]
title = "traced parts"

[machines]
knife = "drag-knife"

[[hide]]
id       = "H1"
material = "pouch-leather"
up       = "flesh"
grain    = 0
corners  = [["0 mm", "0 mm"], ["600 mm", "0 mm"], ["600 mm", "500 mm"], ["0 mm", "500 mm"]]

[[part]]
name       = "block"
face = "flesh"
kind       = "outline"
count      = 1
outline    = "outlines/block.svg"
hole-table = "holes.csv"
stretch    = ["0 %", "0 %"]
material   = "pouch-leather"
cut-with   = "knife"

[[part]]
name     = "saddle"
face = "flesh"
kind     = "outline"
unit     = "mm"
count    = 2
corners  = [[10, 5], [90, 5, 6], [90, 45], [10, 45, -4]]
stretch  = ["0 %", "0 %"]
material = "pouch-leather"
cut-with = "knife"

[[part.mark]]
from = [50, 5]
to   = [50, 45]

[[part]]
name     = "saddle-back"
kind     = "outline"
count    = 1
mate-of  = "saddle"
stretch  = ["0 %", "0 %"]
material = "pouch-leather"
cut-with = "knife"

[[part]]
name     = "trunk"
face = "flesh"
kind     = "gasket"
count    = 1
unit     = "mm"
length   = 120
width    = 30
stretch  = ["0 %", "0 %"]
material = "pouch-leather"
cut-with = "knife"

[[part.row]]
holes    = 3
first    = [20, 15]
pitch    = 40
diameter = 10

[[part.opposite-row]]
holes    = 2
first    = [22, 15]
pitch    = 40
diameter = 10
"#;

/// A plate 100 by 60 with one corner of radius 20 and a hole of 16, y down as SVG has it.
const BLOCK: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">
<path d="M10 70 H110 V30 A20 20 0 0 0 90 10 H10 Z"/><circle cx="30" cy="50" r="8"/></svg>"#;

fn job(folder: &Path) {
    fs::create_dir(folder.join("outlines")).unwrap();
    fs::write(folder.join("job.toml"), JOB).unwrap();
    fs::write(folder.join("outlines/block.svg"), BLOCK).unwrap();
    fs::write(
        folder.join("holes.csv"),
        "x (mm),y (mm),diameter,note\n70,30,1/4 in,\n85.5,30,6 mm,by hand\n",
    )
    .unwrap();
}

/// A named figure of a piece, as `why --json` tells it.
fn term(folder: &Path, piece: &str, label: &str) -> f64 {
    let ran = run(folder, &["why", piece, "--json"]);
    let told: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let terms = told["pieces"][0]["terms"].as_array().unwrap().clone();
    let found = terms.iter().find(|t| t["label"] == label).expect(label);
    found["value"].as_f64().unwrap()
}

#[test]
fn traced_and_typed_parts_are_cut() {
    let bench = bench();
    job(bench.path());
    let cut = run(bench.path(), &["cut"]);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    let all = files(&bench.path().join("out/lay-1"));
    let text = |ending: &str| {
        let found =
            all.iter().find(|(n, _)| n.ends_with(ending) && !n.contains("picture")).unwrap();
        String::from_utf8(found.1.clone()).unwrap()
    };
    let svg = text(".svg");
    // Arcs stay arcs. A rise of 6 on a half chord of 20 has the radius (400 + 36) / 12, of 4 (400 + 16) / 8: elementary
    // geometry; the second bends inward. The mate's arcs run the same way round, seen from its own face.
    for arc in ["A20 20 0 0 0", "A36.333333 36.333333 0 0 0", "A52 52 0 0 1"] {
        assert!(svg.contains(arc), "{arc} in {svg}");
    }
    assert_eq!(svg.matches("A36.333333").count(), 3, "two saddles and their mate");
    for circle in ["r=\"8\"", "r=\"3.175\"", "r=\"3\""] {
        assert_eq!(svg.matches(circle).count(), 1, "{circle}");
    }
    // Two lenses of radius 5, each arc in two pieces; the third hole has no partner.
    let holes = svg.split("id=\"HOLES\"").nth(1).unwrap().split("</g>").next().unwrap();
    let radii: Vec<f64> = holes
        .split(" A")
        .skip(1)
        .map(|arc| arc.split(' ').next().unwrap().parse().unwrap())
        .collect();
    assert_eq!(radii.len(), 8, "{holes}");
    assert!(radii.iter().all(|r| (r - 5.0).abs() < 1e-3), "{radii:?}");
    // One crease a saddle.
    let creases = svg.split("id=\"CREASE\"").nth(1).unwrap().split("</g>").next().unwrap();
    assert_eq!(creases.matches("<path").count(), 3, "{creases}");
    // What the file says of each piece, against plain sums: plate less corner, less holes; plate with both caps.
    let area = |r: f64, rise: f64| {
        let angle = 4.0 * (rise / 20.0_f64).atan();
        r * r * (angle - angle.sin()) / 2.0
    };
    let pi = std::f64::consts::PI;
    let block = 6000.0 - (1.0 - pi / 4.0) * 400.0 - pi * (64.0 + 3.175_f64.powi(2) + 9.0);
    let saddle = 3200.0 + area(436.0 / 12.0, 6.0) - area(52.0, 4.0);
    let lens = 50.0 * 0.2_f64.acos() - 96.0_f64.sqrt();
    for (piece, wanted) in [
        ("block:1", block),
        ("saddle:2", saddle),
        ("saddle-back:1", saddle),
        ("trunk:1", 3600.0 - 2.0 * lens),
    ] {
        let line = svg.lines().find(|l| l.ends_with(&format!("address {piece}"))).unwrap();
        let told: f64 =
            line.split("; area ").nth(1).unwrap().split(';').next().unwrap().parse().unwrap();
        assert!((told - wanted).abs() < 1e-3, "{piece}: {told}, not {wanted}");
    }
    // The DXF has the same arcs, as bulges of 2 x rise / chord: 0.3 and 0.2, and tan(90°/4) for the round corner.
    let dxf = text(".dxf");
    let bulges: Vec<f64> = dxf
        .lines()
        .zip(dxf.lines().skip(1))
        .filter(|(code, _)| code.trim() == "42")
        .map(|(_, bulge)| bulge.trim().parse().unwrap())
        .collect();
    for (bulge, count) in [(0.3, 3), (0.2, 3), ((pi / 8.0).tan(), 1)] {
        let found = bulges.iter().filter(|b| (b.abs() - bulge).abs() < 1e-9).count();
        assert_eq!(found, count, "{bulge} in {bulges:?}");
    }
}

#[test]
fn the_sums_of_traced_parts_and_of_two_boards_are_told() {
    let bench = bench();
    job(bench.path());
    let checked = run(bench.path(), &["check"]);
    assert_eq!(checked.code, 0, "{}{}", checked.out, checked.err);
    assert_eq!(checked.err.matches("warning").count(), 1, "{}", checked.err);
    assert!(
        checked
            .err
            .contains("[W35]: trunk 1: hole 3 of the row meets no hole of the opposite board"),
        "{}",
        checked.err
    );
    let folder = bench.path();
    let pi = std::f64::consts::PI;
    for (piece, label, wanted) in [
        ("block:1", "circumference", 320.0 - 40.0 + 10.0 * pi),
        ("block:1", "cut length", 100.0),
        ("saddle:1", "cut length", 86.0),
        ("saddle:1", "radius after corner 4", 52.0),
        ("trunk:1", "hole 1 to hole 2 of the row: off centre", 2.0),
    ] {
        let told = term(folder, piece, label);
        assert!((told - wanted).abs() < 1e-6, "{piece} {label}: {told}, not {wanted}");
    }
    let drawn = run(folder, &["draw"]);
    assert_eq!(drawn.code, 0, "{}", drawn.err);
    // A unit without a file is told, not passed over.
    super::edit(
        &folder.join("job.toml"),
        "outline    = \"outlines/block.svg\"",
        "outline-unit = \"in\"",
    );
    let refused = run(folder, &["check"]);
    assert_eq!(refused.code, 1);
    assert!(
        refused.err.contains("error[E12]: `outline-unit` is given, and there is no `outline`"),
        "{}",
        refused.err
    );
}

/// The same plate drawn in DXF, in inches by its own word, and in units that only the job names.
#[test]
fn a_dxf_file_serves_as_well() {
    let dxf = |unit: u8, scale: f64| {
        let mut text = format!(
            "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n{unit}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
        );
        text += "0\nLWPOLYLINE\n8\n0\n90\n5\n70\n1\n";
        let bulge = (std::f64::consts::PI / 8.0).tan();
        for (x, y, b) in
            [(10, 10, 0.0), (110, 10, 0.0), (110, 50, bulge), (90, 70, 0.0), (10, 70, 0.0)]
        {
            let (x, y) = (f64::from(x) / scale, f64::from(y) / scale);
            write!(text, "10\n{x}\n20\n{y}\n42\n{b}\n").unwrap();
        }
        let r = [30.0, 30.0, 8.0].map(|v| v / scale);
        text + &format!(
            "0\nCIRCLE\n8\n0\n10\n{}\n20\n{}\n40\n{}\n0\nENDSEC\n0\nEOF\n",
            r[0], r[1], r[2]
        )
    };
    for (unit, scale, more) in [(1, 25.4, ""), (0, 10.0, "outline-unit = \"cm\"\n")] {
        let bench = bench();
        job(bench.path());
        let path = bench.path().join("job.toml");
        let with = format!("{more}outline    = \"outlines/block.dxf\"");
        super::edit(&path, "outline    = \"outlines/block.svg\"", &with);
        fs::write(bench.path().join("outlines/block.dxf"), dxf(unit, scale)).unwrap();
        let checked = run(bench.path(), &["check"]);
        assert_eq!(checked.code, 0, "{}{}", checked.out, checked.err);
        let area = 6000.0 - (1.0 - std::f64::consts::PI / 4.0) * 400.0;
        let told = term(bench.path(), "block:1", "area");
        assert!((told - area).abs() < 1e-6, "{told}, not {area}");
        assert_eq!(run(bench.path(), &["cut"]).code, 0);
    }
}
