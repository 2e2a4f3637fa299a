//! Bed windows: within the machine's reach, clear of each other, each with its pieces whole in it.

use super::{Breach, BreachKind, Laid, Proving};
use crate::geom::{Point, Rect, Vec2, tolerance};
use crate::lay::{Layout, Window};

impl Proving<'_> {
    /// A breach of a window itself; no piece is to blame.
    fn window_breach(&mut self, text: String) {
        let kind = BreachKind::Window;
        self.breaches.push(Breach { kind, piece: usize::MAX, other: None, dot: None, text });
    }

    /// Every window by itself and against the others of its sheet.
    pub(super) fn windows(&mut self, layout: &Layout) {
        for (n, it) in layout.windows.iter().enumerate() {
            let number = layout.window_number(n);
            let Some(ground) = self.group.grounds.get(it.ground) else {
                self.window_breach(format!(
                    "window {n} is of sheet {}, which is not there",
                    it.ground
                ));
                continue;
            };
            let name = format!("window {number} of {}", ground.sheet.id);
            let b = it.bounds;
            let figures = [b.x0, b.y0, b.x1, b.y1, it.corner.x, it.corner.y];
            if !figures.iter().all(|v| v.is_finite() && v.abs() < tolerance::FAR) {
                self.window_breach(format!("{name} has a figure that is no place"));
                continue;
            }
            match self.group.reach(it.ground) {
                None => {
                    self.window_breach(format!("{name} is there, though the bed takes the sheet"));
                }
                Some(reach)
                    if b.width() > reach.x + tolerance::SLACK
                        || b.height() > reach.y + tolerance::SLACK =>
                {
                    self.window_breach(format!(
                        "{name} is {:.2} x {:.2} mm; the machine reaches {:.2} x {:.2} mm",
                        b.width(),
                        b.height(),
                        reach.x,
                        reach.y
                    ));
                }
                Some(_) if b.width() <= 0.0 || b.height() <= 0.0 => {
                    self.window_breach(format!("{name} has no room"));
                }
                Some(_) => {}
            }
            for (m, other) in layout.windows.iter().enumerate().take(n) {
                let slack = tolerance::SLACK;
                let o = other.bounds;
                let apart = o.x1 <= b.x0 + slack
                    || b.x1 <= o.x0 + slack
                    || o.y1 <= b.y0 + slack
                    || b.y1 <= o.y0 + slack;
                if other.ground == it.ground && !apart {
                    let with = layout.window_number(m);
                    self.window_breach(format!("{name} overlaps window {with}"));
                }
            }
        }
    }

    /// Every piece in its window, and within reach of the machine.
    pub(super) fn in_windows(&mut self, layout: &Layout, laid: &[Laid<'_>]) {
        for it in laid {
            let index = it.placed.piece;
            let ground = &self.group.grounds[it.placed.ground];
            let reach = self.group.reach(it.placed.ground);
            let (window, within) = match (it.placed.window, reach, ground.window) {
                (Some(n), _, _) => match layout.windows.get(n) {
                    Some(window) if window.ground == it.placed.ground => {
                        (Some(*window), window.bounds)
                    }
                    Some(_) => {
                        self.breach(
                            BreachKind::Window,
                            index,
                            None,
                            "lies in a window of another sheet",
                        );
                        continue;
                    }
                    None => {
                        let what = format!("lies in window {n}, which is not there");
                        self.breach(BreachKind::Window, index, None, &what);
                        continue;
                    }
                },
                (None, _, Some(bounds)) => (None, bounds),
                (None, Some(_), None) => {
                    let what = "lies in no window, and the bed does not take the sheet";
                    self.breach(BreachKind::Window, index, None, what);
                    continue;
                }
                (None, None, None) => continue,
            };
            let over = beyond(it.bounds, within);
            if over > tolerance::SLACK {
                let what = format!("reaches over its window by {over:.4} mm");
                self.breach(BreachKind::Window, index, None, &what);
            }
            if let (Some(window), Some(reach)) = (window, reach) {
                let over = beyond(it.bounds, reached(&window, reach));
                if over > tolerance::SLACK {
                    let what =
                        format!("lies {over:.4} mm beyond what the machine reaches in its window");
                    self.breach(BreachKind::Window, index, None, &what);
                }
            }
        }
    }
}

/// What the machine reaches in a window.
pub(super) fn reached(window: &Window, reach: Vec2) -> Rect {
    let Point { x, y } = window.corner;
    Rect::new(x, y, x + reach.x, y + reach.y)
}

/// How far a box reaches over another (mm).
pub(super) fn beyond(it: Rect, within: Rect) -> f64 {
    (within.x0 - it.x0).max(it.x1 - within.x1).max(within.y0 - it.y0).max(it.y1 - within.y1)
}
