//! What was measured of one thing, place by place, and which figures stand out from the others.

use super::measures::Value;
use super::piece::{Part, Positions};

/// A figure that stands off its column's middle one by more than this share stands out.
const STANDS_OFF: f64 = 0.25;
/// Inches taken for millimetres make a figure so many times too large or too small.
const INCH: f64 = 25.4;
/// A factor of inches is recognised within this share.
const NEAR_INCH: f64 = 0.3;
/// So many places side by side tell what is usual among them.
const NEIGHBOURS: usize = 9;

/// How a figure stands out: so many times the middle one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stand {
    /// As much too large as an inch is longer than a millimetre.
    Inches(f64),
    /// As much too small.
    Millimetres(f64),
    /// Well off the others.
    Off(f64),
}

/// The middle figure of a column and, for each figure, whether it stands out; none of it where there are fewer than
/// three, or the middle one is not above 0.
///
/// A set that grows or shrinks along the compass has no usual size: where more than a quarter stand off, only those
/// count that are wrong by an inch.
pub fn standing(sizes: &[f64]) -> Option<(f64, Vec<Option<Stand>>)> {
    let mut sorted = sizes.to_vec();
    sorted.sort_by(f64::total_cmp);
    let median = sorted.get(sorted.len() / 2).copied().filter(|it| *it > 0.0)?;
    if sizes.len() < 3 {
        return None;
    }
    let off = |mm: f64| (mm / median - 1.0).abs() > STANDS_OFF;
    let near = |ratio: f64| (ratio / INCH - 1.0).abs() < NEAR_INCH;
    let many = sizes.iter().filter(|mm| off(**mm)).count() * 4 > sizes.len();
    let stand = |mm: &f64| {
        let ratio = mm / median;
        if !off(*mm) {
            None
        } else if near(ratio) {
            Some(Stand::Inches(ratio))
        } else if near(1.0 / ratio) {
            Some(Stand::Millimetres(ratio))
        } else {
            (!many).then_some(Stand::Off(ratio))
        }
    };
    Some((median, sizes.iter().map(stand).collect()))
}

/// One figure of a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Its place.
    pub position: u32,
    /// Millimetres, or a count.
    pub value: f64,
    /// As it was written.
    pub text: String,
    /// Whether it was written for this place, not for the whole part.
    pub typed: bool,
    /// Whether it stands out.
    pub stand: Option<Stand>,
}

/// One key of a part over its places.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// The key.
    pub key: &'static str,
    /// Whether its figures are counts, not lengths.
    pub counted: bool,
    /// A figure a place, in their order.
    pub cells: Vec<Cell>,
}

impl Column {
    /// The figure that the part gives for all its places, as far as some place has it; as it was written.
    pub fn own(&self) -> Option<(f64, &str)> {
        self.cells.iter().find(|cell| !cell.typed).map(|cell| (cell.value, cell.text.as_str()))
    }

    /// For each place what is usual there: what the part says, else the middle of nine neighbours, itself among them, so
    /// that a set which grows along the compass has a usual size at every place.
    pub fn usual(&self) -> Vec<f64> {
        if let Some((own, _)) = self.own() {
            return vec![own; self.cells.len()];
        }
        let many = NEIGHBOURS.min(self.cells.len());
        let middle = |n: usize| {
            let from = n.saturating_sub(many / 2).min(self.cells.len() - many);
            let near = &self.cells[from..from + many];
            let mut values: Vec<f64> = near.iter().map(|cell| cell.value).collect();
            values.sort_by(f64::total_cmp);
            values.get(values.len() / 2).copied().unwrap_or_default()
        };
        (0..self.cells.len()).map(middle).collect()
    }
}

impl Part {
    /// The columns of lengths and counts of a part with numbered places: those of its table, and those in which places
    /// differ. A companion has none: its figures are those of its part.
    pub fn columns(&self) -> Vec<Column> {
        let Positions::Numbered(numbers) = &self.positions else { return Vec::new() };
        if self.companion.is_some() {
            return Vec::new();
        }
        let keys = self.kind.card().keys.iter();
        keys.filter_map(|key| self.column(key.name, numbers)).collect()
    }

    fn column(&self, key: &'static str, numbers: &[u32]) -> Option<Column> {
        let mut counted = false;
        let mut cells: Vec<Cell> = Vec::new();
        for (position, measures) in numbers.iter().zip(&self.measures) {
            let found = measures.iter().find(|(name, ..)| *name == key);
            let (value, text) = match found.map(|(_, value, _)| value) {
                Some(Value::Length(length)) => (length.mm(), length.text().to_owned()),
                Some(Value::Count(count)) => {
                    counted = true;
                    (f64::from(*count), count.to_string())
                }
                _ => continue,
            };
            let typed = measures.place_of(key).file != self.place.file;
            cells.push(Cell { position: *position, value, text, typed, stand: None });
        }
        let first = cells.first()?.value.to_bits();
        let differs = cells.iter().any(|cell| cell.value.to_bits() != first);
        if !differs && cells.iter().all(|cell| !cell.typed) {
            return None;
        }
        let sizes: Vec<f64> = cells.iter().map(|cell| cell.value).collect();
        if let Some((_, stands)) = standing(&sizes).filter(|_| !counted) {
            for (cell, stand) in cells.iter_mut().zip(stands) {
                cell.stand = stand;
            }
        }
        Some(Column { key, counted, cells })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 in is 25.4 mm (NIST SP 811, Appendix B): a well of 29 mm typed as 29 in is 25.4 times too large.
    #[test]
    fn a_slip_of_the_unit_or_the_point_stands_out() {
        let mut sizes = vec![28.575; 20];
        sizes[3] = 29.0 * 25.4;
        sizes[7] = 28.575 / 25.4;
        sizes[11] = 11.40 * 25.4;
        let (median, stands) = standing(&sizes).unwrap();
        assert!((median - 28.575).abs() < 1e-12);
        assert!(matches!(stands[3], Some(Stand::Inches(_))));
        assert!(matches!(stands[7], Some(Stand::Millimetres(_))));
        assert!(matches!(stands[11], Some(Stand::Off(times)) if (times - 10.133).abs() < 0.01));
        assert_eq!(stands.iter().flatten().count(), 3);
    }

    #[test]
    fn a_set_that_grows_along_the_compass_has_no_usual_size() {
        let mut sizes: Vec<f64> = (0..40).map(|n| 20.0 + 2.0 * f64::from(n)).collect();
        assert!(standing(&sizes).unwrap().1.iter().all(Option::is_none));
        sizes[20] *= 25.4;
        let (_, stands) = standing(&sizes).unwrap();
        assert!(matches!(stands[20], Some(Stand::Inches(_))));
        assert_eq!(stands.iter().flatten().count(), 1);
        assert!(standing(&[1.0, 9.0]).is_none() && standing(&[0.0, 0.0, 5.0]).is_none());
    }

    fn column(values: &[f64], typed: bool) -> Column {
        let cell = |(n, value): (usize, &f64)| Cell {
            position: u32::try_from(n).unwrap() + 1,
            value: *value,
            text: value.to_string(),
            typed,
            stand: None,
        };
        Column { key: "well", counted: false, cells: values.iter().enumerate().map(cell).collect() }
    }

    #[test]
    fn what_is_usual_follows_tiers_and_not_a_single_slip() {
        let mut values = [[30.0; 12], [28.0; 12], [26.0; 12]].concat();
        values[5] = 33.0;
        values[23] = 26.0;
        let usual = column(&values, true).usual();
        for (n, usual) in usual.iter().enumerate() {
            let tier = [30.0, 28.0, 26.0][n / 12];
            assert!((usual - tier).abs() < 1e-12 || n == 23, "{n}: {usual}");
        }
        assert!(column(&[], true).usual().is_empty());
        assert_eq!(column(&[3.0, 9.0], true).usual().len(), 2);
        assert_eq!(column(&values, false).usual(), vec![30.0; 36]);
    }
}
