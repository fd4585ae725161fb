//! `swing`: what turns reaches what stands, or a rapid passes under the circle it sweeps.

use std::sync::atomic::AtomicBool;

use dryturn_carve::Carved;
use dryturn_geom::{Motion, Motions, angle};
use dryturn_scene::{BlankShape, Job};

use crate::bodies::fixed_bodies;
use crate::contact::{Assembly, ContactReport, Examiner, FixedBody, FixedShape, MovingBody, SKIN, Stretch};
use crate::digits::mm;
use crate::evidence::{Evidence, plain};
use crate::finding::{Finding, Severity};
use crate::rings::{blank_rings, jaw_rings};
use crate::stretches::motions;

pub(super) fn findings(evidence: &Evidence<'_>) -> Vec<Finding> {
    let fixed = fixed_bodies(&evidence.job.scene);
    let reached = reached(evidence.job, &evidence.swept.rings, &fixed);
    let passed = evidence.swept.passed.contacts.iter().map(|contact| passes_under(evidence, contact));
    reached.into_iter().chain(passed).collect()
}

/// What turns sweeps, and what comes under it too early.
pub(crate) struct Swept {
    /// The circles of the blank and of the jaws.
    rings: [Vec<FixedBody>; 2],
    /// Contacts of rapids with them before anything is removed.
    passed: ContactReport,
}

impl Swept {
    /// `assemblies` and `fixed` are those of the job; once `cancel` is set what comes of it means nothing.
    pub(crate) fn of(
        job: &Job,
        carved: &Carved,
        assemblies: &[Assembly],
        fixed: &[FixedBody],
        cancel: Option<&AtomicBool>,
    ) -> Swept {
        let rings = [blank_rings(&job.scene.stock()), jaw_rings(fixed)];
        let first_cut = (0..job.count()).find(|&block| carved.removed_by(block) > 0.0).unwrap_or(job.count());
        // All that moves with a cutter is one body here: how high it must go matters, not which part asks for it.
        let whole = |assembly: &Assembly| {
            let parts = assembly.bodies.iter().flat_map(|body| body.parts.iter().copied()).collect();
            Assembly { bodies: vec![MovingBody { name: "cutter".to_owned(), parts }] }
        };
        let (whole, all) = (assemblies.iter().map(whole).collect::<Vec<_>>(), rings.concat());
        let (early, program_of) = (EarlyRapids { job, first_cut }, |block| job.program_of(block));
        let passed = Examiner::new(&early, &whole, &all, &program_of, cancel).report(&|row| job.scene.checks.near(row));
        Swept { rings, passed }
    }
}

/// What the circle is called, at the end of a sentence's subject.
fn circle(job: &Job, row: &str) -> &'static str {
    match (row, &job.scene.blank.shape) {
        ("jaws", _) => "the circle that the corners of the jaws sweep",
        (_, BlankShape::Round { .. } | BlankShape::Tube { .. }) => "the circle that the blank sweeps",
        _ => "the circle that the corners of the blank sweep",
    }
}

/// Bodies that stand within the circles; a blank that is never turned sweeps none.
fn reached(job: &Job, swept: &[Vec<FixedBody>], fixed: &[FixedBody]) -> Vec<Finding> {
    if !motions(job).any(|motion| motion.from.turn != motion.to.turn) {
        return Vec::new();
    }
    let pairs = swept.iter().flat_map(|rings| fixed.iter().map(move |body| (rings, body)));
    pairs
        .filter_map(|(rings, body)| {
            let deepest = rings.iter().filter_map(|ring| depth(ring, body)).fold(0.0, f64::max);
            let row = &rings.first()?.row;
            (deepest > SKIN).then(|| Finding {
                value: Some(deepest),
                unit: Some("mm"),
                text: format!("The {} lies {} inside {}.", body.row, mm(deepest), circle(job, row)),
                cure: match body.row.as_str() {
                    "bed" => "Use a smaller blank, or one turned round, or raise the rotary axis.".to_owned(),
                    name => format!("Move the {name} away by {} at the least, or use a smaller blank.", mm(deepest)),
                },
                ..plain("swing", Severity::Error)
            })
        })
        .collect()
}

/// How deep a body that never turns lies inside a cylinder about the axis, mm.
fn depth(ring: &FixedBody, body: &FixedBody) -> Option<f64> {
    let FixedShape::CylinderX { from, to, radius } = ring.shape else { return None };
    match body.shape {
        FixedShape::Below { height } => Some(radius + height),
        FixedShape::Box { x, y, z } => {
            let aside = |range: [f64; 2]| range[0].max(-range[1]).max(0.0);
            let overlaps = x[1].min(to) - x[0].max(from) > SKIN;
            overlaps.then(|| radius - angle::hypot(aside(y), aside(z)))
        }
        _ => None,
    }
}

/// The rapids that go sideways or turn the blank before anything is removed. One that goes straight down or up passes
/// over nothing.
struct EarlyRapids<'a> {
    job: &'a Job,
    first_cut: u32,
}

impl Motions for EarlyRapids<'_> {
    fn count(&self) -> u32 {
        self.first_cut
    }

    fn motion(&self, index: u32) -> Option<Motion> {
        let passes = |a: &Motion| a.arc.is_some() || (a.from.x, a.from.y, a.from.turn) != (a.to.x, a.to.y, a.to.turn);
        let motion = if index < self.first_cut { self.job.motion(index) } else { None };
        motion.filter(|motion| motion.rapid && passes(motion))
    }
}

fn passes_under(evidence: &Evidence<'_>, contact: &Stretch) -> Finding {
    let job = evidence.job;
    let deep = mm(contact.lift_mm);
    Finding {
        program: Some(contact.program),
        lines: Some((job.line_of(contact.first_block), job.line_of(contact.last_block))),
        worst_line: Some(job.line_of(contact.block)),
        blocks: contact.blocks,
        cutter: evidence.cutter_number(contact.cutter),
        place: evidence.place_at(contact.block, contact.share, contact.point),
        value: Some(contact.lift_mm),
        unit: Some("mm"),
        text: format!("A rapid passes {deep} under {}, before anything is cut.", circle(job, &contact.row)),
        cure: match contact.row.as_str() {
            "jaws" => format!("Raise the rapid by {deep} at the least, or keep it further out from the jaws."),
            _ => format!("Raise the rapid by {deep} at the least until the blank has been cut."),
        },
        ..plain("swing", Severity::Error)
    }
}
