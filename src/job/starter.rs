//! The files of a new job: small, invented, and working at once.

use super::builtin;

/// What the sample uses of the built-in profiles; copied, so that the job is whole in ten years too.
const COPIES: &[&str] = &[
    "machines/drag-knife-small.toml",
    "materials/pouch-leather.toml",
    "materials/hinge-cloth.toml",
];

const JOB: &str = r##"# A job: what is to be cut, and what there is to cut it from.
# Lines that begin with # are notes to yourself.
# A length is a text with its unit: "1 1/4 in", "0.038 in", "12 thou", "31.75 mm", "#60 drill".

[job]
title  = "@TITLE@"
notes  = 12                        # positions = "all" means 1 to this
spares = "1 in 10, at least 1"     # for every part that does not say otherwise
# unit = "in"                      # for numbers written without a unit; leave it out to be asked each time

[machines]                         # short name = profile, a file in machines/
knife = "drag-knife-small"

# ---- what there is to cut from ------------------------------------------------------

[[hide]]
id         = "H1"
material   = "pouch-leather"       # a file in materials/
up         = "flesh"               # the side that lies up; corners and flaws are seen from it
thickness  = ["0.009 in", "0.010 in", "0.009 in"]   # as many readings as were taken
corners    = [["0 mm", "40 mm"], ["180 mm", "0 mm"], ["420 mm", "30 mm"],
              ["440 mm", "210 mm"], ["230 mm", "260 mm"], ["20 mm", "230 mm"]]
grain-line = [["20 mm", "135 mm"], ["430 mm", "125 mm"]]   # two points along the backbone

[[hide.flaw]]
why      = "scar"
at       = ["120 mm", "180 mm"]
diameter = "18 mm"

[[cloth]]
id       = "C1"
material = "hinge-cloth"
width    = "12 in"                 # across the roll
length   = "14 in"                 # along it, which is along the warp
selvedge = "1/4 in"

# ---- what is to be cut --------------------------------------------------------------

[[part]]
name      = "pouch"
kind      = "pouch"                # a disk glued over a well
positions = "all"
table     = "pouches.csv"          # a row a position; a blank cell takes the value below
well      = "1 1/8 in"             # as measured, not as cut: the allowances are worked out
dip       = "3/32 in"
land      = "3/16 in"              # glued rim
material  = "pouch-leather"
cut-with  = "knife"
face      = "flesh"

[[part]]
name      = "edge-strip"
kind      = "strip"
count     = 4                      # all alike, so counted and not numbered
length    = "5 1/2 in"
width     = "3/4 in"
material  = "hinge-cloth"
cut-with  = "knife"
grain     = "along length"

# More kinds: pouchwork kind names them all, pouchwork kind bellows shows one with every key it may have.
"##;

const TABLE: &str = "# Only the wells that differ. A cell may have its own unit.
position,well,dip,land,note
3,1 5/32 in,,,rim chipped
7,29.2 mm,,,\"bored oversize, once repaired\"
";

/// The files of a new job folder, path and text: a job with two parts, a hide and a cloth, one table with an odd
/// row in millimetres, and copies of the profiles it uses. It reads without a fault.
pub fn starter(name: &str) -> Vec<(String, String)> {
    let title: String =
        name.chars().filter(|c| !c.is_control() && !matches!(c, '"' | '\\')).take(80).collect();
    let mut files = vec![
        (super::JOB_FILE.to_owned(), JOB.replace("@TITLE@", title.trim())),
        ("pouches.csv".to_owned(), TABLE.to_owned()),
    ];
    files.extend(
        COPIES
            .iter()
            .filter_map(|path| Some(((*path).to_owned(), builtin::profile(path)?.to_owned()))),
    );
    files
}
