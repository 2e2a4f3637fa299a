//! Words of the user's own made harmless before they enter a file.
//!
//! Takes any text; gives one line of it without control characters, in full or in ASCII, or a slug for an id.
//! Escaping for markup is left to the crate that writes the markup.

/// One line: control characters, line breaks of every sort and marks that turn the reading direction become spaces,
/// what XML 1.0 cannot hold is left out, and spaces at both ends go.
pub fn one_line(text: &str) -> String {
    let held: String = text
        .chars()
        .filter(|c| !matches!(c, '\u{fffe}' | '\u{ffff}'))
        .map(|c| if breaks(c) { ' ' } else { c })
        .collect();
    held.trim().to_owned()
}

fn breaks(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{2028}' | '\u{2029}' | '\u{200e}' | '\u{200f}' | '\u{202a}'
                ..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}'
        )
}

/// One line in ASCII: signs of the trade are spelt, accents fall off, the rest becomes a question mark.
pub fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in one_line(text).chars() {
        if c.is_ascii() {
            out.push(c);
            continue;
        }
        match c {
            '\u{2300}' | 'Ø' | 'ø' => out.push_str("dia "),
            '×' => out.push('x'),
            '°' => out.push_str(" deg"),
            '±' => out.push_str("+/-"),
            '½' => out.push_str(" 1/2"),
            '¼' => out.push_str(" 1/4"),
            '¾' => out.push_str(" 3/4"),
            '⅛' => out.push_str(" 1/8"),
            '⅜' => out.push_str(" 3/8"),
            '⅝' => out.push_str(" 5/8"),
            '⅞' => out.push_str(" 7/8"),
            '·' => out.push('.'),
            '–' | '—' | '−' => out.push('-'),
            '‘' | '’' | '′' => out.push('\''),
            '“' | '”' | '″' => out.push('"'),
            'ß' => out.push_str("ss"),
            'æ' => out.push_str("ae"),
            'Æ' => out.push_str("AE"),
            _ => out.push(accented(c).map_or('?', |(base, _)| base)),
        }
    }
    out.trim().to_owned()
}

/// A mark over or under a letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Accent {
    Grave,
    Acute,
    Circumflex,
    Tilde,
    Dots,
    Ring,
    Cedilla,
}

/// The bare letter and its mark, for the accented letters of western Europe.
pub(super) fn accented(c: char) -> Option<(char, Accent)> {
    const ROWS: [(Accent, &str, &str); 7] = [
        (Accent::Grave, "ÀÈÌÒÙàèìòù", "AEIOUaeiou"),
        (Accent::Acute, "ÁÉÍÓÚÝáéíóúý", "AEIOUYaeiouy"),
        (Accent::Circumflex, "ÂÊÎÔÛâêîôû", "AEIOUaeiou"),
        (Accent::Tilde, "ÃÑÕãñõ", "ANOano"),
        (Accent::Dots, "ÄËÏÖÜäëïöüÿ", "AEIOUaeiouy"),
        (Accent::Ring, "Åå", "Aa"),
        (Accent::Cedilla, "Çç", "Cc"),
    ];
    ROWS.iter().find_map(|(accent, marked, bare)| {
        let at = marked.chars().position(|m| m == c)?;
        bare.chars().nth(at).map(|base| (base, *accent))
    })
}

/// A name for an id: small letters, digits and single hyphens; begins with a letter; never empty.
pub fn slug(text: &str) -> String {
    let mut out = String::new();
    for c in ascii(text).chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    let kept = out.trim_end_matches('-');
    match kept.chars().next() {
        None => "x".to_owned(),
        Some(c) if c.is_ascii_digit() => format!("n{kept}"),
        Some(_) => kept.to_owned(),
    }
}

/// A long line in pieces of at most `most` characters; the ones that follow begin with `+ `.
pub fn folded(line: &str, most: usize) -> Vec<String> {
    let chars: Vec<char> = line.chars().collect();
    let mut lines = Vec::new();
    let mut rest = &chars[..];
    loop {
        let head = if lines.is_empty() { "" } else { "+ " };
        let room = most.saturating_sub(head.len()).max(1);
        let cut = rest.len().min(room);
        lines.push(head.chars().chain(rest[..cut].iter().copied()).collect());
        rest = &rest[cut..];
        if rest.is_empty() {
            return lines;
        }
    }
}
