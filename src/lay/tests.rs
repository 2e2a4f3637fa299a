//! Laying, from the small to the random.

mod breaches;
mod choice;
mod corners;
mod cut;
mod holes;
pub(super) mod jobs;
mod lone;
mod random;
mod record;
mod tight;
mod twin;
mod used;
mod zones;

use super::*;
use crate::geom::{Loop, Point, Shape, Vec2, rectangle};
use crate::part::{Address, Design, Needs, Stance, Turns};
use crate::sheet::{Flaw, SheetKind, width_of_cloth};

pub(super) fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// A sheet of an outline with flaws.
pub(super) fn sheet(id: &str, kind: SheetKind, outline: Loop, flaws: Vec<Loop>) -> Sheet {
    let flaws = flaws.into_iter().map(|outline| Flaw { why: "hole".to_owned(), outline });
    Sheet { flaws: flaws.collect(), ..Sheet::bare(id, kind, "goat", outline) }
}

pub(super) fn cloth(length: f64, width: f64) -> Sheet {
    let outline = width_of_cloth(length, width).unwrap();
    sheet("cloth", SheetKind::Cloth, outline, Vec::new())
}

pub(super) fn group(pieces: Vec<Piece>, sheets: Vec<Sheet>, edge: f64, apart: f64) -> Group {
    Group {
        pieces,
        grounds: sheets
            .into_iter()
            .map(|sheet| Ground { sheet: Arc::new(sheet), edge, window: None })
            .collect(),
        apart,
        hard_edges: false,
        window: None,
    }
}

fn design(shape: Shape) -> Arc<Design> {
    Arc::new(Design { shape, creases: Vec::new(), punches: Vec::new(), rounds: Vec::new() })
}

pub(super) fn free(shape: Shape) -> Turns {
    Turns::Free(design(shape))
}

pub(super) fn fixed(shape: Shape, turns: &[f64]) -> Turns {
    let design = design(shape);
    let stance = |turn: &f64| Stance { turn: *turn, within: 0.0, design: Arc::clone(&design) };
    Turns::Fixed(turns.iter().map(stance).collect())
}

pub(super) fn disk(diameter: f64) -> Shape {
    Shape::plain(Loop::circle(Point::ORIGIN, diameter / 2.0).unwrap())
}

pub(super) fn plate(width: f64, height: f64, radius: f64) -> Shape {
    Shape::plain(rectangle(p(-3.0, 7.0), width, height, radius).unwrap())
}

pub(super) fn ring(outer: f64, inner: f64) -> Shape {
    let of = |d: f64| Loop::circle(p(1.0, 2.0), d / 2.0).unwrap();
    Shape::new(of(outer), vec![of(inner)]).unwrap()
}

/// `count` pieces of one size, numbered from 1; the last `spares` of them are spares.
pub(super) fn many(part: &str, size: usize, turns: &Turns, count: u32, spares: u32) -> Vec<Piece> {
    (1..=count)
        .map(|n| Piece {
            address: Address {
                part: part.to_owned(),
                position: if n + spares > count { 1 } else { n },
                member: None,
                spare: (n + spares).saturating_sub(count),
            },
            size,
            turns: turns.clone(),
            face: None,
            soft: false,
            needs: Needs::default(),
        })
        .collect()
}

pub(super) fn effort(evaluations: u64) -> Effort {
    Effort { evaluations, seed: 7 }
}

/// Lays and proves.
pub(super) fn laid(group: &Group, evaluations: u64) -> Layout {
    let layout = lay(group, effort(evaluations), &Patient);
    if let Err(breaches) = proof::prove(group, &layout) {
        panic!("{breaches:?}");
    }
    layout
}

/// The far end of what lies on a ground, along x.
pub(super) fn far_end(group: &Group, layout: &Layout) -> f64 {
    shapes(group, layout).iter().map(|s| s.bounds().x1).fold(f64::NEG_INFINITY, f64::max)
}

pub(super) fn shapes(group: &Group, layout: &Layout) -> Vec<Shape> {
    layout
        .placed
        .iter()
        .map(|l| {
            let design = group.pieces[l.piece].turns.design(l.stance).unwrap();
            design.shape.posed(&l.pose)
        })
        .collect()
}
