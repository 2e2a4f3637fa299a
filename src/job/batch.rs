//! From a job to what is laid together: every size worked out, pieces gathered by material and machine.

use super::Job;
use super::words::places;
use crate::fault::{Fault, any_error};
use crate::geom::{GeomFault, Vec2, tolerance};
use crate::lay::{Ground, Group};
use crate::machine::{Machine, Process};
use crate::material::{CutSetting, Material};
use crate::part::{Grain, Part, Piece, Size, pieces};
use std::sync::Arc;

/// A part of the job with its distinct sizes.
#[derive(Debug, Clone)]
pub struct Worked<'a> {
    /// The part.
    pub part: &'a Part,
    /// Its distinct sizes.
    pub sizes: Vec<Size>,
}

/// Pieces of one material for one machine, with the sheets they may come from.
#[derive(Debug, Clone)]
pub struct Batch {
    /// Name of the material.
    pub material: String,
    /// Name of the machine's profile.
    pub machine: String,
    /// What is laid together.
    pub group: Group,
}

/// Works every part out.
///
/// The faults of the sizes are gathered, errors and warnings; what is alike in several sizes of a part is said once.
pub fn work_out(job: &Job) -> (Vec<Worked<'_>>, Vec<Fault>) {
    let mut faults: Vec<Fault> = Vec::new();
    let mut worked = Vec::new();
    for part in &job.parts {
        let sizes = part.sizes();
        for size in &sizes {
            let said = faults.len();
            let places = places(&size.positions);
            for fault in &size.developed.faults {
                let fault = Fault {
                    text: format!("{} {places}: {}", part.title(), fault.text),
                    ..fault.clone()
                };
                let again =
                    faults[..said].iter().any(|f| f.code == fault.code && f.marks == fault.marks);
                if !again {
                    faults.push(fault);
                }
            }
        }
        worked.push(Worked { part, sizes });
    }
    (worked, faults)
}

impl Job {
    /// How a part's machine cuts its material.
    pub fn setting(&self, material: &str, machine: &str) -> Option<&CutSetting> {
        let machine = self.machine(machine)?;
        self.materials.get(material)?.setting(&machine.key, machine.process.name())
    }

    /// How much larger all round a machine cuts the soft edges of a material, to be pared off; 0 but for a laser.
    ///
    /// # Units
    /// Millimetres.
    pub fn char_trim(&self, material: &str, machine: &str) -> f64 {
        let laser = self.machine(machine).is_some_and(|m| m.process == Process::Laser);
        self.setting(material, machine).filter(|_| laser).map_or(0.0, |s| s.char_trim)
    }
}

/// The job with every part free to lie both ways on woven stuff whose way only the job has fixed, not its kind; none
/// where there is no such part.
pub fn loosened(job: &Job) -> Option<Job> {
    let mut made = job.clone();
    let mut any = false;
    for part in &mut made.parts {
        let woven = job.materials.get(&part.material).is_some_and(Material::is_woven);
        let by_kind = part.kind.card().taut || (part.lengthwise() && part.grain == Grain::Along);
        if woven && !by_kind && matches!(part.grain, Grain::Along | Grain::Across) {
            part.grain = Grain::Any;
            any = true;
        }
    }
    any.then_some(made)
}

/// Gathers the pieces by material and machine, in the order in which the job first names them; of a coupon, its test
/// pieces.
///
/// # Errors
/// Every fault that keeps a piece from being made.
pub fn batches(job: &Job, worked: &[Worked<'_>]) -> Result<Vec<Batch>, Vec<Fault>> {
    if let Some(task) = &job.coupon {
        return super::coupon::batch(job, task)
            .map(|batch| vec![batch])
            .map_err(|fault| vec![fault]);
    }
    let mut faults = Vec::new();
    let mut batches: Vec<Batch> = Vec::new();
    let mut size = 0;
    for it in worked {
        let (Some(material), Some(machine), Some(setting)) = (
            job.materials.get(&it.part.material),
            job.machine(&it.part.cut_with),
            job.setting(&it.part.material, &it.part.cut_with),
        ) else {
            continue;
        };
        let made = match pieces(it.part, &it.sizes, material.is_woven(), size) {
            Ok(made) => made,
            Err(more) => {
                faults.extend(more);
                continue;
            }
        };
        size += it.sizes.iter().map(|s| s.developed.members.len()).sum::<usize>();
        let at = batches
            .iter()
            .position(|b| b.material == material.key && b.machine == machine.key)
            .unwrap_or_else(|| {
                batches.push(Batch {
                    material: material.key.clone(),
                    machine: machine.key.clone(),
                    group: group(job, material, &machine.key, setting),
                });
                batches.len() - 1
            });
        if it.part.grows() {
            // Shapes that were fitted again stand off their own line by this much at most.
            let apart = setting.gap + setting.kerf() + 2.0 * tolerance::FIT_STRETCH;
            batches[at].group.apart = batches[at].group.apart.max(apart);
        }
        match charred(made, setting, machine) {
            Ok(made) => batches[at].group.pieces.extend(made),
            Err(fault) => faults.push(
                Fault::error(
                    "E42",
                    format!("{}: no room for a char trim: {fault}", it.part.title()),
                )
                .at(&setting.place)
                .cure("a smaller char-trim, or cut it with the knife"),
            ),
        }
    }
    if any_error(&faults) {
        return Err(faults);
    }
    Ok(match &job.recut {
        Some(task) => super::recut::only(batches, task),
        None => batches,
    })
}

/// Pieces as a laser leaves them: soft edges farther out by what will be pared off, the width of its char.
pub(super) fn charred(
    pieces: Vec<Piece>,
    setting: &CutSetting,
    machine: &Machine,
) -> Result<Vec<Piece>, GeomFault> {
    if machine.process != Process::Laser || setting.char_trim <= 0.0 {
        return Ok(pieces);
    }
    pieces
        .into_iter()
        .map(|piece| if piece.soft { piece.widened(setting.char_trim) } else { Ok(piece) })
        .collect()
}

pub(super) fn group(job: &Job, material: &Material, machine: &str, setting: &CutSetting) -> Group {
    let mut sheets: Vec<_> = job
        .sheets
        .iter()
        .filter(|sheet| sheet.material == material.key)
        .filter(|sheet| sheet.cut_with.as_ref().is_none_or(|name| name == machine))
        .collect();
    // Remnants first, the oldest before all; what is whole stays in the order of the job.
    sheets
        .sort_by_key(|s| (s.from.is_none(), s.from.as_ref().map(|_| (s.added.is_none(), s.added))));
    let grounds = sheets
        .into_iter()
        .map(|sheet| Ground {
            sheet: Arc::new(sheet.clone()),
            edge: setting.edge.max(sheet.edge.unwrap_or(0.0)) + setting.kerf() / 2.0,
            window: None,
        })
        .collect::<Vec<_>>();
    let window = job.machine(machine).map(|m| reach(m, setting)).filter(|reach| {
        grounds
            .iter()
            .map(|g| g.sheet.outline.bounds())
            .any(|b| b.width() > reach.x || b.height() > reach.y)
    });
    Group {
        pieces: Vec::new(),
        grounds,
        apart: setting.gap + setting.kerf(),
        hard_edges: job.machine(machine).is_some_and(|m| m.laser.is_some()),
        window,
    }
}

/// How far apart true lines may lie on a machine's bed (mm), along x and y: its margin and the width of the cut taken
/// off.
pub(super) fn reach(machine: &Machine, setting: &CutSetting) -> Vec2 {
    let clear = |length: f64, kerf: f64| (length - 2.0 * machine.margin - kerf).max(0.0);
    Vec2::new(clear(machine.width, setting.kerf_x), clear(machine.depth, setting.kerf_y))
}
