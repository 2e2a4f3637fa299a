//! Holes against figures from outside: printed pitches, plain trigonometry, quadrature of the lens beside `arcs`.

use crate::fault::{Fault, Place};
use crate::geom::{Loop, Point};
use crate::part::{Developed, Kind, Measures, Member, Value};
use crate::units::{Length, Quality, Quantity};
use approx::assert_relative_eq;
use std::fmt::Write as _;
use std::sync::Arc;

/// Measures typed as a line: `length=60 mm; hole=[at=10 mm|20 mm; diameter=5 mm]; holes=3`.
///
/// A figure with `|` is a point, one with `,` a list, one in brackets a table; tables of one key are gathered.
pub(in crate::part) fn measures(text: &str) -> Measures {
    let place = Place::head(&Arc::from("test"));
    let mut made = Measures::new(place.clone());
    let length = |text: &str| Length::parse_signed(text.trim(), None).expect(text);
    let mut depth = 0;
    let split = text.split(|c| {
        depth += i32::from(c == '[') - i32::from(c == ']');
        c == ';' && depth == 0
    });
    for item in split.map(str::trim).filter(|item| !item.is_empty()) {
        let (key, text) = item.split_once('=').expect(item);
        let (key, text): (&'static str, _) = (key.trim().to_owned().leak(), text.trim());
        let value = if let Some(inner) = text.strip_prefix('[') {
            let mut list = made.tables(key).to_vec();
            list.push(measures(inner.strip_suffix(']').expect(item)));
            Value::Tables(list.into())
        } else if let Some((x, y)) = text.split_once('|') {
            Value::Point(length(x), length(y))
        } else if text.contains(',') {
            Value::Lengths(text.split(',').map(length).collect())
        } else if text.ends_with("deg") {
            Value::Quantity(Quantity::parse(text, Quality::Angle).unwrap())
        } else if let Ok(count) = text.parse() {
            Value::Count(count)
        } else if text.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
            Value::Length(length(text))
        } else {
            Value::Word(text.to_owned().leak())
        };
        made.set(key, value, place.clone());
    }
    made
}

pub(in crate::part) fn developed(kind: Kind, text: &str) -> Developed {
    (kind.card().develop)(&measures(text))
}

/// The one member of sound measures; warnings are allowed.
pub(in crate::part) fn member(kind: Kind, text: &str) -> Member {
    let made = developed(kind, text);
    assert_eq!(made.members.len(), 1, "{text}: {:?}", told(&made.faults));
    made.members[0].clone()
}

pub(in crate::part) fn told(faults: &[Fault]) -> Vec<String> {
    faults.iter().map(|f| format!("{} {}", f.code, f.text)).collect()
}

/// The figure of a term.
pub(in crate::part) fn term(member: &Member, label: &str) -> f64 {
    let found: Vec<f64> = member.sum.iter().filter(|t| t.label == label).map(|t| t.value).collect();
    assert_eq!(found.len(), 1, "{label} in {:?}", member.sum);
    found[0]
}

fn circles(member: &Member) -> Vec<(Point, f64)> {
    member.shape.holes().iter().filter_map(Loop::as_circle).collect()
}

const PLATE: &str = "length=300 mm; width=60 mm;";

// 88 holes at 9 to the inch (MMD 1997.07.26.09): first to last 87/9 in.
#[test]
fn a_row_at_nine_to_the_inch() {
    let row = "row=[holes=88; first=12.7 mm|30 mm; pitch=1/9 in; diameter=1/16 in]";
    for kind in [Kind::Gasket, Kind::Strip] {
        let it = member(kind, &format!("{PLATE}{row}"));
        assert_relative_eq!(term(&it, "first centre to last"), 87.0 / 9.0 * 25.4, epsilon = 1e-9);
        let web = (1.0 / 9.0 - 1.0 / 16.0) * 25.4;
        assert_relative_eq!(term(&it, "thinnest web"), web, epsilon = 1e-9);
        assert_eq!(circles(&it).len(), 88);
    }
    // Read in hundredths, the pitch runs off by 87 x (1/9 - 0.11) in.
    let off =
        "row=[holes=88; first=12.7 mm|30 mm; pitch=0.11 in; span=245.533 mm; diameter=1/16 in]";
    let made = developed(Kind::Gasket, &format!("{PLATE}{off}"));
    let wanted = 87.0 * (0.11 - 1.0 / 9.0) * 25.4;
    let found = term(&made.members[0], "pitch error at the last hole");
    assert_relative_eq!(found, wanted, epsilon = 1e-3);
    crate::fault::tells(made.faults.iter().map(|f| f.code), "W25");
}

// Places by sine and cosine; the chord of a hexagon is its radius (Euclid IV.15).
#[test]
fn holes_on_a_circle() {
    let circle = "circle=[at=30 mm|30 mm; holes=6; across=40 mm; diameter=5 mm; start=15 deg]";
    for kind in [Kind::Gasket, Kind::Strip] {
        let it = member(kind, &format!("{PLATE}{circle}"));
        let found = circles(&it);
        assert_eq!(found.len(), 6);
        for (k, (at, r)) in found.iter().enumerate() {
            #[allow(clippy::cast_precision_loss, reason = "a count of holes")]
            let way = (15.0 + 60.0 * k as f64).to_radians();
            assert_relative_eq!(at.x, 30.0 + 20.0 * way.cos(), epsilon = 1e-9);
            assert_relative_eq!(at.y, 30.0 + 20.0 * way.sin(), epsilon = 1e-9);
            assert_relative_eq!(*r, 2.5);
        }
        assert_relative_eq!(term(&it, "centre to next centre"), 20.0, epsilon = 1e-9);
        let web = 30.0 - 20.0 * 75.0_f64.to_radians().sin() - 2.5;
        assert_relative_eq!(term(&it, "thinnest web"), web, epsilon = 1e-9);
    }
    // Silent, the first lies along the length, and the second a quarter turn on, counter-clockwise.
    let four = "circle=[at=30 mm|30 mm; holes=4; across=40 mm; diameter=5 mm]";
    let found = circles(&member(Kind::Gasket, &format!("{PLATE}{four}")));
    assert_eq!((found[0].0, found[1].0), (Point::new(50.0, 30.0), Point::new(30.0, 50.0)));
    for bad in ["holes=0; across=40 mm", "holes=3; across=0 mm", "holes=2001; across=40 mm"] {
        let text = format!("{PLATE} circle=[at=30 mm|30 mm; {bad}; diameter=5 mm]");
        assert_eq!(developed(Kind::Gasket, &text).faults[0].code, "E28", "{bad}");
    }
    // Their chord of 40 sin(180/14) = 8.9 mm is less than their diameter.
    let close = "circle=[at=30 mm|30 mm; holes=14; across=40 mm; diameter=9 mm]";
    let made = developed(Kind::Gasket, &format!("{PLATE}{close}"));
    assert!(told(&made.faults)[0].contains("run into each other"), "{:?}", told(&made.faults));
    assert!(told(&made.faults)[2].ends_with("and 11 more holes likewise"));
}

#[test]
fn windows_and_tables_of_holes() {
    let it = member(
        Kind::Gasket,
        "length=100 mm; width=60 mm; window=[at=50 mm|30 mm; length=40 mm; width=20 mm; corner=4 mm]; \
         hole-table=[x=10 mm; y=30 mm; diameter=6 mm]; hole-table=[x=90 mm; y=30 mm; diameter=6 mm]; \
         hole-table=[x=50 mm; y=8 mm; diameter=4 mm]",
    );
    let holes = it.shape.holes();
    assert_eq!(circles(&it).len(), 3);
    // A rectangle less its corners: l w - (4 - π) r².
    let wanted = 40.0 * 20.0 - (4.0 - std::f64::consts::PI) * 16.0;
    assert_relative_eq!(holes[3].area(), wanted, max_relative = 1e-12);
    let b = holes[3].bounds();
    assert_eq!((b.x0, b.y0, b.x1, b.y1), (30.0, 20.0, 70.0, 40.0));
    assert_relative_eq!(term(&it, "thinnest web"), 6.0, epsilon = 1e-9);
    for (bad, text) in [
        ("corner=11 mm", "E28 corner radius 11.00 mm on window 1, 40.00 mm by 20.00 mm"),
        ("length=0 mm", "E28 `length` is 0"),
        ("at=85 mm|30 mm", "E27 window 1 ends 5.00 mm outside the part"),
    ] {
        let window = format!("window=[at=50 mm|30 mm; length=40 mm; width=20 mm; {bad}]");
        let made = developed(Kind::Gasket, &format!("length=100 mm; width=60 mm; {window}"));
        assert_eq!(told(&made.faults), [text]);
    }
    let two = "hole-table=[x=10 mm; y=30 mm; diameter=0 mm]; hole-table=[x=300 mm; y=9 mm; diameter=6 mm]";
    let made = developed(Kind::Strip, &format!("length=100 mm; width=60 mm; {two}"));
    let wanted = ["E28 `diameter` is 0", "E27 hole 2 of the table ends 203.00 mm outside the part"];
    assert_eq!(told(&made.faults), wanted);
}

/// The area of two like circles' lens, 2r² acos(d/2r) - (d/2) √(4r² - d²): elementary geometry.
fn lens_area(r: f64, d: f64) -> f64 {
    2.0 * r * r * (d / (2.0 * r)).acos() - d / 2.0 * (4.0 * r * r - d * d).sqrt()
}

const BOARDS: &str = "length=200 mm; width=40 mm; screw=[at=6 mm|6 mm; diameter=4 mm]; slot=[at=190 mm|20 mm; length=9 mm; \
                      width=3 mm]; row=[holes=4; first=30 mm|20 mm; pitch=40 mm; diameter=10 mm];";

#[test]
fn two_boards_share_a_lens() {
    // The opposite holes lie 3 mm further and 4 mm up; 5 mm apart at a radius of 5 mm.
    let other = "opposite-row=[holes=4; first=33 mm|24 mm; pitch=40 mm; diameter=10 mm]";
    let made = developed(Kind::Gasket, &format!("{BOARDS}{other}"));
    let it = &made.members[0];
    let area = lens_area(5.0, 5.0);
    let holes = it.shape.holes();
    assert_eq!(holes.len(), 6, "four lenses, a screw and a slot");
    for (k, hole) in holes[..4].iter().enumerate() {
        assert_relative_eq!(hole.area(), area, max_relative = 1e-12);
        #[allow(clippy::cast_precision_loss, reason = "a count of holes")]
        let middle = Point::new(31.5 + 40.0 * k as f64, 22.0);
        assert_relative_eq!(hole.bounds().center().x, middle.x, epsilon = 1e-9);
        assert_relative_eq!(hole.bounds().center().y, middle.y, epsilon = 1e-9);
    }
    let share = area / (25.0 * std::f64::consts::PI) * 100.0;
    // Alike, they stand in one line; with another pitch each has its own.
    assert_relative_eq!(term(it, "hole 1 to hole 4 of the row: off centre"), 5.0, epsilon = 1e-9);
    let open = term(it, "hole 1 to hole 4 of the row: left open");
    assert_relative_eq!(open, share, epsilon = 1e-9);
    let wider = other.replace("33 mm|24 mm; pitch=40 mm", "30 mm|20 mm; pitch=41 mm");
    let spread = member(Kind::Gasket, &format!("{BOARDS}{wider}"));
    for n in 1..=4_u8 {
        let d = f64::from(n - 1);
        let share = lens_area(5.0, d) / (25.0 * std::f64::consts::PI) * 100.0;
        let name = format!("hole {n} of the row");
        assert_relative_eq!(term(&spread, &format!("{name}: off centre")), d, epsilon = 1e-9);
        assert_relative_eq!(term(&spread, &format!("{name}: left open")), share, epsilon = 1e-9);
    }
    // 39 % of a hole: each pair is pointed out, the fourth only counted.
    let codes: Vec<&str> = made.faults.iter().map(|f| f.code).collect();
    crate::fault::tells(codes.iter().copied(), "W34");
    assert_eq!(codes, ["W34", "W34", "W34"], "{:?}", told(&made.faults));
    assert_eq!(
        made.faults[0].text,
        "hole 1 of the row and hole 1 of the opposite row leave only 39 % of the smaller open; \
         their centres are 5.00 mm apart"
    );
    assert!(made.faults[2].text.ends_with(", and 1 more holes likewise"));
    // A smaller offset is silent.
    let near = other.replace("33 mm|24 mm", "31 mm|20 mm");
    assert!(developed(Kind::Gasket, &format!("{BOARDS}{near}")).faults.is_empty());
    // The web is that of the lenses: their bounds across the row are 40 - (10 - 1) apart.
    let it = member(Kind::Gasket, &format!("{BOARDS}{near} ; least-web=1 mm"));
    let holes = it.shape.holes();
    let apart = crate::geom::loop_distance(&holes[0], &holes[1]).0;
    assert_relative_eq!(apart, 31.0, epsilon = 1e-9);
}

#[test]
fn the_larger_of_two_holes() {
    let other =
        "meet=larger; opposite-row=[at=0 mm,40 mm,80 mm,120 mm; first=31 mm|20 mm; diameter=12 mm]";
    let it = member(Kind::Gasket, &format!("{BOARDS}{other}"));
    assert_eq!(circles(&it)[0], (Point::new(31.0, 20.0), 6.0));
    let less = other.replace("12 mm", "8 mm");
    let it = member(Kind::Gasket, &format!("{BOARDS}{less}"));
    assert_eq!(circles(&it)[0], (Point::new(30.0, 20.0), 5.0));
    // The smaller lies wholly in the larger: shared, it is the smaller, all open.
    let it = member(Kind::Gasket, &format!("{BOARDS}{}", less.replace("larger", "shared")));
    assert_eq!(circles(&it)[0], (Point::new(31.0, 20.0), 4.0));
    assert_relative_eq!(term(&it, "hole 1 to hole 4 of the row: left open"), 100.0, epsilon = 1e-9);
}

#[test]
fn an_opposite_board_seen_from_its_own_face() {
    // Seen from behind, hole k of the row lies at 200 - x.
    let own =
        "opposite-seen=own; opposite-row=[holes=4; first=50 mm|20 mm; pitch=40 mm; diameter=10 mm]";
    let made = developed(Kind::Gasket, &format!("{BOARDS}{own}"));
    assert_eq!(told(&made.faults), Vec::<String>::new());
    assert_eq!(circles(&made.members[0])[0], (Point::new(30.0, 20.0), 5.0));
    assert_eq!(circles(&made.members[0]).len(), 5);
    // Taken as seen through, they stand half a pitch off.
    let made = developed(Kind::Gasket, &format!("{BOARDS}{}", own.replace("=own", "=through")));
    assert!(made.members.is_empty());
    let refused = made.faults.iter().find(|f| f.is_error()).unwrap();
    assert_eq!(refused.text, "only 0 of 4 holes meet one of the opposite board");
    crate::fault::tells(made.faults.iter().map(|f| f.code), "W35");
    assert_eq!(made.faults.iter().filter(|f| f.code == "W35").count(), 3);
    assert_eq!(
        made.faults[0].text,
        "hole 1 of the row meets no hole of the opposite board and is left out"
    );
    assert!(
        made.faults[2].text.ends_with(", and 5 more holes likewise"),
        "{:?}",
        told(&made.faults)
    );
}

#[test]
fn holes_of_every_sort_find_their_partners() {
    let text = "length=200 mm; width=60 mm; hole=[at=20 mm|30 mm; diameter=8 mm]; \
                hole-table=[x=60 mm; y=30 mm; diameter=8 mm]; \
                circle=[at=150 mm|30 mm; holes=2; across=40 mm; diameter=8 mm]; \
                opposite-hole=[at=61 mm|30 mm; diameter=8 mm]; opposite-hole=[at=170 mm|31 mm; diameter=8 mm]; \
                opposite-table=[x=21 mm; y=30 mm; diameter=8 mm]";
    let made = developed(Kind::Gasket, text);
    let wanted = "W35 hole 2 of the circle meets no hole of the opposite board and is left out";
    assert_eq!(told(&made.faults), [wanted]);
    let holes = made.members[0].shape.holes();
    assert_eq!(holes.len(), 3);
    for hole in holes {
        assert_relative_eq!(hole.area(), lens_area(4.0, 1.0), max_relative = 1e-9);
    }
    // One wide hole over two: told on the wide one, and paired with the one it shares most with.
    let made = developed(
        Kind::Gasket,
        "length=200 mm; width=60 mm; hole=[at=50 mm|30 mm; diameter=30 mm]; \
         opposite-hole=[at=36 mm|30 mm; diameter=8 mm]; opposite-hole=[at=55 mm|30 mm; diameter=8 mm]",
    );
    assert_eq!(
        told(&made.faults),
        [
            "W35 hole 1 meets opposite hole 1 and opposite hole 2; it is paired with the one it shares most with"
        ]
    );
    assert_eq!(circles(&made.members[0]), [(Point::new(55.0, 30.0), 4.0)]);
    // What needs an opposite board says so.
    let made = developed(Kind::Gasket, "length=200 mm; width=60 mm; meet=larger");
    assert_eq!(
        told(&made.faults),
        ["E28 `meet` is given, and there are no holes of an opposite board"]
    );
}

/// The sweep that spares far pairs finds the same web and the same clashes as looking at all of them.
#[test]
fn the_thinnest_web_is_that_of_all_pairs() {
    let mut state = 7_u32;
    let mut next = |most: u32| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 8) / f64::from(1 << 24) * f64::from(most)
    };
    for _ in 0..20 {
        let holes: Vec<(f64, f64, f64)> = (0..8)
            .map(|k| (20.0 + 30.0 * f64::from(k) + next(10), 20.0 + next(20), 6.0 + next(6)))
            .collect();
        let mut text = "length=270 mm; width=60 mm;".to_owned();
        for (x, y, d) in &holes {
            write!(text, "hole=[at={x} mm|{y} mm; diameter={d} mm];").unwrap();
        }
        let mut least = f64::INFINITY;
        for (i, (x, y, d)) in holes.iter().enumerate() {
            for (u, v, e) in &holes[..i] {
                least = least.min((x - u).hypot(y - v) - (d + e) / 2.0);
            }
            least =
                least.min([*x, 270.0 - x, *y, 60.0 - y].into_iter().fold(9e9, f64::min) - d / 2.0);
        }
        assert_relative_eq!(
            term(&member(Kind::Gasket, &text), "thinnest web"),
            least,
            epsilon = 1e-9
        );
    }
}

/// A table in which every hole lies on every other: a slip in one column. It is told in a few words and in no time.
#[test]
fn thousands_of_holes_on_one_spot_are_told_shortly() {
    let place = Place::head(&Arc::from("test"));
    let mut row = measures("x=50 mm; y=30 mm; diameter=6 mm");
    let table = |row: &Measures| Value::Tables(vec![row.clone(); 5000].into());
    let mut m = measures("length=100 mm; width=60 mm");
    m.set("hole-table", table(&row), place.clone());
    let made = (Kind::Gasket.card().develop)(&m);
    assert_eq!(made.faults.len(), 3);
    assert!(made.faults[2].text.ends_with("and more than 997 more holes likewise"));
    row.set("x", Value::Length(Length::parse("51 mm", None).unwrap()), place.clone());
    m.set("opposite-table", table(&row), place);
    let made = (Kind::Gasket.card().develop)(&m);
    assert_eq!(made.faults.iter().filter(|f| f.code == "W35").count(), 3);
    assert_eq!(
        made.faults[0].text,
        "hole 1 of the table meets hole 1 of the opposite table and hole 2 of the opposite table and hole 3 of the \
         opposite table and 4997 more; it is paired with the one it shares most with"
    );
    assert!(made.faults.iter().any(|f| f.code == "E27"));
}

/// More holes than any plate has are refused before they are compared with one another.
#[test]
fn more_holes_than_any_plate_has_are_refused() {
    let row = "holes=2000; first=1 mm|1 mm; pitch=1 mm; diameter=0.2 mm";
    let text = format!("length=3 m; width=60 mm{}", format!("; row=[{row}]").repeat(40));
    let mut m = measures(&text.replace("holes=2000; ", ""));
    let place = Place::head(&Arc::from("test"));
    let counted = |row: &Measures| {
        let mut row = row.clone();
        row.set("holes", Value::Count(2000), place.clone());
        row
    };
    let rows: Vec<Measures> = m.tables("row").iter().map(counted).collect();
    for key in ["row", "opposite-row"] {
        let mut n = m.clone();
        n.set("row", Value::Tables(rows[..1].into()), place.clone());
        n.set(key, Value::Tables(rows.clone().into()), place.clone());
        let made = (Kind::Gasket.card().develop)(&n);
        let told: Vec<&str> =
            made.faults.iter().filter(|f| f.is_error()).map(|f| f.text.as_str()).collect();
        assert!(told.iter().any(|t| t.ends_with("more than 10000 holes")), "{told:?}");
    }
    m.set("row", Value::Tables(rows[..1].into()), place.clone());
    assert_eq!((Kind::Gasket.card().develop)(&m).members.len(), 1);
}
