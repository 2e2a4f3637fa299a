//! The picture of a sheet inside a page: lines that keep their width at any zoom, classes instead of colours, real text.
//!
//! Letters are told to fill the very room that the pen letters of the other pictures take, so that no font makes them
//! overlap.

use super::html::{Element, el};
use super::{PageCut, PageOrder, PagePiece, PageSheet};
use crate::geom::{Loop, Point, Seg, turn_vector};
use crate::letters;
use crate::plan::Layer;
use crate::write::number::fixed;
use crate::write::picture::{
    Dash, LayDrawing, Letters, Mark, PictureLayer, hatched, lay_drawing, scaled_loop, scaled_seg,
};
use std::fmt::Write;

/// Height of capitals in most faces, as a share of the size of the face.
const CAPITALS: f64 = 0.72;
/// An arc whose bulge is no more than this is told at one go: well under half a turn.
const ONE_GO: f64 = 0.6;

/// The picture of a sheet: ground, pieces, what is written on them, and the cuts in their order, hidden at first.
pub(super) fn drawing(sheet: &PageSheet<'_>, number: usize) -> Element {
    let laid: Vec<_> = sheet.pieces.iter().map(|piece| piece.laid.clone()).collect();
    let of = lay_drawing(sheet.sheet, &laid, &sheet.marks);
    let pen = Pen { of: &of };
    let (under, over): (Vec<_>, Vec<_>) =
        of.layers.iter().partition(|layer| matches!(layer.name, "USED" | "ZONES" | "FLAWS"));
    let mut order: Vec<&PagePiece> = sheet.pieces.iter().collect();
    // Guests lie on top of the piece whose hole they are in.
    order.sort_by(|p, q| q.laid.shape.area().total_cmp(&p.laid.shape.area()));
    let size = |value: f64| fixed(value, 1);
    el("svg")
        .class("picture")
        .set("id", format!("picture-{number}"))
        .set("viewBox", format!("0 0 {} {}", size(of.width), size(of.bottom)))
        .set("tabindex", "0")
        .set("role", "group")
        .set(
            "aria-label",
            format!("Picture of {}. Arrow keys go from piece to piece, plus and minus zoom, 0 shows all; c, g and f tick a piece.", sheet.sheet.id),
        )
        .all(under.iter().filter_map(|layer| pen.layer(layer)))
        .add(el("g").class("pieces").all(order.into_iter().map(|piece| pen.piece(piece))))
        .all(over.iter().filter_map(|layer| pen.layer(layer)))
        .all(sheet.orders.iter().map(|order| pen.order(order)))
}

struct Pen<'a> {
    of: &'a LayDrawing,
}

impl Pen<'_> {
    /// A layer of the picture; none for what the pieces show by themselves.
    fn layer(&self, layer: &PictureLayer) -> Option<Element> {
        if matches!(layer.name, "EDGES" | "HOLES") || layer.marks.is_empty() {
            return None;
        }
        let marks = if layer.name == "USED" { &layer.marks[..1] } else { &layer.marks };
        let drawn = marks.iter().map(|mark| self.mark(mark));
        Some(el("g").class(&layer.name.to_ascii_lowercase()).all(drawn))
    }

    fn mark(&self, mark: &Mark) -> Element {
        match mark {
            Mark::Line(segs, _, dash) => {
                el("path").class(broken(*dash)).set("d", self.path(std::slice::from_ref(segs)))
            }
            Mark::Outline(it, _, dash) => {
                el("path").class(broken(*dash)).set("d", self.path(&[it.segs()]))
            }
            Mark::Ground(loops, _) => {
                let chains: Vec<_> = loops.iter().map(Loop::segs).collect();
                el("path").class("paper").set("d", self.path(&chains))
            }
            Mark::Hatch(it, apart, slant, _) => {
                el("path").class("hatch").set("d", self.path(&hatched(it, *apart, *slant)))
            }
            Mark::Arrow(tip, way, length) => {
                let (back, side) = (*way * *length, turn_vector(*way, 90.0) * (length / 6.0));
                let ends = [*tip, *tip - back + side, *tip - back - side];
                let chain = (0..3).map(|i| Seg::line(ends[i], ends[(i + 1) % 3])).collect();
                el("path").class("tip").set("d", self.path(&[chain]))
            }
            Mark::Letters(words) => self.letters(words),
            Mark::Named(name, marks) => {
                el("g").add(el("title").say(name)).all(marks.iter().map(|mark| self.mark(mark)))
            }
        }
    }

    fn letters(&self, words: &Letters) -> Element {
        let (x, y) = (fixed(words.at.x, 2), fixed(self.of.height - words.at.y, 2));
        let text = el("text")
            .set("font-size", fixed(words.height / CAPITALS, 2))
            .set("textLength", fixed(letters::width(&words.text, words.height), 2))
            .set("lengthAdjust", "spacingAndGlyphs");
        let text = if words.mirrored {
            text.set("transform", format!("translate({x} {y}) scale(-1 1)"))
        } else if words.turn.abs() > 0.0 {
            let turn = fixed(-words.turn, 1);
            text.set("transform", format!("translate({x} {y}) rotate({turn})"))
        } else {
            text.set("x", x).set("y", y)
        };
        text.say(&words.text)
    }

    fn piece(&self, piece: &PagePiece) -> Element {
        let on = |it: &Loop| scaled_loop(it, self.of.scale, self.of.by).segs();
        let chains: Vec<_> = piece.laid.shape.loops().map(on).collect();
        el("path")
            .class(if piece.laid.spare { "piece spare" } else { "piece" })
            .set("id", &piece.address)
            .set("tabindex", "-1")
            .set("role", "button")
            .set("aria-label", &piece.address)
            .set("d", self.path(&chains))
    }

    fn order(&self, order: &PageOrder) -> Element {
        let cut = |cut: &PageCut| {
            let on = |seg: &Seg| scaled_seg(seg, self.of.scale, self.of.by);
            let chain: Vec<Seg> = cut.segs.iter().map(on).collect();
            el("path")
                .class(if cut.layer == Layer::Edges { "outline" } else { "hole" })
                .set("data-of", &cut.address)
                .set("d", self.path(&[chain]))
        };
        el("g").class("order").flag("hidden", true).all(order.cuts.iter().map(cut))
    }

    /// Path data, y turned over.
    fn path(&self, chains: &[Vec<Seg>]) -> String {
        let mut d = String::new();
        let at = |p: Point| format!("{} {}", fixed(p.x, 2), fixed(self.of.height - p.y, 2));
        for chain in chains {
            let Some(first) = chain.first() else { continue };
            d.push('M');
            d.push_str(&at(first.a));
            for seg in chain.iter().flat_map(parted) {
                if seg.is_line() {
                    d.push('L');
                } else {
                    let (r, sweep) = (fixed(seg.radius(), 3), u8::from(seg.bulge < 0.0));
                    let _ = write!(d, "A{r} {r} 0 0 {sweep} ");
                }
                d.push_str(&at(seg.b));
            }
            if chain.last().is_some_and(|last| (last.b - first.a).hypot() < 1e-6) {
                d.push('Z');
            }
        }
        d
    }
}

/// An arc that is long in two halves.
fn parted(seg: &Seg) -> Vec<Seg> {
    if seg.bulge.abs() <= ONE_GO {
        return vec![*seg];
    }
    let (middle, half) = (seg.at(0.5), (seg.bulge.atan() / 2.0).tan());
    vec![Seg::arc(seg.a, middle, half), Seg::arc(middle, seg.b, half)]
}

/// The class of a broken line.
fn broken(dash: Dash) -> &'static str {
    match dash {
        Dash::Solid => "",
        Dash::Dashed(_) => "dashed",
        Dash::Chain(_) => "chain",
        Dash::Dotted(_) => "dotted",
    }
}

/// What the patterns of the ticks are drawn with, once for all pictures.
pub(super) fn patterns() -> Element {
    let pattern = |id: &str, d: &str| {
        el("pattern")
            .set("id", id)
            .set("width", "4")
            .set("height", "4")
            .set("patternUnits", "userSpaceOnUse")
            .add(el("path").class(id).set("d", d))
    };
    let arrow = el("marker")
        .set("id", "start")
        .set("viewBox", "0 0 6 4")
        .set("markerWidth", "14")
        .set("markerHeight", "10")
        .set("markerUnits", "userSpaceOnUse")
        .set("refY", "2")
        .set("orient", "auto")
        .add(el("path").set("d", "M0 0L6 2L0 4Z"));
    el("svg").class("patterns").set("width", "0").set("height", "0").set("aria-hidden", "true").add(
        el("defs")
            .add(pattern("is-good", "M-1 1L1 -1M0 4L4 0M3 5L5 3"))
            .add(pattern("is-glued", "M0 1H4M0 3H4"))
            .add(pattern("is-failed", "M0 0L4 4M0 4L4 0"))
            .add(arrow),
    )
}
