//! Disks on a hide that is larger than the bed: as many as find room in bed windows.

use super::{Value, outline};
use pouchwork::fault::Place;
use pouchwork::geom::{Loop, Point, Shape, Vec2};
use pouchwork::lay::{Effort, Ground, Group, Patient, lay, proof};
use pouchwork::part::{Address, Design, Piece, Turns};
use pouchwork::sheet::{Flaw, Sheet, SheetKind};
use std::sync::Arc;
use std::time::Instant;

/// Diameter of the disks, and what is left between them (mm).
const DISK: (f64, f64) = (41.0, 0.5);
/// The bed (mm).
const BED: f64 = 400.0;
/// More than find room.
const WANTED: u32 = 400;

/// Lays the disks on the hide of an instance, if it has one; prints how many found room, in how many windows.
pub(crate) fn time(name: &str, text: &str, efforts: &[u64]) {
    let Some(hide) = serde_json::from_str(text).ok().and_then(|read: Value| hide(&read["hide"]))
    else {
        return;
    };
    let (across, apart) = DISK;
    let Ok(outline) = Loop::circle(Point::ORIGIN, across / 2.0) else { return };
    let design = Arc::new(Design {
        shape: Shape::plain(outline),
        creases: Vec::new(),
        punches: Vec::new(),
        rounds: Vec::new(),
    });
    let disk = |position| Piece {
        address: Address { part: "disk".to_owned(), position, member: None, spare: 0 },
        size: 0,
        turns: Turns::Free(Arc::clone(&design)),
        face: None,
        soft: false,
    };
    let mut group = Group {
        pieces: (1..=WANTED).map(disk).collect(),
        grounds: vec![Ground { sheet: Arc::new(hide), edge: 0.0, window: None }],
        apart,
        hard_edges: false,
        window: None,
    };
    for bed in [None, Some(Vec2::new(BED, BED))] {
        group.window = bed;
        for evaluations in efforts {
            let start = Instant::now();
            let layout = lay(&group, Effort { evaluations: *evaluations, seed: 1 }, &Patient);
            let seconds = start.elapsed().as_secs_f64();
            if let Err(breaches) = proof::prove(&group, &layout) {
                println!("{name}: {breaches:?}");
            }
            let shared = layout.dots.iter().filter(|d| d.windows.len() > 1).count();
            println!(
                "{name:<10} {} disks of {across} mm in {} windows, {} dots, {shared} of them shared, {evaluations} evaluations, {seconds:.1} s",
                layout.placed.len(),
                layout.windows.len(),
                layout.dots.len(),
            );
        }
    }
}

fn hide(read: &Value) -> Option<Sheet> {
    let flaws = read["flaws"].as_array().into_iter().flatten();
    let flaws = flaws.filter_map(outline).map(|outline| Flaw { why: "flaw".to_owned(), outline });
    Some(Sheet {
        id: "hide".to_owned(),
        kind: SheetKind::Hide,
        material: "leather".to_owned(),
        up: None,
        outline: outline(&read["outline"])?,
        flaws: flaws.collect(),
        grain: 0.0,
        edge: None,
        thickness: None,
        cut_with: None,
        generation: 1,
        place: Place::head(&Arc::from("hide")),
    })
}
