//! A day of the calendar.

use std::fmt;

/// A day, as in 2026-03-14; earlier days come first.
///
/// # Source
/// ISO 8601-1:2019, calendar date in extended format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day {
    year: u16,
    month: u8,
    date: u8,
}

impl Day {
    /// Reads a day written as year, month and day: `2026-03-14`. None for any other text, and for a day that no
    /// calendar has.
    pub fn parse(text: &str) -> Option<Day> {
        let bytes = text.as_bytes();
        let signs = bytes.len() == 10 && bytes[4] == b'-' && bytes[7] == b'-';
        let figures =
            || bytes.iter().enumerate().all(|(i, b)| i == 4 || i == 7 || b.is_ascii_digit());
        if !signs || !figures() {
            return None;
        }
        let (year, month, date) =
            (text[..4].parse().ok()?, text[5..7].parse().ok()?, text[8..].parse().ok()?);
        (1..=days_in(year, month)).contains(&date).then_some(Day { year, month, date })
    }

    /// The day that is so many days after 1 January 1970; none beyond the year 9999.
    pub fn after_1970(days: u64) -> Option<Day> {
        let mut left = days;
        for year in 1970..=9999_u16 {
            for month in 1..=12 {
                let long = u64::from(days_in(year, month));
                if left < long {
                    return u8::try_from(left + 1).ok().map(|date| Day { year, month, date });
                }
                left -= long;
            }
        }
        None
    }
}

/// Days of a month; 0 where there is no such month.
fn days_in(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => 0,
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.date)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_those_of_the_calendar() {
        // Leap years by the Gregorian rule (Inter gravissimas, 1582): 1900 is none, 2000 is one.
        for good in ["2026-03-14", "2024-02-29", "2000-02-29", "1899-12-31"] {
            assert_eq!(Day::parse(good).unwrap().to_string(), good);
        }
        let bad =
            ["1900-02-29", "2026-02-29", "2026-13-01", "2026-00-10", "2026-04-31", "2026-01-00"];
        for text in bad {
            assert_eq!(Day::parse(text), None, "{text}");
        }
        for text in ["", "2026-3-14", "14.03.2026", "2026-03-14 ", "2026-03-1é", "+026-03-14"] {
            assert_eq!(Day::parse(text), None, "{text}");
        }
        assert!(Day::parse("2025-12-31") < Day::parse("2026-01-01"));
    }

    #[test]
    fn days_are_counted_from_1970() {
        // Values of the POSIX clock, common practice: 11 016 is leap day 2000, 19 723 new year 2024, 24 855 the end of a
        // 32-bit clock on 19 January 2038.
        for (days, text) in [
            (0, "1970-01-01"),
            (11_016, "2000-02-29"),
            (11_017, "2000-03-01"),
            (19_723, "2024-01-01"),
            (24_855, "2038-01-19"),
        ] {
            assert_eq!(Day::after_1970(days), Day::parse(text), "{days}");
        }
        assert_eq!(Day::after_1970(u64::MAX), None);
    }
}
