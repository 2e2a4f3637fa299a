//! Random jobs from a seed.

use super::super::chance::Chance;
use super::*;
use crate::material::Face;
use std::f64::consts::TAU;

/// A hide: a round outline whose radius waves, with up to three flaws, some of them over its edge.
pub(in crate::lay) fn hide(id: &str, size: f64, corners: u32, chance: &mut Chance) -> Sheet {
    let waves: Vec<(f64, f64, f64)> = (1..6)
        .map(|k| {
            let k = f64::from(k);
            (k, chance.between(0.0, 0.16 / k), chance.between(0.0, TAU))
        })
        .collect();
    let points: Vec<Point> = (0..corners)
        .map(|i| {
            let angle = TAU * f64::from(i) / f64::from(corners);
            let wave: f64 = waves.iter().map(|w| w.1 * (w.0 * angle + w.2).sin()).sum();
            Point::ORIGIN + Vec2::from_angle(angle) * (size * (1.0 + wave))
        })
        .collect();
    let flaws = (0..chance.below(4))
        .map(|_| {
            let at = Vec2::from_angle(chance.between(0.0, TAU)) * chance.between(0.0, 1.1 * size);
            if chance.share() < 0.5 {
                Loop::circle(at.to_point(), chance.between(0.03, 0.12) * size).unwrap()
            } else {
                let side = chance.between(0.05, 0.2) * size;
                rectangle(at.to_point(), side, 0.4 * side, 0.0).unwrap()
            }
        })
        .collect();
    let outline = Loop::polygon(&points).unwrap();
    let mut made = sheet(id, SheetKind::Hide, outline, flaws);
    made.grain = if chance.share() < 0.5 { chance.between(0.0, 360.0) } else { 90.0 };
    made.up = [None, Some(Face::Grain), Some(Face::Flesh)][chance.below(3)];
    made
}

pub(in crate::lay) fn elbow(a: f64, b: f64) -> Shape {
    let corners =
        [p(0.0, 0.0), p(a, 0.0), p(a, 0.4 * b), p(0.4 * a, 0.4 * b), p(0.4 * a, b), p(0.0, b)];
    Shape::plain(Loop::polygon(&corners).unwrap())
}

/// The turns of one random size.
fn size(chance: &mut Chance) -> Turns {
    let a = chance.between(15.0, 80.0);
    let b = a * chance.between(0.3, 1.0);
    match chance.below(7) {
        0 | 1 => free(disk(b)),
        2 => free(plate(a, b, 0.0)),
        3 => free(plate(a, b, 0.2 * b)),
        4 => free(ring(a, a * chance.between(0.4, 0.8))),
        5 => free(elbow(a, b)),
        _ => fixed(plate(2.0 * a, 0.3 * b, 0.0), &[0.0, 180.0]),
    }
}

/// A random job of 3 to 25 pieces.
pub(in crate::lay) fn job(seed: u64) -> Group {
    let mut chance = Chance::new(seed, 3);
    let wanted = 3 + chance.below(23);
    let mut pieces = Vec::new();
    let mut number = 0;
    while pieces.len() < wanted {
        let turns = size(&mut chance);
        let count = 1 + chance.below((wanted - pieces.len()).min(10));
        let spares = u32::from(count > 2 && chance.share() < 0.3);
        let mut made =
            many(&format!("part-{number}"), number, &turns, u32::try_from(count).unwrap(), spares);
        let face = [None, Some(Face::Grain)][chance.below(2)];
        let soft = chance.share() < 0.2;
        for piece in &mut made {
            piece.face = face;
            piece.soft = soft;
        }
        pieces.extend(made);
        number += 1;
    }
    let sheets = match chance.below(3) {
        0 => vec![hide("one", chance.between(80.0, 250.0), 60, &mut chance)],
        1 => vec![hide("one", 90.0, 40, &mut chance), hide("two", 160.0, 90, &mut chance)],
        _ => vec![cloth(chance.between(200.0, 600.0), chance.between(150.0, 400.0))],
    };
    let (edge, apart) = (chance.between(0.0, 6.0), chance.between(0.0, 1.5));
    let mut made = group(
        pieces,
        sheets,
        if chance.share() < 0.2 { 0.0 } else { edge },
        if chance.share() < 0.2 { 0.0 } else { apart },
    );
    made.hard_edges = chance.share() < 0.5;
    made
}
