//! Guests of a round hole, as many as it can hold.

use super::*;

/// The hole round `count` disks: its radius for disks of radius 1.
///
/// # Source
/// Kravitz, "Packing cylinders into cylindrical containers", Mathematics Magazine 40, 1967.
fn hole(count: u32) -> f64 {
    let ring = |n: f64| 1.0 + 1.0 / (std::f64::consts::PI / n).sin();
    match count {
        1 => 1.0,
        2..=5 => ring(f64::from(count)),
        _ => 3.0,
    }
}

/// A ring on a cloth that has room for nothing else, and what is to lie in its hole.
fn round_hole(radius: f64, guests: Vec<Piece>, apart: f64) -> Group {
    let outer = 2.0 * radius + 20.0;
    let mut pieces = many("ring", 0, &free(ring(outer, 2.0 * radius)), 1, 0);
    pieces.extend(guests);
    group(pieces, vec![cloth(outer + 2.0, outer + 2.0)], 1.0, apart)
}

/// Lays disks in the hole round them, with 1 % of slack, and counts those that are in it.
fn fill(count: u32, apart: f64) -> usize {
    // As if every disk had half of the distance around it.
    let radius = 1.01 * hole(count) * (10.0 + apart / 2.0) + apart / 2.0;
    let guests = many("disk", 1, &free(disk(20.0)), count, 0);
    let layout = laid(&round_hole(radius, guests, apart), 20_000);
    layout.placed.iter().filter(|it| it.host == Some(0)).count()
}

#[test]
fn the_holes_are_those_in_print() {
    let printed = [1.0, 2.0, 2.1547, 2.4142, 2.7013, 3.0, 3.0];
    for (count, known) in (1..=7).zip(printed) {
        assert!((hole(count) - known).abs() < 5e-5, "{count}");
    }
}

#[test]
fn up_to_seven_disks_lie_in_the_hole_round_them() {
    for count in 1..=7 {
        for apart in [0.0, 0.5] {
            assert_eq!(fill(count, apart), count as usize, "{count} disks, {apart} mm apart");
        }
    }
}

/// Two disks side by side, and one in each of the gaps beside them.
///
/// # Source
/// The circle theorem of Descartes, 1643: in a circle of radius 2, beside two of radius 1, one of radius 2/3.
#[test]
fn unlike_guests_share_a_hole() {
    let (radius, large, small) = (24.0, 24.0, 16.0);
    let mut guests = many("large", 1, &free(disk(large)), 2, 0);
    guests.extend(many("small", 2, &free(disk(small)), 2, 0));
    let job = round_hole(1.01 * radius, guests, 0.0);
    let layout = laid(&job, 20_000);
    let inside = layout.placed.iter().filter(|it| it.host == Some(0)).count();
    assert_eq!(inside, 4, "two of {large} mm and two of {small} mm");
}

#[test]
fn a_plate_and_disks_share_a_hole() {
    let mut guests = many("plate", 1, &free(plate(40.0, 20.0, 2.0)), 1, 0);
    guests.extend(many("disk", 2, &free(disk(18.0)), 2, 0));
    let job = round_hole(30.0, guests, 1.0);
    let layout = laid(&job, 20_000);
    assert_eq!(layout.placed.iter().filter(|it| it.host == Some(0)).count(), 3);
}
