//! The dish of a pouch: how much skin lies over a well when it sags by its dip.
//!
//! The skin must reach down into the well and back, so its free size is the length of a line across the dished skin.
//! Which line depends on how the dip is made; the rules bracket one another, and the spread is shown.

use super::measures::Measures;
use super::sum::{Sum, doubt, mm, wrong};
use crate::fault::Fault;
use crate::geom::{Point, Seg};

/// A skin over one well.
#[derive(Debug, Clone, Copy)]
pub(super) struct Dish {
    /// Diameter of the well, or its side where it is square (mm).
    pub(super) well: f64,
    /// How far it sags (mm).
    pub(super) dip: f64,
    /// What lies over the well, flat (mm).
    pub(super) free: f64,
    rule: &'static str,
    square: bool,
}

/// Free diameter of a skin that is dished over a form: the arc through rim and bottom.
///
/// # Source
/// Circle through rim and bottom: R = (a² + h²) / 2h, half angle 2·atan(h/a), elementary geometry.
fn by_arc(d: f64, h: f64) -> f64 {
    let a = d / 2.0;
    let radius = (a * a + h * h) / (2.0 * h);
    2.0 * radius * 2.0 * (h / a).atan()
}

/// Free diameter with the area of the dish; also the cone that a pointed tool presses.
fn by_area(d: f64, h: f64) -> f64 {
    2.0 * (d / 2.0).hypot(h)
}

/// Free diameter under a round-nosed tool: straight from the rim to the nose, then round it.
fn by_ball(d: f64, h: f64, nose: f64) -> f64 {
    let a = d / 2.0;
    let straight = (a * a - 2.0 * nose * h + h * h).max(0.0).sqrt();
    let wrap = a.atan2(nose - h) - straight.atan2(nose);
    2.0 * (straight + nose * wrap)
}

/// Free diameter with a flat lifter held at the depth of the dip, the skirt straight.
fn by_lifter(d: f64, h: f64, lifter: f64) -> f64 {
    lifter + 2.0 * ((d - lifter) / 2.0).hypot(h)
}

/// Side of a square with the area of a film that sags over a square well.
///
/// # Source
/// Small slopes: a film under even pressure over a square stands at its centre 0.0736713 and in the mean 0.0351443 times
/// pressure x side² / tension (the membrane of the torsion of square bars, Timoshenko and Goodier, *Theory of
/// Elasticity*); its area grows by half of pressure x mean height.
fn by_film(d: f64, h: f64) -> f64 {
    const GAIN: f64 = 1.618_814;
    d * (1.0 + GAIN * (h / d).powi(2))
}

/// Side of a square with the area of a pyramid pressed into a square well.
fn by_pyramid(d: f64, h: f64) -> f64 {
    d * (1.0 + 4.0 * (h / d).powi(2)).powf(0.25)
}

impl Dish {
    /// The dish of a pouch by the rule that was asked for; what the rule lacks is a fault.
    pub(super) fn of(m: &Measures, square: bool, faults: &mut Vec<Fault>) -> Option<Dish> {
        let (well, dip) = (m.mm("well")?, m.mm("dip")?);
        let rule = m.word("rule").unwrap_or("arc");
        if dip > well / 2.0 {
            faults.push(wrong(
                m,
                "dip",
                format!("dip {} is more than half the well {}", mm(dip), mm(well)),
                &format!(
                    "a dip up to {} can be worked out; usual is about a tenth of the well",
                    mm(well / 2.0)
                ),
            ));
        }
        let mut dish = Dish { well, dip, free: by_arc(well, dip), rule, square };
        let radius = (well * well / 4.0 + dip * dip) / (2.0 * dip);
        match (rule, m.mm("nose"), m.mm("lifter")) {
            ("area", ..) => dish.free = dish.area(),
            ("ball", Some(nose), _) if nose <= radius => dish.free = by_ball(well, dip, nose),
            ("lifter", _, Some(lifter)) if lifter < well => {
                dish.free = by_lifter(well, dip, lifter);
            }
            ("ball", Some(nose), _) => faults.push(wrong(
                m,
                "nose",
                format!(
                    "nose radius {} is more than the dip's own radius {}",
                    mm(nose),
                    mm(radius)
                ),
                "a rounder tool does not touch the middle: take rule = \"arc\"",
            )),
            ("ball", None, _) => faults.push(wrong(
                m,
                "rule",
                "rule = \"ball\" needs `nose`, the nose radius of the tool".into(),
                "nose = \"1/2 in\"",
            )),
            ("lifter", _, Some(lifter)) => faults.push(lifter_too_large(m, lifter, well)),
            ("lifter", _, None) => faults.push(wrong(
                m,
                "rule",
                "rule = \"lifter\" needs `lifter`, the diameter of the lifter".into(),
                "lifter = \"1/2 in\"",
            )),
            _ => {}
        }
        Some(dish)
    }

    /// Whether the sum is by the lifter's rule, which looks at the lifter itself.
    pub(super) fn is_by_lifter(&self) -> bool {
        self.rule == "lifter"
    }

    /// Whether well and lifter are square.
    pub(super) fn is_square(&self) -> bool {
        self.square
    }

    /// The line across the dished skin, rim to rim, left to right, the well's edge at height 0; of equal area the arc.
    pub(super) fn profile(&self, m: &Measures) -> Vec<Seg> {
        let (a, h) = (self.well / 2.0, self.dip);
        let p = Point::new;
        match (self.rule, m.mm("nose"), m.mm("lifter")) {
            ("ball", Some(nose), _) => {
                // Half the angle that the skin lies on the nose.
                let straight = (a * a - 2.0 * nose * h + h * h).max(0.0).sqrt();
                let wrap = a.atan2(nose - h) - straight.atan2(nose);
                let (x, y) = (nose * wrap.sin(), nose - h - nose * wrap.cos());
                vec![
                    Seg::line(p(-a, 0.0), p(-x, y)),
                    Seg::arc(p(-x, y), p(x, y), (wrap / 2.0).tan()),
                    Seg::line(p(x, y), p(a, 0.0)),
                ]
            }
            ("lifter", _, Some(lifter)) => {
                let corners = [p(-a, 0.0), p(-lifter / 2.0, -h), p(lifter / 2.0, -h), p(a, 0.0)];
                corners.windows(2).map(|w| Seg::line(w[0], w[1])).collect()
            }
            _ => vec![Seg::arc(p(-a, 0.0), p(a, 0.0), h / a)],
        }
    }

    fn area(&self) -> f64 {
        if self.square { by_film(self.well, self.dip) } else { by_area(self.well, self.dip) }
    }

    /// What a dip takes up of the skin (mm).
    pub(super) fn taken_up(&self) -> f64 {
        self.free - self.well
    }

    /// The line of the sum that says what lies over the well.
    pub(super) fn step(&self, sum: Sum) -> Sum {
        let (label, rule) = match self.rule {
            "ball" => ("over the well, under a round nose", "2 x (straight + nose x wrap)"),
            "lifter" => ("over the well, flat lifter", "lifter + 2 x skirt"),
            "area" if self.square => {
                ("over the well, equal area", "well x (1 + 1.6188 x (dip / well)²)")
            }
            "area" => ("over the well, equal area", "2 x root(half well² + dip²)"),
            _ => ("over the well, by the arc", "arc through rim and bottom"),
        };
        sum.step(label, rule, self.free)
    }

    /// What has to be gathered, and the size by the other rules; `cut` gives the size that is cut, `what`, for a free
    /// size.
    pub(super) fn bounds(
        &self,
        m: &Measures,
        sum: Sum,
        what: &str,
        cut: impl Fn(f64) -> f64,
    ) -> Sum {
        let (d, h) = (self.well, self.dip);
        let mut sum =
            sum.note("rim to be gathered", "free / well - 1", self.taken_up() / d * 100.0, "%");
        let mut all = vec![cut(self.free)];
        let mut bound = |sum: Sum, by: &str, rule: &str, free: f64| {
            all.push(cut(free));
            sum.note(&format!("{by} {what} would be"), rule, cut(free), "mm")
        };
        if self.square {
            sum = bound(sum, "by equal area", "as a film: stretched least", by_film(d, h));
            sum = bound(sum, "by a pointed tool", "area of a pyramid", by_pyramid(d, h));
        } else {
            sum = bound(sum, "by equal area", "the same area: stretched least", by_area(d, h));
        }
        sum = bound(sum, "by the arc", "", by_arc(d, h));
        if let Some(lifter) = m.mm("lifter").filter(|f| *f < d) {
            sum = bound(sum, "by a flat lifter", "", by_lifter(d, h, lifter));
        }
        let most = all.iter().copied().fold(f64::MIN, f64::max);
        let least = all.iter().copied().fold(f64::MAX, f64::min);
        sum.note("spread between the rules", "", most - least, "mm")
    }

    /// What is left between the dip and the bottom of the well.
    fn clearance(&self, m: &Measures) -> Option<f64> {
        m.mm("depth").map(|depth| depth - self.dip - m.mm_or("leather", 0.0))
    }

    /// The line of the sum that says what is left at the bottom of the well.
    pub(super) fn room_below(&self, m: &Measures, sum: Sum) -> Sum {
        match self.clearance(m) {
            Some(left) => sum.given(m, "depth", "depth of the well").note(
                "clearance at the bottom",
                "depth - dip - leather",
                left,
                "mm",
            ),
            None => sum,
        }
    }

    /// What a careful rebuilder would look at again.
    ///
    /// # Source
    /// Clearance 1/64 in: as reported by rebuilders in MMD 1999.05.31.07; dip at least half the depth: the same letter.
    /// Ten per cent of gather: common practice.
    pub(super) fn doubts(&self, m: &Measures, faults: &mut Vec<Fault>) {
        let gather = self.taken_up() / self.well;
        if gather > 0.10 {
            faults.push(doubt(
                "W20",
                m,
                "dip",
                format!("the rim must be gathered by {:.1} %, which puckers", gather * 100.0),
                "above 10 % look at the dip again, or dish the leather wet over a form",
            ));
        } else if self.dip > self.well / 4.0 {
            faults.push(doubt(
                "W20",
                m,
                "dip",
                format!(
                    "dip {} is more than a quarter of the well {}",
                    mm(self.dip),
                    mm(self.well)
                ),
                "the rules were not tried so deep: cut one on scrap first",
            ));
        }
        if let Some(bleed) = m.mm("bleed").filter(|bleed| *bleed > self.well / 4.0) {
            faults.push(wrong(
                m,
                "bleed",
                format!("a bleed of {} in a well of {}", mm(bleed), mm(self.well)),
                "a bleed is a small hole, such as \"#70 drill\"",
            ));
        }
        let clearance = self.clearance(m);
        if let Some(left) = clearance.filter(|left| *left < 0.0) {
            faults.push(wrong(
                m,
                "dip",
                format!("pouch and leather reach {} below the bottom of the well", mm(-left)),
                "less dip, or look at the depth again",
            ));
        } else if let Some(left) = clearance.filter(|left| *left < 25.4 / 64.0) {
            faults.push(doubt(
                "W21",
                m,
                "dip",
                format!("only {} between pouch and bottom of the well", mm(left)),
                "at least 1/64 in (0.40 mm) is usual: less dip, or a deeper well",
            ));
        }
        if let Some(depth) = m.mm("depth").filter(|depth| self.dip < depth / 2.0) {
            faults.push(doubt(
                "W22",
                m,
                "dip",
                format!("dip {} is less than half the depth {}", mm(self.dip), mm(depth)),
                "a pouch with too little dip leaks at the valve when the leather shrinks",
            ));
        }
    }
}

/// A lifter that does not go into its well.
pub(super) fn lifter_too_large(m: &Measures, lifter: f64, well: f64) -> Fault {
    wrong(
        m,
        "lifter",
        format!("lifter {} does not go into the well {}", mm(lifter), mm(well)),
        "give the diameter of the disk that lifts, less than the well",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    // Worked values by independent quadrature, and the series s = d (1 + 8/3 (h/d)^2) of the arc rule.
    #[test]
    fn the_rules_give_the_worked_values() {
        let cases = [
            (1.0, 0.125, 1.030776, 1.041159),
            (1.25, 0.125, 1.274755, 1.283071),
            (1.5, 0.125, 1.520691, 1.527625),
            (0.875, 0.0625, 0.883883, 0.886857),
            (32.0, 3.0, 32.55764, 32.74480),
            (20.0, 2.5, 20.61553, 20.82319),
            (1.0, 0.25, 1.118034, 1.159119),
        ];
        for (d, h, area, arc) in cases {
            assert_relative_eq!(by_area(d, h), area, max_relative = 1e-5);
            assert_relative_eq!(by_arc(d, h), arc, max_relative = 1e-5);
        }
        for (q, s) in [(0.125, 1.031416), (0.25, 1.032121), (0.5, 1.033794), (1.0, 1.039582)] {
            assert_relative_eq!(by_ball(1.0, 0.125, q), s, max_relative = 1e-5);
        }
        assert_relative_eq!(by_ball(1.25, 0.125, 0.5), 1.276210, max_relative = 1e-5);
        assert_relative_eq!(by_ball(32.0, 3.0, 10.0), 32.58087, max_relative = 1e-5);
        for (d, f, h, s) in [
            (1.0, 0.5, 0.125, 1.059017),
            (1.0, 0.625, 0.125, 1.075694),
            (1.25, 0.75, 0.125, 1.309017),
            (32.0, 16.0, 3.0, 33.08801),
        ] {
            assert_relative_eq!(by_lifter(d, h, f), s, max_relative = 1e-5);
        }
    }

    #[test]
    fn the_rules_keep_their_order() {
        for i in 1..=50 {
            let (d, h) = (1.0, f64::from(i) * 0.005);
            let radius = (0.25 + h * h) / (2.0 * h);
            assert!(by_area(d, h) < by_ball(d, h, radius / 2.0), "{h}");
            assert!(by_ball(d, h, radius / 2.0) < by_arc(d, h), "{h}");
            assert_relative_eq!(by_ball(d, h, radius), by_arc(d, h), max_relative = 1e-9);
            assert_relative_eq!(by_ball(d, h, 1e-12), by_area(d, h), max_relative = 1e-9);
        }
    }

    // The film by the double sine series of its equation, Timoshenko and Goodier: centre and mean height.
    #[test]
    fn a_film_grows_in_area_as_its_series_says() {
        use std::f64::consts::PI;
        let (mut center, mut mean) = (0.0, 0.0);
        for m in (1..800_u32).step_by(2) {
            for n in (1..800_u32).step_by(2) {
                let sign = if (m + n) / 2 % 2 == 1 { 1.0 } else { -1.0 };
                let (m, n) = (f64::from(m), f64::from(n));
                center += 16.0 / PI.powi(4) * sign / (m * n * (m * m + n * n));
                mean += 64.0 / PI.powi(6) / ((m * n).powi(2) * (m * m + n * n));
            }
        }
        // Half of pressure x mean height in area, and half of that in the side, for a rise of one at the centre.
        let gain = mean / (center * center) / 4.0;
        assert_relative_eq!(by_film(1.0, 0.1), 1.0 + gain * 0.01, max_relative = 1e-6);
    }

    // Worked by plane geometry and, for the film, by independent quadrature.
    #[test]
    fn square_wells_give_the_worked_values() {
        for (d, h, arc, pyramid, film) in [
            (1.0, 0.125, 1.041159, 1.015272, 1.02411),
            (1.25, 0.125, 1.283071, 1.262317, 1.26961),
            (32.0, 3.0, 32.74480, 32.27762, 32.4429),
        ] {
            assert_relative_eq!(by_arc(d, h), arc, max_relative = 1e-5);
            assert_relative_eq!(by_pyramid(d, h), pyramid, max_relative = 1e-5);
            // The film's own area, its slopes taken in full, is a little less.
            assert_relative_eq!(by_film(d, h), film, max_relative = 1.2e-3);
            assert!(by_film(d, h) > film && film > pyramid);
        }
    }
}
