//! Laying on hides: instances with `bins`, each a hide with its holes and zones, and `items` with the quality they take.
//!
//! As many items as will go are laid on the first hide, the largest first, and proven; a higher quality is a better one,
//! an item without takes no zone at all. Coordinates are taken as millimetres.

use super::stuff::{bare_sheet, free, group, many, outline};
use super::timing::run;
use pouchwork::geom::Shape;
use pouchwork::lay::{Effort, Group};
use pouchwork::part::Needs;
use pouchwork::sheet::{GRADES, SheetKind, Zone};
use serde_json::Value;

/// Lays an instance with hides and prints a line a seed; does nothing where the file holds something else.
pub(crate) fn time(name: &str, text: &str, seeds: &[u64], sorting: f64) {
    let Some(group) = hide(text) else { return };
    let sheet = &group.grounds[0].sheet;
    for seed in seeds {
        let Some(run) = run(&group, Effort { seed: *seed, ..Effort::USUAL }) else { return };
        let area =
            |piece: usize| group.pieces[piece].turns.design(0).map_or(0.0, |d| d.shape.area());
        let placed = &run.layout.placed;
        let laid: f64 = placed.iter().map(|p| area(p.piece)).sum();
        let in_zones =
            placed.iter().filter(|p| group.pieces[p.piece].needs.grade != Some(1)).count();
        println!(
            "leather: {name:<10} {seed:>4} {} of {} on one hide ({in_zones} that take its zones), {:.2} % of what is \
             usable, {} evaluations, {:.1} s, {:.1} sorts",
            placed.len(),
            group.pieces.len(),
            100.0 * laid / sheet.area(),
            run.layout.spent,
            run.seconds,
            run.seconds / sorting,
        );
    }
}

/// The first hide with all items.
fn hide(text: &str) -> Option<Group> {
    let read: Value = serde_json::from_str(text).ok()?;
    let bin = read["bins"].as_array()?.first()?;
    let mut pieces = Vec::new();
    for (size, item) in read["items"].as_array()?.iter().enumerate() {
        let turns = free(Shape::plain(outline(&item["shape"]["data"], 1.0)?));
        let grade = item["min_quality"].as_u64().map_or(*GRADES.start(), grade);
        let count = u32::try_from(item["demand"].as_u64()?).ok()?;
        for mut piece in many(&format!("item-{size}"), size, &turns, count) {
            piece.needs = Needs { grade: Some(grade), ..Needs::default() };
            pieces.push(piece);
        }
    }
    let line = &bin["shape"]["data"];
    let holes =
        line["inner"].as_array().into_iter().flatten().filter_map(|hole| outline(hole, 1.0));
    let zones = bin["zones"].as_array().into_iter().flatten().filter_map(|zone| {
        let outline = outline(&zone["shape"]["data"], 1.0)?;
        Some(Zone { why: String::new(), grade: grade(zone["quality"].as_u64()?), outline })
    });
    let mut sheet = bare_sheet(SheetKind::Hide, outline(&line["outer"], 1.0)?, holes.collect());
    sheet.zones = zones.collect();
    Some(group(pieces, sheet.at_origin(), 0.0, 0.0))
}

/// The grade of a quality: three classes below the best, the last for none.
fn grade(quality: u64) -> u8 {
    let (best, worst) = (*GRADES.start(), *GRADES.end());
    worst - u8::try_from(quality).unwrap_or(worst).min(worst - best - 1)
}
