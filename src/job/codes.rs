//! Every code that a fault may carry, with what it means in one line.

use crate::units::{UnitFault, UnitFaultKind};

/// Codes in order, each once: `E` stops the work, `W` points something out.
pub const CODES: &[(&str, &str)] = &[
    ("E01", "there is no job file where it was looked for"),
    ("E02", "a length stands without quotes"),
    ("E03", "a text is not closed with its quote"),
    ("E04", "a key or a table is given twice"),
    ("E05", "a backslash in a text starts a special sign"),
    ("E06", "a line is not TOML"),
    ("E07", "a file, a list or a count is larger than any job needs"),
    ("E08", "a value is of the wrong sort, such as a list where a length is wanted"),
    ("E09", "a word is not one of those a key takes"),
    ("E10", "there is no kind of part of that name"),
    ("E11", "a key or a table is not known"),
    ("E110", "a template is asked of a part or a piece that is not there"),
    ("E111", "a template has nothing to draw"),
    ("E112", "a rule of a print can't measure what is said"),
    ("E113", "what a rule measured is no length"),
    ("E114", "a template is asked of a sheet on which nothing lies"),
    ("E115", "a piece to be cut again is none of the job's, or was not booked as cut"),
    ("E116", "a sheet does not lie as its points say: it has stretched, or is another one"),
    ("E117", "a point by which a sheet is found on the bed is not known, or off the bed"),
    ("E118", "there is no such spare to be taken"),
    ("E12", "something needed is missing"),
    ("E125", "there is no code or page of the name that is to be explained"),
    (
        "E13",
        "a part gives both `positions` and `count`, or neither, or an outline both a file and corners",
    ),
    ("E14", "two things carry one name"),
    ("E15", "there is no profile of that name"),
    ("E16", "a length has no unit, or one that does not fit"),
    ("E17", "a number holds a comma"),
    ("E18", "\"mil\" means two different sizes"),
    ("E19", "that is not a drill size"),
    ("E20", "that is not a size"),
    ("E21", "a spreadsheet has turned a measurement into a date"),
    ("E22", "a cell holds a spreadsheet's error mark"),
    ("E23", "a position is outside the part's, or not a number"),
    ("E24", "a position is given twice"),
    ("E25", "a table has a column that is not known"),
    ("E26", "a file is not UTF-8 text"),
    ("E27", "a hole is outside its part or too near its edge"),
    ("E28", "measures contradict one another"),
    ("E29", "an outline is open, crosses itself or is in pieces"),
    ("E30", "a file holds no outline"),
    ("E31", "a part does not fit on the sheets"),
    ("E32", "there is no sheet, or not enough, of a material"),
    ("E33", "a part is larger than the machine's bed"),
    ("E34", "no remnant is large enough"),
    ("E35", "a material has no figures for being cut on a machine"),
    ("E36", "a file of the job is missing, unreadable or outside the job folder"),
    ("E37", "a name has signs that a name can't have"),
    ("E38", "figures stand without their source"),
    ("E39", "a part's face and its sheets do not go together"),
    ("E40", "a part is the mate of nothing it could be the mate of"),
    ("E41", "a kerf is negative"),
    ("E42", "a kerf is too wide for the parts"),
    ("E43", "a machine's figures can't be right"),
    ("E44", "a laser is not allowed for a material"),
    ("E45", "a safety record is missing or does not fit the motions"),
    ("E46", "there is no room for the 100 mm rule beside a sheet"),
    ("E47", "an item of a safety list has no answer, or a wrong one"),
    ("E48", "answers are for another machine"),
    ("E49", "a machine has nothing to cut in a lay"),
    ("E51", "a layout was made from other files than those here"),
    ("E52", "a layout has been edited, or can't be read"),
    ("E57", "there is no G-code: a record lacks what it takes, or a step can't be written"),
    ("E62", "the stock record is in use"),
    ("E63", "the stock record is damaged"),
    ("E65", "a day is not one of the calendar"),
    ("E66", "a reading of a coupon stands in the wrong place or in another unit"),
    ("E67", "a reading of a coupon can't be right"),
    ("E68", "a profile can't be changed in place"),
    ("E70", "a picture could not be made"),
    ("E71", "a file could not be written"),
    ("E72", "a file would be written over"),
    ("E73", "a written file failed its proof"),
    ("E81", "a command was not understood"),
    ("E82", "the stock record is of a newer form"),
    ("E83", "a sheet has been cut and booked since a lay was made"),
    ("E84", "the ground of a lay is cut or claimed by another"),
    ("E85", "the stock record can't be changed in place"),
    ("E86", "a tally names a piece or a state that is not there"),
    ("E87", "there is nothing to book or to take back"),
    ("E88", "there is no sheet of that id"),
    ("E89", "a sheet is claimed and stays in the stock record"),
    ("E90", "an outline file is broken, or not of a kind that is read"),
    ("E91", "an outline file holds more than is read"),
    ("E92", "an outline file has a figure or a point beyond any drawing"),
    ("E93", "an outline file has no unit, or none that can be used"),
    ("E94", "an outline is left open"),
    ("E95", "more than two lines of an outline end at one point"),
    ("E96", "an outline in a file crosses itself or encloses nothing"),
    ("E97", "an outline file holds nothing to cut"),
    ("E98", "an outline is drawn in a way that is not read"),
    ("E99", "a path, shape or attribute of an outline file is wrongly written"),
    ("W03", "a value stands out from its column"),
    ("W04", "a fraction is on no rule, or of more than one"),
    ("W05", "a size is outside 0.05 mm to 3 m"),
    (
        "W06",
        "a material's growth, in use or by wet glue, would change a part that does not speak of it",
    ),
    ("W07", "a table has no rows"),
    ("W08", "a flaw, a zone or a reading lies off its sheet"),
    ("W12", "a hole is too small for the machine and is marked for the punch"),
    ("W14", "readings of one size differ much"),
    ("W15", "a remark on an outline that was read"),
    ("W20", "a pouch puckers, dips deep for its well, or has little to be pulled by"),
    ("W21", "a pouch comes near the bottom of its well"),
    ("W22", "a pouch dips little for the depth of its well"),
    ("W23", "a facing or a flap does not go well with what it closes"),
    ("W24", "a part has a thin web or a narrow ring"),
    ("W25", "pitch and span of a row of holes do not agree"),
    ("W26", "a bellows opens near the width of its boards"),
    ("W27", "the cloth of a bellows meets or misses itself at its corners"),
    ("W28", "a cut leaves material in a sharp inside corner"),
    ("W29", "a part whose rim must stay soft is cut by a laser"),
    ("W30", "several machines may want one sheet"),
    ("W31", "some pieces have no place in a lay"),
    ("W32", "laser files of an earlier cut are there although the material is now held back"),
    (
        "W33",
        "a piece fits the machine's bed only at a turn that it may not take, or its sheet only the other way about",
    ),
    ("W34", "two boards' holes hardly meet"),
    ("W35", "a hole has no partner on the opposite board, or more than one"),
    ("W36", "a sheet has readings outside the thickness that a part asks for"),
    ("W37", "the facings of a valve could come from stuff of different thickness"),
    ("W38", "a part that has a left and a right does not say from which side it is drawn"),
    ("W39", "a table lists most places of a part and skips some"),
    ("W40", "a laminate's thickness is not the sum of its layers"),
    ("W41", "a bellows does not come to what is wanted of it"),
    ("W42", "a size of a bellows hardly goes with its boards"),
    ("W43", "a thickness that a part says is not its material's"),
    ("W44", "a mate has measures of its own"),
    ("W45", "pieces of a material measure more than its sheets"),
    ("W46", "a sheet or a bed window has no two register dots to be found again by"),
    ("W50", "a sheet stands both in the job and in the stock record"),
    ("W51", "a knife may not follow a line well"),
    ("W52", "the readings of a coupon don't agree"),
    ("W53", "readings of a coupon are missing"),
    ("W60", "a change of the stock record was not finished"),
    ("W61", "the rest of a sheet was not parted off"),
    ("W70", "pieces fit on nothing as it is sold"),
    ("W76", "a valve travels, or is to travel, less or more than valves are found to"),
    ("W77", "papers alone do not bring a valve to its travel"),
    ("W78", "with the new gasket a pouch does not clear its button as wanted"),
    ("W90", "a template has many pages"),
    ("W91", "no tool comes near a hole of a template"),
    ("W92", "a print's two rules differ much"),
    ("W93", "a piece of a template has no room for its name"),
    ("W94", "the record of a piece's first lay is gone, and with it how the piece was turned"),
    ("W95", "two points are near each other for the place of the piece"),
    ("W98", "a picture or a page could not be opened"),
    ("W99", "pieces that are cut already are laid once more"),
];

/// The code for a measurement that was refused.
pub fn code_of(fault: &UnitFault) -> &'static str {
    use UnitFaultKind as Kind;
    match fault.kind() {
        Kind::NoUnit | Kind::UnknownUnit | Kind::Ounce | Kind::Area | Kind::NotArea => "E16",
        Kind::Comma => "E17",
        Kind::Mil => "E18",
        Kind::WireGauge | Kind::DrillRange | Kind::BareLetter => "E19",
        Kind::SpreadsheetDate => "E21",
        Kind::SpreadsheetError => "E22",
        Kind::Empty
        | Kind::TooLong
        | Kind::ZeroDenominator
        | Kind::Negative
        | Kind::NotFinite
        | Kind::Exponent
        | Kind::TooLarge
        | Kind::Grammar => "E20",
    }
}

/// A text of the user's as it is told back: one line, cut short, without signs that a terminal would obey.
pub(super) fn quoted(text: &str) -> String {
    const MOST: usize = 48;
    let mut told: String = text
        .trim()
        .chars()
        .take(MOST)
        .map(|c| if c.is_control() || is_invisible(c) { '\u{fffd}' } else { c })
        .collect();
    if text.trim().chars().count() > MOST {
        told.push('…');
    }
    told
}

/// Signs that steer how a line is shown: marks of direction and of no width.
fn is_invisible(sign: char) -> bool {
    matches!(sign, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// The known name that is likely meant: the nearest, or one that stands in the text as a word.
pub(super) fn meant<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    crate::fault::nearest(word, known.iter().copied()).or_else(|| {
        let low = word.to_lowercase();
        let words: Vec<&str> = low.split(|c: char| !c.is_alphanumeric()).collect();
        known.iter().find(|name| words.contains(&name.to_lowercase().as_str())).copied()
    })
}

/// Words of the trade for keys that go by another name: the word, and the keys that it may mean.
const PLAIN_WORDS: &[(&str, &[&str])] = &[
    ("centre-hole", &["stem", "hole"]),
    ("center-hole", &["stem", "hole"]),
    ("middle-hole", &["stem", "hole"]),
    ("bore", &["stem", "hole"]),
    ("hole", &["stem", "row"]),
    ("holes", &["row", "stem", "hole"]),
    ("inside", &["inner", "well", "bore"]),
    ("outside", &["outer", "diameter", "across"]),
    ("rim", &["land"]),
    ("margin", &["land", "edge"]),
    ("depth", &["dip", "width"]),
    ("height", &["width", "dip"]),
    ("breadth", &["width"]),
    ("radius", &["corner", "diameter"]),
    ("number", &["count"]),
    ("quantity", &["count"]),
    ("places", &["positions"]),
    ("notes", &["positions"]),
    ("machine", &["cut-with"]),
    ("leather", &["material"]),
    ("cloth", &["material"]),
    ("side", &["face"]),
    ("screws", &["screw"]),
];

/// The key that a plain word of the trade means, of those that are known.
fn plain_word<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let low = word.trim().to_lowercase().replace(['_', ' '], "-");
    let (_, keys) = PLAIN_WORDS.iter().find(|(plain, _)| *plain == low)?;
    keys.iter().find_map(|key| known.iter().find(|name| *name == key).copied())
}

/// What to do about a key that is none of many: the one that is meant, else those for holes or the likeliest.
pub(super) fn one_of_many(word: &str, known: &[&str]) -> String {
    if let Some(key) = plain_word(word, known) {
        return format!("did you mean `{key}`?");
    }
    let low = word.to_lowercase();
    let holes = ["hole", "bore", "screw", "punch"].iter().any(|part| low.contains(part));
    let of_holes = known.iter().copied().filter(|key| HOLES.contains(key));
    let mut list: Vec<&str> = if holes { of_holes.collect() } else { Vec::new() };
    if list.is_empty() {
        list = crate::fault::likeliest(word, known, 5);
    }
    format!("it takes {}", list.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", "))
}

/// Keys that make holes.
const HOLES: &[&str] =
    &["stem", "row", "hole", "hole-table", "circle", "screw", "slot", "window", "bleed"];

/// What to do about an unknown word: the likely one, else all that are known.
pub(super) fn did_you_mean(word: &str, known: &[&str], lead: &str) -> String {
    match meant(word, known) {
        Some(name) => format!("did you mean `{name}`?"),
        None if known.is_empty() => format!("{lead}: none"),
        None => format!("{lead}: {}", known.join(", ")),
    }
}
