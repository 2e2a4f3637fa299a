//! Register dots on sheets of their own and in windows.

use super::super::tests::{cloth, disk, fixed, free, group, laid, many, p, plate};
use super::*;

#[test]
fn dots_lie_far_apart_in_the_waste_that_stays() {
    // One column of plates at the low end: the waste is the rest of the cloth.
    let turns = free(plate(90.0, 60.0, 0.0));
    let job = group(many("plate", 0, &turns, 4, 0), vec![cloth(600.0, 300.0)], 3.0, 1.0);
    let layout = laid(&job, 1000);
    let [one, two] = &layout.dots[..] else { panic!("{:?}", layout.dots) };
    assert!((one.at - two.at).hypot() > 400.0, "{:?}", layout.dots);
    assert!(one.windows.is_empty() && one.ground == 0);
    for dot in &layout.dots {
        assert!((3.0..=597.0).contains(&dot.at.x) && (3.0..=297.0).contains(&dot.at.y));
    }
}

#[test]
fn dots_keep_off_a_smaller_piece_of_waste() {
    // A wall of plates across the cloth leaves 100 mm on one side and 300 on the other.
    let turns = free(plate(20.0, 74.4, 0.0));
    let mut job = group(many("plate", 0, &turns, 4, 0), vec![cloth(420.0, 300.0)], 0.0, 0.5);
    job.grounds[0].edge = 0.2;
    let mut layout = laid(&job, 1000);
    for (n, placed) in layout.placed.iter_mut().enumerate() {
        let y = 0.3 + 75.0 * f64::from(u32::try_from(n).unwrap()) - 7.0;
        placed.pose = crate::geom::Pose { x: 103.0, y, turn: 0.0, mirrored: false };
        placed.stance = 0;
    }
    mark(&job, &mut layout);
    proof::prove(&job, &layout).unwrap();
    assert_eq!(layout.dots.len(), 2);
    assert!(layout.dots.iter().all(|dot| dot.at.x > 120.0), "{:?}", layout.dots);
    // Moved to the other side they are refused.
    for dot in &mut layout.dots {
        dot.at.x = 50.0;
    }
    let breaches = proof::prove(&job, &layout).unwrap_err();
    assert!(breaches.iter().all(|b| b.kind == proof::BreachKind::Dot), "{breaches:?}");
    assert_eq!(breaches.len(), 2, "{breaches:?}");
    assert!(breaches[0].text.contains("largest piece of waste"), "{}", breaches[0].text);
}

#[test]
fn neighbouring_windows_share_two_dots() {
    let mut job =
        group(many("disk", 0, &free(disk(40.0)), 60, 0), vec![cloth(500.0, 260.0)], 4.0, 1.0);
    job.window = Some(Vec2::new(260.0, 280.0));
    let layout = laid(&job, 4000);
    assert!(layout.left.is_empty());
    assert_eq!(layout.windows.len(), 2);
    assert_eq!(layout.strangers(), Vec::<usize>::new(), "{:?}", layout.dots);
    let shared: Vec<&Dot> = layout.dots.iter().filter(|d| d.windows == [0, 1]).collect();
    assert!(shared.len() >= 2);
    assert!((shared[0].at - shared[1].at).hypot() >= LEAST_SPAN);
}

#[test]
fn a_full_sheet_has_no_dots() {
    let turns = fixed(plate(40.0, 30.0, 0.0), &[0.0]);
    let job = group(many("plate", 0, &turns, 4, 0), vec![cloth(80.0, 60.0)], 0.0, 0.0);
    let layout = laid(&job, 500);
    assert!(layout.left.is_empty());
    assert!(layout.dots.is_empty());
}

#[test]
fn a_mark_is_a_box_of_its_own_size() {
    let b = mark_box(p(5.0, 7.0));
    assert_eq!((b.x0, b.y0, b.x1, b.y1), (4.0, 6.0, 6.0, 8.0));
}
