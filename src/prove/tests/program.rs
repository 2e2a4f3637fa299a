//! Writes a job as G-code for a laser or a knife, by the form that `write` gives it.

use super::emit::{hash, papers};
use super::job::{Figure, Job, Line};
use std::f64::consts::PI;
use std::fmt::Write;

type Dot = [f64; 2];

fn four(value: f64) -> String {
    let text = format!("{value:.4}");
    if text == "-0.0000" { "0.0000".to_owned() } else { text }
}

fn rounded(p: Dot) -> Dot {
    p.map(|v| (v * 1e4).round() / 1e4)
}

struct Pen {
    text: String,
    at: Dot,
    feed: bool,
    cut: f64,
    travel: f64,
    wait: f64,
}

impl Pen {
    fn say(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    fn rapid(&mut self, to: Dot) {
        self.travel += (to[0] - self.at[0]).hypot(to[1] - self.at[1]);
        self.at = to;
        self.say(&format!("G0 X{} Y{}", four(to[0]), four(to[1])));
    }

    fn fed(&mut self) -> &'static str {
        if std::mem::replace(&mut self.feed, true) { "" } else { " F1200.0000" }
    }

    fn line(&mut self, to: Dot) {
        let feed = self.fed();
        self.cut += (to[0] - self.at[0]).hypot(to[1] - self.at[1]);
        self.at = to;
        self.say(&format!("G1 X{} Y{}{feed}", four(to[0]), four(to[1])));
    }

    fn arc(&mut self, to: Dot, center: Dot, left: bool) {
        let feed = self.fed();
        let from = rounded(self.at);
        let r = (from[0] - center[0]).hypot(from[1] - center[1]);
        self.cut += 2.0 * PI * r;
        self.at = to;
        let word = if left { "G3" } else { "G2" };
        self.say(&format!(
            "{word} X{} Y{} I{} J{}{feed}",
            four(to[0]),
            four(to[1]),
            four(center[0] - from[0]),
            four(center[1] - from[1])
        ));
    }
}

/// An arc of a bulge: its centre.
fn center(a: [f64; 3], b: [f64; 3]) -> Dot {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let rise = (1.0 - a[2] * a[2]) / (4.0 * a[2]);
    [(a[0] + b[0]) / 2.0 - dy * rise, (a[1] + b[1]) / 2.0 + dx * rise]
}

fn polar(c: Dot, r: f64, angle: f64) -> Dot {
    [c[0] + r * angle.cos(), c[1] + r * angle.sin()]
}

fn is_cut(line: &Line) -> bool {
    matches!(line.layer, "HOLES" | "EDGES")
}

/// The program of a job.
pub(super) fn gcode(job: &Job) -> String {
    let (body, papers) = parts(job);
    with_papers(&body, &papers)
}

/// Its body, and the lines of its manifest.
pub(super) fn parts(job: &Job) -> (String, Vec<String>) {
    let mut pen =
        Pen { text: String::new(), at: [0.0; 2], feed: false, cut: 0.0, travel: 0.0, wait: 0.0 };
    for word in ["G21", "G90", "G94", "G17", "G40"] {
        pen.say(word);
    }
    if job.machine.laser {
        pen.say("M5 S0");
        for line in job.lines.iter().filter(|l| l.layer != "RULE") {
            for pass in 1..=if is_cut(line) { job.passes } else { 1 } {
                laser(&mut pen, job, line, pass);
            }
        }
        pen.say("M5 S0");
        pen.say("G4 P2.5000");
        pen.wait += 2.5;
    } else {
        pen.say("G0 Z3.0000");
        for line in job.lines.iter().filter(|l| is_cut(l)) {
            knife(&mut pen, line);
        }
    }
    pen.say("M2");
    let (cut, travel) = (pen.cut / 20.0 + 1.0, pen.travel / 150.0 + 1.0);
    let time = format!(
        "time: cut {cut:.1}; travel {travel:.1}; wait {:.1}; total {:.1} s",
        pen.wait,
        cut + travel + pen.wait
    );
    (pen.text, papers(job, &[time, format!("passes: {}", job.passes)]))
}

/// The manifest in comments before a body, its hash last.
pub(super) fn with_papers(body: &str, papers: &[String]) -> String {
    let mut text = String::new();
    let sum = format!("body: sha256 {}", hash(body.as_bytes()));
    for line in papers.iter().chain([&sum]) {
        let plain: String = line
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() || " _.,:;=/+*-".contains(c) { c } else { '_' })
            .collect();
        let mut rest = plain.as_str();
        let mut head = "( ";
        while rest.len() > 200 {
            let _ = writeln!(text, "{head}{} )", &rest[..200]);
            (rest, head) = (&rest[200..], "(+ ");
        }
        let _ = writeln!(text, "{head}{rest} )");
    }
    text + body
}

fn laser(pen: &mut Pen, job: &Job, line: &Line, pass: u32) {
    pen.say(&format!("( stroke {} {} pass {pass} )", line.number, line.layer));
    pen.say("M5 S0");
    let edge = line.layer == "EDGES";
    let on = "M4 S600";
    if let Figure::Circle(c, r) = line.figure {
        // Round the circle from its east; a lead from the waste; a tab at its north where wanted; an overcut.
        let side = if edge { 1.0 } else { -1.0 };
        let turn = |angle: f64| polar(c, r, side * angle);
        pen.rapid([c[0] + r + side * 0.3, c[1]]);
        pen.say("( lead )");
        pen.say(on);
        pen.line([c[0] + r, c[1]]);
        pen.say("( contour )");
        if job.tabs && r > 8.0 {
            let half = 0.3 / r;
            pen.arc(turn(PI / 2.0 - half), c, edge);
            pen.say("( tab )");
            pen.say("M5 S0");
            pen.rapid(turn(PI / 2.0 + half));
            pen.say(on);
            pen.say("( contour )");
        }
        pen.arc(turn(PI), c, edge);
        pen.arc([c[0] + r, c[1]], c, edge);
        pen.say("( overcut )");
        pen.arc(turn(0.3), c, edge);
        pen.say("M5 S0");
        return;
    }
    let (corners, closed) = line.figure.corners(edge);
    pen.rapid([corners[0][0], corners[0][1]]);
    pen.say(if is_cut(line) { "( contour )" } else { "( mark )" });
    pen.say(on);
    for i in 0..corners.len() - usize::from(!closed) {
        let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
        if a[2] == 0.0 {
            pen.line([b[0], b[1]]);
        } else {
            pen.arc([b[0], b[1]], center(a, b), a[2] > 0.0);
        }
    }
    pen.say("M5 S0");
}

fn knife(pen: &mut Pen, line: &Line) {
    const D: f64 = 0.25;
    const RUN_IN: f64 = 2.5;
    pen.say(&format!("( stroke {} {} pass 1 )", line.number, line.layer));
    let edge = line.layer == "EDGES";
    let down = |pen: &mut Pen, at: Dot| {
        pen.rapid(at);
        pen.say("( lead )");
        let feed = pen.fed();
        pen.say(&format!("G1 Z-1.0000{feed}"));
    };
    if let Figure::Circle(c, r) = line.figure {
        let side = if edge { 1.0 } else { -1.0 };
        let (big, ahead) = (r.hypot(D), (D / r).atan());
        let pivot = |angle: f64| polar(c, big, side * (ahead + angle));
        // A half turn in the waste, right-handed, which meets the line at its east in the right direction.
        let small = if edge { 1.2 } else { (r / 2.0).min(1.2) };
        let (wide, early) = (small.hypot(D), (D / small).atan());
        let (middle, from) =
            if edge { ([c[0] + r + small, c[1]], 0.0) } else { ([c[0] + r - small, c[1]], PI) };
        down(pen, polar(middle, wide, from - early));
        pen.arc(polar(middle, wide, from - early - PI), middle, false);
        pen.say("( contour )");
        pen.arc(pivot(PI), c, edge);
        pen.arc(pivot(2.0 * PI), c, edge);
        pen.say("( overcut )");
        pen.arc(pivot(2.0 * PI + 0.2), c, edge);
        pen.say("G0 Z3.0000");
        return;
    }
    let (corners, _) = line.figure.corners(edge);
    let n = corners.len();
    let at = |i: usize| [corners[i % n][0], corners[i % n][1]];
    let way = |i: usize| {
        let (a, b) = (at(i), at(i + 1));
        let long = (b[0] - a[0]).hypot(b[1] - a[1]);
        [(b[0] - a[0]) / long, (b[1] - a[1]) / long]
    };
    let plus = |p: Dot, t: Dot, by: f64| [p[0] + t[0] * by, p[1] + t[1] * by];
    // In by the first side's own line, from before its corner.
    down(pen, plus(at(0), way(0), D - RUN_IN));
    pen.line(plus(at(0), way(0), D));
    pen.say("( contour )");
    for i in 0..n {
        pen.line(plus(at(i + 1), way(i), D));
        if i + 1 == n {
            // On along the first side, so that the blade does not stand right against the next contour.
            pen.say("( overcut )");
        }
        pen.arc(plus(at(i + 1), way((i + 1) % n), D), at(i + 1), true);
    }
    pen.line(plus(at(n), way(0), D + 1.0));
    pen.say("G0 Z3.0000");
}
