//! Pictures of parts and sheets.

use super::picture::{Dash, Mark, Picture, PictureLayer, palette};
use super::{DimensionStyle, LaidPiece, LayMarks, PartDrawing, lay_picture, part_picture, to_png};
use crate::fault::Place;
use crate::geom::{Affine, Loop, Point, Pose, Seg, Shape, obround, rectangle};
use crate::material::Face;
use crate::part::{Design, Dimension, Figure, Member, Punch, Term, TermRole};
use crate::sheet::{Flaw, Sheet, SheetKind};
use crate::units::Length;
use std::sync::Arc;

fn term(label: &str, written: &str, value: f64, unit: &'static str, role: TermRole) -> Term {
    let file: Arc<str> = "tables/pouches.csv".into();
    let from = (role == TermRole::Given).then(|| Place::head(&file));
    Term { label: label.to_owned(), written: written.to_owned(), value, unit, from, role }
}

fn member(shape: Shape) -> Member {
    Member {
        name: None,
        companion: None,
        untrimmed: Vec::new(),
        shape,
        trim: 0.0,
        creases: Vec::new(),
        guides: Vec::new(),
        punches: Vec::new(),
        soft: false,
        sum: Vec::new(),
        dimensions: Vec::new(),
    }
}

fn disk(x: f64, y: f64, r: f64) -> Loop {
    Loop::circle(Point::new(x, y), r).expect("a disk")
}

/// A pouch: a plain disk with its sum.
pub(super) fn pouch() -> Member {
    let r = 19.32;
    let mut it = member(Shape::plain(disk(0.0, 0.0, r)));
    it.dimensions = vec![Dimension::Diameter(Point::ORIGIN, r, Figure::of(38.64))];
    it.sum = vec![
        term("well", "1 1/8 in", 28.575, "mm", TermRole::Given),
        term("dip", "3/32 in", 2.381, "mm", TermRole::Given),
        term("land", "0.188 in", 4.775, "mm", TermRole::Given),
        term("arc over the well", "well and dip, arc of a circle", 29.1, "mm", TermRole::Step),
        term("diameter", "arc + 2 × land", 38.64, "mm", TermRole::Total),
        term("travel of the centre", "dip", 2.381, "mm", TermRole::Note),
    ];
    it
}

/// A gasket: a plate with many holes, punched ones among them, and stacked figures.
fn gasket() -> Member {
    let outline = rectangle(Point::ORIGIN, 240.0, 60.0, 6.0).expect("a plate");
    let mut holes: Vec<Loop> =
        (0..8).map(|i| disk(24.0 + 24.0 * f64::from(i), 36.0, 6.0)).collect();
    holes.push(obround(Point::new(20.0, 14.0), Point::new(60.0, 14.0), 8.0).expect("a slot"));
    let mut it = member(Shape::new(outline, holes).expect("a gasket"));
    it.punches = [(8.0, 8.0), (232.0, 8.0), (8.0, 52.0), (232.0, 52.0)]
        .map(|p| Punch { at: p.into(), diameter: 3.2 })
        .to_vec();
    let p = |x: f64, y: f64| Point::new(x, y);
    it.dimensions = vec![
        Dimension::Span(p(0.0, 60.0), p(240.0, 60.0), 18.0, Figure::of(240.0)),
        Dimension::Span(p(0.0, 36.0), p(24.0, 36.0), 10.0, Figure::of(24.0)),
        Dimension::Span(p(24.0, 36.0), p(48.0, 36.0), 10.0, Figure::of(24.0)),
        Dimension::Span(p(24.0, 36.0), p(192.0, 36.0), 12.0, Figure::of(168.0).and(", 7 × 24")),
        Dimension::Span(p(0.0, 0.0), p(0.0, 60.0), 20.0, Figure::of(60.0)),
        Dimension::Span(p(0.0, 0.0), p(0.0, 36.0), 10.0, Figure::of(36.0)),
        Dimension::Span(p(0.0, 0.0), p(8.0, 0.0), -10.0, Figure::of(7.94)),
        Dimension::Span(p(20.0, 10.0), p(60.0, 10.0), -12.0, Figure::of(40.0)),
    ];
    for i in 0..8 {
        it.dimensions.push(Dimension::Diameter(
            p(24.0 + 24.0 * f64::from(i), 36.0),
            6.0,
            Figure::of(12.0),
        ));
    }
    it.dimensions.push(Dimension::Diameter(p(232.0, 52.0), 1.6, Figure::of(3.2)));
    it.sum = (0..14)
        .map(|i| {
            term(
                &format!("hole {i}, from the left end"),
                "15/16 in",
                23.8125 * f64::from(i),
                "mm",
                TermRole::Given,
            )
        })
        .collect();
    it.sum.push(term(
        "length",
        "from end to end, a long way of saying how it was worked out from the marks",
        240.0,
        "mm",
        TermRole::Total,
    ));
    it
}

/// A hinge: a strip with a crease, stretch and trim allowed for.
fn hinge() -> (Member, Design) {
    let outline = rectangle(Point::new(-45.0, -12.0), 90.0, 24.0, 0.0).expect("a strip");
    let mut it = member(Shape::plain(outline));
    it.creases = vec![Seg::line(Point::new(0.0, -12.0), Point::new(0.0, 12.0))];
    it.dimensions = vec![
        Dimension::Span(Point::new(-45.0, 12.0), Point::new(45.0, 12.0), 10.0, Figure::of(90.0)),
        Dimension::Span(Point::new(45.0, 12.0), Point::new(45.0, -12.0), 10.0, Figure::of(24.0)),
        Dimension::Span(Point::new(0.0, -12.0), Point::new(1.5, -12.0), -10.0, Figure::of(1.5)),
    ];
    it.sum = vec![term("length", "90 mm", 90.0, "mm", TermRole::Given)];
    let shape =
        it.shape.mapped(Affine::scale_non_uniform(1.0 / 1.04, 1.1), 0.001).expect("a design");
    let design =
        Design { shape, creases: it.creases.clone(), punches: Vec::new(), rounds: Vec::new() };
    (it, design)
}

/// A facing: a small ring.
fn facing() -> Member {
    let shape = Shape::new(disk(0.0, 0.0, 4.2), vec![disk(0.0, 0.0, 1.6)]).expect("a ring");
    let mut it = member(shape);
    it.dimensions = vec![
        Dimension::Diameter(Point::ORIGIN, 4.2, Figure::of(8.4)),
        Dimension::Diameter(Point::ORIGIN, 1.6, Figure::of(3.2)),
    ];
    it.sum = vec![term("seat", "3.2 mm", 3.2, "mm", TermRole::Given)];
    it
}

/// A wedge: figures along slanting edges.
fn wedge() -> Member {
    let (a, b, c) = (Point::ORIGIN, Point::new(120.0, 0.0), Point::new(30.0, 80.0));
    let outline = crate::geom::polygon(&[a, b, c]).expect("a wedge");
    let mut it = member(Shape::plain(outline));
    it.dimensions = vec![
        Dimension::Span(b, c, -10.0, Figure::of(120.4)),
        Dimension::Span(c, a, -10.0, Figure::of(85.4)),
        Dimension::Span(a, b, -10.0, Figure::of(120.0)),
    ];
    it
}

/// A long strip, too thin for its F.
fn strip() -> Member {
    let outline = rectangle(Point::ORIGIN, 900.0, 22.0, 0.0).expect("a strip");
    let mut it = member(Shape::plain(outline));
    let (left, right) = (Point::new(0.0, 22.0), Point::new(900.0, 22.0));
    it.dimensions = vec![
        Dimension::Span(left, right, 10.0, Figure::of(900.0)),
        Dimension::Span(Point::ORIGIN, left, 10.0, Figure::of(22.225)),
    ];
    it.sum = vec![term("length", "900 mm", 900.0, "mm", TermRole::Total)];
    it
}

fn hide() -> Sheet {
    let points: Vec<Point> = (0..36)
        .map(|i| {
            let a = f64::from(i) * 10.0_f64.to_radians();
            let r = 1.0 + 0.09 * (3.0 * a).cos() + 0.05 * (5.0 * a + 1.0).sin();
            Point::new(420.0 + 400.0 * r * a.cos(), 300.0 + 260.0 * r * a.sin())
        })
        .collect();
    let flaw = |why: &str, outline: Loop| Flaw { why: why.to_owned(), outline };
    let outline = Loop::polygon(&points).expect("a hide");
    Sheet {
        up: Some(Face::Grain),
        flaws: vec![
            flaw(
                "scar",
                obround(Point::new(520.0, 420.0), Point::new(620.0, 450.0), 14.0).expect("a scar"),
            ),
            flaw("hole", disk(250.0, 180.0, 6.0)),
            flaw("thin place under the foreleg", disk(650.0, 250.0, 55.0)),
        ],
        grain: 8.0,
        thickness: Some(Length::from_mm(0.3)),
        ..Sheet::bare("goat-1", SheetKind::Hide, "pouch goatskin", outline)
    }
}

fn laid() -> Vec<LaidPiece> {
    let mut pieces = Vec::new();
    let mut put = |label: String, shape: Shape, pose: Pose, spare: bool, creases: Vec<Seg>| {
        pieces.push(LaidPiece {
            label,
            shape: shape.posed(&pose),
            mirrored: pose.mirrored,
            spare,
            spoilt: false,
            creases: creases.iter().map(|c| pose.on_seg(c)).collect(),
        });
    };
    let at = |x: f64, y: f64| Pose::moved((x, y).into());
    for i in 0..54_u32 {
        let (row, column) = (i / 9, i % 9);
        let (x, y) = (
            200.0 + 42.0 * f64::from(column) + 21.0 * f64::from(row % 2),
            225.0 + 37.0 * f64::from(row),
        );
        put(format!("{}", i + 1), pouch().shape, at(x, y), i > 50, Vec::new());
    }
    let ring = Shape::new(disk(0.0, 0.0, 40.0), vec![disk(0.0, 0.0, 28.0)]).expect("a ring");
    put("1".to_owned(), ring, at(350.0, 140.0), false, Vec::new());
    put("31i".to_owned(), facing().shape, at(340.0, 150.0), false, Vec::new());
    put("31o".to_owned(), facing().shape, at(358.0, 132.0), false, Vec::new());
    let (hinge, design) = hinge();
    put(
        "2".to_owned(),
        design.shape,
        Pose { x: 480.0, y: 140.0, turn: 8.0, mirrored: true },
        false,
        hinge.creases,
    );
    put(
        "1".to_owned(),
        gasket().shape,
        Pose { x: 560.0, y: 180.0, turn: 8.0, mirrored: false },
        false,
        Vec::new(),
    );
    pieces
}

fn lay() -> Picture {
    let footer = [
        "pouch 1–54 (⌀ 38.64), ring 1, facing 31 inner and outer, hinge 2, gasket 1".to_owned(),
        "Look at the place of every flaw on the skin itself before anything is cut.".to_owned(),
    ];
    lay_picture(
        &hide(),
        &laid(),
        &LayMarks::default(),
        "Thistlewick chapel organ — lay 1, sheet goat-1",
        &footer,
    )
}

/// A drawing of a member alone.
fn drawing<'a>(
    title: &'a str,
    member: &'a Member,
    design: Option<&'a Design>,
    style: DimensionStyle,
) -> PartDrawing<'a> {
    PartDrawing { title, member, design, cut: None, works: &[], style, note: "kid" }
}

fn parts() -> Vec<(&'static str, Picture)> {
    use DimensionStyle::{Inch, Metric};
    let (hinge, design) = hinge();
    let part_picture = |title, member: &Member, design, style| {
        part_picture(&drawing(title, member, design, style))
    };
    vec![
        ("pouch", part_picture("pouch 3–16, 18–30 (27 alike)", &pouch(), None, Inch)),
        ("gasket", part_picture("gasket 1", &gasket(), None, Metric)),
        ("hinge", part_picture("hinge 2", &hinge, Some(&design), Metric)),
        ("wedge", part_picture("wedge 1", &wedge(), None, Metric)),
        ("strip", part_picture("strip 1", &strip(), None, Metric)),
        ("facing", part_picture("facing 31 / inner", &facing(), None, Metric)),
    ]
}

#[test]
fn pictures_are_well_formed_and_repeat() {
    let mut all: Vec<(String, Picture, Picture)> =
        parts().into_iter().zip(parts()).map(|(a, b)| (a.0.to_owned(), a.1, b.1)).collect();
    all.push(("lay".to_owned(), lay(), lay()));
    for (name, one, two) in all {
        let text = one.to_svg();
        assert_eq!(text, two.to_svg(), "{name}");
        let document = roxmltree::Document::parse(&text).expect("well-formed");
        let mut ids = std::collections::BTreeSet::new();
        for id in document.descendants().filter_map(|n| n.attribute("id")) {
            assert!(ids.insert(id.to_owned()), "{name}: {id} stands twice");
        }
        assert!(!text.contains("NaN") && !text.contains("inf"), "{name}");
        if let Ok(folder) = std::env::var("POUCHWORK_SAMPLES") {
            let folder = std::path::Path::new(&folder);
            std::fs::write(folder.join(format!("{name}.svg")), &text).expect("written");
            let dpi = if name == "lay" { one.dpi_across(1600.0) } else { 150.0 };
            let png = to_png(&text, dpi).expect("a picture");
            std::fs::write(folder.join(format!("{name}.png")), png).expect("written");
        }
    }
}

#[test]
fn png_has_the_size_asked_for() {
    let picture = Picture {
        width: 50.8,
        height: 25.4,
        title: "a disk".to_owned(),
        layers: vec![PictureLayer {
            name: "EDGES",
            colour: palette::BLUE,
            marks: vec![Mark::Outline(disk(25.4, 12.7, 10.0), 1.0, Dash::Dashed(3.0))],
        }],
    };
    let png = to_png(&picture.to_svg(), 100.0).expect("a picture");
    assert_eq!(&png[1..4], b"PNG");
    let figure = |at: usize| u32::from_be_bytes([png[at], png[at + 1], png[at + 2], png[at + 3]]);
    assert_eq!((figure(16), figure(20)), (200, 100));
    assert!(to_png("<svg", 100.0).is_err());
    assert!(to_png(&picture.to_svg(), 1e9).is_err());
    assert!(to_png(&picture.to_svg(), f64::NAN).is_err());
    assert!((picture.dpi_across(1600.0) - 800.0).abs() < 1e-9);
}

#[test]
fn the_scale_fits_the_part() {
    let said = |picture: &Picture| {
        let text = picture.to_svg();
        let at = text.find("aria-label=\"scale ").expect("a scale") + 18;
        text[at..].split('"').next().map(str::to_owned)
    };
    let scales: Vec<_> = parts().iter().filter_map(|(_, p)| said(p)).collect();
    assert_eq!(scales, ["2:1", "1:5", "1:1", "1:1", "1:10", "5:1"]);
}

#[test]
fn letters_of_figures_never_overlap() {
    use super::picture::drafted_boxes;
    let mut crowd = gasket();
    for i in 0..20 {
        let x = 3.0 * f64::from(i);
        crowd.dimensions.push(Dimension::Span(
            Point::new(x, 60.0),
            Point::new(x + 2.0, 60.0),
            10.0,
            Figure::of(2.0),
        ));
    }
    for it in [pouch(), gasket(), hinge().0, facing(), wedge(), strip(), crowd] {
        let styles = [DimensionStyle::Inch, DimensionStyle::Metric];
        let scales = [0.2, 0.5, 1.0, 2.0];
        for (style, scale) in styles.into_iter().flat_map(|style| scales.map(|s| (style, s))) {
            let boxes = drafted_boxes(&drawing("it", &it, None, style), scale);
            for (i, a) in boxes.iter().enumerate() {
                for b in &boxes[..i] {
                    assert!(!a.overlaps(*b), "{a:?} and {b:?} at {scale}");
                }
            }
        }
    }
}

#[test]
fn words_in_pictures_stay_inert() {
    let mut sheet = hide();
    sheet.id = "\"><script>".to_owned();
    sheet.flaws[0].why = "]]>\n<b>".to_owned();
    let mut pieces = laid();
    pieces[0].label = "<&\"'>".to_owned();
    let text = lay_picture(&sheet, &pieces, &LayMarks::default(), "</title>", &["&x;".to_owned()])
        .to_svg();
    let document = roxmltree::Document::parse(&text).expect("well-formed");
    assert!(!document.descendants().any(|n| n.has_tag_name("script") || n.has_tag_name("b")));
}

/// Names on a sheet keep off every line that is no fold, those of holes, of the sheet and of bed windows.
#[test]
fn names_are_not_struck_through() {
    let sheet = hide();
    let window = crate::geom::Rect::new(150.0, 150.0, 480.0, 420.0);
    let marks = LayMarks { windows: vec![("1".to_owned(), window)], ..LayMarks::default() };
    let mut pieces = laid();
    // Rings along the very edge of the skin: no room in them, little beside them.
    for (n, seg) in sheet.outline.segs().iter().enumerate() {
        let inward = (Point::new(420.0, 300.0) - seg.a) * (12.0 / 300.0);
        let at = seg.a + inward;
        let ring = Shape::new(disk(at.x, at.y, 7.0), vec![disk(at.x, at.y, 5.0)]).expect("a ring");
        pieces.push(LaidPiece {
            label: format!("ring:{n}"),
            shape: ring,
            mirrored: false,
            spare: false,
            spoilt: n == 3,
            creases: Vec::new(),
        });
    }
    let picture = lay_picture(&sheet, &pieces, &marks, "goat", &[]);
    let (words, wrong) = super::tests_letters::clashes(&picture.to_svg());
    assert!(words > pieces.len() && wrong.is_empty(), "{wrong:#?}");
    let marks = |name: &str| {
        picture.layers.iter().find(|l| l.name == name).map_or(&[][..], |l| &l.marks[..])
    };
    assert_eq!(marks("SPOILT").len(), 2);
    let mut lines: Vec<Seg> = Vec::new();
    for layer in ["SHEET", "EDGES", "HOLES", "BED"] {
        for mark in marks(layer) {
            match mark {
                Mark::Outline(it, ..) => lines.extend(it.segs()),
                Mark::Named(_, inner) => lines.extend(inner.iter().flat_map(|m| match m {
                    Mark::Outline(it, ..) => it.segs(),
                    _ => Vec::new(),
                })),
                _ => {}
            }
        }
    }
    let points: Vec<Point> = lines
        .iter()
        .flat_map(|seg| {
            let many = (seg.length() / 0.4).ceil().max(1.0);
            (0..).map(f64::from).take_while(move |n| *n <= many).map(move |n| seg.at(n / many))
        })
        .collect();
    let mut named = 0;
    for mark in marks("NUMBERS") {
        let Mark::Letters(words) = mark else { continue };
        let wide = crate::letters::width(&words.text, words.height);
        let size = if words.turn > 0.0 { (words.height, wide) } else { (wide, words.height) };
        let corner = words.at
            - crate::geom::Vec2::new(
                if words.turn > 0.0 {
                    words.height
                } else if words.mirrored {
                    wide
                } else {
                    0.0
                },
                0.0,
            );
        let area = crate::geom::Rect::from_origin_size(corner, size);
        let struck = points.iter().find(|p| area.contains(**p));
        // The least of all names stand where nothing else is left for them.
        assert!(struck.is_none() || words.height < 2.0, "{words:?} at {struck:?}");
        named += 1;
    }
    assert!(named >= pieces.len());
}

#[test]
fn zones_are_dotted_and_say_their_grade() {
    let mut sheet = hide();
    assert!(
        !lay_picture(&sheet, &laid(), &LayMarks::default(), "goat", &[]).to_svg().contains("grade")
    );
    sheet.zones = vec![
        crate::sheet::Zone { why: "flank".to_owned(), grade: 3, outline: disk(300.0, 400.0, 90.0) },
        crate::sheet::Zone { why: String::new(), grade: 2, outline: disk(640.0, 250.0, 60.0) },
    ];
    sheet.readings = vec![crate::sheet::Reading {
        at: Point::new(420.0, 300.0),
        thickness: Length::from_mm(0.9),
    }];
    let picture = lay_picture(&sheet, &laid(), &LayMarks::default(), "goat", &[]);
    let order: Vec<&str> = picture.layers.iter().map(|l| l.name).collect();
    let at = |name: &str| order.iter().position(|n| *n == name).unwrap();
    assert!(at("USED") < at("ZONES") && at("ZONES") < at("EDGES"));
    let zones = &picture.layers[at("ZONES")];
    let words: Vec<&str> = zones
        .marks
        .iter()
        .filter_map(|m| match m {
            Mark::Letters(words) => Some(words.text.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(words, ["grade 3: flank", "grade 2", Length::from_mm(0.9).text()]);
    let dotted = |m: &Mark| matches!(m, Mark::Outline(_, _, Dash::Dotted(_)));
    let named =
        zones.marks.iter().filter(|m| matches!(m, Mark::Named(_, l) if l.iter().any(dotted)));
    assert_eq!(named.count(), 2);
}

#[test]
fn a_width_of_cloth_is_drawn_smaller_and_says_so() {
    let mut cloth = hide();
    cloth.kind = SheetKind::Cloth;
    cloth.outline = crate::sheet::width_of_cloth(1600.0, 1400.0).expect("a width");
    cloth.flaws = crate::sheet::selvedges(1600.0, 1400.0, 15.0).expect("selvedges");
    cloth.grain = 90.0;
    let picture = lay_picture(&cloth, &laid(), &LayMarks::default(), "pump cloth", &[]);
    assert!(picture.width < 1000.0);
    let text = picture.to_svg();
    for words in ["100 mm, scale 1:2", "warp", "selvedge", "grain side up"] {
        assert!(text.contains(&format!("aria-label=\"{words}\"")), "{words}");
    }
}

/// The chains of the first path of a picture with one mark.
fn chains_of(mark: Mark) -> Vec<String> {
    let layers = vec![PictureLayer { name: "EDGES", colour: palette::BLUE, marks: vec![mark] }];
    let picture = Picture { width: 60.0, height: 60.0, title: String::new(), layers };
    let text = picture.to_svg();
    let document = roxmltree::Document::parse(&text).expect("well-formed");
    let d = document.descendants().find_map(|n| n.attribute("d"));
    d.unwrap_or_default().split('M').skip(1).map(str::to_owned).collect()
}

#[test]
fn dashes_and_hatching_are_strokes() {
    // 62.83 mm round in periods of 3 + 2.1 mm: 12 dashes; open, 30 mm: 6, the last one whole.
    let round = Mark::Outline(disk(30.0, 30.0, 10.0), 0.3, Dash::Dashed(3.0));
    assert_eq!(chains_of(round).len(), 12);
    let (a, b) = (Point::new(10.0, 10.0), Point::new(40.0, 10.0));
    let open = chains_of(Mark::Line(vec![Seg::line(a, b)], 0.3, Dash::Dashed(3.0)));
    assert_eq!(open.len(), 6);
    assert!(open[0].starts_with("10 50") && open[5].contains("L40 50"), "{open:?}");
    let short = Mark::Line(vec![Seg::line(a, Point::new(11.0, 10.0))], 0.3, Dash::Dashed(3.0));
    assert_eq!(chains_of(short).len(), 1, "a short line stays whole");
    let square = rectangle(a, 20.0, 20.0, 0.0).expect("a square");
    let level = chains_of(Mark::Hatch(square, 2.0, 0.0, 0.1));
    assert!((9..=11).contains(&level.len()), "{}", level.len());
    for line in level {
        let x: Vec<f64> =
            line.split(['L', ' ']).filter_map(|w| w.parse().ok()).step_by(2).collect();
        assert!(matches!(x[..], [x0, x1] if ((x0 - x1).abs() - 20.0).abs() < 0.01), "{line}");
    }
}
