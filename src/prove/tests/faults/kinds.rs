//! Faults of what is drawn, and of what a file says of itself.

use super::super::job::{Figure, Job, Line, ring_of};
use super::{ALL, BEAMS, DRAWINGS, How, Kind};

fn moved(job: &mut Job, row: usize, by: [f64; 2]) {
    let address = job.rows[row].address.clone();
    for line in job.lines.iter_mut().filter(|l| l.address == address) {
        line.figure.moved(by);
    }
}

fn all_points(job: &mut Job, to: impl Fn([f64; 2]) -> [f64; 2]) {
    for line in &mut job.lines {
        line.figure.each(|p| *p = to(*p));
    }
}

fn circle(job: &mut Job, row: usize) -> ([f64; 2], f64) {
    match job.edge(row).figure {
        Figure::Circle(c, r) => (c, r),
        Figure::Chain(..) => panic!("row {row} is round"),
    }
}

/// A free spot in the material of the plate, in the file.
fn spot(job: &Job) -> [f64; 2] {
    let at = job.rows[2].at;
    [at[0] + 26.0 - job.origin[0], at[1] + 5.0 - job.origin[1]]
}

fn hole(job: &mut Job) -> &mut Line {
    let address = job.rows[2].address.clone();
    job.lines.iter_mut().find(|l| l.layer == "HOLES" && l.address == address).unwrap()
}

fn radius(line: &mut Line, more: f64) {
    match &mut line.figure {
        Figure::Circle(_, r) => *r += more,
        Figure::Chain(..) => panic!("it is round"),
    }
}

fn corners(line: &mut Line) -> (&mut Vec<[f64; 3]>, &mut bool) {
    match &mut line.figure {
        Figure::Chain(corners, closed) => (corners, closed),
        Figure::Circle(..) => panic!("it has corners"),
    }
}

fn added(job: &mut Job, layer: &'static str, figure: Figure) {
    let number = u32::try_from(job.lines.len() + 1).unwrap();
    job.lines.push(Line { number, layer, address: String::new(), figure });
}

fn last(job: &mut Job, layer: &str, row: usize) {
    let address = job.rows[row].address.clone();
    let at = job.lines.iter().position(|l| l.layer == layer && l.address == address).unwrap();
    let line = job.lines.remove(at);
    job.lines.push(line);
    job.renumber();
}

fn without(job: &mut Job, layer: &str, row: usize) {
    let address = job.rows[row].address.clone();
    let at = job.lines.iter().position(|l| l.layer == layer && l.address == address).unwrap();
    job.lines.remove(at);
}

fn near(job: &mut Job, left: f64) {
    let (_, small) = circle(job, 1);
    let address = job.rows[0].address.clone();
    let bore = job.lines.iter().find(|l| l.layer == "HOLES" && l.address == address).unwrap();
    let Figure::Circle(_, bore) = bore.figure else { panic!("the bore is round") };
    moved(job, 1, [bore - small - left, 0.0]);
}

pub(super) fn kinds() -> Vec<Kind> {
    let mut kinds = places();
    kinds.extend(distances());
    kinds.extend(beyond());
    kinds.extend(scales());
    kinds.extend(doubles());
    kinds.extend(sizes());
    kinds.extend(orders());
    kinds.extend(marks());
    kinds.extend(rows());
    kinds.extend(claims());
    kinds.extend(papers());
    kinds
}

fn places() -> Vec<Kind> {
    vec![
        Kind(
            "over a flaw",
            "V7",
            ALL,
            How::Job(|job, _| {
                let (c, r) = circle(job, 0);
                let at = [c[0] + r + job.origin[0], c[1] + job.origin[1]];
                job.stock.flaws.push(ring_of(&Figure::Circle(at, 3.0)));
            }),
        ),
        Kind(
            "a flaw inside a piece",
            "V7",
            ALL,
            How::Job(|job, _| {
                let p = spot(job);
                let at = [p[0] + job.origin[0], p[1] + job.origin[1]];
                job.stock.flaws.push(ring_of(&Figure::Circle(at, 0.2)));
            }),
        ),
        Kind(
            "a piece inside a flaw",
            "V7",
            ALL,
            How::Job(|job, _| {
                let (c, r) = circle(job, 0);
                let at = [c[0] + job.origin[0], c[1] + job.origin[1]];
                job.stock.flaws.push(ring_of(&Figure::Circle(at, r + 200.0)));
            }),
        ),
        Kind(
            "too near a flaw",
            "V7",
            ALL,
            How::Job(|job, _| {
                let (c, r) = circle(job, 0);
                let at = [c[0] + job.origin[0], c[1] + r + job.stock.edge + 1.95 + job.origin[1]];
                job.stock.flaws.push(ring_of(&Figure::Circle(at, 2.0)));
            }),
        ),
    ]
}

fn distances() -> Vec<Kind> {
    vec![
        Kind(
            "on a claim of another lay",
            "V9",
            ALL,
            How::Job(|job, _| {
                let (c, r) = circle(job, 0);
                let at = [c[0] + r + job.origin[0], c[1] + job.origin[1]];
                job.stock.claims.push(ring_of(&Figure::Circle(at, 3.0)));
            }),
        ),
        Kind(
            "too near a neighbour",
            "V6",
            ALL,
            How::Job(|job, _| {
                let left = job.stock.gap - 0.05;
                near(job, left);
            }),
        ),
        Kind("lines that touch", "V6", ALL, How::Job(|job, _| near(job, 0.0))),
        Kind("pieces that overlap", "V6", ALL, How::Job(|job, _| moved(job, 2, [-20.0, 0.0]))),
        Kind(
            "a piece on another",
            "V6",
            ALL,
            How::Job(|job, _| {
                let to = spot(job);
                let (c, r) = circle(job, 1);
                radius(job.edge(1), 0.8 - r);
                moved(job, 1, [to[0] - c[0], to[1] - c[1]]);
            }),
        ),
    ]
}

fn beyond() -> Vec<Kind> {
    vec![
        Kind("off the sheet", "V5", ALL, How::Job(|job, _| moved(job, 0, [-60.0, 0.0]))),
        Kind(
            "too near the edge",
            "V5",
            ALL,
            How::Job(|job, _| {
                let (c, r) = circle(job, 0);
                let by = job.stock.edge - 0.05 - (c[1] - r + job.origin[1]);
                moved(job, 0, [0.0, by]);
            }),
        ),
        Kind(
            "outside the bed",
            "V5",
            ALL,
            How::Job(|job, _| {
                let (c, r) = circle(job, 0);
                job.machine.width = c[0] + r - 0.1 + 2.0 * job.machine.margin;
            }),
        ),
        Kind(
            "outside the bed on the left",
            "V5",
            ALL,
            How::Job(|job, _| {
                let (c, r) = circle(job, 0);
                moved(job, 0, [r - c[0] - 0.1, 0.0]);
            }),
        ),
    ]
}

fn scales() -> Vec<Kind> {
    vec![
        Kind(
            "mirrored across",
            "V8",
            ALL,
            How::Job(|job, _| {
                all_points(job, |p| [300.0 - p[0], p[1]]);
            }),
        ),
        Kind(
            "mirrored up and down",
            "V8",
            ALL,
            How::Job(|job, _| {
                all_points(job, |p| [p[0], 250.0 - p[1]]);
            }),
        ),
        Kind(
            "inch scale",
            "V8",
            ALL,
            How::Job(|job, _| {
                for line in &mut job.lines {
                    line.figure.each(|p| *p = [p[0] / 25.4, p[1] / 25.4]);
                    if let Figure::Circle(_, r) = &mut line.figure {
                        *r /= 25.4;
                    }
                }
            }),
        ),
        Kind(
            "a unit of 1/96 inch",
            "V4",
            DRAWINGS,
            How::Job(|job, _| {
                all_points(job, |p| [p[0] * 96.0 / 25.4 / 4.0, p[1] * 96.0 / 25.4 / 4.0]);
            }),
        ),
        Kind(
            "all shifted 0.2 mm",
            "V8",
            ALL,
            How::Job(|job, _| {
                all_points(job, |p| [p[0] + 0.2, p[1]]);
            }),
        ),
        Kind(
            "one piece shifted 0.2 mm",
            "V8",
            ALL,
            How::Job(|job, chance| {
                let row = chance.one_of(job.rows.len());
                moved(job, row, [0.0, 0.2]);
            }),
        ),
        Kind(
            "one hole shifted 0.2 mm",
            "V8",
            ALL,
            How::Job(|job, _| hole(job).figure.moved([0.2, 0.0])),
        ),
    ]
}

fn doubles() -> Vec<Kind> {
    vec![
        Kind(
            "a doubled contour",
            "V9",
            ALL,
            How::Job(|job, chance| {
                let row = chance.one_of(job.rows.len());
                let figure = job.edge(row).figure.clone();
                added(job, "EDGES", figure);
            }),
        ),
        Kind(
            "a contour twice in one stroke",
            "V9",
            BEAMS,
            How::Job(|job, _| {
                let (list, _) = corners(job.edge(2));
                let again = list.clone();
                list.extend(again);
            }),
        ),
        Kind(
            "a line twice by half",
            "V9",
            ALL,
            How::Job(|job, _| {
                let (list, _) = corners(job.edge(2));
                let (a, b) = (list[0], list[1]);
                let middle = [f64::midpoint(a[0], b[0]), a[1]];
                let figure = Figure::Chain(
                    vec![
                        [a[0], a[1], 0.0],
                        [middle[0], middle[1], 0.0],
                        [a[0] + 1.0, a[1] - 5.0, 0.0],
                    ],
                    true,
                );
                added(job, "EDGES", figure);
            }),
        ),
    ]
}

fn sizes() -> Vec<Kind> {
    vec![
        Kind(
            "kerf on the wrong side",
            "V8",
            BEAMS,
            How::Job(|job, _| {
                let kerf = job.material.kerf[0];
                radius(job.edge(0), -kerf);
            }),
        ),
        Kind(
            "no room for the kerf",
            "V8",
            BEAMS,
            How::Job(|job, _| {
                let kerf = job.material.kerf[0];
                radius(job.edge(0), -kerf / 2.0);
            }),
        ),
        Kind(
            "a hole with the kerf on the wrong side",
            "V8",
            BEAMS,
            How::Job(|job, _| {
                let kerf = job.material.kerf[0];
                radius(hole(job), kerf);
            }),
        ),
        Kind("a hole too large", "V8", ALL, How::Job(|job, _| radius(hole(job), 0.3))),
        Kind("a disk too small", "V8", ALL, How::Job(|job, _| radius(job.edge(0), -0.06))),
        Kind(
            "a plate too wide",
            "V8",
            ALL,
            How::Job(|job, _| {
                let (list, _) = corners(job.edge(2));
                let middle = list.iter().map(|c| c[0]).sum::<f64>()
                    / f64::from(u32::try_from(list.len()).unwrap());
                list.iter_mut().filter(|c| c[0] > middle).for_each(|c| c[0] += 0.1);
            }),
        ),
    ]
}

fn orders() -> Vec<Kind> {
    vec![
        Kind("a hole after its outline", "V8", ALL, How::Job(|job, _| last(job, "HOLES", 2))),
        Kind("a guest after its host", "V8", ALL, How::Job(|job, _| last(job, "EDGES", 1))),
        Kind("an open contour", "V8", BEAMS, How::Job(|job, _| *corners(job.edge(2)).1 = false)),
        Kind(
            "a missing piece",
            "V8",
            ALL,
            How::Job(|job, _| {
                let row = job.rows.len() - 1;
                without(job, "EDGES", row);
            }),
        ),
        Kind(
            "a missing hole",
            "V8",
            ALL,
            How::Job(|job, _| {
                let row = job.holed();
                without(job, "HOLES", row);
            }),
        ),
        Kind(
            "an extra piece",
            "V8",
            ALL,
            How::Job(|job, _| {
                let c = [job.dots[0][0] - 20.0, job.dots[0][1] - 20.0];
                added(job, "EDGES", Figure::Circle(c, 5.0));
            }),
        ),
        Kind(
            "an extra hole",
            "V8",
            ALL,
            How::Job(|job, _| {
                let c = spot(job);
                added(job, "HOLES", Figure::Circle(c, 1.0));
            }),
        ),
        Kind(
            "an outline among the holes",
            "V8",
            ALL,
            How::Job(|job, _| job.edge(0).layer = "HOLES"),
        ),
        Kind("a hole among the outlines", "V8", ALL, How::Job(|job, _| hole(job).layer = "EDGES")),
        Kind(
            "the wrong way round",
            "V8",
            BEAMS,
            How::Job(|job, _| {
                let (list, _) = corners(job.edge(2));
                let n = list.len();
                let back: Vec<[f64; 3]> = (0..n)
                    .map(|i| (list[n - 1 - i], -list[(2 * n - 2 - i) % n][2]))
                    .map(|(c, b)| [c[0], c[1], b])
                    .collect();
                *list = back;
            }),
        ),
    ]
}

fn marks() -> Vec<Kind> {
    vec![
        Kind(
            "a register dot moved",
            "V8",
            BEAMS,
            How::Job(|job, _| job.line("DOTS", 0).figure.moved([0.2, 0.0])),
        ),
        Kind(
            "a register dot off the sheet",
            "V5",
            BEAMS,
            How::Job(|job, _| {
                job.line("DOTS", 0).figure.moved([6.0, 0.0]);
            }),
        ),
        Kind(
            "a mark for the punch missing",
            "V8",
            BEAMS,
            How::Job(|job, _| without(job, "PUNCH", 2)),
        ),
        Kind(
            "a mark for the punch moved",
            "V8",
            BEAMS,
            How::Job(|job, _| job.line("PUNCH", 0).figure.moved([0.0, 0.2])),
        ),
        Kind(
            "the rule too short",
            "V4",
            DRAWINGS,
            How::Job(|job, _| {
                corners(job.line("RULE", 0)).0[1][0] -= 1.0;
            }),
        ),
    ]
}

fn rows() -> Vec<Kind> {
    vec![
        Kind(
            "a row's size changed",
            "V8",
            ALL,
            How::Job(|job, _| job.rows[0].size = job.rows[0].size.map(|s| s + 0.2)),
        ),
        Kind("a row's area changed", "V8", ALL, How::Job(|job, _| job.rows[2].area *= 1.2)),
        Kind(
            "a row's name changed",
            "V8",
            ALL,
            How::Job(|job, _| job.rows[0].address = "ring:77".to_owned()),
        ),
        Kind("a row's place changed", "V12", ALL, How::Job(|job, _| job.rows[0].at[0] += 1.0)),
        Kind(
            "a row left out",
            "V8",
            ALL,
            How::Job(|job, _| {
                job.rows.pop();
            }),
        ),
        Kind(
            "a row twice",
            "V8",
            ALL,
            How::Job(|job, _| {
                let row = job.rows[0].clone();
                job.rows.push(row);
            }),
        ),
        Kind(
            "strokes of two rows changed",
            "V8",
            ALL,
            How::Job(|job, _| {
                let first = std::mem::take(&mut job.rows[0].strokes);
                job.rows[0].strokes = std::mem::replace(&mut job.rows[2].strokes, first);
            }),
        ),
        Kind(
            "a punched hole of a row moved",
            "V8",
            BEAMS,
            How::Job(|job, _| job.rows[2].punched[0].0[0] += 0.3),
        ),
    ]
}

fn claims() -> Vec<Kind> {
    vec![
        Kind(
            "cut length claimed 2 % too long",
            "V13",
            ALL,
            How::Job(|job, _| job.lengths[0] *= 1.02),
        ),
        Kind("marks claimed too short", "V13", BEAMS, How::Job(|job, _| job.lengths[1] *= 0.9)),
        Kind(
            "a material no laser may have",
            "V11",
            BEAMS,
            How::Job(|job, _| {
                job.material.laser_stop = Some("polyvinyl chloride".to_owned());
            }),
        ),
        Kind(
            "figures for another machine",
            "V10",
            ALL,
            How::Job(|job, _| job.material.machine = "other".to_owned()),
        ),
        Kind("the dots of another lay", "V8", BEAMS, How::Job(|job, _| job.dots[0][1] -= 1.0)),
    ]
}

fn said(lines: &mut [String], key: &str, value: &str) {
    let head = format!("{key}: ");
    let line = lines.iter_mut().find(|l| l.starts_with(&head)).unwrap();
    *line = format!("{head}{value}");
}

fn papers() -> Vec<Kind> {
    vec![
        Kind("a stale generation", "V12", ALL, How::Papers(|l| said(l, "generation", "2"))),
        Kind("another sheet", "V12", ALL, How::Papers(|l| said(l, "sheet", "H2"))),
        Kind("another material", "V12", ALL, How::Papers(|l| said(l, "material", "hinge-cloth"))),
        Kind("another machine", "V12", ALL, How::Papers(|l| said(l, "machine", "bench-2"))),
        Kind("another process", "V12", ALL, How::Papers(|l| said(l, "process", "punch"))),
        Kind("another lay", "V12", ALL, How::Papers(|l| said(l, "lay", "lay-2"))),
        Kind(
            "made from an older lay",
            "V12",
            ALL,
            How::Papers(|l| {
                said(l, "input", &format!("sha256 {} lay.json", "ef".repeat(32)));
            }),
        ),
        Kind("another kerf", "V12", ALL, How::Papers(|l| said(l, "kerf", "x 0.3; y 0.3"))),
        Kind("another unit", "V4", ALL, How::Papers(|l| said(l, "unit", "inch"))),
        Kind(
            "another bed window",
            "V12",
            ALL,
            How::Papers(|l| said(l, "window", "2 of 2; origin x 1; y 1")),
        ),
        Kind("another count", "V8", ALL, How::Papers(|l| said(l, "pieces", "3"))),
        Kind("no head", "V12", ALL, How::Papers(|l| l[0] = "a manifest".to_owned())),
        Kind("a key twice", "V12", ALL, How::Papers(|l| l.push("sheet: H1".to_owned()))),
        Kind(
            "no hash of the motions",
            "V12",
            ALL,
            How::Papers(|l| {
                l.retain(|line| !line.starts_with("motions: "));
            }),
        ),
        Kind(
            "no lengths",
            "V13",
            ALL,
            How::Papers(|l| l.retain(|line| !line.starts_with("length: "))),
        ),
        Kind(
            "a row that cannot be read",
            "V12",
            ALL,
            How::Papers(|l| {
                let line = l.iter_mut().find(|l| l.starts_with("piece: ")).unwrap();
                *line = line.replace("; turn 0", "");
            }),
        ),
    ]
}
