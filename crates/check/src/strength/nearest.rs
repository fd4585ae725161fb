//! How near a section comes to breaking, and under which block.
//!
//! Between two looks at the wood a section holds no more than at the first and no less than at the second, and that bounds its
//! stress. Where the bound comes near to breaking, the strokes between are halved, and the section is worked out ray by ray as
//! it stands before the middle one, until it hardly changes any more or a single stroke is left: that one meets the section as
//! it was before. Strokes with the nearest bound come first, so that most are never looked into.

use std::f64::consts::TAU;
use std::ops::Range;
use std::rc::Rc;

use dryturn_carve::{CarveError, Replay, RunOptions, Section};
use dryturn_geom::{Motion, Motions};

use super::neck::{outline, stresses};
use super::passage::Passage;
use super::rays::Rays;
use super::section::Profile;
use super::strain::{Cut, Neck, Seen, Watch};
use super::weak::{Between, Burden, Stresses, Weak};

/// Sections of one place that are worked out ray by ray. Where it takes more, the bound is told.
const LOOKS: usize = 256;
/// Share of what it is worth in bending and torsion that a section may lose and still count as the same.
const SAME: f64 = 0.02;
/// Share by which two sections may differ in each that they are worth for one outline to stand for both.
const LIKE: f64 = 0.01;

/// A stroke over a section is looked at anew wherever the wood has turned on by so much, radians.
const TURNED: f64 = TAU / 64.0;
/// And so many times as the rim of its cutter comes over the section, until its middle does.
const CHORDS: u32 = 8;

/// What a stroke, or a piece of one, makes a section carry.
#[derive(Clone, Copy)]
struct Carried {
    block: u32,
    /// Where on the block's way it begins.
    share: f64,
    burden: Burden,
    /// Whether its cutter passes over the section.
    is_over: bool,
}

impl Carried {
    /// Of a stroke between two shares of it; `burden` tells what a load makes the section carry that stands between two stations.
    fn of(cut: &Cut, shares: [f64; 2], is_over: bool, burden: impl Fn([f64; 2]) -> Burden) -> Carried {
        let stroke = &cut.stroke;
        // Joined blocks are about as long as each other.
        let blocks = f64::from(stroke.last - stroke.block + 1);
        let passed = ((shares[0] * blocks) as u32).min(stroke.last - stroke.block);
        let share = stroke.share.0 + (stroke.share.1 - stroke.share.0) * (shares[0] * blocks - f64::from(passed));
        Carried { block: stroke.block + passed, share, burden: burden(cut.stations(shares)), is_over }
    }
}

/// A section at one moment.
struct State {
    profile: Option<Profile>,
    section: Section,
    /// Where it was worked out ray by ray.
    rays: Option<Rays>,
}

impl State {
    fn seen(section: Section) -> Rc<State> {
        Rc::new(State { profile: Profile::of(&section), section, rays: None })
    }

    fn worked_out(rays: Rays) -> State {
        let section = rays.section();
        State { profile: Profile::of(&section), section, rays: Some(rays) }
    }
}

/// Strokes in a row, and a section before the first of them and after the last.
struct Doubt {
    /// Its place among the sections of the free length.
    at: usize,
    carried: Rc<[Carried]>,
    strokes: Range<usize>,
    cuts: [Rc<State>; 2],
    burden: Burden,
    /// The section as they meet it first, and what it makes of its burden at the most.
    profile: Profile,
    stresses: Stresses,
    /// Strength over stress at the least, under the greatest burden.
    factor: f64,
}

impl Doubt {
    fn is_settled(&self) -> bool {
        let worth = |profile: &Profile| [profile.inertia.least(), profile.torsion_at_least()];
        let keeps = |after: &Profile| {
            worth(after).iter().zip(worth(&self.profile)).all(|(after, it)| *after >= (1.0 - SAME) * it)
        };
        self.strokes.len() == 1 || self.cuts[1].profile.as_ref().is_some_and(keeps)
    }

    fn carried(&self) -> &[Carried] {
        &self.carried[self.strokes.clone()]
    }
}

/// Looks for the stroke that brings the sections of one place nearest to breaking, in one program.
pub(super) struct Search<'s> {
    pub(super) watch: &'s Watch<'s>,
    pub(super) work: &'s dryturn_carve::Job<'s>,
    pub(super) options: &'s RunOptions<'s>,
    pub(super) program: usize,
}

/// What has been worked out so far.
#[derive(Default)]
struct Known {
    looks: usize,
    /// Sections that are not round and what they make of their burden.
    drawn: Vec<(Profile, Stresses)>,
}

impl Search<'_> {
    /// Of the sections seen at one place the one that comes nearest to breaking; `None` where none of them comes near.
    ///
    /// # Errors
    /// As [`Replay::new`].
    pub(super) fn nearest(&self, mut seen: Vec<Seen>) -> Result<Option<Neck>, CarveError> {
        seen.sort_by(|a, b| a.factor().total_cmp(&b.factor()));
        let mut seen = seen.into_iter().peekable();
        let (mut doubts, mut worst) = (Vec::<Doubt>::new(), None::<Neck>);
        let mut known = Known::default();
        loop {
            let least = (0..doubts.len()).min_by(|a, b| doubts[*a].factor.total_cmp(&doubts[*b].factor));
            let found = least.map_or(f64::INFINITY, |at| doubts[at].factor);
            let unseen = seen.peek().map_or(f64::INFINITY, Seen::factor);
            if worst.as_ref().map_or(f64::INFINITY, |worst| worst.factors[1]) <= found.min(unseen) {
                return Ok(worst);
            }
            let Some(least) = least.filter(|_| found <= unseen) else {
                doubts.extend(seen.next().map(|seen| self.doubts(&seen)).unwrap_or_default());
                continue;
            };
            let doubt = doubts.swap_remove(least);
            if doubt.is_settled() || known.looks >= LOOKS {
                let neck = self.neck(&doubt, &mut known)?;
                worst = Some(worst.filter(|worst| worst.factors[1] <= neck.factors[1]).unwrap_or(neck));
            } else {
                doubts.extend(self.halves(&doubt, &mut known)?);
            }
        }
    }

    /// All strokes between two looks, for each section that may be too weak for them.
    fn doubts(&self, Seen { moment, weak }: &Seen) -> Vec<Doubt> {
        let Watch { held, course, .. } = self.watch;
        let wood = self.watch.woods(*moment);
        let mut carried = vec![Vec::new(); weak.len()];
        self.watch.go(*moment, [&wood[0], &wood[1]], &[], &mut |cut, met| {
            let Some(forces) = cut.load.forces else { return };
            let between = Between { held, wood: met.wood, parted: &[] };
            for (weak, carried) in weak.iter().zip(&mut carried) {
                let burden = |stations| between.carried(weak.at, &forces, stations);
                let (looks, is_over) = self.looks(cut, weak.at);
                carried.extend(looks.windows(2).map(|ends| Carried::of(cut, [ends[0], ends[1]], is_over, burden)));
            }
        });
        let doubts = |(weak, carried): (&Weak, Vec<Carried>)| {
            // Until the first stroke over it a section is as at the first look, and after the last as at the second.
            let first = carried.iter().position(|one| one.is_over).unwrap_or(0);
            let last = carried.iter().rposition(|one| one.is_over).map_or(carried.len(), |last| last + 1);
            let [before, after] =
                [*moment, moment + 1].map(|moment| State::seen(held.section(course, moment, weak.at)));
            let carried: Rc<[Carried]> = carried.into();
            let part = |strokes, cuts| self.part(weak.at, carried.clone(), strokes, cuts);
            let parts = [
                part(0..first, [before.clone(), before.clone()]),
                part(first..last, [before, after.clone()]),
                part(last..carried.len(), [after.clone(), after]),
            ];
            parts.into_iter().flatten()
        };
        weak.iter().zip(carried).flat_map(doubts).collect()
    }

    /// The shares of a stroke at which a section is looked at: its ends, and where its cutter passes over the section those at
    /// which it stands alike to it, however the way is cut into strokes. And whether it does pass over it.
    fn looks(&self, cut: &Cut, at: usize) -> (Vec<f64>, bool) {
        let (height, station) = (cut.stroke.depth_mm, self.watch.held.station(at));
        let passage = Passage::of(self.watch.job, &cut.stroke);
        let over = passage.filter(|passage| passage.sections(&self.watch.held, height).contains(&at));
        let Some(passage) = over else { return (vec![0.0, 1.0], false) };
        let mut looks = vec![0.0, 1.0];
        looks.extend(passage.turns(TURNED));
        looks.extend(passage.chords(station, height, CHORDS));
        looks.sort_by(f64::total_cmp);
        looks.dedup();
        (looks, true)
    }

    /// Some strokes in a row, if there is wood, and it may come near to breaking.
    fn part(&self, at: usize, carried: Rc<[Carried]>, strokes: Range<usize>, cuts: [Rc<State>; 2]) -> Option<Doubt> {
        let profile = cuts[0].profile?;
        let burden = carried[strokes.clone()].iter().fold(Burden::default(), |all, one| all.join(one.burden));
        let stresses = Stresses::between(&profile, cuts[1].profile.as_ref());
        let factor = stresses.factors(&burden, &self.watch.strength)[1];
        let is_near = factor < self.watch.job.scene.checks.safety;
        is_near.then_some(Doubt { at, carried, strokes, cuts, burden, profile, stresses, factor })
    }

    /// Both halves of some strokes, the section worked out as it is between them.
    fn halves(&self, doubt: &Doubt, known: &mut Known) -> Result<impl Iterator<Item = Doubt>, CarveError> {
        let Doubt { at, carried, strokes: Range { start, end }, cuts: [before, after], .. } = doubt;
        let middle = start + (end - start) / 2;
        let cut = Rc::new(State::worked_out(self.rays(*at, &carried[middle], known)?));
        let first = self.part(*at, carried.clone(), *start..middle, [before.clone(), cut.clone()]);
        let second = self.part(*at, carried.clone(), middle..*end, [cut, after.clone()]);
        Ok([first, second].into_iter().flatten())
    }

    /// A section before a stroke.
    fn rays(&self, at: usize, stroke: &Carried, known: &mut Known) -> Result<Rays, CarveError> {
        known.looks += 1;
        let before = Before { motions: self.work.motions, block: stroke.block, share: stroke.share };
        let replay = Replay::new(&dryturn_carve::Job { motions: &before, ..*self.work }, self.options)?;
        Ok(outline(&replay, self.watch.held.station(at)))
    }

    /// What a section makes of its burden as the first of some strokes meets it.
    fn stresses(&self, doubt: &Doubt, known: &mut Known) -> Result<Stresses, CarveError> {
        let Doubt { at, cuts: [before, _], profile, .. } = doubt;
        if profile.is_round() {
            return Ok(Stresses::of(profile));
        }
        if let Some((_, stresses)) = known.drawn.iter().find(|(other, _)| is_like(other, profile)) {
            return Ok(*stresses);
        }
        let drawn = match &before.rays {
            Some(rays) => stresses(rays, &before.section, profile),
            None => stresses(&self.rays(*at, &doubt.carried()[0], known)?, &before.section, profile),
        };
        let drawn = drawn.unwrap_or_else(|| Stresses::of(profile));
        known.drawn.push((*profile, drawn));
        Ok(drawn)
    }

    /// The section as some strokes meet it, or at its weakest where nobody looks into them any more.
    fn neck(&self, doubt: &Doubt, known: &mut Known) -> Result<Neck, CarveError> {
        let Doubt { at, burden, profile, .. } = *doubt;
        let stresses = if doubt.is_settled() { self.stresses(doubt, known)? } else { doubt.stresses };
        let factors = |burden: &Burden| stresses.factors(burden, &self.watch.strength);
        let worst = doubt.carried().iter().min_by(|a, b| factors(&a.burden)[1].total_cmp(&factors(&b.burden)[1]));
        Ok(Neck {
            program: self.program,
            station: self.watch.held.station(at),
            area: profile.area,
            diameter: profile.diameter(),
            stresses,
            burden,
            factors: factors(&burden),
            block: worst.map_or(0, |stroke| stroke.block),
        })
    }
}

/// Whether two sections are worth the same within [`LIKE`], and are then taken to bear the same.
fn is_like(one: &Profile, other: &Profile) -> bool {
    let worth = |it: &Profile| [it.area, it.inertia.least(), it.inertia.greatest(), it.reach, it.torsion];
    worth(one).iter().zip(worth(other)).all(|(one, other)| (one - other).abs() <= LIKE * other)
}

/// The blocks before one, and a share of its way.
struct Before<'a> {
    motions: &'a dyn Motions,
    block: u32,
    share: f64,
}

impl Motions for Before<'_> {
    fn count(&self) -> u32 {
        self.block + u32::from(self.share > 0.0)
    }

    fn motion(&self, index: u32) -> Option<Motion> {
        let whole = if index < self.count() { self.motions.motion(index) } else { None };
        whole.map(|motion| if index == self.block { motion.between(0.0, self.share) } else { motion })
    }
}
