//! Every code is raised by the program and told by some tiny input of the tests, or stands here with the reason why not.
//!
//! A code counts as told in two ways alone, both of which fail where it is not: as what a case of `cases.txt` expects, word for
//! word, and as what is handed to `tells` or `refused`, which assert it. That its word stands elsewhere counts for nothing.

use crate::job::CODES;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Codes without an input.
const WITHOUT: &[(&str, &str)] = &[("E70", "only a fault of the program itself brings it about")];

/// Functions that assert that a code was told.
const ASKED: [&str; 2] = ["tells(", "refused("];

fn sources(folder: &Path, found: &mut Vec<(PathBuf, String)>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let text = fs::read_to_string(&path).unwrap();
            found.push((path, text));
        }
    }
}

/// Whether a text is written as a code is.
fn is_code(text: &str) -> bool {
    let figures = text.strip_prefix(['E', 'W']).unwrap_or_default();
    (2..=3).contains(&figures.len()) && figures.bytes().all(|b| b.is_ascii_digit())
}

/// Texts in quotes that are codes and nothing else.
fn quoted(text: &str) -> impl Iterator<Item = &str> {
    text.split('"').filter(|it| is_code(it))
}

/// What the calls of a text assert: the first code of each.
fn asserted(text: &str) -> BTreeSet<&str> {
    let mut found = BTreeSet::new();
    for name in ASKED {
        for (at, _) in text.match_indices(name) {
            let before = &text[..at];
            if before.ends_with("fn ")
                || before.ends_with(|c: char| c.is_alphanumeric() || c == '_')
            {
                continue;
            }
            let call = text[at..].split(';').next().unwrap_or_default();
            found.extend(quoted(call).next());
        }
    }
    found
}

/// What the cases expect: a line that begins with a code.
fn expected(cases: &str) -> BTreeSet<&str> {
    cases.lines().filter_map(|line| line.split(' ').next()).filter(|word| is_code(word)).collect()
}

/// Where the tests of a file begin.
const TESTS: &str = "#[cfg(test)]\nmod tests {";

/// Whether a file of the program holds nothing but tests.
fn is_tests(path: &Path) -> bool {
    let name = path.to_string_lossy().replace('\\', "/");
    name.rsplit_once("/src/").is_some_and(|(_, inside)| inside.contains("tests"))
}

/// The tests of a file.
fn tests<'a>(path: &Path, text: &'a str) -> &'a str {
    if is_tests(path) { text } else { text.split_once(TESTS).map_or("", |(_, tests)| tests) }
}

/// The program's own part of a file: no tests in it, and of the list of codes only what follows it.
fn own<'a>(path: &Path, text: &'a str) -> &'a str {
    if is_tests(path) {
        return "";
    }
    let text = text.split(TESTS).next().unwrap_or_default();
    if path.ends_with("job/codes.rs") {
        return text.split_once("\n];\n").map_or("", |(_, rest)| rest);
    }
    text
}

#[test]
fn every_code_has_an_input_that_tells_it() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (mut inside, mut outside) = (Vec::new(), Vec::new());
    sources(&root.join("src"), &mut inside);
    sources(&root.join("tests/program"), &mut outside);
    let mut told = expected(include_str!("cases.txt"));
    for (path, text) in inside.iter().filter(|(path, _)| !path.ends_with("covered.rs")) {
        // Rooms have helpers of their own that are called `refused`: here only `tells` counts.
        let calls = tests(path, text).replace("refused(", "");
        told.extend(asserted(&calls).into_iter().filter_map(listed));
    }
    for (_, text) in &outside {
        told.extend(asserted(text).into_iter().filter_map(listed));
    }
    let raised: BTreeSet<&str> =
        inside.iter().flat_map(|(path, text)| quoted(own(path, text))).collect();
    for (code, why) in WITHOUT {
        assert!(listed(code).is_some() && !why.is_empty(), "{code} is gone");
        assert!(!told.contains(code), "{code} has an input now");
    }
    let known = |code: &&str| WITHOUT.iter().any(|(without, _)| without == code);
    let all = || CODES.iter().map(|(code, _)| *code);
    let missing: Vec<&str> = all().filter(|c| !told.contains(c) && !known(c)).collect();
    assert!(missing.is_empty(), "no input tells {missing:?}");
    let idle: Vec<&str> = all().filter(|code| !raised.contains(code)).collect();
    assert!(idle.is_empty(), "nothing raises {idle:?}");
}

/// A code as the list has it.
fn listed(code: &str) -> Option<&'static str> {
    CODES.iter().map(|(known, _)| *known).find(|known| *known == code)
}

#[test]
fn only_what_is_asserted_counts() {
    let text = r#"assert!(err.contains("E01")); tells(&ran, "E02"); super::tells(&ran, "W03");
        refused(&run(&job, &["x"]), 1, &["E04", "E05"]); fn tells(code: &str) {} "E06"; foretells("E07");"#;
    assert_eq!(asserted(text), BTreeSet::from(["E02", "W03", "E04"]));
    let cases = "== E08 a case\njob.toml: a => b\nE09 job.toml:1:1 text | cure\n";
    assert_eq!(expected(cases), BTreeSet::from(["E09"]));
    assert!(!is_code("E1") && !is_code("E1234") && !is_code("EX1") && !is_code("error[E12]"));
}
