//! A drawing on a board: its lines, cut off at the window, and whatever words find room.

use super::super::{Dash, Mark, room, straight};
use super::board::{Board, Ink, Words};
use super::clip::{clipped, holds, touches};
use super::{Drawing, HoleMark, Pattern};
use crate::geom::{Loop, Point, Rect, Seg, Vec2, turn_vector};
use std::collections::BTreeSet;

/// Weight of lines to be cut (mm).
const CUT: f64 = 0.25;
/// Weight of thin lines (mm).
const THIN: f64 = 0.15;
/// Points tried along each side of a pattern's box.
const GRID: u32 = 14;
/// Heights of a pattern's name (mm), the greatest first.
const HEIGHTS: [f64; 6] = [4.0, 3.2, 2.6, 2.2, 1.8, 1.5];

/// What found no room on the board.
#[derive(Debug, Default, Clone, PartialEq)]
pub(super) struct Missing {
    /// Patterns without their name.
    pub names: Vec<String>,
    /// Patterns with it.
    pub named: Vec<String>,
    /// Whether a pattern has no mark of its face.
    pub face: bool,
    /// Direction of a grain that has no arrow.
    pub grain: Option<f64>,
    /// Tools that are told by a letter, in the order of their letters.
    pub keys: Vec<(char, String)>,
    /// Tools of holes that are not told at all.
    pub untold: BTreeSet<String>,
}

/// Draws what of a drawing lies in the board's window.
pub(super) fn draw(drawing: &Drawing, board: &mut Board) -> Missing {
    let mut missing = Missing::default();
    if let Some(sheet) = &drawing.sheet {
        line(board, Ink::Sheet, &sheet.outline, (0.35, Dash::Chain(6.0)));
        for flaw in &sheet.flaws {
            line(board, Ink::Flaws, flaw, (CUT, Dash::Dotted(1.0)));
        }
    }
    for pattern in &drawing.patterns {
        lines(pattern, board);
    }
    let window = board.window;
    let all: Vec<&HoleMark> = drawing.patterns.iter().flat_map(|p| &p.holes).collect();
    let mut tools: Vec<&str> = Vec::new();
    for hole in &all {
        if !tools.contains(&hole.tool.as_str()) {
            tools.push(&hole.tool);
        }
    }
    for (n, tool) in tools.into_iter().enumerate() {
        let key = u8::try_from(n).ok().filter(|n| *n < 26).map(|n| char::from(b'a' + n));
        let own = all.iter().filter(|h| h.tool == tool && window.contains(h.at));
        let own: Vec<&HoleMark> = own.copied().collect();
        if let Told::Short { any, all } = tell_holes(&own, tool, key, board) {
            missing.keys.extend(key.filter(|_| any).map(|key| (key, tool.to_owned())));
            if !all {
                missing.untold.insert(tool.to_owned());
            }
        }
    }
    for pattern in &drawing.patterns {
        if pattern.shape.bounds().overlaps(window) {
            words(pattern, drawing.sheet.is_some(), board, &mut missing);
        }
    }
    if let Some(sheet) = &drawing.sheet {
        let about = around(board.window.center(), &board.window);
        if !arrow(sheet.grain, board, &about, None) {
            missing.grain = Some(sheet.grain);
        }
    }
    missing
}

/// A loop as far as it lies in the window.
fn line(board: &mut Board, ink: Ink, it: &Loop, (weight, dash): (f64, Dash)) {
    let window = board.window;
    if !it.bounds().overlaps(window) {
        return;
    }
    if holds(&window, &it.bounds()) {
        board.draw(ink, Mark::Outline(it.clone(), weight, dash));
    } else {
        for run in runs(it.segs().iter().flat_map(|s| clipped(s, &window))) {
            board.draw(ink, Mark::Line(run, weight, dash));
        }
    }
    board.lines.extend(it.segs().into_iter().filter(|s| touches(s, &window)));
}

/// Lines that follow one another, as chains.
fn runs(segs: impl Iterator<Item = Seg>) -> Vec<Vec<Seg>> {
    let mut made: Vec<Vec<Seg>> = Vec::new();
    for seg in segs {
        match made.last_mut() {
            Some(run) if run.last().is_some_and(|l| (l.b - seg.a).hypot() < 1e-6) => run.push(seg),
            _ => made.push(vec![seg]),
        }
    }
    made
}

/// Outline, holes, folds and centres of a pattern.
fn lines(pattern: &Pattern, board: &mut Board) {
    if !pattern.shape.bounds().overlaps(board.window) {
        return;
    }
    line(board, Ink::Edges, pattern.shape.outline(), (CUT, Dash::Solid));
    for hole in pattern.shape.holes() {
        line(board, Ink::Holes, hole, (CUT, Dash::Solid));
    }
    for crease in &pattern.creases {
        for part in clipped(crease, &board.window) {
            board.draw(Ink::Crease, Mark::Line(vec![part], THIN, Dash::Dashed(3.0)));
            board.lines.push(part);
        }
    }
    for hole in &pattern.holes {
        let arm = arm(hole.diameter);
        let area = Rect::from_center_size(hole.at, (2.0 * arm, 2.0 * arm));
        if !holds(&board.window, &area) {
            continue;
        }
        for way in [Vec2::new(arm, 0.0), Vec2::new(0.0, arm)] {
            board.draw(Ink::Punch, straight(hole.at - way, hole.at + way, THIN));
            board.lines.push(Seg::line(hole.at - way, hole.at + way));
        }
        if hole.only_marked {
            let round = Loop::Circle(hole.at, hole.diameter / 2.0);
            line(board, Ink::Punch, &round, (THIN, Dash::Dotted(0.7)));
        }
    }
}

/// How far the cross at a centre reaches: across a small hole, within a large one (mm).
fn arm(diameter: f64) -> f64 {
    if diameter < 3.6 { diameter / 2.0 + 0.8 } else { (diameter / 2.0 - 0.6).min(2.0) }
}

/// The tool of holes that are made with one: in each or beside it; where one of them has no room for that, a letter that
/// stands for it beside them all.
fn tell_holes(holes: &[&HoleMark], tool: &str, key: Option<char>, board: &mut Board) -> Told {
    for height in [2.0, 1.6] {
        let before = (board.taken.len(), board.marks.len());
        if holes.iter().all(|hole| tell(hole, tool, height, board)) {
            return Told::InFull;
        }
        board.taken.truncate(before.0);
        board.marks.truncate(before.1);
    }
    let Some(key) = key.map(String::from) else { return Told::Short { any: false, all: false } };
    let mut count = 0;
    for hole in holes {
        if [1.8, 1.4].into_iter().any(|height| tell(hole, &key, height, board)) {
            count += 1;
        }
    }
    Told::Short { any: count > 0, all: count == holes.len() }
}

/// How a tool is told.
enum Told {
    /// Beside each of its holes.
    InFull,
    /// By its letter, at some of its holes or at all.
    Short { any: bool, all: bool },
}

fn tell(hole: &HoleMark, text: &str, height: f64, board: &mut Board) -> bool {
    let words = Words { text, height, upright: false, mirrored: false };
    board.write(Ink::Punch, &words, beside(hole, words.size()))
}

/// Places for words about a hole: inside it below the cross, then round about it.
fn beside(hole: &HoleMark, size: Vec2) -> Vec<Point> {
    let radius = hole.diameter / 2.0;
    let mut places = vec![hole.at - Vec2::new(0.0, arm(hole.diameter) + 0.8 + size.y / 2.0)];
    for off in [1.2, 2.4] {
        let reach = radius.max(arm(hole.diameter)) + off;
        let (x, y) = (reach + size.x / 2.0, reach + size.y / 2.0);
        let slant = reach * std::f64::consts::FRAC_1_SQRT_2;
        let (u, v) = (slant + size.x / 2.0, slant + size.y / 2.0);
        let ways = [(x, 0.0), (-x, 0.0), (0.0, y), (0.0, -y), (u, v), (u, -v), (-u, v), (-u, -v)];
        places.extend(ways.map(|way| hole.at + Vec2::from(way)));
    }
    places
}

/// Name, face and grain of a pattern, inside it.
fn words(pattern: &Pattern, among: bool, board: &mut Board, missing: &mut Missing) {
    let mut own: Vec<Seg> = pattern.shape.loops().flat_map(Loop::segs).collect();
    own.extend(&pattern.creases);
    for hole in &pattern.holes {
        let arm = arm(hole.diameter);
        for way in [Vec2::new(arm, 0.0), Vec2::new(0.0, arm)] {
            own.push(Seg::line(hole.at - way, hole.at + way));
        }
        if hole.only_marked {
            own.extend(Loop::Circle(hole.at, hole.diameter / 2.0).segs());
        }
    }
    let near = pattern.shape.bounds().intersect(board.window);
    let inner = |p: &Point| room::clear(&pattern.shape, &pattern.creases, *p) > 0.7;
    let about: Vec<Point> = around(near.center(), &near).into_iter().filter(inner).collect();
    let tags = pattern.tags.iter().enumerate();
    let sizes = tags.flat_map(|(n, tag)| HEIGHTS.map(|h| (n, tag, h)));
    // The shortest name is for what is small.
    let mut sized = sizes.filter(|(n, _, h)| *n == 0 || *n + 1 < pattern.tags.len() || *h < 2.7);
    // A name between two holes of a row reads as if it were struck through: beside the row is better.
    let mut apart = own.clone();
    let next = pattern.holes.windows(2).filter(|two| two[0].tool == two[1].tool);
    apart.extend(next.map(|two| Seg::line(two[0].at, two[1].at)));
    let mut written = |tag: &str, height: f64, lines: &[Seg]| {
        [false, true].into_iter().any(|upright| {
            let words = Words { text: tag, height, upright, mirrored: false };
            board.write_among(Ink::Words, &words, lines, &about)
        })
    };
    let first = pattern.tags.first();
    let named = first.is_some_and(|tag| {
        HEIGHTS.into_iter().filter(|h| *h > 2.0).any(|h| written(tag, h, &apart))
    }) || sized.any(|(_, tag, height)| written(tag, height, &own));
    let named = named || (among && name_beside(pattern, near, board));
    let list = if named { &mut missing.named } else { &mut missing.names };
    list.extend(pattern.tags.first().cloned());
    let face = [3.2, 2.6, 2.0, 1.6].into_iter().any(|height| {
        let words = Words { text: "F", height, upright: false, mirrored: pattern.mirrored };
        board.write_among(Ink::Words, &words, &own, &about)
    });
    missing.face |= !face;
    if let Some(grain) = pattern.grain
        && !arrow(grain, board, &about, Some(&own))
    {
        missing.grain = Some(grain);
    }
}

/// The shortest name beside a pattern that is too small for it, for patterns that lie among others.
fn name_beside(pattern: &Pattern, near: Rect, board: &mut Board) -> bool {
    let Some(text) = pattern.tags.last() else { return false };
    [1.8, 1.4].into_iter().any(|height| {
        let words = Words { text, height, upright: false, mirrored: false };
        let (half, c) = (words.size() / 2.0, near.center());
        let places = [0.8, 2.0, 4.0].into_iter().flat_map(|off| {
            let x = near.width() / 2.0 + half.x + off;
            let y = near.height() / 2.0 + half.y + off;
            [(x, 0.0), (-x, 0.0), (0.0, y), (0.0, -y), (x, y), (-x, y), (x, -y), (-x, -y)]
                .map(|way| c + Vec2::from(way))
        });
        board.write(Ink::Words, &words, places)
    })
}

/// The points of a grid over a box, those nearest to a point first.
fn around(about: Point, area: &Rect) -> Vec<Point> {
    let step = |i: u32| f64::from(i) / f64::from(GRID);
    let cells = (0..=GRID).flat_map(|i| (0..=GRID).map(move |j| (i, j)));
    let mut points: Vec<Point> = cells
        .map(|(i, j)| {
            Point::new(area.x0 + area.width() * step(i), area.y0 + area.height() * step(j))
        })
        .collect();
    points.sort_by(|p, q| (*p - about).hypot2().total_cmp(&(*q - about).hypot2()));
    points
}

/// An arrow with two heads along the grain, as long as there is room for; gives whether there was any.
fn arrow(grain: f64, board: &mut Board, about: &[Point], own: Option<&[Seg]>) -> bool {
    let way = turn_vector(Vec2::new(1.0, 0.0), grain);
    for length in [30.0, 20.0, 14.0, 10.0, 7.0] {
        let half = way * (length / 2.0);
        let (wide, high) = (2.0 * half.x.abs() + 1.2, 2.0 * half.y.abs() + 1.2);
        let area = |p: &Point| Rect::from_center_size(*p, (wide, high));
        let place = match own {
            Some(own) => about.iter().find(|p| board.is_clear(&area(p), own)),
            None => about.iter().find(|p| board.is_clear(&area(p), &board.lines)),
        };
        let Some(place) = place.copied() else { continue };
        board.taken.push(area(&place));
        grain_arrow(place, grain, length, board);
        return true;
    }
    false
}

/// An arrow with two heads about a point.
pub(super) fn grain_arrow(about: Point, grain: f64, length: f64, board: &mut Board) {
    let way = turn_vector(Vec2::new(1.0, 0.0), grain);
    let (half, head) = (way * (length / 2.0), 2.8);
    let shaft = half - way * (head * 0.7);
    board.draw(Ink::Grain, straight(about - shaft, about + shaft, 0.3));
    board.draw(Ink::Grain, Mark::Arrow(about + half, way, head));
    board.draw(Ink::Grain, Mark::Arrow(about - half, -way, head));
}
