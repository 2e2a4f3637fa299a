//! A strip of pouch leather over a row of wells, a dip in each.
//!
//! Every dip takes up some of the strip, so in the flat the centres lie further apart than on the board. Along the
//! edges, where nothing sags, what the dips take up is slack and is eased into the land.

use super::dish::Dish;
use super::measures::{Key, Measures, Takes};
use super::member::{Dimension, Member};
use super::pitch::spaced;
use super::pouch::{KEYS, bleed, head};
use super::sum::{Sum, asked, doubt, idle, mm, shown, sides, wrong};
use crate::fault::Fault;
use crate::geom::{Point, Shape, rectangle};
use crate::units::Length;

pub(super) const BREAK: &[Key] = &[
    Key {
        name: "after",
        takes: Takes::Count,
        needed: true,
        about: "dip after which the break comes",
        example: "6",
    },
    Key::needed("add", "added to the pitch there", "3/8 in"),
];

/// A strip has no more dips than this.
const MOST_DIPS: u32 = 500;
/// Where every centre is told one by one, there are no more of them than this.
const MOST_TOLD: usize = 24;
/// Slack along the edges above this puckers (share).
///
/// # Source
/// Common practice: usual wells have two or three per cent, and above that separate disks are cut.
const MOST_SLACK: f64 = 0.03;

/// The strip, and how many dips it has.
pub(super) fn strip(m: &Measures, dish: &Dish, faults: &mut Vec<Fault>) -> Option<(Member, u32)> {
    let before = faults.len();
    let on_board = centres(m, faults);
    if faults.len() > before {
        return None;
    }
    let (land, end) = (m.mm("land")?, m.mm("end")?);
    let reach = on_board.last()? - on_board.first()?;
    let count = u32::try_from(on_board.len()).ok()?;
    let dips = f64::from(count);
    let least = on_board.windows(2).map(|w| w[1] - w[0]).reduce(f64::min);
    if let Some(least) = least {
        apart(m, dish, least, faults);
    }
    let (taken, all) = (dish.taken_up(), dips * dish.taken_up());
    let (length, width) = (reach + dish.well + 2.0 * end + all, dish.free + 2.0 * land);
    let outline = rectangle(Point::ORIGIN, length, width, 0.0).ok()?;
    let first = end + dish.free / 2.0;
    let flat: Vec<f64> = (0..count)
        .zip(&on_board)
        .map(|(n, x)| first + (x - on_board[0]) + f64::from(n) * taken)
        .collect();
    let mut sum = head(
        m,
        dish,
        &[
            ("land", "land on each side"),
            ("end", "end, from the last rim"),
            ("dips", "dips"),
            ("pitch", "pitch"),
        ],
    );
    for (n, gap) in m.tables("break").iter().enumerate() {
        sum = sum.given(gap, "after", &format!("break {}, after dip", n + 1)).given(
            gap,
            "add",
            "added to the pitch there",
        );
    }
    let sum = sum
        .step("first centre to last, on the board", "", reach)
        .step("+ well + 2 x end", "", dish.well + 2.0 * end)
        .step("+ taken up by the dips", "dips x (over the well - well)", all)
        .total("cut length", "", length)
        .step("over the well + 2 x land", "", width)
        .total("cut width", "", width);
    let sum = places(sum, &flat, least, taken).note(
        "width once dished",
        "well + 2 x land",
        dish.well + 2.0 * land,
        "mm",
    );
    let sum = match least {
        Some(pitch) => sum.note(
            "slack along the edges",
            "(over the well - well) / pitch",
            taken / pitch * 100.0,
            "%",
        ),
        None => sum,
    };
    let sum = dish.bounds(m, sum, "the length", |free| length + dips * (free - dish.free));
    let sum = dish.room_below(m, sum);
    let punches = flat.iter().filter_map(|x| bleed(m, Point::new(*x, width / 2.0))).collect();
    let mut dimensions = sides(length, width);
    if let [first, rest @ ..] = flat.as_slice() {
        // Where the first well comes to lie in the flat, and how far on the next one is.
        let at = |x: f64| Point::new(x, width / 2.0);
        dimensions.push(Dimension::Span(at(0.0), at(*first), 1.0, shown(*first)));
        if let Some(second) = rest.first() {
            dimensions.push(Dimension::Span(at(*first), at(*second), 1.0, shown(second - first)));
        }
    }
    let member =
        Member { punches, soft: true, ..Member::of(Shape::plain(outline), sum.terms, dimensions) };
    Some((member, count))
}

/// Where the centres come to lie in the flat, from the strip's left end.
fn places(sum: Sum, flat: &[f64], least: Option<f64>, taken: f64) -> Sum {
    let even =
        flat.windows(2).all(|w| least.is_some_and(|p| (w[1] - w[0] - p - taken).abs() < 1e-9));
    if !even && flat.len() <= MOST_TOLD {
        return flat.iter().enumerate().fold(sum, |sum, (n, x)| {
            sum.note(&format!("centre {} in the flat", n + 1), "from the left end", *x, "mm")
        });
    }
    let mut sum = sum;
    if let (Some(first), Some(last)) = (flat.first(), flat.last()) {
        sum = sum.note("first centre in the flat", "from the left end", *first, "mm");
        if even && flat.len() > 1 {
            let step = least.unwrap_or(0.0) + taken;
            sum = sum.note("from centre to centre in the flat", "pitch + taken up", step, "mm");
        } else if flat.len() > 1 {
            sum = sum.note(
                "more in the flat than on the board",
                "for each dip before it",
                taken,
                "mm",
            );
        }
        sum = sum.note("last centre in the flat", "from the left end", *last, "mm");
    }
    sum
}

/// Wells that run into one another are refused; much slack is pointed out.
fn apart(m: &Measures, dish: &Dish, least: f64, faults: &mut Vec<Fault>) {
    let key = if m.has("at") { "at" } else { "pitch" };
    if least <= dish.well {
        faults.push(wrong(
            m,
            key,
            format!("wells of {} stand {} from centre to centre", mm(dish.well), mm(least)),
            "give the distance from centre to centre, more than a well",
        ));
    } else if dish.taken_up() / least > MOST_SLACK {
        faults.push(doubt(
            "W20",
            m,
            key,
            format!(
                "along its edges {:.1} % of the strip is slack, which puckers",
                dish.taken_up() / least * 100.0
            ),
            "above 3 % separate disks are better: leave `form` out and give `positions`",
        ));
    }
}

/// The wells' centres on the board, from the first.
fn centres(m: &Measures, faults: &mut Vec<Fault>) -> Vec<f64> {
    if m.has("at") {
        faults.extend(idle(
            m,
            &["dips", "pitch", "break"],
            "a strip with a list `at`",
            "give the list, or dips, pitch and breaks",
        ));
        let listed = m.lengths("at");
        let most = usize::try_from(MOST_DIPS).unwrap_or(usize::MAX);
        if listed.is_empty() || listed.len() > most {
            faults.push(many(m, "at", listed.len()));
        }
        if !listed.is_sorted_by(|a, b| a.mm() < b.mm()) {
            faults.push(wrong(
                m,
                "at",
                "the distances of `at` do not rise from well to well".into(),
                "each is measured from the first centre: [\"0 in\", \"1 1/2 in\", \"3 1/8 in\"]",
            ));
        }
        return listed.iter().map(Length::mm).collect();
    }
    let Some(count) = m.count("dips") else {
        faults.extend(asked(m, KEYS, &["dips"], "a strip of pouches without a list `at`"));
        return Vec::new();
    };
    if count == 0 || count > MOST_DIPS {
        faults.push(many(m, "dips", count as usize));
        return Vec::new();
    }
    if count > 1 {
        faults.extend(asked(m, KEYS, &["pitch"], "a strip of more than one dip"));
    }
    spaced(m, count, m.mm_or("pitch", 0.0), ("dip", "strip"), faults)
}

fn many(m: &Measures, key: &str, count: usize) -> Fault {
    wrong(m, key, format!("a strip of {count} dips"), &format!("a strip has 1 to {MOST_DIPS} dips"))
}

#[cfg(test)]
mod tests {
    use super::super::member::Developed;
    use super::super::pouch::CARD;
    use super::super::trial::{codes, given, note, one, total, with};
    use super::*;
    use approx::assert_relative_eq;

    fn made(typed: &[(&str, &str)]) -> Developed {
        let typed: Vec<_> = typed.iter().chain(&[("form", "strip")]).copied().collect();
        (CARD.develop)(&given(&typed, KEYS))
    }

    fn gap(after: &str, add: &str) -> Measures {
        given(&[("after", after), ("add", add)], BREAK)
    }

    // Length and width by independent quadrature of each dip; the slack by plane geometry.
    #[test]
    fn strips_come_out_as_worked() {
        for (unit, [n, pitch, well, dip, end, land], arc, area) in [
            (
                "in",
                ["12", "1.5", "1", "0.125", "0.5", "0.1875"],
                (18.99391, 1.416159),
                (18.86932, 1.405776),
            ),
            (
                "in",
                ["30", "1.5", "1.125", "0.125", "0.5", "0.1875"],
                (46.72536, 1.536679),
                (46.44829, 1.527443),
            ),
            (
                "mm",
                ["10", "38", "25.4", "3", "10", "5"],
                (396.7458, 36.33458),
                (394.3904, 36.09904),
            ),
        ] {
            let scale = if unit == "in" { 25.4 } else { 1.0 };
            let text = |x: &str| format!("{x} {unit}");
            for (rule, (length, width)) in [("arc", arc), ("area", area)] {
                let member = one(made(&[
                    ("rule", rule),
                    ("dips", n),
                    ("pitch", &text(pitch)),
                    ("well", &text(well)),
                    ("dip", &text(dip)),
                    ("end", &text(end)),
                    ("land", &text(land)),
                ]));
                let b = member.shape.bounds();
                assert!(b.x0.abs() < 1e-9 && b.y0.abs() < 1e-9 && member.soft);
                assert_relative_eq!(b.width(), length * scale, max_relative = 1e-5);
                assert_relative_eq!(b.height(), width * scale, max_relative = 1e-5);
                assert_relative_eq!(
                    total(&member, "cut length"),
                    length * scale,
                    max_relative = 1e-5
                );
                assert_relative_eq!(
                    total(&member, "cut width"),
                    width * scale,
                    max_relative = 1e-5
                );
            }
        }
    }

    const DOZEN: [(&str, &str); 6] = [
        ("dips", "12"),
        ("pitch", "1 1/2 in"),
        ("well", "1 in"),
        ("dip", "1/8 in"),
        ("end", "1/2 in"),
        ("land", "3/16 in"),
    ];

    #[test]
    fn the_slack_along_the_edges_is_told_and_doubted() {
        let all = made(&DOZEN);
        assert_eq!(codes(&all), Vec::<&str>::new());
        assert_relative_eq!(note(&one(all), "slack along the edges"), 2.74395, max_relative = 1e-5);
        // 1.0411593 over wells 1.372 apart has three per cent; nearer together more.
        let closer = |pitch| [&DOZEN[2..], &[("dips", "4"), ("pitch", pitch)]].concat();
        assert_eq!(codes(&made(&closer("1.373 in"))), Vec::<&str>::new());
        assert_eq!(codes(&made(&closer("1.371 in"))), ["W20"]);
        assert_eq!(codes(&made(&closer("1 in"))), ["E28"]);
    }

    #[test]
    fn centres_lie_apart_by_pitch_and_take_up() {
        let typed = [&DOZEN[..], &[("form", "strip"), ("bleed", "1 mm")]].concat();
        let m = with(given(&typed, KEYS), "break", vec![gap("6", "1/4 in")]);
        let member = one((CARD.develop)(&m));
        let inches: Vec<f64> = member.punches.iter().map(|p| p.at.x / 25.4).collect();
        // Half a free well from the first rim, then 1 1/2 and the take-up each, and the break once.
        let free = 1.0411593;
        for (n, x) in inches.iter().enumerate() {
            let board =
                1.5 * f64::from(u32::try_from(n).unwrap()) + if n >= 6 { 0.25 } else { 0.0 };
            let flat =
                0.5 + free / 2.0 + board + f64::from(u32::try_from(n).unwrap()) * (free - 1.0);
            assert_relative_eq!(*x, flat, max_relative = 1e-6);
        }
        // The last centre stands as far from its end as the first from its own.
        let length = total(&member, "cut length") / 25.4;
        assert_relative_eq!(length - inches[11], inches[0], max_relative = 1e-9);
        assert_relative_eq!(
            note(&member, "centre 7 in the flat"),
            inches[6] * 25.4,
            max_relative = 1e-9
        );
        let even = one(made(&DOZEN));
        assert_relative_eq!(
            note(&even, "from centre to centre in the flat"),
            (1.5 + free - 1.0) * 25.4,
            max_relative = 1e-6
        );
    }

    #[test]
    fn a_list_of_centres_does_as_well() {
        let list = [("at", "0 in; 1.5 in; 3.25 in")];
        let listed = one(made(&[&DOZEN[2..], &list].concat()));
        let typed = [&DOZEN[1..], &[("dips", "3"), ("form", "strip")]].concat();
        let m = with(given(&typed, KEYS), "break", vec![gap("2", "1/4 in")]);
        let counted = one((CARD.develop)(&m));
        let (one, two) = (total(&listed, "cut length"), total(&counted, "cut length"));
        assert_relative_eq!(one, two, max_relative = 1e-12);
    }

    #[test]
    fn strips_that_contradict_themselves_are_refused() {
        let base = &DOZEN[2..];
        for (more, wanted) in [
            (vec![], "E12"),
            (vec![("dips", "3")], "E12"),
            (vec![("dips", "0"), ("pitch", "2 in")], "E28"),
            (vec![("dips", "501"), ("pitch", "2 in")], "E28"),
            (vec![("at", "0 in; 2 in"), ("dips", "2")], "E28"),
            (vec![("at", "0 in; 2 in; 2 in")], "E28"),
        ] {
            let found = made(&[base, &more].concat());
            assert_eq!(codes(&found), [wanted], "{more:?}");
            assert!(found.members.is_empty());
        }
        let typed = [&DOZEN[..], &[("form", "strip")]].concat();
        let m = with(given(&typed, KEYS), "break", vec![gap("12", "1/4 in")]);
        assert_eq!(codes(&(CARD.develop)(&m)), ["E28"]);
        // One dip alone needs no pitch and has no slack to tell.
        let single = one(made(&[base, &[("dips", "1")]].concat()));
        assert!(single.sum.iter().all(|t| t.label != "slack along the edges"));
        assert_relative_eq!(total(&single, "cut length"), 2.0411593 * 25.4, max_relative = 1e-6);
    }
}
