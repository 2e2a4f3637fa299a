//! An order in words, as a letter, and as a table.

use super::rules::{SPREAD, YARD, footage_mark, gross, quarters};
use super::skins::SQ_FT;
use super::{Amount, Extent, OrderLine, Purchase};
use std::fmt::Write as _;

/// What is said wherever a nominal skin was used.
const NOMINAL: &str = "nominal outline, not your hide";

/// The lines as they are told on a terminal.
pub fn words(lines: &[OrderLine]) -> Vec<String> {
    let mut told = Vec::new();
    for line in lines {
        if !told.is_empty() {
            told.push(String::new());
        }
        told.extend(of_line(line));
    }
    if lines.iter().any(|line| line.purchase.is_some()) {
        let said: Vec<String> =
            SPREAD.iter().map(|it| format!("{} is {}", it.share, it.said)).collect();
        told.push(String::new());
        let text = format!(
            "published yields, mostly of panels as large as those of a chair: {}",
            said.join("; ")
        );
        told.extend(row("trade", &text));
    }
    told
}

fn both(area: f64) -> String {
    format!("{:.2} dm² ({:.2} sq ft)", area / 1e4, area / SQ_FT)
}

/// So wide is a line on a terminal.
const ACROSS: usize = 110;

/// A name and its text, broken between words where it is long.
fn row(name: &str, text: &str) -> Vec<String> {
    let mut lines = vec![format!("  {name:<10}")];
    let mut fresh = true;
    for word in text.split(' ') {
        let length = lines.last().map_or(0, |line| line.chars().count());
        if !fresh && length + 1 + word.chars().count() > ACROSS {
            lines.push(" ".repeat(12));
            fresh = true;
        }
        if let Some(line) = lines.last_mut() {
            if !fresh {
                line.push(' ');
            }
            line.push_str(word);
        }
        fresh = false;
    }
    lines
}

fn of_line(line: &OrderLine) -> Vec<String> {
    let grade = line.grade.map_or(String::new(), |g| format!(", grade {g} or better"));
    let mut told = vec![format!(
        "{} ({}){grade}, for {}",
        line.title,
        line.material,
        line.machines.join(", ")
    )];
    let pieces = counted(line.pieces, "piece");
    told.extend(row("net", &format!("{pieces}, {}", both(line.net))));
    if line.spares > 0 {
        told.extend(row("spares", &format!("{} more, {}", line.spares, both(line.net_spares))));
    }
    if line.coupons > 0 {
        let each = counted(line.coupons as usize, "coupon");
        let text = format!(
            "{each} of 108 x 70 mm, in a piece of 108 x 100 mm: {}",
            both(line.net_coupons)
        );
        told.extend(row("coupon", &text));
    }
    told.extend(row("wanted", &wanted(line)));
    let cover = &line.cover;
    let sheets = cover.sheets.join(", ");
    told.extend(row(
        "in hand",
        &match (cover.sheets.is_empty(), cover.left) {
            (true, _) => "nothing".to_owned(),
            (_, 0) => format!("{sheets}: enough"),
            (_, left) if line.purchase.is_none() => format!(
                "{sheets}: enough; {} no room in one piece there: cut it of an offcut, or pouchwork coupon scatters its pieces",
                if left == 1 { "the coupon has" } else { "the coupons have" }
            ),
            (_, left) => format!(
                "{sheets}: {} of {} find a place, {left} do not",
                cover.placed,
                cover.placed + left
            ),
        },
    ));
    if let Some(purchase) = &line.purchase {
        told.extend(of_purchase(purchase));
    }
    told.extend(line.asks.iter().flat_map(|ask| row("ask", ask)));
    told
}

/// A number of things in words.
pub fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// Thickness, tannage and side.
fn wanted(line: &OrderLine) -> String {
    let mut told = vec![match &line.thickness {
        Some(thickness) => format!("thickness {thickness}"),
        None => "thickness not said".to_owned(),
    }];
    told.extend(line.tannage.iter().map(|tannage| format!("tannage {tannage}")));
    told.push(format!("side {}", line.side));
    told.join("; ")
}

fn of_purchase(purchase: &Purchase) -> Vec<String> {
    let mut told = Vec::new();
    let goods =
        if purchase.goods.is_empty() { String::new() } else { format!("{}, ", purchase.goods) };
    told.extend(row("to buy", &format!("{goods}for {} net", both(purchase.net))));
    for (name, amount) in ["low", "likely", "high"].iter().zip(&purchase.amounts) {
        told.extend(row(name, &amount_in_words(purchase, amount)));
    }
    if purchase.nominal {
        told.extend(row("", NOMINAL));
    }
    told.extend(row("rule", &purchase.rule));
    let spread: Vec<String> = SPREAD
        .iter()
        .map(|it| format!("{:.2} sq ft at {}", gross(purchase.net, it.share) / SQ_FT, it.share))
        .collect();
    told.extend(row("trade", &format!("by published yields {}", spread.join(", "))));
    if let Some((_, text, source)) = &purchase.price {
        told.extend(row("price", &format!("{text} ({source})")));
    }
    if !purchase.unfit.is_empty() {
        let first: Vec<&str> = purchase.unfit.iter().take(5).map(String::as_str).collect();
        let more = if purchase.unfit.len() > 5 { ", …" } else { "" };
        let text = format!(
            "{} fit on none of that size: {}{more}; ask for larger ones",
            purchase.unfit.len(),
            first.join(", ")
        );
        told.extend(row("too large", &text));
    }
    told
}

/// How much to ask for, without how it came about.
fn extent_in_words(extent: &Extent) -> String {
    match extent {
        Extent::Skins(_, count) => counted(*count as usize, "whole skin"),
        Extent::Roll(_, bought) => {
            format!("{} ({:.3} m)", yards(*bought), bought / 1000.0)
        }
        Extent::Leaves(_, 1) => "1 leaf".to_owned(),
        Extent::Leaves(_, count) => format!("{count} leaves"),
        Extent::Area(area) => both(*area),
    }
}

/// Yards in quarters where they come out so, else with two places.
fn yards(mm: f64) -> String {
    let yards = mm / YARD;
    if (yards * 4.0 - (yards * 4.0).round()).abs() < 1e-6 {
        format!("{} yd", quarters(yards))
    } else {
        format!("{yards:.2} yd")
    }
}

fn amount_in_words(purchase: &Purchase, amount: &Amount) -> String {
    let mut told = extent_in_words(&amount.extent);
    match amount.extent {
        Extent::Skins(area, _) => {
            let marks = purchase.footage.map_or(String::new(), |marks| {
                format!(", marks of {} in all", footage_mark(area / SQ_FT, marks))
            });
            let _ = write!(told, ", of which {:.2} sq ft are cut up{marks}", area / SQ_FT);
        }
        Extent::Roll(length, _) => {
            let _ = write!(told, ", of which {length:.0} mm are cut up");
        }
        Extent::Leaves(came, _) => {
            let _ = write!(told, ", of which {came:.2} are cut up");
        }
        Extent::Area(_) => {}
    }
    if let (Some(cost), Some((currency, ..))) = (amount.cost, &purchase.price) {
        let _ = write!(told, ", {cost:.2} {currency}");
    }
    told
}

/// A text to paste into a letter: what is asked for, the likely amount and the high one.
pub fn letter(title: &str, lines: &[OrderLine]) -> String {
    let mut text = format!("For {title}\n\nPlease quote for:\n");
    let mut number = 0;
    for line in lines {
        let Some(purchase) = &line.purchase else { continue };
        number += 1;
        let [_, likely, high] = &purchase.amounts;
        let _ = write!(text, "\n{number}. {}", line.title);
        if !purchase.goods.is_empty() {
            let _ = write!(text, ", {}", purchase.goods);
        }
        let (likely, high) = (extent_in_words(&likely.extent), extent_in_words(&high.extent));
        let amount =
            if likely == high { likely } else { format!("{likely}, or {high} to be safe") };
        let _ = write!(text, "\n   {amount}\n   {}\n", wanted(line));
        if let Some(grade) = line.grade {
            let _ = writeln!(text, "   grade {grade} or better");
        }
        if purchase.nominal {
            let _ = writeln!(text, "   (reckoned on a {NOMINAL})");
        }
    }
    if number == 0 {
        return format!("For {title}\n\nNothing is to be bought: what is in hand is enough.\n");
    }
    text.push_str(
        "\nPlease say how the area is marked on each skin, what the actual thickness is, and how it was tanned or coated.\n",
    );
    text
}

/// A cell that no spreadsheet takes for a formula, quoted where it must be.
///
/// # Source
/// RFC 4180 for the quotes; a leading `=`, `+`, `-` or `@` begins a formula, so it gets a `'` before it (common practice).
pub fn safe_cell(text: &str) -> String {
    let line: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let line = line.trim();
    let guarded = match line.chars().next() {
        Some('=' | '+' | '-' | '@') if line.parse::<f64>().is_err() => format!("'{line}"),
        _ => line.to_owned(),
    };
    if guarded.contains([',', '"', ';', '\'']) {
        format!("\"{}\"", guarded.replace('"', "\"\""))
    } else {
        guarded
    }
}

const HEAD: &str = "material,title,grade,machines,pieces,spares,coupons,net-dm2,spares-dm2,coupons-dm2,thickness,tannage,\
                    side,in-hand,placed,left,to-buy,low,likely,high,low-cut,likely-cut,high-cut,unit,low-cost,likely-cost,\
                    high-cost,currency,price-source,remark";

/// The order as a table, a row a line.
pub fn csv(lines: &[OrderLine]) -> String {
    let mut text = format!("{HEAD}\n");
    for line in lines {
        let dm2 = |area: f64| format!("{:.3}", area / 1e4);
        let mut cells = vec![
            line.material.clone(),
            line.title.clone(),
            line.grade.map_or(String::new(), |grade| grade.to_string()),
            line.machines.join(" "),
            line.pieces.to_string(),
            line.spares.to_string(),
            line.coupons.to_string(),
            dm2(line.net),
            dm2(line.net_spares),
            dm2(line.net_coupons),
            line.thickness.clone().unwrap_or_default(),
            line.tannage.clone().unwrap_or_default(),
            line.side.clone(),
            line.cover.sheets.join(" "),
            line.cover.placed.to_string(),
            line.cover.left.to_string(),
        ];
        if let Some(purchase) = &line.purchase {
            cells.extend(bought(purchase));
        } else {
            cells.push("enough".to_owned());
            cells.extend(std::iter::repeat_n(String::new(), 13));
        }
        let cells: Vec<String> = cells.iter().map(|cell| safe_cell(cell)).collect();
        let _ = writeln!(text, "{}", cells.join(","));
    }
    text
}

/// The cells of what is to be bought: goods, how many, how much is cut up, in what unit, what it costs, a remark.
fn bought(purchase: &Purchase) -> Vec<String> {
    let figures = purchase.amounts.map(|amount| match amount.extent {
        Extent::Skins(area, count) => {
            (count.to_string(), format!("{:.3}", area / SQ_FT), "skins; cut up in sq ft")
        }
        Extent::Roll(length, bought) => {
            (format!("{:.3}", bought / YARD), format!("{:.3}", length / YARD), "yd")
        }
        Extent::Leaves(came, count) => (count.to_string(), format!("{came:.3}"), "leaves"),
        Extent::Area(area) => (format!("{:.3}", area / SQ_FT), String::new(), "sq ft"),
    });
    let costs = purchase.amounts.map(|a| a.cost.map_or(String::new(), |cost| format!("{cost:.2}")));
    let (currency, source) =
        purchase.price.as_ref().map_or((String::new(), String::new()), |(currency, _, source)| {
            (currency.clone(), source.clone())
        });
    let mut cells = vec![purchase.goods.clone()];
    cells.extend(figures.iter().map(|(count, ..)| count.clone()));
    cells.extend(figures.iter().map(|(_, cut, _)| cut.clone()));
    cells.push(figures[0].2.to_owned());
    cells.extend(costs);
    cells.extend([currency, source]);
    cells.push(if purchase.nominal { NOMINAL.to_owned() } else { String::new() });
    cells
}
