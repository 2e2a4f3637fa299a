//! Boxes kept in a grid of cells, so that what lies near a box is found without looking at all of them.

use crate::geom::Rect;

/// No grid has more cells along a side than this.
const MOST_CELLS: f64 = 64.0;

/// A box's number, with the column and the row of its first cell.
#[derive(Debug, Clone, Copy)]
struct Entry {
    number: usize,
    column: usize,
    row: usize,
}

/// The grid.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    bounds: Rect,
    /// Cells in a mm, along x and y.
    scale: (f64, f64),
    columns: usize,
    rows: usize,
    cells: Vec<Vec<Entry>>,
}

impl Grid {
    /// An empty grid over `bounds` with cells of about `cell` mm.
    pub(super) fn new(bounds: Rect, cell: f64) -> Grid {
        let count = |length: f64| (length / cell.max(1e-6)).clamp(1.0, MOST_CELLS).floor();
        let (nx, ny) = (count(bounds.width()), count(bounds.height()));
        let scale = (nx / bounds.width().max(1e-9), ny / bounds.height().max(1e-9));
        let (columns, rows) = (whole(nx), whole(ny));
        Grid { bounds, scale, columns, rows, cells: vec![Vec::new(); columns * rows] }
    }

    /// First and last column, first and last row of a box; what lies outside counts to the outermost.
    fn cells_of(&self, it: Rect) -> [usize; 4] {
        let column =
            |x: f64| whole((x - self.bounds.x0) * self.scale.0).min(self.columns.saturating_sub(1));
        let row =
            |y: f64| whole((y - self.bounds.y0) * self.scale.1).min(self.rows.saturating_sub(1));
        [column(it.x0), column(it.x1), row(it.y0), row(it.y1)]
    }

    /// Puts a box in.
    pub(super) fn put(&mut self, number: usize, it: Rect) {
        let [column, c1, row, r1] = self.cells_of(it);
        for r in row..=r1 {
            for c in column..=c1 {
                self.cells[r * self.columns + c].push(Entry { number, column, row });
            }
        }
    }

    /// Takes out a box that was put in just so.
    pub(super) fn take(&mut self, number: usize, it: Rect) {
        let [c0, c1, r0, r1] = self.cells_of(it);
        for r in r0..=r1 {
            for c in c0..=c1 {
                let cell = &mut self.cells[r * self.columns + c];
                if let Some(at) = cell.iter().position(|e| e.number == number) {
                    cell.remove(at);
                }
            }
        }
    }

    /// Empties it.
    pub(super) fn clear(&mut self) {
        for cell in &mut self.cells {
            cell.clear();
        }
    }

    /// Calls `take` with every box that shares a cell with this one, each once, until it says false.
    pub(super) fn around(&self, it: Rect, mut take: impl FnMut(usize) -> bool) {
        let [c0, c1, r0, r1] = self.cells_of(it);
        for r in r0..=r1 {
            for c in c0..=c1 {
                for entry in &self.cells[r * self.columns + c] {
                    // Of the cells that two boxes share, the first is the one where both have begun.
                    if c == c0.max(entry.column) && r == r0.max(entry.row) && !take(entry.number) {
                        return;
                    }
                }
            }
        }
    }
}

fn whole(v: f64) -> usize {
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "what is below 0 becomes 0, and all that is taken over the last cell is cut back to it"
    )]
    let whole = v as usize;
    whole
}
