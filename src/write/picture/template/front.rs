//! The first page: what tells whether the print has its true size, and where everything is.

use super::super::part::moved;
use super::super::{Dash, Letters, Mark, scaled_loop, straight};
use super::board::{Ink, Inked};
use super::pack::{Lot, wrapped};
use super::page::{Frame, rule};
use super::tiles::{Grid, Tile};
use super::{Drawing, Printing};
use crate::geom::{Loop, Point, Rect, Seg, Vec2};
use crate::letters;

/// Height of the words of the map (mm).
const WORD: f64 = 2.2;
/// From line to line of it (mm).
const PITCH: f64 = 3.7;
/// A small picture is at most so wide and so high (mm).
const PICTURE: (f64, f64) = (74.0, 56.0);

/// The front pages.
#[derive(Debug)]
pub(super) struct Front {
    /// The whole of a page, and its room between head and foot.
    area: Rect,
    /// Marks of the first page, above the map.
    top: Inked,
    /// Where the map begins on the first page.
    begin: f64,
    /// Blocks of the map: height, and marks below the origin.
    blocks: Vec<(f64, Inked)>,
}

impl Front {
    /// The front of a template whose front takes so many pages.
    pub(super) fn of(
        drawings: &[Drawing],
        lots: &[Lot],
        grids: &[Grid],
        how: &Printing,
        ahead: usize,
    ) -> Front {
        let frame = Frame::of(how);
        let area =
            Rect::new(frame.area().x0, frame.body().y0 + 2.0, frame.area().x1, frame.area().y1);
        let mut top = Inked::new();
        let begin = measures(how, &area, &mut top);
        let mut blocks = Vec::new();
        let mut page = ahead + 1;
        for lot in lots {
            let names: Vec<&str> = lot.drawings().map(|n| drawings[n].name.as_str()).collect();
            let text = format!("page {page}: {}", names.join("; "));
            blocks.push(words(&wrapped(&text, area.width(), WORD)));
            page += 1;
        }
        for grid in grids {
            blocks.push(tiles(grid, &drawings[grid.number], area.width(), page));
            page += grid.tiles.len();
        }
        Front { area, top, begin, blocks }
    }

    /// How many pages it takes.
    pub(super) fn pages(&self) -> usize {
        self.flow().last().map_or(1, |(page, _)| page + 1)
    }

    /// Page and top of each block.
    fn flow(&self) -> Vec<(usize, f64)> {
        let (mut page, mut y) = (0, self.begin);
        let mut places = Vec::new();
        for (height, _) in &self.blocks {
            if y - height < self.area.y0 && y < self.area.y1 {
                page += 1;
                y = self.area.y1;
            }
            places.push((page, y));
            y -= height;
        }
        places
    }

    /// The pages, as many as were asked for.
    pub(super) fn draw(&self, ahead: usize) -> Vec<Inked> {
        let mut made: Vec<Inked> = vec![Inked::new(); ahead.max(self.pages())];
        made[0].extend(self.top.iter().cloned());
        for ((page, y), (_, marks)) in self.flow().into_iter().zip(&self.blocks) {
            let by = Vec2::new(self.area.x0, y);
            made[page].extend(marks.iter().map(|(ink, m)| (*ink, moved(m, by))));
        }
        made
    }
}

/// Title, rules, square and circle, and a box to write in; gives where the map may begin.
fn measures(how: &Printing, area: &Rect, marks: &mut Inked) -> f64 {
    let line = |marks: &mut Inked, text: &str, at: Point, most: f64, room: f64, ink: Ink| {
        let height = letters::height_within(text, room, most);
        marks.push((ink, Mark::Letters(Letters::new(text, at, height))));
    };
    let (left, top) = (area.x0, area.y1);
    let at = |down: f64| Point::new(left, top - down);
    let title = format!("Paper template: {}", how.title);
    line(marks, &title, at(5.5), 5.0, area.width(), Ink::Words);
    for (i, text) in [
        "Print at 100 %, not fitted to the page, on one side. Then measure both rules before anything is cut.",
        "Lines are as cut, with growth and trim in them and no kerf: cut on the middle of the line.",
        "F: the face that the pattern is seen from lies up; a reversed F: that face lies down. Green arrows: the grain.",
    ]
    .into_iter()
    .enumerate()
    {
        #[allow(clippy::cast_precision_loss, reason = "three lines")]
        line(marks, text, at(12.0 + 4.0 * i as f64), 2.3, area.width(), Ink::Notes);
    }
    // Two rules at right angles that share their corner.
    let corner = Point::new(left + 8.0, top - 131.0);
    rule(marks, corner, false);
    rule(marks, corner, true);
    let square = Rect::from_origin_size(corner + Vec2::new(14.0, 44.0), (50.0, 50.0));
    frame(marks, &square, 0.18);
    let about = square.center();
    let words = "50 mm square";
    let half = letters::width(words, 2.4) / 2.0;
    line(marks, words, about - Vec2::new(half, 1.2), 2.4, 45.0, Ink::Words);
    let middle = corner + Vec2::new(39.0, 24.0);
    marks.push((Ink::Rule, Mark::Outline(Loop::Circle(middle, 12.7), 0.18, Dash::Solid)));
    let words = "1 in circle";
    let half = letters::width(words, 2.4) / 2.0;
    line(marks, words, middle - Vec2::new(half, 1.2), 2.4, 22.0, Ink::Words);
    // To write in.
    let write = Rect::new(corner.x + 110.0, corner.y + 34.0, area.x1, corner.y + 98.0);
    frame(marks, &write, 0.25);
    let inner = write.x0 + 3.0;
    let room = write.width() - 6.0;
    line(marks, "measure, write here:", Point::new(inner, write.y1 - 7.0), 3.2, room, Ink::Words);
    for (down, what) in [(19.0, "across"), (31.0, "up")] {
        let foot = Point::new(inner, write.y1 - down);
        line(marks, what, foot, 2.8, room, Ink::Words);
        marks.push((
            Ink::Rule,
            straight(foot + Vec2::new(16.0, -0.8), foot + Vec2::new(room - 20.0, -0.8), 0.2),
        ));
        line(marks, "of 100 mm", foot + Vec2::new(room - 18.5, 0.0), 2.8, 19.0, Ink::Words);
    }
    let said = [
        "Not 100? Print it anew with what",
        "you measured, for example:",
        "--rule-x \"99.4 mm\" (across)",
        "--rule-y \"99.7 mm\" (up)",
    ];
    for (i, text) in said.into_iter().enumerate() {
        #[allow(clippy::cast_precision_loss, reason = "four lines")]
        let down = 43.0 + 4.4 * i as f64;
        line(marks, text, Point::new(inner, write.y1 - down), 2.3, room, Ink::Notes);
    }
    let below = Point::new(write.x0, write.y0 - 6.0);
    let m = how.measured;
    if m != Vec2::new(100.0, 100.0) {
        let figure = |mm: f64| super::super::fixed(mm, 2);
        let said = format!("corrected for rules of {} and {} mm:", figure(m.x), figure(m.y));
        line(marks, &said, below, 2.3, write.width(), Ink::Words);
        let said = "both must measure 100 mm now";
        line(marks, said, below - Vec2::new(0.0, 4.4), 2.3, write.width(), Ink::Words);
    }
    let map = corner.y - 13.0;
    line(marks, "Where everything is", Point::new(left, map), 3.4, area.width(), Ink::Words);
    map - 3.5
}

fn frame(marks: &mut Inked, area: &Rect, weight: f64) {
    let ends = [(area.x0, area.y0), (area.x1, area.y0), (area.x1, area.y1), (area.x0, area.y1)]
        .map(Point::from);
    let sides: Vec<Seg> = (0..4).map(|i| Seg::line(ends[i], ends[(i + 1) % 4])).collect();
    marks.push((Ink::Rule, Mark::Line(sides, weight, Dash::Solid)));
}

/// Lines of words as a block.
fn words(lines: &[String]) -> (f64, Inked) {
    let mut marks = Inked::new();
    let mut y = 0.0;
    for text in lines {
        y -= PITCH;
        marks.push((
            Ink::Words,
            Mark::Letters(Letters::new(text.as_str(), Point::new(0.0, y), WORD)),
        ));
    }
    (-y + 1.2, marks)
}

/// The map of a tiled drawing, its notes beside it.
fn tiles(grid: &Grid, drawing: &Drawing, wide: f64, first: usize) -> (f64, Inked) {
    let last = grid.tiles.last().copied().unwrap_or(Tile { row: 0, column: 0 });
    let all = grid
        .window(Tile { row: 0, column: 0 })
        .union(grid.window(Tile { row: grid.rows - 1, column: grid.columns - 1 }));
    let (edge, below) = (6.0, 5.0);
    let scale = (PICTURE.0 / all.width()).min(PICTURE.1 / all.height()).min(0.14);
    let by = Vec2::new(edge - all.x0 * scale, -edge - all.y1 * scale);
    let mut marks = Inked::new();
    for pattern in &grid.drawing.patterns {
        let line = scaled_loop(pattern.shape.outline(), scale, by);
        marks.push((Ink::Edges, Mark::Outline(line, 0.15, Dash::Solid)));
    }
    if let Some(sheet) = &grid.drawing.sheet {
        let line = scaled_loop(&sheet.outline, scale, by);
        marks.push((Ink::Sheet, Mark::Outline(line, 0.2, Dash::Solid)));
    }
    let middle = |tile: Tile| {
        let cell = grid.window(tile).center();
        (cell.to_vec2() * scale + by).to_point()
    };
    for tile in &grid.tiles {
        let w =
            grid.window(*tile).inflate(-super::tiles::OVERLAP / 2.0, -super::tiles::OVERLAP / 2.0);
        let corner = |x: f64, y: f64| (Vec2::new(x, y) * scale + by).to_point();
        let ends = [corner(w.x0, w.y0), corner(w.x1, w.y0), corner(w.x1, w.y1), corner(w.x0, w.y1)];
        let sides = (0..4).map(|i| Seg::line(ends[i], ends[(i + 1) % 4])).collect();
        marks.push((Ink::Trim, Mark::Line(sides, 0.15, Dash::Solid)));
    }
    let mut letter = |text: String, at: Point| {
        let size = 2.4;
        let half = letters::width(&text, size) / 2.0;
        let at = at - Vec2::new(half, size / 2.0);
        marks.push((Ink::Words, Mark::Letters(Letters::new(text, at, size))));
    };
    for row in 0..grid.rows {
        let name: String =
            Tile { row, column: 0 }.name().chars().take_while(char::is_ascii_alphabetic).collect();
        letter(name, Point::new(edge / 2.0, middle(Tile { row, column: 0 }).y));
    }
    for column in 0..grid.columns {
        let x = middle(Tile { row: 0, column }).x;
        letter((column + 1).to_string(), Point::new(x, -edge / 2.0));
    }
    let high = edge + all.height() * scale;
    let off = edge + all.width() * scale + 6.0;
    let end = first + grid.tiles.len().saturating_sub(1);
    let pages = if end == first { format!("page {first}") } else { format!("pages {first}-{end}") };
    let mut said = vec![format!("{pages}: {}, tiles A1-{}", drawing.name, last.name())];
    let missing = (grid.rows * grid.columns) as usize - grid.tiles.len();
    if missing > 0 {
        said.push(format!("{missing} tiles have nothing on them and are left out"));
    }
    if grid.turned {
        said.push("turned by a quarter".to_owned());
    }
    said.extend(drawing.notes.iter().cloned());
    said.extend(drawing.warning.clone());
    let lines: Vec<String> = said.iter().flat_map(|t| wrapped(t, wide - off, WORD)).collect();
    let (tall, written) = words(&lines);
    marks.extend(written.iter().map(|(ink, m)| (*ink, moved(m, Vec2::new(off, -1.0)))));
    (high.max(tall + 1.0) + below, marks)
}
