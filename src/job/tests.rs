//! The room is tested through its door: files on a shelf of memory, and the faults that come of them.

mod answers;
mod coupons;
mod covered;
mod edges;
mod faults;
mod good;
mod slips;
mod tables;
mod travels;
mod trials;

use super::{Found, OutlineFault, Outlines, Shelf, Which, read_job};
use crate::fault::{Fault, Sources};
use crate::geom::{Loop, Point};
use std::collections::BTreeMap;

/// Files in memory.
#[derive(Debug, Clone, Default)]
pub(super) struct Memory {
    pub(super) job: BTreeMap<String, Vec<u8>>,
    pub(super) own: BTreeMap<String, Vec<u8>>,
}

impl Memory {
    pub(super) fn of(files: impl IntoIterator<Item = (String, String)>) -> Memory {
        Memory {
            job: files.into_iter().map(|(path, text)| (path, text.into_bytes())).collect(),
            own: BTreeMap::new(),
        }
    }

    pub(super) fn with(mut self, path: &str, bytes: impl Into<Vec<u8>>) -> Memory {
        self.job.insert(path.to_owned(), bytes.into());
        self
    }

    pub(super) fn text(&self, path: &str) -> String {
        String::from_utf8(self.job[path].clone()).unwrap()
    }

    pub(super) fn read(&self) -> (Option<super::Job>, Vec<Fault>) {
        read_job(self, &mut Sources::default())
    }
}

impl Shelf for Memory {
    fn read(&self, which: Which, name: &str) -> Found {
        let files = match which {
            Which::Job => &self.job,
            Which::Own => &self.own,
        };
        match files.get(name) {
            Some(bytes) if bytes == b"NO ENTRY" => {
                Found::Unreadable("permission denied".to_owned())
            }
            Some(bytes) => Found::Bytes(bytes.clone()),
            None => Found::Missing,
        }
    }

    fn list(&self, which: Which) -> Vec<String> {
        match which {
            Which::Job => self.job.keys().cloned().collect(),
            Which::Own => self.own.keys().cloned().collect(),
        }
    }

    /// Circles, one a line: x y radius.
    fn outlines(&self, _: &str, bytes: &[u8], unit: Option<f64>) -> Result<Outlines, OutlineFault> {
        let refuse = || OutlineFault {
            code: "E30",
            text: "no outline in it: 1 picture, 0 lines".to_owned(),
            cure: Some("draw round the hide on a layer of its own".to_owned()),
        };
        let text = std::str::from_utf8(bytes).map_err(|_| refuse())?;
        let mut loops = Vec::new();
        for line in text.lines() {
            let figures: Vec<f64> = line.split(' ').filter_map(|f| f.parse().ok()).collect();
            let [x, y, r] = figures[..] else {
                return Err(refuse());
            };
            let k = unit.unwrap_or(1.0);
            loops.push(Loop::circle(Point::new(x * k, y * k), r * k).map_err(|_| refuse())?);
        }
        let notes =
            if unit.is_none() { vec!["no unit in it: taken as mm".to_owned()] } else { Vec::new() };
        Ok((loops, notes))
    }
}

/// The sample job, which has no faults.
pub(super) fn sample() -> Memory {
    Memory::of(super::starter("sample"))
}

/// Code, place and text of a fault, in one line: `E12 job.toml:3:1 text | cure`.
pub(super) fn told(fault: &Fault) -> String {
    let place = fault.marks.first().map_or_else(
        || "nowhere".to_owned(),
        |m| format!("{}:{}:{}", m.place.file, m.place.line, m.place.column),
    );
    let cure = fault.cure.as_deref().unwrap_or("");
    format!("{} {place} {} | {cure}", fault.code, fault.text)
}
