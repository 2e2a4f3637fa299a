//! Laying on hides: instances with `bins`, each a hide with its holes and zones, and `items` with the quality they take.
//!
//! As many items as will go are laid on the first hide, the largest first, and proven; a higher quality is a better one,
//! an item without takes no zone at all. Coordinates are taken as millimetres.

use pouchwork::fault::Place;
use pouchwork::geom::{Loop, Shape};
use pouchwork::lay::{Effort, Ground, Group, Patient, lay, proof};
use pouchwork::part::{Address, Design, Needs, Piece, Turns};
use pouchwork::sheet::{Flaw, GRADES, Sheet, SheetKind, Zone};
use serde_json::Value;
use std::sync::Arc;
use std::time::Instant;

/// Lays an instance with hides and prints a line; does nothing where the file holds something else.
pub(crate) fn time(name: &str, text: &str, seed: u64) {
    let Some(group) = hide(text) else { return };
    let sheet = &group.grounds[0].sheet;
    let start = Instant::now();
    let layout = lay(&group, Effort { seed, ..Effort::USUAL }, &Patient);
    let seconds = start.elapsed().as_secs_f64();
    if let Err(breaches) = proof::prove(&group, &layout) {
        println!("{name}: {breaches:?}");
        return;
    }
    let area = |piece: &usize| group.pieces[*piece].turns.design(0).map_or(0.0, |d| d.shape.area());
    let laid: f64 = layout.placed.iter().map(|p| area(&p.piece)).sum();
    let in_zones =
        layout.placed.iter().filter(|p| group.pieces[p.piece].needs.grade != Some(1)).count();
    println!(
        "{name:<10} {seed:>4} {} of {} on one hide ({in_zones} that take its zones), {:.2} % of what is usable, \
         {} evaluations, {seconds:.1} s",
        layout.placed.len(),
        group.pieces.len(),
        100.0 * laid / sheet.area(),
        layout.spent,
    );
}

/// The first hide with all items.
fn hide(text: &str) -> Option<Group> {
    let read: Value = serde_json::from_str(text).ok()?;
    let bin = read["bins"].as_array()?.first()?;
    let mut pieces = Vec::new();
    for (size, item) in read["items"].as_array()?.iter().enumerate() {
        let shape = Shape::plain(super::outline(&item["shape"]["data"])?);
        let design = Design { shape, creases: Vec::new(), punches: Vec::new(), rounds: Vec::new() };
        let turns = Turns::Free(Arc::new(design));
        let grade = item["min_quality"].as_u64().map_or(*GRADES.start(), grade);
        let count = u32::try_from(item["demand"].as_u64()?).ok()?;
        pieces.extend((1..=count).map(|position| Piece {
            address: Address { part: format!("item-{size}"), position, member: None, spare: 0 },
            size,
            turns: turns.clone(),
            face: None,
            soft: false,
            needs: Needs { grade: Some(grade), ..Needs::default() },
        }));
    }
    let line = &bin["shape"]["data"];
    let holes = line["inner"].as_array().into_iter().flatten().filter_map(super::outline);
    let zones = bin["zones"].as_array().into_iter().flatten().filter_map(|zone| {
        let outline = super::outline(&zone["shape"]["data"])?;
        Some(Zone { why: String::new(), grade: grade(zone["quality"].as_u64()?), outline })
    });
    let sheet = Sheet {
        id: "hide".to_owned(),
        kind: SheetKind::Hide,
        material: "leather".to_owned(),
        up: None,
        outline: super::outline(&line["outer"])?,
        flaws: holes.map(|outline: Loop| Flaw { why: "hole".to_owned(), outline }).collect(),
        grade: *GRADES.start(),
        zones: zones.collect(),
        readings: Vec::new(),
        grain: 0.0,
        edge: None,
        thickness: None,
        cut_with: None,
        generation: 1,
        place: Place::head(&Arc::from("hide")),
    };
    let grounds = vec![Ground { sheet: Arc::new(sheet.at_origin()), edge: 0.0 }];
    Some(Group { pieces, grounds, apart: 0.0, hard_edges: false })
}

/// The grade of a quality: three classes below the best, the last for none.
fn grade(quality: u64) -> u8 {
    let (best, worst) = (*GRADES.start(), *GRADES.end());
    worst - u8::try_from(quality).unwrap_or(worst).min(worst - best - 1)
}
