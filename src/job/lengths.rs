//! Lengths out of a table of a text: single ones, readings, lists, points.

use super::codes::code_of;
use super::document::Heap;
use super::reader::{Item, Reader};
use crate::fault::{Fault, Place};
use crate::part::Key;
use crate::units::{Length, Unit, UnitFault, UnitFaultKind};
use toml::de::DeValue;

/// How a length may be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum How {
    /// A size.
    Size,
    /// A place, which may be below zero.
    Signed,
    /// A thickness, leather ounces allowed.
    Thickness,
}

impl Reader<'_> {
    /// One length out of a value.
    pub(super) fn length_of(&self, key: &str, item: &Item<'_>, how: How) -> Option<Length> {
        let text = match item.value {
            DeValue::String(text) => text.as_ref(),
            DeValue::Integer(figures) if figures.radix() == 10 => figures.as_str(),
            DeValue::Float(figures) => figures.as_str(),
            _ => {
                self.wants(key, "a length", item, "\"1 1/4 in\"");
                return None;
            }
        };
        read_length(self.heap, text, self.unit, how, &item.place)
    }

    /// A length, or a list of readings whose mean is used.
    pub(super) fn readings_of(&self, key: &str, item: &Item<'_>, how: How) -> Option<Length> {
        let DeValue::Array(_) = item.value else {
            return self.length_of(key, item, how);
        };
        let list = self.lengths_of(key, item, how)?;
        match Length::from_readings(list) {
            Ok(length) => {
                super::slips::readings(self.heap, &length, &item.place);
                Some(length)
            }
            Err(fault) => {
                self.heap.add(unit_fault(&fault, &item.place));
                None
            }
        }
    }

    /// A list of lengths; nothing unless every one of them was read.
    pub(super) fn lengths_of(&self, key: &str, item: &Item<'_>, how: How) -> Option<Vec<Length>> {
        let Some(items) = self.list_of(item) else {
            self.wants(key, "a list of lengths", item, "[\"1 in\", \"2 in\"]");
            return None;
        };
        // Every one is looked at, so that every fault is found.
        let read: Vec<Option<Length>> = items.iter().map(|i| self.length_of(key, i, how)).collect();
        read.into_iter().collect()
    }

    /// Two lengths, x and y.
    pub(super) fn point_of(&self, key: &str, item: &Item<'_>) -> Option<(Length, Length)> {
        let both = match item.value {
            DeValue::Array(list) if list.len() == 2 => self.lengths_of(key, item, How::Signed)?,
            _ => {
                self.wants(key, "two lengths, x and y", item, "[\"12 mm\", \"40 mm\"]");
                return None;
            }
        };
        let mut both = both.into_iter();
        Some((both.next()?, both.next()?))
    }

    /// A length, or a list of readings.
    pub(super) fn take_length(&mut self, key: &'static str, how: How) -> Option<(Length, Place)> {
        let item = self.take(key)?;
        let length = self.readings_of(key, &item, how)?;
        Some((length, item.place))
    }

    /// A length that must be there.
    pub(super) fn need_length(
        &mut self,
        key: &'static str,
        about: &str,
        example: &str,
    ) -> Option<(Length, Place)> {
        if !self.has(key) {
            self.take(key);
            self.needs(key, about, example);
            return None;
        }
        self.take_length(key, How::Size)
    }

    /// Two lengths.
    pub(super) fn take_point(&mut self, key: &'static str) -> Option<(f64, f64)> {
        let item = self.take(key)?;
        let (x, y) = self.point_of(key, &item)?;
        Some((x.mm(), y.mm()))
    }
}

/// Reads a length in a cell of a table, where a list can't stand and the unit is at the head of the column.
pub(super) fn read_cell(
    heap: &Heap,
    key: &Key,
    text: &str,
    (unit, how): (Option<Unit>, How),
    place: &Place,
) -> Option<Length> {
    let in_cell = |fault: &UnitFault| {
        let made = Fault::error(code_of(fault), fault.text()).at(place);
        let cure = fault.cure()?;
        match fault.kind() {
            UnitFaultKind::NoUnit => Some(made.cure(format!(
                "{cure}, or put the unit at the head of the column, as in `{} (in)`",
                key.name
            ))),
            UnitFaultKind::Comma => {
                let point = cure.split_once(';').map_or(cure, |(point, _)| point);
                Some(made.cure(format!("{point}: a point instead of the comma")))
            }
            _ => None,
        }
    };
    read(heap, text, (unit, how), place, &|fault| {
        in_cell(fault).unwrap_or_else(|| unit_fault(fault, place))
    })
}

/// Reads a length and puts what is wrong with it on the heap.
pub(super) fn read_length(
    heap: &Heap,
    text: &str,
    unit: Option<Unit>,
    how: How,
    place: &Place,
) -> Option<Length> {
    read(heap, text, (unit, how), place, &|fault| unit_fault(fault, place))
}

fn read(
    heap: &Heap,
    text: &str,
    (unit, how): (Option<Unit>, How),
    place: &Place,
    told: &dyn Fn(&UnitFault) -> Fault,
) -> Option<Length> {
    let read = match how {
        How::Size => Length::parse(text, unit),
        How::Signed => Length::parse_signed(text, unit),
        How::Thickness => Length::parse_thickness(text, unit),
    };
    match read {
        Ok(length) => {
            super::slips::fraction(heap, &length, place);
            super::slips::top_heavy(heap, &length, place);
            Some(length)
        }
        Err(fault) => {
            heap.add(told(&fault));
            None
        }
    }
}

/// A measurement that was refused, as a fault at its place.
pub(super) fn unit_fault(fault: &UnitFault, place: &Place) -> Fault {
    let made = Fault::error(code_of(fault), fault.text()).at(place);
    match fault.cure() {
        Some(cure) if fault.kind() == UnitFaultKind::NoUnit => {
            made.cure(format!("{cure}, or set `unit` in this table or under [job]"))
        }
        Some(cure) => made.cure(cure),
        None => made.cure("write it as in \"1 1/4 in\" or \"31.75 mm\""),
    }
}
