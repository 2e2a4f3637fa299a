//! What a machine's profile says of its beam, its blade and its speed.

use super::codes::quoted;
use super::lengths::How;
use super::reader::{Item, Reader};
use super::words::figure;
use crate::fault::Place;
use crate::machine::{HeldSide, KnifePlate, LaserPlate, MotionLimits};
use toml::de::DeValue;

/// Classes of laser products.
///
/// # Source
/// IEC 60825-1:2014, clause 4.
const CLASSES: &[&str] = &["1", "1C", "1M", "2", "2M", "3R", "3B", "4"];

/// Where fumes may go; a closed list, since a laser without extraction gets no file.
const EXTRACTIONS: &[(&str, &str)] =
    &[("outdoors", "outdoors"), ("filter", "filter"), ("none", "none")];

pub(super) fn laser(mut plate: Reader<'_>) -> Option<LaserPlate> {
    let wavelength = measured(
        &mut plate,
        ("wavelength", "of the light, from its plate", "\"450 nm\""),
        &[("nm", 1.0), ("um", 1000.0), ("µm", 1000.0), ("μm", 1000.0)],
        (180.0, 20_000.0),
    );
    let power = measured(
        &mut plate,
        ("power", "of the light, from its plate", "\"10 W\""),
        &[("W", 1.0), ("mW", 0.001), ("kW", 1000.0)],
        (0.0001, 1000.0),
    );
    let class = class(&mut plate);
    let enclosed = plate.take_flag("enclosed");
    if enclosed.is_none() && !plate.has("enclosed") {
        plate.needs("enclosed", "whether the beam is closed in", "false");
    }
    let extraction = if plate.has("extraction") {
        plate.take_word("extraction", EXTRACTIONS).map(|(word, _)| word)
    } else {
        plate.needs("extraction", "where the fumes go", "\"outdoors\", \"filter\" or \"none\"");
        None
    };
    let beam_word = beam_word(&mut plate);
    let full_power_word = plate.take_number("full-power-word", 1.0, 100_000.0);
    let divergence = optional(
        &mut plate,
        ("beam-divergence", "\"1.5 mrad\""),
        &[("mrad", 1.0), ("rad", 1000.0)],
        (0.001, 1000.0),
    );
    let beam_diameter = within(&mut plate, "beam-diameter", How::Size, (0.001, 100.0));
    let interlock = plate.take_text("interlock").map(|(text, _)| text).filter(|t| !t.is_empty());
    plate.finish("key");
    Some(LaserPlate {
        wavelength: wavelength?,
        power: power?,
        class: class?,
        enclosed: enclosed?,
        extraction: extraction?.to_owned(),
        beam_word,
        full_power_word,
        divergence,
        beam_diameter,
        interlock,
    })
}

/// Words that may light a beam.
const BEAM_WORDS: &[&str] = &["M3", "M4"];

fn beam_word(plate: &mut Reader<'_>) -> Option<String> {
    let (text, place) = plate.take_text("beam-word")?;
    let known = BEAM_WORDS.iter().find(|word| word.eq_ignore_ascii_case(&text));
    if known.is_none() {
        plate.fault(
            "E09",
            format!("`beam-word` can't be \"{}\"", quoted(&text)),
            &place,
            format!("it takes: {}; the machine's own papers say which", BEAM_WORDS.join(", ")),
        );
    }
    known.map(|word| (*word).to_owned())
}

/// Units of speed, in mm/s.
pub(super) const SPEEDS: &[(&str, f64)] = &[("mm/s", 1.0), ("mm/min", 1.0 / 60.0)];
/// No machine for this work is slower or faster (mm/s).
pub(super) const SPEED_RANGE: (f64, f64) = (0.01, 5000.0);

/// How fast the machine moves: all four figures or none.
pub(super) fn motion(head: &mut Reader<'_>) -> Option<MotionLimits> {
    const KEYS: [&str; 4] = ["travel-speed", "feed-limit", "acceleration", "corner-deviation"];
    if !KEYS.iter().any(|key| head.has(key)) {
        // They are known all the same.
        for key in KEYS {
            head.take(key);
        }
        return None;
    }
    let travel = ("travel-speed", "speed while nothing is cut", "\"100 mm/s\"");
    let travel_speed = measured(head, travel, SPEEDS, SPEED_RANGE);
    let feed = ("feed-limit", "the fastest feed", "\"60 mm/s\"");
    let feed_limit = measured(head, feed, SPEEDS, SPEED_RANGE);
    let acceleration = measured(
        head,
        ("acceleration", "along the path", "\"1000 mm/s2\""),
        &[("mm/s2", 1.0), ("mm/s²", 1.0), ("m/s2", 1000.0), ("m/s²", 1000.0)],
        (1.0, 100_000.0),
    );
    let corner_deviation = if head.has("corner-deviation") {
        within(head, "corner-deviation", How::Size, (0.0001, 1.0))
    } else {
        head.take("corner-deviation");
        let about = "how far from a corner its controller may pass, for the sum of the time";
        head.needs("corner-deviation", about, "\"0.02 mm\"");
        None
    };
    Some(MotionLimits {
        travel_speed: travel_speed?,
        feed_limit: feed_limit?,
        acceleration: acceleration?,
        corner_deviation: corner_deviation?,
    })
}

/// A blade and its heights.
pub(super) fn knife(mut table: Reader<'_>) -> Option<KnifePlate> {
    let mut need = |key: &'static str, about: &str, example: &str, range: (f64, f64)| {
        if table.has(key) {
            return within(&mut table, key, How::Size, range);
        }
        table.take(key);
        table.needs(key, about, example);
        None
    };
    let offset = need("offset", "from the pivot back to the tip", "\"0.25 mm\"", (0.0, 20.0));
    let thick = need("blade-thickness", "of the blade", "\"0.6 mm\"", (0.01, 5.0));
    let mut mm = |key: &'static str, how: How, range| within(&mut table, key, how, range);
    let tip_tolerance = mm("tip-tolerance", How::Size, (0.001, 0.5));
    let safe_height = mm("safe-height", How::Size, (0.1, 200.0));
    let cut_depth = mm("cut-depth", How::Size, (0.01, 50.0));
    let mark_depth = mm("mark-depth", How::Size, (0.001, 50.0));
    let swivel_height = mm("swivel-height", How::Signed, (-50.0, 200.0));
    let overcut = mm("overcut", How::Size, (0.0, 50.0));
    let compensates = table.take_flag("compensates").unwrap_or(false);
    let lift_over = table.take_number("lift-over", 0.0, 180.0).unwrap_or(KnifePlate::LIFT_OVER);
    let held = table.take_word("held", HeldSide::NAMES).map(|(side, _)| side);
    let made = offset.zip(thick).map(|(offset, blade_thickness)| KnifePlate {
        offset,
        tip_tolerance: tip_tolerance.unwrap_or(KnifePlate::TIP_TOLERANCE),
        compensates,
        safe_height,
        cut_depth,
        mark_depth,
        swivel_height,
        lift_over,
        overcut: overcut.unwrap_or(KnifePlate::OVERCUT.0.max(KnifePlate::OVERCUT.1 * offset)),
        blade_thickness,
        held,
    });
    if let Some(plate) = &made {
        heights(&table, plate);
    }
    table.finish("key");
    made
}

/// The swivel height lies between the depth of the cut and the safe height, a mark is no deeper than a cut.
fn heights(table: &Reader<'_>, plate: &KnifePlate) {
    let bottom = plate.cut_depth.map_or(f64::NEG_INFINITY, |depth| -depth);
    let top = plate.safe_height.unwrap_or(f64::INFINITY);
    if plate.swivel_height.is_some_and(|z| z < bottom || z > top) {
        table.fault(
            "E43",
            "`swivel-height` is deeper than the cut or above the safe height".to_owned(),
            &table.place,
            "heights are from the upper face of the sheet, upward: swivel-height = \"-0.1 mm\" is a tenth below it",
        );
    }
    if plate.mark_depth.zip(plate.cut_depth).is_some_and(|(mark, cut)| mark > cut) {
        table.fault(
            "E43",
            "`mark-depth` is deeper than `cut-depth`".to_owned(),
            &table.place,
            "a mark only scores the face; leave it out and nothing is marked",
        );
    }
}

/// A length within bounds (mm), if it is there.
pub(super) fn within(
    reader: &mut Reader<'_>,
    key: &'static str,
    how: How,
    (least, most): (f64, f64),
) -> Option<f64> {
    let (length, place) = reader.take_length(key, how)?;
    let good = (least..=most).contains(&length.mm());
    if !good {
        reader.fault(
            "E20",
            format!("`{key}` is {}, and it runs from {least} to {most} mm", length.text()),
            &place,
            "is the unit right?",
        );
    }
    good.then(|| length.mm())
}

/// A figure with its unit, within bounds, if it is there.
pub(super) fn optional(
    reader: &mut Reader<'_>,
    (key, example): (&'static str, &str),
    units: &[(&str, f64)],
    range: (f64, f64),
) -> Option<f64> {
    if !reader.has(key) {
        reader.take(key);
        return None;
    }
    measured(reader, (key, "may be left out", example), units, range)
}

fn class(plate: &mut Reader<'_>) -> Option<String> {
    if let Some(Item { value: DeValue::Integer(figures), place }) = plate.take("class") {
        let text = figures.as_str();
        if CLASSES.contains(&text) {
            return Some(text.to_owned());
        }
        wrong_class(plate, text, &place);
        return None;
    }
    let (text, place) = plate.need_text("class", "of the machine as it stands", "\"4\"")?;
    let known = CLASSES.iter().find(|class| class.eq_ignore_ascii_case(&text));
    if known.is_none() {
        wrong_class(plate, &text, &place);
    }
    known.map(|class| (*class).to_owned())
}

fn wrong_class(plate: &Reader<'_>, text: &str, place: &Place) {
    plate.fault(
        "E09",
        format!("`class` can't be \"{}\"", quoted(text)),
        place,
        format!("it takes: {}", CLASSES.join(", ")),
    );
}

/// A figure with its unit, within bounds.
fn measured(
    reader: &mut Reader<'_>,
    (key, about, example): (&'static str, &str, &str),
    units: &[(&str, f64)],
    (least, most): (f64, f64),
) -> Option<f64> {
    let (text, place) = reader.need_text(key, about, example)?;
    let value = figure(&text, units).filter(|v| (least..=most).contains(v));
    if value.is_none() {
        reader.fault(
            "E20",
            format!("`{key}` can't be \"{}\"", quoted(&text)),
            &place,
            format!("for example {key} = {example}"),
        );
    }
    value
}
