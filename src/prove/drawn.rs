//! What every reader gives: strokes of lines and arcs with their roles, and what the file says of itself.

use super::manifest::Papers;
use super::track::{Dot, Seg};

/// What a stroke is for, by the names that files use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Layer {
    Numbers,
    Crease,
    Holes,
    Edges,
    Punch,
    Dots,
    Rule,
}

impl Layer {
    pub(super) fn of(name: &str) -> Option<Layer> {
        Some(match name {
            "NUMBERS" => Layer::Numbers,
            "CREASE" => Layer::Crease,
            "HOLES" => Layer::Holes,
            "EDGES" => Layer::Edges,
            "PUNCH" => Layer::Punch,
            "DOTS" => Layer::Dots,
            "RULE" => Layer::Rule,
            _ => return None,
        })
    }

    pub(super) fn is_cut(self) -> bool {
        matches!(self, Layer::Holes | Layer::Edges)
    }
}

/// What a run of a program does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Mark,
    Lead,
    Contour,
    /// A bridge that is left standing: nothing is cut along it.
    Tab,
    Overcut,
}

/// Pieces without a break.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Run {
    pub(super) role: Role,
    pub(super) segs: Vec<Seg>,
}

/// One stroke of the plan as the file has it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stroke {
    pub(super) number: u32,
    pub(super) layer: Layer,
    /// Address, where the format tells it.
    pub(super) address: Option<String>,
    pub(super) pass: u32,
    pub(super) runs: Vec<Run>,
    /// Drawn as a circle, which tells no direction.
    pub(super) is_circle: bool,
}

impl Stroke {
    pub(super) fn new(number: u32, layer: Layer) -> Stroke {
        Stroke { number, layer, address: None, pass: 1, runs: Vec::new(), is_circle: false }
    }

    /// All pieces that are cut or marked.
    pub(super) fn cut(&self) -> impl Iterator<Item = (Role, &Seg)> {
        self.runs
            .iter()
            .filter(|run| run.role != Role::Tab)
            .flat_map(|run| run.segs.iter().map(move |seg| (run.role, seg)))
    }

    /// What a mark leaves: all but the ways to it.
    pub(super) fn marked(&self) -> impl Iterator<Item = &Seg> {
        self.cut().filter(|(role, _)| *role != Role::Lead).map(|(_, seg)| seg)
    }

    /// The contour without leads and overcut, tabs bridged; an arc goes on over a tab.
    pub(super) fn contour(&self) -> Vec<Seg> {
        let mut segs: Vec<Seg> = Vec::new();
        let runs: Vec<&Run> = self
            .runs
            .iter()
            .filter(|r| matches!(r.role, Role::Contour | Role::Tab | Role::Mark))
            .collect();
        for (i, run) in runs.iter().enumerate() {
            let after = runs.get(i + 1).and_then(|next| next.segs.first());
            for seg in &run.segs {
                let before = segs.last().and_then(|s| s.arc);
                let bridged = match (run.role, before, after.and_then(|s| s.arc)) {
                    (Role::Tab, Some(one), Some(two))
                        if super::track::apart(one.center, two.center) < 0.01
                            && (one.radius - two.radius).abs() < 0.01
                            && one.sweep * two.sweep > 0.0 =>
                    {
                        Seg::by_center(seg.a, seg.b, one.center, one.sweep > 0.0).map(|s| s.0)
                    }
                    _ => None,
                };
                segs.push(bridged.unwrap_or(*seg));
            }
        }
        joined(segs)
    }
}

/// Pieces end to end. A knife may cut a contour side by side in an order of its own: its sides are put after one another by
/// their ends, the nearest next; whether they meet is for others to say.
fn joined(segs: Vec<Seg>) -> Vec<Seg> {
    const BREAK: f64 = 0.1;
    let gap = |a: &Seg, b: &Seg| super::track::apart(a.b.mm(), b.a.mm());
    let mut sides: Vec<Vec<Seg>> = Vec::new();
    for seg in segs {
        match sides.last_mut() {
            Some(side) if side.last().is_some_and(|last| gap(last, &seg) <= BREAK) => {
                side.push(seg);
            }
            _ => sides.push(vec![seg]),
        }
    }
    if sides.is_empty() {
        return Vec::new();
    }
    let mut line = sides.remove(0);
    while !sides.is_empty() {
        let near = |side: &Vec<Seg>| match (line.last(), side.first()) {
            (Some(last), Some(first)) => gap(last, first),
            _ => f64::INFINITY,
        };
        let next = (0..sides.len()).min_by(|a, b| near(&sides[*a]).total_cmp(&near(&sides[*b])));
        line.extend(sides.remove(next.unwrap_or(0)));
    }
    line
}

/// The format of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Scalable Vector Graphics.
    Svg,
    /// Drawing Exchange Format of 2000.
    Dxf,
    /// Drawing Exchange Format, release 12.
    DxfR12,
    /// RS274 words.
    Gcode,
}

impl Format {
    /// The name for people.
    pub fn name(self) -> &'static str {
        match self {
            Format::Svg => "SVG",
            Format::Dxf => "DXF R2000",
            Format::DxfR12 => "DXF R12",
            Format::Gcode => "G-code",
        }
    }
}

/// What only a program has.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Program {
    /// Ways not cut, from the origin on (mm).
    pub(super) rapids: Vec<[Dot; 2]>,
    /// Where the machine itself goes while it cuts: for a knife the pivot.
    pub(super) pivots: Vec<Seg>,
    /// Largest S with the beam on.
    pub(super) power: f64,
    /// Least and largest F (mm/min) of a cut.
    pub(super) feeds: Option<[f64; 2]>,
    /// The same of marks.
    pub(super) mark_feeds: Option<[f64; 2]>,
    /// Seconds of all waits.
    pub(super) wait: f64,
    /// Least seconds of all cuts at their feeds.
    pub(super) cutting: f64,
    /// Largest difference of an arc's two radii (mm).
    pub(super) radii: f64,
    /// Words read.
    pub(super) words: usize,
}

/// A file as it was read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drawn {
    pub(super) format: Format,
    pub(super) papers: Papers,
    pub(super) strokes: Vec<Stroke>,
    pub(super) program: Option<Program>,
    /// What was found wrong while reading: number of the invariant, words.
    pub(super) wrong: Vec<(usize, String)>,
    /// What the header says of its extent.
    pub(super) extent: Option<[Dot; 2]>,
}

/// Why a file could not be read to its end: number of the invariant that this breaks, words.
pub(super) type Stop = (usize, String);

#[cfg(test)]
mod tests {
    use super::super::track::Spot;
    use super::*;

    #[test]
    fn sides_are_joined_by_their_ends() {
        let spot = |x: f64, y: f64| Spot::near([x, y]).unwrap();
        let corners = [spot(0.0, 0.0), spot(90.0, 0.0), spot(90.0, 10.0), spot(0.0, 10.0)];
        let side = |k: usize| Seg::line(corners[k], corners[(k + 1) % 4]);
        let round: Vec<Seg> = (0..4).map(side).collect();
        assert_eq!(joined([0, 2, 1, 3].map(side).to_vec()), round);
        assert_eq!(joined(round.clone()), round);
        // What is missing stays missing, whatever the order.
        let gap = |segs: &[Seg]| {
            let next = segs.iter().cycle().skip(1);
            let gaps = segs.iter().zip(next);
            gaps.map(|(a, b)| super::super::track::apart(a.b.mm(), b.a.mm())).fold(0.0, f64::max)
        };
        assert!(gap(&joined([0, 2, 3].map(side).to_vec())) > 9.0);
        assert!(gap(&joined([0, 2, 1, 3].map(side).to_vec())) < 1e-9);
        assert_eq!(joined(Vec::new()), Vec::new());
    }
}
