//! The proof of a file of ten thousand pieces, beside a sort of a million numbers, ten times over.
//!
//! `cargo bench --bench prove -- [PIECES]`
//!
//! Rings and disks in rows on one sheet, as SVG and as DXF would have them. Aim 1 s, limit 5 s. Timings are for people:
//! no test depends on them.

#![allow(clippy::print_stdout, reason = "a bench prints")]

mod sorting;

use pouchwork::prove::{Booked, MachineRecord, MaterialRecord, Ring, StockRecord, prove};
use sha2::{Digest, Sha256};
use std::f64::consts::PI;
use std::fmt::Write;
use std::time::Instant;

/// Of each piece its outline and a hole.
const OUTER: f64 = 10.0;
const INNER: f64 = 4.0;
/// From one to the next (mm).
const PITCH: f64 = 21.2;

fn ring(x: f64, y: f64, r: f64) -> Ring {
    Ring(vec![[x + r, y, 1.0], [x - r, y, 1.0]])
}

fn records(pieces: u32, side: f64) -> (StockRecord, MachineRecord, MaterialRecord) {
    let corners = [[0.0, 0.0], [side, 0.0], [side, side], [0.0, side]];
    let stock = StockRecord {
        sheet: "H1".to_owned(),
        generation: 1,
        outline: Ring(corners.iter().map(|c| [c[0], c[1], 0.0]).collect()),
        edge: 3.0,
        gap: 1.0,
        booked: (0..pieces).map(booked).collect(),
        ..StockRecord::default()
    };
    let machine = MachineRecord {
        key: "bench".to_owned(),
        laser: true,
        width: side + 20.0,
        depth: side + 20.0,
        ..MachineRecord::default()
    };
    let material = MaterialRecord {
        key: "leather".to_owned(),
        machine: "bench".to_owned(),
        kerf: [0.2; 2],
        passes: 1,
        ..MaterialRecord::default()
    };
    (stock, machine, material)
}

fn place(n: u32) -> (f64, f64) {
    (15.0 + PITCH * f64::from(n % 100), 15.0 + PITCH * f64::from(n / 100))
}

fn booked(n: u32) -> Booked {
    let (x, y) = place(n);
    Booked {
        address: format!("ring:{n}"),
        at: [x, y],
        outline: ring(x, y, OUTER),
        holes: vec![ring(x, y, INNER)],
        ..Booked::default()
    }
}

fn svg(pieces: u32, side: f64) -> String {
    let high = side + 20.0;
    let mut body = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg height=\"{high}mm\" viewBox=\"0 0 {high} {high}\" \
         width=\"{high}mm\" xmlns=\"http://www.w3.org/2000/svg\">\n<g fill=\"none\" id=\"RULE\">\n\
         <path d=\"M5 1 L105 1\" id=\"rule-1\"/>\n</g>\n"
    );
    for (layer, r, first) in [("HOLES", INNER - 0.1, 2), ("EDGES", OUTER + 0.1, pieces + 2)] {
        let _ = writeln!(body, "<g fill=\"none\" id=\"{layer}\">");
        for n in 0..pieces {
            let (x, y) = place(n);
            let (y, number) = (high - y, first + n);
            // Outlines as two half turns in quarters, so that arcs are read as well as circles.
            let _ = if layer == "HOLES" {
                writeln!(
                    body,
                    "<circle cx=\"{x:.4}\" cy=\"{y:.4}\" id=\"r-{number}\" r=\"{r:.4}\"/>"
                )
            } else {
                writeln!(
                    body,
                    "<path d=\"M{:.4} {y:.4} A{r} {r} 0 0 0 {x:.4} {:.4} A{r} {r} 0 0 0 {:.4} {y:.4} \
                     A{r} {r} 0 0 0 {x:.4} {:.4} A{r} {r} 0 0 0 {:.4} {y:.4} Z\" id=\"r-{number}\"/>",
                    x + r,
                    y - r,
                    x - r,
                    y + r,
                    x + r
                )
            };
        }
        body.push_str("</g>\n");
    }
    body.push_str("</svg>\n");
    let mut words = "pouchwork manifest 1\njob: bench\nlay: lay-1\nsheet: H1\ngeneration: 1\nwindow: none\n\
        material: leather\nmachine: bench\nprocess: laser\nversion: pouchwork\nunit: mm\nkerf: x 0.2; y 0.2\n"
        .to_owned();
    let cut = f64::from(pieces) * 2.0 * PI * (OUTER + INNER);
    let _ =
        writeln!(words, "length: cut {cut:.4}; marked 0; travel 1\ndots: none\npieces: {pieces}");
    let area = PI * (OUTER * OUTER - INNER * INNER);
    for n in 0..pieces {
        let (x, y) = place(n);
        let _ = writeln!(
            words,
            "piece: x {x:.4}; y {y:.4}; turn 0; mirrored no; strokes {} {}; diameter 20; area {area:.4}; \
             punched none; address ring:{n}",
            n + 2,
            n + pieces + 2
        );
    }
    let _ = write!(words, "motions: sha256 {}\nbody: sha256 ", "0".repeat(64));
    for byte in Sha256::digest(body.as_bytes()) {
        let _ = write!(words, "{byte:02x}");
    }
    let at = body.find("2000/svg\">\n").map_or(0, |n| n + "2000/svg\">\n".len());
    format!("{}<desc>{words}</desc>\n{}", &body[..at], &body[at..])
}

fn main() {
    let typed = std::env::args().skip(1).find(|word| word != "--bench");
    let pieces = typed.and_then(|word| word.parse().ok()).unwrap_or(10_000).clamp(1, 10_000);
    let side = 2150.0;
    let (stock, machine, material) = records(pieces, side);
    let text = svg(pieces, side);
    let sorting = sorting::sorting();
    let start = Instant::now();
    let verdict = prove(text.as_bytes(), "a-laser.svg", &stock, &machine, &material);
    let seconds = start.elapsed().as_secs_f64();
    let word = if verdict.is_proven() { "proven" } else { "NOT PROVEN" };
    println!(
        "prove: {pieces} pieces, {:.1} MB, {word} in {seconds:.2} s, {:.2} of the {sorting:.2} s in which a million \
         numbers are sorted ten times",
        f64::from(u32::try_from(text.len()).unwrap_or(u32::MAX)) / 1e6,
        seconds / sorting
    );
    for it in verdict.broken() {
        println!("  {} {}", it.name, it.margin);
    }
}
