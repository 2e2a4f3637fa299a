//! Places along a line at one pitch, wider after some of them.

use super::measures::Measures;
use super::sum::wrong;
use crate::fault::Fault;

/// Distances of `count` places from the first (mm), with what the tables `break` add to the pitch; `what` and `whole` are
/// the words for a place and for the line, such as hole and row.
pub(super) fn spaced(
    m: &Measures,
    count: u32,
    pitch: f64,
    (what, whole): (&str, &str),
    faults: &mut Vec<Fault>,
) -> Vec<f64> {
    let breaks: Vec<(u32, f64)> = m
        .tables("break")
        .iter()
        .filter_map(|gap| Some((gap.count("after")?, gap.mm("add")?)))
        .collect();
    for (after, _) in breaks.iter().filter(|(after, _)| *after == 0 || *after >= count) {
        faults.push(wrong(
            m,
            "break",
            format!("a break after {what} {after} in a {whole} of {count}"),
            &match count {
                1 => format!("a single {what} has no breaks: leave it out"),
                _ => format!("breaks come after {what}s 1 to {}", count - 1),
            },
        ));
    }
    (0..count)
        .map(|n| {
            let added: f64 =
                breaks.iter().filter(|(after, _)| *after <= n).map(|(_, add)| add).sum();
            f64::from(n) * pitch + added
        })
        .collect()
}
