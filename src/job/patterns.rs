//! Patterns for cutting and punching by hand: the pieces of a job without kerf, with the tool of every round hole.

use super::codes::{meant, quoted};
use super::words::places;
use super::{Job, Worked};
use crate::fault::Fault;
use crate::geom::{Pose, Shape};
use crate::material::Material;
use crate::part::{Address, Design, MemberName, Part, Piece, Size, Turns, pieces};
use crate::plan::{PunchList, Punched};
use crate::safety::not_for_laser;
use crate::units::{Length, show, show_inches};
use crate::write::{BagLabel, Drawing, HoleMark, Pattern};
use std::collections::BTreeMap;

/// A hole is punched where a tool comes so near (mm); else it is cut along its line.
const NEAR: f64 = 0.5;
/// Printers stretch no more than this: rules of 100 mm measure within it (mm).
const RULES: std::ops::RangeInclusive<f64> = 95.0..=105.0;

/// A drawing of a pattern, with the label for its pieces.
pub type Drawn = (Drawing, BagLabel);

/// What was asked for: a part, a place of it, a member of that, a spare.
struct Asked<'a> {
    part: &'a str,
    position: Option<u32>,
    member: Option<&'a str>,
    spare: Option<u32>,
}

impl<'a> Asked<'a> {
    /// `pouch`, `pump/card`, `pouch:31`, `facing:7/inner`, `pouch:3+1`.
    fn of(text: &'a str) -> Option<Asked<'a>> {
        let (text, spare) = match text.split_once('+') {
            Some((text, spare)) => (text, Some(spare.parse().ok()?)),
            None => (text, None),
        };
        let (text, member) = text.split_once('/').map_or((text, None), |(t, m)| (t, Some(m)));
        let (part, position) = match text.split_once(':') {
            Some((part, position)) => (part, Some(position.parse().ok()?)),
            None => (text, None),
        };
        Some(Asked { part, position, member, spare })
    }

    fn takes(&self, part: &Part, address: &Address) -> bool {
        self.part == part.name
            && self.position.is_none_or(|n| n == address.position)
            && self.member.is_none_or(|m| is_member(m, part, address.member))
            && match self.spare {
                Some(spare) => spare == address.spare,
                // One place means its piece, not the spares that carry its number.
                None => self.position.is_none() || address.spare == 0,
            }
    }
}

fn is_member(word: &str, part: &Part, name: Option<MemberName>) -> bool {
    part.companion == Some(word)
        || name.is_some_and(|name| name.word == word || name.to_string() == word)
}

/// A drawing for every pattern of the parts or pieces asked for, or of all parts; equal pieces are drawn once unless
/// `each`, and a place that is named for itself alone.
///
/// # Errors
/// `E110` for a name that is no part and no piece, `E111` where there is nothing to draw, and whatever keeps a piece
/// from being made.
pub fn drawings(
    job: &Job,
    worked: &[Worked<'_>],
    asked: &[String],
    each: bool,
) -> Result<Vec<Drawn>, Vec<Fault>> {
    let mut faults = Vec::new();
    let mut wishes = Vec::new();
    for text in asked {
        match wish(job, worked, text) {
            Ok(wish) => wishes.push(wish),
            Err(fault) => faults.push(fault),
        }
    }
    let mut made = Vec::new();
    for it in worked {
        let whole = asked.is_empty()
            || wishes
                .iter()
                .any(|w| w.part == it.part.name && w.position.is_none() && w.member.is_none());
        let alone = |address: &Address| wishes.iter().any(|w| w.takes(it.part, address));
        if !whole && !wishes.iter().any(|w| w.part == it.part.name) {
            continue;
        }
        let all = match pieces(it.part, &it.sizes, is_woven(job, it.part), 0) {
            Ok(all) => all,
            Err(more) => {
                faults.extend(more);
                continue;
            }
        };
        if each {
            for piece in all.iter().filter(|p| whole || alone(&p.address)) {
                made.extend(single(job, it, piece));
            }
            continue;
        }
        // A member of all places is gathered too: only a place that was named stands for itself.
        let member = |address: &Address| {
            wishes.iter().any(|w| w.position.is_none() && w.takes(it.part, address))
        };
        for size in &it.sizes {
            made.extend(gathered(job, it.part, size, &all, |a| whole || member(a)));
        }
        let named =
            |a: &Address| wishes.iter().any(|w| w.position.is_some() && w.takes(it.part, a));
        for piece in all.iter().filter(|p| named(&p.address)) {
            made.extend(single(job, it, piece));
        }
    }
    if faults.is_empty() && made.is_empty() {
        faults.push(
            Fault::error("E111", "there is nothing to draw: the job has no parts")
                .cure("write a [[part]], or make a job with: pouchwork new NAME"),
        );
    }
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

/// What a word asks for, which is there.
fn wish<'a>(job: &Job, worked: &[Worked<'_>], text: &'a str) -> Result<Asked<'a>, Fault> {
    let told = quoted(text);
    let no = |why: String, cure: String| Err(Fault::error("E110", why).cure(cure));
    let Some(asked) = Asked::of(text) else {
        return no(
            format!("\"{told}\" is no part and no piece"),
            "write it like pouch, pouch:31, facing:7/inner or pouch:3+1".to_owned(),
        );
    };
    let own: Vec<&Worked<'_>> = worked.iter().filter(|w| w.part.name == asked.part).collect();
    let Some(first) = own.first() else {
        let mut names: Vec<&str> = job.parts.iter().map(|p| p.name.as_str()).collect();
        names.dedup(); // companions stand behind their part and have its name
        let cure = match meant(asked.part, &names) {
            Some(near) => format!("did you mean {near}?"),
            None => format!("parts of this job: {}", names.join(", ")),
        };
        return no(format!("no part is called \"{}\"", quoted(asked.part)), cure);
    };
    let there = own.iter().any(|w| {
        let all = pieces(w.part, &w.sizes, is_woven(job, w.part), 0).unwrap_or_default();
        all.iter().any(|p| asked.takes(w.part, &p.address))
    });
    if there || (asked.position.is_none() && asked.member.is_none() && asked.spare.is_none()) {
        return Ok(asked);
    }
    let mut cure =
        format!("{} has the places {}", asked.part, places(&first.part.positions.numbers()));
    let sizes = own.iter().filter_map(|w| w.sizes.first());
    let names: Vec<String> =
        sizes.flat_map(Size::patterns).map(|(name, _)| name).filter(|n| !n.is_empty()).collect();
    if !names.is_empty() {
        cure = format!("{cure}; its pieces: {}", names.join("; "));
    }
    no(format!("there is no piece {told}"), cure)
}

fn is_woven(job: &Job, part: &Part) -> bool {
    job.materials.get(&part.material).is_some_and(Material::is_woven)
}

/// A size's patterns, each once.
fn gathered(
    job: &Job,
    part: &Part,
    size: &Size,
    all: &[Piece],
    wanted: impl Fn(&Address) -> bool,
) -> Vec<Drawn> {
    let lowest = size.positions.first().copied().unwrap_or(1);
    let mut made = Vec::new();
    for (names, member) in size.patterns() {
        let found = all.iter().find(|p| {
            p.address.position == lowest && p.address.member == member.name && p.address.spare == 0
        });
        let Some(piece) = found.filter(|p| wanted(&p.address)) else { continue };
        let word = member.name.map(|n| n.word);
        let alike =
            |m: &&crate::part::Member| m.name.map(|n| n.word) == word && m.cut_alike(member);
        let twins = size.developed.members.iter().filter(alike).count();
        let count = size.positions.len() * twins;
        let spares = part.spares.of(size.positions.len()) as usize * twins;
        let places = places(&size.positions);
        let tail = if names.is_empty() { String::new() } else { format!("/{names}") };
        let name = format!("{}:{places}{tail}", part.name);
        let initial: String = tail.chars().take(2).collect();
        let more = if size.positions.len() > 1 { " …" } else { "" };
        let few = format!("{lowest}{more}{initial}");
        let tags =
            vec![name.clone(), format!("{places}{tail}"), format!("{}:{few}", part.name), few];
        let said = (name, count, spares, tags);
        let label = BagLabel {
            part: format!("{}{tail}", part.name),
            size: String::new(),
            positions: format!("places {places}"),
            count: counted(count, spares),
            material: part.material.clone(),
        };
        made.extend(drawn(job, part, piece, said, label));
    }
    made
}

/// One piece for itself.
fn single(job: &Job, it: &Worked<'_>, piece: &Piece) -> Option<Drawn> {
    let name = piece.address.to_string();
    let tail = name.split_once(':').map_or(name.clone(), |(_, tail)| tail.to_owned());
    let tags = vec![name.clone(), tail];
    let label = BagLabel {
        part: name.clone(),
        size: String::new(),
        positions: format!("place {}", piece.address.position),
        count: "1 piece".to_owned(),
        material: it.part.material.clone(),
    };
    drawn(job, it.part, piece, (name, 1, 0, tags), label)
}

fn counted(count: usize, spares: usize) -> String {
    let spares = match spares {
        0 => String::new(),
        1 => " and 1 spare".to_owned(),
        n => format!(" and {n} spares"),
    };
    let pieces = if count == 1 { "piece" } else { "pieces" };
    format!("{count} {pieces}{spares}")
}

/// A piece's pattern with all that is said of it.
fn drawn(
    job: &Job,
    part: &Part,
    piece: &Piece,
    (name, count, spares, tags): (String, usize, usize, Vec<String>),
    label: BagLabel,
) -> Option<Drawn> {
    let design = piece.turns.design(0)?;
    let (grain, way) = grain(&piece.turns);
    let size = size_of(&design.shape);
    let spare = match spares {
        0 => String::new(),
        1 => " and 1 spare".to_owned(),
        n => format!(" and {n} spares"),
    };
    let mut notes = vec![format!("{count} of these{spare}, {}", part.material), size.clone()];
    notes.push(part.face.map_or("either face up".to_owned(), |face| format!("{face} side up")));
    notes.push(way);
    let (along, across) = part.growth();
    if along.abs().max(across.abs()) > 5e-5 {
        notes.push(format!(
            "growth taken off: {:.1} % along, {:.1} % across",
            along * 100.0,
            across * 100.0
        ));
    }
    let holes = holes(job, design);
    notes.extend(hole_notes(job, design));
    let mut tags = tags;
    tags.dedup();
    let pattern = Pattern {
        tags,
        shape: design.shape.clone(),
        creases: design.creases.clone(),
        holes,
        grain,
        mirrored: false,
    };
    let warning = job.materials.get(&part.material).and_then(not_for_laser);
    let drawing = Drawing { name, notes, warning, patterns: vec![pattern], sheet: None };
    Some((drawing, BagLabel { size, ..label }))
}

/// The size of a shape in words.
fn size_of(shape: &Shape) -> String {
    if let Some((_, radius)) = shape.outline().as_circle() {
        return format!("round, {} ({})", show(2.0 * radius), show_inches(2.0 * radius));
    }
    let b = shape.bounds();
    format!(
        "{} by {} ({} by {})",
        show(b.width()),
        show(b.height()),
        show_inches(b.width()),
        show_inches(b.height())
    )
}

/// The direction of the grain in the first way that a piece may lie, and what is said of it.
fn grain(turns: &Turns) -> (Option<f64>, String) {
    let Turns::Fixed(list) = turns else { return (None, "at any turn to the grain".to_owned()) };
    let Some(first) = list.first() else { return (None, String::new()) };
    let crosswise = list.iter().any(|s| ((s.turn - first.turn).abs() - 90.0).abs() < 1e-9);
    let even = list.iter().all(|s| s.design.shape == first.design.shape);
    let way = match (crosswise, even) {
        (true, true) => "arrow along or across the grain",
        _ => "arrow along the grain",
    };
    let within = if first.within > 0.0 {
        format!(", within {} degrees", first.within)
    } else {
        String::new()
    };
    (Some(-first.turn), format!("{way}{within}"))
}

/// The tool of a hole, and by how much it is larger; none where no punch and no drill comes near.
fn tool(job: &Job, diameter: f64) -> Option<(String, f64)> {
    tools(job, diameter).map(|(best, _)| best)
}

/// A tool by name and by how much it is larger; behind a drill the nearest punch.
type Tools = ((String, f64), Option<(String, f64)>);

/// The same; leather is punched rather than drilled, so that a drill has the nearest punch behind it.
fn tools(job: &Job, diameter: f64) -> Option<Tools> {
    let address = Address { part: String::new(), position: 1, member: None, spare: 0 };
    let hole = Punched { address, diameter, written: String::new() };
    let list = PunchList::of(&[hole], &job.punches);
    let row = list.rows.first()?;
    let punch = (format!("{} punch", row.punch.name), row.punch.error);
    let drill = row.drill.as_ref().map(|d| (d.name.clone(), d.error));
    let (best, beside) = match drill {
        Some(drill) if drill.1.abs() + 0.005 < punch.1.abs() => (drill, Some(punch)),
        _ => (punch, None),
    };
    (best.1.abs() <= NEAR).then_some((best, beside))
}

/// The round holes of a design and those that are always punched: centre, diameter, whether the shape has it.
fn rounds(design: &Design) -> impl Iterator<Item = (crate::part::Punch, bool)> {
    let cut = design.rounds.iter().map(|(_, punch)| (*punch, false));
    cut.chain(design.punches.iter().map(|punch| (*punch, true)))
}

fn holes(job: &Job, design: &Design) -> Vec<HoleMark> {
    rounds(design)
        .map(|(punch, only_marked)| HoleMark {
            at: punch.at,
            diameter: punch.diameter,
            tool: tool(job, punch.diameter)
                .map_or_else(|| format!("cut {}", show(punch.diameter)), |(name, _)| name),
            only_marked,
        })
        .collect()
}

/// A line for each size of hole.
fn hole_notes(job: &Job, design: &Design) -> Vec<String> {
    let mut sizes: BTreeMap<u64, (f64, usize)> = BTreeMap::new();
    for (punch, _) in rounds(design) {
        let count = &mut sizes.entry(punch.diameter.to_bits()).or_insert((punch.diameter, 0)).1;
        *count += 1;
    }
    let line = |(diameter, count): (f64, usize)| {
        let holes = if count == 1 { "1 hole".to_owned() } else { format!("{count} holes") };
        let fit = |(name, error): (String, f64)| {
            let way = if error > 0.0 { "larger" } else { "smaller" };
            match error.abs() {
                off if off < 0.005 => format!("{name}, fits"),
                off => format!("{name}, {off:.2} mm {way}"),
            }
        };
        let tool = match tools(job, diameter) {
            None => "cut along the line".to_owned(),
            Some((best, None)) => fit(best),
            Some((best, Some(punch))) => format!("{}; nearest {}", fit(best), fit(punch)),
        };
        format!("{holes} {}: {tool}", show(diameter))
    };
    sizes.into_values().map(line).collect()
}

/// `W91` where holes of the drawings have no punch and no drill.
pub fn without_tool(drawings: &[Drawing]) -> Option<Fault> {
    let cut =
        |d: &&Drawing| d.patterns.iter().flat_map(|p| &p.holes).any(|h| h.tool.starts_with("cut "));
    let names: Vec<&str> = drawings.iter().filter(cut).map(|d| d.name.as_str()).collect();
    let more = names.len().saturating_sub(4);
    let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
    (!names.is_empty()).then(|| {
        Fault::warning(
            "W91",
            format!(
                "no punch and no drill comes within {NEAR} mm of holes in {}{tail}",
                names[..names.len() - more].join(", ")
            ),
        )
        .cure("cut them along their line, or list your punches under [job]: punches = [\"1/2 in\", \"20 mm\"]")
    })
}

/// Every piece of the job as it is cut by hand: no kerf, no char to be pared off.
pub fn bare_pieces(job: &Job, worked: &[Worked<'_>]) -> BTreeMap<Address, Piece> {
    let of =
        |it: &Worked<'_>| pieces(it.part, &it.sizes, is_woven(job, it.part), 0).unwrap_or_default();
    worked.iter().flat_map(of).map(|piece| (piece.address.clone(), piece)).collect()
}

/// A piece as it lies on a sheet; none where it has no such stance.
pub fn laid_pattern(
    job: &Job,
    piece: &Piece,
    stance: usize,
    pose: &Pose,
    tag: &str,
) -> Option<Pattern> {
    let design = piece.turns.design(stance)?;
    let mut tags = vec![piece.address.to_string(), tag.to_owned()];
    tags.dedup();
    let pattern = Pattern {
        tags,
        shape: design.shape.clone(),
        creases: design.creases.clone(),
        holes: holes(job, design),
        grain: None,
        mirrored: false,
    };
    Some(pattern.posed(pose))
}

/// What a rule of 100 mm measured on a print (mm).
///
/// # Errors
/// `E113` for what is no length, `E112` for what no rule of 100 mm measures.
pub fn rule_measured(option: &str, text: &str) -> Result<f64, Fault> {
    let length = Length::parse(text, None).map_err(|why| {
        let cure = format!("write what you measured, as in {option} \"99.4 mm\"");
        Fault::error("E113", format!("{option}: {}", why.text())).cure(cure)
    })?;
    if RULES.contains(&length.mm()) {
        return Ok(length.mm());
    }
    let cure = "measure the rule of 100 mm on a page printed without correction; where it is so far off, the print was \
                fitted to the page: print it again at 100 %";
    let (told, mm) = (quoted(text), length.mm());
    Err(Fault::error(
        "E112",
        format!("{option}: a rule of 100 mm can't measure {told} ({mm:.2} mm); 95 to 105 mm can"),
    )
    .cure(cure))
}

/// `W92` where a printer stretches one axis much more than the other.
///
/// # Units
/// Millimetres that both rules measured.
pub fn uneven(x: f64, y: f64) -> Option<Fault> {
    ((x - y).abs() > 1.0).then(|| {
        Fault::warning(
            "W92",
            format!("the rules differ by {:.2} mm: few printers are so uneven", (x - y).abs()),
        )
        .cure("measure both again, on a flat print without correction")
    })
}
