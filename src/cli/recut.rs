//! `recut`: one piece cut again, from the bag of spares, from what is left of its sheet, or from a remnant.

use super::args::{Common, LayArgs, RecutArgs};
use super::bed::seen_from_sheet;
use super::lay::{Laid, keep_as};
use super::open::{Open, open};
use super::recut_place::{First, Found, Missed, all_pieces, place, record_of};
use super::recut_points::{Named, checked, far, measured, points};
use super::{Answer, Outcome, claims, desk, outcome_of, recut_buy};
use crate::fault::{Fault, Sources, any_error, nearest};
use crate::geom::Vec2;
use crate::job::{Job, judge, recut_job, stops, work_out};
use crate::lay::Lies;
use crate::lay::record::LiesRow;
use crate::machine::Process;
use crate::part::Piece;
use crate::plan::BedWindow;
use crate::sheet::{Holder, Sheet, State, Used};
use crate::stock::give;
use serde_json::json;
use std::fmt::Write as _;
use std::path::Path;

type Refused = (Vec<Fault>, Sources);

fn one(fault: Fault) -> Refused {
    (vec![fault], Sources::default())
}

pub(super) fn run(common: &Common, how: &RecutArgs) -> Answer {
    let opened = match open(common) {
        Ok(opened) => opened,
        Err((faults, sources)) => return Answer::refused(faults, sources),
    };
    again(&opened, how).unwrap_or_else(|(faults, sources)| {
        let short = faults.iter().any(|f| f.code == "E34");
        let mut answer = Answer::refused(faults, sources);
        if short {
            answer.outcome = Outcome::Short;
            if how.from.is_none() && how.dots.is_none() {
                recut_buy::tell(&mut answer, &opened.job, how.piece.trim());
            }
        }
        answer
    })
}

/// What the stock record has of a piece: the last that was booked of it, and of which sheet.
struct Past<'a> {
    sheet: &'a Sheet,
    used: &'a Used,
}

/// What became of the pieces of one job.
struct Bag<'a> {
    job: &'a Job,
    /// The job as the record names it.
    own: Option<String>,
}

impl<'a> Bag<'a> {
    fn all(&self) -> impl Iterator<Item = Past<'a>> {
        let own = self.own.clone();
        self.job
            .sheets
            .iter()
            .flat_map(|sheet| sheet.used.iter().map(move |used| Past { sheet, used }))
            .filter(move |past| past.used.by.job == own)
    }

    /// The last booking of a piece: a good one before all, then one that is claimed.
    fn last(&self, address: &str) -> Option<Past<'a>> {
        let of_it = self.all().filter(|past| past.used.address == address);
        of_it.max_by_key(|past| match past.used.state {
            State::Good => (2, past.sheet.generation),
            State::Claimed => (1, past.sheet.generation),
            State::Failed => (0, past.sheet.generation),
        })
    }

    /// The spare that was taken for a place.
    fn taken_for(&self, address: &str) -> Option<Past<'a>> {
        self.all().find(|past| past.used.given.as_deref() == Some(address))
    }

    /// Good spares that were not taken, which are exactly like a piece.
    fn spares(&self, piece: &Piece, pieces: &[Piece]) -> Vec<Past<'a>> {
        let is_like = |address: &str| {
            pieces.iter().any(|other| {
                other.size == piece.size
                    && other.address.spare > 0
                    && other.address.to_string() == address
            })
        };
        let mut found: Vec<Past<'a>> = self
            .all()
            .filter(|it| it.used.state == State::Good && it.used.given.is_none())
            .filter(|it| is_like(&it.used.address))
            .collect();
        found.sort_by(|a, b| a.used.address.cmp(&b.used.address));
        found
    }
}

fn again(opened: &Open, how: &RecutArgs) -> Result<Answer, Refused> {
    let (folder, job) = (&opened.folder, &opened.job);
    let refuse = |faults: Vec<Fault>| (faults, opened.sources.clone());
    let (worked, more) = work_out(job);
    let mut faults = more;
    faults.extend(judge(job, &worked));
    faults.extend(stops(job));
    if any_error(&faults) {
        return Err(refuse(faults));
    }
    // What the whole job is warned of was told by its lay.
    let mut faults = opened.warnings.clone();
    let pieces = all_pieces(job).map_err(refuse)?;
    let piece = known(&pieces, how.piece.trim()).map_err(one)?;
    let address = piece.address.to_string();
    let bag = Bag { job, own: claims::named(folder, job, "").job };
    if let Some(spare) = &how.take {
        return take(opened, how, (&bag, piece, &pieces), spare);
    }
    let past = match settled(&bag, &address, how.anyway) {
        Ok(Ok(past)) => past,
        Ok(Err(answer)) => return Ok(*answer),
        Err(fault) => return Err(one(fault)),
    };
    let spares = bag.spares(piece, &pieces);
    if let Some(first) = spares.first().filter(|_| !how.anyway) {
        return Ok(from_the_bag(&address, first, spares.len()));
    }
    let first = First::of(folder, piece, past.sheet, past.used);
    let mut answer = Answer::new();
    if !first.is_known {
        faults.push(
            Fault::warning(
                "W94",
                format!(
                    "out/{}/lay.json is gone or another one: how {address} was turned is not known",
                    past.used.by.lay
                ),
            )
            .cure("it is laid as such a piece lies first; look at the picture"),
        );
    }
    if spares.is_empty()
        && bag.all().any(|it| it.used.address.contains('+') && same_part(&it, piece))
    {
        answer.line(format!("no spare in the bag is of the size of {address}"));
    }
    let (found, lies, names) =
        found(opened, how, (&bag, piece, &pieces), &first).map_err(refuse)?;
    faults.extend(lies.as_ref().and_then(|lies| far(lies, found.middle)));
    let number = number(folder, &bag, &address);
    let laid = Laid {
        batches: vec![found.batch.clone()],
        layouts: vec![found.layout.clone()],
        beside: Vec::new(),
        lies: lies.as_ref().map(LiesRow::of),
    };
    let cut_down = recut_job(job, &address, Some(&found.sheet.id));
    let (number, there, pictures) = keep_as(
        (folder, number),
        &cut_down,
        &laid,
        &LayArgs::default(),
        (desk::RECUT, &|_| Ok(Vec::new())),
    )
    .map_err(one)?;
    tell(&mut answer, &found, (&first, &address), (number, &there, &pictures), job);
    answer.result["lies"] = lies.as_ref().map_or(json!(null), lies_json);
    told_of_points(&mut answer, (&bag, &found, &pieces), (how, folder), (lies, names));
    next(&mut answer, job, &found, number);
    answer.outcome = outcome_of(&faults);
    answer.faults = faults;
    Ok(answer)
}

fn same_part(past: &Past<'_>, piece: &Piece) -> bool {
    past.used.address.split(':').next() == Some(piece.address.part.as_str())
}

/// The piece of an address.
fn known<'a>(pieces: &'a [Piece], typed: &str) -> Result<&'a Piece, Fault> {
    pieces.iter().find(|piece| piece.address.to_string() == typed).ok_or_else(|| {
        let all: Vec<String> = pieces.iter().map(|piece| piece.address.to_string()).collect();
        let cure = match nearest(typed, all.iter().map(String::as_str)) {
            Some(near) => format!("did you mean {near}?"),
            None => "write it like pouch:31 or facing:7/inner".to_owned(),
        };
        Fault::error("E115", format!("the job has no piece {typed}")).cure(cure)
    })
}

/// The booking of a piece that is to be cut again; else what to say of one that is not, or the fault.
fn settled<'a>(
    bag: &Bag<'a>,
    address: &str,
    anyway: bool,
) -> Result<Result<Past<'a>, Box<Answer>>, Fault> {
    let Some(past) = bag.last(address) else {
        return Err(Fault::error("E115", format!("{address} was not cut yet"))
            .cure("pouchwork lay finds a place for it, pouchwork cut writes its file"));
    };
    let lay = &past.used.by.lay;
    if past.used.state == State::Claimed {
        return Err(Fault::error(
            "E115",
            format!("{address} is claimed by {lay}, which is not booked yet"),
        )
        .cure(format!(
            "if it failed: pouchwork tally {lay} --failed {address}; if it was never cut: --withdrawn"
        )));
    }
    let done = match bag.taken_for(address) {
        Some(spare) => {
            Some(format!("{} of {} was taken for it", spare.used.address, spare.used.by.lay))
        }
        None => (past.used.state == State::Good)
            .then(|| format!("cut from {} by {lay} and booked as good", past.sheet.id)),
    };
    match done.filter(|_| !anyway) {
        None => Ok(Ok(past)),
        Some(why) => {
            let mut answer = Answer::new();
            answer.line(format!("{address} needs no new cut: {why}"));
            answer.result = json!({ "piece": address, "recut": null, "why": why });
            answer.hint("to cut it again all the same: --anyway");
            Ok(Err(Box::new(answer)))
        }
    }
}

/// A spare will do: nothing is cut.
fn from_the_bag(address: &str, first: &Past<'_>, count: usize) -> Answer {
    let mut answer = Answer::new();
    let spare = &first.used.address;
    let more = if count > 1 { format!("; {count} of that size are there") } else { String::new() };
    answer.line(format!("take {spare} from the bag: it is exactly like {address}{more}"));
    answer.result = json!({ "piece": address, "recut": null, "spare": spare, "spares": count });
    answer.hint(format!("book it: pouchwork recut {address} --take {spare}"));
    answer.hint("to cut a new one all the same: --anyway");
    answer
}

/// Books a spare as taken.
fn take(
    opened: &Open,
    how: &RecutArgs,
    (bag, piece, pieces): (&Bag<'_>, &Piece, &[Piece]),
    spare: &str,
) -> Result<Answer, Refused> {
    let address = piece.address.to_string();
    let spares = bag.spares(piece, pieces);
    let Some(it) = spares.iter().find(|it| it.used.address == spare) else {
        let names: Vec<&str> = spares.iter().map(|it| it.used.address.as_str()).collect();
        let cure = if names.is_empty() {
            format!("none is left of its size: pouchwork recut {address}")
        } else {
            format!("there is {}", names.join(", "))
        };
        return Err(one(Fault::error(
            "E118",
            format!("{spare} is no spare that is good, not taken yet and exactly like {address}"),
        )
        .cure(cure)));
    };
    if let Some(old) = bag.taken_for(&address) {
        let text = format!("{} was taken for {address} already", old.used.address);
        return Err(one(
            Fault::error("E118", text).cure("pouchwork stock undo takes the last booking back")
        ));
    }
    let by = Holder { hash: String::new(), ..it.used.by.clone() };
    let command = format!("recut {address} --take {spare}");
    let mut store = claims::store(&opened.folder, &opened.job, &command, how.wait).map_err(one)?;
    let edit = give(&store.text, &by, spare, &address).map_err(one)?;
    store.book(&edit, &format!("{spare} of {by} taken for {address}")).map_err(one)?;
    let mut answer = Answer::new();
    answer.line(format!("{spare} of {by} is booked as taken for {address}"));
    answer.result = json!({ "piece": address, "recut": null, "taken": spare });
    answer.faults.append(&mut store.notes);
    answer.hint("to take that back: pouchwork stock undo");
    Ok(answer)
}

type Where = (Found, Option<Lies>, Option<[Named; 2]>);

/// Where the piece comes to lie; with two points, where the bed takes it as the sheet lies on it.
fn found(
    opened: &Open,
    how: &RecutArgs,
    (bag, piece, pieces): (&Bag<'_>, &Piece, &[Piece]),
    first: &First,
) -> Result<Where, Vec<Fault>> {
    let job = &opened.job;
    let address = piece.address.to_string();
    if let Some(id) = &how.from
        && !job.sheets.iter().any(|s| s.id == *id)
    {
        let ids: Vec<&str> = job.sheets.iter().map(|s| s.id.as_str()).collect();
        return Err(vec![
            Fault::error("E88", format!("there is no sheet {id}"))
                .cure(format!("there is {}", ids.join(", "))),
        ]);
    }
    let free = place(job, &address, first, (how.from.as_deref(), None))?
        .map_err(|missed| vec![nowhere(&address, piece, &missed, how.from.as_deref(), job)])?;
    let Some(typed) = &how.dots else { return Ok((free, None, None)) };
    let Some(machine) = job.machine(&free.batch.machine) else { return Ok((free, None, None)) };
    let own = bag.own.as_deref();
    let names = points(&opened.folder, (&free.sheet, pieces, own), &how.by, (machine, free.middle))
        .map_err(|fault| vec![fault])?;
    let lies = Lies { points: [names[0].at, names[1].at], found: measured(typed, machine)? };
    let kerf = job
        .setting(&free.batch.material, &free.batch.machine)
        .map_or((0.0, 0.0), |s| (s.kerf_x, s.kerf_y));
    // A sheet that is another one is told before a bed that does not reach.
    if lies.residual().abs() > crate::lay::MOST_RESIDUAL {
        checked(&lies, &names, &free.sheet.id, free.middle).map_err(|fault| vec![fault])?;
    }
    let id = free.sheet.id.clone();
    let bed = seen_from_sheet(machine, kerf, lies.pose());
    let lain = place(job, &address, first, (Some(&id), Some(bed)))?.map_err(|_| {
        vec![
            Fault::error(
                "E34",
                format!("as {id} lies, the bed of {} reaches no free place for {address}", machine.key),
            )
            .cure(format!(
                "shift the sheet so that x {:.0} y {:.0} mm of it lies on the bed, and point at its two points anew",
                free.middle.x, free.middle.y
            )),
        ]
    })?;
    checked(&lies, &names, &id, lain.middle).map_err(|fault| vec![fault])?;
    Ok((lain, Some(lies), Some(names)))
}

/// No sheet has room: what was looked at, and what to buy.
fn nowhere(
    address: &str,
    piece: &Piece,
    missed: &[Missed],
    from: Option<&str>,
    job: &Job,
) -> Fault {
    let size = piece.turns.design(0).map(|d| d.shape.bounds()).unwrap_or_default();
    let (wide, high) = (size.width(), size.height());
    let narrow = wide.min(high);
    let mut near: Vec<&Missed> = missed.iter().collect();
    near.sort_by(|a, b| b.across.unwrap_or(0.0).total_cmp(&a.across.unwrap_or(0.0)));
    let told: Vec<String> = near
        .iter()
        .take(3)
        .map(|it| match it.across {
            Some(across) if across < narrow => {
                format!(
                    "{}: the largest free circle is {across:.1} mm, {:.1} mm too small",
                    it.id,
                    narrow - across
                )
            }
            Some(across) => format!(
                "{}: the largest free circle is {across:.1} mm, and its shape does not go in",
                it.id
            ),
            None => format!("{}: nothing is free", it.id),
        })
        .collect();
    let more = near.len().saturating_sub(3);
    let mut text = format!("no sheet has room for {address}, {wide:.1} x {high:.1} mm");
    if let Some(from) = from {
        text = format!("{from} has no room for {address}, {wide:.1} x {high:.1} mm");
    }
    if !told.is_empty() {
        text.push_str("; ");
        text.push_str(&told.join("; "));
    }
    if more > 0 {
        let _ = write!(text, "; and {more} more");
    }
    let part = job.parts.iter().find(|part| part.name == piece.address.part);
    let (stuff, edge) = part.map_or((String::new(), 0.0), |part| {
        let edge = job.setting(&part.material, &part.cut_with).map_or(0.0, |s| s.edge + s.kerf());
        (part.material.clone(), edge)
    });
    let (least, most) = (wide.min(high) + 2.0 * edge, wide.max(high) + 2.0 * edge);
    let buy = format!(
        "buy a piece of {stuff} of {:.0} x {:.0} mm at least and put it into the job",
        most.ceil(),
        least.ceil()
    );
    Fault::error("E34", text).cure(match from {
        Some(_) => "leave --from out: every sheet of its material is looked at".to_owned(),
        None => buy,
    })
}

/// The number of the recut: that of an earlier one of the same piece from which nothing was cut, else a new one.
fn number(folder: &Path, bag: &Bag<'_>, address: &str) -> u32 {
    let there = desk::lays(folder, desk::RECUT);
    let is_open = |(n, path): &&(u32, std::path::PathBuf)| {
        let name = format!("{}-{n}", desk::RECUT);
        let whole = desk::whole(path);
        let is_its = record_of(folder, &name).is_some_and(
            |record| matches!(&record.pieces[..], [piece] if piece.address == address),
        );
        let files = desk::files_ending(folder, &["-knife.svg", "-laser.svg", ".dxf", ".gcode"]);
        is_its
            && !bag.all().any(|past| past.used.by.lay == name)
            && !files.iter().any(|file| desk::whole(file).starts_with(&whole))
    };
    let open = there.iter().find(is_open).map(|(n, _)| *n);
    open.unwrap_or_else(|| there.last().map_or(1, |(n, _)| n + 1))
}

fn tell(
    answer: &mut Answer,
    found: &Found,
    (first, address): (&First, &str),
    (number, there, pictures): (u32, &Path, &[std::path::PathBuf]),
    job: &Job,
) {
    let id = &found.sheet.id;
    answer.line(format!("recut-{number} in {}", there.display()));
    let away = (found.middle - first.middle).hypot();
    let is_own = *id == first.sheet;
    let place = if is_own {
        format!("{away:.0} mm from its first place, and turned to the grain as it was")
    } else {
        format!("{} has no room for it; turned to the grain as on its first sheet", first.sheet)
    };
    answer.line(format!(
        "{address} on {id}, middle at x {:.1} y {:.1} mm: {place}",
        found.middle.x, found.middle.y
    ));
    answer.result = json!({
        "piece": address,
        "recut": format!("recut-{number}"),
        "folder": there.display().to_string(),
        "sheet": id,
        "material": found.batch.material,
        "machine": job.machine(&found.batch.machine).map(|m| m.key.clone()),
        "middle-mm": [found.middle.x, found.middle.y],
        "from-first-place-mm": is_own.then_some(away),
        "pictures": pictures.iter().map(|p| p.display().to_string()).collect::<Vec<_>>(),
    });
    if let Some(picture) = pictures.first() {
        answer.hint(format!("look at {}", picture.display()));
    }
}

fn lies_json(lies: &Lies) -> serde_json::Value {
    let pose = lies.pose();
    json!({
        "turn": pose.turn,
        "shift-mm": [pose.x, pose.y],
        "residual-mm": lies.residual(),
    })
}

/// How the sheet lies; or by which points it can be found.
fn told_of_points(
    answer: &mut Answer,
    (bag, found, pieces): (&Bag<'_>, &Found, &[Piece]),
    (how, folder): (&RecutArgs, &Path),
    (lies, names): (Option<Lies>, Option<[Named; 2]>),
) {
    if let (Some(lies), Some([a, b])) = (lies, names) {
        let turn = lies.pose().turn;
        let turn = if turn > 180.0 { turn - 360.0 } else { turn };
        answer.line(format!(
            "{} lies turned by {turn:.2} degrees, by {} and {}: {:+.3} mm measured less recorded, over {:.1} mm",
            found.sheet.id, a.name, b.name, lies.residual(), lies.apart()
        ));
        return;
    }
    let Some(machine) = bag.job.machine(&found.batch.machine) else { return };
    let own = (&found.sheet, pieces, bag.own.as_deref());
    let place = place_told(bag.job, found);
    if let Ok([a, b]) = points(folder, own, &how.by, (machine, found.middle)) {
        answer.hint(format!(
            "{place}; or lay it as you like, point at {} (x {:.1} y {:.1} of the sheet) and {} (x {:.1} y {:.1}), and add where they are on the bed: --dots X1 Y1 X2 Y2",
            a.name, a.at.x, a.at.y, b.name, b.at.x, b.at.y
        ));
    } else {
        answer.hint(format!("{place}; or find it by two points of it: --by and --dots"));
    }
}

/// Where to lay the sheet for the piece: with its corner on the bed's margin, or by the bed window in which it lies.
fn place_told(job: &Job, found: &Found) -> String {
    let setting = job.setting(&found.batch.material, &found.batch.machine);
    let kerf = setting.map_or(Vec2::ZERO, |it| Vec2::new(it.kerf_x, it.kerf_y));
    found.layout.windows.first().map_or_else(
        || "lay the sheet with its lower left corner on the corner of the bed's margin".to_owned(),
        |window| BedWindow { number: 1, of: 1, origin: window.corner - kerf / 2.0 }.told(),
    )
}

fn next(answer: &mut Answer, job: &Job, found: &Found, number: u32) {
    let machine = job.machine(&found.batch.machine);
    answer.hint(match machine.filter(|m| m.process == Process::Laser) {
        Some(machine) => format!(
            "next: pouchwork safety recut-{number} --machine {}, then: pouchwork cut recut-{number}",
            machine.key
        ),
        None => format!("next: pouchwork cut recut-{number}"),
    });
}
