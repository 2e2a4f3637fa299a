//! From what is laid to what is bought: the pieces of a job by material, with the sheets in hand.

use super::Job;
use super::batch::{Batch, reach};
use crate::order::{Share, Wish};

/// What is wanted of each material, in the order of the job.
pub fn wishes(job: &Job, batches: &[Batch]) -> Vec<Wish> {
    let mut made: Vec<Wish> = Vec::new();
    for batch in batches {
        let (Some(material), Some(machine), Some(setting)) = (
            job.materials.get(&batch.material),
            job.machine(&batch.machine),
            job.setting(&batch.material, &batch.machine),
        ) else {
            continue;
        };
        let share = Share {
            machine: machine.key.clone(),
            group: batch.group.clone(),
            edge: setting.edge + setting.kerf() / 2.0,
            reach: reach(machine, setting),
        };
        match made.iter_mut().find(|wish| wish.material.key == material.key) {
            Some(wish) => wish.shares.push(share),
            None => made.push(Wish { material: material.clone(), shares: vec![share] }),
        }
    }
    made
}
