//! `check`: the whole job looked over.

use super::Answer;
use super::args::Common;
use super::open::{Open, open};
use super::{Outcome, outcome_of};
use crate::job::{Worked, assumed, batches, judge, places, short, stops, work_out};
use crate::part::{Kind, Size, TermRole};
use crate::units::{counted, show_inches};
use serde_json::json;

pub(super) fn run(common: &Common) -> Answer {
    let opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let Open { job, sources, warnings, .. } = opened;
    let (worked, more) = work_out(&job);
    let mut faults = warnings;
    faults.extend(more);
    faults.extend(stops(&job));
    faults.extend(judge(&job, &worked));
    let mut answer = Answer::new();
    answer.line(job.title.clone());
    let mut parts = Vec::new();
    for it in &worked {
        answer.line(part_line(it));
        parts.push(part_json(it));
    }
    if !job.ruled.is_empty() {
        answer.line(format!("the stock record {} rules for: {}", job.stock, job.ruled.join(", ")));
    }
    let mut need = Vec::new();
    match batches(&job, &worked) {
        Ok(list) => {
            faults.extend(short(&job, &list));
            answer.line("");
            for batch in &list {
                let wanted: f64 = batch
                    .group
                    .pieces
                    .iter()
                    .filter_map(|p| p.turns.design(0))
                    .map(|d| d.shape.outline().area())
                    .sum();
                let have: f64 = batch.group.grounds.iter().map(|g| g.sheet.area()).sum();
                let sheets: Vec<&str> =
                    batch.group.grounds.iter().map(|g| g.sheet.id.as_str()).collect();
                answer.line(format!(
                    "{:<16} {:<16} {:>4} {:<6}  {:>7.2} dm² of {:.2} dm² ({})",
                    batch.material,
                    batch.machine,
                    batch.group.pieces.len(),
                    if batch.group.pieces.len() == 1 { "piece" } else { "pieces" },
                    wanted / 1e4,
                    have / 1e4,
                    sheets.join(", "),
                ));
                need.push(json!({
                    "material": batch.material,
                    "machine": batch.machine,
                    "pieces": batch.group.pieces.len(),
                    "area-mm2": wanted,
                    "sheets": sheets,
                    "have-mm2": have,
                }));
            }
        }
        Err(more) => faults.extend(more),
    }
    let assumed = assumed(&job);
    if !assumed.is_empty() {
        answer.line("");
        answer.line(format!("only assumed, to be measured: {}", assumed.join("; ")));
    }
    answer.result =
        json!({ "title": job.title, "parts": parts, "materials": need, "assumed": assumed });
    answer.outcome = outcome_of(&faults);
    let warned = faults.iter().filter(|f| !f.is_error()).count();
    answer.faults = faults;
    answer.sources = sources;
    if answer.outcome == Outcome::Done {
        let looked =
            if warned == 0 { "no slips found".to_owned() } else { format!("{warned} to look at") };
        answer.hint(format!("{looked}\nnext: pouchwork draw, then pouchwork lay"));
    }
    answer
}

fn part_line(it: &Worked<'_>) -> String {
    let part = it.part;
    let count = part.positions.numbers().len();
    // A companion's pieces are counted: six cards of one pump are six.
    let each = |s: &Size| part.companion.map_or(1, |_| s.developed.members.len());
    let pieces: usize = it.sizes.iter().map(|s| s.positions.len() * each(s)).sum();
    let spares: usize =
        it.sizes.iter().map(|s| part.spares.of(s.positions.len()) as usize * each(s)).sum();
    let spare = if spares > 0 { format!(" + {spares} spare") } else { String::new() };
    let most = it.sizes.iter().max_by_key(|s| s.positions.len());
    let size = most.map_or(String::new(), |s| {
        let mut told: Vec<String> = Vec::new();
        for (name, member) in s.patterns() {
            for term in member.sum.iter().filter(|t| t.role == TermRole::Total) {
                let name = if name.is_empty() { String::new() } else { format!("{name} ") };
                let (label, mm) = (&term.label, term.value);
                told.push(format!("{name}{label} {mm:.2} mm ({})", show_inches(mm)));
            }
        }
        told.join(", ")
    });
    let odd: Vec<u32> = it
        .sizes
        .iter()
        .filter(|s| most.is_none_or(|m| m.positions != s.positions))
        .flat_map(|s| s.positions.clone())
        .collect();
    let alike = if odd.is_empty() {
        "all alike".to_owned()
    } else {
        format!("{} alike, odd: {}", count - odd.len(), places(&odd))
    };
    // Facings come in twos: what is counted is the valve, and what is laid are the pieces.
    let members = most.map_or(1, |s| s.developed.members.len());
    let noun = if part.kind == Kind::Facing { "facing" } else { "piece" };
    let twice = if members > 1 && part.companion.is_none() {
        format!(", {} each;", counted(members, noun))
    } else {
        String::new()
    };
    let head = format!("{pieces}{spare}{twice}");
    format!("{:<18} {head:<14} {alike}; {size}", part.title())
}

fn part_json(it: &Worked<'_>) -> serde_json::Value {
    let sizes: Vec<_> = it
        .sizes
        .iter()
        .map(|s| {
            let totals: Vec<_> = s
                .totals()
                .into_iter()
                .map(|(member, label, mm)| json!({ "member": member.map(|m| m.to_string()), "label": label, "mm": mm }))
                .collect();
            json!({ "positions": s.positions, "spares": it.part.spares.of(s.positions.len()), "totals": totals })
        })
        .collect();
    json!({ "name": it.part.title(), "kind": it.part.kind.to_string(), "sizes": sizes })
}
