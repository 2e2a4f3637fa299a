//! The tables [[….claim]] and [[….cut]] of the stock record, and lines as the program writes them there.

use super::codes::quoted;
use super::reader::{Item, Reader};
use crate::geom::{Loop, Point, Seg};
use crate::sheet::{Holder, State, Used};
use toml::de::DeValue;

/// The ground that lays hold of a sheet; none where something of it could not be read.
pub(super) fn held(
    reader: &mut Reader<'_>,
    key: &'static str,
    is_claim: bool,
) -> Option<Vec<Used>> {
    let mut found = Vec::new();
    let mut lost = false;
    for mut table in reader.take_tables(key, &format!("this {key}")) {
        let lay = table.need_text("lay", "the lay it is for", "\"lay-1\"").map(|(text, _)| text);
        let hash = table.take_text("hash").map(|(text, _)| text).unwrap_or_default();
        let job = table.take_text("job").map(|(text, _)| text);
        let by = lay.map(|lay| Holder { job, lay, hash });
        for mut row in table.take_tables("pieces", "this piece") {
            let address = row.need_text("address", "which piece it is", "\"pouch:31\"");
            let state = state(&mut row, is_claim);
            let outline = line(&mut row);
            let given = row.take_text("for").map(|(text, _)| text);
            row.finish("key");
            match (&by, address, state, outline) {
                (Some(by), Some((address, _)), Some(state), Some(outline)) => {
                    found.push(Used { by: by.clone(), address, state, outline, given });
                }
                _ => lost = true,
            }
        }
        lost |= by.is_none();
        table.finish("key");
    }
    (!lost).then_some(found)
}

fn state(row: &mut Reader<'_>, is_claim: bool) -> Option<State> {
    if is_claim {
        return Some(State::Claimed);
    }
    if !row.has("state") {
        row.needs("state", "what became of it", "\"good\"");
    }
    row.take_word("state", &[("good", State::Good), ("failed", State::Failed)]).map(|(s, _)| s)
}

/// A line as the program writes it: `at` and `diameter`, or `line` with a bulge where a side is an arc.
pub(super) fn line(row: &mut Reader<'_>) -> Option<Loop> {
    if row.has("line") {
        return line_of_points(row);
    }
    let at = row.take("at");
    let center = at.as_ref().and_then(|item| numbers(row, item, 2..=2));
    let diameter = row.take_number("diameter", 1e-6, 1e5);
    if at.is_some() && !row.has("diameter") {
        row.needs("diameter", "how large it is, in mm", "38.1");
    }
    if at.is_none() {
        row.needs("line", "its corners in mm", "[[0, 0], [40, 0], [40, 20, 0.5]]");
    }
    let (center, diameter) = (center?, diameter?);
    let made = Loop::circle(Point::new(center[0], center[1]), diameter / 2.0);
    told(row, made, at.as_ref()?)
}

/// The key `line`: points in mm, each with the bulge of the side after it where that is an arc.
pub(super) fn line_of_points(row: &mut Reader<'_>) -> Option<Loop> {
    let item = row.take("line")?;
    let wanted = "[[0, 0], [40, 0], [40, 20, 0.5]]";
    let Some(items) = row.list_of(&item) else {
        row.wants("line", "a list of points", &item, wanted);
        return None;
    };
    let read: Option<Vec<Vec<f64>>> = items.iter().map(|it| numbers(row, it, 2..=3)).collect();
    let points: Vec<(Point, f64)> =
        read?.iter().map(|p| (Point::new(p[0], p[1]), p.get(2).copied().unwrap_or(0.0))).collect();
    let next = points.iter().cycle().skip(1);
    let segs =
        points.iter().zip(next).map(|((a, bulge), (b, _))| Seg { a: *a, b: *b, bulge: *bulge });
    let within = points.iter().all(|(_, bulge)| bulge.abs() <= 1.0 + 1e-9);
    if !within || points.len() < 2 {
        row.fault(
            "E29",
            "a line of two points or more is wanted, with bulges up to 1".to_owned(),
            &item.place,
            format!("for example line = {wanted}"),
        );
        return None;
    }
    told(row, Loop::chain(segs.collect()), &item)
}

fn told(
    row: &Reader<'_>,
    made: Result<Loop, crate::geom::GeomFault>,
    item: &Item<'_>,
) -> Option<Loop> {
    made.map_err(|fault| {
        row.fault("E29", fault.to_string(), &item.place, "go round it once, corner by corner");
    })
    .ok()
}

/// Plain numbers in mm.
fn numbers(
    row: &Reader<'_>,
    item: &Item<'_>,
    count: std::ops::RangeInclusive<usize>,
) -> Option<Vec<f64>> {
    let number = |it: &Item<'_>| match it.value {
        DeValue::Integer(n) if n.radix() == 10 => n.as_str().parse::<f64>().ok(),
        DeValue::Float(n) => n.as_str().parse::<f64>().ok(),
        _ => None,
    };
    let list = row.list_of(item).filter(|list| count.contains(&list.len()));
    let made: Option<Vec<f64>> = list.and_then(|list| list.iter().map(number).collect());
    let made = made.filter(|list| list.iter().all(|n| n.is_finite() && n.abs() < 1e5));
    if made.is_none() {
        row.fault(
            "E08",
            format!("{} wants points of plain numbers in mm", quoted(&row.what)),
            &item.place,
            "for example [12.5, 40]",
        );
    }
    made
}
