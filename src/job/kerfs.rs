//! A measured kerf written into a material's profile: one table is changed, every other byte stays.

use super::Job;
use crate::coupon::Width;
use crate::fault::Fault;
use crate::machine::Machine;
use crate::material::CutSetting;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What was measured, and what a table that is still wanting gets beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The width of the cut.
    pub width: Width,
    /// Day, number of readings and spread, as they stand in `source`.
    pub source: String,
    /// Material that was left between two cuts of the coupon (mm).
    pub gap: f64,
    /// Material that was left to the edge (mm).
    pub edge: f64,
}

/// A profile with a measured kerf in it.
#[derive(Debug, Clone, PartialEq)]
pub struct KerfEdit {
    /// Path of the profile in the job folder.
    pub path: String,
    /// Its whole new text.
    pub text: String,
    /// The kerf and its source as they stood; none where the material had no figures for the machine.
    pub was: Option<String>,
    /// As they stand now.
    pub now: String,
    /// The machine or process whose table was changed or added.
    pub on: String,
    /// Whether the table is a new one.
    pub added: bool,
    /// The profile it was copied from, where the job had none of its own.
    pub copied: Option<String>,
    /// Keys that a new table still lacks for G-code.
    pub open: Vec<&'static str>,
}

/// A changed text, whether a table was added, and what that lacks.
type Changed = (String, bool, Vec<&'static str>);

/// The profile of a material with a measured kerf for a machine. Comments and order stay.
///
/// A table for the machine is changed where it stands, and so is one for its process if the job has no other machine of
/// that process; else the machine gets a table of its own, with what was said for the process.
///
/// # Errors
/// `E15` where material or machine are not in the job; `E68` where the profile cannot be changed in place.
pub fn edited(
    job: &Job,
    material: &str,
    machine: &str,
    measured: &Measured,
) -> Result<KerfEdit, Fault> {
    let gone = |what: &str, name: &str| {
        Fault::error("E15", format!("the job has no {what} \"{name}\" any more"))
            .cure("put it back under the name that the coupon was made for")
    };
    let stuff = job.materials.get(material).ok_or_else(|| gone("material", material))?;
    let cutter = job.machine(machine).ok_or_else(|| gone("machine", machine))?;
    let path = format!("materials/{material}.toml");
    let names = [path.clone(), format!("own profile {path}"), format!("built-in {path}")];
    let input = job.inputs.iter().find(|input| names.contains(&input.path));
    let input = input.ok_or_else(|| gone("material", material))?;
    let by_hand = |why: &str| {
        Fault::error("E68", format!("{path} can't be changed: {why}"))
            .at(&stuff.place)
            .cure(format!("write it by hand: {}", lines(measured, None).join(", ")))
    };
    let text = std::str::from_utf8(&input.bytes).map_err(|_| by_hand("it is not UTF-8"))?;
    let setting = stuff.setting(&cutter.key, cutter.process.name());
    let shared = job.machines.values().filter(|m| m.process == cutter.process).count() > 1;
    let (changed, added, open) = match setting {
        Some(own) if own.on == cutter.key || !shared => {
            changed(text, own, measured).map(|text| (text, false, Vec::new()))
        }
        other => added_to(text, cutter, other, measured),
    }
    .ok_or_else(|| by_hand("its table [[cut]] is not where it was expected"))?;
    let on = setting.filter(|_| !added).map_or(cutter.key.clone(), |own| own.on.clone());
    Ok(KerfEdit {
        text: changed,
        was: setting.map(was),
        now: lines(measured, setting).join(", "),
        on,
        added,
        copied: (input.path != path).then(|| input.path.clone()),
        open,
        path,
    })
}

/// Kerf and source as a record has them.
fn was(setting: &CutSetting) -> String {
    let (x, y) = (setting.kerf_x, setting.kerf_y);
    let width = if (x - y).abs() < 1e-9 {
        format!("kerf = {}", mm(x))
    } else {
        format!("kerf-x = {}, kerf-y = {}", mm(x), mm(y))
    };
    format!("{width}, source = \"{}\"", setting.source.text)
}

/// A length as it is typed.
pub(super) fn mm(length: f64) -> String {
    let figures = format!("{length:.3}");
    let short = figures.trim_end_matches('0').trim_end_matches('.');
    format!("\"{short} mm\"")
}

/// Kerf and source as they are typed.
fn lines(measured: &Measured, setting: Option<&CutSetting>) -> Vec<String> {
    let mut made = widths(measured.width);
    made.push(format!("source = {}", source(measured, setting)));
    made
}

fn widths(width: Width) -> Vec<String> {
    match width {
        Width::One(both) => vec![format!("kerf = {}", mm(both))],
        Width::Two(x, y) => vec![format!("kerf-x = {}", mm(x)), format!("kerf-y = {}", mm(y))],
    }
}

/// What else the table holds may still be assumed, and the source goes on saying so.
fn source(measured: &Measured, setting: Option<&CutSetting>) -> String {
    let kept = setting.and_then(|own| super::findings::gap_kept(&own.source.text));
    let rest = match setting {
        _ if kept.is_some() => kept.as_deref().unwrap_or_default(),
        Some(own) if own.source.is_assumed() || own.source.text.ends_with(ASSUMED) => ASSUMED,
        _ => "",
    };
    format!("\"{}{rest}\"", measured.source)
}

/// Said of the other figures of a table whose source was `assumed`.
pub(super) const ASSUMED: &str = "; gap and edge assumed";

/// One table of a text: its keys with their bytes, their values with theirs.
pub(super) struct Table {
    pub(super) keys: Vec<(String, Range<usize>, Range<usize>)>,
    inline: bool,
}

/// The table for a machine or process.
pub(super) fn table(text: &str, on: &str) -> Option<Table> {
    let top = DeTable::parse(text).ok()?;
    let DeValue::Array(list) = top.get_ref().get("cut")?.get_ref() else { return None };
    let is_it = |item: &&Spanned<DeValue<'_>>| match item.get_ref() {
        DeValue::Table(table) => match table.get("on").map(Spanned::get_ref) {
            Some(DeValue::String(name)) => name.trim() == on,
            _ => false,
        },
        _ => false,
    };
    let item = list.iter().find(is_it)?;
    let DeValue::Table(table) = item.get_ref() else { return None };
    let mut keys: Vec<_> = table
        .iter()
        .map(|(key, value)| (key.get_ref().to_string(), key.span(), value.span()))
        .collect();
    keys.sort_by_key(|(_, span, _)| span.start);
    Some(Table { keys, inline: text.get(item.span())?.starts_with('{') })
}

/// A text with the figures of one table changed.
fn changed(text: &str, own: &CutSetting, measured: &Measured) -> Option<String> {
    let (mark, text) = without_mark(text);
    let table = table(text, &own.on)?;
    let find = |name: &str| table.keys.iter().find(|(key, ..)| key == name);
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    match (find("kerf"), find("kerf-x"), find("kerf-y")) {
        (Some((_, key, value)), None, None) => {
            if let Width::One(both) = measured.width {
                edits.push((value.clone(), mm(both)));
            } else {
                let between = if table.inline { ", ".to_owned() } else { indented(text, key) };
                edits.push((key.start..value.end, widths(measured.width).join(&between)));
            }
        }
        (None, Some((.., x)), Some((.., y))) => {
            let (wide, deep) = match measured.width {
                Width::One(both) => (both, both),
                Width::Two(x, y) => (x, y),
            };
            edits.extend([(x.clone(), mm(wide)), (y.clone(), mm(deep))]);
        }
        _ => return None,
    }
    let (.., said) = find("source")?;
    edits.push((said.clone(), source(measured, Some(own))));
    edits.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    let mut made = text.to_owned();
    for (span, new) in edits {
        made.get(span.clone())?;
        made.replace_range(span, &new);
    }
    Some(format!("{mark}{made}"))
}

/// A byte order mark, and what follows it.
pub(super) fn without_mark(text: &str) -> (&str, &str) {
    text.split_at(if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 })
}

/// How lines end.
pub(super) fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// The end of a line, and what stands before a key.
fn indented(text: &str, key: &Range<usize>) -> String {
    let before = text.get(..key.start).unwrap_or_default();
    let indent = before.rsplit('\n').next().unwrap_or_default();
    let blank = if indent.trim().is_empty() { indent } else { "" };
    format!("{}{blank}", line_end(text))
}

/// A text with one table more at its end: what is said for the process where something is, else what the coupon was
/// laid with.
fn added_to(
    text: &str,
    machine: &Machine,
    process: Option<&CutSetting>,
    measured: &Measured,
) -> Option<Changed> {
    let (mark, body) = without_mark(text);
    let mut rows = vec![format!("on = \"{}\"", machine.key)];
    rows.extend(widths(measured.width));
    let mut open = Vec::new();
    if let Some(process) = process {
        let other = ["on", "kerf", "kerf-x", "kerf-y", "source"];
        for (key, _, value) in table(body, &process.on)?.keys {
            if !other.contains(&key.as_str()) {
                rows.push(format!("{key} = {}", body.get(value)?));
            }
        }
    } else {
        rows.push(format!("gap = {}", mm(measured.gap)));
        rows.push(format!("edge = {}", mm(measured.edge)));
        open.push("feed");
        if machine.laser.is_some() {
            open.push("power");
        }
    }
    // What the coupon was laid with, if nothing else is known, is a starting guess.
    let said = match process {
        Some(_) => source(measured, process),
        None => format!("\"{}{ASSUMED}\"", measured.source),
    };
    rows.push(format!("source = {said}"));
    let end = line_end(text);
    let gap = if body.is_empty() || body.ends_with('\n') { "" } else { end };
    let made = format!("{mark}{body}{gap}{end}[[cut]]{end}{}{end}", rows.join(end));
    DeTable::parse(without_mark(&made).1).ok()?;
    Some((made, true, open))
}
