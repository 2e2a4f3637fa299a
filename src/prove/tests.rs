//! The room is tested through its door, with files of a small writer of the tests' own.

mod emit;
mod faults;
mod good;
mod job;
mod program;

/// How often a random test runs: a twentieth of the full run, times `POUCHWORK_TRIALS`; 20 is the full run.
fn trials(full: u64) -> u64 {
    let factor =
        std::env::var("POUCHWORK_TRIALS").ok().and_then(|t| t.parse::<f64>().ok()).unwrap_or(1.0);
    #[allow(clippy::cast_precision_loss, reason = "a count")]
    let wanted = full as f64 / 20.0 * factor;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
    let wanted = wanted.ceil().clamp(1.0, 1e6) as u64;
    wanted
}
