//! The path of a knife's pivot, so that the tip of the trailing blade follows the line of the cut.
//!
//! The tip lags behind the pivot by the blade's offset d. While the tip follows a curve with the unit tangent t, the
//! pivot is at P = C + d t: a line is shifted along itself, an arc becomes an arc of the same sweep about the same
//! centre, and at a corner the pivot goes round the corner in an arc of radius d while the tip stands still.
//!
//! Everywhere the part lies on the left and the waste on the right: outlines run counter-clockwise, holes clockwise.
//!
//! # Source
//! The tractrix as a plane curve: E. H. Lockwood, A Book of Curves, 1961. The rest follows from it and is tested
//! against a simulation.

use super::program::{Level, Role, Step};
use crate::geom::{Loop, Point, Seg, Vec2, tolerance};
use crate::machine::KnifePlate;
use std::f64::consts::{E, PI};
use std::fmt;

mod entry;
mod runs;
mod strip;
pub(super) use runs::contour;
pub use runs::{Cutting, KnifeRuns, runs};
use strip::sharp_sides;
pub use strip::{Side, sides_of_strip};

use entry::{Entry, Start};

/// Errors of heading that count as opposite to the way of travel (degrees): nothing more is known of a blade that has
/// not cut yet.
const UNKNOWN: f64 = 179.0;
/// A run-in ends so much nearer to the line than the tip must keep to it.
const RUN_IN_SHARE: f64 = 0.25;
/// Holes narrower than so many offsets are better punched: a starting guess.
const PUNCH_BELOW: f64 = 2.0;

/// A trailing blade and how it is to be led.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blade {
    /// How far the tip lags behind the pivot (mm).
    pub offset: f64,
    /// How far the tip may stand off its line (mm).
    pub tip_tolerance: f64,
    /// How far a closed cut runs on past its start, and an open one past its end (mm).
    pub overcut: f64,
    /// Least straight run in the waste before a cut, in offsets.
    pub run_in: f64,
    /// Corners that turn by more are turned at swivel height (degrees).
    pub lift_over: f64,
    /// Thickness of the blade (mm); 0 where it is not known.
    pub thickness: f64,
    /// Whether it can be raised a little to turn. Else it comes to sharp corners anew, out of the waste.
    pub shallow: bool,
}

impl Blade {
    /// A blade of some offset (mm), all else starting guesses.
    pub fn new(offset: f64) -> Blade {
        Blade {
            offset,
            tip_tolerance: 0.02,
            overcut: (2.0 * offset).max(0.5),
            run_in: 5.0,
            lift_over: 120.0,
            thickness: 0.0,
            shallow: true,
        }
    }

    /// The blade of a machine's record.
    pub fn of(plate: &KnifePlate) -> Blade {
        Blade {
            tip_tolerance: plate.tip_tolerance,
            overcut: plate.overcut,
            lift_over: plate.lift_over,
            thickness: plate.blade_thickness,
            shallow: plate.swivel_height.is_some(),
            ..Blade::new(plate.offset)
        }
    }

    /// Corners that turn by less need no swivel (degrees): without one the tip strays by offset x turn / e.
    pub fn swivel_from(&self) -> f64 {
        (E * self.tip_tolerance / self.offset).to_degrees().min(180.0)
    }

    /// Straight run that brings an error of heading down to another (mm, from degrees).
    ///
    /// # Source
    /// Tractrix: tan(error / 2) falls by e over each offset of way.
    pub fn alignment(&self, from: f64, to: f64) -> f64 {
        let half = |degrees: f64| (degrees.abs().to_radians() / 2.0).tan();
        (self.offset * (half(from) / half(to)).ln()).max(0.0)
    }

    /// Error of heading that is left of another after a straight run (degrees, from degrees and mm).
    pub fn astray(&self, from: f64, run: f64) -> f64 {
        let half = (from.abs().to_radians() / 2.0).tan() * (-run / self.offset).exp();
        2.0 * half.atan().to_degrees()
    }

    /// Error of heading with which a cut may begin (degrees).
    fn aligned(&self) -> f64 {
        (RUN_IN_SHARE * self.tip_tolerance / self.offset).min(1.0).asin().to_degrees()
    }

    fn check(&self) -> Result<(), KnifeFault> {
        let positive = [self.offset, self.tip_tolerance];
        let others = [self.overcut, self.run_in, self.lift_over, self.thickness];
        let good = positive.iter().all(|x| x.is_finite() && *x > 0.0)
            && others.iter().all(|x| x.is_finite() && *x >= 0.0);
        if good { Ok(()) } else { Err(KnifeFault::Blade) }
    }
}

/// What may be done better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Warning {
    /// An arc narrower than the offset: radius (mm) and where.
    Tight(f64, Point),
    /// A hole so narrow that a punch is better: width (mm).
    Punch(f64),
    /// No room to align the blade before the cut: it may be astray by so much (degrees), where the cut begins.
    Astray(f64, Point),
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Warning::Tight(radius, at) => write!(
                f,
                "an arc of radius {radius:.3} mm near x {:.3} y {:.3} mm is narrower than the blade's offset",
                at.x, at.y
            ),
            Warning::Punch(width) => {
                write!(f, "a hole of {width:.3} mm is better punched than cut with this knife")
            }
            Warning::Astray(degrees, at) => write!(
                f,
                "no room near x {:.3} y {:.3} mm to align the blade: it may be astray by {degrees:.0} degrees",
                at.x, at.y
            ),
        }
    }
}

/// Why a line cannot be cut with a knife.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum KnifeFault {
    /// A figure of the blade is not a number, negative, or an offset or tolerance of nothing.
    Blade,
    /// There is no line.
    Empty,
    /// An arc is narrower than the blade is thick: radius (mm) and where.
    Narrow(f64, Point),
    /// Nowhere in the waste is there room for a straight cut of this length (mm), to bring the blade into line.
    NoLane(f64),
}

impl fmt::Display for KnifeFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            KnifeFault::Blade => f.write_str("a figure of the blade makes no sense"),
            KnifeFault::Empty => f.write_str("there is no line to cut"),
            KnifeFault::Narrow(radius, at) => write!(
                f,
                "an arc of radius {radius:.3} mm near x {:.3} y {:.3} mm is narrower than the blade is thick",
                at.x, at.y
            ),
            KnifeFault::NoLane(length) => write!(
                f,
                "nowhere in the waste is there room for a straight cut of {length:.1} mm that brings the blade into line"
            ),
        }
    }
}

impl std::error::Error for KnifeFault {}

/// The steps of a pivot.
#[derive(Debug, Clone, PartialEq)]
pub struct Pivot {
    /// The steps, each with what it is for, from a rapid at safe height until the knife is up again.
    pub steps: Vec<(Role, Step)>,
    /// Heading of the blade at the end (degrees, counter-clockwise from the x axis).
    pub heading: f64,
    /// What may be done better.
    pub warnings: Vec<Warning>,
}

/// Whether a straight way of the tip lies in waste that the line itself does not tell of: clear of other parts, on the
/// sheet.
pub type Clear<'a> = &'a dyn Fn(&Seg) -> bool;

/// The pivot path round an outline, which the tip follows counter-clockwise.
///
/// `last_heading` is the heading of the blade after the cut before (degrees), where there was one: a passive blade
/// does not turn in the air.
///
/// # Units
/// Millimetres and degrees.
///
/// # Errors
/// A blade whose figures make no sense; an arc narrower than the blade is thick.
pub fn pivot(
    contour: &Loop,
    blade: &Blade,
    last_heading: Option<f64>,
) -> Result<Pivot, KnifeFault> {
    pivot_round(contour, true, blade, last_heading, &|_| true)
}

/// The pivot path round an outline, or clockwise round a hole; `clear` says where the run-in may lie.
///
/// # Units
/// Millimetres and degrees.
///
/// # Errors
/// As [`pivot`].
pub fn pivot_round(
    contour: &Loop,
    outside: bool,
    blade: &Blade,
    last_heading: Option<f64>,
    clear: Clear<'_>,
) -> Result<Pivot, KnifeFault> {
    let segs = if outside { contour.segs() } else { contour.backward() };
    let mut warnings = checked(&segs, blade)?;
    if !outside {
        let bounds = contour.bounds();
        let width = bounds.width().min(bounds.height());
        if width < PUNCH_BELOW * blade.offset {
            warnings.push(Warning::Punch(width));
        }
    }
    let around = Some((contour, outside));
    let starts = entry::starts(&segs, blade);
    let entry = entry::find(&segs, &starts, around, blade, last_heading, clear);
    let turned = from_start(&segs, entry.start);
    let mut trace = Trace::begin(blade, &entry, last_heading, &mut warnings);
    trace.follow(Role::Contour, &turned);
    trace.follow(Role::Overcut, &up_to(&turned, blade.overcut));
    Ok(trace.end(warnings))
}

/// The pivot path along an open line, with a straight overcut at its end.
///
/// # Units
/// Millimetres and degrees.
///
/// # Errors
/// As [`pivot`], and a line without pieces.
pub fn pivot_along(
    line: &[Seg],
    blade: &Blade,
    last_heading: Option<f64>,
    clear: Clear<'_>,
) -> Result<Pivot, KnifeFault> {
    let mut warnings = checked(line, blade)?;
    let Some(last) = line.last() else { return Err(KnifeFault::Empty) };
    let starts = [Start { seg: 0, share: 0.0 }];
    let entry = entry::find(line, &starts, None, blade, last_heading, clear);
    let mut trace = Trace::begin(blade, &entry, last_heading, &mut warnings);
    trace.follow(Role::Contour, line);
    // Straight on into the waste, as far as there is room.
    let beyond =
        |share: f64| Seg::line(last.b, last.b + last.direction(1.0) * (blade.overcut * share));
    let room = [1.0, 0.5, 0.25].map(beyond).into_iter().find(|way| clear(way));
    if let Some(way) = room.filter(|way| way.length() > tolerance::WRITTEN) {
        trace.follow(Role::Overcut, &[way]);
    }
    Ok(trace.end(warnings))
}

/// The contour itself with its overcut, for a machine that leads its blade by its own sums: never both.
///
/// # Units
/// Millimetres and degrees.
///
/// # Errors
/// A blade whose figures make no sense.
pub fn bare(contour: &Loop, outside: bool, blade: &Blade) -> Result<Pivot, KnifeFault> {
    blade.check()?;
    let segs = if outside { contour.segs() } else { contour.backward() };
    let Some(start) = entry::starts(&segs, blade).first().copied() else {
        return Err(KnifeFault::Empty);
    };
    let turned = from_start(&segs, start);
    let Some(first) = turned.first() else { return Err(KnifeFault::Empty) };
    let mut steps =
        vec![(Role::Contour, Step::Rapid(first.a)), (Role::Contour, Step::Level(Level::Cut(1)))];
    let mut heading = first.direction(0.0);
    let over = up_to(&turned, blade.overcut);
    for (role, segs) in [(Role::Contour, &turned), (Role::Overcut, &over)] {
        for seg in segs {
            steps.push((role, cutting(seg)));
            heading = seg.direction(1.0);
        }
    }
    steps.push((Role::Overcut, Step::Level(Level::Safe)));
    Ok(Pivot { steps, heading: degrees(heading), warnings: Vec::new() })
}

/// The path that the pivot takes while the tip follows a piece: the same sweep about the same centre.
pub fn pivot_seg(tip: &Seg, offset: f64) -> Seg {
    Seg::arc(tip.a + tip.direction(0.0) * offset, tip.b + tip.direction(1.0) * offset, tip.bulge)
}

/// Looks at the blade and at every arc.
fn checked(segs: &[Seg], blade: &Blade) -> Result<Vec<Warning>, KnifeFault> {
    blade.check()?;
    // An arc that turns less than a corner which needs no swivel is no harder to follow than that corner.
    let turning = blade.swivel_from().to_radians();
    let tightest = segs
        .iter()
        .filter(|s| !s.is_line() && s.sweep().abs() > turning)
        .min_by(|a, b| a.radius().total_cmp(&b.radius()));
    match tightest {
        Some(arc) if arc.radius() < blade.thickness => {
            Err(KnifeFault::Narrow(arc.radius(), arc.at(0.5)))
        }
        Some(arc) if arc.radius() < blade.offset => {
            Ok(vec![Warning::Tight(arc.radius(), arc.at(0.5))])
        }
        _ => Ok(Vec::new()),
    }
}

fn cutting(seg: &Seg) -> Step {
    if seg.is_line() { Step::Line(seg.b) } else { Step::Arc(seg.b, seg.bulge) }
}

fn degrees(way: Vec2) -> f64 {
    way.atan2().to_degrees()
}

/// A piece from one share of its length to another.
fn part_of(seg: &Seg, from: f64, to: f64) -> Seg {
    if seg.is_line() {
        return Seg::line(seg.at(from), seg.at(to));
    }
    Seg::arc(seg.at(from), seg.at(to), (seg.bulge.atan() * (to - from)).tan())
}

/// A closed line from a start on it and round to there again.
fn from_start(segs: &[Seg], start: Start) -> Vec<Seg> {
    let mut turned = segs.to_vec();
    turned.rotate_left(start.seg.min(segs.len()));
    if start.share > 0.0 && start.share < 1.0 {
        let first = turned[0];
        turned[0] = part_of(&first, start.share, 1.0);
        turned.push(part_of(&first, 0.0, start.share));
    }
    turned
}

/// The beginning of a line, up to a length.
fn up_to(segs: &[Seg], length: f64) -> Vec<Seg> {
    let mut left = length;
    let mut taken = Vec::new();
    for seg in segs {
        if left <= tolerance::WRITTEN {
            break;
        }
        let long = seg.length();
        taken.push(if long <= left { *seg } else { part_of(seg, 0.0, left / long) });
        left -= long;
    }
    taken
}

/// Writes the pivot's steps down while the tip goes its way.
struct Trace<'a> {
    blade: &'a Blade,
    /// Where the tip is.
    tip: Point,
    /// Where the blade points.
    way: Vec2,
    steps: Vec<(Role, Step)>,
}

impl<'a> Trace<'a> {
    /// The way in: down at the start of the run-in, turned from the heading before, and straight to the cut's start.
    fn begin(
        blade: &'a Blade,
        entry: &Entry,
        last_heading: Option<f64>,
        warnings: &mut Vec<Warning>,
    ) -> Trace<'a> {
        let last_heading = last_heading.filter(|_| !entry.dragged);
        let way = last_heading.map_or(entry.way, |at| Vec2::from_angle(at.to_radians()));
        let tip = entry.at - entry.way * entry.run;
        let first = tip + way * blade.offset;
        let mut trace = Trace { blade, tip, way, steps: vec![(Role::Lead, Step::Rapid(first))] };
        let turn = angle(way, entry.way);
        if entry.run > 0.0 {
            if turn.abs() > blade.lift_over.to_radians() {
                // Turned where it is first set down, so that it never stands deeper than it must.
                trace.level(Role::Lead, Level::Swivel);
                trace.swing(Role::Lead, entry.way, turn);
                trace.level(Role::Lead, Level::Cut(1));
            } else {
                trace.level(Role::Lead, Level::Cut(1));
                trace.turn(Role::Lead, entry.way);
            }
            trace.follow(Role::Lead, &[Seg::line(tip, entry.at)]);
            trace.turn(Role::Lead, entry.tangent);
        } else {
            let turn = angle(way, entry.tangent);
            let high = turn.abs() > blade.lift_over.to_radians();
            trace.level(Role::Lead, if high { Level::Swivel } else { Level::Cut(1) });
            trace.swing(Role::Lead, entry.tangent, turn);
            if high {
                trace.level(Role::Lead, Level::Cut(1));
            }
        }
        if last_heading.is_none() && !entry.dragged {
            let astray = blade.astray(UNKNOWN, entry.run);
            if astray > blade.aligned() + 1e-9 {
                warnings.push(Warning::Astray(astray, entry.at));
            }
        }
        trace
    }

    fn level(&mut self, role: Role, level: Level) {
        self.steps.push((role, Step::Level(level)));
    }

    /// The tip goes along pieces, with what is needed at the corners.
    fn follow(&mut self, role: Role, segs: &[Seg]) {
        for seg in segs {
            self.turn(role, seg.direction(0.0));
            let led = pivot_seg(seg, self.blade.offset);
            self.steps.push((role, cutting(&led)));
            self.tip = seg.b;
            self.way = seg.direction(1.0);
        }
    }

    /// The blade is turned about its tip, where it must be turned at all.
    fn turn(&mut self, role: Role, to: Vec2) {
        let turn = angle(self.way, to);
        if turn.abs() >= self.blade.swivel_from().to_radians() {
            let high = turn.abs() > self.blade.lift_over.to_radians();
            if high {
                self.level(role, Level::Swivel);
            }
            self.swing(role, to, turn);
            if high {
                self.level(role, Level::Cut(1));
            }
            return;
        }
        let shift = (to - self.way) * self.blade.offset;
        if shift.hypot() > tolerance::WRITTEN {
            // The chord of so shallow a swivel: the tip strays by offset x turn³ / 12 and no more.
            self.steps.push((role, Step::Line(self.tip + to * self.blade.offset)));
            self.way = to;
        }
    }

    /// The pivot goes round the tip.
    fn swing(&mut self, role: Role, to: Vec2, turn: f64) {
        if turn.abs() * self.blade.offset > tolerance::WRITTEN {
            let bulge = (turn / 4.0).tan().clamp(-1.0, 1.0);
            self.steps.push((role, Step::Swivel(self.tip + to * self.blade.offset, bulge)));
        }
        self.way = to;
    }

    fn end(mut self, warnings: Vec<Warning>) -> Pivot {
        let role = self.steps.last().map_or(Role::Contour, |(role, _)| *role);
        self.level(role, Level::Safe);
        Pivot { steps: self.steps, heading: degrees(self.way), warnings }
    }
}

/// The turn from one way to another, the short way, in radians; straight back is over the waste, to the right.
fn angle(from: Vec2, to: Vec2) -> f64 {
    let turn = from.cross(to).atan2(from.dot(to));
    if turn.abs() > PI - 1e-9 { -PI } else { turn }
}

#[cfg(test)]
mod tests;
