//! Measures as typed, for the tests of the kinds.

use super::measures::{Key, Measures, Takes, Value};
use super::member::{Developed, Member, Term, TermRole};
use crate::fault::Place;
use crate::units::{Length, Quantity};
use std::sync::Arc;

/// Measures out of key and text; lists of lengths are parted by `;`.
pub(super) fn given(typed: &[(&str, &str)], keys: &'static [Key]) -> Measures {
    let place = Place::head(&Arc::from("job.toml"));
    let mut made = Measures::new(place.clone());
    for (name, text) in typed {
        let key = keys.iter().find(|key| key.name == *name).unwrap();
        let length = |text: &str| Length::parse(text, None).unwrap();
        let value = match key.takes {
            Takes::Length => Value::Length(length(text)),
            Takes::Lengths => Value::Lengths(text.split(';').map(length).collect()),
            Takes::Count => Value::Count(text.parse().unwrap()),
            Takes::Word(words) => Value::Word(words.iter().find(|w| *w == text).unwrap()),
            Takes::Quantity(quality) => Value::Quantity(Quantity::parse(text, quality).unwrap()),
            Takes::Point => {
                let (x, y) = text.split_once(';').unwrap();
                Value::Point(length(x), length(y))
            }
            _ => panic!("{name} is a table"),
        };
        made.set(key.name, value, place.clone());
    }
    made
}

/// The same with tables of one key.
pub(super) fn with(mut m: Measures, key: &'static str, tables: Vec<Measures>) -> Measures {
    let place = m.place.clone();
    m.set(key, Value::Tables(tables.into()), place);
    m
}

/// The only member, nothing being wrong.
pub(super) fn one(made: Developed) -> Member {
    assert!(!crate::fault::any_error(&made.faults), "{:?}", made.faults);
    assert_eq!(made.members.len(), 1);
    made.members.into_iter().next().unwrap()
}

/// A total by its label.
pub(super) fn total(member: &Member, label: &str) -> f64 {
    figure(member, label, TermRole::Total)
}

/// A note by its label.
pub(super) fn note(member: &Member, label: &str) -> f64 {
    figure(member, label, TermRole::Note)
}

fn figure(member: &Member, label: &str, role: TermRole) -> f64 {
    let found = |term: &&Term| term.label == label && term.role == role;
    member.sum.iter().find(found).unwrap_or_else(|| panic!("{label}: {:?}", member.sum)).value
}

/// The codes of what is wrong or doubtful.
pub(super) fn codes(made: &Developed) -> Vec<&'static str> {
    made.faults.iter().map(|fault| fault.code).collect()
}
