//! `[buy]` in a material's profile: in what it is sold, and the last price.

use super::codes::{code_of, quoted};
use super::lengths::How;
use super::reader::Reader;
use super::words::decimal;
use crate::fault::Place;
use crate::material::{Buy, Face, Footage, Goods, Material, Per, Price, Skin, Source, Tannage};
use crate::units::{Area, AreaUnit, Length, Unit};

/// No skin is larger (mm²): 100 square feet.
const LARGEST: f64 = 9_290_304.0;
/// No skin is smaller (mm²): half a square foot.
const SMALLEST: f64 = 46_451.5;
/// No roll is wider, no leaf longer, no step of a roll greater (mm): 6 yards.
const LONGEST: f64 = 5_486.4;
/// Nor smaller than this (mm).
const SHORTEST: f64 = 10.0;

const PRICE: &str = "\"7.50 pounds per sq ft\"";

/// Takes the table; `made` is the head of the record, where that could be read.
pub(super) fn take(mut table: Reader<'_>, made: Option<&Material>) -> Option<Buy> {
    let skin = table.take_word("skin", Skin::NAMES);
    let area = take_area(&mut table);
    let footage = table.take_word("footage", Footage::NAMES);
    let width = table.take_length("width", How::Size);
    let length = table.take_length("length", How::Size);
    let selvedge = table.take_length("selvedge", How::Size);
    let by = table.take_length("by", How::Size);
    let price = take_price(&mut table);
    let tannage = table.take_word("tannage", Tannage::NAMES).map(|(tannage, _)| tannage);
    let side = table.take_word("side", Face::NAMES);
    let place = table.place.clone();
    let mut good = good_lengths(&table, [&width, &length, &by]);
    if let (Some((side, at)), Some(made)) = (&side, made) {
        good &= has_side(&table, *side, at, made);
    }
    let read = |key: &str, got: bool| got || !table.has(key);
    good &= read("skin", skin.is_some())
        && read("area", area.is_some())
        && read("footage", footage.is_some())
        && read("width", width.is_some())
        && read("length", length.is_some())
        && read("selvedge", selvedge.is_some())
        && read("by", by.is_some())
        && read("price", price.is_some())
        && read("tannage", tannage.is_some())
        && read("side", side.is_some());
    let goods = if good {
        let lengths = Lengths { width, length, selvedge, by };
        goods(&table, made, (skin, area, footage), lengths)
    } else {
        None
    };
    if let (Some(goods), Some(price)) = (&goods, &price) {
        fits(&table, goods, price);
    }
    table.finish("key");
    Some(Buy { goods: goods?, price, tannage, side: side.map(|(side, _)| side), place })
}

/// The lengths of the table, each with its place.
struct Lengths {
    width: Option<(Length, Place)>,
    length: Option<(Length, Place)>,
    selvedge: Option<(Length, Place)>,
    by: Option<(Length, Place)>,
}

/// What the keys say of a skin.
type OfSkin = (Option<(Skin, Place)>, Option<(Area, Place)>, Option<(Footage, Place)>);

/// In what it is sold: a skin has no width, a roll no skin, and a leaf both its sides.
fn goods(
    table: &Reader<'_>,
    made: Option<&Material>,
    (skin, area, footage): OfSkin,
    lengths: Lengths,
) -> Option<Goods> {
    let Lengths { width, length, selvedge, by } = lengths;
    let strange = |place: &Place, text: String, cure: &str| {
        table.fault("E28", text, place, cure);
        None
    };
    if let Some((skin, place)) = skin {
        let others = [("width", &width), ("length", &length), ("selvedge", &selvedge), ("by", &by)];
        if let Some((key, Some((_, at)))) = others.iter().find(|(_, other)| other.is_some()) {
            return strange(at, format!("a skin has no `{key}`"), "give its usual `area` instead");
        }
        if made.is_some_and(Material::is_woven) {
            let text = format!("`skin` is \"{}\", and this material is woven", skin.name());
            return strange(&place, text, "give the `width` of the roll");
        }
        let area = area.map(|(area, _)| area);
        return Some(Goods::Skins { skin, area, footage: footage.map(|(marks, _)| marks) });
    }
    let of_skin = area.map(|(_, at)| ("area", at)).or(footage.map(|(_, at)| ("footage", at)));
    if let Some((key, at)) = of_skin {
        let names: Vec<&str> = Skin::NAMES.iter().map(|(name, _)| *name).collect();
        let cure = format!("say which with `skin`: {}", names.join(", "));
        return strange(&at, format!("`{key}` is for skins, and there is no `skin`"), &cure);
    }
    let Some((width, at)) = width else {
        if made.is_some_and(|made| made.sort == crate::material::Sort::Leather) {
            table.needs("skin", "the animal, for its outline", "\"goat\"");
        } else {
            table.needs("width", "of the roll or the leaf", "\"54 in\"");
        }
        return None;
    };
    if let Some((length, _)) = length {
        let others = [("selvedge", selvedge), ("by", by)];
        let other = others.into_iter().find_map(|(key, it)| it.map(|(_, at)| (key, at)));
        return match other {
            Some((key, at)) => strange(
                &at,
                format!("`length` makes it a leaf, which has no `{key}`"),
                "leave out `length` for stuff off the roll",
            ),
            None => Some(Goods::Leaves { width, length }),
        };
    }
    let selvedge = selvedge.map(|(length, _)| length);
    if selvedge.as_ref().is_some_and(|s| 2.0 * s.mm() >= width.mm()) {
        let text = format!("two selvedges leave nothing of a width of {}", width.text());
        return strange(&at, text, "look at `selvedge` and `width`");
    }
    Some(Goods::Roll { width, selvedge, by: by.map(|(length, _)| length) })
}

fn good_lengths<const N: usize>(table: &Reader<'_>, all: [&Option<(Length, Place)>; N]) -> bool {
    let mut good = true;
    for (length, place) in all.into_iter().flatten() {
        if !(SHORTEST..=LONGEST).contains(&length.mm()) {
            good = false;
            table.fault(
                "E20",
                format!("nothing is sold by {}", length.text()),
                place,
                "a length from 10 mm to 6 yd, as in \"54 in\"",
            );
        }
    }
    good
}

fn has_side(table: &Reader<'_>, side: Face, at: &Place, made: &Material) -> bool {
    let sides = made.sides();
    if sides.contains(&side) {
        return true;
    }
    let cure = match sides {
        [one, other] => format!("it takes: {one}, {other}"),
        _ => "leave it out: both sides are alike".to_owned(),
    };
    let text = format!("{} has no side called \"{side}\"", made.sort.name());
    table.fault("E39", text, at, cure);
    false
}

/// The usual area of a skin.
fn take_area(table: &mut Reader<'_>) -> Option<(Area, Place)> {
    let (text, place) = table.take_text("area")?;
    let cure = "for example area = \"6 sq ft\" or \"55 dm2\"";
    match Area::parse(&text, None) {
        Ok(area) if (SMALLEST..=LARGEST).contains(&area.mm2()) => Some((area, place)),
        Ok(area) => {
            let text = format!("no skin measures {}", area.text());
            table.fault("E20", text, &place, cure);
            None
        }
        Err(fault) => {
            table.fault(code_of(&fault), fault.text().to_owned(), &place, cure);
            None
        }
    }
}

/// The last price with its source: an amount, a currency, and for how much.
fn take_price(table: &mut Reader<'_>) -> Option<Price> {
    let given = table.take_text("price");
    let source = table.take_text("price-source");
    let Some((text, place)) = given else {
        if let (Some((_, at)), false) = (&source, table.has("price")) {
            let text = "`price-source` stands without `price`".to_owned();
            table.fault("E12", text, at, format!("for example price = {PRICE}"));
        }
        return None;
    };
    let parsed = priced(&text);
    if parsed.is_none() {
        table.fault(
            if text.contains(',') { "E17" } else { "E20" },
            format!("\"{}\" is not a price", quoted(&text)),
            &place,
            format!(
                "an amount, a currency, and for how much: {PRICE}; per sq ft, dm2, yd, m, skin or leaf"
            ),
        );
    }
    let source = source.filter(|(text, _)| !text.is_empty());
    if source.is_none() {
        table.fault(
            "E38",
            "`price` stands without its source".to_owned(),
            &place,
            "for example price-source = \"invoice of 3 March 2025\"",
        );
    }
    let ((amount, currency, per), (said, at)) = (parsed?, source?);
    Some(Price { amount, currency, per, text, place, source: Source { text: said, place: at } })
}

/// Reports a price for what is not sold so: cloth by the leaf, skins by the yard.
fn fits(table: &Reader<'_>, goods: &Goods, price: &Price) {
    let cure = match (goods, price.per) {
        (Goods::Roll { .. }, Per::Each) => "off the roll it is per yd, m or sq ft",
        (Goods::Skins { .. }, Per::Length(_)) => "skins are per sq ft, dm2 or skin",
        (Goods::Leaves { .. }, Per::Length(_)) => "leaves are per leaf, sq ft or dm2",
        _ => return,
    };
    let text = format!("the price \"{}\" does not go with how it is sold", quoted(&price.text));
    table.fault("E28", text, &price.place, cure);
}

/// `7.50 pounds per sq ft` in its three parts.
fn priced(text: &str) -> Option<(f64, String, Per)> {
    let (head, per) = text.split_once(" per ")?;
    let (amount, currency) = head.trim().split_once(' ')?;
    let amount = decimal(amount).filter(|amount| *amount >= 0.0)?;
    let currency = currency.trim();
    let is_word =
        !currency.is_empty() && currency.chars().all(|c| !c.is_control() && !c.is_ascii_digit());
    let per = match per.trim() {
        "skin" | "hide" | "side" | "leaf" => Per::Each,
        name => match (AreaUnit::parse_name(name), Unit::parse_name(name)) {
            (Some(_), _) => Per::Area(Area::parse(&format!("1 {name}"), None).ok()?.mm2()),
            (_, Some(unit)) => Per::Length(unit.millimetres()),
            _ => return None,
        },
    };
    is_word.then(|| (amount, currency.to_owned(), per))
}
