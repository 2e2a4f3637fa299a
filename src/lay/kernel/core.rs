//! Convex cores and the bodies made of them.

use super::convex;
use crate::geom::{Point, Pose, Rect, Shape, Vec2};
use std::f64::consts::{PI, TAU};

/// A body of more cores than this is laid by fewer at first: so many.
const MANY: usize = 12;
/// See [`MANY`].
const FEW: usize = 5;

/// A point, a line or a convex polygon, counter-clockwise from its lowest corner, grown by a radius.
#[derive(Debug, Clone)]
pub(crate) struct Core {
    /// Corners.
    pub(crate) points: Vec<Point>,
    /// Direction of the side after each corner, in radians from 0 up to 2π, never falling.
    pub(super) angles: Vec<f64>,
    /// Growth (mm).
    pub(crate) radius: f64,
}

impl Core {
    /// A core from its corners, counter-clockwise from any of them.
    pub(crate) fn new(mut points: Vec<Point>, radius: f64) -> Core {
        let lowest = (0..points.len())
            .min_by(|i, j| {
                let (p, q) = (points[*i], points[*j]);
                p.y.total_cmp(&q.y).then(p.x.total_cmp(&q.x))
            })
            .unwrap_or(0);
        points.rotate_left(lowest);
        let n = points.len();
        let mut angles = Vec::new();
        let mut last = 0.0;
        for i in 0..if n < 2 { 0 } else { n } {
            let side = points[(i + 1) % n] - points[i];
            let angle = side.y.atan2(side.x);
            // A level side may point a hair downward: the first one still counts as 0, the last as 2π.
            let angle = if angle >= 0.0 {
                angle
            } else if i == 0 {
                0.0
            } else {
                angle + TAU
            };
            last = if angle < last - PI { TAU } else { angle.max(last) };
            angles.push(last);
        }
        Core { points, angles, radius }
    }

    /// The core moved.
    pub(crate) fn moved(&self, by: Vec2) -> Core {
        Core {
            points: self.points.iter().map(|p| *p + by).collect(),
            angles: self.angles.clone(),
            radius: self.radius,
        }
    }

    /// The core turned by half a turn about the origin.
    fn turned_over(&self) -> Core {
        let points = self.points.iter().map(|p| Point::new(-p.x, -p.y));
        Core::new(points.collect(), self.radius)
    }

    /// The smallest upright box around it.
    pub(crate) fn bounds(&self) -> Rect {
        let first = self.points.first().copied().unwrap_or(Point::ORIGIN);
        self.points
            .iter()
            .fold(Rect::from_points(first, first), |b, p| b.union_pt(*p))
            .inflate(self.radius, self.radius)
    }

    fn middle(&self) -> Vec2 {
        let sum = self.points.iter().fold(Vec2::ZERO, |sum, p| sum + p.to_vec2());
        #[allow(clippy::cast_precision_loss, reason = "a few corners")]
        let n = self.points.len().max(1) as f64;
        sum / n
    }
}

/// A shape at one turn, seen from a point inside it.
#[derive(Debug, Clone)]
pub(crate) struct Body {
    /// Its convex cores about the point.
    pub(crate) cores: Vec<Core>,
    /// The same turned over, for sums.
    pub(crate) over: Vec<Core>,
    /// The box around it about the point.
    pub(crate) bounds: Rect,
    /// Where the point lies in the turned shape.
    pub(crate) home: Vec2,
    /// Turn in degrees.
    pub(crate) turn: f64,
    /// Whether it is mirrored.
    pub(crate) mirrored: bool,
}

impl Body {
    /// A shape's outline at a turn; its holes count as filled.
    pub(crate) fn new(shape: &Shape, turn: f64, mirrored: bool) -> Body {
        let pose = Pose { x: 0.0, y: 0.0, turn, mirrored };
        let found = convex::cores(&pose.on_loop(shape.outline()));
        let home = found.first().map_or(Vec2::ZERO, Core::middle);
        let cores: Vec<Core> = found.iter().map(|c| c.moved(-home)).collect();
        let over = cores.iter().map(Core::turned_over).collect();
        let bounds = cores.iter().map(Core::bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
        Body { cores, over, bounds, home, turn, mirrored }
    }

    /// Whether it has more cores than are laid at first.
    pub(crate) fn has_many_cores(&self) -> bool {
        self.cores.len() > MANY
    }

    /// The same in a few cores that hold all of it, where it has many: the places of pieces with many corners are then
    /// found in a fraction of the time, at some distance from each other.
    pub(crate) fn coarse(self) -> Body {
        if !self.has_many_cores() {
            return self;
        }
        let cores = convex::merged(self.cores, FEW);
        let over = cores.iter().map(Core::turned_over).collect();
        let bounds = cores.iter().map(Core::bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
        Body { cores, over, bounds, ..self }
    }

    /// A bare point that keeps only the distances asked for.
    pub(crate) fn point() -> Body {
        let core = Core::new(vec![Point::ORIGIN], 0.0);
        Body {
            cores: vec![core.clone()],
            over: vec![core],
            bounds: Rect::ZERO,
            home: Vec2::ZERO,
            turn: 0.0,
            mirrored: false,
        }
    }

    /// Whether it is a single disk.
    pub(crate) fn is_disk(&self) -> bool {
        matches!(&self.cores[..], [core] if core.points.len() == 1)
    }

    /// Whether it looks like another one, so that trying both would be to try twice.
    pub(crate) fn looks_like(&self, other: &Body) -> bool {
        let near = |p: &Point, q: &Point| (*p - *q).hypot() < 1e-7;
        self.cores.len() == other.cores.len()
            && self.cores.iter().zip(&other.cores).all(|(a, b)| {
                a.points.len() == b.points.len()
                    && (a.radius - b.radius).abs() < 1e-9
                    && a.points.iter().all(|p| b.points.iter().any(|q| near(p, q)))
            })
    }

    /// How far it reaches from its point in a direction of length 1.
    pub(crate) fn support(&self, way: Vec2) -> f64 {
        self.cores
            .iter()
            .flat_map(|c| c.points.iter().map(|p| p.to_vec2().dot(way) + c.radius))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// The cores with the point at `at`.
    pub(crate) fn cores_at(&self, at: Point) -> Vec<Core> {
        self.cores.iter().map(|c| c.moved(at.to_vec2())).collect()
    }

    /// The shape's pose with the point at `at`.
    pub(crate) fn pose_at(&self, at: Point) -> Pose {
        Pose {
            x: at.x - self.home.x,
            y: at.y - self.home.y,
            turn: self.turn,
            mirrored: self.mirrored,
        }
    }
}
