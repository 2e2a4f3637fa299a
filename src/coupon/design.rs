//! What lies on a coupon: ten plates with a hole each, ten strips for either axis, in one small block.

use super::spot::{Asked, Axis, Feature, Spot, drawn};
use crate::geom::{GeomFault, Loop, Point, Rect, Shape, Vec2, rectangle};
use crate::part::{Address, Design, Needs, Piece, Stance, Turns};
use std::sync::Arc;

/// The name of the pieces: `coupon:7`.
pub const PART: &str = "coupon";

/// A plate along x and y (mm): both ways differ by more than twice the widest kerf, so that a turned one shows.
pub(super) const PLATE: (f64, f64) = (20.0, 16.0);
/// The round hole of a plate (mm).
pub(super) const ROUND: f64 = 10.0;
/// The oblong hole of a plate along x and y (mm).
pub(super) const WINDOW: (f64, f64) = (12.0, 8.0);
/// A strip that is narrow along x (mm).
pub(super) const STRIP_X: (f64, f64) = (6.5, 16.0);
/// A strip that is narrow along y (mm).
pub(super) const STRIP_Y: (f64, f64) = (20.0, 4.0);

/// Plates with a round hole, and as many with a window.
const PLATES: u32 = 5;
/// Plates side by side in the block.
const COLUMNS: u32 = 4;
/// Strips for either axis.
pub(super) const STRIPS: u32 = 10;
/// The number of the first strip that is narrow along x.
pub(super) const FIRST_STRIP_X: u32 = 2 * PLATES + 1;
/// The number of the first strip that is narrow along y.
pub(super) const FIRST_STRIP_Y: u32 = FIRST_STRIP_X + STRIPS;

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Round,
    Windowed,
    StripX,
    StripY,
}

/// What the piece of a number is.
pub(super) fn kind_of(number: u32) -> Option<Kind> {
    match number {
        0 => None,
        n if n <= PLATES => Some(Kind::Round),
        n if n < FIRST_STRIP_X => Some(Kind::Windowed),
        n if n < FIRST_STRIP_Y => Some(Kind::StripX),
        n if n < FIRST_STRIP_Y + STRIPS => Some(Kind::StripY),
        _ => None,
    }
}

/// Every number with what its piece is.
pub(super) fn numbered() -> impl Iterator<Item = (u32, Kind)> {
    (1..).map_while(|number| Some((number, kind_of(number)?)))
}

/// The rows of the table: what is to be measured, in the order in which the pieces are numbered.
pub fn asked() -> Vec<Asked> {
    let mut rows = Vec::new();
    for (number, _) in numbered() {
        for feature in Feature::ALL {
            let along = |axis| drawn(Spot { number, feature, axis });
            let (x, y) = (along(Axis::X), along(Axis::Y));
            if x.is_some() || y.is_some() {
                rows.push(Asked { number, feature, x, y });
            }
        }
    }
    rows
}

/// Which numbers are what, a line for plates and one for strips.
pub fn legend() -> Vec<String> {
    let ((w, h), (x, y)) = (PLATE, WINDOW);
    let last = |first: u32| first + STRIPS - 1;
    let total = |each: f64| each * f64::from(STRIPS);
    vec![
        format!(
            "1 to {PLATES}: outside {w} x {h} mm, round hole {ROUND} mm; {} to {}: outside {w} x {h} mm, window {x} x {y} mm",
            PLATES + 1,
            2 * PLATES
        ),
        format!(
            "{FIRST_STRIP_X} to {}: {STRIPS} strips side by side, along x {} mm; {FIRST_STRIP_Y} to {}: {STRIPS} strips, along y {} mm",
            last(FIRST_STRIP_X),
            total(STRIP_X.0),
            last(FIRST_STRIP_Y),
            total(STRIP_Y.1)
        ),
    ]
}

/// The pieces of a coupon, in the order of their numbers, for a sheet whose grain runs at `grain` degrees: none may be
/// turned from the axes of the machine.
///
/// # Units
/// Millimetres and degrees.
///
/// # Errors
/// None with the sizes that stand here: what a shape could be refused for is handed on.
pub fn pieces(grain: f64) -> Result<Vec<Piece>, GeomFault> {
    let designs = [
        plate(Loop::circle(middle(PLATE), ROUND / 2.0)?)?,
        plate(rectangle(middle(PLATE) - half(WINDOW), WINDOW.0, WINDOW.1, 0.0)?)?,
        plain(STRIP_X)?,
        plain(STRIP_Y)?,
    ];
    let piece = |(number, kind): (u32, Kind)| {
        let size = kind as usize;
        Piece {
            address: Address { part: PART.to_owned(), position: number, member: None, spare: 0 },
            size,
            turns: fixed(grain, &designs[size]),
            face: None,
            soft: false,
            needs: Needs::default(),
        }
    };
    Ok(numbered().map(piece).collect())
}

/// At no turn from the machine's axes.
pub(super) fn fixed(grain: f64, design: &Arc<Design>) -> Turns {
    // 0 - 0 is 0, and -0 would be another figure in a record.
    Turns::Fixed(vec![Stance { turn: 0.0 - grain, within: 0.0, design: Arc::clone(design) }])
}

fn middle(size: (f64, f64)) -> Point {
    half(size).to_point()
}

fn half(size: (f64, f64)) -> Vec2 {
    Vec2::new(size.0, size.1) / 2.0
}

fn plate(hole: Loop) -> Result<Arc<Design>, GeomFault> {
    let outline = rectangle(Point::ORIGIN, PLATE.0, PLATE.1, 0.0)?;
    Ok(of(Shape::new(outline, vec![hole])?))
}

/// A rectangle with its lower left corner at the origin.
pub(super) fn plain(size: (f64, f64)) -> Result<Arc<Design>, GeomFault> {
    Ok(of(Shape::plain(rectangle(Point::ORIGIN, size.0, size.1, 0.0)?)))
}

/// No hole of a coupon is left to the punch, however small the machine's smallest: it is there to be measured.
fn of(shape: Shape) -> Arc<Design> {
    Arc::new(Design { shape, creases: Vec::new(), punches: Vec::new(), rounds: Vec::new() })
}

/// Where the lower left corner of each piece lies in the block, by number, and the size of the block.
///
/// Plates stand in rows from the upper left, strips for x below them, strips for y down the right side.
pub(super) fn block(apart: f64) -> (Vec<Vec2>, Rect) {
    let rows = (2 * PLATES).div_ceil(COLUMNS);
    let run = |n: u32, each: f64| f64::from(n) * (each + apart);
    let plates = run(COLUMNS, PLATE.0).max(run(STRIPS, STRIP_X.0));
    let high = (run(rows, PLATE.1) + STRIP_X.1).max(run(STRIPS, STRIP_Y.1) - apart);
    let corner = |(number, kind): (u32, Kind)| match kind {
        Kind::Round | Kind::Windowed => {
            let (column, row) = ((number - 1) % COLUMNS, (number - 1) / COLUMNS);
            Vec2::new(run(column, PLATE.0), high - run(row, PLATE.1) - PLATE.1)
        }
        Kind::StripX => Vec2::new(run(number - FIRST_STRIP_X, STRIP_X.0), 0.0),
        Kind::StripY => {
            Vec2::new(plates, high - run(number - FIRST_STRIP_Y, STRIP_Y.1) - STRIP_Y.1)
        }
    };
    (numbered().map(corner).collect(), Rect::new(0.0, 0.0, plates + STRIP_Y.0, high))
}
