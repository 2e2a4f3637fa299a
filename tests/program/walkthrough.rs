//! One job from an empty folder to the papers of the instrument, as a person goes through it.

use super::{Ran, bench, edit, run};
use std::fs;
use std::path::Path;

fn good(job: &Path, words: &[&str]) -> Ran {
    let ran = run(job, words);
    assert_eq!(ran.code, 0, "{words:?}: {}{}", ran.out, ran.err);
    ran
}

/// What a command ends with tells the next one.
fn leads_to(ran: &Ran, next: &str) {
    let said = format!("{}{}", ran.out, ran.err);
    assert!(said.contains(next), "{next} in {said}");
}

#[test]
fn from_the_first_measure_to_a_piece_cut_again() {
    let room = bench();
    good(room.path(), &["new", "chapel"]);
    let job = room.path().join("chapel");
    // Measured at the bench; one cell is a slip that check tells with its place.
    edit(&job.join("pouches.csv"), "3,1 5/32 in", "3,8-Mar");
    let slip = run(&job, &["check"]);
    assert!(slip.code == 1 && slip.err.contains("E21") && slip.err.contains("3/8"), "{}", slip.err);
    edit(&job.join("pouches.csv"), "3,8-Mar", "3,1 5/32 in");
    good(&job, &["check"]);
    good(&job, &["draw"]);
    good(&job, &["why", "pouch:7"]);
    good(&job, &["order", "--effort", "quick"]);
    leads_to(&good(&job, &["lay", "--effort", "quick"]), "pouchwork cut lay-1");
    // A kerf coupon on the cloth, cut, measured: the files that follow allow for it.
    let coupon = good(&job, &["coupon", "kerf", "--material", "hinge-cloth", "--machine", "knife"]);
    leads_to(&coupon, "coupon-1");
    good(&job, &["cut", "coupon-1"]);
    let table = job.join("out/coupon-1/readings.csv");
    let read = run(&job, &["coupon", "read", "out/coupon-1/readings.csv", "--yes"]);
    assert!(
        table.is_file() && read.code == 1,
        "an empty table tells what is missing: {}",
        read.err
    );
    good(&job, &["tally", "coupon-1", "--all-good"]);
    // What is left after the coupon is laid anew, gone through and cut.
    good(&job, &["lay", "--effort", "quick", "--seed", "2"]);
    let listed = good(&job, &["safety", "lay-2", "--machine", "knife", "--print"]);
    assert!(listed.out.contains("blade"), "{}", listed.out);
    leads_to(&good(&job, &["cut", "lay-2"]), "pouchwork tally lay-2");
    for file in ["H1-knife.svg", "H1-knife.dxf", "C1-knife.svg", "C1-knife.dxf"] {
        assert!(good(&job, &["prove", &format!("out/lay-2/{file}")]).out.ends_with("proven\n"));
    }
    // One pouch tears, and its only spare with it.
    let booked = good(&job, &["tally", "lay-2", "--failed", "pouch:7,pouch:7+1"]);
    leads_to(&booked, "pouchwork recut pouch:7");
    leads_to(&good(&job, &["status"]), "pouchwork recut pouch:7");
    leads_to(&good(&job, &["recut", "pouch:7"]), "pouchwork cut recut-1");
    leads_to(&good(&job, &["cut", "recut-1"]), "pouchwork tally recut-1");
    good(&job, &["tally", "recut-1", "--all-good"]);
    let stock = good(&job, &["stock", "list"]);
    assert!(stock.out.contains("H1") && stock.out.contains("generation 3"), "{}", stock.out);
    let status = good(&job, &["status"]);
    assert!(status.out.contains("next: all is cut"), "{}", status.out);
    let papers = good(&job, &["record"]);
    assert!(papers.out.contains("| pouch:7 ") && papers.out.contains("spoilt"), "{}", papers.out);
    assert!(
        fs::read_to_string(job.join("out/record/record.md")).unwrap().starts_with("# What was cut")
    );
}
