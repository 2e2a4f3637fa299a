//! What can be typed.

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// From a measured table to cut files for leather and cloth parts.
#[derive(Debug, Parser)]
#[command(
    name = "pouchwork",
    version,
    about = "Works out, lays and cuts the leather and cloth parts of wind-played instruments",
    after_help = "First cut, from an empty folder:\n  \
        pouchwork new mybench        a job folder that works at once\n  \
        cd mybench\n  \
        pouchwork check              every slip in the job, with its place\n  \
        pouchwork draw               a picture of every part, with its sum\n  \
        pouchwork lay                all parts on the sheets in hand\n  \
        pouchwork cut                SVG and DXF for each machine\n\n\
        Before good leather is cut, test pieces that tell how wide the cut is:\n  \
        pouchwork coupon kerf --material pouch-leather --machine knife\n\n\
        Before a laser gets files:\n  \
        pouchwork safety lay-1 --machine laser    its safety list, with answers for this lay\n\n\
        In plain words, before anything is bought or cut:\n  \
        pouchwork explain materials  what may be cut by what; also: limits, safety\n\n\
        Lengths are text with a unit: \"1 1/4 in\", \"12 thou\", \"31.75 mm\", \"#60 drill\".\n\n\
        Exit codes: 0 done, 1 faults in the job, 2 not understood, 3 done but some pieces found no place,\n\
        4 held back for safety, 5 a cut file is not proven, 6 a file could not be read or written,\n\
        7 a laser has no safety record that holds, 8 the stock record is in use, 130 stopped by Ctrl-C.",
    arg_required_else_help = true,
    disable_help_subcommand = true
)]
pub struct Typed {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// What holds for every command.
    #[command(flatten)]
    pub common: Common,
}

/// What holds for every command.
#[derive(Debug, Clone, Args)]
pub struct Common {
    /// The job folder, or its job.toml; silent: here or in a folder above.
    #[arg(short = 'C', long = "job", global = true, value_name = "PATH")]
    pub job: Option<PathBuf>,
    /// One JSON document on standard output instead of words.
    #[arg(long, global = true)]
    pub json: bool,
    /// Colour: auto looks whether a terminal reads it.
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto)]
    pub color: Colour,
    /// Say less.
    #[arg(short, long, global = true)]
    pub quiet: bool,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    /// On a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make a job folder that works at once.
    New(NewArgs),
    /// Look the whole job over: every slip with its place and cure.
    Check,
    /// Show one length in every unit, with the nearest 64th.
    Measure {
        /// Lengths as they are written: "1 1/4 in", "#60 drill".
        #[arg(required = true)]
        lengths: Vec<String>,
    },
    /// An empty table for a part, to be filled at the bench (CSV on standard output).
    Table {
        /// Name of the part.
        part: String,
    },
    /// A built-in machine or material profile as text, to copy and fill in; silent: which there are.
    Profile {
        /// Name of the profile, such as pouch-leather.
        name: Option<String>,
    },
    /// Which kinds of part there are; with a name, a part of it as text with every key it may have.
    Kind {
        /// Name of the kind, such as bellows.
        name: Option<String>,
    },
    /// Why a piece is the size it is: the worked sum with the place of every figure.
    Why {
        /// A part, or one place of it: pouch, pouch:31, facing:7/inner, pump:1/card-2.
        piece: String,
    },
    /// Pictures of the parts with their dimensions and sums (SVG and PNG in out/draw).
    Draw {
        /// Names of parts; silent: all.
        parts: Vec<String>,
        /// Which unit comes first and how dimensions are drawn; silent: by the job's unit.
        #[arg(long)]
        style: Option<Style>,
        /// Open the first picture.
        #[arg(long)]
        open: bool,
    },
    /// Lay all pieces on the sheets in hand (out/lay-1, with pictures).
    Lay(Shown<LayArgs>),
    /// Go through the safety list of a machine for a lay; a laser's files come only after it.
    Safety(SafetyArgs),
    /// Write the cut files of a lay (SVG and DXF, or G-code, beside its pictures).
    Cut(Shown<CutArgs>),
    /// Test pieces for the width of the cut, stretch, gap and smallest hole, and what their readings come to.
    #[command(subcommand)]
    Coupon(Coupon),
    /// Read a cut file back and hold it against its lay, its sheet, its machine and its material.
    Prove {
        /// The file, in the folder of its lay: out/lay-1/H1-laser.svg.
        file: PathBuf,
    },
    /// For each valve the papers that bring its gap to what is wanted (table and picture in out/travel).
    Travel {
        /// Name of a set of valves; silent: all.
        name: Option<String>,
        /// Open the picture.
        #[arg(long)]
        open: bool,
    },
    /// The sheets in hand: what is left of them, what is claimed; put in, taken out, bookings taken back.
    #[command(subcommand)]
    Stock(Stock),
    /// Book how a lay came out: what was cut, what was spoilt.
    Tally(TallyArgs),
    /// How much leather and cloth to buy: low, likely and high (out/order.csv).
    Order(OrderArgs),
    /// How far each part has come, what is only assumed, and what to do next.
    Status,
    /// Sizes in both units, the folds and cards of bellows, and notes for glueing (out/report).
    Report,
    /// The job sheet of a lay: one HTML file for the bench, to find pieces, step through the cuts and tick off.
    Page {
        /// Which lay, such as lay-2; silent: the last one.
        lay: Option<String>,
        /// Open the page.
        #[arg(long)]
        open: bool,
    },
    /// Patterns at true size on paper, for cutting and punching by hand (PDF in out/template).
    Template(Shown<TemplateArgs>),
    /// Cut one failed piece again: a spare from the bag, else a place on what is left (out/recut-1).
    Recut(RecutArgs),
    /// What was cut from which sheet for which place, for the papers of the instrument (out/record).
    Record,
    /// What a code means and what to do about it; pages on limits, materials and safety; silent: all, a line each.
    Explain {
        /// The code that stands in brackets at the head of a message, such as E24 or W12; or limits, materials, safety.
        #[arg(value_name = "CODE or PAGE", value_parser = Topic, hide_possible_values = true)]
        topic: Option<String>,
    },
    /// A script by which your shell completes commands and options (on standard output).
    Completions {
        /// Which shell.
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
    /// The form of a job file as a JSON Schema, for an editor that checks while you type (on standard output).
    Schema,
}

/// What to begin with.
#[derive(Debug, Clone, Args)]
pub struct NewArgs {
    /// Name of the folder.
    pub name: String,
    /// How many places a numbered set has, 1 to 500.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=500))]
    pub notes: Option<u32>,
    /// The unit you measure in; silent: each figure says its own.
    #[arg(long, value_enum)]
    pub unit: Option<NewUnit>,
    /// What you cut with.
    #[arg(long, value_enum, default_value_t = NewMachine::Knife)]
    pub machine: NewMachine,
    /// Of a laser: where its fumes go; silent: asked for on the terminal.
    #[arg(long, value_enum)]
    pub extraction: Option<NewExtraction>,
}

/// Where the fumes of a laser go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum NewExtraction {
    /// A fan and a duct lead them out of the building.
    Outdoors,
    /// Through a filter that is made for gases.
    Filter,
}

/// A unit to measure in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum NewUnit {
    /// Inches and their fractions.
    In,
    /// Millimetres.
    Mm,
}

/// What cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum NewMachine {
    /// A drag knife.
    Knife,
    /// A laser.
    Laser,
    /// Scissors and punch, along paper templates.
    Paper,
}

/// A command that makes something to look at.
#[derive(Debug, Clone, Args)]
pub struct Shown<A: Args> {
    /// How it is done.
    #[command(flatten)]
    pub how: A,
    /// Open the first picture or page that was made.
    #[arg(long)]
    pub open: bool,
}

/// What to do with the stock record.
#[derive(Debug, Clone, Subcommand)]
pub enum Stock {
    /// The sheets with their material, size and what is free of them.
    List {
        /// Only sheets with room left.
        #[arg(long)]
        free: bool,
        /// Only sheets of one material, by the name of its profile.
        #[arg(long, value_name = "NAME")]
        material: Option<String>,
    },
    /// All of one sheet, with a picture (out/stock/ID.svg and .png).
    Show {
        /// Its id.
        id: String,
        /// Open the picture.
        #[arg(long)]
        open: bool,
    },
    /// Put a sheet in: one of the job by its id, or a new one from what is typed.
    Add(Box<AddArgs>),
    /// Take a sheet out that no lay claims.
    Forget {
        /// Its id.
        id: String,
        /// Without asking.
        #[arg(long)]
        yes: bool,
        /// How long to wait for the record where another command has it.
        #[arg(long, value_parser = seconds, default_value = "5s")]
        wait: u64,
    },
    /// Take the last booking back; again, the one before it.
    Undo {
        /// How long to wait for the record where another command has it.
        #[arg(long, value_parser = seconds, default_value = "5s")]
        wait: u64,
    },
}

/// What to put in.
#[derive(Debug, Clone, Args)]
pub struct AddArgs {
    /// A sheet of the job, by its id; silent: a new one.
    pub id: Option<String>,
    /// A new cloth, by its id.
    #[arg(long, value_name = "ID", group = "kind", conflicts_with = "id")]
    pub cloth: Option<String>,
    /// A new leaf, by its id.
    #[arg(long, value_name = "ID", group = "kind", conflicts_with = "id")]
    pub leaf: Option<String>,
    /// What is left of a sheet, by the id of that sheet: it gets that id and a number.
    #[arg(long, value_name = "ID", group = "kind", conflicts_with = "id")]
    pub remnant_of: Option<String>,
    /// Its material, by the name of its profile; of a remnant, that of its sheet.
    #[arg(long, value_name = "NAME")]
    pub material: Option<String>,
    /// Its width: across the roll, or the shorter side.
    #[arg(long, value_name = "LENGTH")]
    pub width: Option<String>,
    /// Its length: along the roll, or the longer side.
    #[arg(long, value_name = "LENGTH")]
    pub length: Option<String>,
    /// An SVG or DXF file with its line.
    #[arg(long, value_name = "FILE")]
    pub outline: Option<PathBuf>,
    /// Its thickness; of a remnant, that of its sheet.
    #[arg(long, value_name = "LENGTH")]
    pub thickness: Option<String>,
    /// Its grade: 1, the best, to 4; of a remnant, that of its sheet.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=4))]
    pub grade: Option<u8>,
    /// The grain from x, in degrees counter-clockwise; of a remnant, that of its sheet.
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true)]
    pub grain: Option<f64>,
    /// Where it is kept.
    #[arg(long, value_name = "TEXT")]
    pub shelf: Option<String>,
    /// How long to wait for the record where another command has it.
    #[arg(long, value_parser = seconds, default_value = "5s")]
    pub wait: u64,
}

/// How a lay came out.
#[derive(Debug, Clone, Args)]
#[command(group = clap::ArgGroup::new("came").required(true))]
pub struct TallyArgs {
    /// Which lay, such as lay-2, coupon-1 or recut-1.
    pub lay: String,
    /// It was cut and every piece is good.
    #[arg(long, group = "came")]
    pub all_good: bool,
    /// It was cut and these are spoilt: pouch:31,facing:7/inner; the others are good.
    #[arg(long, value_delimiter = ',', value_name = "PIECES", group = "came")]
    pub failed: Vec<String>,
    /// It was cut, and a file says how each piece came out: CSV or JSON, address and state (good or failed).
    #[arg(long, value_name = "FILE", group = "came")]
    pub from: Option<PathBuf>,
    /// It was never cut: its ground is free again.
    #[arg(long, group = "came")]
    pub withdrawn: bool,
    /// The sheets were parted at their cut-off: the rest becomes a sheet of its own.
    #[arg(long, conflicts_with = "withdrawn")]
    pub parted: bool,
    /// How long to wait for the record where another command has it.
    #[arg(long, value_parser = seconds, default_value = "5s")]
    pub wait: u64,
}

/// Which piece to cut again.
#[derive(Debug, Clone, Args)]
pub struct RecutArgs {
    /// The piece, such as pouch:31 or facing:7/inner.
    pub piece: String,
    /// Cut it though a spare would do, or though it is booked as good.
    #[arg(long)]
    pub anyway: bool,
    /// Book that this spare is taken from the bag for it; nothing is cut.
    #[arg(long, value_name = "SPARE", conflicts_with_all = ["anyway", "from", "dots", "by"])]
    pub take: Option<String>,
    /// The sheet it is cut from; silent: its own, then the remnant with least left that takes it, then whole sheets.
    #[arg(long, value_name = "ID")]
    pub from: Option<String>,
    /// Where two points of the sheet are on the bed, from the bed's own corner: "112.4 mm" "30.1 mm" "288 mm" "29.5 mm".
    #[arg(long, num_args = 4, value_names = ["X1", "Y1", "X2", "Y2"])]
    pub dots: Option<Vec<String>>,
    /// A point to find the sheet by, instead of its register dots; given twice: a piece cut from it, dot-1, lower-left.
    #[arg(long, value_name = "POINT")]
    pub by: Vec<String>,
    /// How long to wait for the stock record where another command has it.
    #[arg(long, value_parser = seconds, default_value = "5s")]
    pub wait: u64,
}

/// What to do with a coupon.
#[derive(Debug, Clone, Subcommand)]
pub enum Coupon {
    /// Lay a coupon for the width of the cut (out/coupon-1, with a picture and a table for its readings).
    Kerf(KerfArgs),
    /// Lay strips along and across the grain, to be measured before and under a load.
    Stretch(KerfArgs),
    /// Lay plates with webs from half a millimetre up: which is the narrowest that holds.
    Gap(KerfArgs),
    /// Lay a row of holes: which is the smallest that the machine cuts round.
    Hole(KerfArgs),
    /// Work out what a filled table comes to and write it into the profile.
    Read(ReadArgs),
}

/// Which coupon to lay.
#[derive(Debug, Clone, Args)]
pub struct KerfArgs {
    /// What it is cut from, by the name of its profile.
    #[arg(long, value_name = "NAME")]
    pub material: String,
    /// What cuts it, by its name in the job.
    #[arg(long, value_name = "NAME")]
    pub machine: String,
    /// The sheet it is cut from; silent: one that no lay has used, remnants and small ones first.
    #[arg(long, value_name = "ID")]
    pub sheet: Option<String>,
}

/// Which readings to take.
#[derive(Debug, Clone, Args)]
pub struct ReadArgs {
    /// The filled table, in the folder of its coupon: out/coupon-1/readings.csv.
    pub file: PathBuf,
    /// Write without asking.
    #[arg(long)]
    pub yes: bool,
}

/// What to go through.
#[derive(Debug, Clone, Args)]
pub struct SafetyArgs {
    /// Which lay, such as lay-2; silent: the last one.
    pub lay: Option<String>,
    /// Which machine, by its name in the job.
    #[arg(long, value_name = "NAME")]
    pub machine: String,
    /// Take the answers from a file (TOML) that names this machine; silent: they are asked for on the terminal.
    #[arg(long, value_name = "FILE", conflicts_with = "print")]
    pub answers: Option<PathBuf>,
    /// Print the list with room for answers and signatures; records nothing.
    #[arg(long)]
    pub print: bool,
}

/// What to write.
#[derive(Debug, Clone, Args)]
pub struct CutArgs {
    /// Which lay, such as lay-2; silent: the last one, or a new one where there is none.
    pub lay: Option<String>,
    /// Only the files of one machine, by its name in the job.
    #[arg(long, value_name = "NAME")]
    pub machine: Option<String>,
    /// Which kinds of file.
    #[arg(long, value_enum, value_delimiter = ',', default_values_t = [Format::Svg, Format::Dxf])]
    pub format: Vec<Format>,
    /// Which DXF: R2000 for most readers, R12 for old ones.
    #[arg(long, value_enum, default_value_t = Dxf::R2000)]
    pub dxf: Dxf,
    /// How long to wait for the stock record where another command has it.
    #[arg(long, value_parser = seconds, default_value = "5s")]
    pub wait: u64,
}

/// How to lay.
#[derive(Debug, Clone, Args)]
pub struct LayArgs {
    /// How hard to try: quick, usual, thorough, or a number of evaluations.
    #[arg(long, default_value = "usual", value_parser = effort)]
    pub effort: u64,
    /// Where chance begins; the same seed and effort give the same lay.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// Stop after this time and keep the best: 30s, 5m; silent: when the effort is spent.
    #[arg(long, value_parser = seconds)]
    pub time: Option<u64>,
}

impl Default for LayArgs {
    fn default() -> LayArgs {
        LayArgs { effort: crate::lay::Effort::QUICK.evaluations, seed: 1, time: None }
    }
}

/// How to reckon what is to be bought.
#[derive(Debug, Clone, Args)]
pub struct OrderArgs {
    /// Show a text to send to a seller, and write it to out/order.txt.
    #[arg(long)]
    pub letter: bool,
    /// How hard to try in the trial lays: quick, usual, thorough, or a number of evaluations. Quick wants too much.
    #[arg(long, default_value = "usual", value_parser = effort)]
    pub effort: u64,
    /// Where chance begins; the same seed and effort give the same order.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}

/// A kind of cut file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Scalable Vector Graphics, in millimetres.
    Svg,
    /// Drawing Exchange Format, in millimetres.
    Dxf,
    /// G-code for the machine itself, in millimetres.
    Gcode,
}

/// A style of dimensions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Style {
    /// Inches first, letters in a gap of their line.
    Inch,
    /// Millimetres first, letters above their line.
    Metric,
}

/// A version of DXF.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Dxf {
    /// The version of 2000, with the unit in its header.
    R2000,
    /// The version of 1992, for old readers.
    R12,
}

/// What to draw at true size.
#[derive(Debug, Clone, Default, Args)]
pub struct TemplateArgs {
    /// Parts or pieces: pouch, pouch:31, facing:7/inner; silent: all parts.
    #[arg(value_name = "PART or ADDRESS", conflicts_with = "lay")]
    pub parts: Vec<String>,
    /// The sheets of a lay with all that lies on them, such as lay-1.
    #[arg(long, value_name = "LAY", conflicts_with_all = ["each", "labels"])]
    pub lay: Option<String>,
    /// Of the lay, this sheet only.
    #[arg(long, value_name = "ID", requires = "lay")]
    pub sheet: Option<String>,
    /// The paper that it is printed on.
    #[arg(long, value_enum, default_value_t = PaperSize::A4)]
    pub paper: PaperSize,
    /// What the rule of 100 mm that lies across the page measured on an uncorrected print: "99.4 mm".
    #[arg(long, value_name = "LENGTH")]
    pub rule_x: Option<String>,
    /// The same for the rule that stands up.
    #[arg(long, value_name = "LENGTH")]
    pub rule_y: Option<String>,
    /// Every piece for itself; silent: equal ones once, with their number.
    #[arg(long)]
    pub each: bool,
    /// Labels for the bags of pieces on pages at the end.
    #[arg(long)]
    pub labels: bool,
    /// Where to write it; silent: in out/template of the job.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum PaperSize {
    /// 210 by 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 by 11 in.
    Letter,
}

/// Takes any word, and names pages and codes to a shell that completes.
#[derive(Debug, Clone, Copy)]
struct Topic;

impl TypedValueParser for Topic {
    type Value = String;

    fn parse_ref(
        &self,
        command: &clap::Command,
        arg: Option<&clap::Arg>,
        value: &std::ffi::OsStr,
    ) -> Result<String, clap::Error> {
        StringValueParser::new().parse_ref(command, arg, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        let pages = super::pages::PAGES.into_iter().map(|page| page.name);
        let codes = crate::job::CODES.iter().map(|(code, _)| *code);
        Some(Box::new(pages.chain(codes).map(PossibleValue::new)))
    }
}

fn effort(text: &str) -> Result<u64, String> {
    use crate::lay::Effort;
    match text {
        "quick" => Ok(Effort::QUICK.evaluations),
        "usual" => Ok(Effort::USUAL.evaluations),
        "thorough" => Ok(Effort::THOROUGH.evaluations),
        _ => match text.replace('_', "").parse::<u64>() {
            Ok(n) if (1..=10_000_000_000).contains(&n) => Ok(n),
            _ => {
                Err("quick, usual, thorough, or a number of evaluations such as 200000".to_owned())
            }
        },
    }
}

fn seconds(text: &str) -> Result<u64, String> {
    let (number, each) = match text.strip_suffix(['s', 'm', 'h']) {
        Some(number) if text.ends_with('m') => (number, 60),
        Some(number) if text.ends_with('h') => (number, 3600),
        Some(number) => (number, 1),
        None => (text, 1),
    };
    match number.trim().parse::<u64>() {
        Ok(n) if (1..=86_400).contains(&(n.saturating_mul(each))) => Ok(n * each),
        _ => Err("a time such as 30s, 5m or 1h".to_owned()),
    }
}
