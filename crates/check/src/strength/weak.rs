//! Where the wood is weak beside what is cut with it.
//!
//! At every look at the wood the loads of the blocks that follow, up to the next, are gathered by places along the axis, and of
//! each place the weakest section is held against all of them: bending moment and torque that reach it. What is cut meanwhile,
//! and what the integrals of a section cannot tell exactly, is told too high here, and looked into by [`super::nearest`].

use std::collections::BTreeMap;

use dryturn_carve::{Course, Section};

use super::bar::{Bar, Loaded};
use super::held::Held;
use super::section::Profile;
use crate::load::{Forces, Load};
use crate::stretches::place;

/// The strongest loads at one place; least and greatest.
#[derive(Clone, Copy, Debug)]
struct Pull {
    /// Between these stations they stand, mm.
    stations: [f64; 2],
    /// Across the axis, N.
    force: [f64; 2],
    /// About the axis, N·mm.
    torque: [f64; 2],
    /// Whether the wood gives way so differently under them that neither look tells how it bears them.
    is_between: bool,
}

/// Loads of a run of blocks by their places along the axis.
#[derive(Default)]
pub(super) struct Pulls(BTreeMap<i64, Pull>);

impl Pulls {
    /// Takes in a load that stands between two stations, mm; `is_between` where the wood differs much from what it is at both looks.
    pub(super) fn take(&mut self, load: &Load, [from, to]: [f64; 2], is_between: bool) {
        let Some(forces) = load.forces else { return };
        let nothing = Pull { stations: [from, to], force: [0.0; 2], torque: [0.0; 2], is_between };
        let pull = self.0.entry(place(0.5 * (from + to))).or_insert(nothing);
        pull.stations = [pull.stations[0].min(from), pull.stations[1].max(to)];
        pull.force = greater(pull.force, forces.across());
        pull.torque = greater(pull.torque, forces.torque);
        pull.is_between |= is_between;
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
}

impl Burden {
    /// The greater of both ends of two.
    pub(super) fn join(self, other: Burden) -> Burden {
        Burden { bending: greater(self.bending, other.bending), torque: greater(self.torque, other.torque) }
    }
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
        Stresses { bending: reach / profile.inertia.least(), torsion: reach / profile.torsion_at_least() }
    }

    /// At the most, of a section with no more wood than one profile and no less than another, if that is any: it reaches no
    /// farther than the first, and is worth no less than the second.
    pub(super) fn between(more: &Profile, less: Option<&Profile>) -> Stresses {
        match less {
            Some(less) if less == more => Stresses::of(more),
            Some(less) => {
                Stresses { bending: more.reach / less.inertia.least(), torsion: more.reach / less.torsion_at_least() }
            }
            None => Stresses { bending: f64::INFINITY, torsion: f64::INFINITY },
        }
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

/// Of the sections that lie within so much of the axis one is looked into, mm.
const SPOT: f64 = 0.5;

/// A section that may be too weak.
#[derive(Clone, Copy, Debug)]
pub(super) struct Weak {
    /// Its place among the sections of the free length.
    pub(super) at: usize,
    /// Strength over stress at the least, under the greatest burden.
    pub(super) factor: f64,
}

/// The wood of the free length at one moment.
pub(super) struct Wood {
    pub(super) bar: Bar,
    slices: Vec<Slice>,
    /// Whether each of them is another than at the moment before.
    is_new: Vec<bool>,
}

/// A section of the wood.
#[derive(Clone, Copy)]
struct Slice {
    has_wood: bool,
    /// `None` where too little is left of it.
    profile: Option<Profile>,
    /// What it makes of its burden.
    stresses: Option<Stresses>,
}

impl Slice {
    fn of(section: &Section) -> Slice {
        let profile = Profile::of(section);
        Slice { has_wood: section.area > 0.0, profile, stresses: profile.as_ref().map(Stresses::of) }
    }
}

impl Wood {
    /// As a course finds it at a moment.
    pub(super) fn new(held: &Held<'_>, course: &Course, moment: usize) -> Wood {
        let slices: Vec<Slice> = (0..held.count()).map(|at| Slice::of(&held.section(course, moment, at))).collect();
        let bar = held.bar(slices.iter().map(|slice| slice.profile));
        Wood { bar, is_new: vec![true; slices.len()], slices }
    }

    /// The wood at the moment that follows: most of it is as it was.
    pub(super) fn next(&self, held: &Held<'_>, course: &Course, moment: usize) -> Wood {
        let (mut slices, mut is_new) = (self.slices.clone(), vec![false; self.slices.len()]);
        for at in held.changed(course, moment) {
            slices[at] = Slice::of(&held.section(course, moment, at));
            is_new[at] = slices[at].profile != self.slices[at].profile;
        }
        let others = (0..slices.len()).filter(|at| is_new[*at]).map(|at| (at, slices[at].profile));
        Wood { bar: self.bar.with(others), slices, is_new }
    }

    /// The sections that are not what they were at the moment before.
    pub(super) fn changed(&self) -> impl Iterator<Item = usize> {
        (0..self.is_new.len()).filter(|at| self.is_new[*at])
    }

    /// The wood with other sections in some places, which rise.
    pub(super) fn with(&self, others: &[(usize, Section)]) -> Wood {
        let mut slices = self.slices.clone();
        for (at, section) in others {
            slices[*at] = Slice::of(section);
        }
        let bar = self.bar.with(others.iter().map(|(at, _)| (*at, slices[*at].profile)));
        Wood { bar, is_new: vec![true; slices.len()], slices }
    }

    /// How many times a load that stands at a station could grow until some section breaks, by its greatest end and by rules
    /// that tell no stress too low.
    pub(super) fn bears(&self, held: &Held<'_>, forces: &Forces, load: f64, strength: &Strength) -> f64 {
        let loaded = self.bar.under(load);
        let factor = |(at, slice): (usize, &Slice)| {
            let station = held.station(at);
            let bending = loaded.moment(station).stretch() * forces.across()[1];
            let torque = if load >= station { forces.torque[1] } else { 0.0 };
            let burden = Burden { bending: [bending; 2], torque: [torque; 2] };
            Some(slice.stresses?.factors(&burden, strength)[1])
        };
        self.slices.iter().enumerate().filter_map(factor).fold(f64::INFINITY, f64::min)
    }

    /// Station of its far end, mm; 0 where there is none.
    pub(super) fn end(&self, held: &Held<'_>) -> f64 {
        self.slices.iter().rposition(|slice| slice.has_wood).map_or(0.0, |last| held.station(last))
    }

    /// Whether the groove in which a section lies is parted already, given the areas under which sections are.
    pub(super) fn is_through(&self, parted: &[f64], at: usize) -> bool {
        let is_groove = |at: &usize| is_parted(parted, *at);
        let inward = (0..=at).rev().take_while(is_groove);
        let mut groove = inward.chain((at..parted.len()).take_while(is_groove));
        groove.any(|at| self.profile(at).is_none_or(|profile| profile.area < parted[at]))
    }

    /// The profile of a section; `None` where there is nothing left of it.
    fn profile(&self, at: usize) -> Option<&Profile> {
        self.slices[at].profile.as_ref()
    }
}

/// The strongest loads at one place, and the free length at two looks under a force at either end of where they stand.
struct Borne<'w> {
    pull: Pull,
    loaded: [Loaded<'w>; 4],
}

/// The free length at two looks in a row. What is cut between them meets each section with no more wood than at the first,
/// and no less than at the second.
#[derive(Clone, Copy)]
pub(super) struct Between<'w> {
    pub(super) held: &'w Held<'w>,
    pub(super) wood: [&'w Wood; 2],
    /// The areas under which sections that are meant to be parted are, as [`is_parted`] takes them: what those bear does not
    /// matter.
    pub(super) parted: &'w [f64],
}

impl Between<'_> {
    /// Of each place the sections whose strength may be less than so many times what they carry under the pulls, of those that
    /// change and of those that do not. The least of each spot stands for it: which of all spots is the weakest only their
    /// outlines tell.
    pub(super) fn weak(&self, pulls: &Pulls, strength: &Strength, safety: f64) -> Vec<Vec<Weak>> {
        if pulls.0.is_empty() {
            return Vec::new();
        }
        let borne: Vec<Borne<'_>> = pulls.0.values().map(|pull| self.borne(pull)).collect();
        let judge = |at: usize| {
            let burden = burden(self.held.station(at), &borne);
            Some(Weak { at, factor: self.stresses(at)?.factors(&burden, strength)[1] })
        };
        // Sections as weak as the weakest may have more to carry: where it is close, all of a place are looked at.
        let is_close = |at: &usize| judge(*at).is_some_and(|weak| weak.factor < CLOSE * safety);
        let mut places: Vec<usize> = self.weakest().into_iter().filter(is_close).collect();
        places.dedup_by_key(|at| self.held.place(*at));
        let of_place = |weakest: usize| {
            let there = |at: &usize| self.held.place(*at) == self.held.place(weakest);
            let first = (0..=weakest).rev().take_while(there).last().unwrap_or(weakest);
            let mut spots: BTreeMap<(i64, bool), Weak> = BTreeMap::new();
            let sections = (first..self.held.count()).take_while(there).filter_map(judge);
            for weak in sections.filter(|weak| weak.factor < safety) {
                let spot = ((self.held.station(weak.at) / SPOT).floor() as i64, self.changes(weak.at));
                let least = spots.entry(spot).or_insert(weak);
                *least = if weak.factor < least.factor { weak } else { *least };
            }
            spots.into_values().collect::<Vec<Weak>>()
        };
        places.into_iter().map(of_place).filter(|weak| !weak.is_empty()).collect()
    }

    /// Whether a section is cut meanwhile.
    fn changes(&self, at: usize) -> bool {
        self.wood[1].is_new[at]
    }

    /// What a section may make of its burden at the most; `None` where there is nothing, and where that does not matter.
    fn stresses(&self, at: usize) -> Option<Stresses> {
        if is_parted(self.parted, at) {
            return None;
        }
        if !self.changes(at) {
            return self.wood[0].slices[at].stresses;
        }
        let [before, after] = self.wood.map(|wood| wood.profile(at));
        Some(Stresses::between(before?, after))
    }

    /// The weakest section of every place, of those that change and of those that do not.
    fn weakest(&self) -> Vec<usize> {
        let (mut weakest, mut here) = (Vec::new(), None);
        let mut worst: [Option<(usize, f64)>; 2] = [None; 2];
        for at in 0..self.held.count() {
            let there = Some(self.held.place(at));
            if here != there {
                weakest.extend(worst.iter_mut().filter_map(Option::take));
                here = there;
            }
            let worst = &mut worst[usize::from(self.changes(at))];
            let bending = self.stresses(at).map(|stresses| stresses.bending);
            if let Some(bending) = bending.filter(|bending| worst.is_none_or(|(_, worst)| *bending > worst)) {
                *worst = Some((at, bending));
            }
        }
        weakest.extend(worst.into_iter().flatten());
        weakest.into_iter().map(|(at, _)| at).collect()
    }

    fn borne(&self, pull: &Pull) -> Borne<'_> {
        let [from, to] = pull.stations;
        let [before, after] = self.wood.map(|wood| &wood.bar);
        Borne { pull: *pull, loaded: [before.under(from), before.under(to), after.under(from), after.under(to)] }
    }

    /// What reaches a section of a load that stands between two stations, mm: torque runs to the holding, so that only loads beyond a
    /// section twist it.
    pub(super) fn carried(&self, at: usize, forces: &Forces, [from, to]: [f64; 2]) -> Burden {
        let station = self.held.station(at);
        let loaded = self.wood.iter().flat_map(|wood| [from, to].map(|load| wood.bar.under(load)));
        let lever = lever(loaded, station);
        Burden {
            bending: forces.across().map(|force| lever * force),
            torque: if to >= station { forces.torque } else { [0.0; 2] },
        }
    }
}

/// Whether a section is one of those that are meant to be parted.
pub(super) fn is_parted(parted: &[f64], at: usize) -> bool {
    parted.get(at).is_some_and(|area| *area > 0.0)
}

/// The greatest bending moment at a station per force, N·mm/N.
fn lever<'w>(loaded: impl Iterator<Item = Loaded<'w>>, station: f64) -> f64 {
    loaded.map(|loaded| loaded.moment(station).stretch()).fold(0.0, f64::max)
}

/// What reaches a station of the pulls.
fn burden(station: f64, pulls: &[Borne<'_>]) -> Burden {
    let all = pulls.iter().map(|Borne { pull, loaded }| {
        let at_most = loaded.iter().filter(|_| pull.is_between).map(|loaded| loaded.moment_at_most(station));
        let lever = at_most.fold(lever(loaded.iter().copied(), station), f64::max);
        let twists = pull.stations[1] >= station;
        Burden { bending: pull.force.map(|force| lever * force), torque: if twists { pull.torque } else { [0.0; 2] } }
    });
    all.fold(Burden::default(), Burden::join)
}
