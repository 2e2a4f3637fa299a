//! Beam, blade, power and feed of a program: V1, V2, V3, V10. A drawing has none of them.

use super::drawn::{Drawn, Format};
use super::{Findings, MachineRecord, MaterialRecord};

/// What is said of a drawing.
pub const UNCOVERED: &str = "geometry proven, beam not covered";

pub(super) fn check(
    drawn: &Drawn,
    machine: &MachineRecord,
    material: &MaterialRecord,
    findings: &mut Findings,
) {
    let Some(program) = &drawn.program else {
        for invariant in [1, 2, 3, 10] {
            findings.uncovered(invariant, UNCOVERED);
        }
        return;
    };
    debug_assert!(drawn.format == Format::Gcode);
    let tool = if machine.laser { "beam off" } else { "blade up" };
    findings.margin(1, format!("{} ways not cut, all with the {tool}", program.rapids.len()));
    findings.margin(2, format!("{tool} before the first motion and at the end"));
    findings.margin(
        3,
        format!(
            "{} words, all known; radii of arcs differ by {:.4} mm at most",
            program.words, program.radii
        ),
    );
    let mut told = Vec::new();
    if machine.laser {
        match (machine.full_power_word, material.power) {
            (Some(full), Some(percent)) => {
                let most = (full * percent / 100.0).min(full);
                // A power word may be rounded to a whole one.
                if program.power > most + 0.5 {
                    findings.broken(
                        10,
                        format!("power S{}, at most S{most:.1} allowed", program.power),
                    );
                }
                told.push(format!("power S{} of S{most:.1}", program.power));
            }
            _ => findings.broken(10, "no power is on record for this material and machine"),
        }
        if machine.beam_word.is_none() {
            findings.broken(10, "the machine's record names no beam word");
        }
    }
    let limits = [
        (machine.feed_limit, "the machine", program.feeds),
        (machine.feed_limit, "the machine, of marks,", program.mark_feeds),
        (material.feed, "the material", program.feeds),
        (material.mark_feed.or(material.feed), "the material, of marks,", program.mark_feeds),
    ];
    for (limit, whose, feeds) in limits {
        let (Some(limit), Some([_, most])) = (limit, feeds) else { continue };
        let limit = limit * 60.0;
        if most > limit * 1.001 {
            findings.broken(10, format!("feed {most:.1} mm/min, {whose} allows {limit:.1}"));
        }
        told.push(format!("feed {most:.0} of {limit:.0} mm/min for {whose}"));
    }
    if material.feed.is_none() {
        findings.broken(10, "no feed is on record for this material and machine");
    }
    let passes = drawn.strokes.iter().map(|s| s.pass).max().unwrap_or(0);
    if passes > material.passes {
        findings.broken(10, format!("{passes} passes, {} allowed", material.passes));
    }
    told.push(format!("{passes} of {} passes", material.passes));
    findings.margin(10, told.join(", "));
}
