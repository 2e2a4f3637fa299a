//! The figures of one position of one part, each with its place.

use crate::fault::Place;
use crate::geom::{Loop, Point, tolerance};
use crate::units::{Length, Quality, Quantity};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Keys whose figure is the diameter of a round hole.
const ROUND: [&str; 7] = ["bleed", "diameter", "stem", "inner-stem", "ear-hole", "bore", "inside"];

/// What a key takes.
#[derive(Debug, Clone, Copy)]
pub enum Takes {
    /// A length; may be a list of readings, whose mean is used.
    Length,
    /// A length that may be below zero.
    Signed,
    /// A whole number.
    Count,
    /// One of a few words.
    Word(&'static [&'static str]),
    /// Two lengths, x and y, that may be negative.
    Point,
    /// A list of lengths, kept one by one.
    Lengths,
    /// An angle, a pressure, a force or a volume.
    Quantity(Quality),
    /// The corners of a closed line, each with x, y and, where the side after it is an arc, its bow.
    Corners,
    /// A file with a closed line and holes in it.
    Outline,
    /// A CSV table whose rows are tables with these keys.
    Rows(&'static [Key]),
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

impl Key {
    /// A length that may be left out.
    pub(super) const fn length(
        name: &'static str,
        about: &'static str,
        example: &'static str,
    ) -> Key {
        Key { name, takes: Takes::Length, needed: false, about, example }
    }

    /// A length that must be there.
    pub(super) const fn needed(
        name: &'static str,
        about: &'static str,
        example: &'static str,
    ) -> Key {
        Key { name, takes: Takes::Length, needed: true, about, example }
    }

    /// A whole number that may be left out.
    pub(super) const fn count(
        name: &'static str,
        about: &'static str,
        example: &'static str,
    ) -> Key {
        Key { name, takes: Takes::Count, needed: false, about, example }
    }

    /// An angle that may be left out.
    pub(super) const fn angle(
        name: &'static str,
        about: &'static str,
        example: &'static str,
    ) -> Key {
        Key { name, takes: Takes::Quantity(Quality::Angle), needed: false, about, example }
    }
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
    /// A figure that is not a length.
    Quantity(Quantity),
    /// Corners of a closed line (mm), each with the bow of the side after it, positive outward.
    Corners(Vec<(Point, f64)>),
    /// A closed line out of a file, with its holes (mm).
    Outline(Arc<(Loop, Vec<Loop>)>),
    /// Tables of their own, shared by all places of a part.
    Tables(Arc<[Measures]>),
    /// Given and not readable, which has its own fault: nothing more is asked for in its stead.
    Unread,
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

    /// Whether a key was given and could not be read.
    pub fn unread(&self, key: &str) -> bool {
        matches!(self.values.get(key), Some((Value::Unread, _)))
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

    /// A figure that is not a length, in the unit it is kept in.
    pub fn quantity(&self, key: &str) -> Option<&Quantity> {
        match self.values.get(key) {
            Some((Value::Quantity(quantity), _)) => Some(quantity),
            _ => None,
        }
    }

    /// Corners of a closed line (mm), each with the bow of the side after it.
    pub fn corners(&self, key: &str) -> &[(Point, f64)] {
        match self.values.get(key) {
            Some((Value::Corners(list), _)) => list,
            _ => &[],
        }
    }

    /// A closed line out of a file, with its holes.
    pub fn outline(&self, key: &str) -> Option<&(Loop, Vec<Loop>)> {
        match self.values.get(key) {
            Some((Value::Outline(both), _)) => Some(both),
            _ => None,
        }
    }

    /// The table of a companion, where the job has one.
    pub fn companion(&self, name: &str) -> Option<&Measures> {
        self.tables(name).first()
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

    /// A diameter of a round hole as it was written, here or in a table of its own; none where no figure comes to it.
    ///
    /// # Units
    /// Millimetres.
    pub fn diameter_as_written(&self, mm: f64) -> Option<&str> {
        let own = ROUND.iter().filter_map(|key| self.length(key));
        let here =
            own.filter(|it| (it.mm() - mm).abs() < tolerance::SLACK).map(Length::text).next();
        here.or_else(|| {
            let tables = self.values.values().filter_map(|(value, _)| match value {
                Value::Tables(list) => Some(list.iter()),
                _ => None,
            });
            tables.flatten().find_map(|table| table.diameter_as_written(mm))
        })
    }

    /// Whether a figure, here or in a table of its own, was given and could not be read.
    pub fn any_unread(&self) -> bool {
        self.values.values().any(|(value, _)| match value {
            Value::Unread => true,
            Value::Tables(list) => list.iter().any(Measures::any_unread),
            _ => false,
        })
    }

    /// The figures to the last bit, wherever they were written: two places with one key are exactly alike.
    ///
    /// Lines of files and tables are one and the same for all places of a part, thousands of rows or not: they go by
    /// where they lie in memory.
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
            Value::Quantity(quantity) => write!(key, "{:x}", quantity.value().to_bits()),
            Value::Corners(list) => list.iter().try_for_each(|(p, bow)| {
                write!(key, "{:x},{:x},{:x};", p.x.to_bits(), p.y.to_bits(), bow.to_bits())
            }),
            Value::Outline(both) => write!(key, "{:p}", Arc::as_ptr(both)),
            Value::Tables(list) => write!(key, "{:p}", Arc::as_ptr(list)),
            Value::Unread => write!(key, "?"),
        };
    }
}
