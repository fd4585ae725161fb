//! How far the wood and the cutter give way under a cut.

use super::bar::Give;
use super::stem::Stem;
use crate::load::Load;

/// How far a load pushes the wood and the cutter apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sprung {
    /// Least and greatest, mm.
    pub(crate) ends: [f64; 2],
    /// Whether the wood breaks before the greatest load is reached: the greatest end is then how far it springs until it does.
    pub(crate) breaks: bool,
}

/// Least and greatest distance, mm, by which a load pushes the wood and the cutter apart: the wood by bending in its weakest
/// direction and by twisting, the cutter by bending. The wood gives way as before the cut for the least, and as after
/// it for the greatest, as long as there is any. `None` without forces, or where nothing holds the wood.
pub(crate) fn spring(load: &Load, [before, after]: [Give; 2], stem: Option<&Stem>) -> Option<[f64; 2]> {
    let forces = load.forces?;
    let across = forces.across();
    let gives = |give: Give, end: usize| {
        let bends = if across[end] > 0.0 { give.across * across[end] } else { 0.0 };
        let twists = if forces.torque[end] > 0.0 { give.about * forces.torque[end] * load.radius } else { 0.0 };
        bends + twists
    };
    // Straight down the cutter is pushed along itself.
    let stem = stem.filter(|_| !load.engagement.is_plunge);
    let bends = stem.map_or([0.0; 2], |stem| stem.flexibility(0.5 * load.engagement.depth));
    let least = gives(before, 0);
    let greatest = Some(gives(after, 1)).filter(|gives| gives.is_finite()).unwrap_or_else(|| gives(before, 1));
    greatest.is_finite().then(|| [least + bends[0] * across[0], greatest + bends[1] * across[1]])
}

/// No farther than until the wood breaks, which bears so many times the greatest load.
pub(crate) fn until_it_breaks([least, greatest]: [f64; 2], bears: f64) -> Sprung {
    let greatest = greatest * bears.min(1.0);
    Sprung { ends: [least.min(greatest), greatest], breaks: bears < 1.0 }
}
