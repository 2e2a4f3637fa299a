//! The part as it works, side by side with its views: boards, cloth, folds, openings.

use super::super::dimension::{Drafted, Drafter};
use super::super::{Dash, Mark, scaled_loop, scaled_seg};
use super::view::scaled;
use super::{SCALES, Sheet, THIN, moved};
use crate::geom::{Loop, Point, Rect, Seg, Side, Vec2, flatten};
use crate::letters;
use crate::part::{Assembled, LineSort};

/// Between two views (mm).
const GAP: f64 = 10.0;
/// Height of a caption (mm).
const CAPTION: f64 = 2.2;
/// What a caption takes, the space above and below it included (mm).
const FOOT: f64 = 6.0;
/// Small parts are not drawn larger than this.
const LARGEST: f64 = 2.0;

/// All views, at one scale.
pub(super) struct Works<'a> {
    scale: f64,
    views: Vec<(&'a Assembled, Drafted, String)>,
}

impl<'a> Works<'a> {
    /// The views at the largest scale at which they take no more than a share of an area's height; none where there are none.
    pub(super) fn fitting(
        views: &'a [Assembled],
        drafter: &Drafter<'_>,
        area: Rect,
        share: f64,
    ) -> Option<Works<'a>> {
        if views.is_empty() {
            return None;
        }
        let made = |most: usize| {
            SCALES
                .iter()
                .filter(|(scale, _)| *scale <= LARGEST)
                .map(|scale| Works::at_scale(views, drafter, *scale, most))
                .find(|it| it.width() <= area.width() && it.height() <= share * area.height())
        };
        // Where there is little room the opening alone has its figure.
        match (made(usize::MAX), made(1)) {
            (Some(full), Some(bare)) if bare.scale > 1.5 * full.scale => Some(bare),
            (full, bare) => full.or(bare),
        }
    }

    fn at_scale(
        views: &'a [Assembled],
        drafter: &Drafter<'_>,
        (scale, named): (f64, &str),
        most: usize,
    ) -> Works<'a> {
        let drafted = |view: &Assembled| {
            let mut chords: Vec<Vec<Point>> = view
                .boards
                .iter()
                .map(|it| flatten(&scaled_loop(it, scale, Vec2::ZERO), 0.05, Side::Inside))
                .collect();
            // A ridge may stand out beyond the boards.
            let skins = view.lines.iter().filter(|(sort, _)| *sort != LineSort::Guide);
            chords.extend(skins.map(|(_, chain)| {
                let points = chain.iter().flat_map(|s| (0..=8).map(|i| s.at(f64::from(i) / 8.0)));
                let points: Vec<Point> = points.map(|p| (p.to_vec2() * scale).to_point()).collect();
                // There and back again, so that it encloses nothing.
                points.iter().chain(points.iter().rev()).copied().collect()
            }));
            let figures = &view.dimensions[..view.dimensions.len().min(most)];
            drafter.draft(&scaled(figures, scale), &chords)
        };
        let views = views
            .iter()
            .map(|view| (view, drafted(view), format!("{}, {named}", view.name)))
            .collect();
        Works { scale, views }
    }

    fn widths(&self) -> impl Iterator<Item = f64> {
        self.views.iter().map(|(_, drafted, caption)| {
            drafted.bounds.width().max(letters::width(caption, CAPTION))
        })
    }

    #[allow(clippy::cast_precision_loss, reason = "a few views")]
    fn width(&self) -> f64 {
        self.widths().sum::<f64>() + GAP * (self.views.len() - 1) as f64
    }

    /// What they take of the page (mm).
    pub(super) fn height(&self) -> f64 {
        let high = self.views.iter().map(|(_, drafted, _)| drafted.bounds.height());
        high.fold(0.0, f64::max) + FOOT + 3.0
    }

    /// Draws them at the foot of an area.
    pub(super) fn draw(&self, area: Rect, sheet: &mut Sheet) {
        #[allow(clippy::cast_precision_loss, reason = "a few views")]
        let gap = (area.width() - self.widths().sum::<f64>()) / (self.views.len() + 1) as f64;
        let high = self.height() - FOOT - 3.0;
        let mut x = area.x0 + gap;
        for ((view, drafted, caption), wide) in self.views.iter().zip(self.widths()) {
            let b = drafted.bounds;
            let middle = x + wide / 2.0;
            let by = Vec2::new(middle - b.center().x, area.y0 + FOOT + high / 2.0 - b.center().y);
            self.draw_one(view, by, sheet);
            let lines = drafted.lines.iter().chain(&drafted.words);
            sheet.dimensions.extend(lines.map(|m| moved(m, by)));
            let foot = middle - letters::width(caption, CAPTION) / 2.0;
            sheet.word(caption.clone(), Point::new(foot, area.y0 + 2.0), CAPTION);
            x += wide + gap;
        }
    }

    fn draw_one(&self, view: &Assembled, by: Vec2, sheet: &mut Sheet) {
        let on = |it: &Loop| scaled_loop(it, self.scale, by);
        for board in &view.boards {
            sheet.boards.push(Mark::Hatch(on(board), 1.6, 45.0, 0.12));
            sheet.boards.push(Mark::Outline(on(board), THIN, Dash::Solid));
        }
        for (sort, chain) in &view.lines {
            let chain: Vec<Seg> = chain.iter().map(|s| scaled_seg(s, self.scale, by)).collect();
            match sort {
                LineSort::Skin => sheet.edges.push(Mark::Line(chain, 0.6, Dash::Solid)),
                LineSort::Hidden => sheet.edges.push(Mark::Line(chain, 0.4, Dash::Dashed(1.2))),
                LineSort::Fold => sheet.creases.push(Mark::Line(chain, THIN, Dash::Dashed(3.0))),
                LineSort::Stiff => sheet.boards.push(Mark::Line(chain, 1.0, Dash::Solid)),
                LineSort::Guide => sheet.finished.push(Mark::Line(chain, 0.18, Dash::Solid)),
            }
        }
    }
}
