//! The job sheet: one page for the bench, with everything about a lay that whoever cuts and glues it looks up.
//!
//! Takes plain records and gives the text of one HTML file that asks nothing of any network: pictures inside, style and
//! script allowed by their hash alone, no script in attributes. It carries no date: the same lay gives the same bytes.
//!
//! The elements are a small tree of our own (`html.rs`) instead of a template crate: a name of an element or attribute can only be
//! the program's own text, everything else is escaped in one place, and what is opened is closed.

mod drawing;
mod html;
#[cfg(test)]
mod tests;

use super::{LaidPiece, LayMarks};
use crate::geom::Seg;
use crate::plan::Layer;
use crate::sheet::Sheet;
use crate::units::counted;
use drawing::{drawing, patterns};
use html::{Element, base64, el};
use rayon::prelude::*;
use sha2::{Digest, Sha256};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// What a job sheet shows.
#[derive(Debug, Clone, PartialEq)]
pub struct JobSheet<'a> {
    /// What the job is called.
    pub title: String,
    /// The lay's name.
    pub lay: String,
    /// Hash of the lay's record as text.
    pub hash: String,
    /// The list of each machine.
    pub safety: Vec<SafetyList>,
    /// Figures that are only assumed.
    pub assumed: Vec<String>,
    /// What the user must know, each in a line.
    pub warnings: Vec<String>,
    /// Sheets in the order in which they are laid.
    pub sheets: Vec<PageSheet<'a>>,
    /// The sums of all sizes.
    pub sizes: Vec<PageSize>,
}

/// The safety list of one machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SafetyList {
    /// The machine.
    pub machine: String,
    /// Who answered it, or why it counts as not answered.
    pub state: String,
    /// What to type where it is not answered.
    pub command: Option<String>,
    /// What stands above the items: how far in each line stands, and the line.
    pub head: Vec<(usize, String)>,
    /// The items.
    pub items: Vec<SafetyItem>,
    /// What the record is worth.
    pub worth: String,
}

/// An item of a safety list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SafetyItem {
    /// The name that answers go by.
    pub id: String,
    /// When it counts, and what it wants.
    pub when: String,
    /// All of it.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// What is to be typed, where it is asked.
    pub question: Option<String>,
    /// What was typed.
    pub answer: Option<String>,
}

/// A laid sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct PageSheet<'a> {
    /// The sheet.
    pub sheet: &'a Sheet,
    /// The machine that cuts it.
    pub machine: String,
    /// What is said of it, a line each.
    pub about: Vec<String>,
    /// Bed windows and register dots.
    pub marks: LayMarks,
    /// Its pieces.
    pub pieces: Vec<PagePiece>,
    /// Its cuts in order: one list, or one for each bed window.
    pub orders: Vec<PageOrder>,
}

/// A piece on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct PagePiece {
    /// Its address.
    pub address: String,
    /// How it lies.
    pub laid: LaidPiece,
    /// Its finished size in words.
    pub size: String,
    /// Its place in words.
    pub lies: String,
    /// The bed window, where the sheet has several.
    pub window: String,
    /// The numbers of its cuts in their order, in words.
    pub order: String,
    /// Which of the sums is its own.
    pub sum: Option<usize>,
}

/// The cuts of one file in their order.
#[derive(Debug, Clone, PartialEq)]
pub struct PageOrder {
    /// What it is of.
    pub name: String,
    /// The cuts.
    pub cuts: Vec<PageCut>,
}

/// One cut (mm of the sheet).
#[derive(Debug, Clone, PartialEq)]
pub struct PageCut {
    /// Whose it is.
    pub address: String,
    /// Hole or edge.
    pub layer: Layer,
    /// Its line from where it starts.
    pub segs: Vec<Seg>,
}

/// The worked sum of one size.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageSize {
    /// What it is of.
    pub title: String,
    /// Sign, label, as written, figure, where it stands.
    pub rows: Vec<[String; 5]>,
    /// Allowances and the line that is cut.
    pub notes: Vec<String>,
}

/// The page as text.
pub fn job_sheet(of: &JobSheet<'_>) -> String {
    let head = el("head")
        .add(el("meta").set("charset", "utf-8"))
        .add(el("meta").set("http-equiv", "Content-Security-Policy").set("content", policy()))
        .add(
            el("meta")
                .set("name", "viewport")
                .set("content", "width=device-width, initial-scale=1"),
        )
        .add(el("meta").set("name", "color-scheme").set("content", "light dark"))
        .add(el("title").say(format!("{} - {} - job sheet", of.title, of.lay)))
        .add(el("style").own(STYLE));
    let body = el("body")
        .set("data-lay", &of.lay)
        .set("data-hash", &of.hash)
        .add(patterns())
        .add(bar())
        .add(card())
        .add(main(of))
        .add(el("script").own(SCRIPT));
    let mut text = String::from("<!DOCTYPE html>\n");
    el("html").set("lang", "en").add(head).add(body).write(&mut text);
    text.push('\n');
    text
}

/// What the page may do: its own style and script, nothing else.
fn policy() -> String {
    let of = |text: &str| base64(&Sha256::digest(text.as_bytes()));
    format!(
        "default-src 'none'; style-src 'sha256-{}'; script-src 'sha256-{}'; base-uri 'none'; form-action 'none'",
        of(STYLE),
        of(SCRIPT)
    )
}

fn button(id: &str, text: &str) -> Element {
    el("button").set("type", "button").set("id", id).say(text)
}

/// The line above: finding, how far it is, what was ticked off as a file.
fn bar() -> Element {
    let find = el("div")
        .class("find")
        .set("role", "search")
        .add(el("label").set("for", "find").say("Find a piece"))
        .add(
            el("input")
                .set("id", "find")
                .set("type", "search")
                .set("autocomplete", "off")
                .set("placeholder", "31 or pouch:31"),
        )
        .add(button("go", "Find"));
    el("header")
        .class("bar needs-script")
        .add(find)
        .add(button("export", "Export"))
        .add(el("p").set("id", "count").say("nothing ticked"))
        .add(el("p").set("id", "said").set("role", "status").set("aria-live", "polite"))
}

/// The card of the piece that is looked at.
fn card() -> Element {
    let tick = |state: &str, text: &str| {
        el("button")
            .set("type", "button")
            .set("data-state", state)
            .set("aria-pressed", "false")
            .say(text)
    };
    el("aside")
        .set("id", "card")
        .set("aria-label", "Card of the piece")
        .flag("hidden", true)
        .add(
            el("div")
                .class("top")
                .add(el("h2").set("id", "card-name").set("tabindex", "-1"))
                .add(button("close", "Close")),
        )
        .add(
            el("div")
                .class("ticks")
                .set("role", "group")
                .set("aria-label", "Tick off")
                .add(tick("good", "Cut"))
                .add(tick("glued", "Glued"))
                .add(tick("failed", "Failed")),
        )
        .add(el("div").set("id", "card-body"))
}

fn main(of: &JobSheet<'_>) -> Element {
    let empty = el("section")
        .set("id", "exported")
        .set("aria-labelledby", "exported-name")
        .flag("hidden", true)
        .add(el("h2").set("id", "exported-name").say("What was ticked off"))
        .add(el("p").say("If no file came: copy this text into a file called tally.json."))
        .add(
            el("textarea")
                .set("id", "exported-text")
                .set("aria-label", "tally.json")
                .set("rows", "8")
                .flag("readonly", true),
        );
    let page = el("main")
        .add(el("h1").say(format!("{} - {}", of.title, of.lay)))
        .add(
            el("p")
                .class("first")
                .say("Job sheet. Its pictures are not for measuring: browsers and printers scale them. Measure the 100 mm rule of the cut files."),
        )
        .add(el("p").class("place needs-script").say("Point at a piece, tap it or find it: its card comes here."))
        .add(el("p").class("no-script").say("Without its script this page cannot zoom, find or tick off; lists, sums and boxes for a pen are all here."))
        .add(empty)
        .add(safety(of))
        .add(boxed("assumed", "Only assumed", &of.assumed, "Every figure has a source of its own."))
        .add(boxed("warnings", "Warnings", &of.warnings, "There is nothing to point out."));
    // Finding places for the names takes longest: sheet beside sheet.
    let sheets: Vec<Element> =
        of.sheets.par_iter().enumerate().map(|(n, sheet)| section(sheet, n)).collect();
    page.all(sheets).add(sums(&of.sizes))
}

fn titled(id: &str, title: &str) -> Element {
    let name = format!("{id}-name");
    el("section")
        .set("id", id)
        .set("aria-labelledby", &name)
        .add(el("h2").set("id", name).say(title))
}

/// A list in a box; what is said where it is empty.
fn boxed(id: &str, title: &str, lines: &[String], none: &str) -> Element {
    let it = titled(id, title).class("boxed");
    if lines.is_empty() {
        return it.add(el("p").say(none));
    }
    it.add(el("ul").all(lines.iter().map(|line| el("li").say(line))))
}

fn safety(of: &JobSheet<'_>) -> Element {
    titled("safety", "Safety first").all(of.safety.iter().map(|list| {
        let state = el("p")
            .class(if list.command.is_some() { "state open" } else { "state" })
            .add(el("strong").say(if list.command.is_some() {
                "Not answered."
            } else {
                "Answered."
            }))
            .space()
            .say(&list.state);
        let typed = list
            .command
            .as_ref()
            .map(|command| el("p").say("Type:").space().add(el("code").say(command)));
        let head = list.head.iter().map(|(depth, line)| {
            el("p").class(["in-0", "in-1", "in-2", "in-3"][(*depth).min(3)]).say(line)
        });
        el("article")
            .add(el("h3").say(&list.machine))
            .add(state)
            .all(typed)
            .add(el("details").add(el("summary").say("What it cuts, and its sums")).all(head))
            .add(el("ol").class("items").all(list.items.iter().map(item)))
            .add(el("p").say(&list.worth))
    }))
}

fn item(of: &SafetyItem) -> Element {
    let mut it = el("li")
        .add(el("span").class("box").set("aria-hidden", "true"))
        .add(el("strong").say(format!("[{}]", of.id)))
        .space()
        .say(format!("{}: {}", of.when, of.text))
        .space()
        .add(el("small").say(format!("Source: {}", of.source)));
    if let Some(question) = &of.question {
        let told = of.answer.as_deref().unwrap_or("not answered yet");
        let line = el("p").class(if of.answer.is_some() { "answer" } else { "answer open" });
        it = it.add(line.say(format!("Asked: {question}.")).space().add(el("b").say(told)));
        if of.answer.is_none() {
            it = it.add(
                el("p").class("on-paper").say("answer: ____________________  initials: ______"),
            );
        }
    }
    it
}

/// A sheet: picture, its buttons, its order of cutting, its pieces.
fn section(of: &PageSheet<'_>, number: usize) -> Element {
    let id = &of.sheet.id;
    let title = format!("{} {id}, {}", of.sheet.kind.name(), of.machine);
    let zoom = |what: &str, text: &str, label: &str| {
        el("button")
            .set("type", "button")
            .set("data-zoom", what)
            .set("aria-label", format!("{label}, {id}"))
            .say(text)
    };
    let tools = el("div")
        .class("tools needs-script")
        .add(zoom("in", "+", "Larger"))
        .add(zoom("out", "\u{2212}", "Smaller"))
        .add(zoom("all", "0", "Show all"))
        .all(of.orders.first().map(|_| steps(of)));
    titled(&format!("sheet-{number}"), &title)
        .class("sheet")
        .set("data-sheet", id)
        .set("data-machine", &of.machine)
        .all(of.about.iter().map(|line| el("p").say(line)))
        .add(tools)
        .add(drawing(of, number))
        .add(
            el("p")
                .class("small")
                .say("Not for measuring. A reversed F: the piece lies face down. Broken line: a spare."),
        )
        .add(el("p").class("small needs-script").say("Click the picture, then: wheel, two fingers or + \u{2212} 0 zoom, drag moves it, arrow keys go from piece to piece; c, g, f tick the piece off."))
        .add(table(of))
}

/// The order of cutting, step by step.
fn steps(of: &PageSheet<'_>) -> Element {
    let id = &of.sheet.id;
    let step = |what: &str, text: &str, label: &str| {
        el("button")
            .set("type", "button")
            .set("data-step", what)
            .set("aria-label", format!("{label}, {id}"))
            .say(text)
    };
    let choice = match &of.orders[..] {
        [only] => el("span").say(&only.name),
        several => el("select")
            .set("aria-label", format!("Order of cutting of {id}"))
            .all(several.iter().map(|order| el("option").say(&order.name))),
    };
    el("div")
        .class("steps")
        .set("role", "group")
        .set("aria-label", format!("Order of cutting, {id}"))
        .add(choice)
        .add(step("back", "Back", "One cut back"))
        .add(step("on", "Forward", "One cut forward"))
        .add(step("play", "Play", "Play the order"))
        .add(el("output").set("aria-live", "polite").say("before the first cut"))
}

fn table(of: &PageSheet<'_>) -> Element {
    let windows = of.pieces.iter().any(|piece| !piece.window.is_empty());
    let mut heads = vec!["Piece", "Finished size", "Lies"];
    if windows {
        heads.push("Bed window");
    }
    heads.extend(["Cuts in order", "Cut", "Glued", "Failed"]);
    let head = heads.iter().map(|text| el("th").set("scope", "col").say(text));
    let rows = of.pieces.iter().enumerate().map(|(n, piece)| {
        // One stop of the Tab key for all rows; arrow keys go from one to the next.
        let name = el("button")
            .set("type", "button")
            .class("show")
            .set("tabindex", if n == 0 { "0" } else { "-1" })
            .say(&piece.address);
        let size = match piece.sum {
            Some(sum) => el("td").add(
                el("a").set("href", format!("#sum-{sum}")).set("tabindex", "-1").say(&piece.size),
            ),
            None => el("td").say(&piece.size),
        };
        let row = el("tr")
            .set("data-of", &piece.address)
            .set("data-label", &piece.laid.label)
            .add(el("th").set("scope", "row").add(name))
            .add(size)
            .add(el("td").say(&piece.lies));
        let row = if windows { row.add(el("td").say(&piece.window)) } else { row };
        row.add(el("td").say(&piece.order)).all(["good", "glued", "failed"].map(|state| {
            el("td").class("tick").add(el("span").class("box").set("data-box", state))
        }))
    });
    el("div")
        .class("wide")
        .set("tabindex", "0")
        .set("role", "region")
        .set("aria-label", format!("Pieces on {}", of.sheet.id))
        .add(
            el("table")
                .add(el("caption").say(format!(
                    "{} on {}",
                    counted(of.pieces.len(), "piece"),
                    of.sheet.id
                )))
                .add(el("thead").add(el("tr").all(head)))
                .add(el("tbody").all(rows)),
        )
}

/// The worked sums, each closed until it is wanted.
fn sums(of: &[PageSize]) -> Element {
    titled("sums", "Worked sums").class("sums").all(of.iter().enumerate().map(|(n, size)| {
        let rows = size.rows.iter().map(|[sign, label, written, figure, from]| {
            el("tr")
                .class(if sign == "=" { "total" } else { "" })
                .add(el("th").set("scope", "row").say(format!("{sign} {label}")))
                .add(el("td").say(written))
                .add(el("td").class("figure").say(figure))
                .add(el("td").say(from))
        });
        let heads = ["What", "As written", "Figure", "Where"];
        let head = heads.map(|text| el("th").set("scope", "col").say(text));
        el("details")
            .set("id", format!("sum-{n}"))
            .add(el("summary").say(&size.title))
            .add(
                el("div")
                    .class("wide")
                    .set("tabindex", "0")
                    .set("role", "region")
                    .set("aria-label", format!("Sum of {}", size.title))
                    .add(
                        el("table")
                            .add(el("thead").add(el("tr").all(head)))
                            .add(el("tbody").all(rows)),
                    ),
            )
            .add(el("ul").all(size.notes.iter().map(|note| el("li").say(note))))
    }))
}
