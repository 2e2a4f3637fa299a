//! Disks on a hide that is larger than the bed: as many as find room in bed windows.

use super::hide::{APART, sheet};
use super::stuff::{disk, free, group, many};
use super::timing::run;
use pouchwork::geom::Vec2;
use pouchwork::lay::Effort;
use serde_json::Value;

/// Diameter of the disks (mm).
const ACROSS: f64 = 41.0;
/// The bed (mm).
const BED: f64 = 400.0;
/// More than find room.
const WANTED: u32 = 400;

/// Lays the disks on the hide of an instance, if it has one; prints how many found room, in how many windows.
pub(crate) fn time(name: &str, text: &str, efforts: &[u64], sorting: f64) {
    let read: Option<Value> = serde_json::from_str(text).ok();
    let (Some(hide), Some(shape)) = (read.and_then(|read| sheet(&read["hide"])), disk(ACROSS))
    else {
        return;
    };
    let mut group = group(many("disk", 0, &free(shape), WANTED), hide, 0.0, APART);
    for bed in [None, Some(Vec2::new(BED, BED))] {
        group.window = bed;
        for evaluations in efforts {
            let effort = Effort { evaluations: *evaluations, seed: 1 };
            let Some(run) = run(&group, effort) else { continue };
            let layout = &run.layout;
            let shared = layout.dots.iter().filter(|d| d.windows.len() > 1).count();
            println!(
                "windows: {name:<10} {} disks of {ACROSS} mm in {} windows, {} dots, {shared} of them shared, \
                 {evaluations} evaluations, {:.1} s, {:.1} sorts",
                layout.placed.len(),
                layout.windows.len(),
                layout.dots.len(),
                run.seconds,
                run.seconds / sorting,
            );
        }
    }
}
