//! What `cut` says of the files it wrote.

use super::Answer;
use super::cut::Made;
use super::opener;
use crate::job::{Job, assumed_of};
use crate::plan::RULE_OFF;
use crate::safety;
use crate::units::counted;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// The caution of a char trim.
pub(super) fn pared(soft: usize, char: f64) -> String {
    format!(
        "Char trim: {soft} soft edges are cut {char} mm outside their line all round; pare that off."
    )
}

/// Where each bed window is laid.
fn tell_places(answer: &mut Answer, made: &Made) {
    for file in &made.files {
        let Some(window) = file.window.filter(|_| !made.found) else { continue };
        let line = format!("{}: {}", file.sheet, window.told());
        if !answer.lines.contains(&line) {
            answer.line(line);
        }
    }
}

/// The answer, without its faults.
pub(super) fn tell(job: &Job, made: &Made, said: Vec<String>) -> Answer {
    let mut answer = Answer::new();
    answer.lines = said;
    let mut rows: Vec<Value> = Vec::new();
    for file in &made.files {
        let time = file.seconds.map_or(String::new(), |s| format!(", about {:.0} min", s / 60.0));
        answer.line(format!(
            "wrote {}   {} on {}, {:.1} m to cut{time}",
            file.path.display(),
            counted(file.pieces, "piece"),
            file.sheet,
            file.cut / 1000.0
        ));
        rows.push(json!({
            "file": file.path.display().to_string(),
            "sheet": file.sheet,
            "origin-mm": file.window.map(|w| [w.origin.x, w.origin.y]),
            "machine": file.machine,
            "pieces": file.pieces,
            "cut-mm": file.cut,
            "numbers": file.numbers,
            "seconds": file.seconds,
        }));
    }
    answer.picture = made.files.first().map(|file| opener::order_of(&file.path, &file.sheet));
    let mut told: Vec<(&str, &str)> = Vec::new();
    for file in &made.files {
        let line = (file.sheet.as_str(), file.numbers.as_str());
        if !told.contains(&line) {
            answer.line(format!("{}: {}", line.0, line.1));
            told.push(line);
        }
    }
    tell_places(&mut answer, made);
    let (holes, sizes) = (made.punches.count(), made.punches.rows.len());
    if holes > 0 {
        answer.line(format!(
            "wrote punch.csv   {} of {} to be punched by hand; punch.png has them at true size",
            counted(holes, "hole"),
            counted(sizes, "size")
        ));
    }
    let names: BTreeSet<&str> = made.files.iter().map(|f| f.machine.as_str()).collect();
    let machines: Vec<&str> = names.into_iter().collect();
    answer.line("the pictures beside them number every piece: mark odd sizes before you lift them");
    let mut cautions: Vec<Value> = Vec::new();
    for name in &machines {
        let Some(machine) = job.machine(name) else { continue };
        answer.line("");
        answer.line(format!("{} ({}):", machine.title, machine.process));
        for caution in safety::cautions(machine) {
            let line = format!("  - {caution}");
            if !answer.lines.contains(&line) {
                answer.line(line);
            }
            cautions.push(json!({ "machine": name, "text": caution }));
        }
    }
    let open = assumed_of(job, &machines);
    if !open.is_empty() {
        answer.line("");
        answer.line(format!("only assumed: {}", open.join("; ")));
        if open.iter().any(|figure| figure.starts_with("kerf")) && job.coupon.is_none() {
            answer.line(
                "the width of the cut is a starting guess: cut one piece on scrap and measure it, or better a coupon: pouchwork coupon kerf",
            );
        }
    }
    answer.result = json!({ "lay": made.lay, "files": rows, "punched": holes, "cautions": cautions, "assumed": open });
    if job.coupon.is_some() {
        answer.hint(format!("then measure its pieces, fill in out/{0}/readings.csv and type: pouchwork coupon read out/{0}/readings.csv", made.lay));
    }
    answer.hint("the 100 mm rule in each file must measure 100 mm before anything is cut");
    rules(&mut answer, made);
    if job.coupon.is_none() {
        answer.hint(format!(
            "next: pouchwork page {}, for a job sheet at the bench: one HTML file, to find pieces and tick them off",
            made.lay
        ));
    }
    answer
}

/// The files whose 100 mm rule stands beyond the bed.
fn rules(answer: &mut Answer, made: &Made) {
    for file in made.files.iter().filter(|file| file.rule_off) {
        let name = file.path.file_name().unwrap_or_default().display();
        answer.hint(format!("{name}: {RULE_OFF}"));
    }
}
