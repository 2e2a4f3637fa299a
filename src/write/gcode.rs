//! The program of a laser or a knife as G-code: millimetres, absolute places, true arcs, a short list of words.
//!
//! A file is the manifest as comments, a preamble, the runs of the program, and a clean end. Words are `G0 G1 G2 G3 G4`,
//! `G17 G21 G40 G90 G94`, `M2 M5`, the machine's own beam word, and `X Y Z I J F S P`. Every motion carries its own
//! word and both places. The beam is off, and its power zero, before every `G0`; it is lit directly before the first
//! motion that cuts. Words of the user's stand in comments only, as plain letters.
//!
//! # Source
//! RS274/NGC as in Kramer, Proctor, Messina, "The NIST RS274NGC Interpreter, version 3", NIST IR 6556, 2000: the words,
//! the 256 characters of a line, and 0.002 mm between the two radii of an arc.

use super::chains::is_flat;
use super::manifest::Manifest;
use super::number::{MM_DECIMALS, as_written, fixed};
use crate::geom::{Point, Seg};
use crate::machine::{KnifePlate, Machine, Process};
use crate::plan::{Level, Program, Role, Run, Step};
use std::fmt::{self, Write};

/// No line is longer (characters).
const LONGEST: usize = 250;
/// The two radii of an arc may differ by this much (mm).
///
/// # Source
/// NIST IR 6556, 3.5.3.
const RADII: f64 = 0.002;
/// The middle of a written arc may stand off by this much (mm).
const ASTRAY: f64 = 0.002;
/// Arcs over a shorter chord are written as lines (mm): no tool tells them.
const SHORT: f64 = 0.002;
/// Beyond this radius an arc is written in lines that stand off by at most [`CHORD`] (mm): its centre would need more
/// figures than readers hold.
const FLAT_RADIUS: f64 = 10_000.0;
/// See [`FLAT_RADIUS`].
const CHORD: f64 = 5e-4;
/// An arc is halved no more often than this.
const DEEPEST: u32 = 24;

/// Why there is no G-code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unwritable {
    /// What is missing or can't be said.
    pub text: String,
    /// What to type.
    pub cure: String,
}

impl fmt::Display for Unwritable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl std::error::Error for Unwritable {}

fn unwritable(text: impl Into<String>, cure: impl Into<String>) -> Unwritable {
    Unwritable { text: text.into(), cure: cure.into() }
}

/// A step that has no words: a slip of the program's maker, never of the user.
fn wordless(what: &str) -> Unwritable {
    unwritable(format!("a step can't be written: {what}"), "use SVG or DXF, and tell us of it")
}

/// A program as a G-code file.
///
/// # Units
/// Millimetres, four decimals; feeds in mm/min, waits in seconds.
///
/// # Errors
/// A machine's record without the words or heights it takes, and a step that can't be written.
pub fn cut_gcode(
    program: &Program,
    machine: &Machine,
    manifest: &Manifest,
) -> Result<String, Unwritable> {
    let tool = Tool::of(machine)?;
    let mut pen = Pen::new(&tool);
    for word in ["G21", "G90", "G94", "G17", "G40"] {
        pen.line(word);
    }
    pen.off();
    for (at, run) in program.runs.iter().enumerate() {
        let known = program.plan.strokes.iter();
        if !known.into_iter().any(|s| s.number == run.stroke && s.layer == run.layer) {
            return Err(wordless(&format!("stroke {} is not in the plan", run.stroke)));
        }
        pen.passes = passes(&program.runs, at);
        pen.run(run)?;
    }
    pen.off();
    pen.line("M2");
    let body = pen.text;
    let mut text = String::with_capacity(body.len() + 4096);
    for line in manifest.lines(&body) {
        comment(&mut text, &line);
    }
    text.push_str(&body);
    Ok(text)
}

/// How often the stroke of a run is run along.
fn passes(runs: &[Run], at: usize) -> u32 {
    let of = runs.iter().filter(|run| run.stroke == runs[at].stroke);
    of.map(|run| run.pass).max().unwrap_or(1)
}

/// A line of the manifest as comments; what is too long goes on in the next.
fn comment(text: &mut String, line: &str) {
    let plain: String = line.chars().map(harmless).collect();
    let mut rest = plain.as_str();
    let mut open = "( ";
    loop {
        let room = LONGEST - open.len() - 2;
        let (now, later) = rest.split_at(rest.len().min(room));
        let _ = writeln!(text, "{open}{now} )");
        if later.is_empty() {
            return;
        }
        (rest, open) = (later, "(+ ");
    }
}

/// What may stand in a comment; everything else is a low line.
fn harmless(c: char) -> char {
    let plain = c.is_ascii_alphanumeric() || " _.,:;=/+*-".contains(c);
    if plain { c } else { '_' }
}

/// Whether the record of a machine has what G-code takes.
pub fn can_have_gcode(machine: &Machine) -> bool {
    Tool::of(machine).is_ok()
}

/// What the machine's record says of its tool.
enum Tool {
    Beam { word: String, full: f64 },
    Blade { plate: KnifePlate, safe: f64, depth: f64 },
}

impl Tool {
    fn of(machine: &Machine) -> Result<Tool, Unwritable> {
        let name = &machine.key;
        match machine.process {
            Process::Laser => {
                let plate = machine.laser.as_ref();
                let word = plate.and_then(|p| p.beam_word.clone());
                let full = plate.and_then(|p| p.full_power_word).filter(|s| *s > 0.0);
                let (Some(word), Some(full)) = (word, full) else {
                    return Err(unwritable(
                        format!(
                            "no G-code: the record of {name} has no `beam-word` and `full-power-word`"
                        ),
                        "the machine's papers say them: for example beam-word = \"M3\", full-power-word = 1000",
                    ));
                };
                if !matches!(word.as_str(), "M3" | "M4") {
                    return Err(wordless("a beam word that is neither M3 nor M4"));
                }
                Ok(Tool::Beam { word, full })
            }
            Process::Knife => {
                let found = machine.knife.and_then(|p| Some((p, p.safe_height?, p.cut_depth?)));
                let Some((plate, safe, depth)) = found else {
                    return Err(unwritable(
                        format!(
                            "no G-code: the record of {name} has no `safe-height` and `cut-depth`"
                        ),
                        "write them below [knife], such as safe-height = \"5 mm\", cut-depth = \"1 mm\"",
                    ));
                };
                Ok(Tool::Blade { plate, safe, depth })
            }
        }
    }
}

/// Writes lines and knows the state they leave the machine in.
struct Pen<'a> {
    tool: &'a Tool,
    text: String,
    at: Point,
    /// Whether the tool has a place yet.
    placed: bool,
    /// Share of power that the program wants now, and that is lit now.
    wanted: f64,
    lit: f64,
    /// The feed that is wanted, and the last one written.
    feed: f64,
    fed: String,
    /// Height of a blade; none while it is safe.
    down: Option<Level>,
    role: Option<Role>,
    /// Stroke and pass that were told last.
    pass: Option<(u32, u32)>,
    passes: u32,
}

impl<'a> Pen<'a> {
    fn new(tool: &'a Tool) -> Pen<'a> {
        Pen {
            tool,
            text: String::new(),
            at: Point::ORIGIN,
            placed: false,
            wanted: 0.0,
            lit: 0.0,
            feed: 0.0,
            fed: String::new(),
            down: None,
            role: None,
            pass: None,
            passes: 1,
        }
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// Beam off and power zero, or the blade out of the material.
    fn off(&mut self) {
        match self.tool {
            Tool::Beam { .. } => {
                if !self.text.ends_with("M5 S0\n") {
                    self.line("M5 S0");
                }
                self.lit = 0.0;
            }
            Tool::Blade { safe, .. } => {
                let line = format!("G0 Z{}", place(*safe));
                self.line(&line);
                self.down = None;
            }
        }
    }

    fn run(&mut self, run: &Run) -> Result<(), Unwritable> {
        // A contour may be cut in several runs: it is one stroke all the same.
        if self.pass != Some((run.stroke, run.pass)) {
            let head = format!("( stroke {} {} pass {} )", run.stroke, run.layer, run.pass);
            self.line(&head);
            self.pass = Some((run.stroke, run.pass));
        }
        self.role = None;
        for (role, step) in &run.steps {
            if self.role != Some(*role) {
                self.role = Some(*role);
                let line = format!("( {role} )");
                self.line(&line);
            }
            self.step(step)?;
        }
        if self.wanted > 0.0 || self.down.is_some() {
            return Err(wordless("a run ends with its tool at work"));
        }
        Ok(())
    }

    fn step(&mut self, step: &Step) -> Result<(), Unwritable> {
        match *step {
            Step::Rapid(to) => self.rapid(to),
            Step::Line(to) => self.cut(&Seg::line(self.at, to)),
            Step::Arc(to, bulge) => self.cut(&Seg::arc(self.at, to, bulge)),
            Step::Swivel(to, bulge) if matches!(self.tool, Tool::Blade { .. }) => {
                self.cut(&Seg::arc(self.at, to, bulge))
            }
            Step::Swivel(..) => Err(wordless("a beam that turns about a corner")),
            Step::Feed(feed) if feed.is_finite() && feed > 0.0 => {
                self.feed = feed;
                Ok(())
            }
            Step::Feed(_) => Err(wordless("a feed of nothing")),
            Step::Power(share) => self.power(share),
            Step::Wait(seconds) => self.wait(seconds),
            Step::Level(level) => self.level(level),
        }
    }

    fn power(&mut self, share: f64) -> Result<(), Unwritable> {
        let Tool::Beam { full, .. } = self.tool else {
            return Err(wordless("power for a knife"));
        };
        if !(0.0..=1.0).contains(&share) {
            return Err(wordless("power beyond full power"));
        }
        if share > 0.0 && figure(share * full) == "0" {
            return Err(wordless("power too small for its word"));
        }
        self.wanted = share;
        if share <= 0.0 && self.lit > 0.0 {
            self.off();
        }
        Ok(())
    }

    fn wait(&mut self, seconds: f64) -> Result<(), Unwritable> {
        if !matches!(self.tool, Tool::Beam { .. }) || self.wanted > 0.0 {
            return Err(wordless("a wait with the tool at work"));
        }
        if !(seconds.is_finite() && seconds >= 0.0) {
            return Err(wordless("a wait without end"));
        }
        self.off();
        let line = format!("G4 P{}", figure(seconds));
        self.line(&line);
        Ok(())
    }

    fn rapid(&mut self, to: Point) -> Result<(), Unwritable> {
        let to = written(to)?;
        if self.wanted > 0.0 || self.down.is_some() {
            return Err(wordless("a way through the air with the tool at work"));
        }
        if matches!(self.tool, Tool::Beam { .. }) {
            self.off();
        }
        let line = format!("G0 X{} Y{}", place(to.x), place(to.y));
        self.line(&line);
        self.at = to;
        self.placed = true;
        Ok(())
    }

    fn level(&mut self, level: Level) -> Result<(), Unwritable> {
        let Tool::Blade { plate, depth, .. } = self.tool else {
            return Err(wordless("a height for a beam"));
        };
        let z = match level {
            Level::Safe => {
                self.off();
                return Ok(());
            }
            Level::Swivel => plate.swivel_height.ok_or_else(|| {
                unwritable(
                    "no G-code: a corner is to be turned at a height that the record lacks",
                    "write swivel-height below [knife], or a greater lift-over",
                )
            })?,
            Level::Mark => -plate.mark_depth.ok_or_else(|| wordless("a mark without a depth"))?,
            Level::Cut(pass) if (1..=self.passes).contains(&pass) => {
                -depth * f64::from(pass) / f64::from(self.passes)
            }
            Level::Cut(_) => return Err(wordless("a pass beyond the last")),
        };
        if !self.placed {
            return Err(wordless("a blade lowered before it has a place"));
        }
        self.down = Some(level);
        self.motion(&format!("G1 Z{}", place(z)))
    }

    /// Along a line or an arc, both ends as a file holds them; nothing where it comes to no way at all.
    fn cut(&mut self, seg: &Seg) -> Result<(), Unwritable> {
        let to = written(seg.b)?;
        if !(seg.bulge.is_finite() && seg.bulge.abs() <= 1.0 + 1e-9) {
            return Err(wordless("an arc of more than half a turn"));
        }
        let working = match self.tool {
            Tool::Beam { .. } => self.wanted > 0.0,
            Tool::Blade { .. } => self.down.is_some(),
        };
        if !working || !self.placed {
            return Err(wordless("a cut with the tool off"));
        }
        if to == self.at {
            return Ok(());
        }
        self.arcs(&Seg { a: self.at, b: to, bulge: seg.bulge }, 0)
    }

    fn arcs(&mut self, seg: &Seg, deep: u32) -> Result<(), Unwritable> {
        if seg.a == seg.b {
            return Ok(());
        }
        let chord = seg.chord().hypot();
        let stands = chord * seg.bulge.abs() / 2.0;
        let far = seg.radius() > FLAT_RADIUS;
        if seg.is_line() || is_flat(seg) || chord < SHORT || (far && stands < CHORD) {
            return self.line_to(seg.b);
        }
        match (!far).then(|| Centre::of(seg)).flatten() {
            Some(centre) => self.arc_to(seg, &centre),
            None if deep < DEEPEST => {
                let middle = written(seg.at(0.5))?;
                let half = (seg.bulge.atan() / 2.0).tan();
                self.arcs(&Seg::arc(seg.a, middle, half), deep + 1)?;
                self.arcs(&Seg::arc(middle, seg.b, half), deep + 1)
            }
            None => Err(wordless("an arc that no figures hold")),
        }
    }

    fn line_to(&mut self, to: Point) -> Result<(), Unwritable> {
        self.motion(&format!("G1 X{} Y{}", place(to.x), place(to.y)))?;
        self.at = to;
        Ok(())
    }

    fn arc_to(&mut self, seg: &Seg, centre: &Centre) -> Result<(), Unwritable> {
        let word = if seg.bulge > 0.0 { "G3" } else { "G2" };
        let (x, y) = (place(seg.b.x), place(seg.b.y));
        self.motion(&format!("{word} X{x} Y{y} I{} J{}", place(centre.i), place(centre.j)))?;
        self.at = seg.b;
        Ok(())
    }

    /// A motion at the feed that is wanted, the beam lit before it where it is not yet.
    fn motion(&mut self, words: &str) -> Result<(), Unwritable> {
        if self.feed <= 0.0 {
            return Err(wordless("a motion without a feed"));
        }
        #[allow(clippy::float_cmp, reason = "the very same figure or another")]
        let other = self.wanted != self.lit;
        if let Tool::Beam { word, full } = self.tool
            && other
        {
            let line = format!("{word} S{}", figure(self.wanted * full));
            self.line(&line);
            self.lit = self.wanted;
        }
        let feed = figure(self.feed);
        let line = if feed == self.fed { words.to_owned() } else { format!("{words} F{feed}") };
        self.fed = feed;
        self.line(&line);
        Ok(())
    }
}

/// The centre of an arc from its start, as written.
struct Centre {
    i: f64,
    j: f64,
}

impl Centre {
    /// Of an arc between written ends; none where its figures do not hold it.
    fn of(seg: &Seg) -> Option<Centre> {
        let off = seg.center() - seg.a;
        let (i, j) = (as_written(off.x), as_written(off.y));
        let centre = Point::new(as_written(seg.a.x + i), as_written(seg.a.y + j));
        let (start, end) = ((seg.a - centre).hypot(), (seg.b - centre).hypot());
        // What a reader draws half way round.
        let wanted = seg.at(0.5);
        let astray = ((wanted - centre).hypot() - f64::midpoint(start, end)).abs();
        let holds = start > 0.0 && (start - end).abs() <= RADII && astray <= ASTRAY;
        holds.then_some(Centre { i, j })
    }
}

/// A point as a file holds it.
fn written(p: Point) -> Result<Point, Unwritable> {
    let far = crate::geom::tolerance::FAR;
    if !(p.x.abs() < far && p.y.abs() < far) {
        return Err(wordless("a place beyond any bed"));
    }
    Ok(Point::new(as_written(p.x), as_written(p.y)))
}

/// A place with all its decimals.
fn place(value: f64) -> String {
    let text = format!("{value:.MM_DECIMALS$}");
    match text.strip_prefix('-') {
        Some(figures) if figures.bytes().all(|b| matches!(b, b'0' | b'.')) => figures.to_owned(),
        _ => text,
    }
}

/// A feed, a power or a wait.
fn figure(value: f64) -> String {
    fixed(value, 3)
}
