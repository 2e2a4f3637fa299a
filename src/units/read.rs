//! Reads a number with its unit.

use super::fault::{UnitFault, UnitFaultKind, quoted};
use super::number::{Factor, MOST_DIGITS, MOST_FRACTION_DIGITS, Number};

/// The most characters a measurement may have.
pub(super) const MOST_CHARACTERS: usize = 64;

/// Text made ready for reading.
#[derive(Debug, Clone)]
pub(super) struct Tidy {
    /// As written, with single plain spaces.
    pub(super) shown: String,
    /// Small letters, with one sign for each of dash, slash and quote.
    pub(super) low: String,
}

impl Tidy {
    pub(super) fn new(text: &str) -> Result<Self, UnitFault> {
        let mut shown = String::new();
        let mut length = 0;
        for sign in text.chars() {
            if is_space(sign) {
                if !shown.is_empty() && !shown.ends_with(' ') {
                    shown.push(' ');
                    length += 1;
                }
            } else {
                shown.push(sign);
                length += 1;
            }
            if length > MOST_CHARACTERS + 1 {
                break;
            }
        }
        let shown = shown.trim_end().to_owned();
        if shown.is_empty() {
            return Err(UnitFault::new(UnitFaultKind::Empty, "there is nothing written here")
                .cured("write a number and its unit, as in \"1 1/4 in\" or \"31.75 mm\""));
        }
        check_length(&shown)?;
        let mut low = String::with_capacity(shown.len());
        for sign in shown.chars().flat_map(char::to_lowercase) {
            low.push(match sign {
                '⁄' | '∕' => '/',
                '‐' | '‑' | '‒' | '–' | '—' | '−' => '-',
                '″' | '”' | '“' => '"',
                '′' | '’' | '‘' => '\'',
                other => other,
            });
        }
        let low = low.replace("''", "\"");
        Ok(Self { shown, low })
    }
}

/// Refuses text longer than any measurement.
pub(super) fn check_length(text: &str) -> Result<(), UnitFault> {
    if text.chars().count() <= MOST_CHARACTERS {
        return Ok(());
    }
    Err(UnitFault::new(
        UnitFaultKind::TooLong,
        format!(
            "{} is longer than {MOST_CHARACTERS} characters, too long for one measurement",
            quoted(text)
        ),
    )
    .cured("write one number and its unit, as in \"1 1/4 in\""))
}

/// Spaces of every width, and signs that take no room at all.
fn is_space(sign: char) -> bool {
    sign.is_whitespace()
        || matches!(
            sign,
            '\u{ad}'
                | '\u{200b}'..='\u{200f}'
                | '\u{202a}'..='\u{202e}'
                | '\u{2060}'..='\u{2069}'
                | '\u{feff}'
        )
}

/// A fraction that is one sign.
fn one_sign(sign: char) -> Option<(u32, u32)> {
    Some(match sign {
        '½' => (1, 2),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        _ => return None,
    })
}

/// Walks along tidy text from left to right.
pub(super) struct Cursor<'a> {
    tidy: &'a Tidy,
    rest: &'a str,
}

impl<'a> Cursor<'a> {
    pub(super) fn new(tidy: &'a Tidy) -> Self {
        Self { tidy, rest: tidy.low.as_str() }
    }

    /// What has not been read yet.
    pub(super) fn rest(&self) -> &'a str {
        self.rest.trim()
    }

    fn spaces(&mut self) {
        self.rest = self.rest.trim_start();
    }

    fn eat(&mut self, sign: char) -> bool {
        match self.rest.strip_prefix(sign) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    fn run(&mut self, keep: impl Fn(char) -> bool) -> &'a str {
        let end = self.rest.find(|c| !keep(c)).unwrap_or(self.rest.len());
        let (run, rest) = self.rest.split_at(end);
        self.rest = rest;
        run
    }

    /// Reads a leading sign; true for minus.
    pub(super) fn minus(&mut self) -> bool {
        self.spaces();
        if self.eat('-') {
            return true;
        }
        self.eat('+');
        false
    }

    /// Passes over the dash in `3'-6"`.
    pub(super) fn pass_dash(&mut self) {
        self.spaces();
        self.eat('-');
    }

    /// Reads a unit word, without its full stop; empty when there is none.
    pub(super) fn word(&mut self) -> &'a str {
        self.spaces();
        let dashed = self.rest.strip_prefix('-').map(str::trim_start);
        if let Some(rest) = dashed.filter(|rest| rest.starts_with(char::is_alphabetic)) {
            self.rest = rest; // "1-inch"
        }
        if self.rest.starts_with(['"', '\'']) {
            let (sign, rest) = self.rest.split_at(1);
            self.rest = rest;
            return sign;
        }
        let word = self.run(char::is_alphabetic);
        if !word.is_empty() {
            self.eat('.');
        }
        word
    }

    /// Fails when anything is left.
    pub(super) fn end(&self) -> Result<(), UnitFault> {
        if self.rest().is_empty() {
            return Ok(());
        }
        Err(grammar(format!(
            "{} can't be read past {}",
            quoted(&self.tidy.shown),
            quoted(self.rest())
        ))
        .cured("write one number and one unit, as in \"1 1/4 in\" or \"31.75 mm\""))
    }

    /// Reads a number; nothing when the text does not start with one.
    pub(super) fn number(&mut self) -> Result<Option<Number>, UnitFault> {
        self.spaces();
        let first = self.run(is_figure);
        if first.is_empty() {
            return self.sign_fraction(None);
        }
        let after = self.rest;
        self.spaces();
        if self.eat('/') {
            return self.fraction(None, first).map(Some);
        }
        if let found @ Some(_) = self.sign_fraction(Some(first))? {
            return Ok(found);
        }
        let dash = self.eat('-');
        self.spaces();
        if let found @ Some(_) = self.sign_fraction(Some(first))? {
            return Ok(found);
        }
        let second = self.run(is_figure);
        if second.is_empty() {
            self.rest = after;
            return self.decimal(first).map(Some);
        }
        self.spaces();
        if self.eat('/') {
            return self.fraction(Some(first), second).map(Some);
        }
        Err(self.two_numbers(dash, first, second))
    }

    /// Reads a number that must be there, for figures whose units are told apart elsewhere.
    pub(super) fn plain_number(&mut self) -> Result<f64, UnitFault> {
        match self.number()? {
            Some(number) => Ok(number.times(Factor::new(1, 0))),
            None => {
                Err(grammar(format!("{} does not begin with a number", quoted(&self.tidy.shown)))
                    .cured("write a number and its unit"))
            }
        }
    }

    fn two_numbers(&self, dash: bool, first: &str, second: &str) -> UnitFault {
        let found = quoted(&self.tidy.shown);
        if dash {
            return grammar(format!(
                "{found} has two numbers with a dash between, which can mean a fraction, a \
                     range or a date"
            ))
            .cured(format!(
                "write \"{first}/{second}\" with its unit for a fraction, or one reading for \
                     each end of a range"
            ));
        }
        grammar(format!("{found} has two numbers with a space between")).cured(format!(
            "write \"{first}{second}\" without the space, or a fraction as in \"1 1/4 in\"; \
                 for two numbers use two quoted lengths in a list"
        ))
    }

    fn sign_fraction(&mut self, whole: Option<&str>) -> Result<Option<Number>, UnitFault> {
        let mut signs = self.rest.chars();
        let Some((top, bottom)) = signs.next().and_then(one_sign) else {
            return Ok(None);
        };
        self.rest = signs.as_str();
        let whole = whole.map_or(Ok(0), |whole| self.whole(whole))?;
        let bottom = u128::from(bottom);
        Ok(Some(Number::Fraction { top: whole * bottom + u128::from(top), bottom }))
    }

    /// Reads the bottom of a fraction whose stroke has just been passed.
    fn fraction(&mut self, whole: Option<&str>, top: &str) -> Result<Number, UnitFault> {
        self.spaces();
        let bottom = self.run(is_figure);
        let found = quoted(&self.tidy.shown);
        if bottom.is_empty() || self.rest().starts_with('/') {
            return Err(grammar(format!("{found} has a fraction that can't be read"))
                .cured("write a fraction as in \"5/64 in\" or \"1 1/4 in\""));
        }
        let (top, bottom) = (self.whole(top)?, self.whole(bottom)?);
        if bottom == 0 {
            return Err(UnitFault::new(
                UnitFaultKind::ZeroDenominator,
                format!("{found} has a fraction over 0"),
            )
            .cured("write a fraction as in \"1 5/8 in\""));
        }
        let Some(whole) = whole else {
            return Ok(Number::Fraction { top, bottom });
        };
        let whole = self.whole(whole)?;
        if top >= bottom {
            return Err(grammar(format!(
                "{found} has a whole number and then a fraction of one or more"
            ))
            .cured("check the fraction: beside a whole number it should be less than one"));
        }
        Ok(Number::Fraction { top: whole * bottom + top, bottom })
    }

    /// A whole number that belongs to a fraction.
    fn whole(&self, run: &str) -> Result<u128, UnitFault> {
        let found = quoted(&self.tidy.shown);
        if run.contains('.') {
            return Err(grammar(format!("{found} mixes a decimal point with a fraction"))
                .cured("write one or the other, as in \"1.25 in\" or \"1 1/4 in\""));
        }
        let digits = run.trim_start_matches('0');
        if digits.len() > MOST_FRACTION_DIGITS {
            return Err(grammar(format!(
                "{found} has a fraction with more figures than can be meant"
            )));
        }
        Ok(digits.parse().unwrap_or(0))
    }

    fn decimal(&self, run: &str) -> Result<Number, UnitFault> {
        let found = quoted(&self.tidy.shown);
        let (whole, part) = run.split_once('.').unwrap_or((run, ""));
        if part.contains('.') || (whole.is_empty() && part.is_empty()) {
            return Err(grammar(format!("{found} has a number that can't be read"))
                .cured("write one decimal point, as in \"1.25 in\""));
        }
        let digits = format!("{whole}{part}");
        let digits = digits.trim_start_matches('0');
        if digits.len() > MOST_DIGITS {
            return Err(grammar(format!("{found} has more figures than can be meant")));
        }
        Ok(Number::Decimal {
            digits: digits.parse().unwrap_or(0),
            places: u32::try_from(part.len()).unwrap_or(0),
        })
    }
}

fn grammar(text: impl Into<String>) -> UnitFault {
    UnitFault::new(UnitFaultKind::Grammar, text)
}

fn is_figure(sign: char) -> bool {
    sign.is_ascii_digit() || sign == '.'
}
