//! The program of a knife whose machine works out the path of the pivot itself: the lines of the tip.

use super::beam::{chains, lacks, run, within_limit};
use super::program::{Level, Program, Role, Step};
use super::{CutPlan, Layer};
use crate::fault::Fault;
use crate::geom::Seg;
use crate::machine::Machine;
use crate::material::CutSetting;

/// The program of a knife for a plan.
///
/// # Errors
/// Fault `E57` where a record lacks what it takes, and for a machine that does not compensate for its blade.
pub fn knife_program(
    plan: &CutPlan,
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
    if !plate.compensates {
        return Err(Fault::error(
            "E57",
            format!("no G-code: {} does not compensate for its trailing blade", machine.key),
        )
        .at(&machine.place)
        .cure("use SVG or DXF in a program that does; compensates = true where the machine itself does"));
    }
    let Some(feed) = setting.feed else {
        return Err(lacks(plan, setting, "`feed`", "feed = \"20 mm/s\""));
    };
    let mark_feed = setting.mark_feed.unwrap_or(feed);
    within_limit(machine, setting, feed.max(mark_feed))?;
    let mut runs = Vec::new();
    let mut left_out = 0;
    for stroke in plan.strokes.iter().filter(|s| s.layer != Layer::Rule) {
        let chains = chains(stroke);
        if matches!(stroke.layer, Layer::Holes | Layer::Edges) {
            for pass in 1..=setting.passes {
                let steps = tip(&chains, Role::Contour, Level::Cut(pass), feed * 60.0);
                runs.push(run(stroke, pass, steps));
            }
        } else if plate.mark_depth.is_some() {
            runs.push(run(stroke, 1, tip(&chains, Role::Mark, Level::Mark, mark_feed * 60.0)));
        } else {
            left_out += 1;
        }
    }
    let mut told =
        vec![format!("tool: offset {} mm, compensated by the machine itself", plate.offset)];
    if left_out > 0 {
        told.push(format!("marks: {left_out} strokes left out, the record has no mark-depth"));
    }
    let time = Program::even_time(&runs, machine.limits().travel_speed);
    Ok(Program { runs, time, told })
}

/// Down, along each chain, and up.
fn tip(chains: &[Vec<Seg>], role: Role, level: Level, feed: f64) -> Vec<(Role, Step)> {
    let mut steps = Vec::new();
    for chain in chains {
        let Some(first) = chain.first() else { continue };
        steps.extend([Step::Rapid(first.a), Step::Feed(feed), Step::Level(level)]);
        steps.extend(chain.iter().map(Step::along));
        steps.push(Step::Level(Level::Safe));
    }
    steps.into_iter().map(|step| (role, step)).collect()
}
