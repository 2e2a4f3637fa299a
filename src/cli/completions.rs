//! `completions`: a script by which a shell completes commands and options.

use super::Answer;
use super::args::Typed;
use clap::CommandFactory;
use clap_complete::{Shell, generate};
use serde_json::json;

pub(super) fn run(shell: Shell) -> Answer {
    let mut script = Vec::new();
    generate(shell, &mut Typed::command(), "pouchwork", &mut script);
    let script = String::from_utf8_lossy(&script).into_owned();
    let mut answer = Answer::new();
    answer.result = json!({ "shell": shell.to_string(), "script": script });
    answer.raw = Some(script);
    answer
}
