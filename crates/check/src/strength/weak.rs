//! Where the wood is weak beside what is cut with it.
//!
//! At every moment the loads of the blocks that follow, up to the next, are gathered by places along the axis, and of each
//! place the weakest section is held against all of them: bending moment and torque that reach it. What the integrals of a
//! section cannot tell exactly is told too high there, and looked at again by its outline ([`super::neck`]).

use std::collections::BTreeMap;

use dryturn_carve::Section;
use dryturn_geom::angle;

use super::bar::Bar;
use super::held::Held;
use super::section::Profile;
use crate::load::Load;
use crate::stretches::place;

/// The strongest loads at one place; least and greatest.
#[derive(Clone, Copy, Debug, Default)]
struct Pull {
    station: f64,
    /// Across the axis, N.
    force: [f64; 2],
    /// About the axis, N·mm.
    torque: [f64; 2],
    /// The block that pulls most, and the one that turns most.
    blocks: [u32; 2],
}

/// Loads of a run of blocks by their places along the axis.
#[derive(Default)]
pub(super) struct Pulls(BTreeMap<i64, Pull>);

impl Pulls {
    /// Takes in a load that stands at a station, mm.
    pub(super) fn take(&mut self, load: &Load, station: f64) {
        let Some(forces) = load.forces else { return };
        let pull = self.0.entry(place(station)).or_default();
        let force = [0, 1].map(|end| angle::diagonal(forces.main[end], forces.thrust[end]));
        if force[1] > pull.force[1] {
            (pull.station, pull.blocks[0]) = (station, load.block);
        }
        if forces.torque[1] > pull.torque[1] {
            pull.blocks[1] = load.block;
        }
        pull.force = greater(pull.force, force);
        pull.torque = greater(pull.torque, forces.torque);
    }
}

/// The greater of each end of two ranges.
fn greater(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0].max(b[0]), a[1].max(b[1])]
}

/// How strong the material is, MPa; infinite where nobody says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Strength {
    pub(crate) bending: f64,
    pub(crate) shear: f64,
}

/// What a section has to carry, least and greatest.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Burden {
    /// Bending moment, N·mm.
    pub(crate) bending: [f64; 2],
    /// Torque, N·mm.
    pub(crate) torque: [f64; 2],
    /// The block that bends it most, and the one that twists it most.
    pub(crate) blocks: [u32; 2],
}

/// What a section makes of its burden, for each N·mm: stresses in MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stresses {
    pub(crate) bending: f64,
    pub(crate) torsion: f64,
}

impl Stresses {
    /// Exact for a full circle: 32 M/π d³ and 16 T/π d³. Otherwise the greatest distance over the least second moment, and over
    /// the torsion constant, which lie above the truth for all but odd sections.
    pub(super) fn of(profile: &Profile) -> Stresses {
        let reach = if profile.is_round() { 0.5 * profile.diameter() } else { profile.reach };
        Stresses { bending: reach / profile.inertia.least(), torsion: reach / profile.torsion_estimate() }
    }

    /// Strength over stress, for the least and the greatest burden.
    pub(crate) fn factors(&self, burden: &Burden, strength: &Strength) -> [f64; 2] {
        let over = |strength: f64, stress: f64| if stress > 0.0 { strength / stress } else { f64::INFINITY };
        [0, 1].map(|end| {
            let bending = over(strength.bending, self.bending * burden.bending[end]);
            bending.min(over(strength.shear, self.torsion * burden.torque[end]))
        })
    }
}

/// How much more than the weakest section of a place another one there may have to carry.
const CLOSE: f64 = 1.2;

/// A section that may be too weak.
#[derive(Clone, Copy, Debug)]
pub(super) struct Weak {
    /// Its place among the sections of the free length.
    pub(super) at: usize,
    pub(super) profile: Profile,
    pub(super) burden: Burden,
    pub(super) factors: [f64; 2],
}

/// The wood of the free length at one moment.
pub(super) struct Wood {
    pub(super) bar: Bar,
    sections: Vec<Section>,
    profiles: Vec<Option<Profile>>,
}

impl Wood {
    /// Of such sections; most are as they were in the wood `before`.
    pub(super) fn new(held: &Held<'_>, sections: Vec<Section>, before: Option<&Wood>) -> Wood {
        let known = |at: usize| before.filter(|wood| wood.sections[at] == sections[at]).map(|wood| wood.profiles[at]);
        let profile = |at: usize| known(at).unwrap_or_else(|| Profile::of(&sections[at]));
        let profiles: Vec<Option<Profile>> = (0..sections.len()).map(profile).collect();
        Wood { bar: held.bar(&profiles), sections, profiles }
    }

    /// Station of its far end, mm; 0 where there is none.
    pub(super) fn end(&self, held: &Held<'_>) -> f64 {
        self.sections.iter().rposition(|section| section.area > 0.0).map_or(0.0, |last| held.station(last))
    }

    /// The weakest section of every place.
    fn weakest(&self, held: &Held<'_>) -> Vec<(usize, Profile)> {
        let mut weakest: Vec<(i64, usize, Profile)> = Vec::new();
        for (at, profile) in self.profiles.iter().enumerate() {
            let Some(profile) = *profile else { continue };
            let place = place(held.station(at));
            let weaker = |other: &Profile| Stresses::of(&profile).bending > Stresses::of(other).bending;
            match weakest.last_mut() {
                Some(last) if last.0 == place => {
                    if weaker(&last.2) {
                        (last.1, last.2) = (at, profile);
                    }
                }
                _ => weakest.push((place, at, profile)),
            }
        }
        weakest.into_iter().map(|(_, at, profile)| (at, profile)).collect()
    }

    /// Of each place the section that comes nearest to breaking under the pulls, where its strength is less than so many
    /// times what it carries.
    pub(super) fn weak(&self, held: &Held<'_>, pulls: &Pulls, strength: &Strength, safety: f64) -> Vec<Weak> {
        if pulls.0.is_empty() {
            return Vec::new();
        }
        let judge = |at: usize, profile: Profile| {
            let burden = self.burden(held.station(at), pulls);
            Weak { at, profile, burden, factors: Stresses::of(&profile).factors(&burden, strength) }
        };
        // Sections as weak as the weakest may have more to carry: where it is close, all of a place are looked at.
        let close = |weak: &Weak| weak.factors[1] < CLOSE * safety;
        let places = self.weakest(held).into_iter().map(|(at, profile)| judge(at, profile)).filter(close);
        let worst = places.filter_map(|weak| {
            let here = place(held.station(weak.at));
            let there = |at: &usize| place(held.station(*at)) == here;
            let before = (0..weak.at).rev().take_while(there);
            let all = before.chain((weak.at..self.sections.len()).take_while(there));
            let judged = all.filter_map(|at| Some(judge(at, self.profiles[at]?)));
            judged.min_by(|a, b| a.factors[1].total_cmp(&b.factors[1]))
        });
        worst.filter(|weak| weak.factors[1] < safety).collect()
    }

    /// What reaches a station of the pulls: torque runs to the holding, so that only those beyond it twist it.
    fn burden(&self, station: f64, pulls: &Pulls) -> Burden {
        let mut burden = Burden::default();
        for pull in pulls.0.values() {
            let lever = self.bar.moment(station, pull.station).stretch();
            let bending = pull.force.map(|force| lever * force);
            let torque = if pull.station >= station { pull.torque } else { [0.0; 2] };
            if bending[1] > burden.bending[1] {
                burden.blocks[0] = pull.blocks[0];
            }
            if torque[1] > burden.torque[1] {
                burden.blocks[1] = pull.blocks[1];
            }
            burden.bending = greater(burden.bending, bending);
            burden.torque = greater(burden.torque, torque);
        }
        burden
    }
}
