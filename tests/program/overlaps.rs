//! Every picture that the examples make can be read: no word on another, none off its page.

#[path = "../../src/write/tests_letters.rs"]
mod letters;

use super::simulated::job_of;
use super::{bench, cut_example, edit, example, files, run};
use letters::clashes;
use pouchwork::job::{drawings, work_out};
use pouchwork::write::{Paper, Printing, template};
use std::collections::BTreeMap;
use std::path::Path;

/// What is wrong with every picture below a folder, and how many there are of each sort.
fn looked_over(folder: &Path) -> (BTreeMap<&'static str, usize>, Vec<String>) {
    const SORTS: [&str; 8] = [
        "-places.svg",
        "overview.svg",
        "-picture.svg",
        "-order.svg",
        "punch.svg",
        "numbers.svg",
        "travel",
        "draw",
    ];
    let mut seen = BTreeMap::new();
    let mut wrong = Vec::new();
    for (name, bytes) in files(folder) {
        let Some(sort) = SORTS.into_iter().find(|sort| name.contains(sort)) else { continue };
        if !name.ends_with(".svg") {
            continue;
        }
        let (words, found) = clashes(&String::from_utf8(bytes).unwrap());
        assert!(words > 0, "{name} says nothing");
        *seen.entry(sort).or_default() += 1;
        wrong.extend(found.into_iter().map(|what| format!("{name}: {what}")));
    }
    (seen, wrong)
}

/// Draws a job that is laid and cut, and looks at all its pictures, so many of a sort, and at the pages of its templates.
pub(crate) fn read_through(job: &Path, wanted: &[(&str, usize)]) {
    let drawn = run(job, &["draw", "--json"]);
    assert_eq!(drawn.code, 0, "{}", drawn.err);
    let told: serde_json::Value = serde_json::from_str(&drawn.out).unwrap();
    let told = told["files"].as_array().unwrap().iter().map(|file| file.as_str().unwrap());
    let ends: Vec<&str> = told.filter(|file| job.join(file).is_file()).collect();
    for end in ["out/draw/overview.svg", "out/draw/pouch-places.svg"] {
        assert!(ends.iter().any(|file| file.ends_with(end)), "{end} is not told");
    }
    let (seen, mut wrong) = looked_over(&job.join("out"));
    for (sort, least) in wanted {
        assert!(seen.get(sort).is_some_and(|count| count >= least), "{sort}: {seen:?}");
    }
    let job = job_of(job);
    let (worked, _) = work_out(&job);
    let patterns = drawings(&job, &worked, &[], false).unwrap();
    let patterns: Vec<_> = patterns.into_iter().map(|(drawing, _)| drawing).collect();
    let measured = pouchwork::geom::Vec2::new(100.0, 100.0);
    let how = Printing { title: job.title.clone(), paper: Paper::A4, measured };
    for (n, page) in template(&patterns, &[], &how).pages.iter().enumerate() {
        let (_, found) = clashes(&page.to_svg());
        wrong.extend(found.into_iter().map(|what| format!("template, page {}: {what}", n + 1)));
    }
    assert!(wrong.is_empty(), "{} words\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn the_chapel_organ_can_be_read() {
    let room = bench();
    let job = example("thistlewick", room.path());
    let cut = cut_example(&job);
    assert_eq!(cut.code, 0, "{}", cut.err);
    read_through(
        &job,
        &[
            ("draw", 28),
            ("-places.svg", 3),
            ("overview.svg", 1),
            ("-picture.svg", 5),
            ("-order.svg", 6),
            ("punch.svg", 1),
        ],
    );
}

/// The overview adds up to what `lay` lays.
#[test]
fn the_overview_adds_up_to_what_is_laid() {
    let room = bench();
    let job = example("thistlewick", room.path());
    assert_eq!(run(&job, &["draw"]).code, 0);
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert!(laid.out.contains("411 of 411 placed"), "{}", laid.out);
    let svg = std::fs::read_to_string(job.join("out/draw/overview.svg")).unwrap();
    assert!(svg.contains("374 pieces, 37 spares, of 5 materials"), "374 + 37 = 411");
    // 108 facings and 4 flaps of suede, and 10 spares.
    let words: Vec<&str> =
        svg.split("aria-label=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let at = words.iter().position(|word| *word == "valve-suede").unwrap();
    assert_eq!(words[at + 1..at + 3], ["112", "10"]);
    // One part alone has its charts and no overview.
    std::fs::remove_dir_all(job.join("out/draw")).unwrap();
    assert_eq!(run(&job, &["draw", "facing"]).code, 0);
    let names: Vec<String> = files(&job.join("out/draw")).into_iter().map(|(n, _)| n).collect();
    assert!(names.iter().any(|name| name == "facing-places.svg"), "{names:?}");
    assert!(!names.iter().any(|name| name.starts_with("overview")), "{names:?}");
}

/// A wrong figure: the chart says so where `check` does.
#[test]
fn what_check_finds_odd_is_in_the_chart() {
    let room = bench();
    let job = example("thistlewick", room.path());
    let layer = |job: &Path| {
        assert_eq!(run(job, &["draw", "pouch"]).code, 0);
        let svg = std::fs::read_to_string(job.join("out/draw/pouch-places.svg")).unwrap();
        svg.split("<g ").find(|group| group.contains("id=\"ODD\"")).map(str::to_owned)
    };
    assert_eq!(layer(&job), None);
    edit(&job.join("pouches.csv"), "1.140 in", "0.86 in");
    assert_eq!(layer(&job), None, "24 % off is not yet odd, by the rule of check");
    edit(&job.join("pouches.csv"), "0.86 in", "0.80 in");
    let checked = run(&job, &["check"]);
    let told = checked.err.contains("warning[W03]") && checked.err.contains("pouch:31");
    assert!(told, "{}", checked.err);
    assert!(layer(&job).is_some_and(|odd| odd.contains("31: 0.80 in")));
}

/// A strip chart of valves and the numbers of the coupons can be read; the strips of a stretch coupon show their marks.
#[test]
fn pictures_beside_the_lay_can_be_read() {
    let room = bench();
    let job = super::travel::job(room.path());
    assert_eq!(run(&job, &["travel"]).code, 0);
    for sort in ["kerf", "stretch", "gap", "hole"] {
        let ran = run(&job, &["coupon", sort, "--material", "pouch-leather", "--machine", "knife"]);
        assert_eq!(ran.code, 0, "{sort}: {}", ran.err);
    }
    assert_eq!(run(&job, &["cut", "coupon-2"]).code, 0);
    let shown = run(&job, &["stock", "show", "H1"]);
    assert_eq!(shown.code, 0, "{}", shown.err);
    let (seen, wrong) = looked_over(&job.join("out"));
    assert!(seen.get("numbers.svg") == Some(&4) && seen.contains_key("travel"), "{seen:?}");
    let (_, more) = clashes(&std::fs::read_to_string(job.join("out/stock/H1.svg")).unwrap());
    assert!(wrong.is_empty() && more.is_empty(), "{}\n{}", wrong.join("\n"), more.join("\n"));
    let svg = std::fs::read_to_string(job.join("out/coupon-2/numbers.svg")).unwrap();
    let marks = svg.split("<g ").find(|group| group.contains("id=\"CREASE\"")).unwrap();
    // Three strips along, three across, two marks each.
    assert_eq!(marks.matches("<path ").count(), 12, "{marks}");
}
