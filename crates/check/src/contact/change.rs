//! Whether a change frees a pair, and the least that does.
//!
//! A change is proved by the same decisions that find contacts: the pair in question must be free, and so must every
//! pair that was free before. A shift is raised block by block: where a block is not free at the shift reached so far,
//! the shift grows to where it is, and the walk is repeated until it changes nothing. That last walk is the proof.

use super::distance::TipBox;
use super::hunt::Pair;
use super::region::Region;
use super::search::{Encounter, comes_under, first_under};
use super::shape::MovingPart;
use super::shrink::shrunk;
use super::solid::Fixed;
use super::stretches::MEETING;
use super::tree::{Step, Tree, Walk};
use super::window::FARTHEST;
use super::{ContactReport, Examined, Examiner, FixedBody, SKIN, Stretch, rows};
use dryturn_geom::Motion;
use std::ops::ControlFlow;

/// Distances this much short of what is asked for count as it: searches stop within it, mm.
const NEARLY: f64 = 2e-4;
/// Shifts are bisected to this, mm.
const FINE: f64 = 1e-4;
/// Changes are told in steps of this, mm.
const TOLD: f64 = 0.01;
/// A shift that is not found in so many walks is none.
const WALKS: u32 = 16;

/// How far apart bodies must be after a change.
#[derive(Clone, Copy)]
pub(crate) enum Apart<'a> {
    /// They may touch.
    Touching,
    /// By the distance that a row is let pass at, where they were before; and the pair in question.
    Near(&'a (dyn Fn(&str) -> f64 + Sync)),
}

/// A shift of what moves.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Shift {
    /// Everything, toward greater (1) or smaller (−1) stations.
    Stations(f64),
    /// What hangs above a cutter's flutes, upward; its shank grows.
    Stickout(u16),
}

impl Shift {
    /// Where a body's tip then is; nothing for a body that stays. What was free before must be so all the way: a cutter
    /// beyond what it would have to pass through is not meant.
    fn room(self, demand: &Demand<'_>, by: f64) -> Option<TipBox> {
        let still = if demand.asked { 1.0 } else { 0.0 };
        match self {
            Shift::Stations(sign) => {
                let ends = [sign * by * still, sign * by];
                Some(TipBox { x: [ends[0].min(ends[1]), ends[0].max(ends[1])], ..TipBox::ORIGIN })
            }
            Shift::Stickout(cutter) if cutter != demand.cutter || demand.moving == "cutter" => None,
            Shift::Stickout(_) if demand.moving == "shank" => Some(TipBox { z: [0.0, by], ..TipBox::ORIGIN }),
            Shift::Stickout(_) => Some(TipBox { z: [by * still, by], ..TipBox::ORIGIN }),
        }
    }
}

/// A body that must stay this far from a row.
struct Demand<'a> {
    tree: &'a Tree<'a>,
    cutter: u16,
    moving: &'a str,
    row: &'a str,
    /// Whether it is the pair in question.
    asked: bool,
    parts: Vec<MovingPart>,
    fixed: &'a [Fixed],
    /// mm.
    limit: f64,
}

impl Examiner<'_> {
    /// What must hold after a change made for a contact.
    fn demands<'b>(&'b self, report: &ContactReport, hit: &Stretch, apart: Apart<'_>) -> Vec<Demand<'b>> {
        self.pairs().filter_map(|pair| demand(pair, report, hit, apart)).collect()
    }

    /// The least shift that cures a contact and brings no other, in steps of 0.01 mm; at `Touching` the whole bodies
    /// just touch. Nothing if there is none within [`FARTHEST`].
    pub(crate) fn least_shift(
        &self,
        report: &ContactReport,
        hit: &Stretch,
        apart: Apart<'_>,
        shift: Shift,
    ) -> Option<f64> {
        let demands = self.demands(report, hit, apart);
        let skin = if matches!(apart, Apart::Touching) { SKIN } else { 0.0 };
        let mut start = 0.0;
        // Room for the skin may lead into something else.
        for _ in 0..WALKS {
            let told = ((raised(&demands, shift, start)? + skin - NEARLY) / TOLD).ceil() * TOLD;
            start = raised(&demands, shift, told)?;
            if start <= told {
                return Some(told);
            }
        }
        None
    }

    /// Whether a contact is cured, and no other brought, with other bodies in its row.
    pub(crate) fn cures(&self, report: &ContactReport, hit: &Stretch, apart: Apart<'_>, bodies: &[FixedBody]) -> bool {
        let changed = rows(bodies);
        let fixed = changed.iter().find(|(row, _)| *row == hit.row).map_or(&[][..], |(_, fixed)| fixed);
        self.demands(report, hit, apart)
            .iter()
            .filter(|demand| demand.row == hit.row)
            .all(|demand| first_under(demand.tree, &Encounter { parts: &demand.parts, fixed }, demand.limit).is_none())
    }

    /// Whether a contact is cured, and no other brought, if these motions take the place of those they were made from.
    pub(crate) fn cured_by(&self, report: &ContactReport, hit: &Stretch, apart: Apart<'_>, motions: &[Motion]) -> bool {
        self.demands(report, hit, apart).iter().filter(|demand| demand.cutter == hit.cutter).all(|demand| {
            let encounter = Encounter { parts: &demand.parts, fixed: demand.fixed };
            let meets =
                |motion| encounter.pairs().any(|pair| comes_under(&pair, motion, encounter.radius(), demand.limit));
            !motions.iter().any(meets)
        })
    }
}

fn demand<'b>(pair: Examined<'b>, report: &ContactReport, hit: &Stretch, apart: Apart<'_>) -> Option<Demand<'b>> {
    let names = (pair.mover.cutter, pair.body, pair.row);
    let asked = names == (hit.cutter, hit.moving.as_str(), hit.row.as_str());
    let contact = report.contacts.iter().any(|other| names == (other.cutter, &other.moving, &other.row));
    if contact && !asked {
        return None;
    }
    let clearance = report.clearances.iter().find(|other| names == (other.cutter, &other.moving, &other.row));
    let (parts, limit) = match apart {
        Apart::Near(near) if near(pair.row) > 0.0 && (asked || clearance?.least_mm >= near(pair.row)) => {
            (pair.parts.to_vec(), near(pair.row) - NEARLY)
        }
        _ => (shrunk(pair.parts, SKIN), MEETING),
    };
    let Examined { mover, body, row, fixed, .. } = pair;
    Some(Demand { tree: &mover.tree, cutter: mover.cutter, moving: body, row, asked, parts, fixed, limit })
}

/// The least shift from `start` on at which all demands hold.
fn raised(demands: &[Demand<'_>], shift: Shift, start: f64) -> Option<f64> {
    let mut by = start;
    for _ in 0..WALKS {
        let before = by;
        for demand in demands {
            let mut raising = Raising { demand, shift, by };
            let _ = demand.tree.walk(demand.tree.all(), &mut raising);
            by = raising.by;
            if by > FARTHEST {
                return None;
            }
        }
        if by <= before {
            return Some(by);
        }
    }
    None
}

struct Raising<'a> {
    demand: &'a Demand<'a>,
    shift: Shift,
    by: f64,
}

impl Raising<'_> {
    fn pairs(&self) -> impl Iterator<Item = Pair<'_>> {
        let room = self.shift.room(self.demand, self.by);
        let encounter = Encounter { parts: &self.demand.parts, fixed: self.demand.fixed };
        room.into_iter().flat_map(move |room| encounter.pairs().map(move |pair| pair.with_room(room)))
    }

    fn is_free(&self, motion: &Motion, by: f64) -> bool {
        let shifted = Raising { by, ..*self };
        let radius = |pair: &Pair<'_>| pair.fixed.reach.unwrap_or(0.0);
        !shifted.pairs().any(|pair| comes_under(&pair, motion, radius(&pair), self.demand.limit))
    }
}

impl Walk for Raising<'_> {
    fn step(&mut self, region: &Region) -> Step {
        let limit = self.demand.limit;
        if self.pairs().any(|pair| pair.bound(region, limit) < limit) { Step::Enter } else { Step::Skip }
    }

    fn block(&mut self, _ordinal: u32, motion: &Motion) -> ControlFlow<()> {
        if self.is_free(motion, self.by) {
            return ControlFlow::Continue(());
        }
        let (mut meeting, mut step) = (self.by, 16.0 * FINE);
        let mut free = meeting + step;
        while !self.is_free(motion, free) {
            if free > FARTHEST {
                self.by = free;
                return ControlFlow::Break(());
            }
            step *= 2.0;
            (meeting, free) = (free, free + step);
        }
        while free - meeting > FINE {
            let middle = 0.5 * (free + meeting);
            if self.is_free(motion, middle) {
                free = middle;
            } else {
                meeting = middle;
            }
        }
        self.by = free;
        ControlFlow::Continue(())
    }
}
