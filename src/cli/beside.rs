//! What `lay` tells beside the lay itself: what the other way of the threads would give, and what could be cut besides.

use crate::job::{Batch, Job, batches, loosened, work_out};
use crate::lay::{
    Axis, AxisTold, CutOff, Effort, Extra, Layout, Watch, aside, extras, last_cut_off, lay,
};
use crate::part::{Grain, MemberName, Piece};
use crate::sheet::SheetKind;
use serde_json::{Value, json};

/// A saving is told from so much on: millimetres, and a share of the length.
const WORTH: (f64, f64) = (10.0, 0.02);
/// So many sizes that could be cut besides are told.
const MOST_TOLD: usize = 4;

/// What is told of one batch.
#[derive(Debug, Default)]
pub(super) struct Beside {
    /// Each axis alone, where pieces have a choice.
    pub axes: Vec<AxisTold>,
    /// What it would come to if the job let parts lie both ways: the parts, and the cut-off.
    pub loose: Option<(Vec<String>, CutOff)>,
    /// What could be cut besides.
    pub extras: Vec<Extra>,
    /// The cut-off they are told of.
    pub cut: Option<CutOff>,
}

/// The batches of the job as they would be if it fixed the way of fewer parts, with the parts' names.
pub(super) struct Loose {
    batches: Vec<Batch>,
    parts: Vec<(String, String)>,
}

impl Loose {
    /// None where the job fixes no part's way beyond what its kind asks for.
    pub(super) fn of(job: &Job) -> Option<Loose> {
        let other = loosened(job)?;
        let (worked, _) = work_out(&other);
        let batches = batches(&other, &worked).ok()?;
        let was = |part: &&crate::part::Part| {
            job.parts.iter().any(|p| p.title() == part.title() && p.grain != part.grain)
        };
        let fixed = other.parts.iter().filter(|p| p.grain == Grain::Any).filter(was);
        let parts = fixed.map(|p| (p.material.clone(), p.title())).collect();
        Some(Loose { batches, parts })
    }

    /// What a batch would come to, where that saves enough to be told.
    fn saving(
        &self,
        batch: &Batch,
        layout: &Layout,
        effort: Effort,
        watch: &dyn Watch,
    ) -> Option<(Vec<String>, CutOff)> {
        let same = |b: &&Batch| b.material == batch.material && b.machine == batch.machine;
        let other = self.batches.iter().find(same)?;
        if other.group.pieces == batch.group.pieces || watch.stop() {
            return None;
        }
        let mut group = other.group.clone();
        group.grounds.clone_from(&batch.group.grounds);
        let found = lay(&group, aside(effort), watch);
        let (now, then) = (last_cut_off(&batch.group, layout)?, last_cut_off(&group, &found)?);
        let used = |layout: &Layout| {
            layout.placed.iter().map(|p| p.ground).collect::<std::collections::BTreeSet<_>>()
        };
        let saved = now.length - then.length;
        let told = !found.stopped
            && found.left.len() == layout.left.len()
            && used(&found) == used(layout)
            && (now.ground, now.way) == (then.ground, then.way)
            && saved >= WORTH.0
            && saved >= WORTH.1 * now.length;
        let parts = || {
            let of_it = self.parts.iter().filter(|(material, _)| *material == batch.material);
            of_it.map(|(_, name)| name.clone()).collect()
        };
        told.then(|| (parts(), then))
    }
}

impl Beside {
    /// Looks at a batch that has been laid; `axes` is what each axis alone came to.
    pub(super) fn of(
        batch: &Batch,
        layout: &Layout,
        axes: Vec<AxisTold>,
        loose: Option<&Loose>,
        (effort, watch): (Effort, &dyn Watch),
    ) -> Beside {
        let loose = loose.and_then(|loose| loose.saving(batch, layout, effort, watch));
        Beside { axes, loose, ..Beside::default() }
    }

    /// Looks for what could be cut besides, once it is settled which sheets the batch keeps.
    pub(super) fn look_for_extras(&mut self, batch: &Batch, layout: &Layout) {
        self.cut = last_cut_off(&batch.group, layout);
        if layout.left.is_empty() {
            self.extras = extras(&batch.group, layout);
        }
    }

    /// The lines below the sheet that was used last.
    pub(super) fn lines(&self, batch: &Batch) -> Vec<String> {
        let Some(cut) = self.cut else { return Vec::new() };
        let kind = batch.group.grounds[cut.ground].sheet.kind;
        let mut told = Vec::new();
        if kind == SheetKind::Cloth && !self.axes.is_empty()
            || self.axes.iter().any(|axis| differs(axis, cut))
        {
            let axes: Vec<String> = self.axes.iter().map(axis_line).collect();
            told.push(format!("{}; {}", taken(cut, kind), axes.join(", ")));
        }
        if let Some((parts, then)) = &self.loose {
            told.push(format!(
                "{}; {:.0} mm if {} might lie both ways (grain = \"any\")",
                taken(cut, kind),
                then.length,
                parts.join(", ")
            ));
        }
        if !self.extras.is_empty() {
            let mut told_of: Vec<(&str, Option<MemberName>)> = Vec::new();
            let list: Vec<String> = self
                .extras
                .iter()
                .filter(|e| {
                    // Of a part with many sizes the largest will do.
                    let address = &batch.group.pieces[e.piece].address;
                    let it = (address.part.as_str(), address.member);
                    let fresh = !told_of.contains(&it);
                    told_of.push(it);
                    fresh
                })
                .take(MOST_TOLD)
                .map(|e| format!("{} more {}", most(e.count), name(batch, e)))
                .collect();
            let room = match kind {
                SheetKind::Cloth => "in the same length",
                SheetKind::Leaf | SheetKind::Hide => "before the cut-off",
            };
            told.push(format!("free {room}: {}", list.join(", or ")));
        }
        told
    }

    /// The same for scripts; `null` where nothing is told.
    pub(super) fn json(&self, batch: &Batch) -> Value {
        let axes: Vec<Value> = self
            .axes
            .iter()
            .map(|a| {
                let length = a.cut.map(|cut| cut.length);
                json!({ "lie": word(a.axis), "cut-off-mm": length, "sheets": a.sheets, "left-out": a.left })
            })
            .collect();
        let loose = self
            .loose
            .as_ref()
            .map(|(parts, cut)| json!({ "parts": parts, "cut-off-mm": cut.length }));
        let free: Vec<Value> = self
            .extras
            .iter()
            .map(|e| json!({ "piece": name(batch, e), "count": e.count }))
            .collect();
        json!({ "one-way": axes, "if-any": loose, "free": free })
    }
}

/// Whether one axis alone comes to something else than the lay.
fn differs(axis: &AxisTold, cut: CutOff) -> bool {
    axis.left > 0
        || axis.cut.is_none_or(|other| {
            (other.length - cut.length).abs() > WORTH.0.max(WORTH.1 * cut.length)
        })
}

/// How much a lay takes of a sheet, in words.
pub(super) fn taken(cut: CutOff, kind: SheetKind) -> String {
    match kind {
        SheetKind::Cloth => format!("{:.0} mm of the roll", cut.length),
        SheetKind::Leaf | SheetKind::Hide => format!("{:.0} mm of its {}", cut.length, side(cut)),
    }
}

fn side(cut: CutOff) -> &'static str {
    if cut.way.y.abs() > cut.way.x.abs() { "width" } else { "length" }
}

fn word(axis: Axis) -> &'static str {
    match axis {
        Axis::Lengthwise => "lengthwise",
        Axis::Crosswise => "crosswise",
    }
}

fn axis_line(it: &AxisTold) -> String {
    let word = word(it.axis);
    match (it.left, it.cut) {
        (0, Some(cut)) if it.sheets > 1 => {
            format!("all {word} {:.0} mm of sheet {}", cut.length, it.sheets)
        }
        (0, Some(cut)) => format!("all {word} {:.0} mm", cut.length),
        (n, _) => format!("all {word} {n} would find no place"),
    }
}

fn most(count: usize) -> String {
    if count >= 100 { "100 or".to_owned() } else { count.to_string() }
}

/// A piece's part, with its place where the part has several sizes.
fn name(batch: &Batch, extra: &Extra) -> String {
    let piece = &batch.group.pieces[extra.piece];
    let address = &piece.address;
    let like = |other: &&Piece| {
        other.address.part == address.part && other.address.member == address.member
    };
    let one_size = batch.group.pieces.iter().filter(like).all(|other| other.size == piece.size);
    let member = address.member.map_or(String::new(), |m| format!("/{m}"));
    let place = if one_size { String::new() } else { format!(":{}", address.position) };
    format!("{}{place}{member}", address.part)
}
