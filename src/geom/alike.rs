//! Whether a figure is its own mirror image: whether it can be turned over and laid on itself.

use super::flatten::{Side, flatten};
use super::loops::Loop;
use super::seg::Seg;
use super::shape::Shape;
use super::tolerance::FLAT;
use kurbo::{Point, Vec2};

/// What a mirrored figure is compared by, besides its shape: lines on it, and round marks with their diameter.
#[derive(Debug, Clone, Copy)]
pub struct Marks<'a> {
    /// Lines, whichever way they run.
    pub lines: &'a [Seg],
    /// Centres and diameters.
    pub dots: &'a [(Point, f64)],
}

/// Whether a shape with its marks, turned over, can be laid on itself so that nothing stands off by more than
/// `within` (mm).
///
/// # Source
/// A move that lays a bounded figure on itself leaves its centre of gravity where it is; one that turns it over is
/// then a reflection in a line through that centre. The line is one of the two main axes of inertia where these
/// differ; it also halves the angle between any corner and the corner that this one falls on. Elementary geometry.
pub fn is_mirror_alike(shape: &Shape, marks: Marks<'_>, within: f64) -> bool {
    let points = flatten(shape.outline(), FLAT, Side::Inside);
    let (center, main) = balance(&points);
    let features = features(shape, marks, center);
    // The one that fewest others could answer to, far from the centre before near it.
    let answers = |f: &Feature| features.iter().filter(|g| g.may_answer(f, within)).count();
    let far = features.iter().filter(|f| f.reach > within).map(|f| (answers(f), f));
    let anchor = far.min_by(|(n, a), (m, b)| n.cmp(m).then(b.reach.total_cmp(&a.reach)));
    let Some((_, anchor)) = anchor else {
        // Circles about one centre and nothing else.
        return true;
    };
    let halves = features
        .iter()
        .filter(|f| f.may_answer(anchor, within))
        .map(|f| f64::midpoint(f.angle, anchor.angle));
    main.into_iter()
        .flat_map(|angle| [angle, angle + std::f64::consts::FRAC_PI_2])
        .chain(halves)
        .any(|angle| {
            lies_on_itself(shape, marks, Mirror { center, way: Vec2::from_angle(angle) }, within)
        })
}

/// Centre of gravity of a polygon, and the angle of a main axis where it has one rather than many.
fn balance(points: &[Point]) -> (Point, Option<f64>) {
    let origin = points.first().copied().unwrap_or(Point::ORIGIN);
    let next = points.iter().cycle().skip(1);
    let (mut area, mut first) = (0.0, Vec2::ZERO);
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (a, b) in points.iter().zip(next) {
        let (a, b) = (*a - origin, *b - origin);
        let cross = a.cross(b);
        area += cross / 2.0;
        first += (a + b) * (cross / 6.0);
        xx += cross * (a.x * a.x + a.x * b.x + b.x * b.x) / 12.0;
        yy += cross * (a.y * a.y + a.y * b.y + b.y * b.y) / 12.0;
        xy += cross * (a.x * b.y + 2.0 * a.x * a.y + 2.0 * b.x * b.y + b.x * a.y) / 24.0;
    }
    if area.abs() < f64::EPSILON {
        return (origin, None);
    }
    let c = first / area;
    let (xx, yy, xy) = (xx - area * c.x * c.x, yy - area * c.y * c.y, xy - area * c.x * c.y);
    let uneven = (xx - yy).hypot(2.0 * xy) > 1e-4 * (xx + yy).abs();
    (origin + c, uneven.then(|| (2.0 * xy).atan2(xx - yy) / 2.0))
}

/// A point that another of its sort must fall on.
struct Feature {
    sort: Sort,
    reach: f64,
    angle: f64,
}

#[derive(Clone, Copy)]
enum Sort {
    /// A corner of the outline or of a hole, or the end of a line.
    Corner(usize),
    /// The centre of something round, with its radius.
    Round(usize, f64),
}

impl Feature {
    fn may_answer(&self, other: &Feature, within: f64) -> bool {
        let sort = match (self.sort, other.sort) {
            (Sort::Corner(a), Sort::Corner(b)) => a == b,
            (Sort::Round(a, r), Sort::Round(b, s)) => a == b && (r - s).abs() <= within,
            _ => false,
        };
        sort && (self.reach - other.reach).abs() <= within
    }
}

fn features(shape: &Shape, marks: Marks<'_>, center: Point) -> Vec<Feature> {
    let feature = |p: Point, sort: Sort| {
        let ray = p - center;
        Feature { sort, reach: ray.hypot(), angle: ray.atan2() }
    };
    let mut all = Vec::new();
    for (n, it) in shape.loops().enumerate() {
        match it {
            Loop::Circle(c, r) => all.push(feature(*c, Sort::Round(n.min(1), *r))),
            Loop::Chain(segs) => {
                all.extend(segs.iter().map(|s| feature(s.a, Sort::Corner(n.min(1)))));
            }
        }
    }
    all.extend(marks.lines.iter().flat_map(|s| [s.a, s.b]).map(|p| feature(p, Sort::Corner(2))));
    all.extend(marks.dots.iter().map(|(p, d)| feature(*p, Sort::Round(2, *d))));
    all
}

/// A reflection in a line.
#[derive(Clone, Copy)]
struct Mirror {
    center: Point,
    way: Vec2,
}

impl Mirror {
    fn of(self, p: Point) -> Point {
        let ray = p - self.center;
        self.center + self.way * (2.0 * self.way.dot(ray)) - ray
    }
}

fn lies_on_itself(shape: &Shape, marks: Marks<'_>, mirror: Mirror, within: f64) -> bool {
    let holes = shape.holes();
    let dot = |(p, d): &(Point, f64)| {
        let q = mirror.of(*p);
        marks.dots.iter().any(|(o, e)| (*o - q).hypot() <= within && (e - d).abs() <= within)
    };
    let line = |s: &Seg| {
        let (a, b) = (mirror.of(s.a), mirror.of(s.b));
        let on = |o: &Seg, a: Point, b: Point| {
            (o.a - a).hypot() <= within && (o.b - b).hypot() <= within
        };
        marks.lines.iter().any(|o| on(o, a, b) || on(o, b, a))
    };
    loop_lies_on(shape.outline(), std::slice::from_ref(shape.outline()), mirror, within)
        && holes.iter().all(|hole| loop_lies_on(hole, holes, mirror, within))
        && marks.dots.iter().all(dot)
        && marks.lines.iter().all(line)
}

/// Whether a loop, mirrored, runs along one of the others.
///
/// Ends and inner points of its pieces are tried. A notch between two of them in the other loop is not missed: that
/// loop is tried too, and its own ends then fall beside the first.
fn loop_lies_on(it: &Loop, others: &[Loop], mirror: Mirror, within: f64) -> bool {
    if let Loop::Circle(c, r) = it {
        let q = mirror.of(*c);
        let same = |o: &Loop| {
            o.as_circle().is_some_and(|(d, s)| (d - q).hypot() <= within && (s - r).abs() <= within)
        };
        return others.iter().any(same);
    }
    let points: Vec<Point> =
        it.segs().iter().flat_map(|s| [0.0, 0.25, 0.5, 0.75].map(|t| mirror.of(s.at(t)))).collect();
    others.iter().filter(|o| o.as_circle().is_none()).any(|other| {
        let segs = other.segs();
        points.iter().all(|p| segs.iter().any(|s| s.distance_to(*p) <= within))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Pose, obround, rectangle, rounded_polygon};

    fn circle(x: f64, y: f64, r: f64) -> Loop {
        Loop::circle(Point::new(x, y), r).unwrap()
    }

    /// At many turns, so that nothing hangs on the axes.
    fn alike(shape: &Shape, lines: &[Seg], dots: &[(Point, f64)]) -> bool {
        let mut found: Option<bool> = None;
        for (turn, mirrored) in [(0.0, false), (90.0, true), (17.3, false), (201.7, true)] {
            let pose = Pose { x: 31.0, y: -7.0, turn, mirrored };
            let lines: Vec<Seg> = lines.iter().map(|s| pose.on_seg(s)).collect();
            let dots: Vec<_> = dots.iter().map(|(p, d)| (pose.on_point(*p), *d)).collect();
            let marks = Marks { lines: &lines, dots: &dots };
            let now = is_mirror_alike(&shape.posed(&pose), marks, 0.05);
            assert!(found.is_none_or(|before| before == now), "at {turn}");
            found = Some(now);
        }
        found.unwrap()
    }

    fn polygon(points: &[(f64, f64)]) -> Shape {
        let points: Vec<Point> = points.iter().map(|p| Point::from(*p)).collect();
        Shape::plain(Loop::polygon(&points).unwrap())
    }

    #[test]
    fn what_has_an_axis_is_alike() {
        assert!(alike(&Shape::plain(circle(0.0, 0.0, 10.0)), &[], &[]));
        let ring = Shape::new(circle(0.0, 0.0, 10.0), vec![circle(0.0, 0.0, 4.0)]).unwrap();
        assert!(alike(&ring, &[], &[]));
        // One hole out of the middle leaves one axis.
        let eye = Shape::new(circle(0.0, 0.0, 10.0), vec![circle(3.0, 2.0, 4.0)]).unwrap();
        assert!(alike(&eye, &[], &[]));
        let plate = rectangle(Point::ORIGIN, 40.0, 20.0, 3.0).unwrap();
        let row = vec![circle(5.0, 10.0, 1.0), circle(12.0, 10.0, 1.0), circle(33.0, 10.0, 2.0)];
        assert!(alike(&Shape::new(plate.clone(), row).unwrap(), &[], &[]));
        assert!(alike(
            &Shape::plain(obround(Point::ORIGIN, Point::new(9.0, 4.0), 3.0).unwrap()),
            &[],
            &[]
        ));
        // A square has four axes and no main one; its diagonal is one of them.
        let square = rectangle(Point::ORIGIN, 20.0, 20.0, 0.0).unwrap();
        assert!(alike(&Shape::new(square, vec![circle(4.0, 4.0, 1.0)]).unwrap(), &[], &[]));
        assert!(alike(&polygon(&[(0.0, 0.0), (30.0, 0.0), (24.0, 8.0), (6.0, 8.0)]), &[], &[]));
        // A kite, and a side with a corner on it that is none.
        assert!(alike(&polygon(&[(0.0, 0.0), (8.0, -5.0), (11.0, 0.0), (8.0, 5.0)]), &[], &[]));
        assert!(alike(
            &polygon(&[(0.0, 0.0), (7.0, 0.0), (20.0, 0.0), (20.0, 9.0), (0.0, 9.0)]),
            &[],
            &[]
        ));
    }

    #[test]
    fn what_has_a_left_and_a_right_is_not() {
        let plate = rectangle(Point::ORIGIN, 40.0, 20.0, 3.0).unwrap();
        let one = |x, y| Shape::new(plate.clone(), vec![circle(x, y, 1.0)]).unwrap();
        assert!(!alike(&one(5.0, 6.0), &[], &[]));
        assert!(alike(&one(20.0, 6.0), &[], &[]));
        // Two holes that a half turn changes: alike turned, not alike turned over.
        let pin = Shape::new(plate.clone(), vec![circle(5.0, 6.0, 1.0), circle(35.0, 14.0, 1.0)]);
        assert!(!alike(&pin.unwrap(), &[], &[]));
        assert!(
            !alike(&polygon(&[(0.0, 0.0), (30.0, 0.0), (36.0, 8.0), (6.0, 8.0)]), &[], &[]),
            "a slanted box"
        );
        assert!(!alike(
            &polygon(&[(0.0, 0.0), (9.0, 0.0), (9.0, 3.0), (3.0, 3.0), (3.0, 20.0), (0.0, 20.0)]),
            &[],
            &[]
        ));
        // A disk with three holes at unequal angles.
        let three = [(10.0f64, 2.0), (90.0, 2.0), (215.0, 2.0)]
            .map(|(a, r)| circle(15.0 * a.to_radians().cos(), 15.0 * a.to_radians().sin(), r));
        let flange = Shape::new(circle(0.0, 0.0, 20.0), three.to_vec()).unwrap();
        assert!(!alike(&flange, &[], &[]));
        // A pinwheel: turned by a quarter it is alike, turned over it is not.
        let wheel: Vec<Point> = (0..4)
            .flat_map(|k| {
                [(10.0, 0.0), (10.0, 6.0), (3.0, 3.0)]
                    .map(|p| crate::geom::turn_vector(p.into(), 90.0 * f64::from(k)).to_point())
            })
            .collect();
        assert!(!alike(&Shape::plain(Loop::polygon(&wheel).unwrap()), &[], &[]));
    }

    #[test]
    fn marks_count_and_a_twentieth_does_not() {
        let plate = Shape::plain(rectangle(Point::ORIGIN, 40.0, 20.0, 0.0).unwrap());
        let fold = |x: f64, y: f64| Seg::line(Point::new(0.0, y), Point::new(x, y));
        assert!(alike(&plate, &[fold(40.0, 6.0)], &[]));
        assert!(!alike(&plate, &[fold(30.0, 6.0)], &[]));
        assert!(alike(&plate, &[], &[(Point::new(20.0, 3.0), 1.0)]));
        assert!(!alike(&plate, &[], &[(Point::new(21.0, 3.0), 1.0)]));
        assert!(alike(&plate, &[], &[(Point::new(5.0, 3.0), 1.0), (Point::new(35.01, 3.0), 1.0)]));
        assert!(!alike(&plate, &[], &[(Point::new(5.0, 3.0), 1.0), (Point::new(35.0, 3.0), 2.0)]));
    }

    #[test]
    fn rounded_corners_are_seen() {
        let points = [(0.0, 0.0), (30.0, 0.0), (30.0, 12.0), (0.0, 12.0)].map(Point::from);
        assert!(alike(&Shape::plain(rounded_polygon(&points, 4.0).unwrap()), &[], &[]));
        // One corner round, three sharp: no axis, as the sides differ.
        let one = vec![
            Seg::line((0.0, 0.0).into(), (30.0, 0.0).into()),
            Seg::line((30.0, 0.0).into(), (30.0, 8.0).into()),
            Seg::arc((30.0, 8.0).into(), (26.0, 12.0).into(), (std::f64::consts::PI / 8.0).tan()),
            Seg::line((26.0, 12.0).into(), (0.0, 12.0).into()),
            Seg::line((0.0, 12.0).into(), (0.0, 0.0).into()),
        ];
        assert!(!alike(&Shape::plain(Loop::chain(one).unwrap()), &[], &[]));
    }
}
