//! Labels for the bags of parts, in a grid.

use super::super::{Dash, Letters, Mark};
use super::BagLabel;
use super::board::{Ink, Inked};
use super::pack::wrapped;
use super::page::Frame;
use crate::geom::{Point, Rect, Seg, Vec2};
use crate::letters;

/// Labels side by side.
const ACROSS: u32 = 3;
/// Rows of labels on a page.
const DOWN: u32 = 7;
/// Within a label (mm).
const PAD: f64 = 2.5;
/// Lines that the places of a label may take.
const MOST: usize = 2;

/// The pages, without head.
pub(super) fn pages(labels: &[BagLabel], frame: &Frame) -> Vec<Inked> {
    let body = frame.body();
    // No head here: the labels take its room.
    let body = Rect::new(body.x0, body.y0 + 2.0, body.x1, frame.area().y1);
    let size = Vec2::new(body.width() / f64::from(ACROSS), body.height() / f64::from(DOWN));
    let mut made = Vec::new();
    for lot in labels.chunks((ACROSS * DOWN) as usize) {
        let mut marks = Inked::new();
        let cells = (0..DOWN).flat_map(|row| (0..ACROSS).map(move |column| (row, column)));
        for (label, (row, column)) in lot.iter().zip(cells) {
            let corner = Point::new(
                body.x0 + f64::from(column) * size.x,
                body.y1 - f64::from(row + 1) * size.y,
            );
            one(label, Rect::from_origin_size(corner, (size.x, size.y)), &mut marks);
        }
        made.push(marks);
    }
    made
}

fn one(label: &BagLabel, area: Rect, marks: &mut Inked) {
    let ends = [(area.x0, area.y0), (area.x1, area.y0), (area.x1, area.y1), (area.x0, area.y1)]
        .map(Point::from);
    let sides = (0..4).map(|i| Seg::line(ends[i], ends[(i + 1) % 4])).collect();
    marks.push((Ink::Frame, Mark::Line(sides, 0.2, Dash::Dotted(1.2))));
    let room = area.width() - 2.0 * PAD;
    let mut y = area.y1 - PAD;
    let mut line = |text: &str, most: f64, ink: Ink| {
        let height = letters::height_within(text, room, most);
        y -= most;
        let at = Point::new(area.x0 + PAD, y);
        marks.push((ink, Mark::Letters(Letters::new(text, at, height))));
        y -= most * 0.7;
    };
    line(&label.part, 4.0, Ink::Words);
    line(&label.count, 3.0, Ink::Words);
    for text in wrapped(&label.size, room, 2.4) {
        line(&text, 2.4, Ink::Words);
    }
    let mut places = wrapped(&label.positions, room, 2.4);
    if places.len() > MOST {
        places.truncate(MOST);
        if let Some(last) = places.last_mut() {
            last.push_str(" …");
        }
    }
    for text in &places {
        line(text, 2.4, Ink::Words);
    }
    line(&label.material, 2.2, Ink::Notes);
}
