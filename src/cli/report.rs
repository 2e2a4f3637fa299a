//! `report`: sizes in both units, the folds and cards of bellows, and notes for glueing, as tables.

use super::args::Common;
use super::open::{Open, open_to_buy};
use super::{Answer, desk, outcome_of};
use crate::fault::any_error;
use crate::geom::Seg;
use crate::job::{Job, Worked, places, work_out};
use crate::order::safe_cell;
use crate::part::{Key, Kind, Measures, Size, TermRole, Value};
use crate::units::{nearest_64th, nearest_drill, show, show_both};
use serde_json::json;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A drill that is off by no more than this is named (mm): .001 in.
const DRILL_FITS: f64 = 0.0254;

/// One report.
pub(super) struct Table {
    /// The name of its files.
    pub(super) name: &'static str,
    pub(super) title: &'static str,
    pub(super) head: &'static [&'static str],
    pub(super) rows: Vec<Vec<String>>,
    pub(super) notes: Vec<&'static str>,
}

pub(super) fn run(common: &Common) -> Answer {
    let Open { folder, job, sources, warnings } = match open_to_buy(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let (worked, more) = work_out(&job);
    if any_error(&more) {
        return Answer::refused(more, sources);
    }
    let tables = [sizes(&worked), folds(&worked), glueing(&job, &worked)];
    let out = folder.join("out").join("report");
    let mut files = Vec::new();
    let mut answer = Answer::new();
    for table in &tables {
        let page = table.page(&job.title);
        answer.lines.extend(page.lines().map(str::to_owned));
        answer.line("");
        files.push((out.join(format!("{}.csv", table.name)), table.csv().into_bytes()));
        files.push((out.join(format!("{}.md", table.name)), page.into_bytes()));
    }
    if let Err(fault) = desk::write_all(&files) {
        return Answer::refused(vec![fault], sources);
    }
    let row = |table: &Table, row: &[String]| -> serde_json::Value {
        table.head.iter().zip(row).map(|(key, cell)| ((*key).to_owned(), json!(cell))).collect()
    };
    let told: BTreeMap<&str, Vec<serde_json::Value>> = tables
        .iter()
        .map(|table| (table.name, table.rows.iter().map(|cells| row(table, cells)).collect()))
        .collect();
    answer.result = json!({
        "title": job.title,
        "reports": told,
        "files": files.iter().map(|(path, _)| path.display().to_string()).collect::<Vec<_>>(),
    });
    answer.hint(format!("written to {}", out.display()));
    answer.hint("next: pouchwork status");
    answer.outcome = outcome_of(&warnings);
    answer.sources = sources;
    answer
}

impl Table {
    pub(super) fn csv(&self) -> String {
        let line = |cells: Vec<String>| cells.join(",") + "\n";
        let mut text = line(self.head.iter().map(|cell| safe_cell(cell)).collect());
        for row in &self.rows {
            text += &line(row.iter().map(|cell| safe_cell(cell)).collect());
        }
        text
    }

    /// The table as a page: Markdown that reads well as it stands.
    pub(super) fn page(&self, job: &str) -> String {
        let plain = |text: &str| text.replace('|', "/");
        let width = |n: usize| {
            let cells =
                self.rows.iter().filter_map(|row| row.get(n)).map(|cell| cell.chars().count());
            cells.chain([self.head[n].len()]).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..self.head.len()).map(width).collect();
        let line = |cells: &[String]| {
            let padded: Vec<String> = cells
                .iter()
                .zip(&widths)
                .map(|(cell, width)| format!("{:<width$}", plain(cell)))
                .collect();
            format!("| {} |\n", padded.join(" | "))
        };
        let mut text = format!("# {}: {job}\n\n", self.title);
        if self.rows.is_empty() {
            text.push_str("Nothing of this kind is in the job.\n");
            return text;
        }
        let head: Vec<String> = self.head.iter().map(|cell| (*cell).to_owned()).collect();
        text += &line(&head);
        let rule: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
        text += &line(&rule);
        for row in &self.rows {
            text += &line(row);
        }
        for note in &self.notes {
            let _ = write!(text, "\n{note}\n");
        }
        text
    }
}

/// A length in both units: mm, thousandths, the nearest 64th with what is left, a drill that fits.
fn both(mm: f64) -> [String; 5] {
    let near = nearest_64th(mm);
    let drill = nearest_drill(mm).filter(|(_, _, error)| error.abs() <= DRILL_FITS + 1e-9);
    // What the mark leaves out of the size; above zero the size is larger than its mark.
    let left = -near.error_mm;
    let left = if left.abs() < 5e-4 { 0.0 } else { left };
    [
        format!("{mm:.3}"),
        format!("{:.3}", mm / 25.4),
        near.text,
        format!("{left:.3}"),
        drill.map_or(String::new(), |(name, ..)| name),
    ]
}

/// Every size of every piece in both units.
fn sizes(worked: &[Worked<'_>]) -> Table {
    let mut rows = Vec::new();
    for it in worked {
        for size in &it.sizes {
            let spares = it.part.spares.of(size.positions.len());
            for (name, member) in size.patterns() {
                for term in
                    member.sum.iter().filter(|t| t.role == TermRole::Total && t.unit == "mm")
                {
                    let mut row = vec![
                        it.part.title(),
                        places(&size.positions),
                        name.clone(),
                        size.positions.len().to_string(),
                        spares.to_string(),
                        term.label.clone(),
                    ];
                    row.extend(both(term.value));
                    rows.push(row);
                }
            }
        }
    }
    Table {
        name: "sizes",
        title: "Sizes",
        head: &[
            "part",
            "places",
            "member",
            "count",
            "spares",
            "size",
            "mm",
            "in",
            "nearest 64th",
            "left over mm",
            "drill",
        ],
        rows,
        notes: vec![
            "True sizes before stretch and kerf. Left over: the size less the nearest 64th. Drill: one within .001 in.",
        ],
    }
}

/// Creases, cards and the order of glueing of every bellows.
fn folds(worked: &[Worked<'_>]) -> Table {
    let mut rows = Vec::new();
    let is_bellows =
        |it: &&Worked<'_>| it.part.kind == Kind::Bellows && it.part.companion.is_none();
    for it in worked.iter().filter(is_bellows) {
        for size in &it.sizes {
            let start = [it.part.name.clone(), places(&size.positions)];
            let mut add = |rest: Vec<String>| rows.push([&start[..], &rest].concat());
            creases(size).into_iter().for_each(&mut add);
            let cards = worked.iter().filter(|other| {
                other.part.name == it.part.name && other.part.companion == Some("card")
            });
            for card in cards.flat_map(|other| &other.sizes) {
                if card.positions.iter().any(|place| size.positions.contains(place)) {
                    card_rows(card).into_iter().for_each(&mut add);
                }
            }
            for (n, step) in glue_order(&size.measures).iter().enumerate() {
                add(vec![format!("glue {}", n + 1), (*step).to_owned()]);
            }
        }
    }
    for row in &mut rows {
        row.resize(10, String::new());
    }
    Table {
        name: "folds",
        title: "Folds and cards",
        head: &[
            "bellows",
            "places",
            "what",
            "which",
            "count",
            "mm",
            "in",
            "nearest 64th",
            "left over mm",
            "angle",
        ],
        rows,
        notes: vec![
            "A crease's angle is from the length of the cloth. Cards lie clear of every crease and board by their inset.",
        ],
    }
}

/// Creases that are alike in length and angle, counted; then what the sum says of angles.
fn creases(size: &Size) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for (name, member) in size.patterns() {
        let mut alike: BTreeMap<(i64, i64), (usize, f64, f64)> = BTreeMap::new();
        for crease in &member.creases {
            let (length, angle) = (crease.length(), angle_of(crease));
            #[allow(
                clippy::cast_possible_truncation,
                reason = "a length in hundredths, capped by geometry"
            )]
            let key = ((length * 100.0).round() as i64, (angle * 100.0).round() as i64);
            alike.entry(key).or_insert((0, length, angle)).0 += 1;
        }
        for (count, length, angle) in alike.into_values() {
            let mut row = vec!["crease".to_owned(), name.clone(), count.to_string()];
            row.extend(both(length).into_iter().take(4));
            row.push(format!("{angle:.2}°"));
            rows.push(row);
        }
        for term in member.sum.iter().filter(|t| t.unit == "°") {
            let which = [term.label.as_str(), term.written.as_str()].join(" ");
            let mut row = vec!["angle".to_owned(), which.trim().to_owned(), "1".to_owned()];
            row.extend(std::iter::repeat_n(String::new(), 4));
            row.push(format!("{:.2}°", term.value));
            if !rows.contains(&row) {
                rows.push(row);
            }
        }
    }
    rows
}

/// The slope of a crease against the length of the cloth, in degrees from 0 to 90.
fn angle_of(crease: &Seg) -> f64 {
    let way = crease.b - crease.a;
    way.y.abs().atan2(way.x.abs()).to_degrees()
}

/// Sizes and inset of cards.
fn card_rows(size: &Size) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for (name, member) in size.patterns() {
        let alike = size.developed.members.iter().filter(|other| other.cut_alike(member)).count();
        let told = |t: &&crate::part::Term| t.unit == "mm" && t.role != TermRole::Step;
        for term in member.sum.iter().filter(told) {
            let mut row = vec![
                format!("card {}", name.trim_start_matches("card").trim_start_matches('-').trim()),
                term.label.clone(),
                alike.to_string(),
            ];
            row.extend(both(term.value).into_iter().take(4));
            rows.push(row);
        }
    }
    rows
}

/// In what order the cloth goes on.
///
/// # Source
/// Open end first, then the sides, the hinge last: common practice.
fn glue_order(measures: &Measures) -> &'static [&'static str] {
    match measures.word("boards") {
        Some("parallel") => &["the two ends", "the two sides"],
        Some("double") => &[
            "open end of the first wedge",
            "its sides",
            "open end of the second",
            "its sides",
            "the hinges",
        ],
        _ => &["the open end", "the two sides", "the hinge"],
    }
}

/// Faces and what is glued, part by part.
fn glueing(job: &Job, worked: &[Worked<'_>]) -> Table {
    let mut rows = Vec::new();
    for it in worked {
        let part = it.part;
        let Some(size) = it.sizes.first() else { continue };
        let mut add = |what: &str, text: String| {
            rows.push(vec![part.title(), part.material.clone(), what.to_owned(), text]);
        };
        let sides = job.materials.get(&part.material).map_or(&[][..], |material| material.sides());
        match (part.face, sides) {
            (Some(face), [one, other]) => {
                let back = if face == *one { other } else { one };
                add(
                    "face",
                    format!("drawn from the {face} side; the {back} side is the other one"),
                );
            }
            (None, [_, _]) => add("face", "not said: as it comes".to_owned()),
            _ => {}
        }
        let (keys, own) = glue_keys(part.kind, part.companion, &size.measures);
        for (key, text) in keys.iter().filter_map(|key| Some((key, value_of(own?, key.name)?))) {
            add(key.about, text);
        }
        if it.sizes.len() > 1 {
            add(
                "sizes",
                format!(
                    "{} sizes; figures are those of {}",
                    it.sizes.len(),
                    places(&size.positions)
                ),
            );
        }
        if let Some(wet) = &part.wet {
            add(
                "glued wet",
                format!(
                    "{:.1} % along, {:.1} % across allowed for",
                    wet.along * 100.0,
                    wet.across * 100.0
                ),
            );
        }
        if let Some(member) = size.developed.members.iter().find(|member| member.trim > 0.0) {
            add("trim", format!("{} on each side, cut off after glueing", show(member.trim)));
        }
        if size.developed.members.iter().any(|member| member.soft) {
            add("edge", "keep it soft: no hard or charred rim".to_owned());
        }
    }
    Table {
        name: "glueing",
        title: "Faces and glueing",
        head: &["part", "material", "what", "note"],
        rows,
        notes: Vec::new(),
    }
}

/// The keys of a kind, or of one of its companions, that speak of glue or skiving, with the measures they are in.
fn glue_keys<'a>(
    kind: Kind,
    companion: Option<&str>,
    measures: &'a Measures,
) -> (Vec<Key>, Option<&'a Measures>) {
    let card = kind.card();
    let (keys, own) = match companion {
        None => (card.keys, Some(measures)),
        Some(name) => {
            let of_it = card.companions.iter().find(|c| c.name == name);
            (of_it.map_or(&[][..], |c| c.keys), measures.companion(name))
        }
    };
    let speaks =
        |key: &&Key| key.about.contains("glue") || ["lap", "skive", "inset"].contains(&key.name);
    (keys.iter().filter(speaks).filter(|key| key.name != "trim").copied().collect(), own)
}

fn value_of(measures: &Measures, name: &str) -> Option<String> {
    measures.iter().find(|(key, ..)| *key == name).and_then(|(_, value, _)| match value {
        Value::Length(length) => Some(show_both(length)),
        Value::Count(count) => Some(count.to_string()),
        Value::Word(word) => Some((*word).to_owned()),
        _ => None,
    })
}
