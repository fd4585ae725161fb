//! The mistakes behind what is wrong.

mod flat_program;
mod mirrored;
mod rezero;
mod rotary_word;
mod units;
mod wrong_length;
mod zero_height;

use dryturn_check::Finding;

use crate::common::{job_with, run};

/// What a rule finds in a job of whole text, with a target in p.csv.
pub(super) fn beside(rule: &str, scene: &str, programs: &[&str], profile: &str) -> Vec<Finding> {
    let job = job_with(scene, programs, &[("p.csv", profile)]);
    run(&job).findings.into_iter().filter(|finding| finding.rule == rule).collect()
}
