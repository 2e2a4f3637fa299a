//! Opens a job for a command: the folder on disk as a shelf, the job read, every size worked out.

use super::args::Common;
use super::desk;
use crate::fault::{Fault, Sources, any_error};
use crate::job::{Found, Job, OutlineFault, Outlines, Shelf, Which, read_job, read_job_to_buy};
use crate::read::{ReadOptions, outlines};
use std::fs;
use std::path::{Path, PathBuf};

/// A job with its folder and texts.
#[derive(Debug)]
pub(super) struct Open {
    pub folder: PathBuf,
    pub job: Job,
    pub sources: Sources,
    /// Warnings from reading.
    pub warnings: Vec<Fault>,
}

/// The job that was asked for.
///
/// # Errors
/// All its faults, with the texts to show them.
pub(super) fn open(common: &Common) -> Result<Open, (Vec<Fault>, Sources)> {
    open_by(common, read_job)
}

/// The same for what is still to be bought: what the sheets lack is no fault.
///
/// # Errors
/// All other faults, with the texts to show them.
pub(super) fn open_to_buy(common: &Common) -> Result<Open, (Vec<Fault>, Sources)> {
    open_by(common, read_job_to_buy)
}

/// How a job is read.
type Reading = fn(&dyn Shelf, &mut Sources) -> (Option<Job>, Vec<Fault>);

fn open_by(common: &Common, read: Reading) -> Result<Open, (Vec<Fault>, Sources)> {
    let mut sources = Sources::default();
    let folder = match desk::job_folder(common.job.as_deref()) {
        Ok(folder) => folder,
        Err(fault) => return Err((vec![fault], sources)),
    };
    let shelf = Folder::new(folder.clone());
    match read(&shelf, &mut sources) {
        (Some(job), warnings) if !any_error(&warnings) => {
            Ok(Open { folder, job, sources, warnings })
        }
        (_, faults) => Err((faults, sources)),
    }
}

/// A job as it is, or would be with another text of one of its files.
///
/// # Errors
/// All its faults, with the texts to show them.
pub(super) fn open_with(
    folder: &Path,
    instead: Option<(&str, Vec<u8>)>,
) -> Result<Open, (Vec<Fault>, Sources)> {
    let mut sources = Sources::default();
    let shelf = Instead { folder: Folder::new(folder.to_owned()), instead };
    match read_job(&shelf, &mut sources) {
        (Some(job), warnings) if !any_error(&warnings) => {
            Ok(Open { folder: folder.to_owned(), job, sources, warnings })
        }
        (_, faults) => Err((faults, sources)),
    }
}

/// A folder, one of whose files would be another.
struct Instead<'a> {
    folder: Folder,
    instead: Option<(&'a str, Vec<u8>)>,
}

impl Shelf for Instead<'_> {
    fn read(&self, which: Which, name: &str) -> Found {
        match &self.instead {
            Some((other, bytes)) if which == Which::Job && name == *other => {
                Found::Bytes(bytes.clone())
            }
            _ => self.folder.read(which, name),
        }
    }

    fn list(&self, which: Which) -> Vec<String> {
        self.folder.list(which)
    }

    fn outlines(
        &self,
        name: &str,
        bytes: &[u8],
        unit: Option<f64>,
    ) -> Result<Outlines, OutlineFault> {
        self.folder.outlines(name, bytes, unit)
    }
}

/// A job folder and the user's own profiles, as a shelf.
pub(super) struct Folder {
    job: PathBuf,
    own: Option<PathBuf>,
}

impl Folder {
    pub(super) fn new(job: PathBuf) -> Folder {
        Folder { job, own: desk::config_folder() }
    }

    fn root(&self, which: Which) -> Option<&Path> {
        match which {
            Which::Job => Some(&self.job),
            Which::Own => self.own.as_deref(),
        }
    }
}

impl Shelf for Folder {
    fn read(&self, which: Which, name: &str) -> Found {
        let Some(root) = self.root(which) else { return Found::Missing };
        match desk::read(&root.join(name)) {
            Ok(Some(bytes)) => Found::Bytes(bytes),
            Ok(None) => Found::Missing,
            Err(fault) => Found::Unreadable(fault.text),
        }
    }

    fn list(&self, which: Which) -> Vec<String> {
        let Some(root) = self.root(which) else { return Vec::new() };
        let mut names = Vec::new();
        for sub in ["", "machines", "materials", "outlines"] {
            for entry in fs::read_dir(root.join(sub)).into_iter().flatten().flatten() {
                if let (Ok(kind), Some(name)) = (entry.file_type(), entry.file_name().to_str())
                    && kind.is_file()
                {
                    names.push(if sub.is_empty() {
                        name.to_owned()
                    } else {
                        format!("{sub}/{name}")
                    });
                }
            }
        }
        names.sort();
        names
    }

    fn outlines(
        &self,
        name: &str,
        bytes: &[u8],
        unit: Option<f64>,
    ) -> Result<Outlines, OutlineFault> {
        let options = ReadOptions { unit, ..ReadOptions::default() };
        outlines(name, bytes, &options).map(|traced| (traced.loops, traced.notes)).map_err(
            |fault| OutlineFault {
                code: fault.code,
                text: match fault.line {
                    Some(line) => format!("{} (line {line})", fault.text),
                    None => fault.text.clone(),
                },
                cure: fault.cure,
            },
        )
    }
}
