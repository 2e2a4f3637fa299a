//! Whether the words of a picture can be read: none on another, none off the page. For the tests of the room and those
//! from outside; it shares nothing with the writer and looks at the strokes as they were written.

/// Words that go into each other by no more than this do not touch to the eye (mm).
const TOUCH: f64 = 0.05;

/// The strokes of a word, as the line round them.
#[derive(Debug)]
struct Word {
    text: String,
    hull: Vec<(f64, f64)>,
    /// Half the width of its strokes.
    half: f64,
    low: (f64, f64),
    high: (f64, f64),
}

/// What is wrong with the words of a picture, in words; and how many it has.
pub(crate) fn clashes(svg: &str) -> (usize, Vec<String>) {
    let document = roxmltree::Document::parse(svg).expect("a picture");
    let view: Vec<f64> = document
        .root_element()
        .attribute("viewBox")
        .expect("a size")
        .split(' ')
        .map(|figure| figure.parse().expect("a figure"))
        .collect();
    let words: Vec<Word> = document.descendants().filter_map(word).collect();
    let mut found = Vec::new();
    for (i, word) in words.iter().enumerate() {
        let (low, high) = (word.low, word.high);
        if low.0 < view[0] || low.1 < view[1] || high.0 > view[2] || high.1 > view[3] {
            found.push(format!("\"{}\" reaches off the page, {low:?} to {high:?}", word.text));
        }
        for other in &words[..i] {
            let depth = depth(word, other);
            if depth > TOUCH {
                let at = (low.0 + high.0) / 2.0;
                found.push(format!(
                    "\"{}\" lies {depth:.2} mm on \"{}\" near x {at:.0}",
                    word.text, other.text
                ));
            }
        }
    }
    (words.len(), found)
}

/// A path that says what it writes.
fn word(node: roxmltree::Node<'_, '_>) -> Option<Word> {
    let text = node.attribute("aria-label").filter(|_| node.has_tag_name("path"))?;
    let figures: Vec<f64> = node
        .attribute("d")?
        .split(['M', 'L', ' '])
        .filter(|figure| !figure.is_empty())
        .map(|figure| figure.parse().expect("a coordinate"))
        .collect();
    let half = node.attribute("stroke-width")?.parse::<f64>().expect("a width") / 2.0;
    let points: Vec<(f64, f64)> = figures.chunks(2).map(|p| (p[0], p[1])).collect();
    let end = |pick: fn(&(f64, f64)) -> f64, way: f64| {
        way * points.iter().map(|p| way * pick(p)).fold(f64::NEG_INFINITY, f64::max) + way * half
    };
    Some(Word {
        text: text.to_owned(),
        low: (end(|p| p.0, -1.0), end(|p| p.1, -1.0)),
        high: (end(|p| p.0, 1.0), end(|p| p.1, 1.0)),
        hull: hull(points),
        half,
    })
}

/// The corners of the least convex line round points.
fn hull(mut points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    points.dedup();
    let turn = |a: (f64, f64), b: (f64, f64), c: (f64, f64)| {
        (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
    };
    let half = |points: &mut dyn Iterator<Item = (f64, f64)>| {
        let mut made: Vec<(f64, f64)> = Vec::new();
        for p in points {
            while made.len() > 1 && turn(made[made.len() - 2], made[made.len() - 1], p) <= 0.0 {
                made.pop();
            }
            made.push(p);
        }
        made.pop();
        made
    };
    let mut line = half(&mut points.iter().copied());
    line.extend(half(&mut points.iter().rev().copied()));
    if line.is_empty() { points } else { line }
}

/// How deep two words lie in each other; 0 or less where they do not.
fn depth(a: &Word, b: &Word) -> f64 {
    let apart =
        a.low.0 > b.high.0 || b.low.0 > a.high.0 || a.low.1 > b.high.1 || b.low.1 > a.high.1;
    if apart {
        return 0.0;
    }
    let mut least = f64::INFINITY;
    for hull in [&a.hull, &b.hull] {
        for (n, p) in hull.iter().enumerate() {
            let q = hull[(n + 1) % hull.len()];
            let (x, y) = (q.0 - p.0, q.1 - p.1);
            let long = x.hypot(y);
            if long < 1e-9 {
                continue;
            }
            let along = |p: &(f64, f64)| (p.0 * y - p.1 * x) / long;
            let span = |word: &Word| {
                let far = |way: f64| {
                    word.hull.iter().map(|p| way * along(p)).fold(f64::NEG_INFINITY, f64::max)
                        + word.half
                };
                (-far(-1.0), far(1.0))
            };
            let (one, other) = (span(a), span(b));
            least = least.min(one.1.min(other.1) - one.0.max(other.0));
        }
    }
    least
}
