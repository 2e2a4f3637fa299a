//! DXF: entities, units, bulges, layers, and the crashes of foreign text that must not reach the crate.

use super::tests::boxed;
use super::*;
use crate::geom::Point;
use approx::assert_relative_eq;
use std::f64::consts::PI;

/// A drawing in millimetres with these pairs as its entities.
pub(super) fn drawing(entities: &[(i32, &str)]) -> String {
    framed("", entities)
}

fn pairs(given: &[(i32, &str)]) -> String {
    given.iter().map(|(code, value)| format!("{code:>3}\n{value}\n")).collect::<Vec<_>>().concat()
}

fn framed(more_header: &str, entities: &[(i32, &str)]) -> String {
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n4\n{more_header}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n",
        pairs(entities)
    )
}

pub(super) fn dxf(text: &str) -> Result<Traced, ReadFault> {
    outlines("trace.dxf", text.as_bytes(), &ReadOptions::default())
}

/// Pairs written one after the other, with blanks between.
pub(super) fn list(text: &str) -> Vec<(i32, &str)> {
    let words: Vec<&str> = text.split_ascii_whitespace().collect();
    words.chunks_exact(2).map(|w| (w[0].parse().unwrap(), w[1])).collect()
}

fn code(text: &str) -> &'static str {
    dxf(text).unwrap_err().code
}

const CIRCLE: [(i32, &str); 5] = [(0, "CIRCLE"), (8, "0"), (10, "20"), (20, "30"), (40, "10")];

fn polyline<'a>(
    flags: &'a str,
    corners: &[(&'a str, &'a str, Option<&'a str>)],
) -> Vec<(i32, &'a str)> {
    let mut all = vec![
        (0, "LWPOLYLINE"),
        (5, "2F"),
        (330, "1F"),
        (100, "AcDbEntity"),
        (8, "0"),
        (90, "99"),
        (70, flags),
    ];
    for (x, y, bulge) in corners {
        all.extend([(10, *x), (20, *y)]);
        all.extend(bulge.map(|b| (42, b)));
    }
    all
}

#[test]
fn straight_vertices_may_leave_their_bulge_out() {
    // Published: ixmilia/dxf #46. An obround of 30 between centres and 10 wide: 300 + 25 pi.
    let text = drawing(&polyline(
        "1",
        &[("0", "0", None), ("30", "0", Some("1")), ("30", "10", None), ("0", "10", Some("1"))],
    ));
    let read = dxf(&text).unwrap();
    assert!((read.loops[0].area() - 378.5398).abs() < 1e-4);
    boxed(&read.loops[0], (-5.0, 35.0), (0.0, 10.0));
}

#[test]
fn the_last_bulge_bends_the_closing_piece() {
    // Published: skymakerolof/dxf #21, trimesh #43.
    let text = drawing(&polyline("1", &[("-5", "0", Some("1")), ("5", "0", Some("1"))]));
    assert_eq!(dxf(&text).unwrap().loops, [Loop::Circle(Point::new(0.0, 0.0), 5.0)]);
}

#[test]
fn a_block_copy_is_counted_and_never_expanded() {
    // Published: ezdxf #1400, a mirrored and turned copy; read wrong it would be cut wrong, so it is not read.
    let copy = list("0 INSERT 2 VALVE 10 100 20 0 41 -1 50 90 70 30000 71 30000");
    let fault = dxf(&drawing(&copy)).unwrap_err();
    assert_eq!(fault.code, "E97");
    assert!(fault.text.contains("1 copy of a block"), "{}", fault.text);
    let both: Vec<_> = copy.into_iter().chain(CIRCLE).collect();
    let read = dxf(&drawing(&both)).unwrap();
    assert_eq!(read.loops.len(), 1);
    assert!(read.notes[0].contains("1 copy of a block (INSERT)"), "{:?}", read.notes);
}

#[test]
fn splines_and_ellipses_alone_are_refused_by_name() {
    for (kind, words) in [("SPLINE", "1 spline"), ("ELLIPSE", "1 ellipse")] {
        let fault = dxf(&drawing(&[(0, kind), (10, "0"), (20, "0")])).unwrap_err();
        assert_eq!(fault.code, "E97");
        assert!(fault.text.contains(words));
    }
}

#[test]
fn bulges_beyond_half_a_turn_are_split_exactly() {
    // Three quarters of a circle of radius 5 on a chord: bulge tan(270 deg / 4) = 1 + sqrt 2.
    let text = drawing(&polyline("1", &[("0", "5", Some("2.414213562373095")), ("5", "0", None)]));
    let read = dxf(&text).unwrap();
    let wanted = 0.75 * PI * 25.0 + 12.5;
    let segs = read.loops[0].segs();
    assert_eq!(segs.len(), 3);
    assert!(segs.iter().all(|s| s.bulge.abs() <= 1.0));
    assert_relative_eq!(read.loops[0].area(), wanted, max_relative = 1e-9);
    // The published table of arcs: length of the arc is radius times angle.
    for step in 1..40 {
        let angle = f64::from(step) * 9.0_f64.to_radians();
        let bulge = (angle / 4.0).tan().to_string();
        let chord = (20.0 * (angle / 2.0).sin()).to_string();
        let text = drawing(&polyline("1", &[("0", "0", Some(&bulge)), (&chord, "0", None)]));
        let made = &dxf(&text).unwrap().loops[0];
        assert_relative_eq!(made.area(), 50.0 * (angle - angle.sin()), max_relative = 1e-7);
        assert_relative_eq!(
            made.length(),
            10.0 * angle + 20.0 * (angle / 2.0).sin(),
            max_relative = 1e-7
        );
    }
}

#[test]
fn lines_and_arcs_join_and_old_polylines_read() {
    let text = drawing(&list(
        "0 LINE 8 0 10 0 20 0 11 30 21 0 \
         0 ARC 8 0 10 30 20 5 40 5 50 270 51 90 \
         0 LINE 8 0 10 0 20 10 11 30 21 10 \
         0 ARC 8 0 10 0 20 5 40 5 50 90 51 270",
    ));
    let read = dxf(&text).unwrap();
    assert_eq!(read.loops.len(), 1);
    assert_relative_eq!(read.loops[0].area(), 300.0 + 25.0 * PI, max_relative = 1e-9);
    let text = drawing(&list(
        "0 POLYLINE 8 0 66 1 70 1 10 0 20 0 30 0 \
         0 VERTEX 8 0 10 0 20 0 \
         0 VERTEX 8 0 10 30 20 0 42 1 \
         0 VERTEX 8 0 10 30 20 10 \
         0 VERTEX 8 0 10 0 20 10 42 1.0 \
         0 SEQEND 8 0",
    ));
    assert_relative_eq!(
        dxf(&text).unwrap().loops[0].area(),
        300.0 + 25.0 * PI,
        max_relative = 1e-9
    );
    assert_eq!(code(&text.replace("SEQEND", "LINE")), "E90");
    let full = drawing(&list("0 ARC 10 0 20 0 40 5 50 0 51 360"));
    assert_eq!(dxf(&full).unwrap().loops, [Loop::Circle(Point::new(0.0, 0.0), 5.0)]);
    let wide = drawing(&list(
        "0 ARC 10 0 20 0 40 5 50 -45 51 225 \
         0 LINE 10 -3.535533905932738 20 -3.535533905932738 11 3.535533905932738 21 -3.535533905932738",
    ));
    assert_relative_eq!(
        dxf(&wide).unwrap().loops[0].area(),
        0.75 * PI * 25.0 + 12.5,
        max_relative = 1e-9
    );
}

#[test]
fn units_are_taken_or_asked_for() {
    let base = drawing(&CIRCLE);
    for (number, mm) in
        [("1", 25.4), ("2", 304.8), ("4", 1.0), ("5", 10.0), ("6", 1000.0), ("10", 914.4)]
    {
        let text = base.replace("$INSUNITS\n70\n4", &format!("$INSUNITS\n 70\n     {number}"));
        assert_relative_eq!(dxf(&text).unwrap().size_mm.0, 20.0 * mm, epsilon = 1e-6);
    }
    for without in [base.replace("70\n4", "70\n0"), base.replace("9\n$INSUNITS\n70\n4\n", "")] {
        let fault = dxf(&without).unwrap_err();
        assert_eq!(fault.code, "E93");
        assert!(fault.cure.unwrap().contains("outline-unit"));
        let inch = ReadOptions { unit: Some(25.4), ..ReadOptions::default() };
        let read = outlines("a.dxf", without.as_bytes(), &inch).unwrap();
        assert_relative_eq!(read.size_mm.0, 508.0, epsilon = 1e-9);
    }
    for bad in ["7", "99", "-1", "1e300", "x"] {
        assert!(dxf(&base.replace("70\n4", &format!("70\n{bad}"))).is_err(), "{bad}");
    }
    let contrary = framed("9\n$MEASUREMENT\n70\n0\n", &CIRCLE);
    assert!(dxf(&contrary).unwrap().notes[0].contains("contradict"));
    let agreed = framed("9\n$MEASUREMENT\n70\n1\n", &CIRCLE);
    assert!(dxf(&agreed).unwrap().notes.is_empty());
}

#[test]
fn layers_and_spaces_that_are_not_seen_are_counted() {
    let tables = pairs(&list(
        "0 SECTION 2 TABLES \
         0 TABLE 2 LAYER 70 3 \
         0 LAYER 102 {X 70 1 102 } 2 Shown 70 0 62 7 \
         0 LAYER 2 Frozen 70 1 62 7 \
         0 LAYER 2 Off 70 0 62 -7 \
         0 ENDTAB \
         0 ENDSEC",
    ));
    let round = |layer: &'static str, x: &'static str| {
        vec![(0, "CIRCLE"), (8, layer), (10, x), (20, "0"), (40, "4")]
    };
    let mut all = round("Shown", "0");
    all.extend(round("FROZEN", "10"));
    all.extend(round("off", "20"));
    all.extend(round("Shown", "30"));
    all.push((67, "1"));
    all.extend(round("Shown", "40"));
    all.push((60, "1"));
    all.extend(list(
        "0 TEXT 1 word \
         0 MTEXT \
         0 HATCH \
         0 PROXY",
    ));
    let text = drawing(&all).replacen(
        "0\nSECTION\n2\nENTITIES",
        &format!("{tables}0\nSECTION\n2\nENTITIES"),
        1,
    );
    let read = dxf(&text).unwrap();
    assert_eq!(read.loops, [Loop::Circle(Point::new(0.0, 0.0), 4.0)]);
    for words in [
        "2 entities on layers",
        "2 entities in paper space",
        "2 texts",
        "1 filled area",
        "1 entity of another kind",
    ] {
        assert!(read.notes[0].contains(words), "{words}: {:?}", read.notes);
    }
}

#[test]
fn another_side_is_refused() {
    let mut all = CIRCLE.to_vec();
    all.extend([(210, "0"), (220, "0"), (230, "-1")]);
    assert_eq!(code(&drawing(&all)), "E98");
    let mut all = CIRCLE.to_vec();
    all.extend([(210, "0"), (220, "0"), (230, "1.0")]);
    assert!(dxf(&drawing(&all)).is_ok());
    let rising = list("0 LINE 10 0 20 0 30 0 11 9 21 0 31 5");
    assert_eq!(code(&drawing(&rising)), "E98");
}

#[test]
fn line_ends_marks_and_comments_do_not_matter() {
    let text = drawing(&CIRCLE);
    let wanted = dxf(&text).unwrap();
    assert_eq!(dxf(&text.replace('\n', "\r\n")).unwrap(), wanted);
    assert_eq!(dxf(&format!("\u{feff}{text}")).unwrap(), wanted);
    assert_eq!(dxf(&format!("999\nwritten by hand\n{text}\n\n")).unwrap(), wanted);
    assert_eq!(dxf(&text.replace("40\n10", "999\n{{{\n40\n10")).unwrap(), wanted);
    assert_eq!(outlines("trace", text.as_bytes(), &ReadOptions::default()).unwrap(), wanted);
    assert_eq!(code(&format!("{text}0\nEOF\n")), "E90");
    assert_eq!(code(text.strip_suffix("0\nEOF\n").unwrap()), "E90");
    assert_eq!(code("0\nEOF\n"), "E93");
    let unit = ReadOptions { unit: Some(1.0), ..ReadOptions::default() };
    assert_eq!(outlines("a.dxf", b"0\nEOF\n", &unit).unwrap_err().code, "E97");
    let mut binary = b"A Binary DXF\r\n\x1a\0".to_vec();
    binary.extend([0; 40]);
    assert!(outlines("a.dxf", &binary, &unit).unwrap_err().text.contains("binary"));
}

#[test]
fn what_crashed_the_crate_does_not_reach_it() {
    let plain = dxf(&drawing(&CIRCLE)).unwrap();
    // Dates and handles are left behind: the drawing reads as if they were not there.
    for header in [
        "9\n$TDCREATE\n40\n1e300\n9\n$TDUPDATE\n40\n-1e300\n9\n$TDINDWG\n40\n1e300\n",
        "9\n$HANDSEED\n5\nFFFFFFFFFFFFFFFF\n",
    ] {
        assert_eq!(dxf(&framed(header, &CIRCLE)).unwrap(), plain);
    }
    let mut handled = CIRCLE.to_vec();
    handled.extend(list("5 FFFFFFFFFFFFFFFF 330 zz 1001 X 1071 9 310 ZZZ 284 x"));
    assert_eq!(dxf(&drawing(&handled)).unwrap(), plain);
    // Groups in groups: eight are read past, more are refused, however many there are and wherever they stand.
    let nested = |n: usize| format!("{}{}", "102\n{A\n".repeat(n), "102\n}\n".repeat(n));
    for place in ["40\n10\n", "0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"] {
        let grouped = |n| {
            let text = drawing(&CIRCLE).replace(" 40\n10\n", "40\n10\n");
            let inner = if place.starts_with("40") {
                nested(n)
            } else {
                format!("0\nENDSEC\n0\nSECTION\n2\nOBJECTS\n0\nX\n{}", nested(n))
            };
            if place.starts_with("40") {
                text.replace(place, &format!("{place}{inner}"))
            } else {
                text.replace(place, &format!("{inner}{place}"))
            }
        };
        assert_eq!(dxf(&grouped(8)).unwrap(), plain);
        for n in [9, 64, 30_000, 1_000_000] {
            assert_eq!(code(&grouped(n)), "E91", "{n}");
        }
    }
    assert_eq!(code(""), "E90");
    assert_eq!(code("\n\n"), "E90");
}

#[test]
fn bad_figures_fail_the_file_wherever_they_stand() {
    let mut all =
        polyline("1", &[("0", "0", Some("0.5")), ("30", "0", Some("0")), ("30", "10", None)]);
    all.extend(list("0 LINE 10 50 20 0 30 0 11 60 21 0 31 0"));
    all.extend(list("0 ARC 10 55 20 0 40 5 50 0 51 180 210 0 220 0 230 1"));
    all.extend(CIRCLE.map(|(c, v)| (c, if c == 20 { "90" } else { v })));
    assert_eq!(dxf(&drawing(&all)).unwrap().loops.len(), 3);
    let mut tried = 0;
    for i in 0..all.len() {
        if !(10..60).contains(&all[i].0) && !(210..240).contains(&all[i].0) {
            continue;
        }
        for bad in [
            "NaN", "nan", "inf", "-inf", "infinity", "1e400", "-1e400", "1e", "", "0x10", "1,5",
            "--1",
        ] {
            let mut changed = all.clone();
            changed[i].1 = bad;
            let fault = dxf(&drawing(&changed)).unwrap_err();
            assert_eq!(fault.code, "E92", "{bad} at {i}");
            assert!(fault.line.is_some());
            tried += 1;
        }
        if !matches!(all[i].0, 50 | 51 | 30 | 31 | 210..240) {
            for far in ["1e39", "1e13", "1e6"] {
                let mut changed = all.clone();
                changed[i].1 = far;
                assert!(dxf(&drawing(&changed)).is_err(), "{far} at {i}");
            }
        }
    }
    assert!(tried > 200);
    let flat =
        drawing(&polyline("1", &[("0", "0", Some("1e-4")), ("99", "0", None), ("99", "50", None)]));
    assert_eq!(code(&flat), "E92", "a radius of 247 m");
    let flat = flat.replace("1e-4", "1e-9");
    assert!(dxf(&flat).unwrap().loops[0].segs()[0].is_line());
}

#[test]
fn what_is_missing_or_out_of_turn_is_refused() {
    for gone in 2..5 {
        let mut all = CIRCLE.to_vec();
        all.remove(gone);
        assert_eq!(code(&drawing(&all)), "E99");
    }
    for corners in [
        [(20, "0"), (10, "0"), (20, "1")],
        [(42, "1"), (10, "0"), (20, "1")],
        [(10, "0"), (10, "0"), (20, "1")],
        [(10, "0"), (20, "0"), (20, "1")],
        [(10, "0"), (20, "0"), (10, "1")],
    ] {
        let mut all = vec![(0, "LWPOLYLINE"), (70, "1")];
        all.extend(corners);
        let found = code(&drawing(&all));
        assert!(found == "E99" || found == "E97", "{corners:?} {found}");
    }
    assert_eq!(code(&drawing(&list("0 ARC 10 0 20 0 40 5 50 7 51 7"))), "E99");
    assert_eq!(code(&drawing(&[(0, "CIRCLE"), (10, "0"), (20, "0"), (40, "-5")])), "E99");
}
