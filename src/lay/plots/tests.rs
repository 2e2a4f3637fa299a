//! Plots against points: what is barred is just the ground that will not do.

use super::*;
use crate::geom::{Vec2, polygon};
use crate::lay::chance::Chance;
use crate::lay::kernel::{Body, Region};
use crate::lay::tests::jobs::zoned;

/// How deep a point lies in what is barred (mm); negative: how far it is clear.
fn depth(bars: &[Core], p: Point) -> f64 {
    let body = Body::point();
    let gaps = bars.iter().map(|bar| Region::between(bar, &body.over[0], 0.0).gap(p));
    -gaps.fold(f64::INFINITY, f64::min)
}

/// Points near no border are barred exactly where their grade or their nearest reading will not do.
#[test]
fn what_is_barred_is_the_ground_that_will_not_do() {
    let mut chance = Chance::new(5, 0);
    let (mut poor, mut good) = (0, 0);
    for n in 0..60 {
        let sheet = zoned(&mut chance);
        let needs = Needs {
            grade: (n % 3 != 0).then_some(1 + u8::try_from(chance.below(3)).unwrap()),
            thickness: (n % 3 != 1).then_some((0.85, 1.02)),
            together: false,
        };
        let made = plots(&sheet, &needs);
        let b = sheet.outline.bounds();
        for _ in 0..200 {
            let p = Point::new(chance.between(b.x0, b.x1), chance.between(b.y0, b.y1));
            let does = |p: Point| {
                let nearest = sheet
                    .readings
                    .iter()
                    .min_by(|r, s| (r.at - p).hypot2().total_cmp(&(s.at - p).hypot2()));
                needs.takes_grade(sheet.grade_at(p))
                    && nearest.is_none_or(|r| needs.takes_thickness(r.thickness.mm()))
            };
            let around = (0..16)
                .map(|k| p + Vec2::from_angle(f64::from(k) * std::f64::consts::FRAC_PI_8) * 0.2);
            if around.clone().any(|q| does(q) != does(p)) {
                continue;
            }
            let Some(plot) = made.first() else {
                assert!(!does(p), "{n}: all of it is barred");
                continue;
            };
            let deep = depth(&plot.bars, p);
            if does(p) {
                good += 1;
                assert!(deep <= 0.0, "{n}: {p:?} will do and is barred, {deep}");
            } else {
                poor += 1;
                assert!(deep >= 0.0, "{n}: {p:?} will not do and is open, {deep}");
            }
        }
    }
    assert!(poor > 1000 && good > 1000, "{poor} {good}");
}

#[test]
fn plots_of_couples_are_of_one_grade_and_one_band() {
    let mut chance = Chance::new(6, 0);
    for _ in 0..40 {
        let sheet = zoned(&mut chance);
        let needs = Needs { together: true, ..Needs::default() };
        for plot in plots(&sheet, &needs) {
            let b = sheet.outline.bounds();
            let mut seen: Vec<(u8, f64)> = Vec::new();
            for _ in 0..300 {
                let p = Point::new(chance.between(b.x0, b.x1), chance.between(b.y0, b.y1));
                if depth(&plot.bars, p) < -0.05 {
                    let nearest = sheet
                        .readings
                        .iter()
                        .min_by(|r, s| (r.at - p).hypot2().total_cmp(&(s.at - p).hypot2()));
                    seen.push((sheet.grade_at(p), nearest.map_or(0.0, |r| r.thickness.mm())));
                }
            }
            for (grade, mm) in &seen {
                assert!(plot.holds(&[*grade], &[*mm]) || sheet.readings.is_empty());
                assert_eq!(*grade, seen[0].0);
                assert!((mm - seen[0].1).abs() <= TOGETHER_APART + 1e-9);
            }
        }
    }
}

/// A good island in a poor zone is open, whichever lines cross.
#[test]
fn a_later_zone_opens_what_an_earlier_one_bars() {
    let square = |x: f64, y: f64, side: f64| {
        let at = |dx: f64, dy: f64| Point::new(x + dx, y + dy);
        polygon(&[at(0.0, 0.0), at(side, 0.0), at(side, side), at(0.0, side)]).unwrap()
    };
    let mut sheet = crate::lay::tests::cloth(200.0, 200.0);
    let zone = |grade, outline| crate::sheet::Zone { why: String::new(), grade, outline };
    sheet.zones = vec![zone(4, square(20.0, 20.0, 100.0)), zone(1, square(80.0, 80.0, 60.0))];
    let needs = Needs { grade: Some(2), ..Needs::default() };
    let bars = &plots(&sheet, &needs)[0].bars;
    assert!(depth(bars, Point::new(50.0, 50.0)) > 1.0);
    assert!(depth(bars, Point::new(100.0, 60.0)) > 1.0);
    assert!(depth(bars, Point::new(100.0, 100.0)) < -1.0);
    assert!(depth(bars, Point::new(160.0, 60.0)) < -1.0);
    // Bounded to the last bit: the island begins at 80, the poor zone ends at 120.
    assert!(depth(bars, Point::new(100.0, 80.0)).abs() < 1e-9);
    assert!(depth(bars, Point::new(120.0, 60.0)).abs() < 1e-9);
}

#[test]
fn bands_are_as_wide_as_they_may_be() {
    let made = bands(vec![0.90, 0.95, 0.80, 0.85, 0.90]);
    assert_eq!(made, [(0.80, 0.85), (0.85, 0.90), (0.90, 0.95)]);
    assert_eq!(bands(vec![0.90, 0.91]), [(0.90, 0.91)]);
}
