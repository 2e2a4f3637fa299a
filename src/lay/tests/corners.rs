//! The odd cases.

use super::jobs::hide;
use super::*;
use crate::lay::chance::Chance;

#[test]
fn no_pieces_and_no_sheets() {
    let none = group(Vec::new(), vec![cloth(100.0, 100.0)], 1.0, 1.0);
    assert_eq!(laid(&none, 100).placed.len(), 0);
    let nowhere = group(many("dot", 0, &free(disk(5.0)), 3, 0), Vec::new(), 1.0, 1.0);
    let layout = laid(&nowhere, 100);
    assert_eq!(layout.left.len(), 3);
    assert_eq!(layout.left[0].largest_free, None);
}

#[test]
fn one_piece_lies_in_the_corner() {
    let one = group(
        many("card", 0, &fixed(plate(40.0, 20.0, 0.0), &[0.0]), 1, 0),
        vec![cloth(100.0, 100.0)],
        3.0,
        1.0,
    );
    let layout = laid(&one, 100);
    let bounds = shapes(&one, &layout)[0].bounds();
    assert!((bounds.x0 - 3.0).abs() < 1e-9 && (bounds.y0 - 3.0).abs() < 1e-9, "{bounds:?}");
}

#[test]
fn a_piece_larger_than_its_sheet_is_left_out_with_the_largest_free_circle() {
    let big = group(many("disk", 0, &free(disk(99.0)), 1, 0), vec![cloth(200.0, 100.0)], 2.0, 1.0);
    let layout = laid(&big, 100);
    let (ground, at, diameter) = layout.left[0].largest_free.unwrap();
    assert_eq!(ground, 0);
    // 100 wide less 2 on either side.
    assert!((95.0..=96.0).contains(&diameter), "{diameter}");
    assert!((at.y - 50.0).abs() < 1.0);
}

#[test]
fn a_sheet_smaller_than_its_margin_holds_nothing() {
    let tiny = group(many("dot", 0, &free(disk(5.0)), 2, 0), vec![cloth(18.0, 500.0)], 10.0, 1.0);
    let layout = laid(&tiny, 100);
    assert_eq!(layout.left.len(), 2);
    assert_eq!(layout.left[0].largest_free, None);
}

#[test]
fn both_lobes_of_a_necked_sheet_are_used() {
    let outline = Loop::polygon(&[
        p(0.0, 0.0),
        p(50.0, 0.0),
        p(50.0, 24.0),
        p(60.0, 24.0),
        p(60.0, 0.0),
        p(110.0, 0.0),
        p(110.0, 50.0),
        p(60.0, 50.0),
        p(60.0, 26.0),
        p(50.0, 26.0),
        p(50.0, 50.0),
        p(0.0, 50.0),
    ])
    .unwrap();
    let necked = sheet("neck", SheetKind::Hide, outline, Vec::new());
    let job = group(many("disk", 0, &free(disk(44.0)), 3, 0), vec![necked], 2.0, 1.0);
    let layout = laid(&job, 500);
    assert_eq!(layout.placed.len(), 2);
    assert_eq!(layout.left.len(), 1);
}

#[test]
fn a_disk_fits_its_hole_exactly() {
    let mut pieces = many("ring", 0, &free(ring(60.0, 32.0)), 1, 0);
    pieces.extend(many("dot", 1, &free(disk(30.0)), 1, 0));
    let job = group(pieces, vec![cloth(64.0, 64.0)], 1.0, 1.0);
    let layout = laid(&job, 100);
    assert_eq!(layout.placed.len(), 2, "30 mm and 1 mm on either side is 32 mm");
    assert_eq!(layout.placed[1].host, Some(0));
}

#[test]
fn guests_lie_in_guests_and_soft_ones_stay_out() {
    let mut pieces = many("large", 0, &free(ring(90.0, 60.0)), 1, 0);
    pieces.extend(many("small", 1, &free(ring(55.0, 30.0)), 1, 0));
    pieces.extend(many("dot", 2, &free(disk(12.0)), 2, 0));
    let mut job = group(pieces, vec![cloth(400.0, 100.0)], 1.0, 1.0);
    let layout = laid(&job, 500);
    let hosts: Vec<_> = layout.placed.iter().map(|l| l.host).collect();
    assert_eq!(hosts, [None, Some(0), Some(1), Some(1)]);
    job.hard_edges = true;
    job.pieces[1].soft = true;
    let layout = laid(&job, 500);
    assert_eq!(layout.placed[1].host, None);
}

#[test]
fn an_outline_of_five_thousand_corners_is_laid_on() {
    let mut chance = Chance::new(5, 5);
    let skin = hide("skin", 300.0, 5000, &mut chance);
    let mut pieces = many("pouch", 0, &free(disk(41.0)), 40, 0);
    pieces.extend(many("flap", 1, &free(plate(60.0, 25.0, 3.0)), 20, 0));
    let job = group(pieces, vec![skin], 4.0, 0.5);
    let layout = laid(&job, 500);
    assert!(layout.left.is_empty());
}

#[test]
fn wanted_pieces_come_before_spares() {
    let mut pieces = many("large", 0, &free(disk(40.0)), 4, 2);
    pieces.extend(many("small", 1, &free(disk(38.0)), 2, 0));
    // Room for four disks in a row.
    let job = group(pieces, vec![cloth(170.0, 42.0)], 1.0, 1.0);
    let layout = laid(&job, 2000);
    let left: Vec<_> = layout.left.iter().map(|l| job.pieces[l.piece].address.spare).collect();
    assert_eq!(left, [1, 2]);
}

#[test]
fn sheets_are_used_in_their_order() {
    let pieces = many("disk", 0, &free(disk(40.0)), 5, 0);
    let job = group(pieces, vec![cloth(90.0, 42.0), cloth(150.0, 42.0)], 1.0, 1.0);
    let layout = laid(&job, 500);
    let grounds: Vec<_> = layout.placed.iter().map(|l| l.ground).collect();
    assert_eq!(grounds, [0, 0, 1, 1, 1]);
}

struct Hasty;

impl Watch for Hasty {
    fn look(&self, _: Progress) {}
    fn stop(&self) -> bool {
        true
    }
}

#[test]
fn a_watch_that_stops_at_once_gets_a_layout_all_the_same() {
    let job = group(many("disk", 0, &free(disk(40.0)), 5, 0), vec![cloth(500.0, 42.0)], 1.0, 1.0);
    let layout = lay(&job, effort(1000), &Hasty);
    assert!(layout.stopped);
    assert_eq!(layout.placed.len() + layout.left.len(), 5);
    assert!(layout.left.iter().all(|l| !l.tried && l.largest_free.is_none()), "{layout:?}");
    assert!(proof::prove(&job, &layout).is_ok());
}

/// Stops after some time, and keeps the hour at which it said so.
struct Timed(std::time::Instant, std::time::Duration, std::sync::OnceLock<std::time::Instant>);

impl Timed {
    fn after(ms: u64) -> Timed {
        let pause = std::time::Duration::from_millis(ms);
        Timed(std::time::Instant::now(), pause, std::sync::OnceLock::new())
    }

    fn since_stop(&self) -> std::time::Duration {
        self.2.get().map_or(std::time::Duration::ZERO, std::time::Instant::elapsed)
    }
}

impl Watch for Timed {
    fn look(&self, _: Progress) {}
    fn stop(&self) -> bool {
        // The time is up from then on, whether anyone has asked or not.
        let up = self.0.elapsed() >= self.1;
        if up {
            self.2.get_or_init(|| self.0 + self.1);
        }
        up
    }
}

#[test]
fn ten_thousand_pieces_stop_soon_after_they_are_told_to() {
    let jobs = |n: usize| {
        let turns = [free(disk(12.0)), free(plate(14.0, 9.0, 1.0)), free(ring(16.0, 9.0))];
        let pieces = if n == 3 {
            let mut all = many("disk", 0, &turns[0], 4000, 0);
            all.extend(many("plate", 1, &turns[1], 3000, 0));
            all.extend(many("ring", 2, &turns[2], 3000, 0));
            all
        } else {
            many("piece", 0, &turns[n], 10_000, 0)
        };
        let wide = cloth(if n == 0 { 1200.0 } else { 3000.0 }, 900.0);
        group(pieces, vec![wide], 3.0, 0.5)
    };
    // A tenth of a second is wanted; half of one leaves room for a busy machine.
    for n in 0..4 {
        let job = jobs(n);
        for ms in [20, 800] {
            let watch = Timed::after(ms);
            let layout = lay(&job, Effort { evaluations: 50_000_000, seed: 1 }, &watch);
            let late = watch.since_stop();
            assert!(layout.stopped);
            assert!(late.as_secs_f64() < 0.5, "job {n}: ended {late:?} late");
            assert_eq!(layout.placed.len() + layout.left.len(), 10_000);
            for left in &layout.left {
                assert!(left.tried || left.largest_free.is_none());
            }
        }
    }
}

#[test]
fn what_was_tried_is_told_from_what_was_not() {
    struct Count(std::sync::atomic::AtomicU64, u64);
    impl Watch for Count {
        fn look(&self, _: Progress) {}
        fn stop(&self) -> bool {
            self.0.fetch_add(1, std::sync::atomic::Ordering::Relaxed) >= self.1
        }
    }
    let mut pieces = many("large", 0, &free(disk(90.0)), 3, 0);
    pieces.extend(many("small", 1, &free(disk(10.0)), 60, 0));
    let job = group(pieces, vec![cloth(200.0, 100.0)], 2.0, 1.0);
    // Two of the large ones find room; then it is stopped among the small ones.
    let (mut before, mut both) = (0, false);
    for looks in 0..400 {
        let watch = Count(std::sync::atomic::AtomicU64::new(0), looks);
        let layout = lay(&job, effort(1), &watch);
        let (tried, untried): (Vec<_>, Vec<_>) = layout.left.iter().partition(|l| l.tried);
        assert!(tried.iter().all(|l| l.largest_free.is_some()));
        assert!(untried.iter().all(|l| l.largest_free.is_none()));
        assert!(layout.stopped || untried.is_empty());
        before = before.max(untried.len());
        both |= tried.iter().any(|l| l.piece < 3) && untried.iter().any(|l| l.piece >= 3);
    }
    assert_eq!(before, 63);
    assert!(both, "a stop among the small ones");
    assert!(lay(&job, effort(1), &Patient).left.iter().all(|l| l.tried));
}

#[test]
fn the_largest_free_circle_among_thousands_is_found_at_once() {
    let job =
        group(many("dot", 0, &free(disk(8.0)), 10_000, 0), vec![cloth(900.0, 700.0)], 2.0, 0.5);
    let task = task::Task::new(&job);
    // Rows and columns, one place left open among them.
    let step = 8.5;
    let mut placed = Vec::new();
    for i in 0..100_u32 {
        for j in 0..80_u32 {
            if (i, j) != (31, 57) {
                let pose = Pose {
                    x: 10.0 + step * f64::from(i),
                    y: 10.0 + step * f64::from(j),
                    turn: 0.0,
                    mirrored: false,
                };
                placed.push(Placed {
                    piece: placed.len(),
                    ground: 0,
                    host: None,
                    stance: 0,
                    pose,
                    window: None,
                });
            }
        }
    }
    let begun = std::time::Instant::now();
    let (_, _, across) = free::largest_free(&task, &placed, 0).unwrap();
    let took = begun.elapsed().as_secs_f64();
    assert!(took < 0.5, "{took} s");
    // A strip of 42 mm is open beyond the last column, 900 - 2 - (10 + 99 * 8.5 + 4 + 0.5).
    let wide = 900.0 - 2.0 - (10.0 + 99.0 * step + 4.5);
    assert!((wide - 0.5..=wide + 1.0).contains(&across), "{across} of {wide}");
}

#[test]
fn an_outline_of_a_hundred_thousand_corners_is_laid_on() {
    let mut chance = Chance::new(5, 5);
    let skin = hide("skin", 300.0, 100_000, &mut chance);
    let pieces = many("pouch", 0, &free(disk(41.0)), 60, 0);
    let job = group(pieces, vec![skin], 4.0, 0.5);
    let begun = std::time::Instant::now();
    let layout = laid(&job, 500);
    let took = begun.elapsed().as_secs_f64();
    assert!(layout.left.is_empty());
    assert!(took < 20.0, "{took} s");
}

#[test]
fn slivers_lie_apart() {
    // As thick as a hair is not: 300 mm long and a hundredth wide.
    let mut pieces = many("sliver", 0, &free(plate(300.0, 0.01, 0.0)), 20, 0);
    pieces.extend(many("plate", 1, &free(plate(40.0, 25.0, 0.0)), 6, 0));
    for apart in [0.5, 0.0] {
        let job = group(pieces.clone(), vec![cloth(320.0, 95.0)], 2.0, apart);
        assert!(laid(&job, 2000).left.is_empty(), "{apart} mm apart");
    }
}

#[test]
fn figures_that_are_none_make_no_shape() {
    for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(Loop::circle(p(0.0, 0.0), odd).is_err());
        assert!(Loop::circle(p(odd, 0.0), 5.0).is_err());
        assert!(Loop::polygon(&[p(0.0, 0.0), p(odd, 0.0), p(0.0, 9.0)]).is_err());
        assert!(width_of_cloth(odd, 900.0).is_err());
    }
}
