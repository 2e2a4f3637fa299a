//! The manifest: what a cut file says of itself.
//!
//! Takes a plan and the names it belongs to; gives lines of text, alike in every format: in SVG the `<desc>`, in DXF the
//! comments (group code 999) at its head, in G-code its first lines, `( … )`. A drawing says that it holds no leads,
//! tabs, waits and blade turns; a program tells its own lengths, its seconds, passes, tool, leads and tabs instead. A line is `key: value`; a line a piece is
//! `piece: x …; y …; turn …; mirrored …; strokes …; diameter … | box …; area …; punched …; address …`, the address last
//! because it is the user's own words and runs to the end of the line. Places of pieces, punched holes and register dots
//! are those on the sheet; a bed window's file has them less the origin that its line `window` tells. Lengths are millimetres, areas square
//! millimetres, turns degrees. No date and no path, so that bytes repeat.
//!
//! # Hashes
//! Both are SHA-256 in small hexadecimal.
//!
//! - *motions*: over [`motions_text`], the canonical text of all strokes at the figures files have. The same plan has
//!   the same hash in every format, and the hash does not move when the manifest does.
//! - *body*: over the bytes of the file without its manifest. SVG: everything but the bytes from `<desc>` through the
//!   `</desc>` that closes it and the line feed after it. DXF: everything from the first line that does not belong to
//!   a leading pair of `999` and its text. G-code: everything from the first line that is no comment. The body's hash is the last line of the manifest, put there by the writer.

use super::number::{angle, bulge, fixed, mm};
use crate::geom::{Point, Seg};
use crate::letters::one_line;
use crate::plan::{CutPlan, Layer, Motion, Program, Row};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// First line of every manifest: the name of the form and its number.
pub const HEAD: &str = "pouchwork manifest 1";

/// The line of a drawing, in whose place a program tells of itself.
const DRAWING: &str = "drawing: ";

/// What a cut file says of itself, all but the hash of its body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Manifest {
    title: String,
    lines: Vec<String>,
}

impl Manifest {
    /// The manifest of a plan.
    ///
    /// `inputs` are the files that the sheet came from, each with its hash; of a path only the last part is kept.
    pub fn new(
        plan: &CutPlan,
        job: &str,
        lay: &str,
        version: &str,
        inputs: &[(String, String)],
    ) -> Manifest {
        let mut lines = vec![
            HEAD.to_owned(),
            format!("job: {}", one_line(job)),
            format!("lay: {}", one_line(lay)),
            format!("sheet: {}", one_line(&plan.sheet)),
            format!("generation: {}", plan.generation),
            window_line(plan),
            format!("material: {}", one_line(&plan.material)),
            format!("machine: {}", one_line(&plan.machine)),
            format!("process: {}", plan.process),
            format!("version: pouchwork {}", one_line(version)),
            "unit: mm".to_owned(),
        ];
        lines.extend(
            inputs
                .iter()
                .map(|(name, hash)| format!("input: sha256 {} {}", one_line(hash), bare(name))),
        );
        lines.push(format!("kerf: x {}; y {}", mm(plan.kerf.0), mm(plan.kerf.1)));
        let way = Way::of(plan);
        lines.push(length_line(way.cut, way.marked, way.travel));
        lines.extend(plan.warnings.iter().map(|w| format!("warning: {}", one_line(w))));
        lines.extend(plan.cautions.iter().map(|c| format!("caution: {}", one_line(c))));
        let dots: Vec<String> =
            plan.dots.iter().map(|p| format!("{} {}", mm(p.x), mm(p.y))).collect();
        lines.push(format!("{DRAWING}leads, tabs, waits and blade turns stand only in the G-code"));
        lines.push(format!("dots: {}", none_if_empty(&dots.join(", "))));
        lines.push(format!("pieces: {}", plan.rows.len()));
        lines.extend(plan.rows.iter().map(|row| piece_line(plan, row)));
        lines.push(format!("motions: sha256 {}", motions_hash(plan)));
        let window =
            plan.window.map_or(String::new(), |w| format!(", window {} of {}", w.number, w.of));
        let title = format!("{}, sheet {}{window}", one_line(lay), one_line(&plan.sheet));
        Manifest { title, lines }
    }

    /// The manifest of a plan's program: its own lengths and seconds, its passes, its tool, leads, tabs and waits.
    #[must_use]
    pub fn with_program(&self, program: &Program) -> Manifest {
        let (way, time) = (program.way(), program.time);
        let mut lines = Vec::with_capacity(self.lines.len() + 4);
        for line in &self.lines {
            if let Some((drawn, _)) = line.split_once("; travel ")
                && line.starts_with("length: ")
            {
                // Every line once, as it is drawn; leads, tabs and passes are in the way between and in the times.
                lines.push(format!("{drawn}; travel {}", mm(way.travel)));
            } else if line.starts_with(DRAWING) {
                lines.push(format!(
                    "time: cut {}; travel {}; wait {}; total {} s",
                    fixed(time.cut, 1),
                    fixed(time.travel, 1),
                    fixed(time.wait, 1),
                    fixed(time.total, 1)
                ));
                let passes = program.runs.iter().map(|run| run.pass).max().unwrap_or(1);
                lines.push(format!("passes: {passes}"));
                lines.extend(program.told.iter().map(|line| one_line(line)));
            } else {
                lines.push(line.clone());
            }
        }
        Manifest { title: self.title.clone(), lines }
    }

    /// A short name of the file for people: lay and sheet.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Its lines, the hash of the body last.
    pub fn lines(&self, body: &str) -> Vec<String> {
        let mut lines = self.lines.clone();
        lines.push(format!("body: sha256 {}", hash(body.as_bytes())));
        lines
    }
}

fn length_line(cut: f64, marked: f64, travel: f64) -> String {
    format!("length: cut {}; marked {}; travel {}", mm(cut), mm(marked), mm(travel))
}

/// Which part of the sheet the file is for, and where the file's origin lies on the sheet.
fn window_line(plan: &CutPlan) -> String {
    plan.window.map_or("window: none".to_owned(), |w| {
        let (x, y) = (mm(w.origin.x), mm(w.origin.y));
        format!("window: {} of {}; origin x {x}; y {y}", w.number, w.of)
    })
}

/// The last part of a path, as one line.
fn bare(path: &str) -> String {
    let name = path.rsplit(['/', '\\']).next().unwrap_or_default();
    one_line(name)
}

/// Millimetres under way.
struct Way {
    cut: f64,
    marked: f64,
    travel: f64,
}

impl Way {
    /// Cuts are holes and edges, the other layers are marks; the rule is neither. Travel begins at the origin.
    fn of(plan: &CutPlan) -> Way {
        let (mut cut, mut marked, mut travel) = (0.0, 0.0, 0.0);
        let mut at = Point::ORIGIN;
        for stroke in plan.strokes.iter().filter(|s| s.layer != Layer::Rule) {
            let length: f64 = stroke.segs().iter().map(Seg::length).sum();
            match stroke.layer {
                Layer::Holes | Layer::Edges => cut += length,
                _ => marked += length,
            }
            for motion in &stroke.motions {
                match *motion {
                    Motion::Rapid(to) => {
                        travel += (to - at).hypot();
                        at = to;
                    }
                    Motion::Line(to) | Motion::Arc(to, _) => at = to,
                    Motion::Circle(..) => {}
                }
            }
        }
        Way { cut, marked, travel }
    }
}

fn piece_line(plan: &CutPlan, row: &Row) -> String {
    let numbers: Vec<String> = row.strokes.iter().map(u32::to_string).collect();
    let round = plan.strokes.iter().any(|s| {
        s.layer == Layer::Edges
            && row.strokes.contains(&s.number)
            && s.motions.iter().any(|m| matches!(m, Motion::Circle(..)))
    });
    let size = if round {
        format!("diameter {}", mm(row.size.0))
    } else {
        format!("box {} x {}", mm(row.size.0), mm(row.size.1))
    };
    let punched: Vec<String> = row
        .punches
        .iter()
        .map(|(at, diameter)| format!("{} at {} {}", mm(*diameter), mm(at.x), mm(at.y)))
        .collect();
    format!(
        "piece: x {}; y {}; turn {}; mirrored {}; strokes {}; {size}; area {}; punched {}; address {}",
        mm(row.x),
        mm(row.y),
        angle(row.turn),
        if row.mirrored { "yes" } else { "no" },
        none_if_empty(&numbers.join(" ")),
        mm(row.area),
        none_if_empty(&punched.join(", ")),
        one_line(&row.address)
    )
}

fn none_if_empty(text: &str) -> &str {
    if text.is_empty() { "none" } else { text }
}

/// The canonical text of all strokes: a line `LAYER address`, then a line a motion. `R x y` is a rapid, `L x y` a line,
/// `A x y bulge` an arc, `C x y radius ccw|cw` a circle from where the tool stands.
pub fn motions_text(plan: &CutPlan) -> String {
    let mut text = String::new();
    for stroke in &plan.strokes {
        let _ = writeln!(text, "{} {}", stroke.layer, one_line(&stroke.address));
        for motion in &stroke.motions {
            let _ = match motion {
                Motion::Rapid(to) => writeln!(text, "R {} {}", mm(to.x), mm(to.y)),
                Motion::Line(to) => writeln!(text, "L {} {}", mm(to.x), mm(to.y)),
                Motion::Arc(to, b) => writeln!(text, "A {} {} {}", mm(to.x), mm(to.y), bulge(*b)),
                Motion::Circle(c, r, clockwise) => {
                    let way = if *clockwise { "cw" } else { "ccw" };
                    writeln!(text, "C {} {} {} {way}", mm(c.x), mm(c.y), mm(*r))
                }
            };
        }
    }
    text
}

/// SHA-256 over [`motions_text`]: two plans with one hash cut the same.
pub fn motions_hash(plan: &CutPlan) -> String {
    hash(motions_text(plan).as_bytes())
}

/// SHA-256 in small hexadecimal.
pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
