//! The record of a lay, written and read again.

use super::jobs::job;
use super::*;
use crate::lay::record::{DotRow, Heading, Input, Record, from_json, hash, layouts, to_json};

fn heading(groups: usize) -> Heading {
    Heading {
        program: "0.1.0".to_owned(),
        seed: u64::MAX - 3,
        effort: 500,
        inputs: vec![Input { path: "job.toml".to_owned(), sha256: "00".repeat(32) }],
        groups: vec![("goat".to_owned(), "knife".to_owned()); groups],
    }
}

fn recorded(seed: u64) -> (Vec<Group>, Vec<Layout>, Record) {
    let groups = vec![job(seed)];
    let laid: Vec<Layout> = groups.iter().map(|g| lay(g, effort(500), &Patient)).collect();
    let record = Record::of(&groups, &laid, &heading(1));
    (groups, laid, record)
}

#[test]
fn a_record_reads_back_to_the_last_bit() {
    for seed in 0..20 {
        let (groups, laid, record) = recorded(seed);
        let text = to_json(&record);
        assert!(text.ends_with("}\n"));
        let back = from_json(&text).unwrap();
        assert_eq!(back, record);
        assert_eq!(to_json(&back), text);
        let again = layouts(&back, &groups, &heading(1).groups).unwrap();
        assert_eq!(again, laid, "job {seed}");
        assert!(proof::prove(&groups[0], &again[0]).is_ok());
    }
}

fn refused(damage: impl Fn(&mut Record, &mut Vec<Group>), words: &str) {
    let (mut groups, _, mut record) = recorded(2);
    damage(&mut record, &mut groups);
    let faults = layouts(&record, &groups, &heading(1).groups).unwrap_err();
    assert!(faults.iter().any(|f| f.contains(words)), "{words}: {faults:?}");
}

#[test]
fn a_record_of_another_job_is_refused_in_words() {
    refused(|r, _| drop(r.pieces.pop()), "in the job and not in the record");
    refused(|r, _| r.pieces.push(r.pieces[0].clone()), "more than once");
    refused(|r, _| r.pieces[0].address = "pouch:99".into(), "not in the job");
    refused(|r, _| r.pieces[0].sheet = "elsewhere".into(), "none of its sheets");
    refused(|r, _| r.pieces[0].host = Some("pouch:99".into()), "not among its sisters");
    refused(|r, _| r.pieces[0].stance = Some(33.0), "no stance");
    refused(|r, _| r.sheets[0].generation += 1, "another generation");
    refused(|r, _| r.sheets[0].outline.push('0'), "another outline");
    refused(|r, _| drop(r.sheets.pop()), "not in the record");
    refused(|r, _| r.groups.clear(), "0 groups");
    refused(
        |r, _| r.groups[0].material = "calf".into(),
        "for the material calf, in the job it is goat",
    );
    refused(
        |r, _| r.groups[0].machine = "laser".into(),
        "for the machine laser, in the job it is knife",
    );
    let dot =
        |sheet: &str, windows: Vec<u32>| DotRow { sheet: sheet.into(), x: 1.0, y: 2.0, windows };
    refused(
        |r, _| r.dots.push(dot("elsewhere", Vec::new())),
        "a register dot is on sheet elsewhere",
    );
    refused(|r, _| r.dots.push(dot(&r.sheets[0].id, vec![3])), "a register dot is in bed window 3");
    refused(|r, _| r.pieces[0].window = Some(0), "bed window 0");
    refused(|r, _| r.groups[0].reach = Some([300.0, 300.0]), "a bed of another size");
    refused(|_, g| g[0].apart += 0.1, "between pieces");
    refused(|_, g| g[0].grounds[0].edge += 0.1, "another edge distance");
}

#[test]
fn an_edited_place_is_found_by_the_proof() {
    let (groups, _, mut record) = recorded(2);
    record.pieces[0].x += 500.0;
    let again = layouts(&record, &groups, &heading(1).groups).unwrap();
    assert!(proof::prove(&groups[0], &again[0]).is_err());
}

#[test]
fn text_that_is_no_record_is_refused() {
    let (_, _, record) = recorded(2);
    let text = to_json(&record);
    assert!(from_json("").is_err());
    assert!(from_json("[]").is_err());
    assert!(from_json(&text.replacen("\"schema\": 1", "\"schema\": 2", 1)).is_err());
    assert!(from_json(&text.replacen("\"schema\"", "\"scheme\"", 1)).is_err());
    assert!(from_json(&text.replacen("\"turn\": ", "\"turn\": 1e999, \"t\": ", 1)).is_err());
    assert!(from_json(&text.replacen("\"turn\": ", "\"turn\": 1e9, \"t\": ", 1)).is_err());
    let mut far = record;
    far.pieces[0].x = 2e5;
    assert!(from_json(&to_json(&far)).is_err());
    assert!(from_json(&" ".repeat(crate::lay::record::MOST_TEXT + 1)).is_err());
}

#[test]
fn names_are_wanted_for_every_group() {
    let (groups, _, record) = recorded(2);
    let faults = layouts(&record, &groups, &[]).unwrap_err();
    assert_eq!(faults, ["the job names 0 groups and has 1"]);
}

#[test]
fn the_reason_of_a_piece_tells_what_happened() {
    let reason = |grounds: Vec<Sheet>, tried: bool, largest_free: Option<(usize, Point, f64)>| {
        let groups = [group(many("disk", 0, &free(disk(40.0)), 1, 0), grounds, 1.0, 1.0)];
        let left = vec![LeftOut { piece: 0, largest_free, tried }];
        let laid = [Layout { left, ..Layout::default() }];
        let record = Record::of(&groups, &laid, &heading(1));
        let back = layouts(&record, &groups, &heading(1).groups).unwrap();
        assert_eq!(back, laid);
        record.left[0].reason.clone()
    };
    let none = reason(Vec::new(), true, None);
    assert_eq!(none, "no sheet of its material is left for this machine");
    let late = reason(vec![cloth(30.0, 30.0)], false, None);
    assert_eq!(late, "time ran out before it was tried");
    assert_eq!(reason(vec![cloth(30.0, 30.0)], true, None), "no room is left on any sheet");
    let small = reason(vec![cloth(30.0, 30.0)], true, Some((0, p(15.0, 15.0), 28.0)));
    assert!(small.contains("28.0 mm across"), "{small}");
}

#[test]
fn hashes_are_those_of_the_standard() {
    // NIST, FIPS 180-2 with change notice, appendix B.1: the message "abc".
    let known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(hash("abc"), known);
    assert_eq!(hash(b"abc"), known);
}

#[test]
fn the_hash_of_a_sheet_covers_grades_and_readings() {
    let plain = cloth(100.0, 80.0);
    let zone = |grade, side: f64| crate::sheet::Zone {
        why: "flank".to_owned(),
        grade,
        outline: rectangle(p(1.0, 2.0), side, side, 0.0).unwrap(),
    };
    let reading = |x, mm| crate::sheet::Reading {
        at: p(x, 5.0),
        thickness: crate::units::Length::from_mm(mm),
    };
    let changed = |change: &dyn Fn(&mut Sheet)| {
        let mut made = plain.clone();
        change(&mut made);
        crate::lay::record::outline_hash(&made)
    };
    let mut hashes = vec![
        changed(&|_| ()),
        changed(&|s| s.grade = 2),
        changed(&|s| s.zones = vec![zone(2, 30.0)]),
        changed(&|s| s.zones = vec![zone(3, 30.0)]),
        changed(&|s| s.zones = vec![zone(2, 31.0)]),
        changed(&|s| s.zones = vec![zone(2, 30.0), zone(3, 30.0)]),
        changed(&|s| s.zones = vec![zone(3, 30.0), zone(2, 30.0)]),
        changed(&|s| s.readings = vec![reading(5.0, 0.9)]),
        changed(&|s| s.readings = vec![reading(5.0, 0.91)]),
        changed(&|s| s.readings = vec![reading(6.0, 0.9)]),
    ];
    hashes.sort();
    hashes.dedup();
    assert_eq!(hashes.len(), 10);
}
