//! Which pieces come near one another: a grid of square cells, filled along the pieces, read cell by cell.

use super::track::Seg;

/// Least width of a cell (mm).
const CELL: f64 = 4.0;
/// More pieces than this in one cell are no drawing of parts.
const CROWD: usize = 20_000;
/// More way than this (mm) is no sheet's.
const WAY: f64 = 2e7;

/// Calls for every two pieces that may be within reach of each other, some of them more than once.
///
/// # Errors
/// A drawing that is longer or denser than any sheet's.
pub(super) fn pairs(
    segs: &[Seg],
    reach: f64,
    mut visit: impl FnMut(usize, usize),
) -> Result<(), String> {
    let cell = CELL.max(2.0 * reach);
    if segs.iter().map(Seg::length).sum::<f64>() > WAY {
        return Err("more lines than any sheet holds".to_owned());
    }
    let mut entries: Vec<(u64, u32)> = Vec::with_capacity(segs.len() * 8);
    for (i, seg) in segs.iter().enumerate() {
        fill(seg, u32::try_from(i).unwrap_or(u32::MAX), cell, reach / 2.0, &mut entries);
    }
    entries.sort_unstable();
    entries.dedup();
    for crowd in entries.chunk_by(|a, b| a.0 == b.0) {
        if crowd.len() > CROWD {
            return Err("more lines in one place than any part has".to_owned());
        }
        for (n, (_, i)) in crowd.iter().enumerate() {
            for (_, j) in &crowd[n + 1..] {
                visit(*i as usize, *j as usize);
            }
        }
    }
    Ok(())
}

/// The cells that a piece, widened all round, passes through.
fn fill(seg: &Seg, name: u32, cell: f64, wide: f64, entries: &mut Vec<(u64, u32)>) {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "capped above")]
    let parts = (seg.length() / cell).ceil().clamp(1.0, 1e6) as u32;
    let each = 1.0 / f64::from(parts);
    // An arc stands off the line between two of its points by no more than this.
    let off = seg.arc.map_or(0.0, |arc| {
        arc.radius * (1.0 - (arc.sweep.abs() * each / 2.0).min(std::f64::consts::PI).cos())
    });
    let wide = wide + off + 1e-6;
    let index = |mm: f64| {
        #[allow(clippy::cast_possible_truncation, reason = "coordinates are capped")]
        let index = (mm / cell).floor() as i32;
        index
    };
    let mut a = seg.at(0.0);
    for k in 1..=parts {
        let b = seg.at(each * f64::from(k));
        let low = [a[0].min(b[0]) - wide, a[1].min(b[1]) - wide];
        let high = [a[0].max(b[0]) + wide, a[1].max(b[1]) + wide];
        for x in index(low[0])..=index(high[0]) {
            for y in index(low[1])..=index(high[1]) {
                entries.push((key(x, y), name));
            }
        }
        a = b;
    }
}

fn key(x: i32, y: i32) -> u64 {
    (u64::from(x.cast_unsigned()) << 32) | u64::from(y.cast_unsigned())
}
