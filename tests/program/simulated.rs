//! The cut of a laser, simulated: the written G-code is read, the beam swept along it, and what is left compared with
//! the parts.
//!
//! A round beam takes off everything within half its width of its path. So a part is whole where no path comes nearer
//! to its line, and cut free at its true size where some path runs at just that distance. Where the spot is oval the
//! plane is pressed until it is round.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "small counts, and places in thousandths"
)]

#[path = "../../src/write/tests_reader.rs"]
#[allow(dead_code, reason = "the room's own tests look at power and feed too")]
mod reader;

use super::{answered, bench, example, files, run};
use pouchwork::fault::Sources;
use pouchwork::geom::{Loop, Point, Pose, Rect, Seg, Shape, Where, point_in_loop};
use pouchwork::job::{
    Found, Job, OutlineFault, Outlines, Shelf, Which, batches, read_job, work_out,
};
use pouchwork::plan::corner_loss;
use pouchwork::read::{ReadOptions, outlines};
use std::path::{Path, PathBuf};

/// A part may come out larger or smaller by this much (mm).
const OFF: f64 = 0.01;

struct Folder(PathBuf);

impl Shelf for Folder {
    fn read(&self, which: Which, name: &str) -> Found {
        match std::fs::read(self.0.join(name)) {
            Ok(bytes) if which == Which::Job => Found::Bytes(bytes),
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
        let read = outlines(name, bytes, &ReadOptions { unit, ..ReadOptions::default() });
        read.map(|traced| (traced.loops, traced.notes)).map_err(|fault| OutlineFault {
            code: fault.code,
            text: fault.text.clone(),
            cure: fault.cure,
        })
    }
}

/// An example as the library reads it.
pub(crate) fn job_of(folder: &Path) -> Job {
    let (job, faults) = read_job(&Folder(folder.to_owned()), &mut Sources::default());
    job.unwrap_or_else(|| panic!("{faults:?}"))
}

/// What the designs of a piece may be, by its address.
fn designs(job: &Job) -> std::collections::BTreeMap<String, Vec<Shape>> {
    let (worked, _) = work_out(job);
    let mut found = std::collections::BTreeMap::new();
    for piece in batches(job, &worked).unwrap().iter().flat_map(|b| &b.group.pieces) {
        let mut shapes: Vec<Shape> = Vec::new();
        for design in (0..4).filter_map(|stance| piece.turns.design(stance)) {
            if !shapes.contains(&design.shape) {
                shapes.push(design.shape.clone());
            }
        }
        found.insert(piece.address.to_string(), shapes);
    }
    found
}

fn field<'a>(line: &'a str, key: &str) -> &'a str {
    let (_, rest) =
        line.split_once(&format!("{key} ")).unwrap_or_else(|| panic!("{key} in {line}"));
    rest.split(';').next().unwrap().trim()
}

/// Manifest lines of a file, those that were broken put together again.
fn manifest(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for line in text.lines().take_while(|l| l.starts_with('(')) {
        let words = line.strip_suffix(" )").unwrap();
        match (words.strip_prefix("(+ "), lines.last_mut()) {
            (Some(more), Some(last)) => last.push_str(more),
            _ => lines.push(words.strip_prefix("( ").unwrap().to_owned()),
        }
    }
    lines
}

/// A swept path: points, the role, and the box round it.
struct Swept {
    points: Vec<(f64, f64)>,
    stroke: u32,
    tab: bool,
}

/// What a file came to.
#[derive(Debug, Default)]
struct Came {
    pieces: usize,
    tabs: usize,
    /// The nearest that a path comes inside half the cut, and the farthest that one stays away.
    bitten: f64,
    left: f64,
}

fn simulate(text: &str, designs: &std::collections::BTreeMap<String, Vec<Shape>>) -> Came {
    let moves = reader::read(text, true).unwrap();
    let lines = manifest(text);
    let line = |key: &str| lines.iter().find(|l| l.starts_with(key)).unwrap().as_str();
    let kerf: (f64, f64) =
        (field(line("kerf: "), "x").parse().unwrap(), field(line("kerf: "), "y").parse().unwrap());
    assert_eq!(line("window: "), "window: none");
    let press = kerf.1 / kerf.0;
    let half = kerf.1 / 2.0;
    let on = |p: (f64, f64)| Point::new(p.0 * press, p.1);
    let swept: Vec<Swept> = moves
        .iter()
        .filter(|m| (m.cuts && m.role != "mark") || m.role == "tab")
        .map(|m| Swept {
            points: m.points(),
            stroke: m.stroke.split(' ').nth(1).unwrap().parse().unwrap(),
            tab: m.role == "tab" && !m.cuts,
        })
        .collect();
    let rows: Vec<&String> = lines.iter().filter(|l| l.starts_with("piece: ")).collect();
    let mut came = Came { pieces: rows.len(), ..Came::default() };
    let mut parts: Vec<Vec<Shape>> = Vec::new();
    for row in &rows {
        let number = |key: &str| field(row, key).parse::<f64>().unwrap();
        let pose = Pose {
            x: number("piece: x"),
            y: number("; y"),
            turn: number("turn"),
            mirrored: field(row, "mirrored") == "yes",
        };
        let shapes = &designs[row.rsplit_once("address ").unwrap().1];
        parts.push(shapes.iter().map(|s| s.posed(&pose)).collect());
    }
    for (row, shapes) in rows.iter().zip(&parts) {
        let strokes: Vec<u32> =
            field(row, "strokes").split(' ').map(|n| n.parse().unwrap()).collect();
        let punches: Vec<Point> = field(row, "punched")
            .split(", ")
            .filter_map(|hole| hole.split_once(" at ")?.1.split_once(' '))
            .map(|(x, y)| Point::new(x.parse().unwrap(), y.parse().unwrap()))
            .collect();
        let best = shapes
            .iter()
            .map(|shape| cut_free(shape, &swept, (&strokes, &punches), on, half, kerf))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let (tabs, left) = best.unwrap();
        came.tabs += tabs;
        came.left = came.left.max(left);
    }
    // No path bites into any piece, its own or another.
    for (shapes, row) in parts.iter().zip(&rows) {
        let bitten =
            shapes.iter().map(|s| bite(s, &swept, on, half, press)).fold(f64::INFINITY, f64::min);
        assert!(bitten <= OFF, "{bitten} mm bitten out of {row}");
        came.bitten = came.bitten.max(bitten);
    }
    came
}

/// How far the line of a part stays away from the cut at most, corners and tabs left out; and its tabs.
fn cut_free(
    shape: &Shape,
    swept: &[Swept],
    (strokes, punches): (&[u32], &[Point]),
    on: impl Fn((f64, f64)) -> Point,
    half: f64,
    kerf: (f64, f64),
) -> (usize, f64) {
    let own: Vec<&Swept> = swept.iter().filter(|s| strokes.contains(&s.stroke)).collect();
    let (tabs, cuts): (Vec<&Swept>, Vec<&Swept>) = own.into_iter().partition(|s| s.tab);
    let chords: Vec<Seg> = cuts
        .iter()
        .flat_map(|s| s.points.windows(2).map(|w| Seg::line(on(w[0]), on(w[1]))))
        .collect();
    let loss = corner_loss(shape, kerf.0.max(kerf.1)).0;
    let mut most: f64 = 0.0;
    // A hole for the punch has no cut of its own; growth may have made an oval of it.
    let punched = |it: &Loop| {
        let b = it.bounds();
        b.width() < 4.0 && punches.iter().any(|p| (*p - b.center()).hypot() < 0.01)
    };
    for it in shape.loops().filter(|it| !punched(it)) {
        for seg in it.segs() {
            let steps = (seg.length() / 0.7).ceil().max(2.0);
            for i in 0..steps as u32 {
                let p = seg.at((f64::from(i) + 0.5) / steps);
                let q = on((p.x, p.y));
                let by_tab = tabs.iter().any(|t| {
                    let (a, b) =
                        (Point::from(t.points[0]), Point::from(t.points[t.points.len() - 1]));
                    Seg::line(a, b).distance_to(p) < kerf.0.max(kerf.1) * 0.6 + 0.05
                });
                if by_tab {
                    continue;
                }
                let reach = Rect::from_center_size(q, (2.0, 2.0));
                let off = chords
                    .iter()
                    .filter(|c| c.bounds().inflate(1e-6, 1e-6).overlaps(reach))
                    .map(|c| c.distance_to(q))
                    .fold(1.0, f64::min);
                let corner =
                    [seg.a, seg.b].iter().any(|e| (*e - p).hypot() < 2.0 * kerf.0.max(kerf.1));
                most = most.max(off - half - if corner { loss } else { 0.0 });
            }
        }
    }
    // Each pass goes over every tab.
    let mut ends: Vec<(i64, i64)> = tabs
        .iter()
        .map(|t| ((t.points[0].0 * 1e3).round() as i64, (t.points[0].1 * 1e3).round() as i64))
        .collect();
    ends.sort_unstable();
    ends.dedup();
    (ends.len(), most)
}

/// How deep the swept cut comes into a part at most (mm).
fn bite(
    shape: &Shape,
    swept: &[Swept],
    on: impl Fn((f64, f64)) -> Point,
    half: f64,
    press: f64,
) -> f64 {
    let near = shape.bounds().inflate(1.0, 1.0);
    let lines: Vec<(Rect, Seg)> = shape
        .loops()
        .flat_map(|it| {
            let mut points: Vec<(f64, f64)> = Vec::new();
            for seg in it.segs() {
                let n = if seg.is_line() {
                    1
                } else {
                    (seg.length() / (0.01 * seg.radius()).sqrt()).ceil().max(4.0) as u32
                };
                points.extend(
                    (0..n).map(|i| seg.at(f64::from(i) / f64::from(n))).map(|p| (p.x, p.y)),
                );
            }
            let next = points.clone().into_iter().cycle().skip(1);
            points.into_iter().zip(next).map(|(a, b)| Seg::line(on(a), on(b))).collect::<Vec<_>>()
        })
        .map(|s| (s.bounds().inflate(half, half), s))
        .collect();
    let mut most: f64 = 0.0;
    for path in swept.iter().filter(|s| !s.tab) {
        for p in path.points.iter().filter(|p| near.contains(Point::from(**p))) {
            let q = on(*p);
            let off = lines
                .iter()
                .filter(|(b, _)| b.contains(q))
                .map(|(_, s)| s.distance_to(q))
                .fold(half, f64::min);
            let p = Point::from(*p);
            let inside = point_in_loop(p, shape.outline()) == Where::Inside
                && shape.holes().iter().all(|h| point_in_loop(p, h) != Where::Inside);
            let deep = if inside { half + off } else { half - off };
            most = most.max(deep / press.min(1.0));
        }
    }
    most
}

fn example_comes_out(name: &str, sheets: usize) {
    let room = bench();
    let folder = example(name, room.path());
    assert_eq!(run(&folder, &["lay", "--effort", "quick"]).code, 0);
    let safe = answered(&folder);
    assert_eq!(safe.code, 0, "{}", safe.err);
    let cut = run(&folder, &["cut", "lay-1", "--format", "gcode"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    let designs = designs(&job_of(&folder));
    let mut seen = 0;
    for (name, bytes) in files(&folder.join("out/lay-1")) {
        if !name.ends_with(".gcode") {
            continue;
        }
        let text = String::from_utf8(bytes).unwrap();
        if name.ends_with("-knife.gcode") {
            assert!(!reader::read(&text, false).unwrap().is_empty(), "{name}");
            continue;
        }
        let came = simulate(&text, &designs);
        assert!(came.pieces > 0 && came.left <= OFF, "{name}: {came:?}");
        assert!(text.contains("( tabs: none )") == (came.tabs == 0), "{name}: {came:?}");
        seen += 1;
    }
    assert_eq!(seen, sheets);
}

#[test]
fn thistlewick_comes_out_of_the_laser_true_to_size() {
    example_comes_out("thistlewick", 2);
}

#[test]
fn the_full_set_comes_out_of_the_laser_true_to_size() {
    example_comes_out("full-set", 8);
}
