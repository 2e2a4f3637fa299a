//! `page`: the job sheet of a lay, one HTML file for the bench.

use super::args::Common;
use super::cut::{Plans, job_for, plans, writes_gcode};
use super::lay_picture::{lying, marks};
use super::open::{Open, open};
use super::which::find;
use super::why::{cut_lines, growth_lines, sum_rows};
use super::{Answer, Outcome, desk, gate, outcome_of};
use crate::fault::Fault;
use crate::geom::{Point, Pose, Vec2};
use crate::job::{Job, Worked, assumed, judge, places, stops, style_of, work_out};
use crate::lay::Placed;
use crate::machine::Machine;
use crate::part::{Member, Piece, Size};
use crate::plan::{CutPlan, Layer};
use crate::safety::checklist::{Item, Kind, WORTH};
use crate::safety::record::Record;
use crate::safety::{cautions, not_for_laser};
use crate::sheet::{Sheet, SheetKind};
use crate::units::counted;
use crate::write::DimensionStyle;
use crate::write::page::{
    JobSheet, PageCut, PageOrder, PagePiece, PageSheet, PageSize, SafetyItem, SafetyList, job_sheet,
};
use serde_json::json;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// The file's name, beside the record of its lay.
const NAME: &str = "job-sheet.html";

pub(super) fn run(common: &Common, lay: Option<&str>) -> Answer {
    let Open { folder, job, sources, warnings } = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let lay_folder = match find(&folder, lay) {
        Ok(Some(lay_folder)) => lay_folder,
        Ok(None) => {
            let fault = Fault::error("E81", "there is no lay yet, so there is nothing to show")
                .cure("make one with: pouchwork lay");
            return Answer::refused(vec![fault], sources);
        }
        Err(fault) => return Answer::refused(vec![fault], sources),
    };
    let made = job_for(job, &lay_folder).and_then(|job| {
        let stops = stops(&job);
        if stops.is_empty() { made(&job, &lay_folder, warnings) } else { Err(stops) }
    });
    match made {
        Ok(mut answer) => {
            answer.sources = sources;
            answer
        }
        Err(faults) => Answer::refused(faults, sources),
    }
}

/// Makes the page, writes it and says what it holds.
fn made(job: &Job, lay_folder: &Path, warnings: Vec<Fault>) -> Result<Answer, Vec<Fault>> {
    let plans = plans(job, lay_folder)?;
    let (worked, more) = work_out(job);
    let mut faults = [warnings, more, judge(job, &worked)].concat();
    if plans.left > 0 {
        let text = format!("{} of the job's pieces have no place in {}", plans.left, plans.lay);
        faults.push(
            Fault::warning("W31", text)
                .cure("the page shows the others; run lay with another sheet for the rest"),
        );
    }
    let mut sums = Sums { job, worked: &worked, list: Vec::new(), known: BTreeMap::new() };
    let sheets = plans.laid.sheets();
    let shown: Vec<PageSheet<'_>> =
        sheets.iter().map(|sheet| page_sheet(&mut sums, &plans, sheet)).collect();
    let keys = plans.machines();
    let machines: Vec<&Machine> = keys.iter().filter_map(|key| job.machines.get(*key)).collect();
    let lists: Vec<SafetyList> =
        machines.iter().map(|machine| safety_list(job, lay_folder, &plans, machine)).collect();
    let open: Vec<String> = lists.iter().filter_map(|list| list.command.clone()).collect();
    let page = JobSheet {
        title: job.title.clone(),
        lay: plans.lay.clone(),
        hash: plans.hash.clone(),
        safety: lists,
        assumed: assumed(job),
        warnings: faults.iter().map(told).collect(),
        sheets: shown,
        sizes: sums.list,
    };
    let text = job_sheet(&page);
    let path = lay_folder.join(NAME);
    desk::write(&path, text.as_bytes()).map_err(|fault| vec![fault])?;
    Ok(tell(&page, &path, text.len(), &open, faults))
}

fn tell(
    page: &JobSheet<'_>,
    path: &Path,
    bytes: usize,
    open: &[String],
    faults: Vec<Fault>,
) -> Answer {
    let mut answer = Answer::new();
    let pieces: usize = page.sheets.iter().map(|sheet| sheet.pieces.len()).sum();
    answer.line(format!(
        "wrote {}   {} on {}, {} kB, one file that needs no network",
        path.display(),
        counted(pieces, "piece"),
        counted(page.sheets.len(), "sheet"),
        bytes.div_ceil(1000)
    ));
    for command in open {
        answer.line(format!("not answered yet: {command}"));
    }
    answer.outcome = if faults.iter().any(|fault| fault.code == "W31") {
        Outcome::Short
    } else {
        outcome_of(&faults)
    };
    answer.result = json!({
        "lay": page.lay,
        "file": path.display().to_string(),
        "pieces": pieces,
        "sheets": page.sheets.len(),
        "bytes": bytes,
        "unanswered": open,
    });
    answer.faults = faults;
    answer.picture = Some(path.to_owned());
    answer.hint(
        "next: open it in any browser, or take it to the bench; its pictures are not for measuring",
    );
    answer
}

/// A fault in one line.
fn told(fault: &Fault) -> String {
    let place = fault.marks.first().map_or(String::new(), |mark| format!(" ({})", mark.place));
    let cure = fault.full_cure().map_or(String::new(), |cure| format!(": {cure}"));
    format!("{} {}{place}{cure}", fault.code, fault.text)
}

/// The list of a machine, with its answers where they hold.
fn safety_list(job: &Job, lay_folder: &Path, plans: &Plans, machine: &Machine) -> SafetyList {
    let task = gate::task(job, plans, machine);
    let answered = gate::answered(job, lay_folder, plans, machine);
    let (state, command) = match &answered {
        Ok(record) => {
            let day = record.bound.day;
            (format!("By {} on {day}, and it holds for that day alone.", record.person), None)
        }
        Err(why) => {
            let command =
                format!("pouchwork safety {} --machine {}", plans.lay, job.called(&machine.key));
            (format!("{}.", sentence(why)), Some(command))
        }
    };
    let record = answered.as_ref().ok();
    let head = task.head_lines();
    let line = |line: &str| ((line.len() - line.trim_start().len()) / 2, line.trim().to_owned());
    SafetyList {
        machine: format!("{} ({}, {})", machine.key, machine.title, machine.process),
        state,
        command,
        head: head.lines().filter(|text| !text.trim().is_empty()).map(line).collect(),
        items: task.items().into_iter().map(|item| safety_item(item, record)).collect(),
        worth: WORTH.to_owned(),
    }
}

fn sentence(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().map_or(String::new(), |first| first.to_uppercase().chain(signs).collect())
}

fn safety_item(item: &Item, record: Option<&Record>) -> SafetyItem {
    let question = match item.kind {
        Kind::Asked(ask) => Some(ask.question().to_owned()),
        Kind::Stop | Kind::Information => None,
    };
    SafetyItem {
        id: item.id.to_owned(),
        when: format!("{}, {}", item.phase.name(), item.kind.name()),
        text: item.text.to_owned(),
        source: item.source.to_owned(),
        answer: question.as_ref().and(record).and_then(|it| it.answers.get(item.id)).cloned(),
        question,
    }
}

/// A sheet with its pieces and the order of its cuts.
fn page_sheet<'a>(sums: &mut Sums<'_>, plans: &Plans, sheet: &'a Arc<Sheet>) -> PageSheet<'a> {
    let (batch, mut pieces) = plans.laid.on(sheet);
    pieces.sort_by(|(one, _), (two, _)| one.address.cmp(&two.address));
    let key = batch.map_or("", |batch| batch.machine.as_str());
    let files: Vec<(&CutPlan, bool)> = plans
        .programs(key)
        .filter(|(plan, _)| plan.sheet == sheet.id)
        .map(|(plan, program)| {
            let program = program.filter(|_| writes_gcode(sums.job, plan));
            program.map_or((plan, false), |it| (&it.plan, true))
        })
        .collect();
    let orders: Vec<PageOrder> = files.iter().map(|(plan, made)| order(plan, *made)).collect();
    let (laid, legend) = lying(&pieces);
    let shown = pieces.iter().zip(laid).map(|((piece, placed), laid)| {
        let address = piece.address.to_string();
        let row =
            files.iter().find_map(|(plan, _)| plan.rows.iter().find(|r| r.address == address));
        let window = files
            .iter()
            .find(|(plan, _)| plan.rows.iter().any(|r| r.address == address))
            .and_then(|(plan, _)| plan.window)
            .map_or(String::new(), |w| format!("{} of {}", w.number, w.of));
        PagePiece {
            size: row.map_or(String::new(), |r| sums.in_words(piece, r.size)),
            lies: sums.lies(piece, placed),
            window,
            order: turns(&orders, &address),
            sum: sums.of(piece),
            address,
            laid,
        }
    });
    let pieces = shown.collect();
    let machine = sums.job.machine(key);
    let material = sums.job.materials.get(&sheet.material);
    let mut about =
        vec![format!("{}: {}", sheet.material, material.map_or("", |m| m.title.as_str()))];
    let thread = if sheet.kind == SheetKind::Cloth { "warp" } else { "grain" };
    let up = sheet.up.map_or(String::new(), |face| format!("; {face} side up"));
    about.push(format!("{thread} at {:.1}° from the picture's lower edge{up}", sheet.grain));
    about.extend(legend.map(|legend| format!("in the picture: {legend}")));
    if plans.laid.lies.is_none() {
        let windows = files.iter().filter_map(|(plan, _)| plan.window);
        about.extend(windows.map(|w| format!("window {} of {}: {}", w.number, w.of, w.told())));
    }
    about.extend(material.and_then(not_for_laser));
    // What every list of the machine says already is not said again.
    let known = machine.map(cautions).unwrap_or_default();
    for caution in files.iter().flat_map(|(plan, _)| &plan.cautions) {
        if !known.contains(caution) && !about.contains(caution) {
            about.push(caution.clone());
        }
    }
    PageSheet {
        sheet,
        machine: machine.map_or(key.to_owned(), |m| format!("{key} ({})", m.process)),
        about,
        marks: marks(sums.job, &plans.laid, sheet),
        pieces,
        orders,
    }
}

/// A place in words: of the middle of the piece's box, which every kind has, wherever its own zero is.
fn lies(middle: Point, placed: &Placed, inches: bool) -> String {
    let pose = &placed.pose;
    let back = if pose.mirrored { ", face down (reversed F)" } else { "" };
    let turn = pose.turn.rem_euclid(360.0);
    let turn = if (0.05..=359.95).contains(&turn) {
        format!(", turned {turn:.1}°")
    } else {
        String::new()
    };
    let (x, y) = (middle.x, middle.y);
    let inches =
        if inches { format!(" ({:.2}, {:.2} in)", x / 25.4, y / 25.4) } else { String::new() };
    format!("middle at x {x:.1}, y {y:.1} mm{inches}{turn}{back}")
}

/// The cuts of a file in their order, on the sheet.
fn order(plan: &CutPlan, made: bool) -> PageOrder {
    let of = if made { "G-code" } else { "drawing" };
    let window =
        plan.window.map_or(String::new(), |w| format!(", window {} of {}", w.number, w.of));
    let by = plan.window.map_or(Vec2::ZERO, |w| w.origin.to_vec2());
    let pose = Pose::moved(by);
    let cuts = plan.strokes.iter().filter(|s| matches!(s.layer, Layer::Holes | Layer::Edges));
    PageOrder {
        name: format!("order of the {of}{window}"),
        cuts: cuts
            .map(|stroke| PageCut {
                address: stroke.address.clone(),
                layer: stroke.layer,
                segs: stroke.segs().iter().map(|seg| pose.on_seg(seg)).collect(),
            })
            .collect(),
    }
}

/// The numbers of a piece's cuts, `3, 7-9`.
fn turns(orders: &[PageOrder], address: &str) -> String {
    let numbers = |order: &PageOrder| {
        let cuts = (1_u32..).zip(&order.cuts);
        cuts.filter(|(_, cut)| cut.address == address).map(|(n, _)| n).collect::<Vec<u32>>()
    };
    let own: Vec<u32> = orders.iter().map(numbers).find(|own| !own.is_empty()).unwrap_or_default();
    if own.is_empty() { String::new() } else { places(&own) }
}

/// The sums of the sizes that lie on the sheets, each once.
struct Sums<'a> {
    job: &'a Job,
    worked: &'a [Worked<'a>],
    list: Vec<PageSize>,
    /// Part, size and member of each.
    known: BTreeMap<(usize, usize, usize), usize>,
}

impl Sums<'_> {
    /// The member that a piece is of.
    fn member(&self, piece: &Piece) -> Option<&Member> {
        self.key(piece).map(|(n, s, m)| &self.worked[n].sizes[s].developed.members[m])
    }

    /// Whether a piece is written in inches, so that its figures are told in both units.
    fn inches(&self, piece: &Piece) -> bool {
        self.member(piece).is_some_and(|m| style_of(self.job, m) == DimensionStyle::Inch)
    }

    /// A piece's finished size: across where it is round.
    fn in_words(&self, piece: &Piece, (width, height): (f64, f64)) -> String {
        let round = self.member(piece).and_then(|m| m.shape.outline().as_circle()).is_some();
        let both = |mm: &str, inches: String| {
            if self.inches(piece) { format!("{mm} ({inches})") } else { mm.to_owned() }
        };
        if round {
            both(&format!("diameter {width:.2} mm"), format!("{:.3} in", width / 25.4))
        } else {
            both(
                &format!("{width:.2} x {height:.2} mm"),
                format!("{:.3} x {:.3} in", width / 25.4, height / 25.4),
            )
        }
    }

    fn lies(&self, piece: &Piece, placed: &Placed) -> String {
        let design = piece.turns.design(placed.stance);
        let middle = design.map_or(Point::new(placed.pose.x, placed.pose.y), |design| {
            design.shape.posed(&placed.pose).bounds().center()
        });
        lies(middle, placed, self.inches(piece))
    }

    /// Part, size and member of a piece.
    fn key(&self, piece: &Piece) -> Option<(usize, usize, usize)> {
        let address = &piece.address;
        self.worked.iter().enumerate().find_map(|(n, it)| {
            let sizes = it.sizes.iter().enumerate().filter(|_| it.part.name == address.part);
            let mut there = sizes.filter(|(_, size)| size.positions.contains(&address.position));
            there.find_map(|(s, size)| {
                let mut members = size.developed.members.iter();
                members.position(|member| member.name == address.member).map(|m| (n, s, m))
            })
        })
    }

    fn of(&mut self, piece: &Piece) -> Option<usize> {
        let key = self.key(piece)?;
        if let Some(known) = self.known.get(&key) {
            return Some(*known);
        }
        let it = &self.worked[key.0];
        let size = &it.sizes[key.1];
        let member = &size.developed.members[key.2];
        self.list.push(self.size(it, size, member, piece));
        self.known.insert(key, self.list.len() - 1);
        Some(self.list.len() - 1)
    }

    fn size(&self, it: &Worked<'_>, size: &Size, member: &Member, piece: &Piece) -> PageSize {
        let part = it.part;
        let setting = self.job.setting(&part.material, &part.cut_with);
        let char = self.job.char_trim(&part.material, &part.cut_with);
        let char = if member.soft { char } else { 0.0 };
        let design = piece.turns.design(0).map(AsRef::as_ref);
        let name = member.name.map_or(String::new(), |name| format!("/{name}"));
        PageSize {
            title: format!("{} {}{name}", part.name, places(&size.positions)),
            rows: sum_rows(&member.sum),
            notes: [growth_lines(part, member), cut_lines((part, member), setting, design, char)]
                .concat(),
        }
    }
}
