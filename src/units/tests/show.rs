//! Checks of what is shown, of reading it back, and of stray text.
#![allow(clippy::float_cmp, reason = "these lengths are promised to the last bit")]

use crate::units::*;
use approx::assert_relative_eq;

fn read(text: &str) -> Length {
    Length::parse(text, None).unwrap_or_else(|fault| panic!("{text}: {fault}"))
}

#[test]
fn odd_fractions_are_remarked() {
    let hint = read("3/10 in").odd_fraction().unwrap();
    assert_eq!(hint.instead(), "19/64 in");
    assert_eq!(
        hint.to_string(),
        "\"3/10 in\" is not on an inch rule; the nearest mark is 19/64 in (0.079 mm smaller)"
    );
    assert!(read("1 ft 2/3 in").odd_fraction().is_some());
    for text in ["3/8 in", "1.3 in", "1/3 yd", "1/10 mm", "#60", "1/128 in", "0/4 in"] {
        assert_eq!(read(text).odd_fraction(), None, "{text}");
    }
    let list = vec![read("1/4 in"), read("3/10 in")];
    assert!(Length::from_readings(list).unwrap().odd_fraction().is_some());
}

#[test]
fn sixtyfourths_in_lowest_terms() {
    for (mm, text, error) in [
        (31.75, "1 1/4 in", 0.0),
        (0.0, "0 in", 0.0),
        (0.396875, "1/64 in", 0.0),
        (50.8, "2 in", 0.0),
        (-31.75, "-1 1/4 in", 0.0),
        (-0.01, "0 in", 0.01),
        (12.5, "31/64 in", -0.196875),
        (12.6, "1/2 in", 0.1),
    ] {
        let near = nearest_64th(mm);
        assert_eq!(near.text, text);
        assert_relative_eq!(near.error_mm, error, epsilon = 1e-12);
    }
    // every 64th up to 3 in is found again, without error
    for marks in 0..=192_u32 {
        let near = nearest_64th(f64::from(marks) * 127.0 / 320.0);
        assert_eq!(near.error_mm, 0.0);
        assert_eq!(read(&near.text).mm(), f64::from(marks * 127) / 320.0);
    }
    assert_eq!(nearest_64th(f64::NAN).text, "not a number");
}

#[test]
fn figures_are_steady() {
    assert_eq!(show(31.75), "31.750 mm");
    assert_eq!(show(-0.0001), "0.000 mm");
    assert_eq!(show(-1.5), "-1.500 mm");
    assert_eq!(show(f64::NAN), "not a number");
    assert_eq!(show_inches(1.016), "0.0400 in");
    assert_eq!(show_inches(f64::INFINITY), "not a number");
    assert_eq!(show_both(&read("1 1/4 in")), "1 1/4 in (31.750 mm)");
    assert_eq!(show_both(&read("#60 drill")), "#60 drill (1.016 mm)");
    assert_eq!(show_both(&read("12.5 mm")), "12.5 mm");
    assert_eq!(show_both(&read("1.25 cm")), "1.25 cm (12.500 mm)");
    assert_eq!(show_both(&Length::from_mm(12.5)), "12.5 mm");
}

#[test]
fn the_measure_table() {
    let rows = |text: &str| {
        let rows = table(&read(text));
        rows.iter().map(|(name, text)| format!("{name}: {text}")).collect::<Vec<_>>()
    };
    assert_eq!(
        rows("#60 drill"),
        [
            "as written: #60 drill",
            "millimetres: 1.016 mm",
            "decimal inches: 0.0400 in",
            "thou: 40.0 thou",
            "nearest 64th: 3/64 in (0.175 mm larger)",
            "nearest drill: #60 drill (exact)",
            "leather ounces: 2.56 oz",
        ]
    );
    assert_eq!(
        rows("1 1/2 yd"),
        [
            "as written: 1 1/2 yd",
            "millimetres: 1371.600 mm",
            "decimal inches: 54.0000 in",
            "thou: 54000.0 thou",
            "nearest 64th: 54 in (exact)",
            "feet and inches: 4 ft 6 in",
            "yards: 1.500 yd",
            "metres: 1.372 m",
        ]
    );
    assert!(
        rows("1 mm")
            .contains(&"nearest drill: #61 drill (within 0.001 in: 0.009 mm smaller)".into())
    );
    assert!(
        rows("3.1 mm").contains(&"nearest drill: #31 drill (not a fit: 0.052 mm smaller)".into())
    );
    assert!(rows("0.9655 mm").contains(
        &"nearest drill: #62 drill (within 0.001 in: less than 0.001 mm smaller)".into()
    ));
    // just short of a foot rounds to 12 in, just over keeps its foot
    assert!(rows("304.9 mm").contains(&"feet and inches: 1 ft 0 in".into()));
}

/// A small random number maker (xorshift), so that failures can be repeated.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn below(&mut self, top: usize) -> usize {
        usize::try_from(self.next() % top as u64).unwrap()
    }
}

#[test]
fn what_is_printed_reads_back_the_same() {
    let mut random = Random(0x9E37_79B9_7F4A_7C15);
    for round in 0..20_000 {
        let near_one = f64::from_bits((random.next() >> 12) | 0x3FF0_0000_0000_0000);
        let power = i32::try_from(random.below(40)).unwrap() - 24;
        let value = near_one * 2_f64.powi(power) * if round % 2 == 0 { 1.0 } else { -1.0 };
        if value.abs() >= 1e5 {
            continue;
        }
        let made = Length::from_mm(value);
        let back = Length::parse_signed(made.text(), Some(Unit::Inch)).unwrap();
        assert_eq!(back.mm().to_bits(), value.to_bits(), "{value}");
        assert_eq!(back.text(), made.text());
    }
    for value in [0.0, 0.1, 1e-20, 1.0 / 3.0, 99_999.999_999_999, f64::MIN_POSITIVE, 2.5e-30] {
        let made = Length::from_mm(value);
        assert_eq!(read(made.text()).mm().to_bits(), made.mm().to_bits());
        let made = Area::from_mm2(value);
        let back = Area::parse(made.text(), None).unwrap();
        assert_eq!(back.mm2().to_bits(), made.mm2().to_bits());
    }
    assert_eq!(Length::from_mm(-0.0).text(), "0 mm");
}

#[test]
fn any_decimal_of_an_inch_is_rounded_once() {
    // 1 in = 25.4 mm (NIST SP 811, Appendix B): n thou is 254 n / 10000 mm
    for n in 0..20_000_u32 {
        let want = f64::from(n * 254) / 10_000.0;
        assert_eq!(read(&format!("{n} thou")).mm(), want);
        assert_eq!(read(&format!("{}.{:03} in", n / 1000, n % 1000)).mm(), want);
        assert_eq!(read(&format!("{n}/1000 in")).mm(), want);
    }
}

#[test]
fn no_text_upsets_the_reader() {
    const SEEDS: [&str; 24] = [
        "1 1/4 in",
        "1-1/4\"",
        "¾ in",
        "1¼\"",
        ".038 in",
        "12 thou",
        "31.75 mm",
        "3 ft 6 in",
        "3'-6 1/2\"",
        "#60 drill",
        "no. 60",
        "letter F",
        "F drill",
        "8-Mar",
        "3/8/2026",
        "2026-03-08 00:00:00",
        "#REF!",
        "####",
        "1,25 in",
        "3 mil",
        "14 ga",
        "1e400",
        "3 oz",
        "4.5 sq ft",
    ];
    const BITS: [&str; 40] = [
        "0", "1", "9", "99999999", ".", ",", "/", "-", "−", "+", " ", "\u{a0}", "\u{200b}", "\"",
        "'", "″", "#", "!", "½", "⅓", "²", "e", "in", "ft", "mm", "m", "oz", "drill", "no",
        "letter", "mar", ":", "t", "é", "İ", "ß", "\u{0}", "🪗", "\u{301}", "½/",
    ];
    let mut random = Random(0x00C0_FFEE_1234_5678);
    let mut taken = 0;
    for _ in 0..20_000 {
        let mut text: Vec<char> = SEEDS[random.below(SEEDS.len())].chars().collect();
        for _ in 0..=random.below(4) {
            let at = random.below(text.len() + 1);
            match random.below(4) {
                0 if at < text.len() => {
                    text.remove(at);
                }
                1 if at < text.len() => {
                    let other = random.below(text.len());
                    text.swap(at, other);
                }
                2 => {
                    let more: Vec<char> = SEEDS[random.below(SEEDS.len())].chars().collect();
                    text.splice(at..at, more);
                }
                _ => {
                    text.splice(at..at, BITS[random.below(BITS.len())].chars());
                }
            }
        }
        let text: String = text.into_iter().collect();
        for unit in [None, Some(Unit::Inch), Some(Unit::Millimetre)] {
            for reader in [Length::parse, Length::parse_signed, Length::parse_thickness] {
                match reader(&text, unit) {
                    Ok(length) => {
                        taken += 1;
                        assert!(length.mm().is_finite() && length.mm().abs() < 1e5, "{text:?}");
                        let back = reader(length.text(), None);
                        assert_eq!(back.as_ref(), Ok(&length), "{text:?}");
                        assert!(!table(&length).is_empty());
                    }
                    Err(fault) => assert!(!fault.to_string().contains('\u{0}')),
                }
            }
        }
        if let Ok(area) = Area::parse(&text, Some(AreaUnit::SquareFoot)) {
            assert_eq!(Area::parse(area.text(), None).unwrap().mm2(), area.mm2(), "{text:?}");
        }
        let _ = (Unit::parse_name(&text), AreaUnit::parse_name(&text));
    }
    assert!(taken > 1_000, "only {taken} readings taken");
}

#[test]
fn a_half_thousandth_is_rounded_one_way_everywhere() {
    // 11/16 in is 17.4625 mm by definition of the inch (NIST SP 811), which no binary figure holds.
    assert_eq!(thousandths(11.0 / 16.0 * 25.4), "17.463");
    assert_eq!(thousandths(2.0 * (17.4625 / 2.0)), "17.463");
    assert_eq!(thousandths(17.4625 - 1e-12), "17.463");
    assert_eq!(thousandths(-0.000_000_1), "0.000");
    assert_eq!(counted(1, "piece"), "1 piece");
    assert_eq!(counted(0, "piece"), "0 pieces");
}
