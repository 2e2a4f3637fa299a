//! The keys of holes: rows, single holes, circles, tables, slots and windows, and those of an opposite board.

use crate::part::measures::{Key, Takes};
use crate::units::Quality;

const BREAK: &[Key] = &[
    Key {
        name: "after",
        takes: Takes::Count,
        needed: true,
        about: "hole after which the break comes",
        example: "29",
    },
    Key {
        name: "add",
        takes: Takes::Length,
        needed: true,
        about: "added to the pitch there",
        example: "3/8 in",
    },
];

const ROW: &[Key] = &[
    Key {
        name: "holes",
        takes: Takes::Count,
        needed: false,
        about: "how many holes",
        example: "54",
    },
    Key {
        name: "first",
        takes: Takes::Point,
        needed: true,
        about: "centre of the first hole, from the lower left corner, or in an outline's own coordinates",
        example: "[\"1/2 in\", \"1 in\"]",
    },
    Key {
        name: "pitch",
        takes: Takes::Length,
        needed: false,
        about: "from centre to centre",
        example: "1/2 in",
    },
    Key {
        name: "at",
        takes: Takes::Lengths,
        needed: false,
        about: "distances from the first hole, instead of a pitch",
        example: "[\"0 in\", \"1/2 in\"]",
    },
    Key {
        name: "span",
        takes: Takes::Length,
        needed: false,
        about: "measured from the first centre to the last",
        example: "27 1/2 in",
    },
    Key {
        name: "diameter",
        takes: Takes::Length,
        needed: true,
        about: "diameter of each hole",
        example: "5/16 in",
    },
    Key {
        name: "way",
        takes: Takes::Word(&["length", "width"]),
        needed: false,
        about: "along the length (usual) or the width",
        example: "length",
    },
    Key {
        name: "break",
        takes: Takes::Tables(BREAK),
        needed: false,
        about: "wider places in the row",
        example: "after = 29, add = \"3/8 in\"",
    },
];

const HOLE: &[Key] = &[
    Key {
        name: "at",
        takes: Takes::Point,
        needed: true,
        about: "centre, from the lower left corner, or in an outline's own coordinates",
        example: "[\"1 in\", \"1/2 in\"]",
    },
    Key {
        name: "diameter",
        takes: Takes::Length,
        needed: true,
        about: "diameter",
        example: "#30 drill",
    },
];

const SLOT: &[Key] = &[
    Key {
        name: "at",
        takes: Takes::Point,
        needed: true,
        about: "middle of the slot, from the lower left corner, or in an outline's own coordinates",
        example: "[\"3 in\", \"1/2 in\"]",
    },
    Key {
        name: "length",
        takes: Takes::Length,
        needed: true,
        about: "over its ends",
        example: "1 in",
    },
    Key { name: "width", takes: Takes::Length, needed: true, about: "across", example: "1/8 in" },
    Key {
        name: "way",
        takes: Takes::Word(&["length", "width"]),
        needed: false,
        about: "along the part's length (usual) or its width",
        example: "length",
    },
    Key {
        name: "ends",
        takes: Takes::Word(&["round", "square"]),
        needed: false,
        about: "round (usual) or square ends",
        example: "round",
    },
];

/// The tables of holes that plates and strips take.
pub(in crate::part) const ROW_KEY: Key = Key {
    name: "row",
    takes: Takes::Tables(ROW),
    needed: false,
    about: "equal holes in a straight row",
    example: "[[part.row]]",
};
/// See [`ROW_KEY`].
pub(in crate::part) const HOLE_KEY: Key = Key {
    name: "hole",
    takes: Takes::Tables(HOLE),
    needed: false,
    about: "a single hole",
    example: "[[part.hole]]",
};
/// See [`ROW_KEY`].
pub(in crate::part) const SCREW_KEY: Key = Key {
    name: "screw",
    takes: Takes::Tables(HOLE),
    needed: false,
    about: "a hole for a screw",
    example: "[[part.screw]]",
};
/// See [`ROW_KEY`].
pub(in crate::part) const SLOT_KEY: Key = Key {
    name: "slot",
    takes: Takes::Tables(SLOT),
    needed: false,
    about: "a slot",
    example: "[[part.slot]]",
};
/// Least web that is not pointed out.
pub(in crate::part) const LIGAMENT_KEY: Key = Key {
    name: "least-web",
    takes: Takes::Length,
    needed: false,
    about: "thinner webs than this are pointed out",
    example: "1/16 in",
};

const CIRCLE: &[Key] = &[
    Key {
        name: "at",
        takes: Takes::Point,
        needed: true,
        about: "centre of the circle on which the holes lie",
        example: "[\"2 in\", \"2 in\"]",
    },
    Key { name: "holes", takes: Takes::Count, needed: true, about: "how many holes", example: "6" },
    Key {
        name: "across",
        takes: Takes::Length,
        needed: true,
        about: "diameter of the circle through the holes' centres",
        example: "3 in",
    },
    Key {
        name: "diameter",
        takes: Takes::Length,
        needed: true,
        about: "diameter of each hole",
        example: "5/32 in",
    },
    Key {
        name: "start",
        takes: Takes::Quantity(Quality::Angle),
        needed: false,
        about: "turn of the first hole from the length, counter-clockwise",
        example: "30 deg",
    },
];

const WINDOW: &[Key] = &[
    Key {
        name: "at",
        takes: Takes::Point,
        needed: true,
        about: "middle of the window",
        example: "[\"3 in\", \"1 in\"]",
    },
    Key {
        name: "length",
        takes: Takes::Length,
        needed: true,
        about: "along the part's length",
        example: "2 in",
    },
    Key { name: "width", takes: Takes::Length, needed: true, about: "across", example: "1 in" },
    Key {
        name: "corner",
        takes: Takes::Length,
        needed: false,
        about: "radius of its corners",
        example: "1/8 in",
    },
];

const TABLE: &[Key] = &[
    Key {
        name: "x",
        takes: Takes::Signed,
        needed: true,
        about: "centre, along the length",
        example: "1 in",
    },
    Key {
        name: "y",
        takes: Takes::Signed,
        needed: true,
        about: "centre, across",
        example: "1/2 in",
    },
    Key {
        name: "diameter",
        takes: Takes::Length,
        needed: true,
        about: "how wide the hole is",
        example: "5/32 in",
    },
];

/// See [`ROW_KEY`].
pub(in crate::part) const CIRCLE_KEY: Key = Key {
    name: "circle",
    takes: Takes::Tables(CIRCLE),
    needed: false,
    about: "equal holes on a circle",
    example: "[[part.circle]]",
};
/// See [`ROW_KEY`].
pub(in crate::part) const WINDOW_KEY: Key = Key {
    name: "window",
    takes: Takes::Tables(WINDOW),
    needed: false,
    about: "a rectangular hole",
    example: "[[part.window]]",
};
/// See [`ROW_KEY`].
pub(in crate::part) const TABLE_KEY: Key = Key {
    name: "hole-table",
    takes: Takes::Rows(TABLE),
    needed: false,
    about: "a CSV file of holes, a row each",
    example: "holes.csv",
};
/// The holes of the board on the other side of a gasket.
pub(in crate::part) const OPPOSITE_ROW_KEY: Key = Key {
    name: "opposite-row",
    takes: Takes::Tables(ROW),
    needed: false,
    about: "a row of the opposite board",
    example: "[[part.opposite-row]]",
};
/// See [`OPPOSITE_ROW_KEY`].
pub(in crate::part) const OPPOSITE_HOLE_KEY: Key = Key {
    name: "opposite-hole",
    takes: Takes::Tables(HOLE),
    needed: false,
    about: "a hole of the opposite board",
    example: "[[part.opposite-hole]]",
};
/// See [`OPPOSITE_ROW_KEY`].
pub(in crate::part) const OPPOSITE_TABLE_KEY: Key = Key {
    name: "opposite-table",
    takes: Takes::Rows(TABLE),
    needed: false,
    about: "a CSV file of the opposite board's holes",
    example: "opposite.csv",
};
/// See [`OPPOSITE_ROW_KEY`].
pub(in crate::part) const OPPOSITE_SEEN_KEY: Key = Key {
    name: "opposite-seen",
    takes: Takes::Word(&["through", "own"]),
    needed: false,
    about: "how the opposite board was measured: through the gasket (usual) or from its own face",
    example: "through",
};
/// See [`OPPOSITE_ROW_KEY`].
pub(in crate::part) const MEET_KEY: Key = Key {
    name: "meet",
    takes: Takes::Word(&["shared", "larger"]),
    needed: false,
    about: "what is cut where two holes meet: what they share (usual) or the larger",
    example: "shared",
};
