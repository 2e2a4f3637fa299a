//! SVG: sizes, shapes, transforms, curves, and what is left out.
//!
//! The cases called "published" are public bug reports of general-purpose geometry libraries, with the figures that
//! elementary geometry gives for them.

use super::*;
use crate::geom::{Point, Rect};
use approx::assert_relative_eq;
use std::f64::consts::PI;

/// A page of 100 by 100 mm, one unit a millimetre.
pub(super) fn page(inside: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"100mm\" viewBox=\"0 0 100 100\">{inside}</svg>"
    )
}

pub(super) fn svg(text: &str) -> Result<Traced, ReadFault> {
    outlines("trace.svg", text.as_bytes(), &ReadOptions::default())
}

fn on_page(inside: &str) -> Traced {
    svg(&page(inside)).unwrap()
}

fn path(d: &str) -> Traced {
    on_page(&format!("<path d=\"{d}\"/>"))
}

fn refused(text: &str) -> &'static str {
    svg(text).unwrap_err().code
}

pub(super) fn boxed(l: &Loop, x: (f64, f64), y: (f64, f64)) {
    let b: Rect = l.bounds();
    let (got, want) = ([b.x0, b.x1, b.y0, b.y1], [x.0, x.1, y.0, y.1]);
    for (g, w) in got.iter().zip(want) {
        assert!((g - w).abs() < 1e-4, "{b:?} against x {x:?} y {y:?}");
    }
}

#[test]
fn arcs_flip_in_a_mirrored_group() {
    // Published: svgpathtools #200 and #111. 40 x 40 plus a half disk of radius 20; y runs up here.
    let read = on_page(
        "<g transform=\"translate(0 100) scale(1 -1)\"><path d=\"M10 10H50A20 20 0 0 1 50 50H10Z\"/></g>",
    );
    assert_eq!(read.loops.len(), 1);
    assert_relative_eq!(read.loops[0].area(), 1600.0 + 200.0 * PI, max_relative = 1e-9);
    assert!((read.loops[0].area() - 2228.3185).abs() < 1e-4);
    boxed(&read.loops[0], (10.0, 70.0), (10.0, 50.0));
}

#[test]
fn a_turned_arc_stays_an_arc() {
    // Published: svgpathtools #126.
    let read =
        on_page("<g transform=\"rotate(30 50 50)\"><path d=\"M30 50A20 20 0 0 1 70 50Z\"/></g>");
    assert!((read.loops[0].area() - 628.3185).abs() < 1e-4);
    boxed(&read.loops[0], (32.6795, 70.0), (40.0, 70.0));
    let segs = read.loops[0].segs();
    assert_eq!(segs.len(), 2);
    assert_eq!(segs.iter().filter(|s| s.is_line()).count(), 1);
}

#[test]
fn arc_flags_may_stand_close() {
    // Published: svgpathtools #129, kurbo PR #113.
    let read = path("M10 50a20 20 0 0140 0 20 20 0 01-40 0z");
    let (center, radius) = read.loops[0].as_circle().unwrap();
    assert_relative_eq!(center.x, 30.0, epsilon = 1e-9);
    assert_relative_eq!(center.y, 50.0, epsilon = 1e-9);
    assert_relative_eq!(radius, 20.0, epsilon = 1e-9);
    assert!((read.loops[0].area() - 1256.637).abs() < 1e-3);
}

#[test]
fn points_are_a_seventy_second_of_an_inch() {
    // Published: svgelements #124.
    let read = svg("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"72pt\" height=\"72pt\" viewBox=\"0 0 72 72\"><rect x=\"18\" y=\"18\" width=\"36\" height=\"36\"/></svg>").unwrap();
    assert_relative_eq!(read.size_mm.0, 12.7, epsilon = 1e-9);
    assert_relative_eq!(read.size_mm.1, 12.7, epsilon = 1e-9);
    boxed(&read.loops[0], (6.35, 19.05), (6.35, 19.05));
}

/// Segments of a disk: half the square of the radius times angle less sine of it (elementary geometry).
#[test]
fn arcs_have_their_analytic_area_and_length() {
    let mut tried = 0;
    for step in 0..20 {
        let angle = f64::from(step * 17 + 15).to_radians();
        for (rx, ry, turn) in
            [(20.0, 20.0, 0.0), (20.0, 20.0, 33.0), (25.0, 10.0, 0.0), (25.0, 10.0, 33.0)]
        {
            for sweep in [true, false] {
                let round = ry > 15.0;
                let t = f64::to_radians(turn);
                let on = |a: f64| {
                    let (x, y) = (rx * a.cos(), ry * a.sin());
                    (50.0 + x * t.cos() - y * t.sin(), 50.0 + x * t.sin() + y * t.cos())
                };
                let (mut p, mut q) = (on(0.4), on(0.4 + angle));
                if !sweep {
                    (p, q) = (q, p);
                }
                let (large, flag) = (u8::from(angle > PI), u8::from(sweep));
                let read = path(&format!(
                    "M{},{} A{rx} {ry} {turn} {large} {flag} {},{}Z",
                    p.0, p.1, q.0, q.1
                ));
                let area = rx * ry / 2.0 * (angle - angle.sin());
                let made = &read.loops[0];
                let slack = if round { 1e-7 } else { made.length() * tolerance::FIT_READ };
                assert!(
                    (made.area() - area).abs() < slack,
                    "{angle} {rx} {ry}: {} {area}",
                    made.area()
                );
                if round {
                    let chord = 2.0 * rx * (angle / 2.0).sin();
                    assert!((made.length() - rx * angle - chord).abs() < 1e-7);
                    assert_eq!(made.segs().len(), if angle > PI { 3 } else { 2 });
                }
                tried += 1;
            }
        }
    }
    assert_eq!(tried, 160);
}

#[test]
fn short_radii_are_stretched_and_flat_arcs_are_lines() {
    // SVG 1.1 F.6.6: radii too small to reach are scaled up until they do.
    let read = path("M10 50A1 1 0 0 1 50 50A1 1 0 0 1 10 50Z");
    assert_relative_eq!(read.loops[0].as_circle().unwrap().1, 20.0, epsilon = 1e-9);
    // F.6.2: a radius of nought is a line, equal ends are nothing.
    let read = path("M10 10A0 5 0 0 1 50 10V50H10A7 7 0 1 1 10 50Z");
    assert_eq!(read.loops[0].segs().len(), 4);
    assert_relative_eq!(read.loops[0].area(), 1600.0, epsilon = 1e-9);
}

#[test]
fn after_an_arc_the_pen_stands_at_the_files_own_point() {
    let read = path("M10.1 10.3 A 7.7 7.7 0 0 1 20.7 17.9 l 0 10.000001 L 10.1 27.900001 Z");
    let wanted = Point::new(20.7, 100.0 - 17.9);
    let near = |p: Point| (p - wanted).hypot() < 1e-12;
    assert!(read.loops[0].segs().iter().any(|s| near(s.a)));
}

#[test]
fn every_command_reads_relative_and_absolute() {
    let long = path(
        "M 10 10 L 40 10 H 60 V 30 L 60 40 C 60 50 55 55 45 55 S 30 60 25 55 Q 20 50 15 50 T 10 40 Z",
    );
    let short = path("m10 10l30 0h20v20l0 10c0 10-5 15-15 15s-15 5-20 0q-5-5-10-5t-5-10z");
    assert_eq!(long.loops.len(), 1);
    assert_relative_eq!(long.loops[0].area(), short.loops[0].area(), epsilon = 1e-6);
    let implicit = path("M10 10 40 10 40 40 10 40zm50 0 20 0 0 20-20 0z");
    assert_eq!(implicit.loops.len(), 2);
    assert_relative_eq!(implicit.loops[0].area(), 900.0, epsilon = 1e-9);
    assert_relative_eq!(implicit.loops[1].area(), 400.0, epsilon = 1e-9);
    // After Z without M the next subpath begins where the last one did.
    let again = path("M10 10H20V20H10Zl-5 0 0 -5 5 0z");
    assert_eq!(again.loops.len(), 2);
}

/// Area of a closed chain of cubics by Green's theorem: exact for polynomials, by Simpson's rule with many steps.
fn area_of_cubic(p: [(f64, f64); 4]) -> f64 {
    let at = |t: f64| {
        let s = 1.0 - t;
        let w = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
        (0..4).fold((0.0, 0.0), |q, i| (q.0 + w[i] * p[i].0, q.1 + w[i] * p[i].1))
    };
    (0..4000)
        .map(|i| {
            let (a, b) = (at(f64::from(i) / 4000.0), at(f64::from(i + 1) / 4000.0));
            (a.0 * b.1 - b.0 * a.1) / 2.0
        })
        .sum::<f64>()
        .abs()
}

#[test]
fn a_cubic_keeps_its_area_within_the_fit() {
    let p = [(10.0, 10.0), (80.0, 5.0), (90.0, 90.0), (20.0, 70.0)];
    let read = path("M10 10C80 5 90 90 20 70Z");
    // Taken from its start, so that the closing line adds nothing.
    let wanted = area_of_cubic(p.map(|q| (q.0 - 10.0, q.1 - 10.0)));
    let slack = read.loops[0].length() * tolerance::FIT_READ;
    assert!((read.loops[0].area() - wanted).abs() < slack);
}

#[test]
fn a_circle_drawn_by_four_cubics_is_a_circle() {
    // The usual handle, 0.5522847498 of the radius, stands off the circle by 0.027 % (Goldapp, CAGD 8, 1991, from memory).
    let k = 20.0 * 0.552_284_749_8;
    let d = format!(
        "M70 50C70 {0} {0} 70 50 70S30 {0} 30 50S{1} 30 50 30S70 {1} 70 50Z",
        50.0 + k,
        50.0 - k
    );
    let read = path(&d);
    let (center, radius) = read.loops[0].as_circle().unwrap();
    assert!((center - Point::new(50.0, 50.0)).hypot() < 1e-3);
    assert!((radius - 20.0).abs() < 0.01);
    // A polygon whose corners can be seen stays one.
    let corners: Vec<String> = (0..24)
        .map(|i| {
            let a = f64::from(i) * PI / 12.0;
            format!("{},{}", 50.0 + 20.0 * a.cos(), 50.0 + 20.0 * a.sin())
        })
        .collect();
    let read = on_page(&format!("<polygon points=\"{}\"/>", corners.join(" ")));
    assert_eq!(read.loops[0].segs().len(), 24);
}

#[test]
fn basic_shapes_have_their_areas() {
    let read = on_page(
        "<circle cx=\"20\" cy=\"30\" r=\"10\"/><ellipse cx=\"70\" cy=\"30\" rx=\"20\" ry=\"10\"/>\
         <rect x=\"10\" y=\"50\" width=\"30\" height=\"20\" rx=\"5\"/><polygon points=\"50,50 90,50 90,60 50,60\"/>\
         <polyline points=\"50 70, 60 70, 60 80, 50 80, 50 70\"/>\
         <line x1=\"70\" y1=\"70\" x2=\"80\" y2=\"70\"/><line x1=\"80\" y1=\"80\" x2=\"80\" y2=\"70\"/><line x1=\"70\" y1=\"70\" x2=\"80\" y2=\"80\"/>",
    );
    let areas: Vec<f64> = read.loops.iter().map(Loop::area).collect();
    let wanted = [200.0 * PI, 500.0 + 25.0 * PI, 400.0, 100.0 * PI, 100.0, 50.0];
    assert_eq!(areas.len(), wanted.len(), "{areas:?}");
    let mut wanted = wanted.to_vec();
    wanted.sort_by(|a, b| b.total_cmp(a));
    for (got, want) in areas.iter().zip(wanted) {
        assert!((got - want).abs() < 0.5, "{areas:?}");
    }
    assert_eq!(read.loops.iter().find_map(Loop::as_circle), Some((Point::new(20.0, 70.0), 10.0)));
}

#[test]
fn rounded_corners_are_quarter_arcs() {
    let read = on_page("<rect x=\"10\" y=\"50\" width=\"30\" height=\"20\" rx=\"5\"/>");
    assert_relative_eq!(read.loops[0].area(), 600.0 - (4.0 - PI) * 25.0, epsilon = 1e-9);
    assert_eq!(read.loops[0].segs().len(), 8);
    // A radius beyond half a side is drawn in to it.
    let read = on_page("<rect x=\"10\" y=\"50\" width=\"20\" height=\"20\" rx=\"50\"/>");
    assert_relative_eq!(read.loops[0].as_circle().unwrap().1, 10.0, epsilon = 1e-9);
}

#[test]
fn a_stretched_ellipse_that_comes_out_round_is_a_circle() {
    let read =
        on_page("<ellipse transform=\"scale(1 2)\" cx=\"50\" cy=\"25\" rx=\"20\" ry=\"10\"/>");
    assert_eq!(read.loops[0].as_circle(), Some((Point::new(50.0, 50.0), 20.0)));
    let read = on_page("<circle transform=\"scale(1 0.5)\" cx=\"50\" cy=\"50\" r=\"20\"/>");
    assert!(read.loops[0].as_circle().is_none());
    assert!((read.loops[0].area() - 200.0 * PI).abs() < 1.0);
}

#[test]
fn transforms_nest_and_multiply() {
    let read = on_page(
        "<g transform=\"translate(10,20)\"><g transform=\"rotate(90) scale(2)\"><rect width=\"10\" height=\"5\"/></g></g>",
    );
    // Turned by a quarter, 20 x 10 becomes 10 x 20, left of and below (10, 20).
    boxed(&read.loops[0], (0.0, 10.0), (60.0, 80.0));
    let read = on_page(
        "<rect transform=\"matrix(1 0 .5 1 0 0)\" x=\"10\" y=\"10\" width=\"10\" height=\"10\"/>",
    );
    boxed(&read.loops[0], (15.0, 30.0), (80.0, 90.0));
    let read =
        on_page("<rect transform=\"skewY(45)\" x=\"10\" y=\"10\" width=\"10\" height=\"10\"/>");
    boxed(&read.loops[0], (10.0, 20.0), (60.0, 80.0));
    assert_eq!(refused(&page("<rect transform=\"scale(1 0)\" width=\"9\" height=\"9\"/>")), "E99");
    crate::fault::tells(
        [refused(&page("<rect transform=\"wring(3)\" width=\"9\" height=\"9\"/>"))],
        "E99",
    );
    assert_eq!(refused(&page("<rect transform=\"scale(1 2\" width=\"9\" height=\"9\"/>")), "E99");
}

fn sized(attributes: &str, options: &ReadOptions) -> Result<Traced, ReadFault> {
    let text =
        format!("<svg {attributes}><rect x=\"10\" y=\"10\" width=\"50\" height=\"50\"/></svg>");
    outlines("x.svg", text.as_bytes(), options)
}

#[test]
fn the_page_gives_the_unit() {
    let plain = ReadOptions::default();
    let cases = [
        ("width=\"8in\" height=\"4in\" viewBox=\"0 0 200 100\"", 50.0 * 203.2 / 200.0),
        ("width=\"20cm\" viewBox=\"0 0 200 100\"", 50.0),
        ("height=\"10cm\" viewBox=\"0 0 200 100\"", 50.0),
        ("width=\"100mm\" height=\"100mm\"", 50.0 * 25.4 / 96.0),
        ("width=\"96px\" height=\"96px\" viewBox=\"0 0 96 96\"", 50.0 * 25.4 / 96.0),
        // The smaller of the two scales holds where the page has another aspect than the view.
        ("width=\"200mm\" height=\"100mm\" viewBox=\"0 0 100 100\"", 50.0),
        (
            "width=\"200mm\" height=\"100mm\" viewBox=\"0 0 100 100\" preserveAspectRatio=\"xMinYMax slice\"",
            100.0,
        ),
        ("width=\"6pc\" height=\"6pc\" viewBox=\"0 0 25.4 25.4\"", 50.0),
        ("width=\"400Q\" height=\"400Q\" viewBox=\"0 0 100 100\"", 50.0),
    ];
    for (attributes, wanted) in cases {
        let read = sized(attributes, &plain).unwrap();
        assert_relative_eq!(read.size_mm.0, wanted, epsilon = 1e-9);
        assert_relative_eq!(read.size_mm.1, wanted, epsilon = 1e-9);
    }
    let read = sized("width=\"96px\" height=\"96px\"", &plain).unwrap();
    assert!(read.notes.iter().any(|n| n.contains("1/96 in")));
    let centred =
        sized("width=\"200mm\" height=\"100mm\" viewBox=\"0 0 100 100\"", &plain).unwrap();
    boxed(&centred.loops[0], (60.0, 110.0), (40.0, 90.0));
    let stretched = sized(
        "width=\"200mm\" height=\"100mm\" viewBox=\"0 0 100 100\" preserveAspectRatio=\"none\"",
        &plain,
    );
    assert_relative_eq!(stretched.unwrap().size_mm.0, 100.0, epsilon = 1e-9);
}

#[test]
fn a_size_without_a_unit_is_asked_for() {
    let none = ReadOptions::default();
    let mm = ReadOptions { unit: Some(1.0), ..none };
    for attributes in [
        "",
        "viewBox=\"0 0 200 100\"",
        "width=\"200\" height=\"100\"",
        "width=\"100%\" height=\"100%\" viewBox=\"0 0 200 100\"",
    ] {
        let fault = sized(attributes, &none).unwrap_err();
        crate::fault::tells([fault.code], "E93");
        assert!(fault.cure.unwrap().contains("outline-unit"));
        assert_relative_eq!(sized(attributes, &mm).unwrap().size_mm.0, 50.0, epsilon = 1e-9);
    }
    let stated =
        sized("width=\"20cm\" viewBox=\"0 0 200 100\"", &ReadOptions { unit: Some(25.4), ..none });
    let stated = stated.unwrap();
    assert_relative_eq!(stated.size_mm.0, 50.0, epsilon = 1e-9);
    assert!(stated.notes.iter().any(|n| n.contains("its own unit")));
    for bad in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        let options = ReadOptions { unit: Some(bad), ..none };
        assert_eq!(sized("", &options).unwrap_err().code, "E93");
        let options = ReadOptions { join: bad - 1.0, ..none };
        assert_eq!(sized("", &options).unwrap_err().code, "E93");
    }
}

#[test]
fn lengths_inside_may_carry_units() {
    let read = svg(
        "<svg width=\"100mm\" height=\"100mm\"><circle cx=\"20mm\" cy=\"3cm\" r=\"1in\"/></svg>",
    )
    .unwrap();
    let (center, radius) = read.loops[0].as_circle().unwrap();
    assert!((center - Point::new(20.0, 70.0)).hypot() < 1e-9);
    assert_relative_eq!(radius, 25.4, epsilon = 1e-9);
    crate::fault::tells([refused(&page("<circle r=\"50%\"/>"))], "E98");
    assert_eq!(refused(&page("<circle r=\"2em\"/>")), "E99");
    assert_eq!(refused(&page("<circle r=\"-2\"/>")), "E99");
}

#[test]
fn what_is_left_out_is_counted() {
    let shape = "<rect width=\"9\" height=\"9\"/>";
    let read = on_page(&format!(
        "<image href=\"file:///etc/hostname\"/><text>a</text><text>b</text><defs>{shape}</defs><defs/>\
         <clipPath id=\"c\">{shape}</clipPath><mask>{shape}</mask><marker>{shape}</marker>\
         <symbol>{shape}</symbol><use href=\"#c\"/><script>1</script><style>@import url(x); .a{{fill:none}}</style>\
         <g style=\"fill:none; display : none\">{shape}</g><rect display=\"none\" width=\"5\" height=\"5\"/>\
         <g visibility=\"hidden\">{shape}<rect visibility=\"visible\" x=\"50\" width=\"7\" height=\"7\"/></g>\
         <title>t</title><rect x=\"20\" width=\"30\" height=\"20\"><animate/></rect>"
    ));
    assert_eq!(read.loops.len(), 2);
    assert_relative_eq!(read.loops[0].area(), 600.0, epsilon = 1e-9);
    let notes = read.notes.join("\n");
    for words in [
        "1 picture",
        "2 texts",
        "1 block of definitions",
        "2 clips or masks",
        "1 marker",
        "1 symbol",
        "1 copy of another shape (use)",
        "1 script",
        "1 style sheet",
        "2 shapes or groups that are switched off",
        "1 hidden shape",
        "1 animation",
    ] {
        assert!(notes.contains(words), "{words} in {notes}");
    }
    let fault = svg(&page("<use href=\"#a\"/>")).unwrap_err();
    assert_eq!(fault.code, "E97");
    assert!(fault.text.contains("1 copy of another shape"));
    crate::fault::tells([refused(&page(""))], "E97");
}

#[test]
fn what_would_change_the_cut_if_left_out_is_refused() {
    let shape = "<rect class=\"a\" width=\"9\" height=\"9\"/>";
    for inside in [
        format!("<style>.a {{ display : none }}</style>{shape}"),
        format!("<style>.a {{ fill:red;transform: scale(2) }}</style>{shape}"),
        format!("<style>/* x */.a {{ visibility:hidden }}</style>{shape}"),
        format!("<svg x=\"10\" width=\"10\" height=\"10\">{shape}</svg>"),
        format!("<g style=\"transform:scale(2)\">{shape}</g>"),
        "<rect style=\"width:30px\" width=\"9\" height=\"9\"/>".to_owned(),
        "<rect transform=\"scale(2)\" transform-origin=\"5 5\" width=\"9\" height=\"9\"/>"
            .to_owned(),
    ] {
        assert_eq!(refused(&page(&inside)), "E98", "{inside}");
    }
}

#[test]
fn faults_name_their_line() {
    let text = page("\n<g>\n<path d=\"M0 0\nL 10 ten\"/></g>");
    let fault = svg(&text).unwrap_err();
    assert_eq!(fault.code, "E99");
    assert_eq!(fault.line, Some(4));
    assert_eq!(&text[fault.at.unwrap()..][..3], "ten");
    let marked = format!("\u{feff}{text}");
    let fault = svg(&marked).unwrap_err();
    assert_eq!(&marked[fault.at.unwrap()..][..3], "ten");
}

#[test]
fn the_same_bytes_give_the_same_loops() {
    let text = page("<path d=\"M10 10C80 5 90 90 20 70Z\"/><circle r=\"4\"/>");
    assert_eq!(svg(&text).unwrap(), svg(&text).unwrap());
}

#[test]
fn a_page_that_is_moved_or_switched_off_is_refused() {
    let with = |attribute: &str| {
        svg(&page("<circle r=\"5\"/>").replacen("<svg", &format!("<svg {attribute}"), 1))
            .map_err(|fault| fault.code)
    };
    assert_eq!(with("transform=\"scale(2)\"").unwrap_err(), "E98");
    assert_eq!(with("style=\"transform:scale(2)\"").unwrap_err(), "E98");
    assert_eq!(with("style=\"width:50mm\"").unwrap_err(), "E98");
    assert_eq!(with("style=\"display:none\"").unwrap_err(), "E97");
    assert_eq!(with("visibility=\"hidden\"").unwrap_err(), "E97");
    assert!(with("style=\"width:100%;fill:none\"").is_ok());
}
