//! Which lay is meant, and what made it.

use super::desk;
use crate::fault::Fault;
use std::path::{Path, PathBuf};

/// The folder of a lay: the one named, else the last; none where there is no lay yet.
pub(super) fn find(folder: &Path, name: Option<&str>) -> Result<Option<PathBuf>, Fault> {
    let there = desk::lays(folder, desk::LAY);
    let Some(name) = name else { return Ok(there.last().map(|(_, path)| path.clone())) };
    let typed = name.strip_prefix("out/").unwrap_or(name).trim_end_matches('/');
    let mut names: Vec<String> = Vec::new();
    for (word, list) in [
        (desk::LAY, there),
        (desk::COUPON, desk::lays(folder, desk::COUPON)),
        (desk::RECUT, desk::lays(folder, desk::RECUT)),
    ] {
        for (number, path) in list {
            let own = format!("{word}-{number}");
            if typed == own || (word == desk::LAY && typed == number.to_string()) {
                return Ok(Some(path));
            }
            names.push(own);
        }
    }
    let cure = if names.is_empty() {
        "make one with: pouchwork lay".to_owned()
    } else {
        format!("there is {}", names.join(", "))
    };
    Err(Fault::error("E81", format!("there is no lay called {name}")).cure(cure))
}

/// The name of a lay by its folder.
pub(super) fn name_of(lay_folder: &Path) -> String {
    let whole = desk::whole(lay_folder);
    whole.file_name().and_then(|n| n.to_str()).unwrap_or("lay").to_owned()
}

/// What makes a lay or a coupon of this name.
pub(super) fn maker(name: &str) -> &'static str {
    match name.split_once('-').map(|(word, _)| word) {
        Some(desk::COUPON) => "pouchwork coupon",
        Some(desk::RECUT) => "pouchwork recut",
        _ => "pouchwork lay",
    }
}
