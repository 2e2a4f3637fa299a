//! Hides as they are: couples, guests and slanting pieces, each in the smallest job that shows it.

use super::*;
use crate::part::MemberName;
use crate::sheet::{Reading, Zone};
use crate::units::Length;

fn zone(grade: u8, x: f64, y: f64, width: f64, height: f64) -> Zone {
    let outline = rectangle(p(x, y), width, height, 0.0).unwrap();
    Zone { why: String::new(), grade, outline }
}

/// `count` valves with two facings of 20 mm and, unless they are alike, 20.5 mm.
fn valves(count: u32, alike: bool) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for (n, word) in ["inner", "outer"].into_iter().enumerate() {
        let wider = if alike || n == 0 { 0.0 } else { 0.5 };
        let size = if alike { 0 } else { n };
        for mut piece in many("valve", size, &free(disk(20.0 + wider)), count, 0) {
            piece.address.member = Some(MemberName::only(word));
            piece.needs.together = true;
            pieces.push(piece);
        }
    }
    pieces
}

/// A leaf that holds so many of them in a row.
fn row(id: &str, places: f64) -> Sheet {
    let mut made = cloth(21.0 * places + 1.0, 22.0);
    made.id = id.to_owned();
    made
}

fn grounds_of(layout: &Layout, group: &Group) -> Vec<(u32, usize)> {
    let at = |p: &Placed| (group.pieces[p.piece].address.position, p.ground);
    layout.placed.iter().map(at).collect()
}

#[test]
fn couples_stay_on_one_sheet_where_the_sorts_would_part() {
    for alike in [true, false] {
        let sheets = vec![row("one", 4.0), row("two", 4.0)];
        let group = group(valves(4, alike), sheets, 0.5, 0.5);
        let layout = laid(&group, 1000);
        assert!(layout.left.is_empty(), "{:?}", layout.left);
        let mut first = [None; 5];
        for (position, ground) in grounds_of(&layout, &group) {
            let seen = first[position as usize].get_or_insert(ground);
            assert_eq!(*seen, ground, "valve {position}");
        }
    }
}

#[test]
fn what_finds_no_place_beside_its_mate_is_left_out_and_says_so() {
    for alike in [true, false] {
        let sheets = vec![row("one", 3.0), row("two", 3.0)];
        let group = group(valves(3, alike), sheets, 0.5, 0.5);
        let layout = laid(&group, 1000);
        let left: Vec<String> =
            layout.left.iter().map(|l| group.pieces[l.piece].address.to_string()).collect();
        assert_eq!(left, ["valve:3/inner", "valve:3/outer"]);
        let heading = crate::lay::record::Heading {
            program: String::new(),
            seed: 1,
            effort: 1,
            inputs: Vec::new(),
            groups: Vec::new(),
        };
        let record = crate::lay::record::Record::of(&[group], &[layout], &heading);
        assert!(record.left[0].reason.contains("in one zone for it and what it works with"));
        assert!(record.left[0].largest_free.is_some());
    }
}

#[test]
fn couples_stay_in_one_band_of_thickness() {
    let mut skin = row("one", 8.0);
    let reading = |x: f64, mm: f64| Reading { at: p(x, 11.0), thickness: Length::from_mm(mm) };
    // Three steps, the outer two too far apart; a step ends half way between two readings.
    skin.readings = vec![reading(0.0, 0.90), reading(85.0, 0.94), reading(169.0, 0.98)];
    let group = group(valves(4, false), vec![skin.clone()], 0.5, 0.5);
    let layout = laid(&group, 1000);
    assert!(layout.placed.len() >= 6, "{}", layout.placed.len());
    skin.readings = vec![reading(0.0, 0.90), reading(169.0, 1.0)];
    let mut fewer = group.clone();
    fewer.grounds[0].sheet = Arc::new(skin);
    let layout = laid(&fewer, 1000);
    assert_eq!(layout.placed.len(), 8, "half of them on each side");
}

#[test]
fn equal_pieces_with_other_needs_do_not_change_places() {
    let mut skin = cloth(200.0, 50.0);
    skin.zones = vec![zone(3, 60.0, -10.0, 300.0, 100.0)];
    let mut pieces = many("plain", 0, &free(disk(20.0)), 4, 0);
    pieces.extend(many("fine", 0, &free(disk(20.0)), 4, 0));
    for piece in &mut pieces[4..] {
        piece.needs.grade = Some(2);
    }
    let group = group(pieces, vec![skin], 1.0, 1.0);
    let layout = laid(&group, 5000);
    assert!(layout.left.is_empty(), "{:?}", layout.left);
    for it in layout.placed.iter().filter(|l| l.piece >= 4) {
        assert!(it.pose.x <= 50.0 + 1e-6, "{it:?}");
    }
}

#[test]
fn a_guest_obeys_its_own_grade_and_thickness() {
    let mut pieces = many("ring", 0, &free(ring(90.0, 60.0)), 1, 0);
    pieces.extend(many("dot", 1, &free(disk(20.0)), 1, 0));
    let mut skin = cloth(94.0, 94.0);
    let plain = group(pieces, vec![skin.clone()], 1.0, 1.0);
    assert_eq!(laid(&plain, 500).placed.len(), 2);
    skin.zones = vec![zone(3, -5.0, -5.0, 200.0, 200.0)];
    let mut poor = plain.clone();
    poor.pieces[1].needs.grade = Some(2);
    poor.grounds[0].sheet = Arc::new(skin.clone());
    let layout = laid(&poor, 500);
    assert_eq!(layout.left.iter().map(|l| l.piece).collect::<Vec<_>>(), [1]);
    // An island in the hole, just large enough.
    skin.zones.push(zone(2, 37.0, 37.0, 20.1, 20.1));
    poor.grounds[0].sheet = Arc::new(skin);
    let layout = laid(&poor, 500);
    assert!(layout.left.is_empty(), "{:?}", layout.left);
    assert_eq!(layout.placed[1].host, Some(0));
    let mut thin = plain.clone();
    thin.pieces[1].needs.thickness = Some((0.8, 0.9));
    let mut skin = (*plain.grounds[0].sheet).clone();
    skin.thickness = Some(Length::from_mm(1.0));
    thin.grounds[0].sheet = Arc::new(skin);
    assert_eq!(laid(&thin, 500).left.len(), 1);
}

#[test]
fn a_piece_too_long_to_lie_straight_lies_aslant_where_it_may() {
    let strip = |within: f64| {
        let mut turns = fixed(plate(104.0, 6.0, 0.0), &[0.0, 180.0]);
        if let Turns::Fixed(stances) = &mut turns {
            for stance in stances {
                stance.within = within;
            }
        }
        group(many("strip", 0, &turns, 1, 0), vec![cloth(100.0, 60.0)], 0.0, 0.0)
    };
    assert_eq!(laid(&strip(0.0), 500).placed.len(), 0);
    assert_eq!(laid(&strip(10.0), 500).placed.len(), 0);
    assert_eq!(laid(&strip(20.0), 500).placed.len(), 1);
}

#[test]
fn separation_keeps_to_the_zones() {
    for seed in 0..4 {
        let group = jobs::zoned_job(seed);
        laid(&group, 110_000);
    }
}
