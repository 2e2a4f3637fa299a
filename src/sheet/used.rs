//! Ground of a sheet that is gone, or spoken for.

use crate::geom::Loop;
use std::fmt;

/// Whose ground it is: a lay, by its name and by the hash of its record.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Holder {
    /// The folder of its job, seen from the stock record; none for the job in whose folder the record stands.
    pub job: Option<String>,
    /// Name of the lay, such as `lay-1`.
    pub lay: String,
    /// The first figures of the hash of its record.
    pub hash: String,
}

impl Holder {
    /// So many figures of the hash are kept.
    pub const FIGURES: usize = 12;

    /// Whether both are lays of one name in one job, whatever they hold.
    pub fn is_named_like(&self, other: &Holder) -> bool {
        self.job == other.job && self.lay == other.lay
    }
}

impl fmt::Display for Holder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.job {
            Some(job) => write!(f, "{} of {job}", self.lay),
            None => f.write_str(&self.lay),
        }
    }
}

/// What became of a piece's ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Its cut file is written; whether it was cut is not booked yet, and counts as cut.
    Claimed,
    /// Cut, and the piece is good.
    Good,
    /// Cut, and the piece is spoilt.
    Failed,
}

/// The ground of one piece: all within its outline, holes too.
#[derive(Debug, Clone, PartialEq)]
pub struct Used {
    /// Whose it is.
    pub by: Holder,
    /// The piece's address.
    pub address: String,
    /// What became of it.
    pub state: State,
    /// The piece's outline (mm).
    pub outline: Loop,
    /// The place that a good spare was taken for.
    pub given: Option<String>,
}
