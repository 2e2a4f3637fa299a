//! A job cut down to one piece that is cut again, on one sheet or on any.

use super::Job;
use super::batch::Batch;

/// Which piece is cut again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecutTask {
    /// Its address.
    pub address: String,
    /// The only sheet that it may come from; none: any of its material.
    pub sheet: Option<String>,
}

/// The job with nothing to lay but one piece.
pub fn recut_job(job: &Job, address: &str, sheet: Option<&str>) -> Job {
    let task = RecutTask { address: address.to_owned(), sheet: sheet.map(str::to_owned) };
    Job { recut: Some(task), ..job.clone() }
}

/// The batch of the piece, with it alone; none where the job has no such piece.
pub(super) fn only(batches: Vec<Batch>, task: &RecutTask) -> Vec<Batch> {
    let is_it = |address: &crate::part::Address| address.to_string() == task.address;
    batches
        .into_iter()
        .filter_map(|mut batch| {
            batch.group.pieces.retain(|piece| is_it(&piece.address));
            // Its partner is cut already: it has to go by what it lies on alone.
            batch.group.pieces.first_mut()?.needs.together = false;
            if let Some(id) = &task.sheet {
                batch.group.grounds.retain(|ground| ground.sheet.id == *id);
            }
            Some(batch)
        })
        .collect()
}
