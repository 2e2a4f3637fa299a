//! Equal disks: as many as find room on hides, beside the best of many hexagonal lattices laid at chance.

use super::hide::{APART, sheet};
use super::stuff::{Chance, disk, free, group, hide, many};
use super::timing::{Pace, run};
use pouchwork::geom::{Loop, Point, Rect, Seg, Vec2, Where, point_in_loop};
use pouchwork::lay::{Effort, Group};
use pouchwork::sheet::Sheet;
use serde_json::Value;
use std::f64::consts::FRAC_PI_3;
use std::time::Instant;

/// Diameter of the disks (mm).
const ACROSS: f64 = 41.0;
/// Poses of the lattice that are tried beside our own.
const POSES: u32 = 3000;
/// More than find room on the hide of the instance.
const WANTED: u32 = 400;
/// Hides of our own.
const HIDES: u64 = 20;

/// Disks on the hide of an instance; does nothing where the file holds something else.
pub(crate) fn time(name: &str, text: &str, seeds: &[u64], times: &[f64], sorting: f64) {
    let read: Option<Value> = serde_json::from_str(text).ok();
    let Some(sheet) = read.and_then(|read| sheet(&read["hide"])) else { return };
    println!("disks: {name}, {ACROSS} mm, {APART} mm apart, no edge, of {WANTED}");
    let (beside, seconds) = timed(|| hexagonal(&sheet, 0.0));
    println!("           best of {POSES} lattices {beside:>10} in {seconds:.2} s");
    let Some(group) = disks(sheet, 0.0, WANTED) else { return };
    for seed in seeds {
        let Some(quick) = run(&group, Effort { seed: *seed, ..Effort::QUICK }) else { return };
        tell(
            &format!("quick, seed {seed}"),
            quick.layout.placed.len(),
            quick.seconds,
            beside,
            sorting,
        );
    }
    let (Some(seed), Some(shortest)) = (seeds.first(), times.first()) else { return };
    let Some(pace) = Pace::found(&group, *shortest, *seed) else { return };
    for wanted in times {
        for seed in seeds {
            let Some(run) = pace.run(&group, *wanted, *seed) else { return };
            let words = format!("{wanted} s, seed {seed}");
            tell(&words, run.layout.placed.len(), run.seconds, beside, sorting);
        }
    }
}

/// Disks on hides of our own: ours at quick effort and after the shortest of the times, and the lattices.
pub(crate) fn time_own(times: &[f64], sorting: f64) {
    println!(
        "disks: {HIDES} hides of our own, {ACROSS} mm, {APART} mm apart, edge 2 mm, two flaws each"
    );
    println!(
        "  hide   m2     lattices  seconds   quick  seconds   wanted   count  seconds  in sorts"
    );
    let mut fewer = 0;
    for number in 1..=HIDES {
        let mut chance = Chance(number);
        let area = chance.between(0.3e6, 0.8e6);
        let Some(skin) = hide(160, area, 2, &mut chance) else { return };
        let (beside, looked) = timed(|| hexagonal(&skin, 2.0));
        let wanted = (1..10_000_u32).find(|n| f64::from(*n) * ACROSS * ACROSS * 0.8 > area);
        let Some(group) = disks(skin, 2.0, wanted.unwrap_or(WANTED)) else { return };
        let Some(quick) = run(&group, Effort::QUICK) else { return };
        let Some(shortest) = times.first() else { return };
        let Some(pace) = Pace::found(&group, *shortest, 1) else { return };
        let Some(long) = pace.run(&group, *shortest, 1) else { return };
        let (own, later) = (quick.layout.placed.len(), long.layout.placed.len());
        let is_fewer = own < beside || later < beside;
        fewer += u32::from(is_fewer);
        println!(
            "  {number:>4} {:>5.3} {beside:>10} {looked:>8.2} {own:>7} {:>8.2} {shortest:>6} s {later:>7} {:>8.2} {:>9.1}{}",
            area / 1e6,
            quick.seconds,
            long.seconds,
            long.seconds / sorting,
            if is_fewer { "   FEWER" } else { "" },
        );
    }
    println!("  {fewer} of {HIDES} hides hold FEWER than the best lattice");
}

fn tell(words: &str, count: usize, seconds: f64, beside: usize, sorting: f64) {
    println!(
        "           {words:<22} {count:>10} in {seconds:.2} s, {:.1} sorts{}",
        seconds / sorting,
        if count < beside { "   FEWER" } else { "" },
    );
}

fn timed(count: impl FnOnce() -> usize) -> (usize, f64) {
    let start = Instant::now();
    (count(), start.elapsed().as_secs_f64())
}

fn disks(sheet: Sheet, edge: f64, count: u32) -> Option<Group> {
    Some(group(many("disk", 0, &free(disk(ACROSS)?), count), sheet, edge, APART))
}

/// How far points are from a sheet's line and flaws, looked up from a raster first.
struct Clear<'a> {
    sheet: &'a Sheet,
    bounds: Rect,
    lines: Vec<Seg>,
    step: f64,
    columns: usize,
    /// Distance to the next line at the corners of the raster, negative where nothing may lie (mm).
    raster: Vec<f64>,
}

impl Clear<'_> {
    fn of(sheet: &Sheet) -> Clear<'_> {
        let (step, b) = (2.0, sheet.outline.bounds());
        let count = |long: f64| (0..100_000_u32).find(|n| f64::from(*n) * step > long).unwrap_or(1);
        let (columns, rows) = (count(b.width()) + 1, count(b.height()) + 1);
        let at =
            |i: u32, j: u32| Point::new(b.x0 + step * f64::from(i), b.y0 + step * f64::from(j));
        let raster = (0..rows).flat_map(|j| (0..columns).map(move |i| (i, j)));
        let loops = std::iter::once(&sheet.outline).chain(sheet.flaws.iter().map(|f| &f.outline));
        let lines = loops.flat_map(Loop::segs).collect();
        let mut made =
            Clear { sheet, bounds: b, lines, step, columns: columns as usize, raster: Vec::new() };
        made.raster = raster.map(|(i, j)| made.exact(at(i, j))).collect();
        made
    }

    fn holds(&self, p: Point, needed: f64) -> bool {
        let b = self.bounds;
        if p.x < b.x0 || p.y < b.y0 || p.x > b.x1 || p.y > b.y1 {
            return false;
        }
        let near = |x: f64| (x / self.step).round();
        let (i, j) = (near(p.x - b.x0), near(p.y - b.y0));
        let off = (p - Point::new(b.x0 + i * self.step, b.y0 + j * self.step)).hypot();
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "within the raster"
        )]
        let known = self.raster.get(j as usize * self.columns + i as usize);
        match known {
            Some(far) if far - off >= needed => true,
            Some(far) if far + off < needed => false,
            _ => self.exact(p) >= needed,
        }
    }

    fn exact(&self, p: Point) -> f64 {
        let far = self.lines.iter().map(|s| s.distance_to(p)).fold(f64::INFINITY, f64::min);
        let is_in = |line: &Loop| point_in_loop(p, line) == Where::Inside;
        let on_it =
            is_in(&self.sheet.outline) && !self.sheet.flaws.iter().any(|f| is_in(&f.outline));
        if on_it { far } else { -far }
    }
}

/// The most disks of a hexagonal lattice at a chance angle and offset that lie clear, of many.
fn hexagonal(sheet: &Sheet, edge: f64) -> usize {
    let clear = Clear::of(sheet);
    let b = sheet.outline.bounds();
    let far = b.width().hypot(b.height()) / 2.0;
    let step = ACROSS + APART;
    let count =
        (0..10_000_i32).find(|n| f64::from(*n) * step * FRAC_PI_3.sin() > far).unwrap_or(1) + 1;
    let mut chance = Chance(4);
    let mut best = 0;
    for _ in 0..POSES {
        let angle = chance.between(0.0, FRAC_PI_3);
        let (one, two) =
            (Vec2::from_angle(angle) * step, Vec2::from_angle(angle + FRAC_PI_3) * step);
        let start = b.center() + one * chance.between(0.0, 1.0) + two * chance.between(0.0, 1.0);
        let mut held = 0;
        for j in -count..=count {
            // Rows lean by half a step each: what they lean is taken back.
            let lean = -(j / 2);
            for i in lean - count..=lean + count {
                let p = start + one * f64::from(i) + two * f64::from(j);
                held += usize::from(clear.holds(p, ACROSS / 2.0 + edge));
            }
        }
        best = best.max(held);
    }
    best
}
