//! What CSS may hide, move or reshape: read just far enough to refuse or to skip.

/// What a list of declarations does to a shape.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Effect {
    /// Taken out of the drawing.
    pub(super) gone: bool,
    /// Hidden (`Some(true)`) or shown again (`Some(false)`).
    pub(super) hidden: Option<bool>,
    /// Moved or reshaped in a way that is not read.
    pub(super) reshaped: bool,
}

/// Properties that change where or what a shape is.
///
/// # Source
/// SVG 2 (W3C), "Geometry properties"; CSS Transforms Modules Level 1 and 2 (W3C).
const RESHAPING: [&str; 18] = [
    "transform",
    "transform-origin",
    "transform-box",
    "translate",
    "rotate",
    "scale",
    "offset-path",
    "d",
    "x",
    "y",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "width",
    "height",
    "zoom",
];

/// The effect of the declarations in a `style` attribute.
pub(super) fn declared(text: &str) -> Effect {
    let mut effect = Effect::default();
    for declaration in text.split(';') {
        let Some((name, value)) = declaration.split_once(':') else {
            continue;
        };
        apply(&mut effect, name, value);
    }
    effect
}

/// The effect that the rules of a style sheet may have on some shape.
pub(super) fn sheet(text: &str) -> Effect {
    let mut effect = Effect::default();
    for piece in without_comments(text).split(['{', '}', ';']) {
        if let Some((name, value)) = piece.split_once(':') {
            apply(&mut effect, name, value);
        }
    }
    effect
}

/// One presentation attribute or declaration.
pub(super) fn apply(effect: &mut Effect, name: &str, value: &str) {
    let name = name.trim().to_ascii_lowercase();
    let value = value.trim().to_ascii_lowercase();
    let value = value.split('!').next().unwrap_or("").trim_end();
    match name.as_str() {
        "display" => effect.gone |= value == "none",
        "visibility" => match value {
            "hidden" | "collapse" => effect.hidden = Some(true),
            "visible" => effect.hidden = Some(false),
            _ => {}
        },
        _ => {
            effect.reshaped |=
                RESHAPING.contains(&name.as_str()) && value != "none" && value != "auto";
        }
    }
}

fn without_comments(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("/*") {
        plain.push_str(before);
        plain.push(' ');
        rest = after.split_once("*/").map_or("", |(_, after)| after);
    }
    plain.push_str(rest);
    plain
}
