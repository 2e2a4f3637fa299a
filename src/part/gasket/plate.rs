//! The plate of each shape of gasket: its outline, the holes that the shape itself has, its sum and its dimensions.

use super::{KEYS, shape_of};
use crate::fault::Fault;
use crate::geom::{Loop, Point, Pose, obround, rectangle};
use crate::part::arcs::Flange;
use crate::part::holes::Bored;
use crate::part::measures::Measures;
use crate::part::member::Dimension;
use crate::part::sum::{Sum, corner_fits, mm, shown, sides, wrong};

/// A flange has no more ears than this.
const MOST_EARS: u32 = 24;

/// A plate before the holes that the job asks for.
pub(super) struct Plate {
    pub(super) outline: Loop,
    /// Bore, window, screws of the ears.
    pub(super) bored: Vec<Bored>,
    pub(super) sum: Sum,
    pub(super) dimensions: Vec<Dimension>,
}

/// The plate of a gasket's shape; the lower left corner of its box is the origin.
pub(super) fn plate(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    match shape_of(m) {
        "ring" => ring(m, faults),
        "obround" => round_ends(m, faults),
        "frame" => frame(m, faults),
        "flange" | "elbow" => flange(m, faults),
        "self-energising" => skin(m, faults),
        _ => plain(m, faults),
    }
}

/// Measures that the shape cannot do without, in the order of `keys`; each that is missing is asked for.
fn need<const N: usize>(
    m: &Measures,
    keys: [&'static str; N],
    faults: &mut Vec<Fault>,
) -> Option<[f64; N]> {
    let mut found = [0.0; N];
    let mut whole = true;
    for (key, place) in keys.iter().zip(&mut found) {
        if let Some(mm) = m.mm(key) {
            *place = mm;
            continue;
        }
        whole = false;
        let card = KEYS.iter().find(|k| k.name == *key);
        faults.push(
            Fault::error("E12", format!("a gasket of shape \"{}\" needs `{key}`", shape_of(m)))
                .at(&m.place)
                .cure(format!("{key} = \"{}\"", card.map_or("1 in", |k| k.example))),
        );
    }
    whole.then_some(found)
}

/// Refuses a radius of the corners that does not fit.
fn corner(m: &Measures, key: &str, of: (&str, f64, f64), faults: &mut Vec<Fault>) -> Option<f64> {
    if let Some(fault) = corner_fits(m, key, of) {
        faults.push(fault);
        return None;
    }
    Some(m.mm_or(key, 0.0))
}

fn plain(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    let [length, width] = need(m, ["length", "width"], faults)?;
    let radius = corner(m, "corner", ("plate", length, width), faults)?;
    Some(Plate {
        outline: rectangle(Point::ORIGIN, length, width, radius).ok()?,
        bored: Vec::new(),
        sum: cut_sides(
            Sum::default().given(m, "length", "length").given(m, "width", "width").given(
                m,
                "corner",
                "radius of the corners",
            ),
            length,
            width,
        ),
        dimensions: sides(length, width),
    })
}

fn cut_sides(sum: Sum, length: f64, width: f64) -> Sum {
    sum.total("cut length", "", length).total("cut width", "", width)
}

fn round_ends(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    let [length, width] = need(m, ["length", "width"], faults)?;
    if length < width {
        faults.push(wrong(
            m,
            "length",
            format!("length {} is less than width {}", mm(length), mm(width)),
            "an obround is longer than wide",
        ));
        return None;
    }
    let r = width / 2.0;
    let sum = Sum::default().given(m, "length", "length").given(m, "width", "width");
    Some(Plate {
        outline: obround(Point::new(r, r), Point::new(length - r, r), width).ok()?,
        bored: Vec::new(),
        sum: cut_sides(sum, length, width),
        dimensions: sides(length, width),
    })
}

fn frame(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    let [length, width, border] = need(m, ["length", "width", "border"], faults)?;
    if border >= length.min(width) / 2.0 {
        faults.push(wrong(
            m,
            "border",
            format!(
                "a border of {} leaves no window in {} by {}",
                mm(border),
                mm(length),
                mm(width)
            ),
            &format!("less than {} leaves one", mm(length.min(width) / 2.0)),
        ));
        return None;
    }
    let (clear, across) = (length - 2.0 * border, width - 2.0 * border);
    let outer = corner(m, "corner", ("plate", length, width), faults)?;
    let inner = corner(m, "inner-corner", ("window", clear, across), faults)?;
    let window = rectangle(Point::new(border, border), clear, across, inner).ok()?;
    let sum = Sum::default()
        .given(m, "length", "length")
        .given(m, "width", "width")
        .given(m, "border", "width of the frame")
        .given(m, "corner", "radius of the corners")
        .given(m, "inner-corner", "radius of the window's corners");
    let mut dimensions = sides(length, width);
    let (left, right) = (Point::new(border, border), Point::new(length - border, border));
    dimensions.push(Dimension::Span(right, left, 1.0, shown(clear)));
    dimensions.push(Dimension::Span(left, Point::new(border, width - border), 1.0, shown(across)));
    Some(Plate {
        outline: rectangle(Point::ORIGIN, length, width, outer).ok()?,
        bored: vec![Bored::new(window, "the window", m.place_of("border"))],
        sum: cut_sides(sum, length, width)
            .total("window length", "length - 2 x border", clear)
            .total("window width", "width - 2 x border", across),
        dimensions,
    })
}

/// Refuses a bore that leaves nothing of its body.
fn bore(m: &Measures, outside: (&str, f64), faults: &mut Vec<Fault>) -> Option<f64> {
    let (bore, (what, outside)) = (m.mm("bore")?, outside);
    if bore >= outside {
        faults.push(wrong(
            m,
            "bore",
            format!("bore {} is not less than {what} {}", mm(bore), mm(outside)),
            &format!("a bore of less than {} leaves a ring", mm(outside)),
        ));
        return None;
    }
    Some(bore)
}

fn ring(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    let [outside, _] = need(m, ["outside", "bore"], faults)?;
    let bore = bore(m, ("outside", outside), faults)?;
    let center = Point::new(outside / 2.0, outside / 2.0);
    Some(Plate {
        outline: Loop::circle(center, outside / 2.0).ok()?,
        bored: vec![Bored::new(
            Loop::circle(center, bore / 2.0).ok()?,
            "the bore",
            m.place_of("bore"),
        )],
        sum: Sum::default().given(m, "outside", "outside").given(m, "bore", "bore").total(
            "cut diameter",
            "",
            outside,
        ),
        dimensions: [outside, bore].map(|d| Dimension::Diameter(center, d / 2.0, shown(d))).into(),
    })
}

fn flange(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    let shape = shape_of(m);
    let [outside, _, ear, at, screw] =
        need(m, ["outside", "bore", "ear", "ear-at", "ear-hole"], faults)?;
    let bore = bore(m, ("outside", outside), faults)?;
    let ears = if shape == "elbow" { 1 } else { m.count("ears").unwrap_or(2) };
    if !(1..=MOST_EARS).contains(&ears) {
        faults.push(wrong(
            m,
            "ears",
            format!("a flange of {ears} ears"),
            &format!("a flange has 1 to {MOST_EARS} ears"),
        ));
        return None;
    }
    if (outside - ear).abs() / 2.0 >= at {
        let (inner, outer) = if ear < outside { ("ears", "body") } else { ("body", "ears") };
        faults.push(wrong(
            m,
            "ear-at",
            format!("with `ear-at` {} the {inner} do not stand out of the {outer}", mm(at)),
            &format!("more than {} lets them", mm((outside - ear).abs() / 2.0)),
        ));
        return None;
    }
    let flange = Flange { body: outside / 2.0, ears, ear: ear / 2.0, at };
    let hull = flange.outline().ok()?;
    let b = hull.bounds();
    let place = Pose { x: -b.x0, y: -b.y0, ..Pose::STILL };
    let middle = place.on_point(Point::ORIGIN);
    let ear_at: Vec<Point> = flange.centers().into_iter().map(|c| place.on_point(c)).collect();
    let mut bored =
        vec![Bored::new(Loop::circle(middle, bore / 2.0).ok()?, "the bore", m.place_of("bore"))];
    for (n, center) in ear_at.iter().enumerate() {
        let hole = Loop::circle(*center, screw / 2.0).ok()?;
        let name = format!("the hole of ear {}", n + 1);
        bored.push(Bored::new(hole, name, m.place_of("ear-hole")));
    }
    let sum = Sum::default()
        .given(m, "outside", "diameter of the body")
        .given(m, "bore", "bore")
        .given(m, "ear", "diameter of an ear")
        .given(m, "ear-at", "from the body's centre to an ear's")
        .given(m, "ear-hole", "hole of an ear");
    let mut dimensions = sides(b.width(), b.height());
    dimensions.extend([outside, bore].map(|d| Dimension::Diameter(middle, d / 2.0, shown(d))));
    if let Some(first) = ear_at.first() {
        dimensions.extend([ear, screw].map(|d| Dimension::Diameter(*first, d / 2.0, shown(d))));
        dimensions.push(Dimension::Span(*first, middle, 1.0, shown(at)));
    }
    Some(Plate {
        outline: place.on_loop(&hull),
        bored,
        sum: cut_sides(sum, b.width(), b.height())
            .note("ears", "set evenly, the first along x", f64::from(ears), "")
            .note("body's centre from the left", "", middle.x, "mm")
            .note("body's centre from below", "", middle.y, "mm"),
        dimensions,
    })
}

/// A square skin glued round an opening, with room to rise: the wind behind it presses it against the other board.
///
/// # Source
/// Arc through rim and top, R = (a² + h²) / 2h, half angle 2·atan(h/a): elementary geometry, taken across the middle
/// of the square.
fn skin(m: &Measures, faults: &mut Vec<Fault>) -> Option<Plate> {
    let [opening, gap, land] = need(m, ["opening", "gap", "land"], faults)?;
    if gap > opening / 2.0 {
        faults.push(wrong(
            m,
            "gap",
            format!("a rise of {} over an opening of {}", mm(gap), mm(opening)),
            "it rises by half its opening at most",
        ));
        return None;
    }
    let half = opening / 2.0;
    let free = 2.0 * (half * half + gap * gap) / gap * (gap / half).atan();
    let side = free + 2.0 * land;
    let middle = Point::new(side / 2.0, side / 2.0);
    let mut dimensions = sides(side, side);
    let mut bored = Vec::new();
    if m.has("bore") {
        let bore = bore(m, ("opening", opening), faults)?;
        dimensions.push(Dimension::Diameter(middle, bore / 2.0, shown(bore)));
        let hole = Loop::circle(middle, bore / 2.0).ok()?;
        bored.push(Bored::new(hole, "the bore", m.place_of("bore")));
    }
    let sum = Sum::default()
        .given(m, "opening", "side of the opening")
        .given(m, "gap", "how far it rises")
        .step("free side", "arc through rim and top", free)
        .given(m, "land", "land")
        .step("+ 2 x land", "", 2.0 * land)
        .given(m, "bore", "bore");
    Some(Plate {
        outline: rectangle(Point::ORIGIN, side, side, 0.0).ok()?,
        bored,
        sum: sum.total("cut length", "free side + 2 x land", side).total(
            "cut width",
            "the same",
            side,
        ),
        dimensions,
    })
}
