//! Small drawings side by side on a page, each whole, with its notes below it.

use super::super::part::moved;
use super::super::{Dash, Letters, Mark};
use super::board::{Board, Ink, Inked};
use super::draw::{Missing, draw, grain_arrow};
use super::page::Head;
use super::{Drawing, Found, Template};
use crate::geom::{Point, Pose, Rect, Seg, Vec2};
use crate::letters;

/// Round a drawing within its cell (mm).
const PAD: f64 = 3.5;
/// Notes are at least so wide (mm).
const NOTES: f64 = 46.0;
/// Height of a name, and of the notes below it (mm).
const NAME: f64 = 2.6;
/// See [`NAME`].
const NOTE: f64 = 2.0;
/// From line to line, over the height of the letters.
const PITCH: f64 = 1.6;
/// Height of the row with the arrow of a grain (mm).
const ARROW: f64 = 10.0;

/// A drawing with its notes, its lower left corner at the origin.
#[derive(Debug)]
struct Cell {
    drawing: usize,
    turned: bool,
    size: Vec2,
    /// The box of the drawing itself.
    body: Rect,
    marks: Inked,
}

/// Cells in rows, page after page.
#[derive(Debug)]
pub(super) struct Packed {
    body: Rect,
    cells: Vec<Cell>,
}

/// What lies on one page: cells with their corners.
#[derive(Debug)]
pub(super) struct Lot {
    cells: Vec<(Cell, Point)>,
    rows: Vec<Row>,
}

/// A row of cells: its top below that of the page, its height, how far it is filled.
#[derive(Debug)]
struct Row {
    top: f64,
    height: f64,
    filled: f64,
}

impl Packed {
    pub(super) fn new(body: Rect) -> Packed {
        Packed { body, cells: Vec::new() }
    }

    /// Takes a drawing that goes whole on a page; gives whether it does.
    pub(super) fn take(&mut self, number: usize, drawing: &Drawing) -> bool {
        let fits = |c: &Cell| c.size.x <= self.body.width() && c.size.y <= self.body.height();
        let made = [false, true].into_iter().map(|turned| cell(number, drawing, turned)).find(fits);
        let taken = made.is_some();
        self.cells.extend(made);
        taken
    }

    /// The pages: high cells first, each in the first row that has room for it.
    pub(super) fn pages(mut self) -> Vec<Lot> {
        self.cells.sort_by(|a, b| b.size.y.total_cmp(&a.size.y));
        let body = self.body;
        let mut lots: Vec<Lot> = Vec::new();
        for cell in self.cells {
            let at = lots.iter_mut().position(|lot| lot.room(&cell, &body));
            let at = at.unwrap_or_else(|| {
                lots.push(Lot { cells: Vec::new(), rows: Vec::new() });
                lots.len() - 1
            });
            lots[at].put(cell, &body);
        }
        for lot in &mut lots {
            lot.cells.sort_by_key(|(cell, _)| cell.drawing);
        }
        lots
    }
}

impl Lot {
    fn row(&self, cell: &Cell, body: &Rect) -> Option<usize> {
        self.rows
            .iter()
            .position(|r| cell.size.y <= r.height + 1e-9 && r.filled + cell.size.x <= body.width())
    }

    fn end(&self) -> f64 {
        self.rows.last().map_or(0.0, |r| r.top + r.height)
    }

    fn room(&self, cell: &Cell, body: &Rect) -> bool {
        self.row(cell, body).is_some() || self.end() + cell.size.y <= body.height()
    }

    fn put(&mut self, cell: Cell, body: &Rect) {
        let at = self.row(&cell, body).unwrap_or_else(|| {
            self.rows.push(Row { top: self.end(), height: cell.size.y, filled: 0.0 });
            self.rows.len() - 1
        });
        let row = &mut self.rows[at];
        let corner = Point::new(body.x0 + row.filled, body.y1 - row.top - cell.size.y);
        row.filled += cell.size.x;
        self.cells.push((cell, corner));
    }

    /// Numbers of the drawings on the page, in their order.
    pub(super) fn drawings(&self) -> impl Iterator<Item = usize> {
        self.cells.iter().map(|(cell, _)| cell.drawing)
    }

    /// The page, and its head.
    pub(super) fn draw(
        self,
        drawings: &[Drawing],
        page: usize,
        made: &mut Template,
    ) -> (Inked, Head) {
        let names: Vec<&str> = self.drawings().map(|n| drawings[n].name.as_str()).collect();
        let head = Head {
            title: short(&names),
            note: "cut apart on the dotted lines; thick lines are cut, no kerf in them; crosses: \
                   centres of holes, with the punch or drill; F: seen from its own face"
                .to_owned(),
            warning: None,
        };
        let mut marks = Inked::new();
        for (cell, corner) in self.cells {
            let by = corner.to_vec2();
            made.found.push(Found {
                drawing: cell.drawing,
                page,
                tile: None,
                turned: cell.turned,
                area: cell.body + by,
            });
            marks.extend(cell.marks.iter().map(|(ink, mark)| (*ink, moved(mark, by))));
            let ends =
                [(0.0, 0.0), (cell.size.x, 0.0), (cell.size.x, cell.size.y), (0.0, cell.size.y)]
                    .map(|end| corner + Vec2::from(end));
            let sides = (0..4).map(|i| Seg::line(ends[i], ends[(i + 1) % 4])).collect();
            marks.push((Ink::Frame, Mark::Line(sides, 0.2, Dash::Dotted(1.2))));
        }
        (marks, head)
    }
}

/// Names in one line: the first ones, and how many more.
fn short(names: &[&str]) -> String {
    const MOST: f64 = 180.0;
    let line = |many: usize| {
        let more = names.len() - many;
        let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
        format!("{}{tail}", names[..many].join(", "))
    };
    let fits = (1..=names.len()).rev().map(line).find(|text| letters::width(text, 3.0) < MOST);
    fits.unwrap_or_else(|| line(names.len().min(1)))
}

/// A drawing as a cell.
fn cell(number: usize, drawing: &Drawing, turned: bool) -> Cell {
    let turn = Pose::turned(if turned { 90.0 } else { 0.0 });
    let lying = drawing.posed(&turn);
    let bounds = lying.bounds();
    let lying = lying.posed(&Pose::moved(Vec2::new(PAD - bounds.x0, PAD - bounds.y0)));
    let body = lying.bounds();
    let mut board = Board::new(body.inflate(PAD - 0.3, PAD - 0.3));
    let missing = draw(&lying, &mut board);
    let wide = body.width().max(NOTES);
    let notes = notes(drawing, &missing, wide);
    let head = if missing.face { 6.0 } else { 0.0 };
    let names = wrapped(&drawing.name, wide - head, NAME);
    let high = lines(names.len(), NAME).max(head)
        + lines(notes.len(), NOTE)
        + if missing.grain.is_some() { ARROW } else { 0.0 };
    // The drawing stands above its notes.
    let up = Vec2::new(0.0, high + 1.0);
    let mut marks: Inked = board.marks.iter().map(|(ink, m)| (*ink, moved(m, up))).collect();
    let mut y = high + 1.0;
    if missing.face {
        let mirrored = drawing.patterns.first().is_some_and(|p| p.mirrored);
        let height = 4.0;
        let x = PAD + if mirrored { letters::width("F", height) } else { 0.0 };
        let mark =
            Letters { mirrored, ..Letters::new("F", Point::new(x, y - height - 0.6), height) };
        marks.push((Ink::Words, Mark::Letters(mark)));
    }
    let top = y;
    for name in &names {
        y -= NAME * PITCH;
        let height = letters::height_within(name, wide - head, NAME);
        let at = Point::new(PAD + head, y + NAME * 0.4);
        marks.push((Ink::Words, Mark::Letters(Letters::new(name.as_str(), at, height))));
    }
    y = y.min(top - head);
    for note in &notes {
        y -= NOTE * PITCH;
        let height = letters::height_within(note, wide, NOTE);
        let at = Point::new(PAD, y + NOTE * 0.4);
        marks.push((Ink::Notes, Mark::Letters(Letters::new(note.as_str(), at, height))));
    }
    if let Some(grain) = missing.grain {
        let mut own = Board::new(body);
        grain_arrow(Point::new(PAD + 4.5, y - ARROW / 2.0), grain, 8.5, &mut own);
        marks.extend(own.marks);
        let at = Point::new(PAD + 12.0, y - ARROW / 2.0 - NOTE / 2.0);
        marks.push((Ink::Notes, Mark::Letters(Letters::new("grain", at, NOTE))));
    }
    let size = Vec2::new(wide + 2.0 * PAD, up.y + body.height() + 2.0 * PAD);
    Cell { drawing: number, turned, size, body: body + up, marks }
}

/// Height of so many lines.
#[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
fn lines(many: usize, height: f64) -> f64 {
    many as f64 * height * PITCH
}

/// What is said below a drawing, in lines.
fn notes(drawing: &Drawing, missing: &Missing, wide: f64) -> Vec<String> {
    let mut said = drawing.notes.clone();
    said.extend(keys(missing));
    said.extend(drawing.warning.clone());
    said.iter().flat_map(|text| wrapped(text, wide, NOTE)).collect()
}

/// What the letters beside holes stand for, and what is not told beside a hole.
pub(super) fn keys(missing: &Missing) -> Vec<String> {
    let mut said: Vec<String> =
        missing.keys.iter().map(|(key, tool)| format!("{key}: {tool}")).collect();
    if !missing.untold.is_empty() {
        let tools: Vec<&str> = missing.untold.iter().map(String::as_str).collect();
        said.push(format!("holes without a word: {}", tools.join(" or ")));
    }
    said
}

/// A text in lines of a width.
pub(super) fn wrapped(text: &str, wide: f64, height: f64) -> Vec<String> {
    let mut rows: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match rows.last_mut() {
            Some(row) if letters::width(&format!("{row} {word}"), height) <= wide => {
                row.push(' ');
                row.push_str(word);
            }
            _ => rows.push(word.to_owned()),
        }
    }
    rows
}
