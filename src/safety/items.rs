//! Every item of the checklist, in own words.

use super::ask::Ask;
use super::checklist::Item;
use super::checklist::Kind::{self, Asked, Information, Stop};
use super::checklist::On::{self, ClosedLaser, Every, Knife, Laser, OpenLaser};
use super::checklist::Phase::{self, After, Before, During};

const fn item(
    id: &'static str,
    (on, phase, kind): (On, Phase, Kind),
    text: &'static str,
    source: &'static str,
) -> Item {
    Item { id, on, phase, kind, text, source }
}

/// Every item, in the order in which they are gone through.
pub const ITEMS: &[Item] = &[
    item(
        "named-coating",
        (Laser, Before, Stop),
        "Every material's record says what it is coated, bound or finished with. What nobody has written down counts as \
         unknown, and the unknown is not burnt.",
        "29 CFR 1910.1200",
    ),
    item(
        "halogens",
        (Laser, Before, Stop),
        "No PVC, no polychloroprene (sold as neoprene), nothing with fluorine or bromine: burnt, they give off corrosive \
         and poisonous gases. The knife cuts them.",
        "hydrogen chloride: 29 CFR 1910.1000 Table Z-1; what comes off PVC under a laser: ILSC 1990",
    ),
    item(
        "rubber",
        (Laser, Before, Stop),
        "Natural rubber and polyurethane only where the record names a data sheet, by issuer and day: their smoke may hold \
         sulfur, isocyanates and cyanide.",
        "the material's data sheet; gases from memory",
    ),
    item(
        "tannage",
        (Laser, Before, Stop),
        "No leather tanned with chrome, or nobody knows how, unless its record names a data sheet and the machine's record \
         an extraction: ash and smoke may hold chromium(VI). How much is disputed.",
        "29 CFR 1910.1026; Sustainable Chemistry 2024, 5(3), 244",
    ),
    item(
        "salvage",
        (Laser, Before, Stop),
        "Nothing taken from an old instrument: arsenic, lead, mercury, mould, asbestos or an unknown glue may be in it.",
        "29 CFR 1910.1018, .1025, .1200, from memory",
    ),
    item(
        "laminate",
        (Laser, Before, Stop),
        "Nothing glued in layers: the glue chars and the layers part.",
        "common practice",
    ),
    item(
        "plate",
        (Laser, Before, Stop),
        "The machine's record has wavelength, power, class, enclosure and an extraction.",
        "IEC 60825-1; 21 CFR 1040.10",
    ),
    item(
        "settings",
        (Laser, Before, Stop),
        "Power, feed and passes of the files are those of the material's record and within those of the machine's: the \
         proof of every file refuses more. Where the record calls them a starting guess they have not been tried on this \
         stuff: try them on scrap of it, at this thickness, before anything else is cut.",
        "common practice; the machine's own papers",
    ),
    item(
        "papers",
        (Laser, Before, Asked(Ask::Materials)),
        "You have read the data sheet of each material that goes under the beam, or know of each that it is what its record \
         says. Nothing else goes under it, no scrap of something else either.",
        "29 CFR 1910.1200",
    ),
    item(
        "sheets",
        (Every, Before, Asked(Ask::Sheets)),
        "The sheets of this lay lie ready. Read the id off the label of each: what is on the bed is what the lay was made \
         for.",
        "common practice",
    ),
    item(
        "stop-control",
        (Laser, Before, Asked(Ask::Class)),
        "Interlocks, lid and stop control have been tried today, and none is bridged. The key is out when nobody cuts. Look \
         at the label: the class is that of the machine as it stands now, and a housing that is opened or changed has lost \
         its class.",
        "21 CFR 1040.10(f); ANSI Z136.1; IEC 60825-1, from memory",
    ),
    item(
        "eyewear",
        (OpenLaser, Before, Asked(Ask::Eyewear)),
        "Everyone who can see the beam or where it lands wears eyewear made for this wavelength. Its optical density is at \
         least what the laser's papers or a laser safety officer ask for; the worksheet has a sum to compare. In Europe the \
         damage test (LB number) counts too: density alone is not enough.",
        "ANSI Z136.1; 29 CFR 1910.133; EN 207 (now ISO 19818-1)",
    ),
    item(
        "room",
        (OpenLaser, Before, Asked(Ask::Person)),
        "Whoever runs it has been taught to. Nobody else is in view of the beam, the door is shut, a sign hangs on it, \
         nothing that mirrors lies near.",
        "ANSI Z136.1",
    ),
    item(
        "housing",
        (ClosedLaser, Before, Asked(Ask::Person)),
        "Whoever runs it has been taught to. The housing is whole and stays shut while there is light in it: it alone makes \
         the machine what its label says.",
        "IEC 60825-1; 21 CFR 1040.10(f)(1)",
    ),
    item(
        "extraction",
        (Laser, Before, Asked(Ask::Extraction)),
        "The extraction runs and draws at the cut, and its duct or filter is as its maker wants it. A filter that only turns \
         the room's air round does not take gases away.",
        "OSHA Technical Manual III:6; ANSI Z136.1",
    ),
    item(
        "fire",
        (Laser, Before, Asked(Ask::Extinguisher)),
        "An extinguisher of the right kind is within reach, and a wet cloth. The way out is free. The bed is clean of scrap; \
         no solvent, rubber cement, lint or paper is near.",
        "NFPA 115; 29 CFR 1910.157",
    ),
    item(
        "flat",
        (Every, Before, Asked(Ask::Bed)),
        "The sheet lies flat and fixed and cannot rise into the head. Size and zero have been measured, and the bed is that \
         of the record.",
        "common practice",
    ),
    item(
        "dry-run",
        (Laser, Before, Asked(Ask::Files)),
        "Each file will be followed once with the beam off, and its 100 mm rule measured, before the beam is on. A piece of \
         each material will be cut on scrap first.",
        "common practice",
    ),
    item(
        "blade",
        (Knife, Before, Asked(Ask::Machine)),
        "The blade is guarded and locked, its depth tried on scrap. For a change of blade the power is off.",
        "29 CFR 1910.147, .212",
    ),
    item(
        "hands",
        (Knife, Before, Asked(Ask::Person)),
        "Hands, sleeves and hair stay clear of the carriage. Cut-resistant gloves are for handling blades, not for work near \
         moving parts.",
        "29 CFR 1910.138, .212; common practice",
    ),
    item(
        "inside-the-bed",
        (Knife, Before, Stop),
        "Every cut lies inside the bed less its margin.",
        "the cut plan refuses anything else (E33)",
    ),
    item(
        "hold-down",
        (Knife, Before, Asked(Ask::Files)),
        "Mat or vacuum holds the sheet, proven with a cut on scrap; the raised blade clears every clamp. So it is for each \
         file.",
        "common practice",
    ),
    item(
        "stay",
        (Every, During, Asked(Ask::Pieces)),
        "Never leave it, not for a moment, from the first piece to the last. Watch the whole cut with the stop control in \
         reach; stop at a flame, an odd smell, smoke outside its way, a part that lifts.",
        "NFPA 115; 29 CFR 1910.242; common practice",
    ),
    item(
        "glow",
        (Laser, During, Asked(Ask::Plate)),
        "Nobody stares at the beam or at the glow where it lands; eyewear stays on. Read the plate once more.",
        "ANSI Z136.1; IEC 60825-1",
    ),
    item(
        "opening",
        (Laser, After, Asked(Ask::Machine)),
        "See that the beam is off, wait until the smoke is gone, then open. Scrap goes into a metal bin outside the room.",
        "NFPA 115; common practice",
    ),
    item(
        "fire-watch",
        (Laser, After, Asked(Ask::Watch)),
        "Stay and look for smoulder at least 30 minutes after the last cut; felt, lint and card glow unseen.",
        "29 CFR 1910.252(a)(2)(iii)(B) for hot work, by analogy",
    ),
    item(
        "blades-away",
        (Knife, After, Asked(Ask::Lay)),
        "The blade is drawn back; old blades go into a tin.",
        "29 CFR 1910.242; common practice",
    ),
    item(
        "tell",
        (Every, After, Information),
        "Note which pieces were cut and which failed. Clean optics, bed, filters or mat as their makers say.",
        "the machine's own papers",
    ),
    item(
        "help",
        (Every, Before, Information),
        "Know where first aid and an eye wash are. With any suspicion of light in an eye see a physician at once.",
        "29 CFR 1910.151; ANSI Z136.1",
    ),
];
