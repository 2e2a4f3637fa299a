//! Reads the G-code that this project writes: a machine of states that knows few words and refuses the rest.
//!
//! A line that breaks a rule is told with the invariant it breaks, and reading goes on where it can, so that one run
//! tells all. Nothing is modal but what the file must say once: unit, plane, sort of figures.
//!
//! # Source
//! T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter, Version 3", NIST IR 6556 (2000): words, arcs
//! and the 0.002 mm by which the radii of an arc may differ.

use super::MachineRecord;
use super::drawn::{Drawn, Format, Layer, Program, Role, Run, Stop, Stroke};
use super::manifest::{Papers, told, unfolded};
use super::tip::Tip;
use super::track::{Seg, Spot, plus, steps};

/// Longest line.
const LONGEST: usize = 250;
/// The two radii of an arc may differ by this (mm).
pub(super) const RADII: f64 = 0.002;
/// What must be said before the first motion, in this order.
const SETTING: [&str; 5] = ["G21", "G90", "G94", "G17", "G40"];

/// The words of one line: letter and figure.
type Words<'a> = Vec<(char, &'a str)>;

/// The beam as the file has left it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beam {
    /// Nothing was said yet, or it was put off with its power left.
    Doubtful,
    /// `M5 S0` was said.
    Off,
    /// Put on, and nothing has moved since.
    Fresh,
    On,
}

/// The machine as the file has brought it so far.
struct State<'a> {
    machine: &'a MachineRecord,
    drawn: Drawn,
    program: Program,
    set: usize,
    at: Option<Spot>,
    /// Height in steps, for a knife.
    height: Option<i64>,
    beam: Beam,
    moved: bool,
    feed: Option<f64>,
    role: Role,
    tip: Option<Tip>,
    ended: bool,
}

/// The file as strokes and what the program does between them.
pub(super) fn read(text: &str, machine: &MachineRecord) -> Result<Drawn, Stop> {
    if !text.is_ascii() {
        return Err((3, "a sign that is not ASCII".to_owned()));
    }
    let mut comments: Vec<&str> = Vec::new();
    let mut rest = text;
    while let Some((line, more)) = rest.split_once('\n') {
        let Some(words) = line.strip_prefix("( ").and_then(|l| l.strip_suffix(" )")) else {
            match line.strip_prefix("(+ ").and_then(|l| l.strip_suffix(" )")) {
                Some(_) => comments.push(&line[1..line.len() - 2]),
                None => break,
            }
            rest = more;
            continue;
        };
        comments.push(words);
        rest = more;
        if words.starts_with("body: ") {
            break;
        }
    }
    let blade = machine.blade.as_ref().filter(|b| !machine.laser && !b.compensates);
    let mut state = State {
        machine,
        drawn: Drawn {
            format: Format::Gcode,
            papers: Papers::read(&unfolded(&comments), &[rest.as_bytes()]),
            strokes: Vec::new(),
            program: None,
            wrong: Vec::new(),
            extent: None,
        },
        program: Program::default(),
        set: 0,
        at: None,
        height: None,
        beam: Beam::Doubtful,
        moved: false,
        feed: None,
        role: Role::Contour,
        tip: blade.map(|b| Tip::new(b.offset)),
        ended: false,
    };
    if !text.ends_with('\n') {
        state.wrong(3, "the last line is cut short".to_owned());
    }
    let before = text.len() - rest.len();
    let mut number = text[..before].matches('\n').count();
    for line in rest.split_terminator('\n') {
        number += 1;
        state.line(line, number);
    }
    state.end();
    let mut drawn = state.drawn;
    drawn.program = Some(state.program);
    Ok(drawn)
}

fn is_comment(line: &str) -> bool {
    let allowed = |b: u8| b.is_ascii_alphanumeric() || b" _.,:;=/+*-".contains(&b);
    line.strip_prefix('(')
        .and_then(|l| l.strip_suffix(')'))
        .is_some_and(|inner| inner.bytes().all(allowed))
}

impl State<'_> {
    fn wrong(&mut self, invariant: usize, words: String) {
        if self.drawn.wrong.iter().filter(|w| w.0 == invariant).count() < 5 {
            self.drawn.wrong.push((invariant, words));
        }
    }

    fn line(&mut self, line: &str, number: usize) {
        if line.len() > LONGEST {
            self.wrong(3, format!("line {number} is longer than {LONGEST} signs"));
        }
        if self.ended {
            self.wrong(2, format!("line {number} stands after the end of the program"));
        }
        if line.starts_with('(') {
            if is_comment(line) {
                self.comment(line[1..line.len() - 1].trim());
            } else {
                self.wrong(3, format!("line {number} holds a comment with signs of its own"));
            }
            return;
        }
        let Some(words) = words(line) else {
            self.wrong(3, format!("line {number}: `{}` is no line of words", told(line)));
            return;
        };
        self.program.words += words.len();
        if let Err((invariant, text)) = self.obey(line, &words) {
            self.wrong(invariant, format!("line {number}: {text}"));
        }
    }

    fn comment(&mut self, words: &str) {
        let role = match words {
            "mark" => Role::Mark,
            "lead" => Role::Lead,
            "contour" => Role::Contour,
            "tab" => Role::Tab,
            "overcut" => Role::Overcut,
            _ => {
                if let Some(rest) = words.strip_prefix("stroke ") {
                    match stroke(rest) {
                        Some(stroke) => {
                            self.role =
                                if stroke.layer.is_cut() { Role::Contour } else { Role::Mark };
                            self.drawn.strokes.push(stroke);
                        }
                        None => self.wrong(3, format!("the comment `{}`", told(words))),
                    }
                }
                return;
            }
        };
        self.role = role;
        if let Some(stroke) = self.drawn.strokes.last_mut() {
            stroke.runs.push(Run { role, segs: Vec::new() });
        }
    }

    fn obey(&mut self, line: &str, words: &Words<'_>) -> Result<(), Stop> {
        let letters: String = words.iter().map(|w| w.0).collect();
        let head = words.first().map_or(String::new(), |w| format!("{}{}", w.0, w.1));
        if let Some(at) = SETTING.iter().position(|s| *s == head) {
            if words.len() > 1 || at != self.set {
                return Err((4, format!("`{}` is said twice or out of turn", told(line))));
            }
            self.set += 1;
            return Ok(());
        }
        if matches!(head.as_str(), "G20" | "G91" | "G93" | "G95" | "G18" | "G19") {
            self.wrong(3, format!("`{head}` is not among the words"));
            return Err((4, format!("`{head}` changes unit, figures or plane")));
        }
        if self.beam == Beam::Fresh && !matches!(head.as_str(), "G1" | "G2" | "G3") {
            self.beam = Beam::On;
            self.wrong(1, format!("the beam is on while still: `{}` follows it", told(line)));
        }
        match (head.as_str(), letters.as_str()) {
            ("M5", "MS") => {
                let off = words[1].1 == "0";
                self.beam = if off { Beam::Off } else { Beam::Doubtful };
                if off { Ok(()) } else { Err((1, "the beam is put off without S0".to_owned())) }
            }
            ("M5", "M") => {
                self.beam = Beam::Doubtful;
                Err((1, "the beam is put off without S0".to_owned()))
            }
            ("M2", "M") => {
                self.ended = true;
                Ok(())
            }
            ("G4", "GP") => self.pause(words[1].1),
            ("G0", "GXY" | "GZ" | "GXYZ") => self.rapid(words),
            ("G1", "GXY" | "GXYF" | "GXYZ" | "GXYZF" | "GZ" | "GZF")
            | ("G2" | "G3", "GXYIJ" | "GXYIJF") => self.cut(&head, words),
            (word, "MS") if self.machine.beam_word.as_deref() == Some(word) => {
                self.beam_on(words[1].1)
            }
            _ => Err((3, format!("`{}` is not among the words", told(line)))),
        }
    }

    fn beam_on(&mut self, power: &str) -> Result<(), Stop> {
        let whole = steps(power).filter(|s| *s > 0);
        let Some(value) = whole else {
            return Err((3, format!("the power `{}`", told(power))));
        };
        #[allow(clippy::cast_precision_loss, reason = "a power word")]
        let value = value as f64 * 1e-4;
        self.beam = Beam::Fresh;
        self.program.power = self.program.power.max(value);
        if !self.machine.laser {
            return Err((3, "a beam word in a file for a knife".to_owned()));
        }
        Ok(())
    }

    fn pause(&mut self, seconds: &str) -> Result<(), Stop> {
        let value = steps(seconds).filter(|s| *s >= 0);
        let Some(value) = value else { return Err((3, "a wait without its seconds".to_owned())) };
        #[allow(clippy::cast_precision_loss, reason = "seconds")]
        let value = value as f64 * 1e-4;
        self.program.wait += value;
        if self.machine.laser && self.beam != Beam::Off {
            return Err((1, "a wait with the beam not put off".to_owned()));
        }
        Ok(())
    }

    fn ready(&mut self) -> Result<(), Stop> {
        if self.set < SETTING.len() {
            let missing = SETTING[self.set];
            self.set = SETTING.len();
            return Err((4, format!("a motion before `{missing}`")));
        }
        Ok(())
    }

    fn rapid(&mut self, words: &Words<'_>) -> Result<(), Stop> {
        let unset = self.ready();
        if self.machine.laser && self.beam != Beam::Off {
            let when = if self.moved { 1 } else { 2 };
            self.wrong(when, "a rapid with the beam not put off by `M5 S0`".to_owned());
        }
        let (to, height) = target(words)?;
        if let Some(to) = to {
            let low =
                self.machine.blade.as_ref().is_some_and(|blade| {
                    self.height.is_none_or(|z| mm(z) < blade.safe_height - 1e-4)
                });
            if !self.machine.laser && low {
                self.wrong(1, "a rapid with the blade not raised".to_owned());
            }
            let from = self.at.unwrap_or(Spot { x: 0, y: 0 });
            self.program.rapids.push([from.mm(), to.mm()]);
            if let Some(stroke) = self.drawn.strokes.last_mut() {
                let segs = match self.role {
                    Role::Tab if from != to => vec![Seg::line(from, to)],
                    _ => Vec::new(),
                };
                stroke.runs.push(Run { role: self.role, segs });
            }
            self.at = Some(to);
            self.moved = true;
        }
        self.lift(height)?;
        unset
    }

    fn lift(&mut self, height: Option<i64>) -> Result<(), Stop> {
        let Some(z) = height else { return Ok(()) };
        self.height = Some(z);
        let Some(blade) = self.machine.blade.as_ref().filter(|_| !self.machine.laser) else {
            return Err((3, "a height in a file for a laser".to_owned()));
        };
        if -mm(z) > blade.cut_depth + 1e-4 {
            return Err((
                10,
                format!("{:.3} mm deep, over the {} allowed", -mm(z), blade.cut_depth),
            ));
        }
        Ok(())
    }

    fn cut(&mut self, head: &str, words: &Words<'_>) -> Result<(), Stop> {
        let unset = self.ready();
        let lit = matches!(self.beam, Beam::Fresh | Beam::On);
        if lit {
            self.beam = Beam::On;
        }
        if let Some((_, feed)) = words.iter().find(|w| w.0 == 'F') {
            let value = steps(feed).filter(|f| *f >= 0);
            let Some(value) = value else {
                return Err((3, "a feed that cannot be read".to_owned()));
            };
            self.feed = Some(mm(value));
        }
        let feed = self.feed.unwrap_or(0.0);
        if feed <= 0.0 {
            self.wrong(10, "a cut at feed 0".to_owned());
        }
        let (to, height) = target(words)?;
        if !self.moved && self.machine.laser && lit {
            self.wrong(2, "the first motion is made with the beam on".to_owned());
        }
        let Some(to) = to else {
            self.lift(height)?;
            return unset;
        };
        let from = self.at.unwrap_or(Spot { x: 0, y: 0 });
        let seg = if head == "G1" {
            Seg::line(from, to)
        } else {
            let (i, j) = (named(words, 'I')?, named(words, 'J')?);
            let center = plus(from.mm(), Spot { x: i, y: j }.mm());
            let Some((seg, off)) = Seg::by_center(from, to, center, head == "G3") else {
                return Err((3, "an arc without a way or without a radius".to_owned()));
            };
            self.program.radii = self.program.radii.max(off);
            if off > RADII + 1e-9 {
                self.wrong(3, format!("the radii of an arc differ by {off:.4} mm"));
            }
            seg
        };
        self.at = Some(to);
        self.moved = true;
        self.lift(height)?;
        self.keep(&seg, feed);
        unset
    }

    /// Keeps a piece that was cut: itself, or what the tip made of it.
    fn keep(&mut self, seg: &Seg, feed: f64) {
        let off = self.machine.laser && self.beam != Beam::On;
        if off || seg.a == seg.b {
            self.program.rapids.push([seg.a.mm(), seg.b.mm()]);
            return;
        }
        self.program.pivots.push(*seg);
        self.program.cutting += seg.length() / feed.max(1e-9) * 60.0;
        let feeds = match self.role {
            Role::Mark => &mut self.program.mark_feeds,
            _ => &mut self.program.feeds,
        };
        let [least, most] = feeds.unwrap_or([feed; 2]);
        *feeds = Some([least.min(feed), most.max(feed)]);
        let made = match &mut self.tip {
            Some(tip) => tip.drag(seg),
            None => vec![*seg],
        };
        let role = self.role;
        if role == Role::Tab {
            self.wrong(8, "something is cut in a tab".to_owned());
        }
        let Some(stroke) = self.drawn.strokes.last_mut() else {
            self.wrong(8, "a cut that belongs to no stroke".to_owned());
            return;
        };
        match stroke.runs.last_mut() {
            Some(run) if run.role == role => run.segs.extend(made),
            _ => stroke.runs.push(Run { role, segs: made }),
        }
    }

    fn end(&mut self) {
        if !self.ended {
            self.wrong(2, "the program does not end with `M2`".to_owned());
        }
        if self.machine.laser && self.beam != Beam::Off {
            self.wrong(2, "the program ends without `M5 S0`".to_owned());
        }
        if let Some(blade) = self.machine.blade.as_ref().filter(|_| !self.machine.laser)
            && self.height.is_none_or(|z| mm(z) < blade.safe_height - 1e-4)
        {
            self.wrong(2, "the program ends with the blade not raised".to_owned());
        }
        if self.set < SETTING.len() {
            self.wrong(4, format!("`{}` is not said", SETTING[self.set]));
        }
        for stroke in &mut self.drawn.strokes {
            stroke.runs.retain(|run| !run.segs.is_empty());
        }
    }
}

fn mm(steps: i64) -> f64 {
    Spot { x: steps, y: 0 }.mm()[0]
}

/// `N LAYER pass P`.
fn stroke(words: &str) -> Option<Stroke> {
    let list: Vec<&str> = words.split(' ').collect();
    let [number, layer, "pass", pass] = list[..] else { return None };
    let mut stroke = Stroke::new(number.parse().ok()?, Layer::of(layer)?);
    stroke.pass = pass.parse().ok().filter(|p| *p > 0)?;
    Some(stroke)
}

fn words(line: &str) -> Option<Words<'_>> {
    line.split(' ')
        .map(|word| {
            let (letter, figure) = word.split_at_checked(1)?;
            let letter = letter.chars().next().filter(char::is_ascii_uppercase)?;
            let plain = |b: u8| b.is_ascii_digit() || matches!(b, b'.' | b'-');
            (!figure.is_empty() && figure.bytes().all(plain)).then_some((letter, figure))
        })
        .collect()
}

fn named(words: &Words<'_>, letter: char) -> Result<i64, Stop> {
    let figure = words.iter().find(|w| w.0 == letter).and_then(|w| steps(w.1));
    figure.ok_or_else(|| (3, format!("the figure of {letter} cannot be read")))
}

/// Where a motion goes: across, and up.
fn target(words: &Words<'_>) -> Result<(Option<Spot>, Option<i64>), Stop> {
    let has = |letter| words.iter().any(|w| w.0 == letter);
    let across =
        if has('X') { Some(Spot { x: named(words, 'X')?, y: named(words, 'Y')? }) } else { None };
    let up = if has('Z') { Some(named(words, 'Z')?) } else { None };
    Ok((across, up))
}
