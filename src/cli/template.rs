//! `template`: patterns at true size on paper, for cutting and punching by hand.

use super::args::{Common, PaperSize, TemplateArgs};
use super::lay_picture::{label, short_names};
use super::open::{Open, open};
use super::{Answer, cut, desk, outcome_of, which};
use crate::fault::{Fault, any_error, nearest};
use crate::geom::Vec2;
use crate::job::{
    Job, Worked, bare_pieces, drawings, laid_pattern, rule_measured, uneven, without_tool, work_out,
};
use crate::safety::not_for_laser;
use crate::sheet::Sheet;
use crate::units::counted;
use crate::write::{
    BagLabel, Drawing, Found, Paper, Printing, SheetLines, Template, template, to_pdf,
};
use serde_json::{Value, json};
use std::path::Path;
use std::sync::Arc;

/// More pages than this are pointed out.
const MANY: usize = 60;

pub(super) fn run(common: &Common, how: &TemplateArgs) -> Answer {
    let Open { folder, job, sources, warnings } = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let (worked, mut faults) = work_out(&job);
    if any_error(&faults) {
        return Answer::refused(faults, sources);
    }
    let made = printing(&job, how).and_then(|printing| {
        let drawn = match &how.lay {
            Some(lay) => laid(&folder, &job, &worked, lay, how.sheet.as_deref())?,
            None => drawings(&job, &worked, &how.parts, how.each)?.into_iter().unzip(),
        };
        Ok((printing, drawn))
    });
    let (printing, (drawings, labels)): (Printing, (Vec<Drawing>, Vec<BagLabel>)) = match made {
        Ok(made) => made,
        Err(faults) => return Answer::refused(faults, sources),
    };
    let labels = if how.labels { labels } else { Vec::new() };
    let made = template(&drawings, &labels, &printing);
    let path = how.out.clone().unwrap_or_else(|| folder.join("out/template").join(name(how)));
    if let Err(fault) = writable(&path) {
        return Answer::refused(vec![fault], sources);
    }
    let pdf = to_pdf(&made.pages, &printing.title, printing.scale());
    if let Err(fault) = desk::write(&path, &pdf) {
        return Answer::refused(vec![fault], sources);
    }
    // What is said of other parts of the job is for `check`.
    faults.clear();
    faults.extend(warnings);
    faults.extend(pointed_out(&drawings, &made, &printing));
    let mut answer = tell(&drawings, &labels, &made, &printing, &path);
    answer.outcome = outcome_of(&faults);
    answer.faults = faults;
    answer.sources = sources;
    answer
}

/// Paper, and what the rules measured.
fn printing(job: &Job, how: &TemplateArgs) -> Result<Printing, Vec<Fault>> {
    let rule = |option: &str, text: &Option<String>| {
        text.as_deref().map_or(Ok(100.0), |text| rule_measured(option, text))
    };
    let paper = match how.paper {
        PaperSize::A4 => Paper::A4,
        PaperSize::Letter => Paper::LETTER,
    };
    let title = job.title.clone();
    match (rule("--rule-x", &how.rule_x), rule("--rule-y", &how.rule_y)) {
        (Ok(x), Ok(y)) => Ok(Printing { title, paper, measured: Vec2::new(x, y) }),
        (x, y) => Err([x.err(), y.err()].into_iter().flatten().collect()),
    }
}

/// The sheets of a lay as drawings, or one of them.
fn laid(
    folder: &Path,
    job: &Job,
    worked: &[Worked<'_>],
    lay: &str,
    sheet: Option<&str>,
) -> Result<(Vec<Drawing>, Vec<BagLabel>), Vec<Fault>> {
    let one = |fault: Fault| vec![fault];
    let lay_folder = which::find(folder, Some(lay)).map_err(one)?;
    let Some(lay_folder) = lay_folder else { return Ok((Vec::new(), Vec::new())) };
    let name = lay_folder.file_name().and_then(|n| n.to_str()).unwrap_or(lay).to_owned();
    if !name.starts_with(desk::LAY) {
        return Err(one(Fault::error("E111", format!("{name} is for a machine to cut"))
            .cure("take a lay of the job, such as lay-1")));
    }
    let record = cut::record(job, &lay_folder, &name)?;
    let laid = cut::laid(job, &record, &name)?;
    let used: Vec<Arc<Sheet>> =
        laid.sheets().into_iter().filter(|s| !laid.on(s).1.is_empty()).collect();
    let ids: Vec<&str> = used.iter().map(|s| s.id.as_str()).collect();
    if let Some(id) = sheet.filter(|id| !ids.contains(id)) {
        let cure = match nearest(id, ids.iter().copied()) {
            Some(near) => format!("did you mean {near}?"),
            None => format!("sheets of {name}: {}", ids.join(", ")),
        };
        let fault = Fault::error("E114", format!("nothing lies on a sheet {id} in {name}"));
        return Err(one(fault.cure(cure)));
    }
    let bare = bare_pieces(job, worked);
    let wanted = used.iter().filter(|s| sheet.is_none_or(|id| id == s.id));
    let drawings = wanted.map(|sheet| {
        let (_, pieces) = laid.on(sheet);
        let names = short_names(&pieces);
        let patterns = pieces.iter().filter_map(|(piece, placed)| {
            let tag = label(piece, placed, &names);
            laid_pattern(job, bare.get(&piece.address)?, placed.stance, &placed.pose, &tag)
        });
        let up = sheet.up.map(|face| format!("{face} side up; a reversed F: face down"));
        let mut notes = vec![
            format!(
                "{} of {}, {}",
                sheet.kind.name(),
                sheet.material,
                counted(pieces.len(), "piece")
            ),
            "as laid, no kerf; dotted: flaws".to_owned(),
        ];
        notes.extend(up);
        notes.extend(super::lay_picture::legend(&names, &pieces));
        Drawing {
            name: format!("{name} {}", sheet.id),
            notes,
            warning: job.materials.get(&sheet.material).and_then(not_for_laser),
            patterns: patterns.collect(),
            sheet: Some(SheetLines {
                outline: sheet.outline.clone(),
                flaws: sheet.flaws.iter().map(|f| f.outline.clone()).collect(),
                grain: sheet.grain,
            }),
        }
    });
    let drawings: Vec<Drawing> = drawings.collect();
    if drawings.is_empty() {
        return Err(one(Fault::error(
            "E111",
            format!("there is nothing to draw: no piece lies in {name}"),
        )
        .cure("run pouchwork lay again, with a sheet that the pieces fit on")));
    }
    Ok((drawings, Vec::new()))
}

/// The name of the file where none was given.
fn name(how: &TemplateArgs) -> String {
    let lay = how.lay.as_ref().map(|lay| {
        let sheet = how.sheet.as_ref().map_or(String::new(), |id| format!("-{id}"));
        let lay = lay.strip_prefix("out/").unwrap_or(lay).trim_end_matches('/');
        format!("lay-{}{sheet}", lay.strip_prefix("lay-").unwrap_or(lay))
    });
    let parts = (!how.parts.is_empty()).then(|| how.parts.join("-"));
    let stem = lay.or(parts).unwrap_or_else(|| "all".to_owned());
    format!("{}.pdf", desk::file_name(&stem))
}

/// Whether a file may be written: there is none, or it is a PDF.
fn writable(path: &Path) -> Result<(), Fault> {
    match desk::read(path)? {
        Some(bytes) if !bytes.starts_with(b"%PDF-") => {
            Err(Fault::error("E72", format!("{} is there already and is no PDF", path.display()))
                .cure("give another name with --out"))
        }
        _ => Ok(()),
    }
}

/// What must be known of a template.
fn pointed_out(drawings: &[Drawing], made: &Template, printing: &Printing) -> Vec<Fault> {
    let mut faults = Vec::new();
    let pages = made.pages.len();
    if pages > MANY {
        faults.push(
            Fault::warning("W90", format!("the template has {pages} pages"))
                .cure("name the parts that you want, or take --sheet ID of a lay"),
        );
    }
    faults.extend(without_tool(drawings));
    faults.extend(uneven(printing.measured.x, printing.measured.y));
    let unnamed: Vec<&str> = made.unnamed.iter().map(String::as_str).collect();
    if !unnamed.is_empty() {
        faults.push(
            Fault::warning(
                "W93",
                format!("no room was found for the name of {}", unnamed.join(", ")),
            )
            .cure("write it on the paper before it is cut: the picture of the lay has it"),
        );
    }
    faults
}

fn tell(
    drawings: &[Drawing],
    labels: &[BagLabel],
    made: &Template,
    printing: &Printing,
    path: &Path,
) -> Answer {
    let mut answer = Answer::new();
    let tiled = made.found.iter().filter(|f| f.tile.is_some()).count();
    answer.line(format!(
        "wrote {}   {} of {}: {}, {}, {}",
        path.display(),
        counted(made.pages.len(), "page"),
        printing.paper.name,
        counted(drawings.len(), "drawing"),
        counted(tiled, "tile"),
        counted(labels.len(), "label")
    ));
    let scale = printing.scale();
    if scale != Vec2::new(1.0, 1.0) {
        answer.line(format!("corrected: drawn {:.4} across, {:.4} up", scale.x, scale.y));
    }
    let rows: Vec<Value> = drawings
        .iter()
        .enumerate()
        .map(|(n, drawing)| {
            let own = made.found.iter().filter(|f| f.drawing == n).map(place);
            json!({ "name": drawing.name, "notes": drawing.notes, "warning": drawing.warning, "pages": own.collect::<Vec<_>>() })
        })
        .collect();
    answer.result = json!({
        "file": path.display().to_string(),
        "paper": printing.paper.name,
        "pages": made.pages.len(),
        "scale": [scale.x, scale.y],
        "drawings": rows,
        "labels": labels.len(),
    });
    answer.picture = Some(path.to_owned());
    answer.hint(format!(
        "next: print {} at 100 %, and measure both rules on page 1 before anything is cut",
        path.display()
    ));
    answer
}

/// Where a drawing is, in millimetres from the lower left corner of the page.
fn place(found: &Found) -> Value {
    let a = found.area;
    json!({
        "page": found.page,
        "tile": found.tile,
        "turned": found.turned,
        "box": [a.x0, a.y0, a.x1, a.y1],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_called_after_what_is_in_it() {
        let of = |parts: &[&str], lay: Option<&str>, sheet: Option<&str>| {
            name(&TemplateArgs {
                parts: parts.iter().map(|p| (*p).to_owned()).collect(),
                lay: lay.map(str::to_owned),
                sheet: sheet.map(str::to_owned),
                ..TemplateArgs::default()
            })
        };
        assert_eq!(of(&[], None, None), "all.pdf");
        assert_eq!(of(&["pouch:31", "../x"], None, None), "pouch-31----x.pdf");
        assert_eq!(of(&[], Some("out/lay-2/"), Some("H-1")), "lay-2-H-1.pdf");
    }
}
