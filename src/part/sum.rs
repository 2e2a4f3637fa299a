//! A worked sum in the making.

use super::measures::Measures;
use super::member::{Dimension, Term, TermRole};
use crate::fault::Fault;
use crate::geom::Point;

/// Collects the terms of one sum.
#[derive(Debug, Clone, Default)]
pub(super) struct Sum {
    pub(super) terms: Vec<Term>,
}

impl Sum {
    /// A figure that was given, if it was.
    pub(super) fn given(mut self, measures: &Measures, key: &'static str, label: &str) -> Sum {
        if let Some(length) = measures.length(key) {
            self.terms.push(Term {
                label: label.to_owned(),
                written: length.text().to_owned(),
                value: length.mm(),
                unit: "mm",
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

/// A length in millimetres for a message.
pub(super) fn mm(value: f64) -> String {
    format!("{value:.2} mm")
}

/// A length for a drawing: millimetres, then inches in brackets.
pub(super) fn shown(value: f64) -> String {
    format!("{value:.2} [{:.3}]", value / 25.4)
}

/// The two dimensions of a plate whose lower left corner is the origin.
pub(super) fn sides(length: f64, width: f64) -> Vec<Dimension> {
    vec![
        Dimension::Span(Point::new(length, 0.0), Point::ORIGIN, 1.0, shown(length)),
        Dimension::Span(Point::ORIGIN, Point::new(0.0, width), 1.0, shown(width)),
    ]
}
