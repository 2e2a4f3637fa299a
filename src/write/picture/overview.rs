//! The whole job on one page: a tile a part with its first shape at a stated scale, and what each material comes to.

use super::table::fitted;
use super::{
    Dash, Letters, Mark, Picture, PictureLayer, palette, scaled_loop, scaled_point, scaled_seg,
    straight,
};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2};
use crate::letters;
use crate::part::Punch;

/// Width of the page, and its height where all has room (mm).
///
/// # Source
/// ISO 216:2007: A4 is 210 by 297 mm.
const PAGE: (f64, f64) = (297.0, 210.0);
/// From the page's edge to what is drawn (mm).
const MARGIN: f64 = 8.0;
/// Height of title and counts (mm).
const HEAD: f64 = 15.0;
/// A tile at the usual size of its letters (mm).
const TILE: (f64, f64) = (47.0, 17.0);
/// Letters of a tile are so many times their usual size: least and most.
const SIZES: (f64, f64) = (0.8, 1.5);
/// Room between tiles (mm).
const GAP: f64 = 1.6;
/// Height of a row of the table of materials, and how many tables may stand side by side.
const ROW: f64 = 3.7;
/// See [`ROW`].
const TABLES: usize = 3;
/// Scales of the shapes, and their names.
const SCALES: [(f64, &str); 12] = [
    (1.0, "1:1"),
    (0.5, "1:2"),
    (0.4, "1:2.5"),
    (0.25, "1:4"),
    (0.2, "1:5"),
    (0.1, "1:10"),
    (0.05, "1:20"),
    (0.04, "1:25"),
    (0.025, "1:40"),
    (0.02, "1:50"),
    (0.01, "1:100"),
    (0.005, "1:200"),
];

/// One part.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile<'a> {
    /// Its name, with its companion's.
    pub name: String,
    /// Its kind.
    pub kind: String,
    /// Its first shape; none where it could not be worked out.
    pub shape: Option<&'a Shape>,
    /// The fold lines of that shape.
    pub creases: &'a [Seg],
    /// The holes of that shape that are punched.
    pub punches: &'a [Punch],
    /// Whether its places are numbered, not counted.
    pub numbered: bool,
    /// How many places it has.
    pub places: usize,
    /// Distinct sizes.
    pub sizes: usize,
    /// Pieces that are wanted.
    pub pieces: usize,
    /// Spares.
    pub spares: usize,
    /// Places whose size few others have, in words; may be empty.
    pub odd: String,
    /// Its material.
    pub material: String,
    /// The machine that cuts it.
    pub machine: String,
}

/// What is needed of a material.
#[derive(Debug, Clone, PartialEq)]
pub struct Total {
    /// Its name.
    pub material: String,
    /// Pieces that are wanted.
    pub pieces: usize,
    /// Spares.
    pub spares: usize,
    /// Area of the pieces that are wanted (mm²).
    pub net: f64,
    /// Area of the spares (mm²).
    pub spare: f64,
}

/// A job, part by part.
#[derive(Debug, Clone, PartialEq)]
pub struct Overview<'a> {
    /// Title of the job.
    pub title: String,
    /// Its parts, in their order.
    pub tiles: Vec<Tile<'a>>,
    /// Its materials.
    pub totals: Vec<Total>,
}

/// The picture.
///
/// # Units
/// Millimetres on a page of 297 by 210; higher where a job has too many parts for it.
pub fn overview_picture(of: &Overview<'_>) -> Picture {
    let (rows, below) = table_size(of.totals.len());
    let wide = PAGE.0 - 2.0 * MARGIN;
    let high = PAGE.1 - 2.0 * MARGIN - HEAD - below;
    let grid = Grid::of(of.tiles.len(), wide, high);
    let height = PAGE.1 - high + grid.high.max(high);
    let mut drawn = Drawn::default();
    drawn.head(of, height);
    let top = height - MARGIN - HEAD;
    for (n, tile) in of.tiles.iter().enumerate() {
        drawn.tile(tile, grid.area(n, top), grid.size);
    }
    drawn.totals(&of.totals, rows, MARGIN + below - 4.0);
    let layer = |name, colour, marks| PictureLayer { name, colour, marks };
    let layers = vec![
        layer("FRAME", palette::GREY, drawn.frame),
        layer("HOLES", palette::BLUE, drawn.holes),
        layer("EDGES", palette::BLACK, drawn.edges),
        layer("CREASE", palette::VERMILION, drawn.creases),
        layer("PUNCH", palette::GREEN, drawn.punches),
        layer("NOTES", palette::GREY, drawn.notes),
        layer("ODD", palette::VERMILION, drawn.odd),
        layer("WORDS", palette::BLACK, drawn.words),
    ];
    Picture { width: PAGE.0, height, title: of.title.clone(), layers }
}

/// Rows of each table of materials, and the height of all of it (mm).
fn table_size(materials: usize) -> (usize, f64) {
    let rows = materials.div_ceil(TABLES).max(materials.min(2));
    #[allow(clippy::cast_precision_loss, reason = "a count of rows")]
    let high = (rows + 1) as f64 * ROW + 5.0;
    (rows, high)
}

/// Tiles in rows, as large as the page lets them be.
struct Grid {
    columns: usize,
    tile: Vec2,
    /// Size of the letters against the usual.
    size: f64,
    /// Height of all rows.
    high: f64,
}

#[allow(clippy::cast_precision_loss, reason = "counts of tiles")]
impl Grid {
    fn of(tiles: usize, wide: f64, high: f64) -> Grid {
        let tiles = tiles.max(1);
        let with = |columns: usize| {
            let rows = tiles.div_ceil(columns) as f64;
            let width = (wide + GAP) / columns as f64 - GAP;
            let height = (high + GAP) / rows - GAP;
            let size = (width / TILE.0).min(height / TILE.1).min(SIZES.1);
            Grid { columns, tile: Vec2::new(width, height.min(1.25 * size * TILE.1)), size, high }
        };
        let best = (1..=7).map(with).max_by(|a, b| a.size.total_cmp(&b.size));
        match best {
            Some(best) if best.size >= SIZES.0 => best,
            // Too many for the page: tiles of the least size on a higher one.
            _ => {
                let columns = ((wide + GAP) / (SIZES.0 * TILE.0 + GAP)).floor().max(1.0);
                let tile = Vec2::new((wide + GAP) / columns - GAP, SIZES.0 * TILE.1);
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few")]
                let columns = columns as usize;
                let rows = tiles.div_ceil(columns) as f64;
                Grid { columns, tile, size: SIZES.0, high: rows * (tile.y + GAP) }
            }
        }
    }

    fn area(&self, n: usize, top: f64) -> Rect {
        let (row, column) = (n / self.columns, n % self.columns);
        let x = MARGIN + column as f64 * (self.tile.x + GAP);
        let y = top - row as f64 * (self.tile.y + GAP) - self.tile.y;
        Rect::from_origin_size((x, y), (self.tile.x, self.tile.y))
    }
}

#[derive(Default)]
struct Drawn {
    frame: Vec<Mark>,
    holes: Vec<Mark>,
    edges: Vec<Mark>,
    creases: Vec<Mark>,
    punches: Vec<Mark>,
    notes: Vec<Mark>,
    odd: Vec<Mark>,
    words: Vec<Mark>,
}

impl Drawn {
    fn head(&mut self, of: &Overview<'_>, height: f64) {
        let room = PAGE.0 - 2.0 * MARGIN;
        let at = Point::new(MARGIN, height - MARGIN - 5.0);
        let high = letters::height_within(&of.title, room, 4.6);
        self.words.push(Mark::Letters(Letters::new(of.title.clone(), at, high)));
        let sum = |of_tile: fn(&Tile<'_>) -> usize| of.tiles.iter().map(of_tile).sum::<usize>();
        let said = format!(
            "{}, {}, {}, {}, of {}; each part's first shape as it is before growth, trim and kerf, at the scale below it",
            many(of.tiles.len(), "part"),
            many(sum(|t| t.sizes), "size"),
            many(sum(|t| t.pieces), "piece"),
            many(sum(|t| t.spares), "spare"),
            many(of.totals.len(), "material"),
        );
        let high = letters::height_within(&said, room, 2.3);
        let at = Point::new(MARGIN, height - MARGIN - 10.6);
        self.words.push(Mark::Letters(Letters::new(said, at, high)));
    }

    /// A frame, the shape at the left, words at the right.
    fn tile(&mut self, tile: &Tile<'_>, area: Rect, size: f64) {
        let corners =
            [(area.x0, area.y0), (area.x1, area.y0), (area.x1, area.y1), (area.x0, area.y1)];
        let sides = (0..4).map(|i| Seg::line(corners[i].into(), corners[(i + 1) % 4].into()));
        self.frame.push(Mark::Line(sides.collect(), 0.15, Dash::Solid));
        let pad = 1.1 * size;
        let small = 1.5 * size;
        let left = (0.34 * area.width()).min(2.0 * area.height());
        let window = Rect::new(
            area.x0 + pad,
            area.y0 + pad + small + 0.8 * size,
            area.x0 + left - pad,
            area.y1 - pad,
        );
        match tile.shape {
            Some(shape) => self.shape(tile, shape, window, (small, area.y0 + pad)),
            None => self.note("no shape", Point::new(window.x0, window.center().y), small, left),
        }
        let x = area.x0 + left + 0.6 * size;
        let room = area.x1 - pad - x;
        let lines = lines(tile);
        #[allow(clippy::cast_precision_loss, reason = "five lines")]
        let pitch = (area.height() - 2.0 * pad) / lines.len() as f64;
        let mut y = area.y1 - pad;
        for (n, line) in lines.iter().enumerate() {
            y -= pitch;
            let most = if n == 0 { 2.3 } else { 1.8 } * size;
            let (text, high) = fitted(line, room, most);
            let at = Point::new(x, y + (pitch - high) / 2.0);
            let mark = Mark::Letters(Letters::new(text, at, high));
            if n + 1 == lines.len() { self.odd.push(mark) } else { self.words.push(mark) }
        }
    }

    fn note(&mut self, text: &str, at: Point, most: f64, room: f64) {
        let high = letters::height_within(text, room, most);
        self.notes.push(Mark::Letters(Letters::new(text, at, high)));
    }

    /// The shape in the middle of its window, at the largest scale that fits, which is said below it.
    fn shape(&mut self, tile: &Tile<'_>, shape: &Shape, window: Rect, (small, foot): (f64, f64)) {
        let b = shape.bounds();
        let fits = |s: f64| b.width() * s <= window.width() && b.height() * s <= window.height();
        let scale = SCALES.into_iter().find(|(s, _)| fits(*s));
        let (s, name) = scale.unwrap_or((window.width() / b.width().max(1e-9), "not to scale"));
        let by = window.center() - (b.center().to_vec2() * s).to_point();
        let on = |it: &Loop| scaled_loop(it, s, by);
        let outline = Mark::Outline(on(shape.outline()), 0.25, Dash::Solid);
        self.edges.push(Mark::Named(tile.name.clone(), vec![outline]));
        let holes = shape.holes().iter().map(|h| Mark::Outline(on(h), 0.13, Dash::Solid));
        self.holes.extend(holes);
        self.creases.extend(
            tile.creases
                .iter()
                .map(|c| Mark::Line(vec![scaled_seg(c, s, by)], 0.13, Dash::Dashed(0.8))),
        );
        for punch in tile.punches {
            let (at, arm) = (scaled_point(punch.at, s, by), (punch.diameter * s / 2.0).max(0.5));
            for way in [Vec2::new(arm, 0.0), Vec2::new(0.0, arm)] {
                self.punches.push(straight(at - way, at + way, 0.13));
            }
        }
        let wide = letters::width(name, small);
        let at = Point::new(window.center().x - wide / 2.0, foot);
        self.note(name, at, small, window.width() + 2.0 * small);
    }

    /// What each material comes to, in tables side by side.
    fn totals(&mut self, totals: &[Total], rows: usize, top: f64) {
        if totals.is_empty() {
            return;
        }
        let tables = totals.chunks(rows.max(1));
        #[allow(clippy::cast_precision_loss, reason = "a few tables")]
        let step = (PAGE.0 - 2.0 * MARGIN) / TABLES as f64;
        let mut left = MARGIN;
        for table in tables {
            let room = step - 5.0;
            // Where columns end, as shares of the room; the first begins at its left.
            let ends = [0.34, 0.47, 0.6, 0.8, 1.0];
            let mut y = top - ROW;
            let head = ["material", "pieces", "spares", "net dm\u{b2}", "with spares"];
            let row = |cells: [String; 5], y: f64, drawn: &mut Drawn, is_head: bool| {
                for (n, cell) in cells.into_iter().enumerate() {
                    let from = if n == 0 { 0.0 } else { ends[n - 1] };
                    let wide = (ends[n] - from) * room - 1.5;
                    let (cell, high) = fitted(&cell, wide, 2.0);
                    let flush = wide - letters::width(&cell, high);
                    let x = left + from * room + if n == 0 { 0.0 } else { 1.5 + flush };
                    let mark = Mark::Letters(Letters::new(cell, Point::new(x, y), high));
                    if is_head { drawn.notes.push(mark) } else { drawn.words.push(mark) }
                }
            };
            row(head.map(str::to_owned), y, self, true);
            let line = y - 1.0;
            self.frame.push(straight(Point::new(left, line), Point::new(left + room, line), 0.2));
            for total in table {
                y -= ROW;
                let area = |mm2: f64| format!("{:.2}", mm2 / 1e4);
                let cells = [
                    total.material.clone(),
                    total.pieces.to_string(),
                    total.spares.to_string(),
                    area(total.net),
                    area(total.net + total.spare),
                ];
                row(cells, y, self, false);
            }
            left += step;
        }
    }
}

/// The words of a tile, the last line its odd places.
fn lines(tile: &Tile<'_>) -> [String; 5] {
    let places = match (tile.numbered, tile.places) {
        (true, places) => format!(", {}", many(places, "place")),
        (false, 1) => String::new(),
        (false, count) => format!(", {count} alike"),
    };
    let count = if tile.spares == 0 {
        many(tile.pieces, "piece")
    } else {
        format!("{} + {}", many(tile.pieces, "piece"), many(tile.spares, "spare"))
    };
    let odd = if tile.odd.is_empty() { String::new() } else { format!("odd: {}", tile.odd) };
    [
        tile.name.clone(),
        format!("{}{places}, {}", tile.kind, many(tile.sizes, "size")),
        count,
        format!("{}, {}", tile.material, tile.machine),
        odd,
    ]
}

/// A count with its word.
fn many(count: usize, word: &str) -> String {
    if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
}
