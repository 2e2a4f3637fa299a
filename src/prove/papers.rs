//! Units, the manifest, lengths and times, and what the laser must never meet: V4, V11, V12, V13.

use super::drawn::{Drawn, Format, Layer, Role};
use super::manifest::named;
use super::rings::{bounds, length};
use super::sizes::alike;
use super::track::{Dot, Seg, apart};
use super::{Findings, MachineRecord, MaterialRecord, StockRecord};

/// Length of the rule (mm).
const RULE: f64 = 100.0;
/// The header's extent may be out by this (mm).
const EXTENT: f64 = 2e-3;
/// Lengths and times may differ by this share.
const SHARE: f64 = 0.01;

/// V4: one unit is one millimetre, and the 100 mm rule is 100 mm long.
pub(super) fn unit(drawn: &Drawn, findings: &mut Findings) {
    if drawn.papers.one("unit") != Some("mm") {
        findings.broken(4, "the manifest does not say that the unit is the millimetre");
    }
    if drawn.format == Format::Gcode {
        findings.margin(
            4,
            "G21 and G90 stand before the first motion; a program has no rule to measure",
        );
        return;
    }
    let rule = || drawn.strokes.iter().filter(|s| s.layer == Layer::Rule);
    let longest = rule().flat_map(|s| s.marked().map(Seg::length)).fold(0.0_f64, f64::max);
    if (longest - RULE).abs() > 1e-3 {
        findings.broken(4, format!("the 100 mm rule measures {longest:.4} mm"));
    }
    let mut words = format!("the rule measures {longest:.4} mm");
    if let Some(told) = drawn.extent {
        let segs: Vec<_> = drawn.strokes.iter().flat_map(|s| s.cut().map(|c| *c.1)).collect();
        if let Some(found) = bounds(&segs) {
            let off = apart(told[0], found[0]).max(apart(told[1], found[1]));
            if off > EXTENT {
                findings.broken(4, format!("the header's extent is out by {off:.4} mm"));
            }
            words = format!("{words}, the extent is out by {off:.4} mm");
        }
    }
    if drawn.format == Format::DxfR12 {
        words.push_str("; release 12 has no official unit: measure the rule");
    }
    findings.margin(4, words);
}

/// V11: no file for a laser of a material that must not meet one.
pub(super) fn forbidden(
    machine: &MachineRecord,
    material: &MaterialRecord,
    findings: &mut Findings,
) {
    match (&material.laser_stop, machine.laser) {
        (Some(reason), true) => {
            findings.broken(11, format!("no file for a laser may exist: {reason}"));
        }
        (Some(reason), false) => findings.margin(11, format!("for the knife only: {reason}")),
        (None, _) => findings.margin(11, "nothing stands against the material"),
    }
}

/// V12: the file is this sheet's, this material's and this machine's, and was not touched.
pub(super) fn belongs(
    drawn: &Drawn,
    stock: &StockRecord,
    machine: &MachineRecord,
    material: &MaterialRecord,
    findings: &mut Findings,
) {
    let papers = &drawn.papers;
    if let Some(words) = &papers.wrong {
        findings.broken(12, format!("the manifest: {words}"));
    }
    let claimed = papers.one("body").and_then(|b| b.strip_prefix("sha256 "));
    if claimed != Some(papers.body.as_str()) {
        findings.broken(
            12,
            "the hash of the body is not the one in the manifest: the file was changed",
        );
    }
    let process = if machine.laser { "laser" } else { "knife" };
    let mut wanted = vec![
        ("sheet", stock.sheet.clone()),
        ("generation", stock.generation.to_string()),
        ("material", material.key.clone()),
        ("machine", machine.key.clone()),
        ("process", process.to_owned()),
    ];
    wanted.extend(stock.lay.iter().map(|lay| ("lay", lay.clone())));
    for (key, value) in wanted {
        match papers.one(key) {
            Some(said) if alike(said, &value) => {}
            Some(said) => findings
                .broken(12, format!("its {key} is {}, not {value}", super::manifest::told(said))),
            None => findings.broken(12, format!("the manifest does not tell its {key} once")),
        }
    }
    for key in ["job", "version"] {
        if papers.one(key).is_none() {
            findings.broken(12, format!("the manifest does not tell its {key} once"));
        }
    }
    let motions = papers.one("motions").and_then(|m| m.strip_prefix("sha256 "));
    if motions.is_none_or(|m| m.len() != 64 || !m.bytes().all(|b| b.is_ascii_hexdigit())) {
        findings.broken(12, "the manifest does not tell the hash of the motions");
    }
    if let Some(hash) = &stock.lay_hash {
        let is = |(key, value): &(String, String)| {
            key == "input" && value.starts_with(&format!("sha256 {hash} "))
        };
        if !papers.lines.iter().any(is) {
            findings.broken(12, "it was made from another lay than the one that is here");
        }
    }
    if material.machine != machine.key {
        findings.broken(10, "the material's figures are not for this machine");
    }
    let kerf = papers.one("kerf").and_then(|k| super::manifest::pair(k, "x", "y"));
    if kerf.is_none_or(|k| apart(k, material.kerf) > 2e-4) {
        findings.broken(12, "its kerf is not that of the material on this machine");
    }
    window(drawn, stock, findings);
    let lay =
        if stock.lay_hash.is_some() { "and made from this lay" } else { "the lay was not at hand" };
    findings.margin(12, format!("body {}…, {lay}", &papers.body[..12.min(papers.body.len())]));
}

fn window(drawn: &Drawn, stock: &StockRecord, findings: &mut Findings) {
    let Some(wanted) = &stock.window else {
        if drawn.papers.one("window") != Some("none") {
            findings.broken(12, "it is for a bed window, and the sheet is cut whole");
        }
        return;
    };
    let said = drawn.papers.one("window").and_then(|w| w.split_once("; "));
    if said.is_none_or(|(name, _)| name != format!("{} of {}", wanted.number, wanted.of)) {
        findings.broken(12, format!("it is not for window {} of {}", wanted.number, wanted.of));
    }
    let off = drawn.papers.origin().map_or(f64::INFINITY, |o| apart(o, wanted.origin));
    if off > 2e-4 {
        findings.broken(12, "its origin is not that of the bed window");
    }
}

/// V13: lengths and times that the manifest claims, against those of the file.
pub(super) fn claims(drawn: &Drawn, machine: &MachineRecord, findings: &mut Findings) {
    let claimed = drawn.papers.one("length").and_then(|value| {
        let parts: Vec<&str> = value.split("; ").collect();
        let [cut, marked, travel] = parts[..] else { return None };
        Some([named(cut, "cut")?, named(marked, "marked")?, named(travel, "travel")?])
    });
    let Some([cut, marked, travel]) = claimed else {
        findings.broken(13, "the manifest does not tell its lengths");
        return;
    };
    let strokes = || drawn.strokes.iter().filter(|s| s.pass == 1);
    let found = strokes().filter(|s| s.layer.is_cut()).map(|s| length(&s.contour())).sum::<f64>();
    let mut told = vec![compared("cut", cut, found, findings)];
    let marks: f64 = strokes()
        .filter(|s| !s.layer.is_cut() && s.layer != Layer::Rule)
        .flat_map(|s| s.marked().map(Seg::length))
        .sum();
    if drawn.format == Format::Gcode && marks == 0.0 {
        told.push("marks are not in the program".to_owned());
    } else {
        told.push(compared("marked", marked, marks, findings));
    }
    match &drawn.program {
        None => told.push(drawn_travel(drawn, travel, findings)),
        Some(program) => {
            let way: f64 = program.rapids.iter().map(|w| apart(w[0], w[1])).sum();
            told.push(format!("travel {way:.0} mm with leads and tabs, not compared"));
        }
    }
    if drawn.program.is_some() {
        told.push(times(drawn, machine, findings));
    }
    findings.margin(13, told.join("; "));
}

fn compared(what: &str, claimed: f64, found: f64, findings: &mut Findings) -> String {
    let off = (claimed - found).abs() / found.max(1e-9);
    if (claimed - found).abs() > SHARE * found + 0.01 {
        findings.broken(13, format!("{what} {claimed:.1} mm claimed, {found:.1} mm found"));
    }
    let share = if found > 0.0 { off * 100.0 } else { 0.0 };
    format!("{what} {found:.1} mm, {share:.3} % off")
}

/// Travel of a drawing, where every line says where it begins.
fn drawn_travel(drawn: &Drawn, claimed: f64, findings: &mut Findings) -> String {
    if drawn.strokes.iter().any(|s| s.is_circle && s.layer != Layer::Rule) {
        return "travel not compared: a circle does not say where it begins".to_owned();
    }
    let mut at: Dot = [0.0; 2];
    let mut way = 0.0;
    for run in drawn.strokes.iter().filter(|s| s.layer != Layer::Rule).flat_map(|s| &s.runs) {
        if let (Some(first), Some(last)) = (run.segs.first(), run.segs.last()) {
            way += apart(at, first.a.mm());
            at = last.b.mm();
        }
    }
    compared("travel", claimed, way, findings)
}

/// Times of a program: waits are compared; cuts and travel can take no less than at their full speeds.
fn times(drawn: &Drawn, machine: &MachineRecord, findings: &mut Findings) -> String {
    let (Some(program), Some(line)) = (&drawn.program, drawn.papers.one("time")) else {
        findings.broken(13, "the manifest does not tell its times");
        return String::new();
    };
    let read = || -> Option<[f64; 4]> {
        let line = line.strip_suffix(" s")?;
        let parts: Vec<&str> = line.split("; ").collect();
        let [cut, travel, wait, total] = parts[..] else { return None };
        let all = [named(cut, "cut")?, named(travel, "travel")?, named(wait, "wait")?];
        Some([all[0], all[1], all[2], named(total, "total")?])
    };
    let Some([cut, travel, wait, total]) = read() else {
        findings.broken(13, "the manifest's times cannot be read");
        return String::new();
    };
    let near = |claimed: f64, found: f64| (claimed - found).abs() <= SHARE * found + 0.1;
    if !near(wait, program.wait) {
        findings.broken(13, format!("waits of {wait:.1} s claimed, {:.1} s found", program.wait));
    }
    if !near(total, cut + travel + wait) {
        findings.broken(13, format!("the total of {total:.1} s is not the sum of its parts"));
    }
    let tabs = drawn.strokes.iter().flat_map(|s| &s.runs).any(|r| r.role == Role::Tab);
    if cut < program.cutting * (1.0 - SHARE) - 0.1 {
        let found = program.cutting;
        findings.broken(13, format!("{cut:.1} s of cutting claimed, at least {found:.1} s found"));
    }
    let way: f64 = program.rapids.iter().map(|w| apart(w[0], w[1])).sum();
    if let Some(speed) = machine.travel_speed.filter(|s| *s > 0.0)
        && travel < way / speed * (1.0 - SHARE) - 0.1
    {
        let found = way / speed;
        findings
            .broken(13, format!("{travel:.1} s of travel claimed, at least {found:.1} s found"));
    }
    let tabs = if tabs { ", tabs left standing" } else { "" };
    format!(
        "cut {cut:.1} s of at least {:.1} s{tabs}, waits {:.1} s; acceleration not recomputed",
        program.cutting, program.wait
    )
}
