//! The rules, by what they look at.

mod contacts;
mod feed;
mod grid;
mod grip;
mod gripped;
mod holding;
pub(crate) mod language;
pub(crate) mod loads;
mod loose_piece;
mod motion;
mod strength;
pub(crate) mod swing;
mod target;
mod uphill;
mod winding;
mod wood;

use rayon::prelude::*;

use crate::evidence::Evidence;
use crate::finding::Finding;

/// What each rule has to say, in the order in which people are told.
const RULES: [fn(&Evidence<'_>) -> Vec<Finding>; 15] = [
    contacts::findings,
    swing::findings,
    wood::findings,
    loose_piece::findings,
    loads::findings,
    target::findings,
    motion::findings,
    winding::findings,
    feed::findings,
    holding::findings,
    grip::findings,
    language::findings,
    strength::findings,
    uphill::findings,
    grid::findings,
];

/// All findings of a run; the rules are asked side by side.
pub(crate) fn all(evidence: &Evidence<'_>) -> Vec<Finding> {
    RULES.par_iter().flat_map_iter(|rule| rule(evidence)).collect()
}
