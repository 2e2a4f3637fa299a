//! Figures as text: fixed decimals, a point, no exponent, never a lone minus zero.
//!
//! Takes a figure; gives the same text for the same figure on every machine. What is not finite is written as
//! the word Rust has for it, so that no reader takes it for a place on the sheet.

/// Decimals of a coordinate in a file.
///
/// # Source
/// NIST IR 6556 (Kramer, Proctor, Messina 2000) lets the two radii of an arc differ by 0.002 mm; three decimals can
/// break that, four cannot.
pub const MM_DECIMALS: usize = 4;
/// Decimals of a bulge: an arc over a chord of 1 m then stands off by less than 1e-7 mm.
pub const BULGE_DECIMALS: usize = 10;
/// Decimals of an angle in degrees.
pub const ANGLE_DECIMALS: usize = 6;

/// A figure with at most so many decimals, zeros at its end left off.
pub fn fixed(value: f64, decimals: usize) -> String {
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        let kept = text.trim_end_matches('0').trim_end_matches('.').len();
        text.truncate(kept);
    }
    if text == "-0" {
        text.remove(0);
    }
    text
}

/// A length or a coordinate.
///
/// # Units
/// Millimetres, four decimals.
pub fn mm(value: f64) -> String {
    fixed(value, MM_DECIMALS)
}

/// The bulge of an arc: the tangent of a quarter of its angle.
pub fn bulge(value: f64) -> String {
    fixed(value, BULGE_DECIMALS)
}

/// An angle.
///
/// # Units
/// Degrees, six decimals.
pub fn angle(value: f64) -> String {
    fixed(value, ANGLE_DECIMALS)
}

/// The coordinate that a reader gets back.
///
/// # Units
/// Millimetres.
pub fn as_written(value: f64) -> f64 {
    mm(value).parse().unwrap_or(value)
}

/// A figure that always shows its point, as tagged drawing files like it.
pub(super) fn pointed(value: f64, decimals: usize) -> String {
    let mut text = fixed(value, decimals);
    if text.bytes().all(|b| b.is_ascii_digit() || b == b'-') {
        text.push_str(".0");
    }
    text
}
