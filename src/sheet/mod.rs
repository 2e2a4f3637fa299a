//! What is cut from: hides, widths of cloth, leaves of felt, paper and card.
//!
//! Takes outlines, flaws and readings in millimetres; gives [`Sheet`]s that laying can use as they are: one outline
//! seen from the face that lies up, flaws to keep clear of (selvedges among them), zones of better and worse grade,
//! the thickness from place to place, one grain direction.

mod parted;
mod used;
mod zone;

pub use parted::parted;
pub use used::{Holder, State, Used};
pub use zone::{GRADES, Reading, Zone};

use crate::fault::Place;
use crate::geom::{GeomFault, Loop, Point, Pose, Vec2, rectangle, tolerance};
use crate::material::Face;
use crate::units::{Day, Length};
use std::sync::Arc;

/// A place to keep clear of.
#[derive(Debug, Clone, PartialEq)]
pub struct Flaw {
    /// What it is, in the user's words.
    pub why: String,
    /// Its line (mm).
    pub outline: Loop,
}

/// What a sheet was to begin with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SheetKind {
    /// A skin or part of one.
    Hide,
    /// A width of cloth, x along the roll.
    Cloth,
    /// A rectangle of paper, card, felt, cork or fibre.
    Leaf,
}

impl SheetKind {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            SheetKind::Hide => "hide",
            SheetKind::Cloth => "cloth",
            SheetKind::Leaf => "leaf",
        }
    }
}

/// Something to cut from.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The user's name for it.
    pub id: String,
    /// What it was to begin with.
    pub kind: SheetKind,
    /// Name of its material.
    pub material: String,
    /// The face that lies up, from which the outline is seen.
    pub up: Option<Face>,
    /// Its line (mm).
    pub outline: Loop,
    /// Places to keep clear of.
    pub flaws: Vec<Flaw>,
    /// Its grade where no zone lies: 1 is the best.
    pub grade: u8,
    /// Zones of another grade; later ones lie over earlier ones.
    pub zones: Vec<Zone>,
    /// Its thickness at places; every point has that of the reading nearest to it.
    pub readings: Vec<Reading>,
    /// Direction of the grain or the warp, in degrees from x, counter-clockwise.
    pub grain: f64,
    /// Its own edge allowance (mm), where it is wider than the material's.
    pub edge: Option<f64>,
    /// Thickness as read.
    pub thickness: Option<Length>,
    /// Name of the machine that is to cut it, if the user says so.
    pub cut_with: Option<String>,
    /// How often it has been cut and booked; the first is 1.
    pub generation: u32,
    /// The day on which it came into the stock.
    pub added: Option<Day>,
    /// The sheet it is a remnant of; none for a sheet that is whole.
    pub from: Option<String>,
    /// Where it is kept.
    pub shelf: Option<String>,
    /// Where pieces were cut or are claimed.
    pub used: Vec<Used>,
    /// Where the corner of its box stood in the user's own system (mm).
    pub corner: Point,
    /// Where it stands in the job.
    pub place: Place,
}

impl Sheet {
    /// A sheet of which no more is known than what it is and its outline: of the best grade, without flaws, its grain
    /// along x.
    pub fn bare(id: &str, kind: SheetKind, material: &str, outline: Loop) -> Sheet {
        Sheet {
            id: id.to_owned(),
            kind,
            material: material.to_owned(),
            up: None,
            outline,
            flaws: Vec::new(),
            grade: *GRADES.start(),
            zones: Vec::new(),
            readings: Vec::new(),
            grain: 0.0,
            edge: None,
            thickness: None,
            cut_with: None,
            generation: 1,
            added: None,
            from: None,
            shelf: None,
            used: Vec::new(),
            corner: Point::ORIGIN,
            place: Place::head(&Arc::from(id)),
        }
    }

    /// The sheet moved so that the lower left corner of its box is the origin: from here on sheet, lay, picture and
    /// file share one system.
    #[must_use]
    pub fn at_origin(self) -> Sheet {
        let b = self.outline.bounds();
        if b.x0.abs().max(b.y0.abs()) < tolerance::ROUNDING {
            // Once is enough: moved again by what rounding left, its figures would be others.
            return self;
        }
        let by = Vec2::new(-b.x0, -b.y0);
        let pose = Pose::moved(by);
        let flaws = self
            .flaws
            .into_iter()
            .map(|f| Flaw { outline: pose.on_loop(&f.outline), why: f.why })
            .collect();
        let zones = self
            .zones
            .into_iter()
            .map(|z| Zone { outline: pose.on_loop(&z.outline), ..z })
            .collect();
        let readings =
            self.readings.into_iter().map(|r| Reading { at: pose.on_point(r.at), ..r }).collect();
        let used = self
            .used
            .into_iter()
            .map(|u| Used { outline: pose.on_loop(&u.outline), ..u })
            .collect();
        let corner = self.corner - by;
        Sheet { outline: pose.on_loop(&self.outline), flaws, zones, readings, used, corner, ..self }
    }

    /// The sheet without the ground that some hold: a lay's own claims are no hindrance to it.
    #[must_use]
    pub fn without(mut self, is_left_out: impl Fn(&Used) -> bool) -> Sheet {
        self.used.retain(|used| !is_left_out(used));
        self
    }

    /// Area that is neither flawed nor cut nor claimed (mm²), counted like [`Sheet::area`].
    pub fn free_area(&self) -> f64 {
        (self.area() - self.used.iter().map(|u| u.outline.area()).sum::<f64>()).max(0.0)
    }

    /// Area of the sheet less its flaws (mm²). Flaws that overlap one another or reach over the edge count once
    /// each, so the figure is the least there is.
    pub fn area(&self) -> f64 {
        self.outline.area() - self.flaws.iter().map(|f| f.outline.area()).sum::<f64>()
    }
}

/// The outline of a width of cloth: x along the roll.
///
/// # Units
/// Millimetres.
///
/// # Errors
/// Refuses sides that are not positive.
pub fn width_of_cloth(length: f64, width: f64) -> Result<Loop, GeomFault> {
    rectangle(Point::ORIGIN, length, width, 0.0)
}

/// The two selvedges of a width of cloth, as places to keep clear of.
///
/// # Units
/// Millimetres.
///
/// # Errors
/// Refuses selvedges that are not positive or leave nothing between them.
pub fn selvedges(length: f64, width: f64, selvedge: f64) -> Result<Vec<Flaw>, GeomFault> {
    let strip = |y: f64| {
        rectangle(Point::new(0.0, y), length, selvedge, 0.0)
            .map(|outline| Flaw { why: "selvedge".to_owned(), outline })
    };
    Ok(vec![strip(0.0)?, strip(width - selvedge)?])
}
