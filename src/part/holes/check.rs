//! What every hole must pass: inside its part, apart from the rest, and the thinnest web between them.

use super::{Bored, Few, Holes};
use crate::fault::Fault;
use crate::geom::{Loop, Rect, loop_distance, loop_within};
use crate::part::measures::Measures;
use crate::part::sum::{Sum, doubt, mm};

/// A web thinner than this is pointed out (mm).
///
/// # Source
/// Common practice for leather.
const USUAL_WEB: f64 = 1.5;

/// The thinnest web met so far, and between what.
#[derive(Debug, Default)]
struct Thinnest(Option<(f64, String)>);

impl Thinnest {
    fn take(&mut self, web: f64, what: impl FnOnce() -> String) {
        if self.0.as_ref().is_none_or(|(least, _)| web < *least) {
            self.0 = Some((web, what()));
        }
    }

    /// Whether two boxes are so far apart that what is in them cannot meet, nor leave a thinner web.
    fn beyond(&self, a: Rect, b: Rect) -> bool {
        let dx = (b.x0 - a.x1).max(a.x0 - b.x1).max(0.0);
        let dy = (b.y0 - a.y1).max(a.y0 - b.y1).max(0.0);
        self.0.as_ref().is_some_and(|(least, _)| dx.hypot(dy) > least.max(1e-3))
    }
}

/// Every hole inside, none meeting another; the thinnest web reported.
pub(super) fn check(m: &Measures, outline: &Loop, bored: &[Bored], found: &mut Holes) {
    let mut thinnest = Thinnest::default();
    let mut faults = Few::default();
    let boxes: Vec<Rect> = bored.iter().map(|hole| hole.outline.bounds()).collect();
    for (i, hole) in bored.iter().enumerate() {
        if !loop_within(&hole.outline, outline) {
            faults.push(|| outside(hole, outline));
            continue;
        }
        let edge = loop_distance(&hole.outline, outline).0;
        thinnest.take(edge, || format!("between {} and the edge", hole.name));
        for (j, other) in bored.iter().enumerate().take(i) {
            if faults.is_full() {
                break;
            }
            if thinnest.beyond(boxes[i], boxes[j]) {
                continue;
            }
            let apart = loop_distance(&hole.outline, &other.outline).0;
            if apart <= 1e-6
                || loop_within(&hole.outline, &other.outline)
                || loop_within(&other.outline, &hole.outline)
            {
                faults.push(|| {
                    let text = format!("{} and {} run into each other", other.name, hole.name);
                    Fault::error("E27", text)
                        .at(&hole.place)
                        .cure("look at their places and diameters")
                });
            } else {
                thinnest.take(apart, || format!("between {} and {}", other.name, hole.name));
            }
        }
    }
    found.faults.append(&mut faults.finish());
    if let Thinnest(Some((web, what))) = thinnest {
        found.terms.extend(Sum::default().note("thinnest web", &what, web, "mm").terms);
        if web < m.mm_or("least-web", USUAL_WEB) {
            found.faults.push(doubt(
                "W24",
                m,
                "least-web",
                format!("only {} of material {what}", mm(web)),
                "thin webs tear and leak; `least-web` says from what width on to be silent",
            ));
        }
    }
}

/// A hole that leaves its part.
fn outside(hole: &Bored, outline: &Loop) -> Fault {
    let (b, room) = (hole.outline.bounds(), outline.bounds());
    let out = (room.x0 - b.x0).max(b.x1 - room.x1).max(room.y0 - b.y0).max(b.y1 - room.y1);
    let how = if out > 0.0 {
        format!("ends {} outside the part", mm(out))
    } else {
        "runs into the part's edge".to_owned()
    };
    let cure = if room.x0.abs() < 1e-6 && room.y0.abs() < 1e-6 {
        format!(
            "the part is {} long and {} wide; places are measured from its lower left corner",
            mm(room.width()),
            mm(room.height())
        )
    } else {
        format!(
            "the part runs from x {:.2} to {} and from y {:.2} to {}; places are in the same coordinates",
            room.x0,
            mm(room.x1),
            room.y0,
            mm(room.y1)
        )
    };
    Fault::error("E27", format!("{} {how}", hole.name)).at(&hole.place).cure(cure)
}
