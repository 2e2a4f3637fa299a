//! Rules that keep the rooms apart: who may use whom, which room is the door to which library, how long a file is.

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms, bottom to top: each may use what stands before it.
const ROOMS: &[&str] = &[
    "units", "fault", "geom", "letters", "material", "machine", "part", "sheet", "lay", "coupon",
    "order", "plan", "write", "prove", "read", "safety", "stock", "job", "cli",
];

/// Rooms that may use only few of those below them.
const APART: &[(&str, &[&str])] = &[("prove", &["prove", "units", "fault"])];

/// The doors to the libraries.
const DOORS: &[(&str, &[&str])] = &[
    ("kurbo", &["geom"]),
    ("cavalier_contours", &["geom"]),
    ("i_overlay", &["geom"]),
    ("approx", &["geom"]),
    ("svg", &["write"]),
    ("lyon", &["write"]),
    ("pdf_writer", &["write"]),
    ("resvg", &["write"]),
    ("dxf", &["read"]),
    ("roxmltree", &["read"]),
    ("toml", &["stock", "job"]),
    ("csv", &["job"]),
    ("clap", &["cli"]),
    ("indicatif", &["cli"]),
    ("annotate_snippets", &["cli"]),
    ("ctrlc", &["cli"]),
    ("tempfile", &["cli"]),
    ("serde", &["lay", "stock"]),
    ("serde_json", &["lay", "stock", "cli"]),
    ("sha2", &["lay", "write", "prove"]),
    ("rayon", &["lay", "write", "cli"]),
    ("clap_complete", &["cli"]),
];

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

fn sources() -> Vec<(String, String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    files(&root, &mut found);
    found
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
            let room = name.split(['/', '.']).next().unwrap().to_owned();
            let text = fs::read_to_string(&path).unwrap();
            (name, room, text)
        })
        .collect()
}

/// Code without its comments and doc lines.
fn code(text: &str) -> String {
    text.lines().map(|line| line.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n")
}

fn is_test(name: &str) -> bool {
    name.contains("tests")
}

#[test]
fn rooms_use_only_what_stands_below_them() {
    for (name, room, text) in sources() {
        if room == "lib" || room == "main" || is_test(&name) {
            continue;
        }
        let here = ROOMS
            .iter()
            .position(|r| *r == room)
            .unwrap_or_else(|| panic!("{room} has no place in the order"));
        let code = code(text.split("#[cfg(test)]\nmod tests {").next().unwrap());
        for (at, _) in code.match_indices("crate::") {
            let used: String = code[at + 7..]
                .chars()
                .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                .collect();
            let there = ROOMS
                .iter()
                .position(|r| *r == used)
                .unwrap_or_else(|| panic!("{name} uses crate::{used}, which is no room"));
            assert!(there <= here, "{name} in room {room} uses {used}, which stands above it");
            let apart = APART.iter().find(|(lone, _)| *lone == room);
            assert!(
                apart.is_none_or(|(_, few)| few.contains(&used.as_str())),
                "{name} uses {used}, and {room} shares no code with it"
            );
        }
    }
}

#[test]
fn each_library_has_its_door() {
    let manifest =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml")).unwrap();
    let listed = manifest.split("[dependencies]").nth(1).unwrap().split("\n[").next().unwrap();
    let crates: Vec<String> = listed
        .lines()
        .filter_map(|l| l.split_once('='))
        .map(|(name, _)| name.trim().replace('-', "_"))
        .collect();
    for name in &crates {
        assert!(DOORS.iter().any(|(door, _)| door == name), "{name} has no door");
    }
    for (name, rooms) in DOORS {
        assert!(crates.iter().any(|c| c == name), "{name} has a door and is not in Cargo.toml");
        let mut used = false;
        for (file, room, text) in sources() {
            let code = code(text.split("#[cfg(test)]\nmod tests {").next().unwrap());
            let marks = [
                format!("use {name}::"),
                format!("use ::{name}::"),
                format!(" {name}::"),
                format!("({name}::"),
                format!("&{name}::"),
            ];
            let local = code.contains(&format!("mod {name};"));
            if !is_test(&file) && !local && marks.iter().any(|m| code.contains(m.as_str())) {
                used = true;
                assert!(
                    rooms.contains(&room.as_str()),
                    "{file} uses {name}, whose door is {rooms:?}"
                );
            }
        }
        assert!(used, "{name} is not used at all");
    }
}

#[test]
fn files_are_readable_in_one_sitting() {
    for (name, _, text) in sources() {
        assert!(text.lines().count() <= 700, "{name} has {} lines", text.lines().count());
    }
}

#[test]
fn the_map_names_every_room() {
    let (_, _, lib) = sources().into_iter().find(|(name, ..)| name == "lib.rs").unwrap();
    let developers =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).unwrap();
    for room in ROOMS {
        assert!(lib.contains(&format!("pub mod {room};")), "lib.rs does not open {room}");
        assert!(developers.contains(&format!("`{room}`")), "DEVELOPERS.md does not name {room}");
    }
    for (name, _) in DOORS {
        let name = name.replace('_', "-");
        let alone = name.replace('-', "_");
        assert!(
            developers.contains(&format!("`{name}`")) || developers.contains(&format!("`{alone}`")),
            "DEVELOPERS.md does not say what {name} is for"
        );
    }
}

#[test]
fn nothing_is_left_for_later() {
    for (name, _, text) in sources() {
        for word in ["todo!", "unimplemented!", "dbg!", "FIXME", "TODO", "XXX"] {
            assert!(!text.contains(word), "{name} says {word}");
        }
    }
}

/// Keys that a reader of profiles takes: what stands first in calls such as `take_length("edge", …)`.
fn keys(text: &str) -> Vec<&str> {
    let parts: Vec<&str> = text.split("(\"").collect();
    let calls = parts.windows(2).filter(|two| {
        let name = two[0].rsplit(|c: char| !c.is_ascii_alphanumeric() && c != '_').next();
        name.is_some_and(|n| n.starts_with("take") || matches!(n, "need" | "need_text" | "mm"))
    });
    calls.filter_map(|two| two[1].split('"').next()).collect()
}

#[test]
fn every_key_of_a_profile_is_in_the_readme() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = fs::read_to_string(root.join("README.md")).unwrap();
    let words: Vec<&str> = readme.split(|c: char| !c.is_ascii_alphanumeric() && c != '-').collect();
    let mut count = 0;
    for file in ["machines.rs", "plates.rs", "materials.rs", "buy.rs"] {
        let text = fs::read_to_string(root.join("src/job").join(file)).unwrap();
        for key in keys(&text) {
            count += 1;
            assert!(words.contains(&key), "the README does not tell of `{key}` ({file})");
        }
    }
    assert!(count > 40, "only {count} keys were found");
}
