//! For the drawing of a part: along which line it is cut, and in what style its figures are written.

use super::Job;
use super::batch::charred;
use crate::geom::GeomFault;
use crate::part::{Design, Member, Part, Piece};
use crate::plan::cut_line;
use crate::units::Unit;
use crate::write::{CutEdge, DimensionStyle};
use std::sync::Arc;

/// The shape of a piece with all its allowances, as its machine is to leave it, and the line along which it is cut; the
/// line of a piece that lies as it is drawn, where the kerf is not the same both ways. None where the material has no figures
/// for the machine.
///
/// # Units
/// Millimetres.
///
/// # Errors
/// An outline that cannot be moved out by a char trim or by half the kerf.
pub fn cut_edge(
    job: &Job,
    part: &Part,
    piece: &Piece,
) -> Result<Option<(Arc<Design>, CutEdge)>, GeomFault> {
    let (Some(machine), Some(setting)) =
        (job.machine(&part.cut_with), job.setting(&part.material, &part.cut_with))
    else {
        return Ok(None);
    };
    let made = charred(vec![piece.clone()], setting, machine)?;
    let Some(design) = made.first().and_then(|piece| piece.turns.design(0)) else {
        return Ok(None);
    };
    let kerf = (setting.kerf_x, setting.kerf_y);
    let line = design.shape.outline();
    let line =
        if kerf.0 > 0.0 || kerf.1 > 0.0 { cut_line(line, kerf, true)? } else { line.clone() };
    let char_trim = if piece.soft { job.char_trim(&part.material, &part.cut_with) } else { 0.0 };
    let by = format!("{} on {}", machine.key, part.material);
    let by = match machine.process.name() {
        name if machine.key.contains(name) => by,
        name => format!("{name} {by}"),
    };
    Ok(Some((Arc::clone(design), CutEdge { line, kerf, char_trim, by })))
}

/// The style of a member's figures: by the unit of the job's numbers, or, where it says none, by how the member's measures
/// were typed.
pub fn style_of(job: &Job, member: &Member) -> DimensionStyle {
    match job.unit {
        Some(Unit::Inch | Unit::Foot | Unit::Yard | Unit::Thou) => DimensionStyle::Inch,
        Some(Unit::Millimetre | Unit::Centimetre | Unit::Metre) => DimensionStyle::Metric,
        None => DimensionStyle::as_typed(&member.sum),
    }
}
