//! What must never meet a laser, and what to keep in mind before any machine runs.
//!
//! Takes a material's and a machine's record; gives a hard stop with its reason, or none. No option lifts a stop: only
//! a better record does. Nothing here replaces local codes, the papers of machine and material, or qualified people.
//!
//! | file | holds |
//! | --- | --- |
//! | [`items`] | every item of the list with its phase, kind, text and source |
//! | [`checklist`] | one machine's share of a lay, and its list shown in full |
//! | [`mod@ask`] | what an item wants typed, and whether a text is that |
//! | [`mod@worksheet`] | sums about light and gas, with inputs, formula and source |
//! | [`record`] | the safety record, and what makes it void |

pub mod ask;
pub mod checklist;
pub mod items;
pub mod record;
pub mod worksheet;

use crate::fault::Fault;
use crate::machine::{Machine, Process};
use crate::material::{Material, Polymer, Sort, Tannage};

/// Why a material is kept from a laser, in a few words; none if nothing stands against it.
///
/// # Source
/// Chlorinated, fluorinated and brominated polymers give off corrosive and poisonous gases when burnt (hydrogen
/// chloride: limits in 29 CFR 1910.1000 Table Z-1). Chromium in leather: Cr(VI) limits in 29 CFR 1910.1026;
/// what cutting by laser sets free is disputed, so an unknown counts as a yes. Old stock may hold arsenic, lead or
/// mercury (29 CFR 1910.1018, .1025, from memory). Laminates of leather and felt are cut after they are glued, and by
/// the knife: common practice.
pub fn laser_stop(material: &Material, machine: Option<&Machine>) -> Option<String> {
    if material.salvaged {
        return Some("salvaged stock: nobody knows what is in it".to_owned());
    }
    if material.sort == Sort::Laminate {
        let own = |layer: &Material| {
            laser_stop(layer, machine).map(|why| format!("; {} in it: {why}", layer.title))
        };
        let layer = material.layers.iter().find_map(own).unwrap_or_default();
        return Some(format!(
            "a laminate is for the knife: its glue chars and its layers part{layer}"
        ));
    }
    match material.coating {
        Some(coating @ (Polymer::Pvc | Polymer::Polychloroprene)) => {
            return Some(format!("{}: burning sets hydrogen chloride free", coating.name()));
        }
        Some(coating @ (Polymer::Fluorinated | Polymer::Brominated)) => {
            return Some(format!("{} polymer: burning sets poisonous gases free", coating.name()));
        }
        Some(Polymer::Unknown) => return Some("its coating or binder is unknown".to_owned()),
        Some(coating @ (Polymer::NaturalRubber | Polymer::Polyurethane))
            if material.data_sheet.is_none() =>
        {
            return Some(format!("{} without a data sheet named in its record", coating.name()));
        }
        Some(Polymer::None) if material.sort == Sort::CoatedCloth => {
            return Some("a coated cloth whose record names no coating".to_owned());
        }
        Some(Polymer::NaturalRubber | Polymer::Polyurethane | Polymer::None) | None => {}
    }
    if material.sort == Sort::Leather {
        let extraction = machine.is_some_and(Machine::has_extraction);
        let opened = material.data_sheet.is_some() && extraction;
        match material.tannage.unwrap_or(Tannage::Unknown) {
            Tannage::Chrome if !opened => return Some("chrome tanned".to_owned()),
            Tannage::Unknown if !opened => return Some("tannage unknown".to_owned()),
            _ => {}
        }
    }
    if material.coating.is_none() {
        return Some("its record does not say what it is coated or finished with".to_owned());
    }
    None
}

/// Whether a better record could open a stopped material.
fn record_may_open(material: &Material) -> bool {
    let rubber = matches!(
        material.coating,
        None | Some(Polymer::None | Polymer::NaturalRubber | Polymer::Polyurethane)
    );
    rubber && !material.salvaged && material.sort != Sort::Laminate
}

/// The hard stop for a material on a machine: no file is written for it, in any format.
///
/// # Errors
/// Fault `E44` with the reason and what would help.
pub fn gate(material: &Material, machine: &Machine) -> Result<(), Fault> {
    if machine.process != Process::Laser {
        return Ok(());
    }
    let Some(plate) = &machine.laser else {
        return Err(Fault::error("E44", format!("{} is a laser without a plate", machine.key))
            .at(&machine.place)
            .cure("fill in the table [laser]: wavelength, power, class, enclosed, extraction"));
    };
    if let Some(reason) = laser_stop(material, Some(machine)) {
        let cure = if record_may_open(material) {
            "cut it with the knife or punch it; a laser may have it only when its record names what it is coated with \
             and its data sheet, and the machine's record its extraction"
        } else {
            "cut it with the knife, scissors or a punch; no option lifts this"
        };
        return Err(Fault::error(
            "E44",
            format!(
                "held back: {} does not go under the laser {}: {reason}",
                material.title, machine.key
            ),
        )
        .at(&material.place)
        .cure(cure));
    }
    if plate.extraction == "none" || plate.extraction.is_empty() {
        return Err(Fault::error("E44", format!("held back: {} has no extraction", machine.key))
            .at(&machine.place)
            .cure("burnt leather and cloth give off gases that must be led away; record where they go in `extraction`"));
    }
    Ok(())
}

/// The text that knife, punch and paper files of a material carry when a laser must not have it.
pub fn not_for_laser(material: &Material) -> Option<String> {
    laser_stop(material, None).map(|reason| format!("NOT FOR LASER: {reason}"))
}

/// Short texts that are drawn beside the rule and stand in the manifest.
pub fn warnings(material: &Material, machine: &Machine, kerf_assumed: bool) -> Vec<String> {
    let mut texts = Vec::new();
    if machine.process != Process::Laser {
        texts.extend(not_for_laser(material));
    }
    if kerf_assumed {
        texts.push("KERF ASSUMED: cut one piece on scrap and measure it".to_owned());
    }
    texts
}

/// The cautions that go with every file for a machine.
///
/// # Source
/// Class and eyewear: IEC 60825-1, ANSI Z136.1, 29 CFR 1910.133. Fire watch of half an hour: 29 CFR 1910.252 for hot
/// work, by analogy. Extraction: OSHA Technical Manual III:6. Blades: 29 CFR 1910.212, common practice.
pub fn cautions(machine: &Machine) -> Vec<String> {
    let mut list = vec![
        "This list is a memory aid. Local codes, the machine's own papers, the material's data sheet and qualified \
         people come first; where they differ, follow them."
            .to_owned(),
    ];
    if let (Process::Laser, Some(plate)) = (machine.process, &machine.laser) {
        let beam = format!("{} nm, {} W, class {}", plate.wavelength, plate.power, plate.class);
        if plate.enclosed {
            list.push(format!(
                "Beam ({beam}): keep the enclosure shut; an opened box is no longer of its class."
            ));
        }
        if !plate.enclosed || plate.class.contains('4') {
            list.push(format!(
                "Beam ({beam}): eyewear for {} nm, of the optical density that the laser's own papers ask for, for \
                 everyone in the room; nobody else in view.",
                plate.wavelength
            ));
        }
        list.push(format!(
            "Extraction running ({}); wait for the fumes to clear before opening.",
            plate.extraction
        ));
        list.push("Never leave it while it cuts. Extinguisher and a wet cloth in reach, bed clear of scrap.".to_owned());
        list.push("Stay and look for smoulder at least 30 minutes after the last cut.".to_owned());
        list.push(
            "Only the material named here goes under the beam; cut a test piece on scrap first."
                .to_owned(),
        );
    } else {
        list.push(
            "Hands, sleeves and hair clear of the moving blade; power off for a change of blade."
                .to_owned(),
        );
        list.push(
            "Sheet held down flat; try the depth on scrap; old blades into a tin.".to_owned(),
        );
    }
    list.push("Measure the 100 mm rule in the machine's own program or on the first cut: it must be 100 mm.".to_owned());
    list
}

#[cfg(test)]
mod tests;
