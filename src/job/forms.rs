//! The form of a job file: every table with every key it may have, for whoever checks a job as it is typed.
//!
//! The measures of parts, companions and valves come from the tables that the reader itself goes by. Keys that the
//! reader takes one by one stand here again; a test reads jobs with each of them, and asks the reader what else it
//! takes.

use super::figures::example;
use crate::material::Face;
use crate::part::{KINDS, Key, TRAVEL_KEYS, Takes};

/// What stands behind a key.
#[derive(Debug, Clone)]
pub enum Sort {
    /// A length; several are readings whose mean is taken.
    Length,
    /// A length that may be below zero; several are readings.
    Signed,
    /// Lengths, kept one by one.
    Lengths,
    /// Two lengths, x and y.
    Point,
    /// So many points at least.
    Points(usize),
    /// Corners: x, y and the bow of the side that follows.
    Corners,
    /// Points in millimetres, each with the bow of the side that follows; as the program writes them.
    Line,
    /// A whole number from the least to the most.
    Count(u32, u32),
    /// A number from the least to the most.
    Number(f64, f64),
    /// One of a few words.
    Word(Vec<&'static str>),
    /// A text.
    Text,
    /// A text or a whole number.
    TextOrCount,
    /// Texts.
    Texts,
    /// "material", or two shares, along and across the grain.
    Growth,
    /// A table.
    Table(Vec<Entry>),
    /// Tables of one name.
    Tables(Vec<Entry>),
    /// A table whose keys are the user's own, each with a text.
    Own,
    /// Tables that are one of several, told apart by the text of a key: that key, and each text with its table.
    Kinds(&'static str, Vec<(&'static str, Vec<Entry>)>),
}

/// A key with what it takes.
#[derive(Debug, Clone)]
pub struct Entry {
    /// As it is typed.
    pub name: &'static str,
    /// What it is, in a few words.
    pub about: &'static str,
    /// What stands behind it.
    pub sort: Sort,
    /// Whether the table cannot do without, here or in a table of places.
    pub needed: bool,
    /// Whether it is a measure, which a table of places or a mate may give instead.
    pub measure: bool,
    /// An example as it is typed; may be empty.
    pub example: String,
}

/// A count in a job goes no higher.
const MOST: u32 = 100_000;

fn entry(name: &'static str, about: &'static str, sort: Sort) -> Entry {
    Entry { name, about, sort, needed: false, measure: false, example: String::new() }
}

fn need(name: &'static str, about: &'static str, sort: Sort) -> Entry {
    Entry { needed: true, ..entry(name, about, sort) }
}

/// A whole job file.
pub fn forms() -> Vec<Entry> {
    let kinds = KINDS.iter().map(|card| {
        let mut keys = part();
        keys.extend(stuff());
        keys.extend(card.keys.iter().map(|key| Entry { measure: true, ..of_key(key) }));
        if card.keys.iter().any(|key| matches!(key.takes, Takes::Outline)) {
            keys.push(outline_unit());
        }
        for companion in card.companions {
            let mut own = stuff();
            own.push(unit());
            own.extend(companion.keys.iter().map(of_key));
            keys.push(entry(companion.name, companion.about, Sort::Table(own)));
        }
        (card.name, keys)
    });
    vec![
        need("job", "the head of the job", Sort::Table(job())),
        entry("machines", "short name = profile, a file in machines/", Sort::Own),
        entry("hide", "a skin in hand", Sort::Tables(hide())),
        entry("cloth", "a length of a roll in hand", Sort::Tables(cloth())),
        entry("leaf", "a rectangle in hand", Sort::Tables(leaf())),
        entry("part", "what is to be cut", Sort::Kinds("kind", kinds.collect())),
        entry("travel", "valves whose gap is set with papers", Sort::Tables(travel())),
    ]
}

/// A key of a kind, as the reader has it.
fn of_key(key: &Key) -> Entry {
    let sort = match key.takes {
        Takes::Length => Sort::Length,
        Takes::Signed => Sort::Signed,
        Takes::Count => Sort::Count(0, MOST),
        Takes::Word(words) => Sort::Word(words.to_vec()),
        Takes::Point => Sort::Point,
        Takes::Lengths => Sort::Lengths,
        Takes::Quantity(_) | Takes::Outline | Takes::Rows(_) => Sort::Text,
        Takes::Corners => Sort::Corners,
        Takes::Tables(keys) => {
            let mut inner: Vec<Entry> = keys.iter().map(of_key).collect();
            inner.push(unit());
            Sort::Tables(inner)
        }
    };
    let example = if matches!(key.takes, Takes::Tables(_)) { String::new() } else { example(key) };
    Entry { needed: key.needed, example, ..entry(key.name, key.about, sort) }
}

fn unit() -> Entry {
    entry("unit", "of its numbers without one: in, ft, yd, thou, mm, cm, m", Sort::Text)
}

fn outline_unit() -> Entry {
    entry("outline-unit", "of a file that names no unit", Sort::Text)
}

fn material() -> Entry {
    need("material", "name of its profile, a file in materials/", Sort::Text)
}

fn cut_with(about: &'static str) -> Entry {
    entry("cut-with", about, Sort::Text)
}

fn spares() -> Entry {
    entry("spares", "such as \"1 in 20, at least 1\", \"2\", \"5 %\", \"none\"", Sort::TextOrCount)
}

fn faces() -> Sort {
    Sort::Word(Face::NAMES.iter().map(|(name, _)| *name).collect())
}

fn grade() -> Entry {
    entry("grade", "1, the best, to 4", Sort::Count(1, 4))
}

fn places() -> [Entry; 2] {
    [
        entry("positions", "places of a numbered set: \"all\", \"1-12, 15\"", Sort::TextOrCount),
        entry("count", "of parts all alike: how many", Sort::Count(1, 10_000)),
    ]
}

fn job() -> Vec<Entry> {
    vec![
        entry("title", "what it is called", Sort::Text),
        entry("notes", "numbered sets run from 1 to this", Sort::Count(1, 10_000)),
        spares(),
        entry("stock", "file of the stock record, from the job folder on", Sort::Text),
        entry("punches", "diameters of the punches in hand", Sort::Lengths),
        unit(),
    ]
}

fn part() -> Vec<Entry> {
    let mut keys = vec![
        need("name", "your name for it", Sort::Text),
        entry("table", "a CSV file with a row for each place that differs", Sort::Text),
        entry("mate-of", "the part whose mirror image it is", Sort::Text),
        unit(),
    ];
    keys.extend(places());
    keys
}

/// What a part or a companion is cut of, and how it lies.
fn stuff() -> Vec<Entry> {
    vec![
        material(),
        Entry { needed: true, ..cut_with("a name under [machines], or of a profile") },
        entry("face", "the side it is drawn from", faces()),
        entry(
            "grain",
            "how it lies to the grain",
            Sort::Word(vec!["any", "along length", "across length"]),
        ),
        entry(
            "grain-within",
            "may be turned from that by so many degrees",
            Sort::Number(0.0, 45.0),
        ),
        grade(),
        entry("stretch", "growth in use, taken off beforehand", Sort::Growth),
        entry("wet-glue", "growth when glued wet, taken off beforehand", Sort::Growth),
        entry("from-thickness", "least and most of the sheets it may come from", Sort::Lengths),
        spares(),
        entry("note", "for yourself", Sort::Text),
    ]
}

/// What every sheet has.
fn sheet() -> Vec<Entry> {
    let flaw = vec![
        entry("why", "what it is", Sort::Text),
        entry("at", "its centre, where it is round", Sort::Point),
        entry("diameter", "how large it is, where it is round", Sort::Length),
        entry("corners", "its corners, where it is not", Sort::Points(3)),
        entry("line", "its line in millimetres", Sort::Line),
        unit(),
    ];
    let mut zone = flaw.clone();
    zone.push(Entry { needed: true, ..grade() });
    let reading = vec![
        need("at", "where it was read", Sort::Point),
        need("thickness", "what was read", Sort::Length),
        unit(),
    ];
    vec![
        need("id", "your name for it", Sort::Text),
        material(),
        entry("up", "the side that lies up", faces()),
        entry("thickness", "its thickness, or several readings", Sort::Length),
        grade(),
        entry("edge", "kept clear along its edge", Sort::Length),
        cut_with("the machine that alone may have it"),
        entry("flaw", "a hole or a scar", Sort::Tables(flaw)),
        entry("zone", "ground of another grade", Sort::Tables(zone)),
        entry("reading", "how thick it is at a place", Sort::Tables(reading)),
        unit(),
    ]
}

fn grain() -> Entry {
    entry("grain", "its turn from x, in degrees", Sort::Number(-360.0, 360.0))
}

fn hide() -> Vec<Entry> {
    let mut keys = sheet();
    keys.extend([
        entry("outline", "an SVG or DXF file with its line", Sort::Text),
        outline_unit(),
        entry("corners", "its corners, once round", Sort::Points(3)),
        entry("line", "its line in millimetres", Sort::Line),
        entry("grain-line", "two points along the backbone", Sort::Points(2)),
        grain(),
    ]);
    keys
}

fn cloth() -> Vec<Entry> {
    let mut keys = rectangle();
    keys.extend([
        entry("warp", "which way the warp runs", Sort::Word(vec!["along", "across"])),
        entry("selvedge", "lost along either side", Sort::Length),
    ]);
    keys
}

fn leaf() -> Vec<Entry> {
    let mut keys = rectangle();
    keys.push(grain());
    keys
}

fn rectangle() -> Vec<Entry> {
    let mut keys = sheet();
    keys.extend([
        need("width", "across the roll, or the shorter side", Sort::Length),
        need("length", "along the roll, or the longer side", Sort::Length),
    ]);
    keys
}

fn travel() -> Vec<Entry> {
    let mut keys = vec![
        need("name", "your name for it", Sort::Text),
        entry("table", "a CSV file with a row for each place that differs", Sort::Text),
        need("target", "the gap that is wanted", Sort::Length),
        need("least", "the gap may never be less", Sort::Length),
        entry("within", "gaps that differ by no more count as equally near", Sort::Length),
        entry("most", "papers in one place", Sort::Count(0, 6)),
        need(
            "papers-make",
            "what a paper does to the gap where it lies",
            Sort::Word(vec!["wider", "narrower"]),
        ),
        entry("facings", "how many lie in one gap", Sort::Count(1, 4)),
        need("diameter", "outside diameter of a paper", Sort::Length),
        entry("hole", "its hole; silent: none", Sort::Length),
        need("papers", "in stock: materials, or leaves by their id", Sort::Texts),
        entry("clearance-wanted", "from pouch to button, as wanted", Sort::Length),
        need("cut-with", "what cuts the papers", Sort::Text),
        spares(),
        unit(),
    ];
    keys.extend(places());
    keys.extend(TRAVEL_KEYS.iter().map(|key| Entry { measure: true, ..of_key(key) }));
    keys
}

#[cfg(test)]
mod tests;
