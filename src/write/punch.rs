//! The list of holes that are punched by hand, as a CSV table.
//!
//! Lines that begin with `#` are notes. Errors are the tool's size less that of the hole, so that a tool that is too
//! large has an error above zero. A field with a comma, a quote or a line break stands in quotes.
//!
//! # Source
//! Quotes: RFC 4180 (Shafranovich, 2005); lines end in a bare line feed, as in all files of this room.

use super::number::fixed;
use crate::letters::one_line;
use crate::plan::punches::{Near, PunchList, PunchRow};
use crate::units::{show, show_inches};
use std::fmt::Write;

/// Columns of the table.
const HEAD: &str = "diameter,diameter (mm),diameter (in),punch,punch error (mm),64th,64th error (mm),mm punch,\
                    mm punch error (mm),drill,drill error (mm),count,pieces";

/// What is said of the punches where the job does not name any.
pub(super) const STARTER: &str = "punches: a starter series from memory, not verified; list your own under [job]: punches = [\"1/16 in\", \"2 mm\"]";
/// And where it does.
pub(super) const OWN: &str = "punches: those of the job";

/// The table, a row a size.
///
/// # Units
/// As the columns say.
pub fn punch_csv(list: &PunchList, title: &str) -> String {
    let mut text = format!("# {}: holes to be punched by hand\n", one_line(title));
    let said = if list.starter { STARTER } else { OWN };
    let _ = writeln!(text, "# {said}");
    let _ = writeln!(text, "# errors: tool less hole, above zero the tool is larger");
    let _ = writeln!(text, "{HEAD}");
    for row in &list.rows {
        let pieces: Vec<String> = row.pieces.iter().map(ToString::to_string).collect();
        let drill = row.drill.clone().map_or([String::new(), String::new()], |near| told(&near));
        let [punch, fraction, metric] = [&row.punch, &row.fraction, &row.metric].map(told);
        let start = [written(row), fixed(row.diameter, 4), fixed(row.diameter / 25.4, 4)];
        let end = [row.count.to_string(), pieces.join(" ")];
        let fields: Vec<String> = [&start[..], &punch, &fraction, &metric, &drill, &end]
            .concat()
            .iter()
            .map(|f| quoted(f))
            .collect();
        let _ = writeln!(text, "{}", fields.join(","));
    }
    text
}

/// The diameter as it was written, or in millimetres where it was worked out.
pub(super) fn written(row: &PunchRow) -> String {
    if row.written.is_empty() { show(row.diameter) } else { one_line(&row.written) }
}

/// Both units of a diameter.
pub(super) fn both(row: &PunchRow) -> String {
    format!("{} ({})", show(row.diameter), show_inches(row.diameter))
}

/// Name and error of a tool.
fn told(near: &Near) -> [String; 2] {
    [one_line(&near.name), fixed(near.error, 3)]
}

/// A field, in quotes where it needs them; one that begins with `#` would pass for a note.
fn quoted(field: &str) -> String {
    if field.starts_with('#') || field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::Address;
    use crate::plan::Punched;

    #[test]
    fn a_row_a_size_with_quotes_where_they_are_needed() {
        let hole = |position, written: &str| Punched {
            address: Address { part: "port".to_owned(), position, member: None, spare: 0 },
            diameter: 1.5875,
            written: written.to_owned(),
        };
        let text =
            punch_csv(&PunchList::of(&[hole(1, "1/16\""), hole(2, "1/16\"")], &[]), "organ\nlay-1");
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "# organ lay-1: holes to be punched by hand");
        assert!(lines[1].contains("not verified"), "{}", lines[1]);
        // 1/16 in is 1.5875 mm, NIST SP 811; the drill nearest to .0625 in is #52, .0635 in (ASME B94.11M).
        assert_eq!(
            lines[4],
            "\"1/16\"\"\",1.5875,0.0625,1/16 in,0,1/16 in,0,2 mm,0.413,\"#52 drill\",0.025,2,port:1 port:2"
        );
        assert_eq!(lines[3].split(',').count(), 13);
        assert_eq!(lines.len(), 5);
    }

    #[test]
    fn what_was_worked_out_is_in_millimetres() {
        let hole = Punched {
            address: Address { part: "port".to_owned(), position: 1, member: None, spare: 0 },
            diameter: 12.0,
            written: String::new(),
        };
        let text = punch_csv(&PunchList::of(&[hole], &[]), "organ");
        let last = text.lines().last().unwrap();
        // Beyond the list of drills there is none: two fields are empty.
        assert!(last.starts_with("12.000 mm,12,0.4724,") && last.contains(",,,1,port:1"), "{last}");
    }
}
