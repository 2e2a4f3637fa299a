//! Reads the SVG files that this project writes, and nothing else: what it does not know is refused.
//!
//! Five elements, each with its own attributes; no comments, no entities but the five of XML, no transform, no style
//! sheet, no unit but the millimetre. y is turned over here.

use super::drawn::{Drawn, Format, Layer, Role, Run, Stop, Stroke};
use super::manifest::{Papers, told};
use super::track::{Seg, Spot, figure, steps};

const NEW: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";

/// A tag as it stands: name, attributes, whether it is shut at once.
struct Tag<'a> {
    name: &'a str,
    attributes: Vec<(&'a str, &'a str)>,
    shut: bool,
}

impl<'a> Tag<'a> {
    fn get(&self, name: &str) -> Option<&'a str> {
        self.attributes.iter().find(|(n, _)| *n == name).map(|(_, v)| *v)
    }

    /// Only these attributes, each once.
    fn only(&self, names: &[&str]) -> Result<(), Stop> {
        for (i, (name, _)) in self.attributes.iter().enumerate() {
            if !names.contains(name) || self.attributes[..i].iter().any(|(n, _)| n == name) {
                return Err(unknown(&format!("{} of <{}>", told(name), told(self.name))));
            }
        }
        Ok(())
    }
}

fn unknown(what: &str) -> Stop {
    (3, format!("unknown construct: {what}"))
}

/// What comes next in the text.
enum Next<'a> {
    Open(Tag<'a>),
    Close(&'a str),
    Text(&'a str),
    End,
}

struct Pen<'a> {
    rest: &'a str,
}

impl<'a> Pen<'a> {
    fn next(&mut self) -> Result<Next<'a>, Stop> {
        if self.rest.is_empty() {
            return Ok(Next::End);
        }
        let Some(inner) = self.rest.strip_prefix('<') else {
            let end = self.rest.find('<').unwrap_or(self.rest.len());
            let (text, rest) = self.rest.split_at(end);
            self.rest = rest;
            return Ok(Next::Text(text));
        };
        let mut quoted = false;
        let end = inner.bytes().position(|b| {
            quoted ^= b == b'"';
            b == b'>' && !quoted
        });
        let Some(end) = end else { return Err((3, "the file is cut short".to_owned())) };
        let tag = &inner[..end];
        self.rest = &inner[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            return Ok(Next::Close(name));
        }
        let (tag, shut) = tag.strip_suffix('/').map_or((tag, false), |t| (t, true));
        let (name, mut list) = tag.split_once(' ').unwrap_or((tag, ""));
        let mut attributes = Vec::new();
        while !list.is_empty() {
            let broken = || unknown(&format!("<{}", told(tag)));
            let (name, rest) = list.split_once("=\"").ok_or_else(broken)?;
            let (value, rest) = rest.split_once('"').ok_or_else(broken)?;
            if value.contains(['&', '<']) || attributes.len() > 8 {
                return Err(broken());
            }
            attributes.push((name, value));
            list = rest.strip_prefix(' ').unwrap_or(rest);
        }
        Ok(Next::Open(Tag { name, attributes, shut }))
    }

    /// The text of an element up to its end tag.
    fn words(&mut self, name: &str) -> Result<String, Stop> {
        let mut text = String::new();
        loop {
            match self.next()? {
                Next::Text(more) => text.push_str(more),
                Next::Close(closed) if closed == name => return plain(text.trim()),
                Next::Open(tag) => {
                    return Err(unknown(&format!("<{}> in <{name}>", told(tag.name))));
                }
                _ => return Err((3, "the file is cut short".to_owned())),
            }
        }
    }
}

/// Text with the five entities of XML put back.
fn plain(text: &str) -> Result<String, Stop> {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('&') {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        let known =
            [("&amp;", '&'), ("&lt;", '<'), ("&gt;", '>'), ("&quot;", '"'), ("&apos;", '\'')];
        let more = [("&#39;", '\''), ("&#x27;", '\'')];
        let Some((name, sign)) = known.into_iter().chain(more).find(|(n, _)| rest.starts_with(n))
        else {
            return Err(unknown("an entity"));
        };
        out.push(sign);
        rest = &rest[name.len()..];
    }
    out.push_str(rest);
    Ok(out)
}

/// The file as strokes.
pub(super) fn read(text: &str) -> Result<Drawn, Stop> {
    let (lines, body) = parted(text)?;
    let papers = Papers::read(&lines, &[body[0].as_bytes(), body[1].as_bytes()]);
    let Some(rest) = text.strip_prefix(NEW) else {
        return Err(unknown("the head of the file"));
    };
    let mut pen = Pen { rest };
    let mut drawn = Drawn {
        format: Format::Svg,
        papers,
        strokes: Vec::new(),
        program: None,
        wrong: Vec::new(),
        extent: None,
    };
    let page = match pen.next()? {
        Next::Open(tag) if tag.name == "svg" && !tag.shut => page(&tag, &mut drawn.wrong)?,
        _ => return Err(unknown("the first element is not <svg>")),
    };
    let mut layer: Option<Layer> = None;
    loop {
        match pen.next()? {
            Next::Text(text) if text.trim().is_empty() => {}
            Next::Open(tag) if matches!(tag.name, "desc" | "title") && !tag.shut => {
                tag.only(&[])?;
                pen.words(tag.name)?;
            }
            Next::Open(tag) if tag.name == "g" && layer.is_none() && !tag.shut => {
                tag.only(&["id", "fill", "stroke", "stroke-width"])?;
                layer = Some(group(&tag)?);
            }
            Next::Open(tag) if matches!(tag.name, "path" | "circle") => {
                let Some(layer) = layer else { return Err(unknown("a line outside every group")) };
                let mut stroke = element(&tag, layer, page)?;
                if !tag.shut {
                    stroke.address = title(&mut pen, tag.name)?;
                }
                drawn.strokes.push(stroke);
            }
            Next::Close("g") if layer.is_some() => layer = None,
            Next::Close("svg") if layer.is_none() => break,
            Next::End => return Err((3, "the file is cut short".to_owned())),
            Next::Open(tag) => return Err(unknown(&format!("<{}>", told(tag.name)))),
            Next::Close(name) => return Err(unknown(&format!("</{}>", told(name)))),
            Next::Text(_) => return Err(unknown("text outside of every element")),
        }
    }
    if pen.rest != "\n" {
        return Err(unknown("something after the end of the drawing"));
    }
    Ok(drawn)
}

/// The lines of the manifest, and the body round it.
fn parted(text: &str) -> Result<(Vec<String>, [&str; 2]), Stop> {
    let none = || (12, "there is no manifest".to_owned());
    let start = text.find("<desc>").ok_or_else(none)?;
    let end = text[start..].find("</desc>\n").ok_or_else(none)? + start;
    let words = plain(&text[start + "<desc>".len()..end])?;
    let lines = words.lines().map(str::to_owned).filter(|l| !l.is_empty()).collect();
    Ok((lines, [&text[..start], &text[end + "</desc>\n".len()..]]))
}

/// The height of the page in steps; whether its unit is the millimetre.
fn page(tag: &Tag<'_>, wrong: &mut Vec<Stop>) -> Result<i64, Stop> {
    tag.only(&["height", "viewBox", "width", "xmlns"])?;
    if tag.get("xmlns") != Some("http://www.w3.org/2000/svg") {
        return Err(unknown("the name space of <svg>"));
    }
    let view: Vec<&str> = tag.get("viewBox").unwrap_or("").split(' ').collect();
    let (Some(width), Some(height)) = (tag.get("width"), tag.get("height")) else {
        return Err((4, "the page has no size".to_owned()));
    };
    let [x, y, wide, high] = view[..] else {
        return Err((4, "the page has no view box of four figures".to_owned()));
    };
    let high_steps = steps(high).filter(|h| *h > 0);
    let one_to_one = (x, y) == ("0", "0")
        && width.strip_suffix("mm") == Some(wide)
        && height.strip_suffix("mm") == Some(high)
        && steps(wide).is_some_and(|w| w > 0);
    if !one_to_one {
        wrong.push((
            4,
            format!(
                "page {} x {} and view box {}: one unit is not one millimetre",
                told(width),
                told(height),
                told(tag.get("viewBox").unwrap_or(""))
            ),
        ));
    }
    high_steps.ok_or_else(|| (4, "the view box has no height".to_owned()))
}

fn group(tag: &Tag<'_>) -> Result<Layer, Stop> {
    let id = tag.get("id").unwrap_or("");
    let name = id.split_once('-').map_or(id, |(name, _)| name);
    if tag.get("fill") != Some("none") {
        return Err(unknown("a filled group"));
    }
    Layer::of(name).ok_or_else(|| unknown(&format!("the group `{}`", told(id))))
}

fn title(pen: &mut Pen<'_>, of: &str) -> Result<Option<String>, Stop> {
    let mut words = None;
    loop {
        match pen.next()? {
            Next::Text(text) if text.trim().is_empty() => {}
            Next::Open(tag) if tag.name == "title" && !tag.shut => {
                tag.only(&[])?;
                words = Some(pen.words("title")?);
            }
            Next::Close(name) if name == of => return Ok(words),
            _ => return Err(unknown(&format!("something inside <{of}>"))),
        }
    }
}

fn element(tag: &Tag<'_>, layer: Layer, page: i64) -> Result<Stroke, Stop> {
    let id = tag.get("id").unwrap_or("");
    let number = id.rsplit_once('-').and_then(|(_, n)| n.parse().ok());
    let Some(number) = number else {
        return Err(unknown(&format!("the number of `{}`", told(id))));
    };
    let mut stroke = Stroke::new(number, layer);
    let role = if layer.is_cut() { Role::Contour } else { Role::Mark };
    if tag.name == "circle" {
        tag.only(&["cx", "cy", "r", "id"])?;
        let read = |name| tag.get(name).and_then(steps);
        let (Some(x), Some(y), Some(r)) = (read("cx"), read("cy"), read("r")) else {
            return Err(unknown("a circle without figures"));
        };
        let center = Spot { x, y: page - y };
        let circle = Some(r).filter(|r| *r > 0).map(|r| Spot { x: r, y: 0 }.mm()[0]);
        let segs = circle.and_then(|r| Seg::circle(center.mm(), r));
        let segs = segs.ok_or_else(|| unknown("a circle without a radius"))?;
        stroke.is_circle = true;
        stroke.runs.push(Run { role, segs: segs.to_vec() });
        return Ok(stroke);
    }
    tag.only(&["d", "id"])?;
    stroke.runs = path(tag.get("d").unwrap_or(""), page)?
        .into_iter()
        .map(|segs| Run { role, segs })
        .collect();
    if stroke.runs.is_empty() {
        return Err(unknown("a path without a line"));
    }
    Ok(stroke)
}

/// The figures of path data: `M`, `L`, `A` with its seven, `Z`.
fn path(d: &str, page: i64) -> Result<Vec<Vec<Seg>>, Stop> {
    let bad = || unknown(&format!("path data `{}`", told(d)));
    let mut runs: Vec<Vec<Seg>> = Vec::new();
    let mut at: Option<Spot> = None;
    let mut words = d.split(' ');
    let spot =
        |x: Option<&str>, y: Option<&str>| Some(Spot { x: steps(x?)?, y: page - steps(y?)? });
    while let Some(word) = words.next() {
        if word == "Z" {
            let run = runs.last().ok_or_else(bad)?;
            let (first, last) = (run.first().ok_or_else(bad)?.a, at.ok_or_else(bad)?);
            if first != last {
                runs.last_mut().ok_or_else(bad)?.push(Seg::line(last, first));
            }
            at = None;
            continue;
        }
        let (kind, first) = word.split_at_checked(1).ok_or_else(bad)?;
        match kind {
            "M" => {
                at = Some(spot(Some(first), words.next()).ok_or_else(bad)?);
                runs.push(Vec::new());
            }
            "L" => {
                let to = spot(Some(first), words.next()).ok_or_else(bad)?;
                let from = at.ok_or_else(bad)?;
                runs.last_mut().ok_or_else(bad)?.push(Seg::line(from, to));
                at = Some(to);
            }
            "A" => {
                let other = words.next();
                let flags = [words.next(), words.next(), words.next()];
                let to = spot(words.next(), words.next()).ok_or_else(bad)?;
                let from = at.ok_or_else(bad)?;
                let radius = figure(first).ok_or_else(bad)?;
                let left = match flags {
                    [Some("0"), Some("0"), Some("0")] => true,
                    [Some("0"), Some("0"), Some("1")] => false,
                    _ => return Err(bad()),
                };
                if other != Some(first) {
                    return Err(bad());
                }
                let seg = Seg::by_radius(from, to, radius, left)
                    .ok_or_else(|| (3, "an arc's radius is too short for its ends".to_owned()))?;
                runs.last_mut().ok_or_else(bad)?.push(seg);
                at = Some(to);
            }
            _ => return Err(bad()),
        }
    }
    if runs.iter().any(Vec::is_empty) {
        return Err(bad());
    }
    Ok(runs)
}
