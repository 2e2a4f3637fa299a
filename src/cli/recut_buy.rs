//! What to buy for a piece that has no room on what is in hand, in the form of `order`.

use super::Answer;
use super::order::line_json;
use crate::job::{Job, batches, recut_job, wishes, work_out};
use crate::lay::{Effort, Patient};
use crate::order::{order_lines, words};
use serde_json::json;

/// Rows of an order that say nothing new of one piece, or that speak of sheets in hand.
const LEFT_OUT: [&str; 5] = ["net", "spares", "in hand", "rule", "trade"];

/// Adds the line of the order: the piece alone, with a coupon, and nothing in hand, for what is in hand has no room.
pub(super) fn tell(answer: &mut Answer, job: &Job, address: &str) {
    let alone = recut_job(job, address, None);
    let (worked, _) = work_out(&alone);
    let Ok(mut list) = batches(&alone, &worked) else { return };
    for batch in &mut list {
        batch.group.grounds.clear();
    }
    let effort = Effort { evaluations: Effort::QUICK.evaluations, seed: 1 };
    let lines = order_lines(&wishes(&alone, &list), effort, &Patient);
    answer.line(format!("to buy for {address}, with a coupon of the new stuff:"));
    let mut is_kept = true;
    for line in words(&lines) {
        let name: String = line.chars().take(12).collect();
        if !name.trim().is_empty() && name.starts_with("  ") {
            is_kept = !LEFT_OUT.contains(&name.trim());
        }
        if is_kept && !line.is_empty() {
            answer.line(line);
        }
    }
    answer.result = json!({ "to-buy": lines.iter().map(line_json).collect::<Vec<_>>() });
    answer.hint("pouchwork order tells how much the whole job still wants");
}
