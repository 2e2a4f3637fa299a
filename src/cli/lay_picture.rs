//! The picture of a sheet as it is laid: what is written on the pieces and beneath them.

use super::lay::Laid;
use crate::geom::{Point, Rect, Seg, Vec2};
use crate::job::Job;
use crate::lay::Placed;
use crate::material::Face;
use crate::part::Piece;
use crate::safety;
use crate::sheet::Sheet;
use crate::write::{LaidPiece, LayMarks, lay_picture};

pub(super) fn picture(job: &Job, laid: &Laid, sheet: &Sheet, name: &str) -> crate::write::Picture {
    let (batch, pieces) = laid.on(sheet);
    let (lying, legend) = lying(&pieces);
    let title = format!("{} - {name} - {} {}", job.title, sheet.kind.name(), sheet.id);
    let machine =
        batch.map_or(String::new(), |b| format!("{}, cut with {}", b.material, b.machine));
    let up = sheet.up.map_or(String::new(), |face: Face| format!("; {face} side up"));
    let mut footer = vec![format!("{machine}{up}")];
    footer.extend(legend);
    footer.extend(corners(job, laid, sheet));
    footer.extend(job.materials.get(&sheet.material).and_then(safety::not_for_laser));
    lay_picture(sheet, &lying, &marks(job, laid, sheet), &title, &footer)
}

/// Pieces as they are drawn, and what their short labels stand for.
pub(super) fn lying(pieces: &[(&Piece, &Placed)]) -> (Vec<LaidPiece>, Option<String>) {
    let names = short_names(pieces);
    let lying = pieces.iter().filter_map(|(piece, placed)| {
        let design = piece.turns.design(placed.stance)?;
        let creases: Vec<Seg> = design.creases.iter().map(|s| placed.pose.on_seg(s)).collect();
        Some(LaidPiece {
            label: label(piece, placed, &names),
            shape: design.shape.posed(&placed.pose),
            mirrored: placed.pose.mirrored,
            spare: piece.address.spare > 0,
            spoilt: false,
            creases,
        })
    });
    (lying.collect(), legend(&names, pieces))
}

/// The point of a sheet that lies on the corner of the bed's margin while a window of it is cut.
fn corner(job: &Job, laid: &Laid, sheet: &Sheet, window: usize) -> Option<(Point, Rect)> {
    let (layout, _) = laid.layout_of(sheet)?;
    let batch = &laid.batches[laid.number_of(sheet)?.0];
    let setting = job.setting(&batch.material, &batch.machine);
    let kerf = setting.map_or(Vec2::ZERO, |it| Vec2::new(it.kerf_x, it.kerf_y));
    let own = layout.windows.get(window)?;
    let reach = batch.group.window.unwrap_or(own.bounds.size().to_vec2());
    let from = own.corner - kerf / 2.0;
    Some((from, Rect::from_points(from, own.corner + reach + kerf / 2.0)))
}

/// Where the windows of a sheet begin, in words.
fn corners(job: &Job, laid: &Laid, sheet: &Sheet) -> Option<String> {
    let (layout, ground) = laid.layout_of(sheet)?;
    let told: Vec<String> = layout
        .windows_of(ground)
        .into_iter()
        .filter_map(|w| {
            let (from, _) = corner(job, laid, sheet, w)?;
            Some(format!("{} x {:.1} y {:.1}", layout.window_number(w), from.x, from.y))
        })
        .collect();
    (!told.is_empty()).then(|| {
        format!("on the corner of the bed's margin, by window: {}", told.join("; "))
            .replace("-0.0", "0.0")
    })
}

/// The bed windows and register dots of a sheet, as they are drawn: of a window what the bed takes when the sheet lies
/// for it.
pub(super) fn marks(job: &Job, laid: &Laid, sheet: &Sheet) -> LayMarks {
    let Some((layout, ground)) = laid.layout_of(sheet) else { return LayMarks::default() };
    let window = |w: usize| {
        let taken = corner(job, laid, sheet, w).map_or(layout.windows[w].bounds, |it| it.1);
        (layout.window_number(w).to_string(), taken.intersect(sheet.outline.bounds()))
    };
    LayMarks {
        windows: layout.windows_of(ground).into_iter().map(window).collect(),
        dots: layout.dots.iter().filter(|d| d.ground == ground).map(|d| d.at).collect(),
        dashed: None,
    }
}

/// Names of the parts whose pieces are too small for their whole address, each with the letters that stand for it.
///
/// One part goes by numbers alone; of several each takes the first letters that tell it from the others.
pub(super) fn short_names<'a>(pieces: &[(&'a Piece, &Placed)]) -> Vec<(&'a str, String)> {
    let mut names: Vec<&str> = pieces
        .iter()
        .filter(|(piece, placed)| is_small(piece, placed))
        .map(|(piece, _)| piece.address.part.as_str())
        .collect();
    names.sort_unstable();
    names.dedup();
    let letters = |name: &str| {
        if names.len() == 1 {
            return String::new();
        }
        (1..=name.len())
            .map(|n| &name[..n])
            .find(|head| names.iter().filter(|other| other.starts_with(head)).count() == 1)
            .unwrap_or(name)
            .to_owned()
    };
    names.iter().map(|name| (*name, letters(name))).collect()
}

/// Whether a piece is too small for its whole address.
fn is_small(piece: &Piece, placed: &Placed) -> bool {
    let room = piece.turns.design(placed.stance).map(|d| d.shape.bounds());
    room.is_none_or(|b| b.width().max(b.height()) < 80.0)
}

/// What is written on a piece in the picture: its address, or letters, place, member and spare where it is small.
pub(super) fn label(piece: &Piece, placed: &Placed, names: &[(&str, String)]) -> String {
    let address = &piece.address;
    if !is_small(piece, placed) {
        return address.to_string();
    }
    let letters = names.iter().find(|(name, _)| *name == address.part).map_or("", |(_, l)| l);
    let between = if letters.ends_with(|c: char| c.is_ascii_digit()) { ":" } else { "" };
    let member = address.member.map_or(String::new(), |m| {
        let number = if m.number > 0 { m.number.to_string() } else { String::new() };
        format!("/{}{number}", m.word.chars().take(1).collect::<String>())
    });
    let spare = if address.spare > 0 { format!("+{}", address.spare) } else { String::new() };
    format!("{letters}{between}{}{member}{spare}", address.position)
}

/// What the short labels stand for: the parts' letters, and the first letters of the pieces that belong to a part.
pub(super) fn legend(names: &[(&str, String)], pieces: &[(&Piece, &Placed)]) -> Option<String> {
    let mut words: Vec<&str> = pieces
        .iter()
        .filter(|(piece, placed)| is_small(piece, placed))
        .filter_map(|(piece, _)| piece.address.member.map(|m| m.word))
        .collect();
    words.sort_unstable();
    words.dedup();
    let mut told: Vec<String> = match names {
        [] => return None,
        [(name, _)] => vec![format!("numbers alone: {name}")],
        many => many.iter().map(|(name, l)| format!("{l} {name}")).collect(),
    };
    told.extend(
        words.iter().map(|word| format!("/{} {word}", word.chars().take(1).collect::<String>())),
    );
    Some(format!("{}; +1 and so on: spares", told.join(", ")))
}
