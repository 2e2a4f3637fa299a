//! `explain`: what a code means in plain words and what to do, and pages on limits, materials and safety.

use super::Answer;
use super::pages::{ACROSS, Block, PAGES, Page, wrapped};
use crate::fault::{Fault, Sources, nearest};
use crate::job::{CODES, Explained, explained};
use serde_json::{Value, json};

pub(super) fn run(topic: Option<&str>) -> Answer {
    let Some(typed) = topic else { return list() };
    if let Some(page) = Page::named(typed) {
        return shown(&page);
    }
    if let Some(it) = explained(&as_listed(typed)) {
        return of_code(&it);
    }
    let known = CODES.iter().map(|(code, _)| *code);
    let pages = PAGES.map(|page| page.name);
    let near = nearest(&as_listed(typed), known)
        .filter(|_| typed.len() <= 5)
        .or_else(|| nearest(&typed.to_lowercase(), pages));
    let cure = match near {
        Some(near) => format!("is {near} meant? `pouchwork explain` lists all pages and codes"),
        None => format!(
            "a code is E or W and figures, as in E24; pages are {}; `pouchwork explain` lists all",
            pages.join(", ")
        ),
    };
    let fault = Fault::error("E125", format!("there is no code or page \"{typed}\"")).cure(cure);
    Answer::refused(vec![fault], Sources::default())
}

/// All pages and codes, a line each.
fn list() -> Answer {
    let mut answer = Answer::new();
    for page in PAGES {
        answer.line(format!("{:<10} {}", page.name, page.brief));
    }
    for (code, brief) in CODES {
        answer.line(format!("{code:<10} {brief}"));
    }
    answer.hint("next: pouchwork explain NAME, for the page, or for a code's cause and what to do");
    let codes: Vec<_> =
        CODES.iter().map(|(code, brief)| json!({ "code": code, "brief": brief })).collect();
    let pages = PAGES.map(|page| json!({ "page": page.name, "brief": page.brief }));
    answer.result = json!({ "pages": pages, "codes": codes });
    answer
}

fn shown(page: &Page) -> Answer {
    let mut answer = Answer::new();
    answer.lines = page.lines();
    let block = |block: &Block| -> Value {
        match block {
            Block::Words(text) => json!({ "words": text }),
            Block::Item(text) => json!({ "item": text }),
            Block::Table(rows) => json!({ "table": rows }),
        }
    };
    let sections: Vec<Value> = page
        .sections()
        .iter()
        .map(|it| json!({ "head": it.head, "blocks": it.blocks.iter().map(block).collect::<Vec<_>>() }))
        .collect();
    answer.result = json!({
        "page": page.name,
        "brief": page.brief,
        "title": page.title(),
        "sections": sections,
    });
    answer
}

fn of_code(it: &Explained) -> Answer {
    let mut answer = Answer::new();
    answer.line(format!("{}: {}", it.code, it.brief));
    answer.line(if it.code.starts_with('W') {
        "A warning: the work goes on, but look."
    } else {
        "A fault: the work stops until it is mended."
    });
    answer.line("");
    answer.lines.extend(wrapped(&it.words, ACROSS));
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
}
