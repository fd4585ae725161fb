//! How the blank is held: `slender`, `center-overextended`; and what the scene itself gives notes on.

use crate::digits::{beside, mm, mm_beside};
use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let notes = evidence.job.scene.notes.iter().map(|note| Finding {
        text: note.clone(),
        cure: "Nothing to do if it is meant.".to_owned(),
        ..plain("set-up", Severity::Note)
    });
    [slender(evidence), center_overextended(evidence)].into_iter().flatten().chain(notes).collect()
}

fn slender(evidence: &Evidence<'_>) -> Option<Finding> {
    let scene = &evidence.job.scene;
    let stock = scene.stock();
    let (free, diameter) = (stock.end(), 2.0 * stock.corner_radius());
    let ratio = free / diameter;
    let alone = scene.holding_described() && scene.tailstock.is_none();
    (alone && ratio > scene.checks.slender).then(|| Finding {
        value: Some(ratio),
        unit: Some("diameters"),
        text: format!(
            "The blank stands out {} from its holding, {} times its greatest diameter, without a tailstock.",
            mm(free),
            beside(ratio, scene.checks.slender)[0]
        ),
        cure: "Support the free end with a live center, or hold a shorter blank.".to_owned(),
        ..plain("slender", Severity::Warning)
    })
}

fn center_overextended(evidence: &Evidence<'_>) -> Option<Finding> {
    let scene = &evidence.job.scene;
    let tailstock = scene.tailstock.as_ref()?;
    let severity = if tailstock.extension > tailstock.quill { Severity::Warning } else { Severity::Note };
    let [out, allowed] = mm_beside(tailstock.extension, scene.checks.center_overextended);
    (tailstock.extension > scene.checks.center_overextended).then(|| Finding {
        value: Some(tailstock.extension),
        unit: Some("mm"),
        text: format!("The quill stands out {out} mm from the tailstock, more than {allowed} mm."),
        cure: "Move the tailstock up and draw the quill back as far as it goes.".to_owned(),
        ..plain("center-overextended", severity)
    })
}
