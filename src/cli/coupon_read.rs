//! `coupon read`: the width of the cut from a filled table, and its way into the material's profile.

use super::args::{Common, ReadArgs};
use super::gate::today;
use super::open::{Folder, Open, open};
use super::prove::job_of;
use super::show::Show;
use super::{Answer, desk, outcome_of};
use crate::coupon::{Axis, AxisKerf, Kerfs, Side, Sort, Stat, Width, judge};
use crate::fault::{Fault, Sources};
use crate::job::{
    Found, Job, KerfEdit, Measured, OutlineFault, Outlines, Shelf, Which, edited, read_job,
    read_readings,
};
use crate::lay::record::from_json;
use serde_json::{Value, json};
use std::io::{self, BufRead, IsTerminal, Read};
use std::path::Path;

/// What the record beside a table says of its coupon.
pub(super) struct About {
    sort: Sort,
    pub(super) material: String,
    pub(super) machine: String,
    gap: f64,
    edge: f64,
}

pub(super) fn run(common: &Common, how: &ReadArgs, show: &Show) -> Answer {
    let common = Common { job: common.job.clone().or_else(|| job_of(&how.file)), ..common.clone() };
    let Open { folder, job, mut sources, .. } = match open(&common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    match read(&folder, &job, how, (show, &mut sources)) {
        Ok(mut answer) => {
            answer.sources = sources;
            answer
        }
        Err(faults) => Answer::refused(faults, sources),
    }
}

fn read(
    folder: &Path,
    job: &Job,
    how: &ReadArgs,
    (show, sources): (&Show, &mut Sources),
) -> Result<Answer, Vec<Fault>> {
    let one = |fault: Fault| vec![fault];
    let shown = how.file.display().to_string();
    let bytes = desk::read(&how.file).map_err(one)?.ok_or_else(|| {
        vec![
            Fault::error("E36", format!("there is no file {shown}"))
                .cure("give the path of a filled table, such as out/coupon-1/readings.csv"),
        ]
    })?;
    let about = about(&how.file).map_err(one)?;
    if about.sort != Sort::Kerf {
        let table = (about.sort, shown.as_str(), &bytes[..]);
        return super::coupon_finding::read(folder, job, (how, &about), table, (show, sources));
    }
    let (filled, told) = read_readings(&shown, &bytes, sources)?;
    let kerfs = judge(&filled).map_err(|faults| [told.clone(), faults].concat())?;
    let day = today().map_err(one)?;
    let measured = Measured {
        width: kerfs.width(),
        source: format!(
            "coupon {day}: {} readings, spread {:.3} mm",
            kerfs.count(),
            kerfs.spread()
        ),
        gap: about.gap,
        edge: about.edge,
    };
    let edit = edited(job, &about.material, &about.machine, &measured).map_err(one)?;
    holds(folder, &edit, &about, kerfs.width()).map_err(one)?;
    let mut answer = Answer::new();
    report(&mut answer, &about, &kerfs, &edit);
    answer.faults = [told, kerfs.warnings.clone()].concat();
    let asks =
        !how.yes && !show.is_json() && io::stdin().is_terminal() && io::stdout().is_terminal();
    let yes = how.yes || (asks && asked(&mut answer, &edit, (show, sources)));
    let path = folder.join(&edit.path);
    if yes {
        desk::write(&path, edit.text.as_bytes()).map_err(one)?;
        answer.line(format!("wrote {}", path.display()));
        if !edit.open.is_empty() {
            answer.line(format!(
                "its new table still lacks {}: they are for you to fill in, and only G-code wants them",
                edit.open.join(" and ")
            ));
        }
        answer.hint(
            "lays made before allow for another width of the cut: pouchwork lay makes a new one",
        );
        answer.hint("next: pouchwork check");
    } else {
        answer.line("nothing is written");
        answer.hint(format!("to write it: pouchwork coupon read {shown} --yes"));
    }
    answer.outcome = outcome_of(&answer.faults);
    answer.result = result(&about, &kerfs, &edit, yes);
    Ok(answer)
}

/// The coupon that a table belongs to, by the record beside it.
fn about(file: &Path) -> Result<About, Fault> {
    let none = |why: &str| {
        Fault::error("E36", format!("{} lies in the folder of no coupon: {why}", file.display()))
            .cure("leave readings.csv in the folder that coupon kerf made, such as out/coupon-1")
    };
    let beside = file.with_file_name("lay.json");
    let bytes = desk::read(&beside)?.ok_or_else(|| none("there is no lay.json beside it"))?;
    let text = String::from_utf8(bytes).map_err(|_| none("its lay.json is not text"))?;
    let record = from_json(&text).map_err(|why| none(&why))?;
    let mut sorts = record.pieces.iter().map(|piece| Sort::of(&piece.address));
    let first = sorts.next().flatten();
    let sort = first.filter(|_| sorts.all(|other| other == first));
    let ([group], [sheet], Some(sort)) = (&record.groups[..], &record.sheets[..], sort) else {
        return Err(none("its lay.json is that of another lay"));
    };
    Ok(About {
        sort,
        material: group.material.clone(),
        machine: group.machine.clone(),
        gap: group.apart,
        edge: sheet.edge,
    })
}

/// The job folder with one file as it would be.
struct With<'a> {
    folder: Folder,
    edit: &'a KerfEdit,
}

impl Shelf for With<'_> {
    fn read(&self, which: Which, name: &str) -> Found {
        if which == Which::Job && name == self.edit.path {
            return Found::Bytes(self.edit.text.clone().into_bytes());
        }
        self.folder.read(which, name)
    }

    fn list(&self, which: Which) -> Vec<String> {
        self.folder.list(which)
    }

    fn outlines(
        &self,
        name: &str,
        bytes: &[u8],
        unit: Option<f64>,
    ) -> Result<Outlines, OutlineFault> {
        self.folder.outlines(name, bytes, unit)
    }
}

/// The job as it reads with the profile changed.
pub(super) fn as_it_would_be(folder: &Path, edit: &KerfEdit) -> Option<Job> {
    let shelf = With { folder: Folder::new(folder.to_owned()), edit };
    read_job(&shelf, &mut Sources::default()).0
}

/// Nothing is written that does not read back as it was meant.
fn holds(folder: &Path, edit: &KerfEdit, about: &About, width: Width) -> Result<(), Fault> {
    let job = as_it_would_be(folder, edit);
    let job = job.as_ref();
    let (x, y) = match width {
        Width::One(both) => (both, both),
        Width::Two(x, y) => (x, y),
    };
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    let good = job
        .and_then(|job| job.setting(&about.material, &about.machine))
        .is_some_and(|s| near(s.kerf_x, x) && near(s.kerf_y, y) && !s.source.is_assumed());
    if good {
        return Ok(());
    }
    Err(Fault::error(
        "E68",
        format!("{} can't be changed: read again it would not say so", edit.path),
    )
    .cure(format!("write it by hand, under [[cut]] on = \"{}\": {}", edit.on, edit.now)))
}

fn report(answer: &mut Answer, about: &About, kerfs: &Kerfs, edit: &KerfEdit) {
    answer.line(format!("{} on {}", about.material, about.machine));
    for (axis, it) in [(Axis::X, &kerfs.x), (Axis::Y, &kerfs.y)] {
        answer.line(format!(
            "kerf-{axis} {:.3} mm   spread {:.3} mm, {} readings: {}, {}",
            it.kerf,
            it.spread,
            it.count,
            stat(Side::Outside, &it.outside),
            stat(Side::Inside, &it.inside),
        ));
    }
    if let Width::One(both) = kerfs.width() {
        answer.line(format!("both ways alike as far as the readings tell: {both:.3} mm"));
    }
    if kerfs.odd.is_empty() {
        answer.line("no reading stands out");
    }
    answer.line("");
    let was = edit.was.as_deref().unwrap_or("no figures for this machine");
    answer.line(format!("was {was}"));
    answer.line(format!("now {}", edit.now));
    let table = if edit.added { "a new table" } else { "the table" };
    let copied = edit.copied.as_ref().map_or(String::new(), |from| format!(", a copy of {from}"));
    answer.line(format!("in {}{copied}: {table} [[cut]] on = \"{}\"", edit.path, edit.on));
}

fn stat(side: Side, stat: &Stat) -> String {
    format!("{side} {:.3} ({})", stat.mean, stat.count)
}

/// Shows what there is to be shown and asks.
pub(super) fn asked(
    answer: &mut Answer,
    edit: &KerfEdit,
    (show, sources): (&Show, &Sources),
) -> bool {
    for line in answer.lines.drain(..) {
        show.say(&line);
    }
    show.faults(&answer.faults, sources);
    answer.faults.clear();
    Show::raw(&format!("write it to {}? [y/N] ", edit.path));
    is_yes(&mut io::stdin().lock())
}

/// Whether somebody types yes; an empty line is no.
fn is_yes(from: &mut dyn BufRead) -> bool {
    const MOST: u64 = 256;
    let mut text = String::new();
    let read = Read::take(from, MOST).read_line(&mut text);
    read.is_ok() && matches!(text.trim().to_lowercase().as_str(), "y" | "yes")
}

fn result(about: &About, kerfs: &Kerfs, edit: &KerfEdit, written: bool) -> Value {
    let side = |s: &Stat| json!({ "mean-mm": s.mean, "spread-mm": s.spread, "count": s.count });
    let axis = |a: &AxisKerf| {
        json!({
            "kerf-mm": a.kerf,
            "spread-mm": a.spread,
            "count": a.count,
            "error-mm": a.error,
            "outside": side(&a.outside),
            "inside": side(&a.inside),
        })
    };
    let odd: Vec<Value> = kerfs
        .odd
        .iter()
        .map(|(spot, kerf)| {
            json!({
                "number": spot.number,
                "feature": spot.feature.name(),
                "axis": spot.axis.to_string(),
                "kerf-mm": kerf,
            })
        })
        .collect();
    json!({
        "material": about.material,
        "machine": about.machine,
        "x": axis(&kerfs.x),
        "y": axis(&kerfs.y),
        "standing-out": odd,
        "was": edit.was,
        "now": edit.now,
        "profile": edit.path,
        "added": edit.added,
        "still-to-fill-in": edit.open,
        "written": written,
    })
}

#[cfg(test)]
mod tests {
    use super::is_yes;

    #[test]
    fn only_a_yes_is_yes() {
        for (typed, yes) in
            [("y\n", true), ("Yes\n", true), ("\n", false), ("", false), ("n\n", false)]
        {
            assert_eq!(is_yes(&mut typed.as_bytes()), yes, "{typed:?}");
        }
        assert!(!is_yes(&mut &[0xff_u8, b'\n'][..]));
    }
}
