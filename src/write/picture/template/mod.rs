//! Paper templates at true size, for whoever cuts and punches by hand.
//!
//! Takes [`Drawing`]s: a pattern with its name and notes, or a whole sheet with the pieces on it. Gives pages: first what
//! tells whether the print has its true size and where everything is, then small patterns side by side, each whole on its
//! page, then large ones in tiles that are joined, then labels for the bags.
//!
//! Every page is a [`Picture`] in millimetres of the print, 12 mm clear of the paper's edge.
//!
//! # Source
//! ISO 216:2007: A4 is 210 by 297 mm. A sheet of US letter paper is 8.5 by 11 in. 12 mm clear of the edge keeps within
//! what printers reach: common practice.

mod board;
pub(super) mod clip;
mod draw;
mod front;
mod labels;
mod pack;
mod page;
#[cfg(test)]
mod tests;
mod tiles;

use super::Picture;
use crate::geom::{Loop, Point, Pose, Rect, Seg, Shape, Vec2};
use pack::Packed;
use std::collections::BTreeSet;
use tiles::Grid;

/// The paper that is printed on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// Its name.
    pub name: &'static str,
    /// Width (mm).
    pub width: f64,
    /// Height (mm).
    pub height: f64,
}

impl Paper {
    /// A4 (ISO 216).
    pub const A4: Paper = Paper { name: "A4", width: 210.0, height: 297.0 };
    /// US letter paper, 8.5 by 11 in.
    pub const LETTER: Paper = Paper { name: "Letter", width: 8.5 * 25.4, height: 11.0 * 25.4 };
}

/// A round hole with what makes it.
#[derive(Debug, Clone, PartialEq)]
pub struct HoleMark {
    /// Centre (mm).
    pub at: Point,
    /// Diameter (mm).
    pub diameter: f64,
    /// The tool, as short as can be: `1/4 in`, `#52 drill`.
    pub tool: String,
    /// Whether it is no hole of the shape: only its centre is marked there.
    pub only_marked: bool,
}

/// A pattern, as it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// What may be written in it, the fullest first.
    pub tags: Vec<String>,
    /// Outline and holes (mm), no kerf in them.
    pub shape: Shape,
    /// Lines along which it folds.
    pub creases: Vec<Seg>,
    /// Round holes.
    pub holes: Vec<HoleMark>,
    /// Direction of the grain in degrees from x, where it matters.
    pub grain: Option<f64>,
    /// Whether it is seen from its back.
    pub mirrored: bool,
}

impl Pattern {
    /// The pattern put in its place.
    #[must_use]
    pub fn posed(&self, pose: &Pose) -> Pattern {
        let turned = |grain: f64| (if pose.mirrored { 180.0 - grain } else { grain }) + pose.turn;
        Pattern {
            tags: self.tags.clone(),
            shape: self.shape.posed(pose),
            creases: self.creases.iter().map(|s| pose.on_seg(s)).collect(),
            holes: self
                .holes
                .iter()
                .map(|h| HoleMark { at: pose.on_point(h.at), ..h.clone() })
                .collect(),
            grain: self.grain.map(turned),
            mirrored: self.mirrored != pose.mirrored,
        }
    }
}

/// The sheet that patterns lie on.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetLines {
    /// Its line (mm).
    pub outline: Loop,
    /// Places to keep clear of.
    pub flaws: Vec<Loop>,
    /// Direction of the grain in degrees from x.
    pub grain: f64,
}

/// What is drawn as one thing: a pattern, or a sheet with its pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Its name.
    pub name: String,
    /// What is said of it.
    pub notes: Vec<String>,
    /// What must stand on every page that it is on, if anything.
    pub warning: Option<String>,
    /// Its patterns.
    pub patterns: Vec<Pattern>,
    /// The sheet they lie on.
    pub sheet: Option<SheetLines>,
}

impl Drawing {
    fn bounds(&self) -> Rect {
        let all = self.patterns.iter().map(|p| p.shape.bounds());
        let sheet = self.sheet.iter().map(|s| s.outline.bounds());
        all.chain(sheet).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
    }

    /// The drawing put in its place.
    fn posed(&self, pose: &Pose) -> Drawing {
        Drawing {
            patterns: self.patterns.iter().map(|p| p.posed(pose)).collect(),
            sheet: self.sheet.as_ref().map(|s| SheetLines {
                outline: pose.on_loop(&s.outline),
                flaws: s.flaws.iter().map(|f| pose.on_loop(f)).collect(),
                grain: s.grain + pose.turn,
            }),
            ..self.clone()
        }
    }
}

/// A label for a bag of pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BagLabel {
    /// Part, with its member.
    pub part: String,
    /// Size, in words.
    pub size: String,
    /// Its places.
    pub positions: String,
    /// How many, and how many of them are spares.
    pub count: String,
    /// Material.
    pub material: String,
}

/// How it is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Printing {
    /// Title of the job.
    pub title: String,
    /// The paper.
    pub paper: Paper,
    /// What the two rules measured on a print without correction (mm); 100 where nothing was.
    pub measured: Vec2,
}

impl Printing {
    /// By how much x and y are drawn larger, so that the print comes out at true size.
    pub fn scale(&self) -> Vec2 {
        Vec2::new(100.0 / self.measured.x, 100.0 / self.measured.y)
    }
}

/// Where a drawing is.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Number of the drawing.
    pub drawing: usize,
    /// Number of the page, from 1.
    pub page: usize,
    /// Name of the tile; none where the drawing is whole on its page.
    pub tile: Option<String>,
    /// Whether it is turned by a quarter on the page.
    pub turned: bool,
    /// Its box on the page (mm from the lower left corner, before any correction); of a tile, the tile's own.
    pub area: Rect,
}

/// Pages, and where everything is.
#[derive(Debug, Clone, PartialEq)]
pub struct Template {
    /// The pages.
    pub pages: Vec<Picture>,
    /// Where the drawings are.
    pub found: Vec<Found>,
    /// Names of patterns that stand in or beside their pattern in tiles.
    pub named: BTreeSet<String>,
    /// Names of patterns that found no room for their name in any tile.
    pub unnamed: BTreeSet<String>,
}

/// Lays drawings and labels out on pages.
///
/// # Units
/// Millimetres of the print.
pub fn template(drawings: &[Drawing], labels: &[BagLabel], how: &Printing) -> Template {
    let frame = page::Frame::of(how);
    let mut packed = Packed::new(frame.body());
    let mut grids = Vec::new();
    for (number, drawing) in drawings.iter().enumerate() {
        if !packed.take(number, drawing) {
            grids.push(Grid::of(number, drawing, &frame));
        }
    }
    let lots = packed.pages();
    // How many pages the front takes depends on the numbers of the pages it tells of.
    let mut ahead = 1;
    let mut front = front::Front::of(drawings, &lots, &grids, how, ahead);
    while front.pages() != ahead && ahead < 1000 {
        ahead = front.pages().max(ahead + 1);
        front = front::Front::of(drawings, &lots, &grids, how, ahead);
    }
    let mut made = Template {
        pages: Vec::new(),
        found: Vec::new(),
        named: BTreeSet::new(),
        unnamed: BTreeSet::new(),
    };
    let tiles: usize = grids.iter().map(|g| g.tiles.len()).sum();
    let bags = labels::pages(labels, &frame);
    let total = ahead + lots.len() + tiles + bags.len();
    let mut next = 0;
    let mut number = || {
        next += 1;
        (next, total)
    };
    for marks in front.draw(ahead) {
        made.pages.push(frame.page(marks, number()));
    }
    for lot in lots {
        let at = number();
        let (marks, head) = lot.draw(drawings, at.0, &mut made);
        made.pages.push(frame.headed(marks, &head, at));
    }
    for grid in &grids {
        for tile in &grid.tiles {
            let at = number();
            let (marks, head) = grid.draw(*tile, at.0, &mut made);
            made.pages.push(frame.headed(marks, &head, at));
        }
    }
    for marks in bags {
        made.pages.push(frame.page(marks, number()));
    }
    made
}
