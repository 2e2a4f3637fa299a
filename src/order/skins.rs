//! Nominal skins: outlines drawn from a few stations, each of the area wanted, and ovals as long as they are.

use crate::geom::{GeomFault, Loop, Point, Where, point_in_loop, polygon};
use crate::material::Skin;

/// A square foot (mm²).
///
/// # Source
/// NIST SP 811, appendix B: 1 ft = 304.8 mm.
pub const SQ_FT: f64 = 92_903.04;
const SQ_DM: f64 = 10_000.0;
const INCH: f64 = 25.4;
/// Half the width of the narrowest end of what is used (mm).
const NARROWEST: f64 = 1.0;

/// Half the width at stations along the backbone: neck edge 0, tail edge 1; the widest is 1.
type Profile = &'static [(f64, f64)];

/// Cow and calf.
///
/// # Source
/// Ours, after the regions of a hide in *Manufacture of Boots and Shoes* ("Selection of Skins") and ISO 2418. Only
/// the box of a cow hide of 45 to 50 sq ft, 8.5 by 8 ft, is published (a seller's guide to cuts of leather).
const COW: Profile = &[
    (0.0, 0.34),
    (0.06, 0.40),
    (0.14, 0.55),
    (0.22, 0.92),
    (0.30, 0.80),
    (0.40, 0.72),
    (0.55, 0.74),
    (0.68, 0.80),
    (0.80, 1.0),
    (0.88, 0.82),
    (0.95, 0.45),
    (1.0, 0.14),
];

/// Goat and sheep.
///
/// # Source
/// Ours. Area and length of goat leather are published: Salehi and others, *Animal Production Science* 54 (2014) 638.
const GOAT: Profile = &[
    (0.0, 0.36),
    (0.07, 0.44),
    (0.15, 0.58),
    (0.23, 0.95),
    (0.31, 0.82),
    (0.42, 0.76),
    (0.56, 0.76),
    (0.69, 0.82),
    (0.81, 1.0),
    (0.89, 0.80),
    (0.96, 0.42),
    (1.0, 0.12),
];

/// Kangaroo.
///
/// # Source
/// Ours. Three areas with their lengths from neck to tail are published (David Morgan, *Kangaroo leather*).
const KANGAROO: Profile = &[
    (0.0, 0.34),
    (0.08, 0.44),
    (0.18, 0.58),
    (0.30, 0.66),
    (0.45, 0.76),
    (0.60, 0.88),
    (0.74, 1.0),
    (0.84, 0.92),
    (0.92, 0.62),
    (0.97, 0.34),
    (1.0, 0.18),
];

/// Kangaroo skins: area (dm²) and length from neck to tail (in).
const KANGAROO_LENGTHS: [(f64, f64); 3] = [(50.0, 30.0), (60.0, 36.0), (70.0, 40.0)];

/// The outline by which a skin is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// With neck, shanks and rump where they usually are.
    Drawn,
    /// An oval: no neck to begin at, no shanks. A skin is seldom less helpful to long pieces.
    Oval,
}

impl Form {
    /// Both.
    pub const ALL: [Form; 2] = [Form::Drawn, Form::Oval];
}

/// So many straight sides make up half of an oval.
const OVAL_SIDES: u32 = 48;

/// Half the width along an oval: those of a circle on a diameter of 1, the widest 1.
fn oval() -> Vec<(f64, f64)> {
    (0..=OVAL_SIDES)
        .map(|n| {
            let turn = std::f64::consts::PI * f64::from(n) / f64::from(OVAL_SIDES);
            // A blunt point at either end, so that both sides of the outline stay apart.
            ((1.0 - turn.cos()) / 2.0, turn.sin().max(1e-3))
        })
        .collect()
}

fn profile(skin: Skin) -> Profile {
    match skin {
        Skin::Cow | Skin::CowSide | Skin::Calf => COW,
        Skin::Goat | Skin::Sheep => GOAT,
        Skin::Kangaroo => KANGAROO,
    }
}

/// How much of its box a profile fills.
pub fn fill(skin: Skin) -> f64 {
    filled(profile(skin))
}

fn filled(stations: &[(f64, f64)]) -> f64 {
    stations.windows(2).map(|w| (w[1].0 - w[0].0) * f64::midpoint(w[0].1, w[1].1)).sum()
}

/// The usual area of a skin (mm²), where the profile does not say.
///
/// # Source
/// Cow 45 to 50 sq ft, a side half of it, calf 16 sq ft (sellers' guides); goat as Salehi 2014; kangaroo, the middle
/// of the three published; sheep 6 sq ft, assumed.
pub fn usual_area(skin: Skin) -> f64 {
    match skin {
        Skin::Cow => 47.5 * SQ_FT,
        Skin::CowSide => 23.75 * SQ_FT,
        Skin::Calf => 16.0 * SQ_FT,
        Skin::Goat => 71.4 * SQ_DM,
        Skin::Sheep => 6.0 * SQ_FT,
        Skin::Kangaroo => 60.0 * SQ_DM,
    }
}

/// Length and greatest width of a nominal skin of an area.
///
/// # Units
/// Square millimetres in, millimetres out.
pub fn size(skin: Skin, area: f64) -> (f64, f64) {
    let grown = |length: f64, at: f64| length * (area / at).sqrt();
    let length = match skin {
        Skin::Cow => grown(8.5 * 12.0 * INCH, 47.5 * SQ_FT),
        Skin::CowSide => grown(8.5 * 12.0 * INCH, 23.75 * SQ_FT),
        Skin::Calf => grown(58.6 * INCH, 16.0 * SQ_FT),
        Skin::Goat => grown(963.0, 71.4 * SQ_DM),
        Skin::Sheep => grown(34.0 * INCH, 6.0 * SQ_FT),
        Skin::Kangaroo => kangaroo_length(area),
    };
    (length, area / (length * fill(skin)))
}

/// As published, straight between; beyond the published skins they grow alike both ways.
fn kangaroo_length(area: f64) -> f64 {
    let [first, .., last] = KANGAROO_LENGTHS;
    let dm2 = area / SQ_DM;
    if dm2 < first.0 {
        return first.1 * INCH * (dm2 / first.0).sqrt();
    }
    for pair in KANGAROO_LENGTHS.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if dm2 <= b.0 {
            return (a.1 + (b.1 - a.1) * (dm2 - a.0) / (b.0 - a.0)) * INCH;
        }
    }
    last.1 * INCH * (dm2 / last.0).sqrt()
}

/// The rim that cannot be used (mm): least, likely, most.
///
/// # Source
/// 4 to 6 in of a cow hide (a seller's guide), taken to grow with the length. 1 to 1 1/2 in of small skins is assumed.
pub fn rims(skin: Skin, area: f64) -> [f64; 3] {
    match skin {
        Skin::Cow | Skin::CowSide | Skin::Calf => {
            let share = size(skin, area).0 / (8.5 * 12.0 * INCH);
            [4.0, 5.0, 6.0].map(|inches| inches * INCH * share)
        }
        Skin::Goat | Skin::Sheep | Skin::Kangaroo => [1.0, 1.25, 1.5].map(|inches| inches * INCH),
    }
}

/// A skin as it is sold, and what of it can be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Nominal {
    /// Its whole outline, in the same place as what can be used.
    pub sold: Vec<Point>,
    /// The outline with the rim off, its box at the origin.
    pub usable: Loop,
}

/// So many strips make up what is left of a skin within its rim.
const STRIPS: u32 = 24;

/// A nominal skin: backbone along x, neck at the left, rim off (mm, mm²). An oval is as long and of the same area.
///
/// What can be used is drawn anew from as many stations along the backbone: at each as far out as the rim lets it.
///
/// # Errors
/// A skin so small that next to nothing is left within its rim.
pub fn nominal(skin: Skin, form: Form, area: f64, rim: f64) -> Result<Nominal, GeomFault> {
    let half = skin == Skin::CowSide;
    let drawn_oval = oval();
    let stations = match form {
        Form::Drawn => profile(skin),
        Form::Oval => &drawn_oval,
    };
    let (length, _) = size(skin, area);
    // A side is drawn as half of a whole hide.
    let width = area / (length * filled(stations)) * if half { 2.0 } else { 1.0 };
    let at = |(u, s): (f64, f64), sign: f64| Point::new(u * length, sign * s * width / 2.0);
    let lower = stations.iter().map(|station| at(*station, -1.0));
    let upper = stations.iter().rev().map(|station| at(*station, 1.0));
    let whole: Vec<Point> = lower.chain(upper).collect();
    let outline = polygon(&whole)?;
    let (first, last) = (rim, length - rim);
    let mut upper: Vec<Point> = Vec::new();
    for n in 0..=STRIPS {
        let x = first + (last - first) * f64::from(n) / f64::from(STRIPS);
        if let Some(y) = reach(&outline, x, rim) {
            upper.push(Point::new(x, y));
        }
    }
    let mirrored = |p: &Point| Point::new(p.x, -p.y);
    let (sold, inner) = if half {
        // The rim is off the belly and both ends; the cut along the backbone has none.
        let ends = upper.first().zip(upper.last());
        let backbone =
            ends.map_or(Vec::new(), |(a, b)| vec![Point::new(a.x, 0.0), Point::new(b.x, 0.0)]);
        let inner = backbone.into_iter().chain(upper.into_iter().rev()).collect();
        (clip(&whole, |p| p.y), inner)
    } else {
        let lower: Vec<Point> = upper.iter().map(mirrored).collect();
        (whole, lower.into_iter().chain(upper.into_iter().rev()).collect::<Vec<_>>())
    };
    let bounds = polygon(&inner)?.bounds();
    let moved = |points: &[Point]| -> Vec<Point> {
        points.iter().map(|p| Point::new(p.x - bounds.x0, p.y - bounds.y0)).collect()
    };
    let (sold, inner) = (moved(&sold), moved(&inner));
    Ok(Nominal { sold, usable: polygon(&inner)? })
}

/// How far out from the backbone a point may lie that keeps clear of the edge; none where not even the backbone does.
fn reach(outline: &Loop, x: f64, clear: f64) -> Option<f64> {
    let segs = outline.segs();
    let keeps = |y: f64| {
        let p = Point::new(x, y);
        segs.iter().all(|seg| seg.distance_to(p) >= clear - 1e-9)
    };
    let inside = |y: f64| point_in_loop(Point::new(x, y), outline) == Where::Inside;
    let (mut good, mut bad) = (NARROWEST, outline.bounds().y1);
    if !(keeps(good) && inside(good)) {
        return None;
    }
    // From the backbone outward the edge comes nearer: halving finds where it comes too near.
    for _ in 0..40 {
        let middle = f64::midpoint(good, bad);
        if keeps(middle) && inside(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Some(good)
}

/// What of a polygon lies where a linear function is not below zero.
///
/// # Source
/// Sutherland and Hodgman, "Reentrant polygon clipping", 1974. Where the line cuts off several pieces they stay joined
/// by strips of no area, so that the area is right all the same.
pub(super) fn clip(points: &[Point], side: impl Fn(&Point) -> f64) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for (i, to) in points.iter().enumerate() {
        let from = points[(i + points.len() - 1) % points.len()];
        let (a, b) = (side(&from), side(to));
        if (a < 0.0) != (b < 0.0) {
            kept.push(from.lerp(*to, a / (a - b)));
        }
        if b >= 0.0 {
            kept.push(*to);
        }
    }
    let same = |a: &Point, b: &Point| (*a - *b).hypot() < crate::geom::tolerance::JOIN;
    kept.dedup_by(|a, b| same(a, b));
    while kept.len() > 1 && kept.first().zip(kept.last()).is_some_and(|(a, b)| same(a, b)) {
        kept.pop();
    }
    kept
}

/// Area of a polygon (mm²).
pub(super) fn area_of(points: &[Point]) -> f64 {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| a.x * b.y - b.x * a.y).sum::<f64>().abs() / 2.0
}
