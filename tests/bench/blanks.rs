//! Tapered blanks on a width of cloth, lengthwise only and both ways: how much of the roll they take.
//!
//! 88 octagons of 290 x 35 mm that taper to 12 mm at their ends, on cloth 1370 mm wide, 0.5 mm apart. Our own trial job.

use pouchwork::fault::Place;
use pouchwork::geom::{Loop, Point, Shape};
use pouchwork::lay::{Effort, Ground, Group, Layout, Patient, lay, proof};
use pouchwork::part::{Address, Design, Piece, Stance, Turns};
use pouchwork::sheet::{Sheet, SheetKind, width_of_cloth};
use std::sync::Arc;
use std::time::Instant;

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
pub(crate) fn time(seeds: &[u64]) {
    println!("blanks     turns   effort    seed   mm of the roll   evaluations  seconds");
    for turns in [&[0.0, 180.0][..], &[0.0, 90.0, 180.0, 270.0]] {
        let Some(group) = group(turns) else { return };
        for evaluations in
            [Effort::QUICK.evaluations, 99_000, Effort::USUAL.evaluations, 10_000_000]
        {
            for seed in seeds {
                let start = Instant::now();
                let layout = lay(&group, Effort { evaluations, seed: *seed }, &Patient);
                let taken = start.elapsed().as_secs_f64();
                let proven = proof::prove(&group, &layout).is_ok() && layout.left.is_empty();
                println!(
                    "           {:>5} {evaluations:>8} {seed:>7} {:>16.2} {:>13} {taken:>8.2}{}",
                    turns.len(),
                    reach(&group, &layout),
                    layout.spent,
                    if proven { "" } else { "   NOT WHOLE" },
                );
            }
        }
    }
}

fn reach(group: &Group, layout: &Layout) -> f64 {
    let end = |placed: &pouchwork::lay::Placed| {
        let design = group.pieces[placed.piece].turns.design(placed.stance)?;
        Some(placed.pose.on_loop(design.shape.outline()).bounds().x1)
    };
    layout.placed.iter().filter_map(end).fold(0.0, f64::max)
}

fn group(turns: &[f64]) -> Option<Group> {
    let corners: Vec<Point> = CORNERS.iter().map(|(x, y)| Point::new(*x, *y)).collect();
    let shape = Shape::plain(Loop::polygon(&corners).ok()?);
    let design =
        Arc::new(Design { shape, creases: Vec::new(), punches: Vec::new(), rounds: Vec::new() });
    let stance = |turn: &f64| Stance { turn: *turn, design: Arc::clone(&design) };
    let turns = Turns::Fixed(turns.iter().map(stance).collect());
    let pieces = (1..=88).map(|position| Piece {
        address: Address { part: "blank".to_owned(), position, member: None, spare: 0 },
        size: 0,
        turns: turns.clone(),
        face: None,
        soft: false,
    });
    let sheet = Sheet {
        id: "roll".to_owned(),
        kind: SheetKind::Cloth,
        material: "cloth".to_owned(),
        up: None,
        outline: width_of_cloth(3000.0, 1370.0).ok()?,
        flaws: Vec::new(),
        grain: 0.0,
        edge: None,
        thickness: None,
        cut_with: None,
        generation: 1,
        added: None,
        from: None,
        place: Place::head(&Arc::from("roll")),
    };
    let grounds = vec![Ground { sheet: Arc::new(sheet), edge: 0.0 }];
    Some(Group { pieces: pieces.collect(), grounds, apart: 0.5, hard_edges: false })
}
