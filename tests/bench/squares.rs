//! Equal disks in a square: how near to the largest known radius all of them still find room.
//!
//! # Source
//! Specht, "The best known packings of equal circles in a square", packomania.com, table "csq".

use super::stuff::{bare_sheet, disk, free, group, many};
use super::timing::Pace;
use pouchwork::geom::{Point, rectangle};
use pouchwork::sheet::SheetKind;

/// How many, and the best known radius in a square of side 1.
const KNOWN: [(u32, f64); 3] = [(50, 0.0713771039), (88, 0.0544066369), (100, 0.0514010718)];
/// Shares of that radius, the largest first.
const SHARES: [f64; 5] = [1.0, 0.997, 0.995, 0.99, 0.985];
/// Side of the square (mm).
const SIDE: f64 = 1000.0;

/// Lays disks of several radii, the largest first, until all of them find room.
pub(crate) fn time(seeds: &[u64], times: &[f64], sorting: f64) {
    println!(
        "squares: disks in a square of {SIDE} mm; shares of the best known radius (Specht, csq)"
    );
    println!(
        "  disks  wanted  seed  share     placed at 1, 0.997, 0.995, 0.99, 0.985        seconds  in sorts"
    );
    for (count, known) in KNOWN {
        for wanted in times {
            for seed in seeds {
                if let Some((share, told, seconds)) = largest(count, known, *wanted, *seed) {
                    println!(
                        "  {count:>5} {wanted:>5} s {seed:>5}  {:<8} {:<44} {seconds:>7.2} {:>9.1}",
                        share.map_or_else(|| "none".to_owned(), |share| share.to_string()),
                        told.join(", "),
                        seconds / sorting,
                    );
                }
            }
        }
    }
}

/// The largest share at which all are placed, how many were placed at each, and the seconds of all together.
fn largest(
    count: u32,
    known: f64,
    wanted: f64,
    seed: u64,
) -> Option<(Option<f64>, Vec<String>, f64)> {
    let square = rectangle(Point::ORIGIN, SIDE, SIDE, 0.0).ok()?;
    let (mut told, mut seconds, mut pace) = (Vec::new(), 0.0, None);
    for share in SHARES {
        let turns = free(disk(2.0 * SIDE * known * share)?);
        let sheet = bare_sheet(SheetKind::Leaf, square.clone(), Vec::new());
        let group = group(many("disk", 0, &turns, count), sheet, 0.0, 0.0);
        if pace.is_none() {
            pace = Some(Pace::found(&group, wanted, seed)?);
        }
        let run = pace.as_ref()?.run_until_all(&group, wanted, seed)?;
        told.push(run.layout.placed.len().to_string());
        seconds += run.seconds;
        if run.layout.left.is_empty() {
            return Some((Some(share), told, seconds));
        }
    }
    Some((None, told, seconds))
}
