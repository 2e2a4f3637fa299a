//! What a sound job comes to.

use super::faults::base;
use super::*;
use crate::material::{Face, Sort, Tannage};
use crate::part::{Grain, Positions, Spares, Value};
use crate::sheet::SheetKind;
use crate::units::Unit;
use std::fmt::Write as _;

fn sound(memory: &Memory) -> crate::job::Job {
    let (job, faults) = memory.read();
    assert_eq!(faults.iter().map(told).collect::<Vec<_>>(), Vec::<String>::new());
    job.unwrap()
}

fn only_warned(memory: &Memory) -> crate::job::Job {
    let (job, faults) = memory.read();
    job.unwrap_or_else(|| panic!("{:?}", faults.iter().map(told).collect::<Vec<_>>()))
}

#[test]
fn the_starter_reads_without_a_fault() {
    let job = sound(&sample());
    assert_eq!(job.title, "sample");
    assert_eq!(
        (job.parts.len(), job.sheets.len(), job.machines.len(), job.materials.len()),
        (2, 2, 1, 2)
    );
    let pouch = &job.parts[0];
    assert_eq!(pouch.positions, Positions::Numbered((1..=12).collect()));
    assert_eq!(pouch.spares, Spares { share: 0.1, least: 1 });
    assert_eq!(pouch.face, Some(Face::Flesh));
    let well = |n: usize| {
        let measures = &pouch.measures[n - 1];
        let place = measures.place_of("well");
        (measures.length("well").unwrap().text().to_owned(), place.file.to_string(), place.line)
    };
    assert_eq!(well(7), ("29.2 mm".to_owned(), "pouches.csv".to_owned(), 4));
    assert_eq!(well(8), ("1 1/8 in".to_owned(), "job.toml".to_owned(), 44));
    // The machine's short name leads to its profile, and both names find it.
    assert_eq!(pouch.cut_with, "drag-knife-small");
    assert_eq!(job.machine("knife"), job.machine("drag-knife-small"));
    let paths: Vec<&str> = job.inputs.iter().map(|i| i.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "job.toml",
            "machines/drag-knife-small.toml",
            "materials/hinge-cloth.toml",
            "materials/pouch-leather.toml",
            "pouches.csv"
        ]
    );
    assert_eq!(job.inputs[4].bytes, sample().job["pouches.csv"]);
    // Warnings of the sizes come with the sizes: there are none of those either.
    for part in &job.parts {
        assert!(part.sizes().iter().all(|s| s.developed.faults.is_empty()), "{}", part.name);
    }
}

#[test]
fn a_title_never_breaks_the_starter() {
    for name in ["x\"]\n[evil]", "\\", "", "é ½", "]]>", "a\tb"] {
        let job = sound(&Memory::of(crate::job::starter(name)));
        assert!(!job.title.contains(['"', '\n', '\\']), "{}", job.title);
    }
}

#[test]
fn every_built_in_profile_reads() {
    for (path, text) in crate::job::builtin::PROFILES {
        let name = path.split(['/', '.']).nth(1).unwrap();
        let mut memory = base();
        let job = memory.text("job.toml");
        let job = if path.starts_with("machines/") {
            job.replace(
                "knife = \"drag-knife\"",
                &format!("knife = \"drag-knife\"\nother = \"{name}\""),
            )
        } else {
            job + &format!(
                "\n[[leaf]]\nid = \"L\"\nmaterial = \"{name}\"\nwidth = \"9 in\"\nlength = \"9 in\"\n"
            )
        };
        memory = memory.with("job.toml", job);
        let (_, faults) = memory.read();
        let wrong: Vec<String> =
            faults.iter().map(told).filter(|t| !t.contains("needs `up`")).collect();
        assert_eq!(wrong, Vec::<String>::new(), "{path}");
        assert!(text.contains("source"), "{path}");
    }
}

#[test]
fn the_users_own_profile_goes_before_the_built_in_and_after_the_jobs() {
    let profile = |title: &str| {
        crate::job::builtin::profile("machines/drag-knife.toml")
            .unwrap()
            .replace("drag knife, large bed", title)
            .into_bytes()
    };
    assert_eq!(sound(&base()).machines["drag-knife"].title, "drag knife, large bed");
    let mut memory = base();
    memory.own.insert("machines/drag-knife.toml".to_owned(), profile("mine"));
    let job = sound(&memory);
    assert_eq!(job.machines["drag-knife"].title, "mine");
    assert_eq!(&*job.machines["drag-knife"].place.file, "own profile machines/drag-knife.toml");
    let job = sound(&memory.with("machines/drag-knife.toml", profile("the job's")));
    assert_eq!(job.machines["drag-knife"].title, "the job's");
}

#[test]
fn profiles_give_their_figures() {
    let material = "[material]\nname = \"kid\"\nsort = \"leather\"\nthickness = [\"1 oz\", \"16 thou\"]\n\
                    tannage = \"vegetable\"\nsalvaged = true\ndata-sheet = \"maker, 2 May 2025\"\nsource = \"coupon\"\n\
                    [stretch]\nalong = \"2 %\"\nacross = \"-0.5%\"\nsource = \"Assumed\"\n\
                    [[cut]]\non = \"knife\"\nkerf-x = \"0.2 mm\"\nkerf-y = \"0.1 mm\"\ngap = \"1 mm\"\nedge = \"5 mm\"\nsource = \"coupon\"\n\
                    [[cut]]\non = \"drag-knife\"\nkerf = \"0.1 mm\"\ngap = \"2 mm\"\nedge = \"4 mm\"\nleast-web = \"3 mm\"\nsource = \"coupon\"\n";
    let job = only_warned(&base().with("materials/pouch-leather.toml", material));
    let kid = &job.materials["pouch-leather"];
    assert_eq!(
        (kid.title.as_str(), kid.sort, kid.tannage),
        ("kid", Sort::Leather, Some(Tannage::Vegetable))
    );
    assert!(kid.salvaged && kid.data_sheet.is_some());
    let stretch = kid.stretch.as_ref().unwrap();
    assert!((stretch.along - 0.02).abs() < 1e-12 && (stretch.across + 0.005).abs() < 1e-12);
    assert!(stretch.source.is_assumed() && !kid.source.is_assumed());
    // 1 oz is 1/64 in, common practice; the mean with 16 thou.
    let thickness = kid.thickness.as_ref().unwrap().mm();
    assert!((thickness - (0.396875 + 0.4064) / 2.0).abs() < 1e-12, "{thickness}");
    let by_process = kid.setting("other", "knife").unwrap();
    assert!((by_process.least_web - 0.6).abs() < 1e-12, "three kerfs");
    let by_name = kid.setting("drag-knife", "knife").unwrap();
    assert!((by_name.least_web - 3.0).abs() < 1e-12 && (by_name.gap - 2.0).abs() < 1e-12);
}

#[test]
fn laser_plates_are_read_in_their_units() {
    let profile = crate::job::builtin::profile("machines/diode-laser.toml").unwrap();
    let profile =
        profile.replace("450 nm", "10.6 um").replace("10 W", "5500 mW").replace("= \"4\"", "= 4");
    let job = base()
        .text("job.toml")
        .replace("\"drag-knife\"", "\"drag-knife\"\nlaser = \"diode-laser\"");
    let colour = "\n[colour]\nEDGES = \"#D55E00\"\nHOLES = \"5\"\n";
    let memory = base().with("job.toml", job).with("machines/diode-laser.toml", profile + colour);
    let job = sound(&memory);
    let plate = job.machines["diode-laser"].laser.clone().unwrap();
    assert!((plate.wavelength - 10600.0).abs() < 1e-9 && (plate.power - 5.5).abs() < 1e-12);
    assert_eq!(
        (plate.class.as_str(), plate.enclosed, plate.extraction.as_str()),
        ("4", false, "none")
    );
    assert_eq!(job.machines["diode-laser"].colours.len(), 2);
}

#[test]
fn outline_files_give_sheet_and_holes() {
    let old = base().text("job.toml");
    let from = old.find("corners").unwrap();
    let to = from + old[from..].find('\n').unwrap();
    let job = format!(
        "{}outline = \"outlines/h1.txt\"\noutline-unit = \"in\"{}",
        &old[..from],
        &old[to..]
    );
    let memory =
        base().with("job.toml", job).with("outlines/h1.txt", "11 10 1\n10 10 9\n7 7 0.5\n");
    let job = sound(&memory);
    let sheet = &job.sheets[0];
    assert_eq!(sheet.outline.as_circle().map(|(_, r)| r), Some(9.0 * 25.4));
    assert_eq!(sheet.flaws.iter().map(|f| f.why.as_str()).collect::<Vec<_>>(), ["hole", "hole"]);
    assert!(job.inputs.iter().any(|i| i.path == "outlines/h1.txt"));
}

#[test]
fn zones_and_readings_and_what_a_part_takes_reach_the_lay() {
    let job = base()
        .text("job.toml")
        .replace(
            "[[part]]",
            "[[hide.zone]]\ngrade = 3\nwhy = \"flank\"\nat = [\"100 mm\", \"100 mm\"]\ndiameter = \"80 mm\"\n\
             [[hide.reading]]\nat = [\"10 mm\", \"20 mm\"]\nthickness = \"35 thou\"\n\n[[part]]",
        )
        .replace("\"0 mm\"", "\"-50 mm\"")
        + "grade = 2\ngrain = \"along length\"\ngrain-within = 12.5\n\
           from-thickness = [\"34 thou\", \"36 thou\"]\n";
    let job = sound(&base().with("job.toml", job));
    let sheet = &job.sheets[0];
    assert_eq!((sheet.grade, sheet.zones[0].grade, sheet.zones[0].why.as_str()), (1, 3, "flank"));
    // The sheet began at -50 mm; all of it was moved.
    let (centre, _) = sheet.zones[0].outline.as_circle().unwrap();
    assert_eq!((centre, sheet.readings[0].at), (Point::new(150.0, 150.0), Point::new(60.0, 70.0)));
    assert!((sheet.readings[0].thickness.mm() - 0.889).abs() < 1e-9);
    assert!((job.parts[0].grain_within - 12.5).abs() < 1e-12);
    let (worked, _) = crate::job::work_out(&job);
    let batches = crate::job::batches(&job, &worked).unwrap();
    let needs = batches[0].group.pieces[0].needs;
    assert_eq!((needs.grade, needs.together), (Some(2), false));
    assert!(needs.takes_thickness(0.889) && !needs.takes_thickness(0.95));
}

#[test]
fn the_facings_of_a_valve_work_together() {
    let facing = |more: &str| {
        let text = base().text("job.toml");
        let from = text.find("kind = ").unwrap();
        let to = text.find("material = \"pouch-leather\"\ncut-with").unwrap();
        let keys = "kind = \"facing\"\ncount = 2\nseat = \"1/2 in\"\nland = \"1/8 in\"\n";
        format!("{}{keys}{more}{}", &text[..from], &text[to..])
    };
    for (more, together) in [("", true), ("members = \"outer\"\n", false)] {
        let job = only_warned(&base().with("job.toml", facing(more)));
        let (worked, _) = crate::job::work_out(&job);
        let batches = crate::job::batches(&job, &worked).unwrap();
        assert!(batches[0].group.pieces.iter().all(|p| p.needs.together == together), "{more}");
    }
}

#[test]
fn sheets_lie_as_they_are_described() {
    let job = base()
        .text("job.toml")
        .replace("grain = 0", "grain-line = [[\"0 mm\", \"-5 mm\"], [\"100 mm\", \"95 mm\"]]")
        + "\n[[cloth]]\nid = \"C\"\nmaterial = \"hinge-cloth\"\nwidth = \"36 in\"\nlength = \"1 yd\"\nselvedge = \"1/2 in\"\n\
           warp = \"across\"\nunit = \"mm\"\n[[cloth.flaw]]\nwhy = \"oil\"\ncorners = [[100, 100], [140, 100], [120, 150.5]]\n\
           \n[[leaf]]\nid = \"L\"\nmaterial = \"thin-card\"\nwidth = \"200 mm\"\nlength = \"300 mm\"\nedge = \"2 mm\"\ncut-with = \"knife\"\n";
    let job = sound(&base().with("job.toml", job));
    let [hide, cloth, leaf] = &job.sheets[..] else { panic!() };
    assert!((hide.grain - 45.0).abs() < 1e-9);
    assert_eq!((cloth.kind, cloth.flaws.len(), cloth.generation), (SheetKind::Cloth, 3, 1));
    assert!((cloth.grain - 90.0).abs() < 1e-9);
    assert_eq!(cloth.flaws[2].why, "oil");
    assert!((cloth.flaws[2].outline.area() - 1010.0).abs() < 1e-9);
    let bounds = leaf.outline.bounds();
    assert!((bounds.width() - 300.0).abs() < 1e-9 && (bounds.height() - 200.0).abs() < 1e-9);
    assert_eq!((leaf.edge, leaf.cut_with.as_deref()), (Some(2.0), Some("drag-knife")));
}

const GASKETS: &str = "
[[part]]
name = \"lower\"
kind = \"gasket\"
positions = \"1-2\"
table = \"g.csv\"
length = \"8 in\"
width = \"2 in\"
unit = \"in\"
material = \"pouch-leather\"
cut-with = \"knife\"
face = \"flesh\"
grain = \"across length\"
stretch = [\"1 %\", \"2 %\"]
spares = \"none\"
[[part.row]]
holes = 4
first = [1, 1]
pitch = 2
diameter = \"#30 drill\"
[[part.hole]]
at = [\"10 mm\", \"10 mm\"]
diameter = \"5 mm\"
unit = \"mm\"

[[part]]
name = \"upper\"
kind = \"gasket\"
positions = \"1-2\"
mate-of = \"lower\"
width = \"2.5 in\"
material = \"pouch-leather\"
cut-with = \"knife\"
";

#[test]
fn mates_take_what_they_do_not_say_themselves() {
    let job = base().text("job.toml") + GASKETS;
    let job = only_warned(&base().with("job.toml", job).with("g.csv", "position,length\n2,9\n"));
    let (lower, upper) = (&job.parts[1], &job.parts[2]);
    assert_eq!((lower.grain, lower.mate_of.as_deref()), (Grain::Across, None));
    let stretch = lower.stretch.as_ref().unwrap();
    assert!((stretch.along - 0.01).abs() < 1e-12 && (stretch.across - 0.02).abs() < 1e-12);
    assert_eq!(upper.mate_of.as_deref(), Some("lower"));
    let text = |part: &crate::part::Part, n: usize, key| {
        part.measures[n].length(key).unwrap().text().to_owned()
    };
    assert_eq!([text(lower, 0, "length"), text(lower, 1, "length")], ["8 in", "9 in"]);
    assert_eq!([text(upper, 0, "length"), text(upper, 1, "length")], ["8 in", "9 in"]);
    assert_eq!([text(lower, 0, "width"), text(upper, 0, "width")], ["2 in", "2.5 in"]);
    let rows = upper.measures[0].tables("row");
    assert_eq!((rows[0].count("holes"), rows[0].point("first")), (Some(4), Some((25.4, 25.4))));
    // 0.1285 in: ASME B94.11M, number drill 30.
    assert!((rows[0].mm("diameter").unwrap() - 0.1285 * 25.4).abs() < 1e-9);
    assert_eq!(
        upper.measures[0].tables("hole")[0].place.line,
        lower.measures[0].tables("hole")[0].place.line
    );
    // A turned board is drawn from its other side.
    assert!(upper.sizes()[0].developed.members[0].shape.holes().len() >= 5);
}

#[test]
fn a_materials_stretch_is_taken_over() {
    let profile = crate::job::builtin::profile("materials/pouch-leather.toml").unwrap().to_owned();
    let stretch = "\n[stretch]\nalong = \"2 %\"\nacross = \"5 %\"\nsource = \"coupon\"\n";
    let job = base().text("job.toml").replace("land =", "stretch = \"material\"\nland =");
    let job = sound(
        &base().with("job.toml", job).with("materials/pouch-leather.toml", profile + stretch),
    );
    let stretch = job.parts[0].stretch.as_ref().unwrap();
    assert!((stretch.along - 0.02).abs() < 1e-12 && (stretch.across - 0.05).abs() < 1e-12);
}

#[test]
fn a_laminate_is_the_sum_of_its_layers() {
    let job = base().text("job.toml").replace("\"pouch-leather\"", "\"leather-on-felt\"");
    let job = sound(&base().with("job.toml", job.as_str()));
    let both = &job.materials["leather-on-felt"];
    // 0.035 in of leather, 3/32 in of felt, 2 thou of glue, by hand: 0.889 + 2.38125 + 0.0508 mm.
    assert!((both.thickness.as_ref().unwrap().mm() - 3.321).abs() < 1e-9);
    let layers: Vec<&str> = both.layers.iter().map(|m| m.key.as_str()).collect();
    assert_eq!((both.sort, layers), (Sort::Laminate, vec!["valve-leather", "wool-felt"]));
    assert_eq!((both.sides(), both.is_woven()), (&[Face::Grain, Face::Flesh][..], false));
    // A web is at least as wide as the stuff is thick.
    assert!((both.cuts[0].least_web - 3.321).abs() < 1e-9);
    assert!(!job.materials.contains_key("wool-felt"), "a layer is no material of the job");
    let paths: Vec<&str> = job.inputs.iter().map(|i| i.path.as_str()).collect();
    assert!(paths.contains(&"built-in materials/wool-felt.toml"), "{paths:?}");
    // Three layers have two lines of glue; felt outside, cloth below: woven, and with the cloth's sides.
    let three = "[material]\nsort = \"laminate\"\nlayers = [\"wool-felt\", \"thin-card\", \"bellows-cloth\"]\n\
                 glue = \"0.1 mm\"\nsource = \"coupon\"\n";
    let leaf = "\n[[leaf]]\nid = \"L\"\nmaterial = \"three\"\nup = \"cloth\"\nwidth = \"9 in\"\nlength = \"9 in\"\n";
    let job = base().text("job.toml") + leaf;
    let job = sound(&base().with("job.toml", job).with("materials/three.toml", three));
    let three = &job.materials["three"];
    assert_eq!((three.sides(), three.is_woven()), (&[Face::Cloth, Face::Rubber][..], true));
    let sum = (3.0 / 32.0 + 0.020 + 0.010) * 25.4 + 0.2;
    assert!((three.thickness.as_ref().unwrap().mm() - sum).abs() < 6e-4);
}

#[test]
fn figures_for_wet_glue_that_are_assumed_are_listed() {
    let profile = crate::job::builtin::profile("materials/pouch-leather.toml").unwrap().to_owned();
    let wet = "\n[wet-glue]\nalong = \"1 %\"\nacross = \"-1 %\"\nsource = \"assumed\"\n";
    let job = base().text("job.toml").replace("land =", "wet-glue = \"material\"\nland =");
    let memory = base().with("job.toml", job).with("materials/pouch-leather.toml", profile + wet);
    let job = sound(&memory);
    let wet = job.parts[0].wet.as_ref().unwrap();
    assert!((wet.along - 0.01).abs() < 1e-12 && (wet.across + 0.01).abs() < 1e-12);
    assert!(crate::job::assumed(&job).contains(&"wet-glue of pouch-leather".to_owned()));
}

#[test]
fn positions_and_spares_read_as_people_write_them() {
    use crate::job::words::{positions, runs, spares};
    let read = |text| positions(text, Some(12)).unwrap();
    assert_eq!(read("1-3, 7,10 - 11"), [1, 2, 3, 7, 10, 11]);
    assert_eq!(read("All").len(), 12);
    assert!(positions("7-13", Some(12)).is_err() && positions("7-13", None).is_ok());
    assert_eq!(read("7, 2–4"), [2, 3, 4, 7]);
    for bad in [
        "",
        "0",
        "1-",
        "-3",
        "1--3",
        "+1",
        "1.5",
        "one",
        "3-1",
        "2,2",
        "1-10001",
        "9999999999",
        "1;2",
    ] {
        assert!(positions(bad, Some(5)).is_err(), "{bad}");
    }
    assert_eq!(runs(&[11, 3, 7, 8, 9, 12]), "3, 7-9, 11, 12");
    let odd: Vec<u32> = (0..20).map(|n| 2 * n + 1).collect();
    assert_eq!(runs(&odd), "1, 3, 5, 7, 9, 11, 13, 15, …");
    assert_eq!(crate::job::places(&odd).matches(',').count(), 19);
    assert_eq!(crate::job::places(&[]), "");
    let spare = |text| spares(text).unwrap();
    for (text, share, least) in [
        ("none", 0.0, 0),
        ("6", 0.0, 6),
        ("1 in 10", 0.1, 0),
        ("1 in 10, at least 2", 0.1, 2),
        ("5 %, at least 1", 0.05, 1),
        ("5%", 0.05, 0),
        ("6, at least 2", 0.0, 6),
        ("at least 2", 0.0, 2),
        ("NONE", 0.0, 0),
    ] {
        assert_eq!(spare(text), Spares { share, least }, "{text}");
    }
    for bad in [
        "",
        "some",
        "-1",
        "1 in 0",
        "11 in 10",
        "200 %",
        "5",
        "1 in 10 at least 2",
        "1,5 %",
        "2 %, at most 3",
        "99999",
    ] {
        assert_eq!(spares(bad).is_err(), bad != "5", "{bad}");
    }
    assert_eq!(spare("1 in 10, at least 2").of(54), 6);
}

/// No key of a kind may be one that every part has.
#[test]
fn keys_of_kinds_do_not_hide_keys_of_parts() {
    let common = [
        "name",
        "kind",
        "positions",
        "count",
        "table",
        "material",
        "cut-with",
        "face",
        "grain",
        "grain-within",
        "grade",
        "stretch",
        "wet-glue",
        "from-thickness",
        "spares",
        "mate-of",
        "unit",
        "note",
        "position",
    ];
    for card in crate::part::KINDS {
        for key in card.keys {
            assert!(!common.contains(&key.name), "{}: {}", card.name, key.name);
        }
    }
}

/// Every key's example is what its key takes: the text that a fault offers must be good.
#[test]
fn examples_of_keys_can_be_typed() {
    use crate::part::{Key, Takes};
    fn walk(keys: &'static [Key], path: &str) {
        for key in keys {
            let told = crate::job::figures::example(key);
            match key.takes {
                Takes::Tables(inner) | Takes::Rows(inner) => {
                    walk(inner, key.name);
                    continue;
                }
                Takes::Outline => continue, // a file's name
                _ => {}
            }
            let text = format!("{} = {told}\n", key.name);
            let folder = base();
            let mut sources = Sources::default();
            let desk = crate::job::desk::Desk::new(&folder, &mut sources);
            let heap = crate::job::document::Heap::default();
            let document = crate::job::document::Document::new(&std::sync::Arc::from("x"), &text);
            crate::job::reader::walk(&document, &heap, "it", |mut top| {
                let taken = crate::job::figures::take(&desk, &mut top, keys);
                assert!(taken.measures.has(key.name), "{path} {text}");
                if let Some(Value::Lengths(list)) = taken.measures.iter().next().map(|(_, v, _)| v)
                {
                    assert!(!list.is_empty());
                }
                top.finish("key");
            });
            assert!(heap.finish().is_empty(), "{path} {text}");
        }
    }
    for card in crate::part::KINDS {
        walk(card.keys, card.name);
        for companion in card.companions {
            walk(companion.keys, companion.name);
        }
    }
    assert_eq!(Unit::parse_name("in"), Some(Unit::Inch));
}

#[test]
fn ten_thousand_pieces_are_read() {
    let job = base().text("job.toml").replace("positions = \"1-12\"", "positions = \"1-10000\"");
    let job = job.replace("notes = 12", "notes = 10000");
    let mut table = "position,well\n".to_owned();
    for n in 1..=10_000 {
        let _ = writeln!(table, "{n},1.{:04} in", 1000 + n % 100);
    }
    let job = only_warned(&base().with("job.toml", job).with("p.csv", table));
    assert_eq!(job.parts[0].measures.len(), 10_000);
    assert_eq!(job.parts[0].sizes().len(), 100);
}

#[test]
fn sheets_of_the_stock_record_are_sheets_like_any_other() {
    let record = "[[remnant]]\nid = \"R2\"\nfrom = \"H0\"\nadded = \"2026-03-14\"\nmaterial = \"pouch-leather\"\n\
                  up = \"flesh\"\ngrain = 30\ngeneration = 4\nunit = \"mm\"\ncorners = [[10, 10], [210, 10], [10, 110]]\n\
                  [[hide]]\nid = \"H1\"\nmaterial = \"pouch-leather\"\nup = \"flesh\"\ngrain = 0\ngeneration = 2\n\
                  unit = \"mm\"\ncorners = [[0, 0], [500, 0], [500, 300], [0, 300]]\n\
                  [[remnant]]\nid = \"R1\"\nfrom = \"C0\"\nmaterial = \"hinge-cloth\"\ngrain = 0\n\
                  unit = \"mm\"\ncorners = [[0, 0], [500, 0], [500, 300]]\n";
    let named = base()
        .text("job.toml")
        .replace("title = \"trial\"", "title = \"trial\"\nstock = \"shop/stock.toml\"");
    let usual = only_warned(&base().with("out/stock.toml", record));
    let elsewhere = base().with("job.toml", named).with("shop/stock.toml", record);
    for (job, path) in [(usual, "out/stock.toml"), (only_warned(&elsewhere), "shop/stock.toml")] {
        let ids: Vec<&str> = job.sheets.iter().map(|s| s.id.as_str()).collect();
        assert_eq!(ids, ["H1", "R2", "R1"]);
        // The record's hide is the one that counts; what it says of a sheet stands with the sheet in a lay.
        assert_eq!(job.sheets[0].generation, 2);
        assert!((job.sheets[0].area() - 150_000.0).abs() < 1e-6);
        assert!(job.inputs.iter().all(|i| i.path != path));
        assert!(job.record.is_some_and(|r| r.path == path && r.bytes == record.as_bytes()));
        assert_eq!((job.stock.as_str(), &job.ruled[..]), (path, &["H1".to_owned()][..]));
        let remnant = &job.sheets[1];
        assert_eq!((remnant.from.as_deref(), remnant.generation), (Some("H0"), 4));
        assert_eq!(remnant.added.unwrap().to_string(), "2026-03-14");
        assert_eq!(&*remnant.place.file, path);
        // A sheet was to begin with what its material is.
        assert_eq!((remnant.kind, job.sheets[2].kind), (SheetKind::Hide, SheetKind::Cloth));
    }
    assert_eq!(sound(&base()).sheets.len(), 1);
}

#[test]
fn remnants_come_first_the_oldest_of_them_before_all() {
    let remnant = |id: &str, added: &str| {
        format!(
            "[[remnant]]\nid = \"{id}\"\nfrom = \"H0\"\n{added}\nmaterial = \"pouch-leather\"\nup = \"flesh\"\ngrain = 0\n\
             unit = \"mm\"\ncorners = [[0, 0], [200, 0], [200, 100], [0, 100]]\n"
        )
    };
    let record = remnant("R1", "")
        + &remnant("R2", "added = 2026-03-14")
        + &remnant("R3", "added = \"2025-12-01\"");
    let job = only_warned(&base().with("out/stock.toml", record));
    let (worked, _) = crate::job::work_out(&job);
    let batches = crate::job::batches(&job, &worked).unwrap();
    let ids: Vec<&str> = batches[0].group.grounds.iter().map(|g| g.sheet.id.as_str()).collect();
    assert_eq!(ids, ["R3", "R2", "R1", "H1"]);
}
