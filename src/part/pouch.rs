//! A pouch: thin leather glued over a well, sagging by its dip.
//!
//! A disk for a round well, a square for a square one, one strip over a row of wells, or a disk that is held by a ring
//! or drawn over a cup. What lies over the well is worked out in `dish`; here comes what holds it.

use super::assembled::{Assembled, LineSort};
use super::dips;
use super::dish::{Dish, lifter_too_large};
use super::measures::{Key, Measures, Takes};
use super::member::{Developed, Dimension, Member, MemberName, Punch};
use super::sum::{Sum, asked, corner_fits, doubt, idle, mm, positive, shown, wrong};
use super::{Companion, Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::{GeomFault, Loop, Point, Seg, Shape, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Pouch,
    name: "pouch",
    about: "leather over a well, sagging by its dip: a disk, a square, a strip, held by a ring or over a cup",
    keys: KEYS,
    companions: &[
        Companion {
            name: LIFTER,
            about: "the flat lifter that is glued on, as large as `lifter`",
            keys: &[],
            lengthwise: false,
            thickness_key: None,
        },
        Companion {
            name: DOT,
            about: "the cloth dot under the lifter",
            keys: &[Key::needed("diameter", "diameter", "3/16 in")],
            lengthwise: false,
            thickness_key: None,
        },
    ],
    lengthwise: false,
    taut: false,
    thickness_key: Some("leather"),
    develop,
};

/// The lifter's table; `lifter` alone is the key for its size.
const LIFTER: &str = "lifter-plate";
const DOT: &str = "dot";

pub(super) const KEYS: &[Key] = &[
    Key {
        name: "form",
        takes: Takes::Word(&["disk", "square", "strip", "ring", "cup"]),
        needed: false,
        about: "disk (usual), square, one strip over a row of wells, held by a ring, or drawn over a cup",
        example: "disk",
    },
    Key::needed("well", "diameter of the well; the side of a square one", "1 1/8 in"),
    Key::needed("dip", "how far it sags at the centre", "3/32 in"),
    Key::length("land", "glued rim, on each side of a strip", "3/16 in"),
    Key {
        name: "rule",
        takes: Takes::Word(&["arc", "ball", "lifter", "area"]),
        needed: false,
        about: "how the dip is made: over a form (arc), with a round-nosed tool (ball), by a flat lifter, or equal area",
        example: "arc",
    },
    Key::length("nose", "nose radius of the ball tool", "1/2 in"),
    Key::length("lifter", "diameter of the flat lifter; the side of a square one", "1/2 in"),
    Key::length("bleed", "bleed hole at the centre, punched by hand", "#70 drill"),
    Key {
        name: "bleed-by",
        takes: Takes::Word(&["punch", "machine"]),
        needed: false,
        about: "how the bleed is made: punched (usual), or forced on the machine, if it cuts so small a hole",
        example: "punch",
    },
    Key::length("depth", "depth of the well", "1/8 in"),
    Key::length("leather", "thickness of the leather, for the clearance at the bottom", "9 thou"),
    Key::length("pitch", "from this well's centre to the next", "1 1/2 in"),
    Key::length("corner", "radius of a square's corners; silent: the land", "3/16 in"),
    Key::count("dips", "how many dips a strip has", "12"),
    Key {
        name: "break",
        takes: Takes::Tables(dips::BREAK),
        needed: false,
        about: "wider places between the wells of a strip",
        example: "[[part.break]]",
    },
    Key {
        name: "at",
        takes: Takes::Lengths,
        needed: false,
        about: "centres of a strip's wells from the first, instead of dips and pitch",
        example: "[\"0 in\", \"1 1/2 in\"]",
    },
    Key::length("end", "from the rim of a strip's outermost well to its end", "1/2 in"),
    Key::length("ring", "outside diameter of the ring that holds it", "1 1/2 in"),
    Key::length("over", "left all round the ring", "1/8 in"),
    Key::length("pull", "left all round to draw it over the cup", "1/2 in"),
];

/// Keys that only some forms have.
const OWN: &[(&str, &[&str])] = &[
    ("land", &["disk", "square", "strip"]),
    ("pitch", &["disk", "square", "strip", "ring"]),
    ("corner", &["square"]),
    ("dips", &["strip"]),
    ("break", &["strip"]),
    ("at", &["strip"]),
    ("end", &["strip"]),
    ("ring", &["ring"]),
    ("over", &["ring"]),
    ("pull", &["cup"]),
];

/// So much is left all round a cup (mm).
///
/// # Source
/// Half an inch to pull by: R. Vance, chapter 183.
const USUAL_PULL: f64 = 12.7;

fn develop(m: &Measures) -> Developed {
    let form = m.word("form").unwrap_or("disk");
    let who = format!("a pouch of form \"{form}\"");
    let mut made = Developed {
        faults: positive(
            m,
            &["well", "dip", "land", "nose", "lifter", "bleed", "pitch", "end", "ring", "pull"],
        ),
        ..Developed::default()
    };
    for (key, forms) in OWN.iter().filter(|(_, forms)| !forms.contains(&form)) {
        let cure = format!("leave it out, or say form = \"{}\"", forms.join("\" or \""));
        made.faults.extend(idle(m, &[*key], &who, &cure));
    }
    let needed: &[&str] = match form {
        "ring" => &["ring"],
        "cup" => &["pull"],
        "strip" => &["land", "end"],
        _ => &["land"],
    };
    made.faults.extend(asked(m, KEYS, needed, &who));
    if m.has("bleed-by") {
        made.faults.extend(asked(m, KEYS, &["bleed"], "`bleed-by`"));
    }
    if !made.faults.is_empty() {
        return made;
    }
    let Some(dish) = Dish::of(m, form == "square", &mut made.faults) else {
        return made;
    };
    dish.doubts(m, &mut made.faults);
    let skin = match form {
        "strip" => dips::strip(m, &dish, &mut made.faults),
        "square" => square(m, &dish, &mut made.faults).map(|skin| (skin, 1)),
        _ => round(m, &dish, form, &mut made.faults).map(|skin| (skin, 1)),
    };
    let fittings = fittings(m, &dish, skin.as_ref().map_or(1, |(_, n)| *n), &mut made.faults);
    if let (Some((skin, _)), false) = (skin, any_error(&made.faults)) {
        match bled(m, skin) {
            Ok(skin) => made.members.push(skin),
            Err(fault) => {
                let text = format!("a bleed that cannot be cut: {fault}");
                made.faults.push(wrong(m, "bleed-by", text, "leave it to the punch"));
            }
        }
        made.members.extend(fittings);
    }
    made
}

/// The head of the sum: well and dip, what holds the skin, and the tools.
pub(super) fn head(m: &Measures, dish: &Dish, holding: &[(&'static str, &str)]) -> Sum {
    let mut sum = Sum::default().given(m, "well", "well").given(m, "dip", "dip");
    for (key, label) in holding {
        sum = sum.given(m, key, label);
    }
    let bleed =
        if by_machine(m) { "bleed hole, by the machine" } else { "bleed hole, punched by hand" };
    sum = sum
        .given(m, "nose", "nose of the tool")
        .given(m, "lifter", "lifter")
        .given(m, "bleed", bleed);
    dish.step(sum)
}

/// Whether the part forces its bleed holes on the machine.
fn by_machine(m: &Measures) -> bool {
    m.word("bleed-by") == Some("machine")
}

/// The skin with its bleed holes among those that are cut, where the part says so; else they are left to the punch,
/// however large they are.
///
/// # Source
/// A hole that is burnt through is wider and harder than it looks, and a bleed meters air: common practice.
fn bled(m: &Measures, skin: Member) -> Result<Member, GeomFault> {
    if !by_machine(m) || skin.punches.is_empty() {
        return Ok(skin);
    }
    let holes: Result<Vec<Loop>, GeomFault> =
        skin.punches.iter().map(|p| Loop::circle(p.at, p.diameter / 2.0)).collect();
    let shape = Shape::new(skin.shape.outline().clone(), holes?)?;
    Ok(Member { shape, punches: Vec::new(), ..skin })
}

/// The bleed hole at a centre, where one is wanted.
pub(super) fn bleed(m: &Measures, at: Point) -> Option<Punch> {
    m.mm("bleed").map(|diameter| Punch { at, diameter })
}

/// A disk: glued to a land, held by a ring, or drawn over a cup.
fn round(m: &Measures, dish: &Dish, form: &str, faults: &mut Vec<Fault>) -> Option<Member> {
    let (sum, more) = match form {
        "ring" => {
            let (ring, over) = (m.mm("ring")?, m.mm_or("over", 0.0));
            if ring <= dish.well {
                faults.push(wrong(
                    m,
                    "ring",
                    format!("ring {} is not wider than the well {}", mm(ring), mm(dish.well)),
                    "give the ring's outside diameter",
                ));
            }
            room(m, faults, "ring and what is left over", ring + 2.0 * over, |left| {
                format!("the ring and twice `over` have {} at most", mm(left))
            });
            let sum = head(m, dish, &[("ring", "ring, outside"), ("over", "left all round it")])
                .step("+ over the face of the ring", "ring - well", ring - dish.well)
                .step("+ 2 x over", "", 2.0 * over);
            (sum, ring - dish.well + 2.0 * over)
        }
        "cup" => {
            let pull = m.mm("pull")?;
            if pull < USUAL_PULL - 1e-9 {
                faults.push(doubt(
                    "W20",
                    m,
                    "pull",
                    format!("only {} all round to draw the leather over the cup by", mm(pull)),
                    "1/2 in (12.70 mm) or more is usual; it is cut off afterwards",
                ));
            }
            let sum = head(m, dish, &[("pull", "to pull by")]).step("+ 2 x pull", "", 2.0 * pull);
            (sum, 2.0 * pull)
        }
        _ => {
            let land = m.mm("land")?;
            on_the_board(m, dish, land, faults);
            let sum = head(m, dish, &[("land", "land")]).step("+ 2 x land", "", 2.0 * land);
            (sum, 2.0 * land)
        }
    };
    let cut = dish.free + more;
    let sum = sum.total("cut diameter", "", cut);
    let sum = notes(m, dish, form, dish.bounds(m, sum, "it", |free| free + more));
    Some(Member {
        punches: bleed(m, Point::ORIGIN).into_iter().collect(),
        soft: true,
        ..disk(cut, sum)?
    })
}

/// A square over a square well, its corners rounded.
fn square(m: &Measures, dish: &Dish, faults: &mut Vec<Fault>) -> Option<Member> {
    let land = m.mm("land")?;
    on_the_board(m, dish, land, faults);
    let cut = dish.free + 2.0 * land;
    let corner = m.mm_or("corner", land);
    faults.extend(corner_fits(m, "corner", ("pouch", cut, cut)));
    let mut sum = head(m, dish, &[("land", "land"), ("corner", "radius of the corners")]);
    if !m.has("corner") {
        sum = sum.silent("radius of the corners", "the land", land);
    }
    let sum = sum.step("+ 2 x land", "", 2.0 * land).total("cut side", "", cut);
    let sum = notes(m, dish, "square", dish.bounds(m, sum, "it", |free| free + 2.0 * land));
    Some(Member {
        punches: bleed(m, Point::ORIGIN).into_iter().collect(),
        soft: true,
        ..block(cut, corner, sum)?
    })
}

/// A cut through a disk or a square over its well: board, land, the dish by the rule of the part; none of other forms.
pub(super) fn section(m: &Measures) -> Option<Assembled> {
    let form = m.word("form").unwrap_or("disk");
    if !matches!(form, "disk" | "square") {
        return None;
    }
    let dish = Dish::of(m, form == "square", &mut Vec::new())?;
    let (land, depth) = (m.mm("land")?, m.mm("depth"));
    let (half, outer) = (dish.well / 2.0, dish.well / 2.0 + land);
    let p = Point::new;
    // Of the board as much is shown as the well is deep, and no less than the dip.
    let low = -depth.unwrap_or(dish.dip).max(dish.dip) * 1.5;
    let edge = outer + land;
    let boards: Vec<Loop> = match depth {
        Some(depth) => vec![Loop::polygon(&[
            p(-edge, low),
            p(edge, low),
            p(edge, 0.0),
            p(half, 0.0),
            p(half, -depth),
            p(-half, -depth),
            p(-half, 0.0),
            p(-edge, 0.0),
        ])],
        None => vec![
            Loop::polygon(&[p(-edge, low), p(-half, low), p(-half, 0.0), p(-edge, 0.0)]),
            Loop::polygon(&[p(half, low), p(edge, low), p(edge, 0.0), p(half, 0.0)]),
        ],
    }
    .into_iter()
    .flatten()
    .collect();
    let mut skin = vec![Seg::line(p(-outer, 0.0), p(-half, 0.0))];
    skin.extend(dish.profile(m));
    skin.push(Seg::line(p(half, 0.0), p(outer, 0.0)));
    let guide = vec![Seg::line(p(-edge, -dish.dip), p(0.0, -dish.dip))];
    let lines = vec![(LineSort::Guide, guide), (LineSort::Skin, skin)];
    let dimensions = vec![
        Dimension::Span(p(-half, 0.0), p(half, 0.0), 1.0, shown(dish.well)),
        Dimension::Span(p(half, 0.0), p(outer, 0.0), 1.0, shown(land)),
        Dimension::Span(p(-edge, -dish.dip), p(-edge, 0.0), 1.0, shown(dish.dip)),
    ];
    Some(Assembled { name: "cut through the middle, dished".to_owned(), boards, lines, dimensions })
}

/// Room below and beside the pouch.
fn notes(m: &Measures, dish: &Dish, form: &str, sum: Sum) -> Sum {
    let sum = dish.room_below(m, sum);
    let Some(pitch) = m.mm("pitch") else {
        return sum;
    };
    let (rule, taken) = if form == "ring" {
        ("pitch - ring - 2 x over", m.mm_or("ring", 0.0) + 2.0 * m.mm_or("over", 0.0))
    } else {
        ("pitch - well - 2 x land", dish.well + 2.0 * m.mm_or("land", 0.0))
    };
    sum.given(m, "pitch", "pitch").note("room to the next, dished", rule, pitch - taken, "mm")
}

/// Whether two lands have room between a well and the next.
fn on_the_board(m: &Measures, dish: &Dish, land: f64, faults: &mut Vec<Fault>) {
    let well = dish.well;
    room(m, faults, "well and two lands", well + 2.0 * land, |pitch| {
        format!("the land can be {} at most", mm((pitch - well).max(0.0) / 2.0))
    });
}

/// Whether what lies on the board has room between a well and the next.
fn room(
    m: &Measures,
    faults: &mut Vec<Fault>,
    what: &str,
    taken: f64,
    cure: impl Fn(f64) -> String,
) {
    if let Some(pitch) = m.mm("pitch").filter(|pitch| taken > *pitch) {
        faults.push(wrong(
            m,
            "pitch",
            format!(
                "neighbours overlap on the board: {what} take {}, the pitch is {}",
                mm(taken),
                mm(pitch)
            ),
            &cure(pitch),
        ));
    }
}

/// A disk about the origin.
fn disk(diameter: f64, sum: Sum) -> Option<Member> {
    let outline = Loop::circle(Point::ORIGIN, diameter / 2.0).ok()?;
    let figure = Dimension::Diameter(Point::ORIGIN, diameter / 2.0, shown(diameter));
    Some(Member::of(Shape::plain(outline), sum.terms, vec![figure]))
}

/// A square about the origin.
fn block(side: f64, corner: f64, sum: Sum) -> Option<Member> {
    let half = side / 2.0;
    let outline = rectangle(Point::new(-half, -half), side, side, corner).ok()?;
    let figure =
        Dimension::Span(Point::new(half, -half), Point::new(-half, -half), 1.0, shown(side));
    Some(Member::of(Shape::plain(outline), sum.terms, vec![figure]))
}

/// Lifters and dots, one for each dip.
fn fittings(m: &Measures, dish: &Dish, dips: u32, faults: &mut Vec<Fault>) -> Vec<Member> {
    let mut made = Vec::new();
    let mut each = |word: &'static str, companion: &'static str, member: Option<Member>| {
        for n in 1..=dips {
            let number = if dips == 1 { 0 } else { n };
            made.extend(member.clone().map(|member| Member {
                name: Some(MemberName::numbered(word, number)),
                companion: Some(companion),
                ..member
            }));
        }
    };
    if let Some(own) = m.companion(LIFTER) {
        match m.mm("lifter") {
            None => faults.push(
                Fault::error(
                    "E12",
                    "a lifter needs `lifter`, its size, among the pouch's measures",
                )
                .at(&own.place)
                .cure("for example lifter = \"1/2 in\", above this table"),
            ),
            // By the lifter's rule this has been said already.
            Some(lifter) if lifter >= dish.well && !dish.is_by_lifter() => {
                faults.push(lifter_too_large(m, lifter, dish.well));
            }
            Some(lifter) => {
                let sum = Sum::default().given(m, "lifter", "lifter");
                let member = if dish.is_square() {
                    block(lifter, 0.0, sum.total("cut side", "", lifter))
                } else {
                    disk(lifter, sum.total("cut diameter", "", lifter))
                };
                each("lifter", LIFTER, member);
            }
        }
    }
    if let Some(own) = m.companion(DOT) {
        faults.extend(positive(own, &["diameter"]));
        if let Some(diameter) = own.mm("diameter") {
            if diameter >= dish.well {
                faults.push(wrong(
                    own,
                    "diameter",
                    format!("a dot of {} in a well of {}", mm(diameter), mm(dish.well)),
                    "it is small, about 3/16 in, and lies under the lifter",
                ));
            }
            let sum = Sum::default().given(own, "diameter", "diameter");
            each("dot", DOT, disk(diameter, sum.total("cut diameter", "", diameter)));
        }
    }
    made
}

#[cfg(test)]
mod tests {
    use super::super::trial::{codes, given, note, one, total, with};
    use super::*;
    use approx::assert_relative_eq;

    const ROUND: [(&str, &str); 2] = [("well", "1 in"), ("dip", "1/8 in")];

    fn made(more: &[(&str, &str)]) -> Developed {
        let typed: Vec<_> = ROUND.iter().chain(more).copied().collect();
        develop(&given(&typed, KEYS))
    }

    // Independent quadrature: over the well 1.041159 (arc), 1.030776 (equal area), 1.033794 (nose 1/2), 1.059017 (lifter
    // 1/2); by equal area a square has 1.025293 by its series.
    const INCH: f64 = 25.4;

    #[test]
    fn disks_come_out_as_worked() {
        for (more, cut) in [
            (vec![], 1.416159),
            (vec![("rule", "area")], 1.405776),
            (vec![("rule", "ball"), ("nose", "1/2 in")], 1.408794),
            (vec![("rule", "lifter"), ("lifter", "1/2 in")], 1.434017),
        ] {
            let more: Vec<_> = more.into_iter().chain([("land", "3/16 in")]).collect();
            let member = one(made(&more));
            assert_relative_eq!(total(&member, "cut diameter"), cut * INCH, max_relative = 1e-5);
            let round = member.shape.outline().as_circle().unwrap();
            assert_relative_eq!(round.1, cut * INCH / 2.0, max_relative = 1e-5);
            assert!(member.soft);
        }
        let member = one(made(&[("land", "3/16 in")]));
        assert_relative_eq!(note(&member, "rim to be gathered"), 4.11593, max_relative = 1e-5);
    }

    // The line across the dished skin is as long as the rule says, and ends at the land's edge.
    #[test]
    fn the_cut_through_a_pouch_is_as_long_as_its_rule_says() {
        for (more, free) in [
            (vec![], 1.041159),
            (vec![("rule", "ball"), ("nose", "1/2 in")], 1.033794),
            (vec![("rule", "lifter"), ("lifter", "1/2 in")], 1.059017),
        ] {
            let typed: Vec<_> =
                ROUND.iter().chain(&more).copied().chain([("land", "3/16 in")]).collect();
            let view = section(&given(&typed, KEYS)).unwrap();
            let skin = view.lines.iter().find(|(sort, _)| *sort == LineSort::Skin).unwrap();
            let long: f64 = skin.1.iter().map(Seg::length).sum();
            assert_relative_eq!(long, (free + 0.375) * INCH, max_relative = 1e-5);
            let low = skin.1.iter().map(|s| s.bounds().y0).fold(0.0, f64::min);
            assert_relative_eq!(low, -INCH / 8.0, max_relative = 1e-9);
        }
        let strip = [&ROUND[..], &[("form", "strip")]].concat();
        assert!(section(&given(&strip, KEYS)).is_none());
    }

    #[test]
    fn squares_come_out_as_worked() {
        let member = one(made(&[("form", "square"), ("land", "3/16 in"), ("bleed", "1 mm")]));
        let side = 1.416159 * INCH;
        assert_relative_eq!(total(&member, "cut side"), side, max_relative = 1e-5);
        assert_relative_eq!(
            note(&member, "by a pointed tool it would be"),
            (1.015272 + 0.375) * INCH,
            max_relative = 1e-5
        );
        // Corners rounded by the land: they lose (4 - pi) r² of the square.
        let land: f64 = 0.1875 * INCH;
        let area = side * side - (4.0 - std::f64::consts::PI) * land * land;
        assert_relative_eq!(member.shape.area(), area, max_relative = 1e-5);
        let b = member.shape.bounds();
        assert!((b.x0 + b.x1).abs() < 1e-9 && (b.y0 + b.y1).abs() < 1e-9);
        assert_eq!(member.punches, [Punch { at: Point::ORIGIN, diameter: 1.0 }]);
        let sharp = one(made(&[("form", "square"), ("land", "3/16 in"), ("corner", "0 in")]));
        assert_relative_eq!(sharp.shape.area(), side * side, max_relative = 1e-5);
        let wide = made(&[("form", "square"), ("land", "3/16 in"), ("corner", "3/4 in")]);
        assert_eq!(codes(&wide), ["E28"]);
        // By the film's series, twice the slope for twice the side.
        let film = one(made(&[("form", "square"), ("land", "3/16 in"), ("rule", "area")]));
        assert_relative_eq!(total(&film, "cut side"), 1.400293 * INCH, max_relative = 1e-5);
    }

    #[test]
    fn rings_and_cups_leave_what_holds_them() {
        let ring = one(made(&[("form", "ring"), ("ring", "1 1/2 in"), ("over", "1/8 in")]));
        assert_relative_eq!(total(&ring, "cut diameter"), 1.791159 * INCH, max_relative = 1e-5);
        let bare = one(made(&[("form", "ring"), ("ring", "1 1/2 in")]));
        assert_relative_eq!(total(&bare, "cut diameter"), 1.541159 * INCH, max_relative = 1e-5);
        let cup = one(made(&[("form", "cup"), ("pull", "1/2 in")]));
        assert_relative_eq!(total(&cup, "cut diameter"), 2.041159 * INCH, max_relative = 1e-5);
        assert_eq!(codes(&made(&[("form", "cup"), ("pull", "1/2 in")])), Vec::<&str>::new());
        assert_eq!(codes(&made(&[("form", "cup"), ("pull", "7/16 in")])), ["W20"]);
        assert_eq!(codes(&made(&[("form", "ring"), ("ring", "1 in")])), ["E28"]);
        let close =
            [("form", "ring"), ("ring", "1 1/2 in"), ("over", "1/8 in"), ("pitch", "1 5/8 in")];
        assert_eq!(codes(&made(&close)), ["E28"]);
    }

    #[test]
    fn each_form_asks_for_its_own_and_refuses_the_others() {
        for (form, needed) in [
            ("disk", "land"),
            ("square", "land"),
            ("strip", "land"),
            ("ring", "ring"),
            ("cup", "pull"),
        ] {
            let short = made(&[("form", form)]);
            assert!(short.members.is_empty());
            let fault = &short.faults[0];
            assert_eq!(fault.code, "E12");
            assert!(fault.text.contains(&format!("\"{form}\" needs `{needed}`")), "{}", fault.text);
        }
        for (form, other) in [
            ("disk", "pull"),
            ("disk", "corner"),
            ("square", "ring"),
            ("ring", "land"),
            ("cup", "pitch"),
            ("strip", "over"),
        ] {
            let typed = [("form", form), (other, "1 1/2 in")];
            let told: Vec<String> = made(&typed)
                .faults
                .iter()
                .filter(|fault| fault.code == "E28")
                .map(|fault| fault.text.clone())
                .collect();
            assert_eq!(told, [format!("a pouch of form \"{form}\" has no `{other}`")]);
        }
        assert_eq!(codes(&made(&[("dips", "3"), ("land", "3/16 in")])), ["E28"]);
    }

    #[test]
    fn lifters_and_dots_come_with_their_tables() {
        let typed =
            [("well", "1 in"), ("dip", "1/8 in"), ("land", "3/16 in"), ("lifter", "1/2 in")];
        let dot = || given(&[("diameter", "3/16 in")], CARD.companions[1].keys);
        let m = with(given(&typed, KEYS), LIFTER, vec![given(&[], &[])]);
        let m = with(m, DOT, vec![dot()]);
        let all = develop(&m);
        assert_eq!(codes(&all), Vec::<&str>::new());
        let names: Vec<String> =
            all.members.iter().map(|m| m.name.map_or(String::new(), |n| n.to_string())).collect();
        assert_eq!(names, ["", "lifter", "dot"]);
        let sizes: Vec<f64> =
            all.members[1..].iter().map(|m| m.shape.outline().as_circle().unwrap().1).collect();
        assert_relative_eq!(sizes[0], 6.35, max_relative = 1e-12);
        assert_relative_eq!(sizes[1], 2.38125, max_relative = 1e-12);
        // Without its size, or too large, the lifter is refused.
        let m = with(given(&typed[..3], KEYS), LIFTER, vec![given(&[], &[])]);
        assert_eq!(codes(&develop(&m)), ["E12"]);
        let large = [("well", "1 in"), ("dip", "1/8 in"), ("land", "3/16 in"), ("lifter", "1 in")];
        let m = with(given(&large, KEYS), LIFTER, vec![given(&[], &[])]);
        assert_eq!(codes(&develop(&m)), ["E28"]);
        // A square well has a square lifter; a strip one for each dip.
        let square = [&typed[..], &[("form", "square")]].concat();
        let m = with(given(&square, KEYS), LIFTER, vec![given(&[], &[])]);
        assert_relative_eq!(develop(&m).members[1].shape.area(), 12.7 * 12.7, max_relative = 1e-12);
        let strip = [
            &typed[..],
            &[("form", "strip"), ("dips", "3"), ("pitch", "1 1/2 in"), ("end", "1/2 in")],
        ]
        .concat();
        let m = with(given(&strip, KEYS), DOT, vec![dot()]);
        let names: Vec<_> = develop(&m).members.iter().filter_map(|m| m.name).collect();
        assert_eq!(names, [1, 2, 3].map(|n| MemberName::numbered("dot", n)));
    }

    #[test]
    fn a_bleed_is_punched_however_large_unless_it_is_forced() {
        // That airtight leather is bled by a punched hole and not by a burnt one is common practice.
        for form in [&[("form", "square"), ("land", "3/16 in")][..], &[("land", "3/16 in")]] {
            let typed = [form, &[("bleed", "6 mm")]].concat();
            let member = one(made(&typed));
            assert!(member.shape.holes().is_empty());
            assert_eq!(member.punches.len(), 1);
            let forced = one(made(&[&typed[..], &[("bleed-by", "machine")]].concat()));
            assert!(forced.punches.is_empty());
            assert_eq!(forced.shape.holes()[0].as_circle().map(|(_, r)| r), Some(3.0));
            assert!(forced.sum.iter().any(|term| term.label == "bleed hole, by the machine"));
            let said = one(made(&[&typed[..], &[("bleed-by", "punch")]].concat()));
            assert_eq!(said.shape, member.shape);
            assert_eq!(said.punches, member.punches);
        }
        let without = made(&[("land", "3/16 in"), ("bleed-by", "machine")]);
        assert_eq!(codes(&without), ["E12"]);
    }
}
