//! Where a hide is cut off: by area, and in whichever of its four ways comes out least.

use super::*;
use crate::geom::{Pose, polygon};

/// A triangle whose tip is at the left, 300 long and 200 high at the right.
fn tip() -> Loop {
    polygon(&[p(0.0, 100.0), p(300.0, 0.0), p(300.0, 200.0)]).unwrap()
}

/// Near the lower right corner the shortest cut is one of 20 mm from the right, which takes an eighth of the sheet; from
/// below it is 22 mm and takes one forty-first of it, by hand 3 · 22² / 2 = 726 of 30 000 mm².
#[test]
fn the_cut_is_the_one_that_takes_the_least_area() {
    let sheets = vec![sheet("H", SheetKind::Hide, tip(), Vec::new())];
    let group = group(many("dot", 0, &free(disk(12.0)), 1, 0), sheets, 0.0, 1.0);
    let pose = Pose::moved(Vec2::new(286.0, 16.0));
    let placed = Placed { piece: 0, ground: 0, host: None, stance: 0, pose, window: None };
    let layout = Layout { placed: vec![placed], ..Layout::default() };
    let cut = cut_offs(&group, &layout)[0];
    assert_eq!((cut.way.x, cut.way.y), (0.0, 1.0), "{cut:?}");
    approx::assert_abs_diff_eq!(cut.length, 22.0, epsilon = 1e-9);
}

/// Two strips of 720 by 50 on an oval of 1400 by 1000: across its narrow way the chord is 720 long at
/// 500 - 500 √(1 - (360/700)²) = 71.2 mm, so that both are cut off at 173 mm, which takes 12 % of it; the other way the
/// chord comes at 214 mm and the cut at 316 mm, 17 %. Closed up or not, the lay must find the first.
#[test]
fn a_hide_is_cut_off_the_way_that_takes_least() {
    let corners: Vec<Point> = (0..96)
        .map(|n| {
            let at = std::f64::consts::TAU * f64::from(n) / 96.0;
            p(700.0 + 700.0 * at.cos(), 500.0 + 500.0 * at.sin())
        })
        .collect();
    let oval = || sheet("H", SheetKind::Hide, polygon(&corners).unwrap(), Vec::new());
    let group =
        group(many("strip", 0, &free(plate(720.0, 50.0, 0.0)), 2, 0), vec![oval()], 0.0, 1.0);
    for evaluations in [20_000, 200_000] {
        let layout = laid(&group, evaluations);
        assert!(layout.left.is_empty());
        let cut = cut_offs(&group, &layout)[0];
        assert!(cut.way.y.abs() > 0.5, "{cut:?}");
        assert!((172.0..182.0).contains(&cut.length), "{cut:?} at {evaluations}");
    }
}
