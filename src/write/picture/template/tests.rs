//! Pages of the right size, marks that meet, words that keep apart, print corrected.

use super::super::pdf::{CURVE_ERROR, curves_of, to_pdf};
use super::super::{Letters, Mark};
use super::*;
use crate::geom::rectangle;
use crate::letters;

fn plain(name: &str, shape: Shape) -> Drawing {
    let pattern = Pattern {
        tags: vec![name.to_owned()],
        shape,
        creases: Vec::new(),
        holes: Vec::new(),
        grain: None,
        mirrored: false,
    };
    Drawing {
        name: name.to_owned(),
        notes: vec!["1 of these, kid".to_owned()],
        warning: None,
        patterns: vec![pattern],
        sheet: None,
    }
}

fn oblong(name: &str, width: f64, height: f64) -> Drawing {
    plain(name, Shape::plain(rectangle(Point::ORIGIN, width, height, 0.0).unwrap()))
}

fn disk(name: &str, diameter: f64) -> Drawing {
    plain(name, Shape::plain(Loop::circle(Point::ORIGIN, diameter / 2.0).unwrap()))
}

fn printed(paper: Paper, x: f64, y: f64) -> Printing {
    Printing { title: "trial".to_owned(), paper, measured: Vec2::new(x, y) }
}

fn marks(page: &Picture) -> impl Iterator<Item = &Mark> {
    page.layers.iter().flat_map(|l| &l.marks)
}

/// The box of an upright line of letters, from its foot to its capitals.
fn area(words: &Letters) -> Rect {
    let wide = letters::width(&words.text, words.height);
    let size = if words.turn > 45.0 { (words.height, wide) } else { (wide, words.height) };
    let corner = match (words.turn > 45.0, words.mirrored) {
        (true, _) => words.at - Vec2::new(words.height, 0.0),
        (false, true) => words.at - Vec2::new(wide, 0.0),
        (false, false) => words.at,
    };
    Rect::from_origin_size(corner, size)
}

fn all_words(page: &Picture) -> Vec<(String, Rect)> {
    let words = marks(page).filter_map(|m| match m {
        Mark::Letters(words) => Some((words.text.clone(), area(words))),
        _ => None,
    });
    words.collect()
}

fn points(mark: &Mark) -> Vec<Point> {
    match mark {
        Mark::Line(segs, ..) => segs.iter().flat_map(|s| [s.a, s.b]).collect(),
        Mark::Outline(it, ..) => {
            let b = it.bounds();
            vec![Point::new(b.x0, b.y0), Point::new(b.x1, b.y1)]
        }
        Mark::Arrow(tip, ..) => vec![*tip],
        Mark::Letters(words) => {
            let b = area(words);
            vec![Point::new(b.x0, b.y0), Point::new(b.x1, b.y1)]
        }
        _ => Vec::new(),
    }
}

fn trial() -> Vec<Drawing> {
    let mut all: Vec<Drawing> =
        (1..30).map(|n| disk(&format!("pouch:{n}"), 30.0 + f64::from(n))).collect();
    all.push(oblong("cloth:1", 700.0, 420.0));
    all.push(oblong("strip:1", 220.0, 12.0));
    all
}

#[test]
fn what_is_drawn_keeps_clear_of_the_edge_in_the_file_and_on_the_print() {
    for paper in [Paper::A4, Paper::LETTER] {
        for (x, y) in [(100.0, 100.0), (95.0, 105.0), (105.0, 95.0)] {
            let how = printed(paper, x, y);
            let made = template(&trial(), &[], &how);
            let middle = Vec2::new(paper.width, paper.height) / 2.0;
            for page in &made.pages {
                assert_eq!((page.width, page.height), (paper.width, paper.height));
                for p in marks(page).flat_map(points) {
                    // In the file a point lies farther out by the scale; the print has it where the page has it.
                    for scale in [Vec2::new(1.0, 1.0), how.scale()] {
                        let off = p.to_vec2() - middle;
                        let at = middle + Vec2::new(off.x * scale.x, off.y * scale.y);
                        assert!(at.x > 12.0 - 1e-6 && at.x < paper.width - 12.0 + 1e-6, "{p:?}");
                        assert!(at.y > 12.0 - 1e-6 && at.y < paper.height - 12.0 + 1e-6, "{p:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn words_never_overlap() {
    let labels = vec![
        BagLabel {
            part: "pouch".to_owned(),
            size: "round, 42.0 mm".to_owned(),
            positions: "places 1-3, 5, 7-54".to_owned(),
            count: "51 pieces and 6 spares".to_owned(),
            material: "kid".to_owned(),
        };
        30
    ];
    for paper in [Paper::A4, Paper::LETTER] {
        for measured in [100.0, 99.0] {
            let made = template(&trial(), &labels, &printed(paper, measured, 100.0));
            for (n, page) in made.pages.iter().enumerate() {
                let words = all_words(page);
                for (i, (text, a)) in words.iter().enumerate() {
                    for (other, b) in &words[..i] {
                        assert!(!a.overlaps(*b), "page {}: {text} on {other}", n + 1);
                    }
                }
            }
        }
    }
}

#[test]
fn small_patterns_are_whole_and_every_pattern_is_there() {
    let drawings = trial();
    let made = template(&drawings, &[], &printed(Paper::A4, 100.0, 100.0));
    for (n, drawing) in drawings.iter().enumerate() {
        let own: Vec<&Found> = made.found.iter().filter(|f| f.drawing == n).collect();
        if drawing.name == "cloth:1" {
            assert!(own.len() > 1 && own.iter().all(|f| f.tile.is_some()));
        } else {
            assert!(own.len() == 1 && own[0].tile.is_none(), "{}", drawing.name);
        }
    }
    // A strip of 220 mm is wider than the page between its edges and goes upright.
    let strip = made.found.iter().find(|f| drawings[f.drawing].name == "strip:1").unwrap();
    assert!(strip.turned && (strip.area.height() - 220.0).abs() < 1e-9);
    // No two of a page overlap.
    for (i, a) in made.found.iter().enumerate() {
        for b in &made.found[..i] {
            assert!(a.page != b.page || !a.area.overlaps(b.area), "{a:?} {b:?}");
        }
    }
    // Every disk is there as a circle of its diameter.
    let circles: Vec<f64> = made
        .pages
        .iter()
        .flat_map(marks)
        .filter_map(|m| match m {
            Mark::Outline(Loop::Circle(_, r), ..) => Some(2.0 * r),
            _ => None,
        })
        .collect();
    for n in 1..30 {
        assert!(circles.iter().any(|d| (d - 30.0 - f64::from(n)).abs() < 1e-9), "{n}");
    }
}

/// Centres of the marks of a tile, told in the drawing.
fn register(page: &Picture, grid: &Grid, tile: tiles::Tile, found: &Found) -> Vec<Point> {
    let window = grid.window(tile);
    let by = Vec2::new(window.x0 - found.area.x0, window.y0 - found.area.y0);
    let dots = page.layers.iter().filter(|l| l.name == "DOTS").flat_map(|l| &l.marks);
    dots.filter_map(|m| match m {
        Mark::Outline(Loop::Circle(c, _), ..) => Some(*c + by),
        _ => None,
    })
    .collect()
}

#[test]
fn marks_meet_those_of_the_neighbours() {
    let how = printed(Paper::LETTER, 99.4, 100.3);
    let drawing = oblong("cloth:1", 700.0, 620.0);
    let grid = Grid::of(0, &drawing, &page::Frame::of(&how));
    assert!(grid.rows > 1 && grid.columns > 1);
    let made = template(&[drawing], &[], &how);
    let of = |tile: tiles::Tile| {
        let found = made.found.iter().find(|f| f.tile == Some(tile.name())).unwrap();
        register(&made.pages[found.page - 1], &grid, tile, found)
    };
    for tile in &grid.tiles {
        let own = of(*tile);
        assert_eq!(own.len(), 4);
        for (row, column) in [(0, 1), (1, 0)] {
            let next = tiles::Tile { row: tile.row + row, column: tile.column + column };
            if !grid.tiles.contains(&next) {
                continue;
            }
            let meet = |p: &&Point| of(next).iter().any(|q| (**p - *q).hypot() < 1e-9);
            assert_eq!(own.iter().filter(meet).count(), 2, "{} and {}", tile.name(), next.name());
            // They share 10 mm.
            let both = grid.window(*tile).intersect(grid.window(next));
            assert!((both.width().min(both.height()) - 10.0).abs() < 1e-9);
        }
    }
}

/// Joined, the tiles hold the whole line: its length is that of the drawing, what is shared counted once.
#[test]
fn tiles_hold_the_whole_drawing() {
    let (width, height) = (700.0, 420.0);
    let how = printed(Paper::A4, 100.0, 100.0);
    let drawing = oblong("cloth:1", width, height);
    let grid = Grid::of(0, &drawing, &page::Frame::of(&how));
    let made = template(&[drawing], &[], &how);
    let mut seen: Vec<(Point, Point)> = Vec::new();
    for tile in &grid.tiles {
        let found = made.found.iter().find(|f| f.tile == Some(tile.name())).unwrap();
        let window = grid.window(*tile);
        let by = Vec2::new(window.x0 - found.area.x0, window.y0 - found.area.y0);
        let page = &made.pages[found.page - 1];
        let edges = page.layers.iter().filter(|l| l.name == "EDGES").flat_map(|l| &l.marks);
        for mark in edges {
            if let Mark::Line(segs, ..) = mark {
                seen.extend(segs.iter().map(|s| (s.a + by, s.b + by)));
            }
        }
    }
    let b = grid.drawing.patterns[0].shape.bounds();
    for side in [
        Seg::line((b.x0, b.y0).into(), (b.x1, b.y0).into()),
        Seg::line((b.x1, b.y0).into(), (b.x1, b.y1).into()),
    ] {
        for i in 0..=200 {
            let p = side.at(f64::from(i) / 200.0);
            let held = |(a, b): &(Point, Point)| Seg::line(*a, *b).distance_to(p) < 1e-6;
            assert!(seen.iter().any(held), "{p:?}");
        }
    }
    assert!((b.width().max(b.height()) - width).abs() < 1e-9);
}

/// ISO 216: A4 is 210 by 297 mm, 595.276 by 841.89 points; 8.5 by 11 in is 612 by 792. ISO 32000-1, table 150.
#[test]
fn the_file_has_the_papers_box_and_asks_not_to_be_fitted() {
    for (paper, wanted) in
        [(Paper::A4, "[0 0 595.2756 841.8898]"), (Paper::LETTER, "[0 0 612 792]")]
    {
        let how = printed(paper, 100.0, 100.0);
        let made = template(&trial(), &[], &how);
        let bytes = to_pdf(&made.pages, "trial", how.scale());
        let text = String::from_utf8_lossy(&bytes);
        assert_eq!(text.matches(&format!("/MediaBox {wanted}")).count(), made.pages.len());
        assert!(text.contains("/PrintScaling /None"));
        assert!(!text.contains("Date") && !text.contains("/Font"));
        assert_eq!(bytes, to_pdf(&template(&trial(), &[], &how).pages, "trial", how.scale()));
    }
}

/// A rule that measured 99.4 mm is drawn 100/99.4 as long: the printer makes 100 mm of it.
#[test]
fn each_axis_is_scaled_the_other_way() {
    let how = printed(Paper::A4, 99.4, 100.5);
    assert!((how.scale().x * 99.4 - 100.0).abs() < 1e-9);
    assert!((how.scale().y * 100.5 - 100.0).abs() < 1e-9);
    let bytes = to_pdf(&template(&trial(), &[], &how).pages, "trial", how.scale());
    let text = String::from_utf8_lossy(&bytes);
    let line = text.lines().find(|l| l.ends_with(" cm")).unwrap();
    let figures: Vec<f64> = line.split(' ').filter_map(|f| f.parse().ok()).collect();
    assert!((figures[0] / (72.0 / 25.4) - 100.0 / 99.4).abs() < 1e-6, "{line}");
    assert!((figures[3] / (72.0 / 25.4) - 100.0 / 100.5).abs() < 1e-6, "{line}");
}

/// Curves, tried at many points, leave their circle by less than is promised.
#[test]
fn curves_keep_to_their_circle() {
    for radius in [0.3, 2.0, 7.0, 21.0, 80.0, 400.0, 3000.0] {
        let mut worst: f64 = 0.0;
        for [a, p, q, b] in curves_of(&Loop::Circle(Point::ORIGIN, radius)) {
            for i in 0..=50 {
                let t = f64::from(i) / 50.0;
                let one = a.lerp(p, t).lerp(p.lerp(q, t), t);
                let two = p.lerp(q, t).lerp(q.lerp(b, t), t);
                worst = worst.max((one.lerp(two, t).to_vec2().hypot() - radius).abs());
            }
        }
        assert!(worst < CURVE_ERROR, "{radius}: {worst}");
    }
}

#[test]
fn tools_stand_beside_their_holes_or_are_told_by_a_letter() {
    let mut drawing = oblong("board:1", 120.0, 40.0);
    let hole = |x: f64, tool: &str| HoleMark {
        at: Point::new(x, 20.0),
        diameter: 2.0,
        tool: tool.to_owned(),
        only_marked: true,
    };
    drawing.patterns[0].holes =
        (0..20).map(|i| hole(10.0 + 5.0 * f64::from(i), "5/64 in punch")).collect();
    let made = template(&[drawing], &[], &printed(Paper::A4, 100.0, 100.0));
    let page = &made.pages[made.found[0].page - 1];
    let words = all_words(page);
    let told = words.iter().filter(|(t, _)| t == "5/64 in punch" || t == "a").count();
    assert_eq!(told, 20);
    if words.iter().any(|(t, _)| t == "a") {
        assert!(words.iter().any(|(t, _)| t == "a: 5/64 in punch"));
    }
}

#[test]
fn a_name_stands_beside_a_row_of_holes() {
    // Holes far apart down the middle of a strip: its middle is free, and lies between two of them.
    let mut drawing = oblong("strip:1", 60.0, 150.0);
    let hole = |k: u32| HoleMark {
        at: Point::new(30.0, 15.0 + 40.0 * f64::from(k)),
        diameter: 6.0,
        tool: "6 mm punch".to_owned(),
        only_marked: true,
    };
    drawing.patterns[0].holes = (0..4).map(hole).collect();
    let made = template(&[drawing], &[], &printed(Paper::A4, 100.0, 100.0));
    let page = &made.pages[made.found[0].page - 1];
    let middles: Vec<Point> = marks(page)
        .filter_map(|mark| match mark {
            Mark::Outline(Loop::Circle(at, radius), ..) if (radius - 3.0).abs() < 1e-6 => Some(*at),
            _ => None,
        })
        .collect();
    assert_eq!(middles.len(), 4);
    let row = Rect::from_points(middles[0], middles[3]).inflate(0.1, 0.1);
    let words = all_words(page);
    let names: Vec<_> = words.iter().filter(|(text, _)| text == "strip:1").collect();
    assert!(!names.is_empty() && names.iter().all(|(_, area)| !area.overlaps(row)), "{words:?}");
}

#[test]
fn tiles_have_names_like_a_map() {
    let name = |row, column| tiles::Tile { row, column }.name();
    assert_eq!((name(0, 0), name(1, 2), name(25, 9)), ("A1".into(), "B3".into(), "Z10".into()));
    assert_eq!((name(26, 0), name(27, 0)), ("AA1".to_owned(), "AB1".to_owned()));
}
