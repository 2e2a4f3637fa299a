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
    /// Ground that others hold, from which a body stays as far as from another.
    used: Vec<Core>,
    apart: f64,
    bounds: Rect,
    /// The part of it in which bodies must stay whole, sides and all.
    window: Option<Rect>,
    edge: f64,
    grown: f64,
}

impl Field {
    /// A sheet.
    pub(crate) fn of(ground: &Ground, apart: f64) -> Field {
        let mut made = Field::within(&ground.sheet.outline, ground.edge);
        for flaw in &ground.sheet.flaws {
            made.flaws.extend(convex::cores(&flaw.outline));
        }
        made.apart = apart;
        for used in &ground.sheet.used {
            made.used.extend(convex::cores(&used.outline));
        }
        if let Some(window) = ground.window {
            let near = window.inflate(apart, apart);
            made.used.retain(|used| used.bounds().overlaps(near));
            let near = window.inflate(ground.edge, ground.edge);
            made.flaws.retain(|flaw| flaw.bounds().overlaps(near));
            made.window = Some(window);
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
            used: Vec::new(),
            apart: 0.0,
            bounds,
            window: None,
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

    /// The box around it, cut by its window.
    pub(crate) fn bounds(&self) -> Rect {
        self.window.map_or(self.bounds, |window| {
            let cut = self.bounds.intersect(window);
            Rect::new(cut.x0, cut.y0, cut.x1.max(cut.x0), cut.y1.max(cut.y0))
        })
    }

    /// The box that bodies may fill: the outline's less the edge, cut by the window.
    pub(crate) fn inner(&self) -> Rect {
        let b = self.bounds;
        let e = self.edge;
        let inner = Rect { x0: b.x0 + e, y0: b.y0 + e, x1: b.x1 - e, y1: b.y1 - e };
        self.window.map_or(inner, |w| Rect {
            x0: inner.x0.max(w.x0),
            y0: inner.y0.max(w.y0),
            x1: inner.x1.min(w.x1),
            y1: inner.y1.min(w.y1),
        })
    }

    /// Middle and radius of a round one.
    pub(crate) fn round(&self) -> Option<(Point, f64)> {
        self.circle
    }

    /// The corners of its outline, counter-clockwise.
    pub(crate) fn outline(&self) -> &[Point] {
        &self.outline
    }

    /// Its flaws.
    pub(crate) fn flaws(&self) -> &[Core] {
        &self.flaws
    }

    /// Ground that others hold, and how far a body stays from it (mm).
    pub(crate) fn used(&self) -> (&[Core], f64) {
        (&self.used, self.apart)
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
        if self.window.is_some_and(|w| p.x < w.x0 || p.x > w.x1 || p.y < w.y0 || p.y > w.y1) {
            return false;
        }
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
        let room = self.inner();
        if body.bounds.width() > room.width() + 1e-9 || body.bounds.height() > room.height() + 1e-9
        {
            return None;
        }
        let mut regions = self.frame(body);
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
                let side = if self.edge + self.grown > 1e-6 {
                    Core::new(vec![a, b], self.grown)
                } else {
                    backed(a, b)
                };
                let keeps = self.edge + 1e-6;
                if self.window.is_some_and(|w| !w.inflate(keeps, keeps).overlaps(side.bounds())) {
                    // Nothing within the window comes near it.
                    continue;
                }
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
        for used in &self.used {
            for over in &body.over {
                regions.push(Region::between(used, over, self.apart));
            }
        }
        Some(regions)
    }

    /// The four sides of the window, for a body none of whose corners may go beyond.
    fn frame(&self, body: &Body) -> Vec<Region> {
        let Some(w) = self.window else { return Vec::new() };
        let corners = [(w.x0, w.y0), (w.x1, w.y0), (w.x1, w.y1), (w.x0, w.y1)].map(Point::from);
        (0..4)
            .flat_map(|i| {
                let side = backed(corners[i], corners[(i + 1) % 4]);
                body.over.iter().map(move |over| Region::between(&side, over, 0.0))
            })
            .collect()
    }

    /// The outline, cut by the window.
    pub(crate) fn cut_outline(&self) -> Vec<Point> {
        let mut kept = self.outline.clone();
        if let Some(w) = self.window {
            let sides = [
                ((-1.0, 0.0), -w.x0),
                ((1.0, 0.0), w.x1),
                ((0.0, -1.0), -w.y0),
                ((0.0, 1.0), w.y1),
            ];
            for (way, reach) in sides {
                kept = before(&kept, Vec2::from(way), reach);
            }
        }
        kept
    }

    /// Area of the outline within the window on the near side of a cut across `way` (mm²).
    pub(crate) fn area_before(&self, way: Vec2, reach: f64) -> f64 {
        let kept = before(&self.cut_outline(), way, reach);
        let n = kept.len();
        let twice: f64 = (0..n).map(|i| kept[i].to_vec2().cross(kept[(i + 1) % n].to_vec2())).sum();
        twice / 2.0
    }
}

/// A side with a flat back outside: a bare line at no distance could run between two cores of one body.
fn backed(a: Point, b: Point) -> Core {
    let along = b - a;
    let out = Vec2::new(along.y, -along.x) * 0.02;
    Core::new(vec![a, a.midpoint(b) + out, b], 0.0)
}

/// What of a polygon lies on the near side of a cut across `way`.
fn before(points: &[Point], way: Vec2, reach: f64) -> Vec<Point> {
    let n = points.len();
    let mut kept: Vec<Point> = Vec::with_capacity(n + 4);
    for i in 0..n {
        let (a, b) = (points[i], points[(i + 1) % n]);
        let (s, t) = (a.to_vec2().dot(way) - reach, b.to_vec2().dot(way) - reach);
        if s <= 0.0 {
            kept.push(a);
        }
        if (s < 0.0 && t > 0.0) || (s > 0.0 && t < 0.0) {
            kept.push(a.lerp(b, s / (s - t)));
        }
    }
    kept
}
