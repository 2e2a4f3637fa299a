//! Laying on strips: instances of the usual form, each a folder's JSON file with `strip_height` and `items`.
//!
//! `cargo bench --bench lay -- FOLDER [NAME,NAME] [SEED,SEED] [SECONDS]`; the folder may also stand in the environment
//! variable `POUCHWORK_INSTANCES`. Prints for each instance and seed when the first layout was there, its density, the
//! density at the end, evaluations and seconds, and the strip's length as a share of what the constructive rounds alone
//! come to. Files with hides, `bins`, are laid by `leather`; of an instance with a `hide` it tells how many disks find
//! room on it, whole and in bed windows. The evaluations are chosen for the seconds wanted. Timings are for people: no
//! test depends on them.

#![allow(clippy::print_stdout, reason = "a bench prints")]

mod blanks;
mod leather;
mod windows;

use pouchwork::fault::Place;
use pouchwork::geom::{Loop, Point, Shape};
use pouchwork::lay::{Effort, Ground, Group, Layout, Patient, Progress, Watch, lay, proof};
use pouchwork::part::{Address, Design, Needs, Piece, Stance, Turns};
use pouchwork::sheet::{Sheet, SheetKind, width_of_cloth};
use serde_json::Value;
use std::fs;
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};
use std::time::Instant;

/// An effort at which the constructive rounds are alone.
const PLAIN: u64 = 99_000;

/// Notes when the first layout is there.
struct First {
    start: Instant,
    after: OnceLock<f64>,
}

impl Watch for First {
    fn look(&self, progress: Progress) {
        if progress.placed > 0 {
            self.after.get_or_init(|| self.start.elapsed().as_secs_f64());
        }
    }

    fn stop(&self) -> bool {
        false
    }
}

/// A strip, and the area of the pieces that go on it.
struct Strip {
    group: Group,
    height: f64,
    area: f64,
}

fn main() {
    let mut words = std::env::args().skip(1).filter(|word| word != "--bench");
    let folder = words.next().or_else(|| std::env::var("POUCHWORK_INSTANCES").ok());
    let Some(folder) = folder else {
        println!("lay: no folder of instances given, only blanks timed");
        blanks::time(&[1]);
        return;
    };
    let names = words.next().unwrap_or_default();
    let seeds = words.next().unwrap_or_else(|| "1".to_owned());
    let seconds = words.next().and_then(|word| word.parse().ok()).unwrap_or(10.0);
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
    files.sort();
    println!(
        "instance   seed  first s  first %  plain %    end %  length/plain  evaluations  seconds"
    );
    for file in files {
        let name = file.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        if !names.is_empty() && !names.split(',').any(|wanted| wanted == name) {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap_or_default();
        for seed in seeds.split(',').filter_map(|seed| seed.parse().ok()) {
            leather::time(&name, &text, seed);
        }
        windows::time(&name, &text, &[20_000, 1_000_000]);
        if let Some(strip) = strip(&text) {
            for seed in seeds.split(',').filter_map(|seed| seed.parse().ok()) {
                time(&name, &strip, seed, seconds);
            }
        }
    }
}

fn time(name: &str, strip: &Strip, seed: u64, seconds: f64) {
    let density = |layout: &Layout| 100.0 * strip.area / (length(strip, layout) * strip.height);
    let timed = |evaluations: u64, watch: &dyn Watch| {
        let start = Instant::now();
        let layout = lay(&strip.group, Effort { evaluations, seed }, watch);
        (layout, start.elapsed().as_secs_f64())
    };
    let (first, first_seconds) = timed(1, &Patient);
    let (plain, plain_seconds) = timed(PLAIN, &Patient);
    // The two stages cost differently: growing runs tell what a long one may spend.
    let mut wanted = 1_000_000;
    for share in [0.15, 1.0] {
        let (layout, taken) = timed(wanted, &Patient);
        #[allow(clippy::cast_precision_loss, reason = "a rate")]
        let count = layout.spent as f64 / taken.max(1e-3) * seconds * share;
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a positive count"
        )]
        let count = count.clamp(1e6, 1e12) as u64;
        wanted = count;
    }
    let watch = First { start: Instant::now(), after: OnceLock::new() };
    let (last, last_seconds) = timed(wanted, &watch);
    if let Err(breaches) = proof::prove(&strip.group, &last) {
        println!("{name}: {breaches:?}");
        return;
    }
    let ratio = length(strip, &last) / length(strip, &plain);
    println!(
        "{name:<10} {seed:>4} {first_seconds:>8.2} {:>8.2} {:>8.2} {:>8.2} {ratio:>13.3} {:>12} {last_seconds:>8.1}   plain {plain_seconds:.1} s, {} left out",
        density(&first),
        density(&plain),
        density(&last),
        last.spent,
        last.left.len(),
    );
}

/// How far the pieces reach.
fn length(strip: &Strip, layout: &Layout) -> f64 {
    layout
        .placed
        .iter()
        .filter_map(|placed| {
            let design = strip.group.pieces[placed.piece].turns.design(placed.stance)?;
            Some(placed.pose.on_loop(design.shape.outline()).bounds().x1)
        })
        .fold(0.0, f64::max)
}

/// A strip out of an instance; none where the file holds something else.
fn strip(text: &str) -> Option<Strip> {
    let read: Value = serde_json::from_str(text).ok()?;
    let height = read["strip_height"].as_f64()?;
    let mut pieces = Vec::new();
    let (mut area, mut longest) = (0.0, 0.0_f64);
    for (size, item) in read["items"].as_array()?.iter().enumerate() {
        let shape = Shape::plain(outline(&item["shape"]["data"])?);
        let bounds = shape.bounds();
        let turns: Vec<f64> = match item["allowed_orientations"].as_array() {
            Some(list) => list.iter().filter_map(Value::as_f64).collect(),
            None => vec![0.0],
        };
        let count = u32::try_from(item["demand"].as_u64()?).ok()?;
        area += shape.area() * f64::from(count);
        longest = longest.max(bounds.width().hypot(bounds.height()));
        let design = Arc::new(Design {
            shape,
            creases: Vec::new(),
            punches: Vec::new(),
            rounds: Vec::new(),
        });
        let stance = |turn: &f64| Stance { turn: *turn, within: 0.0, design: Arc::clone(&design) };
        let turns = Turns::Fixed(turns.iter().map(stance).collect());
        pieces.extend((1..=count).map(|position| Piece {
            address: Address { part: format!("item-{size}"), position, member: None, spare: 0 },
            size,
            turns: turns.clone(),
            face: None,
            soft: false,
            needs: Needs::default(),
        }));
    }
    let sheet = Sheet {
        id: "strip".to_owned(),
        kind: SheetKind::Cloth,
        material: "cloth".to_owned(),
        up: None,
        outline: width_of_cloth(3.0 * area / height + 2.0 * longest, height).ok()?,
        flaws: Vec::new(),
        grade: 1,
        zones: Vec::new(),
        readings: Vec::new(),
        grain: 0.0,
        edge: None,
        thickness: None,
        cut_with: None,
        generation: 1,
        added: None,
        from: None,
        place: Place::head(&Arc::from("strip")),
    };
    let grounds = vec![Ground { sheet: Arc::new(sheet), edge: 0.0, window: None }];
    Some(Strip {
        group: Group { pieces, grounds, apart: 0.0, hard_edges: false, window: None },
        height,
        area,
    })
}

fn outline(data: &Value) -> Option<Loop> {
    let point = |p: &Value| Some(Point::new(p[0].as_f64()?, p[1].as_f64()?));
    let mut points: Vec<Point> = data.as_array()?.iter().filter_map(point).collect();
    if let [first, .., last] = points[..]
        && (last - first).hypot() < 1e-9
    {
        points.pop();
    }
    Loop::polygon(&points).ok()
}
