//! The free places of one body on one field.

use super::Clear;
use super::core::{Body, Core};
use super::field::Field;
use super::region::Region;
use crate::geom::{Point, Rect, Vec2};
use std::sync::Arc;

/// Everything forbidden to a body, and the spots where it touches two things at once.
#[derive(Debug, Clone)]
pub(crate) struct Room {
    /// The body.
    pub(crate) body: Arc<Body>,
    field: Arc<Field>,
    apart: f64,
    regions: Vec<Region>,
    grid: Grid,
    /// Live spots.
    pub(crate) spots: Vec<Point>,
    seen: Vec<u32>,
    round: u32,
    /// Places tried so far.
    pub(crate) tried: u64,
}

impl Room {
    /// The room of a body on a field where `cores` lie already; none where it can never fit.
    #[cfg(test)]
    pub(super) fn new<'a>(
        body: &Arc<Body>,
        field: &Arc<Field>,
        cores: impl Iterator<Item = &'a Core>,
        apart: f64,
    ) -> Option<Room> {
        Room::beside(body, field, cores, &[], apart)
    }

    /// The same, where the body may touch `bars` and not enter them.
    pub(crate) fn beside<'a>(
        body: &Arc<Body>,
        field: &Arc<Field>,
        cores: impl Iterator<Item = &'a Core>,
        bars: &[Core],
        apart: f64,
    ) -> Option<Room> {
        let mut regions = field.regions(body)?;
        for bar in bars {
            let own = body.over.iter().map(|over| Region::between(bar, over, 0.0));
            regions.extend(own.filter(|region| region.bounds().overlaps(field.bounds())));
        }
        for core in cores {
            for over in &body.over {
                regions.push(Region::between(core, over, apart));
            }
        }
        let reach = body.bounds.width().max(body.bounds.height());
        let mut made = Room {
            body: Arc::clone(body),
            field: Arc::clone(field),
            apart,
            grid: Grid::new(field.bounds(), reach / 3.0),
            seen: vec![0; regions.len()],
            regions,
            spots: Vec::new(),
            round: 0,
            tried: 0,
        };
        for i in 0..made.regions.len() {
            made.grid.add(i, &made.regions[i]);
        }
        let mut found = Vec::new();
        for i in 0..made.regions.len() {
            made.cross(i, i, &mut found);
        }
        made.keep_clear(found);
        Some(made)
    }

    /// Crossings of region `i` with its neighbours below `upto`.
    fn cross(&mut self, i: usize, upto: usize, found: &mut Vec<Point>) {
        self.round += 1;
        let mine = &self.regions[i];
        if mine.is_wall() {
            // A round wall has its lowest point in every direction: those of the usual cut-offs.
            let ways = [(1.0, 0.01), (-1.0, -0.01), (-0.01, 1.0), (0.01, -1.0)];
            found.extend(ways.map(|way| mine.foot(Vec2::from(way))));
        }
        for cell in self.grid.cells(mine.bounds()) {
            if self.grid.full[cell] {
                // A crossing there would be forbidden anyway.
                continue;
            }
            for j in &self.grid.lists[cell] {
                let j = *j as usize;
                if j < upto && self.seen[j] != self.round {
                    self.seen[j] = self.round;
                    mine.crossings(&self.regions[j], found);
                }
            }
        }
    }

    fn keep_clear(&mut self, mut found: Vec<Point>) {
        self.tried += found.len() as u64;
        found.retain(|p| self.is_clear(*p));
        found.sort_by(|p, q| p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)));
        found.dedup_by(|p, q| (*p - *q).hypot() < 1e-9);
        self.spots.extend(found);
    }

    /// In a round hole: its middle, and how far from it a disk lies that touches the wall.
    pub(crate) fn ring(&self) -> Option<(Point, f64)> {
        let (center, radius) = self.field.round()?;
        let rho = radius - self.body.support(Vec2::new(1.0, 0.0)) - self.field.edge();
        (self.body.is_disk() && rho > 0.0).then_some((center, rho))
    }

    /// How far pieces stay from each other (mm).
    pub(crate) fn apart(&self) -> f64 {
        self.apart
    }

    /// The box in which its point may lie.
    pub(crate) fn bounds(&self) -> Rect {
        self.field.bounds()
    }

    /// The free place nearest to a point: the point itself, the nearest of a border, or a spot.
    pub(crate) fn nearest(&self, to: Point) -> Option<Point> {
        let mut found = vec![to];
        for region in &self.regions {
            region.feet(to, &mut found);
        }
        found.extend_from_slice(&self.spots);
        let mut ranked: Vec<(f64, Point)> =
            found.into_iter().map(|p| ((p - to).hypot2(), p)).collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.x.total_cmp(&b.1.x)));
        ranked.into_iter().map(|(_, p)| p).find(|p| self.is_clear(*p))
    }

    /// Takes note of something put down.
    pub(crate) fn add(&mut self, cores: &[Core]) {
        let mut found = Vec::new();
        for core in cores {
            for k in 0..self.body.over.len() {
                let region = Region::between(core, &self.body.over[k], self.apart);
                self.spots.retain(|p| !region.forbids(*p));
                let i = self.regions.len();
                self.grid.add(i, &region);
                self.regions.push(region);
                self.seen.push(0);
                self.cross(i, i, &mut found);
            }
        }
        self.keep_clear(found);
    }
}

impl Clear for Room {
    fn clearance(&self, p: Point) -> f64 {
        let least = self.regions.iter().map(|r| r.gap(p)).fold(f64::INFINITY, f64::min);
        if self.field.holds(p) { least } else { -least.abs() }
    }

    /// The same from the regions that lie nearby alone.
    fn is_clear(&self, p: Point) -> bool {
        let Some(cell) = self.grid.cell(p) else {
            return false;
        };
        !self.grid.full[cell]
            && self.grid.lists[cell].iter().all(|i| !self.regions[*i as usize].forbids(p))
            && self.field.holds(p)
    }
}

/// Square cells over a box, each with the regions that reach into it.
#[derive(Debug, Clone)]
struct Grid {
    bounds: Rect,
    size: f64,
    wide: usize,
    high: usize,
    lists: Vec<Vec<u32>>,
    /// Cells that one region forbids wholly.
    full: Vec<bool>,
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "cells are few, and clamped"
)]
impl Grid {
    fn new(bounds: Rect, wanted: f64) -> Grid {
        let size = wanted
            .max((bounds.area() / 10_000.0).sqrt())
            .max(bounds.width() / 400.0)
            .max(bounds.height() / 400.0)
            .max(1e-3);
        let wide = (bounds.width() / size).ceil().max(1.0) as usize;
        let high = (bounds.height() / size).ceil().max(1.0) as usize;
        Grid {
            bounds,
            size,
            wide,
            high,
            lists: vec![Vec::new(); wide * high],
            full: vec![false; wide * high],
        }
    }

    fn cell(&self, p: Point) -> Option<usize> {
        let b = self.bounds;
        if !(p.x >= b.x0 && p.x <= b.x1 && p.y >= b.y0 && p.y <= b.y1) {
            return None;
        }
        let i = (((p.x - b.x0) / self.size) as usize).min(self.wide - 1);
        let j = (((p.y - b.y0) / self.size) as usize).min(self.high - 1);
        Some(j * self.wide + i)
    }

    fn cells(&self, r: Rect) -> Vec<usize> {
        let b = self.bounds;
        let from = |x: f64, n: usize| (((x - 1e-6) / self.size).max(0.0) as usize).min(n - 1);
        let to = |x: f64, n: usize| (((x + 1e-6) / self.size).max(0.0) as usize).min(n - 1);
        let (i0, i1) = (from(r.x0 - b.x0, self.wide), to(r.x1 - b.x0, self.wide));
        let (j0, j1) = (from(r.y0 - b.y0, self.high), to(r.y1 - b.y0, self.high));
        (j0..=j1).flat_map(|j| (i0..=i1).map(move |i| j * self.wide + i)).collect()
    }

    fn add(&mut self, index: usize, region: &Region) {
        let half = self.size * std::f64::consts::FRAC_1_SQRT_2;
        let over = if region.is_wall() {
            (0..self.lists.len()).collect()
        } else {
            self.cells(region.bounds())
        };
        for cell in over {
            let middle = Point::new(
                self.bounds.x0 + ((cell % self.wide) as f64 + 0.5) * self.size,
                self.bounds.y0 + ((cell / self.wide) as f64 + 0.5) * self.size,
            );
            let gap = region.gap(middle);
            if gap < -half - 1e-6 {
                self.full[cell] = true;
            } else if gap <= half + 1e-6 {
                self.lists[cell].push(index as u32);
            }
        }
    }
}
