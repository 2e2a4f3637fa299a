//! `recut`: a spare from the bag first, else one place on what is left, found again on the bed by two points.

use super::{Ran, bench, refused, run, tells};
use std::fs;
use std::path::{Path, PathBuf};

fn good(ran: Ran) -> Ran {
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    ran
}

/// A job as `new` makes it, laid, cut and booked with some pieces spoilt.
fn begun(room: &Path, failed: &str) -> PathBuf {
    good(run(room, &["new", "organ"]));
    let job = room.join("organ");
    good(run(&job, &["lay", "--effort", "quick"]));
    good(run(&job, &["cut"]));
    good(run(&job, &["tally", "lay-1", "--failed", failed]));
    job
}

fn json(ran: &Ran) -> serde_json::Value {
    serde_json::from_str(&ran.out).unwrap()
}

fn lay(job: &Path, name: &str) -> serde_json::Value {
    serde_json::from_str(&fs::read_to_string(job.join("out").join(name).join("lay.json")).unwrap())
        .unwrap()
}

#[test]
fn a_spare_comes_first_and_is_offered_once() {
    let room = bench();
    let job = begun(room.path(), "pouch:7,pouch:2");
    refused(&run(&job, &["recut", "pouch:77"]), 1, &["E115", "did you mean pouch:7?"]);
    let told = good(run(&job, &["recut", "pouch:7"]));
    assert!(told.out.contains("take pouch:7+1 from the bag"), "{}", told.out);
    assert!(!job.join("out/recut-1").exists(), "nothing is cut where a spare will do");
    refused(&run(&job, &["recut", "pouch:7", "--take", "pouch:3+1"]), 1, &["E118", "pouch:7+1"]);
    let before = fs::read(job.join("out/stock.toml")).unwrap();
    good(run(&job, &["recut", "pouch:7", "--take", "pouch:7+1"]));
    let text = fs::read_to_string(job.join("out/stock.toml")).unwrap();
    assert!(
        text.contains("address = \"pouch:7+1\", for = \"pouch:7\", state = \"good\""),
        "{text}"
    );
    let done = good(run(&job, &["recut", "pouch:7"]));
    assert!(done.out.contains("pouch:7 needs no new cut: pouch:7+1 of lay-1"), "{}", done.out);
    refused(&run(&job, &["recut", "pouch:7", "--take", "pouch:7+1"]), 1, &["E118"]);
    let status = json(&good(run(&job, &["status", "--json"])));
    let pouch = &status["parts"][0];
    assert_eq!(
        (&pouch["cut"], &pouch["failed"], &pouch["spares-in-bag"]),
        (&11.into(), &1.into(), &2.into())
    );
    assert!(status["next"].as_str().unwrap().contains("pouchwork recut pouch:2"), "{status}");
    good(run(&job, &["stock", "undo"]));
    assert_eq!(fs::read(job.join("out/stock.toml")).unwrap(), before);
    // One of the usual size gets the spare of that size, whatever place it carries.
    let told = good(run(&job, &["recut", "pouch:2"]));
    assert!(told.out.contains("take pouch:1+1"), "{}", told.out);
}

#[test]
fn one_piece_is_cut_again_proven_and_booked() {
    let room = bench();
    let job = begun(room.path(), "edge-strip:2");
    let told = json(&good(run(&job, &["recut", "edge-strip:2", "--anyway", "--json"])));
    assert_eq!((&told["recut"], &told["sheet"]), (&"recut-1".into(), &"C1".into()));
    let first = lay(&job, "lay-1");
    let row = |lay: &serde_json::Value| {
        let rows = lay["pieces"].as_array().unwrap();
        rows.iter().find(|row| row["address"] == "edge-strip:2").unwrap().clone()
    };
    let again = lay(&job, "recut-1");
    assert_eq!(row(&again)["turn"], row(&first)["turn"], "as its sisters to the grain");
    assert_eq!(again["pieces"].as_array().unwrap().len(), 1);
    // Asked again before it is cut, it keeps its number.
    let twice = json(&good(run(&job, &["recut", "edge-strip:2", "--anyway", "--json"])));
    assert_eq!(twice["recut"], "recut-1");
    good(run(&job, &["cut", "recut-1", "--format", "svg,dxf"]));
    for name in ["C1-knife.svg", "C1-knife.dxf"] {
        let proven = good(run(&job, &["prove", &format!("out/recut-1/{name}")]));
        assert!(proven.out.contains("clear of 5 claims"), "{}", proven.out);
    }
    refused(&run(&job, &["recut", "edge-strip:2"]), 1, &["E115", "claimed by recut-1"]);
    good(run(&job, &["tally", "recut-1", "--all-good"]));
    let done = good(run(&job, &["recut", "edge-strip:2"]));
    assert!(done.out.contains("needs no new cut: cut from C1 by recut-1"), "{}", done.out);
    let status = json(&good(run(&job, &["status", "--json"])));
    assert_eq!((&status["parts"][1]["cut"], &status["parts"][1]["failed"]), (&4.into(), &0.into()));
    assert!(status["next"].as_str().unwrap().contains("all is cut"), "{status}");
    // The papers of the instrument tell both cuts, the first as spoilt.
    let record = good(run(&job, &["record"]));
    let rows: Vec<&str> = record.out.lines().filter(|l| l.contains("| edge-strip:2 ")).collect();
    assert_eq!(rows.len(), 2, "{}", record.out);
    assert!(rows.iter().any(|row| row.contains("spoilt") && row.contains("lay-1")), "{rows:?}");
    assert!(rows.iter().any(|row| row.contains("good") && row.contains("recut-1")), "{rows:?}");
    assert!(rows.iter().all(|row| row.contains("C1") && row.contains("20")), "the day: {rows:?}");
    let csv = fs::read_to_string(job.join("out/record/record.csv")).unwrap();
    assert_eq!(csv.lines().count(), 1 + 21, "{csv}");
    assert!(csv.lines().all(|l| !l.starts_with(['=', '+', '-', '@'])), "{csv}");
}

/// Turns a point about the origin and shifts it.
fn lain((x, y): (f64, f64), turn: f64, shift: (f64, f64)) -> (f64, f64) {
    let (sin, cos) = turn.to_radians().sin_cos();
    (x * cos - y * sin + shift.0, x * sin + y * cos + shift.1)
}

/// Middle of the circle of an SVG cut file, y up from its lower edge.
fn circle(svg: &str) -> (f64, f64) {
    let edges = &svg[svg.find("id=\"EDGES\"").unwrap()..];
    let figure = |key: &str| -> f64 {
        let at = edges.find(&format!(" {key}=\"")).unwrap() + key.len() + 3;
        edges[at..].split('"').next().unwrap().parse().unwrap()
    };
    (figure("cx"), figure("cy"))
}

#[test]
fn two_dots_place_the_sheet_as_it_lies() {
    let room = bench();
    let job = begun(room.path(), "pouch:2");
    let first = lay(&job, "lay-1");
    let dots: Vec<(f64, f64)> = first["dots"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|dot| dot["sheet"] == "H1")
        .map(|dot| (dot["x"].as_f64().unwrap(), dot["y"].as_f64().unwrap()))
        .collect();
    let [a, b] = dots[..] else { panic!("{dots:?}") };
    let (turn, shift) = (-4.7, (40.0, 90.0));
    let on_bed = |p: (f64, f64)| lain(p, turn, shift);
    let recut = |stretch: f64, more: &[&str]| {
        let (a, b) = (on_bed(a), on_bed(b));
        let lengths: Vec<String> =
            [a.0, a.1, a.0 + (b.0 - a.0) * stretch, a.1 + (b.1 - a.1) * stretch]
                .iter()
                .map(|mm| format!("{mm:.3} mm"))
                .collect();
        let mut words = vec!["recut", "pouch:2", "--anyway", "--dots"];
        words.extend(lengths.iter().map(String::as_str));
        words.extend(more);
        run(&job, &words)
    };
    refused(&recut(1.002, &[]), 1, &["E116", "dot-1 and dot-2", "stretched, or it is another one"]);
    refused(&recut(1.0, &["--by", "pouch:99", "--by", "dot-1"]), 1, &["E117", "no point pouch:99"]);
    refused(&recut(1.0, &["--by", "dot-1", "--by", "lower-left"]), 1, &["E117", "has no corner"]);
    let told = good(recut(1.0, &["--json"]));
    let told = json(&told);
    assert!(told["lies"]["residual-mm"].as_f64().unwrap().abs() < 2e-3, "{told}");
    good(run(&job, &["cut", "recut-1"]));
    let svg = fs::read_to_string(job.join("out/recut-1/H1-w1-knife.svg")).unwrap();
    // The middle on the sheet, brought to the bed by the true turn and shift, less the bed's margin: where the file has it.
    let middle = |n: usize| told["middle-mm"][n].as_f64().unwrap();
    let wanted = on_bed((middle(0), middle(1)));
    let (cx, cy) = circle(&svg);
    assert!((cx - (wanted.0 - 10.0)).abs() < 0.01, "{cx} {wanted:?}");
    let height: f64 = {
        let at = svg.find("viewBox=\"").unwrap() + 9;
        svg[at..].split('"').next().unwrap().split_whitespace().last().unwrap().parse().unwrap()
    };
    let up =
        if svg.contains("scale(1,-1)") || svg.contains("scale(1 -1)") { cy } else { height - cy };
    assert!((up - (wanted.1 - 10.0)).abs() < 0.01, "{up} {wanted:?} of {height}");
    for name in ["H1-w1-knife.svg", "H1-w1-knife.dxf"] {
        let proven = good(run(&job, &["prove", &format!("out/recut-1/{name}")]));
        assert!(proven.out.contains("clear of 15 claims"), "{}", proven.out);
        assert!(proven.out.ends_with("proven\n"), "{}", proven.out);
    }
    // What is claimed of the sheet is told in the sheet's own system.
    let text = fs::read_to_string(job.join("out/stock.toml")).unwrap();
    let claim = &text[text.find("[[hide.claim]]").unwrap()..];
    let at = claim.split("at = [").nth(1).unwrap().split(']').next().unwrap();
    let (x, y) = at.split_once(", ").unwrap();
    assert!((x.parse::<f64>().unwrap() - middle(0)).abs() < 1e-3, "{at} {told}");
    assert!((y.parse::<f64>().unwrap() - middle(1)).abs() < 1e-3, "{at} {told}");
    // A record in which a point was moved by hand is another one than that which claimed the ground.
    let there = job.join("out/recut-1/lay.json");
    let was = fs::read_to_string(&there).unwrap();
    let mut moved = lay(&job, "recut-1");
    moved["lies"]["found"][0][0] = (moved["lies"]["found"][0][0].as_f64().unwrap() + 0.1).into();
    fs::write(&there, serde_json::to_string_pretty(&moved).unwrap()).unwrap();
    let ran = run(&job, &["prove", "out/recut-1/H1-w1-knife.svg"]);
    refused(&ran, 1, &["E84", "recut-1"]);
    fs::write(&there, was).unwrap();
    good(run(&job, &["tally", "recut-1", "--all-good"]));
}

#[test]
fn points_may_be_pieces_or_corners() {
    let room = bench();
    let job = begun(room.path(), "edge-strip:2");
    let corners = ["--by", "lower-left", "--by", "lower-right"];
    // C1 is 355.6 mm long; it lies straight, 20 mm and 30 mm from the bed's corner.
    let words =
        ["recut", "edge-strip:2", "--anyway", "--dots", "20 mm", "30 mm", "375.6 mm", "30 mm"];
    let told = json(&good(run(&job, &[&words[..], &corners[..], &["--json"]].concat())));
    assert_eq!(told["lies"]["turn"], 0.0, "{told}");
    let shift = &told["lies"]["shift-mm"];
    assert!((shift[0].as_f64().unwrap() - 20.0).abs() < 1e-6, "{told}");
    let pieces = ["--by", "edge-strip:1", "--by", "edge-strip:4"];
    refused(
        &run(&job, &[&words[..], &pieces[..]].concat()),
        1,
        &["E116", "edge-strip:1 and edge-strip:4"],
    );
    refused(&run(&job, &[&words[..], &["--by", "dot-1"]].concat()), 1, &["E117", "name two"]);
    // A bed that does not reach it says where to shift the sheet.
    let far =
        ["recut", "edge-strip:2", "--anyway", "--dots", "580 mm", "400 mm", "580 mm", "44.4 mm"];
    refused(
        &run(&job, &[&far[..], &corners[..]].concat()),
        3,
        &["E34", "reaches no free place for edge-strip:2", "shift the sheet"],
    );
    let off = ["recut", "edge-strip:2", "--anyway", "--dots", "601 mm", "30 mm", "300 mm", "30 mm"];
    refused(&run(&job, &[&off[..], &corners[..]].concat()), 1, &["E117", "off the bed"]);
}

/// The record of the first lay tells how a strip was turned, and two points near each other are poor guides.
#[test]
fn what_is_less_sure_is_pointed_out() {
    let room = bench();
    let job = begun(room.path(), "pouch:2,edge-strip:2");
    let pieces = lay(&job, "lay-1")["pieces"].as_array().unwrap().clone();
    let mut pouches: Vec<(f64, f64, String)> = pieces
        .iter()
        .filter(|row| row["sheet"] == "H1")
        .map(|row| {
            let figure = |key: &str| row[key].as_f64().unwrap();
            (figure("y"), figure("x"), row["address"].as_str().unwrap().to_owned())
        })
        .collect();
    pouches.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The lowest two; the new piece comes to lie far above them.
    let mut words = vec!["recut".to_owned(), "pouch:2".to_owned(), "--anyway".to_owned()];
    for (_, _, address) in &pouches[..2] {
        words.extend(["--by".to_owned(), address.clone()]);
    }
    words.push("--dots".to_owned());
    for (y, x, _) in &pouches[..2] {
        words.extend([format!("{} mm", x + 20.0), format!("{} mm", y + 30.0)]);
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let near = good(run(&job, &words));
    tells(&near, "W95");
    assert!(near.err.contains("times as far from the middle of the two points"), "{}", near.err);
    let sure = good(run(&job, &["recut", "edge-strip:2", "--anyway"]));
    assert!(!sure.err.contains("W94"), "{}", sure.err);
    fs::remove_file(job.join("out/lay-1/lay.json")).unwrap();
    let unsure = good(run(&job, &["recut", "edge-strip:2", "--anyway"]));
    tells(&unsure, "W94");
    assert!(unsure.err.contains("how edge-strip:2 was turned is not known"), "{}", unsure.err);
}

/// The rest of a sheet is parted off: its own side has no room any more, and the rest has no dots on record.
#[test]
fn a_parted_sheet_gives_the_piece_to_its_rest() {
    let room = bench();
    good(run(room.path(), &["new", "organ"]));
    let job = room.path().join("organ");
    good(run(&job, &["lay", "--effort", "quick"]));
    good(run(&job, &["cut"]));
    good(run(&job, &["tally", "lay-1", "--failed", "pouch:2", "--parted"]));
    let words = ["recut", "pouch:2", "--anyway"];
    let dots = ["--dots", "100 mm", "100 mm", "150 mm", "150 mm"];
    refused(
        &run(&job, &[&words[..], &dots[..]].concat()),
        1,
        &["E117", "H1/1 has no two register dots"],
    );
    refused(&run(&job, &[&words[..], &["--from", "H1"]].concat()), 3, &["E34", "H1 has no room"]);
    let told = json(&good(run(&job, &[&words[..], &["--json"]].concat())));
    assert_eq!(told["sheet"], "H1/1");
    let papers = good(run(&job, &["record"]));
    assert!(!papers.out.contains("not known"), "{}", papers.out);
}

#[test]
fn where_nothing_has_room_it_says_what_is_missing() {
    let room = bench();
    let there = room.path().join("tight");
    fs::create_dir_all(&there).unwrap();
    let job = r#"[job]
title = "tight"
spares = "none"

[machines]
knife = "drag-knife-small"

[[hide]]
id = "H1"
material = "pouch-leather"
up = "flesh"
unit = "mm"
corners = [[0, 0], [90, 0], [90, 45], [0, 45]]
grain = 0

[[part]]
name = "pad"
kind = "disk"
count = 2
diameter = "30 mm"
material = "pouch-leather"
cut-with = "knife"
stretch = ["0 %", "0 %"]
"#;
    fs::write(there.join("job.toml"), job).unwrap();
    good(run(&there, &["lay", "--effort", "quick"]));
    good(run(&there, &["cut"]));
    good(run(&there, &["tally", "lay-1", "--failed", "pad:2"]));
    let ran = run(&there, &["recut", "pad:2"]);
    refused(
        &ran,
        3,
        &[
            "E34",
            "30.0 x 30.0 mm",
            "H1: the largest free circle is",
            "too small",
            "buy a piece of pouch-leather",
        ],
    );
    // What is to be bought is told as `order` tells it: a skin as it is sold, with a coupon.
    for words in [
        "to buy for pad:2, with a coupon of the new stuff:",
        "pouch leather (pouch-leather), for drag-knife",
        "  wanted    thickness 0.009 in (0.229 mm); tannage chrome",
        "  likely    1 whole skin",
    ] {
        assert!(ran.out.contains(words), "{words} in {}", ran.out);
    }
    assert!(
        !ran.out.contains("in hand") && !ran.out.contains("by published yields"),
        "{}",
        ran.out
    );
    let document = json(&run(&there, &["recut", "pad:2", "--json"]));
    let line = &document["to-buy"][0];
    assert_eq!(
        (&line["material"], &line["pieces"]),
        (&"pouch-leather".into(), &1.into()),
        "{line}"
    );
    assert_eq!(line["to-buy"]["likely"]["skins"], 1, "{line}");
    // There is no recut yet, and so none to be booked.
    let none = run(&there, &["tally", "recut-1", "--all-good"]);
    refused(&none, 1, &["E81", "there is no lay called recut-1", "there is lay-1"]);
    assert!(!none.err.contains("cut it first"), "{}", none.err);
    // With a remnant in hand it comes from there, whole sheets last.
    let more = "\n[[hide]]\nid = \"H2\"\nmaterial = \"pouch-leather\"\nup = \"flesh\"\nunit = \"mm\"\ncorners = [[0, 0], [300, 0], [300, 200], [0, 200]]\ngrain = 30\n";
    fs::write(there.join("job.toml"), format!("{job}{more}")).unwrap();
    let told = json(&good(run(&there, &["recut", "pad:2", "--json"])));
    assert_eq!(told["sheet"], "H2");
    refused(&run(&there, &["recut", "pad:2", "--from", "H1"]), 3, &["E34", "H1 has no room"]);
    refused(&run(&there, &["recut", "pad:2", "--from", "H7"]), 1, &["E88", "H1, H2"]);
    let first = run(&there, &["tally", "recut-1", "--all-good"]);
    refused(&first, 1, &["E87", "recut-1 claims nothing", "cut it first: pouchwork cut recut-1"]);
    good(run(&there, &["cut", "recut-1"]));
    good(run(&there, &["prove", "out/recut-1/H2-knife.svg"]));
}
