//! What stands on a page already, kept by cells so that a free place is found fast.

use crate::geom::{Point, Rect, Seg};
use std::collections::BTreeMap;

/// Boxes of letters, and points along lines.
pub(super) struct Taken {
    cell: f64,
    labels: BTreeMap<(i64, i64), Vec<Rect>>,
    points: BTreeMap<(i64, i64), Vec<Point>>,
}

impl Taken {
    /// Nothing yet; cells of a size that a label and its neighbours go into (mm).
    pub(super) fn new(cell: f64) -> Taken {
        Taken { cell, labels: BTreeMap::new(), points: BTreeMap::new() }
    }

    /// Takes a line, as points no farther apart than a step.
    pub(super) fn line(&mut self, seg: &Seg, step: f64) {
        let count = (seg.length() / step).ceil().clamp(1.0, 1e5);
        let mut i = 0.0;
        while i <= count {
            let p = seg.at(i / count);
            for cell in self.cells(Rect::from_points(p, p)) {
                self.points.entry(cell).or_default().push(p);
            }
            i += 1.0;
        }
    }

    fn cells(&self, area: Rect) -> Vec<(i64, i64)> {
        #[allow(clippy::cast_possible_truncation, reason = "a page has a few thousand cells")]
        let of = |v: f64| (v / self.cell).floor() as i64;
        let (x0, x1, y0, y1) = (of(area.x0), of(area.x1), of(area.y0), of(area.y1));
        (x0..=x1).flat_map(|x| (y0..=y1).map(move |y| (x, y))).collect()
    }

    /// Takes the box of a word.
    pub(super) fn label(&mut self, area: Rect) {
        let wider = padded(area);
        for cell in self.cells(wider) {
            self.labels.entry(cell).or_default().push(wider);
        }
    }

    /// Whether a box is clear of the words, and where that is wanted of the lines.
    pub(super) fn is_free(&self, area: Rect, of_lines: bool) -> bool {
        let area = padded(area);
        self.cells(area).iter().all(|cell| {
            let labels =
                self.labels.get(cell).is_none_or(|list| !list.iter().any(|b| b.overlaps(area)));
            let lines = !of_lines
                || self.points.get(cell).is_none_or(|list| !list.iter().any(|p| area.contains(*p)));
            labels && lines
        })
    }
}

/// With the paper round the letters, which may read upward.
fn padded(area: Rect) -> Rect {
    let high = if area.height() > 2.0 * area.width() { area.width() } else { area.height() };
    area.inflate(0.2 * high, 0.2 * high)
}
