//! Where the names of pieces stand: in their piece, clear of its holes and folds, else over a fold, on a patch, or
//! upward; else beside it, clear of every line; else small in it, or farther off with a fine line to it.

use super::{LEAST, LaidPiece, LayMarks, Page, SPARE, USED, layer, on_page};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2, Where, point_in_loop, rectangle};
use crate::letters;
use crate::sheet::{Flaw, Sheet};
use crate::write::picture::room::{clear, roomiest};
use crate::write::picture::taken::Taken;
use crate::write::picture::{Dash, Letters, Mark, PictureLayer, palette, scaled_loop, scaled_seg};

/// Heights of names against the letters of the page: those that are read with ease, and those of last resort.
const EASY: [f64; 4] = [1.1, 0.9, 0.75, LEAST];
/// See [`EASY`].
const SMALL: [f64; 3] = [0.5, 0.42, 0.34];
/// Steps of the grid on which places are tried, along either side of a piece's box.
const GRID: u32 = 22;
/// Rings of places farther off, and places in a ring.
const RINGS: u32 = 24;
/// See [`RINGS`].
const WAYS: u32 = 24;

/// Letters that reach below their foot, and how far beyond the paper that is kept free round every word, against
/// their height.
const TAILED: [char; 7] = ['g', 'j', 'p', 'q', 'y', '/', '_'];
/// See [`TAILED`].
const TAIL: f64 = 0.2;

/// A name where it stands.
struct Place {
    area: Rect,
    /// Whether a fold is under it, which a patch covers.
    over: bool,
    /// Whether it reads upward.
    upward: bool,
    /// Whether it stands farther off, with a fine line to its piece.
    off: bool,
}

impl Place {
    fn plain(area: Rect) -> Place {
        Place { area, over: false, upward: false, off: false }
    }
}

/// What is in the way of names.
struct Ground {
    /// Everything.
    all: Taken,
    /// Everything but folds.
    hard: Taken,
}

impl Ground {
    fn of(sheet: &Sheet, pieces: &[LaidPiece], marks: &LayMarks, page: &Page) -> Ground {
        let step = 0.5 * SMALL[2] * page.letter;
        let mut ground =
            Ground { all: Taken::new(2.0 * page.letter), hard: Taken::new(2.0 * page.letter) };
        let windows = marks.windows.iter().filter_map(|(_, b)| {
            let b = b.intersect(sheet.outline.bounds());
            rectangle(b.origin(), b.width(), b.height(), 0.0).ok()
        });
        let loops: Vec<Loop> = pieces
            .iter()
            .flat_map(|piece| piece.shape.loops().cloned())
            .chain(sheet.flaws.iter().map(|flaw| flaw.outline.clone()))
            .chain(sheet.used.iter().map(|used| used.outline.clone()))
            .chain(windows)
            .chain([sheet.outline.clone()])
            .collect();
        for seg in loops.iter().flat_map(Loop::segs) {
            let seg = scaled_seg(&seg, page.scale, page.by);
            ground.all.line(&seg, step);
            ground.hard.line(&seg, step);
        }
        for seg in pieces.iter().flat_map(|piece| &piece.creases) {
            ground.all.line(&scaled_seg(seg, page.scale, page.by), step);
        }
        for dot in &marks.dots {
            let at = Rect::from_points(*dot, *dot);
            ground.label(on_page(at, page).inflate(0.8 * page.letter, 0.8 * page.letter));
        }
        ground
    }

    fn label(&mut self, area: Rect) {
        self.all.label(area);
        self.hard.label(area);
    }
}

/// The names of all pieces; a mirrored F beside that of a piece seen from its back. `kept` are boxes of words that stand
/// on the page already.
pub(super) fn number_layer(
    (sheet, pieces, marks): (&Sheet, &[LaidPiece], &LayMarks),
    kept: &[Rect],
    page: &Page,
) -> PictureLayer {
    let mut ground = Ground::of(sheet, pieces, marks, page);
    for area in kept {
        ground.label(*area);
    }
    let mut order: Vec<&LaidPiece> = pieces.iter().collect();
    // Small ones have the least room, so they choose first.
    order.sort_by(|p, q| p.shape.area().total_cmp(&q.shape.area()));
    let mut drawn = Vec::new();
    let mut left = Vec::new();
    for piece in order {
        let name = Name::of(piece, page);
        match name.within(&EASY, &ground) {
            Some(place) => name.write(piece, &place, &mut ground, &mut drawn),
            None => left.push((piece, name)),
        }
    }
    for (piece, name) in left {
        let free = Free { sheet, pieces, page, ground: &ground };
        let place = name
            .beside(&free)
            .or_else(|| name.within(&SMALL, &ground))
            .or_else(|| name.off(&free))
            .unwrap_or_else(|| name.tiny());
        name.write(piece, &place, &mut ground, &mut drawn);
    }
    layer("NUMBERS", palette::BLACK, drawn)
}

/// A name that looks for its place.
struct Name {
    /// Its width against its height.
    ratio: f64,
    /// The piece on the page.
    shape: Option<Shape>,
    spot: Point,
    room: f64,
    letter: f64,
    mirrored: bool,
    /// How far its letters reach below their foot, against their height.
    tail: f64,
}

impl Name {
    fn of(piece: &LaidPiece, page: &Page) -> Name {
        let shown = if piece.mirrored { format!("{} F", piece.label) } else { piece.label.clone() };
        let on = |it: &Loop| scaled_loop(it, page.scale, page.by);
        let holes = piece.shape.holes().iter().map(on).collect();
        let (spot, room) = roomiest(&piece.shape, &piece.creases);
        Name {
            ratio: letters::width(&shown, 1.0),
            shape: Shape::new(on(piece.shape.outline()), holes).ok(),
            spot: super::scaled_point(spot, page.scale, page.by),
            room: room * page.scale,
            letter: page.letter,
            mirrored: piece.mirrored,
            tail: if piece.label.contains(TAILED) { TAIL } else { 0.0 },
        }
    }

    /// In the piece: clear of its folds, else over them, the largest first.
    fn within(&self, heights: &[f64], ground: &Ground) -> Option<Place> {
        let shape = self.shape.as_ref()?;
        let b = shape.bounds();
        let middle = b.center();
        let mut spots: Vec<Point> = (1..GRID)
            .flat_map(|i| (1..GRID).map(move |j| (f64::from(i), f64::from(j))))
            .map(|(i, j)| {
                let n = f64::from(GRID);
                Point::new(b.x0 + b.width() * i / n, b.y0 + b.height() * j / n)
            })
            .collect();
        spots.sort_by(|p, q| (*p - middle).hypot2().total_cmp(&(*q - middle).hypot2()));
        spots.push(self.spot);
        let inside = |at: Point| {
            point_in_loop(at, shape.outline()) == Where::Inside
                && shape.holes().iter().all(|h| point_in_loop(at, h) == Where::Outside)
        };
        let place = |height: f64, taken: &Taken, (over, upward): (bool, bool)| {
            let (long, high) = (self.ratio * height * self.letter, height * self.letter);
            let size = if upward { (high, long) } else { (long, high) };
            if size.0 > b.width() || size.1 > b.height() {
                return None;
            }
            let area = |at: Point| Rect::from_center_size(at, size);
            let free =
                |at: &&Point| taken.is_free(self.ink(area(**at), upward), true) && inside(**at);
            let at = spots.iter().find(free)?;
            Some(Place { over, upward, ..Place::plain(area(*at)) })
        };
        let each = |taken: &Taken, how: (bool, bool), skip: usize| {
            heights.iter().skip(skip).find_map(|height| place(*height, taken, how))
        };
        each(&ground.all, (false, false), 0)
            .or_else(|| each(&ground.hard, (true, false), 1))
            // A mirrored F stands upright.
            .or_else(|| each(&ground.all, (false, true), 0).filter(|_| !self.mirrored))
    }

    /// Beside the piece, the nearest place that is clear of all pieces, lines and words.
    fn beside(&self, free: &Free<'_>) -> Option<Place> {
        let b = self.shape.as_ref()?.bounds();
        let height = self.letter * LEAST;
        let (wide, gap) = (self.ratio * height, height * 0.45);
        let middle = b.center();
        let (left, right) = (b.x0 - gap - wide, b.x1 + gap);
        let (up, down) = (b.y1 + gap, b.y0 - gap - height);
        let level = middle.y - height / 2.0;
        let centred = middle.x - wide / 2.0;
        let feet = [
            (right, level),
            (left, level),
            (centred, up),
            (centred, down),
            (right - gap - wide, up),
            (left + gap + wide, up),
            (right - gap - wide, down),
            (left + gap + wide, down),
            (right, b.y1 - height),
            (right, b.y0),
            (left, b.y1 - height),
            (left, b.y0),
        ];
        let boxes = feet.into_iter().map(|foot| Rect::from_origin_size(foot, (wide, height)));
        boxes.into_iter().find(|area| free.has(self.ink(*area, false))).map(Place::plain)
    }

    /// Farther off, the nearest such place from where a fine line leads to the piece.
    fn off(&self, free: &Free<'_>) -> Option<Place> {
        let height = self.letter * SMALL[0];
        let size = (self.ratio * height, height);
        let reach = |ring: u32| self.room + height * (1.0 + 0.8 * f64::from(ring));
        let spots = (0..RINGS).flat_map(|ring| {
            (0..WAYS).map(move |way| {
                let angle = std::f64::consts::TAU * f64::from(way) / f64::from(WAYS);
                let (x, y) = (angle.cos(), angle.sin());
                Vec2::new(x * (reach(ring) + size.0 / 2.0), y * (reach(ring) + size.1 / 2.0))
            })
        });
        let mut boxes = spots.map(|by| Rect::from_center_size(self.spot + by, size));
        let area = boxes
            .find(|area| free.has(self.ink(*area, false)) && self.leads(*area, free.ground))?;
        Some(Place { off: true, ..Place::plain(area) })
    }

    /// The box with room for the tails of its letters.
    fn ink(&self, area: Rect, upward: bool) -> Rect {
        if upward {
            Rect { x1: area.x1 + self.tail * area.width(), ..area }
        } else {
            Rect { y0: area.y0 - self.tail * area.height(), ..area }
        }
    }

    /// Whether a fine line from a box to the piece crosses no word.
    fn leads(&self, area: Rect, ground: &Ground) -> bool {
        let way = self.line_from(area);
        let many = (way.length() / (0.2 * self.letter)).ceil().max(1.0);
        let dot = (0.1 * self.letter, 0.1 * self.letter);
        (0..=RINGS * WAYS)
            .map(f64::from)
            .take_while(|n| *n <= many)
            .all(|n| ground.all.is_free(Rect::from_center_size(way.at(n / many), dot), false))
    }

    /// The fine line from a box to the piece.
    fn line_from(&self, area: Rect) -> Seg {
        let to = self.spot;
        Seg::line(Point::new(to.x.clamp(area.x0, area.x1), to.y.clamp(area.y0, area.y1)), to)
    }

    /// As large as the roomiest circle of the piece lets it be.
    fn tiny(&self) -> Place {
        let height = 2.0 * 0.8 * self.room / self.ratio.hypot(1.0);
        let height = height.min(self.letter * SMALL[2]);
        Place::plain(Rect::from_center_size(self.spot, (self.ratio * height, height)))
    }

    fn write(&self, piece: &LaidPiece, place: &Place, ground: &mut Ground, drawn: &mut Vec<Mark>) {
        let area = place.area;
        let height = if place.upward { area.width() } else { area.height() };
        if height <= 0.0 {
            return;
        }
        ground.label(self.ink(area, place.upward));
        if place.off {
            let way = self.line_from(area);
            let weight = 0.04 * self.letter;
            ground.all.line(&way, 0.1 * self.letter);
            ground.hard.line(&way, 0.1 * self.letter);
            let foot = Loop::Circle(way.b, 2.0 * weight);
            drawn.push(Mark::Line(vec![way], weight, Dash::Solid));
            drawn.push(Mark::Outline(foot, weight, Dash::Solid));
        }
        if place.over || piece.spoilt {
            let pad = 0.2 * height;
            let patch = area.inflate(pad, pad);
            if let Ok(patch) = rectangle(patch.origin(), patch.width(), patch.height(), 0.0) {
                drawn.push(Mark::Ground(vec![patch], if piece.spare { SPARE } else { USED }));
            }
        }
        let words = Letters::new(piece.label.clone(), area.origin(), height);
        drawn.push(Mark::Letters(if place.upward {
            Letters { at: Point::new(area.x1, area.y0), turn: 90.0, ..words }
        } else {
            words
        }));
        if piece.mirrored {
            let end = area.origin() + Vec2::new(self.ratio * height, 0.0);
            drawn.push(Mark::Letters(Letters { mirrored: true, ..Letters::new("F", end, height) }));
        }
    }
}

/// What tells whether a box beside the pieces is free.
struct Free<'a> {
    sheet: &'a Sheet,
    pieces: &'a [LaidPiece],
    page: &'a Page,
    ground: &'a Ground,
}

impl Free<'_> {
    /// On the paper, clear of every line and word, in no piece and in no flaw.
    fn has(&self, area: Rect) -> bool {
        let Free { sheet, pieces, page, ground } = self;
        let l = page.letter;
        let on_paper = area.x0 >= l
            && area.x1 <= page.width - l
            && area.y0 >= page.area.y0 - 1.5 * l
            && area.y1 <= page.area.y1 + 1.2 * l;
        // No line runs through it, so its middle tells what it lies in.
        let there = page.off_page(area);
        let off = |piece: &LaidPiece| {
            !piece.shape.bounds().overlaps(there) || clear(&piece.shape, &[], there.center()) < 0.0
        };
        let sound = |flaw: &Flaw| point_in_loop(there.center(), &flaw.outline) != Where::Inside;
        on_paper
            && ground.all.is_free(area, true)
            && pieces.iter().all(off)
            && sheet.flaws.iter().all(sound)
    }
}
