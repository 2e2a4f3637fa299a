//! Coupons: a job cut down to one, the table of its readings, and a measured kerf in a profile.

use super::*;
use crate::coupon::{Finding, Growth, Sort, Width, found, judge};
use crate::job::{
    Job, KerfEdit, Measured, batches, coupon_job, coupon_sheets, edited, finding_table, noted,
    read_findings, read_readings, readings_table, stops,
};

const PROFILE: &str = "materials/hinge-cloth.toml";

fn job(memory: &Memory) -> Job {
    let (job, faults) = memory.read();
    job.unwrap_or_else(|| panic!("{:?}", faults.iter().map(told).collect::<Vec<_>>()))
}

fn measured(width: Width) -> Measured {
    Measured { width, source: "coupon 2026-03-14".to_owned(), gap: 2.5, edge: 4.0 }
}

fn edit(memory: &Memory, width: Width) -> KerfEdit {
    edited(&job(memory), "hinge-cloth", "knife", &measured(width)).unwrap()
}

/// The job as it reads with the profile changed.
fn after(memory: &Memory, edit: &KerfEdit) -> Job {
    job(&memory.clone().with(&edit.path, edit.text.clone()))
}

fn kerfs(job: &Job, machine: &str) -> (f64, f64) {
    let setting = job.setting("hinge-cloth", machine).unwrap();
    (setting.kerf_x, setting.kerf_y)
}

/// Lines that differ between two texts of equally many lines.
fn differing(a: &str, b: &str) -> Vec<(String, String)> {
    assert_eq!(a.lines().count(), b.lines().count());
    let pairs = a.lines().zip(b.lines()).filter(|(x, y)| x != y);
    pairs.map(|(x, y)| (x.to_owned(), y.to_owned())).collect()
}

#[test]
fn only_kerf_and_source_change_in_a_profile() {
    let memory = sample();
    let before = memory.text(PROFILE);
    let edit = edit(&memory, Width::One(0.15));
    let lines = differing(&before, &edit.text);
    assert_eq!(lines.len(), 2, "{lines:?}");
    assert_eq!(lines[0].1, "kerf   = \"0.15 mm\"");
    assert_eq!(lines[1].1, "source = \"coupon 2026-03-14; gap and edge assumed\"");
    assert_eq!(edit.was.as_deref(), Some("kerf = \"0 mm\", source = \"assumed\""));
    assert_eq!((edit.added, edit.copied.as_deref(), &*edit.on), (false, None, "knife"));
    let made = after(&memory, &edit);
    let setting = made.setting("hinge-cloth", "knife").unwrap();
    assert_eq!((setting.kerf_x, setting.kerf_y), (0.15, 0.15));
    assert!(!setting.source.is_assumed());
    let assumed = crate::job::assumed(&made);
    assert!(assumed.iter().all(|line| !line.contains("hinge-cloth")), "{assumed:?}");
    // A second coupon says so once, and keeps what the first one knew of the rest.
    let again = edited(&made, "hinge-cloth", "knife", &measured(Width::One(0.2))).unwrap();
    assert_eq!(again.text.matches("gap and edge assumed").count(), 1);
}

#[test]
fn two_figures_take_two_lines_in_any_line_ends() {
    let memory = sample();
    let text = memory.text(PROFILE);
    let crlf = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    for before in [text, crlf] {
        let memory = memory.clone().with(PROFILE, before.clone());
        let edit = edit(&memory, Width::Two(0.3, 0.1));
        let end = if before.contains("\r\n") { "\r\n" } else { "\n" };
        let wanted = before.replacen(
            "kerf   = \"0 mm\"",
            &format!("kerf-x = \"0.3 mm\"{end}kerf-y = \"0.1 mm\""),
            1,
        );
        let said = "source = \"coupon 2026-03-14; gap and edge assumed\"";
        let wanted = wanted.replacen("source = \"assumed\"", said, 1);
        assert_eq!(edit.text, wanted);
        let made = after(&memory, &edit);
        let setting = made.setting("hinge-cloth", "knife").unwrap();
        assert_eq!((setting.kerf_x, setting.kerf_y), (0.3, 0.1));
        // And back to one figure: both lines take it.
        let memory = memory.with(PROFILE, edit.text.clone());
        let again = self::edit(&memory, Width::One(0.2));
        assert!(
            again.text.contains("kerf-x = \"0.2 mm\"")
                && again.text.contains("kerf-y = \"0.2 mm\"")
        );
    }
}

#[test]
fn tables_in_one_line_are_changed_too() {
    let line = "cut = [{ on = \"knife\", kerf = '0 mm', gap = \"1 mm\", edge = \"2 mm\", source = \"assumed\" }] # mine\n";
    let text = format!("{line}[material]\nsort = \"cloth\"\nsource = \"assumed\"\n");
    let memory = sample().with(PROFILE, text.clone());
    let edit = edit(&memory, Width::Two(0.3, 0.1));
    let changed = line
        .replace("kerf = '0 mm'", "kerf-x = \"0.3 mm\", kerf-y = \"0.1 mm\"")
        .replace("\"assumed\"", "\"coupon 2026-03-14; gap and edge assumed\"");
    assert_eq!(edit.text, text.replace(line, &changed));
    assert_eq!(kerfs(&after(&memory, &edit), "knife"), (0.3, 0.1));
}

#[test]
fn a_second_knife_gets_a_table_of_its_own() {
    let text =
        sample().text("job.toml").replace("[machines]", "[machines]\nother = \"drag-knife\"");
    let memory = sample().with("job.toml", text);
    let edit = edit(&memory, Width::One(0.15));
    assert!(edit.added && edit.on == "drag-knife-small" && edit.open.is_empty());
    let before = memory.text(PROFILE);
    let new = edit.text.strip_prefix(&before).unwrap();
    assert!(new.starts_with("\n[[cut]]\non = \"drag-knife-small\"\nkerf = \"0.15 mm\"\n"), "{new}");
    let made = after(&memory, &edit);
    let (own, other) = (made.setting("hinge-cloth", "knife"), made.setting("hinge-cloth", "other"));
    let (own, other) = (own.unwrap(), other.unwrap());
    assert_eq!((own.kerf_x, other.kerf_x), (0.15, 0.0));
    assert_eq!(
        (own.gap, own.edge, own.feed, own.passes),
        (other.gap, other.edge, other.feed, other.passes)
    );
}

#[test]
fn a_material_without_figures_gets_what_the_coupon_was_laid_with() {
    let leaf =
        "\n[[leaf]]\nid = \"L9\"\nmaterial = \"plain\"\nwidth = \"100 mm\"\nlength = \"150 mm\"\n";
    let text = sample().text("job.toml");
    let profile = "[material]\nsort = \"card\"\ncoating = \"none\"\nsource = \"mill\"";
    let memory = sample().with("job.toml", text + leaf).with("materials/plain.toml", profile);
    let read = job(&memory);
    let cut_down = coupon_job(&read, (Sort::Kerf, "plain", "knife"), "L9").unwrap();
    let setting = cut_down.setting("plain", "knife").unwrap();
    assert_eq!((setting.kerf_x, setting.gap, setting.edge, setting.feed), (0.0, 3.0, 3.0, None));
    assert_eq!(batches(&cut_down, &[]).unwrap()[0].group.pieces.len(), 30);
    let edit = edited(&read, "plain", "knife", &measured(Width::One(0.15))).unwrap();
    assert_eq!((edit.was.clone(), edit.added, &*edit.open), (None, true, &["feed"][..]));
    let made = after(&memory, &edit);
    let setting = made.setting("plain", "knife").unwrap();
    assert_eq!((setting.kerf_x, setting.gap, setting.edge), (0.15, 2.5, 4.0));
    assert!(edit.text.starts_with(&format!("{profile}\n\n[[cut]]\n")), "{}", edit.text);
}

#[test]
fn a_built_in_profile_is_copied_into_the_job() {
    let mut memory = sample();
    memory.job.remove(PROFILE);
    let edit = edit(&memory, Width::One(0.15));
    assert_eq!(
        (&*edit.path, edit.copied.as_deref()),
        (PROFILE, Some("built-in materials/hinge-cloth.toml"))
    );
    assert_eq!(kerfs(&after(&memory, &edit), "knife"), (0.15, 0.15));
}

#[test]
fn a_coupon_allows_for_no_kerf_and_keeps_clear() {
    let text = sample().text(PROFILE).replace("\"0 mm\"", "\"0.6 mm\"");
    let read = job(&sample().with(PROFILE, text));
    let cut_down = coupon_job(&read, (Sort::Kerf, "hinge-cloth", "knife"), "C1").unwrap();
    let (was, now) = (
        read.setting("hinge-cloth", "knife").unwrap(),
        cut_down.setting("hinge-cloth", "knife").unwrap(),
    );
    assert_eq!((now.kerf_x, now.kerf_y, now.tabs), (0.0, 0.0, 0.0));
    assert!((now.gap - (was.gap + 0.6).max(2.0)).abs() < 1e-12);
    assert!((now.edge - (was.edge + 0.3)).abs() < 1e-12);
    assert_eq!((now.feed, now.passes), (was.feed, was.passes));
    let list = batches(&cut_down, &[]).unwrap();
    assert_eq!((list.len(), list[0].group.grounds.len(), list[0].group.apart), (1, 1, now.gap));
    assert!(cut_down.parts.is_empty() && stops(&cut_down).is_empty());
}

#[test]
fn a_laser_that_must_not_have_it_gets_no_coupon_either() {
    let text =
        sample().text("job.toml").replace("[machines]", "[machines]\nlaser = \"diode-laser\"");
    let read = job(&sample().with("job.toml", text));
    let cut_down = coupon_job(&read, (Sort::Kerf, "pouch-leather", "laser"), "H1").unwrap();
    assert_eq!(stops(&cut_down).iter().map(|f| f.code).collect::<Vec<_>>(), ["E44"]);
}

#[test]
fn sheets_for_a_coupon_are_remnants_and_small_ones_first() {
    let text = sample().text("job.toml")
        + "\n[[leaf]]\nid = \"big\"\nmaterial = \"hinge-cloth\"\nwidth = \"1 m\"\nlength = \"1 m\"\n\n\
           [[leaf]]\nid = \"scrap\"\nmaterial = \"hinge-cloth\"\nwidth = \"90 mm\"\nlength = \"140 mm\"\n\n\
           [[leaf]]\nid = \"kept\"\nmaterial = \"hinge-cloth\"\nwidth = \"90 mm\"\nlength = \"140 mm\"\ncut-with = \"drag-knife\"\n";
    let read = job(&sample().with("job.toml", text));
    let list = coupon_sheets(&read, "hinge-cloth", "knife", None).unwrap();
    let ids: Vec<&str> = list.iter().map(|s| s.id.as_str()).collect();
    assert_eq!(ids, ["scrap", "C1", "big"]);
    let refused = |material: &str, machine: &str, sheet: Option<&str>| {
        told(&coupon_sheets(&read, material, machine, sheet).unwrap_err())
    };
    assert_eq!(
        refused("hinge-cloth", "knife", Some("H1")),
        "E32 job.toml:16:1 H1 is of pouch-leather, not of hinge-cloth | name a sheet of hinge-cloth, or --material pouch-leather"
    );
    assert_eq!(
        refused("hinge-clot", "knife", None),
        "E15 nowhere the job has no material \"hinge-clot\" | did you mean `hinge-cloth`?"
    );
    assert!(
        refused("hinge-cloth", "saw", None)
            .starts_with("E15 nowhere the job has no machine \"saw\"")
    );
    assert!(
        refused("hinge-cloth", "knife", Some("kept"))
            .contains("kept is for another machine than knife")
    );
}

/// The table as somebody fills it in: what is drawn, less or more the kerf.
fn filled(kx: f64, ky: f64) -> String {
    let fill = |line: &str| {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        let hole = matches!(&*cells[1], "round hole" | "window");
        let cuts = if cells[1] == "strips" { 10.0 } else { 1.0 };
        for (at, kerf) in [(2, kx), (3, ky)] {
            if let Ok(drawn) = cells[at].parse::<f64>() {
                cells[at + 2] =
                    format!("{:.3}", if hole { drawn + kerf } else { drawn - cuts * kerf });
            }
        }
        cells.join(",")
    };
    let table = readings_table("a coupon");
    let lines = table
        .lines()
        .map(|line| if line.starts_with(['#', 'n']) { line.to_owned() } else { fill(line) });
    lines.collect::<Vec<_>>().join("\n") + "\n"
}

fn refused(text: &str) -> Vec<String> {
    match read_readings("r.csv", text.as_bytes(), &mut Sources::default()) {
        Ok((filled, _)) => judge(&filled).unwrap_err().iter().map(told).collect(),
        Err(faults) => faults.iter().map(told).collect(),
    }
}

#[test]
fn a_table_that_was_filled_in_gives_its_kerf() {
    let read = |text: &str| read_readings("r.csv", text.as_bytes(), &mut Sources::default());
    let (empty, told) = read(&readings_table("a coupon")).unwrap();
    assert!(told.is_empty(), "{told:?}");
    assert_eq!((empty.readings.len(), empty.blanks.len(), empty.drawn.len()), (0, 42, 42));
    let (full, _) = read(&filled(0.3, 0.125)).unwrap();
    assert_eq!((full.readings.len(), full.blanks.len()), (42, 0));
    assert_eq!(judge(&full).unwrap().width(), Width::Two(0.3, 0.125));
    // Semicolons, inches in a cell, columns in another order: all the same figures.
    let other = filled(0.3, 0.125).replace(',', ";").replacen("19.700", "0.775590551 in", 1);
    assert_eq!(judge(&read(&other).unwrap().0).unwrap().width(), Width::Two(0.3, 0.125));
}

#[test]
fn slips_in_a_table_of_readings_are_told() {
    let good = filled(0.2, 0.2);
    assert_eq!(
        refused(&readings_table("a coupon")),
        [
            "E12 r.csv:4:1 nothing has been filled in | cut the coupon, measure it and write into the columns measured-x and measured-y"
        ]
    );
    assert_eq!(
        refused(&good.replacen("\n1,outside", "\n31,outside", 1)),
        [
            "E23 r.csv:5:1 the coupon has no outside at number 31 | the picture shows the numbers; rows are as the table was made"
        ]
    );
    assert_eq!(
        refused(&good.replacen("\n2,outside", "\n1,outside", 1)),
        [
            "E24 r.csv:7:1 outside of number 1 is given twice | delete one row; of several readings give the mean"
        ]
    );
    assert_eq!(
        refused(&good.replacen(
            "1,outside,20,16,19.800,15.800",
            "1,outside,20,16,15.800,19.800",
            1
        )),
        [
            "E66 r.csv:5:17 1, outside, along x; 1, outside, along y: 15.800 mm is the size along y | x and y are changed over in this row, or the piece was turned; along x is the long side of a plate"
        ]
    );
    assert_eq!(
        refused(&good.replacen("19.800", "0.7795", 1)),
        [
            "E66 r.csv:5:17 1, outside, along x: 0.7795 mm where 20 mm was drawn looks like inches | write 0.7795 in"
        ]
    );
    assert_eq!(
        refused(&good.replacen("19.800", "13.5", 1)),
        [
            "E67 r.csv:5:17 1, outside, along x: 13.5 mm where 20 mm was drawn makes a kerf of 6.50 mm | a kerf lies between 0 and 2 mm: measure again"
        ]
    );
    assert_eq!(
        refused(&good.replacen("measured-y (mm)", "note-2", 1)).len(),
        2,
        "the column that is missing, and the one that is not known"
    );
    assert_eq!(
        refused(&good.replacen(",20,16,", ",20,17,", 1)),
        [
            "E66 r.csv:5:14 1, outside, along y: 17 mm stands as drawn, and 16 mm was drawn | drawn-y is what the coupon has: put it back, and write what was measured into measured-y"
        ]
    );
    // A reading that is missing is told where it should stand.
    let text = good.replacen("19.800", "", 1);
    let (read, _) = read_readings("r.csv", text.as_bytes(), &mut Sources::default()).unwrap();
    let warned: Vec<String> = judge(&read).unwrap().warnings.iter().map(told).collect();
    assert_eq!(
        warned,
        [
            "W53 r.csv:5:17 no reading of 1, outside, along x | write it into measured-x; a piece that was spoilt may be left out"
        ]
    );
}

#[test]
fn no_prefix_and_no_bent_byte_of_a_table_is_a_panic() {
    let text = filled(0.2, 0.2);
    let read = |bytes: &[u8]| {
        if let Ok((filled, _)) = read_readings("r.csv", bytes, &mut Sources::default()) {
            let _ = judge(&filled);
        }
    };
    for end in 0..text.len() {
        read(&text.as_bytes()[..end]);
    }
    for at in 0..text.len() {
        for bit in [0x01, 0x10, 0x40, 0x80] {
            let mut bent = text.clone().into_bytes();
            bent[at] ^= bit;
            read(&bent);
        }
    }
}

/// A table filled in: every row gets these cells at its end.
fn with_cells(sort: Sort, cells: impl Fn(&[&str]) -> String) -> String {
    let text = finding_table(sort, "trial");
    let line = |line: &str| {
        let own: Vec<&str> = line.split(',').collect();
        if line.starts_with('#') || own[0] == "number" {
            return line.to_owned();
        }
        cells(&own)
    };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}

fn told_by(sort: Sort, text: &str) -> Finding {
    let (rows, head, faults) =
        read_findings(sort, "r.csv", text.as_bytes(), &mut Sources::default()).unwrap();
    assert!(faults.is_empty(), "{faults:?}");
    found(sort, &rows, &head).unwrap().0
}

#[test]
fn filled_tables_of_stretch_gap_and_hole_are_read() {
    let stretch = with_cells(Sort::Stretch, |c| {
        let drawn: f64 = c[2].parse().unwrap();
        let grown = drawn * if c[1] == "along" { 1.02 } else { 1.05 };
        format!(
            "{},{},{drawn},{drawn},{grown},{},",
            c[0],
            c[1],
            if c[0] == "1" { "500 gf" } else { "" }
        )
    });
    let Finding::Stretch(along, across, load) = told_by(Sort::Stretch, &stretch) else { panic!() };
    assert!((along.mean - 0.02).abs() < 1e-9 && (across.mean - 0.05).abs() < 1e-9);
    assert_eq!(load, "500 gf");
    let gap = with_cells(Sort::Gap, |c| {
        let wide: f64 = c[2].parse().unwrap();
        format!("{},{},{},{},", c[0], c[1], c[2], if wide < 1.2 { "torn" } else { "clean" })
    });
    assert_eq!(told_by(Sort::Gap, &gap), Finding::Gap(1.5, false));
    let hole = with_cells(Sort::Hole, |c| {
        let wide: f64 = c[1].parse().unwrap();
        format!("{},{wide},{wide},{wide},{},", c[0], if wide < 2.0 { "torn" } else { "clean" })
    });
    assert_eq!(told_by(Sort::Hole, &hole), Finding::Hole(2.0, false));
}

#[test]
fn findings_change_their_own_figures_and_nothing_else() {
    let memory = sample();
    let read = job(&memory);
    let growth = |mean| Growth { mean, spread: 0.001, count: 3 };
    let stretch = Finding::Stretch(growth(0.0123), growth(0.05), "5 N".to_owned());
    let edit = noted(&read, ("hinge-cloth", "knife"), &stretch, "coupon 2026-03-14").unwrap();
    let before = memory.text(PROFILE);
    let new = edit.text.strip_prefix(&before).unwrap();
    assert_eq!(
        new,
        "\n[stretch]\nalong = \"1.23 %\"\nacross = \"5 %\"\nsource = \"coupon 2026-03-14\"\n"
    );
    let made = after(&memory, &edit);
    let there = made.materials["hinge-cloth"].stretch.clone().unwrap();
    assert!((there.along - 0.0123).abs() < 1e-9 && (there.across - 0.05).abs() < 1e-9);
    // A second one changes the three values where they stand.
    let stretch = Finding::Stretch(growth(0.01), growth(0.04), "5 N".to_owned());
    let again = noted(&made, ("hinge-cloth", "knife"), &stretch, "coupon 2026-04-01").unwrap();
    assert_eq!(differing(&edit.text, &again.text).len(), 3);
    let gap =
        noted(&read, ("hinge-cloth", "knife"), &Finding::Gap(0.75, false), "coupon 2026-03-14")
            .unwrap();
    assert_eq!(differing(&before, &gap.text).len(), 2);
    let made = after(&memory, &gap);
    let setting = made.setting("hinge-cloth", "knife").unwrap();
    assert!((setting.gap - 0.75).abs() < 1e-9);
    // The kerf is still a guess, and the source goes on saying so.
    assert!(
        setting.source.is_assumed() && setting.source.text.contains("; gap: coupon 2026-03-14")
    );
    // A kerf measured then keeps what is known of the gap.
    let kerf = edited(&made, "hinge-cloth", "knife", &measured(Width::One(0.2))).unwrap();
    let last = job(&memory.clone().with(&kerf.path, kerf.text.clone()));
    let text = &last.setting("hinge-cloth", "knife").unwrap().source.text;
    assert_eq!(text, "coupon 2026-03-14; gap: coupon 2026-03-14; edge assumed");
    let hole =
        noted(&read, ("hinge-cloth", "knife"), &Finding::Hole(2.5, false), "coupon 2026-03-14")
            .unwrap();
    let made = after(&memory, &hole);
    let knife = made.machine("knife").unwrap();
    assert!((knife.smallest_hole - 2.5).abs() < 1e-9, "{}", hole.path);
    assert_eq!(hole.path, format!("machines/{}.toml", knife.key));
    assert!(knife.source.text.ends_with("; smallest hole: coupon 2026-03-14"));
}

/// A gap belongs to one machine; figures that two share stay as they are.
#[test]
fn figures_that_two_knives_share_are_left_alone() {
    let memory = sample();
    let text = memory.text("job.toml");
    let both = text.replace(
        "knife = \"drag-knife-small\"",
        "knife = \"drag-knife-small\"\nother = \"drag-knife\"",
    );
    assert!(both != text);
    let read = job(&memory.with("job.toml", both));
    let gap = Finding::Gap(0.75, false);
    let fault = noted(&read, ("hinge-cloth", "knife"), &gap, "coupon 2026-03-14").unwrap_err();
    crate::fault::tells([fault.code], "E68");
    assert!(fault.text.contains("hold for other machines too"), "{fault}");
    assert!(fault.cure.unwrap().contains("pouchwork coupon kerf"));
    // The width of the cut gets a table of the machine's own instead.
    let kerf = edited(&read, "hinge-cloth", "knife", &measured(Width::One(0.2))).unwrap();
    assert!(kerf.added);
}

#[test]
fn each_sort_of_coupon_is_laid_and_proven() {
    let read = job(&sample());
    for (sort, pieces) in [(Sort::Stretch, 6), (Sort::Gap, 2), (Sort::Hole, 1)] {
        let cut_down = coupon_job(&read, (sort, "hinge-cloth", "knife"), "C1").unwrap();
        let list = batches(&cut_down, &[]).unwrap();
        let group = &list[0].group;
        assert_eq!(group.pieces.len(), pieces);
        let effort = crate::lay::Effort::QUICK;
        let layout = crate::coupon::lay_coupon(group, effort, &crate::lay::Patient);
        assert!(layout.left.is_empty(), "{sort:?}");
        assert!(crate::lay::proof::prove(group, &layout).is_ok(), "{sort:?}");
    }
}
