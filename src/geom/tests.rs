use super::*;
use approx::assert_relative_eq;
use std::f64::consts::PI;

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn ok<T, E: std::fmt::Debug>(r: Result<T, E>) -> T {
    r.unwrap()
}

#[test]
fn an_obround_has_the_area_and_length_of_its_parts() {
    // 30 between centres, 10 wide: 300 + 25 pi and 60 + 10 pi (elementary geometry).
    let slot = ok(obround(p(0.0, 0.0), p(30.0, 0.0), 10.0));
    assert_relative_eq!(slot.area(), 300.0 + 25.0 * PI, max_relative = 1e-12);
    assert_relative_eq!(slot.length(), 60.0 + 10.0 * PI, max_relative = 1e-12);
    let b = slot.bounds();
    assert_relative_eq!(b.x0, -5.0, epsilon = 1e-12);
    assert_relative_eq!(b.x1, 35.0, epsilon = 1e-12);
}

#[test]
fn half_turns_make_a_circle_again() {
    let made = ok(Loop::chain(vec![
        Seg::arc(p(-5.0, 0.0), p(5.0, 0.0), 1.0),
        Seg::arc(p(5.0, 0.0), p(-5.0, 0.0), 1.0),
    ]));
    assert_eq!(made, Loop::Circle(p(0.0, 0.0), 5.0));
}

#[test]
fn clockwise_chains_are_turned_round() {
    let made = ok(Loop::polygon(&[p(0.0, 0.0), p(0.0, 1.0), p(1.0, 1.0), p(1.0, 0.0)]));
    let Loop::Chain(segs) = &made else { panic!("a square is a chain") };
    let sum: f64 = segs.iter().map(|s| s.a.to_vec2().cross(s.b.to_vec2())).sum();
    assert!(sum > 0.0, "runs counter-clockwise");
}

#[test]
fn what_crosses_itself_is_refused_with_its_place() {
    let bow = Loop::polygon(&[p(0.0, 0.0), p(10.0, 10.0), p(10.0, 0.0), p(0.0, 10.0)]);
    // The two lobes cancel, so it may be called empty; shift one to keep some area.
    assert!(bow.is_err());
    let bow = Loop::polygon(&[p(0.0, 0.0), p(10.0, 10.0), p(10.0, 0.0), p(0.0, 12.0)]);
    let fault = bow.unwrap_err();
    assert_eq!(fault.kind, GeomFaultKind::Crosses);
    assert_relative_eq!(fault.at.x, 60.0 / 11.0, epsilon = 1e-9);
    let spike = Loop::polygon(&[p(0.0, 0.0), p(10.0, 0.0), p(5.0, 0.0), p(5.0, 5.0)]);
    assert!(spike.is_err(), "a line that runs back over itself");
    let pinch =
        Loop::polygon(&[p(0.0, 0.0), p(10.0, 0.0), p(10.0, 10.0), p(5.0, 0.0), p(0.0, 10.0)]);
    assert!(pinch.is_err(), "a corner that touches a side");
}

#[test]
fn what_is_not_finite_is_refused() {
    for bad in [f64::NAN, f64::INFINITY, 1e6] {
        assert!(Loop::circle(p(bad, 0.0), 1.0).is_err());
        assert!(Loop::circle(p(0.0, 0.0), bad).is_err());
        assert!(Loop::polygon(&[p(0.0, 0.0), p(bad, 0.0), p(1.0, 1.0)]).is_err());
        let bent =
            vec![Seg::arc(p(0.0, 0.0), p(1.0, 0.0), bad), Seg::line(p(1.0, 0.0), p(0.0, 0.0))];
        assert!(Loop::chain(bent).is_err());
    }
}

#[test]
fn points_are_told_inside_from_outside_with_arcs() {
    let slot = ok(obround(p(0.0, 0.0), p(30.0, 0.0), 10.0));
    assert_eq!(point_in_loop(p(-4.9, 0.0), &slot), Where::Inside);
    assert_eq!(point_in_loop(p(-4.9, 1.5), &slot), Where::Outside);
    assert_eq!(point_in_loop(p(-5.0, 0.0), &slot), Where::On);
    assert_eq!(point_in_loop(p(0.0, 0.0), &slot), Where::Inside);
    // A notch by an arc that bends inward.
    let notched = ok(Loop::chain(vec![
        Seg::line(p(0.0, 0.0), p(10.0, 0.0)),
        Seg::line(p(10.0, 0.0), p(10.0, 10.0)),
        Seg::line(p(10.0, 10.0), p(7.0, 10.0)),
        Seg::arc(p(7.0, 10.0), p(3.0, 10.0), -1.0),
        Seg::line(p(3.0, 10.0), p(0.0, 10.0)),
        Seg::line(p(0.0, 10.0), p(0.0, 0.0)),
    ]));
    assert_relative_eq!(notched.area(), 100.0 - 2.0 * PI, max_relative = 1e-12);
    assert_eq!(point_in_loop(p(5.0, 9.0), &notched), Where::Outside);
    assert_eq!(point_in_loop(p(5.0, 7.9), &notched), Where::Inside);
    // Against a slow winding on fine chords.
    let fine = flatten(&notched, 1e-6, Side::Inside);
    for i in 0..400 {
        let q = p(f64::from(i % 20) * 0.53 - 0.2, f64::from(i / 20) * 0.53 - 0.2);
        let slow = chords_hold(&fine, q);
        match point_in_loop(q, &notched) {
            Where::Inside => assert!(slow, "{q:?}"),
            Where::Outside => assert!(!slow, "{q:?}"),
            Where::On => {}
        }
    }
}

fn chords_hold(points: &[Point], q: Point) -> bool {
    let mut inside = false;
    for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
        if (a.y > q.y) != (b.y > q.y) && q.x < (b.x - a.x) * (q.y - a.y) / (b.y - a.y) + a.x {
            inside = !inside;
        }
    }
    inside
}

#[test]
fn distances_hold_against_samples() {
    let segs = [
        Seg::line(p(0.0, 0.0), p(10.0, 3.0)),
        Seg::arc(p(12.0, 0.0), p(15.0, 4.0), 0.7),
        Seg::arc(p(2.0, 9.0), p(-3.0, 5.0), -0.9),
        Seg::arc(p(6.0, -2.0), p(8.0, -9.0), 1.0),
        Seg::line(p(-4.0, -4.0), p(1.0, -6.0)),
    ];
    for (i, one) in segs.iter().enumerate() {
        for two in &segs[i + 1..] {
            let exact = one.distance(two).0;
            let mut least = f64::INFINITY;
            for j in 0..=400 {
                for k in 0..=400 {
                    let d = (one.at(f64::from(j) / 400.0) - two.at(f64::from(k) / 400.0)).hypot();
                    least = least.min(d);
                }
            }
            assert!(exact <= least + 1e-9, "{exact} beyond {least}");
            assert!(least - exact < 0.02, "{exact} far below {least}");
        }
    }
}

#[test]
fn offsets_keep_circles_and_grow_by_the_steiner_sum() {
    let whole = ok(offset(&Loop::Circle(p(3.0, 4.0), 10.0), 0.1));
    assert_eq!(whole, Offset::Whole(Loop::Circle(p(3.0, 4.0), 10.1)));
    assert_eq!(ok(offset(&Loop::Circle(p(3.0, 4.0), 10.0), -10.0)), Offset::Vanished);
    // Steiner's formula for a convex body: A + d L + pi d^2.
    let plate = ok(rectangle(p(0.0, 0.0), 40.0, 20.0, 0.0));
    let Offset::Whole(grown) = ok(offset(&plate, 0.1)) else { panic!("one loop") };
    assert_relative_eq!(grown.area(), 800.0 + 12.0 + 0.01 * PI, max_relative = 1e-9);
    assert_relative_eq!(grown.length(), 120.0 + 0.2 * PI, max_relative = 1e-9);
    let Offset::Whole(less) = ok(offset(&plate, -0.1)) else { panic!("one loop") };
    assert_relative_eq!(less.area(), 39.8 * 19.8, max_relative = 1e-9);
    assert_eq!(ok(offset(&plate, -10.0)), Offset::Vanished);
}

#[test]
fn a_pinched_loop_is_reported() {
    let dumbbell = ok(Loop::polygon(&[
        p(0.0, 0.0),
        p(10.0, 0.0),
        p(10.0, 4.9),
        p(20.0, 4.9),
        p(20.0, 0.0),
        p(30.0, 0.0),
        p(30.0, 10.0),
        p(20.0, 10.0),
        p(20.0, 5.1),
        p(10.0, 5.1),
        p(10.0, 10.0),
        p(0.0, 10.0),
    ]));
    let Offset::Pinched(loops) = ok(offset(&dumbbell, -0.2)) else { panic!("two loops") };
    assert_eq!(loops.len(), 2);
}

#[test]
fn stretched_circles_stay_within_their_tolerance() {
    // Elementary ellipse: half axes r/(1+e), area pi r^2 / ((1+e)(1+f)); r 19.05 under 2 % along, 5 % across.
    let map = Affine::scale_non_uniform(1.0 / 1.02, 1.0 / 1.05);
    let oval = ok(Loop::Circle(p(0.0, 0.0), 19.05).mapped(map, tolerance::FIT_STRETCH));
    assert_relative_eq!(oval.area(), PI * 19.05 * 19.05 / 1.02 / 1.05, max_relative = 1e-4);
    let b = oval.bounds();
    assert_relative_eq!(b.x1, 18.67647, epsilon = 1e-5);
    assert_relative_eq!(b.y1, 18.14286, epsilon = 1e-5);
    for seg in oval.segs() {
        for i in 0..=20 {
            let q = seg.at(f64::from(i) / 20.0);
            // First-order distance of a point from the ellipse by its own equation.
            let (u, v) = (19.05 / 1.02, 19.05 / 1.05);
            let level = (q.x / u).powi(2) + (q.y / v).powi(2) - 1.0;
            let off = level.abs() / (2.0 * q.x / u / u).hypot(2.0 * q.y / v / v);
            assert!(off < tolerance::FIT_STRETCH + 1e-5, "{off}");
        }
    }
    let even = ok(Loop::Circle(p(1.0, 2.0), 5.0).mapped(Affine::scale(0.5), 1e-3));
    assert_eq!(even, Loop::Circle(p(0.5, 1.0), 2.5));
}

#[test]
fn chords_keep_to_their_side() {
    let slot = ok(obround(p(0.0, 0.0), p(30.0, 0.0), 10.0));
    for (side, more) in [(Side::Outside, true), (Side::Inside, false)] {
        let points = flatten(&slot, tolerance::FLAT, side);
        let chords = ok(Loop::polygon(&points));
        assert_eq!(chords.area() > slot.area(), more);
        for q in &points {
            let off = slot.segs().iter().map(|s| s.distance_to(*q)).fold(f64::INFINITY, f64::min);
            assert!(off <= tolerance::FLAT + 1e-9, "{off}");
        }
    }
}

#[test]
fn poses_keep_area_and_turn_arcs_with_the_mirror() {
    let half = ok(Loop::chain(vec![
        Seg::arc(p(0.0, 0.0), p(10.0, 0.0), 1.0),
        Seg::line(p(10.0, 0.0), p(0.0, 0.0)),
    ]));
    for turn in [0.0, 90.0, 180.0, 270.0, 33.0] {
        for mirrored in [false, true] {
            let pose = Pose { x: 5.0, y: -3.0, turn, mirrored };
            let there = pose.on_loop(&half);
            assert_relative_eq!(there.area(), half.area(), max_relative = 1e-12);
            let again = ok(Loop::chain(there.segs()));
            assert_eq!(again, there, "still counter-clockwise");
            let spot = pose.on_point(p(5.0, -1.0));
            assert_eq!(point_in_loop(spot, &there), Where::Inside);
        }
    }
    assert_eq!(turn_vector(Vec2::new(1.0, 2.0), 450.0), Vec2::new(-2.0, 1.0));
}

#[test]
fn holes_must_lie_inside_and_apart() {
    let plate = ok(rectangle(p(0.0, 0.0), 40.0, 20.0, 0.0));
    let hole = |x: f64, r: f64| Loop::Circle(p(x, 10.0), r);
    let shape = ok(Shape::new(plate.clone(), vec![hole(10.0, 4.0), hole(30.0, 4.0)]));
    assert_relative_eq!(shape.area(), 800.0 - 32.0 * PI, max_relative = 1e-12);
    let out = Shape::new(plate.clone(), vec![hole(1.0, 4.0)]).unwrap_err();
    assert_eq!(out.kind, GeomFaultKind::HoleOutside);
    let meet = Shape::new(plate.clone(), vec![hole(10.0, 4.0), hole(17.0, 4.0)]).unwrap_err();
    assert_eq!(meet.kind, GeomFaultKind::HolesMeet);
    let nested = Shape::new(plate, vec![hole(10.0, 4.0), hole(10.0, 2.0)]).unwrap_err();
    assert_eq!(nested.kind, GeomFaultKind::HolesMeet);
}

#[test]
fn a_guest_in_a_hole_is_apart_from_its_host() {
    let ring =
        ok(Shape::new(Loop::Circle(p(0.0, 0.0), 20.0), vec![Loop::Circle(p(0.0, 0.0), 10.0)]));
    let guest = Shape::plain(Loop::Circle(p(0.0, 0.0), 9.0));
    assert_relative_eq!(shape_distance(&ring, &guest).0, 1.0, epsilon = 1e-12);
    let inside = Shape::plain(Loop::Circle(p(15.0, 0.0), 2.0));
    assert!(shape_distance(&ring, &inside).0 <= 0.0);
}

#[test]
fn a_circle_is_known_by_its_points() {
    let points: Vec<Point> =
        (0..24).map(|i| p(7.0, -2.0) + Vec2::from_angle(f64::from(i) * 0.26) * 3.5).collect();
    let (c, r) = circle_through(&points, 1e-6).unwrap();
    assert_relative_eq!(c.x, 7.0, epsilon = 1e-9);
    assert_relative_eq!(r, 3.5, epsilon = 1e-9);
}

#[test]
fn cubics_become_arcs_within_reach() {
    let curve = cubic(p(0.0, 0.0), p(0.0, 20.0), p(30.0, 20.0), p(30.0, 0.0));
    let segs = arcs_along(&curve, tolerance::FIT_READ);
    assert!(segs.len() < 40, "{}", segs.len());
    for k in 0..=200 {
        let t = f64::from(k) / 200.0;
        let q = p(
            90.0 * (1.0 - t) * t * t + 30.0 * t.powi(3),
            60.0 * (1.0 - t) * (1.0 - t) * t + 60.0 * (1.0 - t) * t * t,
        );
        let off = segs.iter().map(|s| s.distance_to(q)).fold(f64::INFINITY, f64::min);
        assert!(off <= tolerance::FIT_READ * 1.2, "{off}");
    }
}

#[test]
fn shallow_arcs_in_a_row_do_not_seem_to_cross() {
    // A smooth outline of many shallow arcs with nearly equal radii, as comes of fitting a traced skin.
    let n = 48;
    let at = |i: i32| {
        let turn = f64::from(i % n) * std::f64::consts::TAU / f64::from(n);
        Point::ORIGIN + Vec2::from_angle(turn) * (300.0 + 40.0 * (3.0 * turn).sin())
    };
    let tangent = |i: i32| {
        let turn = f64::from(i % n) * std::f64::consts::TAU / f64::from(n);
        let (r, dr) = (300.0 + 40.0 * (3.0 * turn).sin(), 120.0 * (3.0 * turn).cos());
        let (s, c) = turn.sin_cos();
        Vec2::new(dr * c - r * s, dr * s + r * c) * (std::f64::consts::TAU / f64::from(n) / 3.0)
    };
    let mut segs = Vec::new();
    for i in 0..n {
        let (a, b) = (at(i), at(i + 1));
        let curve = cubic(a, a + tangent(i), b - tangent(i + 1), b);
        segs.extend(arcs_along(&curve, tolerance::FIT_READ));
    }
    assert!(Loop::chain(segs).is_ok(), "a smooth blob is a proper outline");
}

/// The 12 mm hole, stretched, then drawn together across and back as for a cut of unequal width.
fn there_and_back() -> [Loop; 3] {
    let hole = Loop::Circle(p(3.0, 4.0), 6.0);
    let stretch = Affine::scale_non_uniform(1.0 / 1.02, 1.0 / 1.05);
    let oval = ok(hole.mapped(stretch, tolerance::FIT_STRETCH));
    let there = Affine::scale_non_uniform(1.0, 0.8);
    let narrow = ok(oval.mapped(there, tolerance::FIT_STRETCH));
    let back = ok(narrow.mapped(there.inverse(), tolerance::FIT_STRETCH));
    [oval, narrow, back]
}

#[test]
fn arcs_are_few() {
    // The same ellipse as above, where pairs of arcs that keep its tangents would need 24.
    let map = Affine::scale_non_uniform(1.0 / 1.02, 1.0 / 1.05);
    let oval = ok(Loop::Circle(p(0.0, 0.0), 19.05).mapped(map, tolerance::FIT_STRETCH));
    assert!(oval.segs().len() <= 16, "{}", oval.segs().len());
    let lengths = there_and_back().map(|l| l.segs().len());
    assert!(lengths[2] < 40, "{lengths:?}");
    // The usual cubic for a quarter of a circle leaves it by 2.7e-4 of its radius (from memory).
    let k = 4.0 / 3.0 * (2.0_f64.sqrt() - 1.0);
    let quarter = cubic(p(20.0, 0.0), p(20.0, 20.0 * k), p(20.0 * k, 20.0), p(0.0, 20.0));
    assert_eq!(arcs_along(&quarter, 0.01).len(), 1);
    let straight = cubic(p(0.0, 0.0), p(3.0, 1.0), p(6.0, 2.0), p(30.0, 10.0));
    assert_eq!(arcs_along(&straight, 0.01), [Seg::line(p(0.0, 0.0), p(30.0, 10.0))]);
}

#[test]
fn fitted_arcs_can_be_offset_and_none_of_them_is_a_sliver() {
    for it in there_and_back() {
        let area = it.area();
        for by in [0.1, -0.1, 0.4, -0.4] {
            let Offset::Whole(made) = ok(offset(&it, by)) else { panic!("one loop") };
            let wanted = area + by * it.length() + by * by * PI;
            assert_relative_eq!(made.area(), wanted, max_relative = 1e-6);
        }
        let shortest = it.segs().iter().map(Seg::length).fold(f64::INFINITY, f64::min);
        assert!(shortest >= 4.0 * tolerance::WRITTEN, "{shortest}");
    }
    let there = Affine::scale_non_uniform(1.0, 0.8);
    for by in [0.1, -0.1, 0.4, -0.4] {
        let [oval, ..] = there_and_back();
        let narrow = ok(oval.mapped(there, tolerance::FIT_STRETCH));
        let Offset::Whole(cut) = ok(offset(&narrow, by)) else { panic!("one loop") };
        let cut = ok(cut.mapped(there.inverse(), tolerance::FIT_STRETCH));
        assert!(cut.segs().len() < 40, "{by}: {}", cut.segs().len());
        let shortest = cut.segs().iter().map(Seg::length).fold(f64::INFINITY, f64::min);
        assert!(shortest > 0.1, "{by}: {shortest}");
    }
}

#[test]
fn curves_and_their_arcs_stay_within_reach_of_each_other() {
    let mut state = 5_u64;
    let mut chance = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(state >> 40).unwrap()) / f64::from(1 << 24)
    };
    for n in 0..300 {
        let mut some = || p(40.0 * chance(), 40.0 * chance());
        let c = [some(), some(), some(), some()];
        let within = [0.01, 0.001][n % 2];
        let segs = arcs_along(&cubic(c[0], c[1], c[2], c[3]), within);
        assert!(segs.len() < 400, "curve {n}: {}", segs.len());
        let on = |t: f64| {
            let s = 1.0 - t;
            let sum = c[0].to_vec2() * (s * s * s)
                + c[1].to_vec2() * (3.0 * s * s * t)
                + c[2].to_vec2() * (3.0 * s * t * t)
                + c[3].to_vec2() * (t * t * t);
            sum.to_point()
        };
        let fine: Vec<Point> = (0..=4000).map(|i| on(f64::from(i) / 4000.0)).collect();
        for q in fine.iter().step_by(7) {
            let off = segs.iter().map(|s| s.distance_to(*q)).fold(f64::INFINITY, f64::min);
            assert!(off <= within * 1.02, "curve {n}: {off}");
        }
        let chords: Vec<Seg> = fine.windows(2).map(|w| Seg::line(w[0], w[1])).collect();
        for seg in &segs {
            let q = seg.at(0.37);
            let off = chords.iter().map(|s| s.distance_to(q)).fold(f64::INFINITY, f64::min);
            assert!(off <= within * 1.05, "curve {n}: {off} from its arc");
        }
        for pair in segs.windows(2) {
            assert!((pair[0].b - pair[1].a).hypot() < 1e-9);
            let (one, two) = (pair[0].direction(1.0), pair[1].direction(0.0));
            let bend = one.cross(two).atan2(one.dot(two)).abs();
            let tiny = pair.iter().any(|s| s.length() < 0.01);
            assert!(bend < 1e-5 || tiny, "curve {n}: bends by {bend}");
        }
    }
}

/// Rounded to the sixth figure, half a side is no longer half a side.
#[test]
fn a_radius_next_to_half_a_side_leaves_no_side() {
    for (radius, length) in [(34.999_999_6, 230.0), (35.0, 70.000_000_3), (1e-9, 230.0)] {
        let made = rectangle(Point::ORIGIN, length, 70.0, radius).unwrap();
        assert!((made.bounds().width() - length).abs() < 1e-5, "{radius}");
    }
    assert!(obround(Point::ORIGIN, Point::new(4e-7, 0.0), 8.0).unwrap().as_circle().is_some());
}
