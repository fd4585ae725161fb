//! `cutter-hits`, `shank-hits`, `holder-hits`, `spindle-hits`, `near-miss`.

use crate::contact::{PairClearance, Stretch};
use crate::digits::{mm, mm_beside, short};
use crate::evidence::{Evidence, capital, plain};
use crate::finding::{Cure, Finding, Remedy, Severity};

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let cured = evidence.contacts.contacts.iter().zip(evidence.cures);
    let hits = cured.map(|(contact, cures)| hit(evidence, contact, cures));
    let misses = evidence.contacts.near.iter().map(|pair| near_miss(evidence, pair));
    hits.chain(misses).collect()
}

/// The rule of a moving body; what the scene names itself hangs on the spindle.
fn rule_of(moving: &str) -> &'static str {
    match moving {
        "cutter" => "cutter-hits",
        "shank" => "shank-hits",
        "holder" => "holder-hits",
        _ => "spindle-hits",
    }
}

/// What is met, with its number where there are several.
fn met(row: &str, which: u32) -> String {
    match (row, which) {
        ("jaws", which) => format!("jaw {which}"),
        ("screw", which) => format!("screw {which}"),
        (row, _) => format!("the {row}"),
    }
}

/// The same with the angle θ it stands at.
fn met_at(evidence: &Evidence<'_>, row: &str, which: u32) -> String {
    let scene = &evidence.job.scene;
    let at = which.checked_sub(1);
    let jaws = || scene.chuck.as_ref()?.jaws.as_ref();
    let angle = match row {
        "jaws" => at.zip(jaws()).map(|(at, jaws)| jaws.turned_deg + 360.0 * f64::from(at) / f64::from(jaws.count)),
        "screw" => at
            .zip(scene.faceplate.as_ref())
            .and_then(|(at, plate)| plate.screws.get(at as usize))
            .map(|screw| screw.angle_deg),
        _ => None,
    };
    let name = met(row, which);
    angle.map_or(name.clone(), |angle| format!("{name} at {}°", short(angle.rem_euclid(360.0))))
}

/// What moves, at the beginning of a sentence.
fn body(moving: &str, cutter: Option<u32>) -> String {
    let number = cutter.unwrap_or_default();
    if moving == "cutter" { format!("Cutter {number}") } else { format!("The {moving} over cutter {number}") }
}

fn hit(evidence: &Evidence<'_>, contact: &Stretch, cures: &[Cure]) -> Finding {
    let number = evidence.cutter_number(contact.cutter);
    let body = body(&contact.moving, number);
    Finding {
        program: Some(contact.program),
        lines: Some((evidence.job.line_of(contact.first_block), evidence.job.line_of(contact.last_block))),
        worst_line: Some(evidence.job.line_of(contact.block)),
        blocks: contact.blocks,
        cutter: number,
        place: evidence.place_at(contact.block, contact.share, contact.point),
        value: Some(-contact.lift_mm),
        unit: Some("mm"),
        text: format!(
            "{body} hits {}: it would have to be {} higher to pass.",
            met_at(evidence, &contact.row, contact.which),
            mm(contact.lift_mm)
        ),
        cure: proved(evidence, contact, cures).unwrap_or_else(|| cure(contact)),
        cures: cures.to_vec(),
        ..plain(rule_of(&contact.moving), Severity::Error)
    }
}

/// The cures that were proved, as a sentence; of both ways to move the X zero only the shorter.
fn proved(evidence: &Evidence<'_>, contact: &Stretch, cures: &[Cure]) -> Option<String> {
    let near = short(evidence.job.scene.checks.near(&contact.row));
    let number = evidence.cutter_number(contact.cutter).unwrap_or_default();
    let mut told: Vec<String> = Vec::new();
    for (at, cure) in cures.iter().enumerate() {
        if !cures[..at].iter().any(|before| before.what == cure.what) {
            told.push(told_cure(cure, number, &near));
        }
    }
    (!told.is_empty()).then(|| {
        let all = capital(&told.join(", or "));
        format!("{all}; proved against all bodies but not for the wood, so prove the job again.")
    })
}

fn told_cure(cure: &Cure, number: u32, near: &str) -> String {
    let unit = |value: f64| {
        if cure.what == Remedy::JawsTurned { format!("{}°", short(value)) } else { format!("{value:.2} mm") }
    };
    // The new value where there is one now, else the change.
    let value = |change: f64| unit(cure.now.map_or(change.abs(), |now| now + change));
    let wanted = cure.with_near.map_or(String::new(), |change| format!(" or {} for `near` {near}", value(change)));
    let values = format!("{} (touches){wanted}", value(cure.touching));
    match cure.what {
        Remedy::ZeroX if cure.touching > 0.0 => format!("set the X zero further from the chuck by {values}"),
        Remedy::ZeroX => format!("set the X zero nearer to the chuck by {values}"),
        Remedy::Stickout => format!("let cutter {number} stick out {values}"),
        Remedy::Retract => format!("raise these rapids by {values}"),
        Remedy::ScrewLength => format!("use screws that go in {values}"),
        Remedy::ScrewRadius => format!("place the screws on a radius of {values}"),
        Remedy::JawsTurned => format!("turn the jaws to {values}"),
    }
}

/// Where nothing within reach was proved.
fn cure(contact: &Stretch) -> String {
    let lift = mm(contact.lift_mm);
    match (contact.moving.as_str(), contact.row.as_str()) {
        ("cutter", "jaws" | "chuck" | "faceplate" | "drive") => {
            "Move the X zero away from the holding, or keep the program's stations further out.".to_owned()
        }
        ("cutter", "screw") => "Use shorter screws, or place them where the program does not cut.".to_owned(),
        ("cutter", "center" | "head" | "quill" | "tailstock") => {
            "Let the program's stations end sooner, or take a longer blank.".to_owned()
        }
        ("cutter", "bed") => "Check the Z zero and the bed's depth; cut less far below the axis.".to_owned(),
        ("cutter", _) => "Keep the program clear of it, or move it out of the way.".to_owned(),
        ("shank", _) => "Keep the program clear of it, or use a cutter with a thinner shank.".to_owned(),
        ("holder" | "spindle", "bed") => format!("Let the cutter stick out at least {lift} further."),
        ("holder" | "spindle", _) => {
            format!("Let the cutter stick out at least {lift} further, or keep the program clear of it.")
        }
        (moving, _) => format!("Fasten the {moving} at least {lift} higher, or keep the program clear."),
    }
}

/// A name as a key of a TOML table.
fn key(name: &str) -> String {
    let bare = name.chars().all(|letter| letter.is_ascii_alphanumeric() || "-_".contains(letter));
    if bare { name.to_owned() } else { format!("{name:?}") }
}

fn near_miss(evidence: &Evidence<'_>, pair: &PairClearance) -> Finding {
    let near = evidence.job.scene.checks.near(&pair.row);
    let line = evidence.job.line_of(pair.block);
    let number = evidence.cutter_number(pair.cutter);
    let body = body(&pair.moving, number);
    let [least, near] = mm_beside(pair.least_mm, near);
    Finding {
        program: Some(pair.program),
        lines: Some((line, line)),
        worst_line: Some(line),
        blocks: 1,
        cutter: number,
        place: evidence.place_at(pair.block, pair.share, pair.point),
        value: Some(pair.least_mm),
        unit: Some("mm"),
        text: format!(
            "{body} passes {} at {least} mm, nearer than the {near} mm asked for.",
            met(&pair.row, pair.which)
        ),
        cure: format!(
            "Give it more room, or, if that distance is enough, write near = {{ {} = … }} under [checks].",
            key(&pair.row)
        ),
        ..plain("near-miss", Severity::Warning)
    }
}
