//! From a plan to the runs of a knife: contour by contour, each with the heading that the one before left.

use super::{
    Blade, Clear, KnifeFault, Pivot, UNKNOWN, Warning, pivot_along, pivot_round, sharp_sides,
    sides_of_strip,
};
use crate::geom::{Loop, Point, Rect, Seg, Vec2};
use crate::plan::beam::chains;
use crate::plan::ground::Ground;
use crate::plan::program::{Level, Role, Run, Step};
use crate::plan::{CutPlan, Layer, Stroke};

/// Swivels go at this share of the feed.
///
/// # Source
/// A starting guess of our own.
const SWIVEL: f64 = 0.5;
/// From all else the pivot of a run-in keeps so many offsets.
const APART: f64 = 1.1;
/// A place to bring the blade into line is looked for at so many places across the sheet, either way.
const PLACES: u32 = 60;

/// How a material is cut with a knife.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cutting {
    /// How often along every contour.
    pub passes: u32,
    /// Feed of a cut (mm/min).
    pub feed: f64,
    /// Feed of a mark (mm/min); none: marks are left out.
    pub mark_feed: Option<f64>,
}

/// What a knife does to a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct KnifeRuns {
    /// The runs, in cutting order.
    pub runs: Vec<Run>,
    /// What may be done better, each with the address of its piece.
    pub warnings: Vec<(String, Warning)>,
    /// How many marks were left out.
    pub left_out: usize,
}

/// The runs of a knife for a plan, in its order, with what is to be told of each piece.
///
/// Long thin outlines are cut side by side, the long sides first; all else in one run. A run-in crosses no cut of the
/// plan, no edge, no flaw. Nothing of a piece is cut after its outline, since the plan has its holes before. Where
/// nothing is known of the blade's heading and the first cut has no room for a run-in, the blade is brought into line by a
/// short cut in the waste.
///
/// # Units
/// Millimetres; `last_heading` in degrees, none where nothing is known of the blade.
///
/// # Errors
/// The address of a piece that cannot be cut with this blade, and why.
pub fn runs(
    plan: &CutPlan,
    ground: &Ground,
    blade: &Blade,
    how: &Cutting,
    last_heading: Option<f64>,
) -> Result<KnifeRuns, (String, KnifeFault)> {
    let strokes: Vec<&Stroke> = plan.strokes.iter().filter(|s| s.layer != Layer::Rule).collect();
    let cuts = strokes.iter().filter(|s| is_cut(s));
    let lines: Vec<Cut> = cuts.map(|stroke| Cut::of(stroke)).collect();
    let mut hand = Hand {
        ground,
        blade,
        how,
        lines,
        heading: last_heading,
        made: KnifeRuns { runs: Vec::new(), warnings: Vec::new(), left_out: 0 },
    };
    for stroke in strokes {
        if !is_cut(stroke) {
            hand.mark(stroke)?;
            continue;
        }
        for pass in 1..=how.passes {
            hand.contour(stroke, pass).map_err(|fault| (stroke.address.clone(), fault))?;
        }
    }
    Ok(hand.made)
}

fn is_cut(stroke: &Stroke) -> bool {
    matches!(stroke.layer, Layer::Holes | Layer::Edges) && stroke.is_closed()
}

/// A cut of the plan, to keep clear of.
struct Cut {
    stroke: u32,
    bounds: Rect,
    segs: Vec<(Rect, Seg)>,
}

impl Cut {
    fn of(stroke: &Stroke) -> Cut {
        let segs: Vec<(Rect, Seg)> =
            stroke.segs().into_iter().map(|seg| (seg.bounds(), seg)).collect();
        let bounds = segs.iter().map(|(b, _)| *b).reduce(|a, b| a.union(b));
        Cut { stroke: stroke.number, bounds: bounds.unwrap_or(Rect::ZERO), segs }
    }
}

/// What is to be cut in one go.
enum Line {
    Round(Loop, bool),
    Along(Vec<Seg>),
}

struct Hand<'a> {
    ground: &'a Ground,
    blade: &'a Blade,
    how: &'a Cutting,
    /// Every cut of the plan.
    lines: Vec<Cut>,
    heading: Option<f64>,
    made: KnifeRuns,
}

impl Hand<'_> {
    fn contour(&mut self, stroke: &Stroke, pass: u32) -> Result<(), KnifeFault> {
        let outside = stroke.layer == Layer::Edges;
        let line = contour(stroke, outside);
        let sides = if outside {
            let sides = sides_of_strip(&line)
                .map(|sides| sides.into_iter().map(|side| side.line).collect::<Vec<_>>());
            sides.or_else(|| sharp_sides(&line, self.blade))
        } else {
            None
        };
        let own = stroke.number;
        let lines = match sides {
            Some(sides) => sides.into_iter().map(Line::Along).collect(),
            None => vec![Line::Round(line, outside)],
        };
        for line in &lines {
            let mut before = Vec::new();
            let mut pivot = self.pivot(line, own)?;
            let astray = |w: &Warning| matches!(w, Warning::Astray(..));
            if self.heading.is_none() && pivot.warnings.iter().any(astray) {
                before = self.brought_into_line(Level::Cut(pass))?;
                pivot = self.pivot(line, own)?;
            }
            let told = pivot.warnings.iter().filter(|_| pass == 1);
            self.made.warnings.extend(told.map(|w| (stroke.address.clone(), *w)));
            self.take(stroke, pass, before, pivot, |level| match level {
                Level::Cut(_) => Level::Cut(pass),
                other => other,
            });
        }
        Ok(())
    }

    fn pivot(&self, line: &Line, own: u32) -> Result<Pivot, KnifeFault> {
        let clear: Clear<'_> = &|way: &Seg| self.is_clear(way, own);
        match line {
            Line::Round(line, outside) => {
                pivot_round(line, *outside, self.blade, self.heading, clear)
            }
            Line::Along(line) => pivot_along(line, self.blade, self.heading, clear),
        }
    }

    /// A mark is scored from its first point to its last, without a run-in.
    fn mark(&mut self, stroke: &Stroke) -> Result<(), (String, KnifeFault)> {
        if self.how.mark_feed.is_none() {
            self.made.left_out += 1;
            return Ok(());
        }
        for chain in chains(stroke) {
            let mut before = Vec::new();
            if self.heading.is_none() {
                let found = self.brought_into_line(Level::Mark);
                before = found.map_err(|fault| (stroke.address.clone(), fault))?;
            }
            match pivot_along(&chain, self.blade, self.heading, &|_| false) {
                Ok(pivot) => self.take(stroke, 1, before, pivot, |level| match level {
                    Level::Safe => Level::Safe,
                    _ => Level::Mark,
                }),
                // Too fine for the blade: it stays out.
                Err(_) => self.made.left_out += 1,
            }
        }
        Ok(())
    }

    /// Takes a pivot's steps as a run, with feeds and heights of its own.
    fn take(
        &mut self,
        stroke: &Stroke,
        pass: u32,
        before: Vec<(Role, Step)>,
        pivot: Pivot,
        height: impl Fn(Level) -> Level,
    ) {
        let marks = !is_cut(stroke);
        let feed = self.how.mark_feed.filter(|_| marks).unwrap_or(self.how.feed);
        self.heading = Some(pivot.heading);
        let first = if marks && before.is_empty() { Role::Mark } else { Role::Lead };
        let mut steps = vec![(first, Step::Feed(feed))];
        steps.extend(before);
        for (role, step) in pivot.steps {
            // A mark has no run-in: what it does is the mark.
            let role = if marks { Role::Mark } else { role };
            match step {
                Step::Level(level) => steps.push((role, Step::Level(height(level)))),
                Step::Swivel(..) => steps.extend([
                    (role, Step::Feed(SWIVEL * feed)),
                    (role, step),
                    (role, Step::Feed(feed)),
                ]),
                step => steps.push((role, step)),
            }
        }
        self.made.runs.push(Run {
            stroke: stroke.number,
            layer: stroke.layer,
            address: stroke.address.clone(),
            pass,
            steps,
        });
    }

    /// Whether a way keeps clear of every other cut, of the sheet's edge and of what lies round.
    fn is_clear(&self, way: &Seg, own: u32) -> bool {
        let apart = APART * self.blade.offset;
        let room = way.bounds().inflate(apart, apart);
        let clear_of = |cut: &Cut| {
            cut.stroke == own
                || !cut.bounds.overlaps(room)
                || cut.segs.iter().all(|(b, seg)| !b.overlaps(room) || seg.distance(way).0 > apart)
        };
        self.lines.iter().all(clear_of) && self.ground.is_beside(way, apart)
    }

    /// A straight cut in the waste, long enough to bring a blade into line of which nothing is known.
    fn brought_into_line(&mut self, level: Level) -> Result<Vec<(Role, Step)>, KnifeFault> {
        let long = self.blade.alignment(UNKNOWN, self.blade.aligned());
        let Some(way) = self.lane(long) else { return Err(KnifeFault::NoLane(long)) };
        self.heading = Some((way.b - way.a).atan2().to_degrees());
        let steps =
            [Step::Rapid(way.a), Step::Level(level), Step::Line(way.b), Step::Level(Level::Safe)];
        Ok(steps.map(|step| (Role::Lead, step)).to_vec())
    }

    /// The first straight way of a length that lies free in the waste, from the left and the front.
    fn lane(&self, long: f64) -> Option<Seg> {
        let whole = self.lines.iter().map(|cut| cut.bounds).reduce(|a, b| a.union(b))?;
        let whole = whole.inflate(4.0 * long, 4.0 * long);
        let (across, up) = (whole.width() / f64::from(PLACES), whole.height() / f64::from(PLACES));
        let places = (0..=PLACES).flat_map(|i| (0..=PLACES).map(move |j| (i, j)));
        let ways = [(1.0, 0.0), (0.0, 1.0), (0.6, 0.8), (0.8, -0.6)].map(Vec2::from);
        places
            .map(|(i, j)| {
                Point::new(whole.x0 + across * f64::from(i), whole.y0 + up * f64::from(j))
            })
            .flat_map(|at| ways.map(|way| Seg::line(at, at + way * long)))
            .find(|way| self.is_clear(way, 0) && self.ground.is_waste(way.a))
    }
}

/// The line of a stroke, counter-clockwise as all loops are: holes are drawn the other way round.
pub(in crate::plan) fn contour(stroke: &Stroke, outside: bool) -> Loop {
    if let Some((center, radius)) = stroke.circle() {
        return Loop::Circle(center, radius);
    }
    let segs = stroke.segs();
    if outside {
        return Loop::Chain(segs);
    }
    Loop::Chain(segs.iter().rev().map(Seg::reversed).collect())
}
