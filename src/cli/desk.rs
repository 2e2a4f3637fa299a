//! The only room that touches the disk.
//!
//! Reads with a cap, writes whole files or none: beside the target, synced, renamed.

use crate::fault::Fault;
use std::fs;
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// The largest file that is read at all (bytes).
const MOST: u64 = 64 * 1024 * 1024;
/// Lays are numbered below this.
const MOST_LAYS: u32 = 1_000_000;

/// The job folder for what was typed: the path itself, else here, else a folder above up to home.
pub(super) fn job_folder(typed: Option<&Path>) -> Result<PathBuf, Fault> {
    let none = |text: String| {
        Fault::error("E01", text)
            .cure("start one with: pouchwork new NAME, or give its path with -C")
    };
    if let Some(path) = typed {
        let is_file = path.file_name().is_some_and(|n| n == "job.toml");
        let folder = match path.parent() {
            Some(parent) if is_file && parent.as_os_str().is_empty() => Path::new("."),
            Some(parent) if is_file => parent,
            _ => path,
        };
        return if folder.join("job.toml").is_file() {
            Ok(folder.to_owned())
        } else {
            Err(none(format!("no job.toml in {}", folder.display())))
        };
    }
    let here = std::env::current_dir()
        .map_err(|e| Fault::error("E36", format!("this folder cannot be read: {e}")))?;
    let home = std::env::var_os("HOME").map(PathBuf::from);
    for folder in here.ancestors() {
        if folder.join("job.toml").is_file() {
            return Ok(if folder == here { PathBuf::from(".") } else { folder.to_owned() });
        }
        if home.as_deref() == Some(folder) {
            break;
        }
    }
    Err(none("no job.toml here or in the folders above".to_owned()))
}

/// The user's own config folder: `$XDG_CONFIG_HOME/pouchwork`, else `~/.config/pouchwork`.
///
/// # Source
/// XDG Base Directory Specification 0.8: a relative path in the variable is not valid and is passed over.
pub(super) fn config_folder() -> Option<PathBuf> {
    std::env::var_os("XDG_CONFIG_HOME")
        .map(PathBuf::from)
        .filter(|p| p.is_absolute())
        .or_else(|| std::env::var_os("HOME").map(|h| PathBuf::from(h).join(".config")))
        .map(|p| p.join("pouchwork"))
}

/// The bytes of a file; none where there is no such file.
pub(super) fn read(path: &Path) -> Result<Option<Vec<u8>>, Fault> {
    let file = match fs::File::open(path) {
        Ok(file) => file,
        Err(e) if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {
            return Ok(None);
        }
        Err(e) => return Err(unread(path, &e.to_string())),
    };
    if file.metadata().is_ok_and(|m| m.is_dir()) {
        return Err(unread(path, "it is a folder"));
    }
    let mut bytes = Vec::new();
    match file.take(MOST + 1).read_to_end(&mut bytes) {
        Ok(_) if bytes.len() as u64 <= MOST => Ok(Some(bytes)),
        Ok(_) => Err(unread(path, "it is larger than 64 MiB")),
        Err(e) => Err(unread(path, &e.to_string())),
    }
}

fn unread(path: &Path, why: &str) -> Fault {
    Fault::error("E36", format!("could not read {}: {why}", path.display()))
        .cure("look at the path and at who may read it")
}

/// Writes a whole file or leaves what was there.
///
/// # Errors
/// Names the file and what the system said.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    write_all(&[(path.to_owned(), bytes.to_owned())])
}

/// Writes several files, all or none as far as the system lets it: each whole and synced beside its target first,
/// then all renamed.
///
/// # Errors
/// Names the file and what the system said.
pub(super) fn write_all(files: &[(PathBuf, Vec<u8>)]) -> Result<(), Fault> {
    write_all_if(files, |_, _| Ok(()))
}

/// The same, where each file, read back from beside its target, must first stand a test: nothing gets its name
/// unless all do. The test learns which of the files it is.
///
/// # Errors
/// What the test found, or the file and what the system said.
pub(super) fn write_all_if(
    files: &[(PathBuf, Vec<u8>)],
    test: impl Fn(usize, &[u8]) -> Result<(), Fault>,
) -> Result<(), Fault> {
    let mut ready = Vec::new();
    for (n, (path, bytes)) in files.iter().enumerate() {
        if files[..n].iter().any(|(other, _)| other == path) {
            return Err(unwritten(path, &"two things would have this one name"));
        }
        let file = beside(path, bytes)?;
        let written = fs::read(file.path()).map_err(|e| unwritten(path, &e))?;
        test(n, &written)?;
        ready.push((file, path));
    }
    for (file, path) in ready {
        file.persist(path).map_err(|e| unwritten(path, &e.error))?;
    }
    let mut folders: Vec<&Path> = files.iter().filter_map(|(path, _)| path.parent()).collect();
    folders.dedup();
    for folder in folders {
        if let Ok(folder) = fs::File::open(folder) {
            // The renames themselves; a file system that cannot sync a folder is no reason to fail.
            let _ = folder.sync_all();
        }
    }
    Ok(())
}

/// A temporary file in the target's folder with all the bytes, synced.
fn beside(path: &Path, bytes: &[u8]) -> Result<tempfile::NamedTempFile, Fault> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(|e| unwritten(path, &e))?;
    let mut file = tempfile::Builder::new()
        .prefix(".pouchwork-")
        .tempfile_in(folder)
        .map_err(|e| unwritten(path, &e))?;
    file.write_all(bytes).map_err(|e| unwritten(path, &e))?;
    file.as_file().sync_all().map_err(|e| unwritten(path, &e))?;
    open_to_all(file.path()).map_err(|e| unwritten(path, &e))?;
    Ok(file)
}

fn unwritten(path: &Path, why: &dyn std::fmt::Display) -> Fault {
    Fault::error("E71", format!("could not write {}: {why}", path.display()))
        .cure("what was there is untouched; look at free space and at who may write there")
}

/// Temporary files are private; what is handed over is not.
#[cfg(unix)]
pub(super) fn open_to_all(path: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
pub(super) fn open_to_all(_: &Path) -> std::io::Result<()> {
    Ok(())
}

/// What lies in `out/` with a record of its own: lays of the whole job, and coupons.
pub(super) const LAY: &str = "lay";
/// See [`LAY`].
pub(super) const COUPON: &str = "coupon";

/// See [`LAY`]: one piece cut again.
pub(super) const RECUT: &str = "recut";

/// Lays or coupons in `out/`, lowest number first.
pub(super) fn lays(job: &Path, word: &str) -> Vec<(u32, PathBuf)> {
    let mut found: Vec<(u32, PathBuf)> = fs::read_dir(job.join("out"))
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|entry| {
            let name = entry.file_name();
            let number = name.to_str()?.strip_prefix(word)?.strip_prefix('-')?.parse().ok()?;
            let number: u32 = Some(number).filter(|n| *n < MOST_LAYS)?;
            entry.path().join("lay.json").is_file().then(|| (number, entry.path()))
        })
        .collect();
    found.sort();
    found
}

/// A path from the root on; as it is where there is no such thing.
pub(super) fn whole(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

/// Files in the folders of lays whose names end in one of the endings, by path.
pub(super) fn files_ending(job: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = [LAY, COUPON, RECUT]
        .into_iter()
        .flat_map(|word| lays(job, word))
        .flat_map(|(_, folder)| fs::read_dir(folder).into_iter().flatten().flatten())
        .map(|entry| entry.path())
        .filter(|path| {
            let name = path.file_name().and_then(|n| n.to_str()).unwrap_or("");
            endings.iter().any(|ending| name.ends_with(ending))
        })
        .collect();
    found.sort();
    found
}

/// A file name made of a user's name, which is letters, digits, `-` and `_` already; anything else becomes `-`.
pub(super) fn file_name(name: &str) -> String {
    name.chars()
        .map(|c| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' })
        .take(48)
        .collect()
}
