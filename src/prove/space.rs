//! Where the cuts run: inside sheet and bed, apart from one another, off the flaws, never twice in one place.

use super::drawn::{Drawn, Format, Layer, Role};
use super::near;
use super::pieces::Pieces;
use super::rings::{Ring, bounds, holds};
use super::track::{Seg, Spot, shared};
use super::{Findings, MachineRecord, MaterialRecord, StockRecord};
use std::collections::BTreeSet;

/// Rounding of written figures (mm): ends by a twentieth of a micrometre each, arcs by a little more.
const ROUNDING: f64 = 5e-4;
/// What unequal kerfs may add: their ovals are fitted by arcs within a micrometre, on either side (mm).
const FITTED: f64 = 2.5e-3;
/// Less than this is touching (mm).
const TOUCHING: f64 = 5e-5;
/// A lead may run into its own piece by no more than this (mm).
const GRAZE: f64 = 2e-3;
/// One line over another counts from this length on (mm).
const OVERLAP: f64 = 0.05;
/// So far beyond what is asked neighbours are looked for (mm).
const BEYOND: f64 = 1.0;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Cut,
    Lead,
    Dot,
    Number,
    Rule,
    Sheet,
    Flaw,
    Claim,
}

/// To whom a piece of line belongs.
#[derive(Debug, Clone, Copy)]
struct Owner {
    kind: Kind,
    piece: usize,
    stroke: usize,
    pass: u32,
}

/// The least distance that was found of one sort.
struct Least {
    over: f64,
    words: String,
}

impl Least {
    fn new() -> Least {
        Least { over: f64::INFINITY, words: String::new() }
    }

    fn take(&mut self, over: f64, words: impl FnOnce() -> String) {
        if over < self.over {
            self.over = over;
            self.words = words();
        }
    }
}

struct Space<'a> {
    drawn: &'a Drawn,
    pieces: &'a Pieces,
    stock: &'a StockRecord,
    slack: f64,
    /// What a knife's tip may stand off its line.
    leave: f64,
    least: [Least; 4],
    seen: BTreeSet<(usize, usize)>,
}

/// V5, V6, V7 and V9.
pub(super) fn check(
    drawn: &Drawn,
    pieces: &Pieces,
    stock: &StockRecord,
    machine: &MachineRecord,
    material: &MaterialRecord,
    findings: &mut Findings,
) {
    let Some(origin) = drawn.papers.origin().and_then(Spot::near) else {
        for invariant in [5, 6, 7, 9] {
            findings.broken(invariant, "the manifest does not tell where the file's origin lies");
        }
        return;
    };
    let blade = machine.blade.as_ref().filter(|_| drawn.format == Format::Gcode && !machine.laser);
    let mut slack = ROUNDING;
    if (material.kerf[0] - material.kerf[1]).abs() > 1e-4 {
        slack += FITTED;
    }
    slack += drawn.program.as_ref().map_or(0.0, |p| p.radii / 2.0);
    let mut space = Space {
        drawn,
        pieces,
        stock,
        slack,
        leave: blade.map_or(0.0, |b| b.tip_tolerance),
        least: std::array::from_fn(|_| Least::new()),
        seen: BTreeSet::new(),
    };
    space.lines(origin, findings);
    space.insides(origin, findings);
    space.bed(machine, findings);
    space.tell(findings);
}

impl Space<'_> {
    /// Every piece of line with its owner, on the sheet.
    fn gathered(&self, origin: Spot, findings: &mut Findings) -> (Vec<Seg>, Vec<Owner>) {
        let (mut segs, mut owners) = (Vec::new(), Vec::new());
        for (n, stroke) in self.drawn.strokes.iter().enumerate() {
            let piece = self.pieces.of_stroke[n];
            for (role, seg) in stroke.cut() {
                let kind = match (stroke.layer, role) {
                    // An overcut runs over the beginning of its own contour.
                    (_, Role::Lead) | (Layer::Holes | Layer::Edges, Role::Overcut) => Kind::Lead,
                    (Layer::Dots, _) => Kind::Dot,
                    (Layer::Numbers, _) => Kind::Number,
                    (Layer::Rule, _) => Kind::Rule,
                    (Layer::Holes | Layer::Edges, _) => Kind::Cut,
                    _ => continue,
                };
                segs.push(seg.moved(origin));
                owners.push(Owner { kind, piece, stroke: n, pass: stroke.pass });
            }
        }
        let own = |kind, n| Owner { kind, piece: usize::MAX, stroke: n, pass: 0 };
        let sheet = std::slice::from_ref(&self.stock.outline);
        for (kind, list) in [
            (Kind::Sheet, sheet),
            (Kind::Flaw, &self.stock.flaws),
            (Kind::Claim, &self.stock.claims),
        ] {
            for (n, ring) in list.iter().enumerate() {
                let Some(more) = ring.segs().filter(|s| !s.is_empty()) else {
                    findings.broken(5, "an outline of the stock record cannot be used");
                    continue;
                };
                owners.extend(more.iter().map(|_| own(kind, n)));
                segs.extend(more);
            }
        }
        (segs, owners)
    }

    fn lines(&mut self, origin: Spot, findings: &mut Findings) {
        let (segs, owners) = self.gathered(origin, findings);
        let boxes: Vec<_> = segs.iter().map(Seg::bounds).collect();
        let reach = self.stock.gap.max(self.stock.edge) + BEYOND;
        let mut shared_lines: Vec<(usize, usize, f64)> = Vec::new();
        let done = near::pairs(&segs, reach, |i, j| {
            let (a, b) = (&owners[i], &owners[j]);
            if a.kind == Kind::Cut
                && b.kind == Kind::Cut
                && (a.stroke != b.stroke || a.pass == b.pass)
            {
                let one_contour = self.pieces.number(a.stroke) == self.pieces.number(b.stroke);
                let passes = one_contour && a.pass != b.pass;
                let over = if passes { 0.0 } else { shared(&segs[i], &segs[j]) };
                if over > OVERLAP {
                    shared_lines.push((a.stroke, b.stroke, over));
                }
                if one_contour {
                    return;
                }
            }
            let Some((invariant, asked)) = self.asked(a, b) else { return };
            let (p, q) = (&boxes[i], &boxes[j]);
            let off = |k: usize| (p[0][k] - q[1][k]).max(q[0][k] - p[1][k]).max(0.0);
            if off(0).hypot(off(1))
                > self.least[slot(invariant)].over.clamp(TOUCHING, BEYOND) + asked
            {
                return;
            }
            self.weigh(invariant, asked, segs[i].distance(&segs[j]), [a, b], findings);
        });
        if let Err(words) = done {
            findings.broken(9, words);
        }
        for (a, b, over) in shared_lines.into_iter().take(5) {
            findings.broken(
                9,
                format!("{} and {} share {over:.3} mm of line", self.told(a), self.told(b)),
            );
        }
    }

    /// The invariant that two lines are bound by, and how far apart they must lie.
    fn asked(&self, a: &Owner, b: &Owner) -> Option<(usize, f64)> {
        let (a, b) = if rank(a.kind) <= rank(b.kind) { (a, b) } else { (b, a) };
        let stock = self.stock;
        Some(match (a.kind, b.kind) {
            (Kind::Cut, Kind::Cut) if a.piece == b.piece => (6, 0.0),
            (Kind::Cut, Kind::Cut) => (6, stock.gap - 2.0 * self.leave),
            (Kind::Cut, Kind::Lead)
                if self.pieces.number(a.stroke) == self.pieces.number(b.stroke) =>
            {
                return None;
            }
            (Kind::Cut, Kind::Lead | Kind::Dot | Kind::Rule) => (6, 0.0),
            // A number on a face that seals would leak: it keeps off every piece.
            (Kind::Cut, Kind::Number) => (6, stock.gap),
            (Kind::Cut, Kind::Sheet) => (5, stock.edge - self.leave),
            (Kind::Cut, Kind::Flaw) => (7, stock.edge - self.leave),
            (Kind::Lead | Kind::Dot | Kind::Number, Kind::Sheet) => (5, 0.0),
            (Kind::Lead, Kind::Flaw) => (7, 0.0),
            (Kind::Cut | Kind::Lead, Kind::Claim) => (9, 0.0),
            _ => return None,
        })
    }

    fn weigh(
        &mut self,
        invariant: usize,
        asked: f64,
        found: f64,
        owners: [&Owner; 2],
        findings: &mut Findings,
    ) {
        let fails = if asked > 0.0 { found < asked - self.slack } else { found < TOUCHING };
        let names = owners.map(|o| self.name(o));
        self.least[slot(invariant)].take(found - asked, || {
            format!("{found:.4} mm from {} to {}, {asked:.4} asked", names[0], names[1])
        });
        if fails {
            let key = |o: &Owner| o.stroke * 8 + rank(o.kind);
            let pair = (key(owners[0]).min(key(owners[1])), key(owners[0]).max(key(owners[1])));
            if self.seen.insert(pair) {
                findings.broken(
                    invariant,
                    format!("{} lies {found:.4} mm from {}, {asked:.4} asked", names[0], names[1]),
                );
            }
        }
    }

    fn name(&self, owner: &Owner) -> String {
        match owner.kind {
            Kind::Sheet => "the sheet's edge".to_owned(),
            Kind::Flaw => format!("flaw {}", owner.stroke + 1),
            Kind::Claim => format!("claim {}", owner.stroke + 1),
            Kind::Dot => "a register dot".to_owned(),
            Kind::Number => format!("the number of {}", self.pieces.name(owner.piece)),
            Kind::Rule => "the rule".to_owned(),
            Kind::Lead => format!("the lead of {}", self.told(owner.stroke)),
            Kind::Cut => self.told(owner.stroke),
        }
    }

    fn told(&self, stroke: usize) -> String {
        self.pieces.told(&self.drawn.strokes[stroke], self.pieces.of_stroke[stroke])
    }

    /// What the lines alone do not tell: whether one thing lies whole inside another.
    fn insides(&mut self, origin: Spot, findings: &mut Findings) {
        let rings =
            |list: &[Ring]| -> Vec<Vec<Seg>> { list.iter().filter_map(Ring::segs).collect() };
        let sheet = self.stock.outline.segs().unwrap_or_default();
        let (flaws, claims) = (rings(&self.stock.flaws), rings(&self.stock.claims));
        for (n, stroke) in self.drawn.strokes.iter().enumerate() {
            let inside =
                stroke.layer.is_cut() || matches!(stroke.layer, Layer::Dots | Layer::Numbers);
            let Some((_, first)) = stroke.cut().next().filter(|_| inside) else { continue };
            let p = first.moved(origin).at(0.0);
            if !holds(&sheet, p) {
                findings.broken(5, format!("{} lies off the sheet", self.told(n)));
            }
            for (invariant, what, list) in [(7, "flaw", &flaws), (9, "claim", &claims)] {
                if stroke.layer.is_cut()
                    && let Some(k) = list.iter().position(|ring| holds(ring, p))
                {
                    findings
                        .broken(invariant, format!("{} lies in {what} {}", self.told(n), k + 1));
                }
            }
        }
        self.leads(findings);
        self.numbers(findings);
        for (invariant, what, list) in [(7, "flaw", &flaws), (9, "claim", &claims)] {
            for (k, ring) in list.iter().enumerate() {
                let Some(first) = ring.first() else { continue };
                let p = first.moved(Spot { x: -origin.x, y: -origin.y }).at(0.0);
                if let Some(piece) = self.pieces.holding(p) {
                    let words = format!("{what} {} lies in {}", k + 1, self.pieces.name(piece));
                    findings.broken(invariant, words);
                }
            }
        }
        for (inner, outer) in self.pieces.nested() {
            let words = format!(
                "{} lies on {}, and not in a hole of it",
                self.pieces.name(inner),
                self.pieces.name(outer)
            );
            findings.broken(6, words);
        }
    }

    /// Numbers stand in the waste, on no piece.
    fn numbers(&self, findings: &mut Findings) {
        for (n, stroke) in self.drawn.strokes.iter().enumerate() {
            let first = stroke.cut().next().filter(|_| stroke.layer == Layer::Numbers);
            if let Some(piece) = first.and_then(|(_, seg)| self.pieces.holding(seg.at(0.0))) {
                let name = self.pieces.name(self.pieces.of_stroke[n]);
                let words = format!("the number of {name} lies on {}", self.pieces.name(piece));
                findings.broken(6, words);
            }
        }
    }

    /// Leads come through the waste, not through their own piece.
    fn leads(&self, findings: &mut Findings) {
        for (n, stroke) in self.drawn.strokes.iter().enumerate() {
            let piece = self.pieces.of_stroke[n];
            let mut leads = stroke.cut().filter(|(role, _)| *role == Role::Lead);
            let inside = leads.any(|(_, seg)| {
                let mut points = [0.25, 0.5, 0.75].into_iter().map(|share| seg.at(share));
                points.any(|p| self.pieces.is_deep_in(piece, p, self.leave.max(GRAZE)))
            });
            if stroke.layer.is_cut() && inside {
                findings.broken(6, format!("the lead of {} runs through it", self.told(n)));
            }
        }
    }

    /// The bed: cuts and dots inside its margin, the machine itself inside its travel.
    fn bed(&mut self, machine: &MachineRecord, findings: &mut Findings) {
        let inner = [machine.width - 2.0 * machine.margin, machine.depth - 2.0 * machine.margin];
        let over = |low: [f64; 2], high: [f64; 2], leave: f64| {
            let side = |k: usize| (-leave - low[k]).max(high[k] - inner[k] - leave);
            side(0).max(side(1))
        };
        for (n, stroke) in self.drawn.strokes.iter().enumerate() {
            if stroke.layer == Layer::Rule {
                continue;
            }
            for run in &stroke.runs {
                let Some([low, high]) = bounds(&run.segs) else { continue };
                let lead = run.role == Role::Lead;
                let out = over(low, high, if lead { machine.margin } else { self.leave });
                if out > self.slack {
                    findings.broken(5, format!("{} leaves the bed by {out:.4} mm", self.told(n)));
                }
                if -out < self.least[0].over {
                    let words = format!("{:.4} mm from {} to the bed's margin", -out, self.told(n));
                    self.least[0].take(-out, || words);
                }
            }
        }
        let Some(program) = &self.drawn.program else { return };
        let ways = program.rapids.iter().map(|way| (way[1], way[1]));
        let pivots = program.pivots.iter().map(|seg| {
            let [low, high] = seg.bounds();
            (low, high)
        });
        for (low, high) in ways.chain(pivots) {
            let out = over(low, high, machine.margin);
            if out > self.slack {
                findings.broken(5, format!("the machine leaves its travel by {out:.4} mm"));
                break;
            }
        }
    }

    fn tell(&self, findings: &mut Findings) {
        for (invariant, what) in [(5, "to the edges"), (6, "to another cut"), (7, "to a flaw")] {
            let least = &self.least[slot(invariant)];
            let words = if least.over.is_finite() && least.over < BEYOND {
                format!("least {}", least.words)
            } else {
                format!("more than {BEYOND} mm over what is asked {what}")
            };
            findings.margin(invariant, words);
        }
        let claims = if self.stock.claims.is_empty() {
            "no claims of other lays were handed over".to_owned()
        } else {
            format!("clear of {} claims", self.stock.claims.len())
        };
        findings.margin(9, format!("no line lies on another over {OVERLAP} mm; {claims}"));
    }
}

fn slot(invariant: usize) -> usize {
    match invariant {
        5 => 0,
        6 => 1,
        7 => 2,
        _ => 3,
    }
}

fn rank(kind: Kind) -> usize {
    match kind {
        Kind::Cut => 0,
        Kind::Lead => 1,
        Kind::Dot => 2,
        Kind::Number => 3,
        Kind::Rule => 4,
        Kind::Sheet => 5,
        Kind::Flaw => 6,
        Kind::Claim => 7,
    }
}
