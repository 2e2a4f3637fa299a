//! Checks of what is read against published figures.
#![allow(clippy::float_cmp, reason = "these lengths are promised to the last bit")]

mod refuse;
mod show;

use super::UnitFaultKind as Kind;
use super::*;
use approx::assert_relative_eq;

fn mm(text: &str) -> f64 {
    Length::parse(text, None).unwrap_or_else(|fault| panic!("{text}: {fault}")).mm()
}

fn refused(text: &str) -> UnitFault {
    match Length::parse(text, None) {
        Ok(length) => panic!("{text} was taken as {length:?}"),
        Err(fault) => fault,
    }
}

fn cure(text: &str) -> String {
    refused(text).cure().unwrap_or_default().to_owned()
}

#[test]
fn units_are_as_published() {
    // NIST SP 811, Appendix B: in, ft, yd exact
    for (unit, size) in [
        (Unit::Inch, 25.4),
        (Unit::Foot, 304.8),
        (Unit::Yard, 914.4),
        (Unit::Thou, 0.0254),
        (Unit::Millimetre, 1.0),
        (Unit::Centimetre, 10.0),
        (Unit::Metre, 1000.0),
    ] {
        assert_eq!(unit.millimetres(), size);
        assert_eq!(Unit::parse_name(&unit.to_string()), Some(unit));
    }
    assert_eq!(Unit::parse_name(" Inches "), Some(Unit::Inch));
    assert_eq!(Unit::parse_name("in."), Some(Unit::Inch));
    assert_eq!(Unit::parse_name("furlong"), None);
    assert_eq!(Unit::parse_name(""), None);
}

#[test]
fn every_way_of_writing_an_inch_and_a_quarter() {
    for text in [
        "1 1/4 in",
        "1-1/4\"",
        "1¼\"",
        "1 ¼ IN",
        "1–1/4 inch",
        "1 1⁄4 inches",
        "1.25 in",
        "1.250in.",
        "1\u{a0}1/4\u{2009}in",
        "1\u{200b}1/4 in",
        "5/4 in",
        "1 1/4″",
        "1 1/4”",
        "1 1/4''",
        "1-1/4-inch",
        "+1.25 in",
        "1250 thou",
        "31.75 mm",
        "3.175 cm",
        "0.03175 M",
        "01.25 in",
        " 1  1 / 4  in ",
    ] {
        assert_eq!(mm(text), 31.75, "{text}");
    }
}

#[test]
fn lengths_are_exact() {
    // NIST SP 811, Appendix B: 1 in = 25.4 mm, so 1/64 in = 0.396875 mm
    for (text, size) in [
        ("1/64 in", 0.396875),
        ("9/64 in", 3.571875),
        ("5/32 in", 3.96875),
        ("3/16 in", 4.7625),
        ("¾ in", 19.05),
        (".038 in", 0.9652),
        ("12 thou", 0.3048),
        ("2 1/2 yd", 2286.0),
        ("1 yd", 914.4),
        ("3 ft 6 in", 1066.8),
        ("3'-6 1/2\"", 1079.5),
        ("3′6″", 1066.8),
        ("1 1/2 ft", 457.2),
        ("1/3 yd", 304.8),
        ("0.1 ft 0.1 in", 33.02),
        ("0 in", 0.0),
        ("12. mm", 12.0),
        ("0.1 mm", 0.1),
        ("99999.999 mm", 99999.999),
    ] {
        assert_eq!(mm(text), size, "{text}");
    }
}

#[test]
fn a_bare_number_takes_the_set_unit_and_says_so() {
    let length = Length::parse("1 1/4", Some(Unit::Inch)).unwrap();
    assert_eq!((length.mm(), length.text()), (31.75, "1 1/4 in"));
    let length = Length::parse("31.75 mm", Some(Unit::Inch)).unwrap();
    assert_eq!((length.mm(), length.text()), (31.75, "31.75 mm"));
    let fault = refused("1.25");
    assert_eq!(fault.kind(), Kind::NoUnit);
    assert_eq!(fault.text(), "\"1.25\" has no unit");
    assert_eq!(fault.cure(), Some("write \"1.25 in\" or \"1.25 mm\""));
}

#[test]
fn number_drills_are_the_published_eighty() {
    // ASME B94.11M, as given in nine printed copies; #69 agrees to .0001
    assert_eq!(drill::NUMBERS.len(), 80);
    assert!(drill::NUMBERS.is_sorted_by(|a, b| a > b));
    for (number, inches) in [
        (1, 0.2280),
        (10, 0.1935),
        (20, 0.1610),
        (28, 0.1405),
        (30, 0.1285),
        (42, 0.0935),
        (47, 0.0785),
        (50, 0.0700),
        (52, 0.0635),
        (53, 0.0595),
        (55, 0.0520),
        (56, 0.0465),
        (60, 0.0400),
        (64, 0.0360),
        (68, 0.0310),
        (70, 0.0280),
        (78, 0.0160),
        (79, 0.0145),
        (80, 0.0135),
        (5, 0.2055),
        (18, 0.1695),
    ] {
        let size = number_drill(number).unwrap();
        assert_relative_eq!(size, inches * 25.4, max_relative = 1e-15);
        for text in [
            format!("#{number}"),
            format!("# {number} drill"),
            format!("no. {number}"),
            format!("No {number} Drill"),
            format!("drill #{number}"),
            format!("№{number}"),
            format!("number {number}"),
            format!("{inches} in"),
        ] {
            assert_eq!(mm(&text), size, "{text}");
        }
    }
    assert_relative_eq!(number_drill(69).unwrap(), 0.0292 * 25.4, epsilon = 0.0001 * 25.4);
    // the same source, its inches times 25.4
    for (text, size) in
        [("#80", 0.3429), ("#70", 0.7112), ("#68", 0.7874), ("#64", 0.9144), ("#60", 1.016)]
    {
        assert_eq!(mm(text), size);
    }
    assert_eq!(number_drill(0), None);
    assert_eq!(number_drill(81), None);
}

#[test]
fn letter_drills_are_the_published_alphabet() {
    // ASME B94.11M, as given in three printed copies
    assert!(drill::LETTERS.is_sorted_by(|a, b| a < b));
    for (letter, inches) in [
        ('A', 0.234),
        ('E', 0.250),
        ('F', 0.257),
        ('I', 0.272),
        ('Q', 0.332),
        ('U', 0.368),
        ('V', 0.377),
        ('Z', 0.413),
    ] {
        let size = letter_drill(letter).unwrap();
        assert_relative_eq!(size, inches * 25.4, max_relative = 1e-15);
        for text in [
            format!("{letter} drill"),
            format!("{letter}drill"),
            format!("letter {letter}"),
            format!("drill {letter}"),
            format!("{} drill bit", letter.to_ascii_lowercase()),
        ] {
            assert_eq!(mm(&text), size, "{text}");
        }
    }
    assert_eq!(letter_drill('é'), None);
    assert_eq!(drills().count(), 106);
    assert!(drills().is_sorted_by(|a, b| a.1 < b.1));
    for (name, size) in drills() {
        assert_eq!(mm(&name), size);
        let (found, _, error) = nearest_drill(size).unwrap();
        assert_eq!((found, error), (name, 0.0));
    }
}

#[test]
fn nearest_drill_keeps_to_its_list() {
    let (name, size, error) = nearest_drill(1.0).unwrap();
    // ASME B94.11M: #61 is .0390 in, 0.9906 mm
    assert_eq!((name.as_str(), size), ("#61 drill", 0.9906));
    assert_relative_eq!(error, -0.0094, epsilon = 1e-12);
    for far in [0.0, 0.2, 12.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(nearest_drill(far), None);
    }
}

#[test]
fn leather_ounces_are_for_thicknesses_only() {
    // common practice: 1 oz = 1/64 in
    let length = Length::parse_thickness("3 oz", None).unwrap();
    assert_eq!((length.mm(), length.text()), (1.190625, "3 oz"));
    assert_eq!(Length::parse_thickness("1 ounce", None).unwrap().mm(), OUNCE_MM);
    assert_eq!(Length::parse_thickness("2½ oz", None).unwrap().mm(), 0.9921875);
    assert_eq!(Length::parse_thickness("16 oz", None).unwrap().mm(), 6.35);
    assert_eq!(Length::parse_thickness("12 thou", None).unwrap().mm(), 0.3048);
    assert_eq!(refused("3 oz").kind(), Kind::Ounce);
    assert!(cure("3 oz").contains("3/64 in"));
    let fault = Length::parse_thickness("3-4 oz", None).unwrap_err();
    assert_eq!(fault.kind(), Kind::Grammar);
}

#[test]
fn areas_are_as_published() {
    // NIST SP 811, Appendix B: in², ft², yd²
    for (text, size) in [
        ("1 sq in", 645.16),
        ("1 in²", 645.16),
        ("1 ft²", 92903.04),
        ("1 sq. ft.", 92903.04),
        ("1 SQFT", 92903.04),
        ("1 square foot", 92903.04),
        ("1 yd2", 836127.36),
        ("4.5 sq ft", 418063.68),
        ("4 1/2 ft^2", 418063.68),
        ("10 dm²", 100000.0),
        ("10 dm2", 100000.0),
        ("3 cm²", 300.0),
        ("0.5 m2", 500000.0),
        ("7 mm²", 7.0),
    ] {
        assert_eq!(Area::parse(text, None).unwrap().mm2(), size, "{text}");
    }
    let hide = Area::parse("10 dm²", None).unwrap();
    assert_relative_eq!(hide.sq_ft(), 1.0764, epsilon = 5e-5);
    assert_eq!(hide.show_both(), "10 dm² (1.08 sq ft)");
    let skin = Area::parse("4.5", Some(AreaUnit::SquareFoot)).unwrap();
    assert_eq!(skin.show_both(), "4.5 sq ft (41.81 dm²)");
    assert_eq!(Area::parse("1 m²", None).unwrap().show_both(), "1 m² (10.76 sq ft, 100.00 dm²)");
    // a yard of 54 in cloth: 13.5 ft², 1.25419 m²
    let cloth = Area::from_mm2(mm("1 yd") * mm("54 in"));
    assert_relative_eq!(cloth.sq_ft(), 13.5, max_relative = 1e-12);
    assert_relative_eq!(cloth.mm2() / 1e6, 1.25419, max_relative = 1e-5);
    assert_eq!(Area::parse(cloth.text(), None).unwrap().mm2(), cloth.mm2());
}

#[test]
fn places_may_be_below_zero() {
    let signed = |text| Length::parse_signed(text, None).map(|length| length.mm());
    assert_eq!(signed("-5 mm"), Ok(-5.0));
    assert_eq!(signed("- 1 1/4 in"), Ok(-31.75));
    assert_eq!(signed("-1-1/4 in"), Ok(-31.75));
    assert_eq!(signed("-2 ft 6 in"), Ok(-762.0));
    assert_eq!(signed("5 mm"), Ok(5.0));
    assert!(signed("-0 mm").unwrap().is_sign_positive());
    assert_eq!(signed("-100000 mm").unwrap_err().kind(), Kind::TooLarge);
}

#[test]
fn readings_give_their_mean() {
    let read = |text: &str| Length::parse(text, None).unwrap();
    let mean =
        Length::from_readings(vec![read("1.001 in"), read("1.003 in"), read("1.002 in")]).unwrap();
    assert_relative_eq!(mean.mm(), 1.002 * 25.4, max_relative = 1e-14);
    assert_eq!(mean.text(), "mean of 3: 1.001 in, 1.003 in, 1.002 in");
    assert_eq!(mean.readings(), [mm("1.001 in"), mm("1.003 in"), mm("1.002 in")]);
    assert_relative_eq!(mean.spread(), 0.0508, epsilon = 1e-12);
    assert_eq!(show_both(&mean), "mean of 3: 1.001 in, 1.003 in, 1.002 in (25.451 mm)");
    assert_eq!(table(&mean)[1].1, "3, spread 0.051 mm (0.0020 in)");

    let all = Length::from_readings(vec![mean, read("1.002 in")]).unwrap();
    assert_eq!(all.readings().len(), 4);
    let same = Length::from_readings(vec![read("0.1 mm"); 7]).unwrap();
    assert_eq!((same.mm(), same.spread()), (0.1, 0.0));
    assert!(same.text().ends_with("0.1 mm and 1 more"));
    let one = Length::from_readings(vec![read("1 in")]).unwrap();
    assert_eq!(one, read("1 in"));
    assert!(one.readings().is_empty());
    assert_eq!(Length::from_readings(Vec::new()).unwrap_err().kind(), Kind::Empty);
}
