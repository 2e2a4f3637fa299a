//! Profiles that come with the program: invented, generic ones, for a first job and as samples.

macro_rules! profiles {
    ($($path:literal),* $(,)?) => {
        &[$(($path, include_str!(concat!("../../profiles/", $path)))),*]
    };
}

/// Every built-in profile: path and text.
pub const PROFILES: &[(&str, &str)] = profiles![
    "machines/diode-laser.toml",
    "machines/diode-laser-large.toml",
    "machines/drag-knife.toml",
    "machines/drag-knife-small.toml",
    "materials/bellows-cloth.toml",
    "materials/cork-sheet.toml",
    "materials/gasket-leather.toml",
    "materials/hinge-cloth.toml",
    "materials/leather-on-felt.toml",
    "materials/motor-cloth.toml",
    "materials/packing-paper.toml",
    "materials/pouch-leather.toml",
    "materials/thin-card.toml",
    "materials/valve-leather.toml",
    "materials/wool-felt.toml",
];

/// The text of a built-in profile by its path, such as `materials/pouch-leather.toml`.
pub fn profile(path: &str) -> Option<&'static str> {
    PROFILES.iter().find(|(known, _)| *known == path).map(|(_, text)| *text)
}
