//! The fair organ: every kind of part, from the look over to each machine's own files.

use super::{answered, bench, edit, example, files, run};
use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn the_full_set_goes_to_cut_files_and_its_pictures_can_be_read() {
    let room = bench();
    let job = example("full-set", room.path());
    let checked = run(&job, &["check"]);
    assert_eq!(checked.code, 0, "{}", checked.err);
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}", laid.err);
    assert!(laid.out.contains("1093 of 1093 placed and checked"), "{}", laid.out);
    let told = answered(&job);
    assert_eq!(told.code, 0, "{}", told.err);
    let cut = run(&job, &["cut", "lay-1"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    let written: BTreeSet<String> = files(&job.join("out/lay-1"))
        .into_iter()
        .map(|(name, _)| name)
        .filter(|name| {
            let cut = name.ends_with(".svg") || name.ends_with(".dxf");
            cut && !name.contains("picture") && !name.contains("-order")
        })
        .collect();
    let mut wanted = BTreeSet::new();
    for sheet in ["H-3", "C-1", "C-2", "C-3", "L-1", "L-2", "L-3", "L-4"] {
        wanted.extend([format!("{sheet}-laser.svg"), format!("{sheet}-laser.dxf")]);
    }
    // The suede is larger than the bed of the small knife.
    let windows = windows(&job, "H-2");
    assert!(windows > 1, "{windows}");
    let suede: Vec<String> = (1..=windows).map(|n| format!("H-2-w{n}")).collect();
    for sheet in suede.iter().map(String::as_str).chain(["H-1", "L-5", "L-6"]) {
        wanted.extend([format!("{sheet}-knife.svg"), format!("{sheet}-knife.dxf")]);
    }
    assert_eq!(written, wanted);
    super::overlaps::read_through(
        &job,
        &[
            ("draw", 68),
            ("-places.svg", 3),
            ("overview.svg", 1),
            ("-picture.svg", 12),
            ("-order.svg", 12),
        ],
    );
}

/// How many bed windows a sheet has in the first lay.
fn windows(job: &Path, sheet: &str) -> usize {
    record(job)["windows"].as_array().unwrap().iter().filter(|w| w["sheet"] == sheet).count()
}

fn record(job: &Path) -> serde_json::Value {
    let text = std::fs::read_to_string(job.join("out/lay-1/lay.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// Addresses in the manifest of a cut file.
fn addresses(text: &str) -> Vec<String> {
    let rows = text.lines().filter(|line| line.starts_with("piece: "));
    rows.filter_map(|line| line.rsplit_once("; address ").map(|(_, name)| name.to_owned()))
        .collect()
}

#[test]
fn a_sheet_larger_than_the_bed_is_cut_window_by_window() {
    let room = bench();
    let job = example("full-set", room.path());
    let machine = job.join("machines/wide-laser.toml");
    edit(&machine, "width         = \"1900 mm\"", "width         = \"1200 mm\"");
    edit(&machine, "depth         = \"1700 mm\"", "depth         = \"1200 mm\"");
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}", laid.err);
    assert!(laid.out.contains("1093 of 1093 placed"), "{}", laid.out);
    let record = record(&job);
    let lasers = ["H-3", "C-1", "C-2", "C-3", "L-1", "L-2", "L-3", "L-4"];
    let count: usize = lasers.iter().map(|sheet| windows(&job, sheet).max(1)).sum();
    edit(&job.join("answers.toml"), "\"8\"", &format!("\"{count}\""));
    edit(&job.join("answers.toml"), "1900 x 1700", "1200 x 1200");
    let told = answered(&job);
    assert_eq!(told.code, 0, "{}", told.err);
    let cut = run(&job, &["cut", "lay-1"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    let there = files(&job.join("out/lay-1"));
    let mut windowed = 0;
    for sheet in ["H-2", "H-3", "C-1", "C-2", "C-3"] {
        let count = windows(&job, sheet);
        let mut seen: Vec<String> = Vec::new();
        for n in 1..=count {
            let stem = format!("{sheet}-w{n}-");
            let is_it = |(name, _): &&(String, Vec<u8>)| {
                name.starts_with(&stem) && name.ends_with(".svg") && !name.contains("-order")
            };
            let mut found = there.iter().filter(is_it);
            let (name, bytes) = found.next().unwrap_or_else(|| panic!("no file of {stem}"));
            assert!(found.next().is_none(), "two files of {stem}");
            let text = String::from_utf8_lossy(bytes);
            let key = format!("window: {n} of {count}; origin x ");
            let at = text.find(&key).unwrap_or_else(|| panic!("no {key} in {name}"));
            let origin = text[at + key.len()..].lines().next().unwrap();
            let (x, y) = origin.split_once("; y ").unwrap();
            let about = |v: &str| v.trim().parse::<f64>().unwrap();
            let place =
                format!("{sheet}, window {n} of {count}: lay the sheet so that its point x ");
            let line = cut.out.lines().find(|line| line.starts_with(&place)).unwrap();
            let (told_x, rest) = line[place.len()..].split_once(" y ").unwrap();
            let told_y = rest.split_once(" mm").unwrap().0;
            assert!((about(told_x) - about(x)).abs() < 0.051, "{line}: {origin}");
            assert!((about(told_y) - about(y)).abs() < 0.051, "{line}: {origin}");
            let here = addresses(&text);
            for address in &here {
                let row = record["pieces"].as_array().unwrap().iter();
                let row = row.into_iter().find(|row| row["address"] == **address).unwrap();
                assert_eq!(row["window"], n, "{address} in {name}");
            }
            seen.extend(here);
        }
        if count > 0 {
            windowed += 1;
            let rows = record["pieces"].as_array().unwrap().iter();
            let mut wanted: Vec<String> = rows
                .filter(|row| row["sheet"] == sheet)
                .map(|row| row["address"].as_str().unwrap().to_owned())
                .collect();
            wanted.sort();
            seen.sort();
            assert_eq!(seen, wanted, "every piece of {sheet} is in one file");
            let whole = format!("{sheet}-laser.svg");
            assert!(!there.iter().any(|(name, _)| *name == whole), "{whole}");
        }
    }
    assert!(windowed >= 3, "{windowed} sheets in windows");
}

#[test]
fn an_edited_window_is_refused() {
    let room = bench();
    let job = example("full-set", room.path());
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let path = job.join("out/lay-1/lay.json");
    let text = std::fs::read_to_string(&path).unwrap();
    for (what, key) in [("windows", "x1"), ("windows", "corner_x"), ("dots", "x")] {
        let mut value: serde_json::Value = serde_json::from_str(&text).unwrap();
        let suede = |row: &&mut serde_json::Value| row["sheet"] == "H-2";
        let row = value[what].as_array_mut().unwrap().iter_mut().find(suede).unwrap();
        row[key] = (row[key].as_f64().unwrap() - 150.0).into();
        std::fs::write(&path, serde_json::to_string_pretty(&value).unwrap()).unwrap();
        let cut = run(&job, &["cut", "lay-1"]);
        assert_eq!(cut.code, 1, "{what} {key}: {}", cut.err);
        assert!(cut.err.contains("error[E52]"), "{what} {key}: {}", cut.err);
    }
}

#[test]
fn a_companion_is_asked_for_like_any_piece() {
    let room = bench();
    let job = example("full-set", room.path());
    let card = run(&job, &["why", "pump:1/card-3"]);
    assert_eq!(card.code, 0, "{}", card.err);
    assert!(card.out.contains("sharp tip cut off"), "{}", card.out);
    assert!(!card.out.contains("card-1"), "{}", card.out);
    let all = run(&job, &["why", "pump"]);
    for name in ["pump 1/side-1", "pump 1/end", "pump 1/card-6", "pump 1/gusset-2", "pump 1/hinge"]
    {
        assert!(all.out.contains(name), "{name}: {}", all.out);
    }
    let none = run(&job, &["why", "pump:1/card-9"]);
    assert_eq!(none.code, 1);
}
