use super::*;
use crate::fault::Place;
use crate::machine::LaserPlate;
use crate::material::{CutSetting, Source};
use std::collections::BTreeMap;
use std::sync::Arc;

fn place() -> Place {
    Place::head(&Arc::from("x.toml"))
}

pub(super) fn source() -> Source {
    Source { text: "assumed".into(), place: place() }
}

pub(super) fn material(sort: Sort) -> Material {
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
        buy: None,
        source: source(),
        place: place(),
    }
}

pub(super) fn laser(extraction: &str) -> Machine {
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
            beam_word: None,
            full_power_word: None,
            divergence: None,
            beam_diameter: None,
            interlock: None,
        }),
        motion: None,
        knife: None,
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

mod list {
    //! The list, its answers and its record, as values.

    use super::super::ask::Ask;
    use super::super::checklist::{HEAD, Kind, On, Phase, Share, Task};
    use super::super::items::ITEMS;
    use super::super::record::{Answers, Bound, Given, Record, accept, judge_person};
    use super::*;
    use crate::units::Day;
    use std::collections::BTreeSet;

    fn task<'a>(machine: &'a Machine, material: &'a Material) -> Task<'a> {
        Task {
            lay: "lay-3",
            machine,
            cuts: vec![Share { material, kerf: 0.2, length: 12_000.0, setting: None }],
            sheets: vec!["H-1".to_owned(), "H-2".to_owned()],
            files: 2,
            pieces: 17,
            assumed: vec!["kerf of m on laser".to_owned()],
            short_names: vec!["burner".to_owned()],
        }
    }

    fn bound(task: &Task<'_>, day: &str) -> Bound {
        let materials = [("m".to_owned(), "cloth".to_owned())].into();
        Bound::new(task, "machine".into(), materials, "motions".into(), Day::parse(day).unwrap())
    }

    fn answers(machine: &str, list: &[(&str, &str)]) -> Answers {
        let given = |text: &str| Given { text: text.to_owned(), place: None };
        Answers {
            machine: given(machine),
            person: given("Ada Example"),
            given: list.iter().map(|(id, text)| ((*id).to_owned(), given(text))).collect(),
            place: None,
        }
    }

    const SOUND: &[(&str, &str)] = &[
        ("papers", "m"),
        ("sheets", "H-2, H-1"),
        ("stop-control", "4"),
        ("eyewear", "450 nm, OD 6"),
        ("room", "Ada Example"),
        ("extraction", "outdoors"),
        ("fire", "Water mist"),
        ("flat", "400 x 400"),
        ("dry-run", "2"),
        ("stay", "17"),
        ("glow", "450 nm, 10 W"),
        ("opening", "laser"),
        ("fire-watch", "45"),
    ];

    fn codes(task: &Task<'_>, answers: &Answers) -> Vec<&'static str> {
        match accept(task, answers, bound(task, "2026-03-14")) {
            Ok(_) => Vec::new(),
            Err(faults) => faults.iter().map(|f| f.code).collect(),
        }
    }

    #[test]
    fn every_item_is_whole_and_once() {
        let ids: BTreeSet<&str> = ITEMS.iter().map(|i| i.id).collect();
        assert_eq!(ids.len(), ITEMS.len());
        for item in ITEMS {
            assert!(item.text.len() > 40 && item.text.ends_with('.'), "{}", item.id);
            assert!(!item.source.is_empty(), "{}", item.id);
            let stop = item.kind == Kind::Stop;
            assert!(!stop || item.phase == Phase::Before, "{}: a stop comes first", item.id);
        }
        let asked = ITEMS.iter().filter(|i| matches!(i.kind, Kind::Asked(_)) && i.on != On::Knife);
        assert!(asked.count() >= 13);
        for word in ["memory aid", "Local codes", "machine's own papers", "data sheet", "qualified"]
        {
            assert!(HEAD.contains(word), "{word}");
        }
        let watch = ITEMS.iter().find(|i| i.id == "fire-watch").unwrap();
        assert!(watch.text.contains("at least 30 minutes"));
    }

    #[test]
    fn each_machine_has_its_own_list() {
        let cloth = material(Sort::Cloth);
        let open = laser("outdoors");
        let mut closed = laser("filter");
        closed.laser = closed.laser.map(|l| LaserPlate { class: "1".into(), enclosed: true, ..l });
        let mut knife = laser("outdoors");
        knife.process = Process::Knife;
        knife.laser = None;
        let has = |machine: &Machine, id: &str| {
            task(machine, &cloth).items().iter().any(|item| item.id == id)
        };
        for (id, wanted) in [
            ("eyewear", [true, false, false]),
            ("housing", [false, true, false]),
            ("fire-watch", [true, true, false]),
            ("halogens", [true, true, false]),
            ("blade", [false, false, true]),
            ("sheets", [true, true, true]),
        ] {
            assert_eq!([&open, &closed, &knife].map(|m| has(m, id)), wanted, "{id}");
        }
        // A housing that is not class 1, and a class 1 that is not closed in, both count as open.
        for (class, enclosed) in [("4", true), ("1", false), ("3B", true)] {
            let mut odd = laser("outdoors");
            odd.laser = odd.laser.map(|l| LaserPlate { class: class.into(), enclosed, ..l });
            assert!(has(&odd, "eyewear"), "{class} {enclosed}");
        }
    }

    #[test]
    fn the_list_tells_what_the_machine_is_set_to() {
        let (machine, mut material) = (laser("duct"), material(Sort::Cloth));
        material.cuts.push(CutSetting {
            on: "laser".into(),
            kerf_x: 0.2,
            kerf_y: 0.2,
            gap: 0.5,
            edge: 3.0,
            least_web: 1.0,
            power: Some(0.8),
            feed: Some(5.0),
            mark_power: None,
            mark_feed: None,
            passes: 2,
            tabs: 0.0,
            tabs_on_soft: false,
            heat: None,
            char_trim: 0.0,
            source: source(),
            place: place(),
        });
        let mut task = task(&machine, &material);
        assert!(task.text().contains("set for m: nothing on record"));
        task.cuts[0].setting = material.cuts.first();
        let text = task.text();
        assert!(
            text.contains("power 80 %, feed 5 mm/s, passes 2 (source: assumed: starting guesses)"),
            "{text}"
        );
        assert!(text.contains("interlock: none on record; class 4 as it stands"), "{text}");
    }

    #[test]
    fn answers_are_values_of_the_job() {
        let (machine, cloth) = (laser("outdoors"), material(Sort::Cloth));
        let task = task(&machine, &cloth);
        assert_eq!(codes(&task, &answers("laser", SOUND)), Vec::<&str>::new());
        assert_eq!(codes(&task, &answers("lasers", SOUND)), ["E48"]);
        for (id, wrong) in [
            ("papers", "m, n"),
            ("papers", "m, m"),
            ("papers", "y"),
            ("sheets", "H-1"),
            ("sheets", "H-1, H-1, H-2"),
            ("sheets", "H-1 H-2"),
            ("stop-control", "1"),
            ("stop-control", "III"),
            ("stop-control", "IIIb"),
            ("stop-control", "V"),
            ("eyewear", "450 nm"),
            ("eyewear", "450 nm, OD 5"),
            ("eyewear", "532 nm, OD 7"),
            ("eyewear", "450 nm, 7"),
            ("eyewear", "450 nm, OD -7"),
            ("room", "Bob Example"),
            ("extraction", "filter"),
            ("fire", "sand"),
            ("flat", "400 x 300"),
            ("flat", "400 x 400 in"),
            ("dry-run", "3"),
            ("stay", "17.5"),
            ("glow", "450 nm, 10 mW"),
            ("glow", "10 W"),
            ("opening", "a laser"),
            ("fire-watch", "29.9"),
            ("fire-watch", "45 seconds"),
            ("fire-watch", "-45"),
            ("fire-watch", "1.2.3"),
            ("fire-watch", "NaN"),
        ] {
            let mut list = answers("laser", SOUND);
            list.given.get_mut(id).unwrap().text = wrong.to_owned();
            assert_eq!(codes(&task, &list), ["E47"], "{id} = {wrong}");
        }
        assert_eq!(codes(&task, &answers("laser", &[])).len(), SOUND.len());
        for name in ["", "y", "Y", "yes", "OK", "1234", "a\nb"] {
            assert!(judge_person(name).is_err(), "{name}");
        }
    }

    #[test]
    fn an_answer_may_be_written_in_several_ways() {
        // Classes in both figures: 21 CFR 1040.10 and IEC 60825-1. CO2 is the formula of carbon dioxide.
        let mut machine = laser("outdoors");
        machine.title = "Long Burner, wide".to_owned();
        let (mut cloth, mut skin) = (material(Sort::Cloth), material(Sort::Leather));
        cloth.key = "twill-thin".to_owned();
        cloth.title = "rubber twill, thin".to_owned();
        skin.key = "gasket-leather".to_owned();
        skin.title = "leather for gaskets".to_owned();
        let mut both = task(&machine, &cloth);
        both.cuts.push(Share { material: &skin, ..both.cuts[0] });
        let mut sound = answers("burner", SOUND);
        for (id, right) in [
            ("papers", "Gasket leather, TWILL THIN"),
            ("papers", "rubber twill, thin, gasket-leather"),
            ("papers", "Leather for Gaskets,Rubber Twill, Thin"),
            ("stop-control", "IV"),
            ("stop-control", "Class 4"),
            ("stop-control", "class iv"),
            ("opening", "burner"),
            ("opening", "laser"),
            ("opening", "long burner, wide"),
            ("fire", "CO2"),
            ("fire", "Carbon-dioxide"),
        ] {
            sound.given.get_mut(id).unwrap().text = right.to_owned();
            let text = if id == "papers" { right } else { "twill-thin, gasket-leather" };
            sound.given.get_mut("papers").unwrap().text = text.to_owned();
            assert_eq!(codes(&both, &sound), Vec::<&str>::new(), "{id} = {right}");
        }
        for wrong in ["twill-thin", "twill-thin, gasket-leather, twill-thin", "thin, rubber twill"]
        {
            let mut list = sound.clone();
            list.given.get_mut("papers").unwrap().text = wrong.to_owned();
            assert_eq!(codes(&both, &list), ["E47"], "{wrong}");
        }
        // A title that both have names neither.
        let mut twin = skin.clone();
        twin.title.clone_from(&cloth.title);
        both.cuts[1].material = &twin;
        sound.given.get_mut("papers").unwrap().text =
            "rubber twill, thin, rubber twill, thin".into();
        assert_eq!(codes(&both, &sound), ["E47"]);
    }

    #[test]
    fn a_refusal_shows_the_form_and_no_answer() {
        let (machine, cloth) = (laser("outdoors"), material(Sort::Cloth));
        let task = task(&machine, &cloth);
        for (item, ask) in task.asked() {
            let text = Task::shown(item).replace("\n    ", " ");
            assert!(text.contains(&format!("such as: {}", ask.example())), "{}: {text}", item.id);
            if ask != Ask::Extinguisher {
                assert!(ask.judge(&task, "Ada Example", ask.example()).is_err(), "{}", item.id);
            }
        }
    }

    #[test]
    fn eyewear_follows_the_power() {
        // The table of densities of the sum itself: 5 W asks for 5.11, so 6; 40 W for 6.02, so 7; by `# Source` of the limit.
        let cloth = material(Sort::Cloth);
        for (power, least) in [(0.5, 5.0), (5.0, 6.0), (38.0, 6.0), (40.0, 7.0)] {
            let mut machine = laser("outdoors");
            machine.laser = machine.laser.map(|l| LaserPlate { power, ..l });
            let plate = machine.laser.as_ref().unwrap();
            let got = worksheet::least_density(plate).unwrap();
            assert!((got - least).abs() < 1e-9, "{power} W: {got}");
            let sheet = worksheet::worksheet(&task(&machine, &cloth));
            assert!(sheet.contains(&format!("whole {least:.0}\n")), "{sheet}");
        }
        // Where there is no sum the maker's figure is all there is, and it says so.
        let mut far = laser("outdoors");
        far.laser = far.laser.map(|l| LaserPlate { wavelength: 10_600.0, ..l });
        assert_eq!(worksheet::least_density(far.laser.as_ref().unwrap()), None);
        let sheet = worksheet::worksheet(&task(&far, &cloth));
        assert!(sheet.contains("no sum here for 10600 nm"), "{sheet}");
    }

    type Change = fn(&mut Bound);

    #[test]
    fn each_thing_that_changes_voids_the_record() {
        let (machine, cloth) = (laser("outdoors"), material(Sort::Cloth));
        let task = task(&machine, &cloth);
        let now = bound(&task, "2026-03-14");
        let record = accept(&task, &answers("laser", SOUND), now.clone()).unwrap();
        assert_eq!(record.void(&task, &now), Vec::<String>::new());
        let changes: [(&str, Change); 7] = [
            ("it is for lay-3", |b| b.lay = "lay-4".into()),
            ("it is for the machine laser", |b| b.machine = "other".into()),
            ("the machine's record has changed", |b| b.machine_record = "x".into()),
            ("a material's record has changed", |b| b.materials.clear()),
            ("the motions have changed", |b| b.motions = "x".into()),
            ("the list has changed", |b| b.list = "x".into()),
            ("it is of 2026-03-14, and today is 2026-03-15", |b| {
                b.day = Day::parse("2026-03-15").unwrap();
            }),
        ];
        for (why, change) in changes {
            let mut then = now.clone();
            change(&mut then);
            assert_eq!(record.void(&task, &then), [why]);
        }
        // A day earlier is another day too: a clock set back opens nothing.
        let back = bound(&task, "2026-03-13");
        assert_eq!(record.void(&task, &back).len(), 1);
        let hands: [fn(&mut Record); 3] = [
            |r| r.person = "Bob Example".into(),
            |r| r.seal.clear(),
            |r| {
                r.answers.remove("eyewear");
            },
        ];
        for change in hands {
            let mut other = record.clone();
            change(&mut other);
            assert_eq!(other.void(&task, &now), ["it was changed by hand"]);
        }
    }

    #[test]
    fn a_word_of_the_list_changes_its_hash() {
        let (machine, cloth) = (laser("outdoors"), material(Sort::Cloth));
        let one = task(&machine, &cloth);
        let list = bound(&one, "2026-03-14").list;
        assert!(one.text().contains("memory aid") && one.text().contains("kerf of m on laser"));
        for item in one.items() {
            let id = format!("[{}]", item.id);
            assert!(one.text().contains(&id), "{id}");
            let mut other = *item;
            other.text = "Nothing is asked.";
            assert_ne!(Task::shown(item), Task::shown(&other), "{id}: its text is shown");
        }
        let mut more = one.clone();
        more.pieces += 1;
        assert_ne!(bound(&more, "2026-03-14").list, list);
        more = one.clone();
        more.assumed.clear();
        assert_ne!(bound(&more, "2026-03-14").list, list);
    }
}
