//! The program of a knife: the path of its pivot, or the lines of the tip for a machine that works that out itself.

use super::beam::{chains, lacks, run, within_limit};
use super::free::{free_order, held_order};
use super::ground::Ground;
use super::knife::{Blade, Cutting, KnifeFault, KnifeRuns, Warning, bare, contour, runs};
use super::program::{Level, Program, Role, Run, Step};
use super::{CutPlan, Layer};
use crate::fault::Fault;
use crate::geom::Seg;
use crate::machine::{KnifePlate, Machine};
use crate::material::CutSetting;

/// The program of a knife for a plan.
///
/// # Errors
/// Fault `E57` where a record lacks what it takes, and where the blade cannot follow a line.
pub fn knife_program(
    plan: &CutPlan,
    ground: &Ground,
    setting: &CutSetting,
    machine: &Machine,
) -> Result<Program, Fault> {
    let Some(plate) = &machine.knife else {
        return Err(Fault::error(
            "E57",
            format!("no G-code: {} has no table [knife]", machine.key),
        )
        .at(&machine.place)
        .cure("write [knife] with offset, blade-thickness, safe-height and cut-depth"));
    };
    let Some(feed) = setting.feed else {
        return Err(lacks(plan, setting, "`feed`", "feed = \"20 mm/s\""));
    };
    let mark_feed = setting.mark_feed.unwrap_or(feed);
    within_limit(machine, setting, feed.max(mark_feed))?;
    let plan = match plate.held {
        Some(side) => held_order(plan, side),
        None => free_order(plan),
    };
    let how = Cutting {
        passes: setting.passes,
        feed: feed * 60.0,
        mark_feed: plate.mark_depth.map(|_| mark_feed * 60.0),
    };
    let blade = Blade::of(plate);
    let made = if plate.compensates {
        tip_runs(&plan, &blade, &how)
    } else {
        runs(&plan, ground, &blade, &how, None)
    };
    let KnifeRuns { runs, warnings, left_out } =
        made.map_err(|(address, fault)| cannot(&address, &fault, machine))?;
    let mut told = vec![tool(plate)];
    if left_out > 0 {
        told.push(format!("marks: {left_out} strokes left out, see mark-depth of the record"));
    }
    let warnings = warnings.iter().map(|(address, warning)| doubt(address, warning, machine));
    let warnings = warnings.collect();
    let time = Program::time_of(&runs, machine);
    Ok(Program { plan, runs, time, told, warnings })
}

/// The tool, as a line of the manifest.
fn tool(plate: &KnifePlate) -> String {
    let who = if plate.compensates { "compensated by the machine itself" } else { "pivot led" };
    format!("tool: offset {} mm, {who}", plate.offset)
}

fn cannot(address: &str, fault: &KnifeFault, machine: &Machine) -> Fault {
    let whose = if address.is_empty() { String::new() } else { format!("{address}: ") };
    let cure = match fault {
        KnifeFault::NoLane(_) => "leave a free strip of that length in the waste of the sheet",
        KnifeFault::Narrow(..) => {
            "punch it: a greater smallest-hole of the machine; or take a thinner blade"
        }
        KnifeFault::Blade | KnifeFault::Empty => "look at the figures of [knife]",
    };
    Fault::error("E57", format!("no G-code: {whose}{fault}")).at(&machine.place).cure(cure)
}

fn doubt(address: &str, warning: &Warning, machine: &Machine) -> Fault {
    let cure = match warning {
        Warning::Tight(..) => "it may tear: cut it slowly, or take a blade of less offset",
        Warning::Punch(_) => "raise smallest-hole of the machine, and it is marked for the punch",
        Warning::Astray(..) => "try it on scrap: its first millimetres may be off",
    };
    Fault::warning("W51", format!("{address}: {warning}")).at(&machine.place).cure(cure)
}

/// The lines of the tip themselves, for a machine that compensates: never both.
fn tip_runs(
    plan: &CutPlan,
    blade: &Blade,
    how: &Cutting,
) -> Result<KnifeRuns, (String, KnifeFault)> {
    let mut made = KnifeRuns { runs: Vec::new(), warnings: Vec::new(), left_out: 0 };
    for stroke in plan.strokes.iter().filter(|s| s.layer != Layer::Rule) {
        if matches!(stroke.layer, Layer::Holes | Layer::Edges) {
            let outside = stroke.layer == Layer::Edges;
            let line = bare(&contour(stroke, outside), outside, blade)
                .map_err(|fault| (stroke.address.clone(), fault))?;
            for pass in 1..=how.passes {
                let mut steps = vec![(Role::Contour, Step::Feed(how.feed))];
                steps.extend(line.steps.iter().map(|(role, step)| match step {
                    Step::Level(Level::Cut(_)) => (*role, Step::Level(Level::Cut(pass))),
                    step => (*role, *step),
                }));
                made.runs.push(run(stroke, pass, steps));
            }
        } else if let Some(feed) = how.mark_feed {
            made.runs.push(marked(run(stroke, 1, Vec::new()), &chains(stroke), feed));
        } else {
            made.left_out += 1;
        }
    }
    Ok(made)
}

/// Down, along each chain, and up.
fn marked(run: Run, chains: &[Vec<Seg>], feed: f64) -> Run {
    let mut steps = Vec::new();
    for chain in chains {
        let Some(first) = chain.first() else { continue };
        steps.extend([Step::Rapid(first.a), Step::Feed(feed), Step::Level(Level::Mark)]);
        steps.extend(chain.iter().map(Step::along));
        steps.push(Step::Level(Level::Safe));
    }
    Run { steps: steps.into_iter().map(|step| (Role::Mark, step)).collect(), ..run }
}
