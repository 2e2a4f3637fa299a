//! A large drawing in tiles, each a page, that overlap and are joined.
//!
//! Rows have letters from the top, columns numbers from the left: A1 is the upper left. Where tiles meet they share
//! 10 mm; in the middle of what four of them share stands a cross in a circle, on each of them at the same point of the
//! drawing. A tile is cut off through its crosses on the left and above, and laid over its neighbours.

use super::super::{Dash, Letters, Mark, straight};
use super::board::{Board, Ink, Inked};
use super::clip::touches;
use super::draw::draw;
use super::pack::keys;
use super::page::{Frame, Head};
use super::{Drawing, Found, Template};
use crate::geom::{Loop, Point, Pose, Rect, Seg, Vec2};
use crate::letters;

/// What neighbours share (mm).
pub(super) const OVERLAP: f64 = 10.0;
/// Round the tile, for the arrows to its neighbours (mm).
const BORDER: f64 = 8.0;
/// Round the drawing (mm).
const ROUND: f64 = 3.0;
/// Radius of the circle of a mark, and how far its cross reaches (mm).
const MARK: (f64, f64) = (2.0, 4.0);

/// A tile: its row from the top and its column from the left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Tile {
    pub row: u32,
    pub column: u32,
}

impl Tile {
    /// `B3`.
    pub(super) fn name(self) -> String {
        let mut name = String::new();
        let mut left = self.row + 1;
        while left > 0 {
            left -= 1;
            name.insert(0, char::from(b'A' + u8::try_from(left % 26).unwrap_or(0)));
            left /= 26;
        }
        format!("{name}{}", self.column + 1)
    }
}

/// A drawing with its tiles.
#[derive(Debug)]
pub(super) struct Grid {
    pub number: usize,
    pub turned: bool,
    /// The drawing as it lies under its tiles.
    pub drawing: Drawing,
    /// Where a tile lies on its page.
    page: Rect,
    /// Upper left corner of the first tile, in the drawing.
    corner: Point,
    pub rows: u32,
    pub columns: u32,
    /// The tiles with anything on them.
    pub tiles: Vec<Tile>,
}

impl Grid {
    /// The tiles of a drawing, which is turned by a quarter where that takes fewer.
    pub(super) fn of(number: usize, drawing: &Drawing, frame: &Frame) -> Grid {
        let upright = Grid::turned(number, drawing, frame, false);
        let turned = Grid::turned(number, drawing, frame, true);
        if turned.tiles.len() < upright.tiles.len() { turned } else { upright }
    }

    fn turned(number: usize, drawing: &Drawing, frame: &Frame, turned: bool) -> Grid {
        let drawing = drawing.posed(&Pose::turned(if turned { 90.0 } else { 0.0 }));
        let page = frame.body().inflate(-BORDER, -BORDER);
        let bounds = drawing.bounds().inflate(ROUND, ROUND);
        let step = Vec2::new(page.width() - OVERLAP, page.height() - OVERLAP);
        let many = |length: f64, step: f64| {
            let tiles = ((length - OVERLAP) / step - 1e-9).ceil().clamp(1.0, 10_000.0);
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "1 to 10 000"
            )]
            let tiles = tiles as u32;
            tiles
        };
        let (columns, rows) = (many(bounds.width(), step.x), many(bounds.height(), step.y));
        let whole =
            Vec2::new(f64::from(columns) * step.x + OVERLAP, f64::from(rows) * step.y + OVERLAP);
        let middle = bounds.center();
        let corner = Point::new(middle.x - whole.x / 2.0, middle.y + whole.y / 2.0);
        let mut grid =
            Grid { number, turned, drawing, page, corner, rows, columns, tiles: Vec::new() };
        let lines = grid.lines();
        let all = (0..rows).flat_map(|row| (0..columns).map(move |column| Tile { row, column }));
        grid.tiles = all
            .filter(|tile| {
                let window = grid.window(*tile);
                lines.iter().any(|s| touches(s, &window))
            })
            .collect();
        grid
    }

    /// Every line of the drawing.
    fn lines(&self) -> Vec<Seg> {
        let patterns = &self.drawing.patterns;
        let shapes = patterns.iter().flat_map(|p| p.shape.loops());
        let sheet = self.drawing.sheet.iter().map(|s| &s.outline);
        let mut lines: Vec<Seg> = shapes.chain(sheet).flat_map(Loop::segs).collect();
        lines.extend(patterns.iter().flat_map(|p| &p.creases));
        lines
    }

    /// What of the drawing a tile shows.
    pub(super) fn window(&self, tile: Tile) -> Rect {
        let step = Vec2::new(self.page.width() - OVERLAP, self.page.height() - OVERLAP);
        let x0 = self.corner.x + f64::from(tile.column) * step.x;
        let y1 = self.corner.y - f64::from(tile.row) * step.y;
        Rect::new(x0, y1 - self.page.height(), x0 + self.page.width(), y1)
    }

    /// Name of the last tile, as if none were left out.
    fn last(&self) -> String {
        Tile { row: self.rows - 1, column: self.columns - 1 }.name()
    }

    /// `A1-D4`.
    pub(super) fn span(&self) -> String {
        format!("A1-{}", self.last())
    }

    fn there(&self, row: Option<u32>, column: Option<u32>) -> Option<Tile> {
        let tile = Tile { row: row?, column: column? };
        self.tiles.contains(&tile).then_some(tile)
    }

    /// The neighbours to the left, to the right, above and below.
    fn neighbours(&self, tile: Tile) -> [Option<Tile>; 4] {
        let (row, column) = (Some(tile.row), Some(tile.column));
        [
            self.there(row, tile.column.checked_sub(1)),
            self.there(row, tile.column.checked_add(1)),
            self.there(tile.row.checked_sub(1), column),
            self.there(tile.row.checked_add(1), column),
        ]
    }

    /// The page of a tile, and its head.
    pub(super) fn draw(&self, tile: Tile, page: usize, made: &mut Template) -> (Inked, Head) {
        let window = self.window(tile);
        let by = Vec2::new(self.page.x0 - window.x0, self.page.y0 - window.y0);
        let lying = self.drawing.posed(&Pose::moved(by));
        let mut board = Board::new(self.page);
        let beside = self.neighbours(tile);
        self.joints(beside, &mut board);
        let missing = draw(&lying, &mut board);
        // A piece that lies on several tiles needs its name on one of them.
        made.unnamed.extend(missing.names.iter().filter(|n| !made.named.contains(*n)).cloned());
        made.unnamed.retain(|n| !missing.named.contains(n));
        made.named.extend(missing.named.iter().cloned());
        made.found.push(Found {
            drawing: self.number,
            page,
            tile: Some(tile.name()),
            turned: self.turned,
            area: self.page,
        });
        let joined = if beside[0].is_some() || beside[2].is_some() {
            "cut off on the broken lines and lay it over its neighbours so that crosses meet"
        } else {
            "neighbours are laid over this one so that crosses meet"
        };
        let mut note = vec![joined.to_owned()];
        note.extend(keys(&missing));
        if missing.face && self.drawing.sheet.is_none() {
            note.push("seen from its own face".to_owned());
        }
        let head = Head {
            title: format!("{}   {} of {}", self.drawing.name, tile.name(), self.span()),
            note: note.join("; "),
            warning: self.drawing.warning.clone(),
        };
        (board.marks, head)
    }

    /// Marks at the corners, lines to cut off on, arrows to the neighbours; keeps words off them.
    fn joints(&self, [left, right, above, below]: [Option<Tile>; 4], board: &mut Board) {
        let p = self.page;
        let ends = [(p.x0, p.y0), (p.x1, p.y0), (p.x1, p.y1), (p.x0, p.y1)].map(Point::from);
        let sides = (0..4).map(|i| Seg::line(ends[i], ends[(i + 1) % 4])).collect();
        board.draw(Ink::Frame, Mark::Line(sides, 0.1, Dash::Solid));
        let middle = p.inflate(-OVERLAP / 2.0, -OVERLAP / 2.0);
        for at in [
            (middle.x0, middle.y0),
            (middle.x1, middle.y0),
            (middle.x1, middle.y1),
            (middle.x0, middle.y1),
        ]
        .map(Point::from)
        {
            board.draw(Ink::Dots, Mark::Outline(Loop::Circle(at, MARK.0), 0.15, Dash::Solid));
            for way in [Vec2::new(MARK.1, 0.0), Vec2::new(0.0, MARK.1)] {
                board.draw(Ink::Dots, straight(at - way, at + way, 0.15));
            }
            board.taken.push(Rect::from_center_size(at, (2.0 * MARK.1, 2.0 * MARK.1)));
        }
        let strip = |a: Point, b: Point| Rect::from_points(a, b);
        if left.is_some() {
            let (a, b) = (Point::new(middle.x0, p.y0), Point::new(middle.x0, p.y1));
            board.draw(Ink::Trim, Mark::Line(vec![Seg::line(a, b)], 0.2, Dash::Dashed(2.5)));
            board.lines.push(Seg::line(a, b));
            board.joints.push(strip(ends[0], Point::new(p.x0 + OVERLAP, p.y1)));
        }
        if above.is_some() {
            let (a, b) = (Point::new(p.x0, middle.y1), Point::new(p.x1, middle.y1));
            board.draw(Ink::Trim, Mark::Line(vec![Seg::line(a, b)], 0.2, Dash::Dashed(2.5)));
            board.lines.push(Seg::line(a, b));
            board.joints.push(strip(ends[3], Point::new(p.x1, p.y1 - OVERLAP)));
        }
        if right.is_some() {
            board.joints.push(strip(ends[1], Point::new(p.x1 - OVERLAP, p.y1)));
        }
        if below.is_some() {
            board.joints.push(strip(ends[0], Point::new(p.x1, p.y0 + OVERLAP)));
        }
        let (c, half) = (p.center(), Vec2::new(p.width() / 2.0, p.height() / 2.0));
        let arrows = [
            (left, Vec2::new(-1.0, 0.0)),
            (right, Vec2::new(1.0, 0.0)),
            (above, Vec2::new(0.0, 1.0)),
            (below, Vec2::new(0.0, -1.0)),
        ];
        for (there, way) in arrows {
            let Some(there) = there else { continue };
            let side = c + Vec2::new(way.x * half.x, way.y * half.y);
            let (foot, tip) = (side + way * 1.5, side + way * 6.5);
            board.draw(Ink::Trim, straight(foot, tip - way * 3.0, 0.25));
            board.draw(Ink::Trim, Mark::Arrow(tip, way, 4.0));
            let name = there.name();
            let wide = letters::width(&name, 2.8);
            // Beside the arrow: above a lying one, to the right of a standing one.
            let middle = side + way * 4.0;
            let at = if way.x == 0.0 {
                middle + Vec2::new(2.0, -1.4)
            } else {
                middle + Vec2::new(-wide / 2.0, 1.8)
            };
            board.draw(Ink::Words, Mark::Letters(Letters::new(name, at, 2.8)));
        }
    }
}
