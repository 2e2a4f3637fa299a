//! `order`: how much leather and cloth to buy.

use super::args::{Common, LayArgs, OrderArgs};
use super::eyes::Eyes;
use super::open::{Open, open_to_buy};
use super::show::Show;
use super::{Answer, claims, desk, outcome_of};
use crate::fault::{Fault, any_error};
use crate::job::{batches, wishes, work_out};
use crate::lay::Effort;
use crate::order::{
    Amount, Extent, OrderLine, SPREAD, Wish, counted, csv, letter, order_lines, words,
};
use serde_json::{Value, json};
use std::collections::BTreeSet;

pub(super) fn run(common: &Common, how: &OrderArgs, show: &Show) -> Answer {
    let Open { folder, job, sources, warnings } = match open_to_buy(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    let (worked, more) = work_out(&job);
    let mut faults = warnings;
    faults.extend(more);
    if any_error(&faults) {
        return Answer::refused(faults, sources);
    }
    let list = match batches(&job, &worked) {
        Ok(list) => list,
        Err(more) => {
            faults.extend(more);
            return Answer::refused(faults, sources);
        }
    };
    let mut wanted = wishes(&job, &list);
    let made = without_made(&mut wanted, &claims::held_for(&folder, &job, true));
    let as_lay = LayArgs { effort: how.effort, seed: how.seed, time: None };
    let pieces = list.iter().map(|batch| batch.group.pieces.len()).sum();
    let watch = Eyes::new(&as_lay, show, pieces);
    let effort = Effort { evaluations: how.effort, seed: how.seed };
    let lines = order_lines(&wanted, effort, &watch);
    watch.done();
    faults.extend(lines.iter().filter_map(too_large));
    let mut answer = Answer::new();
    let told = (made > 0)
        .then(|| format!("not reckoned: {}, cut or claimed already", counted(made, "piece")));
    let out = folder.join("out");
    let table = out.join("order.csv");
    let mut files = vec![(table.clone(), csv(&lines).into_bytes())];
    let text = letter(&job.title, &lines);
    if how.letter {
        files.push((out.join("order.txt"), text.clone().into_bytes()));
        answer.lines = text.lines().map(str::to_owned).collect();
        answer.hint(format!("written to {}", out.join("order.txt").display()));
    } else {
        answer.lines = words(&lines);
        answer.lines.extend(told.iter().flat_map(|told| [String::new(), told.clone()]));
        answer.line("");
        answer.hint(format!("written to {}; with --letter a text to send", table.display()));
    }
    if let Err(fault) = desk::write_all(&files) {
        return Answer::refused(vec![fault], sources);
    }
    if lines.iter().any(|line| line.purchase.is_some()) {
        answer.hint("next: pouchwork lay, once it has come and stands in the job");
    } else {
        answer.hint("nothing is to be bought\nnext: pouchwork status");
    }
    answer.result = json!({
        "title": job.title,
        "seed": how.seed,
        "effort": how.effort,
        "made-already": made,
        "published-yields": SPREAD.map(|it| json!({ "yield": it.share, "said": it.said })),
        "lines": lines.iter().map(line_json).collect::<Vec<_>>(),
        "letter": how.letter.then_some(text),
        "files": files.iter().map(|(path, _)| path.display().to_string()).collect::<Vec<_>>(),
    });
    answer.outcome = outcome_of(&faults);
    answer.faults = faults;
    answer.sources = sources;
    answer
}

/// Takes out what is cut and good, or claimed by a cut file; gives the number of pieces.
fn without_made(wanted: &mut Vec<Wish>, made: &BTreeSet<String>) -> usize {
    let count = |wanted: &[Wish]| -> usize {
        wanted.iter().flat_map(|wish| &wish.shares).map(|share| share.group.pieces.len()).sum()
    };
    let before = count(wanted);
    for wish in wanted.iter_mut() {
        for share in &mut wish.shares {
            share.group.pieces.retain(|piece| !made.contains(&piece.address.to_string()));
        }
        wish.shares.retain(|share| !share.group.pieces.is_empty());
    }
    wanted.retain(|wish| !wish.shares.is_empty());
    before - count(wanted)
}

/// W70: pieces that no sheet takes of the size that is sold.
fn too_large(line: &OrderLine) -> Option<Fault> {
    let unfit = &line.purchase.as_ref()?.unfit;
    let first = unfit.first()?;
    Some(
        Fault::warning(
            "W70",
            format!(
                "{}: {} of its pieces fit on nothing as it is sold, {first} among them",
                line.material,
                unfit.len()
            ),
        )
        .cure(format!("ask for larger ones, and change [buy] in materials/{}.toml", line.material)),
    )
}

pub(super) fn line_json(line: &OrderLine) -> Value {
    let purchase = line.purchase.as_ref().map(|it| {
        let [low, likely, high] = it.amounts.map(|amount| amount_json(&amount));
        json!({
            "net-mm2": it.net,
            "goods": it.goods,
            "low": low,
            "likely": likely,
            "high": high,
            "rule": it.rule,
            "remark": it.nominal.then_some("nominal outline, not your hide"),
            "price": it.price.as_ref().map(|(_, text, source)| json!({ "text": text, "source": source })),
            "too-large": it.unfit,
        })
    });
    json!({
        "material": line.material,
        "title": line.title,
        "grade": line.grade,
        "machines": line.machines,
        "pieces": line.pieces,
        "spares": line.spares,
        "coupons": line.coupons,
        "net-mm2": line.net,
        "spares-mm2": line.net_spares,
        "coupons-mm2": line.net_coupons,
        "thickness": line.thickness,
        "tannage": line.tannage,
        "side": line.side,
        "in-hand": { "sheets": line.cover.sheets, "placed": line.cover.placed, "left": line.cover.left },
        "enough": line.purchase.is_none(),
        "to-buy": purchase,
        "asks": line.asks,
    })
}

fn amount_json(amount: &Amount) -> Value {
    let mut made = match amount.extent {
        Extent::Skins(area, count) => json!({ "skins": count, "cut-up-mm2": area }),
        Extent::Roll(length, bought) => json!({ "length-mm": bought, "cut-up-mm": length }),
        Extent::Leaves(came, count) => json!({ "leaves": count, "cut-up": came }),
        Extent::Area(area) => json!({ "area-mm2": area }),
    };
    made["cost"] = json!(amount.cost);
    made
}
