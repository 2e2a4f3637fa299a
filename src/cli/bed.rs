//! A lay as its sheet lies on the bed, turned and shifted, where that was found by two points.

use super::lay::Laid;
use crate::geom::{Point, Pose, Rect};
use crate::job::{Batch, Job};
use crate::lay::record::LiesRow;
use crate::lay::{Ground, Layout, Placed, Window};
use crate::machine::Machine;
use crate::sheet::{Flaw, Reading, Sheet, Used, Zone};
use std::sync::Arc;

/// How the sheet lies, in the words of a file.
pub(super) fn lies_told(row: &LiesRow) -> String {
    let [a, b] = row.found;
    format!(
        "The sheet lies turned by {:.4} degrees: two points of it at x {:.3} y {:.3} and x {:.3} y {:.3} mm of the bed.",
        row.lies().pose().turn,
        a[0],
        a[1],
        b[0],
        b[1]
    )
}

/// A point of the bed in the system of a cut file, which begins inside its margin.
pub(super) fn in_file(machine: &Machine, lies: Pose) -> Pose {
    Pose { x: lies.x - machine.margin, y: lies.y - machine.margin, ..lies }
}

/// What a piece's true line must stay within, as corners seen from the sheet: the bed less its margin and the cut.
pub(super) fn seen_from_sheet(machine: &Machine, kerf: (f64, f64), lies: Pose) -> [Point; 4] {
    // So much more that no rounding matters.
    const HAIR: f64 = 0.01;
    let (x, y) = (machine.margin + kerf.0 / 2.0 + HAIR, machine.margin + kerf.1 / 2.0 + HAIR);
    let (far, high) = (machine.width - x, machine.depth - y);
    let back = Pose::turned(-lies.turn);
    [(x, y), (far, y), (far, high), (x, high)]
        .map(|(x, y)| back.on_point(Point::new(x - lies.x, y - lies.y)))
}

impl Laid {
    /// The lay as it lies on the bed: the same, unless two points say how its sheet lies. Then sheet and pieces are turned
    /// and moved into the system of the cut file, which is one bed window.
    pub(super) fn on_the_bed(&self, job: &Job) -> Laid {
        let mut made = Laid {
            batches: self.batches.clone(),
            layouts: self.layouts.clone(),
            beside: Vec::new(),
            lies: self.lies.clone(),
        };
        let Some(lies) = &self.lies else { return made };
        for (batch, layout) in made.batches.iter_mut().zip(&mut made.layouts) {
            let Some(machine) = job.machine(&batch.machine) else { continue };
            let kerf = job.setting(&batch.material, &batch.machine);
            let kerf = kerf.map_or((0.0, 0.0), |s| (s.kerf_x, s.kerf_y));
            move_all(batch, layout, in_file(machine, lies.lies().pose()), kerf);
        }
        made
    }
}

fn move_all(batch: &mut Batch, layout: &mut Layout, pose: Pose, kerf: (f64, f64)) {
    for ground in &mut batch.group.grounds {
        *ground = Ground { sheet: Arc::new(moved(&ground.sheet, pose)), ..ground.clone() };
    }
    let mut room: Option<Rect> = None;
    for placed in &mut layout.placed {
        let at = pose.on_point(Point::new(placed.pose.x, placed.pose.y));
        let turn = placed.pose.turn + pose.turn;
        let lain = Pose { x: at.x, y: at.y, turn, ..placed.pose };
        *placed = Placed { pose: lain, window: Some(0), ..placed.clone() };
        let design =
            batch.group.pieces.get(placed.piece).and_then(|p| p.turns.design(placed.stance));
        let own = design.map(|design| lain.on_loop(design.shape.outline()).bounds());
        room = own.map(|own| room.map_or(own, |all| all.union(own))).or(room);
    }
    // The plan takes half the cut off the corner: the file begins at the corner of the bed's margin.
    let corner = Point::new(kerf.0 / 2.0, kerf.1 / 2.0);
    layout.windows = vec![Window { ground: 0, bounds: room.unwrap_or(Rect::ZERO), corner }];
    layout.dots.clear();
}

/// A sheet turned and moved, with all that lies on it.
fn moved(sheet: &Sheet, pose: Pose) -> Sheet {
    let on = |it: &crate::geom::Loop| pose.on_loop(it);
    Sheet {
        outline: on(&sheet.outline),
        flaws: sheet.flaws.iter().map(|f| Flaw { outline: on(&f.outline), ..f.clone() }).collect(),
        zones: sheet.zones.iter().map(|z| Zone { outline: on(&z.outline), ..z.clone() }).collect(),
        readings: sheet
            .readings
            .iter()
            .map(|r| Reading { at: pose.on_point(r.at), ..r.clone() })
            .collect(),
        used: sheet.used.iter().map(|u| Used { outline: on(&u.outline), ..u.clone() }).collect(),
        grain: sheet.grain + pose.turn,
        ..sheet.clone()
    }
}
