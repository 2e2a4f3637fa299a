//! How long a lay takes, how many evaluations make up some seconds, and what the machine does beside it.

use pouchwork::lay::{Effort, Group, Layout, Progress, Watch, lay, proof};
use std::fs;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// A run may take so many times the seconds it was meant to; then it is stopped.
const LEAVE: f64 = 1.3;

/// A lay that was proven.
pub(crate) struct Run {
    pub(crate) layout: Layout,
    pub(crate) seconds: f64,
    /// When the first proven layout was there.
    pub(crate) first: Option<f64>,
    /// Evaluations that it might spend.
    allowed: u64,
}

impl Run {
    /// Evaluations allowed a second: a search may end before it has spent them.
    fn rate(&self) -> f64 {
        let spent = self.layout.spent;
        let count = if self.layout.stopped { spent } else { self.allowed.max(spent) };
        #[allow(clippy::cast_precision_loss, reason = "a rate")]
        let count = count as f64;
        count / self.seconds.max(1e-3)
    }
}

/// Stops at a limit, and, if wanted, as soon as everything has a place.
struct Limit {
    start: Instant,
    seconds: f64,
    until_all: bool,
    all: AtomicBool,
    first: OnceLock<f64>,
}

impl Watch for Limit {
    fn look(&self, progress: Progress) {
        if progress.placed > 0 {
            self.first.get_or_init(|| self.start.elapsed().as_secs_f64());
        }
        if self.until_all && progress.placed >= progress.wanted {
            self.all.store(true, Ordering::Relaxed);
        }
    }

    fn stop(&self) -> bool {
        self.all.load(Ordering::Relaxed) || self.start.elapsed().as_secs_f64() > self.seconds
    }
}

fn limited(group: &Group, effort: Effort, seconds: f64, until_all: bool) -> Option<Run> {
    let watch = Limit {
        start: Instant::now(),
        seconds,
        until_all,
        all: AtomicBool::new(false),
        first: OnceLock::new(),
    };
    let layout = lay(group, effort, &watch);
    let seconds = watch.start.elapsed().as_secs_f64();
    if let Err(breaches) = proof::prove(group, &layout) {
        println!("NOT PROVEN {breaches:?}");
        return None;
    }
    Some(Run { layout, seconds, first: watch.first.get().copied(), allowed: effort.evaluations })
}

/// Lays without a limit of time, and proves.
pub(crate) fn run(group: &Group, effort: Effort) -> Option<Run> {
    limited(group, effort, f64::INFINITY, false)
}

/// Evaluations a second of a group, as runs of growing length told it.
///
/// The two stages cost differently, and their shares depend on the evaluations: so these are chosen for the seconds
/// wanted, once, and the clock only ends a run that goes far beyond.
pub(crate) struct Pace {
    /// Evaluations a second.
    rate: f64,
    /// Whether counts were asked for, not seconds.
    counts: bool,
}

/// A time of so much or more is no time but a count of evaluations.
const A_COUNT: f64 = 1e6;

impl Pace {
    /// Finds the pace for the first time wanted.
    pub(crate) fn found(group: &Group, seconds: f64, seed: u64) -> Option<Pace> {
        if seconds >= A_COUNT {
            return Some(Pace { rate: 1.0, counts: true });
        }
        let mut pace = Pace { rate: 0.0, counts: false };
        let mut wanted = 200_000;
        for share in [0.2, 1.0] {
            let effort = Effort { evaluations: wanted, seed };
            let run = limited(group, effort, seconds * LEAVE, false)?;
            pace.rate = run.rate();
            if run.seconds > 0.5 * seconds {
                break;
            }
            wanted = pace.evaluations(seconds * share);
        }
        Some(pace)
    }

    /// Evaluations for some seconds; never so few that the first stage is alone.
    pub(crate) fn evaluations(&self, seconds: f64) -> u64 {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a positive count"
        )]
        let count = (self.rate * seconds).clamp(1e5, 1e12) as u64;
        count
    }

    /// Lays for about so many seconds, and proves.
    pub(crate) fn run(&self, group: &Group, seconds: f64, seed: u64) -> Option<Run> {
        self.lay(group, seconds, seed, false)
    }

    /// The same, ended as soon as every piece has a place.
    pub(crate) fn run_until_all(&self, group: &Group, seconds: f64, seed: u64) -> Option<Run> {
        self.lay(group, seconds, seed, true)
    }

    fn lay(&self, group: &Group, seconds: f64, seed: u64, until_all: bool) -> Option<Run> {
        let effort = Effort { evaluations: self.evaluations(seconds), seed };
        limited(group, effort, seconds * LEAVE, until_all)
    }

    /// Takes the pace of runs that were made, for the next and longer ones.
    pub(crate) fn learn(&mut self, runs: &[Run]) {
        if self.counts {
            return;
        }
        let rates: Vec<f64> = runs.iter().map(Run::rate).collect();
        if !rates.is_empty() {
            self.rate = mean(&rates);
        }
    }
}

pub(crate) fn mean(of: &[f64]) -> f64 {
    #[allow(clippy::cast_precision_loss, reason = "a count of runs")]
    let count = of.len().max(1) as f64;
    of.iter().sum::<f64>() / count
}

/// Seconds for the proof of a layout alone.
pub(crate) fn proving(group: &Group, layout: &Layout) -> f64 {
    let start = Instant::now();
    let proven = proof::prove(group, layout).is_ok();
    std::hint::black_box(proven);
    start.elapsed().as_secs_f64()
}

/// Lets the peak of memory begin anew, where the system can.
pub(crate) fn forget_peak() {
    // Where it cannot, the peak stays that of all so far.
    let _ = fs::write("/proc/self/clear_refs", "5");
}

/// The most memory this process has held (MB), where the system tells.
pub(crate) fn peak() -> Option<f64> {
    let text = fs::read_to_string("/proc/self/status").ok()?;
    let line = text.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}

/// The same, as it is printed.
pub(crate) fn peak_told() -> String {
    peak().map_or_else(|| "not told".to_owned(), |mb| format!("{mb:.0} MB"))
}
