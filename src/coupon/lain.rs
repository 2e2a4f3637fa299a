//! A place for a coupon: as one block where there is room for it, else piece by piece.

use super::design::{block, fixed, plain};
use crate::lay::{Effort, Group, Layout, Placed, Watch, lay, proof};
use crate::part::Piece;

/// Lays the pieces of a coupon, a group of them alone. They stay together as they are numbered where some ground has
/// room for the whole block; on others they lie as they find room. What comes back has been proven.
///
/// # Units
/// Millimetres.
pub fn lay_coupon(group: &Group, effort: Effort, watch: &dyn Watch) -> Layout {
    whole(group, effort, watch)
        .filter(|layout| proof::prove(group, layout).is_ok())
        .unwrap_or_else(|| lay(group, effort, watch))
}

/// The layout of the block told piece by piece; none where it found no place.
fn whole(group: &Group, effort: Effort, watch: &dyn Watch) -> Option<Layout> {
    let (corners, room) = block(group.apart);
    let first = group.pieces.first().filter(|_| corners.len() == group.pieces.len())?;
    let grain = group.grounds.first()?.sheet.grain;
    let design = plain((room.width(), room.height())).ok()?;
    let lone = Piece { turns: fixed(grain, &design), ..first.clone() };
    let layout = lay(&Group { pieces: vec![lone], ..group.clone() }, effort, watch);
    let at = layout.placed.first()?;
    let placed = |(piece, corner): (usize, &crate::geom::Vec2)| {
        let mut pose = at.pose;
        pose.x += corner.x;
        pose.y += corner.y;
        Placed { piece, pose, ..at.clone() }
    };
    let placed = corners.iter().enumerate().map(placed).collect();
    Some(Layout { placed, ..layout.clone() })
}
