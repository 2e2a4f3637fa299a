//! The order of 500 contours, and of 10 000: its way beside a bound, its time beside a sort of a million numbers, ten
//! times over.
//!
//! `cargo bench --bench plan`
//!
//! 160 disks with two or three holes each lie on a sheet of 480 by 300 mm, on a staggered grid or anywhere. The bound
//! is that of Held and Karp over the least distances between circles: it does not know that a cut ends where it began,
//! so that no order can reach it. Timings are for people: no test depends on them.

#![allow(clippy::print_stdout, reason = "a bench prints")]

mod sorting;

use pouchwork::geom::{Loop, Point, Vec2};
use pouchwork::plan::order::{Stop, order};
use std::time::Instant;

/// Rounds of the bound.
const ROUNDS: usize = 1000;

fn main() {
    let sorting = sorting::sorting();
    println!("plan: a million numbers are sorted ten times in {sorting:.2} s");
    println!(
        "  disks                 contours  file order      way    bound   ratio  seconds  in sorts"
    );
    for radius in [8.0, 9.0, 12.5] {
        for grid in [true, false] {
            // Disks of 12.5 mm hardly find room by chance.
            if grid || radius < 10.0 {
                tell(160, radius, grid, sorting, true);
            }
        }
    }
    tell(3180, 9.0, true, sorting, false);
}

fn tell(count: usize, radius: f64, grid: bool, sorting: f64, bounded: bool) {
    let Some(stops) = disks(count, radius, grid) else {
        println!("  no room for {count} disks of radius {radius}");
        return;
    };
    let start = Instant::now();
    let done = order(&stops, Point::ORIGIN);
    let seconds = start.elapsed().as_secs_f64();
    let way = travel(done.iter().map(|(_, p)| *p));
    // Disk by disk, holes first, everything from its rightmost point.
    let typed = travel(stops.iter().map(|s| s.line.start()));
    let bound = if bounded { bound(&stops, Point::ORIGIN) } else { f64::NAN };
    let places = if grid { "grid" } else { "anywhere" };
    println!(
        "  radius {radius:>4.1}, {places:<9} {:>8} {typed:>11.0} {way:>8.0} {bound:>8.0} {:>7.3} {seconds:>8.3} {:>9.2}",
        stops.len(),
        way / bound,
        seconds / sorting,
    );
}

fn travel(points: impl Iterator<Item = Point>) -> f64 {
    let mut at = Point::ORIGIN;
    points.map(|p| (std::mem::replace(&mut at, p) - p).hypot()).sum()
}

/// Numbers by chance, the same every time.
struct Chance(u64);

impl Chance {
    fn word(&mut self) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 24
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "a share")]
        let share = self.word() as f64 / (1_u64 << 40) as f64;
        low + (high - low) * share
    }
}

fn circle(at: Point, radius: f64) -> Stop {
    Stop { line: Loop::Circle(at, radius), anywhere: true }
}

/// Disks, each after its holes, one in eight of them with three.
fn disks(count: usize, radius: f64, grid: bool) -> Option<Vec<Stop>> {
    let mut chance = Chance(5);
    let mut middles: Vec<Point> = Vec::new();
    #[allow(clippy::cast_precision_loss, reason = "a count of disks")]
    let across = (count as f64 * 1.6).sqrt().ceil();
    let mut tries = 0;
    while middles.len() < count {
        tries += 1;
        if tries > 1_000_000 {
            return None;
        }
        #[allow(clippy::cast_precision_loss, reason = "a count of disks")]
        let n = middles.len() as f64;
        let (row, column) = ((n / across).floor(), n % across);
        let p = if grid {
            Point::new(30.0 * column + if row % 2.0 > 0.5 { 15.0 } else { 0.0 }, 30.0 * row)
        } else {
            Point::new(chance.between(0.0, 480.0), chance.between(0.0, 300.0))
        };
        if grid || middles.iter().all(|q| (*q - p).hypot() >= 2.0 * radius + 5.0) {
            middles.push(p);
        }
    }
    let mut stops = Vec::new();
    for (n, middle) in middles.into_iter().enumerate() {
        let holes = if n % 8 == 0 { 3 } else { 2 };
        let first = chance.between(0.0, std::f64::consts::TAU);
        for k in 0..holes {
            let turn = first + std::f64::consts::TAU * f64::from(k) / f64::from(holes);
            stops.push(circle(middle + Vec2::from_angle(turn) * (0.56 * radius), 1.5));
        }
        stops.push(circle(middle, radius));
    }
    Some(stops)
}

/// Least distance between two circles' lines.
fn apart(a: &Stop, b: &Stop) -> f64 {
    let (Some((c, r)), Some((d, s))) = (a.line.as_circle(), b.line.as_circle()) else {
        return 0.0;
    };
    let far = (c - d).hypot();
    (far - r - s).max((r - s).abs() - far).max(0.0)
}

/// The bound of Held and Karp for a way from a point by all stops: a tree, closed by a stop that is at no distance from
/// any; weights are raised where trees branch and lowered where they end.
///
/// # Source
/// M. Held, R. M. Karp, The traveling-salesman problem and minimum spanning trees, 1970.
fn bound(stops: &[Stop], from: Point) -> f64 {
    let mut all = stops.to_vec();
    all.push(circle(from, 0.0));
    let n = all.len();
    let far: Vec<Vec<f64>> =
        all.iter().map(|a| all.iter().map(|b| apart(a, b)).collect()).collect();
    let mut weights = vec![0.0; n];
    let (mut best, mut step): (f64, f64) = (0.0, 2.0);
    for round in 0..ROUNDS {
        let (mut whole, mut degree) = tree(&far, &weights);
        let least = (0..n - 1).min_by(|a, b| weights[*a].total_cmp(&weights[*b])).unwrap_or(0);
        for closing in [n - 1, least] {
            whole += weights[closing];
            degree[closing] += 1.0;
        }
        let value = whole - 2.0 * weights.iter().sum::<f64>();
        best = best.max(value);
        let off: f64 = degree.iter().map(|d| (d - 2.0) * (d - 2.0)).sum();
        if off < 0.5 {
            break;
        }
        if round % 20 == 19 {
            step *= 0.9;
        }
        let pace = step * (1.1 * best.max(1.0) - value).max(0.01 * best) / off;
        for (weight, degree) in weights.iter_mut().zip(&degree) {
            *weight += pace * (degree - 2.0);
        }
    }
    best
}

/// The least tree with weights, by Prim: its length and how many branches meet at each stop.
fn tree(far: &[Vec<f64>], weights: &[f64]) -> (f64, Vec<f64>) {
    let n = far.len();
    let mut degree = vec![0.0; n];
    let mut cost = vec![(f64::INFINITY, n - 1); n];
    let mut done = vec![false; n];
    let (mut at, mut whole) = (n - 1, 0.0);
    for _ in 1..n {
        done[at] = true;
        let mut next = (f64::INFINITY, 0);
        for j in (0..n).filter(|j| !done[*j]) {
            let way = far[at][j] + weights[at] + weights[j];
            if way < cost[j].0 {
                cost[j] = (way, at);
            }
            if cost[j].0 < next.0 {
                next = (cost[j].0, j);
            }
        }
        at = next.1;
        whole += next.0;
        degree[at] += 1.0;
        degree[cost[at].1] += 1.0;
    }
    (whole, degree)
}
