//! The worked sum as a table: what it is, as it was written, the figure, where it stands.

use super::part::{FRAME, PAGE, Sheet, THIN};
use super::straight;
use super::style::DimensionStyle;
use crate::geom::{Point, Vec2};
use crate::letters;
use crate::part::{Term, TermRole};
use crate::units::thousandths;
use crate::write::number::fixed;

/// The sum, a row a term.
pub(super) struct Table {
    rows: Vec<Row>,
    columns: [Column; 5],
    pitch: f64,
}

struct Row {
    /// What it is, as it was written, the figure, the same in millimetres where inches come first, where it stands.
    cells: [String; 5],
    role: TermRole,
}

/// Where a column begins and how wide it is (mm).
type Column = (f64, f64);

/// The columns; figures are flush right.
fn columns(style: DimensionStyle) -> [Column; 5] {
    match style {
        DimensionStyle::Inch => {
            [(10.0, 46.5), (58.0, 42.0), (101.0, 21.0), (124.0, 24.0), (150.0, 20.0)]
        }
        DimensionStyle::Metric => {
            [(10.0, 52.0), (65.0, 48.0), (115.0, 27.0), (143.0, 1.0), (146.0, 24.0)]
        }
    }
}
/// The columns of figures.
const FIGURES: [usize; 2] = [2, 3];

/// More rows than this are too small to read.
const MOST_ROWS: usize = 30;

impl Table {
    pub(super) fn of(sum: &[Term], style: DimensionStyle) -> Table {
        let rows = rows_of(sum, style);
        #[allow(clippy::cast_precision_loss, reason = "a count of rows")]
        let many = rows.len().max(1) as f64;
        Table { rows, columns: columns(style), pitch: (95.0 / many).min(5.2) }
    }

    #[allow(clippy::cast_precision_loss, reason = "a count of rows")]
    pub(super) fn height(&self) -> f64 {
        if self.rows.is_empty() { 0.0 } else { self.rows.len() as f64 * self.pitch + 3.0 }
    }

    pub(super) fn draw(&self, base: f64, sheet: &mut Sheet) {
        if self.rows.is_empty() {
            return;
        }
        let top = base + self.height();
        let line = |y: f64, weight: f64| {
            straight(Point::new(FRAME, y), Point::new(PAGE.0 - FRAME, y), weight)
        };
        sheet.frame.push(line(top, 0.25));
        let letter = self.pitch * 0.46;
        let mut y = top - 1.5;
        let mut before = TermRole::Total;
        for row in &self.rows {
            if row.role == TermRole::Total && before != TermRole::Total {
                let (from, to) = (self.columns[2].0, self.columns[2].0 + self.columns[2].1);
                let ends = (Point::new(from, y), Point::new(to, y));
                sheet.words.push(straight(ends.0, ends.1, THIN));
            }
            before = row.role;
            y -= self.pitch;
            for (i, text) in row.cells.iter().enumerate() {
                let (text, height) = fitted(text, self.columns[i].1, letter);
                let flush = self.columns[i].1 - letters::width(&text, height);
                let x = self.columns[i].0 + if FIGURES.contains(&i) { flush } else { 0.0 };
                let at = Point::new(x, y + (self.pitch - height) / 2.0);
                let plain = matches!(row.role, TermRole::Given | TermRole::Total) && i < 3;
                if plain {
                    sheet.word(text.clone(), at, height);
                } else {
                    sheet.note(text.clone(), at, height);
                }
                if row.role == TermRole::Total && i == 2 {
                    // A sum is underlined twice.
                    for below in [0.7, 1.2] {
                        let (a, b) =
                            (Vec2::new(0.0, -below), Vec2::new(self.columns[i].1 - flush, -below));
                        sheet.words.push(straight(at + a, at + b, 0.13));
                    }
                }
            }
        }
    }
}

/// A row a term; of more than the page has room for, the sizes and what comes first.
fn rows_of(sum: &[Term], style: DimensionStyle) -> Vec<Row> {
    if sum.len() <= MOST_ROWS {
        return sum.iter().map(|term| row_of(term, style)).collect();
    }
    let totals = sum.iter().filter(|t| t.role == TermRole::Total).count();
    let mut others = MOST_ROWS.saturating_sub(totals + 1);
    let mut rows: Vec<Row> = Vec::new();
    for term in sum {
        if term.role != TermRole::Total {
            if others == 0 {
                continue;
            }
            others -= 1;
        }
        rows.push(row_of(term, style));
    }
    let more = sum.len() - rows.len();
    let cells = [
        format!("and {more} lines more"),
        "pouchwork why shows them".into(),
        String::new(),
        String::new(),
        String::new(),
    ];
    rows.push(Row { cells, role: TermRole::Note });
    rows
}

fn row_of(term: &Term, style: DimensionStyle) -> Row {
    // Always as many decimals, so that points stand below one another.
    let even = |value: f64, one: f64| (value * one).round() / one + 0.0;
    let value = match (term.unit, style) {
        ("", _) => fixed(term.value, 3),
        ("mm", DimensionStyle::Metric) => format!("{} mm", thousandths(term.value)),
        ("mm", DimensionStyle::Inch) => {
            let text = format!("{:.4} in", even(term.value / 25.4, 10000.0));
            // No zero before the point.
            match text.strip_prefix("0.").or_else(|| text.strip_prefix("-0.")) {
                Some(rest) if text.starts_with('-') => format!("-.{rest}"),
                Some(rest) => format!(".{rest}"),
                None => text,
            }
        }
        ("mm³", _) => format!("{:.1} cm³", term.value / 1000.0),
        (unit, _) => format!("{} {unit}", fixed(term.value, 3)),
    };
    let other = match (term.unit, style) {
        ("mm", DimensionStyle::Inch) => format!("{} mm", thousandths(term.value)),
        _ => String::new(),
    };
    let from = term.from.as_ref().map_or_else(String::new, |p| {
        let name = p.file.rsplit(['/', '\\']).next().unwrap_or_default();
        format!("{name}:{}", p.line)
    });
    let cells = [term.label.clone(), term.written.clone(), value, other, from];
    Row { cells, role: term.role }
}

/// A text made smaller down to seven tenths, then cut off, to fit its column.
pub(super) fn fitted(text: &str, room: f64, height: f64) -> (String, f64) {
    let least = height * 0.7;
    let fits = letters::height_within(text, room, height);
    if fits >= least {
        return (text.to_owned(), fits);
    }
    let mut kept: Vec<char> = text.chars().collect();
    loop {
        kept.pop();
        let short: String = kept.iter().chain(&['…']).collect();
        if kept.is_empty() || letters::width(&short, least) <= room {
            return (short, least);
        }
    }
}
