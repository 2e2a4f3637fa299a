//! Tables as spreadsheets save them.

use super::faults::base;
use super::*;
use crate::units::Unit;

fn read(table: impl Into<Vec<u8>>) -> (Option<crate::job::Job>, Vec<String>) {
    let (job, faults) = base().with("p.csv", table).read();
    (job, faults.iter().map(told).collect())
}

fn well(table: impl Into<Vec<u8>>, position: usize) -> String {
    let (job, faults) = read(table);
    assert_eq!(faults, Vec::<String>::new());
    job.unwrap().parts[0].measures[position - 1].length("well").unwrap().text().to_owned()
}

#[test]
fn separators_are_found_and_marks_dropped() {
    for table in [
        "position,well,note\n3,1 5/32 in,x\n",
        "position;well;note\r\n3;1 5/32 in;\"a; b\"\r\n",
        "position\twell\tnote\n3\t1 5/32 in\t1,5\n",
        "\u{feff}position,well\n3,1 5/32 in\n",
        "# a note, with, commas\n\n# another; one\nposition;well\n# and here\n\n3;1 5/32 in\n",
        "Position , Well ,note\n 3 , 1 5/32 in \n",
        "well,position\n1 5/32 in,3",
        "position,well,,\n3,1 5/32 in,,\n,,,\n",
        "position,\"well\",note\n3,\"1 5/32 in\",\"said \"\"so\"\", twice\"\n",
    ] {
        assert_eq!(well(table, 3), "1 5/32 in", "{table:?}");
        assert_eq!(well(table, 4), "1 1/8 in", "{table:?}");
    }
}

#[test]
fn units_of_heads_yield_to_units_of_cells() {
    assert_eq!(well("position,well (in)\n3,1.125\n", 3), "1.125 in");
    assert_eq!(well("position,well [mm]\n3,29\n", 3), "29 mm");
    assert_eq!(well("position,well (in)\n3,29.1 mm\n", 3), "29.1 mm");
    // The part's unit holds where the head is silent, and yields to it.
    let job = base().text("job.toml").replace("table =", "unit = \"mm\"\ntable =");
    for (head, text) in [("well", "9 mm"), ("well (in)", "9 in")] {
        let memory = base().with("job.toml", job.as_str());
        let (made, _) = memory.with("p.csv", format!("position,{head}\n3,9\n")).read();
        let made = made.unwrap();
        assert_eq!(made.parts[0].measures[2].length("well").unwrap().text(), text);
    }
}

#[test]
fn places_in_quoted_fields_are_right() {
    let table = "position,note,well\n3,\"a, \"\"b\"\"\nsecond line\",1 x in\n4,\"é\",\"2 x in\"\n";
    let (_, faults) = base().with("p.csv", table).read();
    let spans: Vec<(usize, usize, &str)> = faults
        .iter()
        .map(|f| {
            let place = &f.marks[0].place;
            (place.line, place.column, &table[place.span.start..place.span.end])
        })
        .collect();
    assert_eq!(spans, [(3, 14, "1 x in"), (4, 7, "\"2 x in\"")]);
}

#[test]
fn cells_rows_and_files_have_limits() {
    let long = "x".repeat(4097);
    let (_, faults) = read(format!("position,well,note\n3,1 in,{long}\n"));
    assert_eq!(
        faults,
        ["E07 p.csv:2:8 this cell is longer than 4 KiB | look whether this is a table of measures"]
    );
    let (_, faults) = read(format!("position,note\n3,\"open\n{}", "4,1 in\n".repeat(2000)));
    assert_eq!(
        faults,
        [
            "E07 p.csv:2:3 this cell is longer than 4 KiB | the quote that begins here may not be closed"
        ]
    );
    let (_, faults) = read(format!("position\n3{}\n", ",abcdefg".repeat(9000)));
    assert_eq!(
        faults,
        ["E07 p.csv:2:1 this row is longer than 64 KiB | look whether this is a table of measures"]
    );
    let (_, faults) = read("position\n".repeat(300_000));
    assert_eq!(
        faults,
        ["E07 p.csv:1:1 p.csv is larger than 2 MiB, more than any job needs | \
             split the job, or look whether the right file was named"]
    );
}

#[test]
fn a_guarded_cell_comes_back_as_it_was() {
    use crate::job::cell;
    for text in [
        "=1+1",
        "+x",
        "-5 mm",
        "@a",
        "plain",
        "a,b",
        "say \"so\"",
        "#60 drill",
        " x",
        "two\nlines",
        "'x",
    ] {
        let written = cell(text);
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).from_reader(written.as_bytes());
        let row = reader.records().next().unwrap().unwrap();
        assert!(!row[0].starts_with(['=', '+', '-', '@']), "{written}");
        assert_eq!(crate::job::rows::unguarded(&row[0]), text);
    }
}

#[test]
fn a_template_holds_every_position() {
    let mut sources = Sources::default();
    // The table named in the job is not there yet: that is what the template is for.
    let mut memory = base();
    memory.job.remove("p.csv");
    let text = crate::job::template_for(&memory, &mut sources, "pouch").unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "# pouch, a pouch: a blank cell takes what the job file says");
    assert!(lines[1].starts_with("position,well,dip,land,nose,lifter,"), "{}", lines[1]);
    assert!(lines[1].ends_with(",note"));
    assert_eq!(lines.len(), 14);
    assert_eq!(lines[13].split(',').next(), Some("12"));
    let (job, faults) = base().with("p.csv", text).read();
    assert_eq!(faults.iter().map(told).collect::<Vec<_>>(), Vec::<String>::new());
    let part = &job.unwrap().parts[0];
    let inches = crate::job::template_table(part, Some(Unit::Inch));
    assert!(inches.contains("\nposition,well (in),dip (in),"), "{inches}");
    let faults = crate::job::template_for(&base(), &mut sources, "pouhc").unwrap_err();
    assert_eq!(
        told(&faults[0]),
        "E15 job.toml:1:1 there is no part called \"pouhc\" | did you mean `pouch`?"
    );
}

/// The reader's cells and the bytes they are said to stand in must be the same, on any text.
#[test]
fn spans_agree_with_the_reader() {
    let mut chance = trials::Chance::new(3);
    let signs = ["a", "1", ",", ",", "\"", "\"", "\n", "\r\n", "#", " ", ";", "é", "\r"];
    for _ in 0..trials::trials(20_000) {
        let text: String =
            (0..chance.below(24)).map(|_| signs[chance.below(signs.len())]).collect();
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let mut record = csv::StringRecord::new();
        while reader.read_record(&mut record).unwrap() {
            let from = usize::try_from(record.position().unwrap().byte()).unwrap();
            let (_, spans) = crate::job::rows::spans(&text, from, b',');
            assert_eq!(spans.len(), record.len(), "{text:?} {record:?} {spans:?}");
            for (cell, span) in record.iter().zip(spans) {
                let raw = &text[span];
                let bare = raw.strip_prefix('"').map_or_else(
                    || raw.to_owned(),
                    |_| {
                        let mut one = csv::ReaderBuilder::new()
                            .has_headers(false)
                            .from_reader(raw.as_bytes());
                        one.records().next().map_or_else(String::new, |r| r.unwrap()[0].to_owned())
                    },
                );
                assert_eq!(cell, bare, "{text:?}");
            }
        }
    }
}
