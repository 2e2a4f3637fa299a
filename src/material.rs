//! What is cut: leather, cloth, felt, paper, and what is known about each.
//!
//! A material is plain data, read from a profile. Every table of figures says where it came from.

mod buy;

pub use buy::{Buy, Footage, Goods, Per, Price, SELVEDGE_MM, Skin};

use crate::fault::Place;
use crate::units::Length;
use std::fmt;

/// What a material is, as far as laying and cutting care.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A skin: irregular, with one grain direction, a grain and a flesh side.
    Leather,
    /// Woven cloth without a coating.
    Cloth,
    /// Woven cloth with rubber or another coating on or between.
    CoatedCloth,
    /// Pressed wool.
    Felt,
    /// Paper.
    Paper,
    /// Card and board.
    Card,
    /// Cork, plain or bound.
    Cork,
    /// Vulcanised fibre.
    Fibre,
    /// Materials glued together before they are cut.
    Laminate,
}

impl Sort {
    /// Names as they are typed, each with its sort.
    pub const NAMES: &'static [(&'static str, Sort)] = &[
        ("leather", Sort::Leather),
        ("cloth", Sort::Cloth),
        ("coated cloth", Sort::CoatedCloth),
        ("felt", Sort::Felt),
        ("paper", Sort::Paper),
        ("card", Sort::Card),
        ("cork", Sort::Cork),
        ("fibre", Sort::Fibre),
        ("laminate", Sort::Laminate),
    ];

    /// The name as it is typed.
    pub fn name(self) -> &'static str {
        name_of(Sort::NAMES, self)
    }

    /// Whether it has threads, so that parts lie along or across them and never at a slant.
    pub fn is_woven(self) -> bool {
        matches!(self, Sort::Cloth | Sort::CoatedCloth)
    }

    /// The two sides that it has by itself; none where both are alike.
    fn sides(self) -> &'static [Face] {
        match self {
            Sort::Leather => &[Face::Grain, Face::Flesh],
            Sort::CoatedCloth => &[Face::Cloth, Face::Rubber],
            Sort::Cloth
            | Sort::Felt
            | Sort::Paper
            | Sort::Card
            | Sort::Cork
            | Sort::Fibre
            | Sort::Laminate => &[],
        }
    }
}

/// A side of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// The smooth side of a skin.
    Grain,
    /// The nap side of a skin.
    Flesh,
    /// The woven side of a coated cloth.
    Cloth,
    /// The coated side of a cloth.
    Rubber,
}

impl Face {
    /// Names as they are typed.
    pub const NAMES: &'static [(&'static str, Face)] = &[
        ("grain", Face::Grain),
        ("flesh", Face::Flesh),
        ("cloth", Face::Cloth),
        ("rubber", Face::Rubber),
    ];

    /// The name as it is typed.
    pub fn name(self) -> &'static str {
        name_of(Face::NAMES, self)
    }
}

impl fmt::Display for Face {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// How a skin was tanned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tannage {
    /// With bark and other plant matter.
    Vegetable,
    /// With chromium salts.
    Chrome,
    /// With alum.
    Alum,
    /// With oil.
    Oil,
    /// Nobody knows.
    Unknown,
}

impl Tannage {
    /// Names as they are typed.
    pub const NAMES: &'static [(&'static str, Tannage)] = &[
        ("vegetable", Tannage::Vegetable),
        ("chrome", Tannage::Chrome),
        ("alum", Tannage::Alum),
        ("oil", Tannage::Oil),
        ("unknown", Tannage::Unknown),
    ];

    /// The name as it is typed.
    pub fn name(self) -> &'static str {
        name_of(Tannage::NAMES, self)
    }
}

/// What a cloth or sheet is coated with, bound with or made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Polymer {
    /// No coating at all.
    None,
    /// Natural rubber.
    NaturalRubber,
    /// Polyurethane.
    Polyurethane,
    /// Polyvinyl chloride.
    Pvc,
    /// Polychloroprene, sold as neoprene.
    Polychloroprene,
    /// Anything with fluorine in it.
    Fluorinated,
    /// Anything with bromine in it.
    Brominated,
    /// Nobody knows.
    Unknown,
}

impl Polymer {
    /// Names as they are typed.
    pub const NAMES: &'static [(&'static str, Polymer)] = &[
        ("none", Polymer::None),
        ("natural rubber", Polymer::NaturalRubber),
        ("polyurethane", Polymer::Polyurethane),
        ("pvc", Polymer::Pvc),
        ("polychloroprene", Polymer::Polychloroprene),
        ("neoprene", Polymer::Polychloroprene),
        ("fluorinated", Polymer::Fluorinated),
        ("brominated", Polymer::Brominated),
        ("unknown", Polymer::Unknown),
    ];

    /// The first name it goes by.
    pub fn name(self) -> &'static str {
        name_of(Polymer::NAMES, self)
    }
}

fn name_of<T: Copy + PartialEq>(names: &[(&'static str, T)], wanted: T) -> &'static str {
    names.iter().find(|(_, it)| *it == wanted).map_or("", |(name, _)| name)
}

/// Where a table of figures came from, in the user's words; `"assumed"` is a source too, and is listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The words.
    pub text: String,
    /// Where they stand.
    pub place: Place,
}

impl Source {
    /// Whether the figures are only assumed.
    pub fn is_assumed(&self) -> bool {
        self.text.trim().to_lowercase().starts_with("assumed")
    }
}

/// Growth in use along and across the grain, as shares (0.02 is 2 %).
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Along the grain or the warp.
    pub along: f64,
    /// Across it.
    pub across: f64,
    /// Where the figures came from.
    pub source: Source,
}

/// Time to cool between cuts that lie near each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heat {
    /// Least time from the end of one cut to the beginning of the other (s).
    pub least_gap_time: f64,
    /// Cuts nearer than this are near (mm).
    pub reach: f64,
}

/// How one machine cuts this material.
#[derive(Debug, Clone, PartialEq)]
pub struct CutSetting {
    /// A machine's name, or a process (`laser`, `knife`).
    pub on: String,
    /// Width of the cut along the machine's x (mm).
    pub kerf_x: f64,
    /// Width of the cut along the machine's y (mm).
    pub kerf_y: f64,
    /// Material left between two cuts (mm).
    pub gap: f64,
    /// Material left to the sheet's edge or a flaw (mm).
    pub edge: f64,
    /// Least web left between two cuts of one part (mm); thinner ones are pointed out.
    pub least_web: f64,
    /// Power of a beam, as a share of full power (0 to 1); none: no G-code for a laser.
    pub power: Option<f64>,
    /// Speed along the cut (mm/s); none: no G-code.
    pub feed: Option<f64>,
    /// Power with which a beam only marks, as a share of full power; none: marks stay out of a laser's G-code.
    pub mark_power: Option<f64>,
    /// Speed along marks (mm/s); none: as the cut.
    pub mark_feed: Option<f64>,
    /// How often each cut is run along.
    pub passes: u32,
    /// Width of the bridges that hold a piece in its sheet (mm); 0: none.
    pub tabs: f64,
    /// Whether pieces whose edge must stay soft get tabs too.
    pub tabs_on_soft: bool,
    /// Cuts near each other lie so far apart in time, that the stuff between can cool; none: no care is taken.
    pub heat: Option<Heat>,
    /// What a laser leaves round a soft edge, to be pared off (mm).
    pub char_trim: f64,
    /// Where the figures came from.
    pub source: Source,
    /// Where the table stands.
    pub place: Place,
}

impl CutSetting {
    /// The wider of the two kerfs (mm): what neighbours must allow for.
    pub fn kerf(&self) -> f64 {
        self.kerf_x.max(self.kerf_y)
    }
}

/// A material's record.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// The name jobs call it by: the profile's file name.
    pub key: String,
    /// What it is called in full.
    pub title: String,
    /// What it is.
    pub sort: Sort,
    /// Thickness; a laminate that does not say has the sum of its layers and the glue between them.
    pub thickness: Option<Length>,
    /// The layers of a laminate, the outer one first; empty for anything else.
    pub layers: Vec<Material>,
    /// How a skin was tanned; a skin that does not say counts as unknown.
    pub tannage: Option<Tannage>,
    /// What it is coated with; coated cloth that does not say counts as unknown.
    pub coating: Option<Polymer>,
    /// Taken from an old instrument.
    pub salvaged: bool,
    /// The maker's safety data sheet: issuer and day.
    pub data_sheet: Option<String>,
    /// Measured growth in use.
    pub stretch: Option<Stretch>,
    /// Measured growth when it is glued wet.
    pub wet: Option<Stretch>,
    /// Cutting by machine.
    pub cuts: Vec<CutSetting>,
    /// How it is bought.
    pub buy: Option<Buy>,
    /// Source of the figures in the head of the record.
    pub source: Source,
    /// The head of the profile.
    pub place: Place,
}

impl Material {
    /// How a machine cuts it: by the machine's own name first, else by its process.
    pub fn setting(&self, machine: &str, process: &str) -> Option<&CutSetting> {
        let by = |name: &str| self.cuts.iter().find(|c| c.on == name);
        by(machine).or_else(|| by(process))
    }

    /// Whether it has threads, a laminate whether one of its layers has.
    pub fn is_woven(&self) -> bool {
        self.sort.is_woven() || self.layers.iter().any(Material::is_woven)
    }

    /// The two sides by which a sheet says how it lies; none where both are alike.
    ///
    /// A laminate goes by its outer layer, and by its last one where the outer one has no sides: whichever side of
    /// that layer points up, up is that side.
    pub fn sides(&self) -> &'static [Face] {
        let outer = [self.layers.first(), self.layers.last()];
        let of_layers = || outer.into_iter().flatten().map(|m| m.sort.sides());
        match self.sort {
            Sort::Laminate => of_layers().find(|sides| !sides.is_empty()).unwrap_or(&[]),
            sort => sort.sides(),
        }
    }
}
