//! The search's kernel and the proof's twin, asked the same through one trait.

use super::jobs::hide;
use crate::geom::{Point, Shape, Vec2, polygon, rectangle};
use crate::lay::Ground;
use crate::lay::chance::Chance;
use crate::lay::kernel::{Body, Clear, Core, Field, Room};
use crate::lay::proof::Twin;
use std::sync::Arc;

/// Arcs are searched as chords that stand off them by so much at most, on either side (mm).
const CHORDS: f64 = 0.02;

fn shapes(chance: &mut Chance) -> Shape {
    let (a, b) = (chance.between(8.0, 30.0), chance.between(4.0, 20.0));
    Shape::plain(match chance.below(3) {
        0 => crate::geom::Loop::circle(Point::ORIGIN, b).unwrap(),
        1 => rectangle(Point::ORIGIN, a, b, 0.2 * a.min(b)).unwrap(),
        _ => {
            let corners =
                [(0.0, 0.0), (a, 0.0), (a, 0.4 * b), (0.4 * a, 0.4 * b), (0.4 * a, b), (0.0, b)];
            polygon(&corners.map(Point::from)).unwrap()
        }
    })
}

/// What a body may do at a point, asked of either.
fn agree(one: &impl Clear, two: &impl Clear, p: Point) -> Result<(), String> {
    let (kernel, twin) = (one.clearance(p), two.clearance(p));
    let told = format!("{kernel} and {twin} at {p:?}");
    let close = kernel <= 0.0 || (kernel <= twin + 1e-6 && twin - kernel < CHORDS);
    let never_too_kind = !one.is_clear(p) || twin > -1e-6;
    let never_too_strict = twin < CHORDS || one.is_clear(p);
    if close && never_too_kind && never_too_strict { Ok(()) } else { Err(told) }
}

#[test]
fn kernel_and_twin_answer_alike() {
    let mut chance = Chance::new(21, 0);
    let (mut clear, mut asked) = (0, 0);
    for n in 0..60 {
        let sheet = Arc::new(hide("hide", chance.between(60.0, 160.0), 40, &mut chance));
        let (edge, apart) = (chance.between(0.5, 4.0), chance.between(0.3, 2.0));
        let ground = Ground { sheet: Arc::clone(&sheet), edge, window: None };
        let field = Arc::new(Field::of(&ground, 0.0));
        let turn = |chance: &mut Chance| chance.between(0.0, 360.0);
        let mut others: Vec<Shape> = Vec::new();
        let mut cores: Vec<Core> = Vec::new();
        for _ in 0..4 {
            let other = shapes(&mut chance);
            let body = Body::new(&other, turn(&mut chance), false);
            let at =
                Point::ORIGIN + Vec2::from_angle(turn(&mut chance)) * chance.between(0.0, 90.0);
            others.push(other.posed(&body.pose_at(at)));
            cores.extend(body.cores_at(at));
        }
        let shape = shapes(&mut chance);
        let body = Arc::new(Body::new(&shape, turn(&mut chance), chance.share() < 0.3));
        let Some(room) = Room::beside(&body, &field, cores.iter(), &[], apart) else { continue };
        let twin = Twin { piece: (&shape, &body), sheet: &sheet, edge, apart, others: &others };
        let b = field.bounds();
        for _ in 0..60 {
            let p = Point::new(chance.between(b.x0, b.x1), chance.between(b.y0, b.y1));
            asked += 1;
            clear += usize::from(room.is_clear(p));
            assert_eq!(agree(&room, &twin, p), Ok(()), "{n}");
        }
        for spot in room.spots.iter().take(30) {
            assert!(
                twin.clearance(*spot).abs() < CHORDS,
                "{n}: a spot touches what it says it touches"
            );
        }
    }
    assert!(clear * 10 > asked && clear * 10 < asked * 9, "{clear} of {asked}");
}
