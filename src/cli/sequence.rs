//! Pictures of the order of cutting, one for each cut sheet or bed window.

use super::desk;
use crate::fault::Fault;
use crate::geom::Loop;
use crate::plan::{CutPlan, Program};
use crate::write::picture::Mark;
use crate::write::{Picture, order_picture, to_png};
use std::path::{Path, PathBuf};

/// Least and most width of the PNG pictures (dots).
const ACROSS: (f64, f64) = (1600.0, 2600.0);
/// So high should the lowest number be (dots).
const NUMBER: f64 = 9.0;

/// The picture of a plan as SVG and PNG, with their paths.
///
/// # Errors
/// `E70` where the picture cannot be made.
pub(super) fn files(
    (job, lay): (&str, &str),
    (plan, program): (&CutPlan, Option<&Program>),
    sheet: &Loop,
    folder: &Path,
) -> Result<Vec<(PathBuf, Vec<u8>)>, Fault> {
    let window =
        plan.window.map_or(String::new(), |w| format!(", window {} of {}", w.number, w.of));
    let title = format!("{job} - {lay} - order of cutting, {}{window}", plan.sheet);
    let mut footer = vec![format!("{}, cut with {}", plan.material, plan.machine)];
    footer.extend(plan.warnings.iter().cloned());
    let sheet = plan.window.is_none().then_some(sheet);
    let picture = order_picture(plan, program, sheet, &title, &footer);
    let svg = picture.to_svg();
    let across = (NUMBER * picture.width / lowest(&picture)).clamp(ACROSS.0, ACROSS.1);
    let png = to_png(&svg, picture.dpi_across(across)).map_err(|e| {
        Fault::error("E70", format!("the picture of the order on {} failed: {e}", plan.sheet))
    })?;
    let window = plan.window.map_or(String::new(), |w| format!("-w{}", w.number));
    let path = folder.join(format!("{}{window}-order", desk::file_name(&plan.sheet)));
    Ok(vec![(path.with_extension("svg"), svg.into_bytes()), (path.with_extension("png"), png)])
}

/// Height of the lowest number (mm).
fn lowest(picture: &Picture) -> f64 {
    let numbers = picture.layers.iter().filter(|layer| layer.name == "NUMBERS");
    let heights = numbers.flat_map(|layer| &layer.marks).filter_map(|mark| match mark {
        Mark::Letters(letters) => Some(letters.height),
        _ => None,
    });
    heights.fold(f64::INFINITY, f64::min)
}
