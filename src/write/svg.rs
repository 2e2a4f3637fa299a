//! Cut files in SVG: millimetres, groups by layer in cutting order, true arcs.
//!
//! The page is in millimetres and the view box has the same numbers, so that one unit is one millimetre; y is turned
//! over here and nowhere else. Reading programs differ in what they honour, so the file keeps to what all of them do:
//! no transform, no style sheet, no units inside. A circle of the plan is a `<circle>`; arcs are written in quarter
//! turns at most (see [`quarters`] for the reason).
//!
//! Strokes keep the order of the plan: each run of one layer is a group. Where guests are cut before what holds them
//! a layer comes back, and its group is then called `HOLES-2`, `EDGES-2` and so on.

use super::chains::{chains, is_closed, is_flat, quarters};
use super::colour;
use super::manifest::Manifest;
use super::number::{fixed, mm};
use crate::geom::Seg;
use crate::letters::{one_line, slug};
use crate::plan::{CutPlan, Layer, Stroke};
use std::collections::BTreeMap;
use svg::Document;
use svg::node::Text;
use svg::node::element::{Circle, Description, Element, Group, Path, Title};

/// The plan as an SVG file. `colours` are the user's own by layer name, and may be empty.
///
/// # Units
/// Millimetres, in the page as in the view box.
pub fn cut_svg(plan: &CutPlan, manifest: &Manifest, colours: &BTreeMap<String, String>) -> String {
    let (width, height) = (mm(plan.page.0), mm(plan.page.1));
    let mut document = Document::new()
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", format!("0 0 {width} {height}"))
        .add(Title::new(manifest.title()));
    let mut runs: BTreeMap<Layer, usize> = BTreeMap::new();
    for strokes in plan.strokes.chunk_by(|a, b| a.layer == b.layer) {
        let elements: Vec<Element> =
            strokes.iter().filter_map(|stroke| element(stroke, plan.page.1)).collect();
        let (Some(first), false) = (strokes.first(), elements.is_empty()) else { continue };
        let run = runs.entry(first.layer).and_modify(|n| *n += 1).or_insert(1);
        let id = match run {
            1 => first.layer.name().to_owned(),
            n => format!("{}-{n}", first.layer.name()),
        };
        let group = Group::new()
            .set("id", id)
            .set("fill", "none")
            .set("stroke", colour::in_svg(first.layer, colours))
            .set("stroke-width", "0.1");
        document = document.add(elements.into_iter().fold(group, Group::add));
    }
    let body = format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n");
    let words = manifest.lines(&body).join("\n");
    let desc = Description::new().add(Text::new(words)).to_string();
    with_desc(&body, &desc)
}

/// The manifest put behind the opening tag of the drawing, on lines of its own.
fn with_desc(body: &str, desc: &str) -> String {
    let open = body.find("<svg").unwrap_or(0);
    let at = body[open..].find(">\n").map_or(body.len(), |n| open + n + 2);
    format!("{}{desc}\n{}", &body[..at], &body[at..])
}

/// One stroke, or nothing where all of it is shorter than the last figure of the file.
fn element(stroke: &Stroke, page: f64) -> Option<Element> {
    let name = if stroke.address.is_empty() {
        stroke.layer.name().to_ascii_lowercase()
    } else {
        slug(&stroke.address)
    };
    let mut element: Element = if let Some((center, radius)) = stroke.circle() {
        Circle::new()
            .set("cx", mm(center.x))
            .set("cy", mm(page - center.y))
            .set("r", mm(radius))
            .into()
    } else {
        let d = path(&chains(stroke), page);
        if d.is_empty() {
            return None;
        }
        Path::new().set("d", d).into()
    };
    svg::Node::assign(&mut element, "id", format!("{name}-{}", stroke.number));
    let words = one_line(&stroke.address);
    if !words.is_empty() {
        svg::Node::append(&mut element, Title::new(words));
    }
    Some(element)
}

/// Path data of chains, y turned over.
pub(super) fn path(chains: &[Vec<Seg>], page: f64) -> String {
    let mut d = String::new();
    let mut say = |words: String| {
        if !d.is_empty() {
            d.push(' ');
        }
        d.push_str(&words);
    };
    for chain in chains {
        let Some(first) = chain.first() else { continue };
        say(format!("M{} {}", mm(first.a.x), mm(page - first.a.y)));
        let closed = is_closed(chain);
        let last = chain.len() - 1;
        for (i, seg) in chain.iter().enumerate() {
            if seg.is_line() || is_flat(seg) {
                // The closing line of a loop is the Z itself.
                if !(closed && i == last) {
                    say(format!("L{} {}", mm(seg.b.x), mm(page - seg.b.y)));
                }
            } else {
                for part in quarters(seg) {
                    say(arc(&part, page));
                }
            }
        }
        if closed {
            say("Z".to_owned());
        }
    }
    d
}

/// An arc command. Counter-clockwise with y up is the negative way of turning with y down: sweep 0.
fn arc(seg: &Seg, page: f64) -> String {
    let radius = fixed(seg.radius(), 6);
    let sweep = u8::from(seg.bulge < 0.0);
    format!("A{radius} {radius} 0 0 {sweep} {} {}", mm(seg.b.x), mm(page - seg.b.y))
}
