//! The figures of one position of one part, each with its place.

use crate::fault::Place;
use crate::units::Length;
use std::collections::BTreeMap;

/// What a key takes.
#[derive(Debug, Clone, Copy)]
pub enum Takes {
    /// A length; may be a list of readings, whose mean is used.
    Length,
    /// A whole number.
    Count,
    /// One of a few words.
    Word(&'static [&'static str]),
    /// Two lengths, x and y, that may be negative.
    Point,
    /// A list of lengths, kept one by one.
    Lengths,
    /// Tables of their own, such as `[[part.row]]`.
    Tables(&'static [Key]),
}

/// A key that a kind understands.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// As it is typed.
    pub name: &'static str,
    /// What it takes.
    pub takes: Takes,
    /// Whether the kind cannot do without.
    pub needed: bool,
    /// What it is, in a few words.
    pub about: &'static str,
    /// An example as it is typed.
    pub example: &'static str,
}

/// One figure.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A length.
    Length(Length),
    /// A whole number.
    Count(u32),
    /// A word out of the key's own list.
    Word(&'static str),
    /// x and y.
    Point(Length, Length),
    /// Several lengths.
    Lengths(Vec<Length>),
    /// Tables of their own.
    Tables(Vec<Measures>),
}

/// The figures of one position, or of one table inside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    /// Where the part or the table begins.
    pub place: Place,
    values: BTreeMap<&'static str, (Value, Place)>,
}

impl Measures {
    /// No figures yet.
    pub fn new(place: Place) -> Measures {
        Measures { place, values: BTreeMap::new() }
    }

    /// Sets a figure; a later one takes the place of an earlier one.
    pub fn set(&mut self, key: &'static str, value: Value, place: Place) {
        self.values.insert(key, (value, place));
    }

    /// Whether a key was given.
    pub fn has(&self, key: &str) -> bool {
        self.values.contains_key(key)
    }

    /// Where a key was given; else where the part begins.
    pub fn place_of(&self, key: &str) -> &Place {
        self.values.get(key).map_or(&self.place, |(_, place)| place)
    }

    /// A length.
    pub fn length(&self, key: &str) -> Option<&Length> {
        match self.values.get(key) {
            Some((Value::Length(length), _)) => Some(length),
            _ => None,
        }
    }

    /// A length in millimetres, or what it is when silent.
    pub fn mm_or(&self, key: &str, silent: f64) -> f64 {
        self.length(key).map_or(silent, Length::mm)
    }

    /// A length in millimetres, if given.
    pub fn mm(&self, key: &str) -> Option<f64> {
        self.length(key).map(Length::mm)
    }

    /// A whole number.
    pub fn count(&self, key: &str) -> Option<u32> {
        match self.values.get(key) {
            Some((Value::Count(count), _)) => Some(*count),
            _ => None,
        }
    }

    /// A word.
    pub fn word(&self, key: &str) -> Option<&'static str> {
        match self.values.get(key) {
            Some((Value::Word(word), _)) => Some(word),
            _ => None,
        }
    }

    /// x and y in millimetres.
    pub fn point(&self, key: &str) -> Option<(f64, f64)> {
        match self.values.get(key) {
            Some((Value::Point(x, y), _)) => Some((x.mm(), y.mm())),
            _ => None,
        }
    }

    /// Several lengths.
    pub fn lengths(&self, key: &str) -> &[Length] {
        match self.values.get(key) {
            Some((Value::Lengths(list), _)) => list,
            _ => &[],
        }
    }

    /// Tables of their own.
    pub fn tables(&self, key: &str) -> &[Measures] {
        match self.values.get(key) {
            Some((Value::Tables(list), _)) => list,
            _ => &[],
        }
    }

    /// Every figure with its key, by name.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, &Value, &Place)> {
        self.values.iter().map(|(key, (value, place))| (*key, value, place))
    }

    /// The figures to the last bit, wherever they were written: two places with one key are exactly alike.
    pub(super) fn key(&self) -> String {
        let mut key = String::new();
        for (name, (value, _)) in &self.values {
            key.push_str(name);
            key.push('=');
            value.write_key(&mut key);
            key.push(';');
        }
        key
    }

    /// Whether two positions have the same figures, wherever they were written.
    pub fn alike(&self, other: &Measures) -> bool {
        self.key() == other.key()
    }
}

impl Value {
    fn write_key(&self, key: &mut String) {
        use std::fmt::Write;
        // Writing to a string cannot fail.
        let _ = match self {
            Value::Length(length) => write!(key, "{:x}", length.mm().to_bits()),
            Value::Count(count) => write!(key, "{count}"),
            Value::Word(word) => write!(key, "{word}"),
            Value::Point(x, y) => write!(key, "{:x},{:x}", x.mm().to_bits(), y.mm().to_bits()),
            Value::Lengths(list) => {
                list.iter().try_for_each(|l| write!(key, "{:x},", l.mm().to_bits()))
            }
            Value::Tables(list) => list.iter().try_for_each(|t| write!(key, "{{{}}}", t.key())),
        };
    }
}
