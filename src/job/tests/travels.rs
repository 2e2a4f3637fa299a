//! Sets of valves: their papers become parts, their sums have places, slips in them are told.

use super::faults::base;
use super::*;
use crate::job::{Job, batches, template_for, work_out};
use crate::part::Kind;
use approx::assert_relative_eq;

const SET: &str = r#"
[[leaf]]
id = "P-1"
material = "packing-paper"
width = "8 in"
length = "10 in"

[[leaf]]
id = "half"
material = "packing-paper"
width = "8 in"
length = "10 in"
thickness = "3.5 thou"

[[travel]]
name = "button"
positions = "1-6"
table = "gaps.csv"
target = "35 thou"
least = "30 thou"
papers = ["packing-paper", "half"]
papers-make = "wider"
diameter = "7/8 in"
hole = "1/4 in"
facings = 2
cut-with = "knife"
"#;

/// The first row is the published one but for its paper, which is .006 here.
const GAPS: &str = "position,gap (thou),facing-old (thou),facing-new (thou),fitted-1 (thou)\n\
                    1,28.5,,,\n2,28.5,36,35,\n3,30,,,\n4,37.4,,,3.5\n5,35.2,,,\n6,26,,,\n";

fn with(from: &str, to: &str) -> Memory {
    let text = format!("{}{SET}", base().text("job.toml"));
    assert!(text.contains(from), "{from}");
    base().with("job.toml", text.replace(from, to)).with("gaps.csv", GAPS)
}

fn job(memory: &Memory) -> Job {
    let (job, faults) = memory.read();
    job.unwrap_or_else(|| panic!("{:?}", faults.iter().map(told).collect::<Vec<_>>()))
}

/// One paper of .006 on .0285 gives .0345; the arithmetic is that of MMD 2009.03.10.07.
#[test]
fn papers_become_parts_that_are_laid() {
    let job = job(&with("7/8 in", "7/8 in"));
    let travel = &job.travels[0];
    let expected: Vec<f64> = travel.places.iter().map(|it| it.choice.expected / 0.0254).collect();
    // 2: two facings a thousandth thinner give two. 3: 33.5 and 36 count as equally near, and the nearer one is taken.
    for (got, wanted) in expected.iter().zip([34.5, 34.0, 36.0, 33.9, 35.2, 35.5]) {
        assert_relative_eq!(*got, wanted, max_relative = 1e-9);
    }
    let added: Vec<&[u32]> = travel.places.iter().map(|it| &it.choice.added[..]).collect();
    assert_eq!(added, [&[1, 0], &[0, 1], &[1, 0], &[0, 0], &[0, 0], &[1, 1]] as [&[u32]; 6]);
    assert_eq!(travel.places[3].choice.removed, [0]);
    let papers: Vec<_> = job.parts.iter().filter(|part| part.kind == Kind::Spacer).collect();
    let names: Vec<(&str, Vec<u32>)> =
        papers.iter().map(|part| (&*part.name, part.positions.numbers())).collect();
    assert_eq!(names, [("button-packing-paper", vec![1, 3, 6]), ("button-half", vec![2, 6])]);
    let (worked, faults) = work_out(&job);
    assert!(faults.is_empty(), "{faults:?}");
    let pieces: Vec<String> = batches(&job, &worked)
        .unwrap()
        .iter()
        .flat_map(|batch| &batch.group.pieces)
        .map(|piece| piece.address.to_string())
        .filter(|name| name.starts_with("button"))
        .collect();
    let wanted = ["button-packing-paper:1", "button-packing-paper:3"];
    assert_eq!(pieces[..2], wanted, "{pieces:?}");
    assert_eq!(pieces.len(), 5);
    // A paper comes from leaves of its own thickness alone: .006 in and .0035 in.
    for (part, mm) in papers.iter().zip([0.1524, 0.0889]) {
        let (least, most, _) = part.thickness.clone().unwrap();
        assert!(
            mm - 0.006 < least && least < mm && mm < most && most < mm + 0.006,
            "{least} {most}"
        );
    }
    let leaf = |id: &str| job.sheets.iter().find(|sheet| sheet.id == id).unwrap().thicknesses();
    assert_eq!((leaf("P-1").len(), leaf("half").len()), (1, 1));
}

#[test]
fn every_term_has_its_place() {
    let job = job(&with("7/8 in", "7/8 in"));
    let terms = &job.travels[0].places[1].terms;
    let told: Vec<String> = terms
        .iter()
        .map(|term| {
            let from =
                term.from.as_ref().map_or(String::new(), |p| format!("{}:{}", p.file, p.line));
            format!("{} {:.4} {from}", term.label, term.value / 0.0254)
        })
        .collect();
    assert_eq!(
        told,
        [
            "gap as measured 28.5000 gaps.csv:3",
            "old leather of a facing 36.0000 gaps.csv:3",
            "new leather of a facing 35.0000 gaps.csv:3",
            "by the new leather 2.0000 ",
            "1 of half put in 3.5000 job.toml:32",
            "gap to be expected 34.0000 ",
        ]
    );
}

#[test]
fn several_papers_of_one_sort_are_numbered() {
    let job = job(&with("[\"packing-paper\", \"half\"]", "[\"half\"]"));
    let part = job.parts.iter().find(|part| part.name == "button-half").unwrap();
    let sizes = part.sizes();
    let names: Vec<Vec<String>> = sizes
        .iter()
        .map(|size| {
            let members = size.developed.members.iter();
            members.map(|m| m.name.map_or(String::new(), |n| n.to_string())).collect()
        })
        .collect();
    assert!(names.contains(&vec!["paper-1".to_owned(), "paper-2".to_owned()]), "{names:?}");
}

/// Clearance follows the gasket one for one: MMD 2015.06.15.05.
#[test]
fn a_gasket_moves_the_clearance() {
    let more = "facings = 2\nclearance = \"1/16 in\"\nclearance-wanted = \"1/16 in\"\ngasket-old = \"1/32 in\"\ngasket-new = ";
    let fine = job(&with("facings = 2", &format!("{more}\"3/64 in\"")));
    for place in &fine.travels[0].places {
        assert_relative_eq!(place.clearance.unwrap(), 25.4 * 5.0 / 64.0, max_relative = 1e-9);
    }
    let (_, faults) = with("facings = 2", &format!("{more}\"1/16 in\"")).read();
    crate::fault::tells(faults.iter().map(|f| f.code), "W78");
    assert_eq!(faults.len(), 1, "{faults:?}");
}

#[test]
fn slips_are_told_with_their_place() {
    for (from, to, wanted) in [
        (
            "least = \"30 thou\"",
            "least = \"36 thou\"",
            "E28 job.toml:44:9 the least gap 36 thou is more than the target 35 thou",
        ),
        ("papers-make = \"wider\"\n", "", "E12 job.toml:39:1 this travel needs `papers-make`"),
        ("facings = 2\n", "", "E12 job.toml:39:1 button needs `facings` (how many lie in one gap)"),
        (
            "\"half\"]",
            "\"half\", \"half\"]",
            "E14 job.toml:45:36 the paper \"half\" is named twice",
        ),
        ("\"half\"]", "\"felt\"]", "E15 job.toml:45:28 there is no materials/felt.toml"),
        ("name = \"button\"", "name = \"pouch\"", "E14 job.toml:39:1 \"pouch\" names two parts"),
        (
            "positions = \"1-6\"",
            "positions = \"1-8\"",
            "E12 job.toml:39:1 button needs `gap`, how far each valve travels; these positions have none: 7, 8",
        ),
        (
            "target = \"35 thou\"",
            "target = \"35 mm\"",
            "W76 job.toml:43:10 a travel of 35 mm is wanted",
        ),
        ("table = \"gaps.csv\"", "gap = \"-1 thou\"", "E20 job.toml:42:7 `gap` is -1 thou"),
        (
            "table = \"gaps.csv\"",
            "gap = \"5 thou\"\nmost = 1",
            "W77 job.toml:39:1 button: papers do not fill these gaps to their target: 1-6",
        ),
        (
            "table = \"gaps.csv\"",
            "gap = \"60 thou\"",
            "W77 job.toml:39:1 button: no paper brings these to their target, something must come off: 1-6",
        ),
        (
            "table = \"gaps.csv\"",
            "gap = \"30 thou\"\nfacing-old = \"1 mm\"",
            "E12 job.toml:43:14 button gives `facing-old` and no `facing-new`",
        ),
    ] {
        let (_, faults) = with(from, to).read();
        let all: Vec<String> = faults.iter().map(told).collect();
        assert!(all.iter().any(|it| it.starts_with(wanted)), "{wanted}\n{all:#?}");
    }
    let (_, faults) = with("target = \"35 thou\"", "target = \"35 mm\"").read();
    crate::fault::tells(faults.iter().map(|f| f.code), "W76");
    let (_, faults) =
        with("7/8", "7/8").with("gaps.csv", GAPS.replace("5,35.2", "5,0.9 in")).read();
    let all: Vec<String> = faults.iter().map(told).collect();
    assert!(
        all.iter().any(|it| it.starts_with("W03 gaps.csv:6:3 button:5: `gap` is 0.9 in")),
        "{all:#?}"
    );
}

#[test]
fn an_empty_table_has_its_columns() {
    let memory = with("7/8", "7/8");
    let text = template_for(&memory, &mut Sources::default(), "button").unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[1].starts_with("position,gap,facing-old,facing-new,"), "{text}");
    assert_eq!(lines.len(), 8);
}
