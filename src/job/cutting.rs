//! What a material says of the motions that cut it: power, feed, passes, tabs, time to cool.

use super::codes::quoted;
use super::lengths::How;
use super::plates::{SPEED_RANGE, SPEEDS, optional, within};
use super::reader::Reader;
use super::words::share;
use crate::material::Heat;

/// What [`CutSetting`](crate::material::CutSetting) takes from here.
pub(super) struct Cutting {
    pub(super) power: Option<f64>,
    pub(super) feed: Option<f64>,
    pub(super) mark_power: Option<f64>,
    pub(super) mark_feed: Option<f64>,
    pub(super) passes: u32,
    pub(super) tabs: f64,
    pub(super) tabs_on_soft: bool,
    pub(super) heat: Option<Heat>,
    pub(super) char_trim: f64,
}

/// Only a beam has these.
const OF_BEAMS: &[&str] =
    &["power", "mark-power", "tabs", "tabs-on-soft", "least-gap-time", "gap-reach", "char-trim"];

/// Takes the keys of one `[[cut]]`; `knife` where it is for knives only.
pub(super) fn take(table: &mut Reader<'_>, knife: bool) -> Cutting {
    if knife {
        for key in OF_BEAMS {
            if table.has(key)
                && let Some(item) = table.take(key)
            {
                table.fault(
                    "E28",
                    format!("a knife has no `{key}`"),
                    &item.place,
                    "leave it out, or say on = \"laser\"",
                );
            }
        }
    }
    let beam = !knife;
    let power = beam.then(|| per_cent(table, "power")).flatten();
    let mark_power = beam.then(|| per_cent(table, "mark-power")).flatten();
    if power.zip(mark_power).is_some_and(|(cut, mark)| mark > cut) {
        table.fault(
            "E43",
            "`mark-power` is more than `power`: it would cut where it should mark".to_owned(),
            &table.place.clone(),
            "try marks on scrap: they need a small part of the power",
        );
    }
    let feed = optional(table, ("feed", "\"10 mm/s\""), SPEEDS, SPEED_RANGE);
    let mark_feed = optional(table, ("mark-feed", "\"50 mm/s\""), SPEEDS, SPEED_RANGE);
    let passes = table.take_count("passes", 1, 20).map_or(1, |(n, _)| n);
    if !beam {
        return Cutting {
            power,
            feed,
            mark_power,
            mark_feed,
            passes,
            tabs: 0.0,
            tabs_on_soft: false,
            heat: None,
            char_trim: 0.0,
        };
    }
    Cutting {
        power,
        feed,
        mark_power,
        mark_feed,
        passes,
        tabs: within(table, "tabs", How::Size, (0.0, 10.0)).unwrap_or(0.0),
        tabs_on_soft: table.take_flag("tabs-on-soft").unwrap_or(false),
        heat: heat(table),
        char_trim: within(table, "char-trim", How::Size, (0.0, 5.0)).unwrap_or(0.0),
    }
}

/// Time to cool: both figures or none.
fn heat(table: &mut Reader<'_>) -> Option<Heat> {
    let (time, reach) = (table.has("least-gap-time"), table.has("gap-reach"));
    let units = &[("s", 1.0), ("min", 60.0)];
    let least = optional(table, ("least-gap-time", "\"20 s\""), units, (0.0, 600.0));
    let near = within(table, "gap-reach", How::Size, (0.1, 500.0));
    if time && !reach {
        table.needs("gap-reach", "how near cuts heat each other", "\"8 mm\"");
    }
    if reach && !time {
        table.needs("least-gap-time", "time to cool between cuts near each other", "\"20 s\"");
    }
    Some(Heat { least_gap_time: least?, reach: near? })
}

/// A share of full power, written in per cent.
fn per_cent(table: &mut Reader<'_>, key: &'static str) -> Option<f64> {
    let (text, place) = table.take_text(key)?;
    let good = share(&text).filter(|s| *s > 0.0 && *s <= 1.0);
    if good.is_none() {
        table.fault(
            "E20",
            format!("`{key}` can't be \"{}\"", quoted(&text)),
            &place,
            format!("it is a share of full power above 0 and up to 100 %, as in {key} = \"80 %\""),
        );
    }
    good
}
