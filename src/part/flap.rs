//! A flap valve: a strip of soft leather over a row of ports, tacked along one edge.
//!
//! A flap that grows in length gapes between its tacks and leaks, so its length always lies the way the material gives
//! least.

use super::measures::{Key, Measures};
use super::member::{Developed, Member};
use super::sum::{Sum, asked, doubt, idle, mm, positive, sides, wrong};
use super::{Kind, KindCard};
use crate::fault::{Fault, any_error};
use crate::geom::{Point, Seg, Shape, rectangle};

pub(super) const CARD: KindCard = KindCard {
    kind: Kind::Flap,
    name: "flap",
    about: "a flap valve over a row of ports",
    keys: KEYS,
    companions: &[],
    lengthwise: true,
    taut: true,
    thickness_key: None,
    develop,
};

const KEYS: &[Key] = &[
    Key::count("ports", "how many ports it covers; silent: one", "4"),
    Key::length("pitch", "from the middle of one port to the next", "1 1/2 in"),
    Key::needed("port-length", "length of a port, along the flap", "1 in"),
    Key::needed("port-width", "width of a port", "5/8 in"),
    Key::needed("margin", "rests on the wood all round the ports", "1/4 in"),
    Key::length("tack", "added along one edge for the tacks", "3/8 in"),
];

/// A flap covers no more ports than this.
const MOST_PORTS: u32 = 200;
/// A margin narrower than this is pointed out (mm).
///
/// # Source
/// Common practice, as for the land of a valve facing: 1/16 in.
const LEAST_MARGIN: f64 = 25.4 / 16.0;

fn develop(m: &Measures) -> Developed {
    let mut made = Developed {
        faults: positive(m, &["pitch", "port-length", "port-width", "margin"]),
        ..Developed::default()
    };
    let ports = ports(m, &mut made.faults);
    let (Some(long), Some(wide), Some(margin)) =
        (m.mm("port-length"), m.mm("port-width"), m.mm("margin"))
    else {
        return made;
    };
    let pitch = m.mm("pitch").filter(|_| ports > 1);
    if let Some(pitch) = pitch.filter(|pitch| *pitch <= long) {
        made.faults.push(wrong(
            m,
            "pitch",
            format!("ports {} long stand {} from middle to middle", mm(long), mm(pitch)),
            "give the distance from middle to middle, more than the length of a port",
        ));
    }
    if margin < LEAST_MARGIN {
        made.faults.push(doubt(
            "W23",
            m,
            "margin",
            format!("the flap rests on {} of wood only", mm(margin)),
            "1/16 in (1.59 mm) or more all round the ports is usual",
        ));
    }
    if any_error(&made.faults) {
        return made;
    }
    let tack = m.mm_or("tack", 0.0);
    let reach = f64::from(ports - 1) * pitch.unwrap_or(0.0);
    let length = reach + long + 2.0 * margin;
    let width = wide + 2.0 * margin + tack;
    let Ok(outline) = rectangle(Point::ORIGIN, length, width, 0.0) else {
        return made;
    };
    let mut sum = Sum::default()
        .given(m, "ports", "ports")
        .given(m, "pitch", "pitch of the ports")
        .given(m, "port-length", "length of a port")
        .given(m, "port-width", "width of a port")
        .given(m, "margin", "margin")
        .given(m, "tack", "for the tacks")
        .step("first port to last", "(ports - 1) x pitch", reach)
        .step("+ 2 x margin", "", 2.0 * margin)
        .total("cut length", "to last port + port + 2 x margin", length)
        .total("cut width", "port + 2 x margin + tack", width);
    if let Some(pitch) = pitch {
        sum = sum.note("wood between the ports", "pitch - length of a port", pitch - long, "mm");
    }
    let mut creases = Vec::new();
    if tack > 0.0 {
        sum = sum.note("folds up from the edge", "tack", tack, "mm");
        creases.push(Seg::line(Point::new(0.0, tack), Point::new(length, tack)));
    }
    made.members.push(Member {
        creases,
        soft: true,
        ..Member::of(Shape::plain(outline), sum.terms, sides(length, width))
    });
    made
}

/// How many ports there are, and whether their pitch is known.
fn ports(m: &Measures, faults: &mut Vec<Fault>) -> u32 {
    let ports = m.count("ports").unwrap_or(1);
    match ports {
        1 => faults.extend(idle(
            m,
            &["pitch"],
            "a flap over one port",
            "leave it out, or say how many `ports` there are",
        )),
        2..=MOST_PORTS => {
            faults.extend(asked(m, KEYS, &["pitch"], "a flap over more than one port"));
        }
        _ => faults.push(wrong(
            m,
            "ports",
            format!("a flap over {ports} ports"),
            &format!("a flap covers 1 to {MOST_PORTS} ports"),
        )),
    }
    ports
}

#[cfg(test)]
mod tests {
    use super::super::trial::{codes, given, note, one, total};
    use super::*;
    use approx::assert_abs_diff_eq;

    const ROW: [(&str, &str); 6] = [
        ("ports", "4"),
        ("pitch", "38 mm"),
        ("port-length", "25 mm"),
        ("port-width", "16 mm"),
        ("margin", "6 mm"),
        ("tack", "9 mm"),
    ];

    // From the first port's outer end to the last one's it is 3 x 38 + 25, and 6 more at either end: plane geometry.
    #[test]
    fn a_flap_covers_its_ports_and_their_margin() {
        let made = one(develop(&given(&ROW, KEYS)));
        assert_abs_diff_eq!(total(&made, "cut length"), 151.0, epsilon = 1e-9);
        assert_abs_diff_eq!(total(&made, "cut width"), 37.0, epsilon = 1e-9);
        assert_abs_diff_eq!(note(&made, "wood between the ports"), 13.0, epsilon = 1e-9);
        let fold = Seg::line(Point::new(0.0, 9.0), Point::new(151.0, 9.0));
        assert_eq!(made.creases, [fold]);
        assert!(made.soft && CARD.taut);
        let single = one(develop(&given(&ROW[2..5], KEYS)));
        assert_abs_diff_eq!(total(&single, "cut length"), 37.0, epsilon = 1e-9);
        assert_abs_diff_eq!(total(&single, "cut width"), 28.0, epsilon = 1e-9);
        assert!(single.creases.is_empty());
    }

    #[test]
    fn what_contradicts_itself_is_refused() {
        let change = |key: &str, text: &'static str| {
            ROW.map(|(name, old)| (name, if name == key { text } else { old }))
        };
        for (typed, wanted) in [
            (change("pitch", "25 mm"), "E28"),
            (change("ports", "1"), "E28"),
            (change("ports", "0"), "E28"),
            (change("ports", "201"), "E28"),
            (change("margin", "0 mm"), "E28"),
            (change("margin", "1.5 mm"), "W23"),
        ] {
            let made = develop(&given(&typed, KEYS));
            assert!(codes(&made).contains(&wanted), "{typed:?} {:?}", made.faults);
            assert_eq!(made.members.is_empty(), wanted != "W23");
        }
        let no_pitch: Vec<_> = ROW.into_iter().filter(|(name, _)| *name != "pitch").collect();
        assert_eq!(codes(&develop(&given(&no_pitch, KEYS))), ["E12"]);
    }
}
