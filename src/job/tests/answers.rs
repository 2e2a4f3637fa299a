//! Answers and safety records: what is read, what is refused, and that nothing panics.

use super::told;
use crate::fault::Sources;
use crate::job::{read_answers, read_safety_record};

const ANSWERS: &str = "machine = \"m\"\nperson = \"Ada Example\"\n[answers]\nstay = \"17\"\n";

fn refused(text: &str) -> Vec<String> {
    let read = read_answers("a.toml", text.as_bytes(), &mut Sources::default());
    read.unwrap_err().iter().map(told).collect()
}

#[test]
fn answers_are_read_with_their_places() {
    let read = read_answers("a.toml", ANSWERS.as_bytes(), &mut Sources::default()).unwrap();
    assert_eq!((&*read.machine.text, &*read.person.text), ("m", "Ada Example"));
    let stay = &read.given["stay"];
    assert_eq!(stay.text, "17");
    assert_eq!(stay.place.as_ref().unwrap().line, 4);
}

#[test]
fn slips_in_answers_are_told() {
    assert_eq!(
        refused(&ANSWERS.replace("machine = \"m\"\n", "")),
        [
            "E12 a.toml:1:1 a file of answers needs `machine` (the one that they are for) | for example machine = \"my-laser\""
        ]
    );
    assert_eq!(
        refused(&ANSWERS.replace("\"17\"", "17")),
        [
            "E08 a.toml:4:8 `stay` wants a text in quotes, and this is a whole number | for example stay = \"…\""
        ]
    );
    assert_eq!(
        refused(&ANSWERS.replace("[answers]\n", "")),
        [
            "E12 a.toml:1:1 a file of answers needs [answers], an answer an item | write [answers] with the items below it",
            "E11 a.toml:3:1 a file of answers has no key called `stay` | it takes: answers, machine, person",
        ]
    );
}

#[test]
fn no_prefix_and_no_bent_byte_of_a_record_is_a_record_or_a_panic() {
    let seal = "0".repeat(64);
    let text = format!(
        "seal = \"{seal}\"\nform = 1\nlay = \"lay-1\"\nmachine = \"m\"\nperson = \"Ada\"\nday = \"2026-03-14\"\n\
         motions = \"a\"\nmachine-record = \"b\"\nlist = \"c\"\n\n[materials]\n\"x\" = \"d\"\n\n[answers]\n\"stay\" = \"17\"\n"
    );
    let read = |bytes: &[u8]| read_safety_record("r.toml", bytes, &mut Sources::default());
    assert_eq!(read(text.as_bytes()).unwrap().answers["stay"], "17");
    let whole = text.find("[answers]").unwrap() + "[answers]".len();
    for end in 0..whole {
        assert!(read(&text.as_bytes()[..end]).is_err(), "{end}");
    }
    for at in 0..text.len() {
        let mut bent = text.clone().into_bytes();
        bent[at] ^= 0x40;
        let _ = read(&bent);
    }
    for (from, to) in [("2026-03-14", "2026-02-30"), ("form = 1", "form = 2"), ("lay = ", "lie = ")]
    {
        assert!(read(text.replace(from, to).as_bytes()).is_err(), "{to}");
    }
}
