//! Where a sheet is good and where less so, and how thick it is from place to place.

use super::Sheet;
use crate::geom::{Loop, Point, Vec2, Where, point_in_loop};
use crate::units::Length;

/// The grades of a skin: 1 is the best, 4 the worst.
///
/// # Source
/// Four classes of quality and places that are not used at all: common practice.
pub const GRADES: std::ops::RangeInclusive<u8> = 1..=4;

/// A part of a sheet that has a grade of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// What it is, in the user's words; empty where he gave none.
    pub why: String,
    /// Its grade.
    pub grade: u8,
    /// Its line (mm).
    pub outline: Loop,
}

/// The thickness as read at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The place (mm).
    pub at: Point,
    /// The thickness.
    pub thickness: Length,
}

impl Sheet {
    /// Every grade that it has anywhere, the best first.
    pub fn grades(&self) -> Vec<u8> {
        let mut grades: Vec<u8> = self.zones.iter().map(|z| z.grade).collect();
        grades.push(self.grade);
        grades.sort_unstable();
        grades.dedup();
        grades
    }

    /// The grade at a point: that of the last zone that holds it, else the sheet's own.
    ///
    /// # Units
    /// Millimetres.
    pub fn grade_at(&self, p: Point) -> u8 {
        let holds = |zone: &&Zone| {
            zone.outline.bounds().contains(p) && point_in_loop(p, &zone.outline) == Where::Inside
        };
        self.zones.iter().rev().find(holds).map_or(self.grade, |zone| zone.grade)
    }

    /// All that was read of its thickness (mm): at places, or else without them.
    pub fn thicknesses(&self) -> Vec<f64> {
        if !self.readings.is_empty() {
            return self.readings.iter().map(|r| r.thickness.mm()).collect();
        }
        match &self.thickness {
            Some(length) if length.readings().is_empty() => vec![length.mm()],
            Some(length) => length.readings().to_vec(),
            None => Vec::new(),
        }
    }

    /// The corners of the ground that is nearer to one reading than to any other, within a box a little larger than
    /// the sheet's: a convex polygon, counter-clockwise, empty where no such ground is there.
    ///
    /// # Units
    /// Millimetres.
    ///
    /// # Source
    /// Voronoi's cells, cut out one straight line after another.
    pub fn cell(&self, reading: usize) -> Vec<Point> {
        let Some(own) = self.readings.get(reading).map(|r| r.at) else {
            return Vec::new();
        };
        let b = self.outline.bounds().inflate(1.0, 1.0);
        let mut corners: Vec<Point> =
            [(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)].map(Point::from).into();
        for (n, other) in self.readings.iter().enumerate() {
            if n != reading {
                corners = nearer(&corners, own.midpoint(other.at), other.at - own);
            }
        }
        corners
    }
}

/// What of a convex polygon lies before a straight line through `on`, square to `way`.
fn nearer(corners: &[Point], on: Point, way: Vec2) -> Vec<Point> {
    let mut kept = Vec::with_capacity(corners.len() + 1);
    for (n, a) in corners.iter().enumerate() {
        let b = corners[(n + 1) % corners.len()];
        let (s, t) = ((*a - on).dot(way), (b - on).dot(way));
        if s <= 0.0 {
            kept.push(*a);
        }
        if (s < 0.0 && t > 0.0) || (s > 0.0 && t < 0.0) {
            kept.push(a.lerp(b, s / (s - t)));
        }
    }
    if kept.len() < 3 { Vec::new() } else { kept }
}

#[cfg(test)]
mod tests {
    use super::super::{SheetKind, width_of_cloth};
    use super::*;
    use crate::geom::rectangle;

    fn sheet() -> Sheet {
        let outline = width_of_cloth(300.0, 200.0).unwrap();
        Sheet { grade: 2, ..Sheet::bare("H1", SheetKind::Hide, "goat", outline) }
    }

    #[test]
    fn later_zones_lie_over_earlier_ones() {
        let mut hide = sheet();
        let zone = |grade, x: f64, side: f64| Zone {
            why: String::new(),
            grade,
            outline: rectangle(Point::new(x, x), side, side, 0.0).unwrap(),
        };
        hide.zones = vec![zone(4, 10.0, 100.0), zone(1, 50.0, 20.0)];
        assert_eq!(hide.grade_at(Point::new(200.0, 150.0)), 2);
        assert_eq!(hide.grade_at(Point::new(20.0, 20.0)), 4);
        assert_eq!(hide.grade_at(Point::new(60.0, 60.0)), 1);
        assert_eq!(hide.grades(), [1, 2, 4]);
        hide.zones.reverse();
        assert_eq!(hide.grade_at(Point::new(60.0, 60.0)), 4);
    }

    /// Every point of a grid lies in the cell of its nearest reading, and the cells' areas come to the whole.
    #[test]
    fn every_point_lies_in_the_cell_of_its_nearest_reading() {
        let mut hide = sheet();
        hide.readings =
            [(20.0, 30.0), (250.0, 20.0), (140.0, 160.0), (150.0, 60.0), (310.0, 190.0)]
                .map(|at| Reading { at: at.into(), thickness: Length::from_mm(0.9) })
                .into();
        let cells: Vec<Loop> = (0..5).map(|n| Loop::polygon(&hide.cell(n)).unwrap()).collect();
        let sum: f64 = cells.iter().map(Loop::area).sum();
        assert!((sum - 302.0 * 202.0).abs() < 1e-6, "{sum}");
        for i in 0..60 {
            for j in 0..40 {
                let p = Point::new(f64::from(i) * 5.0 + 1.3, f64::from(j) * 5.0 + 0.7);
                let off = |n: &usize| (hide.readings[*n].at - p).hypot();
                let nearest = (0..5).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap();
                assert_eq!(point_in_loop(p, &cells[nearest]), Where::Inside, "{p:?}");
            }
        }
    }

    #[test]
    fn readings_at_places_count_before_those_without() {
        let mut hide = sheet();
        assert!(hide.thicknesses().is_empty());
        hide.thickness = Some(Length::from_mm(1.1));
        assert_eq!(hide.thicknesses(), [1.1]);
        hide.readings = vec![Reading { at: Point::ORIGIN, thickness: Length::from_mm(0.7) }];
        assert_eq!(hide.thicknesses(), [0.7]);
    }
}
