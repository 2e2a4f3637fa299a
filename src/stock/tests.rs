use super::*;
use crate::geom::{Point, rectangle};
use crate::sheet::{Flaw, Reading, SheetKind, Zone};
use crate::units::Length;

const RECORD: &str = "# My sheets.\n\n[[hide]]  # the large one\nid = \"H1\"   # bought in spring\nmaterial = \"goat\"\ngrain = 0\n\
unit = \"mm\"\ncorners = [[0, 0], [500, 0],\n  [500, 300], [0, 300]]\n\n[[hide.flaw]]\nwhy = \"[[hide]]\" # a name like a header\nat = [40, 40]\ndiameter = 10\n\
# end of the large one\n\n[[leaf]]\nid = \"F1\"\nmaterial = \"felt\"\nwidth = \"200 mm\"\nlength = \"300 mm\"\ngeneration = 3\n";

fn day() -> Day {
    Day::parse("2026-03-14").unwrap()
}

fn by(lay: &str, hash: &str) -> Holder {
    Holder { job: None, lay: lay.to_owned(), hash: hash.to_owned() }
}

fn sheet(id: &str) -> Sheet {
    Sheet::bare(id, SheetKind::Hide, "goat", rectangle(Point::ORIGIN, 500.0, 300.0, 0.0).unwrap())
}

fn disk(n: f64) -> (String, Loop) {
    (format!("pouch:{n}"), Loop::circle(Point::new(40.0 * n, 30.123_456_78), 18.0).unwrap())
}

fn claimed(text: &str, lay: &str, ids: &[&str]) -> Edit {
    let sheets: Vec<Sheet> = ids.iter().map(|id| sheet(id)).collect();
    let taken = |sheet| Taken { sheet, entered: "said", pieces: vec![disk(1.0), disk(2.0)] };
    let list: Vec<Taken<'_>> = sheets.iter().map(taken).collect();
    claim(text, &by(lay, "0011"), &list, day()).unwrap()
}

/// Every edit leaves the user's own lines as they stand, and its splices give the text before, to the last byte.
#[test]
fn comments_stay_and_every_edit_can_be_taken_back() {
    let mut text = RECORD.to_owned();
    let goes_back = |edit: &Edit| {
        let back = Edit::back(&edit.after(), &edit.splices()).unwrap();
        assert_eq!(back.after(), edit.before());
    };
    for (lay, ids) in [("lay-1", &["H1", "F1"][..]), ("lay-2", &["H1", "H2"]), ("lay-3", &["F1"])] {
        let edit = claimed(&text, lay, ids);
        goes_back(&edit);
        text = edit.after();
        assert!(claimed(&text, lay, ids).is_empty(), "a lay that is cut again renews its claim");
    }
    for line in RECORD.lines() {
        assert!(text.contains(line), "{line} is gone");
    }
    let found = entries(&text).unwrap();
    let ids: Vec<(&str, usize)> = found.iter().map(|e| (e.id.as_str(), e.claims.len())).collect();
    assert_eq!(ids, [("H1", 2), ("F1", 2), ("H2", 1)]);
    let states = BTreeMap::from([("pouch:2".to_owned(), State::Failed)]);
    let edit = tally(&text, &by("lay-1", ""), &Tally::Cut(states)).unwrap();
    goes_back(&edit);
    let found = entries(&edit.after()).unwrap();
    assert_eq!((found[0].generation, found[1].generation, found[2].generation), (2, 4, 1));
    assert_eq!(found[0].cuts[0].pieces[1], ("pouch:2".to_owned(), State::Failed));
    assert_eq!(found[0].claims.len(), 1);
    let edit = tally(&edit.after(), &by("lay-2", ""), &Tally::Withdrawn).unwrap();
    goes_back(&edit);
    let found = entries(&edit.after()).unwrap();
    assert_eq!((found[0].claims.len(), found[2].claims.len(), found[2].generation), (0, 0, 1));
    let edit = forget(&edit.after(), "h2").unwrap();
    goes_back(&edit);
    assert_eq!(entries(&edit.after()).unwrap().len(), 2);
    assert!(edit.after().contains("# end of the large one"));
}

#[test]
fn slips_of_a_tally_are_told_with_what_is_near() {
    let text = claimed(RECORD, "lay-1", &["H1"]).after();
    let wrong = |lay: &str, address: &str| {
        let states = BTreeMap::from([(address.to_owned(), State::Failed)]);
        tally(&text, &by(lay, ""), &Tally::Cut(states)).unwrap_err()
    };
    let fault = wrong("lay-1", "pouch:3");
    crate::fault::tells([fault.code], "E86");
    assert!(fault.cure.unwrap().contains("pouch:1, pouch:2"));
    let fault = wrong("lay-7", "pouch:1");
    crate::fault::tells([fault.code], "E87");
    assert!(fault.cure.unwrap().contains("claims of: lay-1"));
    let booked = tally(&text, &by("lay-1", ""), &Tally::Cut(BTreeMap::new())).unwrap().after();
    let fault = tally(&booked, &by("lay-1", ""), &Tally::Withdrawn).unwrap_err();
    assert!(fault.code == "E87" && fault.text.contains("already booked, on H1"), "{fault}");
    crate::fault::tells([forget(&text, "H1").unwrap_err().code], "E89");
    crate::fault::tells([forget(&text, "H8").unwrap_err().code], "E88");
    assert_eq!(add(&text, &sheet("h1"), None, day()).unwrap_err().code, "E14");
    let other = Taken { sheet: &sheet("H1"), entered: "", pieces: vec![disk(3.0)] };
    let fault = claim(&text, &by("lay-1", "0022"), &[other], day()).unwrap_err();
    crate::fault::tells([fault.code], "E84");
    // Another job's lay of the same name is another lay.
    let foreign = Holder { job: Some("../chapel".to_owned()), ..by("lay-1", "0022") };
    let other = Taken { sheet: &sheet("H1"), entered: "", pieces: vec![disk(3.0)] };
    let both = claim(&text, &foreign, &[other], day()).unwrap().after();
    assert_eq!(entries(&both).unwrap()[0].claims.len(), 2);
    assert_eq!(
        tally(&both, &by("lay-1", ""), &Tally::Withdrawn)
            .map(|e| entries(&e.after()).unwrap()[0].claims[0].by.clone()),
        Ok(foreign)
    );
}

#[test]
fn what_is_not_ours_is_refused_untouched() {
    assert_eq!(checked("schema = 2\n", "r").unwrap_err().code, "E82");
    for text in ["schema = \"1\"\n", "[[hide]\nid = 1", "[[hide]]\nid = \"H1\"\nid = \"H1\"\n"] {
        let fault = checked(text, "r.toml").unwrap_err();
        assert!(fault.code == "E63" && fault.cure.unwrap().contains("r.toml.bak"), "{text}");
    }
    for text in [
        "hide = [{ id = \"H1\", material = \"goat\" }]\n",
        "[[hide]]\nmaterial = \"goat\"\n",
        "hide = 3\n",
    ] {
        crate::fault::tells([entries(text).unwrap_err().code], "E85");
    }
}

/// A sheet written into a record is read as it was: outline, flaws, zones and readings to the last bit.
#[test]
fn a_sheet_comes_back_as_it_went_in() {
    let mut round = sheet("H1");
    round.outline =
        Loop::chain(rectangle(Point::new(0.1, 0.3), 400.7, 200.3, 33.3).unwrap().segs()).unwrap();
    round = round.at_origin();
    round.grain = 1.0 / 3.0;
    round.grade = 2;
    round.thickness = Some(Length::parse_thickness("35 thou", None).unwrap());
    let spot = |x: f64, r: f64| Loop::circle(Point::new(x, 50.0 / 3.0), r).unwrap();
    round.flaws = vec![Flaw { why: "a \"scar\"\\".to_owned(), outline: spot(100.0 / 3.0, 4.1) }];
    round.zones = vec![Zone { why: String::new(), grade: 3, outline: spot(200.0 / 7.0, 11.3) }];
    round.readings = vec![Reading {
        at: Point::new(10.0 / 3.0, 20.0),
        thickness: Length::parse_thickness("0.9 mm", None).unwrap(),
    }];
    let text = add("", &round, Some("said"), day()).unwrap().after();
    let table: toml::Table = text.parse().unwrap();
    let hide = &table["hide"][0];
    let points: Vec<Vec<f64>> = hide["line"].clone().try_into().unwrap();
    for (point, seg) in points.iter().zip(round.outline.segs()) {
        assert_eq!(
            (point[0].to_bits(), point[1].to_bits()),
            (seg.a.x.to_bits(), seg.a.y.to_bits())
        );
        assert_eq!(point.get(2).copied().unwrap_or(0.0).to_bits(), seg.bulge.to_bits());
    }
    assert_eq!(hide["flaw"][0]["why"].as_str(), Some("a \"scar\"\\"));
    assert_eq!(hide["reading"][0]["thickness"].as_str(), Some("0.9 mm"));
}

#[test]
fn a_rest_is_parted_off() {
    let near = rectangle(Point::ORIGIN, 200.0, 300.0, 0.0).unwrap();
    let rest =
        sheet("H1").rest("H1/1", rectangle(Point::new(200.0, 0.0), 300.0, 300.0, 0.0).unwrap());
    let made = part_off(RECORD, "H1", (&near, &[("flaw", 0)]), &rest, day()).unwrap().after();
    assert!(!made.contains("diameter = 10") && !made.contains("[500, 300]"), "{made}");
    assert!(made.contains("line = [[0, 0], [200, 0], [200, 300], [0, 300]]"), "{made}");
    assert!(
        made.contains("[[remnant]]\nid = \"H1/1\"") && made.contains("from = \"H1\""),
        "{made}"
    );
}

#[test]
fn a_log_says_what_came_to_pass() {
    let edit = claimed(RECORD, "lay-1", &["H1"]);
    let line = |number, undoes, edit: &Edit| Line {
        number,
        day: "2026-03-14".to_owned(),
        time: "10:00:00".to_owned(),
        command: "cut lay-1".to_owned(),
        changed: "much".to_owned(),
        before: Line::mark(edit.before()),
        after: Line::mark(&edit.after()),
        undoes,
        undo: edit.splices(),
    };
    let first = line(1, None, &edit);
    let log = first.written();
    let end = |line: Option<&Line>, torn| LogEnd {
        line: line.map(|line| (line.clone(), line.written().len())),
        torn,
    };
    assert_eq!(last_line(log.as_bytes()), end(Some(&first), 0));
    assert_eq!(standing(&first, &edit.after()), Standing::Done);
    assert_eq!(standing(&first, RECORD), Standing::Unfinished);
    assert_eq!(standing(&first, "edited"), Standing::Changed);
    for cut in 1..log.len() {
        assert_eq!(last_line(&log.as_bytes()[..cut]), end(None, cut));
    }
    assert_eq!(last_line(format!("{log}torn").as_bytes()), end(Some(&first), 4));
    assert_eq!(last_line(b""), end(None, 0));
    assert_eq!(to_take_back(std::slice::from_ref(&first), &edit.after()).map(|l| l.number), Ok(1));
    assert_eq!(to_take_back(std::slice::from_ref(&first), "edited").unwrap_err().code, "E85");
    let back = Edit::back(&edit.after(), &edit.splices()).unwrap();
    let second = line(2, Some(1), &back);
    assert_eq!(to_take_back(&[first, second], RECORD).unwrap_err().code, "E87");
}

#[test]
fn an_edit_between_two_texts_is_small() {
    for (a, b) in [("abc", "abXc"), ("", "x"), ("äöü", "äÖü"), ("aaa", "aa"), ("same", "same")]
    {
        let edit = Edit::between(a, b);
        assert_eq!(edit.after(), b);
        assert_eq!(Edit::back(b, &edit.splices()).unwrap().after(), a);
    }
}
