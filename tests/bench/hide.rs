//! Our own job: gaskets, and disks of two sizes, on one hide; as short a cut-off as can be.
//!
//! An instance with a `hide` (`outline`, `flaws`) and `pieces`: of each a `size` or a `diameter`, its `holes` (`count`,
//! `diameter`) evenly along its middle, and its `count`. 0.5 mm apart, no edge, free turn.

use super::stuff::{bare_sheet, disk, free, gross, group, many, outline};
use super::timing::{Pace, Run, forget_peak, peak_told, proving, run};
use pouchwork::geom::{Loop, Point, Shape, Side, Vec2, flatten, rectangle};
use pouchwork::lay::{CutOff, Effort, Group, Layout, cut_offs};
use pouchwork::sheet::{Sheet, SheetKind};
use serde_json::Value;

/// What is left between pieces (mm).
pub(crate) const APART: f64 = 0.5;

/// Lays the job of an instance and prints its cut-off; does nothing where the file holds something else.
pub(crate) fn time(name: &str, text: &str, seeds: &[u64], times: &[f64], sorting: f64) {
    let (Some(group), Some(seed), Some(shortest)) = (job(text), seeds.first(), times.first())
    else {
        return;
    };
    println!("hide: {name}, {} pieces", group.pieces.len());
    println!(
        "           wanted  seed  cut-off mm  way  share %  in holes  left  evaluations  seconds  in sorts  in proofs"
    );
    let tell = |wanted: &str, seed: u64, run: &Run| {
        println!(
            "           {wanted:>6} {seed:>5} {} {:>12} {:>8.2} {:>9.1} {:>10.0}",
            told(&group, &run.layout),
            run.layout.spent,
            run.seconds,
            run.seconds / sorting,
            run.seconds / proving(&group, &run.layout).max(1e-6),
        );
    };
    forget_peak();
    let Some(first) = run(&group, Effort { evaluations: 1, seed: *seed }) else { return };
    tell("first", *seed, &first);
    let Some(mut pace) = Pace::found(&group, *shortest, *seed) else { return };
    for wanted in times {
        let mut runs = Vec::new();
        for seed in seeds {
            let Some(run) = pace.run(&group, *wanted, *seed) else { return };
            if let Some(first) = run.first.filter(|_| runs.is_empty()) {
                println!("           {wanted} s: first proven layout after {first:.2} s");
            }
            tell(&format!("{wanted} s"), *seed, &run);
            runs.push(run);
        }
        pace.learn(&runs);
    }
    println!("           peak of memory {}", peak_told());
}

/// The cut-off of a layout, and what the pieces that lie in no hole take of the hide before it.
fn told(group: &Group, layout: &Layout) -> String {
    let Some(cut) = cut_offs(group, layout).into_iter().next() else { return String::new() };
    let guests = layout.placed.iter().filter(|p| p.host.is_some()).count();
    let hosts = layout.placed.iter().filter(|p| p.host.is_none());
    let area: f64 = hosts.map(|p| gross(&group.pieces[p.piece])).sum();
    let way = match (cut.way.x, cut.way.y) {
        (x, _) if x > 0.5 => "x",
        (x, _) if x < -0.5 => "-x",
        (_, y) if y > 0.5 => "y",
        _ => "-y",
    };
    let share = 100.0 * area / before(&group.grounds[cut.ground].sheet, &cut);
    format!("{:>11.2} {way:>4} {share:>8.2} {guests:>9} {:>5}", cut.length, layout.left.len())
}

/// Area within the sheet's line before a cut (mm²), flaws not taken off.
fn before(sheet: &Sheet, cut: &CutOff) -> f64 {
    let b = sheet.outline.bounds();
    let corners = [(b.x0, b.y0), (b.x1, b.y0), (b.x0, b.y1), (b.x1, b.y1)];
    let along = |p: Point| p.to_vec2().dot(cut.way);
    let side = corners.iter().map(|c| along(Point::new(c.0, c.1))).fold(f64::INFINITY, f64::min);
    let end = side + cut.length;
    let points = flatten(&sheet.outline, 0.01, Side::Inside);
    let mut kept: Vec<Point> = Vec::new();
    for (n, p) in points.iter().enumerate() {
        let next = points[(n + 1) % points.len()];
        let (here, there) = (along(*p) - end, along(next) - end);
        if here <= 0.0 {
            kept.push(*p);
        }
        if (here < 0.0) != (there < 0.0) {
            kept.push(p.lerp(next, here / (here - there)));
        }
    }
    let twice = |(n, p): (usize, &Point)| p.to_vec2().cross(kept[(n + 1) % kept.len()].to_vec2());
    kept.iter().enumerate().map(twice).sum::<f64>().abs() / 2.0
}

/// The hide of an instance.
pub(crate) fn sheet(read: &Value) -> Option<Sheet> {
    let flaws = read["flaws"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|flaw| outline(flaw, 1.0))
        .collect();
    Some(bare_sheet(SheetKind::Hide, outline(&read["outline"], 1.0)?, flaws))
}

fn job(text: &str) -> Option<Group> {
    let read: Value = serde_json::from_str(text).ok()?;
    let sheet = sheet(&read["hide"])?;
    let mut pieces = Vec::new();
    for (size, given) in read["pieces"].as_array()?.iter().enumerate() {
        let count = u32::try_from(given["count"].as_u64()?).ok()?;
        let turns = free(shape(given)?);
        pieces.extend(many(given["kind"].as_str()?, size, &turns, count));
    }
    Some(group(pieces, sheet, 0.0, APART))
}

fn shape(given: &Value) -> Option<Shape> {
    if let Some(diameter) = given["diameter"].as_f64() {
        return disk(diameter);
    }
    let (long, wide) = (given["size"][0].as_f64()?, given["size"][1].as_f64()?);
    let outline = rectangle(Point::ORIGIN, long, wide, 0.0).ok()?;
    let count = u32::try_from(given["holes"]["count"].as_u64().unwrap_or(0)).ok()?;
    let holes = (0..count)
        .map(|n| {
            let at = Vec2::new(long * (f64::from(n) + 0.5) / f64::from(count), wide / 2.0);
            Loop::circle(at.to_point(), given["holes"]["diameter"].as_f64()? / 2.0).ok()
        })
        .collect::<Option<Vec<Loop>>>()?;
    Shape::new(outline, holes).ok()
}
