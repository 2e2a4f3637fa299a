//! Letters as single pen lines, drawn for this program: no font file, the same strokes in every picture and on leather.
//!
//! Takes a line of text and the height of its capitals; gives polylines from the foot of the first letter, y up.
//! A character without a drawing becomes a small upright box, so that nothing is left out unseen.

mod face;
mod plain;

pub use plain::{ascii, folded, one_line, slug};

use crate::geom::{Point, Vec2};
use face::{BOX, GLYPHS};
use plain::{Accent, accented};

/// Height of capitals in the units of the face.
const CAP: f64 = 6.0;
/// Room between two letters, in units.
const BETWEEN: f64 = 1.5;
/// Chords of one curve.
const CHORDS: u32 = 6;

/// One pen line.
type Line = Vec<Point>;

/// The lines that write a text, from the foot of its first letter, y up.
///
/// # Units
/// Millimetres; `height` is that of a capital.
pub fn strokes(text: &str, height: f64) -> Vec<Line> {
    let scale = height / CAP;
    let mut at = 0.0;
    let mut lines = Vec::new();
    for c in one_line(text).chars() {
        let (wide, drawn) = letter(c);
        for line in drawn {
            lines.push(line.iter().map(|p| Point::new((p.x + at) * scale, p.y * scale)).collect());
        }
        at += wide + BETWEEN;
    }
    lines
}

/// How far a text reaches.
///
/// # Units
/// Millimetres; `height` is that of a capital.
pub fn width(text: &str, height: f64) -> f64 {
    let units: f64 = one_line(text).chars().map(|c| letter(c).0 + BETWEEN).sum::<f64>();
    (units - BETWEEN).max(0.0) * height / CAP
}

/// The greatest height up to `most` at which a text is no wider than `room`.
///
/// # Units
/// Millimetres.
pub fn height_within(text: &str, room: f64, most: f64) -> f64 {
    let wide = width(text, most);
    if wide <= room { most } else { most * (room / wide).max(0.0) }
}

/// Width and lines of one character, in units.
fn letter(c: char) -> (f64, Vec<Line>) {
    if let Some((top, bottom)) = fraction(c) {
        return built_fraction(top, bottom);
    }
    if let Some((wide, lines)) = plain_letter(c) {
        return (wide, lines);
    }
    if let Some(digit) = raised(c) {
        let (wide, lines) = plain_letter(digit).unwrap_or((0.0, Vec::new()));
        return (wide * 0.55, moved(&lines, 0.55, Vec2::new(0.0, 2.9)));
    }
    if let Some((base, accent)) = accented(c)
        && let Some((wide, mut lines)) = plain_letter(base)
    {
        lines.extend(mark(accent, wide / 2.0, base));
        return (wide, lines);
    }
    (BOX.0, read(BOX.1))
}

fn plain_letter(c: char) -> Option<(f64, Vec<Line>)> {
    let c = match c {
        '‘' | '’' | '′' => '\'',
        '“' | '”' | '″' => '"',
        '\u{a0}' | '\u{2009}' | '\u{202f}' => ' ',
        '‑' => '-',
        other => other,
    };
    GLYPHS.iter().find(|glyph| glyph.0 == c).map(|glyph| (glyph.1, read(glyph.2)))
}

fn fraction(c: char) -> Option<(char, char)> {
    Some(match c {
        '½' => ('1', '2'),
        '¼' => ('1', '4'),
        '¾' => ('3', '4'),
        '⅛' => ('1', '8'),
        '⅜' => ('3', '8'),
        '⅝' => ('5', '8'),
        '⅞' => ('7', '8'),
        _ => return None,
    })
}

fn raised(c: char) -> Option<char> {
    Some(match c {
        '¹' => '1',
        '²' => '2',
        '³' => '3',
        _ => return None,
    })
}

fn built_fraction(top: char, bottom: char) -> (f64, Vec<Line>) {
    const SMALL: f64 = 0.55;
    let one = |c| plain_letter(c).map_or_else(Vec::new, |(_, lines)| lines);
    let mut lines = moved(&one(top), SMALL, Vec2::new(0.0, 2.9));
    lines.push(vec![Point::new(1.2, -0.2), Point::new(4.0, 6.2)]);
    lines.extend(moved(&one(bottom), SMALL, Vec2::new(3.1, -0.1)));
    (5.3, lines)
}

fn moved(lines: &[Line], scale: f64, by: Vec2) -> Vec<Line> {
    lines
        .iter()
        .map(|line| line.iter().map(|p| (p.to_vec2() * scale + by).to_point()).collect())
        .collect()
}

/// The mark of an accented letter about the middle `x` of it.
fn mark(accent: Accent, x: f64, base: char) -> Vec<Line> {
    let foot = if base.is_ascii_uppercase() { 6.7 } else { 4.9 };
    let drawn = match accent {
        Accent::Grave => "-0.7,1 0.3,0",
        Accent::Acute => "0.7,1 -0.3,0",
        Accent::Circumflex => "-0.9,0 0,1 0.9,0",
        Accent::Tilde => "-1,0.2 ~-0.5,1 0,0.5 ~0.5,0 1,0.8",
        Accent::Dots => {
            "-1,0.1 -0.6,0.1 -0.6,0.5 -1,0.5 -1,0.1|0.6,0.1 1,0.1 1,0.5 0.6,0.5 0.6,0.1"
        }
        Accent::Ring => "-0.6,0.6 ~-0.6,1.2 0,1.2 ~0.6,1.2 0.6,0.6 ~0.6,0 0,0 ~-0.6,0 -0.6,0.6",
        Accent::Cedilla => "0,0 0.2,-0.6 ~0.5,-1.6 -0.6,-1.5",
    };
    let up = if accent == Accent::Cedilla { 0.0 } else { foot };
    moved(&read(drawn), 1.0, Vec2::new(x, up))
}

/// A row of the face as lines, curves taken to chords.
fn read(row: &str) -> Vec<Line> {
    row.split('|')
        .filter(|line| !line.is_empty())
        .map(|line| {
            let mut points: Line = Vec::new();
            let mut control: Option<Point> = None;
            for word in line.split(' ') {
                let bent = word.strip_prefix('~');
                let Some(p) = point(bent.unwrap_or(word)) else {
                    continue;
                };
                if bent.is_some() {
                    control = Some(p);
                    continue;
                }
                if let (Some(c), Some(from)) = (control.take(), points.last().copied()) {
                    points.extend((1..CHORDS).map(|i| {
                        let t = f64::from(i) / f64::from(CHORDS);
                        from.lerp(c, t).lerp(c.lerp(p, t), t)
                    }));
                }
                points.push(p);
            }
            points
        })
        .collect()
}

fn point(word: &str) -> Option<Point> {
    let (x, y) = word.split_once(',')?;
    Some(Point::new(x.parse().ok()?, y.parse().ok()?))
}
