//! From placed pieces to strokes in order.

use super::kerf::cut_line;
use super::numbers::numbers;
use super::order::{Contour, order_by_layer};
use super::rule::{CLEAR, Room, rule, rule_at};
use super::{BedWindow, CutPlan, Layer, Motion, Row, Stroke};
use crate::fault::Fault;
use crate::geom::{Loop, Point, Rect, Seg, Shape, Vec2, rectangle, tolerance};
use crate::lay::{Dot, Placed};
use crate::machine::Machine;
use crate::material::{CutSetting, Material};
use crate::part::{Piece, Punch};
use crate::sheet::Sheet;

/// What is to be cut from one sheet, or from one bed window of it.
#[derive(Debug, Clone)]
pub struct Work<'a> {
    /// The sheet.
    pub sheet: &'a Sheet,
    /// Its pieces with their places.
    pub pieces: Vec<(&'a Piece, &'a Placed)>,
    /// Outlines of the sheet's pieces in other bed windows.
    pub others: Vec<Loop>,
    /// The bed window, where the sheet is cut in several. Its origin stands for true lines: the width of the cut is
    /// not yet allowed for.
    pub window: Option<BedWindow>,
    /// Register dots to be marked.
    pub dots: Vec<Point>,
    /// The machine.
    pub machine: &'a Machine,
    /// The material.
    pub material: &'a Material,
    /// How the machine cuts it.
    pub setting: &'a CutSetting,
    /// Short warnings that are drawn beside the rule, such as why the material is not for a laser.
    pub warnings: Vec<String>,
    /// Cautions for whoever runs the machine.
    pub cautions: Vec<String>,
}

/// One piece where it lies.
pub(super) struct Lying<'a> {
    pub(super) piece: &'a Piece,
    placed: &'a Placed,
    pub(super) shape: Shape,
    creases: Vec<Seg>,
    punches: Vec<Punch>,
    rounds: Vec<(usize, Punch)>,
}

/// The plan for one sheet, or for one bed window of it, whose file begins at the window's own origin.
///
/// # Errors
/// Pieces that leave the bed, a hole or outline that the cut would swallow or take apart, no room for the rule.
pub fn plan(work: &Work<'_>) -> Result<CutPlan, Vec<Fault>> {
    let lying: Vec<Lying<'_>> = work.pieces.iter().filter_map(|(p, at)| lie(p, at)).collect();
    let kerf = (work.setting.kerf_x, work.setting.kerf_y);
    let mut faults = Vec::new();
    let (contours, punched) = contours(work, &lying, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    let window = work.window.map(|window| {
        let origin = window.origin - Vec2::new(kerf.0, kerf.1) / 2.0;
        BedWindow { origin, ..window }
    });
    let origin = window.map_or(Vec2::ZERO, |window| window.origin.to_vec2());
    let bed = bed(work.machine) + origin;
    let (mut strokes, numbers) = numbers(work, &lying);
    strokes.extend(marks(&lying, &punched));
    strokes.extend(work.dots.iter().flat_map(|dot| dot_marks(*dot)));
    let mut rows = rows(&lying, &punched);
    for (i, start) in order_by_layer(&contours, origin.to_point()) {
        let contour = &contours[i];
        strokes.push(Stroke {
            layer: if contour.outside { Layer::Edges } else { Layer::Holes },
            address: lying[contour.piece].piece.address.to_string(),
            number: 0,
            motions: motions(&contour.line, start, contour.outside),
        });
    }
    if let Some(fault) = outside_bed(work, &strokes, bed) {
        return Err(vec![fault]);
    }
    let mut cautions = work.cautions.clone();
    let rule = ruled(work, &lying, &numbers, bed, &mut cautions).map_err(|fault| vec![fault])?;
    strokes.splice(0..0, rule);
    for (stroke, number) in strokes.iter_mut().zip(1..) {
        stroke.number = number;
        if let Some(row) = rows.iter_mut().find(|row| row.address == stroke.address) {
            row.strokes.push(number);
        }
    }
    let page = if window.is_some() {
        for motion in strokes.iter_mut().flat_map(|stroke| &mut stroke.motions) {
            *motion = motion.moved(-origin);
        }
        page(&strokes, Rect::ZERO)
    } else {
        page(&strokes, work.sheet.outline.bounds())
    };
    Ok(CutPlan {
        sheet: work.sheet.id.clone(),
        generation: work.sheet.generation,
        material: work.material.key.clone(),
        machine: work.machine.key.clone(),
        process: work.machine.process.name(),
        kerf,
        strokes,
        rows,
        page,
        window,
        dots: work.dots.clone(),
        warnings: work.warnings.clone(),
        cautions,
    })
}

/// What is said of a file whose sheet fills the bed window to its sides.
pub const RULE_OFF: &str =
    "the 100 mm rule stands beyond the bed: measure it, then leave layer RULE out";

/// The strokes of the rule, where there is room for it.
fn ruled(
    work: &Work<'_>,
    lying: &[Lying<'_>],
    numbers: &[Rect],
    bed: Rect,
    cautions: &mut Vec<String>,
) -> Result<Vec<Stroke>, Fault> {
    let mut outlines: Vec<Loop> = lying.iter().map(|l| l.shape.outline().clone()).collect();
    outlines.extend(work.others.iter().cloned());
    let boxes = numbers.iter().map(|b| rectangle(b.origin(), b.width(), b.height(), 0.0));
    outlines.extend(boxes.flatten());
    outlines.extend(work.dots.iter().map(|dot| Loop::Circle(*dot, Dot::RADIUS)));
    let apart = work.setting.gap + work.setting.kerf();
    let room = Room { sheet: &work.sheet.outline, bed, pieces: &outlines, apart };
    if let Some(rule) = rule(&room, &work.warnings) {
        return Ok(rule);
    }
    if work.window.is_some() {
        // A window may be full to its sides; the rule is never cut, and may stand beyond the bed.
        cautions.push(RULE_OFF.to_owned());
        return Ok(rule_at(Point::new(bed.x0, bed.y1 + CLEAR), &work.warnings));
    }
    Err(Fault::error("E46", format!("no room on {} for the 100 mm rule", work.sheet.id))
        .at(&work.sheet.place)
        .cure("leave 110 x 20 mm free beside the sheet or in its waste"))
}

/// The bed inside its margin, seen from the sheet: its lower left corner lies on the corner of the margin.
pub(super) fn bed(machine: &Machine) -> Rect {
    Rect::new(0.0, 0.0, machine.width - 2.0 * machine.margin, machine.depth - 2.0 * machine.margin)
}

pub(super) fn lie<'a>(piece: &'a Piece, placed: &'a Placed) -> Option<Lying<'a>> {
    let design = piece.turns.design(placed.stance)?;
    let pose = &placed.pose;
    let placed_punch = |p: &Punch| Punch { at: pose.on_point(p.at), diameter: p.diameter };
    Some(Lying {
        piece,
        placed,
        shape: design.shape.posed(pose),
        creases: design.creases.iter().map(|s| pose.on_seg(s)).collect(),
        punches: design.punches.iter().map(placed_punch).collect(),
        rounds: design.rounds.iter().map(|(i, p)| (*i, placed_punch(p))).collect(),
    })
}

/// Every loop to be cut, and for each piece the holes left to the punch.
fn contours(
    work: &Work<'_>,
    lying: &[Lying<'_>],
    faults: &mut Vec<Fault>,
) -> (Vec<Contour>, Vec<Vec<Punch>>) {
    let kerf = (work.setting.kerf_x, work.setting.kerf_y);
    let mut contours: Vec<Contour> = Vec::new();
    let mut punched: Vec<Vec<Punch>> = lying.iter().map(|l| l.punches.clone()).collect();
    for (piece, it) in lying.iter().enumerate() {
        let depth = depth(work, it.placed);
        for (n, hole) in it.shape.holes().iter().enumerate() {
            // A hole is judged by its finished diameter, whatever stretch has made of it.
            let round = it.rounds.iter().find(|(i, _)| *i == n).map(|(_, punch)| *punch);
            if let Some(punch) = round
                && punch.diameter < work.machine.smallest_hole - tolerance::SLACK
            {
                punched[piece].push(punch);
                continue;
            }
            match cut_line(hole, kerf, false) {
                Ok(line) => contours.push(Contour { piece, line, outside: false, depth }),
                Err(fault) => faults.push(swallowed(work, it, "a hole", &fault.to_string())),
            }
        }
        match cut_line(it.shape.outline(), kerf, true) {
            Ok(line) => contours.push(Contour { piece, line, outside: true, depth }),
            Err(fault) => faults.push(swallowed(work, it, "the outline", &fault.to_string())),
        }
    }
    (contours, punched)
}

/// In how many holes, one inside the other, a piece lies.
fn depth(work: &Work<'_>, placed: &Placed) -> usize {
    let mut depth = 0;
    let mut host = placed.host;
    while let Some(piece) = host
        && depth < work.pieces.len()
    {
        depth += 1;
        host = work.pieces.iter().find(|(_, at)| at.piece == piece).and_then(|(_, at)| at.host);
    }
    depth
}

fn swallowed(work: &Work<'_>, it: &Lying<'_>, what: &str, how: &str) -> Fault {
    Fault::error(
        "E42",
        format!(
            "{}: {what} cannot be cut with a kerf of {:.3} mm: {how}",
            it.piece.address,
            work.setting.kerf()
        ),
    )
    .at(&work.setting.place)
    .cure("is the kerf right? Else cut it with the knife, or punch it")
}

/// The cross of a register dot.
fn dot_marks(at: Point) -> [Stroke; 2] {
    [Vec2::new(Dot::RADIUS, 0.0), Vec2::new(0.0, Dot::RADIUS)].map(|arm| Stroke {
        layer: Layer::Dots,
        address: String::new(),
        number: 0,
        motions: vec![Motion::Rapid(at - arm), Motion::Line(at + arm)],
    })
}

/// Creases and punch marks, lightly marked before anything is cut.
fn marks(lying: &[Lying<'_>], punched: &[Vec<Punch>]) -> Vec<Stroke> {
    let mut strokes = Vec::new();
    let stroke = |layer, it: &Lying<'_>, from, to| Stroke {
        layer,
        address: it.piece.address.to_string(),
        number: 0,
        motions: vec![Motion::Rapid(from), Motion::Line(to)],
    };
    for it in lying {
        for crease in &it.creases {
            strokes.push(stroke(Layer::Crease, it, crease.a, crease.b));
        }
    }
    for (it, punches) in lying.iter().zip(punched) {
        for punch in punches {
            // A small cross that the punch takes out with the hole.
            let arm = (punch.diameter * 0.3).min(0.8);
            for way in [Vec2::new(arm, 0.0), Vec2::new(0.0, arm)] {
                strokes.push(stroke(Layer::Punch, it, punch.at - way, punch.at + way));
            }
        }
    }
    strokes
}

fn rows(lying: &[Lying<'_>], punched: &[Vec<Punch>]) -> Vec<Row> {
    lying
        .iter()
        .zip(punched)
        .map(|(it, punches)| {
            let b = it.shape.bounds();
            let left: f64 = it
                .rounds
                .iter()
                .filter(|(_, round)| punches.contains(round))
                .filter_map(|(i, _)| it.shape.holes().get(*i))
                .map(Loop::area)
                .sum();
            Row {
                address: it.piece.address.to_string(),
                x: it.placed.pose.x,
                y: it.placed.pose.y,
                turn: it.placed.pose.turn,
                mirrored: it.placed.pose.mirrored,
                strokes: Vec::new(),
                size: (b.width(), b.height()),
                area: it.shape.area() + left,
                punches: punches.iter().map(|p| (p.at, p.diameter)).collect(),
            }
        })
        .collect()
}

/// The motions of one loop from a start on it: outlines counter-clockwise, holes clockwise.
fn motions(line: &Loop, start: Point, outside: bool) -> Vec<Motion> {
    if let Some((center, radius)) = line.as_circle() {
        return vec![Motion::Rapid(start), Motion::Circle(center, radius, !outside)];
    }
    let mut segs = if outside { line.segs() } else { line.backward() };
    if let Some(first) = segs.iter().position(|s| s.a == start) {
        segs.rotate_left(first);
    }
    let mut motions = vec![Motion::Rapid(segs.first().map_or(start, |s| s.a))];
    motions.extend(
        segs.iter().map(
            |s| {
                if s.is_line() { Motion::Line(s.b) } else { Motion::Arc(s.b, s.bulge) }
            },
        ),
    );
    motions
}

fn stroke_box(stroke: &Stroke) -> Option<Rect> {
    stroke.segs().iter().map(Seg::bounds).reduce(|a, b| a.union(b))
}

/// The first piece that leaves the bed, as a fault.
fn outside_bed(work: &Work<'_>, strokes: &[Stroke], bed: Rect) -> Option<Fault> {
    let slack = tolerance::SLACK;
    let over = |b: Rect| (bed.x0 - b.x0).max(b.x1 - bed.x1).max(bed.y0 - b.y0).max(b.y1 - bed.y1);
    let (address, b) = strokes
        .iter()
        .filter_map(|s| Some((&s.address, stroke_box(s)?)))
        .filter(|(_, b)| over(*b) > slack)
        .min_by_key(|(address, _)| {
            work.pieces.iter().position(|(p, _)| p.address.to_string() == **address)
        })?;
    let wide = b.width() <= bed.width() && b.height() <= bed.height();
    let cure = if wide {
        "cut the sheet smaller, or use a machine whose bed takes it"
    } else {
        "the piece is larger than the bed: cut it with another machine"
    };
    Some(
        Fault::error(
            "E33",
            format!(
                "{address} on {} leaves the bed of {} by {:.1} mm; the bed takes {:.0} x {:.0} mm inside its margin",
                work.sheet.id, work.machine.key, over(b), bed.width(), bed.height(),
            ),
        )
        .at(&work.sheet.place)
        .cure(cure),
    )
}

/// Size of the drawing: from the origin to the far corner of everything on it, and a little beyond.
fn page(strokes: &[Stroke], sheet: Rect) -> (f64, f64) {
    let all = strokes.iter().filter_map(stroke_box).fold(sheet, |a, b| a.union(b));
    ((all.x1 + CLEAR).ceil(), (all.y1 + CLEAR).ceil())
}
