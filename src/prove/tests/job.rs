//! Random jobs: a sheet, flaws, pieces with holes and guests, and the lines that cut them.

use crate::prove::{
    BladeRecord, Booked, MachineRecord, MaterialRecord, Ring, StockRecord, WindowRecord,
};
use std::f64::consts::PI;

/// Bulge of a quarter turn.
pub(super) const QUARTER: f64 = 0.414_213_562_373_095;

/// A small chance of our own, the same every time.
pub(super) struct Chance(pub(super) u64);

impl Chance {
    pub(super) fn share(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 33).unwrap()) / 2_147_483_648.0
    }

    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        // Figures of three decimals, as measures are.
        ((low + (high - low) * self.share()) * 1000.0).round() / 1000.0
    }

    pub(super) fn one_of(&mut self, count: usize) -> usize {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            clippy::cast_precision_loss,
            reason = "small"
        )]
        let n = (self.share() * count as f64) as usize;
        n.min(count - 1)
    }
}

/// What a line is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Figure {
    /// Centre and radius.
    Circle([f64; 2], f64),
    /// Corners with the bulge that follows each; closed or not.
    Chain(Vec<[f64; 3]>, bool),
}

impl Figure {
    pub(super) fn each(&mut self, mut to: impl FnMut(&mut [f64; 2])) {
        match self {
            Figure::Circle(c, _) => to(c),
            Figure::Chain(corners, _) => {
                for corner in corners {
                    let mut p = [corner[0], corner[1]];
                    to(&mut p);
                    *corner = [p[0], p[1], corner[2]];
                }
            }
        }
    }

    pub(super) fn moved(&mut self, by: [f64; 2]) {
        self.each(|p| *p = [p[0] + by[0], p[1] + by[1]]);
    }

    /// Its corners, a circle by two half turns from its east.
    pub(super) fn corners(&self, left: bool) -> (Vec<[f64; 3]>, bool) {
        match self {
            Figure::Circle(c, r) => {
                let bulge = if left { 1.0 } else { -1.0 };
                (vec![[c[0] + r, c[1], bulge], [c[0] - r, c[1], bulge]], true)
            }
            Figure::Chain(corners, closed) => (corners.clone(), *closed),
        }
    }

    pub(super) fn length(&self) -> f64 {
        let (corners, closed) = self.corners(true);
        let count = if closed { corners.len() } else { corners.len() - 1 };
        (0..count)
            .map(|i| {
                let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
                let chord = (b[0] - a[0]).hypot(b[1] - a[1]);
                if a[2] == 0.0 {
                    chord
                } else {
                    let angle = 4.0 * a[2].abs().atan();
                    chord / 2.0 / (angle / 2.0).sin() * angle
                }
            })
            .sum()
    }
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub(super) number: u32,
    pub(super) layer: &'static str,
    pub(super) address: String,
    pub(super) figure: Figure,
}

/// A row as it will be written.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub(super) address: String,
    pub(super) at: [f64; 2],
    pub(super) strokes: Vec<u32>,
    pub(super) size: [f64; 2],
    pub(super) round: bool,
    pub(super) area: f64,
    pub(super) punched: Vec<([f64; 2], f64)>,
}

#[derive(Debug, Clone)]
pub(super) struct Job {
    pub(super) stock: StockRecord,
    pub(super) machine: MachineRecord,
    pub(super) material: MaterialRecord,
    pub(super) lines: Vec<Line>,
    pub(super) rows: Vec<Row>,
    pub(super) dots: Vec<[f64; 2]>,
    /// Cut and marked.
    pub(super) lengths: [f64; 2],
    pub(super) passes: u32,
    pub(super) tabs: bool,
    /// Where the file's origin lies on the sheet.
    pub(super) origin: [f64; 2],
}

impl Job {
    pub(super) fn line(&mut self, layer: &str, n: usize) -> &mut Line {
        let count = self.lines.iter().filter(|l| l.layer == layer).count();
        let mut of = self.lines.iter_mut().filter(|l| l.layer == layer);
        of.nth(n % count.max(1)).unwrap()
    }

    /// The line that cuts the outline of a row.
    pub(super) fn edge(&mut self, row: usize) -> &mut Line {
        let address = self.rows[row].address.clone();
        self.lines.iter_mut().find(|l| l.layer == "EDGES" && l.address == address).unwrap()
    }

    /// A row that has a hole cut.
    pub(super) fn holed(&self) -> usize {
        self.rows
            .iter()
            .position(|r| self.lines.iter().any(|l| l.layer == "HOLES" && l.address == r.address))
            .unwrap()
    }

    /// Numbers the lines anew as they stand, in lines and rows.
    pub(super) fn renumber(&mut self) {
        self.rows.iter_mut().for_each(|row| row.strokes.clear());
        for (line, number) in self.lines.iter_mut().zip(1..) {
            line.number = number;
            if let Some(row) = self.rows.iter_mut().find(|r| r.address == line.address) {
                row.strokes.push(number);
            }
        }
    }

    pub(super) fn measure(&mut self) {
        let of = |cut: bool| -> f64 {
            self.lines
                .iter()
                .filter(|l| l.layer != "RULE" && matches!(l.layer, "HOLES" | "EDGES") == cut)
                .map(|l| l.figure.length())
                .sum()
        };
        self.lengths = [of(true), of(false)];
    }
}

pub(super) fn ring_of(figure: &Figure) -> Ring {
    Ring(figure.corners(true).0)
}

/// A plate with its lower left corner at a point, and the line that cuts it.
fn plate(at: [f64; 2], wide: f64, high: f64, kerf: f64) -> (Figure, Figure) {
    let [x, y] = at;
    let (r, s) = (x + wide, y + high);
    let line = vec![[x, y, 0.0], [r, y, 0.0], [r, s, 0.0], [x, s, 0.0]];
    let k = kerf / 2.0;
    let cut = if k > 0.0 {
        vec![
            [x, y - k, 0.0],
            [r, y - k, QUARTER],
            [r + k, y, 0.0],
            [r + k, s, QUARTER],
            [r, s + k, 0.0],
            [x, s + k, QUARTER],
            [x - k, s, 0.0],
            [x - k, y, QUARTER],
        ]
    } else {
        line.clone()
    };
    (Figure::Chain(line, true), Figure::Chain(cut, true))
}

struct Made {
    row: Row,
    outline: (Figure, Figure),
    hole: Option<(Figure, Figure)>,
    guest: bool,
}

/// A job of some pieces; for a laser or a knife.
pub(super) fn any_job(seed: u64, laser: bool) -> Job {
    let mut chance = Chance(seed.wrapping_mul(7919).wrapping_add(17));
    for _ in 0..5 {
        chance.share();
    }
    let kerf = if laser { chance.between(0.1, 0.25) } else { 0.0 };
    let (gap, edge) = (chance.between(0.8, 2.0), chance.between(2.0, 4.0));
    let (wide, high) = (chance.between(300.0, 600.0), chance.between(250.0, 400.0));
    let mut job = empty(kerf, gap, edge, [wide, high], laser);
    let cell = 48.0;
    let mut made: Vec<Made> = Vec::new();
    let (mut x, mut y, mut n) = (10.0, 10.0, 1);
    let flaw_cell = chance.one_of(4);
    while n < 12 {
        if x + cell > wide - 8.0 {
            (x, y) = (10.0, y + cell);
        }
        if n == flaw_cell + 3 {
            let c = [x + 20.0, y + 20.0];
            job.stock.flaws.push(ring_of(&Figure::Circle(c, chance.between(3.0, 9.0))));
        } else {
            let at = [x + chance.between(0.0, 1.0), y + chance.between(0.0, 1.0)];
            piece(&mut chance, &mut made, at, n, kerf);
        }
        x += cell;
        n += 1;
    }
    if seed % 4 == 3 {
        job.origin = [chance.between(1.0, 5.0), chance.between(1.0, 5.0)];
        job.stock.window = Some(WindowRecord { number: 1, of: 2, origin: job.origin });
    }
    lay_down(&mut job, &made, high);
    job.passes = if laser { 1 + u32::try_from(chance.one_of(2)).unwrap() } else { 1 };
    job.material.passes = job.passes;
    job.tabs = laser && chance.share() < 0.5;
    job
}

fn empty(kerf: f64, gap: f64, edge: f64, size: [f64; 2], laser: bool) -> Job {
    let (outline, _) = plate([0.0, 0.0], size[0], size[1], 0.0);
    let blade = BladeRecord {
        offset: 0.25,
        tip_tolerance: 0.02,
        compensates: false,
        safe_height: 3.0,
        cut_depth: 1.2,
    };
    let machine = MachineRecord {
        key: "bench".to_owned(),
        laser,
        width: 720.0,
        depth: 520.0,
        margin: 5.0,
        beam_word: laser.then(|| "M4".to_owned()),
        full_power_word: laser.then_some(1000.0),
        feed_limit: Some(100.0),
        travel_speed: Some(150.0),
        blade: (!laser).then_some(blade),
    };
    let material = MaterialRecord {
        key: "pouch-leather".to_owned(),
        machine: "bench".to_owned(),
        laser_stop: None,
        kerf: [kerf; 2],
        power: Some(60.0),
        feed: Some(20.0),
        mark_feed: None,
        passes: 1,
    };
    let stock = StockRecord {
        sheet: "H1".to_owned(),
        generation: 1,
        outline: ring_of(&outline),
        edge,
        gap,
        lay: Some("lay-1".to_owned()),
        lay_hash: Some("ab".repeat(32)),
        ..StockRecord::default()
    };
    Job {
        stock,
        machine,
        material,
        lines: Vec::new(),
        rows: Vec::new(),
        dots: vec![[size[0] - 5.0, size[1] - 5.0], [size[0] - 5.0, size[1] - 30.0]],
        lengths: [0.0; 2],
        passes: 1,
        tabs: false,
        origin: [0.0; 2],
    }
}

fn piece(chance: &mut Chance, made: &mut Vec<Made>, at: [f64; 2], n: usize, kerf: f64) {
    let k = kerf / 2.0;
    let round = |c: [f64; 2], r: f64| (Figure::Circle(c, r), Figure::Circle(c, r + k));
    let bored = |c: [f64; 2], r: f64| (Figure::Circle(c, r), Figure::Circle(c, r - k));
    let c = [at[0] + 20.0, at[1] + 20.0];
    let row = |address: String, at: [f64; 2], size: [f64; 2], round: bool, area: f64| Row {
        address,
        at,
        strokes: Vec::new(),
        size,
        round,
        area,
        punched: Vec::new(),
    };
    // The first two are a ring with a guest and a plate with a hole, so that every job has both.
    match if n < 3 { n } else { chance.one_of(4) } {
        1 => {
            let (r, hole) = (chance.between(17.0, 20.0), chance.between(9.0, 12.0));
            let area = PI * (r * r - hole * hole);
            made.push(Made {
                row: row(format!("ring:{n}"), c, [2.0 * r; 2], true, area),
                outline: round(c, r),
                hole: Some(bored(c, hole)),
                guest: false,
            });
            let small = chance.between(3.0, 6.0);
            made.push(Made {
                row: row(
                    format!("disk:{n}/inner+1"),
                    c,
                    [2.0 * small; 2],
                    true,
                    PI * small * small,
                ),
                outline: round(c, small),
                hole: None,
                guest: true,
            });
        }
        2 => {
            let (wide, high) = (chance.between(30.0, 40.0), chance.between(20.0, 40.0));
            let hole = chance.between(2.0, 6.0);
            let h = [at[0] + 10.0, at[1] + 9.0];
            let mut row =
                row(format!("gasket:{n}"), at, [wide, high], false, wide * high - PI * hole * hole);
            row.punched.push(([at[0] + 25.0, at[1] + 12.0], 3.2));
            made.push(Made {
                row,
                outline: plate(at, wide, high, kerf),
                hole: Some(bored(h, hole)),
                guest: false,
            });
        }
        3 => {
            let r = chance.between(10.0, 20.0);
            made.push(Made {
                row: row(format!("pouch:{n}"), c, [2.0 * r; 2], true, PI * r * r),
                outline: round(c, r),
                hole: None,
                guest: false,
            });
        }
        _ => {
            let (wide, high) = (chance.between(15.0, 40.0), chance.between(10.0, 40.0));
            made.push(Made {
                row: row(format!("strip:{n}"), at, [wide, high], false, wide * high),
                outline: plate(at, wide, high, kerf),
                hole: None,
                guest: false,
            });
        }
    }
}

/// Lines in cutting order, rows, what is booked.
fn lay_down(job: &mut Job, made: &[Made], high: f64) {
    let mut lines: Vec<(&'static str, String, Figure)> = Vec::new();
    let stroke =
        |a: [f64; 2], b: [f64; 2]| Figure::Chain(vec![[a[0], a[1], 0.0], [b[0], b[1], 0.0]], false);
    let (x, y) = (5.0, high + 4.0);
    lines.push(("RULE", String::new(), stroke([x, y], [x + 100.0, y])));
    lines.push(("RULE", String::new(), stroke([x, y], [x, y + 4.0])));
    let cross =
        |lines: &mut Vec<(&'static str, String, Figure)>, layer, name: &str, c: [f64; 2]| {
            lines.push((layer, name.to_owned(), stroke([c[0] - 0.8, c[1]], [c[0] + 0.8, c[1]])));
            lines.push((layer, name.to_owned(), stroke([c[0], c[1] - 0.8], [c[0], c[1] + 0.8])));
        };
    for it in made {
        for (at, _) in &it.row.punched {
            cross(&mut lines, "PUNCH", &it.row.address, *at);
        }
    }
    for dot in job.dots.clone() {
        cross(&mut lines, "DOTS", "", dot);
    }
    for guests in [true, false] {
        for it in made.iter().filter(|m| m.guest == guests) {
            if let Some((_, cut)) = &it.hole {
                lines.push(("HOLES", it.row.address.clone(), cut.clone()));
            }
        }
        for it in made.iter().filter(|m| m.guest == guests) {
            lines.push(("EDGES", it.row.address.clone(), it.outline.1.clone()));
        }
    }
    job.rows = made.iter().map(|m| m.row.clone()).collect();
    for ((layer, address, mut figure), number) in lines.into_iter().zip(1..) {
        figure.moved([-job.origin[0], -job.origin[1]]);
        if let Some(row) = job.rows.iter_mut().find(|r| r.address == address) {
            row.strokes.push(number);
        }
        job.lines.push(Line { number, layer, address, figure });
    }
    job.stock.booked = made
        .iter()
        .map(|m| Booked {
            address: m.row.address.clone(),
            at: m.row.at,
            turn: 0.0,
            mirrored: false,
            outline: ring_of(&m.outline.0),
            holes: m.hole.iter().map(|h| ring_of(&h.0)).collect(),
        })
        .collect();
    job.measure();
}
