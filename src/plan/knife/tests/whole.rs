//! Whole programs of a knife: a blade is pulled from the first cut to the last, whichever way it points at first.

use super::*;
use crate::fault::Place;
use crate::geom::Rect;
use crate::machine::{HeldSide, KnifePlate, Machine, Process};
use crate::material::{CutSetting, Source};
use crate::plan::ground::{Ground, Lain};
use crate::plan::{CutPlan, Layer, Motion, Program, Stroke, knife_program};
use std::sync::Arc;

fn plate() -> KnifePlate {
    KnifePlate {
        offset: 0.25,
        tip_tolerance: 0.02,
        compensates: false,
        safe_height: Some(5.0),
        cut_depth: Some(1.0),
        mark_depth: Some(0.1),
        swivel_height: Some(-0.1),
        lift_over: 120.0,
        overcut: 0.5,
        blade_thickness: 0.1,
        held: None,
    }
}

fn machine(knife: KnifePlate) -> Machine {
    Machine {
        key: "m".into(),
        title: "M".into(),
        process: Process::Knife,
        width: 400.0,
        depth: 400.0,
        margin: 5.0,
        smallest_hole: 2.0,
        motion: None,
        laser: None,
        knife: Some(knife),
        colours: BTreeMap::new(),
        source: source(),
        place: source().place,
    }
}

fn source() -> Source {
    Source { text: "assumed".into(), place: Place::head(&Arc::from("x.toml")) }
}

fn setting(passes: u32) -> CutSetting {
    CutSetting {
        on: "knife".into(),
        kerf_x: 0.0,
        kerf_y: 0.0,
        gap: 0.5,
        edge: 3.0,
        least_web: 1.0,
        power: None,
        feed: Some(20.0),
        mark_power: None,
        mark_feed: None,
        passes,
        tabs: 0.0,
        tabs_on_soft: false,
        heat: None,
        char_trim: 0.0,
        source: source(),
        place: source().place,
    }
}

fn stroke(layer: Layer, address: &str, line: &Loop) -> Stroke {
    let hole = layer == Layer::Holes;
    let motions = match line {
        Loop::Circle(c, r) => {
            vec![Motion::Rapid(Point::new(c.x + r, c.y)), Motion::Circle(*c, *r, hole)]
        }
        Loop::Chain(_) => {
            let segs = if hole { line.backward() } else { line.segs() };
            let rest = segs
                .iter()
                .map(|s| if s.is_line() { Motion::Line(s.b) } else { Motion::Arc(s.b, s.bulge) });
            std::iter::once(Motion::Rapid(segs[0].a)).chain(rest).collect()
        }
    };
    Stroke { layer, address: address.into(), number: 0, motions }
}

fn plan(mut strokes: Vec<Stroke>) -> CutPlan {
    for (n, stroke) in (1..).zip(&mut strokes) {
        stroke.number = n;
    }
    CutPlan {
        sheet: "s".into(),
        generation: 0,
        material: "skin".into(),
        machine: "m".into(),
        process: "knife",
        kerf: (0.0, 0.0),
        strokes,
        rows: Vec::new(),
        page: (300.0, 300.0),
        window: None,
        dots: Vec::new(),
        warnings: Vec::new(),
        cautions: Vec::new(),
    }
}

fn ground(sheet: &Loop) -> Ground {
    let bed = Rect::new(0.0, 0.0, 390.0, 390.0);
    Ground::new(Vec::new(), std::slice::from_ref(sheet), bed, (0.0, 0.0)).on_sheet(sheet.clone())
}

fn sheet() -> Loop {
    rectangle(Point::ORIGIN, 200.0, 120.0, 0.0).unwrap()
}

/// Greatest distance of the tip from its line while it cuts a contour, and of a line from what the tip cut; the tip never
/// leaves the sheet.
fn pulled(program: &Program, heading: f64) -> Error {
    let mut blade = Pulled { offset: 0.25, pivot: Point::ORIGIN, heading: heading.to_radians() };
    let mut error = Error::default();
    let sheet = sheet();
    let mut trails: BTreeMap<u32, Vec<Point>> = BTreeMap::new();
    for run in &program.runs {
        let own = program.plan.strokes.iter().find(|s| s.number == run.stroke).unwrap().segs();
        let boxes: Vec<_> = own.iter().map(Seg::bounds).collect();
        let mut last = 0;
        for (role, step) in &run.steps {
            let along = match *step {
                Step::Rapid(to) => {
                    blade.pivot = to;
                    continue;
                }
                Step::Line(to) => Seg::line(blade.pivot, to),
                Step::Arc(to, bulge) | Step::Swivel(to, bulge) => Seg::arc(blade.pivot, to, bulge),
                _ => continue,
            };
            if *role != Role::Lead {
                trails.entry(run.stroke).or_default().push(blade.tip());
            }
            blade.pull(&along, 0.02, |tip, _| {
                assert!(crate::geom::point_in_loop(tip, &sheet) == crate::geom::Where::Inside);
                if matches!(role, Role::Contour | Role::Mark) {
                    error.tip = error.tip.max(distance(&own, &boxes, &mut last, tip));
                }
                if *role != Role::Lead {
                    trails.entry(run.stroke).or_default().push(tip);
                }
            });
        }
    }
    for stroke in program.plan.strokes.iter().filter(|s| trails.contains_key(&s.number)) {
        error.uncut = error.uncut.max(uncut(&stroke.segs(), &trails[&stroke.number]));
    }
    error
}

fn cross(at: Point) -> Stroke {
    let p = |dx: f64, dy: f64| Point::new(at.x + dx, at.y + dy);
    Stroke {
        layer: Layer::Dots,
        address: String::new(),
        number: 0,
        motions: vec![
            Motion::Rapid(p(-1.0, 0.0)),
            Motion::Line(p(1.0, 0.0)),
            Motion::Rapid(p(0.0, -1.0)),
            Motion::Line(p(0.0, 1.0)),
        ],
    }
}

/// Disks half a millimetre apart, as they lie on a skin, with holes; a strip, a spike and a dot.
fn crowd() -> CutPlan {
    let mut strokes = vec![cross(Point::new(190.0, 110.0))];
    let mut edges = Vec::new();
    for i in 0..4 {
        for j in 0..3 {
            let at = Point::new(20.0 + 20.5 * f64::from(i), 20.0 + 20.5 * f64::from(j));
            let name = format!("p:{i}-{j}");
            strokes.push(stroke(Layer::Holes, &name, &Loop::Circle(at, 1.5)));
            edges.push(stroke(Layer::Edges, &name, &Loop::Circle(at, 10.0)));
        }
    }
    edges.push(stroke(
        Layer::Edges,
        "strip:1",
        &rectangle(Point::new(20.0, 90.0), 90.0, 8.0, 0.0).unwrap(),
    ));
    let spike = polygon(&points(&[(120.0, 20.0), (160.0, 20.0), (120.0, 26.0)])).unwrap();
    edges.push(stroke(Layer::Edges, "spike:1", &spike));
    strokes.extend(edges);
    plan(strokes)
}

#[test]
fn the_tip_keeps_to_every_line_whichever_way_it_points_at_first() {
    for passes in [1, 2] {
        for (mark_depth, swivel_height) in [(Some(0.1), Some(-0.1)), (None, None)] {
            let machine = machine(KnifePlate { mark_depth, swivel_height, ..plate() });
            let made =
                knife_program(&crowd(), &ground(&sheet()), &setting(passes), &machine).unwrap();
            assert_eq!(made.warnings, []);
            // A blade that cannot be raised a little never stands at that height.
            let high = made.runs.iter().flat_map(|r| &r.steps);
            let high = high.filter(|(_, step)| *step == Step::Level(Level::Swivel)).count();
            assert_eq!(high > 0, swivel_height.is_some(), "{high}");
            // Straight back is left out: no blade stands so.
            for heading in (0..12).map(|k| 7.0 + 31.0 * f64::from(k)) {
                let error = pulled(&made, heading);
                assert!(error.worst() <= 0.02, "{passes} {swivel_height:?} {heading}: {error:?}");
            }
            // Every contour in every pass, the passes of one after one another.
            let mut seen: Vec<(u32, u32)> = made.runs.iter().map(|r| (r.stroke, r.pass)).collect();
            seen.dedup();
            let cuts = made.plan.strokes.iter().filter(|s| s.layer != Layer::Dots).count();
            let marks = usize::from(mark_depth.is_some());
            assert_eq!(seen.len(), cuts * passes as usize + marks);
            assert_eq!(made.told.iter().any(|l| l.starts_with("marks: 1 ")), mark_depth.is_none());
        }
    }
}

#[test]
fn swivels_go_slower_and_the_feed_comes_back() {
    let made = knife_program(&crowd(), &ground(&sheet()), &setting(1), &machine(plate())).unwrap();
    for run in &made.runs {
        let mut feed = 0.0;
        for (_, step) in &run.steps {
            match step {
                Step::Feed(now) => feed = *now,
                Step::Swivel(..) => assert!((feed - 600.0).abs() < 1e-9),
                Step::Line(_) | Step::Arc(..) => assert!((feed - 1200.0).abs() < 1e-9),
                _ => {}
            }
        }
    }
    assert!(made.time.total > 0.0);
}

#[test]
fn a_sheet_held_on_one_side_is_cut_from_the_far_side() {
    let disk = |x: f64, y: f64, name: &str| {
        [
            stroke(Layer::Holes, name, &Loop::Circle(Point::new(x, y), 2.0)),
            stroke(Layer::Edges, name, &Loop::Circle(Point::new(x, y), 8.0)),
        ]
    };
    let all = [disk(20.0, 20.0, "a:1"), disk(180.0, 20.0, "a:2"), disk(20.0, 105.0, "a:3")];
    let plan = plan(all.into_iter().flatten().collect());
    for (held, wanted) in [
        (HeldSide::Left, ["a:2", "a:1", "a:3"]),
        (HeldSide::Right, ["a:1", "a:3", "a:2"]),
        (HeldSide::Front, ["a:3", "a:1", "a:2"]),
        (HeldSide::Back, ["a:1", "a:2", "a:3"]),
    ] {
        let machine = machine(KnifePlate { held: Some(held), ..plate() });
        let made = knife_program(&plan, &ground(&sheet()), &setting(1), &machine).unwrap();
        let mut told: Vec<&str> = made.runs.iter().map(|r| r.address.as_str()).collect();
        told.dedup();
        let far = |name: &&str| {
            let at = wanted.iter().position(|w| w == name).unwrap();
            // Those in one band come in whichever order is shorter.
            match held {
                HeldSide::Left | HeldSide::Front => at.min(1),
                HeldSide::Right | HeldSide::Back => at / 2,
            }
        };
        assert!(told.windows(2).all(|two| far(&two[0]) <= far(&two[1])), "{held:?}: {told:?}");
        let hole = |name: &str| {
            let of = |layer| made.runs.iter().position(|r| r.address == name && r.layer == layer);
            of(Layer::Holes) < of(Layer::Edges)
        };
        assert!(wanted.iter().all(|name| hole(name)));
    }
}

#[test]
fn what_stands_against_a_program_is_told() {
    // Nowhere a straight way of 2.3 mm: the sheet is hardly larger than its one piece.
    let disk = plan(vec![stroke(Layer::Edges, "a:1", &Loop::Circle(Point::new(10.0, 10.0), 8.0))]);
    let tight = Loop::Circle(Point::new(10.0, 10.0), 8.3);
    let shape = crate::geom::Shape::plain(Loop::Circle(Point::new(10.0, 10.0), 8.0));
    let lain = vec![Lain { address: "a:1".into(), shape, soft: false }];
    let bed = Rect::new(0.0, 0.0, 390.0, 390.0);
    let full = Ground::new(lain, std::slice::from_ref(&tight), bed, (0.0, 0.0)).on_sheet(tight);
    let fault = knife_program(&disk, &full, &setting(1), &machine(plate())).unwrap_err();
    assert_eq!(fault.code, "E57");
    assert!(fault.text.contains("2.3 mm"), "{}", fault.text);
    // A hole narrower than twice the offset is cut, and told.
    let slit = plan(vec![
        stroke(Layer::Holes, "a:1", &Loop::Circle(Point::new(30.0, 30.0), 0.24)),
        stroke(Layer::Edges, "a:1", &Loop::Circle(Point::new(30.0, 30.0), 8.0)),
    ]);
    let made = knife_program(&slit, &ground(&sheet()), &setting(1), &machine(plate())).unwrap();
    assert!(made.warnings.iter().all(|w| w.code == "W51") && made.warnings.len() == 2);
    crate::fault::tells(made.warnings.iter().map(|w| w.code), "W51");
    let thick = machine(KnifePlate { blade_thickness: 0.6, ..plate() });
    let fault = knife_program(&slit, &ground(&sheet()), &setting(1), &thick).unwrap_err();
    assert!(fault.code == "E57" && fault.text.contains("a:1"), "{}", fault.text);
    // For a machine that compensates the line itself is written, with its overcut, and no swivel.
    let own = machine(KnifePlate { compensates: true, ..plate() });
    let made = knife_program(&crowd(), &ground(&sheet()), &setting(2), &own).unwrap();
    let steps = || made.runs.iter().flat_map(|r| &r.steps);
    assert!(!steps().any(|(_, step)| matches!(step, Step::Swivel(..))));
    assert!(steps().any(|(role, _)| *role == Role::Overcut));
    assert!(made.told.iter().any(|line| line.ends_with("by the machine itself")));
}
