//! Leads, tabs, passes and waits on small plans.

#![allow(
    clippy::float_cmp,
    clippy::cast_precision_loss,
    reason = "exact figures go in and come out; a handful of tabs"
)]

use super::*;
use crate::fault::Place;
use crate::geom::{Loop, Point, Shape, Where, obround, point_in_loop, rectangle};
use crate::machine::{MotionLimits, Process};
use crate::material::Source;
use crate::plan::{Lain, Motion, cut_line};
use std::collections::BTreeMap;
use std::sync::Arc;

const KERF: f64 = 0.2;

fn source() -> Source {
    Source { text: "assumed".into(), place: Place::head(&Arc::from("x.toml")) }
}

fn setting() -> CutSetting {
    CutSetting {
        on: "laser".into(),
        kerf_x: KERF,
        kerf_y: KERF,
        gap: 1.5,
        edge: 3.0,
        least_web: 1.0,
        power: Some(0.8),
        feed: Some(10.0),
        mark_power: Some(0.05),
        mark_feed: None,
        passes: 1,
        tabs: 0.0,
        tabs_on_soft: false,
        heat: None,
        char_trim: 0.0,
        source: source(),
        place: source().place,
    }
}

fn machine() -> Machine {
    Machine {
        key: "m".into(),
        title: "M".into(),
        process: Process::Laser,
        width: 410.0,
        depth: 410.0,
        margin: 5.0,
        smallest_hole: 1.0,
        motion: Some(MotionLimits { feed_limit: 50.0, ..MotionLimits::ASSUMED }),
        laser: None,
        knife: None,
        colours: BTreeMap::new(),
        source: source(),
        place: source().place,
    }
}

/// A plan of shapes as they lie, holes first, each stroke from the loop's own start.
fn laid(shapes: &[Shape], kerf: (f64, f64), round: &[Loop], soft: bool) -> (CutPlan, Ground) {
    let mut strokes = Vec::new();
    let mut add = |layer, address: String, line: &Loop, outside: bool| {
        let segs = if outside { line.segs() } else { line.backward() };
        let mut motions = vec![Motion::Rapid(segs[0].a)];
        motions.extend(
            segs.iter()
                .map(|s| if s.is_line() { Motion::Line(s.b) } else { Motion::Arc(s.b, s.bulge) }),
        );
        strokes.push(Stroke { layer, address, number: 0, motions });
    };
    for (i, shape) in shapes.iter().enumerate() {
        for hole in shape.holes() {
            let line = cut_line(hole, kerf, false).unwrap();
            add(Layer::Holes, format!("p:{i}"), &line, false);
        }
    }
    for (i, shape) in shapes.iter().enumerate() {
        let line = cut_line(shape.outline(), kerf, true).unwrap();
        add(Layer::Edges, format!("p:{i}"), &line, true);
    }
    for (n, stroke) in (1..).zip(&mut strokes) {
        stroke.number = n;
    }
    let pieces = shapes
        .iter()
        .enumerate()
        .map(|(i, shape)| Lain { address: format!("p:{i}"), shape: shape.clone(), soft })
        .collect();
    let ground = Ground::new(pieces, round, Rect::new(0.0, 0.0, 400.0, 400.0), kerf);
    let plan = CutPlan {
        sheet: "s".into(),
        generation: 1,
        material: "stuff".into(),
        machine: "m".into(),
        process: "laser",
        kerf,
        strokes,
        rows: Vec::new(),
        page: (400.0, 400.0),
        window: None,
        dots: Vec::new(),
        warnings: Vec::new(),
        cautions: Vec::new(),
    };
    (plan, ground)
}

fn sheet() -> Loop {
    rectangle(Point::ORIGIN, 300.0, 200.0, 0.0).unwrap()
}

/// Pieces that are cut with the beam on, and by which role; stops where the beam is on and nothing moves.
fn lit(run: &Run) -> Vec<(Role, Seg)> {
    let (mut at, mut power, mut moved) = (Point::ORIGIN, 0.0, true);
    let mut made = Vec::new();
    for (role, step) in &run.steps {
        match step {
            Step::Power(p) => {
                assert!(moved, "lit and nothing moved in stroke {}", run.stroke);
                power = *p;
                moved = power == 0.0;
            }
            Step::Rapid(_) | Step::Wait(_) => assert_eq!(power, 0.0, "in the air with the beam on"),
            _ => {}
        }
        if let Some((seg, cuts)) = step.path(at) {
            if cuts {
                assert!(power > 0.0 && seg.length() > 0.0);
                made.push((*role, seg));
                moved = true;
            }
            at = seg.b;
        }
    }
    assert_eq!(power, 0.0, "the beam is on at the end");
    made
}

fn shapes() -> Vec<Shape> {
    let at = |x: f64, y: f64| Point::new(x, y);
    let holes = vec![Loop::Circle(at(30.0, 30.0), 4.0), Loop::Circle(at(60.0, 30.0), 0.5)];
    vec![
        Shape::new(rectangle(at(10.0, 10.0), 80.0, 40.0, 3.0).unwrap(), holes).unwrap(),
        // Nearer than any lead is wide, on two sides.
        Shape::plain(rectangle(at(91.7, 10.0), 60.0, 40.0, 0.0).unwrap()),
        Shape::plain(obround(at(20.0, 58.0), at(70.0, 58.0), 12.0).unwrap()),
    ]
}

#[test]
fn leads_lie_in_the_waste_and_touch_nothing() {
    let shapes = shapes();
    for kerf in [(0.2, 0.2), (0.3, 0.15)] {
        let flaw = rectangle(Point::new(72.0, 53.0), 6.0, 3.0, 0.0).unwrap();
        let (plan, ground) = laid(&shapes, kerf, &[sheet(), flaw.clone()], false);
        let made = beam_program(&plan, &ground, &setting(), &machine()).unwrap();
        assert_eq!(made.runs.len(), 5);
        let mut led = Vec::new();
        for run in &made.runs {
            let cuts = lit(run);
            let leads: Vec<Seg> =
                cuts.iter().filter(|(r, _)| *r == Role::Lead).map(|(_, s)| *s).collect();
            if leads.is_empty() {
                continue;
            }
            led.push(run.stroke);
            assert_eq!(leads.len(), 2, "one way in and one way out");
            // They meet the contour with one tangent, before and behind.
            let contour: Vec<Seg> =
                cuts.iter().filter(|(r, _)| *r == Role::Contour).map(|(_, s)| *s).collect();
            let (into, onto) = (leads[0].direction(1.0), contour[0].direction(0.0));
            assert!(into.cross(onto).abs() < 1e-6 && into.dot(onto) > 0.0);
            let (last, off) = (contour[contour.len() - 1].direction(1.0), leads[1].direction(0.0));
            assert!(last.cross(off).abs() < 1e-6 && last.dot(off) > 0.0);
            let least = kerf.0.min(kerf.1) / 2.0 - 0.003;
            for p in leads.iter().flat_map(|s| (0..=40).map(move |i| s.at(f64::from(i) / 40.0))) {
                for shape in &shapes {
                    let off = shape
                        .loops()
                        .flat_map(Loop::segs)
                        .map(|s| s.distance_to(p))
                        .fold(f64::INFINITY, f64::min);
                    assert!(off >= least, "stroke {}: {off} at {p:?}", run.stroke);
                    let within = point_in_loop(p, shape.outline()) == Where::Inside
                        && shape.holes().iter().all(|h| point_in_loop(p, h) == Where::Outside);
                    assert!(!within, "in a piece");
                }
                assert!(point_in_loop(p, &flaw) == Where::Outside);
            }
            if run.layer == Layer::Holes {
                let long: f64 = leads[0].length();
                assert!(long <= 0.4 * 4.0, "{long} in a hole of 4 mm radius");
            }
        }
        // The hole of 0.5 mm radius is less than three cuts wide.
        let narrow = |s: &&Stroke| s.segs().iter().map(Seg::length).sum::<f64>() < 4.0;
        let bare = made.plan.strokes.iter().find(narrow).unwrap().number;
        assert_eq!(led, (1..=5).filter(|n| *n != bare).collect::<Vec<_>>());
        let told = format!("leads: on 4 contours; strokes without {bare}");
        assert!(made.told.contains(&told), "{:?}", made.told);
    }
}

#[test]
fn leads_keep_off_the_cuts_of_neighbours_where_there_is_room() {
    // Plates so near each other that a lead between them would cut into the neighbour's cut.
    let plate = |i: f64| rectangle(Point::new(20.0 + 20.6 * i, 20.0), 20.0, 30.0, 2.0).unwrap();
    let shapes: Vec<Shape> = (0..4).map(|i| Shape::plain(plate(f64::from(i)))).collect();
    let (plan, ground) = laid(&shapes, (KERF, KERF), &[sheet()], false);
    let made = beam_program(&plan, &ground, &setting(), &machine()).unwrap();
    let mut leads = 0;
    for run in &made.runs {
        for (_, lead) in lit(run).iter().filter(|(role, _)| *role == Role::Lead) {
            leads += 1;
            let others = made.plan.strokes.iter().filter(|s| s.number != run.stroke);
            let apart = others.flat_map(Stroke::segs).map(|s| s.distance(lead).0);
            let least = apart.fold(f64::INFINITY, f64::min);
            assert!(least >= KERF, "stroke {}: {least}", run.stroke);
        }
    }
    assert_eq!(leads, 8);
}

#[test]
fn without_room_there_is_no_lead_but_the_cut_is_whole() {
    let shape = Shape::plain(rectangle(Point::new(10.0, 10.0), 20.0, 20.0, 0.0).unwrap());
    // A sheet's edge so near on every side that no lead of its least size has room.
    let tight = rectangle(Point::new(9.6, 9.6), 20.8, 20.8, 0.0).unwrap();
    let (plan, ground) = laid(std::slice::from_ref(&shape), (KERF, KERF), &[tight], false);
    let made = beam_program(&plan, &ground, &setting(), &machine()).unwrap();
    let cuts = lit(&made.runs[0]);
    assert!(cuts.iter().all(|(role, _)| *role == Role::Contour));
    let long: f64 = cuts.iter().map(|(_, s)| s.length()).sum();
    let whole = cut_line(shape.outline(), (KERF, KERF), true).unwrap().length();
    assert!((long - whole).abs() < 1e-9);
    // And over the end of the bed none goes either.
    let (plan, mut ground) = laid(std::slice::from_ref(&shape), (KERF, KERF), &[sheet()], false);
    ground.bed = Rect::new(9.9, 9.9, 30.1, 30.1);
    let made = beam_program(&plan, &ground, &setting(), &machine()).unwrap();
    assert!(lit(&made.runs[0]).iter().all(|(role, _)| *role == Role::Contour));
}

#[test]
fn tabs_stand_equal_ways_apart_and_are_as_wide_as_said() {
    let (plan, ground) = laid(&shapes(), (KERF, KERF), &[sheet()], false);
    let tabbed = CutSetting { tabs: 0.4, passes: 3, ..setting() };
    let made = beam_program(&plan, &ground, &tabbed, &machine()).unwrap();
    assert_eq!(made.runs.len(), 15, "three passes of five strokes");
    for run in &made.runs {
        let cuts = lit(run);
        let leads = cuts.iter().filter(|(role, _)| *role == Role::Lead).count();
        assert!(run.pass == 1 || leads == 0, "leads on the first pass only");
        let contour: Vec<Seg> =
            cuts.iter().filter(|(r, _)| *r == Role::Contour).map(|(_, s)| *s).collect();
        let mut gaps: Vec<Seg> = Vec::new();
        for two in contour.windows(2) {
            if (two[0].b - two[1].a).hypot() > 1e-9 {
                gaps.push(Seg::line(two[0].b, two[1].a));
            }
        }
        if run.layer == Layer::Holes {
            assert!(gaps.is_empty(), "a hole's waste may fall");
            continue;
        }
        assert!(gaps.len() >= 2, "{} tabs", gaps.len());
        for gap in &gaps {
            // Half a cut goes off either end: 0.4 mm stand.
            assert!((gap.length() - KERF - 0.4).abs() < 1e-3, "{}", gap.length());
        }
        // From gap to gap the same length of cut, but for the stretch that holds the start.
        let whole: f64 = contour.iter().map(Seg::length).sum::<f64>() + 0.6 * gaps.len() as f64;
        let line = made.plan.strokes.iter().find(|s| s.number == run.stroke).unwrap();
        let wanted: f64 = line.segs().iter().map(Seg::length).sum();
        assert!((whole - wanted).abs() < 1e-6, "{whole} {wanted}");
        let mut since = 0.0;
        let mut ways = Vec::new();
        for two in contour.windows(2) {
            since += two[0].length();
            if (two[0].b - two[1].a).hypot() > 1e-9 {
                ways.push(since);
                since = 0.0;
            }
        }
        for way in &ways[1..] {
            assert!((way + 0.6 - wanted / gaps.len() as f64).abs() < 1e-6, "{ways:?}");
        }
    }
    // Never on soft edges unless asked for.
    let (plan, ground) = laid(&shapes(), (KERF, KERF), &[sheet()], true);
    let count = |setting: &CutSetting| {
        let made = beam_program(&plan, &ground, setting, &machine()).unwrap();
        made.runs.iter().flat_map(|r| &r.steps).filter(|(role, _)| *role == Role::Tab).count()
    };
    assert_eq!(count(&tabbed), 0);
    assert!(count(&CutSetting { tabs_on_soft: true, ..tabbed.clone() }) > 0);
}

#[test]
fn cuts_near_each_other_wait_for_one_another() {
    let (plan, ground) = laid(&shapes(), (KERF, KERF), &[sheet()], false);
    let heat = Heat { least_gap_time: 20.0, reach: 8.0 };
    let hot = CutSetting { heat: Some(heat), ..setting() };
    let made = beam_program(&plan, &ground, &hot, &machine()).unwrap();
    // By hand: a clock over the steps, ends and beginnings of every two strokes that lie near.
    let travel = machine().limits().travel_speed;
    let mut clock = Clock::new(travel);
    let mut now = 0.0;
    let mut times = Vec::new();
    for run in &made.runs {
        let mut begins = None;
        for (_, step) in &run.steps {
            if matches!(step, Step::Line(_) | Step::Arc(..)) {
                begins = begins.or(Some(now));
            }
            now += clock.step(step);
        }
        times.push((begins.unwrap(), now));
    }
    let mut least = f64::INFINITY;
    for (i, one) in made.runs.iter().enumerate() {
        for (j, two) in made.runs[..i].iter().enumerate() {
            let near =
                lit(one).iter().any(|(_, s)| lit(two).iter().any(|(_, t)| s.distance(t).0 <= 8.0));
            if near {
                least = least.min(times[i].0 - times[j].1);
            }
        }
    }
    assert!((20.0..20.01).contains(&least), "{least}");
    let told = made.told.iter().find(|l| l.starts_with("heat: ")).unwrap();
    assert!(told.contains("least time between cuts within 8 mm 20.0 s"), "{told}");
    // A machine that has to gather speed takes longer than this even clock, and cools the longer.
    assert!(made.time.wait > 0.0 && made.time.total > now);
    let cold = beam_program(&plan, &ground, &setting(), &machine()).unwrap();
    assert_eq!(cold.time.wait, 0.0);
}

#[test]
fn what_the_records_lack_is_told() {
    let (plan, ground) = laid(&shapes(), (KERF, KERF), &[sheet()], false);
    for lacking in [
        CutSetting { power: None, ..setting() },
        CutSetting { feed: None, ..setting() },
        CutSetting { feed: Some(60.0), ..setting() },
        CutSetting { mark_feed: Some(60.0), ..setting() },
    ] {
        let fault = beam_program(&plan, &ground, &lacking, &machine()).unwrap_err();
        crate::fault::tells([fault.code], "E57");
    }
    let mut marked = plan.clone();
    let mark = vec![Motion::Rapid(Point::new(1.0, 1.0)), Motion::Line(Point::new(2.0, 1.0))];
    marked.strokes.insert(
        0,
        Stroke { layer: Layer::Punch, address: String::new(), number: 9, motions: mark },
    );
    let made = beam_program(&marked, &ground, &setting(), &machine()).unwrap();
    assert_eq!(
        lit(&made.runs[0]),
        [(Role::Mark, Seg::line(Point::new(1.0, 1.0), Point::new(2.0, 1.0)))]
    );
    assert!(made.runs[0].steps.contains(&(Role::Mark, Step::Power(0.05))));
    let without = CutSetting { mark_power: None, ..setting() };
    let made = beam_program(&marked, &ground, &without, &machine()).unwrap();
    assert_eq!(made.runs.len(), 5);
    assert!(made.told.iter().any(|l| l.starts_with("marks: 1 strokes left out")));
}
