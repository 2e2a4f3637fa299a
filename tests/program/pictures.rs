//! The README's walk-through, as it is written, and its pictures: those that the program draws now.
//!
//! `POUCHWORK_RENEW=1 cargo test --test all pictures` writes the drawings anew; the picture of the job sheet comes from
//! `tests/oracle/page_check.py` with `--shot`, and is only looked at here.

use super::readme::{lines, readme, typed};
use super::{bench, run, thistlewick};
use std::fs;
use std::path::Path;

/// Names in the folder of pictures, with the place in `out` where the program writes each.
const DRAWN: [(&str, &str); 3] = [
    ("pouch-31.svg", "draw/pouch-31.svg"),
    ("H-1-picture.svg", "lay-1/H-1-picture.svg"),
    ("H-1-order.svg", "lay-1/H-1-order.svg"),
];

/// Not drawn by the program but by a browser.
const SHOT: &str = "job-sheet.png";

/// A page with four pictures should be there at once (bytes).
const MOST: u64 = 300_000;

const FOLDER: &str = "examples/thistlewick/pictures";

#[test]
fn the_walk_through_goes_as_it_is_written_and_shows_what_it_draws() {
    let room = bench();
    let job = thistlewick(&room.path().join("examples"));
    let mut count = 0;
    for line in lines(Some("A walk-through")) {
        let rest = typed(&line).unwrap_or_else(|| panic!("{line} is no command"));
        let rest: Vec<&str> = rest.iter().map(String::as_str).collect();
        let ran = run(room.path(), &rest);
        assert_eq!(ran.code, 0, "{line}\n{}{}", ran.out, ran.err);
        count += 1;
    }
    assert!(count >= 7, "{count} commands were run");
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join(FOLDER);
    let renews = std::env::var_os("POUCHWORK_RENEW").is_some_and(|it| !it.is_empty());
    for (name, place) in DRAWN {
        let drawn = fs::read(job.join("out").join(place)).unwrap();
        if renews {
            fs::create_dir_all(&kept).unwrap();
            fs::write(kept.join(name), &drawn).unwrap();
        }
        let there = fs::read(kept.join(name)).unwrap_or_default();
        assert!(
            there == drawn,
            "{FOLDER}/{name} is old: POUCHWORK_RENEW=1 cargo test --test all pictures"
        );
    }
}

#[test]
fn every_picture_is_shown_and_small() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = readme();
    let mut there: Vec<String> = fs::read_dir(root.join(FOLDER))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    there.sort();
    let mut known: Vec<&str> = DRAWN.iter().map(|(name, _)| *name).chain([SHOT]).collect();
    known.sort_unstable();
    assert_eq!(there, known);
    for name in known {
        let path = format!("{FOLDER}/{name}");
        let size = fs::metadata(root.join(&path)).unwrap().len();
        assert!(size < MOST, "{path} has {size} bytes");
        let link = format!("]({path})");
        let before = text.split(&link).next().unwrap();
        assert!(before.len() < text.len(), "{path} is not shown");
        let says = before.rsplit("![").next().unwrap();
        assert!(says.split_whitespace().count() > 3, "{path} has no words for who can't see it");
    }
    for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
        let is_file = !link.starts_with('#') && !link.contains("://");
        assert!(!is_file || root.join(link).is_file(), "{link} is not there");
    }
}
