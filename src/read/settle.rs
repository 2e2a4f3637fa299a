//! Closed runs become loops: checked, told from their doubles, made round where they are round.

use super::ink::{Ink, Stroke, too_many};
use super::{ReadFault, ReadOptions, Traced, caps, join};
use crate::geom::tolerance::{FIT_READ, WRITTEN};
use crate::geom::{GeomFault, Loop, Point, Rect, Seg, circle_through};
use std::f64::consts::PI;

/// A loop of fewer pieces than this is taken for what it is drawn as.
const MANY_PIECES: usize = 12;
/// The largest loop is asked about below and above these sizes (mm).
const USUAL: std::ops::RangeInclusive<f64> = 1.0..=3000.0;
/// Points by which two loops are told apart.
const SAMPLES: usize = 64;
/// Comparisons of a point with a piece, in the search for doubles.
const WORK: usize = 200_000_000;
/// Pairs of pieces that stand one above the other, in one outline.
const PAIRS: usize = 1_000_000_000;

/// Turns ink into loops.
pub(super) fn settle(mut ink: Ink, options: &ReadOptions) -> Result<Traced, ReadFault> {
    let mut loops: Vec<(Loop, usize)> = Vec::new();
    for ring in &ink.rings {
        let made = Loop::circle(ring.center, ring.radius).map_err(|e| improper(&e, ring.at))?;
        loops.push((made, ring.at));
    }
    let strokes = std::mem::take(&mut ink.strokes);
    let mut rounded = 0;
    for stroke in join::join(strokes, options.join, &mut ink)? {
        let at = stroke.at;
        bearable(&stroke.segs).map_err(|e| e.at(at))?;
        let made = whole(stroke, &mut rounded).map_err(|e| improper(&e, at))?;
        loops.push((made, at));
        if loops.len() > caps::LOOPS {
            return Err(too_many("outlines in the file", caps::LOOPS).at(at));
        }
    }
    if loops.len() > caps::LOOPS {
        return Err(too_many("outlines in the file", caps::LOOPS));
    }
    if rounded > 0 {
        let (what, are) = if rounded == 1 { ("outline", "is") } else { ("outlines", "are") };
        ink.notes.push(format!("{rounded} {what} of many short pieces {are} read as true circles"));
    }
    if loops.is_empty() {
        return Err(nothing(&ink));
    }
    let loops = without_doubles(loops, &mut ink)?;
    let size_mm = size(&loops);
    if let Some(words) = ink.ignored_words() {
        ink.notes.push(format!("ignored: {words}"));
    }
    if let Some(note) = size_note(&loops) {
        ink.notes.push(note);
    }
    Ok(Traced { loops, notes: ink.notes, size_mm })
}

fn improper(fault: &GeomFault, at: usize) -> ReadFault {
    ReadFault::new("E96", fault.to_string()).cure("mend the outline in the drawing").at(at)
}

fn nothing(ink: &Ink) -> ReadFault {
    let fault = match ink.ignored_words() {
        Some(words) => {
            ReadFault::new("E97", format!("the file holds no outline that is read; it has {words}"))
        }
        None => ReadFault::new("E97", "the file holds no outline"),
    };
    fault.cure("draw the outlines as closed paths, circles or polylines; break copies and blocks up, turn texts and splines into paths")
}

/// Refuses an outline whose check for crossings would stall: very many pieces that run the whole width of it.
///
/// The check compares all pieces that stand one above the other; they are counted here first.
fn bearable(segs: &[Seg]) -> Result<(), ReadFault> {
    let mut lefts: Vec<f64> = segs.iter().map(|s| s.a.x.min(s.b.x)).collect();
    let mut rights: Vec<f64> = segs.iter().map(|s| s.a.x.max(s.b.x)).collect();
    lefts.sort_by(f64::total_cmp);
    rights.sort_by(f64::total_cmp);
    let (mut ended, mut pairs) = (0, 0_usize);
    for (begun, left) in lefts.iter().enumerate() {
        while rights.get(ended).is_some_and(|right| right < left) {
            ended += 1;
        }
        pairs = pairs.saturating_add(begun.saturating_sub(ended));
    }
    if pairs > PAIRS {
        return Err(ReadFault::new("E91", "an outline with too many long pieces side by side")
            .cure("draw it with fewer points, or turn the drawing by a quarter"));
    }
    Ok(())
}

/// The loop of a closed run; a circle where all of it lies on one.
fn whole(stroke: Stroke, rounded: &mut usize) -> Result<Loop, GeomFault> {
    let made = Loop::chain(stroke.segs)?;
    let Loop::Chain(segs) = &made else {
        return Ok(made);
    };
    let Some((center, radius)) = round(segs, made.area()) else {
        return Ok(made);
    };
    *rounded += usize::from(segs.len() >= MANY_PIECES);
    Loop::circle(center, radius)
}

/// The circle that a chain was drawn for.
///
/// Many pieces may stand off it by the fit of reading, at their ends and their middles; a few arcs only by the last
/// figure of a file. A polygon of visible corners stays one.
fn round(segs: &[Seg], area: f64) -> Option<(Point, f64)> {
    let (within, points) = if segs.len() >= MANY_PIECES {
        (FIT_READ, segs.iter().map(|s| s.a).collect::<Vec<_>>())
    } else if segs.iter().any(Seg::is_line) {
        return None;
    } else {
        let parts = segs.iter().flat_map(|s| [0.0, 0.25, 0.5, 0.75].map(|t| s.at(t)));
        (WRITTEN, parts.collect())
    };
    let (center, radius) = circle_through(&points, within)?;
    let on = |p: Point| ((p - center).hypot() - radius).abs() <= within;
    let all_on = segs.iter().all(|s| [0.25, 0.5, 0.75].iter().all(|t| on(s.at(*t))));
    let once = (area - PI * radius * radius).abs() <= 2.0 * PI * radius * 2.0 * within;
    (all_on && once && radius > 10.0 * within).then_some((center, radius))
}

/// The loops by falling area, each once.
fn without_doubles(mut loops: Vec<(Loop, usize)>, ink: &mut Ink) -> Result<Vec<Loop>, ReadFault> {
    let place = |l: &Loop| (l.bounds().x0, l.bounds().y0);
    loops.sort_by(|(a, i), (b, j)| {
        let areas = b.area().total_cmp(&a.area());
        let (p, q) = (place(a), place(b));
        areas.then(p.0.total_cmp(&q.0)).then(p.1.total_cmp(&q.1)).then(i.cmp(j))
    });
    // Area and box are worked out once: ten thousand loops alike in size are many pairs.
    let mut kept: Vec<(Loop, f64, Rect)> = Vec::with_capacity(loops.len());
    let mut doubles = 0;
    let mut work = 0;
    for (one, at) in loops {
        let slack = one.length() * FIT_READ;
        let (area, bounds) = (one.area(), one.bounds());
        let mut near = kept
            .iter()
            .rev()
            .take_while(|(_, other, _)| *other <= area + slack)
            .filter(|(_, _, b)| alike(*b, bounds));
        let double = near.any(|(other, _, _)| work <= WORK && lies_on(&one, other, &mut work));
        if work > WORK {
            return Err(too_many("points of outlines nearly alike in one place", WORK).at(at));
        }
        if double {
            doubles += 1;
        } else {
            kept.push((one, area, bounds));
        }
    }
    if doubles > 0 {
        let what = if doubles == 1 { "outline was" } else { "outlines were" };
        ink.notes.push(format!("{doubles} {what} drawn twice and kept once"));
    }
    Ok(kept.into_iter().map(|(one, _, _)| one).collect())
}

fn alike(a: Rect, b: Rect) -> bool {
    [a.x0 - b.x0, a.y0 - b.y0, a.x1 - b.x1, a.y1 - b.y1].iter().all(|d| d.abs() <= FIT_READ)
}

/// Whether points taken all along one loop lie on the other.
fn lies_on(one: &Loop, other: &Loop, work: &mut usize) -> bool {
    let (segs, others) = (one.segs(), other.segs());
    let step = (segs.len() / SAMPLES).max(1);
    segs.iter().step_by(step).all(|s| {
        [0.0, 0.5].iter().all(|t| {
            let p = s.at(*t);
            *work += others.len();
            others.iter().any(|o| o.distance_to(p) <= FIT_READ)
        })
    })
}

fn size(loops: &[Loop]) -> (f64, f64) {
    loops
        .iter()
        .map(Loop::bounds)
        .reduce(|a, b| a.union(b))
        .map_or((0.0, 0.0), |b| (b.width(), b.height()))
}

fn size_note(loops: &[Loop]) -> Option<String> {
    let (wide, high) = size(&loops[..loops.len().min(1)]);
    let longest = wide.max(high);
    (!USUAL.contains(&longest)).then(|| {
        format!("the largest outline is {wide:.3} by {high:.3} mm: is the unit of the file right?")
    })
}
