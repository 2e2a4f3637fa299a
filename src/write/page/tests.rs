//! What a job sheet is made of, read back by another reader.

use super::*;
use crate::geom::{Loop, Point, Shape, rectangle};
use crate::sheet::{Flaw, SheetKind};

/// What no text may become.
const BAD: &str = "\"><script>alert(1)</script><b onclick='x'>&";

fn square(x: f64, y: f64, side: f64) -> Loop {
    rectangle(Point::new(x, y), side, side, 0.0).unwrap()
}

fn sheet() -> Sheet {
    let flaw = Flaw { why: BAD.to_owned(), outline: Loop::Circle(Point::new(20.0, 20.0), 8.0) };
    Sheet { flaws: vec![flaw], ..Sheet::bare("H-1", SheetKind::Hide, BAD, square(0.0, 0.0, 200.0)) }
}

fn piece(address: &str, shape: Shape) -> PagePiece {
    PagePiece {
        address: address.to_owned(),
        laid: LaidPiece {
            label: address.split(':').nth(1).unwrap().to_owned(),
            shape,
            mirrored: address.starts_with("host"),
            spare: address.contains('+'),
            spoilt: false,
            creases: Vec::new(),
        },
        size: "10.00 x 10.00 mm".to_owned(),
        lies: BAD.to_owned(),
        window: String::new(),
        order: "1".to_owned(),
        sum: Some(0),
    }
}

/// A page with the worst words everywhere that the user's words go.
fn page(sheet: &Sheet) -> JobSheet<'_> {
    let guest = piece("guest:1", Shape::plain(square(80.0, 80.0, 10.0)));
    let host = Shape::new(square(50.0, 50.0, 90.0), vec![square(70.0, 70.0, 40.0)]).unwrap();
    let spare = piece("guest:1+1", Shape::plain(Loop::Circle(Point::new(170.0, 170.0), 10.0)));
    let cut = |address: &str, it: &Loop| PageCut {
        address: address.to_owned(),
        layer: Layer::Edges,
        segs: it.segs(),
    };
    JobSheet {
        title: BAD.to_owned(),
        lay: "lay-1".to_owned(),
        hash: "0f".to_owned(),
        safety: vec![SafetyList {
            machine: BAD.to_owned(),
            state: BAD.to_owned(),
            command: Some("pouchwork safety lay-1 --machine m".to_owned()),
            head: vec![(0, BAD.to_owned()), (9, BAD.to_owned())],
            items: vec![SafetyItem {
                id: "id".to_owned(),
                when: "before".to_owned(),
                text: BAD.to_owned(),
                source: BAD.to_owned(),
                question: Some(BAD.to_owned()),
                answer: Some(BAD.to_owned()),
            }],
            worth: BAD.to_owned(),
        }],
        assumed: vec![BAD.to_owned()],
        warnings: vec![BAD.to_owned()],
        sheets: vec![PageSheet {
            sheet,
            machine: BAD.to_owned(),
            about: vec![BAD.to_owned()],
            marks: LayMarks::default(),
            orders: vec![PageOrder {
                name: BAD.to_owned(),
                cuts: vec![
                    cut("guest:1", guest.laid.shape.outline()),
                    cut("host:2", host.outline()),
                ],
            }],
            pieces: vec![guest, spare, piece("host:2", host)],
        }],
        sizes: vec![PageSize {
            title: BAD.to_owned(),
            rows: vec![[BAD, BAD, BAD, BAD, BAD].map(str::to_owned)],
            notes: vec![BAD.to_owned()],
        }],
    }
}

/// The page without what is not XML: its first line, its style, its script.
fn plain(text: &str) -> String {
    let (style, script) = (STYLE, SCRIPT);
    assert_eq!((text.matches(style).count(), text.matches(script).count()), (1, 1));
    text.replace(style, "").replace(script, "").replacen("<!DOCTYPE html>\n", "", 1)
}

#[test]
fn words_of_the_user_stay_words() {
    let sheet = sheet();
    let text = job_sheet(&page(&sheet));
    let plain = plain(&text);
    let read = roxmltree::Document::parse(&plain).unwrap();
    let count = |name: &str| read.descendants().filter(|n| n.has_tag_name(name)).count();
    assert_eq!((count("script"), count("style"), count("img"), count("iframe")), (1, 1, 0, 0));
    for node in read.descendants() {
        for attribute in node.attributes() {
            let name = attribute.name();
            assert!(!name.starts_with("on") && !matches!(name, "style" | "src"), "{name}");
            assert!(name != "href" || attribute.value().starts_with('#'), "{}", attribute.value());
        }
    }
    let told = |text: &str| read.descendants().any(|n| n.is_text() && n.text() == Some(text));
    assert!(told(BAD) && told(&format!("{BAD} - lay-1")));
    // Fifteen places and more where they stand, none of which the reader takes for elements.
    assert!(
        read.descendants()
            .filter(|n| n.is_text() && n.text().is_some_and(|t| t.contains(BAD)))
            .count()
            > 15
    );
}

#[test]
fn only_its_own_style_and_script_may_do_anything() {
    let sheet = sheet();
    let text = job_sheet(&page(&sheet));
    let plain = plain(&text);
    let read = roxmltree::Document::parse(&plain).unwrap();
    let policy = read
        .descendants()
        .find(|n| n.attribute("http-equiv") == Some("Content-Security-Policy"))
        .and_then(|n| n.attribute("content"))
        .unwrap();
    let of = |open: &str, close: &str| {
        let inside = text.split(open).nth(1).unwrap().split(close).next().unwrap();
        base64(&Sha256::digest(inside.as_bytes()))
    };
    let (style, script) = (of("<style>", "</style>"), of("<script>", "</script>"));
    assert_eq!(
        policy,
        format!(
            "default-src 'none'; style-src 'sha256-{style}'; script-src 'sha256-{script}'; base-uri 'none'; form-action 'none'"
        )
    );
    for word in ["http:", "https:", "@import", "innerHTML", "eval(", "fetch("] {
        assert!(!text.contains(word), "{word}");
    }
    assert!(text.match_indices("url(").all(|(at, _)| text[at..].starts_with("url(#")));
}

#[test]
fn every_piece_is_an_element_and_guests_lie_on_top() {
    let sheet = sheet();
    let text = plain(&job_sheet(&page(&sheet)));
    let read = roxmltree::Document::parse(&text).unwrap();
    let drawn: Vec<&str> = read
        .descendants()
        .filter(|n| n.has_tag_name("path") && n.attribute("role") == Some("button"))
        .filter_map(|n| n.attribute("id"))
        .collect();
    assert_eq!(drawn, ["host:2", "guest:1+1", "guest:1"], "the largest first");
    let mut ids: Vec<&str> = read.descendants().filter_map(|n| n.attribute("id")).collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all, "every id once");
    let order: Vec<&str> = read
        .descendants()
        .filter(|n| n.attribute("class") == Some("order"))
        .flat_map(|n| n.children())
        .filter_map(|n| n.attribute("data-of"))
        .collect();
    assert_eq!(order, ["guest:1", "host:2"]);
    // The F of a piece that lies face down reads from the back.
    let back = read.descendants().filter(|n| n.attribute("transform").is_some());
    assert_eq!(back.filter_map(|n| n.text()).collect::<Vec<_>>(), ["F"]);
    // A circle keeps its size: 2 x 10 mm across, by four arcs.
    let spare = read.descendants().find(|n| n.attribute("id") == Some("guest:1+1")).unwrap();
    assert_eq!(spare.attribute("d").unwrap().matches("A10 10 0 0 ").count(), 4);
    assert_eq!(spare.attribute("class"), Some("piece spare"));
    for (name, count) in [("tr", 3 + 1 + 1 + 1), ("article", 1), ("svg", 2)] {
        assert_eq!(read.descendants().filter(|n| n.has_tag_name(name)).count(), count, "{name}");
    }
}
