//! A wedge opened to its full span, and how its corners fold.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

/// A wedge opened to its full span.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wedge {
    pub(super) length: f64,
    pub(super) width: f64,
    /// Glue land on the upper board: its thickness.
    pub(super) board: f64,
    /// Glue land on the lower board, or on the leaf between two wedges.
    pub(super) below: f64,
    pub(super) gap: f64,
    /// Half the opening angle, in radians.
    pub(super) alpha: f64,
    /// Opening between the boards at the open end.
    pub(super) inside: f64,
}

impl Wedge {
    /// Half opening angle for a span between the boards (mm) or over them.
    ///
    /// # Source
    /// Plane geometry of two boards that turn about the middle of the hinge gap.
    pub(super) fn angle(length: f64, board: f64, gap: f64, span: f64, outside: bool) -> f64 {
        if outside {
            let k = board + gap / 2.0;
            (span / (2.0 * length.hypot(k))).asin() - (k / length).atan()
        } else {
            (span / (4.0 * length * length + gap * gap).sqrt()).asin()
                - (gap / (2.0 * length)).atan()
        }
    }

    pub(super) fn span_inside(length: f64, gap: f64, alpha: f64) -> f64 {
        2.0 * length * alpha.sin() + gap * alpha.cos()
    }

    /// Opening between the boards at another half angle.
    pub(super) fn inside_at(&self, alpha: f64) -> f64 {
        Wedge::span_inside(self.length, self.gap, alpha)
    }

    /// How far a surplus or lack of the glue margins reaches at a corner.
    pub(super) fn misfit(&self) -> f64 {
        2.0 * self.board * (self.alpha / 2.0).sin()
    }

    pub(super) fn span_outside(&self) -> f64 {
        2.0 * self.length * self.alpha.sin() + (self.gap + 2.0 * self.board) * self.alpha.cos()
    }

    /// Height of the side panel in the flat.
    pub(super) fn height(&self) -> f64 {
        self.length * self.alpha.cos()
    }

    /// Half the side panel's width at the hinge end, in the flat.
    pub(super) fn half_hinge(&self) -> f64 {
        self.gap * self.alpha.cos() / 2.0
    }

    /// Middle of the open end's panel to the pivot, in the flat.
    pub(super) fn pivot(&self) -> f64 {
        self.width / 2.0 + self.height()
    }
}

/// How a corner folds: the angles at the corner between the boards' edges and what folds flat onto them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Corner {
    pub(super) manner: Manner,
    /// In the side panel, from the board's edge to the crease (radians).
    pub(super) side: f64,
    /// In the end panel, from the board's edge to the crease (radians); a right angle is the corner line itself.
    pub(super) end: f64,
}

/// The ways a corner folds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Manner {
    /// Inward, the tuck in the side panel.
    TuckInSide,
    /// Inward, the tuck in the end panel.
    TuckInEnd,
    /// Outward, the corner inward.
    Outward,
    /// Ribs whose ends stand apart, a leather gusset between them.
    Ribs,
}

/// Below this a sector of a panel is no fold any more (radians).
///
/// # Source
/// Our choice: two degrees are 3.5 mm on a crease 100 mm long.
const LEAST_SECTOR: f64 = 2.0 * std::f64::consts::PI / 180.0;

impl Corner {
    /// Inward, the tuck in the side or the end panel, for half opening angle `alpha`.
    ///
    /// # Source
    /// The middle sector is 45° − α/2: Kawasaki's condition on a cone (general origami literature).
    pub(super) fn inward(alpha: f64, tuck_in_side: bool) -> Corner {
        if tuck_in_side {
            Corner { manner: Manner::TuckInSide, side: FRAC_PI_4 - alpha / 2.0, end: FRAC_PI_2 }
        } else {
            Corner {
                manner: Manner::TuckInEnd,
                side: FRAC_PI_2 - alpha,
                end: FRAC_PI_4 + alpha / 2.0,
            }
        }
    }

    /// Outward, for a fold of full height `fold` at the corner, between a side panel and an end panel of which the
    /// side must be `side_room` long (nothing asked where it runs to a hinge) and the end `end_room`. Even where that has
    /// room; else the panel that is too short takes the steeper crease. None where neither fits.
    ///
    /// # Source
    /// The middle sector is 135° − α/2: Kawasaki's condition with the panels outside the boards.
    pub(super) fn outward(
        alpha: f64,
        fold: f64,
        side_room: Option<f64>,
        end_room: f64,
    ) -> Option<Corner> {
        let both = FRAC_PI_4 - alpha / 2.0;
        let even = both / 2.0;
        let least = |room: f64| (fold / room).atan();
        let side_least = side_room.map_or(0.0, least);
        let end_least = least(end_room);
        let slack = 1e-12;
        let (side, end) = if side_least <= even + slack && end_least <= even + slack {
            (even, even)
        } else if end_least > even {
            (both - end_least, end_least)
        } else {
            (side_least, both - side_least)
        };
        let fits = side >= side_least - slack && end >= end_least - slack;
        (fits && side >= LEAST_SECTOR && end >= LEAST_SECTOR).then_some(Corner {
            manner: Manner::Outward,
            side,
            end,
        })
    }

    /// Ribs cut at one angle to their boards.
    pub(super) fn ribs(angle: f64) -> Corner {
        Corner { manner: Manner::Ribs, side: angle, end: angle }
    }

    /// From the corner along the side panel to where its crease meets the middle line; `half` is half the panel's
    /// height at the corner, `alpha` how far its board's edge falls away from the middle line's direction.
    pub(super) fn along_side(&self, half: f64, alpha: f64) -> f64 {
        reach(half, self.side + alpha)
    }

    /// From the corner along the end panel to where its crease meets the middle line.
    pub(super) fn along_end(&self, half: f64) -> f64 {
        reach(half, self.end)
    }
}

/// Where a line that falls at `angle` to the level comes down by `half`; straight down comes down at once.
fn reach(half: f64, angle: f64) -> f64 {
    if (angle - FRAC_PI_2).abs() < 1e-12 { 0.0 } else { half / angle.tan() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn wedge(length: f64, width: f64, board: f64, gap: f64, inside: f64) -> Wedge {
        let alpha = Wedge::angle(length, board, gap, inside, false);
        Wedge { length, width, board, below: board, gap, alpha, inside }
    }

    // Worked by building the solid and unfolding it; the second row against the published pair 7/8 inside and
    // 1 1/4 outside (MMD 2008.07.28.08 and 2012.01.30.05), which it meets within 0.002 in.
    #[test]
    fn angles_and_spans() {
        for (l, si, t, alpha, height) in [
            (5.0, 1.25, 0.1, 7.180756, 4.960784),
            (4.875, 0.875, 0.1875, 5.148856, 4.855329),
            (16.0, 6.0, 0.75, 10.80692, 15.71623),
            (150.0, 40.0, 6.0, 7.662256, 148.6607),
        ] {
            let w = wedge(l, 1.0, t, 0.0, si);
            assert_relative_eq!(w.alpha.to_degrees(), alpha, max_relative = 1e-5);
            assert_relative_eq!(w.height(), height, max_relative = 1e-5);
            let back = Wedge::angle(l, t, 0.0, w.span_outside(), true);
            assert_relative_eq!(back, w.alpha, max_relative = 1e-9);
        }
        assert_relative_eq!(
            wedge(4.875, 1.0, 0.1875, 0.0, 0.875).span_outside(),
            1.25,
            epsilon = 0.002
        );
        for (l, so, t, alpha, si) in
            [(4.875, 1.25, 0.1875, 5.157815, 0.876518), (16.0, 7.0, 0.75, 9.937762, 5.522506)]
        {
            let alpha_here = Wedge::angle(l, t, 0.0, so, true);
            assert_relative_eq!(alpha_here.to_degrees(), alpha, max_relative = 1e-5);
            assert_relative_eq!(Wedge::span_inside(l, 0.0, alpha_here), si, max_relative = 1e-5);
        }
        let gapped = wedge(16.0, 13.0, 0.75, 0.125, 6.0);
        assert_relative_eq!(gapped.alpha.to_degrees(), 10.58303, max_relative = 1e-5);
        assert_relative_eq!(gapped.span_outside(), 7.474485, max_relative = 1e-5);
    }

    // Worked by reflecting the folded corner: it closes and lies straight inward.
    #[test]
    fn the_corner_closes() {
        for (l, w, si, x) in [
            (5.0, 1.125, 1.25, 0.551198),
            (16.0, 13.0, 6.0, 2.481511),
            (150.0, 45.0, 40.0, 17.48949),
        ] {
            let it = wedge(l, w, 0.1, 0.0, si);
            let in_side = Corner::inward(it.alpha, true);
            assert_relative_eq!(in_side.along_side(si / 2.0, it.alpha), x, max_relative = 1e-5);
            assert_relative_eq!(in_side.along_end(si / 2.0), 0.0);
            let in_end = Corner::inward(it.alpha, false);
            assert_relative_eq!(in_end.along_end(si / 2.0), x, max_relative = 1e-5);
            assert_relative_eq!(in_end.along_side(si / 2.0, it.alpha), 0.0);
            // (H - x) sin α = x and (H - x) cos α = L - Si/2.
            assert_relative_eq!((it.height() - x) * it.alpha.sin(), x, max_relative = 1e-5);
            assert_relative_eq!(
                (it.height() - x) * it.alpha.cos(),
                l - si / 2.0,
                max_relative = 1e-5
            );
        }
    }

    // Worked by reflection of the outward corner.
    #[test]
    fn the_corner_folds_outward() {
        let it = wedge(12.0, 16.0, 0.1, 0.0, 4.0);
        let corner = Corner::outward(it.alpha, 4.0, None, 16.0).unwrap();
        assert_relative_eq!(corner.side.to_degrees(), 20.10148, max_relative = 1e-5);
        assert_relative_eq!(
            it.height() - corner.along_side(2.0, it.alpha),
            8.325154,
            max_relative = 1e-5
        );
        assert_relative_eq!(corner.along_end(2.0), 5.464819, max_relative = 1e-5);
        let it = wedge(16.0, 13.0, 0.1, 0.0, 6.0);
        let corner = Corner::outward(it.alpha, 6.0, None, 13.0).unwrap();
        // The even split would need an end 16.6672 wide.
        assert!(corner.end > corner.side);
        assert_relative_eq!(2.0 * corner.along_end(3.0), 13.0, max_relative = 1e-9);
        assert_relative_eq!(
            corner.side + corner.end,
            FRAC_PI_4 - it.alpha / 2.0,
            max_relative = 1e-12
        );
        let boxed = Corner::outward(0.0, 80.0, Some(193.138), 193.138).unwrap();
        assert_relative_eq!(boxed.along_end(40.0), 96.56854, max_relative = 1e-5);
        assert!(Corner::outward(0.0, 80.0, Some(150.0), 150.0).is_none());
    }
}
