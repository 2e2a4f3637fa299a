//! Checks of what must be refused, and of the words used for it.

use super::{cure, mm, refused};
use crate::units::UnitFaultKind as Kind;
use crate::units::*;

#[test]
fn areas_refuse_what_is_no_area() {
    for (text, kind) in [
        ("", Kind::Empty),
        ("4.5", Kind::NoUnit),
        ("4.5 ft", Kind::NotArea),
        ("4.5 acres", Kind::UnknownUnit),
        ("sq ft", Kind::Grammar),
        ("-1 sq ft", Kind::Negative),
        ("4,5 sq ft", Kind::Comma),
        ("1 1/0 sq ft", Kind::ZeroDenominator),
        ("10000 m²", Kind::TooLarge),
        ("#REF!", Kind::SpreadsheetError),
        ("5-Apr", Kind::SpreadsheetDate),
        ("4 sq thou", Kind::UnknownUnit),
    ] {
        assert_eq!(Area::parse(text, None).unwrap_err().kind(), kind, "{text}");
    }
    for text in ["1 sq ft", "1 in²", "1 ft2", "3 square inches"] {
        let kind = refused(text).kind();
        assert!(matches!(kind, Kind::Area | Kind::Grammar), "{text}: {kind:?}");
    }
    for unit in ["sq in", "sq ft", "sq yd", "mm²", "cm²", "dm²", "m²"] {
        assert_eq!(AreaUnit::parse_name(unit).unwrap().to_string(), unit);
    }
}

#[test]
#[allow(clippy::too_many_lines, reason = "one table of refusals")]
fn refusals_name_their_reason() {
    for (text, kind) in [
        ("", Kind::Empty),
        (" \u{a0}\u{feff}", Kind::Empty),
        ("5 furlongs", Kind::UnknownUnit),
        ("2 km", Kind::UnknownUnit),
        ("12 iron", Kind::UnknownUnit),
        ("12 pt", Kind::UnknownUnit),
        ("1 in x 2 in", Kind::Grammar),
        ("1 x 2", Kind::UnknownUnit),
        ("1,25 in", Kind::Comma),
        ("1,250", Kind::Comma),
        ("1 in, 2 in", Kind::Comma),
        ("3 mil", Kind::Mil),
        ("3 MILS", Kind::Mil),
        ("14 ga", Kind::WireGauge),
        ("14 gauge", Kind::WireGauge),
        ("AWG 14", Kind::WireGauge),
        ("#14 gauge", Kind::WireGauge),
        ("#81 drill", Kind::DrillRange),
        ("#0", Kind::DrillRange),
        ("#-5", Kind::DrillRange),
        ("#99999999999", Kind::DrillRange),
        ("no. 81", Kind::DrillRange),
        ("#", Kind::Grammar),
        ("#60.5", Kind::Grammar),
        ("#60 in", Kind::Grammar),
        ("#F", Kind::Grammar),
        ("60 drill", Kind::Grammar),
        ("1/4 in drill", Kind::Grammar),
        ("drill", Kind::Grammar),
        ("letter 5", Kind::Grammar),
        ("F", Kind::BareLetter),
        ("m", Kind::BareLetter),
        ("1 5/0 in", Kind::ZeroDenominator),
        ("3/0", Kind::ZeroDenominator),
        ("-2 mm", Kind::Negative),
        ("−1 1/4 in", Kind::Negative),
        ("nan", Kind::NotFinite),
        ("inf in", Kind::NotFinite),
        ("-Infinity", Kind::NotFinite),
        ("NaN mm", Kind::NotFinite),
        ("1e400", Kind::Exponent),
        ("1.5E-3 mm", Kind::Exponent),
        ("1.e+3 mm", Kind::Exponent),
        ("100000 mm", Kind::TooLarge),
        ("1e", Kind::UnknownUnit),
        ("100 m", Kind::TooLarge),
        ("3-8", Kind::Grammar),
        ("3-8 in", Kind::Grammar),
        ("3 8 in", Kind::Grammar),
        ("1 250 mm", Kind::Grammar),
        ("1.2.3 in", Kind::Grammar),
        ("1.5 1/4 in", Kind::Grammar),
        ("1 1.5/4 in", Kind::Grammar),
        ("1 5/4 in", Kind::Grammar),
        ("1/2/3 in", Kind::Grammar),
        ("1/ in", Kind::Grammar),
        ("/4 in", Kind::Grammar),
        ("in", Kind::Grammar),
        (". in", Kind::Grammar),
        ("1..2 in", Kind::Grammar),
        ("1 in 2", Kind::Grammar),
        ("3 ft 6", Kind::Grammar),
        ("3 ft 6 mm", Kind::Grammar),
        ("3 ft in", Kind::Grammar),
        ("6 in 3 ft", Kind::Grammar),
        ("5 mm mm", Kind::Grammar),
        ("--5 mm", Kind::Grammar),
        ("5 - mm -", Kind::Grammar),
        ("٣ mm", Kind::Grammar),
        ("1;2 mm", Kind::Grammar),
        ("5 %", Kind::Grammar),
        ("mean of 2: 1 in, 2 in", Kind::Grammar),
        ("1234567890/2 in", Kind::Grammar),
        ("1/1234567890 in", Kind::Grammar),
        ("1234567890123456789012345678901 mm", Kind::Grammar),
        ("0x10 mm", Kind::UnknownUnit),
    ] {
        let fault = refused(text);
        assert_eq!(fault.kind(), kind, "{text}: {fault}");
        assert!(!fault.text().is_empty());
    }
    assert_eq!(refused(&"9".repeat(65)).kind(), Kind::TooLong);
    assert_eq!(refused(&" ".repeat(200)).kind(), Kind::Empty);
    assert_eq!(mm(&format!("{}1 in{0}", " ".repeat(200))), 25.4);
    let long = format!("0.{}", "1".repeat(62));
    assert_eq!(Length::parse(&long, Some(Unit::Inch)).unwrap_err().kind(), Kind::Grammar);
    let edge = format!("{}1", "0".repeat(62));
    assert_eq!(Length::parse(&edge, Some(Unit::Inch)).unwrap_err().kind(), Kind::TooLong);
    // a day number out of a spreadsheet is over a kilometre when read as inches
    let day = Length::parse("45724", Some(Unit::Inch)).unwrap_err();
    assert_eq!(day.kind(), Kind::TooLarge);
}

#[test]
fn cures_say_what_to_type() {
    assert_eq!(
        cure("1,25 in"),
        "write 1.25; for two numbers use two quoted lengths in a list: [\"1 in\", \"25 in\"]"
    );
    assert!(cure("1,25\"").ends_with("[\"1 in\", \"25 in\"]"));
    assert!(cure("1,250 mm").starts_with("write 1.250 or 1250, whichever is meant"));
    assert_eq!(cure("3 mil"), "write \"3 thou\" or \"3 mm\"");
    assert_eq!(cure("1 1/2 mil"), "write \"1 1/2 thou\" or \"1 1/2 mm\"");
    assert_eq!(cure("F"), "if a drill is meant, write \"F drill\"");
    assert_eq!(cure("#f"), "write \"F drill\"");
    assert_eq!(cure("60 drill"), "write \"#60 drill\"");
    assert!(refused("#81 drill").text().ends_with("number drills run #1 to #80"));
    assert_eq!(
        refused("-2 mm").to_string(),
        "\"-2 mm\": a size can't be negative; write it without the minus sign"
    );
    assert!(refused("5\u{7} mm").text().contains("5\u{fffd} mm"));
    assert!(refused(&"x".repeat(60)).text().contains('…'));
}

#[test]
fn spreadsheet_errors_are_not_drills() {
    for text in [
        "#REF!",
        "#N/A",
        "####",
        "##",
        "#VALUE!",
        "#DIV/0!",
        "#NAME?",
        "#NULL!",
        "#num!",
        "#WERT!",
        "#NV",
        "#BEZUG!",
        "#GETTING_DATA",
        "Err:502",
        " #N/A ",
        "#REF",
    ] {
        assert_eq!(refused(text).kind(), Kind::SpreadsheetError, "{text}");
    }
}

#[test]
fn spreadsheet_dates_give_the_likely_fraction() {
    for (text, likely) in [
        ("8-Mar", "3/8 in?"),
        ("Mar-8", "3/8 in?"),
        ("08-mar", "3/8 in?"),
        ("3-Aug", "3/8 in?"),
        ("8 March 2026", "3/8 in?"),
        ("Mar 8, 2026", "3/8 in?"),
        ("3/8/2026", "3/8 in?"),
        ("3/8/26", "3/8 in?"),
        ("2026-03-08", "3/8 in?"),
        ("2026-08-03", "3/8 in?"),
        ("2026-03-08 00:00:00", "3/8 in?"),
        ("2026-03-08T00:00", "3/8 in?"),
        ("3.8.2026", "3/8 in?"),
        ("08.03.26", "3/8 in?"),
        ("8. Mrz", "3/8 in?"),
        ("1-Apr", "1/4 in?"),
        ("16-Jan", "1/16 in?"),
        ("May-32", "5/32 in?"),
        ("Jan-64", "1/64 in?"),
        ("May-1932", "5/32 in or 1 5/32 in?"),
        ("5/1/1932", "5/32 in or 5 1/32 in?"),
        ("1/1/2004", "1/4 in or 1 1/4 in?"),
        ("2/3/2008", "2 3/8 in?"),
    ] {
        let fault = refused(text);
        assert_eq!(fault.kind(), Kind::SpreadsheetDate, "{text}");
        let cure = fault.cure().unwrap_or_default();
        let want = format!("was this {likely} format the column as text");
        assert!(cure.starts_with(&want), "{text}: {cure}");
    }
    // no fraction fits: still a date
    for text in ["2-May", "4/5/2026", "31-Dec-2025", "Sept 9"] {
        let fault = refused(text);
        assert_eq!(fault.kind(), Kind::SpreadsheetDate, "{text}");
        assert!(fault.cure().unwrap_or_default().starts_with("format the column"), "{text}");
    }
    let fault = Length::parse("03. Aug", Some(Unit::Millimetre)).unwrap_err();
    assert!(fault.cure().unwrap_or_default().starts_with("was this 3.8 mm?"));
}
