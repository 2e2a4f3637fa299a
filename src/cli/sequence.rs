//! Pictures of the order of cutting, one for each cut sheet or bed window.

use super::desk;
use crate::fault::Fault;
use crate::geom::Loop;
use crate::plan::{CutPlan, Program};
use crate::write::{order_picture, to_png};
use std::path::{Path, PathBuf};

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
    let png = to_png(&svg, picture.dpi_for_numbers()).map_err(|e| {
        Fault::error("E70", format!("the picture of the order on {} failed: {e}", plan.sheet))
    })?;
    let window = plan.window.map_or(String::new(), |w| format!("-w{}", w.number));
    let path = folder.join(format!("{}{window}-order", desk::file_name(&plan.sheet)));
    Ok(vec![(path.with_extension("svg"), svg.into_bytes()), (path.with_extension("png"), png)])
}
