//! The proof of a layout, by brute force on the true arcs.
//!
//! Takes a group and a layout from anywhere; trusts neither the search nor its kernel and shares no code with them:
//! every distance is measured between the lines and arcs as they will be cut.

mod dots;
mod stock;
mod twin;
mod windows;

use super::{Group, Layout, Placed, touching};
use crate::geom::{Loop, Rect, Shape, Where, loop_distance, point_in_loop, tolerance};
use crate::part::Turns;
use std::fmt;
use std::sync::Arc;

pub(super) use stock::{Stock, stock};
#[cfg(test)]
pub(super) use twin::Twin;
use twin::{box_gap, distance, rim_distance, rim_of};

/// What a layout was measured to keep.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Proof {
    /// Least distance between two pieces of one sheet (mm), and the two; none where no two lie near each other.
    ///
    /// Pairs farther apart than their boxes by more than the least found are not measured.
    pub least_apart: Option<(f64, usize, usize)>,
    /// Least distance from a piece to its sheet's edge (mm), and the piece.
    pub least_edge: Option<(f64, usize)>,
    /// Least distance from a piece to a flaw (mm), and the piece.
    pub least_flaw: Option<(f64, usize)>,
}

/// What is wrong with a layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Breach {
    /// What.
    pub kind: BreachKind,
    /// Index of the piece; out of range where the layout names a piece that is not there.
    pub piece: usize,
    /// The other piece, where there are two.
    pub other: Option<usize>,
    /// The register dot, where it is one that is wrong.
    pub dot: Option<usize>,
    /// In words, with addresses and figures.
    pub text: String,
}

/// The ways in which a layout can be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BreachKind {
    /// A piece is neither placed nor left out.
    Missing,
    /// A piece is there more than once.
    Twice,
    /// It names a piece, ground or stance that is not there.
    Unknown,
    /// A figure is not a number, or far beyond any sheet.
    Figure,
    /// It reaches over the edge, or comes nearer to it than it may.
    Edge,
    /// It lies on a flaw, or comes nearer to it than it may.
    Flaw,
    /// Two pieces are nearer to each other than they may be.
    Apart,
    /// It lies on ground that another lay holds, or comes nearer to it than to another piece.
    Used,
    /// It is turned as it may not be.
    Turn,
    /// It is mirrored and should not be, or the other way about.
    Face,
    /// It is said to lie in a hole and does not, lies in one and does not say so, or names another host than the
    /// innermost.
    Host,
    /// It lies on stuff of a worse grade than it takes.
    Grade,
    /// It lies on stuff that is thinner or thicker than it takes.
    Thickness,
    /// Pieces that work together lie on stuff that is not alike, or one of them has no place.
    Couple,
    /// A piece whose edge must stay soft lies in a hole with a hardened edge.
    Soft,
    /// A bed window is larger than what the machine reaches, overlaps another, or does not hold its pieces.
    Window,
    /// A register dot lies where no dot may lie.
    Dot,
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl Breach {
    /// The piece to take out if the layout is to be mended: the one with the higher number.
    pub fn last_piece(&self) -> usize {
        self.other.map_or(self.piece, |other| other.max(self.piece))
    }
}

/// Proves a layout against its group.
///
/// # Units
/// Millimetres; turns are compared to 1e-9 degrees.
///
/// # Errors
/// Everything that is wrong with it.
pub fn prove(group: &Group, layout: &Layout) -> Result<Proof, Vec<Breach>> {
    let mut at = Proving { group, breaches: Vec::new(), proof: Proof::default() };
    at.each_once(layout);
    at.windows(layout);
    let mut laid: Vec<Laid<'_>> = Vec::new();
    for placed in &layout.placed {
        laid.extend(at.lies_lawfully(placed));
    }
    at.in_windows(layout, &laid);
    for ground in 0..group.grounds.len() {
        // Several grounds may be windows of one sheet.
        let is_same =
            |other: usize| Arc::ptr_eq(&group.grounds[other].sheet, &group.grounds[ground].sheet);
        if (0..ground).any(is_same) {
            continue;
        }
        let here: Vec<&Laid<'_>> = laid.iter().filter(|l| is_same(l.placed.ground)).collect();
        at.within_sheet(ground, &here);
        at.clear_of_used(ground, &here);
        at.pairs(&here);
        at.hosts(&here);
    }
    at.stock(layout, &laid);
    at.dots(layout, &laid);
    if at.breaches.is_empty() { Ok(at.proof) } else { Err(at.breaches) }
}

/// The register dots, by index, with which the proof finds fault; nothing else is looked at.
pub(super) fn wrong_dots(group: &Group, layout: &Layout) -> Vec<usize> {
    let mut at = Proving { group, breaches: Vec::new(), proof: Proof::default() };
    let laid: Vec<Laid<'_>> =
        layout.placed.iter().filter_map(|placed| at.lies_lawfully(placed)).collect();
    at.breaches.clear();
    at.dots(layout, &laid);
    at.breaches.iter().filter_map(|breach| breach.dot).collect()
}

/// A piece where it lies.
struct Laid<'a> {
    placed: &'a Placed,
    shape: Shape,
    bounds: Rect,
}

struct Proving<'a> {
    group: &'a Group,
    breaches: Vec<Breach>,
    proof: Proof,
}

impl Proving<'_> {
    fn name(&self, piece: usize) -> String {
        self.group
            .pieces
            .get(piece)
            .map_or_else(|| format!("piece {piece}"), |p| p.address.to_string())
    }

    fn breach(&mut self, kind: BreachKind, piece: usize, other: Option<usize>, what: &str) {
        let text = match other {
            Some(other) => format!("{} and {} {what}", self.name(piece), self.name(other)),
            None => format!("{} {what}", self.name(piece)),
        };
        self.breaches.push(Breach { kind, piece, other, dot: None, text });
    }

    fn each_once(&mut self, layout: &Layout) {
        let mut times = vec![0_usize; self.group.pieces.len()];
        let placed = layout.placed.iter().map(|p| p.piece);
        for piece in placed.chain(layout.left.iter().map(|l| l.piece)) {
            match times.get_mut(piece) {
                Some(count) => *count += 1,
                None => self.breach(BreachKind::Unknown, piece, None, "is not in the group"),
            }
        }
        for (piece, count) in times.into_iter().enumerate() {
            if count == 0 {
                let what = "is neither placed nor left out";
                self.breach(BreachKind::Missing, piece, None, what);
            } else if count > 1 {
                let what = format!("is there {count} times");
                self.breach(BreachKind::Twice, piece, None, &what);
            }
        }
    }

    /// Figures, stance, turn and face; gives the piece in its place.
    fn lies_lawfully<'p>(&mut self, placed: &'p Placed) -> Option<Laid<'p>> {
        let index = placed.piece;
        let piece = self.group.pieces.get(index)?;
        let Some(ground) = self.group.grounds.get(placed.ground) else {
            let what = format!("lies on sheet {}, which is not there", placed.ground);
            self.breach(BreachKind::Unknown, index, None, &what);
            return None;
        };
        let Some(design) = piece.turns.design(placed.stance) else {
            let what = format!("has no stance {}", placed.stance);
            self.breach(BreachKind::Unknown, index, None, &what);
            return None;
        };
        let pose = placed.pose;
        let near = |v: f64| v.is_finite() && v.abs() < tolerance::FAR;
        if !(near(pose.x) && near(pose.y) && near(pose.turn)) {
            let what = format!("lies at x {} y {} turn {}", pose.x, pose.y, pose.turn);
            self.breach(BreachKind::Figure, index, None, &what);
            return None;
        }
        if let Turns::Fixed(stances) = &piece.turns
            && let Some(stance) = stances.get(placed.stance)
        {
            let wanted = ground.sheet.grain + stance.turn;
            let off = (pose.turn - wanted + 180.0).rem_euclid(360.0) - 180.0;
            if off.abs() > stance.within + 1e-9 {
                let mut what = format!("is turned {}° and must be turned {wanted}°", pose.turn);
                if stance.within > 0.0 {
                    what = format!("{what} within {}°", stance.within);
                }
                self.breach(BreachKind::Turn, index, None, &what);
            }
        }
        let mirrored = match (piece.face, ground.sheet.up) {
            (Some(face), Some(up)) => face != up,
            _ => false,
        };
        if mirrored != pose.mirrored {
            let what = if mirrored {
                "must be mirrored on this sheet and is not"
            } else {
                "is mirrored and must not be"
            };
            self.breach(BreachKind::Face, index, None, what);
        }
        let shape = design.shape.posed(&pose);
        let bounds = shape.bounds();
        Some(Laid { placed, shape, bounds })
    }

    fn within_sheet(&mut self, ground: usize, laid: &[&Laid<'_>]) {
        let edge = self.group.grounds[ground].edge;
        let sheet = Arc::clone(&self.group.grounds[ground].sheet);
        let rim = rim_of(&sheet.outline);
        for it in laid {
            let index = it.placed.piece;
            let outline = it.shape.outline();
            let on_it = edge <= tolerance::SLACK && !touching::leaves(outline, &sheet.outline);
            if point_in_loop(outline.start(), &sheet.outline) != Where::Inside && !on_it {
                self.breach(BreachKind::Edge, index, None, "lies outside its sheet");
                continue;
            }
            let least = self.proof.least_edge.map_or(f64::INFINITY, |l| l.0);
            let (mut off, at) =
                rim_distance(outline, it.bounds, &sheet.outline, &rim, least.max(edge));
            if edge <= tolerance::SLACK && off <= tolerance::SLACK && !on_it {
                off = -f64::INFINITY;
            }
            if off < edge - tolerance::SLACK {
                let what = format!(
                    "is {off:.4} mm from the sheet's edge near x {:.2} y {:.2}; at least {edge:.4} mm is wanted",
                    at.x, at.y
                );
                self.breach(BreachKind::Edge, index, None, &what);
            }
            if off < least {
                self.proof.least_edge = Some((off, index));
            }
            for flaw in &sheet.flaws {
                let limit = self.proof.least_flaw.map_or(f64::INFINITY, |l| l.0).max(edge);
                if box_gap(it.bounds, flaw.outline.bounds()) > limit {
                    continue;
                }
                let flawed = Shape::plain(flaw.outline.clone());
                let (off, at) = distance(&it.shape, &flawed, edge);
                if off < edge - tolerance::SLACK {
                    let what = format!(
                        "is {off:.4} mm from a flaw ({}) near x {:.2} y {:.2}; at least {edge:.4} mm is wanted",
                        flaw.why, at.x, at.y
                    );
                    self.breach(BreachKind::Flaw, index, None, &what);
                }
                if self.proof.least_flaw.is_none_or(|l| off < l.0) {
                    self.proof.least_flaw = Some((off, index));
                }
            }
        }
    }

    /// Ground that was cut or is claimed: as far from it as from another piece.
    fn clear_of_used(&mut self, ground: usize, laid: &[&Laid<'_>]) {
        let apart = self.group.apart;
        let sheet = Arc::clone(&self.group.grounds[ground].sheet);
        for used in &sheet.used {
            let gone = Shape::plain(used.outline.clone());
            let bounds = gone.bounds();
            for it in laid {
                if box_gap(it.bounds, bounds) > apart {
                    continue;
                }
                let (off, at) = distance(&it.shape, &gone, apart);
                if off < apart - tolerance::SLACK {
                    let what = format!(
                        "is {off:.4} mm from the ground of {} ({}) near x {:.2} y {:.2}; at least {apart:.4} mm is wanted",
                        used.address, used.by, at.x, at.y
                    );
                    self.breach(BreachKind::Used, it.placed.piece, None, &what);
                }
            }
        }
    }

    fn pairs(&mut self, laid: &[&Laid<'_>]) {
        let apart = self.group.apart;
        let mut order: Vec<&Laid<'_>> = laid.to_vec();
        order.sort_by(|a, b| a.bounds.x0.total_cmp(&b.bounds.x0));
        for (i, one) in order.iter().enumerate() {
            for two in &order[i + 1..] {
                let least = self.proof.least_apart.map_or(4.0 * apart + 1.0, |l| l.0);
                if two.bounds.x0 - one.bounds.x1 > least.max(apart) {
                    break;
                }
                if box_gap(one.bounds, two.bounds) > least.max(apart) {
                    continue;
                }
                let (off, at) = distance(&one.shape, &two.shape, apart);
                let (a, b) = (one.placed.piece, two.placed.piece);
                if off < apart - tolerance::SLACK {
                    let what = format!(
                        "are {off:.4} mm apart near x {:.2} y {:.2}; at least {apart:.4} mm is wanted",
                        at.x, at.y
                    );
                    self.breach(BreachKind::Apart, a.min(b), Some(a.max(b)), &what);
                }
                if self.proof.least_apart.is_none_or(|l| off < l.0) {
                    self.proof.least_apart = Some((off, a.min(b), a.max(b)));
                }
            }
        }
    }

    fn hosts(&mut self, laid: &[&Laid<'_>]) {
        let (pieces, apart) = (&self.group.pieces, self.group.apart);
        let mut hosts: Vec<&Laid<'_>> =
            laid.iter().copied().filter(|l| !l.shape.holes().is_empty()).collect();
        hosts.sort_by(|a, b| a.bounds.x0.total_cmp(&b.bounds.x0));
        let widest = hosts.iter().map(|h| h.bounds.width()).fold(0.0, f64::max);
        let mut found = Vec::new();
        for guest in laid {
            let index = guest.placed.piece;
            let from = hosts.partition_point(|h| h.bounds.x0 < guest.bounds.x0 - widest - 1.0);
            let around: Vec<(f64, usize)> = hosts[from..]
                .iter()
                .take_while(|host| host.bounds.x0 <= guest.bounds.x1)
                .filter(|host| host.placed.piece != index)
                .filter_map(|host| Some((hole_around(guest, host, apart)?, host.placed.piece)))
                .collect();
            // Holes around one piece lie within each other: the smallest is the innermost.
            let innermost = around.iter().min_by(|a, b| a.0.total_cmp(&b.0)).map(|a| a.1);
            let says = guest.placed.host;
            if says != innermost {
                let around_it = around.iter().any(|a| Some(a.1) == says);
                let (other, what) = match (says, innermost) {
                    (Some(_), Some(inner)) if around_it => {
                        let inner = self.name(inner);
                        let what = "lie not next within each other";
                        (says, format!("{what}: {inner} lies between them"))
                    }
                    (Some(_), _) => (says, "lie not one in a hole of the other".to_owned()),
                    _ => {
                        let what = "lie one in a hole of the other, and the layout does not say so";
                        (innermost, what.to_owned())
                    }
                };
                found.push((BreachKind::Host, index, other, what));
            }
            let soft = pieces.get(index).is_some_and(|p| p.soft) && self.group.hard_edges;
            if soft && (says.is_some() || innermost.is_some()) {
                let what =
                    "must keep a soft edge and lies in a hole whose edge is hardened by the cut";
                found.push((BreachKind::Soft, index, None, what.to_owned()));
            }
        }
        for (kind, piece, other, what) in found {
            self.breach(kind, piece, other, &what);
        }
    }
}

/// Area of the hole of a host in which a guest lies (mm²), if it lies in one.
fn hole_around(guest: &Laid<'_>, host: &Laid<'_>, apart: f64) -> Option<f64> {
    let outline = guest.shape.outline();
    let lies_in = |hole: &&Loop| {
        let inside = point_in_loop(outline.start(), hole) == Where::Inside
            && loop_distance(outline, hole).0 > tolerance::SLACK;
        let may_touch = apart <= tolerance::SLACK && hole.bounds().overlaps(guest.bounds);
        inside || (may_touch && !touching::leaves(outline, hole))
    };
    if !host.bounds.overlaps(guest.bounds) {
        return None;
    }
    host.shape.holes().iter().find(lies_in).map(Loop::area)
}
