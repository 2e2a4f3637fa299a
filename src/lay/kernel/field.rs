//! What is laid on: a sheet, or the room inside a hole.

use super::convex;
use super::core::{Body, Core};
use super::region::Region;
use crate::geom::{Loop, Point, Rect, Side, Vec2, flatten, tolerance};
use crate::lay::Ground;

/// No sheet is searched with more corners than this.
const MOST_CORNERS: usize = 400;

/// A piece of ground, its flaws, and how far a body stays from them.
#[derive(Debug, Clone)]
pub(crate) struct Field {
    circle: Option<(Point, f64)>,
    outline: Vec<Point>,
    slabs: Vec<Vec<u32>>,
    flaws: Vec<Core>,
    bounds: Rect,
    edge: f64,
    grown: f64,
}

impl Field {
    /// A sheet.
    pub(crate) fn of(ground: &Ground) -> Field {
        let mut made = Field::within(&ground.sheet.outline, ground.edge);
        for flaw in &ground.sheet.flaws {
            made.flaws.extend(convex::cores(&flaw.outline));
        }
        made
    }

    /// The room inside a loop.
    pub(crate) fn within(it: &Loop, edge: f64) -> Field {
        let circle = it.as_circle();
        let points = flatten(it, tolerance::FLAT, Side::Inside);
        let (outline, grown) = if circle.is_some() {
            (points, 0.0)
        } else {
            convex::thinned(&points, |kept| kept.len() <= MOST_CORNERS)
        };
        let bounds = it.bounds();
        let mut made = Field {
            circle,
            slabs: vec![Vec::new(); 128],
            outline,
            flaws: Vec::new(),
            bounds,
            edge,
            grown,
        };
        for i in 0..made.outline.len() {
            let (a, b) = made.side(i);
            let (low, high) = (made.slab(a.y.min(b.y)), made.slab(a.y.max(b.y)));
            for slab in &mut made.slabs[low..=high] {
                #[allow(clippy::cast_possible_truncation, reason = "at most 100 000 corners")]
                slab.push(i as u32);
            }
        }
        made
    }

    fn side(&self, i: usize) -> (Point, Point) {
        (self.outline[i], self.outline[(i + 1) % self.outline.len()])
    }

    fn slab(&self, y: f64) -> usize {
        let share = (y - self.bounds.y0) / self.bounds.height().max(1e-9);
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to 0..127"
        )]
        let slab = (share * 128.0).clamp(0.0, 127.0) as usize;
        slab
    }

    /// The box around it.
    pub(crate) fn bounds(&self) -> Rect {
        self.bounds
    }

    /// The corners of its outline, counter-clockwise.
    pub(crate) fn outline(&self) -> &[Point] {
        &self.outline
    }

    /// Its flaws.
    pub(crate) fn flaws(&self) -> &[Core] {
        &self.flaws
    }

    /// How far a body stays from edge and flaws (mm).
    pub(crate) fn edge(&self) -> f64 {
        self.edge
    }

    /// How far the true outline may reach in over its corners (mm).
    pub(crate) fn grown(&self) -> f64 {
        self.grown
    }

    /// Whether a point lies inside the outline.
    pub(crate) fn holds(&self, p: Point) -> bool {
        if let Some((center, radius)) = self.circle {
            return (p - center).hypot() <= radius;
        }
        let mut inside = false;
        for i in &self.slabs[self.slab(p.y)] {
            let (a, b) = self.side(*i as usize);
            if (a.y <= p.y) != (b.y <= p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y) {
                inside = !inside;
            }
        }
        inside
    }

    /// What edge and flaws forbid to a body; none where it can never fit.
    pub(crate) fn regions(&self, body: &Body) -> Option<Vec<Region>> {
        let room = self.bounds;
        if body.bounds.width() > room.width() - 2.0 * self.edge + 1e-9
            || body.bounds.height() > room.height() - 2.0 * self.edge + 1e-9
        {
            return None;
        }
        let mut regions = Vec::new();
        if let Some((center, radius)) = self.circle {
            for core in &body.cores {
                for p in &core.points {
                    let mut clear = radius - core.radius - self.edge;
                    if clear < 0.0 && clear > -1e-9 {
                        clear = 0.0;
                    }
                    regions.push(Region::wall(center - p.to_vec2(), clear)?);
                }
            }
        } else {
            for i in 0..self.outline.len() {
                let (a, b) = self.side(i);
                let side = Core::new(vec![a, b], self.grown);
                for over in &body.over {
                    regions.push(Region::between(&side, over, self.edge));
                }
            }
        }
        for flaw in &self.flaws {
            for over in &body.over {
                regions.push(Region::between(flaw, over, self.edge));
            }
        }
        Some(regions)
    }

    /// Area of the outline on the near side of a cut across `way` (mm²).
    pub(crate) fn area_before(&self, way: Vec2, reach: f64) -> f64 {
        let mut kept: Vec<Point> = Vec::new();
        for i in 0..self.outline.len() {
            let (a, b) = self.side(i);
            let (s, t) = (a.to_vec2().dot(way) - reach, b.to_vec2().dot(way) - reach);
            if s <= 0.0 {
                kept.push(a);
            }
            if (s < 0.0 && t > 0.0) || (s > 0.0 && t < 0.0) {
                kept.push(a.lerp(b, s / (s - t)));
            }
        }
        let n = kept.len();
        let twice: f64 = (0..n).map(|i| kept[i].to_vec2().cross(kept[(i + 1) % n].to_vec2())).sum();
        twice / 2.0
    }
}
