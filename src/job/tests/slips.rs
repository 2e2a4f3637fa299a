//! Slips in sets that are alike, and in sets that grow along the compass.

use super::faults::base;
use super::*;
use std::fmt::Write as _;

fn strips(table: &str) -> Vec<String> {
    let job = base().text("job.toml");
    let head = &job[..job.find("[[part]]").unwrap()];
    let part = "[[part]]\nname = \"s\"\nkind = \"strip\"\npositions = \"all\"\ntable = \"p.csv\"\nwidth = \"1 in\"\n\
                length = \"4 in\"\nmaterial = \"pouch-leather\"\ncut-with = \"knife\"\n";
    let (_, faults) = base().with("job.toml", format!("{head}{part}")).with("p.csv", table).read();
    faults.iter().map(told).collect()
}

#[test]
fn a_set_that_grows_is_no_slip_and_inches_in_it_are() {
    let lengths = [40, 46, 52, 60, 68, 78, 88, 101, 115, 131, 149, 170];
    let mut table = "position,length (mm)\n".to_owned();
    for (n, length) in lengths.iter().enumerate() {
        let _ = writeln!(table, "{},{length}", n + 1);
    }
    assert_eq!(strips(&table), Vec::<String>::new());
    let slipped = table.replace("6,78\n", "6,78 in\n");
    assert_eq!(
        strips(&slipped),
        ["E33 job.toml:15:1 s: 1981.2 mm long, and the bed of drag-knife is 1280 by 980 mm clear | cut it on a larger \
          machine or by hand"
            .to_owned(),
         "W03 p.csv:7:3 s:6: `length` is 78 in, 20 times the others | did you mean 78 mm?".to_owned()]
    );
}

#[test]
fn one_place_is_told_once() {
    // All positions but three take the value of the part, which is told at its own place and only once.
    let table = "position,length\n1,4 in\n2,4 in\n3,4 in\n4,4 in\n5,4 in\n6,4 in\n7,4 in\n8,4 in\n9,4 in\n10,4 in\n11,\n12,\n";
    let faults = strips(&table.replace("10,4 in", "10,4.01 in"));
    assert_eq!(faults, Vec::<String>::new());
    let faults = strips(&table.replace("3,4 in", "3,4 mm"));
    assert_eq!(
        faults,
        [
            "W03 p.csv:4:3 s:3: `length` is 4 mm, the others are 25 times as much | did you mean 4 in?"
        ]
    );
}

#[test]
fn readings_within_a_quarter_millimetre_are_silent() {
    let with = |list: &str| {
        let job =
            base().text("job.toml").replace("well = \"1 1/8 in\"", &format!("well = [{list}]"));
        base().with("job.toml", job).read()
    };
    let (job, faults) = with("\"1.125 in\", \"1.130 in\", \"1.120 in\"");
    assert!(faults.iter().all(|f| f.code != "W14"), "{faults:?}");
    let well = job.unwrap().parts[0].measures[0].length("well").unwrap().clone();
    assert_eq!(well.readings().len(), 3);
    let (_, faults) = with("\"10.00 mm\", \"10.30 mm\"");
    assert!(faults.iter().any(|f| f.code == "W14"), "{faults:?}");
}
