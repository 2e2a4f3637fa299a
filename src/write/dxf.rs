//! Cut files in DXF: R2000 by default, R12 for readers that know nothing newer.
//!
//! Closed strokes are closed polylines with bulges, circles are CIRCLE, a single line is LINE, a single arc is ARC (which
//! always runs counter-clockwise), other open strokes are open polylines. Entities stand in the order of the plan.
//! The only words of the user's are in the comments at the head, in ASCII: files of both versions are read in a code
//! page, and no letter may depend on which.

use super::chains::{chains, is_closed, is_flat};
use super::colour;
use super::dxf_frame::{Frame, Pairs};
use super::manifest::Manifest;
use super::number::{ANGLE_DECIMALS, BULGE_DECIMALS};
use crate::geom::{Point, Rect, Seg};
use crate::letters::{ascii, folded};
use crate::plan::{CutPlan, Layer, Stroke};
use std::collections::BTreeMap;
use std::fmt::Write;

/// A version of the format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DxfVersion {
    /// Release 12 of 1992: old readers know it; it has no official way to say its unit.
    R12,
    /// Version 2000: says its unit, has polylines in one entity.
    R2000,
}

/// Longest comment line; some readers stop at 255 characters.
const COMMENT: usize = 240;

/// The plan as a DXF file. `colours` are the user's own by layer name, and may be empty.
///
/// # Units
/// Millimetres; the file says so in its header and in a comment at its head.
pub fn cut_dxf(
    plan: &CutPlan,
    manifest: &Manifest,
    version: DxfVersion,
    colours: &BTreeMap<String, String>,
) -> String {
    let layers: Vec<(&str, u8)> = Layer::ALL
        .iter()
        .filter(|layer| plan.strokes.iter().any(|s| s.layer == **layer))
        .map(|layer| (layer.name(), colour::in_dxf(*layer, colours)))
        .collect();
    let frame = Frame { version, layers: &layers, extent: extent(plan), page: plan.page };
    let mut pairs = Pairs::new();
    let model_space = frame.before_entities(&mut pairs);
    let mut pen = Pen { pairs: &mut pairs, version, owner: model_space };
    for stroke in &plan.strokes {
        let layer = stroke.layer.name();
        if let Some((center, radius)) = stroke.circle() {
            pen.circle(layer, center, radius);
        } else {
            for chain in chains(stroke) {
                pen.chain(layer, &chain);
            }
        }
    }
    frame.after_entities(&mut pairs);
    let body = frame.with_header(&pairs);
    let mut file = String::with_capacity(body.len() + 1024);
    for line in manifest.lines(&body) {
        for part in folded(&ascii(&line), COMMENT) {
            let _ = write!(file, "999\n{part}\n");
        }
    }
    file.push_str(&body);
    file
}

/// The box of all strokes; the page where there are none.
fn extent(plan: &CutPlan) -> Rect {
    plan.strokes
        .iter()
        .flat_map(Stroke::segs)
        .map(|s| s.bounds())
        .reduce(|a, b| a.union(b))
        .unwrap_or(Rect::new(0.0, 0.0, plan.page.0, plan.page.1))
}

/// Writes entities of one version.
struct Pen<'a> {
    pairs: &'a mut Pairs,
    version: DxfVersion,
    owner: u32,
}

impl Pen<'_> {
    fn begin(&mut self, name: &str, class: &str, layer: &str) {
        self.pairs.text(0, name);
        if self.version == DxfVersion::R2000 {
            self.pairs.new_handle();
            self.pairs.handle(330, self.owner);
            self.pairs.text(100, "AcDbEntity");
        }
        self.pairs.text(8, layer);
        if self.version == DxfVersion::R2000 {
            self.pairs.text(100, class);
        }
    }

    fn circle(&mut self, layer: &str, center: Point, radius: f64) {
        self.begin("CIRCLE", "AcDbCircle", layer);
        self.pairs.point(10, center);
        self.pairs.mm(40, radius);
    }

    fn chain(&mut self, layer: &str, chain: &[Seg]) {
        match chain {
            [] => {}
            [one] if one.is_line() || is_flat(one) => {
                self.begin("LINE", "AcDbLine", layer);
                self.pairs.point(10, one.a);
                self.pairs.point(11, one.b);
            }
            [one] => self.arc(layer, one),
            many if self.version == DxfVersion::R12 => self.old_polyline(layer, many),
            many => self.polyline(layer, many),
        }
    }

    fn arc(&mut self, layer: &str, seg: &Seg) {
        self.begin("ARC", "AcDbCircle", layer);
        let center = seg.center();
        self.pairs.fine_point(10, center);
        self.pairs.real(40, seg.radius(), BULGE_DECIMALS);
        if self.version == DxfVersion::R2000 {
            self.pairs.text(100, "AcDbArc");
        }
        let (from, to) = if seg.bulge > 0.0 { (seg.a, seg.b) } else { (seg.b, seg.a) };
        for (code, p) in [(50, from), (51, to)] {
            let degrees = (p - center).atan2().to_degrees().rem_euclid(360.0);
            self.pairs.real(code, degrees, ANGLE_DECIMALS);
        }
    }

    fn polyline(&mut self, layer: &str, chain: &[Seg]) {
        let closed = is_closed(chain);
        let corners = corners(chain, closed);
        self.begin("LWPOLYLINE", "AcDbPolyline", layer);
        self.pairs.whole(90, corners.len());
        self.pairs.whole(70, usize::from(closed));
        for (p, bulge) in corners {
            self.pairs.flat_point(10, p);
            if bulge != 0.0 {
                self.pairs.real(42, bulge, BULGE_DECIMALS);
            }
        }
    }

    fn old_polyline(&mut self, layer: &str, chain: &[Seg]) {
        let closed = is_closed(chain);
        self.begin("POLYLINE", "", layer);
        self.pairs.whole(66, 1);
        self.pairs.point(10, Point::ORIGIN);
        self.pairs.whole(70, usize::from(closed));
        for (p, bulge) in corners(chain, closed) {
            self.begin("VERTEX", "", layer);
            self.pairs.point(10, p);
            if bulge != 0.0 {
                self.pairs.real(42, bulge, BULGE_DECIMALS);
            }
        }
        self.begin("SEQEND", "", layer);
    }
}

/// Points of a chain, each with the bulge of the piece that leaves it.
fn corners(chain: &[Seg], closed: bool) -> Vec<(Point, f64)> {
    let mut corners: Vec<(Point, f64)> = chain.iter().map(|s| (s.a, s.bulge)).collect();
    if let (false, Some(last)) = (closed, chain.last()) {
        corners.push((last.b, 0.0));
    }
    corners
}
