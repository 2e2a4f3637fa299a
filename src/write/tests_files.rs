//! Cut files read back by code that is not ours.

use super::manifest::{HEAD, hash, motions_text};
use super::tests::Chance;
use super::{DxfVersion, Manifest, cut_dxf, cut_svg, motions_hash};
use crate::geom::{Loop, Point, Seg, obround};
use crate::letters::strokes;
use crate::plan::{CutPlan, Layer, Motion, Row, Stroke};
use dxf::Drawing;
use dxf::entities::EntityType;
use std::collections::BTreeMap;

fn along(segs: &[Seg]) -> Vec<Motion> {
    let mut motions = vec![Motion::Rapid(segs[0].a)];
    motions.extend(
        segs.iter().map(
            |s| {
                if s.is_line() { Motion::Line(s.b) } else { Motion::Arc(s.b, s.bulge) }
            },
        ),
    );
    motions
}

fn stroke(layer: Layer, address: &str, motions: Vec<Motion>) -> Stroke {
    Stroke { layer, address: address.to_owned(), number: 0, motions }
}

fn ring(center: Point, radius: f64, clockwise: bool) -> Vec<Motion> {
    vec![
        Motion::Rapid(Point::new(center.x, center.y + radius)),
        Motion::Circle(center, radius, clockwise),
    ]
}

fn lines(points: &[(f64, f64)]) -> Vec<Motion> {
    let mut motions = vec![Motion::Rapid(points[0].into())];
    motions.extend(points[1..].iter().map(|p| Motion::Line((*p).into())));
    motions
}

/// A rule, a number, a crease, a cross, a hole, a disk, a slot with round ends and a cut with its lead.
fn plan_named(name: &str) -> CutPlan {
    let at = Point::new(60.0, 40.0);
    let slot = obround(Point::new(120.0, 30.0), Point::new(150.0, 30.0), 10.0).expect("a slot");
    let mut letters = Vec::new();
    for line in strokes("31", 3.0) {
        letters.push(Motion::Rapid(line[0] + at.to_vec2()));
        letters.extend(line[1..].iter().map(|p| Motion::Line(*p + at.to_vec2())));
    }
    let mut cross = lines(&[(130.0, 30.0), (134.0, 30.0)]);
    cross.extend(lines(&[(132.0, 28.0), (132.0, 32.0)]));
    let turned = Seg::arc(Point::new(20.0, 80.0), Point::new(40.0, 80.0), -0.3);
    let mut led = vec![Motion::Rapid(Point::new(75.0, 40.0))];
    led.push(Motion::Arc(Point::new(70.0, 40.0), 1.0));
    led.push(Motion::Circle(at, 10.0, false));
    let mut strokes = vec![
        stroke(Layer::Rule, "", lines(&[(10.0, 5.0), (110.0, 5.0)])),
        stroke(Layer::Numbers, name, letters),
        stroke(Layer::Crease, name, along(&[turned])),
        stroke(Layer::Punch, "slot:1", cross),
        stroke(Layer::Holes, name, ring(at, 3.0, true)),
        stroke(Layer::Edges, name, ring(at, 15.875, false)),
        stroke(Layer::Edges, "slot:1", along(&slot.segs())),
        stroke(Layer::Edges, "led:1", led),
    ];
    for (n, s) in (1..).zip(&mut strokes) {
        s.number = n;
    }
    let row = |address: &str, strokes: Vec<u32>, size: (f64, f64), area: f64| Row {
        address: address.to_owned(),
        x: 60.0,
        y: 40.0,
        turn: 90.0,
        mirrored: false,
        strokes,
        size,
        area,
        punches: vec![(Point::new(132.0, 30.0), 2.5)],
    };
    CutPlan {
        sheet: "goat-1".to_owned(),
        generation: 1,
        material: "goat".to_owned(),
        machine: "bench laser".to_owned(),
        process: "laser",
        kerf: (0.15, 0.15),
        strokes,
        rows: vec![
            row(name, vec![2, 3, 5, 6], (31.75, 31.75), 763.4),
            row("slot:1", vec![4, 7], (40.0, 10.0), 378.54),
        ],
        page: (200.0, 100.0),
        window: None,
        dots: Vec::new(),
        warnings: vec!["read the papers of machine and material first".to_owned()],
        cautions: vec!["never leave it while it cuts".to_owned()],
    }
}

fn plan() -> CutPlan {
    plan_named("pouch:31")
}

fn manifest_of(plan: &CutPlan) -> Manifest {
    let inputs = [("hides/goat-1.csv".to_owned(), hash(b"outline"))];
    Manifest::new(plan, "Thistlewick chapel organ", "lay-1", "0.1.0", &inputs)
}

fn svg_of(plan: &CutPlan) -> String {
    cut_svg(plan, &manifest_of(plan), &BTreeMap::new())
}

fn dxf_of(plan: &CutPlan, version: DxfVersion) -> String {
    cut_dxf(plan, &manifest_of(plan), version, &BTreeMap::new())
}

#[test]
fn svg_is_well_formed_and_true_to_size() {
    let text = svg_of(&plan());
    let document = roxmltree::Document::parse(&text).expect("well-formed");
    let root = document.root_element();
    assert_eq!(root.attribute("width"), Some("200mm"));
    assert_eq!(root.attribute("height"), Some("100mm"));
    assert_eq!(root.attribute("viewBox"), Some("0 0 200 100"));
    let groups: Vec<_> = root.children().filter(|n| n.has_tag_name("g")).collect();
    let names: Vec<_> = groups.iter().filter_map(|g| g.attribute("id")).collect();
    assert_eq!(names, ["RULE", "NUMBERS", "CREASE", "PUNCH", "HOLES", "EDGES"]);
    let mut ids = std::collections::BTreeSet::new();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        assert!(node.attribute("transform").is_none() && node.attribute("style").is_none());
        if let Some(id) = node.attribute("id") {
            assert!(ids.insert(id.to_owned()), "{id} stands twice");
        }
    }
    let edge = document.descendants().find(|n| n.attribute("id") == Some("pouch-31-6"));
    let edge = edge.expect("the disk's edge");
    assert!(edge.has_tag_name("circle"), "a circle stays a circle");
    assert_eq!(edge.attribute("r"), Some("15.875"));
    assert_eq!(edge.attribute("cy"), Some("60"), "y is turned over once");
    assert_eq!(edge.first_element_child().and_then(|t| t.text()), Some("pouch:31"));
    for group in groups {
        let colour = group.attribute("stroke").unwrap_or_default();
        for pure in ["#000000", "#FF0000", "#00FF00", "#0000FF"] {
            assert_ne!(colour, pure);
        }
    }
}

/// The points of an SVG path's arcs, worked out by the rules of SVG 1.1, appendix F.6.5 (end points to centre).
fn arc_centers(d: &str) -> Vec<(Point, f64, f64)> {
    let mut found = Vec::new();
    let mut at = Point::ORIGIN;
    for command in d
        .split_inclusive(' ')
        .collect::<String>()
        .split(['M', 'L', 'A', 'Z'])
        .zip(std::iter::once(' ').chain(d.chars().filter(|c| "MLAZ".contains(*c))))
    {
        let n: Vec<f64> =
            command.0.split_whitespace().map(|w| w.parse().expect("a figure")).collect();
        match (command.1, &n[..]) {
            ('M' | 'L', [x, y]) => at = Point::new(*x, *y),
            ('A', [r, r2, turn, large, sweep, x, y]) => {
                assert!((r - r2).abs() < 1e-12 && *turn == 0.0 && *large == 0.0);
                let to = Point::new(*x, *y);
                let half = (to - at) / 2.0;
                let reach = (r * r - half.hypot2()).max(0.0).sqrt();
                let side = if *sweep > 0.5 { 1.0 } else { -1.0 };
                let normal = left_of(half) * (reach * side);
                found.push((
                    at.midpoint(to) + normal,
                    *r,
                    (half.hypot() / r).min(1.0).asin() * 2.0,
                ));
                at = to;
            }
            _ => {}
        }
    }
    found
}

fn left_of(v: crate::geom::Vec2) -> crate::geom::Vec2 {
    crate::geom::Vec2::new(-v.y, v.x) / v.hypot()
}

#[test]
fn half_turns_are_split_and_stay_in_place() {
    let mut chance = Chance(5);
    for _ in 0..500 {
        let (x, y, r) = (chance.next() * 100.0, chance.next() * 100.0, 0.5 + chance.next() * 60.0);
        let way = crate::geom::Vec2::from_angle(chance.next() * std::f64::consts::TAU) * 10.0;
        let from = Point::new(100.0 + x, 100.0 + y);
        let slot = obround(from, from + way, 2.0 * r).expect("a slot");
        let mut one = plan();
        one.page = (400.0, 400.0);
        one.strokes = vec![stroke(Layer::Edges, "slot:1", along(&slot.segs()))];
        let text = svg_of(&one);
        let document = roxmltree::Document::parse(&text).expect("well-formed");
        let d = document.descendants().find_map(|n| n.attribute("d")).expect("a path");
        let arcs = arc_centers(d);
        assert_eq!(arcs.len(), 4, "two half turns in two pieces each");
        for (center, radius, sweep) in arcs {
            assert!(sweep < 1.6);
            assert!((radius - r).abs() < 3e-4, "{radius} for {r}");
            let up = Point::new(center.x, 400.0 - center.y);
            let off = [from, from + way].iter().map(|c| (*c - up).hypot()).fold(9e9, f64::min);
            assert!(off < 4e-4, "centre {off} mm out at radius {r}");
        }
    }
}

#[test]
fn dxf_reads_back_in_both_versions() {
    for version in [DxfVersion::R12, DxfVersion::R2000] {
        let text = dxf_of(&plan(), version);
        let drawing = Drawing::load(&mut text.as_bytes()).expect("a drawing");
        assert_eq!(drawing.header.default_drawing_units, dxf::enums::Units::Millimeters);
        let mut circles = Vec::new();
        let mut closed = 0;
        for entity in drawing.entities() {
            let layer = &entity.common.layer;
            assert!(Layer::ALL.iter().any(|l| l.name() == layer), "{layer}");
            match &entity.specific {
                EntityType::Circle(c) => {
                    circles.push((layer.clone(), c.center.x, c.center.y, c.radius));
                }
                EntityType::LwPolyline(p) => {
                    if p.is_closed() {
                        closed += 1;
                        let v: Vec<_> = p.vertices.iter().map(|v| (v.x, v.y, v.bulge)).collect();
                        assert_eq!(v, SLOT);
                    }
                }
                EntityType::Polyline(p) => {
                    if p.is_closed() {
                        closed += 1;
                        let v: Vec<_> =
                            p.vertices().map(|v| (v.location.x, v.location.y, v.bulge)).collect();
                        assert_eq!(v, SLOT);
                    }
                }
                EntityType::Arc(a) => {
                    let want = Seg::arc(Point::new(20.0, 80.0), Point::new(40.0, 80.0), -0.3);
                    assert!((a.radius - want.radius()).abs() < 1e-9);
                    let end = a.start_angle.to_radians();
                    let x = a.center.x + a.radius * end.cos();
                    let y = a.center.y + a.radius * end.sin();
                    assert!((x - 40.0).hypot(y - 80.0) < 1e-6, "clockwise arcs are turned about");
                }
                EntityType::Line(_) => {}
                other => panic!("{other:?}"),
            }
        }
        assert_eq!(closed, 1);
        assert_eq!(
            circles,
            [("HOLES".to_owned(), 60.0, 40.0, 3.0), ("EDGES".to_owned(), 60.0, 40.0, 15.875)]
        );
    }
}

const SLOT: [(f64, f64, f64); 4] =
    [(120.0, 25.0, 0.0), (150.0, 25.0, 1.0), (150.0, 35.0, 0.0), (120.0, 35.0, 1.0)];

#[test]
fn words_of_the_users_stay_inert() {
    for name in [
        "\"><script>alert(1)</script>",
        "]]>",
        "a\n0\nSECTION\n",
        "</desc><g>",
        "&amp;\u{0}\u{8}",
        "中\u{202e}",
    ] {
        let mut hostile = plan_named(name);
        hostile.sheet = name.to_owned();
        hostile.material = name.to_owned();
        hostile.warnings = vec![name.to_owned()];
        let manifest =
            Manifest::new(&hostile, name, name, name, &[(name.to_owned(), name.to_owned())]);
        let mut colours = BTreeMap::new();
        colours.insert("EDGES".to_owned(), name.to_owned());
        let text = cut_svg(&hostile, &manifest, &colours);
        let document = roxmltree::Document::parse(&text).expect("well-formed");
        let known = ["svg", "title", "desc", "g", "path", "circle"];
        assert!(
            document
                .descendants()
                .filter(roxmltree::Node::is_element)
                .all(|n| known.contains(&n.tag_name().name()))
        );
        assert_eq!(document.descendants().filter(|n| n.has_tag_name("g")).count(), 6);
        for version in [DxfVersion::R12, DxfVersion::R2000] {
            let text = cut_dxf(&hostile, &manifest, version, &colours);
            assert!(text.is_ascii());
            let drawing = Drawing::load(&mut text.as_bytes()).expect("a drawing");
            let plain = Drawing::load(&mut dxf_of(&plan(), version).as_bytes()).expect("a drawing");
            assert_eq!(drawing.entities().count(), plain.entities().count());
            assert_eq!(
                text.matches("\nSECTION\n").count(),
                if version == DxfVersion::R12 { 4 } else { 6 }
            );
        }
    }
}

#[test]
fn the_hash_of_the_body_can_be_checked() {
    let text = svg_of(&plan());
    let (from, to) = (text.find("<desc>").expect("desc"), text.find("</desc>\n").expect("desc"));
    let words = &text[from + 6..to];
    let body = format!("{}{}", &text[..from], &text[to + 8..]);
    assert!(words.starts_with(HEAD));
    assert!(words.ends_with(&format!("\nbody: sha256 {}", hash(body.as_bytes()))));
    for version in [DxfVersion::R12, DxfVersion::R2000] {
        let text = dxf_of(&plan(), version);
        let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
        let mut last = "";
        while lines[0] == "999\n" {
            last = lines[1];
            lines.drain(..2);
        }
        assert_eq!(last, format!("body: sha256 {}\n", hash(lines.concat().as_bytes())));
    }
}

#[test]
fn the_manifest_tells_pieces_and_lengths() {
    let plan = plan();
    let lines = manifest_of(&plan).lines("");
    let has = |line: &str| {
        assert!(lines.iter().any(|l| l == line), "{line}\nis not in\n{}", lines.join("\n"));
    };
    has(
        "piece: x 60; y 40; turn 90; mirrored no; strokes 2 3 5 6; diameter 31.75; area 763.4; punched 2.5 at 132 30; address pouch:31",
    );
    has(
        "piece: x 60; y 40; turn 90; mirrored no; strokes 4 7; box 40 x 10; area 378.54; punched 2.5 at 132 30; address slot:1",
    );
    has("kerf: x 0.15; y 0.15");
    has(&format!("input: sha256 {} goat-1.csv", hash(b"outline")));
    has("warning: read the papers of machine and material first");
    // Cut: circles 3, 15.875, 10 and a lead of half a turn of 2.5, the slot 60 + 10 pi.
    let cut = std::f64::consts::PI * (6.0 + 31.75 + 20.0 + 2.5 + 10.0) + 60.0;
    let length = lines.iter().find_map(|l| l.strip_prefix("length: cut ")).expect("lengths");
    let figure: f64 = length.split(';').next().expect("cut").parse().expect("a figure");
    assert!((figure - cut).abs() < 1e-4, "{figure} for {cut}");
}

#[test]
fn the_hash_of_motions_follows_the_cut_and_nothing_else() {
    let first = plan();
    let mut second = plan();
    second.warnings.clear();
    second.rows.clear();
    second.strokes[4].motions[0] = Motion::Rapid(Point::new(60.000_000_01, 43.0));
    assert_eq!(motions_hash(&first), motions_hash(&second));
    second.strokes[4].motions[0] = Motion::Rapid(Point::new(60.000_2, 43.0));
    assert_ne!(motions_hash(&first), motions_hash(&second));
    assert!(motions_text(&first).contains("HOLES pouch:31\nR 60 43\nC 60 40 3 cw\n"));
    // FIPS 180-4's example "abc".
    assert_eq!(hash(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

#[test]
fn same_input_same_bytes() {
    assert_eq!(svg_of(&plan()), svg_of(&plan()));
    for version in [DxfVersion::R12, DxfVersion::R2000] {
        assert_eq!(dxf_of(&plan(), version), dxf_of(&plan(), version));
    }
}

#[test]
fn an_empty_plan_is_still_a_file() {
    let mut empty = plan();
    empty.strokes.clear();
    empty.rows.clear();
    roxmltree::Document::parse(&svg_of(&empty)).expect("well-formed");
    for version in [DxfVersion::R12, DxfVersion::R2000] {
        Drawing::load(&mut dxf_of(&empty, version).as_bytes()).expect("a drawing");
    }
}

#[test]
fn colours_of_the_users_own() {
    let plan = plan();
    let mut colours = BTreeMap::new();
    for (layer, colour) in
        [("EDGES", "#ff0000"), ("HOLES", "5"), ("PUNCH", "url(x)"), ("RULE", "120")]
    {
        colours.insert(layer.to_owned(), colour.to_owned());
    }
    let text = cut_svg(&plan, &manifest_of(&plan), &colours);
    let document = roxmltree::Document::parse(&text).expect("well-formed");
    let stroke = |id: &str| {
        document
            .descendants()
            .find(|n| n.attribute("id") == Some(id))
            .and_then(|n| n.attribute("stroke"))
            .map(str::to_owned)
    };
    assert_eq!(stroke("EDGES").as_deref(), Some("#FF0000"));
    assert_eq!(stroke("HOLES").as_deref(), Some("#0000FF"));
    assert_eq!(stroke("PUNCH").as_deref(), Some("#CC79A7"));
    let text = cut_dxf(&plan, &manifest_of(&plan), DxfVersion::R2000, &colours);
    let drawing = Drawing::load(&mut text.as_bytes()).expect("a drawing");
    let numbers: BTreeMap<_, _> =
        drawing.layers().map(|l| (l.name.clone(), l.color.index())).collect();
    assert_eq!(numbers["EDGES"], Some(1));
    assert_eq!(numbers["HOLES"], Some(5));
    assert_eq!(numbers["PUNCH"], Some(7));
    assert_eq!(numbers["RULE"], Some(120));
}

#[test]
fn only_a_circle_motion_is_a_circle_element() {
    let round = Loop::circle(Point::new(30.0, 30.0), 12.0).expect("a circle");
    let mut one = plan();
    one.strokes = vec![stroke(Layer::Edges, "disk:1", along(&round.segs()))];
    // Two half turns are a path: only a circle motion is a circle.
    assert!(svg_of(&one).contains("<path"));
}

/// Writes the same plan for the checking script, where a folder is named for it.
#[test]
fn samples_for_the_checking_script() {
    let Ok(folder) = std::env::var("POUCHWORK_SAMPLES") else {
        return;
    };
    let put = |name: &str, text: &str| {
        std::fs::write(std::path::Path::new(&folder).join(name), text).expect("written");
    };
    let hostile = plan_named("</desc>\"\n0\nEOF\n\u{202e}½ ⌀");
    put("hostile.svg", &svg_of(&hostile));
    put("hostile-r12.dxf", &dxf_of(&hostile, DxfVersion::R12));
    put("hostile-r2000.dxf", &dxf_of(&hostile, DxfVersion::R2000));
    let mut empty = plan();
    empty.strokes.clear();
    put("empty-r12.dxf", &dxf_of(&empty, DxfVersion::R12));
    put("empty-r2000.dxf", &dxf_of(&empty, DxfVersion::R2000));
    put("cut.svg", &svg_of(&plan()));
    put("cut-r12.dxf", &dxf_of(&plan(), DxfVersion::R12));
    put("cut-r2000.dxf", &dxf_of(&plan(), DxfVersion::R2000));
}
