//! What is to be bought, how far a job has come, and the reports.

use super::{bench, edit, example, run, tells, thistlewick};
use std::fs;
use std::path::Path;

/// Takes every sheet out of a job.
fn emptied(job: &Path) {
    let path = job.join("job.toml");
    let text = fs::read_to_string(&path).unwrap();
    let (from, to) = (text.find("[[hide]]").unwrap(), text.find("[[part]]").unwrap());
    fs::write(&path, format!("{}{}", &text[..from], &text[to..])).unwrap();
}

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn an_order_in_words_as_a_letter_and_as_a_table() {
    let room = bench();
    let job = thistlewick(room.path());
    let full = run(&job, &["order", "--effort", "quick"]);
    assert_eq!(full.code, 0, "{}{}", full.out, full.err);
    assert!(full.out.contains("H-1: enough") && full.out.contains("C-1: enough"), "{}", full.out);
    emptied(&job);
    let order = run(&job, &["order", "--effort", "quick"]);
    assert_eq!(order.code, 0, "{}{}", order.out, order.err);
    for words in [
        "nominal outline, not your hide",
        "skins (goat) of 6.0 sq ft",
        "skins (calf) of 12.0 sq ft",
        "36 in wide off the roll, 9.00 sq ft a yard",
        "leaves of 8 in x 12 in",
        "8.50 pounds per sq ft (an invented price list)",
        "tannage chrome; side grain",
        "1 coupon of 108 x 70 mm",
        "add footage = \"quarters\"",
        "published yields",
    ] {
        assert!(order.out.contains(words), "no {words:?} in {}", order.out);
    }
    // A mark is only written where the profile says how: for two skins of three.
    assert_eq!(order.out.matches("marks of ").count(), 6, "{}", order.out);
    assert!(order.out.lines().all(|line| line.chars().count() <= 120), "{}", order.out);
    let table = fs::read_to_string(job.join("out/order.csv")).unwrap();
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows.len(), 6, "{table}");
    assert!(rows[0].starts_with("material,title,grade,machines,pieces,spares,coupons,net-dm2"));
    assert!(!job.join("out/order.txt").exists());
    let letter = run(&job, &["order", "--effort", "quick", "--letter"]);
    let text = fs::read_to_string(job.join("out/order.txt")).unwrap();
    assert!(letter.out.starts_with(&text), "{}", letter.out);
    assert!(text.contains("1 whole skin") && text.contains("thickness 9.5 thou"), "{text}");
    assert!(text.contains("nominal outline, not your hide"), "{text}");
    // The same seed gives the same table.
    assert_eq!(fs::read_to_string(job.join("out/order.csv")).unwrap(), table);
}

#[test]
fn an_order_for_scripts() {
    let room = bench();
    let job = thistlewick(room.path());
    emptied(&job);
    let told = json(&run(&job, &["order", "--effort", "quick", "--json", "--seed", "2"]).out);
    assert_eq!(told["seed"], 2);
    let lines = told["lines"].as_array().unwrap();
    assert_eq!(lines.len(), 5);
    let pouches = &lines[0];
    assert_eq!(
        (&pouches["pieces"], &pouches["spares"], &pouches["coupons"]),
        (&60.into(), &8.into(), &1.into())
    );
    assert_eq!(pouches["enough"], false);
    let mm2 = |it: &serde_json::Value| it["cut-up-mm2"].as_f64().unwrap();
    let buy = &pouches["to-buy"];
    let (low, likely, high) = (mm2(&buy["low"]), mm2(&buy["likely"]), mm2(&buy["high"]));
    let net = buy["net-mm2"].as_f64().unwrap();
    assert!(net < low && low < likely && likely < high, "{low} {likely} {high}");
    assert_eq!(buy["remark"], "nominal outline, not your hide");
    // One skin of 6 sq ft at 8.50 a square foot.
    assert_eq!(buy["likely"]["skins"], 1);
    assert!((buy["likely"]["cost"].as_f64().unwrap() - 51.0).abs() < 1e-9, "{buy}");
    // The suede has no price, and none is made up.
    assert!(lines[1]["to-buy"]["likely"]["cost"].is_null());
}

#[test]
fn without_a_word_on_how_it_is_sold_the_published_spread_is_all() {
    let room = bench();
    let job = thistlewick(room.path());
    emptied(&job);
    let path = job.join("materials/valve-felt.toml");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, &text[..text.find("[buy]").unwrap()]).unwrap();
    let told = json(&run(&job, &["order", "--effort", "quick", "--json"]).out);
    let felt = &told["lines"][2];
    assert_eq!(felt["material"], "valve-felt");
    let net = felt["to-buy"]["net-mm2"].as_f64().unwrap();
    for (name, share) in [("low", 0.82), ("likely", 0.67), ("high", 0.48)] {
        let area = felt["to-buy"][name]["area-mm2"].as_f64().unwrap();
        assert!((area * share / net - 1.0).abs() < 1e-9, "{name}: {area}");
    }
    let ask = felt["asks"][0].as_str().unwrap();
    assert!(ask.contains("[buy] to materials/valve-felt.toml"), "{ask}");
}

/// The sheets in hand come first, and only what finds no place on them is bought.
#[test]
fn what_is_in_hand_is_not_bought_again() {
    let room = bench();
    let job = thistlewick(room.path());
    edit(&job.join("job.toml"), "length   = \"1 1/2 yd\"", "length   = \"1/2 yd\"");
    let told = json(&run(&job, &["order", "--effort", "quick", "--json"]).out);
    let cloth = &told["lines"][4];
    assert_eq!(cloth["material"], "rubber-twill");
    let (placed, left) =
        (cloth["in-hand"]["placed"].as_u64().unwrap(), cloth["in-hand"]["left"].as_u64().unwrap());
    assert!(placed > 20 && left > 20, "{placed} {left}");
    assert_eq!(placed + left, 113 + 11 + 1);
    let length = cloth["to-buy"]["likely"]["length-mm"].as_f64().unwrap();
    // In steps of a quarter of a yard, and less than the yard and a half that holds all.
    let steps = length / 228.6;
    assert!((steps - steps.round()).abs() < 1e-9 && length < 1371.6, "{length}");
}

#[test]
fn wrong_keys_are_told_with_their_cure() {
    const CASES: &[(&str, &str, &str, &str)] = &[
        ("pouch-kid", "skin         = \"goat\"", "skin = \"goot\"", "E09"),
        ("pouch-kid", "area         = \"6 sq ft\"", "area = \"6 ft\"", "E16"),
        ("pouch-kid", "area         = \"6 sq ft\"", "area = \"600 sq ft\"", "E20"),
        ("pouch-kid", "footage      = \"quarters\"", "footage = \"halves\"", "E09"),
        ("pouch-kid", "side         = \"grain\"", "side = \"rubber\"", "E39"),
        ("pouch-kid", "skin         = \"goat\"\n", "", "E28"),
        ("pouch-kid", "side         = \"grain\"", "width = \"54 in\"", "E28"),
        ("pouch-kid", "side         = \"grain\"", "breed = \"kid\"", "E11"),
        ("pouch-kid", "8.50 pounds per sq ft", "8,50 pounds per sq ft", "E17"),
        ("pouch-kid", "8.50 pounds per sq ft", "8.50", "E20"),
        ("pouch-kid", "8.50 pounds per sq ft", "8.50 pounds per yd", "E28"),
        ("pouch-kid", "price-source = \"an invented price list\"", "", "E38"),
        ("rubber-twill", "price        = \"21 pounds per yd\"", "", "E12"),
        ("rubber-twill", "21 pounds per yd", "21 pounds per leaf", "E28"),
        ("rubber-twill", "width        = \"36 in\"", "", "E12"),
        ("rubber-twill", "width        = \"36 in\"", "skin = \"cow\"", "E28"),
        ("rubber-twill", "width        = \"36 in\"", "width = \"36\"", "E16"),
        ("rubber-twill", "selvedge     = \"1/2 in\"", "selvedge = \"18 in\"", "E28"),
        ("rubber-twill", "by           = \"1/4 yd\"", "by = \"0.1 mm\"", "E20"),
        ("rubber-twill", "by           = \"1/4 yd\"", "length = \"2 yd\"", "E28"),
        ("valve-suede", "tannage = \"vegetable\"", "tannage = \"veg\"", "E09"),
    ];
    let room = bench();
    for (n, (material, from, to, code)) in CASES.iter().enumerate() {
        let job = thistlewick(&room.path().join(n.to_string()));
        let path = job.join(format!("materials/{material}.toml"));
        let text = fs::read_to_string(&path).unwrap();
        let at = text.find("[buy]").unwrap();
        assert!(text[at..].contains(from), "{from}");
        fs::write(&path, format!("{}{}", &text[..at], text[at..].replacen(from, to, 1))).unwrap();
        let ran = run(&job, &["order", "--effort", "quick", "--json"]);
        assert_eq!(ran.code, 1, "{from} => {to}: {}", ran.out);
        let told = json(&ran.out);
        let faults = told["messages"].as_array().unwrap();
        let errors: Vec<_> = faults.iter().filter(|f| f["severity"] == "error").collect();
        assert_eq!(errors.len(), 1, "{from} => {to}: {errors:?}");
        assert_eq!(errors[0]["code"], *code, "{from} => {to}: {errors:?}");
        assert!(errors[0]["help"].is_string() && errors[0]["line"].is_u64(), "{errors:?}");
        assert!(!job.join("out/order.csv").exists());
    }
}

#[test]
fn pieces_larger_than_what_is_sold_are_named() {
    let room = bench();
    let job = thistlewick(room.path());
    emptied(&job);
    edit(&job.join("materials/gasket-calf.toml"), "12 sq ft", "3 sq ft");
    let ran = run(&job, &["order", "--effort", "quick"]);
    // The chest gaskets are 28 3/4 in long; a calf of 3 sq ft is some 25 in with its rim.
    tells(&ran, "W70");
    assert!(
        ran.err.contains("W70") && ran.err.contains("chest-gasket:1"),
        "{}{}",
        ran.out,
        ran.err
    );
    assert_eq!(ran.code, 0);
}

#[test]
fn a_title_that_looks_like_a_formula_stays_a_title() {
    let room = bench();
    let job = thistlewick(room.path());
    edit(&job.join("materials/valve-felt.toml"), "\"valve felt, wool\"", "\"=HYPERLINK(1)\"");
    assert_eq!(run(&job, &["order", "--effort", "quick"]).code, 0);
    let table = fs::read_to_string(job.join("out/order.csv")).unwrap();
    assert!(table.contains("valve-felt,\"'=HYPERLINK(1)\","), "{table}");
}

#[test]
fn how_far_a_job_has_come() {
    let room = bench();
    let job = thistlewick(room.path());
    let row = |told: &serde_json::Value, name: &str| {
        told["parts"].as_array().unwrap().iter().find(|p| p["part"] == name).unwrap().clone()
    };
    let first = json(&run(&job, &["status", "--json"]).out);
    let pouch = row(&first, "pouch");
    assert_eq!(
        (&pouch["wanted"], &pouch["places"], &pouch["laid"]),
        (&54.into(), &54.into(), &0.into())
    );
    assert!(pouch["rows"].as_u64().unwrap() >= 4, "{pouch}");
    assert!(first["next"].as_str().unwrap().contains("pouchwork lay"));
    assert!(first["assumed"].as_array().unwrap().iter().any(|a| a == "stretch of pouch-kid"));
    assert_eq!(run(&job, &["lay", "--effort", "quick"]).code, 0);
    let laid = json(&run(&job, &["status", "--json"]).out);
    let facing = row(&laid, "facing");
    // Two facings a place.
    assert_eq!(
        (&facing["wanted"], &facing["laid"], &facing["cut"]),
        (&108.into(), &108.into(), &0.into())
    );
    assert!(laid["next"].as_str().unwrap().contains("safety lay-1"), "{}", laid["next"]);
    edit(&job.join("job.toml"), "dip       = \"3/32 in\"", "dip       = \"1/16 in\"");
    let told = run(&job, &["status"]).out;
    assert!(
        told.contains("laid from other files") && told.contains("next: pouchwork lay"),
        "{told}"
    );
    emptied(&job);
    assert!(run(&job, &["status"]).out.contains("next: pouchwork order"));
}

/// A strip round boards of 16 by 13 in with 3 in to overlap is 61 in long: a supplier's list, "How much cloth".
#[test]
fn reports_in_both_units() {
    let room = bench();
    let job = thistlewick(room.path());
    edit(
        &job.join("machines/bench-laser.toml"),
        "width         = \"1500 mm\"",
        "width         = \"2 m\"",
    );
    let path = job.join("job.toml");
    let mut text = fs::read_to_string(&path).unwrap();
    text.push_str(
        "\n[[part]]\nname = \"exhauster\"\nkind = \"bellows\"\nboards = \"parallel\"\ncount = 1\nlength = \"16 in\"\n\
         width = \"13 in\"\nboard = \"1/2 in\"\nspan = \"6 in\"\nspan-is = \"inside\"\noverlap = \"3 in\"\n\
         spares = \"none\"\nmaterial = \"rubber-twill\"\ncut-with = \"laser\"\n",
    );
    fs::write(&path, text).unwrap();
    let ran = run(&job, &["report"]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    let sizes = fs::read_to_string(job.join("out/report/sizes.csv")).unwrap();
    assert!(sizes.contains("exhauster,1,,1,0,cut length,1549.400,61.000,61 in,0.000,"), "{sizes}");
    // 9/64 in is .1406 in; #28, .1405 in, is within .001 in of it (ASME B94.11M).
    assert!(sizes.lines().any(|line| line.contains("0.141,9/64 in,0.000,")), "{sizes}");
    for name in ["sizes", "folds", "glueing"] {
        let page = fs::read_to_string(job.join(format!("out/report/{name}.md"))).unwrap();
        assert!(ran.out.contains(page.trim_end()), "{name}");
        let table = fs::read_to_string(job.join(format!("out/report/{name}.csv"))).unwrap();
        assert!(table.lines().count() > 10, "{table}");
    }
}

/// Folds of the fair organ's pump: its cards with their inset, its ribs, and the hinge last.
#[test]
fn the_folds_of_a_pump() {
    let room = bench();
    let job = example("full-set", room.path());
    let told = json(&run(&job, &["report", "--json"]).out);
    let rows = told["reports"]["folds"].as_array().unwrap();
    let of = |what: &str| -> Vec<&serde_json::Value> {
        rows.iter()
            .filter(|r| r["bellows"] == "pump" && r["what"].as_str().unwrap().starts_with(what))
            .collect()
    };
    let inset: Vec<_> = of("card")
        .into_iter()
        .filter(|r| r["which"].as_str().unwrap().starts_with("inset"))
        .collect();
    assert_eq!(inset.len(), 2, "{inset:?}");
    assert!(inset.iter().all(|r| r["nearest 64th"] == "1/8 in"), "{inset:?}");
    assert_eq!(of("crease").len(), 2);
    assert!(of("angle").iter().any(|r| r["angle"] == "45.00°"));
    let steps: Vec<&str> = of("glue").iter().map(|r| r["which"].as_str().unwrap()).collect();
    assert_eq!(steps, ["the open end", "the two sides", "the hinge"]);
}
