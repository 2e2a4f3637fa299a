//! What benches are measured beside: how long this machine, as busy as it is, takes over a job that all know.

use std::time::Instant;

/// Seconds in which a million numbers are sorted ten times.
pub(crate) fn sorting() -> f64 {
    let mut state = 1_u64;
    let mut word = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        state >> 24
    };
    let mut seconds = 0.0;
    for _ in 0..10 {
        let mut numbers: Vec<u64> = (0..1_000_000).map(|_| word()).collect();
        let start = Instant::now();
        numbers.sort_unstable();
        std::hint::black_box(&numbers);
        seconds += start.elapsed().as_secs_f64();
    }
    seconds
}
