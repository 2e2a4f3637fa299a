//! What is written beside the cut files: the punch list, the numbers, the order of cutting, what a laser chars.

use super::{bench, cut_example, edit, files, run, thistlewick};
use std::fs;
use std::path::Path;

/// A file of the first lay as text.
fn text(job: &Path, name: &str) -> String {
    fs::read_to_string(job.join("out/lay-1").join(name)).unwrap()
}

#[test]
fn holes_for_the_punch_are_listed_and_drawn() {
    let room = bench();
    let job = thistlewick(room.path());
    let cut = cut_example(&job);
    assert_eq!(cut.code, 0, "{}", cut.err);
    assert!(cut.out.contains("12 holes of 2 sizes to be punched by hand"), "{}", cut.out);
    let table = text(&job, "punch.csv");
    assert!(table.contains("a starter series from memory, not verified"), "{table}");
    let rows: Vec<&str> = table.lines().filter(|l| !l.starts_with('#')).skip(1).collect();
    // Number 70 is .0280 in, number 52 is .0635 in (ASME B94.11M); six bleeds and a spare, five screw holes.
    assert_eq!(rows.len(), 2, "{table}");
    assert!(rows[0].starts_with("\"#70 drill\",0.7112,0.028,"), "{table}");
    assert!(rows[0].contains(",\"#70 drill\",0,7,booster-pouch:1 booster-pouch:1+1 "), "{table}");
    assert!(rows[1].starts_with("1/16 in,1.5875,0.0625,1/16 in,0,"), "{table}");
    assert!(rows[1].ends_with(",\"#52 drill\",0.025,5,chest-gasket:1 chest-gasket-mate:1 port-gasket:1 port-gasket:2 port-gasket:3"), "{table}");
    let picture = text(&job, "punch.svg");
    // 0.7112 / 2 and 1.5875 / 2, at true size.
    for radius in ["r=\"0.356\"", "r=\"0.794\""] {
        assert!(picture.contains(radius), "{radius}");
    }
    // One machine alone gives the whole list too.
    let knife = run(&job, &["cut", "lay-1", "--machine", "knife"]);
    assert_eq!(knife.code, 0, "{}", knife.err);
    assert_eq!(text(&job, "punch.csv"), table);
}

#[test]
fn the_punches_of_the_job_count() {
    let room = bench();
    let job = thistlewick(room.path());
    edit(
        &job.join("job.toml"),
        "notes  = 54",
        "punches = [\"0.8 mm\", \"1.5 mm\", \"1/4 in\"]\nnotes  = 54",
    );
    let cut = cut_example(&job);
    assert_eq!(cut.code, 0, "{}", cut.err);
    let table = text(&job, "punch.csv");
    assert!(table.contains("# punches: those of the job"), "{table}");
    assert!(table.contains("\"#70 drill\",0.7112,0.028,0.8 mm,0.089,"), "{table}");
    assert!(table.contains("1/16 in,1.5875,0.0625,1.5 mm,-0.087,"), "{table}");
}

#[test]
fn a_job_without_such_holes_has_no_list() {
    let room = bench();
    assert_eq!(run(room.path(), &["new", "chapel"]).code, 0);
    let job = room.path().join("chapel");
    assert_eq!(run(&job, &["cut"]).code, 0);
    assert!(!files(&job.join("out/lay-1")).iter().any(|(name, _)| name.starts_with("punch")));
}

#[test]
fn soft_edges_are_cut_wider_by_a_laser_and_that_is_told() {
    let room = bench();
    let job = thistlewick(room.path());
    let kid = job.join("materials/pouch-kid.toml");
    edit(&kid, "\"chrome\"", "\"vegetable\"");
    edit(
        &kid,
        "on        = \"knife\"\nkerf      = \"0 mm\"",
        "on        = \"laser\"\nchar-trim = \"0.5 mm\"\nkerf      = \"0.2 mm\"",
    );
    let file = job.join("job.toml");
    let knife = "material  = \"pouch-kid\"\ncut-with  = \"knife\"";
    let laser = "material  = \"pouch-kid\"\ncut-with  = \"laser\"";
    edit(&file, knife, laser);
    edit(&file, knife, laser);
    let checked = run(&job, &["check"]);
    assert!(
        checked.err.contains("W29") && checked.err.contains("it is cut 0.5 mm larger all round"),
        "{}",
        checked.err
    );
    // 39.100 mm is worked by hand in `why_names_the_line_of_every_figure`; twice 0.5 and the cut of 0.2 come to it.
    let why = run(&job, &["why", "pouch:31"]);
    assert!(why.out.contains("char trim all round, to be pared off: 0.500 mm"), "{}", why.out);
    assert!(why.out.contains("40.300 x 40.300 mm"), "{}", why.out);
    let gasket = run(&job, &["why", "pump-gasket"]);
    assert!(!gasket.out.contains("char trim"), "{}", gasket.out);
    let answers = job.join("answers.toml");
    edit(&answers, "H-2, C-1", "H-1, H-2, C-1");
    edit(&answers, "gasket-calf, rubber-twill", "pouch-kid, gasket-calf, rubber-twill");
    edit(&answers, "dry-run      = \"2\"", "dry-run      = \"3\"");
    edit(&answers, "\"161\"", "\"229\"");
    let cut = cut_example(&job);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    let drawn = text(&job, "H-1-laser.svg");
    let row = drawn.lines().find(|l| l.ends_with("address pouch:31")).unwrap();
    assert!(row.contains("; diameter 40.0996;"), "{row}");
    assert!(
        drawn.contains("soft edges are cut 0.5 mm outside their line all round; pare that off"),
        "{drawn}"
    );
    assert!(!text(&job, "H-2-laser.svg").contains("soft edges"));
}

/// The figures of a picture's layer of numbers, in the order of drawing.
fn figures(picture: &str) -> Vec<usize> {
    let (_, layer) = picture.split_once("id=\"NUMBERS\"").unwrap();
    let layer = layer.split("</g>").next().unwrap();
    let said = layer.split("aria-label=\"").skip(1);
    said.map(|rest| rest.split('"').next().unwrap().parse().unwrap()).collect()
}

#[test]
fn every_cut_has_its_number_in_the_picture_of_the_order() {
    let room = bench();
    let job = thistlewick(room.path());
    let cut = run(&job, &["lay", "--effort", "quick"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    assert_eq!(super::answered(&job).code, 0);
    let cut = run(&job, &["cut", "--format", "svg"]);
    assert_eq!(cut.code, 0, "{}", cut.err);
    for (order, file) in [("H-1", "H-1-knife"), ("H-2", "H-2-laser"), ("H-3-w1", "H-3-w1-knife")] {
        let drawn = text(&job, &format!("{file}.svg"));
        // Cuts of the file itself: circles and paths in the groups of holes and outlines.
        let groups =
            drawn.split("<g ").filter(|g| g.contains("id=\"HOLES") || g.contains("id=\"EDGES"));
        let wanted: usize =
            groups.map(|g| g.matches("<circle ").count() + g.matches("<path ").count()).sum();
        let picture = text(&job, &format!("{order}-order.svg"));
        assert_eq!(figures(&picture), (1..=wanted).collect::<Vec<_>>(), "{order}");
        assert!(picture.contains("id=\"TRAVEL\"") && picture.contains("id=\"STARTS\""), "{order}");
        // Each has a program, with ways in; tabs are for a laser.
        assert!(picture.contains("order of the G-code"), "{order}");
        assert!(picture.contains("id=\"LEADS\""), "{order}");
        assert_eq!(picture.contains("id=\"TABS\""), order == "H-2", "{order}");
    }
    let png = fs::read(job.join("out/lay-1/H-2-order.png")).unwrap();
    assert!(png.starts_with(b"\x89PNG"));
}

/// The groups of a layer in a drawing.
fn groups<'a>(drawn: &'a str, layer: &str) -> Vec<&'a str> {
    let head = format!("id=\"{layer}");
    drawn.split("<g ").filter(|g| g.lines().next().is_some_and(|l| l.contains(&head))).collect()
}

/// Every point of the paths of a layer.
fn points(drawn: &str, layer: &str) -> Vec<(f64, f64)> {
    let paths = groups(drawn, layer).into_iter().flat_map(|g| g.split(" d=\"").skip(1));
    let words = paths.map(|rest| rest.split('"').next().unwrap());
    let ends = words.flat_map(|d| d.split(['M', 'L']).filter(|end| !end.trim().is_empty()));
    ends.map(|end| {
        let (x, y) = end.trim().trim_end_matches('Z').trim().split_once(' ').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    })
    .collect()
}

/// Text without line breaks.
fn unspaced(text: &str) -> String {
    text.replace('\n', "")
}

#[test]
fn numbers_stand_in_the_waste_of_a_laser_and_nowhere_else() {
    let room = bench();
    let job = thistlewick(room.path());
    let cut = cut_example(&job);
    assert_eq!(cut.code, 0, "{}", cut.err);
    let drawn = text(&job, "H-2-laser.svg");
    let marked = points(&drawn, "NUMBERS");
    assert!(marked.len() > 200, "{}", marked.len());
    // The gap of the gasket leather is 1.5 mm; a mark on a face that seals would leak: common practice.
    let mut seen = 0;
    for circle in groups(&drawn, "EDGES").iter().flat_map(|g| g.split("<circle ").skip(1)) {
        let figure = |key: &str| -> f64 {
            let (_, rest) = circle.split_once(&format!("{key}=\"")).unwrap();
            rest.split('"').next().unwrap().parse().unwrap()
        };
        let (x, y, r) = (figure("cx"), figure("cy"), figure(" r"));
        // The elbow gaskets: of 3/4 in, so nothing fits in their bores of 9/32 in.
        if r < 10.0 {
            seen += 1;
            let least =
                marked.iter().map(|p| (p.0 - x).hypot(p.1 - y) - r).fold(f64::INFINITY, f64::min);
            assert!(least >= 1.5, "{least} mm from a gasket at {x} {y}");
        }
    }
    assert!(seen >= 24, "{seen}");
    // Each piece that is not told as left to the picture has strokes of its own.
    let told = cut.out.lines().find(|l| l.starts_with("H-2: numbers of")).unwrap();
    for row in drawn.lines().filter(|l| l.starts_with("piece: ")) {
        let address = row.rsplit_once("address ").unwrap().1;
        let title = format!("<title>{address}</title>");
        let own = groups(&drawn, "NUMBERS").iter().any(|g| unspaced(g).contains(&title));
        let left = told.rsplit(": ").next().unwrap().split(", ").any(|name| name == address);
        assert!(own != left, "{address}: {own} {left}");
    }
    // A knife would cut them.
    assert!(!text(&job, "H-1-knife.svg").contains("NUMBERS"));
    assert!(
        cut.out.contains("H-1: numbers only in the picture: a knife would cut them"),
        "{}",
        cut.out
    );
}

#[test]
fn a_number_that_slipped_onto_a_piece_is_not_proven() {
    let room = bench();
    let job = thistlewick(room.path());
    assert_eq!(cut_example(&job).code, 0);
    let path = job.join("out/lay-1/H-2-laser.svg");
    let drawn = fs::read_to_string(&path).unwrap();
    let own = run(&job, &["prove", "out/lay-1/H-2-laser.svg"]);
    assert_eq!(own.code, 0, "{}{}", own.out, own.err);
    // The first pen line goes to the middle of the first round piece, a little off its bore.
    let (head, rest) = drawn.split_once("id=\"NUMBERS\"").unwrap();
    let (_, after) = rest.split_once(" d=\"").unwrap();
    let old = after.split('"').next().unwrap();
    let edges = groups(&drawn, "EDGES")[0];
    let at = |key: &str| -> f64 {
        let (_, rest) = edges.split_once(&format!("{key}=\"")).unwrap();
        rest.split('"').next().unwrap().parse().unwrap()
    };
    let (x, y) = (at("cx") + at(" r") - 3.0, at("cy"));
    let spoilt = format!(
        "{head}id=\"NUMBERS\"{}",
        rest.replacen(old, &format!("M{x:.4} {y:.4} L{x:.4} {:.4}", y + 0.5), 1)
    );
    fs::write(&path, spoilt).unwrap();
    let ran = run(&job, &["prove", "out/lay-1/H-2-laser.svg"]);
    assert_eq!(ran.code, 5, "{}{}", ran.out, ran.err);
    let broken = ran.out.lines().find(|l| l.starts_with("V6")).unwrap();
    assert!(broken.contains("broken") && broken.contains("the number of"), "{broken}");
}

#[test]
fn without_a_power_for_marks_there_are_no_numbers() {
    let room = bench();
    let job = thistlewick(room.path());
    edit(&job.join("materials/gasket-calf.toml"), "mark-power = \"6 %\"\n", "");
    let cut = cut_example(&job);
    assert_eq!(cut.code, 0, "{}{}", cut.out, cut.err);
    assert!(!text(&job, "H-2-laser.svg").contains("id=\"NUMBERS"), "numbers");
    assert!(
        cut.out
            .contains("H-2: numbers only in the picture: the material's record has no mark-power"),
        "{}",
        cut.out
    );
    assert!(text(&job, "C-1-laser.svg").contains("id=\"NUMBERS"));
}
