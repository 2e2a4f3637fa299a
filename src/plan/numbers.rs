//! The numbers of pieces, lightly marked in the waste beside them.
//!
//! Only a laser whose material has a power for marks gets them: a knife would cut them. A number keeps as far from
//! every piece as two cuts must, so it never lies on a face that seals. Where there is no room it is left to the picture.

use super::build::{Lying, Work, bed};
use super::{Layer, Motion, Stroke};
use crate::geom::{Loop, Point, Rect, Shape, Vec2, Where, loop_distance, point_in_loop, rectangle};
use crate::lay::Dot;
use crate::letters;
use crate::machine::Process;
use crate::part::Address;

/// Heights of the letters (mm), the first that has room is taken.
const HEIGHTS: [f64; 2] = [2.5, 1.6];
/// A number stays this much farther away than it must (mm), so that rounding never brings it too near.
const SPARE: f64 = 0.05;
/// From the sheet's edge and from another number (mm).
const CLEAR: f64 = 0.5;
/// A number is looked for in so many directions from its piece.
const WAYS: u32 = 24;
/// And no farther from its box than this (mm), or it would seem to belong to another.
const FAR: f64 = 6.0;

/// The strokes of all numbers that have room, and the boxes they fill.
pub(super) fn numbers(work: &Work<'_>, lying: &[Lying<'_>]) -> (Vec<Stroke>, Vec<Rect>) {
    let mut made = (Vec::new(), Vec::new());
    if work.machine.process != Process::Laser || work.setting.mark_power.is_none() {
        return made;
    }
    let room = Room {
        sheet: &work.sheet.outline,
        bed: work.window.map_or(bed(work.machine), |w| bed(work.machine) + w.origin.to_vec2()),
        shapes: lying.iter().map(|it| &it.shape).collect(),
        others: work
            .others
            .iter()
            .chain(work.sheet.flaws.iter().map(|flaw| &flaw.outline))
            .collect(),
        dots: work.dots.iter().map(|at| Loop::Circle(*at, Dot::RADIUS)).collect(),
        apart: work.setting.gap + work.setting.kerf() + SPARE,
    };
    for it in lying {
        let address = &it.piece.address;
        let place = HEIGHTS.iter().find_map(|height| {
            [address.to_string(), short(address)].into_iter().find_map(|text| {
                let area =
                    room.beside(&it.shape, letters::width(&text, *height), *height, &made.1)?;
                Some((text, area))
            })
        });
        let Some((text, area)) = place else { continue };
        made.1.push(area);
        let by = area.origin().to_vec2();
        for line in letters::strokes(&text, area.height()).into_iter().filter(|l| l.len() > 1) {
            let mut motions = vec![Motion::Rapid(line[0] + by)];
            motions.extend(line[1..].iter().map(|p| Motion::Line(*p + by)));
            let address = address.to_string();
            made.0.push(Stroke { layer: Layer::Numbers, address, number: 0, motions });
        }
    }
    made
}

/// The place alone, with the member's first letter and the number of a spare.
fn short(address: &Address) -> String {
    let member = address.member.map_or(String::new(), |m| {
        let number = if m.number > 0 { m.number.to_string() } else { String::new() };
        format!("/{}{number}", m.word.chars().take(1).collect::<String>())
    });
    let spare = if address.spare > 0 { format!("+{}", address.spare) } else { String::new() };
    format!("{}{member}{spare}", address.position)
}

/// What a number must keep clear of.
struct Room<'a> {
    sheet: &'a Loop,
    bed: Rect,
    shapes: Vec<&'a Shape>,
    /// Pieces of other bed windows, and flaws: nothing lies in them.
    others: Vec<&'a Loop>,
    dots: Vec<Loop>,
    apart: f64,
}

impl Room<'_> {
    /// A free box for letters near a piece, the nearest in each direction tried first.
    fn beside(&self, shape: &Shape, wide: f64, high: f64, taken: &[Rect]) -> Option<Rect> {
        let b = shape.bounds();
        let reach = Vec2::new(b.width() + wide, b.height() + high) / 2.0;
        let at = |middle: Point| Rect::from_center_size(middle, (wide, high));
        let far = self.apart + FAR;
        let around = (0..WAYS).flat_map(|way| {
            let angle = std::f64::consts::TAU * f64::from(way) / f64::from(WAYS);
            let (x, y) = (angle.cos(), angle.sin());
            // From where the box may first be clear of a round piece to where it is clear of the piece's own box.
            (0..=4).map(move |step| {
                let share = 0.75 + 0.0625 * f64::from(step);
                let out = Vec2::new(x * (reach.x + far), y * (reach.y + far)) * share;
                b.center() + out
            })
        });
        let sides = (0..=6).flat_map(|step| {
            let share = f64::from(step) / 6.0 - 0.5;
            let (x, y) = (b.center().x + share * b.width(), b.center().y + share * b.height());
            let off = self.apart + SPARE;
            [
                Point::new(x, b.y1 + off + high / 2.0),
                Point::new(x, b.y0 - off - high / 2.0),
                Point::new(b.x1 + off + wide / 2.0, y),
                Point::new(b.x0 - off - wide / 2.0, y),
            ]
        });
        // Not in its own holes: their waste falls out, and the number with it.
        sides.chain(around).map(at).find(|area| self.is_free(*area, taken))
    }

    fn is_free(&self, area: Rect, taken: &[Rect]) -> bool {
        // Some letters reach a third of their height below the line.
        let low = Rect::new(
            area.x0,
            area.y0 - 0.35 * area.height(),
            area.x1,
            area.y1 + 0.15 * area.height(),
        );
        let wider = low.inflate(CLEAR, CLEAR);
        let inside = wider.x0 >= self.bed.x0
            && wider.y0 >= self.bed.y0
            && wider.x1 <= self.bed.x1
            && wider.y1 <= self.bed.y1;
        if !inside || taken.iter().any(|other| other.overlaps(wider.inflate(CLEAR, CLEAR))) {
            return false;
        }
        let Ok(frame) = rectangle(low.origin(), low.width(), low.height(), 0.0) else {
            return false;
        };
        let reach = low.inflate(self.apart, self.apart);
        let middle = low.center();
        let near = |it: &Loop| it.bounds().overlaps(reach);
        let apart = |it: &Loop| loop_distance(it, &frame).0 >= self.apart;
        let on_sheet = point_in_loop(middle, self.sheet) == Where::Inside
            && loop_distance(self.sheet, &frame).0 >= CLEAR;
        let off = |it: &Loop| {
            !near(it)
                || (apart(it)
                    && point_in_loop(middle, it) == Where::Outside
                    && point_in_loop(it.start(), &frame) == Where::Outside)
        };
        // In a hole of a piece it is in the waste too.
        let off_shape = |shape: &Shape| {
            !near(shape.outline())
                || (shape.loops().all(|it| !near(it) || apart(it))
                    && point_in_loop(shape.outline().start(), &frame) == Where::Outside
                    && (point_in_loop(middle, shape.outline()) == Where::Outside
                        || shape.holes().iter().any(|h| point_in_loop(middle, h) == Where::Inside)))
        };
        on_sheet
            && self.others.iter().all(|it| off(it))
            && self.dots.iter().all(off)
            && self.shapes.iter().all(|shape| off_shape(shape))
    }
}
