//! Cloth as it is: both ways compared, what is free told, sheets from the stock record.

use super::{bench, run};
use serde_json::Value;
use std::fs;

const JOB: &str = r#"[job]
title = "cloth trial"
unit  = "mm"

[machines]
knife = "drag-knife"

[[part]]
name     = "blank"
kind     = "outline"
count    = 30
corners  = [[0, 11], [85, 0], [205, 0], [290, 11], [290, 24], [205, 35], [85, 35], [0, 24]]
stretch  = ["0 %", "0 %"]
wet-glue = ["0 %", "0 %"]
material = "hinge-cloth"
cut-with = "knife"
"#;

const STOCK: &str = r#"[[cloth]]
id         = "C-1"
material   = "hinge-cloth"
width      = "900 mm"
length     = "1 m"
added      = 2026-03-14
generation = 3
"#;

fn laid(grain: &str) -> (String, Value) {
    let folder = bench();
    fs::create_dir_all(folder.path().join("out")).unwrap();
    fs::write(folder.path().join("job.toml"), format!("{JOB}{grain}")).unwrap();
    fs::write(folder.path().join("out/stock.toml"), STOCK).unwrap();
    let words = run(folder.path(), &["lay", "--effort", "quick"]);
    assert_eq!(words.code, 0, "{}{}", words.out, words.err);
    let json = run(folder.path(), &["lay", "--effort", "quick", "--json"]);
    let record = fs::read_to_string(folder.path().join("out/lay-1/lay.json")).unwrap();
    assert!(!record.contains("\"out/stock.toml\"") && record.contains("\"generation\": 3"));
    (words.out, serde_json::from_str(&json.out).unwrap())
}

fn find<'a>(value: &'a Value, key: &str) -> Option<&'a Value> {
    match value {
        Value::Object(map) => map.get(key).or_else(|| map.values().find_map(|v| find(v, key))),
        Value::Array(list) => list.iter().find_map(|v| find(v, key)),
        _ => None,
    }
}

#[test]
fn both_ways_are_compared_and_told() {
    let (words, json) = laid("grain = \"any\"\n");
    assert!(words.contains(" mm of the roll; all lengthwise "), "{words}");
    let ways = find(&json, "one-way").and_then(Value::as_array).unwrap();
    let whole = find(&json, "cut-off-mm").and_then(Value::as_f64).unwrap();
    assert_eq!(ways.len(), 2);
    for way in ways {
        let alone = way["cut-off-mm"].as_f64().unwrap();
        assert!(alone >= whole - 1e-6, "{alone} and {whole}");
    }
}

#[test]
fn a_way_that_only_the_job_fixes_is_told_of_where_another_saves() {
    let (words, json) = laid("grain = \"along length\"\n");
    assert!(words.contains("if blank might lie both ways (grain = \"any\")"), "{words}");
    let whole = find(&json, "cut-off-mm").and_then(Value::as_f64).unwrap();
    let other = &find(&json, "if-any").unwrap()["cut-off-mm"];
    assert!(other.as_f64().unwrap() <= 0.98 * whole - 1e-6, "{other} and {whole}");
    assert!(!words.contains("all lengthwise"), "{words}");
}
