//! The zones of a sheet in the picture of a lay: dotted lines with the grade as a word, and readings of the thickness
//! where they were taken.

use super::super::room::{clear, roomiest};
use super::{Page, layer, on_page};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2};
use crate::letters;
use crate::sheet::Sheet;
use crate::write::picture::{
    Dash, LaidPiece, Letters, Mark, PAPER, PictureLayer, palette, scaled_point, straight,
};

/// Zones under the pieces' lines.
pub(super) fn zone_layer(
    sheet: &Sheet,
    pieces: &[LaidPiece],
    kept: &mut Vec<Rect>,
    page: &Page,
) -> PictureLayer {
    let mut marks = Vec::new();
    let mut words = Vec::new();
    for zone in &sheet.zones {
        let outline = page.on_loop(&zone.outline);
        let mut name = format!("grade {}", zone.grade);
        if !zone.why.is_empty() {
            name = format!("{name}: {}", zone.why);
        }
        let dotted = Mark::Outline(outline, page.weight(0.14), Dash::Dotted(page.letter * 0.4));
        marks.push(Mark::Named(name.clone(), vec![dotted]));
        let foot = free_place(&zone.outline, &name, (pieces, kept), page);
        words.extend(on_paper(name, foot, kept, page));
    }
    for reading in &sheet.readings {
        let at = scaled_point(reading.at, page.scale, page.by);
        let arm = page.letter * 0.4;
        marks.push(straight(at - Vec2::new(arm, 0.0), at + Vec2::new(arm, 0.0), page.weight(0.1)));
        marks.push(straight(at - Vec2::new(0.0, arm), at + Vec2::new(0.0, arm), page.weight(0.1)));
        let foot = at + Vec2::new(arm * 1.5, arm * 0.5);
        let said = reading.thickness.text().to_owned();
        words.extend(on_paper(said, foot, kept, page));
    }
    marks.extend(words);
    layer("ZONES", palette::GREEN, marks)
}

/// Words on a white ground.
fn on_paper(text: String, foot: Point, kept: &mut Vec<Rect>, page: &Page) -> Vec<Mark> {
    let height = page.letter * 0.7;
    let wide = letters::width(&text, height);
    let area = Rect::from_origin_size(foot, (wide, height)).inflate(height * 0.3, height * 0.3);
    kept.push(area);
    let corner = Point::new(area.x0, area.y0);
    let paper = crate::geom::rectangle(corner, area.width(), area.height(), 0.0).ok();
    let ground = paper.map(|paper| Mark::Ground(vec![paper], PAPER));
    ground.into_iter().chain([Mark::Letters(Letters::new(text, foot, height))]).collect()
}

/// Where the grade stands: along the zone's line where no piece is, else in the middle of the zone.
fn free_place(
    zone: &Loop,
    text: &str,
    (pieces, kept): (&[LaidPiece], &[Rect]),
    page: &Page,
) -> Point {
    let height = page.letter * 0.7;
    let half = Vec2::new(letters::width(text, height), height) / 2.0;
    let (spot, _) = roomiest(&Shape::plain(zone.clone()), &[]);
    let middle = scaled_point(spot, page.scale, page.by);
    let is_free = |at: &Point| {
        let area = Rect::from_points(*at - half, *at + half);
        let away = |piece: &&LaidPiece| on_page(piece.shape.bounds(), page).overlaps(area);
        page.area.contains(*at)
            && !kept.iter().any(|word| word.overlaps(area))
            && !pieces.iter().any(|piece| away(&piece))
    };
    let inward = |seg: &Seg| {
        let p = seg.at(0.5);
        let way = spot - p;
        let step = way / way.hypot().max(1e-9) * (1.5 * half.x.min(way.hypot()) / page.scale);
        scaled_point(p + step, page.scale, page.by)
    };
    let shape = Shape::plain(zone.clone());
    let mut places = vec![middle];
    places.extend(zone.segs().iter().filter(|s| clear(&shape, &[], s.at(0.5)) <= 1.0).map(inward));
    places.into_iter().find(is_free).unwrap_or(middle) - half
}
