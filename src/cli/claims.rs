//! Whose ground is whose: the claims of a lay in the stock record, and a job seen without them.

use super::cut::{Turned, record as fresh_record};
use super::store::{Store, TrueDisk, now};
use super::which::maker;
use super::{Answer, desk};
use crate::fault::Fault;
use crate::job::{Job, fingerprint};
use crate::lay::proof::{Breach, BreachKind};
use crate::lay::record::{Record, claimant, from_json, to_json};
use crate::sheet::{Holder, Sheet, State};
use crate::stock::{Taken, claim};
use crate::write::manifest::hash;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Component, Path, PathBuf};

/// Where the stock record of a job is.
pub(super) fn place(folder: &Path, job: &Job) -> PathBuf {
    folder.join(&job.stock)
}

/// A lay of a job as the stock record names it, whatever it holds.
pub(super) fn named(folder: &Path, job: &Job, lay: &str) -> Holder {
    Holder { job: seen_from_record(folder, &job.stock), lay: lay.to_owned(), hash: String::new() }
}

/// A lay as the stock record names it.
pub(super) fn holder(folder: &Path, job: &Job, lay: &str, record: &Record) -> Holder {
    let whole = hash(to_json(record).as_bytes());
    Holder { hash: whole.chars().take(Holder::FIGURES).collect(), ..named(folder, job, lay) }
}

/// The job folder seen from a record that stands outside it; none for a record within.
fn seen_from_record(folder: &Path, stock: &str) -> Option<String> {
    if !stock.starts_with("../") {
        return None;
    }
    let there = desk::whole(&folder.join(stock).parent().map(Path::to_owned).unwrap_or_default());
    let here = desk::whole(folder);
    let (a, b): (Vec<Component<'_>>, Vec<Component<'_>>) =
        (there.components().collect(), here.components().collect());
    let shared = a.iter().zip(&b).take_while(|(a, b)| a == b).count();
    let mut steps = vec!["..".to_owned(); a.len() - shared];
    steps.extend(b[shared..].iter().map(|c| c.as_os_str().to_string_lossy().into_owned()));
    Some(steps.join("/"))
}

/// Addresses of the pieces that the stock record books for a job as cut and good, or, with `claimed`, that a cut file of
/// it holds ground for; a place for which a spare was taken is among them.
pub(super) fn held_for(folder: &Path, job: &Job, claimed: bool) -> BTreeSet<String> {
    let own = named(folder, job, "").job;
    let held = job.sheets.iter().flat_map(|sheet| &sheet.used).filter(|used| used.by.job == own);
    held.filter(|used| used.state == State::Good || (claimed && used.state == State::Claimed))
        .flat_map(|used| [Some(used.address.clone()), used.given.clone()])
        .flatten()
        .collect()
}

/// A job as a lay of it sees it: what the lay itself claims is no hindrance to it.
pub(super) fn without_own(mut job: Job, lay_folder: &Path) -> Job {
    let known = || {
        let bytes = desk::read(&lay_folder.join("lay.json")).ok()??;
        let record = from_json(std::str::from_utf8(&bytes).ok()?).ok()?;
        let whole = desk::whole(lay_folder);
        let name = whole.file_name()?.to_str()?;
        Some(holder(whole.parent()?.parent()?, &job, name, &record))
    };
    let Some(own) = known() else { return job };
    job.sheets = job
        .sheets
        .into_iter()
        .map(|s| s.without(|u| u.state == State::Claimed && u.by == own))
        .collect();
    job
}

/// A sheet that was booked since a lay was made: `E83`, with who had it.
pub(super) fn moved_on(job: &Job, record: &Record, lay: &str) -> Vec<Fault> {
    let mut faults = Vec::new();
    for row in record.sheets.iter().filter(|row| record.pieces.iter().any(|p| p.sheet == row.id)) {
        let Some(sheet) = job.sheets.iter().find(|s| s.id == row.id) else { continue };
        if sheet.generation <= row.generation {
            continue;
        }
        let last = sheet.used.iter().rev().find(|u| u.state != State::Claimed);
        let by = last.map_or(String::new(), |used| format!(", last by {}", used.by));
        faults.push(
            Fault::error(
                "E83",
                format!(
                    "{lay} was laid on {} of generation {}, and it has been cut and booked since{by}: it is of generation {}",
                    row.id, row.generation, sheet.generation
                ),
            )
            .at(&sheet.place)
            .cure(format!("lay what is still wanted anew: {}", maker(lay))),
        );
    }
    faults
}

/// Breaches of a lay's proof that mean ground of others: `E84`, one for each who holds it.
pub(super) fn taken_by_others(job: &Job, lay: &str, breaches: &[Breach]) -> Vec<Fault> {
    let mut told: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    let holders = job.sheets.iter().flat_map(|s| s.used.iter().map(move |u| (s, u)));
    let names: Vec<(String, &Sheet)> = holders.map(|(s, u)| (format!("({})", u.by), s)).collect();
    for breach in breaches.iter().filter(|b| b.kind == BreachKind::Used) {
        let by = names.iter().find(|(name, _)| breach.text.contains(name.as_str()));
        let by = by.map_or(String::new(), |(name, s)| {
            format!("{} on {}", name.trim_matches(['(', ')']), s.id)
        });
        told.entry(by).or_default().push(&breach.text);
    }
    told.into_iter()
        .map(|(by, list)| {
            let more = if list.len() > 1 { format!(", and {} more", list.len() - 1) } else { String::new() };
            Fault::error("E84", format!("{lay} lies on ground of {by}: {}{more}", list[0]))
                .cure(format!("lay it anew: {} keeps clear of what others hold; or free it with pouchwork tally LAY --withdrawn, if that was never cut", maker(lay)))
        })
        .collect()
}

/// The job as a lay that was made from the same inputs saw it, if that lay can still be cut; with its number.
///
/// Claims that came later are left out of its ground: it was proven that none of them touches it.
pub(super) fn again(folder: &Path, job: &Job, (seed, effort): (u64, u64)) -> Option<Job> {
    let has_claims = |s: &Sheet| s.used.iter().any(|u| u.state == State::Claimed);
    if !job.sheets.iter().any(has_claims) {
        return None;
    }
    desk::lays(folder, desk::LAY).into_iter().rev().find_map(|(_, lay_folder)| {
        let whole = desk::whole(&lay_folder);
        let name = whole.file_name()?.to_str()?;
        let seen = without_own(job.clone(), &lay_folder);
        let record = fresh_record(&seen, &lay_folder, name).ok()?;
        if (record.seed, record.effort, record.program.as_str())
            != (seed, effort, env!("CARGO_PKG_VERSION"))
        {
            return None;
        }
        super::cut::laid(&seen, &record, name).ok()?;
        let mut then = seen;
        for sheet in &mut then.sheets {
            let row = record.sheets.iter().find(|row| row.id == sheet.id);
            let clear = row.map(|row| row.clear_of.clone()).unwrap_or_default();
            sheet.used.retain(|u| u.state != State::Claimed || clear.contains(&claimant(&u.by)));
        }
        Some(then)
    })
}

/// The record of a job, locked.
pub(super) fn store(
    folder: &Path,
    job: &Job,
    command: &str,
    wait: u64,
) -> Result<Store<TrueDisk>, Fault> {
    Store::open(&place(folder, job), command, wait)
}

/// Claims what the files of a cut take; gives whether anything was claimed that was not before.
pub(super) fn claim_all(
    store: &mut Store<TrueDisk>,
    by: &Holder,
    turned: &[Turned],
) -> Result<bool, Fault> {
    let mut list: Vec<Taken<'_>> = Vec::new();
    let marks: Vec<String> = turned.iter().map(|t| fingerprint(&t.sheet)).collect();
    for (t, mark) in turned.iter().zip(&marks) {
        match list.iter_mut().find(|taken| taken.sheet.id == t.sheet.id) {
            Some(taken) => taken.pieces.extend(t.pieces.iter().cloned()),
            None => list.push(Taken { sheet: &t.sheet, entered: mark, pieces: t.pieces.clone() }),
        }
    }
    let edit = claim(&store.text, by, &list, now()?.0)?;
    let ids: Vec<&str> = list.iter().map(|taken| taken.sheet.id.as_str()).collect();
    store.book(&edit, &format!("{by} claims its pieces on {}", ids.join(", ")))?;
    Ok(!edit.is_empty())
}

/// What `cut` says of its claims.
pub(super) fn tell(
    answer: &mut Answer,
    fresh: bool,
    (by, stock): (&Holder, &str),
    turned: &[Turned],
) {
    let mut ids: Vec<&str> = turned.iter().map(|t| t.sheet.id.as_str()).collect();
    ids.dedup();
    let pieces: usize = turned.iter().map(|t| t.pieces.len()).sum();
    let said = if fresh { "claims" } else { "goes on claiming" };
    answer.line(format!(
        "{} {said} the ground of {} on {} in {stock}",
        by.lay,
        crate::units::counted(pieces, "piece"),
        ids.join(", ")
    ));
    answer.result["claimed"] =
        serde_json::json!({ "record": stock, "sheets": ids, "pieces": pieces, "fresh": fresh });
    answer.hint(format!(
        "once it is cut: pouchwork tally {} --all-good, or --failed with what was spoilt",
        by.lay
    ));
}
