//! The fair organ: every kind of part, from the look over to each machine's own files.

use super::{bench, edit, example, files, run};
use std::collections::BTreeSet;

#[test]
fn the_full_set_goes_to_cut_files() {
    let room = bench();
    let job = example("full-set", room.path());
    let checked = run(&job, &["check"]);
    assert_eq!(checked.code, 0, "{}", checked.err);
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}", laid.err);
    assert!(laid.out.contains("1093 of 1093 placed and checked"), "{}", laid.out);
    let cut = run(&job, &["cut", "lay-1"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    let written: BTreeSet<String> = files(&job.join("out/lay-1"))
        .into_iter()
        .map(|(name, _)| name)
        .filter(|name| {
            let cut = name.ends_with(".svg") || name.ends_with(".dxf");
            cut && !name.contains("picture")
        })
        .collect();
    let mut wanted = BTreeSet::new();
    for sheet in ["H-3", "C-1", "C-2", "C-3", "L-1", "L-2", "L-3", "L-4"] {
        wanted.extend([format!("{sheet}-laser.svg"), format!("{sheet}-laser.dxf")]);
    }
    for sheet in ["H-1", "H-2", "L-5", "L-6"] {
        wanted.extend([format!("{sheet}-knife.svg"), format!("{sheet}-knife.dxf")]);
    }
    assert_eq!(written, wanted);
}

#[test]
fn a_smaller_bed_is_refused_with_the_first_piece_outside() {
    let room = bench();
    let job = example("full-set", room.path());
    edit(
        &job.join("machines/wide-laser.toml"),
        "width         = \"1900 mm\"",
        "width         = \"1200 mm\"",
    );
    edit(
        &job.join("machines/wide-laser.toml"),
        "depth         = \"1700 mm\"",
        "depth         = \"1200 mm\"",
    );
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}", laid.err);
    let cut = run(&job, &["cut", "lay-1"]);
    assert_eq!(cut.code, 1, "{}", cut.err);
    assert!(cut.err.contains("error[E33]"), "{}", cut.err);
    let told = cut.err.lines().find(|line| line.contains("error[E33]")).unwrap();
    assert!(told.contains("H-3") && told.contains(':'), "{told}");
    let left: Vec<String> = files(&job.join("out/lay-1"))
        .into_iter()
        .map(|(name, _)| name)
        .filter(|name| name.contains("-laser") || name.contains("-knife"))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn a_companion_is_asked_for_like_any_piece() {
    let room = bench();
    let job = example("full-set", room.path());
    let card = run(&job, &["why", "pump:1/card-3"]);
    assert_eq!(card.code, 0, "{}", card.err);
    assert!(card.out.contains("sharp tip cut off"), "{}", card.out);
    assert!(!card.out.contains("card-1"), "{}", card.out);
    let all = run(&job, &["why", "pump"]);
    for name in ["pump 1/side-1", "pump 1/end", "pump 1/card-6", "pump 1/gusset-2", "pump 1/hinge"]
    {
        assert!(all.out.contains(name), "{name}: {}", all.out);
    }
    let none = run(&job, &["why", "pump:1/card-9"]);
    assert_eq!(none.code, 1);
}
