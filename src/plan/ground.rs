//! What lies round the cuts: pieces, sheet, flaws, bed; and whether a lead keeps clear of them.

use super::CutPlan;
use super::build::{Work, bed, lie};
use crate::geom::{
    Affine, Curve, Loop, Point, Pose, Rect, Seg, Shape, Where, arcs_along, point_in_loop, tolerance,
};

/// A lead may come this much nearer than half the cut (mm) to the line that it leads to: parallel curves and fitted arcs
/// stand off by as much.
const SLACK: f64 = tolerance::OFFSET + 2.0 * tolerance::FIT_STRETCH;
/// From all other lines it keeps this much more than half the cut (mm), so that rounding never makes it touch.
const SPARE: f64 = 0.005;

/// A piece where it lies.
#[derive(Debug, Clone)]
pub struct Lain {
    /// Its address.
    pub address: String,
    /// Its true shape, the width of the cut not allowed for.
    pub shape: Shape,
    /// Whether its edge must stay soft.
    pub soft: bool,
}

/// What lies round the cuts of one file, in the file's own system.
#[derive(Debug, Clone)]
pub struct Ground {
    /// The pieces of the file.
    pub pieces: Vec<Lain>,
    /// The bed inside its margin.
    pub bed: Rect,
    /// Width of the cut (mm) along x and y.
    kerf: (f64, f64),
    /// Lines to keep clear of, in a plane in which the spot is round.
    lines: Vec<Line>,
    /// Loops of the pieces come first among the owners of the lines: so many.
    own: usize,
    /// The sheet, where it is known.
    sheet: Option<Loop>,
    /// What is no waste: pieces, flaws, pieces of other bed windows.
    solid: Vec<Loop>,
}

/// A piece of a line to keep clear of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    bounds: Rect,
    seg: Seg,
    /// Which loop it belongs to.
    owner: usize,
}

impl Ground {
    /// What lies round the cuts of a plan that was made from this work.
    pub fn of(work: &Work<'_>, plan: &CutPlan) -> Ground {
        let origin = plan.window.map_or(crate::geom::Vec2::ZERO, |w| w.origin.to_vec2());
        let moved = Pose::moved(-origin);
        let pieces: Vec<Lain> = work
            .pieces
            .iter()
            .filter_map(|(piece, placed)| {
                Some(Lain {
                    address: piece.address.to_string(),
                    shape: lie(piece, placed)?.shape.posed(&moved),
                    soft: piece.soft,
                })
            })
            .collect();
        let mut round: Vec<Loop> = work.others.iter().map(|it| moved.on_loop(it)).collect();
        round.push(moved.on_loop(&work.sheet.outline));
        round.extend(work.sheet.flaws.iter().map(|flaw| moved.on_loop(&flaw.outline)));
        let mut ground = Ground::new(pieces, &round, bed(work.machine), plan.kerf);
        let sheet = round.remove(work.others.len());
        ground.solid.extend(round);
        ground.on_sheet(sheet)
    }

    /// The same on a sheet, outside which there is no waste.
    pub(super) fn on_sheet(self, sheet: Loop) -> Ground {
        Ground { sheet: Some(sheet), ..self }
    }

    /// Pieces, and the lines of all else to keep clear of.
    pub(super) fn new(pieces: Vec<Lain>, round: &[Loop], bed: Rect, kerf: (f64, f64)) -> Ground {
        let own = pieces.iter().map(|piece| piece.shape.loops().count()).sum();
        let solid = pieces.iter().map(|piece| piece.shape.outline().clone()).collect();
        let mut ground = Ground { pieces, bed, kerf, lines: Vec::new(), own, sheet: None, solid };
        let loops = ground.pieces.iter().flat_map(|piece| piece.shape.loops()).chain(round);
        let lines: Vec<Line> = loops
            .enumerate()
            .flat_map(|(owner, it)| {
                let segs = ground.rounded(&it.segs()).into_iter();
                segs.map(move |seg| Line { bounds: seg.bounds(), seg, owner })
            })
            .collect();
        ground.lines = lines;
        ground
    }

    /// Whether a piece of an address must keep a soft edge.
    pub fn is_soft(&self, address: &str) -> bool {
        self.pieces.iter().any(|piece| piece.soft && piece.address == address)
    }

    /// Whether a way keeps so far from the sheet's edge, from flaws and from the pieces of other bed windows, and stays on
    /// the bed; the pieces of the file are not looked at.
    pub(super) fn is_beside(&self, way: &Seg, apart: f64) -> bool {
        let b = way.bounds();
        let on_bed = b.x0 >= self.bed.x0
            && b.y0 >= self.bed.y0
            && b.x1 <= self.bed.x1
            && b.y1 <= self.bed.y1;
        let reach = b.inflate(apart, apart);
        on_bed
            && self
                .lines
                .iter()
                .filter(|line| line.owner >= self.own)
                .all(|line| !line.bounds.overlaps(reach) || line.seg.distance(way).0 > apart)
    }

    /// Whether a point lies on the sheet and in nothing that is to be kept.
    pub(super) fn is_waste(&self, at: Point) -> bool {
        let inside = |it: &Loop| point_in_loop(at, it) != Where::Outside;
        self.sheet.as_ref().is_none_or(inside)
            && !self.solid.iter().any(|it| it.bounds().contains(at) && inside(it))
    }

    /// The lines within reach of a box, for many questions about one place.
    pub(super) fn near(&self, place: Rect) -> Vec<Line> {
        let place = self.squeezed_box(place);
        self.lines.iter().filter(|line| line.bounds.overlaps(place)).copied().collect()
    }

    /// Whether the swept band of a cut along a lead, which meets its contour at a point, keeps clear of lines and of the
    /// end of the bed; and, where `aside`, of the bands of other cuts, so that no bit of waste comes loose between them.
    pub(super) fn is_clear(&self, lead: &[Seg], on: Point, lines: &[Line], aside: bool) -> bool {
        let inside = |b: Rect| {
            b.x0 >= self.bed.x0 && b.y0 >= self.bed.y0 && b.x1 <= self.bed.x1 && b.y1 <= self.bed.y1
        };
        let half = self.kerf.1 / 2.0;
        let lead_in_round = self.rounded(lead);
        // It meets a cut there: the loop that this is the cut of lies half a cut away.
        let on = self.squeeze().map_or(on, |map| map * on);
        let own: Vec<usize> = lines
            .iter()
            .filter(|line| line.seg.distance_to(on) <= half + SPARE)
            .map(|line| line.owner)
            .collect();
        half > SLACK
            && lead.iter().all(|seg| inside(seg.bounds()))
            && lead_in_round.iter().all(|seg| {
                let band = if aside { 2.0 * half } else { 0.0 };
                let reach = seg.bounds().inflate(half + band + SPARE, half + band + SPARE);
                lines.iter().filter(|line| line.bounds.overlaps(reach)).all(|line| {
                    let need = if own.contains(&line.owner) {
                        half - SLACK
                    } else if line.owner < self.own {
                        half + band + SPARE
                    } else {
                        half + SPARE
                    };
                    seg.distance(&line.seg).0 >= need
                })
            })
    }

    /// The plane pressed so that an elliptic spot is round and as wide as it was along y.
    fn squeeze(&self) -> Option<Affine> {
        let (x, y) = self.kerf;
        let even = (x - y).abs() <= tolerance::WRITTEN || x <= 0.0 || y <= 0.0;
        (!even).then(|| Affine::scale_non_uniform(y / x, 1.0))
    }

    fn squeezed_box(&self, b: Rect) -> Rect {
        match self.squeeze() {
            Some(map) => {
                Rect::from_points(map * Point::new(b.x0, b.y0), map * Point::new(b.x1, b.y1))
            }
            None => b,
        }
    }

    fn rounded(&self, segs: &[Seg]) -> Vec<Seg> {
        let Some(map) = self.squeeze() else { return segs.to_vec() };
        segs.iter()
            .flat_map(|seg| {
                if seg.is_line() {
                    vec![Seg::line(map * seg.a, map * seg.b)]
                } else {
                    arcs_along(&Curve::Mapped(*seg, map), tolerance::FIT_STRETCH / 4.0)
                }
            })
            .collect()
    }
}
