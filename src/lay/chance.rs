//! A small generator of chance, so that a seed gives the same layout everywhere.
//!
//! # Source
//! The `SplitMix64` step of Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014.

/// A stream of chance.
#[derive(Debug, Clone)]
pub(crate) struct Chance {
    state: u64,
}

impl Chance {
    /// The stream of a seed and a number within it.
    pub(crate) fn new(seed: u64, stream: u64) -> Chance {
        let mut made = Chance { state: seed ^ stream.wrapping_mul(0xd134_2543_de82_ef95) };
        made.word();
        made
    }

    fn word(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A share from 0 up to, and without, 1.
    pub(crate) fn share(&mut self) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "53 bits fit exactly")]
        let share = (self.word() >> 11) as f64 / 9_007_199_254_740_992.0;
        share
    }

    /// A figure between two bounds.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// A whole number below `n`; 0 where there is none.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "small counts"
        )]
        let found = (self.share() * n as f64) as usize;
        found.min(n.saturating_sub(1))
    }
}
