//! Every test that looks at the program from outside: its house rules and its commands.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp,
    clippy::case_sensitive_file_extension_comparisons,
    reason = "tests stop where they fail"
)]

mod house;
mod program;
