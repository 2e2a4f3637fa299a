//! Pages in plain words, kept as Markdown beside this file and shown without its marks.

use std::fmt::Write as _;

/// Lines of a page are no longer than this.
pub(super) const ACROSS: usize = 96;

/// A page of `explain`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Page {
    /// What it goes by.
    pub name: &'static str,
    /// What it tells, in one line.
    pub brief: &'static str,
    /// The page as it is kept.
    pub markdown: &'static str,
}

/// Every page.
pub(super) const PAGES: [Page; 3] = [
    Page {
        name: "limits",
        brief: "what the program can't do, and what it takes for granted",
        markdown: include_str!("pages/limits.md"),
    },
    Page {
        name: "materials",
        brief: "what may be cut by laser, knife or hand, what never, and what to ask a seller",
        markdown: include_str!("pages/materials.md"),
    },
    Page {
        name: "safety",
        brief: "what to keep in mind before anything runs",
        markdown: include_str!("pages/safety.md"),
    },
];

/// A part of a page: its head, which the first has not, and its paragraphs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Section {
    pub head: String,
    pub blocks: Vec<Block>,
}

/// What stands below a head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Block {
    /// A paragraph.
    Words(String),
    /// An item of a list.
    Item(String),
    /// A table, its head first.
    Table(Vec<Vec<String>>),
}

impl Page {
    /// The page that goes by a name, however it is written.
    pub(super) fn named(typed: &str) -> Option<Page> {
        let typed = typed.trim().to_lowercase();
        PAGES.into_iter().find(|page| page.name == typed)
    }

    /// Its title.
    pub(super) fn title(&self) -> &'static str {
        self.markdown.lines().next().unwrap_or_default().trim_start_matches("# ")
    }

    /// What stands below its title.
    pub(super) fn sections(&self) -> Vec<Section> {
        let mut all = vec![Section { head: String::new(), blocks: Vec::new() }];
        let mut is_open = false;
        for line in self.markdown.lines().skip(1) {
            let last = all.len() - 1;
            let blocks = &mut all[last].blocks;
            let line = line.trim();
            if let Some(head) = line.strip_prefix("## ") {
                all.push(Section { head: plain(head), blocks: Vec::new() });
                is_open = false;
            } else if line.is_empty() {
                is_open = false;
            } else if let Some(cells) = line.strip_prefix('|') {
                let row: Vec<String> = cells.trim_end_matches('|').split('|').map(plain).collect();
                if row.iter().all(|cell| cell.starts_with("---")) {
                    continue;
                }
                match blocks.last_mut() {
                    Some(Block::Table(rows)) if is_open => rows.push(row),
                    _ => blocks.push(Block::Table(vec![row])),
                }
                is_open = true;
            } else if let Some(item) = line.strip_prefix("- ") {
                blocks.push(Block::Item(plain(item)));
                is_open = true;
            } else {
                match blocks.last_mut() {
                    Some(Block::Words(text) | Block::Item(text)) if is_open => {
                        text.push(' ');
                        text.push_str(&plain(line));
                    }
                    _ => blocks.push(Block::Words(plain(line))),
                }
                is_open = true;
            }
        }
        all.retain(|section| !section.blocks.is_empty());
        all
    }

    /// The page as lines for a screen.
    pub(super) fn lines(&self) -> Vec<String> {
        let mut lines = vec![self.title().to_owned()];
        for section in self.sections() {
            lines.push(String::new());
            if !section.head.is_empty() {
                lines.push(section.head.to_uppercase());
            }
            for (n, block) in section.blocks.iter().enumerate() {
                let after_item = n > 0 && matches!(section.blocks[n - 1], Block::Item(_));
                match block {
                    Block::Words(text) => {
                        if n > 0 {
                            lines.push(String::new());
                        }
                        lines.extend(wrapped(text, ACROSS));
                    }
                    Block::Item(text) => {
                        if n > 0 && !after_item {
                            lines.push(String::new());
                        }
                        let item = wrapped(text, ACROSS - 4);
                        lines.extend(item.iter().enumerate().map(|(k, line)| {
                            format!("  {} {line}", if k == 0 { '-' } else { ' ' })
                        }));
                    }
                    Block::Table(rows) => {
                        lines.push(String::new());
                        lines.extend(table(rows));
                    }
                }
            }
        }
        lines
    }
}

/// Words without the marks of Markdown.
fn plain(text: &str) -> String {
    text.trim().replace(['`', '*'], "")
}

/// A table in columns as wide as their words; where that is too wide, the last columns go on in further lines.
fn table(rows: &[Vec<String>]) -> Vec<String> {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widest = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max()
    };
    let mut widths: Vec<usize> = (0..columns).map(|c| widest(c).unwrap_or(0)).collect();
    // What does not fit is taken from the widest, step by step.
    while widths.iter().sum::<usize>() + 2 * columns > ACROSS {
        let Some(most) = widths.iter_mut().max() else { break };
        *most -= 1;
    }
    let mut lines = Vec::new();
    for row in rows {
        let cells: Vec<Vec<String>> =
            row.iter().zip(&widths).map(|(cell, width)| wrapped(cell, *width)).collect();
        for n in 0..cells.iter().map(Vec::len).max().unwrap_or(0) {
            let mut line = String::new();
            for (cell, width) in cells.iter().zip(&widths) {
                let text = cell.get(n).map_or("", String::as_str);
                let _ = write!(line, "{text:<width$}  ");
            }
            lines.push(line.trim_end().to_owned());
        }
    }
    lines
}

/// A paragraph in lines.
pub(super) fn wrapped(text: &str, across: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        let line = &mut lines[last];
        if line.is_empty() {
            line.push_str(word);
        } else if line.chars().count() + 1 + word.chars().count() > across {
            lines.push(word.to_owned());
        } else {
            line.push(' ');
            line.push_str(word);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::Polymer;
    use crate::safety::items::ITEMS;

    #[test]
    fn lines_are_no_longer_than_they_may_be_and_lose_no_word() {
        let text = "one ".repeat(200);
        let lines = wrapped(&text, ACROSS);
        assert!(lines.iter().all(|line| line.len() <= ACROSS));
        assert_eq!(lines.join(" "), text.trim_end());
    }

    #[test]
    fn a_page_on_the_screen_has_every_word_of_its_file_and_no_marks() {
        let words = |text: &str| -> Vec<String> {
            let mut all: Vec<String> = text
                .split(|c: char| !c.is_alphanumeric())
                .filter(|word| !word.is_empty())
                .map(str::to_lowercase)
                .collect();
            // A table's cells go on in further lines, so that words of a row come in another order.
            all.sort();
            all
        };
        for page in PAGES {
            let shown = page.lines();
            assert!(shown.len() > 30, "{}", page.name);
            assert!(shown.iter().all(|line| line.chars().count() <= ACROSS), "{}", page.name);
            let shown = shown.join("\n");
            assert_eq!(words(&shown), words(page.markdown), "{}", page.name);
            assert!(!shown.contains(['`', '*', '#', '|']), "{}", page.name);
        }
    }

    /// Sentences for somebody who would rather look than read.
    #[test]
    fn sentences_are_short() {
        for page in PAGES {
            let (mut words, mut sentences) = (0, 0);
            for block in page.sections().into_iter().flat_map(|section| section.blocks) {
                let (Block::Words(text) | Block::Item(text)) = block else { continue };
                for sentence in text.split(['.', ':', ';', '?']) {
                    let count = sentence.split_whitespace().count();
                    assert!(count <= 32, "{}: {sentence}", page.name);
                    (words, sentences) = (words + count, sentences + usize::from(count > 2));
                }
            }
            assert!(words < 13 * sentences, "{}: {words} words, {sentences} parts", page.name);
        }
    }

    /// Source: the hard stops of the list itself, and what it asks for.
    #[test]
    fn the_pages_name_every_hard_stop_and_the_watch() {
        let materials = Page::named("materials").unwrap().markdown.to_lowercase();
        for (name, polymer) in Polymer::NAMES {
            let word = match polymer {
                Polymer::None => continue,
                Polymer::Fluorinated => "fluorine",
                Polymer::Brominated => "bromine",
                _ => name,
            };
            assert!(materials.contains(word), "{word}");
        }
        for word in ["chrome", "old instrument", "glued in layers", "unknown"] {
            assert!(materials.contains(word), "{word}");
        }
        let safety = Page::named("safety").unwrap().markdown;
        let watch = ITEMS.iter().find(|item| item.id == "fire-watch").unwrap();
        for text in [safety, watch.text] {
            assert!(text.contains("at least 30 minutes"));
        }
        for page in [safety, Page::named("materials").unwrap().markdown] {
            let head: String = page.chars().take(700).collect();
            let head = head.to_lowercase();
            for word in ["local codes", "papers", "qualified"] {
                assert!(head.contains(word), "{word}");
            }
        }
    }
}
