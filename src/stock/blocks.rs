//! Tables of the record as they are written.

use super::spots::Block;
use crate::geom::{Loop, Point, Pose, Vec2};
use crate::sheet::{Holder, Sheet, SheetKind, State};
use crate::units::{Day, Length};
use std::fmt::Write;

/// A text in quotes.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A figure with five decimals at most.
fn short(value: f64) -> String {
    let figures = format!("{value:.5}");
    let figures = figures.trim_end_matches('0').trim_end_matches('.');
    if figures == "-0" { "0".to_owned() } else { figures.to_owned() }
}

/// The bulge of a side.
fn bulge(value: f64) -> String {
    let figures = format!("{value:.10}");
    figures.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A piece's outline as keys.
fn outline(it: &Loop) -> String {
    match it {
        Loop::Circle(c, r) => {
            format!("at = [{}, {}], diameter = {}", short(c.x), short(c.y), short(2.0 * r))
        }
        Loop::Chain(segs) => {
            let points: Vec<String> = segs
                .iter()
                .map(|s| match bulge(s.bulge).as_str() {
                    "0" | "-0" => format!("[{}, {}]", short(s.a.x), short(s.a.y)),
                    arc => format!("[{}, {}, {arc}]", short(s.a.x), short(s.a.y)),
                })
                .collect();
            format!("line = [{}]", points.join(", "))
        }
    }
}

/// Ground that a lay claims, as a table below its sheet's; `corner` is where the sheet's box stands in its own system.
pub(super) fn held_block(
    table: &str,
    by: &Holder,
    pieces: &[(String, State, Loop)],
    corner: Point,
) -> String {
    let mut text = format!("\n[[{table}.claim]]\nlay = {}\n", quoted(&by.lay));
    if let Some(job) = &by.job {
        let _ = writeln!(text, "job = {}", quoted(job));
    }
    let _ = writeln!(text, "hash = {}\npieces = [", quoted(&by.hash));
    let pose = Pose::moved(corner.to_vec2());
    for (address, _, it) in pieces {
        let it = if corner.to_vec2() == Vec2::ZERO { it.clone() } else { pose.on_loop(it) };
        let _ = writeln!(text, "  {{ address = {}, {} }},", quoted(address), outline(&it));
    }
    text.push_str("]\n");
    text
}

/// A claim turned into a cut: its header changed, a state put to every piece.
pub(super) fn booked(
    body: &str,
    table: &str,
    claim: &Block,
    state: &dyn Fn(&String) -> State,
) -> Option<String> {
    let mut made = body.replacen(&format!("[[{table}.claim]]"), &format!("[[{table}.cut]]"), 1);
    let mut from = 0;
    for (address, _) in &claim.pieces {
        let key = format!("address = {}", quoted(address));
        let at = from + made.get(from..)?.find(&key)? + key.len();
        let word = if state(address) == State::Failed { "failed" } else { "good" };
        let more = format!(", state = \"{word}\"");
        made.insert_str(at, &more);
        from = at + more.len();
    }
    Some(made)
}

/// Where in a cut a spare gets the place that it is taken for, and with what words.
pub(super) fn given(body: &str, spare: &str, place: &str) -> Option<(usize, String)> {
    let key = format!("address = {}", quoted(spare));
    Some((body.find(&key)? + key.len(), format!(", for = {}", quoted(place))))
}

/// A line with every figure in full: read again it is the same to the last bit.
pub(super) fn exact_line(it: &Loop) -> String {
    let points: Vec<String> = it
        .segs()
        .iter()
        .map(|s| {
            if s.is_line() {
                format!("[{}, {}]", s.a.x, s.a.y)
            } else {
                format!("[{}, {}, {}]", s.a.x, s.a.y, s.bulge)
            }
        })
        .collect();
    format!("[{}]", points.join(", "))
}

fn exact(it: &Loop) -> String {
    match it.as_circle() {
        Some((c, r)) => format!("at = [{}, {}]\ndiameter = {}\n", c.x, c.y, 2.0 * r),
        None => format!("line = {}\n", exact_line(it)),
    }
}

fn thickness(length: &Length) -> String {
    match length.reading_texts() {
        [] => quoted(length.text()),
        list => format!("[{}]", list.iter().map(|t| quoted(t)).collect::<Vec<_>>().join(", ")),
    }
}

/// A sheet as a table of its own; plain numbers in it are millimetres.
pub(super) fn sheet_block(
    sheet: &Sheet,
    table: &str,
    (entered, added): (Option<&str>, Option<Day>),
) -> String {
    let mut text = format!(
        "\n[[{table}]]\nid = {}\nmaterial = {}\nunit = \"mm\"\n",
        quoted(&sheet.id),
        quoted(&sheet.material)
    );
    let mut key = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            let _ = writeln!(text, "{name} = {value}");
        }
    };
    key("from", sheet.from.as_deref().map(quoted));
    key("added", added.map(|day| day.to_string()));
    key("generation", Some(sheet.generation.to_string()));
    key("as-in-job", entered.map(quoted));
    key("up", sheet.up.map(|face| quoted(face.name())));
    key("thickness", sheet.thickness.as_ref().map(thickness));
    key("grade", (sheet.grade != 1).then(|| sheet.grade.to_string()));
    key("edge", sheet.edge.map(|mm| format!("\"{mm} mm\"")));
    key("cut-with", sheet.cut_with.as_deref().map(quoted));
    key("shelf", sheet.shelf.as_deref().map(quoted));
    let is_rectangle = table == "cloth" || table == "leaf";
    if is_rectangle {
        let b = sheet.outline.bounds();
        key("width", Some(format!("\"{} mm\"", b.height())));
        key("length", Some(format!("\"{} mm\"", b.width())));
    } else {
        key("line", Some(exact_line(&sheet.outline)));
    }
    if table == "cloth" && sheet.kind == SheetKind::Cloth {
        key("warp", (sheet.grain.abs() > 45.0).then(|| "\"across\"".to_owned()));
    } else {
        key("grain", Some(sheet.grain.to_string()));
    }
    for flaw in &sheet.flaws {
        let _ = write!(
            text,
            "\n[[{table}.flaw]]\nwhy = {}\n{}",
            quoted(&flaw.why),
            exact(&flaw.outline)
        );
    }
    for zone in &sheet.zones {
        let _ = write!(text, "\n[[{table}.zone]]\n");
        if !zone.why.is_empty() {
            let _ = writeln!(text, "why = {}", quoted(&zone.why));
        }
        let _ = write!(text, "grade = {}\n{}", zone.grade, exact(&zone.outline));
    }
    for reading in &sheet.readings {
        let (at, thick) = (reading.at, quoted(reading.thickness.text()));
        let _ =
            write!(text, "\n[[{table}.reading]]\nat = [{}, {}]\nthickness = {thick}\n", at.x, at.y);
    }
    text
}
