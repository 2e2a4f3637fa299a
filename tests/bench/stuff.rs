//! What the benches are made of: shapes, pieces, a bare sheet, a group on it, and how far a layout reaches.

use pouchwork::geom::{Loop, Point, Shape, Vec2};
use pouchwork::lay::{Ground, Group, Layout};
use pouchwork::part::{Address, Design, Needs, Piece, Stance, Turns};
use pouchwork::sheet::{Flaw, Sheet, SheetKind};
use serde_json::Value;
use std::f64::consts::TAU;
use std::sync::Arc;

/// A round shape about the origin.
pub(crate) fn disk(diameter: f64) -> Option<Shape> {
    Some(Shape::plain(Loop::circle(Point::ORIGIN, diameter / 2.0).ok()?))
}

/// A shape of straight lines.
pub(crate) fn polygon(corners: &[(f64, f64)]) -> Option<Shape> {
    let corners: Vec<Point> = corners.iter().map(|(x, y)| Point::new(*x, *y)).collect();
    Some(Shape::plain(Loop::polygon(&corners).ok()?))
}

/// A line out of an instance: a list of points, closed or not, all made larger or smaller alike.
pub(crate) fn outline(data: &Value, scale: f64) -> Option<Loop> {
    let point = |p: &Value| Some(Point::new(p[0].as_f64()? * scale, p[1].as_f64()? * scale));
    let mut points: Vec<Point> = data.as_array()?.iter().filter_map(point).collect();
    if let [first, .., last] = points[..]
        && (last - first).hypot() < 1e-9
    {
        points.pop();
    }
    Loop::polygon(&points).ok()
}

fn design(shape: Shape) -> Arc<Design> {
    Arc::new(Design { shape, creases: Vec::new(), punches: Vec::new(), rounds: Vec::new() })
}

/// A shape that turns freely.
pub(crate) fn free(shape: Shape) -> Turns {
    Turns::Free(design(shape))
}

/// A shape that lies at some turns only.
pub(crate) fn fixed(shape: Shape, turns: &[f64]) -> Turns {
    let design = design(shape);
    let stance = |turn: &f64| Stance { turn: *turn, within: 0.0, design: Arc::clone(&design) };
    Turns::Fixed(turns.iter().map(stance).collect())
}

/// One piece of a size.
pub(crate) fn piece(part: &str, position: u32, size: usize, turns: &Turns) -> Piece {
    Piece {
        address: Address { part: part.to_owned(), position, member: None, spare: 0 },
        size,
        turns: turns.clone(),
        face: None,
        soft: false,
        needs: Needs::default(),
    }
}

/// Equal pieces, numbered from 1.
pub(crate) fn many(part: &str, size: usize, turns: &Turns, count: u32) -> Vec<Piece> {
    (1..=count).map(|position| piece(part, position, size, turns)).collect()
}

/// A sheet of the best grade with nothing known of it but its line and its flaws.
pub(crate) fn bare_sheet(kind: SheetKind, outline: Loop, flaws: Vec<Loop>) -> Sheet {
    let flaw = |outline| Flaw { why: "flaw".to_owned(), outline };
    let flaws = flaws.into_iter().map(flaw).collect();
    Sheet { flaws, ..Sheet::bare(kind.name(), kind, "stuff", outline) }
}

/// Pieces on one sheet.
pub(crate) fn group(pieces: Vec<Piece>, sheet: Sheet, edge: f64, apart: f64) -> Group {
    let grounds = vec![Ground { sheet: Arc::new(sheet), edge, window: None }];
    Group { pieces, grounds, apart, hard_edges: false, window: None }
}

/// How far the pieces reach along x.
pub(crate) fn reach(group: &Group, layout: &Layout) -> f64 {
    let end = |placed: &pouchwork::lay::Placed| {
        let design = group.pieces[placed.piece].turns.design(placed.stance)?;
        Some(placed.pose.on_loop(design.shape.outline()).bounds().x1)
    };
    layout.placed.iter().filter_map(end).fold(0.0, f64::max)
}

/// Area within the outline of a piece, its holes not taken off (mm²).
pub(crate) fn gross(piece: &Piece) -> f64 {
    piece.turns.design(0).map_or(0.0, |d| d.shape.outline().area())
}

/// A stream of chance.
///
/// # Source
/// The `SplitMix64` step of Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014.
#[derive(Debug, Clone)]
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    pub(crate) fn word(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "53 bits fit exactly")]
        let share = (self.word() >> 11) as f64 / 9_007_199_254_740_992.0;
        low + (high - low) * share
    }
}

/// A hide of so many corners and an area (mm²): a circle whose radius waves, with round flaws inside it.
pub(crate) fn hide(corners: u32, area: f64, flaws: u32, chance: &mut Chance) -> Option<Sheet> {
    let waves: Vec<(f64, f64, f64)> = (2..7_u32)
        .map(|k| {
            let k = f64::from(k);
            (k, chance.between(0.0, 0.3 / k), chance.between(0.0, TAU))
        })
        .collect();
    let line = |size: f64| {
        let points: Vec<Point> = (0..corners)
            .map(|i| {
                let angle = TAU * f64::from(i) / f64::from(corners);
                let wave: f64 = waves.iter().map(|w| w.1 * (w.0 * angle + w.2).sin()).sum();
                Point::ORIGIN + Vec2::from_angle(angle) * (size * (1.0 + wave))
            })
            .collect();
        Loop::polygon(&points).ok()
    };
    let size = 100.0 * (area / line(100.0)?.area()).sqrt();
    let flaws = (0..flaws)
        .map(|_| {
            let off = Vec2::from_angle(chance.between(0.0, TAU)) * chance.between(0.1, 0.5) * size;
            Loop::circle(off.to_point(), chance.between(6.0, 18.0)).ok()
        })
        .collect::<Option<Vec<Loop>>>()?;
    Some(bare_sheet(SheetKind::Hide, line(size)?, flaws).at_origin())
}
