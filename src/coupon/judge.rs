//! From readings to a kerf: what can't be right is refused with its place, the rest is averaged.

use super::design::asked;
use super::slip::slips;
use super::spot::{Axis, Blank, Filled, Spot, drawn, kerf_of};
use crate::fault::{Fault, any_error};
use std::fmt;

/// Fewer readings of one side than this give no mean.
const FEWEST: usize = 3;
/// Figures are given to this (mm).
const STEP: f64 = 0.001;
/// Where both ways differ by no more than this, they are one (mm).
const ALIKE: f64 = 0.005;
/// A kerf that is written beside one of nothing is no less than this (mm): a cut has width both ways or neither.
const LEAST: f64 = 0.01;
/// So far below nothing a mean may lie (mm): a caliper shows hundredths.
const BELOW: f64 = 0.02;
/// A reading within this of the middle one never stands out (mm).
const NEAR: f64 = 0.05;
/// A reading stands out by more than so many deviations.
///
/// # Source
/// Iglewicz and Hoaglin, *How to Detect and Handle Outliers*, 1993: modified z-scores above 3.5, with 0.6745 of the
/// median absolute deviation from the median.
const OUT: (f64, f64) = (3.5, 0.6745);
/// A spread above this, and this share of the kerf, is pointed out (mm; factor).
///
/// # Source
/// Starting guesses of our own.
const WIDE: (f64, f64) = (0.05, 0.25);

/// From which side a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// From outside to outside: plates and strips.
    Outside,
    /// Across holes.
    Inside,
}

impl Side {
    /// Both.
    pub const BOTH: [Side; 2] = [Side::Outside, Side::Inside];
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Side::Outside => "outside",
            Side::Inside => "inside",
        })
    }
}

/// Readings of one side along one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stat {
    /// Mean over all cuts that were measured (mm): ten strips count ten times.
    pub mean: f64,
    /// Experimental standard deviation of the readings (mm).
    ///
    /// # Source
    /// JCGM 100:2008, 4.2.2.
    pub spread: f64,
    /// How many readings there are.
    pub count: usize,
}

/// The kerf along one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxisKerf {
    /// From outside to outside.
    pub outside: Stat,
    /// Across holes.
    pub inside: Stat,
    /// The mean of both sides (mm), no less than nothing.
    pub kerf: f64,
    /// The spread within the sides (mm).
    pub spread: f64,
    /// How many readings there are.
    pub count: usize,
    /// Standard error of the kerf (mm).
    pub error: f64,
}

/// The width of the cut as it is written down (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Width {
    /// The same both ways, as far as the readings can tell.
    One(f64),
    /// Along x and y.
    Two(f64, f64),
}

/// What a coupon comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Kerfs {
    /// Along the machine's x.
    pub x: AxisKerf,
    /// Along the machine's y.
    pub y: AxisKerf,
    /// Readings that stand out from the others, with the kerf that each comes to (mm).
    pub odd: Vec<(Spot, f64)>,
    /// What is to be pointed out.
    pub warnings: Vec<Fault>,
}

impl Kerfs {
    /// The width as it is written down: one figure where both ways differ by no more than the readings can tell.
    ///
    /// # Units
    /// Millimetres, to a thousandth.
    pub fn width(&self) -> Width {
        let rounded = |mm: f64| (mm / STEP).round() * STEP;
        let error = self.x.error.hypot(self.y.error);
        let (x, y) = (self.x.kerf, self.y.kerf);
        if (x - y).abs() <= ALIKE.max(2.0 * error) {
            return Width::One(rounded((x + y) / 2.0));
        }
        Width::Two(rounded(x).max(LEAST), rounded(y).max(LEAST))
    }

    /// The wider of the two spreads (mm).
    pub fn spread(&self) -> f64 {
        self.x.spread.max(self.y.spread)
    }

    /// How many readings there are.
    pub fn count(&self) -> usize {
        self.x.count + self.y.count
    }
}

/// One reading with the kerf that it comes to.
struct Point<'a> {
    spot: Spot,
    kerf: f64,
    place: &'a crate::fault::Place,
}

/// The kerf along both axes.
///
/// # Units
/// Millimetres.
///
/// # Errors
/// Every slip in the table with its place: readings that were changed over (`E66`), that can't be right (`E67`), that
/// are missing (`E12`); a mean below nothing (`E41`).
///
/// # Source
/// Kerf is the width of material that a cut takes away. The mean of outside and inside is taken, so that a cut that
/// leans or a blade that drags makes both as little wrong as can be: ours.
pub fn judge(filled: &Filled) -> Result<Kerfs, Vec<Fault>> {
    if filled.readings.is_empty() {
        return Err(vec![Fault::error("E12", "nothing has been filled in").at(&filled.head).cure(
            "cut the coupon, measure it and write into the columns measured-x and measured-y",
        )]);
    }
    let mut faults = slips(filled);
    if any_error(&faults) {
        return Err(faults);
    }
    faults.extend(missing(filled));
    let points: Vec<Point<'_>> = filled
        .readings
        .iter()
        .filter_map(|r| {
            let kerf = kerf_of(r.spot.feature, drawn(r.spot)?, r.mm);
            Some(Point { spot: r.spot, kerf, place: &r.place })
        })
        .collect();
    let mut odd = Vec::new();
    for axis in Axis::BOTH {
        for side in Side::BOTH {
            standing_out(&of(&points, axis, side), &mut odd, &mut faults);
        }
    }
    if any_error(&faults) {
        return Err(faults);
    }
    let [x, y] = Axis::BOTH.map(|axis| along(&points, axis));
    for (axis, it) in [(Axis::X, &x), (Axis::Y, &y)] {
        faults.extend(disagreeing(&points, axis, it));
        let mean = (it.outside.mean + it.inside.mean) / 2.0;
        if mean < -(BELOW + 2.0 * it.error) {
            let first = points.iter().find(|p| p.spot.axis == axis);
            faults.push(
                Fault::error("E41", format!("the kerf along {axis} comes to {mean:.3} mm, and a cut can't be narrower than nothing"))
                    .at_some(first.map(|p| p.place))
                    .cure("the pieces are larger than drawn and the holes smaller: turn off the width of cut in the machine's own program and cut the coupon again"),
            );
        }
    }
    if any_error(&faults) { Err(faults) } else { Ok(Kerfs { x, y, odd, warnings: faults }) }
}

fn side_of(spot: Spot) -> Side {
    if spot.feature.is_hole() { Side::Inside } else { Side::Outside }
}

fn of<'a, 'p>(points: &'a [Point<'p>], axis: Axis, side: Side) -> Vec<&'a Point<'p>> {
    points.iter().filter(|p| p.spot.axis == axis && side_of(p.spot) == side).collect()
}

fn along(points: &[Point<'_>], axis: Axis) -> AxisKerf {
    let [outside, inside] = Side::BOTH.map(|side| stat(&of(points, axis, side)));
    let freedom = |s: &Stat| (count(s.count) - 1.0).max(0.0);
    let both = freedom(&outside) + freedom(&inside);
    let squares =
        freedom(&outside) * outside.spread.powi(2) + freedom(&inside) * inside.spread.powi(2);
    let spread = if both > 0.0 { (squares / both).sqrt() } else { 0.0 };
    let of_mean = |s: &Stat| s.spread / count(s.count).max(1.0).sqrt();
    AxisKerf {
        kerf: ((outside.mean + inside.mean) / 2.0).max(0.0),
        spread,
        count: outside.count + inside.count,
        error: of_mean(&outside).hypot(of_mean(&inside)) / 2.0,
        outside,
        inside,
    }
}

fn stat(points: &[&Point<'_>]) -> Stat {
    let cuts: f64 = points.iter().map(|p| p.spot.feature.cuts()).sum();
    let weighted: f64 = points.iter().map(|p| p.kerf * p.spot.feature.cuts()).sum();
    let n = count(points.len());
    let plain = points.iter().map(|p| p.kerf).sum::<f64>() / n.max(1.0);
    let squares: f64 = points.iter().map(|p| (p.kerf - plain).powi(2)).sum();
    let spread = if n > 1.0 { (squares / (n - 1.0)).sqrt() } else { 0.0 };
    Stat { mean: weighted / cuts.max(1.0), spread, count: points.len() }
}

#[allow(clippy::cast_precision_loss, reason = "a count of readings")]
fn count(n: usize) -> f64 {
    n as f64
}

/// Too few readings of a side are an error; single ones that are missing are told once.
fn missing(filled: &Filled) -> Vec<Fault> {
    let mut faults = Vec::new();
    for axis in Axis::BOTH {
        for side in Side::BOTH {
            let is_it = |spot: Spot| spot.axis == axis && side_of(spot) == side;
            let there = filled.readings.iter().filter(|r| is_it(r.spot)).count();
            let rows = asked().into_iter();
            let spots = rows.map(|a| Spot { number: a.number, feature: a.feature, axis });
            let wanted = spots.filter(|spot| is_it(*spot) && drawn(*spot).is_some()).count();
            let blanks: Vec<&Blank> = filled.blanks.iter().filter(|b| is_it(b.spot)).collect();
            if there < FEWEST {
                faults.push(listed(
                    Fault::error(
                        "E12",
                        format!("{there} of {wanted} readings {side} along {axis}, and {FEWEST} are the least"),
                    )
                    .cure(format!("measure more of them and write them into measured-{axis}")),
                    &blanks,
                ));
            } else if !blanks.is_empty() {
                let spots: Vec<String> =
                    blanks.iter().take(3).map(|b| b.spot.to_string()).collect();
                let more = match blanks.len() {
                    n @ 4.. => format!(" and {} more", n - 3),
                    _ => String::new(),
                };
                faults.push(listed(
                    Fault::warning("W53", format!("no reading of {}{more}", spots.join("; ")))
                        .cure(format!(
                            "write it into measured-{axis}; a piece that was spoilt may be left out"
                        )),
                    &blanks,
                ));
            }
        }
    }
    faults
}

/// The fault with the places of the first few blanks.
fn listed(fault: Fault, blanks: &[&Blank]) -> Fault {
    blanks.iter().take(3).fold(fault, |fault, blank| fault.at(&blank.place))
}

/// Readings that stand out from the others of their side.
fn standing_out(points: &[&Point<'_>], odd: &mut Vec<(Spot, f64)>, faults: &mut Vec<Fault>) {
    let middle = median(points.iter().map(|p| p.kerf).collect());
    let off = median(points.iter().map(|p| (p.kerf - middle).abs()).collect());
    let most = NEAR.max(OUT.0 * off / OUT.1);
    for p in points.iter().filter(|p| (p.kerf - middle).abs() > most) {
        odd.push((p.spot, p.kerf));
        faults.push(
            Fault::warning(
                "W52",
                format!(
                    "{} comes to a kerf of {:.3} mm, the others of its side to {middle:.3} mm",
                    p.spot, p.kerf
                ),
            )
            .at(p.place)
            .cure("measure it again; leave it blank where the piece is spoilt"),
        );
    }
}

/// The middle one of some figures.
fn median(mut figures: Vec<f64>) -> f64 {
    figures.sort_by(f64::total_cmp);
    let n = figures.len();
    match (n, n % 2) {
        (0, _) => 0.0,
        (_, 1) => figures[n / 2],
        _ => (figures[n / 2 - 1] + figures[n / 2]) / 2.0,
    }
}

/// A wide spread, and sides that differ by more than their readings do.
fn disagreeing(points: &[Point<'_>], axis: Axis, it: &AxisKerf) -> Vec<Fault> {
    let mut faults = Vec::new();
    let worst = Side::BOTH
        .into_iter()
        .flat_map(|side| {
            let list = of(points, axis, side);
            let middle = median(list.iter().map(|p| p.kerf).collect());
            list.into_iter().map(move |p| ((p.kerf - middle).abs(), p.place))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, place)| place);
    if it.spread > WIDE.0 + WIDE.1 * it.kerf {
        faults.push(
            Fault::warning(
                "W52",
                format!(
                    "the readings along {axis} scatter by {:.3} mm about a kerf of {:.3} mm",
                    it.spread, it.kerf
                ),
            )
            .at_some(worst)
            .cure("the farthest off is shown: lay the pieces flat, do not press them, and measure again"),
        );
    }
    let apart = (it.outside.mean - it.inside.mean).abs();
    if apart > NEAR.max(4.0 * 2.0 * it.error) {
        faults.push(
            Fault::warning(
                "W52",
                format!(
                    "along {axis} the kerf is {:.3} mm outside and {:.3} mm inside",
                    it.outside.mean, it.inside.mean
                ),
            )
            .at_some(worst)
            .cure("their mean is taken; a leaning cut, a dragging blade or squeezed pieces make them differ"),
        );
    }
    faults
}
