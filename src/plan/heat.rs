//! Heat: what lies near by is cut later, so that thin leather cools in between.
//!
//! Contours that lie within reach of one another get different colours, as the fields of a chessboard do, what lies
//! inside before what holds it. Each colour is cut in the shortest order, one colour after the other. Where that is not
//! enough, waits fill the rest.

use super::order::{Stop, order};
use crate::geom::{Point, loop_distance};

/// How heat is given time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// Contours nearer than this warm each other (mm).
    pub reach: f64,
    /// Between two such contours there must be so much time (s).
    pub least: f64,
}

/// An order that gives heat time.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Indices in cutting order, each with its start.
    pub order: Vec<(usize, Point)>,
    /// How many colours it has; 1 is the plain order.
    pub colours: usize,
    /// Waits before each cut, in cutting order (s).
    pub waits: Vec<f64>,
    /// The least time between two contours within reach, without any wait (s); none where no two lie so near.
    pub least_gap: Option<f64>,
}

impl Spread {
    /// All waits (s).
    pub fn waiting(&self) -> f64 {
        self.waits.iter().sum()
    }
}

/// The order that takes the least time with its waits: the plain one, or one by colours.
///
/// `cut` gives the time that a contour takes, `travel` that of a way between two (mm to s).
///
/// # Units
/// Millimetres and seconds.
pub fn spread(
    stops: &[Stop],
    from: Point,
    cooling: &Cooling,
    cut: &dyn Fn(usize) -> f64,
    travel: &dyn Fn(f64) -> f64,
) -> Spread {
    let clock =
        Clock { from, cooling: *cooling, near: neighbours(stops, cooling.reach), cut, travel };
    let base = order(stops, from);
    let plain = clock.timed(base.clone(), 1);
    let colour = colours(stops, &clock.near);
    let count = colour.iter().max().map_or(1, |most| most + 1);
    if count == 1 || plain.0.waiting() <= 0.0 {
        return plain.0;
    }
    // Either every colour goes its own shortest way, or all go the way of the plain order, one after the other.
    let mut own = Vec::with_capacity(stops.len());
    let mut along = Vec::with_capacity(stops.len());
    for c in 0..count {
        let of_colour: Vec<usize> = (0..stops.len()).filter(|i| colour[*i] == c).collect();
        let alone: Vec<Stop> = of_colour.iter().map(|i| stops[*i].clone()).collect();
        // Every colour begins at the same end, where the one before it has cooled the longest.
        own.extend(order(&alone, from).into_iter().map(|(i, start)| (of_colour[i], start)));
        along.extend(base.iter().filter(|(i, _)| colour[*i] == c).copied());
    }
    [own, along]
        .into_iter()
        .map(|order| clock.timed(order, count))
        .fold(plain, |best, next| if next.1 < best.1 { next } else { best })
        .0
}

/// For each contour those that lie within reach of its line.
fn neighbours(stops: &[Stop], reach: f64) -> Vec<Vec<usize>> {
    let boxes: Vec<_> = stops.iter().map(|s| s.line.bounds()).collect();
    let mut by_left: Vec<usize> = (0..stops.len()).collect();
    by_left.sort_by(|a, b| boxes[*a].x0.total_cmp(&boxes[*b].x0).then(a.cmp(b)));
    let mut near = vec![Vec::new(); stops.len()];
    for (k, &i) in by_left.iter().enumerate() {
        let wide = boxes[i].inflate(reach, reach);
        for &j in &by_left[k + 1..] {
            if boxes[j].x0 > wide.x1 {
                break;
            }
            if wide.overlaps(boxes[j]) && loop_distance(&stops[i].line, &stops[j].line).0 < reach {
                near[i].push(j);
                near[j].push(i);
            }
        }
    }
    near
}

/// A colour for each contour: none that lies near has the same, and what lies inside has a lower one.
fn colours(stops: &[Stop], near: &[Vec<usize>]) -> Vec<usize> {
    let holders = super::order::holders(stops);
    let mut inside = vec![Vec::new(); stops.len()];
    for (i, holder) in holders.iter().enumerate() {
        if let Some(holder) = holder {
            inside[*holder].push(i);
        }
    }
    // What lies inside is smaller; of one size from left to right, row by row, as on a grid.
    let mut turns: Vec<usize> = (0..stops.len()).collect();
    let areas: Vec<f64> = stops.iter().map(|s| s.line.area()).collect();
    let corner = |i: usize| stops[i].line.bounds().center();
    turns.sort_by(|a, b| {
        let (p, q) = (corner(*a), corner(*b));
        areas[*a].total_cmp(&areas[*b]).then(p.y.total_cmp(&q.y)).then(p.x.total_cmp(&q.x))
    });
    let mut colour: Vec<Option<usize>> = vec![None; stops.len()];
    for i in turns {
        let first = inside[i].iter().filter_map(|j| colour[*j]).map(|c| c + 1).max().unwrap_or(0);
        let taken: Vec<usize> = near[i].iter().filter_map(|j| colour[*j]).collect();
        colour[i] = (first..=first + taken.len()).find(|c| !taken.contains(c));
    }
    colour.into_iter().map(Option::unwrap_or_default).collect()
}

/// Tells how long an order takes.
struct Clock<'a> {
    from: Point,
    cooling: Cooling,
    near: Vec<Vec<usize>>,
    cut: &'a dyn Fn(usize) -> f64,
    travel: &'a dyn Fn(f64) -> f64,
}

impl Clock<'_> {
    /// An order with its waits and its least gap, and how long it takes.
    fn timed(&self, order: Vec<(usize, Point)>, colours: usize) -> (Spread, f64) {
        let mut ended: Vec<Option<(f64, f64)>> = vec![None; self.near.len()];
        let (mut at, mut bare, mut clock) = (self.from, 0.0, 0.0);
        let mut least_gap: Option<f64> = None;
        let mut waits = Vec::with_capacity(order.len());
        for &(i, start) in &order {
            let way = (self.travel)((start - at).hypot());
            bare += way;
            clock += way;
            let mut wait: f64 = 0.0;
            for (bare_end, end) in self.near[i].iter().filter_map(|j| ended[*j]) {
                least_gap = Some(least_gap.map_or(bare - bare_end, |gap| gap.min(bare - bare_end)));
                wait = wait.max(end + self.cooling.least - clock);
            }
            waits.push(wait);
            let own = (self.cut)(i);
            bare += own;
            clock += wait + own;
            ended[i] = Some((bare, clock));
            at = start;
        }
        (Spread { order, colours, waits, least_gap }, clock)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Loop;

    /// Disks on a grid, each with a hole.
    fn disks(count: u32) -> Vec<Stop> {
        let circle = |x, y, r| Stop { line: Loop::Circle(Point::new(x, y), r), anywhere: true };
        let places = (0..count).flat_map(|i| (0..count).map(move |j| (i, j)));
        places
            .flat_map(|(i, j)| {
                let (x, y) = (25.0 * f64::from(i), 25.0 * f64::from(j));
                [circle(x, y, 10.0), circle(x, y, 3.0)]
            })
            .collect()
    }

    /// The least time from the end of a cut to the start of one near it, by trying all pairs.
    fn least_gap(stops: &[Stop], spread: &Spread, reach: f64, waits: bool) -> f64 {
        let mut clock = 0.0;
        let mut at = Point::ORIGIN;
        let mut spans: Vec<(usize, f64, f64)> = Vec::new();
        for ((i, start), wait) in spread.order.iter().zip(&spread.waits) {
            clock += (*start - at).hypot() / 100.0 + if waits { *wait } else { 0.0 };
            spans.push((*i, clock, clock + 2.0));
            clock += 2.0;
            at = *start;
        }
        let mut least = f64::INFINITY;
        for (k, (i, from, _)) in spans.iter().enumerate() {
            for (j, _, to) in &spans[..k] {
                if loop_distance(&stops[*i].line, &stops[*j].line).0 < reach {
                    least = least.min(from - to);
                }
            }
        }
        least
    }

    #[test]
    fn near_ones_are_cut_far_apart_in_time() {
        let stops = disks(8);
        let cooling = Cooling { reach: 8.0, least: 20.0 };
        let found = spread(&stops, Point::ORIGIN, &cooling, &|_| 2.0, &|way| way / 100.0);
        // Holes, then the outlines like the fields of a chessboard.
        assert_eq!(found.colours, 3);
        assert_eq!(found.order.len(), stops.len());
        let bare = least_gap(&stops, &found, 8.0, false);
        assert!((found.least_gap.unwrap() - bare).abs() < 1e-9, "{found:?} {bare}");
        let with_waits = least_gap(&stops, &found, 8.0, true);
        assert!(with_waits >= 20.0 - 1e-9, "{with_waits}");
        // The plain order cuts an outline just after its hole, and would have to wait most of the time.
        let clock = Clock {
            from: Point::ORIGIN,
            cooling,
            near: neighbours(&stops, 8.0),
            cut: &|_| 2.0,
            travel: &|way| way / 100.0,
        };
        let plain = clock.timed(order(&stops, Point::ORIGIN), 1).0;
        assert!(least_gap(&stops, &plain, 8.0, false) < 1.0);
        assert!(
            found.waiting() < 0.05 * plain.waiting(),
            "{} {}",
            found.waiting(),
            plain.waiting()
        );
        // What lies inside still comes first.
        let place = |i: usize| found.order.iter().position(|(j, _)| *j == i);
        assert!((0..stops.len()).step_by(2).all(|i| place(i + 1) < place(i)));
    }

    #[test]
    fn nothing_near_needs_no_colours() {
        let stops = disks(4);
        let cooling = Cooling { reach: 4.0, least: 20.0 };
        let found = spread(&stops, Point::ORIGIN, &cooling, &|_| 2.0, &|way| way / 100.0);
        assert_eq!((found.colours, found.least_gap), (1, None));
        assert!(found.waiting() <= 0.0);
        let one = spread(
            &stops[..2],
            Point::ORIGIN,
            &Cooling { reach: 8.0, ..cooling },
            &|_| 2.0,
            &|_| 0.5,
        );
        // A disk and its hole alone can only wait.
        assert_eq!(one.least_gap, Some(0.5));
        assert!((one.waiting() - 19.5).abs() < 1e-9, "{one:?}");
    }
}
