//! `gouge`, `leftover`, `blank-too-small`.

use std::ops::Range;

use dryturn_carve::is_block;

use crate::digits::{mm, mm_beside, mm_figures, short};
use crate::evidence::{Evidence, Met, plain};
use crate::finding::{Finding, Severity};
use crate::target::{Comparison, Kind, Patch};

/// Most patches of a kind that are told one by one; the rest is told together.
const TOLD: usize = 20;
/// The same beside the mistake that has made them.
const TOLD_BESIDE: usize = 3;
/// A patch of less than this besides greater ones is not told by itself, mm³.
const SPECK: f64 = 0.001;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let Some(comparison) = evidence.target else { return Vec::new() };
    let of = |kind: Kind, far: bool| {
        let patches = comparison.patches.iter().filter(move |patch| (patch.kind, patch.is_out_of_reach) == (kind, far));
        told(evidence, patches.collect())
    };
    let mut findings = beyond_end(evidence, comparison);
    findings.extend(
        [
            of(Kind::Short, false),
            of(Kind::Gouge, false),
            of(Kind::Leftover, false),
            of(Kind::Leftover, true),
            of(Kind::Dimple, false),
        ]
        .concat(),
    );
    findings
}

fn beyond_end(evidence: &Evidence<'_>, comparison: &Comparison) -> Vec<Finding> {
    let allowed = evidence.job.scene.target.as_ref().map_or(0.0, |target| target.gouge);
    let beyond = comparison.beyond_end_mm;
    let finding = || Finding {
        value: Some(beyond),
        unit: Some("mm"),
        text: format!("The target reaches {} beyond the free end of the blank.", mm(beyond)),
        cure: LARGER.to_owned(),
        ..plain("blank-too-small", Severity::Error)
    };
    (beyond > allowed).then(finding).into_iter().collect()
}

const LARGER: &str = "Take a larger blank, hold it further out, or move the target with target.place.";

fn told(evidence: &Evidence<'_>, mut patches: Vec<&Patch>) -> Vec<Finding> {
    if patches.len() > 1 {
        patches.retain({
            let worst = patches[0].worst;
            move |patch| patch.mm3 >= SPECK || patch.worst == worst
        });
    }
    let together = together(evidence, &patches);
    let most = if evidence.is_explained { TOLD_BESIDE } else { TOLD };
    let (first, rest) = together.split_at(together.len().min(most));
    let mut findings: Vec<Finding> = first.iter().map(|patches| finding(evidence, patches)).collect();
    if let Some(worst) = rest.first() {
        let more = finding(evidence, worst);
        let places: usize = rest.iter().map(Vec::len).sum();
        let text = format!("{places} more such places, the worst of them: {}", lower(&more.text));
        findings.push(Finding { text, ..more });
    }
    findings
}

/// Patches that runs of the same blocks have made, in the order of the first of them: one pass leaves one finding, however
/// often the wood is beyond its tolerance along it.
fn together<'a>(evidence: &Evidence<'_>, patches: &[&'a Patch]) -> Vec<Vec<&'a Patch>> {
    let mut groups: Vec<(Range<u32>, Vec<&Patch>)> = Vec::new();
    for patch in patches {
        let blocks = blocks_of(evidence, patch);
        // No block made it: an empty run, which meets no other.
        let run = blocks.first().zip(blocks.last()).map_or(0..0, |(first, last)| *first..last + 1);
        let of = |run: &Range<u32>| (evidence.job.program_of(run.start), evidence.job.cutter_index(run.start));
        let meets = |other: &Range<u32>| other.start < run.end && run.start < other.end && of(other) == of(&run);
        match groups.iter_mut().find(|(other, _)| meets(other)) {
            Some((other, members)) => {
                *other = other.start.min(run.start)..other.end.max(run.end);
                members.push(patch);
            }
            None => groups.push((run, vec![patch])),
        }
    }
    groups.into_iter().map(|(_, members)| members).collect()
}

/// The blocks of a patch that belong to the program and the cutter of its worst place.
fn blocks_of(evidence: &Evidence<'_>, patch: &Patch) -> Vec<u32> {
    let worst = patch.worst.by;
    if !is_block(worst) {
        return Vec::new();
    }
    let of = |block: u32| (evidence.job.program_of(block), evidence.job.cutter_index(block));
    patch.blocks.iter().copied().filter(|block| is_block(*block) && of(*block) == of(worst)).collect()
}

/// A sentence that goes on after a colon.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// The finding of patches made by the same blocks, the worst first.
fn finding(evidence: &Evidence<'_>, patches: &[&Patch]) -> Finding {
    let patch = patches[0];
    let (rule, severity, text, cure) = words(evidence, patch, patches);
    let worst = &patch.worst;
    let block = is_block(worst.by).then_some(worst.by);
    let mut blocks: Vec<u32> = patches.iter().flat_map(|patch| blocks_of(evidence, patch)).collect();
    blocks.sort_unstable();
    blocks.dedup();
    let lines = blocks.first().zip(blocks.last()).map(|(a, b)| (evidence.job.line_of(*a), evidence.job.line_of(*b)));
    let [station, theta, radius] = [worst.station, worst.theta, worst.radius].map(f64::from);
    Finding {
        program: block.map(|block| evidence.job.program_of(block)),
        lines,
        worst_line: block.map(|block| evidence.job.line_of(block)),
        blocks: blocks.len() as u32,
        cutter: block.and_then(|block| evidence.cutter_number(evidence.job.cutter_index(block)?)),
        place: Some(evidence.place_on_ray(block, station, theta, radius, Met::OnTop)),
        value: Some(f64::from(worst.depth())),
        unit: Some("mm"),
        text,
        cure,
        ..plain(rule, severity)
    }
}

/// How much, and in how many places; nothing of a volume too small to be told.
fn extent(patches: &[&Patch], what: &str) -> String {
    let mm3: f64 = patches.iter().map(|patch| patch.mm3).sum();
    let volume = if mm3 < 0.005 { String::new() } else { format!("; about {} mm³{what}", short(mm3)) };
    match patches.len() {
        1 => volume,
        count => format!("{volume}, in {count} places"),
    }
}

fn words(evidence: &Evidence<'_>, patch: &Patch, all: &[&Patch]) -> (&'static str, Severity, String, String) {
    let extent = |what: &str| extent(all, what);
    let allowed = |allowed: f64| match f64::from(patch.worst.chord) {
        chord if chord >= 0.0005 => {
            format!("{} mm allowed, and {} mm for the facets of the mesh", mm_figures(allowed), mm_figures(chord))
        }
        _ => format!("{} mm allowed", mm_figures(allowed)),
    };
    let (gouge, leftover) = evidence
        .job
        .scene
        .target
        .as_ref()
        .map_or((0.0, 0.0), |target| (target.gouge, target.leftover + target.allowance));
    let limit = f64::from(patch.worst.chord) + if patch.kind == Kind::Gouge { gouge } else { leftover };
    let depth = format!("{} mm", mm_beside(f64::from(patch.worst.depth()), limit)[0]);
    match (patch.kind, patch.is_out_of_reach) {
        (Kind::Gouge, _) => (
            "gouge",
            Severity::Error,
            format!("The piece is cut {depth} into the target ({}){}.", allowed(gouge), extent(" are missing")),
            "Check the zeros, the size of the cutter and the lines named, and whether the target stands where it should."
                .to_owned(),
        ),
        (Kind::Leftover, false) => (
            "leftover",
            Severity::Warning,
            format!("Up to {depth} of wood stay over the target ({}){}.", allowed(leftover), extent("")),
            "Check whether a pass is missing, or raise target.leftover or target.allowance if it is meant to stay."
                .to_owned(),
        ),
        (Kind::Leftover, true) => (
            "leftover",
            Severity::Note,
            format!("Up to {depth} of wood stay where no cutter of this job can reach{}.", extent("")),
            "Nothing to do if it is finished by hand; a smaller cutter may reach further.".to_owned(),
        ),
        (Kind::Short, _) => (
            "blank-too-small",
            Severity::Error,
            format!("The target stands up to {depth} out of the blank ({}).", allowed(gouge)),
            LARGER.to_owned(),
        ),
        (Kind::Dimple, _) => (
            "blank-too-small",
            Severity::Note,
            format!("The dimple of the live center goes {depth} into the target."),
            "Nothing to do if the mark may stay in the end of the piece; else take a longer blank.".to_owned(),
        ),
    }
}
