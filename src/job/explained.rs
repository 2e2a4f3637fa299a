//! What every code means at the bench: a paragraph each, and an example where one helps.

use super::codes::CODES;

/// The paragraphs, in the order of the codes.
const TEXT: &str = include_str!("explained.txt");

/// A code with all that is to be said of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Explained {
    /// The code.
    pub code: &'static str,
    /// What it means in one line.
    pub brief: &'static str,
    /// What it means, why it comes about as a rule, what to do: one paragraph without line breaks.
    pub words: String,
    /// Lines to type or to write; none where words are enough.
    pub example: Vec<&'static str>,
}

/// What there is to say of a code; none for one that does not exist.
pub fn explained(code: &str) -> Option<Explained> {
    let (code, brief) = CODES.iter().find(|(known, _)| *known == code)?;
    let block = blocks().find(|(known, _)| known == code)?.1;
    let (example, words): (Vec<&str>, Vec<&str>) =
        block.lines().filter(|line| !line.trim().is_empty()).partition(|l| l.starts_with("    "));
    Some(Explained {
        code,
        brief,
        words: words.join(" "),
        example: example.into_iter().map(|line| &line[4..]).collect(),
    })
}

/// Each code of the text with its block.
fn blocks() -> impl Iterator<Item = (&'static str, &'static str)> {
    TEXT.split("\n== ").skip(1).filter_map(|block| block.split_once('\n'))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_code_has_its_paragraph_and_every_paragraph_its_code() {
        let told: Vec<&str> = blocks().map(|(code, _)| code).collect();
        let known: Vec<&str> = CODES.iter().map(|(code, _)| *code).collect();
        assert_eq!(told, known);
    }

    fn words(text: &str) -> BTreeSet<String> {
        let split = text.split(|c: char| !c.is_alphanumeric());
        split.filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
    }

    #[test]
    fn a_paragraph_says_more_than_the_line_that_a_code_has_already() {
        for (code, brief) in CODES {
            let told = explained(code).unwrap();
            let more = words(&told.words).difference(&words(brief)).count();
            assert!(more >= 14, "{code} has {more} words of its own");
            assert!(!told.words.contains(brief), "{code} repeats its line");
            assert!(told.words.ends_with(['.', '!']), "{code}: {}", told.words);
            assert!(told.words.len() < 700, "{code} is longer than a paragraph");
        }
    }

    #[test]
    fn a_code_that_is_not_there_has_no_paragraph() {
        assert_eq!(explained("E999x"), None);
        assert_eq!(explained(""), None);
    }
}
