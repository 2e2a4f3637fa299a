//! Every code is told by some tiny input of the tests, or stands here with the reason why not.

use crate::job::CODES;
use std::fs;
use std::path::Path;

/// Codes without an input.
const WITHOUT: &[(&str, &str)] = &[
    ("E61", "claims are kept apart before it comes to this: the code is kept"),
    ("E68", "wants a coupon filled by hand for one of two knives that share their figures"),
    ("E70", "only a fault of the program itself brings it about"),
    ("W94", "wants the record of a lay gone between its tally and the recut"),
    ("W95", "wants a sheet with its two points far off the piece"),
    ("W13", "traced lines are told of by W15 today: the code is kept"),
];

fn gather(folder: &Path, all: bool, found: &mut String) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let tests = all || name.contains("tests");
        if path.is_dir() {
            gather(&path, tests, found);
        } else if name == "covered.rs"
            || !(path.extension().is_some_and(|e| e == "rs") || name == "cases.txt")
        {
        } else if tests {
            found.push_str(&fs::read_to_string(&path).unwrap());
        } else {
            let text = fs::read_to_string(&path).unwrap();
            found.push_str(text.split("#[cfg(test)]\nmod tests {").nth(1).unwrap_or_default());
        }
    }
}

#[test]
fn every_code_has_an_input_in_the_tests_or_a_reason() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = String::new();
    gather(&root.join("src"), false, &mut found);
    gather(&root.join("tests/program"), true, &mut found);
    let words: std::collections::BTreeSet<&str> =
        found.split(|c: char| !c.is_ascii_alphanumeric()).collect();
    let without: Vec<&str> = CODES
        .iter()
        .map(|(code, _)| *code)
        .filter(|code| !words.contains(code) && !WITHOUT.iter().any(|(known, _)| known == code))
        .collect();
    assert!(without.is_empty(), "no input tells {without:?}");
    for (code, why) in WITHOUT {
        assert!(CODES.iter().any(|(known, _)| known == code), "{code} is gone");
        assert!(!why.is_empty());
    }
}
