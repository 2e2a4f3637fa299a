//! A part of each kind as text, with every key it may have: to look at, and to copy into a job.

use super::figures::example;
use crate::part::{Companion, Key, KindCard, Takes};
use std::fmt::Write;

/// Where the remarks begin.
const REMARK: usize = 44;

/// The text of a part of this kind. Keys that it cannot do without stand as they are typed; the others behind a `#`.
pub fn sample(card: &KindCard) -> String {
    let mut text = format!("# {}: {}\n", card.name, card.about);
    text.push_str("# A line behind a # is a key that may be left out.\n\n[[part]]\n");
    line(&mut text, false, &format!("name = \"my-{}\"", card.name), "your name for it");
    line(&mut text, false, &format!("kind = \"{}\"", card.name), "");
    line(&mut text, false, "count = 1", "or, for numbered places, positions = \"1-54\"");
    stuff(&mut text, false);
    line(&mut text, true, "mate-of = \"other\"", "a part whose mirror image it is");
    line(&mut text, true, "table = \"measures.csv\"", "measures of each place: `pouchwork table`");
    keys(&mut text, card.keys, false);
    tables(&mut text, card.keys, "part");
    for companion in card.companions {
        companion_of(&mut text, companion);
    }
    text
}

fn stuff(text: &mut String, aside: bool) {
    line(text, aside, "material = \"a-material\"", "a profile: `pouchwork profile`");
    line(text, aside, "cut-with = \"knife\"", "a name under [machines]");
    line(text, true, "face = \"grain\"", "the side it is drawn from");
    line(text, true, "grain = \"along length\"", "how it lies; or \"across length\", \"any\"");
    line(text, true, "grain-within = 15", "may be turned from that by so many degrees");
    line(text, true, "grade = 2", "the worst grade it takes, 1 to 4; silent: any");
    line(text, true, "stretch = \"material\"", "growth in use taken off; or [\"2 %\", \"5 %\"]");
    line(text, true, "wet-glue = \"material\"", "growth by wet glue taken off");
    line(
        text,
        true,
        "from-thickness = [\"34 thou\", \"36 thou\"]",
        "of the sheets it may come from",
    );
    line(text, true, "spares = \"1 in 20, at least 1\"", "");
    line(text, true, "unit = \"in\"", "of its numbers without one");
    line(text, true, "note = \"as found\"", "for yourself");
}

fn companion_of(text: &mut String, companion: &Companion) {
    text.push('\n');
    line(text, true, &format!("[part.{}]", companion.name), companion.about);
    stuff(text, true);
    keys(text, companion.keys, true);
}

fn keys(text: &mut String, keys: &[Key], aside: bool) {
    for key in keys.iter().filter(|key| !matches!(key.takes, Takes::Tables(_))) {
        line(text, aside || !key.needed, &format!("{} = {}", key.name, example(key)), key.about);
    }
}

/// Tables of their own, each after the part's own keys.
fn tables(text: &mut String, list: &[Key], path: &str) {
    for key in list {
        let Takes::Tables(inner) = key.takes else { continue };
        text.push('\n');
        let path = format!("{path}.{}", key.name);
        line(text, true, &format!("[[{path}]]"), key.about);
        keys(text, inner, true);
        tables(text, inner, &path);
    }
}

fn line(text: &mut String, aside: bool, typed: &str, remark: &str) {
    let typed = if aside { format!("# {typed}") } else { typed.to_owned() };
    // Writing to a string cannot fail.
    let _ = match remark {
        "" => writeln!(text, "{typed}"),
        _ => writeln!(text, "{typed:<REMARK$}  # {remark}"),
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::KINDS;

    /// As it stands, and with every key that may be left out put in, it is TOML, and no key stands twice.
    #[test]
    fn every_sample_is_toml() {
        for card in KINDS {
            let text = sample(card);
            let whole: String = text
                .lines()
                .skip(2)
                .map(|line| line.strip_prefix("# ").unwrap_or(line).to_owned() + "\n")
                .collect();
            for text in [&text, &whole] {
                let read: toml::Table =
                    text.parse().unwrap_or_else(|e| panic!("{}: {e}\n{text}", card.name));
                assert!(read.contains_key("part"), "{}", card.name);
            }
            for key in card.keys.iter().filter(|key| key.needed) {
                assert!(
                    text.contains(&format!("\n{} = ", key.name)),
                    "{}: {}",
                    card.name,
                    key.name
                );
            }
            for companion in card.companions {
                assert!(text.contains(&format!("# [part.{}]", companion.name)));
            }
        }
    }
}
