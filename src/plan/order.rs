//! In which order the cuts come: holes and guests before what holds them, the way between them short.
//!
//! The cuts go in phases: the guests that lie deepest first, and of each depth all holes before all outlines. Files
//! that gather cuts by layer then keep the very same order. Within a phase the nearest comes next.

use crate::geom::{Loop, Point};

/// One loop to be cut.
#[derive(Debug, Clone)]
pub(super) struct Contour {
    /// Index of the piece.
    pub(super) piece: usize,
    /// The line of the cut.
    pub(super) line: Loop,
    /// Whether it is an outline (else a hole).
    pub(super) outside: bool,
    /// In how many holes, one inside the other, its piece lies.
    pub(super) depth: usize,
}

impl Contour {
    /// The start that is nearest to a point: any point of a circle, an end of a piece of a chain.
    fn start_near(&self, p: Point) -> Point {
        match &self.line {
            Loop::Circle(c, r) => {
                let ray = p - *c;
                let way = if ray.hypot() > 0.0 { ray / ray.hypot() } else { (1.0, 0.0).into() };
                *c + way * *r
            }
            Loop::Chain(segs) => segs
                .iter()
                .map(|s| s.a)
                .min_by(|a, b| (*a - p).hypot2().total_cmp(&(*b - p).hypot2()))
                .unwrap_or(self.line.start()),
        }
    }
}

/// Indices in cutting order, each with its start point.
///
/// Every contour is cut once; ties go to the lower index, so that the order repeats.
pub(super) fn order(contours: &[Contour], from: Point) -> Vec<(usize, Point)> {
    let deepest = contours.iter().map(|c| c.depth).max().unwrap_or(0);
    let mut at = from;
    let mut done = Vec::with_capacity(contours.len());
    for depth in (0..=deepest).rev() {
        for outside in [false, true] {
            let mut open: Vec<usize> = (0..contours.len())
                .filter(|i| contours[*i].depth == depth && contours[*i].outside == outside)
                .collect();
            while !open.is_empty() {
                let mut best = (f64::INFINITY, 0, Point::ORIGIN);
                for (slot, &i) in open.iter().enumerate() {
                    let start = contours[i].start_near(at);
                    let way = (start - at).hypot();
                    if way < best.0 {
                        best = (way, slot, start);
                    }
                }
                done.push((open.remove(best.1), best.2));
                at = best.2;
            }
        }
    }
    done
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_inside_comes_first() {
        let circle = |x: f64, r: f64| Loop::Circle(Point::new(x, 0.0), r);
        let cut = |piece, line, outside, depth| Contour { piece, line, outside, depth };
        let contours = vec![
            cut(0, circle(0.0, 20.0), true, 0),
            cut(0, circle(0.0, 10.0), false, 0),
            cut(1, circle(0.0, 5.0), true, 1),
            cut(1, circle(0.0, 2.0), false, 1),
            cut(2, circle(100.0, 5.0), true, 0),
        ];
        let done: Vec<usize> =
            order(&contours, Point::new(-50.0, 0.0)).into_iter().map(|(i, _)| i).collect();
        assert_eq!(done, vec![3, 2, 1, 0, 4]);
    }
}
