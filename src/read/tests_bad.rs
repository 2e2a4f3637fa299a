//! Files that are broken, cut off, far too large or made to do harm.

use super::tests::{page, svg};
use super::tests_dxf::{drawing, dxf, list};
use super::*;

/// A generator of our own, so that every run tries the same files (Marsaglia, "Xorshift RNGs", 2003).
struct Xorshift(u64);

impl Xorshift {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() >> 11).unwrap() % n.max(1)
    }
}

/// How many mutations are tried: 2000, times `POUCHWORK_TRIALS`.
fn trials() -> usize {
    let times = std::env::var("POUCHWORK_TRIALS").ok().and_then(|t| t.parse::<f64>().ok());
    let count = 2000.0 * times.unwrap_or(1.0).clamp(0.0, 1e6);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped above")]
    let count = count as usize;
    count
}

fn seed_svg() -> String {
    "<?xml version=\"1.0\"?>\n<!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\" \"x.dtd\">\n<!-- a gasket -->\n\
     <svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"50mm\" viewBox=\"0 0 100 50\">\n\
     <defs><g/></defs><style>.a{fill:none}</style>\n\
     <g transform=\"translate(5 5) rotate(10, 2 3) matrix(1 0 0 -1 0 30)\">\n\
     <path d=\"M1 1 h20 v5 c5 0 5 8 0 8 s-4 4 -8 2 q-3 0-3-3 t-9 1z m30 0 a5 5 0 0110 0 5 3 20 1 1-10 0z\"/></g>\n\
     <circle cx=\"70\" cy=\"20\" r=\"1e1\"/><ellipse cx=\"90\" cy=\"20\" rx=\"5\" ry=\"3\"/>\n\
     <rect x=\"2\" y=\"40\" width=\"9\" height=\"5\" rx=\"1\"/><polygon points=\"20,40 30,40 30,45\"/>\n\
     <line x1=\"50\" y1=\"40\" x2=\"60\" y2=\"40\"/><polyline points=\"60 40 60 45 50 40\"/>\n</svg>\n"
        .to_owned()
}

fn seed_dxf() -> String {
    let mut text = String::from("999\nseed\n");
    text += &drawing(&[
        (0, "LWPOLYLINE"),
        (102, "{A"),
        (102, "}"),
        (8, "0"),
        (90, "3"),
        (70, "1"),
        (10, "0"),
        (20, "0"),
        (42, "0.5"),
        (10, "30"),
        (20, "0"),
        (10, "30"),
        (20, "10"),
        (0, "CIRCLE"),
        (8, "0"),
        (10, "50"),
        (20, "0"),
        (40, "4"),
        (0, "LINE"),
        (10, "60"),
        (20, "0"),
        (11, "70"),
        (21, "0"),
        (0, "ARC"),
        (10, "65"),
        (20, "0"),
        (40, "5"),
        (50, "0"),
        (51, "180"),
        (0, "POLYLINE"),
        (66, "1"),
        (70, "1"),
        (0, "VERTEX"),
        (10, "80"),
        (20, "0"),
        (0, "VERTEX"),
        (10, "90"),
        (20, "0"),
        (42, "1"),
        (0, "SEQEND"),
        (0, "TEXT"),
        (1, "a word"),
    ]);
    let tables = "0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLAYER\n0\nLAYER\n2\nX\n70\n1\n62\n-7\n0\nENDTAB\n0\nENDSEC\n";
    text.replace("0\nSECTION\n2\nENT", &format!("{tables}0\nSECTION\n2\nENT"))
}

/// Every promise about a result, whatever the file was.
fn sound(name: &str, bytes: &[u8]) {
    match outlines(name, bytes, &ReadOptions::default()) {
        Ok(read) => {
            assert!(!read.loops.is_empty());
            for one in &read.loops {
                let b = one.bounds();
                assert!(one.area().is_finite() && one.area() > 0.0);
                assert!([b.x0, b.y0, b.x1, b.y1].iter().all(|v| v.is_finite()));
            }
            assert!(read.loops.windows(2).all(|w| w[0].area() >= w[1].area()));
        }
        Err(fault) => {
            assert!(fault.at.is_none_or(|at| at <= bytes.len()));
            assert_eq!(fault.at.is_some(), fault.line.is_some());
            assert!(!fault.text.is_empty() && fault.text.len() < 2000);
        }
    }
}

#[test]
fn the_seeds_are_whole() {
    assert_eq!(svg(&seed_svg()).unwrap().loops.len(), 7);
    assert_eq!(dxf(&seed_dxf()).unwrap().loops.len(), 4);
}

#[test]
fn a_file_cut_off_anywhere_is_refused() {
    let (drawn, plotted) = (seed_svg(), seed_dxf());
    for cut in 0..drawn.trim_end().len() {
        sound("a.svg", &drawn.as_bytes()[..cut]);
        assert!(svg(&drawn[..cut]).is_err(), "{cut}");
    }
    for cut in 0..plotted.trim_end().len() {
        sound("a.dxf", &plotted.as_bytes()[..cut]);
        assert!(dxf(&plotted[..cut]).is_err(), "{cut}");
    }
}

/// Words that are likelier to do harm than a byte changed at random.
const HARM: [&str; 24] = [
    "NaN",
    "inf",
    "1e400",
    "-1e39",
    "1e60",
    "0",
    "-0",
    "1e-300",
    "99999999999999999999",
    "-",
    ".",
    "\n",
    "0\nEOF\n",
    "102\n{\n",
    "<g>",
    "</g>",
    "/>",
    "<!--",
    "]]>",
    "&x;",
    "\"",
    "A9 9 0 0 1 ",
    "Z",
    "\u{0}",
];

fn mutated(seed: &[u8], random: &mut Xorshift) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..=random.below(4) {
        let at = random.below(bytes.len());
        let length = random.below(12).min(bytes.len() - at);
        match random.below(6) {
            0 => bytes[at] ^= 1 << random.below(8),
            1 => drop(bytes.drain(at..at + length)),
            2 => {
                let piece = bytes[at..at + length].to_vec();
                let to = random.below(bytes.len());
                bytes.splice(to..to, piece);
            }
            3 => bytes.truncate(at.max(bytes.len() / 2)),
            4 => {
                let end = bytes[at..].iter().position(|b| !b.is_ascii_alphanumeric()).unwrap_or(0);
                bytes.splice(at..at + end, HARM[random.below(HARM.len())].bytes());
            }
            _ => drop(bytes.splice(at..at, HARM[random.below(HARM.len())].bytes())),
        }
        if bytes.is_empty() {
            break;
        }
    }
    bytes
}

#[test]
fn no_mutation_of_a_file_panics() {
    for (name, seed) in [("a.svg", seed_svg()), ("a.dxf", seed_dxf())] {
        let mut random = Xorshift(0x9e37_79b9_7f4a_7c15);
        for _ in 0..trials() {
            sound(name, &mutated(seed.as_bytes(), &mut random));
        }
    }
}

#[test]
fn arc_bombs_are_refused_before_any_arc_is_made() {
    for far in ["1e60", "1e36", "1e45", "1e90", "1e6", "1e400", "100001"] {
        let fault = svg(&page(&format!("<path d=\"M0 0 A 25 25 0 1 1 {far} 0\"/>"))).unwrap_err();
        assert_eq!(fault.code, "E92", "{far}");
        for radii in [format!("{far} 1"), format!("1 {far}"), format!("-{far} {far}")] {
            let fault = svg(&page(&format!("<path d=\"M0 0A{radii} 0 0 1 9 0Z\"/>"))).unwrap_err();
            assert_eq!(fault.code, "E92", "{radii}");
        }
        let fault = svg(&page(&format!("<g transform=\"scale({far})\"><circle r=\"9\"/></g>")))
            .unwrap_err();
        assert_eq!(fault.code, "E92", "{far}");
    }
    // A sliver of an ellipse, stretched to reach, would be far too long.
    crate::fault::tells(
        [svg(&page("<path d=\"M0 0A90 1e-9 0 0 1 0 9Z\"/>")).unwrap_err().code],
        "E92",
    );
    assert_eq!(svg(&page("<path d=\"M0 0A1e-300 1e-300 0 0 1 0 9Z\"/>")).unwrap_err().code, "E92");
}

#[test]
fn a_bad_number_fails_the_file_wherever_it_stands() {
    let slots = [
        "<path d=\"M# 1h9v9z\"/>",
        "<path d=\"M1 #h9v9z\"/>",
        "<path d=\"M1 1h#v9z\"/>",
        "<path d=\"M1 1h9v#z\"/>",
        "<path d=\"M1 1L# 4V9z\"/>",
        "<path d=\"M1 1C# 4 5 6 7 8z\"/>",
        "<path d=\"M1 1C3 4 5 # 7 8z\"/>",
        "<path d=\"M1 1C3 4 5 6 7 #z\"/>",
        "<path d=\"M1 1Q3 # 5 6z\"/>",
        "<path d=\"M1 1T3 #z\"/>",
        "<path d=\"M1 1S3 # 4 5z\"/>",
        "<path d=\"M1 1A# 5 0 0 1 9 9z\"/>",
        "<path d=\"M1 1A5 # 0 0 1 9 9z\"/>",
        "<path d=\"M1 1A5 5 # 0 1 9 9z\"/>",
        "<path d=\"M1 1A5 5 0 0 1 # 9z\"/>",
        "<path d=\"M1 1A5 5 0 0 1 9 #z\"/>",
        "<circle cx=\"#\" r=\"5\"/>",
        "<circle cy=\"#\" r=\"5\"/>",
        "<circle r=\"#\"/>",
        "<ellipse rx=\"#\" ry=\"5\"/>",
        "<rect x=\"#\" width=\"5\" height=\"5\"/>",
        "<rect width=\"#\" height=\"5\"/>",
        "<rect width=\"5\" height=\"#\"/>",
        "<rect width=\"5\" height=\"5\" rx=\"#\"/>",
        "<polygon points=\"0 0 # 0 5 5\"/>",
        "<polyline points=\"0 0 5 0 5 #\"/>",
        "<line x1=\"#\"/>",
        "<line y2=\"#\"/>",
        "<g transform=\"scale(#)\"><circle r=\"5\"/></g>",
        "<g transform=\"matrix(1 0 0 1 # 0)\"><circle r=\"5\"/></g>",
        "<g transform=\"rotate(#)\"><circle r=\"5\"/></g>",
    ];
    for slot in slots {
        for bad in [
            "NaN",
            "nan",
            "inf",
            "-inf",
            "Infinity",
            "1e400",
            "-1e400",
            "1e39",
            "-1e309",
            "1e1000000",
            "--1",
            "0x1p3",
        ] {
            let text =
                page(&format!("<circle cx=\"50\" cy=\"50\" r=\"3\"/>{}", slot.replace('#', bad)));
            let fault = svg(&text).unwrap_err();
            // `0x1p3` may read as 0 and then something that cannot follow.
            assert!(fault.code == "E92" || fault.code == "E99", "{slot} {bad}: {fault}");
            assert!(fault.at.is_some());
        }
    }
    for bad in ["NaN", "1e400", "-5mm", "0mm", "inf"] {
        assert!(svg(&page("<circle r=\"5\"/>").replacen("100mm", bad, 1)).is_err(), "{bad}");
        assert!(
            svg(&page("<circle r=\"5\"/>").replacen("0 0 100 100", &format!("0 0 {bad} 100"), 1))
                .is_err()
        );
    }
}

#[test]
fn nesting_stops_at_its_cap() {
    let nested = |depth: usize| {
        let groups = depth - 2;
        page(&format!("{}<circle r=\"5\"/>{}", "<g>".repeat(groups), "</g>".repeat(groups)))
    };
    for depth in [63, 64] {
        assert_eq!(svg(&nested(depth)).unwrap().loops.len(), 1);
    }
    for depth in [65, 1024, 1_000_000] {
        crate::fault::tells([svg(&nested(depth)).unwrap_err().code], "E91");
    }
    assert_eq!(svg(&page(&"<g>".repeat(1_000_000))).unwrap_err().code, "E91");
}

#[test]
fn document_types_that_declare_anything_are_refused() {
    let body = page("<text>&a;</text><circle r=\"5\"/>");
    for declared in [
        "<!DOCTYPE svg [<!ENTITY a \"b\">]>",
        "<!DOCTYPE svg [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;&a;&a;\">]>",
        "<!DOCTYPE svg SYSTEM \"x\" [<!ENTITY a SYSTEM \"file:///etc/hostname\">]>",
        "<!DOCTYPE svg[]>",
    ] {
        assert_eq!(svg(&format!("{declared}{body}")).unwrap_err().code, "E90", "{declared}");
    }
    let plain = "<!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\"\n\"http://www.w3.org/[]\">\n";
    assert!(svg(&format!("{plain}{}", page("<circle r=\"5\"/>"))).is_ok());
    // An entity that nobody declared is a fault, and so it is with its line.
    let fault = svg(&format!("{plain}{body}")).unwrap_err();
    assert_eq!((fault.code, fault.line), ("E90", Some(3)));
}

#[test]
fn packed_foreign_and_oversized_files_are_refused() {
    let options = ReadOptions::default();
    let code = |name: &str, bytes: &[u8]| outlines(name, bytes, &options).unwrap_err().code;
    for name in ["a.svg", "a.dxf", "a", "a.png"] {
        assert_eq!(code(name, b"\x1f\x8b\x08\x00"), "E90");
        crate::fault::tells([code(name, b"PK\x03\x04")], "E90");
        assert_eq!(code(name, b"\xff\xfe<\x00s\x00"), "E90");
        assert_eq!(code(name, b""), "E90");
        assert_eq!(code(name, &vec![b' '; caps::BYTES + 1]), "E91");
    }
    assert_eq!(code("a.png", b"\x89PNG"), "E90");
    assert_eq!(code("a.svg", b"<svg>\xff</svg>"), "E90");
    assert_eq!(code("a.svg", b"<html/>"), "E90");
    let tag = format!(
        "<svg {}/>",
        (0..60_000).map(|i| format!("a{i}=\"\" ")).collect::<Vec<_>>().concat()
    );
    assert_eq!(code("a.svg", tag.as_bytes()), "E91");
    let names = format!(
        "<svg>{}</svg>",
        (0..5000).map(|i| format!("<g xmlns:n{i}=\"u\"/>")).collect::<Vec<_>>().concat()
    );
    assert_eq!(code("a.svg", names.as_bytes()), "E91");
}

#[test]
fn too_many_points_shapes_and_loops_are_refused() {
    let many =
        |n: usize| (0..n).map(|i| format!("L{} {}", i % 90, i % 7)).collect::<Vec<_>>().concat();
    let long = svg(&page(&format!("<path d=\"M0 0{}\"/>", many(caps::CONTOUR + 1)))).unwrap_err();
    assert_eq!(long.code, "E91");
    let lines = "<path d=\"M0 0H9\"/>".repeat(caps::SHAPES + 1);
    assert_eq!(svg(&page(&lines)).unwrap_err().code, "E91");
    let rings = (0..=caps::LOOPS)
        .map(|i| format!("<circle cx=\"{}\" cy=\"{}\" r=\".1\"/>", i % 100, i / 100))
        .collect::<Vec<_>>()
        .concat();
    assert_eq!(svg(&page(&rings)).unwrap_err().code, "E91");
    let lines: Vec<_> = std::iter::repeat_n(list("0 LINE 10 0 20 0 11 9 21 0"), caps::SHAPES + 1)
        .flatten()
        .collect();
    assert_eq!(dxf(&drawing(&lines)).unwrap_err().code, "E91");
    let mut corners = vec![(0, "LWPOLYLINE"), (90, "2000000000")];
    corners.extend(std::iter::repeat_n([(10, "1"), (20, "2")], caps::CONTOUR + 1).flatten());
    assert_eq!(dxf(&drawing(&corners)).unwrap_err().code, "E91");
    let mut vertices = vec![(0, "POLYLINE"), (70, "1")];
    vertices.extend(
        std::iter::repeat_n([(0, "VERTEX"), (10, "1"), (20, "2")], caps::CONTOUR + 1).flatten(),
    );
    vertices.push((0, "SEQEND"));
    assert_eq!(dxf(&drawing(&vertices)).unwrap_err().code, "E91");
}

#[test]
fn an_outline_of_a_hundred_thousand_points_is_read() {
    // A wavy ring; every point of it must come out again.
    let points = (0..100_000)
        .map(|i| {
            let a = f64::from(i) * std::f64::consts::TAU / 100_000.0;
            let r = 40.0 + (a * 50.0).sin();
            format!("{:.6},{:.6} ", 50.0 + r * a.cos(), 50.0 + r * a.sin())
        })
        .collect::<Vec<_>>()
        .concat();
    let read = svg(&page(&format!("<polygon points=\"{points}\"/>"))).unwrap();
    assert_eq!(read.loops[0].segs().len(), 100_000);
    // Area of r = 40 + sin 50 a: pi (1600 + 1/2).
    let wanted = std::f64::consts::PI * 1600.5;
    assert!((read.loops[0].area() - wanted).abs() < 0.01);
}

#[test]
fn a_comb_of_very_many_long_teeth_is_refused_in_time() {
    let comb = |teeth: u32| {
        let d = (0..teeth)
            .map(|i| format!("L0 {} L90 {}", f64::from(i) / 1000.0, f64::from(i) / 1000.0 + 5e-4))
            .collect::<Vec<_>>()
            .concat();
        svg(&page(&format!("<path d=\"M0 0{d}L95 99 95 0Z\"/>")))
    };
    assert_eq!(comb(2000).unwrap().loops.len(), 1);
    assert_eq!(comb(90_000).unwrap_err().code, "E91");
}
