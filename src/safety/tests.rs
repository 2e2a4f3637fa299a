use super::*;
use crate::fault::Place;
use crate::machine::LaserPlate;
use crate::material::Source;
use std::collections::BTreeMap;
use std::sync::Arc;

fn place() -> Place {
    Place::head(&Arc::from("x.toml"))
}

fn source() -> Source {
    Source { text: "assumed".into(), place: place() }
}

fn material(sort: Sort) -> Material {
    Material {
        key: "m".into(),
        title: "M".into(),
        sort,
        thickness: None,
        layers: Vec::new(),
        tannage: None,
        coating: None,
        salvaged: false,
        data_sheet: None,
        stretch: None,
        wet: None,
        cuts: Vec::new(),
        source: source(),
        place: place(),
    }
}

fn laser(extraction: &str) -> Machine {
    Machine {
        key: "laser".into(),
        title: "laser".into(),
        process: Process::Laser,
        width: 400.0,
        depth: 400.0,
        margin: 5.0,
        smallest_hole: 1.0,
        laser: Some(LaserPlate {
            wavelength: 450.0,
            power: 10.0,
            class: "4".into(),
            enclosed: false,
            extraction: extraction.into(),
        }),
        colours: BTreeMap::new(),
        source: source(),
        place: place(),
    }
}

#[test]
fn halogens_unknowns_and_salvage_never_pass() {
    for coating in [
        Polymer::Pvc,
        Polymer::Polychloroprene,
        Polymer::Fluorinated,
        Polymer::Brominated,
        Polymer::Unknown,
    ] {
        let mut cloth = material(Sort::CoatedCloth);
        cloth.coating = Some(coating);
        cloth.data_sheet = Some("supplier's letter".into());
        assert!(gate(&cloth, &laser("outdoors")).is_err(), "{coating:?}");
        assert!(not_for_laser(&cloth).is_some());
    }
    assert!(gate(&material(Sort::CoatedCloth), &laser("outdoors")).is_err(), "silent is unknown");
    for sort in
        [Sort::Cloth, Sort::Felt, Sort::Paper, Sort::Card, Sort::Cork, Sort::Fibre, Sort::Leather]
    {
        assert!(gate(&material(sort), &laser("outdoors")).is_err(), "{sort:?}: silent is unknown");
    }
    let mut bare = material(Sort::CoatedCloth);
    bare.coating = Some(Polymer::None);
    assert!(gate(&bare, &laser("outdoors")).is_err(), "a coated cloth has a coating");
    let mut felt = material(Sort::Felt);
    felt.coating = Some(Polymer::None);
    assert!(gate(&felt, &laser("outdoors")).is_ok());
    felt.salvaged = true;
    assert!(gate(&felt, &laser("outdoors")).is_err());
}

#[test]
fn a_laminate_never_passes_and_its_layers_are_named() {
    let mut felt = material(Sort::Felt);
    felt.coating = Some(Polymer::None);
    let mut skin = material(Sort::Leather);
    skin.title = "suede".into();
    skin.coating = Some(Polymer::None);
    skin.tannage = Some(Tannage::Vegetable);
    assert!(gate(&felt, &laser("outdoors")).is_ok() && gate(&skin, &laser("outdoors")).is_ok());
    let mut both = material(Sort::Laminate);
    both.coating = Some(Polymer::None);
    both.layers = vec![felt, skin];
    let fault = gate(&both, &laser("outdoors")).unwrap_err();
    assert!(
        fault.text.ends_with("a laminate is for the knife: its glue chars and its layers part")
    );
    assert!(fault.cure.is_some_and(|cure| cure.contains("no option lifts this")));
    both.layers[1].tannage = Some(Tannage::Chrome);
    assert_eq!(
        not_for_laser(&both).as_deref(),
        Some(
            "NOT FOR LASER: a laminate is for the knife: its glue chars and its layers part; suede in it: chrome tanned"
        )
    );
}

#[test]
fn chrome_is_opened_by_records_only() {
    let mut skin = material(Sort::Leather);
    skin.coating = Some(Polymer::None);
    assert!(gate(&skin, &laser("outdoors")).is_err(), "silent tannage is unknown");
    skin.tannage = Some(Tannage::Chrome);
    assert!(gate(&skin, &laser("outdoors")).is_err());
    skin.data_sheet = Some("tanner, March 2025".into());
    assert!(gate(&skin, &laser("outdoors")).is_ok());
    assert!(gate(&skin, &laser("none")).is_err());
    skin.tannage = Some(Tannage::Vegetable);
    skin.data_sheet = None;
    assert!(gate(&skin, &laser("outdoors")).is_ok());
    assert!(gate(&skin, &laser("none")).is_err(), "no extraction, no beam");
}

#[test]
fn a_knife_takes_all_and_its_file_says_so() {
    let mut knife = laser("none");
    knife.process = Process::Knife;
    knife.laser = None;
    let mut skin = material(Sort::Leather);
    skin.coating = Some(Polymer::None);
    assert!(gate(&skin, &knife).is_ok());
    let texts = warnings(&skin, &knife, true);
    assert_eq!(texts[0], "NOT FOR LASER: tannage unknown");
    assert!(texts[1].contains("cut one piece on scrap and measure it"));
    // A data sheet opens chrome only together with a machine's extraction: a knife's file still warns.
    skin.tannage = Some(Tannage::Chrome);
    skin.data_sheet = Some("tanner, March 2025".into());
    assert_eq!(not_for_laser(&skin).as_deref(), Some("NOT FOR LASER: chrome tanned"));
    let mut weak = laser("outdoors");
    if let Some(plate) = &mut weak.laser {
        plate.power = 0.4;
        plate.enclosed = true;
    }
    let list = cautions(&weak).join(" ");
    assert!(
        list.contains("0.4 W") && list.contains("eyewear") && list.contains("enclosure"),
        "{list}"
    );
    assert!(cautions(&laser("outdoors")).iter().any(|c| c.contains("450 nm")));
}
