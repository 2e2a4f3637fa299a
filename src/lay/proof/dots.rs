//! Register dots: in the sheet, clear of everything, in reach of their windows, on the largest piece of waste.
//!
//! What waste hangs together is found by lines across the sheet: the stretches of each line that nothing covers, joined
//! with those of the next line that they lie beside.

use super::windows::{beyond, reached};
use super::{Breach, BreachKind, Laid, Proving};
use crate::geom::{Loop, Point, Rect, Seg, Side, Where, flatten, point_in_loop, tolerance};
use crate::lay::{Dot, Layout};

/// From one line to the next (mm), where that makes no more lines than [`MOST_LINES`].
const LINES: f64 = 1.0;
/// Lines across one sheet.
const MOST_LINES: f64 = 1500.0;
/// Waste is looked at with chords that stand off by no more than this (mm).
const CHORDS: f64 = 0.05;
/// Two pieces of waste count as equal where one is at least this share of the other.
const EQUAL: f64 = 0.95;

impl Proving<'_> {
    /// Every dot.
    pub(super) fn dots(&mut self, layout: &Layout, laid: &[Laid<'_>]) {
        let mut strips: Vec<Option<Strips>> = (0..self.group.grounds.len()).map(|_| None).collect();
        for (n, dot) in layout.dots.iter().enumerate() {
            let here: Vec<&Laid<'_>> =
                laid.iter().filter(|l| l.placed.ground == dot.ground).collect();
            let what = match self.group.grounds.get(dot.ground) {
                None => Some(format!("is on sheet {}, which is not there", dot.ground)),
                Some(_) => self.misplaced(dot, &here).or_else(|| self.out_of_reach(layout, dot)),
            };
            let what = what.or_else(|| {
                let waste = strips[dot.ground].get_or_insert_with(|| self.waste(dot.ground, &here));
                (!waste.is_on_largest(dot.at))
                    .then(|| "does not lie on the largest piece of waste".to_owned())
            });
            if let Some(what) = what {
                let text =
                    format!("register dot {} at x {:.2} y {:.2} {what}", n + 1, dot.at.x, dot.at.y);
                let kind = BreachKind::Dot;
                self.breaches.push(Breach {
                    kind,
                    piece: usize::MAX,
                    other: None,
                    dot: Some(n),
                    text,
                });
            }
        }
    }

    /// Where a dot lies off the sheet or too near to something.
    fn misplaced(&self, dot: &Dot, here: &[&Laid<'_>]) -> Option<String> {
        let p = dot.at;
        if !(p.x.is_finite()
            && p.y.is_finite()
            && p.x.abs() < tolerance::FAR
            && p.y.abs() < tolerance::FAR)
        {
            return Some("is no place".to_owned());
        }
        let sheet = &self.group.grounds[dot.ground].sheet;
        if point_in_loop(p, &sheet.outline) != Where::Inside {
            return Some("lies outside its sheet".to_owned());
        }
        let near = |it: &Loop, least: f64, what: &str| {
            let off = away(it, p);
            (off < least - tolerance::SLACK)
                .then(|| format!("is {off:.3} mm from {what}; {least:.3} mm is wanted"))
        };
        near(&sheet.outline, Dot::RADIUS, "the sheet's edge")
            .or_else(|| {
                sheet.flaws.iter().find_map(|flaw| {
                    let inside = point_in_loop(p, &flaw.outline) != Where::Outside;
                    let what = format!("a flaw ({})", flaw.why);
                    if inside {
                        Some(format!("lies on {what}"))
                    } else {
                        near(&flaw.outline, Dot::RADIUS, &what)
                    }
                })
            })
            .or_else(|| {
                let least = Dot::RADIUS + self.group.apart / 2.0;
                sheet.used.iter().find_map(|used| {
                    let what = format!("the ground of {} ({})", used.address, used.by);
                    if point_in_loop(p, &used.outline) != Where::Outside {
                        return Some(format!("lies on {what}"));
                    }
                    near(&used.outline, least, &what)
                })
            })
            .or_else(|| {
                let least = Dot::RADIUS + self.group.apart / 2.0;
                here.iter().find_map(|it| {
                    if it.bounds.inflate(least, least).contains(p) {
                        let name = self.name(it.placed.piece);
                        let outline = it.shape.outline();
                        if point_in_loop(p, outline) != Where::Outside {
                            return Some(format!("lies on {name}"));
                        }
                        return near(outline, least, &name);
                    }
                    None
                })
            })
    }

    /// Where a dot is said to serve a window that cannot show it.
    fn out_of_reach(&self, layout: &Layout, dot: &Dot) -> Option<String> {
        let reach = self.group.reach(dot.ground);
        if reach.is_some() && dot.windows.is_empty() {
            return Some("serves no window".to_owned());
        }
        let size = 2.0 * Dot::RADIUS;
        let mark = Rect::from_center_size(dot.at, (size, size));
        for n in &dot.windows {
            let window = layout.windows.get(*n).filter(|w| w.ground == dot.ground);
            let (Some(window), Some(reach)) = (window, reach) else {
                return Some(format!("serves window {n}, which its sheet does not have"));
            };
            if beyond(mark, reached(window, reach)) > tolerance::SLACK {
                let number = layout.window_number(*n);
                return Some(format!("is beyond what the machine reaches in window {number}"));
            }
        }
        None
    }

    fn waste(&self, ground: usize, here: &[&Laid<'_>]) -> Strips {
        let sheet = &self.group.grounds[ground].sheet;
        let mut gone: Vec<(Rect, Vec<Point>, f64)> = Vec::new();
        let apart = self.group.apart;
        for flaw in &sheet.flaws {
            gone.push((flaw.outline.bounds(), polygon(&flaw.outline), 0.0));
        }
        for used in &sheet.used {
            let bounds = used.outline.bounds().inflate(apart, apart);
            gone.push((bounds, polygon(&used.outline), apart));
        }
        for it in here.iter().filter(|it| it.placed.host.is_none()) {
            gone.push((it.bounds.inflate(apart, apart), polygon(it.shape.outline()), apart));
        }
        Strips::of(&sheet.outline, &gone)
    }
}

fn polygon(it: &Loop) -> Vec<Point> {
    flatten(it, CHORDS, Side::Outside)
}

fn away(it: &Loop, p: Point) -> f64 {
    it.segs().iter().map(|s: &Seg| s.distance_to(p)).fold(f64::INFINITY, f64::min)
}

/// The stretches of lines across a sheet that nothing covers.
struct Strips {
    low: f64,
    pitch: f64,
    /// Line by line: from, to, and the piece of waste they belong to.
    lines: Vec<Vec<(f64, f64, usize)>>,
    /// Length of all lines of each piece of waste.
    lengths: Vec<f64>,
}

impl Strips {
    fn of(outline: &Loop, gone: &[(Rect, Vec<Point>, f64)]) -> Strips {
        let b = outline.bounds();
        let pitch = LINES.max(b.height() / MOST_LINES);
        let edge = polygon(outline);
        let mut made = Strips { low: b.y0, pitch, lines: Vec::new(), lengths: Vec::new() };
        let mut roots: Vec<usize> = Vec::new();
        let mut y = b.y0 + pitch / 2.0;
        while y < b.y1 {
            let mut covered: Vec<(f64, f64)> = Vec::new();
            for (_, points, grown) in gone.iter().filter(|g| g.0.y0 <= y && y <= g.0.y1) {
                // A shape grown by a distance, as five lines through it.
                for share in [-1.0, -0.5, 0.0, 0.5, 1.0] {
                    let up: f64 = share * grown;
                    let wider = (grown * grown - up * up).max(0.0).sqrt();
                    let there = stretches(points, y + up).into_iter();
                    covered.extend(there.map(|(from, to)| (from - wider, to + wider)));
                }
            }
            let open = without(stretches(&edge, y), covered);
            let before = made.lines.last().cloned().unwrap_or_default();
            let mut line = Vec::new();
            for (from, to) in open {
                let own = roots.len();
                roots.push(own);
                for (_, _, other) in before.iter().filter(|o| o.0 < to && from < o.1) {
                    let (one, two) = (root(&roots, own), root(&roots, *other));
                    roots[one.max(two)] = one.min(two);
                }
                line.push((from, to, own));
            }
            made.lines.push(line);
            y += pitch;
        }
        made.lengths = vec![0.0; roots.len()];
        for stretch in made.lines.iter_mut().flatten() {
            stretch.2 = root(&roots, stretch.2);
            made.lengths[stretch.2] += stretch.1 - stretch.0;
        }
        made
    }

    fn is_on_largest(&self, p: Point) -> bool {
        let largest = self.lengths.iter().copied().fold(0.0, f64::max);
        let row = ((p.y - self.low) / self.pitch).max(0.0);
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a row of the sheet"
        )]
        let row = row as usize;
        self.lines.get(row).into_iter().flatten().any(|(from, to, number)| {
            *from <= p.x && p.x <= *to && self.lengths[*number] >= EQUAL * largest
        })
    }
}

fn root(roots: &[usize], mut at: usize) -> usize {
    while roots[at] != at {
        at = roots[at];
    }
    at
}

/// The stretches of a level line within a polygon.
fn stretches(points: &[Point], y: f64) -> Vec<(f64, f64)> {
    let n = points.len();
    let mut cuts: Vec<f64> = (0..n)
        .filter_map(|i| {
            let (a, b) = (points[i], points[(i + 1) % n]);
            ((a.y > y) != (b.y > y)).then(|| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)))
        })
        .collect();
    cuts.sort_by(f64::total_cmp);
    cuts.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

/// Stretches less what is covered.
fn without(open: Vec<(f64, f64)>, mut covered: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    covered.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut left = Vec::new();
    for (mut from, to) in open {
        for (start, end) in &covered {
            if *start >= to {
                break;
            }
            if *end <= from {
                continue;
            }
            left.push((from, start.max(from)));
            from = end.max(from);
        }
        left.push((from, to));
    }
    left.retain(|(a, b)| b - a > 1e-9);
    left
}
