//! The 100 mm rule and short warnings, drawn where nothing is cut.

use super::{Layer, Motion, Stroke};
use crate::geom::{Loop, Point, Rect, Vec2, Where, loop_distance, point_in_loop};
use crate::letters;

/// Height of the letters beside the rule (mm).
const LETTERS: f64 = 2.5;
/// From one line of letters to the next (mm).
const LINE: f64 = 4.0;
/// Clear of sheet and pieces by at least this (mm).
pub(super) const CLEAR: f64 = 3.0;

/// What the rule must keep clear of, and where it may lie.
#[derive(Debug)]
pub(super) struct Room<'a> {
    /// The sheet.
    pub sheet: &'a Loop,
    /// The bed inside its margin.
    pub bed: Rect,
    /// Outlines of the pieces.
    pub pieces: &'a [Loop],
    /// Least distance to a piece (mm).
    pub apart: f64,
}

/// Strokes of the rule with its texts, from a lower left corner at the origin, and the size of the whole.
fn block(texts: &[String]) -> (Vec<Vec<Point>>, f64, f64) {
    let mut lines = vec![vec![Point::new(0.0, 0.0), Point::new(100.0, 0.0)]];
    for i in 0..=10 {
        let x = f64::from(i) * 10.0;
        let high = if i % 5 == 0 { 4.0 } else { 2.5 };
        lines.push(vec![Point::new(x, 0.0), Point::new(x, high)]);
    }
    let mut rows = vec!["100 mm".to_owned()];
    rows.extend(texts.iter().flat_map(|t| wrapped(t)));
    let foot = 6.0;
    #[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
    let high = foot + LINE * rows.len() as f64;
    for (i, row) in rows.iter().rev().enumerate() {
        #[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
        let up = foot + LINE * i as f64;
        for stroke in letters::strokes(row, LETTERS) {
            lines.push(stroke.into_iter().map(|p| p + Vec2::new(0.0, up)).collect());
        }
    }
    (lines, 100.0, high)
}

/// A text in lines of at most 100 mm.
fn wrapped(text: &str) -> Vec<String> {
    let mut rows = vec![String::new()];
    for word in text.split_whitespace() {
        let last = rows.len() - 1;
        let longer =
            if rows[last].is_empty() { word.to_owned() } else { format!("{} {word}", rows[last]) };
        if rows[last].is_empty() || letters::width(&longer, LETTERS) <= 100.0 {
            rows[last] = longer;
        } else {
            rows.push(word.to_owned());
        }
    }
    rows
}

/// The strokes in the first free place: above the sheet, right of it, else in the waste. None where all is full.
pub(super) fn rule(room: &Room<'_>, texts: &[String]) -> Option<Vec<Stroke>> {
    let (lines, wide, high) = block(texts);
    let sheet = room.sheet.bounds();
    let inside_bed = |r: &Rect| {
        r.x0 >= room.bed.x0 && r.y0 >= room.bed.y0 && r.x1 <= room.bed.x1 && r.y1 <= room.bed.y1
    };
    let at = |x: f64, y: f64| Rect::new(x, y, x + wide, y + high);
    let left = room.bed.x0.max(sheet.x0 + CLEAR);
    let low = room.bed.y0.max(sheet.y0 + CLEAR);
    let beside = [at(left, sheet.y1 + CLEAR), at(sheet.x1 + CLEAR, low)];
    let spot = beside.into_iter().find(|r| inside_bed(r)).or_else(|| {
        // In the waste, or beside an uneven edge: top rows first, so that it is found again.
        let step = 4.0;
        let mut y = room.bed.y1.min(sheet.y1 + high) - high;
        while y >= low {
            let mut x = left;
            while x + wide <= room.bed.x1 && x <= sheet.x1 {
                let r = at(x, y);
                if inside_bed(&r) && free(room, &r) {
                    return Some(r);
                }
                x += step;
            }
            y -= step;
        }
        None
    })?;
    Some(moved(lines, Vec2::new(spot.x0, spot.y0)))
}

/// The strokes with their lower left corner at a point.
pub(super) fn rule_at(corner: Point, texts: &[String]) -> Vec<Stroke> {
    moved(block(texts).0, corner.to_vec2())
}

fn moved(lines: Vec<Vec<Point>>, shift: Vec2) -> Vec<Stroke> {
    lines
        .into_iter()
        .filter(|line| line.len() > 1)
        .map(|line| {
            let mut motions = vec![Motion::Rapid(line[0] + shift)];
            motions.extend(line[1..].iter().map(|p| Motion::Line(*p + shift)));
            Stroke { layer: Layer::Rule, address: String::new(), number: 0, motions }
        })
        .collect()
}

fn free(room: &Room<'_>, r: &Rect) -> bool {
    let corners = [
        Point::new(r.x0, r.y0),
        Point::new(r.x1, r.y0),
        Point::new(r.x1, r.y1),
        Point::new(r.x0, r.y1),
    ];
    let Ok(frame) = Loop::polygon(&corners) else {
        return false;
    };
    room.pieces.iter().all(|piece| {
        let b = piece.bounds().inflate(room.apart, room.apart);
        !b.overlaps(*r)
            || (loop_distance(piece, &frame).0 >= room.apart
                && point_in_loop(corners[0], piece) == Where::Outside
                && point_in_loop(piece.start(), &frame) == Where::Outside)
    })
}
