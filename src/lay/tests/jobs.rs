//! Random jobs from a seed.

use super::super::chance::Chance;
use super::*;
use crate::geom::Pose;
use crate::material::Face;
use crate::part::MemberName;
use crate::sheet::{Reading, Zone};
use crate::units::Length;
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

/// A hide with zones of several grades, some over each other, and readings of its thickness.
pub(in crate::lay) fn zoned(chance: &mut Chance) -> Sheet {
    let size = chance.between(90.0, 220.0);
    let mut made = hide("zoned", size, 50, chance);
    let grade = |chance: &mut Chance| 1 + u8::try_from(chance.below(4)).unwrap();
    made.grade = if chance.share() < 0.6 { 1 } else { grade(chance) };
    for _ in 0..chance.below(5) {
        let at = Vec2::from_angle(chance.between(0.0, TAU)) * chance.between(0.0, 0.9 * size);
        let outline = if chance.share() < 0.4 {
            Loop::circle(at.to_point(), chance.between(0.2, 0.6) * size).unwrap()
        } else {
            let side = chance.between(0.3, 0.9) * size;
            let radius = if chance.share() < 0.5 { 0.0 } else { 0.1 * side };
            let plate = rectangle(at.to_point(), side, 0.6 * side, radius).unwrap();
            Pose { turn: chance.between(0.0, 90.0), ..Pose::STILL }.on_loop(&plate)
        };
        made.zones.push(Zone { why: String::new(), grade: grade(chance), outline });
    }
    for _ in 0..[0, 0, 1, 3, 6][chance.below(5)] {
        let at = Vec2::from_angle(chance.between(0.0, TAU)) * chance.between(0.0, size);
        let thickness = Length::from_mm([0.8, 0.9, 0.93, 1.0, 1.1][chance.below(5)]);
        made.readings.push(Reading { at: at.to_point(), thickness });
    }
    made
}

/// A random job on hides with zones and readings: pieces with needs of all sorts, couples, and pieces that may lie a
/// little aslant.
pub(in crate::lay) fn zoned_job(seed: u64) -> Group {
    on_zones(job(seed), seed)
}

/// A job on hides with zones and readings in place of its sheets, with a part of couples besides.
fn on_zones(mut made: Group, seed: u64) -> Group {
    let mut chance = Chance::new(seed, 4);
    let sheets = if chance.share() < 0.5 {
        vec![zoned(&mut chance)]
    } else {
        let mut two = zoned(&mut chance);
        two.id = "second".to_owned();
        two.thickness = Some(Length::from_mm([0.7, 0.95][chance.below(2)]));
        vec![zoned(&mut chance), two]
    };
    let edge = made.grounds[0].edge;
    made.grounds =
        sheets.into_iter().map(|s| Ground { sheet: Arc::new(s), edge, window: None }).collect();
    let mut needs: std::collections::BTreeMap<usize, Needs> = std::collections::BTreeMap::new();
    for piece in &mut made.pieces {
        let own = needs.entry(piece.size).or_insert_with(|| Needs {
            grade: (chance.share() < 0.5).then(|| 1 + u8::try_from(chance.below(3)).unwrap()),
            thickness: (chance.share() < 0.3).then_some((0.85, 1.02)),
            together: false,
        });
        piece.needs = *own;
        if let Turns::Fixed(stances) = &mut piece.turns {
            let within = [0.0, 12.0][piece.size % 2];
            for stance in stances {
                stance.within = within;
            }
        }
    }
    let count = 2 + u32::try_from(chance.below(5)).unwrap();
    let own = Needs { together: true, ..Needs::default() };
    let alike = chance.share() < 0.4;
    let diameter = chance.between(15.0, 30.0);
    for (n, word) in ["inner", "outer"].into_iter().enumerate() {
        let size = if alike { 900 } else { 900 + n };
        #[allow(clippy::cast_precision_loss, reason = "0 or 1")]
        let shape = if alike { disk(diameter) } else { disk(diameter + 4.0 * n as f64) };
        for mut piece in many("valve", size, &free(shape), count, 1) {
            piece.address.member = Some(MemberName::only(word));
            piece.needs = own;
            piece.soft = true;
            made.pieces.push(piece);
        }
    }
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
    job_of(wanted, &mut chance)
}

fn job_of(wanted: usize, chance: &mut Chance) -> Group {
    let mut pieces = Vec::new();
    let mut number = 0;
    while pieces.len() < wanted {
        let turns = size(chance);
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
        0 => vec![hide("one", chance.between(80.0, 250.0), 60, chance)],
        1 => vec![hide("one", 90.0, 40, chance), hide("two", 160.0, 90, chance)],
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

/// A random job of 3 to 25 pieces in which anything may come together: hides, cloth and leaves, zones and readings,
/// couples, remnants, bed windows.
pub(in crate::lay) fn any_job(seed: u64) -> Group {
    let mut chance = Chance::new(seed, 6);
    let mut made = if chance.share() < 0.45 {
        // Couples are at most twelve pieces.
        let wanted = 3 + chance.below(11);
        let own = job_of(wanted, &mut chance);
        on_zones(own, seed)
    } else {
        let wanted = 3 + chance.below(23);
        job_of(wanted, &mut chance)
    };
    if chance.share() < 0.3 {
        let outline =
            rectangle(p(0.0, 0.0), chance.between(120.0, 420.0), chance.between(90.0, 300.0), 0.0);
        let at = p(chance.between(20.0, 100.0), chance.between(20.0, 80.0));
        let flaws = (0..chance.below(2)).map(|_| Loop::circle(at, 12.0).unwrap()).collect();
        let leaf = sheet("leaf", SheetKind::Leaf, outline.unwrap(), flaws);
        let edge = made.grounds[0].edge;
        let leaf = Ground { sheet: Arc::new(leaf), edge, window: None };
        if chance.share() < 0.5 {
            made.grounds = vec![leaf];
        } else {
            made.grounds.push(leaf);
        }
    }
    if chance.share() < 0.4 {
        let mut left = (*made.grounds[0].sheet).clone();
        left.id = "remnant".to_owned();
        left.from = Some("skin".to_owned());
        left.generation = 2;
        left.added = crate::units::Day::parse(["2025-03-14", "2026-01-02"][chance.below(2)]);
        let ground = Ground { sheet: Arc::new(left), ..made.grounds[0].clone() };
        made.grounds.push(ground);
        if chance.share() < 0.5 {
            made.grounds.swap_remove(0);
        }
    }
    if chance.share() < 0.12 {
        let boxes = made.grounds.iter().map(|g| g.sheet.outline.bounds());
        let longest = boxes.map(|b| b.width().max(b.height())).fold(0.0, f64::max);
        let side = |chance: &mut Chance| longest * chance.between(0.4, 0.8);
        made.window = Some(Vec2::new(side(&mut chance), side(&mut chance)));
    }
    for piece in &mut made.pieces {
        if let Turns::Fixed(stances) = &mut piece.turns
            && piece.size % 3 == 1
        {
            for stance in stances {
                stance.within = 15.0;
            }
        }
    }
    made
}
