//! What is wrong, where it stands, and what to type instead.
//!
//! A fault is a value: the library collects them and never prints. A run gathers all the faults it can find,
//! so that the whole list can be mended in one go.

use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// Where something stands in one of the user's files.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file as it is shown, relative to the job folder where it lies in it.
    pub file: Arc<str>,
    /// Byte range in the text of the file.
    pub span: Span,
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
}

/// A byte range that can be ordered and compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Place {
    /// The place of a byte range of `text`, which is the whole text of `file`.
    ///
    /// A range that runs past the end, or that cuts a character, is drawn in to what is there.
    pub fn of(file: &Arc<str>, text: &str, span: Range<usize>) -> Place {
        let start = floor_char(text, span.start);
        let end = floor_char(text, span.end.max(start));
        let before = &text[..start];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Place {
            file: Arc::clone(file),
            span: Span { start, end },
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
        }
    }

    /// The head of a file: for faults that concern the whole of it.
    pub fn head(file: &Arc<str>) -> Place {
        Place { file: Arc::clone(file), span: Span { start: 0, end: 0 }, line: 1, column: 1 }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} line {}", self.file, self.line)
    }
}

fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// How grave a fault is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gravity {
    /// Work goes on, but someone should look.
    Warning,
    /// Nothing is made until this is mended.
    Error,
}

/// One place with a word about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// Where.
    pub place: Place,
    /// What stands there; may be empty.
    pub label: String,
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Stable code: `E` and two digits, or `W` and two digits for a warning.
    pub code: &'static str,
    /// How grave it is.
    pub gravity: Gravity,
    /// What was found, in one line.
    pub text: String,
    /// Where; the first mark is the fault itself, others explain it.
    pub marks: Vec<Mark>,
    /// What to do or to type.
    pub cure: Option<String>,
}

impl Fault {
    /// A fault that stops the work.
    pub fn error(code: &'static str, text: impl Into<String>) -> Fault {
        Fault { code, gravity: Gravity::Error, text: text.into(), marks: Vec::new(), cure: None }
    }

    /// A fault that is only pointed out.
    pub fn warning(code: &'static str, text: impl Into<String>) -> Fault {
        Fault { gravity: Gravity::Warning, ..Fault::error(code, text) }
    }

    /// Adds the place where it stands.
    #[must_use]
    pub fn at(mut self, place: &Place) -> Fault {
        self.marks.push(Mark { place: place.clone(), label: String::new() });
        self
    }

    /// Adds a place if there is one.
    #[must_use]
    pub fn at_some(self, place: Option<&Place>) -> Fault {
        match place {
            Some(place) => self.at(place),
            None => self,
        }
    }

    /// Adds a place with a word about it.
    #[must_use]
    pub fn mark(mut self, place: &Place, label: impl Into<String>) -> Fault {
        self.marks.push(Mark { place: place.clone(), label: label.into() });
        self
    }

    /// Adds what to do about it.
    #[must_use]
    pub fn cure(mut self, cure: impl Into<String>) -> Fault {
        self.cure = Some(cure.into());
        self
    }

    /// What to do about it. A built-in profile is no file of the user's: how to make it one is said besides.
    pub fn full_cure(&self) -> Option<String> {
        let mut built_in =
            self.marks.iter().filter_map(|mark| mark.place.file.strip_prefix("built-in "));
        let Some(path) = built_in.next() else { return self.cure.clone() };
        let name = path.rsplit('/').next().unwrap_or(path).trim_end_matches(".toml");
        let own = format!(
            "that profile is built in; make it your own (in the job folder): pouchwork profile {name} > {path}"
        );
        Some(match &self.cure {
            Some(cure) => format!("{cure}; {own}"),
            None => own,
        })
    }

    /// Whether it stops the work.
    pub fn is_error(&self) -> bool {
        self.gravity == Gravity::Error
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "[{}] {}", self.code, self.text)?;
        if let Some(mark) = self.marks.first() {
            write!(f, " ({}:{}:{})", mark.place.file, mark.place.line, mark.place.column)?;
        }
        if let Some(cure) = self.full_cure() {
            write!(f, "; {cure}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Fault {}

/// The texts of the user's files, kept so that a fault can show its line.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    texts: BTreeMap<Arc<str>, Arc<str>>,
}

impl Sources {
    /// Keeps the text of a file under the name that places use.
    pub fn keep(&mut self, file: &Arc<str>, text: &str) {
        self.texts.insert(Arc::clone(file), Arc::from(text));
    }

    /// The text of a file.
    pub fn text(&self, file: &str) -> Option<&str> {
        self.texts.get(file).map(AsRef::as_ref)
    }
}

/// Whether any of the faults stops the work.
pub fn any_error(faults: &[Fault]) -> bool {
    faults.iter().any(Fault::is_error)
}

/// The nearest of the known names, if it is near enough to be a slip of the pen.
///
/// Distance is counted in single-letter slips (insert, leave out, exchange, swap of neighbours); a third of the
/// word's length is allowed, at least one. Words that differ in signs and spaces alone are the same.
///
/// # Source
/// Damerau, "A technique for computer detection and correction of spelling errors", 1964.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = (word.chars().count() / 3).max(1);
    // What differs in signs alone comes first: pouch12 means pouch:12 and not pouch:2.
    let bare = |text: &str| -> String {
        text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
    };
    let known: Vec<&str> = known.into_iter().collect();
    if let Some(same) = known.iter().find(|name| !bare(word).is_empty() && bare(name) == bare(word))
    {
        return Some(same);
    }
    known
        .into_iter()
        .map(|name| (slips(&word.to_lowercase(), &name.to_lowercase()), name))
        .filter(|(slips, _)| *slips <= allowed)
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, name)| name)
}

/// The names that are least unlike a word, the likeliest first: those that share most of its letters in pairs.
pub fn likeliest<'a>(word: &str, known: &[&'a str], most: usize) -> Vec<&'a str> {
    let pairs = |text: &str| {
        let low: Vec<char> = text.to_lowercase().chars().take(64).collect();
        low.windows(2).map(<[char]>::to_vec).collect::<Vec<_>>()
    };
    let own = pairs(word);
    let shared = |name: &str| pairs(name).iter().filter(|pair| own.contains(pair)).count();
    let mut list: Vec<&str> = known.to_vec();
    list.sort_by_key(|name| (std::cmp::Reverse(shared(name)), slips(word, name)));
    list.truncate(most);
    list
}

fn slips(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().take(64).collect();
    let b: Vec<char> = b.chars().take(64).collect();
    let mut rows = vec![vec![0_usize; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let change = usize::from(a[i - 1] != b[j - 1]);
            let mut least =
                (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    rows[a.len()][b.len()]
}

/// Asserts that a code is among those told. `every_code_has_an_input_that_tells_it` looks for these calls.
#[cfg(test)]
pub(crate) fn tells<'a>(told: impl IntoIterator<Item = &'a str>, code: &str) {
    let told: Vec<&str> = told.into_iter().collect();
    assert!(told.contains(&code), "{code} is not among {told:?}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_counts_lines_and_characters() {
        let file: Arc<str> = Arc::from("job.toml");
        let text = "a = 1\nwëll = 2\n";
        let at = text.find('2').unwrap_or(0);
        let place = Place::of(&file, text, at..at + 1);
        assert_eq!((place.line, place.column), (2, 8));
        let past = Place::of(&file, text, 900..901);
        assert_eq!(past.span.end, text.len());
    }

    #[test]
    fn a_built_in_profile_is_first_made_ones_own() {
        let place = Place::head(&Arc::from("built-in materials/thin-card.toml"));
        let fault = Fault::error("E57", "no feed").at(&place).cure("write feed");
        let cure = fault.full_cure().unwrap();
        assert!(cure.starts_with("write feed; "), "{cure}");
        assert!(cure.ends_with("pouchwork profile thin-card > materials/thin-card.toml"), "{cure}");
        let own = Place::head(&Arc::from("materials/thin-card.toml"));
        let fault = Fault::error("E57", "no feed").at(&own).cure("write feed");
        assert_eq!(fault.full_cure().as_deref(), Some("write feed"));
    }

    #[test]
    fn near_names_are_found_and_far_ones_are_not() {
        assert_eq!(nearest("poutch", ["pouch", "gasket"]), Some("pouch"));
        assert_eq!(nearest("wel", ["well", "land"]), Some("well"));
        assert_eq!(nearest("lnad", ["well", "land"]), Some("land"));
        assert_eq!(nearest("banana", ["well", "land"]), None);
    }
}
