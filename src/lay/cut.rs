//! Where a sheet can be cut off behind the pieces.

use super::kernel::Field;
use super::{Ground, Group, Layout};
use crate::geom::{Rect, Vec2};
use crate::sheet::SheetKind;

/// A straight cut across a sheet, with every piece of it and all ground that others hold on the near side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutOff {
    /// Index of the ground.
    pub ground: usize,
    /// The way in which the cut moves off from the pieces: one of the four directions of the axes.
    pub way: Vec2,
    /// From the sheet's side to the cut, the edge allowance behind the last piece counted (mm).
    pub length: f64,
    /// The length as a share of the sheet's.
    pub share: f64,
}

/// The ways in which a sheet may be cut off: a cloth across the roll, a leaf along two sides, a hide along four.
pub(crate) fn ways(kind: SheetKind) -> &'static [(f64, f64)] {
    let all = &[(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
    match kind {
        SheetKind::Cloth => &all[..1],
        SheetKind::Leaf => &all[..2],
        SheetKind::Hide => all,
    }
}

/// The cut-off of every ground that pieces lie on, by ground: that which takes the least area of it.
pub fn cut_offs(group: &Group, layout: &Layout) -> Vec<CutOff> {
    let boxes = |n: usize| -> Option<Rect> {
        let on_it = layout.placed.iter().filter(|p| p.ground == n);
        on_it
            .filter_map(|p| {
                let design = group.pieces.get(p.piece)?.turns.design(p.stance)?;
                Some(p.pose.on_loop(design.shape.outline()).bounds())
            })
            .reduce(|a, b| a.union(b))
    };
    let each = group.grounds.iter().enumerate();
    each.filter_map(|(n, ground)| {
        let lying = boxes(n)?;
        let all = held(ground).map_or(lying, |held| held.union(lying));
        Some(CutOff { ground: n, ..behind(ground, all) })
    })
    .collect()
}

/// The cut-off of a ground behind all that is cut or claimed of it; none where nothing is.
pub fn cut_off_of_held(ground: &Ground) -> Option<CutOff> {
    held(ground).map(|held| behind(ground, held))
}

/// The box around all that others hold.
fn held(ground: &Ground) -> Option<Rect> {
    let used = ground.sheet.used.iter().map(|used| used.outline.bounds());
    used.reduce(|a, b| a.union(b))
}

/// The cut-off behind a box that takes the least area of a ground.
fn behind(ground: &Ground, lying: Rect) -> CutOff {
    let sheet = ground.sheet.outline.bounds();
    let found = ways(ground.sheet.kind).iter().map(|(x, y)| {
        let (length, whole) = if y.abs() > x.abs() {
            let near = if *y > 0.0 { lying.y1 - sheet.y0 } else { sheet.y1 - lying.y0 };
            (near, sheet.height())
        } else {
            let near = if *x > 0.0 { lying.x1 - sheet.x0 } else { sheet.x1 - lying.x0 };
            (near, sheet.width())
        };
        let length = (length + ground.edge).min(whole);
        CutOff { ground: 0, way: Vec2::new(*x, *y), length, share: length / whole.max(1e-9) }
    });
    let field = Field::of(&Ground { window: None, ..ground.clone() }, 0.0);
    let area = |cut: &CutOff| {
        let start = Vec2::new(
            if cut.way.x < 0.0 { sheet.x1 } else { sheet.x0 },
            if cut.way.y < 0.0 { sheet.y1 } else { sheet.y0 },
        );
        field.area_before(cut.way, cut.way.dot(start) + cut.length)
    };
    let all = CutOff { ground: 0, way: Vec2::new(1.0, 0.0), length: sheet.width(), share: 1.0 };
    let with_area = found.map(|cut| (area(&cut), cut));
    with_area.min_by(|a, b| a.0.total_cmp(&b.0)).map_or(all, |(_, cut)| cut)
}

/// The cut-off that matters: of the whole sheet that is begun and leaves most, or, where there is none, of the remnant
/// that leaves most.
pub fn last_cut_off(group: &Group, layout: &Layout) -> Option<CutOff> {
    let is_remnant = |cut: &CutOff| group.grounds[cut.ground].sheet.from.is_some();
    cut_offs(group, layout)
        .into_iter()
        .min_by(|a, b| is_remnant(a).cmp(&is_remnant(b)).then(a.share.total_cmp(&b.share)))
}
