//! One piece cut again on a sheet from which a thousand were cut, beside a sort of a million numbers, ten times over.
//!
//! `cargo bench --bench recut -- [CUTS]`
//!
//! Disks and plates in rows on one sheet; the piece is to come as near to its first place as there is room. Limit 0.3 s,
//! the proof counted. Timings are for people: no test depends on them.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    reason = "a bench prints, and stops where it fails"
)]

mod sorting;

use pouchwork::geom::{Loop, Point, Shape, rectangle};
use pouchwork::lay::{Ground, Group, Wish, lone};
use pouchwork::part::{Address, Design, Needs, Piece, Stance, Turns};
use pouchwork::sheet::{Holder, Sheet, SheetKind, State, Used};
use std::sync::Arc;
use std::time::Instant;

/// From one to the next (mm).
const PITCH: f64 = 42.0;

fn plate(x: f64, y: f64) -> Loop {
    rectangle(Point::new(x, y), 38.0, 30.0, 4.0).expect("a plate")
}

fn used(n: u32, wide: u32) -> Used {
    let (x, y) = (10.0 + PITCH * f64::from(n % wide), 10.0 + PITCH * f64::from(n / wide));
    let outline = if n.is_multiple_of(2) {
        Loop::circle(Point::new(x + 20.0, y + 20.0), 20.0).expect("a disk")
    } else {
        plate(x, y)
    };
    let by = Holder { job: None, lay: "lay-1".to_owned(), hash: String::new() };
    Used { by, address: format!("pad:{n}"), state: State::Failed, outline, given: None }
}

fn main() {
    let given = std::env::args().skip(1).find_map(|word| word.parse::<u32>().ok());
    let cuts = given.unwrap_or(1000).max(1);
    let wide = (f64::from(cuts).sqrt() * 1.4).ceil().max(1.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small count")]
    let row = wide as u32;
    let high = f64::from(cuts.div_ceil(row));
    let outline = rectangle(Point::ORIGIN, PITCH * wide + 80.0, PITCH * high + 80.0, 0.0);
    let mut sheet = Sheet::bare("H1", SheetKind::Hide, "leather", outline.expect("a sheet"));
    sheet.used = (0..cuts).map(|n| used(n, row)).collect();
    let middle = sheet.used[sheet.used.len() / 2].outline.bounds().center();
    let shape = Shape::plain(plate(0.0, 0.0));
    let design =
        Arc::new(Design { shape, creases: Vec::new(), punches: Vec::new(), rounds: Vec::new() });
    let piece = Piece {
        address: Address { part: "pad".to_owned(), position: 1, member: None, spare: 0 },
        size: 0,
        turns: Turns::Fixed(vec![Stance { turn: 0.0, within: 0.0, design }]),
        face: None,
        soft: false,
        needs: Needs::default(),
    };
    let group = Group {
        pieces: vec![piece],
        grounds: vec![Ground { sheet: Arc::new(sheet), edge: 5.0, window: None }],
        apart: 1.5,
        hard_edges: false,
        window: None,
    };
    let wish = Wish { ways: vec![(0, 0.0)], near: Some(middle), within: None, first: Vec::new() };
    let start = Instant::now();
    let found = lone(&group, 0, &wish);
    let seconds = start.elapsed().as_secs_f64();
    let sort = sorting::sorting();
    let what = if found.is_some() { "placed and proven" } else { "no place" };
    println!("recut among {cuts} cuts: {what} in {seconds:.3} s; {:.3} of a sort", seconds / sort);
}
