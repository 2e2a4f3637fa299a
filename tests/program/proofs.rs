//! `prove`: files that were cut are proven, files that were changed are not.

use super::{answered, bench, run, tells, thistlewick};
use std::fs;

#[test]
fn what_was_cut_is_proven_and_what_was_changed_is_not() {
    let bench = bench();
    let job = thistlewick(bench.path());
    let laid = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(laid.code, 0, "{}{}", laid.out, laid.err);
    let safe = answered(&job);
    assert_eq!(safe.code, 0, "{}{}", safe.out, safe.err);
    for words in [&["cut"][..], &["cut", "--format", "dxf", "--dxf", "r12"]] {
        let cut = run(&job, words);
        assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    }
    let lay = job.join("out/lay-1");
    let mut seen = 0;
    for entry in fs::read_dir(&lay).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let is_cut = name.contains("-laser") || name.contains("-knife");
        if !is_cut || !(name.ends_with(".svg") || name.ends_with(".dxf")) {
            continue;
        }
        seen += 1;
        let proven = run(bench.path(), &["prove", &path.to_string_lossy()]);
        assert_eq!(proven.code, 0, "{name}\n{}{}", proven.out, proven.err);
        assert!(proven.out.contains("V10 not asked of a drawing"), "{}", proven.out);
        let text = fs::read_to_string(&path).unwrap();
        fs::write(&path, text.replacen("generation: 1", "generation: 2", 1)).unwrap();
        let stale = run(bench.path(), &["prove", "--json", &path.to_string_lossy()]);
        assert_eq!(stale.code, 5, "{name}\n{}{}", stale.out, stale.err);
        assert!(stale.out.contains("\"proven\": false"), "{}", stale.out);
        tells(&stale, "E73");
        fs::write(&path, text).unwrap();
    }
    assert!(seen >= 9, "{seen} files");
    let none = run(&job, &["prove", "out/lay-1/other-knife.svg"]);
    assert_eq!(none.code, 1, "{}{}", none.out, none.err);
}
