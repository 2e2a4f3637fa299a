//! Room for the width of the cut: outlines outward, holes inward.

use crate::geom::{
    Affine, GeomFault, GeomFaultKind, Loop, Offset, Seg, Shape, Vec2, offset, tolerance,
};

/// The line that the middle of the cut follows.
///
/// Equal kerfs keep circles and arcs; unequal ones are an elliptic spot: the plane is scaled until the spot is
/// round, offset there and scaled back, and the ovals that come of it are arcs again within a thousandth.
///
/// # Units
/// Millimetres; `kerf` along x and y.
///
/// # Errors
/// A loop that vanishes or is pinched in two, and an offset that fails its checks.
pub fn cut_line(of: &Loop, kerf: (f64, f64), outward: bool) -> Result<Loop, GeomFault> {
    let side = if outward { 0.5 } else { -0.5 };
    let lone = |found: Offset| match found {
        Offset::Whole(it) => Ok(it),
        Offset::Vanished => Err(GeomFault { kind: GeomFaultKind::NoArea, at: of.start() }),
        Offset::Pinched(loops) => Err(GeomFault {
            kind: GeomFaultKind::Parts,
            at: loops.first().map_or(of.start(), Loop::start),
        }),
    };
    let (x, y) = kerf;
    if (x - y).abs() <= tolerance::WRITTEN || x <= 0.0 || y <= 0.0 {
        return lone(offset(of, side * f64::midpoint(x, y))?);
    }
    let squeezed =
        of.mapped(Affine::scale_non_uniform(y / x, 1.0), tolerance::FIT_STRETCH / 4.0)?;
    let moved = lone(offset(&squeezed, side * y)?)?;
    moved.mapped(Affine::scale_non_uniform(x / y, 1.0), tolerance::FIT_STRETCH)
}

/// How much material a round cut leaves standing in the sharpest inside corner of a shape (mm), and which loop.
///
/// Inside corners are those of holes, and the notches of an outline. The cut can come no nearer to such a corner
/// than its own half width lets it.
pub fn corner_loss(shape: &Shape, kerf: f64) -> (f64, Vec2) {
    let mut worst = (0.0, Vec2::ZERO);
    for (i, it) in shape.loops().enumerate() {
        let segs = if i == 0 { it.segs() } else { it.backward() };
        if it.as_circle().is_some() {
            continue;
        }
        for (one, two) in pairs(&segs) {
            let (into, out) = (one.direction(1.0), two.direction(0.0));
            // The material lies on the left: a turn to the right is an inside corner.
            let turn = into.cross(out).atan2(into.dot(out));
            if turn < -1e-3 {
                let open = std::f64::consts::PI + turn;
                let loss = kerf / 2.0 * (1.0 / (open / 2.0).sin() - 1.0);
                if loss > worst.0 {
                    worst = (loss, one.b.to_vec2());
                }
            }
        }
    }
    worst
}

fn pairs(segs: &[Seg]) -> impl Iterator<Item = (&Seg, &Seg)> {
    segs.iter().zip(segs.iter().cycle().skip(1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Point, rectangle};
    use approx::assert_relative_eq;

    #[test]
    fn a_disk_and_a_hole_come_out_by_definition() {
        // Kerf 0.2: a disk of 25.4 is cut at 25.6, a hole of 3.175 at 2.975 (kerf = width of the cut).
        let disk = Loop::Circle(Point::ORIGIN, 12.7);
        assert_eq!(
            cut_line(&disk, (0.2, 0.2), true).ok(),
            Some(Loop::Circle(Point::ORIGIN, 12.799999999999999))
        );
        let hole = Loop::Circle(Point::ORIGIN, 3.175 / 2.0);
        let cut = cut_line(&hole, (0.2, 0.2), false).unwrap();
        assert_relative_eq!(cut.as_circle().unwrap().1, 2.975 / 2.0, epsilon = 1e-12);
        assert!(cut_line(&hole, (3.5, 3.5), false).is_err(), "a hole narrower than the cut");
    }

    #[test]
    fn unequal_kerfs_move_each_side_by_its_own() {
        let plate = rectangle(Point::ORIGIN, 40.0, 20.0, 0.0).unwrap();
        let cut = cut_line(&plate, (0.3, 0.1), true).unwrap();
        let b = cut.bounds();
        assert_relative_eq!(b.x0, -0.15, epsilon = 1e-6);
        assert_relative_eq!(b.y0, -0.05, epsilon = 1e-6);
        let disk = cut_line(&Loop::Circle(Point::ORIGIN, 10.0), (0.3, 0.1), true).unwrap();
        assert!(disk.as_circle().is_none());
        assert_relative_eq!(disk.bounds().x1, 10.15, epsilon = 2e-3);
        assert_relative_eq!(disk.bounds().y1, 10.05, epsilon = 2e-3);
    }

    #[test]
    fn sharp_inside_corners_keep_a_little() {
        let plate = rectangle(Point::ORIGIN, 40.0, 20.0, 0.0).unwrap();
        let slot = rectangle(Point::new(10.0, 8.0), 20.0, 4.0, 0.0).unwrap();
        let shape = Shape::new(plate.clone(), vec![slot]).unwrap();
        // Half the kerf times (root 2 - 1) at a right angle.
        assert_relative_eq!(corner_loss(&shape, 0.2).0, 0.1 * (2f64.sqrt() - 1.0), epsilon = 1e-12);
        assert_relative_eq!(corner_loss(&Shape::plain(plate), 0.2).0, 0.0);
    }
}
