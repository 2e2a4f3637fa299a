//! Dates that a spreadsheet has made out of fractions, and the fractions
//! they are likely to have been.

/// Month names as spreadsheets write them in English, German and French.
const MONTHS: [&[&str]; 12] = [
    &["january", "januar", "janvier", "jänner"],
    &["february", "februar", "février", "fevrier"],
    &["march", "märz", "mrz", "mars"],
    &["april", "avril"],
    &["may", "mai"],
    &["june", "juni", "juin"],
    &["july", "juli", "juillet"],
    &["august", "août", "aout"],
    &["september", "septembre"],
    &["october", "oktober", "octobre"],
    &["november", "novembre"],
    &["december", "dezember", "décembre", "decembre"],
];

/// A date found in a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Date {
    /// Day and month in the order shown; for a named month, the month second.
    pair: (u32, u32),
    year: Option<u32>,
}

/// Finds a date in text already made small.
pub(super) fn find(low: &str) -> Option<Date> {
    let text = without_time(low);
    named(text).or_else(|| figures(text))
}

/// Cuts off a time of day.
fn without_time(low: &str) -> &str {
    match low.find(':') {
        Some(colon) => {
            let head = &low[..colon];
            let end = head.rfind([' ', 't']).unwrap_or(head.len());
            head[..end].trim_end()
        }
        None => low,
    }
}

fn month(word: &str) -> Option<u32> {
    if word.chars().count() < 3 || !word.chars().all(char::is_alphabetic) {
        return None;
    }
    (1..)
        .zip(MONTHS)
        .find(|(_, names)| names.iter().any(|name| name.starts_with(word)))
        .map(|(number, _)| number)
}

fn small(word: &str) -> Option<u32> {
    let fits = (1..=4).contains(&word.len()) && word.bytes().all(|b| b.is_ascii_digit());
    fits.then(|| word.parse().ok()).flatten()
}

/// "8-Mar", "Mar-8", "8 March 2026", "May-32".
fn named(text: &str) -> Option<Date> {
    let parts: Vec<&str> =
        text.split(['-', '/', '.', ' ', ',']).filter(|part| !part.is_empty()).collect();
    if !(2..=3).contains(&parts.len()) {
        return None;
    }
    let mut months = parts.iter().filter_map(|part| month(part));
    let (Some(month), None) = (months.next(), months.next()) else {
        return None;
    };
    let numbers: Vec<u32> = parts.iter().filter_map(|part| small(part)).collect();
    match (numbers.as_slice(), parts.len()) {
        ([one], 2) if *one >= 100 => Some(Date { pair: (1, month), year: Some(*one) }),
        ([one], 2) => Some(Date { pair: (*one, month), year: None }),
        ([year, day], 3) if *year > 31 => Some(Date { pair: (*day, month), year: Some(*year) }),
        ([day, year], 3) => Some(Date { pair: (*day, month), year: Some(*year) }),
        _ => None,
    }
}

/// "3/8/2026", "3/8/26", "2026-03-08", "3.8.2026".
fn figures(text: &str) -> Option<Date> {
    let sign = text.chars().find(|c| !c.is_ascii_digit())?;
    if !matches!(sign, '-' | '/' | '.') {
        return None;
    }
    let words: Vec<&str> = text.split(sign).collect();
    let [first, second, third] = words.as_slice() else {
        return None;
    };
    let (a, b, c) = (small(first)?, small(second)?, small(third)?);
    let day = |n: u32, word: &str| (1..=31).contains(&n) && word.len() <= 2;
    let (pair, year) = if first.len() == 4 && day(b, second) && day(c, third) {
        // the year leads, so the month comes next: turn to day, month
        ((c, b), a)
    } else if day(a, first)
        && day(b, second)
        && (third.len() == 4
            || third.len() == 2 && (sign == '/' || first.len() == 2 && second.len() == 2))
    {
        ((a, b), c)
    } else {
        return None;
    };
    (pair.0 <= 12 || pair.1 <= 12).then_some(Date { pair, year: Some(year) })
}

impl Date {
    /// What was probably typed, the likeliest first, at most two.
    pub(super) fn likely(&self, unit: &str) -> Vec<String> {
        let (a, b) = self.pair;
        if unit.trim_end_matches('²').ends_with('m') {
            // where the day is written "3.8.", a decimal becomes a date too
            return vec![format!("{a}.{b} {unit}")];
        }
        let mut list = Vec::new();
        let mut add = |whole: Option<u32>, top: u32, bottom: u32| {
            let rule = bottom.is_power_of_two() && (2..=64).contains(&bottom);
            if rule && top % 2 == 1 && top < bottom {
                let whole = whole.map(|w| format!("{w} ")).unwrap_or_default();
                let text = format!("{whole}{top}/{bottom} {unit}");
                if !list.contains(&text) {
                    list.push(text);
                }
            }
        };
        if let Some(year) = self.year.filter(|year| odd_year(*year)) {
            // "5/32" becomes the first of May 1932, "2-3/8" a day in 2008
            let short = year % 100;
            if a == 1 {
                add(None, b, short);
            }
            if b == 1 {
                add(None, a, short);
            }
            add(Some(a), b, short);
            add(Some(b), a, short);
        }
        add(None, a, b);
        add(None, b, a);
        list.truncate(2);
        list
    }
}

/// Whether a year is likely to be a bottom number: 2002, 2004, 2008, 2016,
/// 1932, 1964, or the same written with two figures.
fn odd_year(year: u32) -> bool {
    matches!(year, 2002 | 2004 | 2008 | 2016 | 1932 | 1964) || year.is_power_of_two() && year <= 64
}
