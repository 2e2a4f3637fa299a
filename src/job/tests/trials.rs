//! Whatever stands in the files: no panic, and every fault has its place.

use super::faults::base;
use super::*;

/// A small generator: the same numbers on every run.
///
/// # Source
/// Vigna, "An experimental exploration of Marsaglia's xorshift generators, scrambled", 2016 (splitmix64).
pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn new(seed: u64) -> Chance {
        Chance(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(super) fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n.max(1) as u64).unwrap()
    }
}

/// How often a random test runs: a twentieth of the full run, times `POUCHWORK_TRIALS`; 20 is the full run.
pub(super) fn trials(full: usize) -> usize {
    let times: f64 =
        std::env::var("POUCHWORK_TRIALS").ok().and_then(|t| t.parse().ok()).unwrap_or(1.0);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a count of trials"
    )]
    let count = (full as f64 / 20.0 * times) as usize;
    count.max(1)
}

const PIECES: &[&str] = &[
    "\"",
    "'",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "=",
    ",",
    ";",
    "#",
    "\n",
    "\\",
    ".",
    "-",
    "nan",
    "inf",
    "1e999",
    "true",
    "0",
    "99999999999999999999",
    "1-4000000000",
    "\"1 in\"",
    "[\"1 in\", \"2 in\"]",
    "[[part]]\n",
    "[job]\n",
    "unit = \"mm\"\n",
    "count = 3\n",
    "mate-of = \"pouch\"\n",
    "stretch = \"material\"\n",
    "½",
    "é",
    "\u{feff}",
    "\0",
    "\u{202e}",
    "-2 mm",
    "1,5",
    "8-Mar",
    "#REF!",
    "1 1/0 in",
    "table = \"p.csv\"\n",
    "outline = \"o.txt\"\n",
    "1979-05-27",
    "0x1F",
    "\"\"\"",
];

fn mutate(bytes: &mut Vec<u8>, chance: &mut Chance) {
    for _ in 0..=chance.below(4) {
        let at = chance.below(bytes.len() + 1);
        let end = (at + chance.below(12)).min(bytes.len());
        match chance.below(6) {
            0 => {
                bytes.drain(at..end);
            }
            1 => {
                let piece = PIECES[chance.below(PIECES.len())];
                bytes.splice(at..at, piece.bytes());
            }
            2 => {
                let piece = PIECES[chance.below(PIECES.len())];
                bytes.splice(at..end, piece.bytes());
            }
            3 => {
                let copy = bytes[at..end].to_vec();
                let to = chance.below(bytes.len() + 1);
                bytes.splice(to..to, copy);
            }
            4 => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = u8::try_from(chance.below(256)).unwrap();
                }
            }
            _ => {
                // A line goes, or stands twice.
                let from = bytes[..at].iter().rposition(|b| *b == b'\n').map_or(0, |n| n + 1);
                let to = bytes[at..]
                    .iter()
                    .position(|b| *b == b'\n')
                    .map_or(bytes.len(), |n| at + n + 1);
                let line: Vec<u8> = bytes.drain(from..to).collect();
                if chance.below(2) == 0 {
                    let twice = [line.as_slice(), line.as_slice()].concat();
                    bytes.splice(from..from, twice);
                }
            }
        }
    }
}

#[test]
fn no_text_breaks_the_reader() {
    let mut files = sample();
    for (path, bytes) in base().job {
        files.job.entry(path).or_insert(bytes);
    }
    for path in ["machines/diode-laser.toml", "materials/bellows-cloth.toml"] {
        let text = crate::job::builtin::profile(path).unwrap();
        files.job.insert(path.to_owned(), text.as_bytes().to_vec());
    }
    files.job.insert("o.txt".to_owned(), b"300 300 250\n310 300 20\n".to_vec());
    let one = files.text("job.toml").replace(
        "knife = \"drag-knife-small\"",
        "knife = \"drag-knife-small\"\nlaser = \"diode-laser\"",
    );
    let names: Vec<String> = files.job.keys().cloned().collect();
    let (mut sound, mut faulty) = (0, 0);
    for seed in 0..trials(20_000) {
        let mut chance = Chance::new(seed as u64);
        let job = if seed % 2 == 0 { base().text("job.toml") } else { one.clone() };
        let mut memory = files.clone().with("job.toml", job);
        let path =
            if chance.below(2) == 0 { "job.toml" } else { &names[chance.below(names.len())] };
        mutate(memory.job.get_mut(path).unwrap(), &mut chance);
        let mut sources = Sources::default();
        let (job, faults) = read_job(&memory, &mut sources);
        assert_eq!(job.is_none(), crate::fault::any_error(&faults), "seed {seed}");
        for fault in &faults {
            assert!(!fault.marks.is_empty(), "seed {seed}: {fault}");
            assert!(fault.cure.as_ref().is_some_and(|c| !c.is_empty()), "seed {seed}: {fault}");
            assert!(!fault.text.chars().any(char::is_control), "seed {seed}: {fault:?}");
            for mark in &fault.marks {
                let place = &mark.place;
                assert!(place.line > 0 && place.column > 0, "seed {seed}");
                // A whole file that is missing or not text has no line to show.
                if let Some(text) = sources.text(&place.file) {
                    assert!(
                        text.get(place.span.start..place.span.end).is_some(),
                        "seed {seed}: {fault}"
                    );
                    assert!(place.line <= text.matches('\n').count() + 1, "seed {seed}: {fault}");
                }
            }
        }
        match job {
            Some(_) => sound += 1,
            None => faulty += 1,
        }
    }
    assert!(sound > 0 && faulty > 0, "{sound} sound, {faulty} faulty");
}

#[test]
fn every_prefix_is_read() {
    let files = sample();
    for path in [
        "job.toml",
        "pouches.csv",
        "materials/pouch-leather.toml",
        "machines/drag-knife-small.toml",
    ] {
        let whole = files.job[path].clone();
        for end in (0..whole.len()).step_by(7) {
            let (job, faults) = files.clone().with(path, &whole[..end]).read();
            assert_eq!(job.is_none(), crate::fault::any_error(&faults));
        }
    }
}

#[test]
fn brackets_may_stand_64_deep() {
    for (deep, code) in
        [(63, "E11"), (64, "E11"), (65, "E07"), (79, "E07"), (200, "E07"), (100_000, "E07")]
    {
        let text = format!("x = {}{}\n", "[".repeat(deep), "]".repeat(deep));
        let (_, faults) = base().with("job.toml", text).read();
        assert!(faults.iter().any(|f| f.code == code), "{deep}: {faults:?}");
        let other = if code == "E07" { "E11" } else { "E07" };
        assert!(!faults.iter().any(|f| f.code == other), "{deep}: {faults:?}");
    }
}
