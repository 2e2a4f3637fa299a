//! Values worked by hand from the definition of kerf, and coupons that were cut and measured by simulation.

use super::*;
use crate::fault::{Fault, Place};
use crate::geom::{Point, shape_distance};
use crate::lay::{Effort, Ground, Group, Patient, proof};
use crate::sheet::{Sheet, SheetKind, width_of_cloth};
use approx::assert_relative_eq;
use std::sync::Arc;

fn place(line: usize) -> Place {
    Place { line, ..Place::head(&Arc::from("readings.csv")) }
}

/// Chance for the tests.
///
/// # Source
/// Steele, Lea and Flood, "Fast Splittable Pseudorandom Number Generators", 2014.
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        #[allow(clippy::cast_precision_loss, reason = "53 bits")]
        let unit = ((z ^ (z >> 31)) >> 11) as f64;
        unit / 2f64.powi(53)
    }

    fn within(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.next()
    }

    /// Normal noise, near enough: twelve throws less six (central limit).
    fn noise(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

/// The shapes of the pieces themselves, every line moved by half a kerf to either side, measured with a caliper: what
/// is left of a piece, and what a hole has become. Shares nothing with `kerf_of`.
fn cut(kx: f64, ky: f64, mut noise: impl FnMut() -> f64) -> Filled {
    let made = pieces(0.0).unwrap();
    let mut filled =
        Filled { readings: Vec::new(), drawn: Vec::new(), blanks: Vec::new(), head: place(1) };
    for (line, row) in asked().into_iter().enumerate() {
        let shape = |number: u32| {
            let piece = made.iter().find(|p| p.address.position == number).unwrap();
            piece.turns.design(0).unwrap().shape.clone()
        };
        let whole = |number: u32| {
            let b = shape(number).bounds();
            (b.width() - kx, b.height() - ky)
        };
        let size = match row.feature {
            Feature::Outside => whole(row.number),
            Feature::RoundHole | Feature::Window => {
                let b = shape(row.number).holes()[0].bounds();
                (b.width() + kx, b.height() + ky)
            }
            Feature::Strips => (row.number..row.number + 10)
                .map(whole)
                .fold((0.0, 0.0), |sum, (w, h)| (sum.0 + w, sum.1 + h)),
        };
        for (axis, drawn, mm) in [(Axis::X, row.x, size.0), (Axis::Y, row.y, size.1)] {
            let Some(drawn) = drawn else { continue };
            let spot = Spot { number: row.number, feature: row.feature, axis };
            let place = place(line + 2);
            let reading = |mm: f64| Reading {
                spot,
                mm,
                written: format!("{mm:.2} mm"),
                place: place.clone(),
            };
            filled.readings.push(reading(mm + noise()));
            filled.drawn.push(reading(drawn));
        }
    }
    filled
}

fn exact(kx: f64, ky: f64) -> Filled {
    cut(kx, ky, || 0.0)
}

fn refused(filled: &Filled, code: &str) -> Vec<Fault> {
    let faults = judge(filled).expect_err("it is refused");
    assert!(faults.iter().all(|f| f.code == code || !f.is_error()), "{faults:?}");
    assert!(faults.iter().all(|f| !f.marks.is_empty() && f.cure.is_some()), "{faults:?}");
    faults
}

/// Readings of the same spots with another figure.
fn changed(filled: &Filled, with: impl Fn(&Reading) -> Reading) -> Filled {
    Filled { readings: filled.readings.iter().map(with).collect(), ..filled.clone() }
}

/// The figure that stands at another spot.
fn at(filled: &Filled, spot: Spot) -> Option<f64> {
    filled.readings.iter().find(|r| r.spot == spot).map(|r| r.mm)
}

#[test]
fn kerfs_come_out_by_definition() {
    // By hand: a plate of 20 that measures 19.85 lacks 0.15; a hole of 10 that measures 10.2 has 0.2 too much; ten
    // strips of 6.5 that measure 63.5 together lack 1.5, a tenth of that each (the definition of kerf).
    assert_relative_eq!(kerf_of(Feature::Outside, 20.0, 19.85), 0.15, epsilon = 1e-12);
    assert_relative_eq!(kerf_of(Feature::RoundHole, 10.0, 10.2), 0.2, epsilon = 1e-12);
    assert_relative_eq!(kerf_of(Feature::Window, 8.0, 7.9), -0.1, epsilon = 1e-12);
    assert_relative_eq!(kerf_of(Feature::Strips, 65.0, 63.5), 0.15, epsilon = 1e-12);
}

#[test]
fn means_and_spreads_are_those_worked_by_hand() {
    // Along x: three plates that lack 0.10, 0.20 and 0.30, three holes with 0.30, 0.40 and 0.50 too much. Means 0.20
    // and 0.40, so 0.30; both standard deviations 0.10 (JCGM 100:2008, 4.2.2: divided by n - 1), so 0.10 in all;
    // standard error of the mean of two means: half the root of 0.01/3 + 0.01/3 = 0.0408.
    let mut filled = exact(0.2, 0.2);
    let lacking = |r: &Reading| match (r.spot.axis, r.spot.feature, r.spot.number) {
        (Axis::X, Feature::Outside, n @ 1..=3) => Some(20.0 - f64::from(n) / 10.0),
        (Axis::X, Feature::RoundHole, n @ 1..=3) => Some(10.2 + f64::from(n) / 10.0),
        (Axis::X, ..) => None,
        (Axis::Y, ..) => Some(r.mm),
    };
    filled.readings = filled
        .readings
        .iter()
        .filter_map(|r| Some(Reading { mm: lacking(r)?, ..r.clone() }))
        .collect();
    let kerfs = judge(&filled).unwrap();
    assert_relative_eq!(kerfs.x.outside.mean, 0.2, epsilon = 1e-9);
    assert_relative_eq!(kerfs.x.inside.mean, 0.4, epsilon = 1e-9);
    assert_relative_eq!(kerfs.x.kerf, 0.3, epsilon = 1e-9);
    assert_relative_eq!(kerfs.x.spread, 0.1, epsilon = 1e-9);
    assert_relative_eq!(kerfs.x.error, 0.040_824_829, epsilon = 1e-8);
    assert_eq!((kerfs.x.count, kerfs.y.count), (6, 21));
    // Ten strips weigh as much as ten plates: nine plates at 0.1 and one at 0.3 make 0.12; with strips at 0.2 the
    // mean of twenty cuts is 0.16.
    let mixed = changed(&exact(0.1, 0.1), |r| match (r.spot.feature, r.spot.axis, r.spot.number) {
        (Feature::Outside, Axis::X, 7) => Reading { mm: 19.7, ..r.clone() },
        (Feature::Strips, Axis::X, _) => Reading { mm: 63.0, ..r.clone() },
        _ => r.clone(),
    });
    assert_relative_eq!(judge(&mixed).unwrap().x.outside.mean, 0.16, epsilon = 1e-9);
}

#[test]
fn a_simulated_cut_gives_its_kerf_back() {
    for seed in 0..200 {
        let mut dice = Dice(seed);
        let (kx, ky) = (dice.within(0.0, 1.5), dice.within(0.0, 1.5));
        let kerfs = judge(&exact(kx, ky)).unwrap();
        assert_relative_eq!(kerfs.x.kerf, kx, epsilon = 0.001);
        assert_relative_eq!(kerfs.y.kerf, ky, epsilon = 0.001);
        assert!(kerfs.warnings.is_empty() && kerfs.odd.is_empty(), "{:?}", kerfs.warnings);
        let sigma = dice.within(0.005, 0.05);
        let noisy = cut(kx, ky, || sigma * dice.noise());
        let kerfs = judge(&noisy).unwrap();
        for (found, k) in [(&kerfs.x, kx), (&kerfs.y, ky)] {
            assert!((found.kerf - k).abs() <= found.spread, "seed {seed}: {found:?}, cut with {k}");
            assert!(found.spread < 2.0 * sigma && found.spread > 0.4 * sigma, "{found:?}, {sigma}");
        }
    }
}

#[test]
fn one_figure_or_two() {
    assert_eq!(judge(&exact(0.15, 0.15)).unwrap().width(), Width::One(0.15));
    assert_eq!(judge(&exact(0.15, 0.152)).unwrap().width(), Width::One(0.151));
    assert_eq!(judge(&exact(0.3, 0.1)).unwrap().width(), Width::Two(0.3, 0.1));
    // A cut has width both ways or neither.
    assert_eq!(judge(&exact(0.3, 0.0)).unwrap().width(), Width::Two(0.3, 0.01));
    assert_eq!(judge(&exact(0.0, 0.0)).unwrap().width(), Width::One(0.0));
    // A knife takes nothing away; noise alone makes no negative kerf of it.
    for seed in 0..50 {
        let mut dice = Dice(seed);
        let kerfs = judge(&cut(0.0, 0.0, || 0.03 * dice.noise())).unwrap();
        assert!(kerfs.x.kerf >= 0.0 && kerfs.x.kerf < 0.03, "{:?}", kerfs.x);
    }
}

/// The same along the other axis.
fn turned(spot: Spot) -> Spot {
    Spot { axis: spot.axis.other(), ..spot }
}

/// Every way in which figures get into the wrong place, on every one of many cuts.
#[test]
fn changed_over_figures_are_found_in_every_case() {
    for seed in 0..200 {
        let mut dice = Dice(seed);
        let (kx, ky) = (dice.within(0.02, 1.5), dice.within(0.02, 1.5));
        let sigma = dice.within(0.0, 0.03);
        let good = cut(kx, ky, || sigma * dice.noise());
        assert!(judge(&good).is_ok(), "seed {seed}");
        let number = 1 + (seed % 10) as u32;
        // The columns of x and y.
        let columns = Filled {
            readings: good
                .readings
                .iter()
                .map(|r| Reading { spot: turned(r.spot), ..r.clone() })
                .collect(),
            ..good.clone()
        };
        let told = refused(&columns, "E66");
        assert!(told.len() == 1 && told[0].text.contains("measured-x and measured-y"), "{told:?}");
        // One plate that was turned.
        let row = changed(&good, |r| {
            let here = r.spot.number == number && r.spot.feature == Feature::Outside;
            let mm = if here { at(&good, turned(r.spot)).unwrap() } else { r.mm };
            Reading { mm, ..r.clone() }
        });
        let told = refused(&row, "E66");
        assert!(told[0].text.starts_with(&format!("{number}, outside")), "{told:?}");
        // Outside and hole: of one plate, and of all.
        let hole = |n: u32| if n <= 5 { Feature::RoundHole } else { Feature::Window };
        for one in [true, false] {
            let swapped = changed(&good, |r| {
                let feature = match r.spot.feature {
                    Feature::Outside => hole(r.spot.number),
                    Feature::Strips => Feature::Strips,
                    _ => Feature::Outside,
                };
                let here = !one || r.spot.number == number;
                let spot = if here { Spot { feature, ..r.spot } } else { r.spot };
                Reading { mm: at(&good, spot).unwrap(), ..r.clone() }
            });
            let told = refused(&swapped, "E66");
            assert!(told.iter().any(|f| f.text.contains("is the size of")), "{told:?}");
        }
    }
}

#[test]
fn changed_over_strips_and_columns_are_found_in_every_case() {
    for seed in 0..200 {
        let mut dice = Dice(seed);
        let (kx, ky) = (dice.within(0.02, 1.5), dice.within(0.02, 1.5));
        let sigma = dice.within(0.0, 0.03);
        let good = cut(kx, ky, || sigma * dice.noise());
        // The two rows of strips.
        let strips = changed(&good, |r| match r.spot.feature {
            Feature::Strips => {
                let number = if r.spot.number == 11 { 21 } else { 11 };
                let other = Spot { number, ..turned(r.spot) };
                Reading { mm: at(&good, other).unwrap(), ..r.clone() }
            }
            _ => r.clone(),
        });
        refused(&strips, "E66");
        // What was drawn and what was measured.
        let columns =
            Filled { readings: good.drawn.clone(), drawn: good.readings.clone(), ..good.clone() };
        assert!(refused(&columns, "E66")[0].text.contains("changed over"));
        // Pieces too large and holes too small by a kerf.
        if kx > 0.15 {
            let negative = changed(&good, |r| Reading {
                mm: 2.0 * drawn(r.spot).unwrap() - r.mm,
                ..r.clone()
            });
            let faults = judge(&negative).unwrap_err();
            assert!(faults.iter().any(|f| matches!(f.code, "E41" | "E66" | "E67")), "{faults:?}");
        }
    }
}

#[test]
fn other_units_are_found() {
    let good = exact(0.2, 0.2);
    for (factor, name) in [(1.0 / 25.4, "inches"), (25.4, "millimetres"), (0.1, "centimetres")] {
        let wrong = changed(&good, |r| match r.spot.axis {
            Axis::X => Reading { mm: r.mm * factor, ..r.clone() },
            Axis::Y => r.clone(),
        });
        let told = refused(&wrong, "E66");
        assert_eq!(told.len(), 1, "{told:?}");
        crate::fault::tells(told.iter().map(|f| f.code), "E66");
        assert!(told[0].text.contains(name) && told[0].text.contains("measured-x"), "{told:?}");
    }
}

#[test]
fn what_no_cut_can_be_is_refused() {
    let good = exact(0.2, 0.2);
    let one = |mm: f64| {
        changed(&good, |r| {
            let here =
                (r.spot.number, r.spot.feature, r.spot.axis) == (3, Feature::Outside, Axis::X);
            if here { Reading { mm, ..r.clone() } } else { r.clone() }
        })
    };
    assert!(refused(&one(17.2), "E67")[0].text.contains("a kerf of 2.80 mm"));
    let told = refused(&one(23.0), "E67");
    crate::fault::tells(told.iter().map(|f| f.code), "E67");
    // Within what a cut can be it only stands out.
    let kerfs = judge(&one(19.2)).unwrap();
    assert_eq!(kerfs.odd.len(), 1);
    assert_eq!(kerfs.odd[0].0, Spot { number: 3, feature: Feature::Outside, axis: Axis::X });
    crate::fault::tells(kerfs.warnings.iter().map(|f| f.code), "W52");
    // A width of cut that the machine itself allowed for.
    let grown = changed(&good, |r| Reading {
        mm: drawn(r.spot).unwrap()
            + if r.spot.feature.is_hole() { -0.1 } else { 0.1 * r.spot.feature.cuts() },
        ..r.clone()
    });
    assert!(refused(&grown, "E41")[0].text.contains("-0.100 mm"));
}

#[test]
fn scatter_and_sides_that_differ_are_pointed_out() {
    let mut dice = Dice(7);
    let kerfs = judge(&cut(0.15, 0.15, || 0.2 * dice.noise())).unwrap();
    assert!(kerfs.warnings.iter().any(|f| f.text.contains("scatter")), "{:?}", kerfs.warnings);
    let uneven = changed(&exact(0.2, 0.2), |r| {
        let more = if r.spot.feature.is_hole() { 0.2 } else { 0.0 };
        Reading { mm: r.mm + more, ..r.clone() }
    });
    let kerfs = judge(&uneven).unwrap();
    assert_eq!(kerfs.warnings.len(), 2, "{:?}", kerfs.warnings);
    assert!(kerfs.warnings[0].text.contains("0.200 mm outside and 0.400 mm inside"));
    assert_relative_eq!(kerfs.x.kerf, 0.3, epsilon = 1e-9);
}

#[test]
fn missing_readings_are_told() {
    let mut filled = exact(0.2, 0.2);
    let lose = |filled: &mut Filled, keep: &dyn Fn(&Reading) -> bool| {
        let (kept, lost): (Vec<_>, Vec<_>) = filled.readings.drain(..).partition(keep);
        filled.readings = kept;
        filled.blanks.extend(lost.into_iter().map(|r| Blank { spot: r.spot, place: r.place }));
    };
    lose(&mut filled, &|r| r.spot.number != 4);
    let kerfs = judge(&filled).unwrap();
    assert!(kerfs.warnings.len() == 4 && kerfs.warnings.iter().all(|f| f.code == "W53"));
    crate::fault::tells(kerfs.warnings.iter().map(|f| f.code), "W53");
    assert_eq!(kerfs.warnings[0].marks[0].place.line, 8);
    lose(&mut filled, &|r| !r.spot.feature.is_hole() || r.spot.axis == Axis::X);
    let told = refused(&filled, "E12");
    let text = "0 of 10 readings inside along y, and 3 are the least";
    assert!(told.iter().any(|f| f.text == text), "{told:?}");
    let empty = Filled { readings: Vec::new(), ..filled };
    assert_eq!(refused(&empty, "E12")[0].text, "nothing has been filled in");
}

fn group(length: f64, width: f64, grain: f64) -> Group {
    let outline = width_of_cloth(length, width).unwrap();
    let sheet = Sheet { grain, ..Sheet::bare("S", SheetKind::Leaf, "m", outline) };
    Group {
        pieces: pieces(grain).unwrap(),
        grounds: vec![Ground { sheet: Arc::new(sheet), edge: 5.0, window: None }],
        apart: 2.0,
        hard_edges: false,
        window: None,
    }
}

#[test]
fn a_coupon_stays_together_and_straight() {
    for grain in [0.0, 90.0, 17.3, -123.4] {
        let group = group(300.0, 200.0, grain);
        let layout = lay_coupon(&group, Effort::QUICK, &Patient);
        assert!(layout.left.is_empty() && proof::prove(&group, &layout).is_ok());
        let shapes: Vec<_> = layout
            .placed
            .iter()
            .map(|at| {
                assert_eq!((at.pose.turn, at.pose.mirrored), (0.0, false));
                group.pieces[at.piece].turns.design(0).unwrap().shape.posed(&at.pose)
            })
            .collect();
        let b = shapes.iter().map(crate::geom::Shape::bounds).reduce(|a, b| a.union(b)).unwrap();
        assert!(b.width() < 120.0 && b.height() < 120.0, "{b:?}");
        // Plates read like a page.
        let corner = |n: usize| Point::new(shapes[n - 1].bounds().x0, shapes[n - 1].bounds().y0);
        assert!(corner(1).x < corner(2).x && corner(1).y > corner(5).y);
        let near = shape_distance(&shapes[0], &shapes[1]).0;
        assert_relative_eq!(near, 2.0, epsilon = 1e-6);
    }
}

fn small() -> Group {
    group(60.0, 40.0, 0.0)
}

#[test]
fn where_the_block_has_no_room_pieces_lie_as_they_can() {
    let group = group(400.0, 60.0, 0.0);
    let layout = lay_coupon(&group, Effort::QUICK, &Patient);
    assert!(layout.left.is_empty() && layout.placed.len() == 30);
    assert!(proof::prove(&group, &layout).is_ok());
    let tight = small();
    assert!(!lay_coupon(&tight, Effort::QUICK, &Patient).left.is_empty());
}

/// Whatever is exchanged shows by its size: the drawn sizes of a piece are farther apart than two of the widest kerf.
#[test]
fn sizes_differ_by_more_than_any_kerf() {
    for row in asked().into_iter().filter(|row| row.feature != Feature::RoundHole) {
        if let (Some(x), Some(y)) = (row.x, row.y) {
            assert!((x - y).abs() >= 4.0, "{row:?}");
        }
    }
    assert_eq!(asked().len(), 22);
    assert_eq!(pieces(0.0).unwrap().len(), 30);
}
