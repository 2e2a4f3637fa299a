//! The form of a job against the reader itself: each key is taken, and there is no key besides.

use super::*;
use crate::fault::Fault;
use crate::job::tests::Memory;
use std::collections::BTreeSet;

fn faults(text: &str) -> Vec<Fault> {
    Memory::of([("job.toml".to_owned(), text.to_owned())]).read().1
}

/// Keys that the reader did not know, and those that it says it takes instead, where it says.
fn asked(text: &str) -> (BTreeSet<String>, BTreeSet<String>) {
    let ticked = |text: &str| text.rsplit('`').nth(1).unwrap_or_default().to_owned();
    let mut unknown = BTreeSet::new();
    let mut known = BTreeSet::new();
    for fault in faults(text).iter().filter(|fault| fault.code == "E11") {
        unknown.insert(ticked(&fault.text));
        if let Some(list) = fault.cure.as_deref().and_then(|cure| cure.strip_prefix("it takes: ")) {
            known.extend(list.split(", ").map(str::to_owned));
        }
    }
    (unknown, known)
}

/// A value of the sort, as it is typed.
fn typed(entry: &Entry) -> String {
    if !entry.example.is_empty() {
        return entry.example.clone();
    }
    match &entry.sort {
        Sort::Length | Sort::Signed => "\"1 in\"".to_owned(),
        Sort::Lengths | Sort::Point => "[\"1 in\", \"2 in\"]".to_owned(),
        Sort::Points(_) => {
            "[[\"0 in\", \"0 in\"], [\"9 in\", \"0 in\"], [\"9 in\", \"9 in\"]]".into()
        }
        Sort::Corners | Sort::Line => "[[0, 0], [9, 0], [9, 9]]".to_owned(),
        Sort::Count(..) | Sort::Number(..) | Sort::TextOrCount => "1".to_owned(),
        Sort::Word(words) => format!("\"{}\"", words[0]),
        Sort::Text => "\"in\"".to_owned(),
        Sort::Texts => "[\"a\"]".to_owned(),
        Sort::Growth => "\"material\"".to_owned(),
        Sort::Table(_) | Sort::Own => "{}".to_owned(),
        Sort::Tables(_) | Sort::Kinds(..) => "[{}]".to_owned(),
    }
}

/// Holds a table of the form against the reader. `head` begins the table; what stands before it is `before`.
fn held(before: &str, head: &str, entries: &[Entry], skip: &[&str]) {
    let names: BTreeSet<String> = entries.iter().map(|entry| entry.name.to_owned()).collect();
    assert_eq!(names.len(), entries.len(), "{head}: a key stands twice");
    let mut known = BTreeSet::new();
    // Each key by itself, so that no choice between two hides one of them; and beside it one that nobody knows.
    for entry in entries.iter().filter(|entry| !skip.contains(&entry.name)) {
        let text = format!("{before}{head}\nzzqqzzqq = 1\n{} = {}\n", entry.name, typed(entry));
        let (unknown, takes) = asked(&text);
        assert_eq!(unknown, BTreeSet::from(["zzqqzzqq".to_owned()]), "{text}");
        known.extend(takes);
    }
    let more: Vec<_> = known.difference(&names).collect();
    assert!(more.is_empty(), "{head}: the form lacks {more:?}");
    for entry in entries {
        let name = head.trim_matches(['[', ']']);
        match &entry.sort {
            Sort::Tables(inner) => {
                let inner_head = format!("[[{name}.{}]]", entry.name);
                held(&format!("{before}{head}\n"), &inner_head, inner, &[]);
            }
            Sort::Table(inner) => {
                let inner_head = format!("[{name}.{}]", entry.name);
                held(&format!("{before}{head}\n"), &inner_head, inner, &[]);
            }
            _ => {}
        }
    }
}

#[test]
fn every_key_of_the_form_is_taken_and_there_is_no_other() {
    let forms = forms();
    let names: Vec<&str> = forms.iter().map(|entry| entry.name).collect();
    let (unknown, takes) = asked("[zzqqzzqq]\n");
    assert_eq!(unknown, BTreeSet::from(["zzqqzzqq".to_owned()]));
    assert_eq!(takes, names.iter().map(|name| (*name).to_owned()).collect());
    for form in &forms {
        match &form.sort {
            Sort::Table(entries) => held("", &format!("[{}]", form.name), entries, &[]),
            Sort::Tables(entries) => held("", &format!("[[{}]]", form.name), entries, &[]),
            Sort::Kinds(by, kinds) => {
                for (kind, entries) in kinds {
                    // A companion is called before its table is opened, which is then given twice.
                    let head = format!("[[{}]]", form.name);
                    let rest: Vec<Entry> =
                        entries.iter().filter(|e| e.name != *by).cloned().collect();
                    let begun = format!("{head}\n{by} = \"{kind}\"");
                    let flat: Vec<Entry> = rest
                        .iter()
                        .filter(|e| !matches!(e.sort, Sort::Table(_) | Sort::Tables(_)))
                        .cloned()
                        .collect();
                    held("", &begun, &flat, &[]);
                    for entry in &rest {
                        let inner = format!("{}.{}", form.name, entry.name);
                        match &entry.sort {
                            Sort::Table(e) => {
                                held(&format!("{begun}\n"), &format!("[{inner}]"), e, &[]);
                            }
                            Sort::Tables(e) => {
                                held(&format!("{begun}\n"), &format!("[[{inner}]]"), e, &[]);
                            }
                            _ => {}
                        }
                    }
                }
            }
            _ => {}
        }
    }
}

/// The reader tells its keys of a part only where they are few, so they are compared with what it was seen to take.
#[test]
fn a_part_takes_no_key_that_the_form_lacks() {
    let forms = forms();
    let all: BTreeSet<&str> = forms.iter().flat_map(|form| keys_of(&form.sort)).collect();
    for form in forms {
        let Sort::Kinds(by, kinds) = form.sort else { continue };
        for (kind, entries) in kinds {
            let own: BTreeSet<&str> = entries.iter().map(|entry| entry.name).collect();
            let lines: Vec<String> =
                all.iter().filter(|k| **k != by).map(|key| format!("{key} = 1")).collect();
            let lines = lines.join("\n");
            let (unknown, _) = asked(&format!("[[part]]\n{by} = \"{kind}\"\n{lines}"));
            let taken: BTreeSet<&str> =
                all.iter().filter(|k| **k != by && !unknown.contains(**k)).copied().collect();
            assert_eq!(taken, own, "{kind}");
        }
    }
}

fn keys_of(sort: &Sort) -> Vec<&'static str> {
    match sort {
        Sort::Table(entries) | Sort::Tables(entries) => {
            entries.iter().flat_map(|e| keys_of(&e.sort).into_iter().chain([e.name])).collect()
        }
        Sort::Kinds(_, kinds) => kinds
            .iter()
            .flat_map(|(_, entries)| entries)
            .flat_map(|e| keys_of(&e.sort).into_iter().chain([e.name]))
            .collect(),
        _ => Vec::new(),
    }
}
