//! Good files are proven, and limits are told apart at a micrometre.

use super::job::{Figure, Job, any_job};
use super::{emit, program, trials};
use crate::prove::{Outcome, Verdict, prove};

pub(super) fn told(verdict: &Verdict) -> String {
    let line =
        |i: &crate::prove::Invariant| format!("{} {}: {}", i.name, i.outcome.name(), i.margin);
    verdict.invariants.iter().map(line).collect::<Vec<_>>().join("\n")
}

pub(super) fn proven(job: &Job, text: &str, name: &str) -> Verdict {
    prove(text.as_bytes(), name, &job.stock, &job.machine, &job.material)
}

#[test]
fn good_files_are_never_refused() {
    // A thousand files in the full run: 250 jobs for either machine, by turns in the formats they can have.
    for seed in 0..trials(250) {
        let laser = any_job(seed, true);
        let knife = any_job(seed, false);
        for (job, text, name) in [
            (&laser, emit::svg(&laser), "a-laser.svg"),
            (&laser, emit::dxf(&laser, seed % 2 == 0), "a-laser.dxf"),
            (&laser, program::gcode(&laser), "a-laser.gcode"),
            (&knife, program::gcode(&knife), "a-knife.gcode"),
        ] {
            let verdict = proven(job, &text, name);
            assert!(verdict.is_proven(), "job {seed}, {name}\n{}\n{text}", told(&verdict));
            let uncovered = verdict.invariants.iter().filter(|i| i.outcome == Outcome::NotCovered);
            assert_eq!(uncovered.count(), if name.ends_with("gcode") { 0 } else { 4 });
        }
    }
}

/// A job whose second and third outlines are disks exactly so far apart, or one so far from edge, flaw or bed.
fn tight(what: &str, off: f64) -> Job {
    let mut job = any_job(4, true);
    job.stock.booked.clear();
    let (gap, edge) = (job.stock.gap, job.stock.edge);
    let row = 0;
    let Figure::Circle(c, r) = job.edge(row).figure.clone() else { panic!("a ring comes first") };
    match what {
        "gap" => {
            // A disk of the same size put beside it, in the place of the plate.
            let y = c[1];
            let plate = job.rows[2].address.clone();
            job.lines.retain(|l| l.address != plate || l.layer == "EDGES");
            job.rows.truncate(3);
            let names: Vec<String> = job.rows.iter().map(|r| r.address.clone()).collect();
            job.lines.retain(|l| l.address.is_empty() || names.contains(&l.address));
            job.stock.flaws.clear();
            let disk = 12.0;
            job.edge(2).figure = Figure::Circle([c[0] + r + disk + gap + off, y], disk);
        }
        "edge" => {
            let by = edge + off - (c[0] - r);
            shift(&mut job, [by, 0.0]);
        }
        "flaw" => {
            let center = [c[0], c[1] + r + edge + off + 5.0];
            job.stock.flaws = vec![super::job::ring_of(&Figure::Circle(center, 5.0))];
            job.rows.truncate(2);
            let names: Vec<String> = job.rows.iter().map(|r| r.address.clone()).collect();
            job.lines.retain(|l| l.address.is_empty() || names.contains(&l.address));
        }
        "bed" => {
            let right = job.lines.iter().filter(|l| l.layer != "RULE").fold(0.0_f64, |m, l| {
                let (corners, _) = l.figure.corners(true);
                corners.iter().fold(m, |m, c| m.max(c[0]))
            });
            job.machine.width = right + 2.0 * job.machine.margin + off;
        }
        _ => {
            // The size: the row's diameter is out by just the tolerance.
            job.rows[0].size = [2.0 * r - job.material.kerf[0] + 0.05 - off; 2];
        }
    }
    job.renumber();
    job
}

fn shift(job: &mut Job, by: [f64; 2]) {
    let names = [job.rows[0].address.clone(), job.rows[1].address.clone()];
    for line in job.lines.iter_mut().filter(|l| names.contains(&l.address)) {
        line.figure.moved(by);
    }
}

#[test]
fn limits_are_told_apart_at_a_micrometre() {
    for (what, invariant) in
        [("gap", "V6"), ("edge", "V5"), ("flaw", "V7"), ("bed", "V5"), ("size", "V8")]
    {
        for (off, wanted) in [(0.001, false), (-0.001, true)] {
            let job = tight(what, off);
            for (text, name) in [(emit::svg(&job), "a.svg"), (emit::dxf(&job, true), "a.dxf")] {
                let verdict = proven(&job, &text, name);
                let broken = verdict.broken().any(|i| i.name == invariant);
                assert_eq!(broken, wanted, "{what} {off} {name}\n{}", told(&verdict));
            }
        }
    }
}

#[test]
fn every_prefix_of_a_file_is_refused() {
    let job = any_job(2, true);
    for (text, name) in [
        (emit::svg(&job), "a.svg"),
        (emit::dxf(&job, true), "a.dxf"),
        (emit::dxf(&job, false), "a.dxf"),
        (program::gcode(&job), "a.gcode"),
    ] {
        let step = (text.len() / 150).max(1);
        for end in (0..text.len()).step_by(step).chain(text.len() - 12..text.len()) {
            assert!(!proven(&job, &text[..end], name).is_proven(), "{name} cut at {end}");
        }
    }
}

#[test]
fn spoilt_bytes_never_panic() {
    let job = any_job(5, true);
    let mut chance = super::job::Chance(99);
    for (text, name) in [
        (emit::svg(&job), "a.svg"),
        (emit::dxf(&job, true), "a.dxf"),
        (program::gcode(&job), "a.gcode"),
    ] {
        // What stands outside of the manifest is held by its hash.
        let start = text.find("pouchwork manifest 1").unwrap();
        let papers = start..text.find("body: sha256").unwrap() + 80;
        for _ in 0..trials(2000) {
            let mut bytes = text.clone().into_bytes();
            let mut outside = false;
            for _ in 0..=chance.one_of(3) {
                let at = chance.one_of(bytes.len());
                bytes[at] = b"0123456789.-XYGZMAL<>\"\n ("[chance.one_of(25)];
                outside |= bytes[at] != text.as_bytes()[at] && !papers.contains(&at);
            }
            let verdict = prove(&bytes, name, &job.stock, &job.machine, &job.material);
            assert!(!(outside && verdict.is_proven()), "{}", String::from_utf8_lossy(&bytes));
        }
    }
}
