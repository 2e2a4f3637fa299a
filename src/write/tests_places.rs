//! Strip charts and the overview: where figures come to lie, what is marked, whether all can be read.

use super::picture::{Mark, Picture, palette};
use super::tests_letters::clashes;
use super::{Overview, Tile, Total, overview_picture, place_charts};
use crate::geom::{Loop, Point, Rect, Shape, rectangle};
use crate::part::{Cell, Column, standing};
use crate::units::{Length, Unit};

/// A column of figures as they are written; those with a `*` were written for their place.
fn column(key: &'static str, written: &[&str]) -> Column {
    let lengths: Vec<Length> = written
        .iter()
        .map(|text| {
            Length::parse(text.trim_start_matches('*'), Some(Unit::Inch)).expect("a length")
        })
        .collect();
    let sizes: Vec<f64> = lengths.iter().map(Length::mm).collect();
    let stands = standing(&sizes).map_or(vec![None; sizes.len()], |(_, stands)| stands);
    let cell = |(n, length): (usize, &Length)| Cell {
        position: u32::try_from(n).expect("a few") + 1,
        value: length.mm(),
        text: length.text().to_owned(),
        typed: written[n].starts_with('*'),
        stand: stands[n],
    };
    Column { key, counted: false, cells: lengths.iter().enumerate().map(cell).collect() }
}

fn marks<'a>(picture: &'a Picture, layer: &str) -> &'a [Mark] {
    picture.layers.iter().find(|it| it.name == layer).map_or(&[], |it| &it.marks)
}

/// The boxes of filled marks, from left to right.
fn filled(picture: &Picture, layer: &str, colour: &str) -> Vec<Rect> {
    let mut boxes: Vec<Rect> = marks(picture, layer)
        .iter()
        .filter_map(|mark| match mark {
            Mark::Ground(loops, fill) if *fill == colour => Some(loops[0].bounds()),
            _ => None,
        })
        .collect();
    boxes.sort_by(|a, b| a.x0.total_cmp(&b.x0));
    boxes
}

fn said(picture: &Picture) -> Vec<(String, Point)> {
    let all = picture.layers.iter().flat_map(|layer| &layer.marks);
    all.filter_map(|mark| match mark {
        Mark::Letters(words) => Some((words.text.clone(), words.at)),
        _ => None,
    })
    .collect()
}

fn says(picture: &Picture, text: &str) -> bool {
    said(picture).iter().any(|(said, _)| said == text)
}

fn readable(name: &str, picture: &Picture) {
    let (words, wrong) = clashes(&picture.to_svg());
    assert!(words > 0 && wrong.is_empty(), "{name}: {wrong:#?}");
    if let Ok(folder) = std::env::var("POUCHWORK_SAMPLES") {
        let path = std::path::Path::new(&folder).join(name);
        let svg = picture.to_svg();
        let png = super::to_png(&svg, 150.0).expect("a picture");
        std::fs::write(path.with_extension("png"), png).expect("written");
    }
}

/// On the scale equal steps are equal: 1 1/8 in lies midway between 1 in and 1 1/4 in, and the figures of the scale
/// stand at the height of what they say.
#[test]
fn figures_lie_where_the_scale_says() {
    let written: Vec<&str> =
        std::iter::repeat_n(["*1 in", "*1 1/8 in", "*1 1/4 in"], 8).flatten().collect();
    let picture = &place_charts("pouch", &[column("well", &written)], Unit::Inch)[0];
    let squares = filled(picture, "TYPED", palette::BLACK);
    // The last one is that of the legend, at the very left.
    let at: Vec<Point> = squares[1..].iter().map(Rect::center).collect();
    assert_eq!(at.len(), 24);
    assert!(at.windows(2).all(|pair| pair[0].x < pair[1].x));
    assert!(((at[0].y + at[2].y) / 2.0 - at[1].y).abs() < 1e-6 && at[0].y < at[2].y);
    let per_inch = (at[2].y - at[0].y) / 0.25;
    let left = at[0].x - 3.0;
    let mut ticks = 0;
    for (text, foot) in said(picture).iter().filter(|(_, foot)| foot.x < left) {
        let Ok(inches) = text.parse::<f64>() else { continue };
        if !text.contains('.') {
            continue;
        }
        let wanted = at[0].y + (inches - 1.0) * per_inch;
        assert!((foot.y + 2.1 / 2.0 - wanted).abs() < 1e-6, "{text}");
        ticks += 1;
    }
    assert!((3..=7).contains(&ticks), "{ticks}");
    readable("scale", picture);
}

/// 11.40 for 1.140: the one mark of its sort, beyond the scale, named with its place and as it was written; the others
/// keep their room.
#[test]
fn a_slip_of_the_point_is_marked_and_does_not_press_the_others_flat() {
    let mut written = vec!["1 1/8 in"; 54];
    written[0] = "*1 5/32 in";
    let sound = place_charts("pouch", &[column("well", &written)], Unit::Inch);
    assert!(marks(&sound[0], "ODD").is_empty() && says(&sound[0], "1: 1 5/32 in"));
    written[30] = "*11.40 in";
    let picture = &place_charts("pouch", &[column("well", &written)], Unit::Inch)[0];
    let odd = filled(picture, "ODD", palette::VERMILION);
    // One in the legend and one in the chart, larger than any other mark and above them.
    assert_eq!(odd.len(), 2);
    let typed = filled(picture, "TYPED", palette::BLACK);
    let (slip, place) = (odd[1], typed[1]);
    assert!(slip.width() > 1.3 * place.width() && slip.y0 > place.y1);
    assert!(says(picture, "31: 11.40 in"));
    // What is hollow was not written for its place.
    let rings = marks(picture, "TAKEN").iter().filter(|m| matches!(m, Mark::Outline(..))).count();
    assert_eq!((rings, typed.len()), (52 + 1, 1 + 1));
    let line = |picture: &Picture| match &marks(picture, "LINE")[0] {
        Mark::Line(segs, ..) => segs[0].a.y,
        _ => panic!("a line"),
    };
    let height =
        |picture: &Picture| filled(picture, "TYPED", palette::BLACK)[1].center().y - line(picture);
    assert!(height(picture) > 0.7 * height(&sound[0]), "{}", height(picture));
    readable("slip", picture);
    readable("sound", &sound[0]);
}

/// Where the part says nothing of its own, a place that differs from its tier is named, and the tier is not.
#[test]
fn a_shifted_row_shows_among_tiers() {
    let tiers = ["*1 1/4 in", "*1 3/16 in", "*1 1/8 in", "*1 1/16 in"];
    let mut written: Vec<&str> =
        tiers.iter().flat_map(|tier| std::iter::repeat_n(*tier, 24)).collect();
    written[6] = "*1 17/64 in";
    written.swap(30, 80);
    let picture = &place_charts("pouch", &[column("well", &written)], Unit::Inch)[0];
    for wanted in ["7: 1 17/64 in", "31: 1 1/16 in", "81: 1 3/16 in"] {
        assert!(says(picture, wanted), "{wanted}: {:?}", said(picture));
    }
    let named = said(picture).iter().filter(|(text, _)| text.contains(": 1 ")).count();
    assert_eq!(named, 3);
    readable("tiers", picture);
}

/// 300 places, every one measured to a hundredth and none like its neighbour, with slips among them.
#[test]
fn three_hundred_places_can_be_read() {
    let written: Vec<String> = (0..300)
        .map(|n| match n {
            41 => "*290.1 mm".to_owned(),
            142 => "*2.85 mm".to_owned(),
            220 => "*29.48 mm".to_owned(),
            299 => "*1.14 mm".to_owned(),
            n => format!("*{:.2} mm", 28.5 + f64::from((n * 37) % 41) / 100.0),
        })
        .collect();
    let written: Vec<&str> = written.iter().map(String::as_str).collect();
    let columns = [column("well", &written), column("dip", &written)];
    let pages = place_charts("pouch", &columns, Unit::Millimetre);
    assert_eq!(pages.len(), 2);
    for (n, page) in pages.iter().enumerate() {
        readable(&format!("three-hundred-{n}"), page);
        // No two marks of a strip lie on each other.
        for row in filled(page, "TYPED", palette::BLACK)[1..].windows(2) {
            assert!(row[0].x1 < row[1].x1 || row[0].y0 > row[1].y1 || row[0].y1 < row[1].y0);
        }
    }
    for wanted in ["42: 290.1 mm", "143: 2.85 mm", "300: 1.14 mm"] {
        assert!(says(&pages[0], wanted), "{wanted}");
        assert!(says(&pages[1], wanted), "{wanted}");
    }
    // A whole millimetre off, among what differs by tenths: named, and of the others few.
    assert!(says(&pages[0], "221: 29.48 mm"));
    let named = said(&pages[0]).iter().filter(|(text, _)| text.ends_with(" mm")).count();
    assert!(named < 20, "{named}");
}

#[test]
fn an_overview_fits_and_can_be_read_whatever_its_names() {
    let shape = Shape::plain(rectangle(Point::ORIGIN, 900.0, 22.0, 0.0).expect("a strip"));
    let round = Shape::plain(Loop::circle(Point::ORIGIN, 8.0).expect("a disk"));
    for many in [0_usize, 1, 2, 7, 17, 44, 60, 200] {
        let tile = |n: usize| Tile {
            name: if n.is_multiple_of(5) {
                format!("a-part-with-a-rather-long-name-{n}/hinge")
            } else {
                format!("part-{n}")
            },
            kind: "bellows".to_owned(),
            shape: [Some(&shape), Some(&round), None][n % 3],
            creases: &[],
            punches: &[],
            numbered: n.is_multiple_of(2),
            places: 54,
            sizes: 12,
            pieces: 108,
            spares: n % 4,
            odd: if n.is_multiple_of(3) {
                "1-2, 17, 31, 37, 44, 48, 51-53".to_owned()
            } else {
                String::new()
            },
            material: "rubber-twill".to_owned(),
            machine: "bench-knife".to_owned(),
        };
        let total = |n: usize| Total {
            material: format!("a-material-with-a-long-name-{n}"),
            pieces: 10_000,
            spares: 500,
            net: 1.5e6,
            spare: 1e5,
        };
        let overview = Overview {
            title: "An organ with a title that is longer than any page, ".repeat(4),
            tiles: (0..many).map(tile).collect(),
            totals: (0..many.div_ceil(4)).map(total).collect(),
        };
        let picture = overview_picture(&overview);
        assert!(many > 60 || (picture.width, picture.height) == (297.0, 210.0), "{many}");
        readable(&format!("overview-{many}"), &picture);
    }
}
