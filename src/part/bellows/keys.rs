//! What a bellows takes: its measures and its companions.

use crate::part::Companion;
use crate::part::measures::{Key, Takes};
use crate::units::Quality;

/// A word out of a list, which may be left out.
const fn word(
    name: &'static str,
    words: &'static [&'static str],
    about: &'static str,
    example: &'static str,
) -> Key {
    Key { name, takes: Takes::Word(words), needed: false, about, example }
}

/// A figure that is no length, which may be left out.
const fn figure(
    name: &'static str,
    quality: Quality,
    about: &'static str,
    example: &'static str,
) -> Key {
    Key { name, takes: Takes::Quantity(quality), needed: false, about, example }
}

pub(super) const KEYS: &[Key] = &[
    word(
        "boards",
        &["wedge", "parallel", "double"],
        "a wedge (usual), parallel boards, or two wedges on one leaf",
        "wedge",
    ),
    Key::needed("length", "length of the boards, hinge to open end", "4 7/8 in"),
    Key::needed("width", "width of the boards", "15/16 in"),
    Key::needed("board", "thickness of one board", "3/16 in"),
    Key::needed("span", "opening at the open end, fully open", "7/8 in"),
    Key {
        name: "span-is",
        takes: Takes::Word(&["inside", "outside"]),
        needed: true,
        about: "whether the span is measured between the boards or over them",
        example: "inside",
    },
    Key::length(
        "second-span",
        "opening of the second wedge of a double one, where it differs",
        "1 in",
    ),
    Key::length("leaf", "thickness of the leaf between two wedges", "1/2 in"),
    Key::length("hinge-gap", "gap between the boards at the hinge, closed", "1/32 in"),
    Key::length(
        "overlap",
        "overlap where the strip meets itself; silent: a third of the width",
        "1/2 in",
    ),
    Key::length("trim", "trimmed off on each side after glueing", "1/4 in"),
    word(
        "form",
        &["strip", "taper", "pieces"],
        "a parallel strip (usual), a tapered blank, or sides and ends as pieces of their own",
        "strip",
    ),
    Key::length("lap", "lap of the pieces round their corners", "1/2 in"),
    Key::length(
        "pivot-gap",
        "the cloth stops so far short of the hinge and is not wrapped round it",
        "1/4 in",
    ),
    word("folds", &["in", "out"], "inward (usual), or outward for bellows under pressure", "in"),
    word("tuck", &["side", "end"], "where the corner folds go: side (usual) or end", "side"),
    Key {
        name: "pleats",
        takes: Takes::Count,
        needed: false,
        about: "folds one above the other between parallel boards; silent: one",
        example: "2",
    },
    Key::length("clearance", "kept free between the folds when closed; silent: 1/16 in", "1/16 in"),
    Key::length("cloth", "thickness of the cloth, for the closed stack", "10 thou"),
    Key::length("rest", "span at rest, measured like the span", "13/16 in"),
    Key::length("closed", "span when closed", "1/16 in"),
    Key::length("finger", "from the hinge to the end of the finger", "6 1/2 in"),
    figure("vacuum", Quality::Pressure, "pressure difference, for the force", "20 inH2O"),
    Key::length("stroke", "stroke that is wanted at the finger", "1/2 in"),
    figure("force", Quality::Force, "force that is wanted when it is nearly shut", "8 N"),
    figure("volume", Quality::Volume, "volume that is wanted, fully open", "4 1/2 in3"),
];

pub(super) const COMPANIONS: &[Companion] = &[
    Companion {
        name: "card",
        about: "stiffeners for the panels, never on the tuck",
        keys: &[
            Key::needed("inset", "kept free at every crease and board", "1/16 in"),
            Key::length("thickness", "thickness of a card, for the closed stack", "40 thou"),
        ],
        lengthwise: false,
        thickness_key: Some("thickness"),
    },
    Companion {
        name: "gusset",
        about: "leather corners between ribs, with form = \"pieces\"",
        keys: &[
            figure(
                "rib-angle",
                Quality::Angle,
                "from the board to the rib's end; silent: 45 degrees",
                "45 deg",
            ),
            figure(
                "corner-angle",
                Quality::Angle,
                "of the gusset at the board; silent: flush with the ribs",
                "75 deg",
            ),
            Key::length("lap", "glued on the ribs, all round", "1/2 in"),
            Key::length("skive", "pared to a feather within the lap", "3/8 in"),
        ],
        lengthwise: false,
        thickness_key: None,
    },
    Companion {
        name: "patch",
        about: "over the hinge end: a disk or a piece of leather",
        keys: &[
            Key::length("diameter", "of a round patch", "1 in"),
            Key::length("length", "along the hinge", "2 3/4 in"),
            Key::length("width", "across it", "2 in"),
            Key::length("lap", "on the cloth at either end, instead of length and width", "3/8 in"),
            Key {
                name: "count",
                takes: Takes::Count,
                needed: false,
                about: "how many; silent: two round ones, or one that is not",
                example: "2",
            },
        ],
        lengthwise: false,
        thickness_key: None,
    },
    Companion {
        name: "hinge",
        about: "the strip that joins the boards at the hinge",
        keys: &[
            Key::needed("leaf", "glued on each board", "3/8 in"),
            Key::length("gap", "left free between the boards; silent: the hinge gap", "1/32 in"),
        ],
        lengthwise: true,
        thickness_key: None,
    },
];
