//! `--open`: hands a picture or a page to the system's own opener. Looking is never worth a failed command.

use super::Answer;
use crate::fault::Fault;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Openers by their names, with what stands before the file.
const OPENERS: &[(&str, &[&str])] = if cfg!(target_os = "macos") {
    &[("open", &[])]
} else if cfg!(windows) {
    // `start` is a word of the command interpreter; its first text in quotes would be a title.
    &[("cmd.exe", &["/C", "start", ""])]
} else {
    &[("xdg-open", &[])]
};

impl Answer {
    /// Opens what the command made, or says why not.
    pub(super) fn open_picture(&mut self) {
        let Some(picture) = self.picture.clone() else {
            if !self.faults.iter().any(Fault::is_error) {
                self.faults.push(not_opened("nothing was made that could be opened"));
            }
            return;
        };
        match open(&picture) {
            Ok(()) => {
                self.hint(format!("opened {}", picture.display()));
                if let Some(result) = self.result.as_object_mut() {
                    result.insert("opened".to_owned(), picture.display().to_string().into());
                }
            }
            Err(why) => self.faults.push(
                not_opened(&format!("{} was not opened: {why}", picture.display()))
                    .cure("open it by hand; all else is done"),
            ),
        }
    }
}

fn not_opened(text: &str) -> Fault {
    Fault::warning("W98", text)
}

fn open(picture: &Path) -> Result<(), String> {
    // From the root on: a name that begins with a dash is then no option.
    let whole = std::fs::canonicalize(picture).map_err(|e| e.to_string())?;
    let Some((opener, words)) =
        OPENERS.iter().find_map(|(name, words)| Some((on_path(name)?, *words)))
    else {
        let names: Vec<&str> = OPENERS.iter().map(|(name, _)| *name).collect();
        return Err(format!("there is no {} on PATH", names.join(", ")));
    };
    // Not waited for: a viewer may stay open for hours.
    Command::new(opener)
        .args(words)
        .arg(whole)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map(drop)
        .map_err(|e| e.to_string())
}

/// The picture of the order of cutting beside a cut file; of a sheet in bed windows, that of the first.
pub(super) fn order_of(file: &Path, sheet: &str) -> PathBuf {
    let sheet = super::desk::file_name(sheet);
    let whole = file.with_file_name(format!("{sheet}-order.png"));
    let window = file.with_file_name(format!("{sheet}-w1-order.png"));
    if window.is_file() { window } else { whole }
}

/// Where a program is, by the folders of `PATH`.
fn on_path(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .filter(|folder| folder.is_absolute())
        .map(|folder| folder.join(name))
        .find(|file| file.is_file())
}
