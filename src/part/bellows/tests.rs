//! Whole bellows, from measures to members.

use super::*;
use crate::fault::Place;
use crate::part::measures::Value;
use crate::units::{Length, Quality, Quantity};
use approx::assert_relative_eq;

fn length(text: &str) -> Value {
    Value::Length(Length::parse(text, None).unwrap())
}

/// Measures of a bellows, then its companions, each `name: key = value, …`.
fn bellows(
    given: &[(&'static str, &str)],
    companions: &[(&'static str, &[(&'static str, &str)])],
) -> Measures {
    let place = Place::head(&std::sync::Arc::from("job.toml"));
    let value = |key: &str, text: &str| match key {
        "boards" => {
            Value::Word(["wedge", "parallel", "double"].into_iter().find(|w| *w == text).unwrap())
        }
        "form" => {
            Value::Word(["strip", "taper", "pieces"].into_iter().find(|w| *w == text).unwrap())
        }
        "folds" => Value::Word(["in", "out"].into_iter().find(|w| *w == text).unwrap()),
        "tuck" => Value::Word(["side", "end"].into_iter().find(|w| *w == text).unwrap()),
        "span-is" => Value::Word(["inside", "outside"].into_iter().find(|w| *w == text).unwrap()),
        "pleats" | "count" => Value::Count(text.parse().unwrap()),
        "vacuum" => Value::Quantity(Quantity::parse(text, Quality::Pressure).unwrap()),
        "force" => Value::Quantity(Quantity::parse(text, Quality::Force).unwrap()),
        "corner-angle" | "rib-angle" => {
            Value::Quantity(Quantity::parse(text, Quality::Angle).unwrap())
        }
        _ => length(text),
    };
    let mut m = Measures::new(place.clone());
    for (key, text) in given {
        m.set(key, value(key, text), place.clone());
    }
    for (name, keys) in companions {
        let mut own = Measures::new(place.clone());
        for (key, text) in *keys {
            own.set(key, value(key, text), place.clone());
        }
        m.set(name, Value::Tables([own].into()), place.clone());
    }
    m
}

fn names(made: &Developed) -> Vec<String> {
    made.members.iter().map(|m| m.name.map_or(String::new(), |n| n.to_string())).collect()
}

const PUMP: &[(&str, &str)] = &[
    ("length", "16 in"),
    ("width", "13 in"),
    ("board", "3/4 in"),
    ("span", "6 in"),
    ("span-is", "inside"),
    ("overlap", "3 in"),
];

fn inches(member: &Member) -> (f64, f64) {
    let b = member.shape.bounds();
    (b.width() / 25.4, b.height() / 25.4)
}

fn named<'a>(made: &'a Developed, name: &str) -> &'a Member {
    made.members.iter().find(|m| m.name.is_some_and(|n| n.to_string() == name)).unwrap()
}

fn noted(member: &Member, label: &str) -> f64 {
    member.sum.iter().find(|t| t.label == label).unwrap().value
}

// Cards by inward offset of the half panels, checked with a polygon offset.
#[test]
fn cards_of_a_pump() {
    for (inset, end, triangle) in
        [("1/16 in", (12.875, 2.875), 15.16563), ("1/8 in", (12.75, 2.75), 14.33126)]
    {
        let made = develop(&bellows(PUMP, &[("card", &[("inset", inset)])]));
        assert!(!any_error(&made.faults), "{:?}", made.faults);
        assert_eq!(names(&made)[1..], ["card-1", "card-2", "card-3", "card-4", "card-5", "card-6"]);
        let card = inches(named(&made, "card-1"));
        assert_relative_eq!(card.0, end.0, max_relative = 1e-5);
        assert_relative_eq!(card.1, end.1, max_relative = 1e-5);
        let long = noted(named(&made, "card-3"), "long side") / 25.4;
        assert_relative_eq!(long, triangle, max_relative = 1e-5);
    }
    let mut given = PUMP.to_vec();
    given.push(("tuck", "end"));
    let made = develop(&bellows(&given, &[("card", &[("inset", "1/8 in")])]));
    let end = named(&made, "card-1");
    assert_relative_eq!(noted(end, "long side") / 25.4, 12.46876, max_relative = 1e-5);
    assert_relative_eq!(
        noted(named(&made, "card-3"), "long side") / 25.4,
        14.52737,
        max_relative = 1e-5
    );
    let top = end.shape.outline().segs();
    let short = top.iter().find(|s| s.a.y.abs() < 1e-9 && s.b.y.abs() < 1e-9).unwrap();
    assert_relative_eq!((short.b - short.a).hypot() / 25.4, 7.919329, max_relative = 1e-5);
    // What is told is what is cut: the level side, not the slanting end.
    assert_relative_eq!(noted(end, "short side") / 25.4, 7.919329, max_relative = 1e-5);
    // The triangle of a side, its shortest side by the crease: worked with it.
    let triangle = named(&made, "card-3");
    assert_relative_eq!(noted(triangle, "short side") / 25.4, 2.723882, max_relative = 1e-5);
}

// Gusset of ribs 3 in wide cut at 45 degrees between parallel boards: flush 6 x 6 in; with a lap of 1/2 in 7.414214.
#[test]
fn gussets_of_a_box() {
    let given = [
        ("boards", "parallel"),
        ("form", "pieces"),
        ("length", "16 in"),
        ("width", "13 in"),
        ("board", "3/4 in"),
        ("span", "6 in"),
        ("span-is", "inside"),
    ];
    let made = develop(&bellows(&given, &[("gusset", &[("lap", "1/2 in")])]));
    assert!(!any_error(&made.faults), "{:?}", made.faults);
    let gusset = named(&made, "gusset-4");
    assert_relative_eq!(inches(gusset).0, 7.414214, max_relative = 1e-6);
    assert_relative_eq!(inches(gusset).1, 7.414214, max_relative = 1e-6);
    let made = develop(&bellows(&given, &[("gusset", &[("corner-angle", "60 deg")])]));
    let least = inches(named(&made, "gusset-1"));
    assert_relative_eq!(least.0, 7.348469, max_relative = 1e-6);
    assert_relative_eq!(least.1, 4.242641, max_relative = 1e-6);
    let made = develop(&bellows(&given, &[("gusset", &[("corner-angle", "59 deg")])]));
    assert!(any_error(&made.faults), "a gusset that binds");
}

// Box 12 x 8, span 4 in one pleat, inset 1/16: worked by inward offset. Exhauster strip: see below.
#[test]
fn cards_of_a_box() {
    let given = [
        ("boards", "parallel"),
        ("length", "12 in"),
        ("width", "8 in"),
        ("board", "3/4 in"),
        ("span", "4 in"),
        ("span-is", "inside"),
        ("tuck", "end"),
        ("overlap", "3 in"),
    ];
    let made = develop(&bellows(&given, &[("card", &[("inset", "1/16 in")])]));
    assert!(!any_error(&made.faults), "{:?}", made.faults);
    assert_eq!(made.members.len(), 9);
    assert_relative_eq!(inches(named(&made, "card-5")).0, 11.875, max_relative = 1e-6);
    assert_relative_eq!(inches(named(&made, "card-5")).1, 1.875, max_relative = 1e-6);
    assert_relative_eq!(
        noted(named(&made, "card-1"), "long side") / 25.4,
        7.698223,
        max_relative = 1e-6
    );
    assert_relative_eq!(inches(&made.members[0]).0, 43.0, max_relative = 1e-9);
}

// The printed rule for an exhauster, boards 16 x 13 and 3 in of overlap: 2 x (16 + 13) + 3 = 61 in. The true centre
// line is shorter, since the side panels are L cos α high: 60.43247 in.
#[test]
fn the_exhauster_strip_and_its_printed_rule() {
    let made = develop(&bellows(PUMP, &[]));
    let long = inches(&made.members[0]).0;
    assert_relative_eq!(long, 60.43247, max_relative = 1e-6);
    let alpha = (3.0_f64 / 16.0).asin();
    assert_relative_eq!(61.0 - long, 2.0 * 16.0 * (1.0 - alpha.cos()), max_relative = 1e-9);
}

// Motor cloth as printed in MMD 2010.02.01.09: open end 2 5/8 in, cloth 3 1/2 in wide: 7/8 in for two boards and trim.
#[test]
fn the_width_of_motor_cloth() {
    let given = [
        ("length", "4 in"),
        ("width", "3 1/4 in"),
        ("board", "5/16 in"),
        ("span", "2 5/8 in"),
        ("span-is", "inside"),
        ("trim", "1/8 in"),
        ("pivot-gap", "1/4 in"),
    ];
    let made =
        develop(&bellows(&given, &[("patch", &[("length", "2 3/4 in"), ("width", "2 in")])]));
    assert!(!any_error(&made.faults), "{:?}", made.faults);
    assert_relative_eq!(
        noted(&made.members[0], "width at the open end") / 25.4,
        3.5,
        max_relative = 1e-9
    );
    assert_eq!(names(&made), ["", "patch"]);
}

#[test]
fn a_double_bellows_has_a_strip_for_each_wedge() {
    let given = [
        ("boards", "double"),
        ("length", "5 in"),
        ("width", "3 in"),
        ("board", "1/4 in"),
        ("leaf", "1/2 in"),
        ("span", "2 in"),
        ("span-is", "inside"),
        ("form", "taper"),
    ];
    let made = develop(&bellows(&given, &[("hinge", &[("leaf", "3/8 in")])]));
    assert!(!any_error(&made.faults), "{:?}", made.faults);
    assert_eq!(names(&made), ["first", "second", "hinge-1", "hinge-2"]);
    assert_relative_eq!(
        noted(&made.members[0], "width at the open end") / 25.4,
        2.5,
        max_relative = 1e-9
    );
}

#[test]
fn what_cannot_be_is_refused() {
    let with = |key: &'static str, text: &'static str| {
        let mut given = PUMP.to_vec();
        given.retain(|(k, _)| *k != key);
        given.push((key, text));
        given
    };
    for (given, companions, said) in [
        (with("pleats", "2"), vec![], "has no `pleats`"),
        (with("span", "40 in"), vec![], "is not possible here"),
        (with("width", "4 in"), vec![], "it cannot close"),
        (with("rest", "7 in"), vec![], "is not possible with a full span"),
        (with("stroke", "1 in"), vec![], "needs `finger`"),
        (with("force", "3 N"), vec![], "needs `vacuum`"),
        (with("boards", "double"), vec![], "needs `leaf`"),
        (with("lap", "1 in"), vec![], "has no `lap`"),
        (PUMP.to_vec(), vec![("card", &[("inset", "4 in")][..])], "leaves nothing"),
        (PUMP.to_vec(), vec![("gusset", &[][..])], "has no `gusset`"),
        (PUMP.to_vec(), vec![("patch", &[][..])], "a patch needs"),
        (PUMP.to_vec(), vec![("patch", &[("diameter", "1 in"), ("count", "0")][..])], "0 patches"),
    ] {
        let made = develop(&bellows(&given, &companions));
        assert!(made.members.is_empty(), "{said}");
        assert!(
            made.faults.iter().any(|f| f.is_error() && f.text.contains(said)),
            "{said}: {:?}",
            made.faults
        );
    }
}

#[test]
fn what_is_wanted_is_compared() {
    let given = [
        ("length", "4 7/8 in"),
        ("width", "15/16 in"),
        ("board", "3/16 in"),
        ("span", "7/8 in"),
        ("span-is", "inside"),
        ("rest", "13/16 in"),
        ("closed", "1/16 in"),
        ("finger", "6 1/2 in"),
        ("vacuum", "20 inH2O"),
    ];
    let stroke = |want: &'static str| {
        let mut given = given.to_vec();
        given.push(("stroke", want));
        develop(&bellows(&given, &[]))
    };
    // Stroke 1.000268 in at the finger, worked by plane geometry.
    let made = stroke("1 in");
    assert!(!made.faults.iter().any(|f| f.code == "W41"));
    assert_relative_eq!(
        noted(&made.members[0], "stroke at the finger") / 25.4,
        1.000268,
        max_relative = 1e-6
    );
    crate::fault::tells(stroke("1/2 in").faults.iter().map(|f| f.code), "W41");
    let mut with = given.to_vec();
    with.push(("force", "9 N"));
    assert!(develop(&bellows(&with, &[])).faults.iter().any(|f| f.code == "W41"));
}

/// Half opening angle and ribs for which no gusset serves: the cure names an angle that does serve.
#[test]
fn a_cure_for_ribs_holds() {
    let typed = |rib: &'static str| {
        let mut all = PUMP[..3].to_vec();
        all.extend([("span", "9 in"), ("span-is", "inside"), ("form", "pieces")]);
        bellows(&all, &[("gusset", &[("rib-angle", rib)])])
    };
    let made = develop(&typed("65 deg"));
    let cure = made.faults.iter().find_map(|f| f.cure.clone()).unwrap();
    let angle = cure.split(' ').find_map(|word| word.parse::<f64>().ok()).unwrap();
    let at = |rib: f64| format!("{rib:.1} deg").leak() as &'static str;
    assert!(!any_error(&develop(&typed(at(angle))).faults), "{cure}");
    assert!(any_error(&develop(&typed(at(angle + 0.1))).faults), "{cure}");
}

#[test]
fn creases_stay_on_the_cloth_and_spans_in_their_order() {
    for (more, key) in [
        (vec![("rest", "1 in"), ("closed", "2 in")], "`rest` 25.40 mm is less than `closed`"),
        (vec![("cloth", "3/4 in")], "cloth of 19.05 mm on boards of 19.05 mm"),
        (vec![("pivot-gap", "13.3 in")], "creases run past cloth that stops"),
    ] {
        let mut all = PUMP[..5].to_vec();
        all.extend(more);
        let made = develop(&bellows(&all, &[]));
        assert_eq!(made.faults.iter().filter(|f| f.is_error()).count(), 1, "{:?}", made.faults);
        assert!(made.faults.iter().any(|f| f.text.contains(key)), "{:?}", made.faults);
    }
    // The side's fold meets the middle line 13.23472 in from the pivot (x = 2.481511 of 15.71623 in).
    let mut all = PUMP[..5].to_vec();
    all.push(("pivot-gap", "13.2 in"));
    assert!(!any_error(&develop(&bellows(&all, &[])).faults));
    // A gap nearly as wide as the opening: creases at less than 22.5 degrees run past the hinge.
    let wide = [("length", "100 mm"), ("width", "600 mm"), ("board", "5 mm"), ("span", "120 mm")];
    let mut all = wide.to_vec();
    all.extend([("span-is", "inside"), ("hinge-gap", "95 mm"), ("folds", "out")]);
    let made = develop(&bellows(&all, &[]));
    assert!(made.faults.iter().any(|f| f.text.contains("past the hinge")), "{:?}", made.faults);
    let low = [("length", "150 mm"), ("width", "160 mm"), ("board", "5 mm"), ("span", "100 mm")];
    let mut all = low.to_vec();
    all.extend([("span-is", "inside"), ("boards", "parallel"), ("form", "pieces")]);
    let made = develop(&bellows(&all, &[("gusset", &[("rib-angle", "20 deg")])]));
    assert!(made.faults.iter().any(|f| f.text.contains("lose 274.75 mm")), "{:?}", made.faults);
}
