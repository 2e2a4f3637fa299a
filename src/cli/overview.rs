//! What `draw` adds to the pictures of the parts: strip charts of their columns, and the whole job on one page.

use super::desk;
use crate::geom::Shape;
use crate::job::{Job, Worked, places};
use crate::material::Material;
use crate::part::{Piece, Positions, Size, pieces};
use crate::units::Unit;
use crate::write::{Overview, Picture, Tile, Total, overview_picture, place_charts};
use std::collections::BTreeMap;

/// A size that so many times fewer places have than the commonest is odd.
const FEW: usize = 4;

/// Charts of the parts that are `wanted`, and the overview where all are; each with the name of its files, none of
/// those that are `taken`.
pub(super) fn pictures(
    job: &Job,
    worked: &[Worked<'_>],
    wanted: &dyn Fn(&Worked<'_>) -> bool,
    taken: &[&str],
) -> Vec<(String, Picture)> {
    let mut made: Vec<(String, Picture)> = Vec::new();
    for it in worked.iter().filter(|it| wanted(it)) {
        // Papers of valves have a chart of their own: `travel`.
        let papers = job.travels.iter().flat_map(|travel| &travel.papers);
        if papers.into_iter().any(|paper| paper.part == it.part.name) {
            continue;
        }
        let columns = it.part.columns();
        if columns.is_empty() {
            continue;
        }
        let title = format!("{}, place by place", it.part.name);
        let unit = job.unit.unwrap_or(Unit::Millimetre);
        for (n, picture) in place_charts(&title, &columns, unit).into_iter().enumerate() {
            let page = if n == 0 { String::new() } else { format!("-{}", n + 1) };
            let mut name = format!("{}-places{page}", desk::file_name(&it.part.name));
            // A part may be called `pouch-places`, and some systems know no capitals.
            let own = |name: &str, made: &[(String, Picture)]| {
                let known = taken.iter().copied().chain(made.iter().map(|it| it.0.as_str()));
                known.into_iter().any(|other| other.eq_ignore_ascii_case(name))
            };
            while own(&name, &made) {
                name.push('_');
            }
            made.push((name, picture));
        }
    }
    if worked.iter().all(wanted) {
        made.push(("overview".to_owned(), overview_picture(&overview(job, worked))));
    }
    made
}

/// The job, part by part.
fn overview<'a>(job: &Job, worked: &'a [Worked<'_>]) -> Overview<'a> {
    let mut totals: BTreeMap<&str, Total> = BTreeMap::new();
    let mut tiles = Vec::new();
    for it in worked {
        let made = all_pieces(job, it);
        let total = totals.entry(&it.part.material).or_insert_with(|| Total {
            material: it.part.material.clone(),
            pieces: 0,
            spares: 0,
            net: 0.0,
            spare: 0.0,
        });
        let mut spares = 0;
        for piece in &made {
            let area = piece.turns.design(0).map_or(0.0, |design| design.shape.area());
            if piece.address.spare > 0 {
                spares += 1;
                total.spare += area;
            } else {
                total.net += area;
            }
        }
        total.pieces += made.len() - spares;
        total.spares += spares;
        let first = it.sizes.iter().find_map(|size| size.developed.members.first());
        tiles.push(Tile {
            name: it.part.title(),
            kind: it.part.companion.map_or_else(|| it.part.kind.to_string(), str::to_owned),
            shape: first.map(|member| -> &Shape { &member.shape }),
            creases: first.map_or(&[], |member| &member.creases),
            punches: first.map_or(&[], |member| &member.punches),
            numbered: matches!(it.part.positions, Positions::Numbered(_)),
            places: it.sizes.iter().map(|size| size.positions.len()).sum(),
            sizes: it.sizes.len(),
            pieces: made.len() - spares,
            spares,
            odd: odd(&it.sizes),
            material: it.part.material.clone(),
            machine: it.part.cut_with.clone(),
        });
    }
    Overview { title: job.title.clone(), tiles, totals: totals.into_values().collect() }
}

/// The pieces of a part with its spares; none where they cannot be made, which has its own fault.
fn all_pieces(job: &Job, it: &Worked<'_>) -> Vec<Piece> {
    let woven = job.materials.get(&it.part.material).is_some_and(Material::is_woven);
    pieces(it.part, &it.sizes, woven, 0).unwrap_or_default()
}

/// Places whose size few others have.
fn odd(sizes: &[Size]) -> String {
    let most = sizes.iter().map(|size| size.positions.len()).max().unwrap_or(0);
    let few = sizes.iter().filter(|size| FEW * size.positions.len() <= most);
    let numbers: Vec<u32> = few.flat_map(|size| size.positions.iter().copied()).collect();
    if numbers.is_empty() { String::new() } else { places(&numbers) }
}
