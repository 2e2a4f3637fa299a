//! V8: every piece once, closed, the right way round, in order, and finished at the size that its row says.

use super::drawn::{Drawn, Format, Layer};
use super::pieces::{Contour, Pieces};
use super::rings::{area_and_middle, bounds, finished_area, length};
use super::track::{Dot, apart};
use super::{Findings, MachineRecord, MaterialRecord, StockRecord};
use std::collections::{BTreeMap, BTreeSet};

/// What a finished size may be out by (mm).
pub(super) const SIZE: f64 = 0.05;
/// Ends of a written contour meet within this (mm).
const MEETS: f64 = 3e-4;

struct Sizes<'a> {
    drawn: &'a Drawn,
    pieces: &'a Pieces,
    stock: &'a StockRecord,
    kerf: [f64; 2],
    /// What the ends of a contour may lie apart.
    meets: f64,
    /// What a knife's tip may stand off on each side.
    leave: f64,
    is_knife_program: bool,
    worst: (f64, String),
}

pub(super) fn check(
    drawn: &Drawn,
    pieces: &Pieces,
    stock: &StockRecord,
    machine: &MachineRecord,
    material: &MaterialRecord,
    findings: &mut Findings,
) {
    let knife = drawn.format == Format::Gcode && !machine.laser;
    let blade = machine.blade.as_ref().filter(|_| knife);
    let leave = blade.map_or(0.0, |b| b.tip_tolerance);
    let mut sizes = Sizes {
        drawn,
        pieces,
        stock,
        kerf: material.kerf,
        meets: MEETS + 2.0 * leave,
        leave,
        is_knife_program: knife,
        worst: (0.0, String::new()),
    };
    sizes.rows(findings);
    sizes.order(findings);
    sizes.marks(findings);
    sizes.booked(findings);
    let outside = if stock.booked.is_empty() {
        "places and outlines not compared with an outside figure"
    } else {
        "places and outlines compared with the lay"
    };
    let (off, name) = &sizes.worst;
    findings.margin(
        8,
        format!(
            "{}, worst size {off:.4} mm off {name}, {SIZE} allowed; {outside}",
            crate::units::counted(drawn.papers.rows.len(), "piece")
        ),
    );
}

impl Sizes<'_> {
    fn rows(&mut self, findings: &mut Findings) {
        let rows = &self.drawn.papers.rows;
        let told = self.drawn.papers.one("pieces").and_then(|n| n.parse().ok());
        if told != Some(rows.len()) {
            findings.broken(8, format!("the manifest tells of other than its {} rows", rows.len()));
        }
        let mut seen: BTreeMap<(u32, u32), usize> = BTreeMap::new();
        for stroke in &self.drawn.strokes {
            *seen.entry((stroke.number, stroke.pass)).or_insert(0) += 1;
        }
        for ((number, pass), count) in &seen {
            if *count > 1 {
                findings.broken(8, format!("stroke {number} stands {count} times in pass {pass}"));
            }
        }
        self.passes(&seen, findings);
        for piece in rows.len()..self.pieces.contours.len() {
            findings.broken(8, format!("{}: nobody ordered it", self.pieces.name(piece)));
        }
        let mut names: BTreeSet<&str> = BTreeSet::new();
        for (i, row) in rows.iter().enumerate() {
            if !names.insert(&row.address) {
                findings.broken(8, format!("{} stands in two rows", self.pieces.name(i)));
            }
            if self.drawn.format != Format::Gcode
                && let Some(n) = row.strokes.iter().find(|n| !seen.contains_key(&(**n, 1)))
            {
                findings.broken(8, format!("{}: stroke {n} is missing", self.pieces.name(i)));
            }
            self.row(i, findings);
        }
        for (n, stroke) in self.drawn.strokes.iter().enumerate() {
            let piece = self.pieces.of_stroke[n];
            if let (Some(words), Some(row)) = (&stroke.address, rows.get(piece))
                && *words != row.address
            {
                let name = self.pieces.name(piece);
                findings
                    .broken(8, format!("stroke {} of {name} bears another name", stroke.number));
            }
        }
    }

    /// Every stroke that says it cuts does, and in as many passes as the manifest tells.
    fn passes(&self, seen: &BTreeMap<(u32, u32), usize>, findings: &mut Findings) {
        let told: Option<u32> = self.drawn.papers.one("passes").and_then(|n| n.parse().ok());
        for (n, stroke) in self.drawn.strokes.iter().enumerate() {
            if !stroke.layer.is_cut() {
                continue;
            }
            let name = self.pieces.name(self.pieces.of_stroke[n]);
            let (number, pass) = (stroke.number, stroke.pass);
            if stroke.contour().is_empty() {
                findings.broken(8, format!("{name}: stroke {number} cuts nothing in pass {pass}"));
            }
            let all = told.filter(|_| self.drawn.format == Format::Gcode).unwrap_or(pass);
            if all < pass || (1..=all).any(|pass| !seen.contains_key(&(number, pass))) {
                findings.broken(8, format!("{name}: stroke {number} has not the passes told"));
            }
        }
    }

    /// One piece against its row.
    fn row(&mut self, piece: usize, findings: &mut Findings) {
        let row = &self.drawn.papers.rows[piece];
        let name = self.pieces.name(piece).to_owned();
        let list = &self.pieces.contours[piece];
        for contour in list {
            self.contour(contour, &name, findings);
        }
        let passes = list.iter().map(|c| c.pass).max().unwrap_or(1);
        for pass in 1..=passes {
            let of_pass = || list.iter().filter(move |c| c.pass == pass);
            let edges: Vec<&Contour> = of_pass().filter(|c| c.is_edge).collect();
            let [edge] = edges[..] else {
                let words = format!("{name} has {} outlines in pass {pass}, not one", edges.len());
                findings.broken(8, words);
                continue;
            };
            for k in 0..2 {
                let size = edge.bounds[1][k] - edge.bounds[0][k] - self.kerf[k];
                let off = (size - row.size[k]).abs();
                if off > self.worst.0 {
                    self.worst = (off, format!("at {name}"));
                }
                if off > SIZE + 1e-6 {
                    findings.broken(
                        8,
                        format!(
                            "{name} comes out at {size:.4} mm, its row says {:.4}",
                            row.size[k]
                        ),
                    );
                }
            }
            // As much as the size may be out, all round.
            let holes: Vec<&Contour> = of_pass().filter(|c| !c.is_edge).collect();
            let area = finished_area(&edge.segs, self.kerf, true)
                - holes.iter().map(|h| finished_area(&h.segs, self.kerf, false)).sum::<f64>();
            let round: f64 =
                length(&edge.segs) + holes.iter().map(|h| length(&h.segs)).sum::<f64>();
            if (area - row.area).abs() > SIZE / 2.0 * round + 1e-3 {
                findings.broken(
                    8,
                    format!("{name} has {area:.3} mm² when cut, its row says {:.3}", row.area),
                );
            }
        }
    }

    /// Closed, and the right way round where a direction can be told.
    fn contour(&self, contour: &Contour, name: &str, findings: &mut Findings) {
        let next = contour.segs.iter().cycle().skip(1);
        let gap = contour
            .segs
            .iter()
            .zip(next)
            .map(|(a, b)| apart(a.b.mm(), b.a.mm()))
            .fold(0.0_f64, f64::max);
        if gap > self.meets {
            findings.broken(8, format!("{name}: a contour is open by {gap:.4} mm"));
            return;
        }
        let stroke = &self.drawn.strokes[contour.stroke];
        let (area, _) = area_and_middle(&contour.segs);
        let directed = !(stroke.is_circle || self.is_knife_program);
        if directed && (area > 0.0) != contour.is_edge {
            findings.broken(8, format!("{name}: a contour runs the wrong way round"));
        }
    }

    /// Holes before outlines, guests before what holds them.
    fn order(&self, findings: &mut Findings) {
        for (piece, list) in self.pieces.contours.iter().enumerate() {
            let last = list.iter().filter(|c| !c.is_edge).map(|c| c.stroke).max();
            let first = list.iter().filter(|c| c.is_edge).map(|c| c.stroke).min();
            if let (Some(last), Some(first)) = (last, first)
                && last > first
            {
                let name = self.pieces.name(piece);
                findings.broken(8, format!("{name}: a hole is cut after its outline"));
            }
        }
        for (guest, host) in self.pieces.guests() {
            let last = self.pieces.contours[guest].iter().map(|c| c.stroke).max();
            let first = self.pieces.contours[host].iter().map(|c| c.stroke).min();
            if let (Some(last), Some(first)) = (last, first)
                && last > first
                && !self.clear_of(guest, host)
            {
                let (guest, host) = (self.pieces.name(guest), self.pieces.name(host));
                findings.broken(8, format!("{guest} is cut after {host}, in whose hole it lies"));
            }
        }
    }

    /// Whether the host's other holes alone are cut before the guest: what falls out then is no piece.
    fn clear_of(&self, guest: usize, host: usize) -> bool {
        let last = self.pieces.contours[guest].iter().map(|c| c.stroke).max().unwrap_or(0);
        let Some(edge) = self.pieces.contours[guest].iter().find(|c| c.is_edge) else {
            return true;
        };
        let p = edge.segs[0].at(0.0);
        self.pieces.contours[host]
            .iter()
            .filter(|c| c.is_edge || super::rings::holds(&c.segs, p))
            .all(|c| c.stroke > last)
    }

    /// Register dots and the marks of holes left to the punch stand where the manifest says.
    fn marks(&self, findings: &mut Findings) {
        let papers = &self.drawn.papers;
        let Some(origin) = papers.origin() else { return };
        let middles = |layer: Layer| -> Vec<Dot> {
            let of = self.drawn.strokes.iter().filter(|s| s.layer == layer);
            of.filter_map(|s| {
                let segs: Vec<_> = s.marked().copied().collect();
                let [low, high] = bounds(&segs)?;
                Some([
                    f64::midpoint(low[0], high[0]) + origin[0],
                    f64::midpoint(low[1], high[1]) + origin[1],
                ])
            })
            .collect()
        };
        let Some(dots) = papers.dots() else {
            findings.broken(12, "the register dots of the manifest cannot be read");
            return;
        };
        let punches: Vec<Dot> =
            papers.rows.iter().flat_map(|r| r.punched.iter().map(|p| p.0)).collect();
        for (layer, wanted, what) in
            [(Layer::Dots, dots, "register dot"), (Layer::Punch, punches, "mark for the punch")]
        {
            let there = middles(layer);
            if there.is_empty() && self.drawn.format == Format::Gcode {
                continue;
            }
            if there.len() != 2 * wanted.len() {
                findings.broken(
                    8,
                    format!("{} strokes for {} of the sort {what}", there.len(), wanted.len()),
                );
            }
            // Sorted by x, so that each looks only at its neighbours.
            let mut sorted = wanted.clone();
            sorted.sort_by(|a, b| a[0].total_cmp(&b[0]));
            for p in there {
                let from = sorted.partition_point(|q| q[0] < p[0] - SIZE);
                let near = sorted[from..].iter().take_while(|q| q[0] <= p[0] + SIZE);
                if !near.into_iter().any(|q| apart(*q, p) <= SIZE) {
                    let words =
                        format!("a {what} at {:.3} {:.3} is not in the manifest", p[0], p[1]);
                    findings.broken(8, words);
                }
            }
        }
    }

    /// Every piece against the outline and the place that the lay gives it.
    fn booked(&self, findings: &mut Findings) {
        if self.stock.booked.is_empty() {
            return;
        }
        let Some(origin) = self.drawn.papers.origin() else { return };
        let rows = &self.drawn.papers.rows;
        let by_name: BTreeMap<&str, usize> =
            rows.iter().enumerate().map(|(i, row)| (row.address.as_str(), i)).collect();
        if rows.len() != self.stock.booked.len() {
            let (there, asked) = (rows.len(), self.stock.booked.len());
            findings.broken(8, format!("{there} pieces, the lay has {asked} here"));
        }
        for booked in &self.stock.booked {
            let words = super::manifest::told(&booked.address);
            let Some(piece) = by_name
                .get(booked.address.as_str())
                .copied()
                .or_else(|| rows.iter().position(|row| alike(&row.address, &booked.address)))
            else {
                findings.broken(8, format!("{words} is in the lay and not in the file"));
                continue;
            };
            let row = &rows[piece];
            if apart(row.at, booked.at) > 2e-4
                || (row.turn - booked.turn).abs() > 2e-6
                || row.mirrored != booked.mirrored
            {
                findings.broken(12, format!("{words} lies otherwise in the lay than in its row"));
            }
            let outline = booked.outline.segs().unwrap_or_default();
            let list = &self.pieces.contours[piece];
            let edge = list.iter().find(|c| c.is_edge);
            let mut fits = edge.is_some_and(|edge| self.fits(edge, &outline, origin));
            let mut holes: Vec<&Contour> =
                list.iter().filter(|c| !c.is_edge && c.pass == 1).collect();
            for ring in &booked.holes {
                let ring = ring.segs().unwrap_or_default();
                let at = holes.iter().position(|hole| self.fits(hole, &ring, origin));
                fits &= at.map(|at| holes.swap_remove(at)).is_some();
            }
            if !fits || !holes.is_empty() {
                findings.broken(8, format!("{words} is not cut where and as the lay has it"));
            }
        }
    }

    /// Whether a line of cut is that of a true line: same box, same middle, same area.
    fn fits(&self, cut: &Contour, line: &[super::track::Seg], origin: Dot) -> bool {
        let Some([low, high]) = bounds(line) else { return false };
        let side = if cut.is_edge { 0.5 } else { -0.5 };
        let leave = SIZE + self.leave;
        let boxes = (0..2).all(|k| {
            let grown = self.kerf[k] * side;
            (cut.bounds[0][k] + origin[k] + grown - low[k]).abs() <= leave
                && (cut.bounds[1][k] + origin[k] - grown - high[k]).abs() <= leave
        });
        let (_, here) = area_and_middle(&cut.segs);
        let (area, there) = area_and_middle(line);
        let middle = [here[0] + origin[0], here[1] + origin[1]];
        let finished = finished_area(&cut.segs, self.kerf, cut.is_edge);
        boxes
            && apart(middle, there) <= leave + self.kerf[0].max(self.kerf[1])
            && (finished - area.abs()).abs() <= leave / 2.0 * length(line) + 1e-3
    }
}

/// Whether two names are one, as far as a file of few signs can tell.
pub(super) fn alike(written: &str, name: &str) -> bool {
    let few = |text: &str| -> String { text.chars().filter(char::is_ascii_alphanumeric).collect() };
    written == name || (few(written) == few(name) && !few(name).is_empty())
}
