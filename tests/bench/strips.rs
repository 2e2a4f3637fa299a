//! Strips: how dense the pieces lie on the part of the strip that they take, beside the densities in print.
//!
//! # Source
//! Gardeyn, Vanden Berghe, Wauters, "An open-source heuristic to reboot 2D nesting research", arXiv 2509.13329, 2025,
//! tables 2 and 3: means of 100 runs of 20 minutes on three threads; and, as collected there, the means of Elkeran, "A
//! new approach for sheet nesting problem using guided cuckoo search and pairwise clustering", European Journal of
//! Operational Research 231, 2013.

use super::stuff::{bare_sheet, fixed, gross, group, many, outline, reach};
use super::timing::{Pace, Run, mean, run};
use pouchwork::geom::Shape;
use pouchwork::lay::{Effort, Group, Layout};
use pouchwork::sheet::{SheetKind, width_of_cloth};
use serde_json::Value;

/// An effort at which the constructive rounds are alone.
const PLAIN: u64 = 99_000;

/// Density in print (%): instance, mean of 2025, mean of 2013.
const PUBLISHED: [(&str, f64, f64); 13] = [
    ("albano", 89.47, 87.47),
    ("dagli", 89.26, 87.06),
    ("fu", 92.24, 90.68),
    ("jakobs1", 89.09, 88.90),
    ("jakobs2", 84.77, 81.14),
    ("mao", 86.14, 82.93),
    ("marques", 90.93, 89.40),
    ("shapes0", 68.60, 67.26),
    ("shapes1", 75.69, 73.79),
    ("blaz1", 84.68, 82.40),
    ("shirts", 89.66, 87.59),
    ("swim", 78.26, 74.49),
    ("trousers", 91.73, 89.02),
];

/// A strip and its height (mm).
struct Strip {
    group: Group,
    height: f64,
}

impl Strip {
    /// Area of the pieces that lie, as a share of the strip they take (%).
    fn density(&self, layout: &Layout) -> f64 {
        let area: f64 = layout.placed.iter().map(|p| gross(&self.group.pieces[p.piece])).sum();
        100.0 * area / (reach(&self.group, layout) * self.height)
    }
}

/// The head of the table.
pub(crate) fn head() {
    println!(
        "strips; printed: means of Gardeyn, Vanden Berghe, Wauters (arXiv 2509.13329, 2025) and Elkeran (EJOR 231, \
         2013), 20 minutes a run"
    );
    println!(
        "instance   wanted  first s  first %  plain %   mean %   best %  evaluations  seconds  in sorts  2025 %  2013 %"
    );
}

/// Lays a strip for each of some times with each seed; does nothing where the file holds something else.
pub(crate) fn time(name: &str, text: &str, seeds: &[u64], times: &[f64], sorting: f64) {
    let (Some(strip), Some(seed), Some(shortest)) = (strip(text), seeds.first(), times.first())
    else {
        return;
    };
    let at = |evaluations| run(&strip.group, Effort { evaluations, seed: *seed });
    let (Some(first), Some(plain)) = (at(1), at(PLAIN)) else { return };
    let Some(mut pace) = Pace::found(&strip.group, *shortest, *seed) else { return };
    let printed = PUBLISHED.iter().find(|row| row.0 == name);
    let printed = printed
        .map_or("     -       -".to_owned(), |row| format!("{:>6.2}  {:>6.2}", row.1, row.2));
    for wanted in times {
        let runs: Option<Vec<Run>> =
            seeds.iter().map(|seed| pace.run(&strip.group, *wanted, *seed)).collect();
        let Some(runs) = runs else { return };
        let of = |figure: &dyn Fn(&Run) -> f64| runs.iter().map(figure).collect::<Vec<f64>>();
        let density = of(&|run| strip.density(&run.layout));
        #[allow(clippy::cast_precision_loss, reason = "a mean that is shown")]
        let spent = mean(&of(&|run| run.layout.spent as f64));
        let seconds = mean(&of(&|run| run.seconds));
        let left: usize = runs.iter().map(|run| run.layout.left.len()).sum();
        let cut_short = runs.iter().filter(|run| run.layout.stopped).count();
        println!(
            "{name:<10} {} {:>8.2} {:>8.2} {:>8.2} {:>8.2} {:>8.2} {spent:>12.0} {seconds:>8.2} {:>9.1}  \
             {printed}{}{}",
            asked_for(*wanted),
            first.seconds,
            strip.density(&first.layout),
            strip.density(&plain.layout),
            mean(&density),
            density.iter().copied().fold(0.0, f64::max),
            seconds / sorting,
            told(left, "left out"),
            told(cut_short, "stopped by the clock"),
        );
        pace.learn(&runs);
    }
}

/// Seconds, or a count of evaluations.
fn asked_for(wanted: f64) -> String {
    if wanted < 1e6 { format!("{wanted:>4} s") } else { format!("{:>4} M", wanted / 1e6) }
}

fn told(count: usize, what: &str) -> String {
    if count == 0 { String::new() } else { format!("   {count} {what}") }
}

/// A strip out of an instance; none where the file holds something else. One that is longer than any cloth may be is made
/// smaller: densities stay the same.
fn strip(text: &str) -> Option<Strip> {
    let read: Value = serde_json::from_str(text).ok()?;
    [1.0, 0.1, 0.01].into_iter().find_map(|scale| scaled(&read, scale))
}

fn scaled(read: &Value, scale: f64) -> Option<Strip> {
    let height = read["strip_height"].as_f64()? * scale;
    let mut pieces = Vec::new();
    let (mut area, mut longest) = (0.0, 0.0_f64);
    for (size, item) in read["items"].as_array()?.iter().enumerate() {
        let shape = Shape::plain(outline(&item["shape"]["data"], scale)?);
        let bounds = shape.bounds();
        let turns: Vec<f64> = match item["allowed_orientations"].as_array() {
            Some(list) => list.iter().filter_map(Value::as_f64).collect(),
            None => vec![0.0],
        };
        let count = u32::try_from(item["demand"].as_u64()?).ok()?;
        area += shape.area() * f64::from(count);
        longest = longest.max(bounds.width().hypot(bounds.height()));
        pieces.extend(many(&format!("item-{size}"), size, &fixed(shape, &turns), count));
    }
    let length = 3.0 * area / height + 2.0 * longest;
    let sheet = bare_sheet(SheetKind::Cloth, width_of_cloth(length, height).ok()?, Vec::new());
    Some(Strip { group: group(pieces, sheet, 0.0, 0.0), height })
}
