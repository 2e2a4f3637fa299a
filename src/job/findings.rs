//! The tables of coupons for stretch, gap and hole, and the way of what they come to into a profile.

use super::Job;
use super::document::{Document, Heap, kept};
use super::kerfs::{ASSUMED, KerfEdit, line_end, mm, table, without_mark};
use super::readings::head;
use super::table::read_list;
use crate::coupon::{Figure, Filling, Finding, Row, Sort, rows};
use crate::fault::{Fault, Place, Sources, any_error};
use crate::machine::Machine;
use crate::material::{CutSetting, Material};
use crate::part::{Key, Measures, Takes};
use crate::units::Quality;
use std::fmt::Write;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// How a web or a hole may look.
const LOOKS: &[&str] = &["clean", "torn", "charred"];

const fn key(name: &'static str, takes: Takes, needed: bool, about: &'static str) -> Key {
    Key { name, takes, needed, about, example: "" }
}

const NUMBER: Key = key("number", Takes::Count, true, "of the piece, as in the picture");
const WAY: Key =
    key("way", Takes::Word(&["along", "across", "x", "y"]), false, "which way it lies");
const DRAWN: Key = key("drawn", Takes::Length, true, "as it was drawn");
const LOOK: Key = key("look", Takes::Word(LOOKS), false, "clean, torn or charred");

const STRETCH: &[Key] = &[
    NUMBER,
    WAY,
    DRAWN,
    key("before", Takes::Length, false, "from mark to mark, without a load"),
    key("loaded", Takes::Length, false, "from mark to mark, after a minute under the load"),
    key("load", Takes::Quantity(Quality::Force), false, "what hangs on it"),
];
const GAP: &[Key] = &[NUMBER, WAY, DRAWN, LOOK];
const HOLE: &[Key] = &[
    NUMBER,
    DRAWN,
    key("across-x", Takes::Length, false, "diameter along the machine's x"),
    key("across-y", Takes::Length, false, "diameter along the machine's y"),
    LOOK,
];

/// Columns of lengths, and their unit.
fn keys(sort: Sort) -> &'static [Key] {
    match sort {
        Sort::Stretch => STRETCH,
        Sort::Hole => HOLE,
        Sort::Gap | Sort::Kerf => GAP,
    }
}

/// The empty table of a coupon for stretch, gap or hole; `about` says what coupon it is.
///
/// # Units
/// Millimetres, as the heads of its columns say; a cell may have its own unit.
pub fn finding_table(sort: Sort, about: &str) -> String {
    let mut text = format!("# {about}\n");
    text.push_str(match sort {
        Sort::Stretch => "# before: from mark to mark, lying free. Hang a load on, the same on every strip, wait a minute, measure again.\n\
                          # load: such as 500 gf or 5 N; once is enough. A strip that was spoilt is left blank.\n",
        Sort::Gap | Sort::Kerf => "# look: clean, torn or charred.\n",
        Sort::Hole => "# look: clean, torn or charred. A hole that tore out is left blank.\n",
    });
    let heads: Vec<String> = keys(sort)
        .iter()
        .map(|key| match key.takes {
            Takes::Length => format!("{} (mm)", key.name),
            _ => key.name.to_owned(),
        })
        .collect();
    let _ = writeln!(text, "{},note", heads.join(","));
    for Row { number, way, drawn } in rows(sort) {
        let filled: Vec<String> = keys(sort)
            .iter()
            .map(|key| match key.name {
                "number" => number.to_string(),
                "way" => way.to_owned(),
                "drawn" => drawn.to_string(),
                _ => String::new(),
            })
            .collect();
        let _ = writeln!(text, "{},", filled.join(","));
    }
    text
}

/// What was read: the rows, the head of the table, what is to be pointed out.
pub type FindingRows = (Vec<Filling>, Place, Vec<Fault>);

/// Reads a table that was filled in; `shown` is what it is called in messages.
///
/// # Errors
/// Whatever is wrong with the table; what is wrong with the readings shows when they are judged.
pub fn read_findings(
    sort: Sort,
    shown: &str,
    bytes: &[u8],
    sources: &mut Sources,
) -> Result<FindingRows, Vec<Fault>> {
    let (file, text) = kept(shown, bytes, sources)?;
    let document = Document::new(&file, &text);
    let heap = Heap::default();
    let rows = read_list(&heap, &document, keys(sort), None);
    let mut faults = heap.finish();
    // Holes are smaller than parts: their bounds are looked at when they are judged.
    faults.retain(|fault| fault.code != "W05");
    match rows {
        Some(rows) if !any_error(&faults) => {
            Ok((rows.iter().filter_map(filling).collect(), head(&document), faults))
        }
        _ => Err(faults),
    }
}

fn filling(row: &Measures) -> Option<Filling> {
    let figure = |key: &str| {
        let length = row.length(key)?;
        let (value, written) = (length.mm(), length.text().to_owned());
        Some(Figure { value, written, place: row.place_of(key).clone() })
    };
    let load = row.quantity("load").map(|load| Figure {
        value: load.value(),
        written: load.text().to_owned(),
        place: row.place_of("load").clone(),
    });
    Some(Filling {
        number: row.count("number")?,
        drawn: figure("drawn"),
        first: figure("before").or_else(|| figure("across-x")),
        second: figure("loaded").or_else(|| figure("across-y")),
        load,
        look: row.word("look").map(|look| (look, row.place_of("look").clone())),
        place: row.place.clone(),
    })
}

/// What a source says of a gap that was measured apart from the kerf.
const GAP_SAID: &str = "; gap: ";
/// The same of a hole.
const HOLE_SAID: &str = "; smallest hole: ";

/// What a source says after a mark, up to the next semicolon.
pub(super) fn said<'a>(source: &'a str, mark: &str) -> Option<&'a str> {
    let at = source.find(mark)?;
    let rest = &source[at + mark.len()..];
    Some(&source[at..at + mark.len() + rest.find(';').unwrap_or(rest.len())])
}

/// The profile with a finding in it: one table is changed or added, every other byte stays.
///
/// # Errors
/// `E15` where material or machine are not in the job; `E35` where a gap has no `[[cut]]` to go into; `E68` where the
/// profile cannot be changed in place.
pub fn noted(
    job: &Job,
    (material, machine): (&str, &str),
    finding: &Finding,
    source: &str,
) -> Result<KerfEdit, Fault> {
    let gone = |what: &str, name: &str| {
        Fault::error("E15", format!("the job has no {what} \"{name}\" any more"))
            .cure("put it back under the name that the coupon was made for")
    };
    let stuff = job.materials.get(material).ok_or_else(|| gone("material", material))?;
    let cutter = job.machine(machine).ok_or_else(|| gone("machine", machine))?;
    let (path, place) = match finding {
        Finding::Hole(..) => (format!("machines/{}.toml", cutter.key), &cutter.source.place),
        _ => (format!("materials/{material}.toml"), &stuff.place),
    };
    let names = [path.clone(), format!("own profile {path}"), format!("built-in {path}")];
    let input = job.inputs.iter().find(|input| names.contains(&input.path));
    let input = input.ok_or_else(|| gone("profile", &path))?;
    let by_hand = |why: &str, lines: &str| {
        Fault::error("E68", format!("{path} can't be changed: {why}"))
            .at(place)
            .cure(format!("write it by hand: {lines}"))
    };
    let whole =
        std::str::from_utf8(&input.bytes).map_err(|_| by_hand("it is not UTF-8", source))?;
    let (mark, text) = without_mark(whole);
    let mut edit = KerfEdit {
        path: path.clone(),
        text: String::new(),
        was: None,
        now: String::new(),
        on: String::new(),
        added: false,
        copied: (input.path != path).then(|| input.path.clone()),
        open: Vec::new(),
    };
    let changed = changed(job, (stuff, cutter), (text, finding, source), &mut edit)?;
    let changed =
        changed.ok_or_else(|| by_hand("its table is not where it was expected", &edit.now))?;
    edit.text = format!("{mark}{changed}");
    Ok(edit)
}

/// The changed text; none where a table is not where it was expected. What was and is now goes into `edit`.
fn changed(
    job: &Job,
    (stuff, cutter): (&Material, &Machine),
    (text, finding, source): (&str, &Finding, &str),
    edit: &mut KerfEdit,
) -> Result<Option<String>, Fault> {
    Ok(match finding {
        Finding::Stretch(along, across, _) => {
            let figures = [per_cent(along.mean), per_cent(across.mean)];
            "[stretch]".clone_into(&mut edit.on);
            edit.was = stuff.stretch.as_ref().map(|was| {
                let [along, across] = [per_cent(was.along), per_cent(was.across)];
                format!("along = {along}, across = {across}, source = \"{}\"", was.source.text)
            });
            edit.now =
                format!("along = {}, across = {}, source = \"{source}\"", figures[0], figures[1]);
            edit.added = stuff.stretch.is_none();
            let [along, across] = figures;
            stretch(text, &along, &across, source)
        }
        Finding::Gap(gap, _) => {
            let (own, line) = own_cut(job, stuff, cutter, &edit.path)?;
            let new = gap_source(&own.source.text, source);
            edit.on = format!("[[cut]] on = \"{}\"", own.on);
            edit.was = Some(format!("gap = {}, source = \"{}\"", mm(own.gap), own.source.text));
            edit.now = format!("gap = {}, source = \"{new}\"", mm(*gap));
            table(text, line).and_then(|it| {
                let at =
                    |name: &str| it.keys.iter().find(|(key, ..)| key == name).map(|k| k.2.clone());
                put(text, vec![(at("gap")?, mm(*gap)), (at("source")?, format!("\"{new}\""))])
            })
        }
        Finding::Hole(hole, _) => {
            let new = hole_source(&cutter.source.text, source);
            "[machine]".clone_into(&mut edit.on);
            edit.was = Some(format!(
                "smallest-hole = {}, source = \"{}\"",
                mm(cutter.smallest_hole),
                cutter.source.text
            ));
            edit.now = format!("smallest-hole = {}, source = \"{new}\"", mm(*hole));
            let top = DeTable::parse(text).ok();
            top.and_then(|top| {
                let machine = top.get_ref().get("machine")?;
                let at = |name: &str| span(machine.get_ref(), name);
                put(
                    text,
                    vec![(at("smallest-hole")?, mm(*hole)), (at("source")?, format!("\"{new}\""))],
                )
            })
        }
    })
}

/// Where the value of a key stands.
fn span(table: &DeValue<'_>, name: &str) -> Option<Range<usize>> {
    let DeValue::Table(table) = table else { return None };
    table.get(name).map(toml::Spanned::span)
}

/// Values put in the place of others.
fn put(text: &str, mut edits: Vec<(Range<usize>, String)>) -> Option<String> {
    edits.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    let mut made = text.to_owned();
    for (span, new) in edits {
        made.get(span.clone())?;
        made.replace_range(span, &new);
    }
    DeTable::parse(&made).ok()?;
    Some(made)
}

/// A share as it is typed, to a hundredth of a per cent.
fn per_cent(share: f64) -> String {
    let figures = format!("{:.2}", share * 100.0);
    format!("\"{} %\"", figures.trim_end_matches('0').trim_end_matches('.'))
}

/// The table [stretch], changed where it stands, else at the end.
fn stretch(text: &str, along: &str, across: &str, source: &str) -> Option<String> {
    let top = DeTable::parse(text).ok()?;
    let source = format!("\"{source}\"");
    if let Some(there) = top.get_ref().get("stretch") {
        let at = |name: &str| span(there.get_ref(), name);
        let edits = vec![
            (at("along")?, along.to_owned()),
            (at("across")?, across.to_owned()),
            (at("source")?, source),
        ];
        return put(text, edits);
    }
    let end = line_end(text);
    let gap = if text.is_empty() || text.ends_with('\n') { "" } else { end };
    let rows = [
        "[stretch]".to_owned(),
        format!("along = {along}"),
        format!("across = {across}"),
        format!("source = {source}"),
    ];
    let made = format!("{text}{gap}{end}{}{end}", rows.join(end));
    DeTable::parse(&made).ok()?;
    Some(made)
}

/// The figures for the machine that a gap goes into, and the name that their table has.
fn own_cut<'a>(
    job: &Job,
    stuff: &'a Material,
    cutter: &Machine,
    path: &str,
) -> Result<(&'a CutSetting, &'a str), Fault> {
    let Some(own) = stuff.setting(&cutter.key, cutter.process.name()) else {
        return Err(Fault::error("E35", format!("{path} has no figures for {}", cutter.key))
            .at(&stuff.place)
            .cure("measure the kerf first, which makes a table for them: pouchwork coupon kerf"));
    };
    let shared = job.machines.values().filter(|m| m.process == cutter.process).count() > 1;
    if own.on != cutter.key && shared {
        return Err(Fault::error(
            "E68",
            format!("{path} can't be changed: its figures on = \"{}\" hold for other machines too", own.on),
        )
        .at(&own.place)
        .cure("measure the kerf first, which gives this machine a table of its own: pouchwork coupon kerf"));
    }
    Ok((own, own.on.as_str()))
}

/// What a source says once its gap has been measured; what is still assumed goes on being so.
fn gap_source(old: &str, new: &str) -> String {
    let without =
        said(old, GAP_SAID).map_or_else(|| old.to_owned(), |part| old.replacen(part, "", 1));
    match without.strip_suffix(ASSUMED) {
        Some(first) => format!("{first}{GAP_SAID}{new}; edge assumed"),
        None => match without.strip_suffix("; edge assumed") {
            Some(first) => format!("{first}{GAP_SAID}{new}; edge assumed"),
            None => format!("{without}{GAP_SAID}{new}"),
        },
    }
}

fn hole_source(old: &str, new: &str) -> String {
    let without =
        said(old, HOLE_SAID).map_or_else(|| old.to_owned(), |part| old.replacen(part, "", 1));
    format!("{without}{HOLE_SAID}{new}")
}

/// What the source of a new kerf keeps of the old one: a gap that was measured by itself.
pub(super) fn gap_kept(old: &str) -> Option<String> {
    said(old, GAP_SAID).map(|part| format!("{part}; edge assumed"))
}
