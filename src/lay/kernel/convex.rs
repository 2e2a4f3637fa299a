//! From a loop of true arcs to convex cores that hold it.

use super::core::Core;
use crate::geom::{Loop, Point, Seg, Side, Vec2, flatten, tolerance};

/// No outline is searched with more corners than this.
const MOST_CORNERS: usize = 64;
/// No outline is searched with more corners that point inward than this.
const MOST_REFLEX: usize = 14;

/// Convex cores whose union holds the loop and stands off it by little.
pub(crate) fn cores(it: &Loop) -> Vec<Core> {
    if let Some((center, radius)) = it.as_circle() {
        return vec![Core::new(vec![center], radius)];
    }
    if let Some(core) = smooth(it) {
        return vec![core];
    }
    let points = flatten(it, tolerance::FLAT, Side::Outside);
    let (points, radius) =
        thinned(&points, |kept| kept.len() <= MOST_CORNERS && reflex(kept) <= MOST_REFLEX);
    split(points).into_iter().map(|part| Core::new(part, radius)).collect()
}

/// The core of a convex loop without corners: every arc keeps its radius less the least of them.
fn smooth(it: &Loop) -> Option<Core> {
    let segs = it.segs();
    let mut least = f64::INFINITY;
    for (i, seg) in segs.iter().enumerate() {
        let next = &segs[(i + 1) % segs.len()];
        let (out, on) = (seg.direction(1.0), next.direction(0.0));
        if seg.bulge < 0.0 || (out - on).hypot() > 1e-9 {
            return None;
        }
        least = least.min(seg.radius());
    }
    let inward = |s: &Seg, t: f64| {
        let way = s.direction(t);
        s.at(t) + Vec2::new(-way.y, way.x) * least
    };
    let mut points = Vec::new();
    for seg in &segs {
        points.push(inward(seg, 0.0));
        let rest = seg.radius() - least;
        if seg.is_line() || rest <= tolerance::SAME_POINT {
            continue;
        }
        let arc = Seg::arc(inward(seg, 0.0), inward(seg, 1.0), seg.bulge);
        let half = (rest / (rest + tolerance::FLAT)).acos().max(0.02);
        let n = (seg.sweep() / (2.0 * half)).ceil().max(1.0);
        let longer = 1.0 / (seg.sweep() / (2.0 * n)).cos();
        let mut i = 0.5;
        while i < n {
            let center = arc.center();
            points.push(center + (arc.at(i / n) - center) * longer);
            i += 1.0;
        }
    }
    let points = tidy(points);
    (points.len() <= 2 * MOST_CORNERS).then(|| Core::new(points, least))
}

/// The polygon with fewer corners, and how far the true one may reach over it; `enough` says when to stop.
pub(crate) fn thinned(points: &[Point], enough: impl Fn(&[Point]) -> bool) -> (Vec<Point>, f64) {
    if enough(points) {
        return (points.to_vec(), 0.0);
    }
    let mut last = (points.to_vec(), 0.0);
    for within in [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0] {
        let kept = thin(points, within);
        if kept.len() < 3 {
            break;
        }
        let done = enough(&kept);
        last = (kept, within);
        if done {
            break;
        }
    }
    last
}

/// Douglas and Peucker's thinning of a closed polygon: no dropped corner is farther than `within` from its chord.
///
/// # Source
/// Douglas and Peucker, "Algorithms for the reduction of the number of points", 1973.
fn thin(points: &[Point], within: f64) -> Vec<Point> {
    let n = points.len();
    let far = (0..n)
        .max_by(|i, j| {
            let d = |k: usize| (points[k] - points[0]).hypot2();
            d(*i).total_cmp(&d(*j))
        })
        .unwrap_or(0);
    let mut keep = vec![false; n];
    keep[0] = true;
    keep[far] = true;
    let mut open = vec![(0, far), (far, n)];
    while let Some((from, to)) = open.pop() {
        let chord = Seg::line(points[from], points[to % n]);
        let worst = (from + 1..to)
            .map(|k| (chord.distance_to(points[k]), k))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((off, k)) = worst
            && off > within
        {
            keep[k] = true;
            open.push((from, k));
            open.push((k, to));
        }
    }
    (0..n).filter(|i| keep[*i]).map(|i| points[i]).collect()
}

fn turn_at(points: &[Point], i: usize) -> f64 {
    let n = points.len();
    let (a, b, c) = (points[(i + n - 1) % n], points[i], points[(i + 1) % n]);
    (b - a).cross(c - b)
}

fn reflex(points: &[Point]) -> usize {
    (0..points.len()).filter(|i| turn_at(points, *i) < -1e-9).count()
}

/// A convex polygon without corners that are none: doubled ones and those on a straight side.
fn tidy(mut points: Vec<Point>) -> Vec<Point> {
    let idle = |points: &[Point]| {
        let n = points.len();
        (0..n).find(|i| {
            let (a, b, c) = (points[(i + n - 1) % n], points[*i], points[(i + 1) % n]);
            let (u, v) = (b - a, c - b);
            u.hypot() < 1e-9 || (u.cross(v) <= 1e-12 * u.hypot() * v.hypot() && u.dot(v) > 0.0)
        })
    };
    while points.len() > 2 {
        let Some(i) = idle(&points) else { break };
        points.remove(i);
    }
    if points.len() == 2 && (points[1] - points[0]).hypot() < 1e-9 {
        points.pop();
    }
    points
}

/// So few cores that together hold all of these: again and again the two are joined whose common hull adds the least.
pub(crate) fn merged(mut cores: Vec<Core>, few: usize) -> Vec<Core> {
    let joined = |a: &Core, b: &Core| {
        let points: Vec<Point> = a.points.iter().chain(&b.points).copied().collect();
        Core::new(hull(&points), a.radius.max(b.radius))
    };
    while cores.len() > few.max(1) {
        let mut best: Option<(f64, usize, usize, Core)> = None;
        for i in 0..cores.len() {
            for j in i + 1..cores.len() {
                let core = joined(&cores[i], &cores[j]);
                let added = area(&core) - area(&cores[i]) - area(&cores[j]);
                if best.as_ref().is_none_or(|(least, ..)| added < *least) {
                    best = Some((added, i, j, core));
                }
            }
        }
        let Some((_, i, j, core)) = best else { break };
        cores.remove(j);
        cores[i] = core;
    }
    cores
}

/// Area of a core (mm²): by Steiner's formula.
fn area(core: &Core) -> f64 {
    let n = core.points.len();
    let (mut twice, mut round) = (0.0, 0.0);
    for i in 0..n {
        let (a, b) = (core.points[i], core.points[(i + 1) % n]);
        twice += a.to_vec2().cross(b.to_vec2());
        round += (b - a).hypot();
    }
    twice / 2.0 + core.radius * (round + std::f64::consts::PI * core.radius)
}

/// The convex hull, counter-clockwise (Andrew's chain).
fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup_by(|a, b| (*a - *b).hypot() < 1e-9);
    if sorted.len() < 3 {
        return sorted;
    }
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..]
                && (b - a).cross(p - b) <= 1e-12
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut chain = half(&mut sorted.iter().copied());
    chain.extend(half(&mut sorted.iter().rev().copied()));
    chain
}

/// Convex parts of a simple polygon: ears are cut off, then joined again while the join stays convex.
///
/// # Source
/// Hertel and Mehlhorn, "Fast triangulation of simple polygons", 1983, for the joining.
fn split(points: Vec<Point>) -> Vec<Vec<Point>> {
    if reflex(&points) == 0 {
        return vec![tidy(points)];
    }
    let Some(mut parts) = ears(&points) else {
        return vec![hull(&points)];
    };
    'joining: loop {
        for i in 0..parts.len() {
            for j in i + 1..parts.len() {
                if let Some(joined) = join(&points, &parts[i], &parts[j]) {
                    parts[i] = joined;
                    parts.swap_remove(j);
                    continue 'joining;
                }
            }
        }
        break;
    }
    parts
        .iter()
        .map(|part| tidy(part.iter().map(|i| points[*i]).collect()))
        .filter(|part| part.len() >= 3)
        .collect()
}

fn ears(points: &[Point]) -> Option<Vec<Vec<usize>>> {
    let mut rest: Vec<usize> = (0..points.len()).collect();
    let mut parts = Vec::new();
    while rest.len() > 3 {
        let n = rest.len();
        let ear = (0..n).find(|k| {
            let [a, b, c] = [rest[(k + n - 1) % n], rest[*k], rest[(k + 1) % n]];
            let (p, q, r) = (points[a], points[b], points[c]);
            (q - p).cross(r - q) > 1e-12
                && rest.iter().all(|i| {
                    let x = points[*i];
                    [a, b, c].contains(i)
                        || (q - p).cross(x - p) < 0.0
                        || (r - q).cross(x - q) < 0.0
                        || (p - r).cross(x - r) < 0.0
                })
        });
        let flat = || {
            (0..n).find(|k| {
                let turn = [(k + n - 1) % n, *k, (k + 1) % n].map(|i| points[rest[i]]);
                (turn[1] - turn[0]).cross(turn[2] - turn[1]).abs() <= 1e-12
            })
        };
        if let Some(k) = ear {
            parts.push(vec![rest[(k + n - 1) % n], rest[k], rest[(k + 1) % n]]);
            rest.remove(k);
        } else {
            rest.remove(flat()?);
        }
    }
    parts.push(rest);
    Some(parts)
}

/// Two parts that share a side, as one, where that is convex.
fn join(points: &[Point], one: &[usize], two: &[usize]) -> Option<Vec<usize>> {
    let (n, m) = (one.len(), two.len());
    for i in 0..n {
        let (a, b) = (one[i], one[(i + 1) % n]);
        let Some(j) = (0..m).find(|j| two[*j] == b && two[(j + 1) % m] == a) else {
            continue;
        };
        let mut joined: Vec<usize> = (1..n).map(|k| one[(i + k) % n]).collect();
        joined.extend((1..m).map(|k| two[(j + k) % m]));
        let corners: Vec<Point> = joined.iter().map(|k| points[*k]).collect();
        if (0..corners.len()).all(|k| turn_at(&corners, k) >= -1e-12) {
            return Some(joined);
        }
    }
    None
}
