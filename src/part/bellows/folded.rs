//! A bellows from its side, open and shut: boards, the line of the cloth, where its folds come to lie.
//!
//! # Source
//! Boards turn about the middle of the hinge gap; half an end panel is as long folded as it is open, so its ridge stands on
//! the middle line at that distance from both boards: plane geometry, the cloth without thickness.

use super::boxed::Box;
use super::motion::at_span;
use super::report::stack;
use super::wedge::{Corner, Manner, Wedge};
use super::{corner, opened};
use crate::geom::{Loop, Point, Seg, Vec2, turn_vector};
use crate::part::assembled::{Assembled, LineSort};
use crate::part::measures::Measures;
use crate::part::member::{Developed, Dimension};
use crate::part::sum::shown;

/// The views of a bellows.
pub(in crate::part) fn folded(m: &Measures) -> Vec<Assembled> {
    match m.word("boards") {
        Some("parallel") => parallel(m),
        Some("double") => double(m),
        _ => single(m),
    }
    .unwrap_or_default()
}

/// Where a wedge lies in its view: its own system has the pivot at the origin and the middle line along x.
#[derive(Debug, Clone, Copy)]
struct Lie {
    /// Turn of the middle line (radians).
    turn: f64,
    /// The pivot.
    at: Point,
    /// Mirrored top to bottom.
    below: bool,
}

impl Lie {
    const LEVEL: Lie = Lie { turn: 0.0, at: Point::ORIGIN, below: false };

    fn on(&self, x: f64, y: f64) -> Point {
        let p = turn_vector(Vec2::new(x, y), self.turn.to_degrees());
        self.at + Vec2::new(p.x, if self.below { -p.y } else { p.y })
    }
}

/// A wedge opened to half angle `theta`.
struct Opened<'a> {
    m: &'a Measures,
    wedge: &'a Wedge,
    corner: &'a Corner,
    theta: f64,
    lie: Lie,
}

impl Opened<'_> {
    /// A point of the upper board, `out` of its inner face; `up` is -1 for the lower one.
    fn on_board(&self, along: f64, out: f64, up: f64) -> Point {
        let p = turn_vector(Vec2::new(along, self.wedge.gap / 2.0 + out), self.theta.to_degrees());
        self.lie.on(p.x, up * p.y)
    }

    fn board(&self, thick: f64, up: f64) -> Option<Loop> {
        let length = self.wedge.length;
        let corners = [(0.0, 0.0), (length, 0.0), (length, thick), (0.0, thick)];
        let mut points: Vec<Point> =
            corners.iter().map(|(x, y)| self.on_board(*x, *y, up)).collect();
        if (up < 0.0) != self.lie.below {
            points.reverse();
        }
        Loop::polygon(&points).ok()
    }

    /// The open end's corner in the wedge's own system.
    fn tip(&self) -> Vec2 {
        turn_vector(Vec2::new(self.wedge.length, self.wedge.gap / 2.0), self.theta.to_degrees())
    }

    /// Where the ridge of the open end's panel stands on the middle line, and how far that is from the boards' corners.
    fn ridge(&self) -> (f64, f64) {
        let tip = self.tip();
        let half = self.wedge.inside / 2.0;
        let reach = (half * half - tip.y * tip.y).max(0.0).sqrt();
        let out = self.corner.manner == Manner::Outward;
        (if out { tip.x + reach } else { tip.x - reach }, reach)
    }

    /// Cloth, folds and cards; `lands` are the glue lands above and below.
    fn lines(&self, lands: (f64, f64), full: bool) -> Vec<(LineSort, Vec<Seg>)> {
        let (length, tip) = (self.wedge.length, self.tip());
        let at = |x: f64| self.lie.on(x, 0.0);
        let (up, down) = (self.on_board(length, 0.0, 1.0), self.on_board(length, 0.0, -1.0));
        let over = self.on_board(length, lands.0, 1.0);
        let under = self.on_board(length, lands.1, -1.0);
        let (ridge, _) = self.ridge();
        let mut made = vec![
            (LineSort::Skin, vec![Seg::line(over, up)]),
            (LineSort::Skin, vec![Seg::line(down, under)]),
        ];
        let begins = if let Some(gap) = self.m.mm("pivot-gap") {
            at(gap)
        } else {
            let around = [(lands.0, 1.0), (0.0, 1.0), (0.0, -1.0), (lands.1, -1.0)]
                .map(|(out, up)| self.on_board(0.0, out, up));
            let chain = around.windows(2).filter(|w| (w[1] - w[0]).hypot() > 1e-9);
            made.push((LineSort::Skin, chain.map(|w| Seg::line(w[0], w[1])).collect()));
            around[1].midpoint(around[2])
        };
        if full {
            let meet = tip.x - self.corner.along_side(self.wedge.inside / 2.0, self.theta);
            made.push((LineSort::Skin, vec![Seg::line(up, down)]));
            made.push((LineSort::Fold, vec![Seg::line(begins, at(meet))]));
            if self.corner.manner != Manner::TuckInEnd {
                made.push((
                    LineSort::Fold,
                    vec![Seg::line(up, at(meet)), Seg::line(at(meet), down)],
                ));
            }
            return made;
        }
        let sort = if ridge > tip.x { LineSort::Skin } else { LineSort::Hidden };
        made.push((sort, vec![Seg::line(up, at(ridge)), Seg::line(at(ridge), down)]));
        if (at(ridge) - begins).hypot() > 1e-6 {
            made.push((LineSort::Fold, vec![Seg::line(begins, at(ridge.min(tip.x)))]));
        }
        let inset = self.m.companion("card").and_then(|card| card.mm("inset"));
        if let Some(inset) = inset {
            made.extend([up, down].iter().filter_map(|end| stiff(*end, at(ridge), inset)));
        }
        made
    }

    /// The opening as it is measured, between the boards or over them, with a figure that stands on the open end's side.
    fn opening(&self, outside: bool) -> Dimension {
        let out = if outside { self.wedge.board } else { 0.0 };
        let ends = [-1.0, 1.0].map(|up| self.on_board(self.wedge.length, out, up));
        let [low, high] = if self.lie.below { [ends[1], ends[0]] } else { ends };
        Dimension::Span(low, high, -1.0, shown((high - low).hypot()))
    }
}

/// A card on a panel, clear of both its folds.
fn stiff(from: Point, to: Point, inset: f64) -> Option<(LineSort, Vec<Seg>)> {
    let way = to - from;
    let long = way.hypot();
    (long > 2.0 * inset).then(|| {
        let step = way / long * inset;
        (LineSort::Stiff, vec![Seg::line(from + step, to - step)])
    })
}

/// How far a fold reaches in or out, below the view.
fn reaching(ridge: f64, end: f64, y: f64, out: bool) -> Dimension {
    let (from, to) = (ridge.min(end), ridge.max(end));
    let words = if out { " outward" } else { " inward" };
    Dimension::Span(Point::new(from, y), Point::new(to, y), -1.0, shown(to - from).and(words))
}

/// A view with what is there.
fn view(
    name: &str,
    boards: impl IntoIterator<Item = Option<Loop>>,
    lines: Vec<(LineSort, Vec<Seg>)>,
    dimensions: Vec<Dimension>,
) -> Assembled {
    let boards = boards.into_iter().flatten().collect();
    Assembled { name: name.to_owned(), boards, lines, dimensions }
}

fn single(m: &Measures) -> Option<Vec<Assembled>> {
    let wedge = opened(m, "span", m.mm("board")?, &mut Developed::default())?;
    let corner = corner(m, wedge.alpha, wedge.inside, (None, wedge.width)).ok()?;
    let outside = m.word("span-is") == Some("outside");
    let lands = (wedge.board, wedge.below);
    let at = |theta: f64| Opened { m, wedge: &wedge, corner: &corner, theta, lie: Lie::LEVEL };
    let boards = |it: &Opened<'_>| [it.board(wedge.board, 1.0), it.board(wedge.board, -1.0)];
    let open = at(wedge.alpha);
    let upper = [0.0, wedge.length].map(|x| open.on_board(x, wedge.board, 1.0));
    let length = Dimension::Span(upper[0], upper[1], 1.0, shown(wedge.length));
    let figures = vec![open.opening(outside), length];
    let first = view("side, fully open", boards(&open), open.lines(lands, true), figures);
    let (name, theta) = match at_span(m, &wedge, "closed") {
        Some(theta) => ("side, shut", theta),
        None => ("side, half open", wedge.alpha / 2.0),
    };
    let shut = at(theta);
    let mut figures = vec![shut.opening(outside)];
    let (ridge, reach) = shut.ridge();
    if reach > 1e-6 {
        figures.push(reaching(ridge, shut.tip().x, 0.0, ridge > shut.tip().x));
    }
    let second = view(name, boards(&shut), shut.lines(lands, false), figures);
    Some(vec![first, second])
}

fn double(m: &Measures) -> Option<Vec<Assembled>> {
    let leaf = m.mm("leaf")?;
    let second = if m.has("second-span") { "second-span" } else { "span" };
    let mut spare = Developed::default();
    let mut both = Vec::new();
    for key in ["span", second] {
        let wedge = opened(m, key, leaf / 2.0, &mut spare)?;
        let corner = corner(m, wedge.alpha, wedge.inside, (None, wedge.width)).ok()?;
        both.push((wedge, corner));
    }
    let p = Point::new;
    let made = |name: &str, shares: [f64; 2]| {
        let (length, half) = (both[0].0.length, leaf / 2.0);
        let mut boards = vec![
            Loop::polygon(&[p(0.0, -half), p(length, -half), p(length, half), p(0.0, half)]).ok(),
        ];
        let (mut lines, mut figures) = (Vec::new(), Vec::new());
        for (n, ((wedge, corner), share)) in both.iter().zip(shares).enumerate() {
            let below = n == 1;
            let theta = wedge.alpha * share;
            let pivot = half + wedge.gap / 2.0;
            let at = p(0.0, if below { -pivot } else { pivot });
            let it = Opened { m, wedge, corner, theta, lie: Lie { turn: theta, at, below } };
            boards.push(it.board(wedge.board, 1.0));
            lines.extend(it.lines((wedge.board, wedge.below), share >= 1.0));
            if share > 0.0 {
                figures.push(it.opening(false));
            }
        }
        view(name, boards, lines, figures)
    };
    Some(vec![
        made("side, first wedge open, second shut", [1.0, 0.0]),
        made("side, leaf in the middle", [0.5, 0.5]),
    ])
}

fn parallel(m: &Measures) -> Option<Vec<Assembled>> {
    let (length, width, board, span) =
        (m.mm("length")?, m.mm("width")?, m.mm("board")?, m.mm("span")?);
    let outside = m.word("span-is") == Some("outside");
    let inside = if outside { span - 2.0 * board } else { span };
    let pleats = m.count("pleats").unwrap_or(1);
    let it = Box { length, width, board, inside, pleats };
    let corner = corner(m, 0.0, it.fold(), (Some(length), width)).ok()?;
    let (name, low) = match m.mm("cloth") {
        Some(cloth) => ("side, shut", (f64::from(pleats) * stack(m, cloth).0).min(inside)),
        None => ("side, half open", inside / 2.0),
    };
    let boards = |open: f64| {
        [open / 2.0, -open / 2.0 - board].map(|y| {
            let p = Point::new;
            Loop::polygon(&[p(0.0, y), p(length, y), p(length, y + board), p(0.0, y + board)]).ok()
        })
    };
    let opening = |open: f64| {
        let half = open / 2.0 + if outside { board } else { 0.0 };
        let (low, high) = (Point::new(length, -half), Point::new(length, half));
        Dimension::Span(low, high, -1.0, shown(2.0 * half))
    };
    let top = inside / 2.0 + board;
    let long = Dimension::Span(Point::new(0.0, top), Point::new(length, top), 1.0, shown(length));
    let first = view(
        "side, fully open",
        boards(inside),
        open_box(&it, &corner),
        vec![opening(inside), long],
    );
    let mut figures = vec![opening(low)];
    let (lines, reach) = folded_box(m, &it, &corner, low);
    let out = corner.manner == Manner::Outward;
    let ridge = if out { length + reach } else { length - reach };
    figures.push(reaching(ridge, length, -low / 2.0 - board, out));
    Some(vec![first, view(name, boards(low), lines, figures)])
}

/// The side panel of a box, fully open.
fn open_box(it: &Box, corner: &Corner) -> Vec<(LineSort, Vec<Seg>)> {
    let p = Point::new;
    let (half, fold, length) = (it.inside / 2.0, it.fold(), it.length);
    let outer = half + it.board;
    let mut made: Vec<_> =
        [0.0, length].map(|x| (LineSort::Skin, vec![Seg::line(p(x, -outer), p(x, outer))])).into();
    let meet = corner.along_side(fold / 2.0, 0.0);
    for n in 0..it.pleats {
        let middle = (f64::from(n) + 0.5) * fold - half;
        let ends = [p(meet, middle), p(length - meet, middle)];
        made.push((LineSort::Fold, vec![Seg::line(ends[0], ends[1])]));
        if n > 0 {
            let y = middle - fold / 2.0;
            made.push((LineSort::Fold, vec![Seg::line(p(0.0, y), p(length, y))]));
        }
        if corner.manner != Manner::TuckInEnd {
            for (x, end) in [0.0, length].into_iter().zip(ends) {
                let (low, high) = (p(x, middle - fold / 2.0), p(x, middle + fold / 2.0));
                made.push((LineSort::Fold, vec![Seg::line(low, end), Seg::line(end, high)]));
            }
        }
    }
    made
}

/// The folds of a box at a lower opening, and how far they reach.
fn folded_box(
    m: &Measures,
    it: &Box,
    corner: &Corner,
    open: f64,
) -> (Vec<(LineSort, Vec<Seg>)>, f64) {
    let p = Point::new;
    let half = it.fold() / 2.0;
    let step = open / f64::from(it.pleats) / 2.0;
    let reach = (half * half - step * step).max(0.0).sqrt();
    let out = corner.manner == Manner::Outward;
    let sort = if out { LineSort::Skin } else { LineSort::Hidden };
    let inset = m.companion("card").and_then(|card| card.mm("inset"));
    let mut made = Vec::new();
    for (x, inward) in [(0.0, 1.0), (it.length, -1.0)] {
        let ridge = x + if out { -inward * reach } else { inward * reach };
        for n in 0..it.pleats {
            let low = f64::from(n) * 2.0 * step - open / 2.0;
            let corners = [p(x, low), p(ridge, low + step), p(x, low + 2.0 * step)];
            let chain = corners.windows(2).map(|w| Seg::line(w[0], w[1])).collect();
            made.push((sort, chain));
            if let Some(inset) = inset {
                let ends = [corners[0], corners[2]];
                made.extend(ends.iter().filter_map(|end| stiff(*end, corners[1], inset)));
            }
        }
        for y in [open / 2.0, -open / 2.0 - it.board] {
            made.push((LineSort::Skin, vec![Seg::line(p(x, y), p(x, y + it.board))]));
        }
    }
    for n in 0..it.pleats {
        let y = (f64::from(n) * 2.0 + 1.0) * step - open / 2.0;
        let from = if out { 0.0 } else { reach };
        if it.length > 2.0 * from {
            made.push((LineSort::Fold, vec![Seg::line(p(from, y), p(it.length - from, y))]));
        }
    }
    (made, reach)
}

#[cfg(test)]
mod tests {
    use super::super::keys::KEYS;
    use super::*;
    use crate::part::trial::given;
    use approx::assert_relative_eq;

    const WEDGE: [(&str, &str); 6] = [
        ("length", "4 7/8 in"),
        ("width", "15/16 in"),
        ("board", "3/16 in"),
        ("span", "7/8 in"),
        ("span-is", "inside"),
        ("closed", "1/16 in"),
    ];

    fn spans(view: &Assembled) -> Vec<(f64, f64)> {
        let measured = |d: &Dimension| match d {
            Dimension::Span(a, b, _, figure) => Some(((*b - *a).hypot(), figure.mm)),
            Dimension::Diameter(..) => None,
        };
        view.dimensions.iter().filter_map(measured).collect()
    }

    // Every figure is as long as what it is drawn between, and the opening is the measure itself. The pair 7/8 inside and
    // 1 1/4 outside is published (MMD 2008.07.28.08 and 2012.01.30.05); it meets within 0.002 in.
    #[test]
    fn a_wedge_opens_to_its_measures() {
        let views = folded(&given(&WEDGE, KEYS));
        assert_eq!(views.len(), 2);
        for (have, figure) in views.iter().flat_map(spans) {
            assert_relative_eq!(have, figure, max_relative = 1e-9);
        }
        assert_relative_eq!(spans(&views[0])[0].1, 7.0 / 8.0 * 25.4, max_relative = 1e-9);
        assert_relative_eq!(spans(&views[1])[0].1, 25.4 / 16.0, max_relative = 1e-9);
        let outer = views[0].boards.iter().flat_map(Loop::segs).filter(|s| s.a.x > 100.0);
        let high = outer.map(|s| s.a.y).fold(0.0, f64::max);
        assert_relative_eq!(2.0 * high, 1.25 * 25.4, epsilon = 0.002 * 25.4);
        let over = [&WEDGE[..3], &[("span", "1 1/4 in"), ("span-is", "outside")]].concat();
        let views = folded(&given(&over, KEYS));
        assert_relative_eq!(spans(&views[0])[0].1, 1.25 * 25.4, max_relative = 1e-9);
    }

    // A panel folds without growing: from board to ridge it is half the span, open or shut.
    #[test]
    fn half_an_end_panel_keeps_its_length() {
        for folds in ["in", "out"] {
            // Outward folds want a wide end.
            let typed = [&WEDGE[..], &[("folds", folds), ("width", "4 in")]].concat();
            let views = folded(&given(&typed, KEYS));
            let shut = views.last().expect("two views");
            let sort = if folds == "in" { LineSort::Hidden } else { LineSort::Skin };
            let ridge: Vec<f64> = shut
                .lines
                .iter()
                .filter(|(s, chain)| *s == sort && chain.len() == 2)
                // The ridge is far from the hinge, on the middle line.
                .filter(|(_, chain)| chain[0].b.x > 50.0 && chain[0].b.y.abs() < 1e-9)
                .flat_map(|(_, chain)| chain.iter().map(Seg::length))
                .collect();
            assert!(ridge.len() >= 2, "{folds}: {:?}", shut.lines);
            for length in ridge {
                assert_relative_eq!(length, 7.0 / 16.0 * 25.4, max_relative = 1e-9);
            }
        }
    }

    #[test]
    fn two_wedges_share_their_leaf() {
        let typed = [
            ("boards", "double"),
            ("length", "6 in"),
            ("width", "4 in"),
            ("board", "3/8 in"),
            ("leaf", "1/2 in"),
            ("span", "2 1/4 in"),
            ("span-is", "inside"),
        ];
        let views = folded(&given(&typed, KEYS));
        assert_relative_eq!(spans(&views[0])[0].1, 2.25 * 25.4, max_relative = 1e-9);
        // Angles add: with the leaf in the middle each chord is 2 L sin of half its angle (plane geometry).
        let alpha = (2.25_f64 / 12.0).asin();
        for (_, figure) in spans(&views[1]) {
            assert_relative_eq!(figure, 12.0 * (alpha / 2.0).sin() * 25.4, max_relative = 1e-9);
        }
        for view in &views {
            assert_eq!(view.boards.len(), 3);
            for (have, figure) in spans(view) {
                assert_relative_eq!(have, figure, max_relative = 1e-9);
            }
        }
    }

    // Folds of a box stand in by root(fold² - opening²) / 2 each (plane geometry).
    #[test]
    fn a_box_shuts_to_its_stack() {
        let typed = [
            ("boards", "parallel"),
            ("length", "300 mm"),
            ("width", "200 mm"),
            ("board", "12 mm"),
            ("span", "90 mm"),
            ("span-is", "inside"),
            ("pleats", "2"),
            ("cloth", "1 mm"),
        ];
        let views = folded(&given(&typed, KEYS));
        assert_eq!(views[1].name, "side, shut");
        let figures = spans(&views[1]);
        assert_relative_eq!(figures[0].1, 12.0, max_relative = 1e-9);
        assert_relative_eq!(
            figures[1].1,
            (45.0_f64.powi(2) - 6.0_f64.powi(2)).sqrt() / 2.0,
            max_relative = 1e-9
        );
        assert_relative_eq!(figures[1].0, figures[1].1, max_relative = 1e-9);
        let half = folded(&given(&typed[..7], KEYS));
        assert_eq!((half[1].name.as_str(), spans(&half[1])[0].1), ("side, half open", 45.0));
    }
}
