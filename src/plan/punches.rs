//! Holes that are punched by hand, gathered by size, each with the tools that come nearest to it.
//!
//! Which punches there are is the user's matter. Where he does not say, a starter series stands in, named as such.

use crate::geom::tolerance;
use crate::part::Address;
use crate::units::{Length, nearest_64th, nearest_drill};

/// A hole left to the punch.
#[derive(Debug, Clone, PartialEq)]
pub struct Punched {
    /// The piece that it is in.
    pub address: Address,
    /// Diameter (mm).
    pub diameter: f64,
    /// The diameter as it was written; empty where it was worked out.
    pub written: String,
}

/// A tool that comes near a hole.
#[derive(Debug, Clone, PartialEq)]
pub struct Near {
    /// Its size, as it is called.
    pub name: String,
    /// Its size less that of the hole (mm): above zero, it is larger.
    pub error: f64,
}

/// Holes of one size.
#[derive(Debug, Clone, PartialEq)]
pub struct PunchRow {
    /// Diameter (mm).
    pub diameter: f64,
    /// As it was written.
    pub written: String,
    /// How many there are.
    pub count: usize,
    /// The pieces that they are in, each once.
    pub pieces: Vec<Address>,
    /// The nearest punch in hand.
    pub punch: Near,
    /// The nearest 64th of an inch.
    pub fraction: Near,
    /// The nearest punch by whole millimetres.
    pub metric: Near,
    /// The nearest number or letter drill; none far outside their list.
    pub drill: Option<Near>,
}

/// The holes of a lay that are punched by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct PunchList {
    /// Rows, the smallest hole first.
    pub rows: Vec<PunchRow>,
    /// Whether the punches are those of the starter series.
    pub starter: bool,
}

/// Hollow punches by 64ths of an inch, for jobs that do not say which are in hand.
///
/// # Source
/// From memory and not verified: the tubes 00 to 8 of a turret punch, then single punches by sixteenths to an inch and
/// by eighths to two. Makers differ by a 64th. Only tube 0, 5/64 in, was seen in print (a hole-punch table in *Leather
/// Crafts*, 2017).
const INCH: [u16; 30] = [
    4, 5, 6, 7, 8, 9, 10, 12, 14, 16, // 1/16 to 1/4
    20, 24, 28, 32, 36, 40, 44, 48, 52, 56, 60, 64, // 5/16 to 1
    72, 80, 88, 96, 104, 112, 120, 128, // 1 1/8 to 2
];

/// Hollow punches by millimetres.
///
/// # Source
/// From memory and not verified.
const METRIC: [u16; 33] = [
    1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 22, 24, 25, 26, 28, 30,
    32, 35, 36, 38, 40, 45, 50,
];

/// A 64th of an inch (mm).
///
/// # Source
/// NIST SP 811, Appendix B: 1 in = 25.4 mm.
const SIXTY_FOURTH: f64 = 25.4 / 64.0;

impl PunchList {
    /// Gathers holes by size; `stock` are the punches in hand, none for the starter series.
    pub fn of(holes: &[Punched], stock: &[Length]) -> PunchList {
        let mut sorted: Vec<&Punched> = holes.iter().collect();
        sorted.sort_by(|a, b| {
            let by_size = a.diameter.total_cmp(&b.diameter).then_with(|| a.written.cmp(&b.written));
            by_size.then_with(|| a.address.cmp(&b.address))
        });
        let punches = in_hand(stock);
        let alike = |a: &&Punched, b: &&Punched| {
            (a.diameter - b.diameter).abs() < tolerance::SLACK && a.written == b.written
        };
        let rows = sorted.chunk_by(alike).map(|same| row(same, &punches)).collect();
        PunchList { rows, starter: stock.is_empty() }
    }

    /// How many holes there are.
    pub fn count(&self) -> usize {
        self.rows.iter().map(|row| row.count).sum()
    }
}

/// The punches to choose from: names and sizes.
fn in_hand(stock: &[Length]) -> Vec<(String, f64)> {
    if stock.is_empty() {
        let marks = INCH.iter().map(|n| f64::from(*n) * SIXTY_FOURTH);
        return marks.map(|mm| (nearest_64th(mm).text, mm)).collect();
    }
    stock.iter().map(|it| (it.text().to_owned(), it.mm())).collect()
}

/// The nearest of several sizes; of two that are as near, the smaller one: a hole can be made wider.
fn nearest(sizes: impl Iterator<Item = (String, f64)>, mm: f64) -> Option<Near> {
    let off = |size: &(String, f64)| (size.1 - mm).abs();
    let best = sizes.min_by(|a, b| {
        let (one, two) = (off(a), off(b));
        if (one - two).abs() < tolerance::SLACK { a.1.total_cmp(&b.1) } else { one.total_cmp(&two) }
    })?;
    Some(Near { name: best.0, error: best.1 - mm })
}

fn row(same: &[&Punched], punches: &[(String, f64)]) -> PunchRow {
    let (diameter, written) = (same[0].diameter, same[0].written.clone());
    let mut pieces: Vec<Address> = same.iter().map(|hole| hole.address.clone()).collect();
    pieces.dedup();
    let fraction = nearest_64th(diameter);
    let fraction = Near { name: fraction.text, error: fraction.error_mm };
    let metric = METRIC.iter().map(|n| (format!("{n} mm"), f64::from(*n)));
    PunchRow {
        diameter,
        written,
        count: same.len(),
        pieces,
        punch: nearest(punches.iter().cloned(), diameter).unwrap_or_else(|| fraction.clone()),
        metric: nearest(metric, diameter).unwrap_or_else(|| fraction.clone()),
        drill: nearest_drill(diameter).map(|(name, _, error)| Near { name, error }),
        fraction,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hole(position: u32, diameter: f64, written: &str) -> Punched {
        let address = Address { part: "pouch".to_owned(), position, member: None, spare: 0 };
        Punched { address, diameter, written: written.to_owned() }
    }

    #[test]
    fn holes_are_gathered_by_size_with_the_nearest_tools() {
        // A strip of two wells has two bleeds in one piece; #70 is .0280 in and #18 is .1695 in (ASME B94.11M).
        let (bleed, screw) = (0.0280 * 25.4, 0.1695 * 25.4);
        let holes = [
            hole(2, screw, "#18 drill"),
            hole(7, bleed, "#70 drill"),
            hole(1, bleed, "#70 drill"),
            hole(7, bleed, "#70 drill"),
        ];
        let list = PunchList::of(&holes, &[]);
        assert!(list.starter);
        assert_eq!(list.count(), 4);
        let [small, large] = &list.rows[..] else { panic!("{list:?}") };
        assert_eq!((small.count, small.pieces.len()), (3, 2));
        assert_eq!(small.pieces[0].position, 1);
        let drill = small.drill.as_ref().unwrap();
        assert_eq!(drill.name, "#70 drill");
        assert!(drill.error.abs() < 1e-9);
        // .1695 in is 10.848/64: the nearest 64th is 11/64 = .171875 in, .002375 in more. Worked by hand.
        assert_eq!(large.fraction.name, "11/64 in");
        assert!((large.fraction.error - 0.002_375 * 25.4).abs() < 1e-9);
        // The starter series has no 11/64: 10/64 is .15625 in, .01325 in less; 12/64 is .01800 in more.
        assert_eq!(large.punch.name, "5/32 in");
        assert!((large.punch.error + 0.013_25 * 25.4).abs() < 1e-9);
        // 4.3053 mm: 4 mm is .3053 mm less.
        assert_eq!(large.metric.name, "4 mm");
        assert!((large.metric.error + 0.3053).abs() < 1e-9);
    }

    #[test]
    fn the_users_own_punches_count() {
        let own = |text: &str| Length::parse(text, None).unwrap();
        let list = PunchList::of(&[hole(1, 4.3, "")], &[own("4.5 mm"), own("3/16 in")]);
        assert!(!list.starter);
        assert_eq!(list.rows[0].punch.name, "4.5 mm");
        assert!((list.rows[0].punch.error - 0.2).abs() < 1e-9);
        // Half way between two, the smaller one is taken.
        let list = PunchList::of(&[hole(1, 4.0, "")], &[own("4.5 mm"), own("3.5 mm")]);
        assert_eq!(list.rows[0].punch.name, "3.5 mm");
    }

    #[test]
    fn a_hole_beyond_the_drills_has_none() {
        // Letter Z, the largest, is .413 in or 10.49 mm (ASME B94.11M).
        assert_eq!(PunchList::of(&[hole(1, 12.0, "12 mm")], &[]).rows[0].drill, None);
        assert!(INCH.is_sorted() && METRIC.is_sorted());
    }
}
