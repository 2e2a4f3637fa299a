//! The worksheet: sums about light and gas, each with its inputs, its formula and where it comes from.
//!
//! Takes records; gives figures to look at. It recommends nothing, and nothing below a maker's figure: where the papers
//! of machine, eyewear or material say more, they hold. A figure that nobody has measured, or that is only remembered, says so.

use super::checklist::Task;
use crate::machine::{LaserPlate, Process};
use crate::material::{Material, Polymer, Sort, Tannage};
use std::f64::consts::PI;
use std::fmt::Write;

/// Diameter of the limiting aperture at the eye (mm).
///
/// # Source
/// 7 mm for visible light: ANSI Z136.1; IEC 60825-1.
pub const APERTURE: f64 = 7.0;
/// A glance that the blink ends (s).
pub const GLANCE: f64 = 0.25;
/// A working day (s).
pub const DAY: f64 = 30_000.0;
/// Litres of a mole of any gas at 25 °C and 1 atm.
///
/// # Source
/// NIOSH Pocket Guide to Chemical Hazards, introduction: 24.45.
pub const MOLE: f64 = 24.45;
/// The closed room that gas sums are told for (m³); ours.
const ROOM: f64 = 30.0;

/// The most light that may meet an eye, from a point source, for a time in seconds.
///
/// The lower of the thermal and the photochemical limit. None outside 400 to 600 nm and 18 µs to 30 000 s: there the
/// maker's figure is all there is.
///
/// # Units
/// Nanometres and seconds; gives W/m² at the cornea.
///
/// # Source
/// IEC TR 60825-14, as extracted in a university's "MPE tables" and in "Appendix X" (2015, after AS/NZS IEC 60825.14);
/// factor C3 and time T1: Norwegian regulation on limit values, §11-5 (ICNIRP).
pub fn exposure_limit(wavelength: f64, seconds: f64) -> Option<f64> {
    if !(400.0..=600.0).contains(&wavelength) || !(18e-6..=DAY).contains(&seconds) {
        return None;
    }
    let thermal = if seconds < 10.0 { 18.0 * seconds.powf(0.75) / seconds } else { 10.0 };
    let c3 = if wavelength <= 450.0 { 1.0 } else { 10_f64.powf(0.02 * (wavelength - 450.0)) };
    let photochemical = match seconds {
        t if t < 10.0 => f64::INFINITY,
        t if t < 100.0 => 100.0 * c3 / t,
        _ => c3,
    };
    Some(thermal.min(photochemical))
}

/// Power over the limiting aperture, or over the beam where that is wider.
///
/// # Units
/// Watts and millimetres; gives W/m².
pub fn irradiance(power: f64, beam: Option<f64>) -> f64 {
    let across = beam.unwrap_or(0.0).max(APERTURE) / 1000.0;
    power / (PI * across * across / 4.0)
}

/// The optical density that brings light down to a limit: the logarithm of their ratio.
///
/// # Source
/// ANSI Z136.1.
pub fn optical_density(irradiance: f64, limit: f64) -> f64 {
    (irradiance / limit).log10()
}

/// The level of the damage test that eyewear must pass: a beam stays below 10^(n + 1) W/m² for the level `n`.
///
/// # Units
/// Watts, and the beam's diameter at the eyewear in millimetres; gives the figure after LB.
///
/// # Source
/// EN 207:2017 (now ISO 19818-1:2021), continuous light from 315 to 1400 nm, as told in open texts; no free text of the
/// standard was read.
pub fn damage_level(power: f64, beam: f64) -> f64 {
    let across = beam / 1000.0;
    ((power / (PI * across * across / 4.0)).log10() - 1.0).ceil().max(1.0)
}

/// How far the bare beam stays above a limit: (√(4 P / π E) - a) / φ.
///
/// # Units
/// Watts, W/m², beam in millimetres, divergence in milliradians (whole angle); gives metres, 0 where it is never above.
///
/// # Source
/// IEC 60825-14, from memory; its printed examples are in the tests.
pub fn hazard_distance(power: f64, limit: f64, beam: f64, divergence: f64) -> f64 {
    let spread = (4.0 * power / (PI * limit)).sqrt();
    ((spread - beam / 1000.0) / (divergence / 1000.0)).max(0.0)
}

/// A gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    /// Name.
    pub name: &'static str,
    /// Grams a mole.
    pub molar: f64,
    /// The limit in air that it is held against, with its source.
    pub limit: &'static str,
}

/// Hydrogen chloride.
pub const HYDROGEN_CHLORIDE: Gas = Gas {
    name: "hydrogen chloride",
    molar: 36.461,
    limit: "at no time over 5 ppm (29 CFR 1910.1000 Table Z-1)",
};
/// Hydrogen cyanide.
pub const HYDROGEN_CYANIDE: Gas = Gas {
    name: "hydrogen cyanide",
    molar: 27.026,
    limit: "15 minutes at most at 4.7 ppm (NIOSH, as told by OSHA in 2003); 10 ppm over a shift (Table Z-1)",
};
/// Carbon monoxide.
pub const CARBON_MONOXIDE: Gas = Gas {
    name: "carbon monoxide",
    molar: 28.010,
    limit: "50 ppm over a shift (29 CFR 1910.1000 Table Z-1); some States ask for 25",
};
/// Sulfur dioxide.
pub const SULFUR_DIOXIDE: Gas = Gas {
    name: "sulfur dioxide",
    molar: 64.064,
    limit: "5 ppm over a shift (29 CFR 1910.1000 Table Z-1, from memory)",
};

/// Parts of a gas in a million of air, from its mass in a cubic metre.
///
/// # Units
/// mg/m³ at 25 °C and 1 atm; gives ppm.
///
/// # Source
/// NIOSH Pocket Guide to Chemical Hazards, introduction.
pub fn ppm_of(mg_in_m3: f64, gas: Gas) -> f64 {
    mg_in_m3 * MOLE / gas.molar
}

/// The mass of a gas in a cubic metre of air, from its parts in a million.
///
/// # Units
/// ppm; gives mg/m³ at 25 °C and 1 atm.
///
/// # Source
/// NIOSH Pocket Guide to Chemical Hazards, introduction.
pub fn mg_of(ppm: f64, gas: Gas) -> f64 {
    ppm * gas.molar / MOLE
}

/// The most of a gas that a material can give off, by the atoms that are in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Yield {
    /// Which gas.
    pub gas: Gas,
    /// Grams of it from a gram burnt.
    pub share: f64,
    /// How that was reckoned.
    pub formula: &'static str,
}

/// Grams of a gas from a gram of something, all of one sort of atom going into it.
fn by_atoms(gas: Gas, moles: f64, molar: f64) -> f64 {
    moles * gas.molar / molar
}

/// The gases that a material may give off when it burns, at their most.
///
/// # Source
/// Stoichiometry, ours, with the IUPAC atomic weights of 2021 (abridged). Shares of nitrogen, sulfur and of rubber are
/// from memory.
pub fn yields(material: &Material) -> Vec<Yield> {
    let mut list = Vec::new();
    let mut add = |gas, moles, molar, formula| {
        list.push(Yield { gas, share: by_atoms(gas, moles, molar), formula });
    };
    match material.coating {
        Some(Polymer::Pvc) => add(
            HYDROGEN_CHLORIDE,
            1.0,
            62.498,
            "all chlorine of C2H3Cl: 36.461 / 62.498 g a gram; ours",
        ),
        Some(Polymer::Polychloroprene) => add(
            HYDROGEN_CHLORIDE,
            1.0,
            88.534,
            "all chlorine of C4H5Cl: 36.461 / 88.534 g a gram; ours",
        ),
        Some(Polymer::NaturalRubber) => {
            add(
                CARBON_MONOXIDE,
                5.0,
                68.119,
                "all carbon of rubber, C5H8: 5 x 28.010 / 68.119 g a gram; ours",
            );
            add(
                SULFUR_DIOXIDE,
                0.03,
                32.06,
                "all sulfur, 3 % (from memory): 0.03 x 64.064 / 32.06 g a gram; ours",
            );
        }
        Some(Polymer::Polyurethane) => add(
            HYDROGEN_CYANIDE,
            0.06,
            14.007,
            "all nitrogen, 6 % (from memory): 0.06 x 27.026 / 14.007 g a gram; ours",
        ),
        _ => {}
    }
    match material.sort {
        Sort::Leather | Sort::Felt => add(
            HYDROGEN_CYANIDE,
            0.18,
            14.007,
            "all nitrogen of hide or wool, 18 % (from memory): 0.18 x 27.026 / 14.007 g a gram; ours",
        ),
        Sort::Cloth | Sort::Paper | Sort::Card | Sort::Fibre => add(
            CARBON_MONOXIDE,
            6.0,
            162.141,
            "all carbon of cellulose, C6H10O5: 6 x 28.010 / 162.141 g a gram; ours",
        ),
        Sort::CoatedCloth | Sort::Cork | Sort::Laminate => {}
    }
    list
}

/// Grams a cubic centimetre, on the high side; from memory.
fn density(sort: Sort) -> f64 {
    match sort {
        Sort::Felt => 0.4,
        Sort::Cork => 0.5,
        Sort::Cloth => 0.8,
        Sort::Leather | Sort::Paper | Sort::Card => 1.0,
        Sort::CoatedCloth | Sort::Laminate => 1.2,
        Sort::Fibre => 1.4,
    }
}

/// Chromium in chrome-tanned leather, as a share; from memory.
const CHROMIUM: f64 = 0.04;

/// The most chromium in what is burnt away, and the air that would thin it to the limit.
///
/// # Units
/// Grams burnt; gives milligrams and m³ of air.
///
/// # Source
/// Limit of 5 µg/m³ of chromium(VI) over a shift: 29 CFR 1910.1026. All of it counted as chromium(VI): ours, since how
/// much becomes so under a beam is disputed.
pub fn chromium(burnt: f64) -> (f64, f64) {
    let mg = burnt * CHROMIUM * 1000.0;
    (mg, mg / 0.005)
}

/// A figure with three digits that count.
fn told(value: f64) -> String {
    if !value.is_finite() {
        return "none".to_owned();
    }
    let places = match value.abs() {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        v if v >= 1.0 => 2,
        v if v >= 0.1 => 3,
        _ => 4,
    };
    format!("{value:.places$}")
}

/// The density that eyewear must have at least by our sum, whole; none where there is no sum.
pub fn least_density(plate: &LaserPlate) -> Option<f64> {
    let limit = exposure_limit(plate.wavelength, DAY)?;
    Some(optical_density(irradiance(plate.power, None), limit).ceil().max(1.0))
}

/// The worksheet of a task, as text.
pub fn worksheet(task: &Task<'_>) -> String {
    let mut text = String::from(
        "Worksheet: sums, not advice. Where a maker's figure is higher, the maker's figure holds.\n",
    );
    if let (Process::Laser, Some(plate)) = (task.machine.process, &task.machine.laser) {
        light(&mut text, plate);
    }
    for cut in &task.cuts {
        if task.machine.process == Process::Laser {
            let thickness = cut.material.thickness.as_ref().map_or(0.0, crate::units::Length::mm);
            gases(&mut text, cut.material, (cut.kerf, cut.length / 1000.0, thickness));
        } else {
            let _ = writeln!(text, "  {}: not to be burnt here", cut.material.title);
        }
    }
    text
}

/// What the beam comes to.
fn light(text: &mut String, plate: &LaserPlate) {
    let (nm, power) = (plate.wavelength, plate.power);
    let over = irradiance(power, None);
    let _ = writeln!(
        text,
        "  Light at the eye where the beam is not closed in: {nm} nm, {power} W over an aperture of 7 mm = {} W/m² (ANSI Z136.1)",
        told(over)
    );
    for (name, seconds) in [("a glance, 0.25 s", GLANCE), ("a working day, 30 000 s", DAY)] {
        let Some(limit) = exposure_limit(nm, seconds) else {
            let _ =
                writeln!(text, "    {name}: no sum here for {nm} nm; go by the laser's own papers");
            continue;
        };
        let density = optical_density(over, limit);
        let _ = writeln!(
            text,
            "    {name}: limit {} W/m² (IEC TR 60825-14, as printed by universities); optical density log10({} / {}) = \
             {density:.2}, whole {:.0}",
            told(limit),
            told(over),
            told(limit),
            density.ceil().max(1.0)
        );
        let (beam, spread) = (plate.beam_diameter.unwrap_or(2.0), plate.divergence.unwrap_or(5.0));
        let guessed = match (plate.beam_diameter, plate.divergence) {
            (Some(_), Some(_)) => "beam and divergence as recorded",
            (None, None) => "beam and divergence are starting guesses, see the laser's papers",
            (None, Some(_)) => "the beam is a starting guess, see the laser's papers",
            (Some(_), None) => "the divergence is a starting guess, see the laser's papers",
        };
        let _ = writeln!(
            text,
            "      bare beam above the limit up to (√(4 x {power} W / π x {} W/m²) - {beam} mm) / {spread} mrad = {} m \
             (formula from memory; {guessed})",
            told(limit),
            told(hazard_distance(power, limit, beam, spread))
        );
    }
    let (beam, guessed) = match plate.beam_diameter {
        Some(beam) => (beam, "as recorded"),
        None => (2.0, "a starting guess, see the laser's papers"),
    };
    let across = beam / 1000.0;
    let _ = writeln!(
        text,
        "    damage test of eyewear (EN 207:2017, as told in open texts): {power} W over a beam of {beam} mm ({guessed}) = {} \
         W/m²; log10 - 1, rounded up: LB{:.0} at least; a narrower beam asks for more",
        told(power / (PI * across * across / 4.0)),
        damage_level(power, beam)
    );
}

/// What burning a material gives off: for a cut of width (mm), length (m) and thickness (mm).
fn gases(text: &mut String, material: &Material, (kerf, metres, thickness): (f64, f64, f64)) {
    let list = yields(material);
    let heavy = density(material.sort);
    let grams = kerf * thickness * metres * heavy;
    let _ = writeln!(
        text,
        "  {}: burnt away {} mm x {} mm x {} m x {heavy} g/cm³ (high side, from memory) = {} g; {} g in a m²",
        material.title,
        told(kerf),
        told(thickness),
        told(metres),
        told(grams),
        told(thickness * heavy * 1000.0)
    );
    for it in &list {
        let mg = it.share * grams * 1000.0 / ROOM;
        let _ = writeln!(
            text,
            "    {} at most {} g ({}); in {ROOM} m³ of still air {} mg/m³ x {MOLE} / {} = {} ppm; limit: {}",
            it.gas.name,
            told(it.share * grams),
            it.formula,
            told(mg),
            it.gas.molar,
            told(ppm_of(mg, it.gas)),
            it.gas.limit
        );
    }
    if list.is_empty() {
        let _ = writeln!(text, "    no sum is known for what it gives off; its data sheet says");
    }
    let skin = material.sort == Sort::Leather;
    if skin && matches!(material.tannage, None | Some(Tannage::Chrome | Tannage::Unknown)) {
        let (mg, air) = chromium(grams);
        let _ = writeln!(
            text,
            "    chromium at most {} mg (4 % of the leather, from memory; all counted as chromium(VI), ours); {} m³ of air \
             thin it to 5 µg/m³ (29 CFR 1910.1026)",
            told(mg),
            told(air)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(is: f64, should: f64, slack: f64) {
        assert!((is - should).abs() <= slack, "{is}, not {should}");
    }

    #[test]
    fn exposure_limits_are_those_in_print() {
        // "Appendix X" (2015), sample calculation: 488 nm, 0.25 s, 0.64 mJ/cm² and 2.55 mW/cm².
        let limit = exposure_limit(488.0, 0.25).unwrap();
        near(limit / 10.0, 2.55, 0.005);
        near(limit * 0.25 / 10.0, 0.64, 0.005);
        // Class 1 in the blue is 0.039 mW through 7 mm: medical-laser textbook p. 105.
        let day = exposure_limit(450.0, DAY).unwrap();
        near(day * PI * 0.0035 * 0.0035 * 1000.0, 0.039, 0.0006);
        // Class 2 is 1 mW for a glance: the same figure as printed for the class, to 3 %.
        let glance = exposure_limit(450.0, GLANCE).unwrap();
        near(glance * PI * 0.0035 * 0.0035 * 1000.0, 1.0, 0.03);
        for (nm, seconds) in
            [(399.0, 1.0), (1064.0, 1.0), (f64::NAN, 1.0), (450.0, 1e-6), (450.0, 4e4)]
        {
            assert_eq!(exposure_limit(nm, seconds), None, "{nm} {seconds}");
        }
        // C3 lets more light through above 450 nm, up to the thermal limit.
        assert!(exposure_limit(460.0, DAY) > exposure_limit(450.0, DAY));
        near(exposure_limit(600.0, DAY).unwrap(), 10.0, 1e-12);
    }

    #[test]
    fn optical_density_is_that_in_print() {
        // "Appendix X" (2015): 10 W in a beam of 1 cm is 12.7 W/cm².
        near(irradiance(10.0, Some(10.0)) / 1e4, 12.7, 0.05);
        // The same: 3.8 W/cm² over 2.55 mW/cm² asks for 3.2, rounded up to a tenth.
        let density = optical_density(3.8e4, exposure_limit(488.0, 0.25).unwrap());
        near((density * 10.0).ceil() / 10.0, 3.2, 1e-9);
        // Medical-laser textbook p. 111: 12.5 J/cm² over 5e-6 J/cm² is 6.4.
        near(optical_density(12.5, 5e-6), 6.4, 0.005);
        // A physics group's note prints 4.7157 for 10 W, r = 0.35 cm, 1 mW/cm², with the peak of a Gaussian beam, which is
        // twice power over area.
        near(optical_density(2.0 * irradiance(10.0, None), 10.0), 4.7157, 1e-4);
        // A beam wider than the pupil counts with its own width.
        assert!(irradiance(10.0, Some(20.0)) < irradiance(10.0, Some(2.0)));
    }

    #[test]
    fn damage_level_is_that_in_print() {
        // Source: a medical-laser textbook, p. 114: 50 W over 5 mm is 2.55 million (printed "W/cm²", it is W/m²), L6.
        near(50.0 / (PI * 0.005 * 0.005 / 4.0) / 1e6, 2.55, 0.005);
        near(damage_level(50.0, 5.0), 6.0, 1e-9);
        // Source: EN 207:2017 as told in open texts: LB6 holds to 10^7 W/m², and no further.
        let area = |beam: f64| PI * (beam / 1000.0).powi(2) / 4.0;
        near(damage_level(0.999e7 * area(2.0), 2.0), 6.0, 1e-9);
        near(damage_level(1.001e7 * area(2.0), 2.0), 7.0, 1e-9);
    }

    #[test]
    fn hazard_distance_is_that_in_print() {
        let limit = exposure_limit(488.0, 0.25).unwrap();
        // Medical-laser textbook p. 110: 225 m, a hazard chart: 740 ft, for 1 W and 1 mrad; both rounded.
        near(hazard_distance(1.0, limit, 0.0, 1.0), 225.0, 2.25);
        near(hazard_distance(1.0, limit, 0.0, 1.0) / 0.3048, 740.0, 7.4);
        // The chart: 5 W, 1 mrad, 500 m or 1640 ft.
        near(hazard_distance(5.0, limit, 0.0, 1.0), 500.0, 0.5);
        near(hazard_distance(5.0, limit, 0.0, 1.0) / 0.3048, 1640.0, 2.0);
        assert!(hazard_distance(1e-6, limit, 7.0, 1.0).abs() < 1e-12, "never above");
    }

    #[test]
    fn gas_conversions_are_those_in_print() {
        // 29 CFR 1910.1000 Table Z-1: hydrogen chloride 5 ppm, 7 mg/m³.
        near(mg_of(5.0, HYDROGEN_CHLORIDE), 7.0, 0.5);
        // AIHA news 2025-07: 45 ppm is 67 mg/m³, 2 ppm is 2.98 mg/m³.
        near(mg_of(45.0, HYDROGEN_CHLORIDE), 67.0, 0.5);
        near(mg_of(2.0, HYDROGEN_CHLORIDE), 2.98, 0.005);
        // NIOSH: hydrogen cyanide 4.7 ppm, 5 mg/m³.
        near(mg_of(4.7, HYDROGEN_CYANIDE), 5.0, 0.5);
        for gas in [HYDROGEN_CHLORIDE, HYDROGEN_CYANIDE, CARBON_MONOXIDE, SULFUR_DIOXIDE] {
            near(ppm_of(mg_of(12.5, gas), gas), 12.5, 1e-12);
        }
    }

    #[test]
    fn gas_from_a_gram_by_its_atoms() {
        use super::super::tests::material;
        // Ours, by stoichiometry; chlorine is 56.73 % of PVC and 40.04 % of polychloroprene, and 97.2 % of HCl.
        let of = |coating| {
            let mut it = material(Sort::CoatedCloth);
            it.coating = Some(coating);
            yields(&it)
        };
        let chlorine_in_gas = 35.453 / 36.461;
        near(of(Polymer::Pvc)[0].share * chlorine_in_gas, 0.5673, 1e-4);
        near(of(Polymer::Polychloroprene)[0].share * chlorine_in_gas, 0.4004, 1e-4);
        // A gram of PVC in 30 m³ is over the ceiling of 5 ppm more than twice (ours).
        let mg = of(Polymer::Pvc)[0].share * 1000.0 / ROOM;
        near(ppm_of(mg, HYDROGEN_CHLORIDE), 13.04, 0.01);
        assert!(
            yields(&material(Sort::CoatedCloth)).is_empty(),
            "nothing is claimed of the unknown"
        );
        // 2.5 g of leather hold 100 mg of chromium at 4 %: 20 000 m³ at 5 µg/m³.
        let (mg, air) = chromium(2.5);
        near(mg, 100.0, 1e-9);
        near(air, 20_000.0, 1e-6);
    }
}
