//! The inset of the edge: a square window at twenty times the size, where the three lines stand apart.

use super::super::dimension::crosses;
use super::super::template::clip::clipped;
use super::super::{Dash, Letters, Mark, scaled_seg, straight};
use super::{CUT_DASH, CutEdge, PartDrawing, Sheet, THICK, THIN};
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2};
use crate::letters;
use crate::write::number::fixed;

/// So many times its size.
const SCALE: f64 = 20.0;
/// Half the side of the window (mm on the page).
const HALF: f64 = 12.0;
/// What the window shows to each side (mm of the part).
pub(super) const REACH: f64 = HALF / SCALE;
/// Lines nearer than this are one line (mm of the part).
const APART: f64 = 0.015;
/// Height of its letters (mm).
const LETTER: f64 = 2.2;
/// From one line of letters to the next (mm).
const PITCH: f64 = 4.2;
/// Spots that are tried along the outline.
const SPOTS: u32 = 180;

impl CutEdge {
    /// Whether the cut takes any width.
    pub fn has_kerf(&self) -> bool {
        self.kerf.0 > 0.0 || self.kerf.1 > 0.0
    }

    /// What is to be said of the cut.
    fn words(&self) -> Vec<String> {
        let (x, y) = self.kerf;
        let half = |mm: f64| fixed(mm / 2.0, 4);
        let mut words = if !self.has_kerf() {
            vec![format!("{}: no kerf, cut on the line itself", self.by)]
        } else if (x - y).abs() < 1e-9 {
            vec![
                self.by.clone(),
                format!("kerf {} mm, half of it outside: {}", fixed(x, 4), half(x)),
            ]
        } else {
            let both = format!("kerf {} mm along x, {} along y", fixed(x, 4), fixed(y, 4));
            let halves = format!("half of it outside: {} and {}", half(x), half(y));
            vec![self.by.clone(), both, halves]
        };
        if self.char_trim > 0.0 {
            let trim = fixed(self.char_trim, 3);
            words.push(format!("soft edge: {trim} mm more all round, to be pared off"));
        }
        words
    }
}

/// The inset of one part.
pub(super) struct Inset {
    /// The middle of the window (mm of the part), where there is anything to be seen apart.
    spot: Option<Point>,
    finished: Vec<Seg>,
    allowed: Vec<Seg>,
    cut: Vec<Seg>,
    words: Vec<String>,
}

impl Inset {
    pub(super) fn of(of: &PartDrawing<'_>, edge: &CutEdge) -> Inset {
        let own = of.member.shape.outline();
        let line = of.design.map_or(own, |d| d.shape.outline());
        let mut words = edge.words();
        let found = spot(line, own);
        let grown = found.map_or(0.0, |found| found.off);
        let in_sight = grown > APART && grown < REACH;
        if grown > APART {
            let way = if found.is_some_and(|f| f.outward) { "outside" } else { "inside" };
            words.push(format!(
                "with allowances: {} mm {way} the finished size here{}",
                fixed(grown, 3),
                if in_sight { "" } else { ", which is out of sight" }
            ));
        }
        let shown = edge.has_kerf() || in_sight;
        Inset {
            spot: found.filter(|_| shown).map(|found| found.at),
            finished: if grown > APART { own.segs() } else { Vec::new() },
            allowed: line.segs(),
            cut: if edge.has_kerf() { edge.line.segs() } else { Vec::new() },
            words,
        }
    }

    /// Where it looks, if it is drawn.
    pub(super) fn spot(&self) -> Option<Point> {
        self.spot
    }

    /// What it takes of the page (mm).
    pub(super) fn height(&self) -> f64 {
        if self.spot.is_some() { 2.0 * HALF + 4.0 } else { self.words_high() + 3.0 }
    }

    #[allow(clippy::cast_precision_loss, reason = "a few lines")]
    fn words_high(&self) -> f64 {
        self.words.len() as f64 * PITCH
    }

    /// Draws it at the foot of an area.
    pub(super) fn draw(&self, area: Rect, sheet: &mut Sheet) {
        let Some(spot) = self.spot else {
            self.write(Point::new(area.x0, area.y0 + self.words_high()), sheet);
            return;
        };
        let middle = Point::new(area.x0 + HALF, area.y0 + HALF);
        let window = Rect::from_center_size(middle, (2.0 * HALF, 2.0 * HALF));
        let by = middle.to_vec2() - spot.to_vec2() * SCALE;
        let seen = |line: &[Seg]| -> Vec<Vec<Seg>> {
            let parts = line.iter().map(|seg| scaled_seg(seg, SCALE, by));
            joined(parts.flat_map(|seg| clipped(&seg, &window)))
        };
        let drawn = |line: &[Seg], weight: f64, dash: Dash| -> Vec<Mark> {
            seen(line).into_iter().map(|chain| Mark::Line(chain, weight, dash)).collect()
        };
        sheet.finished.extend(drawn(&self.finished, THIN, Dash::Solid));
        sheet.edges.extend(drawn(&self.allowed, THICK, Dash::Solid));
        sheet.cut.extend(drawn(&self.cut, THIN, Dash::Dashed(CUT_DASH)));
        let corners = [
            (window.x0, window.y0),
            (window.x1, window.y0),
            (window.x1, window.y1),
            (window.x0, window.y1),
        ];
        for i in 0..4 {
            sheet.frame.push(straight(corners[i].into(), corners[(i + 1) % 4].into(), THIN));
        }
        let lines: Vec<Seg> = [&self.finished, &self.allowed, &self.cut]
            .iter()
            .flat_map(|l| seen(l))
            .flatten()
            .collect();
        self.name_side(&lines, window, sheet);
        let head = Point::new(window.x1 + 4.0, window.y1 - 3.0);
        sheet.word("A, scale 20:1", head, 3.0);
        self.write(Point::new(head.x, head.y - 2.0), sheet);
    }

    /// Says which side the part lies on, in the corner that has most room.
    fn name_side(&self, lines: &[Seg], window: Rect, sheet: &mut Sheet) {
        let wide = letters::width("part", LETTER);
        let Ok(outline) = Loop::chain(self.allowed.clone()) else { return };
        let Some(spot) = self.spot else { return };
        let corners = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
        let place = corners.iter().find_map(|(x, y)| {
            let reach = Vec2::new(x * (HALF - wide / 2.0 - 1.5), y * (HALF - LETTER / 2.0 - 1.5));
            let middle = window.center() + reach;
            let area = Rect::from_center_size(middle, (wide + 1.0, LETTER + 1.0));
            let there = spot + reach / SCALE;
            let inside = crate::geom::point_in_loop(there, &outline) == crate::geom::Where::Inside;
            let free = !lines.iter().flat_map(chords).any(|s| crosses(&s, area));
            (inside && free).then_some(middle)
        });
        if let Some(middle) = place {
            sheet.notes.push(Mark::Letters(Letters::centred("part", middle, LETTER)));
        }
    }

    /// Its words, downward from a height.
    fn write(&self, top: Point, sheet: &mut Sheet) {
        let mut y = top.y - PITCH;
        for line in &self.words {
            let height =
                letters::height_within(line, super::PAGE.0 - super::FRAME - 4.0 - top.x, LETTER);
            sheet.word(line.clone(), Point::new(top.x, y), height);
            y -= PITCH;
        }
    }
}

/// A bent line in chords fine enough for letters.
fn chords(seg: &Seg) -> Vec<Seg> {
    if seg.is_line() {
        return vec![*seg];
    }
    let at = |i: u32| seg.at(f64::from(i) / 16.0);
    (0..16).map(|i| Seg::line(at(i), at(i + 1))).collect()
}

/// Lines that follow one another as chains, so that dashes run on.
fn joined(lines: impl Iterator<Item = Seg>) -> Vec<Vec<Seg>> {
    let mut chains: Vec<Vec<Seg>> = Vec::new();
    for seg in lines {
        match chains.last_mut() {
            Some(chain) if chain.last().is_some_and(|l| (l.b - seg.a).hypot() < 1e-6) => {
                chain.push(seg);
            }
            _ => chains.push(vec![seg]),
        }
    }
    chains
}

/// A spot of the outline, and how far the finished line is from it there.
#[derive(Debug, Clone, Copy)]
struct Spot {
    at: Point,
    off: f64,
    /// Whether the outline lies outside the finished line.
    outward: bool,
}

/// The spot of the outline that tells most: where the finished line is apart from it and both are in the window; else where
/// they are farthest apart; of those the one that lies most to the upper right, away from corners where that can be.
fn spot(line: &Loop, finished: &Loop) -> Option<Spot> {
    let segs = line.segs();
    let others = finished.segs();
    let long: f64 = segs.iter().map(Seg::length).sum();
    let mut best: Option<((u8, u8, f64), Spot)> = None;
    let shape = Shape::plain(finished.clone());
    for seg in &segs {
        let share = (f64::from(SPOTS) * seg.length() / long).ceil().max(1.0);
        let mut i = 0.5;
        while i < share {
            let at = seg.at(i / share);
            i += 1.0;
            let Some(near) = others
                .iter()
                .map(|s| s.nearest(at))
                .min_by(|p, q| (*p - at).hypot().total_cmp(&(*q - at).hypot()))
            else {
                continue;
            };
            let off = (near - at).hypot();
            // Straight across, not to the end of a line beside it.
            let tangent = seg.direction((i - 1.0) / share);
            if off > APART && (near - at).dot(tangent).abs() > 0.3 * off * tangent.hypot() {
                continue;
            }
            let told = match off {
                off if off > 3.0 * APART && off < 0.75 * REACH => 2,
                off if off > APART => 1,
                _ => 0,
            };
            // Best a straight line whose ends are out of the window, then an arc.
            let far = [seg.a, seg.b].iter().all(|p| (*p - at).hypot() > 1.5 * REACH);
            let calm = if seg.is_line() && far { 2 } else { u8::from(!seg.is_line()) };
            let b = shape.bounds();
            let high =
                (at.x - b.x0) / b.width().max(1e-9) + 1.01 * (at.y - b.y0) / b.height().max(1e-9);
            let key = (told, calm, high);
            if best.as_ref().is_none_or(|(least, _)| key > *least) {
                let outward =
                    crate::geom::point_in_loop(at, finished) == crate::geom::Where::Outside;
                best = Some((key, Spot { at, off, outward }));
            }
        }
    }
    best.map(|(_, spot)| spot)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn drawing<'a>(member: &'a crate::part::Member, edge: &'a CutEdge) -> PartDrawing<'a> {
        PartDrawing {
            title: "pouch",
            member,
            design: None,
            cut: Some(edge),
            works: &[],
            style: super::super::DimensionStyle::Metric,
            note: "",
        }
    }

    // Two loops a known way apart stand twenty times as far apart in the window.
    #[test]
    fn the_inset_is_twenty_times_the_size() {
        let member = crate::write::tests_pictures::pouch();
        let own = member.shape.outline().as_circle().expect("a disk").1;
        let kerf = 0.15;
        let line =
            crate::plan::cut_line(member.shape.outline(), (kerf, kerf), true).expect("a line");
        assert_relative_eq!(line.as_circle().expect("a disk").1, own + kerf / 2.0, epsilon = 1e-9);
        let edge = CutEdge { line, kerf: (kerf, kerf), char_trim: 0.0, by: "laser".to_owned() };
        let inset = Inset::of(&drawing(&member, &edge), &edge);
        let mut sheet = Sheet::default();
        inset.draw(Rect::new(0.0, 0.0, 160.0, 60.0), &mut sheet);
        let first = |marks: &[Mark]| match marks.first() {
            Some(Mark::Line(chain, ..)) => chain[0],
            other => panic!("{other:?}"),
        };
        let (thick, dashed) = (first(&sheet.edges), first(&sheet.cut));
        assert_relative_eq!(thick.radius(), SCALE * own, epsilon = 1e-6);
        assert_relative_eq!(dashed.radius() - thick.radius(), SCALE * kerf / 2.0, epsilon = 1e-6);
        assert_relative_eq!((dashed.center() - thick.center()).hypot(), 0.0, epsilon = 1e-6);
        assert!(sheet.finished.is_empty());
        assert_eq!(inset.words[1], "kerf 0.15 mm, half of it outside: 0.075");
    }

    #[test]
    fn without_kerf_or_allowance_there_is_only_a_word() {
        let member = crate::write::tests_pictures::pouch();
        let line = member.shape.outline().clone();
        let edge = CutEdge { line, kerf: (0.0, 0.0), char_trim: 0.0, by: "knife".to_owned() };
        let inset = Inset::of(&drawing(&member, &edge), &edge);
        assert_eq!(inset.spot(), None);
        assert_eq!(inset.words, ["knife: no kerf, cut on the line itself"]);
    }
}
