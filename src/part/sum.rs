//! A worked sum in the making.

use super::measures::{Key, Measures, Takes};
use super::member::{Dimension, Figure, Term, TermRole};
use crate::fault::Fault;
use crate::geom::Point;

/// Collects the terms of one sum.
#[derive(Debug, Clone, Default)]
pub(super) struct Sum {
    pub(super) terms: Vec<Term>,
}

impl Sum {
    /// A figure that was given, if it was: a length, a figure with a unit of its own, or a count.
    pub(super) fn given(mut self, measures: &Measures, key: &'static str, label: &str) -> Sum {
        let length = measures.length(key).map(|l| (l.text().to_owned(), l.mm(), "mm"));
        let figure = || {
            let q = measures.quantity(key)?;
            Some((q.text().to_owned(), q.value(), q.quality().unit()))
        };
        let count = || measures.count(key).map(|n| (n.to_string(), f64::from(n), ""));
        if let Some((written, value, unit)) = length.or_else(figure).or_else(count) {
            self.terms.push(Term {
                label: label.to_owned(),
                written,
                value,
                unit,
                from: Some(measures.place_of(key).clone()),
                role: TermRole::Given,
            });
        }
        self
    }

    /// A figure that is silent and what it then is.
    pub(super) fn silent(self, label: &str, written: &str, value: f64) -> Sum {
        self.push(label, written, value, "mm", TermRole::Given)
    }

    /// An angle that is silent and what it then is, in degrees.
    pub(super) fn silent_angle(self, label: &str, written: &str, value: f64) -> Sum {
        self.push(label, written, value, "°", TermRole::Given)
    }

    /// A length worked out on the way.
    pub(super) fn step(self, label: &str, rule: &str, value: f64) -> Sum {
        self.push(label, rule, value, "mm", TermRole::Step)
    }

    /// A size of the part.
    pub(super) fn total(self, label: &str, rule: &str, value: f64) -> Sum {
        self.push(label, rule, value, "mm", TermRole::Total)
    }

    /// A figure to know.
    pub(super) fn note(self, label: &str, rule: &str, value: f64, unit: &'static str) -> Sum {
        self.push(label, rule, value, unit, TermRole::Note)
    }

    fn push(
        mut self,
        label: &str,
        written: &str,
        value: f64,
        unit: &'static str,
        role: TermRole,
    ) -> Sum {
        self.terms.push(Term {
            label: label.to_owned(),
            written: written.to_owned(),
            value,
            unit,
            from: None,
            role,
        });
        self
    }
}

/// A fault in the measures of one key.
pub(super) fn wrong(measures: &Measures, key: &str, text: String, cure: &str) -> Fault {
    Fault::error("E28", text).at(measures.place_of(key)).cure(cure)
}

/// Something about one key to look at.
pub(super) fn doubt(
    code: &'static str,
    measures: &Measures,
    key: &str,
    text: String,
    cure: &str,
) -> Fault {
    Fault::warning(code, text).at(measures.place_of(key)).cure(cure)
}

/// Refuses lengths that must be more than nothing.
pub(super) fn positive(measures: &Measures, keys: &[&str]) -> Vec<Fault> {
    keys.iter()
        .filter(|key| measures.mm(key).is_some_and(|mm| mm <= 0.0))
        .map(|key| {
            wrong(measures, key, format!("`{key}` is 0"), "give a length that is more than nothing")
        })
        .collect()
}

/// Lengths that are needed in some cases only, such as `land` in `who` (a pouch of form "disk"): those that are missing
/// are asked for.
pub(super) fn asked(measures: &Measures, keys: &[Key], names: &[&str], who: &str) -> Vec<Fault> {
    names
        .iter()
        .filter(|name| !measures.has(name))
        .filter_map(|name| keys.iter().find(|key| key.name == *name))
        .map(|key| {
            let sample = match key.takes {
                Takes::Length => format!("{} = \"{}\"", key.name, key.example),
                _ => format!("{} = {}", key.name, key.example),
            };
            Fault::error("E12", format!("{who} needs `{}` ({})", key.name, key.about))
                .at(&measures.place)
                .cure(format!("for example {sample}"))
        })
        .collect()
}

/// Measures that are given and mean nothing in `who`.
pub(super) fn idle(measures: &Measures, names: &[&str], who: &str, cure: &str) -> Vec<Fault> {
    names
        .iter()
        .filter(|name| measures.has(name))
        .map(|name| wrong(measures, name, format!("{who} has no `{name}`"), cure))
        .collect()
}

/// A length in millimetres for a message.
pub(super) fn mm(value: f64) -> String {
    format!("{value:.2} mm")
}

/// A length for a drawing.
pub(super) fn shown(value: f64) -> Figure {
    Figure::of(value)
}

/// A radius of the corners of `of` (what it is, its length and width) that does not go into them is refused.
pub(super) fn corner_fits(
    measures: &Measures,
    key: &str,
    (what, length, width): (&str, f64, f64),
) -> Option<Fault> {
    let (radius, most) = (measures.mm_or(key, 0.0), length.min(width) / 2.0);
    (radius > most + 1e-9).then(|| {
        wrong(
            measures,
            key,
            format!("corner radius {} on a {what} {} by {}", mm(radius), mm(length), mm(width)),
            &format!("{} is the largest that fits", mm(most)),
        )
    })
}

/// The two dimensions of a plate whose lower left corner is the origin.
pub(super) fn sides(length: f64, width: f64) -> Vec<Dimension> {
    vec![
        Dimension::Span(Point::new(length, 0.0), Point::ORIGIN, 1.0, shown(length)),
        Dimension::Span(Point::ORIGIN, Point::new(0.0, width), 1.0, shown(width)),
    ]
}
