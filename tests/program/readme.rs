//! The README's command lines: each can be typed, and those of the first hour are typed.

use super::{bench, run};
use clap::Parser;
use pouchwork::cli::args::Typed;
use std::path::Path;

pub(super) fn readme() -> String {
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
pub(super) fn lines(head: Option<&str>) -> Vec<String> {
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
pub(super) fn typed(line: &str) -> Option<Vec<String>> {
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
            assert!(!stop.use_stderr(), "{line}\n{stop}");
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
    let heads = ["Your own job, in your own words", "The first cut is a coupon"];
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

/// A block of code below a head: what stands behind its three ticks, and its lines.
fn blocks(head: &str) -> Vec<(String, Vec<String>)> {
    let mut found: Vec<(String, Vec<String>)> = Vec::new();
    let (mut inside, mut wanted) = (false, false);
    for line in readme().lines() {
        if let Some(about) = line.strip_prefix("```") {
            inside = !inside;
            if inside && wanted {
                found.push((about.to_owned(), Vec::new()));
            }
        } else if !inside && line.starts_with('#') {
            wanted = line.trim_start_matches('#').trim() == head;
        } else if inside && wanted {
            let (_, lines) = found.last_mut().unwrap();
            lines.push(line.to_owned());
        }
    }
    found
}

/// Files as they stand there, commands one after the other, and what is shown of their answers.
#[test]
fn a_job_from_an_empty_folder_goes_as_it_is_written() {
    let room = bench();
    let (mut files, mut commands, mut shown) = (0, 0, 0);
    let mut said = String::new();
    for (about, lines) in blocks("From an empty folder") {
        if let Some((_, name)) = about.split_once(' ') {
            std::fs::write(room.path().join(name), lines.join("\n") + "\n").unwrap();
            files += 1;
        } else if about == "text" {
            for line in &lines {
                assert!(said.lines().any(|it| it == line), "{line}\n{said}");
                shown += 1;
            }
        } else {
            said.clear();
            for line in &lines {
                let mut rest = typed(line).unwrap_or_else(|| panic!("{line} is no command"));
                if rest == ["lay"] {
                    rest.extend(["--effort", "quick"].map(str::to_owned));
                }
                let rest: Vec<&str> = rest.iter().map(String::as_str).collect();
                let ran = run(room.path(), &rest);
                assert_eq!(ran.code, 0, "{line}\n{}{}", ran.out, ran.err);
                said.push_str(&ran.out);
                commands += 1;
            }
        }
    }
    assert!(
        (files, commands, shown) >= (3, 6, 5),
        "{files} files, {commands} commands, {shown} lines"
    );
}

/// What the contents name is there, and every head of the second rank is named by them.
#[test]
fn the_contents_lead_to_every_head() {
    let text = readme();
    let anchor = |head: &str| -> String {
        let kept = head.trim_start_matches('#').trim().to_lowercase();
        kept.chars()
            .filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-'))
            .collect::<String>()
            .replace(' ', "-")
    };
    let outside: String = text.split("```").step_by(2).collect();
    let heads: Vec<&str> = outside.lines().filter(|line| line.starts_with('#')).collect();
    for link in outside.split("](#").skip(1) {
        let link = link.split(')').next().unwrap();
        assert!(heads.iter().any(|head| anchor(head) == link), "nothing stands at #{link}");
    }
    let contents = text.split("**Contents.**").nth(1).unwrap().split("\n## ").next().unwrap();
    let last = ["carrying-it-on", "changes", "licence"];
    for head in heads.iter().filter(|head| head.starts_with("## ")) {
        let anchor = anchor(head);
        let named = contents.contains(&format!("(#{anchor})")) || last.contains(&&*anchor);
        assert!(named, "the contents do not name {head}");
    }
}

#[test]
fn tables_are_whole() {
    // A row of a table after an empty line is a row of no table.
    let text = readme();
    let lines: Vec<&str> = text.lines().collect();
    for two in lines.windows(3) {
        let begins = two[1].starts_with('|') && !two[0].starts_with('|');
        assert!(!begins || two[2].starts_with("| ---"), "no head above {}", two[1]);
    }
}

#[test]
fn words_are_parted_as_a_shell_does() {
    assert_eq!(words("a \"b c\" 'd'  # e"), ["a", "b c", "d"]);
    assert_eq!(words("a --x=\"1 in\" > b"), ["a", "--x=1 in"]);
    assert_eq!(words("a \"\" #60"), ["a", ""]);
}
