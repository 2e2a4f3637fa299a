//! `cut`: the cut files of a lay, all of them or none, each proven from its bytes before it gets its name.

use super::args::{Common, CutArgs, Dxf, Format, LayArgs};
use super::bed::lies_told;
use super::cut_told::{pared, tell};
use super::gate;
use super::lay::{Kit, Laid, lay_job};
use super::open::{Open, open};
use super::records::{Held, Spread, held};
use super::show::Show;
use super::store::{Store, TrueDisk};
use super::which::{find, maker, name_of};
use super::{Answer, Outcome, claims, desk, outcome_of, punch, sequence};
use crate::coupon::Sort;
use crate::fault::{Fault, any_error};
use crate::geom::{Loop, Point};
use crate::job::{Job, batches, coupon_job, judge, recut_job, stops, work_out};
use crate::lay::record::{Record, from_json, layouts};
use crate::lay::{Placed, proof};
use crate::machine::{Machine, Process};
use crate::material::CutSetting;
use crate::part::Piece;
use crate::plan::{
    BedWindow, CutPlan, Ground, Layer, Program, PunchList, Punched, RULE_OFF, Work, beam_program,
    knife_program, plan,
};
use crate::safety;
use crate::sheet::{Holder, Sheet};
use crate::units::counted;
use crate::write::manifest::hash;
use crate::write::{DxfVersion, Manifest, can_have_gcode, cut_dxf, cut_gcode, cut_svg};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub(super) fn run(common: &Common, how: &CutArgs, show: &Show) -> Answer {
    let mut opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let found = find(&opened.folder, how.lay.as_deref());
    if let Ok(Some(folder)) = &found {
        opened.job = match job_for(opened.job, folder) {
            Ok(job) => job,
            Err(faults) => return Answer::refused(faults, opened.sources),
        };
    }
    // A stop for safety comes before any work.
    let mut stops = stops(&opened.job);
    if !stops.is_empty() {
        stops.extend(stale(&opened.folder));
        return Answer::refused(stops, opened.sources);
    }
    let mut said = (Vec::new(), None);
    let lay_folder = match found {
        Ok(Some(folder)) => folder,
        Ok(None) => {
            let (first, folder) = lay_job(opened, &LayArgs::default(), show);
            let Some(folder) = folder else { return first };
            said = (first.lines, Some(first.faults));
            opened = match open(common) {
                Ok(opened) => opened,
                Err((faults, sources)) => return Answer::refused(faults, sources),
            };
            folder
        }
        Err(fault) => return Answer::refused(vec![fault], opened.sources),
    };
    // From here on the record stays as it is read.
    let command = format!("cut {}", name_of(&lay_folder));
    let mut store = match claims::store(&opened.folder, &opened.job, &command, how.wait) {
        Ok(store) => store,
        Err(fault) => return Answer::refused(vec![fault], opened.sources),
    };
    let before = opened.job.record.as_ref().map_or(&[][..], |r| &r.bytes);
    if before != store.text.as_bytes() {
        opened = match open(common) {
            Ok(opened) => opened,
            Err((faults, sources)) => return Answer::refused(faults, sources),
        };
    }
    let Open { folder, job, sources, warnings } = opened;
    let job = match job_for(job, &lay_folder) {
        Ok(job) => job,
        Err(faults) => return Answer::refused(faults, sources),
    };
    match files(&job, &lay_folder, how) {
        Ok(made) => {
            let by = Holder { hash: made.hash.clone(), ..claims::named(&folder, &job, &made.lay) };
            let fresh = match written(&mut store, &by, &made) {
                Ok(fresh) => fresh,
                Err(fault) => return Answer::refused(vec![fault], sources),
            };
            let mut answer = tell(&job, &made, said.0);
            claims::tell(&mut answer, fresh, (&by, &job.stock), &made.turned);
            // A lay made just now has told the job's warnings already.
            answer.faults = said.1.unwrap_or_else(|| {
                let (worked, more) = work_out(&job);
                [warnings, more, judge(&job, &worked)].concat()
            });
            answer.faults.extend(made.faults);
            answer.faults.append(&mut store.notes);
            answer.outcome = if made.short { Outcome::Short } else { outcome_of(&answer.faults) };
            answer.sources = sources;
            answer
        }
        Err(faults) => {
            let mut answer = Answer::refused(faults, sources);
            answer.lines = said.0;
            answer
        }
    }
}

/// Claims the ground, then writes the files: where a stop comes between the two, the claim stands. Files that are
/// refused take their claim back.
fn written(store: &mut Store<TrueDisk>, by: &Holder, made: &Made) -> Result<bool, Fault> {
    let mut writes: Vec<(PathBuf, Vec<u8>)> =
        made.files.iter().map(|f| (f.path.clone(), f.text.clone().into_bytes())).collect();
    writes.extend(made.beside.iter().cloned());
    let proven = |n: usize, bytes: &[u8]| {
        made.files.get(n).and_then(|file| unproven(file, bytes)).map_or(Ok(()), Err)
    };
    let fresh = claims::claim_all(store, by, &made.turned)?;
    if let Err(fault) = desk::write_all_if(&writes, proven) {
        if fresh {
            store.take_back()?;
        }
        return Err(fault);
    }
    Ok(fresh)
}

/// Laser files of an earlier cut that are still there when a stop keeps new ones back.
fn stale(folder: &Path) -> Option<Fault> {
    let old = desk::files_ending(
        folder,
        &["-laser.svg", "-laser.dxf", "-laser-r12-mm.dxf", "-laser.gcode"],
    );
    let names: Vec<String> = old.iter().map(|p| p.display().to_string()).collect();
    (!names.is_empty()).then(|| {
        Fault::warning(
            "W32",
            format!("files of an earlier cut are still there: {}", names.join(", ")),
        )
        .cure("do not use them: remove what holds the material that is held back")
    })
}

/// What a file that was written beside its target breaks, if anything.
fn unproven(file: &CutFile, bytes: &[u8]) -> Option<Fault> {
    let name = file.path.file_name().and_then(|n| n.to_str()).unwrap_or_default();
    let verdict = file.held.prove(bytes, name);
    if verdict.is_proven() {
        return None;
    }
    let broken: Vec<String> =
        verdict.broken().map(|i| format!("{} ({}): {}", i.name, i.says, i.margin)).collect();
    Some(Fault::error("E73", format!("{name} is not proven: {}", broken.join("; "))).cure(
        "nothing was written: this is a slip of the program's; please report it with the job",
    ))
}

/// One cut file in the making.
pub(super) struct CutFile {
    pub(super) path: PathBuf,
    pub(super) text: String,
    pub(super) sheet: String,
    /// The bed window, where the sheet is laid by it.
    pub(super) window: Option<BedWindow>,
    pub(super) machine: String,
    pub(super) pieces: usize,
    pub(super) cut: f64,
    /// Whether its 100 mm rule stands beyond the bed.
    pub(super) rule_off: bool,
    /// What it is proven against.
    pub(super) held: Held,
    /// What is said of the numbers of its pieces.
    pub(super) numbers: String,
    /// How long its program takes (s); none for a drawing.
    pub(super) seconds: Option<f64>,
}

/// What a file takes of its sheet.
#[derive(Debug, Clone)]
pub(super) struct Turned {
    /// The sheet.
    pub(super) sheet: Arc<Sheet>,
    /// Its pieces, with their outlines.
    pub(super) pieces: Vec<(String, Loop)>,
}

pub(super) struct Made {
    /// The first figures of the hash of the lay's record.
    pub(super) hash: String,
    /// What is taken of which sheet.
    pub(super) turned: Vec<Turned>,
    pub(super) files: Vec<CutFile>,
    pub(super) faults: Vec<Fault>,
    pub(super) lay: String,
    /// Whether the sheet lies as it likes and was found by two points.
    pub(super) found: bool,
    /// Whether the lay leaves pieces out.
    pub(super) short: bool,
    /// What is no cut file: the punch list and pictures.
    pub(super) beside: Vec<(PathBuf, Vec<u8>)>,
    /// The holes that are punched by hand.
    pub(super) punches: PunchList,
}

/// Every file of a lay, in memory; those for a laser only behind the gate.
fn files(job: &Job, lay_folder: &Path, how: &CutArgs) -> Result<Made, Vec<Fault>> {
    let mut plans = plans(job, lay_folder)?;
    if let Some(name) = &how.machine {
        let key = plans.machine(job, name)?.key.clone();
        plans.ready.retain(|ready| ready.plan.machine == key);
    }
    let held = gate::held(job, lay_folder, &plans);
    if !held.is_empty() {
        return Err(held);
    }
    let Plans { lay, hash, left, punched, ready, laid: _ } = plans;
    let punches = PunchList::of(&punched, &job.punches);
    let beside = punch::files(&punches, job, &lay, lay_folder).map_err(|fault| vec![fault])?;
    let mut made = Made {
        hash: hash.chars().take(Holder::FIGURES).collect(),
        turned: ready.iter().map(|it| it.turned.clone()).collect(),
        files: Vec::new(),
        faults: Vec::new(),
        lay,
        found: plans.laid.lies.is_some(),
        short: left > 0,
        beside,
        punches,
    };
    if made.short {
        made.faults.push(
            Fault::warning(
                "W31",
                format!("{left} of the job's pieces have no place in {}", made.lay),
            )
            .cure("the files hold the others; run lay with another sheet for the rest"),
        );
    }
    let names = (job.title.as_str(), made.lay.as_str());
    let pictures: Vec<_> = ready
        .par_iter()
        .map(|it| {
            let program = it.program.as_ref().ok().filter(|_| writes_gcode(job, &it.plan));
            // The strokes of a program are numbered in its own order.
            let plan = program.map_or(&it.plan, |program| &program.plan);
            sequence::files(names, (plan, program), &it.sheet, lay_folder)
        })
        .collect();
    for picture in pictures {
        made.beside.extend(picture.map_err(|fault| vec![fault])?);
    }
    let mut wrong: Vec<Fault> = Vec::new();
    for it in &ready {
        let Some(machine) = job.machines.get(&it.plan.machine) else { continue };
        let inputs = [("lay.json".to_owned(), hash.clone())];
        let version = env!("CARGO_PKG_VERSION");
        let lay = made.lay.clone();
        let manifest = |plan: &CutPlan| Manifest::new(plan, &job.title, &lay, version, &inputs);
        for format in &how.format {
            match file(lay_folder, machine, it, &manifest, (*format, how.dxf)) {
                Ok(file) => {
                    made.faults.extend(it.told(*format));
                    made.files.push(file);
                }
                // What a record lacks is told once, however many sheets it is for.
                Err(fault) if wrong.contains(&fault) => {}
                Err(fault) => wrong.push(fault),
            }
        }
    }
    if wrong.is_empty() { Ok(made) } else { Err(wrong) }
}

/// What the machines will do for a lay: all that a cut writes, before it is written.
pub(super) struct Plans {
    /// Name of the lay.
    pub lay: String,
    /// Hash of its record.
    pub hash: String,
    /// How many pieces it leaves out.
    pub left: usize,
    /// Its holes that are punched by hand, whatever machine cuts the pieces.
    punched: Vec<Punched>,
    /// A plan a file, in cutting order.
    ready: Vec<Ready>,
    /// The lay, proven.
    pub laid: Laid,
}

/// What a file is made from, and what it is proven against.
struct Ready {
    plan: CutPlan,
    /// Its motions; or what stands against G-code of it.
    program: Result<Program, Fault>,
    held: Held,
    /// The line of its sheet.
    sheet: Loop,
    /// What is said of the numbers of its pieces.
    numbers: String,
    /// What it takes of its sheet.
    turned: Turned,
}

/// Whether the record of a plan's machine has what G-code takes.
pub(super) fn writes_gcode(job: &Job, plan: &CutPlan) -> bool {
    job.machines.get(&plan.machine).is_some_and(can_have_gcode)
}

/// Which pieces of a plan have their number in the file, and which only in the picture.
fn numbered(plan: &CutPlan, machine: &Machine, setting: &CutSetting) -> String {
    if machine.process == Process::Knife {
        return "numbers only in the picture: a knife would cut them".to_owned();
    }
    if setting.mark_power.is_none() {
        return "numbers only in the picture: the material's record has no mark-power".to_owned();
    }
    let marked: BTreeSet<&str> = plan
        .strokes
        .iter()
        .filter(|s| s.layer == Layer::Numbers)
        .map(|s| s.address.as_str())
        .collect();
    let left: Vec<&str> =
        plan.rows.iter().map(|row| row.address.as_str()).filter(|a| !marked.contains(a)).collect();
    if left.is_empty() {
        return match plan.rows.len() {
            1 => "the number of its one piece is marked in the waste".to_owned(),
            all => format!("numbers of all {all} pieces are marked in the waste"),
        };
    }
    let more = left.len().saturating_sub(8);
    let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
    format!(
        "numbers of {} are marked in the waste, with no room for these, which are only in the picture: {}{rest}",
        counted(marked.len(), "piece"),
        left[..left.len() - more].join(", ")
    )
}

impl Ready {
    /// What must be known of its program, where that is what is written.
    fn told(&self, format: Format) -> Vec<Fault> {
        let program = self.program.as_ref().ok().filter(|_| format == Format::Gcode);
        program.map_or_else(Vec::new, |program| program.warnings.clone())
    }
}

impl Plans {
    /// The plans for a machine, by the name of its record.
    pub(super) fn of(&self, machine: &str) -> impl Iterator<Item = &CutPlan> {
        self.ready.iter().map(|ready| &ready.plan).filter(move |plan| plan.machine == machine)
    }

    /// The same with their programs, where there can be any.
    pub(super) fn programs(
        &self,
        machine: &str,
    ) -> impl Iterator<Item = (&CutPlan, Option<&Program>)> {
        let own = self.ready.iter().filter(move |ready| ready.plan.machine == machine);
        own.map(|ready| (&ready.plan, ready.program.as_ref().ok()))
    }

    /// Names of the machines that have something to cut.
    pub(super) fn machines(&self) -> Vec<&str> {
        let mut keys: Vec<&str> =
            self.ready.iter().map(|ready| ready.plan.machine.as_str()).collect();
        keys.sort_unstable();
        keys.dedup();
        keys
    }

    /// A machine that has something to cut here, by its name in the job.
    pub(super) fn machine<'a>(&self, job: &'a Job, name: &str) -> Result<&'a Machine, Vec<Fault>> {
        let keys = self.machines();
        match job.machine(name) {
            Some(machine) if keys.contains(&machine.key.as_str()) => Ok(machine),
            _ => Err(vec![
                Fault::error("E49", format!("{} has nothing to cut on a machine {name}", self.lay))
                    .cure(format!(
                        "it has something for: {}",
                        keys.iter().map(|key| told_names(job, key)).collect::<Vec<_>>().join(", ")
                    )),
            ]),
        }
    }
}

/// A machine by the job's name for it, with the name of its record behind where that is another.
fn told_names(job: &Job, key: &str) -> String {
    let short = job.called(key);
    if short == key { key.to_owned() } else { format!("{short} ({key})") }
}

/// The plans of a lay, from the very files that are here now; the lay is proven again.
pub(super) fn plans(job: &Job, lay_folder: &Path) -> Result<Plans, Vec<Fault>> {
    let lay_name = name_of(lay_folder);
    let record = record(job, lay_folder, &lay_name)?;
    let laid = laid(job, &record, &lay_name)?;
    let (mut drawn, mut punched) = (Vec::new(), Vec::new());
    let mut wrong = Vec::new();
    let hash = hash(crate::lay::record::to_json(&record).as_bytes());
    let lain = laid.on_the_bed(job);
    for (sheet, flat) in lain.sheets().into_iter().zip(laid.sheets()) {
        let Some(kit) = lain.kit(job, &sheet) else { continue };
        let Kit { pieces, material, machine, setting } = kit;
        if let Err(stop) = safety::gate(material, machine) {
            wrong.push(stop);
            continue;
        }
        let warnings = safety::warnings(material, machine, setting.source.is_assumed());
        let char = job.char_trim(&material.key, &machine.key);
        for (window, dots) in windows(&lain, &sheet) {
            let is_in = |placed: &Placed| window.is_none_or(|w| placed.window == Some(w.0));
            let (pieces, others): (Vec<_>, Vec<_>) =
                pieces.iter().copied().partition(|(_, placed)| is_in(placed));
            let spread = Spread {
                sheet: &sheet,
                pieces: &pieces,
                others: &others,
                window: window.map(|w| w.1),
                machine,
                material,
                setting,
                lay: &lay_name,
                lay_hash: &hash,
            };
            let held = held(&spread);
            let mut cautions = safety::cautions(machine);
            cautions.extend(laid.lies.as_ref().map(lies_told));
            let soft = pieces.iter().filter(|(piece, _)| piece.soft).count();
            cautions.extend((char > 0.0 && soft > 0).then(|| pared(soft, char)));
            let work = Work {
                sheet: &sheet,
                pieces,
                others: not_waste(&others, &sheet),
                window: window.map(|w| w.1),
                dots,
                machine,
                material,
                setting,
                warnings: warnings.clone(),
                cautions,
            };
            match plan(&work) {
                Ok(plan) => {
                    let numbers = numbered(&plan, machine, setting);
                    let names: Vec<_> =
                        work.pieces.iter().map(|(p, _)| p.address.clone()).collect();
                    punched.extend(punch::punched(job, &plan, &names));
                    let ground = Ground::of(&work, &plan);
                    let turned = match &laid.lies {
                        None => turned(&sheet, &work.pieces),
                        Some(_) => turned(&flat, &laid.on(&flat).1),
                    };
                    drawn.push((plan, ground, (setting, machine), (held, turned, numbers)));
                }
                Err(more) => wrong.extend(more),
            }
        }
    }
    if wrong.is_empty() {
        // Each file's motions for itself: all of them together take the longest of all that is done here.
        let made =
            drawn.into_par_iter().map(|(plan, ground, how, (held, turned, numbers))| Ready {
                program: program(&plan, &ground, how),
                plan,
                held,
                sheet: turned.sheet.outline.clone(),
                numbers,
                turned,
            });
        let ready = made.collect();
        Ok(Plans { lay: lay_name, hash, left: record.left.len(), punched, ready, laid })
    } else {
        Err(wrong)
    }
}

/// What is cut at once of a sheet: a bed window with its index, or none for the whole; and the register dots there.
pub(super) type Turn = (Option<(usize, BedWindow)>, Vec<Point>);

/// The bed windows of a sheet in cutting order, or the whole of it.
pub(super) fn windows(laid: &Laid, sheet: &Sheet) -> Vec<Turn> {
    let Some((layout, ground)) = laid.layout_of(sheet) else { return Vec::new() };
    let dots = |window: Option<usize>| {
        let there = layout.dots.iter().filter(|dot| dot.ground == ground);
        there
            .filter(|dot| window.is_none_or(|w| dot.windows.contains(&w)))
            .map(|dot| dot.at)
            .collect()
    };
    let windows = layout.windows_of(ground);
    if windows.is_empty() {
        return vec![(None, dots(None))];
    }
    let of = u32::try_from(windows.len()).unwrap_or(u32::MAX);
    let turn = |w: usize| {
        let (number, origin) = (layout.window_number(w), layout.windows[w].corner);
        (Some((w, BedWindow { number, of, origin })), dots(Some(w)))
    };
    windows.into_iter().map(turn).collect()
}

/// What of a sheet is no waste besides the pieces of a file: those of other bed windows, and what others hold.
fn not_waste(others: &[(&Piece, &Placed)], sheet: &Sheet) -> Vec<Loop> {
    let pieces = others.iter().filter_map(|(piece, at)| outline(piece, at));
    pieces.chain(sheet.used.iter().map(|used| used.outline.clone())).collect()
}

/// What a file takes of its sheet.
fn turned(sheet: &Arc<Sheet>, pieces: &[(&Piece, &Placed)]) -> Turned {
    let own = pieces.iter().filter_map(|(p, at)| Some((p.address.to_string(), outline(p, at)?)));
    Turned { sheet: Arc::clone(sheet), pieces: own.collect() }
}

/// The outline of a piece where it lies.
fn outline(piece: &Piece, placed: &Placed) -> Option<Loop> {
    Some(placed.pose.on_loop(piece.turns.design(placed.stance)?.shape.outline()))
}

/// What the files of a sheet, or of a bed window of it, begin their names with.
pub(super) fn stem(sheet: &str, window: Option<u32>, process: &str) -> String {
    let window = window.map_or(String::new(), |w| format!("-w{w}"));
    format!("{}{window}-{process}", desk::file_name(sheet))
}

/// A plan in one format.
fn file(
    lay_folder: &Path,
    machine: &Machine,
    ready: &Ready,
    manifest: &dyn Fn(&CutPlan) -> Manifest,
    (format, dxf): (Format, Dxf),
) -> Result<CutFile, Fault> {
    let plan = &ready.plan;
    let colours = &machine.colours;
    let stem = stem(&plan.sheet, plan.window.map(|w| w.number), plan.process);
    let mut seconds = None;
    let (name, text) = match (format, dxf) {
        (Format::Svg, _) => (format!("{stem}.svg"), cut_svg(plan, &manifest(plan), colours)),
        (Format::Dxf, Dxf::R2000) => {
            (format!("{stem}.dxf"), cut_dxf(plan, &manifest(plan), DxfVersion::R2000, colours))
        }
        (Format::Dxf, Dxf::R12) => {
            (format!("{stem}-r12-mm.dxf"), cut_dxf(plan, &manifest(plan), DxfVersion::R12, colours))
        }
        (Format::Gcode, _) => {
            let program = ready.program.as_ref().map_err(Clone::clone)?;
            seconds = Some(program.time.total);
            let manifest = manifest(&program.plan).with_program(program);
            let text = cut_gcode(program, machine, &manifest)
                .map_err(|why| Fault::error("E57", why.text).at(&machine.place).cure(why.cure))?;
            (format!("{stem}.gcode"), text)
        }
    };
    Ok(CutFile {
        path: lay_folder.join(name),
        text,
        sheet: plan.window.map_or(plan.sheet.clone(), |w| {
            format!("{}, window {} of {}", plan.sheet, w.number, w.of)
        }),
        window: plan.window,
        machine: plan.machine.clone(),
        pieces: plan.rows.len(),
        cut: plan.cut_length(),
        rule_off: plan.cautions.iter().any(|caution| caution == RULE_OFF),
        held: ready.held.clone(),
        numbers: ready.numbers.clone(),
        seconds,
    })
}

/// The program of a plan for its machine.
fn program(
    plan: &CutPlan,
    ground: &Ground,
    (setting, machine): (&CutSetting, &Machine),
) -> Result<Program, Fault> {
    match machine.process {
        Process::Laser => beam_program(plan, ground, setting, machine),
        Process::Knife => knife_program(plan, ground, setting, machine),
    }
}

/// The job that a folder in `out/` holds a lay of: the whole job, or what a coupon makes of it.
pub(super) fn job_for(job: Job, lay_folder: &Path) -> Result<Job, Vec<Fault>> {
    let name = name_of(lay_folder);
    let job = claims::without_own(job, lay_folder);
    let is_recut = name.starts_with("recut-");
    if !name.starts_with("coupon-") && !is_recut {
        return Ok(job);
    }
    let record = record(&job, lay_folder, &name)?;
    if is_recut {
        let [piece] = &record.pieces[..] else { return Err(unusable(&name, "it is no recut")) };
        return Ok(recut_job(&job, &piece.address, Some(&piece.sheet)));
    }
    let [group] = &record.groups[..] else { return Err(unusable(&name, "it is no coupon")) };
    let [sheet] = &record.sheets[..] else { return Err(unusable(&name, "it is no coupon")) };
    let Some(sort) = record.pieces.first().and_then(|piece| Sort::of(&piece.address)) else {
        return Err(unusable(&name, "it is no coupon"));
    };
    let what = (sort, group.material.as_str(), group.machine.as_str());
    coupon_job(&job, what, &sheet.id).map_err(|fault| vec![fault])
}

fn unusable(name: &str, why: &str) -> Vec<Fault> {
    vec![
        Fault::error("E52", format!("{name} cannot be used: {why}"))
            .cure(format!("it has been edited or cut short: make it again with {}", maker(name))),
    ]
}

/// The record of a lay, made from the very files that are here now.
pub(super) fn record(job: &Job, lay_folder: &Path, lay_name: &str) -> Result<Record, Vec<Fault>> {
    let unreadable = |why: String| unusable(lay_name, &why);
    let bytes = match desk::read(&lay_folder.join("lay.json")) {
        Ok(Some(bytes)) => bytes,
        Ok(None) => return Err(unreadable("lay.json is gone".to_owned())),
        Err(fault) => return Err(vec![fault]),
    };
    let text =
        String::from_utf8(bytes).map_err(|_| unreadable("lay.json is not text".to_owned()))?;
    let record = from_json(&text).map_err(unreadable)?;
    let mut changed: Vec<String> = Vec::new();
    for input in &job.inputs {
        match record.inputs.iter().find(|i| i.path == input.path) {
            Some(old) if old.sha256 == hash(&input.bytes) => {}
            Some(_) => changed.push(format!("{} has changed", input.path)),
            None => changed.push(format!("{} is new", input.path)),
        }
    }
    for old in &record.inputs {
        if !job.inputs.iter().any(|i| i.path == old.path) {
            changed.push(format!("{} is no longer used", old.path));
        }
    }
    if changed.is_empty() {
        Ok(record)
    } else {
        Err(vec![
            Fault::error(
                "E51",
                format!("{lay_name} was laid from other files: {}", changed.join(", ")),
            )
            .cure(format!("run {} again", maker(lay_name))),
        ])
    }
}

/// The lay of a record against the job at hand, proven again.
pub(super) fn laid(job: &Job, record: &Record, lay_name: &str) -> Result<Laid, Vec<Fault>> {
    let (worked, faults) = work_out(job);
    if any_error(&faults) {
        return Err(faults);
    }
    let moved = claims::moved_on(job, record, lay_name);
    if !moved.is_empty() {
        return Err(moved);
    }
    let mut list = batches(job, &worked)?;
    for (i, batch) in list.iter_mut().enumerate() {
        batch.group.grounds.retain(|g| {
            record.sheets.iter().find(|s| s.id == g.sheet.id).is_some_and(|s| s.group == i)
        });
    }
    let groups: Vec<_> = list.iter().map(|b| b.group.clone()).collect();
    let wrong = |words: Vec<String>| -> Vec<Fault> {
        words
            .into_iter()
            .take(10)
            .map(|w| {
                Fault::error("E52", format!("{lay_name} does not hold: {w}"))
                    .cure(format!("it has been edited: make it again with {}", maker(lay_name)))
            })
            .collect()
    };
    let names: Vec<_> = list.iter().map(|b| (b.material.clone(), b.machine.clone())).collect();
    let layouts = layouts(record, &groups, &names).map_err(wrong)?;
    for (group, layout) in groups.iter().zip(&layouts) {
        if let Err(breaches) = proof::prove(group, layout) {
            let taken = claims::taken_by_others(job, lay_name, &breaches);
            let words = || wrong(breaches.iter().map(ToString::to_string).collect());
            return Err(if taken.is_empty() { words() } else { taken });
        }
    }
    Ok(Laid { batches: list, layouts, beside: Vec::new(), lies: record.lies.clone() })
}
