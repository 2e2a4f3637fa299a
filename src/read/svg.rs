//! The walk over an SVG tree: which elements are drawn, where, and which are left out.

use super::curve::{ArcTo, Pen};
use super::figures::Figures;
use super::ink::{Ink, too_many};
use super::page::{Frame, Given, Written, length, page};
use super::style::{Effect, apply, declared, sheet};
use super::{ReadFault, ReadOptions, caps, path, transform, xml};
use crate::geom::{Affine, Point};
use roxmltree::{Document, Node, ParsingOptions};

const SVG: &str = "http://www.w3.org/2000/svg";

/// What holds for an element and all inside it.
#[derive(Debug, Clone, Copy)]
struct Inherited {
    map: Affine,
    hidden: bool,
    /// Whether lengths inside may carry units.
    stated: bool,
}

/// Draws an SVG file.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<Ink, ReadFault> {
    let (text, bom) = match bytes.strip_prefix(b"\xef\xbb\xbf") {
        Some(rest) => (rest, 3),
        None => (bytes, 0),
    };
    let whole = |mut fault: ReadFault| {
        fault.at = fault.at.map(|at| at + bom);
        fault
    };
    let text = std::str::from_utf8(text).map_err(|e| {
        let fault =
            ReadFault::new("E90", "the file is not UTF-8 text from here on").at(e.valid_up_to());
        whole(fault)
    })?;
    drawn(text, options).map_err(whole)
}

fn drawn(text: &str, options: &ReadOptions) -> Result<Ink, ReadFault> {
    let plain = xml::guarded(text)?;
    let how =
        ParsingOptions { allow_dtd: false, nodes_limit: caps::NODES, ..ParsingOptions::default() };
    let tree =
        Document::parse_with_options(&plain, how).map_err(|e| not_well_formed(&e, &plain))?;
    let root = tree.root_element();
    if root.tag_name().name() != "svg" || !is_svg(root) {
        return Err(
            ReadFault::new("E90", "the outermost element is not `svg`").at(root.range().start)
        );
    }
    refuse_moved_root(root)?;
    let frame = Frame {
        width: written(root, "width"),
        height: written(root, "height"),
        view: written(root, "viewBox"),
        aspect: written(root, "preserveAspectRatio"),
        at: root.range().start,
    };
    let page = page(&frame, options)?;
    let mut ink = Ink::default();
    ink.notes = page.notes;
    let outer = Inherited { map: page.map, hidden: false, stated: page.stated };
    children(root, outer, &mut ink)?;
    Ok(ink)
}

/// Refuses a page that is moved, sized by a style or switched off as a whole.
fn refuse_moved_root(root: Node<'_, '_>) -> Result<(), ReadFault> {
    let at = root.range().start;
    let mut effect = Effect::default();
    for name in ["display", "visibility"] {
        apply(&mut effect, name, root.attribute(name).unwrap_or(""));
    }
    // A share of the window, as for a web page, does not change the drawing's own size.
    for declaration in root.attribute("style").unwrap_or("").split(';') {
        if let Some((name, value)) = declaration.split_once(':').filter(|(_, v)| !v.contains('%')) {
            apply(&mut effect, name, value);
        }
    }
    if effect.gone || effect.hidden == Some(true) {
        return Err(ReadFault::new("E97", "the whole drawing is switched off").at(at));
    }
    if effect.reshaped || root.has_attribute("transform") || root.has_attribute("transform-origin")
    {
        let text = "the outermost element is moved, or sized by a style";
        return Err(ReadFault::new("E98", text)
            .cure("put the transform on a group inside, and the size in `width` and `height`")
            .at(at));
    }
    Ok(())
}

fn not_well_formed(error: &roxmltree::Error, text: &str) -> ReadFault {
    if matches!(error, roxmltree::Error::NodesLimitReached) {
        return too_many("nodes in the file", caps::NODES as usize);
    }
    let place = error.pos();
    let line = usize::try_from(place.row).unwrap_or(1).max(1);
    let start: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
    let mut fault = xml::broken(start);
    fault.text = format!("this is not well-formed XML: {error}").chars().take(200).collect();
    fault
}

fn is_svg(node: Node<'_, '_>) -> bool {
    matches!(node.tag_name().namespace(), None | Some(SVG))
}

/// An attribute with its place; the place of its text where that stands in the file as it is.
fn written<'a>(node: Node<'a, '_>, name: &str) -> Option<Written<'a>> {
    let attribute = node.attribute_node(name)?;
    let text = attribute.value();
    let exact = attribute.range_value();
    let at = if exact.len() == text.len() { exact.start } else { attribute.range().start };
    Some(Written { text, at })
}

fn children(node: Node<'_, '_>, outer: Inherited, ink: &mut Ink) -> Result<(), ReadFault> {
    for child in node.children() {
        if child.is_pi() {
            ink.ignore(
                "outside style sheet or instruction",
                "outside style sheets or instructions",
            );
        }
        if child.is_element() && is_svg(child) {
            element(child, outer, ink)?;
        }
    }
    Ok(())
}

fn element(node: Node<'_, '_>, outer: Inherited, ink: &mut Ink) -> Result<(), ReadFault> {
    let name = node.tag_name().name();
    if matches!(name, "title" | "desc" | "metadata") {
        return Ok(());
    }
    if name == "style" {
        return style_sheet(node, ink);
    }
    if let Some((one, many)) = left_out(name) {
        // An empty list of definitions is in most files and says nothing.
        if name != "defs" || node.children().any(|c| c.is_element()) {
            ink.ignore(one, many);
        }
        return Ok(());
    }
    let group = matches!(name, "g" | "a" | "switch");
    let shape =
        matches!(name, "path" | "circle" | "ellipse" | "rect" | "polygon" | "polyline" | "line");
    if name == "svg" {
        let text = "a drawing inside the drawing (`svg` in `svg`)";
        return Err(ReadFault::new("E98", text)
            .cure("take its shapes out into the outer drawing")
            .at(node.range().start));
    }
    if !group && !shape {
        ink.ignore("element of another kind", "elements of other kinds");
        return Ok(());
    }
    let effect = effect(node)?;
    if effect.gone {
        ink.ignore("shape or group that is switched off", "shapes or groups that are switched off");
        return Ok(());
    }
    let mut inner = Inherited { hidden: effect.hidden.unwrap_or(outer.hidden), ..outer };
    if let Some(text) = written(node, "transform") {
        inner.map = outer.map * transform::parse(text.text, text.at)?;
        proper(inner.map, text.at)?;
    }
    if group {
        return children(node, inner, ink);
    }
    if node.children().any(|c| c.is_element() && left_out(c.tag_name().name()).is_some()) {
        ink.ignore(
            "animation or other addition to a shape",
            "animations or other additions to shapes",
        );
    }
    if inner.hidden {
        ink.ignore("hidden shape", "hidden shapes");
        return Ok(());
    }
    draw(node, name, inner, ink)
}

/// Elements that are never drawn, in words for one and for many.
fn left_out(name: &str) -> Option<(&'static str, &'static str)> {
    Some(match name {
        "text" | "tspan" | "textPath" => ("text", "texts"),
        "image" => ("picture", "pictures"),
        "use" => ("copy of another shape (use)", "copies of other shapes (use)"),
        "symbol" => ("symbol", "symbols"),
        "defs" => ("block of definitions", "blocks of definitions"),
        "clipPath" | "mask" => ("clip or mask", "clips or masks"),
        "marker" => ("marker", "markers"),
        "script" => ("script", "scripts"),
        "foreignObject" => ("foreign object", "foreign objects"),
        "pattern" | "linearGradient" | "radialGradient" | "filter" | "hatch" => {
            ("paint or filter", "paints or filters")
        }
        "animate" | "animateTransform" | "animateMotion" | "set" => ("animation", "animations"),
        _ => return None,
    })
}

fn style_sheet(node: Node<'_, '_>, ink: &mut Ink) -> Result<(), ReadFault> {
    let text: String = node.children().filter_map(|c| c.text()).collect();
    let Effect { gone, hidden, reshaped } = sheet(&text);
    if gone || hidden == Some(true) || reshaped {
        let text = "a style sheet in the file hides, moves or reshapes shapes";
        return Err(ReadFault::new("E98", text)
            .cure("save the drawing as plain SVG, with attributes in place of a style sheet")
            .at(node.range().start));
    }
    ink.ignore("style sheet", "style sheets");
    Ok(())
}

/// What attributes and inline style do to an element.
fn effect(node: Node<'_, '_>) -> Result<Effect, ReadFault> {
    let mut effect = Effect::default();
    for name in ["display", "visibility"] {
        if let Some(value) = node.attribute(name) {
            apply(&mut effect, name, value);
        }
    }
    if let Some(style) = written(node, "style") {
        let inline = declared(style.text);
        effect.gone = inline.gone || (effect.gone && !style.text.contains("display"));
        effect.hidden = inline.hidden.or(effect.hidden);
        if inline.reshaped {
            let text = "a style moves or reshapes this shape";
            return Err(ReadFault::new("E98", text)
                .cure("save the drawing as plain SVG, with attributes in place of styles")
                .at(style.at));
        }
    }
    if let Some(origin) = written(node, "transform-origin") {
        return Err(ReadFault::new("E98", "a `transform-origin` is not read").at(origin.at));
    }
    Ok(effect)
}

/// Refuses a map that is not finite or presses the drawing flat.
fn proper(map: Affine, at: usize) -> Result<(), ReadFault> {
    let [a, b, c, d, _, _] = map.as_coeffs();
    let size = a.hypot(b).max(c.hypot(d));
    if !map.is_finite() || !size.is_finite() || size > caps::FIGURE {
        return Err(ReadFault::new("E92", "a transform beyond any drawing").at(at));
    }
    if map.determinant().abs() <= 1e-12 * size * size {
        return Err(ReadFault::new("E99", "a transform that presses the drawing flat").at(at));
    }
    Ok(())
}

fn draw(node: Node<'_, '_>, name: &str, own: Inherited, ink: &mut Ink) -> Result<(), ReadFault> {
    let at = node.range().start;
    let measure = |attribute: &str| measure(node, attribute, own.stated);
    if name == "path" {
        return match written(node, "d") {
            Some(d) if !d.text.trim().is_empty() => {
                path::draw(&mut Pen::new(ink, own.map, at), d.text, d.at)
            }
            _ => {
                ink.ignore("empty path", "empty paths");
                Ok(())
            }
        };
    }
    let mut pen = Pen::new(ink, own.map, at);
    match name {
        "circle" | "ellipse" => {
            let center = Point::new(measure("cx")?.unwrap_or(0.0), measure("cy")?.unwrap_or(0.0));
            let (rx, ry) = if name == "circle" {
                let r = positive(measure("r")?, at)?;
                (r, r)
            } else {
                let (rx, ry) = (measure("rx")?, measure("ry")?);
                (positive(rx.or(ry), at)?, positive(ry.or(rx), at)?)
            };
            pen.ellipse(center, rx, ry, at)
        }
        "rect" => {
            let corner = Point::new(measure("x")?.unwrap_or(0.0), measure("y")?.unwrap_or(0.0));
            let (wide, high) =
                (positive(measure("width")?, at)?, positive(measure("height")?, at)?);
            let (rx, ry) = (measure("rx")?, measure("ry")?);
            let round = (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
            rectangle(&mut pen, corner, (wide, high), round, at)
        }
        "line" => {
            let from = Point::new(measure("x1")?.unwrap_or(0.0), measure("y1")?.unwrap_or(0.0));
            let to = Point::new(measure("x2")?.unwrap_or(0.0), measure("y2")?.unwrap_or(0.0));
            pen.move_to(from, at)?;
            pen.line_to(to, at)?;
            pen.finish();
            Ok(())
        }
        _ => corners(&mut pen, written(node, "points"), name == "polygon"),
    }
}

/// A length in user units.
fn measure(node: Node<'_, '_>, name: &str, stated: bool) -> Result<Option<f64>, ReadFault> {
    let Some(written) = written(node, name) else {
        return Ok(None);
    };
    if written.text.trim() == "auto" {
        return Ok(None);
    }
    let Given { value, unit, is_pixel, is_share } = length(written)?;
    if is_share || (unit.is_some() && !is_pixel && !stated) {
        let text = "a length that depends on the size of the page";
        return Err(ReadFault::new("E98", text).cure("give it without a unit").at(written.at));
    }
    // One user unit is one CSS pixel of 1/96 in.
    Ok(Some(match unit {
        Some(mm) if !is_pixel => value * mm * 96.0 / 25.4,
        _ => value,
    }))
}

fn positive(value: Option<f64>, at: usize) -> Result<f64, ReadFault> {
    match value {
        Some(value) if value > 0.0 => Ok(value),
        _ => Err(ReadFault::new("E99", "a shape of no width, height or radius").at(at)),
    }
}

fn rectangle(
    pen: &mut Pen<'_>,
    corner: Point,
    (wide, high): (f64, f64),
    (rx, ry): (f64, f64),
    at: usize,
) -> Result<(), ReadFault> {
    if rx < 0.0 || ry < 0.0 {
        return Err(ReadFault::new("E99", "a corner of negative radius").at(at));
    }
    let (rx, ry) = (rx.min(wide / 2.0), ry.min(high / 2.0));
    let (x, y) = (corner.x, corner.y);
    let (far, low) = (x + wide, y + high);
    let arc = |x: f64, y: f64| ArcTo {
        rx,
        ry,
        turn: 0.0,
        large: false,
        sweep: true,
        end: Point::new(x, y),
    };
    pen.move_to(Point::new(x + rx, y), at)?;
    pen.line_to(Point::new(far - rx, y), at)?;
    pen.arc_to(&arc(far, y + ry), at)?;
    pen.line_to(Point::new(far, low - ry), at)?;
    pen.arc_to(&arc(far - rx, low), at)?;
    pen.line_to(Point::new(x + rx, low), at)?;
    pen.arc_to(&arc(x, low - ry), at)?;
    pen.line_to(Point::new(x, y + ry), at)?;
    pen.arc_to(&arc(x + rx, y), at)?;
    pen.close(at)
}

/// The points of a polygon or polyline.
fn corners(pen: &mut Pen<'_>, points: Option<Written<'_>>, closed: bool) -> Result<(), ReadFault> {
    let Some(points) = points else {
        return Ok(());
    };
    let mut figures = Figures::new(points.text, points.at);
    let mut first = true;
    figures.skip_space();
    while figures.peek().is_some() {
        let at = figures.place();
        let x = figures.number()?;
        figures.skip_comma();
        let p = Point::new(x, figures.number()?);
        figures.skip_comma();
        if first {
            pen.move_to(p, at)?;
        } else {
            pen.line_to(p, at)?;
        }
        first = false;
    }
    if closed {
        pen.close(points.at)?;
    }
    pen.finish();
    Ok(())
}
