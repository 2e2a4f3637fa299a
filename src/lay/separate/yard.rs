//! The ground as separation sees it: turned so that the cut-off runs along x, its edge and flaws as obstacles.

use super::grid::Grid;
use super::solid::{Solid, near};
use crate::geom::{Point, Rect, Vec2, turn_vector};
use crate::lay::kernel::{Core, Field};

/// A side's obstacle is halved in thickness no more often than this.
const HALVINGS: u32 = 16;

/// A ground turned so that the cut-off runs along x.
#[derive(Debug)]
pub(super) struct Yard<'a> {
    field: &'a Field,
    /// Degrees from the sheet to here.
    turn: f64,
    /// The box around it.
    pub(super) bounds: Rect,
    /// The box that pieces may fill.
    pub(super) inner: Rect,
    /// Whether it is an upright rectangle, whose box says all about its edge.
    upright: bool,
    obstacles: Vec<Solid>,
    boxes: Vec<Rect>,
    /// The first obstacles keep the distance to the edge; from so many on they are ground that others hold.
    own: usize,
    grid: Grid,
}

impl<'a> Yard<'a> {
    /// A field whose cut-off runs along `way`, one of the four directions of the axes.
    pub(super) fn new(field: &'a Field, way: Vec2) -> Yard<'a> {
        let turn = -way.y.atan2(way.x).to_degrees().round();
        let b = field.bounds();
        let corner = |x: f64, y: f64| turn_vector(Vec2::new(x, y), turn).to_point();
        let bounds = Rect::from_points(corner(b.x0, b.y0), corner(b.x1, b.y1));
        let i = field.inner();
        let far = (i.x1.max(i.x0), i.y1.max(i.y0));
        let inner = Rect::from_points(corner(i.x0, i.y0), corner(far.0, far.1));
        let upright = is_upright(field);
        let mut cores = if upright { Vec::new() } else { walls(field) };
        let near = b.inflate(field.edge() + 1e-6, field.edge() + 1e-6);
        cores.retain(|core| core.bounds().overlaps(near));
        cores.extend_from_slice(field.flaws());
        let own = cores.len();
        cores.extend_from_slice(field.used().0);
        let obstacles: Vec<Solid> =
            cores.into_iter().map(|core| Solid::from_cores(&[core], turn)).collect();
        let boxes: Vec<Rect> = obstacles.iter().map(|o| o.bounds).collect();
        let mut grid = Grid::new(bounds, bounds.width().max(bounds.height()) / 40.0);
        for (number, it) in boxes.iter().enumerate() {
            grid.put(number, *it);
        }
        Yard { field, turn, bounds, inner, upright, obstacles, boxes, own, grid }
    }

    /// Degrees from the sheet to here.
    pub(super) fn turn(&self) -> f64 {
        self.turn
    }

    /// A point of the sheet, here.
    pub(super) fn here(&self, p: Point) -> Point {
        turn_vector(p.to_vec2(), self.turn).to_point()
    }

    /// A point from here, on the sheet.
    pub(super) fn there(&self, p: Point) -> Point {
        turn_vector(p.to_vec2(), -self.turn).to_point()
    }

    /// How far pieces stay from edge and flaws.
    pub(super) fn edge(&self) -> f64 {
        self.field.edge()
    }

    /// Area within the outline (mm²).
    pub(super) fn area(&self) -> f64 {
        self.field.area_before(Vec2::new(1.0, 0.0), f64::INFINITY)
    }

    /// How far the cut-off may go.
    pub(super) fn far_end(&self) -> f64 {
        self.inner.x1
    }

    /// The box of the places that keep a solid within the box of the ground and before the cut-off.
    pub(super) fn range(&self, solid: &Solid, limit: f64) -> Rect {
        let (r, b) = (self.inner, solid.bounds);
        let (x0, y0) = (r.x0 - b.x0, r.y0 - b.y0);
        Rect::new(x0, y0, (limit - b.x1).max(x0), (r.y1 - b.y1).max(y0))
    }

    /// How much of a solid reaches over the edge, the cut-off and into flaws; sums no further than `most`.
    pub(super) fn overlap(&self, solid: &Solid, at: Point, limit: f64, most: f64) -> f64 {
        let (r, e, b) = (self.inner, self.edge(), solid.box_at(at));
        let narrow = b.width().min(b.height());
        let mut over = (r.x0 - b.x0).max(0.0)
            + (b.x1 - limit).max(0.0)
            + (r.y0 - b.y0).max(0.0)
            + (b.y1 - r.y1).max(0.0);
        if !self.upright && !self.field.holds(self.there(at)) {
            // Beyond the thin obstacles nothing else would keep it in.
            over += narrow;
        }
        let mut sum = over * narrow;
        if self.obstacles.is_empty() {
            return sum;
        }
        let apart = self.field.used().1;
        let reach = if self.own < self.obstacles.len() { e.max(apart) } else { e };
        self.grid.around(b.inflate(reach, reach), |number| {
            let e = if number < self.own { e } else { apart };
            if sum <= most && near(self.boxes[number], b, e) {
                let rest = most - sum;
                sum += solid.overlap(&self.obstacles[number], Point::ORIGIN - at, e, rest);
            }
            sum <= most
        });
        sum
    }
}

/// Whether a field is an upright rectangle.
fn is_upright(field: &Field) -> bool {
    let outline = field.outline();
    let level = |i: usize| {
        let way = outline[(i + 1) % outline.len()] - outline[i];
        way.x.abs() < 1e-9 || way.y.abs() < 1e-9
    };
    outline.len() == 4 && field.grown() <= 0.0 && (0..4).all(level)
}

/// Every side of the outline as a thin convex obstacle outside it.
fn walls(field: &Field) -> Vec<Core> {
    let outline = field.outline();
    let bounds = field.bounds();
    let start = bounds.width().min(bounds.height()) / 4.0;
    (0..outline.len())
        .map(|i| {
            let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
            let way = b - a;
            let out = Vec2::new(way.y, -way.x) / way.hypot().max(1e-12);
            let mut thick = start;
            for _ in 0..HALVINGS {
                // Across a pocket of the outline a thick one would reach into the sheet again.
                let enters = [0.0, 0.25, 0.5, 0.75, 1.0]
                    .iter()
                    .any(|share| field.holds(a.lerp(b, *share) + out * thick));
                if !enters {
                    break;
                }
                thick /= 2.0;
            }
            Core::new(vec![a, a + out * thick, b + out * thick, b], field.grown())
        })
        .collect()
}
