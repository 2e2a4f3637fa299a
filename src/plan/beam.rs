//! The program of a laser: leads in the waste, tabs, passes, time to cool.
//!
//! The beam is lit only between two steps that move it: power goes to nothing before every way in the air and every
//! wait. Outlines run counter-clockwise and holes clockwise, so the waste is always on the right.

use super::free::{cuts, free_order, reordered};
use super::ground::Ground;
use super::heat::{Cooling, spread};
use super::order::Stop;
use super::path::Path;
use super::program::{Clock, Program, Role, Run, Step};
use super::{CutPlan, Layer, Stroke};
use crate::fault::Fault;
use crate::geom::{Point, Rect, Seg, Vec2};
use crate::machine::Machine;
use crate::material::{CutSetting, Heat};

/// Radii of leads (mm), the first that has room is taken.
///
/// # Source
/// Starting guesses of our own.
const LEADS: [f64; 6] = [2.0, 1.4, 1.0, 0.7, 0.5, 0.3];
/// A lead is at least so many cuts wide, and a hole with a smaller radius, in cuts, has none.
///
/// # Source
/// Starting guesses of our own.
const LEAST_LEAD: f64 = 1.5;
/// See [`LEAST_LEAD`].
const LEAST_HOLE: f64 = 3.0;
/// The length of a lead is at most this share of the hole's radius.
const LEAD_IN_HOLE: f64 = 0.4;
/// So many starts are tried round a contour.
const STARTS: u32 = 24;
/// Between two tabs lies about this much of the contour (mm).
///
/// # Source
/// A starting guess of our own.
const BETWEEN_TABS: f64 = 120.0;
/// A contour has at least so many tabs, or none.
const LEAST_TABS: f64 = 2.0;
/// And is at least so many times as long as all their gaps.
const ROOM_FOR_TABS: f64 = 4.0;
/// Tangent of an eighth of half a turn: the bulge of a quarter turn.
const QUARTER: f64 = 0.414_213_562_373_095;

/// The program of a laser for a plan.
///
/// # Errors
/// Fault `E57` where the material's record has no power or feed, or a feed beyond the machine's.
pub fn beam_program(
    plan: &CutPlan,
    ground: &Ground,
    setting: &CutSetting,
    machine: &Machine,
) -> Result<Program, Fault> {
    let (Some(power), Some(feed)) = (setting.power, setting.feed) else {
        return Err(lacks(
            plan,
            setting,
            "`power` and `feed`",
            "power = \"80 %\" and feed = \"5 mm/s\"",
        ));
    };
    let mark = setting.mark_power.map(|power| (power, setting.mark_feed.unwrap_or(feed)));
    within_limit(machine, setting, mark.map_or(feed, |(_, own)| own.max(feed)))?;
    let plan = in_turn(plan, setting, feed, machine);
    let mut made = Made { runs: Vec::new(), led: 0, bare: Vec::new(), tabs: 0, tabbed: 0 };
    let mut left_out = 0;
    for stroke in plan.strokes.iter().filter(|s| s.layer != Layer::Rule) {
        if matches!(stroke.layer, Layer::Holes | Layer::Edges) {
            made.contour(&plan, ground, setting, stroke, (power, feed * 60.0));
        } else if let Some((power, feed)) = mark {
            made.runs.push(run(stroke, 1, marked(stroke, power, feed * 60.0)));
        } else {
            left_out += 1;
        }
    }
    let travel = machine.limits().travel_speed;
    let mut told = made.told(setting);
    if let Some(heat) = setting.heat {
        told.push(cooled(&mut made.runs, heat, travel));
    }
    if left_out > 0 {
        told.push(format!("marks: {left_out} strokes left out, the record has no mark-power"));
    }
    let time = Program::time_of(&made.runs, machine);
    Ok(Program { plan, runs: made.runs, time, told, warnings: Vec::new() })
}

/// The plan in the order of its program: the shortest way, or one that gives the heat of near cuts time.
fn in_turn(plan: &CutPlan, setting: &CutSetting, feed: f64, machine: &Machine) -> CutPlan {
    let Some(heat) = setting.heat else { return free_order(plan) };
    let cuts = cuts(plan);
    let stops: Vec<Stop> = cuts.iter().map(|(_, stop)| stop.clone()).collect();
    let cooling = Cooling { reach: heat.reach, least: heat.least_gap_time };
    let passes = f64::from(setting.passes);
    let cut = |i: usize| stops[i].line.length() * passes / feed;
    let travel = machine.limits().travel_speed;
    let found = spread(&stops, Point::ORIGIN, &cooling, &cut, &|way| way / travel);
    let turns: Vec<(usize, Point)> =
        found.order.into_iter().map(|(i, start)| (cuts[i].0, start)).collect();
    reordered(plan, &turns)
}

/// What a record must have before there is a program.
pub(super) fn lacks(plan: &CutPlan, setting: &CutSetting, what: &str, example: &str) -> Fault {
    Fault::error(
        "E57",
        format!("no G-code: how {} is cut on {} has no {what}", plan.material, plan.machine),
    )
    .at(&setting.place)
    .cure(format!("try on scrap of the very stuff, then write for example {example}"))
}

/// No feed beyond what the machine's record allows.
pub(super) fn within_limit(
    machine: &Machine,
    setting: &CutSetting,
    feed: f64,
) -> Result<(), Fault> {
    match machine.motion {
        Some(limits) if feed > limits.feed_limit + 1e-9 => Err(Fault::error(
            "E57",
            format!(
                "no G-code: a feed of {feed} mm/s is beyond the {} mm/s of {}",
                limits.feed_limit, machine.key
            ),
        )
        .at(&setting.place)
        .cure("feed it slower, or look at the machine's `feed-limit`")),
        _ => Ok(()),
    }
}

/// A run of a stroke.
pub(super) fn run(stroke: &Stroke, pass: u32, steps: Vec<(Role, Step)>) -> Run {
    let (layer, address) = (stroke.layer, stroke.address.clone());
    Run { stroke: stroke.number, layer, address, pass, steps }
}

/// The chains of a stroke, broken where the tool goes through the air.
pub(super) fn chains(stroke: &Stroke) -> Vec<Vec<Seg>> {
    let mut chains: Vec<Vec<Seg>> = Vec::new();
    for seg in stroke.segs() {
        match chains.last_mut() {
            Some(chain) if chain.last().is_some_and(|last| last.b == seg.a) => chain.push(seg),
            _ => chains.push(vec![seg]),
        }
    }
    chains
}

/// Every chain of a mark, with little power.
fn marked(stroke: &Stroke, power: f64, feed: f64) -> Vec<(Role, Step)> {
    let mut steps = Vec::new();
    for chain in chains(stroke) {
        let Some(first) = chain.first() else { continue };
        steps.extend([
            Step::Power(0.0),
            Step::Rapid(first.a),
            Step::Feed(feed),
            Step::Power(power),
        ]);
        steps.extend(chain.iter().map(Step::along));
        steps.push(Step::Power(0.0));
    }
    steps.into_iter().map(|step| (Role::Mark, step)).collect()
}

/// A way in and a way out.
type Leads = (Seg, Seg);

struct Made {
    runs: Vec<Run>,
    /// Contours with leads, and the strokes of those without.
    led: usize,
    bare: Vec<u32>,
    /// Tabs, and the contours that have some.
    tabs: usize,
    tabbed: usize,
}

impl Made {
    fn contour(
        &mut self,
        plan: &CutPlan,
        ground: &Ground,
        setting: &CutSetting,
        stroke: &Stroke,
        (power, feed): (f64, f64),
    ) {
        let kerf = plan.kerf.0.max(plan.kerf.1);
        let path = Path::new(stroke.segs());
        let found = leads(&path, ground, stroke.layer == Layer::Holes, kerf);
        match &found {
            Some(_) => self.led += 1,
            None => self.bare.push(stroke.number),
        }
        let (path, leads) = found.map_or((path, None), |(path, leads)| (path, Some(leads)));
        let wants = setting.tabs > 0.0
            && stroke.layer == Layer::Edges
            && (setting.tabs_on_soft || !ground.is_soft(&stroke.address));
        let gaps = if wants { gaps(&path, setting.tabs + kerf) } else { Vec::new() };
        self.tabs += gaps.len();
        self.tabbed += usize::from(!gaps.is_empty());
        for pass in 1..=setting.passes {
            let leads = leads.as_ref().filter(|_| pass == 1);
            let steps = pass_steps(&path, leads, &gaps, power, feed);
            self.runs.push(run(stroke, pass, steps));
        }
    }

    /// Leads and tabs, as lines of the manifest.
    fn told(&self, setting: &CutSetting) -> Vec<String> {
        let bare: Vec<String> = self.bare.iter().map(u32::to_string).collect();
        let without = if bare.is_empty() { "none".to_owned() } else { bare.join(" ") };
        let tabs = if setting.tabs > 0.0 {
            format!("tabs: {} of {} mm on {} outlines", self.tabs, setting.tabs, self.tabbed)
        } else {
            "tabs: none".to_owned()
        };
        vec![format!("leads: on {} contours; strokes without {without}", self.led), tabs]
    }
}

/// One pass along a contour.
fn pass_steps(
    path: &Path,
    leads: Option<&Leads>,
    gaps: &[(f64, f64)],
    power: f64,
    feed: f64,
) -> Vec<(Role, Step)> {
    let Some((start, ..)) = path.start() else { return Vec::new() };
    let role = if leads.is_some() { Role::Lead } else { Role::Contour };
    let from = leads.map_or(start, |(lead, _)| lead.a);
    let mut steps = vec![
        (role, Step::Power(0.0)),
        (role, Step::Rapid(from)),
        (role, Step::Feed(feed)),
        (role, Step::Power(power)),
    ];
    steps.extend(leads.map(|(lead, _)| (Role::Lead, Step::along(lead))));
    let mut at = 0.0;
    for (begins, ends) in gaps {
        let stretch = path.between(at, *begins);
        steps.extend(stretch.iter().map(|seg| (Role::Contour, Step::along(seg))));
        if let Some(over) = path.between(*begins, *ends).last() {
            steps.push((Role::Tab, Step::Power(0.0)));
            steps.push((Role::Tab, Step::Rapid(over.b)));
            steps.push((Role::Contour, Step::Power(power)));
        }
        at = *ends;
    }
    let rest = if at > 0.0 { path.between(at, path.length()) } else { path.segs().to_vec() };
    steps.extend(rest.iter().map(|seg| (Role::Contour, Step::along(seg))));
    steps.extend(leads.map(|(_, lead)| (Role::Lead, Step::along(lead))));
    let last = if leads.is_some() { Role::Lead } else { Role::Contour };
    steps.push((last, Step::Power(0.0)));
    steps
}

/// The contour from the first start that has room for leads, with them: first clear of all other cuts, else at least of all
/// pieces; none where there is no such start.
fn leads(path: &Path, ground: &Ground, hole: bool, kerf: f64) -> Option<(Path, Leads)> {
    let bounds = path.segs().iter().map(Seg::bounds).reduce(|a, b| a.union(b))?;
    let most = if hole {
        let radius = bounds.width().min(bounds.height()) / 2.0;
        if radius < LEAST_HOLE * kerf {
            return None;
        }
        // A quarter turn is longer than its radius.
        LEAD_IN_HOLE * radius / std::f64::consts::FRAC_PI_2
    } else {
        f64::INFINITY
    };
    let wide = LEADS[0] + 2.0 * kerf;
    let lines = ground.near(bounds.inflate(wide, wide));
    let radii: Vec<f64> = std::iter::once(most)
        .chain(LEADS)
        .filter(|r| *r <= most && *r <= LEADS[0] && *r >= LEAST_LEAD * kerf)
        .collect();
    let found = |aside: bool| {
        starts().find_map(|share| {
            let path = path.from(share * path.length());
            let (at, out, arrived) = path.start()?;
            radii.iter().find_map(|r| {
                let to_right = |way: Vec2| Vec2::new(way.y, -way.x);
                let way_in = Seg::arc(at + (to_right(out) - out) * *r, at, -QUARTER);
                let way_out = Seg::arc(at, at + (to_right(arrived) + arrived) * *r, -QUARTER);
                ground
                    .is_clear(&[way_in, way_out], at, &lines, aside)
                    .then(|| (path.clone(), (way_in, way_out)))
            })
        })
    };
    found(true).or_else(|| found(false))
}

/// Starts to be tried, as shares of the length: the plan's own, then to both sides of it.
fn starts() -> impl Iterator<Item = f64> {
    let n = f64::from(STARTS);
    (0..STARTS).map(move |i| {
        let step = f64::from(i.div_ceil(2)) / n;
        if i % 2 == 0 && i > 0 { 1.0 - step } else { step }
    })
}

/// Where tabs leave the contour uncut: equal ways apart, shifted together to where it turns least.
fn gaps(path: &Path, gap: f64) -> Vec<(f64, f64)> {
    const SHIFTS: u32 = 32;
    let length = path.length();
    let count = (length / BETWEEN_TABS).round().max(LEAST_TABS);
    if length < ROOM_FOR_TABS * count * gap {
        return Vec::new();
    }
    let each = length / count;
    let room = each - gap;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few tabs")]
    let count = count as u32;
    let at = |shift: u32| -> Vec<(f64, f64)> {
        // From the middle to both sides, clear of the start.
        let side = if shift.is_multiple_of(2) { 1.0 } else { -1.0 };
        let off = room * (0.5 + side * 0.45 * f64::from(shift.div_ceil(2)) / f64::from(SHIFTS / 2));
        (0..count).map(|k| each * f64::from(k) + off).map(|s| (s, s + gap)).collect()
    };
    let sharpest = |gaps: &[(f64, f64)]| {
        gaps.iter().map(|(from, to)| path.sharpness(*from, *to)).fold(0.0, f64::max)
    };
    let mut best = (f64::INFINITY, at(0));
    for shift in 0..SHIFTS {
        let gaps = at(shift);
        let sharp = sharpest(&gaps);
        if sharp < best.0 - 1e-9 {
            best = (sharp, gaps);
        }
    }
    best.1
}

/// Puts waits before cuts that would come too soon after one near them; tells the least time that is left.
fn cooled(runs: &mut [Run], heat: Heat, travel: f64) -> String {
    let boxes: Vec<Option<(Rect, Vec<Seg>)>> = runs.iter().map(burnt).collect();
    let near = |i: usize, j: usize| match (&boxes[i], &boxes[j]) {
        (Some((b, one)), Some((c, two))) => {
            runs_near(b.inflate(heat.reach, heat.reach).overlaps(*c), one, two, heat.reach)
        }
        _ => false,
    };
    // For each run the earlier runs of other strokes that lie near.
    let neighbours: Vec<Vec<usize>> = (0..runs.len())
        .map(|i| (0..i).filter(|j| runs[*j].stroke != runs[i].stroke && near(i, *j)).collect())
        .collect();
    let mut clock = Clock::new(travel);
    let mut now = 0.0;
    let mut ends = vec![0.0; runs.len()];
    let (mut least, mut waits, mut waited) = (f64::INFINITY, 0, 0.0);
    for i in 0..runs.len() {
        let mut ahead = clock;
        let lit = |(_, step): &&(Role, Step)| !matches!(step, Step::Line(_) | Step::Arc(..));
        let way: f64 = runs[i].steps.iter().take_while(lit).map(|(_, step)| ahead.step(step)).sum();
        let since =
            neighbours[i].iter().map(|j| now + way - ends[*j]).fold(f64::INFINITY, f64::min);
        // Written to a thousandth of a second, and never less than is wanted.
        let wait = ((heat.least_gap_time - since) * 1000.0).ceil() / 1000.0;
        if wait > 0.0 {
            let role = runs[i].steps.first().map_or(Role::Contour, |(role, _)| *role);
            runs[i].steps.splice(0..0, [(role, Step::Power(0.0)), (role, Step::Wait(wait))]);
            waits += 1;
            waited += wait;
        }
        least = least.min(since + wait.max(0.0));
        now += runs[i].steps.iter().map(|(_, step)| clock.step(step)).sum::<f64>();
        ends[i] = now;
    }
    let told = if least.is_finite() { format!("{least:.1} s") } else { "none near".to_owned() };
    format!(
        "heat: least time between cuts within {} mm {told}; waits {waits}, {waited:.1} s in all",
        heat.reach
    )
}

fn runs_near(boxes: bool, one: &[Seg], two: &[Seg], reach: f64) -> bool {
    boxes
        && one.iter().any(|s| {
            let b = s.bounds().inflate(reach, reach);
            two.iter().any(|t| b.overlaps(t.bounds()) && s.distance(t).0 <= reach)
        })
}

/// The cuts of a run with the box round them; none for a mark.
fn burnt(run: &Run) -> Option<(Rect, Vec<Seg>)> {
    let mut at = Point::ORIGIN;
    let mut segs = Vec::new();
    for (role, step) in &run.steps {
        if let Some((seg, cuts)) = step.path(at) {
            if cuts && *role != Role::Mark {
                segs.push(seg);
            }
            at = seg.b;
        }
    }
    let bounds = segs.iter().map(Seg::bounds).reduce(|a, b| a.union(b))?;
    Some((bounds, segs))
}

#[cfg(test)]
mod tests;
