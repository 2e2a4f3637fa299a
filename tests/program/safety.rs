//! The gate before a laser: what opens it, what voids it, and that nothing else does.

use super::{Ran, answered, bench, cut_example, edit, files, is_full, run, tells, thistlewick};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The chapel organ, laid.
fn laid(room: &Path) -> PathBuf {
    let job = thistlewick(room);
    let ran = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("next: pouchwork safety lay-1 --machine bench-laser"), "{}", ran.out);
    job
}

/// Cut files below `out`, of any machine.
fn cut_files(job: &Path) -> Vec<String> {
    files(&job.join("out"))
        .into_iter()
        .map(|(name, _)| name)
        .filter(|name| name.contains("-laser") || name.contains("-knife"))
        .filter(|name| !name.ends_with(".toml"))
        .collect()
}

fn record(job: &Path) -> PathBuf {
    job.join("out/lay-1/safety-bench-laser.toml")
}

fn held(job: &Path, ran: &Ran, why: &str) {
    assert_eq!(ran.code, 7, "{why}: {}{}", ran.out, ran.err);
    assert!(ran.err.contains("error[E45]") && ran.err.contains(why), "{why}: {}", ran.err);
    assert!(ran.err.contains("type: pouchwork safety lay-1 --machine laser"), "{}", ran.err);
    assert_eq!(cut_files(job), Vec::<String>::new(), "{why}");
}

#[test]
fn the_list_opens_the_gate_for_its_motions_alone() {
    let room = bench();
    let job = laid(room.path());
    held(&job, &run(&job, &["cut"]), "lay-1 has no safety record for it");
    let told = answered(&job);
    assert_eq!(told.code, 0, "{}", told.err);
    for word in [
        "memory aid",
        "Local codes",
        "[fire-watch]",
        "source: 29 CFR 1910.252",
        "at least 30 minutes",
        "optical density",
        "hydrogen cyanide",
        "from memory",
        "ours",
        "It proves nothing about the room",
    ] {
        assert!(told.out.contains(word), "{word}: {}", told.out);
    }
    assert!(record(&job).is_file());
    let cut = run(&job, &["cut"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    for (name, bytes) in files(&job.join("out")) {
        if name.ends_with(".svg") || name.ends_with(".dxf") {
            let text = String::from_utf8_lossy(&bytes);
            assert!(!text.contains("safety-") && !text.contains("Ada Example"), "{name}");
        }
    }
}

#[test]
fn the_knife_needs_no_record_and_has_a_list() {
    let room = bench();
    let job = laid(room.path());
    let cut = run(&job, &["cut", "--machine", "knife"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    assert!(!cut_files(&job).is_empty());
    assert!(!cut_files(&job).iter().any(|name| name.contains("-laser")), "{:?}", cut_files(&job));
    let list = run(&job, &["safety", "--machine", "knife", "--print"]);
    assert_eq!(list.code, 0, "{}", list.err);
    for word in ["[blade]", "[hold-down]", "signature: ____", "pouch kid: not to be burnt here"] {
        assert!(list.out.contains(word), "{word}: {}", list.out);
    }
    assert!(!list.out.contains("[eyewear]"), "{}", list.out);
    // What burning would give off concerns no knife, and what is assumed of the laser neither.
    for word in ["hydrogen cyanide", "chromium", "on laser", "bench-laser"] {
        assert!(!list.out.contains(word), "{word}: {}", list.out);
    }
    assert!(!record(&job).exists() && !job.join("out/lay-1/safety-bench-knife.toml").exists());
    let none = run(&job, &["safety", "--machine", "small-lathe", "--print"]);
    assert_eq!(none.code, 1, "{}", none.err);
    tells(&none, "E49");
    assert!(none.err.contains("E49") && none.err.contains("bench-laser"), "{}", none.err);
}

#[test]
fn a_hard_stop_comes_before_any_answer() {
    let room = bench();
    let job = laid(room.path());
    for (file, from, to) in [
        ("materials/rubber-twill.toml", "\"natural rubber\"", "\"pvc\""),
        ("materials/rubber-twill.toml", "\"natural rubber\"", "\"neoprene\""),
        ("materials/rubber-twill.toml", "\"natural rubber\"", "\"polychloroprene\""),
        ("materials/rubber-twill.toml", "\"natural rubber\"", "\"fluorinated\""),
        ("materials/rubber-twill.toml", "\"natural rubber\"", "\"brominated\""),
        ("materials/rubber-twill.toml", "\"natural rubber\"", "\"unknown\""),
        ("materials/rubber-twill.toml", "data-sheet = ", "# data-sheet = "),
        ("materials/gasket-calf.toml", "\"vegetable\"", "\"chrome\""),
        ("materials/gasket-calf.toml", "\"vegetable\"", "\"unknown\""),
        ("materials/gasket-calf.toml", "coating   = \"none\"\n", ""),
        ("materials/gasket-calf.toml", "coating   = ", "salvaged = true\ncoating   = "),
        ("machines/bench-laser.toml", "\"outdoors\"", "\"none\""),
    ] {
        let sound = fs::read_to_string(job.join(file)).unwrap();
        edit(&job.join(file), from, to);
        let told = answered(&job);
        assert_eq!(told.code, 4, "{file}: {to}: {}", told.err);
        assert!(told.err.contains("error[E44]"), "{}", told.err);
        assert!(!record(&job).exists(), "{file}: {to}");
        for words in [
            &["cut"][..],
            &["cut", "--format", "svg"],
            &["cut", "--format", "dxf"],
            &["cut", "--dxf", "r12"],
            &["cut", "--machine", "laser"],
        ] {
            assert_eq!(run(&job, words).code, 4, "{file}: {to}: {words:?}");
        }
        assert_eq!(cut_files(&job), Vec::<String>::new(), "{file}: {to}");
        fs::write(job.join(file), sound).unwrap();
    }
}

#[test]
fn a_hard_stop_that_comes_after_the_answers_still_holds() {
    let room = bench();
    let job = laid(room.path());
    assert_eq!(answered(&job).code, 0);
    edit(&job.join("materials/rubber-twill.toml"), "\"natural rubber\"", "\"pvc\"");
    assert_eq!(run(&job, &["cut"]).code, 4);
    assert_eq!(cut_files(&job), Vec::<String>::new());
}

#[test]
fn changed_records_void_the_record() {
    for (file, from, to, why) in [
        ("machines/bench-laser.toml", "\"10 W\"", "\"9 W\"", "the machine's record has changed"),
        (
            "materials/gasket-calf.toml",
            "an invented skin",
            "another invented skin",
            "a material's record has changed",
        ),
        ("materials/gasket-calf.toml", "\"0.2 mm\"", "\"0.22 mm\"", "the motions have changed"),
    ] {
        let room = bench();
        let job = laid(room.path());
        assert_eq!(answered(&job).code, 0);
        edit(&job.join(file), from, to);
        // Laid again it would be another lay; put in the place of the first, its record is of the first.
        assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
        fs::rename(job.join("out/lay-2/lay.json"), job.join("out/lay-1/lay.json")).unwrap();
        fs::remove_dir_all(job.join("out/lay-2")).unwrap();
        held(&job, &run(&job, &["cut"]), why);
    }
}

#[test]
fn a_record_changed_by_hand_is_void() {
    let room = bench();
    let job = laid(room.path());
    assert_eq!(answered(&job).code, 0);
    let text = fs::read_to_string(record(&job)).unwrap();
    let today = text.lines().find_map(|l| l.strip_prefix("day = ")).unwrap();
    for (from, to, why) in [
        (today, "\"2020-02-29\"", "it is of 2020-02-29, and today is"),
        ("Ada Example", "Bob Example", "it was changed by hand"),
        ("450 nm, OD 6", "450 nm, OD 5", "it was changed by hand"),
        ("\"fire-watch\" = \"30 minutes\"", "\"fire-watch\" = \"\"", "it was changed by hand"),
        ("seal = \"", "seal = \"0", "it was changed by hand"),
        ("form = 1", "form = 2", "is no use"),
        ("[answers]", "[given]", "is no use"),
        ("lay = \"lay-1\"", "lay = \"lay-2\"", "it is for lay-2"),
        ("machine = \"bench-laser\"", "machine = \"small-laser\"", "for the machine small-laser"),
        ("motions = \"", "motions = \"0", "the motions have changed"),
        ("list = \"", "list = \"0", "the list has changed"),
    ] {
        fs::write(record(&job), &text).unwrap();
        edit(&record(&job), from, to);
        held(&job, &run(&job, &["cut"]), why);
    }
    for bytes in [&b""[..], b"yes", b"\xff\xfe", b"form = 1\n"] {
        fs::write(record(&job), bytes).unwrap();
        held(&job, &run(&job, &["cut"]), "is no use");
    }
}

#[test]
fn answers_for_another_machine_are_refused() {
    let room = bench();
    let job = laid(room.path());
    for (words, named) in [
        (&["safety", "--machine", "knife", "--answers", "answers.toml"][..], "bench-laser"),
        (&["safety", "--machine", "laser", "--answers", "other.toml"], "my-laser"),
    ] {
        let text = fs::read_to_string(job.join("answers.toml")).unwrap();
        fs::write(job.join("other.toml"), text.replace("bench-laser", "my-laser")).unwrap();
        let ran = run(&job, words);
        assert_eq!(ran.code, 7, "{}", ran.err);
        tells(&ran, "E48");
        assert!(ran.err.contains("error[E48]"), "{}", ran.err);
        assert!(ran.err.contains(&format!("are for the machine {named}, not for")), "{}", ran.err);
        assert_eq!(cut_files(&job), Vec::<String>::new());
    }
    assert!(!record(&job).exists());
    // A machine of one's own under the name of the example's: its plate and bed are asked for.
    edit(&job.join("machines/bench-laser.toml"), "\"10 W\"", "\"12 W\"");
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let ran = answered(&job);
    assert_eq!(ran.code, 7, "{}", ran.err);
    tells(&ran, "E47");
    assert!(ran.err.contains("error[E47]: `glow`"), "{}", ran.err);
}

#[test]
fn empty_and_wrong_answers_are_refused() {
    let room = bench();
    let job = laid(room.path());
    let sound = fs::read_to_string(job.join("answers.toml")).unwrap();
    let lines: Vec<&str> = sound.lines().filter(|l| l.contains(" = \"")).collect();
    assert_eq!(lines.len(), 15);
    let values = ["\"\"", "\"y\"", "\"0\"", "true"];
    let mut tried = 0;
    for (n, line) in lines.iter().enumerate() {
        let (key, _) = line.split_once('=').unwrap();
        // Each answer with one of the slips; with all of them in the full run.
        let slips = if is_full() { &values[..] } else { &values[n % 4..][..1] };
        for value in slips {
            fs::write(job.join("answers.toml"), sound.replace(line, &format!("{key}= {value}")))
                .unwrap();
            let ran = answered(&job);
            assert!(matches!(ran.code, 1 | 7), "{key} {value}: {}", ran.out);
            assert!(!record(&job).exists(), "{key} {value}");
            tried += 1;
        }
        if is_full() || n % 5 == 0 {
            fs::write(job.join("answers.toml"), sound.replace(line, "")).unwrap();
            assert!(matches!(answered(&job).code, 1 | 7), "{key} left out");
        }
    }
    assert_eq!(tried, if is_full() { 60 } else { 15 });
    fs::write(job.join("answers.toml"), format!("{sound}everything = \"done\"\n")).unwrap();
    let ran = answered(&job);
    assert_eq!(ran.code, 7, "{}", ran.err);
    assert!(ran.err.contains("does not ask") && ran.err.contains("answers.toml:"), "{}", ran.err);
    assert!(!record(&job).exists());
    held(&job, &run(&job, &["cut"]), "has no safety record");
    // Without a terminal nothing is asked, and nothing is taken for granted.
    let ran = run(&job, &["safety", "--machine", "laser"]);
    assert_eq!(ran.code, 7, "{}", ran.err);
    assert!(ran.err.contains("--answers FILE"), "{}", ran.err);
}

#[test]
fn no_option_and_no_variable_opens_the_gate() {
    let room = bench();
    let job = laid(room.path());
    let tries: [&[&str]; 9] = [
        &["cut"],
        &["cut", "lay-1", "--quiet"],
        &["cut", "--json"],
        &["cut", "--format", "svg"],
        &["cut", "--format", "dxf"],
        &["cut", "--format", "svg,dxf", "--dxf", "r12"],
        &["cut", "--color", "never"],
        &["cut", "--machine", "laser"],
        &["cut", "--machine", "bench-laser"],
    ];
    for words in tries {
        assert_eq!(run(&job, words).code, 7, "{words:?}");
    }
    let output = Command::new(env!("CARGO_BIN_EXE_pouchwork"))
        .args(["cut"])
        .current_dir(&job)
        .env("HOME", &job)
        .envs(
            ["POUCHWORK_SAFETY", "POUCHWORK_TRIALS", "POUCHWORK_FORCE", "CI", "YES"]
                .map(|v| (v, "1")),
        )
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(7));
    // What is not there to be typed.
    for word in ["--force", "--yes", "--answers", "--no-safety", "--accept-all"] {
        assert_eq!(run(&job, &["cut", word]).code, 2, "{word}");
    }
    for word in ["--force", "--yes", "--day", "--accept-all", "--person"] {
        assert_eq!(run(&job, &["safety", "--machine", "laser", word]).code, 2, "{word}");
    }
    assert_eq!(cut_files(&job), Vec::<String>::new());
    // The files of another job's record, or of another lay's, are no key.
    let other = bench();
    let second = thistlewick(other.path());
    edit(&second.join("job.toml"), "spares = \"1 in 20, at least 1\"", "spares = \"none\"");
    assert_eq!(run(&second, &["lay", "--effort", "quick"]).code, 0);
    assert_eq!(cut_example(&job).code, 0);
    fs::copy(record(&job), record(&second)).unwrap();
    held(&second, &run(&second, &["cut"]), "the motions have changed");
}

/// Variables that the program looks at; none of them speaks of safety.
#[test]
fn the_program_reads_these_variables_alone() {
    fn walk(folder: &Path, found: &mut Vec<String>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else {
                let text = fs::read_to_string(&path).unwrap_or_default();
                let name = path.to_string_lossy().into_owned();
                let code = if name.contains("tests") {
                    ""
                } else {
                    text.split("#[cfg(test)]").next().unwrap_or("")
                };
                for (at, word) in code.match_indices("env::var") {
                    let rest = &code[at + word.len()..];
                    found.push(rest.split('"').nth(1).unwrap_or("").to_owned());
                }
            }
        }
    }
    let mut found = Vec::new();
    walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut found);
    found.sort();
    found.dedup();
    // PATH: where the system's own opener of pictures lies.
    assert_eq!(found, ["HOME", "NO_COLOR", "PATH", "TERM", "XDG_CONFIG_HOME"]);
}
