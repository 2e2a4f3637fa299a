//! `profile`: a built-in profile as text, to be copied into the job and filled with figures of one's own.

use super::Answer;
use crate::fault::{Fault, Sources, nearest};
use crate::job::{PROFILES, profile};
use serde_json::json;

pub(super) fn run(name: Option<&str>) -> Answer {
    let mut answer = Answer::new();
    let names: Vec<&str> = PROFILES.iter().map(|(path, _)| bare(path)).collect();
    let Some(name) = name else {
        for (path, text) in PROFILES {
            answer.line(format!("{:<34} {}", path, title(text)));
        }
        answer.hint("next: pouchwork profile NAME > machines/NAME.toml, or materials/NAME.toml");
        answer.result = json!({ "profiles": names });
        return answer;
    };
    let found = PROFILES.iter().find(|(path, _)| bare(path) == name || *path == name);
    let Some(text) = found.and_then(|(path, _)| profile(path)) else {
        let cure = match nearest(name, names.iter().copied()) {
            Some(near) => format!("did you mean {near}?"),
            None => format!("there are: {}", names.join(", ")),
        };
        let fault = Fault::error("E15", format!("no built-in profile is called \"{name}\""));
        return Answer::refused(vec![fault.cure(cure)], Sources::default());
    };
    answer.result = json!({ "profile": name, "toml": text });
    answer.raw = Some(text.to_owned());
    answer
}

/// The name jobs use: the path without folder and ending.
fn bare(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path).trim_end_matches(".toml")
}

/// What a profile calls itself.
fn title(text: &str) -> &str {
    text.lines().find_map(|line| line.strip_prefix("name")?.split('"').nth(1)).unwrap_or("")
}
