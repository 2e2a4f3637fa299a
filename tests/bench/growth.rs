//! How time and memory grow with the number of pieces, at quick effort.

use super::stuff::{Chance, bare_sheet, disk, fixed, free, group, hide, many, polygon};
use super::timing::{forget_peak, peak, peak_told, proving, run};
use pouchwork::geom::{Point, Shape, rectangle};
use pouchwork::lay::{Effort, Group};
use pouchwork::part::{Piece, Turns};
use pouchwork::sheet::{SheetKind, width_of_cloth};

/// Sizes among the pieces.
const SIZES: u32 = 30;
/// Width of the cloth (mm).
const WIDTH: f64 = 900.0;

/// What is wanted of a job: seconds, and the most memory (MB).
type Target = Option<(f64, f64)>;

/// Lays ever more small pieces on cloth, and a thousand on a hide.
pub(crate) fn time(sorting: f64) {
    println!("growth: small plates, disks and tapered blanks at quick effort");
    println!(
        "  pieces  on                            placed  evaluations  seconds  in sorts  in proofs      peak"
    );
    for count in [10, 100, 1000] {
        tell("cloth", cloth(count), sorting, None);
    }
    tell("hide, 1000 corners, 20 flaws", skin(1000), sorting, Some((8.0, 256.0)));
    tell("cloth", cloth(10_000), sorting, Some((90.0, 1024.0)));
}

fn tell(on: &str, group: Option<Group>, sorting: f64, target: Target) {
    let Some(group) = group else { return };
    forget_peak();
    let Some(run) = run(&group, Effort::QUICK) else { return };
    let over = target.map(|(seconds, memory)| {
        let is_over = run.seconds > seconds || peak().is_some_and(|mb| mb > memory);
        format!("   target {seconds} s, {memory} MB{}", if is_over { ": OVER" } else { "" })
    });
    println!(
        "  {:>6}  {on:<28} {:>7} {:>12} {:>8.2} {:>9.1} {:>10.1} {:>9}{}",
        group.pieces.len(),
        run.layout.placed.len(),
        run.layout.spent,
        run.seconds,
        run.seconds / sorting,
        run.seconds / proving(&group, &run.layout).max(1e-6),
        peak_told(),
        over.unwrap_or_default(),
    );
}

/// Pieces of 9 to 30 mm, of thirty sizes or fewer.
fn small(count: u32) -> Option<Vec<Piece>> {
    let mut chance = Chance(11);
    let sizes = SIZES.min(count);
    let mut pieces = Vec::new();
    for size in 0..sizes {
        let (long, wide) = (chance.between(18.0, 30.0), chance.between(9.0, 16.0));
        let turns = match size % 3 {
            0 => free(disk(wide)?),
            1 => plate(long, wide)?,
            _ => tapered(long, wide)?,
        };
        let own = count / sizes + u32::from(size < count % sizes);
        pieces.extend(many(&format!("part-{size}"), size as usize, &turns, own));
    }
    Some(pieces)
}

fn plate(long: f64, wide: f64) -> Option<Turns> {
    Some(free(Shape::plain(rectangle(Point::ORIGIN, long, wide, 0.15 * wide).ok()?)))
}

fn tapered(long: f64, wide: f64) -> Option<Turns> {
    let (end, third) = (0.3 * wide, long / 3.0);
    let corners = [
        (0.0, end),
        (third, 0.0),
        (long - third, 0.0),
        (long, end),
        (long, wide - end),
        (long - third, wide),
        (third, wide),
        (0.0, wide - end),
    ];
    Some(fixed(polygon(&corners)?, &[0.0, 180.0]))
}

fn cloth(count: u32) -> Option<Group> {
    let pieces = small(count)?;
    let length = 60.0 + f64::from(count) * 420.0 / WIDTH;
    let sheet = bare_sheet(SheetKind::Cloth, width_of_cloth(length, WIDTH).ok()?, Vec::new());
    Some(group(pieces, sheet, 3.0, 0.5))
}

fn skin(count: u32) -> Option<Group> {
    let sheet = hide(1000, f64::from(count) * 480.0, 20, &mut Chance(12))?;
    Some(group(small(count)?, sheet, 3.0, 0.5))
}
