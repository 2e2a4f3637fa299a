//! In which order the cuts come: holes and guests before what holds them, the way between them short.

use crate::geom::{Loop, Point};

/// One loop to be cut.
#[derive(Debug, Clone)]
pub(super) struct Contour {
    /// Index of the piece.
    pub piece: usize,
    /// The line of the cut.
    pub line: Loop,
    /// Whether it is an outline (else a hole).
    pub outside: bool,
    /// Contours that must be cut before it.
    pub after: Vec<usize>,
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

/// Indices in cutting order, each with its start point: always the nearest that may be cut next.
///
/// Every contour is cut once; ties go to the lower index, so that the order repeats.
pub(super) fn order(contours: &[Contour], from: Point) -> Vec<(usize, Point)> {
    let mut waiting: Vec<usize> = contours.iter().map(|c| c.after.len()).collect();
    let mut frees: Vec<Vec<usize>> = vec![Vec::new(); contours.len()];
    for (i, contour) in contours.iter().enumerate() {
        for before in &contour.after {
            frees[*before].push(i);
        }
    }
    let mut open: Vec<usize> = (0..contours.len()).filter(|i| waiting[*i] == 0).collect();
    let mut at = from;
    let mut done = Vec::with_capacity(contours.len());
    while !open.is_empty() {
        let mut best = (f64::INFINITY, 0, Point::ORIGIN);
        for (slot, &i) in open.iter().enumerate() {
            let start = contours[i].start_near(at);
            let way = (start - at).hypot();
            if way < best.0 {
                best = (way, slot, start);
            }
        }
        let next = open.remove(best.1);
        done.push((next, best.2));
        at = best.2;
        for &i in &frees[next] {
            waiting[i] -= 1;
            if waiting[i] == 0 {
                let place = open.partition_point(|j| *j < i);
                open.insert(place, i);
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
        let contours = vec![
            Contour { piece: 0, line: circle(0.0, 20.0), outside: true, after: vec![1] },
            Contour { piece: 0, line: circle(0.0, 10.0), outside: false, after: vec![2] },
            Contour { piece: 1, line: circle(0.0, 5.0), outside: true, after: vec![] },
            Contour { piece: 2, line: circle(100.0, 5.0), outside: true, after: vec![] },
        ];
        let done: Vec<usize> =
            order(&contours, Point::new(-50.0, 0.0)).into_iter().map(|(i, _)| i).collect();
        assert_eq!(done, vec![2, 1, 0, 3]);
    }
}
