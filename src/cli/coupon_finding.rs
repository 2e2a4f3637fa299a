//! `coupon read` for stretch, gap and smallest hole: what a filled table comes to, and its way into the profile.

use super::args::ReadArgs;
use super::coupon_read::{About, as_it_would_be, asked};
use super::gate::today;
use super::show::Show;
use super::{Answer, desk, outcome_of};
use crate::coupon::{Finding, Growth, Sort, found};
use crate::fault::{Fault, Sources};
use crate::job::{Job, KerfEdit, noted, read_findings};
use serde_json::{Value, json};
use std::io::{self, IsTerminal};
use std::path::Path;

pub(super) fn read(
    folder: &Path,
    job: &Job,
    (how, about): (&ReadArgs, &About),
    (sort, shown, bytes): (Sort, &str, &[u8]),
    (show, sources): (&Show, &mut Sources),
) -> Result<Answer, Vec<Fault>> {
    let one = |fault: Fault| vec![fault];
    let (filled, head, told) = read_findings(sort, shown, bytes, sources)?;
    let (finding, warnings) =
        found(sort, &filled, &head).map_err(|faults| [told.clone(), faults].concat())?;
    let source = source(&finding, &today().map_err(one)?.to_string());
    let edit = noted(job, (&about.material, &about.machine), &finding, &source).map_err(one)?;
    holds(folder, &edit, about, &finding).map_err(one)?;
    let mut answer = Answer::new();
    answer.line(format!("{} on {}", about.material, about.machine));
    for line in lines(&finding) {
        answer.line(line);
    }
    answer.line("");
    answer.line(format!("was {}", edit.was.as_deref().unwrap_or("not said")));
    answer.line(format!("now {}", edit.now));
    let copied = edit.copied.as_ref().map_or(String::new(), |from| format!(", a copy of {from}"));
    answer.line(format!("in {}{copied}: {}", edit.path, edit.on));
    answer.faults = [told, warnings].concat();
    let asks =
        !how.yes && !show.is_json() && io::stdin().is_terminal() && io::stdout().is_terminal();
    let yes = how.yes || (asks && asked(&mut answer, &edit, (show, sources)));
    let path = folder.join(&edit.path);
    if yes {
        desk::write(&path, edit.text.as_bytes()).map_err(one)?;
        answer.line(format!("wrote {}", path.display()));
        answer.hint(next(&finding));
    } else {
        answer.line("nothing is written");
        answer.hint(format!("to write it: pouchwork coupon read {shown} --yes"));
    }
    answer.outcome = outcome_of(&answer.faults);
    answer.result = json!({
        "material": about.material,
        "machine": about.machine,
        "tells": sort.name(),
        "found": result(&finding),
        "was": edit.was,
        "now": edit.now,
        "profile": edit.path,
        "added": edit.added,
        "written": yes,
    });
    Ok(answer)
}

/// Day, number and spread, as they stand in `source`.
fn source(finding: &Finding, day: &str) -> String {
    match finding {
        Finding::Stretch(along, across, load) => format!(
            "coupon {day}: {} strips, a minute under {load}, spread {:.2} %",
            along.count + across.count,
            100.0 * along.spread.max(across.spread)
        ),
        Finding::Gap(..) => format!("coupon {day}, the narrowest web that held"),
        Finding::Hole(..) => format!("coupon {day}, the smallest that came out round"),
    }
}

fn lines(finding: &Finding) -> Vec<String> {
    let smallest =
        |last: bool| if last { ", the smallest there was: a smaller one may do too" } else { "" };
    match finding {
        Finding::Stretch(along, across, load) => {
            let line = |way: &str, it: &Growth| {
                format!(
                    "{way} the grain {:+.2} %   spread {:.2} %, {} strips, under {load}",
                    100.0 * it.mean,
                    100.0 * it.spread,
                    it.count
                )
            };
            vec![line("along", along), line("across", across)]
        }
        Finding::Gap(mm, last) => {
            vec![format!("webs of {mm} mm and wider held{}", smallest(*last))]
        }
        Finding::Hole(mm, last) => {
            vec![format!("holes of {mm} mm and larger came out round{}", smallest(*last))]
        }
    }
}

fn next(finding: &Finding) -> &'static str {
    match finding {
        Finding::Stretch(..) => {
            "parts take it off beforehand where they say stretch = \"material\": next: pouchwork check"
        }
        Finding::Gap(..) => "lays made before keep another gap: pouchwork lay makes a new one",
        Finding::Hole(..) => {
            "holes from this size on are cut, smaller ones marked for the punch: next: pouchwork check"
        }
    }
}

/// Nothing is written that does not read back as it was meant.
fn holds(folder: &Path, edit: &KerfEdit, about: &About, finding: &Finding) -> Result<(), Fault> {
    let job = as_it_would_be(folder, edit);
    let near = |a: f64, b: f64| (a - b).abs() < 5.1e-5;
    let good = job.as_ref().is_some_and(|job| match finding {
        Finding::Stretch(along, across, _) => {
            let there = job.materials.get(&about.material).and_then(|m| m.stretch.as_ref());
            there.is_some_and(|s| near(s.along, along.mean) && near(s.across, across.mean))
        }
        Finding::Gap(gap, _) => {
            job.setting(&about.material, &about.machine).is_some_and(|s| near(s.gap, *gap))
        }
        Finding::Hole(hole, _) => {
            job.machine(&about.machine).is_some_and(|m| near(m.smallest_hole, *hole))
        }
    });
    if good {
        return Ok(());
    }
    Err(Fault::error(
        "E68",
        format!("{} can't be changed: read again it would not say so", edit.path),
    )
    .cure(format!("write it by hand, under {}: {}", edit.on, edit.now)))
}

fn result(finding: &Finding) -> Value {
    let growth = |it: &Growth| json!({ "share": it.mean, "spread": it.spread, "count": it.count });
    match finding {
        Finding::Stretch(along, across, load) => {
            json!({ "along": growth(along), "across": growth(across), "load": load })
        }
        Finding::Gap(mm, last) => json!({ "gap-mm": mm, "smallest-there-was": last }),
        Finding::Hole(mm, last) => json!({ "smallest-hole-mm": mm, "smallest-there-was": last }),
    }
}
