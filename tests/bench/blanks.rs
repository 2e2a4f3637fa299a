//! Tapered blanks on a width of cloth, lengthwise only and both ways: how much of the roll they take.
//!
//! 88 octagons of 290 x 35 mm that taper to 12 mm at their ends, on cloth 1370 mm wide, 0.5 mm apart. Our own trial job.

use super::stuff::{bare_sheet, fixed, group, many, polygon, reach};
use super::timing::run;
use pouchwork::lay::{Effort, Group};
use pouchwork::sheet::{SheetKind, width_of_cloth};

const CORNERS: [(f64, f64); 8] = [
    (0.0, 11.5),
    (85.0, 0.0),
    (205.0, 0.0),
    (290.0, 11.5),
    (290.0, 23.5),
    (205.0, 35.0),
    (85.0, 35.0),
    (0.0, 23.5),
];

/// Lays the blanks at several efforts and prints what they take.
pub(crate) fn time(seeds: &[u64], sorting: f64) {
    println!("blanks     turns   effort    seed   mm of the roll   evaluations  seconds  in sorts");
    for turns in [&[0.0, 180.0][..], &[0.0, 90.0, 180.0, 270.0]] {
        let Some(group) = blanks(turns) else { return };
        for evaluations in [Effort::QUICK.evaluations, 99_000, Effort::USUAL.evaluations] {
            for seed in seeds {
                let Some(run) = run(&group, Effort { evaluations, seed: *seed }) else { return };
                println!(
                    "           {:>5} {evaluations:>8} {seed:>7} {:>16.2} {:>13} {:>8.2} {:>9.1}{}",
                    turns.len(),
                    reach(&group, &run.layout),
                    run.layout.spent,
                    run.seconds,
                    run.seconds / sorting,
                    if run.layout.left.is_empty() { "" } else { "   NOT WHOLE" },
                );
            }
        }
    }
}

fn blanks(turns: &[f64]) -> Option<Group> {
    let pieces = many("blank", 0, &fixed(polygon(&CORNERS)?, turns), 88);
    let roll = width_of_cloth(3000.0, 1370.0).ok()?;
    Some(group(pieces, bare_sheet(SheetKind::Cloth, roll, Vec::new()), 0.0, 0.5))
}
