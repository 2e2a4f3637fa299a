//! The `d` of a path, read in the file's own figures.

use super::ReadFault;
use super::curve::{ArcTo, Pen};
use super::figures::Figures;
use crate::geom::Point;

/// What the last command left for a smooth one to go on from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Handle {
    None,
    Cubic(Point),
    Quadratic(Point),
}

/// Draws a path with a pen.
///
/// # Source
/// SVG 1.1 (W3C 2011), 8.3 "Path data" and its grammar; a smooth command after another kind starts at the point itself.
pub(super) fn draw(pen: &mut Pen<'_>, d: &str, base: usize) -> Result<(), ReadFault> {
    let mut figures = Figures::new(d, base);
    let mut handle = Handle::None;
    let mut begun = false;
    figures.skip_space();
    while let Some(letter) = figures.peek() {
        if !begun && !matches!(letter, b'M' | b'm') {
            return Err(figures.wrong("`M`, with which a path begins,"));
        }
        if !b"MmLlHhVvCcSsQqTtAaZz".contains(&letter) {
            return Err(figures.wrong("a path command"));
        }
        begun = true;
        let at = figures.place();
        figures.take();
        figures.skip_space();
        if letter.eq_ignore_ascii_case(&b'z') {
            pen.close(at)?;
            // What follows without `M` begins where the closed one began.
            let start = pen.start();
            pen.move_to(start, figures.place())?;
            handle = Handle::None;
            continue;
        }
        let mut command = letter;
        loop {
            handle = step(pen, command, handle, &mut figures)?;
            figures.skip_space();
            let comma = figures.peek() == Some(b',');
            if comma {
                figures.skip_comma();
            }
            if !figures.at_number() {
                if comma {
                    return Err(figures.wrong("a number"));
                }
                break;
            }
            command = match command {
                b'M' => b'L',
                b'm' => b'l',
                other => other,
            };
        }
    }
    pen.finish();
    Ok(())
}

/// One command with one set of figures.
fn step(
    pen: &mut Pen<'_>,
    command: u8,
    handle: Handle,
    figures: &mut Figures<'_>,
) -> Result<Handle, ReadFault> {
    let at = figures.place();
    let from = pen.here();
    let relative = command.is_ascii_lowercase();
    let origin = if relative { from } else { Point::ORIGIN };
    match command.to_ascii_uppercase() {
        b'M' => {
            let p = point(figures, origin)?;
            pen.move_to(p, at)?;
        }
        b'L' => {
            let p = point(figures, origin)?;
            pen.line_to(p, at)?;
        }
        b'H' => {
            let x = figures.number()? + origin.x;
            pen.line_to(Point::new(x, from.y), at)?;
        }
        b'V' => {
            let y = figures.number()? + origin.y;
            pen.line_to(Point::new(from.x, y), at)?;
        }
        b'C' | b'S' => {
            let first = if command.eq_ignore_ascii_case(&b'C') {
                let p = point(figures, origin)?;
                figures.skip_comma();
                p
            } else {
                match handle {
                    Handle::Cubic(last) => mirrored(last, from),
                    _ => from,
                }
            };
            let (second, end) = two_points(figures, origin)?;
            pen.cubic_to(first, second, end, at)?;
            return Ok(Handle::Cubic(second));
        }
        b'Q' | b'T' => {
            let (middle, end) = if command.eq_ignore_ascii_case(&b'Q') {
                two_points(figures, origin)?
            } else {
                let middle = match handle {
                    Handle::Quadratic(last) => mirrored(last, from),
                    _ => from,
                };
                (middle, point(figures, origin)?)
            };
            // A quadratic is a cubic whose handles reach two thirds of the way to its one.
            let third = 2.0 / 3.0;
            pen.cubic_to(from.lerp(middle, third), end.lerp(middle, third), end, at)?;
            return Ok(Handle::Quadratic(middle));
        }
        _ => {
            let arc = arc(figures, origin)?;
            pen.arc_to(&arc, at)?;
        }
    }
    Ok(Handle::None)
}

fn arc(figures: &mut Figures<'_>, origin: Point) -> Result<ArcTo, ReadFault> {
    let rx = figures.number()?;
    figures.skip_comma();
    let ry = figures.number()?;
    figures.skip_comma();
    let turn = figures.number()?;
    figures.skip_comma();
    let large = figures.flag()?;
    figures.skip_comma();
    let sweep = figures.flag()?;
    figures.skip_comma();
    let end = point(figures, origin)?;
    Ok(ArcTo { rx, ry, turn, large, sweep, end })
}

fn point(figures: &mut Figures<'_>, origin: Point) -> Result<Point, ReadFault> {
    let x = figures.number()?;
    figures.skip_comma();
    let y = figures.number()?;
    Ok(Point::new(origin.x + x, origin.y + y))
}

fn two_points(figures: &mut Figures<'_>, origin: Point) -> Result<(Point, Point), ReadFault> {
    let first = point(figures, origin)?;
    figures.skip_comma();
    Ok((first, point(figures, origin)?))
}

fn mirrored(handle: Point, about: Point) -> Point {
    about + (about - handle)
}
