//! What looks on while laying goes on: draws the bar, knows the time, hears Ctrl-C.

use super::args::LayArgs;
use super::show::Show;
use crate::lay::{Progress, Watch};
use indicatif::{ProgressBar, ProgressStyle};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

/// Between two drawings of the bar (ms).
const BETWEEN_LOOKS: u64 = 250;

/// Looks on: draws the bar, knows the time, hears Ctrl-C.
pub(super) struct Eyes {
    start: Instant,
    cap: Option<Duration>,
    /// Of the cap, what the batch in hand may use (ms from the start).
    until: AtomicU64,
    /// When it was last drawn (ms from the start).
    drawn: AtomicU64,
    bar: ProgressBar,
}

fn interrupted() -> &'static Arc<AtomicBool> {
    static FLAG: OnceLock<Arc<AtomicBool>> = OnceLock::new();
    FLAG.get_or_init(|| {
        let flag = Arc::new(AtomicBool::new(false));
        let heard = Arc::clone(&flag);
        // The second time the run ends at once; nothing is half-written, since files are renamed when whole.
        let _ = ctrlc::set_handler(move || {
            if heard.swap(true, Ordering::SeqCst) {
                std::process::exit(130);
            }
        });
        flag
    })
}

impl Eyes {
    pub(super) fn new(how: &LayArgs, show: &Show, pieces: usize) -> Eyes {
        interrupted();
        show.end();
        let bar =
            if show.may_draw() { ProgressBar::new(pieces as u64) } else { ProgressBar::hidden() };
        if let Ok(style) = ProgressStyle::with_template(
            "laying {bar:30} {pos} of {len} pieces  {msg}  {elapsed}  Ctrl-C keeps the best so far",
        ) {
            bar.set_style(style);
        }
        bar.tick();
        let cap = how.time.map(Duration::from_secs);
        Eyes {
            start: Instant::now(),
            cap,
            until: AtomicU64::new(u64::MAX),
            drawn: AtomicU64::new(0),
            bar,
        }
    }

    /// Gives the batch in hand its share of the time that is left, by the pieces of it and of those to come.
    pub(super) fn share_time(&self, pieces: impl Iterator<Item = usize>) {
        let Some(cap) = self.cap else { return };
        let counts: Vec<usize> = pieces.collect();
        let all = counts.iter().sum::<usize>().max(1);
        let mine = counts.first().copied().unwrap_or(all).max(1);
        let gone = self.start.elapsed();
        #[allow(clippy::cast_precision_loss, reason = "counts of pieces")]
        let share = cap.saturating_sub(gone).mul_f64(mine as f64 / all as f64);
        let until = (gone + share).as_millis();
        self.until.store(u64::try_from(until).unwrap_or(u64::MAX), Ordering::Relaxed);
    }

    /// The same eyes without a look at the clock.
    pub(super) fn without_cap(&self) -> Eyes {
        let until = AtomicU64::new(u64::MAX);
        Eyes {
            start: self.start,
            cap: None,
            until,
            drawn: AtomicU64::new(0),
            bar: self.bar.clone(),
        }
    }

    pub(super) fn next(&self, pieces: usize) {
        self.bar.inc(pieces as u64);
    }

    pub(super) fn done(&self) {
        self.bar.finish_and_clear();
    }
}

impl Watch for Eyes {
    fn look(&self, progress: Progress) {
        let now = u64::try_from(self.start.elapsed().as_millis()).unwrap_or(u64::MAX);
        let before = self.drawn.load(Ordering::Relaxed);
        let due = now >= before.saturating_add(BETWEEN_LOOKS);
        if !due
            || self
                .drawn
                .compare_exchange(before, now, Ordering::Relaxed, Ordering::Relaxed)
                .is_err()
        {
            return;
        }
        let share = progress.spent.saturating_mul(100) / progress.effort.max(1);
        self.bar.set_message(format!(
            "{}: {share} % of the effort, {} places tried, {} of {} placed",
            progress.stage, progress.spent, progress.placed, progress.wanted
        ));
    }

    fn stop(&self) -> bool {
        interrupted().load(Ordering::SeqCst)
            || (self.cap.is_some()
                && self.start.elapsed().as_millis()
                    >= u128::from(self.until.load(Ordering::Relaxed)))
    }
}
