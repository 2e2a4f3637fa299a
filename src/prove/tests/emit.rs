//! Writes a job as SVG and DXF, by the forms that the project's files have.

use super::job::{Figure, Job, Line, Row};
use sha2::{Digest, Sha256};
use std::fmt::Write;

pub(super) fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Four decimals, zeros at the end left off.
pub(super) fn mm(value: f64) -> String {
    fixed(value, 4)
}

fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    if text == "-0" { "0".to_owned() } else { text }
}

/// The manifest but for its last line.
pub(super) fn papers(job: &Job, more: &[String]) -> Vec<String> {
    let process = if job.machine.laser { "laser" } else { "knife" };
    let window = job.stock.window.map_or("none".to_owned(), |w| {
        format!("{} of {}; origin x {}; y {}", w.number, w.of, mm(w.origin[0]), mm(w.origin[1]))
    });
    let mut lines = vec![
        "pouchwork manifest 1".to_owned(),
        "job: trial".to_owned(),
        "lay: lay-1".to_owned(),
        "sheet: H1".to_owned(),
        "generation: 1".to_owned(),
        format!("window: {window}"),
        "material: pouch-leather".to_owned(),
        "machine: bench".to_owned(),
        format!("process: {process}"),
        "version: pouchwork 0.1.0".to_owned(),
        "unit: mm".to_owned(),
        format!("input: sha256 {} lay.json", "ab".repeat(32)),
        format!("kerf: x {}; y {}", mm(job.material.kerf[0]), mm(job.material.kerf[1])),
        format!("length: cut {}; marked {}; travel 1", mm(job.lengths[0]), mm(job.lengths[1])),
        "caution: Never leave it while it cuts. Extinguisher and a wet cloth in reach.".to_owned(),
    ];
    lines.extend_from_slice(more);
    let dots: Vec<String> = job.dots.iter().map(|d| format!("{} {}", mm(d[0]), mm(d[1]))).collect();
    lines.push(format!("dots: {}", dots.join(", ")));
    lines.push(format!("pieces: {}", job.rows.len()));
    lines.extend(job.rows.iter().map(row));
    lines.push(format!("motions: sha256 {}", "cd".repeat(32)));
    lines
}

fn row(row: &Row) -> String {
    let numbers: Vec<String> = row.strokes.iter().map(u32::to_string).collect();
    let size = if row.round {
        format!("diameter {}", mm(row.size[0]))
    } else {
        format!("box {} x {}", mm(row.size[0]), mm(row.size[1]))
    };
    let punched: Vec<String> = row
        .punched
        .iter()
        .map(|(at, d)| format!("{} at {} {}", mm(*d), mm(at[0]), mm(at[1])))
        .collect();
    format!(
        "piece: x {}; y {}; turn 0; mirrored no; strokes {}; {size}; area {}; punched {}; address {}",
        mm(row.at[0]),
        mm(row.at[1]),
        numbers.join(" "),
        mm(row.area),
        if punched.is_empty() { "none".to_owned() } else { punched.join(", ") },
        row.address
    )
}

pub(super) fn svg(job: &Job) -> String {
    with_desc(&svg_body(job), &papers(job, &[]))
}

/// The manifest with the hash of a body put into it.
pub(super) fn with_desc(body: &str, papers: &[String]) -> String {
    let at = body.find("2000/svg\">\n").map_or(0, |n| n + "2000/svg\">\n".len());
    let words = papers.join("\n");
    let sum = hash(body.as_bytes());
    format!("{}<desc>{words}\nbody: sha256 {sum}</desc>\n{}", &body[..at], &body[at..])
}

pub(super) fn svg_body(job: &Job) -> String {
    let high = 500.0;
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg height=\"{high}mm\" viewBox=\"0 0 700 {high}\" \
         width=\"700mm\" xmlns=\"http://www.w3.org/2000/svg\">\n<title>\nlay-1, sheet H1\n</title>\n"
    );
    let mut runs: Vec<&str> = Vec::new();
    for group in job.lines.chunk_by(|a, b| a.layer == b.layer) {
        let layer = group[0].layer;
        runs.push(layer);
        let again = runs.iter().filter(|l| **l == layer).count();
        let id = if again > 1 { format!("{layer}-{again}") } else { layer.to_owned() };
        let _ =
            writeln!(text, "<g fill=\"none\" id=\"{id}\" stroke=\"#0072B2\" stroke-width=\"0.1\">");
        for line in group {
            text.push_str(&svg_line(line, high));
        }
        text.push_str("</g>\n");
    }
    text.push_str("</svg>\n");
    text
}

fn svg_line(line: &Line, high: f64) -> String {
    let title = if line.address.is_empty() {
        String::new()
    } else {
        format!("\n<title>{}</title>\n", line.address)
    };
    let (open, name) = match &line.figure {
        Figure::Circle(c, r) => (
            format!(
                "<circle cx=\"{}\" cy=\"{}\" id=\"it-{}\" r=\"{}\"",
                mm(c[0]),
                mm(high - c[1]),
                line.number,
                mm(*r)
            ),
            "circle",
        ),
        Figure::Chain(corners, closed) => {
            let mut d = format!("M{} {}", mm(corners[0][0]), mm(high - corners[0][1]));
            let count = corners.len() - usize::from(!closed);
            for i in 0..count {
                let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
                if a[2] == 0.0 {
                    if !(*closed && i + 1 == count) {
                        let _ = write!(d, " L{} {}", mm(b[0]), mm(high - b[1]));
                    }
                } else {
                    let chord = (b[0] - a[0]).hypot(b[1] - a[1]);
                    let r = chord * (1.0 + a[2] * a[2]) / (4.0 * a[2].abs());
                    let r = fixed(r, 6);
                    let sweep = u8::from(a[2] < 0.0);
                    let _ = write!(d, " A{r} {r} 0 0 {sweep} {} {}", mm(b[0]), mm(high - b[1]));
                }
            }
            if *closed {
                d.push_str(" Z");
            }
            (format!("<path d=\"{d}\" id=\"it-{}\"", line.number), "path")
        }
    };
    if title.is_empty() { format!("{open}/>\n") } else { format!("{open}>{title}</{name}>\n") }
}

/// DXF of 2000, or release 12.
pub(super) fn dxf(job: &Job, new: bool) -> String {
    with_comments(&dxf_body(job, new), &papers(job, &[]))
}

pub(super) fn with_comments(body: &str, papers: &[String]) -> String {
    let mut text = String::new();
    for line in papers.iter().chain([&format!("body: sha256 {}", hash(body.as_bytes()))]) {
        let mut rest = line.as_str();
        let mut head = "";
        while rest.len() > 100 {
            let _ = write!(text, "999\n{head}{}\n", &rest[..100]);
            (rest, head) = (&rest[100..], "+ ");
        }
        let _ = write!(text, "999\n{head}{rest}\n");
    }
    text + body
}

fn extent(job: &Job) -> [[f64; 2]; 2] {
    let mut low = [f64::INFINITY; 2];
    let mut high = [-f64::INFINITY; 2];
    let mut take = |p: [f64; 2]| {
        for k in 0..2 {
            low[k] = low[k].min(p[k]);
            high[k] = high[k].max(p[k]);
        }
    };
    for line in &job.lines {
        match &line.figure {
            Figure::Circle(c, r) => {
                take([c[0] - r, c[1] - r]);
                take([c[0] + r, c[1] + r]);
            }
            Figure::Chain(corners, _) => corners.iter().for_each(|c| take([c[0], c[1]])),
        }
    }
    [low, high]
}

pub(super) fn dxf_body(job: &Job, new: bool) -> String {
    let mut t = String::new();
    let pair = |t: &mut String, code: u32, value: &str| {
        let _ = write!(t, "{code}\n{value}\n");
    };
    let point = |t: &mut String, code: u32, p: [f64; 2]| {
        let _ =
            write!(t, "{code}\n{}\n{}\n{}\n{}\n0.0\n", mm(p[0]), code + 10, mm(p[1]), code + 20);
    };
    let begin = |t: &mut String, name: &str, class: &str, layer: &str| {
        let head = format!("0\n{name}\n");
        t.push_str(&head);
        if new {
            t.push_str("5\n1A\n330\n14\n100\nAcDbEntity\n");
        }
        pair(t, 8, layer);
        if new {
            pair(t, 100, class);
        }
    };
    let [low, high] = extent(job);
    t.push_str("0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\n");
    t.push_str(if new { "AC1015\n" } else { "AC1009\n" });
    t.push_str("9\n$INSUNITS\n70\n4\n9\n$MEASUREMENT\n70\n1\n9\n$EXTMIN\n");
    point(&mut t, 10, low);
    t.push_str("9\n$EXTMAX\n");
    point(&mut t, 10, high);
    t.push_str("0\nENDSEC\n");
    if new {
        t.push_str("0\nSECTION\n2\nCLASSES\n0\nENDSEC\n");
    }
    t.push_str("0\nSECTION\n2\nTABLES\n0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    for line in &job.lines {
        let layer = line.layer;
        match &line.figure {
            Figure::Circle(c, r) => {
                begin(&mut t, "CIRCLE", "AcDbCircle", layer);
                point(&mut t, 10, *c);
                pair(&mut t, 40, &mm(*r));
            }
            Figure::Chain(corners, false) if corners.len() == 2 => {
                begin(&mut t, "LINE", "AcDbLine", layer);
                point(&mut t, 10, [corners[0][0], corners[0][1]]);
                point(&mut t, 11, [corners[1][0], corners[1][1]]);
            }
            Figure::Chain(corners, closed) if new => {
                begin(&mut t, "LWPOLYLINE", "AcDbPolyline", layer);
                pair(&mut t, 90, &corners.len().to_string());
                pair(&mut t, 70, if *closed { "1" } else { "0" });
                for c in corners {
                    let _ = write!(t, "10\n{}\n20\n{}\n", mm(c[0]), mm(c[1]));
                    if c[2] != 0.0 {
                        pair(&mut t, 42, &fixed(c[2], 10));
                    }
                }
            }
            Figure::Chain(corners, closed) => {
                begin(&mut t, "POLYLINE", "", layer);
                pair(&mut t, 66, "1");
                point(&mut t, 10, [0.0; 2]);
                pair(&mut t, 70, if *closed { "1" } else { "0" });
                for c in corners {
                    begin(&mut t, "VERTEX", "", layer);
                    point(&mut t, 10, [c[0], c[1]]);
                    if c[2] != 0.0 {
                        pair(&mut t, 42, &fixed(c[2], 10));
                    }
                }
                begin(&mut t, "SEQEND", "", layer);
            }
        }
    }
    t.push_str("0\nENDSEC\n");
    if new {
        t.push_str("0\nSECTION\n2\nOBJECTS\n0\nENDSEC\n");
    }
    t.push_str("0\nEOF\n");
    t
}
