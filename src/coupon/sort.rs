//! The sorts of coupon, and what lies on those that are not for the kerf.

use super::design::{PART, fixed};
use crate::geom::{GeomFault, Loop, Point, Seg, Shape, rectangle};
use crate::part::{Address, Design, Needs, Piece, Stance, Turns};
use std::sync::Arc;

/// What a coupon is to tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// How wide the cut is.
    Kerf,
    /// How much the material gives, along and across its grain.
    Stretch,
    /// How narrow a web between two cuts still holds.
    Gap,
    /// How small a hole still comes out round.
    Hole,
}

/// Strips each way.
pub(super) const STRIPS: u32 = 3;
/// A strip along the grain: length and width; from mark to mark (mm).
const ALONG: (f64, f64, f64) = (120.0, 20.0, 100.0);
/// A strip across it: shorter, so that strips that were changed over show.
const ACROSS: (f64, f64, f64) = (100.0, 20.0, 80.0);
/// Webs between the windows of a plate (mm).
pub(super) const WEBS: [f64; 7] = [0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0];
/// A window of such a plate: across the webs and along them (mm).
const WINDOW: (f64, f64) = (5.0, 12.0);
/// Round the windows and holes of a plate (mm).
const RIM: f64 = 6.0;
/// Diameters of the holes (mm).
pub(super) const HOLES: [f64; 10] = [0.8, 1.0, 1.3, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0];
/// Between two holes (mm).
const BETWEEN: f64 = 4.0;

impl Sort {
    /// All of them.
    pub const ALL: [Sort; 4] = [Sort::Kerf, Sort::Stretch, Sort::Gap, Sort::Hole];

    /// As it is typed.
    pub fn name(self) -> &'static str {
        match self {
            Sort::Kerf => "kerf",
            Sort::Stretch => "stretch",
            Sort::Gap => "gap",
            Sort::Hole => "hole",
        }
    }

    /// The name of its pieces: `coupon:7`, `coupon-gap:1`.
    pub fn part(self) -> String {
        match self {
            Sort::Kerf => PART.to_owned(),
            other => format!("{PART}-{}", other.name()),
        }
    }

    /// The sort of a piece's address; none where it is no test piece.
    pub fn of(address: &str) -> Option<Sort> {
        let (part, _) = address.split_once(':')?;
        Sort::ALL.into_iter().find(|sort| sort.part() == part)
    }

    /// Whether the line of the cut is the drawn line, so that a known kerf is put aside.
    pub fn on_the_line(self) -> bool {
        matches!(self, Sort::Kerf | Sort::Stretch)
    }
}

/// A row of the table of a coupon that is not for the kerf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Number of the piece.
    pub number: u32,
    /// Which way it lies: `along` or `across` the grain, or the machine's `x` or `y`; nothing where it does not matter.
    pub way: &'static str,
    /// What was drawn (mm): from mark to mark, the web, the diameter.
    pub drawn: f64,
}

/// What is to be looked at or measured.
pub fn rows(sort: Sort) -> Vec<Row> {
    match sort {
        Sort::Kerf => Vec::new(),
        Sort::Stretch => (1..=2 * STRIPS)
            .map(|number| {
                let (way, drawn) =
                    if number <= STRIPS { ("along", ALONG.2) } else { ("across", ACROSS.2) };
                Row { number, way, drawn }
            })
            .collect(),
        Sort::Gap => [(1, "x"), (2, "y")]
            .into_iter()
            .flat_map(|(number, way)| WEBS.map(|drawn| Row { number, way, drawn }))
            .collect(),
        Sort::Hole => HOLES.map(|drawn| Row { number: 1, way: "", drawn }).to_vec(),
    }
}

/// What the numbers are, for the foot of the picture.
pub fn told(sort: Sort) -> Vec<String> {
    match sort {
        Sort::Kerf => super::design::legend(),
        Sort::Stretch => vec![
            format!(
                "1 to {STRIPS}: along the grain, marks {} mm apart; {} to {}: across it, marks {} mm apart",
                ALONG.2,
                STRIPS + 1,
                2 * STRIPS,
                ACROSS.2
            ),
            "measure from mark to mark, then hang a load on, wait a minute and measure again"
                .to_owned(),
        ],
        Sort::Gap => vec![
            format!(
                "1: webs one after another along x; 2: along y; the narrowest is {} mm, then {} mm",
                WEBS[0],
                WEBS[1..].iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
            ),
            "on each web: clean, torn or charred".to_owned(),
        ],
        Sort::Hole => vec![
            format!("diameters from left to right: {} mm", HOLES.map(|d| d.to_string()).join(", ")),
            "measure each along x and y, and say: clean, torn or charred".to_owned(),
        ],
    }
}

/// The pieces of a coupon that is not for the kerf, on a sheet whose grain runs at `grain` degrees.
///
/// # Units
/// Millimetres and degrees.
///
/// # Errors
/// None with the sizes that stand here: what a shape could be refused for is handed on.
pub fn test_pieces(sort: Sort, grain: f64) -> Result<Vec<Piece>, GeomFault> {
    let to_grain = |turn: f64, design: &Arc<Design>| {
        let stances = [turn, turn + 180.0].map(|turn| Stance {
            turn,
            within: 0.0,
            design: Arc::clone(design),
        });
        Turns::Fixed(stances.to_vec())
    };
    let turns: Vec<Turns> = match sort {
        Sort::Kerf => return super::design::pieces(grain),
        Sort::Stretch => {
            let (along, across) = (strip(ALONG)?, strip(ACROSS)?);
            (0..2 * STRIPS)
                .map(|n| if n < STRIPS { to_grain(0.0, &along) } else { to_grain(90.0, &across) })
                .collect()
        }
        Sort::Gap => vec![fixed(grain, &webs(false)?), fixed(grain, &webs(true)?)],
        Sort::Hole => vec![fixed(grain, &holes()?)],
    };
    Ok((1..)
        .zip(turns)
        .map(|(number, turns)| Piece {
            address: Address { part: sort.part(), position: number, member: None, spare: 0 },
            size: match (sort, number) {
                (Sort::Stretch, n) => usize::from(n > STRIPS),
                (_, n) => n as usize - 1,
            },
            turns,
            face: None,
            soft: false,
            needs: Needs::default(),
        })
        .collect())
}

fn of(shape: Shape, creases: Vec<Seg>) -> Arc<Design> {
    Arc::new(Design { shape, creases, punches: Vec::new(), rounds: Vec::new() })
}

/// A strip with a line across it near either end.
fn strip((length, width, apart): (f64, f64, f64)) -> Result<Arc<Design>, GeomFault> {
    let shape = Shape::plain(rectangle(Point::ORIGIN, length, width, 0.0)?);
    let inset = (length - apart) / 2.0;
    let line = |x: f64| Seg::line(Point::new(x, 1.0), Point::new(x, width - 1.0));
    Ok(of(shape, vec![line(inset), line(inset + apart)]))
}

/// A plate with a row of windows and a web between any two, the narrowest first.
fn webs(upright: bool) -> Result<Arc<Design>, GeomFault> {
    let flip = |x: f64, y: f64| if upright { (y, x) } else { (x, y) };
    let mut at = RIM;
    let mut windows = Vec::new();
    for web in WEBS.into_iter().chain([0.0]) {
        let ((x, y), (w, h)) = (flip(at, RIM), flip(WINDOW.0, WINDOW.1));
        windows.push(rectangle(Point::new(x, y), w, h, 0.0)?);
        at += WINDOW.0 + web;
    }
    let (w, h) = flip(at + RIM, WINDOW.1 + 2.0 * RIM);
    Ok(of(Shape::new(rectangle(Point::ORIGIN, w, h, 0.0)?, windows)?, Vec::new()))
}

/// A plate with a row of holes, the smallest first.
fn holes() -> Result<Arc<Design>, GeomFault> {
    let high = HOLES[HOLES.len() - 1] + 2.0 * RIM;
    let mut at = RIM;
    let mut made = Vec::new();
    for diameter in HOLES {
        made.push(Loop::circle(Point::new(at + diameter / 2.0, high / 2.0), diameter / 2.0)?);
        at += diameter + BETWEEN;
    }
    let outline = rectangle(Point::ORIGIN, at - BETWEEN + RIM, high, 0.0)?;
    Ok(of(Shape::new(outline, made)?, Vec::new()))
}
