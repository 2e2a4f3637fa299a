//! Manners: one JSON document whatever happens, codes explained, a beginning for every bench, shells that complete, pictures
//! that open.

use super::{Ran, bench, files, run, tells, thistlewick};
use clap::CommandFactory;
use pouchwork::cli::args::Typed;
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// The one document, which must agree with the exit code.
fn document(words: &[&str], ran: &Ran) -> Value {
    let value: Value = serde_json::from_str(&ran.out)
        .unwrap_or_else(|e| panic!("{words:?}: {e}\n{}\n{}", ran.out, ran.err));
    assert_eq!(value["exit"], ran.code, "{words:?}");
    assert_eq!(value["ok"], ran.code == 0, "{words:?}");
    assert!(value["schema"].as_str().unwrap().starts_with("pouchwork/"), "{words:?}");
    assert_eq!(ran.err, "", "{words:?}");
    for message in value["messages"].as_array().unwrap() {
        assert!(message["code"].is_string() && message["text"].is_string(), "{words:?}");
    }
    value
}

/// Names of all commands, those of groups with both words.
fn commands() -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for command in Typed::command().get_subcommands() {
        let name = command.get_name().to_owned();
        let inner: Vec<String> =
            command.get_subcommands().map(|c| format!("{name} {}", c.get_name())).collect();
        names.extend(if inner.is_empty() { vec![name] } else { inner });
    }
    names
}

#[test]
fn every_command_gives_one_document_when_all_is_well() {
    let room = bench();
    let job = thistlewick(room.path());
    let rows: &[&[&str]] = &[
        &["new", "fresh"],
        &["check"],
        &["measure", "1 in", "#60 drill"],
        &["table", "pouch"],
        &["profile"],
        &["profile", "diode-laser"],
        &["kind"],
        &["kind", "bellows"],
        &["why", "pouch:31"],
        &["draw", "pouch"],
        &["lay", "--effort", "quick"],
        &["safety", "--machine", "laser", "--answers", "answers.toml"],
        &["cut"],
        &["prove", "out/lay-1/C-1-laser.svg"],
        &["page"],
        &["template", "pouch:31"],
        &["order", "--effort", "quick"],
        &["status"],
        &["report"],
        &["stock", "list"],
        &["stock", "show", "H-1"],
        &[
            "stock",
            "add",
            "--leaf",
            "K-9",
            "--material",
            "thin-card",
            "--width",
            "9 in",
            "--length",
            "9 in",
        ],
        &["stock", "forget", "K-9", "--yes"],
        &["stock", "undo"],
        &["tally", "lay-1", "--all-good"],
        &["record"],
        &["recut", "pouch:31", "--anyway"],
        &["explain"],
        &["explain", "E24"],
        &["explain", "limits"],
        &["explain", "Materials"],
        &["explain", "safety"],
        &["completions", "bash"],
        &["schema"],
    ];
    let mut seen = BTreeSet::new();
    for words in rows {
        let ran = run(&job, &[*words, &["--json"]].concat());
        document(words, &ran);
        assert_eq!(ran.code, 0, "{words:?}\n{}", ran.out);
        seen.extend(commands().into_iter().filter(|name| words.join(" ").starts_with(name)));
    }
    // These want a job of their own; they are refused here, and refused in JSON.
    let refused: &[&[&str]] = &[
        &["travel"],
        &["coupon", "kerf", "--material", "none", "--machine", "laser"],
        &["coupon", "stretch", "--material", "none", "--machine", "laser"],
        &["coupon", "gap", "--material", "none", "--machine", "laser"],
        &["coupon", "hole", "--material", "none", "--machine", "laser"],
        &["coupon", "read", "none.csv"],
    ];
    for words in refused {
        let ran = run(&job, &[*words, &["--json"]].concat());
        let value = document(words, &ran);
        assert!(ran.code != 0 && !value["messages"].as_array().unwrap().is_empty(), "{words:?}");
        seen.extend(commands().into_iter().filter(|name| words.join(" ").starts_with(name)));
    }
    assert_eq!(seen, commands(), "each command has its row here");
}

#[test]
fn every_refusal_is_one_document_too() {
    let room = bench();
    let empty = room.path();
    for name in commands() {
        // A word too many, an option that does not exist, and no job.
        let words: Vec<&str> = name.split(' ').collect();
        let ran = run(empty, &[&words[..], &["--no-such-option", "--json"]].concat());
        let value = document(&words, &ran);
        assert_eq!((ran.code, &value["messages"][0]["code"]), (2, &Value::from("E81")), "{name}");
    }
    for words in [
        &["check"][..],
        &["lay"],
        &["cut"],
        &["draw"],
        &["page"],
        &["template"],
        &["status"],
        &["order", "--effort", "quick"],
        &["report"],
        &["travel"],
        &["stock", "list"],
        &["why", "pouch"],
        &["table", "pouch"],
        &["tally", "lay-1", "--all-good"],
    ] {
        let ran = run(empty, &[words, &["--json"]].concat());
        let value = document(words, &ran);
        assert_eq!(
            (ran.code, &value["messages"][0]["code"]),
            (1, &Value::from("E01")),
            "{words:?}"
        );
    }
    for words in
        [&["explain", "E999"][..], &["explain", ""], &["explain", "E2 4"], &["explain", "limit"]]
    {
        let value = document(words, &run(empty, &[words, &["--json"]].concat()));
        assert_eq!(value["messages"][0]["code"], "E125", "{words:?}");
    }
    let value = document(&["new"], &run(empty, &["new", "--json", "x", "--notes", "0"]));
    assert!(value["messages"][0]["text"].as_str().unwrap().contains("--notes"), "{value}");
}

#[test]
fn a_code_is_explained_in_words() {
    let room = bench();
    let ran = run(room.path(), &["explain", "e24"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.starts_with("E24: a position is given twice\n"), "{}", ran.out);
    assert!(ran.out.contains("make two parts"), "{}", ran.out);
    assert!(ran.out.lines().all(|line| line.chars().count() <= 110), "{}", ran.out);
    let list = run(room.path(), &["explain", "-q"]);
    assert_eq!(list.out.lines().count(), 3 + pouchwork::job::CODES.len());
    let wrong = run(room.path(), &["explain", "E240"]);
    tells(&wrong, "E125");
    assert!(wrong.code == 1 && wrong.err.contains("error[E125]"), "{}", wrong.err);
}

/// Exit codes and what they mean stand in the README and in the help.
#[test]
fn exit_codes_are_told() {
    let room = bench();
    let help = run(room.path(), &["--help"]).out;
    let readme =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    for text in [help, readme] {
        let at = text.find("Exit codes: 0 done").expect("the codes");
        let told: String = text[at..].chars().take(520).collect();
        for code in ["0 ", "1 ", "2 ", "3 ", "4 ", "5 ", "6 ", "7 ", "8 ", "130 "] {
            assert!(told.contains(code), "{code} in {told}");
        }
    }
}

#[test]
fn every_help_has_a_word_for_each_option() {
    fn look(command: &clap::Command) {
        assert!(command.get_about().is_some(), "{}", command.get_name());
        for arg in command.get_arguments() {
            assert!(arg.get_help().is_some(), "{} {}", command.get_name(), arg.get_id());
        }
        command.get_subcommands().for_each(look);
    }
    look(&Typed::command());
}

#[test]
fn a_new_job_works_at_once_at_every_bench() {
    let room = bench();
    for (n, (machine, unit, notes)) in [
        ("knife", Some("mm"), "88"),
        ("knife", Some("in"), "1"),
        ("laser", Some("in"), "54"),
        ("laser", None, "2"),
        ("paper", Some("mm"), "20"),
        ("paper", None, "7"),
    ]
    .into_iter()
    .enumerate()
    {
        let name = format!("job-{n}");
        let mut words = vec!["new", name.as_str(), "--machine", machine, "--notes", notes];
        if let Some(unit) = unit {
            words.extend(["--unit", unit]);
        }
        let good = |folder: &Path, words: &[&str]| {
            let ran = run(folder, words);
            assert_eq!(ran.code, 0, "{name} {words:?}\n{}{}", ran.out, ran.err);
            ran
        };
        if machine == "laser" {
            // Nobody but the user knows where the fumes go.
            let asked = run(room.path(), &words);
            tells(&asked, "E12");
            for told in
                ["where do the laser's fumes go?", "--extraction outdoors", "--machine paper"]
            {
                assert!(asked.code == 1 && asked.err.contains(told), "{told}: {}", asked.err);
            }
            assert!(!room.path().join(&name).exists(), "nothing is made of it");
            words.extend(["--extraction", if unit.is_some() { "outdoors" } else { "filter" }]);
        }
        good(room.path(), &words);
        let job = room.path().join(&name);
        let checked = good(&job, &["check"]);
        assert!(!checked.err.contains("warning"), "{}", checked.err);
        good(&job, &["draw"]);
        good(&job, &["lay", "--effort", "quick"]);
        match machine {
            "laser" => {
                // Its safety list stands before its files.
                let held = run(&job, &["cut"]);
                assert!(held.code == 7 && held.err.contains("E45"), "{}", held.err);
                good(&job, &["template"]);
                let fumes = if unit.is_some() { "outdoors" } else { "filter" };
                fs::write(job.join("a.toml"), laser_answers(&job, fumes)).unwrap();
                good(&job, &["safety", "--machine", "laser", "--answers", "a.toml"]);
                good(&job, &["cut"]);
                assert!(job.join("out/lay-1/K1-laser.svg").is_file());
            }
            "paper" => {
                good(&job, &["template"]);
                good(&job, &["template", "--lay", "lay-1"]);
            }
            _ => {
                good(&job, &["cut"]);
            }
        }
    }
}

/// What a person would type who goes through the list of a new job's laser.
fn laser_answers(job: &Path, fumes: &str) -> String {
    let text = fs::read_to_string(job.join("out/lay-1/lay.json")).unwrap();
    let lay: Value = serde_json::from_str(&text).unwrap();
    let pieces = lay["pieces"].as_array().unwrap();
    let used: BTreeSet<&str> = pieces.iter().map(|row| row["sheet"].as_str().unwrap()).collect();
    let sheets: Vec<&str> = used.iter().copied().collect();
    format!(
        "machine = \"diode-laser\"\nperson = \"Ada Example\"\n\n[answers]\npapers = \"thin-card, hinge-cloth\"\n\
         sheets = \"{}\"\nstop-control = \"class 4\"\neyewear = \"450 nm, OD 6\"\nroom = \"Ada Example\"\n\
         extraction = \"{fumes}\"\nfire = \"carbon dioxide\"\nflat = \"400 x 400\"\ndry-run = \"{}\"\nstay = \"{}\"\n\
         glow = \"450 nm, 10 W\"\nopening = \"diode-laser\"\nfire-watch = \"30 minutes\"\n",
        sheets.join(", "),
        sheets.len(),
        pieces.len()
    )
}

#[test]
fn wrong_benches_are_refused() {
    let room = bench();
    for words in [
        &["--notes", "0"][..],
        &["--notes", "501"],
        &["--notes", "many"],
        &["--notes", "-3"],
        &["--unit", "mil"],
        &["--machine", "plasma"],
        &["--machine", "laser", "--extraction", "none"],
    ] {
        let ran = run(room.path(), &[&["new", "x"], words].concat());
        assert_eq!(ran.code, 2, "{words:?}: {}{}", ran.out, ran.err);
    }
    let idle = run(room.path(), &["new", "x", "--extraction", "outdoors"]);
    tells(&idle, "E81");
    assert!(idle.code == 1 && idle.err.contains("add --machine laser"), "{}", idle.err);
    assert!(files(room.path()).is_empty(), "nothing is left of them");
}

#[test]
fn completions_for_every_shell_and_bash_takes_its_own() {
    let room = bench();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let ran = run(room.path(), &["completions", shell]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(ran.out.contains("template") && ran.out.len() > 2000, "{shell}");
    }
    assert_eq!(run(room.path(), &["completions", "sh"]).code, 2);
    let script = run(room.path(), &["completions", "bash"]).out;
    fs::write(room.path().join("c.bash"), script).unwrap();
    // As a shell does when the tabulator is pressed behind these words.
    let asked = |line: &str| {
        let words: Vec<&str> = line.split(' ').collect();
        let last = words[words.len() - 1];
        let before = words[words.len() - 2];
        let text = format!(
            "set -e; source ./c.bash; complete -p pouchwork >/dev/null; COMP_WORDS=({line}); \
             [ -n '{last}' ] || COMP_WORDS+=(''); COMP_CWORD=$(( ${{#COMP_WORDS[@]}} - 1 )); \
             _pouchwork pouchwork '{last}' '{before}'; printf '%s\\n' \"${{COMPREPLY[@]}}\""
        );
        let ran = std::process::Command::new("bash")
            .args(["--norc", "-c", &text])
            .current_dir(room.path())
            .output()
            .unwrap();
        assert!(ran.status.success(), "{line}: {}", String::from_utf8_lossy(&ran.stderr));
        String::from_utf8(ran.stdout).unwrap().lines().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(asked("pouchwork temp"), ["template"]);
    assert_eq!(asked("pouchwork stock fo"), ["forget"]);
    assert!(asked("pouchwork new x --mach").contains(&"--machine".to_owned()));
    let machines: BTreeSet<String> = asked("pouchwork new x --machine ").into_iter().collect();
    assert_eq!(machines, ["knife", "laser", "paper"].map(str::to_owned).into());
    assert_eq!(asked("pouchwork explain mat"), ["materials"]);
    assert_eq!(asked("pouchwork explain E12"), ["E12", "E125"]);
}

#[cfg(all(unix, not(target_os = "macos")))]
#[test]
fn what_was_made_is_opened_where_there_is_an_opener() {
    use std::os::unix::fs::PermissionsExt;
    use std::process::Command;
    let room = bench();
    run(room.path(), &["new", "a job"]);
    let job = room.path().join("a job");
    let tools = room.path().join("tools");
    fs::create_dir(&tools).unwrap();
    let open = |words: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_pouchwork"))
            .args(words)
            .current_dir(&job)
            .env("PATH", &tools)
            .output()
            .unwrap();
        Ran {
            code: output.status.code().unwrap(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    };
    // None there: told, and no failure.
    let none = open(&["draw", "pouch", "--open"]);
    tells(&none, "W98");
    assert!(none.code == 0 && none.err.contains("no xdg-open"), "{}", none.err);
    let seen = room.path().join("seen");
    let tool = tools.join("xdg-open");
    fs::write(&tool, format!("#!/bin/sh\nprintf '%s\\n' \"$@\" >> '{}'\n", seen.display()))
        .unwrap();
    fs::set_permissions(&tool, fs::Permissions::from_mode(0o755)).unwrap();
    for words in [
        &["draw", "pouch", "--open"][..],
        &["lay", "--effort", "quick", "--open"],
        &["cut", "--open"],
        &["page", "--open"],
        &["template", "pouch", "--open"],
        &["stock", "show", "H1", "--open"],
    ] {
        let ran = open(words);
        let good = ran.code == 0 && ran.out.contains("opened ");
        assert!(good, "{words:?}: {}{}", ran.out, ran.err);
    }
    let wanted = [
        "draw/pouch-1.png",
        "lay-1/H1-picture.png",
        "lay-1/H1-order.png",
        "lay-1/job-sheet.html",
        "template/pouch.pdf",
        "stock/H1.png",
    ];
    // It is not waited for, so it may come a little later, and in any order.
    let mut lines = Vec::new();
    for _ in 0..100 {
        let text = fs::read_to_string(&seen).unwrap_or_default();
        lines = text.lines().map(str::to_owned).collect();
        if lines.len() == wanted.len() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    for name in wanted {
        assert!(lines.iter().any(|line| line.ends_with(name)), "{name} in {lines:?}");
    }
    // A refused command opens nothing.
    let wrong = open(&["draw", "poutch", "--open"]);
    assert!(wrong.code == 1 && !wrong.err.contains("W98"), "{}", wrong.err);
    let ran = open(&["draw", "pouch", "--open", "--json"]);
    let value: Value = serde_json::from_str(&ran.out).unwrap();
    let opened = value["opened"].as_str().unwrap();
    assert!(ran.code == 0 && opened.ends_with("pouch-1.png"), "{}", ran.out);
}
