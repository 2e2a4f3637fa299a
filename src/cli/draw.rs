//! `draw`: a picture of every part, with its dimensions and its sum.

use super::args::{Common, Style};
use super::open::open;
use super::table::no_part;
use super::{Answer, Outcome, desk, outcome_of, overview};
use crate::fault::Fault;
use crate::job::{Job, Worked, cut_edge, places, style_of, work_out};
use crate::part::{Assembled, Design, Member, assembled, pieces};
use crate::safety;
use crate::write::{CutEdge, DimensionStyle, PartDrawing, Picture, part_picture, to_png};
use rayon::prelude::*;
use serde_json::json;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Dots to the inch of the PNG pictures.
const DPI: f64 = 150.0;

pub(super) fn run(common: &Common, names: &[String], style: Option<Style>) -> Answer {
    let opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let job = &opened.job;
    let unknown: Vec<Fault> = names
        .iter()
        .filter(|n| !job.parts.iter().any(|p| p.name == **n || p.title() == **n))
        .map(|n| no_part(n, job))
        .collect();
    if !unknown.is_empty() {
        return Answer::refused(unknown, opened.sources);
    }
    let (worked, faults) = work_out(job);
    let folder = opened.folder.join("out").join("draw");
    let parts = wanted(job, &worked, names, style);
    let taken: Vec<&str> = parts.iter().map(|part| part.name.as_str()).collect();
    let of_all = overview::pictures(job, &worked, &|it| is_wanted(it, names), &taken);
    let mut written: Vec<Result<PathBuf, Fault>> = parts
        .par_iter()
        .map(|part| keep(&part_picture(&part.drawing()), &folder.join(&part.name)))
        .collect();
    let more: Vec<Result<PathBuf, Fault>> =
        of_all.par_iter().map(|(name, picture)| keep(picture, &folder.join(name))).collect();
    written.extend(more);
    let mut answer = Answer::new();
    let mut files = Vec::new();
    let mut all = opened.warnings;
    all.extend(faults);
    for result in written {
        match result {
            Ok(path) => files.push(path.display().to_string()),
            // What keeps one picture from being written keeps the others too: told once.
            Err(fault) if all.iter().any(|f| f.code == fault.code) => {}
            Err(fault) => all.push(fault),
        }
    }
    answer.line(format!("{} pictures in {}", files.len(), folder.display()));
    answer.outcome = outcome_of(&all);
    answer.faults = all;
    answer.sources = opened.sources;
    if answer.outcome == Outcome::Done
        && let Some(first) = files.first()
    {
        answer
            .hint(format!("look at {} first\nnext: pouchwork lay", first.replace(".svg", ".png")));
    }
    answer.picture = files.first().map(|first| PathBuf::from(first).with_extension("png"));
    answer.result = json!({ "files": files });
    answer
}

/// Writes a picture twice; gives the path of the SVG.
fn keep(picture: &Picture, stem: &Path) -> Result<PathBuf, Fault> {
    let svg = picture.to_svg();
    let path = stem.with_extension("svg");
    desk::write(&path, svg.as_bytes())?;
    let png = to_png(&svg, DPI).map_err(|e| {
        Fault::error("E70", format!("the picture of {} failed: {e}", picture.title))
    })?;
    desk::write(&stem.with_extension("png"), &png)?;
    Ok(path)
}

/// Whether a part was asked for.
fn is_wanted(it: &Worked<'_>, names: &[String]) -> bool {
    names.is_empty() || names.contains(&it.part.name) || names.contains(&it.part.title())
}

/// One picture to be drawn.
struct Wanted<'a> {
    name: String,
    title: String,
    note: String,
    member: &'a Member,
    design: Option<Arc<Design>>,
    cut: Option<CutEdge>,
    works: Vec<Assembled>,
    style: DimensionStyle,
}

impl Wanted<'_> {
    fn drawing(&self) -> PartDrawing<'_> {
        PartDrawing {
            title: &self.title,
            member: self.member,
            design: self.design.as_deref(),
            cut: self.cut.as_ref(),
            works: &self.works,
            style: self.style,
            note: &self.note,
        }
    }
}

/// A picture for every size of the parts that were asked for.
fn wanted<'a>(
    job: &Job,
    worked: &'a [Worked<'_>],
    names: &[String],
    style: Option<Style>,
) -> Vec<Wanted<'a>> {
    let mut wanted = Vec::new();
    for it in worked.iter().filter(|it| is_wanted(it, names)) {
        let woven =
            job.materials.get(&it.part.material).is_some_and(crate::material::Material::is_woven);
        let made = pieces(it.part, &it.sizes, woven, 0).unwrap_or_default();
        for size in &it.sizes {
            for (names, member) in size.patterns() {
                let place = size.positions.first().copied().unwrap_or(1);
                let tail = member.name.map_or(String::new(), |m| format!("-{m}"));
                let mut name = format!("{}-{place}{tail}", desk::file_name(&it.part.name));
                // `p:1/paper-2` and `p-1-paper:2` would both be p-1-paper-2, and some systems know no capitals.
                while wanted.iter().any(|w: &Wanted<'_>| w.name.eq_ignore_ascii_case(&name)) {
                    name.push('_');
                }
                let which = if it.sizes.len() == 1 {
                    String::new()
                } else {
                    format!(" {}", places(&size.positions))
                };
                let member_name =
                    if names.is_empty() { String::new() } else { format!(" / {names}") };
                let alike = size.positions.len();
                let count = if alike == 1 { String::new() } else { format!(" ({alike} alike)") };
                let title = format!("{}{member_name}{which}{count}", it.part.name);
                let laser = job
                    .materials
                    .get(&it.part.material)
                    .and_then(safety::not_for_laser)
                    .map_or("", |_| "; NOT FOR LASER");
                let note = format!("{}{laser}", it.part.material);
                let piece = made
                    .iter()
                    .find(|p| p.address.position == place && p.address.member == member.name);
                // What cannot be cut so is told by `check`; it is drawn all the same.
                let edge = piece.and_then(|p| cut_edge(job, it.part, p).ok().flatten());
                let (design, cut) = match edge {
                    Some((design, cut)) => (Some(design), Some(cut)),
                    None => (piece.and_then(|p| p.turns.design(0).cloned()), None),
                };
                let works = if member.companion.is_none() {
                    assembled(it.part.kind, &size.measures)
                } else {
                    Vec::new()
                };
                let style = match style {
                    Some(Style::Inch) => DimensionStyle::Inch,
                    Some(Style::Metric) => DimensionStyle::Metric,
                    None => style_of(job, member),
                };
                wanted.push(Wanted { name, title, note, member, design, cut, works, style });
            }
        }
    }
    wanted
}
