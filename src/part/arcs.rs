//! Outlines made of circles: the lens that two of them share, and the body of a flange with its ears.

use crate::geom::{GeomFault, Loop, Point, Seg, Vec2, tolerance::SAME_POINT};
use std::f64::consts::PI;

/// The counter-clockwise arc from `a` over `middle` to `b`, in two pieces where it is more than half a turn.
fn arc(a: Point, middle: Point, b: Point, sweep: f64) -> Vec<Seg> {
    if sweep > PI {
        let bulge = (sweep / 8.0).tan();
        return vec![Seg::arc(a, middle, bulge), Seg::arc(middle, b, bulge)];
    }
    vec![Seg::arc(a, b, (sweep / 4.0).tan())]
}

/// What two circles have in common: a lens, or the smaller circle where it lies wholly in the other; nothing where
/// they lie apart or only touch.
///
/// # Source
/// The common chord of two circles: elementary geometry.
pub(super) fn lens(one: (Point, f64), two: (Point, f64)) -> Option<Loop> {
    let ((c, r), (d, s)) = (one, two);
    let ray = d - c;
    let between = ray.hypot();
    if between >= r + s - SAME_POINT {
        return None;
    }
    if between <= (r - s).abs() + SAME_POINT {
        let (center, radius) = if r <= s { one } else { two };
        return Loop::circle(center, radius).ok();
    }
    let way = ray / between;
    let across = Vec2::new(-way.y, way.x);
    let along = (between * between + (r - s) * (r + s)) / (2.0 * between);
    let half = ((r - along) * (r + along)).max(0.0).sqrt();
    let foot = c + way * along;
    let (right, left) = (foot - across * half, foot + across * half);
    let mut segs = arc(right, c + way * r, left, 2.0 * half.atan2(along));
    segs.extend(arc(left, d - way * s, right, 2.0 * half.atan2(between - along)));
    Loop::chain(segs).ok()
}

/// The area that two circles have in common (mm²).
///
/// # Source
/// Two segments on the common chord, r² (α - sin α cos α) each: elementary geometry.
pub(super) fn shared_area(one: (Point, f64), two: (Point, f64)) -> f64 {
    let ((c, r), (d, s)) = (one, two);
    let between = (d - c).hypot();
    if between >= r + s - SAME_POINT {
        return 0.0;
    }
    if between <= (r - s).abs() + SAME_POINT {
        return PI * r.min(s).powi(2);
    }
    let along = (between * between + (r - s) * (r + s)) / (2.0 * between);
    let segment = |radius: f64, along: f64| {
        let angle = (along / radius).clamp(-1.0, 1.0).acos();
        radius * radius * (angle - angle.sin() * angle.cos())
    };
    segment(r, along) + segment(s, between - along)
}

/// A flange: a round body with ears set evenly round it, the first along x.
#[derive(Debug, Clone, Copy)]
pub(super) struct Flange {
    /// Radius of the body, whose centre is the origin (mm).
    pub(super) body: f64,
    /// Number of ears.
    pub(super) ears: u32,
    /// Radius of an ear (mm).
    pub(super) ear: f64,
    /// From the body's centre to an ear's (mm).
    pub(super) at: f64,
}

impl Flange {
    /// Directions of the ears (radians).
    fn ways(self) -> impl Iterator<Item = f64> {
        (0..self.ears).map(move |k| 2.0 * PI * f64::from(k) / f64::from(self.ears))
    }

    /// Centres of the ears.
    pub(super) fn centers(self) -> Vec<Point> {
        self.ways().map(|way| (Vec2::from_angle(way) * self.at).to_point()).collect()
    }

    /// The tightest string round the body and its ears.
    ///
    /// An ear is touched over the directions in which it reaches farther than the body, `at` cos φ + `ear` against
    /// `body`; but never beyond half the way to the next ear, where the string runs from ear to ear.
    ///
    /// # Errors
    /// As [`Loop::chain`]; the caller sees to it that no circle holds another.
    ///
    /// # Source
    /// Support function of a circle: elementary geometry.
    pub(super) fn outline(self) -> Result<Loop, GeomFault> {
        let half_way = PI / f64::from(self.ears.max(1));
        let reach = ((self.body - self.ear) / self.at).clamp(-1.0, 1.0).acos().min(half_way);
        let on = |center: Point, radius: f64, way: f64| center + Vec2::from_angle(way) * radius;
        // Corner points are worked out once, so that line and arc meet to the last bit.
        let mut stops: Vec<(Point, Point, f64, Point)> = Vec::new();
        let mut take = |center: Point, radius: f64, from: f64, to: f64| {
            stops.push((
                on(center, radius, from),
                on(center, radius, f64::midpoint(from, to)),
                to - from,
                on(center, radius, to),
            ));
        };
        for (way, center) in self.ways().zip(self.centers()) {
            take(center, self.ear, way - reach, way + reach);
            if reach < half_way {
                take(Point::ORIGIN, self.body, way + reach, way + 2.0 * half_way - reach);
            }
        }
        let mut segs = Vec::new();
        for (n, (a, middle, sweep, b)) in stops.iter().enumerate() {
            segs.extend(arc(*a, *middle, *b, *sweep));
            let next = stops.get(n + 1).or(stops.first()).map_or(*a, |stop| stop.0);
            segs.push(Seg::line(*b, next));
        }
        Loop::chain(segs)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Where, point_in_loop};
    use approx::assert_relative_eq;

    /// Area common to two circles by adding up upright strips (midpoint rule): knows no arcs and no angles.
    fn by_strips(c: (f64, f64), r: f64, d: (f64, f64), s: f64) -> f64 {
        let (from, to) = ((c.0 - r).max(d.0 - s), (c.0 + r).min(d.0 + s));
        let n = 400_000;
        let step = (to - from) / f64::from(n);
        (0..n)
            .map(|i| {
                let x = from + (f64::from(i) + 0.5) * step;
                let half = |m: (f64, f64), r: f64| (r * r - (x - m.0).powi(2)).max(0.0).sqrt();
                let (a, b) = (half(c, r), half(d, s));
                ((c.1 + a).min(d.1 + b) - (c.1 - a).max(d.1 - b)).max(0.0) * step
            })
            .sum()
    }

    // Three pairs: alike, unlike with less and with more than half a turn of the smaller (its centre inside the chord).
    #[test]
    fn the_lens_has_the_area_of_quadrature() {
        for (d, r, s) in [
            ((3.0, 0.0), 5.0, 5.0),
            ((3.0, 4.0), 6.0, 2.5),
            ((-4.0, 2.0), 6.0, 3.0),
            ((0.5, -4.4), 6.0, 2.0),
            ((2.1, 0.3), 2.0, 4.0),
        ] {
            let c = (1.0, -2.0);
            let there = Point::new(c.0 + d.0, c.1 + d.1);
            let made = lens((Point::new(c.0, c.1), r), (there, s)).unwrap();
            let wanted = by_strips(c, r, (there.x, there.y), s);
            assert_relative_eq!(made.area(), wanted, max_relative = 1e-6);
            let area = shared_area((Point::new(c.0, c.1), r), (there, s));
            assert_relative_eq!(area, wanted, max_relative = 1e-6);
            assert!(made.as_circle().is_none());
            assert!(made.segs().iter().all(|seg| seg.bulge > 0.0 && seg.bulge <= 1.0));
        }
    }

    // Equal circles of radius r whose rims run through each other's centres: (2π/3 - √3/2) r², the vesica of Euclid I.1.
    #[test]
    fn the_lens_of_euclid() {
        let r = 7.0;
        let made = lens((Point::ORIGIN, r), (Point::new(0.0, r), r)).unwrap();
        let wanted = (2.0 * PI / 3.0 - 3.0_f64.sqrt() / 2.0) * r * r;
        assert_relative_eq!(made.area(), wanted, max_relative = 1e-12);
        assert_relative_eq!(made.bounds().width(), 3.0_f64.sqrt() * r, max_relative = 1e-12);
        assert_relative_eq!(made.bounds().height(), r, max_relative = 1e-12);
    }

    #[test]
    fn circles_apart_share_nothing_and_one_inside_is_the_lens() {
        let (c, d) = (Point::ORIGIN, Point::new(3.0, 4.0));
        assert_eq!(lens((c, 2.0), (d, 3.0)), None, "touching from outside");
        assert_relative_eq!(shared_area((c, 2.0), (d, 3.0)), 0.0);
        assert_relative_eq!(shared_area((c, 9.0), (d, 2.0)), 4.0 * PI);
        assert_eq!(lens((c, 2.0), (d, 2.0)), None);
        assert_eq!(lens((c, 9.0), (d, 2.0)), Some(Loop::Circle(d, 2.0)));
        assert_eq!(lens((c, 7.0), (d, 2.0)), Some(Loop::Circle(d, 2.0)), "touching from inside");
        assert_eq!(lens((c, 2.0), (c, 2.0)), Some(Loop::Circle(c, 2.0)));
        // Just short of touching from within: nearly all of the smaller, in arcs of at most half a turn.
        let near = lens((c, 6.999), (d, 2.0)).unwrap();
        assert!(near.as_circle().is_none() && near.area() < PI * 4.0);
        assert_relative_eq!(near.area(), PI * 4.0, max_relative = 1e-3);
    }

    /// Area and circumference of the hull of many points on the circles (monotone chain).
    fn by_points(circles: &[(Point, f64)]) -> (f64, f64) {
        let mut points: Vec<(f64, f64)> = circles
            .iter()
            .flat_map(|(c, r)| {
                (0..20_000).map(move |i| {
                    let way = 2.0 * PI * f64::from(i) / 20_000.0;
                    (c.x + r * way.cos(), c.y + r * way.sin())
                })
            })
            .collect();
        points.sort_by(|a, b| a.partial_cmp(b).unwrap());
        let half = |points: &mut dyn Iterator<Item = (f64, f64)>| {
            let mut hull: Vec<(f64, f64)> = Vec::new();
            for p in points {
                while let [.., a, b] = hull[..]
                    && (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0) <= 0.0
                {
                    hull.pop();
                }
                hull.push(p);
            }
            hull.pop();
            hull
        };
        let mut hull = half(&mut points.iter().copied());
        hull.extend(half(&mut points.iter().rev().copied()));
        let pairs = || hull.iter().zip(hull.iter().cycle().skip(1));
        let area: f64 = pairs().map(|(a, b)| a.0 * b.1 - a.1 * b.0).sum();
        (area / 2.0, pairs().map(|(a, b)| (b.0 - a.0).hypot(b.1 - a.1)).sum())
    }

    // Against the hull of points on the circles, by a method that knows no tangents.
    #[test]
    fn a_flange_is_the_hull_of_its_circles() {
        for (body, ears, ear, at) in [
            (12.0, 2, 4.0, 16.0),
            (12.0, 1, 4.0, 16.0),
            (5.0, 1, 9.0, 11.0),  // the ear is the larger
            (12.0, 3, 4.0, 12.0), // body and ears by turns
            (6.0, 4, 3.0, 15.0),  // from ear to ear, past the body
            (6.0, 2, 6.0, 15.0),  // round ends
            (6.0, 2, 8.0, 15.0),  // ears wider than the body
        ] {
            let it = Flange { body, ears, ear, at };
            let made = it.outline().unwrap();
            let mut circles = vec![(Point::ORIGIN, body)];
            circles.extend(it.centers().into_iter().map(|c| (c, ear)));
            let (area, round) = by_points(&circles);
            assert_relative_eq!(made.area(), area, max_relative = 1e-6);
            assert_relative_eq!(made.length(), round, max_relative = 1e-6);
            for center in it.centers() {
                assert_eq!(point_in_loop(center, &made), Where::Inside);
            }
            assert!(made.segs().iter().all(|seg| (0.0..=1.0).contains(&seg.bulge)));
        }
    }
}
