//! What may still be spent, and whether someone wants to stop.

use super::{Progress, Watch};
use std::sync::atomic::{AtomicU64, Ordering};

/// Between two looks (evaluations).
const LOOK: u64 = 2048;

/// What the whole of a search shares.
pub(crate) struct Account<'a> {
    /// Looks on.
    pub(crate) watch: &'a dyn Watch,
    /// Spent so far, by everyone.
    pub(crate) spent: AtomicU64,
    /// May be spent.
    pub(crate) effort: u64,
    /// What is being done, in plain words.
    pub(crate) stage: &'static str,
    /// Pieces placed in the best layout so far.
    pub(crate) placed: usize,
    /// Pieces wanted.
    pub(crate) wanted: usize,
}

/// One attempt's allowance.
pub(crate) struct Purse<'a> {
    account: &'a Account<'a>,
    /// Spent by this attempt.
    pub(crate) spent: u64,
    allowed: u64,
    since: u64,
    /// Whether someone wants to stop.
    pub(crate) stopped: bool,
}

impl<'a> Purse<'a> {
    /// A purse with an allowance.
    pub(crate) fn new(account: &'a Account<'a>, allowed: u64) -> Purse<'a> {
        Purse { account, spent: 0, allowed, since: 0, stopped: account.watch.stop() }
    }

    /// Spends so many evaluations; false when it is time to go home.
    pub(crate) fn spend(&mut self, evaluations: u64) -> bool {
        self.spent += evaluations;
        self.since += evaluations;
        self.stopped |= self.account.watch.stop();
        if self.since >= LOOK {
            let spent = self.account.spent.fetch_add(self.since, Ordering::Relaxed) + self.since;
            self.since = 0;
            self.account.watch.look(Progress {
                stage: self.account.stage,
                spent: spent.min(self.account.effort),
                effort: self.account.effort,
                placed: self.account.placed,
                wanted: self.account.wanted,
            });
        }
        !self.stopped && self.spent <= self.allowed
    }

    /// Whether the attempt was cut short.
    pub(crate) fn is_empty(&self) -> bool {
        self.stopped || self.spent > self.allowed
    }
}
