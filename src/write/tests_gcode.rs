//! G-code read back by a reader of the tests' own.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    clippy::float_cmp,
    reason = "small counts drawn by chance, figures as they were written"
)]

use super::gcode::{Unwritable, cut_gcode};
use super::manifest::{Manifest, hash};
use super::tests::Chance;
use super::tests_reader::read;
use crate::fault::Place;
use crate::geom::{Point, Seg};
use crate::machine::{KnifePlate, LaserPlate, Machine, Process};
use crate::material::Source;
use crate::plan::{CutPlan, Layer, Level, Motion, Program, Role, Row, Run, Step, Stroke, Time};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How often a random test runs: so often, times `POUCHWORK_TRIALS`.
fn trials(often: f64) -> usize {
    let times = std::env::var("POUCHWORK_TRIALS").ok().and_then(|t| t.parse::<f64>().ok());
    (often * times.unwrap_or(1.0)).ceil() as usize
}

fn machine(process: Process) -> Machine {
    let place = Place::head(&Arc::from("m.toml"));
    let laser = LaserPlate {
        wavelength: 450.0,
        power: 10.0,
        class: "4".into(),
        enclosed: false,
        extraction: "outdoors".into(),
        beam_word: Some("M3".into()),
        full_power_word: Some(1000.0),
        divergence: None,
        beam_diameter: None,
        interlock: None,
    };
    let knife = KnifePlate {
        offset: 0.25,
        tip_tolerance: 0.02,
        compensates: true,
        safe_height: Some(5.0),
        cut_depth: Some(1.0),
        mark_depth: None,
        swivel_height: Some(-0.1),
        lift_over: 120.0,
        overcut: 0.5,
        blade_thickness: 0.6,
        held: None,
    };
    Machine {
        key: "m".into(),
        title: "M".into(),
        process,
        width: 400.0,
        depth: 400.0,
        margin: 5.0,
        smallest_hole: 1.0,
        motion: None,
        laser: (process == Process::Laser).then_some(laser),
        knife: (process == Process::Knife).then_some(knife),
        colours: BTreeMap::new(),
        source: Source { text: "assumed".into(), place: place.clone() },
        place,
    }
}

fn plan(name: &str) -> CutPlan {
    let stroke = Stroke {
        layer: Layer::Edges,
        address: name.into(),
        number: 1,
        motions: vec![Motion::Rapid(Point::ORIGIN), Motion::Line(Point::new(1.0, 0.0))],
    };
    let row = Row {
        address: name.into(),
        x: 0.0,
        y: 0.0,
        turn: 0.0,
        mirrored: false,
        strokes: vec![1],
        size: (1.0, 1.0),
        area: 1.0,
        punches: Vec::new(),
    };
    CutPlan {
        sheet: name.into(),
        generation: 1,
        material: name.into(),
        machine: "m".into(),
        process: "laser",
        kerf: (0.2, 0.2),
        strokes: vec![stroke],
        rows: vec![row],
        page: (100.0, 100.0),
        window: None,
        dots: Vec::new(),
        warnings: vec![name.into()],
        cautions: vec![name.into()],
    }
}

fn program(steps: Vec<(Role, Step)>) -> Program {
    let run = Run { stroke: 1, layer: Layer::Edges, address: "a".into(), pass: 1, steps };
    Program {
        plan: plan("a"),
        runs: vec![run],
        time: Time::default(),
        told: Vec::new(),
        warnings: Vec::new(),
    }
}

fn lit(steps: impl IntoIterator<Item = Step>, from: Point) -> Vec<(Role, Step)> {
    let mut made = vec![Step::Rapid(from), Step::Feed(600.0), Step::Power(0.8)];
    made.extend(steps);
    made.push(Step::Power(0.0));
    made.into_iter().map(|step| (Role::Contour, step)).collect()
}

fn wrote(program: &Program, machine: &Machine) -> Result<String, Unwritable> {
    let manifest = Manifest::new(&program.plan, "a job", "lay-1", "0", &[]).with_program(program);
    cut_gcode(program, machine, &manifest)
}

/// NIST IR 6556, 3.5.3: it is an error if the two radii of an arc differ by more than 0.002 mm. And the arc that a
/// reader draws is the one that was meant.
#[test]
fn arcs_hold_their_radii_and_their_place() {
    let mut chance = Chance(5);
    let laser = machine(Process::Laser);
    let (mut astray, mut count) = (0.0_f64, 0);
    let blocks = trials(100.0);
    for _ in 0..blocks {
        let mut wanted: Vec<Seg> = Vec::new();
        let mut at = Point::new(chance.next() * 1000.0, chance.next() * 1000.0);
        let from = at;
        for _ in 0..1000 {
            let size = 10_f64.powf(chance.next() * 5.5 - 3.0);
            let angle = chance.next() * std::f64::consts::TAU;
            let to = at + crate::geom::Vec2::from_angle(angle) * size;
            // From hardly bent to half a turn, and half turns themselves.
            let bulge = match chance.next() {
                n if n < 0.1 => 1.0,
                n if n < 0.2 => -1.0,
                _ => 10_f64.powf(-6.0 * chance.next()) * (chance.next() - 0.5).signum(),
            };
            if to.x.hypot(to.y) < 5000.0 {
                wanted.push(Seg::arc(at, to, bulge));
                at = to;
            }
        }
        count += wanted.len();
        let steps = lit(wanted.iter().map(|s| Step::Arc(s.b, s.bulge)), from);
        let text = wrote(&program(steps), &laser).unwrap();
        let moves = read(&text, true).unwrap();
        // Every written motion lies on the arc that was meant, in order.
        let mut seg = 0;
        for motion in moves.iter().filter(|m| m.cuts) {
            if let Some((centre, _)) = motion.arc {
                // Half a turn at most, but for what the last figures come to.
                let radius = (motion.from.0 - centre.0).hypot(motion.from.1 - centre.1);
                assert!((motion.sweep() - std::f64::consts::PI) * radius < 5e-4, "{motion:?}");
            }
            let points = motion.points();
            let middle: Point = points[points.len() / 2].into();
            let off = |s: &Seg| s.distance_to(middle);
            while off(&wanted[seg]) > 0.0025 {
                seg += 1;
                assert!(seg < wanted.len(), "nothing wanted runs by {motion:?}");
            }
            astray = astray.max(off(&wanted[seg]));
        }
        let end: Point = moves.last().unwrap().to.into();
        assert!((end - at).hypot() < 1e-4, "{end:?} {at:?}");
    }
    assert!(count > blocks * 900 && astray <= 0.0025, "{count} arcs, astray {astray}");
}

/// The names of a file are the user's own: whatever they are, the words outside the comments stay the same.
#[test]
fn names_add_no_word() {
    const NASTY: &[&str] = &[
        ")",
        "(",
        "M3 S1000",
        ") M3 S1000 (",
        "\n",
        "\r",
        "G0",
        "%",
        ";",
        "MSG,",
        "é",
        "中",
        "\u{2028}",
        "#1=2",
        "/",
        "\\",
        "'",
        "\"",
        "*",
        "<",
        "&",
        "\0",
        "\t",
        "O100",
        "[",
        "]",
        "$H",
        "!",
        "~",
        "?",
    ];
    let laser = machine(Process::Laser);
    let steps = || {
        lit([Step::Line(Point::new(5.0, 5.0)), Step::Arc(Point::new(0.0, 5.0), 1.0)], Point::ORIGIN)
    };
    let bare = |text: &str| -> Vec<String> {
        text.lines().filter(|l| !l.starts_with('(')).map(str::to_owned).collect()
    };
    let plain = bare(&wrote(&program(steps()), &laser).unwrap());
    let mut chance = Chance(17);
    for _ in 0..trials(10_000.0) {
        let mut name = String::new();
        for _ in 0..=(chance.next() * 8.0) as usize {
            match chance.next() {
                n if n < 0.5 => name.push_str(NASTY[(chance.next() * NASTY.len() as f64) as usize]),
                n if n < 0.6 => name.push_str(&"long ".repeat((chance.next() * 80.0) as usize)),
                _ => name.extend(char::from_u32((chance.next() * 12_288.0) as u32)),
            }
        }
        let mut named = program(steps());
        named.plan = plan(&name);
        named.runs[0].address.clone_from(&name);
        named.told.push(name.clone());
        let text = wrote(&named, &laser).unwrap();
        assert!(read(&text, true).is_ok_and(|moves| moves.len() == 3), "{name:?}\n{text}");
        assert_eq!(bare(&text), plain, "{name:?}");
    }
}

#[test]
fn a_file_as_expected() {
    let steps = vec![
        (Role::Lead, Step::Power(0.0)),
        (Role::Lead, Step::Wait(1.25)),
        (Role::Lead, Step::Rapid(Point::new(1.0, -0.000_01))),
        (Role::Lead, Step::Feed(600.0)),
        (Role::Lead, Step::Power(0.8)),
        (Role::Lead, Step::Arc(Point::new(2.0, 1.0), -0.414_213_562_373_095)),
        (Role::Contour, Step::Line(Point::new(2.0, 1.000_01))),
        (Role::Contour, Step::Line(Point::new(7.0, 1.0))),
        (Role::Tab, Step::Power(0.0)),
        (Role::Tab, Step::Rapid(Point::new(7.6, 1.0))),
        (Role::Contour, Step::Power(0.8)),
        (Role::Contour, Step::Line(Point::new(9.0, 1.0))),
        (Role::Contour, Step::Power(0.0)),
    ];
    let text = wrote(&program(steps), &machine(Process::Laser)).unwrap();
    let body = text.split_once("G21\n").unwrap().1;
    let wanted = "G90\nG94\nG17\nG40\nM5 S0\n( stroke 1 EDGES pass 1 )\n( lead )\nM5 S0\nG4 P1.25\nM5 S0\n\
        G0 X1.0000 Y0.0000\nM3 S800\nG2 X2.0000 Y1.0000 I1.0000 J0.0000 F600\n( contour )\nG1 X7.0000 Y1.0000\n\
        ( tab )\nM5 S0\nG0 X7.6000 Y1.0000\n( contour )\nM3 S800\nG1 X9.0000 Y1.0000\nM5 S0\nM2\n";
    assert_eq!(body, wanted);
    let cut = read(&text, true).unwrap().into_iter().find(|m| m.cuts).unwrap();
    assert_eq!((cut.power, cut.feed, cut.role.as_str()), (800.0, 600.0, "lead"));
    assert_eq!(cut.stroke, "stroke 1 EDGES pass 1");
    // The hash of the body is over every byte after the manifest.
    let claimed = text.lines().find_map(|l| l.strip_prefix("( body: sha256 ")).unwrap();
    assert_eq!(claimed.trim_end_matches(" )"), hash(format!("G21\n{body}").as_bytes()));
    assert!(text.contains("( length: cut ") && text.contains("( passes: 1 )"));
    assert!(!text.contains("drawing:"));
}

#[test]
fn a_knife_goes_down_after_it_has_a_place() {
    let steps = |last: Step| {
        let at = Point::new(3.0, 4.0);
        vec![
            Step::Rapid(at),
            Step::Feed(1200.0),
            Step::Level(Level::Cut(1)),
            Step::Line(Point::new(9.0, 4.0)),
            Step::Level(Level::Swivel),
            Step::Swivel(Point::new(9.25, 4.25), 0.414_213_562_373_095),
            Step::Level(Level::Cut(1)),
            last,
            Step::Level(Level::Safe),
        ]
        .into_iter()
        .map(|step| (Role::Contour, step))
        .collect()
    };
    let knife = machine(Process::Knife);
    let text = wrote(&program(steps(Step::Line(at(9.25, 8.0)))), &knife).unwrap();
    let body = text.split_once("G40\n").unwrap().1;
    let wanted = "G0 Z5.0000\n( stroke 1 EDGES pass 1 )\n( contour )\nG0 X3.0000 Y4.0000\nG1 Z-1.0000 F1200\n\
        G1 X9.0000 Y4.0000\nG1 Z-0.1000\nG3 X9.2500 Y4.2500 I0.0000 J0.2500\nG1 Z-1.0000\nG1 X9.2500 Y8.0000\n\
        G0 Z5.0000\nG0 Z5.0000\nM2\n";
    assert_eq!(body, wanted);
    assert_eq!(read(&text, false).unwrap().len(), 4);
    for wrong in
        [Step::Power(0.5), Step::Wait(1.0), Step::Rapid(at(0.0, 0.0)), Step::Level(Level::Mark)]
    {
        assert!(wrote(&program(steps(wrong)), &knife).is_err(), "{wrong:?}");
    }
}

fn at(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

#[test]
fn what_can_not_be_said_is_refused() {
    let laser = machine(Process::Laser);
    let good = || lit([Step::Line(at(5.0, 5.0))], Point::ORIGIN);
    assert!(wrote(&program(good()), &laser).is_ok());
    let mut wordless = laser.clone();
    wordless.laser.as_mut().unwrap().beam_word = None;
    let why = wrote(&program(good()), &wordless).unwrap_err();
    assert!(why.text.contains("beam-word") && why.cure.contains("M3"), "{why:?}");
    let mut powerless = laser.clone();
    powerless.laser.as_mut().unwrap().full_power_word = None;
    assert!(wrote(&program(good()), &powerless).is_err());
    for wrong in [
        Step::Rapid(at(1.0, 1.0)),
        Step::Swivel(at(1.0, 1.0), 0.5),
        Step::Level(Level::Safe),
        Step::Wait(1.0),
        Step::Feed(0.0),
        Step::Power(1.5),
        Step::Power(1e-9),
        Step::Line(at(f64::NAN, 0.0)),
        Step::Line(at(0.0, 1e9)),
        Step::Arc(at(1.0, 1.0), 1.5),
    ] {
        let steps = lit([Step::Line(at(5.0, 5.0)), wrong], Point::ORIGIN);
        assert!(wrote(&program(steps), &laser).is_err(), "{wrong:?}");
    }
    // A cut without a feed, with the beam off, and a run that leaves the beam on.
    for gone in [1, 2, 4] {
        let mut steps = good();
        steps.remove(gone);
        assert!(wrote(&program(steps), &laser).is_err(), "{gone}");
    }
    let mut knife = machine(Process::Knife);
    knife.knife.as_mut().unwrap().safe_height = None;
    assert!(wrote(&program(Vec::new()), &knife).is_err());
}
