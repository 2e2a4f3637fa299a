//! The punch list of a lay: what `cut` writes for the holes that no machine cuts.

use crate::fault::Fault;
use crate::job::Job;
use crate::part::Address;
use crate::plan::{CutPlan, PunchList, Punched};
use crate::write::{punch_csv, punch_picture, to_png};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Dots to the inch of the picture.
const DPI: f64 = 150.0;

/// The holes of a plan that are left to the punch, with the addresses of its pieces.
pub(super) fn punched(job: &Job, plan: &CutPlan, pieces: &[Address]) -> Vec<Punched> {
    let names: BTreeMap<String, &Address> = pieces.iter().map(|a| (a.to_string(), a)).collect();
    let rows = plan.rows.iter().filter_map(|row| Some((*names.get(&row.address)?, &row.punches)));
    rows.flat_map(|(address, holes)| {
        holes.iter().map(|(_, diameter)| Punched {
            address: address.clone(),
            diameter: *diameter,
            written: written(job, address, *diameter),
        })
    })
    .collect()
}

/// A diameter as the job has it for a piece; empty where it was worked out.
fn written(job: &Job, address: &Address, diameter: f64) -> String {
    let parts = job.parts.iter().filter(|part| part.name == address.part);
    let texts = parts.filter_map(|part| {
        let at = part.positions.numbers().iter().position(|n| *n == address.position)?;
        part.measures.get(at)?.diameter_as_written(diameter)
    });
    texts.map(str::to_owned).next().unwrap_or_default()
}

/// The table and its picture, as files; none where nothing is punched.
///
/// # Errors
/// `E70` where the picture cannot be made.
pub(super) fn files(
    list: &PunchList,
    job: &Job,
    lay: &str,
    folder: &Path,
) -> Result<Vec<(PathBuf, Vec<u8>)>, Fault> {
    if list.rows.is_empty() {
        return Ok(Vec::new());
    }
    let title = format!("{} - {lay}", job.title);
    let svg = punch_picture(list, &format!("{title} - holes to be punched")).to_svg();
    let png = to_png(&svg, DPI)
        .map_err(|e| Fault::error("E70", format!("the picture of the punch list failed: {e}")))?;
    Ok(vec![
        (folder.join("punch.csv"), punch_csv(list, &title).into_bytes()),
        (folder.join("punch.svg"), svg.into_bytes()),
        (folder.join("punch.png"), png),
    ])
}
