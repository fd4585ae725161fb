//! What mistake lies behind what is wrong: `zero-height`, `flat-program`, `wrong-rotary-word`, `wrong-units`, `mirrored`,
//! `rezero-off-turn`, `wrong-length`.
//!
//! # Theory
//!
//! Few mistakes of the trade are single: one wrong zero, one wrong word, and a hundred places look wrong. Each leaves
//! evidence in the moves themselves, which costs one look at every block ([`work`]). Only where that evidence asks for it
//! the job is carved once more, on a coarse grid, as it would run without the mistake ([`reading`]): a mistake is told as
//! an error where that reading fits the target far better, or where the wood itself decides between the two, as where one
//! ploughs through it with rapids and the other does not. Evidence alone is a warning.

mod altered;
mod flat_program;
mod mirrored;
mod reading;
mod rezero;
mod rotary_word;
mod units;
mod words;
mod work;
mod wrong_length;
mod zero_height;

use dryturn_carve::{CarveError, RunOptions};

use crate::evidence::Evidence;
use crate::finding::Finding;
use reading::Desk;
use work::Work;

/// The mistakes that a job shows.
///
/// # Errors
/// As [`dryturn_carve::carve`].
pub(crate) fn findings(evidence: &Evidence<'_>, options: &RunOptions<'_>) -> Result<Vec<Finding>, CarveError> {
    let desk = Desk::new(evidence, options);
    let works: Vec<Work> =
        (0..evidence.job.programs.len()).filter_map(|program| Work::of(evidence.job, program)).collect();
    let mut findings = units::findings(&desk, &works)?;
    findings.extend(zero_height::findings(&desk, &works)?);
    findings.extend(rotary_word::findings(&desk)?);
    findings.extend(flat_program::findings(&desk, &works)?);
    findings.extend(mirrored::findings(&desk, &works)?);
    findings.extend(rezero::findings(&desk)?);
    findings.extend(wrong_length::findings(&desk)?);
    Ok(findings)
}
