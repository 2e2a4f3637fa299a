//! Papers chosen, held against printed figures and against every set there is.

use super::*;
use approx::assert_relative_eq;

const INCH: f64 = 25.4;

fn aim(target: f64, least: f64, wider: bool) -> Aim {
    Aim { target: target * INCH, least: least * INCH, within: WITHIN, most: 4, wider }
}

fn inches(list: &[f64]) -> Vec<f64> {
    list.iter().map(|it| it * INCH).collect()
}

/// .028 in with .0065 in of paper gives .0345, where .035 is the aim: a published rebuild of valves, MMD 2009.03.10.07.
#[test]
fn the_published_place_comes_out() {
    let made = choose(0.028 * INCH, &[], &inches(&[0.0065]), &aim(0.035, 0.030, true));
    assert_eq!(made.added, [1]);
    assert_relative_eq!(made.expected, 0.0345 * INCH, max_relative = 1e-12);
    assert_eq!((made.off, made.short), (None, None));
}

#[test]
fn the_least_is_kept_before_the_nearest() {
    // .0345 is nearer to .035 and below .035: the next paper up it is.
    let made = choose(0.028 * INCH, &[], &inches(&[0.0065, 0.009]), &aim(0.035, 0.035, true));
    assert_eq!(made.added, [0, 1]);
    assert_relative_eq!(made.expected, 0.037 * INCH, max_relative = 1e-12);
}

#[test]
fn few_papers_are_as_good_within_half_a_thousandth() {
    // Two of .0035 meet the aim to the last bit; one of .0065 is half a thousandth off.
    let papers = inches(&[0.0035, 0.0065]);
    let made = choose(0.028 * INCH, &[], &papers, &aim(0.035, 0.030, true));
    assert_eq!(made.added, [0, 1]);
    let exact = Aim { within: 0.0, ..aim(0.035, 0.030, true) };
    assert_eq!(choose(0.028 * INCH, &[], &papers, &exact).added, [2, 0]);
}

#[test]
fn a_gap_too_wide_gives_papers_back_and_then_asks_for_the_file() {
    let aim = aim(0.037, 0.035, true);
    let papers = inches(&[0.004]);
    let made = choose(0.041 * INCH, &inches(&[0.004, 0.009]), &papers, &aim);
    assert_eq!((made.removed, made.added), (vec![0], vec![0]));
    let made = choose(0.046 * INCH, &[], &papers, &aim);
    assert_eq!(made.added, [0]);
    assert_relative_eq!(made.off.unwrap(), 0.009 * INCH, max_relative = 1e-9);
    // Papers that make it narrower are the cure for the same gap, and none for one too narrow.
    let narrow = Aim { wider: false, ..aim };
    let made = choose(0.0455 * INCH, &[], &papers, &narrow);
    assert_eq!((made.added, made.off), (vec![2], None));
    let made = choose(0.030 * INCH, &inches(&[0.002]), &papers, &narrow);
    assert_eq!(made.removed, [0]);
    assert_relative_eq!(made.off.unwrap(), 0.005 * INCH, max_relative = 1e-9);
}

#[test]
fn what_papers_cannot_fill_is_told() {
    let made = choose(0.010 * INCH, &[], &inches(&[0.004]), &aim(0.037, 0.035, true));
    assert_eq!(made.added, [0]);
    assert_relative_eq!(made.short.unwrap(), 0.027 * INCH, max_relative = 1e-9);
}

/// Numbers by chance: a multiplier and modulus in print (Park and Miller, 1988).
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0 * 16_807 % 2_147_483_647;
        self.0 % n
    }
}

fn trials() -> usize {
    let text = std::env::var("POUCHWORK_TRIALS").unwrap_or_default();
    1000 * text.parse::<usize>().unwrap_or(1).max(1)
}

fn count(n: usize) -> i64 {
    i64::try_from(n).unwrap()
}

/// The rule by whole tenths of a thousandth and a list of every set, sorted: no code is shared.
fn brute(
    gap: i64,
    fitted: &[i64],
    papers: &[i64],
    aim: [i64; 4],
    wider: bool,
) -> Option<(i64, i64)> {
    let [target, least, within, most] = aim;
    let sign = if wider { 1 } else { -1 };
    let mut all: Vec<(i64, i64)> = Vec::new();
    let sets = (most + 1).pow(u32::try_from(papers.len()).unwrap());
    for taken in 0..1_i64 << fitted.len() {
        let out: Vec<i64> = fitted
            .iter()
            .enumerate()
            .filter(|(n, _)| taken / (1 << n) % 2 == 1)
            .map(|(_, it)| *it)
            .collect();
        for set in 0..sets {
            let mut rest = set;
            let (mut many, mut thick) = (0, 0);
            for paper in papers {
                many += rest % (most + 1);
                thick += rest % (most + 1) * paper;
                rest /= most + 1;
            }
            let kept = count(fitted.len()) - count(out.len());
            if many > 0 && many + kept > most {
                continue;
            }
            let comes_to = gap + sign * (thick - out.iter().sum::<i64>());
            if comes_to >= least {
                all.push((many + count(out.len()), comes_to));
            }
        }
    }
    let nearest = all.iter().map(|(_, gap)| (gap - target).abs()).min()?;
    all.retain(|(_, gap)| (gap - target).abs() <= nearest + within);
    let hands = all.iter().map(|(hands, _)| *hands).min()?;
    let best = all.iter().filter(|it| it.0 == hands).map(|(_, gap)| (gap - target).abs()).min()?;
    Some((hands, best))
}

#[test]
fn every_set_of_papers_tried_finds_none_better() {
    #[allow(clippy::cast_precision_loss, reason = "small figures")]
    let mm = |tenths: i64| tenths as f64 * 2.54e-3;
    let mut chance = Chance(20_261_126);
    let mut pick = |least: i64, most: i64| {
        least + i64::try_from(chance.below(u64::try_from(most - least + 1).unwrap())).unwrap()
    };
    let (mut met, mut refused) = (0, 0);
    for n in 0..trials() {
        let gap = pick(150, 600);
        let fitted: Vec<i64> = (0..pick(0, 3)).map(|_| pick(10, 60)).collect();
        let papers: Vec<i64> = (0..pick(1, 3)).map(|_| pick(10, 120)).collect();
        let target = pick(300, 420);
        let figures = [target, target - pick(0, 40), pick(0, 10), pick(0, 4)];
        let wider = pick(0, 1) == 0;
        let aim = Aim {
            target: mm(figures[0]),
            least: mm(figures[1]),
            within: mm(figures[2]),
            most: u32::try_from(figures[3]).unwrap(),
            wider,
        };
        let (was, stock): (Vec<f64>, Vec<f64>) =
            (fitted.iter().map(|t| mm(*t)).collect(), papers.iter().map(|t| mm(*t)).collect());
        let made = choose(mm(gap), &was, &stock, &aim);
        let hands = i64::from(made.added.iter().sum::<u32>()) + count(made.removed.len());
        // The gap is the sum of what comes and goes.
        let out: f64 = made.removed.iter().map(|n| was[*n]).sum();
        let put: f64 = made.added.iter().zip(&stock).map(|(n, t)| f64::from(*n) * t).sum();
        let sign = if wider { 1.0 } else { -1.0 };
        assert_relative_eq!(made.expected, mm(gap) + sign * (put - out), epsilon = 1e-9);
        if let Some((fewest, off)) = brute(gap, &fitted, &papers, figures, wider) {
            met += 1;
            assert_eq!(hands, fewest, "trial {n}");
            let by = (made.expected - aim.target).abs();
            assert_relative_eq!(by, mm(off), epsilon = 1e-9);
            assert!(made.expected >= aim.least - 1e-9, "trial {n}");
        } else {
            refused += 1;
            assert!(made.added.iter().all(|n| *n == 0), "trial {n}");
            assert!(made.off.or(made.short).is_some(), "trial {n}");
        }
    }
    assert!(met > refused && refused > 0, "{met} met, {refused} refused");
}
