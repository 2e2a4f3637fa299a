//! From a record back to layouts, against the groups at hand.

use super::record::{DotRow, LeftRow, PieceRow, Record, UNTRIED, WindowRow, sheet_row};
use super::{Dot, Group, Layout, LeftOut, Placed, Window};
use crate::geom::{Point, Pose, Rect};
use crate::part::Turns;
use std::collections::{BTreeMap, BTreeSet};

/// The layouts of a record, one for each group; whoever calls proves them again.
///
/// `names` are material and machine of each group, as the job has them.
///
/// # Errors
/// Everything in which the record and the job differ, in words: a piece that is missing, doubled or foreign, a sheet
/// that has changed or is not there, a distance, material or machine that is another one, a stance the piece does not
/// have, a bed window that is not there.
pub fn layouts(
    record: &Record,
    groups: &[Group],
    names: &[(String, String)],
) -> Result<Vec<Layout>, Vec<String>> {
    let mut at = Reading::new(groups);
    at.compare_groups(record);
    at.compare_names(record, names);
    at.compare_sheets(record);
    let mut layouts: Vec<Layout> = groups
        .iter()
        .enumerate()
        .map(|(i, _)| {
            let row = record.groups.get(i);
            Layout {
                spent: row.map_or(0, |r| r.spent),
                stopped: row.is_some_and(|r| r.stopped),
                ..Layout::default()
            }
        })
        .collect();
    for row in &record.windows {
        if let Some((group, window)) = at.window(row, &layouts) {
            layouts[group].windows.push(window);
        }
    }
    for row in &record.dots {
        if let Some((group, dot)) = at.dot(row, &layouts) {
            layouts[group].dots.push(dot);
        }
    }
    for row in &record.pieces {
        if let Some((group, placed)) = at.placed(row, &layouts) {
            layouts[group].placed.push(placed);
        }
    }
    for row in &record.left {
        if let Some((group, left)) = at.left(row) {
            layouts[group].left.push(left);
        }
    }
    at.nothing_missing();
    for layout in &mut layouts {
        layout.placed.sort_by_key(|p| p.piece);
        layout.left.sort_by_key(|l| l.piece);
    }
    if at.faults.is_empty() { Ok(layouts) } else { Err(at.faults) }
}

struct Reading<'a> {
    groups: &'a [Group],
    pieces: BTreeMap<String, (usize, usize)>,
    sheets: BTreeMap<&'a str, (usize, usize)>,
    seen: BTreeSet<(usize, usize)>,
    faults: Vec<String>,
}

impl<'a> Reading<'a> {
    fn new(groups: &'a [Group]) -> Reading<'a> {
        let mut pieces = BTreeMap::new();
        let mut sheets = BTreeMap::new();
        for (g, group) in groups.iter().enumerate() {
            for (i, piece) in group.pieces.iter().enumerate() {
                pieces.insert(piece.address.to_string(), (g, i));
            }
            for (i, ground) in group.grounds.iter().enumerate() {
                sheets.insert(ground.sheet.id.as_str(), (g, i));
            }
        }
        Reading { groups, pieces, sheets, seen: BTreeSet::new(), faults: Vec::new() }
    }

    fn compare_groups(&mut self, record: &Record) {
        if record.groups.len() != self.groups.len() {
            self.faults.push(format!(
                "the record has {} groups and the job has {}",
                record.groups.len(),
                self.groups.len()
            ));
        }
        for (row, group) in record.groups.iter().zip(self.groups) {
            if row.apart.to_bits() != group.apart.to_bits() {
                self.faults.push(format!(
                    "{}: laid with {} mm between pieces, the job now asks for {} mm",
                    row.material, row.apart, group.apart
                ));
            }
            let bits = |size: [f64; 2]| size.map(f64::to_bits);
            if row.reach.map(bits) != group.window.map(|w| bits([w.x, w.y])) {
                self.faults.push(format!(
                    "{}: laid for a bed of another size than that of {} now",
                    row.material, row.machine
                ));
            }
        }
    }

    fn compare_names(&mut self, record: &Record, names: &[(String, String)]) {
        if names.len() != self.groups.len() {
            self.faults.push(format!(
                "the job names {} groups and has {}",
                names.len(),
                self.groups.len()
            ));
        }
        for (number, (row, (material, machine))) in record.groups.iter().zip(names).enumerate() {
            for (what, then, now) in
                [("material", &row.material, material), ("machine", &row.machine, machine)]
            {
                if then != now {
                    self.faults.push(format!(
                        "group {number} was laid for the {what} {then}, in the job it is {now}"
                    ));
                }
            }
        }
    }

    fn compare_sheets(&mut self, record: &Record) {
        let mut named = BTreeSet::new();
        for row in &record.sheets {
            let id = row.id.as_str();
            if !named.insert(id) {
                self.faults.push(format!("sheet {id} is there twice"));
            }
            // What became of a sheet on which nothing lies does not matter.
            let lies = record.pieces.iter().any(|p| p.sheet == row.id);
            let Some((g, i)) = self.sheets.get(id).copied() else {
                if !lies {
                    continue;
                }
                self.faults.push(format!("sheet {id} is not among the sheets at hand"));
                continue;
            };
            let ground = &self.groups[g].grounds[i];
            let now = sheet_row(&ground.sheet, g, ground.edge);
            let what = [
                (row.group != now.group, "group"),
                (lies && row.generation != now.generation, "generation"),
                (lies && row.outline != now.outline, "outline, flaws, grades or readings"),
                (row.grain.to_bits() != now.grain.to_bits(), "grain"),
                (row.face != now.face, "face"),
                (row.edge.to_bits() != now.edge.to_bits(), "edge distance"),
            ];
            for (_, what) in what.iter().filter(|(differs, _)| *differs) {
                self.faults.push(format!("sheet {id} has another {what} than when it was laid"));
            }
        }
        for id in self.sheets.keys().filter(|id| !named.contains(*id)) {
            self.faults.push(format!("sheet {id} is not in the record"));
        }
    }

    /// The piece of an address, once.
    fn piece(&mut self, address: &str) -> Option<(usize, usize)> {
        let Some(found) = self.pieces.get(address).copied() else {
            self.faults.push(format!("{address} is in the record and not in the job"));
            return None;
        };
        if !self.seen.insert(found) {
            self.faults.push(format!("{address} is in the record more than once"));
            return None;
        }
        Some(found)
    }

    /// The ground of a sheet, with its group.
    fn sheet(&mut self, id: &str, what: &str) -> Option<(usize, usize)> {
        let found = self.sheets.get(id).copied();
        if found.is_none() {
            self.faults.push(format!("{what} is on sheet {id}, which is not there"));
        }
        found
    }

    fn window(&mut self, row: &WindowRow, layouts: &[Layout]) -> Option<(usize, Window)> {
        let (group, ground) = self.sheet(&row.sheet, &format!("bed window {}", row.number))?;
        let wanted = layouts[group].windows_of(ground).len() + 1;
        if u32::try_from(wanted) != Ok(row.number) {
            let (sheet, number) = (&row.sheet, row.number);
            self.faults
                .push(format!("window {number} of {sheet} stands where window {wanted} should"));
            return None;
        }
        let bounds = Rect { x0: row.x0, y0: row.y0, x1: row.x1, y1: row.y1 };
        let corner = Point::new(row.corner_x, row.corner_y);
        Some((group, Window { ground, bounds, corner }))
    }

    fn dot(&mut self, row: &DotRow, layouts: &[Layout]) -> Option<(usize, Dot)> {
        let (group, ground) = self.sheet(&row.sheet, "a register dot")?;
        let mut windows = Vec::new();
        for number in &row.windows {
            windows.push(self.numbered(&layouts[group], ground, *number, "a register dot")?);
        }
        Some((group, Dot { ground, at: Point::new(row.x, row.y), windows }))
    }

    /// The index of a window by its number on a sheet.
    fn numbered(
        &mut self,
        layout: &Layout,
        ground: usize,
        number: u32,
        what: &str,
    ) -> Option<usize> {
        let index = usize::try_from(number).ok().and_then(|n| n.checked_sub(1));
        let found = index.and_then(|n| layout.windows_of(ground).get(n).copied());
        if found.is_none() {
            self.faults
                .push(format!("{what} is in bed window {number}, which its sheet does not have"));
        }
        found
    }

    fn placed(&mut self, row: &PieceRow, layouts: &[Layout]) -> Option<(usize, Placed)> {
        let (group, piece) = self.piece(&row.address)?;
        let mut fault = |what: String| {
            self.faults.push(format!("{} {what}", row.address));
            None
        };
        let Some((_, ground)) =
            self.sheets.get(row.sheet.as_str()).copied().filter(|(g, _)| *g == group)
        else {
            return fault(format!("lies on sheet {}, which is none of its sheets", row.sheet));
        };
        let host = match &row.host {
            None => None,
            Some(address) => match self.pieces.get(address) {
                Some((g, host)) if *g == group => Some(*host),
                _ => {
                    return fault(format!(
                        "lies in a hole of {address}, which is not among its sisters"
                    ));
                }
            },
        };
        let stance = match (&self.groups[group].pieces[piece].turns, row.stance) {
            (Turns::Free(_), None) => Some(0),
            (Turns::Fixed(list), Some(turn)) => {
                list.iter().position(|s| s.turn.to_bits() == turn.to_bits())
            }
            _ => None,
        };
        let Some(stance) = stance else {
            return fault(format!("has no stance of {:?} degrees to the grain", row.stance));
        };
        let window = match row.window {
            None => None,
            Some(number) => Some(self.numbered(&layouts[group], ground, number, &row.address)?),
        };
        let placed = Placed {
            piece,
            ground,
            host,
            stance,
            pose: Pose { x: row.x, y: row.y, turn: row.turn, mirrored: row.mirrored },
            window,
        };
        Some((group, placed))
    }

    fn left(&mut self, row: &LeftRow) -> Option<(usize, LeftOut)> {
        let (group, piece) = self.piece(&row.address)?;
        let largest_free = match &row.largest_free {
            None => None,
            Some(free) => {
                let Some((_, ground)) = self.sheets.get(free.sheet.as_str()) else {
                    self.faults.push(format!(
                        "{}: the free place is on sheet {}, which is not there",
                        row.address, free.sheet
                    ));
                    return None;
                };
                Some((*ground, Point::new(free.x, free.y), free.diameter))
            }
        };
        Some((group, LeftOut { piece, largest_free, tried: row.reason != UNTRIED }))
    }

    fn nothing_missing(&mut self) {
        let missing = self
            .pieces
            .iter()
            .filter(|(_, at)| !self.seen.contains(at))
            .map(|(address, _)| format!("{address} is in the job and not in the record"));
        self.faults.extend(missing.collect::<Vec<_>>());
    }
}
