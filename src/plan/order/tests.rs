//! The order: nothing before what lies in it, and how near the way comes to a bound of its own.

use super::starts::Track;
use super::*;
use crate::geom::{Seg, Vec2, rectangle};

fn circle(x: f64, y: f64, r: f64) -> Stop {
    Stop { line: Loop::Circle(Point::new(x, y), r), anywhere: true }
}

/// Whole numbers by chance, the same every time.
struct Chance(u64);

impl Chance {
    fn share(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        #[allow(clippy::cast_precision_loss, reason = "a share")]
        let share = (self.0 >> 40) as f64 / (1_u64 << 24) as f64;
        share
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}

/// Disks with two or three holes each, on a staggered grid or anywhere.
fn disks(count: usize, grid: bool) -> Vec<Stop> {
    let mut chance = Chance(5);
    let mut middles: Vec<Point> = Vec::new();
    #[allow(clippy::cast_precision_loss, reason = "a count")]
    let across = (count as f64 * 1.6).sqrt().ceil();
    while middles.len() < count {
        #[allow(clippy::cast_precision_loss, reason = "a count")]
        let n = middles.len() as f64;
        let p = if grid {
            let (row, column) = ((n / across).floor(), n % across);
            Point::new(30.0 * column + if row % 2.0 > 0.5 { 15.0 } else { 0.0 }, 30.0 * row)
        } else {
            let side = 23.7 * across;
            Point::new(chance.between(0.0, 1.26 * side), chance.between(0.0, side / 1.26))
        };
        if middles.iter().all(|q| (*q - p).hypot() >= 23.0) {
            middles.push(p);
        }
    }
    let mut stops = Vec::new();
    for (n, middle) in middles.iter().enumerate() {
        stops.push(circle(middle.x, middle.y, 9.0));
        let holes = 2 + usize::from(n % 8 == 0);
        let first = chance.between(0.0, 6.0);
        for k in 0..holes {
            #[allow(clippy::cast_precision_loss, reason = "a count")]
            let at = *middle + Vec2::from_angle(first + 2.1 * k as f64) * 5.0;
            stops.push(circle(at.x, at.y, 1.5));
        }
    }
    stops
}

/// Least distance of two circles' lines.
fn apart(a: &Stop, b: &Stop) -> f64 {
    let (Loop::Circle(c, r), Loop::Circle(d, s)) = (&a.line, &b.line) else { panic!("no circles") };
    let far = (*c - *d).hypot();
    (far - r - s).max((r - s).abs() - far).max(0.0)
}

/// A bound of Held and Karp for a way from a point by all stops: trees with weights on the stops, which are raised
/// where a tree branches and lowered where it ends.
///
/// # Source
/// M. Held, R. M. Karp, The traveling-salesman problem and minimum spanning trees, 1970.
fn bound(stops: &[Stop], from: Point, rounds: usize) -> f64 {
    // The way's own beginning is a circle of no size, and a last stop is at no distance from all: it closes the tour.
    let mut all = stops.to_vec();
    all.push(circle(from.x, from.y, 0.0));
    let n = all.len();
    let far: Vec<Vec<f64>> =
        all.iter().map(|a| all.iter().map(|b| apart(a, b)).collect()).collect();
    let mut weights = vec![0.0; n];
    let (mut best, mut step): (f64, f64) = (0.0, 2.0);
    for round in 0..rounds {
        // A tree by Prim, and for the closing stop one branch to the beginning and the cheapest to another.
        let mut degree = vec![0.0; n];
        let mut cost = vec![(f64::INFINITY, n - 1); n];
        let mut done = vec![false; n];
        let (mut at, mut whole) = (n - 1, 0.0);
        for _ in 1..n {
            done[at] = true;
            let mut next = (f64::INFINITY, 0);
            for j in (0..n).filter(|j| !done[*j]) {
                let way = far[at][j] + weights[at] + weights[j];
                if way < cost[j].0 {
                    cost[j] = (way, at);
                }
                if cost[j].0 < next.0 {
                    next = (cost[j].0, j);
                }
            }
            at = next.1;
            whole += next.0;
            degree[at] += 1.0;
            degree[cost[at].1] += 1.0;
        }
        let last = (0..n - 1).min_by(|a, b| weights[*a].total_cmp(&weights[*b])).unwrap();
        whole += weights[n - 1] + weights[last];
        degree[n - 1] += 1.0;
        degree[last] += 1.0;
        let value = whole - 2.0 * weights.iter().sum::<f64>();
        best = best.max(value);
        let off: f64 = degree.iter().map(|d: &f64| (d - 2.0).powi(2)).sum();
        if off < 0.5 {
            break;
        }
        if round % 20 == 19 {
            step *= 0.9;
        }
        let pace = step * (1.1 * best.max(1.0) - value).max(0.01 * best) / off;
        for (weight, degree) in weights.iter_mut().zip(&degree) {
            *weight += pace * (degree - 2.0);
        }
    }
    best
}

/// Checks an order, gives its way.
fn proven(stops: &[Stop], from: Point) -> f64 {
    let done = order(stops, from);
    let holders = holders(stops);
    let mut place = vec![usize::MAX; stops.len()];
    for (k, (i, start)) in done.iter().enumerate() {
        assert_eq!(place[*i], usize::MAX, "{i} comes twice");
        place[*i] = k;
        let off =
            stops[*i].line.segs().iter().map(|s| s.distance_to(*start)).fold(f64::MAX, f64::min);
        assert!(off < 1e-6, "{i} begins {off} off its line");
    }
    assert_eq!(done.len(), stops.len());
    for (i, holder) in holders.iter().enumerate() {
        assert!(holder.is_none_or(|h| place[i] < place[h]), "{i} after {holder:?}");
    }
    let mut at = from;
    let mut way = 0.0;
    for (_, start) in done {
        way += (start - at).hypot();
        at = start;
    }
    way
}

#[test]
fn what_lies_inside_comes_first() {
    let contours: Vec<Stop> = [(0.0, 20.0), (0.0, 10.0), (0.0, 5.0), (0.0, 2.0), (100.0, 5.0)]
        .map(|(x, r)| circle(x, 0.0, r))
        .to_vec();
    assert_eq!(holders(&contours), [None, Some(0), Some(1), Some(2), None]);
    let done: Vec<usize> =
        order(&contours, Point::new(-50.0, 0.0)).into_iter().map(|(i, _)| i).collect();
    assert_eq!(done, vec![3, 2, 1, 0, 4]);
}

#[test]
fn layers_stay_together_in_drawings() {
    let cut = |piece, x: f64, r: f64, outside, depth| Contour {
        piece,
        line: Loop::Circle(Point::new(x, 0.0), r),
        outside,
        depth,
    };
    let contours = vec![
        cut(0, 0.0, 20.0, true, 0),
        cut(0, 0.0, 10.0, false, 0),
        cut(1, 0.0, 5.0, true, 1),
        cut(1, 0.0, 2.0, false, 1),
        cut(2, 100.0, 5.0, true, 0),
        cut(2, 100.0, 2.0, false, 0),
    ];
    let done: Vec<usize> =
        order_by_layer(&contours, Point::new(-50.0, 0.0)).into_iter().map(|(i, _)| i).collect();
    assert_eq!(done, vec![3, 2, 1, 5, 4, 0]);
}

#[test]
fn the_way_is_near_its_bound() {
    for grid in [true, false] {
        let stops = disks(48, grid);
        let way = proven(&stops, Point::ORIGIN);
        let bound = bound(&stops, Point::ORIGIN, 600);
        assert!(way >= bound - 1e-6, "a bound that is none: {way} {bound}");
        assert!(way <= 1.45 * bound, "{grid}: {way} {bound}");
    }
}

#[test]
fn the_bound_is_one() {
    // Source: no way by four corners of a square of 10 is shorter than three sides.
    let corners = [(0.0, 10.0), (10.0, 10.0), (10.0, 0.0)].map(|(x, y)| circle(x, y, 0.0));
    let bound = bound(&corners, Point::ORIGIN, 300);
    assert!((29.0..=30.0 + 1e-9).contains(&bound), "{bound}");
}

#[test]
fn starts_at_ends_or_anywhere() {
    let mut stop =
        Stop { line: rectangle(Point::ORIGIN, 10.0, 10.0, 0.0).unwrap(), anywhere: false };
    let from = Point::new(4.0, -5.0);
    assert_eq!(order(std::slice::from_ref(&stop), from), [(0, Point::ORIGIN)]);
    stop.anywhere = true;
    assert_eq!(order(&[stop], from), [(0, Point::new(4.0, 0.0))]);
}

#[test]
fn the_best_start_between_two_points() {
    // Source: a ray is thrown back at its own angle; here by trying a hundred thousand points.
    let mut chance = Chance(9);
    let arc = Loop::chain(vec![
        Seg::arc(Point::new(8.0, 0.0), Point::new(-8.0, 0.0), 0.7),
        Seg::line(Point::new(-8.0, 0.0), Point::new(-8.0, -6.0)),
        Seg::line(Point::new(-8.0, -6.0), Point::new(8.0, 0.0)),
    ])
    .unwrap();
    for line in [Loop::Circle(Point::ORIGIN, 7.0), arc] {
        let track = Track::of(&Stop { line: line.clone(), anywhere: true });
        for _ in 0..60 {
            let mut point = || Point::new(chance.between(-20.0, 20.0), chance.between(-20.0, 20.0));
            let (a, b) = (point(), point());
            let cost = |p: Point| (p - a).hypot() + (b - p).hypot();
            let found = cost(track.between(line.start(), a, Some(b)));
            let tried = (0..=20_000).flat_map(|i| {
                let share = f64::from(i) / 20_000.0;
                line.segs().into_iter().map(move |s| s.at(share))
            });
            let best = tried.map(cost).fold(f64::INFINITY, f64::min);
            assert!(found <= best + 2e-3, "{a:?} {b:?}: {found} {best}");
        }
    }
}

#[test]
fn ten_thousand_contours_have_an_order() {
    let stops = disks(3200, true);
    assert!(stops.len() >= 10_000, "{}", stops.len());
    let way = proven(&stops, Point::ORIGIN);
    // Far below a way that goes to every middle.
    #[allow(clippy::cast_precision_loss, reason = "a count")]
    let count = stops.len() as f64;
    assert!(way < 13.0 * count, "{way}");
}

#[test]
fn the_order_repeats() {
    let stops = disks(60, false);
    assert_eq!(order(&stops, Point::ORIGIN), order(&stops, Point::ORIGIN));
    assert!(order(&[], Point::ORIGIN).is_empty());
}
