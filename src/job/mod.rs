//! The job: its file, its tables and the profiles it names, read into parts, sheets, materials and machines.
//!
//! Takes a [`Shelf`], which hands out the bytes of files; gives a [`Job`], or every fault there is, each with its
//! place and what to do about it. Lengths are taken exactly as they were written, mixed units and all.
//!
//! Promises: all faults in one run; no panic on any input; files larger than 2 MiB, cells larger than 4 KiB, rows
//! larger than 64 KiB, tables more than 64 deep and jobs of more than 10 000 pieces are refused before work begins.
//! Never touches the disk, never writes a file, never puts a slip right by itself.
//!
//! A profile is looked for beside the job, then among the user's own, then among the built-in ones.

mod batch;
mod beds;
mod builtin;
mod buy;
mod check;
mod codes;
mod coupon;
mod cutting;
mod desk;
mod document;
mod edge;
mod explained;
mod figures;
mod findings;
mod forms;
mod held;
mod judge;
mod kerfs;
mod lengths;
mod machines;
mod materials;
mod outlines;
mod parts;
mod patterns;
mod plates;
mod reader;
mod readings;
mod recut;
mod room;
mod rows;
mod safety;
mod sample;
mod sheets;
mod slips;
mod starter;
mod stock;
mod stuff;
mod table;
mod template;
#[cfg(test)]
mod tests;
mod travel;
mod wishes;
mod words;

pub use batch::{Batch, Worked, batches, loosened, work_out};
pub use builtin::{PROFILES, profile};
pub use codes::{CODES, code_of};
pub use coupon::{CouponTask, coupon_job, coupon_sheets};
pub use edge::{cut_edge, style_of};
pub use explained::{Explained, explained};
pub use findings::{FindingRows, finding_table, noted, read_findings};
pub use forms::{Entry, Sort as EntrySort, forms};
pub use judge::{assumed, assumed_of, judge, short, stops};
pub use kerfs::{KerfEdit, Measured, edited};
pub use patterns::{
    Drawn, bare_pieces, drawings, laid_pattern, rule_measured, uneven, without_tool,
};
pub use readings::{read_readings, readings_table};
pub use recut::{RecutTask, recut_job};
pub use safety::{read_answers, read_safety_record};
pub use sample::sample;
pub use starter::{Bench, BenchExtraction, BenchUnit, Cutter, starter, starter_for};
pub use stock::{USUAL as USUAL_STOCK, fingerprint};
pub use template::{cell, template_for, template_table};
pub use wishes::wishes;
pub use words::places;

use crate::fault::{Fault, Place, Sources, any_error};
use crate::geom::Loop;
use crate::machine::Machine;
use crate::material::Material;
use crate::part::{Part, Spares, Travel};
use crate::sheet::Sheet;
use crate::units::{Length, Unit};
use desk::Desk;
use lengths::How;
use reader::Reader;
use std::collections::BTreeMap;

/// The name of a job's own file.
pub const JOB_FILE: &str = "job.toml";

/// Whose files are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Which {
    /// The job folder's.
    Job,
    /// The user's own profiles, kept for every job.
    Own,
}

/// What became of a wish for a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Found {
    /// Its bytes.
    Bytes(Vec<u8>),
    /// There is none.
    Missing,
    /// There is one and it cannot be read, with the reason in the system's words.
    Unreadable(String),
}

/// Why a file of outlines was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutlineFault {
    /// Code, `E29` or `E30` as a rule.
    pub code: &'static str,
    /// What was found.
    pub text: String,
    /// What to do about it.
    pub cure: Option<String>,
}

/// Loops of a file (mm) and remarks on how they were read.
pub type Outlines = (Vec<Loop>, Vec<String>);

/// Hands out files. Names are paths from the folder on, with `/`; they never lead out of it.
pub trait Shelf {
    /// A file's bytes.
    ///
    /// A file beyond 64 MiB may be reported as unreadable instead of being read.
    fn read(&self, which: Which, name: &str) -> Found;

    /// The paths of all files there are, in any order: only for telling what may have been meant.
    fn list(&self, which: Which) -> Vec<String>;

    /// Reads the loops of an outline file; `unit` is its unit in millimetres where the user says so.
    ///
    /// # Errors
    /// Whatever is wrong with the file.
    fn outlines(
        &self,
        name: &str,
        bytes: &[u8],
        unit: Option<f64>,
    ) -> Result<Outlines, OutlineFault>;
}

/// A file that the job was read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// Its path in the job folder; own and built-in profiles say so before it.
    pub path: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A job as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// What it is called.
    pub title: String,
    /// Its parts, in the order of the file; behind them the papers of valves.
    pub parts: Vec<Part>,
    /// Sets of valves whose travel is to be set right, in the order of the file.
    pub travels: Vec<Travel>,
    /// Its sheets: hides, then cloth, then leaves, each in the order of the file; then those of the stock record alone.
    pub sheets: Vec<Sheet>,
    /// Materials of parts and sheets, by name.
    pub materials: BTreeMap<String, Material>,
    /// Machines, by the name of their profile; parts and sheets use that name too.
    pub machines: BTreeMap<String, Machine>,
    /// The job's short names for machines, each with the name of its profile.
    pub short_names: BTreeMap<String, String>,
    /// Every file that was read, by path.
    pub inputs: Vec<Input>,
    /// The stock record, where there is one. It is no input: what a lay was made from is told sheet by sheet.
    pub record: Option<Input>,
    /// Where the stock record is, or will be, from the job folder on.
    pub stock: String,
    /// The sheets of the job for which the stock record counts.
    pub ruled: Vec<String>,
    /// The unit of numbers written without one.
    pub unit: Option<Unit>,
    /// How many places a numbered set has.
    pub notes: Option<u32>,
    /// The coupon that it is cut down to; none for a job as it was read.
    pub coupon: Option<CouponTask>,
    /// The piece that it is cut down to, to be cut again; none for a job as it was read.
    pub recut: Option<RecutTask>,
    /// The punches in hand; empty where the job does not say.
    pub punches: Vec<Length>,
    /// The head of the job file.
    pub place: Place,
}

impl Job {
    /// The short names that the job has for a machine, by the name of its profile.
    pub fn short_names_of<'a>(&'a self, key: &'a str) -> impl Iterator<Item = &'a str> {
        self.short_names.iter().filter(move |(_, of)| *of == key).map(|(short, _)| short.as_str())
    }

    /// What the job calls a machine: its first short name, else the name of its profile.
    pub fn called<'a>(&'a self, key: &'a str) -> &'a str {
        self.short_names_of(key).next().unwrap_or(key)
    }

    /// A machine by its short name in the job, or by the name of its profile.
    pub fn machine(&self, name: &str) -> Option<&Machine> {
        let name = self.short_names.get(name).map_or(name, String::as_str);
        self.machines.get(name)
    }
}

/// What stands at the head of a job and holds for all of it.
#[derive(Debug, Clone)]
struct Head {
    title: String,
    unit: Option<Unit>,
    notes: Option<u32>,
    spares: Spares,
    punches: Vec<Length>,
    /// The stock record that it names, and where.
    stock: Option<(String, Place)>,
    short_names: machines::ShortNames,
}

/// Reads a job with all that it names.
///
/// The job is there when no fault stops the work; warnings may come with it. The texts that were read are kept in
/// `sources`, so that a fault can be shown with its line.
pub fn read_job(shelf: &dyn Shelf, sources: &mut Sources) -> (Option<Job>, Vec<Fault>) {
    read(shelf, sources, &[])
}

/// Reads a job for which stuff is still to be bought: what its sheets lack is no fault.
pub fn read_job_to_buy(shelf: &dyn Shelf, sources: &mut Sources) -> (Option<Job>, Vec<Fault>) {
    read(shelf, sources, &["E31", "E32"])
}

/// Reads a job; faults of some codes are passed over.
fn read(shelf: &dyn Shelf, sources: &mut Sources, passed: &[&str]) -> (Option<Job>, Vec<Fault>) {
    let mut desk = Desk::new(shelf, sources);
    let job = gather(&desk, true).map(|gathered| {
        check::job(&desk, &gathered);
        let mut job = gathered.job;
        job.inputs = desk.take_inputs();
        job
    });
    let mut faults = desk.finish();
    faults.retain(|fault| !passed.contains(&fault.code));
    if any_error(&faults) { (None, faults) } else { (job, faults) }
}

/// A job as far as it could be read.
#[derive(Debug)]
struct Gathered {
    job: Job,
    /// The unit of each part's numbers.
    units: Vec<Option<Unit>>,
    /// Each set of valves: its name, its places, the unit of its numbers.
    sets: Vec<(String, Vec<u32>, Option<Unit>)>,
    /// Whether a sheet could not be read.
    lost_sheet: bool,
}

/// Reads what there is, faulty or not.
fn gather(desk: &Desk<'_>, with_tables: bool) -> Option<Gathered> {
    let document = desk.job_file()?;
    let mut gathered = None;
    reader::walk(&document, &desk.heap, "a job", |mut top| {
        let head = head(&mut top);
        let names = machines::Names::new(&head.short_names);
        let mut sheets = sheets::take(desk, &mut top, &names, false);
        stock::add(desk, head.stock.as_ref(), &names, &mut sheets);
        let drafts = parts::take(desk, &mut top, &head, &names, with_tables);
        let valves = travel::take(desk, &mut top, &head, &names, with_tables);
        if !top.has("travel") {
            let cure = "write [[part]] with name and kind below it";
            top.needs_table("[[part]]", "what is to be cut", cure);
        }
        let machines = machines::load(desk, &names);
        let mut named = sheets.materials.clone();
        named.extend(travel::materials(&valves, &sheets.made));
        let materials = materials::load(desk, &drafts, &named);
        let units = drafts
            .iter()
            .flat_map(|draft| std::iter::repeat_n(draft.unit, 1 + draft.companions.len()))
            .collect();
        let mut parts = parts::complete(desk, drafts, &materials);
        let sets = valves.iter().map(|it| (it.name.clone(), it.positions.numbers(), it.unit));
        let sets = sets.collect();
        travel::fill(&valves, &materials, &mut sheets.made);
        let (travels, papers) = if with_tables {
            travel::complete(desk, valves, &materials, &sheets.made, &parts)
        } else {
            (Vec::new(), Vec::new())
        };
        parts.extend(papers);
        let (lost_sheet, made) = (sheets.lost, sheets.made);
        let kind = |sheet| stock::kind_of_remnant(sheet, &materials);
        let made = made.into_iter().map(Sheet::at_origin).map(kind).collect();
        let place = top.place.clone();
        top.finish("table");
        let job = Job {
            title: head.title.clone(),
            parts,
            travels,
            sheets: made,
            materials,
            machines,
            short_names: head
                .short_names
                .iter()
                .map(|(short, (profile, _))| (short.clone(), profile.clone()))
                .collect(),
            inputs: Vec::new(),
            record: sheets.record,
            stock: head.stock.map_or_else(|| stock::USUAL.to_owned(), |(path, _)| path),
            ruled: sheets.ruled,
            unit: head.unit,
            notes: head.notes,
            coupon: None,
            recut: None,
            punches: head.punches.clone(),
            place,
        };
        gathered = Some(Gathered { job, units, sets, lost_sheet });
    });
    gathered
}

fn head(top: &mut Reader<'_>) -> Head {
    let mut head = Head {
        title: String::new(),
        unit: None,
        notes: None,
        spares: Spares::NONE,
        punches: Vec::new(),
        stock: None,
        short_names: BTreeMap::new(),
    };
    if let Some(mut job) = top.take_table("job", "[job]") {
        head.title = job.take_text("title").map_or_else(String::new, |(text, _)| text);
        head.notes = job.take_count("notes", 1, 10_000).map(|(notes, _)| notes);
        head.spares = stuff::spares(&mut job).unwrap_or(Spares::NONE);
        head.stock = job.take_text("stock").filter(|(path, place)| {
            // A record for several jobs stands beside them.
            words::check_path(&job, path.trim_start_matches("../"), place)
        });
        if let Some(item) = job.take("punches") {
            head.punches = job.lengths_of("punches", &item, How::Size).unwrap_or_default();
        }
        head.unit = job.unit;
        top.unit = job.unit;
        job.finish("key");
    } else {
        top.needs_table("[job]", "its head", "write [job] with title = \"…\" below it");
    }
    if let Some(machines) = top.take_table("machines", "[machines]") {
        head.short_names = machines::short_names(machines);
    }
    head
}
