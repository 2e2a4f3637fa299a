//! Along which line a part is cut, and in what style its figures are written.

use super::faults::base;
use crate::job::{Job, cut_edge, style_of};
use crate::machine::Process;
use crate::part::{Piece, pieces};
use crate::units::Unit;
use crate::write::DimensionStyle;

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

fn job() -> Job {
    base().read().0.unwrap()
}

fn first(job: &Job) -> Piece {
    let part = &job.parts[0];
    pieces(part, &part.sizes(), false, 0).unwrap().remove(0)
}

/// The radius of the disk with its allowances, and of the line along which it is cut.
fn radii(job: &Job) -> (f64, f64) {
    let (design, edge) = cut_edge(job, &job.parts[0], &first(job)).unwrap().unwrap();
    let radius = |it: &crate::geom::Loop| it.as_circle().unwrap().1;
    (radius(design.shape.outline()), radius(&edge.line))
}

// Half of the kerf lies on each side of the line of the cut: what a kerf is.
#[test]
fn a_disk_is_cut_half_a_kerf_outside() {
    let mut job = job();
    let finished = first(&job).turns.design(0).unwrap().shape.outline().as_circle().unwrap().1;
    let (allowed, line) = radii(&job);
    assert!(near(allowed, finished) && near(line, finished), "a knife of no width: its own line");
    let edge = cut_edge(&job, &job.parts[0], &first(&job)).unwrap().unwrap().1;
    assert!(!edge.has_kerf());
    assert!(edge.by.contains("knife") && edge.by.ends_with("on pouch-leather"), "{}", edge.by);
    for setting in job.materials.values_mut().flat_map(|m| &mut m.cuts) {
        (setting.kerf_x, setting.kerf_y) = (0.15, 0.15);
        setting.char_trim = 0.5;
    }
    let (allowed, line) = radii(&job);
    assert!(near(allowed, finished) && near(line, finished + 0.075));
    // A beam leaves char on a soft edge, and cuts it so much farther out.
    for machine in job.machines.values_mut() {
        machine.process = Process::Laser;
    }
    let key = job.machines.values().next().unwrap().key.clone();
    for setting in job.materials.values_mut().flat_map(|m| &mut m.cuts) {
        setting.on.clone_from(&key);
    }
    let (allowed, line) = radii(&job);
    assert!(near(allowed, finished + 0.5) && near(line, finished + 0.575));
    // Where nothing is known of the cut there is no line.
    job.materials.values_mut().for_each(|m| m.cuts.clear());
    assert_eq!(cut_edge(&job, &job.parts[0], &first(&job)), Ok(None));
}

#[test]
fn the_unit_of_the_job_chooses_the_style() {
    let mut job = job();
    let sizes = job.parts[0].sizes();
    let member = &sizes[0].developed.members[0];
    assert_eq!((job.unit, style_of(&job, member)), (None, DimensionStyle::Inch));
    for (unit, style) in [
        (Unit::Millimetre, DimensionStyle::Metric),
        (Unit::Centimetre, DimensionStyle::Metric),
        (Unit::Inch, DimensionStyle::Inch),
        (Unit::Thou, DimensionStyle::Inch),
    ] {
        job.unit = Some(unit);
        assert_eq!(style_of(&job, member), style);
    }
}
