//! Every contour of the examples, cut in thought.

use super::*;
use crate::fault::Sources;
use crate::geom::Shape;
use crate::job::{Found, OutlineFault, Outlines, Shelf, Which, batches, read_job, work_out};
use crate::part::Turns;
use crate::read::{ReadOptions, outlines};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The folder of an example.
struct Example(PathBuf);

impl Shelf for Example {
    fn read(&self, which: Which, name: &str) -> Found {
        match (which, std::fs::read(self.0.join(name))) {
            (Which::Job, Ok(bytes)) => Found::Bytes(bytes),
            _ => Found::Missing,
        }
    }

    fn list(&self, _: Which) -> Vec<String> {
        Vec::new()
    }

    fn outlines(
        &self,
        name: &str,
        bytes: &[u8],
        unit: Option<f64>,
    ) -> Result<Outlines, OutlineFault> {
        let options = ReadOptions { unit, ..ReadOptions::default() };
        let traced = outlines(name, bytes, &options);
        traced.map(|found| (found.loops, found.notes)).map_err(|fault| OutlineFault {
            code: fault.code,
            text: fault.text,
            cure: fault.cure,
        })
    }
}

/// The shapes of an example, each once for each way its stretch lies.
fn shapes(name: &str) -> Vec<(String, Shape)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    let (job, faults) = read_job(&Example(folder), &mut Sources::default());
    let job = job.unwrap_or_else(|| panic!("{faults:?}"));
    let (worked, _) = work_out(&job);
    let mut found: Vec<(String, Shape)> = Vec::new();
    for batch in batches(&job, &worked).unwrap() {
        let mut seen = BTreeSet::new();
        for piece in batch.group.pieces.iter().filter(|p| seen.insert(p.size)) {
            let designs = match &piece.turns {
                Turns::Free(design) => vec![design],
                Turns::Fixed(stances) => stances.iter().map(|s| &s.design).collect(),
            };
            let mut own: Vec<(String, Shape)> = Vec::new();
            for design in designs {
                if own.iter().all(|(_, shape)| *shape != design.shape) {
                    own.push((piece.address.to_string(), design.shape.clone()));
                }
            }
            found.extend(own);
        }
    }
    found
}

/// A cut as the Python simulator reads it (`tests/oracle/knife_tip.py`).
fn told(pivot: &Pivot, line: &[Seg], offset: f64, heading: f64) -> String {
    let moves = pivot.steps.iter().filter_map(|(role, step)| {
        let (word, to, bulge) = match *step {
            Step::Rapid(to) => ("rapid", to, 0.0),
            Step::Line(to) => ("line", to, 0.0),
            Step::Arc(to, bulge) => ("arc", to, bulge),
            Step::Swivel(to, bulge) => ("swivel", to, bulge),
            _ => return None,
        };
        let role = format!("{role:?}").to_lowercase();
        Some(format!("[\"{role}\",\"{word}\",{},{},{bulge}]", to.x, to.y))
    });
    let end = line.last().map(|s| format!("[{},{}]", s.b.x, s.b.y));
    let points = line.iter().map(|s| format!("[{},{},{}]", s.a.x, s.a.y, s.bulge)).chain(end);
    format!(
        "{{\"offset\":{offset},\"heading\":{heading},\"moves\":[{}],\"line\":[{}]}}",
        moves.collect::<Vec<_>>().join(","),
        points.collect::<Vec<_>>().join(",")
    )
}

/// The greatest errors of all contours of an example, and how many contours there are.
fn worst_of_example(name: &str, cuts: &mut Vec<String>) -> (f64, usize) {
    let blade = Blade::new(0.25);
    let (mut worst, mut count): (f64, usize) = (0.0, 0);
    for (address, shape) in shapes(name) {
        for (n, contour) in shape.loops().enumerate() {
            let line = contour.segs();
            for heading in [None, Some(100.0)] {
                let pivot = pivot_round(contour, n == 0, &blade, heading, &|_| true).unwrap();
                let astray = pivot.warnings.iter().any(|w| matches!(w, Warning::Astray(..)));
                if astray {
                    // Too narrow for a run-in of a blade of which nothing is known.
                    let bounds = contour.bounds();
                    assert!(n > 0 && bounds.width().min(bounds.height()) < 4.0, "{address} {n}");
                    continue;
                }
                let at_first = heading.unwrap_or_else(|| {
                    let (Step::Rapid(from), Step::Line(to)) = (pivot.steps[0].1, pivot.steps[2].1)
                    else {
                        panic!("{address}: {:?}", &pivot.steps[..3])
                    };
                    (to - from).atan2().to_degrees() + 150.0
                });
                if heading.is_some() {
                    cuts.push(told(&pivot, &line, blade.offset, at_first));
                }
                let error = simulate(&pivot, &line, blade.offset, at_first).worst();
                assert!(error <= blade.tip_tolerance, "{address} {n} {heading:?}: {error}");
                worst = worst.max(error);
            }
            count += 1;
        }
    }
    (worst, count)
}

#[test]
fn the_tip_keeps_to_the_contours_of_the_examples() {
    let mut cuts = Vec::new();
    for (name, least) in [("thistlewick", 20), ("full-set", 100)] {
        let (worst, count) = worst_of_example(name, &mut cuts);
        assert!(count >= least, "{name}: {count}");
        assert!(worst <= 0.02, "{name}: {worst}");
    }
    if let Ok(file) = std::env::var("POUCHWORK_PIVOTS") {
        std::fs::write(file, format!("[{}]", cuts.join(",\n"))).unwrap();
    }
}
