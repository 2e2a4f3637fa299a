//! The only room that prints.

use super::args::{Colour, Common};
use crate::fault::{Fault, Gravity, Sources};
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use indicatif::{ProgressBar, ProgressStyle};
use std::cell::RefCell;
use std::io::{IsTerminal, Write};
use std::time::Duration;

/// How many faults are shown before the rest is only counted.
const MOST: usize = 20;

/// Speaks to the user.
#[derive(Debug)]
pub(super) struct Show {
    json: bool,
    quiet: bool,
    colour: bool,
    /// Turns while a command is at work.
    wheel: RefCell<Option<ProgressBar>>,
}

impl Show {
    /// As the user asked.
    pub(super) fn new(common: &Common) -> Show {
        let wanted = |terminal: bool| match common.color {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => {
                terminal
                    && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
                    && std::env::var_os("TERM").is_none_or(|v| v != "dumb")
            }
        };
        Show {
            json: common.json,
            quiet: common.quiet,
            colour: wanted(std::io::stderr().is_terminal()),
            wheel: RefCell::new(None),
        }
    }

    /// Whether JSON is wanted.
    pub(super) fn is_json(&self) -> bool {
        self.json
    }

    /// Whether a bar may be drawn.
    pub(super) fn may_draw(&self) -> bool {
        !self.json && !self.quiet && std::io::stderr().is_terminal()
    }

    /// Says at once that a command is at work, on a terminal.
    pub(super) fn begin(&self, what: Option<&'static str>) {
        let Some(what) = what.filter(|_| self.may_draw()) else { return };
        let wheel = ProgressBar::new_spinner().with_message(what);
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}  {elapsed}") {
            wheel.set_style(style);
        }
        wheel.tick();
        wheel.enable_steady_tick(Duration::from_millis(100));
        *self.wheel.borrow_mut() = Some(wheel);
    }

    /// Takes that away: the answer comes, or a bar.
    pub(super) fn end(&self) {
        if let Some(wheel) = self.wheel.borrow_mut().take() {
            wheel.finish_and_clear();
        }
    }

    /// A line that only helps, beside the faults; on a terminal alone.
    pub(super) fn aside(&self, line: &str) {
        if self.may_draw() {
            err(line);
        }
    }

    /// A line of the answer; silent when JSON is wanted.
    pub(super) fn say(&self, line: &str) {
        if !self.json {
            out(line);
        }
    }

    /// A line that only helps; silent when quiet.
    pub(super) fn hint(&self, line: &str) {
        if !self.json && !self.quiet {
            out(line);
        }
    }

    /// Text as it is, without a line end of our own.
    pub(super) fn raw(text: &str) {
        let mut to = std::io::stdout().lock();
        // A closed pipe is the reader's choice, not a fault.
        let _ = to.write_all(text.as_bytes());
        let _ = to.flush();
    }

    /// The one JSON document.
    pub(super) fn json(value: &serde_json::Value) {
        out(&format!("{value:#}"));
    }

    /// A line beside what could not be understood.
    pub(super) fn told(line: &str) {
        err(&plain(line));
    }

    /// Faults with their lines and marks, the gravest last.
    pub(super) fn faults(&self, faults: &[Fault], sources: &Sources) {
        if self.json {
            return;
        }
        let mut list: Vec<&Fault> = faults.iter().collect();
        list.sort_by_key(|f| f.gravity);
        let skip = list.len().saturating_sub(MOST);
        if skip > 0 {
            err(&format!("({skip} more, shown once these are mended)"));
        }
        for fault in &list[skip..] {
            err(&self.fault(fault, sources));
        }
    }

    fn fault(&self, fault: &Fault, sources: &Sources) -> String {
        let renderer = if self.colour { Renderer::styled() } else { Renderer::plain() };
        let level = match fault.gravity {
            Gravity::Error => Level::ERROR,
            Gravity::Warning => Level::WARNING,
        };
        let text = plain(&fault.text);
        let title = level.primary_title(text.as_str()).id(fault.code);
        let mut group = Group::with_title(title);
        let labels: Vec<String> = fault.marks.iter().map(|m| plain(&m.label)).collect();
        let mut files: Vec<&str> = fault.marks.iter().map(|m| &*m.place.file).collect();
        files.dedup();
        for file in files {
            let Some(source) = sources.text(file) else {
                group = group.element(Level::NOTE.message(format!("in {file}")));
                continue;
            };
            let mut snippet = Snippet::source(source).path(file).line_start(1);
            for (i, mark) in fault.marks.iter().enumerate().filter(|(_, m)| &*m.place.file == file)
            {
                let kind = if i == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
                let end = mark.place.span.end.min(line_end(source, mark.place.span.start));
                let mut note = kind.span(mark.place.span.start..end.max(mark.place.span.start));
                if !labels[i].is_empty() {
                    note = note.label(labels[i].as_str());
                }
                snippet = snippet.annotation(note);
            }
            group = group.element(snippet);
        }
        if let Some(cure) = fault.full_cure() {
            group = group.element(Level::HELP.message(plain(&cure)));
        }
        renderer.render(&[group])
    }
}

/// The end of the line in which a byte stands.
fn line_end(text: &str, at: usize) -> usize {
    text.get(at..).and_then(|rest| rest.find('\n')).map_or(text.len(), |n| at + n)
}

/// Control characters would speak to the terminal, not to the reader.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' { '\u{fffd}' } else { c }).collect()
}

/// A fault as JSON.
pub(super) fn fault_json(fault: &Fault) -> serde_json::Value {
    let mark = fault.marks.first();
    serde_json::json!({
        "code": fault.code,
        "severity": if fault.is_error() { "error" } else { "warning" },
        "text": fault.text,
        "help": fault.full_cure(),
        "file": mark.map(|m| m.place.file.to_string()),
        "line": mark.map(|m| m.place.line),
        "column": mark.map(|m| m.place.column),
    })
}

#[allow(clippy::print_stdout, reason = "this room prints")]
fn out(line: &str) {
    // A closed pipe is the reader's choice, not a fault.
    let _ = writeln!(std::io::stdout().lock(), "{line}");
}

#[allow(clippy::print_stderr, reason = "this room prints")]
fn err(line: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{line}");
}
