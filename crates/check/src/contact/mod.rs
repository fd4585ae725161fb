//! Contact of what moves with what stands: closest approaches, contacts, and how deep they are.
//!
//! # Theory
//!
//! Everything that moves is a stack of upright bodies of revolution about the spindle axis; everything that stands is
//! a convex body, some of them turning with the blank. For one convex pair the least distance has a closed form or
//! leaves one variable to be found (`distance`), also where the tip is only known to lie
//! in a box, and so a tree of boxes over the blocks finds the closest approach of a whole job without looking at more
//! than a few of them. Within a block the distance to what stands still is convex in time; to what turns, the plane
//! through the nearest points bounds it.
//!
//! Three questions are kept apart, because an answer to one misleads about the others: *how near* (a bracket that may
//! stop a little above the least), *is it under a limit* (decided), and *how high must it go to be free* (the lift).
//! A pair is in **contact** at a moment if the moving body, made smaller by a skin of 0.02 mm, still meets the fixed
//! one; the contact's value is then minus the least lift along +Z that frees the whole body, at the worst moment.
//!
//! # Symbols
//!
//! ```text
//! tip           x, y, z of the cutter's tip in the blank frame, mm; heights of parts count from it
//! turn          angle θ of the ray on top, radians; a body at θ stands at φ = θ − turn, direction (y, z) = (−sin φ, cos φ)
//! gap           least distance, mm, 0 where bodies meet; with the unit vector toward the fixed body
//! share, t      share of a block, of a straight piece of it, 0 … 1
//! ring, reach   the cylinder about the axis that holds a turning body at every angle, and its radius, mm
//! rise, lift    how far up, mm
//! ordinal       place of a block among those that move one cutter
//! ```
//!
//! # Practice
//!
//! [`examine`] takes the motions of a job and the bodies, and gives a [`ContactReport`].

mod change;
mod convex;
mod discs;
mod distance;
mod hunt;
mod lift;
mod region;
mod search;
mod shape;
mod shrink;
mod solid;
mod stretches;
mod tree;
mod window;
mod worst;

pub(crate) use change::{Apart, Shift};
pub use search::Span;
pub use shape::{Assembly, FixedBody, FixedShape, MovingBody, MovingPart, flutes_body};
pub use window::{End, FARTHEST, Limit, Window};

use dryturn_geom::Motions;
use hunt::Hunt;
use rayon::prelude::*;
use search::{Approach, BRACKET, Encounter, closest, least_over};
use solid::{Fixed, Solid};
use std::sync::atomic::AtomicBool;
use stretches::contacts;
use tree::Tree;
use worst::worst;

/// What a moving body is made smaller by before a meeting counts as contact, mm.
pub const SKIN: f64 = 0.02;

/// To what the least distance over a span is found, mm.
const COARSE: f64 = 0.1;

/// The closest approach of a moving body and a row of fixed ones.
#[derive(Clone, Debug, PartialEq)]
pub struct PairClearance {
    /// Name of the moving body.
    pub moving: String,
    /// Row of the fixed bodies.
    pub row: String,
    /// Which body of the row comes nearest, from 1; 0 where the row has but one.
    pub which: u32,
    /// Index of the cutter in the job's list.
    pub cutter: u16,
    /// Index of the program.
    pub program: usize,
    /// Least distance, mm; below zero: minus the greatest lift that frees the pair; 0 for a graze.
    pub least_mm: f64,
    /// The first block that comes as near.
    pub block: u32,
    /// Share of that block, 0 … 1.
    pub share: f64,
    /// Nearest point of the fixed body, in contact its highest point under the moving one: station, y, z, mm.
    pub point: [f64; 3],
}

/// A connected stretch of blocks over which a pair is in contact.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Name of the moving body.
    pub moving: String,
    /// Row of the fixed bodies.
    pub row: String,
    /// Which body of the row is met at the worst moment, from 1; 0 where the row has but one.
    pub which: u32,
    /// Index of the cutter in the job's list.
    pub cutter: u16,
    /// Index of the program.
    pub program: usize,
    /// First block in contact.
    pub first_block: u32,
    /// Last block in contact.
    pub last_block: u32,
    /// How many blocks of the stretch are in contact.
    pub blocks: u32,
    /// Block of the worst moment.
    pub block: u32,
    /// Share of that block, 0 … 1.
    pub share: f64,
    /// Least lift that frees the whole moving body at the worst moment, mm.
    pub lift_mm: f64,
    /// Highest point of the fixed body under the moving one at that moment: station, y, z, mm.
    pub point: [f64; 3],
}

/// What [`examine`] finds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ContactReport {
    /// One for every moving body, row and cutter that moves, by cutter, then in the order the bodies were given.
    pub clearances: Vec<PairClearance>,
    /// All contacts, in the order of `clearances`, then in program order.
    pub contacts: Vec<Stretch>,
    /// The clearances under their row's `near` that are no contact.
    pub near: Vec<PairClearance>,
}

/// Examines every pair of moving and fixed bodies over all motions.
///
/// `assemblies` is by the motions' cutter index; blocks of a cutter without one are passed over. `near` gives the
/// distance in mm under which an approach to a row is worth a warning; `program_of` the program a block belongs to.
/// The result follows from the numbers alone. Parts that are no bodies (without height or width, or not finite) are
/// left out, and so are motions that are not finite or farther than a thousand kilometres.
///
/// ```
/// use dryturn_check::contact::{Assembly, FixedBody, FixedShape, MovingBody, MovingPart, examine};
/// use dryturn_geom::{Motion, Pose};
///
/// let pose = |x| Pose { x, y: 0.0, z: 10.0, turn: 0.0 };
/// let motions = vec![Motion { from: pose(30.0), to: pose(-5.0), arc: None, block: 0, cutter: 0, rapid: false }];
/// let holder = MovingBody { name: "holder".into(), parts: vec![MovingPart::cylinder(12.5, 25.0, 45.0)] };
/// let shape = FixedShape::CylinderX { from: -67.0, to: -22.0, radius: 40.0 };
/// let chuck = FixedBody { row: "chuck".into(), which: 0, shape };
/// let assemblies = [Assembly { bodies: vec![holder] }];
/// let report = examine(&motions, &assemblies, &[chuck], &|_| 2.0, &|_| 0);
/// assert!((report.clearances[0].least_mm - 4.5).abs() < 1e-9);
/// assert!(report.contacts.is_empty() && report.near.is_empty());
/// ```
pub fn examine(
    motions: &dyn Motions,
    assemblies: &[Assembly],
    fixed: &[FixedBody],
    near: &(dyn Fn(&str) -> f64 + Sync),
    program_of: &(dyn Fn(u32) -> usize + Sync),
) -> ContactReport {
    Examiner::new(motions, assemblies, fixed, program_of, None).report(near)
}

/// All that moves and all that stands, ready to be asked about.
///
/// Answers follow from the numbers alone, whatever the number of threads. Once `cancel` is set they come at once and
/// mean nothing.
pub struct Examiner<'a> {
    /// Of each cutter that moves: its index, its blocks, and its bodies with those of their parts that are any.
    movers: Vec<Mover<'a>>,
    rows: Vec<(&'a str, Vec<Fixed>)>,
    program_of: &'a (dyn Fn(u32) -> usize + Sync),
}

/// One cutter and what moves with it.
struct Mover<'a> {
    cutter: u16,
    tree: Tree<'a>,
    bodies: Vec<(&'a str, Vec<MovingPart>)>,
}

impl<'a> Examiner<'a> {
    /// Arguments as for [`examine`].
    pub fn new(
        motions: &'a dyn Motions,
        assemblies: &'a [Assembly],
        fixed: &'a [FixedBody],
        program_of: &'a (dyn Fn(u32) -> usize + Sync),
        cancel: Option<&'a AtomicBool>,
    ) -> Self {
        let mover = |(cutter, assembly): (u16, &'a Assembly)| {
            let parts = |body: &'a MovingBody| body.parts.iter().copied().filter(MovingPart::is_body).collect();
            let bodies = assembly.bodies.iter().map(|body| (body.name.as_str(), parts(body))).collect();
            let tree = Tree::new(motions, cutter, program_of, cancel);
            (!tree.is_empty()).then_some(Mover { cutter, tree, bodies })
        };
        Examiner { movers: (0..).zip(assemblies).filter_map(mover).collect(), rows: rows(fixed), program_of }
    }

    /// Clearances and contacts of all pairs; `near` as for [`examine`].
    pub fn report(&self, near: &(dyn Fn(&str) -> f64 + Sync)) -> ContactReport {
        let pairs: Vec<_> = self.pairs().collect();
        let found: Vec<_> = pairs.into_par_iter().filter_map(|pair| pair.examined(near(pair.row))).collect();
        let mut report = ContactReport::default();
        for (clearance, contacts) in found {
            if contacts.is_empty() && clearance.least_mm < near(&clearance.row) {
                report.near.push(clearance.clone());
            }
            report.clearances.push(clearance);
            report.contacts.extend(contacts);
        }
        report
    }

    /// Least distance of any two bodies over a span of the run, to within a tenth of a millimetre, or `farthest` (mm) where
    /// they stay farther apart; `None` where nothing moves in it, or no bodies are known.
    pub fn least_over(&self, span: &Span, farthest: f64) -> Option<f64> {
        let mut hunt = Hunt { best: farthest, ..Hunt::least(COARSE) };
        let mut moves = false;
        for mover in self.movers.iter().filter(|mover| mover.tree.ordinals(span.from.0, span.to.0).is_some()) {
            moves |= !self.rows.is_empty() && mover.bodies.iter().any(|(_, parts)| !parts.is_empty());
            let rows = || self.rows.iter().map(|(_, fixed)| fixed.as_slice());
            let encounters = mover.bodies.iter().flat_map(|(_, parts)| rows().map(|fixed| Encounter { parts, fixed }));
            hunt = least_over(&mover.tree, encounters, span, hunt);
        }
        moves.then_some(hunt.best)
    }

    /// By cutter, then in the order the bodies were given.
    fn pairs(&self) -> impl Iterator<Item = Examined<'_>> {
        self.movers.iter().flat_map(move |mover| {
            mover.bodies.iter().flat_map(move |(body, parts)| {
                let program_of = self.program_of;
                self.rows.iter().map(move |(row, fixed)| Examined { mover, body, parts, row, fixed, program_of })
            })
        })
    }
}

/// The cylinder about the axis that holds a body that turns, at every angle; any other body as it is.
pub(crate) fn ring_of(shape: &FixedShape) -> FixedShape {
    let body = Fixed::new(&FixedBody { row: String::new(), which: 0, shape: *shape });
    match (body.reach, body.hull) {
        (Some(radius), Solid::Cylinder { x: [from, to], .. }) => FixedShape::CylinderX { from, to, radius },
        _ => *shape,
    }
}

/// The bodies of each row, in the order of its first one.
fn rows(fixed: &[FixedBody]) -> Vec<(&str, Vec<Fixed>)> {
    let mut rows: Vec<(&str, Vec<Fixed>)> = Vec::new();
    for body in fixed {
        let prepared = Fixed::new(body);
        match rows.iter_mut().find(|(row, _)| *row == body.row) {
            Some((_, bodies)) => bodies.push(prepared),
            None => rows.push((&body.row, vec![prepared])),
        }
    }
    rows
}

/// One moving body against one row, for one cutter.
#[derive(Clone, Copy)]
struct Examined<'a> {
    mover: &'a Mover<'a>,
    body: &'a str,
    parts: &'a [MovingPart],
    row: &'a str,
    fixed: &'a [Fixed],
    program_of: &'a (dyn Fn(u32) -> usize + Sync),
}

impl Examined<'_> {
    fn examined(&self, near: f64) -> Option<(PairClearance, Vec<Stretch>)> {
        let approach = closest(&self.mover.tree, &Encounter { parts: self.parts, fixed: self.fixed })?;
        // Only a pair that may touch can be in contact; the bracket may have stopped a little above.
        let contacts = if approach.least <= BRACKET { self.contacts(near) } else { Vec::new() };
        let clearance = match worst_of(&contacts) {
            Some(stretch) => PairClearance {
                which: stretch.which,
                program: stretch.program,
                least_mm: -stretch.lift_mm,
                block: stretch.block,
                share: stretch.share,
                point: stretch.point,
                ..self.clearance(&approach)
            },
            None => self.clearance(&approach),
        };
        Some((clearance, contacts))
    }

    fn clearance(&self, approach: &Approach) -> PairClearance {
        let block = approach.motion.block;
        PairClearance {
            moving: self.body.to_owned(),
            row: self.row.to_owned(),
            which: approach.which,
            cutter: self.mover.cutter,
            program: (self.program_of)(block),
            least_mm: if approach.least <= BRACKET { 0.0 } else { approach.least },
            block,
            share: approach.sight.share,
            point: approach.sight.gap.point,
        }
    }

    fn contacts(&self, near: f64) -> Vec<Stretch> {
        let tree = &self.mover.tree;
        let skinned = shrink::shrunk(self.parts, SKIN);
        let smaller = Encounter { parts: &skinned, fixed: self.fixed };
        let whole = Encounter { parts: self.parts, fixed: self.fixed };
        contacts(tree, &smaller, &whole, near)
            .iter()
            .filter_map(|run| {
                let worst = worst(tree, &smaller, &whole, run)?;
                let block = worst.motion.block;
                Some(Stretch {
                    moving: self.body.to_owned(),
                    row: self.row.to_owned(),
                    which: worst.which,
                    cutter: self.mover.cutter,
                    program: (self.program_of)(block),
                    first_block: tree.block_at(run.first)?.block,
                    last_block: tree.block_at(run.last)?.block,
                    blocks: run.blocks,
                    block,
                    share: worst.share,
                    lift_mm: worst.lift.rise,
                    point: worst.lift.point,
                })
            })
            .collect()
    }
}

/// The first stretch whose lift is the greatest.
fn worst_of(stretches: &[Stretch]) -> Option<&Stretch> {
    let greatest = stretches.iter().map(|stretch| stretch.lift_mm).fold(f64::NEG_INFINITY, f64::max);
    stretches.iter().find(|stretch| stretch.lift_mm >= greatest - BRACKET)
}
