//! `kind`: which kinds of part there are, and a part of one kind as text with every key it may have.

use super::Answer;
use crate::fault::{Fault, Sources, nearest};
use crate::job::sample;
use crate::part::{KINDS, KindCard};
use serde_json::json;

pub(super) fn run(name: Option<&str>) -> Answer {
    let mut answer = Answer::new();
    let names: Vec<&str> = KINDS.iter().map(|card| card.name).collect();
    let Some(name) = name else {
        for card in KINDS {
            let besides: Vec<&str> = card.companions.iter().map(|c| c.name).collect();
            let with = match besides.as_slice() {
                [] => String::new(),
                list => format!("; with {}", list.join(", ")),
            };
            answer.line(format!("{:<9} {}{with}", card.name, card.about));
        }
        answer.hint("next: pouchwork kind NAME, for a part of it to copy");
        answer.result = json!({ "kinds": names });
        return answer;
    };
    let Some(card) = KINDS.iter().find(|card| card.name == name.to_lowercase()) else {
        let cure = match nearest(name, names.iter().copied()) {
            Some(near) => format!("did you mean {near}?"),
            None => format!("there are: {}", names.join(", ")),
        };
        let fault = Fault::error("E10", format!("there is no kind called \"{name}\""));
        return Answer::refused(vec![fault.cure(cure)], Sources::default());
    };
    answer.raw = Some(sample(card));
    answer.result = keys(card);
    answer
}

fn keys(card: &KindCard) -> serde_json::Value {
    let list = |keys: &[crate::part::Key]| {
        let one = |key: &crate::part::Key| json!({ "name": key.name, "needed": key.needed, "about": key.about });
        keys.iter().map(one).collect::<Vec<_>>()
    };
    let companions: Vec<_> = card
        .companions
        .iter()
        .map(|c| json!({ "name": c.name, "about": c.about, "keys": list(c.keys) }))
        .collect();
    json!({ "kind": card.name, "about": card.about, "keys": list(card.keys), "companions": companions })
}
