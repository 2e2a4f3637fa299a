//! Where the numbers of the cuts stand, so that none lies on another.

use super::Cut;
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2, Where, point_in_loop};
use crate::letters;
use crate::write::picture::room::roomiest;
use crate::write::picture::taken::Taken;

/// Numbers are at most so high, against the letters of the page.
const MOST: f64 = 0.9;
/// And no smaller than this: still legible in print.
const LEAST: f64 = 0.34;
/// Steps of the grid inside a cut.
const GRID: u32 = 16;
/// Rings of places beside a cut, and places in a ring.
const RINGS: u32 = 60;
/// See [`RINGS`].
const WAYS: u32 = 16;

/// A number where it stands.
#[derive(Debug, Clone)]
pub(super) struct Place {
    /// What it says.
    pub(super) text: String,
    /// Its box on the page; its height is that of the letters.
    pub(super) area: Rect,
    /// Whether it stands beside its cut.
    pub(super) beside: bool,
}

/// The places of the numbers of all cuts, in their order. Small cuts choose first, since they have the least room.
pub(super) fn places(cuts: &[Cut], letter: f64, page: Rect) -> Vec<Place> {
    let mut taken = Taken::new(2.0 * letter);
    for seg in cuts.iter().flat_map(|cut| cut.segs.iter().chain(&cut.leads)) {
        // Nearer together than the lowest number is high.
        taken.line(seg, 0.5 * LEAST * letter);
    }
    let bounds: Vec<Rect> = cuts.iter().map(|cut| bounds(&cut.segs)).collect();
    let mut order: Vec<usize> = (0..cuts.len()).collect();
    order.sort_by(|a, b| bounds[*a].area().total_cmp(&bounds[*b].area()).then(a.cmp(b)));
    let mut made: Vec<Option<Place>> = vec![None; cuts.len()];
    let mut outside = Vec::new();
    for i in order {
        let text = (i + 1).to_string();
        let within: Vec<&Cut> = (0..cuts.len())
            .filter(|j| *j != i && holds(bounds[i], bounds[*j]))
            .map(|j| &cuts[j])
            .collect();
        match inside(&cuts[i], &within, &text, letter, &taken) {
            Some(area) => {
                taken.label(area);
                made[i] = Some(Place { text, area, beside: false });
            }
            None => outside.push(i),
        }
    }
    for i in outside {
        let text = (i + 1).to_string();
        let area = beside(bounds[i], cuts[i].start, &text, letter, &taken, page);
        taken.label(area);
        made[i] = Some(Place { text, area, beside: true });
    }
    made.into_iter().flatten().collect()
}

fn bounds(segs: &[Seg]) -> Rect {
    segs.iter().map(Seg::bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
}

/// The box of a number about a point.
fn about(at: Point, text: &str, height: f64) -> Rect {
    Rect::from_center_size(at, (letters::width(text, height), height))
}

/// Whether one box lies in another.
fn holds(outer: Rect, inner: Rect) -> bool {
    outer.x0 <= inner.x0 && outer.y0 <= inner.y0 && outer.x1 >= inner.x1 && outer.y1 >= inner.y1
}

/// Inside the cut and in no cut that lies in it: in its roomiest place, else on a grid, else none.
fn inside(cut: &Cut, within: &[&Cut], text: &str, letter: f64, taken: &Taken) -> Option<Rect> {
    let shape = Shape::plain(Loop::chain(cut.segs.clone()).ok()?);
    let lines: Vec<Seg> = within.iter().flat_map(|cut| &cut.segs).copied().collect();
    let islands: Vec<Loop> =
        within.iter().filter_map(|cut| Loop::chain(cut.segs.clone()).ok()).collect();
    let (spot, room) = roomiest(&shape, &lines);
    let ratio = letters::width(text, 1.0).hypot(1.0);
    let most = (2.0 * 0.9 * room / ratio).min(MOST * letter);
    let sizes = [most, 0.75 * most, 0.5 * most].into_iter().filter(|h| *h >= LEAST * letter);
    let b = shape.bounds();
    let is_own = |area: &Rect| {
        let corners =
            [(area.x0, area.y0), (area.x1, area.y0), (area.x1, area.y1), (area.x0, area.y1)];
        corners.iter().all(|p| point_in_loop((*p).into(), shape.outline()) == Where::Inside)
            && islands.iter().all(|it| point_in_loop(area.center(), it) == Where::Outside)
    };
    for height in sizes {
        let at = |i: u32, j: u32| {
            let (u, v) = (f64::from(i) / f64::from(GRID), f64::from(j) / f64::from(GRID));
            Point::new(b.x0 + u * b.width(), b.y0 + v * b.height())
        };
        let grid = (1..GRID).flat_map(|i| (1..GRID).map(move |j| (i, j)));
        let spots = std::iter::once(spot).chain(grid.map(|(i, j)| at(i, j)));
        let mut areas = spots.map(|at| about(at, text, height));
        // What is told fastest comes first: most places of a grid lie on a line.
        if let Some(area) = areas.find(|area| taken.is_free(*area, true) && is_own(area)) {
            return Some(area);
        }
    }
    None
}

/// Beside the cut: the nearest place clear of lines and numbers; where there is none on the page, of numbers alone.
fn beside(b: Rect, start: Point, text: &str, letter: f64, taken: &Taken, page: Rect) -> Rect {
    let wide = letters::width(text, 1.0);
    let places = |height: f64| {
        let half = Vec2::new(wide * height, height) / 2.0;
        // A small cut is gone round, a large one is left at its start.
        let (middle, reach) = if b.width().max(b.height()) < 6.0 * letter {
            (b.center(), Vec2::new(b.width(), b.height()) / 2.0)
        } else {
            (start, Vec2::ZERO)
        };
        (0..RINGS).flat_map(move |ring| {
            let off = height * (0.4 + 0.5 * f64::from(ring));
            (0..WAYS).map(move |way| {
                let angle = std::f64::consts::TAU * (f64::from(way) + 0.5) / f64::from(WAYS);
                let (x, y) = (angle.cos(), angle.sin());
                middle + Vec2::new(x * (reach.x + half.x + off), y * (reach.y + half.y + off))
            })
        })
    };
    let on_page = |area: &Rect| {
        area.x0 >= page.x0 && area.x1 <= page.x1 && area.y0 >= page.y0 && area.y1 <= page.y1
    };
    for (height, strict) in [(0.6, true), (LEAST, true), (LEAST, false)] {
        let height = height * letter;
        let mut areas = places(height).map(|at| about(at, text, height));
        if let Some(area) = areas.find(|area| on_page(area) && taken.is_free(*area, strict)) {
            return area;
        }
    }
    // Not reached on any page with room for its letters; smaller until it fits.
    let mut height = LEAST * letter;
    loop {
        height *= 0.7;
        let mut areas = places(height).map(|at| about(at, text, height));
        if let Some(area) = areas.find(|area| taken.is_free(*area, false)) {
            return area;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(x: f64, y: f64, r: f64, outside: bool) -> Cut {
        let segs = Loop::circle(Point::new(x, y), r).unwrap().segs();
        let start = segs[0].a;
        let (leads, tabs) = (Vec::new(), Vec::new());
        Cut { segs, outside, start, way: Vec2::new(0.0, 1.0), leads, tabs, stroke: 0 }
    }

    /// Letters are told apart by the white between them: readable figures need a line of their own, as in any table of
    /// type. Here no two boxes may touch, however crowded it is.
    #[test]
    fn numbers_never_overlap_however_crowded() {
        let mut cuts = Vec::new();
        for i in 0..20 {
            for j in 0..16 {
                let (x, y) = (10.0 + 9.0 * f64::from(i), 10.0 + 9.0 * f64::from(j));
                cuts.push(ring(x, y, 1.2, false));
                cuts.push(ring(x, y, 4.2, true));
            }
        }
        let page = Rect::new(-60.0, -60.0, 260.0, 220.0);
        for letter in [1.8, 3.0, 8.0] {
            let made = places(&cuts, letter, page);
            assert_eq!(made.len(), cuts.len());
            for (i, place) in made.iter().enumerate() {
                assert_eq!(place.text, (i + 1).to_string());
                let others = made[..i].iter();
                assert!(others.into_iter().all(|p| !p.area.overlaps(place.area)), "{place:?}");
            }
        }
    }

    #[test]
    fn a_number_stands_in_its_own_ground() {
        // A ring with a guest in its bore: the guest's number in the guest, the bore's between them, the outline's in
        // the material, none in what belongs to another.
        let cuts = [
            ring(50.0, 50.0, 10.0, true),
            ring(50.0, 50.0, 25.0, false),
            ring(50.0, 50.0, 40.0, true),
        ];
        let made = places(&cuts, 3.0, Rect::new(0.0, 0.0, 100.0, 100.0));
        let off = |n: usize| (made[n].area.center() - Point::new(50.0, 50.0)).hypot();
        assert!(made.iter().all(|place| !place.beside), "{made:?}");
        assert!(off(0) < 10.0 && (10.0..25.0).contains(&off(1)) && (25.0..40.0).contains(&off(2)));
    }
}
