//! Strokes gathered by the manifest's rows: which contour is whose, what lies in what.

use super::drawn::{Drawn, Layer, Stroke};
use super::rings::{bounds, holds};
use super::track::{Dot, Seg};
use std::collections::BTreeMap;

/// A contour of one piece, tabs bridged.
#[derive(Debug, Clone)]
pub(super) struct Contour {
    /// Index of the stroke in the file.
    pub(super) stroke: usize,
    pub(super) segs: Vec<Seg>,
    pub(super) bounds: [Dot; 2],
    pub(super) is_edge: bool,
    pub(super) pass: u32,
}

/// What belongs together.
#[derive(Debug)]
pub(super) struct Pieces {
    /// For each stroke of the file its piece: a row's index, or a number beyond all rows.
    pub(super) of_stroke: Vec<usize>,
    /// For each row its contours, in file order; then one entry each for contours of no row.
    pub(super) contours: Vec<Vec<Contour>>,
    names: Vec<String>,
    numbers: Vec<u32>,
}

impl Pieces {
    pub(super) fn of(drawn: &Drawn) -> Pieces {
        let rows = &drawn.papers.rows;
        let mut row_of: BTreeMap<u32, usize> = BTreeMap::new();
        for (i, row) in rows.iter().enumerate() {
            for number in &row.strokes {
                row_of.entry(*number).or_insert(i);
            }
        }
        let mut pieces = Pieces {
            of_stroke: Vec::with_capacity(drawn.strokes.len()),
            contours: vec![Vec::new(); rows.len()],
            names: rows.iter().map(|row| super::manifest::told(&row.address)).collect(),
            numbers: drawn.strokes.iter().map(|s| s.number).collect(),
        };
        for (n, stroke) in drawn.strokes.iter().enumerate() {
            let piece = row_of.get(&stroke.number).copied().unwrap_or(pieces.contours.len());
            if piece >= pieces.contours.len() && stroke.layer.is_cut() {
                pieces.contours.push(Vec::new());
                pieces.names.push(format!("stroke {} of no piece", stroke.number));
            }
            pieces.of_stroke.push(piece);
            let segs = if stroke.layer.is_cut() { stroke.contour() } else { Vec::new() };
            if let Some(bounds) = bounds(&segs) {
                pieces.contours[piece].push(Contour {
                    stroke: n,
                    segs,
                    bounds,
                    is_edge: stroke.layer == Layer::Edges,
                    pass: stroke.pass,
                });
            }
        }
        pieces
    }

    /// The number of a stroke: all passes of a contour share it.
    pub(super) fn number(&self, stroke: usize) -> u32 {
        self.numbers[stroke]
    }

    pub(super) fn name(&self, piece: usize) -> &str {
        self.names.get(piece).map_or("a stroke of no piece", String::as_str)
    }

    pub(super) fn told(&self, stroke: &Stroke, piece: usize) -> String {
        let what = match stroke.layer {
            Layer::Edges => "",
            Layer::Holes => ", a hole",
            Layer::Dots => return "a register dot".to_owned(),
            _ => ", a mark",
        };
        format!("{}{what}", self.name(piece))
    }

    /// The piece whose material holds a point.
    pub(super) fn holding(&self, p: Dot) -> Option<usize> {
        self.contours.iter().position(|list| material(list, p))
    }

    /// Whether a point lies in the material of a piece, deeper than so much.
    pub(super) fn is_deep_in(&self, piece: usize, p: Dot, depth: f64) -> bool {
        self.contours.get(piece).is_some_and(|list| {
            let mut lines = list.iter().flat_map(|c| &c.segs);
            material(list, p) && lines.all(|seg| seg.point_distance(p) > depth)
        })
    }

    /// Pairs of pieces of which the first lies on the material of the second.
    pub(super) fn nested(&self) -> Vec<(usize, usize)> {
        let mut found = Vec::new();
        self.each_inside(|inner, outer| {
            let p = self.edge(inner).map_or([0.0; 2], |c| c.segs[0].at(0.0));
            if material(&self.contours[outer], p) {
                found.push((inner, outer));
            }
        });
        found
    }

    /// Pairs of pieces of which the first lies in a hole of the second.
    pub(super) fn guests(&self) -> Vec<(usize, usize)> {
        let mut found = Vec::new();
        self.each_inside(|inner, outer| {
            let p = self.edge(inner).map_or([0.0; 2], |c| c.segs[0].at(0.0));
            let holes = &self.contours[outer];
            if holes.iter().any(|c| !c.is_edge && holds(&c.segs, p)) {
                found.push((inner, outer));
            }
        });
        found
    }

    fn edge(&self, piece: usize) -> Option<&Contour> {
        self.contours[piece].iter().find(|c| c.is_edge)
    }

    /// Calls for every two pieces of which the first one's box lies in the second one's.
    fn each_inside(&self, mut visit: impl FnMut(usize, usize)) {
        let mut list: Vec<(usize, [Dot; 2])> = (0..self.contours.len())
            .filter_map(|piece| self.edge(piece).map(|c| (piece, c.bounds)))
            .collect();
        list.sort_by(|a, b| a.1[0][0].total_cmp(&b.1[0][0]));
        for (n, (outer, big)) in list.iter().enumerate() {
            // Whatever lies inside begins further right, or at the same place.
            let before = list[..n].iter().rev().take_while(|(_, b)| b[0][0] >= big[0][0]);
            let after = list[n + 1..].iter().take_while(|(_, b)| b[0][0] <= big[1][0]);
            for (inner, small) in before.chain(after) {
                let inside = (0..2).all(|k| big[0][k] <= small[0][k] && small[1][k] <= big[1][k]);
                if inside {
                    visit(*inner, *outer);
                }
            }
        }
    }
}

/// Whether a point lies inside the outline and in none of the holes.
fn material(list: &[Contour], p: Dot) -> bool {
    let held = |c: &Contour| {
        (0..2).all(|k| c.bounds[0][k] <= p[k] && p[k] <= c.bounds[1][k]) && holds(&c.segs, p)
    };
    list.iter().any(|c| c.is_edge && held(c)) && !list.iter().any(|c| !c.is_edge && held(c))
}
