//! The stock record on the disk: locked, read, written so that a stop at any moment leaves a whole record and a true log.
//!
//! A booking goes in this order: the new record and its copy are written beside their places and synced; the log gets
//! its line and is synced; the record gets its name. From there on it is booked. A line whose record never got its name
//! is dropped by whoever opens next.

use super::desk;
use crate::fault::Fault;
use crate::stock::{Edit, Line, Standing, checked, last_line, standing, to_take_back, whole_lines};
use crate::units::Day;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// Begins the names of files that are written beside the record.
const TEMP: &str = ".pouchwork-stock-";
/// How long between two looks whether the record is free.
const LOOK: Duration = Duration::from_millis(20);

/// What a booking asks of the disk; in tests one that fails stands in for the true one.
pub(super) trait Disk {
    /// Writes a file beside its place, whole and synced.
    fn beside(&self, place: &Path, bytes: &[u8]) -> io::Result<PathBuf>;
    /// Gives it its name.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// Adds to the end of a file, synced.
    fn append(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;
    /// Shortens a file.
    fn shorten(&self, path: &Path, length: u64) -> io::Result<()>;
    /// Removes a file.
    fn remove(&self, path: &Path) -> io::Result<()>;
}

/// The disk itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct TrueDisk;

impl Disk for TrueDisk {
    fn beside(&self, place: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
        let mut file = tempfile::Builder::new().prefix(TEMP).tempfile_in(folder_of(place))?;
        file.write_all(bytes)?;
        desk::open_to_all(file.path())?;
        file.as_file().sync_all()?;
        file.into_temp_path().keep().map_err(|e| e.error)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)?;
        sync(folder_of(to));
        Ok(())
    }

    fn append(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = OpenOptions::new().append(true).create(true).open(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    fn shorten(&self, path: &Path, length: u64) -> io::Result<()> {
        let file = OpenOptions::new().write(true).open(path)?;
        file.set_len(length)?;
        file.sync_all()
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)?;
        sync(folder_of(path));
        Ok(())
    }
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A file system that cannot sync a folder is no reason to fail.
fn sync(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

/// The record, locked for one command.
#[derive(Debug)]
pub(super) struct Store<D: Disk> {
    disk: D,
    path: PathBuf,
    /// What was typed.
    command: String,
    /// Its text; empty where there is none.
    pub(super) text: String,
    /// Length of the log.
    length: u64,
    /// Number of the last line of the log.
    number: u64,
    /// What was found in disorder.
    pub(super) notes: Vec<Fault>,
    /// Holds the lock while it lives.
    _lock: File,
}

/// A file whose name is the record's with an ending.
fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

impl Store<TrueDisk> {
    /// Locks and reads the record of a job.
    ///
    /// # Errors
    /// `E62` where another command has it for longer than `wait` seconds; `E63`, `E82` where it can't be used; `E71`.
    pub(super) fn open(path: &Path, command: &str, wait: u64) -> Result<Store<TrueDisk>, Fault> {
        Store::open_on(TrueDisk, path, command, wait)
    }
}

impl<D: Disk> Store<D> {
    pub(super) fn open_on(
        disk: D,
        path: &Path,
        command: &str,
        wait: u64,
    ) -> Result<Store<D>, Fault> {
        let place = fs::create_dir_all(folder_of(path));
        place.map_err(|e| unwritten(path, &e))?;
        for file in [
            path.to_owned(),
            with_ending(path, ".lock"),
            with_ending(path, ".log"),
            log_of(path),
            with_ending(path, ".bak"),
        ] {
            if fs::symlink_metadata(&file).is_ok_and(|m| !m.is_file()) {
                return Err(Fault::error("E71", format!("{} is no plain file: a link is not followed, nor a folder written", file.display()))
                    .cure("nothing was written: put the record itself there, or name its place with `stock` under [job]"));
            }
        }
        let lock = locked(path, command, wait)?;
        let mut store = Store {
            disk,
            path: path.to_owned(),
            command: command.to_owned(),
            text: String::new(),
            length: 0,
            number: 0,
            notes: Vec::new(),
            _lock: lock,
        };
        store.read()?;
        Ok(store)
    }

    /// Reads record and log, and puts the log in order.
    fn read(&mut self) -> Result<(), Fault> {
        let bytes = desk::read(&self.path)?.unwrap_or_default();
        let shown = self.path.display().to_string();
        self.text = String::from_utf8(bytes).map_err(|_| {
            Fault::error(
                "E63",
                format!("the stock record {shown} is damaged: it is not UTF-8 text"),
            )
            .cure(format!("nothing was written; the last good copy is {shown}.bak"))
        })?;
        checked(&self.text, &shown)?;
        let log = log_of(&self.path);
        self.sweep();
        let (end, length) = tail(&log).map_err(|e| unwritten(&log, &e))?;
        self.length = length;
        let mut found = last_line(&end);
        if found.torn > 0 {
            self.length -= found.torn as u64;
            self.drop_rest(&log, "a line of the log was torn")?;
            found = last_line(&end[..end.len() - found.torn]);
        }
        let Some((last, long)) = found.line else { return Ok(()) };
        self.number = last.number;
        if standing(&last, &self.text) == Standing::Unfinished {
            self.length -= long as u64;
            self.number -= 1;
            let what =
                format!("\"{}\" of {} {} was not finished", last.command, last.day, last.time);
            self.drop_rest(&log, &what)?;
        }
        Ok(())
    }

    /// Drops what follows the last good line of the log.
    fn drop_rest(&mut self, log: &Path, what: &str) -> Result<(), Fault> {
        self.disk.shorten(log, self.length).map_err(|e| unwritten(log, &e))?;
        self.notes.push(
            Fault::warning(
                "W60",
                format!("{what}: it was dropped, and the stock record is as it was before"),
            )
            .cure("if it was yours, type it again"),
        );
        Ok(())
    }

    /// Removes what commands that were stopped have left beside the record.
    fn sweep(&self) {
        for entry in fs::read_dir(folder_of(&self.path)).into_iter().flatten().flatten() {
            if entry.file_name().to_str().is_some_and(|name| name.starts_with(TEMP)) {
                // Litter that cannot be removed does no harm.
                let _ = self.disk.remove(&entry.path());
            }
        }
    }

    /// Books a change; one that changes nothing is not written.
    ///
    /// # Errors
    /// `E71`; the record is then as it was.
    pub(super) fn book(&mut self, edit: &Edit, changed: &str) -> Result<(), Fault> {
        self.write(edit, changed, None)
    }

    fn write(&mut self, edit: &Edit, changed: &str, undoes: Option<u64>) -> Result<(), Fault> {
        if edit.is_empty() {
            return Ok(());
        }
        let after = edit.after();
        let (day, time) = now()?;
        let line = Line {
            number: self.number + 1,
            day: day.to_string(),
            time,
            command: self.command.clone(),
            changed: changed.to_owned(),
            before: Line::mark(&self.text),
            after: Line::mark(&after),
            undoes,
            undo: edit.splices(),
        }
        .written();
        let fault = |e: io::Error| unwritten(&self.path, &e);
        let (log, copy) = (log_of(&self.path), with_ending(&self.path, ".bak"));
        let fresh = self.disk.beside(&self.path, after.as_bytes()).map_err(fault)?;
        let second = match self.disk.beside(&copy, after.as_bytes()) {
            Ok(second) => second,
            Err(e) => {
                let _ = self.disk.remove(&fresh);
                return Err(fault(e));
            }
        };
        let named = self.disk.append(&log, line.as_bytes()).and_then(|()| {
            if after.is_empty() {
                self.disk.remove(&self.path)
            } else {
                self.disk.rename(&fresh, &self.path)
            }
        });
        if let Err(e) = named {
            // Whoever opens next would drop the line as well.
            let _ = self.disk.shorten(&log, self.length);
            let _ = self.disk.remove(&fresh);
            let _ = self.disk.remove(&second);
            return Err(fault(e));
        }
        // Booked: the copy is only for a record that is damaged later.
        if after.is_empty() {
            let _ = self.disk.remove(&fresh);
            let _ = self.disk.remove(&second);
        } else if self.disk.rename(&second, &copy).is_err() {
            let _ = self.disk.remove(&second);
        }
        self.number += 1;
        self.length += line.len() as u64;
        self.text = after;
        Ok(())
    }

    /// Takes the last change back that stands; tells what it was.
    ///
    /// # Errors
    /// `E87`, `E85`, `E71`.
    pub(super) fn take_back(&mut self) -> Result<Line, Fault> {
        let log = desk::read(&log_of(&self.path))?.unwrap_or_default();
        let lines = whole_lines(&String::from_utf8_lossy(&log));
        let line = to_take_back(&lines, &self.text)?;
        let edit = Edit::back(&self.text, &line.undo)
            .filter(|edit| Line::mark(&edit.after()) == line.before);
        let edit = edit.ok_or_else(|| {
            Fault::error(
                "E85",
                format!("{} can't be taken back: its line of the log was edited", line.command),
            )
        })?;
        self.write(&edit, &format!("took back: {}", line.changed), Some(line.number))?;
        Ok(line.clone())
    }
}

/// The log beside a record: `stock.log` beside `stock.toml`.
pub(super) fn log_of(path: &Path) -> PathBuf {
    path.with_extension("log")
}

/// The end of a log that holds its last line, and the length of the whole.
fn tail(log: &Path) -> io::Result<(Vec<u8>, u64)> {
    let mut file = match File::open(log) {
        Ok(file) => file,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok((Vec::new(), 0)),
        Err(e) => return Err(e),
    };
    let length = file.metadata()?.len();
    let mut most = 1 << 16;
    loop {
        let from = length.saturating_sub(most);
        file.seek(SeekFrom::Start(from))?;
        let mut bytes = Vec::new();
        Read::by_ref(&mut file).take(most).read_to_end(&mut bytes)?;
        // Three breaks hold the last whole line, and the one before it, whatever follows.
        let breaks = bytes.split(|b| *b == b'\n').count() - 1;
        if from == 0 || breaks >= 3 {
            let first = if from == 0 {
                0
            } else {
                bytes.iter().position(|b| *b == b'\n').map_or(0, |n| n + 1)
            };
            return Ok((bytes.split_off(first), length));
        }
        most *= 4;
    }
}

/// Takes the lock, and writes into it who has it.
fn locked(path: &Path, command: &str, wait: u64) -> Result<File, Fault> {
    let place = with_ending(path, ".lock");
    let fault = |e: io::Error| unwritten(&place, &e);
    let mut file = OpenOptions::new()
        .read(true)
        .write(true)
        .create(true)
        .truncate(false)
        .open(&place)
        .map_err(fault)?;
    let start = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => break,
            Err(TryLockError::WouldBlock) if start.elapsed() < Duration::from_secs(wait) => {
                std::thread::sleep(LOOK);
            }
            Err(TryLockError::WouldBlock) => {
                let mut who = String::new();
                let _ = Read::by_ref(&mut file).take(300).read_to_string(&mut who);
                let who = who.trim();
                let who = if who.is_empty() { "another command" } else { who };
                return Err(Fault::error(
                    "E62",
                    format!("the stock record {} is in use by {who}", path.display()),
                )
                .cure(
                    "try again when that is done, or wait longer: --wait 60s; nothing was written",
                ));
            }
            Err(TryLockError::Error(e)) => return Err(fault(e)),
        }
    }
    // Who has it is only told: a full disk is no reason to stop.
    let (day, time) = now()?;
    let _ = file.set_len(0).and_then(|()| file.rewind());
    let _ = writeln!(file, "{command}, process {}, since {day} {time}", std::process::id());
    Ok(file)
}

/// Day and time in universal time.
pub(super) fn now() -> Result<(Day, String), Fault> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map(|t| t.as_secs()).ok();
    let day = seconds.and_then(|s| Day::after_1970(s / 86_400));
    seconds
        .zip(day)
        .map(|(s, day)| {
            let s = s % 86_400;
            (day, format!("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60))
        })
        .ok_or_else(|| {
            Fault::error("E71", "the clock of this computer is wrong, so nothing can be booked")
                .cure("set the clock")
        })
}

fn unwritten(path: &Path, why: &dyn std::fmt::Display) -> Fault {
    Fault::error("E71", format!("could not write {}: {why}", path.display()))
        .cure("the stock record is as it was; look at free space and at who may write there")
}

#[cfg(test)]
#[path = "store_tests.rs"]
mod tests;
