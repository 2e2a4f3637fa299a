//! The README's command lines: each can be typed, and those of the first hour are typed.

use super::{bench, run};
use clap::Parser;
use pouchwork::cli::args::Typed;
use std::path::Path;

fn readme() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    std::fs::read_to_string(path).unwrap()
}

/// Words of a line as a shell parts them: blanks, quotes, notes behind a #, what is sent elsewhere left out.
fn words(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quote, mut open) = (Vec::new(), String::new(), None, false);
    for sign in line.chars() {
        match (quote, sign) {
            (Some(q), _) if q == sign => quote = None,
            (None, '"' | '\'') => (quote, open) = (Some(sign), true),
            (None, '#') if word.is_empty() && !open => break,
            (None, '>' | '|') => break,
            (None, ' ' | '\t') => {
                if open || !word.is_empty() {
                    words.push(std::mem::take(&mut word));
                }
                open = false;
            }
            _ => word.push(sign),
        }
    }
    if open || !word.is_empty() {
        words.push(word);
    }
    words
}

/// The lines of code blocks below a head, up to the next head of that rank; with no head, of the whole text.
fn lines(head: Option<&str>) -> Vec<String> {
    let (mut inside, mut wanted, mut found) = (false, head.is_none(), Vec::new());
    for line in readme().lines() {
        if line.starts_with("```") {
            inside = !inside;
        } else if !inside && line.starts_with('#') {
            wanted = head.is_none_or(|head| line.trim_start_matches('#').trim() == head);
        } else if inside && wanted {
            found.push(line.trim().to_owned());
        }
    }
    assert!(!inside, "a code block of the README is left open");
    found
}

/// What stands behind `pouchwork` in a line of a code block, if it is a command.
fn typed(line: &str) -> Option<Vec<String>> {
    let words = words(line);
    let own: &[&str] = &["pouchwork"];
    let cargo: &[&str] = &["cargo", "run", "--release", "--"];
    let begun = [own, cargo].into_iter().find(|begun| {
        words.len() >= begun.len() && words.iter().zip(*begun).all(|(word, begun)| word == begun)
    })?;
    Some(words[begun.len()..].to_vec())
}

#[test]
fn every_command_of_the_readme_can_be_typed() {
    let mut count = 0;
    for line in lines(None) {
        let Some(rest) = typed(&line) else { continue };
        count += 1;
        let all = ["pouchwork".to_owned()].into_iter().chain(rest);
        if let Err(stop) = Typed::try_parse_from(all) {
            panic!("{line}\n{stop}");
        }
    }
    assert!(count >= 30, "only {count} commands were found");
}

/// Commands that stand in a sentence or a table: whole ones, without blanks left to be filled in.
#[test]
fn every_command_within_a_line_can_be_typed() {
    let text = readme();
    let outside: String =
        text.split("```").step_by(2).collect::<Vec<_>>().join("\n").replace('\n', " ");
    let mut count = 0;
    for code in outside.split('`').skip(1).step_by(2) {
        let Some(rest) = typed(code) else { continue };
        if rest.iter().any(|word| word.contains('…')) {
            continue;
        }
        count += 1;
        let all = ["pouchwork".to_owned()].into_iter().chain(rest);
        if let Err(stop) = Typed::try_parse_from(all) {
            assert!(!stop.use_stderr(), "{code}\n{stop}");
        }
    }
    assert!(count >= 8, "only {count} commands were found");
}

#[test]
fn the_first_hour_goes_as_it_is_written() {
    let room = bench();
    let mut folder = room.path().to_owned();
    let mut count = 0;
    let heads = ["First cut in five minutes", "The first cut is a coupon"];
    for line in heads.iter().flat_map(|head| lines(Some(head))) {
        let words = words(&line);
        if let [change, to] = &words[..]
            && change == "cd"
        {
            folder = folder.join(to);
        }
        let Some(rest) = typed(&line) else { continue };
        if matches!(&rest[..], [a, b, ..] if a == "coupon" && b == "read") {
            // Its table is filled by hand.
            continue;
        }
        let mut rest: Vec<&str> = rest.iter().map(String::as_str).collect();
        if rest == ["lay"] {
            rest.extend(["--effort", "quick"]);
        }
        let ran = run(&folder, &rest);
        assert_eq!(ran.code, 0, "{line}\n{}{}", ran.out, ran.err);
        count += 1;
    }
    assert!(count >= 7, "{count} commands were run");
}

#[test]
fn words_are_parted_as_a_shell_does() {
    assert_eq!(words("a \"b c\" 'd'  # e"), ["a", "b c", "d"]);
    assert_eq!(words("a --x=\"1 in\" > b"), ["a", "--x=1 in"]);
    assert_eq!(words("a \"\" #60"), ["a", ""]);
}
