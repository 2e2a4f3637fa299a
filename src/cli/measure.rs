//! `measure`: one length in every unit.

use super::{Answer, Outcome};
use crate::fault::Fault;
use crate::units::{Length, nearest_64th, nearest_drill, table};
use serde_json::json;

pub(super) fn run(lengths: &[String]) -> Answer {
    let mut answer = Answer::new();
    let mut shown = Vec::new();
    for text in lengths {
        match Length::parse_thickness(text, None) {
            Ok(length) => {
                if !answer.lines.is_empty() {
                    answer.line("");
                }
                for (name, figure) in table(&length) {
                    answer.line(format!("{name:<16}{figure}"));
                }
                let near = nearest_64th(length.mm());
                let drill = nearest_drill(length.mm());
                shown.push(json!({
                    "text": length.text(),
                    "mm": length.mm(),
                    "in": length.mm() / 25.4,
                    "nearest-64th": near.text,
                    "error-mm": near.error_mm,
                    "drill": drill.as_ref().map(|d| d.0.clone()),
                    "drill-error-mm": drill.as_ref().map(|d| d.2),
                }));
            }
            Err(fault) => {
                let code = crate::job::code_of(&fault);
                let mut said = Fault::error(code, fault.text());
                if let Some(cure) = fault.cure() {
                    said = said.cure(cure);
                }
                answer.faults.push(said);
                answer.outcome = Outcome::Faults;
            }
        }
    }
    answer.result = match &shown[..] {
        [one] => one.clone(),
        _ => json!({ "lengths": shown }),
    };
    answer
}
