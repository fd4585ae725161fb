//! `gouge`, `leftover`, `blank-too-small`.

use dryturn_carve::{PREPARED, UNTOUCHED};

use crate::evidence::{Evidence, Met, mm, plain, short};
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
    let most = if evidence.is_explained { TOLD_BESIDE } else { TOLD };
    let (first, rest) = patches.split_at(patches.len().min(most));
    let mut findings: Vec<Finding> = first.iter().map(|patch| finding(evidence, patch)).collect();
    if let Some(worst) = rest.first() {
        let more = finding(evidence, worst);
        let text = format!("{} more such places, the worst of them: {}", rest.len(), lower(&more.text));
        findings.push(Finding { text, ..more });
    }
    findings
}

/// A sentence that goes on after a colon.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

fn finding(evidence: &Evidence<'_>, patch: &Patch) -> Finding {
    let (rule, severity, text, cure) = words(evidence, patch);
    let worst = &patch.worst;
    let is_cut = worst.by != UNTOUCHED && worst.by != PREPARED;
    let block = is_cut.then_some(worst.by);
    let program = block.map(|block| evidence.job.program_of(block));
    let cutter = block.and_then(|block| evidence.job.cutter_index(block));
    let same = |block: &&u32| {
        **block < PREPARED
            && Some(evidence.job.program_of(**block)) == program
            && evidence.job.cutter_index(**block) == cutter
    };
    let blocks: Vec<u32> = patch.blocks.iter().filter(|_| is_cut).filter(same).copied().collect();
    let lines = blocks.first().zip(blocks.last()).map(|(a, b)| (evidence.job.line_of(*a), evidence.job.line_of(*b)));
    let [station, theta, radius] = [worst.station, worst.theta, worst.radius].map(f64::from);
    Finding {
        program,
        lines,
        blocks: blocks.len() as u32,
        cutter: cutter.and_then(|cutter| evidence.cutter_number(cutter)),
        place: Some(evidence.place_on_ray(block, station, theta, radius, Met::OnTop)),
        value: Some(f64::from(worst.depth())),
        unit: Some("mm"),
        text,
        cure,
        ..plain(rule, severity)
    }
}

fn words(evidence: &Evidence<'_>, patch: &Patch) -> (&'static str, Severity, String, String) {
    let depth = mm(f64::from(patch.worst.depth()));
    let volume = short(patch.mm3);
    let allowed = |allowed: f64| match f64::from(patch.worst.chord) {
        chord if chord >= 0.0005 => format!("{} allowed, and {} for the facets of the mesh", mm(allowed), mm(chord)),
        _ => format!("{} allowed", mm(allowed)),
    };
    let (gouge, leftover) = evidence
        .job
        .scene
        .target
        .as_ref()
        .map_or((0.0, 0.0), |target| (target.gouge, target.leftover + target.allowance));
    match (patch.kind, patch.is_out_of_reach) {
        (Kind::Gouge, _) => (
            "gouge",
            Severity::Error,
            format!("The piece is cut {depth} into the target ({}); {volume} mm³ are missing.", allowed(gouge)),
            "Check the zeros, the size of the cutter and the lines named, and whether the target stands where it should."
                .to_owned(),
        ),
        (Kind::Leftover, false) => (
            "leftover",
            Severity::Warning,
            format!("Up to {depth} of wood stay over the target ({}), {volume} mm³.", allowed(leftover)),
            "Check whether a pass is missing, or raise target.leftover or target.allowance if it is meant to stay."
                .to_owned(),
        ),
        (Kind::Leftover, true) => (
            "leftover",
            Severity::Note,
            format!("Up to {depth} of wood stay where no cutter of this job can reach, {volume} mm³."),
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
