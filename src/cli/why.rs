//! `why`: the worked sum of a piece, with the place of every figure.

use super::Answer;
use super::args::Common;
use super::open::open;
use super::table::no_part;
use crate::fault::{Fault, Sources};
use crate::geom::Loop;
use crate::job::{Worked, places, work_out};
use crate::material::CutSetting;
use crate::part::{Balance, Design, Member, Part, Size, Term, TermRole, Travel};
use crate::units::{show_inches, thousandths};
use serde_json::{Value, json};

/// What was asked for: a part, a place, a member.
struct Asked<'a> {
    part: &'a str,
    position: Option<u32>,
    member: Option<&'a str>,
    spare: u32,
}

fn asked(text: &str) -> Result<Asked<'_>, Fault> {
    let (part, rest) = text.split_once(':').map_or((text, None), |(p, r)| (p, Some(r)));
    let Some(rest) = rest else {
        let (part, member) = part.split_once('/').map_or((part, None), |(p, m)| (p, Some(m)));
        return Ok(Asked { part, position: None, member, spare: 0 });
    };
    let (rest, spare) = rest.split_once('+').map_or((rest, Some(0)), |(r, s)| (r, s.parse().ok()));
    let Some(spare) = spare else {
        return Err(Fault::error(
            "E81",
            format!("\"{text}\" is no piece: after + stands a spare's number"),
        )
        .cure("write it like pouch:3+1"));
    };
    let (position, member) = rest.split_once('/').map_or((rest, None), |(p, m)| (p, Some(m)));
    let number = position.parse().map_err(|_| {
        Fault::error("E81", format!("\"{text}\" is no piece: \"{position}\" is not a place"))
            .cure("write it like pouch:31, or pouch alone for all its sizes")
    })?;
    Ok(Asked { part, position: Some(number), member, spare })
}

pub(super) fn run(common: &Common, text: &str) -> Answer {
    let asked = match asked(text) {
        Ok(asked) => asked,
        Err(fault) => return Answer::refused(vec![fault], Sources::default()),
    };
    let opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    if let Some(travel) = opened.job.travels.iter().find(|it| it.name == asked.part) {
        return valve(travel, &asked, opened.sources);
    }
    let (worked, faults) = work_out(&opened.job);
    let named: Vec<_> = worked.iter().filter(|w| w.part.name == asked.part).collect();
    let Some(first) = named.first() else {
        return Answer::refused(vec![no_part(asked.part, &opened.job)], opened.sources);
    };
    let mut answer = Answer::new();
    let mut pieces = Vec::new();
    for it in &named {
        let woven = opened
            .job
            .materials
            .get(&it.part.material)
            .is_some_and(crate::material::Material::is_woven);
        let made = crate::part::pieces(it.part, &it.sizes, woven, 0).unwrap_or_default();
        for size in &it.sizes {
            let spares = it.part.spares.of(size.positions.len());
            let lowest = size.positions.iter().min().copied();
            if asked.position.is_some_and(|n| !size.positions.contains(&n))
                || (asked.spare > 0 && (asked.spare > spares || asked.position != lowest))
            {
                continue;
            }
            let setting = opened.job.setting(&it.part.material, &it.part.cut_with);
            let char = opened.job.char_trim(&it.part.material, &it.part.cut_with);
            for member in size.developed.members.iter().filter(|m| {
                asked.member.is_none_or(|a| {
                    m.name.is_some_and(|n| n.to_string() == a || n.word == a)
                        || m.companion == Some(a)
                })
            }) {
                let place = size.positions.first().copied().unwrap_or(1);
                let design = made
                    .iter()
                    .find(|p| p.address.position == place && p.address.member == member.name)
                    .and_then(|p| p.turns.design(0));
                answer_title(&mut answer, title(it.part, size, member, &asked));
                let at = asked.position.unwrap_or(place);
                let gap = asks(&opened.job.travels, &it.part.name, at);
                tell_terms(&mut answer, &member.sum);
                tell_notes(&mut answer, &growth_lines(it.part, member));
                if let Some((travel, gap)) = gap {
                    answer.line(format!("· the gap of {}:{at} asks for it:", travel.name));
                    tell_terms(&mut answer, &gap.terms);
                }
                let char = if member.soft { char } else { 0.0 };
                let design = design.map(AsRef::as_ref);
                tell_notes(&mut answer, &cut_lines((it.part, member), setting, design, char));
                let mut told = as_json(it.part, size, member, &asked, design);
                if let Some((_, gap)) = gap {
                    told["gap"] = json!(terms(&gap.terms));
                }
                pieces.push(told);
            }
        }
    }
    if pieces.is_empty() {
        let list = no_piece(text, &asked, (first, &named), faults);
        return Answer::refused(list, opened.sources);
    }
    answer.result = json!({ "pieces": pieces });
    answer
}

fn title(part: &Part, size: &Size, member: &Member, asked: &Asked<'_>) -> String {
    let which = match asked.position {
        Some(n) if asked.spare > 0 => format!(":{n}+{}", asked.spare),
        Some(n) => format!(":{n}"),
        None => format!(" {}", places(&size.positions)),
    };
    let member = member.name.map_or(String::new(), |m| format!("/{m}"));
    format!("{}{which}{member}", part.name)
}

fn answer_title(answer: &mut Answer, title: String) {
    if !answer.lines.is_empty() {
        answer.line("");
    }
    answer.line(title);
}

/// What keeps a piece from being told of: faults of its part, or that there is none of that name.
fn no_piece(
    text: &str,
    asked: &Asked<'_>,
    (first, named): (&Worked<'_>, &[&Worked<'_>]),
    faults: Vec<Fault>,
) -> Vec<Fault> {
    let all = first.part.positions.numbers();
    let mut cure = format!("{} has the places {}", asked.part, places(&all));
    let members = named.iter().filter_map(|it| it.sizes.first()).flat_map(Size::patterns);
    let names: Vec<String> =
        members.map(|(name, _)| name).filter(|name| !name.is_empty()).collect();
    if asked.member.is_some() && !names.is_empty() {
        cure = format!("{cure}; its pieces: {}", names.join("; "));
    }
    let mut list: Vec<Fault> =
        faults.into_iter().filter(|f| f.text.starts_with(&format!("{} ", asked.part))).collect();
    if !list.iter().any(Fault::is_error) {
        list.push(Fault::error("E81", format!("there is no piece {text}")).cure(cure));
    }
    list
}

/// The sum of a place of a set of valves, or of all its places.
fn valve(travel: &Travel, asked: &Asked<'_>, sources: Sources) -> Answer {
    let mut answer = Answer::new();
    let mut pieces = Vec::new();
    let wanted = |n: u32| asked.position.is_none_or(|at| at == n);
    for place in travel.places.iter().filter(|it| wanted(it.position)) {
        answer_title(&mut answer, format!("{}:{}", travel.name, place.position));
        tell_terms(&mut answer, &place.terms);
        let address = format!("{}:{}", travel.name, place.position);
        pieces.push(json!({ "address": address, "terms": terms(&place.terms) }));
    }
    if pieces.is_empty() || asked.member.is_some() || asked.spare > 0 {
        let all: Vec<u32> = travel.places.iter().map(|it| it.position).collect();
        let cure = format!("{} has the places {}", travel.name, places(&all));
        let fault = Fault::error("E81", format!("{} has no such place", travel.name)).cure(cure);
        return Answer::refused(vec![fault], sources);
    }
    answer.result = json!({ "pieces": pieces });
    answer
}

/// Of a paper for a valve, the place that asked for it.
fn asks<'a>(travels: &'a [Travel], part: &str, position: u32) -> Option<(&'a Travel, &'a Balance)> {
    let mut sets = travels.iter().filter(|it| it.papers.iter().any(|paper| paper.part == part));
    let travel = sets.next()?;
    Some((travel, travel.places.iter().find(|it| it.position == position)?))
}

/// Every term of a sum with its place.
fn tell_terms(answer: &mut Answer, terms: &[Term]) {
    for [sign, label, written, figure, from] in sum_rows(terms) {
        let line = format!("{sign} {label:<42} {written:<34} {figure:>13}   {from}");
        answer.line(line.trim_end());
    }
}

fn tell_notes(answer: &mut Answer, notes: &[String]) {
    for note in notes {
        answer.line(format!("· {note}"));
    }
}

/// The lines of a sum: sign, label, as written, figure, where it stands.
pub(super) fn sum_rows(terms: &[Term]) -> Vec<[String; 5]> {
    let row = |term: &Term| {
        let sign = match term.role {
            TermRole::Total => "=",
            TermRole::Note => "·",
            TermRole::Given | TermRole::Step => " ",
        };
        let figure = match term.unit {
            "mm" => format!("{} mm", thousandths(term.value)),
            "mm³" => format!("{:.1} cm³", term.value / 1000.0),
            unit => format!("{} {unit}", thousandths(term.value)),
        };
        let from = term.from.as_ref().map_or_else(
            || if term.role == TermRole::Total { show_inches(term.value) } else { String::new() },
            ToString::to_string,
        );
        [sign.to_owned(), term.label.clone(), term.written.clone(), figure, from]
    };
    terms.iter().map(row).collect()
}

/// What is taken off or added for every piece of the part.
pub(super) fn growth_lines(part: &Part, member: &Member) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(stretch) = &part.stretch {
        let growth = format!(
            "{} % along, {} % across the grain",
            stretch.along * 100.0,
            stretch.across * 100.0
        );
        lines.push(format!("growth in use taken off: {growth}   {}", stretch.from));
    }
    if let Some(wet) = &part.wet {
        let growth =
            format!("{} % along, {} % across the grain", wet.along * 100.0, wet.across * 100.0);
        lines.push(format!("growth when glued wet taken off: {growth}   {}", wet.from));
    }
    if member.trim > 0.0 {
        lines.push(format!("trim on each side, after stretch: {:.3} mm", member.trim));
    }
    lines
}

/// The line that is cut: true size with all that is added, the width of the cut, the char.
pub(super) fn cut_lines(
    (part, member): (&Part, &Member),
    setting: Option<&CutSetting>,
    design: Option<&Design>,
    char: f64,
) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(design) = design {
        let b = design.shape.bounds();
        let kerf = setting.map_or((0.0, 0.0), |s| (s.kerf_x, s.kerf_y));
        if part.grows() || member.trim > 0.0 {
            lines.push(format!(
                "cut out, stretch and trim in it: {} x {} mm",
                thousandths(b.width()),
                thousandths(b.height())
            ));
        }
        if let Some(setting) = setting.filter(|_| char > 0.0) {
            lines.push(format!(
                "char trim all round, to be pared off: {char:.3} mm   {}",
                setting.place
            ));
        }
        // A knife takes nothing away.
        let runs = if kerf == (0.0, 0.0) {
            "the cut runs on the line"
        } else {
            "the middle of the cut runs half its width outside"
        };
        lines.push(format!(
            "{runs}: {} x {} mm",
            thousandths(b.width() + 2.0 * char + kerf.0),
            thousandths(b.height() + 2.0 * char + kerf.1)
        ));
    }
    if let Some(setting) = setting {
        lines.push(format!(
            "width of the cut: {:.3} by {:.3} mm   {} ({})",
            setting.kerf_x, setting.kerf_y, setting.place, setting.source.text
        ));
    }
    lines
}

/// The pattern as it is cut, stretch and trim in it and kerf not: points (mm), each with the bulge of the side after it.
fn pattern(design: &Design) -> Value {
    let line = |outline: &Loop| {
        if let Some((center, radius)) = outline.as_circle() {
            return json!({ "circle": { "x": center.x, "y": center.y, "radius": radius } });
        }
        let points: Vec<_> =
            outline.segs().iter().map(|s| json!([s.a.x, s.a.y, s.bulge])).collect();
        json!({ "points": points })
    };
    let creases: Vec<_> =
        design.creases.iter().map(|s| json!([s.a.x, s.a.y, s.b.x, s.b.y])).collect();
    json!({
        "outline": line(design.shape.outline()),
        "holes": design.shape.holes().iter().map(line).collect::<Vec<_>>(),
        "creases": creases,
    })
}

/// Every term of a sum.
fn terms(sum: &[Term]) -> Vec<Value> {
    let one = |term: &Term| {
        json!({
            "label": term.label,
            "written": term.written,
            "value": term.value,
            "unit": term.unit,
            "role": match term.role {
                TermRole::Given => "given",
                TermRole::Step => "step",
                TermRole::Total => "total",
                TermRole::Note => "note",
            },
            "from": term.from.as_ref().map(ToString::to_string),
        })
    };
    sum.iter().map(one).collect()
}

fn as_json(
    part: &Part,
    size: &Size,
    member: &Member,
    asked: &Asked<'_>,
    design: Option<&Design>,
) -> Value {
    let lowest = asked.position.or_else(|| size.positions.first().copied()).unwrap_or(1);
    let member_name = member.name.map_or(String::new(), |m| format!("/{m}"));
    json!({
        "address": format!("{}:{lowest}{member_name}", part.name),
        "positions": size.positions,
        "area": member.shape.area(),
        "pattern": design.map(pattern),
        "terms": terms(&member.sum),
    })
}
