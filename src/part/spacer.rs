//! A spacer: paper, card or fibre of a known thickness that makes up a gap, as a ring, a disk or a plate with holes.

use super::holes::{
    CIRCLE_KEY, HOLE_KEY, LIGAMENT_KEY, ROW_KEY, SCREW_KEY, SLOT_KEY, TABLE_KEY, WINDOW_KEY, holes,
};
use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member, MemberName};
use super::sum::{Sum, asked, corner_fits, doubt, idle, mm, positive, shown, sides, wrong};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::{Loop, Point, Shape, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Spacer,
    name: "spacer",
    about: "papers that make up a gap: rings, disks or plates",
    keys: KEYS,
    companions: &[],
    lengthwise: false,
    taut: false,
    thickness_key: Some("thickness"),
    develop,
};

const KEYS: &[Key] = &[
    Key {
        name: "shape",
        takes: Takes::Word(&["ring", "disk", "plate"]),
        needed: false,
        about: "ring (usual), disk or plate",
        example: "ring",
    },
    Key::length("outside", "outside diameter of a ring or disk", "7/8 in"),
    Key::length("inside", "inside diameter of a ring", "3/8 in"),
    Key::length("length", "length of a plate", "6 in"),
    Key::length("width", "width of a plate", "2 in"),
    Key::length("corner", "radius of a plate's corners", "1/8 in"),
    Key::count("papers", "how many lie on one another; silent: one", "2"),
    Key::length("thickness", "thickness of one", "4 thou"),
    LIGAMENT_KEY,
    ROW_KEY,
    HOLE_KEY,
    SCREW_KEY,
    SLOT_KEY,
    WINDOW_KEY,
    CIRCLE_KEY,
    TABLE_KEY,
];

/// Keys that only some shapes have.
const OWN: &[(&str, &[&str])] = &[
    ("outside", &["ring", "disk"]),
    ("inside", &["ring"]),
    ("length", &["plate"]),
    ("width", &["plate"]),
    ("corner", &["plate"]),
    ("least-web", &["plate"]),
    ("row", &["plate"]),
    ("hole", &["plate"]),
    ("screw", &["plate"]),
    ("slot", &["plate"]),
    ("window", &["plate"]),
    ("circle", &["plate"]),
    ("hole-table", &["plate"]),
];

/// So many papers lie on one another at most.
const MOST_PAPERS: u32 = 40;
/// A ring narrower than this is pointed out (mm).
///
/// # Source
/// Common practice, as for webs.
const THIN: f64 = 1.5;

fn develop(m: &Measures) -> Developed {
    let shape = m.word("shape").unwrap_or("ring");
    let who = format!("a spacer of shape \"{shape}\"");
    let mut made = Developed {
        faults: positive(m, &["outside", "inside", "length", "width", "thickness"]),
        ..Developed::default()
    };
    for (key, shapes) in OWN.iter().filter(|(_, shapes)| !shapes.contains(&shape)) {
        let cure = format!("leave it out, or say shape = \"{}\"", shapes.join("\" or \""));
        made.faults.extend(idle(m, &[*key], &who, &cure));
    }
    let needed: &[&str] = match shape {
        "disk" => &["outside"],
        "plate" => &["length", "width"],
        _ => &["outside", "inside"],
    };
    made.faults.extend(asked(m, KEYS, needed, &who));
    let papers = m.count("papers").unwrap_or(1);
    if papers == 0 || papers > MOST_PAPERS {
        made.faults.push(wrong(
            m,
            "papers",
            format!("a stack of {papers} papers"),
            &format!("1 to {MOST_PAPERS} papers lie on one another; a thicker one may take the place of many"),
        ));
    }
    if !made.faults.is_empty() {
        return made;
    }
    let member =
        if shape == "plate" { plate(m, &mut made.faults) } else { round(m, &mut made.faults) };
    let (Some(member), false) = (member, any_error(&made.faults)) else {
        return made;
    };
    made.members.extend((1..=papers).map(|n| Member {
        name: (papers > 1).then_some(MemberName::numbered("paper", n)),
        ..member.clone()
    }));
    made
}

/// The stack, where there is one or its thickness is known.
fn stack(m: &Measures, sum: Sum) -> Sum {
    let papers = f64::from(m.count("papers").unwrap_or(1));
    let sum =
        sum.given(m, "papers", "papers on one another").given(m, "thickness", "thickness of one");
    match m.mm("thickness") {
        Some(thickness) => {
            sum.note("together they make up", "papers x thickness", papers * thickness, "mm")
        }
        None => sum,
    }
}

/// A ring or a disk about the origin.
fn round(m: &Measures, faults: &mut Vec<Fault>) -> Option<Member> {
    let outside = m.mm("outside")?;
    let mut sum = Sum::default().given(m, "outside", "outside").given(m, "inside", "inside");
    let mut dimensions = vec![Dimension::Diameter(Point::ORIGIN, outside / 2.0, shown(outside))];
    let mut hole = None;
    sum = sum.total("cut diameter", "", outside);
    if let Some(inside) = m.mm("inside") {
        let broad = (outside - inside) / 2.0;
        if inside >= outside {
            faults.push(wrong(
                m,
                "inside",
                format!("inside {} is not less than outside {}", mm(inside), mm(outside)),
                &format!("a hole of less than {} leaves a ring", mm(outside)),
            ));
            return None;
        }
        if broad < THIN {
            faults.push(doubt(
                "W24",
                m,
                "inside",
                format!("the ring is only {} broad", mm(broad)),
                "so narrow a ring of paper tears and is pressed in: a smaller hole, or a disk",
            ));
        }
        sum = sum.total("hole", "", inside).note(
            "width of the ring",
            "(outside - inside) / 2",
            broad,
            "mm",
        );
        dimensions.push(Dimension::Diameter(Point::ORIGIN, inside / 2.0, shown(inside)));
        hole = Loop::circle(Point::ORIGIN, inside / 2.0).ok();
    }
    let outline = Loop::circle(Point::ORIGIN, outside / 2.0).ok()?;
    let shape = Shape::new(outline, hole.into_iter().collect()).ok()?;
    Some(Member::of(shape, stack(m, sum).terms, dimensions))
}

/// A plate with its lower left corner at the origin.
fn plate(m: &Measures, faults: &mut Vec<Fault>) -> Option<Member> {
    let (length, width) = (m.mm("length")?, m.mm("width")?);
    let corner = m.mm_or("corner", 0.0);
    if let Some(fault) = corner_fits(m, "corner", ("plate", length, width)) {
        faults.push(fault);
        return None;
    }
    let outline = rectangle(Point::ORIGIN, length, width, corner).ok()?;
    let bored = holes(m, &outline, Vec::new());
    faults.extend(bored.faults);
    if any_error(faults) {
        return None;
    }
    let sum = Sum::default()
        .given(m, "length", "length")
        .given(m, "width", "width")
        .given(m, "corner", "radius of the corners")
        .total("cut length", "", length)
        .total("cut width", "", width);
    let mut sum = stack(m, sum);
    sum.terms.extend(bored.terms);
    let mut dimensions = sides(length, width);
    dimensions.extend(bored.dimensions);
    match Shape::new(outline, bored.loops) {
        Ok(shape) => Some(Member::of(shape, sum.terms, dimensions)),
        Err(fault) => {
            faults.push(
                Fault::error("E27", format!("the holes do not fit the plate: {fault}"))
                    .at(&m.place)
                    .cure("look at their places and diameters"),
            );
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::trial::{codes, given, note, one, total};
    use super::*;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    // 7/8 in card rings to level a joint: R. Vance, chapter 211. Areas by plane geometry.
    #[test]
    fn rings_disks_and_plates() {
        let ring = given(&[("outside", "7/8 in"), ("inside", "3/8 in")], KEYS);
        let ring = one(develop(&ring));
        assert_relative_eq!(
            ring.shape.area(),
            PI / 4.0 * (0.765625 - 0.140625) * 645.16,
            max_relative = 1e-12
        );
        assert!(ring.shape.is_round() && ring.name.is_none());
        let disk = one(develop(&given(&[("shape", "disk"), ("outside", "20 mm")], KEYS)));
        assert_relative_eq!(disk.shape.area(), 100.0 * PI, max_relative = 1e-12);
        let typed =
            [("shape", "plate"), ("length", "60 mm"), ("width", "20 mm"), ("corner", "4 mm")];
        let plate = one(develop(&given(&typed, KEYS)));
        assert_relative_eq!(plate.shape.area(), 1200.0 - (4.0 - PI) * 16.0, max_relative = 1e-12);
        assert_relative_eq!(total(&plate, "cut length"), 60.0, max_relative = 1e-12);
    }

    #[test]
    fn a_stack_has_numbered_papers() {
        let typed =
            [("outside", "20 mm"), ("inside", "9 mm"), ("papers", "3"), ("thickness", "0.1 mm")];
        let made = develop(&given(&typed, KEYS));
        let names: Vec<String> = made.members.iter().map(|m| m.name.unwrap().to_string()).collect();
        assert_eq!(names, ["paper-1", "paper-2", "paper-3"]);
        assert_relative_eq!(
            note(&made.members[0], "together they make up"),
            0.3,
            max_relative = 1e-12
        );
    }

    #[test]
    fn what_contradicts_itself_is_refused() {
        for (typed, wanted) in [
            (vec![("outside", "20 mm")], vec!["E12"]),
            (vec![("shape", "plate")], vec!["E12", "E12"]),
            (vec![("outside", "20 mm"), ("inside", "20 mm")], vec!["E28"]),
            (vec![("outside", "20 mm"), ("inside", "9 mm"), ("length", "9 mm")], vec!["E28"]),
            (vec![("outside", "20 mm"), ("inside", "9 mm"), ("papers", "0")], vec!["E28"]),
            (vec![("outside", "20 mm"), ("inside", "9 mm"), ("papers", "41")], vec!["E28"]),
            (vec![("outside", "20 mm"), ("inside", "0 mm")], vec!["E28"]),
            (vec![("shape", "disk"), ("outside", "20 mm"), ("inside", "9 mm")], vec!["E28"]),
            (vec![("outside", "20 mm"), ("inside", "18 mm")], vec!["W24"]),
        ] {
            let made = develop(&given(&typed, KEYS));
            assert_eq!(codes(&made), wanted, "{typed:?}");
            assert_eq!(made.members.is_empty(), !wanted.contains(&"W24"));
        }
    }
}
