use super::*;
use crate::geom::{Point, rectangle};
use crate::sheet::{Sheet, SheetKind};
use crate::stock::{add, entries, forget};
use std::cell::Cell;

/// The disk, that fails at one of its steps, at times after half of it is done.
struct Failing<'a> {
    left: &'a Cell<usize>,
    half: bool,
}

impl Failing<'_> {
    fn step<T>(&self, half: impl FnOnce(), whole: impl FnOnce() -> io::Result<T>) -> io::Result<T> {
        match self.left.get() {
            0 => whole(),
            1 => {
                self.left.set(0);
                if self.half {
                    half();
                }
                Err(io::Error::other("no space is left"))
            }
            n => {
                self.left.set(n - 1);
                whole()
            }
        }
    }
}

impl Disk for Failing<'_> {
    fn beside(&self, place: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
        let half = || drop(TrueDisk.beside(place, &bytes[..bytes.len() / 2]));
        self.step(half, || TrueDisk.beside(place, bytes))
    }
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.step(|| (), || TrueDisk.rename(from, to))
    }
    fn append(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let half = || drop(TrueDisk.append(path, &bytes[..bytes.len() / 2]));
        self.step(half, || TrueDisk.append(path, bytes))
    }
    fn shorten(&self, path: &Path, length: u64) -> io::Result<()> {
        self.step(|| (), || TrueDisk.shorten(path, length))
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        self.step(|| (), || TrueDisk.remove(path))
    }
}

fn put(text: &str, id: &str) -> Edit {
    let outline = rectangle(Point::ORIGIN, 50.0, 30.0, 0.0).unwrap();
    add(text, &Sheet::bare(id, SheetKind::Leaf, "felt", outline), None, now().unwrap().0).unwrap()
}

fn ids(text: &str) -> Vec<String> {
    entries(text).unwrap().into_iter().map(|e| e.id).collect()
}

fn litter(folder: &Path) -> usize {
    let names = fs::read_dir(folder).unwrap().flatten().map(|e| e.file_name());
    names.filter(|n| n.to_string_lossy().starts_with(TEMP)).count()
}

/// Every step of a booking and of taking it back fails once, cleanly or half done: what was told booked is there, what was
/// told refused is not, and the log goes on from there.
#[test]
fn a_disk_that_fails_at_any_step_leaves_the_record_whole() {
    for half in [false, true] {
        for n in 1..=12 {
            for back in [false, true] {
                let folder = tempfile::tempdir().unwrap();
                let path = folder.path().join("stock.toml");
                let mut store = Store::open(&path, "one", 0).unwrap();
                store.book(&put("", "A"), "A").unwrap();
                let first = store.text.clone();
                store.book(&put(&first, "B"), "B").unwrap();
                drop(store);
                let left = Cell::new(n);
                let disk = Failing { left: &left, half };
                let mut store = Store::open_on(disk, &path, "two", 0).unwrap();
                let done = if back {
                    store.take_back().map(|_| ())
                } else {
                    store.book(&put(&store.text.clone(), "C"), "C")
                };
                drop(store);
                let kept = fs::read_to_string(&path).unwrap();
                let wanted: &[&str] = match (done.is_ok(), back) {
                    (false, _) => &["A", "B"],
                    (true, false) => &["A", "B", "C"],
                    (true, true) => &["A"],
                };
                assert_eq!(ids(&kept), wanted, "step {n}, half {half}, back {back}");
                // The next command finds its way, and nothing is left lying about.
                let mut store = Store::open(&path, "three", 0).unwrap();
                assert_eq!(store.text, kept);
                assert_eq!(litter(folder.path()), 0);
                store.book(&put(&kept, "D"), "D").unwrap();
                store.take_back().unwrap();
                assert_eq!(store.text, kept);
                let log = fs::read_to_string(folder.path().join("stock.log")).unwrap();
                let lines = whole_lines(&log);
                assert_eq!(lines.len(), log.lines().count(), "every line of the log is whole");
                assert!(
                    lines
                        .windows(2)
                        .all(|w| w[0].number + 1 == w[1].number && w[0].after == w[1].before)
                );
            }
        }
    }
}

/// A stop between any two steps: the log is cut at any byte of its last line, with the record as it was before.
#[test]
fn a_line_whose_record_never_came_is_dropped_and_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("stock.toml");
    let mut store = Store::open(&path, "one", 0).unwrap();
    store.book(&put("", "A"), "A").unwrap();
    let first = store.text.clone();
    let short = fs::read(folder.path().join("stock.log")).unwrap();
    store.book(&put(&first, "B"), "B").unwrap();
    drop(store);
    let long = fs::read(folder.path().join("stock.log")).unwrap();
    for cut in short.len() + 1..=long.len() {
        fs::write(&path, &first).unwrap();
        fs::write(folder.path().join("stock.log"), &long[..cut]).unwrap();
        let store = Store::open(&path, "two", 0).unwrap();
        assert_eq!((store.text.as_str(), store.notes.len()), (first.as_str(), 1), "{cut}");
        crate::fault::tells([store.notes[0].code], "W60");
        assert_eq!(fs::read(folder.path().join("stock.log")).unwrap(), short, "{cut}");
    }
}

#[test]
fn one_at_a_time_and_back_to_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("stock.toml");
    let mut store = Store::open(&path, "stock add", 0).unwrap();
    let fault = Store::open(&path, "cut lay-1", 0).unwrap_err();
    crate::fault::tells([fault.code], "E62");
    assert!(fault.text.contains("in use by stock add, process "), "{fault}");
    store.book(&put("", "A"), "A").unwrap();
    let text = store.text.clone();
    assert_eq!(fs::read_to_string(folder.path().join("stock.toml.bak")).unwrap(), text);
    store.book(&forget(&text, "A").unwrap(), "A out").unwrap();
    store.take_back().unwrap();
    assert_eq!(store.text, text);
    store.take_back().unwrap();
    assert!(store.text.is_empty() && !path.exists());
    assert_eq!(store.take_back().unwrap_err().code, "E87");
}
