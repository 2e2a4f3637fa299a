//! Faults of words and constructs, of beam, blade, power and feed.

use super::super::job::Chance;
use super::{ALL, File, How, Kind};

const SVG: &[File] = &[File::Svg];
const DXF: &[File] = &[File::Dxf, File::OldDxf];
const NEW: &[File] = &[File::Dxf];
const LASER: &[File] = &[File::Laser];
const KNIFE: &[File] = &[File::Knife];
const PROGRAMS: &[File] = &[File::Laser, File::Knife];

/// One occurrence of a text, any of them, put otherwise.
fn one(body: &str, from: &str, to: &str, chance: &mut Chance) -> String {
    let all: Vec<usize> = body.match_indices(from).map(|m| m.0).collect();
    assert!(!all.is_empty(), "there is no {from:?}");
    let at = all[chance.one_of(all.len())];
    format!("{}{to}{}", &body[..at], &body[at + from.len()..])
}

fn last(body: &str, from: &str, to: &str) -> String {
    let at = body.rfind(from).unwrap();
    format!("{}{to}{}", &body[..at], &body[at + from.len()..])
}

/// A line put before any line that begins so.
fn before(body: &str, start: &str, line: &str, chance: &mut Chance) -> String {
    one(body, &format!("\n{start}"), &format!("\n{line}\n{start}"), chance)
}

pub(super) fn kinds() -> Vec<Kind> {
    let mut kinds = drawings();
    kinds.extend(states());
    kinds.extend(words());
    kinds.extend(limits());
    kinds.extend(tags());
    kinds.extend(elements());
    kinds.extend(settings());
    kinds.extend(ends());
    kinds.extend(ways());
    kinds
}

fn drawings() -> Vec<Kind> {
    vec![
        Kind(
            "changed after it was written",
            "V12",
            ALL,
            How::Text(|text| {
                ["stroke-width=\"0.1\"", "$LIMMIN", "F1200.0000", "\n1A\n", "\nEOF"]
                    .iter()
                    .find(|from| text.contains(**from))
                    .map_or_else(String::new, |from| match *from {
                        "stroke-width=\"0.1\"" => text.replacen(from, "stroke-width=\"0.2\"", 1),
                        "F1200.0000" => text.replacen(from, "F1199.0000", 1),
                        "\n1A\n" => text.replacen(from, "\n1B\n", 1),
                        _ => text.replacen("0.0\n", "0.00\n", 1),
                    })
            }),
        ),
        Kind(
            "a drawing cut short",
            "V3",
            &[File::Svg, File::Dxf, File::OldDxf],
            How::Body(|b, chance| {
                let share = b.len() / 2 + chance.one_of(b.len() / 3);
                b[..share].to_owned()
            }),
        ),
        Kind(
            "a page in inches",
            "V4",
            SVG,
            How::Body(|b, _| b.replacen("width=\"700mm\"", "width=\"700in\"", 1)),
        ),
        Kind(
            "a page without a unit",
            "V4",
            SVG,
            How::Body(|b, _| b.replacen("height=\"500mm\"", "height=\"500\"", 1)),
        ),
        Kind(
            "a view box of another scale",
            "V4",
            SVG,
            How::Body(|b, _| b.replacen("0 0 700 500", "0 0 1400 1000", 1)),
        ),
    ]
}

fn elements() -> Vec<Kind> {
    vec![
        Kind(
            "a transform",
            "V3",
            SVG,
            How::Body(|b, c| one(b, "<g fill", "<g transform=\"scale(2)\" fill", c)),
        ),
        Kind(
            "an unknown element",
            "V3",
            SVG,
            How::Body(|b, c| one(b, "</g>", "<rect id=\"x-1\"/></g>", c)),
        ),
        Kind(
            "a comment in the drawing",
            "V3",
            SVG,
            How::Body(|b, c| one(b, "</g>", "</g><!-- -->", c)),
        ),
        Kind(
            "a style",
            "V3",
            SVG,
            How::Body(|b, c| one(b, " id=\"it-", " style=\"display:none\" id=\"it-", c)),
        ),
        Kind(
            "entities of its own",
            "V3",
            SVG,
            How::Body(|b, _| b.replacen("<svg", "<!DOCTYPE svg [<!ENTITY a \"b\">]>\n<svg", 1)),
        ),
        Kind(
            "a group of another name",
            "V3",
            SVG,
            How::Body(|b, _| b.replacen("id=\"EDGES\"", "id=\"LAYER\"", 1)),
        ),
        Kind(
            "an arc's radius too short",
            "V3",
            SVG,
            How::Body(|b, c| {
                let at = b.find(" A0.").or_else(|| b.find(" A")).unwrap();
                let end = at + 2 + b[at + 2..].find(" 0 0").unwrap();
                let _ = c;
                format!("{} A0.01 0.01{}", &b[..at], &b[end..])
            }),
        ),
        Kind(
            "a figure with an exponent",
            "V3",
            SVG,
            How::Body(|b, c| one(b, " r=\"", " r=\"1e1", c)),
        ),
    ]
}

fn tags() -> Vec<Kind> {
    vec![
        Kind(
            "the inch in the header",
            "V4",
            DXF,
            How::Body(|b, _| b.replacen("$INSUNITS\n70\n4", "$INSUNITS\n70\n1", 1)),
        ),
        Kind(
            "no metric measures",
            "V4",
            DXF,
            How::Body(|b, _| b.replacen("$MEASUREMENT\n70\n1", "$MEASUREMENT\n70\n0", 1)),
        ),
        Kind(
            "a second unit in the header",
            "V4",
            DXF,
            How::Body(|b, _| b.replacen("9\n$EXTMIN", "9\n$INSUNITS\n70\n1\n9\n$EXTMIN", 1)),
        ),
        Kind(
            "another version",
            "V4",
            DXF,
            How::Body(|b, _| b.replacen("AC1015", "AC1032", 1).replacen("AC1009", "AC1006", 1)),
        ),
        Kind(
            "another extent",
            "V4",
            DXF,
            How::Body(|b, _| b.replacen("$EXTMAX\n10\n", "$EXTMAX\n10\n1", 1)),
        ),
        Kind("a spline", "V3", DXF, How::Body(|b, c| one(b, "0\nCIRCLE\n", "0\nSPLINE\n", c))),
        Kind("an unknown layer", "V3", DXF, How::Body(|b, c| one(b, "8\nEDGES\n", "8\nCUT\n", c))),
        Kind(
            "an unknown group code",
            "V3",
            DXF,
            How::Body(|b, c| one(b, "8\nEDGES\n", "8\nEDGES\n210\n0.0\n", c)),
        ),
        Kind("no end of the file", "V3", DXF, How::Body(|b, _| b.replacen("0\nEOF\n", "", 1))),
        Kind("a count that lies", "V3", NEW, How::Body(|b, c| one(b, "\n90\n", "\n90\n1", c))),
        Kind(
            "an insert",
            "V3",
            DXF,
            How::Body(|b, c| one(b, "0\nLINE\n", "0\nINSERT\n8\nEDGES\n0\nLINE\n", c)),
        ),
    ]
}

fn states() -> Vec<Kind> {
    vec![
        Kind(
            "beam left on",
            "V1",
            LASER,
            How::Body(|b, chance| {
                let all: Vec<usize> =
                    b.match_indices("M5 S0\n( stroke").map(|m| m.0).skip(1).collect();
                let at = all[chance.one_of(all.len())];
                let rest = b[at + 6..].replacen("M5 S0\n", "", 1);
                format!("{}{rest}", &b[..at])
            }),
        ),
        Kind(
            "beam put on before a rapid",
            "V1",
            LASER,
            How::Body(|b, c| before(b, "G0 X", "M4 S600", c)),
        ),
        Kind(
            "beam on while still",
            "V1",
            LASER,
            How::Body(|b, c| one(b, "M4 S600\n", "M4 S600\nG4 P1.0000\n", c)),
        ),
        Kind(
            "power not put to nought",
            "V1",
            LASER,
            How::Body(|b, c| one(b, "M5 S0\n", "M5\n", c)),
        ),
        Kind(
            "beam off with power left",
            "V1",
            LASER,
            How::Body(|b, c| one(b, "M5 S0\n", "M5 S600\n", c)),
        ),
        Kind(
            "missing M5 at the beginning",
            "V2",
            LASER,
            How::Body(|b, _| b.replacen("M5 S0\n", "", 2)),
        ),
        Kind(
            "missing M5 at the end",
            "V2",
            LASER,
            How::Body(|b, _| last(&last(b, "M5 S0\n", ""), "M5 S0\n", "")),
        ),
        Kind(
            "a program cut short",
            "V2",
            PROGRAMS,
            How::Body(|b, chance| {
                let at = b.len() / 2 + chance.one_of(b.len() / 3);
                b[..=at + b[at..].find('\n').unwrap()].to_owned()
            }),
        ),
    ]
}

fn ends() -> Vec<Kind> {
    vec![
        Kind("no end", "V2", PROGRAMS, How::Body(|b, _| b.replacen("M2\n", "", 1))),
        Kind(
            "motion after the end",
            "V2",
            PROGRAMS,
            How::Body(|b, _| format!("{b}G0 X1.0000 Y1.0000\n")),
        ),
        Kind(
            "a rapid with the blade down",
            "V1",
            KNIFE,
            How::Body(|b, chance| {
                let all: Vec<usize> =
                    b.match_indices("G0 Z3.0000\n( stroke").map(|m| m.0).skip(1).collect();
                let at = all[chance.one_of(all.len())];
                format!("{}{}", &b[..at], &b[at + 11..])
            }),
        ),
        Kind(
            "a rapid with the blade half up",
            "V1",
            KNIFE,
            How::Body(|b, c| one(b, "G0 Z3.0000\n( stroke", "G0 Z1.0000\n( stroke", c)),
        ),
        Kind("blade down at the end", "V2", KNIFE, How::Body(|b, _| last(b, "G0 Z3.0000\n", ""))),
    ]
}

fn words() -> Vec<Kind> {
    vec![
        Kind("a foreign word", "V3", PROGRAMS, How::Body(|b, c| before(b, "G0 X", "G28", c))),
        Kind("an auxiliary word", "V3", PROGRAMS, How::Body(|b, c| before(b, "( stroke", "M8", c))),
        Kind(
            "an offset of the origin",
            "V3",
            PROGRAMS,
            How::Body(|b, c| before(b, "G0 X", "G92 X0 Y0", c)),
        ),
        Kind("a parameter", "V3", PROGRAMS, How::Body(|b, c| before(b, "G0 X", "#1=5", c))),
        Kind(
            "a line that may be left out",
            "V3",
            PROGRAMS,
            How::Body(|b, c| one(b, "\nG1 X", "\n/G1 X", c)),
        ),
        Kind("a small letter", "V3", PROGRAMS, How::Body(|b, c| one(b, "\nG1 X", "\ng1 X", c))),
        Kind(
            "a comment in a line",
            "V3",
            PROGRAMS,
            How::Body(|b, c| one(b, "\nG1 X", "\nG1 (here) X", c)),
        ),
        Kind(
            "a comment with signs of its own",
            "V3",
            PROGRAMS,
            How::Body(|b, c| before(b, "( stroke", "( a) M3 S1000 (b )", c)),
        ),
        Kind(
            "a motion without its word",
            "V3",
            PROGRAMS,
            How::Body(|b, c| one(b, "\nG0 X", "\nX", c)),
        ),
        Kind(
            "a line too long",
            "V3",
            PROGRAMS,
            How::Body(|b, c| before(b, "( stroke", &format!("( {} )", "a".repeat(260)), c)),
        ),
        Kind(
            "a sign that is not ASCII",
            "V3",
            PROGRAMS,
            How::Body(|b, c| before(b, "( stroke", "( \u{e9} )", c)),
        ),
        Kind(
            "a figure with an exponent in a program",
            "V3",
            PROGRAMS,
            How::Body(|b, c| one(b, "\nG1 X", "\nG1 X1E", c)),
        ),
        Kind("five decimals", "V3", PROGRAMS, How::Body(|b, c| one(b, " Y", " Y0.12345 Y", c))),
        Kind(
            "bad arc radii",
            "V3",
            PROGRAMS,
            How::Body(|b, c| {
                let all: Vec<usize> = b.match_indices(" I").map(|m| m.0).collect();
                let at = all[c.one_of(all.len())];
                let end = at + 2 + b[at + 2..].find(' ').unwrap();
                let value: f64 = b[at + 2..end].parse().unwrap();
                format!("{} I{:.4}{}", &b[..at], value + 0.05 + value.abs() * 0.05, &b[end..])
            }),
        ),
        Kind(
            "a whole circle in one arc",
            "V3",
            PROGRAMS,
            How::Body(|b, c| {
                let line = "G2 X9.0000 Y9.0000 I1.0000 J0.0000";
                before(b, "( stroke", &format!("G0 X9.0000 Y9.0000\n{line}"), c)
            }),
        ),
    ]
}

fn settings() -> Vec<Kind> {
    vec![
        Kind("another beam word", "V3", LASER, How::Body(|b, c| one(b, "M4 S600", "M3 S600", c))),
        Kind(
            "a height for a laser",
            "V3",
            LASER,
            How::Body(|b, c| before(b, "( stroke", "G0 Z3.0000", c)),
        ),
        Kind(
            "a beam for a knife",
            "V3",
            KNIFE,
            How::Body(|b, c| before(b, "( stroke", "M4 S600", c)),
        ),
        Kind(
            "a second unit word",
            "V4",
            PROGRAMS,
            How::Body(|b, c| before(b, "( stroke", "G21", c)),
        ),
        Kind("inches", "V4", PROGRAMS, How::Body(|b, c| before(b, "( stroke", "G20", c))),
        Kind(
            "inches from the beginning",
            "V4",
            PROGRAMS,
            How::Body(|b, _| b.replacen("G21", "G20", 1)),
        ),
        Kind(
            "figures from where it stands",
            "V4",
            PROGRAMS,
            How::Body(|b, c| before(b, "( stroke", "G91", c)),
        ),
        Kind("no unit", "V4", PROGRAMS, How::Body(|b, _| b.replacen("G21\n", "", 1))),
    ]
}

fn limits() -> Vec<Kind> {
    vec![
        Kind(
            "power over the limit",
            "V10",
            LASER,
            How::Body(|b, c| one(b, "M4 S600", "M4 S601", c)),
        ),
        Kind("feed 0", "V10", PROGRAMS, How::Body(|b, _| b.replacen("F1200.0000", "F0.0000", 1))),
        Kind("no feed", "V10", PROGRAMS, How::Body(|b, _| b.replacen(" F1200.0000", "", 1))),
        Kind(
            "feed over the limit",
            "V10",
            PROGRAMS,
            How::Body(|b, _| b.replacen("F1200.0000", "F1250.0000", 1)),
        ),
        Kind(
            "beam not put on",
            "V8",
            LASER,
            How::Body(|b, _| last(b, "( contour )\nM4 S600\n", "( contour )\n")),
        ),
        Kind(
            "a pass left out",
            "V8",
            PROGRAMS,
            How::Papers(|l| {
                let line = l.iter_mut().find(|l| l.starts_with("passes: ")).unwrap();
                *line = "passes: 3".to_owned();
            }),
        ),
        Kind("too many passes", "V10", LASER, How::Job(|job, _| job.passes += 1)),
        Kind("too deep", "V10", KNIFE, How::Body(|b, c| one(b, "G1 Z-1.0000", "G1 Z-1.3000", c))),
        Kind(
            "another blade",
            "V8",
            KNIFE,
            How::Job(|job, _| {
                if let Some(blade) = &mut job.machine.blade {
                    blade.offset = 1.0;
                }
            }),
        ),
        Kind(
            "no allowance for the blade",
            "V8",
            KNIFE,
            How::Body(|b, c| {
                // One swivel left out: the corner is dragged round.
                let all: Vec<&str> = b
                    .lines()
                    .filter(|l| l.starts_with("G3") && l.contains("I-0.2500 J0.0000"))
                    .collect();
                let line = all[c.one_of(all.len())];
                b.replacen(&format!("{line}\n"), "", 1)
            }),
        ),
    ]
}

fn ways() -> Vec<Kind> {
    vec![
        Kind(
            "a rapid outside the bed",
            "V5",
            PROGRAMS,
            How::Body(|b, c| before(b, "G0 X", "G0 X730.0000 Y1.0000", c)),
        ),
        Kind(
            "a lead over a neighbour",
            "V6",
            LASER,
            How::Body(|b, _| {
                last(
                    b,
                    "( lead )\nM4 S600\n",
                    "( lead )\nM4 S600\nG1 X5.0000 Y30.0000\nG1 X200.0000 Y30.0000\n",
                )
            }),
        ),
        Kind(
            "a lead over its own piece",
            "V6",
            LASER,
            How::Body(|b, c| {
                // Of a disk's outline: the lead comes from the other side, right through the middle.
                let all: Vec<usize> =
                    b.match_indices("EDGES pass 1 )\nM5 S0\nG0 X").map(|m| m.0).collect();
                let round: Vec<usize> = all
                    .into_iter()
                    .filter(|at| b[*at..].lines().nth(3) == Some("( lead )"))
                    .collect();
                let at = round[c.one_of(round.len())];
                let start = at + "EDGES pass 1 )\nM5 S0\nG0 X".len();
                let end = start + b[start..].find(' ').unwrap();
                let x: f64 = b[start..end].parse().unwrap();
                format!("{}{:.4}{}", &b[..start], x - 2.0, &b[end..])
            }),
        ),
        Kind(
            "something cut in a tab",
            "V8",
            LASER,
            How::Body(|b, c| one(b, "( contour )", "( tab )", c)),
        ),
        Kind(
            "waits claimed too short",
            "V13",
            LASER,
            How::Papers(|l| {
                let line = l.iter_mut().find(|l| l.starts_with("time: ")).unwrap();
                *line = line.replace("wait 2.5", "wait 1.5");
            }),
        ),
        Kind(
            "time claimed too short",
            "V13",
            PROGRAMS,
            How::Papers(|l| {
                let line = l.iter_mut().find(|l| l.starts_with("time: ")).unwrap();
                *line = "time: cut 1.0; travel 1.0; wait 2.5; total 4.5 s".to_owned();
            }),
        ),
    ]
}
