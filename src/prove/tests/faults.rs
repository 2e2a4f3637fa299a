//! Seeded faults: each kind on many random jobs, each caught by the invariant that is meant for it.

mod kinds;
mod words;

use super::good::{proven, told};
use super::job::{Chance, Job, any_job};
use super::{emit, program, trials};

/// A file to be spoilt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum File {
    Svg,
    Dxf,
    OldDxf,
    Laser,
    Knife,
}

const DRAWINGS: &[File] = &[File::Svg, File::Dxf, File::OldDxf];
const BEAMS: &[File] = &[File::Svg, File::Dxf, File::OldDxf, File::Laser];
const ALL: &[File] = &[File::Svg, File::Dxf, File::OldDxf, File::Laser, File::Knife];

/// How it is spoilt: the job before it is written, the body, or the manifest. The body's hash is made anew, but for the
/// last way.
enum How {
    Job(fn(&mut Job, &mut Chance)),
    Body(fn(&str, &mut Chance) -> String),
    Papers(fn(&mut Vec<String>)),
    Text(fn(&str) -> String),
}

struct Kind(&'static str, &'static str, &'static [File], How);

impl File {
    fn name(self) -> &'static str {
        match self {
            File::Svg => "a-laser.svg",
            File::Dxf => "a-laser.dxf",
            File::OldDxf => "a-laser-r12-mm.dxf",
            File::Laser => "a-laser.gcode",
            File::Knife => "a-knife.gcode",
        }
    }

    fn parts(self, job: &Job) -> (String, Vec<String>) {
        match self {
            File::Svg => (emit::svg_body(job), emit::papers(job, &[])),
            File::Dxf | File::OldDxf => {
                (emit::dxf_body(job, self == File::Dxf), emit::papers(job, &[]))
            }
            File::Laser | File::Knife => program::parts(job),
        }
    }

    fn whole(self, body: &str, papers: &[String]) -> String {
        match self {
            File::Svg => emit::with_desc(body, papers),
            File::Dxf | File::OldDxf => emit::with_comments(body, papers),
            File::Laser | File::Knife => program::with_papers(body, papers),
        }
    }
}

#[test]
fn seeded_faults_are_caught_by_the_invariant_meant_for_them() {
    let kinds: Vec<Kind> = kinds::kinds().into_iter().chain(words::kinds()).collect();
    assert!(kinds.len() >= 60, "{} kinds", kinds.len());
    let mut missed = Vec::new();
    for (k, Kind(what, invariant, files, how)) in kinds.iter().enumerate() {
        for seed in 0..trials(25) {
            let file = files[usize::try_from(seed).unwrap() % files.len()];
            let mut job = any_job(seed + 1000, file != File::Knife);
            let mut chance = Chance(seed * 31 + u64::try_from(k).unwrap());
            if let How::Job(spoil) = how {
                spoil(&mut job, &mut chance);
            }
            let (mut body, mut papers) = file.parts(&job);
            let (good, lines) = (body.clone(), papers.clone());
            match how {
                How::Job(_) | How::Text(_) => {}
                How::Body(spoil) => {
                    body = spoil(&body, &mut chance);
                    assert_ne!(body, good, "{what}: nothing was spoilt");
                }
                How::Papers(spoil) => {
                    spoil(&mut papers);
                    assert_ne!(papers, lines, "{what}: nothing was spoilt");
                }
            }
            let mut text = file.whole(&body, &papers);
            if let How::Text(spoil) = how {
                text = spoil(&text);
            }
            let verdict = proven(&job, &text, file.name());
            if !verdict.broken().any(|i| i.name == *invariant) {
                missed
                    .push(format!("{what}, job {seed}, {file:?}: {invariant}\n{}", told(&verdict)));
                break;
            }
        }
    }
    assert!(missed.is_empty(), "{} of {}\n{}", missed.len(), kinds.len(), missed.join("\n\n"));
}
