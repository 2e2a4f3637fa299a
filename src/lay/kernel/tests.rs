//! The kernel against its twin: the true distance between shapes, measured by brute force.

use super::*;
use crate::geom::{Loop, Point, Rect, Shape, Vec2, polygon, rectangle, shape_distance};
use crate::lay::chance::Chance;
use std::sync::Arc;

fn shape(kind: usize, chance: &mut Chance) -> Shape {
    let a = chance.between(10.0, 60.0);
    let b = a * chance.between(0.2, 1.0);
    let corner = Point::new(chance.between(-20.0, 20.0), chance.between(-20.0, 20.0));
    let points = |list: &[(f64, f64)]| {
        let list: Vec<Point> = list.iter().map(|q| corner + Vec2::from(*q)).collect();
        polygon(&list).unwrap()
    };
    Shape::plain(match kind {
        0 => Loop::circle(corner, b / 2.0).unwrap(),
        1 => rectangle(corner, a, b, 0.0).unwrap(),
        2 => rectangle(corner, a, b, 0.3 * b).unwrap(),
        3 => rectangle(corner, a, b, b).unwrap(),
        4 => points(&[(0.0, 0.0), (a, 0.0), (0.3 * a, b)]),
        5 => points(&[
            (0.0, 0.0),
            (a, 0.0),
            (a, 0.3 * b),
            (0.4 * a, 0.3 * b),
            (0.4 * a, b),
            (0.0, b),
        ]),
        _ => points(&[
            (0.0, 0.0),
            (a, 0.2 * b),
            (0.5 * a, 0.4 * b),
            (0.9 * a, b),
            (0.2 * a, 0.8 * b),
            (0.3 * a, 0.5 * b),
        ]),
    })
}

/// Distance between two bodies by the kernel.
fn gap(one: &Body, at: Point, two: &Body, to: Point) -> f64 {
    let cores = one.cores_at(at);
    cores
        .iter()
        .flat_map(|core| two.over.iter().map(|over| Region::between(core, over, 0.0)))
        .map(|region| region.gap(to))
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn distances_agree_with_the_twin() {
    let mut chance = Chance::new(11, 0);
    for n in 0..4000 {
        let (one, two) = (shape(n % 7, &mut chance), shape(n / 7 % 7, &mut chance));
        let turn = |chance: &mut Chance| {
            [0.0, 90.0, 180.0, 270.0, chance.between(0.0, 360.0)][chance.below(5)]
        };
        let a = Body::new(&one, turn(&mut chance), chance.share() < 0.3);
        let b = Body::new(&two, turn(&mut chance), chance.share() < 0.3);
        let at = Point::new(chance.between(0.0, 900.0), chance.between(0.0, 900.0));
        let way = Vec2::from_angle(chance.between(0.0, 7.0));
        let to = at + way * chance.between(0.0, 120.0);
        let mine = gap(&a, at, &b, to);
        let true_one = one.posed(&a.pose_at(at));
        let true_two = two.posed(&b.pose_at(to));
        let true_gap = shape_distance(&true_one, &true_two).0;
        if mine > 0.0 {
            assert!((mine - true_gap).abs() < 0.011, "{n}: {mine} and {true_gap}");
            assert!(mine <= true_gap + 1e-9, "{n}: {mine} and {true_gap}");
        } else {
            assert!(true_gap < 0.011, "{n}: {mine} and {true_gap}");
        }
    }
}

#[test]
fn depth_is_the_shortest_way_out() {
    let square =
        Body::new(&Shape::plain(rectangle(Point::ORIGIN, 10.0, 10.0, 0.0).unwrap()), 0.0, false);
    let deep = gap(&square, Point::ORIGIN, &square, Point::new(7.0, 2.0));
    assert!((deep + 3.0).abs() < 1e-12, "{deep}");
}

#[test]
fn every_spot_touches_two_things_and_none_overlaps() {
    let mut chance = Chance::new(12, 0);
    let sheet = rectangle(Point::ORIGIN, 300.0, 200.0, 0.0).unwrap();
    for n in 0..40 {
        let field = Arc::new(Field::within(&sheet, 2.0));
        let body = Arc::new(Body::new(&shape(n % 7, &mut chance), 30.0, false));
        let mut room = Room::new(&body, &field, [].iter(), 1.0).unwrap();
        let mut lying: Vec<Core> = Vec::new();
        for _ in 0..6 {
            if room.spots.is_empty() {
                break;
            }
            let at = room.spots[chance.below(room.spots.len())];
            let cores = body.cores_at(at);
            room.add(&cores);
            lying.extend(cores);
        }
        // A room built at once knows the same spots as one built step by step.
        let fresh = Room::new(&body, &field, lying.iter(), 1.0).unwrap();
        for spot in &fresh.spots {
            assert!(room.spots.iter().any(|s| (*s - *spot).hypot() < 1e-6), "{n}");
        }
        for spot in &room.spots {
            assert!(fresh.spots.iter().any(|s| (*s - *spot).hypot() < 1e-6));
            let clear = fresh.clearance(*spot);
            assert!(clear.abs() < 1e-8, "{n}: {clear}");
        }
    }
}

#[test]
fn the_area_before_a_cut_is_the_clipped_area() {
    let sheet = rectangle(Point::ORIGIN, 300.0, 200.0, 0.0).unwrap();
    let field = Field::within(&sheet, 2.0);
    assert_eq!(field.bounds(), Rect::new(0.0, 0.0, 300.0, 200.0));
    let area = field.area_before(Vec2::new(1.0, 0.0), 120.0);
    assert!((area - 24_000.0).abs() < 1e-6);
    let area = field.area_before(Vec2::new(0.0, -1.0), -150.0);
    assert!((area - 15_000.0).abs() < 1e-6);
}
