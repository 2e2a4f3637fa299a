//! From a part of the job to its pieces: equal sizes gathered, spares added, stretch and trim allowed for.

use super::measures::Measures;
use super::member::{Developed, Dimension, Member, MemberName, Punch, Term};
use super::{Kind, TermRole};
use crate::fault::{Fault, Place, any_error};
use crate::geom::{
    Affine, GeomFault, GeomFaultKind, Loop, Offset, Point, Seg, Shape, offset, tolerance,
};
use crate::material::Face;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

/// Which places a part serves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Positions {
    /// Numbered places.
    Numbered(Vec<u32>),
    /// So many, all alike.
    Counted(u32),
}

impl Positions {
    /// The numbers; counted parts run from 1.
    pub fn numbers(&self) -> Vec<u32> {
        match self {
            Positions::Numbered(list) => list.clone(),
            Positions::Counted(n) => (1..=*n).collect(),
        }
    }
}

/// How a part lies to the grain or the warp.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grain {
    /// Not said: strips, hinges and bellows cloths along the threads of woven stuff, all else as it comes.
    Silent,
    /// As it comes; on woven stuff still along or across the threads.
    Any,
    /// Its length along the grain.
    Along,
    /// Its length across the grain.
    Across,
}

/// What the members of one place that work together may differ by in thickness (mm): two thousandths of an inch.
///
/// # Source
/// Bins of a skin within .001 to .002 in for what is stacked on a stem: common practice.
pub const TOGETHER_APART: f64 = 0.0508;

/// What stuff a piece may be cut from.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Needs {
    /// The worst grade that it takes; none: any.
    pub grade: Option<u8>,
    /// Least and most thickness (mm); none: any.
    pub thickness: Option<(f64, f64)>,
    /// Whether it works together with the other pieces of its place that say so too: they come from one sheet, lie
    /// wholly in one grade, and differ by no more than [`TOGETHER_APART`] where the thickness is known.
    pub together: bool,
}

impl Needs {
    /// Whether it takes a grade.
    pub fn takes_grade(&self, grade: u8) -> bool {
        self.grade.is_none_or(|worst| grade <= worst)
    }

    /// Whether it takes a thickness (mm).
    pub fn takes_thickness(&self, mm: f64) -> bool {
        self.thickness.is_none_or(|(least, most)| {
            (least - tolerance::SLACK..=most + tolerance::SLACK).contains(&mm)
        })
    }
}

/// Growth in use that is taken off beforehand.
#[derive(Debug, Clone, PartialEq)]
pub struct StretchUse {
    /// Along the grain (share).
    pub along: f64,
    /// Across the grain (share).
    pub across: f64,
    /// Where it was said.
    pub from: Place,
}

/// How many more than needed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spares {
    /// Share of each size's count, rounded up.
    pub share: f64,
    /// At least so many of each distinct size.
    pub least: u32,
}

impl Spares {
    /// None at all.
    pub const NONE: Spares = Spares { share: 0.0, least: 0 };

    /// Spares for `n` pieces of one size.
    pub fn of(&self, n: usize) -> u32 {
        #[allow(clippy::cast_precision_loss, reason = "a count of pieces")]
        let share = (self.share * n as f64 - 1e-9).ceil().max(0.0);
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at least 0, capped"
        )]
        let by_share = share.min(1e6) as u32;
        by_share.max(self.least)
    }
}

/// A part of the job: one line, many places.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name in the job.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// Its kind.
    pub kind: Kind,
    /// Which of the kind's companions this is: the same places and measures, pieces of another material.
    pub companion: Option<&'static str>,
    /// Its places.
    pub positions: Positions,
    /// The figures of each place, in the order of `positions.numbers()`; counted parts have the same for all.
    pub measures: Vec<Measures>,
    /// Name of its material.
    pub material: String,
    /// Name of the machine that cuts it.
    pub cut_with: String,
    /// The face it is drawn from.
    pub face: Option<Face>,
    /// How it lies to the grain.
    pub grain: Grain,
    /// How far it may be turned from that, either way, in degrees.
    pub grain_within: f64,
    /// The worst grade of stuff that it takes; none: any.
    pub grade: Option<u8>,
    /// Growth in use, if any is allowed for.
    pub stretch: Option<StretchUse>,
    /// Growth when it is glued wet, if any is allowed for.
    pub wet: Option<StretchUse>,
    /// Thickness of the sheets it may come from, least and most (mm), and where it was said.
    pub thickness: Option<(f64, f64, Place)>,
    /// Spares.
    pub spares: Spares,
    /// The mirrored gasket of the opposite board: name of the part it is the mate of.
    pub mate_of: Option<String>,
}

/// A piece's name: `part:position[/member][+n]`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Address {
    /// Part.
    pub part: String,
    /// Place, or running number.
    pub position: u32,
    /// Member, where a place has more than one piece.
    pub member: Option<MemberName>,
    /// Number of the spare, from 1; 0 for a piece that is wanted.
    pub spare: u32,
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.part, self.position)?;
        if let Some(member) = self.member {
            write!(f, "/{member}")?;
        }
        if self.spare > 0 {
            write!(f, "+{}", self.spare)?;
        }
        Ok(())
    }
}

/// What is cut, stretch and trim allowed for, kerf not.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// Outline and holes (mm).
    pub shape: Shape,
    /// Lines along which it folds.
    pub creases: Vec<Seg>,
    /// Holes that are always punched by hand.
    pub punches: Vec<Punch>,
    /// Round holes of the shape: index among its holes, centre as it lies, finished diameter before any stretch.
    pub rounds: Vec<(usize, Punch)>,
}

/// One way a piece may lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Stance {
    /// Turn of the piece's x from the sheet's grain, in degrees.
    pub turn: f64,
    /// How far it may be turned from that, either way, in degrees.
    pub within: f64,
    /// Its design at that turn.
    pub design: Arc<Design>,
}

/// The ways a piece may lie.
#[derive(Debug, Clone, PartialEq)]
pub enum Turns {
    /// At any turn.
    Free(Arc<Design>),
    /// At these only.
    Fixed(Vec<Stance>),
}

impl Turns {
    /// The design of a stance (0 where it turns freely).
    pub fn design(&self, stance: usize) -> Option<&Arc<Design>> {
        match self {
            Turns::Free(design) => (stance == 0).then_some(design),
            Turns::Fixed(list) => list.get(stance).map(|s| &s.design),
        }
    }
}

/// One thing to be cut out.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its name.
    pub address: Address,
    /// Pieces of one number are exactly alike and may change places.
    pub size: usize,
    /// How it may lie.
    pub turns: Turns,
    /// The face it is drawn from; on a sheet that lies the other way up it is mirrored.
    pub face: Option<Face>,
    /// Whether its edge must stay soft.
    pub soft: bool,
    /// What it may be cut from.
    pub needs: Needs,
}

impl Piece {
    /// The same piece with its outline farther out all round (mm), to be pared off by hand; its holes stay.
    ///
    /// # Errors
    /// An outline that has no parallel curve there.
    pub fn widened(&self, by: f64) -> Result<Piece, GeomFault> {
        let widen = |design: &Arc<Design>| -> Result<Arc<Design>, GeomFault> {
            let line = design.shape.outline();
            let Offset::Whole(outline) = offset(line, by)? else {
                return Err(GeomFault { kind: GeomFaultKind::Parts, at: line.start() });
            };
            let shape = Shape::new(outline, design.shape.holes().to_vec())?;
            Ok(Arc::new(Design { shape, ..Design::clone(design) }))
        };
        let turns = match &self.turns {
            Turns::Free(design) => Turns::Free(widen(design)?),
            Turns::Fixed(list) => {
                let made: Result<Vec<Stance>, GeomFault> = list
                    .iter()
                    .map(|s| Ok(Stance { design: widen(&s.design)?, ..s.clone() }))
                    .collect();
                Turns::Fixed(made?)
            }
        };
        Ok(Piece { turns, ..self.clone() })
    }
}

/// One distinct size of a part.
#[derive(Debug, Clone)]
pub struct Size {
    /// The places that have it.
    pub positions: Vec<u32>,
    /// The figures.
    pub measures: Measures,
    /// What became of them.
    pub developed: Developed,
}

impl Part {
    /// The distinct sizes, each worked out once, in the order of their first place.
    pub fn sizes(&self) -> Vec<Size> {
        let mut sizes: Vec<Size> = Vec::new();
        let mut known: BTreeMap<String, usize> = BTreeMap::new();
        for (position, measures) in self.positions.numbers().into_iter().zip(&self.measures) {
            let next = sizes.len();
            let at = *known.entry(measures.key()).or_insert(next);
            if let Some(size) = sizes.get_mut(at) {
                size.positions.push(position);
                continue;
            }
            let mut developed = (self.kind.card().develop)(measures);
            let spoiled = any_error(&developed.faults);
            developed.members.retain(|m| m.companion == self.companion);
            if self.companion.is_some() {
                // What is wrong is told once, by the part itself.
                developed.faults.clear();
            }
            if developed.members.is_empty() && !spoiled {
                developed.faults.push(nothing(&measures.place));
            }
            if self.companion.is_some() {
                // Boards of four lengths may all have one hinge.
                if let Some(at) = sizes.iter().position(|s: &Size| s.same_pieces(&developed)) {
                    known.insert(measures.key(), at);
                    if let Some(size) = sizes.get_mut(at) {
                        size.positions.push(position);
                    }
                    continue;
                }
            }
            if self.mate_of.is_some() {
                mirror(&mut developed.members);
            }
            sizes.push(Size { positions: vec![position], measures: measures.clone(), developed });
        }
        sizes
    }
}

/// Measures of which nothing comes are not passed over in silence.
fn nothing(place: &Place) -> Fault {
    Fault::error("E28", "nothing that can be cut comes of these measures")
        .at(place)
        .cure("look at its lengths again: one may be far too small")
}

fn mirror(members: &mut [Member]) {
    let back = crate::geom::Pose { mirrored: true, ..crate::geom::Pose::STILL };
    for member in members {
        member.shape = member.shape.posed(&back);
        member.untrimmed = member.untrimmed.iter().map(|p| back.on_point(*p)).collect();
        member.creases = member.creases.iter().map(|s| back.on_seg(s)).collect();
        member.guides = member.guides.iter().map(|s| back.on_seg(s)).collect();
        for punch in &mut member.punches {
            punch.at = back.on_point(punch.at);
        }
        for dimension in &mut member.dimensions {
            *dimension = match dimension {
                // Mirrored, the left of a way is the right of it: the way is run from its other end.
                Dimension::Span(from, to, off, text) => {
                    Dimension::Span(back.on_point(*to), back.on_point(*from), *off, text.clone())
                }
                Dimension::Diameter(center, radius, text) => {
                    Dimension::Diameter(back.on_point(*center), *radius, text.clone())
                }
            };
        }
    }
}

/// The pieces of a part, spares last within each size; `first_size` numbers its first distinct size.
///
/// # Errors
/// Every fault that keeps a size from being worked out. Warnings of the sizes are not repeated here.
pub fn pieces(
    part: &Part,
    sizes: &[Size],
    woven: bool,
    first_size: usize,
) -> Result<Vec<Piece>, Vec<Fault>> {
    let mut made = Vec::new();
    let mut faults = Vec::new();
    let mut next = first_size;
    for size in sizes {
        let lowest = size.positions.iter().min().copied().unwrap_or(1);
        let spares = part.spares.of(size.positions.len());
        let members = &size.developed.members;
        let needs = part.needs(size);
        let mut numbers: Vec<usize> = Vec::with_capacity(members.len());
        for (n, member) in members.iter().enumerate() {
            // Members that are cut alike are of one number, and may change places.
            let twin = members[..n].iter().position(|other| other.cut_alike(member));
            let number = twin.and_then(|t| numbers.get(t).copied()).unwrap_or(next);
            next = next.max(number + 1);
            numbers.push(number);
            let turns = match turns(part, member, woven) {
                Ok(turns) => turns,
                Err(fault) => {
                    faults.push(
                        Fault::error("E28", format!("{}:{lowest}: {fault}", part.name))
                            .at(&part.place)
                            .cure("look at its measures and its stretch"),
                    );
                    continue;
                }
            };
            let piece = |position: u32, spare: u32| Piece {
                address: Address { part: part.name.clone(), position, member: member.name, spare },
                size: number,
                turns: turns.clone(),
                face: part.face,
                soft: member.soft,
                needs,
            };
            made.extend(size.positions.iter().map(|p| piece(*p, 0)));
            made.extend((1..=spares).map(|n| piece(lowest, n)));
        }
    }
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

impl Part {
    /// Growth that is taken off beforehand, along and across the grain: in use and by wet glue (shares).
    pub fn growth(&self) -> (f64, f64) {
        let of = |use_of: &Option<StretchUse>| {
            use_of.as_ref().map_or((0.0, 0.0), |s| (s.along, s.across))
        };
        let (dry, wet) = (of(&self.stretch), of(&self.wet));
        ((1.0 + dry.0) * (1.0 + wet.0) - 1.0, (1.0 + dry.1) * (1.0 + wet.1) - 1.0)
    }

    /// What its pieces of one size may be cut from.
    pub fn needs(&self, size: &Size) -> Needs {
        Needs {
            grade: self.grade,
            thickness: self.thickness.as_ref().map(|(least, most, _)| (*least, *most)),
            together: size.works_together(),
        }
    }

    /// Whether any growth is taken off.
    pub fn grows(&self) -> bool {
        self.stretch.is_some() || self.wet.is_some()
    }

    /// Whether it lies along the threads of woven stuff unless the job says otherwise.
    pub fn lengthwise(&self) -> bool {
        let card = self.kind.card();
        match self.companion {
            None => card.lengthwise,
            Some(name) => card.companions.iter().any(|c| c.name == name && c.lengthwise),
        }
    }

    /// Its name with the companion's: `pump`, `pump/card`.
    pub fn title(&self) -> String {
        match self.companion {
            None => self.name.clone(),
            Some(companion) => format!("{}/{companion}", self.name),
        }
    }
}

fn turns(part: &Part, member: &Member, woven: bool) -> Result<Turns, GeomFault> {
    let (along, across) = part.growth();
    let lengthwise = Arc::new(design(member, along, across)?);
    let grain = match part.grain {
        Grain::Silent if woven && part.lengthwise() => Grain::Along,
        Grain::Silent => Grain::Any,
        said => said,
    };
    #[allow(clippy::float_cmp, reason = "the very same figure or another")]
    let even = along == across;
    let round = member.shape.is_round() && member.creases.is_empty();
    if even && (round || (grain == Grain::Any && !woven)) {
        return Ok(Turns::Free(lengthwise));
    }
    let within = part.grain_within;
    let stance =
        |turn: f64, design: &Arc<Design>| Stance { turn, within, design: Arc::clone(design) };
    if round {
        return Ok(Turns::Fixed(vec![stance(0.0, &lengthwise)]));
    }
    let crosswise =
        if even { Arc::clone(&lengthwise) } else { Arc::new(design(member, across, along)?) };
    let with = [stance(0.0, &lengthwise), stance(180.0, &lengthwise)];
    let against = [stance(90.0, &crosswise), stance(270.0, &crosswise)];
    Ok(Turns::Fixed(match grain {
        Grain::Along => with.into(),
        Grain::Across => against.into(),
        Grain::Any | Grain::Silent => with.into_iter().chain(against).collect(),
    }))
}

/// The member as it is cut when its x grows by `x` and its y by `y` in use.
fn design(member: &Member, x: f64, y: f64) -> Result<Design, GeomFault> {
    let (sx, sy) = (1.0 / (1.0 + x), 1.0 / (1.0 + y));
    let scale = Affine::scale_non_uniform(sx, sy);
    #[allow(clippy::float_cmp, reason = "silent stretch is exactly none")]
    let mut shape = if sx == 1.0 && sy == 1.0 {
        member.shape.clone()
    } else {
        member.shape.mapped(scale, tolerance::FIT_STRETCH)?
    };
    let kept: Vec<Point> = member.untrimmed.iter().map(|p| scale * *p).collect();
    let widen = |p: Point| {
        let stays = kept.iter().any(|q| (*q - p).hypot() < tolerance::SAME_POINT);
        if stays { p } else { Point::new(p.x, p.y + p.y.signum() * member.trim) }
    };
    let creases: Vec<Seg> = member
        .creases
        .iter()
        .map(|s| Seg { a: scale * s.a, b: scale * s.b, bulge: s.bulge })
        .collect();
    if member.trim > 0.0 {
        let outline: Vec<Seg> = shape
            .outline()
            .segs()
            .iter()
            .map(|s| Seg { a: widen(s.a), b: widen(s.b), bulge: s.bulge })
            .collect();
        shape = Shape::new(Loop::chain(outline)?, shape.holes().to_vec())?;
    }
    let punches =
        member.punches.iter().map(|p| Punch { at: scale * p.at, diameter: p.diameter }).collect();
    let rounds = member
        .shape
        .holes()
        .iter()
        .enumerate()
        .filter_map(|(i, hole)| {
            let (center, radius) = hole.as_circle()?;
            Some((i, Punch { at: scale * center, diameter: 2.0 * radius }))
        })
        .collect();
    Ok(Design { shape, creases, punches, rounds })
}

impl Size {
    /// Whether several of its members keep a soft edge and so work together: the two facings of a valve.
    pub fn works_together(&self) -> bool {
        self.developed.members.iter().filter(|m| m.soft).count() > 1
    }

    /// Each pattern once with the names of the members that are cut by it: `outer`, `card 1, 2`; none for a
    /// part's only piece.
    pub fn patterns(&self) -> Vec<(String, &Member)> {
        let members = &self.developed.members;
        let word = |m: &Member| m.name.map(|name| name.word);
        let twins = |a: &Member, b: &Member| word(a) == word(b) && a.cut_alike(b);
        let mut made = Vec::new();
        for (n, member) in members.iter().enumerate() {
            if members[..n].iter().any(|other| twins(other, member)) {
                continue;
            }
            let numbers: Vec<String> = members
                .iter()
                .filter(|other| twins(other, member))
                .filter_map(|m| m.name)
                .map(|name| name.number.to_string())
                .collect();
            let name = match (member.name, numbers.len()) {
                (None, _) => String::new(),
                (Some(name), 0 | 1) => name.to_string(),
                (Some(name), _) => format!("{} {}", name.word, numbers.join(", ")),
            };
            made.push((name, member));
        }
        made
    }

    /// Whether another size comes to the very same pieces, with the very same sums.
    fn same_pieces(&self, other: &Developed) -> bool {
        let (mine, theirs) = (&self.developed.members, &other.members);
        let alike = |a: &Member, b: &Member| {
            let same =
                |s: &Term, t: &Term| s.label == t.label && s.value.to_bits() == t.value.to_bits();
            a.name == b.name
                && a.cut_alike(b)
                && a.sum.len() == b.sum.len()
                && a.sum.iter().zip(&b.sum).all(|(s, t)| same(s, t))
        };
        mine.len() == theirs.len() && mine.iter().zip(theirs).all(|(a, b)| alike(a, b))
    }

    /// The total sizes of each member, for one-line summaries: label and figure (mm).
    pub fn totals(&self) -> Vec<(Option<MemberName>, String, f64)> {
        self.developed
            .members
            .iter()
            .flat_map(|m| {
                m.sum
                    .iter()
                    .filter(|t| t.role == TermRole::Total)
                    .map(|t| (m.name, t.label.clone(), t.value))
            })
            .collect()
    }
}
