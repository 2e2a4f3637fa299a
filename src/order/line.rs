//! One line of an order: a material in one grade.

use super::rules::{SHORT, SPREAD, WASTE, YARD, gross, up_to, whole};
use super::skins::{self, Form, Nominal};
use super::trial::{self, Room, Tried, trial};
use super::{COUPON, Lot, Wish};
use crate::geom::{Point, Vec2, rectangle};
use crate::lay::{Effort, Watch};
use crate::material::{Buy, Face, Footage, Goods, Material, Per, SELVEDGE_MM, Skin, Sort, Tannage};
use crate::part::Piece;
use crate::sheet::SheetKind;
use crate::units::{Area, Length, show_both, show_inches};

/// What ends cut out of true and faults in the weave or the leaf may take: likely, and at most (shares).
///
/// # Source
/// Assumed; nobody has published it.
const FAULTS: [f64; 2] = [0.03, 0.10];

/// Each trial on a skin has this part of the effort: there are six of them.
const SHARE: u64 = 4;
/// But not less than this, where the effort is as much.
const LEAST: u64 = Effort::QUICK.evaluations;

/// What the sheets in hand take.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cover {
    /// The sheets that were looked at.
    pub sheets: Vec<String>,
    /// Pieces of this line that find a place on them.
    pub placed: usize,
    /// Pieces that do not.
    pub left: usize,
}

/// How much in all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Extent {
    /// Area (mm²) and whole skins.
    Skins(f64, u32),
    /// Length as it came out and as it is cut off (mm).
    Roll(f64, f64),
    /// Leaves as they came out, and whole ones.
    Leaves(f64, u32),
    /// Area alone (mm²), where nobody says how it is sold.
    Area(f64),
}

/// One of the three estimates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// How much.
    pub extent: Extent,
    /// What it costs at the last price; none where there is none.
    pub cost: Option<f64>,
}

/// What is to be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// Net area of what finds no place on the sheets in hand (mm²).
    pub net: f64,
    /// In what it is sold, in words.
    pub goods: String,
    /// Low, likely, high.
    pub amounts: [Amount; 3],
    /// How they came about, in words.
    pub rule: String,
    /// Whether a nominal skin stood in for a hide.
    pub nominal: bool,
    /// How the seller marks skins.
    pub footage: Option<Footage>,
    /// The currency of the costs, and where the price came from.
    pub price: Option<(String, String, String)>,
    /// Pieces that no sheet of that size takes.
    pub unfit: Vec<String>,
}

/// A material in one grade.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderLine {
    /// Name of its profile.
    pub material: String,
    /// What it is called in full.
    pub title: String,
    /// The worst grade that will do; none: any.
    pub grade: Option<u8>,
    /// The machines that cut it.
    pub machines: Vec<String>,
    /// Pieces wanted.
    pub pieces: usize,
    /// Spares, not counted among them.
    pub spares: usize,
    /// Coupons, one for each machine.
    pub coupons: u32,
    /// Net area of the pieces wanted (mm²).
    pub net: f64,
    /// Net area of the spares (mm²).
    pub net_spares: f64,
    /// Area of the coupons (mm²).
    pub net_coupons: f64,
    /// Thickness wanted, in words.
    pub thickness: Option<String>,
    /// How it should be tanned, in words.
    pub tannage: Option<String>,
    /// Which side matters, in words.
    pub side: String,
    /// What is in hand.
    pub cover: Cover,
    /// What is to be bought; none where all fits on what is in hand.
    pub purchase: Option<Purchase>,
    /// What would make the line better, in words.
    pub asks: Vec<String>,
}

/// Makes the line of a lot.
pub(super) fn line(
    wish: &Wish,
    (grade, lot): (Option<u8>, &Lot),
    cover: &Cover,
    effort: Effort,
    watch: &dyn Watch,
) -> OrderLine {
    let material = &wish.material;
    let parts = || lot.all.iter().filter(|piece| piece.address.part != "coupon");
    let sum = |spare: bool| -> f64 {
        parts().filter(|p| (p.address.spare > 0) == spare).map(trial::area).sum()
    };
    let spares = parts().filter(|p| p.address.spare > 0).count();
    let mut asks = Vec::new();
    // Nobody buys a skin for a coupon.
    let lacks = lot.left.iter().any(|piece| piece.address.part != "coupon");
    let purchase = lacks.then(|| {
        let (made, more) = purchase(wish, &lot.left, effort, watch);
        asks.extend(more);
        made
    });
    OrderLine {
        material: material.key.clone(),
        title: material.title.clone(),
        grade,
        machines: wish.shares.iter().map(|share| share.machine.clone()).collect(),
        pieces: parts().count() - spares,
        spares,
        coupons: lot.coupons,
        net: sum(false),
        net_spares: sum(true),
        net_coupons: f64::from(lot.coupons) * COUPON.0 * COUPON.1,
        thickness: thickness(material, &lot.all),
        tannage: tannage(material),
        side: side(material, &lot.all),
        cover: Cover {
            placed: lot.all.len() - lot.left.len(),
            left: lot.left.len(),
            ..cover.clone()
        },
        purchase,
        asks,
    }
}

/// The thickness wanted: the narrowest that the parts ask for, else that of the record.
fn thickness(material: &Material, pieces: &[Piece]) -> Option<String> {
    let asked = pieces.iter().filter_map(|piece| piece.needs.thickness);
    let narrow = asked.reduce(|a, b| (a.0.max(b.0), a.1.min(b.1)));
    match narrow {
        Some((least, most)) if least <= most => Some(format!(
            "{least:.3} to {most:.3} mm ({} to {})",
            show_inches(least),
            show_inches(most)
        )),
        Some(_) => Some("the parts ask for different thicknesses: see `check`".to_owned()),
        None => material.thickness.as_ref().map(show_both),
    }
}

fn tannage(material: &Material) -> Option<String> {
    if material.sort != Sort::Leather {
        return None;
    }
    let wanted = material.buy.as_ref().and_then(|buy| buy.tannage).or(material.tannage);
    Some(match wanted {
        None | Some(Tannage::Unknown) => "not known: ask the seller".to_owned(),
        Some(tannage) => tannage.name().to_owned(),
    })
}

fn side(material: &Material, pieces: &[Piece]) -> String {
    if let Some(side) = material.buy.as_ref().and_then(|buy| buy.side) {
        return side.name().to_owned();
    }
    let mut faces: Vec<Face> = pieces.iter().filter_map(|piece| piece.face).collect();
    faces.sort_unstable();
    faces.dedup();
    match faces[..] {
        [] => "either".to_owned(),
        [face] => face.name().to_owned(),
        _ => "both".to_owned(),
    }
}

/// What is to be bought for pieces, and what to ask or add.
fn purchase(
    wish: &Wish,
    pieces: &[Piece],
    effort: Effort,
    watch: &dyn Watch,
) -> (Purchase, Vec<String>) {
    let net: f64 = pieces.iter().map(trial::area).sum();
    let most = |f: fn(&super::Share) -> f64| wish.shares.iter().map(f).fold(0.0, f64::max);
    let least = |f: fn(&super::Share) -> f64| wish.shares.iter().map(f).fold(f64::MAX, f64::min);
    let room = Room {
        apart: most(|share| share.group.apart),
        edge: most(|share| share.edge),
        hard: wish.shares.iter().any(|share| share.group.hard_edges),
        reach: Vec2::new(least(|share| share.reach.x), least(|share| share.reach.y)),
    };
    let with = Trial { pieces, net, room, effort, watch };
    let Some(buy) = &wish.material.buy else {
        return by_spread(&wish.material, net, ask_for_buy(&wish.material));
    };
    with.bought(buy).unwrap_or_else(|| {
        let ask = format!(
            "nothing is left of a sheet of that size: look at [buy] in materials/{}.toml",
            wish.material.key
        );
        by_spread(&wish.material, net, ask)
    })
}

/// What to add to a profile that does not say how its material is sold.
fn ask_for_buy(material: &Material) -> String {
    let add = match material.sort {
        Sort::Leather => "skin = \"goat\" and area = \"6 sq ft\"",
        sort if sort.is_woven() => "width = \"54 in\" and by = \"1/4 yd\"",
        _ => "width = \"12 in\" and length = \"12 in\"",
    };
    format!("for a trial lay add [buy] to materials/{}.toml, with {add}", material.key)
}

/// Without a word on how it is sold: the published spread of yields.
fn by_spread(material: &Material, net: f64, ask: String) -> (Purchase, Vec<String>) {
    let amounts =
        SPREAD.map(|it| Amount { extent: Extent::Area(gross(net, it.share)), cost: None });
    let rule =
        "net area divided by the published yields 0.82, 0.67 and 0.48; no trial lay".to_owned();
    let mut asks = vec![ask];
    if !material.layers.is_empty() {
        let layers: Vec<&str> = material.layers.iter().map(|layer| layer.key.as_str()).collect();
        asks.push(format!(
            "{} is glued up at the bench: the same area of {} is wanted",
            material.key,
            layers.join(" and of ")
        ));
    }
    let purchase = Purchase {
        net,
        goods: String::new(),
        amounts,
        rule,
        nominal: false,
        footage: None,
        price: None,
        unfit: Vec::new(),
    };
    (purchase, asks)
}

/// What every trial of a line shares.
struct Trial<'a> {
    pieces: &'a [Piece],
    net: f64,
    room: Room,
    effort: Effort,
    watch: &'a dyn Watch,
}

impl Trial<'_> {
    fn bought(&self, buy: &Buy) -> Option<(Purchase, Vec<String>)> {
        match &buy.goods {
            Goods::Skins { skin, area, footage } => {
                let usual = area.as_ref().map_or(skins::usual_area(*skin), Area::mm2);
                self.skins(buy, (*skin, usual, area.is_some()), *footage)
            }
            Goods::Roll { width, selvedge, by } => {
                self.roll(buy, width, selvedge.as_ref(), by.as_ref())
            }
            Goods::Leaves { width, length } => self.leaves(buy, width, length),
        }
    }

    /// One trial, with a share of the effort.
    fn run(&self, kind: SheetKind, nominal: &Nominal, share: u64) -> Tried {
        let evaluations = (self.effort.evaluations / share).max(LEAST.min(self.effort.evaluations));
        let effort = Effort { evaluations, ..self.effort };
        trial(self.pieces, (kind, nominal), self.room, effort, self.watch)
    }

    fn named(&self, unfit: &[usize]) -> Vec<String> {
        unfit.iter().map(|i| self.pieces[*i].address.to_string()).collect()
    }

    /// Trials with three rims on the nominal outline and on an oval. Low is the least of them, likely their mean. The rim
    /// alone is more than the published waste; high is the most of them, with that waste on top, of skins of which a
    /// tenth less is delivered than was ordered.
    fn skins(
        &self,
        buy: &Buy,
        (skin, usual, said): (Skin, f64, bool),
        footage: Option<Footage>,
    ) -> Option<(Purchase, Vec<String>)> {
        let rims = skins::rims(skin, usual);
        let forms = rims.iter().flat_map(|rim| Form::ALL.map(|form| (form, *rim)));
        let trials: Vec<Tried> = forms
            .filter_map(|(form, rim)| skins::nominal(skin, form, usual, rim).ok())
            .map(|nominal| self.run(SheetKind::Hide, &nominal, SHARE))
            .collect();
        // What a skin does not take is no reason to buy less.
        let best = trials.iter().min_by_key(|tried| tried.unfit.len())?;
        let unfit = self.named(&best.unfit);
        let fair = trials.iter().filter(|tried| tried.unfit.len() == best.unfit.len());
        let came: Vec<f64> = fair.map(|tried| tried.area).collect();
        let count = f64::from(u32::try_from(came.len()).ok()?);
        let least = came.iter().copied().fold(f64::INFINITY, f64::min);
        let most = came.iter().copied().fold(0.0, f64::max);
        let high = gross(gross(most, 1.0 - WASTE), 1.0 - SHORT);
        let areas = [least, came.iter().sum::<f64>() / count, high];
        let amounts = areas.map(|area| {
            let count = whole(area / usual);
            let cost = buy.price.as_ref().and_then(|price| match price.per {
                Per::Each => Some(f64::from(count) * price.amount),
                Per::Area(of) => Some(f64::from(count) * usual / of * price.amount),
                Per::Length(_) => None,
            });
            Amount { extent: Extent::Skins(area, count), cost }
        });
        let mut asks = Vec::new();
        if footage.is_none() {
            asks.push(
                "for the marks on the skins ask how the seller writes them, and add footage = \"quarters\" (4/1 is 4 1/4 \
                 sq ft) or \"tenths\" to [buy]"
                    .to_owned(),
            );
        }
        let feet = usual / skins::SQ_FT;
        let from = if said { "" } else { ", as published" };
        let purchase = Purchase {
            net: self.net,
            goods: format!(
                "skins ({}) of {feet:.1} sq ft ({:.0} dm²{from})",
                skin.name(),
                usual / 1e4
            ),
            amounts,
            rule: format!(
                "least, mean and most of {count} trial lays on a nominal {} and on an oval, rim of {} mm off; high also \
                 with {:.0} % for flaws and {:.0} % less delivered",
                skin.name(),
                rims.map(|rim| format!("{rim:.0}")).join(" / "),
                WASTE * 100.0,
                SHORT * 100.0
            ),
            nominal: true,
            footage,
            price: priced(buy),
            unfit,
        };
        Some((purchase, asks))
    }

    fn roll(
        &self,
        buy: &Buy,
        width: &Length,
        selvedge: Option<&Length>,
        by: Option<&Length>,
    ) -> Option<(Purchase, Vec<String>)> {
        let lost = selvedge.map_or(SELVEDGE_MM, Length::mm);
        let clear = width.mm() - 2.0 * lost;
        let longest = self.pieces.iter().filter_map(|p| p.turns.design(0)).map(|design| {
            let bounds = design.shape.bounds();
            bounds.width().hypot(bounds.height())
        });
        let longest = longest.fold(0.0, f64::max);
        let length = (2.0 * self.net / clear + 2.0 * longest + 500.0).min(90_000.0);
        let tried = self.run(SheetKind::Cloth, &flat(length, clear, lost)?, 1);
        let came = tried.area / width.mm();
        let step = by.map_or(YARD / 4.0, Length::mm);
        let amounts = [0.0, FAULTS[0], FAULTS[1]].map(|more| {
            let length = came * (1.0 + more);
            let bought = up_to(length, step);
            let cost = buy.price.as_ref().and_then(|price| match price.per {
                Per::Each => None,
                Per::Area(of) => Some(bought * width.mm() / of * price.amount),
                Per::Length(of) => Some(bought / of * price.amount),
            });
            Amount { extent: Extent::Roll(length, bought), cost }
        });
        let mut asks = Vec::new();
        if selvedge.is_none() {
            asks.push(
                "a selvedge of 1/2 in on either side is assumed: measure it and add `selvedge` to [buy]"
                    .to_owned(),
            );
        }
        let purchase = Purchase {
            net: self.net,
            goods: format!(
                "{} wide off the roll, {:.2} sq ft a yard",
                width.text(),
                super::square_feet_per_yard(width.mm())
            ),
            amounts,
            rule: format!(
                "a trial lay on {:.0} mm between selvedges; likely {:.0} % and high {:.0} % more, for ends and faults \
                 (assumed); by {}",
                clear,
                FAULTS[0] * 100.0,
                FAULTS[1] * 100.0,
                by.map_or_else(|| "1/4 yd".to_owned(), |by| by.text().to_owned())
            ),
            nominal: false,
            footage: None,
            price: priced(buy),
            unfit: self.named(&tried.unfit),
        };
        Some((purchase, asks))
    }

    fn leaves(
        &self,
        buy: &Buy,
        width: &Length,
        length: &Length,
    ) -> Option<(Purchase, Vec<String>)> {
        let of_one = width.mm() * length.mm();
        let tried = self.run(SheetKind::Leaf, &flat(length.mm(), width.mm(), 0.0)?, 1);
        let amounts = [0.0, FAULTS[0], FAULTS[1]].map(|more| {
            let came = tried.area / of_one * (1.0 + more);
            let count = whole(came);
            let cost = buy.price.as_ref().and_then(|price| match price.per {
                Per::Each => Some(f64::from(count) * price.amount),
                Per::Area(of) => Some(f64::from(count) * of_one / of * price.amount),
                Per::Length(_) => None,
            });
            Amount { extent: Extent::Leaves(came, count), cost }
        });
        let purchase = Purchase {
            net: self.net,
            goods: format!("leaves of {} x {}", width.text(), length.text()),
            amounts,
            rule: format!(
                "a trial lay on such leaves; likely {:.0} % and high {:.0} % more, for faults (assumed)",
                FAULTS[0] * 100.0,
                FAULTS[1] * 100.0
            ),
            nominal: false,
            footage: None,
            price: priced(buy),
            unfit: self.named(&tried.unfit),
        };
        Some((purchase, Vec::new()))
    }
}

fn priced(buy: &Buy) -> Option<(String, String, String)> {
    let price = buy.price.as_ref()?;
    Some((price.currency.clone(), price.text.clone(), price.source.text.clone()))
}

/// A rectangle, sold with what is lost along its long sides.
fn flat(length: f64, clear: f64, lost: f64) -> Option<Nominal> {
    let usable = rectangle(Point::ORIGIN, length, clear, 0.0).ok()?;
    let sold = vec![
        Point::new(0.0, -lost),
        Point::new(length, -lost),
        Point::new(length, clear + lost),
        Point::new(0.0, clear + lost),
    ];
    Some(Nominal { sold, usable })
}
