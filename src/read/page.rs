//! From the file's own units to millimetres, y up: the size of an SVG page and its view.

use super::figures::Figures;
use super::{ReadFault, ReadOptions};
use crate::geom::Affine;

/// Millimetres in an inch, exact since 1959.
const INCH: f64 = 25.4;
/// Millimetres in a CSS pixel: 1/96 in.
const PIXEL: f64 = INCH / 96.0;

/// How a page lies in the plane.
#[derive(Debug)]
pub(super) struct Page {
    /// From user units to mm, y up from the lower edge of the page.
    pub(super) map: Affine,
    /// Whether lengths inside may carry units of their own.
    pub(super) stated: bool,
    pub(super) notes: Vec<String>,
}

/// A length as an attribute gives it: the figure, and mm in its unit where it has one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Given {
    pub(super) value: f64,
    pub(super) unit: Option<f64>,
    pub(super) is_pixel: bool,
    pub(super) is_share: bool,
}

/// An attribute's text and where it stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Written<'a> {
    pub(super) text: &'a str,
    pub(super) at: usize,
}

/// What the outermost element says about its size.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Frame<'a> {
    pub(super) width: Option<Written<'a>>,
    pub(super) height: Option<Written<'a>>,
    pub(super) view: Option<Written<'a>>,
    pub(super) aspect: Option<Written<'a>>,
    pub(super) at: usize,
}

/// Reads a length.
///
/// # Source
/// CSS Values and Units Module Level 3 (W3C), 6.2 "Absolute lengths": 1 in = 96 px = 72 pt = 6 pc = 25.4 mm = 101.6 Q.
pub(super) fn length(written: Written<'_>) -> Result<Given, ReadFault> {
    let mut figures = Figures::new(written.text, written.at);
    figures.skip_space();
    let value = figures.number()?;
    let word = figures.word().to_ascii_lowercase();
    let share = word.is_empty() && figures.peek() == Some(b'%');
    if share {
        figures.take();
    }
    figures.skip_space();
    let unit = match word.as_str() {
        "" => None,
        "mm" => Some(1.0),
        "cm" => Some(10.0),
        "in" => Some(INCH),
        "pt" => Some(INCH / 72.0),
        "pc" => Some(INCH / 6.0),
        "px" => Some(PIXEL),
        "q" => Some(0.25),
        _ => {
            let text = format!("`{}` is not a length this room can read", written.text.trim());
            return Err(ReadFault::new("E99", shortened(&text)).at(written.at));
        }
    };
    if figures.peek().is_some() {
        return Err(figures.wrong("the end of a length"));
    }
    Ok(Given { value, unit, is_pixel: word == "px", is_share: share })
}

fn shortened(text: &str) -> String {
    text.chars().take(80).collect()
}

/// The page of an SVG file.
///
/// # Source
/// SVG 1.1 (W3C 2011), 7.7 "The viewBox attribute" and 7.8 "The preserveAspectRatio attribute".
pub(super) fn page(frame: &Frame<'_>, options: &ReadOptions) -> Result<Page, ReadFault> {
    let size = [side(frame.width)?, side(frame.height)?];
    let view = frame.view.map(view_box).transpose()?;
    let stated = size.iter().flatten().any(|g| g.unit.is_some());
    let mut notes = Vec::new();
    if size.iter().flatten().any(|g| g.is_pixel) {
        notes.push(
            "the size is given in px, read as 1/96 in each; check it with a ruler".to_owned(),
        );
    }
    let own = match (stated, options.unit) {
        (true, None) => 1.0,
        (true, Some(_)) => {
            notes.push(
                "the file states its own unit; the one given beside it was not used".to_owned(),
            );
            1.0
        }
        (false, Some(unit)) => unit,
        (false, None) => return Err(no_unit(frame)),
    };
    if size.iter().flatten().any(|g| stated && g.unit.is_none()) {
        return Err(ReadFault::new("E93", "width and height: one has a unit and one has none")
            .cure("give both a unit in the file's first line, or neither")
            .at(frame.at));
    }
    let mm = size.map(|g| g.map(|g| g.value * g.unit.unwrap_or(own)));
    if mm.iter().flatten().any(|side| *side <= 0.0) {
        return Err(ReadFault::new("E93", "a page of no width or height")
            .cure("set the page's width and height in the program that drew it, and save it again")
            .at(frame.at));
    }
    let map = if let Some(view) = view {
        viewed(view, mm, own, frame.aspect)?
    } else {
        let scale = if stated { PIXEL } else { own };
        if stated {
            notes.push("no viewBox: lengths inside are px, read as 1/96 in each".to_owned());
        }
        upright(mm[1].unwrap_or(0.0)) * Affine::scale(scale)
    };
    Ok(Page { map, stated, notes })
}

fn no_unit(frame: &Frame<'_>) -> ReadFault {
    ReadFault::new("E93", "the file does not say in which unit it is drawn")
        .cure("write `outline-unit = \"mm\"` (or in, cm, pt) beside the outline, or set width and height with a unit")
        .at(frame.width.or(frame.view).map_or(frame.at, |w| w.at))
}

/// Width or height; a share of something unknown counts as not given.
fn side(written: Option<Written<'_>>) -> Result<Option<Given>, ReadFault> {
    let Some(written) = written else {
        return Ok(None);
    };
    if written.text.trim() == "auto" {
        return Ok(None);
    }
    Ok(Some(length(written)?).filter(|g| !g.is_share))
}

fn view_box(written: Written<'_>) -> Result<[f64; 4], ReadFault> {
    let mut figures = Figures::new(written.text, written.at);
    let mut view = [0.0; 4];
    figures.skip_space();
    for value in &mut view {
        *value = figures.number()?;
        figures.skip_comma();
    }
    if figures.peek().is_some() {
        return Err(figures.wrong("the end of the viewBox"));
    }
    if view[2] <= 0.0 || view[3] <= 0.0 {
        return Err(ReadFault::new("E93", "a viewBox of no width or height").at(written.at));
    }
    Ok(view)
}

/// y down from the top of a page of this height, turned to y up from its foot.
fn upright(height: f64) -> Affine {
    Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, height])
}

fn viewed(
    view: [f64; 4],
    mm: [Option<f64>; 2],
    own: f64,
    aspect: Option<Written<'_>>,
) -> Result<Affine, ReadFault> {
    let [x, y, wide, high] = view;
    let (width, height) = match mm {
        [Some(width), Some(height)] => (width, height),
        [Some(width), None] => (width, width * high / wide),
        [None, Some(height)] => (height * wide / high, height),
        [None, None] => (wide * own, high * own),
    };
    let fit = match aspect {
        Some(written) => fit(written)?,
        None => Some((0.5, 0.5, false)),
    };
    let (mut sx, mut sy) = (width / wide, height / high);
    let (mut left, mut top) = (0.0, 0.0);
    if let Some((across, down, slice)) = fit {
        let one = if slice { sx.max(sy) } else { sx.min(sy) };
        (sx, sy) = (one, one);
        left = (width - wide * one) * across;
        top = (height - high * one) * down;
    }
    let map = upright(height)
        * Affine::translate((left, top))
        * Affine::scale_non_uniform(sx, sy)
        * Affine::translate((-x, -y));
    if map.is_finite() && sx > 0.0 && sy > 0.0 {
        Ok(map)
    } else {
        Err(ReadFault::new("E92", "the page's size and its viewBox do not go together"))
    }
}

/// Where the view lies in the page (shares across and down) and whether it is cut; nothing where it is stretched.
fn fit(written: Written<'_>) -> Result<Option<(f64, f64, bool)>, ReadFault> {
    let mut words = written.text.split_ascii_whitespace();
    let align = words.next().unwrap_or("xMidYMid");
    let slice = match words.next() {
        None | Some("meet") => false,
        Some("slice") => true,
        Some(_) => return Err(not_understood(written)),
    };
    if align == "none" {
        return Ok(None);
    }
    let share = |word: &str| match word {
        "Min" => Some(0.0),
        "Mid" => Some(0.5),
        "Max" => Some(1.0),
        _ => None,
    };
    let across = align.strip_prefix('x').and_then(|a| a.get(..3)).and_then(share);
    let down = align.get(4..).and_then(|a| a.strip_prefix('Y')).and_then(share);
    match (across, down) {
        (Some(across), Some(down)) => Ok(Some((across, down, slice))),
        _ => Err(not_understood(written)),
    }
}

fn not_understood(written: Written<'_>) -> ReadFault {
    ReadFault::new("E99", "a `preserveAspectRatio` that is not understood").at(written.at)
}
