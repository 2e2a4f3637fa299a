//! An outline with its holes.

use super::inside::{loop_distance, loop_within};
use super::loops::{GeomFault, GeomFaultKind, Loop};
use super::pose::Pose;
use super::tolerance::SAME_POINT;
use kurbo::{Affine, Rect};

/// What is cut out: an outline, and holes that lie inside it and apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    outline: Loop,
    holes: Vec<Loop>,
}

impl Shape {
    /// An outline without holes.
    pub fn plain(outline: Loop) -> Shape {
        Shape { outline, holes: Vec::new() }
    }

    /// An outline with holes.
    ///
    /// # Errors
    /// Refuses a hole that reaches out of the outline and holes that meet.
    pub fn new(outline: Loop, holes: Vec<Loop>) -> Result<Shape, GeomFault> {
        for (i, hole) in holes.iter().enumerate() {
            if !loop_within(hole, &outline) {
                return Err(GeomFault::new(GeomFaultKind::HoleOutside, hole.start()));
            }
            for other in &holes[..i] {
                let apart = hole.bounds().inflate(SAME_POINT, SAME_POINT);
                if apart.overlaps(other.bounds())
                    && (loop_distance(hole, other).0 <= SAME_POINT
                        || loop_within(hole, other)
                        || loop_within(other, hole))
                {
                    return Err(GeomFault::new(GeomFaultKind::HolesMeet, hole.start()));
                }
            }
        }
        Ok(Shape { outline, holes })
    }

    /// The outline.
    pub fn outline(&self) -> &Loop {
        &self.outline
    }

    /// The holes.
    pub fn holes(&self) -> &[Loop] {
        &self.holes
    }

    /// Outline and holes, the outline first.
    pub fn loops(&self) -> impl Iterator<Item = &Loop> {
        std::iter::once(&self.outline).chain(&self.holes)
    }

    /// Area of the material (mm²): the outline less the holes.
    pub fn area(&self) -> f64 {
        self.outline.area() - self.holes.iter().map(Loop::area).sum::<f64>()
    }

    /// The smallest upright box around it.
    pub fn bounds(&self) -> Rect {
        self.outline.bounds()
    }

    /// Whether it looks alike at every turn: a disk, or a ring about one centre.
    pub fn is_round(&self) -> bool {
        let Some((center, _)) = self.outline.as_circle() else {
            return false;
        };
        self.holes
            .iter()
            .all(|hole| hole.as_circle().is_some_and(|(c, _)| (c - center).hypot() <= SAME_POINT))
    }

    /// The shape under an affine map, arcs refitted within `tolerance` (mm) where needed.
    ///
    /// # Errors
    /// As [`Loop::mapped`].
    pub fn mapped(&self, map: Affine, tolerance: f64) -> Result<Shape, GeomFault> {
        let outline = self.outline.mapped(map, tolerance)?;
        let holes: Result<Vec<_>, _> =
            self.holes.iter().map(|h| h.mapped(map, tolerance)).collect();
        Shape::new(outline, holes?)
    }

    /// The shape put in its place: turned, moved and perhaps mirrored, arcs kept.
    #[must_use]
    pub fn posed(&self, pose: &Pose) -> Shape {
        Shape {
            outline: pose.on_loop(&self.outline),
            holes: self.holes.iter().map(|h| pose.on_loop(h)).collect(),
        }
    }
}
