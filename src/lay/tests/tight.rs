//! How close pieces come to lie.

use super::*;

#[test]
fn equal_strips_lie_edge_to_edge_in_rows() {
    // 8 rows of 20 and 7 gaps of 0.5 on 163.5, two columns of 100.
    let turns = fixed(plate(100.0, 20.0, 0.0), &[0.0, 180.0]);
    let job = group(many("strip", 0, &turns, 16, 0), vec![cloth(400.0, 163.5 + 6.0)], 3.0, 0.5);
    let layout = laid(&job, 3000);
    assert!(layout.left.is_empty());
    let end = far_end(&job, &layout);
    assert!((end - (3.0 + 200.0 + 0.5)).abs() < 1e-6, "{end}");
    // Numbered from the top left, along the rows.
    let at: Vec<_> = shapes(&job, &layout).iter().map(|s| s.bounds().center()).collect();
    assert!(at[0].y > 150.0 && at[0].x < at[1].x && at[1].y > 150.0 && at[2].y < at[0].y);
}

#[test]
fn strips_of_many_lengths_lie_in_columns() {
    let mut pieces = Vec::new();
    for k in 0..24_u32 {
        let turns = fixed(plate(200.0 + f64::from(k), 22.0, 0.0), &[0.0, 180.0]);
        let mut one = many("strip", k as usize, &turns, 1, 0);
        one[0].address.position = k + 1;
        pieces.extend(one);
    }
    // 12 strips of 22 and 11 gaps of 0.5 are 269.5.
    let job = group(pieces, vec![cloth(900.0, 279.5)], 5.0, 0.5);
    let layout = laid(&job, 3000);
    let end = far_end(&job, &layout);
    // The two longest columns, margins apart: no layout of two columns can be shorter than by pairs of lengths.
    assert!(end <= 5.0 + 223.0 + 0.5 + 211.0 + 1e-6, "{end}");
}

#[test]
fn disks_lie_on_the_hexagonal_lattice() {
    // 10 rows of disks of 20 with 1 between: rows stand 21 sin 60 apart, 9 x 18.187 + 20 = 183.68.
    let job = group(
        many("pouch", 0, &free(disk(20.0)), 95, 0),
        vec![cloth(400.0, 2.0 + 20.0 + 9.0 * 21.0 * 3.0_f64.sqrt() / 2.0 + 0.01)],
        1.0,
        1.0,
    );
    let layout = laid(&job, 20_000);
    assert!(layout.left.is_empty());
    let end = far_end(&job, &layout);
    // 95 disks in 10 rows of 9 and 10 in turn: 9.5 disks of 21 and the half of one.
    assert!(end < 1.0 + 9.0 * 21.0 + 10.5 + 20.0 + 0.5, "{end}");
}

#[test]
fn guests_cost_no_room() {
    let mut pieces = many("ring", 0, &free(ring(60.0, 40.0)), 6, 0);
    let hosts = group(pieces.clone(), vec![cloth(600.0, 130.0)], 2.0, 1.0);
    pieces.extend(many("dot", 1, &free(disk(18.0)), 6, 0));
    let both = group(pieces, vec![cloth(600.0, 130.0)], 2.0, 1.0);
    let (alone, together) = (laid(&hosts, 2000), laid(&both, 2000));
    let (alone_end, end) = (far_end(&hosts, &alone), far_end(&both, &together));
    assert!((alone_end - end).abs() < 0.5, "{alone_end} and {end}");
    assert!(together.placed.iter().filter(|l| l.host.is_some()).count() == 6);
}

#[test]
fn no_bare_edge_runs_between_two_cores_of_a_piece() {
    // Split along y = 3 between two of its corners, where the rim of a sheet would touch both halves and enter neither.
    let corners = [
        p(0.0, 0.0),
        p(11.0, 0.0),
        p(12.0, 2.0),
        p(11.0, 3.0),
        p(11.0, 5.0),
        p(10.0, 6.0),
        p(6.0, 5.0),
        p(3.0, 6.0),
        p(0.0, 5.0),
        p(-1.0, 3.0),
    ];
    let shape = Shape::plain(Loop::polygon(&corners).unwrap());
    let job = group(
        many("collar", 0, &fixed(shape, &[0.0, 180.0]), 20, 0),
        vec![cloth(200.0, 20.0)],
        0.0,
        0.0,
    );
    let layout = laid(&job, 3000);
    proof::prove(&job, &layout).unwrap();
    assert!(layout.left.is_empty(), "{:?}", layout.left);
}
