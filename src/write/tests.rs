//! Figures, letters, words of the user's.

use super::number::{angle, bulge, fixed, mm};
use crate::letters::{ascii, height_within, one_line, strokes, width};
use crate::letters::{folded, slug};

/// A small seeded generator of figures between 0 and 1.
pub(super) struct Chance(pub(super) u64);

impl Chance {
    pub(super) fn next(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        #[allow(clippy::cast_precision_loss, reason = "53 bits fit")]
        let share = (self.0 >> 11) as f64 / (1_u64 << 53) as f64;
        share
    }
}

#[test]
fn figures_read_back_within_half_a_unit() {
    let mut chance = Chance(11);
    for _ in 0..20_000 {
        let size = 10_f64.powf(chance.next() * 12.0 - 7.0);
        let value = (chance.next() - 0.5) * size;
        for (text, decimals) in [(mm(value), 4), (bulge(value), 10), (angle(value), 6)] {
            let back: f64 = text.parse().expect("a figure");
            let half = 0.5 * 10_f64.powi(-decimals);
            assert!(
                (back - value).abs() <= half * (1.0 + 1e-9) + 2e-16 * value.abs(),
                "{value} as {text}"
            );
            assert!(!text.contains(['e', 'E', '+']), "{text}");
            assert!(!(text.contains('.') && text.ends_with('0')), "{text}");
            assert_ne!(text, "-0");
        }
    }
}

#[test]
fn figures_as_expected() {
    assert_eq!(mm(-0.000_04), "0");
    assert_eq!(mm(-0.0), "0");
    assert_eq!(mm(0.1 + 0.2), "0.3");
    assert_eq!(mm(1_190.123_45), "1190.1235");
    assert_eq!(mm(100.0), "100");
    assert_eq!(fixed(100.0, 0), "100");
    assert_eq!(mm(1e22), "10000000000000000000000");
    assert_eq!(mm(1e-17), "0");
    assert_eq!(super::number::pointed(3.0, 4), "3.0");
    assert_eq!(super::number::pointed(-3.25, 4), "-3.25");
}

#[test]
fn every_printable_character_has_strokes() {
    let mut seen: Vec<(char, Vec<_>)> = Vec::new();
    let extra = "°⌀×÷½¼¾⅛⅜⅝⅞±·—–−…→éüß";
    let unknown = strokes("中", 3.0);
    assert_eq!(unknown.len(), 1, "a small box");
    for c in ('!'..='~').chain(extra.chars()) {
        let lines = strokes(&c.to_string(), 3.0);
        assert!(!lines.is_empty(), "{c} has no strokes");
        assert!(lines.iter().all(|l| l.len() >= 2), "{c} has a lone point");
        assert_ne!(lines, unknown, "{c} is not drawn");
        for (other, drawn) in &seen {
            assert_ne!(drawn, &lines, "{c} looks like {other}");
        }
        for p in lines.iter().flatten() {
            let wide = width(&c.to_string(), 3.0);
            assert!((-0.35..=wide + 0.35).contains(&p.x), "{c} reaches to x {}", p.x);
            assert!((-1.05..=4.0).contains(&p.y), "{c} reaches to y {}", p.y);
        }
        seen.push((c, lines));
    }
    assert!(strokes(" ", 3.0).is_empty());
}

#[test]
fn letters_scale_and_follow_one_another() {
    let one = strokes("H", 6.0);
    let top = one.iter().flatten().map(|p| p.y).fold(0.0, f64::max);
    assert!((top - 6.0).abs() < 1e-12, "capitals are as high as asked");
    assert!(width("HH", 3.0) > 2.0 * width("H", 3.0));
    assert!((width("31", 4.0) - 2.0 * width("31", 2.0)).abs() < 1e-12);
    let h = height_within("a long line of words", 10.0, 3.0);
    assert!(width("a long line of words", h) <= 10.0 + 1e-9);
    assert!((height_within("a", 10.0, 3.0) - 3.0).abs() < 1e-12);
}

#[test]
fn words_become_one_harmless_line() {
    assert_eq!(one_line("a\nb\r\n\tc\u{0}\u{2028}d\u{202e}"), "a b   c  d");
    assert_eq!(ascii("1½ × ⌀3 — Zoë ± 中"), "1 1/2 x dia 3 - Zoe +/- ?");
    assert!(ascii("\u{7f}\u{85}ÿ…").is_ascii());
    assert_eq!(slug("facing:31/inner+1"), "facing-31-inner-1");
    assert_eq!(slug("../../etc"), "etc");
    assert_eq!(slug("31"), "n31");
    assert_eq!(slug("\"><script>"), "script");
    assert_eq!(slug("中"), "x");
}

#[test]
fn long_lines_fold_and_read_back() {
    let words: Vec<String> = (0..100).map(|i: u32| i.to_string()).collect();
    let line = words.join(" ");
    let parts = folded(&line, 40);
    assert!(parts.iter().all(|p| p.chars().count() <= 40));
    let back: String =
        parts.iter().enumerate().map(|(i, p)| if i == 0 { p.as_str() } else { &p[2..] }).collect();
    assert_eq!(back, line);
    assert_eq!(folded("", 40), vec![String::new()]);
}
