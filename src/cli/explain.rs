//! `explain`: what a code means in plain words, and what to do.

use super::Answer;
use crate::fault::{Fault, Sources, nearest};
use crate::job::{CODES, explained};
use serde_json::json;

/// Lines of a paragraph are no longer than this.
const ACROSS: usize = 96;

pub(super) fn run(code: Option<&str>) -> Answer {
    let mut answer = Answer::new();
    let Some(typed) = code else {
        for (code, brief) in CODES {
            answer.line(format!("{code:<5} {brief}"));
        }
        answer.hint("next: pouchwork explain CODE, for its cause and what to do");
        let list: Vec<_> =
            CODES.iter().map(|(code, brief)| json!({ "code": code, "brief": brief })).collect();
        answer.result = json!({ "codes": list });
        return answer;
    };
    let Some(it) = explained(&as_listed(typed)) else {
        let known = CODES.iter().map(|(code, _)| *code);
        let cure = match nearest(&as_listed(typed), known).filter(|_| typed.len() <= 5) {
            Some(near) => format!("is {near} meant? `pouchwork explain` lists all codes"),
            None => "a code is E or W and figures, as in E24; `pouchwork explain` lists all".into(),
        };
        let fault = Fault::error("E125", format!("there is no code \"{typed}\"")).cure(cure);
        return Answer::refused(vec![fault], Sources::default());
    };
    answer.line(format!("{}: {}", it.code, it.brief));
    answer.line(if it.code.starts_with('W') {
        "A warning: the work goes on, but look."
    } else {
        "A fault: the work stops until it is mended."
    });
    answer.line("");
    for line in wrapped(&it.words) {
        answer.line(line);
    }
    if !it.example.is_empty() {
        answer.line("");
    }
    for line in &it.example {
        answer.line(format!("    {line}"));
    }
    answer.result = json!({
        "code": it.code,
        "brief": it.brief,
        "severity": if it.code.starts_with('W') { "warning" } else { "error" },
        "words": it.words,
        "example": it.example,
    });
    answer
}

/// A code as it is listed: capital letter, two figures at least; brackets and blanks around it do no harm.
fn as_listed(typed: &str) -> String {
    let bare = typed.trim_matches(|c: char| !c.is_ascii_alphanumeric()).to_uppercase();
    match bare.split_at_checked(1) {
        Some((letter, figure)) if figure.len() == 1 => format!("{letter}0{figure}"),
        _ => bare,
    }
}

/// A paragraph in lines.
fn wrapped(text: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        if !lines[last].is_empty()
            && lines[last].chars().count() + 1 + word.chars().count() > ACROSS
        {
            lines.push(word.to_owned());
        } else {
            let blank = if lines[last].is_empty() { "" } else { " " };
            lines[last] = format!("{}{blank}{word}", lines[last]);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_found_however_it_is_typed() {
        for typed in ["E24", "e24", "[E24]", " e24 "] {
            assert_eq!(as_listed(typed), "E24");
        }
        assert_eq!(as_listed("w3"), "W03");
        assert_eq!(as_listed("ß"), "");
        assert_eq!(as_listed(""), "");
    }

    #[test]
    fn lines_are_no_longer_than_they_may_be_and_lose_no_word() {
        let text = "one ".repeat(200);
        let lines = wrapped(&text);
        assert!(lines.iter().all(|line| line.len() <= ACROSS));
        assert_eq!(lines.join(" "), text.trim_end());
    }
}
