//! The `transform` of an SVG element.

use super::ReadFault;
use super::figures::Figures;
use crate::geom::Affine;

/// The map that a `transform` describes.
///
/// # Source
/// SVG 1.1 (W3C 2011), 7.6 "The transform attribute".
pub(super) fn parse(text: &str, base: usize) -> Result<Affine, ReadFault> {
    let mut figures = Figures::new(text, base);
    let mut map = Affine::IDENTITY;
    figures.skip_space();
    if figures.word() == "none" {
        return Ok(map);
    }
    figures = Figures::new(text, base);
    figures.skip_space();
    while figures.peek().is_some() {
        let at = figures.place();
        let name = figures.word();
        figures.skip_space();
        if figures.take() != Some(b'(') {
            return Err(ReadFault::new("E99", "a `transform` that is not understood").at(at));
        }
        let mut given = Vec::new();
        figures.skip_space();
        while figures.peek() != Some(b')') {
            if given.len() == 6 {
                return Err(figures.wrong("a closing bracket"));
            }
            given.push(figures.number()?);
            figures.skip_comma();
        }
        figures.take();
        figures.skip_comma();
        let one = step(name, &given).ok_or_else(|| {
            let text = format!("`{name}` with {} figures is no transform", given.len());
            ReadFault::new("E99", text).at(at)
        })?;
        map *= one;
        if !map.is_finite() {
            return Err(ReadFault::new("E92", "a transform beyond any drawing").at(at));
        }
    }
    Ok(map)
}

fn step(name: &str, given: &[f64]) -> Option<Affine> {
    Some(match (name, given) {
        ("matrix", [a, b, c, d, e, f]) => Affine::new([*a, *b, *c, *d, *e, *f]),
        ("translate", [x]) => Affine::translate((*x, 0.0)),
        ("translate", [x, y]) => Affine::translate((*x, *y)),
        ("scale", [s]) => Affine::scale(*s),
        ("scale", [x, y]) => Affine::scale_non_uniform(*x, *y),
        ("rotate", [turn]) => rotation(*turn),
        ("rotate", [turn, x, y]) => {
            Affine::translate((*x, *y)) * rotation(*turn) * Affine::translate((-*x, -*y))
        }
        ("skewX", [turn]) => Affine::new([1.0, 0.0, turn.to_radians().tan(), 1.0, 0.0, 0.0]),
        ("skewY", [turn]) => Affine::new([1.0, turn.to_radians().tan(), 0.0, 1.0, 0.0, 0.0]),
        _ => return None,
    })
}

/// A turn in degrees; quarter turns are exact.
fn rotation(turn: f64) -> Affine {
    let along = crate::geom::turn_vector(crate::geom::Vec2::new(1.0, 0.0), turn);
    Affine::new([along.x, along.y, -along.y, along.x, 0.0, 0.0])
}
