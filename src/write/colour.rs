//! Colours of layers in cut files: the user's own where he gave one, else a fixed set.
//!
//! The fixed set only helps the eye; layers are told by name. A user's colour is `#rrggbb` or one of the numbers 1 to
//! 255 by which DXF names colours; anything else counts as none given.

use crate::plan::Layer;
use std::collections::BTreeMap;

/// Okabe and Ito's set of colours that most eyes tell apart.
///
/// # Source
/// M. Okabe, K. Ito, "Color Universal Design" (2002, 2008).
pub mod palette {
    /// Orange.
    pub const ORANGE: &str = "#E69F00";
    /// Sky blue.
    pub const SKY: &str = "#56B4E9";
    /// Bluish green.
    pub const GREEN: &str = "#009E73";
    /// Yellow; too faint for lines on white.
    pub const YELLOW: &str = "#F0E442";
    /// Blue.
    pub const BLUE: &str = "#0072B2";
    /// Vermilion.
    pub const VERMILION: &str = "#D55E00";
    /// Reddish purple.
    pub const PURPLE: &str = "#CC79A7";
    /// Black; in pictures only.
    pub const BLACK: &str = "#000000";
    /// Grey.
    pub const GREY: &str = "#808080";
}

/// The colours that the first seven numbers stand for.
const NUMBERED: [(u8, [u8; 3]); 7] = [
    (1, [255, 0, 0]),
    (2, [255, 255, 0]),
    (3, [0, 255, 0]),
    (4, [0, 255, 255]),
    (5, [0, 0, 255]),
    (6, [255, 0, 255]),
    (7, [255, 255, 255]),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Colour {
    Mixed([u8; 3]),
    Number(u8),
}

fn read(text: &str) -> Option<Colour> {
    let text = text.trim();
    if let Some(hex) = text.strip_prefix('#') {
        if hex.len() != 6 || !hex.bytes().all(|b| b.is_ascii_hexdigit()) {
            return None;
        }
        let [_, r, g, b] = u32::from_str_radix(hex, 16).ok()?.to_be_bytes();
        return Some(Colour::Mixed([r, g, b]));
    }
    text.parse().ok().filter(|n| *n > 0).map(Colour::Number)
}

fn given(layer: Layer, colours: &BTreeMap<String, String>) -> Option<Colour> {
    colours.get(layer.name()).and_then(|text| read(text))
}

/// The colour of a layer in an SVG file. A number above 7 has no fixed mixture and gives the layer's own default.
pub(super) fn in_svg(layer: Layer, colours: &BTreeMap<String, String>) -> String {
    let mixed = match given(layer, colours) {
        Some(Colour::Mixed(rgb)) => Some(rgb),
        Some(Colour::Number(7)) => Some([0, 0, 0]),
        Some(Colour::Number(n)) => NUMBERED.iter().find(|c| c.0 == n).map(|c| c.1),
        None => None,
    };
    match mixed {
        Some([r, g, b]) => format!("#{r:02X}{g:02X}{b:02X}"),
        None => default_of(layer).to_owned(),
    }
}

/// The number of a layer's colour in a DXF file: 7 unless the user gave one; a mixed colour gives the nearest of seven.
pub(super) fn in_dxf(layer: Layer, colours: &BTreeMap<String, String>) -> u8 {
    match given(layer, colours) {
        None | Some(Colour::Mixed([0, 0, 0])) => 7,
        Some(Colour::Number(n)) => n,
        Some(Colour::Mixed(rgb)) => NUMBERED
            .iter()
            .min_by_key(|(_, other)| {
                rgb.iter().zip(other).map(|(a, b)| u32::from(a.abs_diff(*b)).pow(2)).sum::<u32>()
            })
            .map_or(7, |c| c.0),
    }
}

fn default_of(layer: Layer) -> &'static str {
    match layer {
        Layer::Numbers => palette::GREY,
        Layer::Crease => palette::GREEN,
        Layer::Holes => palette::BLUE,
        Layer::Edges => palette::VERMILION,
        Layer::Punch => palette::PURPLE,
        Layer::Dots => palette::SKY,
        Layer::Rule => palette::ORANGE,
    }
}
