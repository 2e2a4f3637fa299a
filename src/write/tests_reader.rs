//! A small reader of G-code for the tests, by the rules of NIST IR 6556; it shares nothing with the writer.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::float_cmp,
    clippy::struct_excessive_bools,
    reason = "words are told apart by their exact figures; small counts"
)]

/// A motion as it was read: ends, centre of an arc with its way round (counter-clockwise: true), tool at work, feed.
#[derive(Debug, Clone)]
pub(crate) struct Move {
    pub(crate) from: (f64, f64),
    pub(crate) to: (f64, f64),
    pub(crate) arc: Option<((f64, f64), bool)>,
    pub(crate) cuts: bool,
    pub(crate) power: f64,
    pub(crate) feed: f64,
    /// The last two comments: `stroke …` and the role.
    pub(crate) stroke: String,
    pub(crate) role: String,
}

impl Move {
    /// Points along it, no chord standing off by more than a micrometre or so.
    pub(crate) fn points(&self) -> Vec<(f64, f64)> {
        let Some(((cx, cy), left)) = self.arc else {
            let long = (self.to.0 - self.from.0).hypot(self.to.1 - self.from.1);
            let n = (long / 0.5).ceil().max(1.0) as u32;
            return (0..=n)
                .map(|i| {
                    let t = f64::from(i) / f64::from(n);
                    let mix = |a: f64, b: f64| a + (b - a) * t;
                    (mix(self.from.0, self.to.0), mix(self.from.1, self.to.1))
                })
                .collect();
        };
        let radius = (self.from.0 - cx).hypot(self.from.1 - cy);
        let begins = (self.from.1 - cy).atan2(self.from.0 - cx);
        let sweep = self.sweep();
        let step = (8.0 * 1e-3 / radius).sqrt().min(0.2).min(0.5 / radius);
        let n = (sweep / step).ceil().max(1.0) as u32;
        let way = if left { 1.0 } else { -1.0 };
        let mut made: Vec<(f64, f64)> = (0..n)
            .map(|i| {
                let angle = begins + way * sweep * f64::from(i) / f64::from(n);
                (cx + radius * angle.cos(), cy + radius * angle.sin())
            })
            .collect();
        made.push(self.to);
        made
    }

    /// Angle of an arc (radians), above 0.
    pub(crate) fn sweep(&self) -> f64 {
        let Some(((cx, cy), left)) = self.arc else { return 0.0 };
        let begins = (self.from.1 - cy).atan2(self.from.0 - cx);
        let ends = (self.to.1 - cy).atan2(self.to.0 - cx);
        let turn = if left { ends - begins } else { begins - ends };
        let whole = turn.rem_euclid(std::f64::consts::TAU);
        if whole < 1e-12 { std::f64::consts::TAU } else { whole }
    }
}

/// The state of the machine while a file is read.
#[derive(Default)]
struct State<'a> {
    laser: bool,
    moves: Vec<Move>,
    at: (f64, f64),
    z: f64,
    beam: bool,
    power: f64,
    feed: f64,
    head: usize,
    stroke: String,
    role: String,
    /// The beam was lit by the last line, so this one must move it.
    due: bool,
    ended: bool,
    last: &'a str,
}

/// Reads a file, and stops where it breaks a rule of the form: words, order, beam, radii, its end.
pub(crate) fn read(text: &str, laser: bool) -> Result<Vec<Move>, String> {
    let mut state = State { laser, ..State::default() };
    if !text.is_ascii() || !text.ends_with('\n') || text.contains('\r') {
        return Err("not plain lines".into());
    }
    for (n, line) in text.lines().enumerate() {
        let told = if line.len() > 250 || state.ended {
            Err("too long, or after the end")
        } else if line.starts_with('(') {
            state.comment(line)
        } else {
            state.words(line)
        };
        told.map_err(|what| format!("line {}: {what}: {line}", n + 1))?;
    }
    if state.ended { Ok(state.moves) } else { Err("no end".into()) }
}

impl<'a> State<'a> {
    fn comment(&mut self, line: &str) -> Result<(), &'static str> {
        let words = line.strip_prefix('(').and_then(|l| l.strip_suffix(" )"));
        let words = words.ok_or("an open comment")?;
        let plain = |c: char| c.is_ascii_alphanumeric() || " _.,:;=/+*-".contains(c);
        if !words.chars().all(plain) {
            return Err("a sign in a comment");
        }
        if self.due {
            return Err("lit and not moved");
        }
        let words = words.trim();
        if words.starts_with("stroke ") {
            words.clone_into(&mut self.stroke);
        } else {
            words.clone_into(&mut self.role);
        }
        Ok(())
    }

    fn words(&mut self, line: &'a str) -> Result<(), &'static str> {
        let mut words: Vec<(char, f64)> = Vec::new();
        for word in line.split(' ') {
            let letter = word.chars().next().ok_or("two spaces")?;
            let figure = word[1..].parse::<f64>().ok().filter(|f| f.is_finite());
            words.push((letter, figure.ok_or("a word without a figure")?));
        }
        let of = |letter: char| words.iter().find(|(l, _)| *l == letter).map(|(_, v)| *v);
        let letters: String = words.iter().map(|(l, _)| *l).collect();
        if self.due && !matches!(words[0], ('G', 1.0 | 2.0 | 3.0)) {
            return Err("lit and not moved");
        }
        let clear = if self.laser { self.last == "M5 S0" } else { self.z > 0.0 };
        match (words[0].0, words[0].1, letters.as_str()) {
            ('G', 21.0 | 90.0 | 94.0 | 17.0 | 40.0, "G") => self.head += 1,
            ('M', 5.0, "MS") if of('S') == Some(0.0) => (self.beam, self.power) = (false, 0.0),
            ('M', 3.0 | 4.0, "MS") if self.laser && of('S') > Some(0.0) => {
                (self.beam, self.due) = (true, true);
                self.power = of('S').unwrap_or(0.0);
            }
            ('M', 2.0, "M")
                if !self.beam && (self.last == "M5 S0" || self.last.starts_with("G0 Z")) =>
            {
                self.ended = true;
            }
            ('G', 4.0, "GP") if !self.beam => {}
            ('G', 0.0, "GZ") if !self.laser => self.z = of('Z').unwrap_or(0.0),
            ('G', 1.0, "GZ" | "GZF") if !self.laser => {
                self.feed = of('F').unwrap_or(self.feed);
                self.z = of('Z').unwrap_or(0.0);
            }
            ('G', 0.0, "GXY") if clear => self.go(&of, None, false)?,
            ('G', 1.0, "GXY" | "GXYF") => self.go(&of, None, true)?,
            ('G', word @ (2.0 | 3.0), "GXYIJ" | "GXYIJF") => {
                self.go(&of, Some(word == 3.0), true)?;
            }
            _ => return Err("not a line of this form"),
        }
        self.last = line;
        Ok(())
    }

    /// A motion; of an arc whether it runs counter-clockwise.
    fn go(
        &mut self,
        of: &impl Fn(char) -> Option<f64>,
        left: Option<bool>,
        cuts: bool,
    ) -> Result<(), &'static str> {
        let working = if self.laser { self.beam } else { self.z <= 0.0 };
        if cuts != working {
            return Err("a cut with the tool off, or a way in the air with the tool at work");
        }
        self.due = false;
        self.feed = of('F').unwrap_or(self.feed);
        let at = self.at;
        let to = (of('X').unwrap_or(0.0), of('Y').unwrap_or(0.0));
        let centre = (at.0 + of('I').unwrap_or(0.0), at.1 + of('J').unwrap_or(0.0));
        let reach = |p: (f64, f64)| (p.0 - centre.0).hypot(p.1 - centre.1);
        if left.is_some() && (reach(at) - reach(to)).abs() > 0.002 {
            return Err("two radii");
        }
        if cuts && (to == at || self.feed <= 0.0 || self.head != 5) {
            return Err("a cut that stands still, without a feed or before the head");
        }
        self.moves.push(Move {
            from: at,
            to,
            arc: left.map(|left| (centre, left)),
            cuts,
            power: if cuts { self.power } else { 0.0 },
            feed: self.feed,
            stroke: self.stroke.clone(),
            role: self.role.clone(),
        });
        self.at = to;
        Ok(())
    }
}
