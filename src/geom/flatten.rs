//! Arcs to chords, all on one side of the true line.

use super::loops::Loop;
use super::seg::Seg;
use kurbo::{Point, Vec2};
use std::f64::consts::PI;

/// On which side of the true line the chords may lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The polygon holds the loop: for parts and flaws.
    Outside,
    /// The loop holds the polygon: for sheets and the room in holes.
    Inside,
}

/// A polygon, counter-clockwise, that stands off the loop by at most `within` (mm) and on one side only.
pub fn flatten(it: &Loop, within: f64, side: Side) -> Vec<Point> {
    match it {
        Loop::Circle(center, radius) => {
            let n = sides(2.0 * PI, *radius, within, side).max(8);
            let reach = match side {
                Side::Outside => radius / (PI / f64::from(n)).cos(),
                Side::Inside => *radius,
            };
            (0..n)
                .map(|i| *center + Vec2::from_angle(2.0 * PI * f64::from(i) / f64::from(n)) * reach)
                .collect()
        }
        Loop::Chain(segs) => segs.iter().flat_map(|s| steps(s, within, side)).collect(),
    }
}

/// Points from the start of a piece up to its end, the end left out.
fn steps(seg: &Seg, within: f64, side: Side) -> Vec<Point> {
    if seg.is_line() {
        return vec![seg.a];
    }
    // Counter-clockwise arcs bend outward: tangents hold them, chords lie inside; the other way about for the rest.
    let tangents = (seg.bulge > 0.0) == (side == Side::Outside);
    let way = if tangents { Side::Outside } else { Side::Inside };
    let n = sides(seg.sweep().abs(), seg.radius(), within, way);
    let mut points = vec![seg.a];
    if tangents {
        let center = seg.center();
        let longer = 1.0 / (seg.sweep() / (2.0 * f64::from(n))).cos();
        points.extend((0..n).map(|i| {
            let on = seg.at((f64::from(i) + 0.5) / f64::from(n));
            center + (on - center) * longer
        }));
    } else {
        points.extend((1..n).map(|i| seg.at(f64::from(i) / f64::from(n))));
    }
    points
}

/// How many chords or tangents an angle needs.
fn sides(sweep: f64, radius: f64, within: f64, side: Side) -> u32 {
    let half = match side {
        Side::Inside => (1.0 - within / radius).clamp(-1.0, 1.0).acos(),
        Side::Outside => (radius / (radius + within)).clamp(-1.0, 1.0).acos(),
    };
    let half = half.clamp(0.005, PI / 4.0);
    let wanted = (sweep / (2.0 * half)).ceil().clamp(1.0, 4096.0);
    // In range by the clamp above.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 4096")]
    let n = wanted as u32;
    n
}
