//! What a cut file is proven against: plain records filled from the job and its lay, not from the plan.

use crate::geom::{Loop, Shape, Where, point_in_loop};
use crate::lay::Placed;
use crate::machine::{KnifePlate, Machine, Process};
use crate::material::{CutSetting, Material};
use crate::part::Piece;
use crate::plan::BedWindow;
use crate::prove::{
    BladeRecord, Booked, MachineRecord, MaterialRecord, Ring, StockRecord, Verdict, WindowRecord,
    prove,
};
use crate::safety;
use crate::sheet::Sheet;

/// One sheet, or one bed window of it, with what lies there.
pub(super) struct Spread<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) pieces: &'a [(&'a Piece, &'a Placed)],
    /// The sheet's pieces in other bed windows: what they take is claimed.
    pub(super) others: &'a [(&'a Piece, &'a Placed)],
    /// As the lay has it: for true lines, the width of the cut not yet allowed for.
    pub(super) window: Option<BedWindow>,
    pub(super) machine: &'a Machine,
    pub(super) material: &'a Material,
    pub(super) setting: &'a CutSetting,
    pub(super) lay: &'a str,
    pub(super) lay_hash: &'a str,
}

/// The records of a file.
#[derive(Debug, Clone)]
pub(super) struct Held {
    stock: StockRecord,
    machine: MachineRecord,
    material: MaterialRecord,
}

impl Held {
    pub(super) fn prove(&self, bytes: &[u8], name: &str) -> Verdict {
        prove(bytes, name, &self.stock, &self.machine, &self.material)
    }
}

/// The records for a sheet or a window.
pub(super) fn held(of: &Spread<'_>) -> Held {
    let (sheet, machine, setting) = (of.sheet, of.machine, of.setting);
    let kerf = [setting.kerf_x, setting.kerf_y];
    let window = of.window.map(|w| WindowRecord {
        number: w.number,
        of: w.of,
        origin: [w.origin.x - kerf[0] / 2.0, w.origin.y - kerf[1] / 2.0],
    });
    let stock = StockRecord {
        sheet: sheet.id.clone(),
        generation: sheet.generation,
        outline: ring(&sheet.outline),
        flaws: sheet.flaws.iter().map(|flaw| ring(&flaw.outline)).collect(),
        claims: claims(of),
        edge: setting.edge.max(sheet.edge.unwrap_or(0.0)),
        gap: setting.gap,
        lay: Some(of.lay.to_owned()),
        lay_hash: Some(of.lay_hash.to_owned()),
        window,
        booked: of.pieces.iter().filter_map(|(piece, at)| booked(piece, at, machine)).collect(),
    };
    let laser = machine.process == Process::Laser;
    let stop = if laser {
        safety::gate(of.material, machine).err().map(|fault| fault.text)
    } else {
        safety::laser_stop(of.material, None)
    };
    Held {
        stock,
        machine: MachineRecord {
            key: machine.key.clone(),
            laser,
            width: machine.width,
            depth: machine.depth,
            margin: machine.margin,
            beam_word: machine.laser.as_ref().and_then(|l| l.beam_word.clone()),
            full_power_word: machine.laser.as_ref().and_then(|l| l.full_power_word),
            feed_limit: machine.motion.map(|m| m.feed_limit),
            travel_speed: machine.motion.map(|m| m.travel_speed),
            blade: machine.knife.as_ref().and_then(blade),
        },
        material: MaterialRecord {
            key: of.material.key.clone(),
            machine: machine.key.clone(),
            laser_stop: stop,
            kerf,
            power: setting.power.map(|share| 100.0 * share),
            feed: setting.feed,
            mark_feed: setting.mark_feed,
            passes: setting.passes,
        },
    }
}

/// The outlines of pieces in other windows, and ground that other lays hold; a piece that holds one of this window in a hole claims nothing of it.
fn claims(of: &Spread<'_>) -> Vec<Ring> {
    let shape = |(piece, at): &(&Piece, &Placed)| {
        Some(piece.turns.design(at.stance)?.shape.posed(&at.pose))
    };
    let starts: Vec<_> =
        of.pieces.iter().filter_map(shape).map(|it| it.outline().start()).collect();
    let is_host = |it: &Shape| {
        let mut holes = it.holes().iter();
        holes.any(|hole| starts.iter().any(|at| point_in_loop(*at, hole) == Where::Inside))
    };
    let others = of.others.iter().filter_map(shape).filter(|it| !is_host(it));
    let others = others.map(|it| ring(it.outline()));
    others.chain(of.sheet.used.iter().map(|used| ring(&used.outline))).collect()
}

/// What is known of a blade; none where its heights are not.
fn blade(plate: &KnifePlate) -> Option<BladeRecord> {
    Some(BladeRecord {
        offset: plate.offset,
        tip_tolerance: plate.tip_tolerance,
        compensates: plate.compensates,
        safe_height: plate.safe_height?,
        cut_depth: plate.cut_depth?,
    })
}

/// A piece as the lay has it: its true lines, without the holes that are left to the punch.
fn booked(piece: &Piece, placed: &Placed, machine: &Machine) -> Option<Booked> {
    let design = piece.turns.design(placed.stance)?;
    let shape = design.shape.posed(&placed.pose);
    let is_punched = |n: usize| {
        let mut rounds = design.rounds.iter();
        rounds.any(|(i, punch)| *i == n && punch.diameter < machine.smallest_hole - 1e-6)
    };
    let holes = shape.holes().iter().enumerate().filter(|(n, _)| !is_punched(*n));
    Some(Booked {
        address: piece.address.to_string(),
        at: [placed.pose.x, placed.pose.y],
        turn: placed.pose.turn,
        mirrored: placed.pose.mirrored,
        outline: ring(shape.outline()),
        holes: holes.map(|(_, hole)| ring(hole)).collect(),
    })
}

fn ring(of: &Loop) -> Ring {
    Ring(match of {
        Loop::Circle(c, r) => vec![[c.x + r, c.y, 1.0], [c.x - r, c.y, 1.0]],
        Loop::Chain(segs) => segs.iter().map(|s| [s.a.x, s.a.y, s.bulge]).collect(),
    })
}
